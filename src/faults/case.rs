//! A read and all that is known about it.

use std::ops::Range;

use super::case_error::{CaseError, CaseImage, LARGEST};
use super::compare::{Differences, compare};
use super::cost::{LIKELY, MapKind, map_kind};
use super::engine::{Known, Question, Told};
use super::line_fault::Cells;
use super::outcome::{Candidate, Diagnosis, Score};
use super::reads::{Reads, Vote};
use super::story::{Model, Story};
use super::verdict::Verdict;
use crate::wiring::Width;

/// How many stories that would read differently are named after the answer.
const RIVALS: usize = 6;
/// How many stories of one read are named.
const NAMED: usize = 16;
/// A read to explain, and everything that is known about it.
///
/// ```
/// use romloom::faults::{Case, LineFault, Model, Pattern, Verdict, When};
///
/// let wanted = "telltale".parse::<Pattern>()?.image(32768)?;
/// let read: Vec<u8> = (0..32768).map(|a| wanted[a & !(1 << 7)]).collect();
/// let diagnosis = Case::new(&wanted, &read).diagnose()?;
/// assert_eq!(diagnosis.verdict, Verdict::Certain);
/// assert_eq!(
///     diagnosis.candidates[0].equals[0].first,
///     Model::Address { fault: LineFault::StuckLow(7), when: When::Reading },
/// );
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Case<'a> {
    wanted: &'a [u8],
    read: &'a [u8],
    width: Width,
    cells: Option<Cells>,
    erased: u8,
    old: Option<&'a [u8]>,
    others: Vec<&'a [u8]>,
    cousins: Vec<&'a [u8]>,
    more_reads: Vec<&'a [u8]>,
    text_says: Vec<(usize, Vec<u8>)>,
    without_data: Vec<Range<usize>>,
    lines: bool,
    pairs: bool,
}

impl<'a> Case<'a> {
    /// The largest image, in bytes: 24 address lines.
    pub const LARGEST: usize = LARGEST;

    /// Other images, and other parts, that a case may have.
    pub const MOST_OTHERS: usize = 64;

    /// The image that was meant and what was read, for a chip of 8 data lines about which
    /// nothing else is known.
    pub fn new(wanted: &'a [u8], read: &'a [u8]) -> Self {
        Case {
            wanted,
            read,
            width: Width::Eight,
            cells: None,
            erased: 0xFF,
            old: None,
            others: Vec::new(),
            cousins: Vec::new(),
            more_reads: Vec::new(),
            text_says: Vec::new(),
            without_data: Vec::new(),
            lines: true,
            pairs: true,
        }
    }

    /// The chip's data lines.
    pub fn width(mut self, width: Width) -> Self {
        self.width = width;
        self
    }

    /// What the chip's cells do when written again; both are tried when it isn't known.
    pub fn cells(mut self, cells: Cells) -> Self {
        self.cells = Some(cells);
        self
    }

    /// The chip's content before.
    pub fn old(mut self, old: &'a [u8]) -> Self {
        self.old = Some(old);
        self
    }

    /// Another image of the set: its chip may have been taken for this one, or answer with it.
    pub fn other(mut self, other: &'a [u8]) -> Self {
        self.others.push(other);
        self
    }

    /// A further read of the same chip. The majority is explained.
    pub fn another_read(mut self, read: &'a [u8]) -> Self {
        self.more_reads.push(read);
        self
    }

    /// What an erased byte reads; FF unless something else is said.
    pub fn erased(mut self, byte: u8) -> Self {
        self.erased = byte;
        self
    }

    /// What would be read if the chip were another part than the one that the reader was set for; of the read's length.
    pub fn cousin(mut self, read: &'a [u8]) -> Self {
        self.cousins.push(read);
        self
    }

    /// What the read says when it is taken as the text of a record file: places of the wanted image, and their bytes.
    pub fn text_says(mut self, pieces: Vec<(usize, Vec<u8>)>) -> Self {
        self.text_says = pieces;
        self
    }

