use super::support::*;

proptest! {
    #[test]
    fn a_second_copy_has_every_byte_and_every_hole(
        image in images(), range in ranges(), to in 0u64..200, last: bool,
    ) {
        let before = bytes_of(&image);
        let moved = before.range(range.first()..=range.last());
        let moved: Bytes = moved.map(|(at, byte)| (at - range.first() + to, *byte)).collect();
        let clash = if last { Clash::Last } else { Clash::Refuse };
        let mut copied = image.clone();
        match copy(&mut copied, range, to, clash, Large::Refuse) {
            Ok(count) => {
                prop_assert_eq!(count, moved.len() as u64);
                let mut model = before.clone();
                model.extend(moved.clone());
                prop_assert_eq!(bytes_of(&copied), model);
            }
            Err(OpError::Nothing { .. }) => prop_assert!(moved.is_empty()),
            Err(OpError::Clash(_)) => {
                prop_assert!(!last && moved.keys().any(|at| before.contains_key(at)));
                prop_assert_eq!(bytes_of(&copied), before);
            }
            Err(other) => prop_assert!(false, "{other}"),
        }
    }

    #[test]
    fn bytes_are_found_wherever_they_stand(
        bytes in prop::collection::vec(0u8..2, 1..40), gap in 1u64..9, looked_for in prop::collection::vec(0u8..2, 0..14),
    ) {
        // Two spans of few values: much is found, overlapping too, and nothing across the hole.
        let mut image = image(7, &bytes);
        image.put(7 + bytes.len() as u64 + gap, bytes.clone(), file("b")).unwrap();
        let held = bytes_of(&image);
        let stands = |at: &u64| {
            let mut all = (*at..).zip(&looked_for);
            all.all(|(at, byte)| held.get(&at) == Some(byte))
        };
        let wanted: Vec<u64> = match looked_for.is_empty() {
            true => Vec::new(),
            false => (0..120).filter(stands).collect(),
        };
        let found: Vec<u64> = find_bytes(&image, &looked_for).collect();
        prop_assert_eq!(found, wanted);
    }

    #[test]
    fn halves_of_bytes_are_four_bits_each_and_join_back(image in images()) {
        let halves = split_nibbles(image.clone());
        for (at, byte) in bytes_of(&image) {
            let both = [halves[0].byte(at), halves[1].byte(at)];
            prop_assert_eq!(both, [Some(byte & 0x0F), Some(byte >> 4)]);
        }
        prop_assert!(join_nibbles(halves.into()).unwrap().same_bytes(&image));
    }
}

/// Bytes and places have limits of their own, and what is allowed beyond them is asked for before it is made.
#[test]
fn too_many_copies_have_to_be_asked_for() {
    let rom = || image(0, &[1, 2]);
    let spread_over = |banks, large| {
        let (mut rom, block) = (rom(), r(0, 1));
        spread(&mut rom, block, 0x10, banks, OverData::Refuse, large)
    };
    assert!(spread_over(SCATTERED / 64, Large::Refuse).is_ok());
    let scattered = spread_over(SCATTERED + 2, Large::Refuse);
    let places = SCATTERED + 1;
    assert_eq!(scattered, Err(OpError::Scattered { places }));
    let large = spread_over(LARGE, Large::Refuse);
    assert!(matches!(large, Err(OpError::Large { .. })));
    let memory = spread_over(1 << 59, Large::Allow);
    assert!(matches!(memory, Err(OpError::Memory(_))));

    // A hole between the copies makes each of them a place.
    let mut holed = image(0, &[1]);
    let size = 4 * SCATTERED;
    holed.put(3, vec![2], file("b")).unwrap();
    let refused = repeat(&mut holed, size, PartBase::At(0), Large::Refuse);
    assert!(matches!(refused, Err(OpError::Scattered { .. })));
    assert_eq!(holed.len(), 2);
    for made in [
        pad(
            &mut rom(),
            u64::MAX - 1,
            PartBase::At(0),
            0xFF,
            Large::Allow,
        )
        .err(),
        fill(&mut rom(), &[0xFF], Some(r(0, u64::MAX - 1)), Large::Allow).err(),
        repeat(&mut rom(), 1 << 63, PartBase::At(0), Large::Allow).err(),
    ] {
        assert!(matches!(made, Some(OpError::Memory(_))), "{made:?}");
    }
}

