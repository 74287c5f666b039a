//! Salvage takes what is sound, never guesses an address, and lists what is missing.

use super::*;

fn hex(records: &[(u8, u16, &[u8])]) -> Vec<String> {
    let records = records.iter();
    records
        .map(|(kind, offset, data)| intel_record(*kind, *offset, data))
        .collect()
}

/// Sixteen bytes of one value.
fn block(value: u8) -> [u8; 16] {
    [value; 16]
}

#[test]
fn a_damaged_data_record_leaves_a_hole_that_is_named() {
    let mut lines = hex(&[
        (0, 0x100, &block(1)),
        (0, 0x110, &block(2)),
        (0, 0x120, &block(3)),
        (1, 0, &[]),
    ]);
    lines[1].replace_range(12..13, "F");
    let reading = salvage(&intel_hex::IntelHex, lines.concat());
    let wanted = [(0x100, block(1).to_vec()), (0x120, block(3).to_vec())];
    assert_eq!(spans(&reading.image), wanted);
    let why = "line 2 is damaged, and its digits name these addresses".to_owned();
    assert_eq!(reading.missing(), [(0x110, 0x11F, why)]);
    // Its address is damaged too: the hole between its neighbours tells.
    lines[1].replace_range(3..5, "0x");
    let reading = salvage(&intel_hex::IntelHex, lines.concat());
    assert_eq!(
        reading.missing(),
        [(0x110, 0x11F, "line 2 is damaged".to_owned())]
    );
    let salvaged = Salvaged::of(&reading.findings, &reading.image);
    assert_eq!(
        (salvaged.records, salvaged.bytes, salvaged.damaged_lines),
        (2, 32, 1)
    );
}

#[test]
fn a_lost_line_is_a_gap_of_whole_records_between_neighbours() {
    let lines = hex(&[(0, 0, &block(1)), (0, 0x20, &block(3)), (1, 0, &[])]);
    let reading = salvage(&intel_hex::IntelHex, lines.concat());
    let why = "no record between lines 1 and 2; a lost line would explain it".to_owned();
    assert_eq!(reading.missing(), [(0x10, 0x1F, why)]);
}

#[test]
fn behind_a_damaged_base_record_nothing_is_placed_until_the_next_one() {
    let sound = hex(&[
        (4, 0, &[0, 1]),
        (0, 0, &block(1)),
        (4, 0, &[0, 2]),
        (0, 0, &block(2)),
        (0, 0x10, &block(3)),
        (4, 0, &[0, 3]),
        (0, 0, &block(4)),
        (1, 0, &[]),
    ]);
    let kept = [(0x1_0000, block(1).to_vec()), (0x3_0000, block(4).to_vec())];
    let base = &sound[2];
    // Every damage to one character of it, and every lost or added one.
    for at in 0..base.len() - 1 {
        for c in ["0", "2", "4", "7", "F", "x", " ", "", "00", "A3"] {
            let mut damaged = base.clone();
            damaged.replace_range(at..=at, c);
            if damaged.trim_end() == base.trim_end() {
                continue;
            }
            let mut lines = sound.clone();
            lines[2].clone_from(&damaged);
            let reading = salvage(&intel_hex::IntelHex, lines.concat());
            assert_eq!(spans(&reading.image), kept, "{damaged}");
            assert_eq!(reading.findings.facts.left_out_records, 2);
            assert_eq!(reading.findings.facts.left_out_bytes, 32);
            let problem = Problem::NoBase {
                records: 2,
                last: 5,
            };
            assert!(
                (reading.errors().iter())
                    .filter(|e| e.0 == 3 && e.3 == problem)
                    .any(|e| !e.2.is_empty() && damaged.trim_end().ends_with(&e.2)),
                "{damaged}"
            );
        }
    }
}

