//! In what form a known chip is in a read, in words and in JSON.

use serde::Serialize;

use crate::identify::{Cut, InRead, Lane, ReadForm, Rest};
use crate::image::AddressRange;
use crate::prose::{plural, thousands};

/// Up to this much before a content is a header, and after it the end of a block; more is another content.
const HEADER: usize = 512;
const BLOCK: usize = 128;

/// One of several lanes.
#[derive(Clone, Copy, Serialize)]
pub struct LaneView {
    /// Which, counted from 0.
    pub n: usize,
    /// Of how many.
    pub of: usize,
}

/// Which part of a known chip, or of its lane.
#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum CutView {
    /// All of it.
    Whole,
    /// One of several equal parts.
    Bank {
        /// Which, counted from 0.
        n: usize,
        /// Of how many.
        of: usize,
    },
    /// A stretch that is not a bank.
    Stretch {
        /// Its first byte.
        first: usize,
        /// Its bytes.
        bytes: usize,
    },
    /// Several banks, one after another.
    Banks {
        /// Which.
        banks: Vec<usize>,
        /// Of how many.
        of: usize,
    },
}

/// Where in the read it is.
#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum PlaceView {
    /// It is the whole read.
    Whole,
    /// In a lane of it.
    Lane {
        /// Which, counted from 0.
        n: usize,
        /// Of how many.
        of: usize,
    },
    /// In a stretch of it.
    Stretch {
        /// Its first byte.
        first: usize,
        /// Its bytes.
        bytes: usize,
        /// What the other bytes are: `filler`, `other` or `open_bus`.
        rest: &'static str,
        /// The filler.
        filler: Option<u8>,
    },
    /// Each byte is there twice.
    EachTwice,
}

/// In which form.
#[derive(Serialize)]
pub struct FormView {
    /// The lane of the known chip.
    pub lane: Option<LaneView>,
    /// The part of that.
    pub cut: CutView,
    /// Every bit inverted.
    pub inverted: bool,
    /// The two bytes of each word swapped.
    pub swapped: bool,
    /// How often, one after another.
    pub times: usize,
    /// Where in the read.
    pub place: PlaceView,
}

impl From<&ReadForm> for FormView {
    fn from(form: &ReadForm) -> Self {
        let Lane { n, of } = form.lane.unwrap_or(Lane { n: 0, of: 1 });
        let cut = match &form.cut {
            Cut::Bank { n, of } => CutView::Bank { n: *n, of: *of },
            Cut::Stretch { first, len, .. } => CutView::Stretch {
                first: *first,
                bytes: *len,
            },
            Cut::Banks { banks, of } => CutView::Banks {
                banks: banks.clone(),
                of: *of,
            },
            _ => CutView::Whole,
        };
        let place = match form.place {
            InRead::Lane(Lane { n, of }) => PlaceView::Lane { n, of },
            InRead::EachTwice => PlaceView::EachTwice,
            InRead::At { first, len, rest } => {
                let (rest, filler) = match rest {
                    Rest::Filler(byte) => ("filler", Some(byte)),
                    Rest::OpenBus => ("open_bus", None),
                    _ => ("other", None),
                };
                PlaceView::Stretch {
                    first,
                    bytes: len,
                    rest,
                    filler,
                }
            }
            _ => PlaceView::Whole,
        };
        FormView {
            lane: form.lane.map(|_| LaneView { n, of }),
            cut,
            inverted: form.inverted,
            swapped: form.swapped,
            times: form.times,
            place,
        }
    }
}

/// Whether a read of this many bytes is more than the known chip.
pub(super) fn contains(form: &FormView, read: usize) -> bool {
    match form.place {
        PlaceView::Lane { .. } => true,
        PlaceView::Stretch {
            first,
            bytes,
            rest: "other",
            ..
        } => {
            let header = first <= HEADER && first + bytes == read;
            let block = first == 0 && read - bytes.min(read) <= BLOCK;
            !header && !block
        }
        _ => false,
    }
}

/// `the upper half of the odd lane of rom.bin, inverted, twice over`.
pub(super) fn phrase(form: &FormView, name: &str, read: usize) -> String {
    let lane = form
        .lane
        .map(|lane| format!("the {}", lane_text(lane.n, lane.of)));
    let cut = cut_text(&form.cut);
    let parts = cut.into_iter().chain(lane).chain([name.to_owned()]);
    let mut text = parts.collect::<Vec<String>>().join(" of ");
    text += match (form.inverted, form.swapped) {
        (false, false) => "",
        (true, false) => ", inverted",
        (false, true) => ", the bytes of each word swapped",
        (true, true) => ", inverted and the bytes of each word swapped",
    };
    match form.times {
        0 | 1 => {}
        2 => text += ", twice over",
        n => text += &format!(", {} times over", thousands(n as u64)),
    }
    text + &place_text(&form.place, read, contains(form, read))
}

fn lane_text(n: usize, of: usize) -> String {
    match (n, of) {
        (0, 2) => "even lane".to_owned(),
        (1, 2) => "odd lane".to_owned(),
        _ => format!("lane {n} (of {of})"),
    }
}

fn cut_text(cut: &CutView) -> Option<String> {
    const QUARTERS: [&str; 4] = ["first", "second", "third", "fourth"];
    let bytes = |n: usize| plural(n as u64, "byte");
    Some(match cut {
        CutView::Whole => return None,
        CutView::Bank { n: 0, of: 2 } => "the lower half".to_owned(),
        CutView::Bank { n: 1, of: 2 } => "the upper half".to_owned(),
        CutView::Bank { n, of: 4 } => format!("the {} quarter", QUARTERS.get(*n)?),
        CutView::Bank { n, of } => format!("bank {n} (of {of})"),
        CutView::Stretch { first: 0, bytes: n } => format!("the first {}", bytes(*n)),
        CutView::Stretch { first, bytes: n } => format!("the {} from 0x{first:04X} on", bytes(*n)),
        CutView::Banks { banks, of } => {
            let banks: Vec<String> = banks.iter().map(ToString::to_string).collect();
            let (last, first) = banks.split_last()?;
            format!("banks {} and {last} (of {of})", first.join(", "))
        }
    })
}

fn place_text(place: &PlaceView, read: usize, contains: bool) -> String {
    match *place {
        PlaceView::Whole => String::new(),
        PlaceView::EachTwice => ", each byte twice".to_owned(),
        PlaceView::Lane { n, of } => format!(" in its {}", lane_text(n, of)),
        PlaceView::Stretch { first, bytes, .. } if contains => {
            let range = AddressRange::from_len(first as u64, bytes as u64);
            range.map_or(String::new(), |range| format!(" at {range}"))
        }
        PlaceView::Stretch {
            rest: "open_bus", ..
        } => ", and then the open bus".to_owned(),
        PlaceView::Stretch {
            first,
            bytes,
            filler,
            ..
        } => {
            let after = read.saturating_sub(first + bytes);
            let what = |n: usize| match filler {
                Some(byte) => format!("{byte:02X}"),
                None => plural(n as u64, "other byte"),
            };
            match (first, after) {
                (0, _) => format!(", followed by {}", what(after)),
                (_, 0) => format!(", after {}", what(first)),
                _ => format!(", with {} around it", what(first + after)),
            }
        }
    }
}
