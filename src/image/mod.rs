//! The sparse image: bytes at 64-bit addresses, holes between them, and where each byte came from.
//!
//! A hole is not 0xFF. An [`Image`] keeps its bytes as sorted [`Span`]s that never touch, and beside them the
//! [`Origins`] of each range, so that a clash can name both sides and filler can be told from data.
//! This room knows no file format and no pipeline step.

mod arrays;
mod builder;
mod clash;
mod origins;
mod permute;
mod pieces;
mod range;
#[cfg(test)]
pub(crate) mod testing;
mod whole;

use std::sync::Arc;

use smallvec::SmallVec;

pub(crate) use arrays::arrays;
pub use builder::{Arrival, Builder};
pub use clash::{Clash, Contest, Overlap};
pub use origins::{Lines, Origin, Origins, Run, Source};
pub use range::AddressRange;

/// Bytes without a hole between them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Span {
    start: u64,
    bytes: Bytes,
}

/// The bytes of a span. Those of a usual record stand in the span itself, so that a million scattered records are no million
/// allocations.
type Bytes = SmallVec<[u8; 16]>;

impl Span {
    /// Bytes from `start` up; `None` when empty or past [`AddressRange::TOP`].
    pub fn new(start: u64, bytes: Vec<u8>) -> Option<Self> {
        AddressRange::from_len(start, bytes.len() as u64)?;
        Some(Self {
            start,
            bytes: bytes.into(),
        })
    }

    /// Address of the first byte.
    pub fn start(&self) -> u64 {
        self.start
    }

    /// The bytes, at least one.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The addresses.
    pub fn range(&self) -> AddressRange {
        AddressRange::from_len(self.start, self.bytes.len() as u64)
            .expect("a span is never empty and never passes the last address")
    }

    fn last(&self) -> u64 {
        self.start + (self.bytes.len() as u64 - 1)
    }
}

/// Where a program starts, as its file says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Entry {
    /// A plain address.
    Linear(u64),
    /// Code segment and instruction pointer of an 8086; the address is `cs * 16 + ip`.
    Segmented {
        /// Code segment, in units of 16 bytes.
        cs: u16,
        /// Instruction pointer.
        ip: u16,
    },
}

impl Entry {
    /// The address as one number.
    pub fn address(self) -> u64 {
        match self {
            Entry::Linear(address) => address,
            Entry::Segmented { cs, ip } => u64::from(cs) * 16 + u64::from(ip),
        }
    }
}

/// Bytes would lie above the last usable address, [`AddressRange::TOP`], or below address 0.
#[derive(Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("an address would leave the 64-bit address space")]
pub struct OutOfSpace;

crate::prose::debug_as_display!(OutOfSpace);

/// A sparse image.
///
/// ```
/// use romloom::image::{AddressRange, Image, Source};
///
/// let mut image = Image::new();
/// image.put(0x8000, vec![0xA9, 0x00], Source::Patch)?;
/// image.put(0x8010, vec![0x60], Source::Patch)?;
/// assert_eq!(image.byte(0x8001), Some(0x00));
/// assert_eq!(image.byte(0x8002), None); // a hole, not 0xFF
/// let all = image.extent().unwrap();
/// assert_eq!(image.holes(all).collect::<Vec<_>>(), [AddressRange::new(0x8002, 0x800F).unwrap()]);
/// # Ok::<(), romloom::image::OutOfSpace>(())
/// ```
#[derive(Clone, Debug, Default)]
pub struct Image {
    spans: Vec<Span>,
    origins: Origins,
    /// Where the program starts, if its file said so.
    pub entry: Option<Entry>,
    /// Header text, if the file had one; any bytes, need not be UTF-8.
    pub header: Option<Vec<u8>>,
}

impl Image {
    /// An image without a byte.
    pub fn new() -> Self {
        Self::default()
    }

    /// One span from `start` up, all from one source; no bytes give an empty image.
    ///
    /// # Errors
    /// [`OutOfSpace`] when the bytes pass the last 64-bit address.
    pub fn from_bytes(start: u64, bytes: Vec<u8>, source: Source) -> Result<Self, OutOfSpace> {
        let mut image = Self::new();
        image.put(start, bytes, source)?;
        Ok(image)
    }

    fn from_parts(spans: Vec<Span>, origins: Origins) -> Self {
        Self {
            spans,
            origins,
            entry: None,
            header: None,
        }
    }

    /// The spans, lowest address first; no two touch.
    pub fn spans(&self) -> &[Span] {
        &self.spans
    }

    /// Where the bytes came from.
    pub fn origins(&self) -> &Origins {
        &self.origins
    }

    /// Whether there is no byte at all.
    pub fn is_empty(&self) -> bool {
        self.spans.is_empty()
    }

