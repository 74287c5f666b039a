//! The reads, indexed once; every known content is streamed past and votes for them.

use super::form::{TURNS, constant, once};
use super::grams::{SPARSE, grams};

/// Buckets of the index, as a power of two.
const BUCKETS: u32 = 18;
/// Bits of the filter before it, as a power of two: small enough for a processor's cache.
const FILTER: u32 = 21;
/// A read with fewer grams than this is sampled more densely.
const ENOUGH: usize = 256;
/// A read with fewer grams than this is nearly blank: votes alone do not find it.
const THIN: u32 = 8;

/// A read as it is looked up.
pub(super) struct IndexedRead<'r> {
    /// All of it.
    pub all: &'r [u8],
    /// What it is a repetition of, and how often.
    pub once: &'r [u8],
    pub times: usize,
    /// The fewest bytes that a content must have to explain most of it: without filler at both ends.
    pub core: usize,
    /// Whether it has hardly any grams.
    pub thin: bool,
    /// The byte of a read that is one byte throughout.
    pub constant: Option<u8>,
}

impl<'r> IndexedRead<'r> {
    fn new(all: &'r [u8]) -> Self {
        let (once, times) = once(all);
        Self {
            all,
            once,
            times,
            core: core(once),
            thin: false,
            constant: constant(all),
        }
    }
}

/// Bytes without the runs of one value at both ends.
fn core(bytes: &[u8]) -> usize {
    let (Some(first), Some(last)) = (bytes.first(), bytes.last()) else {
        return 0;
    };
    let front = bytes.iter().take_while(|byte| *byte == first).count();
    let end = bytes.iter().rev().take_while(|byte| *byte == last).count();
    (bytes.len() + 2).saturating_sub(front + end)
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct ReadGram {
    gram: u32,
    /// The read and the turn: which of [`TURNS`] of it.
    slot: u32,
}

/// The grams of all reads in all turns.
pub(super) struct ReadIndex<'r> {
    pub reads: Vec<IndexedRead<'r>>,
    entries: Vec<ReadGram>,
    /// A bit for each beginning of a gram that there is: most grams of most contents are in no read.
    filter: Vec<u64>,
    /// Where the entries of each bucket begin.
    buckets: Vec<u32>,
    /// The content that last voted for each entry.
    voted: Vec<u64>,
    content: u64,
    /// Distinct grams of each slot, and votes for it.
    totals: Vec<u32>,
    votes: Vec<u32>,
    /// The density of the read that is sampled most densely.
    density: u32,
    /// Grams and entries looked at until now.
    pub work: u64,
}

/// A content's vote for one turn of a read.
#[derive(Clone, Copy)]
pub(super) struct ForRead {
    pub read: usize,
    /// Which of [`TURNS`].
    pub turn: usize,
    /// Grams that both have, and those of the read.
    pub votes: u32,
    pub of: u32,
}

/// The word of the filter, and the bit in it.
fn filter_bit(gram: u32) -> (usize, u64) {
    let bit = gram >> (32 - FILTER);
    ((bit >> 6) as usize, 1 << (bit & 63))
}

fn bucket(gram: u32) -> usize {
    (gram >> (32 - BUCKETS)) as usize
}

impl<'r> ReadIndex<'r> {
    pub fn new(reads: &[&'r [u8]]) -> Self {
        let mut index = ReadIndex {
            reads: reads.iter().map(|read| IndexedRead::new(read)).collect(),
            entries: Vec::new(),
            filter: vec![0; 1 << (FILTER - 6)],
            buckets: vec![0; (1 << BUCKETS) + 1],
            voted: Vec::new(),
            content: 0,
            totals: vec![0; reads.len() * TURNS.len()],
            votes: vec![0; reads.len() * TURNS.len()],
            density: SPARSE,
            work: 0,
        };
        for n in 0..reads.len() {
            index.add(n);
        }
        index.entries.sort_unstable();
        index.entries.dedup();
        for entry in &index.entries {
            let (word, bit) = filter_bit(entry.gram);
            index.filter[word] |= bit;
            index.totals[entry.slot as usize] += 1;
            index.buckets[bucket(entry.gram) + 1] += 1;
        }
        for n in 0..1 << BUCKETS {
            index.buckets[n + 1] += index.buckets[n];
        }
        index.voted = vec![0; index.entries.len()];
        for (n, read) in index.reads.iter_mut().enumerate() {
            read.thin = index.totals[n * TURNS.len()] < THIN;
        }
        index
    }

    fn add(&mut self, n: usize) {
        let read = &self.reads[n];
        if read.constant.is_some() {
            return;
        }
        let mut density = SPARSE;
        while density > 0 {
            let mut count = 0;
            grams(read.once, density, |_, _| count += 1);
            if count >= ENOUGH {
                break;
            }
            density -= 1;
        }
        self.density = self.density.min(density);
        for (t, turn) in TURNS.iter().enumerate() {
            let Some(turned) = turn.of_bytes(read.once) else {
                continue;
            };
            let slot = (n * TURNS.len() + t) as u32;
            grams(&turned, density, |_, gram| {
                let gram = gram as u32;
                self.entries.push(ReadGram { gram, slot });
            });
        }
    }

    /// Streams a content past: what it votes for, and how many sampled grams it has itself.
    pub fn vote(&mut self, content: &[u8]) -> (Vec<ForRead>, u32) {
        self.content += 1;
        let mut slots: Vec<u32> = Vec::new();
        let mut own = 0;
        let (entries, buckets, filter) = (&self.entries, &self.buckets, &self.filter);
        let voted = &mut self.voted;
        let (votes, this, work) = (&mut self.votes, self.content, &mut self.work);
        grams(content, self.density, |_, hash| {
            let gram = hash as u32;
            own += u32::from(hash.leading_zeros() >= SPARSE);
            let (word, bit) = filter_bit(gram);
            if filter[word] & bit == 0 {
                return;
            }
            let range = buckets[bucket(gram)] as usize..buckets[bucket(gram) + 1] as usize;
            for n in range {
                *work += 1;
                if entries[n].gram != gram || voted[n] == this {
                    continue;
                }
                voted[n] = this;
                let slot = entries[n].slot;
                let count = &mut votes[slot as usize];
                if *count == 0 {
                    slots.push(slot);
                }
                *count += 1;
            }
        });
        self.work += content.len() as u64;
        let found = slots.into_iter().map(|slot| ForRead {
            read: slot as usize / TURNS.len(),
            turn: slot as usize % TURNS.len(),
            votes: std::mem::take(&mut self.votes[slot as usize]),
            of: self.totals[slot as usize],
        });
        (found.collect(), own)
    }
}
