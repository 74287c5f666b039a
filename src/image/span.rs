//! Bytes without a hole between them, and lists of them.

use super::AddressRange;
use super::bytes::SpanBytes;

/// Bytes without a hole between them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Span {
    pub(super) start: u64,
    pub(super) bytes: SpanBytes,
}

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

    pub(super) fn last(&self) -> u64 {
        self.start + (self.bytes.len() as u64 - 1)
    }

    /// The same bytes elsewhere; the caller knows that it is inside the address space.
    pub(super) fn moved(&self, by: i128) -> Self {
        Self {
            start: shifted(self.start, by),
            bytes: self.bytes.clone(),
        }
    }
}

/// An address moved to another one that is known to be inside the address space.
pub(super) fn shifted(address: u64, by: i128) -> u64 {
    (i128::from(address) + by) as u64
}

/// Adds a span after the others, joined to the last when the two touch.
pub(super) fn push_joining(out: &mut Vec<Span>, span: Span) {
    match out.last_mut() {
        Some(last) if last.last() + 1 == span.start => {
            last.bytes.append(span.bytes);
        }
        _ => out.push(span),
    }
}

/// Sorted spans, those that touch each other as one.
pub(super) fn join_touching(spans: impl IntoIterator<Item = Span>) -> Vec<Span> {
    let mut spans = spans.into_iter().peekable();
    let mut out = Vec::with_capacity(spans.size_hint().0);
    while let Some(mut span) = spans.next() {
        let mut end = span.last();
        let mut touching = Vec::new();
        while let Some(next) = spans.next_if(|next| end + 1 == next.start) {
            end = next.last();
            touching.push(next.bytes);
        }
        if !touching.is_empty() {
            touching.insert(0, span.bytes);
            span.bytes = SpanBytes::joined(touching);
        }
        out.push(span);
    }
    if out.capacity() > 2 * out.len() {
        out.shrink_to_fit();
    }
    out
}

/// Two sorted lists as one.
pub(super) fn merge_sorted<T>(
    a: Vec<T>,
    b: Vec<T>,
    key: impl Fn(&T) -> u64,
) -> impl Iterator<Item = T> {
    let mut a = a.into_iter().peekable();
    let mut b = b.into_iter().peekable();
    std::iter::from_fn(move || match (a.peek(), b.peek()) {
        (Some(x), Some(y)) if key(x) > key(y) => b.next(),
        (None, _) => b.next(),
        _ => a.next(),
    })
}
