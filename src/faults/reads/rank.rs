//! All stories of several reads, and which of them to believe.

use super::address_lines::address_lines;
use super::groups::{Group, ONE_CHIP, groups};
use super::seen::Seen;
use super::stories::{data_lines, noise, odd_read, read_too_early, told_odd, weak_cells};
use super::story::{Oddity, ReadsStory, ToldOfReads};
use crate::faults::cost::{CERTAIN, LIKELY, NOTHING_IN_COMMON};
use crate::faults::engine::{Known, Question};
use crate::faults::outcome::Verdict;

/// The stories, the likeliest first, and how sure that one is.
pub(super) struct Ranked {
    pub verdict: Verdict,
    pub told: Vec<ToldOfReads>,
}

/// Tells every story and ranks them.
pub(super) fn rank(seen: &Seen) -> Ranked {
    if seen.changes == 0 {
        return Ranked {
            verdict: Verdict::Same,
            told: vec![ToldOfReads {
                story: ReadsStory::Stable,
                bits: 0.0,
                left: 0,
                proved: true,
            }],
        };
    }
    let mut told = vec![weak_cells(seen), noise(seen)];
    told.extend(data_lines(seen));
    told.extend(address_lines(seen));
    told.extend(read_too_early(seen));
    let groups = groups(seen);
    if groups.len() < 2 {
        told.extend(odd_read(seen));
    } else {
        let apart = different_contents(seen, &groups);
        match told.iter().all(|other| apart.bits < other.bits) {
            true => told.push(same_chip(seen, &groups).unwrap_or(apart)),
            false => told.push(apart),
        }
    }
    told.sort_by(|a, b| a.bits.total_cmp(&b.bits));
    Ranked {
        verdict: verdict(seen, &mut told),
        told,
    }
}

/// How sure the first story is. Stories that leave at least half of what wavers to noise are noise with a needless fault,
/// and taken out where that is what the first one says.
fn verdict(seen: &Seen, told: &mut Vec<ToldOfReads>) -> Verdict {
    let cells = [ReadsStory::WeakCells, ReadsStory::Noise];
    if told.first().is_some_and(|best| cells.contains(&best.story)) {
        told.retain(|other| 2 * other.left < seen.changes);
    }
    let (best, lead) = match &told[..] {
        [best, next, ..] => (best, next.bits - best.bits),
        [best] => (best, f64::INFINITY),
        [] => return Verdict::Open,
    };
    match lead {
        lead if lead >= CERTAIN && best.proved => Verdict::Certain,
        lead if lead >= LIKELY => Verdict::Likely,
        _ => Verdict::Open,
    }
}

/// One group of reads is known by the majority, each other one is written out.
fn different_contents(seen: &Seen, groups: &[Group]) -> ToldOfReads {
    let largest = largest(groups);
    let others = groups.iter().enumerate().filter(|(n, _)| *n != largest);
    let alone: f64 = others.map(|(_, group)| group.alone).sum();
    let differ = |a: usize, b: usize| -> usize {
        let pairs = seen.reads[a].iter().zip(seen.reads[b]);
        pairs.map(|(a, b)| (a ^ b).count_ones() as usize).sum()
    };
    let inside = groups.iter().flat_map(|group| {
        let (head, others) = (group.reads[0], &group.reads[1..]);
        others.iter().map(move |&read| differ(head, read))
    });
    let left = inside.sum();
    ToldOfReads {
        story: ReadsStory::DifferentContents(
            groups.iter().map(|group| group.reads.clone()).collect(),
        ),
        bits: NOTHING_IN_COMMON + alone + seen.noise(left),
        left,
        proved: false,
    }
}

fn largest(groups: &[Group]) -> usize {
    let sizes = groups.iter().enumerate();
    let largest = sizes.max_by_key(|(n, group)| (group.reads.len(), usize::MAX - n));
    largest.map_or(0, |(n, _)| n)
}

/// One read among many that agree may still be of the same chip, read in another way: moved, cut, through another line.
fn same_chip(seen: &Seen, groups: &[Group]) -> Option<ToldOfReads> {
    let [one, other] = groups else {
        return None;
    };
    let (odd, others) = match (&one.reads[..], &other.reads[..]) {
        (&[read], others) if others.len() >= 2 => (read, others),
        (others, &[read]) if others.len() >= 2 => (read, others),
        _ => return None,
    };
    let question = Question {
        known: Known {
            read: seen.reads[odd],
            width: seen.width,
            erased: 0xFF,
            cells: None,
            old: None,
            others: Vec::new(),
            cousins: Vec::new(),
        },
        wanted: seen.reads[others[0]],
        text_says: &[],
        lines: true,
        pairs: false,
    };
    let explained = question.explain();
    let best = explained.ranking.told.into_iter().next()?;
    let shows = match best.story.predicts() && explained.ranking.verdict != Verdict::Open {
        true => Oddity::Story(best.story),
        false => Oddity::Bits,
    };
    let same = best.bits < explained.alone_bits * ONE_CHIP;
    same.then(|| told_odd(seen, odd, shows, best.bits, true))
}
