//! Filling, hollowing, padding, repeating and moving.

use super::{LARGE, Measured, OpError, SCATTERED};
use crate::image::{AddressRange, Entry, Image, ask_memory};

/// Whether more than [`LARGE`] bytes may be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Large {
    /// No: an address is probably wrong.
    #[default]
    Refuse,
    /// Yes, however many.
    Allow,
}

impl Large {
    /// Refuses to make that many bytes, unless it is allowed.
    ///
    /// # Errors
    /// [`OpError::Large`].
    pub fn check(self, bytes: u64) -> Result<(), OpError> {
        match self {
            Large::Refuse if bytes > LARGE => Err(OpError::Large { bytes }),
            _ => Ok(()),
        }
    }

    /// As [`check`](Self::check), and whether the memory for so many bytes is there.
    ///
    /// # Errors
    /// [`OpError::Large`], [`OpError::Memory`].
    pub fn check_memory(self, bytes: u64) -> Result<(), OpError> {
        self.check(bytes)?;
        Ok(ask_memory(bytes)?)
    }

    /// Refuses to make so many copies of an image if they are too many bytes, or in too many separate places.
    ///
    /// # Errors
    /// [`OpError::Large`], [`OpError::Scattered`], [`OpError::Memory`].
    pub(super) fn check_copies(self, copies: u64, image: &Image) -> Result<(), OpError> {
        let bytes = copies.saturating_mul(image.len());
        self.check(bytes)?;
        let runs = image.origins().runs().len() as u64;
        let places = copies.saturating_mul(runs);
        if self == Large::Refuse && places > SCATTERED {
            return Err(OpError::Scattered { places });
        }
        // The image itself is there as what is copied, and as a part of what comes of it.
        let beside = copies.saturating_mul(image.places_len());
        let beside = beside.saturating_add(image.len().saturating_mul(3));
        Ok(ask_memory(bytes.saturating_add(beside))?)
    }
}

/// Where a part begins in the address space.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartBase {
    /// At this address.
    At(u64),
    /// At the image's first address, which must be a multiple of the part's size then.
    OfImage,
}

/// Which runs of a byte are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Runs {
    /// All of them.
    All,
    /// Only the one at the image's very end.
    Tail,
}

/// Puts `pattern` into the holes of `range`, or between the first and the last byte; never over data.
///
/// A pattern of several bytes repeats and is aligned to address 0. Returns how many bytes were put.
///
/// # Errors
/// [`OpError::Empty`] without a range on an empty image; [`OpError::Large`].
pub fn fill(
    image: &mut Image,
    pattern: &[u8],
    range: Option<AddressRange>,
    large: Large,
) -> Result<u64, OpError> {
    let range = range.or(image.extent()).ok_or(OpError::Empty)?;
    let made = image.holes(range).map(AddressRange::len).sum();
    large.check(made)?;
    let places = image.places_len();
    ask_memory(image.len().saturating_add(made).saturating_add(places))?;
    match *pattern {
        [] => return Ok(0),
        [byte] => image.fill_holes(range, |_| byte),
        _ => image.fill_holes(range, |a| pattern[(a % pattern.len() as u64) as usize]),
    }
    Ok(made)
}

/// Turns runs of `byte` that are at least `least` bytes long into holes.
///
/// Returns the runs, lowest first.
///
/// # Errors
/// [`OpError::Memory`]: there may be as many runs as bytes.
pub fn hollow(
    image: &mut Image,
    byte: u8,
    least: u64,
    which: Runs,
) -> Result<Vec<AddressRange>, OpError> {
    /// What is left between two runs takes at most so many bytes beside its own, on the way.
    const EACH: u64 = 256;
    let tail_only = which == Runs::Tail;
    let mut runs: Vec<AddressRange> = Vec::new();
    let spans = match image.spans() {
        [.., last] if tail_only => std::slice::from_ref(last),
        all => all,
    };
    for span in spans {
        let end = span.bytes().len();
        let mut at = match tail_only {
            true => span
                .bytes()
                .iter()
                .rposition(|b| *b != byte)
                .map_or(0, |i| i + 1),
            false => 0,
        };
        while let Some(from) = span.bytes()[at..].iter().position(|b| *b == byte) {
            let from = at + from;
            let to = span.bytes()[from..]
                .iter()
                .position(|b| *b != byte)
                .map_or(end, |n| from + n);
            if (to - from) as u64 >= least.max(1) {
                if runs.len() == runs.capacity() {
                    ask_memory((runs.len() as u64 + 1) * EACH)?;
                }
                runs.extend(AddressRange::from_len(
                    span.start() + from as u64,
                    (to - from) as u64,
                ));
            }
            at = to;
        }
    }
    ask_memory(runs.len() as u64 * EACH)?;
    image.remove_all(&runs);
    Ok(runs)
}

