//! Whether one content is in the other, byte for byte.

use std::collections::HashMap;

use memchr::memmem;

use super::form::{Cut, InRead, Lane, Rest, TURNS, constant};

/// Banks that a read may be put together from, and the smallest of them, in bytes.
const MOST_BANKS: usize = 16;
const LEAST_BANK: usize = 256;
/// Lanes of a bus whose sizes are looked at for samples.
const LANES: [usize; 5] = [1, 2, 3, 4, 8];

/// All lanes that known contents are looked at in, the whole first.
pub(super) fn lanes() -> impl Iterator<Item = Option<Lane>> {
    LANES.into_iter().flat_map(|of| {
        (0..of).map(move |n| match of {
            1 => None,
            _ => Some(Lane { n, of }),
        })
    })
}

/// How a read and a known content fit: which part of the known content is where in the read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct FittingForm {
    pub cut: Cut,
    pub place: InRead,
    /// Where the bytes that both have are in the read.
    pub first: usize,
    pub len: usize,
}

impl FittingForm {
    fn of_read(cut: Cut, read: &[u8]) -> Self {
        FittingForm {
            cut,
            place: InRead::Whole,
            first: 0,
            len: read.len(),
        }
    }

    /// All of the known content, from there on in the read.
    fn of_known(known: &[u8], read: &[u8], first: usize) -> Self {
        let len = known.len();
        let (front, end) = (&read[..first], &read[first + len..]);
        let filler = match (constant(front), constant(end)) {
            (Some(a), Some(b)) if a == b => Some(a),
            (Some(a), None) if end.is_empty() => Some(a),
            (None, Some(b)) if front.is_empty() => Some(b),
            _ => None,
        };
        FittingForm {
            cut: Cut::Whole,
            place: InRead::At {
                first,
                len,
                rest: filler.map_or(Rest::Other, Rest::Filler),
            },
            first,
            len,
        }
    }
}

/// The part of a content that begins there.
pub(super) fn cut_at(first: usize, len: usize, of: usize) -> Cut {
    match len {
        _ if len == of => Cut::Whole,
        0 => Cut::Stretch { first, len, of },
        _ if of % len == 0 && first % len == 0 => Cut::Bank {
            n: first / len,
            of: of / len,
        },
        _ => Cut::Stretch { first, len, of },
    }
}

/// The plainest way in which they fit. The read is not a repetition, and not one byte throughout.
pub(super) fn fit(known: &[u8], read: &[u8]) -> Option<FittingForm> {
    if let Some(fit) = fit_aligned(known, read) {
        return Some(fit);
    }
    if read.len() < known.len() {
        if let Some(first) = find(known, read) {
            return Some(FittingForm::of_read(
                cut_at(first, read.len(), known.len()),
                read,
            ));
        }
        return banks(known, read);
    }
    if constant(known).is_some() {
        return None;
    }
    find(read, known).map(|first| FittingForm::of_known(known, read, first))
}

/// Where one content is in the other. What prepares a search for many bytes takes longer than most searches, so their
/// beginning is looked for first; where that is there often, all of them are.
fn find(hay: &[u8], needle: &[u8]) -> Option<usize> {
    const HEAD: usize = 32;
    const FEW: usize = 16;
    if hay.len() <= needle.len() {
        return (hay == needle).then_some(0);
    }
    let head = memmem::Finder::new(&needle[..needle.len().min(HEAD)]);
    let mut from = 0;
    for _ in 0..FEW {
        from += head.find(&hay[from..])?;
        if hay[from..].starts_with(needle) {
            return Some(from);
        }
        from += 1;
    }
    Some(from + memmem::find(&hay[from..], needle)?)
}

/// As [`fit`], but only where one begins at a multiple of its own length in the other: cheap enough for every content.
pub(super) fn fit_aligned(known: &[u8], read: &[u8]) -> Option<FittingForm> {
    if read.is_empty() || known.is_empty() {
        return None;
    }
    if read.len() <= known.len() {
        if known.len() % read.len() != 0 {
            return None;
        }
        let n = known.chunks(read.len()).position(|bank| bank == read)?;
        let cut = cut_at(n * read.len(), read.len(), known.len());
        return Some(FittingForm::of_read(cut, read));
    }
    if read.len() % known.len() != 0 || constant(known).is_some() {
        return None;
    }
    let n = read.chunks(known.len()).position(|bank| bank == known)?;
    Some(FittingForm::of_known(known, read, n * known.len()))
}

/// A read that is put together from whole banks, the largest possible.
fn banks(known: &[u8], read: &[u8]) -> Option<FittingForm> {
    let mut count = 2;
    while count <= MOST_BANKS {
        let size = read.len() / count;
        let fits = read.len() % count == 0 && size >= LEAST_BANK && known.len() % size == 0;
        count *= 2;
        if !fits {
            continue;
        }
        let mut at: HashMap<&[u8], usize> = HashMap::new();
        for (n, bank) in known.chunks(size).enumerate() {
            at.entry(bank).or_insert(n);
        }
        let found = read.chunks(size).map(|bank| at.get(bank).copied());
        if let Some(banks) = found.collect::<Option<Vec<usize>>>() {
            let of = known.len() / size;
            return Some(FittingForm::of_read(Cut::Banks { banks, of }, read));
        }
    }
    None
}

/// How a thin read and a known content fit, in all turns.
pub(super) fn fit_thin(known: &[u8], read: &[u8]) -> Option<(usize, FittingForm)> {
    TURNS.iter().enumerate().find_map(|(n, turn)| {
        let turned = turn.of_bytes(read)?;
        constant(&turned).is_none().then_some(())?;
        Some((n, fit_aligned(known, &turned)?))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    #[test]
    fn one_is_in_the_other() {
        let known = Pattern::Random { seed: 4 }.image(4096).unwrap();
        let cut = |read: &[u8]| fit(&known, read).map(|fit| (fit.cut, fit.place));
        assert_eq!(cut(&known), Some((Cut::Whole, InRead::Whole)));
        let bank = Cut::Bank { n: 3, of: 4 };
        assert_eq!(cut(&known[3072..]), Some((bank, InRead::Whole)));
        let stretch = Cut::Stretch {
            first: 5,
            len: 95,
            of: 4096,
        };
        assert_eq!(cut(&known[5..100]), Some((stretch, InRead::Whole)));
        let windows = [&known[512..1024], &known[3584..]].concat();
        let banks = Cut::Banks {
            banks: vec![1, 7],
            of: 8,
        };
        assert_eq!(cut(&windows), Some((banks, InRead::Whole)));
        let at = |first, rest| {
            let place = InRead::At {
                first,
                len: 4096,
                rest,
            };
            Some((Cut::Whole, place))
        };
        let padded = [&known[..], &[0x1A; 77]].concat();
        assert_eq!(cut(&padded), at(0, Rest::Filler(0x1A)));
        let between = [&[0xFF; 9][..], &known, &[0xFF; 99]].concat();
        assert_eq!(cut(&between), at(9, Rest::Filler(0xFF)));
        let header = [&[1, 2, 3][..], &known].concat();
        assert_eq!(cut(&header), at(3, Rest::Other));
        assert_eq!(cut(&known.iter().rev().copied().collect::<Vec<u8>>()), None);
    }

    #[test]
    fn a_blank_content_is_in_nothing() {
        let read = [&[7][..], &[0xFF; 255]].concat();
        assert_eq!(fit(&[0xFF; 64], &read), None);
    }
}
