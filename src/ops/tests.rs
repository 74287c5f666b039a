//! Every function against a plain byte-by-byte model, or against figures worked out by hand in the comment.

use std::collections::BTreeMap;
use std::sync::Arc;

use proptest::prelude::*;

use super::*;
use crate::image::{Clash, Entry, Image, Source};
use crate::sums::{Algo, Complement, Order};
use crate::wiring::{Width, Wiring};

/// The model: every byte at its address, nothing else.
type Bytes = BTreeMap<u64, u8>;

fn r(first: u64, last: u64) -> AddressRange {
    AddressRange::new(first, last).unwrap()
}

fn file(name: &str) -> Source {
    Source::File(name.into())
}

fn image(start: u64, bytes: &[u8]) -> Image {
    Image::from_bytes(start, bytes.to_vec(), file("a.bin")).unwrap()
}

fn bytes_of(image: &Image) -> Bytes {
    let spans = image.spans().iter();
    spans
        .flat_map(|s| (s.start()..=s.range().last()).zip(s.bytes().iter().copied()))
        .collect()
}

fn origins_of(image: &Image) -> Vec<(AddressRange, String)> {
    let runs = image.origins().runs().iter();
    runs.map(|r| (r.range, r.source.to_string())).collect()
}

/// Any small image: some pieces of data, holes between them, perhaps some filler.
fn images() -> impl Strategy<Value = Image> {
    let piece = (0u64..96, prop::collection::vec(any::<u8>(), 1..12), 0..4);
    prop::collection::vec(piece, 1..6).prop_map(|pieces| {
        let mut image = Image::new();
        for (at, bytes, kind) in pieces {
            let source = match kind {
                0 => Source::Filler,
                _ => file("a.bin"),
            };
            image.put(at, bytes, source).unwrap();
        }
        image
    })
}

fn ranges() -> impl Strategy<Value = AddressRange> {
    (0u64..120, 1u64..60).prop_map(|(first, len)| AddressRange::from_len(first, len).unwrap())
}

/// Runs `op` and checks that an error leaves bytes, origins and entry point as they were.
fn unchanged_when_refused<T>(
    image: &mut Image,
    op: impl FnOnce(&mut Image) -> Result<T, OpError>,
) -> Result<T, OpError> {
    let before = image.clone();
    let result = op(image);
    if result.is_err() {
        assert_eq!(bytes_of(image), bytes_of(&before));
        assert_eq!(origins_of(image), origins_of(&before));
        assert_eq!(image.entry, before.entry);
    }
    result
}

fn refusal<T: std::fmt::Debug>(
    image: &mut Image,
    op: impl FnOnce(&mut Image) -> Result<T, OpError>,
) -> String {
    unchanged_when_refused(image, op).unwrap_err().to_string()
}

// fill

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
    assert_eq!(
        said,
        "this makes 268435457 bytes, more than 268435456: is an address wrong? \
         `show` tells where the bytes are; --yes-large allows it"
    );
    assert!(Large::Refuse.check(LARGE).is_ok());
    assert!(Large::Allow.check(u64::MAX).is_ok());
    let said = refusal(&mut rom, |i| pad(i, 1 << 40, Some(0), 0xFF, Large::Refuse));
    assert!(said.starts_with("this makes 1099243192317 bytes"), "{said}");
    let mut rom = image(0, &[1]);
    refusal(&mut rom, |i| repeat(i, 1 << 40, None, Large::Refuse));
    // What is made counts, not what stands there: a copy of the whole, holes and all.
    rom.put(LARGE - 1, vec![2], file("b.bin")).unwrap();
    refusal(&mut rom, |i| repeat(i, 4 * LARGE, None, Large::Refuse));
    assert_eq!(repeat(&mut rom, 2 * LARGE, None, Large::Refuse), Ok(2));
    assert_eq!(rom.len(), 4);
    refusal(&mut rom, |i| mark(i, 0, b"x", Some(1 << 40), 0));
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
        "the image is empty: `load` something first"
    );
    assert_eq!(fill(&mut rom, &[0xFF], Some(r(4, 7)), Large::Refuse), Ok(4));
    assert_eq!(rom.contiguous(r(4, 7)).unwrap(), [0xFF; 4]);
}

// hollow

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
        let runs = hollow(&mut image, 0xFF, least, tail);
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
        hollow(&mut image, byte, 1, false);
        prop_assert_eq!(bytes_of(&image), before);
    }
}

#[test]
fn the_tail_is_the_end_of_the_last_stretch_only() {
    let mut rom = image(0, &[1, 0x1A, 0x1A]);
    rom.put(0x10, vec![0x1A, 2, 0x1A, 0x1A], file("b")).unwrap();
    assert_eq!(hollow(&mut rom, 0x1A, 1, true), [r(0x12, 0x13)]);
    assert_eq!(rom.byte(2), Some(0x1A));
    // The run must be long enough at the tail too.
    assert_eq!(hollow(&mut rom, 2, 2, true), []);
    // Without a word of the tail, runs of every stretch.
    assert_eq!(hollow(&mut rom, 0x1A, 1, false), [r(1, 2), r(0x10, 0x10)]);
}

// pad and repeat

proptest! {
    #[test]
    fn padding_fills_both_ends_and_no_hole_between(
        mut image in images(),
        base in 0u64..40,
        size in 1u64..160,
    ) {
        let (before, extent) = (bytes_of(&image), image.extent().unwrap());
        let window = AddressRange::from_len(base, size).unwrap();
        let padded = unchanged_when_refused(&mut image, |i| pad(i, size, Some(base), 0xEE, Large::Refuse));
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
        let copies = repeat(&mut image, size, Some(base), Large::Refuse).unwrap();
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
        pad(&mut rom, 0x4000, None, 0xFF, Large::Refuse),
        Ok(r(0x8000, 0xBFFF))
    );
    let mut rom = image(0x8001, &[1]);
    assert_eq!(
        refusal(&mut rom, |i| pad(i, 0x4000, None, 0xFF, Large::Refuse)),
        "the image begins at 0x8001, which is no multiple of 16384: say where the part begins with --at"
    );
}

#[test]
fn what_does_not_fit_a_part_is_counted_and_named() {
    // Three bytes stand in front of 0x8000, of which a hole takes one; the first is at 0x7FFC.
    let mut rom = image(0x8000, &[0; 4]);
    rom.put(0x7FFC, vec![1], file("early.hex")).unwrap();
    rom.put(0x7FFE, vec![2, 3], file("early.hex")).unwrap();
    assert_eq!(
        refusal(&mut rom, |i| pad(
            i,
            0x4000,
            Some(0x8000),
            0xFF,
            Large::Refuse
        )),
        "3 bytes stand in front of 0x8000, the first is at 0x7FFC (early.hex): `drop` or `relocate` them"
    );
    let mut rom = image(0x8000, &[0; 4]);
    rom.put(0xC000, vec![1], file("late.hex")).unwrap();
    assert_eq!(
        refusal(&mut rom, |i| pad(
            i,
            0x4000,
            Some(0x8000),
            0xFF,
            Large::Refuse
        )),
        "the image is 1 byte too long for 0x8000-0xBFFF, the last byte is at 0xC000 (late.hex): \
         `keep` cuts it down, or take a larger part"
    );
}

