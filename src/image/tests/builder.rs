use super::support::*;

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
fn lines_without_a_byte_are_no_lines() {
    assert_eq!(Lines::new(1, 0), None);
    let run = |first| OriginRun {
        range: r(0, 100),
        source: file("a").into(),
        lines: Lines::new(first, 16),
    };
    assert_eq!(run(7).line_at(16), Some(8));
    assert_eq!(run(u64::MAX).line_at(16), Some(u64::MAX));
    let mut builder = Builder::new(file("a"));
    builder.push(0, &[1], u64::MAX).unwrap();
    builder.push(1, &[2], 0).unwrap();
    assert_eq!(builder.finish(Clash::Refuse).unwrap().len(), 2);
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
}

proptest! {
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

proptest! {
    #[test]
    fn what_another_builder_got_is_appended_as_if_it_came_here(records in lines(), at in 0usize..40) {
        let at = at.min(records.len());
        let mut lines = (0, 0);
        let mut whole = Builder::new(file("a"));
        let mut halves = [Builder::new(file("a")), Builder::new(file("a"))];
        for (i, (start, len, gap)) in records.iter().enumerate() {
            let bytes: Vec<u8> = (0..*len).map(|n| n as u8 ^ i as u8).collect();
            lines.0 += 1 + u64::from(*gap);
            whole.push(*start, &bytes, lines.0).unwrap();
            if i < at {
                lines.1 = lines.0;
            }
            let half = &mut halves[usize::from(i >= at)];
            half.push(*start, &bytes, lines.0 - if i < at { 0 } else { lines.1 }).unwrap();
        }
        let [mut first, mut second] = halves;
        first.append(&mut second, lines.1);
        prop_assert_eq!(second.arrival(), Arrival::default());
        prop_assert!(second.finish(Clash::Refuse).unwrap().is_empty());
        prop_assert_eq!(first.arrival(), whole.arrival());
        // What comes next goes on in the same way.
        if let Some(next) = whole.next_address() {
            prop_assert_eq!(first.next_address(), Some(next));
            for builder in [&mut first, &mut whole] {
                builder.push(next, &[1; 16], lines.0 + 1).unwrap();
                builder.push(next + 16, &[2; 16], lines.0 + 2).unwrap();
            }
        }
        let (first, whole) = (first.finish(Clash::Last).unwrap(), whole.finish(Clash::Last).unwrap());
        assert_sound(&first);
        prop_assert_eq!(first.spans(), whole.spans());
        prop_assert_eq!(format!("{:?}", first.origins()), format!("{:?}", whole.origins()));
    }
}

/// Records that mostly go on where the one before ended, in lines of a few lengths, with a line between them at times.
fn lines() -> impl Strategy<Value = Vec<(u64, usize, bool)>> {
    let record = (
        any::<u8>(),
        prop_oneof![6 => Just(16usize), 2 => 0usize..20],
        prop::bool::weighted(0.1),
    );
    prop::collection::vec(record, 0..40).prop_map(|all| {
        let mut at = 0x1000u64;
        let placed = all.into_iter().map(|(jump, len, gap)| {
            if jump < 40 {
                at = 0x1000 + u64::from(jump) * 0x11;
            }
            let start = at;
            at += len as u64;
            (start, len, gap)
        });
        placed.collect()
    })
}
