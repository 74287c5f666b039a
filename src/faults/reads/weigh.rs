//! All stories of several reads, and which of them to believe.

use super::address_lines::floating_address_lines;
use super::groups::{ONE_CHIP, ReadGroup, groups};
use super::observed::Observed;
use super::stories::{floating_data_lines, noise, odd_read, read_too_early, told_odd, weak_cells};
use super::story::{Oddity, ReadsStory, ToldOfReads};
use crate::faults::cost::{CERTAIN, LIKELY, NOTHING_IN_COMMON};
use crate::faults::engine::{Known, Question};
use crate::faults::verdict::Verdict;

/// The stories, the likeliest first, and how sure that one is.
pub(super) struct Weighed {
    pub verdict: Verdict,
    /// How many of them are the answer.
    pub answer: usize,
    pub told: Vec<ToldOfReads>,
}

/// Tells every story and ranks them.
pub(super) fn weigh(seen: &Observed) -> Weighed {
    if seen.changes == 0 {
        return Weighed {
            verdict: Verdict::Same,
            answer: 1,
            told: vec![ToldOfReads {
                story: ReadsStory::Stable,
                bits: 0.0,
                left: 0,
                proved: true,
                explains_all: false,
            }],
        };
    }
    let mut told = vec![weak_cells(seen), noise(seen)];
    told.extend(floating_data_lines(seen));
    told.extend(floating_address_lines(seen));
    told.extend(read_too_early(seen));
    told.extend(odd_read(seen));
    let groups = groups(seen);
    let explains =
        |told: &ToldOfReads| told.explains_all || told.proved && told.story.line().is_some();
    if groups.len() > 1 && !told.iter().any(explains) {
        let apart = different_contents(seen, &groups);
        match told.iter().all(|other| apart.bits < other.bits) {
            true => told.push(same_chip(seen, &groups).unwrap_or(apart)),
            false => told.push(apart),
        }
    }
    told.sort_by(|a, b| a.bits.total_cmp(&b.bits));
    let (verdict, answer) = verdict(seen, &mut told);
    Weighed {
        verdict,
        answer,
        told,
    }
}

/// How sure the first story is, and how many stories are the answer. A line that leaves at least half of what wavers to
/// noise is noise with a needless fault, and taken out; so is any other such story where noise or weak cells come first.
fn verdict(seen: &Observed, told: &mut Vec<ToldOfReads>) -> (Verdict, usize) {
    let needless = |told: &ToldOfReads| 2 * told.left >= seen.changes;
    let of_reads = |story: &ReadsStory| {
        matches!(
            story,
            ReadsStory::OddRead { .. } | ReadsStory::DifferentContents(_)
        )
    };
    told.retain(|told| of_reads(&told.story) || !needless(told));
    let cells = [ReadsStory::WeakCells, ReadsStory::Noise];
    if told.first().is_some_and(|best| cells.contains(&best.story)) {
        told.retain(|other| !needless(other));
    }
    let Some((best, others)) = told.split_first_mut() else {
        return (Verdict::Open, 0);
    };
    let as_good = others
        .iter()
        .filter(|other| is_as_good(best, other))
        .count();
    let near = |other: &&ToldOfReads| other.bits < best.bits + LIKELY;
    let near = others.iter().take_while(near).count();
    if as_good > 0 {
        others.sort_by_key(|other| !is_as_good(best, other));
        return (Verdict::Open, 1 + as_good.max(near));
    }
    let lead = others
        .first()
        .map_or(f64::INFINITY, |next| next.bits - best.bits);
    // Of two reads, a block that has moved in one of them looks like a line that floats just there.
    let enough = best.story.line().is_none() || seen.reads.len() > 2;
    match lead {
        lead if lead >= CERTAIN && best.proved && enough => (Verdict::Certain, 1),
        lead if lead >= LIKELY => (Verdict::Likely, 1),
        _ => (Verdict::Open, 1 + near),
    }
}

/// The content of the chip is known only from these reads: two lines that would each explain all of them may both be
/// the one, whatever it costs to say what the chip then contains. So may one that explains all where the best does not.
fn is_as_good(best: &ToldOfReads, other: &ToldOfReads) -> bool {
    let floats = |told: &ToldOfReads| {
        matches!(
            told.story,
            ReadsStory::DataLine(_) | ReadsStory::AddressLine(_)
        )
    };
    let explains = other.explains_all || best.left > 0 && other.proved;
    floats(best) && floats(other) && explains
}

/// One group of reads is known by the majority, each other one is written out.
fn different_contents(seen: &Observed, groups: &[ReadGroup]) -> ToldOfReads {
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
        explains_all: false,
    }
}

fn largest(groups: &[ReadGroup]) -> usize {
    let sizes = groups.iter().enumerate();
    let largest = sizes.max_by_key(|(n, group)| (group.reads.len(), usize::MAX - n));
    largest.map_or(0, |(n, _)| n)
}

/// One read among many that agree may still be of the same chip, read in another way: moved, cut, through another line.
fn same_chip(seen: &Observed, groups: &[ReadGroup]) -> Option<ToldOfReads> {
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
    let told = best.story.predicts() && explained.ranking.verdict != Verdict::Open;
    let same = told && best.bits < explained.alone_bits * ONE_CHIP;
    same.then(|| told_odd(seen, odd, Oddity::Story(best.story), best.bits, true))
}
