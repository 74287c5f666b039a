//! Names of files with words in braces, `chip-{name}.bin`, which differ for each piece.

use super::common::sums_of;
use crate::cli::bench::{Piece, Stop};
use crate::prose::shown;
use crate::sums::Algo;

/// What replaces a word in braces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Placeholder {
    /// `{name}`: the piece's name.
    Name,
    /// `{part}`: the part that the piece is for.
    Part,
    /// `{n}`: its number among the pieces that the step works on, from 0 up.
    Number,
    /// `{sum16}`: the sum of its bytes, in 16 bits.
    Sum16,
    /// `{crc32}`: its CRC-32.
    Crc32,
}

/// Those for the name of a file that is written.
pub(super) const OF_OUTPUTS: &[Placeholder] = &[
    Placeholder::Name,
    Placeholder::Part,
    Placeholder::Number,
    Placeholder::Sum16,
    Placeholder::Crc32,
];

/// Those for the name of a file that is read. With a sum only a file of the same content would be found.
pub(super) const OF_REFERENCES: &[Placeholder] =
    &[Placeholder::Name, Placeholder::Part, Placeholder::Number];

/// A stretch of a file's name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NameSlot {
    /// As it was written.
    Text(String),
    /// To be replaced.
    Word(Placeholder),
}

/// A file's name, cut at its words in braces.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct NameOfEach {
    slots: Vec<NameSlot>,
}

impl Placeholder {
    fn word(self) -> &'static str {
        match self {
            Placeholder::Name => "{name}",
            Placeholder::Part => "{part}",
            Placeholder::Number => "{n}",
            Placeholder::Sum16 => "{sum16}",
            Placeholder::Crc32 => "{crc32}",
        }
    }
}

impl NameOfEach {
    /// Cuts a name; `{{` and `}}` are braces.
    ///
    /// # Errors
    /// A brace without a partner, and a word in braces that is not among `known`.
    pub fn read(name: &str, known: &[Placeholder]) -> Result<Self, Stop> {
        let mut slots = Vec::new();
        let mut text = String::new();
        let mut rest = name;
        while let Some(at) = rest.find(['{', '}']) {
            let (before, braces) = rest.split_at(at);
            text += before;
            let doubled = ["{{", "}}"].iter().find(|two| braces.starts_with(**two));
            if let Some(two) = doubled {
                text += &two[1..];
                rest = &braces[2..];
                continue;
            }
            let words: Vec<&str> = known.iter().map(|known| known.word()).collect();
            let word = braces.find('}').map(|end| &braces[..=end]);
            let Some(word) = word.filter(|word| word.starts_with('{')) else {
                let fact = format!("a brace in `{}` has no partner", shown(name));
                return Err(Stop::trouble(fact).advise("write {{ and }} for braces"));
            };
            let Some(slot) = known.iter().find(|known| known.word() == word) else {
                let fact = format!("`{}` in `{}` means nothing", shown(word), shown(name));
                let advice = format!("use {}; write {{{{ and }}}} for braces", words.join(" "));
                return Err(Stop::trouble(fact).advise(advice));
            };
            if !text.is_empty() {
                slots.push(NameSlot::Text(std::mem::take(&mut text)));
            }
            slots.push(NameSlot::Word(*slot));
            rest = &braces[word.len()..];
        }
        text += rest;
        if !text.is_empty() {
            slots.push(NameSlot::Text(text));
        }
        Ok(Self { slots })
    }

    /// Whether each piece has a name of its own.
    pub fn is_of_each(&self) -> bool {
        self.slots
            .iter()
            .any(|slot| matches!(slot, NameSlot::Word(_)))
    }

    /// The name where all pieces have the same.
    pub fn of_none(&self) -> Option<String> {
        let texts = self.slots.iter().map(|slot| match slot {
            NameSlot::Text(text) => Some(text.as_str()),
            NameSlot::Word(_) => None,
        });
        texts.collect()
    }

    /// Its stretches, in order.
    pub fn slots(&self) -> &[NameSlot] {
        &self.slots
    }

