//! Faults and the patterns that find them, judged by a bench of broken chips.
//!
//! A plain `cargo test` tries a share of the cases, so that the run stays short;
//! `ROMLOOM_THOROUGH=1 cargo test --profile thorough --test it faults:: -- --nocapture` tries all of them and prints the
//! table of counts.

use std::collections::{BTreeSet, HashMap};
use std::fmt;
use std::hash::{DefaultHasher, Hash, Hasher};

use crate::support::broken::{
    self, Before, Block, Cell, Cells, Chance, Damage, Fault, Held, Identity, Kind, Lines, Mistake,
    Phase,
};
use crate::support::{share, thorough};
use romloom::faults::{
    self as faults, Case, Diagnosis, Holds, Lands, LineFault, Model, Pass, Pattern, ShiftedIn,
    Story, Verdict, When,
};

const MONITOR: &[u8] = include_bytes!("../../samples/heron-8/monitor.bin");
const BASIC: &[u8] = include_bytes!("../../samples/heron-8/basic.bin");
const SELFTEST: &[u8] = include_bytes!("../../samples/heron-16/selftest.bin");

/// What the crate calls a fault of the bench.
fn model(fault: Fault) -> Model {
    match fault {
        Fault::Address(kind, phase) => Model::Address {
            fault: line_fault(kind),
            when: when(phase),
        },
        Fault::Data(kind) => Model::Data(line_fault(kind)),
        Fault::Smaller(lines, held) => Model::Smaller {
            lines: lines as u8,
            holds: match held {
                Held::First => Holds::First,
                Held::Last => Holds::Last,
                Held::All => Holds::All,
            },
        },
        Fault::Mistake(Mistake::Reversed(lanes)) => Model::LanesExchanged { lanes: lanes as u8 },
        Fault::Block(Block::BanksSwapped {
            size,
            first,
            second,
        }) => Model::BanksExchanged {
            size,
            first: first as u8,
            second: second as u8,
        },
        Fault::Mistake(Mistake::BitsReversed) => Model::BitsReversed,
        Fault::Mistake(Mistake::Inverted) => Model::AllInverted,
        Fault::Block(Block::Rotated(by)) => Model::Shifted {
            by,
            fill: ShiftedIn::Wrapped,
        },
        Fault::Block(Block::Shifted(by)) => Model::Shifted {
            by,
            fill: ShiftedIn::Erased,
        },
        Fault::Cell(Cell::Nothing(Before::Blank)) => Model::Blank,
        Fault::Cell(Cell::Zeros) => Model::AllZeros,
        Fault::Cell(Cell::Stopped {
            at,
            before: Before::Blank,
        }) => Model::Stopped { at },
        Fault::Cell(Cell::PageCut {
            page,
            kept,
            before: Before::Blank,
        }) => Model::PageCut { page, kept },
        Fault::Cell(Cell::PageWrapped {
            page,
            burst,
            into_last,
        }) => Model::PageWrapped {
            page,
            burst,
            lands: if into_last { Lands::Last } else { Lands::First },
        },
        Fault::Identity(Identity::Cousin(selects, a11)) => Model::Cousin { selects, a11 },
        Fault::Transfer { damage, .. } => Model::Transfer(match damage {
            Damage::Bit7 => faults::Damage::Bit7Stripped,
            Damage::LfToCrLf => faults::Damage::LfToCrLf,
            Damage::CrLfToLf => faults::Damage::CrLfToLf,
            Damage::FlowControl => faults::Damage::FlowControlSwallowed,
            Damage::NotAscii => faults::Damage::NotAsciiReplaced,
            Damage::NotUtf8 => faults::Damage::NotUtf8Replaced,
            Damage::Tail1A => faults::Damage::Tail1A,
            Damage::EndAt1A => faults::Damage::EndedAt1A,
            other => panic!("{other:?} is not known there"),
        }),
        other => panic!("{other:?} is not known there"),
    }
}

/// The fault of the bench that a model with a measure is.
fn with_measure(explanation: Story) -> Option<Fault> {
    match explanation.first {
        Model::Stopped { at } => Some(Fault::Cell(Cell::Stopped {
            at,
            before: Before::Blank,
        })),
        Model::PageCut { page, kept } => Some(Fault::Cell(Cell::PageCut {
            page,
            kept,
            before: Before::Blank,
        })),
        Model::Shifted { by, fill } => Some(match fill {
            ShiftedIn::Wrapped => Fault::Block(Block::Rotated(by)),
            ShiftedIn::Erased => Fault::Block(Block::Shifted(by)),
        }),
        _ => None,
    }
}

