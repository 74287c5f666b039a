//! What fits where on a command line, for the completion of shells.
//!
//! A shell's script hands over the words up to the cursor; the answer comes from the definitions that parse them.

use std::ffi::{OsStr, OsString};
use std::path::Path;
use std::process::ExitCode;

use anyhow::Result;
use clap::builder::StyledStr;
use clap::{Arg, ArgMatches, Args, Command, FromArgMatches, ValueEnum};
use clap_complete::engine::{ArgValueCompleter, CompletionCandidate, PathCompleter};

use super::grammar::Grammar;
use super::help::TOPICS;
use super::named;
use super::say::print;
use crate::cli::steps::{STEPS, step};
use crate::faults::Pattern;
use crate::formats::{FORMATS, Format};
use crate::parts::Catalogue;
use crate::sums::Algo;
use crate::values;

/// A candidate, and what it is.
type Told = (String, String);

/// After this word come the words of a command line, the last of them unfinished.
pub const ASK: &str = "--candidates";

/// Print the script that completes commands in a shell
///
/// bash: romloom completions bash > ~/.local/share/bash-completion/completions/romloom
///
/// zsh: romloom completions zsh > _romloom, in a folder of fpath
///
/// fish: romloom completions fish > ~/.config/fish/completions/romloom.fish
///
/// powershell: romloom completions powershell >> $PROFILE
#[derive(Args)]
#[command(verbatim_doc_comment)]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

#[derive(ValueEnum, Clone, Copy)]
enum Shell {
    Bash,
    Zsh,
    Fish,
    #[value(name = "powershell")]
    Power,
}

/// Prints the script for a shell.
///
/// # Errors
/// Standard output can't be written to.
pub fn completions(matches: &ArgMatches) -> Result<ExitCode> {
    print(match CompletionsArgs::from_arg_matches(matches)?.shell {
        Shell::Bash => include_str!("completions/romloom.bash"),
        Shell::Zsh => include_str!("completions/romloom.zsh"),
        Shell::Fish => include_str!("completions/romloom.fish"),
        Shell::Power => include_str!("completions/romloom.ps1"),
    })
}

/// Prints what fits in place of the last word, one candidate a line, and after a tab what it is.
///
/// # Errors
/// Standard output can't be written to.
pub fn offer(grammar: Grammar, words: &[OsString]) -> Result<ExitCode> {
    let mut out = String::new();
    // A name with such a character can't be told in one line.
    let candidates = candidates(grammar, words, Path::new(".")).into_iter();
    for (word, about) in candidates.filter(|(word, _)| !word.contains(char::is_control)) {
        out += &format!("{word}\t{about}\n");
    }
    print(&out)
}

/// What fits in place of the last of `words`, each with what it is; files are those of `folder`.
fn candidates(grammar: Grammar, words: &[OsString], folder: &Path) -> Vec<Told> {
    let Some((unfinished, before)) = words.split_last() else {
        return Vec::new();
    };
    // Some shells can't hand over an empty word.
    let unfinished = match unfinished == "\"\"" {
        true => OsStr::new(""),
        false => unfinished,
    };
    let plus = before.iter().rposition(|word| word == "+");
    let segment = &before[plus.map_or(0, |at| at + 1)..];
    let mut root = match plus {
        None => grammar.into_root(),
        Some(_) => steps_alone(),
    };
    root.build();
    let takes = |name: &str, long: &str| {
        let command = root.find_subcommand(name);
        // `split lanes` has options of its own.
        let kinds = command.into_iter().flat_map(Command::get_subcommands);
        let mut arguments = command
            .into_iter()
            .chain(kinds)
            .flat_map(Command::get_arguments);
        arguments.any(|a| a.get_long() == Some(long) && a.get_action().takes_values())
    };
    let names = named::pieces(before, takes);
    let named = [names, named::settings(before, folder)];
    let mut root = told(root, named, folder);
    let mut line = vec![OsString::from("romloom")];
    line.extend(segment.iter().cloned());
    line.push(unfinished.to_owned());
    let last = line.len() - 1;
    let found = clap_complete::engine::complete(&mut root, line, last, Some(folder));
    let mut found: Vec<Told> = (found.unwrap_or_default().iter())
        .filter_map(|c| Some((c.get_value().to_str()?.to_owned(), about(c.get_help()))))
        // One letter for what has a word, and names that would end the line.
        .filter(|(word, _)| !matches!(word.as_str(), "-h" | "-V" | "."))
        .filter(|(word, _)| !word.contains(['\n', '\t']))
        .collect();
    let is_option = |word: &str| word.starts_with("--");
    if unfinished.is_empty() && found.iter().any(|(word, _)| !is_option(word)) {
        found.retain(|(word, _)| !is_option(word));
    }
    let in_step = segment
        .iter()
        .position(|word| STEPS.iter().any(|s| word == s.name));
    let value_follows = segment
        .last()
        .is_some_and(|w| takes_value(&root, segment, w));
    if let Some(at) = in_step {
        if (unfinished.is_empty() || unfinished == "+")
            && !value_follows
            && (segment.len() > at + 1 || !needs_more(&root, &segment[at]))
        {
            found.push(("+".into(), "the next step".into()));
        }
    }
    found
}

