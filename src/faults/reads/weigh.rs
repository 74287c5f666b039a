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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::reads::majority::majority;
    use crate::wiring::Width;

    fn told(story: ReadsStory, bits: f64, left: usize) -> ToldOfReads {
        ToldOfReads {
            proved: left == 0,
            explains_all: false,
            story,
            bits,
            left,
        }
    }

    fn line(n: u8, bits: f64) -> ToldOfReads {
        told(ReadsStory::DataLine(n), bits, 0)
    }

    fn unproved(told: ToldOfReads) -> ToldOfReads {
        ToldOfReads {
            proved: false,
            ..told
        }
    }

    /// What these stories come to, of so many reads in which 8 bits changed.
    fn judged(reads: usize, told: &[ToldOfReads]) -> (Verdict, usize, Vec<ToldOfReads>) {
        let image = [0u8; 16];
        let mut other = image;
        other[3] = 0xFF;
        let mut all: Vec<&[u8]> = vec![&image; reads];
        all[0] = &other;
        let found = majority(&all, Some(&image));
        let seen = Observed::new(&all, Width::Eight, Some(&image), &found);
        assert_eq!(seen.changes, 8);
        let mut told = told.to_vec();
        let (verdict, answer) = verdict(&seen, &mut told);
        (verdict, answer, told)
    }

    #[test]
    fn the_lead_decides_of_three_reads_and_more() {
        let after = |reads: usize, best: ToldOfReads, lead: f64| {
            let next = line(2, best.bits + lead);
            let (verdict, answer, _) = judged(reads, &[best, next]);
            (verdict, answer)
        };
        assert_eq!(after(3, line(1, 30.0), 20.0), (Verdict::Certain, 1));
        assert_eq!(after(3, line(1, 30.0), 19.9), (Verdict::Likely, 1));
        assert_eq!(after(3, line(1, 30.0), 10.0), (Verdict::Likely, 1));
        assert_eq!(after(3, line(1, 30.0), 9.9), (Verdict::Open, 2));
        assert_eq!(
            after(3, unproved(line(1, 30.0)), 20.0),
            (Verdict::Likely, 1)
        );
        // Of two reads no line is certain, and the odd one may be.
        assert_eq!(after(2, line(1, 30.0), 20.0), (Verdict::Likely, 1));
        let odd = ReadsStory::OddRead {
            read: 0,
            shows: Oddity::Bits,
        };
        assert_eq!(after(2, told(odd, 30.0, 0), 20.0), (Verdict::Certain, 1));
        assert_eq!(judged(3, &[line(1, 30.0)]).0, Verdict::Certain);
    }

    /// A line that leaves half of what wavers to noise is noise with a needless fault.
    #[test]
    fn needless_stories_are_taken_out() {
        let with_left = |left| {
            judged(3, &[told(ReadsStory::DataLine(1), 30.0, left)])
                .2
                .len()
        };
        assert_eq!((with_left(3), with_left(4)), (1, 0));
        let odd = |left| {
            let read = 0;
            let shows = Oddity::Bits;
            told(ReadsStory::OddRead { read, shows }, 35.0, left)
        };
        assert_eq!(judged(3, &[odd(4)]).2.len(), 1);
        let noise = || unproved(told(ReadsStory::Noise, 30.0, 0));
        assert_eq!(judged(3, &[noise(), odd(4)]).2.len(), 1);
        assert_eq!(judged(3, &[noise(), odd(3)]).2.len(), 2);
        assert_eq!(judged(3, &[noise(), odd(3)]).0, Verdict::Open);
        assert_eq!(judged(3, &[]), (Verdict::Open, 0, Vec::new()));
    }

    /// Two lines that would each explain all of the reads may both be the one, whatever they cost.
    #[test]
    fn lines_that_explain_all_are_as_good() {
        let all = |told: ToldOfReads| ToldOfReads {
            explains_all: true,
            ..told
        };
        let address = |bits| told(ReadsStory::AddressLine(2), bits, 0);
        let best = || all(line(1, 30.0));
        let (verdict, answer, told_first) = judged(5, &[best(), line(4, 35.0), all(address(90.0))]);
        assert_eq!((verdict, answer), (Verdict::Open, 2));
        assert_eq!(told_first[1].story, ReadsStory::AddressLine(2));
        // Those that are near are named as well.
        let near = [best(), line(4, 35.0), line(5, 36.0), all(address(90.0))];
        assert_eq!(judged(5, &near).1, 3);
        assert_eq!(judged(5, &[best(), address(90.0)]).0, Verdict::Certain);
        // One that explains all where the best does not.
        let some = told(ReadsStory::DataLine(1), 30.0, 1);
        assert_eq!(judged(5, &[some.clone(), address(90.0)]).0, Verdict::Open);
        let neither = unproved(address(90.0));
        assert_eq!(judged(5, &[some, neither]).0, Verdict::Likely);
        let early = all(told(ReadsStory::ReadTooEarly, 90.0, 0));
        assert_eq!(judged(5, &[best(), early.clone()]).0, Verdict::Certain);
        let early = all(told(ReadsStory::ReadTooEarly, 10.0, 0));
        assert_eq!(judged(5, &[unproved(early), best()]).0, Verdict::Likely);
    }

    /// EVIDENCE: reads of different chips cost 5 and each group but the largest alone.
    #[test]
    fn different_contents_cost_the_smaller_groups() {
        let (a, b) = ([1u8; 64], [2u8; 64]);
        let mut c = b;
        c[7] = 0x0D;
        let reads: [&[u8]; 5] = [&a, &b, &c, &b, &a];
        let found = majority(&reads, None);
        let seen = Observed::new(&reads, Width::Eight, None, &found);
        let group = |reads: &[usize], alone| ReadGroup {
            reads: reads.to_vec(),
            alone,
        };
        let groups = [group(&[0, 4], 100.0), group(&[1, 2, 3], 300.0)];
        let told = different_contents(&seen, &groups);
        // Four bits of one read in a group, of 5 x 64 x 8.
        assert_eq!(told.left, 4);
        assert!((told.bits - (5.0 + 100.0 + seen.noise(4))).abs() < 1e-9);
        let apart = ReadsStory::DifferentContents(vec![vec![0, 4], vec![1, 2, 3]]);
        assert_eq!((told.story, told.proved), (apart, false));
        // Of two that are as large the first is the majority's.
        let even = [group(&[0, 4], 100.0), group(&[1, 3], 300.0)];
        let told = different_contents(&seen, &even);
        assert!((told.bits - (5.0 + 300.0 + seen.noise(0))).abs() < 1e-9);
    }
}
