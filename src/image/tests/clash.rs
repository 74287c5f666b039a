use super::support::*;

#[test]
fn a_clash_names_both_sides_with_their_lines() {
    let build = |name: &str, first_line: u64, value: u8| {
        let mut b = Builder::new(file(name));
        for i in 0..4u64 {
            b.push(0x8000 + i * 16, &[value; 16], first_line + i)
                .unwrap();
        }
        b.finish(Clash::Refuse).unwrap()
    };
    let mut image = build("monitor.hex", 1, 0xAA);
    let mut other = build("basic.s19", 2, 0xBB);
    other.shift(0x38).unwrap();
    let before = bytes_of(&image);
    let overlap = image.merge(other, Clash::Refuse).unwrap_err();
    assert_eq!(
        overlap.to_string(),
        "0x8038 is wanted twice: monitor.hex line 4 puts AA there, basic.s19 line 2 puts BB; \
         8 bytes overlap, 8 of them different, the first at 0x8038"
    );
    assert_eq!(bytes_of(&image), before);
}

#[test]
fn equal_bytes_may_overlap_when_that_is_accepted() {
    let mut image = Image::from_bytes(0, vec![1, 2, 3], file("a")).unwrap();
    let other = Image::from_bytes(2, vec![3, 4], file("b")).unwrap();
    assert!(image.clone().merge(other.clone(), Clash::Refuse).is_err());
    let different = Image::from_bytes(2, vec![9, 4], file("b")).unwrap();
    assert!(image.merge(different, Clash::Same).is_err());
    assert_eq!(image.spans()[0].bytes(), [1, 2, 3]);
    image.merge(other, Clash::Same).unwrap();
    assert_eq!(image.spans()[0].bytes(), [1, 2, 3, 4]);
    assert_eq!(image.origin_at(2).unwrap().to_string(), "a");
    assert_sound(&image);
}

#[test]
fn an_overlap_says_how_much_of_it_is_equal() {
    let image = |start, bytes: &[u8], name: &str| {
        Image::from_bytes(start, bytes.to_vec(), file(name)).unwrap()
    };
    let said = |theirs: &Image| {
        let overlap = image(0x100, &[1, 2, 3], "a").overlap_with(theirs).unwrap();
        overlap.to_string()
    };
    assert_eq!(
        said(&image(0x102, &[3], "b")),
        "0x0102 is wanted twice: a puts 03 there, b puts 03; 1 byte overlaps, equal on both sides"
    );
    assert_eq!(
        said(&image(0x101, &[2, 4], "b")),
        "0x0101 is wanted twice: a puts 02 there, b puts 02; 2 bytes overlap, 1 of them different, the first at 0x0102"
    );
    let contests = image(0x100, &[1, 2, 3], "a").contests_with(&image(0x101, &[5, 6], "b"));
    assert_eq!(contests[0].to_string(), "0x0101-0x0102: a and b differ");
    assert_eq!(contests.len(), 1);
}

#[test]
fn all_overlaps_of_a_file_are_one_error_that_names_the_lowest() {
    let overlap = |records: &[(u64, &[u8])]| {
        let mut builder = Builder::new(file("a"));
        for (i, (start, bytes)) in records.iter().enumerate() {
            builder.push(*start, bytes, i as u64 + 1).unwrap();
        }
        let overlap = builder.finish(Clash::Refuse).unwrap_err();
        let lines = (overlap.earlier.0.line, overlap.later.0.line);
        (
            overlap.address,
            lines,
            overlap.count,
            overlap.equal,
            overlap.differs_at,
        )
    };
    let lines = |a, b| (Some(a), Some(b));
    // Lines 1 and 2 meet first, higher up than where line 3 meets line 1.
    let long: &[u8] = &[1; 12];
    assert_eq!(
        overlap(&[(0, &[1; 10]), (8, long), (4, &[1, 2, 3])]),
        (4, lines(1, 3), 5, 3, Some(5))
    );
    // And the other way round; the second overlap lies apart.
    assert_eq!(
        overlap(&[(0, &[1; 10]), (2, &[1, 7]), (40, &[5, 5]), (41, &[5, 5, 5])]),
        (2, lines(1, 2), 3, 2, Some(3))
    );
    assert_eq!(
        overlap(&[(0, &[1; 10]), (2, &[1, 1]), (40, &[5, 5]), (41, &[6])]),
        (2, lines(1, 2), 3, 2, Some(41))
    );
}

