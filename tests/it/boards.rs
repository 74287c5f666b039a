//! The boards of docs/boards.md: each is built, a program of known bytes is laid over it, and every byte of every chip is
//! compared with what its sockets' wires make of it. The chip addresses are worked out here by hand.

use std::fs;
use std::path::Path;

use romloom::board::{Board, Outside, Program, Target};
use romloom::image::{AddressRange, Clash, Image, Source};
use romloom::parts::Catalogue;

/// A place of a bus, a bank of it, or a chip.
#[derive(Clone, Copy)]
struct Bus(&'static str, Option<u64>);

const CPU: Bus = Bus("cpu", None);

fn bank(bank: u64) -> Bus {
    Bus("cpu", Some(bank))
}

impl Bus {
    /// The byte that the program has there; no two lines, banks or buses look alike.
    fn byte(self, address: u64) -> u8 {
        let seed = self
            .0
            .bytes()
            .fold(self.1.map_or(7, |bank| bank + 100), |sum, letter| {
                sum * 31 + u64::from(letter)
            });
        let mixed = (address + (seed << 32)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let byte = ((mixed ^ mixed >> 29).wrapping_mul(0xBF58_476D_1CE4_E5B9) >> 40) as u8;
        match self.0 {
            // The upper half of a decoder word's second byte has no chip.
            "decode" if address % 2 == 1 => byte & 0x0F,
            _ => byte,
        }
    }

    fn target(self) -> Target {
        Target::Bus {
            space: self.0.into(),
            bank: self.1,
        }
    }
}

/// What a chip holds: its socket, its bytes, and the byte at each chip address.
type Chip = (&'static str, u64, Box<dyn Fn(u64) -> u8>);

/// A board of the page.
struct Case {
    heading: &'static str,
    /// The programs: bus, first address, bytes.
    programs: Vec<(Bus, u64, u64)>,
    /// Every chip in the order of the file.
    chips: Vec<Chip>,
    /// How many bytes the way back gives, each cell of the chips once.
    back: u64,
}

const K: u64 = 1024;
const ERASED: u8 = 0xFF;

fn chip(name: &'static str, size: u64, byte: impl Fn(u64) -> u8 + 'static) -> Chip {
    (name, size, Box::new(byte))
}

/// `bits` of a number, each as (where it is, where it goes).
fn moved(number: u64, bits: &[(u32, u32)]) -> u64 {
    bits.iter()
        .map(|(from, to)| (number >> from & 1) << to)
        .sum()
}

fn first_cases() -> Vec<Case> {
    vec![
        Case {
            heading: "One EPROM",
            programs: vec![(CPU, 0x8000, 32 * K)],
            chips: vec![chip("U7", 32 * K, |a| CPU.byte(0x8000 + a))],
            back: 32 * K,
        },
        Case {
            heading: "Two different chips",
            programs: vec![(CPU, 0xA000, 0x1800), (CPU, 0xC000, 16 * K)],
            chips: vec![
                chip("U7", 16 * K, |a| CPU.byte(0xC000 + a)),
                chip("U8", 8 * K, |a| match a {
                    0..=0x17FF => CPU.byte(0xA000 + a),
                    _ => ERASED,
                }),
            ],
            back: 24 * K,
        },
        Case {
            heading: "A pair with an overlay",
            // The vectors are linked for address 0, the rest for the ROM's own place.
            programs: vec![(CPU, 0, 8), (CPU, 0xFC0008, 0xFFF8)],
            chips: vec![
                chip("even", 32 * K, |a| match a {
                    0..=3 => CPU.byte(2 * a),
                    _ => CPU.byte(0xFC0000 + 2 * a),
                }),
                chip("odd", 32 * K, |a| match a {
                    0..=3 => CPU.byte(2 * a + 1),
                    _ => CPU.byte(0xFC0001 + 2 * a),
                }),
            ],
            back: 64 * K,
        },
        Case {
            heading: "Four lanes and two rows",
            programs: vec![(CPU, 0x400000, 64 * K)],
            chips: vec![
                chip("U10", 8 * K, |a| CPU.byte(0x400000 + 4 * a)),
                chip("U11", 8 * K, |a| CPU.byte(0x400001 + 4 * a)),
                chip("U12", 8 * K, |a| CPU.byte(0x400002 + 4 * a)),
                chip("U13", 8 * K, |a| CPU.byte(0x400003 + 4 * a)),
                chip("U14", 8 * K, |a| CPU.byte(0x408000 + 4 * a)),
                chip("U15", 8 * K, |a| CPU.byte(0x408001 + 4 * a)),
                chip("U16", 8 * K, |a| CPU.byte(0x408002 + 4 * a)),
                chip("U17", 8 * K, |a| CPU.byte(0x408003 + 4 * a)),
            ],
            back: 64 * K,
        },
        Case {
            heading: "A pair at the top of memory",
            // The first instruction, and a program at the bottom.
            programs: vec![(CPU, 0xF0000, 0x1000), (CPU, 0xFFFF0, 16)],
            chips: vec![
                chip("low", 32 * K, |a| match a {
                    0..=0x7FF | 0x7FF8..=0x7FFF => CPU.byte(0xF0000 + 2 * a),
                    _ => ERASED,
                }),
                chip("high", 32 * K, |a| match a {
                    0..=0x7FF | 0x7FF8..=0x7FFF => CPU.byte(0xF0001 + 2 * a),
                    _ => ERASED,
                }),
            ],
            back: 64 * K,
        },
        Case {
            heading: "A ROM that is seen twice",
            programs: vec![(CPU, 0x0000, 0x100), (CPU, 0xE100, 0x1F00)],
            chips: vec![chip("U2", 8 * K, |a| match a {
                0..=0xFF => CPU.byte(a),
                _ => CPU.byte(0xE000 + a),
            })],
            back: 8 * K,
        },
        Case {
            heading: "Sixteen bits wide, with boot sectors",
            programs: vec![(CPU, 0xE00000, 512 * K)],
            // D0-D7 come first in the file, and have the odd bytes of a big-endian bus.
            chips: vec![chip("U1", 512 * K, |a| {
                CPU.byte(0xE00000 + if a % 2 == 0 { a + 1 } else { a - 1 })
            })],
            back: 512 * K,
        },
        Case {
            heading: "Thirty-two banks, and the last one fixed",
            programs: (0..31)
                .map(|n| (bank(n), 0x4000, 8 * K))
                .chain([(CPU, 0x6000, 8 * K)])
                .collect(),
            chips: vec![chip("slot", 256 * K, |a| match a / 0x2000 {
                31 => CPU.byte(0x6000 + a % 0x2000),
                n => bank(n).byte(0x4000 + a % 0x2000),
            })],
            back: 256 * K,
        },
        Case {
            heading: "Two windows that are switched apart",
            // Even banks are linked for one window, odd ones for the other.
            programs: (0..16)
                .map(|n| (bank(n), if n % 2 == 0 { 0x8000 } else { 0xA000 }, 8 * K))
                .collect(),
            chips: vec![chip("U3", 128 * K, |a| {
                let (n, inside) = (a / 0x2000, a % 0x2000);
                bank(n).byte(if n % 2 == 0 { 0x8000 } else { 0xA000 } + inside)
            })],
            back: 128 * K,
        },
        Case {
            heading: "Three slots of 4K",
            programs: vec![(CPU, 0xD000, 12 * K)],
            chips: vec![
                chip("slot1", 4 * K, |a| CPU.byte(0xD000 + a)),
                chip("slot2", 4 * K, |a| CPU.byte(0xE000 + a)),
                chip("slot3", 4 * K, |a| CPU.byte(0xF000 + a)),
            ],
            back: 12 * K,
        },
        Case {
            heading: "Program and picture chips",
            programs: vec![(CPU, 0x8000, 32 * K), (Bus("video", None), 0, 16 * K)],
            chips: vec![
                chip("U7", 32 * K, |a| CPU.byte(0x8000 + a)),
                chip("P1", 8 * K, |a| Bus("video", None).byte(2 * a)),
                chip("P2", 8 * K, |a| Bus("video", None).byte(2 * a + 1)),
            ],
            back: 48 * K,
        },
        Case {
            heading: "Four systems on two switches",
            programs: (0..4).map(|n| (bank(n), 0xC000, 16 * K)).collect(),
            chips: vec![chip("U7", 64 * K, |a| {
                bank(a / 0x4000).byte(0xC000 + a % 0x4000)
            })],
            back: 64 * K,
        },
    ]
}

fn more_cases() -> Vec<Case> {
    vec![
        Case {
            heading: "A pair on an inverted switch",
            programs: vec![(bank(0), 0xF80000, 64 * K), (bank(1), 0xF80000, 64 * K)],
            // Position 0 has A15 high.
            chips: vec![
                chip("even", 64 * K, |a| match a {
                    0..=0x7FFF => bank(1).byte(0xF80000 + 2 * a),
                    _ => bank(0).byte(0xF80000 + 2 * (a - 0x8000)),
                }),
                chip("odd", 64 * K, |a| match a {
                    0..=0x7FFF => bank(1).byte(0xF80001 + 2 * a),
                    _ => bank(0).byte(0xF80001 + 2 * (a - 0x8000)),
                }),
            ],
            back: 128 * K,
        },
        Case {
            heading: "An open line in the middle",
            programs: vec![(CPU, 0xE000, 8 * K)],
            // The chip's A13 is the bus's A12, and its A12 makes no difference.
            chips: vec![chip("U5", 16 * K, |a| {
                CPU.byte(0xE000 + (a & 0x0FFF) + if a >= 0x2000 { 0x1000 } else { 0 })
            })],
            back: 8 * K,
        },
        Case {
            heading: "An open line in the middle",
            programs: vec![(CPU, 0xC000, 4 * K), (CPU, 0xF000, 4 * K)],
            chips: vec![chip("U6", 16 * K, |a| match a {
                0..=0x1FFF => CPU.byte(0xC000 + (a & 0x0FFF)),
                _ => CPU.byte(0xF000 + (a & 0x0FFF)),
            })],
            back: 8 * K,
        },
        Case {
            heading: "2K in 4K",
            programs: vec![(CPU, 0xF800, 2 * K)],
            chips: vec![chip("U4", 2 * K, |a| CPU.byte(0xF800 + a))],
            back: 2 * K,
        },
        Case {
            heading: "I/O holes",
            programs: vec![
                (CPU, 0x8000, 0x1F00),
                (CPU, 0xA000, 0x3F00),
                (CPU, 0xE000, 0x2000),
            ],
            chips: vec![chip("U7", 32 * K, |a| match a {
                0x1F00..=0x1FFF | 0x5F00..=0x5FFF => ERASED,
                _ => CPU.byte(0x8000 + a),
            })],
            back: 32 * K - 512,
        },
        Case {
            heading: "Scrambled lines",
            programs: vec![(CPU, 0x8000, 32 * K)],
            chips: vec![chip("U7", 32 * K, |a| {
                // Pin A0 has the bus's A3, pin A3 its A12, pin A12 its A0.
                let straight = a & !0x1009;
                let line = straight | moved(a, &[(0, 3), (3, 12), (12, 0)]);
                let byte = u64::from(CPU.byte(0x8000 + line));
                // Pin D0 has the bus's D7, pin D7 the complement of its D0.
                let pins = byte & 0x7E | moved(byte, &[(7, 0)]) | moved(!byte, &[(0, 7)]);
                pins as u8
            })],
            back: 32 * K,
        },
        Case {
            heading: "Microcode",
            programs: vec![
                (Bus("micro", None), 0, 3 * 512),
                (Bus("decode", None), 0, 2 * 512),
            ],
            chips: vec![
                chip("M0", 512, |a| Bus("micro", None).byte(3 * a)),
                chip("M1", 512, |a| Bus("micro", None).byte(3 * a + 1)),
                chip("M2", 512, |a| Bus("micro", None).byte(3 * a + 2)),
                chip("N0", 512, |a| Bus("decode", None).byte(2 * a) & 0x0F),
                chip("N1", 512, |a| Bus("decode", None).byte(2 * a) >> 4),
                chip("N2", 512, |a| Bus("decode", None).byte(2 * a + 1)),
            ],
            back: 5 * 512,
        },
        Case {
            heading: "A chip that two buses share",
            programs: vec![(CPU, 0x8000, 0x6000), (Bus("sound", None), 0x6000, 0x2000)],
            chips: vec![chip("U9", 32 * K, |a| match a {
                0..=0x5FFF => CPU.byte(0x8000 + a),
                _ => Bus("sound", None).byte(a),
            })],
            back: 32 * K,
        },
        Case {
            heading: "Different chips on one register",
            programs: [0, 1, 4, 5, 6, 7]
                .map(|n| (bank(n), 0x4000, 16 * K))
                .into_iter()
                .chain([(bank(8), 0x4000, 8 * K)])
                .collect(),
            chips: vec![
                chip("U1", 32 * K, |a| bank(a / 0x4000).byte(0x4000 + a % 0x4000)),
                chip("U2", 64 * K, |a| {
                    bank(4 + a / 0x4000).byte(0x4000 + a % 0x4000)
                }),
                chip("U3", 8 * K, |a| bank(8).byte(0x4000 + a)),
            ],
            back: 104 * K,
        },
        Case {
            heading: "A chip on the odd lane only",
            // Only the odd addresses of this range are laid; see below.
            programs: vec![(CPU, 0xE00000, 16 * K)],
            chips: vec![chip("U4", 8 * K, |a| CPU.byte(0xE00001 + 2 * a))],
            back: 8 * K,
        },
        Case {
            heading: "32K at 0x4000",
            programs: vec![(CPU, 0x4000, 32 * K)],
            chips: vec![chip("U7", 32 * K, |a| match a {
                0..=0x3FFF => CPU.byte(0x8000 + a),
                _ => CPU.byte(a),
            })],
            back: 32 * K,
        },
    ]
}

/// Each block of TOML with the heading that it is under.
fn boards_of_the_page() -> Vec<(String, String)> {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/boards.md");
    let page = fs::read_to_string(page).unwrap();
    let mut heading = String::new();
    let mut block: Option<String> = None;
    let mut boards = Vec::new();
    for line in page.lines() {
        match (&mut block, line) {
            (None, "```toml") => block = Some(String::new()),
            (Some(_), "```") => boards.extend(block.take().map(|text| (heading.clone(), text))),
            (Some(text), line) => *text += &format!("{line}\n"),
            (None, line) => {
                if let Some(own) = line.strip_prefix("## ") {
                    heading = own.to_owned();
                }
            }
        }
    }
    boards
}

/// A program of known bytes; on the board with one lane only the odd ones.
fn program(case: &Case, (bus, at, len): (Bus, u64, u64)) -> Image {
    let bytes = (at..at + len).map(|address| bus.byte(address)).collect();
    let mut image = Image::from_bytes(at, bytes, Source::Patch).unwrap();
    if case.heading == "A chip on the odd lane only" {
        let even = (at..at + len).step_by(2);
        let even: Vec<AddressRange> = even.map(|a| AddressRange::new(a, a).unwrap()).collect();
        image.remove_all(&even);
    }
    image
}

/// The byte that the programs of a case have at a place.
fn known(case: &Case, space: &str, bank: Option<u64>, address: u64) -> Option<u8> {
    let mut programs = case.programs.iter();
    let (bus, ..) = programs.find(|(bus, at, len)| {
        bus.0 == space && bus.1 == bank && (*at..at + len).contains(&address)
    })?;
    Some(bus.byte(address))
}

#[test]
fn every_chip_of_every_board_on_the_page_holds_what_its_wires_say() {
    let boards = boards_of_the_page();
    let cases: Vec<Case> = first_cases().into_iter().chain(more_cases()).collect();
    let headings: Vec<&str> = cases.iter().map(|case| case.heading).collect();
    let on_page: Vec<&str> = boards.iter().map(|(heading, _)| heading.as_str()).collect();
    assert_eq!(on_page, headings);
    for (case, (heading, text)) in cases.iter().zip(&boards) {
        let board = Board::from_toml("page.board", text, &mut Catalogue::built_in())
            .unwrap_or_else(|error| panic!("{heading}: {error}"));
        there_and_back(case, &board);
    }
}

fn there_and_back(case: &Case, board: &Board) {
    let heading = case.heading;
    let images: Vec<Image> = case
        .programs
        .iter()
        .map(|own| program(case, *own))
        .collect();
    let programs = case.programs.iter().zip(&images);
    let programs: Vec<Program> = programs
        .map(|((bus, ..), image)| Program {
            name: "program",
            image: image.clone(),
            target: bus.target(),
        })
        .collect();
    let laid = board
        .lay(programs, Clash::Refuse, Outside::Refuse)
        .unwrap_or_else(|error| panic!("{heading}: {error}"));
    assert_eq!(laid.chips.len(), case.chips.len(), "{heading}");
    for (chip, (name, size, byte)) in laid.chips.iter().zip(&case.chips) {
        assert_eq!(board.name(chip.socket), Some(*name), "{heading}");
        assert_eq!(board.socket(name), Some(chip.socket), "{heading}");
        assert_eq!(chip.image.len(), *size, "{heading}, {name}");
        for address in 0..*size {
            assert_eq!(
                chip.image.byte(address),
                Some(byte(address)),
                "{heading}, {name}:0x{address:04X}"
            );
        }
    }
    // Every program is seen where it was linked.
    let chips: Vec<_> = laid.chips.iter().map(|c| (c.socket, &c.image)).collect();
    for ((bus, at, len), image) in case.programs.iter().zip(&images) {
        let range = AddressRange::from_len(*at, *len).unwrap();
        let seen = board.view(&chips, bus.0, bus.1, &[range]).unwrap();
        assert!(seen.same_bytes(image), "{heading}, {}:0x{at:X}", bus.0);
    }
    // And the way back gives each cell that a bus sees once.
    let mut back = 0;
    let chips = chips
        .iter()
        .map(|(socket, image)| (*socket, Image::clone(image)));
    for own in board.unseat(chips.collect()).unwrap().seen {
        back += own.image.len();
        for span in own.image.spans() {
            for (address, byte) in (span.start()..).zip(span.bytes()) {
                let bank = own.bank.map(|(bank, _)| bank);
                if let Some(known) = known(case, &own.space, bank, address) {
                    assert_eq!(*byte, known, "{heading}, {}:0x{address:X}", own.space);
                }
            }
        }
    }
    assert_eq!(back, case.back, "{heading}: bytes on the way back");
}

/// The sentences below each board of the page: `` `U7:0x0000` is `cpu:0x8000` ``, checked as they are written.
#[test]
fn the_places_that_the_page_names_are_so() {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/boards.md");
    let page = fs::read_to_string(page).unwrap();
    let mut board: Option<Board> = None;
    let mut checked = 0;
    for part in page.split("```toml\n").skip(1) {
        let (toml, text) = part.split_once("```").unwrap();
        board = Board::from_toml("page.board", toml, &mut Catalogue::built_in())
            .ok()
            .or(board);
        let board = board.as_ref().unwrap();
        let text = text.split("\n## ").next().unwrap().replace('\n', " ");
        for sentence in text.split(['.', ';']) {
            checked += usize::from(same_cells(board, sentence));
        }
    }
    assert!(checked > 25, "only {checked} sentences name two places");
}

/// Whether a sentence says `one is other`; then each place on the left must share a cell with each on the right.
fn same_cells(board: &Board, sentence: &str) -> bool {
    let mut checked = false;
    for clause in sentence.split(", ") {
        let halves = clause.split_once(" is ");
        let Some((left, right)) = halves.or_else(|| clause.split_once(" are both ")) else {
            continue;
        };
        let places = |text: &str| -> Vec<Vec<(String, u64)>> {
            let words = text.split('`').skip(1).step_by(2);
            words.filter_map(|word| cells(board, word)).collect()
        };
        let (left, right) = (places(left), places(right));
        for one in &left {
            for other in &right {
                let both = one.iter().any(|cell| other.contains(cell));
                assert!(both, "{clause}: {one:?} {other:?}");
                checked = true;
            }
        }
    }
    checked
}

/// The cells of chips at a place as the page writes it.
fn cells(board: &Board, place: &str) -> Option<Vec<(String, u64)>> {
    let (prefix, address) = place.rsplit_once(':')?;
    let address = u64::from_str_radix(address.strip_prefix("0x")?, 16).ok()?;
    if let Some(socket) = board.socket(prefix) {
        return Some(vec![(board.name(socket)?.to_owned(), address)]);
    }
    let (space, bank) = match prefix.strip_prefix("bank") {
        Some(bank) => ("cpu", Some(bank.parse().unwrap())),
        None => (prefix, None),
    };
    let romloom::board::Answer::Cells(cells) = board.at(space, bank, address) else {
        panic!("{place}: nothing answers");
    };
    let named = cells.iter().map(|cell| {
        let name = board.name(cell.socket).unwrap();
        (name.to_owned(), cell.address)
    });
    Some(named.collect())
}
