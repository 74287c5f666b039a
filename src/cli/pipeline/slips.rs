//! Well-known slips, each answered with what to type. A suggestion is only made where it works.

use std::error::Error;
use std::ffi::OsString;
use std::path::Path;

use anyhow::anyhow;
use clap::Command;
use clap::error::{ContextKind, ContextValue, ErrorKind};

use super::words::quoted;
use crate::cli::steps::{Entry, STEPS};
use crate::formats;
use crate::prose::nearest;
use crate::values;

/// Words that people try first, and the step or command that does the work.
const OTHER_WORDS: &[(&[&str], &str)] = &[
    (&["convert", "conv", "make", "transform"], "convert"),
    (&["merge", "combine", "concat", "cat"], "merge"),
    (&["open", "read", "input", "import"], "load"),
    (&["save", "output", "export", "out"], "write"),
    (&["verify", "diff", "cmp", "equal"], "compare"),
    (&["dump", "hexdump", "view", "print", "hex"], "show hex"),
    (&["info", "map", "list"], "show"),
    (&["checksum", "sum", "hash"], "digest"),
    (&["move", "offset", "shift", "rebase"], "relocate"),
    (&["crop", "cut", "trim", "slice"], "keep"),
    (&["delete", "remove", "erase", "rm"], "drop"),
    (&["set", "poke", "replace", "overwrite"], "patch"),
    (&["interleave"], "join lanes"),
    (&["deinterleave"], "split lanes 2"),
    (&["search", "grep"], "find"),
    (&["mirror", "duplicate"], "repeat"),
    (&["byteswap"], "swap 2"),
    (&["crc", "sign"], "stamp"),
    (&["place"], "seat"),
];

/// Says in plain words what clap found wrong, and what to type where the words look like a well-known slip.
pub fn improve(
    error: clap::Error,
    words: &[OsString],
    root: &Command,
    first: bool,
) -> anyhow::Error {
    let words: Vec<&str> = words.iter().filter_map(|w| w.to_str()).collect();
    let slip = Slip {
        at: words.iter().position(|w| step_called(w).is_some()),
        error: &error,
        words: &words,
        root,
        first,
    };
    if !error.use_stderr() || words.is_empty() {
        return error.into();
    }
    match slip.answer() {
        Some(text) => anyhow!(text),
        // Something unusual: what clap says will do.
        None => anyhow!(slip_text(&error)),
    }
}

fn step_called(name: &str) -> Option<&'static Entry> {
    STEPS.iter().find(|s| s.name == name)
}

/// What was typed, and what clap says of it.
struct Slip<'a> {
    error: &'a clap::Error,
    words: &'a [&'a str],
    /// Where the step's name is, if there is one.
    at: Option<usize>,
    root: &'a Command,
    /// Whether these words begin the pipeline.
    first: bool,
}

