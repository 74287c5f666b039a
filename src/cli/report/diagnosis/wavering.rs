//! Reads that differ among themselves, in the sentences of a diagnosis.

use super::view::MOST;
use crate::cli::report::verdict::Paragraph;
use crate::cli::report::vote::{Sure, WaveringView};

/// What wavers, and how sure that is.
pub(super) fn wavering_findings(wavering: &WaveringView) -> Vec<Paragraph> {
    let said = wavering.answer.iter();
    let said: Vec<String> = said.map(|(said, _)| said.finding.clone()).collect();
    let sure = match (wavering.verdict, &said[..]) {
        (Sure::Open, [_, _, ..]) => {
            let mut out: Vec<Paragraph> =
                vec!["This is open. These are about equally likely:".into()];
            out.extend(said.into_iter().take(MOST).map(Paragraph::Item));
            return out;
        }
        (Sure::Open, _) => "This is open.",
        (Sure::Likely, _) => "This is likely.",
        _ => "This is certain.",
    };
    let full = said
        .iter()
        .map(|finding| Paragraph::Sentence(format!("{finding}.")));
    full.chain([sure.into()]).collect()
}

/// What to do about reads that differ.
pub(super) fn read_again(wavering: &WaveringView) -> Vec<String> {
    let place = wavering.look_next.clone();
    match (wavering.verdict, &wavering.lines[..]) {
        (Sure::Open, _) => vec![
            "Clean the pins and the socket, check the supply, and read it five times more, slower: more reads tell weak \
             cells from a disturbed reading."
                .into(),
        ],
        (_, [_]) if wavering.odd_read.is_none() => vec![
            place,
            "Clean that pin and its contact, then read it a few times more. When one line wavers, suspect the contact first, \
             then a weak chip."
                .into(),
        ],
        _ => vec![place],
    }
}