/// Whether a step needs a word after its name.
fn needs_more(root: &Command, step: &OsString) -> bool {
    let command = step.to_str().and_then(|s| root.find_subcommand(s));
    command.is_some_and(|c| {
        c.is_subcommand_required_set() || c.get_positionals().any(Arg::is_required_set)
    })
}

/// Whether the last word is an option that wants a value.
fn takes_value(root: &Command, segment: &[OsString], last: &OsString) -> bool {
    let Some(long) = last.to_str().and_then(|w| w.strip_prefix("--")) else {
        return false;
    };
    let mut command = root;
    for word in segment {
        if let Some(deeper) = word.to_str().and_then(|w| command.find_subcommand(w)) {
            command = deeper;
        }
    }
    let mut arguments = command.get_arguments();
    arguments.any(|a| a.get_long() == Some(long) && a.get_action().takes_values())
}

/// After a `+` there are only steps.
fn steps_alone() -> Command {
    Command::new("romloom")
        .disable_help_subcommand(true)
        .disable_help_flag(true)
        .subcommands(STEPS.iter().map(|step| step.command().about(step.about)))
}

fn about(help: Option<&StyledStr>) -> String {
    let help = help.map(StyledStr::to_string).unwrap_or_default();
    let first = help.lines().next().unwrap_or_default();
    // A colour reset hides placeholders from the parser's help.
    first.replace("\u{1b}[0m", "").replace('\t', " ")
}

/// The command with what its values may be, by the names that the help gives them.
fn told(command: Command, [pieces, settings]: [Vec<String>; 2], folder: &Path) -> Command {
    let about = |c: &Command| c.get_about().map(StyledStr::to_string).unwrap_or_default();
    let names = command.get_subcommands();
    let mut topics: Vec<Told> = names.map(|c| (c.get_name().to_owned(), about(c))).collect();
    let plain = |word: String| (word, String::new());
    topics.extend(TOPICS.map(|topic| plain(topic.to_owned())));
    let values = Values {
        topics,
        pieces: pieces.into_iter().map(plain).collect(),
        settings: (settings.into_iter())
            .map(|name| plain(format!("{name}=")))
            .collect(),
    };
    tell(command, &values, folder)
}

/// Values that are only known here and now.
struct Values {
    topics: Vec<Told>,
    pieces: Vec<Told>,
    settings: Vec<Told>,
}

fn tell(command: Command, values: &Values, folder: &Path) -> Command {
    let writes = command.get_name() == step::WRITE;
    command
        .mut_args(|arg| match completer(&arg, writes, values, folder) {
            Some(completer) => arg.add(completer),
            None => arg,
        })
        .mut_subcommands(|inner| tell(inner, values, folder))
}

fn completer(arg: &Arg, writes: bool, values: &Values, folder: &Path) -> Option<ArgValueCompleter> {
    let name = arg.get_value_names()?.first()?.as_str().to_owned();
    let paths = || PathCompleter::any().current_dir(folder);
    Some(match name.as_str() {
        "PART" | "SOCKET" | "CHIP" | "WORD" => {
            ArgValueCompleter::new(|typed: &OsStr| fitting(parts(false), typed))
        }
        "SIZE" => ArgValueCompleter::new(|typed: &OsStr| fitting(parts(true), typed)),
        "ALGO" => ArgValueCompleter::new(|typed: &OsStr| fitting(sums(), typed)),
        "FORMAT" => ArgValueCompleter::new(move |typed: &OsStr| fitting(formats(writes), typed)),
        "TOPIC" => one_of(values.topics.clone()),
        "PIECE" => one_of(values.pieces.clone()),
        "NAME=VALUE" => one_of(values.settings.clone()),
        "FILE" | "FILE.html" | "FILE.svg" | "LIST|IMAGE" => ArgValueCompleter::new(paths()),
        "FOLDER" => ArgValueCompleter::new(paths().filter(Path::is_dir)),
        "RECIPE" => {
            let recipe = |path: &Path| path.extension().is_some_and(|e| e == "loom");
            ArgValueCompleter::new(paths().filter(recipe))
        }
        "BOARD" => {
            let board = |path: &Path| path.extension().is_some_and(|e| e == "board");
            ArgValueCompleter::new(paths().filter(board))
        }
        // `ADDR|first|last|none`: what is not in capitals is a word.
        alternatives if alternatives.contains('|') => {
            let words = alternatives.split('|');
            let words = words.filter(|w| !w.contains(|c: char| c.is_ascii_uppercase()));
            one_of(words.map(|w| (w.to_owned(), String::new())).collect())
        }
        "KIND" if arg.get_id() == "kind" => {
            let kinds = Pattern::ALL.iter();
            one_of(kinds.map(|k| (k.name().into(), String::new())).collect())
        }
        _ => return None,
    })
}

