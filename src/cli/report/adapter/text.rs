//! The report as people read it: the verdict first, then what to wire, then what decides.

use super::view::{AdapterOutcome, AdapterReport, gets};
use super::words::{conditions, joined_by_and, numbers, pins};
use crate::board::{Adapter, AdapterPin, Condition, Feed, Fitting, Question};
use crate::cli::report::Report;
use crate::cli::report::advice;
use crate::cli::report::style::Style;
use crate::parts::{Kind, Pin};

/// The head of the table of wires.
const COLUMNS: &str = "chip pin     gets";

impl Report for AdapterReport {
    const STEP: &'static str = "adapter";

    fn text(&self, style: Style) -> String {
        let mut out = String::new();
        let strong =
            |text: &str| format!("{}\n", style.strong(paragraph(style, "", text).trim_end()));
        let packages = format!(
            "{} ({} pins, {}) in a socket wired for a {} ({} pins, {})",
            self.chip.part,
            self.chip.pins,
            self.chip.organisation,
            self.socket.part,
            self.socket.pins,
            self.socket.organisation,
        );
        let plan = match &self.planned {
            AdapterOutcome::Plan(plan) => plan,
            AdapterOutcome::Refused(why) => {
                out += &strong(&format!("refused: {why}"));
                out += &paragraph(style, "", &packages);
                if let Some(advice) = advice::of(why) {
                    out += &paragraph(style, "", &advice);
                }
                return out;
            }
        };
        out += &strong(&headline(plan));
        out += &paragraph(style, "", &packages);
        for question in &plan.questions {
            out += &paragraph(style, "", &advice::asked(plan, *question));
        }
        out += &wires(plan, style);
        out += &content(self, style);
        out += &format!("\n{}\n", style.strong("What decides"));
        for sentence in &self.decides {
            out += &paragraph(style, "- ", sentence);
        }
        out += &format!("\n{}\n", style.strong("Careful"));
        for caution in &self.cautions {
            out += &paragraph(style, "- ", caution);
        }
        out
    }
}

fn headline(plan: &Adapter) -> String {
    match &plan.fitting {
        Fitting::AsItIs => "fits as it is".into(),
        Fitting::If(all) => format!("fits if {}", conditions(plan, all)),
        Fitting::Undecided => {
            let asked: Vec<String> = (plan.questions.iter())
                .map(|question| match question {
                    Question::OfSocket(pin) => format!("pin {pin} of the socket"),
                    Question::OfChip(pin) => format!("pin {pin} of the chip"),
                })
                .collect();
            format!(
                "undecided: which level selects at {}?",
                joined_by_and(&asked)
            )
        }
        Fitting::NeedsWiring => "needs wiring".into(),
    }
}

/// The wires, or where the chip fits under conditions, what to do where one of them is not so.
fn wires(plan: &Adapter, style: Style) -> String {
    let mut out = String::from("\n");
    let wired: Vec<&AdapterPin> = match &plan.fitting {
        Fitting::AsItIs => return String::new(),
        Fitting::If(conditions) => {
            out += &paragraph(
                style,
                "",
                match conditions.len() {
                    1 => "If this is not true, keep that pin out of the socket, and wire it:",
                    _ => {
                        "If one of these is not true, keep that pin out of the socket, and wire it:"
                    }
                },
            );
            let concerned = |pin: &&AdapterPin| {
                conditions.iter().any(|condition| match condition {
                    Condition::Level { chip_pin, .. } | Condition::Unconnected { chip_pin, .. } => {
                        *chip_pin == pin.number
                    }
                })
            };
            plan.pins.iter().filter(concerned).collect()
        }
        Fitting::NeedsWiring | Fitting::Undecided => {
            let is_wired = |pin: &&AdapterPin| !pin.is_straight() && pin.feed != Feed::Open;
            plan.pins.iter().filter(is_wired).collect()
        }
    };
    if !wired.is_empty() {
        out += &format!("{}\n", style.strong(COLUMNS));
    }
    for pin in wired {
        out += &row(plan, pin);
    }
    if !matches!(plan.fitting, Fitting::If(_)) {
        for sentence in other_pins(plan) {
            out += &paragraph(style, "", &sentence);
        }
    }
    out
}

