//! Every form of made-up chips, reads of them with damage, and how the work grows.

use super::listed::sum_text;
use super::*;
use crate::faults::Pattern;
use crate::sums::{self, Algo};

fn sums_of_list(text: &str) -> Vec<KnownChip> {
    let listed = sums::read_list(text).unwrap().unwrap();
    listed.into_iter().map(KnownChip::from).collect()
}

fn random(seed: u32, size: usize) -> Vec<u8> {
    Pattern::Random { seed }.image(size).unwrap()
}

fn image(name: &str, bytes: &[u8]) -> KnownChip {
    KnownChip {
        name: name.into(),
        by: KnownBy::Image(bytes.to_vec()),
    }
}

fn inverted(bytes: &[u8]) -> Vec<u8> {
    bytes.iter().map(|byte| !byte).collect()
}

/// What one read is.
fn one(read: &[u8], known: &[KnownChip]) -> Identity {
    recognise(&[read], known).remove(0)
}

/// The form of the first match, which is certain.
fn certain(read: &[u8], known: &[KnownChip]) -> (usize, ReadForm) {
    let found = one(read, known);
    assert_eq!(found.answer, Recognised::Is, "{found:?}");
    (found.matches[0].known, found.matches[0].form.clone())
}

#[test]
fn every_form_of_an_image_is_known() {
    let (other, rom) = (random(1, 1024), random(2, 1024));
    let known = [image("other", &other), image("rom", &rom)];
    let mut parts: Vec<(Option<Lane>, Cut, Vec<u8>)> = vec![(None, Cut::Whole, rom.clone())];
    for of in [2, 4, 8, 16] {
        for (n, bank) in rom.chunks(1024 / of).enumerate() {
            parts.push((None, Cut::Bank { n, of }, bank.to_vec()));
        }
    }
    for of in [2, 4, 8] {
        for n in 0..of {
            let lane: Vec<u8> = rom.iter().copied().skip(n).step_by(of).collect();
            let upper = lane[lane.len() / 2..].to_vec();
            let lane_of = Some(Lane { n, of });
            parts.push((lane_of, Cut::Whole, lane));
            parts.push((lane_of, Cut::Bank { n: 1, of: 2 }, upper));
        }
    }
    let (mut reads, mut forms) = (Vec::new(), Vec::new());
    for (lane, cut, part) in parts {
        for (inverted, swapped) in [(false, false), (true, false), (false, true), (true, true)] {
            let mut read = part.clone();
            if inverted {
                read.iter_mut().for_each(|byte| *byte = !*byte);
            }
            if swapped {
                read.chunks_exact_mut(2).for_each(|word| word.swap(0, 1));
            }
            for times in [1, 4] {
                let form = ReadForm {
                    lane,
                    cut: cut.clone(),
                    inverted,
                    swapped,
                    times,
                    place: InRead::Whole,
                };
                reads.push(read.repeat(times));
                forms.push(form);
            }
        }
    }
    let slices: Vec<&[u8]> = reads.iter().map(Vec::as_slice).collect();
    for (found, form) in recognise(&slices, &known).iter().zip(forms) {
        assert_eq!(found.answer, Recognised::Is);
        assert_eq!((found.matches[0].known, &found.matches[0].form), (1, &form));
    }
}

#[test]
fn a_bank_of_hundreds_is_known() {
    // 512 banks of 256 bytes.
    let rom = random(3, 128 * 1024);
    let known = [image("rom", &rom)];
    let bank = Cut::Bank { n: 300, of: 512 };
    let found = certain(&rom[300 * 256..301 * 256], &known);
    assert_eq!(found.1.cut, bank);
    // One byte of it is another.
    let mut near = rom[300 * 256..301 * 256].to_vec();
    near[7] ^= 0x42;
    let found = one(&near, &known);
    assert_eq!(found.answer, Recognised::Nearest);
    assert_eq!(found.matches[0].form.cut, bank);
    let difference = found.matches[0].difference.as_ref().unwrap();
    assert_eq!((difference.bytes, difference.compared), (1, 256));
}

#[test]
fn a_known_chip_inside_of_a_larger_read() {
    let (one, other) = (random(1, 1024), random(2, 1024));
    let known = [image("one", &one), image("other", &other)];
    let place = |read: &[u8]| certain(read, &known).1.place;
    let at = |first, rest| InRead::At {
        first,
        len: 1024,
        rest,
    };
    let stranger = random(9, 1024);
    assert_eq!(place(&[&one[..], &stranger].concat()), at(0, Rest::Other));
    assert_eq!(
        place(&[&stranger[..], &one].concat()),
        at(1024, Rest::Other)
    );
    let padded = [&one[..], &[0x1A; 100]].concat();
    assert_eq!(place(&padded), at(0, Rest::Filler(0x1A)));
    // Both of them.
    let both = recognise(&[&[&one[..], &other].concat()], &known).remove(0);
    let places: Vec<_> = both
        .matches
        .iter()
        .map(|m| (m.known, m.form.place))
        .collect();
    assert_eq!(
        places,
        [(0, at(0, Rest::Other)), (1, at(1024, Rest::Other))]
    );
    // In a lane.
    let woven: Vec<u8> = stranger
        .iter()
        .zip(&one)
        .flat_map(|(a, b)| [*a, *b])
        .collect();
    assert_eq!(place(&woven), InRead::Lane(Lane { n: 1, of: 2 }));
    let twice: Vec<u8> = one.iter().flat_map(|byte| [*byte, *byte]).collect();
    assert_eq!(place(&twice), InRead::EachTwice);
}