    /// The name for a piece, the `n`th that the step works on. Braces in a value are left unchanged.
    ///
    /// # Errors
    /// A piece without a part where `{part}` asks for one, and a value that would lead into another folder.
    pub fn of(&self, piece: &Piece, n: usize) -> Result<String, Stop> {
        let mut out = String::new();
        for slot in &self.slots {
            match slot {
                NameSlot::Text(text) => out += text,
                NameSlot::Word(word) => out += &value(*word, piece, n)?,
            }
        }
        Ok(out)
    }
}

fn value(word: Placeholder, piece: &Piece, n: usize) -> Result<String, Stop> {
    let sum = |algo: Algo| -> Result<String, Stop> {
        let sums = sums_of(piece, &[algo]).map_err(|(_, error)| error)?;
        Ok(sums.into_iter().map(|sum| sum.value).collect())
    };
    let value = match word {
        Placeholder::Name => piece.name.clone(),
        Placeholder::Part => match piece.part() {
            Some(part) => part.name.clone(),
            None => {
                let fact = format!("{{part}} needs a part, but {} has none", piece.name);
                return Err(Stop::trouble(fact)
                    .advise("`seat` gives it one, or `pad PART`; {name} needs none"));
            }
        },
        Placeholder::Number => n.to_string(),
        Placeholder::Sum16 => sum(Algo::SUM16)?,
        Placeholder::Crc32 => sum(Algo::CRC32)?,
    };
    // A drive or a second stream of a file, on systems that have these.
    let is_drive = |c: char| cfg!(windows) && c == ':';
    let leads_away = |c: char| matches!(c, '/' | '\\') || c.is_control() || is_drive(c);
    if value.contains(leads_away) || value == "." || value == ".." {
        let fact = format!("`{}` can't be part of a file's name", shown(&value));
        return Err(Stop::trouble(fact)
            .advise("give the piece another name, with `load --name` or `--names`"));
    }
    Ok(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::image::{Image, Source};

    fn named(template: &str, piece: &str) -> Result<String, String> {
        let image = Image::from_bytes(0, vec![1, 2], Source::Patch).map_err(|e| e.to_string())?;
        let name = NameOfEach::read(template, OF_OUTPUTS).map_err(|stop| stop.text())?;
        name.of(&Piece::new(piece, image), 3)
            .map_err(|stop| stop.text())
    }

    #[test]
    fn words_are_replaced_once_and_braces_can_be_written() {
        assert_eq!(
            named("a-{name}-{n}.bin", "{n}").as_deref(),
            Ok("a-{n}-3.bin")
        );
        assert_eq!(named("{sum16}{{n}}", "even").as_deref(), Ok("0003{n}"));
        let whole = NameOfEach::read("a.bin", OF_OUTPUTS).map(|name| name.is_of_each());
        assert!(matches!(whole, Ok(false)));
    }

    #[test]
    fn what_means_nothing_is_refused() {
        for (template, says) in [
            ("{lable}.bin", "`{lable}` in `{lable}.bin` means nothing"),
            ("{n.bin", "a brace in `{n.bin` has no partner"),
            ("n}.bin", "a brace in `n}.bin` has no partner"),
            ("{part}.bin", "{part} needs a part, but even has none"),
        ] {
            let said = named(template, "even").expect_err(template);
            assert!(said.starts_with(says), "{said}");
        }
        let sums = NameOfEach::read("{sum16}", OF_REFERENCES).expect_err("no sum of a reference");
        assert!(
            sums.text().contains("use {name} {part} {n};"),
            "{}",
            sums.text()
        );
    }

    #[test]
    fn a_name_that_comes_from_data_stays_in_its_folder() {
        for name in ["..", ".", "../up", "a\\b", "a\nb", "/etc/x"] {
            let said = named("out/{name}/x.bin", name).expect_err(name);
            assert!(said.contains("can't be part of a file's name"), "{said}");
        }
        assert_eq!(named("{name}", "..a").as_deref(), Ok("..a"));
    }
}
