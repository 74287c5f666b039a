//! Files that steps read.

use std::fs::File;
use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use super::{Bench, Cause, MessageKind, ReadLimit, Reader, Stop, plain};
use crate::formats::Input;

impl Bench {
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
    /// [`Stop`] with the name and what the system says.
    pub fn open(&mut self, given: &Path, limit: ReadLimit) -> Result<Input<'static>, Stop> {
        if given == Path::new("-") {
            let progress = self.console.progress();
            if io::stdin().is_terminal() {
                // Somebody is typing there.
                progress.finish();
            }
            self.staging.wait_until_watched();
            let reader = Reader::endless(io::stdin(), "standard input", progress, limit);
            return Ok(Input::new("standard input", reader));
        }
        let path = self.path(given);
        let shown = self.shown(given);
        let waits = self.staging.has(&path);
        let trouble = |e: io::Error| {
            let problem = plain(&e);
            let missing = e.kind() == io::ErrorKind::NotFound;
            let stop = |fact: String| match missing {
                true => Stop::trouble(fact).because(Cause::NoSuchFile(given.to_owned())),
                false => Stop::trouble(fact),
            };
            stop(match near_file(&path).filter(|_| missing) {
                _ if waits && missing => format!(
                    "{shown}: {problem}: this run makes the file, but puts it in place only when all steps are done"
                ),
                Some(near) => {
                    let near = given.with_file_name(near);
                    format!("{shown}: {problem}; did you mean {}?", near.display())
                }
                None => format!("{shown}: {problem}"),
            })
        };
        let file = File::open(&path)
            .and_then(|file| Reader::new(file, &shown, self.console.progress(), limit))
            .map_err(trouble)?;
        // Many small ones are large too.
        if !file.is_small() || !self.inputs.is_empty() {
            self.staging.wait_until_watched();
        }
        if waits {
            let text = format!(
                "{shown}: the old file is read; the new one is put in place when all steps are done"
            );
            self.console.say(MessageKind::Warning, &text);
        }
        self.inputs.push(path);
        Ok(Input::in_two(given.display().to_string(), file))
    }

    /// Reads a small text file as a whole.
    ///
    /// # Errors
    /// As [`open`](Self::open), and for what is not UTF-8 text of at most 16 MiB.
    pub fn read_text(&mut self, given: &Path) -> Result<String, Stop> {
        const MOST: u64 = 16 << 20;
        let mut input = self.open(given, ReadLimit::Lifted)?;
        let shown = self.shown(given);
        let trouble = |what: String| Stop::trouble(format!("{shown}: {what}"));
        let taken = input
            .take_bytes(0, Some(MOST + 1))
            .map_err(|e| trouble(plain(&e)))?;
        if taken.bytes.len() as u64 > MOST {
            return Err(trouble("more than 16M: is this the right file?".into()));
        }
        String::from_utf8(taken.bytes).map_err(|e| {
            trouble(format!(
                "byte {} is not UTF-8 text",
                e.utf8_error().valid_up_to()
            ))
        })
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
    // In a very short name another letter is not a typing error.
    let other = |near: &&&str| {
        let near = Path::new(near);
        near.extension() != path.extension() || name.chars().count() > 6
    };
    near.iter().find(other).map(|near| (*near).to_owned())
}
