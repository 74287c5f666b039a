//! Collects records in file order and lays them out once, so that any order of records stays near-linear.

use std::sync::Arc;

use super::bytes::SpanBytes;
use super::chunks::{self, Chunk, LineStretch, LineStretches};
use super::span::push_joining;
use super::{
    AddressRange, Clash, Contest, Image, NoMemory, Origins, OutOfSpace, Overlap, Source, Span,
    ask_memory,
};

/// Collects what one source brings, record by record, in any order of addresses.
///
/// Records that follow each other are appended; a jump starts a new chunk; sorting and clash checks happen once,
/// in [`finish`](Builder::finish).
pub struct Builder {
    source: Arc<Source>,
    /// Finished chunks, in the order in which they came.
    chunks: Vec<Chunk>,
    /// The chunk that is still growing.
    current: Vec<u8>,
    current_start: u64,
    /// Where a record must start to be appended.
    next: u64,
    /// Its stretches, without the one that is still growing.
    stretches: LineStretches,
    open: Option<OpenLines>,
    /// Line and length of a record that would continue that stretch; [`NONE_FITS`] when none can.
    next_line: u64,
    stride: u64,
    arrival: Arrival,
    /// Bytes that were taken since memory for little things was asked for, the small ones of each chunk among them.
    unasked: usize,
    lacks: Option<NoMemory>,
}

/// In which order records came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Arrival {
    /// Records with bytes.
    pub records: u64,
    /// How often a record was below the end of the one before it.
    pub steps_back: u64,
    /// Line of the first that did.
    pub first_step_back: Option<u64>,
}

/// What a chunk takes while all are sorted, in addition to its bytes.
const CHUNK: usize = 256;
/// After so many bytes, memory for little things is asked for once more.
const UNASKED: usize = 64 << 10;
/// A length that no record has.
const NONE_FITS: u64 = u64::MAX;

struct OpenLines {
    start: u64,
    line: u64,
    stride: u64,
}

impl Builder {
    /// A builder for what comes from `source`.
    pub fn new(source: Source) -> Self {
        Self {
            source: Arc::new(source),
            chunks: Vec::new(),
            current: Vec::new(),
            current_start: 0,
            next: 0,
            stretches: LineStretches::new(),
            open: None,
            next_line: 0,
            stride: NONE_FITS,
            arrival: Arrival::default(),
            unasked: 0,
            lacks: None,
        }
    }

    /// One for another part of the same source, to be [appended](Self::append).
    pub fn another(&self) -> Self {
        Self {
            source: self.source.clone(),
            ..Self::new(Source::Patch)
        }
    }

    /// In which order records have come so far.
    pub fn arrival(&self) -> Arrival {
        self.arrival
    }

    /// The address after the record that came last, if one came.
    pub fn next_address(&self) -> Option<u64> {
        (!self.current.is_empty()).then_some(self.next)
    }

    /// Adds one record's bytes, read from `line` (counted from 1).
    ///
    /// # Errors
    /// [`OutOfSpace`] when the bytes pass [`AddressRange::TOP`]; nothing is added then.
    #[inline(always)]
    pub fn push(&mut self, address: u64, bytes: &[u8], line: u64) -> Result<(), OutOfSpace> {
        let len = bytes.len() as u64;
        let goes_on = address == self.next && line == self.next_line && len == self.stride;
        // One past the end must be an address too: the top one is never used.
        let end = address.checked_add(len).ok_or(OutOfSpace)?;
        if !goes_on && !self.begin(address, len, line) {
            return Ok(());
        }
        self.arrival.records += 1;
        // A line number so large that it wraps can come only from the caller.
        self.next_line = self.next_line.wrapping_add(1);
        self.next = end;
        if self.current.capacity() - self.current.len() < bytes.len() {
            self.grow(bytes.len());
        }
        match <&[u8; 16]>::try_from(bytes) {
            // The usual length of a record: a length known to the compiler is copied without a call.
            Ok(bytes) => self.current.extend_from_slice(bytes),
            Err(_) => self.current.extend_from_slice(bytes),
        }
        Ok(())
    }

