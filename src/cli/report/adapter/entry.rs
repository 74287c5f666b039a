//! The content that the chip takes, as an entry of a board file and as a step.

use crate::board::{Level, SocketsSpec};
use crate::cli::report::size_text;

/// The socket's name in the entry; the board has a name of its own.
pub(super) const NAME: &str = "U1";

/// The entry of a board file. What must still be said is a remark there.
pub(super) fn board_entry(spec: &SocketsSpec) -> String {
    let mut lines = vec![
        (
            "names",
            format!("[\"{}\"]", spec.names.join("\", \"")),
            "as on the board",
        ),
        ("part", format!("\"{}\"", spec.part.name), ""),
    ];
    for window in &spec.windows {
        let digits = if window.at > 0xFFFF { 6 } else { 4 };
        lines.push((
            "at",
            format!("0x{:0digits$X}", window.at),
            "where the bus sees the socket",
        ));
        lines.extend(
            window
                .size
                .map(|size| ("size", format!("\"{}\"", size_in_quotes(size)), "")),
        );
        if window.mirrored {
            lines.push(("mirrored", "true".into(), "the chip is seen more than once"));
        }
        if let Some((_, last)) = window.banks {
            lines.push(("banks", (last + 1).to_string(), "positions of the switch"));
            lines.push(("by", format!("\"{}\"", window.by), ""));
        }
    }
    if !spec.tied.is_empty() {
        let levels: Vec<String> = (spec.tied.iter())
            .map(|(line, level)| match level {
                Level::Low => format!("A{line} = 0"),
                Level::High => format!("A{line} = 1"),
                Level::Any => format!("A{line} = \"any\""),
            })
            .collect();
        lines.push(("tied", format!("{{ {} }}", levels.join(", ")), ""));
    }
    if spec.part.width == 16 {
        let remark = "or \"little\": which byte of a word is at the lower address; it must be said";
        lines.push(("# order", "\"big\"".into(), remark));
    }
    if spec.part.erased.is_none() {
        let blank = if spec.part.width == 4 { "0x0F" } else { "0xFF" };
        lines.push((
            "# with",
            blank.into(),
            "the content of unused cells; it must be said",
        ));
    }
    let key = lines.iter().map(|(key, ..)| key.len()).max().unwrap_or(0);
    let mut out = String::from("[[sockets]]\n");
    for (name, value, remark) in lines {
        let line = format!("{name:key$} = {value}");
        out += &match remark {
            "" => format!("{line}\n"),
            remark => format!("{line:28}  # {remark}\n"),
        };
    }
    out
}

/// The step that does the same; `None` if only a board file can say it, or if something must be said first.
pub(super) fn seat_step(spec: &SocketsSpec) -> Option<String> {
    let [window] = &spec.windows[..] else {
        return None;
    };
    if window.mirrored || spec.part.width == 16 || spec.part.erased.is_none() {
        return None;
    }
    let digits = if window.at > 0xFFFF { 6 } else { 4 };
    let mut out = format!("seat {} --at 0x{:0digits$X}", spec.part.name, window.at);
    if let (Some(size), Some((_, last))) = (window.size, window.banks) {
        out += &format!(" --size {} --banks {}", size_in_quotes(size), last + 1);
    }
    let levels: Vec<String> = (spec.tied.iter())
        .map(|(line, level)| match level {
            Level::Low => format!("A{line}=0"),
            Level::High => format!("A{line}=1"),
            Level::Any => format!("A{line}=any"),
        })
        .collect();
    if !levels.is_empty() {
        out += &format!(" --tied {}", levels.join(","));
    }
    Some(out)
}

/// As a size is written: `8K`, or plain bytes.
fn size_in_quotes(bytes: u64) -> String {
    match bytes % 1024 {
        0 => size_text(bytes),
        _ => bytes.to_string(),
    }
}
