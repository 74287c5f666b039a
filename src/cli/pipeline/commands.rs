//! The plain commands, which are outside pipelines.

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Result, anyhow, bail};
use clap::{ArgMatches, Args, Command, FromArgMatches};

use super::adapter::{AdapterArgs, adapter};
use super::board::{BoardArgs, board};
use super::check::{self, CheckArgs};
use super::complete::{CompletionsArgs, completions};
use super::demo::{DemoArgs, demo};
use super::grammar::{Grammar, IsNamed, ListedCommand};
use super::help::{HelpArgs, RECIPES, VALUES, help, paragraphs};
use super::man::{ManArgs, manual};
use super::new::{NewArgs, new};
use super::recipe::{self, Setting};
use super::recognise::{RecogniseArgs, recognise};
use super::run;
use super::run_options::RunOptions;
use super::say::{print, show};
use super::tables::{catalogue, format_entry, read_text};
use crate::cli::bench::on_output;
use crate::cli::report::{self, Report, Style};
use crate::cli::steps::STEPS;
use crate::formats::FORMATS;
use crate::prose;

/// A command's name, its line for lists, its arguments and what it does.
pub struct PlainCommand {
    /// The word that names it.
    pub name: &'static str,
    /// One line for lists.
    pub about: &'static str,
    augment: fn(Command) -> Command,
    run: fn(&mut Grammar, &ArgMatches, RunOptions) -> Result<ExitCode>,
}

/// All of them.
pub const COMMANDS: &[PlainCommand] = &[
    PlainCommand {
        name: "run",
        about: "run a recipe",
        augment: RunArgs::augment_args,
        run: run_recipe,
    },
    PlainCommand {
        name: "recognise",
        about: "tell which of these reads is which chip of a known set",
        augment: RecogniseArgs::augment_args,
        run: recognise,
    },
    PlainCommand {
        name: "check",
        about: "read files by the book, report, change nothing",
        augment: CheckArgs::augment_args,
        run: |_, matches, options| check::check(matches, &options),
    },
    PlainCommand {
        name: "board",
        about: "describe a board: who answers where, and what no bus sees",
        augment: BoardArgs::augment_args,
        run: |_, matches, options| board(matches, options),
    },
    PlainCommand {
        name: "adapter",
        about: "plan the wires for a chip in a socket that is wired for another part",
        augment: AdapterArgs::augment_args,
        run: |_, matches, options| adapter(matches, options),
    },
    PlainCommand {
        name: "new",
        about: "print a recipe or a board file to start from, with a comment on every line",
        augment: NewArgs::augment_args,
        run: |grammar, matches, options| new(grammar, matches, &options),
    },
    PlainCommand {
        name: "demo",
        about: "write the samples, and the files that the documentation uses, into a folder",
        augment: DemoArgs::augment_args,
        run: |_, matches, options| demo(matches, &options),
    },
    PlainCommand {
        name: "steps",
        about: "list the steps",
        augment: |c| c,
        run: |_, _, _| show(&steps()),
    },
    PlainCommand {
        name: "formats",
        about: "list the file formats",
        augment: |c| c,
        run: |_, _, _| show(&formats()),
    },
    PlainCommand {
        name: "parts",
        about: "list the parts, whose names can be used as sizes",
        augment: PartsArgs::augment_args,
        run: parts,
    },
    PlainCommand {
        name: "completions",
        about: "print the script that completes commands in a shell",
        augment: CompletionsArgs::augment_args,
        run: |_, matches, _| completions(matches),
    },
    PlainCommand {
        name: "man",
        about: "print a manual page, or write all of them",
        augment: ManArgs::augment_args,
        run: |_, matches, options| {
            let recipes = paragraphs(RECIPES, Style::PLAIN);
            let texts = [("VALUES", VALUES), ("RECIPES", &recipes)];
            manual(self::full_grammar(), matches, &options, &texts)
        },
    },
    PlainCommand {
        name: "help",
        about: "explain a step, a command, a part, a format, a sum or a word",
        augment: HelpArgs::augment_args,
        run: |grammar, matches, options| help(grammar, matches, &options),
    },
];

