use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::Path;

use clap::Command;

use crate::cli::steps::STEPS;

/// Files of the room that hold no step.
const NOT_STEPS: &[&str] = &[
    "mod",
    "common",
    "entry",
    "fresh_names",
    "named",
    "lanes",
    "placeholders",
    "references",
    "chip_set",
    "programs",
    "pages",
    "read_chip",
    "table",
    "tests",
    "verdict_files",
];

#[test]
fn every_step_has_its_file_and_every_file_its_step() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/cli/steps");
    let files: BTreeSet<String> = std::fs::read_dir(folder)
        .unwrap()
        .filter_map(|f| Some(f.unwrap().path().file_stem()?.to_str()?.to_owned()))
        .filter(|f| !NOT_STEPS.contains(&f.as_str()))
        .collect();
    let table: BTreeSet<String> = STEPS.iter().map(|s| s.name.to_owned()).collect();
    assert_eq!(files, table);
    assert_eq!(table.len(), STEPS.len(), "a name stands twice");
}

#[test]
fn every_step_explains_itself() {
    for step in STEPS {
        assert!(!step.about.ends_with('.'), "{}", step.name);
        assert!(!step.help.is_empty(), "{}", step.name);
        assert!(step.example.starts_with("$ romloom "), "{}", step.name);
        assert!(
            step.example.lines().count() > 1,
            "{} prints nothing",
            step.name
        );
        let first = format!("$ romloom {} ", step.name);
        let used = step.example.contains(&format!("+ {}", step.name));
        assert!(used || step.example.starts_with(&first), "{}", step.name);
    }
}

#[test]
fn clap_finds_no_fault_with_any_step() {
    for step in STEPS {
        let mut command = step.command();
        command.build();
        command.debug_assert();
    }
}

/// `--explain` tells what each line does.
#[test]
fn no_step_lacks_a_sentence() {
    let mut met = Vec::new();
    for step in STEPS {
        let sentence = step.sentence;
        assert!(
            sentence.starts_with(char::is_uppercase),
            "{}: {sentence}",
            step.name
        );
        assert!(
            sentence.ends_with('.') && sentence.len() > 20,
            "{}: {sentence}",
            step.name
        );
        assert!(!met.contains(&sentence), "{}: {sentence}", step.name);
        met.push(sentence);
    }
}

/// The bench blames the argument that names pieces by its id.
#[test]
fn pieces_are_chosen_by_one_argument_in_every_step() {
    fn holds(command: &Command) -> usize {
        let mut named = 0;
        for argument in command.get_arguments() {
            if argument.get_long() == Some("on") {
                assert_eq!(argument.get_id(), crate::cli::bench::ON);
                named += 1;
            }
        }
        named + command.get_subcommands().map(holds).sum::<usize>()
    }
    let mut named = 0;
    for step in STEPS {
        let mut command = step.command();
        command.build();
        named += holds(&command);
    }
    assert!(named > 20, "the test no longer sees --on");
}

/// `docs/steps.md` is made from the same definitions as the help; its examples run in `tests/it/docs.rs`.
#[test]
fn the_page_of_steps_is_what_the_steps_say() {
    let mut page = String::from(
        "# The steps\n\nMade from the steps' own help; `ROMLOOM_WRITE_DOCS=1 cargo test --lib steps` writes it again.\n\
         A pipeline is one command, its steps separated by a lone `+`. The same steps, one a line, make a recipe.\n\
         Numbers are written 32768, 0x8000, 8000h or 32K; ranges 0x8000-0xFFFF (both included) or 0x8000+32K;\n\
         bytes EA EA 4C0080 or text:HELLO.\n\n\
         The examples run as tests, one after another, in this folder:\n\n\
         ```sh\nromloom demo heron   # makes the folder of this page\ncd heron\n```\n",
    );
    for step in STEPS {
        // A parent of the right name gives usage lines the words people type.
        let mut root = Command::new("romloom")
            .term_width(100)
            .disable_help_subcommand(true)
            .subcommand(step.command());
        root.build();
        let command = root.find_subcommand_mut(step.name).unwrap();
        let mut help = command.render_help().to_string();
        for sub in command.get_subcommands_mut() {
            write!(help, "\n{}", sub.render_help()).unwrap();
        }
        let help: Vec<&str> = help.lines().map(str::trim_end).collect();
        write!(
            page,
            "\n## {}\n\n{}\n\n```text\n{}\n```\n\n```console\n{}\n```\n",
            step.name,
            step.help,
            help.join("\n").trim_end(),
            step.example
        )
        .unwrap();
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/steps.md");
    if std::env::var_os("ROMLOOM_WRITE_DOCS").is_some() {
        std::fs::write(&path, &page).unwrap();
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        written.replace("\r\n", "\n") == page,
        "docs/steps.md is not what the steps say: ROMLOOM_WRITE_DOCS=1 cargo test --lib steps"
    );
}