#[test]
fn a_record_that_is_surely_data_costs_only_itself() {
    let sound = hex(&[
        (4, 0, &[0, 1]),
        (0, 0, &block(1)),
        (0, 0x10, &block(2)),
        (0, 0x20, &block(3)),
        (1, 0, &[]),
    ]);
    for at in 0..sound[2].len() - 1 {
        for c in ["7", "x", "", "00"] {
            let mut lines = sound.clone();
            lines[2].replace_range(at..=at, c);
            if lines[2] == sound[2] {
                continue;
            }
            let reading = salvage(&intel_hex::IntelHex, lines.concat());
            let wanted = [(0x1_0000, block(1).to_vec()), (0x1_0020, block(3).to_vec())];
            assert_eq!(spans(&reading.image), wanted, "{}", lines[2]);
            let missing = reading.missing();
            assert_eq!(
                (missing[0].0, missing[0].1),
                (0x1_0010, 0x1_001F),
                "{}",
                lines[2]
            );
            assert_eq!(missing.len(), 1);
        }
    }
}

#[test]
fn sound_records_on_a_line_with_others_are_taken() {
    let lines = hex(&[
        (0, 0, &block(1)),
        (0, 0x10, &block(2)),
        (0, 0x20, &block(3)),
        (1, 0, &[]),
    ]);
    let merged = lines.concat().replacen('\n', "", 1);
    let reading = salvage(&intel_hex::IntelHex, merged);
    assert_eq!(reading.image.len(), 48);
    assert_eq!(
        reading.findings.errors(),
        1,
        "it is a damaged file all the same"
    );
    let commented = lines.concat().replacen('\n', " ; start\n", 1);
    assert_eq!(salvage(&intel_hex::IntelHex, commented).image.len(), 48);
    let s_records = "S1040010AA41; start\nS1040011BB2F\nS9030000FC\n";
    assert_eq!(salvage(&s_record::SRecords, s_records).image.len(), 2);
    // The end record ends the file wherever it stands in its line.
    for line in [
        ":00000001FF:0100000011EE",
        ":0100000011EE:00000001FF:0100010011ED",
    ] {
        let reading = salvage(&intel_hex::IntelHex, format!("{line}\n:0100020011EC\n"));
        assert_eq!(reading.image.byte(2), None, "{line}");
        let is_it = |e: &Seen| matches!(e.3, Problem::AfterEnd { .. });
        assert!(reading.errors().iter().any(is_it), "{line}");
    }
    // Text after the end is no sign of damage, where no record is in it.
    let noted = lines.concat() + "last page\n";
    assert_eq!(salvage(&intel_hex::IntelHex, noted).errors(), []);
    // What is wrong with a record in the middle of a line is shown there.
    let reading = salvage(
        &intel_hex::IntelHex,
        ":0100000011EE:01000007AA4E:0100010011ED\n",
    );
    assert!(
        reading
            .errors()
            .iter()
            .any(|e| (e.1, e.2.as_str()) == (21, "07"))
    );
}

#[test]
fn where_sound_records_differ_neither_is_taken() {
    let lines = hex(&[
        (0, 0, &block(1)),
        (0, 0, &block(2)),
        (0, 0x10, &block(3)),
        (0, 0x10, &block(3)),
        (1, 0, &[]),
    ]);
    for clash in [Clash::Refuse, Clash::Same] {
        let how = ReadOptions {
            strictness: Strictness::Salvage,
            clash,
            ..ReadOptions::default()
        };
        let reading = read_with(&intel_hex::IntelHex, lines.concat(), &how);
        assert_eq!(spans(&reading.image), [(0x10, block(3).to_vec())]);
        let why = "a.hex line 1 and a.hex line 2 differ".to_owned();
        assert_eq!(reading.missing(), [(0, 0xF, why)]);
    }
    let how = ReadOptions {
        strictness: Strictness::Salvage,
        clash: Clash::Last,
        ..ReadOptions::default()
    };
    let reading = read_with(&intel_hex::IntelHex, lines.concat(), &how);
    assert_eq!(reading.image.byte(0), Some(2), "the user settled it");
}

