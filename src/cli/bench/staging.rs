//! Files that wait until the whole run has succeeded, and are then put in place.
//!
//! Each is written to a temporary file in its own folder and renamed over the old one, so that nobody ever sees half a
//! file. A file that would be byte-identical to the old one is not touched.

mod destination;
mod mark;
mod placing;
mod same;
mod waiting;
mod watched;

use std::collections::{HashMap, HashSet};
use std::fs::{self, Permissions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::leftovers::Leftovers;
use super::{MessageKind, Progress, plain};
use crate::cli::report::FileState;
use crate::formats;
use destination::{Destination, folder_of, real};
use mark::{Abandoned, Marked};
use placing::Placement;
use same::{LastSeen, compare};
use waiting::Waiting;
use watched::Watched;

pub use destination::is_stdout;

/// Bytes written or compared at once. What is as long, such as a whole chip, is written without being copied first.
const BLOCK: usize = 32 * 1024;

/// How files are put in place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct WritePolicy {
    /// Rewrite even what is byte-identical.
    pub always: bool,
    /// Sync file and folder to the disk.
    pub durable: bool,
    /// Put nothing in place.
    pub dry_run: bool,
}

/// A file that can't be written.
#[derive(Debug, thiserror::Error)]
#[error("{file}: {problem}")]
pub struct StagingError {
    /// The name as given.
    pub file: String,
    /// What is wrong, and what to do.
    pub problem: String,
}

/// The files of one run.
#[derive(Debug)]
pub struct Staging {
    policy: WritePolicy,
    waiting: Vec<Waiting>,
    /// The files among those that wait, by path in small letters.
    by_path: HashMap<String, Vec<usize>>,
    /// The folders that this run writes into.
    folders: HashMap<PathBuf, Marked>,
    /// What killed runs left half new there.
    half_new: Vec<Abandoned>,
    leftovers: Leftovers,
    progress: Progress,
}

impl Staging {
    /// With nothing in it.
    pub fn new(policy: WritePolicy) -> Self {
        Self {
            policy,
            waiting: Vec::new(),
            by_path: HashMap::new(),
            folders: HashMap::new(),
            half_new: Vec::new(),
            leftovers: Leftovers::default(),
            progress: Progress::default(),
        }
    }

    /// From now on the process removes its temporary files when it is interrupted.
    ///
    /// # Errors
    /// What the system says.
    pub fn clean_up_when_interrupted(&self) -> io::Result<()> {
        self.leftovers.watch()
    }

    /// Waits until that is so, before much memory is used.
    pub fn wait_until_watched(&self) {
        self.leftovers.wait_until_watched();
    }

    /// What is written shows on this line.
    pub fn show(&mut self, progress: &Progress) {
        self.progress = progress.clone();
    }

    /// How files are put in place.
    pub fn policy(&self) -> WritePolicy {
        self.policy
    }

    /// Names of the regular files that wait, as given.
    pub fn file_names(&self) -> impl Iterator<Item = &str> {
        let files = self.waiting.iter().filter(|w| w.place().is_some());
        files.map(|w| w.name.as_str())
    }

    /// What becomes of the file of this name: it may have changed since it was written to its waiting place.
    pub fn state_of(&self, name: &str) -> Option<FileState> {
        let named = self.waiting.iter().find(|w| w.name == name);
        named.map(|w| w.state)
    }

    /// Whether a file waits whose place is this path.
    pub fn has(&self, path: &Path) -> bool {
        if self.waiting.is_empty() {
            return false;
        }
        let Ok(Destination::File(path)) = Destination::at(path) else {
            return false;
        };
        let path = real(&path);
        let alike = self.by_path.get(&lower(&path));
        let mut alike = alike.into_iter().flatten();
        alike.any(|i| self.waiting[*i].place() == Some(&path))
    }

