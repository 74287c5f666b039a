//! `expect`: stop unless something is true.

use clap::{Args, Subcommand};

use super::Step;
use super::common::{On, Order};
use crate::bench::{Bench, Stop};
use crate::image::AddressRange;
use crate::report::plural;
use crate::sums::{self, Algo};
use crate::{ops, values};

/// Stop with exit code 1, nothing written, unless this is true
#[derive(Args, Debug)]
pub struct Expect {
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand, Debug)]
enum What {
    /// The range holds nothing but holes and the erased value
    Blank {
        /// FIRST-LAST or START+LENGTH
        #[arg(value_name = "RANGE", value_parser = values::range)]
        range: AddressRange,
        /// The erased value
        #[arg(long, value_name = "BYTE", default_value = "FF", value_parser = values::byte)]
        erased: u8,
        #[command(flatten)]
        on: On,
    },
    /// These bytes stand at this address
    Bytes {
        /// Address of the first
        #[arg(value_name = "ADDR", value_parser = values::number)]
        address: u64,
        /// The bytes: EA EA or text:HELLO
        #[arg(value_name = "BYTES", value_parser = values::bytes)]
        bytes: ::std::vec::Vec<u8>,
        #[command(flatten)]
        on: On,
    },
    /// The sum has this value
    Sum {
        /// The sum: sum16, crc32, sha256, ...
        #[arg(value_name = "ALGO")]
        algo: Algo,
        /// Its value in hex, as `digest` and programmers show it
        #[arg(value_name = "HEX")]
        value: String,
        /// Range to sum over; else the whole image
        #[arg(long, value_name = "RANGE", value_parser = values::range)]
        across: Vec<AddressRange>,
        #[command(flatten)]
        on: On,
    },
    /// From the first byte to the last it is this long
    Size {
        /// Size in bytes, as 32K
        #[arg(value_name = "SIZE", value_parser = values::size)]
        size: u64,
        #[command(flatten)]
        on: On,
    },
    /// There is no hole between the first byte and the last
    Full {
        #[command(flatten)]
        on: On,
    },
    /// The vector at this address points into this range
    Pointer {
        /// Address of the vector
        #[arg(value_name = "ADDR", value_parser = values::number)]
        address: u64,
        /// Where it must point
        #[arg(long = "in", value_name = "RANGE", value_parser = values::range)]
        range: AddressRange,
        /// Bytes of the vector
        #[arg(long, value_name = "2|3|4", default_value_t = 2, value_parser = clap::value_parser!(u8).range(2..=4))]
        width: u8,
        /// Its byte order
        #[arg(long, value_enum, default_value = "little")]
        order: Order,
        #[command(flatten)]
        on: On,
    },
}

impl Step for Expect {
    const NAME: &'static str = "expect";
    const ABOUT: &'static str = "stop, with nothing written, unless something is true";
    const HELP: &'static str = "\
Exit code 1 says that the check said no, 2 that something else went wrong. Put it in front of `write`: no file of \
the run is put in place when it says no.";
    const EXAMPLE: &'static str = "\
$ romloom load monitor.hex + expect pointer 0xFFFC --in 0xE000-0xFFDF + expect full
? 1
error: expect: 0xE441-0xFFF9 is a hole: `fill` closes it
";

    fn check(&self) -> Result<(), Stop> {
        if let What::Sum { algo, value, .. } = &self.what {
            hex_value(*algo, value).map_err(Stop::Trouble)?;
        }
        Ok(())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let no = |text: String| Err(Stop::SaidNo(text));
        match &self.what {
            What::Blank { range, erased, on } => {
                bench.each(&on.labels, |piece, _| {
                    match ops::blank(&piece.image, *range, *erased) {
                        None => Ok(()),
                        Some((at, byte)) => no(format!(
                            "{range} is not blank: {byte:02X} stands at 0x{at:04X}{}",
                            piece
                                .image
                                .origin_at(at)
                                .map_or(String::new(), |o| format!(" ({o})"))
                        )),
                    }
                })
            }
            What::Bytes { address, bytes, on } => bench.each(&on.labels, |piece, _| {
                match ops::bytes_at(&piece.image, *address, bytes) {
                    None => Ok(()),
                    Some(found) => {
                        let found = found
                            .iter()
                            .map(|b| b.map_or("__".into(), |b| format!("{b:02X}")));
                        let wanted = bytes.iter().map(|b| format!("{b:02X}"));
                        no(format!(
                            "at 0x{address:04X} stands {}, expected {}",
                            found.collect::<Vec<_>>().join(" "),
                            wanted.collect::<Vec<_>>().join(" "),
                        ))
                    }
                }
            }),
            What::Sum {
                algo,
                value,
                across,
                on,
            } => {
                let wanted = hex_value(*algo, value).map_err(Stop::Trouble)?;
                bench.each(&on.labels, |piece, _| {
                    let sum = ops::sum_over(&piece.image, *algo, across).map_err(no_for_holes)?;
                    match sum.to_bytes(sums::Order::Big) == wanted {
                        true => Ok(()),
                        false => no(format!("{algo} is {sum}, expected {}", value.trim())),
                    }
                })
            }
            What::Size { size, on } => bench.each(&on.labels, |piece, _| {
                match piece.image.extent().map_or(0, AddressRange::len) {
                    is if is == *size => Ok(()),
                    is => no(format!(
                        "the image is {} long, expected {size}",
                        plural(is, "byte")
                    )),
                }
            }),
            What::Full { on } => {
                bench.each(&on.labels, |piece, _| match ops::full(&piece.image)? {
                    None => Ok(()),
                    Some(hole) => no(format!("{hole} is a hole: `fill` closes it")),
                })
            }
            What::Pointer {
                address,
                range,
                width,
                order,
                on,
            } => {
                let pointer = ops::Pointer {
                    address: *address,
                    width: (*width).into(),
                    order: (*order).into(),
                };
                bench.each(&on.labels, |piece, _| {
                    let to = ops::pointer(&piece.image, pointer).map_err(no_for_holes)?;
                    match range.contains(to) {
                        true => Ok(()),
                        false => no(format!(
                            "the vector at 0x{address:04X} points to 0x{to:04X}, which is not in {range}"
                        )),
                    }
                })
            }
        }
    }
}

/// Bytes that are missing are an answer, and it is no.
fn no_for_holes(error: ops::OpError) -> Stop {
    match error {
        ops::OpError::Hole { .. } => Stop::SaidNo(error.to_string()),
        other => other.into(),
    }
}

/// A sum as people copy it from a screen: hex, with or without `0x`, leading zeros optional but for digests.
fn hex_value(algo: Algo, text: &str) -> Result<Vec<u8>, String> {
    let text = text.trim();
    let digits = text
        .strip_prefix("0x")
        .or(text.strip_prefix("0X"))
        .unwrap_or(text);
    let width = algo.bytes() * 2;
    let wrong = || {
        let zeros = if algo.is_digest() {
            "exactly"
        } else {
            "at most"
        };
        format!("`{text}` is no value of {algo}: write it in hex, {zeros} {width} digits")
    };
    if digits.is_empty() || digits.len() > width || (algo.is_digest() && digits.len() < width) {
        return Err(wrong());
    }
    let bytes = hex_simd::decode_to_vec(format!("{digits:0>width$}")).map_err(|_| wrong())?;
    Ok(bytes)
}
