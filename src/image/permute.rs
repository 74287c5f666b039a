//! Bytes in another order and with other bits, as scrambled wires make them.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use super::span::{join_touching, merge_sorted};
use super::{AddressRange, Image, OriginRun, Origins, OutOfSpace, Source, Span};

/// Runs of origins kept after a permutation; beyond this their sources are only listed.
const MOST_RUNS: usize = 1 << 16;

/// Addresses whose places are worked out together.
const LOW: usize = 256;

impl Image {
    /// Moves each byte to `place(address)` inside its block of `2^bits` addresses, and replaces it by `value[byte]`.
    ///
    /// `place` is a permutation of `0..2^bits` such as wires make: each bit of an address goes to one place, perhaps inverted,
    /// whatever the others are, so `place(a ^ b) == place(a) ^ place(b) ^ place(0)`. Holes move too; line numbers are left out.
    /// Works on one block at a time, in memory of its size and in place, unless the image shares its memory. `bits` is at most 33.
    ///
    /// # Errors
    /// [`OutOfSpace`] when a block would pass the last address; the image is unchanged.
    pub fn permute(
        &mut self,
        bits: u32,
        place: impl Fn(u64) -> u64,
        value: &[u8; 256],
    ) -> Result<(), OutOfSpace> {
        let size = 1u64 << bits.min(33);
        let block_of = |address: u64| AddressRange::from_len(address / size * size, size);
        if let Some(extent) = self.extent() {
            block_of(extent.last()).ok_or(OutOfSpace)?;
        }
        let mut runs = Vec::new();
        // Blocks with holes, and what becomes of them.
        let (mut broken, mut spans) = (Vec::new(), Vec::new());
        let mut next = 0;
        while let Some(span) = self.spans.get(self.first_span_reaching(next)) {
            let range = block_of(span.start.max(next)).ok_or(OutOfSpace)?;
            next = range.last() + 1;
            let block = Block::new(self, range, &place, value);
            block.collect_runs(range, &mut runs);
            if block.present.is_empty() {
                let at = self.first_span_reaching(range.first());
                let span = &mut self.spans[at];
                let from = (range.first() - span.start) as usize;
                span.bytes[from..from + block.bytes.len()].copy_from_slice(&block.bytes);
            } else {
                broken.push(range);
                block.collect_spans(range, &mut spans);
            }
        }
        if !broken.is_empty() {
            self.remove_spans_united(&broken);
            let whole = std::mem::take(&mut self.spans);
            self.spans = join_touching(merge_sorted(whole, spans, |span| span.start));
        }
        self.origins = Origins::from_sorted(runs);
        Ok(())
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

    /// Where bytes follow each other without a hole.
    fn stretches(&self) -> Vec<Range<usize>> {
        if self.present.is_empty() {
            return std::iter::once(0..self.bytes.len()).collect();
        }
        let mut at = 0;
        let stretches = self.present.chunk_by(|a, b| a == b).filter_map(|alike| {
            let from = at;
            at += alike.len();
            alike[0].then_some(from..at)
        });
        stretches.collect()
    }

    /// Adds the block's spans after those there are.
    fn collect_spans(&self, range: AddressRange, spans: &mut Vec<Span>) {
        let stretches = self.stretches().into_iter();
        spans.extend(stretches.filter_map(|stretch| {
            let start = range.first() + stretch.start as u64;
            Span::new(start, self.bytes[stretch].to_vec())
        }));
    }

    /// Adds the block's runs after those there are.
    fn collect_runs(&self, range: AddressRange, runs: &mut Vec<OriginRun>) {
        let base = range.first();
        let stretches = self.stretches();
        let had = runs.len();
        for stretch in &stretches {
            let mut from = stretch.start;
            let owners = self.owner.get(stretch.clone()).unwrap_or_default();
            for alike in owners.chunk_by(|a, b| a == b) {
                runs.extend(self.run(base, from, from + alike.len(), alike[0]));
                from += alike.len();
            }
            if owners.is_empty() {
                runs.extend(self.run(base, from, stretch.end, 0));
            }
        }
        if runs.len() - had > MOST_RUNS {
            let all = Arc::new(Source::Woven(self.sources.clone()));
            runs.truncate(had);
            let ranges = stretches.iter();
            let ranges = ranges
                .filter_map(|s| AddressRange::from_len(base + s.start as u64, s.len() as u64));
            runs.extend(ranges.map(|range| OriginRun {
                range,
                source: all.clone(),
                lines: None,
            }));
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
