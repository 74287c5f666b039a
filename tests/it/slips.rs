//! Slips of newcomers. Each is answered so that the next try works: the answer says how, and what it says is run here.

use crate::support::bench::Folder;

/// What is typed, what the answer says, and what the person types then, made of nothing but the answer and, where
/// it has capitals, of what the person knows.
const SLIPS: &[(&str, &str, &str)] = &[
    // No step in front.
    ("a.hex", "romloom load a.hex + show", "load a.hex + show"),
    ("board.loom", "romloom run board.loom", "run board.loom"),
    (
        "load board.loom",
        "romloom run board.loom",
        "run board.loom",
    ),
    (
        "convert a.hex c.bin",
        "romloom load a.hex + write c.bin",
        "load a.hex + write c.bin",
    ),
    (
        "verify a.bin b.bin",
        "romloom load a.bin + compare b.bin",
        "load a.bin + compare b.bin",
    ),
    (
        "merge a.bin b.bin c.bin",
        "romloom load a.bin b.bin --follow + write c.bin",
        "load a.bin b.bin --follow + write c.bin",
    ),
    (
        "dump a.bin",
        "romloom load a.bin + show hex",
        "load a.bin + show hex",
    ),
    (
        "-i a.hex -o c.bin",
        "romloom load a.hex + write c.bin",
        "load a.hex + write c.bin",
    ),
    // The plus.
    (
        "load a.hex write c.bin",
        "load a.hex + write c.bin",
        "load a.hex + write c.bin",
    ),
    (
        "load a.hex +write c.bin",
        "load a.hex + write c.bin",
        "load a.hex + write c.bin",
    ),
    (
        "load a.hex+ write c.bin",
        "load a.hex + write c.bin",
        "load a.hex + write c.bin",
    ),
    (
        "load a.hex+write c.bin",
        "load a.hex + write c.bin",
        "load a.hex + write c.bin",
    ),
    (
        "load a.hex + pad 8 write c.bin",
        "pad 8 + write c.bin",
        "load a.hex + pad 8 + write c.bin",
    ),
    (
        "load a.hex + next.hex",
        "write + load next.hex",
        "load a.hex + load next.hex + show",
    ),
    (
        "load a.hex",
        "add + write FILE, or + show",
        "load a.hex + write c.bin",
    ),
    // Names.
    (
        "load a.hex + wriet c.bin",
        "did you mean `write`?",
        "load a.hex + write c.bin",
    ),
    (
        "LOAD a.hex + show",
        "did you mean `load`?",
        "load a.hex + show",
    ),
    ("help pads", "did you mean `pad`?", "help pad"),
    (
        "load a.hex + pad 27C265",
        "nearest: 27C256",
        "load a.hex + pad 27C256 + write c.bin",
    ),
    (
        "load a.hex + pad 2716",
        "write part:2716 or 2048",
        "load a.hex + pad part:2716 + write c.bin",
    ),
    (
        "load a.hx + show",
        "did you mean a.hex?",
        "load a.hex + show",
    ),
    (
        "load dir/nxt.hex + show",
        "did you mean dir/next.hex?",
        "load dir/next.hex + show",
    ),
    (
        "load my data.bin + show",
        "\"my data.bin\"",
        "load \"my data.bin\" + show",
    ),
    (
        "load dir + show",
        "dir: this is a folder, not a file",
        "load dir/next.hex + show",
    ),
    (
        "load *.hex + show",
        "name each file",
        "load a.hex next.hex + show",
    ),
    (
        "load a.hex + write dir.bin",
        "this is a folder: name a file in it",
        "load a.hex + write dir.bin/c.bin",
    ),
    (
        "load a.hex + write c",
        "call it c.bin",
        "load a.hex + write c.bin",
    ),
    (
        "load a.hex + write c.rom --as bin",
        "did you mean raw?",
        "load a.hex + write c.rom --as raw",
    ),
    (
        "load a.hex + write c.bin + write c.bin",
        "give one of the two another name",
        "load a.hex + write c.bin + write d.bin",
    ),
    // Options.
    (
        "load a.hex --fill 0xFF + show",
        "+ fill 0xFF",
        "load a.hex + fill 0xFF + show",
    ),
    (
        "load a.hex -o c.bin",
        "+ write c.bin",
        "load a.hex + write c.bin",
    ),
    (
        "load a.hex + write -o c.bin",
        "write c.bin",
        "load a.hex + write c.bin",
    ),
    (
        "load a.hex + write c.bin --dry-run",
        "romloom --dry-run ...",
        "--dry-run load a.hex + write c.bin",
    ),
    (
        "load a.hex + seat 27C256 --base 0x8000",
        "`romloom help seat` lists them",
        "help seat",
    ),
    (
        "load a.hex + seat 27C256 0x8000",
        "seat 27C256 --at 0x8000",
        "load a.hex + seat 27C256 --at 0x8000 + show",
    ),
    (
        "load a.bin + stamp crc32 0x3C",
        "stamp crc32 --at 0x3C",
        "load a.bin + stamp crc32 --across 0-0x3B --at 0x3C --replace + show",
    ),
    (
        "load a.bin + stamp crc",
        "nearest: crc16, crc32",
        "load a.bin + stamp crc32 --across 0-0x3B --at 0x3C --replace + show",
    ),
    (
        "load a.hex --name x --name y",
        "once is enough",
        "load a.hex --name x + show",
    ),
    (
        "run board.loom NAME=heron",
        "--set NAME=heron",
        "run set.loom --set NAME=heron",
    ),
    // Numbers.
    (
        "load a.bin --at 8000 + show",
        "write 0x8000",
        "load a.bin --at 0x8000 + show",
    ),
    (
        "load a.bin --at 000 + show",
        "write 0x8000",
        "load a.bin --at 0x8000 + show",
    ),
    (
        "load a.bin --at '$8000' + show",
        "write 0x8000 or 8000h",
        "load a.bin --at 8000h + show",
    ),
    (
        "load a.bin --at '#8000' + show",
        "write 0x8000 or 8000h",
        "load a.bin --at 0x8000 + show",
    ),
    (
        "load a.bin --at",
        "write --at ADDR",
        "load a.bin --at 0x8000 + show",
    ),
    (
        "load a.bin --at C000 + show",
        "write 0xC000 or C000h",
        "load a.bin --at 0xC000 + show",
    ),
    (
        "load a.bin --at 32KB + show",
        "write 32K",
        "load a.bin --at 32K + show",
    ),
    (
        "load a.hex + seat 27C256 --at 8000",
        "write 0x8000",
        "load a.hex + seat 27C256 --at 0x8000 + show",
    ),
    (
        "load a.hex + keep 0x9000-0x8000",
        "write 0x8000-0x9000",
        "load a.hex + keep 0x8000-0x9000 + show",
    ),
    (
        "load a.hex + keep 0x8000..0x9000",
        "write 0x8000-0x9000, or 0x8000-0x8FFF without the last address",
        "load a.hex + keep 0x8000-0x8FFF + show",
    ),
    (
        "load a.hex + keep 0x8000:0x9000",
        "write 0x8000-0x9000",
        "load a.hex + keep 0x8000-0x9000 + show",
    ),
    (
        "load a.hex + keep 0x8000 0x9000",
        "0x8000-0x9000",
        "load a.hex + keep 0x8000-0x9000 + show",
    ),
    (
        "load a.hex + fill FF 0x8000 0x9000",
        "0x8000-0x9000",
        "load a.hex + fill FF 0x8000-0x9000 + show",
    ),
    (
        "load a.bin + stamp sum8 --across 0-1,3-4 --at 2",
        "give one at a time, with the option again for each",
        "load a.bin + stamp sum8 --across 0-1 --across 3-4 --at 2 --replace + show",
    ),
    (
        "load a.hex + patch 0x8000 EA EB",
        "\"EA EB\"",
        "load a.hex + patch 0x8000 \"EA EB\" + show",
    ),
    (
        "load a.hex + mark 0x9000 HERON 8",
        "mark 0x9000 \"HERON 8\"",
        "load a.hex + mark 0x9000 \"HERON 8\" + show",
    ),
    // What the bytes don't allow.
    (
        "load a.hex next.hex + write c.bin",
        "`fill 0xFF` closes them",
        "load a.hex next.hex + fill 0xFF + write c.bin",
    ),
    (
        "load a.bin b.bin + show",
        "--follow puts the second behind the first",
        "load a.bin b.bin --follow + show",
    ),
    (
        "load a.hex + relocate --to 0x100 + pad 27C256 + write c.bin",
        "begins with --at",
        "load a.hex + relocate --to 0x100 + pad 27C256 --at 0 + fill FF + write c.bin",
    ),
    (
        "load a.bin + split 2 + show",
        "split lanes 2",
        "load a.bin + split lanes 2 + show",
    ),
    (
        "load a.bin + split even odd + show",
        "split lanes 2 --names even,odd",
        "load a.bin + split lanes 2 --names even,odd + show",
    ),
    (
        "load a.bin + split lane 2 + show",
        "did you mean `lanes`?",
        "load a.bin + split lanes 2 + show",
    ),
    (
        "load a.bin + expect",
        "blank, bytes, sum, size, full, pointer",
        "load a.bin + expect full",
    ),
    (
        "load a.bin b.bin --apart + compare rd-a.bin rd-b.bin",
        "compare 'rd-{name}.bin'",
        "load a.bin b.bin --apart + compare 'rd-{name}.bin'",
    ),
    (
        "seat 27C256 --at 0x8000 + show",
        "`load` something first",
        "load a.hex + seat 27C256 --at 0x8000 + show",
    ),
    // In a recipe.
    (
        "run blanks.loom",
        "mark 0x9000 \"HERON 8\"",
        "run set.loom --set NAME=heron",
    ),
    (
        "run set.loom",
        "--set NAME=VALUE",
        "run set.loom --set NAME=heron",
    ),
    (
        "run quote.loom",
        "this quote is never closed",
        "run set.loom --set NAME=heron",
    ),
];

