//! The classes of cases: every story of the contract, some pairs of them, and what no list has.

use super::draw::Draw;
use crate::support::broken::{
    Before, Block, Cell, Cells, Damage, Fault, Held, Identity, Kind, Length, Mistake, OpenBus,
    Phase, Tail, Unheard,
};
use crate::support::contents;

/// What kind of story it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Group {
    Lines,
    Cells,
    Blocks,
    Transfers,
    Lengths,
    /// Inside the chip.
    Inside,
    Mistakes,
    Identity,
    /// Two at once.
    Pairs,
    /// On no list.
    Unheard,
}

/// One class.
pub struct Class {
    pub name: &'static str,
    pub group: Group,
    /// Whether the truth is a list of cells, stretches or blocks and no rule gives it.
    pub listed: bool,
    /// The faults of a case, the first that happened first.
    pub faults: fn(&mut Draw) -> Vec<Fault>,
}

const fn class(group: Group, name: &'static str, faults: fn(&mut Draw) -> Vec<Fault>) -> Class {
    Class {
        name,
        group,
        listed: false,
        faults,
    }
}

/// A class whose truth is a list.
const fn list(group: Group, name: &'static str, faults: fn(&mut Draw) -> Vec<Fault>) -> Class {
    Class {
        name,
        group,
        listed: true,
        faults,
    }
}

