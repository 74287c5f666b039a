//! Temporary files and folders of an unfinished run, which are removed at its end, also when it is interrupted.

#[cfg(unix)]
use std::fs::File;
#[cfg(unix)]
use std::io::Read;
use std::path::{Path, PathBuf};
#[cfg(unix)]
use std::sync::Weak;
#[cfg(unix)]
use std::sync::mpsc::{Receiver, sync_channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::{fs, io};

#[cfg(unix)]
use crate::image::ask_memory;

/// The leftovers of one run; clones are the same one.
#[derive(Clone, Debug, Default)]
pub struct Leftovers(Arc<Mutex<Lying>>);

/// Temporary files, and folders made for outputs.
#[derive(Debug, Default)]
pub struct Lying {
    /// Temporary files; some may be gone already.
    pub files: Vec<PathBuf>,
    /// Marks, which tell later runs whose the temporary files are: removed after these.
    pub marks: Vec<PathBuf>,
    /// Folders, outer ones first.
    pub folders: Vec<PathBuf>,
}

/// The runs of this process, once one has asked to be cleaned up after. One thread waits for all of them.
#[cfg(unix)]
static RUNS: Mutex<Option<Vec<Weak<Mutex<Lying>>>>> = Mutex::new(None);

/// What that thread may use for what it calls.
#[cfg(unix)]
const STACK: usize = 256 << 10;

/// Where that thread says that it is there.
#[cfg(unix)]
static STARTING: Mutex<Option<Receiver<()>>> = Mutex::new(None);

impl Leftovers {
    /// While this is locked, an interrupt waits.
    pub fn hold(&self) -> MutexGuard<'_, Lying> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// From now on a hangup, Ctrl-C or a request to end removes everything before the process ends, and a file that
    /// grows over the limit set for the process is an error like a full disk and does not end the process.
    ///
    /// # Errors
    /// What the system says.
    #[cfg(unix)]
    pub fn watch(&self) -> io::Result<()> {
        use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM, SIGXFSZ};
        let mut runs = RUNS.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(runs) = &mut *runs {
            runs.retain(|run| run.strong_count() > 0);
            runs.push(Arc::downgrade(&self.0));
            return Ok(());
        }
        signal_hook::flag::register(SIGXFSZ, Arc::default())?;
        // Signals that nohup or a shell's & ignore stay ignored.
        let ignored = ignored_signals();
        let wanted = [SIGHUP, SIGINT, SIGTERM].into_iter();
        let wanted = wanted.filter(|signal| ignored & 1 << (signal - 1) == 0);
        let mut signals = signal_hook::iterator::Signals::new(wanted)?;
        let (tell, is_up) = sync_channel(1);
        // A thread that finds no memory for its own beginning would end the process, or hold it up for ever.
        ask_memory(2 * STACK as u64)
            .map_err(|error| io::Error::new(io::ErrorKind::OutOfMemory, error))?;
        let thread = std::thread::Builder::new().stack_size(STACK);
        thread.spawn(move || {
            let _ = tell.send(());
            if let Some(signal) = signals.forever().next() {
                let mut runs = RUNS.lock().unwrap_or_else(PoisonError::into_inner);
                let all: Vec<Leftovers> = (runs.iter_mut().flatten())
                    .filter_map(|run| run.upgrade().map(Leftovers))
                    .collect();
                let mut held: Vec<_> = all.iter().map(Leftovers::hold).collect();
                held.iter_mut().for_each(|lying| lying.take_away());
                // Still locked, so that nothing new is made.
                let _ = signal_hook::low_level::emulate_default_handler(signal);
            }
        })?;
        *runs = Some(vec![Arc::downgrade(&self.0)]);
        *STARTING.lock().unwrap_or_else(PoisonError::into_inner) = Some(is_up);
        Ok(())
    }

    /// Waits until the thread that [`watch`](Self::watch) began is there, before much memory is used: it needs some for its own
    /// beginning.
    #[cfg(unix)]
    pub fn wait_until_watched(&self) {
        let starting = STARTING.lock();
        let starting = starting.unwrap_or_else(PoisonError::into_inner).take();
        // If it is gone, nobody has to wait for it.
        starting.map(|is_up| is_up.recv());
    }

    /// Here a process that is interrupted leaves its temporary files.
    ///
    /// # Errors
    /// None.
    #[cfg(not(unix))]
    pub fn watch(&self) -> io::Result<()> {
        Ok(())
    }

    /// There is no thread here.
    #[cfg(not(unix))]
    pub fn wait_until_watched(&self) {}
}

impl Lying {
    /// Removes every file and folder that is still there.
    pub fn take_away(&mut self) {
        for file in self.files.drain(..).chain(self.marks.drain(..)) {
            let _ = fs::remove_file(file);
        }
        while let Some(folder) = self.folders.pop() {
            // If somebody else has put something into it by now, it stays.
            let _ = fs::remove_dir(folder);
        }
    }

    /// Makes a missing folder.
    ///
    /// # Errors
    /// What the system says.
    pub fn make_folder(&mut self, folder: &Path) -> io::Result<()> {
        let missing = |p: &&Path| !p.as_os_str().is_empty() && !p.exists();
        let mut chain: Vec<&Path> = folder.ancestors().take_while(missing).collect();
        while let Some(next) = chain.pop() {
            match fs::create_dir(next) {
                Ok(()) => self.folders.push(next.to_owned()),
                // Somebody else made it before us, so it is theirs.
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists && next.is_dir() => {}
                Err(e) => return Err(e),
            }
        }
        Ok(())
    }
}

/// Bit n-1 is that of signal n. Only Linux has this; elsewhere no signal counts as ignored.
#[cfg(unix)]
fn ignored_signals() -> u64 {
    // A file of the system's that says it is empty is read in many small pieces, unless there is room for all of it.
    let mut status = String::with_capacity(8 << 10);
    let file = File::open("/proc/self/status");
    let _ = file.and_then(|mut file| file.read_to_string(&mut status));
    let mask = status.lines().find_map(|l| l.strip_prefix("SigIgn:"));
    mask.and_then(|m| u64::from_str_radix(m.trim(), 16).ok())
        .unwrap_or(0)
}
