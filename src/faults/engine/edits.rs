//! Blocks that moved, were swapped, came twice or not at all, and bytes that were lost or put in: found in the stretches of
//! the parse, the best first, one after another.

use super::apply::edited;
use super::ledger::Ledger;
use crate::faults::cost::{ONE_MORE_EDIT, edit_bits, length_bits, place};
use crate::faults::moves::{Index, Kind, Parse, Token, differing};
use crate::faults::story::{Edit, Model, Story};

/// Edits that are told one after another; more are a list.
const MOST_EDITS: usize = 4;
/// Ways of telling one edit that are tried.
const MOST_WAYS: usize = 48;
/// A parse of more stretches than this has no edits worth telling.
const MOST_STRETCHES: usize = 400;
/// Fewer missing bytes are wrong cells.
const LEAST_MISSING: usize = 8;
/// Constant runs that separate one piece from the next: short ones are inside tables, long ones between programs.
const GAPS: [usize; 3] = [16, 64, 256];
/// Edits leave at most one in this many of the differences over.
const LEFT_AT_MOST: usize = 4;
/// About what a byte costs that an edit leaves wrong, for choosing among them.
const A_BYTE: f64 = 6.0;

/// The image that edits are made to, and what is known of it.
pub(super) struct Edited<'a> {
    pub wanted: &'a [u8],
    pub read: &'a [u8],
    pub index: &'a Index,
    pub parse: &'a Parse,
    pub erased: u8,
    /// What happened before the edits, and what that costs together with the kind "edits".
    pub bits: f64,
}

/// Tells up to four edits, each of which explains more than the one before left over.
pub(super) fn tell_edits(ledger: &mut Ledger, on: &Edited, story: impl Fn(Model) -> Story) {
    if on.parse.tokens.len() > MOST_STRETCHES {
        return;
    }
    let mut image = on.wanted.to_vec();
    let mut made: Vec<Edit> = Vec::new();
    let mut bits = on.bits;
    let differ = differing(&image, on.read);
    let mut wrong = differ;
    for round in 0..MOST_EDITS {
        let mut best: Option<(f64, usize, Edit, f64)> = None;
        let mut scratch = Vec::new();
        for (cost, edit) in ways(on, &image) {
            scratch.clear();
            scratch.extend_from_slice(&image);
            edited(&mut scratch, on.wanted, &edit, on.read, on.erased);
            let left = differing(&scratch, on.read);
            let all = cost + A_BYTE * left as f64;
            if best.as_ref().is_none_or(|(least, ..)| all < *least) {
                best = Some((all, left, edit, cost));
            }
        }
        let Some((_, left, edit, cost)) = best.filter(|(_, left, ..)| *left < wrong) else {
            return;
        };
        edited(&mut image, on.wanted, &edit, on.read, on.erased);
        bits += cost;
        made.push(edit);
        wrong = left;
        let all = bits + ONE_MORE_EDIT * round as f64;
        // An answer that leaves a quarter over is a list with a few blocks in it.
        if LEFT_AT_MOST * wrong <= differ {
            ledger.hold_bytes(all, &image, || story(Model::Edits(made.clone())));
        }
        if wrong == 0 {
            return;
        }
    }
}

/// The edits that the stretches of the parse suggest, as far as the image does not have them yet.
fn ways(on: &Edited, image: &[u8]) -> Vec<(f64, Edit)> {
    let mut ways = Vec::new();
    for (n, token) in on.parse.tokens.iter().enumerate() {
        if ways.len() > MOST_WAYS {
            break;
        }
        let stretch = token.at..token.at + token.len;
        if image[stretch.clone()] == on.read[stretch.clone()] {
            continue;
        }
        let first = on.read[token.at];
        let flat = on.read[stretch].iter().all(|&byte| byte == first);
        match token.kind {
            _ if flat => missing(on, token, first, &mut ways),
            Kind::Copy(from) => {
                blocks(on, token, from, &mut ways);
                let nearly_last = n + 2 >= on.parse.tokens.len();
                shifts(on, token, from, nearly_last, &mut ways);
            }
            _ => {}
        }
    }
    ways
}

