//! Recipes: the steps of pipelines, one a line.

use std::ffi::OsString;
use std::path::Path;

use anyhow::{Context, Result, anyhow, bail};

use super::grammar::{Grammar, segments, usage_text};
use super::run::{Origin, Plan};

/// One logical line, comments and continuations dealt with.
#[derive(Debug, PartialEq, Eq)]
struct Line {
    /// The physical line it begins on, counted from 1.
    number: usize,
    words: Vec<String>,
}

/// The value of a `${NAME}`.
pub type Setting = (String, String);

/// Reads `NAME=VALUE`.
pub fn setting(text: &str) -> Result<Setting, String> {
    match text.split_once('=') {
        Some((name, value)) if is_name(name) => Ok((name.into(), value.into())),
        _ => Err("expected NAME=VALUE, the name of letters, digits and _".into()),
    }
}

fn is_name(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
}

/// Parses a recipe into its pipelines, every step through the grammar of the command line.
///
/// # Errors
/// Each names the recipe and the line.
pub fn parse(
    grammar: &mut Grammar,
    file: &str,
    text: &str,
    settings: &[Setting],
) -> Result<Vec<Plan>> {
    let mut plans = vec![Plan::default()];
    let mut used = Vec::new();
    for line in lines(text).with_context(|| file.to_owned())? {
        let place = || format!("{file} line {}", line.number);
        if line.words == ["---"] {
            plans.push(Plan::default());
            continue;
        }
        let words = line.words.iter().map(|w| replace(w, settings, &mut used));
        let words: Vec<OsString> = words
            .map(|w| w.map(OsString::from))
            .collect::<Result<_>>()
            .with_context(place)?;
        for segment in segments(&words).with_context(place)? {
            let step = grammar.step(&segment).map_err(|e| in_recipe(e, &place()))?;
            let origin = Origin {
                file: file.into(),
                line: line.number,
            };
            if let Some(plan) = plans.last_mut() {
                plan.add(step, Some(origin));
            }
        }
    }
    if let Some((name, _)) = settings.iter().find(|(name, _)| !used.contains(name)) {
        bail!("--set {name}: the recipe {file} has no ${{{name}}}");
    }
    if plans.iter().any(Plan::is_empty) {
        match plans.len() {
            1 => bail!("{file}: the recipe has no step"),
            _ => bail!("{file}: there is no step before or behind a line ---"),
        }
    }
    Ok(plans)
}

/// Help asked for inside a recipe is a slip; everything else keeps what clap says, behind the line's number.
fn in_recipe(error: anyhow::Error, place: &str) -> anyhow::Error {
    match error.downcast::<clap::Error>() {
        Ok(usage) if !usage.use_stderr() => {
            anyhow!("{place}: help and version can't be asked for in a recipe")
        }
        Ok(usage) => anyhow!("{place}: {}", usage_text(&usage)),
        Err(error) => error.context(place.to_owned()),
    }
}

/// Logical lines: `\` at the end continues, `#` starts a comment, words split as a shell splits them.
fn lines(text: &str) -> Result<Vec<Line>> {
    let mut out = Vec::new();
    let mut pending: Option<(usize, String)> = None;
    for (i, physical) in text.lines().enumerate() {
        let physical = physical.trim_end_matches('\r');
        let (number, mut logical) = pending.take().unwrap_or((i + 1, String::new()));
        // As in a shell, a comment is not continued.
        if !physical.trim_start().starts_with('#')
            && let Some(continued) = physical.strip_suffix('\\')
        {
            logical.push_str(continued);
            logical.push(' ');
            pending = Some((number, logical));
            continue;
        }
        logical.push_str(physical);
        out.extend(line(number, &logical)?);
    }
    if let Some((number, logical)) = pending {
        out.extend(line(number, &logical)?);
    }
    Ok(out)
}

fn line(number: usize, text: &str) -> Result<Option<Line>> {
    let words = shlex::split(text).ok_or_else(|| {
        anyhow!("line {number}: a quote is opened and not closed, or `\\` stands alone")
    })?;
    Ok((!words.is_empty()).then_some(Line { number, words }))
}

/// Puts values in for every `${NAME}`. Done after splitting, so a value never changes the words.
fn replace(word: &str, settings: &[Setting], used: &mut Vec<String>) -> Result<String> {
    let mut out = String::new();
    let mut rest = word;
    while let Some((before, behind)) = rest.split_once("${") {
        out.push_str(before);
        let (name, after) = behind
            .split_once('}')
            .ok_or_else(|| anyhow!("`${{` in `{word}` is never closed"))?;
        let value = settings.iter().rev().find(|(n, _)| n == name);
        let (_, value) = value.ok_or_else(|| {
            anyhow!("${{{name}}} has no value: give it one with --set {name}=VALUE")
        })?;
        out.push_str(value);
        used.push(name.to_owned());
        rest = after;
    }
    out.push_str(rest);
    Ok(out)
}

/// The folder that a recipe's paths are relative to.
pub fn folder(file: &Path) -> &Path {
    match file.parent() {
        Some(parent) => parent,
        None => Path::new(""),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<(usize, Vec<String>)> {
        let lines = lines(text).unwrap();
        lines.into_iter().map(|l| (l.number, l.words)).collect()
    }

    #[test]
    fn lines_are_split_as_a_shell_splits_them() {
        let text =
            "# comment \\\nload 'a b.hex' \\\n  c.hex # more\r\n\nmark 0 \"HE\\\"RON\"\n---\n";
        let own = |list: &[&str]| list.iter().map(|w| w.to_string()).collect::<Vec<_>>();
        assert_eq!(
            words(text),
            [
                (2, own(&["load", "a b.hex", "c.hex"])),
                (5, own(&["mark", "0", "HE\"RON"])),
                (6, own(&["---"])),
            ]
        );
    }

    #[test]
    fn an_open_quote_names_its_line() {
        assert_eq!(
            lines("load a.hex\nmark 0 'HERON").unwrap_err().to_string(),
            "line 2: a quote is opened and not closed, or `\\` stands alone"
        );
    }

    #[test]
    fn a_value_never_changes_the_words() {
        let settings = [("V".to_owned(), "1.0 + write x.bin".to_owned())];
        let mut used = Vec::new();
        assert_eq!(
            replace("a${V}b", &settings, &mut used).unwrap(),
            "a1.0 + write x.binb"
        );
        assert_eq!(used, ["V"]);
        assert_eq!(
            replace("${W}", &settings, &mut used)
                .unwrap_err()
                .to_string(),
            "${W} has no value: give it one with --set W=VALUE"
        );
        assert!(replace("${W", &settings, &mut used).is_err());
    }
}
