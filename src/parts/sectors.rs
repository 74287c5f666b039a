//! What a part erases at once, where that is not the same everywhere.

use std::fmt;
use std::ops::RangeInclusive;

use serde::ser::{Serialize, Serializer};

use crate::prose::shown;

/// How a part is divided into sectors, each erased at once, from chip address 0 up.
///
/// Read from, and printed as, texts such as `7 x 64K`, `32K`, `2 x 8K`, `16K`. Sizes are in bytes, two to a word in parts
/// 16 bits wide.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sectors {
    /// At least one, none of them empty; all together have fewer than 2^64 bytes.
    runs: Vec<Run>,
    /// Bytes of all runs.
    bytes: u64,
}

/// Sectors of one size, one after another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Run {
    count: u64,
    bytes: u64,
}

impl Sectors {
    /// Sectors of this many bytes each, as many as fit; 0 counts as 1.
    pub fn equal(bytes: u64) -> Sectors {
        let bytes = bytes.max(1);
        Sectors {
            runs: vec![Run { count: 1, bytes }],
            bytes,
        }
    }

    /// Reads the texts, in the order of the chip's addresses.
    ///
    /// # Errors
    /// [`UnknownSectors`] for a text of another form, no text, a size or count of 0, and 2^32 bytes or more in all.
    pub fn read<'a>(texts: impl IntoIterator<Item = &'a str>) -> Result<Sectors, UnknownSectors> {
        let (mut runs, mut bytes) = (Vec::new(), 0u64);
        for text in texts {
            let unknown = || UnknownSectors(shown(text));
            let run = Run::read(text).ok_or_else(unknown)?;
            // Both have 32 bits at most.
            bytes += run.count * run.bytes;
            if bytes > u64::from(u32::MAX) {
                return Err(unknown());
            }
            runs.push(run);
        }
        match runs.is_empty() {
            true => Err(UnknownSectors(String::new())),
            false => Ok(Sectors { runs, bytes }),
        }
    }

    /// Bytes of all of them.
    pub fn bytes(&self) -> u64 {
        self.bytes
    }

    /// How many there are.
    pub fn count(&self) -> u64 {
        self.runs.iter().map(|run| run.count).sum()
    }

    /// First and last address of the sector that contains `address`. After the last sector comes the first again, as for
    /// a chip that repeats in its socket.
    ///
    /// ```
    /// use romloom::parts::Sectors;
    /// let sectors = Sectors::read(["3 x 64K", "32K", "2 x 8K", "16K"])?;
    /// assert_eq!((sectors.bytes(), sectors.count()), (256 * 1024, 7));
    /// assert_eq!(sectors.at(0x2_0000), 0x2_0000..=0x2_FFFF);
    /// assert_eq!(sectors.at(0x3_A123), 0x3_A000..=0x3_BFFF);
    /// # Ok::<(), romloom::parts::UnknownSectors>(())
    /// ```
    pub fn at(&self, address: u64) -> RangeInclusive<u64> {
        let mut start = address - address % self.bytes;
        for run in &self.runs {
            let nth = (address - start) / run.bytes;
            if nth < run.count {
                let first = start + nth * run.bytes;
                return first..=first.saturating_add(run.bytes - 1);
            }
            start += run.count * run.bytes;
        }
        // Not reached: the runs reach as far as `bytes`.
        address..=address
    }
}

impl Run {
    fn read(text: &str) -> Option<Run> {
        let (count, size) = match text.split_once(['x', 'X']) {
            Some((count, size)) => (count.trim(), size.trim()),
            None => ("1", text.trim()),
        };
        let (digits, unit) = match size.as_bytes().last()? {
            b'k' | b'K' => (&size[..size.len() - 1], 1 << 10),
            b'm' | b'M' => (&size[..size.len() - 1], 1 << 20),
            _ => (size, 1),
        };
        let whole = |digits: &str| -> Option<u64> {
            let plain = digits.bytes().all(|b| b.is_ascii_digit());
            digits.parse::<u32>().ok().filter(|_| plain).map(u64::from)
        };
        let bytes = whole(digits)?.checked_mul(unit)?;
        let run = Run {
            count: whole(count)?,
            bytes: u32::try_from(bytes).ok()?.into(),
        };
        (run.count > 0 && run.bytes > 0).then_some(run)
    }
}

impl fmt::Display for Run {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.count > 1 {
            write!(f, "{} x ", self.count)?;
        }
        match self.bytes {
            n if n % (1 << 20) == 0 => write!(f, "{}M", n >> 20),
            n if n % (1 << 10) == 0 => write!(f, "{}K", n >> 10),
            n => write!(f, "{n}"),
        }
    }
}

/// Prints as `7 x 64K, 32K, 2 x 8K, 16K`.
impl fmt::Display for Sectors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, run) in self.runs.iter().enumerate() {
            if i > 0 {
                f.write_str(", ")?;
            }
            write!(f, "{run}")?;
        }
        Ok(())
    }
}

impl Serialize for Sectors {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.runs.iter().map(Run::to_string))
    }
}

/// A text that does not say what sizes sectors have.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "expected how many sectors and of how many bytes, such as 7 x 64K or 16K, below 4,294,967,296 bytes in all, and found {}",
    if .0.is_empty() { "none".to_owned() } else { format!("`{}`", .0) }
)]
pub struct UnknownSectors(String);

crate::prose::debug_as_display!(UnknownSectors);
