//! The sample computers, emulated from the bytes of their chips.
//!
//! The processors are crates; what surrounds them (RAM, terminal, sockets) is as
//! `samples/README.md` describes it. Power-on RAM holds no zeros, so that a program
//! that relies on them is found out.

pub mod bench;
pub mod faults;
pub mod heron16;
pub mod heron8;
pub mod kingfisher;
pub mod recipes;

/// What RAM holds at power-on, for want of anything better.
const POWER_ON: u8 = 0xA5;

/// What the processor reads where nothing answers.
const NOTHING_THERE: u8 = 0xFF;

/// What a terminal shows: the bytes sent, without the carriage returns.
fn as_shown(sent: &[u8]) -> String {
    String::from_utf8_lossy(sent).replace('\r', "")
}
