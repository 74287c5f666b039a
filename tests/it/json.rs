//! What scripts get: docs/json.md names every key of every report, and no others, and says what each means; a document is
//! all there is on standard output.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::support::bench::Folder;
use serde_json::Value;

/// For each report of the page: command lines that make it, which together show every key.
const REPORTS: [(&str, &[&str]); 20] = [
    (
        "`outputs`",
        &[
            "--json load prog.hex + write out.bin",
            "--json load prog.hex + write out.bin",
            "--json --always load prog.hex + write out.bin",
            "--json load prog.hex + patch 0x8000 FF + write out.bin",
        ],
    ),
    ("`digest`", &["load prog.hex + digest --json"]),
    (
        "`show`",
        &["load prog.hex + seat 27C64 --at 0x8000 + show --json"],
    ),
    ("`show hex`", &["load prog.hex + show hex 0x8000+8 --json"]),
    (
        "`show changes`",
        &[
            "load chip.bin + patch 0 FF + drop 0x100+4K + fill 00 0x9000+4K + show changes chip.bin --json",
        ],
    ),
    ("`find`", &["load prog.hex + find 11 --json"]),
    (
        "`compare`",
        &[
            "load prog.hex + patch 0x8000 FF + compare prog.hex --json",
            "load prog.hex + compare no-{name}.hex --json",
        ],
    ),
    (
        "`burnable`",
        &[
            "load prog.hex + seat 29F010 --at 0 --drop-outside + burnable old.bin --json",
            "load prog.hex + burnable no-{name}.hex --json",
        ],
    ),
    ("`vote`", &["load a.bin b.bin c.bin --apart + vote --json"]),
    (
        "`diagnose`",
        &["load chip.bin + diagnose --wanted chip.bin --json"],
    ),
    (
        "`diagnose`, a set of chips",
        &["load pair/a.bin pair/b.bin --apart + diagnose --wanted pair/want-{name}.bin --json"],
    ),
    (
        "`diagnose`, a read alone",
        &["load banks.bin + diagnose --bank-size 4K --sums-of-banks --json"],
    ),
    (
        "`diagnose`, wiring recovered",
        &["load dead.bin + diagnose --recover-wiring --wanted address.bin --json"],
    ),
    (
        "`recognise`",
        &[
            "recognise chip.bin half.bin a.bin --json --among chip.bin other.bin",
            "recognise lane.bin windows.bin padded.bin --json --among set",
        ],
    ),
    ("`check`", &["check prog.hex broken.hex prog.s19 --json"]),
    (
        "`load`",
        &[
            "--json load broken.hex --salvage",
            "--json load no-base.hex --salvage",
        ],
    ),
    ("`board`", &["board heron.board --json"]),
    (
        "`adapter`",
        &[
            "adapter 2364 27C64 --json",
            "adapter 27C64 28C64 --json",
            "adapter 2732 2532 --json",
        ],
    ),
    ("`explain`", &["--json --explain run board.loom"]),
    ("`parts`", &["parts --json"]),
];

