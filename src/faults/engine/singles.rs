//! Every single model that says of each cell what is read, on a given chip.

use super::search::Search;
use crate::faults::line_fault::{Cells, LineFault};
use crate::faults::shape::Shape;
use crate::faults::story::{Before, Holds, Lands, Model};

/// Page sizes of parts, in cells.
pub(super) const PAGES: [usize; 6] = [16, 32, 64, 128, 256, 512];

/// Where the bytes that unlock a chip go, and where 55 goes: the addresses that EEPROMs and flash listen to, by how many
/// address lines they look at (common practice).
const UNLOCK: [(usize, usize); 4] = [
    (0x5555, 0x2AAA),
    (0x1555, 0x0AAA),
    (0x0AAA, 0x0555),
    (0x0555, 0x02AA),
];
/// Commands that such a sequence ends in: write, unlock, identify, reset, erase (common practice).
const COMMANDS: [u8; 7] = [0xA0, 0x20, 0x80, 0x90, 0xF0, 0x10, 0x30];

/// Every fault of one line or two, at every time.
pub(super) fn line_models(shape: Shape) -> Vec<Model> {
    let address = LineFault::all(shape.address_lines);
    let address = address.into_iter().flat_map(|fault| {
        let times = shape.times(fault);
        times.map(move |when| Model::Address { fault, when })
    });
    let data = LineFault::all(shape.data_lines);
    address.chain(data.into_iter().map(Model::Data)).collect()
}

/// The models that have no measure which must be found in the read, but for the line faults.
pub(super) fn fixed_models(shape: Shape) -> Vec<Model> {
    let mut models = vec![
        Model::Blank,
        Model::AllZeros,
        Model::BitsReversed,
        Model::AllInverted,
    ];
    let lines = shape.address_lines;
    for fewer in lines.saturating_sub(4)..lines {
        let held = [
            (Holds::First, None),
            (Holds::Last, Some(Cells::Overwrite)),
            (Holds::All, Some(Cells::OnlyClear)),
        ];
        for (holds, needs) in held {
            if needs.is_none_or(|needs| shape.kinds().any(|kind| kind == needs)) {
                models.push(Model::Smaller {
                    lines: fewer,
                    holds,
                });
            }
        }
    }
    for lanes in [2u8, 4] {
        if shape.size() * usize::from(shape.data_lines) / 8 >= usize::from(lanes) {
            models.push(Model::LanesSwapped { lanes });
        }
    }
    for page in PAGES {
        for burst in [2 * page, 4 * page, 8 * page] {
            if burst <= shape.size() {
                models.extend([Lands::First, Lands::Last].map(|lands| Model::PageWrapped {
                    page,
                    burst,
                    lands,
                }));
            }
        }
    }
    models
}

impl Search<'_> {
    /// All of them, with the measures that this read leaves.
    pub(super) fn single_models(&self) -> Vec<Model> {
        let mut models = fixed_models(self.shape());
        models.extend(line_models(self.shape()));
        models.extend(
            (0..self.images.others.len() as u8)
                .flat_map(|n| [Model::OtherImage(n), Model::OtherOnBus(n)]),
        );
        models.extend((0..self.images.cousins.len() as u8).map(Model::Cousin));
        if self.images.old.is_some() {
            models.extend([Model::NotBlank, Model::StillOld]);
        }
        models.extend(self.stopped());
        models.extend(self.cut_pages());
        models.extend(self.array());
        models.extend(self.unlock_sequences());
        models
    }

    /// Nothing was burned from the first difference up: what is there is erased, or old.
    fn stopped(&self) -> Vec<Model> {
        let Some(&at) = self.differing().first() else {
            return Vec::new();
        };
        if at == 0 {
            return Vec::new();
        }
        // The last cell that was programmed may be the last one that is not erased in the wanted image, too: the round place
        // between both is the likelier.
        let round = (0..usize::BITS)
            .rev()
            .map(|bit| at >> bit << bit)
            .find(|&round| {
                round > 0
                    && (round..at).all(|a| {
                        self.images.wanted[a] == self.read[a]
                            && self.read[a] == self.shape().erased()
                    })
            });
        let mut found = Vec::new();
        for at in [Some(at), round].into_iter().flatten() {
            found.push(Model::Stopped {
                at,
                above: Before::Erased,
            });
            if self.images.old.is_some() {
                found.push(Model::Stopped {
                    at,
                    above: Before::Old,
                });
            }
        }
        found.dedup();
        found
    }

    fn cut_pages(&self) -> Vec<Model> {
        let erased = self.shape().erased();
        let mut models = Vec::new();
        let differing = self.differing();
        let left_out = differing
            .iter()
            .take(64)
            .filter(|&&a| self.read[a] == erased);
        if 2 * left_out.count() < differing.len().min(64) {
            return models;
        }
        for page in PAGES {
            let first = differing.iter().map(|a| a % page).min();
            if let Some(kept) = first.filter(|&kept| kept > 0 && page <= self.read.len()) {
                models.push(Model::PageCut { page, kept });
            }
        }
        models
    }

    /// A dead row or column: the lines in which all differing addresses agree, and the data lines that differ there.
    fn array(&self) -> Option<Model> {
        let differing = self.differing();
        let (&first, rest) = differing.split_first()?;
        let mut lines = self.shape().size() - 1;
        let mut data = self.images.wanted[first] ^ self.read[first];
        let mut ones = self.read[first];
        for &a in rest {
            lines &= !(a ^ first);
            data |= self.images.wanted[a] ^ self.read[a];
            ones &= self.read[a];
        }
        // If the addresses agree in nothing, a bad data line says it better. Fewer than eight cells are just cells.
        let cells = self.shape().size() >> lines.count_ones();
        if lines == 0 || cells < 8 || differing.len() < 4 {
            return None;
        }
        let data = match data.count_ones() {
            1 => data,
            _ => self.shape().ones(),
        };
        Some(Model::Array {
            lines,
            levels: first & lines,
            data,
            high: ones & data == data,
        })
    }

    /// The sequences that unlock a chip, as far as this chip has their addresses, where the read has them.
    fn unlock_sequences(&self) -> Vec<Model> {
        let mut found = Vec::new();
        let inside = self.shape().size() - 1;
        for (first, second) in UNLOCK {
            let (first, second) = (first & inside, second & inside);
            for command in COMMANDS {
                let there = self.read[first] & 0xFF == u16::from(command)
                    && self.read[second] & 0xFF == 0x55;
                let model = Model::UnlockStored {
                    first,
                    second,
                    command,
                };
                if there && first != second && !found.contains(&model) {
                    found.push(model);
                }
            }
        }
        found
    }
}
