use super::support::*;

#[test]
fn a_dealt_byte_still_names_its_line() {
    let mut b = Builder::new(file("a.hex"));
    for i in 0..8u64 {
        b.push(i * 16, &[i as u8; 16], i + 1).unwrap();
    }
    let image = b.finish(Clash::Refuse).unwrap();
    assert_eq!(image.origins().runs().len(), 1, "even lines are one run");
    for (lane, part) in image.clone().deal(2).iter().enumerate() {
        for address in 0..64 {
            assert_eq!(
                part.origin_at(address).unwrap().line,
                Some((address * 2 + lane as u64) / 16 + 1)
            );
        }
    }
}

#[test]
fn bytes_at_the_top_of_the_address_space_are_dealt() {
    let top = AddressRange::TOP;
    for len in 1..5 {
        let image = Image::from_bytes(top + 1 - len, vec![7; len as usize], file("a")).unwrap();
        for n in 1..6 {
            let lanes = image.clone().deal(n);
            assert_eq!(lanes.iter().map(Image::len).sum::<u64>(), len);
            let lane = &lanes[(top % u64::from(n)) as usize];
            assert_eq!(lane.byte(top / u64::from(n)), Some(7));
        }
    }
}

#[test]
fn no_lanes_are_none() {
    let image = Image::from_bytes(0, vec![1, 2], file("a")).unwrap();
    assert_eq!(image.clone().deal(0).len(), 0);
}

#[test]
fn a_large_image_is_dealt_byte_by_byte() {
    // Larger than what is dealt in one go, from an address that belongs to no first lane.
    let bytes: Vec<u8> = (0..270_003u32).map(|i| ((i * 7) >> 3) as u8).collect();
    let image = Image::from_bytes(13, bytes.clone(), file("a")).unwrap();
    for n in [2, 3, 8, 140_001] {
        let lanes = image.clone().deal(n);
        assert_eq!(lanes.len(), n as usize);
        for (i, byte) in bytes.iter().enumerate() {
            let at = 13 + i as u64;
            let lane = &lanes[(at % u64::from(n)) as usize];
            assert_eq!(lane.byte(at / u64::from(n)), Some(*byte), "{n} {at}");
        }
    }
}

#[test]
fn a_large_image_that_nobody_else_has_is_dealt_byte_by_byte() {
    // With one length all lanes are made in new memory, with the other the first stays where the image was.
    for (len, n) in [(4_300_003, 2), (4_300_003, 5), (17_000_001, 2)] {
        let bytes: Vec<u8> = (0..len).map(|i: u32| ((i * 7) >> 3) as u8).collect();
        let lanes = Image::from_bytes(n - 1, bytes.clone(), file("a")).unwrap();
        let lanes = lanes.deal(n as u32);
        for (lane, of_lane) in lanes.iter().enumerate() {
            let first = (lane + 1) % n as usize;
            let wanted: Vec<u8> = bytes[first..].iter().copied().step_by(n as usize).collect();
            let [span] = &of_lane.spans[..] else {
                panic!("lane {lane} of {n} is not in one piece");
            };
            assert_eq!(span.start, (first as u64).div_ceil(n));
            assert!(*span.bytes == wanted, "lane {lane} of {n}");
            assert!(span.bytes.spare() < 1 << 20, "lane {lane} of {n}");
        }
    }
}

#[test]
fn lanes_with_distant_spans_are_woven_without_walking_the_gap() {
    let mut lane = Image::from_bytes(0, vec![1], file("a")).unwrap();
    lane.put(1 << 60, vec![2], file("a")).unwrap();
    let both = Image::weave(vec![lane.clone(), lane]).unwrap();
    assert_eq!(both.len(), 4);
}

#[test]
fn woven_bytes_keep_their_source_or_name_all_of_them() {
    let lane = |name: &str| Image::from_bytes(4, vec![1, 2], file(name)).unwrap();
    let said = |image: &Image| image.origin_at(8).unwrap().to_string();
    let one = Image::weave(vec![lane("a"), lane("a")]).unwrap();
    assert_eq!(said(&one), "a");
    let two = Image::weave(vec![lane("a"), lane("b")]).unwrap();
    let woven = Arc::new(Source::Woven(vec![file("a").into(), file("b").into()]));
    assert_eq!(two.origins().runs()[0].source, woven);
    // With a hole beside it each byte is its lane's own.
    let part = Image::weave(vec![
        Image::from_bytes(4, vec![1], file("a")).unwrap(),
        lane("b"),
    ])
    .unwrap();
    assert_eq!(part.origin_at(10).map(|o| o.to_string()), None);
    assert_eq!(part.origin_at(11).unwrap().to_string(), "b");
    assert_eq!(part.origins().runs()[0].range, r(8, 9));
}

#[test]
fn a_lane_may_be_shorter_than_its_neighbour() {
    let lane = |bytes: &[u8]| Image::from_bytes(4, bytes.to_vec(), file("a")).unwrap();
    let both = Image::weave(vec![lane(&[1]), lane(&[2, 3, 4])]).unwrap();
    let wanted = [(8, 1), (9, 2), (11, 3), (13, 4)];
    assert_eq!(bytes_of(&both), BTreeMap::from(wanted));
    assert_sound(&both);
}

#[test]
fn a_weave_stops_where_the_address_space_ends() {
    let lane = |last: u64| Image::from_bytes(last, vec![7], file("a")).unwrap();
    let wide = |n: u64, last: u64| Image::weave(vec![lane(last); n as usize]);
    for n in 2..8 {
        // The highest address at which the last lane's byte still lies at TOP or below.
        let last = (AddressRange::TOP - (n - 1)) / n;
        let image = wide(n, last).unwrap();
        assert_eq!(image.extent(), Some(r(last * n, last * n + n - 1)));
        assert!(wide(n, last + 1).is_err());
        let mut lanes = vec![Image::default(); n as usize];
        lanes[n as usize - 1] = lane(last);
        assert_eq!(Image::weave(lanes).unwrap().byte(last * n + n - 1), Some(7));
    }
}

proptest! {
    #[test]
    fn dealing_and_weaving_cancel(records in records(), n in 1u32..6) {
        let image = built(&records, Clash::Last).unwrap();
        let lanes = image.clone().deal(n);
        for (i, lane) in lanes.iter().enumerate() {
            assert_sound(lane);
            for (at, b) in bytes_of(lane) {
                prop_assert_eq!(image.byte(at * u64::from(n) + i as u64), Some(b));
            }
        }
        let back = Image::weave(lanes).unwrap();
        assert_sound(&back);
        prop_assert!(back.same_bytes(&image));
    }
}