#[test]
fn an_empty_image_becomes_a_blank_part_when_told_where() {
    let mut rom = Image::new();
    assert_eq!(
        refusal(&mut rom, |i| pad(i, 16, None, 0xFF, Large::Refuse)),
        OpError::Empty.to_string()
    );
    pad(&mut rom, 16, Some(0x8000), 0xFF, Large::Refuse).unwrap();
    assert_eq!(rom.contiguous(r(0x8000, 0x800F)).unwrap(), [0xFF; 16]);
    let mut rom = Image::new();
    refusal(&mut rom, |i| repeat(i, 16, Some(0), Large::Refuse));
}

#[test]
fn only_powers_of_two_repeat() {
    let mut rom = image(0, &[1, 2, 3]);
    assert_eq!(
        refusal(&mut rom, |i| repeat(i, 16, None, Large::Refuse)),
        "the image is 3 bytes, which is no power of two: `pad` it to one first"
    );
    let mut rom = image(0, &[1, 2]);
    assert_eq!(
        refusal(&mut rom, |i| repeat(i, 12, None, Large::Refuse)),
        "the part is 12 bytes, which is no power of two"
    );
    refusal(&mut rom, |i| repeat(i, 1, None, Large::Refuse));
}

#[test]
fn a_part_at_the_end_of_the_address_space_is_possible_and_no_further() {
    let top = AddressRange::TOP;
    let mut rom = image(top, &[1]);
    pad(&mut rom, 4, Some(top - 3), 0, Large::Refuse).unwrap();
    assert_eq!(rom.extent(), Some(r(top - 3, top)));
    refusal(&mut rom, |i| pad(i, 8, Some(top - 3), 0, Large::Refuse));
    refusal(&mut rom, |i| repeat(i, 8, Some(top - 3), Large::Refuse));
}

// relocate

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
        "0x8000-0x8001 moved down by 0x8001 would begin below address 0: nothing wraps around, so choose another address"
    );
    assert_eq!(
        refusal(&mut rom, |i| relocate_to(i, AddressRange::TOP)),
        "0x8000-0x8001 moved up by 0xFFFFFFFFFFFF7FFE would end above the last 64-bit address: \
         nothing wraps around, so choose another address"
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

// split and join

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
        let lanes = split_lanes(&image, n as u32).unwrap();
        prop_assert_eq!(lanes.len() as u64, n);
        for (i, lane) in (0..).zip(&lanes) {
            let model: Bytes = bytes_of(&image)
                .into_iter()
                .filter(|(a, _)| a % n == i)
                .map(|(a, b)| (a / n, b))
                .collect();
            prop_assert_eq!(bytes_of(lane), model);
        }
        let joined = join_lanes(&lanes).unwrap();
        prop_assert!(joined.same_bytes(&image));
        for a in bytes_of(&image).keys() {
            let filler = |i: &Image| i.origin_at(*a).unwrap().source.is_filler();
            // Filler woven with data counts as data; the other way round data would be lost.
            prop_assert!(filler(&image) || !filler(&joined), "{:#X}", a);
        }
    }

    #[test]
    fn banks_are_cut_at_multiples_of_their_size_and_join_back(image in images(), size in 1u64..40) {
        let banks = split_banks(&image, size).unwrap();
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
    let said = join_lanes(&[image(0, &[0; 8]), image(0, &[0; 8]), image(0, &[0; 7])])
        .unwrap_err()
        .to_string();
    assert_eq!(
        said,
        "lanes must be equally long, and lane 2 reaches to 0x0006 where lane 0 reaches to 0x0007: `pad` them to one size"
    );
    assert_eq!(
        split_lanes(&Image::new(), 17).unwrap_err().to_string(),
        "17 lanes make no sense: a bus has 2 to 16"
    );
    assert!(join_lanes(&[Image::new()]).is_err());
    assert!(split_lanes(&Image::new(), 1).is_err());
}

#[test]
fn a_bank_too_long_is_refused_with_figures() {
    let said = join_banks(vec![image(0, &[0; 8]), image(1, &[0; 8])], 8)
        .unwrap_err()
        .to_string();
    assert_eq!(
        said,
        "bank 1 has a byte at 0x0008, and a bank ends at 0x0007: `relocate --to 0` it, or choose a larger size"
    );
    let mut far = image(0, &[1]);
    far.put(4096 * 16, vec![1], file("b")).unwrap();
    assert_eq!(
        split_banks(&far, 16).unwrap_err().to_string(),
        "this would make 4097 banks, numbered from address 0: `relocate --to 0` first, or choose a larger size"
    );
    assert!(split_banks(&Image::new(), 16).is_err());
}

#[test]
fn entry_point_and_header_belong_to_the_whole() {
    let mut whole = image(0, &[1, 2, 3, 4]);
    whole.entry = Some(Entry::Linear(2));
    whole.header = Some(b"HERON".to_vec());
    for piece in split_lanes(&whole, 2)
        .unwrap()
        .into_iter()
        .chain(split_banks(&whole, 2).unwrap())
    {
        assert_eq!((piece.entry, piece.header), (None, None));
    }
    let joined = join(vec![image(0x10, &[9]), whole]).unwrap();
    assert_eq!(joined.entry, Some(Entry::Linear(2)));
    assert_eq!(joined.header.as_deref(), Some(&b"HERON"[..]));
}

// swap, patch, mark

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
        "the word at 0x0008 has a hole at 0x000A: `fill` it first"
    );
    let mut rom = image(2, &[0; 6]);
    assert_eq!(
        refusal(&mut rom, |i| swap(i, 4)),
        "the word at 0x0000 has a hole at 0x0000: `fill` it first"
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
        "at 0x7F11 stands 00 __, not 00 01: is this the right version of the image?"
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
                0x7F30 was text:was now 0xEA\r\n\
                0x7F40 was text:snow nowhere now 1F\n";
    let patch = |address, was: Option<&[u8]>, now: &[u8]| Patch {
        address,
        was: was.map(<[u8]>::to_vec),
        now: now.to_vec(),
    };
    assert_eq!(
        patch_list(text).unwrap(),
        [
            patch(0x7F10, Some(&[0xA9, 0]), &[0xA9, 1]),
            // Blanks inside a text stay as they are, and a # inside a word is no comment.
            patch(0x7F20, None, b"NO  WAY#1 now"),
            patch(0x7F30, Some(b"was"), &[0xEA]),
            patch(0x7F40, Some(b"snow nowhere"), &[0x1F]),
        ]
    );
    assert_eq!(patch_list("# nothing\n\n"), Ok(vec![]));
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
            "line 1: there is no byte here: write pairs of hex digits, as EA EA 4C0080, or text:HELLO",
        ),
        (
            "0x10 now 2",
            "line 1: `2` has a hex digit without a partner: write 02",
        ),
        (
            "0x10 now",
            "line 1: there is no byte here: write pairs of hex digits, as EA EA 4C0080, or text:HELLO",
        ),
    ] {
        let error = patch_list(text).unwrap_err().to_string();
        assert_eq!(error, format!("{said}: {how}"), "{text}");
    }
}

