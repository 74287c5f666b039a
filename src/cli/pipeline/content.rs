//! What is in a file of which nothing is said: bytes of a chip, or a list of sums.

use std::path::{Path, PathBuf};

use crate::cli::bench::{Bench, ReadLimit, Stop, plain};
use crate::cli::report::{NotLookedAt, carets, plural, size_text};
use crate::cli::steps::{raw_by_default, unreadable};
use crate::faults::Case;
use crate::formats::{self, Input, ReadOptions, Severity};
use crate::sums::ListedSum;

/// The bytes of a chip, from the first address to the last; holes between them count as erased.
pub(super) struct ChipBytes {
    /// The bytes.
    pub bytes: Vec<u8>,
    /// How many of them are holes.
    pub holes: u64,
    /// Whether it was read as raw because nothing told a format.
    pub by_default: bool,
}

/// What is in a file.
pub(super) enum FileContent {
    /// ChipBytes of a chip.
    Bytes(ChipBytes),
    /// A list of sums.
    List(Vec<ListedSum>),
}

/// The files that a name means.
pub(super) struct GivenFiles {
    /// In the order of their names.
    pub paths: Vec<PathBuf>,
    /// Whether the name is a folder's.
    pub of_folder: bool,
}

/// The file itself, or all files in a folder that are not hidden; folders inside it are left out.
///
/// # Errors
/// A folder that can't be read.
pub(super) fn files_of(given: &Path, left_out: &mut Vec<NotLookedAt>) -> Result<GivenFiles, Stop> {
    if !given.is_dir() {
        return Ok(GivenFiles {
            paths: vec![given.to_owned()],
            of_folder: false,
        });
    }
    let trouble = |e: std::io::Error| Stop::trouble(format!("{}: {}", given.display(), plain(&e)));
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(given).map_err(trouble)? {
        let entry = entry.map_err(trouble)?;
        let path = given.join(entry.file_name());
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        if path.is_dir() {
            left_out.push(NotLookedAt::new(&path, "a folder inside the folder"));
        } else if path.is_file() {
            paths.push(path);
        } else {
            left_out.push(NotLookedAt::new(&path, "no file"));
        }
    }
    paths.sort();
    left_out.sort();
    Ok(GivenFiles {
        paths,
        of_folder: true,
    })
}

/// Reads an image or a list of sums.
///
/// # Errors
/// As [`chip_bytes`] has them, and for a line that can't be in a list.
pub(super) fn content_of(bench: &mut Bench, file: &Path, quiet: bool) -> Result<FileContent, Stop> {
    if file == Path::new("-") {
        return Err(
            Stop::trouble("what is known can't be read from standard input")
                .advise("write it to a file first"),
        );
    }
    let mut input = bench.open(file, ReadLimit::Fixed)?;
    let shown = bench.shown(file);
    let trouble = |e: std::io::Error| Stop::trouble(format!("{shown}: {}", plain(&e)));
    match begins_as_list(&mut input).map_err(trouble)? {
        true => list(&mut input, &shown).map(FileContent::List),
        false => whole_image(bench, input, file, quiet).map(FileContent::Bytes),
    }
}

/// Reads a file of any format, as raw where content and name tell none; `quiet` shows nothing of what is odd about it.
///
/// # Errors
/// A file that can't be read, that is empty, or that reaches over more than a chip has.
pub(super) fn chip_bytes(bench: &mut Bench, file: &Path, quiet: bool) -> Result<ChipBytes, Stop> {
    let input = bench.open(file, ReadLimit::Fixed)?;
    whole_image(bench, input, file, quiet)
}

fn whole_image(
    bench: &Bench,
    mut input: Input,
    file: &Path,
    quiet: bool,
) -> Result<ChipBytes, Stop> {
    let shown = bench.shown(file);
    let trouble = |text: String| Stop::trouble(format!("{shown}: {text}"));
    let told = formats::format_of(&mut input);
    let by_default = told.is_err();
    let format = told
        .or_else(|error| raw_by_default(file, error))
        .map_err(|error| unreadable(error, file))?;
    let most = Case::LARGEST as u64;
    let too_large = || {
        let most = size_text(most);
        trouble(format!(
            "it reaches over more than {most} bytes, the most a chip has"
        ))
    };
    let size = file.metadata().map_or(0, |meta| meta.len());
    if !format.meta().has_addresses && size > most {
        return Err(too_large());
    }
    let how = ReadOptions::default();
    let loaded = formats::read_as(format, &mut input, &how).map_err(|e| unreadable(e, file))?;
    let findings = &loaded.findings;
    if !quiet {
        let style = bench.console.style();
        bench.console.show_block(&carets(findings, style));
    }
    if findings.errors() > 0 {
        let first = findings
            .list()
            .iter()
            .find(|f| f.severity == Severity::Error);
        return Err(trouble(match first.filter(|_| quiet) {
            Some(first) => match &first.place {
                Some(place) => format!("line {}: {}", place.line, first.problem),
                None => first.problem.to_string(),
            },
            None => {
                let count = plural(findings.errors(), "error");
                format!("could not be read as {}: {count}", format.name())
            }
        }));
    }
    let image = loaded.image;
    let extent = image
        .extent()
        .ok_or_else(|| trouble("there is no byte in it".into()))?;
    if extent.len() > most {
        return Err(too_large());
    }
    // At most `most`, so it fits.
    let mut bytes = vec![0xFF; extent.len() as usize];
    for span in image.spans() {
        let at = (span.start() - extent.first()) as usize;
        bytes[at..at + span.bytes().len()].copy_from_slice(span.bytes());
    }
    let holes = extent.len() - image.len();
    Ok(ChipBytes {
        bytes,
        holes,
        by_default,
    })
}

/// Whether a line says something: an empty line and a comment don't.
fn says_something(line: &str) -> bool {
    !line.is_empty() && !line.starts_with('#')
}

/// Whether the first line that says something is a sum and a name.
fn begins_as_list(input: &mut Input) -> std::io::Result<bool> {
    let (head, _) = input.head()?;
    let lines = head
        .split(|byte| *byte == b'\n')
        .map(String::from_utf8_lossy);
    let mut lines = lines.take(1000);
    let first = lines.find(|line| says_something(line.trim()));
    Ok(first.is_some_and(|line| line.trim().parse::<ListedSum>().is_ok()))
}

fn list(input: &mut Input, shown: &str) -> Result<Vec<ListedSum>, Stop> {
    let mut sums = Vec::new();
    loop {
        let line = input
            .next_line()
            .map_err(|e| Stop::trouble(format!("{shown}: {}", plain(&e))))?;
        let Some(line) = line else {
            return Ok(sums);
        };
        let text = String::from_utf8_lossy(line.bytes);
        let text = text.trim();
        if says_something(text) {
            let sum = text.parse::<ListedSum>().map_err(|fault| {
                let error = crate::sums::ListError {
                    line: usize::try_from(line.number).unwrap_or(usize::MAX),
                    fault,
                };
                Stop::trouble(format!("{shown}: {error}"))
            })?;
            sums.push(sum);
        }
    }
}
