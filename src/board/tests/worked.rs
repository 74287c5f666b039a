//! Boards worked out by hand.

use crate::board::{Board, Outside, Program, Socket, Target};
use crate::image::{Clash, Image, Source};
use crate::parts::Catalogue;

fn board(text: &str) -> Board {
    Board::from_toml("test.board", text, &mut Catalogue::built_in()).unwrap()
}

fn image(at: u64, bytes: &[u8]) -> Image {
    Image::from_bytes(at, bytes.to_vec(), Source::File("prog.hex".into())).unwrap()
}

/// The chips' first bytes and what was dropped, or why not.
fn laid(
    board: &Board,
    image: &Image,
    bank: Option<u64>,
    outside: Outside,
) -> Result<(Vec<u8>, u64), String> {
    let program = Program {
        name: "mon",
        image: image.clone(),
        target: Target::Bus {
            space: "cpu".into(),
            bank,
        },
    };
    let laid = board.lay(vec![program], Clash::Refuse, outside);
    let laid = laid.map_err(|error| error.to_string())?;
    let first = |at: u64| {
        laid.chips
            .iter()
            .map(move |chip| chip.image.byte(at).unwrap())
    };
    let dropped = laid.dropped.iter().map(|own| own.count).sum();
    Ok((first(0).chain(first(1)).collect(), dropped))
}

#[test]
fn a_byte_for_a_place_without_a_chip_is_not_lost_without_a_word() {
    let odd =
        board("[[sockets]]\nnames = [\"-\", \"U4\"]\npart = \"28C64\"\nlanes = 2\nat = 0xC000");
    let all = image(0xC000, &[1, 2, 3, 4]);
    assert_eq!(
        laid(&odd, &all, None, Outside::Refuse).unwrap_err(),
        "mon: 2 bytes for places without a chip; the first is at 0xC000 (prog.hex)"
    );
    assert_eq!(laid(&odd, &all, None, Outside::Drop), Ok((vec![2, 4], 2)));
    let mut own = image(0xC001, &[2]);
    own.put(0xC003, vec![4], Source::Patch).unwrap();
    assert_eq!(laid(&odd, &own, None, Outside::Refuse), Ok((vec![2, 4], 0)));
    // The second row has no chip.
    let rows = board("[[sockets]]\nnames = [\"U1\", \"-\", \"U3\"]\npart = \"2716\"\nat = 0x8000");
    let all = image(0x87FF, &[1, 2]);
    assert_eq!(
        laid(&rows, &all, None, Outside::Refuse).unwrap_err(),
        "mon: 1 byte for places without a chip; the first is at 0x8800 (prog.hex)"
    );
    // Two chips of four bits make a byte, and one of them is not there.
    let half = board(
        "[[sockets]]\nnames = [\"N0\", \"-\"]\npart = \"prom-256x4\"\nwith = 0\nlanes = 2\nat = 0",
    );
    assert_eq!(
        laid(&half, &image(0, &[0x12]), None, Outside::Refuse).unwrap_err(),
        "mon: 1 byte for places without a chip; the first is at 0x0000 (prog.hex)"
    );
}

#[test]
fn a_hole_in_a_switched_window_is_told_as_a_hole() {
    let board = board(
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C256\"\nat = 0x8000\nsize = \"8K\"\nbanks = 4\nexcept = \"0x9F00-0x9FFF\"",
    );
    let program = image(0x9F10, &[1]);
    assert_eq!(
        laid(&board, &program, Some(2), Outside::Refuse).unwrap_err(),
        "mon: 0x9F10 (prog.hex) is in 0x9F00-0x9FFF, where something else answers"
    );
    assert_eq!(
        laid(&board, &program, Some(2), Outside::Drop).map(|(_, dropped)| dropped),
        Ok(1)
    );
    assert_eq!(
        laid(&board, &program, Some(4), Outside::Drop).unwrap_err(),
        "mon: 0x9F10 (prog.hex) is in a window with the banks 0 to 3, so there is no bank 4"
    );
}

