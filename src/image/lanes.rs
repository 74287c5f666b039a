//! One image split into the byte lanes of a bus, and lanes joined again. What has been moved gives its memory back at once, so
//! that a large image that nobody else has is never there twice.

use std::sync::Arc;

use super::arrays::arrays;
use super::bytes::{LARGE, PART, SpanBytes};
use super::span::{join_touching, push_joining};
use super::{AddressRange, Image, Lines, OriginRun, Origins, OutOfSpace, Source, Span};

impl Image {
    /// Splits into `n` images by address: image `i` gets the addresses that are `i` mod `n`, divided by `n`.
    ///
    /// Entry point and header are left out. `n` is 1 to 2^32 - 1; 0 gives no image.
    pub fn deal(self, n: u32) -> Vec<Image> {
        if n == 0 {
            return Vec::new();
        }
        let step = u64::from(n);
        let mut spans: Vec<Vec<Span>> = (0..n).map(|_| Vec::new()).collect();
        for span in self.spans {
            for (i, bytes) in dealt(span.bytes, n as usize).into_iter().enumerate() {
                let address = span.start + i as u64;
                let start = address / step;
                let bytes = bytes.into();
                push_joining(&mut spans[(address % step) as usize], Span { start, bytes });
            }
        }
        let runs_of = |lane: u64| {
            self.origins.runs().iter().filter_map(move |run| {
                let ahead = (lane + step - run.range.first() % step) % step;
                let first = run.range.first().checked_add(ahead)?;
                let cut = run.cut(AddressRange::new(first, run.range.last())?)?;
                let last = run.range.last() - (run.range.last() - first) % step;
                Some(OriginRun {
                    range: AddressRange::new(first / step, last / step)?,
                    source: cut.source,
                    lines: cut.lines.map(|l| Lines {
                        scale: l.scale.saturating_mul(n),
                        ..l
                    }),
                })
            })
        };
        let lanes = (0..).zip(spans);
        lanes
            .map(|(lane, spans)| Self::from_parts(spans, Origins::from_sorted(runs_of(lane))))
            .collect()
    }

    /// The reverse of [`deal`](Self::deal): byte `a` of image `i` goes to address `a * n + i`.
    ///
    /// # Errors
    /// [`OutOfSpace`] when an address would pass the last 64-bit address.
    pub fn weave(mut lanes: Vec<Image>) -> Result<Image, OutOfSpace> {
        let n = lanes.len() as u64;
        let stretches = stretches(&lanes)?;
        let origins = Origins::from_sorted(woven_runs(&lanes, &stretches)?);
        // From the back, so that the lanes can give their bytes back.
        let mut spans: Vec<Span> = Vec::new();
        let mut left = &stretches[..];
        while let Some((last, before)) = left.split_last() {
            if !last.full {
                // One lane has a hole here: only bytes of lanes beside each other touch.
                for address in (last.range.first()..=last.range.last()).rev() {
                    let first = spans.len();
                    for (lane, i) in lanes.iter().zip(0..) {
                        let Some(byte) = lane.byte(address) else {
                            continue;
                        };
                        let start = address * n + i;
                        match spans[first..].last_mut() {
                            Some(span) if span.last() + 1 == start => {
                                span.bytes.extend_from_slice(&[byte]);
                            }
                            _ => spans.push(Span {
                                start,
                                bytes: SpanBytes::from_slice(&[byte]),
                            }),
                        }
                    }
                    spans[first..].reverse();
                }
                left = before;
                continue;
            }
            let mut range = last.range;
            left = before;
            while let Some((more, before)) = left.split_last() {
                if !more.full || more.range.last() + 1 != range.first() {
                    break;
                }
                range = range.hull(more.range);
                left = before;
            }
            spans.push(Span {
                start: range.first() * n,
                bytes: woven(&mut lanes, range).into(),
            });
        }
        spans.reverse();
        Ok(Self::from_parts(join_touching(spans), origins))
    }
}

/// Addresses of lanes between which none of them begins or ends a span or an origin.
struct LaneStretch {
    range: AddressRange,
    /// Whether every lane has bytes there; one of them has.
    full: bool,
}

