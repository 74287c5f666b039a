//! The burn sheet: one page that says which file goes into which chip, and which sum the programmer must show.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::address::address_width;
use super::digest::NamedSum;
use super::style::{plural, size};
use super::svg::{self, COLOURS, RULES, safe, said, short};
use crate::image::{AddressRange, Image};
use crate::ops::{Board, PlacingInChip, Seat, Socket};
use crate::parts::{Kind, Part};
use crate::sums::Algo;

/// Bytes shown of a chip's beginning and of its end.
const ENDS: u64 = 16;

/// A heading of more bytes is set smaller.
const LONG: usize = 32;

/// What the page is about.
pub struct BurnSheet<'a> {
    /// Its heading.
    pub title: String,
    /// The date, as given; a sheet without one has none.
    pub date: Option<String>,
    /// The chips, in order.
    pub chips: Vec<SheetChip<'a>>,
}

/// One chip, or an image that no socket is known for.
pub struct SheetChip<'a> {
    /// Its name.
    pub label: &'a str,
    /// Its bytes, at the chip's addresses.
    pub image: &'a Image,
    /// Its part and place.
    pub seat: Option<&'a Seat>,
    /// Files that hold it, each with its format.
    pub files: Vec<(String, String)>,
    /// Its sums, the first as most programmers show it.
    pub sums: Vec<NamedSum>,
}

impl SheetChip<'_> {
    /// The whole chip; of an unseated image, from its first byte to its last.
    pub(super) fn range(&self) -> Option<AddressRange> {
        let whole = self
            .seat
            .and_then(|s| AddressRange::from_len(0, s.part.bytes()));
        match (whole, self.image.extent()) {
            (Some(whole), Some(extent)) => Some(whole.hull(extent)),
            (whole, extent) => whole.or(extent),
        }
    }

    fn holes(&self) -> u64 {
        self.range()
            .map_or(0, |range| range.len() - self.image.len())
    }
}

/// A page to print with the verdict on a chip and the drawing of its differences, which is an SVG document of ours.
pub fn diagnosis_sheet(title: &str, verdict: &str, drawing: &str) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                title { (safe(title)) }
                style { (PreEscaped(COLOURS)) (PreEscaped(RULES)) (PreEscaped(PAGE)) }
                style { (PreEscaped("pre{white-space:pre-wrap;font-size:.95rem;line-height:1.5}figure{background:#fff;padding:1rem}figure svg{max-width:100%;height:auto}")) }
            }
            body {
                header.head { h1 { (safe(title)) } }
                pre { @for line in verdict.lines() { (safe(line)) "\n" } }
                figure { (PreEscaped(drawing)) }
                (cautions())
            }
        }
        "\n"
    };
    page.into_string()
}

impl BurnSheet<'_> {
    /// The memory map alone, as an SVG file.
    pub fn svg(&self) -> String {
        svg::alone(&self.title, &self.chips).into_string()
    }

    /// The page: one file with nothing outside it, for a screen and for A4 and Letter paper.
    pub fn html(&self) -> String {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    // The browser itself makes sure that nothing is fetched and nothing runs.
                    meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                    title { (safe(&self.title)) }
                    style { (PreEscaped(COLOURS)) (PreEscaped(RULES)) (PreEscaped(PAGE)) }
                }
                body {
                    (self.head())
                    figure.picture { (svg::inline(&self.chips)) }
                    (cautions())
                    @for chip in &self.chips { (card(chip)) }
                    (self.labels())
                }
            }
            "\n"
        };
        page.into_string()
    }

    fn head(&self) -> Markup {
        let bytes: u64 = self.chips.iter().map(|c| c.image.len()).sum();
        let amount = match bytes % 1024 {
            0 => size(bytes),
            _ => plural(bytes, "byte"),
        };
        html! {
            header.head {
                h1 class=[long(&self.title)] { (safe(&self.title)) }
                p.under {
                    span { "Burn sheet" }
                    span { (plural(self.chips.len() as u64, "chip")) ", " (amount) }
                    @if let Some(date) = &self.date { span { (safe(date)) } }
                }
                p.lead {
                    "Load the file, choose the part, and compare the sum that the programmer shows with the one below. "
                    "If they differ, don’t burn. Verify after burning, then put the label on."
                }
            }
        }
    }

    /// What goes on the chips.
    fn labels(&self) -> Markup {
        html! {
            section.strip {
                h2 { "Labels" }
                p.small {
                    "38 x 14 mm; cut along the dashed lines. On a part with a window an opaque label keeps daylight out."
                }
                div.cut {
                    @for chip in &self.chips {
                        div.label {
                            b { (short(chip.label, 15)) }
                            code { @if let Some(sum) = chip.sums.first() { (sum.value) } }
                            i { (short(&small_print(chip, self.date.as_deref()), 18)) }
                            span { (short(&self.title, 24)) }
                        }
                    }
                }
            }
        }
    }
}