    /// What must be said of sets that a killed run left half new: a warning, or a note where this run makes all of their files
    /// again. A run that fails, or is only tried, makes none.
    pub fn half_new(&self, is_placed: bool) -> Vec<(MessageKind, String)> {
        let told = self.half_new.iter().filter_map(|left| {
            let found = left.half_new()?;
            let places = &found.places;
            let names: Vec<String> = places.iter().map(|p| p.display().to_string()).collect();
            let (what, end) = match is_placed && !self.policy.dry_run && self.makes(places) {
                true => (MessageKind::Note, "this run makes all of them".to_owned()),
                false => {
                    let again = "run again what makes them";
                    let end = match &found.removable {
                        None => again.to_owned(),
                        Some(names) => format!("{again}, or remove {}*", names.display()),
                    };
                    (MessageKind::Warning, end)
                }
            };
            let are = match found.is_certain {
                true => "are",
                false => "may be",
            };
            let text = format!(
                "a run was killed while it replaced these files, so some {are} new and others old: {}; {end}",
                names.join(", ")
            );
            Some((what, text))
        });
        told.collect()
    }

    fn makes(&self, places: &[&Path]) -> bool {
        places.iter().all(|place| self.has(place))
    }

    /// Writes a file to its waiting place. `name` is its name in messages, `-` is standard output.
    ///
    /// Returns what happens to the file: `new`, `changed`, `unchanged`, or `rewritten` with the same bytes.
    ///
    /// # Errors
    /// [`StagingError`]; or whatever `write` returns. Nothing is left behind then.
    pub fn stage<E: From<StagingError> + From<io::Error>>(
        &mut self,
        name: &str,
        path: &Path,
        write: impl FnOnce(&mut dyn Write) -> Result<(), E>,
        proof: impl FnOnce(&Path) -> Result<(), E>,
    ) -> Result<FileState, E> {
        let fail = |problem: String| StagingError {
            file: name.into(),
            problem,
        };
        let mut target = Destination::at(path).map_err(&fail)?;
        let folder = match &target {
            Destination::File(path) => folder_of(path),
            _ => std::env::temp_dir(),
        };
        let (temp, usual) = self
            .temp_in(&folder)
            .map_err(|e| fail(cannot_write(&e, &folder)))?;
        let (mut temp, temp_path) = temp.into_parts();
        if let Destination::File(path) = &mut target {
            *path = real(path);
        }
        if let Destination::File(path) = &target {
            let alike = self.by_path.get(&lower(path));
            let mut alike = alike.into_iter().flatten().map(|i| &self.waiting[*i]);
            let same = |w: &&Waiting| w.place().is_some_and(|p| is_same(p, path, &temp_path));
            if let Some(other) = alike.find(same) {
                let problem = match other.place() == Some(path) {
                    true => "two outputs have this name: put {name} or {n} into it".into(),
                    false => format!(
                        "capital and small letters are the same in this folder, and {} is an output too: give it another name",
                        other.name
                    ),
                };
                return Err(fail(problem).into());
            }
        }
        self.progress.now(|| format!("writing {name}"), None);
        let file = Watched::new(&mut temp, &self.progress);
        let mut out = BufWriter::with_capacity(BLOCK, file);
        let written = write(&mut out).and_then(|()| Ok(out.flush()?));
        // What was not written is not tried once more.
        if let Some(error) = out.into_parts().0.failed {
            let problem = match &target {
                Destination::File(_) if error.kind() == io::ErrorKind::FileTooLarge => format!(
                    "{}: the process may not write a file of this size (`ulimit -f`), or the file system can't store one",
                    plain(&error)
                ),
                Destination::File(_) => plain(&error),
                _ => cannot_write(&error, &std::env::temp_dir()),
            };
            return Err(fail(problem).into());
        }
        written?;
        proof(&temp_path)?;
        let state = match &target {
            Destination::File(path) => {
                match compare(&mut temp, path).map_err(|e| fail(plain(&e)))? {
                    FileState::Unchanged if self.policy.always => FileState::Rewritten,
                    state => state,
                }
            }
            _ => FileState::New,
        };
        if let Destination::File(path) = &target {
            if matches!(state, FileState::Changed | FileState::Rewritten) {
                placing::is_writable(path).map_err(&fail)?;
            }
        }
        let old = match &target {
            Destination::File(path) => fs::metadata(path).ok(),
            _ => None,
        };
        let seen = old.as_ref().map(LastSeen::of);
        let mode = match (&target, old) {
            (Destination::File(path), Some(old)) => formats::taken_over(path, old.permissions()),
            _ => usual,
        };
        // What the system could not write shows now, and not when the file has its place.
        placing::close(temp).map_err(|e| fail(plain(&e)))?;
        if let Destination::File(path) = &target {
            let index = self.waiting.len();
            self.by_path.entry(lower(path)).or_default().push(index);
        }
        self.waiting.push(Waiting {
            name: name.into(),
            target,
            temp: temp_path,
            mode,
            state,
            seen,
        });
        Ok(state)
    }

