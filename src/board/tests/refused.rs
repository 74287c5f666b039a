//! Every refusal by name, with its place in the file.

use crate::board::{Board, Opened, Outside, Program, Target};
use crate::image::{AddressRange, Clash, Image, Source};
use crate::parts::Catalogue;

fn board(text: &str) -> Result<Board, String> {
    Board::from_toml("test.board", text, &mut Catalogue::built_in()).map_err(|e| e.to_string())
}

/// One description, whose lines stand behind `[[sockets]]` on line 1.
fn one(lines: &str) -> Result<Board, String> {
    board(&format!("[[sockets]]\n{lines}"))
}

#[test]
fn what_is_wrong_with_a_file_is_told_with_line_and_key() {
    let u7 = "names = [\"U7\"]\npart = \"27C256\"\nat = 0x8000\n";
    for (text, wanted) in [
        ("title = \"x", "1:11: "),
        (
            "titel = \"x\"",
            "1:1: `titel` is not a key of a board; nearest: title",
        ),
        ("title = 8", "1:9: `title` must be a text in quotes, not 8"),
        ("title = \"x\"\n", "2:1: a board has no `sockets`"),
        (
            "sockets = 3",
            "1:11: `sockets` must be a list of tables, not 3",
        ),
        (
            "sockets = [3]",
            "1:12: `sockets` must be a list of tables, not 3",
        ),
        ("[[sockets]]\n", "1:1: `[[sockets]]` has no `part`"),
        (
            "[[sockets]]\npart = \"27C265\"",
            "2:8: `27C265` is not in the part table; nearest: 27C256",
        ),
        (
            "[[sockets]]\npart = \"27C256\"\n",
            "1:1: `[[sockets]]` has no `names`",
        ),
        (
            &format!("[[sockets]]\n{u7}sizes = 3"),
            "5:1: `sizes` is not a key of `[[sockets]]`; nearest: size",
        ),
        (
            &format!("[[sockets]]\n{u7}size = \"8Q\""),
            "5:8: `size`: `8Q` is not a number",
        ),
        (
            &format!("[[sockets]]\n{u7}size = -1"),
            "5:8: `size`: -1 is not a number from 0 to 2^64 - 1",
        ),
        (
            &format!("[[sockets]]\n{u7}mirrored = 1"),
            "5:12: `mirrored` must be true or false, not 1",
        ),
        (
            &format!("[[sockets]]\n{u7}banks = 0"),
            "5:9: `banks`: 0 is not a number of banks",
        ),
        (
            &format!("[[sockets]]\n{u7}order = \"middle\""),
            "5:9: `order` must be \"little\" or \"big\", not \"middle\"",
        ),
        (
            &format!("[[sockets]]\n{u7}with = 256"),
            "5:8: `with`: 256 does not fit in a byte",
        ),
        (
            &format!("[[sockets]]\n{u7}tied = {{ A14 = 2 }}"),
            "5:16: `tied` must be 0, 1 or \"any\" for each pin, not 2",
        ),
        (
            &format!("[[sockets]]\n{u7}tied = {{ D1 = 1 }}"),
            "5:10: `tied` must be address pins such as A13, not \"D1\"",
        ),
        (
            &format!("[[sockets]]\n{u7}wires = {{ A1 = \"D1\" }}"),
            "5:16: `wires` must be pins and the line of each, such as A0 = \"A3\" or D1 = \"/D1\", not \"D1\"",
        ),
        (
            &format!("[[sockets]]\n{u7}switch = [\"B1\"]"),
            "5:11: `switch` must be pins such as \"A14\", or \"/A14\" for the complement, not \"B1\"",
        ),
        (
            &format!("[[sockets]]\n{u7}except = \"0x9000\""),
            "5:10: `except`: `0x9000` is not a range",
        ),
        (
            &format!("[[sockets]]\n{u7}window = [{{ at = 0 }}]"),
            "4:6: `at` belongs to a window, and these sockets list their windows separately",
        ),
        (
            "[[part]]\nname = \"X1\"\nwords = 100\nwidth = 8\nkind = \"uv-eprom\"\nerased = 255\npins = 28\n[[sockets]]\n",
            "3:9: ",
        ),
    ] {
        let error = board(text).unwrap_err();
        let wanted = format!("test.board:{wanted}");
        assert!(error.starts_with(&wanted), "{text}\n{error}\n{wanted}");
    }
}

