//! The dependency file: what a run made, and what it read, in the part of make's syntax that make and ninja read alike.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::cli::bench::{Bench, StagingError, plain};

#[derive(Debug, thiserror::Error)]
enum DepfileError {
    #[error(transparent)]
    Staging(#[from] StagingError),
    #[error("the dependency file: {}", plain(.0))]
    Io(#[from] io::Error),
}

/// Writes the dependency file of a run that is about to end.
///
/// # Errors
/// A name that make or ninja can't read, a dependency file that is an input, and what is wrong with its place.
pub fn stage(bench: &mut Bench, path: &Path) -> Result<(), String> {
    let shown = path.display().to_string();
    let is_input = bench.inputs.iter().any(|input| is_same(input, path));
    if is_input {
        return Err(format!(
            "{shown}: the dependency file would replace an input: give it another name"
        ));
    }
    let text = rule(bench).map_err(|problem| format!("{shown}: {problem}"))?;
    let stage = bench.staging.stage::<DepfileError>(
        &shown,
        path,
        |out| Ok(out.write_all(&text)?),
        |_| Ok(()),
    );
    stage.map(drop).map_err(|e| e.to_string())
}

fn is_same(one: &Path, other: &Path) -> bool {
    let real = |path: &Path| fs::canonicalize(path).ok();
    one == other || (real(one).is_some() && real(one) == real(other))
}

/// `out.bin: a.hex b.s19`.
fn rule(bench: &Bench) -> Result<Vec<u8>, String> {
    let mut text = Vec::new();
    for name in bench.staging.file_names() {
        separate(&mut text);
        push(&mut text, Path::new(name), true)?;
    }
    text.push(b':');
    let mut told: Vec<&PathBuf> = Vec::new();
    for input in &bench.inputs {
        // A file that the run also makes can't be its own source.
        if told.contains(&input) || bench.staging.has(input) {
            continue;
        }
        told.push(input);
        text.push(b' ');
        push(&mut text, input, false)?;
    }
    text.push(b'\n');
    Ok(text)
}

fn separate(text: &mut Vec<u8>) {
    if !text.is_empty() {
        text.push(b' ');
    }
}

/// Targets that mean something to make.
const SPECIAL: &[&str] = &[
    ".DEFAULT",
    ".DELETE_ON_ERROR",
    ".EXPORT_ALL_VARIABLES",
    ".IGNORE",
    ".INTERMEDIATE",
    ".LOW_RESOLUTION_TIME",
    ".NOTINTERMEDIATE",
    ".NOTPARALLEL",
    ".ONESHELL",
    ".PHONY",
    ".POSIX",
    ".PRECIOUS",
    ".SECONDARY",
    ".SECONDEXPANSION",
    ".SILENT",
    ".SUFFIXES",
    ".WAIT",
];

/// Adds a name so that both read it back as it is.
fn push(text: &mut Vec<u8>, path: &Path, is_target: bool) -> Result<(), String> {
    let name = path.as_os_str().as_encoded_bytes();
    let refused = |what: &str| {
        Err(format!(
            "{} can't be in a dependency file, because make and ninja don't both read {what} in a name: rename the file",
            path.display()
        ))
    };
    for (i, byte) in name.iter().enumerate() {
        let next = name.get(i + 1);
        match byte {
            // At the end of a line make drops it.
            b' ' if next.is_none() => return refused("a blank at the end"),
            // At the end of a name ninja takes it for the end of the targets.
            b':' if next.is_none() => return refused("`:` at the end"),
            b' ' | b'#' | b':' => text.extend([b'\\', *byte]),
            b'$' => text.extend(b"$$"),
            b'\\' if matches!(next, None | Some(b' ' | b'#' | b':' | b'%' | b'\\')) => {
                return refused("a `\\` there");
            }
            0..=0x1F | 0x7F => return refused("a control character"),
            // The quotes and `&` end a name for ninja up to 1.11, though a later one reads them.
            b';' | b'|' | b'<' | b'>' | b'^' | b'`' | b'*' | b'?' | b'[' | b'=' | b'&' | b'\''
            | b'"' => {
                return refused(&format!("`{}`", char::from(*byte)));
            }
            b'%' if is_target => return refused("`%`"),
            b'~' if i == 0 => return refused("`~` at the start"),
            b')' if next.is_none() && name.contains(&b'(') => return refused("`( )` at the end"),
            _ => text.push(*byte),
        }
    }
    match path
        .to_str()
        .filter(|name| is_target && SPECIAL.contains(name))
    {
        Some(name) => refused(&format!("`{name}`")),
        None => Ok(()),
    }
}
