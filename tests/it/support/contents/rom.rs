//! Programs, tables and text put together as they are in chips.

use super::folder::from_folder;
use super::m6502::M6502;
use super::m68000::M68000;
use super::processor::Processor;
use super::program::program;
use super::z80::Z80;
use super::{tables, text};
use crate::support::broken::Chance;
use romloom::faults::{Pass, Pattern};

/// Heron-8: assembled from `samples/heron-8/monitor.asm` by 64tass, as `assemble.sh` beside it says.
const MONITOR: &[u8] = include_bytes!("../../../../samples/heron-8/monitor.bin");
/// Heron-8: assembled from `samples/heron-8/basic.asm` by 64tass.
const BASIC: &[u8] = include_bytes!("../../../../samples/heron-8/basic.bin");
/// Heron-16: assembled from `samples/heron-16/selftest.s` by the GNU assembler for the 68000.
const SELFTEST: &[u8] = include_bytes!("../../../../samples/heron-16/selftest.bin");
/// Heron-16/G: drawn in `samples/heron-16g/font.s`.
const FONT: &[u8] = include_bytes!("../../../../samples/heron-16g/font.bin");

/// What is in a chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// A program for the 6502, vectors at the end.
    M6502,
    /// A program for the Z80, which begins at address 0.
    Z80,
    /// A program for the 68000, vectors at the start.
    M68000,
    Tables,
    Text,
    /// A small program and little else.
    Blank,
    /// Programs, tables and text in banks with a block common to all.
    Banks,
    /// The samples' own programs, and then tables and text.
    Samples,
    /// The pattern that tells address lines apart.
    Telltale,
}

impl Kind {
    /// All but patterns.
    pub const REAL: [Kind; 8] = [
        Kind::M6502,
        Kind::Z80,
        Kind::M68000,
        Kind::Tables,
        Kind::Text,
        Kind::Blank,
        Kind::Banks,
        Kind::Samples,
    ];

    /// The programs.
    pub const CODE: [Kind; 3] = [Kind::M6502, Kind::Z80, Kind::M68000];
}

/// A chip's content by name: the same name gives the same bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Content {
    pub kind: Kind,
    /// The chip has `1 << lines` bytes, 512 at least.
    pub lines: u32,
    pub seed: u64,
}

impl Content {
    /// The bytes; with `ROMLOOM_CONTENT` those of a file there.
    pub fn bytes(self) -> Vec<u8> {
        let size = 1usize << self.lines;
        if self.kind != Kind::Telltale {
            if let Some(chip) = from_folder(size, self.seed) {
                return chip;
            }
        }
        let chance =
            &mut Chance(self.seed ^ (self.kind as u64) << 32 ^ u64::from(self.lines) << 40);
        let mut chip = vec![0xFF; size];
        match self.kind {
            Kind::M6502 => ends_with_vectors(&mut chip, used(size, chance), chance),
            Kind::Z80 => starts_at_zero(&mut chip, used(size, chance), chance),
            Kind::M68000 => starts_with_vectors(&mut chip, used(size, chance), chance),
            Kind::Tables => {
                let used = used(size, chance);
                put(&mut chip, 0, &tables::tables(used, chance));
            }
            Kind::Text => {
                let used = used(size, chance);
                put(&mut chip, 0, &text::pages(used, chance));
            }
            Kind::Blank => {
                let used = size / (10 + chance.below(20));
                let makers: [fn(&mut [u8], usize, &mut Chance); 3] =
                    [ends_with_vectors, starts_at_zero, starts_with_vectors];
                let make = chance.pick(&makers);
                make(&mut chip, used, chance);
            }
            Kind::Banks => banks(&mut chip, chance),
            Kind::Samples => samples(&mut chip, chance),
            Kind::Telltale => {
                chip = Pattern::Telltale(Pass::First).image(size).unwrap();
            }
        }
        assert_eq!(chip.len(), size);
        chip
    }
}

