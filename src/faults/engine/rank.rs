//! From the stories to a verdict: which of them are one answer, how far away the next one is, and what may be called certain.
//!
//! A lead in bits alone does not make "certain" honest: if the true story is missing or has a wrong cost, a wrong one can
//! have a lead of any size. These rules do; docs/evidence.md has what all of them give together.

use super::ledger::{Ledger, Told};
use crate::faults::cost::{
    A_LIST, A_MOVED_BLOCK, CERTAIN, LIKELY, MANY_STRETCHES, MapKind, TOO_MANY_STRETCHES, map_kind,
};
use crate::faults::moves::{Kind, Parse};
use crate::faults::story::{CellKind, Length, Model};
use crate::faults::verdict::Verdict;

/// The result of the stories.
pub(in crate::faults) struct Ranking {
    pub verdict: Verdict,
    /// The stories, the cheapest first, those of the answer before all others.
    pub told: Vec<Told>,
    /// How many of them are the answer.
    pub answer: usize,
}

/// Kinds of answers: two stories of one kind that differ in a detail are not rivals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum StoryKind {
    /// Lines and all that says of each cell what is read: every detail matters.
    Chip,
    Cells,
    Version,
    Blocks,
    Length,
    Form,
    Transfer,
    Nothing,
}

fn answer_kind(model: &Model) -> StoryKind {
    match model {
        Model::Cells(CellKind::Changed | CellKind::Rewritten) => StoryKind::Version,
        Model::Cells(_) => StoryKind::Cells,
        Model::Edits(_) | Model::Banks { .. } | Model::Shifted { .. } => StoryKind::Blocks,
        Model::Moves(moves) => match moves {
            _ if moves.moved == 0 && moves.constant < moves.new => StoryKind::Version,
            _ if moves.new > 4 * moves.moved => StoryKind::Version,
            _ => StoryKind::Blocks,
        },
        Model::Length(
            Length::Lane { .. }
            | Length::Part { .. }
            | Length::Window { .. }
            | Length::OneLaneOf2 { .. }
            | Length::EachTwice,
        ) => StoryKind::Form,
        Model::Length(_) => StoryKind::Length,
        Model::LanesSwapped { .. } | Model::AllInverted | Model::BitsReversed => StoryKind::Form,
        Model::Transfer(_) => StoryKind::Transfer,
        Model::NothingInCommon => StoryKind::Nothing,
        _ => StoryKind::Chip,
    }
}

impl Told {
    fn answer_kind(&self) -> StoryKind {
        answer_kind(&self.story.first)
    }

    /// Whether it says exactly what was read, and not by listing it.
    fn is_exact(&self) -> bool {
        let listed = matches!(
            self.story.first,
            Model::Cells(_) | Model::NothingInCommon | Model::WantedIsFaulty(_)
        );
        self.wrong == 0
            && !listed
            && !matches!(self.answer_kind(), StoryKind::Version | StoryKind::Nothing)
    }
}

/// Ranks the stories of a read in which this many cells differ. `blocks` is the parse, and `same_length` whether the read is as
/// long as what is wanted.
pub(super) fn rank(
    mut ledger: Ledger,
    blocks: &Parse,
    differing: usize,
    same_length: bool,
) -> Ranking {
    for told in &mut ledger.told {
        // A story that leaves at least half of the differences over is the list of those, and a needless fault.
        told.passenger = same_length && told.print.is_some() && 2 * told.wrong >= differing;
    }
    ledger.sort();
    let all = ledger.told;
    let Some(best) = best(&all).cloned() else {
        return Ranking {
            verdict: Verdict::Open,
            told: all,
            answer: 0,
        };
    };
    let no_rival = |told: &Told| {
        let same_read = told.print.is_some() && told.print == best.print;
        let same_kind =
            told.answer_kind() == best.answer_kind() && best.answer_kind() != StoryKind::Chip;
        let needless =
            told.passenger && matches!(best.answer_kind(), StoryKind::Cells | StoryKind::Version);
        let itself = told.story == best.story && told.bits == best.bits;
        itself
            || told.bits <= best.bits + CERTAIN
                && (same_read || best.is_exact() && told.is_exact() || same_kind || needless)
    };
    let (mut answer, rivals): (Vec<Told>, Vec<Told>) = all.into_iter().partition(no_rival);
    if let Some(at) = answer.iter().position(|told| told.story == best.story) {
        answer[..=at].rotate_right(1);
    }
    let gap = rivals
        .first()
        .map_or(f64::INFINITY, |rival| rival.bits - best.bits);
    let mut verdict = match gap {
        _ if gap >= CERTAIN && best.wrong == 0 => Verdict::Certain,
        _ if gap >= LIKELY => Verdict::Likely,
        _ => Verdict::Open,
    };
    verdict = verdict.max(limit(&best, blocks, differing));
    let mut told = answer;
    let answer = told.len();
    told.extend(rivals);
    Ranking {
        verdict,
        told,
        answer,
    }
}