#[test]
fn a_dispute_of_three_is_found_whichever_comes_first() {
    let records: [(u8, u16, &[u8]); 3] = [(0, 0, &[1]), (0, 0, &[1]), (0, 0, &[2])];
    for order in [[0, 1, 2], [0, 2, 1], [2, 0, 1], [2, 1, 0]] {
        let lines = hex(&order.map(|i| records[i])).concat() + ":00000001FF\n";
        let reading = salvage(&intel_hex::IntelHex, lines);
        assert!(reading.image.is_empty(), "{order:?}");
        assert_eq!(reading.findings.facts.contested.len(), 1);
    }
}

#[test]
fn an_s_record_of_another_kind_than_most_is_not_placed() {
    // M68000PM/AD, Appendix C: the worked example; S1 read as S2 keeps a right checksum.
    let sound = "S00600004844521B\nS1130000285F245F2212226A000424290008237C2A\n\
                 S11300100002000800082629001853812341001813\nS113002041E900084E42234300182342000824A952\n\
                 S107003000144ED492\nS9030000FC\n";
    let whole = read(&s_record::SRecords, sound).image;
    for kind in ["S0", "S2", "S3", "S4", "S5", "S6", "S7", "S8", "S9"] {
        let damaged = sound.replace("S1130010", &format!("{kind}130010"));
        let reading = salvage(&s_record::SRecords, &damaged);
        let hole = AddressRange::new(0x10, 0x1F).unwrap();
        let mut wanted = whole.clone();
        wanted.remove(hole);
        assert!(
            reading.image.same_bytes(&wanted),
            "{kind}: {:X?}",
            spans(&reading.image)
        );
        assert!(reading.findings.errors() > 0, "{kind}");
        assert_eq!(reading.missing()[0].0, 0x10, "{kind}");
    }
}

#[test]
fn the_other_checksummed_formats_salvage_alike() {
    let bytes: Vec<u8> = (0..64).collect();
    let image = image(&[(0x200, &bytes)]);
    for (name, mark) in [("mos-tape", ';'), ("tek-hex", '%'), ("s-record", 'S')] {
        let format = by_name(name).unwrap();
        let how = WriteOptions {
            width: Some(16),
            ..WriteOptions::default()
        };
        let (text, _) = written(format, &image, &how);
        // A digit of the data of the record at 0x210.
        let at = text.find("1011121314").unwrap();
        let mut damaged = text.clone();
        damaged.replace_range(at..=at, "7");
        let reading = salvage(format, damaged);
        let mut wanted = image.clone();
        wanted.remove(AddressRange::new(0x210, 0x21F).unwrap());
        assert!(reading.image.same_bytes(&wanted), "{name}");
        assert_eq!(
            (reading.missing()[0].0, reading.missing()[0].1),
            (0x210, 0x21F),
            "{name}"
        );
        // Two records on one line are both sound.
        let second = text.match_indices(mark).nth(2).unwrap().0;
        let merged = text[..second].trim_end().to_owned() + &text[second..];
        assert!(salvage(format, merged).image.same_bytes(&image), "{name}");
    }
}

