//! Boards against plain formulas, and against figures worked out by hand in the comment.

use std::sync::Arc;

use proptest::prelude::*;

use super::*;
use crate::image::testing::*;
use crate::image::{Entry, Image, Source};
use crate::sums::Order;

/// What a chip shows through a CPU range, against every single address of it.
#[test]
fn stretches_seen_through_a_range_are_those_of_its_addresses() {
    let lines = |held: &[(u8, bool)]| Placement::Tied(held.to_vec());
    let boards = [
        Board::builder(64, 0x40).build().unwrap(),
        Board::builder(32, 0x80).lanes(2).rows(2).build().unwrap(),
        Board::builder(32, 0)
            .word_bytes(2)
            .order(Order::Big)
            .lanes(2)
            .build()
            .unwrap(),
        Board::builder(64, 0x20)
            .window(16)
            .placement(lines(&[(4, true), (5, false)]))
            .build()
            .unwrap(),
        // A line in the middle is held: the window lies in several stretches.
        Board::builder(64, 0)
            .window(16)
            .placement(lines(&[(1, true), (3, false)]))
            .lanes(2)
            .build()
            .unwrap(),
    ];
    for board in boards {
        let window = board.addresses();
        let bus = board.word_bytes() * u64::from(board.lanes());
        for first in (window.first()..=window.last()).step_by(bus as usize) {
            for last in (first + bus - 1..=window.last()).step_by(bus as usize) {
                for socket in board.sockets() {
                    let seen = board.seen_through(socket, r(first, last));
                    let mut seen: Vec<u64> =
                        seen.iter().flat_map(|r| r.first()..=r.last()).collect();
                    let mut expected: Vec<u64> = (first..=last)
                        .filter_map(|cpu| board.chip_of(cpu))
                        .filter(|(own, _)| *own == socket)
                        .map(|(_, chip)| chip)
                        .collect();
                    seen.sort_unstable();
                    expected.sort_unstable();
                    assert_eq!(seen, expected, "{board:?} {socket:?} {first:X}-{last:X}");
                }
            }
        }
    }
}

#[test]
fn data_outside_the_window_is_counted_in_words() {
    let says = |bytes: &[u8]| {
        let board = Board::builder(0x2000, 0x8000).build().unwrap();
        let refused = board.distribute(&image(0x7000, bytes));
        refused.unwrap_err().to_string()
    };
    assert!(says(&[1]).contains("1 byte lies"), "{}", says(&[1]));
    assert!(says(&[1, 2]).contains("2 bytes lie"), "{}", says(&[1, 2]));
}

#[test]
fn a_window_that_would_hold_all_is_the_smallest_aligned_one() {
    let fits = |window, extent| {
        let outside = BoardError::OutsideWindow {
            window,
            address: 0,
            origin: None,
            count: 1,
            extent,
        };
        outside.window_for_all()
    };
    let window = r(0x8000, 0x9FFF);
    assert_eq!(fits(window, r(0x8000, 0xA000)), Some(r(0x8000, 0xBFFF)));
    assert_eq!(fits(window, r(0x7FFF, 0x9000)), Some(r(0, 0xFFFF)));
    let low = r(0, 0x1FFF);
    assert_eq!(fits(low, r(0, 0xFFFF_FFFF)), Some(r(0, 0xFFFF_FFFF)));
    assert_eq!(fits(low, r(0, 0x1_0000_0000)), None);
    assert_eq!(BoardError::Lanes(3).window_for_all(), None);
}

