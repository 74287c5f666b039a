//! From what is printed on a chip to a part of the table.
//!
//! A maker's letters before the number and a speed after it change no byte and are left out. Letters directly after
//! the number can make it another part (a 2732A is destroyed by the voltage of a 2732), so they count only where the table
//! lists them. Anything else gives an answer that lists the parts it may be, never one part.

use super::{Doubt, Kind, Part, PartHint, UnknownPart};

/// At most this many parts are listed for a marking.
const MOST: usize = 4;

/// Longer than any marking, so not a typing error: comparing it would take time that grows with the length.
const LONGEST: usize = 40;

/// Markings that can mean different parts (from memory).
const DIFFERENT: [Different; 2] = [
    Different {
        letters: Some("TMS"),
        number: "2716",
        parts: &["2716-three-supply", "2716"],
        why: "this maker's 2716 has three supplies, and its part with one supply is the 2516",
    },
    Different {
        letters: None,
        number: "27C1000",
        parts: &["27C1000", "27C010"],
        why: "makers gave this number to two parts with different pins",
    },
];

/// A number that can mean several parts after a maker's letters.
struct Different {
    /// The letters; `None`: any.
    letters: Option<&'static str>,
    number: &'static str,
    parts: &'static [&'static str],
    why: &'static str,
}

/// The maker whose 27C parts mostly erase electrically (from memory). Those in the table have the letter in their name.
const ELECTRIC: &str = "W";

/// Numbers of small PROMs that are digits only. They can't be names, since they would be read as sizes. Numbers with the
/// same first two digits are one maker's (common practice).
const DIGITS_ONLY: [(&str, &str); 26] = [
    ("6330", "prom-32x8-oc"),
    ("6331", "prom-32x8"),
    ("6300", "prom-256x4-oc"),
    ("6301", "prom-256x4"),
    ("6308", "prom-256x8-oc"),
    ("6309", "prom-256x8"),
    ("6305", "prom-512x4-oc"),
    ("6306", "prom-512x4"),
    ("6348", "prom-512x8-oc"),
    ("6349", "prom-512x8"),
    ("6340", "prom-512x8-24pin-oc"),
    ("6341", "prom-512x8-24pin"),
    ("6352", "prom-1024x4-oc"),
    ("6353", "prom-1024x4"),
    ("7602", "prom-32x8-oc"),
    ("7603", "prom-32x8"),
    ("7610", "prom-256x4-oc"),
    ("7611", "prom-256x4"),
    ("7620", "prom-512x4-oc"),
    ("7621", "prom-512x4"),
    ("7640", "prom-512x8-24pin-oc"),
    ("7641", "prom-512x8-24pin"),
    ("7642", "prom-1024x4-oc"),
    ("7643", "prom-1024x4"),
    ("7680", "prom-1024x8-oc"),
    ("7681", "prom-1024x8"),
];

/// The part with this name, or that this marking means.
pub(super) fn find_in<'p>(
    parts: impl Iterator<Item = &'p Part> + Clone,
    printed: &str,
) -> Result<&'p Part, UnknownPart> {
    let unknown = |doubt, candidates: Vec<&Part>| UnknownPart {
        word: printed.to_owned(),
        doubt,
        candidates: candidates
            .into_iter()
            .take(MOST)
            .map(PartHint::of)
            .collect(),
    };
    if printed.len() > LONGEST {
        return Err(unknown(Doubt::Unlike, Vec::new()));
    }
    let without_speed = || bodies(printed).find_map(|body| named(parts.clone(), body));
    if let Some(part) = named(parts.clone(), printed).or_else(without_speed) {
        return Ok(part);
    }
    // The shortest is the one without any speed.
    let body = bodies(printed).last().unwrap_or(printed);
    let (letters, number) = body.split_at(maker_letters(body));
    if let Some((why, candidates)) = different(parts.clone(), letters, number) {
        return Err(unknown(Doubt::Different(why), candidates));
    }
    if let Some(part) = named(parts.clone(), number).filter(|_| !letters.is_empty()) {
        return Ok(part);
    }
    if let Some(part) = digits_only(parts.clone(), printed) {
        return Err(unknown(Doubt::MakersNumber, vec![part]));
    }
    let forms = forms(parts.clone(), number);
    if !forms.is_empty() {
        return Err(unknown(Doubt::Forms, forms));
    }
    let listed = before_letters(parts.clone(), number);
    if !listed.is_empty() {
        return Err(unknown(Doubt::Letters, listed));
    }
    Err(unknown(Doubt::Unlike, nearest(parts, printed)))
}

