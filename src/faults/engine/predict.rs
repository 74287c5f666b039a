//! What would be read: one cell at a time, so that a wrong model is dropped after a few.

use crate::faults::line_fault::{Cells, LineFault, When};
use crate::faults::shape::Shape;
use crate::faults::story::{Before, Holds, Lands, Model, ShiftedIn};

/// The combined effect of up to two address faults: they touch at most four lines, so a table of
/// the sixteen levels of these says all.
#[derive(Clone, Copy)]
pub(in crate::faults) struct Forward {
    /// How many lines are touched.
    count: u8,
    /// The touched lines, ascending: so that a larger number in them is a later address.
    lines: [u8; 4],
    /// The levels that the chip sees, by the levels that are driven.
    seen: [u8; 16],
}

impl Forward {
    pub fn new(faults: &[LineFault]) -> Self {
        let mut touched = 0usize;
        for fault in faults {
            let (one, other) = fault.lines();
            touched |= 1 << one | other.map_or(0, |line| 1 << line);
        }
        let mut lines = [0; 4];
        let mut count = 0;
        while touched != 0 {
            lines[count] = touched.trailing_zeros() as u8;
            touched &= touched - 1;
            count += 1;
        }
        let mut forward = Forward {
            count: count as u8,
            lines,
            seen: [0; 16],
        };
        for driven in 0..1 << count {
            let address = faults
                .iter()
                .fold(forward.scatter(driven), |a, fault| fault.apply(a));
            forward.seen[driven] = forward.gather(address) as u8;
        }
        forward
    }

    /// The levels of the touched lines in an address. The unused ones are line 0 again, and
    /// masked out: no loop, for this is asked more often than anything else.
    #[inline]
    fn gather(&self, address: usize) -> usize {
        let [a, b, c, d] = self.lines;
        let level = |line: u8| address >> line & 1;
        let levels = level(a) | level(b) << 1 | level(c) << 2 | level(d) << 3;
        levels & ((1 << self.count) - 1)
    }

    /// The address that has these levels on the touched lines and 0 on all others.
    #[inline]
    fn scatter(&self, levels: usize) -> usize {
        let [a, b, c, d] = self.lines;
        let levels = levels & ((1 << self.count) - 1);
        let bit = |n: usize| levels >> n & 1;
        bit(0) << a | bit(1) << b | bit(2) << c | bit(3) << d
    }

    /// From which cells of the image each cell of the read comes.
    pub fn sources(&self, when: When) -> Sources {
        let levels = 1 << self.count;
        // The driven levels that end up in each cell when burning.
        let mut into = [0u16; 16];
        for driven in 0..levels {
            into[usize::from(self.seen[driven])] |= 1 << driven;
        }
        if let When::Burning(Cells::Overwrite) | When::Both(Cells::Overwrite) = when {
            for set in &mut into {
                *set = set.checked_ilog2().map_or(0, |last| 1 << last);
            }
        }
        let mut from = [0; 16];
        for driven in 0..levels {
            let seen = self.seen[driven];
            from[driven] = match when {
                When::Reading => 1 << seen,
                When::Burning(_) => into[driven],
                When::Both(_) => into[usize::from(seen)],
            };
        }
        Sources::new(self, from)
    }
}

/// Where each cell of a read comes from: the AND of some cells of the image that differ in a few
/// address lines, or of none, when the cell is erased.
#[derive(Clone, Copy)]
pub(in crate::faults) struct Sources {
    forward: Forward,
    from: [u16; 16],
    scattered: [usize; 16],
    /// All address lines but the touched ones.
    rest: usize,
}

impl Sources {
    fn new(forward: &Forward, from: [u16; 16]) -> Self {
        let scattered = std::array::from_fn(|levels| forward.scatter(levels));
        Sources {
            forward: *forward,
            from,
            scattered,
            rest: !scattered[(1 << forward.count) - 1],
        }
    }

