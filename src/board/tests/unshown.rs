//! What buses see of chips that were read, and what is left of them, are all of these chips.

use super::formula::{Chance, described, file_of, formula, sockets};
use crate::board::{Board, Level, Socket, SocketsSpec, Unseating};
use crate::image::{AddressRange, Image, Source};
use crate::parts::Catalogue;

fn read(bytes: Vec<u8>) -> Image {
    Image::from_bytes(0, bytes, Source::File("read.bin".into())).unwrap()
}

/// What is left of one chip of a board with one description, and what its bus sees.
fn unseated(lines: &str, bytes: &[u8]) -> (Image, Vec<(u64, u8)>) {
    let text = format!("[[sockets]]\nnames = [\"U1\"]\npart = \"27C1024\"\nat = 0\n{lines}");
    let board = Board::from_toml("test.board", &text, &mut Catalogue::built_in()).unwrap();
    let chip = read(bytes.to_vec());
    let unseated = board.unseat(vec![(board.socket("U1").unwrap(), chip)]);
    let unseated = unseated.unwrap();
    let [seen] = &unseated.seen[..] else {
        panic!("{lines}: {} images", unseated.seen.len());
    };
    let left = match &unseated.unshown[..] {
        [] => Image::new(),
        [(_, left)] => left.clone(),
        more => panic!("{lines}: {} chips", more.len()),
    };
    (left, bytes_of(&seen.image))
}

fn bytes_of(image: &Image) -> Vec<(u64, u8)> {
    let spans = image.spans().iter();
    spans
        .flat_map(|span| (span.start()..).zip(span.bytes().iter().copied()))
        .collect()
}

/// An `except` begins and ends inside a word of a chip whose data lines are crossed: the bytes that have bits of the hidden
/// halves are left, and no others.
#[test]
fn half_a_word_that_no_bus_shows_is_left_with_all_its_bits() {
    let bytes: Vec<u8> = (0..0x2_0000u32)
        .map(|at| (at * 37 + at / 256) as u8)
        .collect();
    let whole = 0x2_0000;
    for (wires, left) in [
        // Bits of the other byte: the chip's bytes of both words.
        (
            "wires = { D0 = \"D8\", D8 = \"D0\" }",
            vec![0x100, 0x101, 0x102, 0x103],
        ),
        (
            "wires = { D0 = \"/D8\", D8 = \"D0\" }",
            vec![0x100, 0x101, 0x102, 0x103],
        ),
        // Bits of the same byte: just that byte.
        ("wires = { D0 = \"D1\", D1 = \"D0\" }", vec![0x101, 0x102]),
        (
            "wires = { D3 = \"/D3\", D12 = \"/D12\" }",
            vec![0x101, 0x102],
        ),
        // Words 0x80 and 0x81 are elsewhere.
        ("wires = { A0 = \"/A0\" }", vec![0x100, 0x103]),
        ("", vec![0x101, 0x102]),
    ] {
        let lines = format!("order = \"little\"\nexcept = \"0x0101-0x0102\"\n{wires}");
        let (image, seen) = unseated(&lines, &bytes);
        let wanted: Vec<(u64, u8)> = left.iter().map(|at| (*at, bytes[*at as usize])).collect();
        assert_eq!(bytes_of(&image), wanted, "{wires}");
        assert_eq!(seen.len(), whole - 2, "{wires}");
    }
}

/// A chip larger than its part is one that was read as another: what is too much is told.
#[test]
fn what_is_past_the_end_of_the_part_is_left() {
    let bytes: Vec<u8> = (0..0x2_0002u32).map(|at| at as u8 ^ 0x12).collect();
    let (left, seen) = unseated("order = \"big\"", &bytes);
    assert_eq!(bytes_of(&left), [(0x2_0000, 0x12), (0x2_0001, 0x13)]);
    assert_eq!(seen.len(), 0x2_0000);
}

/// So is what is in a socket of another board.
#[test]
fn what_is_in_no_socket_of_the_board_is_left() {
    let text = "[[sockets]]\nnames = [\"U1\"]\npart = \"27C64\"\nat = 0\n";
    let board = Board::from_toml("test.board", text, &mut Catalogue::built_in()).unwrap();
    for (store, row, lane) in [(1, 0, 0), (0, 1, 0), (0, 0, 1)] {
        let socket = Socket { store, row, lane };
        let unseated = board.unseat(vec![(socket, read(vec![1, 2]))]).unwrap();
        assert!(unseated.seen.is_empty());
        let [(own, left)] = &unseated.unshown[..] else {
            panic!("{socket:?} is lost");
        };
        assert_eq!((*own, bytes_of(left)), (socket, vec![(0, 1), (1, 2)]));
    }
}

/// Where the upper half of a byte was not read, no byte comes of the lower.
#[test]
fn half_bytes_without_their_other_halves_are_left() {
    let text = "[[sockets]]\nnames = [\"N0\", \"N1\"]\npart = \"prom-256x4\"\nwith = 0\nlanes = 2\nat = 0\n";
    let board = Board::from_toml("test.board", text, &mut Catalogue::built_in()).unwrap();
    let [low, high] = ["N0", "N1"].map(|name| board.socket(name).unwrap());
    let chips = vec![(low, read(vec![1, 2, 3])), (high, read(vec![4, 5]))];
    let Unseating { seen, unshown, .. } = board.unseat(chips).unwrap();
    assert_eq!(bytes_of(&seen[0].image), [(0, 0x41), (1, 0x52)]);
    assert_eq!(unshown.len(), 1);
    assert_eq!((unshown[0].0, bytes_of(&unshown[0].1)), (low, vec![(2, 3)]));
    let Unseating { seen, unshown, .. } = board.unseat(vec![(high, read(vec![4]))]).unwrap();
    assert!(seen.is_empty());
    assert_eq!(
        (unshown[0].0, bytes_of(&unshown[0].1)),
        (high, vec![(0, 4)])
    );
}

