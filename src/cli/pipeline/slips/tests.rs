//! Every step, with whatever can go wrong with its words.

use std::ffi::OsString;
use std::path::Path;

use clap::{Arg, Command};

use super::{Around, answer_line};
use crate::cli::pipeline::commands::full_grammar;
use crate::cli::steps::STEPS;

/// What a parser of command lines says, and we don't.
const OF_THE_PARSER: &[&str] = &[
    "invalid",
    "argument",
    "is required",
    "tip:",
    "Usage",
    "cannot",
    "subcommand",
    "unrecognized",
    "possible values",
    "out of range",
    "found in string",
    "..=",
    "<",
    "clap",
    "no step or command `romloom`",
];

fn root() -> Command {
    let mut root = full_grammar().into_root();
    root.build();
    root
}

fn around() -> Around<'static> {
    Around {
        folder: Path::new("no-such-folder"),
        first: false,
        recipe: false,
    }
}

fn os(words: &[String]) -> Vec<OsString> {
    words.iter().map(OsString::from).collect()
}

/// The steps of each example's lines, word by word.
fn examples() -> Vec<(&'static str, Vec<Vec<String>>)> {
    let lines = |example: &'static str| {
        let lines = example.lines().filter_map(|l| l.strip_prefix("$ romloom "));
        lines.flat_map(|line| {
            let words = shlex::split(line).unwrap();
            let steps = words.split(|w| w == "+").map(<[String]>::to_vec);
            steps.collect::<Vec<_>>()
        })
    };
    let all = STEPS.iter().map(|step| {
        let own = lines(step.example).filter(|words| words[0] == step.name);
        (step.name, own.collect())
    });
    all.collect()
}

/// Any step's words with those of any other after them: both are found, word for word, with their options.
#[test]
fn a_plus_is_put_in_between_any_two_steps() {
    let mut root = root();
    let all = examples();
    let mut tried = 0;
    for (name, own) in &all {
        assert!(!own.is_empty(), "{name} has no example");
        for words in own {
            for (other, theirs) in &all {
                let next = &theirs[0];
                let mut line = words.clone();
                line.extend(next.iter().cloned());
                let answer = answer_line(&mut root, &[os(&line)], around());
                let answer = answer.unwrap_or_else(|| panic!("nothing is said of {line:?}"));
                let fact = format!("a + is missing before `{other}`");
                assert_eq!(answer.slip.fact, fact, "{line:?}");
                assert_eq!(answer.slip.at.unwrap().word, words.len(), "{line:?}");
                let shown = |words: &[String]| {
                    let words = words.iter().map(|w| super::super::words::quoted(w));
                    words.collect::<Vec<_>>().join(" ")
                };
                let wanted = format!("romloom {} + {}", shown(words), shown(next));
                assert_eq!(answer.line.unwrap(), wanted);
                tried += 1;
            }
        }
    }
    assert!(tried >= STEPS.len() * STEPS.len());
}

/// Several at once, and glued ones.
#[test]
fn every_forgotten_plus_of_a_line_is_put_in() {
    let mut root = root();
    let mut line = |line: &str| {
        let words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        let answer = answer_line(&mut root, &[os(&words)], around());
        answer.and_then(|answer| answer.line).unwrap_or_default()
    };
    for (typed, wanted) in [
        ("load a.hex write b.bin", "load a.hex + write b.bin"),
        ("load a.hex +write b.bin", "load a.hex + write b.bin"),
        ("load a.hex+ write b.bin", "load a.hex + write b.bin"),
        ("load a.hex+write b.bin", "load a.hex + write b.bin"),
        (
            "load a.hex pad 32K --at 0x8000 fill FF stamp sum16 --across 0-1 --at 2 show",
            "load a.hex + pad 32K --at 0x8000 + fill FF + stamp sum16 --across 0-1 --at 2 + show",
        ),
        (
            "load a.hex split lanes 2 --names even,odd show hex 0-7 write {name}.bin",
            "load a.hex + split lanes 2 --names even,odd + show hex 0-7 + write {name}.bin",
        ),
        ("show+digest+write b.bin", "show + digest + write b.bin"),
        ("show+digest+swap", "show + digest + swap 4"),
        ("load a.hex --name write", ""),
        ("load a+b.hex", ""),
    ] {
        let wanted = match wanted.is_empty() {
            true => String::new(),
            false => format!("romloom {wanted}"),
        };
        assert_eq!(line(typed), wanted, "{typed}");
    }
    // A line of nothing but names of steps is no reason to take long.
    let many = vec!["write"; 2_000].join(" ");
    assert!(line(&many).len() > 2_000);
}

