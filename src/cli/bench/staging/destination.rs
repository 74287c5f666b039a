//! What is at the place of an output.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::super::plain;

/// What is at the place of an output.
#[derive(Debug)]
pub enum Destination {
    /// A regular file, or nothing yet; links are followed.
    File(PathBuf),
    /// Something that can't be replaced by a rename: a device, a pipe or an open descriptor.
    Stream(PathBuf),
    /// Standard output.
    Stdout,
}

/// Links that are followed before a path counts as a circle.
const LINKS: usize = 40;

/// Whether a file of this name goes to standard output: `-`, and the names that the system has for it.
pub fn is_stdout(path: &Path) -> bool {
    path == Path::new("-") || descriptor(path) == Some(1)
}

/// The open descriptor that a path names, such as `/dev/fd/3`, also through links.
fn descriptor(path: &Path) -> Option<u32> {
    let mut path = path.to_owned();
    for _ in 0..LINKS {
        let text = path.to_str()?;
        match text {
            "/dev/stdin" => return Some(0),
            "/dev/stdout" => return Some(1),
            "/dev/stderr" => return Some(2),
            _ => {}
        }
        let own = format!("/proc/{}/fd/", std::process::id());
        let folders = ["/dev/fd/", "/proc/self/fd/", "/proc/thread-self/fd/", &own];
        let mut numbers = folders.iter().filter_map(|f| text.strip_prefix(f));
        if let Some(number) = numbers.next() {
            return number.parse().ok();
        }
        path = folder_of(&path).join(fs::read_link(&path).ok()?);
    }
    None
}

impl Destination {
    /// What is at this path.
    ///
    /// # Errors
    /// A folder, standard error, and what the system says.
    pub fn at(path: &Path) -> Result<Self, String> {
        if path == Path::new("-") {
            return Ok(Self::Stdout);
        }
        match descriptor(path) {
            None => {}
            Some(1) => return Ok(Self::Stdout),
            Some(2) => {
                return Err(
                    "this is standard error, where the messages go: use - for standard output, or name a file"
                        .into(),
                );
            }
            // Opened by its name it would be written from its beginning, wherever the descriptor is.
            Some(number) if fs::metadata(path).is_ok_and(|meta| meta.is_file()) => {
                return Err(format!(
                    "descriptor {number} is open on a regular file: use - and send standard output there with `>&{number}`"
                ));
            }
            Some(_) => return Ok(Self::Stream(path.to_owned())),
        }
        Self::followed(path, LINKS)
    }

    fn followed(path: &Path, links: usize) -> Result<Self, String> {
        let kind = match fs::metadata(path) {
            Ok(meta) => meta,
            Err(e) if e.kind() == io::ErrorKind::NotFound => {
                // A link that points nowhere yet: its target is what is meant.
                return match fs::read_link(path) {
                    Ok(_) if links == 0 => Err("these links lead in a circle".into()),
                    Ok(to) => Self::followed(&folder_of(path).join(to), links - 1),
                    Err(_) if path.file_name().is_none() => Err("this names no file".into()),
                    Err(_) => Ok(Self::File(path.to_owned())),
                };
            }
            Err(e) => return Err(plain(&e)),
        };
        if kind.is_dir() {
            return Err("this is a folder: name a file in it".into());
        }
        if !kind.is_file() {
            return Ok(Self::Stream(path.to_owned()));
        }
        // A link keeps its place; the file it points to is replaced.
        fs::canonicalize(path)
            .map(Self::File)
            .map_err(|e| plain(&e))
    }
}

/// One name for one place, however it is written; the folder must exist.
pub fn real(path: &Path) -> PathBuf {
    match (fs::canonicalize(folder_of(path)), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path.to_owned(),
    }
}

/// The folder that a file is in.
pub fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn standard_output_has_many_names() {
        for name in ["-", "/dev/stdout", "/dev/fd/1", "/proc/self/fd/1"] {
            assert!(is_stdout(Path::new(name)), "{name}");
            assert!(matches!(
                Destination::at(Path::new(name)),
                Ok(Destination::Stdout)
            ));
        }
        for name in ["/dev/stdin", "/dev/fd/3", "/dev/null", "stdout", "./-"] {
            assert!(!is_stdout(Path::new(name)), "{name}");
        }
        assert!(Destination::at(Path::new("/dev/stderr")).is_err());
        assert!(matches!(
            Destination::at(Path::new("/dev/fd/9")),
            Ok(Destination::Stream(_))
        ));
    }
}
