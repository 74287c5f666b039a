//! The files that a run made.

use serde::Serialize;

use super::document::Report;
use super::fit;
use super::style::Style;
use crate::prose::plural;

/// The files of a run.
#[derive(Serialize)]
pub struct Outputs {
    /// In the order written.
    pub outputs: Vec<Output>,
    /// Whether it was a dry run, so that nothing was put in place.
    pub dry_run: bool,
}

/// One file.
#[derive(Clone, Debug, Serialize)]
pub struct Output {
    /// The name as given, or `-` for standard output.
    pub file: String,
    /// How it compares with what was there before.
    pub state: FileState,
    /// Format and form: `raw`, `intel-hex I8HEX`; `sheet` for a picture.
    pub format: String,
    /// What it contains, if that is a piece.
    #[serde(flatten)]
    pub holds: Option<HeldPiece>,
}

/// How a file compares with what was in its place before.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum FileState {
    /// There was no file.
    New,
    /// There were other bytes.
    Changed,
    /// There are the same bytes; the file is not touched.
    Unchanged,
    /// There were the same bytes, but the file is put in place anyway.
    Rewritten,
}

/// The piece in a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct HeldPiece {
    /// Name of the piece.
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

impl Outputs {
    fn state(&self, output: &Output) -> &'static str {
        match (self.dry_run, output.state) {
            (true, FileState::Unchanged) => "would leave",
            (true, _) => "would write",
            (false, FileState::Unchanged) => "unchanged",
            (false, FileState::Rewritten) => "rewrote",
            (false, _) => "wrote",
        }
    }
}

impl Report for Outputs {
    const STEP: &'static str = "outputs";

    fn text(&self, style: Style) -> String {
        // Columns, so that sums and sizes can be compared down the list.
        let widest = |text: &dyn Fn(&Output) -> String| {
            let lengths = self.outputs.iter().map(|o| text(o).chars().count());
            lengths.max().unwrap_or(0)
        };
        let state = |o: &Output| self.state(o).to_owned();
        let format = |o: &Output| match &o.holds {
            Some(_) => format!("{},", o.format),
            // A page has no size to line up with.
            None => String::new(),
        };
        let bytes = |o: &Output| match &o.holds {
            Some(holds) => format!("{},", plural(holds.bytes, "byte")),
            None => String::new(),
        };
        let (width, states) = (widest(&|o| o.file.clone()), widest(&state));
        let (formats, sizes) = (widest(&format), widest(&bytes));
        let mut out = String::new();
        for output in &self.outputs {
            let file = format!("{:width$}", output.file);
            out += &format!("{:states$} {}  ", state(output), style.strong(&file));
            match &output.holds {
                None => out += &output.format,
                Some(holds) => {
                    let held = format!("{:formats$} {:>sizes$}", format(output), bytes(output));
                    let sums = [
                        format!("sum16 {}", holds.sum16),
                        format!("sum32 {}", holds.sum32),
                        format!("crc32 {}", holds.crc32),
                    ];
                    let whole =
                        states + width + 3 + fit::width(&held) + 1 + fit::width(&sums.join(" "));
                    let too_wide = style.on_terminal() && whole > style.columns();
                    let sums = match too_wide {
                        // Two blanks keep a name and its value together where the line is broken.
                        true => sums.join("  "),
                        false => sums.join(" "),
                    };
                    let indent = match states + width + 3 {
                        under if under + fit::width(&sums) <= style.columns() => under,
                        _ => 4,
                    };
                    out += &held;
                    out += &match too_wide {
                        true => format!("\n{:indent$}{sums}", ""),
                        false => format!(" {sums}"),
                    };
                }
            }
            out.push('\n');
        }
        out
    }
}
