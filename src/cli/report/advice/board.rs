//! Boards and their files.

use std::error::Error;

use crate::board::{BoardFault, BoardFileError, FileProblem, Wrong};
use crate::cli::report::size_text;

/// How a board is described, which decides what its advice looks like.
#[derive(Clone, Copy)]
enum Form {
    /// A file: `size = "16K"`.
    File,
    /// The options of `seat`: `--size 16K`.
    Options,
}

impl Form {
    /// A key and its value in this form.
    fn set(self, key: &str, value: &str) -> String {
        match self {
            Form::File => format!("{key} = {value}"),
            Form::Options => format!("--{key} {}", value.replace('"', "")),
        }
    }

    /// Levels of address pins.
    fn tied(self, levels: impl Iterator<Item = (u32, u64)>) -> String {
        match self {
            Form::File => {
                let levels: Vec<String> = levels.map(|(p, l)| format!("A{p} = {l}")).collect();
                format!("tied = {{ {} }}", levels.join(", "))
            }
            Form::Options => {
                let levels: Vec<String> = levels.map(|(p, l)| format!("A{p}={l}")).collect();
                format!("--tied {}", levels.join(","))
            }
        }
    }

    /// Adds that the bus sees something again; only a file can say so.
    fn mirrored(self, advice: String, when: &str) -> String {
        match self {
            Form::File => format!("{advice}, or mirrored = true where {when}"),
            Form::Options => advice,
        }
    }
}

/// What helps where the options of `seat` don't describe a valid board.
pub(in crate::cli) fn for_options(fault: &BoardFault) -> Option<String> {
    wrong(&fault.wrong, Form::Options)
}

