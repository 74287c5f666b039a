//! Steps that there are not, and words behind them that say no way to do it.

use std::path::Path;

use clap::Command;
use clap::error::ContextKind;

use super::refused::Refused;
use super::slip::Slip;
use super::vocabulary::format_by_name;
use crate::cli::pipeline::parsed::Role;
use crate::cli::pipeline::words::quoted;
use crate::cli::steps::{StepEntry, step};
use crate::prose::nearest;
use crate::values;

/// What people mean by other words.
#[derive(Clone, Copy)]
enum Meant {
    /// From one format to another.
    Convert,
    /// Several files into one.
    Merge,
    /// A step, and the words behind it.
    Step(&'static str, &'static str),
}

use Meant::{Convert, Merge, Step};

/// Words that people try first, and what does the work.
const OTHER_WORDS: &[(&[&str], Meant)] = &[
    (&["convert", "conv", "make", "transform"], Convert),
    (&["merge", "combine", "concat", "cat"], Merge),
    (&["open", "read", "input", "import"], Step(step::LOAD, "")),
    (&["save", "output", "export", "out"], Step(step::WRITE, "")),
    (&["verify", "diff", "cmp", "equal"], Step(step::COMPARE, "")),
    (
        &["dump", "hexdump", "view", "print", "hex"],
        Step(step::SHOW, " hex"),
    ),
    (&["info", "map", "list"], Step(step::SHOW, "")),
    (&["checksum", "sum", "hash"], Step(step::DIGEST, "")),
    (
        &["move", "offset", "shift", "rebase"],
        Step(step::RELOCATE, ""),
    ),
    (&["crop", "cut", "trim", "slice"], Step(step::KEEP, "")),
    (&["delete", "remove", "erase", "rm"], Step(step::DROP, "")),
    (
        &["set", "poke", "replace", "overwrite"],
        Step(step::PATCH, ""),
    ),
    (&["interleave"], Step(step::JOIN, " lanes")),
    (&["deinterleave"], Step(step::SPLIT, " lanes 2")),
    (&["search", "grep"], Step(step::FIND, "")),
    (&["mirror", "duplicate"], Step(step::REPEAT, "")),
    (&["byteswap"], Step(step::SWAP, " 2")),
    (&["crc", "sign"], Step(step::STAMP, "")),
    (&["place"], Step(step::SEAT, "")),
];

/// A word where a step, or the way in which a step works, is meant.
pub fn unknown_name(refused: &Refused<'_>) -> Option<Slip> {
    let (at, in_front) = refused.first_of(&Role::Excess)?;
    let word = refused.text(&at);
    let slip = match refused.step() {
        Some(step) if !in_front => unknown_way(refused, step, word),
        _ => unknown_step(refused, word, &refused.words[at.word + 1..]),
    };
    Some(slip.at(Some(at)))
}

fn unknown_step(refused: &Refused<'_>, word: &str, rest: &[&str]) -> Slip {
    let path = Path::new(word);
    let extension = path.extension().and_then(|e| e.to_str());
    if extension == Some("loom") {
        let run = format!("romloom run {}", quoted(word));
        let looks = format!("`{word}` looks like a recipe");
        return match refused.first {
            true => Slip::new(looks).so(run),
            false => Slip::new(format!("{looks}, and it runs by itself")).so(run),
        };
    }
    if path.is_file() || format_by_name(word).is_some() {
        let file = quoted(word);
        let looks = format!("`{word}` looks like a file");
        return match refused.first {
            true => Slip::new(format!("{looks}, and a pipeline begins with a step"))
                .so(format!("romloom load {file} + show")),
            false => Slip::new(format!("{looks}, and behind a + stands a step")).so(format!(
                "several files go behind one `load` without a +, or write + load {file}"
            )),
        };
    }
    let nothing = Slip::new(format!("`{word}` is no step and no command"));
    let lower = word.to_lowercase();
    let meant = OTHER_WORDS
        .iter()
        .find(|(others, _)| others.contains(&lower.as_str()))
        .map(|(_, meant)| *meant);
    let plain = rest.iter().all(|w| !w.starts_with('-'));
    if let Some(line) = meant
        .filter(|_| plain && refused.first)
        .and_then(|meant| whole_line(meant, rest))
    {
        return nothing.also(format!("this does it: {line}"));
    }
    let names = refused.root.get_subcommands().map(Command::get_name);
    let near = match meant {
        Some(Convert | Merge) => None,
        Some(Step(name, words)) => Some(format!("{name}{words}")),
        None => nearest(word, names).first().map(|near| (*near).to_owned()),
    };
    let hint = match near {
        Some(near) => format!("did you mean `{near}`? "),
        None => String::new(),
    };
    nothing.so(format!("{hint}`romloom steps` lists the steps"))
}