/// The part with exactly this name, in upper or lower case.
pub(super) fn named<'p>(mut parts: impl Iterator<Item = &'p Part>, name: &str) -> Option<&'p Part> {
    parts.find(|part| part.names().any(|own| own.eq_ignore_ascii_case(name)))
}

/// What comes before a speed, the longest first: `28F400BX-T` of `28F400BX-T-80`, `39SF040` of `39SF040-70-4C-PHE`.
fn bodies(printed: &str) -> impl Iterator<Item = &str> {
    let hyphens = printed.rmatch_indices('-').map(|(at, _)| at);
    let bodies = hyphens
        .filter(|&at| is_speed(&printed[at + 1..]))
        .map(|at| &printed[..at]);
    // When a letter that counts comes after a hyphen, the speed follows directly: `28F400BX-T80`.
    let digits = printed.trim_end_matches(|c: char| c.is_ascii_digit());
    let form = printed.len() - digits.len();
    let direct = (1..=3).contains(&form) && (digits.ends_with("-T") || digits.ends_with("-B"));
    bodies.chain(direct.then_some(digits))
}

/// Whether this is what makers print after the hyphen: a speed of one to three digits, with the package and the range of
/// temperatures directly after it or in groups of their own, as in `15`, `20PC`, `10F1`, `15I/P`, `70-4C-PHE`.
fn is_speed(suffix: &str) -> bool {
    let mut groups = suffix.split(['-', '/']);
    let first = groups.next().unwrap_or_default();
    let rest = first.trim_start_matches(|c: char| c.is_ascii_digit());
    let digits = first.len() - rest.len();
    let package = |text: &str| {
        text.len() <= 3
            && text.bytes().all(|b| b.is_ascii_alphanumeric())
            && text.bytes().any(|b| b.is_ascii_alphabetic())
    };
    (1..=3).contains(&digits) && (rest.is_empty() || package(rest)) && groups.all(package)
}

/// How many letters come before the number; 0 when there are none, or too many to be a maker's.
fn maker_letters(body: &str) -> usize {
    let number = body.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    match body.len() - number.len() {
        letters @ 1..=4 if number.starts_with(|c: char| c.is_ascii_digit()) => letters,
        _ => 0,
    }
}

/// Why this marking can mean different parts, and which, if it is one that can.
fn different<'p>(
    parts: impl Iterator<Item = &'p Part> + Clone,
    letters: &str,
    number: &str,
) -> Option<(&'static str, Vec<&'p Part>)> {
    let is_this = |entry: &&Different| {
        let by_letters = entry
            .letters
            .is_none_or(|own| own.eq_ignore_ascii_case(letters));
        by_letters && !letters.is_empty() && entry.number.eq_ignore_ascii_case(number)
    };
    if let Some(entry) = DIFFERENT.iter().find(is_this) {
        let candidates = entry
            .parts
            .iter()
            .filter_map(|name| named(parts.clone(), name));
        return Some((entry.why, candidates.collect()));
    }
    let is_27c = number
        .get(..3)
        .is_some_and(|family| family.eq_ignore_ascii_case("27C"));
    if !letters.eq_ignore_ascii_case(ELECTRIC) || !is_27c {
        return None;
    }
    let by_light = named(parts.clone(), number)?;
    let mut alike = parts.filter(|part| {
        part.kind == Kind::ElectricEprom
            && part.words == by_light.words
            && part.width == by_light.width
            && part.pinout == by_light.pinout
    });
    let why = "this maker's 27C parts mostly erase electrically, at voltages of their own";
    Some((why, alike.next().into_iter().chain([by_light]).collect()))
}

