//! The bench: what lies on it while a pipeline runs, and what waits to be put in place when it is done.

mod debris;
mod outbox;
mod progress;
mod reader;
mod stamps;
mod stop;
mod talk;

use std::fs::File;
use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};
use std::sync::Arc;

pub use outbox::{Outbox, Placing, PlacingError};
pub use progress::Progress;
pub use reader::Reader;
use stamps::Stamps;
pub use stamps::Stored;
pub(crate) use stop::argument;
pub use stop::{Argument, Cause, Stop, Verdict};
pub use talk::{Level, Talk, Voice};

pub use crate::board::Seat;

use crate::board::{Board, Socket};
use crate::cli::report::Output;
use crate::formats::Input;
use crate::image::Image;
use crate::ops;
use crate::parts::Catalogue;
use crate::values::Space;

/// One image with a label.
#[derive(Clone, Debug)]
pub struct Piece {
    /// What steps and file names call it.
    pub label: String,
    /// Its bytes.
    pub image: Image,
    /// Which chip it is, once it has been seated.
    pub seat: Option<Seat>,
    /// Sums stored in it, in its own addresses.
    stamps: Vec<Stored>,
}

/// What a pipeline works on.
pub struct Bench {
    /// The pieces, in order.
    pub pieces: Vec<Piece>,
    /// Messages and results.
    pub talk: Talk,
    /// Files waiting to be put in place.
    pub outbox: Outbox,
    /// The part table of this run.
    pub parts: Catalogue,
    /// Every file read, for a dependency file.
    pub inputs: Vec<PathBuf>,
    /// What the outbox holds, for the report at the end.
    pub made: Vec<Output>,
    stamps: Stamps,
    folder: PathBuf,
    said_no: bool,
}

impl Piece {
    /// A piece that belongs to no socket yet.
    pub fn new(label: impl Into<String>, image: Image) -> Self {
        Self {
            label: label.into(),
            image,
            seat: None,
            stamps: Vec::new(),
        }
    }

    /// A piece in a socket.
    pub fn seated(label: impl Into<String>, image: Image, seat: Option<Seat>) -> Self {
        Self {
            seat,
            ..Self::new(label, image)
        }
    }
}

impl Bench {
    /// An empty bench; paths of steps are relative to `folder`.
    pub fn new(folder: PathBuf, parts: Catalogue, talk: Talk, mut outbox: Outbox) -> Self {
        outbox.show(talk.progress());
        Self {
            pieces: Vec::new(),
            talk,
            outbox,
            parts,
            inputs: Vec::new(),
            made: Vec::new(),
            stamps: Stamps::default(),
            folder,
            said_no: false,
        }
    }

    /// Takes every piece off; files already waiting stay.
    pub fn clear(&mut self) {
        self.pieces.clear();
        self.stamps = Stamps::default();
    }

    /// A path as a step gives it, relative to the recipe's folder.
    pub fn path(&self, given: &Path) -> PathBuf {
        self.folder.join(given)
    }

