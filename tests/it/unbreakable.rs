//! Nothing is lost: whatever happens to a run, every output is the old file or the new one, whole, and what went wrong
//! is said.
//!
//! A pipe as input holds a run at a chosen step, so that what happens meanwhile does not depend on luck. What needs
//! another user, or a file system of its own, is left out with a message where the test may not have it.

#![cfg(target_os = "linux")]

use std::collections::VecDeque;
use std::fs;
use std::io::{Read, Write};
use std::os::unix::fs::{FileTypeExt, MetadataExt, OpenOptionsExt, PermissionsExt, symlink};
use std::os::unix::process::{CommandExt, ExitStatusExt};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use romloom::formats::{self, WriteOptions};
use romloom::image::{Image, Source};

use crate::support::bench::{Folder, Ran};
use crate::support::{missing, not_tried, share};

/// What `prog.hex` holds.
const PROG: [u8; 4] = [0x10, 0x11, 0x12, 0x13];

/// A generator of Marsaglia's xorshift kind, so that a test does the same each time.
struct Luck(u64);

impl Luck {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// From 0 to 1.
    fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn romloom() -> PathBuf {
    assert_cmd::cargo::cargo_bin("romloom")
}

fn command(folder: &Folder, line: &str) -> Command {
    let mut command = Command::new(romloom());
    command
        .args(shlex::split(line).unwrap())
        .current_dir(folder.path(""))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// Runs a line of the shell, with the command as `$R`.
fn shell(folder: &Folder, line: &str) -> Ran {
    let out = Command::new("sh")
        .args(["-c", line])
        .env("R", romloom())
        .current_dir(folder.path(""))
        .output()
        .unwrap();
    assert!(out.status.code().is_some(), "{line}: {}", out.status);
    Ran::from(out)
}

fn fifo(folder: &Folder, name: &str) -> PathBuf {
    let path = folder.path(name);
    assert!(
        Command::new("mkfifo")
            .arg(&path)
            .status()
            .unwrap()
            .success()
    );
    path
}

/// Names of temporary files of ours, in the folder and one level below.
fn parts(folder: &Path) -> Vec<String> {
    let mut out = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with(".romloom-") && name.ends_with(".part") {
            out.push(name);
        } else if entry.file_type().unwrap().is_dir() {
            out.extend(parts(&entry.path()));
        }
    }
    out
}

/// A run that has written its files and now waits for a pipe.
struct Held {
    child: Child,
    /// The other end of the pipe.
    pipe: fs::File,
}

impl Held {
    /// Runs `line`, which has `outputs` files waiting before it loads from the pipe `held`.
    fn new(folder: &Folder, line: &str, outputs: usize) -> Held {
        if !folder.has("held") {
            fifo(folder, "held");
        }
        Held::started(folder, command(folder, line), outputs)
    }

    fn started(folder: &Folder, mut command: Command, outputs: usize) -> Held {
        let mut child = command.spawn().unwrap();
        let begun = Instant::now();
        let mut pipe = fs::File::options();
        pipe.write(true).custom_flags(nonblocking());
        loop {
            // Only the run reads from it, and only when all before is done.
            if let Ok(pipe) = pipe.open(folder.path("held")) {
                assert!(parts(&folder.path("")).len() >= outputs);
                return Held { child, pipe };
            }
            assert!(child.try_wait().unwrap().is_none(), "the run has ended");
            assert!(begun.elapsed() < Duration::from_secs(60), "nothing is read");
            std::thread::sleep(Duration::from_millis(1));
        }
    }

    /// Lets it go on, and waits for its end.
    fn go_on(mut self) -> Ran {
        self.pipe.write_all(b"x").unwrap();
        drop(self.pipe);
        Ran::from(self.child.wait_with_output().unwrap())
    }

    /// Sends a signal, and gives the one it ended with.
    fn end_by(mut self, signal: &str) -> Option<i32> {
        self.send(signal);
        self.child.wait().unwrap().signal()
    }

