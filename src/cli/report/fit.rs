//! Lines that are not wider than a screen: broken between words, never inside one.

use unicode_width::UnicodeWidthStr;

/// A column of text that is narrower is not worth keeping.
const LEAST_COLUMN: usize = 20;
/// What goes below its line is set in this much further.
const BELOW: usize = 4;

/// A word with the blanks before it; colour takes no room.
#[derive(Clone)]
struct FlowWord {
    gap: usize,
    text: String,
    width: usize,
    /// Where the line is broken before it, the line before it ends in `\`: it goes on a command.
    continues: bool,
}

/// A paragraph in lines of so many columns. The first word is at `column` already; later lines are set in by `indent`. What
/// is in backquotes is kept in one line if `whole` says so. The last line has no end.
pub(super) fn in_lines(
    columns: usize,
    whole: bool,
    (column, indent): (usize, usize),
    text: &str,
) -> String {
    let indent = match indent + LEAST_COLUMN > columns {
        true => indent.min(BELOW),
        false => indent,
    };
    let (_, tokens) = tokens(text);
    let tokens = match whole {
        true if is_command(&tokens) => as_command(tokens),
        true => whole_quotes(&tokens, columns - indent),
        false => tokens,
    };
    let mut out = String::new();
    flow(&mut out, column, indent, columns, &tokens);
    out
}

/// The same text with each line broken that is wider than the screen. In a table the last column is broken or goes below.
pub(super) fn broken(text: &str, columns: usize, prose: usize) -> String {
    let mut out = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let (line, end) = match line.strip_suffix('\n') {
            Some(line) => (line, "\n"),
            None => (line, ""),
        };
        if line.len() <= prose || width(line) <= prose {
            out += line;
        } else {
            fit_line(&mut out, line, columns, prose);
        }
        out += end;
    }
    out
}

/// Columns that a text takes, without its colours.
pub(super) fn width(text: &str) -> usize {
    match text.contains('\x1B') {
        true => anstream::adapter::strip_str(text).to_string().width(),
        false => text.width(),
    }
}

fn fit_line(out: &mut String, line: &str, columns: usize, prose: usize) {
    let (indent, tokens) = tokens(line);
    let is_command = is_command(&tokens);
    let is_table = !is_command && tokens.iter().skip(1).any(|token| token.gap > 1);
    if is_table && width(line) <= columns {
        *out += line;
        return;
    }
    *out += &" ".repeat(indent);
    if is_table {
        return fit_row(out, indent, columns, &tokens);
    }
    let hang = (indent + 2).min(columns / 2);
    let tokens = match is_command {
        true => as_command(tokens),
        false => whole_quotes(&tokens, prose - hang),
    };
    flow(out, indent, hang, prose, &tokens);
}

/// A table's row: cells are told from words by two blanks at least. What has no room beside the others goes below them.
fn fit_row(out: &mut String, indent: usize, columns: usize, tokens: &[FlowWord]) {
    let below = (indent + BELOW).min(columns / 2);
    let mut column = indent;
    let mut cells = tokens.chunk_by(|_, next| next.gap < 2).peekable();
    while let Some(cell) = cells.next() {
        let gap = cell[0].gap;
        let (start, rest) = (column + gap, columns.saturating_sub(column + gap));
        let gaps: usize = cell[1..].iter().map(|token| token.gap).sum();
        let wide = gaps + cell.iter().map(|token| token.width).sum::<usize>();
        let longest = cell.iter().map(|token| token.width).max().unwrap_or(0);
        let is_last = cells.peek().is_none();
        let (start, indent) = match wide <= rest || column == indent {
            true => (start, below),
            false if is_last && rest >= LEAST_COLUMN.max(longest) => (start, start),
            false => {
                new_line(out, below);
                column = below;
                (below, below)
            }
        };
        *out += &" ".repeat(start - column);
        let cell = whole_quotes(cell, columns - indent);
        column = flow(out, start, indent, columns, &cell);
    }
}

