//! The bytes of a span: a few in the span itself, many in memory that copies share until one of them is changed.

use std::fmt;
use std::mem;
use std::ops::{Deref, DerefMut, Range};
use std::sync::Arc;

use smallvec::SmallVec;

/// From so many bytes on, a part of a span shares the memory of the whole.
const SHARED: usize = 4096;
/// A part that is smaller than the whole by more than this factor is copied, unless it is large: it would keep all of that memory.
const SMALL_PART: usize = 8;
/// Large bytes are moved in parts of at least this many, so that no more than this is there twice.
pub(super) const PART: usize = 1 << 20;
/// Where more than this has to be added, all of it is laid out in new memory, and what it came from given back as it goes.
pub(super) const LARGE: usize = 4 << 20;

/// The bytes of a span.
#[derive(Clone)]
pub(super) enum SpanBytes {
    /// Those of a usual record are in the span itself, so that a million scattered records are not a million allocations.
    Few(SmallVec<[u8; 16]>),
    /// A stretch of bytes, of which other spans may have the rest, or the same.
    Shared(SharedBytes),
}

/// A stretch of bytes in memory that others may look at.
#[derive(Clone)]
pub(super) struct SharedBytes {
    all: Arc<Vec<u8>>,
    from: usize,
    to: usize,
}

impl SpanBytes {
    /// How many bytes fit into the span itself.
    pub const WITHIN: usize = 16;

    pub fn from_slice(bytes: &[u8]) -> Self {
        match bytes.len() < SHARED {
            true => Self::Few(SmallVec::from_slice(bytes)),
            false => bytes.to_vec().into(),
        }
    }

    /// A part of them. A large one shares their memory.
    pub fn part(&self, part: Range<usize>) -> Self {
        match self {
            Self::Shared(whole) if whole.is_worth_sharing(part.len()) => {
                Self::Shared(SharedBytes {
                    all: whole.all.clone(),
                    from: whole.from + part.start,
                    to: whole.from + part.end,
                })
            }
            _ => Self::from_slice(&self[part]),
        }
    }

    /// All of them, copied only where others share them.
    pub fn into_vec(self) -> Vec<u8> {
        match self {
            Self::Few(bytes) => bytes.into_vec(),
            Self::Shared(mut shared) => match shared.take_alone() {
                Some(all) => mem::take(all),
                None => shared.to_vec(),
            },
        }
    }

    /// Adds bytes after the others.
    pub fn extend_from_slice(&mut self, more: &[u8]) {
        match self {
            Self::Few(bytes) if bytes.len() + more.len() < SHARED => bytes.extend_from_slice(more),
            _ => self.change_vec(more.len(), |bytes| bytes.extend_from_slice(more)),
        }
    }

    /// Adds bytes after the others. Where they are in memory already, right after these, nothing is copied; and of those that are a
    /// part of these there is no second copy meanwhile.
    pub fn append(&mut self, next: SpanBytes) {
        if let (Self::Shared(shared), Self::Shared(other)) = (&mut *self, &next) {
            if shared.goes_on_in(other) {
                shared.to = other.to;
                return;
            }
            if let Some(part) = shared.place_of(other) {
                drop(next);
                self.change_vec(part.len(), |bytes| bytes.extend_from_within(part));
                return;
            }
        }
        self.extend_from_slice(&next);
    }

    /// Adds bytes before the others.
    pub fn prepend(&mut self, front: &[u8]) {
        self.change_vec(front.len(), |bytes| {
            let len = bytes.len();
            bytes.reserve_exact(front.len());
            bytes.resize(len + front.len(), 0);
            bytes.copy_within(..len, front.len());
            bytes[..front.len()].copy_from_slice(front);
        });
    }

    /// Repeats them until there are `times` as many.
    pub fn repeat(&mut self, times: usize) {
        let (len, more) = (self.len(), times.saturating_sub(1));
        self.change_vec(len.saturating_mul(more), |bytes| {
            (0..more).for_each(|_| bytes.extend_from_within(..len));
        });
    }

    /// Changes them as a vector that has room for so many more.
    fn change_vec(&mut self, more: usize, change: impl FnOnce(&mut Vec<u8>)) {
        if let Self::Shared(shared) = self {
            if let Some(all) = shared.take_alone() {
                // Little by little it grows as a vector does, a lot at once takes no more than that.
                if more > all.len() {
                    all.reserve_exact(more);
                }
                change(all);
                shared.to = shared.all.len();
                return;
            }
        }
        let old = mem::take(self);
        let mut bytes = match old {
            Self::Shared(old) => {
                let mut bytes = Vec::with_capacity(old.to - old.from + more);
                bytes.extend_from_slice(&old);
                bytes
            }
            Self::Few(old) => old.into_vec(),
        };
        change(&mut bytes);
        *self = bytes.into();
    }