/// The class of a long heading.
fn long(heading: &str) -> Option<&'static str> {
    (heading.len() > LONG).then_some("long")
}

/// Part and date, for a label.
fn small_print(chip: &SheetChip, date: Option<&str>) -> String {
    let part = chip.seat.map(|s| s.part.name.as_str());
    let words: Vec<&str> = part.into_iter().chain(date).collect();
    words.join(" ")
}

fn card(chip: &SheetChip) -> Markup {
    let part = chip.seat.map(|s| &s.part);
    html! {
        article.chip {
            header.who {
                h2 class=[long(chip.label)] { (safe(chip.label)) }
                @match part {
                    Some(part) => p.part { (safe(&part.name)) }
                    None => p.part.none { "no part chosen" }
                }
                @if let Some(part) = part { (package(part)) }
            }
            div.sums {
                @for sum in &chip.sums {
                    @if sum.algo != Algo::SHA256 {
                        div { p { (sum_name(sum.algo)) } code data-sum=(sum.algo.name()) { (sum.value) } }
                    }
                }
            }
            (remarks(chip))
            div.pair {
                dl {
                    (facts(chip))
                }
                @if let Some(part) = part { (notes(part)) }
            }
            @if let Some(seat) = chip.seat {
                @if seat.boards.len() > 1 && seat.rearranged_by.is_none() { (switch_table(chip, seat)) }
            }
            ul.done {
                @for word in ["blank", "sum compared", "burnt", "verified", "labelled"] { li { (word) } }
            }
        }
    }
}

/// What a sum is, in the words of a programmer's display.
fn sum_name(algo: Algo) -> String {
    match algo {
        Algo::SUM16 => "sum of bytes, 16 bits".into(),
        Algo::SUM32 => "sum of bytes, 32 bits".into(),
        Algo::SUM16LE => "sum of words, 16 bits".into(),
        Algo::CRC32 => "CRC-32".into(),
        other => other.to_string(),
    }
}

/// Why the programmer may show another sum.
fn remarks(chip: &SheetChip) -> Markup {
    let beyond = chip.seat.is_some_and(|s| {
        chip.image
            .extent()
            .is_some_and(|e| e.last() >= s.part.bytes())
    });
    html! {
        @if chip.image.is_empty() {
            p.warn { "This piece holds no byte." }
        } @else if chip.holes() > 0 {
            p.warn {
                "Not full: " (plural(chip.holes(), "byte")) " hollow and in none of the sums, so the programmer will show "
                "another one. Fill and pad it to the part before you burn."
            }
        }
        @if beyond { p.warn { "Bytes lie beyond the end of this part: it does not fit." } }
    }
}

