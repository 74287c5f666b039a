//! The chips of the Heron-16, run by the processor they are for: that they start, say their name and agree with their own
//! stamp can only be seen so. That they hold the right bytes is tested in romloom itself, `tests/it/chip_runs.rs`.

#![allow(clippy::unwrap_used)] // a test that meets the unexpected shall stop

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use romloom_chips::{End, Heron16};
use tempfile::TempDir;

/// Instructions within which the self test is done, many times over.
const STEP_LIMIT: u32 = 2_000_000;

/// The finished chips, as their recipe makes them: even, odd.
fn heron16_chips() -> (Vec<u8>, Vec<u8>) {
    static CHIPS: LazyLock<(Vec<u8>, Vec<u8>)> = LazyLock::new(|| {
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("../samples/heron-16");
        let folder = TempDir::new().unwrap();
        for file in ["board.loom", "heron-16.board", "selftest.s19"] {
            fs::copy(sample.join(file), folder.path().join(file)).unwrap();
        }
        let recipe = folder.path().join("board.loom");
        romloom::cli::main(["romloom".into(), "run".into(), recipe.into_os_string()]);
        let made = |name: &str| fs::read(folder.path().join("out").join(name)).unwrap();
        (made("heron-16-even.bin"), made("heron-16-odd.bin"))
    });
    CHIPS.clone()
}

#[test]
fn heron16_pair_starts_and_finds_its_rom_good() {
    let (even, odd) = heron16_chips();
    let stamp = u16::from_be_bytes([even[0x7FFF], odd[0x7FFF]]);
    assert_eq!(
        Heron16::new(even, odd).run(STEP_LIMIT),
        (
            format!("\nHERON 16  HERON-16 ROM 1.0\nROM GOOD, SUM {stamp:04X}\nRAM GOOD\n"),
            End::Stopped
        )
    );
}

#[test]
fn heron16_pair_in_each_others_sockets_does_not_start() {
    let (even, odd) = heron16_chips();
    let (shown, _) = Heron16::new(odd, even).run(STEP_LIMIT);
    // Words with their bytes swapped are instructions too, and may send anything.
    assert!(!shown.contains("HERON"), "{shown:?}");
}

#[test]
fn heron16_finds_a_byte_that_has_changed_in_either_chip() {
    let (even, odd) = heron16_chips();
    let stamp = u16::from_be_bytes([even[0x7FFF], odd[0x7FFF]]);
    let mut leaky = even.clone();
    leaky[0x4567] &= !0x20; // was erased; D13 of the word
    let mut other_leaky = odd.clone();
    other_leaky[0x4567] &= !0x20; // D5
    for (even, odd, lost) in [(leaky, odd, 0x2000), (even, other_leaky, 0x20)] {
        let sum = stamp.wrapping_sub(lost);
        assert_eq!(
            Heron16::new(even, odd).run(STEP_LIMIT),
            (
                format!(
                    "\nHERON 16  HERON-16 ROM 1.0\n\
                     ROM CHANGED, SUM {sum:04X}, STAMP {stamp:04X}\n"
                ),
                End::Stopped
            )
        );
    }
}

#[test]
fn heron16_finds_a_ram_address_line_that_makes_no_difference() {
    let (even, odd) = heron16_chips();
    let (shown, end) = Heron16::new(even, odd)
        .with_dead_ram_line(4)
        .run(STEP_LIMIT);
    assert_eq!(end, End::Stopped);
    assert!(shown.ends_with("\nRAM FAILS AT 00100000\n"), "{shown}");
}

#[test]
fn heron16_says_which_exception_stopped_it() {
    // In place of its second instruction, which is at 0x404.
    for (words, said) in [
        // ILLEGAL
        (&[0x4AFC_u16][..], "STOPPED BY AN ILLEGAL INSTRUCTION"),
        // MOVE.W 1.W,D0: a word at an odd address
        (&[0x3038, 0x0001], "STOPPED BY AN ADDRESS ERROR"),
        // TRAP #0
        (&[0x4E40], "STOPPED BY AN EXCEPTION"),
    ] {
        let (mut even, mut odd) = heron16_chips();
        for (word, at) in words.iter().zip(0x202..) {
            [even[at], odd[at]] = word.to_be_bytes();
        }
        let shown = Heron16::new(even, odd).run(STEP_LIMIT);
        assert_eq!(shown, (said.to_owned(), End::Stopped));
    }
    // A bus error comes from outside, which nothing here sends; the vector is that of the exception all the same.
    let (mut even, mut odd) = heron16_chips();
    let entry = [even[4], odd[4], even[5], odd[5]]; // vector 2
    for (at, half) in entry.chunks(2).enumerate() {
        [even[2 + at], odd[2 + at]] = [half[0], half[1]]; // as the start, vector 1
    }
    let shown = Heron16::new(even, odd).run(STEP_LIMIT);
    assert_eq!(shown, ("STOPPED BY A BUS ERROR".to_owned(), End::Stopped));
}