fn line_fault(kind: Kind) -> LineFault {
    let line = |line: usize| line as u8;
    match kind {
        Kind::Low(i) => LineFault::StuckLow(line(i)),
        Kind::High(i) => LineFault::StuckHigh(line(i)),
        Kind::Inverted(i) => LineFault::Inverted(line(i)),
        Kind::Swapped(i, j) => LineFault::Swapped(line(i), line(j)),
        Kind::WiredAnd(i, j) => LineFault::ShortedLow(line(i), line(j)),
        Kind::WiredOr(i, j) => LineFault::ShortedHigh(line(i), line(j)),
        Kind::Driven(winner, loser) => LineFault::Overdriven {
            winner: line(winner),
            loser: line(loser),
        },
    }
}

fn when(phase: Phase) -> When {
    let cells = |cells| match cells {
        Cells::Overwrites => faults::Cells::Overwrite,
        Cells::OnlyClears => faults::Cells::OnlyClear,
    };
    match phase {
        Phase::Reading => When::Reading,
        Phase::Burning(kind) => When::Burning(cells(kind)),
        Phase::Both(kind) => When::Both(cells(kind)),
    }
}

/// Every fault of the bench that this engine knows.
fn all_known(lines: usize) -> Vec<Fault> {
    let mut all = Fault::all(lines);
    all.retain(|fault| !matches!(fault, Fault::Transfer { damage, .. } if !Damage::ALL[..8].contains(damage)));
    all
}

fn diagnose(wanted: &[u8], read: &[u8]) -> Diagnosis {
    Case::new(wanted, read).diagnose().unwrap()
}

fn telltale(lines: usize) -> Vec<u8> {
    Pattern::Telltale(Pass::First).image(1 << lines).unwrap()
}

fn random(lines: usize) -> Vec<u8> {
    Pattern::Random { seed: 0x2F_0001 }
        .image(1 << lines)
        .unwrap()
}

/// Real programs in chips of 32 KiB, the rest erased.
fn programs() -> Vec<(&'static str, Vec<u8>)> {
    let chip = |parts: &[(usize, &[u8])]| {
        let mut chip = vec![0xFF; 0x8000];
        for (at, bytes) in parts {
            chip[*at..at + bytes.len()].copy_from_slice(bytes);
        }
        chip
    };
    vec![
        ("basic", chip(&[(0, BASIC)])),
        ("heron-8", chip(&[(0, BASIC), (0x6000, MONITOR)])),
        ("heron-16", chip(&[(0, SELFTEST)])),
    ]
}

/// How verdicts did against the truth.
#[derive(Clone, Copy, Default)]
struct Counts {
    /// The only explanation named is the fault.
    right: usize,
    /// The fault is named among others that read the same.
    among_equals: usize,
    /// The fault is named as possible or likely only.
    offered: usize,
    /// The fault does not show: the read is the wanted image.
    unseen: usize,
    cannot_tell: usize,
    /// Named as likely or possible, and not the fault.
    misled: usize,
    /// Presented as certain, and not the fault.
    wrong: usize,
}

impl Counts {
    const HEAD: &str =
        "                                     right  equals offered  unseen can't  misled   wrong";

    fn add(&mut self, diagnosis: &Diagnosis, is_truth: impl Fn(Story) -> bool) {
        let named = |candidate: &faults::Candidate| candidate.equals.iter().any(|&e| is_truth(e));
        let first = diagnosis.candidates.first();
        let counter = match diagnosis.verdict {
            Verdict::Same => &mut self.unseen,
            Verdict::CannotTell | Verdict::Wavers => &mut self.cannot_tell,
            Verdict::Certain if !first.is_some_and(named) => &mut self.wrong,
            Verdict::Certain if first.is_some_and(|first| first.equals.len() == 1) => {
                &mut self.right
            }
            Verdict::Certain => &mut self.among_equals,
            Verdict::Possible | Verdict::Likely => {
                let offered = diagnosis.candidates.iter().any(named)
                    || diagnosis.not_excluded.iter().any(|&m| is_truth(m.into()));
                if offered {
                    &mut self.offered
                } else {
                    &mut self.misled
                }
            }
        };
        *counter += 1;
    }
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{:7} {:7} {:7} {:7} {:7} {:7} {:7}",
            self.right,
            self.among_equals,
            self.offered,
            self.unseen,
            self.cannot_tell,
            self.misled,
            self.wrong
        )
    }
}

/// Which faults leave the same read; reads as fingerprints.
fn classes(image: &[u8], faults: &[Fault]) -> HashMap<u64, Vec<Fault>> {
    let mut classes: HashMap<u64, Vec<Fault>> = HashMap::new();
    for &fault in faults {
        let mut hasher = DefaultHasher::new();
        fault.read(image).hash(&mut hasher);
        classes.entry(hasher.finish()).or_default().push(fault);
    }
    classes
}