    /// How many bytes there are, holes not counted.
    pub fn len(&self) -> u64 {
        self.spans.iter().map(|s| s.bytes.len() as u64).sum()
    }

    /// From the first byte to the last.
    pub fn extent(&self) -> Option<AddressRange> {
        AddressRange::new(self.spans.first()?.start, self.spans.last()?.last())
    }

    /// The byte at `address`; `None` for a hole.
    pub fn byte(&self, address: u64) -> Option<u8> {
        let span = self.spans.get(self.first_span_reaching(address))?;
        let n = address.checked_sub(span.start)?;
        span.bytes.get(usize::try_from(n).ok()?).copied()
    }

    /// Index of the first span whose last byte is not below `address`.
    fn first_span_reaching(&self, address: u64) -> usize {
        self.spans.partition_point(|s| s.last() < address)
    }

    /// The bytes inside `range`, span by span, each with the address of its first byte.
    pub fn within(&self, range: AddressRange) -> impl Iterator<Item = (u64, &[u8])> {
        self.spans[self.first_span_reaching(range.first())..]
            .iter()
            .map_while(move |span| {
                let part = span.range().overlap(range)?;
                let from = (part.first() - span.start) as usize;
                Some((part.first(), &span.bytes[from..from + part.len() as usize]))
            })
    }

    /// The holes inside `range`, lowest first.
    pub fn holes(&self, range: AddressRange) -> impl Iterator<Item = AddressRange> {
        let mut next = Some(range.first());
        let mut spans = self.within(range);
        std::iter::from_fn(move || {
            loop {
                let from = next?;
                let Some((start, bytes)) = spans.next() else {
                    next = None;
                    return AddressRange::new(from, range.last());
                };
                next = Some(start + bytes.len() as u64).filter(|n| *n <= range.last());
                if start > from {
                    return AddressRange::new(from, start - 1);
                }
            }
        })
    }

    /// The bytes of `range` in one piece, when it has no hole.
    ///
    /// # Errors
    /// The first hole inside the range.
    pub fn contiguous(&self, range: AddressRange) -> Result<&[u8], AddressRange> {
        match self.within(range).next() {
            Some((_, bytes)) if bytes.len() as u64 == range.len() => Ok(bytes),
            _ => Err(self.holes(range).next().unwrap_or(range)),
        }
    }

    /// What put the byte at `address` there; `None` for a hole.
    pub fn origin_at(&self, address: u64) -> Option<Origin> {
        let run = self.origins.run_at(address)?;
        Some(Origin {
            source: run.source.clone(),
            line: run.line_at(address),
        })
    }

    /// Puts bytes at `address`, over whatever stands there.
    ///
    /// # Errors
    /// [`OutOfSpace`] when the bytes pass the last 64-bit address; the image is unchanged.
    pub fn put(&mut self, address: u64, bytes: Vec<u8>, source: Source) -> Result<(), OutOfSpace> {
        if bytes.is_empty() {
            return Ok(());
        }
        let span = Span::new(address, bytes).ok_or(OutOfSpace)?;
        let run = Run {
            range: span.range(),
            source: Arc::new(source),
            lines: None,
        };
        self.replace(vec![span], vec![run]);
        Ok(())
    }

    /// Puts sorted spans, and the runs that describe them, over whatever stands there.
    fn replace(&mut self, spans: Vec<Span>, runs: Vec<Run>) {
        for run in &runs {
            self.origins.remove(run.range);
        }
        self.origins.insert_apart(runs);
        let mut apart = Vec::new();
        for span in spans {
            // The common patch lies inside one span: no span needs to move for it.
            let i = self.first_span_reaching(span.start);
            match self.spans.get_mut(i) {
                Some(old) if old.range().covers(span.range()) => {
                    let from = (span.start - old.start) as usize;
                    old.bytes[from..from + span.bytes.len()].copy_from_slice(&span.bytes);
                }
                _ => {
                    self.remove_spans(span.range());
                    apart.push(span);
                }
            }
        }
        if !apart.is_empty() {
            let old = std::mem::take(&mut self.spans);
            self.spans = join_touching(merge_sorted(old, apart, |s| s.start));
        }
    }

    /// Turns `range` into a hole.
    pub fn remove(&mut self, range: AddressRange) {
        self.remove_spans(range);
        self.origins.remove(range);
    }

