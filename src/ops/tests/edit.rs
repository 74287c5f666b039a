use super::support::*;

proptest! {
    #[test]
    fn swapping_reverses_each_aligned_word_or_changes_nothing(
        mut image in images(),
        width in prop::sample::select(vec![2u64, 4]),
    ) {
        let before = bytes_of(&image);
        let broken = before.keys().any(|a| {
            let word = a - a % width;
            (word..word + width).any(|b| !before.contains_key(&b))
        });
        let swapped = unchanged_when_refused(&mut image, |i| swap(i, width));
        prop_assert_eq!(swapped.is_err(), broken);
        if !broken {
            let model: Bytes = before
                .iter()
                .map(|(a, b)| (a - a % width + (width - 1 - a % width), *b))
                .collect();
            prop_assert_eq!(bytes_of(&image), model);
        }
    }

    #[test]
    fn patches_land_when_all_old_bytes_are_as_expected(
        mut image in images(),
        patches in prop::collection::vec(
            (0u64..100, prop::collection::vec(any::<u8>(), 1..5), any::<bool>(), any::<bool>()),
            1..4,
        ),
    ) {
        let before = bytes_of(&image);
        let mut right = true;
        let mut model = before.clone();
        let mut list = Vec::new();
        for (address, now, check, lie) in patches {
            let there: Option<Vec<u8>> = (address..address + now.len() as u64)
                .map(|a| before.get(&a).copied())
                .collect();
            let was = check.then(|| match there {
                Some(mut was) => {
                    if lie {
                        was[0] ^= 1;
                        right = false;
                    }
                    was
                }
                None => {
                    right = false;
                    vec![0; now.len()]
                }
            });
            model.extend((address..).zip(now.iter().copied()));
            list.push(Patch { address, was, now });
        }
        let patched = unchanged_when_refused(&mut image, |i| patch(i, &list));
        prop_assert_eq!(patched.is_ok(), right);
        if let Ok(holes) = patched {
            prop_assert_eq!(bytes_of(&image), model);
            prop_assert!(holes.iter().all(|PatchedHole(h)| !before.contains_key(&h.first())));
        }
    }
}

#[test]
fn a_word_with_a_hole_in_it_is_named() {
    // Words at 0, 4 and 8; the last stops after two bytes.
    let mut rom = image(0, &[0; 10]);
    assert_eq!(
        refusal(&mut rom, |i| swap(i, 4)),
        "the word at 0x0008 has a hole at 0x000A"
    );
    let mut rom = image(2, &[0; 6]);
    assert_eq!(
        refusal(&mut rom, |i| swap(i, 4)),
        "the word at 0x0000 has a hole at 0x0000"
    );
    swap(&mut rom, 2).unwrap();
}

#[test]
fn a_patch_for_another_version_is_refused_with_both_readings() {
    let mut rom = image(0x7F10, &[0xA9, 0x00]);
    let list = [
        Patch {
            address: 0x7F10,
            was: None,
            now: vec![1],
        },
        Patch {
            address: 0x7F11,
            was: Some(vec![0, 1]),
            now: vec![2],
        },
    ];
    assert_eq!(
        refusal(&mut rom, |i| patch(i, &list)),
        "0x7F11 holds 00 __, not 00 01. Is this the right version?"
    );
    let over_the_top = [Patch {
        address: u64::MAX,
        was: None,
        now: vec![1],
    }];
    refusal(&mut rom, |i| patch(i, &over_the_top));
}

#[test]
fn a_patch_into_a_hole_is_told() {
    let mut rom = image(0, &[1, 2]);
    let list = [Patch {
        address: 1,
        was: None,
        now: vec![7, 8, 9],
    }];
    assert_eq!(patch(&mut rom, &list), Ok(vec![PatchedHole(r(2, 3))]));
    assert_eq!(rom.origin_at(1).unwrap().to_string(), "patch");
}

#[test]
fn a_list_of_patches_is_read_line_by_line() {
    let text = "# Heron-8, monitor 1.0 to 1.1\n\
                0x7F10 was A9 00 now A9 01 # the new speed\n\
                \n\
                \t7F20h  now  text:NO  WAY#1 now\n\
                0x7F30 was text:was now EAEAEA\r\n\
                0x7F40 was text:snow no now 1F 1F 1F 1F 1F 1F 1F\n";
    let patch = |address, was: Option<&[u8]>, now: &[u8]| Patch {
        address,
        was: was.map(<[u8]>::to_vec),
        now: now.to_vec(),
    };
    assert_eq!(
        patches(text),
        [
            patch(0x7F10, Some(&[0xA9, 0]), &[0xA9, 1]),
            // Blanks inside a text stay as they are, and a # inside a word is no comment.
            patch(0x7F20, None, b"NO  WAY#1 now"),
            patch(0x7F30, Some(b"was"), &[0xEA; 3]),
            patch(0x7F40, Some(b"snow no"), &[0x1F; 7]),
        ]
    );
    assert_eq!(patches("# nothing\n\n"), []);
}