#[test]
fn a_block_is_spread_to_the_same_place_of_every_bank() {
    let mut rom = image(0x1E, &[1, 2]);
    assert_eq!(
        spread(
            &mut rom,
            r(0x1E, 0x1F),
            0x10,
            4,
            OverData::Refuse,
            Large::Refuse
        )
        .unwrap(),
        3
    );
    let wanted = [0x0E, 0x1E, 0x2E, 0x3E].map(|at| [(at, 1), (at + 1, 2)]);
    assert_eq!(
        bytes_of(&rom),
        wanted.into_iter().flatten().collect::<Bytes>()
    );
    // Again: equal bytes are no data to lose.
    assert_eq!(
        spread(
            &mut rom,
            r(0x1E, 0x1F),
            0x10,
            4,
            OverData::Refuse,
            Large::Refuse
        )
        .unwrap(),
        3
    );

    let across = spread(
        &mut rom,
        r(0x1E, 0x20),
        0x10,
        4,
        OverData::Refuse,
        Large::Refuse,
    );
    assert!(matches!(across, Err(OpError::AcrossBanks { .. })));
    let hollow = spread(
        &mut rom,
        r(0x10, 0x11),
        0x10,
        4,
        OverData::Refuse,
        Large::Refuse,
    );
    assert!(matches!(hollow, Err(OpError::Nothing { .. })));

    // Filler gives way, other data only when told to.
    let mut rom = image(0x0E, &[1, 2]);
    rom.fill_holes(r(0x1E, 0x1F), |_| 0xFF);
    rom.put(0x2F, vec![9], file("b")).unwrap();
    let before = bytes_of(&rom);
    match spread(
        &mut rom,
        r(0x0E, 0x0F),
        0x10,
        3,
        OverData::Refuse,
        Large::Refuse,
    ) {
        Err(OpError::SpreadOverData {
            bank,
            address,
            origin,
        }) => {
            assert_eq!((bank, address, origin.to_string()), (2, 0x2F, "b".into()));
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(bytes_of(&rom), before);
    assert_eq!(
        spread(
            &mut rom,
            r(0x0E, 0x0F),
            0x10,
            2,
            OverData::Refuse,
            Large::Refuse
        )
        .unwrap(),
        1
    );
    assert_eq!((rom.byte(0x1E), rom.byte(0x1F)), (Some(1), Some(2)));
    assert_eq!(
        spread(
            &mut rom,
            r(0x0E, 0x0F),
            0x10,
            3,
            OverData::Replace,
            Large::Refuse
        )
        .unwrap(),
        2
    );
    assert_eq!(rom.byte(0x2F), Some(2));
}

/// A copy inside an image changes it where it is: the image is not copied for that, however large it is.
#[test]
fn a_copy_or_a_spread_changes_the_image_in_place() {
    let bytes: Vec<u8> = (0..1 << 20).map(|i| (i >> 4) as u8).collect();
    let mut image = Image::from_bytes(0, bytes, file("a")).unwrap();
    let at = image.spans()[0].bytes().as_ptr();
    let half = r(0, (1 << 19) - 1);
    copy(&mut image, half, 1 << 19, Clash::Last, Large::Refuse).unwrap();
    assert_eq!(image.spans()[0].bytes().as_ptr(), at);
    let bank = r(0, (1 << 17) - 1);
    spread(
        &mut image,
        bank,
        1 << 18,
        4,
        OverData::Replace,
        Large::Refuse,
    )
    .unwrap();
    assert_eq!(image.spans()[0].bytes().as_ptr(), at);
    assert_eq!(image.byte((1 << 18) + 0x17), Some(1));
}
