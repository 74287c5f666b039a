//! Faults by the names that scripts use.

use serde::Serialize;

use super::known::Known;
use crate::faults::alone::Joined;
use crate::faults::{CellKind, Edit, Length, LineFault, LineOf, Model, Sign, When};
use crate::wiring::Line;

/// A fault in words for scripts.
#[derive(Serialize)]
pub struct FaultView {
    /// Which, such as `address-stuck-low`.
    pub kind: &'static str,
    /// `reading`, `burning` or `both`, where it makes a difference.
    pub when: Option<&'static str>,
    /// The lines that have it, such as `A7`.
    pub lines: Vec<String>,
    /// Their pins on the part, where known, in the same order.
    pub pins: Vec<Option<u8>>,
}

impl FaultView {
    fn new(kind: &'static str, lines: &[Line], known: Known<'_>) -> Self {
        Self {
            kind,
            when: None,
            lines: lines.iter().map(Line::to_string).collect(),
            pins: lines.iter().map(|line| known.pin(*line)).collect(),
        }
    }

    /// A sign of a fault.
    pub(super) fn of_sign(sign: Sign, known: Known<'_>) -> Self {
        let address = |kind, lines: &[u8]| {
            let lines: Vec<Line> = lines.iter().copied().map(Line::Address).collect();
            Self::new(kind, &lines, known)
        };
        let data = |kind, lines: &[u8]| {
            let lines: Vec<Line> = lines.iter().copied().map(Line::Data).collect();
            Self::new(kind, &lines, known)
        };
        match sign {
            Sign::Blank(_) => Self::new("blank", &[], known),
            Sign::Constant(_) => Self::new("constant", &[], known),
            Sign::IdleAddress { line, .. } => address("address-idle", &[line]),
            Sign::JoinedAddress(a, b, Joined::Low) => address("address-shorted-low", &[a, b]),
            Sign::JoinedAddress(a, b, Joined::High) => address("address-shorted-high", &[a, b]),
            Sign::ConstantData { line, high: false } => data("data-stuck-low", &[line]),
            Sign::ConstantData { line, high: true } => data("data-stuck-high", &[line]),
            Sign::EqualData(a, b) => data("data-equal", &[a, b]),
            Sign::OppositeData(a, b) => data("data-opposite", &[a, b]),
        }
    }

    /// What happened, as one or several things with a name.
    pub(super) fn all_of(model: &Model, known: Known<'_>) -> Vec<Self> {
        match model {
            Model::Edits(edits) => {
                let kinds = edits.iter().map(edit_kind);
                kinds.map(|kind| Self::new(kind, &[], known)).collect()
            }
            one => vec![Self::of(one, known)],
        }
    }

    fn of(model: &Model, known: Known<'_>) -> Self {
        let on_lines = |kind, fault: LineFault, line: fn(u8) -> Line| {
            let (one, other) = fault.lines();
            let lines: Vec<Line> = std::iter::once(one).chain(other).map(line).collect();
            Self::new(kind, &lines, known)
        };
        let kind = match *model {
            Model::Address { fault, when } => {
                let when = match when {
                    When::Reading => "reading",
                    When::Burning(_) => "burning",
                    When::Both(_) => "both",
                };
                return Self {
                    when: Some(when),
                    ..on_lines(address_kind(fault), fault, Line::Address)
                };
            }
            Model::Data(fault) => return on_lines(data_kind(fault), fault, Line::Data),
            Model::WantedIsFaulty(LineOf::Address(fault)) => {
                return on_lines("wanted-is-faulty", fault, Line::Address);
            }
            Model::WantedIsFaulty(LineOf::Data(fault)) => {
                return on_lines("wanted-is-faulty", fault, Line::Data);
            }
            Model::Cells(kind) => return Self::of_cells(kind, known),
            Model::Length(length) => length_kind(length),
            Model::Transfer(_) => "transfer-damage",
            Model::OtherImage(_) => "other-image",
            Model::Blank => "blank",
            Model::AllZeros => "all-zeros",
            Model::StillOld => "still-old",
            Model::Stopped { .. } => "stopped",
            Model::Smaller { .. } => "smaller",
            Model::LanesSwapped { .. } => "lanes-swapped",
            Model::Banks { .. } => "banks",
            Model::BitsReversed => "bits-reversed",
            Model::AllInverted => "all-inverted",
            Model::Shifted { .. } => "shifted",
            Model::PageCut { .. } => "page-cut",
            Model::PageWrapped { .. } => "page-wrapped",
            Model::PagesLeft { .. } => "pages-left",
            Model::Cousin(_) => "cousin",
            Model::NotBlank => "not-blank",
            Model::OtherOnBus(_) => "other-on-bus",
            Model::Array { .. } => "row-or-column",
            Model::UnlockStored { .. } => "unlock-stored",
            Model::RecordText => "record-text",
            Model::Moves(_) => "moves",
            _ => "nothing-in-common",
        };
        Self::new(kind, &[], known)
    }