    /// Turns all `ranges` into holes, in one sweep however many they are.
    ///
    /// The ranges are sorted and lie apart, as [`holes`](Self::holes) gives them.
    pub fn remove_all(&mut self, ranges: &[AddressRange]) {
        if ranges.len() < 8 {
            ranges.iter().for_each(|range| self.remove(*range));
            return;
        }
        let Some(extent) = self.extent() else { return };
        let mut kept = Vec::with_capacity(ranges.len() + 1);
        let mut from = extent.first();
        for range in ranges {
            kept.extend(AddressRange::new(from, range.first().wrapping_sub(1)));
            from = from.max(range.last() + 1);
        }
        kept.extend(AddressRange::new(from, extent.last()));
        let spans = kept.iter().flat_map(|range| self.within(*range));
        let spans = spans.filter_map(|(start, bytes)| Span::new(start, bytes.to_vec()));
        let spans: Vec<Span> = spans.collect();
        let runs = kept.iter().flat_map(|range| self.origins.within(*range));
        self.origins = Origins::from_sorted(runs.collect::<Vec<_>>());
        self.spans = spans;
    }

    fn remove_spans(&mut self, range: AddressRange) {
        let from = self.first_span_reaching(range.first());
        let to = self.spans.partition_point(|s| s.start <= range.last());
        if from >= to {
            return;
        }
        let after = {
            let span = &mut self.spans[to - 1];
            (span.last() > range.last()).then(|| {
                let keep = (range.last() - span.start + 1) as usize;
                Span {
                    start: range.last() + 1,
                    bytes: Bytes::from_slice(&span.bytes[keep..]),
                }
            })
        };
        let before = {
            let span = &mut self.spans[from];
            (span.start < range.first()).then(|| {
                let keep = (range.first() - span.start) as usize;
                let mut bytes = std::mem::take(&mut span.bytes);
                bytes.truncate(keep);
                Span {
                    start: span.start,
                    bytes,
                }
            })
        };
        self.spans.splice(from..to, before.into_iter().chain(after));
    }

    /// Keeps only what lies in one of `ranges`, in any order.
    pub fn keep(&mut self, ranges: &[AddressRange]) {
        let mut ranges = ranges.to_vec();
        ranges.sort();
        let mut kept_to = 0;
        for range in ranges {
            if range.first() > kept_to {
                if let Some(gap) = AddressRange::new(kept_to, range.first() - 1) {
                    self.remove(gap);
                }
            }
            kept_to = kept_to.max(range.last() + 1);
        }
        if let Some(rest) = AddressRange::from_up(kept_to) {
            self.remove(rest);
        }
    }

    /// A copy of what lies inside `range`, with its origins; the entry point and header stay behind.
    pub fn slice(&self, range: AddressRange) -> Image {
        let spans = self
            .within(range)
            .map(|(start, bytes)| Span {
                start,
                bytes: Bytes::from_slice(bytes),
            })
            .collect();
        Self::from_parts(spans, Origins::from_sorted(self.origins.within(range)))
    }

    /// Moves all bytes by `delta` addresses; the entry point stays as it is.
    ///
    /// # Errors
    /// [`OutOfSpace`] when a byte would leave the 64-bit address space; the image is unchanged.
    pub fn shift(&mut self, delta: i128) -> Result<(), OutOfSpace> {
        let moved = |address: u64| {
            let to = i128::from(address).checked_add(delta).ok_or(OutOfSpace)?;
            u64::try_from(to).map_err(|_| OutOfSpace)
        };
        if let Some(extent) = self.extent() {
            let (first, last) = (moved(extent.first())?, moved(extent.last())?);
            AddressRange::new(first, last).ok_or(OutOfSpace)?;
        }
        let shifted = |address: u64| (i128::from(address) + delta) as u64;
        for span in &mut self.spans {
            span.start = shifted(span.start);
        }
        self.origins.map(|run| {
            if let Some(range) =
                AddressRange::new(shifted(run.range.first()), shifted(run.range.last()))
            {
                run.range = range;
            }
        });
        Ok(())
    }

    /// Puts `byte` value by value into every hole of `range`; `value(address)` gives it.
    ///
    /// The caller bounds the size: every hole of `range` becomes memory.
    pub fn fill_holes(&mut self, range: AddressRange, value: impl Fn(u64) -> u8) {
        let holes: Vec<AddressRange> = self.holes(range).collect();
        let source = Arc::new(Source::Filler);
        self.origins.insert_apart(
            holes
                .iter()
                .map(|&range| Run {
                    range,
                    source: source.clone(),
                    lines: None,
                })
                .collect(),
        );
        // Filler grows the span in front of it where there is one, so that a large pad is never held twice.
        let mut out: Vec<Span> = Vec::with_capacity(self.spans.len() + 1);
        let mut old = std::mem::take(&mut self.spans).into_iter().peekable();
        for hole in holes {
            while let Some(span) = old.next_if(|s| s.start < hole.first()) {
                push_joining(&mut out, span);
            }
            let filler = (hole.first()..=hole.last()).map(&value);
            match out.last_mut() {
                Some(span) if span.last() + 1 == hole.first() => {
                    let mut bytes = std::mem::take(&mut span.bytes).into_vec();
                    bytes.reserve_exact(hole.len() as usize);
                    bytes.extend(filler);
                    span.bytes = bytes.into();
                }
                _ => out.push(Span {
                    start: hole.first(),
                    bytes: filler.collect::<Vec<u8>>().into(),
                }),
            }
        }
        for span in old {
            push_joining(&mut out, span);
        }
        self.spans = out;
    }