    fn send(&self, signal: &str) {
        let id = self.child.id().to_string();
        let sent = Command::new("kill").args(["-s", signal, &id]).status();
        assert!(sent.unwrap().success());
    }
}

/// A pipe that nobody reads is an error then, and not waited for.
fn nonblocking() -> i32 {
    rustix::fs::OFlags::NONBLOCK.bits() as i32
}

fn is_root() -> bool {
    fs::metadata("/proc/self").is_ok_and(|meta| meta.uid() == 0)
}

/// A small file system of its own over a folder, taken away at the end.
struct Mounted(PathBuf);

impl Mounted {
    /// `None`, with a message, where mounting is not allowed.
    fn new(at: PathBuf, args: &[&str]) -> Option<Mounted> {
        let done = Command::new("mount").args(args).arg(&at).output();
        match done {
            Ok(out) if out.status.success() => Some(Mounted(at)),
            _ => {
                missing("file systems of their own: mounting is not allowed here");
                None
            }
        }
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

/// The command as a user without rights runs it, where this test may become one.
pub(super) fn as_nobody(folder: &Folder, line: &str) -> Option<Ran> {
    const NOBODY: u32 = 65534;
    if !is_root() {
        missing("another user: only root can become one");
        return None;
    }
    // The built command may stand where others can't reach it.
    let own = folder.path("romloom");
    if !own.exists() {
        // Not by this process: another test's child could hold the copy open for writing while it shall start.
        let copied = Command::new("cp").arg(romloom()).arg(&own).status();
        assert!(copied.unwrap().success());
        fs::set_permissions(folder.path(""), fs::Permissions::from_mode(0o777)).unwrap();
    }
    let mut command = Command::new(own);
    command
        .args(shlex::split(line).unwrap())
        .current_dir(folder.path(""))
        .uid(NOBODY)
        .gid(NOBODY);
    Some(Ran::from(command.output().unwrap()))
}

// ---- killed ----

/// Kills all over the run and, in half of them, over its end, where files take their places: two hundred in a thorough
/// run.
#[test]
fn a_kill_at_any_moment_leaves_each_output_old_or_new_and_whole() {
    const SIZE: usize = 256 * 1024;
    // Without a mark beside it nobody knows whose it is.
    const FOREIGN: &str = ".romloom-mine.part";
    let folder = Folder::new();
    let mut luck = Luck(0x0123_4567_89AB_CDEF);
    let inputs: Vec<Vec<u8>> = (0..2)
        .map(|_| (0..4 * SIZE).map(|_| luck.next() as u8).collect())
        .collect();
    let line = |n: usize| format!("load in{n}.bin + split banks 256K + write {{name}}.bin");
    let name = |i: usize| format!("bank{i}.bin");
    for (n, bytes) in inputs.iter().enumerate() {
        folder.put(&format!("in{n}.bin"), bytes);
    }
    folder.put(FOREIGN, "not of this run");
    let holds = |i: usize, n: usize| folder.get(&name(i)) == inputs[n][i * SIZE..(i + 1) * SIZE];
    let run = |n: usize, mends: bool| {
        let begun = Instant::now();
        let ran = Ran::from(command(&folder, &line(n)).output().unwrap());
        assert_eq!(ran.code, 0);
        assert_eq!(
            ran.err.contains("a run was killed while it replaced"),
            mends,
            "{}",
            ran.err
        );
        begun.elapsed()
    };
    // How long the latest runs took: other tests run beside this one, and end.
    let mut latest: VecDeque<Duration> = (1..=5).map(|n| run(n % 2, false)).collect();
    let usual = |latest: &VecDeque<Duration>| {
        let mut sorted: Vec<&Duration> = latest.iter().collect();
        sorted.sort();
        *sorted[sorted.len() / 2]
    };

    let (mut killed, mut all_old, mut mixed, mut all_new, mut left) = (0, 0, 0, 0, 0);
    let rounds = share(200, 4);
    for round in 0..rounds {
        // Now all outputs are those of `old`.
        let (new, old) = (round % 2, (round + 1) % 2);
        let from = if round < rounds / 2 { 0.0 } else { 0.6 };
        let moment = usual(&latest).mul_f64(from + (1.05 - from) * luck.share());
        let mut child = command(&folder, &line(new)).spawn().unwrap();
        std::thread::sleep(moment);
        child.kill().unwrap();
        killed += usize::from(child.wait().unwrap().signal() == Some(9));

        let fresh = (0..4).filter(|i| holds(*i, new)).count();
        for i in 0..4 {
            assert!(
                holds(i, new) || holds(i, old),
                "{} after {moment:?}",
                name(i)
            );
        }
        match fresh {
            0 => all_old += 1,
            4 => all_new += 1,
            _ => mixed += 1,
        }
        let stale = parts(&folder.path(""));
        left += usize::from(stale.len() > 1);

        latest.push_back(run(new, (1..4).contains(&fresh)));
        latest.pop_front();
        assert!((0..4).all(|i| holds(i, new)), "the next run mends all");
        assert_eq!(
            parts(&folder.path("")),
            [FOREIGN],
            "it takes away what the killed one left"
        );
        assert_eq!(folder.get(FOREIGN), b"not of this run");
    }
    eprintln!(
        "a run takes {:?}; of {rounds}, {killed} were killed before their end: all outputs old {all_old}, some new {mixed}, all new {all_new}; temporary files left by {left}",
        usual(&latest)
    );
    assert!(killed > rounds / 4, "only {killed} runs were killed");
}

/// In a folder such as /tmp somebody else may put what looks like a mark: links are not followed and pipes not waited for.
#[test]
fn what_only_looks_like_a_mark_does_no_harm() {
    let folder = Folder::new();
    folder.put("mine/precious.txt", "a\0b\0all");
    symlink("mine/precious.txt", folder.path(".romloom-aaaaaa.run")).unwrap();
    fs::hard_link(folder.path("prog.hex"), folder.path(".romloom-bbbbbb.run")).unwrap();
    fifo(&folder, ".romloom-cccccc.run");
    let prog = folder.get("prog.hex");
    folder.ok("load prog.hex + write a.bin");
    assert_eq!(folder.get("mine/precious.txt"), b"a\0b\0all");
    assert_eq!(folder.get("prog.hex"), prog);
}

#[test]
fn an_interrupt_takes_files_and_folders_away() {
    for (signal, number) in [("INT", 2), ("TERM", 15), ("HUP", 1)] {
        if is_ignored(number) {
            not_tried(&format!(
                "{signal}: these tests run with it ignored, as behind nohup"
            ));
            continue;
        }
        let folder = Folder::new();
        folder.put("a.bin", "old");
        fifo(&folder, "held");
        let before = folder.list();
        let line = "load prog.hex + write a.bin + write new/deep/b.bin + write - --as raw + load held --as raw";
        let held = Held::new(&folder, line, 1);
        assert_eq!(held.end_by(signal), Some(number), "{signal}");
        assert_eq!(folder.list(), before, "{signal}");
        assert_eq!(folder.get("a.bin"), b"old");
    }
    // Any other signal ends it where it is, and the next run takes away what it left, but for the new folder.
    let folder = Folder::new();
    folder.put("a.bin", "old");
    let line = "load prog.hex + write a.bin + write new/b.bin + load held --as raw";
    let held = Held::new(&folder, line, 2);
    assert_eq!(held.end_by("USR1"), Some(10));
    assert_eq!(folder.get("a.bin"), b"old");
    assert_eq!(parts(&folder.path("")).len(), 2);
    folder.ok("load prog.hex + write c.bin + write new/d.bin");
    assert_eq!(parts(&folder.path("")), [""; 0]);
    assert_eq!(fs::read_dir(folder.path("new")).unwrap().count(), 1);
}

/// Whether whoever started the tests has this signal ignored; a command started from here has it ignored too.
fn is_ignored(signal: i32) -> bool {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = status.lines().find_map(|l| l.strip_prefix("SigIgn:"));
    let mask = mask.and_then(|m| u64::from_str_radix(m.trim(), 16).ok());
    mask.unwrap_or(0) >> (signal - 1) & 1 == 1
}

#[test]
fn a_signal_that_was_set_to_be_ignored_stays_ignored() {
    for signal in ["HUP", "INT", "TERM"] {
        let folder = Folder::new();
        fifo(&folder, "held");
        let line = format!(
            "trap '' {signal}; exec \"$R\" load prog.hex + write a.bin + load held --as raw"
        );
        let mut command = Command::new("sh");
        command
            .args(["-c", &line])
            .env("R", romloom())
            .current_dir(folder.path(""))
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let held = Held::started(&folder, command, 1);
        held.send(signal);
        let ran = held.go_on();
        assert_eq!(ran.code, 0, "{signal}: {}", ran.err);
        assert_eq!(folder.get("a.bin"), PROG);
    }
}

// ---- what fails leaves nothing ----

#[test]
fn a_run_that_fails_leaves_no_temporary_file() {
    for (end, code) in [
        ("+ expect size 5", 1),
        ("+ pad 2", 2),
        ("+ load nosuch.hex", 2),
        ("+ write /dev/full --as raw", 2),
        ("+ write no/such/../../prog.hex/x.bin", 2),
        ("+ digest > /dev/full", 2),
        ("+ write - --as raw > /dev/full", 2),
        ("> /dev/null", 0),
        ("+ digest >&-", 0),
        ("+ write - --as raw >&-", 0),
        ("+ write - --as raw | true", 0),
    ] {
        let folder = Folder::new();
        folder.put("a.bin", "old");
        let before = folder.list();
        let temporary = folder.path("tmp");
        fs::create_dir(&temporary).unwrap();
        let line = format!(
            "TMPDIR=tmp; export TMPDIR; \"$R\" load prog.hex + write a.bin + write new/b.bin {end}"
        );
        let ran = shell(&folder, &line);
        assert_eq!(ran.code, code, "{end}\n{}", ran.err);
        assert_eq!(parts(&folder.path("")), [""; 0], "{end}");
        assert_eq!(fs::read_dir(&temporary).unwrap().count(), 0, "{end}");
        fs::remove_dir(&temporary).unwrap();
        match code {
            0 => assert_eq!(folder.get("a.bin"), PROG, "{end}"),
            _ => {
                assert!(ran.err.starts_with("error: "), "{end}\n{}", ran.err);
                assert_eq!(folder.get("a.bin"), b"old", "{end}");
                assert_eq!(folder.list(), before, "{end}");
            }
        }
    }
}

#[test]
fn a_result_that_cannot_be_printed_is_an_error() {
    let folder = Folder::new();
    for (line, words) in [
        ("load prog.hex + digest", "; no file has been replaced"),
        (
            "load prog.hex + digest + write a.bin",
            "; no file has been replaced",
        ),
        ("--json load prog.hex + digest", ""),
        (
            "load prog.hex + write - --as raw",
            "; no file has been replaced",
        ),
    ] {
        let ran = shell(&folder, &format!("\"$R\" {line} > /dev/full"));
        assert_eq!(ran.code, 2, "{line}");
        let wanted = format!("error: standard output: no space left on device{words}");
        assert!(ran.err.starts_with(&wanted), "{line}\n{}", ran.err);
        assert_eq!(folder.list(), ["prog.hex"]);
    }
    let ran = shell(&folder, "\"$R\" load prog.hex + write a.bin > /dev/full");
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (
            2,
            "error: standard output: no space left on device; all files are in place\n"
        )
    );
    assert_eq!(folder.get("a.bin"), PROG);
    // With --json nothing is printed before the end.
    let ran = shell(
        &folder,
        "\"$R\" --json load prog.hex + digest + write json.bin > /dev/full",
    );
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (
            2,
            "error: standard output: no space left on device; all files are in place\n"
        )
    );
    assert_eq!(folder.get("json.bin"), PROG);
    let ran = shell(
        &folder,
        "\"$R\" --dry-run load prog.hex + write b.bin > /dev/full",
    );
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (2, "error: standard output: no space left on device\n")
    );
    assert!(!folder.has("b.bin"));
}

