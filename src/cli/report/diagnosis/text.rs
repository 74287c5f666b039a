//! A diagnosis for people: Finding, Because, Look next.

use super::view::{
    CandidateView, DiagnosisAnswer as Answer, DiagnosisReport, ExplanationView, MOST,
};
use super::wavering::{read_again, wavering_findings};
use crate::cli::report::document::Report;
use crate::cli::report::style::Style;
use crate::cli::report::verdict::{Paragraph, sentence, verdict};
use crate::cli::report::vote::WaveringView;
use crate::prose::{plural, thousands};

/// Bits from the best story within which another one is about as likely.
const LIKELY: f64 = 10.0;

impl Report for DiagnosisReport {
    const STEP: &'static str = "diagnose";

    fn text(&self, style: Style) -> String {
        let mut out = self.header(style);
        if let Some(wavering) = self.differing_reads() {
            out += &format!(
                "  the reads differ among themselves: {}\n",
                wavering.count()
            );
            for row in wavering.rows(MOST) {
                out += &format!("    {row}\n");
            }
        }
        out += &verdict(
            style,
            self.findings(),
            self.reasons().into_iter().map(Paragraph::from).collect(),
            self.places().into_iter().map(Paragraph::from).collect(),
        );
        out
    }
}

impl DiagnosisReport {
    fn header(&self, style: Style) -> String {
        let mut out = match &self.reads[..] {
            [one] => style.strong(one),
            [first, .., last] => format!(
                "the majority of {} reads, {} to {}{}",
                self.reads.len(),
                style.strong(first),
                style.strong(last),
                if self.wanted.is_some() { "," } else { "" }
            ),
            [] => String::new(),
        };
        if let Some(wanted) = &self.wanted {
            out += &format!(" against {wanted}");
        }
        out += &format!(": {}\n", self.compared_in_words());
        out
    }

    /// How much differs, in words without a full stop.
    pub(in crate::cli::report) fn compared_in_words(&self) -> String {
        let mut out = match &self.differences {
            None => format!(
                "{}, nothing to compare them with",
                plural(self.bytes, "byte")
            ),
            Some(d) if d.bytes == 0 => {
                format!("{} compared, all the same", plural(d.compared, "byte"))
            }
            Some(d) => {
                let bits = d.bits.to_one + d.bits.to_zero;
                format!(
                    "{} of {} differ, in {}",
                    thousands(d.bytes),
                    plural(d.compared, "byte"),
                    plural(bits, "bit")
                )
            }
        };
        if let Some(d) = &self.differences {
            for (count, what) in [(d.missing, "short"), (d.surplus, "long")] {
                if count > 0 {
                    out += &format!("; the read is {} too {what}", plural(count, "byte"));
                }
            }
        }
        out
    }

    /// What was found, and how sure that is.
    pub(in crate::cli::report) fn findings(&self) -> Vec<Paragraph> {
        let said = |candidate: &CandidateView| -> Vec<String> {
            let all = candidate.equals.iter();
            all.map(|equal| equal.finding.clone()).collect()
        };
        let full = |sentence: &String| Paragraph::Sentence(format!("{sentence}."));
        let listed = |intro: &str, items: &[String]| -> Vec<Paragraph> {
            let mut out = vec![intro.into()];
            out.extend(items.iter().take(MOST).cloned().map(Paragraph::Item));
            if items.len() > MOST {
                out.push(Paragraph::Item(format!("and {} more", items.len() - MOST)));
            }
            out
        };
        let all: Vec<String> = self.candidates.iter().flat_map(said).collect();
        let first = self.candidates.first().map(said).unwrap_or_default();
        let answer = match &first[..] {
            [one] => vec![full(one)],
            some => listed(
                "One of these; they read the same, and the usual cause is first:",
                some,
            ),
        };
        let with = |mut answer: Vec<Paragraph>, sure: &str| {
            answer.push(sure.into());
            answer
        };
        let wavering = self.differing_reads().map(wavering_findings);
        let mut findings = match (self.verdict, &first[..]) {
            (Answer::Same, _) => vec!["The read is the wanted image: the chip is right.".into()],
            (Answer::Wavers, _) => {
                let mut out = wavering.unwrap_or_default();
                out.extend(all.iter().map(full));
                return out;
            }
            (_, []) => vec!["None of the known faults explains this read.".into()],
            (Answer::Certain, _) => with(answer, "This is certain."),
            (Answer::Likely, _) if self.leaves_over() => {
                with(answer, "This is likely, but leaves something over.")
            }
            (Answer::Likely, _) => with(answer, "This is likely."),
            (Answer::Open, _) => {
                let near: Vec<String> = self.about_as_likely().flat_map(said).collect();
                match &near[..] {
                    [_] => with(
                        answer,
                        "This is open: it is only the nearest of what is known.",
                    ),
                    near => listed("This is open. These are about equally likely:", near),
                }
            }
        };
        if let Some(wavering) = wavering {
            findings.push("The reads also differ among themselves.".into());
            findings.extend(wavering);
        }
        findings
    }

