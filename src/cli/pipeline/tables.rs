//! Small text files of the user's, and the part table of a run.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use anyhow::{Result, anyhow};

use crate::formats::{FORMATS, Format};
use crate::parts::Catalogue;

/// The built-in parts, and those of a file.
///
/// # Errors
/// A file that can't be read, or has no parts.
pub fn catalogue(own: Option<&Path>) -> Result<Catalogue> {
    let mut catalogue = Catalogue::built_in();
    if let Some(file) = own {
        let name = file.display().to_string();
        let text = read_text(file)?;
        catalogue.add_own(&name, &text)?;
    }
    Ok(catalogue)
}

/// A small text file of the user's.
///
/// # Errors
/// A file that can't be read, or is not UTF-8 text.
pub fn read_text(file: &Path) -> Result<String> {
    /// As [`Bench::read_text`](crate::cli::bench::Bench::read_text) has it.
    const MOST: u64 = 16 << 20;
    let name = file.display();
    let mut text = Vec::new();
    let read = File::open(file).and_then(|file| file.take(MOST + 1).read_to_end(&mut text));
    read.map_err(|e| anyhow!("{name}: {}", crate::cli::bench::plain(&e)))?;
    if text.len() as u64 > MOST {
        return Err(anyhow!(
            "{name}: more than {MOST} bytes: is this the right file?"
        ));
    }
    String::from_utf8(text).map_err(|e| {
        anyhow!(
            "{name}: byte {} is not UTF-8 text",
            e.utf8_error().valid_up_to()
        )
    })
}

/// A format as lists show it.
pub fn format_entry(format: &dyn Format) -> String {
    let meta = format.meta();
    let extensions: Vec<String> = meta.extensions.iter().map(|e| format!(".{e}")).collect();
    let extensions = match extensions[..] {
        [] => "none, name it with --as".into(),
        _ => extensions.join(" "),
    };
    let way = match (format.can_read(), format.can_write()) {
        (true, true) => "",
        (true, false) => " (read only)",
        _ => " (write only)",
    };
    let width = FORMATS.iter().map(|f| f.name().len()).max().unwrap_or(0);
    let mut out = format!("{:width$}  {}{way}\n", format.name(), meta.about);
    out += &format!("{:width$}  by name: {extensions}\n", "");
    out += &format!("{:width$}  rules: {}\n", "", meta.rules);
    out
}
