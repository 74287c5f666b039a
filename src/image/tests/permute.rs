use super::support::*;

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
        let mut moved = Image::gather(halves).unwrap();
        moved.permute(bits, place, &same).unwrap();
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

proptest! {
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
        let mut moved = image.clone();
        moved.permute(bits, place, &value).unwrap();
        assert_sound(&moved);
        prop_assert_eq!(moved.len(), image.len());
        for (at, byte) in bytes_of(&image) {
            let to = (at & !block) | place(at & block);
            prop_assert_eq!(moved.byte(to), Some(byte ^ key));
            let source = |image: &Image, at| image.origin_at(at).unwrap().source;
            prop_assert_eq!(source(&moved, to), source(&image, at));
        }
    }
}