#[test]
fn what_is_wrong_with_a_board_is_told_at_its_key() {
    let c256 = "part = \"27C256\"\n";
    for (lines, wanted) in [
        (
            "names = []\nat = 0",
            "2:9: there is no socket: `names` is empty",
        ),
        (
            "names = [\"-\"]\nat = 0",
            "2:9: every place is without a chip",
        ),
        (
            "names = [\"bank3\"]\nat = 0",
            "2:9: a socket can't be called `bank3`: before an address that word means something else",
        ),
        (
            "names = [\"CPU\"]\nat = 0",
            "2:9: a socket can't be called `CPU`: before an address that word means something else",
        ),
        (
            "names = [\"U 7\"]\nat = 0",
            "2:9: `U 7` can't be a name: a name has only letters, digits, `_`, `-` and `.`",
        ),
        (
            "names = [\"U7\", \"u7\"]\nat = 0",
            "2:9: `u7` is named twice; capital and small letters count as the same",
        ),
        (
            "names = [\"a\", \"b\", \"c\"]\nlanes = 2\nat = 0",
            "2:9: 3 names don't make whole rows of 2 lanes",
        ),
        (
            "names = [\"U7\"]\nlanes = 17\nat = 0",
            "3:9: a bus has 1 to 16 lanes, not 17",
        ),
        (
            "names = [\"U7\"]",
            "1:1: nothing says where a bus sees these sockets",
        ),
        (
            "names = [\"U7\"]\nat = 0\nsize = 0",
            "4:8: the window size (0 bytes) is not a multiple of the bus word (1 byte)",
        ),
        (
            "names = [\"a\", \"b\"]\nlanes = 2\nat = 0x8001",
            "4:6: 0x8001 is not a multiple of the bus word (2 bytes)",
        ),
        (
            "names = [\"U7\"]\nat = 0xFFFFFFFFFFFF8000",
            "3:6: a window of 32,768 bytes at 0xFFFFFFFFFFFF8000 ends above the last 64-bit address",
        ),
        (
            "names = [\"U7\"]\nat = 0\nsize = \"64K\"",
            "4:8: the window has 65,536 bytes, but there are only 32,768 to show",
        ),
        (
            "names = [\"U7\"]\nat = 0\nsize = \"16K\"",
            "4:8: the window has 16,384 bytes and the chips 32,768, and nothing says which part of them it shows",
        ),
        (
            "names = [\"U7\"]\nat = 0\nsize = \"16K\"\nfrom = \"32K\"",
            "5:8: 0x8000 is not in the chips, which have 32,768 bytes",
        ),
        (
            "names = [\"U7\"]\nat = 0x4000\nsize = \"24K\"\nfrom = \"16K\"",
            "5:8: 24,576 bytes from 0x4000 up go past the end of the chips, 0x7FFF",
        ),
        (
            "names = [\"U7\"]\nat = 0\nsize = \"8K\"\ntied = { A14 = 1 }\nfrom = 0",
            "6:8: 0x0000 needs A14 at one level, but the pin is held at the other",
        ),
        (
            "names = [\"U7\"]\nat = 0xC000",
            "3:6: 0xC000 is not a multiple of the window size (32,768 bytes)",
        ),
        (
            "names = [\"U7\"]\nat = 0\ntied = { A15 = 1 }",
            "4:8: a 27C256 has no A15: its lines are A0 to A14",
        ),
        (
            "names = [\"U7\"]\nat = 0\nwires = { D8 = \"D0\" }",
            "4:9: a 27C256 has no D8: its lines are D0 to D7",
        ),
        (
            "names = [\"U7\"]\nat = 0\nwires = { A0 = \"A1\" }",
            "4:9: A1 goes to two pins, and A0 to none",
        ),
        (
            "names = [\"U7\"]\ntied = { A14 = 1 }\nwindow = [{ at = 0, tied = { A14 = 1 } }]",
            "4:28: A14 is given twice",
        ),
        (
            "names = [\"U7\"]\nat = 0\ntied = { A14 = 1 }\nwires = { A14 = \"/A14\" }",
            "4:8: A14 is held at a level, so nothing else can arrive there",
        ),
        (
            "names = [\"U7\"]\nat = 0\nswitch = [\"A14\"]",
            "1:1: a switch needs the positions at which this window answers",
        ),
        (
            "names = [\"U7\"]\nat = 0\nbanks = \"3-2\"\nswitch = [\"A14\"]",
            "4:9: positions 3 to 2 are back to front",
        ),
        (
            "names = [\"U7\"]\nat = 0\nbanks = 4\nswitch = [\"A14\"]",
            "4:9: 4 positions are too many: 1 pin can tell only 2 apart",
        ),
        (
            "names = [\"U7\"]\nat = 0\nbanks = 2",
            "4:9: nothing says how much of the chips each of the 2 positions shows: neither `size` nor `switch` is given",
        ),
        (
            "names = [\"U7\"]\nat = 0\nsize = \"24K\"\nbanks = 2",
            "4:8: the size of the switched window (24,576 bytes) is not a power of two of bus words, so the pins that the switch sets must be named",
        ),
        (
            "names = [\"a\", \"b\", \"c\"]\nat = 0\nsize = \"32K\"\nbanks = 4",
            "5:9: position 3 chooses a row of sockets that does not exist: there are 3",
        ),
        (
            "names = [\"U7\"]\nat = 0\nexcept = \"0x8000-0x8000\"",
            "4:10: 0x8000 is not in any window of these sockets",
        ),
        (
            "names = [\"U7\"]\nwindow = [{ at = 0 }, { at = 0, mirrored = true }]",
            "3:30: U7 answers at 0x0000-0x7FFF too",
        ),
    ] {
        let text = format!("[[sockets]]\n{lines}\n{c256}");
        let error = board(&text).unwrap_err();
        let wanted = format!("test.board:{wanted}");
        assert_eq!(error, wanted, "{text}");
    }
    let x16 = "names = [\"U1\"]\npart = \"27C1024\"\nat = 0";
    assert_eq!(
        one(x16).unwrap_err(),
        "test.board:1:1: a 27C1024 is 16 bits wide, so the order of its bytes must be said: little or big"
    );
    let two = "names = [\"U1\"]\npart = \"27C64\"\nat = 0\n[[sockets]]\nnames = [\"U2\"]\npart = \"27C64\"\nat = 0x1000\nsize = \"4K\"\nfrom = \"4K\"";
    assert_eq!(
        one(two).unwrap_err(),
        "test.board:8:6: U1 answers at 0x1000-0x1FFF too"
    );
    let space = "names = [\"U1\"]\npart = \"27C64\"\nat = 0\nspace = \"u1\"";
    assert_eq!(
        one(space).unwrap_err(),
        "test.board:5:9: `u1` is named twice; capital and small letters count as the same"
    );
}

