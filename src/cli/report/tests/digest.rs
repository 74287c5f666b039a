//! Sums, and what a run made.

use insta::assert_snapshot;

use super::helpers::*;
use crate::cli::report::{
    DigestReport, FileState, HeldPiece, NamedSum, Output, Outputs, RangeView,
};

#[test]
fn sums_stand_in_a_column() {
    let sum = |algo: &str, value: &str, remark| NamedSum {
        algo: algo.parse().unwrap(),
        value: value.into(),
        remark,
    };
    let mut digest = DigestReport {
        piece: "even".into(),
        range: Some(RangeView {
            first: 0,
            last: 0x1_FFFF,
        }),
        bytes: 131_070,
        holes: 2,
        sums: vec![
            sum("sum16", "F612", "of all bytes"),
            sum("crc-32/iso-hdlc", "A5D6201A", ""),
        ],
    };
    assert_snapshot!(text(&digest), @r#"
    even   000000-01FFFF   131,070 bytes, 2 holes not counted
      sum16            F612  of all bytes
      crc-32/iso-hdlc  A5D6201A
    "#);
    digest.range = None;
    digest.sums.clear();
    (digest.bytes, digest.holes) = (0, 0);
    assert_snapshot!(text(&digest), @r#"even   no bytes"#);
}

#[test]
fn what_was_made_stands_in_columns() {
    let output = |file: &str, state, format: &str, bytes| Output {
        file: file.into(),
        state,
        format: format.into(),
        holds: Some(HeldPiece {
            piece: "even".into(),
            bytes,
            sum16: "F612".into(),
            sum32: "0079F612".into(),
            crc32: "A5D6201A".into(),
        }),
    };
    let sheet = Output {
        file: "out/board.html".into(),
        state: FileState::New,
        format: "sheet of 2 chips".into(),
        holds: None,
    };
    let mut outputs = Outputs {
        outputs: vec![
            output("out/even.bin", FileState::New, "raw", 16384),
            output("out/höhe.hex", FileState::Unchanged, "intel-hex I8HEX", 1),
            output("o.s19", FileState::Changed, "s-record S1", 300),
            sheet,
        ],
        dry_run: false,
    };
    assert_snapshot!(text(&outputs), @r#"
    wrote     out/even.bin    raw,             16,384 bytes, sum16 F612 sum32 0079F612 crc32 A5D6201A
    unchanged out/höhe.hex    intel-hex I8HEX,       1 byte, sum16 F612 sum32 0079F612 crc32 A5D6201A
    wrote     o.s19           s-record S1,        300 bytes, sum16 F612 sum32 0079F612 crc32 A5D6201A
    wrote     out/board.html  sheet of 2 chips
    "#);
    outputs.dry_run = true;
    assert_snapshot!(text(&outputs), @r#"
    would write out/even.bin    raw,             16,384 bytes, sum16 F612 sum32 0079F612 crc32 A5D6201A
    would leave out/höhe.hex    intel-hex I8HEX,       1 byte, sum16 F612 sum32 0079F612 crc32 A5D6201A
    would write o.s19           s-record S1,        300 bytes, sum16 F612 sum32 0079F612 crc32 A5D6201A
    would write out/board.html  sheet of 2 chips
    "#);
}
