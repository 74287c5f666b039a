use super::*;
use proptest::prelude::*;
use std::collections::BTreeMap;

fn r(first: u64, last: u64) -> AddressRange {
    AddressRange::new(first, last).unwrap()
}

fn file(name: &str) -> Source {
    Source::File(name.into())
}

fn bytes_of(image: &Image) -> BTreeMap<u64, u8> {
    image
        .spans()
        .iter()
        .flat_map(|s| {
            s.bytes()
                .iter()
                .enumerate()
                .map(|(i, b)| (s.start() + i as u64, *b))
        })
        .collect()
}

/// What every image promises: sorted spans that do not touch, and an origin for exactly the bytes there are.
fn assert_sound(image: &Image) {
    for pair in image.spans().windows(2) {
        assert!(pair[0].range().last() + 1 < pair[1].start(), "{image:?}");
    }
    for pair in image.origins().runs().windows(2) {
        assert!(pair[0].range.last() < pair[1].range.first(), "{image:?}");
    }
    let described: u64 = image.origins().runs().iter().map(|r| r.range.len()).sum();
    assert_eq!(described, image.len());
    assert_eq!(image.is_empty(), described == 0);
    for run in image.origins().runs() {
        assert!(image.contiguous(run.range).is_ok(), "{run:?}");
    }
}

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
fn sources_are_named_as_messages_name_them() {
    for (source, name, is_filler) in [
        (file("a.hex"), "a.hex", false),
        (Source::Filler, "filler", true),
        (Source::Stamp("sum16".into()), "stamp sum16", false),
        (Source::Patch, "patch", false),
        (Source::Mark, "mark", false),
        (
            Source::Pattern("telltale".into()),
            "pattern telltale",
            false,
        ),
        (Source::Copy, "copy", false),
        (Source::Majority, "majority", false),
        (
            Source::Woven(vec![file("a").into(), Source::Filler.into()]),
            "a and filler in turn",
            false,
        ),
        (
            Source::Woven(vec![Source::Filler.into(), Source::Filler.into()]),
            "filler and filler in turn",
            true,
        ),
    ] {
        assert_eq!(source.to_string(), name);
        assert_eq!(source.is_filler(), is_filler, "{name}");
    }
}

#[test]
fn filler_is_known_as_filler() {
    let mut image = Image::from_bytes(4, vec![1], file("a")).unwrap();
    image.fill_holes(r(2, 7), |a| a as u8);
    assert_eq!(image.spans()[0].bytes(), [2, 3, 1, 5, 6, 7]);
    assert!(image.origin_at(2).unwrap().source.is_filler());
    assert!(!image.origin_at(4).unwrap().source.is_filler());
    assert_sound(&image);
}

#[test]
fn a_dealt_byte_still_names_its_line() {
    let mut b = Builder::new(file("a.hex"));
    for i in 0..8u64 {
        b.push(i * 16, &[i as u8; 16], i + 1).unwrap();
    }
    let image = b.finish(Clash::Refuse).unwrap();
    assert_eq!(image.origins().runs().len(), 1, "even lines are one run");
    for (lane, part) in image.deal(2).iter().enumerate() {
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
            let lanes = image.deal(n);
            assert_eq!(lanes.iter().map(Image::len).sum::<u64>(), len);
            let lane = &lanes[(top % u64::from(n)) as usize];
            assert_eq!(lane.byte(top / u64::from(n)), Some(7));
        }
    }
}

#[test]
fn no_lanes_are_none() {
    let image = Image::from_bytes(0, vec![1, 2], file("a")).unwrap();
    assert_eq!(image.deal(0).len(), 0);
}

#[test]
fn a_record_behind_a_block_stands_where_it_says() {
    // The record goes on in lines and addresses, but not in the piece: that was closed by the block.
    let mut builder = Builder::new(file("a"));
    builder.push(0, &[1; 16], 1).unwrap();
    builder.push_block(0x100, vec![2; 4]).unwrap();
    builder.push(16, &[3; 16], 2).unwrap();
    let image = builder.finish(Clash::Refuse).unwrap();
    assert_sound(&image);
    assert_eq!(image.extent(), Some(r(0, 0x103)));
    assert_eq!(
        [0, 15, 16, 31].map(|at| image.byte(at)),
        [1, 1, 3, 3].map(Some)
    );
    assert_eq!(image.origin_at(31).unwrap().line, Some(2));
}