/// The verdict on every class of faults names that class, whole and nothing else.
///
/// `faults` may be a part of all there are: what is named beside them must read the same.
fn every_fault_is_named(name: &str, image: &[u8], faults: &[Fault]) {
    let lines = image.len().trailing_zeros() as usize;
    let benches: HashMap<Model, Fault> = all_known(lines)
        .into_iter()
        .map(|f| (model(f), f))
        .collect();
    let mut counts = Counts::default();
    let mut classes: Vec<_> = classes(image, faults).into_values().collect();
    classes.sort_by_key(|class| format!("{class:?}"));
    let every = classes.len() / share(classes.len(), 8).max(1);
    for class in classes.into_iter().step_by(every.max(1)) {
        let read = class[0].read(image);
        let diagnosis = diagnose(image, &read);
        for &fault in &class {
            counts.add(&diagnosis, |e| e == model(fault).into());
        }
        if read == image {
            assert_eq!(diagnosis.verdict, Verdict::Same, "{class:?}");
            continue;
        }
        // Two or three bytes prove nothing, even when a model explains them.
        let few = diagnosis.differences.bytes < 4 && diagnosis.verdict == Verdict::Possible;
        assert!(
            few || diagnosis.verdict == Verdict::Certain,
            "{name}: {class:?} {diagnosis:?}"
        );
        let mut named: BTreeSet<Story> = diagnosis.candidates[0].equals.iter().copied().collect();
        let truth: BTreeSet<Story> = class.iter().map(|&f| model(f).into()).collect();
        named.retain(|&e| {
            let bench = || benches.get(&e.first).copied().or_else(|| with_measure(e));
            truth.contains(&e) || bench().is_none_or(|fault| fault.read(image) != read)
        });
        assert_eq!(named, truth, "{name}: what is named, and what reads so");
        assert_eq!(diagnosis.candidates.len(), 1);
    }
    println!("{name:<34} {counts}");
}

#[test]
fn every_single_fault_on_telltale() {
    println!("{}", Counts::HEAD);
    // Five and six lines, as small PROMs have, take a column of their own.
    for lines in 5..=7 {
        let image = telltale(lines);
        let faults: Vec<Fault> = all_known(lines)
            .into_iter()
            .filter(|fault| matches!(fault, Fault::Address(_, Phase::Reading) | Fault::Data(_)))
            .collect();
        let alone = classes(&image, &faults);
        assert_eq!(alone.len(), faults.len(), "each of {lines} lines by itself");
        assert!(faults.iter().all(|fault| fault.read(&image) != image));
    }
    for lines in 8..=12 {
        let image = telltale(lines);
        let mut faults = all_known(lines);
        if lines == 8 {
            faults.extend(Fault::measured(&image));
        }
        every_fault_is_named(&format!("telltale, {lines} lines"), &image, &faults);
    }
}

/// In chips this large the bad burns are too many to try all in a test run: every fault of the
/// read, and one bad burn in 32.
#[test]
fn every_single_fault_on_a_large_telltale() {
    let chance = &mut Chance(14);
    for lines in 13..=if thorough() { 17 } else { 14 } {
        let mut faults = all_known(lines);
        faults.retain(|fault| {
            matches!(fault, Fault::Data(_) | Fault::Address(_, Phase::Reading))
                || chance.once_in(32)
        });
        let image = telltale(lines);
        every_fault_is_named(&format!("telltale, {lines} lines"), &image, &faults);
    }
}