fn facts(chip: &SheetChip) -> Markup {
    let image = chip.image;
    let w = address_width(chip.range().map_or(0, |r| r.last()));
    html! {
        dt { "File" }
        @if chip.files.is_empty() { dd { "not written before this sheet" } }
        @for (name, format) in &chip.files { dd { code.name { (safe(name)) } " " span.soft { (format) } } }
        dt { "Size" }
        dd { (plural(image.len(), "byte")) @if image.len() >= 1024 && image.len().is_multiple_of(1024) { " (" (size(image.len())) ")" } }
        @if let Some(seat) = chip.seat {
            @if let [board] = &seat.boards[..] { (socket(board, seat.socket)) }
            @match (seat.rearranged_by, seat.board()) {
                (Some(step), _) => {
                    dt { "Order" } dd { "as " code { (step) } " left it: chip addresses don't follow the CPU's" }
                }
                (None, Some(board)) => (placing(board)),
                (None, None) => {}
            }
        }
        @if let Some(extent) = image.extent() {
            @let first = AddressRange::new(extent.first(), extent.last().min(extent.first().saturating_add(ENDS - 1)));
            @let last = AddressRange::new(extent.first().max(extent.last().saturating_sub(ENDS - 1)), extent.last());
            @if let Some(first) = first { dt { "First bytes" } dd { (bytes(image, first, w)) } }
            @if let Some(last) = last { dt { "Last bytes" } dd { (bytes(image, last, w)) } }
        }
        @if let Some(sum) = chip.sums.iter().find(|s| s.algo == Algo::SHA256) {
            dt { "SHA-256" }
            dd { code.hash data-sum="sha256" {
                @for i in (0..sum.value.len()).step_by(16) { span { (sum.value.get(i..i + 16).unwrap_or_default()) } }
            } }
        }
    }
}

/// Which data lines and which CPU addresses a socket has.
fn socket(board: &Board, socket: Socket) -> Markup {
    let window = board.window().ok();
    let w = address_width(window.map_or(0, |r| r.last()));
    let bus = board.unit * u64::from(board.lanes) * 8;
    html! {
        @if bus > 8 { dt { "Data lines" } dd { (lines(board, socket)) } }
        @if let Some(window) = window {
            @let row = window.len() / u64::from(board.rows);
            @let first = window.first() + row * u64::from(socket.row);
            @if let Some(range) = AddressRange::from_len(first, row) {
                dt { "CPU" }
                dd {
                    code { (said(range, w)) }
                    @if board.lanes > 1 { ", lane " (socket.lane) " of " (board.lanes) }
                    @if board.rows > 1 { ", row " (socket.row) " of " (board.rows) }
                }
            }
            @for range in &board.also { dt { "Also at" } dd { code { (said(*range, w)) } } }
            @for range in &board.except { dt { "Except" } dd { code { (said(*range, w)) } } }
        }
    }
}

/// Where in the chip that is what the CPU sees.
fn placing(board: &Board) -> Markup {
    html! {
        @match &board.placing {
            PlacingInChip::Whole => {}
            PlacingInChip::Repeated => { dt { "In the chip" } dd { "the same bytes everywhere: the upper address lines make no difference" } }
            PlacingInChip::Lines(held) => {
                dt { "In the chip" }
                dd {
                    @for range in board.seen_in_chip().iter().take(4) { code { (said(*range, address_width(board.chip - 1))) } " " }
                    "with " @for (line, level) in held { "A" (line) "=" (u8::from(*level)) " " }
                }
            }
        }
    }
}

/// The data lines of a socket: little- and big-endian buses number the lanes from opposite ends.
fn lines(board: &Board, socket: Socket) -> Markup {
    let width = board.unit * 8;
    let lanes = u64::from(board.lanes);
    let lane = u64::from(socket.lane);
    let named = |lane: u64| format!("D{}-D{}", lane * width, lane * width + width - 1);
    let (little, big) = (named(lane), named(lanes - 1 - lane));
    // Which processor people know for a bus of this width.
    let (big_cpu, little_cpu) = match (board.unit, lanes * width) {
        (_, 16) => ("on a 68000", "on an 8086"),
        (_, 32) => ("on a 68020", "on an 80386"),
        _ => ("on a big-endian bus", "on a little-endian bus"),
    };
    html! {
        @if lanes == 1 {
            (little)
        } @else {
            b { (big) } " " (big_cpu) ", " b { (little) } " " (little_cpu)
        }
    }
}

