//! Chips as a bus sees them: to look at, to change, and to put together again.

use std::collections::BTreeMap;

use super::bulk::merged;
use super::halves::ranges_of;
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
    /// What no bus shows in any bank, at addresses of the chip's file, without the content of unused cells. A byte of which a
    /// bus shows some bits and not the others is here too, and so is what is past the end of the part, or in a socket that the board
    /// does not have.
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
        let mut chips = chips.to_vec();
        chips.sort_by_key(|(socket, _)| *socket);
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
            let content = store.of_chips(self.places(number, &chips))?;
            for (window, range) in wanted {
                parts.extend(window.out_of_store(store, bank, &content, range));
            }
        }
        // No two windows answer at one address, and equal ranges show the same bytes.
        Ok(merged(parts).unwrap_or_default())
    }

    /// The chips of a store in the order of its places; they come in the order of their sockets.
    pub(super) fn places(&self, store: usize, chips: &[(Socket, &Image)]) -> Vec<Option<Image>> {
        let own = &self.stores()[store];
        let mut places = vec![None; own.names().count()];
        let first = chips.partition_point(|(socket, _)| socket.store < store);
        let chips = chips[first..].iter();
        for (socket, image) in chips.take_while(|(socket, _)| socket.store == store) {
            if let Some(place) = own.place_of(*socket) {
                places[place].get_or_insert_with(|| Image::clone(image));
            }
        }
        places
    }

    /// The way back from chips that were read: for each bus what it always sees, and for each bank what only that shows.
    ///
    /// Chips whose images nobody else has give their memory back while they are put together. Of two images of one socket the
    /// first counts.
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
    fn parted(&self, chips: Vec<(Socket, Image)>) -> Result<Unseating, WiringError> {
        let mut fixed: Vec<Unseated> = Vec::new();
        let mut banks: Vec<Unseated> = Vec::new();
        let mut unshown: BTreeMap<Socket, Vec<Image>> = BTreeMap::new();
        let stores = self.stores().iter();
        let mut all: Vec<Vec<Option<Image>>> = stores
            .map(|store| vec![None; store.names().count()])
            .collect();
        for (socket, mut chip) in chips {
            let store = self.stores().get(socket.store);
            let place = store.and_then(|store| Some((store, store.place_of(socket)?)));
            let left = unshown.entry(socket).or_default();
            match place {
                Some((store, place)) if all[socket.store][place].is_none() => {
                    left.push(chip.split_off(store.part().bytes()));
                    all[socket.store][place] = Some(chip);
                }
                None if left.is_empty() => left.push(chip),
                _ => {}
            }
        }
        for (number, (store, mut places)) in self.stores().iter().zip(all).enumerate() {
            let Some(first) = places.iter().position(Option::is_some) else {
                continue;
            };
            let socket_of = |place: usize| store.socket_at(number, place);
            let socket = socket_of(first);
            for (place, alone) in store.half_bytes(&mut places) {
                unshown.entry(socket_of(place)).or_default().push(alone);
            }
            let mut content = store.of_chips(places)?;
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
            for (place, image) in store.left_over(content, whole)?.into_iter().enumerate() {
                if !image.is_empty() {
                    unshown.entry(socket_of(place)).or_default().push(image);
                }
            }
        }
        fixed.extend(banks);
        let unshown = unshown.into_iter().map(|(socket, parts)| {
            let mut image = Image::gather_apart(parts);
            if let Some(store) = self.stores().get(socket.store) {
                // Past the end of the part no cell is unused.
                let beyond = image.split_off(store.part().bytes());
                image.remove_all(&ranges_of(&image, store.filler()));
                image = Image::gather_apart(vec![image, beyond]);
            }
            (socket, image)
        });
        Ok(Unseating {
            seen: fixed,
            unshown: unshown.filter(|(_, image)| !image.is_empty()).collect(),
        })
    }
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
