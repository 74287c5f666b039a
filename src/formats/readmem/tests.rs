//! Source of the rules: IEEE Std 1364-2005, 17.2.9. What tools do beyond it is common practice.

use super::Readmem;
use crate::formats::tests::*;
use crate::image::Entry;

fn words(word: u8, order: Order) -> ReadOptions {
    ReadOptions {
        word,
        order,
        ..ReadOptions::default()
    }
}

fn write_words(word: u8, order: Order) -> WriteOptions {
    WriteOptions {
        word,
        order,
        ..WriteOptions::default()
    }
}

#[test]
fn numbers_follow_one_another_from_address_0() {
    let image = read_strictly(&Readmem, "A9 00\n8D\n").clean();
    assert_eq!(spans(&image), [(0, vec![0xA9, 0x00, 0x8D])]);
    assert_eq!(image.origin_at(2).unwrap().line, Some(2));
}

#[test]
fn an_address_counts_words_and_not_bytes() {
    let text = "@10 1234 5678\n@20 9ABC\n";
    let image = read_with(&Readmem, text, &words(2, Order::Big)).clean();
    let wanted = [
        (0x20, vec![0x12, 0x34, 0x56, 0x78]),
        (0x40, vec![0x9A, 0xBC]),
    ];
    assert_eq!(spans(&image), wanted);
}

#[test]
fn the_order_decides_which_byte_of_a_word_comes_first() {
    let text = "123456\n";
    let little = read_with(&Readmem, text, &words(3, Order::Little)).clean();
    assert_eq!(spans(&little), [(0, vec![0x56, 0x34, 0x12])]);
    let big = read_with(&Readmem, text, &words(3, Order::Big)).clean();
    assert_eq!(spans(&big), [(0, vec![0x12, 0x34, 0x56])]);
}

#[test]
fn comments_and_white_space_of_every_kind_part_numbers() {
    for text in [
        "01 02 03",
        "01\t02\x0C03\r\n",
        "// Heron-8\n01 // one\n02\n// two @FF\n03",
        "/* Heron-8 */ 01/**/02 /* a\nb\n */03",
        "01/* 99 */02//99\r03",
        "01 /* // */ 02 // /*\n03",
        "01/***/02/*/ 99 /*/03",
    ] {
        let image = read_strictly(&Readmem, text).clean();
        assert_eq!(spans(&image), [(0, vec![1, 2, 3])], "{text:?}");
    }
}

#[test]
fn a_comment_may_be_longer_than_any_line() {
    for filler in ["x", "x ", "*", "/", "* "] {
        let filler = filler.repeat(200_000);
        // From a blank on the part is cut there, else in the middle of anything.
        for pad in 0..3 {
            let pad = "y".repeat(pad);
            let text = format!("01 /* {pad}{filler}*/ 02 //{pad}{filler}\n03");
            let image = read(&Readmem, text).clean();
            assert_eq!(spans(&image), [(0, vec![1, 2, 3])], "{}", &filler[..2]);
        }
    }
}

#[test]
fn underscores_inside_numbers_are_ignored() {
    let image = read_with(&Readmem, "12_34 5_6_", &words(2, Order::Big)).clean();
    assert_eq!(spans(&image), [(0, vec![0x12, 0x34, 0x00, 0x56])]);
    let error = read(&Readmem, "_1").one_error();
    assert_eq!(error, seen(1, 1, "_", Problem::NotHex));
}

#[test]
fn a_short_number_has_zeros_in_front() {
    let image = read(&Readmem, "1 2 C").clean();
    assert_eq!(spans(&image), [(0, vec![1, 2, 0xC])]);
}

#[test]
fn unknown_bits_are_refused_and_the_rest_keeps_its_place() {
    for digit in ["x", "X", "z", "Z", "?"] {
        let reading = read(&Readmem, format!("01 1{digit} 03"));
        assert_eq!(spans(&reading.image), [(0, vec![1]), (2, vec![3])]);
        assert_eq!(reading.one_error(), seen(1, 5, digit, Problem::UnknownBits));
    }
}

