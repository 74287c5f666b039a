//! Files that wait until the whole run has succeeded, and are then put in place.
//!
//! Each is written to a temporary file in its own folder and renamed over the old one, so that nobody ever sees half a
//! file. One that would be byte-identical to what stands there is not touched.

use std::fs::{self, File};
use std::io::{self, BufWriter, Read, Seek, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::leftovers::Leftovers;
use super::{Progress, plain};
use crate::cli::report::FileState;

/// Bytes written or compared at once.
const BLOCK: usize = 64 * 1024;

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

/// What stands where a file shall go.
#[derive(Debug)]
enum Destination {
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
    target: Destination,
    temp: NamedTempFile,
    state: FileState,
}

/// The files of one run.
#[derive(Debug)]
pub struct Staging {
    policy: WritePolicy,
    waiting: Vec<Waiting>,
    leftovers: Leftovers,
    progress: Progress,
}

impl Staging {
    /// With nothing in it.
    pub fn new(policy: WritePolicy) -> Self {
        Self {
            policy,
            waiting: Vec::new(),
            leftovers: Leftovers::default(),
            progress: Progress::default(),
        }
    }

    /// From now on the whole process takes its temporary files away when it is interrupted.
    ///
    /// # Errors
    /// What the system says.
    pub fn clean_up_when_interrupted(&self) -> io::Result<()> {
        self.leftovers.watch()
    }

    /// What is written shows on this line.
    pub fn show(&mut self, progress: &Progress) {
        self.progress = progress.clone();
    }

    /// How files are put in place.
    pub fn policy(&self) -> WritePolicy {
        self.policy
    }

    /// Names of all that wait, as given.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.waiting.iter().map(|w| w.name.as_str())
    }

    /// Paths of the regular files that wait.
    fn files(&self) -> impl Iterator<Item = &Path> {
        self.waiting.iter().filter_map(|w| match &w.target {
            Destination::File(path) => Some(path.as_path()),
            _ => None,
        })
    }

    /// Whether a file waits that will stand at this path.
    pub fn has(&self, path: &Path) -> bool {
        !self.waiting.is_empty()
            && matches!(target(path), Ok(Destination::File(path)) if self.files().any(|file| file == real(&path)))
    }

    /// Writes a file to its waiting place. `name` is what messages call it, `-` is standard output.
    ///
    /// Returns what becomes of the file: `new`, `changed`, `unchanged`, or `rewritten` with the same bytes.
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
        let mut target = target(path).map_err(&fail)?;
        let mut temp = match &mut target {
            Destination::File(path) => {
                let folder = folder_of(path);
                let mut lying = self.leftovers.hold();
                lying.make_folder(&folder).map_err(|e| fail(plain(&e)))?;
                *path = real(path);
                let temp = new_temp(&folder, path).map_err(|e| fail(cannot_write(&e, &folder)))?;
                lying.files.push(temp.path().to_owned());
                temp
            }
            _ => {
                let folder = std::env::temp_dir();
                let mut lying = self.leftovers.hold();
                let temp = temp_in(&folder).map_err(|e| fail(cannot_write(&e, &folder)))?;
                lying.files.push(temp.path().to_owned());
                temp
            }
        };
        if let Destination::File(path) = &target {
            if let Some(other) = self.waiting.iter().find(|w| match &w.target {
                Destination::File(other) => is_same(other, path, temp.path()),
                _ => false,
            }) {
                let problem = match &other.target {
                    Destination::File(other) if other == path => {
                        "two outputs have this name: put {name} or {n} in it".into()
                    }
                    _ => format!(
                        "this folder does not tell capital from small letters, and {} is an output too: give it another name",
                        other.name
                    ),
                };
                return Err(fail(problem).into());
            }
        }
        self.progress.now(|| format!("writing {name}"), None);
        let file = Watched {
            file: temp.as_file_mut(),
            progress: &self.progress,
            failed: None,
        };
        let mut out = BufWriter::with_capacity(BLOCK, file);
        let written = write(&mut out).and_then(|()| Ok(out.flush()?));
        // What was not written is not tried once more.
        if let Some(error) = out.into_parts().0.failed {
            let problem = match &target {
                Destination::File(_) if error.kind() == io::ErrorKind::FileTooLarge => format!(
                    "{}: the process may write no file of this size (`ulimit -f`), or the file system holds none",
                    plain(&error)
                ),
                Destination::File(_) => plain(&error),
                _ => cannot_write(&error, &std::env::temp_dir()),
            };
            return Err(fail(problem).into());
        }
        written?;
        proof(temp.path())?;
        let state = match &target {
            Destination::File(path) => {
                match compare(temp.as_file_mut(), path).map_err(|e| fail(plain(&e)))? {
                    FileState::Unchanged if self.policy.always => FileState::Rewritten,
                    state => state,
                }
            }
            _ => FileState::New,
        };
        if let Destination::File(path) = &target {
            if matches!(state, FileState::Changed | FileState::Rewritten)
                && fs::metadata(path).is_ok_and(|old| old.permissions().readonly())
            {
                let problem = "this file is read-only and would change: allow writing to it, or give another name";
                return Err(fail(problem.into()).into());
            }
        }
        self.waiting.push(Waiting {
            name: name.into(),
            target,
            temp,
            state,
        });
        Ok(state)
    }

    /// Puts every file in place.
    ///
    /// What may fail comes first, while every old file still stands: what is read by others as it is written (standard
    /// output, devices, pipes), and whether each file can take its place. Then the files change, one right behind the
    /// other, and an interrupt waits until all have.
    ///
    /// # Errors
    /// [`StagingError`], which says which files are in place already.
    pub fn put_in_place(&mut self) -> Result<(), StagingError> {
        if self.policy.dry_run {
            return Ok(());
        }
        // Standard output may be the terminal.
        self.progress.finish();
        let mut done: Vec<String> = Vec::new();
        let is_file = |item: &Waiting| matches!(item.target, Destination::File(_));
        let (mut files, mut streams): (Vec<Waiting>, Vec<Waiting>) =
            std::mem::take(&mut self.waiting)
                .into_iter()
                .partition(is_file);
        for item in &mut files {
            item.make_ready(self.policy)
                .map_err(|problem| failed(item.shown(), &problem, &done))?;
        }
        for item in &mut streams {
            item.pour()
                .map_err(|e| failed(item.shown(), &plain(&e), &done))?;
            done.push(item.shown().into());
        }
        let mut lying = self.leftovers.hold();
        let mut folders: Vec<PathBuf> = Vec::new();
        for item in files {
            let Destination::File(path) = &item.target else {
                continue;
            };
            let path = path.clone();
            if item.state == FileState::Unchanged && path.exists() {
                continue;
            }
            item.temp
                .persist(&path)
                .map_err(|e| failed(&item.name, &plain(&e.error), &done))?;
            done.push(item.name);
            folders.push(folder_of(&path));
        }
        // All is in place: nothing of this run lies about any more.
        lying.files.clear();
        lying.folders.clear();
        drop(lying);
        if self.policy.durable {
            folders.dedup();
            for folder in folders {
                sync_folder(&folder)
                    .map_err(|e| failed(&folder.display().to_string(), &plain(&e), &done))?;
            }
        }
        Ok(())
    }
}

