//! Every form of made-up chips, and reads of them with damage.

use super::form::{LEAST, invert};
use super::recognise::{once, sum_text};
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

fn is(form: ContentForm, times: usize) -> Identity {
    Identity::Is {
        known: 1,
        form,
        times,
    }
}

#[test]
fn every_form_of_an_image_is_known() {
    let (other, rom) = (random(1, 1024), random(2, 1024));
    let known = [image("other", &other), image("rom", &rom)];
    let mut count = 0;
    ContentForm::all(&rom, |form, part| {
        assert_eq!(form.of(&rom).unwrap(), part);
        assert_eq!(recognise(&[part], &known), [is(form, 1)]);
        let twice = [part, part].concat();
        assert_eq!(recognise(&[&twice], &known), [is(form, 2)]);
        count += 1;
    });
    assert_eq!(count, 4 * (1 + 30 + 6));
}

#[test]
fn a_sum_is_enough() {
    let rom = random(2, 4096);
    let list = |algo: Algo| {
        let sum = sum_text(algo, &rom).unwrap().to_uppercase();
        sums_of_list(&format!("# ours\n{sum} *rom.bin\n"))
    };
    let mut inverted = rom.clone();
    invert(&mut inverted);
    let larger = [random(3, 4096), rom.clone()].concat();
    let (even, odd): (Vec<u8>, Vec<u8>) =
        rom.chunks_exact(2).map(|word| (word[0], word[1])).unzip();
    for algo in [Algo::CRC32, Algo::MD5, Algo::SHA1, Algo::SHA256] {
        let reads = [&rom[..], &inverted, &larger, &odd, &even, &[0xFF; 128]];
        let answers = recognise(&reads, &list(algo));
        let whole = |inverted| Identity::Is {
            known: 0,
            form: ContentForm {
                inverted,
                ..ContentForm::WHOLE
            },
            times: 1,
        };
        assert_eq!(answers[0], whole(false));
        assert_eq!(answers[1], whole(true));
        let upper = ContentForm {
            cut: Cut::Bank { n: 1, of: 2 },
            ..ContentForm::WHOLE
        };
        assert_eq!(
            answers[2],
            Identity::Holds {
                known: 0,
                form: upper
            }
        );
        let lane = |n, other| Identity::With {
            known: 0,
            cut: Cut::Lane { n, of: 2 },
            other,
        };
        assert_eq!(answers[3..5], [lane(1, 4), lane(0, 3)]);
        assert_eq!(answers[5], Identity::Constant(0xFF));
    }
}

#[test]
fn the_nearest_and_what_is_wrong_with_it() {
    let (other, rom) = (random(1, 4096), random(2, 4096));
    let known = [image("other", &other), image("rom", &rom)];
    let odd: Vec<u8> = rom.iter().skip(1).step_by(2).copied().collect();
    let bad: Vec<u8> = odd.iter().map(|byte| byte | 0x08).collect();
    let answers = recognise(&[&bad, &random(9, 4096)], &known);
    let Identity::Unknown(Some(near)) = &answers[0] else {
        panic!("{answers:?}");
    };
    assert_eq!((near.known, near.form.cut), (1, Cut::Lane { n: 1, of: 2 }));
    assert_eq!(
        near.finding.as_deref(),
        Some("D3 never moves, it reads 1 everywhere")
    );
    assert_eq!(answers[1], Identity::Unknown(None));
}

#[test]
fn forms_are_whole_and_long_enough_to_be_evidence() {
    for cut in [Cut::Bank { n: 1, of: 2 }, Cut::Lane { n: 1, of: 2 }] {
        let form = ContentForm {
            cut,
            ..ContentForm::WHOLE
        };
        let len = |size| form.of(&random(1, size)).map(|part| part.len());
        assert_eq!(len(2 * LEAST), Some(LEAST));
        assert_eq!(len(2 * LEAST - 2), None);
        assert_eq!(len(2 * LEAST + 1), None);
    }
}

