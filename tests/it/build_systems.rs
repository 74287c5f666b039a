//! romloom in make, ninja and CMake: what is built anew after what, with the files that `docs/build.md` shows.

#![cfg(unix)]

use std::env;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::thread::sleep;
use std::time::{Duration, SystemTime};

use crate::support::{missing, not_tried};
use tempfile::TempDir;

/// What the three build files make: two chips, and a text made from the first.
const MADE: [&str; 3] = ["basic.bin", "heron-8.bin", "heron-8.txt"];

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

/// `docs/build.md` shows each file as it stands in the samples.
#[test]
fn the_page_shows_the_files() {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/build.md");
    let page = fs::read_to_string(page).unwrap();
    for name in [
        "Makefile",
        "build.ninja",
        "CMakeLists.txt",
        "embed/Cargo.toml",
        "embed/build.rs",
        "embed/src/main.rs",
    ] {
        let file = samples().join("build").join(name);
        if name.starts_with("embed") && !file.exists() {
            not_tried(&format!(
                "{name} on the page: cargo packs no crate inside another"
            ));
            continue;
        }
        let text = fs::read_to_string(file).unwrap();
        assert!(
            page.contains(&format!("\n{text}```\n")),
            "docs/build.md does not show samples/build/{name} as it is"
        );
    }
}

/// A copy of the samples with one build file, and how it is run.
struct Site {
    dir: TempDir,
    build: &'static [&'static str],
}

impl Site {
    fn new(file: &str, build: &'static [&'static str]) -> Self {
        let dir = TempDir::new().unwrap();
        for folder in ["heron-8", "build"] {
            fs::create_dir(dir.path().join(folder)).unwrap();
        }
        for name in ["monitor.hex", "basic.s19"] {
            let from = samples().join("heron-8").join(name);
            fs::copy(from, dir.path().join("heron-8").join(name)).unwrap();
        }
        let from = samples().join("build").join(file);
        fs::copy(from, dir.path().join("build").join(file)).unwrap();
        Self { dir, build }
    }

    fn source(&self, name: &str) -> PathBuf {
        self.dir.path().join("heron-8").join(name)
    }

    fn made(&self, name: &str) -> PathBuf {
        self.dir.path().join("build/out").join(name)
    }

    fn time(&self, name: &str) -> SystemTime {
        fs::metadata(self.made(name)).unwrap().modified().unwrap()
    }

    fn run(&self, words: &[&str]) -> Output {
        let bin = Path::new(env!("CARGO_BIN_EXE_romloom")).parent().unwrap();
        let mut path = OsString::from(bin);
        path.push(":");
        path.push(env::var_os("PATH").unwrap());
        Command::new(words[0])
            .args(&words[1..])
            .current_dir(self.dir.path().join("build"))
            .env("PATH", path)
            .env_remove("MAKEFLAGS")
            .env_remove("SOURCE_DATE_EPOCH")
            .output()
            .unwrap()
    }

    /// Builds; which files a command was run for.
    fn build(&self) -> Vec<&'static str> {
        // So that the clock of the file system has gone on.
        sleep(Duration::from_millis(50));
        let ran = self.run(self.build);
        let said = String::from_utf8(ran.stdout).unwrap();
        let err = String::from_utf8(ran.stderr).unwrap();
        assert!(ran.status.success(), "{said}{err}");
        let runs = |name: &&str| {
            let ends = ["+ write out/", "+ write ", "> out/", "> "].map(|e| format!("{e}{name}"));
            let mut lines = said.lines().filter(|line| line.contains("romloom "));
            lines.any(|line| ends.iter().any(|end| line.contains(end)))
        };
        MADE.into_iter().filter(runs).collect()
    }

    /// A source written again with the bytes it has.
    fn touch(&self, name: &str) {
        sleep(Duration::from_millis(50));
        let bytes = fs::read(self.source(name)).unwrap();
        fs::write(self.source(name), bytes).unwrap();
    }
}

