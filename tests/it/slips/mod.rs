//! Slips, by the habits of those who make them. Each is answered so that the next try works: the answer says how, and
//! what it says is run here.

mod bench;
mod engineer;
mod maker;
mod marking;
mod newcomer;
mod packager;
mod plus;
mod shell;
mod windows;

use crate::support::bench::Folder;

/// What is typed, what the answer says, and what the person types then, made of nothing but the answer and, where it
/// has capitals, of what the person knows.
type Row = (&'static str, &'static str, &'static str);

/// Words that a parser of command lines has for its own errors, and no reader has any use for.
const OF_THE_PARSER: &[&str] = &[
    "invalid digit",
    "invalid value",
    "invalid float",
    "unexpected argument",
    "a value is required",
    "required arguments",
    "tip:",
    "Usage:",
    "For more information",
    "cannot be used",
    "subcommand",
    "unrecognized",
    "possible values",
    "too large to fit",
    "out of range integral",
    "is not in 0..",
    "PosOverflow",
];

fn folder() -> Folder {
    let folder = Folder::new();
    let next = ":0490000010111213 26\n:00000001FF\n".replace(' ', "");
    for (name, content) in [
        ("a.hex", folder.get("prog.hex").as_slice()),
        ("next.hex", next.as_bytes()),
        ("dir/next.hex", next.as_bytes()),
        ("dir.bin/keep", b""),
        ("blank.bin", &[0xFF; 64]),
        ("ones.bin", &[0xFF; 64]),
        ("vector.bin", &[2, 0, 7, 7, 7, 7, 7, 7]),
        (
            "heron.board",
            b"title = \"Heron\"\n[[sockets]]\nnames = [\"U7\"]\npart = \"27C256\"\nat = 0x8000\n",
        ),
        ("board.loom", b"load a.hex\r\nwrite c.bin\r\n"),
        ("set.loom", b"load a.hex\nwrite ${NAME}.bin\n"),
        ("blanks.loom", b"load a.hex\nmark 0x9000 HERON 8\n"),
        ("quote.loom", b"load a.hex\nmark 0x9000 'HERON 8\n"),
        ("plus.loom", b"load a.hex pad 8\nwrite c.bin\n"),
        ("minus.loom", b"load a.hex\n+ write c.bin\n"),
        ("last.loom", b"load a.hex +\nwrite c.bin\n"),
        ("program.loom", b"romloom load a.hex\nwrite c.bin\n"),
        ("bench.loom", b"compare a.bin b.bin\n"),
        ("back.loom", b"load dir\\next.hex\nwrite c.bin\n"),
    ] {
        folder.put(name, content);
    }
    for name in [
        "a.bin",
        "b.bin",
        "chip.bin",
        "basic.bin",
        "rd-a.bin",
        "rd-b.bin",
        "chip.u7",
        "U7.bin",
        "my data.bin",
        "dir/set.bin",
    ] {
        folder.put(name, [7; 64]);
    }
    folder
}

/// Types each row, and then what its answer leads to; gives all answers.
fn answers(rows: &[Row]) -> String {
    let mut answers = String::new();
    for (typed, says, works) in rows {
        let folder = folder();
        let slip = folder.run(typed);
        let answer = &slip.err;
        assert!(answer.contains(says), "{typed}\n{answer}");
        for word in OF_THE_PARSER {
            assert!(!answer.contains(word), "{typed}: {word}\n{answer}");
        }
        let lines = answer
            .lines()
            .filter(|l| !l.contains("romloom help") || l.len() > 90);
        assert!(lines.count() <= 8, "{typed}: too long an answer\n{answer}");
        answers += &format!("$ romloom {typed}\n{answer}\n");
        let then = folder.run(works);
        // A verdict may say no.
        assert!(then.code <= 1, "{typed}, then {works}\n{}", then.err);
        assert!(!then.err.contains("error"), "{works}\n{}", then.err);
    }
    answers
}

#[test]
fn the_slips_of_newcomers() {
    insta::assert_snapshot!("answers", answers(newcomer::SLIPS));
}

#[test]
fn a_forgotten_plus() {
    insta::assert_snapshot!("forgotten_plus", answers(plus::SLIPS));
}

#[test]
fn nothing_on_the_bench() {
    insta::assert_snapshot!("nothing_on_the_bench", answers(bench::SLIPS));
}

#[test]
fn habits_of_a_shell() {
    answers(shell::SLIPS);
}

#[test]
fn habits_of_windows() {
    answers(windows::SLIPS);
}

#[test]
fn habits_of_a_maker() {
    answers(maker::SLIPS);
}

#[test]
fn habits_of_an_engineer() {
    answers(engineer::SLIPS);
}

#[test]
fn habits_of_a_packager() {
    answers(packager::SLIPS);
}

#[test]
fn nothing_but_a_marking() {
    answers(marking::SLIPS);
}

/// A `+` inside a name is not a slip, nor is a file called as a step is, a name, or a text.
#[test]
fn what_is_not_a_slip_is_not_answered() {
    let folder = folder();
    for name in ["write", "seat", "+show", "b+write", "Fill"] {
        folder.put(name, [1, 2]);
    }
    folder.put("a+b.bin", [3]);
    let ran = folder.ok("load write --as raw + load a+b.bin --at 2 + write c.bin");
    assert_eq!(ran.err, "");
    assert_eq!(folder.get("c.bin"), [1, 2, 3]);
    for line in [
        "load a.bin seat --as raw --follow + write c.bin",
        "load a.bin +show b+write Fill --as raw --follow + write c.bin",
        "load a.hex --name write + show --on write",
        "load a.hex --name=show + write --as raw show",
        "load --as raw -- write + show",
        "load a.hex + mark 0x9000 load + show",
        "load a.hex + mark 0x9000 'pad 8 + fill FF' + show",
        "load a.bin --name a+show + split lanes 2 --names show,write + show",
        "load a.hex + write fill.hex + sheet load.html --title pad --date show",
        "load a.bin + compare write --ignore-holes",
        "load a.bin --at 4096 + show",
        "pattern walk 8 --name seat + show",
    ] {
        let ran = folder.run(line);
        assert!(!ran.err.contains("a + is missing"), "{line}\n{}", ran.err);
        assert!(
            ran.code <= 1 && !ran.err.contains("error"),
            "{line}\n{}",
            ran.err
        );
    }
}

/// The forgotten `+` is told before whatever else is wrong with the line.
#[test]
fn a_forgotten_plus_comes_before_any_other_complaint() {
    for line in [
        "load nothere.hex write c.bin",
        "load a.hex --at 0x8000 write c.bin",
        "load a.hex --frobnicate write c.bin",
        "load a.hex + frobnicate + pad 8 write c.bin",
        "load a.hex + pad zz write c.bin",
        "load a.hex --at zz + pad 8 write c.bin",
        "fill FF write c.bin",
    ] {
        let ran = folder().run(line);
        assert_eq!(
            ran.error(),
            "error: a + is missing before `write`",
            "{line}"
        );
    }
}

/// Help is asked for in many ways, and given.
#[test]
fn help_is_given_however_it_is_asked_for() {
    let folder = folder();
    let of_seat = folder.ok("help seat").out;
    for line in ["-h seat", "--help seat", "seat --help", "help SEAT"] {
        assert_eq!(folder.ok(line).out, of_seat, "{line}");
    }
    let general = folder.ok("help").out;
    for line in ["--help", "-h", "help ?", "help /?"] {
        assert_eq!(folder.ok(line).out, general, "{line}");
    }
    for (line, says) in [
        ("help split lanes", "One piece per byte lane"),
        ("help 27C256", "seat 27C256 --at BASE"),
        ("help 27C256", "also 27C256B"),
        ("help M27C256B-12", "27C256    32Kx8"),
        ("help 2716", "pad part:2716"),
        ("help intel-hex", "by name: .hex"),
        ("help .s19", "Motorola S-records"),
        ("help crc", "A cyclic redundancy check"),
        ("help crc32", "stamp crc32 --across RANGE --at ADDR"),
        ("help sum16", "what most programmers show"),
        ("help sums", "crc-16/xmodem"),
        ("help lanes", "Lane\nOne of the parts"),
        ("help piece", "Our own word: one image"),
        ("help hole", "An address without a byte"),
        ("help address line", "One of the wires A0"),
        ("help board", "Describe a board"),
    ] {
        let ran = folder.ok(line);
        assert!(ran.out.contains(says), "{line}\n{}", ran.out);
    }
    for (line, says) in [
        ("help overley", "did you mean `romloom help overlay`?"),
        ("help intel-hax", "`romloom help intel-hex`"),
        ("help sha265", "`romloom help sha256`"),
        ("help diagnos", "`romloom help diagnose`"),
        ("help frobnicate", "`romloom help` lists steps and commands"),
    ] {
        let ran = folder.run(line);
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.err.contains(says), "{line}\n{}", ran.err);
    }
}
