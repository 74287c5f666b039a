//! What a story makes of an image, in bytes.

use super::predict::Images;
use crate::faults::line_fault::Cells;
use crate::faults::shape::Shape;
use crate::faults::story::{Edit, Length, Model, OpenBus, Story};
use crate::wiring::Width;

/// Everything that is known apart from the wanted image.
pub(in crate::faults) struct Known<'a> {
    /// What was read: new bytes are taken from it.
    pub read: &'a [u8],
    pub width: Width,
    /// What an erased byte reads.
    pub erased: u8,
    pub cells: Option<Cells>,
    pub old: Option<Vec<u16>>,
    pub others: Vec<Vec<u16>>,
    pub cousins: Vec<Vec<u16>>,
}

impl Known<'_> {
    /// The lines of a chip with this many bytes; `None` where no chip has them.
    pub fn shape(&self, bytes: usize) -> Option<Shape> {
        let cells = bytes / self.width.bytes();
        let lines = cells.checked_ilog2()?;
        (cells.is_power_of_two() && cells >= 2).then_some(Shape {
            address_lines: lines as u8,
            data_lines: self.width.lines(),
            cells: self.cells,
            erased: self.erased,
        })
    }

    /// The images for the models of single cells, with this one as the wanted one.
    pub fn images<'i>(&'i self, wanted: &'i [u16], shape: Shape) -> Images<'i> {
        let fits = |cells: &&Vec<u16>| cells.len() == wanted.len();
        let all_fit = |all: &'i [Vec<u16>]| match all.iter().all(|cells| fits(&cells)) {
            true => all,
            false => &[],
        };
        Images {
            shape,
            wanted,
            old: self.old.as_ref().filter(fits).map(Vec::as_slice),
            others: all_fit(&self.others),
            cousins: all_fit(&self.cousins),
        }
    }

    /// What a story makes of the image; `None` for what only lists.
    pub fn told(&self, wanted: &[u8], story: &Story) -> Option<Vec<u8>> {
        let lines = |model: &Model| matches!(model, Model::Address { .. } | Model::Data(_));
        match &story.second {
            None => self.made(wanted, &story.first),
            Some(second) if lines(&story.first) && lines(second) => {
                let shape = self.shape(wanted.len())?;
                let cells = self.width.cells(wanted);
                let images = self.images(&cells, shape);
                let predicted = images.predicted(&story.first, Some(second))?;
                Some(bytes(self.width, (0..cells.len()).map(predicted)))
            }
            Some(second) => self.made(&self.made(wanted, &story.first)?, second),
        }
    }

    /// What one model makes of the image.
    pub fn made(&self, wanted: &[u8], model: &Model) -> Option<Vec<u8>> {
        match model {
            Model::Transfer(damage) => {
                let mut got = damage.arrives(wanted, self.erased);
                if self.read.len() == wanted.len() {
                    got.resize(wanted.len(), self.erased);
                }
                Some(got)
            }
            Model::Banks { size, map } => {
                let bank = |&n: &u32| wanted.chunks(*size).nth(n as usize);
                let banks: Option<Vec<&[u8]>> = map.iter().map(bank).collect();
                Some(banks?.concat())
            }
            Model::Edits(edits) => {
                let mut image = wanted.to_vec();
                for edit in edits {
                    edited(&mut image, wanted, edit, self.read, self.erased);
                }
                Some(image)
            }
            Model::Length(length) => length_made(*length, wanted, self.read),
            Model::Cousin(n) => {
                let cells = self.cousins.get(usize::from(*n))?;
                Some(bytes(self.width, cells.iter().copied()))
            }
            model => {
                let shape = self.shape(wanted.len())?;
                let cells = self.width.cells(wanted);
                let images = self.images(&cells, shape);
                let predicted = images.predicted(model, None)?;
                Some(bytes(self.width, (0..cells.len()).map(predicted)))
            }
        }
    }
}

/// The bytes of these cells.
fn bytes(width: Width, cells: impl Iterator<Item = u16>) -> Vec<u8> {
    match width {
        Width::Eight => cells.map(|cell| cell as u8).collect(),
        Width::Sixteen => cells.flat_map(u16::to_le_bytes).collect(),
    }
}

