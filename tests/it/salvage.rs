//! `load --salvage`: what came through, what is missing, and several copies of one file.

use crate::support::bench::Folder;

/// A damaged line is one whose last digit is lost.
fn copy(text: &str, damaged: &[usize]) -> String {
    let line = |(i, line): (usize, &str)| match damaged.contains(&(i + 1)) {
        true => line[..line.len() - 1].to_owned() + "\n",
        false => line.to_owned() + "\n",
    };
    text.lines().enumerate().map(line).collect()
}

fn monitor() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/heron-8/monitor.hex");
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn two_damaged_copies_make_the_whole_file_again() {
    let folder = Folder::new();
    let text = monitor();
    folder.put("whole.hex", &text);
    folder.put("a.hex", copy(&text, &[3, 9, 20]));
    folder.put("b.hex", copy(&text, &[4, 10, 21]));
    let ran = folder.run("load a.hex b.hex --salvage + write again.hex");
    assert_eq!(ran.code, 1, "damaged files never end well: {}", ran.err);
    folder.ok("load whole.hex + write whole2.hex");
    assert_eq!(folder.get("again.hex"), folder.get("whole2.hex"));
    assert!(
        ran.out.contains("which bytes are missing is not known"),
        "{}",
        ran.out
    );
    // One copy alone has holes, and they are listed.
    let ran = folder.run("load a.hex --salvage");
    assert_eq!(ran.code, 1);
    assert_eq!(ran.out.matches("missing ").count(), 3, "{}", ran.out);
    let ran = folder.run("--json load a.hex --salvage");
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let report = &json["reports"][0];
    assert_eq!(report["step"], "load");
    assert_eq!(report["damaged_lines"], 3);
    assert_eq!(report["missing"].as_array().unwrap().len(), 3);
}

#[test]
fn copies_that_are_sound_and_differ_are_refused_and_named() {
    let folder = Folder::new();
    folder.put(
        "a.hex",
        ":0480000010111213 36\n:0480\n:00000001FF\n".replace(' ', ""),
    );
    folder.put(
        "b.hex",
        ":0480000010111214 35\n:00000001FF\n".replace(' ', ""),
    );
    let ran = folder.run("load a.hex b.hex --salvage + write c.hex");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("a.hex line 1 puts"), "{}", ran.err);
    assert!(ran.err.contains("b.hex line 1 puts"), "{}", ran.err);
    assert!(!folder.path("c.hex").exists());
}

#[test]
fn a_sound_file_loses_nothing_by_salvage() {
    let folder = Folder::new();
    let ran = folder.ok("load prog.hex --salvage");
    assert_eq!(
        ran.out,
        "salvaged from prog.hex: 4 bytes in 1 record, 0 lines damaged\nnothing is missing\n"
    );
}

#[test]
fn without_salvage_a_damaged_file_is_not_taken() {
    let folder = Folder::new();
    folder.put("a.hex", copy(&monitor(), &[3]));
    let ran = folder.run("load a.hex + write b.hex");
    assert_eq!(ran.code, 2);
    assert_eq!(folder.list(), ["a.hex", "prog.hex"]);
}

/// After a line that could have been a base record, nobody knows where the next lines belong: text and JSON list them.
#[test]
fn lines_that_are_left_out_are_listed() {
    let folder = Folder::new();
    folder.put(
        "a.hex",
        ":020000040001F9\n:020000000102FB\n:0200000400 2F8\n:020000000304F7\n:020002000506F1\n:00000001FF\n",
    );
    let ran = folder.run("load a.hex --salvage");
    assert_eq!(ran.code, 1);
    let line = "left out lines 4 to 5, 4 bytes: a.hex line 3 is damaged\n";
    assert!(ran.out.contains(line), "{}", ran.out);
    let ran = folder.run("--json load a.hex --salvage");
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let left_out = serde_json::json!([
        {"file": "a.hex", "first_line": 4, "last_line": 5, "bytes": 4, "damaged_line": 3}
    ]);
    assert_eq!(json["reports"][0]["left_out"], left_out);
}
