//! The text of a new recipe: comments in lines of a page, and lines that a terminal has room for.

use super::words;
use crate::cli::report::Style;

/// A comment in lines of a page.
pub fn comment(text: &str) -> String {
    commented(Style::screen(80), text)
}

fn commented(style: Style, text: &str) -> String {
    let lines = style.fill(2, 2, text);
    let lines = lines
        .lines()
        .map(|line| format!("# {}\n", line.trim_start()));
    lines.collect()
}

/// A file's name as a step takes it: nothing that it would read as an option or as the end of a step.
pub fn as_file(name: &str) -> String {
    match name.starts_with('-') || name == "+" {
        true => format!("./{name}"),
        false => name.to_owned(),
    }
}

/// The text for a terminal: comments in lines that it has room for, and in a recipe steps too, so that it is one all the
/// same.
pub fn on_screen(text: &str, is_recipe: bool, style: Style) -> String {
    if !style.on_terminal() {
        return text.to_owned();
    }
    let lines: Vec<&str> = text.lines().collect();
    let mut out = String::new();
    for block in lines.chunk_by(|one, next| is_comment(one) && is_comment(next)) {
        let long = block
            .iter()
            .any(|line| line.chars().count() > style.columns());
        match block {
            [first, ..] if long && is_comment(first) => {
                let text: Vec<&str> = block.iter().map(|line| &line[2..]).collect();
                out += &commented(style, &text.join(" "));
            }
            [line] if long && is_recipe => out += &continued(line, style.columns()),
            lines => lines.iter().for_each(|line| out += &format!("{line}\n")),
        }
    }
    out
}

fn is_comment(line: &str) -> bool {
    line.starts_with("# ")
}

/// A step whose line is continued where it is too long.
fn continued(line: &str, columns: usize) -> String {
    let words = words::split(line).unwrap_or_default();
    let words = words
        .iter()
        .flatten()
        .map(|word| &line[word.at.bytes.clone()]);
    let mut out = String::new();
    let mut column = 0;
    for word in words {
        let width = word.chars().count();
        if column > 0 && column + 1 + width + 2 > columns {
            out += " \\\n   ";
            column = 3;
        }
        if column > 0 {
            out.push(' ');
            column += 1;
        }
        out += word;
        column += width;
    }
    out.push('\n');
    out
}
