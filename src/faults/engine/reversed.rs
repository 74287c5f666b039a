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
