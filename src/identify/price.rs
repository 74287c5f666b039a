//! The few candidates of a read, each compared with it by the engine of the verdicts: the story that costs the fewest bits wins.

use std::collections::HashMap;

use super::candidates::Near;
use super::fit::cut_at;
use super::form::{Cut, InRead, ReadForm, Rest, TURNS, worth};
use super::grams::{SPARSE, grams};
use super::identity::{Difference, Identity, LIKELY, Match, Recognised, SURE};
use super::reads::IndexedRead;
use crate::faults::{Case, Diagnosis, Model, Story, Verdict};

/// A story must save this many bits, and this share of them, to say anything.
const LEAST_SAVED: f64 = 40.0;
const LEAST_SHARE: f64 = 0.05;
/// How many candidates lines are tried on, if nothing has decided before.
const MOST_WITH_LINES: usize = 3;
/// A story that costs only this many bits more than the choice of the chip decides, except against candidates with nearly as many votes.
const SETTLED: f64 = 60.0;
const NO_RIVAL: f64 = 0.8;
/// A content this many times as long as the other is cut to the stretch that fits.
const MUCH_LONGER: usize = 4;

/// A candidate, with the cost of explaining the read by it.
struct Priced {
    found: Match,
    also: Vec<usize>,
    verdict: Verdict,
    print: u64,
}

/// Two contents that are compared with each other.
struct Held<'a> {
    known: &'a [u8],
    read: &'a [u8],
    form: ReadForm,
    /// What must be said in addition.
    besides: f64,
}

/// What the read is, by the cheapest of its candidates: those with grams in common, those that are like it, and those that
/// have all of its bits.
pub(super) fn price<C: AsRef<[u8]>, E>(
    read: &IndexedRead,
    [votes, like, under]: [&[Near]; 3],
    pick: f64,
    fetch: &mut impl FnMut(usize) -> Result<C, E>,
) -> Result<Identity, E> {
    let Some(alone) = alone_bits(read.once) else {
        return Ok(Identity::of(Recognised::Unknown));
    };
    let mut priced: Vec<Priced> = Vec::new();
    let mut best = f64::INFINITY;
    let mut take = |all: Vec<Priced>, best: &mut f64| {
        for new in all {
            *best = best.min(new.found.bits);
            let old = priced.iter().position(|old| old.print == new.print);
            match old {
                Some(n) if priced[n].found.bits <= new.found.bits => {}
                Some(n) => priced[n] = new,
                None => priced.push(new),
            }
        }
    };
    let most = votes.first().map_or(0.0, |first| first.score);
    for candidate in votes {
        // A candidate with far fewer grams in common is not a rival of one that explains the read in a few words.
        if best < pick + SETTLED && candidate.score < NO_RIVAL * most {
            break;
        }
        let content = fetch(candidate.known)?;
        take(
            held(read, candidate, content.as_ref(), pick, false),
            &mut best,
        );
    }
    let mut with_lines: Vec<&Near> = Vec::new();
    for candidate in like.iter().chain(under).chain(votes) {
        let again = |old: &&Near| old.print == candidate.print && old.bank == candidate.bank;
        if !with_lines.iter().any(again) {
            with_lines.push(candidate);
        }
    }
    for candidate in with_lines.into_iter().take(MOST_WITH_LINES) {
        if best < pick + SETTLED {
            break;
        }
        let content = fetch(candidate.known)?;
        take(
            held(read, candidate, content.as_ref(), pick, true),
            &mut best,
        );
    }
    Ok(judged(priced, alone))
}

/// The cost of listing a read without a candidate. Every diagnosis says it; compared with a single byte, a diagnosis says little else.
fn alone_bits(read: &[u8]) -> Option<f64> {
    let case = Case::new(read.get(..1)?, read).without_lines();
    case.diagnose().ok().map(|found| found.alone_bits)
}

/// Compares a read with a candidate in all ways that their lengths allow.
fn held(
    read: &IndexedRead,
    candidate: &Near,
    content: &[u8],
    pick: f64,
    lines: bool,
) -> Vec<Priced> {
    let turn = TURNS[candidate.turn];
    let Some(turned) = turn.of_bytes(read.once) else {
        return Vec::new();
    };
    let lane = candidate.lane.map(|lane| lane.of_bytes(content));
    let view = lane.as_deref().unwrap_or(content);
    let form = |cut: Cut, place: InRead| turn.form(candidate.lane, cut, place, read.times);
    let mut ways: Vec<Held> = Vec::new();
    if let Some(first) = candidate.bank {
        if let Some(bank) = view.get(first..first + turned.len()) {
            let cut = cut_at(first, turned.len(), view.len());
            ways.push(Held {
                known: bank,
                read: &turned,
                form: form(cut, InRead::Whole),
                besides: 0.0,
            });
        }
    } else {
        let (long, short) = (view.len().max(turned.len()), view.len().min(turned.len()));
        if long <= MUCH_LONGER * short {
            ways.push(Held {
                known: view,
                read: &turned,
                form: form(Cut::Whole, InRead::Whole),
                besides: 0.0,
            });
        }
        if view.len() != turned.len() {
            ways.extend(aligned(view, &turned, &form));
        }
    }
    let priced = ways.into_iter().filter_map(|way| {
        let mut case = Case::new(way.known, way.read);
        case = match lines {
            true => case.singles_only(),
            false => case.without_lines(),
        };
        let found = case.diagnose().ok()?;
        Some(priced(candidate, way, &found, pick))
    });
    priced.collect()
}