/// `0000 > 00 11 00 00 . 00 00 04 00 < 0007`, in halves that may stand below one another.
fn bytes(image: &Image, range: AddressRange, w: usize) -> Markup {
    let all: Vec<String> = (range.first()..=range.last())
        .map(|a| image.byte(a).map_or("__".into(), |b| format!("{b:02X}")))
        .collect();
    let quads: Vec<String> = all.chunks(4).map(|quad| quad.join(" ")).collect();
    let halves: Vec<String> = quads.chunks(2).map(|half| half.join(" . ")).collect();
    html! {
        code.bytes {
            @for (i, half) in halves.iter().enumerate() {
                span {
                    @if i == 0 { (format!("{:0w$X} > ", range.first())) } @else { ". " }
                    (half)
                    @if i + 1 == halves.len() { (format!(" < {:0w$X}", range.last())) } @else { " " }
                }
            }
        }
    }
}

/// What the part table knows.
fn notes(part: &Part) -> Markup {
    let made = match part.kind {
        Kind::UvEprom => "EPROM",
        Kind::OneTimeEprom => "one-time EPROM",
        Kind::ElectricEprom => "electrically erased EPROM",
        Kind::Eeprom => "EEPROM",
        Kind::BulkFlash => "flash, erased whole",
        Kind::SectorFlash => "flash, erased by the sector",
        Kind::PageFlash => "flash, written by the page",
        Kind::MaskRom => "mask ROM",
        Kind::BipolarProm => "bipolar PROM",
    };
    let blocks = [("Page", part.page), ("Sector", part.sector)];
    html! {
        div.notes {
            h3 { (safe(&part.name)) ", " (part.organisation()) " " (made) }
            ul {
                @if let Some(voltage) = part.voltage() { li { (voltage) } }
                @if !part.note.is_empty() { li { (safe(&part.note)) } }
                @if let Some(estimate) = part.estimate() { li { "Programming takes " (estimate) "." } }
                @for (name, bytes) in blocks {
                    @if let Some(bytes) = bytes { li { (name) "s of " (size(bytes.into())) " bytes." } }
                }
                li { (unbroken(part.kind.erasing())) }
            }
            p.small { "Typical values, " (safe(&part.source)) "." }
        }
    }
}

/// Text whose lines don't break inside UV-C.
fn unbroken(text: &str) -> String {
    text.replace("UV-C", "UV\u{2011}C")
}

/// Which program the switch selects at which position.
fn switch_table(chip: &SheetChip, seat: &Seat) -> Markup {
    let held = |board: &Board| match &board.placing {
        PlacingInChip::Lines(lines) => lines.clone(),
        _ => Vec::new(),
    };
    let mut lines: Vec<u8> = seat
        .boards
        .iter()
        .flat_map(|b| held(b))
        .map(|(l, _)| l)
        .collect();
    lines.sort_unstable();
    lines.dedup();
    let level = |board: &Board, line: u8| {
        let held = held(board);
        held.iter()
            .find(|(l, _)| *l == line)
            .map(|(_, level)| *level)
    };
    let position = |board: &Board| {
        let bits = lines.iter().enumerate();
        bits.filter(|(_, l)| level(board, **l) == Some(true))
            .map(|(i, _)| 1u64 << i.min(63))
            .sum::<u64>()
    };
    let mut boards: Vec<&Board> = seat.boards.iter().map(|b| &**b).collect();
    boards.sort_by_key(|b| position(b));
    let windows: Vec<AddressRange> = boards.iter().filter_map(|b| b.window().ok()).collect();
    let one_window = windows.windows(2).all(|w| w[0] == w[1]);
    let highest = windows.iter().map(|r| r.last()).max();
    let (w, c) = (
        address_width(highest.unwrap_or(0)),
        address_width(seat.part.bytes() - 1),
    );
    html! {
        h3 { "Switch" }
        table {
            thead {
                tr {
                    th { "Position" }
                    @for line in lines.iter().rev() { th { "A" (line) } }
                    th { "SheetChip" } @if !one_window { th { "CPU" } } th { "Holds" }
                }
            }
            tbody {
                @for board in boards {
                    tr {
                        td { (position(board)) }
                        @for line in lines.iter().rev() {
                            td { (level(board, *line).map_or("-", |high| if high { "1" } else { "0" })) }
                        }
                        td { @for range in board.seen_in_chip().iter().take(4) { code { (said(*range, c)) } " " } }
                        @if !one_window { td { @if let Ok(window) = board.window() { code { (said(window, w)) } } } }
                        td { (safe(&holds(chip.image, &board.seen_in_chip()))) }
                    }
                }
            }
        }
        @if let Some(window) = windows.first().filter(|_| one_window) {
            p.small { "The CPU sees each at " code { (said(*window, w)) } "." }
        }
    }
}