impl<'a> Slip<'a> {
    fn context(&self, kind: ContextKind) -> Option<&'a str> {
        match self.error.get(kind)? {
            ContextValue::String(text) => Some(text),
            ContextValue::Strings(all) => all.first().map(String::as_str),
            _ => None,
        }
    }

    fn step(&self) -> Option<&'static Entry> {
        step_called(self.words[self.at?])
    }

    fn answer(&self) -> Option<String> {
        match self.error.kind() {
            ErrorKind::InvalidSubcommand => {
                let word = self.context(ContextKind::InvalidSubcommand)?;
                match (self.step(), self.words.first()) {
                    (Some(step), _) => Some(self.no_such_way(step, word)),
                    (None, Some(_)) => Some(self.no_such_step(word)),
                    (None, None) => None,
                }
            }
            ErrorKind::UnknownArgument => {
                let word = self.context(ContextKind::InvalidArg)?;
                match word.starts_with('-') && word.len() > 1 {
                    true => self.no_such_option(word),
                    false => Some(self.one_word_too_many(word)),
                }
            }
            ErrorKind::ValueValidation | ErrorKind::InvalidValue => self.wrong_value(),
            ErrorKind::MissingRequiredArgument => self.missing(),
            ErrorKind::MissingSubcommand | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
                let step = self.step()?;
                Some(format!(
                    "`{}` needs a word that says what: {}",
                    step.name,
                    self.ways(step)
                ))
            }
            ErrorKind::ArgumentConflict => {
                let one = self.context(ContextKind::InvalidArg)?;
                let other = self.context(ContextKind::PriorArg)?;
                let plain = |option: &str| option.split(' ').next().unwrap_or("").to_owned();
                let (one, other) = (plain(one), plain(other));
                Some(match one == other {
                    true => format!("{one} is given twice: once is enough"),
                    false => format!("{one} and {other} don't go together: use one of them"),
                })
            }
            _ => None,
        }
    }

    fn no_such_step(&self, word: &str) -> String {
        let path = Path::new(word);
        let extension = path.extension().and_then(|e| e.to_str());
        if extension == Some("loom") {
            return match self.first {
                true => format!("`{word}` looks like a recipe: romloom run {}", quoted(word)),
                false => format!(
                    "`{word}` looks like a recipe, and it runs by itself: romloom run {}",
                    quoted(word)
                ),
            };
        }
        if path.is_file() || format_of(word).is_some() {
            let file = quoted(word);
            return match self.first {
                true => format!(
                    "`{word}` looks like a file, and a pipeline begins with a step: romloom load {file} + show"
                ),
                false => format!(
                    "`{word}` looks like a file, and behind a + stands a step: several files go behind one `load` without a +, or write + load {file}"
                ),
            };
        }
        let at = self.words.iter().position(|w| *w == word).unwrap_or(0);
        let rest = &self.words[at + 1..];
        let plain = rest.iter().all(|w| !w.starts_with('-'));
        let lower = word.to_lowercase();
        let meant = OTHER_WORDS
            .iter()
            .find(|(others, _)| others.contains(&lower.as_str()));
        let command = match (meant.map(|(_, step)| *step), rest) {
            (Some("convert"), [from, to]) if plain && self.first => Some(format!(
                "romloom load {} + write {}",
                quoted(from),
                quoted(to)
            )),
            (Some("merge"), [from @ .., to]) if plain && self.first && from.len() > 1 => {
                let raw = from.iter().filter(|f| format_of(f) == Some("raw"));
                let follow = if raw.count() > 1 { " --follow" } else { "" };
                let from: Vec<String> = from.iter().map(|w| quoted(w)).collect();
                let (from, to) = (from.join(" "), quoted(to));
                Some(format!("romloom load {from}{follow} + write {to}"))
            }
            (Some("compare"), [one, two]) if plain && self.first => Some(format!(
                "romloom load {} + compare {}",
                quoted(one),
                quoted(two)
            )),
            (Some(step @ ("digest" | "show" | "show hex")), [file]) if plain && self.first => {
                Some(format!("romloom load {} + {step}", quoted(file)))
            }
            _ => None,
        };
        if let Some(command) = command {
            return format!("`{word}` is no step and no command; this does it: {command}");
        }
        let names = self.root.get_subcommands().map(Command::get_name);
        let near = match meant {
            Some((_, "convert" | "merge")) => None,
            Some((_, step)) => Some(*step),
            None => nearest(word, names).first().copied(),
        };
        let hint = match near {
            Some(near) => format!("did you mean `{near}`? "),
            None => String::new(),
        };
        format!("`{word}` is no step and no command: {hint}`romloom steps` lists the steps")
    }

    /// `split 2`.
    fn no_such_way(&self, step: &Entry, word: &str) -> String {
        let number = values::number(word).is_ok();
        let near = self.context(ContextKind::SuggestedSubcommand);
        match (step.name, near) {
            ("split", _) if number => format!(
                "`split` needs a word that says how: split lanes {word} deals the bytes out in turn, split banks {word} cuts the image into blocks"
            ),
            ("split", _) if ["even", "odd"].contains(&word) => {
                "`split` needs a word that says how: split lanes 2 --names even,odd".into()
            }
            (_, Some(near)) => format!(
                "`{word}` means nothing to `{}`: did you mean `{near}`?",
                step.name
            ),
            _ => format!(
                "`{word}` means nothing to `{}`: it takes {}",
                step.name,
                self.ways(step)
            ),
        }
    }

    fn ways(&self, step: &Entry) -> String {
        let command = self.root.find_subcommand(step.name);
        let ways = command.into_iter().flat_map(Command::get_subcommands);
        let ways: Vec<&str> = ways
            .map(Command::get_name)
            .filter(|w| *w != "help")
            .collect();
        match ways.is_empty() {
            true => format!("`romloom help {}` explains it", step.name),
            false => format!("{} (see `romloom help {}`)", ways.join(", "), step.name),
        }
    }

    fn no_such_option(&self, word: &str) -> Option<String> {
        let bare = word.trim_start_matches('-');
        let mut places = self.words.iter();
        let at = places.rposition(|w| w.split('=').next() == Some(word))?;
        let (Some(step), true) = (self.step(), self.at < Some(at)) else {
            return self.options_first(word);
        };
        if self
            .root
            .get_arguments()
            .any(|a| a.get_long() == Some(bare) && bare != "help")
        {
            return Some(format!(
                "`{word}` concerns the whole run: put it before the first step, as in romloom {word} ..."
            ));
        }
        let value = self.words.get(at + 1).filter(|w| !w.starts_with('-'));
        let value = value.map_or(String::new(), |w| format!(" {}", quoted(w)));
        if ["o", "out", "output"].contains(&bare) {
            return Some(match step.name {
                "write" => {
                    format!("`{word}` is not needed, the name stands by itself: write{value}")
                }
                _ => format!(
                    "`{word}` is no option of `{}`; writing is a step of its own: + write{value}",
                    step.name
                ),
            });
        }
        if let Some(other) = step_called(bare) {
            return Some(format!(
                "`{word}` is no option of `{}`, but `{bare}` is a step: + {bare}{value} ({})",
                step.name, other.about
            ));
        }
        let hint = self.near_option(step.name, bare);
        Some(format!(
            "`{word}` is no option of `{}`: {hint}`romloom help {}` lists them",
            step.name, step.name
        ))
    }

    /// `-i a.hex -o b.bin`, with no step at all.
    fn options_first(&self, word: &str) -> Option<String> {
        if !self.first {
            return None;
        }
        let files: Vec<&&str> = self.words.iter().filter(|w| !w.starts_with('-')).collect();
        let known = |f: &&str| format_of(f).is_some();
        match files[..] {
            [from, to] if known(from) && known(to) => Some(format!(
                "`{word}` is no option; files go through steps: romloom load {} + write {}",
                quoted(from),
                quoted(to)
            )),
            [command, ..] if self.root.find_subcommand(*command).is_some() => {
                let hint = self.near_option(command, word.trim_start_matches('-'));
                Some(format!(
                    "`{word}` is no option of `{command}`: {hint}`romloom help {command}` lists them"
                ))
            }
            _ => Some(format!(
                "`{word}` is no option: `romloom --help` lists them"
            )),
        }
    }

    fn one_word_too_many(&self, word: &str) -> String {
        let Some((step, at)) = self.step().zip(self.at) else {
            return match word.split_once('=') {
                Some((name, _)) if self.words.first() == Some(&"run") && !name.is_empty() => {
                    format!("`{word}` is one word too many; a value is given with --set {word}")
                }
                _ => format!("`{word}` is one word too many"),
            };
        };
        let name = step.name;
        // The word may stand in front of the step too, even there only.
        let behind = self.words[at..].iter().rposition(|w| *w == word);
        let here = at + behind.unwrap_or(0);
        let before = self
            .words
            .get(here.wrapping_sub(1))
            .filter(|_| here > at + 1);
        // The usual slip: the + between two steps is missing, or glued to a word.
        if let Some(line) = with_plus(&self.words[at..]) {
            return format!("`{word}` is one word too many for `{name}`; is a + missing? {line}");
        }
        let are = |is: fn(&str) -> bool| before.is_some_and(|b| is(b)) && is(word);
        let first = before.copied().unwrap_or_default();
        let takes_bytes = ["fill", "patch", "find", "hollow", "expect"].contains(&name);
        // 0x8000 has more digits than a byte: it is rather an address.
        let address = |w: &str| w.len() > 4 && w.starts_with("0x") && values::number(w).is_ok();
        if takes_bytes && !are(address) && are(|w| values::bytes(w).is_ok()) {
            return format!(
                "`{word}` is one word too many; several bytes go into one pair of quotes, as \"{first} {word}\""
            );
        }
        if are(|w| values::number(w).is_ok()) {
            return format!(
                "`{word}` is one word too many; a range is one word, as {first}-{word}"
            );
        }
        if name == "mark" {
            let text = self.words[(at + 2).min(here)..]
                .iter()
                .take_while(|w| !w.starts_with('-'));
            let text: Vec<&str> = text.copied().collect();
            let front = self.words[at..].iter().take(2).copied();
            let front = front.collect::<Vec<_>>().join(" ");
            let text = text.join(" ");
            return format!(
                "`{word}` is one word too many; a text with blanks goes into quotes: {front} \"{text}\""
            );
        }
        if values::number(word).is_ok() && !self.words.contains(&"--at") && self.takes(step, "at") {
            let front = self.words[at..here].join(" ");
            let more = self.required(step, &["at"]);
            return format!(
                "`{word}` is one word too many; an address stands behind --at: {front}{more} --at {word}"
            );
        }
        format!(
            "`{word}` is one word too many for `{name}`: see `romloom help {name}`; the next step stands behind a lone +"
        )
    }

    fn takes(&self, step: &Entry, option: &str) -> bool {
        let command = self.root.find_subcommand(step.name);
        command.is_some_and(|c| c.get_arguments().any(|a| a.get_long() == Some(option)))
    }

    fn near_option(&self, command: &str, word: &str) -> String {
        let command = self.root.find_subcommand(command);
        let arguments = command.into_iter().flat_map(Command::get_arguments);
        let options = arguments.filter_map(clap::Arg::get_long);
        match nearest(word, options).first() {
            Some(near) => format!("did you mean --{near}? "),
            None => String::new(),
        }
    }

    /// The required options that are not given, each with what stands behind it.
    fn required(&self, step: &Entry, but: &[&str]) -> String {
        let command = self.root.find_subcommand(step.name);
        let arguments = command.into_iter().flat_map(Command::get_arguments);
        let missing = arguments.filter(|a| a.is_required_set()).filter_map(|a| {
            let long = a.get_long().filter(|l| !but.contains(l))?;
            let mut given = self.words.iter();
            let given = given.any(|w| w.strip_prefix("--") == Some(long));
            let value = a.get_value_names()?.first()?;
            (!given).then(|| format!(" --{long} {value}"))
        });
        missing.collect()
    }

    fn wrong_value(&self) -> Option<String> {
        let argument = self.context(ContextKind::InvalidArg)?;
        let option = argument.split(' ').next().filter(|o| o.starts_with("--"));
        let front = option.map(|o| format!("{o}: ")).unwrap_or_default();
        let value = self.context(ContextKind::InvalidValue)?;
        // `load --at` at the end, or with nothing but a comment behind it.
        if value.is_empty() && self.error.source().is_none() && !self.words.contains(&"") {
            let what = argument.split_once(' ').map_or("VALUE", |(_, what)| what);
            let what = what.trim_matches(['<', '>', '.']);
            return Some(format!(
                "{front}a value is missing: write {} {what} (a # in front of a word starts a comment)",
                option.unwrap_or_default()
            ));
        }
        if let Some((_, line)) = self
            .at
            .zip(self.at.and_then(|at| with_plus(&self.words[at..])))
            && step_called(value).is_some()
        {
            return Some(format!(
                "{front}`{value}` is a step; is a + missing? {line}"
            ));
        }
        // `keep 0x8000 0x9000`.
        let behind = self.words.iter().position(|w| *w == value).map(|i| i + 1);
        if let Some(next) = behind.and_then(|i| self.words.get(i))
            && argument.contains("RANGE")
            && [value, next].iter().all(|w| values::number(w).is_ok())
        {
            return Some(format!(
                "{front}`{value}` is not a range: a range is one word, as {value}-{next}"
            ));
        }
        match self.error.source() {
            Some(cause) => Some(format!("{front}{}", said_of(value, &cause.to_string()))),
            None => {
                let known = match self.error.get(ContextKind::ValidValue)? {
                    ContextValue::Strings(all) => all.join(", "),
                    _ => return None,
                };
                let front = option.map(|o| format!(" of {o}")).unwrap_or_default();
                Some(format!("`{value}` is no value{front}: it takes {known}"))
            }
        }
    }

    fn missing(&self) -> Option<String> {
        let missing = match self.error.get(ContextKind::InvalidArg)? {
            ContextValue::Strings(all) => all.join(" "),
            ContextValue::String(one) => one.clone(),
            _ => return None,
        };
        let missing = missing.replace(['<', '>'], "");
        let at = self.at.unwrap_or(0);
        let name = self.words.get(at)?;
        if let Some(line) = self.at.and_then(|at| with_plus(&self.words[at..])) {
            return Some(format!("`{name}` needs {missing}; is a + missing? {line}"));
        }
        let given: Vec<String> = self.words[at..].iter().map(|w| quoted(w)).collect();
        Some(format!(
            "`{name}` needs {missing}: {} {missing} (see `romloom help {name}`)",
            given.join(" ")
        ))
    }
}