/// A block that is elsewhere: as the stretch has it, or the whole piece that it is part of.
fn blocks(on: &Edited, token: &Token, from: usize, ways: &mut Vec<(f64, Edit)>) {
    let size = on.wanted.len();
    let mut found = vec![(from, from + token.len, token.at)];
    for gap in GAPS {
        let (start, end) = piece(on.wanted, from + token.len / 2, gap);
        let Some(to) = (token.at + start).checked_sub(from) else {
            continue;
        };
        if start < end && !found.contains(&(start, end, to)) {
            found.push((start, end, to));
        }
    }
    for (start, end, to) in found {
        let len = end - start;
        if to + len > size || to == start {
            continue;
        }
        let end_bits = match on.index.is_end(end) {
            true => 2.0,
            false => place(end, size).min(place(len, size)),
        };
        let places = on.index.place(start, size) + end_bits + on.index.place(to, size);
        let mut offer = |edit: Edit| ways.push((edit_bits(&edit) + places, edit));
        offer(Edit::Repeated {
            from: start,
            len,
            to,
        });
        offer(Edit::Moved {
            from: start,
            len,
            to,
        });
        if to.abs_diff(start) >= len {
            offer(Edit::Swapped {
                one: start.min(to),
                other: start.max(to),
                len,
            });
        }
    }
}

/// Bytes that were lost or put in before this stretch, when it reaches (nearly) to the end.
fn shifts(on: &Edited, token: &Token, from: usize, nearly_last: bool, ways: &mut Vec<(f64, Edit)>) {
    let size = on.read.len();
    let len = from.abs_diff(token.at);
    let reaches_end = token.at + token.len + 4 * len + 64 >= size;
    if len == 0 || !(reaches_end || nearly_last) {
        return;
    }
    let count = length_bits(len, size);
    if from > token.at {
        let edit = Edit::Lost { at: token.at, len };
        ways.push((
            edit_bits(&edit) + on.index.place(token.at, size) + count,
            edit,
        ));
        return;
    }
    let start = token.at - len.min(token.at);
    let new = &on.read[start..token.at];
    let repeats_before = start >= len && on.read.get(start - len..start) == Some(new);
    let repeats_after = on.read.get(token.at..token.at + len) == Some(new);
    let (at, doubled) = match (repeats_before, repeats_after) {
        (true, _) => (start, true),
        (_, true) => (token.at, true),
        _ => (start, false),
    };
    let edit = Edit::PutIn { at, len, doubled };
    let content = match doubled {
        true => 1.0,
        // Written out in the story: about a byte each.
        false => new.len() as f64 * A_BYTE,
    };
    ways.push((
        edit_bits(&edit) + on.index.place(at, size) + count + content,
        edit,
    ));
}

/// A stretch that is one byte throughout: it may be longer than what is missing, or shorter.
fn missing(on: &Edited, token: &Token, reads: u8, ways: &mut Vec<(f64, Edit)>) {
    let size = on.wanted.len();
    let (start, end) = (token.at, token.at + token.len);
    let is_other = |at: &usize| on.wanted[*at] != reads;
    let first = (start..end).find(is_other).unwrap_or(start);
    let last = (start..end).rev().find(is_other).map_or(end, |at| at + 1);
    let bounds = [(first, last), (start, end), (start, last), (first, end)];
    let cost = |(a, b): (usize, usize)| on.index.place(a, size) + on.index.place(b, size);
    let cheapest = bounds
        .into_iter()
        .min_by(|a, b| cost(*a).total_cmp(&cost(*b)));
    // If all of it is missing, the chip is blank, which is a story of its own.
    let some = |(from, to): &(usize, usize)| from + LEAST_MISSING <= *to && to - from < size;
    if let Some((from, to)) = cheapest.filter(some) {
        let edit = Edit::Missing {
            at: from,
            len: to - from,
            reads,
        };
        ways.push((edit_bits(&edit) + cost((from, to)), edit));
    }
}

