//! `check`: files by the book, as a report and an exit code.

use crate::support::bench::Folder;

#[test]
fn exit_codes_tell_kept_rules_from_broken_ones_and_from_trouble() {
    let folder = Folder::new();
    folder.put("lower.hex", ":01000000aa55\n:00000001FF\n");
    folder.put("bad.hex", ":01000000AA54\n:00000001FF\n");
    folder.put("open.hex", ":01000000AA55\n");
    let before = (folder.list(), folder.get("lower.hex"));
    for (line, code) in [
        ("check prog.hex", 0),
        ("check lower.hex", 1),
        ("check lower.hex --lenient", 0),
        ("check open.hex", 1),
        ("check open.hex --lenient", 0),
        ("check bad.hex", 1),
        ("check bad.hex --lenient", 1),
        ("check prog.hex bad.hex", 1),
        ("check nosuch.hex", 2),
        ("check nosuch.hex bad.hex", 2),
        ("check", 2),
    ] {
        assert_eq!(folder.run(line).code, code, "{line}");
    }
    let after = (folder.list(), folder.get("lower.hex"));
    assert_eq!(after, before, "nothing is changed");
}

#[test]
fn the_report_says_what_a_file_holds() {
    let folder = Folder::new();
    // M68000PM/AD, Appendix C: the worked example, with its third line first.
    folder.put(
        "a.s19",
        "S00600004844521B\nS11300100002000800082629001853812341001813\n\
         S1130000285F245F2212226A000424290008237C2A\nS107003000144ED492\nS9030000FC\n",
    );
    let ran = folder.ok("check a.s19");
    let wanted = "\
a.s19  s-record S1, keeps the rules
  3 records of data, 1 of S0 (header), 1 of S9 (end)
  addresses step back 1 time, first at line 3
  0000-001F  32 bytes
  0020-002F  hole of 16 bytes
  0030-0033  4 bytes
  entry point 0000
  header \"HDR\"
";
    assert_eq!(ran.out, wanted);
    assert_eq!(ran.err, "");
}

#[test]
fn overlaps_are_broken_rules_and_the_ranges_are_told_all_the_same() {
    let folder = Folder::new();
    folder.put("a.hex", ":02000000AABB99\n:02000100BBCC76\n:00000001FF\n");
    let ran = folder.run("check a.hex --json");
    assert_eq!(ran.code, 1);
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let file = &json["files"][0];
    assert_eq!(file["format"], "intel-hex");
    assert_eq!(file["form"], "I8HEX");
    assert_eq!(file["broken"], 1);
    assert_eq!(file["ranges"][0]["last"], 2);
    let text = file["errors"][0]["text"].as_str().unwrap();
    assert!(
        text.contains("a.hex line 1") && text.contains("a.hex line 2"),
        "{text}"
    );
}

#[test]
fn a_damaged_line_is_named_with_its_cause() {
    let folder = Folder::new();
    folder.put("a.hex", ":O1000000AA55\n:00000001FF\n");
    let ran = folder.run("check a.hex --json");
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let error = &json["files"][0]["errors"][0];
    assert_eq!((&error["line"], &error["column"]), (&1.into(), &2.into()));
    assert!(
        error["causes"][0]
            .as_str()
            .unwrap()
            .contains("the digit 0 instead of `O`")
    );
}
