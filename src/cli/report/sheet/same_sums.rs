//! Sums that can't tell chips apart.

use super::chip::SheetChip;
use super::words::in_a_row;
use crate::sums::Algo;

/// What programmers show, with the words for it.
const SHOWN: [(Algo, &str); 4] = [
    (Algo::SUM16, "the sum of bytes in 16 bits"),
    (Algo::SUM16LE, "the sum of words in 16 bits"),
    (Algo::SUM32, "the sum of bytes in 32 bits"),
    (Algo::CRC32, "the CRC-32"),
];

/// A sentence for every value that two or more chips show, with the chips' places on the sheet.
pub(super) fn shared_sums(chips: &[SheetChip]) -> Vec<(String, Vec<usize>)> {
    let burned: Vec<usize> = (0..chips.len())
        .filter(|n| !chips[*n].is_erased() && !chips[*n].image.is_empty())
        .collect();
    let mut out = Vec::new();
    let value = |n: usize, algo: Algo| chips[n].sum(algo).unwrap_or_default();
    let names = |group: &[usize]| -> String {
        let names: Vec<&str> = group.iter().map(|n| chips[*n].name).collect();
        in_a_row(&names)
    };
    for group in groups(&burned, |n| value(n, Algo::SHA256)) {
        out.push((
            format!(
                "{} have the same content, so all their sums are the same: either file can go into either socket.",
                names(&group)
            ),
            group,
        ));
    }
    for (algo, words) in SHOWN {
        for group in groups(&burned, |n| value(n, algo)) {
            let first = value(group[0], Algo::SHA256);
            if group.iter().all(|n| value(*n, Algo::SHA256) == first) {
                continue;
            }
            let others = SHOWN.iter().filter(|(other, _)| *other != algo);
            let differs = |other: &&(Algo, &str)| {
                let values = || group.iter().map(|n| value(*n, other.0));
                values().all(|v| !v.is_empty() && values().filter(|w| *w == v).count() == 1)
            };
            let better = others.clone().find(differs);
            let better = better.map_or("the file on the disk", |(_, words)| words);
            out.push((
                format!(
                    "{} share {words}, {}, although they differ: compare {better} too.",
                    names(&group),
                    value(group[0], algo)
                ),
                group,
            ));
        }
    }
    out
}

/// What to say of a CRC-32 that is the same for every image which ends in its own.
pub(super) fn residue_words(chip: &SheetChip) -> Option<&'static str> {
    let shown = u128::from_str_radix(chip.sum(Algo::CRC32)?, 16).ok()?;
    (Some(shown) == Algo::CRC32.residue()).then_some(
        "Every image that ends in its own CRC-32 shows this CRC-32, so it can't tell chips apart. Compare the sum of bytes.",
    )
}

/// Those of `all` that share a value, two or more each, in order.
fn groups<'v>(all: &[usize], value: impl Fn(usize) -> &'v str) -> Vec<Vec<usize>> {
    let mut out: Vec<Vec<usize>> = Vec::new();
    for &n in all {
        match out.iter_mut().find(|group| value(group[0]) == value(n)) {
            Some(group) => group.push(n),
            None if !value(n).is_empty() => out.push(vec![n]),
            None => {}
        }
    }
    out.retain(|group| group.len() > 1);
    out
}