    /// Bytes of the wanted image that are filler: what differs there is counted apart.
    pub fn without_data(mut self, filler: Vec<Range<usize>>) -> Self {
        self.without_data = filler;
        self
    }

    /// Tries one line at a time, not two at once.
    pub fn singles_only(mut self) -> Self {
        self.pairs = false;
        self
    }

    /// Tries no lines, only lists, blocks, lengths and transfers: for the many images that a read is compared with.
    pub fn without_lines(mut self) -> Self {
        self.lines = false;
        self
    }

    fn check(&self) -> Result<(), CaseError> {
        for (which, bytes) in [
            (CaseImage::Wanted, self.wanted),
            (CaseImage::Read, self.read),
        ] {
            let length = bytes.len();
            if length == 0 {
                return Err(CaseError::Empty { which });
            }
            if length > Self::LARGEST {
                return Err(CaseError::TooLarge { which, length });
            }
            if length % self.width.bytes() != 0 {
                return Err(CaseError::PartWord { which, length });
            }
        }
        let old = self.old.iter().map(|&old| (CaseImage::Old, old));
        let others = self.others.iter().map(|&other| (CaseImage::Other, other));
        if let Some(cousin) = self
            .cousins
            .iter()
            .find(|cousin| cousin.len() != self.read.len())
        {
            return Err(CaseError::OtherLength {
                which: CaseImage::Cousin,
                length: cousin.len(),
                wanted: self.read.len(),
            });
        }
        for (which, bytes) in old.chain(others) {
            if bytes.len() != self.wanted.len() {
                return Err(CaseError::OtherLength {
                    which,
                    length: bytes.len(),
                    wanted: self.wanted.len(),
                });
            }
        }
        let count = self.others.len().max(self.cousins.len());
        if count > Self::MOST_OTHERS {
            return Err(CaseError::TooManyOthers { count });
        }
        Ok(())
    }

    /// Explains the read, or the majority of several, and what makes those differ.
    ///
    /// # Errors
    /// [`CaseError`] when the images can't be of one chip.
    pub fn diagnose(&self) -> Result<Diagnosis, CaseError> {
        self.check()?;
        let vote = self.vote()?;
        let read = vote.as_ref().map_or(self.read, |vote| &vote.image);
        let mut diagnosis = Diagnosis {
            verdict: Verdict::Same,
            differences: compare(self.wanted, read),
            candidates: Vec::new(),
            alone_bits: 0.0,
            in_data: self.in_data(read),
            vote: None,
            wavering_explains: false,
            as_wanted: Vec::new(),
        };
        if !diagnosis.differences.none() {
            self.explain(read, &mut diagnosis);
        }
        if let Some(vote) = vote {
            diagnosis.wavering_explains = vote.explains(self.wanted);
            let reads = self.all_reads().into_iter().enumerate();
            let as_wanted = reads.filter(|(_, read)| *read == self.wanted);
            diagnosis.as_wanted = as_wanted.map(|(n, _)| n).collect();
            diagnosis.vote = Some(vote);
        }
        Ok(diagnosis)
    }