    /// Makes room for more. Where there is none, what has been read is given up, and it shows in the end.
    #[cold]
    fn grow(&mut self, more: usize) {
        let wanted = (2 * self.current.len() + more) as u64;
        let before = self.current.capacity();
        let grown = self.current.try_reserve(more);
        let taken = self.current.capacity() - before + CHUNK;
        if grown.is_err() || !self.has_more_after(taken) {
            self.give_up(wanted);
        }
    }

    /// Whether there is memory for little things too, after so many bytes were taken. It is asked for only now and then.
    fn has_more_after(&mut self, taken: usize) -> bool {
        self.unasked = self.unasked.saturating_add(taken);
        if self.unasked < UNASKED {
            return true;
        }
        self.unasked = 0;
        ask_memory(0).is_ok()
    }

    #[cold]
    fn give_up(&mut self, bytes: u64) {
        self.lacks.get_or_insert(NoMemory { bytes });
        (self.current, self.chunks) = (Vec::new(), Vec::new());
        self.stretches = LineStretches::new();
    }

    /// Whether all of it found room, and will while it is laid out; [`finish`](Self::finish) makes little sense where it
    /// did not.
    ///
    /// # Errors
    /// [`NoMemory`].
    pub fn check_memory(&self) -> Result<(), NoMemory> {
        let bytes = self.chunks.iter().map(|c| c.span.bytes.len() as u64);
        let bytes: u64 = bytes.sum();
        match (self.lacks, self.chunks.len() as u64) {
            (Some(lacks), _) => Err(lacks),
            (None, 0 | 1) if bytes + (self.current.len() as u64) < UNASKED as u64 => Ok(()),
            (None, 0 | 1) => ask_memory(0),
            (None, chunks) => ask_memory(bytes + chunks * CHUNK as u64),
        }
    }

    /// Prepares for a record unlike the one before it; false when it has no bytes.
    #[inline(never)]
    fn begin(&mut self, address: u64, len: u64, line: u64) -> bool {
        if len == 0 {
            return false;
        }
        if address != self.next || self.current.is_empty() {
            self.jump(address, line);
        }
        match &mut self.open {
            // A short line may end a stretch of even ones; nothing can follow it, or a line's number would no longer be a
            // plain division.
            Some(open)
                if (line, self.stride) == (self.next_line, open.stride) && len < open.stride =>
            {
                self.stride = NONE_FITS;
            }
            _ => self.start_stretch(address, len, line),
        }
        true
    }

    /// Adds bytes that have no lines, such as those of a raw file.
    ///
    /// # Errors
    /// [`OutOfSpace`] when the bytes pass [`AddressRange::TOP`]; nothing is added then.
    pub fn push_block(&mut self, address: u64, bytes: Vec<u8>) -> Result<(), OutOfSpace> {
        if bytes.is_empty() {
            return Ok(());
        }
        let span = Span::new(address, bytes).ok_or(OutOfSpace)?;
        self.close_chunk();
        self.chunks.push(Chunk::without_lines(span));
        Ok(())
    }

    /// A record that does not continue where the last one ended.
    #[cold]
    fn jump(&mut self, address: u64, line: u64) {
        if address < self.next && !self.current.is_empty() {
            self.arrival.steps_back += 1;
            self.arrival.first_step_back.get_or_insert(line);
        }
        self.close_chunk();
        self.current_start = address;
    }

    #[cold]
    fn start_stretch(&mut self, address: u64, len: u64, line: u64) {
        self.close_stretch();
        self.open = Some(OpenLines {
            start: address,
            line,
            stride: len,
        });
        (self.next_line, self.stride) = (line, len);
    }

    /// Ends the growing stretch after the byte that was added last.
    fn close_stretch(&mut self) {
        let Some(open) = self.open.take() else { return };
        let before = self.stretches.capacity();
        let grown = self.stretches.try_reserve(1);
        let taken = (self.stretches.capacity() - before) * size_of::<LineStretch>();
        if grown.is_err() || !self.has_more_after(taken) {
            self.give_up((2 * self.stretches.len() * size_of::<LineStretch>()) as u64);
        }
        self.stretches.push(LineStretch {
            len: self.next - open.start,
            line: open.line,
            stride: u32::try_from(open.stride).unwrap_or(u32::MAX),
        });
    }

