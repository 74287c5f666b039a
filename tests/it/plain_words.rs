//! Words and phrases that must not come back: in comments, messages and help, and in the pages.

use std::fs;
use std::path::{Path, PathBuf};

/// A word or phrase, what to write instead, and longer phrases in which it is right.
struct Habit {
    /// In small letters; whole words only.
    phrase: &'static str,
    better: &'static str,
    right: &'static [&'static str],
}

const fn habit(
    phrase: &'static str,
    better: &'static str,
    right: &'static [&'static str],
) -> Habit {
    Habit {
        phrase,
        better,
        right,
    }
}

const HABITS: &[Habit] = &[
    habit(
        "behind",
        "after",
        &[
            "left behind",
            "leave it behind",
            "leaves nothing behind",
            "leaves no file and no folder behind",
            "hides behind",
            "hide behind",
        ],
    ),
    habit("in front", "before, first", &[]),
    habit("stands", "is, comes, means", &[]),
    habit("stand", "are, come, mean", &[]),
    habit("stood", "was, were", &[]),
    habit("lies", "is", &[]),
    habit("lie", "are", &[]),
    habit(
        "holds",
        "contains, has",
        &[
            "the board holds",
            "holds them at",
            "those that it holds at a level",
        ],
    ),
    habit("held against", "compared with", &[]),
    habit("hold it against", "compare it with", &[]),
    habit("hold them against", "compare them with", &[]),
    habit(
        "is no",
        "is not a",
        &["there is no", "is no longer", "what is no longer"],
    ),
    habit("are no", "are not", &["there are no", "are no longer"]),
    habit("; else", "otherwise; for an option [default: X]", &[]),
    habit(", else", "otherwise; for an option [default: X]", &[]),
    habit("exchanged", "swapped", &[]),
    habit("changed places", "were swapped", &[]),
    habit(
        "change places",
        "are swapped",
        &["levels only change places"],
    ),
    habit("gap", "hole", &[]),
    habit("gaps", "holes", &[]),
    habit("by itself", "alone, separately, without help", &[]),
    habit("by themselves", "alone, separately", &[]),
    habit("so far as", "as far as, if", &[]),
    habit("of which each", "each of them", &[]),
    habit("besides", "too, also, apart from", &[]),
    habit("anew", "again", &[]),
    habit("shall", "will, must", &[]),
    habit("maybe", "perhaps", &[]),
    habit("whoever", "a caller, a person who", &[]),
    habit("storey", "layer", &[]),
    habit("storeys", "layers", &[]),
    habit("petty", "plain", &[]),
];

/// Places where a word is right: the end of the file's path, and a piece of the text around the word.
const RIGHT: &[(&str, &str)] = &[
    // The end of a sentence that begins with an address: `0x7FE0 holds 4C, not 01`.
    ("src/prose/bytes.rs", "holds"),
    ("src/cli/steps/expect.rs", "is not blank: 0x holds"),
];

/// A stretch of text, its first line, and its lines.
struct Words {
    file: String,
    line: usize,
    text: String,
}

impl Words {
    /// The line of a byte of the text.
    fn line_of(&self, at: usize) -> usize {
        self.line + self.text[..at].matches('\n').count()
    }
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_owned()
}

fn files(folder: &str, extension: &str, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(root().join(folder)).unwrap() {
        let path = entry.unwrap().path();
        let inside = path
            .strip_prefix(root())
            .unwrap()
            .to_str()
            .unwrap()
            .replace('\\', "/");
        match path.is_dir() {
            true if path.ends_with("tests") => {}
            true => files(&inside, extension, out),
            false if path.file_stem().is_some_and(|stem| stem == "tests") => {}
            false if path.extension().is_some_and(|e| e == extension) => out.push(inside.into()),
            false => {}
        }
    }
}

/// Everything that is checked.
fn everything() -> Vec<Words> {
    let mut out = Vec::new();
    let mut sources = Vec::new();
    files("src", "rs", &mut sources);
    for file in &sources {
        of_source(file.to_str().unwrap(), &mut out);
    }
    let mut recipes = Vec::new();
    files("samples", "loom", &mut recipes);
    for file in &recipes {
        of_recipe(file.to_str().unwrap(), &mut out);
    }
    let mut pages = vec![
        PathBuf::from("README.md"),
        PathBuf::from("samples/README.md"),
    ];
    files("docs", "md", &mut pages);
    for file in &pages {
        of_page(file.to_str().unwrap(), &mut out);
    }
    out
}

fn read(file: &str) -> String {
    fs::read_to_string(root().join(file)).unwrap()
}

