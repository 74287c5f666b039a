//! Bytes that come without a hole, before they are laid out: small and in one place, since there may be a million of them.

use std::sync::Arc;

use smallvec::SmallVec;

use super::span::push_joining;
use super::{AddressRange, Image, Lines, OriginRun, Origins, Source, Span};

/// Bytes that came one record after the other, without a hole.
pub(super) struct Chunk {
    pub span: Span,
    /// One after another; together they are the span.
    pub stretches: LineStretches,
}

/// Most chunks have one.
pub(super) type LineStretches = SmallVec<[LineStretch; 1]>;

/// Bytes of a chunk that came in lines of one length, or without lines.
#[derive(Clone, Copy)]
pub(super) struct LineStretch {
    /// Bytes in all.
    pub len: u64,
    /// Line of the first byte, counted from 1.
    pub line: u64,
    /// Bytes each line brought; 0 where there are no lines.
    pub stride: u32,
}

impl Chunk {
    /// The stretch of a file that has no lines.
    pub fn without_lines(span: Span) -> Self {
        let stretch = LineStretch {
            len: span.bytes.len() as u64,
            line: 0,
            stride: 0,
        };
        Self {
            span,
            stretches: LineStretches::from_buf([stretch]),
        }
    }

    /// Adds the chunk after all others of an image.
    #[inline]
    pub fn append_to(self, spans: &mut Vec<Span>, origins: &mut Origins, source: &Arc<Source>) {
        let mut start = self.span.start;
        for stretch in self.stretches {
            if let Some(range) = AddressRange::from_len(start, stretch.len) {
                origins.push(OriginRun {
                    range,
                    source: source.clone(),
                    lines: Lines::new(stretch.line, stretch.stride),
                });
            }
            start += stretch.len;
        }
        push_joining(spans, self.span);
    }

    /// The chunk as an image of its own.
    pub fn into_image(self, source: &Arc<Source>) -> Image {
        let mut spans = Vec::with_capacity(1);
        let mut origins = Origins::default();
        self.append_to(&mut spans, &mut origins, source);
        Image::from_parts(spans, origins)
    }

    /// Takes the chunk out of its place in a list.
    fn take(&mut self) -> Self {
        Self {
            span: Span {
                start: self.span.start,
                bytes: std::mem::take(&mut self.span.bytes),
            },
            stretches: std::mem::take(&mut self.stretches),
        }
    }
}

/// The chunks sorted by first address, each with its number in order of arrival; the earlier of equals comes first.
pub(super) fn by_address(mut chunks: Vec<Chunk>) -> impl Iterator<Item = (usize, Chunk)> {
    // Number and address in one key, so that nothing has to be looked up while sorting.
    let keys = chunks.iter().zip(0..);
    let keys = keys.map(|(chunk, i)| u128::from(chunk.span.start) << 64 | i);
    let mut keys: Vec<u128> = keys.collect();
    keys.sort_unstable();
    // Many fetches in a row with nothing between them: the processor then waits for all of them at once.
    const BATCH: usize = 256;
    (0..keys.len()).step_by(BATCH).flat_map(move |from| {
        let batch = &keys[from..keys.len().min(from + BATCH)];
        let numbers = batch.iter().map(|key| *key as u64 as usize);
        let fetched: Vec<(usize, Chunk)> = numbers.map(|i| (i, chunks[i].take())).collect();
        fetched
    })
}
