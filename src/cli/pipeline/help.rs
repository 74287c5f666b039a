//! `help WORD`: a step, a command, a part, a format, a sum, or a word of the glossary.

use std::process::ExitCode;

use anyhow::{Result, anyhow};
use clap::{ArgMatches, Args, FromArgMatches};

use super::glossary::{self, GlossaryEntry};
use super::grammar::Grammar;
use super::run_options::RunOptions;
use super::say::show;
use super::slips;
use super::tables::{catalogue, format_entry};
use crate::cli::bench::on_output;
use crate::cli::report::{self, Report, Style};
use crate::formats::{self, FORMATS, Format};
use crate::parts::{Catalogue, Part};
use crate::prose::{nearest, shown};
use crate::sums::Algo;

/// Explain a step, a command, a part, a format, a sum or a word
#[derive(Args)]
pub struct HelpArgs {
    /// A step, a command, a part, a format, a sum, a word of the glossary; or sums, values, recipes
    #[arg(value_name = "TOPIC")]
    topic: Vec<String>,
}

/// Pages of this command's own.
pub const TOPICS: [&str; 3] = ["sums", "values", "recipes"];

/// Prints what is asked for.
///
/// # Errors
/// A word that there is nothing about.
pub fn help(grammar: &mut Grammar, matches: &ArgMatches, options: &RunOptions) -> Result<ExitCode> {
    let words = HelpArgs::from_arg_matches(matches)?.topic;
    let parts = catalogue(options.parts.as_deref())?;
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words[..] {
        [] | ["?" | "/?" | "-?"] => return Ok(grammar.help(&[]).map(|()| ExitCode::SUCCESS)?),
        // `split lanes`.
        [step, kind] if grammar.has(&[step, kind]) => {
            return Ok(grammar.help(&[step, kind]).map(|()| ExitCode::SUCCESS)?);
        }
        _ => {}
    }
    // `address line` is one word of the glossary.
    let topic = words.join(" ");
    let lower = topic.to_lowercase();
    let topic = if grammar.has(&[&lower]) { lower } else { topic };
    match (topic.as_str(), about(&topic, &parts)) {
        _ if grammar.has(&[&topic]) => Ok(grammar.help(&[&topic]).map(|()| ExitCode::SUCCESS)?),
        ("sums", _) => show(&sums()),
        ("values", _) => show(VALUES),
        ("recipes", _) => show(&paragraphs(RECIPES, on_output())),
        (_, Some(text)) => show(&paragraphs(&text, on_output())),
        (_, None) => Err(unknown(grammar, &words, &parts)),
    }
}

/// What there is to say of a part, a format, a sum or a word.
fn about(topic: &str, parts: &Catalogue) -> Option<String> {
    if let Ok(part) = parts.find(topic) {
        return Some(of_part(part));
    }
    if let Some(format) = formats::by_name(&topic.to_lowercase()) {
        return Some(of_format(format));
    }
    if let Ok(algo) = topic.parse::<Algo>() {
        return Some(of_sum(algo, topic));
    }
    if let Some(entry) = glossary::entry(topic) {
        return Some(of_word(&entry));
    }
    let extension = topic.strip_prefix('.').unwrap_or(topic);
    formats::by_extension(extension).map(of_format)
}

fn of_part(part: &Part) -> String {
    let name = part.name.as_str();
    let report = report::PartsReport { parts: vec![part] };
    let digits = name.bytes().all(|b| b.is_ascii_digit());
    let size = if digits {
        format!("part:{name}")
    } else {
        name.to_owned()
    };
    let narrow = if part.width == 16 { " --order big" } else { "" };
    format!(
        "{}\nWith a program in its socket, and as a size:\n  romloom load FILE + seat {name} --at BASE{narrow} + write chip.bin\n  romloom load FILE + pad {size} + write chip.bin\n",
        report.text(on_output())
    )
}