/// Puts words into lines, the first at `column`, and says at which column the last one ends.
fn flow(
    out: &mut String,
    column: usize,
    indent: usize,
    columns: usize,
    tokens: &[FlowWord],
) -> usize {
    let mut at = column;
    let mut first = true;
    let mut tokens = tokens.iter().peekable();
    while let Some(token) = tokens.next() {
        let gap = if first { 0 } else { token.gap };
        // A command that goes on needs room for its mark.
        let mark = match tokens.peek() {
            Some(next) if next.continues => 2,
            _ => 0,
        };
        let helps = at > indent && (!first || column > indent);
        if at + gap + token.width + mark > columns && helps {
            if token.continues {
                out.push_str(" \\");
            }
            new_line(out, indent);
            at = indent;
        } else {
            out.push_str(&" ".repeat(gap));
            at += gap;
        }
        out.push_str(&token.text);
        at += token.width;
        first = false;
    }
    at
}

fn new_line(out: &mut String, indent: usize) {
    out.truncate(out.trim_end_matches(' ').len());
    out.push('\n');
    out.push_str(&" ".repeat(indent));
}

/// The blanks at the start, and the words. A change of colour between two words is the first one's.
fn tokens(line: &str) -> (usize, Vec<FlowWord>) {
    let mut tokens: Vec<FlowWord> = Vec::new();
    let (mut indent, mut gap) = (0, 0);
    let mut word = String::new();
    let mut colours = String::new();
    let mut chars = line.chars().peekable();
    let end = |word: &mut String, gap: &mut usize, tokens: &mut Vec<FlowWord>| {
        if !word.is_empty() {
            let text = std::mem::take(word);
            tokens.push(FlowWord {
                gap: std::mem::take(gap),
                width: width(&text),
                text,
                continues: false,
            });
        }
    };
    while let Some(c) = chars.next() {
        match c {
            ' ' => {
                end(&mut word, &mut gap, &mut tokens);
                match tokens.is_empty() {
                    true => indent += 1,
                    false => gap += 1,
                }
            }
            '\x1B' => {
                let mut code = String::from(c);
                for c in chars.by_ref() {
                    code.push(c);
                    if c.is_ascii_alphabetic() {
                        break;
                    }
                }
                match (word.is_empty(), tokens.last_mut()) {
                    (false, _) => word += &code,
                    (true, Some(before)) => before.text += &code,
                    (true, None) => colours += &code,
                }
            }
            c => {
                word += &std::mem::take(&mut colours);
                word.push(c);
            }
        }
    }
    end(&mut word, &mut gap, &mut tokens);
    (indent, tokens)
}

/// Whether a line is one to be typed, with or without a prompt before it.
fn is_command(tokens: &[FlowWord]) -> bool {
    let mut words = tokens.iter().map(|token| token.text.as_str());
    words.by_ref().find(|word| *word != "$") == Some("romloom")
}

fn as_command(mut tokens: Vec<FlowWord>) -> Vec<FlowWord> {
    for token in tokens.iter_mut().skip(1) {
        token.continues = true;
    }
    tokens
}

/// What is in backquotes is kept in one line where it fits; a command that does not is continued as a shell takes it.
fn whole_quotes(tokens: &[FlowWord], room: usize) -> Vec<FlowWord> {
    let mut out: Vec<FlowWord> = Vec::new();
    let mut rest = tokens;
    while let Some((first, _)) = rest.split_first() {
        let ticks = |token: &FlowWord| token.text.matches('`').count() % 2 == 1;
        let end = rest[1..].iter().position(ticks).filter(|_| ticks(first));
        let Some(end) = end else {
            out.push(first.clone());
            rest = &rest[1..];
            continue;
        };
        let (span, after) = rest.split_at(end + 2);
        let text: String = (span.iter().enumerate())
            .map(|(i, token)| {
                format!(
                    "{:gap$}{}",
                    "",
                    token.text,
                    gap = if i > 0 { token.gap } else { 0 }
                )
            })
            .collect();
        let wide = width(&text);
        if wide <= room {
            out.push(FlowWord {
                gap: first.gap,
                text,
                width: wide,
                continues: false,
            });
        } else {
            let is_command = first.text.ends_with("`romloom");
            out.extend(span.iter().enumerate().map(|(i, token)| FlowWord {
                continues: is_command && i > 0,
                ..token.clone()
            }));
        }
        rest = after;
    }
    out
}

