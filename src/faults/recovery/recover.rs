//! From two images to the wiring between them.

use super::ambiguity::Ambiguity;
use super::budget::Budget;
use super::exact::{Exact, Side};
use super::figures::Figures;
use super::near;
use super::price;
use super::sample::Guess;
use super::trial::{Trial, most_wrong};
use crate::prose::{debug_as_display, thousands};
use crate::wiring::{Width, Wiring};

/// Bits by which a wiring that leaves something over must be cheaper than a list of the wrong cells.
const CLEAR: f64 = 20.0;

/// What was recovered.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Recovered {
    /// The wiring that turns the first image into the second, except for what is dead and left over.
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
    /// Cells of the second image that differ from the first, and that the wiring explains.
    pub explained: usize,
    /// What the first image leaves open, in its own lines.
    pub open: Ambiguity,
}

impl Recovered {
    /// At most this many cells that are left over are listed. If fewer cells than this are explained, they prove nothing: they
    /// may just be wrong bytes.
    pub const FEW: usize = 8;

    /// Whether this is the only wiring that turns one image into the other, and leaves nothing over.
    pub fn is_unique(&self) -> bool {
        self.is_exact() && self.open.is_none()
    }

    /// Whether nothing is left over, and no line is dead.
    pub fn is_exact(&self) -> bool {
        self.left_over == 0 && self.dead.is_empty()
    }

    /// Whether the images prove it: nothing is left over, it explains more than a few cells, and it is clearly cheaper to
    /// say than a list of them.
    pub fn is_certain(&self) -> bool {
        let clear = self.explained >= Self::FEW && self.gain >= CLEAR;
        self.is_exact() && (self.wiring.is_straight() || clear)
    }
}

