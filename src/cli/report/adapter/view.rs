//! The report as scripts get it.

use serde::Serialize;

use super::entry::{NAME, board_entry, seat_step};
use super::words::{CAUTIONS, deciding_sentence};
use crate::board::{Adapter, AdapterPin, Condition, Feed, Fitting, Level, NoAdapter, Question};
use crate::parts::{Part, Pin};

/// The result.
pub enum AdapterOutcome {
    /// A plan.
    Plan(Box<Adapter>),
    /// Wires alone are not enough.
    Refused(NoAdapter),
}

/// A chip in a socket that is wired for another part.
#[derive(Serialize)]
pub struct AdapterReport {
    pub(super) verdict: AdapterVerdict,
    pub(super) reason: Option<String>,
    pub(super) socket: PackageView,
    pub(super) chip: PackageView,
    pub(super) conditions: Vec<ConditionView>,
    pub(super) questions: Vec<QuestionView>,
    pub(super) pins: Vec<ChipPinView>,
    pub(super) unused: Vec<UnusedView>,
    pub(super) pull_ups: bool,
    pub(super) content: Option<EntryView>,
    pub(super) decides: Vec<String>,
    pub(super) cautions: Vec<&'static str>,
    #[serde(skip)]
    pub(super) planned: AdapterOutcome,
}

#[derive(Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum AdapterVerdict {
    FitsAsItIs,
    FitsIf,
    NeedsWiring,
    Undecided,
    Refused,
}

#[derive(Serialize)]
pub(super) struct PackageView {
    pub part: String,
    pub pins: u8,
    pub organisation: String,
}

impl PackageView {
    fn new(part: &Part) -> Self {
        Self {
            part: part.name.clone(),
            pins: part.pins,
            organisation: part.organisation(),
        }
    }
}

#[derive(Serialize)]
pub(super) struct ConditionView {
    socket_pin: u8,
    chip_pin: u8,
    must: &'static str,
}

#[derive(Serialize)]
pub(super) struct QuestionView {
    of: &'static str,
    pin: u8,
}

#[derive(Serialize)]
pub(super) struct ChipPinView {
    pin: u8,
    function: Pin,
    gets: String,
    socket_pin: Option<u8>,
    under: Option<u8>,
    insulated: bool,
}

#[derive(Serialize)]
pub(super) struct UnusedView {
    pub pin: u8,
    pub function: Pin,
}

#[derive(Serialize)]
pub(super) struct EntryView {
    pub board: String,
    pub seat: Option<String>,
}

impl AdapterReport {
    /// The result for `chip` in a socket for `socket`, which the bus sees from `at`.
    pub fn new(socket: &Part, chip: &Part, planned: AdapterOutcome, at: u64) -> Self {
        let mut report = Self {
            verdict: AdapterVerdict::Refused,
            reason: None,
            socket: PackageView::new(socket),
            chip: PackageView::new(chip),
            conditions: Vec::new(),
            questions: Vec::new(),
            pins: Vec::new(),
            unused: Vec::new(),
            pull_ups: false,
            content: None,
            decides: Vec::new(),
            cautions: Vec::new(),
            planned,
        };
        match &report.planned {
            AdapterOutcome::Refused(why) => report.reason = Some(why.to_string()),
            AdapterOutcome::Plan(plan) => {
                let spec = plan.content(NAME, at);
                report.verdict = verdict(&plan.fitting);
                report.conditions = conditions(&plan.fitting);
                report.questions = plan.questions.iter().map(question).collect();
                report.pins = plan.pins.iter().map(|pin| chip_pin(plan, pin)).collect();
                let unused = plan.unused().into_iter();
                report.unused = unused
                    .map(|(pin, function)| UnusedView { pin, function })
                    .collect();
                report.pull_ups = plan.pull_ups;
                report.content = Some(EntryView {
                    board: board_entry(&spec),
                    seat: seat_step(&spec),
                });
                let deciding = plan.deciding.iter();
                report.decides = deciding
                    .map(|deciding| deciding_sentence(plan, deciding))
                    .collect();
                report.cautions = CAUTIONS.to_vec();
            }
        }
        report
    }

    /// Whether there is a whole plan.
    pub fn is_settled(&self) -> bool {
        !matches!(
            self.verdict,
            AdapterVerdict::Undecided | AdapterVerdict::Refused
        )
    }
}

fn verdict(fitting: &Fitting) -> AdapterVerdict {
    match fitting {
        Fitting::AsItIs => AdapterVerdict::FitsAsItIs,
        Fitting::If(_) => AdapterVerdict::FitsIf,
        Fitting::Undecided => AdapterVerdict::Undecided,
        Fitting::NeedsWiring => AdapterVerdict::NeedsWiring,
    }
}

fn conditions(fitting: &Fitting) -> Vec<ConditionView> {
    let Fitting::If(conditions) = fitting else {
        return Vec::new();
    };
    let view = |condition: &Condition| match *condition {
        Condition::Level {
            pin,
            chip_pin,
            level,
        } => ConditionView {
            socket_pin: pin,
            chip_pin,
            must: match level {
                Level::High => "high",
                Level::Low => "low",
                Level::Any => "steady",
            },
        },
        Condition::Unconnected { chip_pin, pin } => ConditionView {
            socket_pin: pin,
            chip_pin,
            must: "unconnected",
        },
    };
    conditions.iter().map(view).collect()
}

fn question(question: &Question) -> QuestionView {
    match *question {
        Question::OfChip(pin) => QuestionView { of: "chip", pin },
        Question::OfSocket(pin) => QuestionView { of: "socket", pin },
    }
}

/// What a pin gets, in a word.
pub(super) fn gets(plan: &Adapter, feed: Feed) -> String {
    match feed {
        Feed::Pin(hole) => plan
            .socket_pin(hole)
            .map_or_else(String::new, |function| function.to_string()),
        Feed::Switch(number) => format!("switch {}", number + 1),
        Feed::Open => "nothing".into(),
        Feed::Asked => "asked".into(),
    }
}

fn chip_pin(plan: &Adapter, pin: &AdapterPin) -> ChipPinView {
    ChipPinView {
        pin: pin.number,
        function: pin.function,
        gets: gets(plan, pin.feed),
        socket_pin: match pin.feed {
            Feed::Pin(hole) => Some(hole),
            _ => None,
        },
        under: pin.under,
        insulated: plan.insulated().any(|own| own.number == pin.number),
    }
}
