//! The crate's verdict on a case, in the judge's terms. All that the judge knows of the crate is here.

use super::case::Case;
use super::classes::Group;
use super::judge::{Rank, Sure, Told, Verdict};
use crate::support::broken::{Cell, Fault, Identity, Kind, Lines, Phase, Unheard};
use romloom::faults::{
    self, Candidate, CellKind, Edit, Length, LineFault, LineOf, Model, Names, Story,
};
use romloom::formats::{self, ReadOptions};
use romloom::wiring::Width;

/// More bits than this to name blocks are a list of them.
const A_LIST: f64 = 80.0;

/// Stretches, all of the wanted image, that are a rule and no list yet.
const A_FEW: usize = 8;

/// The verdict on this case.
pub fn ask(case: &Case) -> Verdict {
    let cousins = cousins(case);
    let text = text(case);
    let mut asked = faults::Case::new(&case.wanted, &case.read).text_says(text);
    if case.wide {
        asked = asked.width(Width::Sixteen);
    }
    if let Some(old) = &case.old {
        asked = asked.old(old);
    }
    if let Some(other) = &case.other {
        asked = asked.other(other);
    }
    for cousin in &cousins {
        asked = asked.cousin(cousin);
    }
    let found = asked.diagnose().unwrap();
    let sure = match found.verdict {
        faults::Verdict::Same => panic!("nothing differs: {case}"),
        faults::Verdict::Certain => Sure::Certain,
        faults::Verdict::Likely => Sure::Likely,
        faults::Verdict::Open => Sure::Open,
    };
    let rank = |candidate: &Candidate| Rank {
        bits: candidate.bits,
        told: (candidate.equals.iter())
            .map(|story| told(case, &asked, candidate, story))
            .collect(),
    };
    Verdict {
        sure,
        ranking: found.candidates.iter().map(rank).collect(),
    }
}

fn told(case: &Case, asked: &faults::Case, candidate: &Candidate, story: &Story) -> Told {
    let pin = |_| None;
    let sentence = story.sentences(&Names::new(&pin)).finding.to_string();
    let listed = !story.predicts();
    // Wanted bytes at other places tell a block; beside any other truth they have to be few.
    let about_blocks = matches!(case.class.group, Group::Blocks | Group::Pairs);
    let moves = |model: &Model| match model {
        Model::Moves(moves) => moves.new == 0 && (about_blocks || moves.stretches <= A_FEW),
        _ => false,
    };
    let listed = listed && !story.models().all(|model| model.predicts() || moves(model));
    let blocks = story.models().any(|m| {
        matches!(
            m,
            Model::Edits(_) | Model::Banks { .. } | Model::Shifted { .. }
        )
    });
    let reads = match (&story.first, listed) {
        (Model::WantedIsFaulty(line), _) => turned(case, *line),
        (Model::RecordText, _) => Some(case.read.clone()),
        (Model::NothingInCommon, _) => None,
        (_, true) => Some(case.read.clone()),
        // Where the stretches come from is not in the story; it says all of the read, or leaves something over.
        _ if story.models().any(&moves) && candidate.left.is_none() => Some(case.read.clone()),
        _ => asked
            .predicted(story)
            .or_else(|| one_after_the_other(asked, story)),
    };
    let leftover = candidate.left.is_some();
    let each = match leftover {
        true => (story.models())
            .filter_map(|model| asked.predicted(&model.clone().into()))
            .collect(),
        false => Vec::new(),
    };
    Told {
        says: format!("{story:?}: {sentence}"),
        group: group(&story.first),
        reads,
        named: story.second.is_none() && named(case, &story.first),
        list: listed
            || story.models().any(takes_from_the_read)
            || blocks && !about_blocks && !leftover && candidate.bits > A_LIST,
        each,
        leftover,
    }
}

/// The kind of story, in the judge's terms.
fn group(model: &Model) -> Option<Group> {
    Some(match model {
        Model::Address { .. } | Model::Data(_) | Model::Smaller { .. } => Group::Lines,
        Model::Cells(CellKind::Rewritten | CellKind::Changed) => Group::Identity,
        Model::Stopped { .. } | Model::PageCut { .. } | Model::PageWrapped { .. } => Group::Cells,
        Model::Cells(_) | Model::PagesLeft { .. } | Model::NotBlank => Group::Cells,
        Model::Shifted { .. } | Model::Banks { .. } | Model::Edits(_) => Group::Blocks,
        Model::Transfer(_) => Group::Transfers,
        Model::Length(_) => Group::Lengths,
        Model::Array { .. } => Group::Inside,
        Model::LanesSwapped { .. } | Model::BitsReversed | Model::AllInverted => Group::Mistakes,
        Model::Blank | Model::AllZeros | Model::StillOld => Group::Mistakes,
        Model::UnlockStored { .. } | Model::RecordText | Model::WantedIsFaulty(_) => {
            Group::Mistakes
        }
        Model::OtherImage(_) | Model::OtherOnBus(_) | Model::Cousin(_) | Model::NothingInCommon => {
            Group::Identity
        }
        _ => return None,
    })
}

