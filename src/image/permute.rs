//! Bytes in another order and with other bits, as scrambled wires make them.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::span::join_touching;
use super::{AddressRange, Image, OriginRun, Origins, OutOfSpace, Source, Span};

/// Runs of origins kept after a permutation; beyond this their sources are only listed.
const MOST_RUNS: usize = 1 << 16;

/// Addresses whose places are worked out together.
const LOW: usize = 256;

impl Image {
    /// Moves each byte to `place(address)` inside its block of `2^bits` addresses, and replaces it by `value[byte]`.
    ///
    /// `place` is a permutation of `0..2^bits` such as wires make: each bit of an address goes to one place, perhaps inverted,
    /// whatever the others are, so `place(a ^ b) == place(a) ^ place(b) ^ place(0)`. Holes move too; line numbers, entry
    /// point and header are left out. Works on one block at a time, in memory of its size. `bits` is at most 33.
    ///
    /// # Errors
    /// [`OutOfSpace`] when a block would pass the last address.
    pub fn permuted(
        &self,
        bits: u32,
        place: impl Fn(u64) -> u64,
        value: &[u8; 256],
    ) -> Result<Image, OutOfSpace> {
        let size = 1u64 << bits.min(33);
        let mut spans = Vec::new();
        let mut runs = Vec::new();
        let mut next_block = 0;
        for span in &self.spans {
            let first = (span.start() / size).max(next_block);
            for block in first..=span.range().last() / size {
                next_block = block + 1;
                let range = AddressRange::from_len(block * size, size).ok_or(OutOfSpace)?;
                let part = Block::new(self, range, &place, value);
                part.collect(range, &mut spans, &mut runs);
            }
        }
        Ok(Self::from_parts(
            join_touching(spans),
            Origins::from_sorted(runs),
        ))
    }
}

/// One block after the permutation.
struct Block {
    bytes: Vec<u8>,
    /// Which addresses have a byte; empty when all do.
    present: Vec<bool>,
    /// Index into `sources` for each byte; empty when there is one source.
    owner: Vec<u16>,
    sources: Vec<Arc<Source>>,
}

impl Block {
    fn new(
        image: &Image,
        range: AddressRange,
        place: impl Fn(u64) -> u64,
        value: &[u8; 256],
    ) -> Self {
        let size = range.len() as usize;
        let mut bytes = vec![0; size];
        let full = image.contiguous(range).is_ok();
        // What the low lines add to the place that the high ones give.
        let low_places: [u64; LOW] = std::array::from_fn(|low| match low < size {
            true => place(low as u64) ^ place(0),
            false => 0,
        });
        let mut present = if full { Vec::new() } else { vec![false; size] };
        for (start, slice) in image.within(range) {
            let mut from = start - range.first();
            let mut rest = slice;
            while !rest.is_empty() {
                let low = (from % LOW as u64) as usize;
                let (group, behind) = rest.split_at(rest.len().min(LOW - low));
                let high = place(from - low as u64);
                for (byte, low) in group.iter().zip(&low_places[low..]) {
                    let to = (high ^ low) as usize;
                    bytes[to] = value[usize::from(*byte)];
                    if !full {
                        present[to] = true;
                    }
                }
                from += group.len() as u64;
                rest = behind;
            }
        }
        let mut index: BTreeMap<*const Source, u16> = BTreeMap::new();
        let mut sources: Vec<Arc<Source>> = Vec::new();
        let mut owner = Vec::new();
        for run in image.origins().within(range) {
            let known = index.len() as u16;
            let key = Arc::as_ptr(&run.source);
            if !index.contains_key(&key) && known < u16::MAX {
                index.insert(key, known);
                sources.push(run.source.clone());
            }
        }
        if sources.len() > 1 {
            owner = vec![0; size];
            for run in image.origins().within(range) {
                let n = index.get(&Arc::as_ptr(&run.source)).copied().unwrap_or(0);
                for address in run.range.first()..=run.range.last() {
                    owner[place(address - range.first()) as usize] = n;
                }
            }
        }
        Self {
            bytes,
            present,
            owner,
            sources,
        }
    }

    /// Adds the block's spans and runs after those there are.
    fn collect(self, range: AddressRange, spans: &mut Vec<Span>, runs: &mut Vec<OriginRun>) {
        let base = range.first();
        let here = |i: usize| self.present.is_empty() || self.present[i];
        let owner = |i: usize| self.owner.get(i).copied().unwrap_or(0);
        let mut own: Vec<OriginRun> = Vec::new();
        let mut stretches = Vec::new();
        let mut at = 0;
        if self.present.is_empty() && self.owner.is_empty() {
            at = self.bytes.len();
            own.extend(self.run(base, 0, at, 0));
            stretches.push(0..at);
        }
        while at < self.bytes.len() {
            if !here(at) {
                at += 1;
                continue;
            }
            let from = at;
            let mut run_from = at;
            while at < self.bytes.len() && here(at) {
                if owner(at) != owner(run_from) {
                    own.extend(self.run(base, run_from, at, owner(run_from)));
                    run_from = at;
                }
                at += 1;
            }
            own.extend(self.run(base, run_from, at, owner(run_from)));
            stretches.push(from..at);
        }
        if own.len() > MOST_RUNS {
            let all = Arc::new(Source::Woven(self.sources.clone()));
            own = stretches
                .iter()
                .filter_map(|s| AddressRange::from_len(base + s.start as u64, s.len() as u64))
                .map(|range| OriginRun {
                    range,
                    source: all.clone(),
                    lines: None,
                })
                .collect();
        }
        runs.extend(own);
        match stretches[..] {
            [ref all] if all.len() == self.bytes.len() => spans.extend(Span::new(base, self.bytes)),
            _ => spans.extend(
                stretches
                    .into_iter()
                    .filter_map(|s| Span::new(base + s.start as u64, self.bytes[s].to_vec())),
            ),
        }
    }

    fn run(&self, base: u64, from: usize, to: usize, owner: u16) -> Option<OriginRun> {
        Some(OriginRun {
            range: AddressRange::from_len(base + from as u64, (to - from) as u64)?,
            source: self.sources.get(usize::from(owner))?.clone(),
            lines: None,
        })
    }
}
