//! The judge's own tools: the bench breaks chips as defined, and the contents are what they are said to be.

use super::case::Case;
use super::classes::{CLASSES, Group};
use super::several::{Reads, Unsteady};
use crate::support::broken::{
    Before, Block, Cell, Cells, Chance, Damage, Fault, Identity, Kind, Length, Lines, Mistake,
    OpenBus, Phase, Tail, Unheard, World, wavering,
};
use crate::support::contents::{self, Content};
use w65c02s::{System, W65C02S};

const IMAGE: [u8; 4] = [0x10, 0x21, 0x42, 0x83];
const LONG: [u8; 8] = [1, 2, 3, 4, 5, 6, 7, 8];

/// Each on a case small enough to see.
#[test]
fn the_bench_breaks_lines_as_defined() {
    let read = |fault: Fault| fault.read(&IMAGE);
    let reading = |kind: Kind| read(Fault::Address(kind, Phase::Reading));
    assert_eq!(reading(Kind::Low(0)), [0x10, 0x10, 0x42, 0x42]);
    assert_eq!(reading(Kind::High(1)), [0x42, 0x83, 0x42, 0x83]);
    assert_eq!(reading(Kind::Inverted(0)), [0x21, 0x10, 0x83, 0x42]);
    assert_eq!(reading(Kind::Swapped(0, 1)), [0x10, 0x42, 0x21, 0x83]);
    assert_eq!(reading(Kind::WiredAnd(0, 1)), [0x10, 0x10, 0x10, 0x83]);
    assert_eq!(reading(Kind::WiredOr(0, 1)), [0x10, 0x83, 0x83, 0x83]);
    assert_eq!(reading(Kind::Driven(0, 1)), [0x10, 0x83, 0x10, 0x83]);
    let both = |kind, cells| read(Fault::Address(kind, Phase::Both(cells)));
    assert_eq!(
        both(Kind::Low(0), Cells::Overwrites),
        [0x21, 0x21, 0x83, 0x83]
    );
    assert_eq!(both(Kind::Low(0), Cells::OnlyClears), [0, 0, 2, 2]);
    let burned = |kind, cells| read(Fault::Address(kind, Phase::Burning(cells)));
    assert_eq!(
        burned(Kind::Low(0), Cells::Overwrites),
        [0x21, 0xFF, 0x83, 0xFF]
    );
    assert_eq!(
        read(Fault::Data(Kind::High(3))),
        [0x18, 0x29, 0x4A, 0x8B],
        "D3 at 1"
    );
    let wide = World {
        wide: true,
        ..World::default()
    };
    let read = |fault: Fault| fault.read_in(&IMAGE, &wide);
    assert_eq!(
        read(Fault::Address(Kind::Low(0), Phase::Reading)),
        [0x10, 0x21, 0x10, 0x21]
    );
    assert_eq!(
        read(Fault::Data(Kind::High(11))),
        [0x10, 0x29, 0x42, 0x8B],
        "D11 at 1"
    );
    assert_eq!(
        read(Fault::Mistake(Mistake::BitsReversed)),
        [0x84, 0x08, 0xC1, 0x42]
    );
}

