//! What would settle what a read leaves open.

use crate::faults::diagnose::distinct_reads;
use crate::faults::models::Story;
use crate::faults::outcome::{Diagnosis, Verdict};
use crate::faults::patterns::{Pass, Pattern};

impl Diagnosis {
    /// What would settle what the read leaves open; `None` when nothing is open. `bytes` is the
    /// chip's size.
    pub fn to_settle(&self, bytes: usize) -> Option<String> {
        let equals = self
            .candidates
            .first()
            .map_or(&[][..], |first| &first.equals);
        match self.verdict {
            Verdict::Same => None,
            Verdict::Certain if equals.len() == 1 => None,
            Verdict::Wavers => Some(
                "The chip can't be trusted as it is: clean its pins, read it five times more, \
                 slower, and compare where it wavers."
                    .to_owned(),
            ),
            Verdict::Certain => Some(match telling_pattern(equals, bytes) {
                Some(pattern) => format!(
                    "These can't be told apart by this image: burn the pattern `{pattern}` into a \
                     chip of the same kind, and read it in the same socket."
                ),
                None => "These can't be told apart by any image read so: read the chip once more \
                         in another socket or programmer."
                    .to_owned(),
            }),
            Verdict::Possible | Verdict::Likely | Verdict::CannotTell => {
                let pattern = Pattern::Telltale(Pass::First);
                Some(format!(
                    "Read the chip twice more and compare the reads with each other; if they are \
                     the same, burn the pattern `{pattern}` into a chip of the same kind and read \
                     that in the same socket."
                ))
            }
        }
    }
}

/// The pattern that tells most of these explanations apart, if one tells any.
fn telling_pattern(equals: &[Story], bytes: usize) -> Option<Pattern> {
    if !bytes.is_power_of_two() {
        return None;
    }
    let patterns = [Pattern::Telltale(Pass::First), Pattern::Random { seed: 1 }];
    let told = |pattern: &Pattern| {
        let image = pattern.image(bytes).ok()?;
        let kinds = distinct_reads(&image, equals);
        (kinds > 1).then_some((kinds, *pattern))
    };
    let best = patterns
        .iter()
        .filter_map(told)
        .rev()
        .max_by_key(|(kinds, _)| *kinds);
    best.map(|(_, pattern)| pattern)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Case;

    #[test]
    fn what_can_be_settled_says_how() {
        // In a checkered image half of the lines do nothing.
        let wanted = Pattern::Checker.image(4096).unwrap();
        let read: Vec<u8> = wanted.iter().map(|byte| !byte).collect();
        let diagnosis = Case::new(&wanted, &read).diagnose().unwrap();
        assert_eq!(diagnosis.verdict, Verdict::Certain);
        assert!(diagnosis.candidates[0].equals.len() > 1);
        let advice = diagnosis.to_settle(4096).unwrap();
        assert!(advice.contains("burn the pattern `telltale`"), "{advice}");
    }
}