/// Found by an attacker: 50 characters around a base record are cut out, and the line that is left is as long as data.
#[test]
fn a_burst_that_swallows_a_base_record_moves_nothing() {
    let mut lines = hex(&[(4, 0, &[0, 0])]);
    for n in 0..8u16 {
        lines.extend(hex(&[(0, 0xFF80 + 16 * n, &block(n as u8))]));
    }
    lines.extend(hex(&[(4, 0, &[0, 1])]));
    for n in 0..8u16 {
        lines.extend(hex(&[(0, 16 * n, &block(0x80 + n as u8))]));
    }
    let text = lines.concat() + ":00000001FF\n";
    let base = text.find(":020000040001").unwrap();
    for from in base - 40..base + 10 {
        let mut damaged = text.clone();
        damaged.replace_range(from..from + 50, "");
        let reading = salvage(&intel_hex::IntelHex, damaged);
        for (start, bytes) in spans(&reading.image) {
            assert!(start >= 0xFF80 && bytes.iter().all(|b| *b < 8), "{from}");
        }
        let salvaged = Salvaged::of(&reading.findings, &reading.image);
        // The lines are told, and what was placed is counted.
        let left_out = &salvaged.left_out[0].1;
        assert!(left_out.first - left_out.damaged <= 1, "{from}");
        assert_eq!(left_out.records, salvaged.left_out_records);
        assert_eq!(left_out.bytes, 16 * left_out.records);
        assert_eq!(salvaged.records * 16, salvaged.bytes);
        assert!(
            reading
                .errors()
                .iter()
                .any(|e| matches!(e.3, Problem::NoBase { .. }))
        );
    }
}

#[test]
fn text_that_is_there_twice_is_not_placed_after_another_base() {
    let one = hex(&[(4, 0, &[0, 1]), (0, 0, &[1, 2]), (0, 0x10, &[3, 4])]);
    let other = hex(&[(4, 0, &[0, 2]), (0, 0x40, &[5, 6]), (0, 0x50, &[7, 8])]);
    // From the second record to the second base's first, and again.
    let twice = [&one[..], &other[..2], &one[2..], &other[..]].concat();
    let reading = salvage(&intel_hex::IntelHex, twice.concat() + ":00000001FF\n");
    let wanted = [
        (0x1_0000, vec![1, 2]),
        (0x1_0010, vec![3, 4]),
        (0x2_0040, vec![5, 6]),
        (0x2_0050, vec![7, 8]),
    ];
    assert_eq!(spans(&reading.image), wanted);
    let problem = Problem::Uncertain { first: 6, last: 6 };
    assert_eq!(reading.one_error().3, problem);
}

#[test]
fn records_that_contradict_each_other_after_one_base_show_that_another_is_lost() {
    let text = hex(&[
        (4, 0, &[0, 1]),
        (0, 0x20, &[1, 2]),
        (0, 0x20, &[3, 4]),
        (0, 0x22, &[5, 6]),
        (4, 0, &[0, 3]),
        (0, 0x20, &[7, 8]),
        (1, 0, &[]),
    ]);
    let reading = salvage(&intel_hex::IntelHex, text.concat());
    assert_eq!(spans(&reading.image), [(0x3_0020, vec![7, 8])]);
    assert_eq!(reading.findings.facts.left_out_bytes, 6);
}

/// Rows of four bytes, each its own number.
fn even_rows(first: u8) -> String {
    let row = |n: u8| format!("{n:02X} {n:02X} {n:02X} {n:02X}\n");
    (first..first + 5).map(row).collect()
}

