//! Which addresses a damaged record would have covered.

use super::*;
use crate::formats::findings::Strictness;

#[test]
fn a_damaged_data_record_covers_what_its_digits_say_where_something_speaks_for_them() {
    let covers = |unit: u64, text: &str| {
        let mut findings = Findings::new("a".into(), Strictness::Salvage);
        let builder = || Builder::new(Source::File("a".into()));
        let mut reader = SRecordReader {
            findings: &mut findings,
            builders: [builder(), builder(), builder()],
            apart: 3,
            unit,
            end: 0,
            header: None,
            entry: None,
            data_kind: Some(b'2'),
            data_records: 1,
            mixed: false,
            any: true,
            ended: false,
        };
        reader.builders[1].push(0x100, &[1; 16], 1).unwrap();
        let range = reader.covered_by(text.as_bytes());
        range.map(|range| (range.first(), range.last()))
    };
    for whole in [
        "S107020011223344FF",
        "S20800020011223344FF",
        "S3090000020011223344FF",
    ] {
        assert_eq!(covers(1, whole), Some((0x200, 0x203)));
        assert_eq!(covers(2, whole), Some((0x400, 0x403)));
        assert_eq!(
            covers(1, &whole[..whole.len() - 1]),
            None,
            "nothing speaks for it"
        );
    }
    assert_eq!(covers(1, "S2140001101122"), Some((0x110, 0x11F)));
    assert_eq!(
        covers(1, "S1130110112233"),
        None,
        "no record of its kind goes before it"
    );
    assert_eq!(covers(2, "S2140000881122"), Some((0x110, 0x11F)));
    assert_eq!(covers(2, "S2140001101122"), None);
    assert_eq!(covers(1, "S804000200F9"), None, "no data record");
    assert_eq!(covers(1, "S204000200F9"), None, "no bytes");
    assert_eq!(covers(1, "S203000200"), None, "less than an address");
    assert_eq!(covers(1, "S2x800020011223344FF"), None, "no length");
}