    /// A path that [`path`](Self::path) has made, as a step gave it.
    pub fn as_given<'p>(&self, path: &'p Path) -> &'p Path {
        path.strip_prefix(&self.folder).unwrap_or(path)
    }

    /// The same path as messages show it: from where the command was called.
    pub fn shown(&self, given: &Path) -> String {
        match given == Path::new("-") {
            true => "standard input".into(),
            false => self.path(given).display().to_string(),
        }
    }

    /// Opens a file for reading, `-` for standard input, and remembers it as an input.
    ///
    /// # Errors
    /// [`Stop::Trouble`] with the name and what the system says.
    pub fn open(&mut self, given: &Path) -> Result<Input<'static>, Stop> {
        if given == Path::new("-") {
            let progress = self.talk.progress();
            if io::stdin().is_terminal() {
                // Somebody is typing there.
                progress.finish();
            }
            let reader = Reader::endless(io::stdin(), "standard input", progress);
            return Ok(Input::new("standard input", reader));
        }
        let path = self.path(given);
        let shown = self.shown(given);
        let waits = self.outbox.has(&path);
        let trouble = |e: io::Error| {
            let problem = plain(&e);
            let missing = e.kind() == io::ErrorKind::NotFound;
            Stop::trouble(match near_file(&path).filter(|_| missing) {
                _ if waits && missing => format!(
                    "{shown}: {problem}: this run makes it, and puts it in place when all steps are done"
                ),
                Some(near) => {
                    let near = given.with_file_name(near);
                    format!("{shown}: {problem}; did you mean {}?", near.display())
                }
                None => format!("{shown}: {problem}"),
            })
        };
        let file = File::open(&path)
            .and_then(|file| Reader::new(file, &shown, self.talk.progress()))
            .map_err(trouble)?;
        if waits {
            let text = format!(
                "{shown}: the old file is read; what this run has written waits until all steps are done"
            );
            self.talk.say(Level::Warning, &text);
        }
        self.inputs.push(path);
        Ok(Input::new(given.display().to_string(), file))
    }

    /// Reads a small text file as a whole.
    ///
    /// # Errors
    /// As [`open`](Self::open), and for what is not UTF-8 text of at most 16 MiB.
    pub fn read_text(&mut self, given: &Path) -> Result<String, Stop> {
        const MOST: u64 = 16 << 20;
        let mut input = self.open(given)?;
        let shown = self.shown(given);
        let trouble = |what: String| Stop::trouble(format!("{shown}: {what}"));
        let taken = input
            .take_bytes(0, Some(MOST + 1))
            .map_err(|e| trouble(plain(&e)))?;
        if taken.bytes.len() as u64 > MOST {
            return Err(trouble(format!(
                "more than {MOST} bytes: is this the right file?"
            )));
        }
        String::from_utf8(taken.bytes).map_err(|e| {
            trouble(format!(
                "byte {} is not UTF-8 text",
                e.utf8_error().valid_up_to()
            ))
        })
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
    /// [`Stop::Trouble`] with the name.
    pub fn refuse_same_labels(&self, option: &str) -> Result<(), Stop> {
        let labels: Vec<&str> = self.pieces.iter().map(|p| p.label.as_str()).collect();
        let twice = (1..labels.len()).find(|i| labels[..*i].contains(&labels[*i]));
        match twice {
            None => Ok(()),
            Some(i) => Err(Stop::trouble(format!(
                "two pieces would be called {}: {option} gives them other names",
                labels[i]
            ))),
        }
    }

    /// Indices of the pieces a step works on: those with one of `labels`, or all.
    ///
    /// # Errors
    /// [`Stop::Trouble`] for an empty bench and for a label that is not there.
    pub fn chosen(&self, labels: &[String]) -> Result<Vec<usize>, Stop> {
        if self.pieces.is_empty() {
            return Err(Stop::trouble("the bench is empty: `load` something first"));
        }
        if let Some(unknown) = labels
            .iter()
            .find(|l| self.pieces.iter().all(|p| p.label != **l))
        {
            let known: Vec<_> = self.pieces.iter().map(|p| p.label.as_str()).collect();
            return Err(Stop::trouble(format!(
                "no piece is called `{unknown}`; there is {}",
                known.join(", ")
            )));
        }
        let wanted = |p: &Piece| labels.is_empty() || labels.contains(&p.label);
        Ok((0..self.pieces.len())
            .filter(|i| wanted(&self.pieces[*i]))
            .collect())
    }

    /// Runs `work` on each chosen image in the addresses meant: the pieces' own, or the CPU's, where the chips of one
    /// board are one image, put together as the bus does and taken apart again.
    ///
    /// # Errors
    /// The first that `work` returns; a piece that shares its chip with others has no one CPU map.
    pub fn each_in(
        &mut self,
        space: Space,
        labels: &[String],
        work: impl FnMut(&mut Image, &str, &mut Talk) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        self.each_group_in(space, labels, work).map(|_| ())
    }

    /// As [`each_in`](Self::each_in); gives for each image that `work` had, in order, the pieces that it was made of.
    ///
    /// # Errors
    /// As `each_in`.
    pub fn each_group_in(
        &mut self,
        space: Space,
        labels: &[String],
        mut work: impl FnMut(&mut Image, &str, &mut Talk) -> Result<(), Stop>,
    ) -> Result<Vec<Vec<usize>>, Stop> {
        let mut waiting = self.chosen(labels)?;
        if space == Space::Own {
            self.each(labels, |piece, talk| {
                work(&mut piece.image, &piece.label, talk)
            })?;
            return Ok(waiting.into_iter().map(|piece| vec![piece]).collect());
        }
        let mut groups = Vec::new();
        while let Some(&first) = waiting.first() {
            let Some(board) = self.board_of(first)? else {
                // Not seated: its own addresses are the CPU's.
                waiting.remove(0);
                let several = self.pieces.len() > 1;
                let piece = &mut self.pieces[first];
                work(&mut piece.image, &piece.label, &mut self.talk).map_err(
                    |stop| match several {
                        true => stop.about(&piece.label),
                        false => stop,
                    },
                )?;
                groups.push(vec![first]);
                continue;
            };
            let same =
                |i: &usize| matches!(self.board_of(*i), Ok(Some(b)) if Arc::ptr_eq(&b, &board));
            let (group, rest): (Vec<usize>, Vec<usize>) = waiting.into_iter().partition(same);
            waiting = rest;
            self.on_board(&board, &group, &mut work)?;
            groups.push(group);
        }
        Ok(groups)
    }

    fn board_of(&self, piece: usize) -> Result<Option<Arc<Board>>, Stop> {
        let Piece { label, seat, .. } = &self.pieces[piece];
        let Some(seat) = seat else { return Ok(None) };
        match (seat.board(), seat.rearranged_by) {
            (Some(board), _) => Ok(Some(board.clone())),
            (None, Some(step)) => Err(Stop::trouble(format!(
                "`{step}` has rearranged {label} since it was seated, so no cpu: address leads to its bytes: use cpu: before that step"
            ))),
            (None, None) => Err(Stop::trouble(format!(
                "{label} holds several programs for the same CPU addresses, so cpu: is open: use it before `join`, or give chip addresses"
            ))),
        }
    }

    fn on_board(
        &mut self,
        board: &Board,
        group: &[usize],
        work: &mut impl FnMut(&mut Image, &str, &mut Talk) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        let sockets: Vec<Socket> = board.sockets().collect();
        let chips: Vec<(Socket, &Image)> = group
            .iter()
            .filter_map(|i| {
                Some((
                    self.pieces[*i].seat.as_ref()?.socket,
                    &self.pieces[*i].image,
                ))
            })
            .collect();
        let labels: Vec<&str> = group
            .iter()
            .map(|i| self.pieces[*i].label.as_str())
            .collect();
        let label = labels.join("+");
        let before = board.unseat(&chips)?;
        let mut view = before.clone();
        work(&mut view, &label, &mut self.talk).map_err(|stop| match self.pieces.len() {
            1 => stop,
            _ => stop.about(&label),
        })?;
        if view.same_bytes(&before) {
            return Ok(());
        }
        let seen = board.seen_in_chip();
        for (socket, image) in sockets.iter().zip(board.distribute(&view)?) {
            let own = |p: &Piece| p.seat.as_ref().is_some_and(|s| s.socket == *socket);
            let Some(at) = group.iter().find(|i| own(&self.pieces[**i])) else {
                // A byte for a chip that is not worked on must not vanish.
                let first = image.extent().map(|extent| extent.first());
                match first.and_then(|chip| board.cpu_of(*socket, chip)) {
                    None => continue,
                    Some(cpu) => {
                        return Err(Stop::trouble(format!(
                            "0x{cpu:04X} stands in another chip of the board than {label}: give --on that one too, or none"
                        )));
                    }
                }
            };
            let chip = &mut self.pieces[*at].image;
            let (entry, header) = (chip.entry, chip.header.clone());
            chip.remove_all(&seen);
            *chip = ops::join(vec![std::mem::take(chip), image])?;
            (chip.entry, chip.header) = (entry, header);
        }
        Ok(())
    }

    /// Runs `work` on each chosen piece; what goes wrong names the piece when there are several.
    ///
    /// # Errors
    /// The first that `work` returns.
    pub fn each(
        &mut self,
        labels: &[String],
        mut work: impl FnMut(&mut Piece, &mut Talk) -> Result<(), Stop>,
    ) -> Result<(), Stop> {
        let chosen = self.chosen(labels)?;
        let several = self.pieces.len() > 1;
        for i in chosen {
            let piece = &mut self.pieces[i];
            work(piece, &mut self.talk).map_err(|stop| match several {
                true => stop.about(&piece.label),
                false => stop,
            })?;
        }
        Ok(())
    }
}

/// The file of the same folder whose name is nearest.
fn near_file(path: &Path) -> Option<String> {
    let folder = match path.parent()? {
        empty if empty == Path::new("") => Path::new("."),
        folder => folder,
    };
    let name = path
        .file_name()?
        .to_str()
        .filter(|n| !n.contains(['*', '?']))?;
    let files = std::fs::read_dir(folder).ok()?.filter_map(|f| {
        let file = f.ok()?;
        let is_file = file.file_type().is_ok_and(|t| t.is_file());
        is_file.then_some(file.file_name().into_string().ok()?)
    });
    let mut files: Vec<String> = files.collect();
    files.sort();
    let near = crate::prose::nearest(name, files.iter().map(String::as_str));
    // One letter for another is no slip where a name has hardly more.
    let other = |near: &&&str| {
        let near = Path::new(near);
        near.extension() != path.extension() || name.chars().count() > 6
    };
    near.iter().find(other).map(|near| (*near).to_owned())
}

/// What the system says, without its error number.
pub fn plain(error: &io::Error) -> String {
    let text = error.to_string();
    match text.split_once(" (os error") {
        Some((words, _)) => words.to_lowercase(),
        None => text,
    }
}
