use super::support::*;

proptest! {
    #[test]
    fn filling_closes_every_hole_and_touches_no_byte(
        mut image in images(),
        pattern in prop::collection::vec(any::<u8>(), 1..5),
        range in prop::option::of(ranges()),
    ) {
        let mut model = bytes_of(&image);
        let place = range.or(image.extent()).unwrap();
        let mut made = 0;
        for a in place.first()..=place.last() {
            model.entry(a).or_insert_with(|| {
                made += 1;
                pattern[(a % pattern.len() as u64) as usize]
            });
        }
        prop_assert_eq!(fill(&mut image, &pattern, range, Large::Refuse), Ok(made));
        prop_assert_eq!(bytes_of(&image), model);
    }

    #[test]
    fn filler_is_known_as_filler_and_data_stays_data(mut image in images()) {
        let before = image.clone();
        fill(&mut image, &[0xFF], None, Large::Refuse).unwrap();
        for a in bytes_of(&image).keys() {
            let filler = match before.origin_at(*a) {
                Some(origin) => origin.source.is_filler(),
                None => true,
            };
            prop_assert_eq!(image.origin_at(*a).unwrap().source.is_filler(), filler, "{:#X}", a);
        }
    }
}

#[test]
fn a_filling_pattern_is_aligned_to_address_0_wherever_the_hole_begins() {
    // 0x8002 is 2 mod 4, so the first byte put there is the third of the pattern.
    let mut rom = image(0x8001, &[1]);
    fill(
        &mut rom,
        &[0xEA, 0xEB, 0x4C, 0x00],
        Some(r(0x8000, 0x8006)),
        Large::Refuse,
    )
    .unwrap();
    assert_eq!(
        rom.contiguous(r(0x8000, 0x8006)).unwrap(),
        [0xEA, 1, 0x4C, 0x00, 0xEA, 0xEB, 0x4C]
    );
}

#[test]
fn a_wrong_address_does_not_eat_all_memory() {
    let mut rom = image(0, &[1]);
    rom.put(LARGE + 2, vec![2], file("b.bin")).unwrap();
    let said = refusal(&mut rom, |i| fill(i, &[0xFF], None, Large::Refuse));
    assert_eq!(said, "this makes 268,435,457 bytes, more than 268,435,456");
    assert!(Large::Refuse.check(LARGE).is_ok());
    assert!(Large::Allow.check(u64::MAX).is_ok());
    let said = refusal(&mut rom, |i| {
        pad(i, 1 << 40, PartBase::At(0), 0xFF, Large::Refuse)
    });
    assert!(
        said.starts_with("this makes 1,099,243,192,317 bytes"),
        "{said}"
    );
    let mut rom = image(0, &[1]);
    refusal(&mut rom, |i| {
        repeat(i, 1 << 40, PartBase::OfImage, Large::Refuse)
    });
    // What is made counts, not what is there: a copy of the whole, holes and all.
    rom.put(LARGE - 1, vec![2], file("b.bin")).unwrap();
    refusal(&mut rom, |i| {
        repeat(i, 4 * LARGE, PartBase::OfImage, Large::Refuse)
    });
    assert_eq!(
        repeat(&mut rom, 2 * LARGE, PartBase::OfImage, Large::Refuse),
        Ok(2)
    );
    assert_eq!(rom.len(), 4);
    refusal(&mut rom, |i| {
        mark(i, 0, b"x", Some(1 << 40), 0, OverData::Refuse)
    });
    let mut huge = r(0, AddressRange::TOP);
    refusal(&mut rom, |i| fill(i, &[0], Some(huge), Large::Refuse));
    huge = r(1, AddressRange::TOP);
    refusal(&mut rom, |i| fill(i, &[0, 1], Some(huge), Large::Refuse));
}

#[test]
fn no_pattern_fills_nothing() {
    let mut rom = image(0, &[1]);
    assert_eq!(fill(&mut rom, &[], Some(r(0, 9)), Large::Refuse), Ok(0));
    assert_eq!(rom.len(), 1);
}

