//! Completion in the shells themselves, and manual pages.

use std::path::Path;
use std::process::Command;

use crate::support::bench::Folder;
use crate::support::missing;

/// Runs a script in a shell that has the command on its path and files about; `None`, said aloud, without that shell.
fn in_shell(folder: &Folder, shell: &[&str], script: &str) -> Option<Vec<String>> {
    let bin = assert_cmd::cargo::cargo_bin("romloom");
    let mut path = vec![bin.parent().unwrap().to_owned()];
    path.extend(std::env::split_paths(&std::env::var_os("PATH").unwrap()));
    let ran = Command::new(shell[0])
        .args(&shell[1..])
        .arg(script)
        .current_dir(folder.path(""))
        .env("PATH", std::env::join_paths(path).unwrap())
        .env("HOME", folder.path(""))
        .output();
    let Ok(ran) = ran else {
        missing(&format!("completion in {}: it is not installed", shell[0]));
        return None;
    };
    let err = String::from_utf8(ran.stderr).unwrap();
    assert!(ran.status.success(), "{script}\n{err}");
    assert_eq!(err, "", "{script}");
    let out = String::from_utf8(ran.stdout).unwrap();
    Some(out.lines().map(str::to_owned).collect())
}

fn folder() -> Folder {
    let folder = Folder::new();
    folder.put("my data.bin", "");
    folder.put("out/x", "");
    folder.put("board.loom", "write ${NAME}.bin\n");
    for shell in ["bash", "zsh", "fish", "powershell"] {
        folder.put(
            &format!("{shell}.script"),
            folder.ok(&format!("completions {shell}")).out,
        );
    }
    folder
}

#[test]
fn bash_completes_words_of_a_pipeline() {
    let folder = folder();
    let complete = |words: &str| {
        let script = format!(
            "source bash.script; COMP_WORDS=(romloom {words}); COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1)); \
             _romloom && printf '%s\\n' \"${{COMPREPLY[@]}}\""
        );
        in_shell(&folder, &["bash", "--norc", "-c"], &script)
    };
    for (words, wanted) in [
        ("se", &["seat"][..]),
        ("load prog.hex + se", &["seat"]),
        ("load prog.hex + seat 27c25", &["27C256"]),
        ("load prog.hex + seat 27C256 --la", &["--lanes"]),
        ("load prog.hex + stamp crc-32/iso", &["crc-32/iso-hdlc"]),
        ("load my", &["my data.bin"]),
        ("load 'my\\ d'", &["my data.bin"]),
        ("load prog.hex + write o", &["out/"]),
        ("load prog.hex + fill FF --on p", &["prog"]),
        ("run board.loom --set N", &["NAME="]),
        // As bash takes it apart, and what it then replaces.
        ("load prog.hex --as = in", &["intel-hex"]),
        ("load prog.hex --as =", &["raw"]),
        ("load prog.hex + pad part : 271", &["2716"]),
    ] {
        let Some(found) = complete(words) else { return };
        for word in wanted {
            assert!(found.iter().any(|f| f == word), "{words}: {found:?}");
        }
    }
}

/// The name of a piece comes from a file's, and may be a command: completed, it is a word like any other.
#[test]
fn what_bash_completes_runs_nothing() {
    let folder = folder();
    let script = "source bash.script; COMP_WORDS=(romloom load '$(touch X).hex' + fill FF --on '$'); COMP_CWORD=7; \
                  _romloom && printf '%s\\n' \"${COMPREPLY[@]}\"";
    let Some(found) = in_shell(&folder, &["bash", "--norc", "-c"], script) else {
        return;
    };
    assert_eq!(found, [r"\$\(touch\ X\)"]);
}

#[test]
fn zsh_completes_words_of_a_pipeline() {
    let folder = folder();
    let complete = |words: &str| {
        let script = format!(
            "compdef() {{ :; }}; compadd() {{ print -rl -- \"${{(@P)@[-1]}}\"; }}; source ./zsh.script; \
             words=(romloom {words}); CURRENT=${{#words}}; _romloom"
        );
        in_shell(&folder, &["zsh", "-f", "-c"], &script)
    };
    for (words, wanted) in [
        ("se", "seat"),
        ("load prog.hex + se", "seat"),
        ("load prog.hex + seat 27c25", "27C256"),
        ("load prog.hex + seat 27C256 --la", "--lanes"),
        ("load prog.hex + pad part:271", "part:2716"),
        ("load ''", "my data.bin"),
        ("load prog.hex + write o", "out/"),
        ("load prog.hex --as=in", "--as=intel-hex"),
        ("load prog.hex + fill FF --on p", "prog"),
        ("run board.loom --set N", "NAME="),
    ] {
        let Some(found) = complete(words) else { return };
        assert!(found.iter().any(|f| f == wanted), "{words}: {found:?}");
    }
}

