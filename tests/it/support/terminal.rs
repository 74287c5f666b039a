//! A terminal of a chosen width: `script` from util-linux makes one.

use std::process::{Command, Stdio};

use super::bench::Folder;

/// What a terminal of so many columns gets to see of each of these shell lines, in which `romloom` is the command. Colours
/// are left in, the line that shows progress is left out.
pub fn on_terminal(folder: &Folder, columns: usize, lines: &[&str]) -> Vec<String> {
    /// Ends what one line printed.
    const END: &str = "\u{1E}";
    let romloom = assert_cmd::cargo::cargo_bin("romloom");
    let mut shell = format!(
        "stty cols {columns} rows 50\nromloom() {{ '{}' \"$@\"; }}\n",
        romloom.display()
    );
    for line in lines {
        shell += &format!("{line}\nprintf '\\036\\n'\n");
    }
    folder.put("on-terminal.sh", shell);
    let out = Command::new("script")
        .args(["-qec", "sh on-terminal.sh", "/dev/null"])
        .current_dir(folder.path(""))
        .env("TERM", "xterm")
        .env_remove("NO_COLOR")
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let text = String::from_utf8(out.stdout).unwrap();
    let shown: Vec<String> = (text.split(&format!("{END}\r\n")))
        .map(|part| {
            part.split("\r\n")
                .map(settled)
                .collect::<Vec<_>>()
                .join("\n")
        })
        .collect();
    assert_eq!(shown.len(), lines.len() + 1, "{text}");
    shown[..lines.len()].to_vec()
}

/// A line as it is in the end: what was drawn there before is wiped.
fn settled(line: &str) -> &str {
    let line = line.rsplit("\u{1b}[2K").next().unwrap_or_default();
    line.rsplit('\r').next().unwrap_or_default()
}

/// The text without its colours.
pub fn plain(text: &str) -> String {
    let mut out = String::new();
    let mut parts = text.split("\u{1b}[");
    out += parts.next().unwrap_or_default();
    for part in parts {
        let end = part.find(|c: char| c.is_ascii_alphabetic());
        out += end.map_or(part, |end| &part[end + 1..]);
    }
    out
}
