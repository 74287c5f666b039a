//! Names that would do something to a terminal or a shell are shown and handed on as names.

#![cfg(unix)]

use crate::support::bench::Folder;

/// Clears a screen, sets a title, paints, turns the direction of the text.
const EVIL: &str = "a\u{1b}[2Jb\u{1b}]0;x\u{7}\u{1b}[31m\u{202e}c";

fn is_safe(text: &str) -> bool {
    text.chars()
        .all(|c| c == '\n' || !c.is_control() && !('\u{202a}'..='\u{202e}').contains(&c))
}

#[test]
fn names_from_data_are_shown_safely_everywhere() {
    let folder = Folder::new();
    let hex = folder.get("prog.hex");
    folder.put(&format!("{EVIL}.hex"), hex);
    folder.put(&format!("{EVIL}.bin"), "not the same");
    folder.put("list.txt", format!("00 {EVIL}\n"));
    folder.put("patches.txt", format!("0x8000 was {EVIL} now 00\n"));
    folder.put(
        "own.toml",
        format!("[[part]]\nname = \"{}\"\n", "\\u001b[2J"),
    );
    folder.put("a.board", "title = \"\\u001b[2J\"\n[[sockets]]\nnames = [\"\\u001b[2J\"]\npart = \"27C256\"\nat = 0x8000\n");
    folder.put("damaged.hex", format!(":048000001011121336\n{EVIL}\n"));
    let (hex, bin) = (format!("{EVIL}.hex"), format!("{EVIL}.bin"));
    let piece = EVIL;
    for words in [
        vec!["load", &hex, "+", "show"],
        vec!["load", &hex, "+", "show", "hex", "0x8000+4"],
        vec!["load", &hex, "+", "digest"],
        vec![
            "load",
            &hex,
            "+",
            "fill",
            "00",
            "--on",
            piece,
            "+",
            "write",
            "{name}.out",
            "--as",
            "raw",
        ],
        vec!["load", &hex, "+", "fill", "00", "--on", "nosuch"],
        vec!["load", &hex, "+", "compare", &bin],
        vec!["load", &bin, "+", "compare", &hex],
        vec!["load", &hex, &hex],
        vec!["load", &format!("{EVIL}.none")],
        vec!["load", "prog.hex", "+", "patch", "--file", "patches.txt"],
        vec!["load", "prog.hex", "+", "mark", "0x9000", EVIL, "+", "show"],
        vec![
            "load", "prog.hex", "+", "seat", "27C256", "--at", "0x8000", "--names", EVIL,
        ],
        vec!["load", "prog.hex", "+", "seat", "--board", "a.board"],
        vec!["load", "damaged.hex"],
        vec!["load", "damaged.hex", "--salvage"],
        vec!["check", &hex, "damaged.hex"],
        vec!["recognise", &hex, "--among", "list.txt"],
        vec!["recognise", &hex, "--among", &bin],
        vec!["--parts", "own.toml", "parts"],
        vec!["board", "a.board"],
        vec!["run", EVIL],
        vec![EVIL],
        vec!["load", "prog.hex", "+", EVIL],
        vec!["load", "prog.hex", "+", "pad", EVIL],
        vec!["load", "prog.hex", "+", "show", "--on", EVIL],
        vec!["help", EVIL],
        vec!["parts", EVIL],
        vec!["new", "--part", "27C256", "--at", "0x8000", &hex],
        vec!["--explain", "load", &hex, "+", "show"],
    ] {
        let out = folder.command().args(&words).output().unwrap();
        let (err, out) = (
            String::from_utf8_lossy(&out.stderr).into_owned(),
            String::from_utf8_lossy(&out.stdout).into_owned(),
        );
        assert!(is_safe(&err), "{words:?}\n{err:?}");
        assert!(is_safe(&out), "{words:?}\n{out:?}");
        assert!(
            !err.is_empty() || !out.is_empty() || words.contains(&"write"),
            "{words:?}"
        );
    }
}

/// The program's own colours are no data.
#[test]
fn what_the_program_paints_itself_is_not_shown_as_pictures() {
    let folder = Folder::new();
    for line in [
        "help",
        "--help",
        "help load",
        "load --help",
        "load prog.hex + show",
        "parts 27C256",
        "steps",
    ] {
        let out = folder.ok(line).out;
        assert!(!out.contains('\u{241b}'), "{line}\n{out}");
    }
}

/// In JSON a name is what it is.
#[test]
fn json_has_the_very_name() {
    let folder = Folder::new();
    let hex = folder.get("prog.hex");
    folder.put(&format!("{EVIL}.hex"), hex);
    let out = folder
        .command()
        .args(["load", &format!("{EVIL}.hex"), "+", "digest", "--json"])
        .output()
        .unwrap();
    let document: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert!(
        document
            .to_string()
            .contains(&serde_json::json!(EVIL).to_string()),
        "{document}"
    );
}

/// A name that data gave is one part of a path: it leads to no other folder.
#[test]
fn a_name_in_an_output_is_one_part_of_its_path() {
    let folder = Folder::new();
    for (name, file) in [("..", ".."), ("a/b", "a/b"), (".", "."), ("/etc/x", "x")] {
        let out = folder
            .command()
            .args([
                "load",
                "prog.hex",
                "--name",
                name,
                "+",
                "write",
                "out/{name}",
                "--as",
                "raw",
            ])
            .output()
            .unwrap();
        let err = String::from_utf8_lossy(&out.stderr).into_owned();
        assert_eq!(out.status.code(), Some(2), "{name} {file}: {err}");
        assert!(err.starts_with("error"), "{err}");
        assert!(!folder.has("out"), "{name}");
    }
}
