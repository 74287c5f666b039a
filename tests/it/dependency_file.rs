//! What a dependency file says, as make and ninja read it: the very names, whatever bytes they have, or an error.

#![cfg(unix)]

use std::ffi::{OsStr, OsString};
use std::fs;
use std::os::unix::ffi::{OsStrExt, OsStringExt};
use std::path::Path;
use std::process::Command;

use crate::support::bench::Folder;
use crate::support::{missing, share};

/// Names that a build may have, and some that somebody makes up to do harm.
const NAMES: &[&str] = &[
    "plain.hex",
    "a b.hex",
    "a  b.hex",
    "a#b.hex",
    "#.hex",
    "a$b.hex",
    "$(touch X).hex",
    "$$.hex",
    "a:b.hex",
    "C:\\x.hex",
    "sub\\a.hex",
    "a\\ b.hex",
    "a\\#b.hex",
    "end\\",
    "a%b.hex",
    "a=b.hex",
    "a;touch\tX;.hex",
    "a|b.hex",
    "a&b.hex",
    "a:",
    "a: b.hex",
    "a(b).hex",
    "lib(member)",
    "a~b.hex",
    "~.hex",
    "a*b.hex",
    "a?b.hex",
    "a[1].hex",
    "{a}.hex",
    "a'b.hex",
    "a\"b.hex",
    "a`b.hex",
    "a<b>.hex",
    "a^b.hex",
    "a!b.hex",
    "a,b.hex",
    "a@b.hex",
    "a+b.hex",
    "é.hex",
    "日本.hex",
    "a\nb.hex",
    "a\rb.hex",
    "-a.hex",
    "..hex",
    "a\u{7f}.hex",
    "a\\\\ b.hex",
];

fn names() -> Vec<OsString> {
    let mut all: Vec<OsString> = NAMES.iter().map(OsString::from).collect();
    // Each byte that a name can have, alone between letters and at its end.
    for byte in (1..=255).filter(|byte| *byte != b'/') {
        all.push(OsString::from_vec(vec![b'x', byte, b'y', b'.', b'h']));
        all.push(OsString::from_vec(vec![b'x', byte]));
    }
    all
}

/// A dependency file for this input and output, or the error.
fn made(folder: &Folder, input: &OsStr, output: &OsStr) -> Result<Vec<u8>, String> {
    // A brace in the name of an output is written twice.
    let doubled: Vec<u8> = (output.as_bytes().iter())
        .flat_map(|byte| vec![*byte; 1 + usize::from(b"{}".contains(byte))])
        .collect();
    let output = OsStr::from_bytes(&doubled);
    let hex = folder.get("prog.hex");
    fs::write(folder.path("").join(input), hex).unwrap();
    let out = folder
        .command()
        .args([
            "--quiet",
            "--always",
            "--depfile",
            "d.mk",
            "load",
            "--as",
            "intel-hex",
            "--",
        ])
        .args([
            input,
            OsStr::new("+"),
            OsStr::new("write"),
            OsStr::new("--as"),
            OsStr::new("raw"),
            OsStr::new("--"),
            output,
        ])
        .output()
        .unwrap();
    match out.status.code() {
        Some(0) => Ok(folder.get("d.mk")),
        _ => Err(String::from_utf8_lossy(&out.stderr).into_owned()),
    }
}

/// What make takes for the only thing that `target` needs: it is not there, and make says so.
fn make_reads(folder: &Folder, target: &OsStr) -> Option<Vec<u8>> {
    let out = Command::new("make")
        .args(["-rR", "-f", "d.mk", "--"])
        .arg(target)
        .env("LC_ALL", "C")
        .current_dir(folder.path(""))
        .output()
        .unwrap();
    let said = out.stderr;
    let between = |from: &[u8], to: &[u8]| {
        let at = memchr::memmem::find(&said, from)? + from.len();
        let end = memchr::memmem::find(&said[at..], to)? + at;
        Some(said[at..end].to_vec())
    };
    between(b"No rule to make target '", b"', needed by '")
}