#[test]
fn what_repeats_is_halved_while_it_is_evidence() {
    let part = random(1, LEAST);
    assert_eq!(once(&part.repeat(4)), (&part[..], 4));
    assert_eq!(once(&part.repeat(3)).1, 1);
    // Halves too short to tell anything stay together.
    let short = random(1, LEAST / 2);
    assert_eq!(once(&short.repeat(4)), (&short.repeat(2)[..], 2));
    let shorter = random(1, LEAST - 1);
    assert_eq!(once(&shorter.repeat(2)).1, 1);
}

/// The answer about one read when these are known.
fn nearest(read: &[u8], known: &[KnownChip]) -> Option<Nearest> {
    match recognise(&[read], known).remove(0) {
        Identity::Unknown(nearest) => nearest,
        other => panic!("{other:?}"),
    }
}

/// The bytes with so many of them changed, evenly spread, each in some bits.
fn noisy(bytes: &[u8], changed: usize) -> Vec<u8> {
    let mut noisy = bytes.to_vec();
    let noise = random(77, bytes.len());
    for n in 0..changed {
        let at = n * bytes.len() / changed;
        noisy[at] ^= noise[at].max(1);
    }
    noisy
}

#[test]
fn half_of_the_bytes_by_chance_are_not_near() {
    let rom = random(2, 4096);
    let known = [image("rom", &rom)];
    let near = nearest(&noisy(&rom, 2047), &known).unwrap();
    assert_eq!((near.differing, near.compared), (2047, 4096));
    assert_eq!(near.finding, None);
    assert_eq!(nearest(&noisy(&rom, 2048), &known), None);
}

#[test]
fn an_explained_read_is_nearer_than_one_with_fewer_differences() {
    let rom = random(2, 4096);
    let stuck: Vec<u8> = rom.iter().map(|byte| byte | 0x08).collect();
    // Every sixteenth byte of this one differs from the read, for no reason there is.
    let close = noisy(&stuck, 256);
    let closer = noisy(&stuck, 128);
    let known = [
        image("close", &close),
        image("closer", &closer),
        image("rom", &rom),
    ];
    let near = nearest(&stuck, &known).unwrap();
    assert_eq!(near.known, 2);
    assert!(near.finding.is_some());
    // Of two that nothing explains the nearer one.
    for known in [&known[..2], &[known[1].clone(), known[0].clone()]] {
        let near = nearest(&stuck, known).unwrap();
        assert_eq!(
            (known[near.known].name.as_str(), near.differing),
            ("closer", 128)
        );
        assert_eq!(near.finding, None);
    }
    // A larger chip that holds it twice is as near.
    let near = nearest(&stuck.repeat(2), &known[2..]).unwrap();
    assert_eq!((near.known, near.compared), (0, 4096));
    assert!(near.finding.is_some());
}

#[test]
fn a_likely_and_a_possible_fault_are_named_too() {
    let rom = random(2, 4096);
    let known = [image("rom", &rom)];
    let mut likely: Vec<u8> = rom.iter().map(|byte| byte | 0x08).collect();
    likely[77] ^= 0x40;
    let near = nearest(&likely, &known).unwrap();
    let finding = near.finding.unwrap();
    assert!(finding.starts_with("D3 never moves"), "{finding}");
    let mut possible = rom.clone();
    possible[2000] ^= possible[2000] & 0x10 | !possible[2000] & 0x20;
    let near = nearest(&possible, &known).unwrap();
    assert!(near.finding.is_some());
}

#[test]
fn a_read_is_no_pair_with_itself() {
    let lane = random(2, 1024);
    let both: Vec<u8> = lane.iter().flat_map(|byte| [*byte, *byte]).collect();
    let sum = sum_text(Algo::SHA256, &both).unwrap();
    let known = sums_of_list(&format!("{sum}  both"));
    assert_eq!(recognise(&[&lane], &known), [Identity::Unknown(None)]);
    // Two reads of it are.
    let pair = recognise(&[&lane, &lane], &known);
    assert!(
        matches!(pair[0], Identity::With { other: 1, .. }),
        "{pair:?}"
    );
    // Lanes of unlike lengths are none.
    let reads = [&lane[..], &lane[..1000]];
    assert_eq!(
        recognise(&reads, &known),
        [(), ()].map(|()| Identity::Unknown(None))
    );
}