#[test]
fn every_single_fault_on_random() {
    for lines in 8..=12 {
        let image = random(lines);
        let mut faults = all_known(lines);
        if lines == 8 {
            faults.extend(Fault::measured(&image));
        }
        every_fault_is_named(&format!("random, {lines} lines"), &image, &faults);
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

/// Whether an explanation, put on the bench, reads like these lines.
fn reads_alike(explanation: Story, lines: usize, image: &[u8], read: &[u8]) -> bool {
    let kinds: HashMap<LineFault, Kind> = Kind::all(lines.max(8))
        .into_iter()
        .map(|kind| (line_fault(kind), kind))
        .collect();
    let mut bench = Lines {
        address: vec![],
        phase: Phase::Reading,
        data: vec![],
    };
    for model in explanation.models() {
        match model {
            Model::Address { fault, when } => {
                bench.address.push(kinds[&fault]);
                bench.phase = phase(when);
            }
            Model::Data(fault) => bench.data.push(kinds[&fault]),
            other => {
                let all = all_known(lines);
                let fault = all.into_iter().find(|&fault| self::model(fault) == other);
                let fault = fault.or_else(|| with_measure(explanation));
                return fault.is_some_and(|fault| fault.read(image) == read);
            }
        }
    }
    bench.read(image) == read
}

fn phase(when: When) -> Phase {
    let cells = |cells| match cells {
        faults::Cells::Overwrite => Cells::Overwrites,
        faults::Cells::OnlyClear => Cells::OnlyClears,
    };
    match when {
        When::Reading => Phase::Reading,
        When::Burning(kind) => Phase::Burning(cells(kind)),
        When::Both(kind) => Phase::Both(cells(kind)),
    }
}

#[test]
fn two_thousand_pairs() {
    println!("{}", Counts::HEAD);
    let chance = &mut Chance(2000);
    let mut all = Counts::default();
    for (name, image) in [
        ("pairs, telltale 10 lines", telltale(10)),
        ("pairs, random 11 lines", random(11)),
    ] {
        let lines = image.len().trailing_zeros() as usize;
        let mut counts = Counts::default();
        for _ in 0..share(1000, 50) {
            let pair = some_pair(lines, chance);
            let read = pair.read(&image);
            let diagnosis = diagnose(&image, &read);
            counts.add(&diagnosis, |e| reads_alike(e, lines, &image, &read));
            // Whatever is named with certainty reads the same on the bench: all of it.
            if diagnosis.verdict == Verdict::Certain {
                for &named in &diagnosis.candidates[0].equals {
                    assert!(
                        reads_alike(named, lines, &image, &read),
                        "{pair:?} {named:?}"
                    );
                }
            }
        }
        println!("{name:<34} {counts}");
        for (sum, part) in [
            (&mut all.right, counts.right),
            (&mut all.among_equals, counts.among_equals),
            (&mut all.unseen, counts.unseen),
        ] {
            *sum += part;
        }
        assert_eq!(counts.wrong, 0);
    }
    let named = all.right + all.among_equals + all.unseen;
    let tried = 2 * share(1000, 50);
    assert!(named * 100 >= tried * 95, "{named} of {tried} pairs named");
}

/// A healthy chip with up to five bits read wrongly is not given a fault.
#[test]
fn two_thousand_healthy_reads() {
    println!("{}", Counts::HEAD);
    let chance = &mut Chance(5);
    let mut images = vec![("telltale", telltale(12)), ("random", random(12))];
    images.extend(programs());
    for (name, image) in images {
        let mut counts = Counts::default();
        for n in 0..share(400, 8) {
            let read = broken::flip(&image, n % 6, chance);
            let diagnosis = diagnose(&image, &read);
            counts.add(&diagnosis, |_| false);
            let expected = if n % 6 == 0 {
                Verdict::Same
            } else {
                Verdict::CannotTell
            };
            assert_eq!(diagnosis.verdict, expected, "{name}: {diagnosis:?}");
            assert!(diagnosis.candidates.is_empty());
        }
        println!("{:<34} {counts}", format!("healthy, {name}"));
    }
}

/// Programs are no patterns: much may be left open, but nothing wrong is called certain.
#[test]
fn nothing_wrong_is_certain_on_programs() {
    println!("{}", Counts::HEAD);
    let chance = &mut Chance(32);
    for (name, image) in programs() {
        let mut counts = Counts::default();
        let lines = 15;
        let faults = all_known(lines);
        let every = faults.len() / share(faults.len(), 40);
        for fault in faults.into_iter().step_by(every) {
            if matches!(fault, Fault::Address(_, Phase::Burning(_) | Phase::Both(_)))
                && !chance.once_in(6)
            {
                continue;
            }
            let read = fault.read(&image);
            let diagnosis = diagnose(&image, &read);
            counts.add(&diagnosis, |e| e == model(fault).into());
        }
        println!("{:<34} {counts}", format!("{name}, single faults"));
        assert_eq!((counts.wrong, counts.misled), (0, 0));

        let mut counts = Counts::default();
        for _ in 0..share(60, 40) {
            let pair = some_pair(lines, chance);
            let read = pair.read(&image);
            let diagnosis = diagnose(&image, &read);
            counts.add(&diagnosis, |e| reads_alike(e, lines, &image, &read));
        }
        println!("{:<34} {counts}", format!("{name}, pairs"));
        assert_eq!(counts.wrong, 0);
    }
}

/// One programmed bit in so many went back to 1.
fn leaked(image: &[u8], one_in: usize, chance: &mut Chance) -> Vec<u8> {
    let zeros: u32 = image.iter().map(|byte| byte.count_zeros()).sum();
    let (bits, seed) = (zeros as usize / one_in, chance.next());
    Fault::Cell(Cell::Leaked { bits, seed }).read(image)
}

/// Faults that hit cells by chance can't be proved, but they are offered, and nothing else is
/// called certain.
#[test]
fn faults_of_chance_are_offered() {
    println!("{}", Counts::HEAD);
    let chance = &mut Chance(7);
    let mut images = vec![("telltale", telltale(15)), ("random", random(15))];
    images.extend(programs());
    let other = programs().remove(1).1;
    let mut turn = 0; // counted on from image to image, so that a share of them sees each kind
    for (name, image) in images {
        let mut counts = Counts::default();
        let mut try_it = |read: &dyn Fn(&mut Chance) -> Vec<u8>, truth: &dyn Fn(Model) -> bool| {
            turn += 1;
            if !thorough() && turn % 16 != 0 {
                return;
            }
            let read = read(chance);
            let diagnosis = diagnose(&image, &read);
            counts.add(&diagnosis, |e| e.second.is_none() && truth(e.first));
            if read == image {
                return;
            }
            assert_ne!(diagnosis.verdict, Verdict::Certain, "{name}: {diagnosis:?}");
        };
        for line in 0..15 {
            let floats = Model::Floating(faults::Line::Address(line as u8));
            try_it(
                &|chance| broken::floating_address(&image, line, chance),
                &|m| m == floats,
            );
        }
        for line in 0..8 {
            let floats = Model::Floating(faults::Line::Data(line as u8));
            try_it(
                &|chance| broken::floating_data(&image, line, chance),
                &|m| m == floats,
            );
        }
        for one_in in [10, 50, 200] {
            let leaks = |m| m == Model::OnlyToOne;
            try_it(&|chance| leaked(&image, one_in, chance), &leaks);
        }
        for page in [64, 128, 256] {
            for one_in in [2, 5, 20] {
                let left = |m| matches!(m, Model::PagesLeft { .. });
                try_it(
                    &|chance| {
                        let before = Before::Blank;
                        let seed = chance.next();
                        Fault::Cell(Cell::PagesLeft {
                            page,
                            one_in,
                            before,
                            seed,
                        })
                        .read(&image)
                    },
                    &left,
                );
            }
        }
        for one_in in [2, 10] {
            try_it(
                &|chance| {
                    let seed = chance.next();
                    Fault::Identity(Identity::Late { one_in, seed }).read(&image)
                },
                &|m| m == Model::Late,
            );
        }
        if image != other {
            try_it(
                &|_| image.iter().zip(&other).map(|(a, b)| a & b).collect(),
                &|m| m == Model::OnlyToZero,
            );
        }
        println!("{:<34} {counts}", format!("chance, {name}"));
        assert_eq!(counts.wrong, 0);
    }
}

/// Above 17 address lines one `telltale` isn't enough, and two are: together they name each
/// fault of the address lines alone.
#[test]
fn two_passes_above_17_lines() {
    let passes =
        [Pass::First, Pass::Second].map(|pass| Pattern::Telltale(pass).image(1 << 18).unwrap());
    let both = |fault: Fault| {
        let [first, second] = passes.each_ref().map(|image| {
            let read = fault.read(image);
            diagnose(image, &read)
        });
        (first.clone(), first.and(&second))
    };
    // A0 and A17 have the same column in the first pass, A1 and A17 in the second.
    for kind in [
        Kind::Inverted(17),
        Kind::Inverted(0),
        Kind::Inverted(1),
        Kind::Swapped(0, 17),
        Kind::Swapped(1, 17),
        Kind::Driven(17, 5),
        Kind::Low(17),
        Kind::WiredAnd(9, 17),
    ] {
        let fault = Fault::Address(kind, Phase::Reading);
        let (first, together) = both(fault);
        assert_eq!(together.verdict, Verdict::Certain);
        let equals = &together.candidates[0].equals;
        assert!(
            equals.contains(&model(fault).into()),
            "{fault:?}: {equals:?}"
        );
        let address_reading = equals.iter().filter(|e| {
            matches!(
                e.first,
                Model::Address {
                    when: When::Reading,
                    ..
                }
            )
        });
        assert_eq!(address_reading.count(), 1, "{equals:?}");
        if matches!(kind, Kind::Inverted(0)) {
            assert!(first.candidates[0].equals.len() > equals.len());
        }
    }
    let (first, _) = both(Fault::Address(Kind::Swapped(0, 17), Phase::Reading));
    assert_eq!(first.verdict, Verdict::Same, "why one pass is not enough");
}
