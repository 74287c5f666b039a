//! What a damaged record may have been.

use super::*;
use crate::formats::findings::Strictness;

#[test]
fn a_damaged_record_is_no_base_only_where_one_damage_could_not_have_made_it_of_one() {
    for (text, why) in [
        (":020000040001F8", "a base record with another checksum"),
        (":0200000400F9", "two digits short"),
        (":02000004000001F9A", "two characters too many"),
        (
            ":0200000012347A",
            "a digit short: not even its length tells",
        ),
        (":03000004112233F4", "three bytes in a base record's type"),
        (":030000001122337", "a digit short of its length"),
        (":0x00000411223344556677", "a length that can't be read"),
        (":02000004112233445566", "length and type of a base record"),
        (
            ":0x00000x11223344556677",
            "neither length nor type can be read",
        ),
        (
            ":020000x4zzzzzzzzzzzzz",
            "a mark before much that is no digit",
        ),
        (
            "0x20000x4z0000000000",
            "three characters that are no digits: the mark is lost",
        ),
    ] {
        assert!(may_be_base(text.as_bytes()), "{text}: {why}");
    }
    for (text, why) in [
        (":0300000011223398", "sound data but for its checksum"),
        (":03000000112X3397", "data with one wrong digit"),
        (
            ":0300000011223397A",
            "a character too many, and its length is not 02",
        ),
        (":040000041122334455", "too long, and its length is not 02"),
        (":0x00000011223344556677", "too long, and its type is 00"),
        (":02000000112233445566", "too long, and its type is 00"),
        ("; made by hand, no record", "a remark"),
        (
            "0x20000x4zz000000000",
            "four characters that are no digits, and no mark",
        ),
    ] {
        assert!(!may_be_base(text.as_bytes()), "{text}: {why}");
    }
}

#[test]
fn a_damaged_data_record_covers_what_its_digits_say_where_something_speaks_for_them() {
    let covers = |base: RecordBase, unit: u64, text: &str| {
        let mut findings = Findings::new("a".into(), Strictness::Salvage);
        let mut builder = Builder::new(Source::File("a".into()));
        builder.push(0x100, &[1; 16], 1).unwrap();
        let reader = IntelHexReader {
            findings: &mut findings,
            builder,
            base,
            unit,
            entry: None,
            empty_record: None,
            lost: None,
            kinds: [false; 2],
            any: true,
            ended: false,
        };
        let range = reader.covered_by(text.as_bytes());
        range.map(|range| (range.first(), range.last()))
    };
    let flat = RecordBase::Linear(0);
    let whole = ":0402000011223344FF";
    assert_eq!(covers(flat, 1, whole), Some((0x200, 0x203)));
    let goes_on = ":100110001122";
    assert_eq!(covers(flat, 1, goes_on), Some((0x110, 0x11F)));
    assert_eq!(
        covers(flat, 1, ":100120001122"),
        None,
        "nothing speaks for it"
    );
    assert_eq!(
        covers(flat, 1, ":0402000111223344FF"),
        None,
        "no data record"
    );
    assert_eq!(covers(flat, 1, ":0001100000"), None, "no bytes");
    assert_eq!(covers(flat, 1, ":0x02000011223344FF"), None, "no length");
    assert_eq!(covers(RecordBase::Unknown, 1, whole), None, "no base");
    // Offsets count words; the record before ends at byte 0x10F, which is the end of word 0x87.
    assert_eq!(covers(flat, 2, whole), Some((0x400, 0x403)));
    assert_eq!(covers(flat, 2, ":100088001122"), Some((0x110, 0x11F)));
    assert_eq!(covers(flat, 2, goes_on), None);
    // In a segment it ends with the 64K: 2 addresses are left.
    let segment = || RecordBase::Segment(0x1_0000);
    let last = ":08FFFE001122334455667788FF";
    assert_eq!(covers(segment(), 1, last), Some((0x1_FFFE, 0x1_FFFF)));
    assert_eq!(covers(segment(), 2, last), Some((0x3_FFFC, 0x3_FFFF)));
}
