//! Marks by which a later run knows whose a temporary file is, and what a killed run was about to replace.
//!
//! In each folder that a run writes into it keeps a file `.romloom-ID.run` locked for as long as it lives, and its temporary
//! files there have the same ID. A mark that nobody locks belongs to a run that is gone. Before the first file is replaced
//! the mark gets the list of all files of the set, each with the temporary file that waits for its place: those that still
//! wait after a kill were not replaced.

use std::collections::BTreeSet;
use std::fs::{self, File, Permissions};
use std::io::{self, Read, Seek, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::super::leftovers::Lying;
use super::destination::folder_of;

const PREFIX: &str = ".romloom-";
const MARK: &str = ".run";
/// Written last, so that a list that was cut counts as none.
const WHOLE: &str = "all";
/// Tries to make a mark that another run takes for abandoned before it is locked.
const TRIES: usize = 8;

/// A folder that this run writes into.
#[derive(Debug)]
pub struct Marked {
    folder: PathBuf,
    /// Common to this run's files here.
    id: String,
    /// Locked as long as it is open.
    mark: File,
    /// What the system lets others do with a new file here.
    pub usual: Permissions,
    /// Its path.
    pub path: PathBuf,
}

impl Marked {
    /// Puts a mark into a folder.
    ///
    /// # Errors
    /// What the system says.
    pub fn new(folder: &Path, lying: &mut Lying) -> io::Result<Self> {
        for _ in 0..TRIES {
            let made = temp(folder, PREFIX, MARK, true)?;
            let (mark, path) = made.keep().map_err(|e| e.error)?;
            lying.marks.push(path.clone());
            // Another run may have found the mark before it was locked, and removed it.
            if lock(&mark) != Lock::Taken && path.exists() {
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                let id = name.trim_start_matches(PREFIX).trim_end_matches(MARK);
                return Ok(Self {
                    folder: folder.to_owned(),
                    id: id.to_owned(),
                    usual: mark.metadata()?.permissions(),
                    mark,
                    path,
                });
            }
            lying.marks.pop();
            let _ = fs::remove_file(path);
        }
        Err(io::Error::other("no temporary file can be kept here"))
    }

    /// A temporary file of this run in this folder.
    ///
    /// # Errors
    /// What the system says.
    pub fn temp(&self) -> io::Result<NamedTempFile> {
        temp(
            &self.folder,
            &format!("{PREFIX}{}-", self.id),
            ".part",
            false,
        )
    }

    /// A name in this folder for the old file while the new one takes its place.
    pub fn kept(&self, n: usize) -> PathBuf {
        self.folder.join(format!("{PREFIX}{}-{n}.old", self.id))
    }

    /// Says which files are about to be replaced, each with the one that waits for its place.
    ///
    /// # Errors
    /// What the system says.
    pub fn announce<'a>(
        &mut self,
        set: impl Iterator<Item = (&'a Path, &'a Path)>,
        durable: bool,
    ) -> io::Result<()> {
        let mut list = Vec::new();
        for path in set.flat_map(|(place, waits)| [place, waits]) {
            list.extend_from_slice(path.as_os_str().as_encoded_bytes());
            list.push(0);
        }
        list.extend_from_slice(WHOLE.as_bytes());
        self.mark.rewind()?;
        self.mark.write_all(&list)?;
        match durable {
            true => self.mark.sync_all(),
            false => Ok(()),
        }
    }

    /// No file is about to be replaced any more.
    ///
    /// # Errors
    /// What the system says.
    pub fn take_back(&mut self) -> io::Result<()> {
        self.mark.set_len(0)
    }
}

/// A run that was killed.
#[derive(Debug)]
pub struct Abandoned {
    /// Its marks, one in each folder of its set, locked so that no other run clears up at the same time.
    marks: Vec<(File, PathBuf)>,
    set: Vec<SetMember>,
}

/// A file of a set.
#[derive(Debug)]
struct SetMember {
    place: PathBuf,
    /// The temporary file, which is gone when the place has it.
    waits: PathBuf,
    is_new: bool,
}

impl Abandoned {
    /// The run of a mark that nobody locks.
    fn find(path: &Path) -> Option<Self> {
        let (mark, list) = locked(path)?;
        let mut set = pairs(&list);
        let mut marks = vec![(mark, path.to_owned())];
        let others: BTreeSet<PathBuf> =
            set.iter().filter_map(|pair| mark_of(&pair.waits)).collect();
        for other in others.into_iter().filter(|other| other != path) {
            // The list is in all marks before the first file is replaced, and until the last one is.
            match locked(&other) {
                Some((mark, its)) => {
                    if its != list {
                        set.clear();
                    }
                    marks.push((mark, other));
                }
                // Its folder is gone or has been moved: what is still here says enough.
                None if !folder_of(&other).exists() => {}
                // It was taken away, so nothing of the set had been replaced.
                None if !other.exists() => set.clear(),
                // Another run is at it just now: nothing is taken away, and a later run says what there is to say.
                None => return None,
            }
        }
        Some(Self { marks, set })
    }

