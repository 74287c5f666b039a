//! Text for source code, given to the compilers and the assembler it is for: the bytes must come out as they went in.
//!
//! Where one of these programs is missing its test says so and passes; in CI it must be there.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::support::missing;

use romloom::formats::{WriteOptions, by_name};
use romloom::image::{Image, Source};

/// Every byte value and more than a line of each, from 0x8000 up.
fn bytes() -> Vec<u8> {
    (0..1000u32).map(|i| (i * 7 + i / 256) as u8).collect()
}

fn text(format: &str, name: &str) -> String {
    let mut image = Image::new();
    let put = image.put(0x8000, bytes(), Source::Patch);
    assert!(put.is_ok());
    let how = WriteOptions {
        name: Some(name.into()),
        ..WriteOptions::default()
    };
    let mut out = Vec::new();
    let format = by_name(format).unwrap_or_else(|| panic!("{format}"));
    let wrote = format.write(&image, &how, &mut out);
    wrote.unwrap_or_else(|e| panic!("{e}"));
    String::from_utf8(out).unwrap_or_else(|e| panic!("{e}"))
}

/// A folder of its own for one test.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).unwrap_or_else(|e| panic!("{e}"));
    folder
}

/// Runs a program; `None` when there is no such program here.
fn run(program: impl AsRef<OsStr>, arguments: &[&OsStr]) -> Option<Vec<u8>> {
    let program = program.as_ref();
    let output = match Command::new(program).args(arguments).output() {
        Ok(output) => output,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
            let program = program.to_string_lossy();
            missing(&format!("text for source code: {program} is not installed"));
            return None;
        }
        Err(e) => panic!("{program:?}: {e}"),
    };
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{program:?}: {said}");
    Some(output.stdout)
}

fn save(path: &Path, text: &str) {
    std::fs::write(path, text).unwrap_or_else(|e| panic!("{e}"));
}

#[test]
fn a_c_compiler_takes_the_c_text_in_any_edition() {
    let folder = folder("c-bytes");
    let (source, program) = (folder.join("rom.c"), folder.join("rom"));
    let main = "#include <stdio.h>\n\
        int main(void) { return fwrite(rom, 1, sizeof rom, stdout) != sizeof rom; }\n";
    save(&source, &(text("c-bytes", "rom") + main));
    for edition in ["-std=c90", "-std=c17"] {
        let arguments: &[&OsStr] = &[
            edition.as_ref(),
            "-pedantic".as_ref(),
            "-Wall".as_ref(),
            "-Wextra".as_ref(),
            "-Werror".as_ref(),
            "-o".as_ref(),
            program.as_ref(),
            source.as_ref(),
        ];
        if run("cc", arguments).is_some() {
            assert_eq!(run(&program, &[]), Some(bytes()), "{edition}");
        }
    }
}

#[test]
fn the_rust_compiler_takes_the_rust_text_without_a_warning() {
    for name in ["ROM", "rom"] {
        let folder = folder(if name == "ROM" {
            "rust-bytes-upper"
        } else {
            "rust-bytes-lower"
        });
        let (source, program) = (folder.join("rom.rs"), folder.join("rom"));
        let main = format!(
            "fn main() {{ std::io::Write::write_all(&mut std::io::stdout(), &{name}).unwrap() }}\n"
        );
        save(&source, &(text("rust-bytes", name) + &main));
        let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
        let arguments: &[&OsStr] = &[
            "--edition=2024".as_ref(),
            "-Dwarnings".as_ref(),
            "-o".as_ref(),
            program.as_ref(),
            source.as_ref(),
        ];
        if run(rustc, arguments).is_some() {
            assert_eq!(run(&program, &[]), Some(bytes()), "{name}");
        }
    }
}

#[test]
fn an_assembler_takes_the_assembler_text() {
    let folder = folder("asm-bytes");
    let (source, raw) = (folder.join("rom.asm"), folder.join("rom.bin"));
    // The label and the size must be what they say.
    let checks =
        "        .cerror rom != $8000, \"label\"\n        .cerror rom_size != 1000, \"size\"\n";
    save(
        &source,
        &format!("        * = $8000\n{}{checks}", text("asm-bytes", "rom")),
    );
    let arguments: &[&OsStr] = &[
        "--quiet".as_ref(),
        "-Wall".as_ref(),
        "-Werror".as_ref(),
        "--nostart".as_ref(),
        "--output".as_ref(),
        raw.as_ref(),
        source.as_ref(),
    ];
    if run("64tass", arguments).is_some() {
        let made = std::fs::read(raw).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(made, bytes());
    }
}
