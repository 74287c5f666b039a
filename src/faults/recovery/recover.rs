//! From two images to the wiring between them.

use super::ambiguity::Ambiguity;
use super::budget::Budget;
use super::exact::{Exact, Side};
use super::figures::Figures;
use super::near;
use super::price;
use super::sample::Guess;
use super::trial::{Trial, most_wrong};
use crate::prose::debug_as_display;
use crate::wiring::{Width, Wiring};

/// Bits by which a wiring that leaves something over must be cheaper than a list of the wrong cells.
const CLEAR: f64 = 20.0;

/// What was recovered.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Recovered {
    /// The wiring that turns the first image into the second, but for what is dead and left over.
    pub wiring: Wiring,
    /// Data lines of the chip that stay at one level, and at which; true is 1. Which of the image's lines belongs on one
    /// follows only when it is the only one.
    pub dead: Vec<(u8, bool)>,
    /// Cells (bytes, or words of a chip 16 bits wide) of the second image that the wiring and the dead lines leave over: at
    /// most one in fifty.
    pub left_over: usize,
    /// The first of them, at most [`FEW`](Self::FEW), counted in cells from 0.
    pub left_over_at: Vec<usize>,
    /// Bits by which the wiring says the second image more cheaply than a list of the cells that differ from the first. 0
    /// for a straight wiring.
    pub gain: f64,
    /// What the first image leaves open, in its own lines.
    pub open: Ambiguity,
}

impl Recovered {
    /// As many cells that are left over are listed.
    pub const FEW: usize = 8;

    /// Whether this is the only wiring that turns one image into the other, and leaves nothing over.
    pub fn is_unique(&self) -> bool {
        self.is_exact() && self.open.is_none()
    }

    /// Whether nothing is left over, and no line is dead.
    pub fn is_exact(&self) -> bool {
        self.left_over == 0 && self.dead.is_empty()
    }

    /// Whether the images prove it: nothing is left over, and it is clearly cheaper to say than a list of wrong cells.
    pub fn is_certain(&self) -> bool {
        self.is_exact() && (self.wiring.is_straight() || self.gain >= CLEAR)
    }
}

/// Why no wiring was recovered.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum RecoveryError {
    /// Lines can only be found in whole chips of one size.
    #[error(
        "wiring is recovered from two images of one size that is a power of two, 2 words to \
         16 MiB; these have {wanted} and {read} bytes"
    )]
    Size {
        /// Bytes of the original image.
        wanted: usize,
        /// Bytes of the rewired image.
        read: usize,
    },
    /// No rewiring was found that does it.
    #[error(
        "no swap or inversion of lines was found that turns one image into the other, even with one \
         byte in fifty wrong or a dead data line"
    )]
    None,
    /// Too many lines look alike in the image.
    #[error("gave up: too many lines look alike in this image to try them all")]
    TooAlike,
}

debug_as_display!(RecoveryError);

/// Finds a wiring that turns `wanted` into `read`, both of one chip of this width. Up to one cell in fifty may be wrong,
/// and data lines may be dead.
///
/// # Errors
/// [`RecoveryError`] when the sizes don't fit, when no such wiring was found, or when too many lines look alike to try
/// them all.
pub fn recover(wanted: &[u8], read: &[u8], width: Width) -> Result<Recovered, RecoveryError> {
    let size = wanted.len();
    let least = 2 * width.bytes();
    if size != read.len() || !size.is_power_of_two() || !(least..=1 << 24).contains(&size) {
        return Err(RecoveryError::Size {
            wanted: size,
            read: read.len(),
        });
    }
    let (wanted, read) = (width.cells(wanted), width.cells(read));
    let (from, to) = (Figures::of(&wanted, width), Figures::of(&read, width));
    let from = Side {
        image: &wanted,
        figures: &from,
    };
    let to = Side {
        image: &read,
        figures: &to,
    };
    let mut budget = Budget::new(wanted.len());
    let found = best(from, to, &mut budget)?;
    // The image's data lines that the chip shows.
    let seen = found.wiring.data().iter().enumerate();
    let seen = seen.filter(|(chip, _)| found.live() >> chip & 1 == 1);
    let seen = seen.fold(0, |seen, (_, image)| seen | 1u16 << image);
    let as_list = price::list(differing(&wanted, &read), wanted.len(), to.figures.data());
    let left_over = found.left_over(&wanted, &read);
    Ok(Recovered {
        left_over_at: left_over.take(Recovered::FEW).collect(),
        gain: match found.wiring.is_straight() {
            true => 0.0,
            false => as_list - price::wiring(&found, wanted.len()),
        },
        wiring: found.wiring,
        dead: found.dead,
        left_over: found.wrong,
        open: Ambiguity::of(&wanted, from.figures, seen, &mut budget),
    })
}

/// The wiring that takes the fewest bits to say, with what it leaves over.
fn best(from: Side<'_>, to: Side<'_>, budget: &mut Budget) -> Result<Trial, RecoveryError> {
    let cells = to.image.len();
    let all = differing(from.image, to.image);
    let straight = Guess::of_addresses((0..from.figures.lines).collect(), 0, from.figures.width);
    let straight = Trial::of(&straight, from, to, near::live(from, to), budget);
    let straight = straight.ok_or(RecoveryError::TooAlike)?;
    if all == 0 {
        return Ok(straight);
    }
    let mut part = budget.half();
    let mut exact = Exact {
        from,
        to,
        budget: &mut part,
    };
    let wiring = exact.search(from.figures.start(), to.figures.start());
    let gave_up = part.is_used_up();
    budget.take_back(part);
    if let Some(wiring) = wiring {
        return Ok(Trial {
            wiring,
            dead: Vec::new(),
            wrong: 0,
        });
    }
    let mut part = budget.half();
    let near = near::search(from, to, &mut part);
    budget.take_back(part);
    // What explains less than half of the differences is a list of them, with a needless wiring.
    let listed = price::list(all, cells, from.figures.data());
    let clear =
        |found: &Trial| 2 * found.wrong <= all && price::wiring(found, cells) + CLEAR <= listed;
    let near = near.filter(clear);
    let straight = Some(straight).filter(|straight| straight.wrong <= most_wrong(cells));
    let cheaper = |a: Trial, b: Trial| match price::wiring(&b, cells) < price::wiring(&a, cells) {
        true => b,
        false => a,
    };
    match (straight, near) {
        (Some(straight), Some(near)) => Ok(cheaper(straight, near)),
        (Some(one), None) | (None, Some(one)) => Ok(one),
        (None, None) if gave_up => Err(RecoveryError::TooAlike),
        (None, None) => Err(RecoveryError::None),
    }
}

fn differing(one: &[u16], other: &[u16]) -> usize {
    one.iter().zip(other).filter(|(a, b)| a != b).count()
}
