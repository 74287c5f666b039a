//! Dumps.

use insta::assert_snapshot;

use super::helpers::*;
use crate::image::{AddressRange, Image, Source};

#[test]
fn a_dump_shows_addresses_at_both_ends_holes_texts_and_where_rows_came_from() {
    let mut image = Image::new();
    put(
        &mut image,
        0x8000,
        b"\xA9\x00\x8D\x11\x60\x4C\x03\x80HERON 8\x0D",
        file("monitor.hex"),
    );
    put(&mut image, 0x8030, &[0x60], file("monitor.hex"));
    put(&mut image, 0x803E, &[0xEA, 0xEA], file("monitor.hex"));
    put(&mut image, 0x8040, b"AT \"NEST\" AND ON", Source::Mark);
    image.fill_holes(r(0x8050, 0x80FF), |_| 0xFF);
    assert_snapshot!(dump(&image, r(0x8000, 0x810F)), @r#"
    chip
    8000 > A9 00 8D 11 . 60 4C 03 80 . 48 45 52 4F . 4E 20 38 0D < 800F  8008 "HERON 8"  monitor.hex
    8010 > hollow, 32 bytes < 802F
    8030 > 60 __ __ __ . __ __ __ __ . __ __ __ __ . __ __ EA EA < 803F
    8040 > 41 54 20 22 . 4E 45 53 54 . 22 20 41 4E . 44 20 4F 4E < 804F  8044 "NEST"  8049 " AND ON"  mark
    8050 > FF throughout, 176 bytes < 80FF
    8100 > __ __ __ __ . __ __ __ __ . __ __ __ __ . __ __ __ __ < 810F
    "#);
    // A range that begins and ends inside rows.
    assert_snapshot!(dump(&image, r(0x800A, 0x8043)), @r#"
    chip
    800A > 52 4F . 4E 20 38 0D < 800F  800A "RON 8"  monitor.hex
    8010 > hollow, 32 bytes < 802F
    8030 > 60 __ __ __ . __ __ __ __ . __ __ __ __ . __ __ EA EA < 803F
    8040 > 41 54 20 22 < 8043  mark
    "#);
}

#[test]
fn a_long_run_gives_way_to_rows_at_a_whole_row() {
    let mut image = records("a.hex", &[(0x1_0000, 0x10, 3)]);
    image.fill_holes(r(0x1_0010, 0x1_0054), |_| 0xFF);
    put(&mut image, 0x1_0055, &[1], Source::Patch);
    assert_snapshot!(dump(&image, r(0x1_0000, 0x1_0058)), @r#"
    chip
    010000 > 00 01 02 03 . 04 05 06 07 . 08 09 0A 0B . 0C 0D 0E 0F < 01000F  a.hex line 3
    010010 > FF throughout, 64 bytes < 01004F
    010050 > FF FF FF FF . FF 01 __ __ . __ < 010058  filler
    "#);
    assert_snapshot!(dump(&image, r(0x1_0020, 0x1_003F)), @r#"
    chip
    010020 > FF throughout, 32 bytes < 01003F
    "#);
}

#[test]
fn a_dump_of_the_last_addresses_and_of_a_huge_hole_ends() {
    let top = AddressRange::TOP;
    let mut image = Image::new();
    put(&mut image, top, &[7], file("a"));
    assert_snapshot!(dump(&image, r(top - 3, top)), @r#"
    chip
    FFFFFFFFFFFFFFFB > __ . __ __ 07 < FFFFFFFFFFFFFFFE  a
    "#);
    assert_snapshot!(dump(&image, r(0, top)), @r#"
    chip
    0000000000000000 > hollow, 18,446,744,073,709,551,600 bytes < FFFFFFFFFFFFFFEF
    FFFFFFFFFFFFFFF0 > __ __ __ __ . __ __ __ __ . __ __ __ __ . __ __ 07 < FFFFFFFFFFFFFFFE  a
    "#);
}
