//! The sample computers, emulated from the bytes of their chips.
//!
//! The processors are crates; what surrounds them (RAM, terminal, sockets) is as
//! `samples/README.md` describes it. Power-on RAM holds no zeros, so that a program
//! that relies on them is found out.

use std::collections::BTreeSet;
use std::io::{self, Write};
use std::sync::Mutex;

pub mod bench;
pub mod broken;
pub mod contents;
pub mod heron8;
pub mod kingfisher;
pub mod recipes;
pub mod terminal;

/// Whether all cases are asked for, as `.ci/run` does with `ROMLOOM_THOROUGH=1`, and not only a share of them.
pub fn thorough() -> bool {
    std::env::var_os("ROMLOOM_THOROUGH").is_some()
}

/// How many of `n` cases this run tries: all of them in a thorough run, else one in `one_in`.
pub fn share(n: usize, one_in: usize) -> usize {
    match thorough() {
        true => n,
        false => n.div_ceil(one_in),
    }
}

/// Says that something was not tried, past the harness, which keeps for itself what a test that passes prints; the last
/// such line of a run has the count.
pub fn not_tried(why: &str) {
    static SAID: Mutex<BTreeSet<String>> = Mutex::new(BTreeSet::new());
    let mut said = SAID.lock().unwrap();
    if said.insert(why.to_owned()) {
        // Standard error itself, not the macros, which the harness listens to.
        let _ = writeln!(io::stderr(), "\nNOT TRIED, {} so far: {why}", said.len());
    }
}

/// The same where something is missing that a machine for tests should have: with `CI` set the test fails.
pub fn missing(why: &str) {
    assert!(std::env::var_os("CI").is_none(), "{why}");
    not_tried(why);
}

/// What RAM holds at power-on, for want of anything better.
const POWER_ON: u8 = 0xA5;

/// What the processor reads where nothing answers.
const NOTHING_THERE: u8 = 0xFF;

/// What a terminal shows: the bytes sent, without the carriage returns.
fn as_shown(sent: &[u8]) -> String {
    String::from_utf8_lossy(sent).replace('\r', "")
}