/// How many bytes of a chip a program uses: seldom all, seldom few.
fn used(size: usize, chance: &mut Chance) -> usize {
    size * (55 + chance.below(45)) / 100
}

/// As far as there is room.
fn put(chip: &mut [u8], at: usize, bytes: &[u8]) {
    let room = chip.get_mut(at..).unwrap_or_default();
    let put = room.len().min(bytes.len());
    room[..put].copy_from_slice(&bytes[..put]);
}

/// The last places are kept for the vectors.
const VECTORS: usize = 6;

fn ends_with_vectors(chip: &mut [u8], used: usize, chance: &mut Chance) {
    let size = chip.len();
    let origin = 0x1_0000usize.saturating_sub(size);
    let (code, routines) = program(&M6502, origin, used, chance);
    put(&mut chip[..size - VECTORS], 0, &code);
    let last = &routines[routines.len().saturating_sub(3)..];
    let vectors: Vec<usize> = (0..3).map(|n| last[n % last.len()]).collect();
    chip[size - VECTORS..].copy_from_slice(&M6502.pointers(&vectors));
}

fn starts_at_zero(chip: &mut [u8], used: usize, chance: &mut Chance) {
    // A jump, then the eight places that short calls lead to.
    let (code, routines) = program(&Z80, 0x100, used.saturating_sub(0x100), chance);
    put(chip, 0x100, &code);
    for restart in 0..8 {
        let to = routines[restart % routines.len()];
        put(chip, 8 * restart, &[0xC3, to as u8, (to >> 8) as u8]); // JP
    }
    let table: Vec<usize> = routines.iter().copied().take(40).collect();
    put(&mut chip[..0x100], 0x80, &Z80.pointers(&table));
}

fn starts_with_vectors(chip: &mut [u8], used: usize, chance: &mut Chance) {
    let start = if chip.len() > 0x1000 { 0x400 } else { 0x100 };
    let (code, routines) = program(&M68000, start, used.saturating_sub(start), chance);
    put(chip, start, &code);
    let mut vectors = vec![routines[0]; start / 4];
    vectors[0] = 0x0010_0000; // the stack
    vectors[1] = routines[routines.len() - 1];
    for vector in &mut vectors[2..] {
        if chance.once_in(6) {
            *vector = chance.pick(&routines);
        }
    }
    put(chip, 0, &M68000.pointers(&vectors));
}

fn banks(chip: &mut [u8], chance: &mut Chance) {
    let banks = if chip.len() >= 0x8000 { 8 } else { 4 };
    let size = chip.len() / banks;
    let common = program(&M6502, 0xFF00, size / 16, chance).0;
    let blank = chance.below(2 * banks); // not always one
    for (n, bank) in chip.chunks_mut(size).enumerate() {
        if n == blank {
            continue;
        }
        let used = used(size, chance);
        match chance.below(4) {
            0 => put(bank, 0, &tables::tables(used, chance)),
            1 => put(bank, 0, &text::pages(used, chance)),
            _ => put(bank, 0, &program(&M6502, 0x8000, used, chance).0),
        }
        let at = size - common.len().min(size / 8);
        put(bank, at, &common);
    }
}

fn samples(chip: &mut [u8], chance: &mut Chance) {
    let mut parts = [MONITOR, BASIC, SELFTEST, FONT];
    for last in (1..parts.len()).rev() {
        parts.swap(last, chance.below(last + 1));
    }
    let mut at = 0;
    for part in parts {
        put(chip, at, part);
        at = (at + part.len()).next_multiple_of(chance.pick(&[1, 16, 256]));
    }
    let left = chip.len().saturating_sub(at);
    let (table, words) = (left / 3, left / 4);
    put(chip, at, &tables::tables(table, chance));
    let at = (at + table).next_multiple_of(256);
    put(chip, at, &text::pages(words, chance));
}
