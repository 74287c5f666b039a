//! Values that an argument does not take, and arguments that are missing.

use std::any::TypeId;
use std::error::Error;
use std::ffi::OsString;
use std::num::{IntErrorKind, ParseIntError};
use std::path::PathBuf;

use clap::Arg;
use clap::error::ContextKind;

use super::bench::{all_as_typed, as_typed};
use super::options::called;
use super::refused::Refused;
use super::slip::Slip;
use super::surplus::two_numbers;
use crate::cli::pipeline::written::WordRange;
use crate::cli::steps::step;
use crate::formats::{self, FORMATS, Format};
use crate::prose::nearest;
use crate::sums::{Algo, UnknownAlgo};
use crate::values::{self, BadValue};

/// A value that its argument does not take.
pub fn wrong_value(refused: &Refused<'_>) -> Option<Slip> {
    let arg = refused.argument(refused.says(ContextKind::InvalidArg)?)?;
    let value = refused.says(ContextKind::InvalidValue)?;
    let option = arg.get_long().map(|long| format!("--{long}"));
    let front = option
        .as_deref()
        .map(|o| format!("{o}: "))
        .unwrap_or_default();
    // `load --at` at the end, or with nothing but a comment after it.
    if let Some(at) = refused.without_value(arg) {
        return Some(no_value(refused, arg, at));
    }
    let places = refused.values(arg);
    let at = places.into_iter().find(|at| refused.text(at) == value)?;
    let slip = Slip::new("").at(Some(at.clone()));
    let said = |fact: String| Slip {
        fact,
        ..slip.clone()
    };
    let names = arg.get_value_names().unwrap_or_default();
    // A name that an answer has put where only the reader knows the value.
    if names.iter().any(|name| name == value) {
        return Some(said(format!("{front}`{value}` is the name of a value")));
    }
    let takes_range = names.iter().any(|n| n == "RANGE");
    let with = |slip: Slip, new: &str| slip.write_one(refused.with_value(&at, new));
    // `keep 0x8000 0x9000`.
    if takes_range {
        let slip = said(format!("{front}`{value}` is not a range"));
        if let Some(slip) = two_numbers(refused, slip, at.word) {
            return Some(slip);
        }
    }
    // `fill EA EA`.
    let before = at.word.checked_sub(1).map(|i| refused.words[i]);
    let bytes = |word: &str| values::bytes(word).is_ok() && values::number(word).is_err();
    if let Some(before) = before.filter(|before| takes_range && bytes(before) && bytes(value)) {
        let slip = said(format!("{front}`{value}` is not a range"));
        let all = format!("{before} {value}");
        return Some(slip.write_one(refused.replaced(at.word - 1, 2, &[&all])));
    }
    if let Some(parts) = several(value).filter(|_| takes_range) {
        let slip = said(format!("{front}`{value}` is several ranges"));
        let words: Vec<&str> = parts.iter().map(String::as_str).collect();
        return Some(match &option {
            None => slip.write_one(refused.replaced(at.word, 1, &words)),
            Some(option) => {
                let words: Vec<&str> = words.iter().flat_map(|w| [option.as_str(), *w]).collect();
                let first = at.word - usize::from(at.bytes.is_none());
                let count = 1 + at.word - first;
                slip.write_one(refused.replaced(first, count, &words))
            }
        });
    }
    let is_address = |word: &str| values::address(word).is_ok();
    let innermost = refused.innermost().map(|command| command.get_name());
    if takes_range
        && innermost == Some("hex")
        && values::range(value).is_err_and(|e| e.meant().is_none())
    {
        let slip = said(format!("{front}`{value}` is not a range"));
        match values::address(value) {
            Ok(_) => return Some(with(slip, &format!("{value}+256"))),
            Err(bad) => {
                if let Some(meant) = bad.meant() {
                    return Some(with(slip, &format!("{meant}+256")));
                }
            }
        }
    }
    // `patch 0x8000=EA`.
    if let Some((address, rest)) = value.split_once(['=', ':']) {
        let slip = said(format!("{front}`{value}` is not an address"));
        if names.iter().any(|n| n == "ADDR") && option.is_none() && is_address(address) {
            return Some(slip.write_one(refused.replaced(at.word, 1, &[address, rest])));
        }
    }
    let cause = refused.error.source();
    if let Some(bad) = cause.and_then(|cause| cause.downcast_ref::<BadValue>()) {
        if value.is_empty() && values::number(value).as_ref() == Err(bad) {
            let slip = said(format!("{front}there is no number here"));
            return Some(slip.so("a shell makes nothing of $C000: write 0xC000"));
        }
        let slip = said(format!("{front}{}", bad.problem()));
        let meant = bad.meant().or_else(|| format_meant(arg, value));
        return Some(match (meant, bad.advice()) {
            // A range of another notation may or may not have its last address in it.
            (Some(meant), Some(advice)) if takes_range => with(slip, meant).so(advice),
            (Some(meant), _) => with(slip, meant),
            (None, Some(advice)) => slip.so(advice),
            (None, None) => slip,
        });
    }
    if let Some(unknown) = cause.and_then(|cause| cause.downcast_ref::<UnknownAlgo>()) {
        return Some(unknown_sum(
            refused,
            &at,
            said(format!("{front}there is no sum `{value}`")),
            unknown,
        ));
    }
    if let Some(error) = cause.and_then(|cause| cause.downcast_ref::<ParseIntError>()) {
        let large = *error.kind() == IntErrorKind::PosOverflow;
        let number = values::number(value).map(|n| n.to_string());
        let meant = number.or_else(|bad| bad.meant().map(str::to_owned).ok_or(bad));
        let meant = meant.ok().and_then(|meant| values::number(&meant).ok());
        return Some(match (large, meant) {
            (true, _) => said(format!("{front}`{value}` is too large")),
            (false, Some(meant)) => {
                let kind = match values::number(value) {
                    Ok(_) => "a decimal number",
                    Err(_) => "a number",
                };
                with(
                    said(format!("{front}`{value}` is not {kind}")),
                    &meant.to_string(),
                )
            }
            (false, None) => said(format!("{front}`{value}` is not a number")),
        });
    }
    if is_integer(arg) {
        let slip = said(format!("{front}`{value}` is not possible here"));
        return Some(match value.starts_with('-') {
            true => slip.so("use a number that is not below 0"),
            false => slip.so("use a smaller number"),
        });
    }
    Some(match cause {
        Some(cause) => said(format!("{front}{}", told(value, cause))),
        None => {
            let known = refused.context(ContextKind::ValidValue);
            let slip = said(format!("{front}`{value}` is not possible here"));
            let slip = slip.so(format!("use {}", either(&known)));
            match choice(value, &known) {
                Some(near) => with(slip, near),
                None => slip,
            }
        }
    })
}