/// The stretch of the longer one that fits the shorter one, by the grams that both have.
fn aligned<'a>(
    known: &'a [u8],
    read: &'a [u8],
    form: &dyn Fn(Cut, InRead) -> ReadForm,
) -> Option<Held<'a>> {
    let (long, short) = match known.len() > read.len() {
        true => (known, read),
        false => (read, known),
    };
    let first = distance(long, short)?;
    let stretch = long.get(first..first + short.len())?;
    Some(match known.len() > read.len() {
        true => Held {
            known: stretch,
            read,
            form: form(cut_at(first, read.len(), known.len()), InRead::Whole),
            besides: 0.0,
        },
        false => {
            let at = InRead::At {
                first,
                len: known.len(),
                rest: Rest::Other,
            };
            Held {
                known,
                read: stretch,
                form: form(Cut::Whole, at),
                besides: worth(&read[..first]) + worth(&read[first + known.len()..]),
            }
        }
    })
}

/// How far into the long one the short one begins, according to most grams.
fn distance(long: &[u8], short: &[u8]) -> Option<usize> {
    let density = match short.len() {
        0..=0x3FFF => 0,
        _ => SPARSE,
    };
    // Grams that are there twice say nothing.
    let mut at: HashMap<u64, Option<usize>> = HashMap::new();
    grams(short, density, |place, gram| {
        at.entry(gram)
            .and_modify(|known| *known = None)
            .or_insert(Some(place));
    });
    let mut distances: HashMap<usize, u32> = HashMap::new();
    grams(long, density, |place, gram| {
        let first = at.get(&gram).copied().flatten();
        if let Some(first) = first.and_then(|first| place.checked_sub(first)) {
            *distances.entry(first).or_insert(0) += 1;
        }
    });
    let (first, _) = distances
        .into_iter()
        .max_by_key(|&(first, count)| (count, std::cmp::Reverse(first)))?;
    Some(first)
}

/// The cheapest story of a diagnosis; what it says of the length becomes part of the form.
fn priced(candidate: &Near, way: Held, found: &Diagnosis, pick: f64) -> Priced {
    let mut form = way.form;
    let bits = pick + form.bits() + found.bits() + way.besides;
    let compared = way.known.len().min(way.read.len());
    let mut difference = None;
    if let Some(first) = found.candidates.first() {
        let mut story = first.equals.first().cloned();
        let mut bytes = found.differences.bytes;
        if let Some(told) = story.clone() {
            if let Model::Length(length) = told.first {
                if form.take_up(length, way.known.len(), way.read.len()) {
                    story = told.second.map(Story::from);
                    bytes = first.score.wrong();
                }
            }
        }
        if bytes > 0 || story.is_some() {
            difference = Some(Difference {
                bytes,
                compared,
                story,
                left: first.left,
            });
        }
    }
    Priced {
        found: Match {
            known: candidate.known,
            form,
            beside: None,
            difference,
            sure: false,
            bits,
        },
        also: candidate.also.clone(),
        verdict: found.verdict,
        print: candidate.print,
    }
}

/// Whether the story only lists what differs.
fn is_list(difference: &Difference) -> bool {
    let predicts = |story: &Story| story.predicts();
    !difference.story.as_ref().is_some_and(predicts)
}

/// What is said of a read, by its candidates.
fn judged(mut priced: Vec<Priced>, alone: f64) -> Identity {
    priced.retain(|one| {
        let saved = alone - one.found.bits;
        saved >= LEAST_SAVED && saved >= LEAST_SHARE * alone
    });
    priced.sort_by(|a, b| {
        let bits = a.found.bits.total_cmp(&b.found.bits);
        bits.then(a.found.known.cmp(&b.found.known))
    });
    let Some(best) = priced.first() else {
        return Identity::of(Recognised::Unknown);
    };
    let gap = match priced.get(1) {
        Some(next) => next.found.bits - best.found.bits,
        None => f64::INFINITY,
    };
    let verdict = best.verdict.max(match gap {
        _ if gap >= SURE => Verdict::Same,
        _ if gap >= LIKELY => Verdict::Likely,
        _ => Verdict::Open,
    });
    let difference = best.found.difference.as_ref();
    let listed = difference.is_some_and(is_list);
    let left = difference.is_some_and(|difference| difference.left.is_some());
    let answer = match verdict {
        Verdict::Open => Recognised::Nearest,
        _ if listed => Recognised::Nearest,
        Verdict::Likely => Recognised::IsLikely,
        _ if left => Recognised::IsLikely,
        _ => Recognised::Is,
    };
    let nearest = best.found.bits;
    let mut matches = Vec::new();
    for one in priced {
        if one.found.bits - nearest >= LIKELY {
            break;
        }
        let also = one.also.iter().map(|&known| Match {
            known,
            ..one.found.clone()
        });
        let also: Vec<Match> = also.collect();
        matches.push(one.found);
        matches.extend(also);
    }
    Identity {
        answer,
        matches,
        left_out: 0,
    }
}