/// What helps against an error of a board, or of its file.
pub(super) fn of(error: &(dyn Error + 'static)) -> Option<String> {
    if let Some(error) = error.downcast_ref::<BoardFileError>() {
        return file(&error.problem);
    }
    error
        .downcast_ref::<BoardFault>()
        .and_then(|fault| wrong(&fault.wrong, Form::File))
}

fn file(problem: &FileProblem) -> Option<String> {
    let advice = match problem {
        FileProblem::TooLarge { .. } => "is it another file?",
        FileProblem::NotToml(_) => {
            "a board file is TOML: texts and sizes such as \"8K\" are in quotes, numbers such as 0x8000 are not"
        }
        FileProblem::UnknownKey { table, nearest, .. } => {
            if let [_, others @ ..] = &nearest[..] {
                if others.is_empty() {
                    return None;
                }
                return Some(format!("or one of: {}", others.join(", ")));
            }
            match *table {
                "a board" => "a board has: title, sockets, part",
                "a window" => {
                    "a window has: at, size, from, banks, switch, by, tied, mirrored, space"
                }
                _ => {
                    "sockets have: names, part, lanes, order, with, except, note, space, tied, wires, and window, or for an only window at, size, from, banks, switch, by, mirrored"
                }
            }
        }
        FileProblem::Missing { key, .. } => match *key {
            "sockets" => {
                "describe a chip by a line `[[sockets]]` and below it names = [\"U7\"], part = \"27C256\" and at = 0x8000; `romloom new --board` prints a board to start from"
            }
            "names" => "name each socket, such as names = [\"U7\"]",
            "part" => {
                "say what is in the sockets, such as part = \"27C256\"; `romloom parts` lists them"
            }
            "at" => "say at which address of the bus it begins, such as at = 0x8000",
            _ => return None,
        },
        FileProblem::Value { key, .. } => match key.as_str() {
            "except" => "write a range such as \"0x9000-0x90FF\" or \"0x9000+256\"",
            "banks" => {
                "banks = 32 means positions 0 to 31; \"2\" is one position, \"32-63\" are several"
            }
            _ => return None,
        },
        FileProblem::TwoWays { .. } => "write it into the window, or leave the word `window` out",
        FileProblem::Part(error) => {
            let look = "`romloom parts` lists all; a part of your own is a `[[part]]` in the board's file, or in that of --parts";
            let advice = super::work::part(error, look);
            return Some(advice.trim_start_matches([';', '\n', ' ']).to_owned());
        }
        FileProblem::Board(fault) => return wrong(&fault.wrong, Form::File),
        _ => return None,
    };
    Some(advice.into())
}

fn wrong(wrong: &Wrong, form: Form) -> Option<String> {
    let advice = match wrong {
        Wrong::NoNames | Wrong::NoChip => match form {
            Form::File => "name each socket, such as names = [\"U7\"]",
            Form::Options => "name each socket, such as --names U7, or give --rows 1 or more",
        },
        Wrong::Reserved(_) => "use the name on the board, such as U7",
        Wrong::NameTwice(_) => "write - for a place without a chip",
        Wrong::Rows { names, lanes } => {
            let wanted = names.div_ceil(*lanes as usize) * *lanes as usize;
            return Some(format!(
                "list one row after another, each of {lanes}; add {} more, - for a place without a chip",
                wanted - names
            ));
        }
        Wrong::OrderOpen(_) => {
            "order = \"big\" where D8-D15 have the byte at the even address, as on a 68000; order = \"little\" where D0-D7 have it, as on an 8086"
        }
        Wrong::NoErased(_) => "say what unused cells contain, such as with = 0xFF",
        Wrong::NoWindow => {
            "say where a bus sees them: at = 0x8000, or with several windows window = [ { at = 0x8000, size = \"16K\", from = 0 } ]"
        }
        Wrong::Larger {
            size: wanted,
            shown,
        } => {
            let times = wanted.div_ceil((*shown).max(1));
            return Some(form.mirrored(
                form.set("size", &amount(*shown)),
                &format!("the bus sees the same bytes {times} times"),
            ));
        }
        Wrong::Open { size: own, shown } => return Some(open(*own, *shown, form)),
        Wrong::Outside { store, .. } | Wrong::PastEnd { last: store, .. } => {
            return Some(format!(
                "from counts the bytes of these chips together, 0 to 0x{:04X}",
                store.saturating_sub(u64::from(matches!(wrong, Wrong::Outside { .. })))
            ));
        }
        Wrong::AgainstLevel { pin, .. } => {
            return Some(format!(
                "leave from out, or A{pin} out of what is held or switched"
            ));
        }
        Wrong::Misaligned {
            at,
            from,
            lines,
            block,
            bases,
            ..
        } => return Some(misaligned((*at, *from), *lines, *block, *bases, form)),
        Wrong::NoBanks => return Some(form.set("banks", "4") + " for positions 0 to 3"),
        Wrong::BanksBackwards(first, last) => return Some(format!("banks = \"{last}-{first}\"")),
        Wrong::TooManyBanks { different, .. } => {
            return Some(form.mirrored(
                form.set("banks", &different.to_string()),
                "several positions show the same",
            ));
        }
        Wrong::NoRow { rows, .. } => {
            return Some(format!(
                "name more sockets, or switch among the {rows} that are there"
            ));
        }
        Wrong::SwitchOpen(_) => "name them, the lowest bit first: switch = [\"A14\", \"A15\"]",
        Wrong::SizeOpen(_) => {
            return Some(
                "say how much one position shows, such as ".to_owned()
                    + &form.set("size", "\"8K\""),
            );
        }
        Wrong::LineTwice {
            letter,
            line,
            missing,
        } => {
            return Some(format!(
                "say to which pin {letter}{missing} goes too: if {letter}{line} and {letter}{missing} are crossed, name both pins"
            ));
        }
        Wrong::Held(pin) => {
            return Some(format!(
                "take A{pin} out of tied, or out of switch and wires"
            ));
        }
        Wrong::NotShown { .. } => "give a range of the bus, inside a window of these sockets",
        Wrong::Clash { bank, .. } => match bank {
            Some(_) => {
                "give each its own positions of the switch, such as banks = \"0-31\" and banks = \"32-63\""
            }
            None => {
                "if a switch decides, give each its banks; if one of them gives way, add except to it; if it is on another bus, add space"
            }
        },
        _ => return None,
    };
    Some(advice.into())
}

/// A window that is smaller than what it could show.
fn open(own: u64, shown: u64, form: Form) -> String {
    let upper = shown.saturating_sub(own);
    let mut advice = format!(
        "{} for the lowest bytes, {} for the highest; or {} with the level of each upper address pin",
        form.set("from", "0"),
        form.set("from", &amount(upper)),
        match form {
            Form::File => "tied",
            Form::Options => "--tied",
        }
    );
    if own > 0 && shown % own == 0 && (shown / own).is_power_of_two() {
        let banks = form.set("banks", &(shown / own).to_string());
        advice += &format!("; {banks} if a switch chooses");
    }
    advice
}

/// Address and start that differ in lines that both have.
fn misaligned(
    (at, from): (u64, u64),
    lines: u32,
    block: u64,
    bases: (u64, u64),
    form: Form,
) -> String {
    let base = |at: u64| form.set("at", &format!("0x{at:04X}"));
    let mut advice = format!("use {} or {}", base(bases.0), base(bases.1));
    let off = at % block.max(1);
    let left = block - off;
    // The part of the block at this address, if the pins above it can be held.
    let unit = block >> lines;
    let held = left.is_power_of_two() && off % left == 0 && unit > 0 && from % block == 0;
    if held && off > 0 {
        let first = (left / unit).checked_ilog2().unwrap_or(0);
        let levels = (first..lines).map(|pin| (pin, (off / unit) >> pin & 1));
        advice += &format!(
            "; if the bus sees only a part: {} with {}, or with {}",
            form.set("size", &amount(left)),
            form.set("from", &amount(from + off)),
            form.tied(levels)
        );
    }
    advice
}

/// A number of bytes in the form of a board file: `"16K"`, or plain if it is not a whole number of K.
fn amount(bytes: u64) -> String {
    match bytes % 1024 == 0 && bytes > 0 {
        true => format!("\"{}\"", size_text(bytes)),
        false => bytes.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::Board;
    use crate::parts::Catalogue;

    fn board(lines: &str) -> Result<Board, BoardFileError> {
        let text = format!("[[sockets]]\nnames = [\"U1\"]\n{lines}\n");
        Board::from_toml("test.board", &text, &mut Catalogue::built_in())
    }

    fn advice(lines: &str) -> String {
        let error = board(lines).unwrap_err();
        of(&error).unwrap_or_else(|| panic!("{error}"))
    }

    /// Every line that advice offers makes a sound board when it is written.
    #[track_caller]
    fn helps(lines: &str, wanted: &str, mended: &[(&str, &str)]) {
        assert_eq!(advice(lines), wanted);
        for (old, new) in mended {
            assert!(lines.contains(old), "{old}");
            let text = lines.replace(old, new);
            if let Err(error) = board(&text) {
                panic!("{text}\n{error}");
            }
        }
    }

    #[test]
    fn a_base_that_does_not_fit_has_the_two_that_do_and_the_two_windows() {
        helps(
            "part = \"27C256\"\nat = 0xC000",
            "use at = 0x8000 or at = 0x10000; if the bus sees only a part: size = \"16K\" with from = \"16K\", or \
             with tied = { A14 = 1 }",
            &[
                ("0xC000", "0x8000"),
                ("0xC000", "0x10000"),
                ("0xC000", "0xC000\nsize = \"16K\"\nfrom = \"16K\""),
                ("0xC000", "0xC000\nsize = \"16K\"\ntied = { A14 = 1 }"),
            ],
        );
        helps(
            "part = \"27C256\"\nat = 0xE000",
            "use at = 0x8000 or at = 0x10000; if the bus sees only a part: size = \"8K\" with from = \"24K\", or \
             with tied = { A13 = 1, A14 = 1 }",
            &[
                ("0xE000", "0xE000\nsize = \"8K\"\nfrom = \"24K\""),
                (
                    "0xE000",
                    "0xE000\nsize = \"8K\"\ntied = { A13 = 1, A14 = 1 }",
                ),
            ],
        );
        assert_eq!(
            advice("part = \"27C256\"\nat = 0xA000"),
            "use at = 0x8000 or at = 0x10000"
        );
    }

    #[test]
    fn what_is_open_has_the_words_that_close_it() {
        let x16 = "\
[[part]]
name = \"W16\"
words = 65536
width = 16
kind = \"uv-eprom\"
erased = 255
pins = 40
";
        let error = board(&format!("part = \"W16\"\nat = 0\n{x16}")).unwrap_err();
        assert!(
            of(&error).unwrap().starts_with("order = \"big\" where"),
            "{error}"
        );
        for order in ["big", "little"] {
            assert!(
                board(&format!(
                    "part = \"W16\"\nat = 0\norder = \"{order}\"\n{x16}"
                ))
                .is_ok()
            );
        }
        helps(
            "part = \"27C256\"\nat = 0\nsize = \"8K\"",
            "from = 0 for the lowest bytes, from = \"24K\" for the highest; or tied with the level of each upper address \
             pin; banks = 4 if a switch chooses",
            &[
                ("\"8K\"", "\"8K\"\nfrom = 0"),
                ("at = 0", "at = 0x6000\nfrom = \"24K\""),
                ("\"8K\"", "\"8K\"\nbanks = 4"),
                ("\"8K\"", "\"8K\"\ntied = { A13 = 0, A14 = 1 }"),
            ],
        );
        helps(
            "part = \"27C64\"\nat = 0\nsize = \"32K\"",
            "size = \"8K\", or mirrored = true where the bus sees the same bytes 4 times",
            &[("32K", "8K"), ("\"32K\"", "\"32K\"\nmirrored = true")],
        );
        helps(
            "part = \"27C64\"\nat = 0\nsize = \"2K\"\nbanks = 8",
            "banks = 4, or mirrored = true where several positions show the same",
            &[
                ("banks = 8", "banks = 4"),
                ("banks = 8", "banks = 8\nmirrored = true"),
            ],
        );
    }

    #[test]
    fn keys_have_those_that_were_meant() {
        let unknown = "part = \"27C64\"\nat = 0\nfoo = 3";
        assert!(advice(unknown).starts_with("sockets have: names, part,"));
        assert!(advice("at = 0").contains("part = \"27C256\""));
        assert!(advice("part = \"27C64\"").contains("at = 0x8000"));
        assert!(advice("part = \"27C64\"\nat = 0\nbanks = \"3-1\"").contains("\"1-3\""));
    }
}