/// One of these words.
fn one_of(words: Vec<Told>) -> ArgValueCompleter {
    ArgValueCompleter::new(move |typed: &OsStr| fitting(words.clone(), typed))
}

/// Those that begin with what is typed, in upper or lower case.
fn fitting(words: Vec<Told>, typed: &OsStr) -> Vec<CompletionCandidate> {
    let typed = typed.to_string_lossy().to_lowercase();
    let fit = words
        .into_iter()
        .filter(|(word, _)| word.to_lowercase().starts_with(&typed));
    fit.map(|(word, about)| CompletionCandidate::new(word).help(Some(about.into())))
        .collect()
}

/// The parts; where a size is possible too, the usual sizes, and names that are numbers with `part:` before them.
fn parts(sizes: bool) -> Vec<Told> {
    let mut out = Vec::new();
    for part in Catalogue::built_in().all() {
        let what = format!("{}, {}", part.organisation(), part.kind.name());
        let name = match sizes && values::number(&part.name).is_ok() {
            true => format!("part:{}", part.name),
            false => part.name.clone(),
        };
        out.push((name, what));
    }
    if sizes {
        let usual = (0..)
            .map(|n| 1_u64 << (11 + n))
            .take_while(|n| *n <= 1 << 20);
        out.extend(usual.map(|n| {
            (
                crate::cli::report::size_text(n),
                crate::cli::report::plural(n, "byte"),
            )
        }));
    }
    out
}

fn sums() -> Vec<Told> {
    let all = Algo::all().flat_map(|a| {
        let names = a.short_name().into_iter().chain([a.name()]);
        names.map(move |name| (name.to_owned(), a.about()))
    });
    let mut all: Vec<_> = all.collect();
    all.dedup_by(|a, b| a.0 == b.0);
    all
}

