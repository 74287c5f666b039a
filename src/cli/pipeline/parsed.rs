//! Which word of a step is which argument, as the parser counts them.

use clap::parser::ValueSource;
use clap::{Arg, ArgMatches, Command};

use super::written::WordRange;
use crate::cli::bench::Argument;

/// What a word, or a part of one, is to the parser.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Role {
    /// The word of an option or flag: `--at`.
    Option(String),
    /// A value, with the id of its argument.
    Value(String),
    /// An unknown option, without its `=` and value.
    UnknownOption,
    /// A word that no argument takes.
    Excess,
}

/// A word, or a part of one, and what it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    /// What it is.
    pub role: Role,
    /// Where it is.
    pub at: WordRange,
}

/// The words that belong to one command: the root, a step, or a kind of a step as `split lanes`.
pub struct CommandWords<'c> {
    /// The command.
    pub command: &'c Command,
    /// Which word names it; none for the root.
    pub name: Option<usize>,
    /// Its words, the name not among them, in order.
    pub tokens: Vec<Token>,
}

impl CommandWords<'_> {
    /// The argument of this id.
    pub fn argument(&self, id: &str) -> Option<&Arg> {
        self.command.get_arguments().find(|a| a.get_id() == id)
    }
}

/// The words of a segment, command by command. The definitions must be built as far as the words use them.
pub fn by_command<'c>(root: &'c Command, words: &[&str]) -> Vec<CommandWords<'c>> {
    let mut groups = vec![CommandWords {
        command: root,
        name: None,
        tokens: Vec::new(),
    }];
    let mut at = 0;
    let mut trailing = false;
    let mut plain = 0;
    while at < words.len() {
        let word = words[at];
        let Some(group) = groups.last_mut() else {
            break;
        };
        if !trailing && word == "--" {
            trailing = true;
        } else if !trailing && word.len() > 1 && word.starts_with('-') {
            at += option(group, words, at);
        } else if let Some(command) = inner(group, word).filter(|_| !trailing) {
            plain = 0;
            groups.push(CommandWords {
                command,
                name: Some(at),
                tokens: Vec::new(),
            });
        } else {
            let mut positionals = group.command.get_positionals();
            match positionals.nth(plain) {
                Some(arg) => {
                    values(group, arg, at, word, 0);
                    plain += usize::from(!takes_more(arg));
                }
                None => group.tokens.push(Token {
                    role: Role::Excess,
                    at: WordRange::whole(at),
                }),
            }
        }
        at += 1;
    }
    groups
}

/// The command inside that a word names, where one may be.
fn inner<'c>(group: &CommandWords<'c>, word: &str) -> Option<&'c Command> {
    let late = group.command.is_args_conflicts_with_subcommands_set() && !group.tokens.is_empty();
    group.command.find_subcommand(word).filter(|_| !late)
}

fn takes_more(arg: &Arg) -> bool {
    arg.get_num_args().is_some_and(|n| n.max_values() > 1)
        || matches!(arg.get_action(), clap::ArgAction::Append)
}

/// Takes in the option at `words[at]`, and says how many further words are its values.
fn option(group: &mut CommandWords<'_>, words: &[&str], at: usize) -> usize {
    let word = words[at];
    let (name, attached) = match word.split_once('=') {
        Some((name, value)) => (name, Some(value)),
        None => (word, None),
    };
    let mut arguments = group.command.get_arguments();
    let found = arguments.find(|a| match name.strip_prefix("--") {
        Some(long) => a.get_long() == Some(long),
        None => a
            .get_short()
            .is_some_and(|s| name.strip_prefix('-') == Some(s.to_string().as_str())),
    });
    let name_only = WordRange {
        word: at,
        bytes: attached.map(|_| 0..name.len()),
    };
    let Some(arg) = found else {
        group.tokens.push(Token {
            role: Role::UnknownOption,
            at: name_only,
        });
        return 0;
    };
    group.tokens.push(Token {
        role: Role::Option(arg.get_id().to_string()),
        at: name_only,
    });
    if !arg.get_action().takes_values() {
        return 0;
    }
    if let Some(value) = attached {
        values(group, arg, at, value, name.len() + 1);
        return 0;
    }
    let most = arg.get_num_args().map_or(1, |n| n.max_values());
    let is_value = |w: &&&str| arg.is_allow_hyphen_values_set() || !is_option(w);
    let behind = words[at + 1..].iter().take(most);
    let behind = behind.take_while(is_value).count();
    for (i, word) in words.iter().enumerate().skip(at + 1).take(behind) {
        values(group, arg, i, word, 0);
    }
    behind
}

/// Whether the parser takes a word for an option before it takes it for a value.
fn is_option(word: &str) -> bool {
    word.len() > 1 && word.starts_with('-')
}

/// Takes in the values in `text`, which begins at this byte of the word.
fn values(group: &mut CommandWords<'_>, arg: &Arg, word: usize, text: &str, from: usize) {
    let mut push = |bytes| {
        group.tokens.push(Token {
            role: Role::Value(arg.get_id().to_string()),
            at: WordRange { word, bytes },
        });
    };
    match arg.get_value_delimiter() {
        Some(delimiter) if text.contains(delimiter) => {
            let mut from = from;
            for value in text.split(delimiter) {
                push(Some(from..from + value.len()));
                from += value.len() + delimiter.len_utf8();
            }
        }
        _ if from == 0 => push(None),
        _ => push(Some(from..from + text.len())),
    }
}

/// Where the arguments of a step are written.
#[derive(Clone, Debug, Default)]
pub struct Places {
    /// By id, the innermost command first; each with the words of its values, or of its flag.
    given: Vec<(String, Vec<WordRange>)>,
}

impl Places {
    /// Those of a segment that was parsed into these matches, counted from the step's name on.
    pub fn of(groups: Vec<CommandWords<'_>>, root_matches: &ArgMatches) -> Self {
        let mut given = Vec::new();
        let mut groups = groups.into_iter();
        // What is before the step is not the step's.
        groups.next();
        let mut matches = root_matches;
        let mut first = None;
        for group in groups {
            let Some((_, inner)) = matches.subcommand() else {
                break;
            };
            matches = inner;
            let first = *first.get_or_insert(group.name.unwrap_or(0));
            let mut here = group_places(&group, matches, first);
            here.append(&mut given);
            given = here;
        }
        Self { given }
    }

    /// The word of an argument's value, or of the flag; none where it was not given.
    pub fn find(&self, argument: Argument) -> Option<&WordRange> {
        let (_, values) = self.given.iter().find(|(id, _)| id == argument.id)?;
        values.get(argument.value)
    }
}

/// The arguments given to one command.
fn group_places(
    group: &CommandWords<'_>,
    matches: &ArgMatches,
    first: usize,
) -> Vec<(String, Vec<WordRange>)> {
    let mut out = Vec::new();
    for id in matches.ids() {
        if matches.value_source(id.as_str()) != Some(ValueSource::CommandLine) {
            continue;
        }
        // The parser counts options, flags and values alike, from 1.
        let indices = matches.indices_of(id.as_str()).into_iter().flatten();
        let tokens = indices.filter_map(|i| group.tokens.get(i.checked_sub(1)?));
        let places = tokens.map(|token| WordRange {
            word: token.at.word.saturating_sub(first),
            bytes: token.at.bytes.clone(),
        });
        let places: Vec<WordRange> = places.collect();
        if !places.is_empty() {
            out.push((id.to_string(), places));
        }
    }
    out
}

#[cfg(test)]
mod tests;
