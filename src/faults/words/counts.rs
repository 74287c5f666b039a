//! Figures in sentences.

use crate::faults::outcome::Score;
use crate::prose::{plural, thousands};
use crate::wiring::Width;

impl Score {
    /// The evidence in figures: `that explains all 8,192 differences and contradicts none of the
    /// 24,576 equal bytes`.
    pub fn because(self, width: Width) -> String {
        let cells = cell_name(width);
        let differing = thousands(self.differing as u64);
        let explains = match self.explained {
            _ if self.differing == 1 && self.explained == 1 => "the one difference".to_owned(),
            all if all == self.differing => format!("all {differing} differences"),
            some => format!("{} of the {differing} differences", thousands(some as u64)),
        };
        let broken = match self.broken {
            0 => "none".to_owned(),
            some => thousands(some as u64),
        };
        format!(
            "that explains {explains} and contradicts {broken} of the {} equal {cells}s",
            thousands(self.equal as u64)
        )
    }
}

/// `1 byte`, `32,768 words`.
pub(super) fn counted_cells(n: usize, width: Width) -> String {
    plural(n as u64, cell_name(width))
}

/// What a cell is called.
pub(super) fn cell_name(width: Width) -> &'static str {
    match width {
        Width::Eight => "byte",
        Width::Sixteen => "word",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures() {
        let score = Score {
            differing: 1200,
            explained: 7,
            equal: 1_048_576,
            broken: 31,
        };
        assert_eq!(
            score.because(Width::Sixteen),
            "that explains 7 of the 1,200 differences and contradicts 31 of the 1,048,576 equal words"
        );
    }

    #[test]
    fn one_and_all() {
        let because = |differing, explained| {
            let score = Score {
                differing,
                explained,
                equal: 9,
                broken: 0,
            };
            score.because(Width::Eight)
        };
        let none = "and contradicts none of the 9 equal bytes";
        assert_eq!(
            because(1, 1),
            format!("that explains the one difference {none}")
        );
        assert_eq!(
            because(2, 2),
            format!("that explains all 2 differences {none}")
        );
        assert_eq!(
            because(2, 1),
            format!("that explains 1 of the 2 differences {none}")
        );
        assert_eq!(
            because(1, 0),
            format!("that explains 0 of the 1 differences {none}")
        );
        assert_eq!(counted_cells(1, Width::Eight), "1 byte");
        assert_eq!(counted_cells(2000, Width::Sixteen), "2,000 words");
    }
}
