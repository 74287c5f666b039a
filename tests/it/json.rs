//! docs/json.md names every key of every report, and no others, and says what each means.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::support::bench::Folder;
use serde_json::Value;

/// For each report of the page: command lines that make it, which together show every key.
const REPORTS: [(&str, &[&str]); 18] = [
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
        &["load prog.hex + patch 0x8000 FF + compare prog.hex --json"],
    ),
    (
        "`burnable`",
        &["load prog.hex + seat 29F010 --at 0 --drop-outside + burnable old.bin --json"],
    ),
    ("`vote`", &["load a.bin b.bin c.bin --apart + vote --json"]),
    (
        "`diagnose`",
        &["load chip.bin + diagnose --wanted chip.bin --json"],
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
        &["recognise chip.bin half.bin a.bin --json --among chip.bin other.bin"],
    ),
    ("`check`", &["check prog.hex broken.hex prog.s19 --json"]),
    ("`load`", &["--json load broken.hex --salvage"]),
    ("`board`", &["board heron.board --json"]),
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
        "broken.hex",
        ":0480000010111213 37\n:0480040010111213\n".replace(' ', ""),
    );
    folder.put("half.bin", &folder.get("chip.bin")[..4096]);
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
