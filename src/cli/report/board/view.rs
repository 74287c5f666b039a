//! A board for scripts, and what its text is made of.

use serde::Serialize;

use crate::board::{Board, Level, Store, Window, Wire};
use crate::cli::report::address::RangeView;
use crate::sums::Order;

/// What is told of one window at most, and unseen ranges of one chip.
const MOST: usize = 1024;

/// A board.
#[derive(Serialize)]
pub struct BoardReport {
    /// Its title; may be empty.
    pub(super) title: String,
    /// The buses that see something, `cpu` first.
    pub(super) buses: Vec<BusView>,
    /// All sockets with a chip, in the order of the description.
    pub(super) sockets: Vec<SocketView>,
}

/// A bus.
#[derive(Serialize)]
pub(super) struct BusView {
    /// Its name.
    pub space: String,
    /// From the first address at which something answers to the last.
    pub range: RangeView,
    /// Where chips answer, by address.
    pub windows: Vec<WindowView>,
    /// Ranges between them at which nothing does.
    pub nothing: Vec<RangeView>,
}

/// A window.
#[derive(Serialize)]
pub(super) struct WindowView {
    /// Its bus addresses.
    pub range: RangeView,
    /// The sockets that it shows something of.
    pub sockets: Vec<String>,
    /// The positions of a switch at which it answers; `None` for always.
    pub banks: Option<RangeView>,
    /// What switches them, in words; may be empty.
    pub by: String,
    /// Pins that the switch sets, the position's lowest bit first; `/` before a complement.
    pub switch: Vec<String>,
    /// Address pins that are held, such as `A15=1`, or `A15=any` for an open one.
    pub tied: Vec<String>,
    /// Whether it shows bytes more than once.
    pub mirrored: bool,
    /// Where something else answers.
    pub except: Vec<RangeView>,
    /// What it shows, by bank and address.
    pub shows: Vec<ShownView>,
    /// How many lines more there would be; `None` where they were not counted.
    pub shows_left_out: Option<u64>,
}

/// A stretch of a window.
#[derive(Clone, Serialize)]
pub(super) struct ShownView {
    /// The position of the switch; `None` for always.
    pub bank: Option<u64>,
    /// Bus addresses.
    pub bus: RangeView,
    /// The sockets side by side that answer there.
    pub sockets: Vec<String>,
    /// Bytes of each chip's file.
    pub chip: RangeView,
}

/// A socket.
#[derive(Serialize)]
pub(super) struct SocketView {
    /// Its name.
    pub name: String,
    /// The part.
    pub part: String,
    /// Bytes of the chip's file.
    pub bytes: u64,
    /// The row, the lowest first.
    pub row: u32,
    /// The lane of the row.
    pub lane: u32,
    /// Data lines of the bus that the chip is on, first and last.
    pub data_lines: RangeView,
    /// Which byte of a 16-bit word has the lower bus address; of wider or other chips, what names the data lines.
    pub order: &'static str,
    /// The content of unused cells.
    pub filler: u8,
    /// Pins on which another line is soldered than their name says.
    pub wires: Vec<WireView>,
    /// A remark; may be empty.
    pub note: String,
    /// Bytes of its file that no bus sees; `None` where they could not be counted.
    pub unseen_bytes: Option<u64>,
    /// Where they are.
    pub unseen: Vec<RangeView>,
    /// How many ranges more there would be.
    pub unseen_left_out: u64,
}

/// A pin, and the line that arrives there.
#[derive(Serialize)]
pub(super) struct WireView {
    /// `A12`, `D3`.
    pub pin: String,
    /// The same of the line, `/` before a complement.
    pub line: String,
}

impl BoardReport {
    /// All that is told of a board.
    pub fn new(board: &Board) -> Self {
        let spaces = board.spaces();
        let buses = spaces.iter().filter_map(|space| bus(board, space));
        Self {
            title: board.title().to_owned(),
            buses: buses.collect(),
            sockets: sockets(board),
        }
    }
}

fn bus(board: &Board, space: &str) -> Option<BusView> {
    let mut windows: Vec<WindowView> = board
        .windows()
        .filter(|(_, window)| window.space() == space)
        .map(|(store, window)| window_view(board, store, window))
        .collect();
    windows.sort_by_key(|w| (w.range.first, w.banks.map(|banks| banks.first)));
    let first = windows.iter().map(|w| w.range.first).min()?;
    let last = windows.iter().map(|w| w.range.last).max()?;
    Some(BusView {
        space: space.to_owned(),
        range: RangeView { first, last },
        windows,
        nothing: views(&board.unanswered(space)),
    })
}

pub(super) fn views(ranges: &[crate::image::AddressRange]) -> Vec<RangeView> {
    ranges.iter().map(|range| (*range).into()).collect()
}

