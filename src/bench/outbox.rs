//! Files that wait until the whole run has succeeded, and are then put in place.
//!
//! Each is written to a temporary file in its own folder and renamed over the old one, so that nobody ever sees half a
//! file. One that would be byte-identical to what stands there is not touched.

use std::fs::{self, File};
use std::io::{self, BufWriter, Read, Seek, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::plain;

/// How files are put in place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Placing {
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
pub struct PlacingError {
    /// The name as given.
    pub file: String,
    /// What is wrong, and what to do.
    pub problem: String,
}

/// What stands where a file shall go.
#[derive(Debug)]
enum Target {
    /// A regular file, or nothing yet; links are followed.
    File(PathBuf),
    /// Something that can't be replaced by a rename: a device or a pipe.
    Stream(PathBuf),
    /// Standard output.
    Stdout,
}

#[derive(Debug)]
struct Waiting {
    /// The name as messages and the dependency file give it.
    name: String,
    target: Target,
    temp: NamedTempFile,
    state: State,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    New,
    Changed,
    Unchanged,
}

/// The files of one run.
#[derive(Debug)]
pub struct Outbox {
    placing: Placing,
    waiting: Vec<Waiting>,
    /// Folders made for outputs, to be taken away again should the run fail.
    made: Vec<PathBuf>,
}

impl Outbox {
    /// An empty outbox.
    pub fn new(placing: Placing) -> Self {
        Self {
            placing,
            waiting: Vec::new(),
            made: Vec::new(),
        }
    }

    /// How files are put in place.
    pub fn placing(&self) -> Placing {
        self.placing
    }

    /// Names of all that wait, as given.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.waiting.iter().map(|w| w.name.as_str())
    }

    /// Paths of the regular files that wait.
    fn files(&self) -> impl Iterator<Item = &Path> {
        self.waiting.iter().filter_map(|w| match &w.target {
            Target::File(path) => Some(path.as_path()),
            _ => None,
        })
    }

    /// Writes a file to its waiting place. `name` is what messages call it, `-` is standard output.
    ///
    /// Returns whether it will be `new`, `changed` or `unchanged`.
    ///
    /// # Errors
    /// [`PlacingError`]; or whatever `write` returns. Nothing is left behind then.
    pub fn stage<E: From<PlacingError> + From<io::Error>>(
        &mut self,
        name: &str,
        path: &Path,
        write: impl FnOnce(&mut dyn Write) -> Result<(), E>,
        proof: impl FnOnce(&Path) -> Result<(), E>,
    ) -> Result<&'static str, E> {
        let fail = |problem: String| PlacingError {
            file: name.into(),
            problem,
        };
        let mut target = target(path).map_err(&fail)?;
        let mut temp = match &mut target {
            Target::File(path) => {
                let folder = folder_of(path);
                self.make_folder(&folder).map_err(|e| fail(plain(&e)))?;
                // One name for one place, however it is written.
                if let (Ok(folder), Some(name)) = (fs::canonicalize(&folder), path.file_name()) {
                    *path = folder.join(name);
                }
                if self.files().any(|other| other == path) {
                    let problem = "two outputs have this name: put {label} or {n} in it";
                    return Err(fail(problem.into()).into());
                }
                new_temp(&folder, path).map_err(|e| fail(cannot_write(&e, &folder)))?
            }
            _ => NamedTempFile::new().map_err(|e| fail(plain(&e)))?,
        };
        let mut out = BufWriter::with_capacity(64 * 1024, temp.as_file_mut());
        write(&mut out)?;
        out.flush().map_err(|e| fail(plain(&e)))?;
        drop(out);
        proof(temp.path())?;
        let state = match &target {
            Target::File(path) => compare(temp.as_file_mut(), path).map_err(|e| fail(plain(&e)))?,
            _ => State::New,
        };
        self.waiting.push(Waiting {
            name: name.into(),
            target,
            temp,
            state,
        });
        Ok(state.word())
    }

    /// Makes a missing folder, and remembers what to take away again.
    fn make_folder(&mut self, folder: &Path) -> io::Result<()> {
        let missing = |p: &&Path| !p.as_os_str().is_empty() && !p.exists();
        let mut chain: Vec<&Path> = folder.ancestors().take_while(missing).collect();
        while let Some(next) = chain.pop() {
            fs::create_dir(next)?;
            self.made.push(next.to_owned());
        }
        Ok(())
    }

    /// Puts every file in place.
    ///
    /// # Errors
    /// [`PlacingError`], which says which files are in place already.
    pub fn put_in_place(&mut self) -> Result<(), PlacingError> {
        if self.placing.dry_run {
            return Ok(());
        }
        let mut done: Vec<String> = Vec::new();
        for item in std::mem::take(&mut self.waiting) {
            let name = item.name.clone();
            if let Err(error) = place(item, self.placing) {
                let placed = match done.is_empty() {
                    true => "no file has been replaced".into(),
                    false => format!("already in place: {}", done.join(", ")),
                };
                return Err(PlacingError {
                    file: name,
                    problem: format!("{}; {placed}", plain(&error)),
                });
            }
            done.push(name);
        }
        self.made.clear();
        Ok(())
    }
}