fn image(at: u64, bytes: &[u8]) -> Image {
    Image::from_bytes(at, bytes.to_vec(), Source::File("prog.hex".into())).unwrap()
}

#[test]
fn what_can_not_be_laid_out_is_told_with_its_address() {
    let board = board(
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C128\"\nat = 0xC000\nexcept = \"0xC100-0xC1FF\"\n\
         [[sockets]]\nnames = [\"U2\"]\npart = \"27C256\"\nwindow = [{ at = 0x8000, size = \"8K\", banks = 4 }, { at = 0, size = \"8K\", from = \"8K\" }, { at = 0x2000, size = \"8K\", from = \"8K\" }]\n\
         [[sockets]]\nnames = [\"font\"]\npart = \"27C16\"\nat = 0\nspace = \"video\"\n",
    )
    .unwrap();
    let lay = |image: &Image, target: Target| {
        let program = Program {
            name: "mon",
            image: image.clone(),
            target,
        };
        let laid = board.lay(vec![program], Clash::Refuse, Outside::Refuse);
        laid.map(|_| ()).map_err(|error| error.to_string())
    };
    let cpu = |bank: Option<u64>| Target::Bus {
        space: "cpu".into(),
        bank,
    };
    for (image, target, wanted) in [
        (
            image(0x5000, &[1, 2]),
            cpu(None),
            "mon: nothing on the bus `cpu` shows 2 bytes; the first is at 0x5000 (prog.hex)",
        ),
        (
            image(0x8000, &[1]),
            cpu(None),
            "mon: 0x8000 (prog.hex) is in a switched window, but no bank is given",
        ),
        (
            image(0x8000, &[1]),
            cpu(Some(4)),
            "mon: 0x8000 (prog.hex) is in a window with the banks 0 to 3, so there is no bank 4",
        ),
        (
            image(0xC1FF, &[1]),
            cpu(None),
            "mon: 0xC1FF (prog.hex) is in 0xC100-0xC1FF, where something else answers",
        ),
        (
            image(0, &[1]),
            Target::Bus {
                space: "sound".into(),
                bank: None,
            },
            "mon: the board has no bus `sound`",
        ),
        (
            image(0x7FF, &[1, 2]),
            Target::Chip(board.socket("font").unwrap()),
            "mon: font has 2,048 bytes, but there is a byte at 0x0800 (prog.hex)",
        ),
    ] {
        assert_eq!(lay(&image, target).unwrap_err(), wanted);
    }
    // The same cell through two windows: equal bytes are accepted.
    let mut twice = image(0x10, &[7]);
    twice.put(0x2010, vec![7], Source::Patch).unwrap();
    assert_eq!(lay(&twice, cpu(None)), Ok(()));
    twice.put(0x2010, vec![8], Source::Patch).unwrap();
    assert_eq!(
        lay(&twice, cpu(None)).unwrap_err(),
        "mon: 0x0010 and 0x2010 are one cell of U2, but the program has 07 and 08 there"
    );
    // Two programs on one cell.
    let (one, other) = (image(0xC000, &[1, 2]), image(0xC001, &[3]));
    let both = |clash: Clash| {
        let programs = [("mon", &one), ("forth", &other)].map(|(name, image)| Program {
            name,
            image: image.clone(),
            target: cpu(None),
        });
        board.lay(programs.into(), clash, Outside::Refuse)
    };
    assert_eq!(
        both(Clash::Refuse).unwrap_err().to_string(),
        "mon and forth want the same cells of U1: prog.hex puts 02 there, prog.hex puts 03"
    );
    let byte = |clash: Clash| both(clash).unwrap().chips[0].image.byte(1);
    assert_eq!((byte(Clash::First), byte(Clash::Last)), (Some(2), Some(3)));
    // What is dropped is counted.
    let mut more = image(0xC000, &[1]);
    more.put(0x5000, vec![2, 3], Source::Patch).unwrap();
    let program = Program {
        name: "mon",
        image: more,
        target: cpu(None),
    };
    let laid = board
        .lay(vec![program], Clash::Refuse, Outside::Drop)
        .unwrap();
    assert_eq!(
        (laid.dropped[0].address, laid.dropped[0].count),
        (0x5000, 2)
    );
    let whole = AddressRange::new(0, 0x3FFF).unwrap();
    assert_eq!(laid.chips[0].image.contiguous(whole).unwrap().len(), 0x4000);
    assert!(!laid.chips[1].has_data);
}

