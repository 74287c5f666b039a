//! What a verdict is worth, against the truth, and the table of it.
//!
//! A verdict is judged by reads, not by names: it is right when the story that it tells would have read the very same,
//! for no read can tell such stories apart. But a list of all that differs always reads the same and explains nothing:
//! it is right only where the truth is a list, or costs as much to say.

use super::case::Case;
use super::classes::{CLASSES, Group};
use std::collections::BTreeMap;
use std::fmt;

/// So many bits more or less are no reason to prefer one story to another.
const NO_DIFFERENCE: f64 = 20.0;

/// How sure the diagnosis says that it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sure {
    Certain,
    Likely,
    Open,
}

/// One story of a verdict.
#[derive(Clone, Debug)]
pub struct Told {
    /// In words, for the one who looks into a case.
    pub says: String,
    /// What kind of story it is, where it is of a kind that the bench has.
    pub group: Option<Group>,
    /// What it says would be read, what it leaves unexplained left out.
    pub reads: Option<Vec<u8>>,
    /// The same for each of its parts alone, where it leaves something unexplained.
    pub each: Vec<Vec<u8>>,
    /// Whether it is the injected one by its name, for stories that predict no read.
    pub named: bool,
    /// Whether it lists what differs instead of giving a rule.
    pub list: bool,
    /// Whether it leaves something unexplained.
    pub leftover: bool,
}

/// Stories that read the same, and what the cheapest of them costs.
#[derive(Clone, Debug)]
pub struct Rank {
    pub bits: f64,
    pub told: Vec<Told>,
}

/// What the diagnosis made of a case: the answer, then what else it looked at, cheapest first.
#[derive(Clone, Debug)]
pub struct Verdict {
    pub sure: Sure,
    pub ranking: Vec<Rank>,
}

/// Where the truth is in a verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// The first name of the answer.
    First,
    /// Another name of the answer reads the same.
    Among,
    /// Not in the answer, but in the ranking.
    Later,
    /// Nowhere.
    Nowhere,
}

impl Told {
    /// Whether it is the truth, or can't be told from it.
    fn is_right(&self, case: &Case, sure: Sure, bits: f64) -> bool {
        if self.named {
            return true;
        }
        let Some(reads) = &self.reads else {
            return false;
        };
        if self.list {
            let may = match case.class.group {
                Group::Unheard => sure != Sure::Certain,
                _ => case.class.listed || bits <= case.bits() + NO_DIFFERENCE,
            };
            return may && *reads == case.read;
        }
        // One of two faults, with the rest told as such, is not wrong.
        *reads == case.read || self.each.iter().any(|reads| case.parts.contains(reads))
    }
}

impl Verdict {
    /// Where the truth of a case is in it.
    pub fn place(&self, case: &Case) -> Place {
        let right = |told: &Told, bits: f64| told.is_right(case, self.sure, bits);
        let Some((answer, others)) = self.ranking.split_first() else {
            return Place::Nowhere;
        };
        let first = &answer.told[0];
        let same_kind = first.named
            || first.group == Some(case.class.group)
            || case.class.group == Group::Pairs;
        if same_kind && right(first, answer.bits) {
            Place::First
        } else if answer.told.iter().any(|told| right(told, answer.bits)) {
            Place::Among
        } else if others
            .iter()
            .any(|rank| rank.told.iter().any(|told| right(told, rank.bits)))
        {
            Place::Later
        } else {
            Place::Nowhere
        }
    }

    /// The ranking with its bits, for the one who looks into a case.
    pub fn in_full(&self) -> String {
        let mut said = format!("    said to be {:?}\n", self.sure);
        for rank in self.ranking.iter().take(8) {
            for (n, told) in rank.told.iter().take(6).enumerate() {
                let bits = if n == 0 {
                    format!("{:8.1} bits", rank.bits)
                } else {
                    " ".repeat(13)
                };
                let leftover = if told.leftover {
                    ", and something left over"
                } else {
                    ""
                };
                said += &format!("    {bits}  {}{leftover}\n", told.says);
            }
        }
        said
    }
}

/// The verdicts on the cases of one class, or of all.
#[derive(Clone, Copy, Debug, Default)]
pub struct Counts {
    pub cases: usize,
    pub certain: usize,
    pub certain_wrong: usize,
    pub likely: usize,
    pub likely_wrong: usize,
    pub open: usize,
    pub first: usize,
    pub among: usize,
}

impl Counts {
    pub fn add(&mut self, sure: Sure, place: Place) {
        let right = matches!(place, Place::First | Place::Among);
        self.cases += 1;
        *match (sure, right) {
            (Sure::Certain, true) => &mut self.certain,
            (Sure::Certain, false) => &mut self.certain_wrong,
            (Sure::Likely, true) => &mut self.likely,
            (Sure::Likely, false) => &mut self.likely_wrong,
            (Sure::Open, _) => &mut self.open,
        } += 1;
        self.first += usize::from(place == Place::First);
        self.among += usize::from(place == Place::Among);
    }

    fn and(mut self, other: Self) -> Self {
        self.cases += other.cases;
        self.certain += other.certain;
        self.certain_wrong += other.certain_wrong;
        self.likely += other.likely;
        self.likely_wrong += other.likely_wrong;
        self.open += other.open;
        self.first += other.first;
        self.among += other.among;
        self
    }

    /// In how many of a hundred cases the truth is the answer, alone or among equals.
    pub fn answered(&self) -> f64 {
        100.0 * (self.first + self.among) as f64 / self.cases.max(1) as f64
    }
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} | {} | {} | {} | {} | {} | {} | {} |",
            self.cases,
            self.certain,
            self.certain_wrong,
            self.likely,
            self.likely_wrong,
            self.open,
            self.first,
            self.first + self.among,
        )
    }
}

/// All counts, by class.
#[derive(Default)]
pub struct Table {
    rows: BTreeMap<usize, Counts>,
}

impl Table {
    pub fn add(&mut self, case: &Case, sure: Sure, place: Place) {
        let row = CLASSES
            .iter()
            .position(|class| class.name == case.class.name)
            .unwrap();
        self.rows.entry(row).or_default().add(sure, place);
    }

    /// The counts of the classes that `of` picks, added up.
    pub fn sum(&self, of: impl Fn(&super::classes::Class) -> bool) -> Counts {
        (self.rows.iter())
            .filter(|(row, _)| of(&CLASSES[**row]))
            .fold(Counts::default(), |sum, (_, counts)| sum.and(*counts))
    }
}

/// As Markdown, for `docs/evidence.md`.
impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "| what happened | cases | certain | certain and wrong | likely | likely and wrong | open | truth first | truth in the answer |"
        )?;
        writeln!(f, "| --- | --: | --: | --: | --: | --: | --: | --: | --: |")?;
        for (row, counts) in &self.rows {
            writeln!(f, "| {} | {counts}", CLASSES[*row].name)?;
        }
        writeln!(f, "| all | {}", self.sum(|_| true))
    }
}