    /// Takes off what is from `at` up. Of a large tail, no more than a part is there twice at any time.
    pub fn take_tail(&mut self, at: usize) -> Self {
        if at == 0 {
            return mem::take(self);
        }
        let left = self.len() - at;
        if self.is_shared() || left <= PART {
            let tail = match self.is_shared() {
                true => self.part(at..self.len()),
                false => Self::from_slice(&self[at..]),
            };
            self.shorten(at);
            return tail;
        }
        // Memory that comes as zeros is not used before something is written there.
        let mut tail = vec![0; left];
        self.pour(at, &mut tail);
        tail.into()
    }

    /// Moves what is from `at` up into `to`, which is as long, from the back: what has been moved gives its memory back.
    pub fn pour(&mut self, at: usize, to: &mut [u8]) {
        let mut left = self.len() - at;
        let part = PART.max(left / 16);
        while left > 0 {
            let from = left.saturating_sub(part);
            to[from..left].copy_from_slice(&self[at + from..at + left]);
            self.shorten(at + from);
            left = from;
        }
    }

    /// Cuts bytes down, and gives back memory where that is worth it.
    pub fn shorten(&mut self, len: usize) {
        match self {
            Self::Few(bytes) => {
                bytes.truncate(len);
                let spare = bytes.capacity() - bytes.len();
                if spare > (bytes.len() / 2).max(64) {
                    bytes.shrink_to_fit();
                }
            }
            Self::Shared(shared) => {
                shared.to = shared.from + len;
                if len < SHARED {
                    *self = Self::from_slice(shared);
                } else if let Some(all) = Arc::get_mut(&mut shared.all) {
                    all.truncate(shared.to);
                    give_back(all);
                }
            }
        }
    }

    /// From now on they have their memory alone.
    pub fn unshare(&mut self) {
        if self.is_shared() {
            *self = self.to_vec().into();
        }
    }

    /// Whether others look at the same memory.
    pub fn is_shared(&self) -> bool {
        match self {
            Self::Few(_) => false,
            Self::Shared(shared) => Arc::strong_count(&shared.all) > 1,
        }
    }

    /// Bytes of memory that they keep and do not use.
    #[cfg(test)]
    pub fn spare(&self) -> usize {
        match self {
            Self::Few(bytes) => bytes.capacity() - bytes.len(),
            Self::Shared(shared) => shared.all.capacity() - shared.len(),
        }
    }

    /// All of them one after another. Of many large ones no more than a part is there twice at any time.
    pub fn joined(parts: Vec<SpanBytes>) -> Self {
        let follows = |pair: &[SpanBytes]| match pair {
            [Self::Shared(a), Self::Shared(b)] => a.goes_on_in(b),
            _ => false,
        };
        let total: usize = parts.iter().map(|part| part.len()).sum();
        let rest = total - parts.first().map_or(0, |first| first.len());
        if parts.len() < 2 || rest < LARGE || parts.windows(2).all(follows) {
            let mut parts = parts.into_iter();
            let mut all = parts.next().unwrap_or_default();
            if total >= SHARED && rest > all.len() && !all.is_shared() {
                all.reserve(rest);
            }
            parts.for_each(|part| all.append(part));
            return all;
        }
        // Memory that comes as zeros is not used before something is written there.
        let mut all = vec![0; total];
        let mut room = &mut all[..];
        for mut part in parts {
            let (place, rest) = mem::take(&mut room).split_at_mut(part.len());
            part.pour(0, place);
            room = rest;
        }
        all.into()
    }

    /// Makes room for so many more.
    fn reserve(&mut self, more: usize) {
        let mut bytes = mem::take(self).into_vec();
        bytes.reserve_exact(more);
        // They may be few, and become many at once.
        *self = Self::Shared(SharedBytes::whole(bytes));
    }
}

impl SharedBytes {
    fn whole(bytes: Vec<u8>) -> Self {
        let (from, to) = (0, bytes.len());
        let all = Arc::new(bytes);
        Self { all, from, to }
    }