#[test]
fn what_is_no_number_is_refused_and_the_rest_keeps_its_place() {
    for (text, column, marked) in [
        ("01 G2 03", 4, "G"),
        ("01 +5 03", 4, "+"),
        ("01 2@ 03", 5, "@"),
        ("01 / 03", 4, "/"),
    ] {
        let reading = read(&Readmem, text);
        assert_eq!(
            spans(&reading.image),
            [(0, vec![1]), (2, vec![3])],
            "{text}"
        );
        assert_eq!(
            reading.one_error(),
            seen(1, column, marked, Problem::NotHex)
        );
    }
}

#[test]
fn a_number_wider_than_the_word_is_refused() {
    let reading = read(&Readmem, "01 0002 03 @10 04");
    assert_eq!(spans(&reading.image), [(0, vec![1]), (0x10, vec![4])]);
    let (line, column, marked, problem) = reading.one_error();
    assert_eq!((line, column, &marked[..]), (1, 4, "0002"));
    assert_eq!(problem, Problem::WideWord { digits: 4, word: 1 });
}

#[test]
fn numbers_that_are_all_narrower_than_the_word_are_a_warning() {
    let how = words(2, Order::Big);
    let (image, warning) = read_with(&Readmem, "A9 00", &how).one_warning();
    assert_eq!(spans(&image), [(0, vec![0, 0xA9, 0, 0])]);
    let narrow = Problem::NarrowWords { digits: 2, word: 2 };
    assert_eq!(warning, seen(0, 0, "", narrow));
    // One number that is wider, or a single digit, tells nothing.
    read_with(&Readmem, "A9 0100", &how).clean();
    read_with(&Readmem, "1 2", &how).clean();
}

#[test]
fn every_word_size_holds_its_largest_number() {
    for word in 1..=8u8 {
        let text = "FF".repeat(word.into());
        let image = read_with(&Readmem, &text, &words(word, Order::Big)).clean();
        assert_eq!(spans(&image), [(0, vec![0xFF; word.into()])]);
        let reading = read_with(&Readmem, text + "0", &words(word, Order::Big));
        assert!(matches!(reading.one_error().3, Problem::WideWord { .. }));
    }
}

#[test]
fn a_bad_address_is_an_error_and_its_words_are_not_taken() {
    for (address, column, marked, problem) in [
        ("@", 4, "@", Problem::BareMark),
        ("@x", 5, "x", Problem::NotHex),
        (
            "@FFFFFFFFFFFFFFFFF",
            4,
            "@FFFFFFFFFFFFFFFFF",
            Problem::LongAddress { digits: 17 },
        ),
    ] {
        let reading = read(&Readmem, format!("01 {address} 02 @5 03"));
        assert_eq!(spans(&reading.image), [(0, vec![1]), (5, vec![3])]);
        assert_eq!(reading.one_error(), seen(1, column, marked, problem));
    }
}

#[test]
fn words_beyond_the_last_address_are_an_error() {
    let reading = read(&Readmem, "@FFFFFFFFFFFFFFFE 01 02");
    assert_eq!(reading.one_error().3, Problem::OutOfSpace);
    let how = words(2, Order::Big);
    let reading = read_with(&Readmem, "@8000000000000000 0102", &how);
    assert_eq!(reading.one_error().3, Problem::OutOfSpace);
}

#[test]
fn a_comment_that_is_never_closed_is_an_error_where_it_begins() {
    for (text, line, column) in [
        ("01 /* 02\n03\n", 1, 4),
        ("01 /**/ 02\n/*/ 03\n\n04", 2, 1),
        ("/* 01 *\n/ 02", 1, 1),
    ] {
        let error = read(&Readmem, text).errors().remove(0);
        assert_eq!(
            error,
            seen(line, column, "/*", Problem::OpenComment),
            "{text:?}"
        );
    }
}

#[test]
fn a_line_of_any_length_is_read_whole() {
    let text = ["5A"; 300_000].join(" ");
    let image = read(&Readmem, text).clean();
    assert_eq!(spans(&image), [(0, vec![0x5A; 300_000])]);
}

#[test]
fn a_word_longer_than_any_is_an_error() {
    let text = format!("01 {} 02 @10 03", "0".repeat(200_000));
    let reading = read(&Readmem, text);
    assert_eq!(spans(&reading.image), [(0, vec![1]), (0x10, vec![3])]);
    let (line, column, _, problem) = reading.one_error();
    let most = LONGEST_LINE;
    assert_eq!((line, column, problem), (1, 4, Problem::LongWord { most }));
}

