//! `new --board`: a board file with a comment on every line, to start from.

use anyhow::{Result, bail};

use crate::board::Board;
use crate::cli::report::size_text;
use crate::parts::{Catalogue, Part};
use crate::sums::Order;

/// A board that shows what there is: a socket, a slot with banks, and a chip on another bus.
const EXAMPLE: &str = "\
# A board: which chips are in which sockets, and how each bus sees them.
# Made by `romloom new --board`, and meant to be changed. `romloom board FILE`
# checks and describes it, and draws it with --picture.

title = \"Kingfisher with a slot\"

# One [[sockets]] for all chips that are wired alike.
[[sockets]]
# As on the board; with several lanes or rows one after another, - for an
# empty place.
names = [\"U3\"]
# `romloom parts` lists them; what is printed on a chip does as well.
part  = \"27C128\"
# The first address of the bus at which it answers.
at    = 0xC000
# Where something else answers: registers.
except = \"0xFF00-0xFFEF\"

[[sockets]]
names = [\"slot\"]
part  = \"27C010\"
# A window is a range of the bus that shows a part of the chip; a chip may
# have several.
window = [
  # Switched: 16 positions, each shows 8K. `by` is for people.
  { at = 0x8000, size = \"8K\", banks = 16, by = \"register 0xFF00\" },
  # Fixed: always the last 8K of the chip, so from is 128K - 8K.
  { at = 0xA000, size = \"8K\", from = \"120K\" },
]

# Another bus, with addresses of its own: here the pictures of the screen's
# characters.
[[sockets]]
names = [\"U11\"]
part  = \"27C64\"
space = \"video\"
at    = 0x0000
# The screen counts through 2K only,
size  = \"2K\"
# and these pins are held: 0, 1, or \"any\" where a pin is open.
tied  = { A11 = 0, A12 = 0 }
# Onto pin A0 goes the line that belongs on A1: only what is crossed.
#wires = { A0 = \"A1\", A1 = \"A0\" }
";

/// What is known of the board to be described.
pub struct BoardAsked<'a> {
    /// The part in each socket; `None` prints an example.
    pub part: Option<&'a Part>,
    /// Its first bus address.
    pub at: Option<u64>,
    /// Chips side by side.
    pub lanes: u32,
    /// Groups of lanes one after another.
    pub rows: u32,
    /// Byte order of the CPU, where it was said.
    pub order: Option<Order>,
    /// What it is called.
    pub title: Option<&'a str>,
}

/// The text of a board file that is sound.
///
/// # Errors
/// A place that does not fit the part, and counts that no board has.
pub fn board_file(asked: &BoardAsked, parts: &Catalogue) -> Result<String> {
    let text = match asked.part {
        None => EXAMPLE.to_owned(),
        Some(part) => one_kind(asked, part)?,
    };
    // What is printed must be sound, whatever the words are.
    let checked = Board::from_toml("the board", &text, &mut parts.clone());
    if let Err(error) = checked {
        return Err(super::board::refused(&error, &text));
    }
    Ok(text)
}

fn one_kind(asked: &BoardAsked, part: &Part) -> Result<String> {
    let Some(at) = asked.at else {
        bail!(
            "`new --board` needs to know at which address the bus sees the chips: add --at 0x8000, for instance"
        );
    };
    if part.width == 16 && asked.order.is_none() {
        bail!(
            "a {} is 16 bits wide: say with --order big or little which of its bytes has the lower address",
            part.name
        );
    }
    let chips = u64::from(asked.lanes) * u64::from(asked.rows);
    if !(1..=4096).contains(&chips) {
        bail!("a board has 1 to 4,096 sockets, not {chips}");
    }
    let names: Vec<String> = (1..=chips).map(|n| format!("\"U{n}\"")).collect();
    let title = asked.title.unwrap_or("A new board");
    let title = quoted(title);
    let mut out = format!(
        "# A board, made by `romloom new --board`, and meant to be changed: names, title,\n\
         # what is crossed or switched. `romloom board FILE` checks and describes it;\n\
         # `romloom new --board` alone prints more that can be said.\n\n\
         title = {title}\n\n\
         [[sockets]]\n"
    );
    out += &match (asked.lanes, asked.rows) {
        (1, 1) => "# As on the board.\n".to_owned(),
        (1, _) => "# As on the board, from the lowest address up.\n".to_owned(),
        _ => "# As on the board: lane 0, which has the first byte of each bus word, then the\n# next lane; row after row.\n"
            .to_owned(),
    };
    out += &format!("names = [{}]\n", names.join(", "));
    out += &format!(
        "# {} of {}, {} in each.\npart  = {}\n",
        crate::cli::report::plural(chips, "socket"),
        part.organisation(),
        size_text(part.bytes()),
        quoted(&part.name)
    );
    if asked.lanes > 1 {
        out += &format!("lanes = {}\n", asked.lanes);
    }
    if asked.lanes > 1 || part.width == 16 || asked.order.is_some() {
        let order = asked.order.unwrap_or(Order::Little);
        out += &format!(
            "# Which data lines have the byte at the lower address: \"little\" D0-D7, \"big\"\n\
             # the highest ones.\n\
             order = \"{order}\"\n"
        );
    }
    if part.erased.is_none() {
        out += "# What unused cells are, for this part has no erased value of its own.\n\
                with  = 0xFF\n";
    }
    let digits = if at > 0xFFFF { 6 } else { 4 };
    out += &format!(
        "# The first address of the bus at which they answer.\nat    = 0x{at:0digits$X}\n"
    );
    Ok(out)
}

/// A text in quotes; what JSON escapes is escaped so in TOML too.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}
