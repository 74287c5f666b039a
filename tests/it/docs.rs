//! Every command that README and docs show is run, and prints what they say it prints.
//!
//! As a reader would: a page says how its folder is made, and its commands run there one after another. With
//! `TRYCMD=overwrite` the pages get what the commands print now; look at the difference before you keep it.

use std::env;
use std::fs;
use std::panic;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use tempfile::TempDir;

/// How each page begins that shows commands.
const FOLDER: &str = "romloom demo heron";

/// Whether the pages are written anew.
fn writes() -> bool {
    env::var_os("TRYCMD").is_some_and(|mode| mode == "overwrite")
}

fn pages() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let docs = fs::read_dir(root.join("docs")).unwrap();
    let mut pages: Vec<_> = docs.map(|entry| entry.unwrap().path()).collect();
    pages.push(root.join("README.md"));
    pages.retain(|page| page.extension().is_some_and(|e| e == "md"));
    pages
}

#[test]
fn the_examples_of_the_docs_are_true() {
    let work = TempDir::new().unwrap();
    let mut shown = Vec::new();
    for page in pages() {
        let text = fs::read_to_string(&page).unwrap();
        if !text.contains("```console\n$ romloom") {
            continue;
        }
        let name = page.file_stem().unwrap().to_str().unwrap();
        let mut blocks = text.split("```").skip(1).step_by(2);
        let makes = |block: &str| block.lines().any(|line| line.starts_with(FOLDER));
        let first = blocks.find(|block| block.contains("$ romloom") || makes(block));
        assert!(
            first.is_some_and(makes),
            "{name}: the page shows commands before it says how their folder is made"
        );
        Command::cargo_bin("romloom")
            .unwrap()
            .current_dir(work.path())
            .args(FOLDER.split(' ').skip(1))
            .assert()
            .success();
        fs::rename(
            work.path().join("heron"),
            work.path().join(format!("{name}.in")),
        )
        .unwrap();
        // With a folder for results the page runs in a copy, so that commands may write.
        fs::create_dir(work.path().join(format!("{name}.out"))).unwrap();
        let copy = work.path().join(format!("{name}.md"));
        fs::write(&copy, &text).unwrap();
        shown.push((page, copy, text));
    }
    assert!(shown.len() > 10, "the test no longer sees the pages");
    let cases = trycmd::TestCases::new();
    cases.case(work.path().join("*.md").to_str().unwrap());
    if writes() {
        // It fails when it has written something; that is no failure here.
        let _ = panic::catch_unwind(panic::AssertUnwindSafe(|| cases.run()));
        for (page, copy, before) in shown {
            let now = fs::read_to_string(copy).unwrap();
            if now != before {
                fs::write(page, now).unwrap();
            }
        }
    }
}

/// The lines that a page shows without what they print run, too.
#[cfg(unix)]
#[test]
fn what_the_pages_show_without_output_runs() {
    let bin = assert_cmd::cargo::cargo_bin("romloom");
    let mut path = vec![bin.parent().unwrap().to_owned()];
    path.extend(env::split_paths(&env::var_os("PATH").unwrap()));
    let path = env::join_paths(path).unwrap();
    let mut seen = 0;
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/README.md");
    for page in pages().into_iter().chain([samples]) {
        let text = fs::read_to_string(&page).unwrap();
        let work = TempDir::new().unwrap();
        let shell = |line: &str, folder: &str| {
            let out = std::process::Command::new("sh")
                .args(["-c", line])
                .current_dir(work.path().join(folder))
                .env("PATH", &path)
                .env("HOME", work.path())
                .output()
                .unwrap();
            let said = String::from_utf8_lossy(&out.stderr).into_owned();
            assert!(out.status.success(), "{}: {line}\n{said}", page.display());
        };
        shell(FOLDER, ".");
        let mut fence = None;
        for line in text.lines() {
            if let Some(kind) = line.strip_prefix("```") {
                fence = if fence.is_none() { Some(kind) } else { None };
                continue;
            }
            let line = match fence {
                Some("sh") => line,
                None => line.strip_prefix("    ").unwrap_or_default(),
                Some(_) => continue,
            };
            let is_ours = line.starts_with("romloom ") || line.starts_with("mkdir ");
            if is_ours && !line.starts_with(FOLDER) {
                // What is said of it stands after some blanks; a pager for manual pages may be missing.
                let line = line
                    .split("  ")
                    .next()
                    .unwrap()
                    .replace("| man -l -", "| cat");
                shell(&line, "heron");
                seen += 1;
            }
        }
    }
    assert!(seen >= 10, "the test no longer sees the lines: {seen}");
}

