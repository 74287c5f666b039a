//! Looking the reads up.

use std::collections::HashMap;

use super::form::{LEAST, constant};
use super::{ContentForm, Cut, KnownBy, KnownChip};
use crate::faults::{Case, Names, Verdict};
use crate::sums::Algo;

/// Unknown reads that are still tried in pairs.
const MOST_IN_PAIRS: usize = 32;
/// Known forms that a diagnosis is made against, the nearest first.
const MOST_DIAGNOSED: usize = 12;

/// What a read is.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Identity {
    /// A form of a known chip, so many times over.
    Is {
        /// The chip, by its place in the list.
        known: usize,
        /// The form of it.
        form: ContentForm,
        /// How often it stands in the read.
        times: usize,
    },
    /// A form of the read is a known chip whole.
    Holds {
        /// The chip.
        known: usize,
        /// The form of the read.
        form: ContentForm,
    },
    /// Put together with another read, it is a known chip.
    With {
        /// The chip.
        known: usize,
        /// The part that this read is of it.
        cut: Cut,
        /// The other read, by its place in the list.
        other: usize,
    },
    /// Every byte is the same.
    Constant(u8),
    /// Nothing known.
    Unknown(Option<Nearest>),
}

/// The known chip that an unknown read is nearest to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Nearest {
    /// The chip.
    pub known: usize,
    /// The form of it.
    pub form: ContentForm,
    /// Bytes that differ.
    pub differing: u64,
    /// Bytes compared.
    pub compared: u64,
    /// What the diagnosis finds first, when it finds something.
    pub finding: Option<String>,
}

/// The shortest content whose repetition makes the bytes, by halving.
pub(super) fn once(bytes: &[u8]) -> (&[u8], usize) {
    let (mut part, mut times) = (bytes, 1);
    while part.len() >= 2 * LEAST && part.len() % 2 == 0 {
        let (lower, upper) = part.split_at(part.len() / 2);
        if lower != upper {
            break;
        }
        (part, times) = (lower, 2 * times);
    }
    (part, times)
}

/// Everything that is known, by the sums of its forms.
struct KnownSet<'k> {
    known: &'k [KnownChip],
    /// Forms of the chips known by their images, by SHA-256.
    forms: HashMap<String, (usize, ContentForm)>,
    /// Whole chips, by each sum.
    whole: HashMap<(Algo, String), usize>,
    /// The sums that occur.
    algos: Vec<Algo>,
}

pub(super) fn sum_text(algo: Algo, bytes: &[u8]) -> Option<String> {
    let sum = algo.sum(bytes).ok()?;
    Some(sum.to_string().to_ascii_lowercase())
}

impl<'k> KnownSet<'k> {
    fn new(known: &'k [KnownChip]) -> Self {
        let mut library = KnownSet {
            known,
            forms: HashMap::new(),
            whole: HashMap::new(),
            algos: Vec::new(),
        };
        for (n, chip) in known.iter().enumerate() {
            let (algo, value) = match &chip.by {
                KnownBy::Sum(algo, value) => (*algo, Some(value.to_ascii_lowercase())),
                KnownBy::Image(bytes) => {
                    ContentForm::all(bytes, |form, part| {
                        let Some(key) = sum_text(Algo::SHA256, part) else {
                            return;
                        };
                        let entry = library.forms.entry(key).or_insert((n, form));
                        // The plainest form wins, whichever image it is of.
                        if form < entry.1 {
                            *entry = (n, form);
                        }
                    });
                    (Algo::SHA256, sum_text(Algo::SHA256, bytes))
                }
            };
            if let Some(value) = value {
                library.whole.entry((algo, value)).or_insert(n);
            }
            if !library.algos.contains(&algo) {
                library.algos.push(algo);
            }
        }
        library
    }

    /// The chip that is wholly these bytes.
    fn whole(&self, bytes: &[u8]) -> Option<usize> {
        self.algos.iter().find_map(|algo| {
            let key = (*algo, sum_text(*algo, bytes)?);
            self.whole.get(&key).copied()
        })
    }