/// Whether an argument takes a number of the language's own, whose limits the parser checks.
fn is_integer(arg: &Arg) -> bool {
    let kind = arg.get_value_parser().type_id();
    [
        TypeId::of::<u8>(),
        TypeId::of::<u16>(),
        TypeId::of::<u32>(),
        TypeId::of::<u64>(),
        TypeId::of::<usize>(),
    ]
    .iter()
    .any(|own| kind == *own)
}

/// An option at the end, with nothing after it.
fn no_value(refused: &Refused<'_>, arg: &Arg, at: WordRange) -> Slip {
    let names = arg.get_value_names().unwrap_or_default();
    let what = names.first().map_or("VALUE", |name| name.as_str());
    let what = as_typed(what).join(" ");
    let slip = Slip::new(format!("`{}` has no value", called(arg)));
    let slip = match refused.around.recipe {
        true => slip.so("a # before a word starts a comment: put such a word into quotes"),
        false => slip,
    };
    let words = refused.replaced(at.word + 1, 0, &[&what]);
    slip.write_one(words).at(Some(at))
}

/// `0-1,3-4`.
fn several(text: &str) -> Option<Vec<String>> {
    let range = |part: &str| match values::addresses(part.trim()) {
        Ok(_) => Some(part.trim().to_owned()),
        Err(bad) => bad.meant().map(str::to_owned),
    };
    let parts = text.split([',', ';']);
    let parts: Option<Vec<String>> = parts.map(range).collect();
    parts.filter(|parts| parts.len() > 1)
}

/// A sum that is not known by this name.
fn unknown_sum(refused: &Refused<'_>, at: &WordRange, slip: Slip, unknown: &UnknownAlgo) -> Slip {
    let word = &unknown.word;
    let sum = |name: &str| name.parse::<Algo>().ok().map(|algo| algo.name());
    // `sum16,crc32`.
    let parts: Vec<&str> = word.split([',', '+']).map(str::trim).collect();
    if parts.len() > 1 && parts.iter().all(|part| sum(part).is_some()) {
        return slip.write_one(refused.replaced(at.word, 1, &parts));
    }
    // `crc-32`, `SHA-256`, `checksum16`.
    let plain = word.to_lowercase().replace(['-', '_', ' '], "");
    let plain = plain.replace("checksum", "sum");
    let plain = if plain == "sum" { "sum16" } else { &plain };
    if sum(plain).is_some() {
        return slip.write_one(refused.with_value(at, plain));
    }
    match &unknown.nearest[..] {
        [] => slip.so("`romloom help sums` lists them: sum16, crc32, sha256 and others"),
        [only] => slip.write_one(refused.with_value(at, only)),
        several => slip.so(format!("nearest: {}", several.join(", "))),
    }
}

