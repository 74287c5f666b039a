//! Manual pages, made of the definitions that parse the words.

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Result, bail};
use clap::{ArgMatches, Args, Command, FromArgMatches};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};

use super::folder::write_folder;
use super::grammar::Grammar;
use super::run_options::RunOptions;
use super::say::print;
use crate::cli::report::plural;
use crate::cli::steps::{STEPS, StepEntry};

/// Print a manual page, or write all of them into a folder
#[derive(Args)]
pub struct ManArgs {
    /// The page: a step or a command; [default: the one that leads to all others]
    #[arg(value_name = "TOPIC", conflicts_with = "to")]
    topic: Option<String>,
    /// Write all pages into this folder: romloom.1, romloom-load.1, ...
    #[arg(long, value_name = "FOLDER")]
    to: Option<PathBuf>,
}

/// A page's name without `.1`, and its text.
type Page = (String, String);

/// Runs the command.
///
/// # Errors
/// A topic that has no page, and a folder that can't be written to.
pub fn manual(
    grammar: Grammar,
    matches: &ArgMatches,
    options: &RunOptions,
    texts: &[(&str, &str)],
) -> Result<ExitCode> {
    let asked = ManArgs::from_arg_matches(matches)?;
    let mut root = grammar.into_root();
    root.build();
    let pages = pages(&root, texts)?;
    let Some(folder) = asked.to else {
        let name = asked
            .topic
            .map_or("romloom".into(), |t| format!("romloom-{t}"));
        let page = pages.iter().find(|(own, _)| *own == name);
        let Some((_, text)) = page else {
            let topic = name.trim_start_matches("romloom-");
            bail!("there is no page on `{topic}`: `romloom steps` lists the steps");
        };
        return print(text);
    };
    let files =
        (pages.iter()).map(|(name, text)| (format!("{name}.1").into(), text.as_bytes().into()));
    let files: Vec<_> = files.collect();
    write_folder(&folder, &files, options)?;
    let would = if options.dry_run {
        "would write"
    } else {
        "wrote"
    };
    let count = plural(pages.len() as u64, "page");
    match options.quiet {
        true => Ok(ExitCode::SUCCESS),
        false => print(&format!("{would} {count} to {}\n", folder.display())),
    }
}

/// Every page: the leading one, then one for each step and command.
fn pages(root: &Command, texts: &[(&str, &str)]) -> Result<Vec<Page>> {
    let mut out = vec![("romloom".to_owned(), leading(root, texts)?)];
    for command in root.get_subcommands() {
        let step = STEPS.iter().find(|s| s.name == command.get_name());
        let name = format!("romloom-{}", command.get_name());
        out.push((name, page(command, step)?));
    }
    Ok(out)
}

fn man(command: &Command) -> Man {
    Man::new(command.clone())
        .source(concat!("romloom ", env!("CARGO_PKG_VERSION")))
        .manual("romloom")
}

fn leading(root: &Command, texts: &[(&str, &str)]) -> Result<String> {
    let man = man(root);
    let mut text = Vec::new();
    man.render_title(&mut text)?;
    man.render_name_section(&mut text)?;
    let mut roff = Roff::new();
    roff.control("SH", ["SYNOPSIS"]);
    as_it_stands(
        &mut roff,
        "romloom [OPTIONS] STEP [ARGS] [+ STEP [ARGS]]...\nromloom [OPTIONS] COMMAND [ARGS]",
    );
    roff.control("SH", ["DESCRIPTION"]);
    roff.text([roman(
        "One command is one pipeline. Its steps follow one another, separated by a lone +. \
         The same steps, one a line, make a recipe. Every step and command has a page of its own, \
         as romloom-load(1).",
    )]);
    for (heading, are_steps) in [("STEPS", true), ("COMMANDS", false)] {
        roff.control("SH", [heading]);
        for command in root.get_subcommands() {
            let step = STEPS.iter().find(|s| s.name == command.get_name());
            if step.is_some() == are_steps {
                roff.control("TP", []);
                roff.text([bold(command.get_name())]);
                let about = command.get_about().map(ToString::to_string);
                roff.text([roman(
                    step.map_or(about.unwrap_or_default(), |s| s.about.into()),
                )]);
            }
        }
    }
    roff.to_writer(&mut text)?;
    man.render_options_section(&mut text)?;
    let mut roff = Roff::new();
    for (heading, content) in texts {
        roff.control("SH", [*heading]);
        as_it_stands(&mut roff, content);
    }
    roff.control("SH", ["EXIT STATUS"]);
    roff.text([roman("0 done, 1 a check said no, 2 trouble.")]);
    roff.to_writer(&mut text)?;
    finished(text)
}

fn page(command: &Command, step: Option<&StepEntry>) -> Result<String> {
    let own = man(command);
    let mut text = Vec::new();
    own.render_title(&mut text)?;
    own.render_name_section(&mut text)?;
    own.render_synopsis_section(&mut text)?;
    match step {
        None => own.render_description_section(&mut text)?,
        Some(step) => {
            let mut roff = Roff::new();
            roff.control("SH", ["DESCRIPTION"]);
            for (i, paragraph) in step.help.split("\n\n").enumerate() {
                if i > 0 {
                    roff.control("PP", []);
                }
                roff.text([roman(paragraph.replace('\n', " "))]);
            }
            roff.to_writer(&mut text)?;
        }
    }
    own.render_options_section(&mut text)?;
    for inner in command.get_subcommands().filter(|c| c.get_name() != "help") {
        let mut roff = Roff::new();
        let words = format!("{} {}", command.get_name(), inner.get_name());
        roff.control("SH", [words.as_str()]);
        let about = inner.get_about().map(ToString::to_string);
        roff.text([roman(about.unwrap_or_default())]);
        roff.to_writer(&mut text)?;
        text.extend(options_alone(inner)?);
    }
    if let Some(step) = step {
        let mut roff = Roff::new();
        roff.control("SH", ["EXAMPLE"]);
        as_it_stands(&mut roff, step.example);
        roff.control("SH", ["SEE ALSO"]);
        roff.text([bold("romloom"), roman("(1)")]);
        roff.to_writer(&mut text)?;
    }
    finished(text)
}

/// The options of a kind of a step, without the heading that they have on a page of their own.
fn options_alone(command: &Command) -> Result<Vec<u8>> {
    let mut section = Vec::new();
    man(command).render_options_section(&mut section)?;
    let mut heading = Vec::new();
    Roff::new()
        .control("SH", ["OPTIONS"])
        .to_writer(&mut heading)?;
    let mut text = Vec::new();
    Roff::new().control("PP", []).to_writer(&mut text)?;
    text.extend(section.strip_prefix(heading.as_slice()).unwrap_or(&section));
    Ok(text)
}

/// Lines that are not filled.
fn as_it_stands(roff: &mut Roff, text: &str) {
    roff.control("PP", []);
    roff.control("nf", []);
    for line in text.lines() {
        // An empty line would be a paragraph of its own.
        match line.is_empty() {
            true => roff.control("sp", []),
            false => roff.text([roman(line)]),
        };
    }
    roff.control("fi", []);
}

/// A colour reset hides placeholders from the parser's help; paper has no colour.
fn finished(text: Vec<u8>) -> Result<String> {
    Ok(String::from_utf8(text)?.replace("\u{1b}[0m", ""))
}
