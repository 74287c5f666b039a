//! Common practice, no source.

use super::RawLe16;
use crate::formats::tests::*;
use crate::image::Entry;

fn bytes_of(image: &Image) -> Vec<u8> {
    let mut out = Vec::new();
    RawLe16
        .write(image, &WriteOptions::default(), &mut out)
        .unwrap();
    out
}

#[test]
fn the_first_two_bytes_are_the_load_address_low_byte_first() {
    let file = [0x01, 0x80, 0xA9, 0x00, 0x60];
    let image = read_strictly(&RawLe16, file).clean();
    assert_eq!(spans(&image), [(0x8001, vec![0xA9, 0x00, 0x60])]);
    assert_eq!(bytes_of(&image), file);
}

#[test]
fn a_file_may_end_at_the_last_address_but_not_beyond() {
    let image = read(&RawLe16, [0xFE, 0xFF, 1, 2]).clean();
    assert_eq!(spans(&image), [(0xFFFE, vec![1, 2])]);
    let reading = read(&RawLe16, [0xFE, 0xFF, 1, 2, 3]);
    assert_eq!(spans(&reading.image), [(0xFFFE, vec![1, 2])]);
    let last = Problem::PastLast { last: 0xFFFF };
    assert_eq!(reading.one_error(), seen(0, 0, "", last));
}

#[test]
fn a_file_without_address_or_data_is_an_error() {
    for (file, problem) in [
        (&[][..], Problem::FileTooShort { wanted: 1, has: 0 }),
        (&[1], Problem::FileTooShort { wanted: 1, has: 1 }),
        (&[1, 0x80], Problem::NoData),
    ] {
        assert_eq!(read(&RawLe16, file).one_error(), seen(0, 0, "", problem));
    }
}

#[test]
fn a_hole_is_refused_and_named() {
    let error = refused(
        &RawLe16,
        &image(&[(0x8000, &[1]), (0x8004, &[2])]),
        &WriteOptions::default(),
    );
    assert_eq!(
        error.to_string(),
        "0x8001-0x8003 is a hole (1 in all), but a raw-le16 file can't contain holes"
    );
}

#[test]
fn addresses_beyond_16_bits_and_empty_images_are_refused() {
    for start in [0xFFFF, 0x1_0000, 0x1_0000_0000] {
        let error = refused(
            &RawLe16,
            &image(&[(start, &[1, 2])]),
            &WriteOptions::default(),
        );
        assert!(
            error
                .to_string()
                .ends_with("raw-le16 addresses end at 0xFFFF"),
            "{error}"
        );
    }
    let error = refused(&RawLe16, &Image::new(), &WriteOptions::default());
    assert!(matches!(error, WriteError::Empty));
}

#[test]
fn an_entry_point_has_no_place_and_that_is_said() {
    let mut image = image(&[(0, &[1])]);
    image.entry = Some(Entry::Linear(0x8000));
    let wrote = RawLe16.write(&image, &WriteOptions::default(), &mut Vec::new());
    assert_eq!(
        left_out(&wrote.unwrap()),
        ["a raw-le16 file has no place for the entry point 0x8000"]
    );
}

#[test]
fn padding_of_an_xmodem_transfer_is_a_warning() {
    let mut file = vec![0, 0x80];
    file.resize(100, 0x60);
    file.resize(128, 0x1A);
    let (image, warning) = read(&RawLe16, &file).one_warning();
    assert_eq!(image.len(), 126);
    assert_eq!(warning.3, Problem::TransferTail { run: 28 });
    file.pop();
    read(&RawLe16, &file).clean();
}