/// Addresses of a part of `size` bytes.
fn window(image: &Image, size: u64, base: PartBase) -> Result<AddressRange, OpError> {
    let extent = image.extent();
    let base = match (base, extent) {
        (PartBase::At(base), _) => base,
        (PartBase::OfImage, None) => return Err(OpError::Empty),
        (PartBase::OfImage, Some(extent)) if size > 0 && extent.first() % size == 0 => {
            extent.first()
        }
        (PartBase::OfImage, Some(extent)) => {
            let first = extent.first();
            return Err(OpError::NoBase { first, size });
        }
    };
    let window = AddressRange::from_len(base, size).ok_or(crate::image::OutOfSpace)?;
    let Some(extent) = extent else {
        return Ok(window);
    };
    if extent.first() < base {
        let before = AddressRange::below(base);
        return Err(OpError::Before {
            base,
            first: extent.first(),
            count: before.map_or(0, |b| {
                image.within(b).map(|(_, bytes)| bytes.len() as u64).sum()
            }),
            origin: image.origin_at(extent.first()),
        });
    }
    if extent.last() > window.last() {
        return Err(OpError::After {
            window,
            last: extent.last(),
            count: extent.last() - window.last(),
            origin: image.origin_at(extent.last()),
        });
    }
    Ok(window)
}

/// Extends an image to a part of `size` bytes with `erased`, before its first byte and after its last; inner
/// holes stay.
///
/// Returns the part's addresses.
///
/// # Errors
/// [`OpError::NoBase`], [`OpError::Before`], [`OpError::After`], [`OpError::Large`]; [`OpError::Empty`] when there is
/// neither a byte nor a base.
pub fn pad(
    image: &mut Image,
    size: u64,
    base: PartBase,
    erased: u8,
    large: Large,
) -> Result<AddressRange, OpError> {
    let window = window(image, size, base)?;
    let ends = match image.extent() {
        None => vec![window],
        Some(extent) => {
            let front = extent.first().checked_sub(1);
            let front = front.and_then(|last| AddressRange::new(window.first(), last));
            let back = AddressRange::new(extent.last() + 1, window.last());
            front.into_iter().chain(back).collect()
        }
    };
    let made = ends.iter().map(|r| r.len()).sum();
    large.check(made)?;
    ask_memory(image.len().saturating_add(made))?;
    for end in ends {
        image.fill_holes(end, |_| erased);
    }
    Ok(window)
}

/// Repeats an image until a part of `size` bytes is full. The part is placed as in [`pad`]; the image is what is there from
/// its first to its last byte. Holes are repeated as holes.
///
/// Returns how many copies there are now.
///
/// # Errors
/// As [`pad`], and [`OpError::NotPowerOfTwo`].
pub fn repeat(image: &mut Image, size: u64, base: PartBase, large: Large) -> Result<u64, OpError> {
    let window = window(image, size, base)?;
    let extent = image.extent().ok_or(OpError::Empty)?;
    let length = extent.last() - window.first() + 1;
    for (what, size) in [(Measured::Part, size), (Measured::Image, length)] {
        if !size.is_power_of_two() {
            return Err(OpError::NotPowerOfTwo { what, size });
        }
    }
    large.check(size - length)?;
    let count = size / length;
    large.check_copies(count - 1, image)?;
    // All of them are inside the window.
    let once = std::mem::take(image);
    let (entry, header) = (once.entry, once.header.clone());
    *image = once.copies((0..count).map(|n| i128::from(n * length)))?;
    (image.entry, image.header) = (entry, header);
    Ok(count)
}

/// What happened to the entry point when the image moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    /// How far the image moved.
    pub by: i128,
    /// An entry point that was outside the image and could not move with it: it is dropped.
    pub lost_entry: Option<Entry>,
}

/// Moves an image by `delta` addresses. An entry point inside it moves along; one outside no longer means anything.
///
/// # Errors
/// [`OpError::Wraps`] when an address would fall below 0 or above the last one.
pub fn relocate(image: &mut Image, delta: i128) -> Result<Moved, OpError> {
    let extent = image.extent();
    image
        .shift(delta)
        .map_err(|out_of_space| match image.extent() {
            Some(extent) => OpError::Wraps { extent, by: delta },
            None => out_of_space.into(),
        })?;
    let mut moved = Moved {
        by: delta,
        lost_entry: None,
    };
    if let Some(entry) = image.entry {
        if delta != 0 {
            let inside = extent.is_some_and(|e| e.contains(entry.address()));
            image.entry = match inside {
                true => moved_entry(entry, delta),
                false => None,
            };
            moved.lost_entry = (!inside).then_some(entry);
        }
    }
    Ok(moved)
}

/// An entry point `delta` addresses further on; a segmented one stays segmented if whole segments can be moved.
fn moved_entry(entry: Entry, delta: i128) -> Option<Entry> {
    let address = i128::from(entry.address()).checked_add(delta)?;
    if let Entry::Segmented { cs, ip } = entry {
        if delta % 16 == 0 {
            if let Some(Ok(cs)) = i128::from(cs).checked_add(delta / 16).map(u16::try_from) {
                return Some(Entry::Segmented { cs, ip });
            }
        }
    }
    u64::try_from(address).ok().map(Entry::Linear)
}

/// Moves an image so that its first byte is at `address`.
///
/// # Errors
/// [`OpError::Empty`]; [`OpError::Wraps`].
pub fn relocate_to(image: &mut Image, address: u64) -> Result<Moved, OpError> {
    let extent = image.extent().ok_or(OpError::Empty)?;
    relocate(image, i128::from(address) - i128::from(extent.first()))
}