#[test]
fn all_names_are_told_the_plainest_first() {
    let rom = random(2, 4096);
    let half = &rom[2048..];
    let known = [
        image("rom", &rom),
        image("half", half),
        image("stranger", &random(3, 4096)),
        image("half again", half),
    ];
    let found = one(half, &known);
    let told: Vec<usize> = found.matches.iter().map(|m| m.known).collect();
    assert_eq!((found.answer, told), (Recognised::Is, vec![1, 3, 0]));
    // Of what is only near, too.
    let mut near = half.to_vec();
    near[99] ^= 0x10;
    let found = one(&near, &known);
    let told: Vec<usize> = found.matches.iter().map(|m| m.known).collect();
    assert_eq!(found.answer, Recognised::Nearest);
    assert_eq!(told[..2], [1, 3]);
}

#[test]
fn a_small_chip_inside_does_not_hide_the_whole_one() {
    let small = random(5, 512);
    let mut rom = random(2, 8192);
    rom[1280..1792].copy_from_slice(&small);
    let known = [image("small", &small), image("rom", &rom)];
    let mut read = rom;
    read[7000] ^= 1;
    let found = one(&read, &known);
    let told: Vec<usize> = found.matches.iter().map(|m| m.known).collect();
    assert_eq!((found.answer, told), (Recognised::Nearest, vec![1, 0]));
    // In a stranger it is what is known.
    let mut stranger = random(3, 8192);
    stranger[1280..1792].copy_from_slice(&small);
    assert_eq!(certain(&stranger, &known).0, 0);
}

#[test]
fn one_flipped_bit_is_the_nearest_with_one_byte() {
    let known = [image("a", &random(1, 32768)), image("b", &random(2, 32768))];
    let mut read = random(2, 32768);
    read[0x1234] ^= 0x20;
    let found = one(&read, &known);
    assert_eq!(found.answer, Recognised::Nearest);
    assert_eq!((found.matches.len(), found.matches[0].known), (1, 1));
    assert_eq!(found.matches[0].form, ReadForm::WHOLE);
    assert_eq!(found.matches[0].difference.as_ref().unwrap().bytes, 1);
}

#[test]
fn a_bad_line_is_told() {
    let (other, rom) = (random(1, 4096), random(2, 4096));
    let known = [image("other", &other), image("rom", &rom)];
    let odd: Vec<u8> = rom.iter().skip(1).step_by(2).copied().collect();
    let bad: Vec<u8> = odd.iter().map(|byte| byte | 0x08).collect();
    for read in [bad.clone(), bad.repeat(2)] {
        let found = one(&read, &known);
        let first = &found.matches[0];
        assert_eq!(
            (found.answer, first.known),
            (Recognised::Is, 1),
            "{found:?}"
        );
        assert_eq!(first.form.lane, Some(Lane { n: 1, of: 2 }));
        let story = first.difference.as_ref().unwrap().story.clone().unwrap();
        let said = story.sentences(&crate::faults::Names::NONE);
        assert_eq!(said.finding, "D3 never moves, it reads 1 everywhere");
    }
    // With a wrong bit beside it no more than likely.
    let mut worse = bad;
    worse[700] ^= 0x40;
    let found = one(&worse, &known);
    assert_eq!(
        (found.answer, found.matches[0].known),
        (Recognised::IsLikely, 1)
    );
    // A stranger is near to nothing.
    assert_eq!(
        one(&random(9, 4096), &known),
        Identity::of(Recognised::Unknown)
    );
}

#[test]
fn nearly_blank_chips_are_known_by_what_they_have() {
    let sparse = |seed| {
        let mut chip = vec![0xFF; 8192];
        chip[0x1FF0..].copy_from_slice(&random(seed, 16));
        chip
    };
    let known: Vec<KnownChip> = (1..5).map(|seed| image("chip", &sparse(seed))).collect();
    for seed in 1..5 {
        assert_eq!(certain(&sparse(seed), &known).0, seed as usize - 1);
        let upper = certain(&sparse(seed)[4096..], &known);
        assert_eq!(upper.0, seed as usize - 1);
    }
    // Three bytes are hardly evidence, blank areas none.
    let mut hardly = vec![0xFF; 8192];
    hardly[5] = 0;
    let found = one(
        &hardly,
        &[image("blank", &[0xFF; 8192]), image("hardly", &hardly)],
    );
    assert_eq!(
        (found.answer, found.matches[0].known),
        (Recognised::IsLikely, 1)
    );
    assert_eq!(one(&[0xFF; 128], &known).answer, Recognised::Constant(0xFF));
}

