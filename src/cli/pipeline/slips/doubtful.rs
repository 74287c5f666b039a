//! Words that were perhaps not meant as they are written.

use crate::cli::steps::step;

/// Words that are taken as they are, and were perhaps not meant so.
pub fn doubtful(words: &[&str]) -> Vec<String> {
    let mut out = numbers(words);
    let writes = words
        .first()
        .is_some_and(|name| [step::WRITE, step::SHEET].contains(name));
    if writes && !cfg!(windows) {
        let pairs = words
            .windows(2)
            .filter(|pair| pair.iter().all(|word| !word.starts_with("--")));
        let names = pairs.map(|pair| pair[1]).filter(|name| name.contains('\\'));
        out.extend(names.map(|name| {
            format!("`{name}` is one file's name: on this system folders are separated by /")
        }));
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
        let first = i == 1 && [step::PATCH, step::MARK].contains(&words[0]);
        if !["--at", "--to"].contains(&option) && !first {
            out.extend(range(words[0], word));
            continue;
        }
        let option = if first { words[0] } else { option };
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

/// `8000-FFFF` is refused, and `8000-8FFF` too; `8000-9000` is taken for what it says.
fn range(step: &str, word: &str) -> Option<String> {
    if [step::LOAD, step::WRITE, step::SHEET, step::MARK].contains(&step) {
        return None;
    }
    let (first, last) = word.split_once('-')?;
    let decimal = |text: &str| text.len() > 3 && text.bytes().all(|b| b.is_ascii_digit());
    let values: (u64, u64) = (first.parse().ok()?, last.parse().ok()?);
    let doubtful = decimal(first) && decimal(last) && first.ends_with("00");
    doubtful.then(|| {
        format!(
            "{word} is decimal, 0x{:X}-0x{:X}; where hexadecimal is meant, write 0x{first}-0x{last}",
            values.0, values.1
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_round_number_is_asked_about() {
        let doubts = |line: &str| doubtful(&line.split(' ').collect::<Vec<_>>()).len();
        assert_eq!(doubts("load a.bin --at 8000"), 1);
        assert_eq!(doubts("load a.bin --at=8000"), 1);
        assert_eq!(doubts("load a.bin --at 000"), 1);
        assert_eq!(doubts("show hex 8000-8003"), 1);
        assert_eq!(doubts("patch 8000 EA"), 1);
        for line in [
            "keep 1000h-2000h",
            "keep 0-4095",
            "mark 0x10 8000-9000",
            "load 8000-9000",
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
