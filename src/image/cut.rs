//! Taking bytes out of an image and putting others over them: in one sweep however many places there are, and without a
//! second copy of a large span.

use super::bytes::SpanBytes;
use super::span::{join_touching, merge_sorted};
use super::{AddressRange, Builder, Clash, Image, OriginRun, OutOfSpace, Source, Span};

/// Up to so many places are changed one by one, each in its place in the list; more are changed in one sweep.
const FEW: usize = 8;

impl Image {
    /// Turns `range` into a hole.
    pub fn remove(&mut self, range: AddressRange) {
        self.remove_spans(range);
        self.origins.remove(range);
    }

    /// Turns all `ranges` into holes, in one sweep however many they are. They may come in any order, and overlap.
    pub fn remove_all(&mut self, ranges: &[AddressRange]) {
        match ranges {
            [] => {}
            [range] => self.remove(*range),
            _ => self.remove_united(&united(ranges)),
        }
    }

    /// Keeps only what is in one of `ranges`, in any order.
    pub fn keep(&mut self, ranges: &[AddressRange]) {
        let mut gone = Vec::with_capacity(ranges.len() + 1);
        let mut from = 0;
        for range in united(ranges) {
            gone.extend(
                (range.first().checked_sub(1)).and_then(|last| AddressRange::new(from, last)),
            );
            from = range.last() + 1;
        }
        gone.extend(AddressRange::from_up(from));
        self.remove_united(&gone);
    }

    /// Takes off all bytes from `at` up, as an image of their own. Entry point and header stay.
    pub fn split_off(&mut self, at: u64) -> Image {
        let whole = self.spans.partition_point(|span| span.start < at);
        let mut spans = self.spans.split_off(whole);
        if let Some(span) = self.spans.last_mut().filter(|span| span.last() >= at) {
            let bytes = span.bytes.take_tail((at - span.start) as usize);
            spans.insert(0, Span { start: at, bytes });
        }
        Image::from_parts(spans, self.origins.split_off(at))
    }

    /// Takes off all bytes from `end` up, and leaves their origins: for bytes that have been moved elsewhere.
    pub(super) fn shorten(&mut self, end: u64) {
        self.spans
            .truncate(self.spans.partition_point(|span| span.start < end));
        if let Some(span) = self.spans.last_mut().filter(|span| span.last() >= end) {
            span.bytes.shorten((end - span.start) as usize);
        }
    }

    /// Puts sorted spans, and the runs that describe them, over whatever is there.
    pub(super) fn replace(&mut self, spans: Vec<Span>, runs: Vec<OriginRun>) {
        self.origins.replace(runs);
        let mut apart = Vec::new();
        for span in spans {
            // The usual patch is inside one span: no span has to move for it.
            let i = self.first_span_reaching(span.start);
            match self.spans.get_mut(i) {
                Some(old) if old.range().covers(span.range()) => {
                    let from = (span.start - old.start) as usize;
                    old.bytes[from..from + span.bytes.len()].copy_from_slice(&span.bytes);
                }
                _ => apart.push(span),
            }
        }
        if apart.len() <= FEW {
            apart.into_iter().for_each(|span| self.put_span(span));
            return;
        }
        let ranges: Vec<AddressRange> = apart.iter().map(Span::range).collect();
        self.remove_spans_united(&ranges);
        let old = std::mem::take(&mut self.spans);
        self.spans = join_touching(merge_sorted(old, apart, |s| s.start));
    }

    /// Puts bytes at many addresses, over whatever is there, in one sweep; where two of them overlap, the later stays.
    ///
    /// # Errors
    /// [`OutOfSpace`] when one would pass the last 64-bit address; the image is unchanged.
    pub fn put_all(
        &mut self,
        parts: impl IntoIterator<Item = (u64, Vec<u8>)>,
        source: Source,
    ) -> Result<(), OutOfSpace> {
        let mut builder = Builder::new(source);
        for (address, bytes) in parts {
            builder.push_block(address, bytes)?;
        }
        // The last of all wins: there is nothing to refuse.
        if let Ok(all) = builder.finish(Clash::Last) {
            let runs = all.origins.into_runs();
            self.replace(all.spans, runs);
        }
        Ok(())
    }

    /// Puts one span over whatever is there.
    fn put_span(&mut self, span: Span) {
        self.remove_spans(span.range());
        let at = self.first_span_reaching(span.start);
        let joins = |before: &Span, after: &Span| before.last() + 1 == after.start;
        let before = at.checked_sub(1).filter(|i| joins(&self.spans[*i], &span));
        let next = self.spans.get(at).is_some_and(|next| joins(&span, next));
        match (before, next) {
            (None, false) => self.spans.insert(at, span),
            (None, true) => {
                let next = std::mem::replace(&mut self.spans[at], span);
                let bytes = &mut self.spans[at].bytes;
                put_together(bytes, next.bytes);
            }
            (Some(before), _) => {
                let next = next.then(|| self.spans.remove(at));
                let bytes = &mut self.spans[before].bytes;
                put_together(bytes, span.bytes);
                if let Some(next) = next {
                    put_together(bytes, next.bytes);
                }
            }
        }
    }

    /// Turns ranges that are in order and apart into holes.
    fn remove_united(&mut self, gone: &[AddressRange]) {
        let is_there = |range: &AddressRange| self.within(*range).next().is_some();
        // Most often there is nothing: then nothing needs to be looked at but these places.
        if gone.iter().any(is_there) {
            self.remove_spans_united(gone);
            self.origins.remove_united(gone);
        }
    }