// ---- no room ----

#[test]
fn a_full_disk_is_an_error_and_old_files_stay() {
    let folder = Folder::new();
    fs::create_dir(folder.path("small")).unwrap();
    let Some(_mounted) = Mounted::new(
        folder.path("small"),
        &["-t", "tmpfs", "-o", "size=64k", "tmpfs"],
    ) else {
        return;
    };
    folder.put("small/a.bin", "old a");
    folder.put("small/b.bin", "old b");
    folder.put("big.bin", vec![0x5A; 48 * 1024]);
    // The first finds room, the second does not.
    for second in [
        "write small/b.bin",
        "write small/b.bin --durable",
        "write small/b.hex",
        "sheet small/b.html",
    ] {
        let (whole, second) = match second.strip_suffix(" --durable") {
            Some(second) => ("--durable ", second),
            None => ("", second),
        };
        let ran = folder.run(&format!(
            "{whole}load big.bin + write small/a.bin + {second}"
        ));
        assert_eq!(ran.code, 2, "{second}");
        let file = second.rsplit(' ').next().unwrap();
        let step = second.split(' ').next().unwrap();
        assert_eq!(
            ran.error(),
            format!("error: {step}: {file}: no space left on device")
        );
        assert_eq!(folder.get("small/a.bin"), b"old a");
        assert_eq!(folder.get("small/b.bin"), b"old b");
        assert_eq!(fs::read_dir(folder.path("small")).unwrap().count(), 2);
    }
    // A dry run needs the same room.
    let ran = folder.run("--dry-run load big.bin + write small/a.bin + write small/b.bin");
    assert_eq!(ran.code, 2);
    assert_eq!(
        ran.error(),
        "error: write: small/b.bin: no space left on device"
    );
    folder.ok("load big.bin + write small/a.bin");
    assert_eq!(folder.get("small/a.bin"), folder.get("big.bin"));
    // What goes to standard output waits in the folder for temporary files.
    let ran = shell(
        &folder,
        "TMPDIR=small \"$R\" load big.bin + write - --as raw",
    );
    assert_eq!(
        (ran.code, ran.out.as_str(), ran.error()),
        (
            2,
            "",
            "error: write: -: the folder small can't be written to: no space left on device"
        )
    );
    // As does a long document.
    folder.put("many.bin", [0xFF, 0].repeat(20_000));
    folder.put("small/a.bin", "old a");
    let ran = shell(
        &folder,
        "TMPDIR=small \"$R\" --json load many.bin + find FF + write small/a.bin --always",
    );
    assert_eq!(
        (ran.code, ran.out.as_str(), ran.error()),
        (
            2,
            "",
            "error: the folder small can't be written to: no space left on device; no file has been replaced"
        )
    );
    assert_eq!(folder.get("small/a.bin"), b"old a");
}

