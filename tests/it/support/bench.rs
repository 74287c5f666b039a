//! A folder to try the command in.

use std::fs;
use std::path::PathBuf;
use std::process::Output;

use assert_cmd::Command;
use tempfile::TempDir;

/// A folder with files of our own, and the command to run in it.
pub struct Folder {
    dir: TempDir,
}

/// How a run ended.
pub struct Ran {
    /// Exit code.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Folder {
    /// With `prog.hex`: bytes 10 11 12 13 at 0x8000.
    pub fn new() -> Self {
        let folder = Folder {
            dir: TempDir::new().unwrap(),
        };
        folder.put(
            "prog.hex",
            ":0480000010111213 36\n:00000001FF\n".replace(' ', ""),
        );
        folder
    }

    /// A path in the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// Puts a file into it.
    pub fn put(&self, name: &str, content: impl AsRef<[u8]>) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, content).unwrap();
    }

    /// A file's content.
    pub fn get(&self, name: &str) -> Vec<u8> {
        fs::read(self.path(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    /// Whether there is such a file.
    pub fn has(&self, name: &str) -> bool {
        self.path(name).exists()
    }

    /// Names of everything in it, folders with a slash, sorted.
    pub fn list(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.dir.path())
            .unwrap()
            .map(|e| {
                let e = e.unwrap();
                let slash = if e.file_type().unwrap().is_dir() {
                    "/"
                } else {
                    ""
                };
                format!("{}{slash}", e.file_name().to_string_lossy())
            })
            .collect();
        names.sort();
        names
    }

    /// The command, to be run in the folder.
    pub fn command(&self) -> Command {
        let mut command = Command::cargo_bin("romloom").unwrap();
        command
            .current_dir(self.dir.path())
            .env_remove("SOURCE_DATE_EPOCH");
        command
    }

    /// Runs a command line, split as a shell splits it.
    pub fn run(&self, line: &str) -> Ran {
        let words = shlex::split(line).unwrap();
        Ran::from(self.command().args(words).output().unwrap())
    }

    /// Runs a command line that must succeed.
    pub fn ok(&self, line: &str) -> Ran {
        let ran = self.run(line);
        assert_eq!(ran.code, 0, "{line}\n{}", ran.err);
        ran
    }
}

impl Ran {
    /// The first line of an error: all but the words that it points at.
    pub fn error(&self) -> &str {
        self.err.lines().next().unwrap_or_default()
    }

    /// What is said without the lines it points at: each fact, a colon, and what helps.
    pub fn told(&self) -> String {
        let mut told = String::new();
        for line in self.err.lines() {
            match line.strip_prefix("  = help: ") {
                Some(help) => told += &format!(": {help}"),
                None if line.contains("  |") || line.contains(" | ") => {}
                None => told += &format!("\n{line}"),
            }
        }
        told.trim_start().to_owned()
    }
}

impl From<Output> for Ran {
    fn from(output: Output) -> Self {
        Ran {
            code: output.status.code().unwrap(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }
}