    /// What wavers, when the reads are not all the same.
    fn differing_reads(&self) -> Option<&WaveringView> {
        self.wavering.as_ref().filter(|found| !found.is_none())
    }

    /// Whether the answer predicts some cells wrongly.
    fn leaves_over(&self) -> bool {
        let score = self
            .candidates
            .first()
            .and_then(|first| first.score.as_ref());
        score.is_some_and(|score| score.explained < score.differing || score.contradicted > 0)
    }

    /// The candidates that cost hardly more than the first.
    fn about_as_likely(&self) -> impl Iterator<Item = &CandidateView> {
        let least = self.candidates.first().and_then(|first| first.bits);
        let near = move |candidate: &&CandidateView| match (candidate.bits, least) {
            (Some(bits), Some(least)) => bits < least + LIKELY,
            _ => false,
        };
        self.candidates.iter().filter(near)
    }

    /// The evidence, as sentences.
    pub(in crate::cli::report) fn reasons(&self) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        match self.verdict {
            Answer::Same => {
                let d = self.differences.as_ref();
                let compared = d.map_or(0, |d| d.compared);
                out.push(format!("All {} are as wanted.", plural(compared, "byte")));
            }
            Answer::Open if self.about_as_likely().count() > 1 => {
                for candidate in self.about_as_likely().take(MOST) {
                    if let Some(equal) = candidate.equals.first() {
                        out.push(format!("{}: {}.", equal.finding, candidate.because));
                    }
                }
                out.dedup();
            }
            _ => {
                let reasons = self.candidates.iter().take(match self.wanted {
                    Some(_) => 1,
                    None => usize::MAX,
                });
                out.extend(reasons.map(|c| sentence(&c.because)));
                out.dedup();
            }
        }
        out.extend(self.next_story());
        if let Some(wavering) = self.differing_reads() {
            for (_, because) in &wavering.answer {
                let because = sentence(because);
                if !out.contains(&because) {
                    out.push(because);
                }
            }
        }
        out.extend(self.remarks.iter().cloned());
        out
    }

    /// What the first story that would read differently leaves over, for comparison.
    fn next_story(&self) -> Option<String> {
        let sure = matches!(self.verdict, Answer::Certain | Answer::Likely);
        let next = self.candidates.get(1).filter(|_| sure)?;
        let (score, equal) = (next.score.as_ref()?, next.equals.first()?);
        let wrong = score.differing - score.explained + score.contradicted;
        let story = &equal.finding;
        Some(match wrong {
            0 => format!(
                "The next story is {} bits less likely: {story}.",
                thousands(self.lead_bits?.round() as u64)
            ),
            _ => format!("The next story leaves {} over: {story}.", thousands(wrong)),
        })
    }

    /// The candidates that are told in full.
    fn told(&self) -> impl Iterator<Item = &CandidateView> {
        let shown = match self.verdict {
            Answer::Open => self.about_as_likely().count(),
            Answer::Wavers => usize::MAX,
            _ => 1,
        };
        self.candidates.iter().take(shown)
    }

    /// The lines to look at, each once, with their pins if known: those that all the stories of the answer are about,
    /// otherwise those of every story that is given in full.
    pub fn lines_to_look_at(&self) -> Vec<(String, Option<u8>)> {
        let equals = self.told().flat_map(|candidate| &candidate.equals);
        let about = |equal: &ExplanationView| -> Vec<(String, Option<u8>)> {
            let faults = equal.faults.iter();
            let lines = faults.flat_map(|fault| fault.lines.iter().zip(&fault.pins));
            lines.map(|(line, pin)| (line.clone(), *pin)).collect()
        };
        let stories: Vec<Vec<(String, Option<u8>)>> = equals.take(MOST).map(about).collect();
        let mut all: Vec<(String, Option<u8>)> = Vec::new();
        for line in stories.iter().flatten() {
            if !all.contains(line) {
                all.push(line.clone());
            }
        }
        let mut common = all.clone();
        common.retain(|line| stories.iter().all(|story| story.contains(line)));
        if common.is_empty() { all } else { common }
    }

    /// Where to look, as sentences.
    pub(in crate::cli::report) fn places(&self) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        // One paragraph for all stories about the same lines.
        let mut lines: Vec<&String> = Vec::new();
        for equal in self.told().flat_map(|c| &c.equals).take(MOST) {
            let about: Vec<&String> = equal.faults.iter().flat_map(|fault| &fault.lines).collect();
            if !about.is_empty() && about.iter().all(|line| lines.contains(line)) {
                continue;
            }
            lines.extend(about);
            // The heading says it already.
            let place = equal.look_next.clone();
            if !out.contains(&place) {
                out.push(place);
            }
        }
        if self.verdict == Answer::Same {
            out.push(
                "Nothing is wrong in this read. A programmer that swaps or inverts lines hides this when it reads what it \
                 burned itself: only a read on the board, or in another programmer, clears the one that burned it."
                    .into(),
            );
        }
        if let Some(wavering) = self.differing_reads() {
            out.extend(read_again(wavering));
        }
        out.extend(self.to_settle.clone());
        out
    }
}
