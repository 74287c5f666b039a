//! One case: made again from its seed and its number.

use super::classes::{CLASSES, Class, Group};
use super::draw::Draw;
use crate::support::broken::{Block, Chance, Fault, Length};
use crate::support::contents::Content;
use std::fmt;

/// What was wanted, what was read, and the truth about it.
pub struct Case {
    pub class: &'static Class,
    pub seed: u64,
    pub number: usize,
    pub content: Content,
    pub faults: Vec<Fault>,
    pub wide: bool,
    pub wanted: Vec<u8>,
    pub read: Vec<u8>,
    /// What the chip held, where that is told.
    pub old: Option<Vec<u8>>,
    /// The chip of another socket, where that is told.
    pub other: Option<Vec<u8>>,
    /// What each of several faults alone would have read: to name one of them is not wrong.
    pub parts: Vec<Vec<u8>>,
}

impl Case {
    /// The case of this number, `None` where no draw shows: it reads as wanted each time.
    pub fn new(seed: u64, number: usize, largest: u32) -> Option<Self> {
        Self::of_class(&CLASSES[number % CLASSES.len()], seed, number, largest)
    }

    fn of_class(class: &'static Class, seed: u64, number: usize, largest: u32) -> Option<Self> {
        // As far apart as generators allow: the first number of each case's own.
        let mut chance = Chance(seed ^ (number as u64).wrapping_mul(0xA24B_AED4_963E_E407));
        (0..12).find_map(|_| {
            let mut draw = Draw::new(Chance(chance.next()), largest);
            let faults = (class.faults)(&mut draw);
            let world = draw.world();
            let after = |faults: &[Fault]| {
                let each = |image: Vec<u8>, fault: &Fault| fault.read_in(&image, &world);
                faults.iter().fold(draw.wanted.clone(), each)
            };
            let read = after(&faults);
            if read == draw.wanted || read.is_empty() {
                return None;
            }
            let mut parts = Vec::new();
            if faults.len() > 1 {
                parts.extend((1..faults.len()).map(|n| after(&faults[..n])));
                parts.extend(faults[1..].iter().map(|fault| after(&[*fault])));
            }
            if parts
                .iter()
                .any(|part| *part == read || *part == draw.wanted)
            {
                return None; // not all of its faults show
            }
            let (wanted, read) = match draw.turned {
                true => (read, draw.wanted),
                false => (draw.wanted, read),
            };
            Some(Self {
                class,
                seed,
                number,
                content: draw.content,
                faults,
                wide: draw.wide,
                wanted,
                read,
                old: draw.gives_old.then_some(draw.old),
                other: draw.gives_other.then_some(draw.other),
                parts,
            })
        })
    }

    /// What the truth costs to say, in bits, roughly: a story that reads the same and costs no more is as good.
    pub fn bits(&self) -> f64 {
        let place = (self.wanted.len() as f64).log2();
        let of = |group: Group| match group {
            Group::Lines | Group::Mistakes => 20.0,
            Group::Transfers => 10.0,
            Group::Cells | Group::Identity | Group::Inside => 15.0 + place,
            Group::Lengths => 15.0 + place,
            Group::Blocks => 10.0 + 3.0 * place,
            Group::Pairs | Group::Unheard => 40.0 + 4.0 * place,
        };
        // Bytes that come from nowhere have to be told one by one.
        let told: usize = (self.faults.iter())
            .map(|fault| match fault {
                Fault::Block(Block::PutIn { length, .. }) => *length,
                Fault::Length(Length::Header { length, .. }) => *length,
                Fault::Block(Block::BankOrder { .. }) => 8,
                _ => 0,
            })
            .sum();
        of(self.class.group) + 9.0 * told as f64
    }
}

/// All that it takes to make it again.
impl fmt::Display for Case {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Content { kind, lines, seed } = self.content;
        write!(
            f,
            "case {} of seed {} ({}): {:?}",
            self.number, self.seed, self.class.name, self.faults
        )?;
        write!(f, "\n    on {kind:?}, {lines} lines, content {seed}")?;
        write!(
            f,
            ", wanted {} and read {} bytes",
            self.wanted.len(),
            self.read.len()
        )?;
        let differ = (self.wanted.iter().zip(&self.read))
            .filter(|(wanted, read)| wanted != read)
            .count();
        write!(f, ", {differ} of them differ")
    }
}

/// A number from the environment.
pub fn set(name: &str, default: u64) -> u64 {
    match std::env::var(name) {
        Ok(value) => value
            .parse()
            .unwrap_or_else(|_| panic!("{name} is a whole number")),
        Err(_) => default,
    }
}

/// The seed of a run: `ROMLOOM_SEED`, else always the same.
pub fn seed() -> u64 {
    set("ROMLOOM_SEED", 1984)
}
