//! A board: stores, and the buses that see them.

use std::collections::BTreeSet;

use super::check::{is_name, store};
use super::fault::{BoardFault, Key, Wrong};
use super::spec::{CPU, SocketsSpec};
use super::store::{Store, Window};
use crate::image::AddressRange;

/// The most sockets of one board.
const MOST_SOCKETS: usize = 4096;

/// Which chips are in which sockets, and how each bus sees them. It is always complete and valid.
#[derive(Clone, Debug)]
pub struct Board {
    title: String,
    stores: Vec<Store>,
}

/// A socket of a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Socket {
    /// Which store, counted from 0 in the board's order.
    pub store: usize,
    /// Which row of it, the lowest first.
    pub row: u32,
    /// Which lane of the row.
    pub lane: u32,
}

impl Board {
    /// The board of this description.
    ///
    /// # Errors
    /// [`BoardFault`], which says which word of which description is wrong.
    pub fn new(
        title: impl Into<String>,
        sockets: impl IntoIterator<Item = SocketsSpec>,
    ) -> Result<Self, BoardFault> {
        let mut stores = Vec::new();
        for (index, spec) in sockets.into_iter().enumerate() {
            stores.push(store(index, &spec)?);
        }
        let board = Self {
            title: title.into(),
            stores,
        };
        board.check_names()?;
        board.check_clashes()?;
        Ok(board)
    }

    /// What it is called; may be empty.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Its stores, in the order of the description.
    pub fn stores(&self) -> &[Store] {
        &self.stores
    }

    /// All sockets with a chip, in the order of the description.
    pub fn sockets(&self) -> impl Iterator<Item = (Socket, &str)> {
        self.stores.iter().enumerate().flat_map(|(store, own)| {
            let names = own.names.iter().zip(0usize..);
            names.filter_map(move |(name, place)| {
                Some((own.socket_at(store, place), name.as_deref()?))
            })
        })
    }

    /// The socket of this name; capital and small letters count as the same.
    pub fn socket(&self, name: &str) -> Option<Socket> {
        let name = name.to_lowercase();
        let mut sockets = self.sockets();
        sockets
            .find(|(_, own)| own.to_lowercase() == name)
            .map(|(socket, _)| socket)
    }

    /// What a socket is called; `None` for one that is not there.
    pub fn name(&self, socket: Socket) -> Option<&str> {
        let store = self.stores.get(socket.store)?;
        store.names[store.place_of(socket)?].as_deref()
    }

    /// The buses that see something, each once, `cpu` first, then in the order of the description.
    pub fn spaces(&self) -> Vec<&str> {
        let mut spaces = Vec::new();
        for (_, window) in self.windows() {
            if !spaces.contains(&window.space.as_str()) {
                spaces.push(&window.space);
            }
        }
        spaces.sort_by_key(|space| *space != CPU);
        spaces
    }

    /// All windows with the number of their store.
    pub fn windows(&self) -> impl Iterator<Item = (usize, &Window)> {
        let stores = self.stores.iter().enumerate();
        stores.flat_map(|(store, own)| own.windows.iter().map(move |window| (store, window)))
    }

    /// The sockets of a store in few words, for messages: the names, or the first and the last.
    pub fn names_of(&self, store: usize) -> String {
        let names: Vec<&str> = self.stores[store].names().flatten().collect();
        match &names[..] {
            [] => String::new(),
            [one] => (*one).to_owned(),
            [one, two] => format!("{one} and {two}"),
            [first, .., last] => format!("{first} to {last}"),
        }
    }

