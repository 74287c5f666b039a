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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;
    use crate::faults::cost::Literals;
    use crate::wiring::Width;

    const BANK: usize = 512;

    /// Four banks of noise.
    fn wanted() -> Vec<u8> {
        Pattern::Random { seed: 8 }.image(4 * BANK).unwrap()
    }

    /// The bank that this content counts as in place 1.
    fn counts_as(content: &[u8]) -> usize {
        let wanted = wanted();
        voted(&wanted, content, &Index::of(&wanted), BANK, 1)
    }

    #[test]
    fn a_bank_with_wrong_bytes_is_known_by_the_places_that_agree() {
        let wanted = wanted();
        for n in 0..4 {
            let mut content = wanted[n * BANK..][..BANK].to_vec();
            content
                .iter_mut()
                .step_by(40)
                .for_each(|byte| *byte ^= 0x21);
            assert_eq!(counts_as(&content), n);
        }
        // Two of the places that are asked have to agree.
        let agree = |places: usize| {
            let mut content = vec![0xAA; BANK];
            for at in (0..places).map(|n| (2 * n + 1) * BANK / 48) {
                content[at..at + 8].copy_from_slice(&wanted[3 * BANK + at..][..8]);
            }
            counts_as(&content)
        };
        assert_eq!((agree(1), agree(2), agree(3)), (1, 3, 3));
    }

    #[test]
    fn what_is_in_its_place_stays() {
        let wanted = wanted();
        // The bank itself, but for a tenth that is of another one.
        let mut content = wanted[BANK..2 * BANK].to_vec();
        content[100..150].copy_from_slice(&wanted[3 * BANK + 100..][..50]);
        assert_eq!(counts_as(&content), 1);
        content[..400].copy_from_slice(&wanted[3 * BANK..][..400]);
        assert_eq!(counts_as(&content), 3);
        // The same bytes, but 8 later: no bank.
        let moved = &wanted[2 * BANK - 8..3 * BANK - 8];
        assert_eq!(counts_as(moved), 1);
    }

    /// Every size of bank is tried, and costs what the page says.
    #[test]
    fn each_size_of_bank_is_a_story() {
        let wanted = Pattern::Random { seed: 8 }.image(4096).unwrap();
        let literals = Literals::of(&[]);
        let size = Size {
            cells: 4096,
            bytes: 4096,
            data_lines: 8,
            others: 0,
            cousins: 0,
        };
        let told = |read: &[u8]| {
            let cells = Width::Eight.cells(read);
            let mut ledger = Ledger::new(&cells, Width::Eight, &literals);
            tell_banks(&mut ledger, &wanted, read, &Index::of(&wanted), size);
            ledger.sort();
            ledger.told
        };
        // The halves are swapped: two banks of 2K, which is 4 + (1 + log2 3) + 1 + 2 + 0 bits; or four of 1K, or ...
        let halves = [&wanted[2048..], &wanted[..2048]].concat();
        let found = told(&halves);
        let model = |size, map: &[u32]| Model::Banks {
            size,
            map: map.to_vec(),
        };
        assert_eq!(found[0].story, model(2048, &[1, 0]).into());
        assert!((found[0].bits - (8.0 + 3f64.log2())).abs() < 1e-9);
        assert_eq!(found[1].story, model(1024, &[2, 3, 0, 1]).into());
        assert!(found.iter().all(|told| told.wrong == 0));
        // One bank of 256 bytes twice, the smallest.
        let mut twice = wanted.clone();
        twice[256..512].copy_from_slice(&wanted[3840..]);
        let found = told(&twice);
        let mut map: Vec<u32> = (0..16).collect();
        map[1] = 15;
        assert_eq!(found[0].story, model(256, &map).into());
        // Which of equal banks is where does not matter: those that are not in their place yet come first.
        assert_eq!(told(&wanted).len(), 0);
        let mut blank = wanted.clone();
        blank[2048..].fill(0xFF);
        let swapped = [&blank[2048..], &blank[..2048]].concat();
        assert_eq!(map_of(&blank, &swapped, 1024), [2, 3, 0, 1]);
    }

    fn map_of(wanted: &[u8], read: &[u8], bank: usize) -> Vec<u32> {
        map(wanted, read, &Index::of(wanted), bank)
    }
}
