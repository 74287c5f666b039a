//! Lays the Heron-16's program out for its two sockets before the crate is compiled.

use std::env;
use std::path::PathBuf;

use romloom::board::{Board, SocketsSpec};
use romloom::formats::{self, ReadOptions, WriteOptions};
use romloom::parts;

const SOURCE: &str = "../../heron-16/selftest.s19";

fn main() -> Result<(), romloom::Error> {
    println!("cargo::rerun-if-changed={SOURCE}");
    let rom = formats::load(SOURCE, &ReadOptions::default())?.image;

    // Two 27C256 side by side from 0 on; what the program leaves open stays erased.
    let mut sockets = SocketsSpec::new(parts::find("27C256")?.clone(), ["even", "odd"]).at(0);
    sockets.lanes = 2;
    let board = Board::new("Heron-16", [sockets])?;

    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    for (chip, name) in board.seat(&rom)?.iter().zip(["even.bin", "odd.bin"]) {
        formats::save(out.join(name), chip, &WriteOptions::default())?;
    }
    Ok(())
}