    fn check_names(&self) -> Result<(), BoardFault> {
        let fault = |sockets: usize, window: Option<usize>, key: Key, wrong: Wrong| BoardFault {
            sockets,
            window,
            key,
            wrong,
        };
        let mut taken = BTreeSet::new();
        for (index, store) in self.stores.iter().enumerate() {
            for name in store.names().flatten() {
                if !taken.insert(name.to_lowercase()) {
                    let wrong = Wrong::NameTwice(name.to_owned());
                    return Err(fault(index, None, Key::Names, wrong));
                }
            }
            if taken.len() > MOST_SOCKETS {
                let wrong = Wrong::TooMany(taken.len() as u64, MOST_SOCKETS as u64);
                return Err(fault(index, None, Key::Names, wrong));
            }
        }
        for (index, store) in self.stores.iter().enumerate() {
            for (number, window) in store.windows.iter().enumerate() {
                let space = &window.space;
                let known = space == CPU || is_name(space).is_ok();
                let wrong = match known {
                    false => is_name(space).err(),
                    true if taken.contains(&space.to_lowercase()) => {
                        Some(Wrong::NameTwice(space.clone()))
                    }
                    true => None,
                };
                if let Some(wrong) = wrong {
                    return Err(fault(index, Some(number), Key::Space, wrong));
                }
            }
        }
        Ok(())
    }

    /// No two windows answer at one address.
    fn check_clashes(&self) -> Result<(), BoardFault> {
        let mut all: Vec<(usize, usize, &Window)> = Vec::new();
        for (index, store) in self.stores.iter().enumerate() {
            let windows = store.windows.iter().enumerate();
            all.extend(windows.map(|(number, window)| (index, number, window)));
        }
        all.sort_by(|(.., a), (.., b)| {
            (&a.space, a.range.first()).cmp(&(&b.space, b.range.first()))
        });
        for (i, (index, number, window)) in all.iter().enumerate() {
            let later = all[i + 1..].iter();
            let near = later.take_while(|(.., other)| {
                other.space == window.space && other.range.first() <= window.range.last()
            });
            for (other_index, other_number, other) in near {
                let Some((range, bank)) = clash(window, other) else {
                    continue;
                };
                // Reported at the later of the two, since a person reads from the top.
                let here = (*index, *number).max((*other_index, *other_number));
                let there = (*index).min(*other_index);
                return Err(BoardFault {
                    sockets: here.0,
                    window: Some(here.1),
                    key: Key::At,
                    wrong: Wrong::Clash {
                        range,
                        bank,
                        other: self.names_of(there),
                    },
                });
            }
        }
        Ok(())
    }
}

impl Store {
    /// The socket of a place, in the order of [`names`](Self::names); `number` is that of this store.
    pub(super) fn socket_at(&self, number: usize, place: usize) -> Socket {
        let lanes = self.lanes as usize;
        Socket {
            store: number,
            row: (place / lanes) as u32,
            lane: (place % lanes) as u32,
        }
    }

    /// The place of a socket of this store, whether there is a chip or not.
    pub(super) fn place_of(&self, socket: Socket) -> Option<usize> {
        let place = socket.row as usize * self.lanes as usize + socket.lane as usize;
        (socket.lane < self.lanes && place < self.names.len()).then_some(place)
    }
}

/// The first addresses at which both answer, and the bank, where both are switched.
fn clash(one: &Window, other: &Window) -> Option<(AddressRange, Option<u64>)> {
    let bank = match (one.banks, other.banks) {
        (Some((a, b)), Some((c, d))) => match a.max(c) <= b.min(d) {
            true => Some(a.max(c)),
            false => return None,
        },
        (Some((first, _)), None) | (None, Some((first, _))) => Some(first),
        (None, None) => None,
    };
    let mut left = one.range.overlap(other.range)?;
    let mut except: Vec<AddressRange> = one.except.iter().chain(&other.except).copied().collect();
    except.sort_by_key(|range| range.first());
    for range in except {
        if range.first() > left.first() {
            if range.first() <= left.last() {
                left = AddressRange::new(left.first(), range.first() - 1)?;
            }
            break;
        }
        if range.last() >= left.first() {
            left = AddressRange::new(range.last() + 1, left.last())?;
        }
    }
    Some((left, bank))
}
