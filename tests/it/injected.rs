//! The system says no at every call that matters, or the run is killed there: of four outputs all are old, or all are new,
//! or the next run says what happened and makes them whole.
//!
//! Needs `strace`, which lets the nth call of a kind fail, or kills the process at it.

#![cfg(target_os = "linux")]

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::process::{Command, Stdio};

use super::unbreakable::as_nobody;
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
const CALLS: [(&str, &str); 12] = [
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
    ("ftruncate", "EIO"),
    ("read,pread64", "EIO"),
];

fn has_strace() -> bool {
    Command::new("strace").arg("-V").output().is_ok()
}

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
    run_line(folder, LINE, &[how])
}

/// The same for any line, and for several kinds of calls.
fn run_line(folder: &Folder, line: &str, how: &[&str]) -> Ran {
    let out = traced(folder, line, how).output().unwrap();
    Ran {
        // 128 and the signal, as a shell says it.
        code: out.status.code().unwrap_or(137),
        out: String::from_utf8_lossy(&out.stdout).into_owned(),
        err: String::from_utf8_lossy(&out.stderr).into_owned(),
    }
}

/// The line under strace.
fn traced(folder: &Folder, line: &str, how: &[&str]) -> Command {
    let log = folder.path("log");
    let mut command = Command::new("strace");
    command.args(["-f", "-y", "-qq", "-o", log.to_str().unwrap()]);
    command.args(how.iter().flat_map(|how| ["-e", how]));
    command.arg(assert_cmd::cargo::cargo_bin("romloom"));
    command.args(shlex::split(line).unwrap());
    // Cargo's search path for libraries would be most of the calls.
    command.env_remove("LD_LIBRARY_PATH");
    command.current_dir(folder.path("")).stdin(Stdio::null());
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// The calls in strace's log, each in one line: where another thread came between, strace makes two of it.
fn calls(folder: &Folder) -> Vec<String> {
    let log = String::from_utf8_lossy(&folder.get("log")).into_owned();
    let mut calls: Vec<String> = Vec::new();
    for line in log.lines() {
        let id = line.split(' ').next().unwrap();
        let begun = |call: &&mut String| call.starts_with(id) && call.ends_with("<unfinished ...>");
        match line.split_once("resumed>") {
            Some((_, end)) => {
                let begun = calls.iter_mut().rev().find(begun).unwrap();
                *begun = begun.replace(" <unfinished ...>", end);
            }
            None => calls.push(line.to_owned()),
        }
    }
    calls
}

/// How many of these calls a run makes.
fn count(call: &str) -> usize {
    let folder = begin();
    let ran = run(&folder, &format!("trace=?{call}"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    calls(&folder)
        .iter()
        .filter(|line| line.contains('('))
        .count()
}

#[test]
fn an_error_or_a_kill_at_any_call_leaves_all_old_or_all_new_or_the_next_run_mends_it() {
    if !has_strace() {
        return missing("strace");
    }
    // By what was done: how often the outputs were all old, all new, or mixed.
    let mut table: BTreeMap<(&str, &str), BTreeMap<State, usize>> = BTreeMap::new();
    // One call at a time: strace counts each by itself.
    let calls = CALLS.iter();
    let calls = calls.flat_map(|(calls, error)| calls.split(',').map(move |call| (call, *error)));
    for (call, error) in calls {
        let all = count(call);
        let step = all.div_ceil(share(all, 12).max(1)).max(1);
        for n in (1..=all).step_by(step) {
            for fault in [format!("error={error}"), "signal=KILL".to_owned()] {
                let when = format!("{call}: {fault} at call {n} of {all}");
                let is_kill = fault == "signal=KILL";
                let folder = begin();
                let ran = run(&folder, &format!("inject=?{call}:{fault}:when={n}"));
                let log = String::from_utf8_lossy(&folder.get("log")).into_owned();
                if !log.contains("INJECTED") && ran.code == 0 {
                    // This time there were fewer calls.
                    continue;
                }
                let state = state(&folder, &when);
                let left = leftovers(&folder);
                let rows = table.entry((call, if is_kill { "killed" } else { error }));
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
                        left.is_empty() || call.starts_with("unlink") || call == "flock",
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

const RENAME: &str = "inject=rename,renameat,renameat2";

/// When a rename fails after others have succeeded, these are put back; where that can't be, the message says which files are
/// new and where the old ones are.
#[test]
fn what_was_replaced_is_put_back_or_named() {
    if !has_strace() {
        return missing("strace");
    }
    // The new file has its place first, and is taken away again.
    let new_first = "load in.bin + split banks 4K + write new/{name}.bin --on bank3 + \
                     write {name}.bin --on bank0 --on bank1 --on bank2";
    for line in [LINE, new_first] {
        let folder = begin();
        let ran = run_line(&folder, line, &[&format!("{RENAME}:error=EIO:when=2")]);
        assert_eq!(ran.code, 2);
        let told = "what had been replaced is put back (1 file), so every file is as before";
        assert!(ran.err.contains(told), "{}", ran.err);
        assert_eq!(state(&folder, line), State::AllOld);
        assert_eq!(leftovers(&folder), [""; 0]);
        assert!(!folder.has("new"), "{line}");
    }
    // No link can be made, so nothing is kept.
    let folder = begin();
    let no_link = "inject=link,linkat:error=EPERM";
    let how = [no_link, &format!("{RENAME}:error=EIO:when=2")];
    let ran = run_line(&folder, LINE, &how);
    let told = "these are new already and could not be put back: bank0.bin";
    assert!(ran.code == 2 && ran.err.contains(told), "{}", ran.err);
    assert_eq!(state(&folder, "no links"), State::Mixed);
    assert_eq!(leftovers(&folder), [""; 0]);
    // Putting back fails too: what is kept is the last that has the old bytes, and stays.
    let folder = begin();
    let ran = run(&folder, &format!("{RENAME}:error=EIO:when=2+"));
    assert!(ran.code == 2 && ran.err.contains(told), "{}", ran.err);
    let left = leftovers(&folder);
    assert_eq!(left.len(), 1, "{left:?}");
    assert!(ran.err.contains(&left[0]), "{}", ran.err);
    assert_eq!(folder.get(&left[0]), b"old bank0.bin");
}

/// A request to end that comes while files take their places waits until all have them.
#[test]
fn a_request_to_end_waits_for_the_last_rename() {
    if !has_strace() {
        return missing("strace");
    }
    let folder = begin();
    run(&folder, &format!("{RENAME}:signal=TERM:when=1"));
    assert_eq!(state(&folder, "TERM"), State::AllNew);
    assert_eq!(leftovers(&folder), [""; 0]);
}

/// Any later run into one of the folders of a half-new set says so, whether or not it can see the other folder, and whether or
/// not it succeeds; none of them takes away what would make it forget.
#[test]
fn a_half_new_set_is_told_until_it_is_made_again() {
    if !has_strace() {
        return missing("strace");
    }
    let begin = |when: usize| {
        let folder = begin();
        fs::create_dir(folder.path("new")).unwrap();
        folder.put("new/bank3.bin", "old new/bank3.bin");
        run(&folder, &format!("{RENAME}:signal=KILL:when={when}"));
        folder
    };
    for other in [
        "load in.bin + write else.bin",
        "load in.bin + write else.bin --on in + expect size 5",
        "--dry-run load in.bin + split banks 4K + write {name}.bin --on bank0 --on bank1 --on bank2 + write new/{name}.bin --on bank3",
        "board k.board --picture k.svg",
    ] {
        let folder = begin(3);
        folder.put(
            "k.board",
            "[[sockets]]\nnames = [\"U7\"]\npart = \"27C256\"\nat = 0x8000\n",
        );
        for _ in 0..2 {
            let ran = folder.run(other);
            assert!(ran.err.contains(KILLED), "{other}: {}", ran.err);
            assert!(ran.err.contains("run again what makes them"), "{}", ran.err);
            for name in OUTPUTS {
                assert!(ran.err.contains(&format!("/{name}")), "{name}: {}", ran.err);
            }
        }
        let ran = folder.run(LINE);
        assert!(
            ran.err.contains("this run makes all of them"),
            "{}",
            ran.err
        );
        assert_eq!(leftovers(&folder), [""; 0], "{other}");
        assert!(!folder.run(other).err.contains(KILLED), "{other}");
    }
    // The other folder is gone for a while: what became of the file in it is not known then, whether or not it had its place.
    for when in [3, 4] {
        let folder = begin(when);
        fs::rename(folder.path("new"), folder.path("away")).unwrap();
        for _ in 0..2 {
            let ran = folder.run("load in.bin + write else.bin");
            assert!(ran.err.contains(KILLED), "{when}: {}", ran.err);
            assert!(ran.err.contains("new/bank3.bin"), "{}", ran.err);
            let may = "so some may be new and others old";
            assert_eq!(ran.err.contains(may), when == 4, "{}", ran.err);
        }
        // Another folder has its name for a while.
        fs::create_dir(folder.path("new")).unwrap();
        let ran = folder.run("load in.bin + write else.bin");
        assert!(ran.err.contains(KILLED), "{when}: {}", ran.err);
        fs::remove_dir(folder.path("new")).unwrap();
        fs::rename(folder.path("away"), folder.path("new")).unwrap();
        let ran = folder.run("load in.bin + write else.bin");
        assert!(ran.err.contains(KILLED), "{when}: {}", ran.err);
        let ran = folder.run(LINE);
        assert!(
            ran.err.contains("this run makes all of them"),
            "{}",
            ran.err
        );
        assert_eq!(leftovers(&folder), [""; 0]);
    }
}

/// What other runs have locked is left as it is, and without locks nothing is known, so nothing is taken away.
#[test]
fn a_half_new_set_is_kept_where_locks_do_not_tell_whose_it_is() {
    if !has_strace() {
        return missing("strace");
    }
    use rustix::fs::{FlockOperation, flock};
    let no_locks = "inject=flock:error=ENOLCK";
    let folder = begin();
    let ran = run(&folder, no_locks);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(state(&folder, "no locks"), State::AllNew);
    assert_eq!(leftovers(&folder), [""; 0]);

    let folder = begin();
    run(&folder, &format!("{RENAME}:signal=KILL:when=3"));
    let left = leftovers(&folder);
    let other = "load in.bin + write else.bin";
    let ran = run_line(&folder, other, &[no_locks]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(leftovers(&folder), left);

    // Another user who can't read the marks.
    let shut = |mode| {
        for name in left.iter().filter(|name| name.ends_with(".run")) {
            let places = [folder.path(name), folder.path(&format!("new/{name}"))];
            let place = places.iter().find(|path| path.exists()).unwrap();
            fs::set_permissions(place, fs::Permissions::from_mode(mode)).unwrap();
        }
    };
    shut(0o600);
    if let Some(ran) = as_nobody(&folder, other) {
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        assert_eq!(leftovers(&folder), left);
    }
    shut(0o644);

    let mark = fs::read_dir(folder.path("new")).unwrap();
    let mut mark = mark.map(|entry| entry.unwrap().path());
    let mark = mark.find(|path| path.extension().is_some_and(|e| e == "run"));
    let mark = fs::File::open(mark.unwrap()).unwrap();
    flock(&mark, FlockOperation::LockExclusive).unwrap();
    let ran = folder.run(other);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_eq!(leftovers(&folder), left);
    drop(mark);
    let ran = folder.run(other);
    assert!(ran.err.contains(KILLED), "{}", ran.err);
}

/// A mark that is not there means a folder that was moved, so it must not come from a kill while marks are made or removed,
/// whichever folder is looked at first.
#[test]
fn a_kill_while_marks_are_made_or_removed_makes_no_half_new_set() {
    if !has_strace() {
        return missing("strace");
    }
    let into = [
        "load in.bin + write else.bin",
        "load in.bin + write new/else.bin",
    ];
    let mut kills = Vec::new();
    for call in ["write", "ftruncate", "unlink"] {
        let folder = begin();
        run(&folder, &format!("trace={call}"));
        let all = calls(&folder);
        let all = all.iter().filter(|line| line.contains('('));
        let of_marks = all.enumerate().filter(|(_, line)| line.contains(".run"));
        kills.extend(of_marks.map(|(n, _)| format!("{call}:signal=KILL:when={}", n + 1)));
    }
    assert!(kills.len() >= 6, "{kills:?}");
    for kill in kills {
        // Which mark is made first is by chance.
        for round in 0..4 {
            let folder = begin();
            fs::create_dir(folder.path("new")).unwrap();
            run(&folder, &format!("inject={kill}"));
            assert_ne!(state(&folder, &kill), State::Mixed);
            for n in [round % 2, (round + 1) % 2] {
                let ran = folder.run(into[n]);
                assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{kill}");
            }
            assert_eq!(leftovers(&folder), [""; 0], "{kill}");
        }
    }
}

/// Each file is closed before it takes its place, and an error of that is an error of the run.
#[test]
fn an_error_when_a_waiting_file_is_closed_stops_the_run() {
    if !has_strace() {
        return missing("strace");
    }
    let folder = begin();
    run(&folder, "trace=close");
    let all = calls(&folder);
    let closed = all.iter().filter(|line| line.contains("close("));
    let closed: Vec<usize> = (closed
        .enumerate()
        .filter(|(_, line)| line.contains(".part>")))
    .map(|(n, _)| n + 1)
    .collect();
    // Once when it is whole, once when it has the permissions of its place.
    assert_eq!(closed.len(), 8, "{all:#?}");
    for n in closed {
        let folder = begin();
        let ran = run(&folder, &format!("inject=close:error=EIO:when={n}"));
        let all = calls(&folder);
        let failed = all.iter().find(|line| line.contains("INJECTED"));
        assert!(
            failed.is_some_and(|line| line.contains(".part>")),
            "{all:#?}"
        );
        assert_eq!(ran.code, 2, "{n}");
        assert!(ran.err.contains("input/output error"), "{}", ran.err);
        assert_eq!(state(&folder, "close"), State::AllOld);
        assert_eq!(leftovers(&folder), [""; 0]);
    }
}

/// What the disk must have first comes first.
#[test]
fn a_durable_run_syncs_in_this_order() {
    if !has_strace() {
        return missing("strace");
    }
    let folder = begin();
    let ran = run(
        &folder,
        "trace=?chmod,fchmod,fsync,link,linkat,rename,ftruncate,unlink,close",
    );
    assert_eq!(ran.code, 0);
    let all = calls(&folder);
    let top = folder.path("");
    let top = top.to_str().unwrap().trim_end_matches('/');
    let what = |path: &str| match path {
        _ if path == top => "folder",
        _ if path.ends_with("/new") => "new folder",
        _ if path.ends_with(".part") => "waiting file",
        _ if path.ends_with(".run") => "mark",
        _ if path.ends_with(".old") => "old file",
        _ => "",
    };
    let mut order: Vec<String> = Vec::new();
    for line in all.iter().filter(|line| line.contains(" = 0")) {
        let call = line.split('(').next().unwrap();
        let call = call.split_whitespace().last().unwrap();
        // Of a link the second name is the new one; a folder's descriptor may come before it.
        let mut paths = line.split(['"', '<', '>']).map(what);
        let path = match call {
            "linkat" => paths.rfind(|what| *what == "old file"),
            _ => paths.find(|what| !what.is_empty()),
        };
        if let Some(path) = path {
            order.push(format!("{call} {path}"));
        }
    }
    // Folders are closed after they were looked at, and marks at the very end.
    order.retain(|event| !event.starts_with("close ") || event.ends_with("file"));
    let mut wanted = vec!["close waiting file"; 4];
    wanted.extend(
        [
            "fchmod waiting file",
            "fsync waiting file",
            "close waiting file",
        ]
        .repeat(4),
    );
    // The folder that the new one is in.
    wanted.push("fsync folder");
    let marked = wanted.len();
    wanted.extend([
        "fsync mark",
        "fsync folder",
        "fsync mark",
        "fsync new folder",
    ]);
    wanted.extend(["linkat old file"; 3]);
    wanted.extend(["rename waiting file"; 4]);
    wanted.extend(["unlink old file"; 3]);
    let synced = wanted.len();
    wanted.extend(["fsync folder", "fsync new folder"]);
    wanted.extend([
        "ftruncate mark",
        "ftruncate mark",
        "unlink mark",
        "unlink mark",
    ]);
    // One folder or the other comes first.
    for at in [marked + 1, synced] {
        if order
            .get(at)
            .is_some_and(|event| event == "fsync new folder")
        {
            let other = if at == synced { at + 1 } else { at + 2 };
            order.swap(at, other);
        }
    }
    assert_eq!(order, wanted);
    // What is right already may have been written a moment ago.
    run(&folder, "trace=fsync,rename");
    let log = calls(&folder).join("\n");
    for name in OUTPUTS {
        let synced = log
            .lines()
            .any(|line| line.contains("fsync") && line.contains(name));
        assert!(synced, "{name}: {log}");
    }
    assert!(!log.contains("rename("), "{log}");
}

/// The files of a half-new set are found again when all of its folders were moved together.
#[test]
fn a_half_new_set_is_told_where_it_was_moved_to() {
    if !has_strace() {
        return missing("strace");
    }
    let line = |top: &str| LINE.replace("write ", &format!("write {top}/"));
    let folder = begin();
    for name in &OUTPUTS[..3] {
        folder.put(&format!("s/{name}"), format!("old {name}"));
    }
    run_line(
        &folder,
        &line("s"),
        &[&format!("{RENAME}:signal=KILL:when=3")],
    );
    fs::rename(folder.path("s"), folder.path("s2")).unwrap();
    let kept = |n: usize| {
        let names = fs::read_dir(folder.path("s2")).unwrap();
        let names = names.map(|e| e.unwrap().file_name().into_string().unwrap());
        let mut olds = names.filter(|name| name.ends_with(&format!("-{n}.old")));
        olds.next().map(|name| folder.get(&format!("s2/{name}")))
    };
    for into in ["s2/else.bin", "s2/new/else.bin"] {
        let ran = folder.run(&format!("load in.bin + write {into}"));
        assert!(ran.err.contains(KILLED), "{into}: {}", ran.err);
        for name in OUTPUTS {
            assert!(ran.err.contains(&format!("/s2/{name}")), "{}", ran.err);
        }
        for (n, name) in OUTPUTS[..3].iter().enumerate() {
            assert_eq!(kept(n).unwrap(), format!("old {name}").as_bytes());
        }
    }
    // It is told what may be removed, if nobody wants to make them again; here the other folder was moved elsewhere.
    fs::rename(folder.path("s2/new"), folder.path("elsewhere")).unwrap();
    let ran = folder.run("load in.bin + write s2/else.bin");
    assert!(ran.err.contains(KILLED), "{}", ran.err);
    assert!(ran.err.contains(", or remove "), "{}", ran.err);
    fs::rename(folder.path("elsewhere"), folder.path("s2/new")).unwrap();
    let ran = folder.run(&line("s2"));
    assert_eq!(ran.code, 0);
    assert!(
        ran.err.contains("this run makes all of them"),
        "{}",
        ran.err
    );
    for place in ["s2", "s2/new"] {
        let names = fs::read_dir(folder.path(place)).unwrap();
        let mut names = names.map(|e| e.unwrap().file_name().into_string().unwrap());
        assert!(!names.any(|name| name.starts_with(".romloom-")), "{place}");
    }
}

/// A run that fails while another has written the same outputs leaves those of the other.
#[test]
fn a_run_that_fails_does_not_undo_another() {
    if !has_strace() {
        return missing("strace");
    }
    let error = format!("{RENAME}:error=EIO:when=2");
    let stopped_there = format!("{error}:signal=STOP");
    for (how, had_old, told) in [
        // It has replaced bank0.bin when the other replaces it again.
        (
            vec![stopped_there.as_str()],
            true,
            "left as they are now: bank0.bin",
        ),
        (
            vec![stopped_there.as_str()],
            false,
            "left as they are now: bank0.bin",
        ),
        // It has a link to the old bank0.bin when the other replaces that.
        (
            vec!["inject=link,linkat:signal=STOP:when=2", error.as_str()],
            true,
            "so every file is as before",
        ),
    ] {
        let folder = begin();
        let theirs: Vec<u8> = (0..4 * SIZE).map(|i| 0x80 | (i / SIZE) as u8).collect();
        folder.put("theirs.bin", &theirs);
        if !had_old {
            for name in &OUTPUTS[..3] {
                fs::remove_file(folder.path(name)).unwrap();
            }
        }
        let child = traced(&folder, LINE, &how).spawn().unwrap();
        let id = stopped(&folder);
        folder.ok(&LINE.replace("in.bin", "theirs.bin"));
        let sent = Command::new("kill").args(["-s", "CONT", &id]).status();
        assert!(sent.unwrap().success());
        let out = child.wait_with_output().unwrap();
        let err = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{err}");
        assert!(err.contains(told), "{told}: {err}");
        for (i, name) in OUTPUTS.iter().enumerate() {
            let is_theirs = folder.get(name) == theirs[i * SIZE..(i + 1) * SIZE];
            assert!(is_theirs, "{how:?}: {name}: {err}");
        }
        assert_eq!(leftovers(&folder), [""; 0], "{how:?}");
    }
}

/// Waits until strace says that the command was stopped, and gives its process.
fn stopped(folder: &Folder) -> String {
    loop {
        let log = fs::read(folder.path("log")).unwrap_or_default();
        let log = String::from_utf8_lossy(&log);
        let line = log.lines().find(|line| line.contains("stopped by SIGSTOP"));
        if let Some(line) = line {
            return line.split(' ').next().unwrap().to_owned();
        }
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
}