    fn exact(&self, read: &[u8]) -> Option<Identity> {
        if let Some(known) = self.whole(read) {
            return Some(Identity::Is {
                known,
                form: ContentForm::WHOLE,
                times: 1,
            });
        }
        let (part, times) = once(read);
        for (part, times) in [(read, 1), (part, times)] {
            let key = sum_text(Algo::SHA256, part)?;
            if let Some(&(known, form)) = self.forms.get(&key) {
                return Some(Identity::Is { known, form, times });
            }
            // What is known by its sum only: the read is turned instead.
            let mut found = None;
            ContentForm::all(part, |form, turned| {
                if found.is_none() && form.cut == Cut::Whole {
                    found = self.whole(turned).map(|known| (known, form));
                }
            });
            if let Some((known, form)) = found {
                return Some(Identity::Is { known, form, times });
            }
        }
        let mut found = None;
        ContentForm::all(part, |form, turned| {
            if found.is_none() && form.cut != Cut::Whole {
                found = self
                    .whole(turned)
                    .map(|known| Identity::Holds { known, form });
            }
        });
        found
    }

    /// The known chip that is nearest, of those known by their images.
    fn nearest(&self, read: &[u8]) -> Option<Nearest> {
        let (once, _) = once(read);
        let mut near: Vec<(usize, usize, ContentForm)> = Vec::new();
        for (n, chip) in self.known.iter().enumerate() {
            let KnownBy::Image(bytes) = &chip.by else {
                continue;
            };
            ContentForm::all(bytes, |form, part| {
                if part.len() == read.len() || part.len() == once.len() {
                    let differ = part.iter().zip(read).filter(|(a, b)| a != b).count();
                    let share = differ * 1000 / part.len();
                    near.push((share, n, form));
                }
            });
        }
        near.sort_unstable();
        near.truncate(MOST_DIAGNOSED);
        let mut best: Option<(u8, Nearest)> = None;
        for (share, known, form) in near {
            let KnownBy::Image(bytes) = &self.known[known].by else {
                continue;
            };
            let Some(part) = form.of(bytes) else {
                continue;
            };
            let read = &read[..part.len()];
            let Ok(found) = Case::new(&part, read).singles_only().diagnose() else {
                continue;
            };
            let rank = match found.verdict {
                Verdict::Certain => 0,
                Verdict::Likely => 1,
                // By chance half of the bits are equal, but hardly half of the bytes.
                _ if share < 500 => 3,
                _ => continue,
            };
            let candidate = found.candidates.first().filter(|_| rank < 3);
            let finding = candidate.and_then(|c| c.equals.first());
            if best.as_ref().is_none_or(|(other, _)| rank < *other) {
                let nearest = Nearest {
                    known,
                    form,
                    differing: found.differences.bytes as u64,
                    compared: part.len() as u64,
                    finding: finding.map(|e| e.sentences(&Names::NONE).finding),
                };
                best = Some((rank, nearest));
            }
        }
        best.map(|(_, nearest)| nearest)
    }
}

/// What each read is, in the reads' order.
pub fn recognise(reads: &[&[u8]], known: &[KnownChip]) -> Vec<Identity> {
    let library = KnownSet::new(known);
    let mut answers: Vec<Identity> = reads
        .iter()
        .map(|read| match (constant(read), library.exact(read)) {
            (_, Some(answer)) => answer,
            (Some(value), None) => Identity::Constant(value),
            (None, None) => Identity::Unknown(None),
        })
        .collect();
    let open: Vec<usize> = (0..reads.len())
        .filter(|n| matches!(answers[*n], Identity::Unknown(_)))
        .collect();
    if open.len() <= MOST_IN_PAIRS {
        in_pairs(reads, &open, &library, &mut answers);
    }
    for n in open {
        if matches!(answers[n], Identity::Unknown(_)) {
            answers[n] = Identity::Unknown(library.nearest(reads[n]));
        }
    }
    answers
}

/// Two reads that are a known chip as its lanes or halves.
fn in_pairs(reads: &[&[u8]], open: &[usize], library: &KnownSet, answers: &mut [Identity]) {
    for &a in open {
        for &b in open {
            if a == b || reads[a].len() != reads[b].len() {
                continue;
            }
            let woven: Vec<u8> = reads[a]
                .iter()
                .zip(reads[b])
                .flat_map(|(a, b)| [*a, *b])
                .collect();
            let follows = [reads[a], reads[b]].concat();
            let lane = |n| Cut::Lane { n, of: 2 };
            let bank = |n| Cut::Bank { n, of: 2 };
            for (whole, one, two) in [(woven, lane(0), lane(1)), (follows, bank(0), bank(1))] {
                if let Some(known) = library.whole(&whole) {
                    answers[a] = Identity::With {
                        known,
                        cut: one,
                        other: b,
                    };
                    answers[b] = Identity::With {
                        known,
                        cut: two,
                        other: a,
                    };
                }
            }
        }
    }
}
