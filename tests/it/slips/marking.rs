//! Someone who knows no more than the marking on the chip.

use super::Row;

#[rustfmt::skip]
pub const SLIPS: &[Row] = &[
    ("load a.hex + seat 27C265 --at 0x8000", "nearest: 27C256", "load a.hex + seat 27C256 --at 0x8000 + show"),
    ("load a.hex + seat 27C256-15 0x8000", "romloom load a.hex + seat 27C256-15 --at 0x8000", "load a.hex + seat 27C256-15 --at 0x8000"),
    ("load a.hex + seat --part 27C256 --at 0x8000", "romloom load a.hex + seat 27C256 --at 0x8000", "load a.hex + seat 27C256 --at 0x8000"),
    ("load a.hex + seat --chip 27C256 --at 0x8000", "romloom load a.hex + seat 27C256 --at 0x8000", "load a.hex + seat 27C256 --at 0x8000"),
    ("load a.hex + seat --device=27C256 --at 0x8000", "romloom load a.hex + seat 27C256 --at 0x8000", "load a.hex + seat 27C256 --at 0x8000"),
    ("load a.hex + pad --part 27C256 --at 0x8000", "romloom load a.hex + pad 27C256 --at 0x8000", "load a.hex + pad 27C256 --at 0x8000"),
    ("load a.hex + seat TMS2716 --at 0x8000", "it is 2716-three-supply or 2716", "load a.hex + seat 2716 --at 0x8000 + show"),
    ("load a.hex + pad 2732", "write part:2732 or 4096", "load a.hex + pad part:2732 --at 0x8000 + show"),
    ("load a.hex + pad 27256 --at 0x8000", "write part:27256 or 32768", "load a.hex + pad part:27256 --at 0x8000 + show"),
    ("help 27C265", "nearest: 27C256", "help 27C256"),
    ("help TMS2716", "it is 2716-three-supply or 2716", "help 2716"),
    ("chips 27C256", "romloom parts 27C256", "parts 27C256"),
    ("chip 27C256", "romloom parts 27C256", "parts 27C256"),
    ("device 27C256", "romloom parts 27C256", "parts 27C256"),
    ("parts 27C265", "nearest: 27C256", "parts 27C256"),
    ("27C256", "romloom help 27C256", "help 27C256"),
    ("27C256 chip.bin", "romloom help 27C256", "load chip.bin + seat 27C256 --at 0 + show"),
    ("burn 27C256", "`write FILE` makes the file for your programmer", "load a.hex + seat 27C256 --at 0x8000 + write c.bin"),
    ("identify chip.bin", "romloom recognise chip.bin --among FOLDER", "recognise chip.bin --among dir"),
    ("why chip.bin", "romloom load chip.bin + diagnose", "load chip.bin + diagnose"),
    ("repair chip.bin", "romloom load chip.bin + diagnose", "load chip.bin + diagnose"),
    ("blank chip.bin 27C256", "romloom load chip.bin + expect blank 27C256", "load blank.bin + expect blank 0-0x3F"),
    ("adapter 27C256", "romloom adapter 27C256 CHIP", "adapter 27C256 28C256"),
];
