//! From the CPU's addresses to the chips in their sockets, and back.

use super::error::LARGEST_CHIP;
use super::{Board, BoardError, Placement, Socket};
use crate::image::{AddressRange, Clash, Image, Order, OutOfSpace};

impl Board {
    /// One image per socket, in the order of [`sockets`](Self::sockets): the whole chip, filled with `erased`, the value
    /// that the part's erased cells read as. Of a chip that is [switched](Placement::Switched) only what this program's
    /// position shows is filled, since the rest is for other programs. Entry point and header belong to the CPU's image and
    /// stay behind.
    ///
    /// ```
    /// use romloom::board::Board;
    /// use romloom::image::{Image, Source};
    /// use romloom::parts;
    ///
    /// let part = parts::find("27C64")?;
    /// let board = Board::for_part(part, 0).lanes(2).build()?;
    /// let program = Image::from_bytes(0x10, b"HERON".to_vec(), Source::File("prog".into()))?;
    /// let chips = board.seat(&program, part.erased.unwrap_or(0xFF))?;
    /// assert_eq!((chips.len(), chips[0].len()), (2, 8 * 1024));
    /// assert_eq!(chips[1].byte(0x08), Some(b'E'));
    /// # Ok::<(), romloom::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`BoardError::OutsideWindow`], [`BoardError::InExcepted`], [`BoardError::Clash`] when one byte of a chip is wanted
    /// twice, [`BoardError::TooLarge`] when a chip has more than 1 GiB.
    pub fn seat(&self, image: &Image, erased: u8) -> Result<Vec<Image>, BoardError> {
        if self.chip > LARGEST_CHIP {
            return Err(BoardError::TooLarge(self.chip));
        }
        let own = match self.placement {
            Placement::Switched(_) => self.seen_in_chip(),
            _ => AddressRange::from_len(0, self.chip).into_iter().collect(),
        };
        let mut chips = self.distribute(image)?;
        for chip in &mut chips {
            for range in &own {
                chip.fill_holes(*range, |_| erased);
            }
        }
        Ok(chips)
    }

    /// The same as [`seat`](Self::seat), but nothing is filled: holes stay holes.
    ///
    /// # Errors
    /// As [`seat`](Self::seat), whatever the chip's size.
    pub fn distribute(&self, image: &Image) -> Result<Vec<Image>, BoardError> {
        let whole = self.addresses;
        let mut seen = image.clone();
        seen.entry = None;
        seen.header = None;
        let mut mirrored = Vec::new();
        for range in &self.also {
            let mut part = seen.slice(*range);
            seen.remove(*range);
            part.shift(i128::from(whole.first()) - i128::from(range.first()))?;
            mirrored.push(part);
        }
        for range in &self.except {
            if let Some((address, _)) = seen.within(*range).next() {
                return Err(BoardError::InExcepted {
                    range: *range,
                    address,
                    origin: seen.origin_at(address),
                });
            }
        }
        let below = AddressRange::below(whole.first());
        let above = AddressRange::from_up(whole.last() + 1);
        let mut outside = below.into_iter().chain(above).flat_map(|r| seen.within(r));
        if let Some((address, bytes)) = outside.next() {
            let more: u64 = outside.map(|(_, bytes)| bytes.len() as u64).sum();
            return Err(BoardError::OutsideWindow {
                window: whole,
                address,
                origin: seen.origin_at(address),
                count: bytes.len() as u64 + more,
                extent: image.extent().unwrap_or(whole),
            });
        }
        drop(outside);
        for part in mirrored {
            seen.merge(part, Clash::Same)?;
        }
        let mut chips = Vec::new();
        for row in 0..u64::from(self.rows) {
            let start = whole.first() + row * self.row_size();
            let range = AddressRange::from_len(start, self.row_size()).ok_or(OutOfSpace)?;
            let mut part = seen.slice(range);
            part.shift(-i128::from(start))?;
            for lane in self.deal(&part)? {
                chips.push(self.place(lane)?);
            }
        }
        Ok(chips)
    }

