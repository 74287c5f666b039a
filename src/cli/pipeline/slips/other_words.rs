//! What people call the steps elsewhere.

use super::vocabulary::step_named;
use crate::cli::steps::step;
use crate::sums::Algo;

/// What people mean by other words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meant {
    /// From one format to another.
    Convert,
    /// Several files into one.
    Merge,
    /// A step, and the words after its name.
    Step(&'static str, &'static str),
    /// A command, and the words after its name.
    Command(&'static str, &'static str),
    /// No step; what does it, in a sentence.
    Say(&'static str),
}

use Meant::{Command, Convert, Merge, Say, Step};

/// Words that people try first, and what does the work.
const OTHER_WORDS: &[(&[&str], Meant)] = &[
    (
        &["convert", "conv", "make", "transform", "translate"],
        Convert,
    ),
    (
        &["merge", "combine", "concat", "concatenate", "append", "cat"],
        Merge,
    ),
    (
        &["open", "read", "input", "import", "get", "in"],
        Step(step::LOAD, ""),
    ),
    (
        &[
            "save", "output", "export", "out", "store", "put", "generate", "to", "into",
        ],
        Step(step::WRITE, ""),
    ),
    (
        &[
            "verify", "diff", "cmp", "equal", "equals", "match", "against",
        ],
        Step(step::COMPARE, ""),
    ),
    (
        &["dump", "view", "print", "hex", "peek"],
        Step(step::SHOW, "hex"),
    ),
    (
        &["info", "map", "list", "size", "stat", "display"],
        Step(step::SHOW, ""),
    ),
    (
        &["checksum", "checksums", "sum", "sums", "hash"],
        Step(step::DIGEST, ""),
    ),
    (&["crc"], Step(step::DIGEST, "crc32")),
    (&["xor"], Step(step::DIGEST, "xor8")),
    (
        &["move", "offset", "shift", "rebase"],
        Step(step::RELOCATE, ""),
    ),
    (
        &[
            "cut", "trim", "slice", "extract", "truncate", "range", "select",
        ],
        Step(step::KEEP, ""),
    ),
    (
        &["delete", "remove", "erase", "rm", "exclude"],
        Step(step::DROP, ""),
    ),
    (
        &[
            "set",
            "poke",
            "replace",
            "overwrite",
            "insert",
            "change",
            "edit",
        ],
        Step(step::PATCH, ""),
    ),
    (&["label", "text", "string"], Step(step::MARK, "")),
    (&["interleave"], Step(step::JOIN, "lanes")),
    (
        &["deinterleave", "lanes", "lane"],
        Step(step::SPLIT, "lanes 2"),
    ),
    (&["bank", "banks", "chop"], Step(step::SPLIT, "banks")),
    (&["search", "grep", "locate"], Step(step::FIND, "")),
    (&["mirror", "duplicate", "double"], Step(step::REPEAT, "")),
    (&["byteswap", "endian"], Step(step::SWAP, "2")),
    (&["sign"], Step(step::STAMP, "")),
    (&["place", "layout", "socket"], Step(step::SEAT, "")),
    (
        &["resize", "align", "extend", "expand", "grow"],
        Step(step::PAD, ""),
    ),
    (
        &["invert", "complement", "not"],
        Step(step::REWIRE, "--invert-data"),
    ),
    (
        &["reverse", "bitswap", "bitreverse"],
        Step(step::REWIRE, "--data 7,6,5,4,3,2,1,0"),
    ),
    (
        &["permute", "scramble", "descramble", "unscramble", "swizzle"],
        Step(step::REWIRE, ""),
    ),
    (
        &["blank", "blankcheck", "blank-check"],
        Step(step::EXPECT, "blank"),
    ),
    (&["assert", "require", "ensure"], Step(step::EXPECT, "")),
    (
        &["repair", "analyse", "analyze", "why"],
        Step(step::DIAGNOSE, ""),
    ),
    (
        &["report", "label-sheet", "document"],
        Step(step::SHEET, ""),
    ),
    (&["majority"], Step(step::VOTE, "")),
    (
        &["init", "template", "create", "wizard"],
        Command("new", ""),
    ),
    (&["test", "validate", "lint"], Command("check", "")),
    (&["identify", "which"], Command("recognise", "")),
    (&["exec", "execute", "build"], Command("run", "")),
    (
        &["chips", "devices", "chip", "device"],
        Command("parts", ""),
    ),
    (&["ls", "commands", "dir"], Command("steps", "")),
    (&["types", "filetypes"], Command("formats", "")),
    (
        &["?", "/?", "-?", "/h", "/help", "usage", "manual"],
        Command("help", ""),
    ),
    (&["version", "ver"], Command("--version", "")),
    (
        &["burn", "program", "flash"],
        Say(
            "`write FILE` makes the file for your programmer, and `sheet FILE.html` the page for the bench; the programmer's own software burns it",
        ),
    ),
    (
        &["rename"],
        Say(
            "`load FILE --name NAME` gives a piece its name, and `write FILE` names what is written",
        ),
    ),
];

/// What is meant by a word, in upper or lower case.
pub fn meaning_of(word: &str) -> Option<Meant> {
    let lower = word.to_lowercase();
    let found = (OTHER_WORDS.iter()).find(|(others, _)| others.contains(&lower.as_str()));
    found.map(|(_, meant)| *meant)
}

/// The step that a word means, and the words after its name: the step itself in upper or lower case, a sum, or another
/// word for it.
pub fn step_meant(word: &str) -> Option<String> {
    if let Some(step) = step_named(word) {
        return Some(step.name.to_owned());
    }
    match meaning_of(word) {
        Some(Step(name, words)) => Some(format!("{name} {words}").trim_end().to_owned()),
        Some(Merge) => Some(step::LOAD.to_owned()),
        Some(Convert) => Some(step::WRITE.to_owned()),
        _ => None,
    }
}

/// The sum of this name.
pub fn sum_called(word: &str) -> Option<&'static str> {
    word.parse::<Algo>().ok().map(|algo| algo.name())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::pipeline::commands::full_grammar;

    /// What is advised for other words is a step or command that there is, and no word is a step's own.
    #[test]
    fn other_words_lead_to_steps() {
        let mut root = full_grammar().into_root();
        root.build();
        let mut seen = Vec::new();
        for (words, meant) in OTHER_WORDS {
            for word in *words {
                assert!(root.find_subcommand(word).is_none(), "{word}");
                assert!(!seen.contains(word), "{word} twice");
                seen.push(*word);
            }
            let (name, behind) = match meant {
                Step(name, behind) => (name, behind),
                Command(name, _) if !name.starts_with('-') => {
                    assert!(root.find_subcommand(name).is_some(), "{name}");
                    continue;
                }
                _ => continue,
            };
            let step = root.find_subcommand(name).unwrap();
            let kind = behind.split_whitespace().next();
            let kinds = step.get_subcommands().count() > 0;
            if let Some(kind) = kind.filter(|_| kinds) {
                assert!(step.find_subcommand(kind).is_some(), "{name} {kind}");
            }
        }
    }
}