proptest! {
    #[test]
    fn a_seated_byte_stands_where_the_wires_lead(
        image in images(), lines in 3u32..7, lanes in prop::sample::select(vec![1u32, 2, 4]),
        rows in prop::sample::select(vec![1u32, 2, 4]), unit in 1u64..3, big: bool, window in 0u64..3,
    ) {
        let (chip, wide) = (1u64 << lines, u64::from(lanes));
        let whole = chip * wide * u64::from(rows);
        let base = window * whole;
        let board = Board::builder(chip, base).word_bytes(unit).lanes(lanes).rows(rows).order(if big { Order::Big } else { Order::Little }).build().unwrap();
        let seen = r(base, base + whole - 1);
        prop_assert_eq!(board.addresses(), seen);
        let mut fitting = image.clone();
        fitting.keep(&[seen]);
        let outside = image.len() - fitting.len();
        match board.distribute(&image) {
            Ok(_) => prop_assert_eq!(outside, 0),
            Err(BoardError::OutsideWindow { address, count, .. }) => {
                let out = bytes_of(&image).into_keys().find(|at| !seen.contains(*at));
                prop_assert_eq!((Some(address), count), (out, outside));
            }
            Err(other) => prop_assert!(false, "{other}"),
        }
        let chips = board.distribute(&fitting).unwrap();
        prop_assert_eq!(chips.len() as u32, lanes * rows);
        prop_assert_eq!(chips.iter().map(Image::len).sum::<u64>(), fitting.len());
        for (at, byte) in bytes_of(&fitting) {
            // The topmost lines select a row of chips, the lowest a byte of the bus word.
            let (row, in_row) = ((at - base) / (chip * wide), (at - base) % (chip * wide));
            let (word, in_word) = (in_row / (unit * wide), in_row % (unit * wide));
            let (lane, low) = (in_word / unit, in_word % unit);
            let low = if big { unit - 1 - low } else { low };
            let in_chip = word * unit + low;
            prop_assert_eq!(chips[(row * wide + lane) as usize].byte(in_chip), Some(byte));
            let socket = Socket {
                row: row as u32,
                lane: lane as u32,
            };
            prop_assert_eq!(board.cpu_of(socket, in_chip), Some(at));
            prop_assert_eq!(board.chip_of(at), Some((socket, in_chip)));
        }
    }
}

/// Boards that show only a part of each chip, show it twice, or leave a range to something else.
fn unusual_boards() -> Vec<Board> {
    let lines = |held: &[(u8, bool)]| Placement::Tied(held.to_vec());
    let plain = || Board::builder(32, 0x40);
    vec![
        plain()
            .window(8)
            .placement(lines(&[(4, true), (3, false)]))
            .build()
            .unwrap(),
        // A line in the middle is held: the window lies in several stretches.
        plain()
            .window(16)
            .placement(lines(&[(1, true)]))
            .lanes(2)
            .rows(2)
            .build()
            .unwrap(),
        plain()
            .word_bytes(2)
            .order(Order::Big)
            .window(8)
            .placement(lines(&[(0, true), (2, true)]))
            .lanes(2)
            .build()
            .unwrap(),
        plain()
            .window(8)
            .placement(Placement::Repeated)
            .lanes(4)
            .build()
            .unwrap(),
        plain()
            .also(vec![r(0, 0x1F)])
            .except(vec![r(0x48, 0x4B), r(0x5F, 0x5F)])
            .build()
            .unwrap(),
        plain()
            .word_bytes(2)
            .rows(2)
            .also(vec![r(0x20, 0x3F), r(0x100, 0x13F)])
            .build()
            .unwrap(),
    ]
}

proptest! {
    /// Seated byte by byte where the board says; taken out again, each byte is back at its address.
    #[test]
    fn unusual_boards_lose_no_byte(image in images(), which in 0usize..6) {
        let board = &unusual_boards()[which];
        let window = board.addresses();
        let mut image = image;
        image.shift(0x40).unwrap();
        image.keep(&[window]);
        board.except().iter().for_each(|range| image.remove(*range));
        let chips = board.distribute(&image).unwrap();
        let mut expected = vec![Bytes::new(); chips.len()];
        let copies = match board.placement() {
            Placement::Repeated => board.chip() / board.window(),
            _ => 1,
        };
        for (cpu, byte) in bytes_of(&image) {
            let (socket, at) = board.chip_of(cpu).unwrap();
            prop_assert_eq!(board.cpu_of(socket, at), Some(cpu));
            for copy in 0..copies {
                let at = at + copy * board.window();
                expected[(socket.row * board.lanes() + socket.lane) as usize].insert(at, byte);
            }
        }
        for (chip, expected) in chips.iter().zip(&expected) {
            prop_assert_eq!(&bytes_of(chip), expected);
        }
        let seated: Vec<_> = board.sockets().zip(&chips).collect();
        let back = board.unseat(&seated).unwrap();
        prop_assert_eq!(bytes_of(&back), bytes_of(&image));
    }
}

