//! `new`: a recipe or a board file with a comment on every line, to start from.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Result, anyhow, bail};
use clap::{ArgMatches, Args, FromArgMatches};

use super::grammar::Grammar;
use super::new_board::{BoardAsked, board_file};
use super::new_text::{as_file, comment, on_screen};
use super::recipe;
use super::run_options::RunOptions;
use super::say::{print, stopped};
use super::tables::catalogue;
use super::words::quoted;
use crate::cli::bench::{Console, MessageKind, Stop, on_output, plain};
use crate::cli::report::size_text;
use crate::cli::steps::common::{Extent, Sockets, extent};
use crate::formats::{self, LoadError, ReadOptions};
use crate::image::{AddressRange, Image};
use crate::parts::{Catalogue, Part};
use crate::prose::{self, plural};
use crate::sums::{Algo, Order};
use crate::values;

/// Print a recipe, or with --board a board file, with a comment on every line
///
/// The recipe runs as it is, and every line is there to be changed. Nothing is written to a
/// file: romloom new --part 27C256 --at 0x8000 monitor.hex > heron.loom
///
/// With --board alone the board is an example that shows what can be said; with --part and --at
/// it has sockets for that part: romloom new --board --part 27C256 --at 0x8000 > heron.board
#[derive(Args)]
pub struct NewArgs {
    /// The programs, as their assemblers wrote them
    #[arg(required_unless_present = "board", value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Print a board file instead: which chips are in which sockets, and how each bus sees them
    #[arg(long, conflicts_with_all = ["files", "stamp"])]
    board: bool,
    /// The part in each socket, such as 27C256, or its size
    #[arg(long, value_name = "SIZE", value_parser = extent, required_unless_present = "board")]
    part: Option<Extent>,
    /// CPU address of the first byte of these sockets
    #[arg(long, value_name = "BASE", value_parser = values::number, required_unless_present = "board")]
    at: Option<u64>,
    /// Chips side by side on a wide bus
    #[arg(long, value_name = "N", default_value_t = 1)]
    lanes: u32,
    /// Sockets, or groups of lanes, one after another in the address space
    #[arg(long, value_name = "N", default_value_t = 1)]
    rows: u32,
    /// Byte order of the CPU: of what --stamp stores, unless the sum has an order of its own, and of words on a wide bus.
    /// Must be said for parts 16 bits wide
    #[arg(long, value_enum)]
    order: Option<Order>,
    /// Name of the outputs, or title of the board [default: the first file's without extension]
    #[arg(long)]
    name: Option<String>,
    /// Store this sum where nothing is loaded
    #[arg(long, value_name = "ALGO")]
    stamp: Option<Algo>,
}

/// What a recipe is asked for.
struct NewRecipe {
    files: Vec<PathBuf>,
    part: Extent,
    sockets: Sockets,
    order: Option<Order>,
    name: Option<String>,
    stamp: Option<Algo>,
}

/// Prints the recipe.
///
/// # Errors
/// A part that is not in the table, a base that does not fit; before anything is printed.
pub fn new(grammar: &mut Grammar, matches: &ArgMatches, options: &RunOptions) -> Result<ExitCode> {
    let asked = NewArgs::from_arg_matches(matches)?;
    let parts = catalogue(options.parts.as_deref())?;
    let console = Console::new(options.mode(false));
    if asked.board {
        return print(&on_screen(&asked.board_file(&parts)?, false, on_output()));
    }
    // The parser has seen to it that both are there.
    let (Some(part), Some(at)) = (asked.part, asked.at) else {
        bail!("a recipe needs --part and --at");
    };
    let asked = NewRecipe {
        files: asked.files,
        part,
        sockets: Sockets {
            at,
            lanes: asked.lanes,
            rows: asked.rows,
        },
        order: asked.order,
        name: asked.name,
        stamp: asked.stamp,
    };
    if asked.order.is_some()
        && asked.part.part(&parts).map_err(stopped)?.is_none()
        && asked.stamp.is_none()
    {
        bail!(
            "--order has nothing to order here: it says how --stamp stores a sum, or which lines of a part have which byte"
        );
    }
    let text = asked.recipe(grammar, &parts, &console)?;
    // What is printed must be sound, whatever the words are.
    recipe::parse(grammar, "the recipe", &text, &[])?;
    print(&on_screen(&text, true, on_output()))
}