/// A shell's `ulimit -f` sends a signal that ends a process unless it is caught.
#[test]
fn a_limit_on_file_size_is_an_error_and_old_files_stay() {
    let folder = Folder::new();
    folder.put("big.bin", vec![0x5A; 48 * 1024]);
    folder.put("a.bin", "old a");
    folder.put("b.bin", "old b");
    let before = folder.list();
    let ran = shell(
        &folder,
        "ulimit -f 8; exec \"$R\" load big.bin + write b.bin --as intel-hex + write a.bin",
    );
    assert_eq!(
        (ran.code, ran.error()),
        (
            2,
            "error: write: b.bin: file too large: the process may not write a file of this size (`ulimit -f`), or the file system can't store one"
        )
    );
    assert_eq!(folder.list(), before);
    assert_eq!(folder.get("a.bin"), b"old a");
    assert_eq!(folder.get("b.bin"), b"old b");
}

/// What has been written waits closed, so that a run may make more files than it may have open.
#[test]
fn more_outputs_than_files_may_be_open_are_no_trouble() {
    let folder = Folder::new();
    let image: Vec<u8> = (0..200 * 16).map(|i| (i / 16) as u8).collect();
    folder.put("a.bin", image);
    let ran = shell(
        &folder,
        "ulimit -n 64; exec \"$R\" load a.bin + split banks 16 + write 'out/{name}.bin'",
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    let made = fs::read_dir(folder.path("out")).unwrap().count();
    assert_eq!(made, 200);
    for n in [0, 63, 64, 199] {
        assert_eq!(folder.get(&format!("out/bank{n}.bin")), [n as u8; 16]);
    }
    // In each folder one file stays open.
    let before = folder.list();
    let ran = shell(
        &folder,
        "ulimit -n 64; exec \"$R\" load a.bin + split banks 16 + write 'new/{name}/a.bin'",
    );
    assert_eq!(ran.code, 2);
    assert!(
        ran.error()
            .ends_with("can't be written to: too many open files"),
        "{}",
        ran.err
    );
    assert_eq!(folder.list(), before);
}

// ---- places ----

#[test]
fn a_read_only_file_system_is_an_error() {
    let folder = Folder::new();
    fs::create_dir(folder.path("ro")).unwrap();
    let Some(_mounted) = Mounted::new(folder.path("ro"), &["-t", "tmpfs", "-o", "ro", "tmpfs"])
    else {
        return;
    };
    for (file, words) in [
        ("ro/a.bin", "can't be written to: read-only file system"),
        ("ro/new/a.bin", "can't be written to: read-only file system"),
    ] {
        let ran = folder.run(&format!("load prog.hex + write b.bin + write {file}"));
        assert_eq!(ran.code, 2, "{file}");
        assert!(ran.err.contains(words), "{file}\n{}", ran.err);
        assert!(!folder.path("b.bin").exists());
    }
}

#[test]
fn a_folder_without_write_permission_is_an_error() {
    let folder = Folder::new();
    folder.put("shut/a.bin", "old");
    fs::set_permissions(folder.path("shut"), fs::Permissions::from_mode(0o555)).unwrap();
    for file in ["shut/a.bin", "shut/b.bin", "shut/new/c.bin"] {
        let Some(ran) = as_nobody(&folder, &format!("load prog.hex + write {file}")) else {
            return;
        };
        assert_eq!(ran.code, 2, "{file}");
        assert!(
            ran.err.starts_with(&format!("error: write: {file}: ")),
            "{}",
            ran.err
        );
        assert!(ran.error().ends_with("permission denied"), "{}", ran.err);
        assert_eq!(folder.get("shut/a.bin"), b"old");
        assert_eq!(fs::read_dir(folder.path("shut")).unwrap().count(), 1);
    }
}

#[test]
fn a_read_only_file_is_replaced_by_nobody() {
    let folder = Folder::new();
    folder.put("golden.bin", "old");
    fs::set_permissions(folder.path("golden.bin"), fs::Permissions::from_mode(0o444)).unwrap();
    let before = folder.list();
    let line = "load prog.hex + write b.bin + write golden.bin";
    let check = |ran: Ran| {
        assert_eq!(
            (ran.code, ran.error()),
            (
                2,
                "error: write: golden.bin: this file is read-only but would change: allow writing to it, or give another name"
            )
        );
        assert_eq!(folder.get("golden.bin"), b"old");
    };
    for how in ["", "--dry-run ", "--durable "] {
        check(folder.run(&format!("{how}{line}")));
        assert_eq!(folder.list(), before);
    }
    if let Some(ran) = as_nobody(&folder, line) {
        check(ran);
    }
    // Another user's file is replaced by who may write to its folder, as the system allows it.
    folder.put("theirs.bin", "old");
    if let Some(ran) = as_nobody(&folder, "load prog.hex + write theirs.bin") {
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert_eq!(folder.get("theirs.bin"), PROG);
    }
    // One that is right already is no trouble.
    let shut = |name: &str| {
        fs::set_permissions(folder.path(name), fs::Permissions::from_mode(0o444)).unwrap()
    };
    folder.put("right.bin", PROG);
    shut("right.bin");
    folder.ok("load prog.hex + write right.bin");
    let ran = folder.run("--always load prog.hex + write right.bin");
    assert!(
        ran.code == 2 && ran.err.contains("right.bin: this file is read-only"),
        "{}",
        ran.err
    );
}

#[test]
fn an_input_that_cannot_be_read_is_an_error() {
    let folder = Folder::new();
    folder.put("secret.bin", "x");
    fs::set_permissions(folder.path("secret.bin"), fs::Permissions::from_mode(0o000)).unwrap();
    if let Some(ran) = as_nobody(&folder, "load secret.bin + write a.bin") {
        assert_eq!(
            (ran.code, ran.error()),
            (2, "error: load: secret.bin: permission denied")
        );
    }
    for (file, words) in [
        (".", "this is a folder, not a file"),
        ("loop", "too many levels of symbolic links"),
        ("nowhere", "no such file or directory"),
    ] {
        let _ = symlink(
            if file == "loop" { "loop" } else { "gone" },
            folder.path(file),
        );
        let ran = folder.run(&format!("load {file} + write a.bin"));
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains(&format!("{file}: {words}")), "{}", ran.err);
        assert!(!folder.path("a.bin").exists());
    }
}

