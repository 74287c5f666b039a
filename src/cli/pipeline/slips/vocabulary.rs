//! Words that are told apart: steps, and files by their names.

use std::path::Path;

use clap::Command;

use crate::cli::steps::{STEPS, StepEntry};
use crate::formats;

/// The step of exactly this name.
pub fn step_called(name: &str) -> Option<&'static StepEntry> {
    STEPS.iter().find(|s| s.name == name)
}

/// The step of this name, in upper or lower case.
pub fn step_named(name: &str) -> Option<&'static StepEntry> {
    STEPS.iter().find(|s| s.name.eq_ignore_ascii_case(name))
}

/// The format that a name tells.
pub fn format_by_name(name: &str) -> Option<&'static str> {
    let extension = Path::new(name).extension().and_then(|e| e.to_str());
    Some(formats::by_extension(extension?)?.name())
}

/// Whether there is such a file.
pub fn is_file(folder: &Path, name: &str) -> bool {
    folder.join(name).is_file()
}

/// Whether a word names a file: there is one, or its extension is that of a format.
pub fn looks_like_file(folder: &Path, name: &str) -> bool {
    format_by_name(name).is_some() || is_file(folder, name)
}

/// The long options of a command.
pub fn long_options(command: &Command) -> impl Iterator<Item = &str> {
    command.get_arguments().filter_map(clap::Arg::get_long)
}
