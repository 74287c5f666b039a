//! Every fault there is of lines, pages and banks, on the patterns that are made to tell them apart.

use crate::support::broken::{Cells, Chance, Damage, Fault, Kind, Lines, Phase};
use crate::support::{share, thorough};
use romloom::faults::{Case, Diagnosis, Model, Pass, Pattern, Verdict, When};
use std::collections::HashMap;

fn telltale(lines: usize) -> Vec<u8> {
    Pattern::Telltale(Pass::First).image(1 << lines).unwrap()
}

fn random(lines: usize) -> Vec<u8> {
    Pattern::Random { seed: 0x2F_0001 }
        .image(1 << lines)
        .unwrap()
}

/// Faults by what is read with them.
fn by_read(image: &[u8], faults: &[Fault]) -> Vec<(Vec<u8>, Vec<Fault>)> {
    let mut reads: HashMap<Vec<u8>, Vec<Fault>> = HashMap::new();
    for &fault in faults {
        reads.entry(fault.read(image)).or_default().push(fault);
    }
    let mut reads: Vec<_> = reads.into_iter().collect();
    reads.sort_by_key(|(_, faults)| format!("{faults:?}"));
    reads
}

/// The diagnosis of a share of these faults names nothing that would not read the same, and nearly all are certain: the rest
/// could also be pages by chance, or shows in too few places.
fn every_fault_is_named(name: &str, image: &[u8], faults: &[Fault], one_in: usize) {
    let reads = by_read(image, faults);
    let every = reads.len() / share(reads.len(), one_in).max(1);
    let (mut tried, mut certain) = (0, 0);
    for (read, faults) in reads.into_iter().step_by(every.max(1)) {
        let case = Case::new(image, &read);
        let found = case.diagnose().unwrap();
        if read == image {
            assert_eq!(found.verdict, Verdict::Same, "{name}: {faults:?}");
            continue;
        }
        tried += 1;
        certain += usize::from(found.verdict == Verdict::Certain);
        for story in &found.candidates[0].equals {
            let reads = case.predicted(story);
            assert!(
                reads.as_ref() == Some(&read),
                "{name}: {faults:?} {story:?}"
            );
        }
    }
    println!("{name}: {certain} of {tried} certain");
    assert!(certain * 100 >= tried * 90, "{name}: {certain} of {tried}");
}

/// Transfers by the thousand, shifts and stops have tables of their own; here are the chip's faults.
fn of_the_chip(lines: usize) -> Vec<Fault> {
    let mut all = Fault::all(lines);
    let known = |damage: &Damage| !matches!(damage, Damage::LfToCr | Damage::QuestionMarks);
    all.retain(|fault| match fault {
        Fault::Transfer { damage, .. } => known(damage),
        Fault::Identity(_) => false, // cousins are told to the crate
        _ => true,
    });
    all
}

#[test]
fn single_faults_on_telltale() {
    // Five and six lines, as small PROMs have, take a column of their own.
    for lines in 5..=7 {
        let image = telltale(lines);
        let faults: Vec<Fault> = Fault::all(lines)
            .into_iter()
            .filter(|fault| matches!(fault, Fault::Address(_, Phase::Reading) | Fault::Data(_)))
            .collect();
        assert_eq!(
            by_read(&image, &faults).len(),
            faults.len(),
            "each of {lines} lines by itself"
        );
        assert!(faults.iter().all(|fault| fault.read(&image) != image));
    }
    for lines in [9, 10] {
        every_fault_is_named(
            &format!("telltale, {lines} lines"),
            &telltale(lines),
            &of_the_chip(lines),
            100,
        );
    }
    if thorough() {
        for lines in [10, 11, 13, 14] {
            let mut faults = of_the_chip(lines);
            let chance = &mut Chance(14);
            // The bad burns are too many to try them all in large chips.
            let read =
                |fault: &Fault| matches!(fault, Fault::Data(_) | Fault::Address(_, Phase::Reading));
            faults.retain(|fault| read(fault) || chance.once_in(8));
            every_fault_is_named(
                &format!("telltale, {lines} lines"),
                &telltale(lines),
                &faults,
                1,
            );
        }
    }
}

#[test]
fn single_faults_on_random() {
    for lines in [8, 10] {
        every_fault_is_named(
            &format!("random, {lines} lines"),
            &random(lines),
            &of_the_chip(lines),
            60,
        );
    }
    if thorough() {
        every_fault_is_named(
            "random, measured",
            &random(8),
            &Fault::measured(&random(8)),
            1,
        );
    }
}