    #[cold]
    fn close_chunk(&mut self) {
        self.close_stretch();
        self.stride = NONE_FITS;
        if self.current.is_empty() {
            return;
        }
        let bytes = match self.current.len() <= SpanBytes::WITHIN {
            true => SpanBytes::from_slice(&self.current),
            false => std::mem::take(&mut self.current).into(),
        };
        self.current.clear();
        let chunk = Chunk {
            span: Span {
                start: self.current_start,
                bytes,
            },
            stretches: std::mem::take(&mut self.stretches),
        };
        self.add_chunk(chunk);
    }

    fn add_chunk(&mut self, chunk: Chunk) {
        let before = self.chunks.capacity();
        let grown = self.chunks.try_reserve(1);
        let taken = (self.chunks.capacity() - before) * size_of::<Chunk>();
        if grown.is_err() || !self.has_more_after(taken) {
            self.give_up((2 * self.chunks.len() * size_of::<Chunk>()) as u64);
        }
        self.chunks.push(chunk);
    }

    /// Takes all that another builder of the same source was given, whose lines are counted from here: its line 1 is the one
    /// after `lines`. The result is that of one builder that was given everything; the other is empty then, and keeps its
    /// memory for more.
    pub fn append(&mut self, later: &mut Builder, lines: u64) {
        later.close_stretch();
        if let Some(NoMemory { bytes }) = later.lacks.or(self.lacks) {
            self.give_up(bytes);
            later.give_up(bytes);
        }
        self.arrival.records += later.arrival.records;
        for chunk in later.chunks.drain(..) {
            match chunk.stretches.iter().any(|stretch| stretch.stride == 0) {
                true => {
                    self.close_chunk();
                    self.add_chunk(chunk);
                }
                false => {
                    let (start, bytes) = (chunk.span.start, &chunk.span.bytes);
                    self.append_run(start, bytes, chunk.stretches, lines);
                }
            }
        }
        let stretches = std::mem::take(&mut later.stretches);
        self.append_run(later.current_start, &later.current, stretches, lines);
        *later = Builder {
            source: later.source.clone(),
            current: std::mem::take(&mut later.current),
            ..Builder::new(Source::Patch)
        };
        later.current.clear();
    }

    fn append_run(&mut self, start: u64, bytes: &[u8], stretches: LineStretches, lines: u64) {
        if bytes.is_empty() {
            return;
        }
        if start != self.next || self.current.is_empty() {
            let line = stretches.first().map_or(0, |first| first.line);
            self.jump(start, line + lines);
            self.next = start;
        }
        for stretch in stretches {
            let line = stretch.line + lines;
            self.append_lines(LineStretch { line, ..stretch });
        }
        if self.current.capacity() - self.current.len() < bytes.len() {
            self.grow(bytes.len());
        }
        if self.lacks.is_none() {
            self.current.extend_from_slice(bytes);
        }
    }

    /// Takes the lines of bytes that come next, as [`push`](Self::push) does one by one.
    fn append_lines(&mut self, mut more: LineStretch) {
        let mut stride = u64::from(more.stride);
        let goes_on = more.line == self.next_line && self.stride != NONE_FITS;
        if goes_on && stride < self.stride {
            // A short line ends the stretch that it continues; those after it are one of their own.
            let first = more.len.min(stride);
            self.next += first;
            self.stride = NONE_FITS;
            more.len -= first;
            more.line += 1;
            if more.len == 0 {
                self.next_line = more.line;
                return;
            }
            // A short line among them is the first of its stretch now.
            stride = stride.min(more.len);
            self.start_stretch(self.next, stride, more.line);
        } else if !goes_on || stride != self.stride {
            self.start_stretch(self.next, stride, more.line);
        }
        self.next += more.len;
        self.next_line = more.line + more.len.div_ceil(stride);
        if more.len % stride != 0 {
            self.stride = NONE_FITS;
        }
    }

    /// Lays everything out; `clash` settles addresses that came more than once.
    ///
    /// # Errors
    /// The first [`Overlap`], where `clash` does not settle it.
    pub fn finish(self, clash: Clash) -> Result<Image, Overlap> {
        let (image, layers) = self.lay_out(Layers::new(clash));
        match layers.overlap {
            Some(overlap) if clash == Clash::Refuse || overlap.differs_at.is_some() => Err(overlap),
            _ => Ok(image),
        }
    }

