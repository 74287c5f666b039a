//! The house keeps its shape: uses point one way, inside a room too, and a room's `mod.rs` is only its list.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms from the bottom up; rooms of one row are side by side and don't use each other.
const ROOMS: [&[&str]; 12] = [
    &["prose"],
    &["image"],
    &["parts", "sums", "wiring"],
    &["values"],
    &["board", "faults", "formats"],
    &["identify", "ops"],
    &["error"],
    &["cli::report"],
    &["cli::bench"],
    &["cli::steps"],
    &["cli::pipeline"],
    &["cli::main"],
];

/// Files that may be longer than 500 lines, and why.
const LONG: [(&str, &str); 2] = [
    (
        "board::file",
        "one key after the other, as the page of board files has them",
    ),
    (
        "board::lay",
        "from programs to chips, in the order in which it is done",
    ),
];

/// The rooms where the argument parser may be seen.
const PARSER: [&str; 3] = ["cli::steps", "cli::pipeline", "cli::main"];

/// A source file of the crate, its tests left out.
struct Source {
    /// `faults::vote` for `src/faults/vote.rs`, `faults` for its `mod.rs`.
    module: String,
    file: PathBuf,
    text: String,
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

fn sources() -> Vec<Source> {
    fn walk(folder: &Path, out: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true if path.ends_with("tests") => {}
                true => walk(&path, out),
                false if path.extension().is_some_and(|e| e == "rs") => out.push(path),
                false => {}
            }
        }
    }
    let mut files = Vec::new();
    walk(&root(), &mut files);
    files.sort();
    let is_tests = |path: &Path| path.file_stem().is_some_and(|s| s == "tests");
    files.retain(|path| !is_tests(path));
    let source = |file: PathBuf| {
        let inside = file.strip_prefix(root()).unwrap().with_extension("");
        let parts = inside.iter().map(|part| part.to_str().unwrap());
        let module: Vec<&str> = parts.filter(|part| *part != "mod").collect();
        Source {
            module: module.join("::"),
            text: code(&fs::read_to_string(&file).unwrap()),
            file,
        }
    };
    files.into_iter().map(source).collect()
}