/// Line faults of two kinds or places at once, met at random.
fn some_pair(lines: usize, chance: &mut Chance) -> Lines {
    let (address, data) = (Kind::all(lines), Kind::all(8));
    let on_address = chance.below(3);
    let pick = |kinds: &[Kind], count: usize, chance: &mut Chance| -> Vec<Kind> {
        (0..count).map(|_| chance.pick(kinds)).collect()
    };
    Lines {
        address: pick(&address, on_address, chance),
        phase: chance.pick(&[
            Phase::Reading,
            Phase::Reading,
            Phase::Burning(Cells::OnlyClears),
            Phase::Both(Cells::OnlyClears),
            Phase::Both(Cells::Overwrites),
        ]),
        data: pick(&data, 2 - on_address, chance),
    }
}

#[test]
fn pairs_of_line_faults() {
    let chance = &mut Chance(2000);
    let (mut tried, mut answered) = (0, 0);
    for image in [telltale(10), random(11)] {
        let lines = image.len().ilog2() as usize;
        for _ in 0..share(1000, 300) {
            let read = some_pair(lines, chance).read(&image);
            let case = Case::new(&image, &read);
            let found = case.diagnose().unwrap();
            tried += 1;
            let named = |found: &Diagnosis| {
                let stories = &found.candidates[0].equals;
                stories
                    .iter()
                    .any(|story| case.predicted(story).as_ref() == Some(&read))
            };
            match found.verdict {
                Verdict::Same => answered += 1,
                Verdict::Certain => {
                    assert!(named(&found), "{found:?}");
                    answered += 1;
                }
                _ => answered += usize::from(named(&found)),
            }
        }
    }
    println!("pairs: {answered} of {tried} are the answer");
    assert!(answered * 100 >= tried * 95, "{answered} of {tried}");
}

/// A healthy chip with up to five bits read wrongly is not given a fault.
#[test]
fn healthy_reads() {
    use crate::support::contents::{self, Content};
    let chance = &mut Chance(5);
    for n in 0..share(2000, 110) {
        let kind = chance.pick(&contents::Kind::REAL);
        let lines = 11 + chance.below(if thorough() { 4 } else { 1 }) as u32;
        let image = Content {
            kind,
            lines,
            seed: n as u64,
        }
        .bytes();
        let read = crate::support::broken::flip(&image, n % 6, chance);
        let found = Case::new(&image, &read).diagnose().unwrap();
        if n % 6 == 0 {
            assert_eq!(found.verdict, Verdict::Same);
            continue;
        }
        assert_ne!(found.verdict, Verdict::Certain, "{kind:?}: {found:?}");
        let first = &found.story().unwrap().first;
        assert!(matches!(first, Model::Cells(_)), "{kind:?}: {found:?}");
    }
}

/// Above 17 address lines one `telltale` isn't enough, and two are: together they name each fault of the address lines
/// alone.
#[test]
fn two_passes_above_17_lines() {
    let passes =
        [Pass::First, Pass::Second].map(|pass| Pattern::Telltale(pass).image(1 << 18).unwrap());
    let both = |kind: Kind| {
        let [first, second] = passes.each_ref().map(|image| {
            let read = Fault::Address(kind, Phase::Reading).read(image);
            Case::new(image, &read).diagnose().unwrap()
        });
        (first.clone(), first.and(&second))
    };
    // A0 and A17 have the same column in the first pass, A1 and A17 in the second.
    let all = [
        Kind::Inverted(17),
        Kind::Swapped(0, 17),
        Kind::Low(17),
        Kind::Inverted(0),
        Kind::Inverted(1),
        Kind::Swapped(1, 17),
        Kind::Driven(17, 5),
        Kind::WiredAnd(9, 17),
    ];
    for kind in all.iter().filter(|_| thorough()) {
        let (first, together) = both(*kind);
        assert_eq!(together.verdict, Verdict::Certain, "{kind:?}");
        // What is named explains the pass that shows the fault.
        let shows = &passes[usize::from(first.verdict == Verdict::Same)];
        let case = Case::new(shows, shows);
        let read = Fault::Address(*kind, Phase::Reading).read(shows);
        let equals = &together.candidates[0].equals;
        let reads_so = |story| case.predicted(story).as_ref() == Some(&read);
        assert!(equals.iter().all(reads_so), "{kind:?}: {equals:?}");
        let reading = |story: &&romloom::faults::Story| {
            matches!(
                story.first,
                Model::Address {
                    when: When::Reading,
                    ..
                }
            ) && story.second.is_none()
        };
        assert_eq!(
            equals.iter().filter(reading).count(),
            1,
            "{kind:?}: {equals:?}"
        );
    }
    let (first, _) = both(Kind::Swapped(0, 17));
    assert_eq!(first.verdict, Verdict::Same, "why one pass is not enough");
}