    /// The cell that a chip with this image reads at an address.
    #[inline]
    pub fn read(&self, image: &[u16], erased: u16, address: usize) -> u16 {
        let mut from = self.from[self.forward.gather(address)];
        let rest = address & self.rest;
        let mut cell = erased;
        while from != 0 {
            cell &= image[rest | self.scattered[from.trailing_zeros() as usize]];
            from &= from - 1;
        }
        cell
    }
}

/// At most four addresses of the image whose AND is read, by what they differ from the read
/// one in. None: the cell is erased.
#[derive(Clone, Copy, Default)]
pub(in crate::faults) struct Turns {
    turns: [u32; 4],
    count: u8,
}

impl Turns {
    pub fn as_slice(&self) -> &[u32] {
        &self.turns[..usize::from(self.count)]
    }
}

impl Sources {
    /// The sources of one cell, for a single fault: it touches two lines, so there are at most
    /// four.
    pub fn turns(&self, address: usize) -> Turns {
        let mut found = Turns::default();
        let mut from = self.from[self.forward.gather(address)];
        let touched = address & !self.rest;
        while from != 0 && usize::from(found.count) < found.turns.len() {
            let source = self.scattered[from.trailing_zeros() as usize];
            found.turns[usize::from(found.count)] = (source ^ touched) as u32;
            found.count += 1;
            from &= from - 1;
        }
        found
    }
}

/// A function from address to the cell that would be read there.
pub(in crate::faults) type Predicted<'a> = Box<dyn Fn(usize) -> u16 + 'a>;

/// What the images of a case are to the models. All have the shape's size.
#[derive(Clone, Copy)]
pub(in crate::faults) struct Images<'a> {
    pub shape: Shape,
    pub wanted: &'a [u16],
    pub old: Option<&'a [u16]>,
    pub others: &'a [Vec<u16>],
    /// What is read when the chip is another part, by the number of that part.
    pub cousins: &'a [Vec<u16>],
}

