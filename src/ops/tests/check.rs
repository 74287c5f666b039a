use super::support::*;

proptest! {
    #[test]
    fn blank_means_no_byte_but_the_erased_one(
        image in images(),
        range in ranges(),
        erased in any::<u8>(),
    ) {
        let first = bytes_of(&image)
            .into_iter()
            .find(|(a, b)| range.contains(*a) && *b != erased);
        prop_assert_eq!(blank(&image, range, erased), first);
    }

    #[test]
    fn full_means_no_hole_between_first_and_last(image in images()) {
        let bytes = bytes_of(&image);
        let extent = image.extent().unwrap();
        let first_hole = (extent.first()..=extent.last()).find(|a| !bytes.contains_key(a));
        prop_assert_eq!(full(&image).unwrap().map(AddressRange::first), first_hole);
    }
}

#[test]
fn bytes_are_compared_with_holes_shown_as_holes() {
    let rom = image(0x10, &[1, 2]);
    assert_eq!(bytes_at(&rom, 0x10, &[1, 2]), None);
    assert_eq!(bytes_at(&rom, 0x11, &[2, 3]), Some(vec![Some(2), None]));
    assert_eq!(bytes_at(&rom, u64::MAX, &[1, 2]), Some(vec![None, None]));
    assert!(full(&Image::new()).is_err());
}

#[test]
fn a_vector_is_read_in_both_orders_and_all_widths() {
    // The bytes 12 34 56 78 at 0xFFFC.
    let rom = image(0xFFFC, &[0x12, 0x34, 0x56, 0x78]);
    for (width, little, big) in [
        (1, 0x12, 0x12),
        (2, 0x3412, 0x1234),
        (3, 0x56_3412, 0x12_3456),
        (4, 0x7856_3412, 0x1234_5678),
    ] {
        let at = |order| {
            let vector = Pointer {
                address: 0xFFFC,
                width,
                order,
            };
            pointer(&rom, vector).unwrap()
        };
        assert_eq!((at(Order::Little), at(Order::Big)), (little, big));
    }
    let broken = Pointer {
        address: 0xFFFF,
        width: 2,
        order: Order::Little,
    };
    assert_eq!(
        pointer(&rom, broken).unwrap_err().to_string(),
        "0x10000 is a hole, but a vector needs every byte"
    );
    let too_far = Pointer {
        address: u64::MAX,
        ..broken
    };
    assert!(pointer(&rom, too_far).is_err());
}
