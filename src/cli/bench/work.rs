//! What a pipeline works on.

use std::collections::HashSet;
use std::path::PathBuf;

use super::stored::Stamps;
use super::{Argument, Console, Piece, Seat, Staging, Stop};
use crate::cli::report::Output;
use crate::image::{AddressRange, Image};
use crate::parts::Catalogue;
use crate::prose::plural;

/// The id of the argument with which every step names the pieces it works on; a test of the steps checks that.
pub const ON: &str = "only";

/// What a pipeline works on.
pub struct Bench {
    /// The pieces, in order.
    pub pieces: Vec<Piece>,
    /// Messages and results.
    pub console: Console,
    /// Files waiting to be put in place.
    pub staging: Staging,
    /// The part table of this run.
    pub parts: Catalogue,
    /// Every file read, for a dependency file.
    pub inputs: Vec<PathBuf>,
    /// What waits in the staging, for the report at the end.
    pub made: Vec<Output>,
    pub(super) stamps: Stamps,
    pub(super) folder: PathBuf,
    /// How many steps have run; the number of the one that runs now.
    pub(super) steps_run: u64,
    said_no: bool,
}

impl Bench {
    /// An empty bench; paths of steps are relative to `folder`.
    pub fn new(folder: PathBuf, parts: Catalogue, console: Console, mut staging: Staging) -> Self {
        staging.show(console.progress());
        Self {
            pieces: Vec::new(),
            console,
            staging,
            parts,
            inputs: Vec::new(),
            made: Vec::new(),
            stamps: Stamps::default(),
            folder,
            steps_run: 0,
            said_no: false,
        }
    }

    /// Takes every piece off; files already waiting stay.
    pub fn clear(&mut self) {
        self.pieces.clear();
        self.stamps = Stamps::default();
    }

    /// Records a verdict that says no: the run goes on, and ends with exit code 1.
    pub fn say_no(&mut self) {
        self.said_no = true;
    }

    /// Whether a verdict said no.
    pub fn has_said_no(&self) -> bool {
        self.said_no
    }

    /// Two pieces of one name could not be told apart; `option` is what gives them others.
    ///
    /// # Errors
    /// [`Stop`] with the name.
    pub fn refuse_same_names(&self, option: &str) -> Result<(), Stop> {
        let mut names = HashSet::with_capacity(self.pieces.len());
        match self.pieces.iter().find(|p| !names.insert(p.name.as_str())) {
            None => Ok(()),
            Some(piece) => Err(Stop::trouble(format!(
                "two pieces would have the name {}: {option} gives them other names",
                piece.name
            ))),
        }
    }

    /// Indices of the pieces a step works on: those with one of `names`, or all.
    ///
    /// # Errors
    /// [`Stop`] for an empty bench and for a name that is not there.
    pub fn chosen(&self, names: &[String]) -> Result<Vec<usize>, Stop> {
        if self.pieces.is_empty() {
            return Err(Stop::trouble("the bench is empty: `load` something first"));
        }
        if names.is_empty() {
            return Ok((0..self.pieces.len()).collect());
        }
        let there: HashSet<&str> = self.pieces.iter().map(|p| p.name.as_str()).collect();
        let unknown = |name: &&String| !there.contains(name.as_str());
        if let Some(value) = names.iter().position(|name| unknown(&name)) {
            let known: Vec<_> = self.pieces.iter().map(|p| p.name.as_str()).collect();
            let fact = format!(
                "there is no piece called `{}`; the pieces are {}",
                names[value],
                known.join(", ")
            );
            return Err(Stop::trouble(fact).at(Argument { id: ON, value }));
        }
        let wanted: HashSet<&str> = names.iter().map(String::as_str).collect();
        Ok((0..self.pieces.len())
            .filter(|i| wanted.contains(self.pieces[*i].name.as_str()))
            .collect())
    }

    /// Looks at what `step` has changed, after it has run. Every step ends here.
    ///
    /// # Errors
    /// A chip that is no longer one: bytes past its end, or different bytes in cells that its board shows as one.
    pub fn ran(&mut self, step: &'static str) -> Result<(), Stop> {
        for piece in &mut self.pieces {
            if std::mem::take(&mut piece.is_touched) {
                piece.edits.push((self.steps_run, step));
                is_still_a_chip(piece)?;
            }
        }
        self.steps_run += 1;
        Ok(())
    }

