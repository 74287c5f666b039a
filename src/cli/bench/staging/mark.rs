//! Marks by which a later run knows whose a temporary file is, and what a killed run was about to replace.
//!
//! In each folder that a run writes into it keeps a file `.romloom-ID.run` locked for as long as it lives, and its temporary
//! files there have the same ID. A mark that nobody locks belongs to a run that is gone. Before the first file is replaced
//! the mark gets the list of all files of the set, each with the temporary file that waits for its place: those that still
//! wait after a kill were not replaced. What can't be seen, because its folder is not there, counts as neither.

use std::collections::BTreeSet;
use std::fs::{self, File, Permissions};
use std::io::{self, Read, Seek, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::super::leftovers::Lying;
use super::destination::folder_of;

const PREFIX: &str = ".romloom-";
const MARK: &str = ".run";
/// The end of a list while files are replaced. All marks have the list before the first gets this, all have it before the first
/// file is replaced, and none has it when the first mark is removed.
const WHOLE: &[u8] = b"all";
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
    /// Bytes of its list.
    length: u64,
    /// Whether nothing was ever written to it.
    is_empty: bool,
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
                    length: 0,
                    is_empty: true,
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

    /// Says which files are to be replaced, each with the one that waits for its place.
    ///
    /// # Errors
    /// What the system says.
    pub fn list<'a>(&mut self, set: impl Iterator<Item = (&'a Path, &'a Path)>) -> io::Result<()> {
        let mut list = Vec::new();
        for path in set.flat_map(|(place, waits)| [place, waits]) {
            list.extend_from_slice(path.as_os_str().as_encoded_bytes());
            list.push(0);
        }
        self.is_empty = false;
        self.mark.rewind()?;
        self.mark.write_all(&list)?;
        self.length = list.len() as u64;
        Ok(())
    }

    /// Says that they are about to be replaced.
    ///
    /// # Errors
    /// What the system says.
    pub fn announce(&mut self, durable: bool) -> io::Result<()> {
        self.is_empty = false;
        self.mark.write_all(WHOLE)?;
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
        match self.is_empty {
            true => Ok(()),
            false => self.mark.set_len(self.length),
        }
    }
}

/// A run that was killed.
#[derive(Debug)]
pub struct Abandoned {
    /// Its marks, one in each folder of its set, locked so that no other run clears up at the same time.
    marks: Vec<LeftMark>,
    set: Vec<SetMember>,
}

/// A mark that nobody locked.
#[derive(Debug)]
struct LeftMark {
    file: File,
    path: PathBuf,
    /// What is in it.
    list: Vec<u8>,
}

/// A file of a set.
#[derive(Debug)]
struct SetMember {
    place: PathBuf,
    /// The temporary file, which is gone when the place has it.
    waits: PathBuf,
    state: MemberState,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum MemberState {
    Old,
    New,
    /// Its folder is gone, or was moved.
    Unknown,
}

/// What a killed run left half new.
pub struct HalfNew<'a> {
    /// The files of its set.
    pub places: Vec<&'a Path>,
    /// Whether some are new and others old for certain: nothing is known of files whose folder is not there.
    pub is_certain: bool,
    /// What may be removed instead, if a folder is gone for good: everything in this one whose name begins so.
    pub removable: Option<PathBuf>,
}

impl Abandoned {
    /// The run of a mark that nobody locks.
    fn find(path: &Path) -> Option<Self> {
        let mark = LeftMark::lock(path)?;
        let mut set = pairs(&mark.list);
        follow(&mut set, path);
        let mut marks = vec![mark];
        let others: BTreeSet<PathBuf> =
            set.iter().filter_map(|pair| mark_of(&pair.waits)).collect();
        let mut gone = BTreeSet::new();
        let mut is_begun = marks[0].is_whole();
        for other in others.into_iter().filter(|other| other != path) {
            match LeftMark::lock(&other) {
                Some(mark) => {
                    is_begun &= mark.list == marks[0].list;
                    marks.push(mark);
                }
                // Its folder is gone or has been moved, and perhaps another has its name.
                None if !other.exists() => {
                    gone.insert(other);
                }
                // Another run is at it just now: nothing is taken away, and a later run says what there is to say.
                None => return None,
            }
        }
        if !is_begun {
            // Nothing had been replaced yet, or there is nothing to tell any more.
            set.clear();
        }
        for member in &mut set {
            member.state = match mark_of(&member.waits) {
                Some(mark) if gone.contains(&mark) => MemberState::Unknown,
                _ if member.waits.exists() => MemberState::Old,
                _ => MemberState::New,
            };
        }
        Some(Self { marks, set })
    }

