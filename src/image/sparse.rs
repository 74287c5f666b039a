//! The sparse image itself: what is where, and changing it.

use std::sync::Arc;

use super::span::{join_touching, shifted};
use super::{
    AddressRange, Entry, NoMemory, Origin, OriginRun, Origins, OutOfSpace, Source, Span, ask_memory,
};

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
    pub(super) spans: Vec<Span>,
    pub(super) origins: Origins,
    /// Where the program starts, if its file said so.
    pub entry: Option<Entry>,
    /// Header text, if the file had one; any bytes, not always UTF-8.
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

    pub(super) fn from_parts(spans: Vec<Span>, origins: Origins) -> Self {
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

    /// The addresses of the spans, lowest first; no two ranges touch.
    pub fn ranges(&self) -> impl ExactSizeIterator<Item = AddressRange> + '_ {
        self.spans.iter().map(Span::range)
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
    pub(super) fn first_span_reaching(&self, address: u64) -> usize {
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

    /// Puts bytes at `address`, over whatever is there.
    ///
    /// # Errors
    /// [`OutOfSpace`] when the bytes pass the last 64-bit address; the image is unchanged.
    pub fn put(&mut self, address: u64, bytes: Vec<u8>, source: Source) -> Result<(), OutOfSpace> {
        if bytes.is_empty() {
            return Ok(());
        }
        let span = Span::new(address, bytes).ok_or(OutOfSpace)?;
        let run = OriginRun {
            range: span.range(),
            source: Arc::new(source),
            lines: None,
        };
        self.replace(vec![span], vec![run]);
        Ok(())
    }

    /// A copy of what is inside `range`, with its origins; entry point and header are left out. Large copies share their memory
    /// with this image until one of the two is changed.
    pub fn slice(&self, range: AddressRange) -> Image {
        let spans = self.spans[self.first_span_reaching(range.first())..].iter();
        let spans = spans.map_while(|span| {
            let part = span.range().overlap(range)?;
            let from = (part.first() - span.start) as usize;
            Some(Span {
                start: part.first(),
                bytes: span.bytes.part(from..from + part.len() as usize),
            })
        });
        let spans = spans.collect();
        Self::from_parts(spans, Origins::from_sorted(self.origins.within(range)))
    }

    /// From now on the image has its memory alone: before another one changes with which it shares it.
    pub(crate) fn unshare(&mut self) {
        self.spans.iter_mut().for_each(|span| span.bytes.unshare());
    }

    /// How many of its bytes are in memory that others look at too: when all of them change, so many are copied first.
    pub(crate) fn shared_len(&self) -> u64 {
        let shared = self.spans.iter().filter(|span| span.bytes.is_shared());
        shared.map(|span| span.bytes.len() as u64).sum()
    }

    /// Memory that its places take beside their bytes, at most, while it is changed: of each it keeps the address, the length and
    /// where it came from.
    pub(crate) fn places_len(&self) -> u64 {
        const EACH: u64 = 300;
        let places = self.spans.len().max(self.origins.runs().len());
        (places as u64).saturating_mul(EACH)
    }

    /// Asks for the memory that changing all bytes where they are takes.
    ///
    /// # Errors
    /// [`NoMemory`].
    pub(crate) fn ask_to_change(&self) -> Result<(), NoMemory> {
        match self.shared_len() {
            0 => Ok(()),
            shared => ask_memory(shared),
        }
    }

    /// Copies, each as far from here as one of `distances` says, in one image. They come in the order of their addresses,
    /// and none overlaps the next.
    ///
    /// # Errors
    /// [`OutOfSpace`] when a byte would leave the 64-bit address space.
    pub(crate) fn copies(
        mut self,
        distances: impl IntoIterator<Item = i128>,
    ) -> Result<Image, OutOfSpace> {
        let distances: Vec<i128> = distances.into_iter().collect();
        let (Some(first), Some(last)) = (distances.first(), distances.last()) else {
            return Ok(Self::new());
        };
        // What is between the first and the last fits where they do.
        self.shift(*last)?;
        self.shift(first - last)?;
        let further = || distances.iter().map(|distance| distance - first);
        let runs = self.origins.runs();
        let runs = further().flat_map(|by| runs.iter().map(move |run| run.moved(by)));
        let origins = Origins::from_sorted(runs);
        let follow = |len: i128| distances.windows(2).all(|pair| pair[1] - pair[0] == len);
        let spans = match &mut self.spans[..] {
            [span] if follow(span.bytes.len() as i128) => {
                span.bytes.repeat(distances.len());
                self.spans
            }
            spans => {
                let spans = &*spans;
                join_touching(further().flat_map(|by| spans.iter().map(move |span| span.moved(by))))
            }
        };
        Ok(Self::from_parts(spans, origins))
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
        for span in &mut self.spans {
            span.start = shifted(span.start, delta);
        }
        self.origins.map(|run| *run = run.moved(delta));
        Ok(())
    }

    /// Puts a byte into every hole of `range`; `value` says which at each address.
    ///
    /// The caller bounds the size: every hole of `range` becomes memory.
    pub fn fill_holes(&mut self, range: AddressRange, value: impl Fn(u64) -> u8) {
        let holes: Vec<AddressRange> = self.holes(range).collect();
        let source = Arc::new(Source::Filler);
        self.origins.insert_apart(
            holes
                .iter()
                .map(|&range| OriginRun {
                    range,
                    source: source.clone(),
                    lines: None,
                })
                .collect(),
        );
        if holes.is_empty() {
            return;
        }
        // The range becomes one span, with those that it touches. The largest of them grows where it is, so that a large one
        // is never there twice.
        let from = self.first_span_reaching(range.first().saturating_sub(1));
        let to = self.spans.partition_point(|s| s.start <= range.last() + 1);
        let mut touched: Vec<Span> = self.spans.drain(from..to).collect();
        let start = touched.first().map_or(range.first(), |s| s.start);
        let start = start.min(range.first());
        let last = touched.last().map_or(range.last(), |s| s.last());
        let len = (last.max(range.last()) - start + 1) as usize;
        let largest = (0..touched.len()).max_by_key(|i| touched[*i].bytes.len());
        let mut bytes = Vec::new();
        if let Some(largest) = largest {
            let span = touched.swap_remove(largest);
            bytes = span.bytes.into_vec();
            let (had, at) = (bytes.len(), (span.start - start) as usize);
            bytes.reserve_exact(len - had);
            bytes.resize(len, 0);
            bytes.copy_within(..had, at);
        }
        bytes.resize(len, 0);
        let place = |at: u64, len: usize| (at - start) as usize..(at - start) as usize + len;
        for span in touched {
            bytes[place(span.start, span.bytes.len())].copy_from_slice(&span.bytes);
        }
        for hole in holes {
            let places = bytes[place(hole.first(), hole.len() as usize)].iter_mut();
            for (address, byte) in (hole.first()..).zip(places) {
                *byte = value(address);
            }
        }
        let bytes = bytes.into();
        self.spans.insert(from, Span { start, bytes });
    }

    /// Runs `f` over the bytes of every span, with the address of the first; addresses and origins stay.
    ///
    /// # Errors
    /// The first that `f` returns; the spans before it are changed already.
    pub fn edit_bytes<E>(
        &mut self,
        mut f: impl FnMut(u64, &mut [u8]) -> Result<(), E>,
    ) -> Result<(), E> {
        for span in &mut self.spans {
            f(span.start, &mut span.bytes)?;
        }
        Ok(())
    }

    /// Whether both have the same bytes at the same addresses, whatever their origins.
    pub fn same_bytes(&self, other: &Image) -> bool {
        self.spans == other.spans
    }
}