/// The line that does with these files what the word says.
fn whole_line(meant: Meant, files: &[&str]) -> Option<String> {
    Some(match (meant, files) {
        (Convert, [from, to]) => {
            format!("romloom load {} + write {}", quoted(from), quoted(to))
        }
        (Merge, [from @ .., to]) if from.len() > 1 => {
            let raw = from.iter().filter(|f| format_by_name(f) == Some("raw"));
            let follow = if raw.count() > 1 { " --follow" } else { "" };
            let from: Vec<String> = from.iter().map(|w| quoted(w)).collect();
            let (from, to) = (from.join(" "), quoted(to));
            format!("romloom load {from}{follow} + write {to}")
        }
        (Step(step::COMPARE, _), [one, two]) => {
            format!("romloom load {} + compare {}", quoted(one), quoted(two))
        }
        (Step(name @ (step::DIGEST | step::SHOW), words), [file]) => {
            format!("romloom load {} + {name}{words}", quoted(file))
        }
        _ => return None,
    })
}

/// `split 2`.
fn unknown_way(refused: &Refused<'_>, entry: &StepEntry, word: &str) -> Slip {
    let how = || Slip::new("`split` needs a word that says how");
    let nothing = || Slip::new(format!("`{word}` means nothing to `{}`", entry.name));
    match (entry.name, refused.says(ContextKind::SuggestedSubcommand)) {
        (step::SPLIT, _) if values::number(word).is_ok() => how().so(format!(
            "split lanes {word} deals the bytes out in turn, split banks {word} cuts the image into blocks"
        )),
        (step::SPLIT, _) if ["even", "odd"].contains(&word) => {
            how().so("split lanes 2 --names even,odd")
        }
        (_, Some(near)) => nothing().so(format!("did you mean `{near}`?")),
        _ => nothing().so(format!("it takes {}", ways(refused, entry))),
    }
}

/// A step without the word that says how it works.
pub fn missing_way(refused: &Refused<'_>) -> Option<Slip> {
    let step = refused.step()?;
    let fact = format!("`{}` needs a word that says what", step.name);
    Some(Slip::new(fact).so(ways(refused, step)))
}

fn ways(refused: &Refused<'_>, step: &StepEntry) -> String {
    let inner = refused.command().into_iter();
    let ways: Vec<&str> = inner
        .flat_map(Command::get_subcommands)
        .map(Command::get_name)
        .filter(|w| *w != "help")
        .collect();
    match ways.is_empty() {
        true => format!("`romloom help {}` explains it", step.name),
        false => format!("{} (see `romloom help {}`)", ways.join(", "), step.name),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::pipeline::full_grammar;

    /// What is advised for other words is a line that the parser takes as far as it goes, and no word is a step's own.
    #[test]
    fn other_words_lead_to_steps() {
        let mut root = full_grammar().into_root();
        root.build();
        for (words, meant) in OTHER_WORDS {
            for word in *words {
                assert!(root.find_subcommand(word).is_none(), "{word}");
            }
            let Step(name, behind) = meant else {
                continue;
            };
            let step = root.find_subcommand(name).unwrap();
            let kind = behind.split_whitespace().next();
            let kinds = step.get_subcommands().count() > 0;
            if let Some(kind) = kind.filter(|_| kinds) {
                assert!(step.find_subcommand(kind).is_some(), "{name} {kind}");
            }
        }
    }
}
