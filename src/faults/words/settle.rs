//! What would decide what a read leaves open.

use std::collections::HashSet;

use crate::faults::case::Case;
use crate::faults::outcome::Diagnosis;
use crate::faults::patterns::{Pass, Pattern};
use crate::faults::story::Story;
use crate::faults::verdict::Verdict;

impl Diagnosis {
    /// What would decide what the read leaves open; `None` when nothing is open. The case is the one that was diagnosed.
    pub fn to_settle(&self, case: &Case) -> Option<String> {
        let equals = self
            .candidates
            .first()
            .map_or(&[][..], |first| &first.equals);
        match self.verdict {
            _ if self.wavering_explains => None,
            Verdict::Same => None,
            Verdict::Certain if equals.len() == 1 => None,
            Verdict::Certain => Some(match telling_pattern(equals, case) {
                Some(pattern) => format!(
                    "This image can't tell these apart. Burn the pattern `{pattern}` into a \
                     chip of the same kind, and read it in the same socket."
                ),
                None => "No image can tell these apart when read this way. Read the chip in another socket \
                         or programmer."
                    .to_owned(),
            }),
            Verdict::Likely | Verdict::Open if case.reads() > 2 => Some(format!(
                "Burn the pattern `{}` into a chip of the same kind and read that in the same socket.",
                Pattern::Telltale(Pass::First)
            )),
            Verdict::Likely | Verdict::Open => Some(format!(
                "Read the chip {} and compare the reads with each other; if they are \
                 the same, burn the pattern `{}` into a chip of the same kind and read \
                 that in the same socket.",
                match case.reads() {
                    1 => "twice more",
                    _ => "once more",
                },
                Pattern::Telltale(Pass::First)
            )),
        }
    }
}

/// The pattern that tells most of these stories apart, if one tells any.
fn telling_pattern(equals: &[Story], case: &Case) -> Option<Pattern> {
    let bytes = case.wanted().len();
    if !bytes.is_power_of_two() {
        return None;
    }
    let patterns = [Pattern::Telltale(Pass::First), Pattern::Random { seed: 1 }];
    let told = |pattern: &Pattern| {
        let image = pattern.image(bytes).ok()?;
        let case = case.with_wanted(&image);
        let reads: HashSet<Option<Vec<u8>>> =
            equals.iter().map(|story| case.predicted(story)).collect();
        let kinds = reads.len();
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

    #[test]
    fn what_can_be_settled_says_how() {
        // Nothing in the upper half tells a dead A11 from a chip of half the size.
        let wanted = Pattern::Random { seed: 3 }.image(4096).unwrap();
        let read = wanted[..2048].repeat(2);
        let case = Case::new(&wanted, &read);
        let diagnosis = case.diagnose().unwrap();
        assert_eq!(diagnosis.verdict, Verdict::Certain);
        assert!(diagnosis.candidates[0].equals.len() > 1);
        let advice = diagnosis.to_settle(&case).unwrap();
        assert!(
            advice.contains("in another socket or programmer"),
            "{advice}"
        );
    }

    /// Another image would tell the names apart, or more reads would; of what is open already in three reads only an image.
    #[test]
    fn each_verdict_has_its_advice() {
        // The upper half is blank: a chip of half the size, and one of which only the lower half was burned, differ elsewhere.
        let mut wanted = vec![0xFF; 4096];
        wanted[..1024].copy_from_slice(&Pattern::Random { seed: 3 }.image(1024).unwrap());
        let settle = |case: &Case| {
            let diagnosis = case.diagnose().unwrap();
            (diagnosis.verdict, diagnosis.to_settle(case))
        };
        assert_eq!(settle(&Case::new(&wanted, &wanted)), (Verdict::Same, None));
        let read: Vec<u8> = (0..4096).map(|a| wanted[a & !0x800]).collect();
        let (verdict, advice) = settle(&Case::new(&wanted, &read));
        assert_eq!(verdict, Verdict::Certain);
        let burn = "This image can't tell these apart. Burn the pattern `telltale` into a";
        let other = "No image can tell these apart when read this way.";
        let advice = advice.unwrap();
        assert!(
            advice.starts_with(burn) || advice.starts_with(other),
            "{advice}"
        );
        let mut read = wanted.clone();
        read[77] ^= 0x10;
        let (verdict, advice) = settle(&Case::new(&wanted, &read));
        assert_ne!(verdict, Verdict::Certain);
        assert!(
            advice
                .unwrap()
                .starts_with("Read the chip twice more and compare")
        );
        let two = Case::new(&wanted, &read).another_read(&read);
        assert!(
            settle(&two)
                .1
                .unwrap()
                .starts_with("Read the chip once more and compare")
        );
        let three = two.another_read(&read);
        let burn = "Burn the pattern `telltale` into a chip of the same kind and read that";
        assert!(settle(&three).1.unwrap().starts_with(burn));
        // A line that is dead and one story alone leaves nothing to settle.
        let telltale = Pattern::Telltale(Pass::First).image(4096).unwrap();
        let read: Vec<u8> = (0..4096).map(|a| telltale[a & !8]).collect();
        let case = Case::new(&telltale, &read).singles_only();
        assert_eq!(settle(&case), (Verdict::Certain, None));
    }
}
