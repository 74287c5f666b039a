//! Recipes: the steps of pipelines, one a line.

use std::ffi::OsString;
use std::path::Path;
use std::rc::Rc;

use anyhow::{Result, anyhow, bail};

use super::grammar::{Grammar, segments};
use super::plan::Plan;
use super::refusal::{Refusal, shown_answer, shown_slip};
use super::slips::Around;
use super::words::{self, Word};
use super::written::{Script, Wording};
use crate::prose;
use crate::values::BadValue;

/// The value of a `${NAME}`.
pub type Setting = (String, String);

/// Reads `NAME=VALUE`.
pub fn setting(text: &str) -> Result<Setting, BadValue> {
    match text.split_once('=') {
        Some((name, value)) if is_name(name) => Ok((name.into(), value.into())),
        _ => Err(BadValue::fact(format!(
            "`{}`: expected NAME=VALUE, the name of letters, digits and _",
            prose::shown(text)
        ))),
    }
}

fn is_name(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
}

/// Parses a recipe into its pipelines, every step through the grammar of the command line.
///
/// # Errors
/// Each shows the line with a caret under the word meant.
pub fn parse(
    grammar: &mut Grammar,
    file: &str,
    text: &str,
    settings: &[Setting],
) -> Result<Vec<Plan>> {
    let script = Rc::new(Script::recipe(file, text));
    let mut plans = vec![Plan::default()];
    let mut used = Vec::new();
    let lines =
        words::split(text).map_err(|e| script.pointed(&e.at, &e.to_string(), &[e.advice]))?;
    for mut line in lines {
        if line.len() == 1 && line[0].text == "---" {
            plans.push(Plan::default());
            continue;
        }
        for word in &mut line {
            word.text = replace(word, settings, &mut used)
                .map_err(|e| script.pointed(&word.at, &e.to_string(), &[]))?;
        }
        let texts: Vec<OsString> = line.iter().map(|w| w.text.clone().into()).collect();
        let parts: Vec<Vec<Word>> = (line.split(|word| word.text == "+"))
            .map(<[Word]>::to_vec)
            .collect();
        let whole_line = Wording::of(&script, line);
        let segments = segments(&texts).map_err(|slip| {
            let slip = slip.so("in a recipe a new line begins the next step: leave this + out");
            shown_slip(&slip, &whole_line)
        })?;
        let wordings = parts.into_iter().map(|words| Wording::of(&script, words));
        let wordings: Vec<Wording> = wordings.collect();
        let steps: Result<Vec<_>, _> = (segments.iter().zip(&wordings))
            .map(|(segment, wording)| grammar.step(segment).map_err(|e| (e, wording)))
            .collect();
        let around = Around {
            folder: folder(Path::new(file)),
            first: plans.last().is_none_or(|plan| plan.steps.is_empty()),
            recipe: true,
        };
        if !matches!(steps, Err((Refusal::Asked(_), _))) {
            if let Some(answer) = grammar.answer(&segments, around, steps.is_err()) {
                return Err(shown_answer(&answer, &wordings));
            }
        }
        let steps = steps.map_err(|(refusal, wording)| refusal.in_recipe(wording))?;
        if let Some(plan) = plans.last_mut() {
            plan.steps.extend(steps.into_iter().zip(wordings));
        }
    }
    if let Some((name, _)) = settings.iter().find(|(name, _)| !used.contains(name)) {
        bail!("--set {name}: the recipe {file} has no ${{{name}}}");
    }
    if plans.iter().any(|plan| plan.steps.is_empty()) {
        match plans.len() {
            1 => bail!("{file}: the recipe has no step"),
            _ => bail!("{file}: there is no step before or after a line ---"),
        }
    }
    Ok(plans)
}

/// The names of a recipe's `${NAME}`s, in order, each once; none of a text that is not a recipe.
pub fn names(text: &str) -> Vec<String> {
    let words = words::split(text).into_iter().flatten().flatten();
    let mut names = Vec::new();
    for word in words {
        let mut from = 0;
        while let Some(at) = next_name(&word, from) {
            from = at + 2;
            let name = word.text[from..]
                .split_once('}')
                .map_or("", |(name, _)| name);
            if is_name(name) && !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
    }
    names
}

/// Where the next `${` is that nothing protects.
fn next_name(word: &Word, from: usize) -> Option<usize> {
    let mut found = word.text[from..]
        .match_indices("${")
        .map(|(at, _)| from + at);
    found.find(|at| !word.fixed.contains(at))
}

/// Puts values in for every `${NAME}`. Done after splitting, so a value never changes the words.
fn replace(word: &Word, settings: &[Setting], used: &mut Vec<String>) -> Result<String> {
    let text = &word.text;
    let mut out = String::new();
    let mut from = 0;
    while let Some(at) = next_name(word, from) {
        out.push_str(&text[from..at]);
        let name = text[at + 2..].split_once('}').map(|(name, _)| name);
        let name = name.ok_or_else(|| anyhow!("`${{` in `{text}` is never closed"))?;
        let value = settings.iter().rev().find(|(n, _)| n == name);
        let (_, value) = value.ok_or_else(|| {
            anyhow!("${{{name}}} has no value: give it one with --set {name}=VALUE")
        })?;
        out.push_str(value);
        used.push(name.to_owned());
        from = at + 2 + name.len() + 1;
    }
    out.push_str(&text[from..]);
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

    fn replaced(line: &str, settings: &[Setting], used: &mut Vec<String>) -> Result<String> {
        let words = words::split(line).unwrap();
        replace(&words[0][0], settings, used)
    }

    #[test]
    fn a_value_never_changes_the_words() {
        let settings = [("V".to_owned(), "1.0 + write ${V}.bin".to_owned())];
        let mut used = Vec::new();
        for (word, wanted) in [
            ("a${V}b", "a1.0 + write ${V}.binb"),
            ("\"a b${V}\"", "a b1.0 + write ${V}.bin"),
            ("'${V}'${V}", "${V}1.0 + write ${V}.bin"),
        ] {
            assert_eq!(replaced(word, &settings, &mut used).unwrap(), wanted);
        }
        assert_eq!(used, ["V", "V", "V"]);
        assert_eq!(
            replaced("${W}", &settings, &mut used)
                .unwrap_err()
                .to_string(),
            "${W} has no value: give it one with --set W=VALUE"
        );
        assert!(replaced("${W", &settings, &mut used).is_err());
        assert_eq!(names("load ${A}.hex '${B}' ${C}${A}"), ["A", "C"]);
    }
}
