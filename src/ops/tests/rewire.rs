use super::support::*;

/// Each of so many lines once, in any order.
fn wires(most: usize) -> impl Strategy<Value = Vec<u8>> {
    (0..=most).prop_flat_map(|n| Just((0..n as u8).collect::<Vec<_>>()).prop_shuffle())
}

/// Chip line i carries the piece's line list[i], turned over where it is inverted; the others go straight.
fn through(from: u64, list: &[u8], inverted: u64) -> u64 {
    let bit = |i: usize| {
        let line = list.get(i).map_or(i, |line| usize::from(*line));
        (from >> line & 1) << i
    };
    (0..32).map(bit).sum::<u64>() ^ inverted
}

proptest! {
    #[test]
    fn rewiring_follows_each_wire_and_its_inverse_leads_back(
        image in images(), address in wires(7), data in wires(8),
        address_inverted in 0u32..0x100, data_inverted: u8,
    ) {
        let wiring = Wiring { address, data, address_inverted, data_inverted: data_inverted.into(), words: false };
        let mut rewired = image.clone();
        rewire(&mut rewired, &wiring, Large::Allow).unwrap();
        prop_assert_eq!(rewired.len(), image.len());
        for (at, byte) in bytes_of(&image) {
            let chip = through(at, &wiring.address, address_inverted.into());
            let byte = through(byte.into(), &wiring.data, data_inverted.into()) as u8;
            prop_assert_eq!(rewired.byte(chip), Some(byte), "{:X}", at);
        }
        rewire(&mut rewired, &wiring.inverse(), Large::Allow).unwrap();
        prop_assert!(rewired.same_bytes(&image));
    }
}

proptest! {
    #[test]
    fn words_are_rewired_word_by_word(
        words in prop::collection::btree_map(0u64..64, any::<u16>(), 1..40), address in wires(6), data in wires(16),
        address_inverted in 0u32..0x40, data_inverted: u16,
    ) {
        let mut image = Image::new();
        for (at, word) in &words {
            image.put(2 * at, word.to_le_bytes().to_vec(), file("a.bin")).unwrap();
        }
        let wiring = Wiring { address, data, address_inverted, data_inverted, words: true };
        let mut rewired = image.clone();
        rewire(&mut rewired, &wiring, Large::Refuse).unwrap();
        prop_assert_eq!(rewired.len(), image.len());
        for (at, word) in words {
            let chip = 2 * through(at, &wiring.address, address_inverted.into());
            let word = through(word.into(), &wiring.data, data_inverted.into()) as u16;
            prop_assert_eq!(read(&rewired, r(chip, chip + 1)), word.to_le_bytes());
        }
        rewire(&mut rewired, &wiring.inverse(), Large::Refuse).unwrap();
        prop_assert!(rewired.same_bytes(&image));
    }
}

#[test]
fn half_a_word_can_not_be_rewired() {
    let words = Wiring {
        data: vec![1, 0],
        words: true,
        ..Wiring::default()
    };
    let mut odd = image(0x10, &[1, 2, 3]);
    let said = refusal(&mut odd, |i| rewire(i, &words, Large::Refuse));
    assert_eq!(said, "the word at 0x0012 has a hole at 0x0013");
    // A byte has no D8.
    let bytes = Wiring {
        data_inverted: 0x600,
        ..Wiring::default()
    };
    let said = refusal(&mut odd, |i| rewire(i, &bytes, Large::Refuse));
    assert_eq!(
        said,
        "there is no D9: data lines are D0 to D7, or with --words D0 to D15"
    );
}

#[test]
fn a_block_far_larger_than_the_image_is_made_only_when_allowed() {
    let mut one = image(0, &[1]);
    let wired = |line: u32| Wiring {
        address_inverted: 1 << line,
        ..Wiring::default()
    };
    assert_eq!(rewire(&mut one, &wired(4), Large::Refuse), Ok(()));
    assert_eq!(one.byte(0x10), Some(1));
    let refused = rewire(&mut one, &wired(31), Large::Refuse);
    assert!(matches!(refused, Err(OpError::Large { .. })), "{refused:?}");
    assert_eq!(one.byte(0x10), Some(1));
    // 2^28 bytes may be made: 28 lines of bytes, 27 of words.
    let words = |line| Wiring {
        words: true,
        ..wired(line)
    };
    let mut word = image(0, &[1, 2]);
    let refused = rewire(&mut word, &words(27), Large::Refuse);
    assert_eq!(refused, Err(OpError::Large { bytes: 1 << 29 }));
}

#[test]
fn a_list_of_lines_names_each_line_once() {
    let check = |address: &[u8], data: &[u8]| {
        let wiring = Wiring {
            address: address.to_vec(),
            data: data.to_vec(),
            ..Wiring::default()
        };
        let mut image = image(0, &[1]);
        let refused = rewire(&mut image, &wiring, Large::Allow).is_err();
        let checked = wiring.check();
        assert_eq!(refused, checked.is_err());
        checked.map_err(|error| error.to_string())
    };
    let says = |text: &str| Err(text.to_owned());
    assert_eq!(check(&[], &[]), Ok(()));
    assert_eq!(check(&[1, 0, 2], &[7, 6, 5, 4, 3, 2, 1, 0]), Ok(()));
    assert_eq!(
        check(&[2, 0, 2], &[]),
        says("A2 stands twice and A1 is missing: each line goes to one place")
    );
    assert_eq!(
        check(&[], &[1, 2, 0, 4]),
        says(
            "D4 is outside D0-D3, the lines this list of 4 names: list every line up to the highest"
        )
    );
    let many: Vec<u8> = (0..9).collect();
    assert_eq!(
        check(&[], &many),
        says("9 lines are more than the 8 there can be without --words")
    );
}