/// Why no wiring was recovered.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum RecoveryError {
    /// Lines can only be found in whole chips of one size.
    #[error(
        "a wiring can be recovered from two images of one size that is a power of two, 2 words to \
         16 MiB; these have {} and {} bytes", thousands(*.wanted as u64), thousands(*.read as u64)
    )]
    Size {
        /// Bytes of the original image.
        wanted: usize,
        /// Bytes of the rewired image.
        read: usize,
    },
    /// No rewiring was found that does it.
    #[error(
        "no swap or inversion of lines turns one image into the other, even with one \
         byte in fifty wrong or a dead data line"
    )]
    None,
    /// Too many lines look alike in the image.
    #[error("too many lines look alike in this image to try them all")]
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
    let differing = differing(&wanted, &read);
    let as_list = price::list(differing, wanted.len(), to.figures.data());
    let left_over = found.left_over(&wanted, &read);
    Ok(Recovered {
        left_over_at: left_over.take(Recovered::FEW).collect(),
        gain: match found.wiring.is_straight() {
            true => 0.0,
            false => as_list - price::wiring(&found, wanted.len()),
        },
        explained: differing.saturating_sub(found.wrong),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    fn wiring(address: Vec<u8>, data: Vec<u8>) -> Wiring {
        Wiring::new(Width::Eight, address, data).unwrap()
    }

    fn image(name: &str, lines: u32) -> Vec<u8> {
        name.parse::<Pattern>().unwrap().image(1 << lines).unwrap()
    }

    #[test]
    fn an_image_is_its_own_straight_wiring() {
        let random = image("random", 12);
        let found = recover(&random, &random, Width::Eight).unwrap();
        assert_eq!(found.wiring, wiring((0..12).collect(), (0..8).collect()));
        assert!(found.is_unique() && found.is_certain());
    }

    #[test]
    fn lists_say_what_each_chip_line_is_wired_to() {
        let random = image("random", 3);
        let wiring = wiring(vec![2, 0, 1], vec![0, 1, 2, 3, 4, 5, 7, 6]);
        let wiring = wiring.inverting(0b010, 0x01).unwrap();
        let chip = wiring.apply(&random).unwrap();
        for (at, &byte) in chip.iter().enumerate() {
            // Chip line 0 is the original's A2, line 1 its A0 inverted, line 2 its A1.
            let original = (at & 1) << 2 | (at >> 1 & 1 ^ 1) | (at >> 2) << 1;
            let wanted = random[original];
            let swapped = wanted & 0x3F | (wanted & 0x40) << 1 | (wanted & 0x80) >> 1;
            assert_eq!(byte, swapped ^ 0x01);
        }
        assert_eq!(wiring.apply(&random[..4]), None);
    }

    #[test]
    fn a_few_wrong_bytes_in_straight_lines_are_no_wiring() {
        let random = image("random", 10);
        let mut other = random.clone();
        other[77] ^= 0x10;
        other[500] ^= 0x81;
        let found = recover(&random, &other, Width::Eight).unwrap();
        assert!(found.wiring.is_straight() && !found.is_exact() && !found.is_certain());
        assert_eq!(
            (found.left_over, &found.left_over_at[..]),
            (2, &[77, 500][..])
        );
        let stuck: Vec<u8> = random.iter().map(|byte| byte | 1).collect();
        let found = recover(&random, &stuck, Width::Eight).unwrap();
        assert!(found.wiring.is_straight());
        assert_eq!((found.dead, found.left_over), (vec![(0, true)], 0));
    }

    /// A wiring that is exact, and explains so little that wrong bytes are as likely.
    #[test]
    fn what_explains_little_is_not_certain() {
        let mut blank = vec![0xFF; 1 << 12];
        blank[0x004] = 0x12;
        let mut moved = vec![0xFF; 1 << 12];
        moved[0x008] = 0x12;
        let found = recover(&blank, &moved, Width::Eight).unwrap();
        assert!(found.is_exact() && !found.is_certain(), "{found:?}");
    }

    #[test]
    fn refuses_what_no_wiring_does() {
        let random = image("random", 10);
        let other = Pattern::Random { seed: 4 }.image(1 << 10).unwrap();
        let none = Err(RecoveryError::None);
        assert_eq!(recover(&random, &other, Width::Eight), none);
        // Half the bytes are right, and no wiring makes the others.
        let stuck: Vec<u8> = (0..1 << 10).map(|at| random[at & !0x20]).collect();
        assert_eq!(recover(&random, &stuck, Width::Eight), none);
        let size = recover(&random, &random[..512], Width::Eight);
        assert!(matches!(size, Err(RecoveryError::Size { .. })));
        assert!(recover(&random[..1000], &random[..1000], Width::Eight).is_err());
    }

    /// Every data line is a quadratic form: all lines look alike, and the search must come to an end.
    #[test]
    fn one_budget_serves_the_whole_run() {
        let form = |at: usize, data: usize| {
            let pairs = (0..12).map(|line| at >> line & at >> ((line + data + 1) % 12) & 1);
            pairs.fold(0, |sum, term| sum ^ term)
        };
        let cell = |at| (0..8).fold(0, |byte, data| byte | (form(at, data) as u8) << data);
        let table: Vec<u8> = (0..1 << 12).map(cell).collect();
        let found = recover(&table, &table, Width::Eight).unwrap();
        assert!(found.wiring.is_straight());
        // Nothing is called alike that was not tried, and nothing is said to be all.
        assert!(found.open.alike_address.is_empty() && !found.open.complete);
    }

    /// Any order of the lines, and any of them inverted; what was wired is what is found.
    #[test]
    fn wirings_of_noise_are_found_as_they_are() {
        let random = image("random", 9);
        let mut seed = 1u32;
        let mut next = |most: u32| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 8) % most
        };
        for _ in 0..12 {
            let mut order = |lines: u8| -> Vec<u8> {
                let mut order: Vec<u8> = (0..lines).collect();
                (1..order.len()).for_each(|n| order.swap(n, next(n as u32 + 1) as usize));
                order
            };
            let wiring = wiring(order(9), order(8));
            let wiring = wiring.inverting(next(1 << 9), next(1 << 8) as u16).unwrap();
            let found = recover(&random, &wiring.apply(&random).unwrap(), Width::Eight).unwrap();
            assert_eq!(found.wiring, wiring);
            assert!(found.is_unique() && found.is_certain() && found.gain > 1000.0);
            assert!(found.explained > 450 && found.left_over_at.is_empty());
        }
    }

    /// Every line of these patterns is at 1 in half of the cells: only cells show what is inverted.
    #[test]
    fn balanced_lines_are_found_by_their_cells() {
        for name in ["telltale", "address"] {
            let pattern = image(name, 8);
            let wiring = wiring(vec![5, 1, 7, 3, 4, 0, 6, 2], vec![3, 1, 2, 0, 7, 5, 6, 4]);
            let wiring = wiring.inverting(0x5A, 0x18).unwrap();
            let read = wiring.apply(&pattern).unwrap();
            let found = recover(&pattern, &read, Width::Eight).unwrap();
            assert_eq!(found.wiring.apply(&pattern).unwrap(), read, "{name}");
            assert!(found.is_exact() && !found.is_unique());
        }
    }

    /// At least two cells, and as many as a power of two.
    #[test]
    fn sizes_of_chips() {
        let size = |bytes: usize, width| {
            let image = vec![0x5A; bytes];
            recover(&image, &image, width).is_ok()
        };
        assert!(!size(1, Width::Eight) && size(2, Width::Eight) && !size(3, Width::Eight));
        assert!(!size(2, Width::Sixteen) && size(4, Width::Sixteen));
        assert!(!size(6, Width::Sixteen) && !size(0, Width::Eight));
    }
}
