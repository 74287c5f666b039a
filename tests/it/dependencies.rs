//! How much a build script builds that uses the library without the command.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

#[test]
fn the_bare_library_has_few_dependencies() {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let tree = Command::new(cargo)
        .args(["tree", "--offline", "--locked", "--no-default-features"])
        .args(["--edges", "normal", "--prefix", "none", "--format", "{p}"])
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")))
        .output()
        .unwrap();
    let said = String::from_utf8(tree.stderr).unwrap();
    assert!(tree.status.success(), "{said}");
    let tree = String::from_utf8(tree.stdout).unwrap();
    let names = tree.lines().filter_map(|line| line.split(' ').next());
    let mut names: BTreeSet<&str> = names.filter(|name| !name.is_empty()).collect();
    assert!(names.remove("romloom"), "{tree}");
    assert!(names.len() <= 34, "{} crates: {names:#?}", names.len());
    for of_the_command in ["clap", "anyhow", "ihex", "srec"] {
        assert!(!names.contains(of_the_command), "{of_the_command}");
    }
}