    /// The files of its set, if some are new and others old.
    pub fn half_new(&self) -> Option<impl Iterator<Item = &Path>> {
        let new = self.set.iter().filter(|pair| pair.is_new).count();
        let places = self.set.iter().map(|pair| pair.place.as_path());
        (new > 0 && new < self.set.len()).then_some(places)
    }

    /// Takes away what it left.
    pub fn forget(self) {
        for (_, mark) in &self.marks {
            let folder = folder_of(mark);
            let name = mark.file_name().unwrap_or_default().to_string_lossy();
            let own = format!("{}-", name.trim_end_matches(MARK));
            for file in names_in(&folder).filter(|file| file.starts_with(&own)) {
                let _ = fs::remove_file(folder.join(file));
            }
            let _ = fs::remove_file(mark);
        }
    }
}

/// Removes what killed runs left in a folder, and gives those that left a set half new: their files stay until it is whole.
pub fn clear_up(folder: &Path) -> Vec<Abandoned> {
    let mut out = Vec::new();
    let is_mark = |name: &String| name.starts_with(PREFIX) && name.ends_with(MARK);
    for mark in names_in(folder).filter(is_mark) {
        let Some(left) = Abandoned::find(&folder.join(mark)) else {
            continue;
        };
        let is_half_new = left.half_new().is_some();
        match is_half_new {
            true => out.push(left),
            false => left.forget(),
        }
    }
    out
}

fn names_in(folder: &Path) -> impl Iterator<Item = String> {
    let entries = fs::read_dir(folder).into_iter().flatten();
    entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok())
}

/// A mark that nobody locks, locked, and the list in it.
fn locked(path: &Path) -> Option<(File, Vec<u8>)> {
    let mut mark = File::open(path).ok()?;
    if lock(&mark) != Lock::Ours || !path.exists() {
        return None;
    }
    let mut list = Vec::new();
    mark.read_to_end(&mut list).ok()?;
    Some((mark, list))
}

/// The mark beside a temporary file.
fn mark_of(temp: &Path) -> Option<PathBuf> {
    let name = temp.file_name()?.to_str()?;
    let id = name.strip_prefix(PREFIX)?.split('-').next()?;
    Some(temp.with_file_name(format!("{PREFIX}{id}{MARK}")))
}

/// The files of a list; none where it is cut.
fn pairs(list: &[u8]) -> Vec<SetMember> {
    let words: Vec<&[u8]> = list.split(|byte| *byte == 0).collect();
    match words.split_last() {
        Some((last, paths)) if *last == WHOLE.as_bytes() => {
            let pairs = paths.chunks_exact(2).map(|pair| {
                let waits = path_of(pair[1]);
                SetMember {
                    place: path_of(pair[0]),
                    is_new: !waits.exists(),
                    waits,
                }
            });
            pairs.collect()
        }
        _ => Vec::new(),
    }
}

#[cfg(unix)]
fn path_of(bytes: &[u8]) -> PathBuf {
    use std::os::unix::ffi::OsStrExt;
    std::ffi::OsStr::from_bytes(bytes).into()
}

#[cfg(not(unix))]
fn path_of(bytes: &[u8]) -> PathBuf {
    String::from_utf8_lossy(bytes).into_owned().into()
}

#[derive(Debug, PartialEq, Eq)]
enum Lock {
    Ours,
    /// By another process.
    Taken,
    /// The file system has no locks.
    Unknown,
}

#[cfg(unix)]
fn lock(file: &File) -> Lock {
    use rustix::fs::{FlockOperation, flock};
    match flock(file, FlockOperation::NonBlockingLockExclusive) {
        Ok(()) => Lock::Ours,
        Err(rustix::io::Errno::WOULDBLOCK) => Lock::Taken,
        Err(_) => Lock::Unknown,
    }
}

#[cfg(not(unix))]
fn lock(_: &File) -> Lock {
    Lock::Unknown
}

/// A new file. One that is not for all is its owner's alone; what others may do with one for all is what the system gives
/// new files.
fn temp(folder: &Path, prefix: &str, suffix: &str, for_all: bool) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(prefix).suffix(suffix);
    #[cfg(unix)]
    if for_all {
        use std::os::unix::fs::PermissionsExt;
        // The umask takes its share of this, as with any new file.
        builder.permissions(Permissions::from_mode(0o666));
    }
    #[cfg(not(unix))]
    let _ = for_all;
    builder.tempfile_in(folder)
}
