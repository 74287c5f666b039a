//! Changing bytes in place: swap, patch, mark.

use super::copy::data_at;
use super::{OpError, OverData};
use crate::image::{AddressRange, Image, OutOfSpace, Source, ask_memory};
use crate::values::{self, Place};

/// Reverses the byte order in each word of `width` bytes; words begin at multiples of `width`.
///
/// # Errors
/// [`OpError::BrokenWord`] when a word has a hole in it.
pub fn swap(image: &mut Image, width: u64) -> Result<(), OpError> {
    let width = width.max(1);
    whole_words(image, width)?;
    image.edit_bytes(|_, bytes| {
        match width {
            // With a constant width the compiler reverses many words at once.
            2 => bytes.chunks_exact_mut(2).for_each(<[u8]>::reverse),
            4 => bytes.chunks_exact_mut(4).for_each(<[u8]>::reverse),
            _ => (bytes.chunks_exact_mut(width as usize)).for_each(<[u8]>::reverse),
        }
        Ok(())
    })
}

/// Refuses an image in which a word of `width` bytes is incomplete.
///
/// # Errors
/// [`OpError::BrokenWord`].
fn whole_words(image: &Image, width: u64) -> Result<(), OpError> {
    match image.broken_word(width) {
        Some((word, hole)) => Err(OpError::BrokenWord { word, hole }),
        None => Ok(()),
    }
}

/// One change: bytes at an address, and what must be there before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Patch {
    /// Where.
    pub address: u64,
    /// What must be there, if that matters.
    pub was: Option<Vec<u8>>,
    /// What will be there.
    pub now: Vec<u8>,
}

/// A patch of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListedPatch {
    /// Its line, counted from 1.
    pub line: usize,
    /// The place that its address belongs to.
    pub place: Place,
    /// The patch.
    pub patch: Patch,
}

/// A patch that put bytes where there was a hole: allowed, but often the address is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PatchedHole(pub AddressRange);

impl Patch {
    /// What is there instead of the bytes that must be there; `None` where they are, or where it does not matter.
    ///
    /// # Errors
    /// None: the answer itself is an error, an [`OpError::NotAsWas`].
    pub fn objection(&self, image: &Image) -> Option<OpError> {
        let was = self.was.as_ref()?;
        let found: Vec<Option<u8>> = (0..was.len() as u64)
            .map(|i| image.byte(self.address.saturating_add(i)))
            .collect();
        let fits = (found.iter().zip(was)).all(|(found, was)| *found == Some(*was));
        (!fits).then(|| OpError::NotAsWas {
            address: self.address,
            found,
            was: was.clone(),
        })
    }
}

/// Puts the patches in, one after another. All `was` are checked before anything changes.
///
/// # Errors
/// [`OpError::NotAsWas`]; [`OpError::OutOfSpace`].
pub fn patch(image: &mut Image, patches: &[Patch]) -> Result<Vec<PatchedHole>, OpError> {
    let place = |patch: &Patch| {
        AddressRange::from_len(patch.address, patch.now.len() as u64).ok_or(OutOfSpace)
    };
    let mut holes = Vec::new();
    for patch in patches {
        holes.extend(image.holes(place(patch)?).map(PatchedHole));
        if let Some(objection) = patch.objection(image) {
            return Err(objection);
        }
    }
    let parts = patches.iter().map(|p| (p.address, p.now.clone()));
    image.put_all(parts, Source::Patch)?;
    Ok(holes)
}

/// Reads a list of patches, one a line: `0x7F10 was A9 00 now A9 01`, or `0x7F10 now A9 01`. There may be a place before the
/// address, such as `cpu:` or `bank3:`. There must be as many new bytes as old ones.
///
/// A `#` at the beginning of a line or after a blank starts a comment. A text keeps the blanks inside it, but not those
/// at its end; write these, and `#` or the word `now` after a blank, as `\xNN`.
///
/// # Errors
/// [`OpError::PatchLine`].
pub fn patch_list(text: &str) -> Result<Vec<ListedPatch>, OpError> {
    let mut out = Vec::new();
    for (i, line) in text.lines().enumerate() {
        let line = without_comment(line).trim();
        if line.is_empty() {
            continue;
        }
        let wrong = |problem: String| OpError::PatchLine {
            line: i + 1,
            problem,
        };
        let bytes = |words: &str| values::bytes(words).map_err(|e| wrong(e.to_string()));
        let (place, now) =
            split_at_word(line, "now").ok_or_else(|| wrong("the word `now` is missing".into()))?;
        let (address, was) = match split_at_word(place, "was") {
            Some((address, was)) => (address, Some(bytes(was)?)),
            None => (place, None),
        };
        if address.is_empty() || address.contains(char::is_whitespace) {
            return Err(wrong(
                "expected an address, `was` and the old bytes before `now`".into(),
            ));
        }
        let at = values::address(address).map_err(|e| wrong(e.to_string()))?;
        let now = bytes(now)?;
        if let Some(was) = was.as_ref().filter(|was| was.len() != now.len()) {
            return Err(wrong(format!(
                "there are {} old bytes and {} new ones, which must be equally many",
                was.len(),
                now.len()
            )));
        }
        out.push(ListedPatch {
            line: i + 1,
            place: at.place,
            patch: Patch {
                address: at.value,
                was,
                now,
            },
        });
    }
    Ok(out)
}

fn without_comment(line: &str) -> &str {
    let begins = |i: &usize| {
        line[..*i]
            .chars()
            .next_back()
            .is_none_or(char::is_whitespace)
    };
    let mut marks = line.match_indices('#').map(|(i, _)| i);
    marks.find(begins).map_or(line, |i| &line[..i])
}

/// What comes before and after the first `word` with blanks around it, without these blanks.
fn split_at_word<'a>(line: &'a str, word: &str) -> Option<(&'a str, &'a str)> {
    let alone = |i: &usize| {
        let (before, behind) = (&line[..*i], &line[i + word.len()..]);
        before.chars().next_back().is_none_or(char::is_whitespace)
            && behind.chars().next().is_none_or(char::is_whitespace)
    };
    let at = line.match_indices(word).map(|(i, _)| i).find(alone)?;
    Some((line[..at].trim(), line[at + word.len()..].trim()))
}

/// Puts text at `address`; `length` is the size of its place, the rest of it filled with `with`. Holes, filler and other
/// marks are replaced, anything else only when `over` says so. Returns the place.
///
/// # Errors
/// [`OpError::TextTooLong`], [`OpError::MarkOverData`], [`OpError::OutOfSpace`].
pub fn mark(
    image: &mut Image,
    address: u64,
    text: &[u8],
    length: Option<u64>,
    with: u8,
    over: OverData,
) -> Result<AddressRange, OpError> {
    let has = text.len() as u64;
    let length = length.unwrap_or(has);
    if has > length {
        return Err(OpError::TextTooLong { has, length });
    }
    super::Large::Refuse.check(length)?;
    let place = AddressRange::from_len(address, length).ok_or(OutOfSpace)?;
    if over == OverData::Refuse {
        let own = |source: &Source| matches!(source, Source::Mark);
        if let Some(origin) = data_at(image, place, own) {
            return Err(OpError::MarkOverData { place, origin });
        }
    }
    // What others have too is copied beside it.
    ask_memory(length.saturating_mul(2).saturating_add(image.shared_len()))?;
    let mut bytes = text.to_vec();
    bytes.resize(length as usize, with);
    image.put(address, bytes, Source::Mark)?;
    Ok(place)
}
