//! Long work shows on a terminal what it is doing, and nowhere else; when it is done the line is gone.
//!
//! `script` from util-linux gives the command a terminal, the crate `vt100` draws what a terminal would show.

#![cfg(target_os = "linux")]

use std::fs;
use std::io::Write;
use std::num::NonZero;
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

use crate::support::bench::{Folder, Ran};

/// Half of 300,000 bytes come, then nothing for 1.2 s, then the rest.
fn feed(folder: &Folder) -> thread::JoinHandle<()> {
    let pipe = folder.path("slow.bin");
    if !pipe.exists() {
        assert!(
            Command::new("mkfifo")
                .arg(&pipe)
                .status()
                .unwrap()
                .success()
        );
    }
    thread::spawn(move || {
        let mut pipe = fs::File::options().write(true).open(pipe).unwrap();
        for wait in [1200, 0] {
            pipe.write_all(&[0x55; 150_000]).unwrap();
            thread::sleep(Duration::from_millis(wait));
        }
    })
}

fn romloom() -> String {
    let path = assert_cmd::cargo::cargo_bin("romloom");
    path.display().to_string()
}

/// What a terminal gets to see, byte for byte.
fn on_terminal(folder: &Folder, line: &str) -> Vec<u8> {
    let out = Command::new("script")
        .args(["-qec", &format!("{} {line}", romloom()), "/dev/null"])
        .current_dir(folder.path(""))
        .env("TERM", "xterm")
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(out.status.success(), "{line}");
    out.stdout
}

/// What stands on the screen at the end.
fn screen(bytes: &[u8]) -> String {
    let (lines, columns) = (NonZero::new(24).unwrap(), NonZero::new(100).unwrap());
    let mut terminal = vt100::Parser::new(lines, columns, 0);
    terminal.process(bytes);
    terminal.screen().contents()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

const LINE: &str = "load slow.bin --as raw + digest sum8 + write out.bin";

#[test]
fn a_terminal_shows_long_work_and_then_only_the_result() {
    let folder = Folder::new();
    let feeder = feed(&folder);
    let seen = on_terminal(&folder, LINE);
    feeder.join().unwrap();
    assert!(
        text(&seen).contains("reading slow.bin  150 kB"),
        "{}",
        text(&seen)
    );
    fs::remove_file(folder.path("out.bin")).unwrap();

    let feeder = feed(&folder);
    let plain = folder.ok(LINE);
    feeder.join().unwrap();
    assert_eq!(plain.err, "", "nothing goes to a pipe");
    assert_eq!(screen(&seen).trim_end(), plain.out.trim_end());
}

#[test]
fn a_step_that_takes_long_is_named() {
    let folder = Folder::new();
    folder.put(
        "r.loom",
        "load prog.hex
load slow.bin --as raw
",
    );
    let feeder = thread::spawn({
        let pipe = folder.path("slow.bin");
        assert!(
            Command::new("mkfifo")
                .arg(&pipe)
                .status()
                .unwrap()
                .success()
        );
        move || {
            // Nobody writes for a while: the step waits.
            thread::sleep(Duration::from_millis(1200));
            fs::write(pipe, [0x55]).unwrap();
        }
    });
    let seen = on_terminal(&folder, "run r.loom");
    feeder.join().unwrap();
    assert!(
        text(&seen).contains("r.loom line 2: load  0 s"),
        "{}",
        text(&seen)
    );
}

#[test]
fn quiet_json_and_short_runs_show_no_progress() {
    let folder = Folder::new();
    for whole in ["--quiet", "--json"] {
        let feeder = feed(&folder);
        let seen = on_terminal(&folder, &format!("{whole} {LINE}"));
        feeder.join().unwrap();
        assert!(!text(&seen).contains("reading"), "{}", text(&seen));
        assert!(!seen.contains(&0x1B), "{}", text(&seen));
    }
    let seen = on_terminal(&folder, "load prog.hex + digest sum8");
    let plain = folder.ok("load prog.hex + digest sum8");
    assert_eq!(text(&seen).replace("\r\n", "\n"), plain.out);
}

/// Errors and warnings stand on lines of their own.
#[test]
fn messages_take_the_line_away() {
    let folder = Folder::new();
    let feeder = feed(&folder);
    let out = Command::new("script")
        .args([
            "-qec",
            &format!("{} {LINE} + expect size 1", romloom()),
            "/dev/null",
        ])
        .current_dir(folder.path(""))
        .env("TERM", "xterm")
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .output()
        .unwrap();
    feeder.join().unwrap();
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stdout).contains("reading slow.bin"));
    let feeder = feed(&folder);
    let words = shlex::split(&format!("{LINE} + expect size 1")).unwrap();
    let plain = Ran::from(folder.command().args(words).output().unwrap());
    feeder.join().unwrap();
    assert_eq!(
        screen(&out.stdout).trim_end(),
        format!("{}{}", plain.out, plain.err).trim_end()
    );
}
