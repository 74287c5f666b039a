//! Words to steps. The same definitions parse a command line and a recipe line, and print the help.

use std::ffi::OsString;
use std::path::Path;

use clap::error::ErrorKind;
use clap::parser::ValueSource;
use clap::{ArgMatches, Args, Command, FromArgMatches};

use super::parsed::{self, Places, Role};
use super::plan::PlannedStep;
use super::refusal::{Asked, Refusal};
use super::run_options::{self, RunOptions};
use super::slips::{self, Around, LineAnswer, Slip};
use super::written::WordRange;
use crate::cli::bench::on_output;
use crate::cli::report::Style;
use crate::cli::steps;

/// What the first segment of a command line asks for.
pub enum Request {
    /// A pipeline that begins with this step, and which of the words names it.
    Step(PlannedStep, usize),
    /// A command of its own.
    Command(String, ArgMatches),
}

/// A command of its own, with its line for lists.
pub type ListedCommand = (Command, &'static str);

/// Whether a step or command of this name is needed.
pub type IsNamed<'a> = &'a dyn Fn(&str) -> bool;

/// The grammar, built once per run; a step's arguments are built when it is used.
pub struct Grammar {
    commands: fn(IsNamed<'_>) -> Vec<ListedCommand>,
    root: Command,
    /// Whether all steps and commands are in it, and all help.
    is_whole: bool,
    /// All of it built, for answers; made when one is needed first.
    built: Option<Command>,
}

/// Splits arguments at each lone `+`.
///
/// # Errors
/// A `+` without a step on one of its sides; the word is that `+`.
pub fn segments(args: &[OsString]) -> Result<Vec<Vec<OsString>>, Slip> {
    let segments: Vec<Vec<OsString>> = args.split(|a| a == "+").map(<[_]>::to_vec).collect();
    let empty = segments.iter().position(Vec::is_empty);
    let Some(empty) = empty.filter(|_| segments.len() > 1) else {
        return Ok(segments);
    };
    let words: usize = segments[..empty].iter().map(Vec::len).sum();
    // So many words and lone + are before the place.
    let gap = words + empty;
    let (fact, plus) = match empty {
        0 => ("a step is missing before the first +", 0),
        i if i + 1 == segments.len() => ("a step is missing after the last +", gap - 1),
        _ => ("a step is missing between two +", gap),
    };
    let slip = Slip::new(fact).at(Some(WordRange::whole(plus)));
    Err(slip.so("leave this + out, or name a step: `romloom steps` lists them"))
}

impl Grammar {
    /// The grammar of the steps and of these commands.
    pub fn new(commands: fn(IsNamed<'_>) -> Vec<ListedCommand>) -> Self {
        Self {
            commands,
            root: root(commands, None),
            is_whole: true,
            built: None,
        }
    }

    /// The same for a line of these words. At first it has only what they name, and no help: most lines need no more, and to build the
    /// rest takes longer than to parse them.
    pub fn of_words(commands: fn(IsNamed<'_>) -> Vec<ListedCommand>, words: &[OsString]) -> Self {
        let words: Vec<&str> = words.iter().filter_map(|word| word.to_str()).collect();
        // A + may be glued to a name.
        let is_named = |name: &str| words.iter().any(|w| w.trim_start_matches('+') == name);
        Self {
            commands,
            root: root(commands, Some(&is_named)),
            is_whole: false,
            built: None,
        }
    }

    /// Builds what [`of_words`](Self::of_words) left out.
    fn complete(&mut self) {
        if !self.is_whole {
            self.root = root(self.commands, None);
            self.is_whole = true;
        }
    }

    /// The first segment of a command line: options for the whole run, then a step or a command.
    ///
    /// # Errors
    /// What is wrong with the words, and which of them; or that help is asked for.
    pub fn first(&mut self, words: &[OsString]) -> Result<(RunOptions, Request), Refusal> {
        // `-h seat` asks for the help of that step.
        if let [asks, topic] = words {
            if let (Some("-h" | "--help"), Some(topic)) = (asks.to_str(), topic.to_str()) {
                if self.has(&[topic]) {
                    self.help(&[topic])?;
                }
            }
        }
        let mut matches = self.matches(words, true)?;
        let request = self.request(&mut matches, words, true)?;
        let options = RunOptions::from_arg_matches_mut(&mut matches);
        Ok((options.map_err(|e| self.refused(e, words, true))?, request))
    }

    /// A further step. Options for the whole run have no place before it.
    ///
    /// # Errors
    /// As [`first`](Self::first) has them.
    pub fn step(&mut self, words: &[OsString]) -> Result<PlannedStep, Refusal> {
        let mut matches = self.matches(words, false)?;
        let misplaced = matches
            .ids()
            .filter(|id| matches.value_source(id.as_str()) == Some(ValueSource::CommandLine))
            .find_map(|id| self.option_in_front(words, id.as_str()));
        if let Some((option, at)) = misplaced {
            let slip = Slip::new(format!("`{option}` concerns the whole run"))
                .so("it comes before the first step, or before `run RECIPE`");
            return Err(slip.at(Some(at)).into());
        }
        match self.request(&mut matches, words, false)? {
            Request::Step(step, _) => Ok(step),
            Request::Command(name, _) => {
                let slip = Slip::new(format!("`{name}` is a command of its own, not a step"));
                Err(slip
                    .so("a command is typed alone, with no step before or after it")
                    .into())
            }
        }
    }

    /// What is wrong with a whole line, told before any of its steps is; none where nothing is. `refused` tells that the
    /// parser has refused it.
    pub fn answer(
        &mut self,
        steps: &[Vec<OsString>],
        around: Around<'_>,
        refused: bool,
    ) -> Option<LineAnswer> {
        if !refused && !slips::may_be_wrong(steps, around) {
            return None;
        }
        self.complete();
        let root = &self.root;
        let built = self.built.get_or_insert_with(|| {
            let mut built = root.clone();
            built.build();
            built
        });
        slips::answer_line(built, steps, around)
    }

    /// The steps of a typed line, with the options for the whole run before the first one, wherever they were written.
    pub fn gathered(&self, steps: Vec<Vec<OsString>>) -> Vec<Vec<OsString>> {
        run_options::gathered(&self.root, steps)
    }

    /// The definitions themselves.
    pub fn into_root(mut self) -> Command {
        self.complete();
        self.root
    }

    /// Whether there is a step or command of this name, or such a kind of a step: `split lanes`.
    pub fn has(&mut self, path: &[&str]) -> bool {
        self.complete();
        let Some((name, kinds)) = path.split_first() else {
            return false;
        };
        let Some(command) = self.root.find_subcommand(name) else {
            return false;
        };
        match kinds {
            [] => true,
            _ => {
                let mut built = command.clone();
                built.build();
                kinds
                    .iter()
                    .all(|kind| built.find_subcommand(kind).is_some())
            }
        }
    }

    /// The names of all steps and commands.
    pub fn names(&mut self) -> impl Iterator<Item = &str> {
        self.complete();
        self.root.get_subcommands().map(Command::get_name)
    }

    /// The help of a step, a kind of it or a command, or of all, by way of an error that is none.
    ///
    /// # Errors
    /// Always [`Refusal::Asked`].
    pub fn help(&mut self, path: &[&str]) -> Result<(), Refusal> {
        let words = path.iter().copied().chain(["--help"]);
        let words: Vec<OsString> = words.map(OsString::from).collect();
        self.matches(&words, true).map(|_| ())
    }

    /// Parses as if these words were on a command line; `first` where they begin it.
    fn matches(&mut self, words: &[OsString], first: bool) -> Result<ArgMatches, Refusal> {
        let line = std::iter::once(OsString::from("romloom")).chain(words.iter().cloned());
        let line: Vec<OsString> = line.collect();
        let mut matches = self.root.try_get_matches_from_mut(&line);
        let is_version = |e: &clap::Error| e.kind() == ErrorKind::DisplayVersion;
        if !self.is_whole && matches.as_ref().is_err_and(|e| !is_version(e)) {
            self.complete();
            matches = self.root.try_get_matches_from_mut(&line);
        }
        matches.map_err(|e| self.refused(e, words, first))
    }

    fn refused(&mut self, error: clap::Error, words: &[OsString], first: bool) -> Refusal {
        match error.use_stderr() && !words.is_empty() {
            true => {
                self.complete();
                let around = Around {
                    folder: Path::new(""),
                    first,
                    recipe: false,
                };
                slips::answer(&error, words, &self.root, around, first).into()
            }
            false => Refusal::Asked(Asked(Box::new(error))),
        }
    }

    fn request(
        &mut self,
        matches: &mut ArgMatches,
        words: &[OsString],
        first: bool,
    ) -> Result<Request, Refusal> {
        let texts = texts(words);
        let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
        let groups = parsed::by_command(&self.root, &texts);
        let at = groups.get(1).and_then(|group| group.name).unwrap_or(0);
        let places = Places::of(groups, matches);
        let Some((name, mut inner)) = matches.remove_subcommand() else {
            return Err(Slip::new("a step is missing")
                .so("see `romloom steps`")
                .into());
        };
        let Some(entry) = steps::STEPS.iter().find(|s| s.name == name) else {
            return Ok(Request::Command(name, inner));
        };
        let json = entry.prints_json(&inner);
        let planned = entry.plan(&mut inner);
        let step = PlannedStep {
            entry,
            planned: planned.map_err(|e| self.refused(e, words, first))?,
            places,
            json,
        };
        Ok(Request::Step(step, at))
    }

    /// The word of an option of the run that is before a step.
    fn option_in_front(&self, words: &[OsString], id: &str) -> Option<(String, WordRange)> {
        let words = texts(words);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let groups = parsed::by_command(&self.root, &words);
        let root = groups.first()?;
        let option = Role::Option(id.to_owned());
        let token = root.tokens.iter().find(|token| token.role == option)?;
        let long = root.argument(id)?.get_long()?;
        Some((format!("--{long}"), token.at.clone()))
    }
}

/// The definitions of the steps and of these commands; without help where only those that are named are needed.
fn root(commands: fn(IsNamed<'_>) -> Vec<ListedCommand>, named: Option<IsNamed<'_>>) -> Command {
    let style = on_output();
    let is_named = named.unwrap_or(&|_| true);
    let steps = steps::STEPS.iter().filter(|step| is_named(step.name));
    let commands = commands(is_named);
    let root = RunOptions::augment_args(Command::new("romloom"))
        .version(env!("CARGO_PKG_VERSION"))
        .about("Prepares the bytes that go into ROM chips, and proves the bytes that come back out")
        .help_template("{about}\n\n{usage-heading} {usage}{after-help}\n\nOptions for the whole run, anywhere on the line:\n{options}")
        .override_usage("romloom [OPTIONS] STEP [ARGS] [+ STEP [ARGS]]...\n       romloom [OPTIONS] run RECIPE [--set NAME=VALUE]...")
        .subcommand_required(true)
        .arg_required_else_help(true)
        .disable_help_subcommand(true)
        .term_width(columns(style));
    let root = match named {
        Some(_) => root.subcommands(steps.map(steps::StepEntry::command_without_help)),
        None => root
            .after_help(style.fitted(&overview(&commands)))
            .subcommands(steps.map(steps::StepEntry::command)),
    };
    root.subcommands(commands.into_iter().map(|(command, _)| command))
}

fn texts(words: &[OsString]) -> Vec<String> {
    let texts = words.iter().map(|w| w.to_string_lossy().into_owned());
    texts.collect()
}

/// Columns of the help: the terminal's, or a little more than a page where there is none.
fn columns(style: Style) -> usize {
    match style.on_terminal() {
        true => style.columns().min(80),
        false => 100,
    }
}

/// Steps and commands, one line each.
fn overview(commands: &[ListedCommand]) -> String {
    let steps: Vec<(&str, &str)> = steps::STEPS.iter().map(|s| (s.name, s.about)).collect();
    let commands = commands.iter().map(|(c, about)| (c.get_name(), *about));
    let commands: Vec<(&str, &str)> = commands.collect();
    let names = steps.iter().chain(&commands).map(|(name, _)| name.len());
    let width = names.max().unwrap_or(0);
    let mut out = String::new();
    for (heading, list) in [("Steps", steps), ("\nCommands", commands)] {
        out += &format!("{heading}:\n");
        for (name, about) in list {
            out += &format!("  {name:width$}  {about}\n");
        }
    }
    out += "\nFor instance:\n  romloom load monitor.hex basic.s19 + seat 27C256 --at 0x8000 + write chip.bin\n\n`romloom help STEP` explains a step with an example.";
    out
}

#[cfg(test)]
mod tests;