#[test]
fn fish_completes_words_of_a_pipeline() {
    let folder = folder();
    let complete = |words: &str| {
        let script = format!("source fish.script; complete -C 'romloom {words}'");
        in_shell(&folder, &["fish", "--no-config", "-c"], &script)
    };
    for (words, wanted) in [
        (
            "se",
            "seat\tLay programs out for the sockets of a board, one piece a chip",
        ),
        (
            "load prog.hex + sea",
            "seat\tLay programs out for the sockets of a board, one piece a chip",
        ),
        ("load prog.hex + seat 27C25", "27C256\t32Kx8, uv-eprom"),
        (
            "load prog.hex + seat 27C256 --la",
            "--lanes\tChips side by side on a wide bus [default: 1]",
        ),
        ("load prog.hex + pad part:271", "part:2716\t2Kx8, uv-eprom"),
        ("load ", "my\\ data.bin"),
        ("load prog.hex + write o", "out/"),
        ("load prog.hex + fill FF --on ", "prog"),
        ("run board.loom --set ", "NAME="),
        ("load prog.hex + ", "write\tWrite each piece to a file"),
    ] {
        let Some(found) = complete(words) else { return };
        let is = |f: &String| {
            f.trim_end() == wanted || f.replace("my data", "my\\ data").trim_end() == wanted
        };
        assert!(found.iter().any(is), "{words}: {found:?}");
    }
}

/// What `groff` says of a page, which it should say nothing of, and the page as people read it.
fn set(folder: &Folder, page: &Path) -> Option<String> {
    let ran = Command::new("groff")
        .args(["-man", "-Tutf8", "-ww", "-P-c", "-P-b", "-P-u", "-rLL=100n"])
        .arg(page)
        .current_dir(folder.path(""))
        .output();
    let Ok(ran) = ran else {
        missing("the look of the manual pages: groff is not installed");
        return None;
    };
    let name = page.display();
    assert_eq!(String::from_utf8(ran.stderr).unwrap(), "", "{name}");
    Some(String::from_utf8(ran.stdout).unwrap())
}

/// A page without its markup, blanks as one.
fn plain(page: &str) -> String {
    let mut text = page.to_owned();
    for mark in ["\\fB", "\\fI", "\\fR", "\\&"] {
        text = text.replace(mark, "");
    }
    let text = text.replace("\\-", "-").replace("\\*(Aq", "'");
    text.replace("\\\\", "\\")
}

#[test]
fn every_step_has_a_manual_page_with_every_option_and_its_example() {
    let folder = Folder::new();
    let said = folder.ok("man --to pages").out;
    let steps = folder.ok("steps").out;
    let names: Vec<&str> = steps.lines().filter_map(|l| l.split(' ').next()).collect();
    let pages = std::fs::read_dir(folder.path("pages")).unwrap().count();
    assert_eq!(said, format!("wrote {pages} pages to pages\n"));
    assert!(pages > names.len());
    let leading = plain(&String::from_utf8(folder.get("pages/romloom.1")).unwrap());
    for name in names {
        assert!(leading.contains(&format!("\n{name}\n")), "{name}");
        let file = format!("pages/romloom-{name}.1");
        let page = String::from_utf8(folder.get(&file)).unwrap();
        assert_eq!(folder.ok(&format!("man {name}")).out, page);
        // A line that begins with a dot is a request, and these are all that are used.
        for line in page.lines().filter(|l| l.starts_with(['.', '\''])) {
            let request = line[1..].split(' ').next().unwrap();
            let known = [
                "TH", "SH", "TP", "PP", "nf", "fi", "sp", "br", "RS", "RE", "IP", "ie", "el", "ds",
            ];
            assert!(known.contains(&request), "{name}: {line}");
        }
        let text = plain(&page);
        let help = folder.ok(&format!("help {name}")).out;
        let (help, example) = help.split_once("Example:").unwrap();
        let options = help.split_whitespace().filter(|w| w.starts_with("--"));
        for option in options {
            let option = option.trim_end_matches(|c: char| !c.is_ascii_alphanumeric());
            assert!(text.contains(option), "{name}: {option}\n{text}");
        }
        for line in example.lines().map(str::trim).filter(|l| !l.is_empty()) {
            assert!(text.contains(line), "{name}: {line}\n{text}");
        }
        if let Some(shown) = set(&folder, &folder.path(&file)) {
            for line in example
                .lines()
                .map(str::trim)
                .filter(|l| !l.is_empty() && l.len() < 90)
            {
                assert!(shown.contains(line), "{name}: {line}\n{shown}");
            }
        }
    }
    for file in ["romloom.1", "romloom-run.1", "romloom-help.1"] {
        set(&folder, &folder.path(&format!("pages/{file}")));
    }
    let ran = folder.run("man nonsense");
    assert!(ran.err.contains("no page on `nonsense`"), "{}", ran.err);
}