#[test]
fn the_page_names_the_keys_of_every_report() {
    let folder = Folder::new();
    folder.ok("pattern telltale 8K + write chip.bin");
    folder.ok("pattern random 8K + write other.bin");
    folder.ok("load prog.hex + write prog.s19");
    folder.put(
        "no-base.hex",
        ":0200000400 2F8\n:020000000304F7\n:00000001FF\n",
    );
    folder.put(
        "broken.hex",
        ":0480000010111213 37\n:0480040010111213\n".replace(' ', ""),
    );
    folder.put("half.bin", &folder.get("chip.bin")[..4096]);
    let other = folder.get("other.bin");
    let lane: Vec<u8> = other.iter().copied().step_by(2).collect();
    folder.put("lane.bin", lane);
    folder.put("windows.bin", [&other[1024..2048], &other[7168..]].concat());
    folder.put("padded.bin", [&other[..], &[0x1A; 99]].concat());
    folder.put("set/other.bin", other);
    folder.put("pair/a.bin", [0x42; 64]);
    folder.put("pair/b.bin", [0x24; 64]);
    folder.put("pair/want-a.bin", [0x42; 64]);
    folder.put("pair/want-b.bin", [0x25; 64]);
    folder.put("set/empty.bin", []);
    for (name, byte) in [("a.bin", 0x10), ("b.bin", 0x11), ("c.bin", 0x12)] {
        folder.put(name, [0x42, byte, 0x24, 0x81]);
    }
    folder.put("old.bin", [0; 128 * 1024]);
    folder.ok("pattern address 8K + write address.bin");
    let dead: Vec<u8> = folder
        .get("address.bin")
        .iter()
        .map(|byte| byte | 1)
        .collect();
    folder.put("dead.bin", dead);
    let noise = folder.get("other.bin");
    let mut banks = vec![0xFF; 0x8000];
    for (n, bank) in banks.chunks_exact_mut(0x1000).enumerate().skip(1) {
        let used = 600 + 50 * n;
        bank[..used].copy_from_slice(&noise[n * 900..][..used]);
        bank[0xF00..0xF40].copy_from_slice(&noise[..0x40]);
        let sum = bank[..0xFFE]
            .iter()
            .fold(0u16, |sum, byte| sum.wrapping_add((*byte).into()));
        bank[0xFFE..].copy_from_slice(&sum.to_le_bytes());
    }
    folder.put("banks.bin", banks);
    folder.put("board.loom", "load prog.hex\n");
    folder.put(
        "heron.board",
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C64\"\nwires = { A0 = \"/A0\" }\nwindow = [ { at = 0, size = \"4K\", tied = { A12 = 1 } } ]\n",
    );
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/json.md");
    let page = fs::read_to_string(page).unwrap();
    let rows: Vec<(&str, &str)> = page
        .lines()
        .filter_map(|line| {
            line.strip_prefix("| ")?
                .strip_suffix(" |")?
                .split_once(" | ")
        })
        .filter(|(report, _)| report.starts_with('`') && *report != "`step`")
        .collect();
    let named: Vec<&str> = rows.iter().map(|(report, _)| *report).collect();
    assert_eq!(named, REPORTS.map(|(report, _)| report), "rows of the page");
    let mut wrong = Vec::new();
    for ((report, cell), (_, lines)) in rows.iter().zip(REPORTS) {
        let (mut top, mut all) = (BTreeSet::new(), BTreeSet::new());
        for line in lines {
            let ran = folder.run(line);
            let document: Value = serde_json::from_str(&ran.out)
                .unwrap_or_else(|e| panic!("{line}: {e}\n{}{}", ran.out, ran.err));
            let step = report.split(['`', ',']).nth(1).unwrap();
            let made = match document.get("reports") {
                Some(reports) => reports
                    .as_array()
                    .unwrap()
                    .iter()
                    .find(|r| r["step"] == step),
                None => Some(&document).filter(|d| d["step"] == step),
            };
            let made = made.unwrap_or_else(|| panic!("{line}: no report of {step}\n{}", ran.out));
            top.extend(made.as_object().unwrap().keys().cloned());
            words(made, &mut all);
        }
        let documented: BTreeSet<&str> = cell.split('`').skip(1).step_by(2).collect();
        for key in top
            .iter()
            .filter(|k| !matches!(k.as_str(), "schema" | "step"))
        {
            if !documented.contains(key.as_str()) {
                wrong.push(format!("{report}: {key} is not on the page"));
            }
        }
        for word in documented.iter().filter(|w| !w.starts_with('-')) {
            if !all.contains(*word) {
                wrong.push(format!("{report}: nothing is called {word}"));
            }
        }
    }
    // Every key has its meaning below, under its report's heading or with those that all reports share.
    let (_, meanings) = page.split_once("## What the keys mean").unwrap();
    let mut sections = meanings.split("\n### ");
    let shared = sections.next().unwrap();
    let sections: Vec<(&str, &str)> = sections.filter_map(|s| s.split_once('\n')).collect();
    for (report, cell) in rows {
        let found = sections.iter().find(|(heading, _)| *heading == report);
        let text = found.map_or("", |(_, text)| *text);
        let keys = cell.split('`').skip(1).step_by(2);
        for key in keys.filter(|key| !key.starts_with('-')) {
            let quoted = format!("`{key}`");
            if !text.contains(&quoted) && !shared.contains(&quoted) {
                wrong.push(format!("{report}: what {key} means is not said"));
            }
        }
    }
    assert_eq!(wrong, [""; 0]);
}

