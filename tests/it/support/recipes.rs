//! The samples' recipes, run by the command in a copy of their folder.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use assert_cmd::assert::Assert;
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
    /// Runs another command in the same folder; it must succeed.
    pub fn romloom(&self, line: &str) {
        Command::cargo_bin("romloom")
            .unwrap()
            .current_dir(self.folder.path())
            .args(line.split(' '))
            .assert()
            .success();
    }

    /// A file it wrote.
    pub fn file(&self, name: &str) -> Vec<u8> {
        fs::read(self.folder.path().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }
}

/// Runs the recipe of a sample.
pub fn run_recipe(sample: &str) -> Made {
    let folder = copy_of(sample);
    run_in(&folder).success();
    Made { folder }
}

/// Runs the recipe of a sample as `change` leaves it; a check in it must say no, and nothing be written.
/// Gives what it said.
pub fn recipe_says_no(sample: &str, change: impl Fn(&str) -> String) -> String {
    let folder = copy_of(sample);
    let path = folder.path().join("board.loom");
    let recipe = fs::read_to_string(&path).unwrap();
    let changed = change(&recipe);
    assert_ne!(recipe, changed, "the change found nothing to change");
    fs::write(&path, changed).unwrap();
    let ran = run_in(&folder).code(1);
    assert!(!folder.path().join("out").exists());
    String::from_utf8(ran.get_output().stderr.clone()).unwrap()
}

/// The files of a sample, without what its recipe once made.
fn copy_of(sample: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    for file in fs::read_dir(samples().join(sample)).unwrap() {
        let file = file.unwrap();
        if file.file_type().unwrap().is_file() {
            fs::copy(file.path(), folder.path().join(file.file_name())).unwrap();
        }
    }
    folder
}

fn run_in(folder: &TempDir) -> Assert {
    Command::cargo_bin("romloom")
        .unwrap()
        .arg("run")
        .arg(folder.path().join("board.loom"))
        .assert()
}
