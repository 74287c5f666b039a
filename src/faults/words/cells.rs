//! Lists of cells in words.

use super::{Names, Sentences};
use crate::faults::story::{Before, CellKind};
use crate::wiring::Line;

/// What is said about cells that have only something in common.
pub(super) fn cells_sentences(kind: CellKind, names: &Names) -> Sentences {
    let (finding, look_next) = match kind {
        CellKind::Scattered => (
            "Single bits differ, in no pattern that a line or a block would make".to_owned(),
            "Read the chip twice more and compare the reads: bits that change are weak, bits that stay wrong are wrong in the \
             chip. If they stay, burn it again, or replace it."
                .to_owned(),
        ),
        CellKind::ReadAsOne => (
            "All differences are bits that read 1 and should read 0".to_owned(),
            "They have leaked, or were not programmed well enough. Only a read at another supply voltage \
             shows which (stay inside the limits of the data sheet). Copy what can still be read, and burn again."
                .to_owned(),
        ),
        CellKind::ReadAsZero => (
            "All differences are bits that read 0 and should read 1".to_owned(),
            "The chip may not have been blank, or another chip answers with it: take it \
             out of the board and read it alone."
                .to_owned(),
        ),
        CellKind::OneLine(line) => {
            let line = Line::Data(line);
            (
                format!("Only {} differs", names.named(line)),
                format!(
                    "Check {} and its socket contact. Read again: if the bytes change between reads, {line} has no contact.",
                    names.pin_of(line)
                ),
            )
        }
        CellKind::AsPartner(line) => {
            let line = Line::Address(line);
            (
                format!("What differs reads as it would with {} at the other level", names.named(line)),
                format!(
                    "Check {} and its socket contact. Read again: if the bytes change between reads, {line} has no contact.",
                    names.pin_of(line)
                ),
            )
        }
        CellKind::AsBefore => (
            "What differs is left over from the byte before".to_owned(),
            "The access time may be too short: read again slower, or choose a faster part.".to_owned(),
        ),
        CellKind::Changed => (
            "Single bytes differ".to_owned(),
            "They may be patched, or another version: compare with the version before and the one after. Otherwise read the \
             chip twice more and compare the reads."
                .to_owned(),
        ),
        CellKind::Rewritten => (
            "This is another version: some stretches are new, and everything else is as wanted".to_owned(),
            "Compare the label and the version with what you meant; `show changes` lists the stretches.".to_owned(),
        ),
    };
    Sentences { finding, look_next }
}

/// What is said about pages that were left out.
pub(super) fn pages_left_sentences(
    page: usize,
    pages: usize,
    before: Before,
    names: &Names,
) -> Sentences {
    let bytes = page * names.width().bytes();
    let count = match pages {
        1 => format!("A page of {bytes} bytes contains"),
        many => format!("{many} pages of {bytes} bytes contain"),
    };
    let what = match before {
        Before::Erased => "only erased bytes",
        Before::Old => "what was there before",
    };
    Sentences {
        finding: format!("{count} {what}"),
        look_next: "These pages were not written: check the write protection, and that the programmer waits long enough after \
             each page; then burn again."
                .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A slip of the hand that no other test sees.
    #[test]
    fn no_word_comes_twice() {
        for kind in [
            CellKind::Scattered,
            CellKind::ReadAsOne,
            CellKind::ReadAsZero,
            CellKind::OneLine(1),
            CellKind::AsPartner(2),
            CellKind::AsBefore,
            CellKind::Changed,
            CellKind::Rewritten,
        ] {
            let said = cells_sentences(kind, &Names::NONE);
            let text = format!("{}. {}", said.finding, said.look_next);
            let words: Vec<&str> = text.split_whitespace().collect();
            let bare = |word: &str| word.trim_matches(['.', ',', ':']).to_owned();
            let twice = words.windows(2).find(|two| bare(two[0]) == bare(two[1]));
            assert_eq!(twice, None, "{text}");
        }
    }
}