impl<'a> Images<'a> {
    /// What would be read with one fault or two. `None` for what can't be predicted cell by
    /// cell, or not with the images there are.
    pub fn predicted(&self, first: &Model, second: Option<&Model>) -> Option<Predicted<'a>> {
        let Some(second) = second else {
            return self.predicted_alone(first);
        };
        let (wanted, erased) = (self.wanted, self.shape.erased());
        match (first, second) {
            (
                Model::Address { fault: one, when },
                Model::Address {
                    fault: two,
                    when: same,
                },
            ) if when == same => {
                let sources = Forward::new(&[*one, *two]).sources(*when);
                Some(Box::new(move |a| sources.read(wanted, erased, a)))
            }
            (Model::Address { fault, when }, Model::Data(data)) => {
                let sources = Forward::new(&[*fault]).sources(*when);
                let data = *data;
                Some(Box::new(move |a| {
                    data.apply(usize::from(sources.read(wanted, erased, a))) as u16
                }))
            }
            (Model::Data(one), Model::Data(two)) => {
                let (one, two) = (*one, *two);
                Some(Box::new(move |a| {
                    two.apply(one.apply(usize::from(wanted[a]))) as u16
                }))
            }
            _ => None,
        }
    }

    fn predicted_alone(&self, model: &Model) -> Option<Predicted<'a>> {
        let (wanted, shape) = (self.wanted, self.shape);
        let (size, erased) = (shape.size(), shape.erased());
        Some(match *model {
            Model::Address { fault, when } => {
                let sources = Forward::new(&[fault]).sources(when);
                Box::new(move |a| sources.read(wanted, erased, a))
            }
            Model::Data(fault) => Box::new(move |a| fault.apply(usize::from(wanted[a])) as u16),
            Model::Blank => Box::new(move |_| erased),
            Model::AllZeros => Box::new(|_| 0),
            Model::BitsReversed => {
                Box::new(move |a| wanted[a].reverse_bits() >> (16 - shape.data_lines))
            }
            Model::AllInverted => Box::new(move |a| !wanted[a] & shape.ones()),
            Model::Stopped { at, above } => {
                let old = match above {
                    Before::Erased => None,
                    Before::Old => Some(self.old?),
                };
                Box::new(move |a| match old {
                    _ if a < at => wanted[a],
                    Some(old) => old[a],
                    None => erased,
                })
            }
            Model::Smaller { lines, holds } => {
                let inside = (1 << lines) - 1;
                match holds {
                    Holds::First => Box::new(move |a| wanted[a & inside]),
                    Holds::Last => Box::new(move |a| wanted[(size - 1) & !inside | a & inside]),
                    Holds::All => Box::new(move |a| {
                        let parts = (a & inside..size).step_by(inside + 1);
                        parts.fold(erased, |cell, from| cell & wanted[from])
                    }),
                }
            }
            Model::LanesSwapped { lanes } => {
                if shape.data_lines == 8 {
                    Box::new(move |a| wanted[a ^ (usize::from(lanes) - 1)])
                } else {
                    Box::new(move |a| wanted[a ^ (usize::from(lanes) / 2 - 1)].swap_bytes())
                }
            }
            Model::Shifted { by, fill } => Box::new(move |a| {
                let from = a.wrapping_add_signed(by.wrapping_neg());
                match fill {
                    ShiftedIn::Wrapped => wanted[from & (size - 1)],
                    ShiftedIn::Erased => wanted.get(from).copied().unwrap_or(erased),
                }
            }),
            Model::PageCut { page, kept } => {
                Box::new(move |a| if a % page < kept { wanted[a] } else { erased })
            }
            Model::PageWrapped { page, burst, lands } => Box::new(move |a| {
                let start = a / burst * burst;
                let taken = match lands {
                    Lands::First => start,
                    Lands::Last => start + burst - page,
                };
                if (taken..taken + page).contains(&a) {
                    wanted[start + burst - page + a % page]
                } else {
                    erased
                }
            }),
            Model::Array {
                lines,
                levels,
                data,
                high,
            } => {
                let data = data & shape.ones();
                Box::new(move |a| match (a & lines == levels, high) {
                    (true, true) => wanted[a] | data,
                    (true, false) => wanted[a] & !data,
                    _ => wanted[a],
                })
            }
            Model::UnlockStored {
                first,
                second,
                command,
            } => Box::new(move |a| match a {
                _ if a == first => u16::from(command),
                _ if a == second => 0x55,
                _ => wanted[a],
            }),
            Model::StillOld => {
                let old = self.old?;
                Box::new(move |a| old[a])
            }
            Model::NotBlank => {
                let old = self.old?;
                Box::new(move |a| wanted[a] & old[a])
            }
            Model::OtherImage(n) => {
                let other = self.others.get(usize::from(n))?;
                Box::new(move |a| other[a])
            }
            Model::OtherOnBus(n) => {
                let other = self.others.get(usize::from(n))?;
                Box::new(move |a| wanted[a] & other[a])
            }
            Model::Cousin(n) => {
                let seen = self.cousins.get(usize::from(n))?;
                Box::new(move |a| seen[a])
            }
            _ => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINES: u8 = 5;

    fn shape(address_lines: u8, data_lines: u8) -> Shape {
        Shape {
            address_lines,
            data_lines,
            cells: None,
            erased: 0xFF,
        }
    }

    fn image(lines: u8) -> Vec<u16> {
        (0..1u16 << lines).map(|a| (a * 167 + 13) % 251).collect()
    }

    fn images<'a>(shape: Shape, wanted: &'a [u16], more: &'a [Vec<u16>]) -> Images<'a> {
        Images {
            shape,
            wanted,
            old: more.first().map(Vec::as_slice),
            others: more,
            cousins: more,
        }
    }

    /// A programmer that writes the image cell by cell, and a reader, each through these faults or not.
    fn burned_and_read(image: &[u16], faults: &[LineFault], when: When) -> Vec<u16> {
        let through = |a: usize| faults.iter().fold(a, |a, fault| fault.apply(a));
        let burned = |kind: Cells| {
            let mut chip = vec![0xFF; image.len()];
            for (a, &cell) in image.iter().enumerate() {
                let there = &mut chip[through(a)];
                *there = match kind {
                    Cells::Overwrite => cell,
                    Cells::OnlyClear => *there & cell,
                };
            }
            chip
        };
        let read = |chip: &[u16]| (0..chip.len()).map(|a| chip[through(a)]).collect();
        match when {
            When::Reading => read(image),
            When::Burning(kind) => burned(kind),
            When::Both(kind) => read(&burned(kind)),
        }
    }

    #[test]
    fn bad_address_lines_read_as_a_programmer_and_a_reader_would_have_it() {
        let wanted = image(LINES);
        let images = images(shape(LINES, 8), &wanted, &[]);
        let model = |fault, when| Model::Address { fault, when };
        let faults = LineFault::all(LINES);
        for when in shape(LINES, 8).all_times() {
            for &one in &faults {
                let read = burned_and_read(&wanted, &[one], when);
                let predicted = images.predicted(&model(one, when), None).unwrap();
                assert!((0..32).all(|a| predicted(a) == read[a]), "{one:?} {when:?}");
                // The same from the addresses that each cell is the AND of.
                let sources = Forward::new(&[one]).sources(when);
                for (a, &cell) in read.iter().enumerate() {
                    let turns = sources.turns(a);
                    let turned = turns
                        .as_slice()
                        .iter()
                        .map(|turn| wanted[a ^ *turn as usize]);
                    assert_eq!(turned.fold(0xFF, |all, one| all & one), cell, "{one:?}");
                }
                for &two in &faults {
                    let read = burned_and_read(&wanted, &[one, two], when);
                    let predicted = images.predicted(&model(one, when), Some(&model(two, when)));
                    let predicted = predicted.unwrap();
                    let same = (0..32).all(|a| predicted(a) == read[a]);
                    assert!(same, "{one:?} then {two:?} {when:?}");
                }
            }
        }
        // Two lines are bad at one time, or it is no story.
        let (one, two) = (LineFault::StuckLow(0), LineFault::StuckLow(1));
        let burning = model(two, When::Burning(Cells::Overwrite));
        assert!(
            images
                .predicted(&Model::reading(one), Some(&burning))
                .is_none()
        );
    }

    #[test]
    fn a_bad_data_line_changes_what_the_address_line_leaves() {
        let wanted = image(LINES);
        let images = images(shape(LINES, 8), &wanted, &[]);
        let (low, short) = (LineFault::StuckLow(2), LineFault::ShortedLow(0, 7));
        let both = images
            .predicted(&Model::reading(low), Some(&Model::Data(short)))
            .unwrap();
        let data = images.predicted(
            &Model::Data(LineFault::StuckHigh(0)),
            Some(&Model::Data(short)),
        );
        let data = data.unwrap();
        for a in 0..32 {
            assert_eq!(
                usize::from(both(a)),
                short.apply(usize::from(wanted[a & !4]))
            );
            assert_eq!(
                usize::from(data(a)),
                short.apply(usize::from(wanted[a] | 1))
            );
        }
    }

    /// What each model reads on a chip of 16 bytes, written out as its description says.
    #[test]
    fn whole_chips_by_hand() {
        let wanted: Vec<u16> = (0x10..0x20).collect();
        let more = [vec![0x0F; 16], vec![0x1C; 16]];
        let images = images(shape(4, 8), &wanted, &more);
        let read = |model: Model| -> Vec<u16> {
            let predicted = images.predicted(&model, None).unwrap();
            (0..16).map(predicted).collect()
        };
        let each = |cell: &dyn Fn(u16) -> u16| -> Vec<u16> { (0..16).map(cell).collect() };
        assert_eq!(read(Model::Blank), [0xFF; 16]);
        assert_eq!(read(Model::AllZeros), [0; 16]);
        assert_eq!(read(Model::AllInverted), each(&|a| 0xEF - a));
        assert_eq!(read(Model::BitsReversed)[..4], [0x08, 0x88, 0x48, 0xC8]);
        assert_eq!(read(Model::StillOld), more[0]);
        assert_eq!(read(Model::NotBlank), each(&|a| a));
        assert_eq!(read(Model::OtherImage(1)), more[1]);
        assert_eq!(read(Model::OtherOnBus(1)), each(&|a| 0x10 | a & 0x0C));
        assert_eq!(read(Model::Cousin(0)), more[0]);
        assert!(images.predicted(&Model::OtherImage(2), None).is_none());
        let stopped = |above| read(Model::Stopped { at: 5, above });
        let to_five = |rest| each(&|a| if a < 5 { 0x10 + a } else { rest });
        assert_eq!(stopped(Before::Erased), to_five(0xFF));
        assert_eq!(stopped(Before::Old), to_five(0x0F));
        let smaller = |holds| read(Model::Smaller { lines: 3, holds });
        assert_eq!(smaller(Holds::First), each(&|a| 0x10 + a % 8));
        assert_eq!(smaller(Holds::Last), each(&|a| 0x18 + a % 8));
        assert_eq!(smaller(Holds::All), each(&|a| 0x10 + a % 8), "10 AND 18");
        let swapped = |lanes| read(Model::LanesSwapped { lanes });
        assert_eq!(swapped(2)[..4], [0x11, 0x10, 0x13, 0x12]);
        assert_eq!(swapped(4)[..4], [0x13, 0x12, 0x11, 0x10]);
        let shifted = |by, fill| read(Model::Shifted { by, fill });
        assert_eq!(shifted(2, ShiftedIn::Wrapped)[..3], [0x1E, 0x1F, 0x10]);
        assert_eq!(shifted(-2, ShiftedIn::Wrapped)[13..], [0x1F, 0x10, 0x11]);
        assert_eq!(shifted(2, ShiftedIn::Erased)[..3], [0xFF, 0xFF, 0x10]);
        assert_eq!(shifted(-2, ShiftedIn::Erased)[13..], [0x1F, 0xFF, 0xFF]);
        let cut = read(Model::PageCut { page: 8, kept: 3 });
        assert_eq!(cut, each(&|a| if a % 8 < 3 { 0x10 + a } else { 0xFF }));
        // Bursts of 8 to a chip with pages of 4: the first four bytes of each burst are written over.
        let wrapped = |lands| {
            let (page, burst) = (4, 8);
            read(Model::PageWrapped { page, burst, lands })
        };
        let burst = [0xFF, 0xFF, 0xFF, 0xFF, 0x1C, 0x1D, 0x1E, 0x1F];
        assert_eq!(wrapped(Lands::Last)[8..], burst);
        assert_eq!(wrapped(Lands::First)[8..12], burst[4..]);
        assert_eq!(wrapped(Lands::First)[12..], burst[..4]);
        let row = |high| {
            let (lines, levels, data) = (0b0110, 0b0100, 0x11);
            read(Model::Array {
                lines,
                levels,
                data,
                high,
            })
        };
        let there = |a: u16| matches!(a, 4 | 5 | 12 | 13);
        assert_eq!(row(true), each(&|a| 0x10 | a | u16::from(there(a))));
        let cleared = |a: u16| if there(a) { a & 0x0E } else { 0x10 | a };
        assert_eq!(row(false), each(&cleared));
        let unlock = read(Model::UnlockStored {
            first: 5,
            second: 10,
            command: 0xA0,
        });
        let bytes = |a| match a {
            5 => 0xA0,
            10 => 0x55,
            _ => 0x10 + a,
        };
        assert_eq!(unlock, each(&bytes));
    }

    #[test]
    fn words_have_lanes_of_their_own() {
        let wanted: Vec<u16> = (0..8).map(|a| 0x1100 * a + 0x81).collect();
        let images = images(shape(3, 16), &wanted, &[]);
        let read = |model: Model| images.predicted(&model, None).unwrap()(2);
        assert_eq!(read(Model::LanesSwapped { lanes: 2 }), 0x8122);
        assert_eq!(read(Model::LanesSwapped { lanes: 4 }), 0x8133);
        assert_eq!(read(Model::BitsReversed), 0x8144);
        assert_eq!(read(Model::AllInverted), 0xDD7E);
        assert_eq!(read(Model::Blank), 0xFFFF);
    }
}
