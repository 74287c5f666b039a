//! Lays the Heron-16's program out for its two sockets before the crate is compiled.

use std::env;
use std::error::Error;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;

use romloom::board::Board;
use romloom::formats::{self, Input, ReadOptions, WriteOptions};

const SOURCE: &str = "../../heron-16/selftest.s19";
const CHIP: u64 = 32 * 1024;

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed={SOURCE}");
    let mut input = Input::new(SOURCE, File::open(SOURCE)?);
    let rom = formats::load(&mut input, Some("s19"), &ReadOptions::default())?.image;

    // Two 27C256 side by side from 0 on; what the program leaves open stays erased.
    let board = Board::builder(CHIP, 0).lanes(2).build()?;

    let out = PathBuf::from(env::var_os("OUT_DIR").ok_or("cargo sets OUT_DIR")?);
    let raw = formats::by_name("raw").ok_or("no such format")?;
    for (chip, name) in board.seat(&rom, 0xFF)?.iter().zip(["even.bin", "odd.bin"]) {
        let mut file = BufWriter::new(File::create(out.join(name))?);
        raw.write(chip, &WriteOptions::default(), &mut file)?;
        file.flush()?;
    }
    Ok(())
}
