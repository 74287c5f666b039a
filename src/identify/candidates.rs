//! The few known contents with which it is worth comparing each read.

use super::form::Lane;

/// How many contents are kept, of those with the most grams in common.
pub(super) const BY_VOTES: usize = 4;
/// How many contents are kept of those that are like the read at sampled places, in either way.
pub(super) const BY_SAMPLES: usize = 2;
/// How many names of one content are kept.
const MOST_NAMES: usize = 64;

/// A known content, and which part of it may be which part of the read.
#[derive(Clone, Debug)]
pub(super) struct Near {
    pub known: usize,
    /// Others of the same content.
    pub also: Vec<usize>,
    /// A fingerprint of the content.
    pub print: u64,
    pub lane: Option<Lane>,
    /// The first byte of the bank in question, where it is known.
    pub bank: Option<usize>,
    /// How the read is turned, of [`TURNS`](super::form::TURNS).
    pub turn: usize,
    /// More is better.
    pub score: f64,
}

/// The best candidates, the best first.
#[derive(Debug)]
pub(super) struct Best {
    most: usize,
    pub list: Vec<Near>,
}

impl Best {
    pub fn new(most: usize) -> Self {
        Best {
            most,
            list: Vec::new(),
        }
    }

    /// Whether a candidate of this score may be among the best.
    pub fn has_room_for(&self, score: f64) -> bool {
        let last = self.list.get(self.most - 1);
        last.is_none_or(|last| score >= last.score)
    }

    /// Adds a candidate if it is good enough. Each content is there once, in its best form.
    pub fn offer(&mut self, new: &Near) {
        let mut new = new.clone();
        if let Some(n) = self.list.iter().position(|old| old.print == new.print) {
            let old = &mut self.list[n];
            if old.known != new.known
                && old.also.len() < MOST_NAMES
                && !old.also.contains(&new.known)
            {
                old.also.push(new.known);
            }
            if new.score <= old.score {
                return;
            }
            // The names of the first are kept.
            new.known = old.known;
            new.also = std::mem::take(&mut old.also);
            self.list.remove(n);
        }
        let at = self.list.partition_point(|old| old.score >= new.score);
        if at < self.most {
            self.list.insert(at, new);
            self.list.truncate(self.most);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn candidate(known: usize, print: u64, score: f64) -> Near {
        Near {
            known,
            also: Vec::new(),
            print,
            lane: None,
            bank: None,
            turn: 0,
            score,
        }
    }

    #[test]
    fn there_is_room_until_the_last_place_is_taken_by_a_better_one() {
        let mut best = Best::new(2);
        for (print, score) in [(7, 5.0), (8, 3.0)] {
            assert!(best.has_room_for(0.0));
            best.offer(&candidate(0, print, score));
        }
        assert!(best.has_room_for(9.0) && best.has_room_for(3.0));
        assert!(!best.has_room_for(2.9));
    }

    #[test]
    fn a_name_is_kept_once_and_so_many_at_most() {
        let mut best = Best::new(1);
        best.offer(&candidate(0, 7, 1.0));
        for known in [0, 1, 1, 0] {
            best.offer(&candidate(known, 7, 1.0));
        }
        assert_eq!(best.list[0].also, [1]);
        for known in 2..200 {
            best.offer(&candidate(known, 7, 1.0));
        }
        assert_eq!(best.list[0].also.len(), MOST_NAMES);
    }

    #[test]
    fn the_best_are_kept_with_all_their_names() {
        let mut best = Best::new(2);
        for (known, print, score) in [
            (0, 7, 1.0),
            (1, 8, 3.0),
            (2, 7, 2.0),
            (3, 9, 1.5),
            (4, 8, 3.0),
        ] {
            best.offer(&candidate(known, print, score));
        }
        let kept: Vec<_> = best
            .list
            .iter()
            .map(|c| (c.known, c.also.clone(), c.score))
            .collect();
        assert_eq!(kept, [(1, vec![4], 3.0), (0, vec![2], 2.0)]);
    }
}
