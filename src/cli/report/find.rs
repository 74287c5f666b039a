//! Where bytes occur.

use serde::Serialize;

use super::address::address_width;
use super::document::Report;
use super::style::Style;
use crate::prose::plural;

/// All places where some bytes occur.
#[derive(Serialize)]
pub struct FindReport {
    /// The bytes looked for.
    pub bytes: Vec<u8>,
    /// How many places there are.
    pub count: usize,
    /// The places, up to a limit.
    pub places: Vec<FoundAt>,
}

/// One place.
#[derive(Serialize)]
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

impl Report for FindReport {
    const STEP: &'static str = "find";

    fn text(&self, style: Style) -> String {
        let bytes: Vec<String> = self
            .bytes
            .iter()
            .take(8)
            .map(|b| format!("{b:02X}"))
            .collect();
        let more = if self.bytes.len() > 8 { " ..." } else { "" };
        let bytes = format!("{}{more}", bytes.join(" "));
        if self.count == 0 {
            return format!("{bytes} not found\n");
        }
        let mut out = format!("{bytes} found in {}\n", plural(self.count as u64, "place"));
        let last = self
            .places
            .iter()
            .flat_map(|p| [p.address, p.cpu])
            .flatten()
            .max();
        let w = address_width(last.unwrap_or(0));
        for place in &self.places {
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
            out += &line;
            out.push('\n');
        }
        if self.count > self.places.len() {
            let rest = (self.count - self.places.len()) as u64;
            out += &format!("  and {}\n", plural(rest, "more place"));
        }
        out
    }
}