/// The cause, with the value it is about unless it names that itself.
fn said_of(value: &str, cause: &str) -> String {
    match cause.contains(&format!("`{value}`")) || cause.starts_with(value) {
        true => cause.into(),
        false => format!("`{value}`: {cause}"),
    }
}

/// The format that a name tells.
fn format_of(name: &str) -> Option<&'static str> {
    let extension = Path::new(name).extension().and_then(|e| e.to_str());
    Some(formats::by_extension(extension?)?.name())
}

/// The words with a lone + in front of every step's name, where one is glued or missing; `None` where none is.
fn with_plus(words: &[&str]) -> Option<String> {
    let mut out: Vec<String> = words.first().map(|w| quoted(w)).into_iter().collect();
    let mut mended = false;
    for (i, word) in words.iter().enumerate().skip(1) {
        let before = words[i - 1];
        let name = word.strip_suffix('+').filter(|w| step_called(w).is_some());
        let word = name.unwrap_or(word);
        let glued = word
            .split_once('+')
            .filter(|(_, step)| step_called(step).is_some());
        if let Some((file, step)) = glued {
            out.extend((!file.is_empty()).then(|| quoted(file)));
            out.extend(["+".into(), step.into()]);
            mended = true;
        } else if step_called(word).is_some() && !before.starts_with("--") {
            if let Some(file) = before.strip_suffix('+').filter(|f| !f.is_empty()) {
                out.pop();
                out.push(quoted(file));
            }
            out.extend(["+".into(), word.into()]);
            mended = true;
        } else {
            out.push(quoted(word));
        }
    }
    mended.then(|| out.join(" "))
}