#[test]
fn the_bench_breaks_cells_as_defined() {
    let world = World {
        old: &[0x0F; 8],
        other: &[0xAA; 8],
        wide: false,
    };
    let read = |cell: Cell| Fault::Cell(cell).read_in(&LONG, &world);
    assert_eq!(read(Cell::NotBlank), LONG.map(|byte| byte & 0x0F));
    let (blank, old) = (Before::Blank, Before::Old);
    assert_eq!(
        read(Cell::Stopped {
            at: 6,
            before: blank
        }),
        [1, 2, 3, 4, 5, 6, 0xFF, 0xFF]
    );
    assert_eq!(
        read(Cell::Stopped { at: 6, before: old }),
        [1, 2, 3, 4, 5, 6, 0x0F, 0x0F]
    );
    let cut = Cell::PageCut {
        page: 4,
        kept: 1,
        before: blank,
    };
    assert_eq!(read(cut), [1, 0xFF, 0xFF, 0xFF, 5, 0xFF, 0xFF, 0xFF]);
    let wrapped = |into_last| {
        read(Cell::PageWrapped {
            page: 2,
            burst: 4,
            into_last,
        })
    };
    assert_eq!(wrapped(false), [3, 4, 0xFF, 0xFF, 7, 8, 0xFF, 0xFF]);
    assert_eq!(wrapped(true), [0xFF, 0xFF, 3, 4, 0xFF, 0xFF, 7, 8]);
    let left = read(Cell::PagesLeft {
        page: 2,
        one_in: 1,
        before: old,
        seed: 1,
    });
    assert_eq!(left, [0x0F; 8]);
    for seed in 0..50 {
        let changed = |cell: Cell| {
            let read = read(cell);
            let up: u32 = read
                .iter()
                .zip(LONG)
                .map(|(r, w)| (r & !w).count_ones())
                .sum();
            let down: u32 = read
                .iter()
                .zip(LONG)
                .map(|(r, w)| (w & !r).count_ones())
                .sum();
            (up, down)
        };
        assert_eq!(changed(Cell::Leaked { bits: 5, seed }), (5, 0));
        assert_eq!(changed(Cell::Lost { bits: 5, seed }), (0, 5));
        let (up, down) = changed(Cell::Scattered { bits: 5, seed });
        assert_eq!(up + down, 5);
    }
    assert_eq!(
        read(Cell::Lost {
            bits: 1000,
            seed: 1
        }),
        [0; 8],
        "all there are"
    );
    let inside = |data, level| {
        let inside = Identity::Inside {
            mask: 3,
            value: 2,
            data,
            level,
        };
        Fault::Identity(inside).read(&LONG)
    };
    assert_eq!(inside(0xFF, true), [1, 2, 0xFF, 4, 5, 6, 0xFF, 8]);
    assert_eq!(inside(0x01, false), [1, 2, 2, 4, 5, 6, 6, 8]);
}

#[test]
fn the_bench_breaks_blocks_as_defined() {
    let read = |block: Block| Fault::Block(block).read(&LONG);
    assert_eq!(read(Block::Rotated(1)), [8, 1, 2, 3, 4, 5, 6, 7]);
    assert_eq!(read(Block::Shifted(-1)), [2, 3, 4, 5, 6, 7, 8, 0xFF]);
    assert_eq!(
        read(Block::Copied {
            from: 0,
            length: 2,
            to: 4
        }),
        [1, 2, 3, 4, 1, 2, 7, 8]
    );
    assert_eq!(
        read(Block::Moved {
            from: 0,
            length: 2,
            to: 4
        }),
        [0xFF, 0xFF, 3, 4, 1, 2, 7, 8]
    );
    assert_eq!(
        read(Block::Swapped {
            first: 0,
            second: 6,
            length: 2
        }),
        [7, 8, 3, 4, 5, 6, 1, 2]
    );
    assert_eq!(
        read(Block::Repeated {
            from: 1,
            length: 2,
            times: 2
        }),
        [1, 2, 3, 2, 3, 2, 3, 8]
    );
    assert_eq!(
        read(Block::Missing {
            from: 3,
            length: 2,
            reads: 0
        }),
        [1, 2, 3, 0, 0, 6, 7, 8]
    );
    let (kept, free) = (Tail::Kept, Tail::Free);
    assert_eq!(
        read(Block::Doubled {
            from: 1,
            length: 2,
            tail: kept
        }),
        [1, 2, 3, 2, 3, 4, 5, 6]
    );
    assert_eq!(
        read(Block::Doubled {
            from: 1,
            length: 2,
            tail: free
        }),
        [1, 2, 3, 2, 3, 4, 5, 6, 7, 8]
    );
    assert_eq!(
        read(Block::Lost {
            from: 1,
            length: 2,
            tail: kept
        }),
        [1, 4, 5, 6, 7, 8, 0xFF, 0xFF]
    );
    assert_eq!(
        read(Block::Lost {
            from: 1,
            length: 2,
            tail: free
        }),
        [1, 4, 5, 6, 7, 8]
    );
    let put = read(Block::PutIn {
        at: 2,
        length: 1,
        seed: 1,
        tail: kept,
    });
    assert_eq!((&put[..2], &put[3..]), (&LONG[..2], &LONG[2..7]));
    assert_eq!(
        read(Block::BanksSwapped {
            size: 2,
            first: 0,
            second: 3
        }),
        [7, 8, 3, 4, 5, 6, 1, 2]
    );
    assert_eq!(
        read(Block::BankTwice {
            size: 2,
            from: 0,
            to: 3
        }),
        [1, 2, 3, 4, 5, 6, 1, 2]
    );
    let mut order = read(Block::BankOrder { size: 2, seed: 5 });
    assert!(order.chunks(2).all(|bank| bank[1] == bank[0] + 1));
    order.sort_unstable();
    assert_eq!(order, LONG);
}

