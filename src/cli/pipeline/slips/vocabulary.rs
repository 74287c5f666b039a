//! Words that are told apart: steps, files by their names, and a `+` that is missing.

use std::path::Path;

use crate::cli::pipeline::words::quoted;
use crate::cli::steps::{STEPS, StepEntry};
use crate::formats;

/// The step of this name.
pub fn step_called(name: &str) -> Option<&'static StepEntry> {
    STEPS.iter().find(|s| s.name == name)
}

/// The format that a name tells.
pub fn format_by_name(name: &str) -> Option<&'static str> {
    let extension = Path::new(name).extension().and_then(|e| e.to_str());
    Some(formats::by_extension(extension?)?.name())
}

/// The words with a lone + in front of every step's name, where one is glued or missing; `None` where none is.
pub fn with_plus(words: &[&str]) -> Option<String> {
    let mut out: Vec<String> = words.first().map(|w| quoted(w)).into_iter().collect();
    let mut mended = false;
    for (i, word) in words.iter().enumerate().skip(1) {
        let before = words[i - 1];
        let name = word.strip_suffix('+').filter(|w| step_called(w).is_some());
        let word = name.unwrap_or(word);
        let glued = word
            .split_once('+')
            .filter(|(_, step)| step_called(step).is_some());
        if let Some((file, step)) = glued {
            out.extend((!file.is_empty()).then(|| quoted(file)));
            out.extend(["+".into(), step.into()]);
            mended = true;
        } else if step_called(word).is_some() && !before.starts_with("--") {
            if let Some(file) = before.strip_suffix('+').filter(|f| !f.is_empty()) {
                out.pop();
                out.push(quoted(file));
            }
            out.extend(["+".into(), word.into()]);
            mended = true;
        } else {
            out.push(quoted(word));
        }
    }
    mended.then(|| out.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plus_is_put_where_it_is_missing() {
        for (line, wanted) in [
            ("load a.hex write b.bin", Some("load a.hex + write b.bin")),
            ("load a.hex +write b.bin", Some("load a.hex + write b.bin")),
            ("load a.hex+ write b.bin", Some("load a.hex + write b.bin")),
            ("load a.hex+write b.bin", Some("load a.hex + write b.bin")),
            ("load a.hex --name write", None),
            ("load a+b.hex", None),
        ] {
            let words: Vec<&str> = line.split(' ').collect();
            assert_eq!(with_plus(&words).as_deref(), wanted, "{line}");
        }
    }
}
