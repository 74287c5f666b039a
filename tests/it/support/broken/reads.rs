//! Several reads of one chip, no two alike.

use super::chance::Chance;

/// So many different bits of the image flipped.
pub fn flip(image: &[u8], bits: usize, chance: &mut Chance) -> Vec<u8> {
    let mut read = image.to_vec();
    for place in chance.some_of(bits, 8 * image.len()) {
        read[place / 8] ^= 1 << (place % 8);
    }
    read
}

/// An address line that floats: at each access the chip takes it as 0 or as 1.
pub fn floating_address(image: &[u8], line: usize, chance: &mut Chance) -> Vec<u8> {
    (0..image.len())
        .map(|address| image[address & !(1 << line) | chance.below(2) << line])
        .collect()
}

/// A data line that floats: at each access the reader takes it as 0 or as 1.
pub fn floating_data(image: &[u8], line: usize, chance: &mut Chance) -> Vec<u8> {
    image
        .iter()
        .map(|byte| byte & !(1 << line) | (chance.below(2) as u8) << line)
        .collect()
}

/// The bits at these places (byte times 8 and line) read 1 or 0 by chance.
pub fn wavering(image: &[u8], places: &[usize], chance: &mut Chance) -> Vec<u8> {
    let mut read = image.to_vec();
    for place in places {
        if chance.once_in(2) {
            read[place / 8] ^= 1 << (place % 8);
        }
    }
    read
}