#[test]
fn an_empty_image_has_nothing_between_its_ends() {
    let mut rom = Image::new();
    assert_eq!(
        refusal(&mut rom, |i| fill(i, &[0xFF], None, Large::Refuse)),
        "the image is empty"
    );
    assert_eq!(fill(&mut rom, &[0xFF], Some(r(4, 7)), Large::Refuse), Ok(4));
    assert_eq!(rom.contiguous(r(4, 7)).unwrap(), [0xFF; 4]);
}

proptest! {
    #[test]
    fn hollowing_takes_out_exactly_the_runs_that_are_long_enough(
        start in 0u64..20,
        bytes in prop::collection::vec(prop::sample::select(vec![0xFFu8, 0xFF, 0x1A, 0]), 1..60),
        least in 1u64..6,
        tail in any::<bool>(),
    ) {
        let mut image = image(start, &bytes);
        let mut model = bytes_of(&image);
        let mut i = 0;
        while i < bytes.len() {
            let len = bytes[i..].iter().take_while(|b| **b == 0xFF).count();
            let at_end = i + len == bytes.len();
            if len as u64 >= least && (at_end || !tail) {
                for a in 0..len as u64 {
                    model.remove(&(start + i as u64 + a));
                }
            }
            i += len.max(1);
        }
        let runs = hollow(&mut image, 0xFF, least, if tail { Runs::Tail } else { Runs::All }).unwrap();
        prop_assert_eq!(bytes_of(&image), model.clone());
        prop_assert_eq!(runs.iter().map(|r| r.len()).sum::<u64>(), (bytes.len() - model.len()) as u64);
    }

    #[test]
    fn hollowing_undoes_filling(mut image in images(), byte in any::<u8>()) {
        // A byte of its own next to filler of the same value can't be told from it, so take those out first.
        for (a, b) in bytes_of(&image) {
            if b == byte {
                image.remove(r(a, a));
            }
        }
        let before = bytes_of(&image);
        if !image.is_empty() {
            fill(&mut image, &[byte], None, Large::Refuse).unwrap();
        }
        hollow(&mut image, byte, 1, Runs::All).unwrap();
        prop_assert_eq!(bytes_of(&image), before);
    }
}

#[test]
fn the_tail_is_the_end_of_the_last_stretch_only() {
    let mut rom = image(0, &[1, 0x1A, 0x1A]);
    rom.put(0x10, vec![0x1A, 2, 0x1A, 0x1A], file("b")).unwrap();
    assert_eq!(
        hollow(&mut rom, 0x1A, 1, Runs::Tail).unwrap(),
        [r(0x12, 0x13)]
    );
    assert_eq!(rom.byte(2), Some(0x1A));
    // The run must be long enough at the tail too.
    assert_eq!(hollow(&mut rom, 2, 2, Runs::Tail).unwrap(), []);
    // Without a word of the tail, runs of every stretch.
    assert_eq!(
        hollow(&mut rom, 0x1A, 1, Runs::All).unwrap(),
        [r(1, 2), r(0x10, 0x10)]
    );
}

proptest! {
    #[test]
    fn padding_fills_both_ends_and_no_hole_between(
        mut image in images(),
        base in 0u64..40,
        size in 1u64..160,
    ) {
        let (before, extent) = (bytes_of(&image), image.extent().unwrap());
        let window = AddressRange::from_len(base, size).unwrap();
        let padded = unchanged_when_refused(&mut image, |i| pad(i, size, PartBase::At(base), 0xEE, Large::Refuse));
        prop_assert_eq!(padded.is_ok(), window.covers(extent));
        if padded.is_ok() {
            let mut model = before;
            for a in (base..extent.first()).chain(extent.last() + 1..base + size) {
                model.insert(a, 0xEE);
            }
            prop_assert_eq!(image.extent(), Some(window));
            prop_assert_eq!(bytes_of(&image), model);
        }
    }

    #[test]
    fn a_repeated_image_reads_the_same_in_every_block(
        bytes in prop::collection::vec(prop::option::of(any::<u8>()), 1..16),
        doublings in 0u32..4,
        base in prop::sample::select(vec![0u64, 0x40, 0x8000]),
    ) {
        let mut image = Image::new();
        for (i, byte) in bytes.iter().enumerate() {
            if let Some(byte) = byte {
                image.put(base + i as u64, vec![*byte], file("a")).unwrap();
            }
        }
        // The last byte says how long the image is; a whole power of two is what can be repeated.
        let length = bytes.len().next_power_of_two() as u64;
        image.put(base + length - 1, vec![0xA5], file("a")).unwrap();
        let one = bytes_of(&image);
        let size = length << doublings;
        let copies = repeat(&mut image, size, PartBase::At(base), Large::Refuse).unwrap();
        prop_assert_eq!(copies, 1 << doublings);
        let model: Bytes = (0..copies)
            .flat_map(|k| one.iter().map(move |(a, b)| (a + k * length, *b)))
            .collect();
        prop_assert_eq!(bytes_of(&image), model);
    }
}