/// What may help where a step stopped: its words, what it said, and where its files lie.
pub fn afterthought(words: &[&str], text: &str, folder: &Path) -> Option<String> {
    let not_there = |word: &&&str| !folder.join(word).exists();
    let recipe = words.iter().find(|w| w.ends_with(".loom"));
    if let Some(recipe) = recipe.filter(|_| text.contains("tells the format")) {
        let recipe = quoted(recipe);
        return Some(format!("a recipe runs by itself: romloom run {recipe}"));
    }
    if !text.contains("no such file") {
        return None;
    }
    if let Some(line) = with_plus(words) {
        return Some(format!("is a + missing? {line}"));
    }
    let missing = words
        .iter()
        .skip(1)
        .position(|w| text.contains(*w) && not_there(&w))?
        + 1;
    if words[missing].contains(['*', '?']) {
        return Some(format!(
            "`{}` is taken as it stands: only a shell makes a list of files of it, so name each file",
            words[missing]
        ));
    }
    // `load my data.bin`: the name has a blank.
    let longest = (missing + 2..=words.len()).rev();
    longest
        .map(|end| words[missing..end].join(" "))
        .find(|name| folder.join(name).is_file())
        .map(|name| format!("a name with blanks goes into quotes: \"{name}\""))
}

/// Numbers that are taken as they stand, and were perhaps not meant so.
pub fn doubtful(words: &[&str]) -> Vec<String> {
    let mut out = Vec::new();
    for (i, word) in words.iter().enumerate().skip(1) {
        let (option, value) = match word.split_once('=') {
            Some((option, value)) if option.starts_with("--") => (option, value),
            _ => (words[i - 1], *word),
        };
        if !["--at", "--to"].contains(&option) {
            continue;
        }
        let digits = value.bytes().all(|b| b.is_ascii_digit());
        if digits && value.len() > 1 && value.bytes().all(|b| b == b'0') {
            out.push(format!("{option} {value} is 0; a shell makes {value} of $8{value}: where that is meant, write 0x8{value}"));
        } else if digits && value.len() > 3 && value.ends_with("00") {
            // Round in hexadecimal and not in binary: 8000, and not 4096 or 32768.
            let decimal: u64 = value.parse().unwrap_or(0);
            out.push(format!("{option} {value} is decimal, 0x{decimal:X}; where hexadecimal is meant, write 0x{value}"));
        }
    }
    out
}