#[test]
fn links_stay_links_and_loops_are_refused() {
    let folder = Folder::new();
    folder.put("deep/real.bin", "old");
    symlink("deep/real.bin", folder.path("first.bin")).unwrap();
    symlink("first.bin", folder.path("second.bin")).unwrap();
    symlink("deep/later.bin", folder.path("dangling.bin")).unwrap();
    symlink("loop.bin", folder.path("loop.bin")).unwrap();
    symlink("made/later.bin", folder.path("far.bin")).unwrap();
    folder.ok("load prog.hex + write second.bin + write dangling.bin + write far.bin");
    for name in ["first.bin", "second.bin", "dangling.bin", "far.bin"] {
        assert!(folder.path(name).is_symlink(), "{name}");
        assert_eq!(folder.get(name), PROG, "{name}");
    }
    let ran = folder.run("load prog.hex + patch 0x8000 00 + write second.bin + write loop.bin");
    assert_eq!(
        (ran.code, ran.error()),
        (
            2,
            "error: write: loop.bin: too many levels of symbolic links"
        )
    );
    let ran = folder.run("load prog.hex + write second.bin + write deep/real.bin");
    assert_eq!(
        (ran.code, ran.error()),
        (
            2,
            "error: write: deep/real.bin: two outputs have this name: put {name} or {n} into it"
        )
    );
    assert_eq!(folder.get("second.bin"), PROG);
}

#[test]
fn a_pipe_as_output_gets_every_byte_and_may_be_closed_early() {
    let folder = Folder::new();
    let big: Vec<u8> = (0..1 << 20).map(|i: u32| (i >> 3) as u8).collect();
    folder.put("big.bin", &big);
    folder.put("a.bin", "old");
    let pipe = fifo(&folder, "pipe");
    for bytes in [big.len(), 10] {
        let line = "load big.bin + write pipe --as raw + write a.bin";
        let child = command(&folder, line).spawn().unwrap();
        let mut got = vec![0; bytes];
        let mut reader = fs::File::open(&pipe).unwrap();
        reader.read_exact(&mut got).unwrap();
        drop(reader);
        assert!(got == big[..bytes]);
        let ran = Ran::from(child.wait_with_output().unwrap());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert!(folder.get("a.bin") == big);
        assert!(fs::metadata(&pipe).unwrap().file_type().is_fifo());
    }
}

/// A pipe, a terminal or a device may have no disk to wait for.
#[test]
fn what_can_not_be_synced_is_passed_over() {
    let folder = Folder::new();
    fifo(&folder, "pipe");
    for (to, end) in [
        ("/dev/null", ""),
        ("-", "| cat"),
        ("-", "> /dev/null"),
        ("-", ">&-"),
        ("pipe", "& cat pipe > read; wait $!"),
    ] {
        folder.put("a.bin", "old");
        let line = format!("$R --durable load prog.hex + write {to} --as raw + write a.bin {end}");
        let ran = shell(&folder, &line);
        assert_eq!(ran.code, 0, "{line}: {}", ran.err);
        assert!(!ran.err.contains("error"), "{line}: {}", ran.err);
        assert_eq!(folder.get("a.bin"), PROG, "{line}");
    }
    assert_eq!(folder.get("read"), PROG);
}

/// The folder for temporary files is made where it is missing, and goes again with a run that fails.
#[test]
fn a_missing_folder_for_temporary_files_is_made() {
    let folder = Folder::new();
    let line = "$R load prog.hex + write - --as raw";
    let has = || folder.has("tmp");
    for (line, code, stays) in [
        (format!("{line} + expect size 1"), 1, false),
        (format!("{line} --dry-run"), 0, false),
        (line.to_owned(), 0, true),
    ] {
        let ran = shell(&folder, &format!("TMPDIR=tmp; export TMPDIR; {line}"));
        assert_eq!((ran.code, has()), (code, stays), "{line}: {}", ran.err);
    }
}

/// What the system calls standard output gets the file and nothing else, as `-` does.
#[test]
fn standard_output_by_any_name_gets_the_file_and_nothing_else() {
    let folder = Folder::new();
    for name in ["-", "/dev/stdout", "/dev/fd/1", "/proc/self/fd/1", "out"] {
        symlink("/dev/stdout", folder.path("out")).ok();
        // Into a pipe, and into a file.
        let line = format!("$R load prog.hex + digest + write {name} --as raw 2>told");
        let ran = shell(&folder, &format!("{line} | cat"));
        assert_eq!(ran.out.as_bytes(), PROG, "{name}");
        shell(&folder, &format!("{line} >made"));
        assert_eq!(folder.get("made"), PROG, "{name}");
        let told = String::from_utf8(folder.get("told")).unwrap();
        assert!(told.contains("sum16") && told.contains("wrote"), "{told}");
    }
    let ran = folder.run("load prog.hex + write /dev/stderr --as raw");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("this is standard error"), "{}", ran.err);
    // Another descriptor is a stream, too.
    let line = "$R --quiet load prog.hex + write /dev/fd/3 --as raw";
    let ran = shell(&folder, &format!("{line} 3>&1 | cat"));
    assert_eq!(
        (ran.code, ran.out.as_bytes()),
        (0, &PROG[..]),
        "{}",
        ran.err
    );
    // A file would be written from its beginning, wherever the shell is in it.
    let ran = shell(&folder, &format!("{line} 3>third"));
    let told =
        "descriptor 3 is open on a regular file: use - and send standard output there with `>&3`";
    assert!(ran.code == 2 && ran.err.contains(told), "{}", ran.err);
    let after =
        "{ printf HEAD >&3; $R load prog.hex + write - --as raw >&3; printf TAIL >&3; } 3>third";
    shell(&folder, after);
    assert_eq!(folder.get("third"), [&b"HEAD"[..], &PROG, b"TAIL"].concat());
}

/// A new file never runs as its owner or group because the old one did; what others may do with it stays.
#[test]
fn permissions_are_taken_over_but_no_set_id_bits() {
    let folder = Folder::new();
    for (mode, kept) in [(0o6755, 0o755), (0o4640, 0o640), (0o1600, 0o600)] {
        folder.put("a.bin", "old");
        let path = folder.path("a.bin");
        fs::set_permissions(&path, fs::Permissions::from_mode(mode)).unwrap();
        folder.ok("load prog.hex + write a.bin");
        let now = fs::metadata(&path).unwrap().mode() & 0o7777;
        assert_eq!(now, kept, "{mode:o} became {now:o}");
    }
}