/// Each line of standard output as a document.
fn documents(out: &str) -> Vec<Value> {
    let line = |line: &str| serde_json::from_str(line).unwrap_or_else(|e| panic!("{e}: {out}"));
    out.lines().map(line).collect()
}

/// Finding 13 of the repairer: a step's --json with `write` put "wrote ..." after the JSON.
#[test]
fn a_document_is_all_that_is_on_standard_output() {
    let folder = Folder::new();
    folder.ok("pattern telltale 4K + write chip.bin");
    let ran = folder.ok("load chip.bin + compare chip.bin --json + write out.bin");
    let found = documents(&ran.out);
    assert_eq!((found.len(), &found[0]["step"]), (1, &"compare".into()));
    assert!(ran.err.starts_with("wrote out.bin"), "{}", ran.err);
    // What other steps tell people goes where "wrote" goes; with --quiet too, for it was asked for.
    for quiet in ["", "--quiet "] {
        let ran = folder.ok(&format!(
            "{quiet}load chip.bin + digest sum16 + compare chip.bin --json + show + write out.bin"
        ));
        assert_eq!(documents(&ran.out).len(), 1);
        for text in ["chip   0000-0FFF   4,096 bytes", "one cell = 128"] {
            assert!(ran.err.contains(text), "{text}: {}", ran.err);
        }
        assert_eq!(
            ran.err.contains("unchanged out.bin"),
            quiet.is_empty(),
            "{}",
            ran.err
        );
    }
    let ran = folder.ok("--explain load chip.bin + find 33 --json");
    assert_eq!(documents(&ran.out).len(), 1);
    // A file on standard output has it for itself.
    let ran = folder.ok("load prog.hex + digest sum8 --json + write - --as raw");
    assert_eq!(ran.out, "\x10\x11\x12\x13");
    assert_eq!(
        documents(ran.err.lines().next().unwrap())[0]["step"],
        "digest"
    );
}

#[test]
fn each_step_prints_one_document_on_one_line_however_many_pieces_there_are() {
    let folder = Folder::new();
    folder.ok("pattern telltale 4K + split lanes 2 --names even,odd + write {name}.bin");
    let two = "load even.bin odd.bin --apart";
    let ran = folder.run(&format!(
        "{two} + digest crc32 --json + show --json + show hex 0-3 --json + show changes even.bin --json \
         + compare {{name}}.bin --json + burnable {{name}}.bin --json + find 00 --json"
    ));
    let found = documents(&ran.out);
    let steps: Vec<&str> = found.iter().map(|d| d["step"].as_str().unwrap()).collect();
    assert_eq!(
        steps,
        [
            "digest",
            "show",
            "show hex",
            "show changes",
            "compare",
            "burnable",
            "find"
        ]
    );
    for document in &found[..6] {
        let pieces = document["pieces"].as_array().unwrap();
        let names: Vec<&str> = pieces
            .iter()
            .map(|p| p["piece"].as_str().unwrap())
            .collect();
        assert_eq!(names, ["even", "odd"], "{document}");
    }
    // One piece is a list of one, so that a script need not tell them apart.
    let ran = folder.ok("load even.bin + digest crc32 --json");
    assert_eq!(
        documents(&ran.out)[0]["pieces"].as_array().unwrap().len(),
        1
    );
    // Of two pipelines the documents follow each other.
    folder.put(
        "two.loom",
        "load even.bin\ndigest --json\n---\nload odd.bin\ndigest --json\n",
    );
    assert_eq!(documents(&folder.ok("run two.loom").out).len(), 2);
}

