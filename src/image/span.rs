//! Bytes without a hole between them, and lists of them.

use smallvec::SmallVec;

use super::AddressRange;

/// Bytes without a hole between them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Span {
    pub(super) start: u64,
    pub(super) bytes: SpanBytes,
}

/// The bytes of a span. Those of a usual record are kept in the span itself, so that a million scattered records are not a million
/// allocations.
pub(super) type SpanBytes = SmallVec<[u8; 16]>;

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
}

/// Adds a span after the others, joined to the last when the two touch.
pub(super) fn push_joining(out: &mut Vec<Span>, span: Span) {
    match out.last_mut() {
        Some(last) if last.last() + 1 == span.start => {
            last.bytes.extend_from_slice(&span.bytes);
        }
        _ => out.push(span),
    }
}

pub(super) fn join_touching(spans: impl IntoIterator<Item = Span>) -> Vec<Span> {
    let spans = spans.into_iter();
    let mut out = Vec::with_capacity(spans.size_hint().0);
    for span in spans {
        push_joining(&mut out, span);
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
