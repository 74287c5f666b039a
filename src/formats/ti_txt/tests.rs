//! Source of the rules: Texas Instruments, TI-TXT file format (SLAU131). What tools do beyond it is common practice.

use super::TiTxt;
use crate::formats::tests::*;
use crate::image::{Clash, Entry};

/// Worked example of SLAU131.
const EXAMPLE: &str = "\
@F000
31 40 00 03 B2 40 80 5A 20 01 D2 D3 22 00 D2 E3
21 00 3F 40 E8 FD 1F 83 FE 23 F9 3F
@FFFE
00 F0
q
";
const FIRST: &[u8] = b"\x31\x40\x00\x03\xB2\x40\x80\x5A\x20\x01\xD2\xD3\x22\x00\xD2\xE3\
    \x21\x00\x3F\x40\xE8\xFD\x1F\x83\xFE\x23\xF9\x3F";

fn options() -> ReadOptions {
    ReadOptions::default()
}

#[test]
fn the_worked_example_is_read_and_written_letter_for_letter() {
    let image = read_strictly(&TiTxt, EXAMPLE).clean();
    let wanted = [(0xF000, FIRST.to_vec()), (0xFFFE, vec![0x00, 0xF0])];
    assert_eq!(spans(&image), wanted);
    let (text, written) = written(&TiTxt, &image, &WriteOptions::default());
    assert_eq!(text, EXAMPLE);
    assert_eq!(written, Written::default());
    // Each byte knows its line.
    assert_eq!(image.origin_at(0xF010).unwrap().line, Some(3));
    assert_eq!(image.origin_at(0xFFFF).unwrap().line, Some(5));
}

#[test]
fn line_ends_blanks_case_and_padding_of_any_kind_are_read_without_a_word() {
    for text in [
        EXAMPLE.replace('\n', "\r\n"),
        EXAMPLE.replace('\n', "\r"),
        EXAMPLE.to_lowercase(),
        EXAMPLE.replace(' ', " \t "),
        EXAMPLE.replace('\n', " \n\n"),
        EXAMPLE.to_owned() + "\x1A\0\0",
        EXAMPLE.replace('q', "Q"),
        // All on one line.
        EXAMPLE.replace('\n', " "),
    ] {
        let image = read(&TiTxt, &text).clean();
        assert_eq!(image.byte(0xF01B), Some(0x3F), "{text:?}");
        assert_eq!(image.byte(0xFFFF), Some(0xF0), "{text:?}");
    }
}

#[test]
fn strict_refuses_what_the_rules_do_not_have() {
    let untidy = |what| Problem::Untidy { what };
    let full = "a line must have 16 bytes; only the last of a section may have fewer";
    let blanks = "bytes must be separated by single blanks";
    for (text, error) in [
        (
            "@2000\n0a\nq\n",
            seen(2, 2, "a", untidy("a hex digit in lower case")),
        ),
        ("@2000\n01  02\nq\n", seen(2, 3, " ", untidy(blanks))),
        ("@2000\n01\t02\nq\n", seen(2, 3, "\t", untidy(blanks))),
        ("@2000\n01 02 \nq\n", seen(2, 6, " ", untidy(blanks))),
        ("@2000\n 01 02\nq\n", seen(2, 1, " ", untidy(blanks))),
        (
            "@2000\n01\nQ\n",
            seen(3, 1, "Q", untidy("the end mark in upper case")),
        ),
        ("@2000\n01\n02\nq\n", seen(2, 1, "01", untidy(full))),
    ] {
        read(&TiTxt, text).clean();
        assert_eq!(read_strictly(&TiTxt, text).one_error(), error, "{text:?}");
    }
    let long = format!("@2000\n{}\nq\n", ["00"; 17].join(" "));
    read(&TiTxt, &long).clean();
    let (_, _, _, problem) = read_strictly(&TiTxt, &long).one_error();
    assert_eq!(problem, untidy(full));
}

#[test]
fn a_section_may_start_at_an_odd_address_but_not_strictly() {
    let text = "@2001\n01\nq\n";
    assert_eq!(spans(&read(&TiTxt, text).clean()), [(0x2001, vec![1])]);
    let odd = Problem::OddStart { address: 0x2001 };
    assert_eq!(
        read_strictly(&TiTxt, text).one_error(),
        seen(1, 1, "@2001", odd)
    );
}

#[test]
fn data_before_the_first_address_is_an_error_and_is_not_taken() {
    let reading = read(&TiTxt, "01 02\n@2000\n03\nq\n");
    assert_eq!(spans(&reading.image), [(0x2000, vec![3])]);
    assert_eq!(reading.one_error(), seen(1, 1, "01", Problem::NoAddress));
}

