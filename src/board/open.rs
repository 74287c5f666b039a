//! Chips opened to be read and changed through the buses of their board, and closed again.

use super::address::Answer;
use super::bulk::merged;
use super::hardware::{Board, Socket};
use super::lay::in_bank;
use crate::image::{AddressRange, Image, Origin};
use crate::wiring::WiringError;

/// Chips of a board, as stores. Each store is put together once, however many banks are looked at.
pub struct Opened<'a> {
    board: &'a Board,
    /// In the order of their sockets.
    chips: Vec<(Socket, &'a Image)>,
    contents: Vec<Option<Image>>,
    changed: Vec<bool>,
}

/// Why bytes can't be put where a bus should see them.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PutError {
    /// Nothing answers at an address.
    #[error("nothing answers at {space}:0x{address:04X}{}", from(.origin))]
    Nothing {
        /// The bus.
        space: String,
        /// The address.
        address: u64,
        /// Where the byte for it came from.
        origin: Option<Origin>,
    },
    /// The chip there is not one of those that are worked on.
    #[error("0x{address:04X} is in the chip {name}, which this step does not work on")]
    OtherChip {
        /// The address on the bus.
        address: u64,
        /// The chip.
        name: String,
    },
    /// Half a word where the board's data lines need a whole one.
    #[error(transparent)]
    Wiring(#[from] WiringError),
}

crate::prose::debug_as_display!(PutError);

fn from(origin: &Option<Origin>) -> String {
    origin.as_ref().map_or(String::new(), |o| format!(" ({o})"))
}

impl<'a> Opened<'a> {
    /// These chips of a board; its other sockets count as empty.
    pub fn new(board: &'a Board, mut chips: Vec<(Socket, &'a Image)>) -> Self {
        chips.sort_by_key(|(socket, _)| *socket);
        Self {
            board,
            chips,
            contents: board.stores().iter().map(|_| None).collect(),
            changed: board.stores().iter().map(|_| false).collect(),
        }
    }

    /// What a bus sees in a bank, in these of its addresses.
    ///
    /// # Errors
    /// [`WiringError`] where data lines are soldered otherwise and half a word is a hole.
    pub fn see(
        &mut self,
        space: &str,
        bank: Option<u64>,
        ranges: &[AddressRange],
    ) -> Result<Image, WiringError> {
        let mut parts = Vec::new();
        for number in 0..self.board.stores().len() {
            let store = &self.board.stores()[number];
            for window in store.windows() {
                if window.space() != space || !in_bank(window, bank) {
                    continue;
                }
                for range in ranges {
                    if window.range().overlap(*range).is_some() {
                        let content = self.content(number)?;
                        parts.extend(window.out_of_store(store, bank, content, *range));
                    }
                }
            }
        }
        // No two windows answer at one address, and where ranges overlap they have the same bytes.
        Ok(merged(parts).unwrap_or_default())
    }

    /// Puts into the chips what has changed between two views of the same addresses.
    ///
    /// # Errors
    /// [`PutError`] for a byte that nothing on the bus would show.
    pub fn put(
        &mut self,
        space: &str,
        bank: Option<u64>,
        before: &Image,
        after: &Image,
    ) -> Result<(), PutError> {
        for range in differences(before, after) {
            let mut left = after.slice(range);
            for number in 0..self.board.stores().len() {
                let store = &self.board.stores()[number];
                for window in store.windows() {
                    let shown = window.range().overlap(range);
                    let Some(shown) =
                        shown.filter(|_| window.space() == space && in_bank(window, bank))
                    else {
                        continue;
                    };
                    let mut gone = before.slice(shown);
                    let mut new = after.slice(shown);
                    new.remove_all(window.except());
                    gone.remove_all(window.except());
                    let put: Vec<AddressRange> = new.ranges().collect();
                    // What only changes is changed where it is: a large store is never cut in two for a few bytes.
                    gone.remove_all(&put);
                    let holes: Vec<Image> = window.to_store(store, bank, &gone);
                    let parts = window.to_store(store, bank, &new);
                    let content = self.content(number)?;
                    for span in holes.iter().flat_map(Image::spans) {
                        content.remove(span.range());
                    }
                    for part in parts {
                        // The last one wins: there is nothing to refuse.
                        let _ = content.merge(part, crate::image::Clash::Last);
                    }
                    self.changed[number] = true;
                    left.remove_all(&put);
                }
            }
            if let Some(extent) = left.extent() {
                let address = extent.first();
                return Err(PutError::Nothing {
                    space: space.to_owned(),
                    address,
                    origin: left.origin_at(address),
                });
            }
        }
        Ok(())
    }

    /// The chips whose stores have changed, with their new content. Those that were not given have none.
    ///
    /// # Errors
    /// [`PutError::OtherChip`] where a byte went into a chip that was not given.
    pub fn close(self) -> Result<Vec<(Socket, Image)>, PutError> {
        let mut out = Vec::new();
        for (number, content) in self.contents.into_iter().enumerate() {
            let Some(content) = content.filter(|_| self.changed[number]) else {
                continue;
            };
            let store = &self.board.stores()[number];
            for (place, image) in store.to_chips(content)?.into_iter().enumerate() {
                let socket = store.socket_at(number, place);
                if self
                    .chips
                    .binary_search_by_key(&socket, |(own, _)| *own)
                    .is_ok()
                {
                    out.push((socket, image));
                } else if let Some(extent) = image.extent() {
                    let seen = self.board.seen(socket, extent.first());
                    return Err(PutError::OtherChip {
                        address: seen.first().map_or(extent.first(), |seen| seen.address),
                        name: self.board.name(socket).unwrap_or("-").to_owned(),
                    });
                }
            }
        }
        Ok(out)
    }

    fn content(&mut self, number: usize) -> Result<&mut Image, WiringError> {
        if self.contents[number].is_none() {
            let store = &self.board.stores()[number];
            let places = self.board.places(number, &self.chips);
            self.contents[number] = Some(store.of_chips(places)?);
        }
        Ok(self.contents[number].get_or_insert_with(Image::new))
    }
}

