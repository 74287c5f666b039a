use std::ffi::OsString;

use clap::ArgAction;
use proptest::prelude::*;

use super::*;
use crate::cli::steps::STEPS;

/// The definitions, with every step built.
fn root() -> Command {
    let mut root = Command::new("romloom")
        .arg(Arg::new("depfile").long("depfile").num_args(1))
        .arg(Arg::new("quiet").long("quiet").action(ArgAction::SetTrue))
        .subcommands(STEPS.iter().map(|step| step.command()));
    root.build();
    root
}

/// Every step, and every kind of a step that has kinds.
fn ways(root: &Command) -> Vec<Vec<&str>> {
    let mut out = Vec::new();
    for step in root.get_subcommands().filter(|c| c.get_name() != "help") {
        let kinds = step.get_subcommands().filter(|c| c.get_name() != "help");
        let kinds = kinds.map(|kind| vec![step.get_name(), kind.get_name()]);
        out.extend(kinds);
        if !step.is_subcommand_required_set() {
            out.push(vec![step.get_name()]);
        }
    }
    out
}

/// Values that arguments of this kind take.
fn values_for(arg: &Arg) -> Vec<String> {
    let possible = arg.get_possible_values();
    if !possible.is_empty() {
        return possible.iter().map(|p| p.get_name().to_owned()).collect();
    }
    let names = arg.get_value_names().unwrap_or_default();
    let name = names.first().map_or("", |name| name.as_str());
    let values: &[&str] = match (arg.get_id().as_str(), name) {
        ("data", "LINE,...") => &["D0", "D1", "1,0", "D2,D1,D0"],
        ("inverted", _) => &["A3", "D0", "A3,D0"],
        (_, "LINE,...") => &["A0", "A1", "1,0", "A2,A1,A0"],
        ("KIND" | "kind" | "pattern", _) => &["telltale", "zeros"],
        (_, "FILE.html") => &["a.html", "at"],
        (_, "FORMAT") => &["raw", "intel-hex"],
        (_, "ALGO") => &["sum16", "crc32"],
        (_, "RANGE") => &["0-0xF", "0x8000+32K"],
        (_, "SIZE") => &["32K", "27C256", "64"],
        (_, "PART") => &["27C256", "data"],
        (_, "ADDR" | "BASE" | "ADDR|none" | "ADDR|first|last|none") => &["0x10", "8000h", "0"],
        (_, "BYTES" | "[ADDR=]BYTES") => &["FF", "EA EA", "text:hole"],
        (_, "BYTE" | "HEX") => &["FF", "00"],
        (_, "N" | "2|3|4" | "1|2") => &["2"],
        (_, "2|4") => &["2", "4"],
        (_, "16|20|24|32") => &["16", "24"],
        (_, "+N|-N") => &["+0x10", "-0x10", "-1"],
        (_, "A14=1,...") => &["A14=1", "A14=1,A13=0"],
        (_, "A15,...") => &["A15", "A14,A13"],
        (_, "NAME,...") => &["even", "at,hole", "a,b,a"],
        _ => &["data", "image", "at", "a=b", "hole"],
    };
    values.iter().map(|&v| v.to_owned()).collect()
}

/// A source of choices.
struct Choices {
    of: Vec<u32>,
    next: usize,
}

impl Choices {
    fn below(&mut self, n: usize) -> usize {
        self.next += 1;
        self.of[self.next % self.of.len()] as usize % n.max(1)
    }
}

/// A line for one way, most often one that the parser takes.
fn line(root: &Command, way: &[&str], choices: &mut Choices) -> Vec<String> {
    let mut command = root;
    for word in way {
        command = command.find_subcommand(word).unwrap();
    }
    let mut positionals = Vec::new();
    let mut options = Vec::new();
    for arg in command.get_arguments() {
        let id = arg.get_id().as_str();
        let wanted = arg.is_required_set() || choices.below(4) == 0;
        if id == "help" || !wanted {
            continue;
        }
        let many = matches!(arg.get_action(), ArgAction::Append);
        for _ in 0..=(if many { choices.below(3) } else { 0 }) {
            let values = values_for(arg);
            let mut value = || values[choices.below(values.len())].clone();
            let Some(long) = arg.get_long() else {
                positionals.push(value());
                continue;
            };
            let count = arg.get_num_args().map_or(1, |n| n.max_values());
            options.push(match arg.get_action().takes_values() {
                false => vec![format!("--{long}")],
                true if count > 1 => vec![format!("--{long}"), value(), value()],
                true => {
                    let value = value();
                    match choices.below(2) {
                        0 => vec![format!("--{long}={value}")],
                        _ => vec![format!("--{long}"), value],
                    }
                }
            });
        }
    }
    let mut words: Vec<String> = match choices.below(4) {
        0 => vec!["--quiet".into()],
        1 => vec!["--depfile".into(), way[0].into(), "--quiet".into()],
        2 => vec![format!("--depfile={}", way[0])],
        _ => Vec::new(),
    };
    words.extend(way.iter().map(|&w| w.to_owned()));
    // Options may be between the plain words.
    let mut plain = positionals.into_iter().peekable();
    let mut options = options.into_iter().peekable();
    while plain.peek().is_some() || options.peek().is_some() {
        let take_plain = options.peek().is_none() || choices.below(2) == 0;
        match take_plain {
            true => words.extend(plain.next()),
            false => words.extend(options.next().into_iter().flatten()),
        }
    }
    words
}

