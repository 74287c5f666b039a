//! The pinouts of the table: what the pins of a part carry, from pin 1 up.
//!
//! Counted as on every dual in-line package: down one side, up the other. The byte-wide parts of 24, 28 and 32 pins share
//! one order (the byte-wide pinouts JEDEC publishes in JESD21-C; written here from memory): a smaller one sits in the lower
//! end of a larger one's socket, so it is cut out of the larger one's list. What differs is given as changes to that list:
//! A11 and the select lines, in which cousins differ.

use super::Pin::{
    self, Address as A, ByteMode, ByteModeVpp, ChipEnable, ChipEnableProgram, ChipEnableVpp,
    Data as D, Ground, Nc, OutputEnable, OutputEnableVpp, Program, Reset, Select, Vbb, Vcc, Vdd,
    Vpp, WriteEnable,
};

/// The smaller pinout that sits in the lower end of a larger one's socket: the middle of its list.
const fn cut<const SMALL: usize, const LARGE: usize>(large: [Pin; LARGE]) -> [Pin; SMALL] {
    let mut small = [Nc; SMALL];
    let mut i = 0;
    while i < SMALL {
        small[i] = large[i + (LARGE - SMALL) / 2];
        i += 1;
    }
    small
}

/// The same pinout but for these pins.
const fn but<const N: usize>(mut pins: [Pin; N], changes: &[(usize, Pin)]) -> [Pin; N] {
    let mut i = 0;
    while i < changes.len() {
        pins[changes[i].0 - 1] = changes[i].1;
        i += 1;
    }
    pins
}

/// A word-wide pinout in byte mode: the pin of D15 becomes the lowest address line, which data sheets call A-1, every other
/// address line one more than in word mode, and D8 to D14 drive nothing.
const fn byte_mode<const N: usize>(mut pins: [Pin; N]) -> [Pin; N] {
    let mut i = 0;
    while i < N {
        pins[i] = match pins[i] {
            D(15) => A(0),
            D(8..=14) => Nc,
            A(line) => A(line + 1),
            other => other,
        };
        i += 1;
    }
    pins
}

/// Byte-wide, 32 pins, all address lines in use: that of the 27C040.
#[rustfmt::skip]
pub(super) const BYTE_32: [Pin; 32] = [
    Vpp, A(16), A(15), A(12), A(7), A(6), A(5), A(4), A(3), A(2), A(1), A(0), D(0), D(1), D(2), Ground,
    D(3), D(4), D(5), D(6), D(7), ChipEnable, A(10), OutputEnable, A(11), A(9), A(8), A(13), A(14), A(17), A(18), Vcc,
];
/// Byte-wide, 28 pins, all address lines in use.
const BYTE_28: [Pin; 28] = but(cut(BYTE_32), &[(28, Vcc)]);
/// Byte-wide, 24 pins, all address lines in use.
const BYTE_24: [Pin; 24] = but(cut(BYTE_28), &[(24, Vcc)]);

// 24 pins: EPROMs.
#[rustfmt::skip]
pub(super) const P2708: [Pin; 24] = but(BYTE_24, &[(18, Program), (19, Vdd), (20, Select), (21, Vbb)]);
pub(super) const P2716: [Pin; 24] = but(BYTE_24, &[(18, ChipEnableProgram), (21, Vpp)]);
pub(super) const P2732: [Pin; 24] = but(BYTE_24, &[(20, OutputEnableVpp)]);
pub(super) const P2532: [Pin; 24] =
    but(BYTE_24, &[(18, A(11)), (20, ChipEnableProgram), (21, Vpp)]);
/// The part with three supplies that has the same number as the one with one.
pub(super) const P2716_THREE: [Pin; 24] =
    but(BYTE_24, &[(18, Select), (19, Vdd), (20, A(10)), (21, Vbb)]);
pub(super) const P68764: [Pin; 24] = but(BYTE_24, &[(18, A(11)), (20, ChipEnableVpp), (21, A(12))]);
// 24 pins: EEPROM and mask ROMs.
pub(super) const P28C16: [Pin; 24] = but(BYTE_24, &[(21, WriteEnable)]);
pub(super) const P2316: [Pin; 24] = but(BYTE_24, &[(18, Select), (20, Select), (21, Select)]);
pub(super) const P2332: [Pin; 24] = but(BYTE_24, &[(18, A(11)), (20, Select), (21, Select)]);
pub(super) const P2364: [Pin; 24] = but(BYTE_24, &[(18, A(11)), (20, Select), (21, A(12))]);

