use super::support::*;

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
        stamp.over = OverData::Replace;
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
    stamp.over = OverData::Replace;
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
        stamp.over = OverData::Replace;
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
        "0x0004-0x0005 is a hole, but a sum needs every byte"
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
        "there is data at the stamp's place 0x0002-0x0003 (monitor.hex)"
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
    stamp.over = OverData::Replace;
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
        stamp.over = OverData::Replace;
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
        stamp.over = OverData::Replace;
        stamp.balance_to = Some(0);
        stamp.blank = blank;
        refusal(&mut rom, |i| stamp.put(i))
    };
    assert_eq!(
        balance(Algo::SUM8, &[whole], 0x10, None),
        "the stamp's place 0x0010 is not inside the range, so nothing there can balance it"
    );
    assert_eq!(
        balance(Algo::SUM16LE, &[whole], 0xF, None),
        "the stamp's place 0x000F-0x0010 is not inside the range, so nothing there can balance it"
    );
    assert_eq!(
        balance(Algo::SUM16LE, &[whole], 3, None),
        "the stamp's place 0x0003-0x0004 is not on a 2-byte word of the range"
    );
    assert_eq!(
        balance(Algo::SUM8, &[whole, r(4, 7)], 5, None),
        "the stamp's place 0x0005 is in more than one of the ranges, so it would count twice"
    );
    for address in [None, Some(5)] {
        let blank = Blank {
            address,
            bytes: vec![0xFF],
        };
        assert_eq!(
            balance(Algo::SUM8, &[whole], 5, Some(blank)),
            "the stamp's place 0x0005-0x0005 can't balance the sum and also count as other bytes"
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
        "0x0002-0x0003 is a hole, but a sum needs every byte"
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
