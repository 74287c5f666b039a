//! A verdict for several chips of one board at once: what is wrong with each, and what they have in common.

use super::case::Case;
use super::case_error::CaseError;
use super::outcome::Diagnosis;
use super::story::{CellKind, Model, Story};
use super::verdict::Verdict;

/// The result for the chips of a set together.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum SetVerdict {
    /// Every read is as wanted.
    AllAsWanted,
    /// The right chips in other sockets: for each chip that differs, whose image it is, by their places in the set.
    Swapped(Vec<(usize, usize)>),
    /// One chip was read twice, or there are two of it: the first place contains what belongs in the second, which has it too.
    ReadTwice(usize, usize),
    /// One fault explains every chip that differs, and would not show in the others.
    InCommon(Box<Story>),
    /// Every chip is another version.
    OtherVersion,
    /// Each chip separately.
    EachForItself,
}

/// The verdict on a set of chips.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct SetDiagnosis {
    /// The verdict on each chip, in the set's order. Other images of the cases are the other chips, as
    /// [`other_place`] counts them.
    pub chips: Vec<Diagnosis>,
    /// The verdict on all of them.
    pub verdict: SetVerdict,
}

/// The place in the set of a chip's other image: a chip's others are all chips of the set but itself, in the set's order,
/// whose wanted images are as large as its own.
pub fn other_place(cases: &[Case], chip: usize, other: u8) -> Option<usize> {
    others_of(cases, chip).nth(usize::from(other))
}

/// The other chips that a chip may have been taken for.
fn others_of<'c>(cases: &'c [Case], chip: usize) -> impl Iterator<Item = usize> + 'c {
    let own = cases.get(chip).map(Case::wanted);
    cases
        .iter()
        .enumerate()
        .filter(move |(n, case)| {
            let fits =
                own.is_some_and(|own| own.len() == case.wanted().len() && own != case.wanted());
            *n != chip && fits
        })
        .map(|(n, _)| n)
        .take(Case::MOST_OTHERS)
}

/// Explains each chip, with the others as what it may have been taken for, and then all of them.
///
/// # Errors
/// [`CaseError`] of the first chip that can't be explained, with its place.
pub fn diagnose_set(cases: &[Case]) -> Result<SetDiagnosis, (usize, CaseError)> {
    let mut chips = Vec::with_capacity(cases.len());
    for (n, case) in cases.iter().enumerate() {
        let mut case = case.clone();
        for other in others_of(cases, n) {
            case = case.other(cases[other].wanted());
        }
        chips.push(case.diagnose().map_err(|error| (n, error))?);
    }
    let verdict = verdict(cases, &chips);
    Ok(SetDiagnosis { chips, verdict })
}

fn verdict(cases: &[Case], chips: &[Diagnosis]) -> SetVerdict {
    let differing: Vec<usize> = (0..chips.len())
        .filter(|&n| chips[n].verdict != Verdict::Same)
        .collect();
    if differing.is_empty() {
        return SetVerdict::AllAsWanted;
    }
    if let Some(places) = places(cases, chips, &differing) {
        let taken = |place: usize| places.iter().filter(|(_, of)| *of == place).count();
        let permuted = places.iter().all(|&(chip, _)| taken(chip) == 1);
        match &places[..] {
            all if permuted && all.len() == differing.len() => return SetVerdict::Swapped(places),
            &[(chip, of)] if chips[of].verdict == Verdict::Same => {
                return SetVerdict::ReadTwice(chip, of);
            }
            _ => {}
        }
    }
    if let Some(story) = in_common(cases, chips, &differing) {
        return SetVerdict::InCommon(Box::new(story));
    }
    let version = |n: &usize| {
        let story = chips[*n].story();
        story.is_some_and(|story| story.first == Model::Cells(CellKind::Rewritten))
    };
    match differing.len() == chips.len() && chips.len() > 1 && differing.iter().all(version) {
        true => SetVerdict::OtherVersion,
        false => SetVerdict::EachForItself,
    }
}

/// The chips whose read is another chip's image, each with the place of that.
fn places(cases: &[Case], chips: &[Diagnosis], differing: &[usize]) -> Option<Vec<(usize, usize)>> {
    let mut found = Vec::new();
    for &chip in differing {
        let other = chips[chip].story().and_then(|story| match story {
            Story {
                first: Model::OtherImage(n),
                second: None,
            } => other_place(cases, chip, *n),
            _ => None,
        });
        found.extend(other.map(|place| (chip, place)));
    }
    (!found.is_empty()).then_some(found)
}