impl Board {
    /// The banks at which something answers in these ranges of a bus, in order, each once.
    pub fn banks_in(&self, space: &str, ranges: &[AddressRange]) -> Vec<u64> {
        let windows = self.windows().filter(|(_, w)| w.space() == space);
        let mut banks: Vec<u64> = windows
            .filter(|(_, w)| ranges.iter().any(|r| w.range().overlap(*r).is_some()))
            .filter_map(|(_, w)| w.banks())
            .flat_map(|(first, last)| first..=last)
            .collect();
        banks.sort_unstable();
        banks.dedup();
        banks
    }

    /// The first address of a range that needs a bank, and the banks there are: `bank` is the one that was named.
    pub fn open_at(
        &self,
        space: &str,
        bank: Option<u64>,
        range: AddressRange,
    ) -> Option<(u64, (u64, u64))> {
        let windows = self.windows().filter(|(_, w)| w.space() == space);
        let open = windows.filter_map(|(_, w)| {
            let banks = w.banks()?;
            let address = w.range().overlap(range)?.first();
            match self.at(space, bank, address) {
                Answer::Switched(_) | Answer::OtherBank(_) => Some((address, banks)),
                _ => None,
            }
        });
        open.min()
    }

    /// Two bytes of a chip that a bus can't tell apart, and that differ: a line between them is open.
    pub fn unequal(&self, socket: Socket, chip: &Image) -> Option<(u64, u64)> {
        self.unlike(socket, chip, |lower, upper| lower != upper)
    }

    /// As [`unequal`](Self::unequal), but `differ` decides which pairs differ; it is asked only about unequal ones.
    pub(super) fn unlike(
        &self,
        socket: Socket,
        chip: &Image,
        differ: impl Fn(Option<u8>, Option<u8>) -> bool,
    ) -> Option<(u64, u64)> {
        let store = self.stores().get(socket.store)?;
        let unit = match store.part().width {
            16 => 2,
            _ => 1,
        };
        let mut lines: Vec<u8> = store
            .windows()
            .iter()
            .flat_map(|w| &w.any)
            .copied()
            .collect();
        lines.sort_unstable();
        lines.dedup();
        for line in lines {
            let block = unit << line;
            for start in (0..store.part().bytes()).step_by((2 * block) as usize) {
                let low = AddressRange::from_len(start, block)?;
                let high = AddressRange::from_len(start + block, block)?;
                let mut upper = chip.slice(high);
                upper.shift(-i128::from(block)).ok()?;
                let lower = chip.slice(low);
                if lower.same_bytes(&upper) {
                    continue;
                }
                let unlike = |at: &u64| match (lower.byte(*at), upper.byte(*at)) {
                    (lower, upper) if lower == upper => false,
                    (lower, upper) => differ(lower, upper),
                };
                if let Some(at) = (start..start + block).find(unlike) {
                    return Some((at, at + block));
                }
            }
        }
        None
    }
}

/// The ranges in which two images differ, in bytes or holes.
fn differences(before: &Image, after: &Image) -> Vec<AddressRange> {
    let mut out: Vec<AddressRange> = Vec::new();
    for (one, other) in [(before, after), (after, before)] {
        for span in one.spans() {
            for (at, byte) in (span.start()..).zip(span.bytes()) {
                if other.byte(at) != Some(*byte) {
                    match out.last_mut().filter(|last| last.last() + 1 == at) {
                        Some(last) => {
                            *last = last.hull(AddressRange::from_len(at, 1).unwrap_or(*last))
                        }
                        None => out.extend(AddressRange::from_len(at, 1)),
                    }
                }
            }
        }
    }
    out.sort_unstable_by_key(|range| range.first());
    let mut joined: Vec<AddressRange> = Vec::new();
    for range in out {
        match joined
            .last_mut()
            .filter(|last| last.last().saturating_add(1) >= range.first())
        {
            Some(last) => *last = last.hull(range),
            None => joined.push(range),
        }
    }
    joined
}