#[test]
fn a_whole_chip_at_one_position_of_a_register_needs_no_size() {
    let board = board(
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C64\"\nat = 0x4000\nbanks = \"8\"\n\
         [[sockets]]\nnames = [\"U2\"]\npart = \"27C64\"\nat = 0x4000\nbanks = \"9\"",
    );
    let program = image(0x4000, &[1, 2]);
    let laid = |bank| laid(&board, &program, Some(bank), Outside::Refuse);
    assert_eq!(laid(8), Ok((vec![1, 0xFF, 2, 0xFF], 0)));
    assert_eq!(laid(9), Ok((vec![0xFF, 1, 0xFF, 2], 0)));
}

#[test]
fn what_answers_in_place_of_a_chip_on_one_bus_does_not_on_another() {
    let text = "[[sockets]]\nnames = [\"U9\"]\npart = \"27C256\"\nwindow = [\n\
        { at = 0x8000, except = \"0x8000-0x80FF\" },\n\
        { at = 0x8000, space = \"sound\" },\n]";
    let board = board(text);
    let program = image(0x8000, &[1, 2]);
    let on = |space: &str| {
        let program = Program {
            name: "mon",
            image: program.clone(),
            target: Target::Bus {
                space: space.into(),
                bank: None,
            },
        };
        let laid = board.lay(vec![program], Clash::Refuse, Outside::Refuse);
        laid.map(|laid| laid.chips[0].image.byte(1))
            .map_err(|error| error.to_string())
    };
    assert_eq!(on("sound"), Ok(Some(2)));
    assert_eq!(
        on("cpu").unwrap_err(),
        "mon: 0x8000 (prog.hex) is in 0x8000-0x80FF, where something else answers"
    );
    let outside = text.replace("0x8000-0x80FF", "0x7000-0x70FF");
    let error = Board::from_toml("test.board", &outside, &mut Catalogue::built_in());
    assert_eq!(
        error.unwrap_err().to_string(),
        "test.board:5:25: 0x7000-0x70FF is not in any window of these sockets"
    );
}

#[test]
fn content_for_a_socket_without_a_chip_is_refused() {
    let board = board("[[sockets]]\nnames = [\"-\", \"U4\"]\npart = \"28C64\"\nlanes = 2\nat = 0");
    let bytes = image(0, &[1]);
    let lay = |socket| {
        let program = Program {
            name: "settings",
            image: bytes.clone(),
            target: Target::Chip(socket),
        };
        let laid = board.lay(vec![program], Clash::Refuse, Outside::Refuse);
        laid.map(|laid| laid.chips[0].image.byte(0))
            .map_err(|error| error.to_string())
    };
    let mut socket = board.socket("U4").unwrap();
    assert_eq!(lay(socket), Ok(Some(1)));
    for (store, lane) in [(0, 0), (0, 2), (1, 0)] {
        (socket.store, socket.lane) = (store, lane);
        assert_eq!(
            lay(socket).unwrap_err(),
            "settings: the board has no chip in that socket"
        );
    }
}

/// What is past a chip, or in a place that the board does not have, is seen nowhere.
#[test]
fn no_bus_sees_what_is_past_a_chip_or_a_board() {
    let board = board("[[sockets]]\nnames = [\"U3\", \"U4\"]\npart = \"28C64\"\nlanes = 2\nat = 0");
    let own = board.socket("U4").unwrap();
    let seen = |row: u32, lane: u32, address: u64| -> Vec<u64> {
        let socket = Socket { row, lane, ..own };
        let seen = board.seen(socket, address);
        seen.iter().map(|seen| seen.address).collect()
    };
    assert_eq!(seen(0, 1, 0x1FFF), [0x3FFF]);
    assert_eq!(seen(0, 0, 0), [0]);
    for (row, lane, address) in [(0, 1, 0x2000), (0, 2, 0), (1, 0, 0), (1, 1, 0x1FFF)] {
        assert_eq!(seen(row, lane, address), [0; 0], "{row} {lane} {address:X}");
    }
}