#[test]
fn a_mark_fills_its_place_and_no_more() {
    let mut rom = image(0, &[0xFF; 8]);
    assert_eq!(mark(&mut rom, 2, b"V1", Some(4), b' '), Ok(r(2, 5)));
    assert_eq!(rom.contiguous(r(0, 7)).unwrap(), b"\xFF\xFFV1  \xFF\xFF");
    assert_eq!(rom.origin_at(5).unwrap().to_string(), "mark");
    assert_eq!(mark(&mut rom, 8, b"V1", None, b' '), Ok(r(8, 9)));
    let said = refusal(&mut rom, |i| mark(i, 0, b"V1.0", Some(3), 0));
    assert!(said.contains('4') && said.contains('3'), "{said}");
    refusal(&mut rom, |i| mark(i, u64::MAX - 1, b"V1", None, 0));
}

// stamp and sums

/// What stands in a range, as the model reads it.
fn read(image: &Image, range: AddressRange) -> Vec<u8> {
    image.contiguous(range).unwrap().to_vec()
}

#[test]
fn every_sum_is_stored_in_either_order_with_and_without_complement() {
    let data: Vec<u8> = (0..64u8).map(|i| i.wrapping_mul(37)).collect();
    for algo in Algo::all() {
        let sum = algo.sum(&data).unwrap();
        for order in [None, Some(Order::Little), Some(Order::Big)] {
            for complement in [None, Some(Complement::Ones), Some(Complement::Twos)] {
                let mut rom = image(0x8000, &data);
                let mut stamp = Stamp::new(algo, vec![r(0x8000, 0x803F)], 0x8100);
                stamp.order = order;
                stamp.complement = complement;
                let put = unchanged_when_refused(&mut rom, |i| stamp.put(i));
                if algo.is_digest() && complement.is_some() {
                    assert!(put.is_err(), "{algo}");
                    continue;
                }
                assert_eq!(put.unwrap(), sum, "{algo}");
                // A word sum's own order is the default; low byte first elsewhere.
                let order = order.or(algo.order()).unwrap_or(Order::Little);
                let stored = match complement {
                    Some(c) => sum.complement(c).unwrap(),
                    None => sum,
                };
                let place = stamp.place().unwrap();
                assert_eq!(place.len(), algo.bytes() as u64);
                assert_eq!(read(&rom, place), stored.to_bytes(order), "{algo}");
                let origin = rom.origin_at(0x8100).unwrap().to_string();
                assert_eq!(origin, format!("stamp {algo}"));
            }
        }
    }
}

#[test]
fn a_byte_sum_worked_by_hand() {
    // 0x80 + 0x90 + 0xA0 = 0x1B0: in 8 bits B0, in 16 bits B0 01 low byte first; ones' complement FE4F, twos' FE50.
    let data = [0x80, 0x90, 0xA0];
    let stored = |algo, complement, order| {
        let mut rom = image(0, &data);
        let mut stamp = Stamp::new(algo, vec![r(0, 2)], 8);
        stamp.complement = complement;
        stamp.order = order;
        stamp.put(&mut rom).unwrap();
        read(&rom, stamp.place().unwrap())
    };
    assert_eq!(stored(Algo::SUM8, None, None), [0xB0]);
    assert_eq!(stored(Algo::SUM16, None, None), [0xB0, 0x01]);
    assert_eq!(stored(Algo::SUM16, None, Some(Order::Big)), [0x01, 0xB0]);
    assert_eq!(
        stored(Algo::SUM16, Some(Complement::Ones), Some(Order::Big)),
        [0xFE, 0x4F]
    );
    assert_eq!(
        stored(Algo::SUM16, Some(Complement::Twos), Some(Order::Big)),
        [0xFE, 0x50]
    );
    // 80 xor 90 xor A0 = B0
    assert_eq!(stored(Algo::XOR8, None, None), [0xB0]);
}

#[test]
fn an_initial_value_is_where_the_sum_begins() {
    // 0x1000 + 1 + 2 + 3 = 0x1006
    let mut rom = image(0, &[1, 2, 3]);
    let mut stamp = Stamp::new(Algo::SUM16, vec![r(0, 2)], 8);
    stamp.init = Some(0x1000);
    stamp.put(&mut rom).unwrap();
    assert_eq!(read(&rom, r(8, 9)), [0x06, 0x10]);
    stamp.init = Some(0x1_0000);
    refusal(&mut rom, |i| stamp.put(i));
    let mut stamp = Stamp::new(Algo::SHA1, vec![r(0, 2)], 0x10);
    stamp.init = Some(0);
    refusal(&mut rom, |i| stamp.put(i));
}

#[test]
fn ranges_are_summed_in_the_order_given() {
    // A CRC depends on the order of its bytes, so the catalogue's check value appears only for "123456789".
    let mut rom = image(0, b"6789");
    rom.put(0x10, b"12345".to_vec(), file("b")).unwrap();
    let (low, high) = (r(0, 3), r(0x10, 0x14));
    let sum = |across: &[AddressRange]| sum_over(&rom, Algo::CRC32, across).unwrap();
    assert_eq!(sum(&[high, low]).to_string(), "CBF43926");
    assert_ne!(sum(&[low, high]), sum(&[high, low]));
    let mut stamped = rom.clone();
    Stamp::new(Algo::CRC32, vec![high, low], 0x20)
        .put(&mut stamped)
        .unwrap();
    assert_eq!(read(&stamped, r(0x20, 0x23)), [0x26, 0x39, 0xF4, 0xCB]);
}

#[test]
fn the_stamps_own_place_counts_as_zeros_or_as_said() {
    let data = [1, 2, 3, 4];
    let stamped = |blank: Option<Blank>| {
        let mut rom = image(0, &data);
        let mut stamp = Stamp::new(Algo::SUM16, vec![r(0, 3)], 2);
        stamp.replace = true;
        stamp.blank = blank;
        stamp.put(&mut rom).unwrap().value().unwrap()
    };
    let blank = |address, bytes: &[u8]| {
        Some(Blank {
            address,
            bytes: bytes.to_vec(),
        })
    };
    assert_eq!(stamped(None), 1 + 2);
    // The last byte said goes on over the rest of the place.
    assert_eq!(stamped(blank(None, &[0x20])), 1 + 2 + 0x20 + 0x20);
    assert_eq!(stamped(blank(None, &[0x20, 0x30])), 1 + 2 + 0x20 + 0x30);
    // Another place: the byte at 1 counts as 0x10 instead of 2, the stamp's own still as zeros.
    assert_eq!(stamped(blank(Some(1), &[0x10])), 1 + 0x10);
}