#[test]
fn bytes_at_the_second_range_of_a_chip_go_into_the_chip() {
    // Seen at 0x40 and from 0x100 on: the reset vector was linked at the second place.
    let board = Board::builder(32, 0x40)
        .also(vec![r(0x100, 0x10F)])
        .build()
        .unwrap();
    let mut program = image(0x48, &[1, 2]);
    program.put(0x102, vec![3, 4], file("b.bin")).unwrap();
    program.entry = Some(Entry::Linear(0x48));
    program.header = Some(b"HERON".to_vec());
    let chips = board.distribute(&program).unwrap();
    assert_eq!(
        bytes_of(&chips[0]),
        Bytes::from([(2, 3), (3, 4), (8, 1), (9, 2)])
    );
    assert_eq!((chips[0].entry, &chips[0].header), (None, &None));
    // At both places alike is one byte; unlike is refused, naming both.
    program.put(0x108, vec![1], file("b.bin")).unwrap();
    assert!(board.distribute(&program).is_ok());
    program.put(0x108, vec![7], file("b.bin")).unwrap();
    match board.distribute(&program) {
        Err(BoardError::Clash(overlap)) => assert_eq!(overlap.differs_at, Some(0x48)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn data_where_something_else_answers_is_named() {
    let board = Board::builder(32, 0x40)
        .except(vec![r(0x50, 0x57)])
        .build()
        .unwrap();
    assert!(board.distribute(&image(0x4C, &[1, 2, 3, 4])).is_ok());
    match board.distribute(&image(0x4C, &[1, 2, 3, 4, 5])) {
        Err(BoardError::InExcepted {
            range,
            address,
            origin: Some(_),
        }) => assert_eq!((range, address), (r(0x50, 0x57), 0x50)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_part_of_a_chip_that_the_cpu_sees() {
    let seen = |placing, window| {
        let board = Board::builder(64, 0)
            .window(window)
            .placement(placing)
            .build()
            .unwrap();
        board.seen_in_chip()
    };
    let lines = |held: &[(u8, bool)]| Placement::Tied(held.to_vec());
    assert_eq!(seen(Placement::Whole, 64), [r(0, 63)]);
    assert_eq!(seen(Placement::Repeated, 16), [r(0, 63)]);
    assert_eq!(seen(lines(&[(5, true)]), 32), [r(32, 63)]);
    assert_eq!(seen(lines(&[(5, false), (4, true)]), 16), [r(16, 31)]);
    // A3 held high: every second group of eight.
    assert_eq!(
        seen(lines(&[(3, true)]), 32),
        [r(8, 15), r(24, 31), r(40, 47), r(56, 63)]
    );
    let words = Board::builder(64, 0)
        .word_bytes(2)
        .window(32)
        .placement(lines(&[(3, true)]))
        .build()
        .unwrap();
    assert_eq!(words.seen_in_chip(), [r(16, 31), r(48, 63)]);
}

#[test]
fn a_chip_answers_in_its_window_and_its_further_ranges_only() {
    let board = Board::builder(32, 0x40)
        .also(vec![r(0x100, 0x10F), r(0x200, 0x21F)])
        .except(vec![r(0x48, 0x4F)])
        .build()
        .unwrap();
    let at = |cpu| {
        let (socket, at) = board.chip_of(cpu)?;
        assert_eq!(socket, Socket { row: 0, lane: 0 }, "{cpu:X}");
        Some(at)
    };
    assert_eq!([0x3F, 0x48, 0x4F, 0x60].map(at), [None; 4]);
    assert_eq!([0x40, 0x47, 0x50, 0x5F].map(at), [0, 7, 16, 31].map(Some));
    assert_eq!([0xFF, 0x110, 0x1FF, 0x220].map(at), [None; 4]);
    assert_eq!(
        [0x100, 0x10F, 0x200, 0x21F].map(at),
        [0, 15, 0, 31].map(Some)
    );
}

#[test]
fn a_repeated_chip_shows_the_same_cpu_address_in_each_copy() {
    for (unit, base) in [(1, 0x40), (2, 0x80)] {
        let board = Board::builder(64, base)
            .word_bytes(unit)
            .window(16)
            .placement(Placement::Repeated)
            .build()
            .unwrap();
        let socket = Socket { row: 0, lane: 0 };
        for chip in 0..64 {
            assert_eq!(
                board.cpu_of(socket, chip),
                Some(base + chip % 16),
                "{unit} {chip}"
            );
        }
        assert_eq!(board.cpu_of(socket, 64), None);
        assert_eq!(
            Board::builder(64, 64).build().unwrap().cpu_of(socket, 64),
            None
        );
    }
}

#[test]
fn a_seat_knows_the_cpu_address_of_each_byte() {
    let seat = |row, lane, boards: Vec<Board>| Seat {
        part: crate::parts::find("2764").unwrap().clone(),
        boards: boards.into_iter().map(Arc::new).collect(),
        socket: Socket { row, lane },
        rearranged_by: None,
    };
    let plain = || Board::builder(0x2000, 0x8000);
    // One chip after another: one number leads from the chip to the CPU.
    let rows = || plain().rows(2).build().unwrap();
    for (row, first) in [(0, 0x8000), (1, 0xA000)] {
        let seat = seat(row, 0, vec![rows()]);
        assert_eq!(seat.offset(), Some(first));
        assert_eq!(seat.cpu_of(0), Some(first));
        assert_eq!(seat.cpu_of(0x1FFF), Some(first + 0x1FFF));
        assert_eq!(seat.cpu_of(0x2000), None);
    }
    // Side by side no one number does, but each byte has its address: the odd lane begins at the second byte.
    let odd = seat(0, 1, vec![plain().lanes(2).build().unwrap()]);
    assert_eq!(odd.offset(), None);
    assert_eq!((odd.cpu_of(0), odd.cpu_of(1)), (Some(0x8001), Some(0x8003)));
    // A part 16 bits wide stands as the CPU sees it, unless the CPU has the upper half first.
    let wide = |order| plain().word_bytes(2).order(order).build().unwrap();
    assert_eq!(seat(0, 0, vec![wide(Order::Little)]).offset(), Some(0x8000));
    let big = seat(0, 0, vec![wide(Order::Big)]);
    assert_eq!(big.offset(), None);
    assert_eq!((big.cpu_of(0), big.cpu_of(1)), (Some(0x8001), Some(0x8000)));
    // The order says nothing of a part 8 bits wide.
    let bytes = plain().order(Order::Big).build().unwrap();
    assert_eq!(seat(0, 0, vec![bytes]).offset(), Some(0x8000));
    // Several programs in one switched chip: each half has its own address, and nothing stands for all of it.
    let page = |level| {
        plain()
            .window(0x1000)
            .placement(Placement::Switched(vec![(12, level)]))
            .build()
            .unwrap()
    };
    let switched = seat(0, 0, vec![page(false), page(true)]);
    assert_eq!(switched.offset(), None);
    assert_eq!(switched.cpu_of(0x0123), Some(0x8123));
    assert_eq!(switched.cpu_of(0x1123), Some(0x8123));
    let lower = seat(0, 0, vec![page(false)]);
    assert_eq!(lower.offset(), None);
    assert_eq!(
        (lower.cpu_of(0x0FFF), lower.cpu_of(0x1000)),
        (Some(0x8FFF), None)
    );
    // What something else answers has no address of the chip's.
    let except = plain().except(vec![r(0x9F00, 0x9FFF)]).build().unwrap();
    let with_io = seat(0, 0, vec![except]);
    assert_eq!(
        (with_io.cpu_of(0x1EFF), with_io.cpu_of(0x1F00)),
        (Some(0x9EFF), None)
    );
    assert_eq!(seat(0, 0, vec![]).cpu_of(0), None);
}

#[test]
fn a_board_that_can_not_be_built_is_refused() {
    let plain = || Board::builder(0x2000, 0x8000);
    let window = |builder: BoardBuilder| builder.build().map(|board| board.addresses());
    assert_eq!(window(plain()), Ok(r(0x8000, 0x9FFF)));
    assert_eq!(window(plain().lanes(2).rows(2)), Ok(r(0x8000, 0xFFFF)));
    assert_eq!(window(plain().lanes(3)), Err(BoardError::Lanes(3)));
    assert_eq!(window(plain().lanes(0)), Err(BoardError::Lanes(0)));
    assert_eq!(window(plain().rows(0)), Err(BoardError::Rows(0)));
    assert_eq!(window(plain().rows(257)), Err(BoardError::Rows(257)));
    assert_eq!(window(plain().word_bytes(3)), Err(BoardError::WordBytes(3)));
    assert_eq!(window(plain().word_bytes(0)), Err(BoardError::WordBytes(0)));
    assert!(window(Board::builder(0x2000, 0).rows(256)).is_ok());
    assert!(window(Board::builder(2, 0x8000).word_bytes(2)).is_ok());
    // A window is a power of two, no larger than the chip and no smaller than its word.
    for builder in [
        plain().window(0x1800),
        plain().window(0x4000),
        plain().window(0),
        plain().word_bytes(2).window(1),
        Board::builder(0, 0),
        Board::builder(0x1800, 0),
    ] {
        assert!(matches!(window(builder), Err(BoardError::Window { .. })));
    }
    // So is a chip, whatever its window.
    let tied = Placement::Tied(vec![(10, true)]);
    for placement in [tied, Placement::Repeated, Placement::Whole] {
        let odd = Board::builder(0x1800, 0)
            .window(0x1000)
            .placement(placement);
        assert_eq!(window(odd), Err(BoardError::Chip(0x1800)));
    }
    let between = BoardError::Base {
        base: 0x9000,
        window: 0x2000,
        below: 0x8000,
        above: 0xA000,
    };
    assert_eq!(window(Board::builder(0x2000, 0x9000)), Err(between));
    // Nothing passes the last address, however large the chips.
    for builder in [
        Board::builder(1 << 63, 0).lanes(16),
        Board::builder(1 << 60, 0).lanes(8).rows(3),
        Board::builder(1 << 63, 1 << 63),
    ] {
        assert!(matches!(window(builder), Err(BoardError::TooHigh { .. })));
    }
    // Ranges that something else answers lie inside, further ranges of the chips outside.
    assert!(window(plain().except([r(0x8000, 0x80FF)])).is_ok());
    assert!(window(plain().also([r(0, 0x1FFF)])).is_ok());
    let except = window(plain().except([r(0x9F00, 0xA000)]));
    assert!(matches!(except, Err(BoardError::Except { .. })));
    for also in [r(0, 0x2000), r(0x7FFF, 0x8000)] {
        let refused = window(plain().also([also]));
        assert!(matches!(refused, Err(BoardError::Also { .. })));
    }
}

#[test]
fn a_chip_larger_than_its_window_says_which_lines_are_held() {
    let placed = |word_bytes, placement| {
        let board = Board::builder(0x2000, 0x8000).word_bytes(word_bytes);
        let board = board.window(0x800).placement(placement).build();
        board.map(|board| board.addresses())
    };
    let window = Ok(r(0x8000, 0x87FF));
    let lines = |list: &[(u8, bool)]| Placement::Tied(list.to_vec());
    let open = BoardError::OpenPlace {
        chip: 0x2000,
        window: 0x800,
    };
    assert_eq!(placed(1, Placement::Whole), Err(open));
    assert_eq!(placed(1, Placement::Repeated), window);
    // 8 KiB has A0 to A12, or A0 to A11 where a word is two bytes; 2 KiB needs two fewer.
    assert_eq!(placed(1, lines(&[(12, true), (11, false)])), window);
    assert_eq!(placed(2, lines(&[(11, true), (10, false)])), window);
    for (word_bytes, line) in [(1, 13), (2, 12)] {
        let refused = placed(word_bytes, lines(&[(line, true), (10, true)]));
        assert_eq!(refused, Err(BoardError::NoSuchLine(line)));
    }
    let twice = placed(1, lines(&[(12, true), (12, false)]));
    assert_eq!(twice, Err(BoardError::HeldTwice(12)));
    let one = placed(1, lines(&[(12, true)])).unwrap_err();
    assert_eq!(
        one,
        BoardError::Lines {
            window: 0x800,
            needs: 11,
            has: 13,
            held: 2,
            given: vec![12],
        }
    );
    assert_eq!(
        one.to_string(),
        "a window of 2048 bytes needs 11 of the chip's 13 address lines to follow the CPU, so 2 must be held, and 1 are: A12"
    );
}

#[test]
fn a_seated_chip_is_whole() {
    let program = image(0x45, &[1, 2, 3]);
    let board = Board::builder(32, 0x40).lanes(2).build().unwrap();
    // The bytes at 0x45 and 0x47 are the odd lane's, the one at 0x46 is the even one's.
    let chips = board.seat(&program, 0xFF).unwrap();
    for (chip, data) in chips.iter().zip([&[(3, 2)][..], &[(2, 1), (3, 3)]]) {
        let mut whole: Bytes = (0..32).map(|at| (at, 0xFF)).collect();
        whole.extend(data.iter().copied());
        assert_eq!(bytes_of(chip), whole);
        assert_eq!(*chip.origins().runs()[0].source, Source::Filler);
    }
    // What the board never shows of a chip is its program's all the same; what a switch shows is another program's.
    let shown = |placement| {
        let board = Board::builder(32, 0x40).window(16).placement(placement);
        let chips = board.build().unwrap().seat(&program, 0).unwrap();
        chips[0].extent()
    };
    assert_eq!(shown(Placement::Tied(vec![(4, true)])), Some(r(0, 31)));
    assert_eq!(shown(Placement::Switched(vec![(4, true)])), Some(r(16, 31)));
    assert_eq!(shown(Placement::Repeated), Some(r(0, 31)));
    let huge = Board::builder(1 << 40, 0).build().unwrap();
    let refused = huge.seat(&program, 0).unwrap_err();
    assert_eq!(refused, BoardError::TooLarge(1 << 40));
}

#[test]
fn what_a_board_does_not_have_has_no_address() {
    let board = Board::builder(32, 0x40).lanes(2).build().unwrap();
    for socket in [
        Socket { row: 1, lane: 0 },
        Socket { row: 0, lane: 2 },
        Socket {
            row: u32::MAX,
            lane: u32::MAX,
        },
    ] {
        assert_eq!(board.cpu_of(socket, 0), None);
        assert_eq!(board.seen_through(socket, r(0, 0xFF)), []);
    }
    // Nor has what lies above a chip, though its lines would lead somewhere.
    let held = Board::builder(32, 0)
        .window(16)
        .placement(Placement::Tied(vec![(4, false)]));
    let held = held.build().unwrap();
    let socket = Socket { row: 0, lane: 0 };
    let far = image(1 << 40, &[1]);
    assert_eq!(held.cpu_of(socket, 64), None);
    assert!(held.unseat(&[(socket, &far)]).unwrap().is_empty());
}
