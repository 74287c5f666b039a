//! What a reader found, each finding with its line and a caret under the characters meant.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Element, Level, Renderer, Snippet};

use super::style::{PAGE, safe_char, safe_line, safe_text};
use super::{Style, advice, fit};
use crate::formats::{self, Finding, Findings, LineEnd, Severity, TextPlace};

/// Characters underlined at most: a whole line under carets helps nobody.
const MOST_CARETS: usize = 40;

/// All findings of one file as text, one block each with a blank line between; empty when there are none.
pub fn carets(findings: &Findings, style: Style) -> String {
    let blocks = findings.list().iter();
    let blocks: Vec<String> = blocks.map(|f| block(&findings.file, f, style)).collect();
    let mut out = blocks.join("\n");
    let more = findings.errors_not_shown();
    if more > 0 {
        let more = super::plural(more, "more error");
        out += &format!("{}: and {more} not shown\n", findings.file);
    }
    out
}

fn block(file: &str, finding: &Finding, style: Style) -> String {
    let level = match finding.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let title = finding.problem.to_string();
    let label = finding.problem.label();
    let shown = finding.place.as_ref().map(Shown::new);
    let mut notes: Vec<(Level<'_>, String)> = Vec::new();
    if finding.repeats > 0 {
        let places = super::plural(finding.repeats, "more place");
        notes.push((Level::NOTE, format!("{places} like this")));
    }
    for explanation in &finding.explanations {
        notes.push((Level::NOTE, explanation.to_string()));
    }
    if let Some(advice) = advice::of_problem(&finding.problem) {
        notes.push((Level::HELP, advice));
    }
    match &shown {
        Some(shown) => drawn((level, title), Some(file), shown, label, notes, style),
        None => whole_file(file, finding, style),
    }
}

/// An error in a text of the user's own: the line, a caret under the word meant, and what to do, one paragraph each. Without a
/// file the number is that of a step.
pub fn pointed(
    file: Option<&str>,
    line: (u64, &str),
    mark: Range<usize>,
    title: &str,
    advice: &[&str],
    style: Style,
) -> String {
    let (number, text) = line;
    let line = formats::TextLine {
        number,
        bytes: text.as_bytes(),
        length: text.len() as u64,
        end: LineEnd::Lf,
    };
    let shown = Shown::new(&TextPlace::new(&line, mark));
    let notes = advice.iter().map(|a| (Level::HELP, (*a).to_owned()));
    drawn(
        (Level::ERROR, title.to_owned()),
        file,
        &shown,
        String::new(),
        notes.collect(),
        style,
    )
}

fn drawn(
    (level, title): (Level<'_>, String),
    file: Option<&str>,
    shown: &Shown,
    mut label: String,
    mut notes: Vec<(Level<'_>, String)>,
    style: Style,
) -> String {
    let digits = shown.line.to_string().len();
    if style.on_terminal() {
        // What is said of the place goes below it where there is no room beside it.
        let end = fit::width(&shown.text[..shown.mark.end]);
        let room = style.columns().saturating_sub(digits + 3 + end + 1);
        if fit::width(&label) > room {
            notes.insert(0, (Level::NOTE.no_name(), std::mem::take(&mut label)));
        }
    }
    let mark = AnnotationKind::Primary.span(shown.mark.clone());
    let mark = match label.is_empty() {
        true => mark,
        false => mark.label(safe_line(&label)),
    };
    // The renderer sets later lines in as far as the first.
    let lines = |text: String, beside: usize| match style.on_terminal() {
        true => Style::screen(style.columns().min(PAGE).saturating_sub(beside)).fill(0, 0, &text),
        false => text,
    };
    let title = safe_text(&title).into_owned();
    let notes = notes.into_iter().map(|(level, text)| {
        let text = safe_text(&text).into_owned();
        let beside = digits + " = note: ".len();
        Element::from(level.message(lines(text, beside)))
    });
    let title = lines(title, "warning: ".len());
    let group = (level.primary_title(title))
        .element(
            Snippet::source(&shown.text)
                .line_start(shown.line)
                .path(file.map(safe_line))
                .annotation(mark),
        )
        .elements(notes);
    let renderer = match style.has_colour() {
        true => Renderer::styled(),
        false => Renderer::plain(),
    };
    let columns = style.columns().min(PAGE);
    format!("{}\n", renderer.term_width(columns).render(&[group]))
}

/// A finding without a line.
fn whole_file(file: &str, finding: &Finding, style: Style) -> String {
    let word = match finding.severity {
        Severity::Error => style.bad("error"),
        Severity::Warning => style.odd("warning"),
    };
    let mut out = format!("{word}: {file}: {}", finding.problem);
    match finding.problem.label() {
        label if label.is_empty() => {}
        label => out += &format!(": {label}"),
    }
    out.push('\n');
    for explanation in &finding.explanations {
        out += &format!("  = {}: {explanation}\n", style.strong("note"));
    }
    if let Some(advice) = advice::of_problem(&finding.problem) {
        out += &format!("  = {}: {advice}\n", style.strong("help"));
    }
    style.fitted(&out)
}

/// A line that is safe to print: control characters as pictures, broken UTF-8 as the replacement character.
struct Shown {
    line: usize,
    text: String,
    mark: Range<usize>,
}

impl Shown {
    fn new(place: &TextPlace) -> Self {
        let (before, rest) = place.text.split_at(place.mark.start);
        let (marked, after) = rest.split_at(place.mark.len());
        let mut text = String::new();
        let before = safe(before);
        // This is in place of what was left out, so that the column is counted right; the renderer cuts it off.
        let left_out = place
            .column
            .saturating_sub(1 + before.chars().count() as u64);
        text.extend((0..left_out).map(|_| '.'));
        text += &before;
        let from = text.len();
        let marked = safe(marked);
        let to = match marked.char_indices().nth(MOST_CARETS) {
            Some((cut, _)) => from + cut,
            None => from + marked.len(),
        };
        text += &marked;
        text += &safe(after);
        if place.cut_after {
            text.push('…');
        }
        let to = match text[from..].chars().next() {
            // Past the end of a line there is nothing to mark, so a blank carries the caret.
            None => {
                text.push(' ');
                from + 1
            }
            // An empty mark in the middle points at the character after it.
            Some(next) if to == from => from + next.len_utf8(),
            Some(_) => to,
        };
        Self {
            line: usize::try_from(place.line).unwrap_or(usize::MAX),
            mark: from..to.min(text.len()),
            text,
        }
    }
}

fn safe(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    text.chars().map(safe_char).collect()
}