#[test]
fn a_large_image_is_dealt_byte_by_byte() {
    // Larger than what is dealt in one go, from an address that belongs to no first lane.
    let bytes: Vec<u8> = (0..270_003u32).map(|i| ((i * 7) >> 3) as u8).collect();
    let image = Image::from_bytes(13, bytes.clone(), file("a")).unwrap();
    for n in [2, 3, 8, 140_001] {
        let lanes = image.deal(n);
        assert_eq!(lanes.len(), n as usize);
        for (i, byte) in bytes.iter().enumerate() {
            let at = 13 + i as u64;
            let lane = &lanes[(at % u64::from(n)) as usize];
            assert_eq!(lane.byte(at / u64::from(n)), Some(*byte), "{n} {at}");
        }
    }
}

#[test]
fn lanes_with_distant_spans_are_woven_without_walking_the_gap() {
    let mut lane = Image::from_bytes(0, vec![1], file("a")).unwrap();
    lane.put(1 << 60, vec![2], file("a")).unwrap();
    let both = Image::weave(&[lane.clone(), lane]).unwrap();
    assert_eq!(both.len(), 4);
}

#[test]
fn woven_bytes_keep_their_source_or_name_all_of_them() {
    let lane = |name: &str| Image::from_bytes(4, vec![1, 2], file(name)).unwrap();
    let said = |image: &Image| image.origin_at(8).unwrap().to_string();
    let one = Image::weave(&[lane("a"), lane("a")]).unwrap();
    assert_eq!(said(&one), "a");
    let two = Image::weave(&[lane("a"), lane("b")]).unwrap();
    let woven = Arc::new(Source::Woven(vec![file("a").into(), file("b").into()]));
    assert_eq!(two.origins().runs()[0].source, woven);
    // With a hole beside it each byte is its lane's own.
    let part =
        Image::weave(&[Image::from_bytes(4, vec![1], file("a")).unwrap(), lane("b")]).unwrap();
    assert_eq!(part.origin_at(10).map(|o| o.to_string()), None);
    assert_eq!(part.origin_at(11).unwrap().to_string(), "b");
    assert_eq!(part.origins().runs()[0].range, r(8, 9));
}

