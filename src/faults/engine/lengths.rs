//! Reads that are longer or shorter than what is wanted.

use crate::faults::cost::{Literals, Size, integer, length_bits, model_bits, place};
use crate::faults::moves::{Index, Kind, Parse, alone, common};
use crate::faults::story::{Edit, Length, Model, OpenBus};

/// Lanes and parts that a read can be one of: a bus of up to 16 bytes, a chip of up to 256 banks.
const MOST_LANES: usize = 16;
const MOST_PARTS: usize = 256;

/// What the lengths are priced with.
pub(super) struct Lengths<'a> {
    pub wanted: &'a [u8],
    pub read: &'a [u8],
    pub index: &'a Index,
    pub parse: &'a Parse,
    pub literals: &'a Literals,
    pub size: Size,
}

impl Lengths<'_> {
    /// What may have happened to the length, each with its cost.
    pub fn models(&self) -> Vec<(Model, f64)> {
        let mut found = self.lost_or_put_in();
        match self.read.len() < self.wanted.len() {
            true => self.shorter(&mut found),
            false => self.longer(&mut found),
        }
        found
    }

    fn length(&self, length: Length, more: f64) -> (Model, f64) {
        let model = Model::Length(length);
        let bits = model_bits(&model, self.size) + more;
        (model, bits)
    }

    fn count(&self) -> f64 {
        let bytes = self.read.len().abs_diff(self.wanted.len());
        length_bits(bytes, self.read.len().max(self.wanted.len()))
    }

    /// Bytes lost or put in at one place, everything else as it should be.
    fn lost_or_put_in(&self) -> Vec<(Model, f64)> {
        let (wanted, read) = (self.wanted, self.read);
        let at = common(wanted, read);
        let len = read.len().abs_diff(wanted.len());
        let kind = model_bits(&Model::Edits(Vec::new()), self.size);
        let bits = kind + self.index.place(at, wanted.len()) + self.count();
        if at == 0 {
            return Vec::new();
        }
        if read.len() > wanted.len() {
            if read.get(at + len..) != wanted.get(at..) {
                return Vec::new();
            }
            let new = &read[at..at + len];
            let doubled = at >= len && read.get(at - len..at) == Some(new);
            let content = match doubled {
                true => 1.0,
                false => 2.0 + self.literals.prices(new),
            };
            let edit = Edit::PutIn { at, len, doubled };
            return vec![(Model::Edits(vec![edit]), bits + content)];
        }
        match read.get(at..).filter(|rest| !rest.is_empty()) == wanted.get(at + len..) {
            true => vec![(Model::Edits(vec![Edit::Lost { at, len }]), bits)],
            false => Vec::new(),
        }
    }

    fn shorter(&self, found: &mut Vec<(Model, f64)>) {
        let (n, m) = (self.wanted.len(), self.read.len());
        let cut = length_bits(n - m, n).min(place(m, n));
        found.push(self.length(Length::CutShort, cut));
        found.push(self.length(Length::StartMissing, self.count()));
        for of in 2..=MOST_PARTS {
            if n / of != m || n % of != 0 {
                continue;
            }
            for n in 0..of {
                if of <= MOST_LANES {
                    found.push(self.length(Length::Lane { n, of }, 0.0));
                }
                found.push(self.length(Length::Part { n, of }, 0.0));
            }
        }
        // Where the first stretch that is wanted at all would make the read begin.
        let windows = self
            .parse
            .tokens
            .iter()
            .filter_map(|token| match token.kind {
                Kind::Copy(from) => from.checked_sub(token.at),
                _ => None,
            });
        if let Some(from) = windows.into_iter().find(|from| from + m <= n) {
            let bits = self.index.place(from, n);
            found.push(self.length(Length::Window { from }, bits));
        }
    }

    fn longer(&self, found: &mut Vec<(Model, f64)>) {
        let (n, m) = (self.wanted.len(), self.read.len());
        let (count, more) = (self.count(), m - n);
        let tail = &self.read[n..];
        let mut padding = vec![0xFF, 0x00, 0x1A];
        padding.extend(tail.last());
        padding.dedup();
        // Up to the next size of a chip is a usual length to pad to.
        let padded = count.min(place(m, m.next_power_of_two()));
        for byte in padding {
            found.push(self.length(Length::Padded(byte), padded));
        }
        found.push(self.length(Length::More, count + self.literals.prices(tail)));
        let front = alone(&self.read[..more], self.literals).bits;
        found.push(self.length(Length::InFront, count + front));
        for byte in [0xFF, 0x00] {
            found.push(self.length(Length::FilledInFront(byte), count));
        }
        found.push(self.length(Length::Repeats, integer(m / n)));
        for seen in [OpenBus::HighAddress, OpenBus::LowAddress, OpenBus::LastByte] {
            found.push(self.length(Length::OpenBus(seen), count));
        }
        if m == 2 * n {
            for lane in 0..2 {
                for other in [0xFF, 0x00] {
                    found.push(self.length(Length::OneLaneOf2 { n: lane, other }, 0.0));
                }
            }
            found.push(self.length(Length::EachTwice, 0.0));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;
    use crate::faults::moves::parse;

    fn noise(bytes: usize) -> Vec<u8> {
        Pattern::Random { seed: 7 }.image(2 * bytes).unwrap()[bytes..].to_vec()
    }

    /// What may have happened to the length, with its bits.
    fn told(wanted: &[u8], read: &[u8]) -> Vec<(Model, f64)> {
        let literals = Literals::of(read);
        let index = Index::of(wanted);
        let lengths = Lengths {
            wanted,
            read,
            index: &index,
            parse: &parse(wanted, &index, read, &literals),
            literals: &literals,
            size: Size {
                cells: read.len().max(wanted.len()),
                bytes: read.len().max(wanted.len()),
                data_lines: 8,
                others: 0,
                cousins: 0,
            },
        };
        lengths.models()
    }

    #[track_caller]
    fn costs_length(told: &[(Model, f64)], length: Length, wanted: f64) {
        costs(told, Model::Length(length), wanted);
    }

    #[track_caller]
    fn costs(told: &[(Model, f64)], model: Model, wanted: f64) {
        let bits = told
            .iter()
            .find(|(told, _)| *told == model)
            .map(|(_, bits)| *bits);
        let same = bits.is_some_and(|bits| (bits - wanted).abs() < 1e-9);
        assert!(same, "{model:?}: {bits:?} {wanted}");
    }

    /// EVIDENCE: cut 2; lane 5 + log2 N; part 4 + log2 N; and the length where it is free.
    #[test]
    fn shorter_reads_cost_what_the_page_says() {
        let wanted = noise(4096);
        // 1000 bytes of 4096 are there, which is no round place; of 3096 missing ones three zeros make a round number.
        let cut = told(&wanted, &wanted[..1000]);
        let missing = 13f64.min(4.0 + 12.0 - 3.0).min(1.0 + 2.0 * 3096f64.log2());
        costs_length(&cut, Length::CutShort, 2.0 + missing.min(13.0));
        costs_length(&cut, Length::StartMissing, 4.0 + missing);
        let cut = told(&wanted, &wanted[..3072]);
        costs_length(&cut, Length::CutShort, 2.0 + 6.0);
        costs_length(&cut, Length::StartMissing, 4.0 + 6.0);
        assert_eq!(cut.len(), 2, "no lane and no part has three quarters");
        let half = told(&wanted, &wanted[2048..]);
        for n in 0..2 {
            costs_length(&half, Length::Lane { n, of: 2 }, 5.0 + 1.0);
            costs_length(&half, Length::Part { n, of: 2 }, 4.0 + 1.0);
        }
        // It begins at a round place, too.
        costs_length(&half, Length::Window { from: 2048 }, 4.0 + 5.0);
        let lanes = |read: usize| {
            let told = told(&wanted, &wanted[..read]);
            let lane =
                |model: &&(Model, f64)| matches!(model.0, Model::Length(Length::Lane { .. }));
            let part =
                |model: &&(Model, f64)| matches!(model.0, Model::Length(Length::Part { .. }));
            (
                told.iter().filter(lane).count(),
                told.iter().filter(part).count(),
            )
        };
        assert_eq!((lanes(256), lanes(128)), ((16, 16), (0, 32)));
        assert_eq!(
            (lanes(16), lanes(8), lanes(1365)),
            ((0, 256), (0, 0), (0, 0))
        );
        let window = told(&wanted, &wanted[1001..2001]);
        costs_length(&window, Length::Window { from: 1001 }, 4.0 + 13.0);
        // The last byte is the image's own.
        let last = told(&wanted, &wanted[1001..]);
        costs_length(&last, Length::Window { from: 1001 }, 4.0 + 13.0);
    }

    /// EVIDENCE: padded 4 or 12; header 3 + its own price; repeats 2; open bus 6; and the length where it is free.
    #[test]
    fn longer_reads_cost_what_the_page_says() {
        let wanted = noise(1024);
        let with = |tail: &[u8]| [&wanted[..], tail].concat();
        // 24 bytes more are 1 + 2 log2 24 or, of 1048, 4 and all but 3 bits.
        let count = (1.0 + 2.0 * 24f64.log2()).min(4.0 + 1048f64.log2() - 3.0);
        let read = with(&[0x33; 24]);
        let found = told(&wanted, &read);
        for (byte, kind) in [(0xFF, 4.0), (0x00, 4.0), (0x1A, 4.0), (0x33, 12.0)] {
            costs_length(&found, Length::Padded(byte), kind + count);
        }
        for byte in [0xFF, 0x00] {
            costs_length(&found, Length::FilledInFront(byte), 5.0 + count);
        }
        let literals = Literals::of(&read);
        costs_length(
            &found,
            Length::More,
            3.0 + count + literals.prices(&[0x33; 24]),
        );
        let front = alone(&read[..24], &literals).bits;
        costs_length(&found, Length::InFront, 3.0 + count + front);
        costs_length(&found, Length::Repeats, 2.0 + 1.0);
        for seen in [OpenBus::HighAddress, OpenBus::LowAddress, OpenBus::LastByte] {
            costs_length(&found, Length::OpenBus(seen), 6.0 + count);
        }
        let twice = |model: &(Model, f64)| {
            let model = &model.0;
            matches!(
                model,
                Model::Length(Length::EachTwice | Length::OneLaneOf2 { .. })
            )
        };
        assert!(!found.iter().any(twice));
        // To twice the size, which is the next chip's: a place at the end.
        let found = told(&wanted, &with(&[0xFF; 1024]));
        costs_length(&found, Length::Padded(0xFF), 4.0 + 2.0);
        costs_length(&found, Length::EachTwice, 6.0);
        costs_length(&found, Length::Repeats, 2.0 + 3.0);
        for (n, other) in [(0, 0xFF), (1, 0xFF), (0, 0x00), (1, 0x00)] {
            costs_length(&found, Length::OneLaneOf2 { n, other }, 7.0);
        }
        let padded = |model: &&(Model, f64)| matches!(model.0, Model::Length(Length::Padded(_)));
        assert_eq!(told(&wanted, &read).iter().filter(padded).count(), 4);
        // Seven times, and a bit.
        let found = told(&wanted, &wanted.repeat(8)[..8000]);
        costs_length(&found, Length::Repeats, 2.0 + 1.0 + 2.0 * 7f64.log2());
    }

    #[test]
    fn bytes_lost_or_put_in_at_one_place() {
        let wanted = noise(1024);
        let edits = |read: &[u8]| -> Vec<(Model, f64)> {
            let told = told(&wanted, read).into_iter();
            told.filter(|(model, _)| matches!(model, Model::Edits(_)))
                .collect()
        };
        let lost = [&wanted[..0x100], &wanted[0x110..]].concat();
        let edit = |edit: Edit| Model::Edits(vec![edit]);
        // A round place, and 16 of 1024.
        let count = 9.0;
        let (at, len) = (0x100, 16);
        costs(
            &edits(&lost),
            edit(Edit::Lost { at, len }),
            4.0 + 6.0 + count,
        );
        assert_eq!(edits(&lost[..1000]), []);
        assert_eq!(edits(&wanted[..1000]), [], "that is cut");
        assert_eq!(edits(&wanted[16..]), [], "and that begins too late");
        let new: Vec<u8> = wanted[0x100..0x110]
            .iter()
            .map(|byte| byte ^ 0x55)
            .collect();
        let read = [&wanted[..0x100], &new, &wanted[0x100..]].concat();
        let literals = Literals::of(&read).prices(&new);
        let count = 9f64.min(4.0 + 1040f64.log2() - 4.0);
        let doubled = false;
        let put_in = edit(Edit::PutIn { at, len, doubled });
        costs(&edits(&read), put_in, 4.0 + 6.0 + count + 2.0 + literals);
        let again = [&wanted[..0x100], &wanted[0xF0..]].concat();
        let doubled = true;
        let twice = edit(Edit::PutIn { at, len, doubled });
        costs(&edits(&again), twice, 4.0 + 6.0 + count + 1.0);
        let start = [&wanted[..16], &wanted].concat();
        let (at, len) = (16, 16);
        costs(
            &edits(&start),
            edit(Edit::PutIn { at, len, doubled }),
            4.0 + 10.0 + count + 1.0,
        );
        let mut wrong = read.clone();
        wrong[1000] ^= 1;
        assert_eq!(edits(&wrong), []);
    }
}