/// All of them, in the order of the tables.
pub const CLASSES: &[Class] = &[
    class(Group::Lines, "address line, read", |d| {
        let kind = d.address_kind();
        vec![Fault::Address(kind, Phase::Reading)]
    }),
    class(Group::Lines, "address line, read, code", |d| {
        d.of_kind(&contents::Kind::CODE);
        let kind = d.address_kind();
        vec![Fault::Address(kind, Phase::Reading)]
    }),
    class(Group::Lines, "address line, read, telltale", |d| {
        d.of_kind(&[contents::Kind::Telltale]);
        let kind = d.address_kind();
        vec![Fault::Address(kind, Phase::Reading)]
    }),
    class(Group::Lines, "address line, burned", |d| {
        let kind = d.address_kind();
        let cells = d.chance.pick(&[Cells::Overwrites, Cells::OnlyClears]);
        vec![Fault::Address(kind, Phase::Burning(cells))]
    }),
    class(Group::Lines, "address line, both", |d| {
        let mut kind = d.address_kind();
        while kind.cancels() {
            kind = d.address_kind();
        }
        let cells = d.chance.pick(&[Cells::Overwrites, Cells::OnlyClears]);
        vec![Fault::Address(kind, Phase::Both(cells))]
    }),
    class(Group::Lines, "data line", |d| {
        let kind = d.data_kind();
        vec![Fault::Data(kind)]
    }),
    class(Group::Lines, "data line, code", |d| {
        d.of_kind(&contents::Kind::CODE);
        let kind = d.data_kind();
        vec![Fault::Data(kind)]
    }),
    class(Group::Lines, "two address lines", |d| {
        // Two faults of one bus, there at the same time.
        let (first, second) = (d.address_kind(), d.address_kind());
        vec![
            Fault::Address(first, Phase::Reading),
            Fault::Address(second, Phase::Reading),
        ]
    }),
    class(Group::Lines, "address and data line", |d| {
        let (address, data) = (d.address_kind(), d.data_kind());
        let phase = d.phase(address);
        vec![Fault::Address(address, phase), Fault::Data(data)]
    }),
    class(Group::Lines, "address line of words", |d| {
        d.wide = true;
        let kind = d.address_kind();
        let phase = d.phase(kind);
        vec![Fault::Address(kind, phase)]
    }),
    class(Group::Lines, "data line of words", |d| {
        d.wide = true;
        let kind = d.data_kind();
        vec![Fault::Data(kind)]
    }),
    class(Group::Lines, "chip smaller than its socket", |d| {
        let lines = d.lines() - d.chance.between(1, 3);
        let held = d
            .chance
            .pick(&[Held::First, Held::First, Held::Last, Held::All]);
        vec![Fault::Smaller(lines, held)]
    }),
    list(Group::Lines, "a floating address line, read once", |d| {
        let line = d.chance.below(d.wanted.len().ilog2() as usize);
        let seed = d.seed();
        vec![Fault::Cell(Cell::Floating { line, seed })]
    }),
    list(Group::Lines, "a floating data line, read once", |d| {
        let (line, seed) = (d.chance.below(8), d.seed());
        vec![Fault::Cell(Cell::FloatingData { line, seed })]
    }),
    list(Group::Cells, "bits leaked", |d| {
        let (bits, seed) = (some_bits(d), d.seed());
        vec![Fault::Cell(Cell::Leaked { bits, seed })]
    }),
    list(Group::Cells, "bits lost", |d| {
        let (bits, seed) = (some_bits(d), d.seed());
        vec![Fault::Cell(Cell::Lost { bits, seed })]
    }),
    list(Group::Cells, "bits both ways", |d| {
        let (bits, seed) = (some_bits(d), d.seed());
        vec![Fault::Cell(Cell::Scattered { bits, seed })]
    }),
    class(Group::Cells, "not blank before, old known", |d| {
        d.gives_old = true;
        vec![Fault::Cell(Cell::NotBlank)]
    }),
    list(Group::Cells, "not blank before, old unknown", |_| {
        vec![Fault::Cell(Cell::NotBlank)]
    }),
    list(Group::Cells, "pages left blank", |d| {
        let (page, one_in, seed) = (
            d.chance.pick(&[16, 64, 128, 256]),
            d.chance.between(3, 20),
            d.seed(),
        );
        vec![Fault::Cell(Cell::PagesLeft {
            page,
            one_in,
            before: Before::Blank,
            seed,
        })]
    }),
    list(Group::Cells, "pages left old, old known", |d| {
        d.gives_old = true;
        let (page, one_in, seed) = (
            d.chance.pick(&[16, 64, 128, 256]),
            d.chance.between(3, 20),
            d.seed(),
        );
        vec![Fault::Cell(Cell::PagesLeft {
            page,
            one_in,
            before: Before::Old,
            seed,
        })]
    }),
    class(Group::Cells, "pages cut", |d| {
        let page = d.chance.pick(&[16, 32, 64, 128, 256]);
        let kept = d.chance.between(1, page - 1);
        vec![Fault::Cell(Cell::PageCut {
            page,
            kept,
            before: Before::Blank,
        })]
    }),
    class(Group::Cells, "pages wrapped", |d| {
        let page = d.chance.pick(&[16, 32, 64, 128, 256]);
        let (burst, into_last) = (page * d.chance.pick(&[2, 4]), d.chance.once_in(2));
        vec![Fault::Cell(Cell::PageWrapped {
            page,
            burst,
            into_last,
        })]
    }),
    class(Group::Cells, "stopped, blank after", |d| {
        let at = stop(d);
        vec![Fault::Cell(Cell::Stopped {
            at,
            before: Before::Blank,
        })]
    }),
    class(Group::Cells, "stopped, old after, old known", |d| {
        d.gives_old = true;
        let at = stop(d);
        vec![Fault::Cell(Cell::Stopped {
            at,
            before: Before::Old,
        })]
    }),
    list(Group::Cells, "stopped, old after, old unknown", |d| {
        let at = stop(d);
        vec![Fault::Cell(Cell::Stopped {
            at,
            before: Before::Old,
        })]
    }),
    class(Group::Cells, "a bit never programmed", |d| {
        let line = d.chance.below(8);
        vec![Fault::Data(Kind::High(line))]
    }),
    class(Group::Blocks, "block copied", |d| {
        let length = d.length();
        vec![Fault::Block(Block::Copied {
            from: d.place(length),
            length,
            to: d.place(length),
        })]
    }),
    class(Group::Blocks, "block moved", |d| {
        let length = d.length();
        vec![Fault::Block(Block::Moved {
            from: d.place(length),
            length,
            to: d.place(length),
        })]
    }),
    class(Group::Blocks, "blocks swapped", |d| {
        let length = d.length();
        let (mut first, mut second) = (d.place(length), d.place(length));
        while first.abs_diff(second) < length {
            (first, second) = (d.place(length), d.place(length));
        }
        vec![Fault::Block(Block::Swapped {
            first,
            second,
            length,
        })]
    }),
    class(Group::Blocks, "block repeated", |d| {
        let (length, times) = (
            d.chance.pick(&[16, 32, 64, 128, 256]),
            d.chance.between(1, 6),
        );
        vec![Fault::Block(Block::Repeated {
            from: d.place(length),
            length,
            times,
        })]
    }),
    class(Group::Blocks, "block missing", |d| {
        let (length, reads) = (d.length(), d.chance.pick(&[0xFF, 0xFF, 0x00]));
        vec![Fault::Block(Block::Missing {
            from: d.place(length),
            length,
            reads,
        })]
    }),
    class(Group::Blocks, "piece doubled, the rest later", |d| {
        let (length, tail) = (d.length(), d.chance.pick(&[Tail::Kept, Tail::Free]));
        vec![Fault::Block(Block::Doubled {
            from: d.place(length),
            length,
            tail,
        })]
    }),
    class(Group::Blocks, "bytes lost, the rest earlier", |d| {
        let (length, tail) = (few(d), d.chance.pick(&[Tail::Kept, Tail::Free]));
        vec![Fault::Block(Block::Lost {
            from: d.place(length),
            length,
            tail,
        })]
    }),
    class(Group::Blocks, "bytes put in, the rest later", |d| {
        let (length, seed, tail) = (few(d), d.seed(), d.chance.pick(&[Tail::Kept, Tail::Free]));
        vec![Fault::Block(Block::PutIn {
            at: d.place(0),
            length,
            seed,
            tail,
        })]
    }),
    class(Group::Blocks, "all moved, wrapped", |d| {
        let by = d.chance.between(1, d.size() / 2) as isize;
        vec![Fault::Block(Block::Rotated(by))]
    }),
    class(Group::Blocks, "all moved, FF in", |d| {
        let by = d.chance.between(1, d.size() / 2) as isize;
        let by = if d.chance.once_in(2) { by } else { -by };
        vec![Fault::Block(Block::Shifted(by))]
    }),
    class(Group::Blocks, "banks swapped", |d| {
        let (banks, size) = banks(d);
        let first = d.chance.below(banks);
        let second = (first + d.chance.between(1, banks - 1)) % banks;
        vec![Fault::Block(Block::BanksSwapped {
            size,
            first,
            second,
        })]
    }),
    class(Group::Blocks, "one bank twice", |d| {
        let (banks, size) = banks(d);
        let from = d.chance.below(banks);
        let to = (from + d.chance.between(1, banks - 1)) % banks;
        vec![Fault::Block(Block::BankTwice { size, from, to })]
    }),
    class(Group::Blocks, "banks in another order", |d| {
        let (_, size) = banks(d);
        let seed = d.seed();
        vec![Fault::Block(Block::BankOrder { size, seed })]
    }),
    class(Group::Transfers, "line ends changed", |d| {
        transfer(
            d,
            &[
                Damage::LfToCrLf,
                Damage::CrLfToLf,
                Damage::CrToLf,
                Damage::LfToCr,
            ],
        )
    }),
    class(Group::Transfers, "bit 7 stripped", |d| {
        transfer(d, &[Damage::Bit7])
    }),
    class(Group::Transfers, "11 and 13 swallowed", |d| {
        transfer(d, &[Damage::FlowControl])
    }),
    class(Group::Transfers, "NUL dropped", |d| {
        transfer(d, &[Damage::NulDropped])
    }),
    class(Group::Transfers, "FF doubled", |d| {
        transfer(d, &[Damage::FfDoubled])
    }),
    class(Group::Transfers, "Latin-1 to UTF-8", |d| {
        transfer(d, &[Damage::Latin1ToUtf8])
    }),
    class(Group::Transfers, "not text replaced", |d| {
        transfer(
            d,
            &[Damage::NotAscii, Damage::NotUtf8, Damage::QuestionMarks],
        )
    }),
    class(Group::Transfers, "1A at the end", |d| {
        transfer(d, &[Damage::Tail1A, Damage::EndAt1A])
    }),
    class(Group::Lengths, "cut short", |d| {
        let at = match d.chance.once_in(2) {
            true => d.size() / 2,
            false => d.chance.between(d.size() / 4, d.size() - 1),
        };
        vec![Fault::Length(Length::Cut(at))]
    }),
    class(Group::Lengths, "padded", |d| vec![padded(d)]),
    class(Group::Lengths, "header before it", |d| vec![header(d)]),
    class(Group::Lengths, "repeats", |d| {
        let times = d.chance.pick(&[2, 2, 4, 8]);
        vec![Fault::Length(Length::Repeats(times))]
    }),
    class(Group::Lengths, "open bus after it", |d| {
        let bus = d.chance.pick(&[OpenBus::Low, OpenBus::High, OpenBus::Last]);
        let to = d.size() * d.chance.pick(&[2, 2, 4]);
        vec![Fault::Length(Length::OverRead { to, bus })]
    }),
    class(Group::Lengths, "one lane", |d| {
        let of = d.chance.pick(&[2, 2, 4]);
        let lane = d.chance.below(of);
        vec![Fault::Length(Length::Lane { lane, of })]
    }),
    class(Group::Lengths, "half or bank", |d| {
        let of = d.chance.pick(&[2, 2, 4, 8]);
        let part = d.chance.below(of);
        vec![Fault::Length(Length::Part { part, of })]
    }),
    class(Group::Inside, "row or column, one data line", |d| {
        let data = 1 << d.chance.below(8);
        vec![inside(d, data)]
    }),
    class(Group::Inside, "row or column, all data lines", |d| {
        vec![inside(d, 0xFF)]
    }),
    class(Group::Mistakes, "record text burned", |d| {
        let (per_record, cut) = (d.chance.pick(&[16, 32]), d.chance.once_in(2));
        let mistake = match d.chance.once_in(2) {
            true => Mistake::IntelHexText { per_record, cut },
            false => Mistake::SRecordText { per_record, cut },
        };
        vec![Fault::Mistake(mistake)]
    }),
    class(Group::Mistakes, "nothing programmed, blank", |d| {
        let zeros = d.chance.once_in(4);
        vec![Fault::Cell(if zeros {
            Cell::Zeros
        } else {
            Cell::Nothing(Before::Blank)
        })]
    }),
    class(Group::Mistakes, "nothing programmed, old known", |d| {
        d.gives_old = true;
        vec![Fault::Cell(Cell::Nothing(Before::Old))]
    }),
    class(Group::Mistakes, "bytes of words swapped", |d| {
        let of = d.chance.pick(&[2, 2, 4]);
        vec![Fault::Mistake(Mistake::Reversed(of))]
    }),
    class(Group::Mistakes, "bits reversed or inverted", |d| {
        vec![Fault::Mistake(
            d.chance.pick(&[Mistake::BitsReversed, Mistake::Inverted]),
        )]
    }),
    class(Group::Mistakes, "unlock bytes stored", |_| {
        vec![Fault::Mistake(Mistake::Unlock)]
    }),
    class(Group::Mistakes, "the wanted image is the faulty one", |d| {
        d.turned = true;
        match d.chance.below(3) {
            0 => transfer(d, &Damage::ALL),
            1 => {
                let length = d.length();
                vec![Fault::Block(Block::Missing {
                    from: d.place(length),
                    length,
                    reads: 0xFF,
                })]
            }
            _ => {
                let kind = d.address_kind();
                vec![Fault::Address(kind, Phase::Reading)]
            }
        }
    }),
    list(Group::Identity, "another version", |d| vec![version(d)]),
    class(Group::Identity, "chip of another socket", |d| {
        d.gives_other = true;
        vec![Fault::Identity(Identity::Other)]
    }),
    class(Group::Identity, "two chips on the bus", |d| {
        d.gives_other = true;
        vec![Fault::Identity(Identity::BothOnBus)]
    }),
    list(
        Group::Identity,
        "two chips on the bus, other unknown",
        |_| vec![Fault::Identity(Identity::BothOnBus)],
    ),
    list(Group::Identity, "the byte before", |d| {
        let (one_in, seed) = (d.chance.pick(&[2, 5, 20]), d.seed());
        vec![Fault::Identity(Identity::Late { one_in, seed })]
    }),
    class(Group::Identity, "a cousin of 24 pins", |d| {
        d.of_lines(12);
        let (select, a11) = (d.chance.once_in(2), d.chance.once_in(2));
        vec![Fault::Identity(Identity::Cousin(select, a11))]
    }),
    class(Group::Identity, "a stranger", |d| {
        d.of_strangers();
        vec![Fault::Unheard(Unheard::Stranger)]
    }),
    class(Group::Pairs, "a line and weak cells", |d| {
        let (kind, bits, seed) = (d.address_kind(), d.chance.between(1, 12), d.seed());
        vec![
            Fault::Address(kind, Phase::Reading),
            Fault::Cell(Cell::Leaked { bits, seed }),
        ]
    }),
    list(Group::Pairs, "a version and a bad burn", |d| {
        let (bits, seed) = (some_bits(d), d.seed());
        vec![version(d), Fault::Cell(Cell::Leaked { bits, seed })]
    }),
    class(Group::Pairs, "a line and a block", |d| {
        let (kind, length) = (d.address_kind(), d.length());
        let block = Block::Copied {
            from: d.place(length),
            length,
            to: d.place(length),
        };
        vec![Fault::Block(block), Fault::Address(kind, Phase::Reading)]
    }),
    class(Group::Pairs, "a block and a few bits", |d| {
        let (length, bits, seed) = (d.length(), d.chance.between(1, 12), d.seed());
        let block = Block::Copied {
            from: d.place(length),
            length,
            to: d.place(length),
        };
        vec![
            Fault::Block(block),
            Fault::Cell(Cell::Scattered { bits, seed }),
        ]
    }),
    class(Group::Pairs, "a header and a line", |d| {
        let (header, kind) = (header(d), d.data_kind());
        vec![header, Fault::Data(kind)]
    }),
    class(Group::Pairs, "padded and a bit", |d| {
        let (padded, seed) = (padded(d), d.seed());
        vec![padded, Fault::Cell(Cell::Scattered { bits: 1, seed })]
    }),
    list(Group::Unheard, "three faults", |d| {
        let (first, second, data) = (d.address_kind(), d.address_kind(), d.data_kind());
        vec![
            Fault::Address(first, Phase::Reading),
            Fault::Address(second, Phase::Reading),
            Fault::Data(data),
        ]
    }),
    list(Group::Unheard, "blocks in any order", |d| {
        let (block, seed) = (d.chance.pick(&[32, 64, 128, 100]), d.seed());
        vec![Fault::Unheard(Unheard::Shuffled { block, seed })]
    }),
    list(Group::Unheard, "XOR with a key", |d| {
        let (length, seed) = (d.chance.between(1, 16), d.seed());
        vec![Fault::Unheard(Unheard::Key { length, seed })]
    }),
    list(Group::Unheard, "sorted", |_| {
        vec![Fault::Unheard(Unheard::Sorted)]
    }),
    list(Group::Unheard, "bits moved along", |d| {
        vec![Fault::Unheard(Unheard::BitsMoved(
            d.chance.between(1, 7) as u32
        ))]
    }),
    list(Group::Unheard, "half of another program", |_| {
        vec![Fault::Unheard(Unheard::Half)]
    }),
    list(Group::Unheard, "each byte with its neighbour", |_| {
        vec![Fault::Unheard(Unheard::Summed)]
    }),
    list(Group::Unheard, "backwards", |_| {
        vec![Fault::Unheard(Unheard::Backwards)]
    }),
    list(Group::Unheard, "bytes of chance", |d| {
        let (one_in, seed) = (d.chance.pick(&[2, 10, 50]), d.seed());
        vec![Fault::Unheard(Unheard::Noise { one_in, seed })]
    }),
];

