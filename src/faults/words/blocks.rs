//! Blocks and banks in words.

use super::{Names, Sentences};
use crate::faults::story::{Edit, Moves};
use crate::prose::{plural, thousands};

/// What is said about edits, one after another.
pub(super) fn edits_sentences(edits: &[Edit], names: &Names) -> Sentences {
    let mut findings: Vec<String> = edits.iter().map(|edit| edit_finding(edit, names)).collect();
    if let Some(first) = findings.first_mut() {
        *first = capital(first);
    }
    let look_next = edits.first().map_or("", edit_advice);
    Sentences {
        finding: findings.join("; "),
        look_next: look_next.to_owned(),
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

fn edit_finding(edit: &Edit, names: &Names) -> String {
    let bytes = |len: usize| plural(len as u64, "byte");
    let range = |at: usize, len: usize| names.range(at, len);
    match *edit {
        Edit::Moved { from, len, to } => format!(
            "the {} that belong at {} are at {} instead",
            bytes(len),
            range(from, len),
            range(to, len)
        ),
        Edit::Swapped { one, other, len } => format!(
            "the blocks at {} and {} are swapped",
            range(one, len),
            range(other, len)
        ),
        Edit::Repeated { from, len, to } => format!(
            "the {} of {} are at {} a second time",
            bytes(len),
            range(from, len),
            range(to, len)
        ),
        Edit::Missing { at, len, reads } => {
            format!(
                "the {} of {} are missing and read {reads:02X}",
                bytes(len),
                range(at, len)
            )
        }
        Edit::Lost { at, len } => format!(
            "{} {} lost at {}, and everything after them is lower by as much",
            bytes(len),
            was(len),
            names.byte(at)
        ),
        Edit::PutIn { at, len, doubled } => format!(
            "{} came {} at {}, and everything after {} is higher by as much",
            bytes(len),
            match doubled {
                true => "twice",
                false => "in",
            },
            names.byte(at),
            match len {
                1 => "it",
                _ => "them",
            }
        ),
    }
}

fn was(len: usize) -> &'static str {
    match len {
        1 => "was",
        _ => "were",
    }
}

fn edit_advice(edit: &Edit) -> &'static str {
    match edit {
        Edit::Moved { .. } | Edit::Swapped { .. } | Edit::Repeated { .. } => {
            "A part of the image is at another address, and not because of a bad line: check the step, linker or programmer \
             setting that places it, and the offset of each file."
        }
        Edit::Missing { .. } => {
            "Check that all files of the image were loaded, and burn again. If only this read lacks them and the chip is right, \
             read once more."
        }
        Edit::Lost { .. } | Edit::PutIn { .. } => {
            "Bytes were lost or doubled in a transfer, so the chip is not the cause: send or read the file again, in \
             binary, with hardware flow control, and compare the checksums at both ends."
        }
    }
}

/// What is said about banks in another order.
pub(super) fn banks_sentences(size: usize, map: &[u32]) -> Sentences {
    let moved: Vec<(usize, u32)> = (0..)
        .zip(map.iter().copied())
        .filter(|(n, from)| *n as u32 != *from)
        .collect();
    let size = bank_size(size);
    let finding = match &moved[..] {
        [(one, from), (other, back)] if *one as u32 == *back && *other as u32 == *from => {
            format!("Banks {one} and {other} of {size} are swapped")
        }
        [(place, from)] => format!("Bank {from} of {size} is in the place of bank {place} too"),
        many => {
            let shown: Vec<String> = many
                .iter()
                .take(8)
                .map(|(place, from)| format!("{place} contains {from}"))
                .collect();
            let more = match many.len().saturating_sub(8) {
                0 => String::new(),
                more => format!(", and {more} more"),
            };
            format!(
                "{} of the {} banks of {size} are in another place: bank {}{more}",
                many.len(),
                map.len(),
                shown.join(", bank ")
            )
        }
    };
    Sentences {
        finding,
        look_next: "Check the order in which the banks were joined or dumped, and the lines that switch them.".to_owned(),
    }
}

fn bank_size(bytes: usize) -> String {
    match bytes % 1024 {
        0 => format!("{}K", bytes / 1024),
        _ => plural(bytes as u64, "byte"),
    }
}

/// What is said when the wanted content is there, but no single story explains its order.
pub(super) fn moves_sentences(moves: &Moves) -> Sentences {
    let mut parts = vec![format!(
        "{} are in their place",
        plural(moves.in_place as u64, "byte")
    )];
    for (bytes, what) in [
        (moves.moved, "from elsewhere in the image"),
        (moves.constant, "in constant runs"),
        (moves.new, "new"),
    ] {
        if bytes > 0 {
            parts.push(format!("{} {what}", thousands(bytes as u64)));
        }
    }
    Sentences {
        finding: format!(
            "The read consists of {}: {}",
            plural_stretches(moves.stretches),
            parts.join(", ")
        ),
        look_next: "This is a list, not a cause. Compare the files that were loaded, and their addresses, with those you \
             meant, and read the chip once more."
                .to_owned(),
    }
}

fn plural_stretches(n: usize) -> String {
    match n {
        1 => "1 stretch".to_owned(),
        n => format!("{} stretches", thousands(n as u64)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn banks_in_words() {
        let said = |map: &[u32]| banks_sentences(8192, map).finding;
        assert_eq!(said(&[0, 2, 1, 3]), "Banks 1 and 2 of 8K are swapped");
        assert_eq!(
            said(&[0, 1, 2, 1]),
            "Bank 1 of 8K is in the place of bank 3 too"
        );
        assert_eq!(
            said(&[1, 2, 0, 3]),
            "3 of the 4 banks of 8K are in another place: bank 0 contains 1, bank 1 contains 2, bank 2 contains 0"
        );
    }

    #[test]
    fn edits_in_words() {
        let edits = [
            Edit::Moved {
                from: 0x100,
                len: 0x80,
                to: 0x400,
            },
            Edit::Lost { at: 0x700, len: 1 },
        ];
        assert_eq!(
            edits_sentences(&edits, &Names::NONE).finding,
            "The 128 bytes that belong at 0x0100-0x017F are at 0x0400-0x047F instead; 1 byte was lost at 0x0700, and everything after them is lower by as much"
        );
    }

    #[test]
    fn many_banks_are_not_all_named() {
        let turned = |count: u32| {
            let map: Vec<u32> = (0..count).map(|n| (n + 1) % count).collect();
            banks_sentences(256, &map).finding
        };
        assert!(
            turned(8).starts_with(
                "8 of the 8 banks of 256 bytes are in another place: bank 0 contains 1"
            )
        );
        assert!(turned(8).ends_with("bank 7 contains 0"), "{}", turned(8));
        assert!(
            turned(10).ends_with("bank 7 contains 8, and 2 more"),
            "{}",
            turned(10)
        );
        // Two that are not in each other's place are not swapped.
        let said = banks_sentences(1024, &[1, 2, 2]).finding;
        assert_eq!(
            said,
            "2 of the 3 banks of 1K are in another place: bank 0 contains 1, bank 1 contains 2"
        );
        let said = |map: &[u32]| banks_sentences(1024, map).finding;
        assert!(said(&[1, 2, 2]).starts_with("2 of") && said(&[2, 0, 2]).starts_with("2 of"));
    }
}
