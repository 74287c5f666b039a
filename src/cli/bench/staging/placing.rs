//! The moment in which files take their places: what can be checked is checked first, and what fails all the same is undone.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use super::super::plain;
use super::destination::folder_of;
use crate::prose::plural;

/// A file that waits, and its place.
pub struct Placement {
    /// As messages call it.
    pub name: String,
    /// Where it waits.
    pub from: PathBuf,
    /// Its place.
    pub to: PathBuf,
    /// Where the old file is kept until all have their places.
    pub kept: PathBuf,
}

/// What is at the place of a file before it is moved there.
struct OldPlace {
    /// `None` where there is nothing.
    old: Option<FileId>,
    /// Whether the old file is kept.
    is_kept: bool,
}

/// By what a file is known whatever its name; nothing tells files apart where the system has no such number.
#[derive(PartialEq, Eq)]
struct FileId(u64, u64);

impl FileId {
    #[cfg(unix)]
    fn of(path: &Path) -> Option<Self> {
        use std::os::unix::fs::MetadataExt;
        let meta = path.symlink_metadata().ok()?;
        Some(Self(meta.dev(), meta.ino()))
    }

    #[cfg(not(unix))]
    fn of(path: &Path) -> Option<Self> {
        path.symlink_metadata().ok().map(|_| Self(0, 0))
    }
}

impl OldPlace {
    /// Looks, and keeps the old file if there are several to replace: a single rename is whole or not made.
    fn keep(of: &Placement, is_single: bool) -> Self {
        let old = FileId::of(&of.to);
        let is_kept = old.is_some() && !is_single && fs::hard_link(&of.to, &of.kept).is_ok();
        Self { old, is_kept }
    }
}

/// What became of a file that had its place when a later one could not get its own.
enum Undone {
    Back,
    /// Another run has replaced it since, which is not ours to undo.
    Theirs,
    Stuck,
}

fn undo(of: &Placement, before: &OldPlace, own: Option<&FileId>) -> Undone {
    let now = FileId::of(&of.to);
    if now.is_some() && now.as_ref() != own {
        if before.is_kept {
            let _ = fs::remove_file(&of.kept);
        }
        return Undone::Theirs;
    }
    let is_back = match (&before.old, before.is_kept) {
        (Some(_), true) => fs::rename(&of.kept, &of.to).is_ok(),
        (Some(_), false) => false,
        (None, _) => now.is_none() || fs::remove_file(&of.to).is_ok(),
    };
    match is_back {
        true => Undone::Back,
        false => Undone::Stuck,
    }
}

/// A file that could not be moved to its place.
pub struct Unplaced {
    /// As messages call it.
    pub name: String,
    /// What is wrong, and what the files are now.
    pub problem: String,
    /// Old files that could not be put back: nothing else has their bytes.
    pub kept: Vec<PathBuf>,
}

/// Moves all files to their places. A single one needs nothing kept: a rename is whole or not made.
///
/// # Errors
/// [`Unplaced`]; the files before that one are put back, unless another run has replaced them since.
pub fn place(moves: &[Placement]) -> Result<(), Unplaced> {
    let is_single = moves.len() == 1;
    // Links first, so that the files change one right after the other.
    let mut before: Vec<OldPlace> = moves
        .iter()
        .map(|of| OldPlace::keep(of, is_single))
        .collect();
    let mut own = Vec::with_capacity(moves.len());
    let mut failure = None;
    for (of, before) in moves.iter().zip(&mut before) {
        if !is_single && FileId::of(&of.to) != before.old {
            // Another run has replaced it since: that is what would be put back.
            let _ = fs::remove_file(&of.kept);
            *before = OldPlace::keep(of, is_single);
        }
        let id = FileId::of(&of.from);
        if let Err(error) = fs::rename(&of.from, &of.to) {
            failure = Some((of.name.clone(), plain(&error)));
            break;
        }
        own.push(id);
    }
    let Some((name, problem)) = failure else {
        forget(moves, &before);
        return Ok(());
    };
    let done = own.len();
    forget(&moves[done..], &before[done..]);
    let (mut back, mut theirs, mut stuck, mut kept) = (0, Vec::new(), Vec::new(), Vec::new());
    for (of, (before, own)) in moves.iter().zip(before.iter().zip(&own)).rev() {
        match undo(of, before, own.as_ref()) {
            Undone::Back => back += 1,
            Undone::Theirs => theirs.push(of.name.clone()),
            Undone::Stuck if before.is_kept => {
                stuck.push(format!(
                    "{} (the old file is {})",
                    of.name,
                    of.kept.display()
                ));
                kept.push(of.kept.clone());
            }
            Undone::Stuck => stuck.push(of.name.clone()),
        }
    }
    let after = match (done, stuck.is_empty() && theirs.is_empty()) {
        (0, _) => "no file has been replaced".to_owned(),
        (_, true) => format!(
            "what had been replaced is put back ({}), so every file is as before",
            plural(back, "file")
        ),
        _ => {
            let listed = |what: &str, mut names: Vec<String>| {
                names.reverse();
                (!names.is_empty()).then(|| format!("{what}: {}", names.join(", ")))
            };
            let parts = [
                listed("these are new already and could not be put back", stuck),
                listed(
                    "something else has replaced these meanwhile, and they are left as they are now",
                    theirs,
                ),
            ];
            parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
        }
    };
    Err(Unplaced {
        name,
        problem: format!("{problem}; {after}"),
        kept,
    })
}

