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
}
