//! What may help where a step stopped.

use std::path::Path;

use super::vocabulary::with_plus;
use crate::cli::bench::Cause;
use crate::cli::pipeline::words::quoted;
use crate::cli::pipeline::written::WordRange;

/// What may help where a step stopped: its words, the word meant and why it stopped, and where its files lie.
pub fn afterthought(
    words: &[&str],
    at: Option<&WordRange>,
    cause: &Cause,
    folder: &Path,
) -> Option<String> {
    match cause {
        Cause::Other => None,
        Cause::UnknownFormat(file) => {
            let is_recipe = file.extension().is_some_and(|e| e == "loom");
            let recipe = quoted(&file.to_string_lossy());
            is_recipe.then(|| format!("a recipe runs by itself: romloom run {recipe}"))
        }
        Cause::NoSuchFile(_) => {
            if let Some(line) = with_plus(words) {
                return Some(format!("is a + missing? {line}"));
            }
            let missing = at?.word;
            let word = words.get(missing)?;
            if word.contains(['*', '?']) {
                return Some(format!(
                    "`{word}` is taken as it stands: only a shell makes a list of files of it, so name each file"
                ));
            }
            // `load my data.bin`: the name has a blank.
            let longest = (missing + 2..=words.len()).rev();
            longest
                .map(|end| words[missing..end].join(" "))
                .find(|name| folder.join(name).is_file())
                .map(|name| format!("a name with blanks goes into quotes: \"{name}\""))
        }
    }
}