/// All lines that the parser can refuse in a way of its own, for one step or kind of a step.
fn refused(path: &[&str], command: &Command) -> Vec<Vec<String>> {
    let name: Vec<String> = path.iter().map(|w| (*w).to_owned()).collect();
    let value = |arg: &Arg| {
        let possible = arg.get_possible_values();
        let names = arg.get_value_names().unwrap_or_default();
        let name = names.first().map_or("", |name| name.as_str());
        possible.first().map_or_else(
            || match name {
                "BYTES" | "BYTE" => "FF".to_owned(),
                "RANGE" => "0-1".to_owned(),
                "ALGO" => "sum16".to_owned(),
                "KIND" => "telltale".to_owned(),
                "+N|-N" => "+1".to_owned(),
                _ => "2".to_owned(),
            },
            |possible| possible.get_name().to_owned(),
        )
    };
    let required: Vec<String> = (command.get_arguments())
        .filter(|arg| arg.is_required_set())
        .flat_map(|arg| {
            let option = arg.get_long().map(|long| format!("--{long}"));
            option.into_iter().chain([value(arg)])
        })
        .collect();
    let with = |more: &[&str]| {
        let mut line = name.clone();
        line.extend(required.iter().cloned());
        line.extend(more.iter().map(|w| (*w).to_owned()));
        line
    };
    let mut lines = vec![
        name.clone(),
        with(&["--frobnicate"]),
        with(&["-z"]),
        with(&["zz", "zz"]),
    ];
    let wrong = [
        "zz",
        "",
        "-1",
        "99999999999999999999999",
        "é",
        "two",
        "1.5",
        "0x",
        "--",
    ];
    for arg in command.get_arguments() {
        let Some(long) = arg.get_long().filter(|long| *long != "help") else {
            lines.extend(wrong.iter().map(|wrong| {
                let mut line = name.clone();
                line.push((*wrong).to_owned());
                line
            }));
            continue;
        };
        let option = format!("--{long}");
        lines.push(with(&[&option]));
        lines.push(with(&[&option, &option]));
        lines.push(with(&[&format!("{option}=")]));
        lines.push(with(&[&option, "2", &option, "2"]));
        for wrong in wrong {
            lines.push(with(&[&option, wrong]));
            lines.push(with(&[&format!("{option}={wrong}")]));
        }
        for other in command.get_arguments().filter_map(Arg::get_long) {
            lines.push(with(&[&option, "2", &format!("--{other}"), "2"]));
            lines.push(with(&[&option, &format!("--{other}")]));
        }
    }
    lines
}

/// Nothing of the parser's own wording reaches a person, whatever it refuses.
#[test]
fn the_parser_has_no_say() {
    let mut root = root();
    let mut lines = Vec::new();
    for step in root.get_subcommands() {
        let name = step.get_name();
        lines.extend(refused(&[name], step));
        for kind in step.get_subcommands() {
            lines.extend(refused(&[name, kind.get_name()], kind));
        }
    }
    let mut kinds = std::collections::BTreeSet::new();
    let mut refusals = 0;
    // A share of them, unless all are asked for.
    let one_in = match std::env::var_os("ROMLOOM_THOROUGH") {
        Some(_) => 1,
        None => 7,
    };
    let bare = |words: &[String]| words.len() <= 2 && !words.concat().contains('-');
    for (i, words) in lines.iter().enumerate() {
        if i % one_in != 0 && !bare(words) {
            continue;
        }
        let line = std::iter::once("romloom".into()).chain(os(words));
        match root.try_get_matches_from_mut(line) {
            Err(error) if error.use_stderr() => kinds.insert(format!("{:?}", error.kind())),
            _ => continue,
        };
        refusals += 1;
        let answer = answer_line(&mut root, &[os(words)], around());
        let answer = answer.unwrap_or_else(|| panic!("nothing is said of {words:?}"));
        let said: Vec<&str> = std::iter::once(answer.slip.fact.as_str())
            .chain(answer.slip.advice.as_deref())
            .collect();
        for said in said {
            // What the person typed may be told.
            let ours = words.iter().fold(said.to_owned(), |said, word| {
                said.replace(&format!("`{word}`"), "")
            });
            for word in OF_THE_PARSER {
                assert!(!ours.contains(word), "{words:?}\n{said}\n{word}");
            }
        }
        assert!(
            !answer.slip.fact.contains("make no sense together"),
            "{words:?}"
        );
    }
    assert!(refusals > 5000 / one_in, "{refusals}");
    // Every sort of refusal that these definitions can lead to; a share of the lines may not meet the rarest.
    const ALL: [&str; 9] = [
        "ArgumentConflict",
        "DisplayHelpOnMissingArgumentOrSubcommand",
        "InvalidSubcommand",
        "InvalidValue",
        "MissingRequiredArgument",
        "TooManyValues",
        "UnknownArgument",
        "ValueValidation",
        "WrongNumberOfValues",
    ];
    assert!(
        kinds.iter().all(|kind| ALL.contains(&kind.as_str())),
        "{kinds:?}"
    );
    assert!(
        kinds.len() + usize::from(one_in > 1) >= ALL.len(),
        "{kinds:?}"
    );
}