// 28 pins: EPROMs.
pub(super) const P2764: [Pin; 28] = but(P27128, &[(26, Nc)]);
pub(super) const P27128: [Pin; 28] = but(BYTE_28, &[(1, Vpp), (27, Program)]);
pub(super) const P27256: [Pin; 28] = but(BYTE_28, &[(1, Vpp)]);
pub(super) const P27512: [Pin; 28] = but(BYTE_28, &[(22, OutputEnableVpp)]);
// 28 pins: EEPROMs and page flash. The 28C256 has A14 on pin 1; the 29C256 has it where EPROMs do.
pub(super) const P28C64: [Pin; 28] = but(BYTE_28, &[(1, Nc), (26, Nc), (27, WriteEnable)]);
pub(super) const P28C256: [Pin; 28] = but(BYTE_28, &[(1, A(14)), (27, WriteEnable)]);
pub(super) const P29C256: [Pin; 28] = but(BYTE_28, &[(1, WriteEnable)]);
// 28 pins: mask ROMs.
#[rustfmt::skip]
pub(super) const P23128: [Pin; 28] = but(BYTE_28, &[(1, Nc), (20, Select), (22, Select), (27, Select)]);
pub(super) const P23256: [Pin; 28] = but(BYTE_28, &[(1, Nc), (20, Select), (22, Select)]);
pub(super) const P23512: [Pin; 28] = but(BYTE_28, &[(20, Select), (22, Select)]);

// 32 pins: EPROMs. The 27C1000 follows a mask ROM: A16 and OE are swapped.
pub(super) const P27C010: [Pin; 32] = but(P27C020, &[(30, Nc)]);
pub(super) const P27C020: [Pin; 32] = but(BYTE_32, &[(31, Program)]);
pub(super) const P27C080: [Pin; 32] = but(BYTE_32, &[(1, A(19)), (24, OutputEnableVpp)]);
pub(super) const P27C1000: [Pin; 32] = but(P27C010, &[(2, OutputEnable), (24, A(16))]);
// 32 pins: EEPROMs and flash written from 5 V.
pub(super) const WRITTEN_512: [Pin; 32] = but(WRITTEN_010, &[(2, Nc)]);
pub(super) const WRITTEN_010: [Pin; 32] = but(WRITTEN_020, &[(30, Nc)]);
pub(super) const WRITTEN_020: [Pin; 32] = but(BYTE_32, &[(1, Nc), (31, WriteEnable)]);
pub(super) const WRITTEN_040: [Pin; 32] = but(BYTE_32, &[(1, A(18)), (31, WriteEnable)]);
pub(super) const P29F002: [Pin; 32] = but(WRITTEN_020, &[(1, Reset)]);
// 32 pins: flash with a programming voltage.
pub(super) const P28F256: [Pin; 32] = but(P28F512, &[(3, Nc)]);
pub(super) const P28F512: [Pin; 32] = but(P28F010, &[(2, Nc)]);
pub(super) const P28F010: [Pin; 32] = but(P28F020, &[(30, Nc)]);
pub(super) const P28F020: [Pin; 32] = but(BYTE_32, &[(31, WriteEnable)]);

/// Word-wide, 40 pins, all address lines in use: that of the 27C4096.
#[rustfmt::skip]
pub(super) const WORD_40: [Pin; 40] = [
    Vpp, ChipEnable, D(15), D(14), D(13), D(12), D(11), D(10), D(9), D(8), Ground, D(7), D(6), D(5), D(4), D(3), D(2), D(1), D(0), OutputEnable,
    A(0), A(1), A(2), A(3), A(4), A(5), A(6), A(7), A(8), Ground, A(9), A(10), A(11), A(12), A(13), A(14), A(15), A(16), A(17), Vcc,
];
pub(super) const P27C1024: [Pin; 40] = but(P27C2048, &[(38, Nc)]);
pub(super) const P27C2048: [Pin; 40] = but(WORD_40, &[(39, Program)]);

/// Word-wide in a mask ROM's order, 42 pins: that of the 27C160 in word mode. In byte mode the pin
/// of D15 is the lowest address line.
#[rustfmt::skip]
pub(super) const ROM_42: [Pin; 42] = [
    A(18), A(17), A(7), A(6), A(5), A(4), A(3), A(2), A(1), A(0), ChipEnable, Ground, OutputEnable, D(0), D(8), D(1), D(9), D(2), D(10), D(3), D(11),
    Vcc, D(4), D(12), D(5), D(13), D(6), D(14), D(7), D(15), Ground, ByteModeVpp, A(16), A(15), A(14), A(13), A(12), A(11), A(10), A(9), A(8), A(19),
];
pub(super) const P27C400: [Pin; 40] = cut(ROM_42);
pub(super) const P27C800: [Pin; 42] = but(ROM_42, &[(42, Nc)]);
pub(super) const P27C322: [Pin; 42] = but(ROM_42, &[(13, OutputEnableVpp), (32, A(20))]);