/// A program's file: its name, whether it has addresses of its own, and its bytes where it can be read by now.
struct ProgramFile {
    name: String,
    addressed: bool,
    image: Option<Image>,
}

impl NewArgs {
    fn board_file(&self, parts: &Catalogue) -> Result<String> {
        let part = match &self.part {
            None => None,
            Some(part) => Some(part.part(parts).map_err(stopped)?.ok_or_else(|| {
                anyhow!("a board has a part in each socket, not a size: name it, as --part 27C256")
            })?),
        };
        let asked = BoardAsked {
            part,
            at: self.at,
            lanes: self.lanes,
            rows: self.rows,
            order: self.order,
            title: self.name.as_deref(),
        };
        board_file(&asked, parts)
    }
}

impl NewRecipe {
    fn recipe(
        &self,
        grammar: &mut Grammar,
        parts: &Catalogue,
        console: &Console,
    ) -> Result<String> {
        let part = self.part.part(parts).map_err(stopped)?;
        let bytes = self.part.bytes(parts).map_err(stopped)?;
        let window = self.window(bytes)?;
        let seat = part.map(|part| self.seat(part));
        if let Some(seat) = &seat {
            let words = seat.split(' ').map(OsString::from).collect::<Vec<_>>();
            let step = grammar.step(&words)?;
            step.planned.check(parts).map_err(stopped)?;
        }
        let programs: Vec<ProgramFile> = (self.files.iter())
            .map(|file| self.program(file, console))
            .collect::<Result<_>>()?;
        let name = match (&self.name, self.files[0].file_stem()) {
            (Some(name), _) => name.clone(),
            (None, stem) => stem.map_or("rom".into(), |s| s.to_string_lossy().into_owned()),
        };
        if name.contains(char::is_control) {
            bail!(
                "the name `{}` has a control character: give another one with --name",
                prose::shown(&name)
            );
        }
        let mut out = comment(&format!(
            "{name}: made by `romloom new`, and meant to be changed."
        ));
        let run = "`romloom run FILE` makes the chips' files, and with --explain it says what every line does. Names of files \
                   are relative to the folder of this one.";
        out += &comment(run);
        self.load(&mut out, &programs, &name);
        let cpu = match (&seat, part) {
            (Some(seat), Some(part)) => {
                self.seated(&mut out, seat, part, window);
                "cpu:"
            }
            _ => {
                let (size, at) = (bytes_value(window.len()), self.sockets.at);
                let filler = format!(
                    "What no program uses is FF, as it is in most erased chips: {size} from 0x{at:04X} on."
                );
                out += &format!(
                    "\n{}fill FF\npad {size} --at 0x{at:04X}\n",
                    comment(&filler)
                );
                ""
            }
        };
        if let Some(algo) = self.stamp {
            self.stamped(&mut out, algo, window, &programs, cpu)?;
        }
        let unless = "Nothing is written unless this is true: every byte is there. `romloom help expect` has more to ask \
                      for, such as where a vector points.";
        out += &format!("\n{}expect full\n", comment(unless));
        if seat.is_none() {
            self.taken_apart(&mut out, bytes);
        }
        let several = self.sockets.lanes * self.sockets.rows > 1;
        // A brace in a name of the user's is one, and no word to be replaced.
        let stem = name.replace('{', "{{").replace('}', "}}");
        let file = match several {
            true => format!("out/{stem}-{{name}}.bin"),
            false => format!("out/{stem}.bin"),
        };
        let (file, sheet) = (quoted(&file), quoted(&format!("out/{stem}.html")));
        let each = match several {
            true => ", one for each chip; {name} is the chip's name",
            false => "",
        };
        let map = format!("The map on the screen, then the file for the programmer{each}.");
        out += &format!("\n{}show\nwrite {file}\n", comment(&map));
        let bench =
            "The sheet for the bench: which file goes into which socket, and which sum must show.";
        out += &format!("\n{}sheet {sheet}\n", comment(bench));
        Ok(out)
    }