    /// The files of its set, if some are new and others old, or may be.
    pub fn half_new(&self) -> Option<HalfNew<'_>> {
        let any = |state| self.set.iter().any(|member| member.state == state);
        let is_certain = any(MemberState::New) && any(MemberState::Old);
        let is_cut = any(MemberState::Unknown);
        let here = &self.marks.first()?.path;
        (is_certain || is_cut).then(|| HalfNew {
            places: self.set.iter().map(|pair| pair.place.as_path()).collect(),
            is_certain,
            removable: is_cut.then(|| here.with_extension("")),
        })
    }

    /// Takes away what it left.
    pub fn forget(self) {
        for mark in self.marks.iter().filter(|mark| mark.is_whole()) {
            // A kill from here on must not make a set of what is left. Of somebody else's mark this may be refused.
            let _ = mark.file.set_len((mark.list.len() - WHOLE.len()) as u64);
        }
        for mark in &self.marks {
            let folder = folder_of(&mark.path);
            let name = mark.path.file_name().unwrap_or_default();
            let name = name.to_string_lossy();
            let own = format!("{}-", name.trim_end_matches(MARK));
            for file in names_in(&folder).filter(|file| file.starts_with(&own)) {
                let _ = fs::remove_file(folder.join(file));
            }
            let _ = fs::remove_file(&mark.path);
        }
    }
}

/// Gives the files of a set the paths that they have now, if the mark `path` was moved with its folder since the list was made:
/// those beside it, and those of other folders that were moved with it.
fn follow(set: &mut [SetMember], path: &Path) {
    let mut marks = set.iter().filter_map(|member| mark_of(&member.waits));
    let Some(listed) = marks.find(|mark| mark.file_name() == path.file_name()) else {
        return;
    };
    let (mut from, mut to) = (folder_of(&listed), folder_of(path));
    while from.file_name().is_some() && from.file_name() == to.file_name() {
        from.pop();
        to.pop();
    }
    for member in set {
        let moved = |path: &Path| Some(to.join(path.strip_prefix(&from).ok()?));
        let (Some(place), Some(waits)) = (moved(&member.place), moved(&member.waits)) else {
            continue;
        };
        if mark_of(&waits).is_some_and(|mark| mark.exists()) {
            (member.place, member.waits) = (place, waits);
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

impl LeftMark {
    /// Locks a mark that nobody locks, and reads its list.
    fn lock(path: &Path) -> Option<Self> {
        let mut file = open(path, true).or_else(|_| open(path, false)).ok()?;
        let is_file = file.metadata().is_ok_and(|meta| meta.is_file());
        if !is_file || lock(&file) != Lock::Ours || !path.exists() {
            return None;
        }
        let mut list = Vec::new();
        file.read_to_end(&mut list).ok()?;
        let path = path.to_owned();
        Some(Self { file, path, list })
    }

    /// Whether it says that files are about to be replaced.
    fn is_whole(&self) -> bool {
        self.list.ends_with(WHOLE) && !pairs(&self.list).is_empty()
    }
}

/// Opens a mark. In a folder such as /tmp anybody may have put something of this name there: a link is not followed, and a pipe
/// not waited for.
fn open(path: &Path, for_writing: bool) -> io::Result<File> {
    let mut options = File::options();
    options.read(true).write(for_writing);
    #[cfg(unix)]
    {
        use rustix::fs::OFlags;
        use std::os::unix::fs::OpenOptionsExt;
        let flags = OFlags::NOFOLLOW | OFlags::NONBLOCK;
        options.custom_flags(flags.bits() as i32);
    }
    options.open(path)
}

/// The mark beside a temporary file.
fn mark_of(temp: &Path) -> Option<PathBuf> {
    let name = temp.file_name()?.to_str()?;
    let id = name.strip_prefix(PREFIX)?.split('-').next()?;
    Some(temp.with_file_name(format!("{PREFIX}{id}{MARK}")))
}

/// The files of a list, as far as it goes.
fn pairs(list: &[u8]) -> Vec<SetMember> {
    let list = list.strip_suffix(WHOLE).unwrap_or(list);
    let mut words: Vec<&[u8]> = list.split(|byte| *byte == 0).collect();
    // What is after the last zero is nothing, or was cut.
    words.pop();
    let pairs = words.chunks_exact(2).map(|pair| SetMember {
        place: path_of(pair[0]),
        waits: path_of(pair[1]),
        // Until the marks have been looked at.
        state: MemberState::Unknown,
    });
    pairs.collect()
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
/// new files. (The crate's own way to open one would say errors in its own words, and give the file an attribute on Windows
/// that a rename would not take away.)
fn temp(folder: &Path, prefix: &str, suffix: &str, for_all: bool) -> io::Result<NamedTempFile> {
    let mut options = File::options();
    options.read(true).write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        // The umask takes its share of the second, as with any new file.
        options.mode(if for_all { 0o666 } else { 0o600 });
    }
    #[cfg(not(unix))]
    let _ = for_all;
    let mut builder = tempfile::Builder::new();
    builder.prefix(prefix).suffix(suffix);
    builder.make_in(folder, |path| options.open(path))
}
