//! What would explain a damage is said where its arithmetic holds, and only there.

use super::*;
use crate::image::{Builder, Source};

const FIRST: &str = ":0480000010111213 36";
const SECOND: &str = ":0480040014151617 22";
const THIRD: &str = ":0480080018191A1B 0E";
const END: &str = ":00000001FF";

fn sound() -> [String; 4] {
    [FIRST, SECOND, THIRD, END].map(|l| l.replace(' ', ""))
}

/// The causes of the only error of a file whose second line is `line`.
#[track_caller]
fn causes(line: &[u8]) -> Vec<Explanation> {
    let [first, _, third, end] = sound();
    let text = [first.as_bytes(), line, third.as_bytes(), end.as_bytes()].join(&b"\n"[..]);
    let reading = read(&intel_hex::IntelHex, text);
    assert_eq!(reading.findings.errors(), 1, "{:?}", reading.findings);
    reading.findings.list()[0].explanations.clone()
}

#[test]
fn letters_that_look_like_digits_are_named() {
    let wanted = Explanation::LookAlike {
        column: 2,
        found: 'O',
        wanted: '0',
    };
    assert_eq!(causes(b":O48004001415161722"), [wanted]);
    let wanted = Explanation::LookAlike {
        column: 10,
        found: 'l',
        wanted: '1',
    };
    assert_eq!(causes(b":04800400l4l5l6l722"), [wanted]);
    // With another digit wrong too, reading by eye does not explain it.
    assert_eq!(causes(b":04800400l4l5l6l7F2"), []);
}

#[test]
fn an_unreadable_character_is_named_when_the_sum_leaves_one_digit() {
    let wanted = Explanation::Unreadable {
        column: 12,
        wanted: '1',
    };
    assert_eq!(causes(b":0480040014#5161722"), [wanted]);
    assert_eq!(
        causes(b":0480040014##161722"),
        [],
        "two could be many things"
    );
}

#[test]
fn an_address_that_would_go_on_is_named() {
    // 8004 became 8014.
    let wanted = field(
        "address",
        "8014",
        "8004",
        "it continues where the record before it ended",
    );
    assert_eq!(causes(b":048014001415161722"), [wanted]);
}

#[test]
fn a_length_is_named_when_as_many_bytes_follow() {
    let wanted = field("length", "06", "04", "that many bytes follow");
    assert_eq!(causes(b":068004001415161722"), [wanted]);
}

#[test]
fn one_changed_digit_explains_only_what_it_can() {
    // 14 became 34: the sum is off by 20, which one high digit can be.
    let found = causes(b":048004003415161722");
    assert!(
        matches!(found[..], [Explanation::OneDigit { places: 2.. }]),
        "{found:?}"
    );
    // 14 became 95: off by 81, which no one digit is.
    assert_eq!(causes(b":048004009515161722"), []);
}

#[test]
fn two_swapped_neighbours_are_named_when_no_other_pair_would_do() {
    // 17 became 71: off by 5A.
    let wanted = Explanation::Swapped {
        column: 16,
        digits: ['7', '1'],
    };
    assert_eq!(causes(b":048004001415167122"), [wanted]);
}

#[test]
fn a_lost_and_an_added_digit_are_told_by_the_length() {
    assert_eq!(causes(b":04800400141516172"), [Explanation::LostDigit]);
    let wanted = Explanation::Extra {
        column: 13,
        found: '9',
    };
    assert_eq!(causes(b":0480040014195161722"), [wanted]);
}

#[test]
fn a_damaged_or_lost_mark_is_told_from_a_comment() {
    assert_eq!(
        causes(b";048004001415161722"),
        [Explanation::Mark { wanted: ':' }]
    );
    assert_eq!(
        causes(b"048004001415161722"),
        [Explanation::MarkLost { wanted: ':' }]
    );
    assert_eq!(causes(b"Heron-8 monitor, page 2"), []);
}

#[test]
fn merged_and_broken_lines_are_told() {
    let [first, second, third, end] = sound();
    let reading = read(
        &intel_hex::IntelHex,
        format!("{first}{second}\n{third}\n{end}\n"),
    );
    let both = Explanation::Merged {
        column: 20,
        first_sound: true,
        second_sound: true,
    };
    assert_eq!(reading.findings.list()[0].explanations, [both]);
    let (left, right) = second.split_at(9);
    let reading = read(
        &intel_hex::IntelHex,
        format!("{first}\n{left}\n{right}\n{third}\n{end}\n"),
    );
    assert_eq!(reading.findings.errors(), 2);
    assert_eq!(
        reading.findings.list()[1].explanations,
        [Explanation::Broken { line: 2 }]
    );
}

