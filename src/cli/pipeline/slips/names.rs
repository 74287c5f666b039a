//! Steps that there are not, and words after a step's name that say no way to do it.

use clap::Command;
use clap::error::ContextKind;

use super::bench::out_name;
use super::other_words::{Meant, meaning_of, sum_called};
use super::refused::Refused;
use super::slip::Slip;
use super::vocabulary::{format_by_name, is_file as is_there, looks_like_file, step_named};
use crate::cli::pipeline::parsed::Role;
use crate::cli::steps::{StepEntry, step};
use crate::parts;
use crate::prose::nearest;
use crate::values;

/// A word where a step, or the way in which a step works, is meant.
pub fn unknown_name(refused: &Refused<'_>) -> Option<Slip> {
    let (at, in_front) = refused.first_of(&Role::Excess)?;
    let slip = match refused.step() {
        Some(step) if !in_front => unknown_way(refused, step, at.word),
        _ => unknown_step(refused, at.word),
    };
    Some(slip.at(Some(at)))
}

fn unknown_step(refused: &Refused<'_>, at: usize) -> Slip {
    let word = refused.words[at];
    let rest = &refused.words[at + 1..];
    if word.ends_with(".loom") {
        let slip = Slip::new(format!("`{word}` is a recipe, and `run` runs it"));
        return match refused.first {
            true => slip.write_one(refused.replaced(at, 0, &["run"])),
            false => slip.so(format!("romloom run {word}")),
        };
    }
    if looks_like_file(refused.around.folder, word) {
        let slip = Slip::new(format!("`{word}` is a file, and after a + comes a step"));
        return slip.write_one(refused.replaced(at, 0, &[step::LOAD]));
    }
    let slip = Slip::new(format!("there is no step or command `{word}`"));
    let lists = "`romloom steps` lists the steps";
    if let Some(sum) = sum_called(word) {
        return slip.write_one(refused.replaced(at, 1, &[step::DIGEST, sum]));
    }
    if parts::find(word).is_ok() {
        let slip = Slip::new(format!("`{word}` is a part, and a line begins with a step"));
        return slip.write_one(refused.replaced(at, rest.len() + 1, &["help", word]));
    }
    // `pad=32K`, `pad(32K)`.
    if let Some((name, value)) = word.split_once(['=', ':', '(']) {
        if let Some(step) = step_named(name) {
            let value = value.trim_end_matches(')');
            let values = value
                .split(',')
                .map(str::trim)
                .filter(|value| !value.is_empty());
            let words: Vec<&str> = std::iter::once(step.name).chain(values).collect();
            return slip.write_one(refused.replaced(at, 1, &words));
        }
    }
    // Only what is another word for a step has its words after it; what it is mistyped for has too.
    let Some(meant) = meaning_of(word) else {
        let names = refused.root.get_subcommands().map(Command::get_name);
        return match nearest(word, names).first() {
            Some(near) => slip.write_one(refused.replaced(at, 1, &[near])),
            None => slip.so(lists),
        };
    };
    match meant {
        Meant::Say(how) => slip.so(how),
        Meant::Command(..) if !refused.first || refused.around.recipe => {
            slip.so(format!("{lists}, `romloom help` the commands"))
        }
        Meant::Command(name, words) => {
            let words = std::iter::once(name).chain(words.split_whitespace());
            let words: Vec<&str> = words.collect();
            let alone = ["help", "steps", "formats", "--version"].contains(&name);
            let taken = if alone { rest.len() + 1 } else { 1 };
            slip.write_one(refused.replaced(at, taken, &words))
        }
        Meant::Step(name, words) => {
            let words = std::iter::once(name).chain(words.split_whitespace());
            let words: Vec<&str> = words.collect();
            slip.write_one(refused.replaced(at, 1, &words))
        }
        Meant::Convert | Meant::Merge => slip.write(through_files(refused, at, meant)),
    }
}

