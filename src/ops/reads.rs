//! Several reads of one chip, and reads without holes.

use super::OpError;
use crate::image::{AddressRange, Image};

/// All bytes of an image and the address of the first, when there is no hole between them.
///
/// # Errors
/// [`OpError::Empty`]; [`OpError::Hole`], the first, with `what` needs the bytes.
pub fn dense<'i>(
    image: &'i Image,
    what: &'static str,
) -> Result<(AddressRange, &'i [u8]), OpError> {
    let extent = image.extent().ok_or(OpError::Empty)?;
    let bytes = image.contiguous(extent);
    let bytes = bytes.map_err(|hole| OpError::Hole { hole, what })?;
    Ok((extent, bytes))
}

/// How many bytes 1A come after `length` in a file that XMODEM may have padded: its own length
/// is a multiple of 128, and all the rest is 1A. `None` when that doesn't explain it.
pub fn tail_behind(bytes: &[u8], length: usize) -> Option<usize> {
    let more = bytes.get(length..)?;
    let padded = bytes.len() % 128 == 0 && more.iter().all(|&byte| byte == 0x1A);
    (padded && !more.is_empty() && more.len() < 128).then_some(more.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::image::Source;

    #[test]
    fn tails_are_padding_to_128() {
        let mut file = vec![7; 100];
        file.resize(128, 0x1A);
        assert_eq!(tail_behind(&file, 100), Some(28));
        assert_eq!(tail_behind(&file, 99), None);
        assert_eq!(tail_behind(&file, 128), None);
        assert_eq!(tail_behind(&file, 200), None);
        assert_eq!(tail_behind(&file[..120], 100), None);
        file.resize(256, 0x1A);
        assert_eq!(tail_behind(&file, 100), None, "a whole block of padding");
    }

    #[test]
    fn a_hole_is_named() {
        let mut image = Image::from_bytes(4, vec![1, 2], Source::Patch).unwrap();
        assert_eq!(dense(&image, "x").unwrap().1, [1, 2]);
        image.put(8, vec![3], Source::Patch).unwrap();
        let hole = AddressRange::new(6, 7).unwrap();
        assert_eq!(dense(&image, "x"), Err(OpError::Hole { hole, what: "x" }));
        assert_eq!(dense(&Image::new(), "x"), Err(OpError::Empty));
    }
}