    fn all_reads(&self) -> Vec<&'a [u8]> {
        let more = self.more_reads.iter().copied();
        std::iter::once(self.read).chain(more).collect()
    }

    /// The vote over several reads.
    fn vote(&self) -> Result<Option<Vote>, CaseError> {
        if self.more_reads.is_empty() {
            return Ok(None);
        }
        let reads = Reads::new(self.all_reads())?.width(self.width)?;
        let vote = reads.wanted(self.wanted).vote();
        match vote.different_contents() {
            Some(groups) => Err(CaseError::DifferentContents {
                groups: groups.to_vec(),
            }),
            None => Ok(Some(vote)),
        }
    }

    /// What a story makes of the wanted image; `None` for one that only lists, and for one that does not fit it.
    pub fn predicted(&self, story: &Story) -> Option<Vec<u8>> {
        self.known(self.read).told(self.wanted, story)
    }

    /// What should have been read.
    pub(super) fn wanted(&self) -> &'a [u8] {
        self.wanted
    }

    /// How many reads there are.
    pub(super) fn reads(&self) -> usize {
        1 + self.more_reads.len()
    }

    /// The same chip with another image of the same size.
    pub(super) fn with_wanted<'b>(&'b self, wanted: &'b [u8]) -> Case<'b> {
        Case {
            wanted,
            ..self.clone()
        }
    }

    fn known<'k>(&self, read: &'k [u8]) -> Known<'k> {
        let cells = |image: &&[u8]| self.width.cells(image);
        Known {
            read,
            width: self.width,
            erased: self.erased,
            cells: self.cells,
            old: self.old.as_ref().map(cells),
            others: self.others.iter().map(cells).collect(),
            cousins: self.cousins.iter().map(cells).collect(),
        }
    }

    /// Bytes that differ where the wanted image has data.
    fn in_data(&self, read: &[u8]) -> Option<usize> {
        if self.without_data.is_empty() {
            return None;
        }
        let differ = |range: Range<usize>| {
            let (wanted, read) = (self.wanted.get(range.clone()), read.get(range));
            let pairs = wanted.into_iter().flatten().zip(read.into_iter().flatten());
            pairs.filter(|(a, b)| a != b).count()
        };
        let filler: usize = self.without_data.iter().cloned().map(differ).sum();
        Some(differ(0..self.wanted.len().min(read.len())) - filler)
    }

    fn explain(&self, read: &[u8], diagnosis: &mut Diagnosis) {
        let question = Question {
            known: self.known(read),
            wanted: self.wanted,
            text_says: &self.text_says,
            lines: self.lines,
            pairs: self.pairs,
        };
        let explained = question.explain();
        let ranking = explained.ranking;
        diagnosis.alone_bits = explained.alone_bits;
        diagnosis.verdict = ranking.verdict;
        let mut told = ranking.told.into_iter();
        let answer: Vec<Told> = told.by_ref().take(ranking.answer).collect();
        let scored = |told: &Told, equals: Vec<Story>| Candidate {
            score: self.score(&question.known, told, &diagnosis.differences),
            equals,
            bits: told.bits,
            left: told.left,
        };
        if let Some(best) = answer.first() {
            let same = |other: &&Told| same_read(best, other) && worth_naming(best, other);
            let mut equals: Vec<Story> = Vec::new();
            for told in answer.iter().filter(same) {
                if equals.len() < NAMED && !equals.contains(&told.story) {
                    equals.push(told.story.clone());
                }
            }
            let candidate = scored(best, equals);
            diagnosis.candidates.push(candidate);
        }
        let mut rivals: Vec<(Told, Vec<Story>)> = Vec::new();
        let same = |rival: &Told| answer.first().is_some_and(|best| same_read(best, rival));
        for rival in told.filter(|rival| !rival.passenger && !same(rival)) {
            let known = rivals
                .iter()
                .position(|(first, _)| same_read(first, &rival));
            match known {
                Some(n) => {
                    let equals = &mut rivals[n].1;
                    if equals.len() < NAMED && !equals.contains(&rival.story) {
                        equals.push(rival.story);
                    }
                }
                None if rivals.len() == RIVALS => break,
                None => {
                    let story = rival.story.clone();
                    rivals.push((rival, vec![story]));
                }
            }
        }
        let rivals = rivals
            .into_iter()
            .map(|(told, equals)| scored(&told, equals));
        diagnosis.candidates.extend(rivals);
    }

    fn score(&self, known: &Known, told: &Told, differences: &Differences) -> Score {
        let per_cell = self.width.bytes();
        let length = (differences.only_first.max(differences.only_second)) / per_cell;
        let (wanted, read) = (self.width.cells(self.wanted), self.width.cells(known.read));
        let in_place = wanted.iter().zip(&read).filter(|(a, b)| a != b).count();
        let compared = wanted.len().min(read.len());
        let mut score = Score {
            differing: in_place + length,
            explained: in_place + length,
            equal: compared - in_place,
            broken: 0,
        };
        let predicted = match told.wrong {
            0 => None,
            _ => known.told(self.wanted, &told.story),
        };
        match predicted {
            Some(predicted) if wanted.len() == read.len() => {
                let predicted = self.width.cells(&predicted);
                let cells = predicted.iter().zip(&read).zip(&wanted);
                let wrong = cells.filter(|((p, r), _)| p != r);
                for ((_, read), wanted) in wrong {
                    match read == wanted {
                        true => score.broken += 1,
                        false => score.explained -= 1,
                    }
                }
            }
            _ => score.explained -= told.wrong.min(score.explained),
        }
        score
    }
}