/// A place without a chip is one row's: the same lane of the next row has one.
#[test]
fn a_place_without_a_chip_is_in_its_row_alone() {
    let text =
        "[[sockets]]\nnames = [\"-\", \"U4\", \"U5\", \"U6\"]\npart = \"28C64\"\nlanes = 2\nat = 0";
    let board = board(text);
    let lay = |at: u64| {
        let program = Program {
            name: "prog",
            image: image(at, &[1]),
            target: Target::default(),
        };
        board
            .lay(vec![program], Clash::Refuse, Outside::Refuse)
            .is_ok()
    };
    assert_eq!([0, 1, 2, 0x3FFE].map(lay), [false, true, false, false]);
    assert_eq!([0x4000, 0x4001, 0x7FFE].map(lay), [true; 3]);
}

/// An odd byte at the end of a program, where data lines are crossed: the bits of the word's other byte stay erased, on the
/// pins that they have.
#[test]
fn the_other_half_of_a_word_is_as_in_an_unused_cell() {
    let sockets = |wires: &str| {
        let lines = "names = [\"U1\"]\npart = \"27C1024\"\norder = \"little\"\nat = 0x40000";
        board(&format!("[[sockets]]\n{lines}\nwires = {{ {wires} }}"))
    };
    let bytes = |wires: &str, at: u64, byte: u8| {
        laid(&sockets(wires), &image(at, &[byte]), None, Outside::Refuse).unwrap()
    };
    // D0 is on the pin of D8, which has the lowest bit of the upper byte.
    let crossed = "D0 = \"D8\", D8 = \"D0\"";
    assert_eq!(bytes(crossed, 0x40000, 0x00), (vec![0x01, 0xFE], 0));
    assert_eq!(bytes(crossed, 0x40000, 0x01), (vec![0x01, 0xFF], 0));
    assert_eq!(bytes(crossed, 0x40001, 0x00), (vec![0xFE, 0x01], 0));
    // A complement of what is not there is not burned.
    let inverted = "D0 = \"/D8\", D8 = \"/D0\", D9 = \"/D9\"";
    assert_eq!(bytes(inverted, 0x40000, 0x00), (vec![0x01, 0xFF], 0));
    assert_eq!(bytes(inverted, 0x40000, 0x01), (vec![0x01, 0xFE], 0));
    // And with crossed addresses alone.
    let addresses = "A0 = \"A1\", A1 = \"A0\"";
    assert_eq!(bytes(addresses, 0x40000, 0x12), (vec![0x12, 0xFF], 0));
}

/// What a program leaves of a word belongs to nobody: another one may put its own byte there.
#[test]
fn the_other_half_of_a_word_is_free_for_another_program() {
    let board = board(
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C1024\"\norder = \"little\"\nat = 0\nwires = { A0 = \"/A0\" }",
    );
    let programs = || {
        let program = |name, image, target| Program {
            name,
            image,
            target,
        };
        let socket = board.socket("U1").unwrap();
        vec![
            program("three", image(0, &[1, 2, 3]), Target::default()),
            program("one", image(1, &[0x55]), Target::Chip(socket)),
        ]
    };
    for clash in [Clash::Refuse, Clash::Same, Clash::First, Clash::Last] {
        let laid = board.lay(programs(), clash, Outside::Refuse).unwrap();
        let chip = &laid.chips[0].image;
        let bytes: Vec<_> = (0..4).map(|at| chip.byte(at).unwrap()).collect();
        assert_eq!(bytes, [3, 0x55, 1, 2], "{clash:?}");
        // Four bytes are data, and only those.
        let filler = (0..6).filter(|at| chip.origin_at(*at).unwrap().source.is_filler());
        assert_eq!(filler.count(), 2, "{clash:?}");
    }
}