fn formats(writes: bool) -> Vec<Told> {
    let fits = |f: &&&dyn Format| match writes {
        true => f.can_write(),
        false => f.can_read(),
    };
    let all = FORMATS.iter().filter(fits);
    all.map(|f| (f.name().to_owned(), f.meta().about.to_owned()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(line: &str) -> Vec<String> {
        let folder = tempfile::TempDir::new().unwrap();
        std::fs::create_dir(folder.path().join("out")).unwrap();
        for (file, text) in [
            ("a.hex", ""),
            ("b c.bin", ""),
            ("heron.board", ""),
            (
                "board.loom",
                "# ${OLD}\nmark 0 ${DATE}\nwrite ${NAME}-${DATE}.bin\n",
            ),
        ] {
            std::fs::write(folder.path().join(file), text).unwrap();
        }
        let words: Vec<OsString> = line.split(' ').map(Into::into).collect();
        let grammar = super::super::commands::full_grammar();
        let found = candidates(grammar, &words, folder.path());
        found.into_iter().map(|(word, _)| word).collect()
    }

    fn begin(line: &str, wanted: &[&str]) {
        let found = words(line);
        for word in wanted {
            assert!(
                found.iter().any(|f| f == word),
                "{line}: {word} is not in {found:?}"
            );
        }
    }

    #[test]
    fn steps_commands_and_options_of_the_run_stand_first() {
        begin("", &["load", "seat", "run", "completions"]);
        assert_eq!(words("se"), ["seat"]);
        begin("--", &["--dry-run", "--quiet", "--help"]);
        begin("--quiet lo", &["load"]);
        assert_eq!(words("--qui"), ["--quiet"]);
    }

    #[test]
    fn behind_a_plus_stand_steps_alone_and_then_their_options() {
        begin("load a.hex + ", &["seat", "write"]);
        assert!(!words("load a.hex + ").contains(&"run".to_owned()));
        assert_eq!(words("load a.hex + reloc"), ["relocate"]);
        begin("load a.hex + relocate --", &["--to", "--by", "--on"]);
        begin("load a.hex + seat 27C256 ", &["--at", "--lanes", "+"]);
        assert!(!words("load a.hex + pad 8 --").contains(&"--follow".to_owned()));
        assert_eq!(words("load a.hex + show + wr"), ["write"]);
        begin("load a.hex + expect ", &["blank", "pointer"]);
        begin("load a.hex + expect pointer 0 --", &["--in", "--bytes"]);
        begin("load a.hex +", &["+"]);
        assert!(!words("load ").contains(&"+".to_owned()));
        assert!(!words("load a.hex + seat 27C256 --at ").contains(&"+".to_owned()));
        begin("load a.hex + show ", &["+", "hex", "changes"]);
    }

    #[test]
    fn files_stand_where_files_are_meant() {
        begin("load ", &["a.hex", "b c.bin", "out/"]);
        assert_eq!(words("load a."), ["a.hex"]);
        begin("load a.hex ", &["b c.bin", "+"]);
        begin("load a.hex + write o", &["out/"]);
        begin("load a.hex + compare ", &["a.hex"]);
        begin("load a.hex + diagnose --wanted b", &["b c.bin"]);
        assert_eq!(words("board h"), ["heron.board"]);
        assert!(!words("board ").contains(&"a.hex".to_owned()));
        begin("board heron.board --", &["--picture", "--json"]);
        let recipes = words("run ");
        assert!(recipes.contains(&"board.loom".to_owned()));
        assert!(!recipes.contains(&"a.hex".to_owned()));
        begin("--depfile a", &["a.hex"]);
    }

    #[test]
    fn parts_stand_where_a_part_or_a_size_can() {
        begin("load a.hex + seat ", &["27C256", "28C64", "2716"]);
        begin("load a.hex + seat 27c25", &["27C256"]);
        begin("load a.hex + pad ", &["27C256", "part:2716", "32K", "1M"]);
        begin("load a.hex + pad part:27", &["part:2716"]);
        begin("load a.hex + split banks ", &["8K"]);
        begin("load a.hex + seat 27C256 --size 8", &["8K"]);
        begin("parts 39", &["39SF010"]);
        begin("adapter 27c25", &["27C256"]);
        begin("adapter 27C256 28c25", &["28C256"]);
        assert_eq!(
            words("adapter 27C256 28C256 --upper "),
            ["low", "high", "any", "switch"]
        );
    }

    #[test]
    fn formats_sums_and_fixed_words_stand_where_they_are_meant() {
        begin("load a.hex --as ", &["intel-hex", "elf"]);
        begin("load a.hex + write x --as ", &["raw", "c-bytes"]);
        assert!(!words("load a.hex + write x --as ").contains(&"elf".to_owned()));
        begin("load a.hex + stamp crc3", &["crc32"]);
        begin("load a.hex + stamp crc-32/i", &["crc-32/iso-hdlc"]);
        begin("load a.hex + digest sha", &["sha1", "sha256"]);
        assert_eq!(words("load a.hex + stamp sum8 --order "), ["little", "big"]);
        begin("load a.hex --entry ", &["first", "last", "none"]);
        begin("load a.hex --clash ", &["refuse", "same"]);
        begin("load a.hex --as=ra", &["--as=raw"]);
        begin("pattern te", &["telltale"]);
        begin("help s", &["seat", "sums", "steps"]);
        begin("completions ", &["bash", "zsh", "fish", "powershell"]);
    }

    #[test]
    fn pieces_and_settings_stand_where_they_are_named_before() {
        let on = |before: &str| words(&format!("{before} + fill FF --on "));
        assert_eq!(on("load a.hex x/b.s19 --at 0 --apart"), ["a", "b"]);
        assert_eq!(on("load a.hex b.hex"), ["a"]);
        assert_eq!(on("load -"), ["input"]);
        assert_eq!(on("pattern telltale 8K"), ["telltale"]);
        assert_eq!(on("--quiet load --name rom a.hex"), ["rom"]);
        assert_eq!(on("load --name=rom a.hex"), ["rom"]);
        assert_eq!(
            on("load a.hex + split lanes 2 --on a"),
            ["a", "lane0", "lane1"]
        );
        assert_eq!(
            on("load a.hex + seat 27C256 --at 0 --lanes 2"),
            ["a", "even", "odd"]
        );
        assert_eq!(
            on("load a.hex + split lanes 3"),
            ["a", "lane0", "lane1", "lane2"]
        );
        assert_eq!(
            on("load a.hex + split banks 8K --names low,high"),
            ["a", "low", "high"]
        );
        assert_eq!(words("load a.hex + split nibbles + show --on h"), ["high"]);
        assert_eq!(words("run board.loom --set "), ["DATE=", "NAME="]);
        assert_eq!(words("run board.loom --set N"), ["NAME="]);
        assert_eq!(words("run board.loom --set DATE=1 --set "), ["NAME="]);
        assert!(words("run nowhere.loom --set ").is_empty());
    }

    #[test]
    fn words_that_make_no_sense_have_no_candidates() {
        assert!(words("nonsense ").iter().all(|w| w != "--at"));
        assert!(words("load a.hex + nonsense --").is_empty());
    }
}