#[test]
fn a_stored_sum_fits_until_what_it_was_made_of_changes() {
    let mut rom = image(0, &[1, 2, 3, 4, 0, 0]);
    let mut stamp = Stamp::new("sum16".parse().unwrap(), vec![r(0, 5)], 4);
    stamp.replace = true;
    stamp.complement = Some(Complement::Twos);
    stamp.put(&mut rom).unwrap();
    let stored = read(&rom, r(4, 5));
    let fits = |rom: &Image| stamp.fit(rom, &stored);
    assert_eq!(fits(&rom), Fit::Fits);
    let changed = |at: u64, byte: u8| {
        let mut rom = rom.clone();
        rom.put(at, vec![byte], Source::Patch).unwrap();
        rom
    };
    assert_eq!(fits(&changed(0, 9)), Fit::Stale(r(4, 5)));
    // Beside its range, or where the stamp itself is gone, there is nothing to say.
    assert_eq!(fits(&changed(6, 9)), Fit::Fits);
    assert_eq!(fits(&changed(5, 9)), Fit::Replaced);
    for at in [1, 4] {
        let mut hollow = rom.clone();
        hollow.remove(r(at, at));
        assert_eq!(fits(&hollow), Fit::Hollow);
    }
    // It moves along, and not out of the address space.
    rom.shift(0x100).unwrap();
    assert_eq!(fits(&rom), Fit::Hollow);
    let moved = stamp.moved(0x100).unwrap();
    assert_eq!(moved.fit(&rom, &stored), Fit::Fits);
    assert!(stamp.moved(-1).is_none());
}

#[test]
fn a_blank_that_leaves_the_address_space_is_refused() {
    let mut rom = image(0, &[1]);
    let mut stamp = Stamp::new(Algo::SUM8, vec![r(0, 0)], 2);
    stamp.blank = Some(Blank {
        address: Some(AddressRange::TOP),
        bytes: vec![0, 0],
    });
    refusal(&mut rom, |i| stamp.put(i));
}

#[test]
fn a_sum_beside_its_own_complement_adds_the_same_whatever_it_is() {
    // A header of consoles and of home computers' cartridges (common practice): complement first, then the sum, the
    // four bytes counted as FF FF 00 00. Both stored, the plain sum over all bytes is the stored sum.
    let mut rom = image(0, &[0x5A; 0x100]);
    let all = vec![r(0, 0xFF)];
    for (at, complement) in [(0x80, Some(Complement::Ones)), (0x82, None)] {
        let mut stamp = Stamp::new(Algo::SUM16, all.clone(), at);
        stamp.complement = complement;
        stamp.replace = true;
        stamp.blank = Some(Blank {
            address: Some(0x80),
            bytes: vec![0xFF, 0xFF, 0, 0],
        });
        stamp.put(&mut rom).unwrap();
    }
    // 252 bytes of 5A and two of FF: 252 * 0x5A + 0x1FE = 0x5A96, complement 0xA569.
    assert_eq!(read(&rom, r(0x80, 0x83)), [0x69, 0xA5, 0x96, 0x5A]);
    let sum = sum_over(&rom, Algo::SUM16, &all).unwrap();
    assert_eq!(sum.to_string(), "5A96");
}

#[test]
fn a_hole_in_the_range_is_named_unless_the_stamp_fills_it() {
    let mut rom = image(0, &[1, 2]);
    rom.put(6, vec![3], file("b")).unwrap();
    let stamp = Stamp::new(Algo::SUM16, vec![r(0, 6)], 2);
    assert_eq!(
        refusal(&mut rom, |i| stamp.put(i)),
        "0x0004-0x0005 is a hole, and a sum needs every byte: `fill` it first"
    );
    let stamp = Stamp::new(Algo::SUM32, vec![r(0, 6)], 2);
    stamp.put(&mut rom).unwrap();
    assert_eq!(read(&rom, r(2, 5)), [6, 0, 0, 0]);
    assert_eq!(
        Stamp::new(Algo::SUM8, vec![], 0).put(&mut rom),
        Err(OpError::NoRange)
    );
}

#[test]
fn only_loaded_data_is_protected_from_a_stamp() {
    let stamp = Stamp::new(Algo::SUM16, vec![r(0, 1)], 2);
    let with = |source: Source| {
        let mut rom = image(0, &[1, 2]);
        rom.put(3, vec![9], source).unwrap();
        let result = unchanged_when_refused(&mut rom, |i| stamp.put(i));
        result.map_err(|e| e.to_string())
    };
    assert!(with(Source::Filler).is_ok());
    assert!(with(Source::Stamp("sum8".into())).is_ok());
    assert_eq!(
        with(file("monitor.hex")).unwrap_err(),
        "the stamp's place 0x0002-0x0003 holds data (monitor.hex): choose another place, or allow it with --replace"
    );
    for source in [
        Source::Patch,
        Source::Mark,
        Source::Copy,
        Source::Pattern("ones".into()),
        Source::Woven(vec![Source::Filler.into(), file("a").into()]),
    ] {
        assert!(with(source.clone()).is_err(), "{source}");
    }
    let woven = Source::Woven(vec![Source::Filler.into(), Source::Filler.into()]);
    assert!(with(woven).is_ok());
    let mut rom = image(0, &[1, 2, 3, 4]);
    let mut stamp = stamp;
    stamp.replace = true;
    stamp.put(&mut rom).unwrap();
    assert_eq!(read(&rom, r(0, 3)), [1, 2, 3, 0]);
}

fn balanceable() -> impl Strategy<Value = Algo> {
    prop::sample::select(vec![
        Algo::SUM8,
        Algo::XOR8,
        Algo::SUM16LE,
        Algo::SUM16BE,
        Algo::SUM32LE,
        Algo::SUM32BE,
    ])
}

proptest! {
    #[test]
    fn a_balanced_image_sums_to_the_target(
        algo in balanceable(),
        words in prop::collection::vec(any::<[u8; 4]>(), 2..20),
        place in any::<prop::sample::Index>(),
        target in any::<u32>(),
        init in any::<u32>(),
        // The range may begin anywhere: its words are counted from where it begins.
        start in 0u64..4,
        cut in any::<prop::sample::Index>(),
    ) {
        let data = words.concat();
        let len = data.len() as u64;
        let mut rom = image(start, &data);
        let word = algo.word() as u64;
        let slots = len / word;
        let at = start + place.index(slots as usize) as u64 * word;
        // Two ranges that follow each other, cut anywhere but inside the stamp.
        let cut = start + cut.index(len as usize) as u64;
        let all = r(start, start + len - 1);
        let across = match AddressRange::new(start, cut.wrapping_sub(1)) {
            Some(front) if cut <= at || cut >= at + word => vec![front, r(cut, all.last())],
            _ => vec![all],
        };
        let mask = if algo.bits() == 32 { u128::from(u32::MAX) } else { (1 << algo.bits()) - 1 };
        let (target, init) = (u128::from(target) & mask, u128::from(init) & mask);
        let mut stamp = Stamp::new(algo, across, at);
        stamp.replace = true;
        stamp.balance_to = Some(target);
        stamp.init = Some(init);
        stamp.put(&mut rom).unwrap();
        let mut summing = algo.start_from(init).unwrap();
        summing.feed(rom.contiguous(all).unwrap());
        prop_assert_eq!(summing.finish().unwrap().value(), Some(target));
        // And nothing but the stamp's place has changed.
        for (i, byte) in data.iter().enumerate() {
            let a = start + i as u64;
            if !stamp.place().unwrap().contains(a) {
                prop_assert_eq!(rom.byte(a), Some(*byte));
            }
        }
    }
}