#[test]
fn a_file_without_data_is_an_error() {
    for text in ["", "// nothing\n", "@100\n"] {
        let error = read(&Readmem, text).one_error();
        assert_eq!(error, seen(0, 0, "", Problem::NoData), "{text:?}");
    }
}

#[test]
fn a_tail_of_1a_or_nuls_is_read_without_a_word_and_strictly_refused() {
    let text = "01\n\x1A\0";
    read(&Readmem, text).clean();
    let what = "bytes 1A or 00 between or after the words";
    let error = seen(2, 1, "\x1A\0", Problem::Untidy { what });
    assert_eq!(read_strictly(&Readmem, text).one_error(), error);
}

#[test]
fn a_unit_besides_the_word_is_refused() {
    let how = ReadOptions {
        unit: 2,
        ..words(2, Order::Big)
    };
    let error = read_with(&Readmem, "0102", &how).one_error();
    assert_eq!(error.3, Problem::UnitAndWord);
    let how = WriteOptions {
        unit: 2,
        ..WriteOptions::default()
    };
    let error = refused(&Readmem, &image(&[(0, &[1, 2])]), &how);
    assert!(matches!(error, WriteError::UnitAndWord));
}

#[test]
fn a_word_out_of_range_is_refused() {
    for word in [0, 9] {
        let reading = read_with(&Readmem, "01", &words(word, Order::Big));
        let problem = reading.one_error().3;
        assert!(matches!(
            problem,
            Problem::OutOfRange {
                option: ReadOption::Word,
                ..
            }
        ));
        let how = write_words(word, Order::Big);
        let error = refused(&Readmem, &image(&[(0, &[1])]), &how);
        assert!(matches!(
            error,
            WriteError::OutOfRange {
                option: WriteOption::Word,
                ..
            }
        ));
    }
}

#[test]
fn a_file_is_written_with_an_address_before_each_piece() {
    let image = image(&[(0x8000, &[1, 2, 3, 4]), (0x9000, &[5, 6])]);
    let (text, _) = written(&Readmem, &image, &WriteOptions::default());
    assert_eq!(text, "@8000\n01 02 03 04\n@9000\n05 06\n");
    let (text, _) = written(&Readmem, &image, &write_words(2, Order::Little));
    assert_eq!(text, "@4000\n0201 0403\n@4800\n0605\n");
    let how = WriteOptions {
        width: Some(2),
        crlf: true,
        address: AddressForm::Bits32,
        ..write_words(2, Order::Big)
    };
    let (text, _) = written(&Readmem, &image, &how);
    assert_eq!(text, "@00004000\r\n0102\r\n0304\r\n@00004800\r\n0506\r\n");
}

#[test]
fn part_words_are_refused_at_both_ends() {
    for (start, bytes) in [(1, &[1, 2][..]), (2, &[1, 2, 3])] {
        let error = refused(
            &Readmem,
            &image(&[(start, bytes)]),
            &write_words(2, Order::Big),
        );
        assert!(
            matches!(error, WriteError::PartWord { unit: 2, .. }),
            "{error}"
        );
    }
    let how = WriteOptions {
        width: Some(3),
        ..write_words(2, Order::Big)
    };
    let error = refused(&Readmem, &image(&[(0, &[1, 2])]), &how);
    assert!(matches!(error, WriteError::WidthUnit { width: 3, unit: 2 }));
}

#[test]
fn an_entry_point_has_no_place_and_that_is_said() {
    let mut image = image(&[(0, &[1])]);
    image.entry = Some(Entry::Linear(0x8000));
    let (_, written) = written(&Readmem, &image, &WriteOptions::default());
    assert_eq!(
        left_out(&written),
        ["a readmem file has no place for the entry point 0x8000"]
    );
}

#[test]
fn a_comment_may_end_or_begin_where_a_long_line_is_cut() {
    // The cut lies between the two characters of the end.
    let end = format!("/*{}*/02 03", "x".repeat(LONGEST_LINE - 3));
    assert_eq!(spans(&read(&Readmem, end).clean()), [(0, vec![2, 3])]);
    // The cut lies after an opening, whose `*` does not close it with the next `/`.
    let begin = format!("/*{}*//*/ 99 */02", "x".repeat(LONGEST_LINE - 6));
    assert_eq!(spans(&read(&Readmem, begin).clean()), [(0, vec![2])]);
}