/// Comments and texts in quotes of a source, its unit tests left out.
fn of_source(file: &str, out: &mut Vec<Words>) {
    let text = read(file);
    let end = text
        .find("\n#[cfg(test)]\nmod tests {")
        .unwrap_or(text.len());
    let text = &text[..end];
    let bytes = text.as_bytes();
    let line_of = |at: usize| 1 + text[..at].matches('\n').count();
    let mut at = 0;
    while at < bytes.len() {
        let rest = &text[at..];
        if rest.starts_with("//") {
            let to = rest.find('\n').unwrap_or(rest.len());
            let comment = rest[..to].trim_start_matches(['/', '!']);
            // Lines of one comment are one text, so that a phrase is found across them.
            match out.last_mut() {
                Some(last)
                    if last.file == file
                        && last.text.ends_with('\u{1}')
                        && last.line_of(last.text.len()) + 1 == line_of(at) =>
                {
                    last.text.pop();
                    last.text += "\n";
                    last.text += comment;
                    last.text.push('\u{1}');
                }
                _ => out.push(Words {
                    file: file.into(),
                    line: line_of(at),
                    text: format!("{comment}\u{1}"),
                }),
            }
            at += to;
            continue;
        }
        let raw = rest
            .strip_prefix('r')
            .map(|r| (r, r.len() - r.trim_start_matches('#').len()));
        let before = at.checked_sub(1).map(|b| bytes[b]);
        let starts_word = !before.is_some_and(|b| b.is_ascii_alphanumeric() || b == b'_');
        if let Some((body, hashes)) = raw.filter(|(r, n)| starts_word && r[*n..].starts_with('"')) {
            let close = format!("\"{}", "#".repeat(hashes));
            let from = at + 1 + hashes + 1;
            let length = body[hashes + 1..].find(&close).unwrap();
            out.push(Words {
                file: file.into(),
                line: line_of(from),
                text: text[from..from + length].into(),
            });
            at = from + length + close.len();
            continue;
        }
        if bytes[at] == b'"' {
            let mut to = at + 1;
            while bytes[to] != b'"' {
                to += if bytes[to] == b'\\' { 2 } else { 1 };
            }
            out.push(Words {
                file: file.into(),
                line: line_of(at),
                text: text[at + 1..to].replace("\\\n", "\n"),
            });
            at = to + 1;
            continue;
        }
        if bytes[at] == b'\'' {
            let mut letters = rest[1..].char_indices();
            let (_, first) = letters.next().unwrap();
            let close = match first {
                '\\' => rest[3..].find('\'').map(|n| 3 + n),
                _ => letters
                    .next()
                    .filter(|(_, c)| *c == '\'')
                    .map(|(n, _)| 1 + n),
            };
            if let Some(close) = close {
                at += close + 1;
                continue;
            }
        }
        at += rest.chars().next().unwrap().len_utf8();
    }
}

/// The comments of a recipe.
fn of_recipe(file: &str, out: &mut Vec<Words>) {
    for (n, line) in read(file).lines().enumerate() {
        if let Some((_, comment)) = line.split_once('#') {
            out.push(Words {
                file: file.into(),
                line: n + 1,
                text: comment.into(),
            });
        }
    }
}

/// A page, paragraph by paragraph.
fn of_page(file: &str, out: &mut Vec<Words>) {
    let text = read(file);
    let mut line = 1;
    for part in text.split("\n\n") {
        out.push(Words {
            file: file.into(),
            line,
            text: part.into(),
        });
        line += 2 + part.matches('\n').count();
    }
}

/// The same text with a blank for whatever is code: between backquotes or braces. Bytes keep their places.
fn without_code(text: &str) -> String {
    let mut out = String::new();
    let mut inside = None;
    for c in text.chars() {
        let ends = match (inside, c) {
            (None, '`') => Some('`'),
            (None, '{') => Some('}'),
            (Some(end), c) if c == end => {
                inside = None;
                out.push(' ');
                continue;
            }
            (Some(_), '\n') if out.ends_with('\n') => None,
            (end, _) => end,
        };
        inside = ends;
        match (inside, c) {
            (_, '\n') => out.push('\n'),
            (Some(_), c) => out.push_str(&" ".repeat(c.len_utf8())),
            (None, c) => out.push(c),
        }
    }
    out
}

/// Where a phrase is in a text, as whole words; both in small letters.
fn find_all<'a>(text: &'a str, phrase: &'a str) -> impl Iterator<Item = usize> + 'a {
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    let starts = phrase.starts_with(is_word);
    text.match_indices(phrase)
        .map(|(at, _)| at)
        .filter(move |at| {
            let before = text[..*at].chars().next_back();
            let after = text[*at + phrase.len()..].chars().next();
            !(after.is_some_and(is_word) || starts && before.is_some_and(is_word))
        })
}