#[test]
fn a_balance_that_can_not_come_out_is_refused() {
    let whole = r(0, 0xF);
    let balance = |algo, across: &[AddressRange], at, blank: Option<Blank>| {
        let mut rom = image(0, &[7; 16]);
        let mut stamp = Stamp::new(algo, across.to_vec(), at);
        stamp.replace = true;
        stamp.balance_to = Some(0);
        stamp.blank = blank;
        refusal(&mut rom, |i| stamp.put(i))
    };
    assert_eq!(
        balance(Algo::SUM8, &[whole], 0x10, None),
        "the stamp's place 0x0010-0x0010 is not inside the range, so nothing there can balance it: put it inside --across"
    );
    assert_eq!(
        balance(Algo::SUM16LE, &[whole], 0xF, None),
        "the stamp's place 0x000F-0x0010 is not inside the range, so nothing there can balance it: put it inside --across"
    );
    assert_eq!(
        balance(Algo::SUM16LE, &[whole], 3, None),
        "the stamp's place 0x0003-0x0004 does not lie on a 2-byte word of the range: words are counted from the first --across on"
    );
    assert_eq!(
        balance(Algo::SUM8, &[whole, r(4, 7)], 5, None),
        "the stamp's place 0x0005-0x0005 is in more than one of the ranges, so it would count twice: \
         let no --across overlap another there"
    );
    for address in [None, Some(5)] {
        let blank = Blank {
            address,
            bytes: vec![0xFF],
        };
        assert_eq!(
            balance(Algo::SUM8, &[whole], 5, Some(blank)),
            "the stamp's place 0x0005-0x0005 can't balance the sum and count as other bytes too: \
             leave --blank-as or --zero-sum out"
        );
    }
    for algo in [Algo::SUM16, Algo::SUM32, Algo::CRC32, Algo::MD5] {
        let said = balance(algo, &[whole], 4, None);
        assert!(
            said.starts_with("no bytes can be chosen to bring"),
            "{said}"
        );
    }
}

#[test]
fn a_sum_needs_every_byte_of_its_range_and_whole_words() {
    let mut rom = image(0, &[1, 2]);
    rom.put(4, vec![3], file("b")).unwrap();
    assert_eq!(
        sum_over(&rom, Algo::SUM8, &[]).unwrap_err().to_string(),
        "0x0002-0x0003 is a hole, and a sum needs every byte: `fill` it first"
    );
    assert_eq!(
        sum_over(&rom, Algo::SUM8, &[r(0, 1), r(4, 4)])
            .unwrap()
            .value(),
        Some(6)
    );
    assert!(sum_over(&rom, Algo::SUM16LE, &[r(4, 4)]).is_err());
    assert!(sum_over(&Image::new(), Algo::SUM8, &[]).is_err());
}

// checks

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
        "0x10000-0x10000 is a hole, and a vector needs every byte: `fill` it first"
    );
    let too_far = Pointer {
        address: u64::MAX,
        ..broken
    };
    assert!(pointer(&rom, too_far).is_err());
}

/// What a chip shows through a CPU range, against every single address of it.
#[test]
fn stretches_seen_through_a_range_are_those_of_its_addresses() {
    let lines = |held: &[(u8, bool)]| PlacingInChip::Lines(held.to_vec());
    let boards = [
        Board::new(64, 0x40),
        Board {
            lanes: 2,
            rows: 2,
            ..Board::new(32, 0x80)
        },
        Board {
            unit: 2,
            order: Order::Big,
            lanes: 2,
            ..Board::new(32, 0)
        },
        Board {
            window: 16,
            placing: lines(&[(4, true), (5, false)]),
            ..Board::new(64, 0x20)
        },
        // A line in the middle is held: the window lies in several stretches.
        Board {
            window: 16,
            placing: lines(&[(1, true), (3, false)]),
            lanes: 2,
            ..Board::new(64, 0)
        },
    ];
    for board in boards {
        let window = board.window().unwrap();
        let bus = board.unit * u64::from(board.lanes);
        for first in (window.first()..=window.last()).step_by(bus as usize) {
            for last in (first + bus - 1..=window.last()).step_by(bus as usize) {
                for socket in board.sockets() {
                    let seen = board.seen_through(socket, r(first, last));
                    let mut seen: Vec<u64> =
                        seen.iter().flat_map(|r| r.first()..=r.last()).collect();
                    let mut expected: Vec<u64> = (first..=last)
                        .filter_map(|cpu| board.chip_of(cpu))
                        .filter(|(own, _)| *own == socket)
                        .map(|(_, chip)| chip)
                        .collect();
                    seen.sort_unstable();
                    expected.sort_unstable();
                    assert_eq!(seen, expected, "{board:?} {socket:?} {first:X}-{last:X}");
                }
            }
        }
    }
}

// burnable

proptest! {
    #[test]
    fn what_is_burnable_agrees_with_the_same_job_bit_by_bit(
        wanted in images(), now in images(), block in 1u64..20, erased in prop::sample::select(vec![0xFFu8, 0, 0xA5]),
    ) {
        let found = burnable(&wanted, &now, erased, block);
        let held = bytes_of(&now);
        let mut model = Burnable::default();
        let mut lost_at = Vec::new();
        for (at, want) in bytes_of(&wanted) {
            let Some(have) = held.get(&at) else {
                model.unknown += 1;
                continue;
            };
            model.compared += 1;
            // Programming leads from the erased state to the other, and never back.
            let lost = (0..8).filter(|bit| {
                let bit_of = |byte: u8| byte >> bit & 1;
                bit_of(*have) != bit_of(erased) && bit_of(want) == bit_of(erased)
            });
            let lost = lost.count() as u64;
            if lost > 0 {
                model.bits += lost;
                lost_at.push(at);
            }
        }
        model.bytes = lost_at.len() as u64;
        let blocks = |addresses: &[u64]| -> Vec<u64> {
            let mut all: Vec<u64> = addresses.iter().map(|at| at - at % block).collect();
            all.dedup();
            all
        };
        model.blocks = blocks(&lost_at);
        model.touched = blocks(&bytes_of(&wanted).into_keys().collect::<Vec<_>>()).len() as u64;
        model.ranges = found.ranges.clone();
        prop_assert_eq!(&found, &model);
        let named = found.ranges.iter().flat_map(|range| range.first()..=range.last());
        prop_assert_eq!(named.collect::<Vec<_>>(), lost_at);
        for pair in found.ranges.windows(2) {
            prop_assert!(pair[0].last() + 1 < pair[1].first());
        }
        prop_assert_eq!(found.is_yes(), model.bits == 0 && model.unknown == 0);
    }
}

#[test]
fn the_first_byte_that_is_not_blank_is_named() {
    let image = image(4, &[0xFF, 0xFF, 0xFF, 7, 8]);
    assert_eq!(check::blank(&image, r(0, 20), 0xFF), Some((7, 7)));
    assert_eq!(check::blank(&image, r(0, 6), 0xFF), None);
}

#[test]
fn what_a_chip_holds_already_may_be_burnt_over_it_and_nothing_unknown() {
    let held = image(4, &[0x5A, 0xFF]);
    assert!(burnable(&held, &held, 0xFF, 1).is_yes());
    assert!(burnable(&image(5, &[0x5A]), &held, 0xFF, 1).is_yes());
    assert!(!burnable(&image(5, &[0x5A, 0x5A]), &held, 0xFF, 1).is_yes());
}

