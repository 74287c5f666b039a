//! How fast, how small, and how both grow: `cargo bench --bench speed`, or one section with its name behind `--`.
//!
//! Every figure stands beside a reference measured in the same run, turn by turn with it, so that a busy machine slows
//! both; what counts is the ratio. docs/performance.md says what each row means.

#![allow(clippy::unwrap_used)] // in a benchmark an unwrap that fails is the message

mod bytes;
mod growth;
mod growth_of_steps;
mod instructions;
mod memory;
mod process;
mod records;
mod seat;
mod table;
mod work;

/// A section's name and what prints its rows.
type Section = (&'static str, fn());

const SECTIONS: [Section; 7] = [
    ("records", records::rows),
    ("instructions", instructions::rows),
    ("bytes", bytes::rows),
    ("seat", seat::rows),
    ("growth", growth::rows),
    ("process", process::rows),
    ("memory", memory::rows),
];

fn main() {
    let mut words = std::env::args().skip(1).filter(|word| word != "--bench");
    match words.next().as_deref() {
        // The program runs itself for these.
        Some(instructions::WORD) => instructions::work(words),
        Some(memory::WORD) => memory::work(words),
        Some(process::WORD) => process::work(words),
        // `cargo test --benches` only wants to see that it starts.
        Some("--test") => {}
        Some("growth") => match words.next() {
            None => growth::rows(),
            // Of the steps, those whose names contain this word.
            only => growth_of_steps::rows(only.as_deref()),
        },
        Some(wanted) => {
            let known = |section: &&Section| section.0 == wanted;
            let names = SECTIONS.map(|(name, _)| name).join(", ");
            let (_, rows) = SECTIONS
                .iter()
                .find(known)
                .unwrap_or_else(|| panic!("sections: {names}"));
            rows();
        }
        None => SECTIONS.iter().for_each(|(_, rows)| rows()),
    }
}
