use super::*;
use crate::cli::pipeline::commands::{COMMANDS, full_grammar, grammar_of};

/// What becomes of the words of one segment, all of it that is shown.
fn said(grammar: &mut Grammar, words: &[OsString], first: bool) -> String {
    let of_step = |step: &PlannedStep| format!("{} {} {:?}", step.name(), step.json, step.places);
    let parsed = match first {
        true => grammar
            .first(words)
            .map(|(options, request)| match request {
                Request::Step(step, at) => format!("{} at {at}, {options:?}", of_step(&step)),
                Request::Command(name, matches) => format!("{name} {matches:?}, {options:?}"),
            }),
        false => grammar.step(words).map(|step| of_step(&step)),
    };
    match parsed {
        Ok(said) => said,
        Err(Refusal::Asked(asked)) => asked.0.render().ansi().to_string(),
        Err(Refusal::Slip(slip)) => format!("{slip:?}"),
    }
}

/// Lines that are right, lines that are wrong, and those that ask for help.
fn lines() -> Vec<String> {
    let mut lines = Vec::new();
    for step in steps::STEPS {
        let examples = step.example.lines();
        let examples = examples.filter_map(|line| line.strip_prefix("$ romloom "));
        lines.extend(examples.map(str::to_owned));
        let name = step.name;
        for rest in [
            "",
            "--help",
            "-h",
            "-qh",
            "--no-such",
            "+",
            "x y z",
            "--on a",
        ] {
            lines.push(format!("{name} {rest}").trim().to_owned());
        }
        lines.push(format!("-h {name}"));
        lines.push(format!("--quiet {name} --dry-run"));
        // Words of steps where files and values are meant, and a + that is glued.
        lines.push(format!("load {name} +{name} {name}"));
        lines.push(format!("{name}x a.bin"));
        lines.push(format!("a.bin +{name} --json --quiet"));
    }
    for command in COMMANDS {
        let name = command.name;
        for rest in ["", "--help", "a b", "--no-such"] {
            lines.push(format!("{name} {rest}").trim().to_owned());
        }
    }
    let others = [
        "--version",
        "-V",
        "--help",
        "-h",
        "-qh",
        "split lanes --help",
        "split lanes 2 + split -h",
        "show hex --help",
        "expect --help",
        "expect",
        "+ load a",
        "a.bin",
        "--json",
        "compare a.bin b.bin",
        "load a.bin + writ b.bin",
        "lod a.bin",
        "help split lanes",
        "load a.bin --depfile d + digest --quiet",
    ];
    lines.extend(others.map(str::to_owned));
    lines
}

/// What a line does not name is built only when it is needed, and that must never show.
#[test]
fn a_line_is_understood_as_by_the_whole_grammar() {
    let mut whole = full_grammar();
    let lines = lines();
    assert!(lines.len() > 400, "{}", lines.len());
    for line in lines {
        let words: Vec<OsString> = line.split_whitespace().map(OsString::from).collect();
        let mut small = grammar_of(&words);
        let typed = words.split(|word| word == "+").map(<[_]>::to_vec);
        let typed: Vec<Vec<OsString>> = typed.collect();
        let segments = small.gathered(typed.clone());
        assert_eq!(segments, whole.gathered(typed), "{line}");
        for (i, words) in segments.iter().enumerate() {
            let (got, wanted) = (
                said(&mut small, words, i == 0),
                said(&mut whole, words, i == 0),
            );
            assert_eq!(got, wanted, "{line}");
        }
        let around = Around {
            folder: Path::new(""),
            first: true,
            recipe: false,
        };
        for refused in [false, true] {
            let answer = |grammar: &mut Grammar| {
                let answer = grammar.answer(&segments, around, refused);
                answer.map(|answer| format!("{answer:?}"))
            };
            assert_eq!(answer(&mut small), answer(&mut whole), "{line}");
        }
    }
}
