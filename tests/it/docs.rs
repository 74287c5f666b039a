//! Every command that README and docs show is run, and prints what they say it prints.
//!
//! Each page runs in a folder of its own with the samples, the samples' files side by side, the chips their recipes
//! make, and what `docs/examples` holds.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use tempfile::TempDir;

fn copy_files(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true if entry.file_name() == "out" => {}
            true => copy_files(&entry.path(), &target),
            false => {
                fs::copy(entry.path(), target).unwrap();
            }
        }
    }
}

/// Chips under short names, as the recipes of the samples make them.
const CHIPS: [(&str, &str, &str); 3] = [
    ("heron-8", "out/heron-8.bin", "chip.bin"),
    ("heron-16", "out/heron-16-even.bin", "even.bin"),
    ("heron-16", "out/heron-16-odd.bin", "odd.bin"),
];

#[test]
fn the_examples_of_the_docs_are_true() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let work = TempDir::new().unwrap();
    let files = work.path().join("files");
    copy_files(&root.join("docs/examples"), &files);
    copy_files(&root.join("samples/heron-8"), &files);
    for (sample, made, name) in CHIPS {
        let folder = work.path().join(sample);
        copy_files(&root.join("samples").join(sample), &folder);
        Command::cargo_bin("romloom")
            .unwrap()
            .arg("run")
            .arg(folder.join("board.loom"))
            .assert()
            .success();
        fs::copy(folder.join(made), files.join(name)).unwrap();
    }
    for sample in ["heron-16", "heron-16g", "kingfisher"] {
        let name = format!("{sample}.board");
        let board = root.join("samples").join(sample).join(&name);
        fs::copy(board, files.join(&name)).unwrap();
    }
    copy_files(&root.join("samples"), &files.join("samples"));

    let mut pages = vec![root.join("README.md")];
    pages.extend(
        fs::read_dir(root.join("docs"))
            .unwrap()
            .map(|f| f.unwrap().path()),
    );
    pages.retain(|page| page.extension().is_some_and(|e| e == "md"));
    assert!(pages.len() > 3);
    for page in pages {
        let name = page.file_stem().unwrap().to_str().unwrap();
        fs::copy(&page, work.path().join(format!("{name}.md"))).unwrap();
        copy_files(&files, &work.path().join(format!("{name}.in")));
        // With a folder for results the page runs in a copy, so that commands may write.
        fs::create_dir(work.path().join(format!("{name}.out"))).unwrap();
    }
    trycmd::TestCases::new().case(work.path().join("*.md").to_str().unwrap());
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