/// The text without comments and without the unit tests at its end.
fn code(text: &str) -> String {
    let end = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    let lines = text[..end].lines();
    let lines = lines.map(|line| match line.trim_start().starts_with("//") {
        true => "",
        false => line,
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// Everything that a source names by a path from `crate` or `super`, as full paths without `crate`.
fn uses(source: &Source) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    let parent = source.module.rsplit_once("::").map_or("", |(p, _)| p);
    let is_list = source.file.ends_with("mod.rs");
    // In a `mod.rs`, `super` is one room up.
    let parent = match is_list {
        true => parent,
        false => parent,
    };
    for (word, base) in [("crate", ""), ("super", parent)] {
        let mut rest = source.text.as_str();
        while let Some(at) = rest.find(&format!("{word}::")) {
            let before = rest[..at].chars().next_back();
            let is_whole = before.is_none_or(|c| !c.is_alphanumeric() && c != '_' && c != ':');
            rest = &rest[at + word.len() + 2..];
            if is_whole {
                expand(rest, base, &mut out);
            }
        }
    }
    out
}

/// The paths that begin here: `a::b`, `a::{b, c::d}`.
fn expand(text: &str, base: &str, out: &mut BTreeSet<String>) {
    let ident = |text: &str| -> String {
        text.chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect()
    };
    let join = |base: &str, name: &str| match base {
        "" => name.to_owned(),
        base => format!("{base}::{name}"),
    };
    let text = text.trim_start();
    if let Some(list) = text.strip_prefix('{') {
        let mut depth = 0;
        let mut from = 0;
        for (i, c) in list.char_indices() {
            match c {
                '{' => depth += 1,
                '}' if depth == 0 => {
                    expand_item(&list[from..i], base, out);
                    return;
                }
                '}' => depth -= 1,
                ',' if depth == 0 => {
                    expand_item(&list[from..i], base, out);
                    from = i + 1;
                }
                _ => {}
            }
        }
        return;
    }
    let name = ident(text);
    if name == "super" {
        let up = base.rsplit_once("::").map_or("", |(up, _)| up);
        return expand(text[name.len()..].trim_start_matches("::"), up, out);
    }
    if name.is_empty() {
        return;
    }
    let path = join(base, &name);
    match text[name.len()..].strip_prefix("::") {
        Some(more) if more.starts_with(|c: char| c == '{' || c.is_alphabetic() || c == '_') => {
            expand(more, &path, out);
        }
        _ => {
            out.insert(path);
        }
    }
}

fn expand_item(item: &str, base: &str, out: &mut BTreeSet<String>) {
    let item = item.trim();
    match item {
        "" => {}
        "self" => {
            out.insert(base.to_owned());
        }
        item => expand(item, base, out),
    }
}

/// The room that a path leads into: the longest that is on the plan.
fn room_of(path: &str) -> Option<(&'static str, usize)> {
    let rooms = ROOMS.iter().enumerate();
    let mut rooms = rooms.flat_map(|(floor, row)| row.iter().map(move |room| (*room, floor)));
    rooms.find(|(room, _)| path == *room || path.starts_with(&format!("{room}::")))
}

#[test]
fn uses_point_one_way() {
    let mut upward = Vec::new();
    let mut looked_at = 0;
    for source in sources() {
        let Some((own, floor)) = room_of(&source.module) else {
            continue; // main.rs and the lists of storeys see everything
        };
        for path in uses(&source) {
            let Some((other, above)) = room_of(&path) else {
                continue;
            };
            looked_at += 1;
            if above > floor || (above == floor && own != other) {
                upward.push(format!("{} uses {path}", source.module));
            }
        }
    }
    assert!(upward.is_empty(), "upward uses: {upward:#?}");
    assert!(looked_at > 100, "the test no longer sees the sources' uses");
}

#[test]
fn every_room_is_on_the_plan() {
    let known: BTreeSet<&str> = ROOMS.iter().flat_map(|row| row.iter().copied()).collect();
    let mut found = BTreeSet::new();
    for source in sources() {
        match source.module.as_str() {
            "lib" | "main" | "cli" => continue,
            module => match room_of(module) {
                Some((room, _)) => found.insert(room),
                None => panic!("{module} is in no room of the plan"),
            },
        };
    }
    let missing: Vec<&&str> = known.difference(&found).collect();
    assert!(missing.is_empty(), "rooms that are not there: {missing:?}");
}

/// `mod.rs` lists what is in the room and what is shown of it, so that a name leads to one file.
#[test]
fn the_list_of_a_room_is_only_a_list() {
    let mut more = Vec::new();
    for source in sources().iter().filter(|s| s.file.ends_with("mod.rs")) {
        for item in source.text.split(';').map(str::trim) {
            let item = attributes_off(item);
            let item = item.strip_prefix("pub(crate) ").unwrap_or(item);
            let item = item.strip_prefix("pub(super) ").unwrap_or(item);
            let item = item.strip_prefix("pub(in crate::cli) ").unwrap_or(item);
            let item = item.strip_prefix("pub ").unwrap_or(item);
            if !(item.is_empty() || item.starts_with("mod ") || item.starts_with("use ")) {
                let start = item.lines().next().unwrap_or_default();
                more.push(format!("{}: {start}", source.module));
            }
        }
    }
    assert!(more.is_empty(), "belongs in a file of its own: {more:#?}");
}

fn attributes_off(item: &str) -> &str {
    let mut item = item;
    while let Some(rest) = item.strip_prefix("#[").or(item.strip_prefix("#![")) {
        item = rest
            .split_once("]\n")
            .map_or("", |(_, rest)| rest.trim_start());
    }
    item
}

/// The files of a room use each other one way too. A name that `mod.rs` shows leads to the file that it comes from.
#[test]
fn no_room_has_a_circle() {
    let sources = sources();
    let modules: BTreeSet<&str> = sources.iter().map(|s| s.module.as_str()).collect();
    // What each list shows: its path, and the path it stands for.
    let mut shown: BTreeMap<String, String> = BTreeMap::new();
    for list in sources.iter().filter(|s| s.file.ends_with("mod.rs")) {
        for item in list.text.split("use ").skip(1) {
            let item = item.split(';').next().unwrap();
            let mut paths = BTreeSet::new();
            expand(item, &list.module, &mut paths);
            for path in paths {
                let name = path.rsplit("::").next().unwrap();
                shown.insert(format!("{}::{name}", list.module), path.clone());
            }
        }
    }
    let file_of = |path: &str| -> Option<String> {
        let mut path = path.to_owned();
        for _ in 0..8 {
            // The longest beginning that a list stands for something else.
            let mut end = path.len();
            let stands_for = loop {
                if let Some(for_it) = shown.get(&path[..end]) {
                    break Some(format!("{for_it}{}", &path[end..]));
                }
                match path[..end].rfind("::") {
                    Some(at) => end = at,
                    None => break None,
                }
            };
            match stands_for {
                Some(other) if other != path => path = other,
                _ => break,
            }
        }
        let mut end = path.len();
        loop {
            if modules.contains(&path[..end]) {
                return Some(path[..end].to_owned());
            }
            end = path[..end].rfind("::")?;
        }
    };
    let mut edges: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let is_list = |module: &str| {
        let found = sources.iter().find(|s| s.module == module);
        found.is_some_and(|s| s.file.ends_with("mod.rs") || s.file.ends_with("lib.rs"))
    };
    for source in &sources {
        if is_list(&source.module) {
            continue;
        }
        for path in uses(source) {
            if let Some(to) = file_of(&path).filter(|to| *to != source.module && !is_list(to)) {
                edges.entry(source.module.clone()).or_default().insert(to);
            }
        }
    }
    assert!(
        edges.len() > 60,
        "the test no longer sees the sources' uses"
    );
    // Take away whatever uses nothing that is left, and whatever nothing that is left uses: what stays is in circles.
    let mut left: BTreeMap<String, BTreeSet<String>> = edges;
    loop {
        let names: BTreeSet<String> = left.keys().cloned().collect();
        let used: BTreeSet<String> = left.values().flatten().cloned().collect();
        let before = left.len();
        left.retain(|from, to| {
            to.retain(|t| names.contains(t));
            !to.is_empty() && used.contains(from)
        });
        if left.len() == before {
            break;
        }
    }
    assert!(left.is_empty(), "circles: {left:#?}");
}

/// clap lives in the rooms that read words.
#[test]
fn the_argument_parser_stays_in_its_rooms() {
    for source in sources() {
        let allowed = room_of(&source.module).is_some_and(|(room, _)| PARSER.contains(&room));
        assert!(
            allowed || !source.text.contains("clap::"),
            "{} uses clap",
            source.module
        );
    }
}

/// Names with more than one type, and why.
const SHARED_BY_TYPES: [(&str, &str); 1] =
    [("Problem", "an alias inside the reader of board files")];

/// Names with more than one function that others may call, and why.
const SHARED_BY_FUNCTIONS: [(&str, &str); 7] = [
    ("compare", "the same question, of bytes and of images"),
    ("likeness", "one a format, and what they share"),
    ("of", "the advice, one function a room of the library"),
    ("read", "one a format"),
    ("recognise", "the command, and what it calls"),
    ("spread", "the step's, and a private one of boards"),
    ("write", "one a format"),
];

/// The names that begin after these words at the left margin, each with the modules that have it.
fn named(words: &[&str], public_only: bool) -> BTreeMap<String, BTreeSet<String>> {
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for source in sources() {
        let lines = source.text.lines();
        for line in lines.filter(|l| l.starts_with("pub") || !(public_only || l.starts_with(' '))) {
            let rest = line.split_whitespace().skip_while(|w| w.starts_with("pub"));
            let rest: Vec<&str> = rest.filter(|w| *w != "const").take(2).collect();
            let [kind, name] = rest[..] else { continue };
            if words.contains(&kind) {
                let end = name.find(|c: char| !c.is_alphanumeric() && c != '_');
                let name = name[..end.unwrap_or(name.len())].to_owned();
                found.entry(name).or_default().insert(source.module.clone());
            }
        }
    }
    found
}

fn one_meaning(mut found: BTreeMap<String, BTreeSet<String>>, shared: &[(&str, &str)]) {
    assert!(found.len() > 200, "the test no longer sees the sources");
    found.retain(|_, places| places.len() > 1);
    for (name, reason) in shared {
        let was_shared = found.remove(*name).is_some();
        assert!(was_shared, "shared no longer: {name} ({reason})");
    }
    assert!(found.is_empty(), "two meanings: {found:#?}");
}

/// A word of the code means one thing, in whatever room it is read.
#[test]
fn no_two_types_have_one_name() {
    let types = named(&["struct", "enum", "trait", "type"], false);
    one_meaning(types, &SHARED_BY_TYPES);
}

#[test]
fn no_two_functions_for_others_have_one_name() {
    one_meaning(named(&["fn"], true), &SHARED_BY_FUNCTIONS);
}

/// The first page of every room that others may use shows it at work.
#[test]
fn every_public_room_has_an_example() {
    let library = fs::read_to_string(root().join("lib.rs")).unwrap();
    let rooms = library
        .lines()
        .filter_map(|line| line.strip_prefix("pub mod "));
    let rooms: Vec<&str> = rooms.map(|room| room.trim_end_matches(';')).collect();
    assert!(rooms.len() >= 10, "the test no longer sees the rooms");
    for room in rooms.iter().filter(|room| **room != "cli") {
        let list = root().join(room).join("mod.rs");
        let page = fs::read_to_string(&list).unwrap();
        let shown = page.lines().any(|line| line.trim_end() == "//! ```");
        assert!(shown, "{} shows no example that runs", list.display());
    }
}

/// A file that a reader can take in: tests aside, not much more than 500 lines.
#[test]
fn no_file_is_long() {
    let lines = |source: &Source| source.text.trim_end().lines().count();
    let sources = sources();
    let long = sources.iter().filter(|source| lines(source) > 530);
    let long: Vec<String> = long
        .filter(|source| !LONG.iter().any(|(module, _)| source.module == *module))
        .map(|source| format!("{}: {} lines", source.module, lines(source)))
        .collect();
    assert!(long.is_empty(), "cut these: {long:#?}");
    for (module, reason) in LONG {
        let source = sources.iter().find(|source| source.module == module);
        let is_long = source.is_some_and(|source| lines(source) > 530);
        assert!(is_long, "long no more: {module} ({reason})");
    }
}
