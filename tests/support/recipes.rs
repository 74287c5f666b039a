//! The samples' recipes, run by the command in a copy of their folder.

#![allow(clippy::unwrap_used)] // a test that meets the unexpected shall stop

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use tempfile::TempDir;

/// The folder of the samples.
pub fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

/// What a recipe made.
pub struct Made {
    folder: TempDir,
}

impl Made {
    /// A file it wrote.
    pub fn file(&self, name: &str) -> Vec<u8> {
        fs::read(self.folder.path().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }
}

/// Runs the recipe of a sample.
pub fn run_recipe(sample: &str) -> Made {
    let folder = TempDir::new().unwrap();
    for file in fs::read_dir(samples().join(sample)).unwrap() {
        let file = file.unwrap();
        if file.file_type().unwrap().is_file() {
            fs::copy(file.path(), folder.path().join(file.file_name())).unwrap();
        }
    }
    Command::cargo_bin("romloom")
        .unwrap()
        .arg("run")
        .arg(folder.path().join("board.loom"))
        .assert()
        .success();
    Made { folder }
}
