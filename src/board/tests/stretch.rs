//! What is told of windows and chips as ranges, against the answer byte by byte.

use std::collections::BTreeSet;

use super::formula::{Chance, sockets};
use crate::board::{Board, Level, Seen, SocketsSpec, Stretch, SwitchedPin, Wire};
use crate::image::AddressRange;
use crate::parts::Catalogue;

fn board(text: &str) -> Board {
    Board::from_toml("test.board", text, &mut Catalogue::built_in()).unwrap()
}

fn range(first: u64, last: u64) -> AddressRange {
    AddressRange::new(first, last).unwrap()
}

fn bytes(ranges: impl IntoIterator<Item = AddressRange>) -> BTreeSet<u64> {
    let ranges = ranges.into_iter();
    ranges.flat_map(|r| r.first()..=r.last()).collect()
}

#[test]
fn ranges_of_random_boards_are_what_each_byte_says() {
    let mut chance = Chance(2048);
    let mut sound = 0;
    let mut with_unseen = 0;
    while sound < 60 {
        let mut slot = 0;
        let specs: Vec<SocketsSpec> = (0..1 + chance.below(3))
            .map(|number| sockets(&mut chance, number, &mut slot))
            .collect();
        let Ok(board) = Board::new("", specs) else {
            continue;
        };
        sound += 1;
        for (number, store) in board.stores().iter().enumerate() {
            let unseen = store.unseen().unwrap();
            for (socket, name) in board.sockets().filter(|(s, _)| s.store == number) {
                let place = socket.row as usize * store.lanes() as usize + socket.lane as usize;
                let all = 0..store.part().bytes();
                let by_byte: BTreeSet<u64> = all
                    .filter(|at| board.seen(socket, *at).is_empty())
                    .collect();
                assert_eq!(bytes(unseen[place].clone()), by_byte, "{name}");
                with_unseen += usize::from(!by_byte.is_empty());
                for window in store.windows().iter().filter(|w| w.except().is_empty()) {
                    let bank = window.banks().map(|(first, _)| first);
                    let shown = store.shown(window, bank).unwrap();
                    let shown = shown.iter().filter(|s| s.row == socket.row);
                    let told = bytes(shown.map(|stretch| stretch.chip));
                    let here = |seen: &Seen| {
                        seen.space == window.space()
                            && seen.bank == bank
                            && window.range().contains(seen.address)
                    };
                    let all = 0..store.part().bytes();
                    let by_byte = all.filter(|at| board.seen(socket, *at).iter().any(here));
                    assert_eq!(told, by_byte.collect(), "{name}");
                }
            }
        }
    }
    assert!(with_unseen > 20, "{with_unseen}");
}

#[test]
fn a_window_is_told_in_the_order_of_the_bus() {
    let board = board(
        "[[sockets]]\nnames = [\"U1\", \"U2\"]\npart = \"27C64\"\nat = 0x8000\n\
         wires = { A12 = \"/A12\" }\nexcept = \"0x8100-0x81FF\"\n",
    );
    let store = &board.stores()[0];
    let window = &store.windows()[0];
    let stretch = |bus: (u64, u64), row, chip: (u64, u64)| Stretch {
        bus: range(bus.0, bus.1),
        row,
        chip: range(chip.0, chip.1),
    };
    assert_eq!(
        store.shown(window, None).unwrap(),
        [
            stretch((0x8000, 0x80FF), 0, (0x1000, 0x10FF)),
            stretch((0x8200, 0x8FFF), 0, (0x1200, 0x1FFF)),
            stretch((0x9000, 0x9FFF), 0, (0, 0x0FFF)),
            stretch((0xA000, 0xAFFF), 1, (0x1000, 0x1FFF)),
            stretch((0xB000, 0xBFFF), 1, (0, 0x0FFF)),
        ]
    );
    assert_eq!(
        store.unseen().unwrap(),
        [vec![range(0x1100, 0x11FF)], Vec::new()]
    );
    let (pin, line, inverted) = (12, 12, true);
    assert_eq!(
        store.wires(),
        [Wire::Address {
            pin,
            line,
            inverted
        }]
    );
}

#[test]
fn a_large_chip_whose_lines_are_all_turned_round_is_one_range() {
    let wires: Vec<String> = (0..18).map(|n| format!("A{n} = \"A{}\"", 17 - n)).collect();
    let text = format!(
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C020\"\nat = 0\nwires = {{ {} }}\n",
        wires.join(", ")
    );
    let board = board(&text);
    let store = &board.stores()[0];
    let shown = store.shown(&store.windows()[0], None).unwrap();
    assert_eq!(shown.len(), 1);
    assert_eq!(shown[0].chip, range(0, 0x3_FFFF));
    // Half of it through the bus is every second byte.
    let text = text.replace("at = 0\n", "at = 0\nsize = \"128K\"\nfrom = 0\n");
    let board = self::board(&text);
    let unseen = board.stores()[0].unseen().unwrap();
    assert_eq!(unseen[0].len(), 128 << 10);
    assert_eq!(unseen[0][0], range(1, 1));
}

#[test]
fn a_byte_that_is_excepted_alone_is_missing_in_its_lane_only() {
    let board = board(
        "[[sockets]]\nnames = [\"even\", \"odd\"]\npart = \"27C64\"\nlanes = 2\nat = 0\norder = \"big\"\n\
         except = \"0x11\"\n"
            .replace("\"0x11\"", "\"0x11-0x11\"")
            .as_str(),
    );
    let store = &board.stores()[0];
    assert_eq!(store.unseen().unwrap(), [vec![], vec![range(8, 8)]]);
    assert_eq!(store.data_lines(0), (8, 15));
    assert_eq!(store.data_lines(1), (0, 7));
}

#[test]
fn held_and_switched_pins_and_what_nothing_answers() {
    let board = board(
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C256\"\ntied = { A13 = \"any\" }\n\
         window = [ { at = 0x2000, size = \"4K\", tied = { A14 = 1 }, banks = 2, switch = [\"/A12\"] }, { at = 0x8000, \
         size = \"4K\", tied = { A12 = 0, A14 = 0 } } ]\n",
    );
    let windows = board.stores()[0].windows();
    assert_eq!(windows[0].tied(), [(13, Level::Any), (14, Level::High)]);
    let (pin, inverted) = (12, true);
    assert_eq!(windows[0].switch(), [SwitchedPin { pin, inverted }]);
    assert_eq!(board.unanswered("cpu"), [range(0x3000, 0x7FFF)]);
    assert_eq!(board.unanswered("video"), []);
    assert_eq!(
        board.stores()[0].unseen().unwrap(),
        [vec![range(0x1000, 0x1FFF), range(0x3000, 0x3FFF)]]
    );
}