    /// Whether a part of so many bytes is worth keeping all of this memory for.
    fn is_worth_sharing(&self, len: usize) -> bool {
        len >= SHARED && (len > PART || len >= self.all.len() / SMALL_PART)
    }

    /// The memory, made to contain nothing but these bytes; `None` where others look at it.
    fn take_alone(&mut self) -> Option<&mut Vec<u8>> {
        let all = Arc::get_mut(&mut self.all)?;
        let is_part = self.to - self.from < all.len();
        all.truncate(self.to);
        if self.from > 0 {
            all.drain(..self.from);
        }
        if is_part {
            give_back(all);
        }
        (self.from, self.to) = (0, all.len());
        Some(all)
    }

    /// Where the other one is in this one, if that is the same memory.
    fn place_of(&self, other: &SharedBytes) -> Option<Range<usize>> {
        let inside = self.from <= other.from && other.to <= self.to;
        (inside && Arc::ptr_eq(&self.all, &other.all))
            .then(|| other.from - self.from..other.to - self.from)
    }

    /// Whether the other one begins where this one ends, in the same memory.
    fn goes_on_in(&self, next: &SharedBytes) -> bool {
        self.to == next.from && Arc::ptr_eq(&self.all, &next.all)
    }
}

/// Gives memory back where that is worth it.
fn give_back(bytes: &mut Vec<u8>) {
    if bytes.capacity() - bytes.len() > (bytes.len() / 2).clamp(4096, PART) {
        bytes.shrink_to_fit();
    }
}

impl Deref for SharedBytes {
    type Target = [u8];

    fn deref(&self) -> &[u8] {
        &self.all[self.from..self.to]
    }
}

impl Default for SpanBytes {
    fn default() -> Self {
        Self::Few(SmallVec::new())
    }
}

impl From<Vec<u8>> for SpanBytes {
    fn from(bytes: Vec<u8>) -> Self {
        match bytes.len() < SHARED {
            true => Self::Few(bytes.into()),
            false => Self::Shared(SharedBytes::whole(bytes)),
        }
    }
}

impl Deref for SpanBytes {
    type Target = [u8];

    fn deref(&self) -> &[u8] {
        match self {
            Self::Few(bytes) => bytes,
            Self::Shared(shared) => shared,
        }
    }
}

/// What others share is copied before it changes.
impl DerefMut for SpanBytes {
    fn deref_mut(&mut self) -> &mut [u8] {
        self.unshare();
        match self {
            Self::Few(bytes) => bytes,
            Self::Shared(SharedBytes { all, from, to }) => &mut Arc::make_mut(all)[*from..*to],
        }
    }
}

impl PartialEq for SpanBytes {
    fn eq(&self, other: &Self) -> bool {
        **self == **other
    }
}

impl Eq for SpanBytes {}