impl Drop for Staging {
    /// A run that failed, or was only tried, leaves no file and no folder behind.
    fn drop(&mut self) {
        let mut lying = self.leftovers.hold();
        self.waiting.clear();
        lying.take_away();
    }
}

impl Waiting {
    /// The name in messages.
    fn shown(&self) -> &str {
        match self.target {
            Destination::Stdout => "standard output",
            _ => &self.name,
        }
    }

    /// Sees to it that taking the place will most likely succeed.
    fn make_ready(&mut self, policy: WritePolicy) -> Result<(), String> {
        let Destination::File(path) = &self.target else {
            return Ok(());
        };
        if path.is_dir() {
            return Err("a folder has taken this name meanwhile".into());
        }
        if !self.temp.path().exists() {
            return Err(format!(
                "what was to become this file has been taken away meanwhile, or the folder {} has",
                folder_of(Path::new(&self.name)).display()
            ));
        }
        match policy.durable {
            true => self.temp.as_file().sync_all().map_err(|e| plain(&e)),
            false => Ok(()),
        }
    }

    /// Writes it to what can't be replaced.
    fn pour(&mut self) -> io::Result<()> {
        let from = self.temp.as_file_mut();
        from.rewind()?;
        let mut to: Box<dyn Write> = match &self.target {
            Destination::Stream(path) => Box::new(File::options().write(true).open(path)?),
            _ => Box::new(io::stdout().lock()),
        };
        match io::copy(from, &mut to).and_then(|_| to.flush()) {
            // The reader has seen enough.
            Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            other => other,
        }
    }
}

