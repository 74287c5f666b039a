//! A word too many: most often quotes or an option are missing.

use super::refused::Refused;
use super::slip::Slip;
use super::vocabulary::looks_like_file;
use crate::cli::pipeline::parsed::Role;
use crate::cli::steps::step;
use crate::faults::Pattern;
use crate::formats;
use crate::values;

/// Steps that hold pieces against a file, or each against its own.
const HELD_AGAINST: [&str; 2] = [step::COMPARE, step::BURNABLE];

/// A word that no argument takes.
pub fn word_too_many(refused: &Refused<'_>) -> Option<Slip> {
    let (at, in_front) = refused.first_of(&Role::Excess)?;
    let slip = match refused.name() {
        Some(first) if !in_front => too_many(refused, first, at.word),
        _ => Slip::new(format!("unexpected word `{}`", refused.text(&at))),
    };
    Some(slip.at(Some(at)))
}

/// The word at `here` of the step or command whose name is the word at `first` is too many.
fn too_many(refused: &Refused<'_>, first: usize, here: usize) -> Slip {
    let words = refused.words;
    let word = words[here];
    let before = words[first..here].join(" ");
    let slip = Slip::new(format!("unexpected word `{word}` after `{before}`"));
    let name = words[first];
    let replaced =
        |at, count, new: &[&str]| slip.clone().write_one(refused.replaced(at, count, new));
    if ["help", "?", "/?", "-?"].contains(&word) {
        return slip.so(format!("`romloom help {name}` explains it"));
    }
    if refused.step().is_none() {
        return match (name, word.split_once('=')) {
            ("run", Some((set, _))) if !set.is_empty() => replaced(here, 0, &["--set"]),
            ("run", None) if word.ends_with(".loom") => slip.so(format!(
                "run one recipe after the other: romloom run {word}"
            )),
            ("run", None) if here > first + 1 && words[here - 2] == "--set" => {
                let set = format!("{}={word}", words[here - 1]);
                replaced(here - 1, 2, &[&set])
            }
            ("help" | "man" | "steps" | "formats", _) => replaced(here, words.len() - here, &[]),
            _ => slip.so(format!("`romloom help {name}` explains it")),
        };
    }
    // A dash of a web page or a word processor in place of two hyphens.
    if let Some(bare) = word.strip_prefix(['–', '—']) {
        let long = bare.trim_start_matches(['-', '–', '—']);
        return replaced(here, 1, &[&format!("--{long}")]);
    }
    let preceding = (here > first + 1).then(|| words[here - 1]);
    let both = |is: &dyn Fn(&str) -> bool| preceding.is_some_and(is) && is(word);
    let is_number = |w: &str| values::number(w).is_ok();
    // 0x8000 has more digits than a byte: it is rather an address.
    let address = |w: &str| w.len() > 4 && w.starts_with("0x") && is_number(w);
    if takes_plain(refused, &["BYTES", "BYTE"])
        && !both(&address)
        && both(&|w| values::bytes(w).is_ok())
    {
        let all = words[here..]
            .iter()
            .take_while(|w| values::bytes(w).is_ok());
        let count = all.count();
        let bytes = words[here - 1..here + count].join(" ");
        return replaced(here - 1, count + 1, &[&bytes]);
    }
    if both(&is_number) {
        return ranged(refused, slip, here - 1);
    }
    if takes_plain(refused, &["TEXT"]) {
        let from = (first + 2).min(here);
        let text = words[from..].iter().take_while(|w| !w.starts_with("--"));
        let count = text.count();
        let text = words[from..from + count].join(" ");
        return replaced(from, count, &[&text]);
    }
    let each = preceding.and_then(|before| name_of_each(before, word));
    if let Some(each) = each.filter(|_| HELD_AGAINST.contains(&name)) {
        let count = words[here..]
            .iter()
            .take_while(|w| !w.starts_with('-'))
            .count();
        return replaced(here - 1, count + 1, &[&each])
            .so("with {name} in it, each piece is compared with a file of its own");
    }
    let option = |long: &str| replaced(here, 0, &[&format!("--{long}")]);
    // `at 0x8000`.
    if takes(refused, word) && here + 1 < words.len() {
        return replaced(here, 1, &[&format!("--{word}")]);
    }
    let signed = word.strip_prefix(['+', '-']).is_some_and(is_number);
    let is_file = || looks_like_file(refused.around.folder, word);
    match name {
        step::RELOCATE if signed => return option("by"),
        step::RELOCATE | step::COPY if is_number(word) && !refused.gives("to") => {
            return option("to");
        }
        step::WRITE | step::LOAD if !refused.gives("as") => {
            let format = formats::by_name(word).or_else(|| formats::by_extension(word));
            if let Some(format) = format {
                return replaced(here, 1, &["--as", format.name()]);
            }
        }
        step::DIAGNOSE if is_file() && !refused.gives("wanted") => return option("wanted"),
        step::DIAGNOSE if word.parse::<Pattern>().is_ok() => return option("pattern"),
        step::UNSEAT | step::SEAT if word.ends_with(".board") && !refused.gives("board") => {
            return option("board");
        }
        step::VOTE | step::JOIN if is_file() => {
            return slip.so(format!(
                "`{name}` works on loaded pieces: romloom load FILE FILE --apart + {name}"
            ));
        }
        _ => {}
    }
    let is_range = values::addresses(word).is_ok();
    if is_range && !refused.gives("across") && takes(refused, "across") {
        return option("across");
    }
    if is_number(word) && !refused.gives("at") && takes(refused, "at") {
        return option("at");
    }
    // `--follow yes`.
    if ["yes", "true", "on", "1"].contains(&word) && preceding.is_some_and(|w| w.starts_with("--"))
    {
        return replaced(here, 1, &[]);
    }
    slip.so(format!(
        "`romloom help {name}` says what it takes; the next step comes after a +"
    ))
}