    /// A temporary file in a folder, which is made where it is missing, and the permissions that new files get there.
    fn temp_in(&mut self, folder: &Path) -> io::Result<(NamedTempFile, Permissions)> {
        let mut lying = self.leftovers.hold();
        lying.make_folder(folder)?;
        let folder = fs::canonicalize(folder)?;
        if !self.folders.contains_key(&folder) {
            placing::may_replace_in(&folder)?;
            // Before there is a mark of our own.
            self.half_new.extend(mark::clear_up(&folder));
            let marked = Marked::new(&folder, &mut lying)?;
            self.folders.insert(folder.clone(), marked);
        }
        let marked = &self.folders[&folder];
        let temp = marked.temp()?;
        lying.files.push(temp.path().to_owned());
        Ok((temp, marked.usual.clone()))
    }

    /// Puts every file in place.
    ///
    /// What may fail comes first, while every old file is still there: whether each file can take its place, what is read by
    /// others as it is written (standard output, devices, pipes), and the permissions and the sync of each file that waits.
    /// Then the files change, one right after the other, and an interrupt waits until all have. When one can't be replaced,
    /// those before it are put back.
    ///
    /// # Errors
    /// [`StagingError`], which says what the files are then.
    pub fn put_in_place(&mut self) -> Result<(), StagingError> {
        if self.policy.dry_run {
            return Ok(());
        }
        // Standard output may be the terminal.
        self.progress.finish();
        let durable = self.policy.durable;
        let none = |name: &str, problem: &str| StagingError {
            file: name.into(),
            problem: format!("{problem}; no file has been replaced"),
        };
        for item in &mut self.waiting {
            item.check_place()
                .map_err(|problem| none(item.shown(), &problem))?;
        }
        for item in self.waiting.iter().filter(|w| w.place().is_none()) {
            item.pour(durable)
                .map_err(|e| none(item.shown(), &plain(&e)))?;
        }
        for item in &self.waiting {
            item.make_ready(durable)
                .map_err(|e| none(item.shown(), &plain(&e)))?;
        }
        let mut lying = self.leftovers.hold();
        let mut moves = Vec::new();
        for (n, item) in self.waiting.iter().enumerate() {
            let Some(place) = item.place().filter(|_| !item.stays()) else {
                continue;
            };
            let folder = folder_of(place);
            let Some(marked) = self.folders.get(&folder) else {
                return Err(none(&item.name, "its folder has been moved meanwhile"));
            };
            let kept = marked.kept(n);
            lying.files.push(kept.clone());
            moves.push(Placement {
                name: item.name.clone(),
                from: item.temp.to_path_buf(),
                to: place.clone(),
                kept,
            });
        }
        // The folders of all outputs: what an earlier run has put there is synced too.
        let mut folders: Vec<PathBuf> = self.folders.keys().cloned().collect();
        folders.extend(
            lying
                .folders
                .iter()
                .map(|folder| match fs::canonicalize(folder) {
                    Ok(folder) => folder_of(&folder),
                    Err(_) => folder_of(folder),
                }),
        );
        folders.sort();
        folders.dedup();
        if durable {
            // A new folder has to be found after a power loss, or so would not be the list in it.
            for made in &lying.folders {
                placing::sync_folder(&folder_of(made))
                    .map_err(|e| none(&made.display().to_string(), &plain(&e)))?;
            }
        }
        if moves.len() > 1 {
            // Where nothing is replaced, a later run finds nothing to tell.
            let replaced: HashSet<PathBuf> = moves.iter().map(|m| folder_of(&m.to)).collect();
            let folders = self.folders.iter_mut();
            let mut marks: Vec<(&PathBuf, &mut Marked)> = folders
                .filter(|(folder, _)| replaced.contains(*folder))
                .collect();
            for (_, marked) in &mut marks {
                let set = moves.iter().map(|m| (m.to.as_path(), m.from.as_path()));
                let listed = marked.list(set);
                listed.map_err(|e| none(&marked.path.display().to_string(), &plain(&e)))?;
            }
            for (folder, marked) in &mut marks {
                let announced = marked.announce(durable).and_then(|()| match durable {
                    true => placing::sync_folder(folder),
                    false => Ok(()),
                });
                announced.map_err(|e| none(&marked.path.display().to_string(), &plain(&e)))?;
            }
        }
        if let Err(failed) = placing::place(&moves) {
            // What could not be put back is all that is left of the old file.
            lying.files.retain(|file| !failed.kept.contains(file));
            for marked in self.folders.values_mut() {
                let _ = marked.take_back();
            }
            if durable {
                let _ = folders
                    .iter()
                    .try_for_each(|folder| placing::sync_folder(folder));
            }
            return Err(StagingError {
                file: failed.name,
                problem: failed.problem,
            });
        }
        if durable {
            for folder in folders {
                placing::sync_folder(&folder).map_err(|e| StagingError {
                    file: folder.display().to_string(),
                    problem: format!(
                        "{}; all files are in place, but the disk may not have all of it",
                        plain(&e)
                    ),
                })?;
            }
        }
        // What was made stays.
        lying.folders.clear();
        drop(lying);
        for left in std::mem::take(&mut self.half_new) {
            let is_made = left
                .half_new()
                .is_some_and(|found| self.makes(&found.places));
            if is_made {
                left.forget();
            }
        }
        Ok(())
    }
}

