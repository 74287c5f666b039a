//! How many data lines a chip has.

/// How the bytes of an image are put on a chip's data lines.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Width {
    /// D0-D7.
    #[default]
    Eight,
    /// D0-D15, the low byte first.
    Sixteen,
}

impl Width {
    /// Data lines: 8 or 16.
    pub fn lines(self) -> u8 {
        match self {
            Width::Eight => 8,
            Width::Sixteen => 16,
        }
    }

    /// Bytes of one cell: 1 or 2.
    pub fn bytes(self) -> usize {
        match self {
            Width::Eight => 1,
            Width::Sixteen => 2,
        }
    }

    /// The cell of this number, of the cells that these bytes are.
    pub(crate) fn cell(self, bytes: &[u8], at: usize) -> u16 {
        match self {
            Width::Eight => u16::from(bytes[at]),
            Width::Sixteen => u16::from_le_bytes([bytes[2 * at], bytes[2 * at + 1]]),
        }
    }

    /// The cells that these bytes are; half a word at the end is left out.
    pub(crate) fn cells(self, bytes: &[u8]) -> Vec<u16> {
        match self {
            Width::Eight => bytes.iter().map(|&byte| u16::from(byte)).collect(),
            Width::Sixteen => bytes
                .chunks_exact(2)
                .map(|pair| u16::from_le_bytes([pair[0], pair[1]]))
                .collect(),
        }
    }
}