impl fmt::Debug for SpanBytes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        (**self).fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// What can happen to the bytes of a span.
    #[derive(Clone, Copy, Debug)]
    enum Change {
        Extend(usize),
        Prepend(usize),
        Repeat(usize),
        TakeTail(usize),
        Shorten(usize),
        Edit(usize),
        /// A part of them becomes the next.
        Part(usize, usize),
        /// A part of them is added after them.
        Itself(usize, usize),
        /// What was a copy is added after them, or takes their place.
        Copy(bool),
    }

    fn changes() -> impl Strategy<Value = Vec<Change>> {
        let len = || prop_oneof![0usize..40, 4000usize..4200, 9000usize..9100];
        let change = prop_oneof![
            len().prop_map(Change::Extend),
            len().prop_map(Change::Prepend),
            (0usize..4).prop_map(Change::Repeat),
            len().prop_map(Change::TakeTail),
            len().prop_map(Change::Shorten),
            len().prop_map(Change::Edit),
            (len(), len()).prop_map(|(from, len)| Change::Part(from, len)),
            (len(), len()).prop_map(|(from, len)| Change::Itself(from, len)),
            any::<bool>().prop_map(Change::Copy),
        ];
        prop::collection::vec(change, 1..30)
    }

    fn made(len: usize, salt: usize) -> Vec<u8> {
        (0..len).map(|i| (i * 7 + salt) as u8).collect()
    }

    proptest! {
        /// They are what a vector would be, and whoever shares their memory is not changed with them.
        #[test]
        fn shared_bytes_behave_as_those_of_a_vector(first in 0usize..10_000, changes in changes()) {
            let mut model = made(first, 1);
            let mut bytes = SpanBytes::from(model.clone());
            let mut others: Vec<(SpanBytes, Vec<u8>)> = Vec::new();
            for (salt, change) in changes.into_iter().enumerate() {
                let inside = |at: usize| at.min(model.len());
                match change {
                    Change::Extend(len) => {
                        bytes.extend_from_slice(&made(len, salt));
                        model.extend(made(len, salt));
                    }
                    Change::Prepend(len) => {
                        bytes.prepend(&made(len, salt));
                        model.splice(0..0, made(len, salt));
                    }
                    Change::Repeat(times) if model.len() < 20_000 => {
                        bytes.repeat(times);
                        model = model.repeat(times.max(1));
                    }
                    Change::Repeat(_) => {}
                    Change::TakeTail(at) => {
                        let at = inside(at);
                        others.push((bytes.take_tail(at), model.split_off(at)));
                    }
                    Change::Shorten(len) => {
                        let len = inside(len);
                        bytes.shorten(len);
                        model.truncate(len);
                    }
                    Change::Edit(at) => {
                        if let Some(byte) = model.get_mut(at) {
                            *byte ^= 0x55;
                            bytes[at] ^= 0x55;
                        }
                    }
                    Change::Part(from, len) => {
                        let part = inside(from)..inside(from + len);
                        others.push((bytes.clone(), model.clone()));
                        bytes = bytes.part(part.clone());
                        model = model[part].to_vec();
                    }
                    Change::Itself(from, len) => {
                        let part = inside(from)..inside(from + len);
                        bytes.append(bytes.part(part.clone()));
                        model.extend_from_within(part);
                    }
                    Change::Copy(all) => match others.pop() {
                        Some((other, wanted)) if all => {
                            bytes = other.clone();
                            model = wanted.clone();
                            others.push((other, wanted));
                        }
                        Some((other, wanted)) if model.len() < 40_000 => {
                            bytes.append(other);
                            model.extend(wanted);
                        }
                        _ => others.push((bytes.clone(), model.clone())),
                    },
                }
                prop_assert!(*bytes == model[..]);
                for (other, wanted) in &others {
                    prop_assert!(**other == wanted[..]);
                }
            }
            prop_assert_eq!(bytes.into_vec(), model);
        }

        #[test]
        fn joined_bytes_are_all_of_them_in_order(
            lens in prop::collection::vec(0usize..6000, 0..6), shared: bool, large in prop::bool::weighted(0.03),
        ) {
            let mut lens = lens;
            lens.extend(large.then_some(LARGE + 3));
            lens.extend(large.then_some(100));
            let all = made(lens.iter().sum(), 3);
            let whole = SpanBytes::from(all.clone());
            let mut at = 0;
            let parts = lens.iter().map(|len| {
                at += len;
                match shared {
                    true => whole.part(at - len..at),
                    false => SpanBytes::from_slice(&all[at - len..at]),
                }
            });
            let joined = SpanBytes::joined(parts.collect());
            prop_assert!(*joined == all[..]);
        }
    }

    /// Parts of one memory that are put together again need no other.
    #[test]
    fn parts_that_follow_each_other_are_joined_where_they_are() {
        let whole = SpanBytes::from(made(100_000, 0));
        let parts = (0..5).map(|i| whole.part(i * 20_000..(i + 1) * 20_000));
        let joined = SpanBytes::joined(parts.collect());
        assert_eq!(joined.as_ptr(), whole.as_ptr());
        assert!(joined == whole);
    }

    /// A small part is copied, and one that has the rest of its memory alone gives it back.
    #[test]
    fn a_part_does_not_keep_the_whole() {
        let whole = SpanBytes::from(made(1_000_000, 0));
        assert!(!whole.part(5000..10_000).is_shared());
        let mut half = whole.part(0..500_000);
        assert!(half.is_shared());
        drop(whole);
        assert!(half.spare() >= 500_000);
        half.shorten(499_999);
        assert!(half.spare() < 300_000, "{}", half.spare());
    }

    /// What only one has is changed where it is.
    #[test]
    fn bytes_of_its_own_are_not_copied() {
        let mut bytes = SpanBytes::from(made(100_000, 0));
        let at = bytes.as_ptr();
        bytes[7] = 1;
        bytes.shorten(99_999);
        assert_eq!(bytes.as_ptr(), at);
        let copy = bytes.clone();
        bytes[7] = 2;
        assert_eq!((copy[7], bytes[7]), (1, 2));
        assert_eq!(copy.as_ptr(), at);
    }
}
