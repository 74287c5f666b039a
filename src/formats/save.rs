//! The doors for writing: from an image to a file that is written whole or not at all.

use std::fs::{self, File, OpenOptions, Permissions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process;
use std::sync::atomic::{AtomicU32, Ordering};

use super::format::Format;
use super::options::WriteOptions;
use super::registry::by_extension;
use super::written::{WriteError, Written};
use crate::image::Image;
use crate::prose::debug_as_display;

/// Why a file could not be written. What was at its place before is still there.
#[derive(thiserror::Error)]
#[non_exhaustive]
pub enum SaveError {
    /// The extension of the file's name is not that of a format that can be written.
    #[error("{}: the file name does not say the format", .path.display())]
    NoFormat {
        /// The file.
        path: PathBuf,
    },
    /// The format can't carry this image in this way.
    #[error("{}: {error}", .path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why not; [`WriteError::Io`] is an error of the system.
        #[source]
        error: WriteError,
    },
}

debug_as_display!(SaveError);

/// Writes `image` to `path` in the format that the extension of the name says.
///
/// The bytes go to a temporary file beside it, which then takes its place in one step: at every moment there is the old
/// file or the new one, never half of one. A file that was there keeps its nine permission bits, and a symbolic link still
/// leads to it. Not promised: that the bytes are on the disk when the power fails, that an error is noticed which the system
/// tells only when the file is closed, or that the temporary file is removed when the process is killed.
///
/// # Errors
/// [`SaveError`].
pub fn save(
    path: impl AsRef<Path>,
    image: &Image,
    how: &WriteOptions,
) -> Result<Written, SaveError> {
    let path = path.as_ref();
    let extension = path.extension().and_then(|e| e.to_str());
    match extension.and_then(by_extension).filter(|f| f.can_write()) {
        Some(format) => save_as(format, path, image, how),
        None => Err(SaveError::NoFormat { path: path.into() }),
    }
}

/// Writes `image` to `path` in this format, whatever the name says; otherwise as [`save`].
///
/// # Errors
/// [`SaveError::Write`].
///
/// ```
/// use romloom::formats::{self, WriteOptions, intel_hex::IntelHex};
/// use romloom::image::{Image, Source};
///
/// # let folder = tempfile::tempdir()?;
/// # let path = folder.path().join("monitor.U7");
/// let image = Image::from_bytes(0xFFFC, vec![0x00, 0x80], Source::Patch)?;
/// formats::save_as(&IntelHex, &path, &image, &WriteOptions::default())?;
/// assert_eq!(std::fs::read_to_string(&path)?, ":02FFFC00008083\n:00000001FF\n");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn save_as(
    format: &dyn Format,
    path: impl AsRef<Path>,
    image: &Image,
    how: &WriteOptions,
) -> Result<Written, SaveError> {
    let path = path.as_ref();
    write_whole(format, path, image, how).map_err(|error| SaveError::Write {
        path: path.into(),
        error,
    })
}

fn write_whole(
    format: &dyn Format,
    path: &Path,
    image: &Image,
    how: &WriteOptions,
) -> Result<Written, WriteError> {
    // A link is followed; otherwise the new file would take the place of the link.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.into());
    let (file, temporary) = Temporary::beside(&target)?;
    let mut out = BufWriter::new(file);
    let written = format.write(image, how, &mut out)?;
    out.flush()?;
    // Closed before it is moved, because some systems require that.
    drop(out);
    if let Ok(old) = fs::metadata(&target) {
        fs::set_permissions(&temporary.path, taken_over(&target, old.permissions()))?;
    }
    temporary.put_in_place(&target)?;
    Ok(written)
}

/// The permissions that a new file takes over from the old one at this path: never that it runs as its owner or group, and its
/// group gets no more than an access list gave it. Only with the feature `cli` is there a library that reads access lists.
pub(crate) fn taken_over(path: &Path, old: Permissions) -> Permissions {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let listed = group_in_list(path).unwrap_or(0o7);
        Permissions::from_mode(old.mode() & (0o707 | listed << 3))
    }
    #[cfg(not(unix))]
    {
        let _ = path;
        old
    }
}

/// What the access list of a file, if it has one, lets its group do. The group's bits among the nine are the most that the list
/// lets anybody but the owner and the others do.
#[cfg(all(target_os = "linux", feature = "cli"))]
fn group_in_list(path: &Path) -> Option<u32> {
    /// Entries are a kind and rights of two bytes each, and an id of four.
    const ENTRY: usize = 8;
    const VERSION: usize = 4;
    const GROUP: [u8; 2] = [0x04, 0];
    /// No longer attribute can be asked for.
    const MOST: usize = 1 << 16;
    let mut list = vec![0; MOST];
    let length = rustix::fs::getxattr(path, "system.posix_acl_access", &mut list[..]).ok()?;
    let mut entries = list.get(VERSION..length)?.chunks_exact(ENTRY);
    let group = entries.find(|entry| entry[..2] == GROUP)?;
    Some(u32::from(group[2]) & 0o7)
}

#[cfg(all(unix, not(all(target_os = "linux", feature = "cli"))))]
fn group_in_list(_: &Path) -> Option<u32> {
    None
}

/// A file that is removed unless it is put in place.
struct Temporary {
    path: PathBuf,
    in_place: bool,
}

impl Temporary {
    /// A new, empty one in the same folder.
    fn beside(target: &Path) -> io::Result<(File, Self)> {
        static NUMBER: AtomicU32 = AtomicU32::new(0);
        if target.is_dir() {
            return Err(io::Error::other("this is a folder, not a file"));
        }
        loop {
            let number = NUMBER.fetch_add(1, Ordering::Relaxed);
            let path = target.with_file_name(format!(".romloom-{}-{number}.tmp", process::id()));
            match OpenOptions::new().write(true).create_new(true).open(&path) {
                Ok(file) => {
                    let in_place = false;
                    return Ok((file, Self { path, in_place }));
                }
                // Left over from a process that had this number before.
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
                Err(e) => return Err(e),
            }
        }
    }

    fn put_in_place(mut self, target: &Path) -> io::Result<()> {
        fs::rename(&self.path, target)?;
        self.in_place = true;
        Ok(())
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        if !self.in_place {
            // There is nobody to report this to, and the error that led here is reported already.
            let _ = fs::remove_file(&self.path);
        }
    }
}

#[cfg(test)]
mod tests;