/// The names of a row's sockets.
pub(super) fn row_names(store: &Store, row: u32) -> Vec<String> {
    let lanes = store.lanes() as usize;
    let names = store.names().skip(row as usize * lanes).take(lanes);
    names.flatten().map(str::to_owned).collect()
}

fn window_view(board: &Board, number: usize, window: &Window) -> WindowView {
    let store = &board.stores()[number];
    let banks = match window.banks() {
        None => vec![None],
        // No more than are told.
        Some((first, last)) => {
            let last = last.min(first.saturating_add(MOST as u64));
            (first..=last).map(Some).collect()
        }
    };
    let positions = window.banks().map_or(1, |(first, last)| last - first + 1);
    let mut shows = Vec::new();
    let mut all = Some(0u64);
    for bank in &banks {
        match store.shown(window, *bank) {
            Some(stretches) => {
                all = all.map(|all| all + stretches.len() as u64);
                let room = MOST.saturating_sub(shows.len());
                shows.extend(stretches.iter().take(room).map(|stretch| ShownView {
                    bank: *bank,
                    bus: stretch.bus.into(),
                    sockets: row_names(store, stretch.row),
                    chip: stretch.chip.into(),
                }));
            }
            None => all = None,
        }
        if shows.len() >= MOST || all.is_none() {
            break;
        }
    }
    let told = shows.len() as u64;
    // All positions of a switch show equally many stretches, as all go through the same pins.
    let each = all.map(|all| all / banks.len().max(1) as u64);
    let left_out = match (all, each) {
        (Some(all), _) if (banks.len() as u64) == positions && all == told => Some(0),
        (Some(_), Some(0)) | (None, _) => None,
        (Some(_), Some(each)) => Some((each * positions).saturating_sub(told)),
        (Some(_), None) => None,
    };
    let lines = store.part().address_lines();
    let line = |pin: u8, inverted: bool| {
        let complement = if inverted { "/" } else { "" };
        match pin < lines {
            true => format!("{complement}A{pin}"),
            // This is not a pin of a chip: it selects among chips.
            false => format!("{complement}select{}", pin - lines),
        }
    };
    WindowView {
        range: window.range().into(),
        sockets: sockets_of(store, &shows),
        banks: window
            .banks()
            .map(|(first, last)| RangeView { first, last }),
        by: window.by().to_owned(),
        switch: (window.switch().iter())
            .map(|own| line(own.pin, own.inverted))
            .collect(),
        tied: (window.tied().iter())
            .map(|(pin, level)| match level {
                Level::Low => format!("A{pin}=0"),
                Level::High => format!("A{pin}=1"),
                Level::Any => format!("A{pin}=any"),
            })
            .collect(),
        mirrored: window.is_mirrored(),
        except: views(window.except()),
        shows,
        shows_left_out: left_out,
    }
}

/// The sockets that are named in what is shown, each once; all of the store where not all is told.
fn sockets_of(store: &Store, shows: &[ShownView]) -> Vec<String> {
    let all = store.names().flatten().map(str::to_owned);
    if shows.len() >= MOST || shows.is_empty() {
        return all.collect();
    }
    all.filter(|name| shows.iter().any(|shown| shown.sockets.contains(name)))
        .collect()
}

fn sockets(board: &Board) -> Vec<SocketView> {
    let unseen: Vec<_> = board.stores().iter().map(Store::unseen).collect();
    let sockets = board.sockets();
    sockets
        .map(|(socket, name)| {
            let store = &board.stores()[socket.store];
            let place = socket.row as usize * store.lanes() as usize + socket.lane as usize;
            let own = unseen[socket.store].as_ref();
            let own = own.and_then(|places| places.get(place));
            let (first, last) = store.data_lines(socket.lane);
            SocketView {
                name: name.to_owned(),
                part: store.part().name.clone(),
                bytes: store.part().bytes(),
                row: socket.row,
                lane: socket.lane,
                data_lines: RangeView {
                    first: first.into(),
                    last: last.into(),
                },
                order: match store.order() {
                    Order::Little => "little",
                    Order::Big => "big",
                },
                filler: store.filler(),
                wires: store.wires().into_iter().map(wire).collect(),
                note: store.note().to_owned(),
                unseen_bytes: own.map(|own| own.iter().map(|range| range.len()).sum()),
                unseen: own.map_or(Vec::new(), |own| views(&own[..own.len().min(MOST)])),
                unseen_left_out: own.map_or(0, |own| own.len().saturating_sub(MOST) as u64),
            }
        })
        .collect()
}

fn wire(wire: Wire) -> WireView {
    let (pin, line) = wire.names();
    WireView { pin, line }
}
