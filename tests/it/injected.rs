//! The system says no at every call that matters, or the run is killed there: of four outputs all are old, or all are new,
//! or the next run says what happened and makes them whole.
//!
//! Needs `strace`, which lets the nth call of a kind fail, or kills the process at it.

#![cfg(target_os = "linux")]

use std::collections::BTreeMap;
use std::fs;
use std::process::{Command, Stdio};

use crate::support::bench::{Folder, Ran};
use crate::support::{missing, share};

/// Bytes of an output.
const SIZE: usize = 4096;
const OUTPUTS: [&str; 4] = ["bank0.bin", "bank1.bin", "bank2.bin", "new/bank3.bin"];
/// Three outputs are there already; the fourth gets a folder of its own.
const LINE: &str = "--durable load in.bin + split banks 4K + write {name}.bin --on bank0 --on bank1 --on bank2 + \
                    write new/{name}.bin --on bank3";
const KILLED: &str = "a run was killed while it replaced these files";

/// Kinds of calls, by the names that Linux has for them, and the error that each gets.
const CALLS: [(&str, &str); 11] = [
    ("write,writev,pwrite64", "ENOSPC"),
    ("fsync,fdatasync", "EIO"),
    ("rename,renameat,renameat2", "EPERM"),
    ("chmod,fchmod,fchmodat", "EPERM"),
    ("mkdir,mkdirat", "EACCES"),
    ("close", "EIO"),
    ("link,linkat", "EPERM"),
    ("unlink,unlinkat", "EPERM"),
    ("openat", "EMFILE"),
    ("flock", "ENOLCK"),
    ("read,pread64", "EIO"),
];

/// The folder before the run.
fn begin() -> Folder {
    let folder = Folder::new();
    let bytes: Vec<u8> = (0..4 * SIZE)
        .map(|i| (i / SIZE * 16 + i % 7) as u8)
        .collect();
    folder.put("in.bin", bytes);
    for name in &OUTPUTS[..3] {
        folder.put(name, format!("old {name}"));
    }
    folder
}

#[derive(Debug, PartialEq, Eq, Clone, Copy, PartialOrd, Ord)]
enum State {
    AllOld,
    AllNew,
    Mixed,
}

/// What the outputs are; each one is whole.
fn state(folder: &Folder, when: &str) -> State {
    let input = folder.get("in.bin");
    let is_new = |i: usize| {
        let name = OUTPUTS[i];
        if !folder.has(name) {
            assert_eq!(i, 3, "{when}: {name} is gone");
            return false;
        }
        let bytes = folder.get(name);
        let is_new = bytes == input[i * SIZE..(i + 1) * SIZE];
        let old = format!("old {}", OUTPUTS[i]);
        assert!(
            is_new || (i < 3 && bytes == old.as_bytes()),
            "{when}: {name} is neither old nor new"
        );
        is_new
    };
    match (0..4).filter(|i| is_new(*i)).count() {
        0 => State::AllOld,
        4 => State::AllNew,
        _ => State::Mixed,
    }
}

/// What waits or was kept, and marks.
fn leftovers(folder: &Folder) -> Vec<String> {
    let mut all = Vec::new();
    for place in ["", "new"] {
        let Ok(entries) = fs::read_dir(folder.path(place)) else {
            continue;
        };
        let names = entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned());
        all.extend(names.filter(|name| name.starts_with(".romloom-")));
    }
    all
}

/// Runs the line with `how` done to its calls; what strace says goes to `log`.
fn run(folder: &Folder, how: &str) -> Ran {
    let log = folder.path("log");
    let mut command = Command::new("strace");
    command.args(["-f", "-qq", "-o", log.to_str().unwrap(), "-e", how]);
    command.arg(assert_cmd::cargo::cargo_bin("romloom"));
    command.args(shlex::split(LINE).unwrap());
    command.current_dir(folder.path("")).stdin(Stdio::null());
    let out = command.output().unwrap();
    Ran {
        // 128 and the signal, as a shell says it.
        code: out.status.code().unwrap_or(137),
        out: String::from_utf8_lossy(&out.stdout).into_owned(),
        err: String::from_utf8_lossy(&out.stderr).into_owned(),
    }
}

/// How many calls of a kind a run makes.
fn count(calls: &str) -> usize {
    let folder = begin();
    let ran = run(&folder, &format!("trace={calls}"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    let log = String::from_utf8_lossy(&folder.get("log")).into_owned();
    log.lines()
        .filter(|line| line.contains('(') && !line.contains("resumed>"))
        .count()
}

#[test]
fn an_error_or_a_kill_at_any_call_leaves_all_old_or_all_new_or_the_next_run_mends_it() {
    let has_strace = Command::new("strace").arg("-V").output().is_ok();
    if !has_strace {
        return missing("strace");
    }
    // By what was done: how often the outputs were all old, all new, or mixed.
    let mut table: BTreeMap<(&str, &str), BTreeMap<State, usize>> = BTreeMap::new();
    for (calls, error) in CALLS {
        let all = count(calls);
        let step = all.div_ceil(share(all, 12).max(1));
        for n in (1..=all).step_by(step) {
            for fault in [format!("error={error}"), "signal=KILL".to_owned()] {
                let when = format!("{calls}: {fault} at call {n} of {all}");
                let is_kill = fault == "signal=KILL";
                let folder = begin();
                let ran = run(&folder, &format!("inject={calls}:{fault}:when={n}"));
                let state = state(&folder, &when);
                let left = leftovers(&folder);
                let rows = table.entry((calls, if is_kill { "killed" } else { error }));
                *rows.or_default().entry(state).or_default() += 1;
                if !is_kill {
                    assert_ne!(state, State::Mixed, "{when}: {}", ran.err);
                    assert!(
                        ran.code != 0 || state == State::AllNew,
                        "{when}: {}",
                        ran.err
                    );
                    // Where a failure is told and the files are new all the same, it says so.
                    assert!(
                        state == State::AllOld || ran.code == 0 || ran.err.contains("in place"),
                        "{when}: {}",
                        ran.err
                    );
                    assert!(
                        left.is_empty() || calls.starts_with("unlink") || calls == "flock",
                        "{when}: {left:?}"
                    );
                }
                // The next run of the same line.
                let next = folder.run(LINE);
                assert_eq!(next.code, 0, "{when}: {}", next.err);
                assert_eq!(self::state(&folder, &when), State::AllNew, "{when}");
                assert_eq!(
                    next.err.contains(KILLED),
                    state == State::Mixed,
                    "{when}: {}",
                    next.err
                );
                assert_eq!(leftovers(&folder), [""; 0], "{when}");
            }
        }
    }
    for ((calls, fault), states) in &table {
        let of = |state| states.get(&state).copied().unwrap_or(0);
        let all: usize = states.values().sum();
        eprintln!(
            "| {calls} | {fault} | {all} | {} | {} | {} |",
            of(State::AllOld),
            of(State::AllNew),
            of(State::Mixed)
        );
    }
}
