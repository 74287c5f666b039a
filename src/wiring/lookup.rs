//! A wiring as tables, to read single cells of a chip through it.

use super::Wiring;

/// Address lines in the lower one of two tables.
const LOW_LINES: usize = 12;

/// What a wiring makes of one cell of a chip, from tables.
pub(crate) struct Lookup {
    /// The address in the image for the chip's low lines, and what the high lines change in it.
    low: Vec<u32>,
    high: Vec<u32>,
    /// What the low byte of a cell gives, and what the high one adds.
    data: [[u16; 256]; 2],
}

impl Lookup {
    /// For a wiring with at most 24 address lines in its list, and no line above them inverted.
    pub fn new(wiring: &Wiring) -> Self {
        let (address, inverted) = (wiring.address(), wiring.address_inverted());
        let lines = address.len();
        let original = |first: usize, count: usize| -> Vec<u32> {
            let lists = &address[first..first + count];
            (0..1usize << count)
                .map(|chip| {
                    let lines = lists.iter().enumerate();
                    lines.fold(0, |a, (i, line)| a | ((chip >> i & 1) as u32) << line)
                })
                .collect()
        };
        let low_lines = lines.min(LOW_LINES);
        let mut lookup = Lookup {
            low: original(0, low_lines),
            high: original(low_lines, lines - low_lines),
            data: wiring.data_tables(),
        };
        let inverted = (0..lines)
            .filter(|i| inverted >> i & 1 == 1)
            .fold(0, |a, i| a | 1 << address[i]);
        lookup.high.iter_mut().for_each(|a| *a ^= inverted);
        lookup
    }

    /// What the chip's cell contains when the image's cells are these.
    #[inline]
    pub fn cell(&self, image: &[u16], chip: usize) -> u16 {
        let low = self.low[chip & (self.low.len() - 1)];
        let a = low ^ self.high[chip >> LOW_LINES.min(self.low.len().trailing_zeros() as usize)];
        self.value(image[a as usize])
    }

    /// What the chip's data lines carry when the image's carry this.
    #[inline]
    pub fn value(&self, cell: u16) -> u16 {
        let [low, high] = cell.to_le_bytes();
        self.data[0][usize::from(low)] ^ self.data[1][usize::from(high)]
    }
}