    pub(super) fn remove_spans_united(&mut self, gone: &[AddressRange]) {
        let old = std::mem::take(&mut self.spans);
        let mut kept = Vec::with_capacity(old.len());
        let mut next = 0;
        for span in old {
            let before = gone[next..].iter();
            let from = next + before.take_while(|r| r.last() < span.start).count();
            let here = gone[from..].iter();
            let more = here.take_while(|r| r.first() <= span.last()).count();
            match more {
                0 => kept.push(span),
                more => cut(span, &gone[from..from + more], &mut kept),
            }
            // The last of them may go on in the next span.
            next = from + more.saturating_sub(1);
        }
        self.spans = kept;
    }

    fn remove_spans(&mut self, range: AddressRange) {
        let from = self.first_span_reaching(range.first());
        let to = self.spans.partition_point(|s| s.start <= range.last());
        if from >= to {
            return;
        }
        let mut kept = Vec::new();
        for i in [from, to - 1] {
            let span = &mut self.spans[i];
            let bytes = std::mem::take(&mut span.bytes);
            if !bytes.is_empty() {
                let start = span.start;
                cut(Span { start, bytes }, &[range], &mut kept);
            }
        }
        self.spans.splice(from..to, kept);
    }
}

/// Puts bytes after others. The fewer are copied.
fn put_together(bytes: &mut SpanBytes, next: SpanBytes) {
    match bytes.len() < next.len() {
        true => {
            // Those that come first may be a part of the others, which must be alone to be moved where they are.
            let front = std::mem::replace(bytes, next).into_vec();
            bytes.prepend(&front);
        }
        false => bytes.append(next),
    }
}

/// The same addresses in order, as few ranges as it takes.
fn united(ranges: &[AddressRange]) -> Vec<AddressRange> {
    let mut ranges = ranges.to_vec();
    ranges.sort_unstable();
    let mut out: Vec<AddressRange> = Vec::with_capacity(ranges.len());
    for range in ranges {
        match out.last_mut() {
            Some(last) if range.first() <= last.last() + 1 => *last = last.hull(range),
            _ => out.push(range),
        }
    }
    out
}

/// What is left of a span without `gone`, ranges that are in order, apart, and have a byte of it each.
fn cut(span: Span, gone: &[AddressRange], kept: &mut Vec<Span>) {
    let Span { start, mut bytes } = span;
    let first = kept.len();
    // From the back, so that the memory of what has been taken out is free again at once.
    for range in gone.iter().rev() {
        let behind = usize::try_from(range.last() - start + 1).unwrap_or(usize::MAX);
        if behind < bytes.len() {
            let bytes = bytes.take_tail(behind);
            let start = range.last() + 1;
            kept.push(Span { start, bytes });
        }
        bytes.shorten(range.first().saturating_sub(start) as usize);
    }
    if !bytes.is_empty() {
        kept.push(Span { start, bytes });
    }
    kept[first..].reverse();
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Bytes, bytes_of, origins_of, r};
    use super::*;

    fn described(image: &Image) -> (Bytes, Vec<(AddressRange, String)>) {
        (bytes_of(image), origins_of(image))
    }

    /// What is taken out gives its memory back: a span keeps little more than its bytes.
    #[test]
    fn a_span_that_was_cut_keeps_no_room_for_what_is_gone() {
        const M: u64 = 1 << 20;
        let whole = || Image::from_bytes(0, vec![0x5A; 8 << 20], Source::Patch).unwrap();
        let spare = |image: &Image| -> usize {
            let spans = image.spans.iter();
            spans.map(|s| s.bytes.spare()).sum()
        };
        let ranges: Vec<AddressRange> = (0..50).map(|i| r(i * M / 7, i * M / 7 + 9)).collect();
        let (mut dropped, mut kept, mut one) = (whole(), whole(), whole());
        dropped.remove_all(&ranges);
        kept.keep(&ranges);
        for range in &ranges {
            one.remove(*range);
        }
        assert_eq!((dropped.len(), kept.len()), (8 * M - 500, 500));
        assert!(dropped.same_bytes(&one));
        for image in [&dropped, &kept, &one] {
            assert_eq!(image.spans().len(), 50);
            assert!(spare(image) <= 2 << 20, "{}", spare(image));
        }
    }

    /// Many places at once are what they are one by one.
    #[test]
    fn many_at_once_are_the_same_as_one_after_another() {
        let mut state = 38u64;
        let mut next = |n: u64| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) % n
        };
        for _ in 0..200 {
            let mut image = Image::new();
            for _ in 0..20 {
                let len = next(12) as usize;
                image
                    .put(next(200), vec![next(256) as u8; len], Source::Copy)
                    .unwrap();
            }
            let ranges: Vec<AddressRange> = (0..20)
                .map(|_| AddressRange::from_len(next(210), 1 + next(8)).unwrap())
                .collect();
            let (mut all, mut each) = (image.clone(), image.clone());
            all.remove_all(&ranges);
            ranges.iter().for_each(|range| each.remove(*range));
            assert_eq!(described(&all), described(&each));
            let mut kept = image.clone();
            kept.keep(&ranges);
            let inside = |address: u64| ranges.iter().any(|range| range.contains(address));
            for address in 0..230 {
                let wanted = image.byte(address).filter(|_| inside(address));
                assert_eq!(kept.byte(address), wanted);
                assert_eq!(kept.origin_at(address).is_some(), wanted.is_some());
            }
            // Put over it: what came last stays.
            let mut over = Image::new();
            for range in &ranges {
                over.put(
                    range.first(),
                    vec![0xEE; range.len() as usize],
                    Source::Mark,
                )
                .unwrap();
            }
            let mut swept = image.clone();
            swept.replace(over.spans.clone(), over.origins.runs().to_vec());
            for span in &over.spans {
                image
                    .put(span.start, span.bytes.to_vec(), Source::Mark)
                    .unwrap();
            }
            assert_eq!(described(&swept), described(&image));
        }
    }
}