#[test]
fn a_file_that_ends_inside_a_record_says_how_much_is_missing() {
    let [first, second, ..] = sound();
    let reading = read(&intel_hex::IntelHex, format!("{first}\n{}", &second[..12]));
    assert_eq!(
        reading.findings.list()[0].explanations,
        [Explanation::CutOff { missing: 7 }]
    );
}

#[test]
fn damage_to_the_text_as_a_whole_is_told() {
    let record = sound()[1].clone();
    let bom = [b"\xEF\xBB\xBF", record.as_bytes()].concat();
    assert_eq!(causes(&bom), [Explanation::ByteOrderMark]);
    let wide: Vec<u8> = record.bytes().flat_map(|b| [b, 0]).collect();
    assert_eq!(causes(&wide), [Explanation::TwoByteText]);
    let parity: Vec<u8> = record.bytes().map(|b| b | ((b & 1) << 7)).collect();
    assert_eq!(causes(&parity), [Explanation::BitSeven]);
    assert_eq!(causes(b":0480 0400 1415 1617 22"), [Explanation::Blanks]);
    assert_eq!(
        causes(b":04800400\xEF\xBF\xBD415161722"),
        [Explanation::Replaced { column: 10 }]
    );
    assert_eq!(
        causes(b":048004001415161722 ; table"),
        [Explanation::Behind { column: 20 }]
    );
}

#[test]
fn a_doubled_line_is_told_and_another_overlap_is_not() {
    let [first, second, third, end] = sound();
    let reading = read(
        &intel_hex::IntelHex,
        format!("{first}\n{second}\n{second}\n{third}\n{end}\n"),
    );
    assert_eq!(
        reading.findings.list()[0].explanations,
        [Explanation::Doubled { line: 2, again: 3 }]
    );
    let reading = read(
        &intel_hex::IntelHex,
        format!("{first}\n{second}\n{third}\n{second}\n{end}\n"),
    );
    assert_eq!(reading.findings.list()[0].explanations, []);
    // Other bytes at the same address are no copy.
    let other = first.replace("10111213", "10111312");
    let reading = read(
        &intel_hex::IntelHex,
        format!("{first}\n{other}\n{second}\n{third}\n{end}\n"),
    );
    assert_ne!(other, first);
    assert_eq!(reading.findings.list()[0].explanations, []);
}

#[test]
fn a_lost_line_is_a_hole_of_whole_records_between_neighbours_of_one_file() {
    // Bytes at these addresses on these lines; the first record sets how long a record is.
    let gaps = |records: &[(u64, usize, u64)]| {
        let mut builder = Builder::new(Source::File("a".into()));
        for (address, len, line) in records {
            builder.push(*address, &vec![1; *len], *line).unwrap();
        }
        let image = builder.finish(Clash::Refuse).unwrap();
        let gaps = layout::gaps_between_lines(&image);
        let gaps = gaps.map(|gap| (gap.behind, gap.range.first(), gap.range.last(), gap.records));
        gaps.collect::<Vec<_>>()
    };
    assert_eq!(gaps(&[(0, 4, 1), (4, 4, 2), (16, 4, 3)]), [(2, 8, 15, 2)]);
    assert_eq!(
        gaps(&[(0, 4, 1), (4, 4, 2), (16, 4, 5)]),
        [],
        "no neighbours"
    );
    assert_eq!(
        gaps(&[(0, 4, 1), (4, 4, 2), (15, 4, 3)]),
        [],
        "no whole records"
    );
    assert_eq!(gaps(&[(0, 4, 1), (4, 4, 2), (8, 4, 5)]), [], "no hole");
    let part = |name: &str, line| {
        let mut builder = Builder::new(Source::File(name.into()));
        builder.push(line * 8, &[1; 4], line).unwrap();
        builder.finish(Clash::Refuse).unwrap()
    };
    let gaps_of = |a, b| {
        let both = Image::gather(vec![part(a, 1), part(b, 2)]).unwrap();
        layout::gaps_between_lines(&both).count()
    };
    assert_eq!((gaps_of("a", "a"), gaps_of("a", "b")), (1, 0));
}

#[test]
fn a_lost_line_is_told_by_the_count_and_the_gap() {
    // M68000PM/AD, Appendix C: the worked example with a count of its four data records, less the third.
    let text = "S00600004844521B\nS1130000285F245F2212226A000424290008237C2A\n\
                S11300100002000800082629001853812341001813\nS107003000144ED492\nS5030004F8\nS9030000FC\n";
    let reading = read(&s_record::SRecords, text);
    let range = AddressRange::new(0x20, 0x2F).unwrap();
    let finding = &reading.findings.list()[0];
    assert_eq!(finding.problem, Problem::Count { says: 4, has: 3 });
    assert_eq!(
        finding.explanations,
        [Explanation::LostLine { behind: 3, range }]
    );
}

