//! What to say where the pin tables don't say enough for an adapter.

use std::error::Error;

use crate::board::{Adapter, NoAdapter, Question};

/// What helps against this error, where it is one of adapters.
pub(super) fn of(error: &(dyn Error + 'static)) -> Option<String> {
    Some(match error.downcast_ref::<NoAdapter>()? {
        NoAdapter::NoPins { part } => {
            format!("describe {part} with its `pinout` in a file for --parts; see `romloom help parts` and docs/parts.md")
        }
        NoAdapter::NotASelect { .. } => {
            "--select is for pins of the socket, --chip-select for those of the chip".into()
        }
        NoAdapter::OtherLevel { .. } => "leave it out, or write `always` if the board holds it".into(),
        NoAdapter::Width { socket: 8, chip: 16 } => {
            "A 16-bit part with a BYTE pin has a second name for its byte mode, such as 27C160-x8".into()
        }
        NoAdapter::Width { .. } | NoAdapter::Supplies { .. } => return None,
        NoAdapter::NeedsGate { selects, .. } => {
            let pin = selects.last().map_or(20, |(pin, _)| *pin);
            format!(
                "If the board holds one of these pins all the time, so that it selects nothing (measure it), add \
                 --select {pin}=always"
            )
        }
        NoAdapter::NeedsInverter { .. } => {
            "Are these the levels? --select is the level at which the board selects, --chip-select the one that enables the chip"
                .into()
        }
        NoAdapter::Drives => {
            "If nothing else drives these lines while this chip answers, add --alone".into()
        }
    })
}

/// How a question about a plan is answered.
pub(in crate::cli) fn asked(plan: &Adapter, question: Question) -> String {
    match question {
        Question::OfSocket(pin) => format!(
            "Pin {pin} of the socket: measure with which level the board selects, or see the data sheet of the chip that was \
             made for it. Then add --select {pin}=low or --select {pin}=high, or {pin}=always if the board holds it all the time."
        ),
        Question::OfChip(pin) => format!(
            "Pin {pin} of the chip: see the data sheet of this {}, and add --chip-select {pin}=low or --chip-select {pin}=high.",
            plan.chip.name
        ),
    }
}
