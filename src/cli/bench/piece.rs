//! One image with a name, and what is known of it.

use super::Seat;
use super::stored::Stored;
use crate::image::{Entry, Image, NoMemory};
use crate::parts::Part;
use crate::values::Place;

/// One image with a name.
///
/// Anybody can look at its bytes. Changing them needs a method that says how: in place with [`edit`](Self::edit), or through
/// [`Bench::relocate`](super::Bench::relocate) and [`Bench::rearrange`](super::Bench::rearrange), which know what a move
/// does to `cpu:` addresses and stored sums.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Its name, in steps and file names.
    pub name: String,
    image: Image,
    seat: Option<Seat>,
    /// The part that it fills, where it was not seated.
    part: Option<Part>,
    /// Where on a board it will go.
    meant_for: Place,
    /// The step that has moved its bytes since it was seated.
    rearranged_by: Option<&'static str>,
    /// Sums stored in it, in its own addresses.
    pub(super) stamps: Vec<Stored>,
    /// The steps that have changed bytes where they are, each with the number it had in the run.
    pub(super) edits: Vec<(u64, &'static str)>,
    /// Whether a step has asked for the image to change it, and nothing has looked at it since.
    pub(super) is_touched: bool,
}

impl Piece {
    /// A piece that belongs to no socket yet.
    pub fn new(name: impl Into<String>, image: Image) -> Self {
        Self {
            name: name.into(),
            image,
            seat: None,
            part: None,
            meant_for: Place::Own,
            rearranged_by: None,
            stamps: Vec::new(),
            edits: Vec::new(),
            is_touched: false,
        }
    }

    /// A piece in a socket.
    pub fn seated(name: impl Into<String>, image: Image, seat: Option<Seat>) -> Self {
        Self {
            seat,
            ..Self::new(name, image)
        }
    }

    /// Its bytes.
    pub fn image(&self) -> &Image {
        &self.image
    }

    /// Which chip it is, once it has been seated.
    pub fn seat(&self) -> Option<&Seat> {
        self.seat.as_ref()
    }

    /// The part: that of its socket, or the one that it was made to fill.
    pub fn part(&self) -> Option<&Part> {
        self.seat.as_ref().map(Seat::part).or(self.part.as_ref())
    }

    /// From now on it is the content of this part, unless it is in a socket.
    pub fn fills(&mut self, part: &Part) {
        self.part = Some(part.clone());
    }

    /// Where on a board it will go: a bus, a bank, a socket; [`Place::Own`] if nothing was said.
    pub fn meant_for(&self) -> &Place {
        &self.meant_for
    }

    /// The same piece, with the place where it will go.
    pub fn with_place(self, place: Place) -> Self {
        Self {
            meant_for: place,
            ..self
        }
    }

    /// The step that has moved its bytes since it was seated, so that no bus leads to them any more.
    pub fn rearranged_by(&self) -> Option<&'static str> {
        self.rearranged_by
    }

    /// Whether no byte of it came from anywhere but filler.
    pub fn is_erased(&self) -> bool {
        let runs = self.image.origins().runs();
        runs.iter().all(|run| run.source.is_filler())
    }

    /// Its bytes, to be changed where they are: every byte that stays keeps its address.
    ///
    /// # Errors
    /// [`NoMemory`] where other pieces have the same bytes, and there is no memory for a copy of them.
    pub fn edit(&mut self) -> Result<&mut Image, NoMemory> {
        self.image.ask_to_change()?;
        self.is_touched = true;
        Ok(&mut self.image)
    }

    /// Other bytes for it; entry point and header stay.
    pub fn replace(&mut self, image: Image) {
        self.is_touched = true;
        let (entry, header) = (self.image.entry, self.image.header.take());
        self.image = image;
        (self.image.entry, self.image.header) = (entry, header);
    }

    /// From now on its program starts there.
    pub fn start_at(&mut self, entry: Option<Entry>) {
        self.is_touched = true;
        self.image.entry = entry;
    }

    /// Where the sums are that are stored in it, in its own addresses.
    #[cfg(test)]
    pub fn stored(&self) -> Vec<crate::image::AddressRange> {
        let places = self.stamps.iter().map(|stored| stored.stamp.place());
        places.flatten().collect()
    }

    /// Its bytes alone.
    pub fn into_image(self) -> Image {
        self.image
    }

    /// Takes the sums of a piece whose bytes are now in this one, at the same addresses.
    pub fn inherit(&mut self, other: &mut Piece) {
        self.stamps.append(&mut other.stamps);
    }

    /// Its bytes, to be put into other places. Their sums don't go with them.
    ///
    /// # Errors
    /// As [`edit`](Self::edit).
    pub(super) fn rearrange(&mut self, step: &'static str) -> Result<&mut Image, NoMemory> {
        self.image.ask_to_change()?;
        self.stamps.clear();
        self.is_touched = true;
        self.rearranged_by = self.seat.as_ref().map(|_| step);
        Ok(&mut self.image)
    }

    /// Its bytes, about to move by one distance, which `moved` is told.
    pub(super) fn relocate(&mut self) -> &mut Image {
        &mut self.image
    }

    /// All bytes have moved by `distance` addresses. Their sums move along, a seat does not.
    pub(super) fn moved(&mut self, step: &'static str, distance: i128) {
        if distance == 0 {
            return;
        }
        self.rearranged_by = self.seat.as_ref().map(|_| step);
        let stamps = std::mem::take(&mut self.stamps);
        let moved = stamps.into_iter().map(|stored| stored.moved(distance));
        self.stamps = moved.flatten().collect();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::image::{AddressRange, Source};

    /// Copies share their memory: here it is 1 GiB that nobody looks at, and 128 TiB once each of them is changed.
    #[test]
    fn memory_for_what_others_have_too_is_asked_for_before_it_is_changed() {
        let zeros = Image::from_bytes(0, vec![0; 1 << 30], Source::Patch).unwrap();
        let copies = zeros.copies((0..1 << 17).map(|copy| copy << 31)).unwrap();
        let mut piece = Piece::new("large", copies);
        let wanted = NoMemory { bytes: 1 << 47 };
        assert_eq!(piece.edit().map(|_| ()), Err(wanted));
        assert_eq!(piece.rearrange("swap").map(|_| ()), Err(wanted));
        assert!(!piece.is_touched);
        // What it has alone takes no more.
        let one = AddressRange::from_len(0, 1 << 31).unwrap();
        let mut alone = Piece::new("one", piece.into_image().slice(one));
        assert!(alone.edit().is_ok());
    }
}
