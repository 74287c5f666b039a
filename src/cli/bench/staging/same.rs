//! Whether a file would change at all.

use std::fs::{File, Metadata};
use std::io::{self, Read, Seek};
use std::path::Path;
use std::time::SystemTime;

use super::BLOCK;
use crate::cli::report::FileState;

/// By what a file that somebody has written to meanwhile is known.
#[derive(Debug, PartialEq, Eq)]
pub struct LastSeen {
    len: u64,
    modified: Option<SystemTime>,
}

impl LastSeen {
    /// The file that this is said of.
    pub fn of(meta: &Metadata) -> Self {
        Self {
            len: meta.len(),
            modified: meta.modified().ok(),
        }
    }
}

/// What putting `new` over `path` would do.
///
/// # Errors
/// What the system says.
pub fn compare(new: &mut File, path: &Path) -> io::Result<FileState> {
    let old = match File::open(path) {
        Ok(old) => old,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(FileState::New),
        // A file that can't be read can still be replaced.
        Err(_) => return Ok(FileState::Changed),
    };
    if old.metadata()?.len() != new.metadata()?.len() {
        return Ok(FileState::Changed);
    }
    new.rewind()?;
    match same(new, old)? {
        true => Ok(FileState::Unchanged),
        false => Ok(FileState::Changed),
    }
}

fn same(mut a: impl Read, mut b: impl Read) -> io::Result<bool> {
    let (mut one, mut two) = (Vec::new(), Vec::new());
    loop {
        one.clear();
        two.clear();
        a.by_ref().take(BLOCK as u64).read_to_end(&mut one)?;
        b.by_ref().take(BLOCK as u64).read_to_end(&mut two)?;
        if one != two {
            return Ok(false);
        }
        if one.is_empty() {
            return Ok(true);
        }
    }
}