#[test]
fn a_lane_may_be_shorter_than_its_neighbour() {
    let lane = |bytes: &[u8]| Image::from_bytes(4, bytes.to_vec(), file("a")).unwrap();
    let both = Image::weave(&[lane(&[1]), lane(&[2, 3, 4])]).unwrap();
    let wanted = [(8, 1), (9, 2), (11, 3), (13, 4)];
    assert_eq!(bytes_of(&both), BTreeMap::from(wanted));
    assert_sound(&both);
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
fn a_scrambled_block_lists_its_sources_where_it_had_too_many_runs() {
    // The topmost line becomes the lowest, so that both halves of a block come to stand byte by byte in turn.
    let scrambled = |bits: u32, base: u64, hole: u64| {
        let half = 1 << (bits - 1);
        let part = |start: u64, name: &str| {
            let bytes = vec![7; (half - (start - base) % half) as usize];
            Image::from_bytes(start, bytes, file(name)).unwrap()
        };
        let halves = vec![part(base + hole, "a"), part(base + half, "b")];
        let place = |from: u64| (from << 1 | from >> (bits - 1)) & (2 * half - 1);
        let same = std::array::from_fn(|byte| byte as u8);
        let image = Image::gather(halves).unwrap();
        let moved = image.permuted(bits, place, &same).unwrap();
        assert_sound(&moved);
        moved
    };
    let said = |image: &Image, at| image.origin_at(at).map(|origin| origin.to_string());
    // 65,536 runs are kept, each by itself.
    let image = scrambled(16, 0, 0);
    assert_eq!(image.origins().runs().len(), 1 << 16);
    assert_eq!(said(&image, 6).as_deref(), Some("a"));
    let image = scrambled(17, 1 << 17, 1);
    let base = 1 << 17;
    assert_eq!(said(&image, base), None);
    assert_eq!(said(&image, base + 1).as_deref(), Some("a and b in turn"));
    assert_eq!(
        image.origins().runs()[0].range,
        r(base + 1, base + (1 << 17) - 1)
    );
}

#[test]
fn a_weave_stops_where_the_address_space_ends() {
    let lane = |last: u64| Image::from_bytes(last, vec![7], file("a")).unwrap();
    let wide = |n: u64, last: u64| Image::weave(&vec![lane(last); n as usize]);
    for n in 2..8 {
        // The highest address at which the last lane's byte still lies at TOP or below.
        let last = (AddressRange::TOP - (n - 1)) / n;
        let image = wide(n, last).unwrap();
        assert_eq!(image.extent(), Some(r(last * n, last * n + n - 1)));
        assert!(wide(n, last + 1).is_err());
        let mut lanes = vec![Image::default(); n as usize];
        lanes[n as usize - 1] = lane(last);
        assert_eq!(
            Image::weave(&lanes).unwrap().byte(last * n + n - 1),
            Some(7)
        );
    }
}

#[test]
fn what_is_kept_may_begin_at_address_0() {
    let mut image = Image::from_bytes(0, vec![1, 2, 3, 4], file("a")).unwrap();
    image.keep(&[r(2, 2), r(0, 0)]);
    assert_eq!(bytes_of(&image), BTreeMap::from([(0, 1), (2, 3)]));
    assert_sound(&image);
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
fn blocks_without_lines_stand_beside_records() {
    let with_block = |start, bytes: &[u8], clash| {
        let mut builder = Builder::new(file("a"));
        builder.push(4, &[1, 2], 9).unwrap();
        builder.push_block(start, bytes.to_vec()).unwrap();
        builder.push_block(0, Vec::new()).unwrap();
        builder.finish(clash)
    };
    let image = with_block(2, &[8, 9], Clash::Refuse).unwrap();
    assert_sound(&image);
    assert_eq!(image.spans()[0].bytes(), [8, 9, 1, 2]);
    let line = |at| image.origin_at(at).unwrap().line;
    assert_eq!((line(3), line(4)), (None, Some(9)));
    assert!(with_block(5, &[2, 3], Clash::Refuse).is_err());
    let same = with_block(5, &[2, 3], Clash::Same).unwrap();
    assert_eq!(same.spans()[0].bytes(), [1, 2, 3]);
    assert!(with_block(5, &[4, 3], Clash::Same).is_err());
    let too_far = Builder::new(file("a")).push_block(AddressRange::TOP, vec![4, 3]);
    assert_eq!(too_far, Err(OutOfSpace));
}

type Records = Vec<(u64, Vec<u8>)>;

fn records() -> impl Strategy<Value = Records> {
    prop::collection::vec(
        (0u64..300, prop::collection::vec(any::<u8>(), 0..12)),
        0..60,
    )
}

/// The same job byte by byte.
fn by_the_byte(records: &Records, first_wins: bool) -> BTreeMap<u64, u8> {
    let mut all = BTreeMap::new();
    for (start, bytes) in records {
        for (i, b) in bytes.iter().enumerate() {
            let at = start + i as u64;
            if !(first_wins && all.contains_key(&at)) {
                all.insert(at, *b);
            }
        }
    }
    all
}

fn built(records: &Records, clash: Clash) -> Result<Image, Overlap> {
    let mut b = Builder::new(file("a"));
    for (i, (start, bytes)) in records.iter().enumerate() {
        b.push(*start, bytes, i as u64 + 1).unwrap();
    }
    b.finish(clash)
}

proptest! {
    #[test]
    fn records_in_any_order_give_the_bytes_they_name(records in records()) {
        for (clash, first) in [(Clash::First, true), (Clash::Last, false)] {
            let image = built(&records, clash).unwrap();
            assert_sound(&image);
            prop_assert_eq!(bytes_of(&image), by_the_byte(&records, first));
            // Every byte's line must be a record that brings this byte to this address.
            for (at, b) in bytes_of(&image) {
                let line = image.origin_at(at).unwrap().line.unwrap();
                let (start, bytes) = &records[line as usize - 1];
                prop_assert_eq!(bytes.get((at - start) as usize), Some(&b));
            }
        }
        let wanted: usize = records.iter().map(|(_, b)| b.len()).sum();
        let all = by_the_byte(&records, true);
        let refused = built(&records, Clash::Refuse);
        prop_assert_eq!(refused.is_ok(), wanted == all.len());
        prop_assert_eq!(built(&records, Clash::Same).is_ok(), all == by_the_byte(&records, false)
            && refused.err().is_none_or(|o| o.differs_at.is_none()));
    }

    #[test]
    fn every_byte_names_its_line_however_even_the_lines_are(
        steps in prop::collection::vec((0u64..12, 0u64..12, 0usize..8), 1..60),
    ) {
        let mut builder = Builder::new(file("a"));
        let mut lines = BTreeMap::new();
        let (mut next, mut line, mut last) = (100, 0, None);
        let mut arrival = Arrival::default();
        // Most lines follow each other and are equally long, as a file's do; some are short, empty or apart.
        for (gap, skipped, len) in steps {
            let address: u64 = match gap { 0 => next + 3, 1 => next - 7, _ => next };
            line += if skipped == 0 { 3 } else { 1 };
            let len = if len < 4 { len } else { 4 };
            builder.push(address, &vec![line as u8; len], line).unwrap();
            if len > 0 {
                arrival.records += 1;
                if last.is_some_and(|last| address < last) {
                    arrival.steps_back += 1;
                    arrival.first_step_back.get_or_insert(line);
                }
                next = address + len as u64;
                last = Some(next);
                lines.extend((address..next).map(|at| (at, line)));
            }
            prop_assert_eq!(builder.next_address(), last);
            prop_assert_eq!(builder.arrival(), arrival);
        }
        let image = builder.finish(Clash::Last).unwrap();
        assert_sound(&image);
        for (at, b) in bytes_of(&image) {
            prop_assert_eq!(u64::from(b), lines[&at]);
            prop_assert_eq!(image.origin_at(at).unwrap().line, Some(lines[&at]));
        }
    }

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

    #[test]
    fn a_permutation_moves_each_byte_with_its_source(
        a in records(), b in records(), bits in 1u32..10,
        order in Just((0..9usize).collect::<Vec<_>>()).prop_shuffle(), inverted: u64, key: u8,
    ) {
        let mut image = built(&a, Clash::Last).unwrap();
        let mut other = Builder::new(file("b"));
        for (start, bytes) in &b {
            other.push(start + 200, bytes, 1).unwrap();
        }
        image.merge(other.finish(Clash::Last).unwrap(), Clash::Last).unwrap();
        let block = (1 << bits) - 1;
        let order: Vec<usize> = order.into_iter().filter(|line| *line < bits as usize).collect();
        let place = |from: u64| {
            let wired = order.iter().enumerate().map(|(line, to)| (from >> line & 1) << to);
            wired.sum::<u64>() ^ (inverted & block)
        };
        let value = std::array::from_fn(|byte| byte as u8 ^ key);
        let moved = image.permuted(bits, place, &value).unwrap();
        assert_sound(&moved);
        prop_assert_eq!(moved.len(), image.len());
        for (at, byte) in bytes_of(&image) {
            let to = (at & !block) | place(at & block);
            prop_assert_eq!(moved.byte(to), Some(byte ^ key));
            let source = |image: &Image, at| image.origin_at(at).unwrap().source;
            prop_assert_eq!(source(&moved, to), source(&image, at));
        }
    }

    #[test]
    fn dealing_and_weaving_cancel(records in records(), n in 1u32..6) {
        let image = built(&records, Clash::Last).unwrap();
        let lanes = image.deal(n);
        for (i, lane) in lanes.iter().enumerate() {
            assert_sound(lane);
            for (at, b) in bytes_of(lane) {
                prop_assert_eq!(image.byte(at * u64::from(n) + i as u64), Some(b));
            }
        }
        let back = Image::weave(&lanes).unwrap();
        assert_sound(&back);
        prop_assert!(back.same_bytes(&image));
    }
}

#[test]
fn lines_up_to_the_very_last_address_are_taken() {
    let mut builder = Builder::new(file("a"));
    let top = AddressRange::TOP;
    builder.push(top - 23, &[1; 16], 1).unwrap();
    builder.push(top - 7, &[2; 8], 2).unwrap();
    assert_eq!(builder.push(top + 1, &[3], 3), Err(OutOfSpace));
    let image = builder.finish(Clash::Refuse).unwrap();
    assert_sound(&image);
    assert_eq!(image.extent(), Some(r(top - 23, top)));
    assert_eq!(image.origin_at(top).unwrap().line, Some(2));
}
