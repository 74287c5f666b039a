//! Where bytes occur.

use std::io::{self, Write};

use serde::{Serialize, Serializer};

use super::address::address_width;
use super::document::Report;
use super::style::Style;
use crate::prose::plural;

/// All places where some bytes occur.
#[derive(Serialize)]
pub struct FindReport<'f> {
    /// The bytes looked for.
    pub bytes: &'f [u8],
    /// How many places there are.
    pub count: u64,
    /// The places that are listed.
    pub places: FoundPlaces<'f>,
}

/// Looks for the places once more each time they are listed, so that no list of them is kept.
pub struct FoundPlaces<'f>(pub Box<dyn Fn() -> Box<dyn Iterator<Item = FoundAt> + 'f> + 'f>);

impl Serialize for FoundPlaces<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq((self.0)())
    }
}

/// One place.
#[derive(Clone, Serialize)]
pub struct FoundAt {
    /// The piece's name; several joined by + when it runs across lanes.
    pub piece: String,
    /// Address in the piece; `null` when it runs across lanes.
    pub address: Option<u64>,
    /// Address as the CPU sees it, for seated pieces.
    pub cpu: Option<u64>,
    /// Where the first byte came from.
    pub origin: Option<String>,
}

impl Report for FindReport<'_> {
    const STEP: &'static str = "find";

    fn text(&self, style: Style) -> String {
        let mut out = String::new();
        // Nothing can go wrong where a text grows.
        let _ = self.each_line(style, &mut |line| {
            out += line;
            Ok(())
        });
        out
    }

    fn write_text(&self, style: Style, out: &mut dyn Write) -> io::Result<()> {
        self.each_line(style, &mut |line| {
            out.write_all(style.fitted(line).as_bytes())
        })
    }
}

impl FindReport<'_> {
    /// Gives every line of the text, with its end.
    fn each_line(
        &self,
        style: Style,
        give: &mut dyn FnMut(&str) -> io::Result<()>,
    ) -> io::Result<()> {
        let first = self.bytes.iter().take(8).map(|b| format!("{b:02X}"));
        let first: Vec<String> = first.collect();
        let more = if self.bytes.len() > 8 { " ..." } else { "" };
        let bytes = format!("{}{more}", first.join(" "));
        if self.count == 0 {
            return give(&format!("{bytes} not found\n"));
        }
        give(&format!(
            "{bytes} found in {}\n",
            plural(self.count, "place")
        ))?;
        let places = || (self.places.0)();
        let addresses = places().flat_map(|p| [p.address, p.cpu]);
        let w = address_width(addresses.flatten().max().unwrap_or(0));
        let mut listed = 0;
        for place in places() {
            listed += 1;
            let mut line = format!("  {}", style.strong(&place.piece));
            if let Some(address) = place.address {
                line += &format!(" {address:0w$X}");
            }
            if let Some(cpu) = place.cpu {
                line += &format!(" = CPU {cpu:0w$X}");
            }
            if let Some(origin) = &place.origin {
                line += &style.faint(&format!("  {origin}"));
            }
            line.push('\n');
            give(&line)?;
        }
        match self.count.saturating_sub(listed) {
            0 => Ok(()),
            rest => give(&format!("  and {}\n", plural(rest, "more place"))),
        }
    }
}