    /// Must be called before these pieces are taken off or replaced: afterwards it can't be worked out which of their stored
    /// sums are wrong.
    pub fn settle(&mut self, pieces: &[usize]) {
        self.settle_stamps(pieces);
    }

    /// Takes these pieces off the bench, in order.
    pub fn take(&mut self, pieces: &[usize]) -> Vec<Piece> {
        self.settle(pieces);
        let taken: HashSet<usize> = pieces.iter().copied().collect();
        let (taken, left) = (std::mem::take(&mut self.pieces).into_iter().enumerate())
            .partition::<Vec<_>, _>(|(i, _)| taken.contains(i));
        let bare = |pieces: Vec<(usize, Piece)>| pieces.into_iter().map(|(_, p)| p).collect();
        self.pieces = bare(left);
        bare(taken)
    }

    /// Runs `work` on each chosen piece; what goes wrong names the piece when there are several.
    ///
    /// # Errors
    /// The first that `work` returns.
    pub fn each(
        &mut self,
        names: &[String],
        mut work: impl FnMut(&mut Piece, &mut Console) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        let several = self.pieces.len() > 1;
        for i in self.chosen(names)? {
            let piece = &mut self.pieces[i];
            work(piece, &mut self.console).map_err(|stop| named(stop, piece, several))?;
        }
        Ok(())
    }

    /// Puts the bytes of each chosen piece into other places, or changes all of them, so that neither `cpu:` addresses nor
    /// stored sums go with them any more. `work` has the image, and the socket it was seated in.
    ///
    /// # Errors
    /// The first that `work` returns; too little memory.
    pub fn rearrange(
        &mut self,
        step: &'static str,
        names: &[String],
        mut work: impl FnMut(&mut Image, Option<&Seat>) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        let chosen = self.chosen(names)?;
        self.settle_stamps(&chosen);
        let several = self.pieces.len() > 1;
        for i in chosen {
            let piece = &mut self.pieces[i];
            let seat = piece.seat().cloned();
            let image = piece.rearrange(step).map_err(Stop::from);
            image
                .and_then(|image| work(image, seat.as_ref()))
                .map_err(|stop| named(stop, piece, several))?;
        }
        Ok(())
    }

    /// Moves all bytes of each chosen piece by one distance, which `work` gives. Stored sums move along; `cpu:` addresses
    /// don't go with them any more.
    ///
    /// # Errors
    /// The first that `work` returns.
    pub fn relocate(
        &mut self,
        step: &'static str,
        names: &[String],
        mut work: impl FnMut(&mut Image, &str, &mut Console) -> Result<i128, Stop>,
    ) -> Result<(), Stop> {
        let chosen = self.chosen(names)?;
        self.settle_stamps(&chosen);
        let several = self.pieces.len() > 1;
        for i in chosen {
            let piece = &mut self.pieces[i];
            let name = piece.name.clone();
            let distance = work(piece.relocate(), &name, &mut self.console)
                .map_err(|stop| named(stop, piece, several))?;
            piece.moved(step, distance);
            is_still_a_chip(piece)?;
        }
        Ok(())
    }
}

/// A stop that says which of several pieces it is about.
fn named(stop: Stop, piece: &Piece, several: bool) -> Stop {
    match several {
        true => stop.about(&piece.name),
        false => stop,
    }
}

/// Whether a piece that was seated is still the content of its socket.
fn is_still_a_chip(piece: &Piece) -> Result<(), Stop> {
    let Some(seat) = piece.seat() else {
        return Ok(());
    };
    let (name, part) = (&piece.name, seat.part());
    let last = piece.image().extent().map_or(0, |extent| extent.last());
    if last >= part.bytes() {
        let beyond = AddressRange::new(part.bytes(), last);
        let first = beyond.and_then(|range| piece.image().within(range).next());
        let first = first.map_or(last, |(at, _)| at);
        return Err(Stop::trouble(format!(
            "{name} is a {} with {}, but this puts one at 0x{first:04X}",
            part.name,
            plural(part.bytes(), "byte")
        ))
        .advise("choose another address, or a larger part"));
    }
    if piece.rearranged_by().is_some() {
        return Ok(());
    }
    match seat.board().unequal(seat.socket(), piece.image()) {
        None => Ok(()),
        Some((one, other)) => Err(Stop::trouble(format!(
            "0x{one:04X} and 0x{other:04X} of {name} are one cell for its board, but differ after this step"
        ))
        .advise("use the address on the bus, such as cpu:0x8000, which changes both")),
    }
}