/// The new file is of the user who runs the command, and of the group that the system gives new files in its folder.
#[test]
fn owner_group_and_attributes_do_not_stay() {
    use std::os::unix::fs::chown;
    if !is_root() {
        return missing("another user: only root can give files away");
    }
    const NOBODY: u32 = 65534;
    let folder = Folder::new();
    for (name, group) in [("a.bin", 0), ("shared/a.bin", NOBODY)] {
        folder.put(name, "old");
        let path = folder.path(name);
        chown(&path, Some(NOBODY), Some(NOBODY)).unwrap();
        chown(path.parent().unwrap(), None, Some(group)).unwrap();
        let mode = if group == 0 { 0o755 } else { 0o2755 };
        fs::set_permissions(path.parent().unwrap(), fs::Permissions::from_mode(mode)).unwrap();
        let note = "user.note";
        let flags = rustix::fs::XattrFlags::empty();
        let has_attribute = rustix::fs::setxattr(&path, note, b"mine", flags).is_ok();
        folder.ok(&format!("load prog.hex + write {name}"));
        let meta = fs::metadata(&path).unwrap();
        assert_eq!((meta.uid(), meta.gid()), (0, group), "{name}");
        if has_attribute {
            assert!(rustix::fs::getxattr(&path, note, &mut [0u8; 9]).is_err());
        }
    }
}

/// The nine bits of a file with an access list show what the list lets anybody do; without the list its group may not do more
/// than before.
#[test]
fn the_group_may_not_do_more_when_an_access_list_goes() {
    // Version 2; owner rw-, user 1000 rw-, group r--, mask rw-, others ---: each has a kind, rights and an id.
    const NO_ID: u32 = u32::MAX;
    let entries: [(u16, u16, u32); 5] = [
        (0x01, 6, NO_ID),
        (0x02, 6, 1000),
        (0x04, 4, NO_ID),
        (0x10, 6, NO_ID),
        (0x20, 0, NO_ID),
    ];
    let mut list = 2u32.to_le_bytes().to_vec();
    for (kind, rights, id) in entries {
        list.extend(kind.to_le_bytes());
        list.extend(rights.to_le_bytes());
        list.extend(id.to_le_bytes());
    }
    let folder = Folder::new();
    folder.put("a.bin", "old");
    let path = folder.path("a.bin");
    let name_of_list = "system.posix_acl_access";
    if rustix::fs::setxattr(&path, name_of_list, &list, rustix::fs::XattrFlags::empty()).is_err() {
        return not_tried("access lists: this file system has none");
    }
    let mode = || fs::metadata(&path).unwrap().mode() & 0o777;
    assert_eq!(mode(), 0o660);
    folder.ok("load prog.hex + write a.bin");
    assert_eq!(folder.get("a.bin"), PROG);
    // The library has the same rule.
    folder.put("of-library.bin", "old");
    let of_library = folder.path("of-library.bin");
    let none = rustix::fs::XattrFlags::empty();
    rustix::fs::setxattr(&of_library, name_of_list, &list, none).unwrap();
    let image = Image::from_bytes(0, vec![0x42], Source::Patch).unwrap();
    formats::save(&of_library, &image, &WriteOptions::default()).unwrap();
    let left = fs::metadata(&of_library).unwrap().mode() & 0o777;
    assert_eq!(left, 0o640, "{left:o}");
    assert!(rustix::fs::getxattr(&path, name_of_list, &mut [0u8; 100]).is_err());
    assert_eq!(mode(), 0o640, "{:o}", mode());
    // A list that the folder gives all new files, outputs get too.
    let default = "system.posix_acl_default";
    let flags = rustix::fs::XattrFlags::empty();
    rustix::fs::setxattr(folder.path(""), default, &list, flags).unwrap();
    folder.ok("load prog.hex + write b.bin + write a.bin --as intel-hex");
    for name in ["a.bin", "b.bin"] {
        let path = folder.path(name);
        assert!(
            rustix::fs::getxattr(&path, name_of_list, &mut [0u8; 100]).is_ok(),
            "{name}"
        );
    }
}

/// While files wait nobody else can read them.
#[test]
fn files_that_wait_are_their_owners_alone() {
    let folder = Folder::new();
    folder.put("a.bin", "old");
    fs::set_permissions(folder.path("a.bin"), fs::Permissions::from_mode(0o644)).unwrap();
    let line = "load prog.hex + write a.bin + write b.bin + write - --as raw + load held --as raw";
    fifo(&folder, "held");
    let held = Held::new(&folder, line, 2);
    for part in parts(&folder.path("")) {
        let mode = fs::metadata(folder.path(&part)).unwrap().mode() & 0o777;
        assert_eq!(mode, 0o600, "{part}: {mode:o}");
    }
    assert_eq!(held.go_on().code, 0);
    let mode = |name: &str| fs::metadata(folder.path(name)).unwrap().mode() & 0o777;
    assert_eq!(mode("a.bin"), 0o644);
    folder.put("made-by-the-system", "");
    assert_eq!(mode("b.bin"), mode("made-by-the-system"));
}

/// In a folder such as /tmp only a file's owner may replace it: that is found before anything changes.
#[test]
fn a_file_of_somebody_else_in_a_sticky_folder_stops_all_before_any_file_changes() {
    let folder = Folder::new();
    folder.put("own.bin", "old");
    folder.put("shared/theirs.bin", "old");
    fs::set_permissions(folder.path("own.bin"), fs::Permissions::from_mode(0o666)).unwrap();
    fs::set_permissions(
        folder.path("shared/theirs.bin"),
        fs::Permissions::from_mode(0o666),
    )
    .unwrap();
    fs::set_permissions(folder.path("shared"), fs::Permissions::from_mode(0o1777)).unwrap();
    let line = "load prog.hex + write own.bin + write shared/theirs.bin";
    let Some(ran) = as_nobody(&folder, line) else {
        return;
    };
    assert_eq!(ran.code, 2);
    assert_eq!(
        ran.error(),
        "error: shared/theirs.bin: this file belongs to somebody else, and its folder lets only owners replace files: give another name; no file has been replaced"
    );
    assert_eq!(folder.get("own.bin"), b"old");
}

/// Sets or takes away a mark that only `chattr` sets.
fn set_mark(path: &Path, mark: &str) -> bool {
    let out = Command::new("chattr").arg(mark).arg(path).output();
    out.is_ok_and(|out| out.status.success())
}