/// `convert a.hex c.bin`, `merge a.hex b.hex c.bin`; the steps after them stay.
fn through_files(refused: &Refused<'_>, at: usize, meant: Meant) -> Vec<Vec<String>> {
    let rest = &refused.words[at + 1..];
    let own = |words: &[&str]| -> Vec<String> { words.iter().map(|w| (*w).to_owned()).collect() };
    let front = own(&refused.words[..at]);
    let step = rest.iter().position(|word| step_named(word).is_some());
    let (rest, later) = rest.split_at(step.unwrap_or(rest.len()));
    // What files are linked by elsewhere, and what is not a file at all.
    let linking = [
        "to", "into", "as", "and", "with", "from", "->", "=>", ">", "=", ",",
    ];
    let is_option = |word: &&&str| word.starts_with('-') && word.len() > 1;
    let files = rest
        .iter()
        .filter(|w| !linking.contains(w) && !is_option(w));
    let files: Vec<&str> = files.copied().collect();
    let is_file = |word: &&&str| !word.starts_with('-') || word.len() == 1;
    // A file that is there is one of those to merge.
    let exists = |to: &&str| is_there(refused.around.folder, to);
    let least = match meant {
        Meant::Merge if files.last().is_some_and(exists) => usize::MAX,
        Meant::Merge => 3,
        _ => 2,
    };
    let (from, to) = match files.split_last() {
        Some((to, from)) if files.iter().filter(is_file).count() >= least && later.is_empty() => {
            (own(from), Some((*to).to_owned()))
        }
        _ => (own(&files), None),
    };
    let raw = from
        .iter()
        .filter(|f| format_by_name(f) == Some("raw"))
        .count();
    let out = out_name("", raw == from.len());
    let mut load = front;
    load.push(step::LOAD.into());
    load.extend(from.iter().cloned());
    load.extend(from.is_empty().then(|| "FILE".to_owned()));
    load.extend((raw > 1).then(|| "--follow".to_owned()));
    let mut steps = vec![load];
    if !later.is_empty() {
        steps.push(own(later));
    } else if refused.first {
        steps.push(vec![step::WRITE.into(), to.unwrap_or_else(|| out.into())]);
    } else if let Some(to) = to {
        steps[0].push(to);
    }
    steps
}

/// `split 2`.
fn unknown_way(refused: &Refused<'_>, entry: &StepEntry, at: usize) -> Slip {
    let word = refused.words[at];
    let name = refused.name().unwrap_or(0);
    let slip = Slip::new(format!("`{}` does not know `{word}`", entry.name));
    let put = |words: &[&str]| slip.clone().write_one(refused.replaced(at, 0, words));
    let instead =
        |count, words: &[&str]| slip.clone().write_one(refused.replaced(at, count, words));
    let size = values::number(word).ok();
    match entry.name {
        step::SPLIT => match size {
            Some(2..=16) => return put(&["lanes"]),
            Some(_) => return put(&["banks"]),
            None if ["even", "odd"].contains(&word) => {
                let names = ["lanes", "2", "--names", "even,odd"];
                let taken = refused.words[at..]
                    .iter()
                    .take_while(|w| ["even", "odd"].contains(w));
                return instead(taken.count(), &names);
            }
            None => {}
        },
        step::SHOW
            if values::range(word).is_ok()
                || values::range(word).is_err_and(|e| e.meant().is_some()) =>
        {
            return put(&["hex"]);
        }
        step::SHOW if values::number(word).is_ok() => {
            return instead(1, &["hex", &format!("{word}+256")]);
        }
        step::SHOW if ["diff", "difference", "differences", "against"].contains(&word) => {
            return instead(1, &["changes"]);
        }
        step::SHOW if ["map", "bytes", "all"].contains(&word) => {
            let words: &[&str] = if word == "bytes" { &["hex"] } else { &[] };
            return instead(1, words);
        }
        step::SHOW if looks_like_file(refused.around.folder, word) => return put(&["changes"]),
        step::EXPECT => {
            if sum_called(word).is_some() {
                return put(&["sum"]);
            }
            if ["empty", "erased", "checksum", "crc", "vector"].contains(&word) {
                let way = match word {
                    "checksum" | "crc" => &["sum"][..],
                    "vector" => &["pointer"],
                    _ => &["blank"],
                };
                return instead(1, way);
            }
        }
        _ => {}
    }
    let ways = innermost_ways(refused);
    // `lane`, `bank`, `HEX`.
    let near = refused.says(ContextKind::SuggestedSubcommand);
    let near = near.or_else(|| nearest(word, ways.iter().copied()).first().copied());
    match near.filter(|near| ways.contains(near)) {
        Some(near) => slip.write_one(refused.replaced(at.max(name), 1, &[near])),
        None => slip.so(format!("it takes {}", ways_told(refused, entry))),
    }
}

/// A step without the word that says how it works.
pub fn missing_way(refused: &Refused<'_>) -> Option<Slip> {
    let step = refused.step()?;
    let fact = format!("`{}` needs a word that says what", step.name);
    Some(Slip::new(fact).so(ways_told(refused, step)))
}

fn innermost_ways<'a>(refused: &Refused<'a>) -> Vec<&'a str> {
    let inner = refused.command().into_iter();
    let ways = inner
        .flat_map(Command::get_subcommands)
        .map(Command::get_name);
    ways.filter(|way| *way != "help").collect()
}

fn ways_told(refused: &Refused<'_>, step: &StepEntry) -> String {
    let ways = innermost_ways(refused);
    match ways.is_empty() {
        true => format!("`romloom help {}` explains it", step.name),
        false => format!(
            "{} (`romloom help {}` explains them)",
            ways.join(", "),
            step.name
        ),
    }
}