/// Whether a story with the same read as the best one is worth naming too: blocks and other parts only where they are about
/// as likely, and an order of banks that needs a list never.
fn worth_naming(best: &Told, other: &Told) -> bool {
    let far_fetched = |model: &Model| match model {
        Model::Banks { map, .. } => {
            map_kind(map).kind == MapKind::Any || best.bits + LIKELY < other.bits
        }
        Model::Edits(_) | Model::Cousin(_) | Model::Array { .. } => best.bits + LIKELY < other.bits,
        // A list of pages, beside a story that says why.
        Model::PagesLeft { .. } => true,
        // The round place and the exact one are one story.
        Model::Stopped { .. } => matches!(best.story.first, Model::Stopped { .. }),
        _ => false,
    };
    best.story == other.story || !other.story.models().any(far_fetched)
}

/// Whether two stories say the same of every cell.
fn same_read(one: &Told, other: &Told) -> bool {
    // Pages that were left say what they read, although which pages they are is a list.
    let exact = |told: &Told| {
        let says = told.print.is_some() || matches!(told.story.first, Model::PagesLeft { .. });
        told.wrong == 0 && says
    };
    one.story == other.story
        || one.print.is_some() && one.print == other.print
        || exact(one) && exact(other)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::story::{Before, CellKind, Edit};
    use crate::faults::{LineFault, Pattern};

    fn told(model: Model, bits: f64) -> Told {
        Told {
            story: model.into(),
            bits,
            wrong: 0,
            left: None,
            print: None,
            list: false,
            passenger: false,
        }
    }

    /// Blocks, banks, other parts and rows are named beside a line only where they are about as likely: up to 10 bits dearer.
    #[test]
    fn far_fetched_names_are_left_out() {
        let best = told(Model::reading(LineFault::StuckLow(3)), 12.0);
        let named = |model: Model, more: f64| worth_naming(&best, &told(model, 12.0 + more));
        let banks = |map: [u32; 4]| Model::Banks {
            size: 512,
            map: map.to_vec(),
        };
        let row = Model::Array {
            lines: 1,
            levels: 1,
            data: 1,
            high: true,
        };
        let moved = Edit::Moved {
            from: 0,
            len: 64,
            to: 128,
        };
        let models = [
            banks([0, 0, 2, 3]),
            row,
            Model::Edits(vec![moved]),
            Model::Cousin(0),
        ];
        for model in models {
            assert!(named(model.clone(), 10.0), "{model:?}");
            assert!(!named(model.clone(), 10.1), "{model:?}");
        }
        // What says why is named however much dearer it is, and what lists never.
        assert!(named(Model::reading(LineFault::StuckLow(4)), 19.0));
        assert!(!named(banks([0, 0, 0, 3]), 0.0));
        let pages = Model::PagesLeft {
            page: 64,
            pages: 1,
            before: Before::Erased,
        };
        assert!(!named(pages.clone(), 0.0));
        let stopped = |at| Model::Stopped {
            at,
            above: Before::Erased,
        };
        assert!(named(stopped(64), 19.0));
        assert!(!worth_naming(
            &told(stopped(64), 9.0),
            &told(stopped(63), 9.0)
        ));
        assert!(worth_naming(&told(pages.clone(), 9.0), &told(pages, 9.0)));
    }

    /// Of what is known, the read itself decides which stories are one answer.
    #[test]
    fn stories_of_one_read() {
        let line = |n, print| Told {
            print,
            ..told(Model::reading(LineFault::StuckLow(n)), 12.0)
        };
        let wrong = |told| Told { wrong: 1, ..told };
        assert!(same_read(&line(1, Some(7)), &line(2, Some(7))));
        assert!(
            same_read(&line(1, Some(7)), &line(2, Some(8))),
            "both exact"
        );
        assert!(!same_read(&wrong(line(1, Some(7))), &line(2, Some(8))));
        assert!(!same_read(&line(1, Some(7)), &wrong(line(2, Some(8)))));
        assert!(same_read(
            &wrong(line(1, Some(7))),
            &wrong(line(2, Some(7)))
        ));
        assert!(!same_read(&line(1, None), &line(2, None)), "lists");
        assert!(same_read(&line(1, None), &line(1, None)));
        let pages = told(
            Model::PagesLeft {
                page: 64,
                pages: 1,
                before: Before::Erased,
            },
            9.0,
        );
        assert!(same_read(&pages, &line(1, Some(7))));
        assert!(!same_read(&pages, &wrong(line(1, Some(7)))));
    }

    fn telltale() -> Vec<u8> {
        "telltale".parse::<Pattern>().unwrap().image(256).unwrap()
    }

    #[test]
    fn refuses_images_that_can_t_be_of_one_chip() {
        let (even, odd) = ([1u8; 16], [1u8; 15]);
        let error = |case: Case| case.diagnose().unwrap_err();
        let empty = error(Case::new(&[], &even));
        assert!(matches!(
            empty,
            CaseError::Empty {
                which: CaseImage::Wanted
            }
        ));
        let empty = error(Case::new(&even, &[]));
        assert!(matches!(
            empty,
            CaseError::Empty {
                which: CaseImage::Read
            }
        ));
        assert!(Case::new(&even, &odd).diagnose().is_ok());
        let part = error(Case::new(&even, &odd).width(Width::Sixteen));
        assert!(matches!(
            part,
            CaseError::PartWord {
                which: CaseImage::Read,
                length: 15
            }
        ));
        let old = error(Case::new(&even, &odd).old(&odd));
        assert!(matches!(
            old,
            CaseError::OtherLength {
                which: CaseImage::Old,
                wanted: 16,
                ..
            }
        ));
        let other = error(Case::new(&even, &odd).other(&odd));
        assert!(matches!(
            other,
            CaseError::OtherLength {
                which: CaseImage::Other,
                ..
            }
        ));
        let cousin = error(Case::new(&even, &odd).cousin(&even));
        assert!(matches!(
            cousin,
            CaseError::OtherLength {
                which: CaseImage::Cousin,
                wanted: 15,
                ..
            }
        ));
        let many = |count: usize| {
            let case = Case::new(&even, &even);
            (0..count)
                .fold(case, |case, _| case.other(&even))
                .diagnose()
        };
        assert!(many(64).is_ok());
        assert!(matches!(
            many(65),
            Err(CaseError::TooManyOthers { count: 65 })
        ));
        let cousins = (0..65).fold(Case::new(&even, &even), |case, _| case.cousin(&even));
        assert!(matches!(
            error(cousins),
            CaseError::TooManyOthers { count: 65 }
        ));
        let large = vec![0u8; Case::LARGEST + 1];
        let large = error(Case::new(&large, &even));
        assert!(matches!(
            large,
            CaseError::TooLarge {
                which: CaseImage::Wanted,
                ..
            }
        ));
    }

    #[test]
    fn an_image_of_the_largest_size_is_taken() {
        let blank = vec![0u8; Case::LARGEST];
        let same = Case::new(&blank, &blank).diagnose().unwrap();
        assert_eq!(same.verdict, Verdict::Same);
    }

    /// What differs is counted, and what of it the answer explains: by hand.
    #[test]
    fn the_score_counts_cells() {
        let wanted = telltale();
        // A3 at 0 changes half of the cells. Of these one is as it should be, one is neither, and so is one of the others.
        let mut read: Vec<u8> = (0..256).map(|a| wanted[a & !8]).collect();
        read[9] = wanted[9];
        read[13] ^= 0x40;
        read[130] ^= 0x02;
        let diagnosis = Case::new(&wanted, &read).singles_only().diagnose().unwrap();
        let best = &diagnosis.candidates[0];
        assert_eq!(best.equals, [Model::reading(LineFault::StuckLow(3)).into()]);
        assert!(best.left.is_some() && diagnosis.verdict == Verdict::Likely);
        let score = &best.score;
        assert_eq!((score.differing, score.equal), (128, 128));
        assert_eq!((score.explained, score.broken), (126, 1));
        // Of a list every difference is explained.
        let mut read = wanted.clone();
        read[9] ^= 0x10;
        read[77] ^= 0x21;
        let diagnosis = Case::new(&wanted, &read).diagnose().unwrap();
        let score = &diagnosis.candidates[0].score;
        assert_eq!((score.differing, score.explained), (2, 2));
        assert_eq!((score.equal, score.broken), (254, 0));
        // Bytes that are not there differ.
        let diagnosis = Case::new(&wanted, &wanted[..200]).diagnose().unwrap();
        let score = &diagnosis.candidates[0].score;
        assert_eq!(
            (score.differing, score.explained, score.equal),
            (56, 56, 200)
        );
        let longer = [&wanted[..], &wanted].concat();
        let diagnosis = Case::new(&wanted, &longer).width(Width::Sixteen);
        let score = &diagnosis.diagnose().unwrap().candidates[0].score.clone();
        assert_eq!(
            (score.differing, score.explained, score.equal),
            (128, 128, 128)
        );
    }

    #[test]
    fn filler_is_counted_apart() {
        let wanted = telltale();
        let mut read = wanted.clone();
        for at in [3, 10, 19, 20, 60] {
            read[at] ^= 1;
        }
        let in_data = |filler: &[(usize, usize)]| {
            let filler = filler.iter().map(|&(from, to)| from..to).collect();
            let case = Case::new(&wanted, &read).without_data(filler);
            case.diagnose().unwrap().in_data
        };
        assert_eq!(in_data(&[]), None);
        assert_eq!(in_data(&[(10, 20)]), Some(3));
        assert_eq!(in_data(&[(0, 20), (20, 256)]), Some(0));
    }

    /// At most 16 names of one read, and 6 stories that would read otherwise, each with its own.
    #[test]
    fn so_many_are_named() {
        let mut wanted = vec![0xFF; 4096];
        wanted[0x800] = 0x12;
        let read: Vec<u8> = vec![0xFF; 4096];
        let diagnosis = Case::new(&wanted, &read).diagnose().unwrap();
        let best = &diagnosis.candidates[0];
        assert!(best.equals.len() <= 16 && diagnosis.candidates.len() <= 7);
        // Single bits may have leaked, or a line hides the only byte, or nothing was burned.
        assert_ne!(diagnosis.verdict, Verdict::Certain);
        for candidate in &diagnosis.candidates {
            for (n, story) in candidate.equals.iter().enumerate() {
                assert!(!candidate.equals[..n].contains(story));
            }
        }
        let wanted = telltale();
        let read: Vec<u8> = (0..256).map(|a| wanted[a ^ 8]).collect();
        let diagnosis = Case::new(&wanted, &read).diagnose().unwrap();
        assert_eq!(diagnosis.candidates.len(), 7);
        let first = |n: usize| &diagnosis.candidates[n].equals[0].first;
        assert_eq!(*first(0), Model::reading(LineFault::Inverted(3)));
        assert!((1..7).all(|n| first(n) != first(0)));
        assert!(!matches!(first(1), Model::Cells(CellKind::OneLine(_))));
    }
}