#[test]
fn an_immutable_or_append_only_file_stops_all_before_any_file_changes() {
    for (set, unset) in [("+i", "-i"), ("+a", "-a")] {
        let folder = Folder::new();
        folder.put("a.bin", "old");
        folder.put("fixed.bin", "old");
        let fixed = folder.path("fixed.bin");
        if !set_mark(&fixed, set) {
            return not_tried("an immutable file: this file system or this user can't make one");
        }
        let ran = folder.run("load prog.hex + write a.bin + write fixed.bin");
        assert!(set_mark(&fixed, unset));
        assert_eq!(ran.code, 2);
        assert!(
            ran.err.contains("marked immutable or append-only"),
            "{}",
            ran.err
        );
        assert!(ran.err.contains("no file has been replaced"), "{}", ran.err);
        assert_eq!(folder.get("a.bin"), b"old");
    }
}

/// In such a folder files can be made and not taken away, so nothing is put there.
#[test]
fn an_append_only_folder_gets_no_temporary_file() {
    let folder = Folder::new();
    folder.put("d/b.bin", "old");
    let fixed = folder.path("d");
    if !set_mark(&fixed, "+a") {
        return not_tried("an append-only folder: this file system or this user can't make one");
    }
    let ran = folder.run("load prog.hex + write a.bin + write d/b.bin");
    let left = fs::read_dir(&fixed).unwrap().count();
    assert!(set_mark(&fixed, "-a"));
    assert_eq!(ran.code, 2);
    assert!(
        ran.error().ends_with(
            "can't be written to: it is marked immutable or append-only (lsattr shows it)"
        ),
        "{}",
        ran.err
    );
    assert_eq!(
        (left, folder.list()),
        (1, vec!["d/".to_owned(), "prog.hex".to_owned()])
    );
}

// ---- meanwhile ----

#[test]
fn an_input_may_be_deleted_once_it_is_open() {
    let folder = Folder::new();
    let pipe = fifo(&folder, "pipe");
    let child = command(&folder, "load pipe --as intel-hex + write a.bin")
        .spawn()
        .unwrap();
    let mut writer = fs::File::options().write(true).open(&pipe).unwrap();
    writer.write_all(b":0480000010").unwrap();
    fs::remove_file(&pipe).unwrap();
    writer.write_all(b"11121336\n:00000001FF\n").unwrap();
    drop(writer);
    let ran = Ran::from(child.wait_with_output().unwrap());
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(folder.get("a.bin"), PROG);
}

#[test]
fn an_input_that_ends_too_early_is_an_error() {
    let folder = Folder::new();
    folder.put("a.bin", "old");
    let pipe = fifo(&folder, "pipe");
    let child = command(&folder, "load pipe --as intel-hex + write a.bin")
        .spawn()
        .unwrap();
    fs::write(&pipe, b":0480000010111213").unwrap();
    let ran = Ran::from(child.wait_with_output().unwrap());
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("pipe:1:"), "{}", ran.err);
    assert_eq!(folder.get("a.bin"), b"old");
}

/// A file cut off while it is read gives all of it or an error, never a part; a test beside the reader has the error
/// for certain.
#[test]
fn a_file_cut_while_it_is_read_is_never_taken_in_part() {
    const SIZE: u64 = 32 << 20;
    let folder = Folder::new();
    let mut refused = 0;
    for round in 0..12 {
        fs::File::create(folder.path("big.bin"))
            .unwrap()
            .set_len(SIZE)
            .unwrap();
        let child = command(&folder, "load big.bin + keep 0-0xF + write a.bin")
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(2 * round));
        fs::File::options()
            .write(true)
            .open(folder.path("big.bin"))
            .unwrap()
            .set_len(SIZE / 2)
            .unwrap();
        let ran = Ran::from(child.wait_with_output().unwrap());
        match ran.code {
            // Cut before it was opened, or after it was read.
            0 => assert_eq!(folder.get("a.bin"), [0; 16]),
            _ => {
                assert!(
                    ran.err
                        .contains("this file is being changed while it is read"),
                    "{}",
                    ran.err
                );
                refused += 1;
            }
        }
    }
    eprintln!("{refused} of 12 were cut in the middle");
}

#[test]
fn inputs_may_be_outputs_in_every_way() {
    let folder = Folder::new();
    // The same name, a link and a hard link.
    folder.put("same.bin", [1, 2, 3, 4]);
    folder.ok("load same.bin + swap 2 + write same.bin");
    assert_eq!(folder.get("same.bin"), [2, 1, 4, 3]);
    symlink("same.bin", folder.path("link.bin")).unwrap();
    folder.ok("load same.bin + swap 2 + write link.bin");
    assert_eq!(folder.get("same.bin"), [1, 2, 3, 4]);
    fs::hard_link(folder.path("same.bin"), folder.path("hard.bin")).unwrap();
    folder.ok("load same.bin + swap 2 + write hard.bin");
    assert_eq!(folder.get("hard.bin"), [2, 1, 4, 3]);
    assert_eq!(
        folder.get("same.bin"),
        [1, 2, 3, 4],
        "the other name keeps the old file"
    );

    // A later step reads the old file, and says so.
    folder.put("b.bin", [9]);
    let ran = folder.ok("load same.bin + write b.bin + load b.bin --at 4 + write c.bin");
    assert_eq!(
        ran.err,
        "warning: b.bin: the old file is read; the new one is put in place when all steps are done\n"
    );
    assert_eq!(folder.get("b.bin"), [1, 2, 3, 4]);
    assert_eq!(folder.get("c.bin"), [1, 2, 3, 4, 9]);
    let ran = folder.run("load same.bin + write new.bin + load ./new.bin --at 4 + write c.bin");
    assert_eq!(
        (ran.code, ran.error()),
        (
            2,
            "error: load: ./new.bin: no such file or directory: this run makes the file, but puts it in place only when all steps are done"
        )
    );
}

#[test]
fn two_runs_on_one_output_leave_the_file_of_one() {
    const SIZE: usize = 100_000;
    let folder = Folder::new();
    for n in [1u8, 2] {
        folder.put(&format!("in{n}.bin"), vec![n; SIZE]);
    }
    let mut won = [0; 2];
    let rounds = share(100, 4);
    for _ in 0..rounds {
        let runs: Vec<Child> = (1..=2)
            .map(|n| {
                command(&folder, &format!("load in{n}.bin + write new/a.bin"))
                    .spawn()
                    .unwrap()
            })
            .collect();
        for run in runs {
            let ran = Ran::from(run.wait_with_output().unwrap());
            assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        }
        let file = folder.get("new/a.bin");
        assert!(file == vec![1; SIZE] || file == vec![2; SIZE], "neither");
        won[usize::from(file[0]) - 1] += 1;
        assert_eq!(parts(&folder.path("")), [""; 0]);
        fs::remove_dir_all(folder.path("new")).unwrap();
    }
    eprintln!(
        "of {rounds} rounds, {} left the file of the first run, {} of the second",
        won[0], won[1]
    );
}

