//! The fuzz targets as seeded property tests, and what fuzzing once found.

use std::path::Path;

use assert_cmd::Command;
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use crate::fuzz_bodies;
use crate::support::thorough;

/// Runs `test` on `cases` values, the same in every run.
fn seeded<S: Strategy>(cases: u32, values: S, test: impl Fn(S::Value)) {
    let config = Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    };
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[38; 32]);
    let mut runner = TestRunner::new_with_rng(config, rng);
    let ran = runner.run(&values, |value| {
        test(value);
        Ok(())
    });
    ran.unwrap();
}

/// Bytes that come near what the formats look like.
fn files() -> impl Strategy<Value = Vec<u8>> {
    let text = "[ -~\\r\\n\\x00\\x1A]{0,3}([:;%@S][0-9A-Fa-f]{0,44}[ \\r\\n]{0,2}|[@ 0-9A-F]{0,30}\\n|q|//|/\\*|\\*/){0,12}";
    (
        any::<u8>(),
        prop_oneof![
            vec(any::<u8>(), 0..400),
            text.prop_map(String::into_bytes),
            vec(any::<u8>(), 0..200).prop_map(|b| [b"\x7FELF\x01\x01\x01".to_vec(), b].concat()),
        ],
    )
        .prop_map(|(choice, file)| [vec![choice], file].concat())
}

#[test]
fn readers() {
    for format in fuzz_bodies::readers() {
        let name = format.name();
        seeded(300, files(), |data| fuzz_bodies::reader(name, &data));
    }
}

#[test]
fn recipes() {
    let line =
        "(load|pad|write|---|#|fill|join)?[ -~]{0,20}(\\\\|\\$\\{NAME\\}|'|\"|\\+)?[ -~]{0,10}\\n";
    seeded(300, vec(line, 0..6), |lines| {
        fuzz_bodies::recipe(lines.concat().as_bytes())
    });
}

#[test]
fn boards_and_parts() {
    let samples = [
        include_str!("../../samples/heron-8/heron-8.board"),
        include_str!("../../samples/heron-16/heron-16.board"),
        include_str!("../../samples/kingfisher/kingfisher.board"),
    ];
    // A sample with a few stretches of it replaced.
    let line = "(\\[\\[(sockets|part|sockets.window)\\]\\]|[a-z]{2,8} = (\"[ -~]{0,6}\"|-?[0-9]{1,20}|0x[0-9A-F]{1,16}|\\[[^\\]]{0,9}\\])|[ -~]{0,12})";
    let edit = (any::<prop::sample::Index>(), 0..20usize, line);
    seeded(200, (0..samples.len(), vec(edit, 0..5)), |(n, edits)| {
        let mut text = samples[n].as_bytes().to_vec();
        for (at, length, new) in edits {
            let at = at.index(text.len());
            let end = text.len().min(at + length);
            text.splice(at..end, new.bytes());
        }
        fuzz_bodies::board(&text);
        fuzz_bodies::own_parts(&text);
    });
}

#[test]
fn diagnoses() {
    let odd = prop_oneof![vec(any::<u8>(), 0..300), vec(0..2u8, 0..300)];
    seeded(150, odd, |data| fuzz_bodies::diagnosis(&data));
}

#[test]
fn pipelines() {
    let folder = tempfile::tempdir().unwrap();
    seeded(150, vec(any::<u8>(), 1..24), |data| {
        pipeline(folder.path(), &data)
    });
}

/// Runs the command line that these bytes stand for: it may end in any way but a panic.
fn pipeline(folder: &Path, data: &[u8]) {
    fuzz_bodies::furnish(folder).unwrap();
    let words = fuzz_bodies::words(data, folder);
    let mut command = Command::cargo_bin("romloom").unwrap();
    let output = command.current_dir(folder).args(&words).output().unwrap();
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(
        matches!(output.status.code(), Some(0..=2)),
        "{words:?}: {err}"
    );
    assert!(!err.contains("panicked"), "{words:?}: {err}");
}

/// Runs one input of a target, or of the reader of one format.
fn run(name: &str, data: &[u8], folder: &Path) {
    match name {
        "recipe" => fuzz_bodies::recipe(data),
        "board" => fuzz_bodies::board(data),
        "own-parts" => fuzz_bodies::own_parts(data),
        "diagnosis" => fuzz_bodies::diagnosis(data),
        "pipeline" => pipeline(folder, data),
        format => fuzz_bodies::reader(format, data),
    }
}

/// Inputs that fuzzing found, by target: `tests/regressions/TARGET/NAME`.
#[test]
fn what_fuzzing_found_stays_mended() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/regressions");
    let folder = tempfile::tempdir().unwrap();
    for target in std::fs::read_dir(root).unwrap() {
        let target = target.unwrap();
        let name = target.file_name().to_str().unwrap().replace('_', "-");
        if !target.file_type().unwrap().is_dir() || name == "corpus" {
            continue;
        }
        for input in std::fs::read_dir(target.path()).unwrap() {
            let data = std::fs::read(input.unwrap().path()).unwrap();
            run(&name, &data, folder.path());
        }
    }
}

/// Inputs that fuzzing kept since each reaches code that no other does: `tests/regressions/corpus/TARGET.hex`, one a line. All of
/// them in a thorough run, else one in three.
#[test]
fn what_fuzzing_kept_is_still_right() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/regressions/corpus");
    let folder = tempfile::tempdir().unwrap();
    let one_in = if thorough() { 1 } else { 3 };
    let mut count = 0;
    for kept in std::fs::read_dir(root).unwrap() {
        let path = kept.unwrap().path();
        let name = path
            .file_stem()
            .unwrap()
            .to_str()
            .unwrap()
            .replace('_', "-");
        for line in std::fs::read_to_string(&path)
            .unwrap()
            .lines()
            .step_by(one_in)
        {
            let byte = |at: usize| u8::from_str_radix(&line[at..at + 2], 16).unwrap();
            let data: Vec<u8> = (0..line.len()).step_by(2).map(byte).collect();
            run(&name, &data, folder.path());
            count += 1;
        }
    }
    assert!(count > 1000, "{count} inputs");
}
