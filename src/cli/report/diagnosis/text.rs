//! A diagnosis for people: Finding, Because, Look next.

use super::view::{CandidateView, DiagnosisAnswer as Answer, DiagnosisReport, MOST};
use crate::cli::report::document::Report;
use crate::cli::report::style::Style;
use crate::cli::report::verdict::{Paragraph, sentence, verdict};
use crate::prose::{plural, thousands};

impl Report for DiagnosisReport {
    const STEP: &'static str = "diagnose";

    fn text(&self, style: Style) -> String {
        let mut out = self.header(style);
        if let Some(wavering) = self.wavering.as_ref().filter(|found| !found.is_none()) {
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
                "the majority of {} reads, {} to {},",
                self.reads.len(),
                style.strong(first),
                style.strong(last)
            ),
            [] => String::new(),
        };
        if let Some(wanted) = &self.wanted {
            out += &format!(" against {wanted}");
        }
        match &self.differences {
            None => {
                out += &format!(
                    ": {}, nothing to hold them against",
                    plural(self.bytes, "byte")
                )
            }
            Some(d) if d.bytes == 0 => {
                out += &format!(": {} compared, all the same", plural(d.compared, "byte"));
            }
            Some(d) => {
                let bits = d.bits.to_one + d.bits.to_zero;
                out += &format!(
                    ": {} of {} differ, in {}",
                    thousands(d.bytes),
                    plural(d.compared, "byte"),
                    plural(bits, "bit")
                );
            }
        }
        if let Some(d) = &self.differences {
            for (count, what) in [(d.missing, "short"), (d.surplus, "long")] {
                if count > 0 {
                    out += &format!("; the read is {} too {what}", plural(count, "byte"));
                }
            }
        }
        out.push('\n');
        out
    }

    fn findings(&self) -> Vec<Paragraph> {
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
        match (self.verdict, &first[..]) {
            (Answer::Same, _) => vec!["The read is the wanted image.".into()],
            (Answer::Wavers, []) => vec!["The chip does not read the same every time.".into()],
            (Answer::Wavers, _) => all.iter().map(full).collect(),
            (Answer::Certain, [one]) => vec![full(one)],
            (Answer::Certain, some) => listed("These can't be told apart by this read:", some),
            (Answer::Likely, [one]) => vec![full(one), "That leaves something over.".into()],
            (Answer::Likely, some) => listed("One of these, and something besides:", some),
            (Answer::Possible, _) if all.len() == 1 => {
                vec![full(&all[0]), "The read doesn't prove it.".into()]
            }
            (Answer::Possible, _) => listed("The read fits these, and proves none of them:", &all),
            (_, []) => vec!["No fault with a name explains this read.".into()],
            _ => listed(
                "No fault with a name explains this read; the nearest are:",
                &all,
            ),
        }
    }

    fn reasons(&self) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        match self.verdict {
            Answer::Same => {
                let d = self.differences.as_ref();
                let compared = d.map_or(0, |d| d.compared);
                out.push(format!("All {} are as wanted.", plural(compared, "byte")));
            }
            Answer::CannotTell | Answer::Possible if self.candidates.len() > 1 => {
                for candidate in self.candidates.iter().take(MOST) {
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
        if !self.not_ruled_out.is_empty() {
            let rest: Vec<&str> = self.not_ruled_out.iter().map(String::as_str).collect();
            out.push(format!("Not ruled out, by chance: {}.", rest.join("; ")));
        }
        out.extend(self.remarks.iter().cloned());
        out
    }

    fn places(&self) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        let shown = match self.verdict {
            Answer::CannotTell => 0,
            Answer::Possible | Answer::Wavers => usize::MAX,
            _ => 1,
        };
        let candidates = self.candidates.iter().take(shown);
        for equal in candidates.flat_map(|c| &c.equals).take(MOST) {
            // The heading says it already.
            let place = sentence(equal.look_next.under_heading());
            if !out.contains(&place) {
                out.push(place);
            }
        }
        if self.verdict == Answer::Same {
            out.push(
                "Nothing is wrong in this read. A swap or inversion inside the programmer cancels \
                 when burnt and read there: a read on the board, or in another programmer, clears \
                 the one that burnt it."
                    .into(),
            );
        }
        if self.verdict == Answer::Wavers && self.to_settle.is_none() {
            out.push(
                "Clean the pins and the socket, check the supply, and read it five times more, \
                 slower. What wavers on one line is a contact first, a weak chip second."
                    .into(),
            );
        }
        out.extend(self.to_settle.clone());
        out
    }
}