#[test]
fn a_sum_is_enough() {
    let rom = random(2, 4096);
    let list = |algo: Algo| {
        let sum = sum_text(algo, &rom).unwrap().to_uppercase();
        sums_of_list(&format!("# ours\n{sum} *rom.bin\n{sum} *again.bin"))
    };
    let larger = [random(3, 4096), rom.clone()].concat();
    let (even, odd): (Vec<u8>, Vec<u8>) = rom.chunks_exact(2).map(|w| (w[0], w[1])).unzip();
    let header = [&random(7, 16)[..], &rom].concat();
    for algo in [Algo::CRC32, Algo::MD5, Algo::SHA1, Algo::SHA256] {
        let turned = inverted(&rom);
        let reads = [
            &rom[..],
            &turned,
            &larger,
            &odd,
            &even,
            &[0xFF; 128],
            &header,
        ];
        let found = recognise(&reads, &list(algo));
        let form = |n: usize| found[n].matches[0].form.clone();
        for n in [0, 1, 2, 3, 4, 6] {
            assert_eq!(found[n].answer, Recognised::Is, "{algo:?} {n}");
        }
        // The same sum under two names is told with both.
        let names: Vec<usize> = found[0].matches.iter().map(|m| m.known).collect();
        assert_eq!((form(0), names), (ReadForm::WHOLE, vec![0, 1]));
        assert!(form(1).inverted);
        let place = |first, rest| InRead::At {
            first,
            len: 4096,
            rest,
        };
        assert_eq!(form(2).place, place(4096, Rest::Other));
        assert_eq!(form(3).lane, Some(Lane { n: 1, of: 2 }));
        assert_eq!(found[3].matches[0].beside, Some(4));
        assert_eq!(form(4).lane, Some(Lane { n: 0, of: 2 }));
        assert_eq!(found[5].answer, Recognised::Constant(0xFF));
        assert_eq!(form(6).place, place(16, Rest::Other));
    }
}

#[test]
fn a_short_sum_among_many_is_no_proof() {
    // One of 2^18 sums of 32 bits is met by chance once in 2^14 reads, and in one of many forms far more often.
    let rom = random(2, 4096);
    let mut recogniser = Recogniser::new(&[&rom]);
    let mut chance = 1u32;
    for _ in 0..1 << 18 {
        chance = chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        recogniser.list(Algo::CRC32, &format!("{chance:08x}"));
    }
    let crc = sum_text(Algo::CRC32, &rom).unwrap();
    let known = recogniser.list(Algo::CRC32, &crc);
    let found = recogniser.answers(|_| Ok::<&[u8], ()>(&[])).unwrap();
    assert_eq!(
        (found[0].answer, found[0].matches[0].known),
        (Recognised::IsLikely, known)
    );
}

#[test]
fn a_read_is_no_pair_with_itself() {
    let lane = random(2, 1024);
    let both: Vec<u8> = lane.iter().flat_map(|byte| [*byte, *byte]).collect();
    let sum = sum_text(Algo::SHA256, &both).unwrap();
    let known = sums_of_list(&format!("{sum}  both"));
    assert_eq!(one(&lane, &known).answer, Recognised::Unknown);
    // Two reads of it are.
    let pair = recognise(&[&lane, &lane], &known);
    assert_eq!(pair[0].matches[0].beside, Some(1));
    // Lanes of unlike lengths are none.
    let reads = recognise(&[&lane[..], &lane[..1000]], &known);
    assert!(reads.iter().all(|read| read.answer == Recognised::Unknown));
}

/// A program in the manner of a small processor: instructions from a few, operands from many.
fn program(seed: u32, size: usize) -> Vec<u8> {
    let codes = [0xA9, 0x8D, 0x20, 0x60, 0x4C, 0xD0, 0xAD, 0x85];
    let chance = random(seed, size).into_iter().enumerate();
    chance
        .map(|(a, byte)| match a % 3 {
            0 => codes[usize::from(byte % 8)],
            _ => byte,
        })
        .collect()
}

#[test]
fn the_work_grows_with_the_bytes_of_reads_and_references() {
    let work = |reads: usize, references: u32| {
        let all: Vec<Vec<u8>> = (0..reads).map(|n| program(1 + n as u32, 4096)).collect();
        let slices: Vec<&[u8]> = all.iter().map(Vec::as_slice).collect();
        let mut recogniser = Recogniser::new(&slices);
        for seed in 0..references {
            recogniser.look_at(&program(1000 + seed, 4096));
        }
        recogniser.work()
    };
    let (few, many) = (work(4, 16), work(4, 128));
    assert!(many <= 8 * few + few / 10, "{few} {many}");
    // The references are streamed once for all reads; each read more costs only some sampled places of each.
    let more = work(8 * 4, 16);
    assert!(more - few < 28 * 16 * 256, "{few} {more}");
}
