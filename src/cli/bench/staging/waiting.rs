//! An output that waits in its temporary file.

use std::fs::{self, File, Permissions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::TempPath;

use super::super::plain;
use super::destination::{Destination, folder_of};
use super::placing;
use super::same::{LastSeen, compare};
use crate::cli::report::FileState;

/// An output that waits.
#[derive(Debug)]
pub struct Waiting {
    /// The name as messages and the dependency file give it.
    pub name: String,
    /// Where it goes.
    pub target: Destination,
    /// Where it waits.
    pub temp: TempPath,
    /// The permissions that it gets at its place.
    pub mode: Permissions,
    /// What becomes of the file at its place.
    pub state: FileState,
    /// The old file as it was when the two were compared.
    pub seen: Option<LastSeen>,
}

impl Waiting {
    /// The place of a regular file.
    pub fn place(&self) -> Option<&PathBuf> {
        match &self.target {
            Destination::File(path) => Some(path),
            _ => None,
        }
    }

    /// The name in messages.
    pub fn shown(&self) -> &str {
        match self.target {
            Destination::Stdout => "standard output",
            _ => &self.name,
        }
    }

    /// Whether the place has these bytes already.
    pub fn stays(&self) -> bool {
        let place = self.place().filter(|place| place.exists());
        self.state == FileState::Unchanged && place.is_some()
    }

    /// Makes sure, as well as possible, that taking the place will succeed.
    ///
    /// # Errors
    /// What is in its way.
    pub fn check_place(&mut self) -> Result<(), String> {
        let Some(place) = self.place() else {
            return Ok(());
        };
        if self.state == FileState::Unchanged && !place.exists() {
            self.state = FileState::New;
        } else if self.stays() {
            // Unless somebody has written to it since the two were compared.
            let now = fs::metadata(place).ok().as_ref().map(LastSeen::of);
            if now != self.seen {
                let again = File::open(&self.temp).and_then(|mut new| compare(&mut new, place));
                self.state = again.map_err(|e| plain(&e))?;
            }
        }
        if self.stays() {
            return Ok(());
        }
        let Some(place) = self.place() else {
            return Ok(());
        };
        placing::may_replace(place)?;
        if !self.temp.exists() {
            return Err(format!(
                "the temporary file for this output, or the folder {}, was removed by something else",
                folder_of(Path::new(&self.name)).display()
            ));
        }
        Ok(())
    }

    /// Gives the file that waits the permissions of its place. With `durable` the disk has it then, or what is there already.
    ///
    /// # Errors
    /// What the system says.
    pub fn make_ready(&self, durable: bool) -> io::Result<()> {
        let Some(place) = self.place() else {
            return Ok(());
        };
        match self.stays() {
            // Somebody may have written it a moment ago. Windows syncs only what is open for writing, which it may not be.
            true if durable && cfg!(unix) => File::open(place)?.sync_all(),
            true => Ok(()),
            false => {
                let temp = File::options().write(true).open(&self.temp)?;
                temp.set_permissions(self.mode.clone())?;
                if durable {
                    temp.sync_all()?;
                }
                placing::close(temp)
            }
        }
    }

    /// Writes it to what can't be replaced.
    ///
    /// # Errors
    /// What the system says.
    pub fn pour(&self, durable: bool) -> io::Result<()> {
        let mut from = File::open(&self.temp)?;
        let result = match &self.target {
            Destination::Stream(path) => {
                let mut to = File::options().write(true).open(path)?;
                let copied = io::copy(&mut from, &mut to).map(drop);
                copied.and_then(|()| {
                    if durable {
                        placing::sync_stream(&to)?;
                    }
                    placing::close(to)
                })
            }
            _ => {
                let mut to = io::stdout().lock();
                let copied = io::copy(&mut from, &mut to).and_then(|_| to.flush());
                copied.and_then(|()| match durable {
                    true => placing::sync_stdout(),
                    false => Ok(()),
                })
            }
        };
        match result {
            // The reader has seen enough.
            Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            other => other,
        }
    }
}
