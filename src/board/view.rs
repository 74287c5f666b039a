//! Chips as a bus sees them: to look at, to change, and to put together again.

use super::bulk::merged;
use super::hardware::{Board, Socket};
use super::lay::in_bank;
use super::store::{Store, Window};
use crate::image::{AddressRange, Image};
use crate::wiring::WiringError;

/// Why chips that were read can't be put together.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum UnseatError {
    /// Two bytes of a chip that are the same for a bus, because a line between them is open.
    #[error("0x{:04X} and 0x{:04X} of {name} are one cell for the board, but contain {} and {}", .addresses.0, .addresses.1, shown(.bytes.0), shown(.bytes.1))]
    Unequal {
        /// The socket.
        name: String,
        /// The two addresses in the chip's file.
        addresses: (u64, u64),
        /// What is there; `None` for a hole.
        bytes: (Option<u8>, Option<u8>),
    },
    /// Half a word where the board's data lines need a whole one.
    #[error(transparent)]
    Wiring(#[from] WiringError),
}

crate::prose::debug_as_display!(UnseatError);

fn shown(byte: Option<u8>) -> String {
    byte.map_or("nothing".into(), |byte| format!("{byte:02X}"))
}

/// The content of chips that were read, as the buses see it. Each cell comes out once.
#[derive(Clone, Debug)]
pub struct Unseated {
    /// The bus.
    pub space: String,
    /// The bank and the first socket of the chips that it is in; `None` for what is always seen.
    pub bank: Option<(u64, Socket)>,
    /// The bytes, at bus addresses.
    pub image: Image,
}

/// Chips that were read, put together.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Unseating {
    /// What the buses see.
    pub seen: Vec<Unseated>,
    /// What no bus shows in any bank, at addresses of the chip's file, without the content of unused cells.
    pub unshown: Vec<(Socket, Image)>,
}

impl Board {
    /// What a bus sees of these chips in a bank, in the given ranges. A socket without a chip gives holes.
    ///
    /// # Errors
    /// [`WiringError`] where data lines are soldered otherwise and half a word is a hole.
    pub fn view(
        &self,
        chips: &[(Socket, &Image)],
        space: &str,
        bank: Option<u64>,
        ranges: &[AddressRange],
    ) -> Result<Image, WiringError> {
        let mut parts = Vec::new();
        for (number, store) in self.stores().iter().enumerate() {
            let windows = store.windows().iter();
            let windows = windows.filter(|w| w.space() == space && in_bank(w, bank));
            let wanted: Vec<_> = windows
                .flat_map(|w| ranges.iter().map(move |range| (w, *range)))
                .filter(|(w, range)| w.range().overlap(*range).is_some())
                .collect();
            if wanted.is_empty() {
                continue;
            }
            let content = store.of_chips(self.places(number, chips))?;
            for (window, range) in wanted {
                parts.extend(window.out_of_store(store, bank, &content, range));
            }
        }
        // No two windows answer at one address, and equal ranges show the same bytes.
        Ok(merged(parts).unwrap_or_default())
    }

    /// The chips of a store in the order of its places.
    pub(super) fn places(&self, store: usize, chips: &[(Socket, &Image)]) -> Vec<Option<Image>> {
        let own = &self.stores()[store];
        let lanes = own.lanes() as usize;
        let places = 0..own.names().count();
        places
            .map(|place| {
                let socket = Socket {
                    store,
                    row: (place / lanes) as u32,
                    lane: (place % lanes) as u32,
                };
                let mut chips = chips.iter();
                chips
                    .find(|(own, _)| *own == socket)
                    .map(|(_, image)| Image::clone(image))
            })
            .collect()
    }

    /// The way back from chips that were read: for each bus what it always sees, and for each bank what only that shows.
    ///
    /// Chips whose images nobody else has give their memory back while they are put together.
    ///
    /// # Errors
    /// [`UnseatError`]: cells that a bus can't tell apart and that differ, so that one of them would be lost.
    pub fn unseat(&self, chips: Vec<(Socket, Image)>) -> Result<Unseating, UnseatError> {
        for (socket, chip) in &chips {
            // A chip of which only the lower bytes were read loses nothing.
            let lost = |lower, upper: Option<u8>| upper.is_some() && lower != upper;
            if let Some(addresses) = self.unlike(*socket, chip, lost) {
                return Err(UnseatError::Unequal {
                    name: self.name(*socket).unwrap_or("-").to_owned(),
                    addresses,
                    bytes: (chip.byte(addresses.0), chip.byte(addresses.1)),
                });
            }
        }
        Ok(self.parted(chips)?)
    }