/// Finding 13 too: people get the beginning of a long list, scripts get all of it, unless they ask for less.
#[test]
fn a_list_is_whole_unless_a_limit_is_asked_for() {
    let folder = Folder::new();
    folder.put("now.bin", [0, 1].repeat(400));
    folder.put("new.bin", [1; 800]);
    let places = |line: &str| {
        let document: Value = serde_json::from_str(&folder.run(line).out).unwrap();
        (
            document["count"].as_u64(),
            document["places"].as_array().unwrap().len(),
        )
    };
    assert_eq!(places("load now.bin + find 01 --json"), (Some(400), 400));
    assert_eq!(
        places("load now.bin + find 01 --json --limit 3"),
        (Some(400), 3)
    );
    let text = folder.ok("load now.bin + find 01 --limit 3").out;
    assert!(
        text.ends_with("0005  now.bin\n  and 397 more places\n"),
        "{text}"
    );
    let text = folder.ok("load now.bin + find 01").out;
    assert!(text.ends_with("  and 336 more places\n"), "{text}");
    for (step, list) in [
        ("compare now.bin", "ranges"),
        ("burnable now.bin --erased 00", "none"),
        ("burnable now.bin --erased FF", "ranges"),
        ("show changes now.bin", "rows"),
    ] {
        let count = |line: &str| {
            let document: Value = serde_json::from_str(&folder.run(line).out).unwrap();
            let document = match document.get("reports") {
                Some(reports) => reports[0].clone(),
                None => document,
            };
            let piece = document["pieces"][0].clone();
            let left_out = piece[format!("{list}_left_out")].as_u64().unwrap_or(0);
            (piece[list].as_array().map_or(0, Vec::len), left_out)
        };
        let all = match list {
            "rows" => 50,
            "ranges" => 400,
            _ => 0,
        };
        assert_eq!(
            count(&format!("load new.bin + {step} --json")),
            (all, 0),
            "{step}"
        );
        assert_eq!(
            count(&format!("--json load new.bin + {step}")),
            (all, 0),
            "{step}"
        );
        let some = count(&format!("load new.bin + {step} --json --limit 3"));
        assert_eq!(some, (all.min(3), all.saturating_sub(3) as u64), "{step}");
    }
}

/// Finding 13 too: `--step-only` printed prose to standard output when it failed, which a script then ran.
#[test]
fn where_there_is_no_step_to_emit_standard_output_is_empty() {
    let folder = Folder::new();
    folder.ok("pattern telltale 4K + write chip.bin");
    folder.ok("pattern random 4K + write other.bin");
    let emit = "load chip.bin + diagnose --recover-wiring --step-only --wanted other.bin";
    let ran = folder.run(emit);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(ran.err.contains("chip against other.bin"), "{}", ran.err);
    let ran = folder.run(&format!("--json {emit}"));
    let document: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(
        (ran.code, &document["reports"][0]["verdict"]),
        (1, &"none".into())
    );
}

/// Every key, and every text that is one word.
fn words(value: &Value, into: &mut BTreeSet<String>) {
    match value {
        Value::Object(object) => {
            for (key, value) in object {
                into.insert(key.clone());
                words(value, into);
            }
        }
        Value::Array(list) => list.iter().for_each(|value| words(value, into)),
        Value::String(text) => {
            into.insert(text.clone());
        }
        Value::Null => {
            into.insert("null".into());
        }
        Value::Bool(_) | Value::Number(_) => {}
    }
}
