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
