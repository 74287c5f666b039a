//! The moment in which files take their places: what can be checked is checked first, and what fails all the same is undone.

use std::fs::{self, File, Permissions};
use std::io;
use std::path::{Path, PathBuf};

use super::super::plain;
use super::destination::folder_of;

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

/// A move that was made.
struct Placed<'a> {
    of: &'a Placement,
    had_old: bool,
    /// Whether the old file is kept.
    is_kept: bool,
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
/// [`Unplaced`]; the files before that one are put back.
pub fn place(moves: &[Placement]) -> Result<(), Unplaced> {
    let mut made: Vec<Placed> = Vec::with_capacity(moves.len());
    let mut failure = None;
    // Links first, so that the files change one right after the other.
    for of in moves {
        let had_old = of.to.symlink_metadata().is_ok();
        let is_kept = had_old && moves.len() > 1 && fs::hard_link(&of.to, &of.kept).is_ok();
        made.push(Placed {
            of,
            had_old,
            is_kept,
        });
    }
    let mut done = 0;
    for of in moves {
        if let Err(error) = fs::rename(&of.from, &of.to) {
            failure = Some((of.name.clone(), plain(&error)));
            break;
        }
        done += 1;
    }
    let (mut lost, mut kept) = (Vec::new(), Vec::new());
    for (i, made) in made.iter().enumerate().rev() {
        let undo = failure.is_some() && i < done;
        let is_back = match (undo, made.had_old, made.is_kept) {
            (true, true, true) => fs::rename(&made.of.kept, &made.of.to).is_ok(),
            (true, false, _) => fs::remove_file(&made.of.to).is_ok(),
            (true, true, false) => false,
            (false, ..) => {
                if made.is_kept {
                    let _ = fs::remove_file(&made.of.kept);
                }
                true
            }
        };
        if !is_back {
            lost.push(match made.is_kept {
                true => format!(
                    "{} (the old file is {})",
                    made.of.name,
                    made.of.kept.display()
                ),
                false => made.of.name.clone(),
            });
            kept.extend(made.is_kept.then(|| made.of.kept.clone()));
        }
    }
    let Some((name, problem)) = failure else {
        return Ok(());
    };
    lost.reverse();
    let after = match (done, lost.is_empty()) {
        (0, _) => "no file has been replaced".to_owned(),
        (_, true) => format!(
            "what had been replaced is put back ({}), so every file is as before",
            crate::cli::report::plural(done as u64, "file")
        ),
        (_, false) => format!(
            "these are new already and could not be put back: {}",
            lost.join(", ")
        ),
    };
    Err(Unplaced {
        name,
        problem: format!("{problem}; {after}"),
        kept,
    })
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

/// The permissions that a new file takes over from the old one: never that it runs as its owner or group.
pub fn taken_over(old: Permissions) -> Permissions {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        Permissions::from_mode(old.mode() & 0o777)
    }
    #[cfg(not(unix))]
    old
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
