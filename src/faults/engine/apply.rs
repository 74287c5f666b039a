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
}
