//! The forgotten `+`, told before anything else.

use clap::Command;

use super::around::Around;
use super::other_words::step_meant;
use super::slip::Slip;
use super::spots::{Spot, Spots, Takes, spots};
use super::vocabulary::{is_file, step_named};
use crate::cli::pipeline::written::WordRange;
use crate::cli::steps::step;

/// What people put between steps elsewhere.
const BETWEEN: [&str; 13] = [
    "|", "||", ";", ",", "&", "&&", "->", "=>", ">", "then", "and", "\\|", "/",
];

/// So many are put in at once.
const MOST: usize = 40;

/// So many words of a step are looked at: the time grows with their square.
const LONGEST: usize = 300;

/// Where a step begins among another's words.
struct Seam {
    /// The word that shows it.
    at: usize,
    /// What is left in its place in the step before.
    before: Vec<String>,
    /// What begins the step after, in place of this many words.
    after: Vec<String>,
    taken: usize,
}

/// Whether any word looks like a step's.
pub fn may_lack_a_plus(words: &[&str]) -> bool {
    let names = words.iter().enumerate().any(|(i, word)| {
        let parts = word.split('+');
        let glued = word.contains('+') && parts.clone().any(|part| step_named(part).is_some());
        glued || (i > 0 && (step_meant(word).is_some() || BETWEEN.contains(word)))
    });
    names
        || words
            .iter()
            .any(|w| w.len() > 1 && w.bytes().all(|b| b == b'+'))
}

/// A step's words among those of another, and the line with each + in its place.
pub fn forgotten(root: &Command, words: &[&str], around: Around<'_>, first: bool) -> Option<Slip> {
    let mut steps = Vec::new();
    let (words, beyond) = words.split_at(words.len().min(LONGEST));
    let own = |words: &[&str]| -> Vec<String> { words.iter().map(|w| (*w).to_owned()).collect() };
    let mut rest = own(words);
    let mut seams = Vec::new();
    // Where the rest begins among the words that were typed.
    let mut offset = 0;
    while seams.len() < MOST {
        let texts: Vec<&str> = rest.iter().map(String::as_str).collect();
        let Some(seam) = seam(root, &texts, around) else {
            break;
        };
        let taken = seam.at + seam.taken;
        seams.push((offset + seam.at).min(words.len() - 1));
        let mut step = rest[..seam.at].to_vec();
        step.extend(seam.before);
        let added = seam.after.len();
        let mut after = seam.after;
        after.extend_from_slice(&rest[taken..]);
        steps.push(step);
        offset += taken - added.min(taken);
        rest = after;
    }
    let at = *seams.first()?;
    rest.extend(own(beyond));
    steps.push(rest);
    steps.retain(|step| !step.is_empty());
    let word = words[at];
    let steps_typed = seams.iter().filter(|at| step_meant(words[**at]).is_some());
    let names: Vec<String> = steps_typed.map(|at| format!("`{}`", words[*at])).collect();
    let fact = match (step_meant(word), names.as_slice()) {
        (Some(_), [others @ .., last]) if !others.is_empty() && others.len() < 6 => {
            format!("a + is missing before {} and {last}", others.join(", "))
        }
        (Some(_), _) => format!("a + is missing before `{word}`"),
        (None, _) if BETWEEN.contains(&word) || word.bytes().all(|b| b == b'+') => {
            format!("`{word}` does not separate steps")
        }
        (None, _) => format!("the + in `{word}` is not a word of its own"),
    };
    let advice = match (around.recipe, first) {
        (true, _) => {
            "in a recipe each step has a line of its own, or a + with a blank on both sides"
        }
        (false, _) => "steps are separated by a + with a blank on both sides",
    };
    let slip = Slip::new(fact).so(advice).at(Some(WordRange::whole(at)));
    Some(slip.write(steps))
}

/// The first place where another step begins.
fn seam(root: &Command, words: &[&str], around: Around<'_>) -> Option<Seam> {
    let spots = spots(root, words);
    let name = match spots.name {
        Some(name) => name,
        None => return glued_name(words),
    };
    step_named(words[name])?;
    (name + 1..words.len()).find_map(|at| seam_at(words, &spots, at, around))
}