/// What is around a place between constant runs of this many bytes.
fn piece(image: &[u8], at: usize, gap: usize) -> (usize, usize) {
    let mut run = 1;
    let mut end = at + 1;
    while end < image.len() {
        run = if image[end] == image[end - 1] {
            run + 1
        } else {
            1
        };
        end += 1;
        if run >= gap {
            end -= run;
            break;
        }
    }
    let mut run = 1;
    let mut start = at;
    while start > 0 {
        start -= 1;
        run = if image[start] == image[start + 1] {
            run + 1
        } else {
            1
        };
        if run >= gap {
            start += run;
            break;
        }
    }
    (start, end.max(start))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_ends_at_constant_runs() {
        let mut image = vec![0xFFu8; 100];
        for (n, byte) in image.iter_mut().enumerate().take(60).skip(30) {
            *byte = n as u8;
        }
        for at in [30, 45, 59] {
            assert_eq!(piece(&image, at, 16), (30, 60));
        }
        assert_eq!(piece(&image, 45, 64), (0, 100));
    }

    use crate::faults::Pattern;
    use crate::faults::cost::{Literals, Size, model_bits};
    use crate::faults::moves::parse;
    use crate::wiring::Width;

    const SIZE: usize = 4096;

    /// Noise without constant runs, so that no place is a boundary of a piece.
    fn noise() -> Vec<u8> {
        Pattern::Random { seed: 6 }.image(SIZE).unwrap()
    }

    /// The edits that were told of a read, each with its bits and the cells that are wrong, the cheapest first.
    fn edits(wanted: &[u8], read: &[u8]) -> Vec<(Vec<Edit>, f64, usize)> {
        let literals = Literals::of(&[]);
        let size = Size {
            cells: SIZE,
            bytes: SIZE,
            data_lines: 8,
            others: 0,
            cousins: 0,
        };
        let index = Index::of(wanted);
        let on = Edited {
            wanted,
            read,
            index: &index,
            parse: &parse(wanted, &index, read, &literals),
            erased: 0xFF,
            bits: model_bits(&Model::Edits(Vec::new()), size),
        };
        let cells = Width::Eight.cells(read);
        let mut ledger = Ledger::new(&cells, Width::Eight, &literals);
        tell_edits(&mut ledger, &on, Story::from);
        ledger.sort();
        let told = ledger.told.into_iter().map(|told| match told.story.first {
            Model::Edits(edits) => (edits, told.bits, told.wrong),
            other => panic!("{other:?}"),
        });
        told.collect()
    }

    /// The one edit that explains all, and its bits.
    #[track_caller]
    fn only(wanted: &[u8], read: &[u8], edit: Edit, bits: f64) {
        let found = edits(wanted, read);
        let (edits, cost, wrong) = &found[0];
        assert_eq!((&edits[..], *wrong), (&[edit][..], 0));
        assert!((cost - bits).abs() < 1e-9, "{cost} {bits}");
    }

    /// A place in 4096: round ones cost 4 and the bits above their zeros, others 13.
    const ANY: f64 = 13.0;

    /// EVIDENCE: 4 + 3 (exchange 4) + place of source + end + place of target.
    #[test]
    fn a_block_costs_its_three_places() {
        let wanted = noise();
        let (from, to, len) = (0x200, 0x801, 0x100);
        let mut read = wanted.clone();
        read[to..to + len].copy_from_slice(&wanted[from..from + len]);
        // Its end is the cheaper as a length of 100 hex: 4 and 12 less 8; 200 hex is 4 and 12 less 9.
        let repeated = Edit::Repeated { from, len, to };
        only(&wanted, &read, repeated, 4.0 + 3.0 + 7.0 + 8.0 + ANY);
        read[from..from + len].fill(0xFF);
        let moved = Edit::Moved { from, len, to };
        only(&wanted, &read, moved, 4.0 + 3.0 + 7.0 + 8.0 + ANY);
        let (one, other) = (from, to);
        read[from..from + len].copy_from_slice(&wanted[to..to + len]);
        let swapped = Edit::Swapped { one, other, len };
        only(&wanted, &read, swapped, 4.0 + 4.0 + 7.0 + 8.0 + ANY);
        // The block below is as well the one above, next to it.
        let mut read = wanted.clone();
        read[0x100..0x200].copy_from_slice(&wanted[0x200..0x300]);
        read[0x200..0x300].copy_from_slice(&wanted[0x100..0x200]);
        let found = &edits(&wanted, &read)[0];
        let (one, other) = (0x100, 0x200);
        assert_eq!(found.0, [Edit::Swapped { one, other, len }]);
    }

    /// EVIDENCE: missing 4 + 3 + two places + (FF 1, 00 2, else 9).
    #[test]
    fn missing_bytes_cost_what_they_read() {
        let wanted = noise();
        for (reads, kind) in [(0xFF, 1.0), (0x00, 2.0), (0x5A, 9.0)] {
            let mut read = wanted.clone();
            read[0x123..0x200].fill(reads);
            let (at, len) = (0x123, 0x200 - 0x123);
            let missing = Edit::Missing { at, len, reads };
            only(&wanted, &read, missing, 4.0 + 3.0 + kind + ANY + 7.0);
        }
        // The round bounds of a run whose own are longer: what is FF in both is not told.
        let mut blank = wanted.clone();
        blank[0x0FD..0x100].fill(0xFF);
        blank[0x200..0x203].fill(0xFF);
        let mut read = blank.clone();
        read[0x100..0x200].fill(0xFF);
        let (at, len, reads) = (0x100, 0x100, 0xFF);
        let missing = Edit::Missing { at, len, reads };
        only(&blank, &read, missing, 4.0 + 4.0 + 8.0 + 7.0);
        // Seven bytes are wrong cells; eight are missing.
        let gone = |bytes: usize| {
            let mut read = wanted.clone();
            read[0x100..0x100 + bytes].fill(0xFF);
            edits(&wanted, &read).len()
        };
        let right = wanted[0x100..0x108].iter().all(|byte| *byte != 0xFF);
        assert!(right && gone(7) == 0 && gone(8) == 1);
        assert_eq!(edits(&wanted, &[0xFF; SIZE]), [], "that is a blank chip");
    }

    /// EVIDENCE: lost or put in 4 + place + length (+ literals; doubled 1).
    #[test]
    fn lost_bytes_and_new_ones_cost_their_place_and_their_number() {
        let wanted = noise();
        let mut read = wanted.clone();
        read.drain(0x400..0x410);
        read.resize(SIZE, 0xFF);
        // 16 is 1 + 2 x 4 as a number, and 4 + 8 as a round place.
        let lost = Edit::Lost { at: 0x400, len: 16 };
        only(&wanted, &read, lost, 4.0 + 3.0 + 6.0 + 9.0);
        let put_in = |at: usize, new: &[u8]| {
            let mut read = [&wanted[..at], new, &wanted[at..]].concat();
            read.truncate(SIZE);
            read
        };
        let again = put_in(0x410, &wanted[0x400..0x410]);
        let (len, doubled) = (16, true);
        // At one of its ends, and the rounder is the first.
        let found = &edits(&wanted, &again)[0];
        assert!(
            matches!(
                found.0[..],
                [Edit::PutIn {
                    len: 16,
                    doubled: true,
                    ..
                }]
            ),
            "{found:?}"
        );
        let at = 0x410;
        only(
            &wanted,
            &again,
            Edit::PutIn { at, len, doubled },
            4.0 + 4.0 + 12.0 + 9.0 + 1.0,
        );
        let new: Vec<u8> = wanted[0x400..0x410]
            .iter()
            .map(|byte| byte ^ 0x55)
            .collect();
        let (at, doubled) = (0x400, false);
        let put = Edit::PutIn { at, len, doubled };
        only(
            &wanted,
            &put_in(at, &new),
            put,
            4.0 + 4.0 + 6.0 + 9.0 + 16.0 * A_BYTE,
        );
    }

    /// EVIDENCE: each further edit costs 2 more, and there are at most four.
    #[test]
    fn up_to_four_edits_are_told() {
        let wanted = noise();
        let blocks = |count: usize| {
            let mut read = wanted.clone();
            for n in 0..count {
                read[n * 0x300 + 0x11..][..0x40].fill(0x00);
            }
            edits(&wanted, &read)
        };
        let one = blocks(1)[0].1;
        let two = &blocks(2)[0];
        assert_eq!((two.0.len(), two.2), (2, 0));
        // Each costs its kind and two places; what is shared is the 4 of there being any.
        assert!(
            (two.1 - (2.0 * one - 4.0 + 2.0)).abs() < 1e-9,
            "{one} {}",
            two.1
        );
        let four = &blocks(4)[0];
        assert_eq!((four.0.len(), four.2), (4, 0));
        assert!((four.1 - (4.0 * one - 12.0 + 6.0)).abs() < 1e-9);
        // The fifth is left over, which is a fifth of all.
        let five = &blocks(5)[0];
        assert_eq!((five.0.len(), five.2), (4, 0x40));
        // Of six, four leave a third over, and that is no answer.
        assert_eq!(blocks(6), []);
    }

    /// Between programs there are constant runs: the block that moved is told by its piece, though it ends in what was there.
    #[test]
    fn a_piece_is_told_as_a_whole() {
        let mut wanted = vec![0xFF; SIZE];
        wanted[0x123..0x345].copy_from_slice(&noise()[0x300..0x522]);
        wanted[0x700..0xF00].copy_from_slice(&noise()[0x700..0xF00]);
        let mut read = wanted.clone();
        let (from, len, to) = (0x123, 0x222, 0x441);
        read[from..from + len].fill(0xFF);
        read[to..to + len].copy_from_slice(&wanted[from..from + len]);
        let moved = Edit::Moved { from, len, to };
        // Where it was is a boundary of two pieces: 3 + log2 4. Its end costs 2.
        only(&wanted, &read, moved, 4.0 + 3.0 + 5.0 + 2.0 + ANY);
        // Bytes of it may be wrong: the piece then is what the longest stretch is in.
        read[to + 0x20] ^= 0x11;
        let found = &edits(&wanted, &read)[0];
        assert_eq!((&found.0[..], found.2), (&[moved][..], 1));
    }
}
