//! What changed.

use insta::assert_snapshot;

use super::helpers::*;
use crate::cli::report::{ChangesReport, Report};
use crate::image::{AddressRange, Image, Source};

#[test]
fn changes_are_rows_of_was_and_now() {
    let was = records("old.hex", &[(0x8000, 0x40, 1)]);
    assert_snapshot!(changes(&was, &was), @r#"chip against old.bin: no change"#);
    let mut now = records("new.hex", &[(0x8000, 0x40, 1)]);
    put(&mut now, 0x8003, &[0xEA], Source::Patch);
    put(&mut now, 0x8028, b"HERON", Source::Mark);
    now.remove(r(0x803E, 0x803F));
    put(&mut now, 0x8045, &[1], Source::Patch);
    assert_snapshot!(changes(&was, &now), @r#"
    chip against old.bin: 9 bytes changed
    8000 was          83
         now          EA  patch
    8020 was                             A8 A9 AA AB   AC
         now                             48 45 52 4F   4E  mark
    8030 was                                                 BE BF
         now                                                 __ __
    8040 was                  __
         now                  01  patch
    "#);
    let few = ChangesReport::new("chip", "old.bin", &was, &now, 2);
    assert!(text(&few).ends_with("\nand 2 more rows, see --limit\n"));
}

#[test]
fn what_is_new_or_gone_as_a_whole_is_said_in_one_line() {
    let was = records(
        "old.hex",
        &[(0x8000, 0x20, 1), (0xA000, 0x15, 9), (0xC000, 0x100, 20)],
    );
    let now = records("new.hex", &[(0x8000, 0x20, 1), (0x9008, 0x231, 3)]);
    assert_snapshot!(changes(&was, &now), @r#"
    chip against old.bin: 838 bytes changed
    9008 was hollow
         now 561 bytes to 9238  new.hex line 3
    A000 was A0 A1 A2 A3   A4 A5 A6 A7   A8 A9 AA AB   AC AD AE AF  old.hex line 9
         now __ __ __ __   __ __ __ __   __ __ __ __   __ __ __ __
    A010 was B0 B1 B2 B3   B4  old.hex line 10
         now __ __ __ __   __
    C000 was 256 bytes to C0FF  old.hex line 20
         now hollow
    "#);
    let json = ChangesReport::new("chip", "old.bin", &was, &now, 1).json();
    assert_eq!(json["rows"][0]["kind"], "added");
    assert_eq!(json["rows"][0]["bytes"], 0x231);
    assert_eq!(json["rows_left_out"], 3);
}

#[test]
fn bytes_put_in_or_taken_out_are_recognised_as_a_shift() {
    let old: Vec<u8> = (0..600u32).map(|i| (i * i + i / 7) as u8).collect();
    let mut new = old.clone();
    new.splice(0x20..0x20, [0xEA, 0xEA, 0xEA]);
    let image = |at, bytes: &[u8]| Image::from_bytes(at, bytes.to_vec(), file("a")).unwrap();
    let last = |was: &Image, now: &Image| {
        let text = changes(was, now);
        text.lines().last().unwrap_or_default().to_owned()
    };
    assert_eq!(
        last(&image(0x8000, &old), &image(0x8000, &new)),
        "most of this is a shift: 3 bytes put in at 0x8020"
    );
    assert_eq!(
        last(&image(0x8000, &new), &image(0x8000, &old)),
        "most of this is a shift: 3 bytes taken out at 0x8020"
    );
    assert_eq!(
        last(&image(0x8000, &old), &image(0x7FF0, &old)),
        "the same bytes, moved down by 0x10"
    );
}

#[test]
fn changes_at_the_last_addresses_are_shown() {
    let top = AddressRange::TOP;
    let image = |byte| Image::from_bytes(top, vec![byte], file("a")).unwrap();
    assert_snapshot!(changes(&image(1), &image(2)), @r#"
    chip against old.bin: 1 byte changed
    FFFFFFFFFFFFFFF0 was                                                 01
                     now                                                 02  a
    "#);
}