/// A story that is an answer for every chip that differs, of which there are at least two, and that would not show in the
/// others.
fn in_common(cases: &[Case], chips: &[Diagnosis], differing: &[usize]) -> Option<Story> {
    let answers = |n: usize| {
        chips[n]
            .candidates
            .first()
            .map_or(&[][..], |first| &first.equals)
    };
    let (&first, rest) = differing.split_first()?;
    if rest.is_empty() {
        return None;
    }
    let shared = answers(first).iter().filter(|story| story.predicts());
    let shared = shared.filter(|story| rest.iter().all(|&n| answers(n).contains(story)));
    let hidden = |story: &&Story| {
        let same = (0..cases.len()).filter(|n| !differing.contains(n));
        same.into_iter().all(|n| {
            let predicted = cases[n].predicted(story);
            predicted.is_some_and(|predicted| predicted == cases[n].wanted())
        })
    };
    shared.into_iter().find(hidden).cloned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::{LineFault, Pattern};

    fn images(count: u32) -> Vec<Vec<u8>> {
        let image = |seed| Pattern::Random { seed }.image(2048).unwrap();
        (1..=count).map(image).collect()
    }

    fn diagnosed(wanted: &[Vec<u8>], reads: &[Vec<u8>]) -> SetDiagnosis {
        let cases: Vec<Case> = wanted
            .iter()
            .zip(reads)
            .map(|(w, r)| Case::new(w, r).singles_only())
            .collect();
        diagnose_set(&cases).unwrap()
    }

    #[test]
    fn right_chips_in_other_sockets() {
        let wanted = images(4);
        assert_eq!(diagnosed(&wanted, &wanted).verdict, SetVerdict::AllAsWanted);
        let mut reads = wanted.clone();
        reads.swap(1, 3);
        assert_eq!(
            diagnosed(&wanted, &reads).verdict,
            SetVerdict::Swapped(vec![(1, 3), (3, 1)])
        );
        let mut reads = wanted.clone();
        reads[2] = wanted[0].clone();
        assert_eq!(
            diagnosed(&wanted, &reads).verdict,
            SetVerdict::ReadTwice(2, 0)
        );
    }

    #[test]
    fn one_fault_in_common() {
        let mut wanted = images(3);
        wanted.push(vec![0xFF; 2048]);
        let through = |image: &Vec<u8>| -> Vec<u8> { (0..2048).map(|a| image[a & !8]).collect() };
        let reads: Vec<Vec<u8>> = wanted.iter().map(through).collect();
        // The blank chip shows nothing of it.
        assert_eq!(reads[3], wanted[3]);
        let found = diagnosed(&wanted, &reads);
        let story = Model::reading(LineFault::StuckLow(3)).into();
        assert_eq!(found.verdict, SetVerdict::InCommon(Box::new(story)));
        // One of them alone has it: each for itself.
        let mut one = wanted.clone();
        one[1] = reads[1].clone();
        assert_eq!(diagnosed(&wanted, &one).verdict, SetVerdict::EachForItself);
    }

    #[test]
    fn another_version_of_all() {
        let wanted = images(2);
        let edited = |image: &Vec<u8>| {
            let mut image = image.clone();
            for (n, byte) in image[100..140].iter_mut().enumerate() {
                *byte = (n * n * 31 + 7) as u8;
            }
            for (n, byte) in image[900..950].iter_mut().enumerate() {
                *byte = (n * n * 57 + 3) as u8;
            }
            image
        };
        let reads: Vec<Vec<u8>> = wanted.iter().map(edited).collect();
        assert_eq!(diagnosed(&wanted, &reads).verdict, SetVerdict::OtherVersion);
    }

    /// Each chip may have been taken for any other of its size, and not for one with the same content.
    #[test]
    fn other_chips_of_the_set() {
        let mut wanted = images(4);
        wanted[2] = wanted[0].clone();
        wanted[3].truncate(1024);
        wanted.push(Pattern::Random { seed: 50 }.image(2048).unwrap());
        let cases: Vec<Case> = wanted.iter().map(|image| Case::new(image, image)).collect();
        let places = |chip| {
            (0..4)
                .map(|other| other_place(&cases, chip, other))
                .collect::<Vec<_>>()
        };
        assert_eq!(places(0), [Some(1), Some(4), None, None]);
        assert_eq!(places(1), [Some(0), Some(2), Some(4), None]);
        assert_eq!(places(3), [None; 4]);
        assert_eq!(places(9), [None; 4]);
        let many: Vec<Vec<u8>> = (0..70u8).map(|n| vec![n; 16]).collect();
        let cases: Vec<Case> = many.iter().map(|image| Case::new(image, image)).collect();
        let last = Case::MOST_OTHERS as u8 - 1;
        assert_eq!(other_place(&cases, 0, last), Some(64));
        assert_eq!(other_place(&cases, 0, last + 1), None);
    }

    #[test]
    fn what_is_not_the_set_s_is_each_chip_s() {
        let wanted = images(4);
        // Three that go round are in other sockets; of a chip that is also spoiled nothing is said together.
        let mut reads = wanted.clone();
        reads[..3].rotate_left(1);
        let round = SetVerdict::Swapped(vec![(0, 1), (1, 2), (2, 0)]);
        assert_eq!(diagnosed(&wanted, &reads).verdict, round);
        reads[3] = vec![0x42; 2048];
        assert_eq!(
            diagnosed(&wanted, &reads).verdict,
            SetVerdict::EachForItself
        );
        // One chip twice, and the other of the two is not read at all.
        let mut reads = wanted.clone();
        reads[0] = wanted[1].clone();
        reads[1] = wanted[2].clone();
        assert_eq!(
            diagnosed(&wanted, &reads).verdict,
            SetVerdict::EachForItself
        );
        // A fault that the chip that is right would show is not common to all.
        let through = |image: &Vec<u8>| -> Vec<u8> { (0..2048).map(|a| image[a & !8]).collect() };
        let mut reads = wanted.clone();
        (0..3).for_each(|n| reads[n] = through(&wanted[n]));
        assert_eq!(
            diagnosed(&wanted, &reads).verdict,
            SetVerdict::EachForItself
        );
        // Another version of one chip alone is no other version of the set, nor where one is as wanted.
        let edited = |image: &Vec<u8>| {
            let mut image = image.clone();
            (0..40).for_each(|n| image[100 + n] = (n * n * 31 + 7) as u8);
            image
        };
        let reads = vec![edited(&wanted[0]), wanted[1].clone()];
        assert_eq!(
            diagnosed(&wanted[..2], &reads).verdict,
            SetVerdict::EachForItself
        );
        let one = diagnosed(&wanted[..1], &reads[..1]);
        assert_eq!(one.verdict, SetVerdict::EachForItself);
    }
}
