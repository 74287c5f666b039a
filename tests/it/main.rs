//! What users rely on, from outside: the library through its face, the command through its words.
//!
//! All of it is one binary, which links the crate once. A test has the processor, the files and the terminal to itself
//! only as far as it makes its own: nothing here changes the current folder or the environment of the process.

#![allow(clippy::unwrap_used)] // a test that meets the unexpected shall stop

mod adapters;
mod assembler_formats;
mod assemblers;
mod board;
mod boards;
mod build_systems;
mod burnable;
mod bursts;
mod carets;
mod check;
mod chip_runs;
mod chips;
mod corruption;
mod dependencies;
mod dependency_file;
mod diagnosis;
mod docs;
mod edges;
mod faults_wiring;
mod fuzz;
mod fuzz_bodies;
mod house;
mod injected;
mod interop;
mod json;
mod out_of_memory;
#[cfg(target_os = "linux")] // KiB there, something else elsewhere
mod peak;
mod pins;
mod pipeline;
mod plain_words;
mod progress;
mod proof;
mod raw_names;
mod reads;
mod recipes;
mod recognise;
mod salvage;
mod sample_boards;
mod screens;
mod seat;
mod sets;
mod sheet;
mod shell;
mod slips;
mod source_text;
mod steps;
mod support;
mod unbreakable;
mod verdict_pages;
mod verdicts;

/// A file that no `mod` line names is never compiled, and its tests pass by not being there.
#[test]
fn every_file_here_is_a_module() {
    let it = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it");
    let mut looked_at = 0;
    for (folder, root) in [
        ("", "main.rs"),
        ("steps", "mod.rs"),
        ("support", "mod.rs"),
        ("support/broken", "mod.rs"),
        ("support/contents", "mod.rs"),
        ("verdicts", "mod.rs"),
    ] {
        let text = std::fs::read_to_string(it.join(folder).join(root)).unwrap();
        for entry in std::fs::read_dir(it.join(folder)).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            let module = name.strip_suffix(".rs").unwrap_or(&name);
            if name == root || name == "snapshots" {
                continue;
            }
            let named = (text.lines()).any(|line| {
                let line = line.strip_prefix("pub ").unwrap_or(line);
                line.strip_prefix("mod ") == Some(&format!("{module};"))
            });
            assert!(named, "tests/it/{folder}/{root} has no `mod {module};`");
            looked_at += 1;
        }
    }
    assert!(looked_at > 30);
}
