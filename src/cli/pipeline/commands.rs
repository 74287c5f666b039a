//! The plain commands, which stand outside pipelines.

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Result, anyhow, bail};
use clap::{Arg, ArgMatches, Args, Command, FromArgMatches};

use super::adapter::{AdapterArgs, adapter};
use super::board::{BoardArgs, board};
use super::check::{self, CheckArgs};
use super::complete::{CompletionsArgs, completions};
use super::demo::{DemoArgs, demo};
use super::grammar::Grammar;
use super::man::{ManArgs, manual};
use super::new::{NewArgs, new};
use super::recipe::{self, Setting};
use super::recognise::{RecogniseArgs, recognise};
use super::run;
use super::run_options::RunOptions;
use super::say::{print, show};
use super::tables::{catalogue, read_text};
use crate::cli::bench::on_output;
use crate::cli::report::{self, Report, Style};
use crate::cli::steps::STEPS;
use crate::formats::FORMATS;
use crate::prose;
use crate::sums::Algo;

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
        about: "list the parts that stand where a size can",
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
        about: "explain a step, a command, or one of: sums, values, recipes",
        augment: |c| {
            let help = "A step, a command, sums, values or recipes";
            c.arg(Arg::new("TOPIC").value_name("TOPIC").help(help))
        },
        run: help,
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
    Grammar::new(COMMANDS.iter().map(|c| (c.command(), c.about)))
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

/// List the parts that stand where a size can
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
        // What is printed on a chip, with letters in front and a speed.
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
    let mut out = String::new();
    let width = FORMATS.iter().map(|f| f.name().len()).max().unwrap_or(0);
    for format in FORMATS {
        let meta = format.meta();
        let extensions: Vec<String> = meta.extensions.iter().map(|e| format!(".{e}")).collect();
        let extensions = match extensions[..] {
            [] => "none, name it with --as".into(),
            _ => extensions.join(" "),
        };
        let way = match (format.can_read(), format.can_write()) {
            (true, true) => "",
            (true, false) => " (read only)",
            _ => " (write only)",
        };
        out += &format!("{:width$}  {}{way}\n", format.name(), meta.about);
        out += &format!("{:width$}  by name: {extensions}\n", "");
        out += &format!("{:width$}  rules: {}\n", "", meta.rules);
    }
    out
}

fn help(grammar: &mut Grammar, matches: &ArgMatches, _: RunOptions) -> Result<ExitCode> {
    match matches.get_one::<String>("TOPIC").map(String::as_str) {
        None => Ok(grammar.help(None).map(|()| ExitCode::SUCCESS)?),
        Some("sums") => show(&sums()),
        Some("values") => show(VALUES),
        Some("recipes") => show(&paragraphs(RECIPES, on_output())),
        Some(topic) => {
            let known =
                STEPS.iter().any(|s| s.name == topic) || COMMANDS.iter().any(|c| c.name == topic);
            if !known {
                let topics = ["sums", "values", "recipes"];
                let names = STEPS.iter().map(|s| s.name);
                let names = names.chain(COMMANDS.iter().map(|c| c.name)).chain(topics);
                let hint = match crate::prose::nearest(topic, names).first() {
                    Some(near) => format!("did you mean `{near}`? "),
                    None => String::new(),
                };
                bail!(
                    "there is no help on `{topic}`: {hint}`romloom steps` lists the steps; other topics are sums, values and recipes"
                );
            }
            Ok(grammar.help(Some(topic)).map(|()| ExitCode::SUCCESS)?)
        }
    }
}

fn sums() -> String {
    let width = Algo::all().map(|a| a.name().len()).max().unwrap_or(0);
    Algo::all()
        .map(|a| format!("{:width$}  {}\n", a.name(), a.about()))
        .collect()
}

/// A text whose paragraphs are lines each, in lines as a page has them; what is in columns is left.
fn paragraphs(text: &str, style: Style) -> String {
    let is_prose = |line: &str| !line.starts_with(' ') && !line.contains("  ");
    let lines = text.lines().map(|line| match is_prose(line) {
        true => style.fill(0, 0, line) + "\n",
        false => format!("{line}\n"),
    });
    lines.collect()
}

const VALUES: &str = "\
Numbers   32768, 0x8000, 8000h, 32K, 1M (K is 1024)
Ranges    0x8000-0xFFFF, both included, or 0x8000+32K, a start and a length
Bytes     EA EA 4C0080 (hex, blanks optional), or text:HELLO with \\n \\r \\t \\0 \\xNN \\\\
Moves     +0x100 or -0x100
";

const RECIPES: &str = "\
A recipe has the steps of a pipeline, one a line:

    # board.loom
    load monitor.hex basic.s19
    pad 32K --at 0x8000
    relocate --to 0
    write out/${NAME}.bin

It runs with `romloom run board.loom --set NAME=heron-8`, and with --explain it says what every line does and did. \
`romloom new` prints a recipe to start from.

#        starts a comment
\\        at the end of a line continues it
${NAME}  is replaced from --set, after the line is split into words
---      ends one pipeline and starts the next on an empty bench
'' \"\"    keep a word with blanks together; nothing is replaced in single quotes
\\        before a blank, a quote or what else means something to a shell is that character; before any other it stays

Paths are relative to the recipe's own folder. No file of any pipeline is put in place unless all succeed.
";
