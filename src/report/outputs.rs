//! What a run made.

use serde::Serialize;

use super::{Report, Style, plural};

/// The files of a run.
#[derive(Serialize)]
pub struct Outputs {
    /// In the order written.
    pub outputs: Vec<Output>,
    /// Whether nothing was put in place because only a trial was asked for.
    pub dry_run: bool,
}

/// One file.
#[derive(Clone, Debug, Serialize)]
pub struct Output {
    /// The name as given, or `-` for standard output.
    pub file: String,
    /// `new`, `changed` or `unchanged`.
    pub state: &'static str,
    /// Format and form: `raw`, `intel-hex I8HEX`.
    pub format: String,
    /// Label of the piece.
    pub piece: String,
    /// Data bytes of the piece.
    pub bytes: u64,
    /// 16-bit sum of the bytes, in hex, as a programmer shows it.
    pub sum16: String,
    /// 32-bit sum of the bytes, in hex.
    pub sum32: String,
    /// CRC-32 of the bytes, in hex.
    pub crc32: String,
}

impl Report for Outputs {
    const STEP: &'static str = "outputs";

    fn text(&self, style: Style) -> String {
        let width = self.outputs.iter().map(|o| o.file.len()).max().unwrap_or(0);
        let mut out = String::new();
        for output in &self.outputs {
            let state = match (self.dry_run, output.state) {
                (true, "unchanged") => "would leave",
                (true, _) => "would write",
                (false, "unchanged") => "unchanged",
                (false, _) => "wrote",
            };
            let file = format!("{:width$}", output.file);
            out += &format!(
                "{state} {}  {}, {}, sum16 {} sum32 {} crc32 {}\n",
                style.strong(&file),
                output.format,
                plural(output.bytes, "byte"),
                output.sum16,
                output.sum32,
                output.crc32
            );
        }
        out
    }
}