#[test]
fn several_files_in_one_are_told_by_their_end_records() {
    let [first, second, _, end] = sound();
    let reading = read(
        &intel_hex::IntelHex,
        format!("{first}\n{end}\n{second}\n{end}\n"),
    );
    assert_eq!(
        reading.findings.list()[0].explanations,
        [Explanation::SeveralEnds { more: 1 }]
    );
    let reading = read(&intel_hex::IntelHex, format!("{first}\n{end}\n{second}\n"));
    assert_eq!(reading.findings.list()[0].explanations, []);
}

#[test]
fn other_formats_tell_the_same_way() {
    // The published worked examples, each with one damage.
    let reading = read(&tek_hex::TekHex, "%1551C3100202020202020\n");
    let kind = field("type", "5", "6", "there is no type in it");
    assert_eq!(reading.findings.list()[0].explanations, [kind]);
    let text =
        "S1130000285F245F2212226A000424290008237C2A\nS11300l0000200080008262900185381234l001813\n";
    let reading = read(&s_record::SRecords, text);
    let look = Explanation::LookAlike {
        column: 7,
        found: 'l',
        wanted: '1',
    };
    assert_eq!(reading.findings.list()[0].explanations, [look]);
    let reading = read(
        &mos_tape::MosTape,
        ";180000FFEEDDCCBBAA00998877665544332211223344556677889 90AFC\n;0000010001\n",
    );
    assert_eq!(
        reading.findings.list()[0].explanations,
        [Explanation::Blanks]
    );
}

#[test]
fn every_sentence_can_be_read() {
    let causes = [
        Explanation::CutOff { missing: 7 },
        Explanation::Merged {
            column: 2,
            first_sound: false,
            second_sound: true,
        },
        Explanation::SeveralEnds { more: 2 },
        Explanation::OneDigit { places: 1 },
    ];
    for cause in causes {
        assert!(cause.to_string().contains("would explain"), "{cause}");
    }
}

/// An S-record of this kind, checksum worked out here.
fn s(kind: u8, address: u32, data: &[u8]) -> String {
    let address = &address.to_be_bytes()[3 - usize::from(kind)..];
    let counted = (address.len() + data.len() + 1) as u8;
    let mut bytes = [&[counted], address, data].concat();
    bytes.push(!bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte)));
    let digits: String = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
    format!("S{kind}{digits}")
}

#[test]
fn the_fields_of_an_s_record_are_named_whatever_its_kind() {
    for kind in 1..=3 {
        let records = [s(kind, 0x100, &[1; 4]), s(kind, 0x104, &[2; 4])];
        let causes = |record: String| {
            let text = [&records[0], &record, "S9030000FC"].join("\n");
            let reading = read(&s_record::SRecords, text);
            reading.findings.list()[0].explanations.clone()
        };
        let digits = 2 * (usize::from(kind) + 1);
        let sound = &records[1];
        let mut wrong = sound.clone();
        wrong.replace_range(4..4 + digits, &format!("{:0digits$X}", 0x504));
        let address = Explanation::Field {
            name: "address",
            says: format!("{:0digits$X}", 0x504),
            wanted: format!("{:0digits$X}", 0x104),
            because: "it continues where the record before it ended",
        };
        assert_eq!(causes(wrong), [address]);
        let counted = kind + 6;
        let mut wrong = sound.clone();
        wrong.replace_range(2..4, &format!("{:02X}", counted + 4));
        let length = Explanation::Field {
            name: "length",
            says: format!("{:02X}", counted + 4),
            wanted: format!("{counted:02X}"),
            because: "that many bytes follow",
        };
        assert_eq!(causes(wrong), [length]);
    }
}

#[test]
fn several_files_of_s_records_in_one_are_told_by_their_end_records() {
    let [first, second] = [s(1, 0x100, &[1]), s(1, 0x200, &[2])];
    let end = "S9030000FC";
    let text = [&first, end, &second, end, &second, end].join("\n");
    let reading = read(&s_record::SRecords, text);
    let causes = &reading.findings.list()[0].explanations;
    assert_eq!(*causes, [Explanation::SeveralEnds { more: 2 }]);
    let reading = read(&s_record::SRecords, [&first, end, &second].join("\n"));
    assert_eq!(reading.findings.list()[0].explanations, []);
}