#[test]
fn cells_that_a_bus_can_not_tell_apart_are_put_together_only_where_they_are_equal() {
    let board = one("names = [\"even\", \"odd\"]\npart = \"27C64\"\nlanes = 2\nat = 0x8000\nsize = \"8K\"\ntied = { A12 = \"any\" }").unwrap();
    let whole = image(0, &[0xFF; 0x2000]);
    let unseat = |odd: &Image| {
        let sockets = ["even", "odd"].map(|name| board.socket(name).unwrap());
        let chips = vec![(sockets[0], whole.clone()), (sockets[1], odd.clone())];
        let unseated = board.unseat(chips);
        let unseated = unseated.map_err(|error| error.to_string())?;
        Ok::<_, String>(unseated.seen[0].image.byte(0x8000 + 2 * 0x123 + 1))
    };
    let mut odd = whole.clone();
    odd.put(0x123, vec![1], Source::Patch).unwrap();
    let differ = "0x0123 and 0x1123 of odd are one cell for the board, but contain 01 and FF";
    assert_eq!(unseat(&odd), Err(differ.into()));
    odd.put(0x1123, vec![1], Source::Patch).unwrap();
    assert_eq!(unseat(&odd), Ok(Some(1)));
    // A hole in the upper cell loses nothing, one in the lower would.
    odd.remove(AddressRange::new(0x1000, 0x1FFF).unwrap());
    assert_eq!(unseat(&odd), Ok(Some(1)));
    let upper = image(0x1123, &[1]);
    let lost = "0x0123 and 0x1123 of odd are one cell for the board, but contain nothing and 01";
    assert_eq!(unseat(&upper), Err(lost.into()));
}