fn present(words: &[&str]) -> bool {
    let there = words
        .iter()
        .all(|tool| Command::new(tool).arg("--version").output().is_ok());
    if !there {
        missing(&format!("{} is not installed", words.join(" or ")));
    }
    there
}

/// What holds for each of the three.
fn builds_what_changed(site: &Site) {
    assert_eq!(site.build(), MADE, "the first time");
    let chip = fs::read(site.made("heron-8.bin")).unwrap();
    let raw = |name: &str| fs::read(samples().join("heron-8").join(name)).unwrap();
    let (basic, monitor) = (raw("basic.bin"), raw("monitor.bin"));
    assert_eq!(chip.len(), 0x8000);
    assert_eq!(chip[..basic.len()], basic);
    assert_eq!(chip[0x6000..0x6000 + monitor.len()], monitor);
    assert_eq!(chip[0x7FFA..], raw("vectors.bin"));
    let small = fs::read(site.made("basic.bin")).unwrap();
    assert_eq!((small.len(), &small[..basic.len()]), (0x2000, &basic[..]));
    assert_eq!(site.build(), [""; 0], "with nothing changed");

    // The same bytes at a later time: the chip is asked for, and nothing behind it.
    let times = MADE.map(|name| site.time(name));
    site.touch("monitor.hex");
    assert_eq!(site.build(), ["heron-8.bin"]);
    assert_eq!(site.build(), [""; 0], "after a touched source");
    site.touch("basic.s19");
    assert_eq!(site.build(), ["basic.bin", "heron-8.bin"]);
    assert_eq!(site.build(), [""; 0], "after the other touched source");
    assert_eq!(MADE.map(|name| site.time(name)), times);

    // One byte of one source: its chip and what is made from it, not the other chip.
    sleep(Duration::from_millis(50));
    let monitor = site.source("monitor.hex");
    let monitor = monitor.to_str().unwrap();
    let changed = site.run(&[
        "romloom", "load", monitor, "+", "patch", "0xFFFB", "E1", "+", "write", monitor,
    ]);
    assert!(changed.status.success(), "{changed:?}");
    assert_eq!(site.build(), ["heron-8.bin", "heron-8.txt"]);
    let mut wanted = chip.clone();
    wanted[0x7FFB] = 0xE1;
    assert_ne!(wanted, chip);
    assert_eq!(fs::read(site.made("heron-8.bin")).unwrap(), wanted);
    assert_eq!(site.time("basic.bin"), times[0]);
    assert_eq!(site.build(), [""; 0], "after a changed source");

    // A chip that was taken away comes back.
    fs::remove_file(site.made("heron-8.bin")).unwrap();
    assert!(site.build().contains(&"heron-8.bin"));
    assert_eq!(fs::read(site.made("heron-8.bin")).unwrap(), wanted);
    assert_eq!(site.build(), [""; 0], "after a chip taken away");

    // A broken source stops the build each time, and the chip stays.
    sleep(Duration::from_millis(50));
    fs::write(site.source("monitor.hex"), ":00").unwrap();
    for _ in 0..2 {
        assert!(!site.run(site.build).status.success());
        assert_eq!(fs::read(site.made("heron-8.bin")).unwrap(), wanted);
    }
}

#[test]
fn make_builds_what_changed() {
    if present(&["make"]) {
        builds_what_changed(&Site::new("Makefile", &["make"]));
    }
}

#[test]
fn ninja_builds_what_changed() {
    if present(&["ninja"]) {
        builds_what_changed(&Site::new("build.ninja", &["ninja", "-v"]));
    }
}

#[test]
fn cmake_builds_what_changed() {
    if present(&["cmake", "ninja"]) {
        let site = Site::new("CMakeLists.txt", &["cmake", "--build", "out", "--verbose"]);
        let set_up = site.run(&["cmake", "-G", "Ninja", "-B", "out"]);
        assert!(set_up.status.success(), "{set_up:?}");
        builds_what_changed(&site);
    }
}