/// What is found in a text: the place of each and what to write instead.
fn found(words: &Words) -> Vec<(usize, String)> {
    let flat: String = without_code(&words.text).replace('\n', " ");
    // Blanks at the beginning of a line are one, so that a phrase is found across lines.
    let mut text = String::new();
    let mut places = Vec::new();
    for (at, c) in flat.char_indices() {
        if c == ' ' && text.ends_with(' ') {
            continue;
        }
        for lower in c.to_lowercase() {
            text.push(lower);
            places.resize(text.len(), at);
        }
    }
    let mut out = Vec::new();
    for habit in HABITS {
        for at in find_all(&text, habit.phrase) {
            let end = at + habit.phrase.len();
            let is_right = habit.right.iter().any(|right| {
                find_all(&text, right).any(|from| from <= at && end <= from + right.len())
            });
            let is_here = RIGHT.iter().any(|(file, around)| {
                words.file.ends_with(file)
                    && find_all(&text, around).any(|from| from <= at && end <= from + around.len())
            });
            if !is_right && !is_here {
                out.push((places[at], format!("`{}`: {}", habit.phrase, habit.better)));
            }
        }
    }
    for (at, _) in words.text.match_indices(", as ") {
        let next = words.text[at + 5..].chars().next();
        if next.is_some_and(|c| c.is_ascii_digit() || c == '"' || c.is_ascii_uppercase()) {
            out.push((at, "`, as X`: such as X".into()));
        }
    }
    out.extend(
        numbers(&text)
            .into_iter()
            .map(|(at, said)| (places[at], said)),
    );
    out
}

/// Numbers of bytes without commas, and one address as a range.
fn numbers(text: &str) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    for (at, _) in text.match_indices(" bytes") {
        let digits = text[..at]
            .chars()
            .rev()
            .take_while(char::is_ascii_digit)
            .count();
        let before = text[..at - digits].chars().next_back();
        if digits >= 4 && !before.is_some_and(char::is_alphanumeric) {
            out.push((
                at - digits,
                "a number of bytes without commas: 32,768 bytes".into(),
            ));
        }
    }
    for (at, _) in text.match_indices('-') {
        let is_hex = |c: &char| c.is_ascii_hexdigit();
        let back: Vec<char> = text[..at].chars().rev().take_while(is_hex).collect();
        let first: String = back.into_iter().rev().collect();
        let after = text[at + 1..].strip_prefix("0x").unwrap_or(&text[at + 1..]);
        let last: String = after.chars().take_while(is_hex).collect();
        if first.len() >= 4 && first == last {
            out.push((
                at - first.len(),
                "one address is not shown as a range".into(),
            ));
        }
    }
    out
}

#[test]
fn habits_that_cost_a_reader_do_not_come_back() {
    let mut said = Vec::new();
    for words in everything() {
        for (at, better) in found(&words) {
            let line = words.line_of(at.min(words.text.len() - 1));
            let text = words.text.replace('\u{1}', "");
            let shown = text.lines().nth(line - words.line).unwrap_or_default();
            said.push(format!(
                "{}:{line}: {better}\n    {}",
                words.file,
                shown.trim()
            ));
        }
    }
    assert!(
        said.is_empty(),
        "{}\n{} in all",
        said.join("\n"),
        said.len()
    );
}

#[test]
fn each_habit_is_found_in_whole_words_and_across_lines() {
    let said = |text: &str| {
        let words = Words {
            file: "src/x.rs".into(),
            line: 3,
            text: text.into(),
        };
        let found = found(&words).into_iter();
        found
            .map(|(at, better)| format!("{}: {better}", words.line_of(at)))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        said("What stands\n behind it."),
        ["4: `behind`: after", "3: `stands`: is, comes, means"]
    );
    assert_eq!(said("It is\n  no step"), ["3: `is no`: is not a"]);
    assert_eq!(said("There is no step; it is no longer one."), [""; 0]);
    assert_eq!(said("understands `stands`, {stands}, outstands"), [""; 0]);
    assert_eq!(said("the part, as 27C256"), ["3: `, as X`: such as X"]);
    assert_eq!(said("32768 bytes, 32,768 bytes, 0x1000 bytes").len(), 1);
    assert_eq!(said("0x7FE6-0x7FE6, 7FE6-7FE6, 7FE6-7FE7").len(), 2);
}

#[test]
fn comments_and_texts_of_a_source_are_read_and_its_tests_are_not() {
    let mut out = Vec::new();
    of_source("src/prose/bytes.rs", &mut out);
    let texts: Vec<&str> = out.iter().map(|words| words.text.as_str()).collect();
    assert!(
        texts[0].contains("Bytes as messages show them."),
        "{texts:?}"
    );
    assert!(texts.contains(&"is a hole"), "{texts:?}");
    assert!(
        !texts
            .iter()
            .any(|text| text.contains("A9 00") && !text.contains('`')),
        "{texts:?}"
    );
}