#[test]
fn what_is_too_much_for_a_board_is_told() {
    let long = "#".repeat((4 << 20) + 1);
    assert_eq!(
        board(&long).unwrap_err(),
        "test.board:1:1: the file has 4,194,305 bytes, but a board file at most 4,194,304"
    );
    let windows = "{ at = 0 }, ".repeat(4097);
    let u7 = "names = [\"U7\"]\npart = \"27C256\"\n";
    for (lines, wanted) in [
        (
            format!("{u7}window = [{windows}]"),
            "4:10: 4097 is too many: a board has at most 4096",
        ),
        (
            format!("{u7}at = 0\nsize = \"8K\"\nbanks = 1048577"),
            "6:9: 1048577 is too many: a board has at most 1048576",
        ),
        (
            "names = [\"N1\"]\npart = \"prom-256x4\"\nat = 0\nwith = 0x10".into(),
            "5:8: 10 does not fit in a cell of 4 bits",
        ),
        (
            "names = [\"U1\"]\npart = \"23256\"\nat = 0".into(),
            "1:1: a 23256 has no erased value of its own, so the content of unused cells must be said",
        ),
        (
            format!(
                "{u7}at = 0\nsize = \"8K\"\nbanks = 4\n[[sockets]]\nnames = [\"U8\"]\npart = \"27C64\"\nat = 0\nbanks = \"3\""
            ),
            "10:6: U7 answers at 0x0000-0x1FFF in bank 3 too",
        ),
    ] {
        let wanted = format!("test.board:{wanted}");
        assert_eq!(one(&lines).unwrap_err(), wanted);
    }
}

#[test]
fn half_bytes_half_words_and_places_without_a_chip_are_told() {
    let lay = |board: &Board, image: &Image, target: Target| {
        let program = Program {
            name: "mon",
            image: image.clone(),
            target,
        };
        let laid = board.lay(vec![program], Clash::Refuse, Outside::Refuse);
        laid.map(|_| ()).unwrap_err().to_string()
    };
    let half = one("names = [\"N1\"]\npart = \"prom-256x4\"\nat = 0\nwith = 0").unwrap();
    let wide = image(3, &[0x02, 0x13]);
    let upper =
        "mon: the upper half of 13 at 0x0004 (prog.hex) is not 0, but there is no chip for it";
    assert_eq!(lay(&half, &wide, Target::default()), upper);
    let n1 = Target::Chip(half.socket("n1").unwrap());
    assert_eq!(lay(&half, &wide, n1), upper);

    let lanes = one("names = [\"-\", \"U2\"]\npart = \"27C64\"\nlanes = 2\nat = 0").unwrap();
    let mut socket = lanes.socket("U2").unwrap();
    socket.lane = 0;
    assert_eq!(
        lay(&lanes, &wide, Target::Chip(socket)),
        "mon: the board has no chip in that socket"
    );

    let crossed = one(
        "names = [\"U1\"]\npart = \"27C1024\"\norder = \"little\"\nat = 0\nwires = { D0 = \"D8\", D8 = \"D0\" }",
    )
    .unwrap();
    let broken = "the word at 0x0004 has a hole at 0x0005";
    let read = image(4, &[1]);
    let chips = vec![(crossed.socket("U1").unwrap(), read)];
    assert_eq!(crossed.unseat(chips).unwrap_err().to_string(), broken);
}

#[test]
fn what_can_not_be_put_is_told_with_its_address() {
    let board = one(
        "names = [\"even\", \"odd\"]\npart = \"27C64\"\nlanes = 2\nat = 0x8000\nexcept = \"0x8010-0x801F\"",
    )
    .unwrap();
    let chip = image(0, &[0xFF; 0x2000]);
    let put = |at: u64| {
        let even = board.socket("even").unwrap();
        let mut opened = Opened::new(&board, vec![(even, &chip)]);
        opened.put("cpu", None, &Image::new(), &image(at, &[7]))?;
        opened.close()
    };
    assert_eq!(put(0x8002).unwrap()[0].1.byte(1), Some(7));
    for (at, wanted) in [
        (0xD000, "nothing answers at cpu:0xD000 (prog.hex)"),
        (0x8010, "nothing answers at cpu:0x8010 (prog.hex)"),
        (
            0x8003,
            "0x8003 is in the chip odd, which this step does not work on",
        ),
    ] {
        assert_eq!(put(at).unwrap_err().to_string(), wanted);
    }
    let crossed = one(
        "names = [\"U1\"]\npart = \"27C1024\"\norder = \"little\"\nat = 0\nwires = { D0 = \"D8\", D8 = \"D0\" }",
    )
    .unwrap();
    let none = Image::new();
    let mut opened = Opened::new(&crossed, vec![(crossed.socket("U1").unwrap(), &none)]);
    opened.put("cpu", None, &none, &image(4, &[1])).unwrap();
    assert_eq!(
        opened.close().unwrap_err().to_string(),
        "the word at 0x0004 has a hole at 0x0005"
    );
}
