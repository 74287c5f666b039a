//! Options that there are not, that are given twice, or that don't go together.

use clap::error::ContextKind;
use clap::{Arg, Command};

use super::option_names::{OptionMeaning, meanings};
use super::refused::Refused;
use super::slip::{Instead, Slip};
use super::vocabulary::{format_by_name, long_options, step_called};
use crate::cli::pipeline::parsed::Role;
use crate::cli::steps::step;
use crate::prose::nearest;
use crate::values;

/// An option that there is none of.
pub fn unknown_option(refused: &Refused<'_>) -> Option<Slip> {
    let (at, in_front) = refused.first_of(&Role::UnknownOption)?;
    let option = refused.text(&at);
    let slip = match refused.command() {
        Some(command) if !in_front => of_command(refused, command, option, at.word),
        _ => in_front_of_step(refused, option, at.word),
    };
    Some(slip.at(Some(at)))
}

/// An unknown option and the value that hangs on it or comes after it.
struct Given<'a> {
    at: usize,
    bare: &'a str,
    value: Option<&'a str>,
    /// Words that both take.
    both: usize,
}

impl<'a> Given<'a> {
    fn new(refused: &Refused<'a>, option: &'a str, at: usize) -> Self {
        let word = refused.words[at];
        let attached = word
            .get(option.len()..)
            .and_then(|rest| rest.strip_prefix('='));
        // `--at:0x8000`.
        let (option, attached) = match (option.split_once(':'), attached) {
            (Some((option, value)), None) => (option, Some(value)),
            _ => (option, attached),
        };
        let next = refused.words.get(at + 1).copied();
        let next = next.filter(|w| !w.starts_with("--") && (w.len() < 2 || !w.starts_with('-')));
        Self {
            at,
            bare: option.trim_start_matches('-'),
            value: attached.or(next),
            both: 1 + usize::from(attached.is_none() && next.is_some()),
        }
    }
}

fn of_command(refused: &Refused<'_>, command: &Command, option: &str, at: usize) -> Slip {
    let name = command.get_name();
    let given = Given::new(refused, option, at);
    let slip = Slip::new(format!("`{option}` is not an option of `{name}`"));
    let is_step = refused.step().is_some();
    if let Some(run) =
        long_options(refused.root).find(|long| *long == given.bare && *long != "help")
    {
        return for_the_run(refused, slip, &given, run);
    }
    // `-0x8000`.
    if name == step::RELOCATE && values::number(given.bare).is_ok() {
        return slip.write_one(refused.replaced(at, 0, &["--by"]));
    }
    let known = |long: &str| takes_value(refused, long);
    // `-at`, `--AT`, `--drop_outside`.
    let plain = given.bare.to_lowercase().replace('_', "-");
    if let Some(takes) = known(&plain) {
        return renamed(refused, slip, &given, &plain, takes);
    }
    for does in meanings(name, given.bare) {
        let value = given.value;
        match does {
            OptionMeaning::Option(long) => {
                if let Some(takes) = known(long) {
                    return renamed(refused, slip, &given, long, takes);
                }
            }
            OptionMeaning::Plain if is_step => {
                let value: Vec<&str> = value.into_iter().collect();
                return slip.write_one(refused.replaced(at, given.both, &value));
            }
            OptionMeaning::Nothing => {
                return slip.write_one(refused.replaced(at, 1, &[]));
            }
            OptionMeaning::Kind(kind) => {
                let mut words: Vec<&str> = vec![kind];
                words.extend(value);
                return slip.write_one(refused.replaced(at, given.both, &words));
            }
            OptionMeaning::Run(long) if is_step && !refused.around.recipe => {
                return for_the_run(refused, slip, &given, long);
            }
            OptionMeaning::Step(other) if is_step => return as_step(refused, slip, &given, other),
            _ => {}
        }
    }
    if let Some(other) = step_called(&plain).filter(|_| is_step) {
        return as_step(refused, slip, &given, other.name);
    }
    let commands = refused.command().into_iter().chain(refused.innermost());
    let options = commands.flat_map(long_options);
    match nearest(&plain, options).first() {
        Some(near) => {
            let takes = known(near).unwrap_or(true);
            renamed(refused, slip, &given, near, takes)
        }
        None => match nearest(&plain, long_options(refused.root)).first() {
            Some(near) if is_step && !refused.around.recipe => {
                for_the_run(refused, slip, &given, near)
            }
            _ => slip.so(format!("`romloom help {name}` lists its options")),
        },
    }
}

/// Whether the command has a long option of this name, and whether that takes a value.
fn takes_value(refused: &Refused<'_>, long: &str) -> Option<bool> {
    let mut arguments = refused.arguments();
    let arg = arguments.find(|arg| arg.get_long() == Some(long))?;
    Some(arg.get_action().takes_values())
}

