//! The house keeps its shape.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms from the bottom up; rooms of one row stand side by side and don't use each other.
const ROOMS: [&[&str]; 10] = [
    &["image"],
    &["values"],
    &["sums", "parts"],
    &["formats"],
    &["faults"],
    &["ops"],
    &["report"],
    &["bench"],
    &["steps"],
    &["pipeline"],
];

fn sources(folder: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => sources(&path, out),
            false if path.extension().is_some_and(|e| e == "rs") => out.push(path),
            false => {}
        }
    }
}

/// Names of the rooms that a source reaches into by `crate::ROOM`, with the line.
fn reaches(text: &str) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    for (i, line) in text.lines().enumerate() {
        let code = line.split("//").next().unwrap_or_default();
        for part in code.split("crate::").skip(1) {
            let words = match part.strip_prefix('{') {
                Some(list) => list.split([',', '}']).map(str::trim).collect(),
                None => vec![part],
            };
            for word in words {
                let name: String = word
                    .chars()
                    .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
                    .collect();
                out.push((i + 1, name));
            }
        }
    }
    out
}

#[test]
fn uses_point_one_way() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let floor: BTreeMap<&str, usize> = ROOMS
        .iter()
        .enumerate()
        .flat_map(|(i, row)| row.iter().map(move |room| (*room, i)))
        .collect();
    let mut files = Vec::new();
    sources(&src, &mut files);
    let mut upward = Vec::new();
    let mut looked_at = 0;
    for file in files {
        let inside = file.strip_prefix(&src).unwrap();
        let room = inside.components().next().unwrap().as_os_str();
        let Some(own) = room.to_str().and_then(|r| floor.get(r)) else {
            continue; // main.rs and lib.rs see everything
        };
        for (line, to) in reaches(&fs::read_to_string(&file).unwrap()) {
            let Some(other) = floor.get(to.as_str()) else {
                continue;
            };
            looked_at += 1;
            let same_room = room.to_str() == Some(to.as_str());
            if other > own || (other == own && !same_room) {
                upward.push(format!("{}:{line} uses {to}", inside.display()));
            }
        }
    }
    assert!(upward.is_empty(), "upward uses: {upward:#?}");
    assert!(looked_at > 40, "the test no longer sees the sources' uses");
}

#[test]
fn every_room_is_on_the_plan() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for entry in fs::read_dir(src).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            assert!(
                ROOMS.iter().any(|row| row.contains(&name.as_str())),
                "the room {name} has no place in ROOMS"
            );
        }
    }
}

/// clap lives in steps and pipeline only.
#[test]
fn the_argument_parser_stays_in_its_rooms() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    for file in files {
        let inside = file.strip_prefix(&src).unwrap().to_owned();
        if inside.starts_with("steps") || inside.starts_with("pipeline") {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        assert!(!text.contains("clap::"), "{} uses clap", inside.display());
    }
}
