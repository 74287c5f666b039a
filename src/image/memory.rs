//! Memory that is asked for before it is used, so that a lack of it is an error like any other.

use std::{fmt, iter};

use crate::prose::{debug_as_display, thousands};

/// Once a block was given back, the allocator of glibc keeps others of that size, and smaller ones, for later, unless it was larger
/// than this. So less is asked for in parts, smaller than the chips and images that have to be given back.
const KEPT: usize = 32 << 20;
const PART: usize = 960 << 10;
/// Bytes that all the small things beside the large one may take meanwhile. With a small chip or image it is a single part, which
/// costs the system one new page.
const BESIDE: usize = 896 << 10;

/// So many bytes of memory are not there.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct NoMemory {
    /// How many were asked for.
    pub bytes: u64,
}

impl fmt::Display for NoMemory {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mib = thousands(self.bytes.div_ceil(1 << 20));
        write!(f, "{mib} MiB of memory are not there")
    }
}

impl std::error::Error for NoMemory {}

debug_as_display!(NoMemory);

/// Asks the system for so many bytes, and gives them back at once: what is done next with as many will most likely get them.
///
/// # Errors
/// [`NoMemory`].
pub(crate) fn ask_memory(bytes: u64) -> Result<(), NoMemory> {
    let none = NoMemory { bytes };
    let large = usize::try_from(bytes).map_err(|_| none)?;
    let (whole, in_parts) = match large > KEPT {
        true => (large, BESIDE),
        false => (0, large + BESIDE),
    };
    let parts = (0..in_parts).step_by(PART);
    let parts = parts.map(|at| PART.min(in_parts - at));
    let mut asked = [const { Vec::<u8>::new() }; 1 + (KEPT + BESIDE).div_ceil(PART)];
    for (block, len) in asked.iter_mut().zip(iter::once(whole).chain(parts)) {
        block.try_reserve_exact(len).map_err(|_| none)?;
    }
    // Memory that nobody looks at would never be asked for.
    std::hint::black_box(&asked);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nobody_has_is_an_error_with_what_was_asked() {
        assert_eq!(ask_memory(1 << 20), Ok(()));
        for bytes in [1 << 60, u64::MAX - 1, u64::MAX] {
            let error = ask_memory(bytes).unwrap_err();
            assert_eq!(error.bytes, bytes);
        }
        let text = NoMemory {
            bytes: 12_345 << 20,
        }
        .to_string();
        assert_eq!(text, "12,345 MiB of memory are not there");
    }
}