/// Makes an edit; an image as long as the read stays as long. Blocks come from the wanted image, and bytes that were put in
/// from the read. An edit that does not fit changes nothing.
pub(super) fn edited(image: &mut Vec<u8>, wanted: &[u8], edit: &Edit, read: &[u8], erased: u8) {
    let size = image.len();
    let fits = |at: usize, len: usize| {
        at.checked_add(len)
            .is_some_and(|end| end <= size.min(wanted.len()))
    };
    match *edit {
        Edit::Moved { from, len, to } if fits(from, len) && fits(to, len) => {
            image[from..from + len].fill(erased);
            image[to..to + len].copy_from_slice(&wanted[from..from + len]);
        }
        Edit::Repeated { from, len, to } if fits(from, len) && fits(to, len) => {
            image[to..to + len].copy_from_slice(&wanted[from..from + len]);
        }
        Edit::Swapped { one, other, len } if fits(one, len) && fits(other, len) => {
            image[one..one + len].copy_from_slice(&wanted[other..other + len]);
            image[other..other + len].copy_from_slice(&wanted[one..one + len]);
        }
        Edit::Missing { at, len, reads } if fits(at, len) => image[at..at + len].fill(reads),
        Edit::Lost { at, len } if fits(at, len) => {
            image.drain(at..at + len);
        }
        Edit::PutIn { at, len, doubled } if at <= size => {
            let from = match doubled {
                true => image.get(at.wrapping_sub(len)..at),
                false => read.get(at..at + len),
            };
            if let Some(new) = from.map(<[u8]>::to_vec) {
                image.splice(at..at, new);
            }
        }
        _ => {}
    }
    if size == read.len() {
        image.resize(size, erased);
    }
}

