//! The story in reverse: the wanted image is the one with the fault.

use super::ledger::Ledger;
use super::predict::Images;
use super::search::Search;
use crate::faults::cost::{Size, choose, integer, model_bits};
use crate::faults::line_fault::LineFault;
use crate::faults::story::{LineOf, Model};

/// Adds every line fault that makes the wanted image from the read. What it lost of the read must be written out.
pub(super) fn tell_reversed(ledger: &mut Ledger, images: &Images, size: Size) {
    let as_wanted = Images {
        wanted: ledger.read,
        ..*images
    };
    let mut search = Search::new(as_wanted, images.wanted);
    let differing = search.differing().len();
    let (read, wanted) = (ledger.read, images.wanted);
    let cells = wanted.len();
    let address = LineFault::all(images.shape.address_lines);
    for fault in address.into_iter().filter(|fault| !fault.loses_nothing()) {
        if search.holds(|a| read[fault.apply(a)]) {
            let new: f64 = (0..cells)
                .filter(|&a| read[a] != wanted[a])
                .map(|a| ledger.literals.cell(read[a], ledger.width))
                .sum();
            let bits = integer(differing) + choose(cells / 2, differing.min(cells / 2)) + new;
            tell(ledger, LineOf::Address(fault), bits, size);
        }
    }
    let data = LineFault::all(images.shape.data_lines);
    for fault in data.into_iter().filter(|fault| !fault.loses_nothing()) {
        if search.holds(|a| fault.apply(usize::from(read[a])) as u16) {
            let bits = integer(differing) + choose(cells, differing);
            tell(ledger, LineOf::Data(fault), bits, size);
        }
    }
}

fn tell(ledger: &mut Ledger, line: LineOf, bits: f64, size: Size) {
    let model = Model::WantedIsFaulty(line);
    let bits = bits + model_bits(&model, size);
    ledger.list(model.into(), bits);
}

#[cfg(test)]
mod tests {
    use super::super::ledger::Told;
    use super::super::testing;
    use super::*;
    use crate::faults::cost::Literals;
    use crate::wiring::Width;

    const SIZE: Size = Size {
        cells: 16,
        bytes: 16,
        data_lines: 8,
        others: 0,
        cousins: 0,
    };

    fn told(wanted: &[u16], read: &[u16]) -> Vec<Told> {
        let literals = Literals::of(&[]);
        let mut ledger = Ledger::new(read, Width::Eight, &literals);
        let images = testing::wanted_alone(testing::shape(4, 8), wanted);
        tell_reversed(&mut ledger, &images, SIZE);
        ledger.told
    }

    /// What the wanted image lost has to be written out: cells of an address line at 8 bits, bits of a data line by their places.
    #[test]
    fn what_was_lost_is_written_out() {
        let read: Vec<u16> = (0..16).map(|a| (a * a * 37 + a * 11 + 5) % 251).collect();
        let low: Vec<u16> = (0..16).map(|a| read[a & !2]).collect();
        let found = told(&low, &read);
        let line = LineOf::Address(LineFault::StuckLow(1));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].story, Model::WantedIsFaulty(line).into());
        // All of 8 cells; 8 + 2 + 2 for the line.
        let bits = 12.0 + integer(8) + choose(8, 8) + 8.0 * 8.0;
        assert!((found[0].bits - bits).abs() < 1e-9 && found[0].list);
        let high: Vec<u16> = read.iter().map(|cell| cell | 0x08).collect();
        let found = told(&high, &read);
        let line = LineOf::Data(LineFault::StuckHigh(3));
        assert_eq!(found[0].story, Model::WantedIsFaulty(line).into());
        let lost = read.iter().filter(|cell| *cell & 0x08 == 0).count();
        let bits = 4.0 + 2.0 + 3.0 + integer(lost) + choose(16, lost);
        assert!((found[0].bits - bits).abs() < 1e-9);
        // Faults that lose nothing can be told the usual way round.
        let inverted: Vec<u16> = read.iter().map(|cell| cell ^ 0x08).collect();
        assert!(told(&inverted, &read).is_empty());
        let swapped: Vec<u16> = (0..16).map(|a| read[a ^ 2]).collect();
        assert!(told(&swapped, &read).is_empty());
        let mut wrong = high.clone();
        wrong[3] ^= 1;
        assert!(told(&wrong, &read).is_empty());
    }
}