/// Random boards, random chips, some of which were not read: every bit comes out where the formula says, or with its byte.
#[test]
fn every_bit_of_random_chips_is_seen_or_left() {
    let wanted = match std::env::var_os("ROMLOOM_THOROUGH") {
        Some(_) => 2000,
        None => 150,
    };
    let mut chance = Chance(1024);
    let (mut sound, mut cut, mut halves) = (0, 0, 0);
    while sound < wanted {
        let mut slot = 0;
        let mut specs: Vec<SocketsSpec> = (0..1 + chance.below(4))
            .map(|number| sockets(&mut chance, number, &mut slot))
            .collect();
        for spec in &mut specs {
            if chance.one_in(2) {
                // Not at the words.
                let at = spec.windows[0].at + chance.below(16);
                spec.except = vec![AddressRange::from_len(at, 1 + chance.below(8)).unwrap()];
            }
        }
        let Ok(board) = Board::new("", specs.clone()) else {
            continue;
        };
        sound += 1;
        let (with_cut, with_half) = check(&specs, &board, &mut chance);
        cut += with_cut;
        halves += with_half;
    }
    assert!(cut > wanted / 20 && halves > wanted / 20, "{cut} {halves}");
}

/// How many bytes were seen in part; how many half bytes were alone.
fn check(specs: &[SocketsSpec], board: &Board, chance: &mut Chance) -> (u64, u64) {
    let mut chips: Vec<(Socket, Vec<u16>)> = Vec::new();
    for (socket, _) in board.sockets() {
        let spec = &specs[socket.store];
        if chance.one_in(12) {
            continue;
        }
        let mut words: Vec<u16> = (0..spec.part.words).map(|_| chance.next() as u16).collect();
        // What lines that are open can't tell apart is equal.
        let open = spec.tied.iter().filter(|(_, level)| *level == Level::Any);
        let open = open.fold(0, |open, (line, _)| open | 1usize << line);
        let mask = match spec.part.width {
            4 => 0x000F,
            8 => 0x00FF,
            _ => 0xFFFF,
        };
        for at in 0..words.len() {
            words[at] = words[at & !open] & mask;
        }
        chips.push((socket, words));
    }
    let images = chips.iter().map(|(socket, words)| {
        let width = specs[socket.store].part.width;
        (*socket, read(file_of(words, width)))
    });
    // In any order.
    let mut images: Vec<(Socket, Image)> = images.collect();
    images.sort_by_cached_key(|_| chance.next());
    let unseated = board.unseat(images);
    let unseated = unseated.unwrap_or_else(|error| panic!("{error}\n{}", described(specs)));
    let (mut cut, mut halves) = (0, 0);
    for (socket, words) in &chips {
        let spec = &specs[socket.store];
        let place = (socket.row * spec.lanes + socket.lane) as usize;
        let known = seen_bits(spec, board, *socket, place, &unseated, words);
        let left = unseated.unshown.iter().find(|(own, _)| own == socket);
        let filler = board.stores()[socket.store].filler();
        let (all, of_a_byte) = match spec.part.width {
            4 => (0x0F, 1),
            8 => (0xFF, 1),
            _ => (0xFF, 2),
        };
        for (at, byte) in file_of(words, spec.part.width).into_iter().enumerate() {
            let known = known[at / of_a_byte] >> (8 * (at % of_a_byte)) & 0xFF;
            let left = left.and_then(|(_, left)| left.byte(at as u64));
            let wanted = (known != all && byte != filler).then_some(byte);
            assert_eq!(left, wanted, "{socket:?} {at}\n{}", described(specs));
            cut += u64::from(known != 0 && known != all);
            halves += u64::from(left.is_some() && all == 0x0F);
        }
    }
    (cut, halves)
}

/// The bits of a chip that the buses saw, word by word; all of them are right.
fn seen_bits(
    spec: &SocketsSpec,
    board: &Board,
    socket: Socket,
    place: usize,
    unseated: &Unseating,
    words: &[u16],
) -> Vec<u16> {
    let mut known = vec![0; words.len()];
    let windows = spec
        .windows
        .iter()
        .zip(board.stores()[socket.store].windows());
    for (window, own) in windows {
        for seen in unseated
            .seen
            .iter()
            .filter(|seen| seen.space == own.space())
        {
            let bank = match (seen.bank, own.banks()) {
                (None, None) => 0,
                (Some((bank, first)), Some((from, to)))
                    if first.store == socket.store && (from..=to).contains(&bank) =>
                {
                    bank
                }
                _ => continue,
            };
            for offset in 0..own.range().len() {
                let address = own.range().first() + offset;
                // Where something else answers, that may be another chip.
                let byte = seen.image.byte(address).filter(|_| own.shows(address));
                let Some(byte) = byte else {
                    continue;
                };
                let found = formula(spec, window, bank, offset);
                for cell in found.iter().filter(|cell| cell.place == place) {
                    for (bit, pin, inverted) in &cell.bits {
                        let word = words[cell.pins as usize];
                        let value = (word >> pin & 1) as u8 ^ u8::from(*inverted);
                        assert_eq!(
                            byte >> bit & 1,
                            value,
                            "{}",
                            described(std::slice::from_ref(spec))
                        );
                        known[cell.pins as usize] |= 1 << pin;
                    }
                }
            }
        }
    }
    known
}
