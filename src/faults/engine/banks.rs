//! Banks in another order, or one of them more than once.

use std::collections::HashMap;

use super::ledger::Ledger;
use crate::faults::cost::{Size, model_bits};
use crate::faults::moves::Index;
use crate::faults::story::Model;

/// The smallest bank, in bytes, and the most banks that are told apart.
const LEAST: usize = 256;
const MOST: usize = 256;
/// Places in a bank at which its source is asked, and links of the chain that are followed there.
const ASKED: usize = 24;
const TRIES: usize = 24;
/// Places that have to agree before a bank counts as another one.
const ENOUGH: usize = 2;

/// Adds the order of the banks as a story for every bank size, if one is out of its place.
pub(super) fn tell_banks(
    ledger: &mut Ledger,
    wanted: &[u8],
    read: &[u8],
    index: &Index,
    size: Size,
) {
    let mut bank = wanted.len() / 2;
    while bank >= LEAST && wanted.len() % bank == 0 && wanted.len() / bank <= MOST {
        let map = map(wanted, read, index, bank);
        if map.iter().zip(0..).any(|(&from, place)| from != place) {
            let sources = map
                .iter()
                .map(|&from| &wanted[from as usize * bank..][..bank]);
            let predicted = sources.collect::<Vec<_>>().concat();
            let model = Model::Banks { size: bank, map };
            let bits = model_bits(&model, size);
            ledger.hold_bytes(bits, &predicted, || model.into());
        }
        bank /= 2;
    }
}

/// Which bank is in each place. Equal banks are sought first, those first that are not in their own place or taken; for
/// blank ones nothing else would do. Others are asked for in some places.
fn map(wanted: &[u8], read: &[u8], index: &Index, bank: usize) -> Vec<u32> {
    let count = wanted.len() / bank;
    let same: Vec<bool> = (0..count)
        .map(|n| wanted[n * bank..][..bank] == read[n * bank..][..bank])
        .collect();
    let mut used = same.clone();
    let mut by_content: HashMap<&[u8], Vec<usize>> = HashMap::new();
    for (n, content) in wanted.chunks(bank).enumerate() {
        by_content.entry(content).or_default().push(n);
    }
    let mut map = Vec::with_capacity(count);
    for n in 0..count {
        let equal = by_content.get(&read[n * bank..][..bank]);
        let from = match equal.and_then(|all| all.iter().copied().min_by_key(|&k| used[k])) {
            _ if same[n] => n,
            Some(equal) => {
                used[equal] = true;
                equal
            }
            None => voted(wanted, &read[n * bank..][..bank], index, bank, n),
        };
        map.push(from as u32);
    }
    map
}

/// The bank that most of the asked places of this one are of, or its own.
fn voted(wanted: &[u8], content: &[u8], index: &Index, bank: usize, own: usize) -> usize {
    let mut votes: HashMap<usize, usize> = HashMap::new();
    for n in 0..ASKED {
        let at = (2 * n + 1) * bank / (2 * ASKED);
        for source in index.places(wanted, content, at, TRIES) {
            if source >= at && (source - at) % bank == 0 {
                *votes.entry((source - at) / bank).or_default() += 1;
            }
        }
    }
    let in_place = (0..2 * ASKED)
        .filter(|n| {
            let at = n * bank / (2 * ASKED);
            content[at] == wanted[own * bank + at]
        })
        .count();
    let best = votes
        .into_iter()
        .max_by_key(|&(bank, votes)| (votes, usize::MAX - bank));
    match best {
        Some((bank, votes)) if votes >= ENOUGH && 4 * votes > in_place => bank,
        _ => own,
    }
}