impl Drop for Outbox {
    /// A run that failed, or was only tried, leaves no file and no folder behind.
    fn drop(&mut self) {
        self.waiting.clear();
        while let Some(folder) = self.made.pop() {
            // Somebody else may have put something into it meanwhile; then it stays.
            let _ = fs::remove_dir(folder);
        }
    }
}

impl State {
    fn word(self) -> &'static str {
        match self {
            State::New => "new",
            State::Changed => "changed",
            State::Unchanged => "unchanged",
        }
    }
}

fn target(path: &Path) -> Result<Target, String> {
    if path == Path::new("-") {
        return Ok(Target::Stdout);
    }
    let kind = match fs::metadata(path) {
        Ok(meta) => meta,
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            // A link that points nowhere yet: its target is what is meant.
            return match fs::read_link(path) {
                Ok(to) => target(&folder_of(path).join(to)),
                Err(_) if path.file_name().is_none() => Err("this names no file".into()),
                Err(_) => Ok(Target::File(path.to_owned())),
            };
        }
        Err(e) => return Err(plain(&e)),
    };
    if kind.is_dir() {
        return Err("this is a folder: name a file in it".into());
    }
    if !kind.is_file() {
        return Ok(Target::Stream(path.to_owned()));
    }
    // A link keeps its place; the file it points to is replaced.
    fs::canonicalize(path)
        .map(Target::File)
        .map_err(|e| plain(&e))
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// A temporary file with the permissions the final one shall have: the old file's, or what the system gives new ones.
fn new_temp(folder: &Path, path: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".romloom-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The umask takes its share of this, as with any new file.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let temp = builder.tempfile_in(folder)?;
    if let Ok(meta) = fs::metadata(path) {
        temp.as_file().set_permissions(meta.permissions())?;
    }
    Ok(temp)
}

fn cannot_write(error: &io::Error, folder: &Path) -> String {
    format!(
        "the folder {} can't be written to: {}",
        folder.display(),
        plain(error)
    )
}

/// What putting `new` over `path` would do.
fn compare(new: &mut File, path: &Path) -> io::Result<State> {
    let old = match File::open(path) {
        Ok(old) => old,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(State::New),
        // A file that can't be read can still be replaced.
        Err(_) => return Ok(State::Changed),
    };
    if old.metadata()?.len() != new.metadata()?.len() {
        return Ok(State::Changed);
    }
    new.rewind()?;
    match same(new, old)? {
        true => Ok(State::Unchanged),
        false => Ok(State::Changed),
    }
}

fn same(mut a: impl Read, mut b: impl Read) -> io::Result<bool> {
    const BLOCK: u64 = 64 * 1024;
    let (mut one, mut two) = (Vec::new(), Vec::new());
    loop {
        one.clear();
        two.clear();
        a.by_ref().take(BLOCK).read_to_end(&mut one)?;
        b.by_ref().take(BLOCK).read_to_end(&mut two)?;
        if one != two {
            return Ok(false);
        }
        if one.is_empty() {
            return Ok(true);
        }
    }
}

fn place(mut item: Waiting, placing: Placing) -> io::Result<()> {
    let pour = |temp: &mut NamedTempFile, to: &mut dyn Write| -> io::Result<()> {
        temp.as_file_mut().rewind()?;
        io::copy(temp.as_file_mut(), to)?;
        to.flush()
    };
    match &item.target {
        Target::Stdout => match pour(&mut item.temp, &mut io::stdout().lock()) {
            // The reader has seen enough.
            Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            other => other,
        },
        Target::Stream(path) => pour(&mut item.temp, &mut File::options().write(true).open(path)?),
        Target::File(_) if item.state == State::Unchanged && !placing.always => Ok(()),
        Target::File(path) => {
            if placing.durable {
                item.temp.as_file().sync_all()?;
            }
            item.temp.persist(path).map_err(|e| e.error)?;
            if placing.durable {
                sync_folder(&folder_of(path))?;
            }
            Ok(())
        }
    }
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    // A folder can't be opened as a file here; the rename itself is journalled by the file system.
    Ok(())
}
