//! Faults by the names that scripts know them by.

use serde::Serialize;

use super::known::Known;
use crate::faults::alone::Joined;
use crate::faults::{LineFault, Model, Sign, When};
use crate::wiring::Line;

/// A fault in words for scripts.
#[derive(Serialize)]
pub struct FaultView {
    /// Which, as `address-stuck-low`.
    pub kind: &'static str,
    /// `reading`, `burning` or `both`, where it makes a difference.
    pub when: Option<&'static str>,
    /// The lines that have it, as `A7`.
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

    /// An open line.
    pub(super) fn floating(line: Line, known: Known<'_>) -> Self {
        Self::new("floating", &[line], known)
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

    /// A fault.
    pub(super) fn of(model: Model, known: Known<'_>) -> Self {
        let on_lines = |kind, fault: LineFault, line: fn(u8) -> Line| {
            let (one, other) = fault.lines();
            let lines: Vec<Line> = std::iter::once(one).chain(other).map(line).collect();
            Self::new(kind, &lines, known)
        };
        let kind = match model {
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
            Model::Floating(line) => return Self::floating(line, known),
            Model::Transfer(_) => "transfer-damage",
            Model::OtherImage(_) => "other-image",
            Model::Blank => "blank",
            Model::AllZeros => "all-zeros",
            Model::Stopped { .. } => "stopped",
            Model::Smaller { .. } => "smaller",
            Model::LanesExchanged { .. } => "lanes-exchanged",
            Model::BanksExchanged { .. } => "banks-exchanged",
            Model::BitsReversed => "bits-reversed",
            Model::AllInverted => "all-inverted",
            Model::Shifted { .. } => "shifted",
            Model::PageCut { .. } => "page-cut",
            Model::PageWrapped { .. } => "page-wrapped",
            Model::Cousin { .. } => "cousin",
            Model::NotBlank => "not-blank",
            Model::OtherOnBus(_) => "other-on-bus",
            Model::Late => "late",
            Model::PagesLeft { .. } => "pages-left",
            Model::OnlyToZero => "only-to-zero",
            Model::OnlyToOne => "only-to-one",
        };
        Self::new(kind, &[], known)
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