#[test]
fn formats_without_a_check_keep_what_even_lines_make_sure() {
    let formats: [(&'static dyn Format, &str); 2] =
        [(&ti_txt::TiTxt, "q\n"), (&readmem::Readmem, "")];
    for (format, end) in formats {
        let sound = format!(
            "@F000\n{}@F100\n{}@F200\n20\n{end}",
            even_rows(1),
            even_rows(11)
        );
        let salvaged = |damaged: String| {
            let reading = salvage(format, damaged);
            let lines = reading.findings.facts.left_out.clone();
            let lines: Vec<_> = lines.iter().map(|l| (l.first, l.last, l.bytes)).collect();
            let errors = reading.findings.errors();
            let mut spans = spans(&reading.image);
            assert_eq!(spans.pop(), Some((0xF200, vec![0x20])));
            (spans, lines, errors)
        };
        let rows = |first: u8, last: u8| (first..=last).flat_map(|n| [n; 4]).collect::<Vec<u8>>();
        let second = (0xF100, rows(11, 15));
        assert_eq!(
            salvaged(sound.clone()),
            (vec![(0xF000, rows(1, 5)), second.clone()], vec![], 0)
        );
        // A byte that can't be read, where it was: its line is left out, and the others keep their places.
        let wanted = vec![(0xF000, rows(1, 2)), (0xF00C, rows(4, 5)), second.clone()];
        let damaged = sound.replace("03 03 03 03", "03 0g 03 03");
        assert_eq!(salvaged(damaged), (wanted, vec![(4, 4, 3)], 1));
        // A byte lost or added moves all that follows, and may have begun in the line before.
        for row in [
            "03 03 03",
            "03 0303 03",
            "03 03 03 03 03",
            "03 03  03 03",
            "03 03 3 03",
        ] {
            let (found, lines, errors) = salvaged(sound.replace("03 03 03 03", row));
            assert_eq!(found, [(0xF000, rows(1, 1)), second.clone()], "{row}");
            assert_eq!((lines[0].0, lines[0].1), (3, 6), "{row}");
            assert!(errors > 0, "{row}");
        }
        // The first line after an address has no line before it.
        let (found, ..) = salvaged(sound.replace("01 01 01 01", "01 0g 01 01"));
        assert_eq!(found, std::slice::from_ref(&second));
        // An address that lost a digit.
        let (found, ..) = salvaged(sound.replace("@F100", "@F10"));
        assert_eq!(found, [(0xF000, rows(1, 5))]);
        // A section that runs into the next: some of its text is there twice.
        let close = sound.replace("@F100", "@F014");
        let first = "02 02 02 02\n";
        let (found, lines, errors) = salvaged(close.replace(first, &first.repeat(2)));
        assert_eq!((found, errors), (vec![], 1));
        assert_eq!(lines, [(2, 13, 44)]);
    }
}

#[test]
fn lines_as_people_type_them_are_taken_as_they_are() {
    let text = "@10\n1 2 3\n\n4 // four\n 5 6\n7 8 9 A B C\n@20 D\nE F\n";
    let image = salvage(&readmem::Readmem, text).clean();
    let wanted = [
        (0x10, (1..=12).collect::<Vec<u8>>()),
        (0x20, vec![13, 14, 15]),
    ];
    assert_eq!(spans(&image), wanted);
}

#[test]
fn two_differently_damaged_copies_give_back_the_original() {
    let bytes: Vec<u8> = (0..4000u32).map(|i| (i * 7 % 251) as u8).collect();
    let whole = image(&[(0x1000, &bytes)]);
    for name in ["intel-hex", "s-record", "tek-hex"] {
        let format = by_name(name).unwrap();
        let (text, _) = written(format, &whole, &WriteOptions::default());
        let damaged = |every: usize, from: usize| -> String {
            let lines = text.lines().enumerate();
            let damage = |(i, line): (usize, &str)| match i % every == from {
                true => line[..line.len() - 3].to_owned() + "\n",
                false => line.to_owned() + "\n",
            };
            lines.map(damage).collect()
        };
        let first = salvage(format, damaged(7, 3));
        let second = salvage(format, damaged(5, 1));
        // Lines 31, 66, ... are damaged in both.
        let mut salvaged = Salvaged::of(&first.findings, &first.image);
        let mut image = first.image;
        let more = Salvaged::of(&second.findings, &second.image);
        image.merge(second.image, Clash::Same).unwrap();
        salvaged.add(more, &image);
        let extent = whole.extent().unwrap();
        let holes: Vec<AddressRange> = image.holes(extent).collect();
        let missing: Vec<AddressRange> = salvaged.missing.iter().map(|m| m.range).collect();
        assert_eq!(missing, holes, "{name}");
        assert!(!holes.is_empty());
        let third = salvage(format, damaged(7, 2));
        let more = Salvaged::of(&third.findings, &third.image);
        image.merge(third.image, Clash::Same).unwrap();
        salvaged.add(more, &image);
        assert!(image.same_bytes(&whole), "{name}");
        assert_eq!(salvaged.missing, []);
        assert_eq!(salvaged.bytes, 4000);
    }
}