#[test]
fn a_part_begins_where_the_image_does_only_when_that_is_aligned() {
    let mut rom = image(0x8000, &[1]);
    assert_eq!(
        pad(&mut rom, 0x4000, PartBase::OfImage, 0xFF, Large::Refuse),
        Ok(r(0x8000, 0xBFFF))
    );
    let mut rom = image(0x8001, &[1]);
    assert_eq!(
        refusal(&mut rom, |i| pad(
            i,
            0x4000,
            PartBase::OfImage,
            0xFF,
            Large::Refuse
        )),
        "the image begins at 0x8001, which is not a multiple of the size (16,384 bytes)"
    );
}

#[test]
fn what_does_not_fit_a_part_is_counted_and_named() {
    // Three bytes come before 0x8000, of which a hole takes one; the first is at 0x7FFC.
    let mut rom = image(0x8000, &[0; 4]);
    rom.put(0x7FFC, vec![1], file("early.hex")).unwrap();
    rom.put(0x7FFE, vec![2, 3], file("early.hex")).unwrap();
    assert_eq!(
        refusal(&mut rom, |i| pad(
            i,
            0x4000,
            PartBase::At(0x8000),
            0xFF,
            Large::Refuse
        )),
        "there are 3 bytes before 0x8000; the first is at 0x7FFC (early.hex)"
    );
    let mut rom = image(0x8000, &[0; 4]);
    rom.put(0xC000, vec![1], file("late.hex")).unwrap();
    assert_eq!(
        refusal(&mut rom, |i| pad(
            i,
            0x4000,
            PartBase::At(0x8000),
            0xFF,
            Large::Refuse
        )),
        "the image is 1 byte too long for 0x8000-0xBFFF; the last byte is at 0xC000 (late.hex)"
    );
}

#[test]
fn an_empty_image_becomes_a_blank_part_when_told_where() {
    let mut rom = Image::new();
    assert_eq!(
        refusal(&mut rom, |i| pad(
            i,
            16,
            PartBase::OfImage,
            0xFF,
            Large::Refuse
        )),
        OpError::Empty.to_string()
    );
    pad(&mut rom, 16, PartBase::At(0x8000), 0xFF, Large::Refuse).unwrap();
    assert_eq!(rom.contiguous(r(0x8000, 0x800F)).unwrap(), [0xFF; 16]);
    let mut rom = Image::new();
    refusal(&mut rom, |i| repeat(i, 16, PartBase::At(0), Large::Refuse));
}

#[test]
fn only_powers_of_two_repeat() {
    let mut rom = image(0, &[1, 2, 3]);
    assert_eq!(
        refusal(&mut rom, |i| repeat(
            i,
            16,
            PartBase::OfImage,
            Large::Refuse
        )),
        "the image has 3 bytes, which is not a power of two"
    );
    let mut rom = image(0, &[1, 2]);
    assert_eq!(
        refusal(&mut rom, |i| repeat(
            i,
            12,
            PartBase::OfImage,
            Large::Refuse
        )),
        "the part has 12 bytes, which is not a power of two"
    );
    refusal(&mut rom, |i| repeat(i, 1, PartBase::OfImage, Large::Refuse));
}

#[test]
fn a_part_at_the_end_of_the_address_space_is_possible_and_no_further() {
    let top = AddressRange::TOP;
    let mut rom = image(top, &[1]);
    pad(&mut rom, 4, PartBase::At(top - 3), 0, Large::Refuse).unwrap();
    assert_eq!(rom.extent(), Some(r(top - 3, top)));
    refusal(&mut rom, |i| {
        pad(i, 8, PartBase::At(top - 3), 0, Large::Refuse)
    });
    refusal(&mut rom, |i| {
        repeat(i, 8, PartBase::At(top - 3), Large::Refuse)
    });
}