#[test]
fn a_damaged_digit_costs_one_byte_and_the_rest_keeps_its_place() {
    for (word, column, marked) in [("G1", 4, "G"), ("1g", 5, "g")] {
        let reading = read(&TiTxt, format!("@2000\n01 {word} 03\n04\nq\n"));
        assert_eq!(
            spans(&reading.image),
            [(0x2000, vec![1]), (0x2002, vec![3, 4])]
        );
        assert_eq!(
            reading.one_error(),
            seen(2, column, marked, Problem::NotHex)
        );
    }
}

#[test]
fn behind_a_lost_or_extra_digit_nothing_is_taken_up_to_the_next_address() {
    let at_the_end = read(&TiTxt, "@2000\n01 033\nq\n").one_error();
    assert_eq!(at_the_end, seen(2, 4, "033", Problem::NoPair { has: 3 }));
    for (word, has) in [("3", 1), ("033", 3), ("0304", 4)] {
        let reading = read(&TiTxt, format!("@2000\n01 {word} 05\n06\n@3000\n07\nq\n"));
        assert_eq!(
            spans(&reading.image),
            [(0x2000, vec![1]), (0x3000, vec![7])]
        );
        assert_eq!(
            reading.one_error(),
            seen(2, 4, word, Problem::NoPair { has })
        );
    }
}

#[test]
fn a_bad_address_is_an_error_and_its_section_is_not_taken() {
    for (address, column, marked, problem) in [
        ("@", 1, "@", Problem::BareMark),
        ("@20G0", 4, "G", Problem::NotHex),
        ("@-1", 2, "-", Problem::NotHex),
        ("@+5", 2, "+", Problem::NotHex),
        (
            "@12345678123456781",
            1,
            "@12345678123456781",
            Problem::LongAddress { digits: 17 },
        ),
    ] {
        let reading = read(&TiTxt, format!("{address}\n01 02\n@3000\n07\nq\n"));
        assert_eq!(spans(&reading.image), [(0x3000, vec![7])], "{address}");
        assert_eq!(reading.one_error(), seen(1, column, marked, problem));
    }
}

#[test]
fn an_address_may_have_any_number_of_zeros_in_front() {
    let image = read(&TiTxt, "@0000000000000000000000002000\n01\nq\n").clean();
    assert_eq!(spans(&image), [(0x2000, vec![1])]);
}

#[test]
fn bytes_beyond_the_last_address_are_an_error() {
    let reading = read(&TiTxt, "@FFFFFFFFFFFFFFFE\n01 02\nq\n");
    let (line, _, _, problem) = reading.one_error();
    assert_eq!((line, problem), (2, Problem::OutOfSpace));
}

#[test]
fn a_missing_end_is_a_warning_and_strictly_an_error() {
    let text = "@2000\n01\n";
    let (image, warning) = read(&TiTxt, text).one_warning();
    assert_eq!(spans(&image), [(0x2000, vec![1])]);
    let no_end = seen(0, 0, "", Problem::NoEnd { example: "q" });
    assert_eq!(warning, no_end);
    assert_eq!(read_strictly(&TiTxt, text).one_error(), no_end);
}

#[test]
fn padding_behind_data_without_an_end_is_read_without_a_word() {
    for padding in ["\x1A", "\0\0", "\x1A\0 \x1A\n"] {
        let text = format!("@2000\n01 02\n{padding}");
        let (image, warning) = read(&TiTxt, &text).one_warning();
        assert_eq!(spans(&image), [(0x2000, vec![1, 2])]);
        assert_eq!(warning.3, Problem::NoEnd { example: "q" });
        assert_eq!(likeness(&text), Likeness::Likely);
    }
    assert_eq!(likeness("\x1A @2000 01"), Likeness::No);
}

fn likeness(text: &str) -> Likeness {
    TiTxt.likeness(&Head::new(text.as_bytes(), true))
}

#[test]
fn without_an_end_a_long_address_leaves_the_format_open() {
    // Five digits are what a tool writes; more, without `q`, may be another format's word address.
    assert_eq!(likeness("@12345\n01"), Likeness::Likely);
    assert_eq!(likeness("@123456\n01"), Likeness::Possible);
    assert_eq!(likeness("@123456\n01\nq"), Likeness::Likely);
    for no in ["", "q", "@2000", "@2000\nq", "01 02\nq", "@2000\n012\nq"] {
        assert_eq!(likeness(no), Likeness::No, "{no}");
    }
}

#[test]
fn a_damaged_byte_makes_no_line_short() {
    let line = ["00"; 15].join(" ");
    let text = format!("@2000\n{line} 0G\n{line} 00\nq\n");
    let error = read_strictly(&TiTxt, text).one_error();
    assert_eq!(error, seen(2, 47, "G", Problem::NotHex));
}

#[test]
fn what_follows_the_end_is_not_read_and_said_so() {
    let (image, warning) = read(&TiTxt, "@2000\n01\nq\n@3000\n02\n").one_warning();
    assert_eq!(spans(&image), [(0x2000, vec![1])]);
    let behind = Problem::AfterEnd {
        lines: 2,
        records: 0,
    };
    assert_eq!(warning, seen(4, 1, "@3000", behind));
    let (_, warning) = read(&TiTxt, "@2000\n01\nq 02\n").one_warning();
    assert_eq!(warning, seen(3, 3, "02", Problem::Outside));
}