    /// The CPU's addresses that the sockets see.
    fn window(&self, bytes: u64) -> Result<AddressRange> {
        let (at, lanes, rows) = (self.sockets.at, self.sockets.lanes, self.sockets.rows);
        if !(1..=16).contains(&lanes) || !(1..=256).contains(&rows) {
            bail!(
                "--lanes {lanes} --rows {rows}: a board has 1 to 16 lanes, and here 1 to 256 rows"
            );
        }
        let row = bytes.saturating_mul(lanes.into());
        if row == 0 || at % row != 0 {
            let below = at - at % row.max(1);
            bail!(
                "--at 0x{at:04X} is not a multiple of the {} that these sockets show; the next multiples are 0x{below:04X} and 0x{:04X}",
                plural(row, "byte"),
                below.saturating_add(row)
            );
        }
        let window = AddressRange::from_len(at, row.saturating_mul(rows.into()));
        window
            .ok_or_else(|| anyhow!("--at 0x{at:04X}: the sockets would end above the last address"))
    }

    /// Looks at a file; one that is not there yet is a warning, and its name tells the format.
    fn program(&self, file: &Path, console: &Console) -> Result<ProgramFile> {
        let name = file.display().to_string();
        if file.to_str().is_none() || name.contains(char::is_control) {
            let name = prose::shown(&name);
            bail!("{name}: a recipe can't contain this name: give the file another one");
        }
        let extension = file.extension().and_then(|e| e.to_str());
        let by_name = extension.and_then(formats::by_extension);
        let addressed = by_name.is_none_or(|f| f.meta().has_addresses);
        let how = ReadOptions {
            at: self.sockets.at,
            ..ReadOptions::default()
        };
        let opened = formats::load(file, &how).map_err(|e| match e {
            LoadError::Io { name, error } => format!("{name}: {}", plain(&error)),
            other => Stop::from(other).text(),
        });
        Ok(match opened {
            Ok(loaded) => ProgramFile {
                name,
                addressed: loaded.format.meta().has_addresses,
                image: Some(loaded.image),
            },
            Err(error) => {
                let text = format!("{error}; the recipe names it all the same");
                console.say(MessageKind::Warning, &text);
                ProgramFile {
                    name,
                    addressed,
                    image: None,
                }
            }
        })
    }

    fn load(&self, out: &mut String, programs: &[ProgramFile], name: &str) {
        let names = |addressed: bool| -> Vec<String> {
            let programs = programs.iter().filter(|p| p.addressed == addressed);
            programs.map(|p| quoted(&as_file(&p.name))).collect()
        };
        let (addressed, raw) = (names(true), names(false));
        // A word that is only `+` ends the step.
        let is_a_value = !name.starts_with('-') && name != "+";
        let between = if is_a_value { ' ' } else { '=' };
        let mut called = format!(" --name{between}{} --entry none", quoted(name));
        if !addressed.is_empty() {
            *out += &format!(
                "\n# The programs, each byte at its own address. A chip has no entry point.\n\
                 load {}{called}\n",
                addressed.join(" ")
            );
            called.clear();
        }
        if !raw.is_empty() {
            let follow = match raw.len() {
                1 => "",
                _ => " --follow",
            };
            *out += &format!(
                "\n# A raw file has no addresses: --at says where its first byte goes.\n\
                 load {} --at 0x{:04X}{follow}{called}\n",
                raw.join(" "),
                self.sockets.at
            );
        }
    }

    fn seat(&self, part: &Part) -> String {
        let mut words = format!("seat {} --at 0x{:04X}", part.name, self.sockets.at);
        if self.sockets.lanes != 1 {
            words += &format!(" --lanes {}", self.sockets.lanes);
        }
        if self.sockets.rows != 1 {
            words += &format!(" --rows {}", self.sockets.rows);
        }
        if let Some(order) = self.order {
            words += &format!(" --order {order}");
        }
        if part.erased.is_none() {
            words += " --with FF";
        }
        words
    }