#[test]
fn data_outside_the_window_is_counted_in_words() {
    let says = |bytes: &[u8]| {
        let refused = Board::new(0x2000, 0x8000).seat(&image(0x7000, bytes));
        refused.unwrap_err().to_string()
    };
    assert!(says(&[1]).contains("1 byte lies"), "{}", says(&[1]));
    assert!(says(&[1, 2]).contains("2 bytes lie"), "{}", says(&[1, 2]));
}

#[test]
fn a_window_that_would_hold_all_is_named() {
    let fits = |window, extent| what_would_fit(&window, &extent);
    assert_eq!(
        fits(r(0x8000, 0x9FFF), r(0x8000, 0xA000)),
        "all of it would fit a window of 16384 bytes at 0x8000; --shed leaves it out"
    );
    assert_eq!(
        fits(r(0x8000, 0x9FFF), r(0x7FFF, 0x9000)),
        "all of it would fit a window of 65536 bytes at 0x0000; --shed leaves it out"
    );
    assert_eq!(
        fits(r(0, 0x1FFF), r(0, 0xFFFF_FFFF)),
        "all of it would fit a window of 4294967296 bytes at 0x0000; --shed leaves it out"
    );
    assert_eq!(
        fits(r(0, 0x1FFF), r(0, 0x1_0000_0000)),
        "no window of usual size holds it all; --shed leaves it out"
    );
}

// seat

proptest! {
    #[test]
    fn a_seated_byte_stands_where_the_wires_lead(
        image in images(), lines in 3u32..7, lanes in prop::sample::select(vec![1u32, 2, 4]),
        rows in prop::sample::select(vec![1u32, 2, 4]), unit in 1u64..3, big: bool, window in 0u64..3,
    ) {
        let (chip, wide) = (1u64 << lines, u64::from(lanes));
        let whole = chip * wide * u64::from(rows);
        let base = window * whole;
        let board = Board {
            unit,
            lanes,
            rows,
            order: if big { Order::Big } else { Order::Little },
            ..Board::new(chip, base)
        };
        let seen = r(base, base + whole - 1);
        prop_assert_eq!(board.window().unwrap(), seen);
        let mut fitting = image.clone();
        fitting.keep(&[seen]);
        let outside = image.len() - fitting.len();
        match board.seat(&image) {
            Ok(_) => prop_assert_eq!(outside, 0),
            Err(OpError::OutsideWindow { address, count, .. }) => {
                let out = bytes_of(&image).into_keys().find(|at| !seen.contains(*at));
                prop_assert_eq!((Some(address), count), (out, outside));
            }
            Err(other) => prop_assert!(false, "{other}"),
        }
        let chips = board.seat(&fitting).unwrap();
        prop_assert_eq!(chips.len() as u32, lanes * rows);
        prop_assert_eq!(chips.iter().map(Image::len).sum::<u64>(), fitting.len());
        for (at, byte) in bytes_of(&fitting) {
            // The topmost lines select a row of chips, the lowest a byte of the bus word.
            let (row, in_row) = ((at - base) / (chip * wide), (at - base) % (chip * wide));
            let (word, in_word) = (in_row / (unit * wide), in_row % (unit * wide));
            let (lane, low) = (in_word / unit, in_word % unit);
            let low = if big { unit - 1 - low } else { low };
            let in_chip = word * unit + low;
            prop_assert_eq!(chips[(row * wide + lane) as usize].byte(in_chip), Some(byte));
            let socket = Socket {
                row: row as u32,
                lane: lane as u32,
            };
            prop_assert_eq!(board.cpu_of(socket, in_chip), Some(at));
            prop_assert_eq!(board.chip_of(at), Some((socket, in_chip)));
        }
    }
}

/// Boards that show only a part of each chip, show it twice, or leave a range to something else.
fn unusual_boards() -> Vec<Board> {
    let lines = |held: &[(u8, bool)]| PlacingInChip::Lines(held.to_vec());
    let plain = || Board::new(32, 0x40);
    vec![
        Board {
            window: 8,
            placing: lines(&[(4, true), (3, false)]),
            ..plain()
        },
        // A line in the middle is held: the window lies in several stretches.
        Board {
            window: 16,
            placing: lines(&[(1, true)]),
            lanes: 2,
            rows: 2,
            ..plain()
        },
        Board {
            unit: 2,
            order: Order::Big,
            window: 8,
            placing: lines(&[(0, true), (2, true)]),
            lanes: 2,
            ..plain()
        },
        Board {
            window: 8,
            placing: PlacingInChip::Repeated,
            lanes: 4,
            ..plain()
        },
        Board {
            also: vec![r(0, 0x1F)],
            except: vec![r(0x48, 0x4B), r(0x5F, 0x5F)],
            ..plain()
        },
        Board {
            unit: 2,
            rows: 2,
            also: vec![r(0x20, 0x3F), r(0x100, 0x13F)],
            ..plain()
        },
    ]
}

proptest! {
    /// Seated byte by byte where the board says; taken out again, each byte is back at its address.
    #[test]
    fn unusual_boards_lose_no_byte(image in images(), which in 0usize..6) {
        let board = &unusual_boards()[which];
        let window = board.window().unwrap();
        let mut image = image;
        image.shift(0x40).unwrap();
        image.keep(&[window]);
        board.except.iter().for_each(|range| image.remove(*range));
        let chips = board.seat(&image).unwrap();
        let mut expected = vec![Bytes::new(); chips.len()];
        let copies = match board.placing {
            PlacingInChip::Repeated => board.chip / board.window,
            _ => 1,
        };
        for (cpu, byte) in bytes_of(&image) {
            let (socket, at) = board.chip_of(cpu).unwrap();
            prop_assert_eq!(board.cpu_of(socket, at), Some(cpu));
            for copy in 0..copies {
                let at = at + copy * board.window;
                expected[(socket.row * board.lanes + socket.lane) as usize].insert(at, byte);
            }
        }
        for (chip, expected) in chips.iter().zip(&expected) {
            prop_assert_eq!(&bytes_of(chip), expected);
        }
        let seated: Vec<_> = board.sockets().zip(&chips).collect();
        let back = board.unseat(&seated).unwrap();
        prop_assert_eq!(bytes_of(&back), bytes_of(&image));
    }
}