/// The small PROM whose number, digits only, is in the marking: `7621`, `HM1-7621-5`.
fn digits_only<'p>(parts: impl Iterator<Item = &'p Part>, printed: &str) -> Option<&'p Part> {
    let words = printed.split(|c: char| !c.is_ascii_alphanumeric());
    let mut numbers = words.map(|word| word.trim_start_matches(|c: char| c.is_ascii_alphabetic()));
    let listed = |number: &str| DIGITS_ONLY.iter().find(|(own, _)| *own == number);
    let (_, name) = numbers.find_map(listed)?;
    named(parts, name)
}

/// The parts whose names begin with this number and go on with letters.
fn forms<'p>(parts: impl Iterator<Item = &'p Part>, number: &str) -> Vec<&'p Part> {
    let goes_on = |name: &str| {
        let (start, rest) = name.split_at_checked(number.len())?;
        let letters = rest.starts_with(|c: char| !c.is_ascii_digit());
        (start.eq_ignore_ascii_case(number) && letters).then_some(())
    };
    let ends_in_digit = number.ends_with(|c: char| c.is_ascii_digit());
    parts
        .filter(|part| {
            number.len() >= 4 && ends_in_digit && part.names().any(|name| goes_on(name).is_some())
        })
        .collect()
}

/// The part of the number without the letters after it, and the other forms of that number.
fn before_letters<'p>(parts: impl Iterator<Item = &'p Part> + Clone, body: &str) -> Vec<&'p Part> {
    let cuts = (4..body.len()).rev().filter(|&at| {
        let (number, letters) = (body.get(..at), body.get(at..));
        let letters =
            letters.is_some_and(|text| text.starts_with(|c: char| c.is_ascii_alphabetic()));
        letters && number.is_some_and(|text| text.ends_with(|c: char| c.is_ascii_digit()))
    });
    for at in cuts {
        let number = &body[..at];
        let mut found: Vec<&Part> = named(parts.clone(), number).into_iter().collect();
        let others = forms(parts.clone(), number);
        found.extend(
            others
                .into_iter()
                .filter(|form| !found.contains(form))
                .collect::<Vec<_>>(),
        );
        if !found.is_empty() {
            return found;
        }
    }
    Vec::new()
}

/// The parts whose names are nearest to what was written, best first.
fn nearest<'p>(parts: impl Iterator<Item = &'p Part>, word: &str) -> Vec<&'p Part> {
    let word = word.to_uppercase();
    let length = word.chars().count();
    let slips = (length / 3).max(1);
    let mut near: Vec<(bool, usize, &Part)> = parts
        .filter_map(|part| {
            let distances = part.names().filter_map(|name| {
                let upper = name.to_uppercase();
                // A number inside other words, or half of one.
                let holds = (upper.len() >= 4 && word.contains(&upper))
                    || (length >= 3 && upper.contains(&word));
                let distance = strsim::osa_distance(&word, &upper);
                (holds || distance <= slips).then_some((!holds, distance))
            });
            let (apart, distance) = distances.min()?;
            Some((apart, distance, part))
        })
        .collect();
    near.sort_by_key(|&(apart, distance, _)| (apart, distance));
    near.into_iter().map(|(_, _, part)| part).collect()
}

/// Every name of the table that a list in this file refers to.
#[cfg(test)]
pub(super) fn every_lead() -> impl Iterator<Item = &'static str> {
    let different = DIFFERENT.iter().flat_map(|entry| entry.parts).copied();
    different.chain(DIGITS_ONLY.iter().map(|(_, name)| *name))
}