#[test]
fn the_bench_breaks_lengths_and_files_as_defined() {
    let read = |length: Length| Fault::Length(length).read(&IMAGE);
    assert_eq!(read(Length::Cut(3)), IMAGE[..3]);
    assert_eq!(
        read(Length::Padded { with: 0x1A, to: 6 })[3..],
        [0x83, 0x1A, 0x1A]
    );
    assert_eq!(read(Length::Repeats(2)), [IMAGE, IMAGE].concat());
    assert_eq!(read(Length::Lane { lane: 1, of: 2 }), [0x21, 0x83]);
    assert_eq!(read(Length::Part { part: 1, of: 2 }), [0x42, 0x83]);
    assert_eq!(
        read(Length::Header {
            length: 16,
            seed: 1
        })[16..],
        IMAGE
    );
    let over = |bus| read(Length::OverRead { to: 6, bus })[4..].to_vec();
    assert_eq!(over(OpenBus::Low), [4, 5]);
    assert_eq!(over(OpenBus::High), [0, 0]);
    assert_eq!(over(OpenBus::Last), [0x83, 0x83]);

    assert_eq!(
        Damage::LfToCrLf.arrive(&[0x41, 0x0A, 0x42]),
        [0x41, 0x0D, 0x0A, 0x42]
    );
    assert_eq!(
        Damage::CrLfToLf.arrive(&[0x0D, 0x41, 0x0D, 0x0A]),
        [0x0D, 0x41, 0x0A]
    );
    assert_eq!(
        Damage::Latin1ToUtf8.arrive(&[0x41, 0xE9]),
        [0x41, 0xC3, 0xA9]
    );
    assert_eq!(Damage::NulDropped.arrive(&[0, 1, 0, 2]), [1, 2]);
    assert_eq!(Damage::FfDoubled.arrive(&[0xFF, 1]), [0xFF, 0xFF, 1]);
    assert_eq!(Damage::FlowControl.arrive(&[0x11, 1, 0x13]), [1]);
    let kept = Fault::Transfer {
        damage: Damage::NulDropped,
        kept: true,
    };
    assert_eq!(kept.read(&[0, 1, 0, 2]), [1, 2, 0xFF, 0xFF]);

    // The records as the crate's readers, tested elsewhere against the standards, understand them.
    let image: Vec<u8> = (0..70_000u32)
        .map(|n| (n.wrapping_mul(n) >> 7) as u8)
        .collect();
    for per_record in [16, 32] {
        for (mistake, name) in [
            (
                Mistake::IntelHexText {
                    per_record,
                    cut: false,
                },
                "file.hex",
            ),
            (
                Mistake::SRecordText {
                    per_record,
                    cut: false,
                },
                "file.s28",
            ),
        ] {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join(name);
            std::fs::write(&path, Fault::Mistake(mistake).read(&image)).unwrap();
            let loaded =
                romloom::formats::load(&path, &romloom::formats::ReadOptions::default()).unwrap();
            let spans = loaded.image.spans();
            assert_eq!((spans.len(), spans[0].bytes()), (1, &image[..]), "{name}");
        }
    }
    let stored = Fault::Mistake(Mistake::Unlock).read(&[0x90; 0x8000]);
    assert_eq!(
        (stored[0x5555], stored[0x2AAA], stored[0x5556]),
        (0xA0, 0x55, 0x90)
    );
}

