//! Where a read differs from what is wanted, counted for the picture: by place, by data line, by address line.

use crate::faults::Width;

/// The most places along a side of the square, as a power of two.
const MOST_LINES: usize = 6;

/// How bits differ in one place of the square.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct SquarePlace {
    pub to_one: bool,
    pub to_zero: bool,
}

/// What was counted.
pub(super) struct Counted {
    /// The square's places, row after row: the lower address lines are its columns, the upper ones its rows.
    pub square: Vec<SquarePlace>,
    /// Address lines that the columns count, and the rows; the lines below both are inside one place.
    pub columns: usize,
    pub rows: usize,
    pub inside: usize,
    /// For each data line: bits that turned to 1, and to 0.
    pub data: Vec<[u64; 2]>,
    /// For each address line: bytes that differ where it is 0, and where it is 1.
    pub address: Vec<[u64; 2]>,
    /// Bytes of a cell, and of the chip.
    pub cell_bytes: usize,
    pub size: usize,
    /// Bytes that differ; bits that turned to 1, and to 0.
    pub bytes: u64,
    pub bits: [u64; 2],
}

impl Counted {
    /// Counts two images of one size, a power of two in cells; `None` for others.
    pub fn of(wanted: &[u8], read: &[u8], width: Width) -> Option<Self> {
        let cell_bytes = width.bytes();
        let cells = wanted.len() / cell_bytes;
        let fits = wanted.len() % cell_bytes == 0 && cells.is_power_of_two();
        if read.len() != wanted.len() || !fits {
            return None;
        }
        let lines = cells.ilog2() as usize;
        let columns = lines.div_ceil(2).min(MOST_LINES);
        let rows = (lines - columns).min(MOST_LINES);
        let mut counted = Self {
            square: vec![SquarePlace::default(); 1 << (columns + rows)],
            columns,
            rows,
            inside: lines - columns - rows,
            data: vec![[0; 2]; 8 * cell_bytes],
            address: vec![[0; 2]; lines],
            cell_bytes,
            size: wanted.len(),
            bytes: 0,
            bits: [0; 2],
        };
        for (n, (wanted, read)) in wanted.iter().zip(read).enumerate() {
            if wanted != read {
                counted.add(n, !wanted & read, wanted & !read);
            }
        }
        Some(counted)
    }

    /// A byte in which these bits turned to 1, and those to 0.
    fn add(&mut self, n: usize, up: u8, down: u8) {
        let (at, upper) = (n / self.cell_bytes, n % self.cell_bytes * 8);
        let place = &mut self.square[at >> self.inside];
        place.to_one |= up != 0;
        place.to_zero |= down != 0;
        for line in 0..8 {
            for (way, turned) in [up >> line & 1, down >> line & 1].into_iter().enumerate() {
                self.data[upper + line][way] += u64::from(turned);
                self.bits[way] += u64::from(turned);
            }
        }
        for (line, counts) in self.address.iter_mut().enumerate() {
            counts[at >> line & 1] += 1;
        }
        self.bytes += 1;
    }
}