fn failed(file: &str, problem: &str, done: &[String]) -> StagingError {
    let placed = match done {
        [] => "no file has been replaced".into(),
        done => format!("already in place: {}", done.join(", ")),
    };
    StagingError {
        file: file.into(),
        problem: format!("{problem}; {placed}"),
    }
}

/// Passes bytes on, counts them, and keeps what went wrong.
struct Watched<'a> {
    file: &'a mut File,
    progress: &'a Progress,
    failed: Option<io::Error>,
}

impl Write for Watched<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.file.write(bytes).map_err(|e| {
            let told = io::Error::from(e.kind());
            if e.kind() != io::ErrorKind::Interrupted {
                self.failed = Some(e);
            }
            told
        })?;
        self.progress.add(written);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

/// Whether two outputs are one file: they have one name, or differ in capital letters only and the folder, where a file
/// waits in `temp`, does not tell these apart.
fn is_same(one: &Path, two: &Path, temp: &Path) -> bool {
    let lower = |path: &Path| path.to_string_lossy().to_lowercase();
    one == two || (lower(one) == lower(two) && ignores_case(temp))
}

fn ignores_case(temp: &Path) -> bool {
    let name = temp.file_name().unwrap_or_default().to_string_lossy();
    temp.with_file_name(name.to_uppercase()).exists()
}

fn target(path: &Path) -> Result<Destination, String> {
    if path == Path::new("-") {
        return Ok(Destination::Stdout);
    }
    let kind = match fs::metadata(path) {
        Ok(meta) => meta,
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            // A link that points nowhere yet: its target is what is meant.
            return match fs::read_link(path) {
                Ok(to) => target(&folder_of(path).join(to)),
                Err(_) if path.file_name().is_none() => Err("this names no file".into()),
                Err(_) => Ok(Destination::File(path.to_owned())),
            };
        }
        Err(e) => return Err(plain(&e)),
    };
    if kind.is_dir() {
        return Err("this is a folder: name a file in it".into());
    }
    if !kind.is_file() {
        return Ok(Destination::Stream(path.to_owned()));
    }
    // A link keeps its place; the file it points to is replaced.
    fs::canonicalize(path)
        .map(Destination::File)
        .map_err(|e| plain(&e))
}

/// One name for one place, however it is written; the folder must exist.
fn real(path: &Path) -> PathBuf {
    match (fs::canonicalize(folder_of(path)), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => path.to_owned(),
    }
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// A temporary file with the permissions the final one shall have: the old file's, or what the system gives new ones.
fn new_temp(folder: &Path, path: &Path) -> io::Result<NamedTempFile> {
    let temp = temp_in(folder)?;
    if let Ok(meta) = fs::metadata(path) {
        temp.as_file().set_permissions(meta.permissions())?;
    }
    Ok(temp)
}

fn temp_in(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".romloom-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The umask takes its share of this, as with any new file.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

fn cannot_write(error: &io::Error, folder: &Path) -> String {
    format!(
        "the folder {} can't be written to: {}",
        folder.display(),
        plain(error)
    )
}

/// What putting `new` over `path` would do.
fn compare(new: &mut File, path: &Path) -> io::Result<FileState> {
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

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    // A folder can't be opened as a file here; the rename itself is journalled by the file system.
    Ok(())
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