/// The image with another length; `None` where it can't come to the read's.
fn length_made(length: Length, wanted: &[u8], read: &[u8]) -> Option<Vec<u8>> {
    let (n, m) = (wanted.len(), read.len());
    let more = m.checked_sub(n);
    let made: Vec<u8> = match length {
        Length::CutShort => wanted.get(..m)?.to_vec(),
        Length::StartMissing => wanted.get(n.checked_sub(m)?..)?.to_vec(),
        Length::Padded(byte) => {
            let mut made = wanted.to_vec();
            made.resize(n + more?, byte);
            made
        }
        Length::More => [wanted, read.get(n..)?].concat(),
        Length::InFront => [read.get(..more?)?, wanted].concat(),
        Length::FilledInFront(byte) => [&vec![byte; more?], wanted].concat(),
        Length::Repeats => wanted.iter().copied().cycle().take(m).collect(),
        Length::OpenBus(what) => {
            more?;
            let last = *wanted.last()?;
            let seen = |a: usize| match what {
                OpenBus::HighAddress => (a >> 8) as u8,
                OpenBus::LowAddress => a as u8,
                OpenBus::LastByte => last,
            };
            wanted.iter().copied().chain((n..m).map(seen)).collect()
        }
        Length::Lane { n: lane, of } => wanted
            .iter()
            .copied()
            .skip(lane)
            .step_by(of.max(1))
            .collect(),
        Length::Part { n: part, .. } => wanted.get(part.checked_mul(m)?..)?.get(..m)?.to_vec(),
        Length::Window { from } => wanted.get(from..from.checked_add(m)?)?.to_vec(),
        Length::OneLaneOf2 { n: lane, other } => {
            let cell = |a: usize| match a % 2 == lane {
                true => wanted.get(a / 2).copied(),
                false => Some(other),
            };
            (0..m).map(cell).collect::<Option<Vec<u8>>>()?
        }
        Length::EachTwice => wanted.iter().flat_map(|&byte| [byte; 2]).collect(),
    };
    (made.len() == m).then_some(made)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edits(edits: &[Edit], read: &[u8]) -> Vec<u8> {
        let wanted: Vec<u8> = (0..8).collect();
        let mut image = wanted.clone();
        for edit in edits {
            edited(&mut image, &wanted, edit, read, 0xFF);
        }
        image
    }

    /// Each edit on eight bytes, as its definition says.
    #[test]
    fn edits_by_hand() {
        let read = [9; 8];
        let one = |edit| edits(&[edit], &read);
        assert_eq!(
            one(Edit::Moved {
                from: 0,
                len: 2,
                to: 4
            }),
            [255, 255, 2, 3, 0, 1, 6, 7]
        );
        assert_eq!(
            one(Edit::Repeated {
                from: 0,
                len: 2,
                to: 4
            }),
            [0, 1, 2, 3, 0, 1, 6, 7]
        );
        assert_eq!(
            one(Edit::Swapped {
                one: 0,
                other: 6,
                len: 2
            }),
            [6, 7, 2, 3, 4, 5, 0, 1]
        );
        assert_eq!(
            one(Edit::Missing {
                at: 1,
                len: 3,
                reads: 0
            }),
            [0, 0, 0, 0, 4, 5, 6, 7]
        );
        assert_eq!(
            one(Edit::Lost { at: 1, len: 3 }),
            [0, 4, 5, 6, 7, 255, 255, 255]
        );
        assert_eq!(
            one(Edit::PutIn {
                at: 3,
                len: 2,
                doubled: true
            }),
            [0, 1, 2, 1, 2, 3, 4, 5]
        );
        assert_eq!(
            one(Edit::PutIn {
                at: 3,
                len: 2,
                doubled: false
            }),
            [0, 1, 2, 9, 9, 3, 4, 5]
        );
        // What does not fit changes nothing.
        assert_eq!(one(Edit::Lost { at: 6, len: 3 }), [0, 1, 2, 3, 4, 5, 6, 7]);
    }

    #[test]
    fn lengths_by_hand() {
        let wanted = [1, 2, 3, 4];
        let made = |length, read: &[u8]| length_made(length, &wanted, read);
        assert_eq!(made(Length::CutShort, &[0; 3]), Some(vec![1, 2, 3]));
        assert_eq!(made(Length::StartMissing, &[0; 3]), Some(vec![2, 3, 4]));
        assert_eq!(
            made(Length::Padded(0x1A), &[0; 5]),
            Some(vec![1, 2, 3, 4, 0x1A])
        );
        assert_eq!(
            made(Length::InFront, &[7, 8, 0, 0, 0, 0]),
            Some(vec![7, 8, 1, 2, 3, 4])
        );
        assert_eq!(made(Length::Repeats, &[0; 6]), Some(vec![1, 2, 3, 4, 1, 2]));
        assert_eq!(
            made(Length::Lane { n: 1, of: 2 }, &[0; 2]),
            Some(vec![2, 4])
        );
        assert_eq!(
            made(Length::Part { n: 1, of: 2 }, &[0; 2]),
            Some(vec![3, 4])
        );
        assert_eq!(made(Length::Window { from: 1 }, &[0; 2]), Some(vec![2, 3]));
        assert_eq!(
            made(Length::OneLaneOf2 { n: 0, other: 0 }, &[0; 8]),
            Some(vec![1, 0, 2, 0, 3, 0, 4, 0])
        );
        assert_eq!(
            made(Length::EachTwice, &[0; 8]),
            Some(vec![1, 1, 2, 2, 3, 3, 4, 4])
        );
        assert_eq!(made(Length::CutShort, &[0; 5]), None);
        assert_eq!(made(Length::Padded(0), &[0; 3]), None);
        assert_eq!(
            made(Length::OpenBus(OpenBus::LowAddress), &[0; 6]),
            Some(vec![1, 2, 3, 4, 4, 5])
        );
    }

    fn known<'a>(read: &'a [u8], more: &[Vec<u16>]) -> Known<'a> {
        Known {
            read,
            width: Width::Eight,
            erased: 0xFF,
            cells: None,
            old: None,
            others: more.to_vec(),
            cousins: more.to_vec(),
        }
    }

    /// Every length and every edge of an edit: what fits by a byte, and what does not.
    #[test]
    fn edits_at_the_ends() {
        let read = [9; 8];
        let whole: Vec<u8> = (0..8).collect();
        let one = |edit| edits(&[edit], &read);
        let (from, to) = (0, 6);
        let repeated = |len| one(Edit::Repeated { from, len, to });
        assert_eq!(
            (&repeated(2)[6..], repeated(3)),
            (&[0, 1][..], whole.clone())
        );
        let moved = |to| {
            one(Edit::Moved {
                from: 6,
                len: 2,
                to,
            })
        };
        assert_eq!((&moved(0)[..2], moved(7)), (&[6, 7][..], whole.clone()));
        let swapped = |other| {
            one(Edit::Swapped {
                one: 0,
                other,
                len: 2,
            })
        };
        assert_eq!((&swapped(6)[6..], swapped(7)), (&[0, 1][..], whole.clone()));
        let missing = |len| {
            one(Edit::Missing {
                at: 6,
                len,
                reads: 0,
            })
        };
        assert_eq!(
            (&missing(2)[5..], missing(3)),
            (&[5, 0, 0][..], whole.clone())
        );
        let put_in = |at, doubled| {
            one(Edit::PutIn {
                at,
                len: 2,
                doubled,
            })
        };
        assert_eq!(put_in(2, true), [0, 1, 0, 1, 2, 3, 4, 5]);
        assert_eq!(put_in(1, true), whole, "there are not two bytes before it");
        assert_eq!(put_in(6, false), [0, 1, 2, 3, 4, 5, 9, 9]);
        assert_eq!(put_in(7, false), whole, "nor are there two in the read");
        assert_eq!(put_in(9, false), whole);
        // A read of another length leaves the image as long as it has become.
        let mut image = whole.clone();
        edited(
            &mut image,
            &whole,
            &Edit::Lost { at: 1, len: 3 },
            &[0; 5],
            0xFF,
        );
        assert_eq!(image, [0, 4, 5, 6, 7]);
    }

    #[test]
    fn lengths_that_don_t_fit_are_none() {
        let wanted = [1, 2, 3, 4];
        let made = |length, read: usize| length_made(length, &wanted, &vec![7; read]);
        assert_eq!(made(Length::CutShort, 4), Some(wanted.to_vec()));
        assert_eq!(made(Length::StartMissing, 5), None);
        assert_eq!(made(Length::More, 6), Some(vec![1, 2, 3, 4, 7, 7]));
        assert_eq!(
            (made(Length::More, 3), made(Length::InFront, 3)),
            (None, None)
        );
        assert_eq!(
            made(Length::FilledInFront(5), 6),
            Some(vec![5, 5, 1, 2, 3, 4])
        );
        assert_eq!(made(Length::FilledInFront(5), 3), None);
        assert_eq!(made(Length::Repeats, 3), Some(vec![1, 2, 3]));
        let bus = |seen| made(Length::OpenBus(seen), 6);
        assert_eq!(bus(OpenBus::HighAddress), Some(vec![1, 2, 3, 4, 0, 0]));
        assert_eq!(bus(OpenBus::LastByte), Some(vec![1, 2, 3, 4, 4, 4]));
        assert_eq!(made(Length::OpenBus(OpenBus::LastByte), 3), None);
        let high = length_made(Length::OpenBus(OpenBus::HighAddress), &[0; 256], &[0; 770]);
        assert_eq!(
            high.map(|made| [256, 511, 512, 769].map(|a| made[a])),
            Some([1, 1, 2, 3])
        );
        assert_eq!(made(Length::Lane { n: 0, of: 2 }, 3), None);
        assert_eq!(made(Length::Lane { n: 0, of: 3 }, 2), Some(vec![1, 4]));
        assert_eq!(made(Length::Part { n: 2, of: 2 }, 2), None);
        assert_eq!(made(Length::Window { from: 2 }, 2), Some(vec![3, 4]));
        assert_eq!(made(Length::Window { from: 3 }, 2), None);
        let odd = Length::OneLaneOf2 { n: 1, other: 9 };
        assert_eq!(made(odd, 8), Some(vec![9, 1, 9, 2, 9, 3, 9, 4]));
        assert_eq!((made(odd, 10), made(Length::EachTwice, 7)), (None, None));
    }

    /// Which chips there are, and of which images the models know.
    #[test]
    fn shapes_and_images() {
        let mut known = known(&[], &[vec![0; 4], vec![0; 8]]);
        let lines = |known: &Known, bytes| known.shape(bytes).map(|shape| shape.address_lines);
        assert_eq!(
            [0, 1, 2, 3, 4, 64].map(|bytes| lines(&known, bytes)),
            [None, None, Some(1), None, Some(2), Some(6)]
        );
        known.width = Width::Sixteen;
        assert_eq!(
            [2, 4, 6, 64].map(|bytes| lines(&known, bytes)),
            [None, Some(1), None, Some(5)]
        );
        known.width = Width::Eight;
        // One of another size, and none of them is asked.
        let wanted = [0; 8];
        let shape = known.shape(8).unwrap();
        assert!(known.images(&wanted, shape).others.is_empty());
        assert!(known.images(&wanted, shape).cousins.is_empty());
        known.others.remove(0);
        assert_eq!(known.images(&wanted, shape).others.len(), 1);
        known.old = Some(vec![0; 4]);
        assert!(known.images(&wanted, shape).old.is_none());
        known.old = Some(vec![0; 8]);
        assert!(known.images(&wanted, shape).old.is_some());
    }

    /// The second thing happens to the result of the first.
    #[test]
    fn stories_of_two() {
        let wanted: Vec<u8> = (0x10..0x20).collect();
        let read = [9; 16];
        let known = known(&read, &[vec![0x42; 16]]);
        let told = |first: Model, second: Model| known.told(&wanted, &Story::two(first, second));
        let low = Model::reading(crate::faults::LineFault::StuckLow(0));
        let d0 = Model::Data(crate::faults::LineFault::StuckHigh(0));
        let both: Vec<u8> = (0..16u8).map(|a| 0x10 | a & !1 | 1).collect();
        assert_eq!(told(low.clone(), d0.clone()), Some(both));
        assert_eq!(
            told(d0.clone(), low.clone()),
            None,
            "address lines come first"
        );
        let even: Vec<u8> = (0..16u8).map(|a| 0xEF - (a & !1)).collect();
        assert_eq!(told(Model::AllInverted, low.clone()), Some(even));
        let lost = Model::Edits(vec![Edit::Lost { at: 0, len: 2 }]);
        let edited: Vec<u8> = (2..16u8).map(|a| 0x10 | a & !1).chain([0xFF; 2]).collect();
        assert_eq!(told(low, lost), Some(edited));
        assert_eq!(
            told(d0, Model::Cells(crate::faults::story::CellKind::Changed)),
            None
        );
        // Of one thing, what it makes.
        let made = |model| known.made(&wanted, &model);
        assert_eq!(made(Model::Cousin(0)), Some(vec![0x42; 16]));
        assert_eq!(made(Model::Cousin(1)), None);
        let banks = |size, map: &[u32]| {
            let map = map.to_vec();
            made(Model::Banks { size, map })
        };
        let swapped = [&wanted[8..], &wanted[..8]].concat();
        assert_eq!(banks(8, &[1, 0]), Some(swapped));
        assert_eq!(banks(8, &[2, 0]), None);
        // A transfer that lost bytes is filled up to the chip.
        let sent = [0x11, 0x22, 0x13, 0x33];
        let arrives = |read: &[u8]| {
            let damage = crate::faults::Damage::FlowControlSwallowed;
            self::known(read, &[]).made(&sent, &Model::Transfer(damage))
        };
        assert_eq!(arrives(&[0; 4]), Some(vec![0x22, 0x33, 0xFF, 0xFF]));
        assert_eq!(arrives(&[0; 2]), Some(vec![0x22, 0x33]));
    }

    #[test]
    fn words_are_made_of_two_bytes() {
        let mut known = known(&[0; 8], &[]);
        known.width = Width::Sixteen;
        let wanted = [1, 2, 3, 4, 5, 6, 7, 8];
        let low = Model::reading(crate::faults::LineFault::StuckLow(0));
        assert_eq!(
            known.made(&wanted, &low),
            Some(vec![1, 2, 1, 2, 5, 6, 5, 6])
        );
        let d9 = Model::Data(crate::faults::LineFault::StuckHigh(9));
        let both = known.told(&wanted, &Story::two(low, d9));
        assert_eq!(both, Some(vec![1, 2, 1, 2, 5, 6, 5, 6]));
    }
}