impl PlainCommand {
    /// Runs it with the arguments that are given.
    ///
    /// # Errors
    /// What it says.
    pub fn run(
        &self,
        grammar: &mut Grammar,
        matches: &ArgMatches,
        options: RunOptions,
    ) -> Result<ExitCode> {
        (self.run)(grammar, matches, options)
    }

    /// The command for clap.
    pub fn command(&self) -> Command {
        Command::new(self.name)
            .about(self.about)
            .defer(self.augment)
    }
}

/// The grammar of all steps and commands.
pub fn full_grammar() -> Grammar {
    Grammar::new(commands)
}

/// The grammar of a line of these words.
pub fn grammar_of(words: &[OsString]) -> Grammar {
    Grammar::of_words(commands, words)
}

fn commands(is_named: IsNamed<'_>) -> Vec<ListedCommand> {
    let commands = COMMANDS.iter().filter(|c| is_named(c.name));
    commands.map(|c| (c.command(), c.about)).collect()
}

/// The definitions of all steps and commands with their arguments, for a caller that tries them all.
pub fn definitions() -> Command {
    let mut root = full_grammar().into_root();
    root.build();
    root
}

/// Parses a recipe through the grammar of the command line, runs nothing, and says how many pipelines it has.
///
/// # Errors
/// What is wrong, with `name` and the line.
pub fn parse_recipe(name: &str, text: &str, settings: &[(String, String)]) -> Result<usize> {
    recipe::parse(&mut full_grammar(), name, text, settings).map(|plans| plans.len())
}

/// Run a recipe
#[derive(Args)]
struct RunArgs {
    /// The recipe; paths in it are relative to its own folder
    #[arg(value_name = "RECIPE")]
    file: PathBuf,
    /// Value of ${NAME} in the recipe; may be given several times
    #[arg(long = "set", value_name = "NAME=VALUE", value_parser = recipe::setting)]
    settings: Vec<Setting>,
    #[command(flatten)]
    options: RunOptions,
}

fn run_recipe(
    grammar: &mut Grammar,
    matches: &ArgMatches,
    options: RunOptions,
) -> Result<ExitCode> {
    let run = RunArgs::from_arg_matches(matches)?;
    let name = run.file.display().to_string();
    let text = read_text(&run.file)?;
    let plans = recipe::parse(grammar, &name, &text, &run.settings)?;
    run::run(plans, options.or(run.options), recipe::folder(&run.file))
}

/// List the parts, whose names can be used as sizes
#[derive(Args)]
struct PartsArgs {
    /// Only parts that all these words fit: 27C256, eeprom, 28
    #[arg(value_name = "WORD")]
    words: Vec<String>,
    /// Parts of your own, in TOML, beside the built-in ones
    #[arg(long = "parts", value_name = "FILE")]
    own: Option<PathBuf>,
    /// Print the list as JSON
    #[arg(long)]
    json: bool,
}

fn parts(_: &mut Grammar, matches: &ArgMatches, options: RunOptions) -> Result<ExitCode> {
    let list = PartsArgs::from_arg_matches(matches)?;
    let catalogue = catalogue(list.own.as_deref().or(options.parts.as_deref()))?;
    let mut parts = catalogue.filter(&list.words);
    if parts.is_empty() {
        // What is printed on a chip, with letters before it and a speed after it.
        let [marking] = &list.words[..] else {
            let words = prose::shown(&list.words.join(" "));
            bail!("no part fits all of `{words}`; take a word away, `romloom parts` lists all");
        };
        let part = catalogue.find(marking);
        parts.push(part.map_err(|error| anyhow!(report::advice::told(&error)))?);
    }
    let report = report::PartsReport { parts };
    print(&match list.json || options.json {
        true => format!("{:#}\n", report.json()),
        false => report.shown(on_output()),
    })
}

fn steps() -> String {
    let width = STEPS.iter().map(|s| s.name.len()).max().unwrap_or(0);
    let lines = STEPS
        .iter()
        .map(|s| format!("{:width$}  {}\n", s.name, s.about));
    lines.collect()
}

fn formats() -> String {
    FORMATS.iter().map(|format| format_entry(*format)).collect()
}