#[test]
fn an_output_that_has_become_a_folder_stops_all_before_any_file_changes() {
    let folder = Folder::new();
    folder.put("a.bin", "old a");
    folder.put("c.bin", "old c");
    let line = "load prog.hex + write a.bin + write b.bin + write c.bin + load held --as raw";
    let held = Held::new(&folder, line, 3);
    fs::create_dir(folder.path("b.bin")).unwrap();
    let ran = held.go_on();
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (
            2,
            "error: b.bin: there is now a folder of this name; no file has been replaced\n"
        )
    );
    assert_eq!(folder.get("a.bin"), b"old a");
    assert_eq!(folder.get("c.bin"), b"old c");
    assert_eq!(
        folder.list(),
        ["a.bin", "b.bin/", "c.bin", "held", "prog.hex"]
    );
}

#[test]
fn a_folder_taken_away_meanwhile_stops_all_before_any_file_changes() {
    let folder = Folder::new();
    folder.put("a.bin", "old a");
    let line = "load prog.hex + write a.bin + write out/b.bin + load held --as raw";
    let held = Held::new(&folder, line, 2);
    fs::remove_dir_all(folder.path("out")).unwrap();
    let ran = held.go_on();
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (
            2,
            "error: out/b.bin: the temporary file for this output, or the folder out, was removed by something else; no file has been replaced\n"
        )
    );
    assert_eq!(folder.get("a.bin"), b"old a");
    assert_eq!(folder.list(), ["a.bin", "held", "prog.hex"]);
}

#[test]
fn a_folder_made_for_a_run_that_fails_goes_unless_others_use_it() {
    let folder = Folder::new();
    let line = "load prog.hex + write out/deep/b.bin + load held --as raw + expect size 1";
    let held = Held::new(&folder, line, 1);
    assert_eq!(held.go_on().code, 1);
    assert_eq!(folder.list(), ["held", "prog.hex"]);
    let held = Held::new(&folder, line, 1);
    folder.put("out/theirs.txt", "not ours");
    assert_eq!(held.go_on().code, 1);
    assert_eq!(folder.get("out/theirs.txt"), b"not ours");
    assert!(!folder.path("out/deep").exists());
}

/// A file that is itself a mount can be written to but not replaced.
#[test]
fn a_file_that_is_a_mount_stops_all_before_any_file_changes() {
    let folder = Folder::new();
    for name in ["a.bin", "b.bin", "c.bin", "mount.bin"] {
        folder.put(name, format!("old {name}"));
    }
    let mount = folder.path("mount.bin");
    let Some(_mounted) = Mounted::new(folder.path("b.bin"), &["--bind", mount.to_str().unwrap()])
    else {
        return;
    };
    let ran = folder.run("load prog.hex + write a.bin + write b.bin + write c.bin");
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (
            2,
            "error: b.bin: something is mounted on this file, so it can't be replaced: unmount it, or give another name; no file has been replaced\n"
        )
    );
    assert_eq!(folder.get("a.bin"), b"old a.bin");
    assert_eq!(folder.get("b.bin"), b"old mount.bin");
    assert_eq!(folder.get("c.bin"), b"old c.bin");
    assert_eq!(parts(&folder.path("")), [""; 0]);
}

/// An output that would not change is not touched. One that has gone or was written meanwhile is made again, and the list of
/// what was made says so.
#[test]
fn an_unchanged_output_that_changes_meanwhile_is_made_again() {
    for is_deleted in [true, false] {
        let folder = Folder::new();
        folder.put("a.bin", PROG);
        folder.put("b.bin", PROG);
        let line = "load prog.hex + write a.bin + write b.bin + load held --as raw";
        let held = Held::new(&folder, line, 2);
        match is_deleted {
            true => fs::remove_file(folder.path("a.bin")).unwrap(),
            false => folder.put("a.bin", "theirs"),
        }
        let ran = held.go_on();
        assert_eq!(ran.code, 0);
        assert_eq!(folder.get("a.bin"), PROG);
        let lines: Vec<&str> = ran.out.lines().collect();
        assert!(lines[0].starts_with("wrote "), "{}", ran.out);
        assert!(lines[1].starts_with("unchanged b.bin "), "{}", ran.out);
    }
    // Length and time are all that is looked at.
    let folder = Folder::new();
    folder.put("a.bin", PROG);
    let time = fs::metadata(folder.path("a.bin")).unwrap().modified();
    let line = "load prog.hex + write a.bin + load held --as raw";
    let held = Held::new(&folder, line, 1);
    folder.put("a.bin", "them");
    let file = fs::File::options().write(true).open(folder.path("a.bin"));
    file.unwrap().set_modified(time.unwrap()).unwrap();
    assert_eq!(held.go_on().code, 0);
    assert_eq!(folder.get("a.bin"), b"them");
}

/// Of an output that would not change nothing is needed any more.
#[test]
fn an_unchanged_output_needs_no_temporary_file() {
    let folder = Folder::new();
    folder.put("a.bin", PROG);
    let line = "load prog.hex + write a.bin + load held --as raw";
    let held = Held::new(&folder, line, 1);
    for part in parts(&folder.path("")) {
        fs::remove_file(folder.path(&part)).unwrap();
    }
    let ran = held.go_on();
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
}

/// What a run left in a folder that was moved meanwhile, the next run into it takes away.
#[test]
fn a_folder_moved_meanwhile_stops_all_before_any_file_changes() {
    let folder = Folder::new();
    folder.put("a.bin", "old a");
    folder.put("out/b.bin", "old b");
    let line = "load prog.hex + write a.bin + write out/b.bin + load held --as raw";
    let held = Held::new(&folder, line, 2);
    fs::rename(folder.path("out"), folder.path("moved")).unwrap();
    let ran = held.go_on();
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no file has been replaced"), "{}", ran.err);
    assert_eq!(folder.get("a.bin"), b"old a");
    assert_eq!(folder.get("moved/b.bin"), b"old b");
    assert_eq!(parts(&folder.path("")).len(), 1);
    folder.ok("load prog.hex + write moved/c.bin");
    assert_eq!(fs::read_dir(folder.path("moved")).unwrap().count(), 2);
}