    /// The lanes of one row, each at chip word 0.
    fn deal(&self, row: &Image) -> Result<Vec<Image>, BoardError> {
        let bytes = self.word_bytes as u32 * self.lanes;
        let dealt = match bytes {
            1 => vec![row.clone()],
            n => row.deal(n),
        };
        let mut lanes = Vec::new();
        for pair in dealt.chunks(self.word_bytes as usize) {
            let mut pair = pair.to_vec();
            if self.order == Order::Big {
                pair.reverse();
            }
            lanes.push(match pair.len() {
                1 => pair.remove(0),
                _ => Image::weave(&pair)?,
            });
        }
        Ok(lanes)
    }

    /// Moves a lane from the window to where it stands in the chip.
    fn place(&self, lane: Image) -> Result<Image, BoardError> {
        match &self.placement {
            Placement::Whole => Ok(lane),
            Placement::Repeated => {
                let copies = 0..self.chip / self.window;
                let moved = |n: u64| moved_by(lane.clone(), i128::from(n * self.window));
                Ok(Image::gather(copies.map(moved).collect::<Result<_, _>>()?)?)
            }
            Placement::Tied(_) | Placement::Switched(_) => {
                self.by_blocks(&lane, |word| Some(self.in_chip(word)))
            }
        }
    }

    /// Moves every block of words that the held lines leave together; `to` gives a block's new first word.
    fn by_blocks(
        &self,
        image: &Image,
        to: impl Fn(u64) -> Option<u64>,
    ) -> Result<Image, BoardError> {
        let words = (self.chip / self.word_bytes).min(1 << self.placement.lowest_held());
        let block = words * self.word_bytes;
        let mut out = Vec::new();
        let last = image.extent().map_or(0, |e| e.last());
        let mut start = 0;
        while start <= last && !image.is_empty() {
            let range = AddressRange::from_len(start, block).ok_or(OutOfSpace)?;
            if let Some(word) = to(start / self.word_bytes) {
                let moved = i128::from(word * self.word_bytes) - i128::from(start);
                out.push(moved_by(image.slice(range), moved)?);
            }
            start += block;
        }
        Ok(Image::gather(out)?)
    }

    /// Puts the chips together as the bus sees them, each byte at its CPU address. What the CPU never sees stays
    /// behind, and so does what lies above a chip's last address. A socket without a chip gives holes.
    ///
    /// # Errors
    /// [`BoardError::Clash`] and [`BoardError::OutOfSpace`], if two bytes met at one address or one lay above the last; a
    /// board that was built has no such place.
    pub fn unseat(&self, chips: &[(Socket, &Image)]) -> Result<Image, BoardError> {
        let seen = match self.placement {
            Placement::Tied(_) | Placement::Switched(_) => self.chip,
            _ => self.window,
        };
        let seen = AddressRange::from_len(0, seen).ok_or(OutOfSpace)?;
        let mut rows = Vec::new();
        for row in 0..self.rows {
            let mut bytes: Vec<Image> = Vec::new();
            for lane in 0..self.lanes {
                let chip = chips.iter().find(|(s, _)| *s == Socket { row, lane });
                let chip = chip.map(|(_, image)| image.slice(seen)).unwrap_or_default();
                let seen = match self.placement.levels() {
                    [] => chip,
                    _ => self.by_blocks(&chip, |word| self.word_of(word))?,
                };
                let mut halves = match self.word_bytes {
                    1 => vec![seen],
                    _ => seen.deal(2),
                };
                if self.order == Order::Big {
                    halves.reverse();
                }
                bytes.extend(halves);
            }
            let part = match bytes.len() {
                1 => bytes.remove(0),
                _ => Image::weave(&bytes)?,
            };
            let start = self.addresses.first() + u64::from(row) * self.row_size();
            rows.push(moved_by(part, start.into())?);
        }
        let mut out = Image::gather(rows)?;
        for range in &self.except {
            out.remove(*range);
        }
        Ok(out)
    }
}

fn moved_by(mut part: Image, by: i128) -> Result<Image, BoardError> {
    part.shift(by)?;
    Ok(part)
}
