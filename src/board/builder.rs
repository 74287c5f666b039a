//! A board put together step by step, and checked before it is one.

use super::{Board, BoardError, Placement};
use crate::image::{AddressRange, Order};
use crate::parts::Part;

/// The most rows of sockets a board has.
const MOST_ROWS: u32 = 256;

/// What will be a [`Board`] when all of it fits together; made by [`Board::builder`] or [`Board::for_part`].
///
/// What is not said stays as with one socket: one lane, one row, and a chip that the CPU sees whole.
#[derive(Clone, Debug)]
#[must_use = "a builder is no board before `build`"]
pub struct BoardBuilder {
    chip: u64,
    word_bytes: u64,
    base: u64,
    lanes: u32,
    rows: u32,
    order: Order,
    window: Option<u64>,
    placement: Placement,
    also: Vec<AddressRange>,
    except: Vec<AddressRange>,
}

impl Board {
    /// Begins a board of byte-wide chips of `chip` bytes; `base` is the CPU address of the first byte they hold.
    ///
    /// ```
    /// use romloom::board::Board;
    ///
    /// let board = Board::builder(32 * 1024, 0x8000).build()?;
    /// assert_eq!(board.addresses().to_string(), "0x8000-0xFFFF");
    /// let error = Board::builder(32 * 1024, 0x1000).build().unwrap_err();
    /// assert!(error.to_string().starts_with("0x1000 is no multiple of the window"));
    /// # Ok::<(), romloom::board::BoardError>(())
    /// ```
    pub fn builder(chip: u64, base: u64) -> BoardBuilder {
        BoardBuilder {
            chip,
            word_bytes: 1,
            base,
            lanes: 1,
            rows: 1,
            order: Order::Little,
            window: None,
            placement: Placement::Whole,
            also: Vec::new(),
            except: Vec::new(),
        }
    }

    /// Begins a board of sockets for this part: its size, and two bytes a word where it is 16 bits wide.
    pub fn for_part(part: &Part, base: u64) -> BoardBuilder {
        Self::builder(part.bytes(), base).word_bytes(u64::from(part.width.div_ceil(8)))
    }
}

impl BoardBuilder {
    /// Bytes that a chip answers with at once: 1, or 2 for a part 16 bits wide.
    pub fn word_bytes(mut self, bytes: u64) -> Self {
        self.word_bytes = bytes;
        self
    }

    /// Chips side by side on the bus: 1, 2, 4, 8 or 16.
    pub fn lanes(mut self, lanes: u32) -> Self {
        self.lanes = lanes;
        self
    }

    /// Chips, or groups of lanes, one after another in the address space: 1 to 256.
    pub fn rows(mut self, rows: u32) -> Self {
        self.rows = rows;
        self
    }

    /// Which byte of a 16-bit word has the lower CPU address: the low one (little), or the high one (big).
    pub fn order(mut self, order: Order) -> Self {
        self.order = order;
        self
    }

    /// Bytes of each chip that the CPU sees at once, where that is less than the chip; a power of two.
    pub fn window(mut self, bytes: u64) -> Self {
        self.window = Some(bytes);
        self
    }

    /// Where in a chip larger than its window these bytes are.
    pub fn placement(mut self, placement: Placement) -> Self {
        self.placement = placement;
        self
    }

    /// Further CPU ranges where the chips answer, from the window's first byte on.
    pub fn also(mut self, ranges: impl IntoIterator<Item = AddressRange>) -> Self {
        self.also.extend(ranges);
        self
    }

    /// CPU ranges inside the window that something else answers.
    pub fn except(mut self, ranges: impl IntoIterator<Item = AddressRange>) -> Self {
        self.except.extend(ranges);
        self
    }

    /// The board, where all of it fits together.
    ///
    /// # Errors
    /// [`BoardError`], which says what does not.
    pub fn build(self) -> Result<Board, BoardError> {
        let window = self.window.unwrap_or(self.chip);
        if !matches!(self.lanes, 1 | 2 | 4 | 8 | 16) {
            return Err(BoardError::Lanes(self.lanes));
        }
        if !(1..=MOST_ROWS).contains(&self.rows) {
            return Err(BoardError::Rows(self.rows));
        }
        if !matches!(self.word_bytes, 1 | 2) {
            return Err(BoardError::WordBytes(self.word_bytes));
        }
        if !window.is_power_of_two() || window > self.chip || window < self.word_bytes {
            return Err(BoardError::Window {
                window,
                chip: self.chip,
            });
        }
        if !self.chip.is_power_of_two() {
            return Err(BoardError::Chip(self.chip));
        }
        self.check_placement(window)?;
        let too_high = BoardError::TooHigh { base: self.base };
        let Some(row) = window.checked_mul(self.lanes.into()) else {
            return Err(too_high);
        };
        let below = self.base - self.base % row;
        if below != self.base {
            return Err(BoardError::Base {
                base: self.base,
                window: row,
                below,
                above: below.saturating_add(row),
            });
        }
        let bytes = row.checked_mul(self.rows.into());
        let addresses = bytes.and_then(|bytes| AddressRange::from_len(self.base, bytes));
        let addresses = addresses.ok_or(too_high)?;
        if let Some(range) = self.except.iter().find(|r| !addresses.covers(**r)) {
            return Err(BoardError::Except {
                range: *range,
                window: addresses,
            });
        }
        let too_large = |range: &&AddressRange| {
            range.len() > addresses.len() || addresses.overlap(**range).is_some()
        };
        if let Some(range) = self.also.iter().find(too_large) {
            return Err(BoardError::Also {
                range: *range,
                window: addresses,
            });
        }
        Ok(Board {
            chip: self.chip,
            word_bytes: self.word_bytes,
            lanes: self.lanes,
            rows: self.rows,
            order: self.order,
            window,
            placement: self.placement,
            also: self.also,
            except: self.except,
            addresses,
        })
    }

    fn check_placement(&self, window: u64) -> Result<(), BoardError> {
        let has = (self.chip / self.word_bytes).trailing_zeros();
        let needs = (window / self.word_bytes).trailing_zeros();
        let levels = match &self.placement {
            Placement::Whole if window < self.chip => {
                return Err(BoardError::OpenPlace {
                    chip: self.chip,
                    window,
                });
            }
            Placement::Whole | Placement::Repeated => return Ok(()),
            Placement::Tied(levels) | Placement::Switched(levels) => levels,
        };
        for (i, (line, _)) in levels.iter().enumerate() {
            if u32::from(*line) >= has {
                return Err(BoardError::NoSuchLine(*line));
            }
            if levels[..i].iter().any(|(other, _)| other == line) {
                return Err(BoardError::HeldTwice(*line));
            }
        }
        if levels.len() as u32 != has - needs {
            return Err(BoardError::Lines {
                window,
                needs,
                has,
                held: has - needs,
                given: levels.iter().map(|(line, _)| *line).collect(),
            });
        }
        Ok(())
    }
}