    /// Splits into `n` images by address: image `i` holds the addresses that are `i` mod `n`, divided by `n`.
    ///
    /// Entry point and header stay behind. `n` is 1 to 2^32 - 1; 0 gives no image.
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
                Some(Run {
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
                runs.push(Run {
                    range: AddressRange::from_len(start, part.len() * n).ok_or(OutOfSpace)?,
                    source: match (same, sources.first()) {
                        (true, Some(first)) => first.clone(),
                        _ => Arc::new(Source::Woven(sources)),
                    },
                    lines: None,
                });
            } else {
                // One lane has a hole here: its neighbours stand alone, byte by byte.
                for offset in 0..part.len() {
                    let address = part.first() + offset;
                    for (i, lane) in lanes.iter().enumerate() {
                        let Some(slice) = bytes[i] else { continue };
                        let start = wide(address, i as u64)?;
                        push_joining(
                            &mut spans,
                            Span {
                                start,
                                bytes: Bytes::from_slice(&slice[offset as usize..][..1]),
                            },
                        );
                        if let (Some(run), Some(range)) = (
                            lane.origins.run_at(address),
                            AddressRange::new(start, start),
                        ) {
                            runs.push(Run {
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

    /// All images in one, each byte at its own address; near-linear however many they are.
    ///
    /// Entry points and headers stay behind.
    ///
    /// # Errors
    /// The [`Overlap`] of the first two that want the same address.
    pub fn gather(pieces: Vec<Image>) -> Result<Image, Overlap> {
        let mut owners: Vec<(AddressRange, usize)> = Vec::new();
        for (i, piece) in pieces.iter().enumerate() {
            owners.extend(piece.spans.iter().map(|s| (s.range(), i)));
        }
        owners.sort_unstable();
        for pair in owners.windows(2) {
            if pair[0].0.overlap(pair[1].0).is_some() {
                let (a, b) = (pair[0].1.min(pair[1].1), pair[0].1.max(pair[1].1));
                if let Some(overlap) = pieces[a].overlap_with(&pieces[b]) {
                    return Err(overlap);
                }
            }
        }
        let mut spans = Vec::with_capacity(owners.len());
        let mut runs = Vec::new();
        for piece in pieces {
            spans.extend(piece.spans);
            runs.extend(piece.origins.runs().iter().cloned());
        }
        spans.sort_unstable_by_key(|s| s.start);
        runs.sort_unstable_by_key(|r| r.range.first());
        Ok(Self::from_parts(
            join_touching(spans),
            Origins::from_sorted(runs),
        ))
    }

    /// Runs `f` over the bytes of every span; addresses and origins stay.
    pub fn edit_bytes<E>(
        &mut self,
        mut f: impl FnMut(u64, &mut [u8]) -> Result<(), E>,
    ) -> Result<(), E> {
        for span in &mut self.spans {
            f(span.start, &mut span.bytes)?;
        }
        Ok(())
    }

    /// Whether both hold the same bytes at the same addresses, whatever their origins.
    pub fn same_bytes(&self, other: &Image) -> bool {
        self.spans == other.spans
    }
}

/// The bytes by their places: every `n`th from the first on, every `n`th from the second on, and so forth while there are
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

/// Adds every `n`th byte, from the first on. The usual numbers by themselves, and as numbers cut to their lowest byte: of
/// that the compiler makes vector code.
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

/// Adds a span behind the others, joined to the last when the two touch.
fn push_joining(out: &mut Vec<Span>, span: Span) {
    match out.last_mut() {
        Some(last) if last.last() + 1 == span.start => {
            last.bytes.extend_from_slice(&span.bytes);
        }
        _ => out.push(span),
    }
}

fn join_touching(spans: impl IntoIterator<Item = Span>) -> Vec<Span> {
    let spans = spans.into_iter();
    let mut out = Vec::with_capacity(spans.size_hint().0);
    for span in spans {
        push_joining(&mut out, span);
    }
    out
}

/// Two sorted lists as one.
fn merge_sorted<T>(a: Vec<T>, b: Vec<T>, key: impl Fn(&T) -> u64) -> impl Iterator<Item = T> {
    let mut a = a.into_iter().peekable();
    let mut b = b.into_iter().peekable();
    std::iter::from_fn(move || match (a.peek(), b.peek()) {
        (Some(x), Some(y)) if key(x) > key(y) => b.next(),
        (None, _) => b.next(),
        _ => a.next(),
    })
}

#[cfg(test)]
mod tests;
