//! From two images to the wiring between them.

use super::attempt::{Attempt, Side};
use super::figures::{Figures, mixed};
use crate::prose::debug_as_display;
use crate::wiring::{Width, Wiring};

/// What was recovered.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Recovered {
    /// A wiring that turns the first image into the second, byte for byte.
    pub wiring: Wiring,
    /// Groups of the original's address lines that can't be told apart: some other wiring that
    /// exchanges them does the same.
    pub alike_address: Vec<Vec<u8>>,
    /// Groups of the original's data lines that can't be told apart.
    pub alike_data: Vec<Vec<u8>>,
    /// Whether other inversions with the same lists would do the same.
    pub other_inversions: bool,
}

impl Recovered {
    /// Whether this is the only wiring that turns one image into the other.
    pub fn is_unique(&self) -> bool {
        self.alike_address.is_empty() && self.alike_data.is_empty() && !self.other_inversions
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
    /// No rewiring does it.
    #[error("no exchange or inversion of lines turns one image into the other")]
    None,
    /// Too many lines look alike in the image.
    #[error("too many lines look alike in this image to try them all")]
    TooAlike,
}

debug_as_display!(RecoveryError);

/// Finds a wiring that turns `wanted` into `read`, both of one chip of this width.
///
/// # Errors
/// [`RecoveryError`] when the sizes don't fit, when there is no such wiring, or when too many lines look
/// alike to try all.
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
    let mut attempt = Attempt::new(Side::new(&wanted, &from), Side::new(&read, &to));
    let Some(wiring) = attempt.search(from.start(), to.start()) else {
        return Err(match attempt.gave_up {
            true => RecoveryError::TooAlike,
            false => RecoveryError::None,
        });
    };
    let (alike_address, alike_data) = alike(&wanted, &from);
    let own = Side::new(&wanted, &from);
    let mut same = Attempt::new(own, own);
    same.trivial_allowed = false;
    Ok(Recovered {
        wiring,
        alike_address,
        alike_data,
        other_inversions: from
            .straight()
            .is_some_and(|straight| same.inversions(&straight).is_some()),
    })
}

/// Groups of lines that some wiring of the image onto itself exchanges: addresses, data.
fn alike(image: &[u16], figures: &Figures) -> (Vec<Vec<u8>>, Vec<Vec<u8>>) {
    let mut colours = figures.start();
    figures.refine(&mut colours);
    let side = Side::new(image, figures);
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for line in 0..colours.len() {
        let exchanged = |group: &&mut Vec<usize>| {
            let first = group[0];
            if colours[first] != colours[line] {
                return false;
            }
            let (mut from, mut to) = (colours.clone(), colours.clone());
            from[first] = mixed(colours[line], 7);
            to[line] = mixed(colours[line], 7);
            let mut attempt = Attempt::new(side, side);
            // Too many to try is as good as alike: nothing tells them apart.
            attempt.search(from, to).is_some() || attempt.gave_up
        };
        match groups.iter_mut().find(exchanged) {
            Some(group) => group.push(line),
            None => groups.push(vec![line]),
        }
    }
    groups.retain(|group| group.len() > 1);
    let (address, data): (Vec<_>, Vec<_>) = groups
        .into_iter()
        .partition(|group| group[0] < figures.lines);
    let named = |groups: Vec<Vec<usize>>, first: usize| {
        let names =
            |group: Vec<usize>| group.into_iter().map(|line| (line - first) as u8).collect();
        groups.into_iter().map(names).collect()
    };
    (named(address, 0), named(data, figures.lines))
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
        assert!(found.is_unique());
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
    fn says_which_lines_look_alike() {
        // Address lines 8 to 10 make no difference, and the others only together with the data.
        let found = recover(&image("address", 11), &image("address", 11), Width::Eight).unwrap();
        assert_eq!(
            found.alike_address,
            [(0..8).collect::<Vec<u8>>(), vec![8, 9, 10]]
        );
        assert_eq!(found.alike_data, [(0..8).collect::<Vec<u8>>()]);
        assert!(found.other_inversions);
    }

    #[test]
    fn refuses_what_no_wiring_does() {
        let random = image("random", 10);
        let mut other = random.clone();
        other[77] ^= 0x10;
        assert_eq!(
            recover(&random, &other, Width::Eight),
            Err(RecoveryError::None)
        );
        let stuck: Vec<u8> = random.iter().map(|byte| byte | 1).collect();
        assert_eq!(
            recover(&random, &stuck, Width::Eight),
            Err(RecoveryError::None)
        );
        assert!(matches!(
            recover(&random, &random[..512], Width::Eight),
            Err(RecoveryError::Size { .. })
        ));
        assert!(recover(&random[..1000], &random[..1000], Width::Eight).is_err());
    }
}