/// The finished chips among the files of the pages are what the samples' recipes make.
#[test]
fn the_chips_of_the_pages_are_what_the_recipes_make() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let work = TempDir::new().unwrap();
    Command::cargo_bin("romloom")
        .unwrap()
        .current_dir(work.path())
        .args(["demo", "heron"])
        .assert()
        .success();
    for (sample, made, name) in [
        ("heron-8", "heron-8.bin", "chip.bin"),
        ("heron-16", "heron-16-even.bin", "even.bin"),
        ("heron-16", "heron-16-odd.bin", "odd.bin"),
    ] {
        let folder = work.path().join("heron").join(sample);
        Command::cargo_bin("romloom")
            .unwrap()
            .arg("run")
            .arg(folder.join("board.loom"))
            .assert()
            .success();
        let made = fs::read(folder.join("out").join(made)).unwrap();
        let kept = root.join("docs/examples").join(name);
        match writes() {
            true => fs::write(&kept, &made).unwrap(),
            false => assert!(fs::read(&kept).unwrap() == made, "{name} is out of date"),
        }
    }
}

/// `demo` has every file of the samples but the crate, which is built in its place.
#[test]
fn the_demo_has_all_samples() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let work = TempDir::new().unwrap();
    Command::cargo_bin("romloom")
        .unwrap()
        .current_dir(work.path())
        .args(["demo", "heron"])
        .assert()
        .success();
    let mut folders = vec![root.join("samples")];
    let mut seen = 0;
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap();
            if path.is_dir() {
                // What the recipes made here, and the crate.
                folders.extend((!["out", "embed"].contains(&name)).then_some(path));
            } else if !name.starts_with('.') {
                let place = path.strip_prefix(root.join("samples")).unwrap();
                let copy = work.path().join("heron").join(place);
                assert!(
                    fs::read(copy).unwrap() == fs::read(&path).unwrap(),
                    "{name}"
                );
                seen += 1;
            }
        }
    }
    assert!(seen > 50);
    for entry in fs::read_dir(root.join("docs/examples")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        let copy = work.path().join("heron").join(name);
        assert!(name.starts_with('.') || copy.is_file(), "{name}");
    }
}

/// A board that a page shows under its file's name is that file, with which the page's commands run.
#[test]
fn the_boards_of_the_pages_are_their_files() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut seen = 0;
    for page in ["docs/cookbook.md", "docs/recipes.md"] {
        let text = fs::read_to_string(root.join(page)).unwrap();
        let blocks = text
            .split("```toml\n")
            .skip(1)
            .map(|rest| rest.split("```").next().unwrap());
        for shown in blocks {
            let first = shown.trim_start_matches("# ");
            let stem = first.split(".board").next().unwrap();
            let sample = root.join(format!("samples/{stem}/{stem}.board"));
            let example = root.join(format!("docs/examples/{stem}.board"));
            let file = if sample.exists() { sample } else { example };
            let file =
                fs::read_to_string(&file).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
            assert_eq!(shown, file, "{page}: {stem}.board");
            seen += 1;
        }
    }
    assert!(seen >= 3, "the test no longer sees the boards");
}

/// So are the parts of one's own.
#[test]
fn the_parts_of_the_page_are_their_file() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = fs::read_to_string(root.join("docs/parts.md")).unwrap();
    let file = fs::read_to_string(root.join("docs/examples/my-parts.toml")).unwrap();
    let shown = page.split("```toml\n").nth(1).unwrap();
    assert_eq!(shown.split("```").next().unwrap(), file);
}

/// What the pages say of the sources leads somewhere.
#[test]
fn every_source_that_a_page_names_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let pages = fs::read_dir(root.join("docs")).unwrap();
    let pages = pages.map(|f| f.unwrap().path());
    let mut pages: Vec<_> = pages
        .filter(|p| p.extension().is_some_and(|e| e == "md"))
        .collect();
    pages.extend(["README.md", "DEVELOPERS.md", "CHANGELOG.md"].map(|page| root.join(page)));
    let (mut seen, mut gone) = (0, Vec::new());
    for page in pages {
        let text = fs::read_to_string(&page).unwrap();
        let is_path = |c: char| c.is_ascii_alphanumeric() || "_-./*$".contains(c);
        for word in text.split(|c| !is_path(c)) {
            let word = word.trim_end_matches('.');
            let of_ours = ["src/", "tests/", "benches/"];
            // NAME is for the reader to fill in, * for several files.
            let is_whole = !word.contains("NAME") && !word.contains('*');
            if is_whole && of_ours.iter().any(|folder| word.starts_with(folder)) {
                seen += 1;
                if !root.join(word).exists() {
                    gone.push(format!("{}: {word}", page.display()));
                }
            }
        }
    }
    assert!(seen > 50, "the test no longer sees the pages' paths");
    assert!(gone.is_empty(), "not there: {gone:#?}");
}