/// The story that comes first: the cheapest, unless one that says the same better is about as cheap.
fn best(all: &[Told]) -> Option<&Told> {
    let cheapest = all.first()?;
    let near = || {
        all.iter()
            .take_while(|told| told.bits <= cheapest.bits + CERTAIN)
    };
    // The list alone, without a fault that explains less than half of it.
    if cheapest.passenger {
        return near().find(|told| !told.passenger).or(Some(cheapest));
    }
    // A story with a name, before the stretches or the pages that it is made of.
    let list = |told: &Told| matches!(told.story.first, Model::Moves(_) | Model::PagesLeft { .. });
    if list(cheapest) {
        let named = |told: &&Told| told.is_exact() && !list(told);
        return near().find(named).or(Some(cheapest));
    }
    Some(cheapest)
}

/// The surest that a story may be, whatever its lead.
fn limit(best: &Told, blocks: &Parse, differing: usize) -> Verdict {
    let first = &best.story.first;
    let mut limit = Verdict::Certain;
    let mut at_most = |verdict: Verdict| limit = limit.max(verdict);
    // One place is not enough evidence.
    if differing < 2 {
        at_most(Verdict::Likely);
    }
    // A story that leaves a quarter over is only the nearest of what is known.
    if 4 * best.wrong > differing {
        at_most(Verdict::Open);
    }
    // A list is not a story.
    if best.list
        || matches!(
            best.answer_kind(),
            StoryKind::Cells | StoryKind::Version | StoryKind::Nothing
        )
    {
        at_most(Verdict::Likely);
    }
    let pieced = |model: &Model| {
        matches!(
            model,
            Model::Edits(_) | Model::Banks { .. } | Model::Moves(_)
        )
    };
    if best.story.models().any(pieced) && best.bits > A_LIST {
        at_most(Verdict::Likely);
    }
    if let Model::Banks { map, .. } = first {
        if map_kind(map).kind == MapKind::Any {
            at_most(Verdict::Likely);
        }
    }
    let stretches = blocks.tokens.len();
    let moves =
        matches!(first, Model::Moves(_)) || matches!(best.story.second, Some(Model::Moves(_)));
    if moves && stretches > MANY_STRETCHES {
        at_most(Verdict::Likely);
    }
    if matches!(first, Model::Moves(_)) && stretches > TOO_MANY_STRETCHES {
        at_most(Verdict::Open);
    }
    // If a quarter of the read is wanted somewhere, the two do have something in common.
    if *first == Model::NothingInCommon {
        let wanted = blocks.bytes(|kind| matches!(kind, Kind::Same | Kind::Copy(_)));
        if 4 * wanted >= blocks.bytes(|_| true) {
            at_most(Verdict::Open);
        }
    }
    // Two lines at once against a few blocks: what could still be said more cheaply than the parse does.
    let two_lines =
        best.story.first.is_line() && best.story.second.as_ref().is_some_and(Model::is_line);
    if two_lines {
        let facts = blocks
            .tokens
            .iter()
            .filter(|token| !matches!(token.kind, Kind::Same | Kind::Literal));
        let new = blocks
            .tokens
            .iter()
            .filter(|token| token.kind == Kind::Literal);
        let new: f64 = new.map(|token| token.bits).sum();
        let hope = 4.0 + A_MOVED_BLOCK * facts.count() as f64 + new;
        if hope < best.bits + LIKELY {
            at_most(Verdict::Open);
        } else if hope < best.bits + CERTAIN {
            at_most(Verdict::Likely);
        }
    }
    limit
}