/// Two numbers as the one range that is meant, from the word at `first` on.
fn ranged(refused: &Refused<'_>, slip: Slip, first: usize) -> Slip {
    let (a, b) = (refused.words[first], refused.words[first + 1]);
    let backwards = values::number(b).ok() < values::number(a).ok();
    let range = match backwards {
        true => format!("{a}+{b}"),
        false => format!("{a}-{b}"),
    };
    slip.so("a range is one word: FIRST-LAST with both ends in it, or START+LENGTH")
        .write_one(refused.replaced(first, 2, &[&range]))
}

/// A number and another one after it, where a range is wanted.
pub fn two_numbers(refused: &Refused<'_>, slip: Slip, first: usize) -> Option<Slip> {
    let is_number = |at: usize| {
        refused
            .words
            .get(at)
            .is_some_and(|w| values::number(w).is_ok())
    };
    (is_number(first) && is_number(first + 1)).then(|| ranged(refused, slip, first))
}

/// Whether a plain word may be a value of one of these names.
fn takes_plain(refused: &Refused<'_>, names: &[&str]) -> bool {
    let mut plain = refused.arguments().filter(|arg| arg.is_positional());
    plain.any(|arg| {
        let own = arg.get_value_names().unwrap_or_default();
        own.iter().any(|name| names.contains(&name.as_str()))
    })
}

fn takes(refused: &Refused<'_>, option: &str) -> bool {
    refused.arguments().any(|a| a.get_long() == Some(option))
}

/// `read-{name}.bin` for `read-even.bin` and `read-odd.bin`, of which a shell may have made a list.
fn name_of_each(one: &str, other: &str) -> Option<String> {
    let (stem, extension) = one.rsplit_once('.')?;
    let other = other.strip_suffix(extension)?.strip_suffix('.')?;
    let same = stem.char_indices().zip(other.chars());
    let differs = same.clone().find(|((_, a), b)| a != b);
    let shorter = if stem.len() < other.len() {
        stem
    } else {
        other
    };
    let same = differs.map_or(shorter, |((at, _), _)| &stem[..at]);
    // `read-u1` and `read-u2`: the name is not its last letter alone.
    let front = same.rfind(|c: char| !c.is_alphanumeric());
    let front = front.map_or("", |at| &same[..=at]);
    (stem != other).then(|| format!("{front}{{name}}.{extension}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_several_names_have_in_common_becomes_one_name() {
        let name = |one, other| name_of_each(one, other);
        let is = |text: &str| Some(text.to_owned());
        assert_eq!(name("rd-even.bin", "rd-odd.bin"), is("rd-{name}.bin"));
        assert_eq!(name("rd-u1.bin", "rd-u2.bin"), is("rd-{name}.bin"));
        assert_eq!(name("in/u1.bin", "in/u11.bin"), is("in/{name}.bin"));
        assert_eq!(name("é-a.bin", "ê-a.bin"), is("{name}.bin"));
        assert_eq!(name("rd-a-b.bin", "rd-a.bin"), is("rd-{name}.bin"));
        assert_eq!(name("a.bin", "b.hex"), None);
        assert_eq!(name("a.bin", "a.bin"), None);
        assert_eq!(name("a", "b"), None);
    }
}
