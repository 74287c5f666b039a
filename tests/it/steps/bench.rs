//! A temporary folder, and the command run in it.

use std::fmt::Write;
use std::fs;

use assert_cmd::Command;
use tempfile::TempDir;

/// What a run said.
pub struct Said {
    pub code: i32,
    pub out: String,
    pub err: String,
}

/// A folder of files; the command runs in it.
pub struct Bench {
    folder: TempDir,
}

impl Bench {
    pub fn new() -> Self {
        Self {
            folder: TempDir::new().unwrap(),
        }
    }

    /// With a raw file.
    pub fn raw(self, name: &str, bytes: &[u8]) -> Self {
        fs::write(self.folder.path().join(name), bytes).unwrap();
        self
    }

    /// With an Intel HEX file: bytes at addresses below 64K, a record for each.
    pub fn hex(self, name: &str, records: &[(u16, &[u8])]) -> Self {
        self.hex_with_entry(name, records, None)
    }

    /// The same, with a start linear address record (type 05).
    pub fn hex_with_entry(self, name: &str, records: &[(u16, &[u8])], entry: Option<u32>) -> Self {
        let record = |kind: u8, address: u16, data: &[u8]| {
            let mut bytes = vec![data.len() as u8];
            bytes.extend(address.to_be_bytes());
            bytes.push(kind);
            bytes.extend(data);
            bytes.push(bytes.iter().fold(0u8, |s, b| s.wrapping_sub(*b)));
            let digits = bytes.iter().fold(String::new(), |mut text, b| {
                write!(text, "{b:02X}").unwrap();
                text
            });
            format!(":{digits}\n")
        };
        let mut text: String = records
            .iter()
            .map(|(a, data)| record(0, *a, data))
            .collect();
        if let Some(entry) = entry {
            text += &record(5, 0, &entry.to_be_bytes());
        }
        text += ":00000001FF\n";
        self.raw(name, text.as_bytes())
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        fs::read(self.folder.path().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    pub fn read_text(&self, name: &str) -> String {
        String::from_utf8(self.read(name)).unwrap()
    }

    pub fn has(&self, name: &str) -> bool {
        self.folder.path().join(name).exists()
    }

    fn command(&self, line: &str) -> Command {
        let mut command = Command::cargo_bin("romloom").unwrap();
        let words = shlex::split(line).unwrap_or_else(|| panic!("quotes in {line}"));
        command
            .args(words)
            .current_dir(self.folder.path())
            .env_remove("SOURCE_DATE_EPOCH");
        command
    }

    fn finished(mut command: Command) -> Said {
        let output = command.output().unwrap();
        Said {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// Runs `romloom` with these words, split as a shell splits them.
    pub fn run(&self, line: &str) -> Said {
        Self::finished(self.command(line))
    }

    pub fn run_with(&self, line: &str, variable: (&str, &str)) -> Said {
        let mut command = self.command(line);
        command.env(variable.0, variable.1);
        Self::finished(command)
    }

    pub fn run_reading(&self, line: &str, stdin: &[u8]) -> Said {
        let mut command = self.command(line);
        command.write_stdin(stdin);
        Self::finished(command)
    }

    /// Standard output of a run that succeeds.
    pub fn ok(&self, line: &str) -> String {
        let said = self.run(line);
        assert_eq!(said.code, 0, "{line}\n{}", said.err);
        said.out
    }

    /// Standard error of a run that succeeds.
    pub fn told(&self, line: &str) -> String {
        let said = self.run(line);
        assert_eq!(said.code, 0, "{line}\n{}", said.err);
        said.err
    }

    /// The bytes of the one piece, without a hole between them, after these steps.
    pub fn bytes(&self, steps: &str) -> Vec<u8> {
        self.ok(&format!("{steps} + write made.bin"));
        self.read("made.bin")
    }

    /// The rows of `show hex` after these steps, without the piece's name and the remarks behind the address.
    pub fn rows(&self, steps: &str) -> Vec<String> {
        let out = self.ok(&format!("{steps} + show hex"));
        let rows = out.lines().skip(1);
        rows.map(|row| {
            let (bytes, rest) = row.split_once(" < ").unwrap();
            let last = rest.split(' ').next().unwrap();
            format!("{bytes} < {last}")
        })
        .collect()
    }

    /// What a run says that ends with `code` and puts no file in place.
    fn stopped(&self, line: &str, code: i32) -> String {
        let said = self.run(&format!("{line} + write never.hex"));
        assert_eq!(said.code, code, "{line}\n{}{}", said.out, said.err);
        assert!(!self.has("never.hex"), "{line}");
        said.err
    }

    /// What is said, without the word `error: ` and the line's end, when input or options are at fault.
    pub fn trouble(&self, line: &str) -> String {
        message(&self.stopped(line, 2))
    }

    /// The same, when a check says no.
    pub fn no(&self, line: &str) -> String {
        message(&self.stopped(line, 1))
    }
}

/// The last error, without the words that it points at; the advice below them follows a colon.
fn message(err: &str) -> String {
    let text = match err.rsplit_once("error: ") {
        Some((_, text)) => text,
        None => err,
    };
    let fact = text.lines().next().unwrap_or_default();
    let advice = text.lines().filter_map(|l| l.strip_prefix("  = help: "));
    let all: Vec<&str> = std::iter::once(fact).chain(advice).collect();
    all.join(": ")
}
