//! The reads are indexed, and every known content is streamed past them once.

use std::cell::OnceCell;
use std::collections::HashMap;
use std::hash::{BuildHasher, RandomState};

use super::candidates::{BY_SAMPLES, BY_VOTES, Best, Near};
use super::fit::{fit, fit_thin, lanes};
use super::form::{Cut, InRead, Lane, ReadForm, Rest, TURNS, constant, once, worth};
use super::identity::{Identity, Match, Recognised};
use super::listed::Listed;
use super::price::price;
use super::reads::{ForRead, ReadIndex};
use super::samples::{BY_CHANCE, NOT_UNDER, Samples};
use super::{KnownBy, KnownChip};
use crate::sums::Algo;

/// How many known chips are kept for a read that is a form of each of them.
const MOST_MATCHES: usize = 256;
/// Banks of a content that are sampled.
const MOST_SAMPLED: usize = 1024;
/// Fewer grams than this in common are chance.
const LEAST_VOTES: u32 = 2;
/// A read that has more than this many bits apart from a known chip may be another known chip as a whole.
const MUCH_BESIDE: f64 = 400.0;
/// The fewest places that samples must have.
const LEAST_SAMPLES: usize = 24;

/// Which chips of a known set some reads are.
///
/// The reads are few and are indexed; the known contents may be many, and each is shown once with
/// [`look_at`](Self::look_at) and then forgotten. Only the few that come near a read are asked for again.
///
/// ```
/// use romloom::faults::Pattern;
/// use romloom::identify::{Cut, Recognised, Recogniser};
///
/// let images = (1..9).map(|seed| Pattern::Random { seed }.image(4096));
/// let library: Vec<Vec<u8>> = images.collect::<Result<_, _>>()?;
/// let read = &library[6][2048..];
/// let mut recogniser = Recogniser::new(&[read]);
/// for content in &library {
///     recogniser.look_at(content);
/// }
/// let found = recogniser.answers(|n| Ok::<_, std::convert::Infallible>(&library[n]))?;
/// assert_eq!((found[0].answer, found[0].matches[0].known), (Recognised::Is, 6));
/// assert_eq!(found[0].matches[0].form.cut, Cut::Bank { n: 1, of: 2 });
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct Recogniser<'r> {
    reads: Vec<&'r [u8]>,
    /// For each read its place among the different ones.
    which: Vec<usize>,
    index: ReadIndex<'r>,
    found: Vec<Found>,
    listed: Listed,
    known: usize,
    contents: usize,
    prints: RandomState,
    lane: Vec<u8>,
    /// The fewest bytes that a lane must have to explain most of any read.
    least: usize,
}

/// What was found for a read until now.
struct Found {
    /// Known chips that it is a form of, byte for byte, and what that is worth.
    exact: Vec<(usize, ReadForm, f64)>,
    left_out: usize,
    votes: Best,
    like: Best,
    under: Best,
}

impl Found {
    /// How many bits it takes to list what the read has apart from its exact forms; 0 when there is none, or one that
    /// is the whole read.
    fn beside(&self, read: f64) -> f64 {
        let beside = |(_, form, value): &(usize, ReadForm, f64)| match form.place {
            InRead::Lane(_)
            | InRead::At {
                rest: Rest::Other, ..
            } => (read - value).max(0.0),
            _ => 0.0,
        };
        let all = self.exact.iter().map(beside);
        all.reduce(f64::min).unwrap_or(0.0)
    }
}