    fn of_cells(kind: CellKind, known: Known<'_>) -> Self {
        let (kind, lines) = match kind {
            CellKind::Scattered => ("scattered-bits", vec![]),
            CellKind::ReadAsOne => ("bits-read-as-one", vec![]),
            CellKind::ReadAsZero => ("bits-read-as-zero", vec![]),
            CellKind::OneLine(line) => ("bits-of-one-line", vec![Line::Data(line)]),
            CellKind::AsPartner(line) => ("cells-as-partner", vec![Line::Address(line)]),
            CellKind::AsBefore => ("cells-as-before", vec![]),
            CellKind::Changed => ("bytes-changed", vec![]),
            _ => ("another-version", vec![]),
        };
        Self::new(kind, &lines, known)
    }
}

fn edit_kind(edit: &Edit) -> &'static str {
    match edit {
        Edit::Moved { .. } => "block-moved",
        Edit::Swapped { .. } => "blocks-swapped",
        Edit::Repeated { .. } => "block-repeated",
        Edit::Missing { .. } => "block-missing",
        Edit::Lost { .. } => "bytes-lost",
        Edit::PutIn { doubled: true, .. } => "bytes-doubled",
        Edit::PutIn { .. } => "bytes-put-in",
    }
}

fn length_kind(length: Length) -> &'static str {
    match length {
        Length::CutShort => "cut-short",
        Length::StartMissing => "start-missing",
        Length::Padded(_) => "padded",
        Length::More => "more-after",
        Length::InFront | Length::FilledInFront(_) => "more-in-front",
        Length::Repeats => "repeats",
        Length::OpenBus(_) => "open-bus",
        Length::Lane { .. } => "lane",
        Length::Part { .. } => "part",
        Length::Window { .. } => "window",
        Length::OneLaneOf2 { .. } => "one-lane-read",
        _ => "each-byte-twice",
    }
}

fn address_kind(fault: LineFault) -> &'static str {
    match fault {
        LineFault::StuckLow(_) => "address-stuck-low",
        LineFault::StuckHigh(_) => "address-stuck-high",
        LineFault::Inverted(_) => "address-inverted",
        LineFault::Swapped(..) => "address-swapped",
        LineFault::ShortedLow(..) => "address-shorted-low",
        LineFault::ShortedHigh(..) => "address-shorted-high",
        LineFault::Overdriven { .. } => "address-overdriven",
    }
}

fn data_kind(fault: LineFault) -> &'static str {
    match fault {
        LineFault::StuckLow(_) => "data-stuck-low",
        LineFault::StuckHigh(_) => "data-stuck-high",
        LineFault::Inverted(_) => "data-inverted",
        LineFault::Swapped(..) => "data-swapped",
        LineFault::ShortedLow(..) => "data-shorted-low",
        LineFault::ShortedHigh(..) => "data-shorted-high",
        LineFault::Overdriven { .. } => "data-overdriven",
    }
}