#[cfg(test)]
mod tests {
    use insta::assert_snapshot;
    use proptest::prelude::*;

    use super::*;

    fn at_40(text: &str) -> String {
        broken(text, 40, 40)
    }

    #[test]
    fn a_sentence_goes_on_a_little_further_in() {
        let text = "warning: bank 3 of the program is never selected by the code that was loaded\n  next line\n";
        assert_snapshot!(at_40(text), @r"
        warning: bank 3 of the program is never
          selected by the code that was loaded
          next line
        ");
    }

    #[test]
    fn the_last_column_of_a_table_is_broken_or_goes_below() {
        let text = "\
name  what it does in one column that is long\n\
27C256    32Kx8  uv-eprom     28 pins  erased FF  also 27C256B\n  sha256   090abe15e4ba25a354f313e5bc30719d87\n";
        assert_snapshot!(at_40(text), @r"
        name  what it does in one column that is
              long
        27C256    32Kx8  uv-eprom     28 pins
            erased FF  also 27C256B
          sha256
              090abe15e4ba25a354f313e5bc30719d87
        ");
    }

    #[test]
    fn a_command_is_kept_whole_or_goes_on_as_a_shell_takes_it() {
        let text = "error: write `romloom help load` to see what it takes, or \
                    `romloom load monitor.hex basic.s19 + compare chip.bin`, whichever you like";
        assert_snapshot!(at_40(text), @r"
        error: write `romloom help load` to see
          what it takes, or `romloom load \
          monitor.hex basic.s19 + compare \
          chip.bin`, whichever you like
        ");
    }

    #[test]
    fn colour_takes_no_room() {
        let text = "\x1B[1m  padded name  \x1B[0m  and \x1B[2mten words of which none is longer than five\x1B[0m\n";
        let shown = at_40(text);
        assert_eq!(
            anstream::adapter::strip_str(&shown).to_string(),
            "  padded name    and ten words of which\n                 none is longer than\n                 five\n"
        );
        assert_eq!(shown.matches('\x1B').count(), 4);
    }

    proptest! {
        /// No line is wider than the screen but by one word that is, and no word is lost or cut.
        #[test]
        fn lines_fit_and_words_stay_whole(
            text in "([a-z`]{1,9}| |  |-|é|\u{4E00}|\n|\x1B\\[1m|x{30}){0,60}",
            columns in 20usize..90,
        ) {
            let shown = broken(&text, columns, columns.min(80));
            let plain = |text: &str| anstream::adapter::strip_str(text).to_string().replace(" \\\n", "\n");
            for line in shown.lines() {
                // What is no wider than later lines are set in stays before a word that is too wide.
                let one_word = match line.trim().rsplit_once(' ') {
                    Some((before, _)) => width(before) <= BELOW,
                    None => true,
                };
                prop_assert!(one_word || width(line) <= columns, "{line:?}");
            }
            let words = |text: &str| plain(text).split_whitespace().map(str::to_owned).collect::<Vec<_>>();
            prop_assert_eq!(words(&shown), words(&text));
        }

        /// A paragraph likewise.
        #[test]
        fn a_paragraph_fits(text in "[a-z`]{1,9}( [a-z`]{1,9}){0,30}", columns in 24usize..90, column in 0usize..20) {
            let shown = in_lines(columns, true, (column, column), &text);
            let first = format!("{:column$}{shown}", "");
            for line in first.lines() {
                prop_assert!(width(line) <= columns, "{line:?}");
            }
            let words = shown.split_whitespace();
            prop_assert!(words.eq(text.split_whitespace()));
        }
    }
}
