//! Options that there are not, that are given twice, or that don't go together.

use clap::error::ContextKind;
use clap::{Arg, Command};

use super::refused::Refused;
use super::slip::Slip;
use super::vocabulary::{format_by_name, step_called};
use crate::cli::pipeline::parsed::Role;
use crate::cli::pipeline::words::quoted;
use crate::cli::steps::step;
use crate::prose::nearest;

/// An option that there is none of.
pub fn unknown_option(refused: &Refused<'_>) -> Option<Slip> {
    let (at, in_front) = refused.first_of(&Role::UnknownOption)?;
    let option = refused.text(&at);
    let slip = match refused.step() {
        Some(step) if !in_front => {
            let behind = refused.words.get(at.word + 1);
            let value = behind.filter(|w| !w.starts_with('-'));
            let value = value.map_or(String::new(), |w| format!(" {}", quoted(w)));
            of_step(refused, step.name, option, &value)
        }
        _ => in_front_of_step(refused, option)?,
    };
    Some(slip.at(Some(at)))
}

fn of_step(refused: &Refused<'_>, name: &str, option: &str, value: &str) -> Slip {
    let bare = option.trim_start_matches('-');
    let mut of_run = refused.root.get_arguments();
    if of_run.any(|a| a.get_long() == Some(bare) && bare != "help") {
        return Slip::new(format!("`{option}` concerns the whole run")).so(format!(
            "put it before the first step, as in romloom {option} ..."
        ));
    }
    let nothing = format!("`{option}` is no option of `{name}`");
    if ["o", "out", "output"].contains(&bare) {
        return match name {
            step::WRITE => Slip::new(format!(
                "`{option}` is not needed, the name stands by itself"
            ))
            .so(format!("write{value}")),
            _ => Slip::new(nothing).also(format!("writing is a step of its own: + write{value}")),
        };
    }
    if let Some(other) = step_called(bare) {
        return Slip::new(format!("{nothing}, but `{bare}` is a step"))
            .so(format!("+ {bare}{value} ({})", other.about));
    }
    Slip::new(nothing).so(listed(refused, name, bare))
}

/// `-i a.hex -o b.bin`, with no step at all.
fn in_front_of_step(refused: &Refused<'_>, option: &str) -> Option<Slip> {
    let words = refused.words.iter().copied();
    let files: Vec<&str> = words.filter(|w| !w.starts_with('-')).collect();
    let known = |f: &str| format_by_name(f).is_some();
    let nothing = format!("`{option}` is no option");
    Some(match (files.as_slice(), refused.command()) {
        ([from, to], _) if refused.first && known(from) && known(to) => {
            let line = format!("romloom load {} + write {}", quoted(from), quoted(to));
            Slip::new(nothing).also(format!("files go through steps: {line}"))
        }
        (_, Some(command)) => {
            let name = command.get_name();
            let bare = option.trim_start_matches('-');
            Slip::new(format!("{nothing} of `{name}`")).so(listed(refused, name, bare))
        }
        _ => Slip::new(nothing).so("`romloom --help` lists them"),
    })
}

/// The nearest option, and where all are listed.
fn listed(refused: &Refused<'_>, command: &str, word: &str) -> String {
    let commands = refused.command().into_iter().chain(refused.innermost());
    let options = commands
        .flat_map(Command::get_arguments)
        .filter_map(Arg::get_long);
    let hint = match nearest(word, options).first() {
        Some(near) => format!("did you mean --{near}? "),
        None => String::new(),
    };
    format!("{hint}`romloom help {command}` lists them")
}

/// An argument as a person names it: `--at`, or `FILE`.
fn plain(refused: &Refused<'_>, shown: &str) -> String {
    match refused.argument(shown) {
        Some(arg) => called(arg),
        None => shown.to_owned(),
    }
}

/// The option, or the name of the value where there is none.
pub fn called(arg: &Arg) -> String {
    match (arg.get_long(), arg.get_value_names()) {
        (Some(long), _) => format!("--{long}"),
        (None, Some([name, ..])) => name.to_string(),
        _ => arg.get_id().to_string(),
    }
}

/// Two arguments that exclude each other, or one given twice.
pub fn conflict(refused: &Refused<'_>) -> Option<Slip> {
    let other = refused.says(ContextKind::PriorArg);
    if let Some(way) = refused.says(ContextKind::InvalidSubcommand) {
        // `show --json hex`: what the way is told belongs behind it.
        let (at, _) = refused.first_of(&Role::Excess)?;
        let step = refused.step()?.name;
        let option = other.map_or(String::new(), |o| format!(" {}", plain(refused, o)));
        let slip = Slip::new(format!("`{way}` comes before its options"));
        return Some(slip.so(format!("{step} {way}{option}")).at(Some(at)));
    }
    let one = refused.says(ContextKind::InvalidArg)?;
    let places = |shown: &str| {
        let arg = refused.argument(shown)?;
        let mut places = refused.options(arg);
        places.extend(
            refused
                .values(arg)
                .into_iter()
                .filter(|_| arg.is_positional()),
        );
        Some(places)
    };
    let (first, second) = (places(one)?, places(other?)?);
    let (one, other) = (plain(refused, one), plain(refused, other?));
    Some(match one == other {
        true => Slip::new(format!("{one} is given twice"))
            .so("once is enough")
            .at(first.get(1).cloned()),
        // The caret is under the later of the two.
        false => Slip::new(format!("{one} and {other} don't go together"))
            .so("use one of them")
            .at(first.into_iter().chain(second).max_by_key(|at| at.word)),
    })
}

/// A flag with a value: `--follow=yes`.
pub fn needless_value(refused: &Refused<'_>) -> Option<Slip> {
    let arg = refused.argument(refused.says(ContextKind::InvalidArg)?)?;
    let option = called(arg);
    let at = refused
        .options(arg)
        .into_iter()
        .find(|at| at.bytes.is_some());
    Some(
        Slip::new(format!("{option} takes no value"))
            .so(format!("write {option} alone"))
            .at(at),
    )
}
