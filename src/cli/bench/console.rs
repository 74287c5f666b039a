//! What a run says: messages on standard error, results on standard output.

use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;
use std::io::{self, BufWriter, Seek, Write};

use tempfile::SpooledTempFile;

use super::Progress;
use super::screen::{on_errors, on_output};
use crate::cli::report::{EachPiece, Report, SCHEMA, Style};

/// Bytes printed at once.
const BLOCK: usize = 64 * 1024;
/// Documents of more bytes than this wait for the end of the run in a temporary file.
const GATHERED: usize = 1 << 20;

/// What a message is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MessageKind {
    /// Worth knowing.
    Note,
    /// Perhaps not what was meant.
    Warning,
}

/// How much a run says, and in which form.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct OutputMode {
    /// No notes and no list of what was made; warnings, errors and results that were asked for stay.
    pub quiet: bool,
    /// All results as one JSON document at the end.
    pub json: bool,
    /// A step prints a JSON document of its own, so that what is for people goes to standard error.
    pub documents_only: bool,
    /// Standard output carries a file, so results go to standard error.
    pub stdout_is_taken: bool,
    /// A line on a terminal says what a long run is doing.
    pub progress: bool,
}

/// Where a result goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stream {
    Output,
    Error,
}

/// Messages and results of one run.
pub struct Console {
    mode: OutputMode,
    /// Documents of a run that is to have one in the end, one after another.
    gathered: SpooledTempFile,
    /// What could not be printed, and where to.
    lost: Option<(String, io::Error)>,
    progress: Progress,
    silent: Cell<bool>,
    said_once: RefCell<BTreeSet<String>>,
}

impl Console {
    /// For a run that says this much, in this form.
    pub fn new(mode: OutputMode) -> Self {
        Self {
            mode,
            gathered: SpooledTempFile::new(GATHERED),
            lost: None,
            progress: match mode.progress {
                true => Progress::new(),
                false => Progress::default(),
            },
            silent: Cell::new(true),
            said_once: RefCell::default(),
        }
    }

    /// The line that says what is being done.
    pub fn progress(&self) -> &Progress {
        &self.progress
    }

    /// Whether notes and lists are left out.
    pub fn is_quiet(&self) -> bool {
        self.mode.quiet
    }

    /// Whether nothing has been said yet, neither result nor message.
    pub fn is_silent(&self) -> bool {
        self.silent.get()
    }

    /// A message for people.
    pub fn say(&self, kind: MessageKind, text: &str) {
        self.silent.set(false);
        let (word, style) = match kind {
            MessageKind::Note if self.mode.quiet => return,
            MessageKind::Note => ("note", anstyle::AnsiColor::Green.on_default().bold()),
            MessageKind::Warning => ("warning", anstyle::AnsiColor::Yellow.on_default().bold()),
        };
        // When standard error is closed there is nobody to report that to.
        self.progress.aside(|| {
            let text = format!("{style}{word}{style:#}: {text}\n");
            let text = on_errors().fitted(&text);
            let _ = anstream::stderr().write_all(text.as_bytes());
        });
    }

    /// A message for people that is printed only once in a run.
    pub fn say_once(&self, kind: MessageKind, text: &str) {
        if self.said_once.borrow_mut().insert(text.to_owned()) {
            self.say(kind, text);
        }
    }

    /// Text that is laid out already, such as carets under a line, on standard error.
    pub fn show_block(&self, text: &str) {
        self.silent.set(self.silent.get() && text.is_empty());
        self.progress.aside(|| {
            let _ = write!(anstream::stderr(), "{text}");
        });
    }

    /// The style for blocks.
    pub fn style(&self) -> Style {
        on_errors()
    }