/// The same option by its right name.
fn renamed(refused: &Refused<'_>, slip: Slip, given: &Given<'_>, long: &str, takes: bool) -> Slip {
    let option = format!("--{long}");
    let mut words = vec![option.as_str()];
    // A flag leaves the word after it alone.
    let count = match takes {
        true => given.both,
        false => 1,
    };
    words.extend(given.value.filter(|_| takes));
    slip.write_one(refused.replaced(given.at, count, &words))
}

/// The option as a step of its own.
fn as_step(refused: &Refused<'_>, slip: Slip, given: &Given<'_>, name: &str) -> Slip {
    let mut next = vec![name.to_owned()];
    next.extend(given.value.map(str::to_owned));
    let about = step_called(name).map_or("", |step| step.about);
    let before = refused.replaced(given.at, given.both, &[]);
    slip.so(format!("`{name}` is a step of its own: {about}"))
        .write(vec![before, next])
}

/// An option for the whole run that the parser could not take, written before the first step.
fn for_the_run(refused: &Refused<'_>, slip: Slip, given: &Given<'_>, long: &str) -> Slip {
    if refused.around.recipe {
        let fact = format!("`--{long}` concerns the whole run");
        return Slip::new(fact).so(format!("romloom --{long} run RECIPE"));
    }
    let mut options = refused.root.get_arguments();
    let value = options
        .find(|a| a.get_long() == Some(long) && a.get_action().takes_values())
        .map(|a| a.get_value_names().and_then(<[_]>::first))
        .map(|name| name.map_or("VALUE", clap::builder::Str::as_str));
    let mut front = vec![format!("--{long}")];
    front.extend(value.map(|name| given.value.unwrap_or(name).to_owned()));
    let count = if value.is_some() { given.both } else { 1 };
    let rest = refused.replaced(given.at, count, &[]);
    let slip = match value {
        _ if given.bare != long => slip,
        Some(name) => Slip::new(format!("`--{long}` needs a {name} after it")),
        None => Slip::new(format!("`--{long}` takes no value")),
    };
    Slip {
        instead: Some(Box::new(Instead::InFront(front, rest))),
        ..slip
    }
}

/// `-i a.hex -o b.bin`, with no step at all, or an option before one.
fn in_front_of_step(refused: &Refused<'_>, option: &str, at: usize) -> Slip {
    let words = refused.words.iter().copied();
    let files: Vec<&str> = words.filter(|w| !w.starts_with('-')).collect();
    let known = |f: &str| format_by_name(f).is_some();
    let slip = Slip::new(format!("`{option}` is not an option of `romloom`"));
    let own = |words: &[&str]| -> Vec<String> { words.iter().map(|w| (*w).to_owned()).collect() };
    if let ([from, to], true, None) = (files.as_slice(), refused.first, refused.command()) {
        if known(from) && known(to) {
            return slip.write(vec![own(&[step::LOAD, from]), own(&[step::WRITE, to])]);
        }
    }
    let bare = option.trim_start_matches('-');
    if bare == "?" {
        return slip.write_one(vec!["help".into()]);
    }
    let plain = bare.to_lowercase().replace('_', "-");
    // `--show a.hex`: a step with hyphens before it.
    let command = refused.root.find_subcommand(&plain);
    if let (Some(command), None) = (command, refused.command()) {
        return slip.write_one(refused.replaced(at, 1, &[command.get_name()]));
    }
    let run = meanings("", bare).find_map(|does| match does {
        OptionMeaning::Run(long) => Some(long),
        _ => None,
    });
    let near = run.or_else(|| nearest(&plain, long_options(refused.root)).first().copied());
    match near {
        Some(long) => slip.write_one(refused.replaced(at, 1, &[&format!("--{long}")])),
        None => slip.so("`romloom --help` lists them"),
    }
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
        // `show --json hex`: what the way is told comes after it.
        let (at, _) = refused.first_of(&Role::Excess)?;
        let name = refused.name()?;
        let mut words = refused.replaced(at.word, 1, &[]);
        words.insert(name + 1, way.to_owned());
        let slip = Slip::new(format!("`{way}` comes before its options"));
        return Some(slip.write_one(words).at(Some(at)));
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
        true => Slip::new(format!("`{one}` is given twice"))
            .so("give it once")
            .at(first.get(1).cloned()),
        // The caret is under the later of the two.
        false => Slip::new(format!("`{one}` and `{other}` don't go together"))
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
        .find(|at| at.bytes.is_some())?;
    let slip = Slip::new(format!("`{option}` takes no value"));
    Some(
        slip.write_one(refused.replaced(at.word, 1, &[&option]))
            .at(Some(at)),
    )
}