/// The format that a value means where one is asked for.
fn format_meant(arg: &Arg, value: &str) -> Option<&'static str> {
    let asked = arg.get_value_names()?.iter().any(|name| name == "FORMAT");
    let lower = value.to_lowercase();
    let lower = lower.trim_start_matches('.');
    let bare = |name: &str| name.replace(['-', '_', ' '], "");
    let plain = bare(lower);
    let singular = plain.strip_suffix('s').unwrap_or(&plain);
    let is_named =
        |format: &&dyn Format| [plain.as_str(), singular].contains(&&*bare(format.name()));
    let named = FORMATS.iter().copied().find(is_named);
    let other = match plain.as_str() {
        "binary" | "rawbinary" => Some("raw"),
        "intel" | "i8hex" => Some("intel-hex"),
        "motorola" => Some("s-record"),
        "c" | "carray" | "h" => Some("c-bytes"),
        "rust" | "rs" => Some("rust-bytes"),
        "asm" | "assembler" => Some("asm-bytes"),
        "verilog" | "vmem" => Some("readmem"),
        _ => None,
    };
    let by_extension = || formats::by_extension(lower);
    let known = || named.or_else(by_extension).map(|format| format.name());
    other.or_else(known).filter(|_| asked)
}

/// One of a few words, by another name for it or in another case.
fn choice<'a>(value: &str, known: &[&'a str]) -> Option<&'a str> {
    let lower = value.to_lowercase();
    let plain = lower.trim_end_matches("-endian").trim_end_matches("endian");
    let other = match plain {
        "be" | "msb" | "msb-first" | "motorola" | "high" => "big",
        "le" | "lsb" | "lsb-first" | "intel" | "low" => "little",
        "unix" | "\\n" => "lf",
        "dos" | "windows" | "\\r\\n" => "crlf",
        "1" | "1s" | "one" | "ones'" => "ones",
        "2" | "2s" | "two" | "two's" => "twos",
        plain => plain,
    };
    let own = known.iter().find(|k| k.eq_ignore_ascii_case(other));
    let near = || nearest(&lower, known.iter().copied()).first().copied();
    own.copied().or_else(|| near().filter(|_| lower.len() > 1))
}

/// `refuse, same or first`.
fn either(all: &[&str]) -> String {
    match all {
        [] => "another value".into(),
        [one] => (*one).into(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// The cause, with the value that it is about where it does not name that itself.
fn told(value: &str, cause: &(dyn Error + 'static)) -> String {
    let text = cause.to_string();
    match text.contains(value) {
        true => text,
        false => format!("`{value}`: {text}"),
    }
}

/// An option with more or fewer values than it takes.
pub fn wrong_count(refused: &Refused<'_>) -> Option<Slip> {
    let arg = refused.argument(refused.says(ContextKind::InvalidArg)?)?;
    let names = arg.get_value_names().unwrap_or_default();
    let names: Vec<&str> = names.iter().map(|name| name.as_str()).collect();
    let option = called(arg);
    let at = refused.options(arg).pop()?;
    let given = refused
        .values(arg)
        .iter()
        .filter(|v| v.word > at.word)
        .count();
    let slip = Slip::new(format!("`{option}` takes {} values", names.len()));
    let missing = names.get(given..).unwrap_or_default();
    let words = refused.replaced(at.word + 1 + given, 0, missing);
    Some(slip.write_one(words).at(Some(at)))
}

/// A required argument that is not given.
pub fn missing(refused: &Refused<'_>) -> Option<Slip> {
    let shown = refused.context(ContextKind::InvalidArg);
    let words: Vec<Vec<String>> = shown.iter().map(|shown| as_typed(shown)).collect();
    let at = refused.name()?;
    let name = refused.words[at];
    let needed: Vec<String> = words.iter().map(|w| format!("`{}`", w.join(" "))).collect();
    let fact = format!("`{name}` needs {}", needed.join(" and "));
    let slip = Slip::new(fact).at(Some(WordRange::whole(at)));
    let mut all = refused.replaced(0, 0, &[]);
    // `new 27C256`: a part is not a program.
    let part = (refused.words[at + 1..].iter()).position(|w| crate::parts::find(w).is_ok());
    if let (Some(part), "new", false) = (part, name, refused.gives("part")) {
        all.insert(at + 1 + part, "--part".into());
        return Some(slip.write_one(all));
    }
    if let (step::LOAD, []) = (name, &refused.words[at + 1..]) {
        all.push("FILE".into());
        return Some(slip.so("romloom load FILE + show"));
    }
    all.extend(all_as_typed(shown.into_iter()));
    Some(
        slip.so(format!("`romloom help {name}` explains it"))
            .write_one(all),
    )
}

/// A word that is not UTF-8 text, where only text can be taken.
pub fn no_text(refused: &Refused<'_>, words: &[OsString]) -> Slip {
    let is_path = |arg: &Arg| {
        let kind = arg.get_value_parser().type_id();
        kind == TypeId::of::<PathBuf>() || kind == TypeId::of::<OsString>()
    };
    let broken = (0..words.len()).filter(|i| words[*i].to_str().is_none());
    let taken: Vec<usize> = refused
        .arguments()
        .filter(|arg| is_path(arg))
        .flat_map(|arg| refused.values(arg))
        .map(|at| at.word)
        .collect();
    let at = broken.into_iter().find(|i| !taken.contains(i));
    let word = at
        .and_then(|i| refused.words.get(i))
        .copied()
        .unwrap_or_default();
    Slip::new(format!("`{word}` is not UTF-8 text")).at(at.map(WordRange::whole))
}
