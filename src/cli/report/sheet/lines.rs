//! The lines that decide a burn, in the order in which the bench asks for them.

use maud::{Markup, html};

use super::chip::SheetChip;
use super::words::{in_a_row, unbroken};
use crate::parts::Part;

/// What must be right before, while and after a chip is burned; for chips that can only be read, what is left of that.
pub(super) fn deciding_lines(chips: &[SheetChip]) -> Markup {
    let mut parts: Vec<&Part> = Vec::new();
    for part in chips.iter().filter_map(|chip| chip.part) {
        if !parts.iter().any(|known| known.name == part.name) {
            parts.push(part);
        }
    }
    let is_burned = parts.is_empty() || parts.iter().any(|part| part.kind.is_writable());
    let mut lines = vec![
        "Set the programmer to the type on the chip, every letter of it: a letter can mean another voltage."
            .to_owned(),
    ];
    if is_burned {
        lines.extend(blank_check(&parts));
        lines.push(format!(
            "Clear the buffer. Load the file {}: no offset, no byte swap, no split.",
            match chips
                .iter()
                .flat_map(|chip| &chip.files)
                .all(|f| f.is_raw())
            {
                true => "as raw binary at 0",
                false => "as its card says",
            }
        ));
        lines.push(
            "Compare the sum that the programmer shows with the one below. If they differ, don’t burn."
                .to_owned(),
        );
        lines.push(
            "Burn and verify. Clear the buffer, read the chip back, and compare the sum once more."
                .to_owned(),
        );
    } else {
        lines.push("These parts can only be read: clear the buffer, read, and compare the sum with the one below.".to_owned());
    }
    html! { ol.decide { @for line in &lines { li { (unbroken(line)) } } } }
}

/// Which parts must be blank, and what that reads.
fn blank_check(parts: &[&Part]) -> Option<String> {
    let names = |parts: &[&&Part]| {
        let names: Vec<&str> = parts.iter().map(|part| part.name.as_str()).collect();
        in_a_row(&names)
    };
    let writable = parts.iter().filter(|part| part.kind.is_writable());
    let (free, blank): (Vec<&&Part>, Vec<&&Part>) = writable.partition(|part| part.overwrites());
    if blank.is_empty() && !free.is_empty() {
        return None;
    }
    let mut erased: Vec<Option<u8>> = blank.iter().map(|part| part.erased).collect();
    erased.dedup();
    let mut line = match erased[..] {
        [Some(value)] => format!("Blank check: every byte must read {value:02X}."),
        _ => "Blank check: every byte must read what an erased byte of its type reads.".to_owned(),
    };
    if !free.is_empty() {
        line += &format!(" {} may have any content.", names(&free));
    }
    Some(line)
}
