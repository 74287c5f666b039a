//! What people call the options elsewhere, and what options were called before.

use crate::cli::steps::step;

/// What an option of another name means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OptionMeaning {
    /// The option of this name.
    Option(&'static str),
    /// Its value is a plain word.
    Plain,
    /// Nothing: what it asks for is done anyway.
    Nothing,
    /// An option of the whole run.
    Run(&'static str),
    /// A step, which takes its value.
    Step(&'static str),
    /// A kind of the step, such as `show hex`.
    Kind(&'static str),
}

use OptionMeaning::{Kind, Nothing, Option, Plain, Run, Step};

/// A step or command, the option's names without hyphens, and what is meant. For the first line that fits: an empty name
/// fits every step.
type OptionLine = (&'static str, &'static [&'static str], OptionMeaning);

/// Options that had other names before.
const RENAMED: &[OptionLine] = &[
    (step::WRITE, &["address"], Option("address-bits")),
    (step::WRITE, &["width"], Option("per-record")),
    (step::EXPECT, &["width"], Option("bytes")),
    (step::DIAGNOSE, &["emit"], Option("step-only")),
    ("check", &["usual"], Option("lenient")),
    ("", &["yes-large"], Option("allow-large")),
    ("", &["shed"], Option("drop-outside")),
    ("", &["banks"], Option("bank-size")),
];

/// Other words for options.
const HABITS: &[OptionLine] = &[
    // Files.
    (
        step::WRITE,
        &[
            "o",
            "out",
            "output",
            "outfile",
            "output-file",
            "file",
            "f",
            "to",
        ],
        Plain,
    ),
    (step::SHEET, &["o", "out", "output", "file", "html"], Plain),
    (
        step::LOAD,
        &["i", "in", "input", "file", "infile", "input-file"],
        Plain,
    ),
    (
        "",
        &["o", "out", "output", "outfile", "output-file"],
        Step(step::WRITE),
    ),
    ("", &["to", "save", "into"], Step(step::WRITE)),
    ("", &["i", "in", "input", "infile"], Nothing),
    // Formats.
    (
        step::WRITE,
        &[
            "format",
            "fmt",
            "type",
            "t",
            "filetype",
            "output-format",
            "to-format",
            "F",
            "O",
        ],
        Option("as"),
    ),
    (
        step::LOAD,
        &[
            "format",
            "fmt",
            "f",
            "type",
            "t",
            "filetype",
            "input-format",
            "from",
            "I",
        ],
        Option("as"),
    ),
    ("check", &["format", "fmt", "type"], Option("as")),
    // Addresses.
    (
        step::RELOCATE,
        &[
            "at", "base", "address", "addr", "start", "org", "origin", "a",
        ],
        Option("to"),
    ),
    (
        step::RELOCATE,
        &["offset", "shift", "delta", "add"],
        Option("by"),
    ),
    (
        step::COPY,
        &["at", "dest", "destination", "address"],
        Option("to"),
    ),
    (step::SPREAD, &["banks", "into"], Option("to")),
    (
        step::STAMP,
        &["range", "over", "of", "from", "area", "region", "in"],
        Option("across"),
    ),
    (step::SHOW, &["range", "hex", "dump", "x"], Kind("hex")),
    (
        "",
        &[
            "base",
            "base-address",
            "address",
            "addr",
            "start",
            "start-address",
            "org",
            "origin",
            "offset",
            "a",
            "load-address",
        ],
        Option("at"),
    ),
    ("", &["range", "over", "from"], Plain),
    // Values.
    (
        step::PAD,
        &[
            "fill",
            "erased",
            "filler",
            "value",
            "byte",
            "fill-value",
            "b",
        ],
        Option("with"),
    ),
    (
        step::SEAT,
        &["fill", "erased", "filler", "value", "byte", "fill-value"],
        Option("with"),
    ),
    (step::BURNABLE, &["blank"], Option("erased")),
    (
        step::PAD,
        &["size", "to", "part", "length", "device", "chip"],
        Plain,
    ),
    (step::REPEAT, &["size", "to", "part", "times"], Plain),
    (step::PATTERN, &["kind", "size", "type"], Plain),
    (step::SEAT, &["part", "device", "chip", "type"], Plain),
    (step::SEAT, &["window", "bytes"], Option("size")),
    (
        step::SEAT,
        &["interleave", "width", "ways"],
        Option("lanes"),
    ),
    (step::SEAT, &["endian", "endianness"], Option("order")),
    (
        step::FILL,
        &["with", "value", "byte", "pattern", "bytes", "fill"],
        Plain,
    ),
    (step::HOLLOW, &["byte", "value", "with"], Plain),
    (step::FIND, &["bytes", "text", "pattern", "hex"], Plain),
    (step::MARK, &["text", "string"], Plain),
    (step::PATCH, &["bytes", "with", "value"], Plain),
    (step::PATCH, &["old", "expect", "if", "from"], Option("was")),
    (
        step::STAMP,
        &["algo", "algorithm", "sum", "type", "crc"],
        Plain,
    ),
    (
        step::STAMP,
        &["endian", "endianness", "byte-order"],
        Option("order"),
    ),
    (
        step::DIGEST,
        &["algo", "algorithm", "sum", "type", "a"],
        Plain,
    ),
    (step::SWAP, &["word", "bytes", "width"], Plain),
    (
        step::DIAGNOSE,
        &[
            "expected",
            "want",
            "expect",
            "against",
            "reference",
            "ref",
            "original",
        ],
        Option("wanted"),
    ),
    (
        step::COMPARE,
        &["with", "against", "wanted", "to", "reference"],
        Plain,
    ),
    (step::BURNABLE, &["over", "on-chip", "old"], Plain),
    (
        step::LOAD,
        &["append", "concat", "sequential"],
        Option("follow"),
    ),
    (step::LOAD, &["separate", "split"], Option("apart")),
    (step::LOAD, &["overlap", "overwrite"], Option("clash")),
    (step::VOTE, &["on-tie"], Option("tie")),
    (
        step::WRITE,
        &[
            "bytes-per-line",
            "line-length",
            "record-length",
            "len",
            "bytes-per-record",
        ],
        Option("per-record"),
    ),
    (
        step::WRITE,
        &["eol", "newline", "line-ending"],
        Option("line-end"),
    ),
    (step::WRITE, &["verify", "check"], Option("proof")),
    (step::MARK, &["force", "f"], Option("replace")),
    (step::STAMP, &["force", "f"], Option("replace")),
    (step::SPREAD, &["force", "f"], Option("replace")),
    (step::WRITE, &["force", "y", "yes"], Nothing),
    (
        "recognise",
        &["set", "known", "in", "from"],
        Option("among"),
    ),
    ("new", &["chip", "device"], Option("part")),
    // The whole run.
    ("", &["v", "verbose"], Run("explain")),
    ("", &["q", "silent", "s"], Run("quiet")),
    (
        "",
        &["n", "simulate", "what-if", "whatif", "dryrun"],
        Run("dry-run"),
    ),
    ("", &["deps", "MF", "MD"], Run("depfile")),
];

/// What an option of this name means to this step or command, in the order of likelihood.
pub fn meanings(command: &str, option: &str) -> impl Iterator<Item = OptionMeaning> {
    let lower = option.to_lowercase();
    let lines = RENAMED.iter().chain(HABITS);
    let fits = move |line: &&OptionLine| {
        let (own, names, _) = line;
        (own.is_empty() || *own == command) && (names.contains(&option_of(&lower, names)))
    };
    let all: Vec<OptionMeaning> = lines.filter(fits).map(|(.., does)| *does).collect();
    all.into_iter()
}

/// The name as the list has it, in upper or lower case.
fn option_of<'a>(lower: &'a str, names: &[&'a str]) -> &'a str {
    let own = names.iter().find(|name| name.to_lowercase() == lower);
    own.copied().unwrap_or("\0")
}