/// Whether the bytes that it says come from the read itself, so that it can't be wrong there.
fn takes_from_the_read(model: &Model) -> bool {
    let put_in = |edit: &Edit| matches!(edit, Edit::PutIn { doubled: false, .. });
    match model {
        Model::Edits(edits) => edits.iter().any(put_in),
        Model::Length(length) => matches!(length, Length::More | Length::InFront),
        _ => false,
    }
}

/// Whether a story that predicts nothing is the injected one by its name.
fn named(case: &Case, model: &Model) -> bool {
    let Some(&fault) = case.faults.first() else {
        return false;
    };
    match (model, fault) {
        (Model::Cells(CellKind::AsPartner(told)), Fault::Cell(Cell::Floating { line, .. }))
        | (Model::Cells(CellKind::OneLine(told)), Fault::Cell(Cell::FloatingData { line, .. })) => {
            usize::from(*told) == line
        }
        (Model::Cells(CellKind::ReadAsOne), Fault::Cell(Cell::Leaked { .. }))
        | (Model::Cells(CellKind::ReadAsZero), Fault::Cell(Cell::Lost { .. } | Cell::NotBlank))
        | (Model::Cells(CellKind::ReadAsZero), Fault::Identity(Identity::BothOnBus))
        | (Model::Cells(CellKind::AsBefore), Fault::Identity(Identity::Late { .. }))
        | (Model::Cells(CellKind::Scattered), Fault::Cell(Cell::Scattered { .. }))
        | (
            Model::Cells(CellKind::Rewritten | CellKind::Changed),
            Fault::Identity(Identity::Version { .. }),
        )
        | (Model::PagesLeft { .. }, Fault::Cell(Cell::PagesLeft { .. }))
        | (Model::NothingInCommon, Fault::Unheard(Unheard::Stranger)) => true,
        // No better is known of what no list has, unless parts of it are still there.
        (Model::NothingInCommon, Fault::Unheard(unheard)) => {
            !matches!(unheard, Unheard::Half | Unheard::Shuffled { .. })
        }
        _ => false,
    }
}

/// The read, where the wanted image is what this fault makes of it.
fn turned(case: &Case, line: LineOf) -> Option<Vec<u8>> {
    let (address, data) = match line {
        LineOf::Address(fault) => (vec![kind(fault)], vec![]),
        LineOf::Data(fault) => (vec![], vec![kind(fault)]),
    };
    let lines = Lines {
        address,
        phase: Phase::Reading,
        data,
    };
    let wanted = match case.wide {
        true => lines.read_wide(&case.read),
        false => lines.read(&case.read),
    };
    (wanted == case.wanted).then(|| case.read.clone())
}

/// What a data line makes of an image of another length, which the crate says in two stories only.
fn one_after_the_other(asked: &faults::Case, story: &Story) -> Option<Vec<u8>> {
    let Some(Model::Data(fault)) = story.second else {
        return None;
    };
    let first = asked.predicted(&story.first.clone().into())?;
    let lines = Lines {
        address: vec![],
        phase: Phase::Reading,
        data: vec![kind(fault)],
    };
    Some(lines.read(&first))
}

/// A fault of the crate as the bench knows it.
fn kind(fault: LineFault) -> Kind {
    let line = usize::from;
    match fault {
        LineFault::StuckLow(i) => Kind::Low(line(i)),
        LineFault::StuckHigh(i) => Kind::High(line(i)),
        LineFault::Inverted(i) => Kind::Inverted(line(i)),
        LineFault::Swapped(i, j) => Kind::Swapped(line(i), line(j)),
        LineFault::ShortedLow(i, j) => Kind::WiredAnd(line(i), line(j)),
        LineFault::ShortedHigh(i, j) => Kind::WiredOr(line(i), line(j)),
        LineFault::Overdriven { winner, loser } => Kind::Driven(line(winner), line(loser)),
    }
}

/// What the read says as the text of records, as the command hands it over.
fn text(case: &Case) -> Vec<(usize, Vec<u8>)> {
    if !matches!(case.read.first(), Some(b':' | b'S')) {
        return Vec::new();
    }
    let end = case
        .read
        .iter()
        .rposition(|&byte| byte != 0xFF)
        .map_or(0, |at| at + 1);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("read");
    std::fs::write(&path, &case.read[..end]).unwrap();
    let how = ReadOptions {
        strictness: formats::Strictness::Salvage,
        ..ReadOptions::default()
    };
    let Ok(loaded) = formats::load(&path, &how) else {
        return Vec::new();
    };
    let spans = loaded.image.spans().iter();
    spans
        .map(|span| (span.start() as usize, span.bytes().to_vec()))
        .collect()
}

/// Chips of 4 KiB have cousins in the same package (common practice), and the command tells the crate how each would read.
fn cousins(case: &Case) -> Vec<Vec<u8>> {
    if case.wanted.len() != 4096 || case.read.len() != 4096 || case.wide {
        return Vec::new();
    }
    let all = [(false, false), (false, true), (true, false), (true, true)];
    all.map(|(select, a11)| Fault::Identity(Identity::Cousin(select, a11)).read(&case.wanted))
        .to_vec()
}
