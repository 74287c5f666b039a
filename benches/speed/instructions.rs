//! Instructions for each byte of text, counted by callgrind: the same on every run, whatever else the machine does.
//!
//! The program runs itself under valgrind twice, once only preparing the text and once reading it too; the difference is
//! the reading.

use std::hint::black_box;
use std::io::{Seek, Write};
use std::process::Command;

use romloom::formats::{intel_hex::IntelHex, s_record::SRecords};

use crate::table::heading;
use crate::work::{M, image, read, write};

pub const WORD: &str = "count-instructions";

const TASKS: [&str; 8] = [
    "read Intel HEX",
    "crate ihex, read",
    "read S-record",
    "crate srec, read",
    "write Intel HEX",
    "crate ihex, write",
    "write S-record",
    "crate srec, write",
];

pub fn rows() {
    heading(
        "Instructions for each byte of text, under callgrind (at most 8 wanted of reading, image building included)",
    );
    for task in TASKS {
        match (count(task, "prepare"), count(task, "work")) {
            (Some((before, _)), Some((all, bytes))) => {
                println!(
                    "  {task:<44} {:>12.2}",
                    (all - before) as f64 / bytes as f64
                );
            }
            _ => return println!("  not counted: valgrind is not installed"),
        }
    }
}

/// Instructions of one run, and bytes of its text.
fn count(task: &str, how_far: &str) -> Option<(u64, u64)> {
    let mut valgrind = Command::new("valgrind");
    valgrind.args(["--tool=callgrind", "--callgrind-out-file=/dev/null"]);
    valgrind.arg(std::env::current_exe().unwrap());
    let run = valgrind.args([WORD, task, how_far]).output().ok()?;
    let said = String::from_utf8_lossy(&run.stderr);
    let collected = said
        .lines()
        .find_map(|line| line.split_once("Collected : "))?
        .1;
    let bytes = String::from_utf8_lossy(&run.stdout).trim().parse().ok()?;
    Some((collected.trim().parse().ok()?, bytes))
}

/// What runs under valgrind: prepares the task, and does it when told to.
pub fn work(mut words: impl Iterator<Item = String>) {
    let (task, how_far) = (words.next().unwrap(), words.next().unwrap());
    let image = image(M);
    let text = String::from_utf8(match task.contains("HEX") || task.contains("ihex") {
        true => write(&IntelHex, &image),
        false => write(&SRecords, &image),
    })
    .unwrap();
    let ihex = || {
        ihex::Reader::new(black_box(&text))
            .collect::<Result<Vec<_>, _>>()
            .unwrap()
    };
    let srec = || {
        srec::read_records(black_box(&text))
            .collect::<Result<Vec<_>, _>>()
            .unwrap()
    };
    let go = how_far == "work";
    let len = text.len();
    // From a file: a copy in memory is counted as one instruction for each byte.
    let mut file = tempfile::tempfile().unwrap();
    file.write_all(text.as_bytes()).unwrap();
    file.rewind().unwrap();
    match &task[..] {
        "crate ihex, write" => {
            let records = ihex();
            go.then(|| black_box(ihex::create_object_file_representation(&records)));
        }
        "crate srec, write" => {
            let records = srec();
            go.then(|| black_box(srec::generate_srec_file(&records)));
        }
        _ if !go => {}
        "read Intel HEX" => drop(black_box(read(&IntelHex, file))),
        "read S-record" => drop(black_box(read(&SRecords, file))),
        "crate ihex, read" => drop(black_box(ihex())),
        "crate srec, read" => drop(black_box(srec())),
        "write Intel HEX" => drop(black_box(write(&IntelHex, &image))),
        _ => drop(black_box(write(&SRecords, &image))),
    }
    println!("{len}");
}
