//! What the part table knows of a chip's part. It never says a voltage to set: only which voltages parts of this number were
//! made for, and a line to write the one in the data sheet.

use maud::{Markup, html};

use super::words::{safe, unbroken};
use crate::cli::report::style::size_text;
use crate::parts::{Kind, Part};

/// The line for the voltage that the data sheet gives.
pub(super) const VOLTAGE_LINE: &str = "Voltage in its data sheet";

/// Its notes, as one paragraph.
pub(super) fn notes(part: &Part) -> Markup {
    let mut sentences: Vec<String> = Vec::new();
    sentences.extend(made_for(part));
    if !part.note.is_empty() {
        sentences.push(safe(&part.note));
    }
    if let Some(estimate) = part.estimate() {
        // The source of the figures is at the end, for all of them.
        let estimate = estimate.to_string();
        let figure = estimate.split(';').next().unwrap_or_default();
        sentences.push(format!("Programming takes {figure}."));
    }
    for (what, bytes) in [("Pages", part.page), ("Sectors", part.sector)] {
        if let Some(bytes) = bytes {
            sentences.push(format!("{what} of {} bytes.", size_text(bytes.into())));
        }
    }
    if let Some(sectors) = &part.sectors {
        sentences.push(format!("Sectors from address 0 up: {sectors} bytes."));
    }
    sentences.push(erased_how(part.kind).to_owned());
    html! {
        p.notes {
            b { (safe(&part.name)) ", " (part.organisation()) " " (made(part.kind)) ". " }
            @for sentence in &sentences { (unbroken(sentence)) " " }
            span.soft { "Figures: " (safe(&part.source)) "." }
        }
    }
}

/// The name of this kind of part.
pub(super) fn made(kind: Kind) -> &'static str {
    match kind {
        Kind::UvEprom => "EPROM",
        Kind::OneTimeEprom => "one-time EPROM",
        Kind::ElectricEprom => "electrically erased EPROM",
        Kind::Eeprom => "EEPROM",
        Kind::BulkFlash => "flash, erased whole",
        Kind::SectorFlash => "flash, erased by the sector",
        Kind::PageFlash => "flash, written by the page",
        Kind::MaskRom => "mask ROM",
        Kind::BipolarProm => "bipolar PROM",
    }
}

/// Whether the data sheet has a voltage that somebody must look up before burning.
pub(super) fn asks_for_voltage(part: &Part) -> bool {
    part.kind.takes_programming_voltage() || part.program_volts.is_some()
}

/// Which voltages parts of this number were made for, where that is not in the note.
fn made_for(part: &Part) -> Option<String> {
    match part.program_volts {
        Some(volts) => Some(format!("Parts of this number were made for {volts} V.")),
        None if part.note.contains(" V") => None,
        None if part.kind.takes_programming_voltage() => {
            Some("Its number does not say which programming voltage it was made for.".to_owned())
        }
        None if part.kind == Kind::BipolarProm => {
            Some("Each maker has a method of its own for blowing the fuses.".to_owned())
        }
        None => None,
    }
}

fn erased_how(kind: Kind) -> &'static str {
    match kind {
        Kind::UvEprom => {
            "Erased whole by UV-C light, through the window. Without a window it can't be erased."
        }
        other => other.erasing(),
    }
}
