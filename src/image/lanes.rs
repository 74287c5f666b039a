//! One image split into the byte lanes of a bus, and lanes joined again.

use std::sync::Arc;

use super::arrays::arrays;
use super::span::{SpanBytes, push_joining};
use super::{AddressRange, Image, Lines, OriginRun, Origins, OutOfSpace, Source, Span};

impl Image {
    /// Splits into `n` images by address: image `i` gets the addresses that are `i` mod `n`, divided by `n`.
    ///
    /// Entry point and header are left out. `n` is 1 to 2^32 - 1; 0 gives no image.
    pub fn deal(&self, n: u32) -> Vec<Image> {
        if n == 0 {
            return Vec::new();
        }
        let step = u64::from(n);
        let mut spans: Vec<Vec<Span>> = (0..n).map(|_| Vec::new()).collect();
        for span in &self.spans {
            for (i, bytes) in dealt(&span.bytes, n as usize).into_iter().enumerate() {
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
    pub fn weave(lanes: &[Image]) -> Result<Image, OutOfSpace> {
        let n = lanes.len() as u64;
        let wide = |address: u64, lane: u64| {
            address
                .checked_mul(n)
                .and_then(|a| a.checked_add(lane))
                .ok_or(OutOfSpace)
        };
        // Cut the address space where any lane begins or ends a span or an origin.
        let mut edges: Vec<u64> = Vec::new();
        for lane in lanes {
            for range in lane
                .spans
                .iter()
                .map(Span::range)
                .chain(lane.origins.runs().iter().map(|r| r.range))
            {
                wide(range.last(), n - 1)?;
                edges.extend([range.first(), range.last() + 1]);
            }
        }
        edges.sort_unstable();
        edges.dedup();
        let mut spans: Vec<Span> = Vec::new();
        let mut runs = Vec::new();
        for pair in edges.windows(2) {
            let Some(part) = AddressRange::new(pair[0], pair[1] - 1) else {
                continue;
            };
            let bytes: Vec<Option<&[u8]>> = lanes
                .iter()
                .map(|lane| lane.within(part).next().map(|(_, bytes)| bytes))
                .collect();
            if bytes.iter().all(Option::is_none) {
                continue;
            }
            if bytes.iter().all(Option::is_some) {
                let bytes: Vec<&[u8]> = bytes.into_iter().flatten().collect();
                let start = wide(part.first(), 0)?;
                push_joining(
                    &mut spans,
                    Span {
                        start,
                        bytes: weave_slices(&bytes).into(),
                    },
                );
                let sources: Vec<Arc<Source>> = lanes
                    .iter()
                    .filter_map(|lane| lane.origins.run_at(part.first()))
                    .map(|run| run.source.clone())
                    .collect();
                let same = sources.windows(2).all(|w| w[0] == w[1]);
                runs.push(OriginRun {
                    range: AddressRange::from_len(start, part.len() * n).ok_or(OutOfSpace)?,
                    source: match (same, sources.first()) {
                        (true, Some(first)) => first.clone(),
                        _ => Arc::new(Source::Woven(sources)),
                    },
                    lines: None,
                });
            } else {
                // One lane has a hole here, so the bytes of the others don't touch.
                for offset in 0..part.len() {
                    let address = part.first() + offset;
                    for (i, lane) in lanes.iter().enumerate() {
                        let Some(slice) = bytes[i] else { continue };
                        let start = wide(address, i as u64)?;
                        push_joining(
                            &mut spans,
                            Span {
                                start,
                                bytes: SpanBytes::from_slice(&slice[offset as usize..][..1]),
                            },
                        );
                        if let (Some(run), Some(range)) = (
                            lane.origins.run_at(address),
                            AddressRange::new(start, start),
                        ) {
                            runs.push(OriginRun {
                                range,
                                source: run.source.clone(),
                                lines: None,
                            });
                        }
                    }
                }
            }
        }
        Ok(Self::from_parts(spans, Origins::from_sorted(runs)))
    }
}

/// The bytes by their places: every `n`th from the first on, every `n`th from the second on, and so on while there are
/// any.
fn dealt(bytes: &[u8], n: usize) -> Vec<Vec<u8>> {
    let lanes = 0..n.min(bytes.len());
    let mut dealt: Vec<Vec<u8>> = lanes
        .map(|lane| Vec::with_capacity((bytes.len() - lane).div_ceil(n)))
        .collect();
    // A block stays in the processor's cache until every lane has its bytes of it.
    const BLOCK: usize = 128 * 1024;
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

/// One byte of each slice in turn; all slices are equally long.
fn weave_slices(lanes: &[&[u8]]) -> Vec<u8> {
    fn weave<const N: usize>(lanes: [&[u8]; N]) -> Vec<u8> {
        let len = lanes[0].len();
        let lanes = lanes.map(|lane| &lane[..len]);
        let mut out = vec![0; len * N];
        for (i, group) in out.chunks_exact_mut(N).enumerate() {
            group.copy_from_slice(&lanes.map(|lane| lane[i]));
        }
        out
    }
    match *lanes {
        [a, b] => return weave([a, b]),
        [a, b, c, d] => return weave([a, b, c, d]),
        _ => {}
    }
    let n = lanes.len();
    let mut out = vec![0; lanes.first().map_or(0, |l| l.len()) * n];
    for (i, lane) in lanes.iter().enumerate() {
        for (to, from) in out[i..].iter_mut().step_by(n).zip(*lane) {
            *to = *from;
        }
    }
    out
}
