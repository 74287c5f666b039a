//! What each word of a step is: its name, an option, the value of one, a plain word, or one too many.

use std::any::TypeId;
use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Arg, Command};

use crate::cli::pipeline::parsed::{CommandWords, Role, by_command};
use crate::cli::steps::step;

/// What a word is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Spot {
    /// The name of the step, or of one of its kinds.
    Name,
    /// An option, known or not.
    Option,
    /// The value of an option.
    OfOption(Takes),
    /// A plain word that an argument takes.
    Plain(Takes),
    /// A word that nothing takes.
    Excess,
    /// Before the step, or after `--`.
    Settled,
}

/// What an argument takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Takes {
    /// Any text.
    Text,
    /// The name of a file to read.
    Input,
    /// The name of a file to write.
    Output,
    /// A value that has a form, with the name it has in the help.
    Value(String),
}

/// A step's words.
pub struct Spots {
    /// Which word names the step; none where none does.
    pub name: Option<usize>,
    /// What each word is.
    pub all: Vec<Spot>,
}

/// What the words of a segment are. The definitions must be built.
pub fn spots(root: &Command, words: &[&str]) -> Spots {
    let groups = by_command(root, words);
    // A word before the name that nothing takes is in its place.
    let excess = groups[0].tokens.iter().find(|t| t.role == Role::Excess);
    let name = groups.get(1).and_then(|group| group.name);
    let name = name.filter(|name| excess.is_none_or(|token| token.at.word > *name));
    let mut all = vec![Spot::Settled; words.len()];
    let step = groups.get(1).map_or("", |group| group.command.get_name());
    for group in &groups {
        if let Some(spot) = group.name.and_then(|at| all.get_mut(at)) {
            *spot = Spot::Name;
        }
        let in_front = group.name.is_none();
        for (i, token) in group.tokens.iter().enumerate() {
            let spot = match &token.role {
                Role::Excess => Spot::Excess,
                _ if in_front => continue,
                Role::Option(_) | Role::UnknownOption => Spot::Option,
                Role::Value(id) => value(step, group, id, i),
            };
            // A value that hangs on its option leaves the word an option.
            if let Some(own @ Spot::Settled) = all.get_mut(token.at.word) {
                *own = spot;
            }
        }
    }
    if let Some(dashes) = words.iter().position(|word| *word == "--") {
        all[dashes..].fill(Spot::Settled);
    }
    Spots { name, all }
}

fn value(step: &str, group: &CommandWords<'_>, id: &str, token: usize) -> Spot {
    let Some(arg) = group.argument(id) else {
        return Spot::Excess;
    };
    let takes = takes(step, arg);
    let option = (group.tokens[..token].iter()).any(|t| t.role == Role::Option(id.to_owned()));
    match option {
        true => Spot::OfOption(takes),
        false => Spot::Plain(takes),
    }
}

fn takes(step: &str, arg: &Arg) -> Takes {
    let names = arg.get_value_names().unwrap_or_default();
    let name = names.first().map_or("VALUE", |name| name.as_str());
    let kind = arg.get_value_parser().type_id();
    let is = |other: TypeId| kind == other;
    let is_file = is(TypeId::of::<PathBuf>()) || is(TypeId::of::<OsString>());
    let writes = [step::WRITE, step::SHEET].contains(&step) && arg.is_positional();
    if is_file || name.starts_with("FILE") {
        return match writes {
            true => Takes::Output,
            false => Takes::Input,
        };
    }
    let is_text = is(TypeId::of::<String>()) && !arg.is_positional();
    match is_text || name == "TEXT" {
        true => Takes::Text,
        false => Takes::Value(name.to_owned()),
    }
}