/// What stands in a part of the chip: its origins, filler left out.
fn holds(image: &Image, ranges: &[AddressRange]) -> String {
    const MOST: usize = 6;
    let mut names: Vec<String> = Vec::new();
    for run in ranges.iter().flat_map(|r| image.origins().within(*r)) {
        let name = run.source.to_string();
        if !run.source.is_filler() && !names.contains(&name) {
            names.push(name);
        }
        if names.len() > MOST {
            names[MOST] = "more".into();
            break;
        }
    }
    match names.is_empty() {
        true => "nothing".into(),
        false => names.join(", "),
    }
}

/// The package from above, with its notch and pin 1.
fn package(part: &Part) -> Markup {
    const PITCH: u32 = 6;
    let side = u32::from(part.pins) / 2;
    let length = side * PITCH + 6;
    html! {
        svg.dip width=(length + 2) height="54" viewBox=(format!("0 0 {} 54", length + 2)) role="img" aria-label=(format!("{} pins; pin 1 is the lower left one with the notch on the left", part.pins)) {
            @for n in 0..side {
                rect.leg x=(n * PITCH + 6) y="2" width="3" height="6" {}
                rect.leg x=(n * PITCH + 6) y="32" width="3" height="6" {}
            }
            rect.body x="1" y="8" width=(length) height="24" rx="1" {}
            path.notch d="M1 15a5 5 0 0 1 0 10z" {}
            @if part.kind == Kind::UvEprom { circle.window cx=(length / 2 + 1) cy="20" r="8" {} }
            circle.first cx="7.5" cy="46" r="2.5" {}
            text x="14" y="50" { "pin 1 of " (part.pins) }
        }
    }
}