#[test]
fn pieces_are_gathered_each_byte_at_its_own_address_or_refused() {
    let piece =
        |start, name: &str| Image::from_bytes(start, vec![start as u8; 4], file(name)).unwrap();
    let all = Image::gather(vec![piece(8, "a"), piece(0, "b"), piece(4, "c")]).unwrap();
    assert_sound(&all);
    assert_eq!(all.spans()[0].bytes(), [0, 0, 0, 0, 4, 4, 4, 4, 8, 8, 8, 8]);
    assert_eq!(all.origin_at(7).unwrap().to_string(), "c");
    let overlap = Image::gather(vec![piece(8, "a"), piece(0, "b"), piece(5, "c")]).unwrap_err();
    assert_eq!(
        overlap.to_string().split(';').next(),
        Some("0x0008 is wanted twice: a puts 08 there, c puts 05")
    );
}

proptest! {
    #[test]
    fn an_overlap_counts_what_both_hold_and_names_the_lowest(a in records(), b in records()) {
        let (one, two) = (built(&a, Clash::Last).unwrap(), built(&b, Clash::Last).unwrap());
        let (ours, theirs) = (bytes_of(&one), bytes_of(&two));
        let both = ours.iter().filter_map(|(at, a)| Some((*at, *a, *theirs.get(at)?)));
        let both: Vec<(u64, u8, u8)> = both.collect();
        let differing: Vec<u64> = both.iter().filter(|(_, a, b)| a != b).map(|(at, ..)| *at).collect();
        match one.overlap_with(&two) {
            None => prop_assert!(both.is_empty()),
            Some(overlap) => {
                let (address, a, b) = both[0];
                let origin = |image: &Image| image.origin_at(address).unwrap();
                prop_assert_eq!(overlap.address, address);
                prop_assert_eq!(overlap.earlier, (origin(&one), a));
                prop_assert_eq!(overlap.later, (origin(&two), b));
                prop_assert_eq!(overlap.count, both.len() as u64);
                prop_assert_eq!(overlap.equal, (both.len() - differing.len()) as u64);
                prop_assert_eq!(overlap.differs_at, differing.first().copied());
            }
        }
        // Each contest is between two records; its ends differ, and all that differs lies in one.
        let contests = one.contests_with(&two);
        let mut named = 0;
        for contest in &contests {
            prop_assert!(differing.contains(&contest.range.first()));
            prop_assert!(differing.contains(&contest.range.last()));
            for at in differing.iter().filter(|at| contest.range.contains(**at)) {
                prop_assert_eq!(&one.origin_at(*at).unwrap(), &contest.earlier);
                prop_assert_eq!(&two.origin_at(*at).unwrap(), &contest.later);
                named += 1;
            }
        }
        prop_assert_eq!(named, differing.len());
    }
}

proptest! {
    #[test]
    fn what_records_dispute_is_left_a_hole(records in records()) {
        let mut builder = Builder::new(file("a"));
        for (i, (start, bytes)) in records.iter().enumerate() {
            builder.push(*start, bytes, i as u64 + 1).unwrap();
        }
        let (image, contests) = builder.finish_undisputed();
        assert_sound(&image);
        for pair in contests.windows(2) {
            prop_assert!(pair[0].range.last() < pair[1].range.first());
        }
        let (first, last) = (by_the_byte(&records, true), by_the_byte(&records, false));
        for at in 0..320 {
            match image.byte(at) {
                // Whoever names it says this.
                Some(byte) => for (start, bytes) in &records {
                    let said = at.checked_sub(*start).and_then(|i| bytes.get(i as usize));
                    prop_assert!(said.is_none_or(|said| *said == byte), "{at}");
                },
                None => prop_assert!(
                    !first.contains_key(&at) || contests.iter().any(|c| c.range.contains(at)),
                    "{at} is lost"
                ),
            }
            if first.get(&at) != last.get(&at) {
                prop_assert_eq!(image.byte(at), None);
            }
        }
    }
}

#[test]
fn ways_to_settle_a_clash_and_byte_orders_parse_as_they_print() {
    for clash in Clash::ALL {
        assert_eq!(clash.to_string().parse(), Ok(clash));
    }
    for order in Order::ALL {
        assert_eq!(order.to_string().parse(), Ok(order));
    }
    assert_eq!("LAST".parse(), Ok(Clash::Last));
    assert_eq!(
        "both".parse::<Clash>().unwrap_err().to_string(),
        "`both` is not a way to settle a clash: write refuse, same, first or last"
    );
}