/// The pins that have no wire: those that sit right, and those that are kept away from something.
fn other_pins(plan: &Adapter) -> Vec<String> {
    let mut out = Vec::new();
    if plan.pull_ups {
        out.push("A resistor from each data line to VCC.".to_owned());
    }
    let numbers = |of: &dyn Fn(&AdapterPin) -> bool| -> Vec<u8> {
        let pins = plan.pins.iter().filter(|pin| of(pin));
        pins.map(|pin| pin.number).collect()
    };
    if let Some(first) = plan.pins.iter().find(|pin| pin.is_straight()) {
        let shift = match first.under {
            Some(under) if under != first.number => {
                let own = first.number;
                format!(" (pin {own} of the chip is in pin {under} of the socket)")
            }
            _ => String::new(),
        };
        let straight = runs(&numbers(&AdapterPin::is_straight));
        out.push(format!("Straight into the socket{shift}: {straight}."));
    }
    let insulated: Vec<u8> = plan.insulated().map(|pin| pin.number).collect();
    if !insulated.is_empty() {
        let insulated = pins(&insulated);
        out.push(format!(
            "Keep out of the socket, or insulate: {insulated} of the chip."
        ));
    }
    let open = numbers(&|pin| pin.feed == Feed::Open);
    if !open.is_empty() {
        out.push(format!("Left open: {} of the chip.", pins(&open)));
    }
    let unused = plan.unused();
    if !unused.is_empty() {
        let unused: Vec<String> = (unused.iter())
            .map(|(pin, function)| format!("{pin} ({function})"))
            .collect();
        out.push(format!(
            "Not connected, pins of the socket: {}.",
            joined_by_and(&unused)
        ));
    }
    out
}

/// ` 1  VPP      VCC   pin 28 of the socket`.
fn row(plan: &Adapter, pin: &AdapterPin) -> String {
    let gets = gets(plan, pin.feed);
    let from = match pin.feed {
        Feed::Pin(hole) => format!("pin {hole} of the socket"),
        Feed::Switch(_) => "to VCC or GND of the socket".into(),
        Feed::Open => "left open".into(),
        Feed::Asked => "no wire yet".into(),
    };
    let gets = match pin.feed {
        Feed::Open => "-".into(),
        Feed::Asked => "?".into(),
        _ => gets,
    };
    let function = pin.function.to_string();
    format!("{:>2}  {function:8} {gets:8} {from}\n", pin.number)
}

fn content(report: &AdapterReport, style: Style) -> String {
    let mut out = String::new();
    let (Some(content), AdapterOutcome::Plan(plan)) = (&report.content, &report.planned) else {
        return out;
    };
    out += &format!("\n{}\n", style.strong("Content"));
    let mut upper: Vec<u8> = (plan.pins.iter())
        .filter_map(|pin| match pin.function {
            Pin::Address(line) if line >= plan.socket.address_lines() => Some(line),
            _ => None,
        })
        .collect();
    upper.sort_unstable();
    let is_made_so = plan.chip.kind == Kind::MaskRom;
    let text = match &content.seat {
        _ if is_made_so => {
            "A mask ROM is made with its content. A board with this entry says how the bus sees it:"
                .into()
        }
        Some(seat) => format!("The chip takes what `{seat}` makes, or a board with this entry:"),
        None => "The chip takes what a board with this entry makes:".into(),
    };
    out += &paragraph(style, "", &text);
    out += &content.board;
    if !upper.is_empty() {
        let lines: Vec<String> = upper.iter().map(|line| format!("A{line}")).collect();
        let text = format!(
            "The socket does not have {} for the chip; `tied` or `banks` says which part of the chip the bus sees.",
            joined_by_and(&lines)
        );
        out += &paragraph(style, "", &text);
    }
    out
}

/// `3-19, 21, 22`.
fn runs(pins: &[u8]) -> String {
    let runs = pins.chunk_by(|one, next| one + 1 == *next);
    let runs: Vec<String> = runs
        .map(|run| match run {
            [first, _, .., last] => format!("{first}-{last}"),
            run => numbers(run).replace(" and ", ", "),
        })
        .collect();
    runs.join(", ")
}

/// Lines broken between words; those after the first are set in as far as the margin is wide.
fn paragraph(style: Style, margin: &str, text: &str) -> String {
    let indent = margin.len();
    format!("{margin}{}\n", style.fill(indent, indent, text))
}
