//! A word too many: most often a `+` or quotes are missing.

use clap::{Arg, Command};

use super::refused::Refused;
use super::slip::Slip;
use super::vocabulary::with_plus;
use crate::cli::pipeline::parsed::Role;
use crate::values;

/// Steps that hold pieces against a file, or each against its own.
const HELD_AGAINST: [&str; 2] = ["compare", "burnable"];

/// A word that no argument takes.
pub fn word_too_many(refused: &Refused<'_>) -> Option<Slip> {
    let (at, in_front) = refused.first_of(&Role::Excess)?;
    let word = refused.text(&at);
    let slip = match (refused.step(), refused.name()) {
        (Some(step), Some(first)) if !in_front => {
            let (before, here) = (&refused.words[first..], at.word - first);
            behind_step(refused, step.name, before, here)
        }
        _ => {
            let slip = too_many(word);
            let runs = refused.command().is_some_and(|c| c.get_name() == "run");
            match word.split_once('=') {
                Some((name, _)) if runs && !name.is_empty() => {
                    slip.also(format!("a value is given with --set {word}"))
                }
                _ => slip,
            }
        }
    };
    Some(slip.at(Some(at)))
}

fn too_many(word: &str) -> Slip {
    Slip::new(format!("`{word}` is one word too many"))
}

/// `words` are the step's, and the word at `here` is too many.
fn behind_step(refused: &Refused<'_>, step: &str, words: &[&str], here: usize) -> Slip {
    let word = words[here];
    // The usual slip: the + between two steps is missing, or glued to a word.
    if let Some(line) = with_plus(words) {
        return Slip::new(format!("`{word}` is one word too many for `{step}`"))
            .also(format!("is a + missing? {line}"));
    }
    let before = words.get(here.wrapping_sub(1)).filter(|_| here > 1);
    let first = before.copied().unwrap_or_default();
    let are = |is: fn(&str) -> bool| before.is_some() && is(first) && is(word);
    let takes_bytes = takes_plain(refused, &["BYTES", "BYTE"]);
    // 0x8000 has more digits than a byte: it is rather an address.
    let address = |w: &str| w.len() > 4 && w.starts_with("0x") && values::number(w).is_ok();
    if takes_bytes && !are(address) && are(|w| values::bytes(w).is_ok()) {
        return too_many(word).also(format!(
            "several bytes go into one pair of quotes, as \"{first} {word}\""
        ));
    }
    if are(|w| values::number(w).is_ok()) {
        return too_many(word).also(format!("a range is one word, as {first}-{word}"));
    }
    if takes_plain(refused, &["TEXT"]) {
        let text = words[2.min(here)..]
            .iter()
            .take_while(|w| !w.starts_with('-'));
        let text: Vec<&str> = text.copied().collect();
        let front = words[..words.len().min(2)].join(" ");
        return too_many(word).also(format!(
            "a text with blanks goes into quotes: {front} \"{}\"",
            text.join(" ")
        ));
    }
    let each = before.and_then(|before| name_of_each(before, word));
    if let Some(each) = each.filter(|_| HELD_AGAINST.contains(&step)) {
        return too_many(word).also(format!(
            "for files of which each belongs to a piece: {step} '{each}'"
        ));
    }
    if values::number(word).is_ok() && !refused.gives("at") && takes(refused, "at") {
        let front = words[..here].join(" ");
        let more = required(refused, "at");
        return too_many(word).also(format!(
            "an address stands behind --at: {front}{more} --at {word}"
        ));
    }
    Slip::new(format!("`{word}` is one word too many for `{step}`")).so(format!(
        "see `romloom help {step}`; the next step stands behind a lone +"
    ))
}

/// Whether a plain word may be a value of one of these names.
fn takes_plain(refused: &Refused<'_>, names: &[&str]) -> bool {
    let mut plain = refused.arguments().filter(|arg| arg.is_positional());
    plain.any(|arg| {
        let own = arg.get_value_names().unwrap_or_default();
        own.iter().any(|name| names.contains(&name.as_str()))
    })
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

fn takes(refused: &Refused<'_>, option: &str) -> bool {
    let mut arguments = refused
        .command()
        .into_iter()
        .flat_map(Command::get_arguments);
    arguments.any(|a| a.get_long() == Some(option))
}

/// The required options but one that are not given, each with what stands behind it.
fn required(refused: &Refused<'_>, but: &str) -> String {
    let arguments = refused
        .command()
        .into_iter()
        .flat_map(Command::get_arguments);
    let missing = arguments
        .filter(|a| a.is_required_set())
        .filter_map(|a: &Arg| {
            let long = a.get_long().filter(|long| *long != but)?;
            let value = a.get_value_names()?.first()?;
            (!refused.gives(long)).then(|| format!(" --{long} {value}"))
        });
    missing.collect()
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
