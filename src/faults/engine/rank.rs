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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::cost::Literals;
    use crate::faults::line_fault::LineFault;
    use crate::faults::moves::Token;
    use crate::faults::story::{Before, Damage, Edit, LineOf, Moves, Story};
    use crate::wiring::Width;

    /// A story that costs so much and predicts the read with this print, cell by cell.
    fn told(story: impl Into<Story>, bits: f64, print: u64) -> Told {
        Told {
            story: story.into(),
            bits,
            wrong: 0,
            left: None,
            print: Some(print),
            list: false,
            passenger: false,
        }
    }

    fn list(model: Model, bits: f64) -> Told {
        let print = None;
        Told {
            print,
            ..told(model, bits, 0)
        }
    }

    fn wrong(wrong: usize, told: Told) -> Told {
        Told { wrong, ..told }
    }

    fn line(n: u8) -> Model {
        Model::reading(LineFault::StuckLow(n))
    }

    fn tokens(kinds: &[(Kind, usize, f64)]) -> Parse {
        let token = |&(kind, len, bits)| Token {
            at: 0,
            len,
            kind,
            bits,
        };
        Parse {
            tokens: kinds.iter().map(token).collect(),
            bits: 0.0,
        }
    }

    /// The ranking of these stories, where so many of the cells differ.
    fn ranked(told: Vec<Told>, blocks: &Parse, differing: usize) -> Ranking {
        let literals = Literals::of(&[]);
        let mut ledger = Ledger::new(&[], Width::Eight, &literals);
        told.into_iter().for_each(|told| ledger.add(told));
        rank(ledger, blocks, differing, true)
    }

    /// The verdict on these stories, of which the first is the cheapest.
    fn verdict(told: Vec<Told>) -> Verdict {
        ranked(told, &Parse::default(), 100).verdict
    }

    /// EVIDENCE: a lead of 20 bits is certain, one of 10 likely, and what leaves anything over is never certain.
    #[test]
    fn the_lead_decides() {
        let lead = |lead: f64, left: usize| {
            let best = wrong(left, told(line(1), 12.0, 1));
            verdict(vec![best, wrong(3, told(line(2), 12.0 + lead, 2))])
        };
        assert_eq!(lead(20.0, 0), Verdict::Certain);
        assert_eq!(lead(19.9, 0), Verdict::Likely);
        assert_eq!(lead(10.0, 0), Verdict::Likely);
        assert_eq!(lead(9.9, 0), Verdict::Open);
        assert_eq!(lead(500.0, 1), Verdict::Likely);
        // A story that leaves more than a quarter over is only the nearest of what is known.
        assert_eq!(lead(500.0, 25), Verdict::Likely);
        assert_eq!(lead(500.0, 26), Verdict::Open);
        assert_eq!(verdict(vec![told(line(1), 12.0, 1)]), Verdict::Certain);
        assert_eq!(verdict(Vec::new()), Verdict::Open);
    }

    #[test]
    fn one_place_is_not_enough_evidence() {
        let one = || vec![told(line(1), 12.0, 1)];
        let after = |differing| ranked(one(), &Parse::default(), differing).verdict;
        assert_eq!(after(1), Verdict::Likely);
        assert_eq!(after(2), Verdict::Certain);
    }

    /// EVIDENCE, rule 1 and 2: a list is no story, nor is "nothing in common".
    #[test]
    fn a_list_is_never_more_than_likely() {
        for kind in [
            CellKind::Scattered,
            CellKind::Rewritten,
            CellKind::OneLine(3),
        ] {
            assert_eq!(
                verdict(vec![list(Model::Cells(kind), 30.0)]),
                Verdict::Likely
            );
        }
        let new = tokens(&[(Kind::Literal, 100, 800.0)]);
        let nothing = vec![list(Model::NothingInCommon, 800.0)];
        assert_eq!(ranked(nothing, &new, 100).verdict, Verdict::Likely);
        let listed = Told {
            list: true,
            ..told(line(1), 12.0, 1)
        };
        assert_eq!(verdict(vec![listed]), Verdict::Likely);
        // More than 80 bits to name are a list, however short the sentence.
        let moved = Edit::Moved {
            from: 0,
            len: 9,
            to: 40,
        };
        let edits = |bits| verdict(vec![told(Model::Edits(vec![moved]), bits, 1)]);
        assert_eq!(
            (edits(80.0), edits(80.1)),
            (Verdict::Certain, Verdict::Likely)
        );
        assert_eq!(verdict(vec![told(line(1), 80.1, 1)]), Verdict::Certain);
        // So is an order of banks that is no exchange, no permutation and no single repeat.
        let banks = |map: [u32; 4]| {
            let map = map.to_vec();
            verdict(vec![told(Model::Banks { size: 512, map }, 30.0, 1)])
        };
        assert_eq!(banks([1, 2, 3, 0]), Verdict::Certain);
        assert_eq!(banks([0, 0, 2, 3]), Verdict::Certain);
        assert_eq!(banks([0, 0, 0, 3]), Verdict::Likely);
    }

    #[test]
    fn many_stretches_are_a_list_and_more_say_nothing() {
        let moves = Moves {
            in_place: 10,
            moved: 90,
            constant: 0,
            new: 0,
            stretches: 0,
        };
        let after = |model: Story, stretches: usize| {
            let blocks = tokens(&vec![(Kind::Same, 1, 1.0); stretches]);
            ranked(vec![told(model, 30.0, 1)], &blocks, 100).verdict
        };
        let alone = |stretches| after(Model::Moves(moves).into(), stretches);
        assert_eq!((alone(8), alone(9)), (Verdict::Certain, Verdict::Likely));
        assert_eq!((alone(40), alone(41)), (Verdict::Likely, Verdict::Open));
        let beside = |stretches| after(Story::two(line(1), Model::Moves(moves)), stretches);
        assert_eq!((beside(8), beside(41)), (Verdict::Certain, Verdict::Likely));
        assert_eq!(after(line(1).into(), 41), Verdict::Certain);
    }

    #[test]
    fn what_has_a_quarter_in_common_has_something_in_common() {
        let after = |wanted: usize| {
            let blocks = [
                (Kind::Same, wanted - 5, 1.0),
                (Kind::Copy(9), 5, 1.0),
                (Kind::Literal, 50, 1.0),
                (Kind::Run(0), 50 - wanted, 1.0),
            ];
            let nothing = list(Model::NothingInCommon, 300.0);
            ranked(vec![nothing], &tokens(&blocks), 100).verdict
        };
        assert_eq!((after(24), after(25)), (Verdict::Likely, Verdict::Open));
    }

    /// EVIDENCE, rule 5: two lines are certain only if 4 + 12 bits for each moved block + the literals exceed them by 20.
    #[test]
    fn two_lines_against_a_few_blocks() {
        let after = |story: Story, new: f64| {
            let blocks = [
                (Kind::Same, 10, 5.0),
                (Kind::Copy(0), 10, 50.0),
                (Kind::Run(0), 10, 50.0),
                (Kind::Same, 10, 5.0),
                (Kind::Literal, 4, new),
            ];
            ranked(vec![told(story, 18.0, 1)], &tokens(&blocks), 100).verdict
        };
        // 4 + 2 x 12 + 10 are 38, which are 20 more than the lines cost.
        let lines = || Story::two(line(1), Model::Data(LineFault::StuckLow(2)));
        assert_eq!(after(lines(), 10.0), Verdict::Certain);
        assert_eq!(after(lines(), 9.9), Verdict::Likely);
        assert_eq!(after(lines(), 0.0), Verdict::Likely);
        let dearer = |bits: f64| {
            let blocks = tokens(&[(Kind::Same, 1, 9.0), (Kind::Copy(0), 1, 9.0)]);
            ranked(vec![told(lines(), bits, 1)], &blocks, 100).verdict
        };
        assert_eq!((dearer(6.0), dearer(6.1)), (Verdict::Likely, Verdict::Open));
        assert_eq!(after(line(1).into(), 0.0), Verdict::Certain);
        let other = Story::two(line(1), Model::AllInverted);
        assert_eq!(after(other, 0.0), Verdict::Certain);
    }

    /// EVIDENCE, rule 3: what predicts the same read within 20 bits is one answer, the cheapest first.
    #[test]
    fn the_same_read_has_several_names() {
        let names = |bits: f64, print: u64| {
            let told = vec![told(line(9), bits, print), told(line(1), 12.0, 1)];
            let ranking = ranked(told, &Parse::default(), 100);
            assert_eq!(ranking.told[0].story, line(1).into());
            (ranking.answer, ranking.verdict)
        };
        assert_eq!(names(12.1, 1), (2, Verdict::Certain));
        assert_eq!(names(32.0, 1), (2, Verdict::Certain));
        assert_eq!(names(32.1, 1), (1, Verdict::Certain));
        assert_eq!(
            names(31.0, 2).1,
            Verdict::Certain,
            "exact, by another print"
        );
        // One that leaves something over is a rival.
        let rival = wrong(1, told(line(9), 12.1, 2));
        let ranking = ranked(vec![told(line(1), 12.0, 1), rival], &Parse::default(), 100);
        assert_eq!((ranking.answer, ranking.verdict), (1, Verdict::Open));
    }

    #[test]
    fn what_leaves_half_over_is_no_rival_of_a_list() {
        let scattered = || list(Model::Cells(CellKind::Scattered), 30.0);
        let with = |left: usize| {
            let line = wrong(left, told(line(1), 31.0, 1));
            ranked(vec![scattered(), line], &Parse::default(), 100)
        };
        assert_eq!((with(50).answer, with(50).verdict), (2, Verdict::Likely));
        assert!(with(50).told[1].passenger && !with(49).told[1].passenger);
        assert_eq!((with(49).answer, with(49).verdict), (1, Verdict::Open));
        // Nor does it come first.
        let cheaper = wrong(60, told(line(1), 29.0, 1));
        let ranking = ranked(vec![scattered(), cheaper.clone()], &Parse::default(), 100);
        assert_eq!(ranking.told[0].story, scattered().story);
        // Unless nothing else is near.
        let far = list(Model::Cells(CellKind::Scattered), 49.1);
        let ranking = ranked(vec![far, cheaper], &Parse::default(), 100);
        assert_eq!(ranking.told[0].story, line(1).into());
    }

    #[test]
    fn a_name_comes_before_the_list_it_is_made_of() {
        let left = Model::PagesLeft {
            page: 64,
            pages: 2,
            before: Before::Erased,
        };
        let with = |bits: f64, left_over: usize| {
            let line = wrong(left_over, told(line(1), bits, 1));
            let ranking = ranked(vec![list(left.clone(), 20.0), line], &Parse::default(), 100);
            ranking.told[0].story.first.clone()
        };
        assert_eq!(with(40.0, 0), line(1));
        assert_eq!(with(40.1, 0), left);
        assert_eq!(with(25.0, 1), left);
    }

    /// Two stories of one kind that differ in a detail are no rivals, but every detail of a line is one.
    #[test]
    fn kinds_of_answers() {
        let near = |one: Model, other: Model| {
            let told = vec![wrong(1, told(one, 20.0, 1)), wrong(2, told(other, 21.0, 2))];
            ranked(told, &Parse::default(), 100).answer
        };
        let cells = |kind| Model::Cells(kind);
        let moves = |moved, constant, new| {
            Model::Moves(Moves {
                in_place: 0,
                moved,
                constant,
                new,
                stretches: 9,
            })
        };
        let edits = || Model::Edits(Vec::new());
        let lane = || Model::Length(Length::Lane { n: 0, of: 2 });
        let cut = || Model::Length(Length::CutShort);
        let damage = |damage| Model::Transfer(damage);
        for (one, other) in [
            (cells(CellKind::Scattered), cells(CellKind::ReadAsOne)),
            (cells(CellKind::Changed), cells(CellKind::Rewritten)),
            (cells(CellKind::Changed), moves(0, 4, 5)),
            (cells(CellKind::Changed), moves(1, 0, 5)),
            (edits(), moves(1, 0, 4)),
            (edits(), moves(0, 5, 0)),
            (lane(), Model::AllInverted),
            (cut(), Model::Length(Length::Repeats)),
            (damage(Damage::CrDropped), damage(Damage::CrToLf)),
        ] {
            assert_eq!(near(one.clone(), other.clone()), 2, "{one:?} {other:?}");
        }
        for (one, other) in [
            (line(1), line(2)),
            (
                line(1),
                Model::WantedIsFaulty(LineOf::Data(LineFault::StuckLow(1))),
            ),
            (cells(CellKind::Scattered), cells(CellKind::Changed)),
            (edits(), moves(0, 4, 5)),
            (edits(), moves(1, 0, 5)),
            (lane(), cut()),
            (damage(Damage::CrDropped), edits()),
        ] {
            assert_eq!(near(one.clone(), other.clone()), 1, "{one:?} {other:?}");
        }
    }
}
