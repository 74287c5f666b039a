//! What a damaged record may have been.

use crate::formats::intel_hex::place::may_be_base;

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