#[test]
fn what_no_list_has_is_as_defined() {
    let world = World {
        old: &[0; 8],
        other: &[9; 8],
        wide: false,
    };
    let read = |unheard: Unheard| Fault::Unheard(unheard).read_in(&LONG, &world);
    assert_eq!(read(Unheard::Half), [1, 2, 3, 4, 9, 9, 9, 9]);
    assert_eq!(read(Unheard::Backwards), [8, 7, 6, 5, 4, 3, 2, 1]);
    assert_eq!(read(Unheard::Summed), [9, 3, 5, 7, 9, 11, 13, 15]);
    assert_eq!(
        read(Unheard::BitsMoved(1)),
        [0, 0x81, 1, 0x82, 2, 0x83, 3, 0x84]
    );
    assert_eq!(read(Unheard::Stranger), [9; 8]);
}

/// The chip of a program: as large as said, not one block repeated, neither blank nor chance, and the same each time.
#[test]
fn contents_look_like_those_of_chips() {
    for kind in contents::Kind::REAL {
        for lines in [11, 13, 15] {
            let content = Content {
                kind,
                lines,
                seed: 7,
            };
            let bytes = content.bytes();
            assert_eq!(bytes, content.bytes(), "{kind:?}");
            assert_ne!(bytes, Content { seed: 8, ..content }.bytes(), "{kind:?}");
            let different: std::collections::HashSet<&[u8]> = bytes.windows(8).collect();
            let blank = bytes.iter().filter(|&&byte| byte == 0xFF).count();
            let least = if kind == contents::Kind::Blank { 40 } else { 5 };
            assert!(
                different.len() * least > bytes.len(),
                "{kind:?} {lines}: repeats itself"
            );
            assert!(blank < bytes.len() * 98 / 100, "{kind:?} {lines}: blank");
            // Chance would leave 8 bits in each byte (Shannon's entropy of single bytes).
            let entropy = entropy(&bytes);
            assert!(
                (0.2..7.5).contains(&entropy),
                "{kind:?} {lines}: {entropy} bits a byte"
            );
        }
    }
}

fn entropy(bytes: &[u8]) -> f64 {
    let mut counts = [0usize; 256];
    for byte in bytes {
        counts[usize::from(*byte)] += 1;
    }
    let part = |count: &usize| *count as f64 / bytes.len() as f64;
    (counts.iter().filter(|count| **count > 0))
        .map(|count| -part(count) * part(count).log2())
        .sum()
}

/// The bench's lines, one after the other.
#[test]
fn two_faults_of_lines_add_up() {
    let lines = Lines {
        address: vec![Kind::Low(0), Kind::Driven(0, 1)],
        phase: Phase::Reading,
        data: vec![Kind::Inverted(0)],
    };
    assert_eq!(lines.read(&IMAGE), [0x11; 4]);
    let mut chance = Chance(1);
    let some = chance.some_of(5, 9);
    assert_eq!(wavering(&LONG, &[], &mut chance), LONG);
    let read = wavering(&LONG, &[8], &mut chance);
    assert!(read[1] & !1 == LONG[1] & !1 && read[2..] == LONG[2..]);
    assert!(some.len() == 5 && some.windows(2).all(|two| two[0] < two[1]) && some[4] < 9);
}