impl<'r> Recogniser<'r> {
    /// Indexes the reads.
    pub fn new(reads: &[&'r [u8]]) -> Self {
        let mut places: HashMap<&[u8], usize> = HashMap::new();
        let mut different: Vec<&[u8]> = Vec::new();
        let mut which = Vec::new();
        for &read in reads {
            let place = *places.entry(read).or_insert_with(|| {
                different.push(read);
                different.len() - 1
            });
            which.push(place);
        }
        let index = ReadIndex::new(&different);
        let found = different.iter().map(|_| Found {
            exact: Vec::new(),
            left_out: 0,
            votes: Best::new(BY_VOTES),
            like: Best::new(BY_SAMPLES),
            under: Best::new(BY_SAMPLES),
        });
        let telling = index.reads.iter().filter(|read| read.constant.is_none());
        Self {
            reads: reads.to_vec(),
            which,
            found: found.collect(),
            listed: Listed::default(),
            known: 0,
            contents: 0,
            prints: RandomState::new(),
            lane: Vec::new(),
            least: telling.map(|read| read.core).min().unwrap_or(usize::MAX),
            index,
        }
    }

    /// Adds a known chip of which only a sum is known, in hex of any case, and returns its number.
    pub fn list(&mut self, algo: Algo, digits: &str) -> usize {
        self.listed.add(algo, digits, self.known);
        self.known += 1;
        self.known - 1
    }

    /// Shows the reads a known chip, and returns its number. Chips are numbered from 0, in the order in which they are added.
    pub fn look_at(&mut self, content: &[u8]) -> usize {
        let known = self.known;
        self.known += 1;
        self.contents += 1;
        if constant(content).is_some() {
            return known;
        }
        let print = OnceCell::new();
        let prints = self.prints.clone();
        let print = || *print.get_or_init(|| prints.hash_one(content));
        let mut fits: Vec<(usize, ReadForm, f64)> = Vec::new();
        for (n, read) in self.index.reads.iter().enumerate() {
            if read.all == content {
                fits.push((n, ReadForm::WHOLE, worth(read.once)));
            }
        }
        for lane in lanes() {
            let new = |turn: usize, score: f64| Near {
                known,
                also: Vec::new(),
                print: print(),
                lane,
                bank: None,
                turn,
                score,
            };
            let mut scratch = std::mem::take(&mut self.lane);
            let view = match lane {
                None => content,
                Some(lane) if content.len() % lane.of != 0 => {
                    self.lane = scratch;
                    continue;
                }
                // A lane that is much smaller than every read explains none.
                Some(lane) if self.least > lane.len_of(content.len()) * 5 / 4 + 512 => {
                    self.lane = scratch;
                    continue;
                }
                Some(lane) => {
                    scratch.clear();
                    scratch.extend(content.chunks_exact(lane.of).map(|word| word[lane.n]));
                    &scratch
                }
            };
            let (votes, own) = self.index.vote(view);
            for vote in votes {
                self.take_vote(vote, own, view, lane, &new, &mut fits);
            }
            self.thin(view, lane, &mut fits);
            self.sample(view, &new);
            self.lane = scratch;
        }
        self.keep(known, fits);
        known
    }

    /// A content has grams in common with a turn of a read: perhaps all of it.
    fn take_vote(
        &mut self,
        vote: ForRead,
        own: u32,
        view: &[u8],
        lane: Option<Lane>,
        new: &dyn Fn(usize, f64) -> Near,
        fits: &mut Vec<(usize, ReadForm, f64)>,
    ) {
        let turn = TURNS[vote.turn];
        let score = f64::from(vote.votes);
        if let (Some(of_read), Some(of_known)) = (turn.lane, lane) {
            // The same lane of both: a low address line does not arrive.
            let best = &mut self.found[vote.read].votes;
            if of_read == of_known && vote.votes >= LEAST_VOTES && best.has_room_for(score / 2.0) {
                let whole = Near {
                    lane: None,
                    ..new(0, score / 2.0)
                };
                best.offer(&whole);
            }
            return;
        }
        let best = &mut self.found[vote.read].votes;
        if vote.votes >= LEAST_VOTES && best.has_room_for(score) {
            best.offer(&new(vote.turn, score));
        }
        if 2 * vote.votes < vote.of && 4 * vote.votes < own {
            return;
        }
        let read = &self.index.reads[vote.read];
        let Some(turned) = turn.of_bytes(read.once) else {
            return;
        };
        self.index.work += (view.len() + turned.len()) as u64;
        let Some(fit) = fit(view, &turned) else {
            return;
        };
        let value = worth(&turned[fit.first..fit.first + fit.len]);
        let mut form = turn.form(lane, fit.cut, fit.place, read.times);
        if let InRead::Lane(of_read) = form.place {
            if fit.place != InRead::Whole {
                return;
            }
            let other = Lane {
                n: 1 - of_read.n.min(1),
                of: 2,
            };
            if of_read.of == 2 && other.of_bytes(read.once) == turned {
                form.place = InRead::EachTwice;
            }
        }
        if let Cut::Bank { of, .. } = form.cut {
            // The known content repeats, too.
            if lane.is_none() && form.times % of == 0 && once(view).0.len() == turned.len() {
                form.cut = Cut::Whole;
                form.times /= of;
            }
        }
        fits.push((vote.read, form, value));
    }

    /// Reads that are nearly blank are compared with the content itself.
    fn thin(&mut self, view: &[u8], lane: Option<Lane>, fits: &mut Vec<(usize, ReadForm, f64)>) {
        let thin = self.index.reads.iter().enumerate();
        for (n, read) in thin.filter(|(_, read)| read.thin && read.constant.is_none()) {
            self.index.work += (view.len() / read.once.len().max(1)) as u64 + 1;
            let Some((turn, fit)) = fit_thin(view, read.once) else {
                continue;
            };
            if TURNS[turn].lane.is_some() && (lane.is_some() || fit.place != InRead::Whole) {
                continue;
            }
            let turned = TURNS[turn].of_bytes(read.once).unwrap_or_default();
            let value = worth(
                turned
                    .get(fit.first..fit.first + fit.len)
                    .unwrap_or_default(),
            );
            let form = TURNS[turn].form(lane, fit.cut, fit.place, read.times);
            fits.push((n, form, value));
        }
    }

    /// Reads of the content's length, or of that of its banks, may have come through a bad line.
    fn sample(&mut self, view: &[u8], new: &dyn Fn(usize, f64) -> Near) {
        let mut sampled: HashMap<usize, Vec<Samples>> = HashMap::new();
        for (n, read) in self.index.reads.iter().enumerate() {
            let size = read.once.len();
            let found = &mut self.found[n];
            let banks = view.len() / size.max(1);
            if read.constant.is_some()
                || !found.exact.is_empty()
                || banks == 0
                || banks > MOST_SAMPLED
                || view.len() % size != 0
            {
                continue;
            }
            let samples = sampled
                .entry(size)
                .or_insert_with(|| view.chunks(size).map(Samples::of).collect());
            for (n, (samples, bank)) in samples.iter().zip(view.chunks(size)).enumerate() {
                self.index.work += samples.len() as u64;
                if samples.len() < LEAST_SAMPLES {
                    continue;
                }
                let like = samples.likeness(bank, read.once);
                let candidate = |score: f64| Near {
                    bank: Some(n * size),
                    ..new(0, score)
                };
                if like.off < BY_CHANCE && found.like.has_room_for(-like.off) {
                    found.like.offer(&candidate(-like.off));
                }
                if like.not_under < NOT_UNDER && found.under.has_room_for(-like.not_under) {
                    found.under.offer(&candidate(-like.not_under));
                }
            }
        }
    }

    /// Keeps the plainest way in which each read is a form of the content.
    fn keep(&mut self, known: usize, mut fits: Vec<(usize, ReadForm, f64)>) {
        fits.sort_by(|a, b| (a.0.cmp(&b.0)).then(a.1.bits().total_cmp(&b.1.bits())));
        fits.dedup_by_key(|fit| fit.0);
        for (read, form, value) in fits {
            let found = &mut self.found[read];
            if found.exact.len() < MOST_MATCHES {
                found.exact.push((known, form, value));
                continue;
            }
            found.left_out += 1;
            // A plainer form takes the place of the least plain one.
            let bits = |n: usize| found.exact[n].1.bits();
            let worst = (0..MOST_MATCHES).max_by(|a, b| bits(*a).total_cmp(&bits(*b)));
            if let Some(worst) = worst.filter(|&worst| form.bits() < bits(worst)) {
                found.exact[worst] = (known, form, value);
            }
        }
    }

    /// What each read is, in their order. `fetch` gives the content of a known chip once more, by its number; it is asked for
    /// a few for each read that is not an exact form of any.
    ///
    /// # Errors
    /// What `fetch` says.
    pub fn answers<C: AsRef<[u8]>, E>(
        mut self,
        mut fetch: impl FnMut(usize) -> Result<C, E>,
    ) -> Result<Vec<Identity>, E> {
        self.listed.sort();
        let pick = (self.contents.max(1) as f64).log2();
        let mut different = Vec::new();
        for (read, found) in self.index.reads.iter().zip(&self.found) {
            if let Some(byte) = read.constant {
                different.push(Identity::of(Recognised::Constant(byte)));
                continue;
            }
            let exact = found.exact.iter().cloned();
            let exact = exact.map(|(known, form, value)| Match::exact(known, form, value, pick));
            let mut matches: Vec<Match> = exact.collect();
            matches.extend(self.listed.matches(read.all));
            let beside = found.beside(worth(read.once));
            let priced = match matches.is_empty() || beside > MUCH_BESIDE {
                true => {
                    let lists = [&found.votes, &found.like, &found.under];
                    Some(price(
                        read,
                        lists.map(|best| &best.list[..]),
                        pick,
                        &mut fetch,
                    )?)
                }
                false => None,
            };
            different.push(match priced {
                // A chip that is, except for a few bytes, inside a larger one that is known too.
                Some(mut priced) if !matches.is_empty() => {
                    let cheaper = priced
                        .matches
                        .first()
                        .is_some_and(|first| 2.0 * first.bits < beside);
                    if cheaper {
                        let named =
                            |one: &Match| priced.matches.iter().any(|old| old.known == one.known);
                        matches.retain(|one| !named(one));
                        priced.matches.extend(matches);
                        priced
                    } else {
                        settled(matches, found.left_out)
                    }
                }
                Some(priced) => priced,
                None => settled(matches, found.left_out),
            });
        }
        let place = |n: &usize| different[*n].clone();
        let mut answers: Vec<Identity> = self.which.iter().map(place).collect();
        let open = |n: &usize| {
            matches!(
                answers[*n].answer,
                Recognised::Unknown | Recognised::Nearest
            )
        };
        let open: Vec<usize> = (0..answers.len()).filter(open).collect();
        let mut pairs: HashMap<usize, Vec<Match>> = HashMap::new();
        for (read, part) in self.listed.in_pairs(&self.reads, &open) {
            pairs.entry(read).or_default().push(part);
        }
        for (read, parts) in pairs {
            answers[read] = settled(parts, 0);
        }
        Ok(answers)
    }

    /// Steps of the search until now: bytes streamed, entries of the index and sampled places looked at.
    #[cfg(test)]
    pub(super) fn work(&self) -> u64 {
        self.index.work
    }
}

/// Exact forms of known chips, the plainest first.
fn settled(mut matches: Vec<Match>, left_out: usize) -> Identity {
    matches.sort_by(|a, b| {
        (b.sure.cmp(&a.sure))
            .then(a.bits.total_cmp(&b.bits))
            .then(a.known.cmp(&b.known))
    });
    let sure = matches.first().is_some_and(|first| first.sure);
    // What may be chance is not reported together with what is sure.
    matches.retain(|found| found.sure == sure);
    Identity {
        answer: if sure {
            Recognised::Is
        } else {
            Recognised::IsLikely
        },
        matches,
        left_out,
    }
}

/// What each read is, in the reads' order; all known contents are in memory.
pub fn recognise(reads: &[&[u8]], known: &[KnownChip]) -> Vec<Identity> {
    let mut recogniser = Recogniser::new(reads);
    for chip in known {
        match &chip.by {
            KnownBy::Image(bytes) => recogniser.look_at(bytes),
            KnownBy::Sum(algo, digits) => recogniser.list(*algo, digits),
        };
    }
    let answers = recogniser.answers(|n| {
        let bytes = known.get(n).map(|chip| match &chip.by {
            KnownBy::Image(bytes) => &bytes[..],
            KnownBy::Sum(..) => &[],
        });
        Ok::<&[u8], std::convert::Infallible>(bytes.unwrap_or_default())
    });
    match answers {
        Ok(answers) => answers,
        Err(never) => match never {},
    }
}