fn folder() -> Folder {
    let folder = Folder::new();
    folder.put("a.hex", folder.get("prog.hex"));
    folder.put(
        "next.hex",
        ":0490000010111213 26\n:00000001FF\n".replace(' ', ""),
    );
    folder.put("dir/next.hex", folder.get("next.hex"));
    folder.put("dir.bin/keep", "");
    folder.put("a.bin", [7; 64]);
    folder.put("b.bin", [7; 64]);
    folder.put("rd-a.bin", [7; 64]);
    folder.put("rd-b.bin", [7; 64]);
    folder.put("my data.bin", [7; 64]);
    folder.put("board.loom", "load a.hex\r\nwrite c.bin\r\n");
    folder.put("set.loom", "load a.hex\nwrite ${NAME}.bin\n");
    folder.put("blanks.loom", "load a.hex\nmark 0x9000 HERON 8\n");
    folder.put("quote.loom", "load a.hex\nmark 0x9000 'HERON 8\n");
    folder
}

#[test]
fn the_answer_to_every_slip_gets_one_there() {
    let mut answers = String::new();
    for (typed, says, works) in SLIPS {
        let folder = folder();
        let slip = folder.run(typed);
        let answer = &slip.err;
        assert!(answer.contains(says), "{typed}\n{answer}");
        let lines = answer
            .lines()
            .filter(|l| !l.contains("romloom help") || l.len() > 90);
        assert!(lines.count() <= 8, "{typed}: too long an answer\n{answer}");
        answers += &format!("$ romloom {typed}\n{answer}\n");
        let then = folder.run(works);
        assert!(then.code == 0, "{typed}, then {works}\n{}", then.err);
        assert!(!then.err.contains("error"), "{works}\n{}", then.err);
    }
    insta::assert_snapshot!("answers", answers);
}

/// A `+` inside a name is no slip, nor is a file called as a step is.
#[test]
fn what_is_no_slip_is_not_answered() {
    let folder = folder();
    folder.put("write", [1, 2]);
    folder.put("a+b.bin", [3]);
    let ran = folder.ok("load write --as raw + load a+b.bin --at 2 + write c.bin");
    assert_eq!(ran.err, "");
    assert_eq!(folder.get("c.bin"), [1, 2, 3]);
    assert_eq!(folder.ok("load a.bin --at 4096 + show").err, "");
}
