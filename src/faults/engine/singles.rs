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
        let before = round.filter(|&round| round < at);
        for at in [Some(at), before].into_iter().flatten() {
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

#[cfg(test)]
mod tests {
    use super::super::predict::Images;
    use super::super::testing;
    use super::*;

    fn shape(address_lines: u8) -> Shape {
        testing::shape(address_lines, 8)
    }

    /// The models that are worked out from a read of a chip of 8 data lines.
    fn found<R>(
        wanted: &[u16],
        old: Option<&[u16]>,
        read: &[u16],
        ask: impl Fn(&Search) -> R,
    ) -> R {
        let images = Images {
            old,
            ..testing::wanted_alone(shape(wanted.len().ilog2() as u8), wanted)
        };
        ask(&Search::new(images, read))
    }

    #[test]
    fn models_without_a_measure() {
        let count = |shape: Shape, which: &dyn Fn(&Model) -> bool| {
            fixed_models(shape)
                .iter()
                .filter(|model| which(model))
                .count()
        };
        let smaller = |model: &Model| matches!(model, Model::Smaller { .. });
        // One to four lines fewer, with three things in them; what nobody can have burned is left out.
        assert_eq!(count(shape(12), &smaller), 12);
        assert_eq!(count(shape(3), &smaller), 9);
        let lines: Vec<u8> = fixed_models(shape(12))
            .iter()
            .filter_map(|model| match model {
                Model::Smaller {
                    lines,
                    holds: Holds::First,
                } => Some(*lines),
                _ => None,
            })
            .collect();
        assert_eq!(lines, [8, 9, 10, 11]);
        let known = |cells| Shape {
            cells: Some(cells),
            ..shape(12)
        };
        let held = |cells| -> Vec<Model> {
            let all = fixed_models(known(cells)).into_iter();
            all.filter(|model| matches!(model, Model::Smaller { lines: 11, .. }))
                .collect()
        };
        let of = |holds| Model::Smaller { lines: 11, holds };
        assert_eq!(held(Cells::Overwrite), [of(Holds::First), of(Holds::Last)]);
        assert_eq!(held(Cells::OnlyClear), [of(Holds::First), of(Holds::All)]);
        // Lanes need as many bytes.
        let lanes = |model: &Model| matches!(model, Model::LanesSwapped { .. });
        assert_eq!((count(shape(1), &lanes), count(shape(2), &lanes)), (1, 2));
        let words = Shape {
            data_lines: 16,
            ..shape(1)
        };
        assert_eq!(count(words, &lanes), 2);
        // Bursts of 2, 4 and 8 pages, as far as the chip has them, and either page takes them.
        let wrapped = |model: &Model| matches!(model, Model::PageWrapped { .. });
        assert_eq!(count(shape(12), &wrapped), 36);
        assert_eq!(count(shape(6), &wrapped), 2 * (2 + 1));
        assert!(fixed_models(shape(6)).contains(&Model::PageWrapped {
            page: 16,
            burst: 64,
            lands: Lands::Last
        }));
        assert_eq!(count(shape(4), &wrapped), 0);
    }

    fn telling() -> Vec<u16> {
        (0..256u16).map(|a| (a * 37 + 5) & 0x7F).collect()
    }

    #[test]
    fn burning_stopped_at_the_first_difference_or_a_round_place_before() {
        let mut wanted = telling();
        wanted[0xBD..0xC3].fill(0xFF);
        let old: Vec<u16> = telling().iter().map(|cell| cell ^ 0x11).collect();
        let at = |at: usize, above: Before| Model::Stopped { at, above };
        let stopped = |from: usize| -> Vec<usize> {
            let mut read = wanted.clone();
            read[from..].fill(0xFF);
            let models = found(&wanted, None, &read, |search| search.stopped());
            let places = models.into_iter().map(|model| match model {
                Model::Stopped {
                    at,
                    above: Before::Erased,
                } => at,
                other => panic!("{other:?}"),
            });
            places.collect()
        };
        assert_eq!(stopped(0x35), [0x35]);
        // C3 is the first cell that shows it, and from BD on nothing does: C0 is round.
        assert_eq!(stopped(0xC1), [0xC3, 0xC0]);
        assert_eq!(stopped(0xC3), [0xC3, 0xC0]);
        assert_eq!(stopped(0xBC), [0xBC]);
        assert_eq!(stopped(0x80), [0x80]);
        assert!(stopped(0).is_empty() && stopped(256).is_empty());
        let mut read = wanted.clone();
        read[0xC3..].copy_from_slice(&old[0xC3..]);
        let both = found(&wanted, Some(&old), &read, |search| search.stopped());
        let wanted = [
            at(0xC3, Before::Erased),
            at(0xC3, Before::Old),
            at(0xC0, Before::Erased),
            at(0xC0, Before::Old),
        ];
        assert_eq!(both, wanted);
    }

    #[test]
    fn pages_are_cut_where_the_first_cell_is_erased() {
        let wanted = telling();
        let cut = |page: usize, kept: usize, wrong: usize| {
            let mut read = wanted.clone();
            (0..256)
                .filter(|a| a % page >= kept)
                .for_each(|a| read[a] = 0xFF);
            let erased: Vec<usize> = (0..256).filter(|&a| read[a] == 0xFF).collect();
            erased
                .iter()
                .take(wrong)
                .for_each(|&a| read[a] = wanted[a] ^ 1);
            found(&wanted, None, &read, |search| search.cut_pages())
        };
        let of = |page, kept| Model::PageCut { page, kept };
        assert_eq!(
            cut(64, 63, 0),
            [16, 32, 64, 128, 256].map(|page| of(page, page.min(64) - 1))
        );
        assert!(cut(32, 20, 0).contains(&of(32, 20)));
        assert!(
            !cut(32, 20, 0).contains(&of(16, 0)),
            "nothing would be kept"
        );
        // Half of what differs has to be erased.
        assert!(!cut(64, 63, 2).is_empty() && cut(64, 63, 3).is_empty());
        assert!(!cut(32, 20, 32).is_empty() && cut(32, 20, 33).is_empty());
        assert!(found(&wanted, None, &wanted, |search| search.cut_pages()).is_empty());
    }

    #[test]
    fn a_dead_row_is_where_the_addresses_agree() {
        let wanted = telling();
        let dead = |lines: usize, levels: usize, data: u16, high: bool| {
            let cell = |a: usize| match (a & lines == levels, high) {
                (true, true) => wanted[a] | data,
                (true, false) => wanted[a] & !data,
                _ => wanted[a],
            };
            let read: Vec<u16> = (0..256).map(cell).collect();
            found(&wanted, None, &read, |search| search.array())
        };
        let row = |lines, levels, data, high| {
            Some(Model::Array {
                lines,
                levels,
                data,
                high,
            })
        };
        assert_eq!(dead(0x0C, 0x08, 0x20, true), row(0x0C, 0x08, 0x20, true));
        assert_eq!(dead(0x0C, 0x08, 0x20, false), row(0x0C, 0x08, 0x20, false));
        assert_eq!(dead(0xC0, 0x80, 0xFF, true), row(0xC0, 0x80, 0xFF, true));
        assert_eq!(dead(0xC0, 0x80, 0xFF, false), row(0xC0, 0x80, 0xFF, false));
        // Eight cells are a row, four are just cells; so are three that differ of eight.
        assert_eq!(dead(0x1F, 0x05, 0xFF, true), row(0x1F, 0x05, 0xFF, true));
        assert_eq!(dead(0x3F, 0x05, 0xFF, true), None);
        // All of the chip is a data line.
        assert_eq!(dead(0, 0, 0x20, true), None);
        let some = |count: usize| {
            let mut read = wanted.clone();
            (0..count).for_each(|n| read[n << 5 | 5] ^= 1);
            found(&wanted, None, &read, |search| search.array()).is_some()
        };
        assert!(!some(3));
        let mut read = wanted.clone();
        [0x05, 0x25, 0x45, 0x85]
            .iter()
            .for_each(|&a: &usize| read[a] ^= 1);
        assert!(found(&wanted, None, &read, |search| search.array()).is_some());
    }

    #[test]
    fn unlock_bytes_are_looked_for_where_the_chip_has_their_addresses() {
        let unlocked = |lines: u8, at: (usize, usize), bytes: (u16, u16)| {
            let wanted = vec![0xFF; 1 << lines];
            let mut read = wanted.clone();
            (read[at.0], read[at.1]) = bytes;
            found(&wanted, None, &read, |search| search.unlock_sequences())
        };
        let of = |first, second, command| Model::UnlockStored {
            first,
            second,
            command,
        };
        let large = (0x5555, 0x2AAA);
        assert_eq!(
            unlocked(15, large, (0xA0, 0x55)),
            [of(0x5555, 0x2AAA, 0xA0)]
        );
        for command in COMMANDS {
            let found = unlocked(15, (0x555, 0x2AA), (command.into(), 0x55));
            assert_eq!(found, [of(0x555, 0x2AA, command)]);
        }
        assert!(unlocked(15, large, (0xA1, 0x55)).is_empty());
        assert!(unlocked(15, large, (0xA0, 0x54)).is_empty());
        // 13 lines see of 5555 the lower part, as of 1555, which is named once.
        assert_eq!(
            unlocked(13, (0x1555, 0xAAA), (0x80, 0x55)),
            [of(0x1555, 0xAAA, 0x80)]
        );
        // In 2K 2AAA is at 2AA, and AAA too.
        assert_eq!(
            unlocked(11, (0x555, 0x2AA), (0x90, 0x55)),
            [of(0x555, 0x2AA, 0x90)]
        );
    }

    /// Every story of single cells is among those that are tried, each once.
    #[test]
    fn all_are_tried() {
        let wanted = telling();
        let old: Vec<u16> = wanted.iter().map(|cell| cell ^ 1).collect();
        let more = [old.clone(), old.clone()];
        let mut read = wanted.clone();
        read[200] = 0xFF;
        let mut images = Images {
            shape: shape(8),
            wanted: &wanted,
            old: Some(&old),
            others: &more,
            cousins: &more[..1],
        };
        let models = Search::new(images, &read).single_models();
        for model in [
            Model::Blank,
            Model::AllZeros,
            Model::OtherImage(1),
            Model::OtherOnBus(1),
            Model::Cousin(0),
            Model::NotBlank,
            Model::StillOld,
            Model::Data(LineFault::Inverted(7)),
            Model::reading(LineFault::Swapped(0, 7)),
            Model::burning(LineFault::StuckLow(7), Cells::OnlyClear),
            Model::Stopped {
                at: 200,
                above: Before::Old,
            },
        ] {
            let count = models.iter().filter(|other| **other == model).count();
            assert_eq!(count, 1, "{model:?}");
        }
        // Swapped and inverted lines lose nothing: that they were there while burning reads the same.
        let swapped = Model::burning(LineFault::Swapped(0, 7), Cells::OnlyClear);
        assert!(!models.contains(&swapped));
        images.old = None;
        let models = Search::new(images, &read).single_models();
        assert!(!models.contains(&Model::NotBlank) && !models.contains(&Model::StillOld));
    }
}