impl Drop for Staging {
    /// A run that failed, or was only tried, leaves no file and no folder behind.
    fn drop(&mut self) {
        let mut lying = self.leftovers.hold();
        // A kill from here on finds no set.
        for marked in self.folders.values_mut() {
            let _ = marked.take_back();
        }
        self.waiting.clear();
        lying.take_away();
    }
}

/// Whether two outputs are one file: they have one name, or differ in capital letters only and the folder, where a file
/// waits in `temp`, does not tell these apart.
fn is_same(one: &Path, two: &Path, temp: &Path) -> bool {
    one == two || (lower(one) == lower(two) && ignores_case(temp))
}

fn lower(path: &Path) -> String {
    path.to_string_lossy().to_lowercase()
}

fn ignores_case(temp: &Path) -> bool {
    let name = temp.file_name().unwrap_or_default().to_string_lossy();
    temp.with_file_name(name.to_uppercase()).exists()
}

fn cannot_write(error: &io::Error, folder: &Path) -> String {
    format!(
        "the folder {} can't be written to: {}",
        folder.display(),
        plain(error)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder that does not tell capital from small letters shows the waiting file under both names. Here a second
    /// file stands for that.
    #[test]
    fn names_that_differ_in_capitals_are_one_file_where_the_folder_says_so() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        let temp = at(".romloom-aB3.part");
        fs::write(&temp, "").expect("written");
        assert!(is_same(&at("a.bin"), &at("a.bin"), &temp));
        assert!(!is_same(&at("a.bin"), &at("A.BIN"), &temp));
        fs::write(at(".ROMLOOM-AB3.PART"), "").expect("written");
        assert!(is_same(&at("a.bin"), &at("A.BIN"), &temp));
        assert!(!is_same(&at("a.bin"), &at("b.bin"), &temp));
    }
}