fn of_format(format: &dyn Format) -> String {
    let mut out = format_entry(format);
    out += "\n";
    let name = format.name();
    let extension = format.meta().extensions.first().copied();
    if format.can_read() {
        out += &format!("  romloom load FILE --as {name} + show\n");
    }
    match extension.filter(|_| format.can_write()) {
        Some(extension) if extension != "txt" => {
            out += &format!("  romloom load FILE + write out.{extension}\n");
        }
        _ if format.can_write() => {
            out += &format!("  romloom load FILE + write out.txt --as {name}\n");
        }
        _ => {}
    }
    out
}

fn of_sum(algo: Algo, asked: &str) -> String {
    let asked = asked.to_lowercase();
    format!(
        "{}\n  {}\n\n  romloom load FILE + digest {asked}\n  romloom load FILE + stamp {asked} --across RANGE --at ADDR + write chip.bin\n",
        algo.name(),
        algo.about()
    )
}

fn of_word(entry: &GlossaryEntry) -> String {
    format!("{}\n{}\n", entry.word, entry.text())
}

fn unknown(grammar: &mut Grammar, words: &[&str], parts: &Catalogue) -> anyhow::Error {
    let topic = words.join(" ");
    let told = shown(&topic);
    if let [first, _, ..] = words {
        if grammar.has(&[first]) || about(first, parts).is_some() {
            return anyhow!(
                "there is no help on `{told}`: one word at a time, romloom help {first}"
            );
        }
    }
    if let Some(step) = slips::step_meant(&topic) {
        let step = step
            .split_whitespace()
            .next()
            .unwrap_or_default()
            .to_owned();
        return anyhow!("there is no step `{told}`: romloom help {step}");
    }
    // What is printed on a chip may be several parts, which are told then.
    let marking = topic.bytes().filter(u8::is_ascii_digit).count() >= 3;
    if let (true, Err(error)) = (marking, parts.find(&topic)) {
        if !error.candidates.is_empty() {
            return anyhow!(report::advice::told(&error));
        }
    }
    let names = grammar
        .names()
        .map(str::to_owned)
        .chain(TOPICS.map(str::to_owned));
    let names = names.chain(FORMATS.iter().map(|format| format.name().to_owned()));
    let words = glossary::entries().flat_map(|entry| entry.names().collect::<Vec<_>>());
    let names = names.chain(words.map(str::to_lowercase));
    let names = names.chain(parts.all().map(|part| part.name.clone()));
    let names: Vec<String> = names
        .chain(Algo::all().map(|algo| algo.name().to_owned()))
        .collect();
    let mut near = nearest(&topic, names.iter().map(String::as_str));
    near.dedup();
    let near: Vec<String> = near
        .iter()
        .map(|near| format!("`romloom help {near}`"))
        .collect();
    let hint = match near.is_empty() {
        true => String::new(),
        false => format!("did you mean {}? ", near.join(" or ")),
    };
    anyhow!(
        "there is no help on `{told}`: {hint}`romloom help` lists steps and commands, and `romloom parts`, `romloom formats` and `romloom help sums` the rest"
    )
}

/// The sums, one a line.
fn sums() -> String {
    let width = Algo::all().map(|a| a.name().len()).max().unwrap_or(0);
    Algo::all()
        .map(|a| format!("{:width$}  {}\n", a.name(), a.about()))
        .collect()
}

/// A text whose paragraphs are lines each, in lines as a page has them; what is in columns is left.
pub fn paragraphs(text: &str, style: Style) -> String {
    let is_prose = |line: &str| !line.starts_with(' ') && !line.contains("  ");
    let lines = text.lines().map(|line| match is_prose(line) {
        true => style.fill(0, 0, line) + "\n",
        false => format!("{line}\n"),
    });
    lines.collect()
}

/// How numbers, ranges and bytes are written.
pub const VALUES: &str = "\
Numbers   32768, 0x8000, 8000h, 32K, 1M (K is 1024)
Ranges    0x8000-0xFFFF, both included, or 0x8000+32K, a start and a length
Bytes     EA EA 4C0080 (hex, with or without blanks), or text:HELLO with \\n \\r \\t \\0 \\xNN \\\\
Moves     +0x100 or -0x100
";

/// What a recipe is.
pub const RECIPES: &str = "\
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