/// Removes the links to old files.
fn forget(moves: &[Placement], before: &[OldPlace]) {
    for (of, before) in moves.iter().zip(before).rev() {
        if before.is_kept {
            let _ = fs::remove_file(&of.kept);
        }
    }
}

/// Whether a rename over this path will most likely succeed.
///
/// # Errors
/// What is in its way, and what to do.
pub fn may_replace(path: &Path) -> Result<(), String> {
    if path.is_dir() {
        return Err("there is now a folder of this name".into());
    }
    is_writable(path)?;
    let folder = folder_of(path);
    is_sticky(path, &folder)?;
    let parent = attributes(&folder);
    if parent.is_fixed {
        return Err(format!(
            "the folder {} is marked immutable or append-only (lsattr shows it): its files can't be replaced",
            folder.display()
        ));
    }
    let own = attributes(path);
    if own.is_fixed {
        return Err(
            "this file is marked immutable or append-only (lsattr shows it): remove the mark, or give another name"
                .into(),
        );
    }
    if own.is_mount {
        return Err("something is mounted on this file, so it can't be replaced: unmount it, or give another name".into());
    }
    Ok(())
}

/// A file that nobody may write to is not replaced.
///
/// # Errors
/// What to do.
pub fn is_writable(path: &Path) -> Result<(), String> {
    match fs::metadata(path).is_ok_and(|old| old.permissions().readonly()) {
        true => Err(
            "this file is read-only but would change: allow writing to it, or give another name"
                .into(),
        ),
        false => Ok(()),
    }
}

/// What the file system says of a file beside its permissions.
#[derive(Default)]
struct Attributes {
    is_fixed: bool,
    is_mount: bool,
}

#[cfg(target_os = "linux")]
fn attributes(path: &Path) -> Attributes {
    use rustix::fs::{AtFlags, CWD, StatxAttributes, StatxFlags, statx};
    let asked = statx(CWD, path, AtFlags::SYMLINK_NOFOLLOW, StatxFlags::TYPE);
    asked.map_or_else(
        |_| Attributes::default(),
        |found| {
            let has = |attribute| found.stx_attributes.intersects(attribute);
            Attributes {
                is_fixed: has(StatxAttributes::IMMUTABLE | StatxAttributes::APPEND),
                is_mount: has(StatxAttributes::MOUNT_ROOT),
            }
        },
    )
}

#[cfg(not(target_os = "linux"))]
fn attributes(_: &Path) -> Attributes {
    Attributes::default()
}

/// In a sticky folder only the owner of a file, or of the folder, may replace it.
#[cfg(unix)]
fn is_sticky(path: &Path, folder: &Path) -> Result<(), String> {
    use std::os::unix::fs::MetadataExt;
    const STICKY: u32 = 0o1000;
    let (Ok(file), Ok(folder)) = (path.symlink_metadata(), folder.metadata()) else {
        return Ok(());
    };
    let me = rustix::process::geteuid();
    let may = |owner: u32| me.is_root() || me.as_raw() == owner;
    match folder.mode() & STICKY != 0 && !may(file.uid()) && !may(folder.uid()) {
        true => Err(
            "this file belongs to somebody else, and its folder lets only owners replace files: give another name"
                .into(),
        ),
        false => Ok(()),
    }
}

#[cfg(not(unix))]
fn is_sticky(_: &Path, _: &Path) -> Result<(), String> {
    Ok(())
}

/// Whether files in this folder can be replaced and taken away: where it only gets more of them, not even temporary ones can.
///
/// # Errors
/// What is in the way.
pub fn may_replace_in(folder: &Path) -> io::Result<()> {
    match attributes(folder).is_fixed {
        true => Err(io::Error::other(
            "it is marked immutable or append-only (lsattr shows it)",
        )),
        false => Ok(()),
    }
}

/// Closes a file; what the system could not write shows here at the latest.
///
/// # Errors
/// What the system says.
#[cfg(unix)]
pub fn close(file: File) -> io::Result<()> {
    nix::unistd::close(file).map_err(io::Error::from)
}

#[cfg(not(unix))]
pub fn close(file: File) -> io::Result<()> {
    drop(file);
    Ok(())
}

/// Waits until the disk has the list of files of this folder.
///
/// # Errors
/// What the system says.
#[cfg(unix)]
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
pub fn sync_folder(_: &Path) -> io::Result<()> {
    // A folder can't be opened as a file here; the rename itself is journalled by the file system.
    Ok(())
}

/// Waits until the disk has what was written to a device or a descriptor; a pipe has no disk.
///
/// # Errors
/// What the system says.
pub fn sync_stream(file: &File) -> io::Result<()> {
    match file.sync_all() {
        Err(error) if !is_unsupported(&error) => Err(error),
        _ => Ok(()),
    }
}

/// The same for standard output.
///
/// # Errors
/// What the system says.
#[cfg(unix)]
pub fn sync_stdout() -> io::Result<()> {
    use std::os::fd::AsFd;
    sync_stream(&File::from(io::stdout().as_fd().try_clone_to_owned()?))
}

#[cfg(not(unix))]
pub fn sync_stdout() -> io::Result<()> {
    Ok(())
}

/// What a pipe, a terminal or a read-only device says to a sync.
fn is_unsupported(error: &io::Error) -> bool {
    use io::ErrorKind::{InvalidInput, ReadOnlyFilesystem, Unsupported};
    matches!(
        error.kind(),
        InvalidInput | Unsupported | ReadOnlyFilesystem
    )
}