/// The programs for the 6502 are programs: an emulator runs routines of theirs, and what these call.
#[test]
fn programs_run() {
    let mut came_back = 0;
    for seed in 0..10 {
        let chip = Content {
            kind: contents::Kind::M6502,
            lines: 13,
            seed,
        }
        .bytes();
        for vector in [0x1FFA, 0x1FFC, 0x1FFE] {
            let mut memory = vec![0; 0x1_0000];
            memory[0xE000..].copy_from_slice(&chip);
            memory[0x0200..0x0203].copy_from_slice(&[0x20, chip[vector], chip[vector + 1]]); // JSR
            memory[0xFFFC..0xFFFE].copy_from_slice(&[0x00, 0x02]);
            let (mut machine, mut processor) = (Machine(memory), W65C02S::new());
            processor.step(&mut machine);
            for _ in 0..5_000 {
                let at = processor.get_pc();
                assert!(
                    (0x0200..0x0203).contains(&at) || at >= 0xE000,
                    "{seed}: at {at:04X}"
                );
                processor.step(&mut machine);
                if processor.get_pc() == 0x0203 {
                    came_back += 1;
                    break;
                }
            }
        }
    }
    // Loops in loops take longer than they are given here.
    assert!(came_back >= 5, "{came_back}");
}

/// Nothing but memory.
struct Machine(Vec<u8>);

impl System for Machine {
    fn read(&mut self, _cpu: &mut W65C02S, address: u16) -> u8 {
        self.0[usize::from(address)]
    }

    fn write(&mut self, _cpu: &mut W65C02S, address: u16, byte: u8) {
        if address < 0xE000 {
            self.0[usize::from(address)] = byte;
        }
    }
}

/// Each class can be drawn, and a number gives the same case again.
#[test]
fn every_class_has_cases() {
    for (number, class) in CLASSES.iter().enumerate() {
        let again = || Case::new(5, number, 12);
        let case = again().unwrap_or_else(|| panic!("{} never shows", class.name));
        assert_eq!(case.read, again().unwrap().read, "{case}");
        for given in [&case.old, &case.other].into_iter().flatten() {
            assert_eq!(given.len(), case.wanted.len(), "{case}");
        }
        if case.wide {
            assert_eq!(case.read.len() % 2, 0);
        }
        // The first of two faults alone reads otherwise, or the second does not show.
        assert_eq!(case.parts.len(), 2 * (case.faults.len() - 1), "{case}");
        let known = !matches!(case.class.group, Group::Unheard);
        assert!(
            known || case.class.listed,
            "{case}: no rule gives what no list has"
        );
    }
    let names: std::collections::HashSet<&str> = CLASSES.iter().map(|class| class.name).collect();
    assert_eq!(names.len(), CLASSES.len());
}

/// The reads of one chip differ, each kind in its own way.
#[test]
fn every_kind_of_unsteady_reads_has_cases() {
    for number in 0..Unsteady::NAMES.len() {
        let case = Reads::new(5, number, 12);
        assert_eq!(case.truth.name(), Unsteady::NAMES[number]);
        let differing = |read: &[u8]| -> Vec<usize> {
            let both = read.iter().zip(&case.wanted);
            both.enumerate()
                .filter(|(_, (read, wanted))| read != wanted)
                .map(|(at, _)| at)
                .collect()
        };
        for read in &case.reads {
            let at = differing(read);
            match case.truth {
                Unsteady::WeakCells => {
                    assert!(at.iter().all(|at| case.places.iter().any(|p| p / 8 == *at)))
                }
                Unsteady::DataLine(line) => {
                    assert!(at.iter().all(|&at| read[at] ^ case.wanted[at] == 1 << line));
                }
                Unsteady::AddressLine(line) => {
                    assert!(at.iter().all(|&at| read[at] == case.wanted[at ^ 1 << line]));
                }
                Unsteady::Noise | Unsteady::Odd(_) | Unsteady::Strangers => {}
            }
        }
        if let Unsteady::Odd(odd) = case.truth {
            let right = |n: usize| case.reads[n] == case.wanted;
            assert!(
                (0..case.reads.len()).all(|n| right(n) == (n != odd)),
                "{case}"
            );
        }
    }
}