/// What clap says of wrong words: what is wrong in one line, then, each behind an empty line, what may help.
fn slip_text(error: &clap::Error) -> String {
    let text = error.render().to_string();
    let text = text.strip_prefix("error: ").unwrap_or(&text);
    let mut parts = Vec::new();
    for part in text.split("\n\n").map(str::trim) {
        let part = part.strip_prefix("tip: ").unwrap_or(part);
        let lines: Vec<&str> = part.lines().map(str::trim).collect();
        if !part.is_empty() && !part.starts_with("For more information") {
            parts.push(lines.join(" "));
        }
    }
    parts.join("\n\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plus_is_put_where_it_is_missing() {
        for (line, wanted) in [
            ("load a.hex write b.bin", Some("load a.hex + write b.bin")),
            ("load a.hex +write b.bin", Some("load a.hex + write b.bin")),
            ("load a.hex+ write b.bin", Some("load a.hex + write b.bin")),
            ("load a.hex+write b.bin", Some("load a.hex + write b.bin")),
            ("load a.hex --name write", None),
            ("load a+b.hex", None),
        ] {
            let words: Vec<&str> = line.split(' ').collect();
            assert_eq!(with_plus(&words).as_deref(), wanted, "{line}");
        }
    }

    #[test]
    fn a_round_number_is_asked_about() {
        let doubts = |line: &str| doubtful(&line.split(' ').collect::<Vec<_>>()).len();
        assert_eq!(doubts("load a.bin --at 8000"), 1);
        assert_eq!(doubts("load a.bin --at=8000"), 1);
        assert_eq!(doubts("load a.bin --at 000"), 1);
        for line in [
            "pad 8000",
            "load a.bin --at 0",
            "load a.bin --at 32768",
            "load a.bin --at 0x8000",
            "seat x --at 512",
        ] {
            assert_eq!(doubts(line), 0, "{line}");
        }
    }
}