/// `show+`, `show+sheet` and `+show` in place of a step's name.
fn glued_name(words: &[&str]) -> Option<Seam> {
    let at = words.iter().position(|word| !word.starts_with('-'))?;
    let parts: Vec<&str> = words[at]
        .split('+')
        .filter(|part| !part.is_empty())
        .collect();
    let (first, others) = parts.split_first()?;
    if !words[at].contains('+') || parts.iter().any(|part| step_named(part).is_none()) {
        return None;
    }
    let others: Vec<String> = others.iter().map(|part| (*part).to_owned()).collect();
    // Without another step in it, the next word says whether the + belonged after it.
    let ends = words
        .get(at + 1)
        .is_some_and(|next| step_named(next).is_some());
    match (others.as_slice(), ends) {
        ([], false) => Some(Seam {
            at,
            before: Vec::new(),
            after: vec![(*first).to_owned()],
            taken: 1,
        }),
        (others, _) => Some(Seam {
            at,
            before: vec![(*first).to_owned()],
            after: others.to_vec(),
            taken: 1,
        }),
    }
}

fn seam_at(words: &[&str], spots: &Spots, at: usize, around: Around<'_>) -> Option<Seam> {
    let word = words[at];
    let spot = &spots.all[at];
    let next = words.get(at + 1).copied().unwrap_or_default();
    if matches!(spot, Spot::Name | Spot::Option | Spot::Settled) {
        return None;
    }
    let free_text = matches!(spot, Spot::Plain(Takes::Text) | Spot::OfOption(Takes::Text));
    let there = || is_file(around.folder, word);
    let seam = |before: Vec<String>, after: &str, taken| Seam {
        at,
        before,
        after: after.split_whitespace().map(str::to_owned).collect(),
        taken,
    };
    if let Some(step) = step_meant(word).filter(|_| !free_text) {
        let exact = step_named(word).is_some();
        let surplus = || {
            let mut later = spots.all[at + 1..].iter().zip(&words[at + 1..]);
            later.any(|(spot, word)| {
                *spot == Spot::Excess || (*spot == Spot::Option && word.len() > 1)
            })
        };
        // Words of a text, and the only file of a step, are hardly steps by other names.
        let in_text = spots.all.contains(&Spot::Plain(Takes::Text));
        let only = spots.all[..at].iter().all(|s| !matches!(s, Spot::Plain(_)));
        // `split lane 2`, `show --json hex`: here a kind of the step is wanted.
        let step_here = spots.name.map_or("", |name| words[name]);
        let way = [step::SPLIT, step::JOIN, step::SHOW, step::EXPECT].contains(&step_here);
        return match spot {
            Spot::Excess if !there() && (exact || !(in_text || way)) => {
                Some(seam(Vec::new(), &step, 1))
            }
            Spot::Plain(Takes::Input) if !there() && (exact || !only) => {
                Some(seam(Vec::new(), &step, 1))
            }
            Spot::Plain(Takes::Value(_)) if exact => Some(seam(Vec::new(), &step, 1)),
            Spot::Plain(Takes::Output) if exact && surplus() => {
                Some(seam(vec!["FILE".into()], &step, 1))
            }
            Spot::OfOption(Takes::Value(name)) if exact => Some(seam(vec![name.clone()], &step, 1)),
            _ => None,
        };
    }
    let between = BETWEEN.contains(&word) || word.bytes().all(|b| b == b'+');
    if between && step_meant(next).is_some() && !free_text {
        return Some(seam(Vec::new(), &step_meant(next)?, 2));
    }
    if !word.contains('+') || free_text || there() {
        return None;
    }
    if let Some(step) = word.strip_prefix('+').and_then(step_named) {
        return Some(seam(Vec::new(), step.name, 1));
    }
    let (before, after) = word.rsplit_once('+')?;
    let kept = vec![before.to_owned()];
    match (
        step_named(after),
        after.is_empty() && step_named(next).is_some(),
    ) {
        (Some(step), _) => Some(seam(kept, step.name, 1)),
        (None, true) => Some(seam(kept, next, 2)),
        _ => None,
    }
}
