//! `pattern`: make a test image.

use clap::Args;

use super::Step;
use super::common::{Extent, extent};
use super::named::within;
use crate::cli::bench::{Bench, Blame, Piece, Stop, argument};
use crate::faults;
use crate::image::{Image, Source};
use crate::parts::Catalogue;
use crate::prose::plural;
use crate::values;

/// Make a test image that shows which line of a chip is bad
#[derive(Args, Debug)]
pub struct PatternArgs {
    /// zeros, ones, checker, address, walk, telltale or random
    #[arg(value_name = "KIND")]
    kind: faults::Pattern,
    /// Its size: 32K, or a part
    #[arg(value_name = "SIZE", value_parser = extent)]
    size: Extent,
    /// Name of the piece [default: the kind]
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    #[command(flatten)]
    variant: Variant,
}

/// What is chosen in addition to the kind; `diagnose` takes the same options.
#[derive(Args, Debug, Clone, Copy, Default)]
pub struct Variant {
    /// telltale: which of the two images that more than 128K need
    #[arg(long, value_name = "1|2", value_parser = within(1..=2))]
    pub pass: Option<u8>,
    /// random: where the sequence starts, 1 to 8388607 [default: 1]
    #[arg(long, value_name = "N", value_parser = values::number)]
    pub seed: Option<u64>,
}

impl Variant {
    /// The pattern of these options.
    ///
    /// # Errors
    /// An option that means nothing to this kind.
    pub fn of(self, kind: faults::Pattern) -> Result<faults::Pattern, Stop> {
        use faults::{Pass, Pattern};
        match (kind, self.pass, self.seed) {
            (Pattern::Telltale(_), pass, None) => Ok(Pattern::Telltale(match pass {
                Some(2) => Pass::Second,
                _ => Pass::First,
            })),
            (Pattern::Random { seed }, None, given) => {
                let seed = given.map_or(Ok(seed), u32::try_from);
                match seed {
                    Ok(seed) => Ok(Pattern::Random { seed }),
                    Err(_) => Err(Stop::trouble("the seed is out of range")
                        .advise("use 1 to 8388607")
                        .at(argument!(self.seed))),
                }
            }
            (kind, None, None) => Ok(kind),
            (kind, Some(_), _) => Err(Stop::trouble(format!("--pass has no meaning for {kind}"))
                .advise("leave it out; it chooses one of telltale's two images")
                .at(argument!(self.pass))),
            (kind, None, Some(_)) => {
                Err(Stop::trouble(format!("--seed has no meaning for {kind}"))
                    .advise("leave it out; it says where random starts")
                    .at(argument!(self.seed)))
            }
        }
    }
}

impl Step for PatternArgs {
    const NAME: &'static str = "pattern";
    const ABOUT: &'static str = "make a test image that shows which line of a chip is bad";
    const SENTENCE: &'static str = "Makes a test image that shows which line of a chip is bad.";
    const HELP: &'static str = "\
Burn it, read it back, and give the read to `diagnose`. The kinds, byte by byte:

zeros     00 everywhere
ones      FF everywhere
checker   55 at even addresses, AA at odd ones
address   the low byte of the address (common practice); it can't see A8 and up
walk      01 02 04 08 10 20 40 80, repeated: a 1 that walks over the data lines
telltale  the exclusive-or of one fixed byte for each address line that is 1; from A0 up \
33 E8 FC 4D 5A FA 3A 92 2C 51 15 29 D7 E2 A3 CC 79 (up to 64 bytes, the first is 28)
random    the sequence of 2^23 - 1 bits of ITU-T O.150, inverted as sent, the earliest bit in D7

telltale finds bad lines best: from 5 to 17 address lines (128K) every stuck, inverted, swapped or shorted line \
gives a read of its own. For larger parts burn and read it twice: A17 and up use the bytes again, from the first in \
pass 1 and from the second in pass 2, and `diagnose --second` uses both reads. random shows more about cells and pages.";
    const EXAMPLE: &'static str = "\
$ romloom pattern telltale 32 + show hex + pattern walk 8 + digest sum8
telltale
0000 > 00 28 E8 C0 . FC D4 14 3C . 4D 65 A5 8D . B1 99 59 71 < 000F  pattern telltale
0010 > 5A 72 B2 9A . A6 8E 4E 66 . 17 3F FF D7 . EB C3 03 2B < 001F
telltale   0000-001F   32 bytes
  sum8  F0
walk   0000-0007   8 bytes
  sum8  FF
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        let size = self.size.bytes(parts).blame(argument!(self.size))?;
        if size == 0 || size > faults::Pattern::LARGEST as u64 {
            return Err(Stop::trouble(format!(
                "a pattern has 1 byte to {}M, but {} were asked for",
                faults::Pattern::LARGEST >> 20,
                plural(size, "byte")
            ))
            .at(argument!(self.size)));
        }
        self.pattern().map(|_| ())
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        let pattern = self.pattern()?;
        // Checked to fit before anything ran.
        let size = self.size.bytes(&bench.parts).blame(argument!(self.size))?;
        let size = usize::try_from(size).blame(argument!(self.size))?;
        let source = Source::Pattern(pattern.name().into());
        let variant = match self.variant.pass {
            Some(_) => argument!(self.variant.pass),
            None => argument!(self.variant.seed),
        };
        let image = Image::from_bytes(0, pattern.image(size).blame(variant)?, source)?;
        let name = self.name.clone();
        let name = name.unwrap_or_else(|| pattern.name().to_owned());
        bench.pieces.push(Piece::new(name, image));
        bench
            .refuse_same_names("--name")
            .blame(argument!(self.name))
    }
}

impl PatternArgs {
    fn pattern(&self) -> Result<faults::Pattern, Stop> {
        self.variant.of(self.kind)
    }
}
