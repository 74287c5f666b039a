//! Words that were perhaps not meant as they are written.

use crate::cli::pipeline::written::Wording;

/// Words that are taken as they are, and were perhaps not meant so.
pub fn doubtful(wording: &Wording) -> Vec<String> {
    let words = wording.texts();
    let mut out = numbers(&words);
    // In a recipe `out\chip.bin` is `outchip.bin`.
    for (i, word) in words.iter().enumerate().skip(1) {
        let Some(typed) = wording.typed_at(i) else {
            continue;
        };
        let loses = wording.recipe().is_some() && !typed.contains(['"', '\'']);
        let mut pairs = typed.split('\\').skip(1);
        if loses && pairs.any(|after| after.starts_with(|c: char| c.is_ascii_alphanumeric() || c == '.')) {
            out.push(format!(
                "`{typed}` is read as {word}, since a backslash takes away what the next character means: folders are separated by /"
            ));
        }
    }
    out
}

fn numbers(words: &[&str]) -> Vec<String> {
    let mut out = Vec::new();
    for (i, word) in words.iter().enumerate().skip(1) {
        let (option, value) = match word.split_once('=') {
            Some((option, value)) if option.starts_with("--") => (option, value),
            _ => (words[i - 1], *word),
        };
        if !["--at", "--to"].contains(&option) {
            continue;
        }
        let digits = value.bytes().all(|b| b.is_ascii_digit());
        if digits && value.len() > 1 && value.bytes().all(|b| b == b'0') {
            out.push(format!(
                "{option} {value} is 0; a shell makes {value} of $8{value}: where that is meant, write 0x8{value}"
            ));
        } else if digits && value.len() > 3 && value.ends_with("00") {
            // Round in hexadecimal and not in binary: 8000, and not 4096 or 32768.
            let decimal: u64 = value.parse().unwrap_or(0);
            out.push(format!("{option} {value} is decimal, 0x{decimal:X}; where hexadecimal is meant, write 0x{value}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_round_number_is_asked_about() {
        let doubts = |line: &str| numbers(&line.split(' ').collect::<Vec<_>>()).len();
        assert_eq!(doubts("load a.bin --at 8000"), 1);
        assert_eq!(doubts("load a.bin --at=8000"), 1);
        assert_eq!(doubts("load a.bin --at 000"), 1);
        for line in [
            "pad 8000",
            "load a.bin --at 0",
            "load a.bin --at 32768",
            "load a.bin --at 0x8000",
            "seat x --at 512",
        ] {
            assert_eq!(doubts(line), 0, "{line}");
        }
    }
}