#[test]
fn make_reads_the_very_names_or_they_are_refused() {
    if Command::new("make").arg("--version").output().is_err() {
        return missing("make");
    }
    let (mut read, mut refused) = (0, 0);
    let all = names();
    let step = all.len() / share(all.len(), 10);
    for name in all[..NAMES.len()]
        .iter()
        .chain(all[NAMES.len()..].iter().step_by(step))
    {
        for as_input in [true, false] {
            let folder = Folder::new();
            let plain = OsStr::new("plain");
            let (input, output) = match as_input {
                true => (name.as_os_str(), plain),
                false => (plain, name.as_os_str()),
            };
            let is_text = name.to_str().is_some();
            match made(&folder, input, output) {
                Ok(_) => {
                    for file in [input, output] {
                        fs::remove_file(folder.path("").join(file)).unwrap();
                    }
                    assert_eq!(
                        make_reads(&folder, output).as_deref(),
                        Some(input.as_bytes()),
                        "{name:?}: {}",
                        String::from_utf8_lossy(&folder.get("d.mk"))
                    );
                    read += 1;
                }
                Err(said) => {
                    // An output's name that is not UTF-8 is refused as a word.
                    assert!(
                        said.contains("dependency file") || !is_text || said.contains("{name}"),
                        "{name:?}: {said}"
                    );
                    assert!(!folder.has("d.mk"));
                    refused += 1;
                }
            }
        }
    }
    assert!(read > refused, "read {read}, refused {refused}");
}

#[test]
fn ninja_reads_the_very_names() {
    if Command::new("ninja").arg("--version").output().is_err() {
        return missing("ninja");
    }
    let mut read = 0;
    let all = names();
    let step = all.len() / share(all.len(), 20);
    for name in all.iter().step_by(step).chain(&all[..NAMES.len()]) {
        let folder = Folder::new();
        let Ok(text) = made(&folder, name, OsStr::new("plain")) else {
            continue;
        };
        folder.put("kept.mk", text);
        folder.put(
            "build.ninja",
            "rule made\n command = cp kept.mk d.mk && touch plain\n depfile = d.mk\n deps = gcc\nbuild plain: made\n",
        );
        let ninja = |args: &[&str]| {
            let mut command = Command::new("ninja");
            command.args(args).current_dir(folder.path(""));
            command.output().unwrap()
        };
        let built = ninja(&["plain"]);
        assert!(
            built.status.success(),
            "{name:?}: {}",
            String::from_utf8_lossy(&built.stdout)
        );
        let told = ninja(&["-t", "deps", "plain"]).stdout;
        let mut lines = told.split(|byte| *byte == b'\n').skip(1);
        let first = lines.next().unwrap_or_default();
        assert_eq!(
            first.strip_prefix(b"    "),
            Some(name.as_bytes()),
            "{name:?}: {}",
            String::from_utf8_lossy(&told)
        );
        read += 1;
    }
    assert!(read > 20, "read {read}");
}

/// A file that the run makes is no reason to make it, though a step reads it too.
#[test]
fn no_output_is_its_own_prerequisite() {
    let folder = Folder::new();
    folder.ok("load prog.hex + write a.hex");
    folder.ok("--depfile d.mk load a.hex prog.hex --clash same + write a.hex + write b.bin");
    assert_eq!(folder.get("d.mk"), b"a.hex b.bin: prog.hex\n");
    // Nor does a dependency file replace what the run reads.
    let ran = folder.run("--depfile prog.hex load prog.hex + write c.bin");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("would replace an input"), "{}", ran.err);
    assert!(!folder.has("c.bin"));
    // What goes to standard output is no file that make could look at.
    folder.ok("--depfile e.mk load prog.hex + write /dev/stdout --as raw + write x.bin");
    assert_eq!(folder.get("e.mk"), b"x.bin: prog.hex\n");
    assert!(Path::new("/dev/stdout").exists());
}