    /// A result: text, or a JSON document on one line when the step asks for it, or part of the run's document.
    pub fn report<R: Report>(&mut self, report: &R, json: bool) {
        self.silent.set(false);
        if self.mode.json {
            self.gather(|out| report.write_document(out));
        } else if json {
            self.result(self.for_documents(), |out| {
                report.write_document(out)?;
                out.write_all(b"\n")
            });
        } else {
            let stream = self.for_people();
            let style = match stream {
                Stream::Output => on_output(),
                Stream::Error => on_errors(),
            };
            self.result(stream, |out| report.write_text(style, out));
        }
    }

    /// What a step found out about its pieces, as one result; nothing if it has no result.
    pub fn report_each<R: Report>(&mut self, pieces: Vec<R>, json: bool) {
        if !pieces.is_empty() {
            self.report(&EachPiece { pieces }, json);
        }
    }

    /// Why there is not the line that was asked for: standard output stays empty.
    pub fn report_instead<R: Report>(&mut self, report: &R) {
        match self.mode.json {
            true => self.report(report, true),
            false => self.show_block(&report.shown(self.style())),
        }
    }

    /// Whether a result goes into a JSON document, the step's or the run's.
    pub fn makes_json(&self, step: bool) -> bool {
        step || self.mode.json
    }

    /// A result that is one line, ready to be used.
    pub fn line(&mut self, line: &str) {
        self.silent.set(false);
        match self.mode.json {
            true => {
                let line = serde_json::json!({ "schema": SCHEMA, "line": line });
                self.gather(|out| out.write_all(line.to_string().as_bytes()));
            }
            false => self.result(self.for_people(), |out| writeln!(out, "{line}")),
        }
    }

    /// Ends the run: prints the JSON document when one was asked for.
    pub fn finish(&mut self) {
        if self.mode.json {
            let mut gathered = SpooledTempFile::new(GATHERED);
            std::mem::swap(&mut gathered, &mut self.gathered);
            self.result(self.for_documents(), |out| {
                writeln!(out, "{{\"schema\":{SCHEMA},\"reports\":[")?;
                gathered.rewind()?;
                io::copy(&mut gathered, out)?;
                writeln!(out, "\n]}}")
            });
        }
    }

    fn for_people(&self) -> Stream {
        match self.mode.stdout_is_taken || self.mode.documents_only {
            true => Stream::Error,
            false => Stream::Output,
        }
    }

    fn for_documents(&self) -> Stream {
        match self.mode.stdout_is_taken {
            true => Stream::Error,
            false => Stream::Output,
        }
    }

    /// Puts a document after those that wait for the end of the run.
    fn gather(&mut self, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) {
        let mut out = BufWriter::new(&mut self.gathered);
        let begin = match out.stream_position() {
            Ok(0) => Ok(()),
            Ok(_) => out.write_all(b",\n"),
            Err(error) => Err(error),
        };
        let done = begin.and_then(|()| write(&mut out));
        if let Err(error) = done.and_then(|()| out.flush()) {
            let folder = std::env::temp_dir();
            let place = format!("the folder {} can't be written to", folder.display());
            self.lost.get_or_insert((place, error));
        }
    }

    fn result(&mut self, stream: Stream, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) {
        let print = |to: &mut dyn Write| {
            let mut out = BufWriter::with_capacity(BLOCK, to);
            write(&mut out)?;
            out.flush()
        };
        let done = self.progress.aside(|| match stream {
            Stream::Error => print(&mut anstream::stderr()),
            Stream::Output => print(&mut anstream::stdout()),
        });
        // A reader that has seen enough closes the pipe; that is not an error.
        if let Err(error) = done {
            if error.kind() != io::ErrorKind::BrokenPipe {
                let place = match stream {
                    Stream::Error => "standard error",
                    Stream::Output => "standard output",
                };
                self.lost.get_or_insert((place.into(), error));
            }
        }
    }

    /// What kept a result from being printed.
    pub fn lost(&self) -> Option<String> {
        let (place, error) = self.lost.as_ref()?;
        Some(format!("{place}: {}", super::plain(error)))
    }
}
