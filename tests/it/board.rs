//! `board` and `new --board`: who answers where, the picture, and the answers to what no board can be.

use insta::assert_snapshot;
use serde_json::Value;

use crate::support::bench::Folder;

/// Three ROMs of a Heron-8: one straight, one in a slot with banks, one pair on another bus.
const HERON: &str = "\
title = \"Heron-8, three ROMs\"

[[sockets]]
names = [\"U7\"]
part  = \"27C128\"
at    = 0xC000
except = \"0xC100-0xC1FF\"
wires = { A0 = \"A3\", A3 = \"A0\", A12 = \"/A12\", D1 = \"/D1\" }
note = \"soldered by hand\"

[[sockets]]
names  = [\"slot\"]
part   = \"27C020\"
window = [
  { at = 0x4000, size = \"8K\", banks = 32, by = \"register 0x20\" },   # switched
  { at = 0x6000, size = \"8K\", from = \"248K\" },                      # always the last 8K
]

[[sockets]]
names = [\"even\", \"odd\"]
part = \"27C64\"
lanes = 2
order = \"big\"
space = \"video\"
window = [
  { at = 0x0, size = \"8K\", tied = { A12 = 1 } },
  { at = 0x8000, size = \"32K\", mirrored = true },
]
";

fn heron() -> Folder {
    let folder = Folder::new();
    folder.put("heron.board", HERON);
    folder
}

#[test]
fn a_board_is_described_bus_by_bus() {
    let folder = heron();
    assert_snapshot!(folder.ok("board heron.board").out, @r#"
    Heron-8, three ROMs

    bus cpu
    4000-5FFF  slot
               in banks 0 to 31
               switched by register 0x20, through A13 to A17
               bank 0: chip 000000-001FFF
               bank 1: chip 002000-003FFF
               and so on to bank 31: chip 03E000-03FFFF
    6000-7FFF  slot
               chip 03E000-03FFFF
    8000-BFFF  nothing answers, 16K
    C000-FFFF  U7
               except C100-C1FF (256 bytes)
               C000-C0FF is chip 1000-10FF
               C200-CFFF is chip 1200-1FFF
               D000-DFFF is chip 0000-0FFF
               E000-FFFF is chip 2000-3FFF

    bus video
    0000-1FFF  even and odd
               A12 tied to 1
               chip 1000-1FFF
    2000-7FFF  nothing answers, 24K
    8000-FFFF  even and odd
               mirrored: bytes are seen more than once
               8000-BFFF is chip 0000-1FFF
               C000-FFFF is chip 0000-1FFF

    sockets
    U7    27C128, 16K, D0-D7
          wired: A3 on pin A0, A0 on pin A3, /A12 on pin A12, /D1 on pin D1
          no bus sees 1100-11FF, 256 bytes
          soldered by hand
    slot  27C020, 256K, D0-D7
    even  27C64, 8K, D8-D15
    odd   27C64, 8K, D0-D7
    "#);
    // Narrow terminals show it too: only names and remarks make longer lines.
    let told = folder.ok("board heron.board").out;
    let long: Vec<&str> = told.lines().filter(|line| line.len() > 60).collect();
    assert_eq!(long.len(), 1, "{long:?}");
}

#[test]
fn rows_and_unlike_banks_are_told_apart() {
    let folder = Folder::new();
    folder.put(
        "rows.board",
        "\
[[sockets]]
names = [\"U1\", \"U2\"]
part = \"27C64\"
at = 0x8000
[[sockets]]
names = [\"U3\"]
part = \"27C256\"
tied = { A13 = \"any\" }
at = 0
size = \"8K\"
banks = \"4-5\"
switch = [\"/A14\"]
[[sockets]]
names = [\"U4\", \"-\"]
part = \"27C64\"
lanes = 2
at = 0
size = \"8K\"
banks = \"6\"
by = \"a switch on the front\"
",
    );
    assert_snapshot!(folder.ok("board rows.board").out, @r#"
    bus cpu
    0000-1FFF  U3
               in banks 4 to 5
               switched through /A14
               A13 open: the same for 0 and 1
               bank 4: chip 4000-5FFF
               bank 4: chip 6000-7FFF
               bank 5: chip 0000-1FFF
               bank 5: chip 2000-3FFF
    0000-1FFF  U4
               in bank 6
               switched by a switch on the front, through A12
               bank 6: chip 0000-0FFF
    2000-7FFF  nothing answers, 24K
    8000-BFFF  U1 and U2
               8000-9FFF is chip 0000-1FFF of U1
               A000-BFFF is chip 0000-1FFF of U2

    sockets
    U1  27C64, 8K, D0-D7
    U2  27C64, 8K, D0-D7
    U3  27C256, 32K, D0-D7
    U4  27C64, 8K, D0-D7
        no bus sees 1000-1FFF, 4K
    "#);
}

#[test]
fn scripts_read_the_same() {
    let folder = heron();
    let told: Value = serde_json::from_str(&folder.ok("board heron.board --json").out).unwrap();
    assert_eq!(told["step"], "board");
    assert_eq!(told["title"], "Heron-8, three ROMs");
    let cpu = &told["buses"][0];
    assert_eq!(cpu["space"], "cpu");
    assert_eq!(cpu["nothing"][0]["first"], 0x8000);
    let slot = &cpu["windows"][0];
    assert_eq!(slot["sockets"][0], "slot");
    assert_eq!(slot["switch"][4], "A17");
    assert_eq!(slot["shows"].as_array().unwrap().len(), 32);
    assert_eq!(slot["shows"][31]["chip"]["first"], 248 << 10);
    let u7 = &told["sockets"][0];
    assert_eq!(u7["unseen_bytes"], 256);
    assert_eq!(u7["unseen"][0]["first"], 0x1100);
    assert_eq!(u7["wires"][2]["line"], "/A12");
    // In front it means the whole run, and prints the same.
    let front = folder.ok("--json board heron.board").out;
    assert_eq!(serde_json::from_str::<Value>(&front).unwrap(), told);
}

#[test]
fn the_picture_is_a_file_of_its_own() {
    let folder = Folder::new();
    folder.put(
        "small.board",
        "title = \"Heron-8 <1>\"\n[[sockets]]\nnames = [\"U7\"]\npart = \"27C64\"\nat = 0xE000\nexcept = \"0xE000-0xE0FF\"\n\
         [[sockets]]\nnames = [\"U8\"]\npart = \"27C64\"\nspace = \"video\"\nat = 0\nsize = \"4K\"\nfrom = 0\n",
    );
    let ran = folder.ok("board small.board --picture small.svg");
    assert_eq!(ran.err, "wrote small.svg  picture of a board\n");
    assert_eq!(ran.out, folder.ok("board small.board").out);
    let svg = String::from_utf8(folder.get("small.svg")).unwrap();
    assert!(
        !svg.contains("http://") || svg.matches("http://").count() == 1,
        "only the name space"
    );
    assert!(svg.contains("prefers-color-scheme:dark"));
    assert!(svg.contains("Heron-8 &lt;1&gt;"));
    let drawn = svg.split("</style>").nth(1).unwrap().replace("><", ">\n<");
    assert_snapshot!("small_board", drawn);
    let again = folder.ok("board small.board --picture small.svg");
    assert_eq!(again.err, "unchanged small.svg  picture of a board\n");
    folder.ok("board small.board --picture other.svg --dry-run");
    assert!(!folder.path("other.svg").exists());
    let ran = folder.run("board small.board --picture small.png");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("end it with .svg"), "{}", ran.err);
}

#[test]
fn what_is_wrong_is_shown_in_its_line() {
    let folder = Folder::new();
    folder.put(
        "b.board",
        "[[sockets]]\nnames = [\"U7\"]\npart = \"27C256\"\nat = 0xC000\n",
    );
    let ran = folder.run("board b.board --picture b.svg");
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(!folder.path("b.svg").exists());
    assert_snapshot!(ran.err, @r#"
    error: 0xC000 is not a multiple of the window size (32,768 bytes)
     --> b.board:4:6
      |
    4 | at = 0xC000
      |      ^^^^^^
      |
      = help: use at = 0x8000 or at = 0x10000; if the bus sees only a part: size = "16K" with from = "16K", or with tied = { A14 = 1 }
    "#);
    for (name, text, marked) in [
        ("empty", "", "a board has no `sockets`"),
        ("key", "[[sockets]]\nnams = 3\n", "2 | nams = 3\n  | ^^^^"),
        (
            "part",
            "[[sockets]]\nnames = [\"ü\"]\npart = \"27C265\"\n",
            "3 | part = \"27C265\"\n  |        ^^^^^^^^",
        ),
        // The whole table is meant: one line of it is shown.
        (
            "table",
            "[[sockets]]\n\n\npart = \"27C64\"\n",
            "1 | [[sockets]]\n  | ^^^^^^^^^^^",
        ),
        ("open", "title = \"x", "1 | title = \"x"),
    ] {
        folder.put("x.board", text);
        let ran = folder.run("board x.board");
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{name}");
        assert!(ran.err.contains(marked), "{name}\n{}", ran.err);
        assert!(ran.err.contains("x.board:"), "{name}\n{}", ran.err);
    }
    folder.put("x.board", [0xFF, 0xFE]);
    assert!(
        folder
            .run("board x.board")
            .err
            .contains("is not UTF-8 text")
    );
    assert!(
        folder
            .run("board nowhere.board")
            .err
            .starts_with("error: nowhere.board: ")
    );
}

#[test]
fn parts_of_the_run_and_of_the_board_count() {
    let folder = Folder::new();
    let part = |name: &str| {
        format!(
            "[[part]]\nname = \"{name}\"\nwords = 4096\nwidth = 8\nkind = \"uv-eprom\"\nerased = 255\npins = 24\n"
        )
    };
    folder.put("own.toml", part("H-1"));
    let board = "[[sockets]]\nnames = [\"U1\", \"U2\"]\npart = \"H-1\"\nat = 0\n".to_owned();
    folder.put("a.board", &board);
    folder.put("b.board", board.replace("H-1", "H-2") + &part("H-2"));
    let ran = folder.run("board a.board");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("--parts"), "{}", ran.err);
    for line in [
        "--parts own.toml board a.board",
        "board a.board --parts own.toml",
        "board b.board",
    ] {
        let ran = folder.ok(line);
        assert!(ran.out.contains("U1  H-"), "{line}: {}", ran.out);
    }
}

#[test]
fn a_new_board_is_sound() {
    let folder = Folder::new();
    for (line, wanted) in [
        ("new --board", "slot"),
        ("new --board --part 27C256 --at 0x8000", "8000-FFFF  U1"),
        (
            "new --board --part 27C256 --at 0xFC0000 --lanes 2 --name 'a \"b\"'",
            "FC0000-FCFFFF  U1 and U2",
        ),
        (
            "new --board --part 27C210 --at 0x20000 --order big",
            "020000-03FFFF  U1",
        ),
        (
            "new --board --part part:2364 --at 0 --rows 3",
            "0000-5FFF  U1, U2 and U3",
        ),
    ] {
        let text = folder.ok(line).out;
        assert!(text.starts_with("# "), "{text}");
        folder.put("new.board", &text);
        let told = folder.ok("board new.board").out;
        assert!(told.contains(wanted), "{line}: {told}");
    }
    let shown = include_str!("../../docs/examples/slot.board");
    assert_eq!(folder.ok("new --board").out, shown);
    assert_snapshot!(folder.ok("new --board --part part:2364 --at 0 --lanes 2").out, @r#"
    # A board, made by `romloom new --board`, and meant to be changed: names, title,
    # what is crossed or switched. `romloom board FILE` checks and describes it;
    # `romloom new --board` alone prints more that can be said.

    title = "A new board"

    [[sockets]]
    # As on the board: lane 0, which has the first byte of each bus word, then the
    # next lane; row after row.
    names = ["U1", "U2"]
    # 2 sockets of 8Kx8, 8K in each.
    part  = "2364"
    lanes = 2
    # Which data lines have the byte at the lower address: "little" D0-D7, "big"
    # the highest ones.
    order = "little"
    # What unused cells are, for this part has no erased value of its own.
    with  = 0xFF
    # The first address of the bus at which they answer.
    at    = 0x0000
    "#);
    for (line, wanted) in [
        (
            "new --board --part 27C256 --at 0xC000",
            "use at = 0x8000 or at = 0x10000",
        ),
        ("new --board --part 27C210 --at 0", "--order"),
        ("new --board --part 27C256", "--at"),
        ("new --board --part 32K --at 0", "27C256"),
        ("new --board --part 27C256 --at 0 --rows 5000", "4,096"),
        ("new --board prog.hex", "--board"),
        ("new --part 27C256 prog.hex", "--at"),
    ] {
        let ran = folder.run(line);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.err.contains(wanted), "{line}\n{}", ran.err);
    }
}

#[test]
fn a_large_board_is_described_and_drawn() {
    let folder = Folder::new();
    let names: Vec<String> = (0..64).map(|n| format!("\"U{n}\"")).collect();
    folder.put(
        "large.board",
        format!(
            "[[sockets]]\nnames = [{}]\npart = \"27C020\"\nwindow = [ {{ at = 0x8000, size = \"16K\", banks = 1024 }}, {{ at \
             = 0xC000, size = \"16K\", from = \"16368K\" }} ]\n",
            names.join(", ")
        ),
    );
    let told = folder.ok("board large.board --picture large.svg").out;
    assert!(told.contains("in banks 0 to 1023"), "{told}");
    assert!(
        told.contains("and so on to bank 1023: chip 03C000-03FFFF of U63"),
        "{told}"
    );
    assert!(told.contains("Every byte of every chip is seen."), "{told}");
    let svg = String::from_utf8(folder.get("large.svg")).unwrap();
    assert!(svg.len() < 200_000, "{}", svg.len());
}