#[test]
fn a_file_without_data_is_an_error() {
    for text in ["", "\n\n", "q\n"] {
        let reading = read(&TiTxt, text);
        let no_data = seen(0, 0, "", Problem::NoData);
        assert_eq!(reading.one_error(), no_data, "{text:?}");
    }
}

#[test]
fn two_sections_at_one_address_clash_and_name_both_lines() {
    let text = "@2000\n01 02\n@2001\n03\nq\n";
    let (_, _, _, problem) = read(&TiTxt, text).one_error();
    let said = Problem::label(&problem);
    assert!(
        said.contains("line 2 puts 02") && said.contains("line 4 puts 03"),
        "{said}"
    );
    let how = ReadOptions {
        clash: Clash::Last,
        ..options()
    };
    let image = read_with(&TiTxt, text, &how).clean();
    assert_eq!(spans(&image), [(0x2000, vec![1, 3])]);
}

#[test]
fn a_line_of_any_length_is_read_whole() {
    let text = format!("@2000\n{}\nq\n", ["5A"; 100_000].join(" "));
    let image = read(&TiTxt, text).clean();
    assert_eq!(spans(&image), [(0x2000, vec![0x5A; 100_000])]);
}

#[test]
fn a_word_longer_than_any_is_an_error_with_its_column() {
    let text = format!("@2000\n01 {}\n@3000\n02\nq\n", "A".repeat(200_000));
    let reading = read(&TiTxt, text);
    assert_eq!(
        spans(&reading.image),
        [(0x2000, vec![1]), (0x3000, vec![2])]
    );
    let (line, column, _, problem) = reading.one_error();
    assert_eq!((line, column), (2, 4));
    let most = LONGEST_LINE;
    assert_eq!(problem, Problem::LongWord { most });
}

#[test]
fn addresses_that_count_words_are_read_and_written() {
    let how = ReadOptions {
        unit: 2,
        ..options()
    };
    let image = read_with(&TiTxt, "@0100\n01 02 03 04\nq\n", &how).clean();
    assert_eq!(spans(&image), [(0x200, vec![1, 2, 3, 4])]);
    let how = WriteOptions {
        unit: 2,
        width: Some(2),
        ..WriteOptions::default()
    };
    let (text, _) = written(&TiTxt, &image, &how);
    assert_eq!(text, "@0100\n01 02\n03 04\nq\n");
}

#[test]
fn an_address_that_the_unit_carries_out_of_64_bits_is_an_error() {
    let how = ReadOptions {
        unit: 8,
        ..options()
    };
    let reading = read_with(&TiTxt, "@8000000000000000\n01\nq\n", &how);
    let (line, _, _, problem) = reading.one_error();
    assert_eq!((line, problem), (1, Problem::OutOfSpace));
}

#[test]
fn a_unit_out_of_range_is_an_error() {
    for unit in [0, 9] {
        let how = ReadOptions { unit, ..options() };
        let (_, _, _, problem) = read_with(&TiTxt, EXAMPLE, &how).one_error();
        assert!(matches!(
            problem,
            Problem::OutOfRange {
                option: ReadOption::Unit,
                ..
            }
        ));
        let how = WriteOptions {
            unit,
            ..WriteOptions::default()
        };
        let error = refused(&TiTxt, &image(&[(0, &[1])]), &how);
        assert!(matches!(
            error,
            WriteError::OutOfRange {
                option: WriteOption::Unit,
                ..
            }
        ));
    }
}

#[test]
fn the_address_form_bounds_addresses_and_sets_their_digits() {
    let image = image(&[(0x1_0000, &[1])]);
    let how = |address| WriteOptions {
        address,
        ..WriteOptions::default()
    };
    let (text, _) = written(&TiTxt, &image, &how(AddressForm::Smallest));
    assert_eq!(text, "@10000\n01\nq\n");
    let (text, _) = written(&TiTxt, &image, &how(AddressForm::Bits32));
    assert_eq!(text, "@00010000\n01\nq\n");
    let error = refused(&TiTxt, &image, &how(AddressForm::Bits16));
    assert_eq!(
        error.to_string(),
        "the image goes up to 0x10000, but 16-bit addresses end at 0xFFFF"
    );
}

#[test]
fn an_entry_point_has_no_place_and_that_is_said() {
    let mut image = image(&[(0, &[1])]);
    image.entry = Some(Entry::Linear(0x8000));
    let (text, written) = written(&TiTxt, &image, &WriteOptions::default());
    assert_eq!(text, "@0000\n01\nq\n");
    assert_eq!(
        left_out(&written),
        ["a ti-txt file has no place for the entry point 0x8000"]
    );
}
