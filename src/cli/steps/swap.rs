//! `swap`: reverse the byte order in each word.

use clap::Args;

use super::Step;
use super::common::On;
use crate::cli::bench::{Bench, Blame, Stop, argument};
use crate::ops;

/// Reverse the byte order in each word
#[derive(Args, Debug)]
pub struct SwapArgs {
    /// Bytes in a word
    #[arg(value_name = "2|4", value_parser = ["2", "4"])]
    width: String,
    #[command(flatten)]
    on: On,
}

impl Step for SwapArgs {
    const NAME: &'static str = "swap";
    const ABOUT: &'static str = "reverse the byte order in each word";
    const SENTENCE: &'static str = "Reverses the order of the bytes in each word.";
    const HELP: &'static str =
        "Words begin at multiples of their size; a word with a hole in it is an error.";
    const EXAMPLE: &'static str = "\
$ romloom load vectors.bin + swap 2 + show hex
vectors
0000 > E3 53 E0 15 . E3 6B < 0005  vectors.bin
";

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let width = if self.width == "4" { 4 } else { 2 };
        bench.rearrange(Self::NAME, &self.on.only, |image, _| {
            ops::swap(image, width).blame(argument!(self.width))
        })
    }
}