    /// Lays out what came from a damaged source: where records differ none is believed, and a hole is left.
    pub fn finish_undisputed(self) -> (Image, Vec<Contest>) {
        let layers = Layers {
            contests: Some(Vec::new()),
            ..Layers::new(Clash::Same)
        };
        let (mut image, layers) = self.lay_out(layers);
        let contests = super::clash::in_order(layers.contests.unwrap_or_default());
        let ranges: Vec<AddressRange> = contests.iter().map(|c| c.range).collect();
        image.remove_all(&ranges);
        (image, contests)
    }

    fn lay_out(mut self, mut layers: Layers) -> (Image, Layers) {
        self.close_chunk();
        let source = &self.source;
        let mut spans = Vec::with_capacity(self.chunks.len());
        let mut origins = Origins::with_capacity(self.chunks.len());
        let in_order = |a: &Chunk, b: &Chunk| a.span.last() < b.span.start;
        if self.chunks.is_sorted_by(in_order) {
            for chunk in self.chunks {
                chunk.append_to(&mut spans, &mut origins, source);
            }
            return (Image::from_parts(spans, origins), layers);
        }
        let mut chunks = chunks::by_address(self.chunks);
        let mut next = chunks.next();
        while let Some((i, chunk)) = next {
            let mut reach = chunk.span.last();
            next = chunks.next();
            if next.as_ref().is_none_or(|(_, p)| p.span.start > reach) {
                chunk.append_to(&mut spans, &mut origins, source);
                continue;
            }
            // The slow way, for a chain of chunks that overlap. Chains don't touch each other, so each is settled alone.
            let mut chain = vec![(i, chunk)];
            while let Some(more) = next.take_if(|(_, p)| p.span.start <= reach) {
                reach = reach.max(more.1.span.last());
                chain.push(more);
                next = chunks.next();
            }
            chain.sort_unstable_by_key(|(i, _)| *i);
            for (_, chunk) in chain {
                layers.add(chunk.into_image(source));
            }
            let image = layers.settled();
            for span in image.spans {
                push_joining(&mut spans, span);
            }
            for run in image.origins.into_runs() {
                origins.push(run);
            }
        }
        (Image::from_parts(spans, origins), layers)
    }
}

/// Merges images in order of arrival by halves, as a binary counter carries: n log n whatever they look like.
struct Layers {
    /// Earlier ones first, each heavier than the next.
    stack: Vec<Image>,
    clash: Clash,
    /// All overlaps until now as one, where overlaps matter.
    overlap: Option<Overlap>,
    /// Where two of them differ, if asked for.
    contests: Option<Vec<Contest>>,
}

impl Layers {
    fn new(clash: Clash) -> Self {
        Self {
            stack: Vec::new(),
            clash,
            overlap: None,
            contests: None,
        }
    }

    fn add(&mut self, mut later: Image) {
        while let Some(earlier) = self.pop_if_no_longer_than(&later) {
            later = self.merged(earlier, later);
        }
        self.stack.push(later);
    }

    fn pop_if_no_longer_than(&mut self, later: &Image) -> Option<Image> {
        match self.stack.last()?.len() <= later.len() {
            true => self.stack.pop(),
            false => None,
        }
    }

    fn settled(&mut self) -> Image {
        let mut later = self.stack.pop().unwrap_or_default();
        while let Some(earlier) = self.stack.pop() {
            later = self.merged(earlier, later);
        }
        later
    }

    fn merged(&mut self, mut earlier: Image, later: Image) -> Image {
        let winner = match self.clash {
            Clash::Last => Clash::Last,
            Clash::First => Clash::First,
            Clash::Refuse | Clash::Same => {
                // The first of equals wins every merge, so a byte that differs from any other meets one that does.
                if let Some(contests) = &mut self.contests {
                    contests.extend(earlier.contests_with(&later));
                }
                let more = earlier.overlap_with(&later);
                self.overlap = match (self.overlap.take(), more) {
                    (Some(a), Some(b)) => Some(a.and(b)),
                    (a, b) => a.or(b),
                };
                Clash::First
            }
        };
        // With a winner named there is no overlap to refuse.
        let _ = earlier.merge(later, winner);
        earlier
    }
}
