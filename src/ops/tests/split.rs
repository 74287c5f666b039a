use super::support::*;

/// An image of whole words: what lanes of one length can carry.
fn wide_images(n: u64) -> impl Strategy<Value = Image> {
    images().prop_map(move |mut image| {
        let last = image.extent().unwrap().last();
        let word = last - last % n;
        for a in word..word + n {
            image.put(a, vec![0x5A], file("end")).unwrap();
        }
        image
    })
}

proptest! {
    #[test]
    fn lanes_take_every_nth_byte_and_join_back(
        (n, image) in (2u64..=16).prop_flat_map(|n| (Just(n), wide_images(n))),
    ) {
        let lanes = split_lanes(image.clone(), n as u32).unwrap();
        prop_assert_eq!(lanes.len() as u64, n);
        for (i, lane) in (0..).zip(&lanes) {
            let model: Bytes = bytes_of(&image)
                .into_iter()
                .filter(|(a, _)| a % n == i)
                .map(|(a, b)| (a / n, b))
                .collect();
            prop_assert_eq!(bytes_of(lane), model);
        }
        let joined = join_lanes(lanes).unwrap();
        prop_assert!(joined.same_bytes(&image));
        for a in bytes_of(&image).keys() {
            let filler = |i: &Image| i.origin_at(*a).unwrap().source.is_filler();
            // Filler woven with data counts as data; the other way round data would be lost.
            prop_assert!(filler(&image) || !filler(&joined), "{:#X}", a);
        }
    }

    #[test]
    fn banks_are_cut_at_multiples_of_their_size_and_join_back(image in images(), size in 1u64..40) {
        let banks = split_banks(image.clone(), size).unwrap();
        prop_assert_eq!(banks.len() as u64, image.extent().unwrap().last() / size + 1);
        for (k, bank) in (0..).zip(&banks) {
            let model: Bytes = bytes_of(&image)
                .into_iter()
                .filter(|(a, _)| a / size == k)
                .map(|(a, b)| (a % size, b))
                .collect();
            prop_assert_eq!(bytes_of(bank), model);
        }
        let joined = join_banks(banks, size).unwrap();
        prop_assert!(joined.same_bytes(&image));
        prop_assert_eq!(origins_of(&joined), origins_of(&image));
    }

    #[test]
    fn joining_puts_every_byte_at_its_own_address_or_refuses(a in images(), b in images()) {
        let (one, two) = (bytes_of(&a), bytes_of(&b));
        let clash = one.keys().any(|at| two.contains_key(at));
        match join(vec![a, b]) {
            Err(OpError::JoinClash(overlap)) => {
                prop_assert!(clash);
                prop_assert_eq!(Some(&overlap.address), one.keys().find(|at| two.contains_key(at)));
            }
            Ok(joined) => {
                prop_assert!(!clash);
                prop_assert_eq!(bytes_of(&joined), one.into_iter().chain(two).collect::<Bytes>());
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }
}

#[test]
fn lanes_of_different_length_are_refused_with_figures() {
    let said = join_lanes(vec![
        image(0, &[0; 8]),
        image(0, &[0; 8]),
        image(0, &[0; 7]),
    ])
    .unwrap_err()
    .to_string();
    assert_eq!(
        said,
        "lanes must be equally long, but lane 2 goes up to 0x0006 and lane 0 up to 0x0007"
    );
    assert_eq!(
        split_lanes(Image::new(), 17).unwrap_err().to_string(),
        "17 lanes are not possible: a bus has 2 to 16"
    );
    assert!(join_lanes(vec![Image::new()]).is_err());
    assert!(split_lanes(Image::new(), 1).is_err());
}

#[test]
fn a_bank_too_long_is_refused_with_figures() {
    let said = join_banks(vec![image(0, &[0; 8]), image(1, &[0; 8])], 8)
        .unwrap_err()
        .to_string();
    assert_eq!(
        said,
        "bank 1 has a byte at 0x0008, but a bank ends at 0x0007"
    );
    let mut far = image(0, &[1]);
    far.put(65_536 * 16, vec![1], file("b")).unwrap();
    assert_eq!(
        split_banks(far, 16).unwrap_err().to_string(),
        "this would make 65537 banks, numbered from address 0"
    );
    assert!(split_banks(Image::new(), 16).is_err());
}

#[test]
fn entry_point_and_header_belong_to_the_whole() {
    let mut whole = image(0, &[1, 2, 3, 4]);
    whole.entry = Some(Entry::Linear(2));
    whole.header = Some(b"HERON".to_vec());
    for piece in split_lanes(whole.clone(), 2)
        .unwrap()
        .into_iter()
        .chain(split_banks(whole.clone(), 2).unwrap())
    {
        assert_eq!((piece.entry, piece.header), (None, None));
    }
    let joined = join(vec![image(0x10, &[9]), whole]).unwrap();
    assert_eq!(joined.entry, Some(Entry::Linear(2)));
    assert_eq!(joined.header.as_deref(), Some(&b"HERON"[..]));
}

#[test]
fn a_split_makes_65536_banks_at_most() {
    assert_eq!(split_banks(image(65_535, &[1]), 1).unwrap().len(), 65_536);
    let one_more = split_banks(image(65_536, &[1]), 1);
    assert_eq!(one_more.err(), Some(OpError::Banks(65_537)));
}

#[test]
fn halves_that_do_not_fit_together_are_refused() {
    let (low, high) = (image(4, &[1, 2]), image(4, &[3, 0x0F]));
    assert_eq!(
        join_nibbles(vec![low.clone(), high.clone()])
            .unwrap()
            .byte(5),
        Some(0xF2)
    );
    assert!(matches!(
        join_nibbles(vec![low.clone()]),
        Err(OpError::Halves(1))
    ));
    match join_nibbles(vec![low.clone(), image(4, &[3, 0x10])]) {
        Err(OpError::NotNibble {
            piece,
            address,
            byte,
        }) => {
            assert_eq!((piece, address, byte), (1, 5, 0x10));
        }
        other => panic!("{other:?}"),
    }
    let shorter = join_nibbles(vec![low, image(4, &[3])]);
    assert!(matches!(shorter, Err(OpError::UnequalLanes { .. })));
    // A hole on one side would lose what is on the other.
    let whole = image(4, &[1, 2, 3]);
    let mut hollow = whole.clone();
    hollow.remove(AddressRange::from_len(5, 1).unwrap());
    for (low, high, wanted) in [
        (&whole, &hollow, "the high half has no byte there"),
        (&hollow, &whole, "the low half has no byte there"),
    ] {
        match join_nibbles(vec![low.clone(), high.clone()]) {
            Err(OpError::Hole { hole, what }) => assert_eq!((hole.first(), what), (5, wanted)),
            other => panic!("{other:?}"),
        }
    }
    assert!(join_nibbles(vec![hollow.clone(), hollow]).is_ok());
}