// Bipolar PROMs: of one organisation all makers' have the same pins (common practice).
#[rustfmt::skip]
pub(super) const PROM_32X8: [Pin; 16] = [
    D(0), D(1), D(2), D(3), D(4), D(5), D(6), Ground,
    D(7), A(0), A(1), A(2), A(3), A(4), Select, Vcc,
];
#[rustfmt::skip]
pub(super) const PROM_512X4: [Pin; 16] = [
    A(6), A(5), A(4), A(3), A(0), A(1), A(2), Ground,
    D(3), D(2), D(1), D(0), Select, A(8), A(7), Vcc,
];
pub(super) const PROM_256X4: [Pin; 16] = but(PROM_512X4, &[(14, Select)]);
#[rustfmt::skip]
pub(super) const PROM_1024X4: [Pin; 18] = [
    A(6), A(5), A(4), A(3), A(0), A(1), A(2), Select, Ground,
    Select, D(3), D(2), D(1), D(0), A(9), A(8), A(7), Vcc,
];
#[rustfmt::skip]
pub(super) const PROM_512X8: [Pin; 20] = [
    A(0), A(1), A(2), A(3), A(4), D(0), D(1), D(2), D(3), Ground,
    D(4), D(5), D(6), D(7), Select, A(5), A(6), A(7), A(8), Vcc,
];
#[rustfmt::skip]
pub(super) const PROM_256X8: [Pin; 20] = but(PROM_512X8, &[(16, Select), (17, A(5)), (18, A(6)), (19, A(7))]);
#[rustfmt::skip]
pub(super) const PROM_1024X8: [Pin; 24] = but(BYTE_24, &[(18, Select), (19, Select), (20, Select), (21, Select)]);
pub(super) const PROM_512X8_24: [Pin; 24] = but(PROM_1024X8, &[(22, Nc)]);
#[rustfmt::skip]
pub(super) const PROM_2048X8: [Pin; 24] = but(BYTE_24, &[(18, Select), (19, Select), (20, Select), (21, A(10))]);

/// Word-wide flash for surface mounting, 44 pins in two rows: a 27C400 with two pins more at the notch on either side. Pin
/// 2 is a ready signal where nothing else is there.
#[rustfmt::skip]
pub(super) const P29F400: [Pin; 44] = [
    Nc, Nc, A(17), A(7), A(6), A(5), A(4), A(3), A(2), A(1), A(0), ChipEnable, Ground, OutputEnable,
    D(0), D(8), D(1), D(9), D(2), D(10), D(3), D(11), Vcc, D(4), D(12), D(5), D(13), D(6), D(14), D(7), D(15),
    Ground, ByteMode, A(16), A(15), A(14), A(13), A(12), A(11), A(10), A(9), A(8), WriteEnable, Reset,
];
pub(super) const P29F800: [Pin; 44] = but(P29F400, &[(2, A(18))]);
pub(super) const P28F400: [Pin; 44] = but(P29F400, &[(1, Vpp)]);

/// Word-wide flash of 48 pins in two rows, for surface mounting: that of the 29F160. Pin 15 is a ready signal.
#[rustfmt::skip]
pub(super) const P29F160: [Pin; 48] = [
    A(15), A(14), A(13), A(12), A(11), A(10), A(9), A(8), A(19), Nc, WriteEnable, Reset,
    Nc, Nc, Nc, A(18), A(17), A(7), A(6), A(5), A(4), A(3), A(2), A(1),
    A(0), ChipEnable, Ground, OutputEnable, D(0), D(8), D(1), D(9), D(2), D(10), D(3), D(11),
    Vcc, D(4), D(12), D(5), D(13), D(6), D(14), D(7), D(15), Ground, ByteMode, A(16),
];

// The same parts with `BYTE` low.
pub(super) const P27C400_BYTES: [Pin; 40] = byte_mode(P27C400);
pub(super) const P27C800_BYTES: [Pin; 42] = byte_mode(P27C800);
pub(super) const ROM_42_BYTES: [Pin; 42] = byte_mode(ROM_42);
pub(super) const P28F400_BYTES: [Pin; 44] = byte_mode(P28F400);
pub(super) const P29F400_BYTES: [Pin; 44] = byte_mode(P29F400);
pub(super) const P29F800_BYTES: [Pin; 44] = byte_mode(P29F800);
pub(super) const P29F160_BYTES: [Pin; 48] = byte_mode(P29F160);
