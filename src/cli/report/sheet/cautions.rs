//! What to be careful about at the bench: only what concerns the parts on the sheet.

use maud::{Markup, html};

use super::chip::SheetChip;
use super::notes::asks_for_voltage;
use super::words::unbroken;
use crate::parts::{Kind, Part};

/// The cautions for these chips.
pub(super) fn cautions(chips: &[SheetChip]) -> Markup {
    let parts = || chips.iter().filter_map(|chip| chip.part);
    let has = |kind: Kind| parts().any(|part| part.kind == kind);
    let has_uv = has(Kind::UvEprom);
    let has_voltage = parts().any(asks_for_voltage) || has(Kind::BipolarProm);
    let is_hurt_by_check =
        |part: &Part| matches!(part.kind, Kind::UvEprom | Kind::MaskRom | Kind::BipolarProm);
    let cautions = [
        (
            has_uv,
            "UV-C light",
            "harms eyes and skin within seconds. Erase only in a closed, shielded box whose interlock switches the lamp off; \
             never look into the light.",
        ),
        (
            has_voltage,
            "Programming voltages",
            "destroy a part that is not made for them. Read the type and its suffix on the chip, look up its voltage in that \
             maker’s data sheet, and set the programmer to it.",
        ),
        (
            parts().any(is_hurt_by_check),
            "Identification check",
            "A programmer that checks the identification puts about 12 V on A9. Turn that off for mask ROMs, bipolar PROMs \
             and old parts, for reading too.",
        ),
        (
            true,
            "Mains and picture-tube voltages",
            "inside old machines can kill, long after the plug is out. Unplug, wait, discharge; leave it to qualified people \
             where local rules say so.",
        ),
        (
            true,
            "Orientation and static",
            "Pin 1 to pin 1, notch to notch, power off when a chip goes in or out. Earth yourself and the bench first.",
        ),
    ];
    html! {
        section.cautions {
            h2 { "Before you begin" }
            ul {
                @for (_, what, why) in cautions.iter().filter(|(concerns, ..)| *concerns) {
                    li { b { (unbroken(what)) } " " (why) }
                }
            }
            p.small {
                "The maker’s data sheet, the programmer’s manual and the rules where you live come first. Read and copy only \
                 what you have the right to copy."
            }
        }
    }
}
