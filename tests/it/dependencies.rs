//! What is built and linked: how much of it the bare library needs, under which licences, and what each crate is for.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Command;

/// What `cargo tree` says of what is linked, one line a crate.
fn tree(options: &[&str]) -> String {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let tree = Command::new(cargo)
        .args([
            "tree",
            "--offline",
            "--locked",
            "--edges",
            "normal",
            "--prefix",
            "none",
        ])
        .args(options)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")))
        .output()
        .unwrap();
    let said = String::from_utf8(tree.stderr).unwrap();
    assert!(tree.status.success(), "{said}");
    String::from_utf8(tree.stdout).unwrap()
}

/// Whether all parts of a licence expression can be met by the list. `OR` asks for one, `AND` for all, `/` is an old `OR`.
fn is_listed(licence: &str, listed: &str) -> bool {
    let licence = licence.replace('/', " OR ").replace(['(', ')'], "");
    let is = |one: &str| listed.contains(one.trim());
    licence
        .split(" AND ")
        .all(|part| part.split(" OR ").any(is))
}

/// The licences of all crates that are linked on this system are those that the page for developers lists.
#[test]
fn every_linked_crate_has_a_listed_licence() {
    let page =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md")).unwrap();
    let from = page
        .find("Every crate that is linked has one of these licences")
        .unwrap();
    let listed = page[from..].split_once(": ").unwrap().1;
    let listed = listed.split("\n\n").next().unwrap();
    let listed = listed.split("`tests/").next().unwrap().replace('\n', " ");
    let tree = tree(&["--format", "{p}|{l}"]);
    let mut seen = 0;
    for line in tree.lines().filter(|line| !line.is_empty()) {
        let (name, licence) = line.trim_end_matches(" (*)").split_once('|').unwrap();
        assert!(is_listed(licence, &listed), "{name}: {licence}");
        seen += 1;
    }
    assert!(seen > 50);
    assert!(!is_listed("GPL-3.0", &listed));
    assert!(!is_listed("MIT AND GPL-3.0", &listed));
}

/// Each direct dependency has its line there.
#[test]
fn every_direct_dependency_has_its_reason() {
    let page =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md")).unwrap();
    let part = page.split("## What it depends on").nth(1).unwrap();
    let part = part.split("\n## ").next().unwrap();
    let direct = tree(&["--depth", "1", "--format", "{p}"]);
    let mut seen = 0;
    for line in direct.lines().filter(|line| !line.is_empty()) {
        let name = line.split(' ').next().unwrap();
        assert!(
            name == "romloom" || part.contains(&format!("`{name}`")),
            "{name}"
        );
        seen += 1;
    }
    assert!(seen > 20);
}

#[test]
fn the_bare_library_has_few_dependencies() {
    let tree = tree(&["--no-default-features", "--format", "{p}"]);
    let names = tree.lines().filter_map(|line| line.split(' ').next());
    let mut names: BTreeSet<&str> = names.filter(|name| !name.is_empty()).collect();
    assert!(names.remove("romloom"), "{tree}");
    assert!(names.len() <= 34, "{} crates: {names:#?}", names.len());
    for of_the_command in ["clap", "anyhow", "ihex", "srec"] {
        assert!(!names.contains(of_the_command), "{of_the_command}");
    }
}