/// Where the lanes have bytes, lowest address first.
fn stretches(lanes: &[Image]) -> Result<Vec<LaneStretch>, OutOfSpace> {
    let n = lanes.len() as u64;
    let mut edges: Vec<u64> = Vec::new();
    for lane in lanes {
        let spans = lane.spans.iter().map(Span::range);
        for range in spans.chain(lane.origins.runs().iter().map(|r| r.range)) {
            let last = range.last().checked_mul(n);
            last.and_then(|last| last.checked_add(n - 1))
                .filter(|last| *last <= AddressRange::TOP)
                .ok_or(OutOfSpace)?;
            edges.extend([range.first(), range.last() + 1]);
        }
    }
    edges.sort_unstable();
    edges.dedup();
    let between = edges.windows(2);
    let between = between.filter_map(|pair| AddressRange::new(pair[0], pair[1] - 1));
    let stretches = between.filter_map(|range| {
        let there = |lane: &&Image| lane.byte(range.first()).is_some();
        let count = lanes.iter().filter(there).count();
        (count > 0).then_some(LaneStretch {
            range,
            full: count == lanes.len(),
        })
    });
    Ok(stretches.collect())
}

/// Where the woven bytes come from.
fn woven_runs(lanes: &[Image], stretches: &[LaneStretch]) -> Result<Vec<OriginRun>, OutOfSpace> {
    let n = lanes.len() as u64;
    let mut runs = Vec::with_capacity(stretches.len());
    for LaneStretch { range, full } in stretches {
        if !full {
            let addresses = range.first()..=range.last();
            runs.extend(addresses.flat_map(|address| {
                let lanes = (0..n).zip(lanes);
                lanes.filter_map(move |(i, lane)| {
                    let start = address * n + i;
                    Some(OriginRun {
                        source: lane.origins.run_at(address)?.source.clone(),
                        range: AddressRange::new(start, start)?,
                        lines: None,
                    })
                })
            }));
            continue;
        }
        let sources: Vec<Arc<Source>> = lanes
            .iter()
            .filter_map(|lane| lane.origins.run_at(range.first()))
            .map(|run| run.source.clone())
            .collect();
        let same = sources.windows(2).all(|w| w[0] == w[1]);
        let all = AddressRange::from_len(range.first() * n, range.len() * n);
        runs.push(OriginRun {
            range: all.ok_or(OutOfSpace)?,
            source: match (same, sources.first()) {
                (true, Some(first)) => first.clone(),
                _ => Arc::new(Source::Woven(sources)),
            },
            lines: None,
        });
    }
    Ok(runs)
}

/// The bytes of a range that all lanes have, one of each in turn. What is after it is no longer needed: the lanes give back
/// from the end what has been woven.
fn woven(lanes: &mut [Image], range: AddressRange) -> Vec<u8> {
    let n = lanes.len();
    let mut left = range.len() as usize;
    let mut all = vec![0; left * n];
    let part = (PART / n).max(1);
    while left > 0 {
        let from = left.saturating_sub(part);
        let first = range.first() + from as u64;
        let slices: Vec<&[u8]> = (lanes.iter())
            .filter_map(|lane| {
                let span = &lane.spans[lane.first_span_reaching(first)];
                let at = (first - span.start) as usize;
                span.bytes.get(at..at + (left - from))
            })
            .collect();
        weave_slices(&slices, &mut all[from * n..left * n]);
        for lane in lanes.iter_mut() {
            lane.shorten(first);
        }
        left = from;
    }
    all
}

/// Lanes may need so much memory beside the bytes that they come from. Where they need more, those bytes give theirs back meanwhile.
const BESIDE: usize = 8 << 20;
/// A block stays in the processor's cache until every lane has its bytes of it.
const BLOCK: usize = 128 * 1024;