    fn seated(&self, out: &mut String, seat: &str, part: &Part, window: AddressRange) {
        let chips = u64::from(self.sockets.lanes) * u64::from(self.sockets.rows);
        let sockets = match chips {
            1 => format!(
                "A {} has {}. The CPU sees it",
                part.name,
                size_text(part.bytes())
            ),
            n => format!(
                "{n} sockets, each with a {} of {}. The CPU sees them",
                part.name,
                size_text(part.bytes())
            ),
        };
        let filler = match part.erased {
            Some(erased) => format!("the erased value {erased:02X}"),
            None => "FF, for this part has no erased value of its own".into(),
        };
        let mut text = format!("{sockets} at {window}; what no program uses is {filler}.");
        if self.sockets.lanes > 1 {
            text += " Lane 0 has the first byte of each bus word, the next lane the next one.";
        }
        if let (16, Some(order)) = (part.width, self.order) {
            let first = match order {
                Order::Little => "D0-D7",
                Order::Big => "D8-D15",
            };
            text += &format!(
                " Of the two bytes of a word, the one at the lower address is on {first}."
            );
        }
        text += " From here on addresses are a chip's own, and cpu: before one means the CPU's.";
        *out += &format!("\n{}{seat}\n", comment(&text));
    }

    /// The highest place that no program is known to use.
    fn stamped(
        &self,
        out: &mut String,
        algo: Algo,
        window: AddressRange,
        programs: &[ProgramFile],
        cpu: &str,
    ) -> Result<()> {
        let width = algo.bytes() as u64;
        let free = |place: &AddressRange| {
            let mut images = programs.iter().filter_map(|p| p.image.as_ref());
            images.all(|image| image.within(*place).next().is_none())
        };
        let last = (window.last() + 1 - window.first()) / width;
        let mut places = (0..last)
            .rev()
            .filter_map(|n| AddressRange::from_len(window.first() + n * width, width));
        let place = places.find(free).ok_or_else(|| {
            anyhow!("--stamp {algo}: there are no {width} bytes free in {window}")
        })?;
        let range = |first: u64, last: u64| {
            let range = AddressRange::new(first, last);
            range.map_or(String::new(), |r| format!(" --across {cpu}{r}"))
        };
        let mut across = String::new();
        if place.first() > window.first() {
            across += &range(window.first(), place.first() - 1);
        }
        if place.last() < window.last() {
            across += &range(place.last() + 1, window.last());
        }
        let (how, options) = self.stored(algo);
        let text = format!(
            "The {algo} of all bytes but its own, where no program has a byte. Move it to where your program looks for \
             it. {how}"
        );
        *out += &format!(
            "\n{}stamp {algo}{across} --at {cpu}0x{:04X}{options}\n",
            comment(text.trim_end()),
            place.first()
        );
        Ok(())
    }

    /// How a sum is stored so that its readers find it: a sentence for people, and the options.
    fn stored(&self, algo: Algo) -> (String, String) {
        if algo.is_digest() || algo.bytes() == 1 {
            return Default::default();
        }
        let first = |order: Order| match order {
            Order::Little => "low byte first",
            Order::Big => "high byte first",
        };
        let option = |order: Order| format!(" --order {order}");
        match (algo.order(), self.order) {
            _ if algo == Algo::INTERNET => (
                "RFC 1071 stores its ones' complement, high byte first.".into(),
                " --complement ones".into(),
            ),
            // A sum of words is one of them.
            (Some(own), _) => (
                format!("It is stored as its words are read, {}.", first(own)),
                option(own),
            ),
            (None, None) if algo == Algo::ADLER32 => (
                "RFC 1950 stores it high byte first.".into(),
                option(Order::Big),
            ),
            (None, order) => {
                let order = order.unwrap_or(Order::Little);
                (
                    format!("It is stored {}, which --order says.", first(order)),
                    option(order),
                )
            }
        }
    }

    /// Without a part nobody seats, so the image is moved and cut up.
    fn taken_apart(&self, out: &mut String, bytes: u64) {
        *out += "\n# A chip has its own addresses: its first byte is at 0.\nrelocate --to 0\n";
        if self.sockets.rows > 1 {
            let row = bytes * u64::from(self.sockets.lanes);
            *out += &format!(
                "\n# One piece for each row of sockets.\nsplit banks {}\n",
                bytes_value(row)
            );
        }
        if self.sockets.lanes > 1 {
            *out += &format!(
                "\n# One piece for each lane: lane 0 has the first byte of each bus word.\nsplit lanes {}\n",
                self.sockets.lanes
            );
        }
    }
}

/// As `pad` takes it: 32K, or plain bytes.
fn bytes_value(bytes: u64) -> String {
    match bytes % 1024 == 0 {
        true => size_text(bytes),
        false => bytes.to_string(),
    }
}