    /// What buses see of chips, and what is left of them.
    fn parted(&self, mut chips: Vec<(Socket, Image)>) -> Result<Unseating, WiringError> {
        let mut fixed: Vec<Unseated> = Vec::new();
        let mut banks: Vec<Unseated> = Vec::new();
        let mut unshown = Vec::new();
        for (number, store) in self.stores().iter().enumerate() {
            let there: Vec<(Socket, &Image)> = chips.iter().map(|(s, i)| (*s, i)).collect();
            let places = self.places(number, &there);
            let is_there: Vec<bool> = places.iter().map(Option::is_some).collect();
            let Some(first) = is_there.iter().position(|there| *there) else {
                continue;
            };
            chips.retain(|(socket, _)| socket.store != number);
            let mut content = store.of_chips(places)?;
            let lanes = store.lanes() as usize;
            let socket = Socket {
                store: number,
                row: (first / lanes) as u32,
                lane: (first % lanes) as u32,
            };
            // While there are two of it, what is left after each bank is cut out shares its memory and need not be moved.
            let whole = content.clone();
            // What is always seen comes first, so that a bank has only what nothing else shows.
            let mut windows: Vec<_> = store.windows().iter().collect();
            windows.sort_by_key(|window| window.banks());
            for window in windows {
                let positions = match window.banks() {
                    None => vec![None],
                    Some((first, last)) => (first..=last).map(Some).collect(),
                };
                for bank in positions {
                    let image = taken(store, window, bank, &mut content);
                    if image.is_empty() {
                        continue;
                    }
                    let space = window.space().to_owned();
                    let (list, bank) = match bank {
                        None => (&mut fixed, None),
                        Some(bank) => (&mut banks, Some((bank, socket))),
                    };
                    match list
                        .iter_mut()
                        .find(|other| other.space == space && other.bank == bank)
                    {
                        Some(other) => {
                            let both = vec![std::mem::take(&mut other.image), image];
                            other.image = merged(both).unwrap_or_default();
                        }
                        None => list.push(Unseated { space, bank, image }),
                    }
                }
            }
            drop(whole);
            // With crossed data lines, half words that no bus shows can't be worked out bit by bit.
            let left = store.to_chips(content).unwrap_or_default();
            for (place, image) in left.into_iter().enumerate() {
                let socket = Socket {
                    store: number,
                    row: (place / lanes) as u32,
                    lane: (place % lanes) as u32,
                };
                let image = without(image, store.filler());
                if is_there[place] && !image.is_empty() {
                    unshown.push((socket, image));
                }
            }
        }
        fixed.extend(banks);
        Ok(Unseating {
            seen: fixed,
            unshown,
        })
    }
}

/// An image without the bytes that have this value.
fn without(mut image: Image, value: u8) -> Image {
    let mut other: Vec<AddressRange> = Vec::new();
    for span in image.spans() {
        for (at, _) in (span.start()..)
            .zip(span.bytes())
            .filter(|(_, own)| **own != value)
        {
            match other.last_mut().filter(|last| last.last() + 1 == at) {
                Some(last) => *last = AddressRange::new(last.first(), at).unwrap_or(*last),
                None => other.extend(AddressRange::from_len(at, 1)),
            }
        }
    }
    image.keep(&other);
    image
}

/// What a window shows of a content, which does not show it again.
fn taken(store: &Store, window: &Window, bank: Option<u64>, content: &mut Image) -> Image {
    let mut parts = Vec::new();
    // A mirrored window shows its bytes more than once.
    let once = window.shown * store.word_bytes();
    let starts = (0..window.range().len()).step_by(once as usize);
    for start in starts {
        let len = once.min(window.range().len() - start);
        let range = AddressRange::from_len(window.range().first() + start, len);
        let shown = range.map(|range| window.out_of_store(store, bank, content, range));
        let image = merged(shown.unwrap_or_default()).unwrap_or_default();
        for part in window.to_store(store, bank, &image) {
            for span in part.spans() {
                content.remove(span.range());
            }
        }
        parts.push(image);
    }
    merged(parts).unwrap_or_default()
}