fn cautions() -> Markup {
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

/// The page's rules. Sizes that must fit paper are in millimetres.
const PAGE: &str = "\
@page{margin:14mm}\
*{box-sizing:border-box}\
html{background:var(--paper);color:var(--ink);-webkit-text-size-adjust:100%}\
body{max-width:60rem;margin:0 auto;padding:2.5rem 1.25rem 3rem;\
font:400 1rem/1.5 system-ui,\"Segoe UI\",\"Helvetica Neue\",Arial,sans-serif;overflow-wrap:anywhere}\
code{font-family:ui-monospace,\"SF Mono\",Menlo,Consolas,\"DejaVu Sans Mono\",monospace;font-size:.92em}\
h1,h2,h3,p,ul,dl,dd,figure{margin:0;padding:0}\
h1{font-size:clamp(1.8rem,7vw,2.4rem);line-height:1.15;font-weight:650;letter-spacing:-.015em}\
.under{display:flex;flex-wrap:wrap;gap:0 1.5rem;margin-top:.35rem;color:var(--soft)}\
.lead{max-width:44rem;margin-top:1.25rem}\
.small{font-size:.85rem;color:var(--soft)}\
.soft{color:var(--soft)}\
.picture{margin:2.5rem 0 3rem}\
.chip{border-top:3px solid var(--ink);padding:1.25rem 0 2.75rem}\
.who{display:flex;flex-wrap:wrap;align-items:flex-start;gap:.25rem 2rem}\
.who h2{font-size:2.2rem;line-height:1.2;font-weight:700}\
.who .part{font-size:2.2rem;line-height:1.2;font-weight:300}\
.who h2.long,h1.long{font-size:1.3rem}\
.who .none{color:var(--soft)}\
.dip{margin-left:auto;flex:none}\
.dip .leg{fill:var(--soft)}.dip .body{fill:var(--wash);stroke:var(--ink)}.dip .notch{fill:var(--paper);stroke:var(--ink)}\
.dip .window{fill:var(--filler);stroke:var(--soft)}.dip .first{fill:var(--ink)}\
.dip text{font-size:12px;fill:var(--ink)}\
.sums{display:flex;flex-wrap:wrap;align-items:flex-end;gap:.75rem 2.5rem;margin:1rem 0 1.5rem}\
.sums p{font-size:.85rem;color:var(--soft)}\
.sums code{display:block;font-size:1.6rem;line-height:1.2;font-weight:600}\
.sums div:first-child code{font-size:3.2rem;line-height:1.05;font-weight:700}\
.warn{border-left:4px solid var(--c4);padding:.35rem 0 .35rem .9rem;margin:0 0 1.25rem;max-width:44rem}\
.pair{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,24rem),1fr));gap:1.5rem 2.5rem}\
dl{display:grid;grid-template-columns:6.2rem minmax(0,1fr);gap:.35rem .75rem;align-content:start}\
dt{color:var(--soft);grid-column:1}dd{grid-column:2}\
.name{font-weight:600}\
.bytes span,.hash span{display:inline-block;white-space:break-spaces}\
.hash span{margin-right:.5ch}\
h3{font-size:1rem;font-weight:650;margin-bottom:.4rem}\
.notes ul{list-style:none;font-size:.92rem;margin-bottom:.5rem}\
.notes li{margin-bottom:.3rem}\
table{border-collapse:collapse;font-variant-numeric:tabular-nums}\
.chip>h3{margin-top:1.5rem}\
th,td{text-align:left;vertical-align:top;padding:.25rem 1.1rem .25rem 0;border-bottom:1px solid var(--line)}\
th{font-weight:400;color:var(--soft);overflow-wrap:normal}td code{white-space:nowrap}td:last-child{min-width:6.5rem}\
table+p{margin-top:.5rem}\
@media (max-width:32rem){dl{display:block}dd{margin:0 0 .5rem}.bytes{font-size:.82em}th,td{padding-right:.7rem;font-size:.88rem}}\
.done{list-style:none;display:flex;flex-wrap:wrap;gap:.4rem 1.75rem;margin-top:1.5rem}\
.done li::before{content:\"\";display:inline-block;width:1rem;height:1rem;margin-right:.5rem;\
border:1.5px solid var(--ink);border-radius:2px;vertical-align:-.15rem}\
.strip,.cautions{border-top:1px solid var(--line);padding:1.5rem 0 2.5rem}\
.strip h2,.cautions h2{font-size:1.25rem;font-weight:650}\
.cut{display:flex;flex-wrap:wrap;margin-top:1rem}\
.label{width:38mm;height:14mm;padding:1.2mm 2mm;border:1px dashed var(--soft);margin:0 -1px -1px 0;\
display:grid;grid-template-columns:auto minmax(0,1fr);grid-template-rows:auto auto 1fr;column-gap:1mm;\
font-size:7pt;line-height:1.25;white-space:nowrap;overflow:hidden}\
.label b{font-size:9pt;grid-column:1/-1}.label code{font-size:9pt;font-weight:700}.label i{font-style:normal;font-size:6.5pt;text-align:right}\
.label span{grid-column:1/-1}\
.cautions ul{list-style:none;columns:2 20rem;column-gap:2.5rem;margin:.75rem 0;font-size:.92rem}\
.cautions li{break-inside:avoid;margin-bottom:.5rem}\
@media print{\
html{background:none;font-size:10pt;print-color-adjust:exact;-webkit-print-color-adjust:exact}\
body{max-width:none;padding:0}\
.chip,.strip,.cautions,.picture{break-inside:avoid}\
.head{break-after:avoid}\
.pair{grid-template-columns:1.2fr 1fr;gap:1rem 1.5rem}\
dl{grid-template-columns:5.6rem minmax(0,1fr);gap:.2rem .5rem}\
.bytes{font-size:.82em}.notes ul{font-size:.85rem;line-height:1.4}.notes li{margin-bottom:.2rem}\
.sums{margin:.5rem 0 1rem}.done{margin-top:1rem}\
.chip{padding:3mm 0 5mm}.strip,.cautions{padding:3mm 0 4mm}\
.picture{margin:5mm 0 6mm}}\n";