#[test]
fn a_wrong_line_in_a_list_of_patches_is_named() {
    let how = "write `0x7F10 was A9 00 now A9 01`";
    for (text, said) in [
        (
            "0x7F10 now 01\n0x7F11 02",
            "line 2: the word `now` is missing",
        ),
        (
            "now 02",
            "line 1: expected an address, `was` and the old bytes before `now`",
        ),
        (
            "0x7F10 00 now 02",
            "line 1: expected an address, `was` and the old bytes before `now`",
        ),
        (
            "7F10 now 02",
            "line 1: `7F10` has no mark that says it is hexadecimal: write 0x7F10 or 7F10h",
        ),
        (
            "0x10 was now 02",
            "line 1: there are no bytes here: write pairs of hex digits, such as EA EA 4C0080, or text:HELLO",
        ),
        (
            "0x10 now 2",
            "line 1: `2` has a hex digit without a partner: write 02",
        ),
        (
            "0x10 now",
            "line 1: there are no bytes here: write pairs of hex digits, such as EA EA 4C0080, or text:HELLO",
        ),
    ] {
        let error = patch_list(text).unwrap_err().to_string();
        assert_eq!(error, format!("{said}: {how}"), "{text}");
    }
}

#[test]
fn a_mark_fills_its_place_and_no_more() {
    let mut rom = image(0, &[0xFF; 8]);
    let put = |rom: &mut Image, at, text: &[u8], length, with| {
        mark(rom, at, text, length, with, OverData::Replace)
    };
    assert_eq!(put(&mut rom, 2, b"V1", Some(4), b' '), Ok(r(2, 5)));
    assert_eq!(rom.contiguous(r(0, 7)).unwrap(), b"\xFF\xFFV1  \xFF\xFF");
    assert_eq!(rom.origin_at(5).unwrap().to_string(), "mark");
    assert_eq!(put(&mut rom, 8, b"V1", None, b' '), Ok(r(8, 9)));
    let said = refusal(&mut rom, |i| put(i, 0, b"V1.0", Some(3), 0));
    assert!(said.contains('4') && said.contains('3'), "{said}");
    refusal(&mut rom, |i| put(i, u64::MAX - 1, b"V1", None, 0));
}

/// Finding A7: it went over loaded code, and said nothing.
#[test]
fn a_mark_goes_over_filler_and_marks_but_not_over_data() {
    let mut rom = image(2, &[1, 2]);
    rom.put(4, vec![0xFF; 8], Source::Filler).unwrap();
    let put = |rom: &mut Image, at, text: &[u8]| mark(rom, at, text, None, 0, OverData::Refuse);
    assert_eq!(put(&mut rom, 4, b"V1"), Ok(r(4, 5)));
    assert_eq!(put(&mut rom, 5, b"V2"), Ok(r(5, 6)));
    assert_eq!(put(&mut rom, 0, b"V3"), Ok(r(0, 1)));
    let said = refusal(&mut rom, |i| put(i, 3, b"V4"));
    assert!(
        said.starts_with("there is data at the mark's place 0x0003-0x0004 ("),
        "{said}"
    );
    // A stored sum is no filler either, and a text no place for a sum.
    let stamp = Stamp::new(Algo::SUM8, vec![r(0, 3)], 8);
    stamp.put(&mut rom).unwrap();
    refusal(&mut rom, |i| put(i, 7, b"V5"));
    refusal(&mut rom, |i| {
        Stamp::new(Algo::SUM8, vec![r(0, 3)], 5).put(i)
    });
    assert_eq!(
        mark(&mut rom, 3, b"V4", None, 0, OverData::Replace),
        Ok(r(3, 4))
    );
}

/// The patches of a list, without their lines and places.
fn patches(text: &str) -> Vec<Patch> {
    let listed = patch_list(text).unwrap().into_iter();
    listed.map(|listed| listed.patch).collect()
}

#[test]
fn a_list_may_name_places_and_has_equally_many_bytes() {
    let listed = patch_list("cpu:0xFFFC was 00 now 01\n\nbank3:0x4000 now EA").unwrap();
    let of = |n: usize| (listed[n].line, listed[n].place.to_string());
    assert_eq!((of(0), of(1)), ((1, "cpu:".into()), (3, "bank3:".into())));
    let error = patch_list("0 now 00\n0x10 was A9 01 now EA").unwrap_err();
    assert_eq!(
        error.to_string(),
        "line 2: there are 2 old bytes and 1 new ones, which must be equally many: write `0x7F10 was A9 00 now A9 01`"
    );
}