proptest! {
    #[test]
    fn moving_moves_every_byte_alike_or_none(mut image in images(), delta in -150i128..150) {
        let before = bytes_of(&image);
        let lowest = i128::from(image.extent().unwrap().first());
        let moved = unchanged_when_refused(&mut image, |i| relocate(i, delta));
        prop_assert_eq!(moved.is_ok(), lowest + delta >= 0);
        if moved.is_ok() {
            let model: Bytes = before.iter().map(|(a, b)| ((i128::from(*a) + delta) as u64, *b)).collect();
            prop_assert_eq!(bytes_of(&image), model);
        }
    }

    #[test]
    fn moving_to_an_address_puts_the_first_byte_there(mut image in images(), to in any::<u32>()) {
        let by = i128::from(to) - i128::from(image.extent().unwrap().first());
        prop_assert_eq!(relocate_to(&mut image, to.into()).unwrap().by, by);
        prop_assert_eq!(image.extent().unwrap().first(), u64::from(to));
    }
}

#[test]
fn nothing_wraps_around() {
    let mut rom = image(0x8000, &[1, 2]);
    assert_eq!(
        refusal(&mut rom, |i| relocate(i, -0x8001)),
        "0x8000-0x8001 moved down by 0x8001 would begin below address 0: choose another address"
    );
    assert_eq!(
        refusal(&mut rom, |i| relocate_to(i, AddressRange::TOP)),
        "0x8000-0x8001 moved up by 0xFFFFFFFFFFFF7FFE would end above the last 64-bit address: choose another address"
    );
    for delta in [i128::MIN, i128::MAX, i128::from(u64::MAX), -0x8001] {
        refusal(&mut rom, |i| relocate(i, delta));
    }
    refusal(&mut Image::new(), |i| relocate_to(i, 0));
}

#[test]
fn an_entry_point_inside_moves_along_and_one_outside_is_lost_and_named() {
    let mut rom = image(0x8000, &[0; 16]);
    rom.entry = Some(Entry::Linear(0x8004));
    assert_eq!(relocate(&mut rom, -0x8000).unwrap().lost_entry, None);
    assert_eq!(rom.entry, Some(Entry::Linear(4)));
    rom.entry = Some(Entry::Linear(0x10));
    assert_eq!(relocate(&mut rom, 0).unwrap().lost_entry, None);
    assert_eq!(rom.entry, Some(Entry::Linear(0x10)));
    assert_eq!(
        relocate(&mut rom, 8).unwrap().lost_entry,
        Some(Entry::Linear(0x10))
    );
    assert_eq!(rom.entry, None);
}

#[test]
fn a_segmented_entry_point_keeps_its_pointer_when_whole_segments_move() {
    // F000:0100 is 0xF0100; 0x10000 lower is E000:0100, and one byte lower no segment begins there.
    let entry = Entry::Segmented {
        cs: 0xF000,
        ip: 0x100,
    };
    let mut rom = image(0xF0000, &[0; 0x200]);
    rom.entry = Some(entry);
    relocate(&mut rom, -0x10000).unwrap();
    assert_eq!(
        rom.entry,
        Some(Entry::Segmented {
            cs: 0xE000,
            ip: 0x100
        })
    );
    relocate(&mut rom, -1).unwrap();
    assert_eq!(rom.entry, Some(Entry::Linear(0xE00FF)));
    // F000:0100 moved to 0x100 would be segment 0; below that the segment would be negative.
    let mut rom = image(0xF0000, &[0; 0x200]);
    rom.entry = Some(Entry::Segmented {
        cs: 0x1000,
        ip: 0xE010,
    });
    assert_eq!(
        relocate(&mut rom, -0xF0000)
            .unwrap()
            .lost_entry
            .map(Entry::address),
        Some(0x1E010)
    );
    let mut rom = image(0x1E000, &[0; 0x200]);
    rom.entry = Some(Entry::Segmented {
        cs: 0x1000,
        ip: 0xE010,
    });
    relocate(&mut rom, -0x1E000).unwrap();
    assert_eq!(rom.entry, Some(Entry::Linear(0x10)));
}