/// The bytes by their places: every `n`th from the first on, every `n`th from the second on, and so on while there are
/// any.
fn dealt(mut bytes: SpanBytes, n: usize) -> Vec<Vec<u8>> {
    if bytes.is_shared() || bytes.len() <= LARGE {
        return dealt_part(&bytes, n);
    }
    if bytes.len() - bytes.len() / n <= BESIDE {
        return dealt_in_place(bytes.into_vec(), n);
    }
    // Memory that comes as zeros is not used before something is written there.
    let of_lane = |lane: usize| vec![0; (bytes.len() - lane).div_ceil(n)];
    let mut dealt: Vec<Vec<u8>> = (0..n.min(bytes.len())).map(of_lane).collect();
    let mut left = bytes.len();
    while left > 0 {
        let from = left.saturating_sub(PART) / n * n;
        for (lane, part) in dealt.iter_mut().zip(dealt_part(&bytes[from..], n)) {
            lane[from / n..][..part.len()].copy_from_slice(&part);
        }
        bytes.shorten(from);
        left = from;
    }
    dealt
}

/// The same where there is room beside them. The first lane stays in their memory: new memory, which the system has to clear, takes
/// longer than the dealing.
fn dealt_in_place(mut all: Vec<u8>, n: usize) -> Vec<Vec<u8>> {
    let room = |lane: usize| Vec::with_capacity((all.len() - lane).div_ceil(n));
    let mut others: Vec<Vec<u8>> = (1..n.min(all.len())).map(room).collect();
    let block = (BLOCK / n).max(1) * n;
    let mut first = Vec::with_capacity(block / n);
    let mut end = 0;
    for from in (0..all.len()).step_by(block) {
        let part = &all[from..all.len().min(from + block)];
        for (lane, dealt) in (1..).zip(&mut others) {
            take_every(n, part.get(lane..).unwrap_or_default(), dealt);
        }
        first.clear();
        take_every(n, part, &mut first);
        all[end..end + first.len()].copy_from_slice(&first);
        end += first.len();
    }
    all.truncate(end);
    all.shrink_to_fit();
    others.insert(0, all);
    others
}

/// The same for bytes that stay.
fn dealt_part(bytes: &[u8], n: usize) -> Vec<Vec<u8>> {
    let room = |lane: usize| Vec::with_capacity((bytes.len() - lane).div_ceil(n));
    let mut dealt: Vec<Vec<u8>> = (0..n.min(bytes.len())).map(room).collect();
    for block in bytes.chunks((BLOCK / n).max(1) * n) {
        for (lane, dealt) in dealt.iter_mut().enumerate() {
            take_every(n, block.get(lane..).unwrap_or_default(), dealt);
        }
    }
    dealt
}

/// Adds every `n`th byte, from the first on. The usual numbers have a case of their own, with numbers cut to their lowest
/// byte: the compiler makes vector code of that.
fn take_every(n: usize, bytes: &[u8], out: &mut Vec<u8>) {
    fn groups<const N: usize>(bytes: &[u8], out: &mut Vec<u8>, first: impl Fn([u8; N]) -> u8) {
        out.extend(arrays(bytes).map(first));
        out.extend(bytes.chunks_exact(N).remainder().first());
    }
    match n {
        2 => groups(bytes, out, |pair| u16::from_le_bytes(pair) as u8),
        4 => groups(bytes, out, |four| u32::from_le_bytes(four) as u8),
        8 => groups(bytes, out, |eight| u64::from_le_bytes(eight) as u8),
        _ => out.extend(bytes.iter().copied().step_by(n)),
    }
}

/// One byte of each slice in turn; all slices are equally long, and `out` is as long as all together.
fn weave_slices(lanes: &[&[u8]], out: &mut [u8]) {
    fn weave<const N: usize>(lanes: [&[u8]; N], out: &mut [u8]) {
        let len = lanes[0].len();
        let lanes = lanes.map(|lane| &lane[..len]);
        for (i, group) in out.chunks_exact_mut(N).enumerate() {
            group.copy_from_slice(&lanes.map(|lane| lane[i]));
        }
    }
    match *lanes {
        [a, b] => weave([a, b], out),
        [a, b, c, d] => weave([a, b, c, d], out),
        _ => {
            for (i, lane) in lanes.iter().enumerate() {
                for (to, from) in out[i..].iter_mut().step_by(lanes.len()).zip(*lane) {
                    *to = *from;
                }
            }
        }
    }
}