#[test]
fn bytes_at_the_second_range_of_a_chip_go_into_the_chip() {
    // Seen at 0x40 and from 0x100 on: the reset vector was linked at the second place.
    let board = Board {
        also: vec![r(0x100, 0x10F)],
        ..Board::new(32, 0x40)
    };
    let mut program = image(0x48, &[1, 2]);
    program.put(0x102, vec![3, 4], file("b.bin")).unwrap();
    program.entry = Some(Entry::Linear(0x48));
    program.header = Some(b"HERON".to_vec());
    let chips = board.seat(&program).unwrap();
    assert_eq!(
        bytes_of(&chips[0]),
        Bytes::from([(2, 3), (3, 4), (8, 1), (9, 2)])
    );
    assert_eq!((chips[0].entry, &chips[0].header), (None, &None));
    // At both places alike is one byte; unlike is refused, naming both.
    program.put(0x108, vec![1], file("b.bin")).unwrap();
    assert!(board.seat(&program).is_ok());
    program.put(0x108, vec![7], file("b.bin")).unwrap();
    match board.seat(&program) {
        Err(OpError::JoinClash(overlap)) => assert_eq!(overlap.differs_at, Some(0x48)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn data_where_something_else_answers_is_named() {
    let board = Board {
        except: vec![r(0x50, 0x57)],
        ..Board::new(32, 0x40)
    };
    assert!(board.seat(&image(0x4C, &[1, 2, 3, 4])).is_ok());
    match board.seat(&image(0x4C, &[1, 2, 3, 4, 5])) {
        Err(OpError::InExcepted {
            range,
            address,
            origin: Some(_),
        }) => assert_eq!((range, address), (r(0x50, 0x57), 0x50)),
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_part_of_a_chip_that_the_cpu_sees() {
    let seen = |placing, window| {
        let board = Board {
            window,
            placing,
            ..Board::new(64, 0)
        };
        board.seen_in_chip()
    };
    let lines = |held: &[(u8, bool)]| PlacingInChip::Lines(held.to_vec());
    assert_eq!(seen(PlacingInChip::Whole, 64), [r(0, 63)]);
    assert_eq!(seen(PlacingInChip::Repeated, 16), [r(0, 63)]);
    assert_eq!(seen(lines(&[(5, true)]), 32), [r(32, 63)]);
    assert_eq!(seen(lines(&[(5, false), (4, true)]), 16), [r(16, 31)]);
    // A3 held high: every second group of eight.
    assert_eq!(
        seen(lines(&[(3, true)]), 32),
        [r(8, 15), r(24, 31), r(40, 47), r(56, 63)]
    );
    let words = Board {
        unit: 2,
        window: 32,
        placing: lines(&[(3, true)]),
        ..Board::new(64, 0)
    };
    assert_eq!(words.seen_in_chip(), [r(16, 31), r(48, 63)]);
}

#[test]
fn a_chip_answers_in_its_window_and_its_further_ranges_only() {
    let board = Board {
        also: vec![r(0x100, 0x10F), r(0x200, 0x21F)],
        except: vec![r(0x48, 0x4F)],
        ..Board::new(32, 0x40)
    };
    let at = |cpu| {
        let (socket, at) = board.chip_of(cpu)?;
        assert_eq!(socket, Socket { row: 0, lane: 0 }, "{cpu:X}");
        Some(at)
    };
    assert_eq!([0x3F, 0x48, 0x4F, 0x60].map(at), [None; 4]);
    assert_eq!([0x40, 0x47, 0x50, 0x5F].map(at), [0, 7, 16, 31].map(Some));
    assert_eq!([0xFF, 0x110, 0x1FF, 0x220].map(at), [None; 4]);
    assert_eq!(
        [0x100, 0x10F, 0x200, 0x21F].map(at),
        [0, 15, 0, 31].map(Some)
    );
}

#[test]
fn a_repeated_chip_shows_the_same_cpu_address_in_each_copy() {
    for (unit, base) in [(1, 0x40), (2, 0x80)] {
        let board = Board {
            unit,
            window: 16,
            placing: PlacingInChip::Repeated,
            ..Board::new(64, base)
        };
        let socket = Socket { row: 0, lane: 0 };
        for chip in 0..64 {
            assert_eq!(
                board.cpu_of(socket, chip),
                Some(base + chip % 16),
                "{unit} {chip}"
            );
        }
        assert_eq!(board.cpu_of(socket, 64), None);
        assert_eq!(Board::new(64, 64).cpu_of(socket, 64), None);
    }
}

#[test]
fn a_seat_knows_the_cpu_address_of_each_byte() {
    let seat = |row, lane, boards: Vec<Board>| Seat {
        part: crate::parts::find("2764").unwrap().clone(),
        boards: boards.into_iter().map(Arc::new).collect(),
        socket: Socket { row, lane },
        rearranged_by: None,
    };
    let plain = || Board::new(0x2000, 0x8000);
    // One chip after another: one number leads from the chip to the CPU.
    let rows = || Board { rows: 2, ..plain() };
    for (row, first) in [(0, 0x8000), (1, 0xA000)] {
        let seat = seat(row, 0, vec![rows()]);
        assert_eq!(seat.offset(), Some(first));
        assert_eq!(seat.cpu_of(0), Some(first));
        assert_eq!(seat.cpu_of(0x1FFF), Some(first + 0x1FFF));
        assert_eq!(seat.cpu_of(0x2000), None);
    }
    // Side by side no one number does, but each byte has its address: the odd lane begins at the second byte.
    let odd = seat(
        0,
        1,
        vec![Board {
            lanes: 2,
            ..plain()
        }],
    );
    assert_eq!(odd.offset(), None);
    assert_eq!((odd.cpu_of(0), odd.cpu_of(1)), (Some(0x8001), Some(0x8003)));
    // A part 16 bits wide stands as the CPU sees it, unless the CPU has the upper half first.
    let wide = |order| Board {
        unit: 2,
        order,
        ..plain()
    };
    assert_eq!(seat(0, 0, vec![wide(Order::Little)]).offset(), Some(0x8000));
    let big = seat(0, 0, vec![wide(Order::Big)]);
    assert_eq!(big.offset(), None);
    assert_eq!((big.cpu_of(0), big.cpu_of(1)), (Some(0x8001), Some(0x8000)));
    // The order says nothing of a part 8 bits wide.
    let bytes = Board {
        order: Order::Big,
        ..plain()
    };
    assert_eq!(seat(0, 0, vec![bytes]).offset(), Some(0x8000));
    // Several programs in one switched chip: each half has its own address, and nothing stands for all of it.
    let page = |level| Board {
        window: 0x1000,
        placing: PlacingInChip::Lines(vec![(12, level)]),
        ..plain()
    };
    let switched = seat(0, 0, vec![page(false), page(true)]);
    assert_eq!(switched.offset(), None);
    assert_eq!(switched.cpu_of(0x0123), Some(0x8123));
    assert_eq!(switched.cpu_of(0x1123), Some(0x8123));
    let lower = seat(0, 0, vec![page(false)]);
    assert_eq!(lower.offset(), None);
    assert_eq!(
        (lower.cpu_of(0x0FFF), lower.cpu_of(0x1000)),
        (Some(0x8FFF), None)
    );
    // What something else answers has no address of the chip's.
    let except = Board {
        except: vec![r(0x9F00, 0x9FFF)],
        ..plain()
    };
    let with_io = seat(0, 0, vec![except]);
    assert_eq!(
        (with_io.cpu_of(0x1EFF), with_io.cpu_of(0x1F00)),
        (Some(0x9EFF), None)
    );
    assert_eq!(seat(0, 0, vec![]).cpu_of(0), None);
}

#[test]
fn a_split_makes_4096_banks_at_most() {
    assert_eq!(split_banks(&image(4095, &[1]), 1).unwrap().len(), 4096);
    let one_more = split_banks(&image(4096, &[1]), 1);
    assert_eq!(one_more.err(), Some(OpError::Banks(4097)));
}

// copy, spread, find

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
        match copy(&mut copied, range, to, clash) {
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
        bytes in prop::collection::vec(0u8..2, 1..40), gap in 1u64..9, looked_for in prop::collection::vec(0u8..2, 0..4),
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
        prop_assert_eq!(find(&image, &looked_for), wanted);
    }

    #[test]
    fn halves_of_bytes_are_four_bits_each_and_join_back(image in images()) {
        let halves = split_nibbles(&image).unwrap();
        for (at, byte) in bytes_of(&image) {
            let both = [halves[0].byte(at), halves[1].byte(at)];
            prop_assert_eq!(both, [Some(byte & 0x0F), Some(byte >> 4)]);
        }
        prop_assert!(join_nibbles(&halves).unwrap().same_bytes(&image));
    }
}

#[test]
fn a_block_is_spread_to_the_same_place_of_every_bank() {
    let mut rom = image(0x1E, &[1, 2]);
    assert_eq!(spread(&mut rom, r(0x1E, 0x1F), 0x10, 4, false).unwrap(), 3);
    let wanted = [0x0E, 0x1E, 0x2E, 0x3E].map(|at| [(at, 1), (at + 1, 2)]);
    assert_eq!(
        bytes_of(&rom),
        wanted.into_iter().flatten().collect::<Bytes>()
    );
    // Again: equal bytes are no data to lose.
    assert_eq!(spread(&mut rom, r(0x1E, 0x1F), 0x10, 4, false).unwrap(), 3);

    let across = spread(&mut rom, r(0x1E, 0x20), 0x10, 4, false);
    assert!(matches!(across, Err(OpError::AcrossBanks { .. })));
    let hollow = spread(&mut rom, r(0x10, 0x11), 0x10, 4, false);
    assert!(matches!(hollow, Err(OpError::Nothing { .. })));

    // Filler gives way, other data only when told to.
    let mut rom = image(0x0E, &[1, 2]);
    rom.fill_holes(r(0x1E, 0x1F), |_| 0xFF);
    rom.put(0x2F, vec![9], file("b")).unwrap();
    let before = bytes_of(&rom);
    match spread(&mut rom, r(0x0E, 0x0F), 0x10, 3, false) {
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
    assert_eq!(spread(&mut rom, r(0x0E, 0x0F), 0x10, 2, false).unwrap(), 1);
    assert_eq!((rom.byte(0x1E), rom.byte(0x1F)), (Some(1), Some(2)));
    assert_eq!(spread(&mut rom, r(0x0E, 0x0F), 0x10, 3, true).unwrap(), 2);
    assert_eq!(rom.byte(0x2F), Some(2));
}

#[test]
fn halves_that_do_not_fit_together_are_refused() {
    let (low, high) = (image(4, &[1, 2]), image(4, &[3, 0x0F]));
    assert_eq!(
        join_nibbles(&[low.clone(), high.clone()]).unwrap().byte(5),
        Some(0xF2)
    );
    assert!(matches!(
        join_nibbles(std::slice::from_ref(&low)),
        Err(OpError::Halves(1))
    ));
    match join_nibbles(&[low.clone(), image(4, &[3, 0x10])]) {
        Err(OpError::NotNibble {
            piece,
            address,
            byte,
        }) => {
            assert_eq!((piece, address, byte), (1, 5, 0x10));
        }
        other => panic!("{other:?}"),
    }
    let shorter = join_nibbles(&[low, image(4, &[3])]);
    assert!(matches!(shorter, Err(OpError::UnequalLanes { .. })));
}

// rewire

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
    assert_eq!(
        said,
        "the word at 0x0012 has a hole at 0x0013: `fill` it first"
    );
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

#[test]
fn a_board_that_can_not_be_built_is_refused() {
    let plain = || Board::new(0x2000, 0x8000);
    let window = |change: fn(&mut Board)| {
        let mut board = plain();
        change(&mut board);
        board.window()
    };
    assert_eq!(window(|_| {}), Ok(r(0x8000, 0x9FFF)));
    assert_eq!(
        window(|b| (b.lanes, b.rows) = (2, 2)),
        Ok(r(0x8000, 0xFFFF))
    );
    for change in [
        (|b| b.lanes = 3) as fn(&mut Board),
        |b| b.lanes = 0,
        |b| b.rows = 0,
        |b| b.rows = 257,
        |b| b.unit = 3,
    ] {
        assert!(matches!(window(change), Err(BoardError::Count { .. })));
    }
    assert!(window(|b| (b.base, b.rows) = (0, 256)).is_ok());
    assert!(window(|b| (b.unit, b.chip, b.window) = (2, 2, 2)).is_ok());
    // A window is a power of two, no larger than the chip and no smaller than its word.
    for change in [
        (|b| b.window = 0x1800) as fn(&mut Board),
        |b| b.window = 0x4000,
        |b| (b.unit, b.window) = (2, 1),
    ] {
        assert!(matches!(window(change), Err(BoardError::Window { .. })));
    }
    let between = BoardError::Base {
        base: 0x9000,
        window: 0x2000,
        below: 0x8000,
        above: 0xA000,
    };
    assert_eq!(window(|b| b.base = 0x9000), Err(between));
    // Ranges that something else answers lie inside, further ranges of the chips outside.
    assert!(window(|b| b.except = vec![r(0x8000, 0x80FF)]).is_ok());
    assert!(window(|b| b.also = vec![r(0, 0x1FFF)]).is_ok());
    for change in [
        (|b| b.except = vec![r(0x9F00, 0xA000)]) as fn(&mut Board),
        |b| b.also = vec![r(0, 0x2000)],
        |b| b.also = vec![r(0x7FFF, 0x8000)],
    ] {
        assert!(matches!(window(change), Err(BoardError::Range { .. })));
    }
}

#[test]
fn a_chip_larger_than_its_window_says_which_lines_are_held() {
    let placed = |unit, placing| {
        let board = Board {
            unit,
            window: 0x800,
            placing,
            ..Board::new(0x2000, 0x8000)
        };
        board.window()
    };
    let window = Ok(r(0x8000, 0x87FF));
    let lines = |list: &[(u8, bool)]| PlacingInChip::Lines(list.to_vec());
    let open = BoardError::OpenPlace {
        chip: 0x2000,
        window: 0x800,
    };
    assert_eq!(placed(1, PlacingInChip::Whole), Err(open));
    assert_eq!(placed(1, PlacingInChip::Repeated), window);
    // 8 KiB has A0 to A12, or A0 to A11 where a word is two bytes; 2 KiB needs two fewer.
    assert_eq!(placed(1, lines(&[(12, true), (11, false)])), window);
    assert_eq!(placed(2, lines(&[(11, true), (10, false)])), window);
    for (unit, line) in [(1, 13), (2, 12)] {
        let refused = placed(unit, lines(&[(line, true), (10, true)]));
        assert!(matches!(refused, Err(BoardError::Line { line: l, .. }) if l == line));
    }
    let twice = placed(1, lines(&[(12, true), (12, false)]));
    assert!(matches!(twice, Err(BoardError::Line { line: 12, .. })));
    match placed(1, lines(&[(12, true)])) {
        Err(BoardError::Lines {
            needs,
            has,
            held,
            given,
            ..
        }) => {
            assert_eq!((needs, has, held, given), (11, 13, 2, 1));
        }
        other => panic!("{other:?}"),
    }
}
