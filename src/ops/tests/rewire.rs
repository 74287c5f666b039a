use super::support::*;
use crate::wiring::{Width, Wiring};

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
        let wiring = Wiring::new(Width::Eight, address, data).unwrap();
        let wiring = wiring.inverting(address_inverted, data_inverted.into()).unwrap();
        let mut rewired = image.clone();
        rewire(&mut rewired, &wiring, Large::Allow).unwrap();
        prop_assert_eq!(rewired.len(), image.len());
        for (at, byte) in bytes_of(&image) {
            let chip = through(at, wiring.address(), address_inverted.into());
            let byte = through(byte.into(), wiring.data(), data_inverted.into()) as u8;
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
        let wiring = Wiring::new(Width::Sixteen, address, data).unwrap();
        let wiring = wiring.inverting(address_inverted, data_inverted).unwrap();
        let mut rewired = image.clone();
        rewire(&mut rewired, &wiring, Large::Refuse).unwrap();
        prop_assert_eq!(rewired.len(), image.len());
        for (at, word) in words {
            let chip = 2 * through(at, wiring.address(), address_inverted.into());
            let word = through(word.into(), wiring.data(), data_inverted.into()) as u16;
            prop_assert_eq!(read(&rewired, r(chip, chip + 1)), word.to_le_bytes());
        }
        rewire(&mut rewired, &wiring.inverse(), Large::Refuse).unwrap();
        prop_assert!(rewired.same_bytes(&image));
    }
}

#[test]
fn half_a_word_can_not_be_rewired() {
    let words = Wiring::new(Width::Sixteen, Vec::new(), vec![1, 0]).unwrap();
    let mut odd = image(0x10, &[1, 2, 3]);
    let said = refusal(&mut odd, |i| rewire(i, &words, Large::Refuse));
    assert_eq!(said, "the word at 0x0012 has a hole at 0x0013");
}

#[test]
fn a_block_far_larger_than_the_image_is_made_only_when_allowed() {
    let mut one = image(0, &[1]);
    let of_width = |width, line: u32| {
        let straight = Wiring::new(width, Vec::new(), Vec::new()).unwrap();
        straight.inverting(1 << line, 0).unwrap()
    };
    let wired = |line| of_width(Width::Eight, line);
    assert_eq!(rewire(&mut one, &wired(4), Large::Refuse), Ok(()));
    assert_eq!(one.byte(0x10), Some(1));
    let refused = rewire(&mut one, &wired(31), Large::Refuse);
    assert!(matches!(refused, Err(OpError::Large { .. })), "{refused:?}");
    assert_eq!(one.byte(0x10), Some(1));
    // 2^28 bytes may be made: 28 lines of bytes, 27 of words.
    let words = |line| of_width(Width::Sixteen, line);
    let mut word = image(0, &[1, 2]);
    let refused = rewire(&mut word, &words(27), Large::Refuse);
    assert_eq!(refused, Err(OpError::Large { bytes: 1 << 29 }));
}
