use super::support::*;

#[test]
fn a_hole_is_not_a_byte() {
    let mut image = Image::from_bytes(0x10, vec![1, 2, 3, 4], file("a")).unwrap();
    image.remove(r(0x11, 0x12));
    assert_eq!(image.byte(0x11), None);
    assert_eq!(image.byte(0x13), Some(4));
    assert_eq!(
        image.holes(r(0x0E, 0x14)).collect::<Vec<_>>(),
        [r(0x0E, 0x0F), r(0x11, 0x12), r(0x14, 0x14)]
    );
    assert_sound(&image);
}

#[test]
fn the_last_usable_address_holds_a_byte_and_nothing_passes_it() {
    let top = AddressRange::TOP;
    let image = Image::from_bytes(top, vec![7], file("a")).unwrap();
    assert_eq!(image.byte(top), Some(7));
    assert_eq!(
        image.holes(r(top - 1, top)).collect::<Vec<_>>(),
        [r(top - 1, top - 1)]
    );
    assert!(Image::from_bytes(top, vec![7, 8], file("a")).is_err());
    let mut image = image;
    assert_eq!(image.shift(1), Err(OutOfSpace));
    assert_eq!(image.byte(top), Some(7));
}

#[test]
fn every_byte_can_be_edited_at_its_address() {
    let mut image = Image::from_bytes(4, vec![1, 2], file("a")).unwrap();
    image.put(9, vec![3], file("b")).unwrap();
    let edited = image.edit_bytes(|start, bytes| {
        bytes.iter_mut().for_each(|byte| *byte += start as u8);
        if start > 8 { Err(start) } else { Ok(()) }
    });
    assert_eq!(edited, Err(9));
    assert_eq!(bytes_of(&image), BTreeMap::from([(4, 5), (5, 6), (9, 12)]));
}

/// Common practice: an 8086 shifts the segment left by four bits and adds the offset.
#[test]
fn an_entry_point_in_a_segment_has_an_address() {
    let (cs, ip) = (0xF000, 0xFFF0);
    assert_eq!(Entry::Segmented { cs, ip }.address(), 0xF_FFF0);
    assert_eq!(Entry::Linear(0x8000).address(), 0x8000);
}

#[test]
fn what_is_kept_may_begin_at_address_0() {
    let mut image = Image::from_bytes(0, vec![1, 2, 3, 4], file("a")).unwrap();
    image.keep(&[r(2, 2), r(0, 0)]);
    assert_eq!(bytes_of(&image), BTreeMap::from([(0, 1), (2, 3)]));
    assert_sound(&image);
}

#[test]
fn images_are_the_same_when_every_byte_and_every_hole_is() {
    let image = |start, bytes: &[u8]| Image::from_bytes(start, bytes.to_vec(), file("a")).unwrap();
    assert!(image(1, &[2, 3]).same_bytes(&Image::from_bytes(1, vec![2, 3], file("b")).unwrap()));
    for other in [
        image(1, &[2, 4]),
        image(2, &[2, 3]),
        image(1, &[2]),
        image(1, &[2, 3, 4]),
    ] {
        assert!(!image(1, &[2, 3]).same_bytes(&other));
    }
}

#[test]
fn ranges_are_removed_in_any_order() {
    let whole = Image::from_bytes(0, (0..=255).collect(), file("a")).unwrap();
    // More than are taken one by one, backwards, two of them overlapping and one beyond the end.
    let mut ranges: Vec<AddressRange> = (0..12).rev().map(|n| r(n * 16, n * 16 + 3)).collect();
    ranges.extend([r(250, 400), r(2, 9)]);
    let mut one_by_one = whole.clone();
    ranges.iter().for_each(|range| one_by_one.remove(*range));
    let mut at_once = whole;
    at_once.remove_all(&ranges);
    assert_eq!(bytes_of(&at_once), bytes_of(&one_by_one));
    assert_sound(&at_once);
}

proptest! {
    #[test]
    fn merging_keep_remove_and_fill_agree_with_the_same_job_byte_by_byte(
        a in records(), b in records(), from in 0u64..320, len in 1u64..200,
    ) {
        let (one, two) = (built(&a, Clash::Last).unwrap(), built(&b, Clash::Last).unwrap());
        for (clash, first) in [(Clash::First, true), (Clash::Last, false)] {
            let mut image = one.clone();
            image.merge(two.clone(), clash).unwrap();
            assert_sound(&image);
            let mut model = bytes_of(&one);
            for (at, b) in bytes_of(&two) {
                if !(first && model.contains_key(&at)) { model.insert(at, b); }
            }
            prop_assert_eq!(bytes_of(&image), model);
        }
        let range = AddressRange::from_len(from, len).unwrap();
        let mut image = one.clone();
        image.remove(range);
        assert_sound(&image);
        prop_assert!(bytes_of(&image).into_iter().eq(bytes_of(&one).into_iter().filter(|(at, _)| !range.contains(*at))));
        let mut image = one.clone();
        image.keep(&[range]);
        assert_sound(&image);
        prop_assert!(image.same_bytes(&one.slice(range)));
        let mut image = one.clone();
        image.fill_holes(range, |_| 0xE5);
        assert_sound(&image);
        let mut model = bytes_of(&one);
        for at in range.first()..=range.last() { model.entry(at).or_insert(0xE5); }
        prop_assert_eq!(bytes_of(&image), model);
    }
}
