//! What the bench has to be careful about.

use maud::{Markup, html};

use super::words::unbroken;

/// The cautions of every page.
pub(super) fn cautions() -> Markup {
    let cautions = [
        (
            "UV-C light",
            "harms eyes and skin within seconds. Erase only in a closed, shielded box whose interlock switches the lamp off; never look into the light.",
        ),
        (
            "Programming voltages",
            "destroy a part that is not made for them. Read the type and its suffix on the chip, and set the programmer to it.",
        ),
        (
            "Mains and picture-tube voltages",
            "inside old machines can kill, long after the plug is out. Unplug, wait, discharge; leave it to qualified people where local rules say so.",
        ),
        (
            "Orientation",
            "pin 1 to pin 1, notch to notch, power off when a chip goes in or out.",
        ),
        (
            "Static",
            "destroys chips unseen. Earth yourself and the bench first.",
        ),
        (
            "Rights",
            "read and copy only what you have the right to copy.",
        ),
    ];
    html! {
        section.cautions {
            h2 { "Before you burn" }
            ul { @for (what, why) in cautions { li { b { (unbroken(what)) } " " (why) } } }
            p.small { "The maker’s data sheet, the programmer’s manual and the rules where you live come first." }
        }
    }
}