/// Few bits more often than many.
fn some_bits(d: &mut Draw) -> usize {
    let most = d.chance.pick(&[4, 20, 100, 400]);
    d.chance.between(1, most)
}

/// A few bytes more often than a sector.
fn few(d: &mut Draw) -> usize {
    let most = d.chance.pick(&[1, 2, 16, 128]);
    d.chance.between(1, most)
}

fn stop(d: &mut Draw) -> usize {
    let unit = d.chance.pick(&[1, 64, 256]);
    (d.chance.between(1, d.size() - 1) / unit * unit).max(1)
}

fn banks(d: &mut Draw) -> (usize, usize) {
    let banks = d.chance.pick(&[2, 4, 4, 8, 8, 16]);
    (banks, d.size() / banks)
}

fn transfer(d: &mut Draw, damages: &[Damage]) -> Vec<Fault> {
    let (damage, kept) = (d.chance.pick(damages), d.chance.once_in(2));
    vec![Fault::Transfer { damage, kept }]
}

fn padded(d: &mut Draw) -> Fault {
    let whole = d.size();
    d.trim();
    let with = d.chance.pick(&[0x1A, 0x00, 0xFF]);
    let to = match d.chance.once_in(2) {
        true => whole,
        false => d.size().next_multiple_of(d.chance.pick(&[128, 256, 1024])),
    };
    Fault::Length(Length::Padded { with, to })
}

fn header(d: &mut Draw) -> Fault {
    let (length, seed) = (d.chance.pick(&[2, 16, 128, 512]), d.seed());
    Fault::Length(Length::Header { length, seed })
}

/// Rows agree in the upper address lines, columns in the lower ones.
fn inside(d: &mut Draw, data: u8) -> Fault {
    let lines = d.lines();
    let fixed = d.chance.between(3, lines - 3);
    let mask = match d.chance.once_in(2) {
        true => (1 << fixed) - 1,
        false => ((1 << fixed) - 1) << (lines - fixed),
    };
    let value = d.chance.below(d.size()) & mask;
    let level = d.chance.once_in(2);
    Fault::Identity(Identity::Inside {
        mask,
        value,
        data,
        level,
    })
}

fn version(d: &mut Draw) -> Fault {
    let (stretches, seed) = (d.chance.between(2, 30), d.seed());
    Fault::Identity(Identity::Version { stretches, seed })
}