/// Looks up every argument that the parser has found; `None` where it refuses the line.
fn look_up_all(root: &mut Command, words: &[String]) -> Option<usize> {
    let line = std::iter::once("romloom".to_owned()).chain(words.to_vec());
    let matches = root
        .try_get_matches_from_mut(line.map(OsString::from))
        .ok()?;
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let places = Places::of(by_command(root, &words), &matches);
    let groups = by_command(root, &words);
    let first = groups[1].name.unwrap();
    let is_argument = |id: &str| groups.iter().any(|group| group.argument(id).is_some());
    let words = &words[first..];
    let mut looked_up = 0;
    let mut inner = matches.subcommand();
    while let Some((name, matches)) = inner {
        inner = matches.subcommand();
        // Groups have ids too.
        let ids = matches.ids().map(|id| id.as_str().to_owned());
        let ids = ids.filter(|id| is_argument(id));
        for id in ids.collect::<Vec<_>>() {
            let given = matches.value_source(&id) == Some(ValueSource::CommandLine);
            let raw = matches.try_get_raw(&id);
            let (Ok(Some(raw)), true) = (raw, given) else {
                continue;
            };
            let id: &'static str = id.leak();
            let raw: Vec<String> = raw.map(|v| v.to_string_lossy().into_owned()).collect();
            for (value, text) in raw.iter().enumerate() {
                let Some(at) = places.find(Argument { id, value }) else {
                    panic!("{name} {words:?}: {id} {value} is not found");
                };
                let word = words[at.word];
                let shown = at.bytes.clone().map_or(word, |bytes| &word[bytes]);
                let flag = word.starts_with("--") && text == "true";
                assert!(
                    shown == text || flag,
                    "{words:?}: {id} {value} is {shown}, not {text}"
                );
                looked_up += 1;
            }
        }
    }
    Some(looked_up)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// For every step: the word found is the value that the parser took.
    #[test]
    fn the_word_of_an_argument_is_the_one_that_was_parsed(
        choices in prop::collection::vec(0_u32..1000, 97),
    ) {
        let mut root = root();
        let mut choices = Choices { of: choices, next: 0 };
        let built = root.clone();
        let mut looked_up = 0;
        for way in ways(&built) {
            let words = line(&built, &way, &mut choices);
            looked_up += look_up_all(&mut root, &words).unwrap_or(0);
        }
        prop_assert!(looked_up > 20, "most lines are refused: {}", looked_up);
    }
}

/// The lines above are of use only if the parser takes them.
#[test]
fn every_way_is_taken_by_the_parser_in_some_form() {
    let mut root = root();
    let built = root.clone();
    let numbers = (0..997_u32).map(|n| n.wrapping_mul(2_654_435_761) >> 7);
    let mut choices = Choices {
        of: numbers.collect(),
        next: 0,
    };
    for way in ways(&built) {
        let taken = (0..60).filter_map(|_| {
            let words = line(&built, &way, &mut choices);
            look_up_all(&mut root, &words)
        });
        assert!(taken.max() > Some(0), "{way:?}");
    }
}

#[test]
fn each_word_of_a_line_has_its_kind() {
    let root = root();
    let words = [
        "--depfile",
        "pad",
        "split",
        "lanes",
        "2",
        "--names=a,b",
        "--nmaes",
        "3",
        "--on",
    ];
    let groups = by_command(&root, &words);
    let names: Vec<_> = groups.iter().map(|group| group.name).collect();
    assert_eq!(names, [None, Some(2), Some(3)]);
    let tokens = |group: usize| -> Vec<(Role, &str)> {
        let tokens = groups[group].tokens.iter();
        let shown = |token: &Token| {
            let word = words[token.at.word];
            token.at.bytes.clone().map_or(word, |bytes| &word[bytes])
        };
        tokens.map(|t| (t.role.clone(), shown(t))).collect()
    };
    let option = |id: &str| Role::Option(id.to_owned());
    let value = |id: &str| Role::Value(id.to_owned());
    assert_eq!(
        tokens(0),
        [(option("depfile"), "--depfile"), (value("depfile"), "pad")]
    );
    assert_eq!(tokens(1), []);
    assert_eq!(
        tokens(2),
        [
            (value("count"), "2"),
            (option("names"), "--names"),
            (value("names"), "a"),
            (value("names"), "b"),
            (Role::UnknownOption, "--nmaes"),
            (Role::Excess, "3"),
            (option("only"), "--on"),
        ]
    );
}
