#![no_main]
//! The whole pipeline, in this process, on files of a folder of its own.

#[path = "../../tests/it/fuzz_bodies.rs"]
mod targets;

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use tempfile::TempDir;

static FOLDER: LazyLock<TempDir> = LazyLock::new(|| TempDir::new().expect("a temporary folder"));

fuzz_target!(|data: &[u8]| {
    targets::furnish(FOLDER.path()).expect("files can be written there");
    let mut words = targets::words(data, FOLDER.path());
    words.insert(0, "romloom".into());
    romloom::cli::main(words);
});
