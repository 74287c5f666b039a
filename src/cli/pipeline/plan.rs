//! Steps that are parsed and wait to run, each with where it is written.

use std::ffi::OsString;
use std::rc::Rc;

use anyhow::anyhow;

use super::say::LaidOut;
use super::words::{self, Spot, Word};
use crate::cli::report::{self, Style};
use crate::cli::steps::Planned;

/// A parsed step and its name.
pub struct Step {
    /// The word that names it.
    pub name: &'static str,
    /// The step with its arguments.
    pub planned: Box<dyn Planned>,
}

/// The steps of one pipeline.
#[derive(Default)]
pub struct Plan {
    /// In order, each with how it is written.
    pub steps: Vec<(Step, Origin)>,
}

/// A recipe as it was read.
#[derive(Debug)]
pub struct Recipe {
    /// Its file, for messages.
    pub file: String,
    /// Its text.
    pub text: String,
}

/// How a step is written, and where.
#[derive(Clone, Debug)]
pub struct Origin {
    /// The recipe; none for a step on the command line.
    pub recipe: Option<Rc<Recipe>>,
    /// The words of the step, the first one its name.
    pub words: Vec<Word>,
}

impl Recipe {
    /// An error with the line it is about, a caret under the place and advice, one paragraph each.
    pub fn pointed(&self, at: &Spot, title: &str, advice: &[&str]) -> LaidOut {
        let line = words::lines(&self.text).nth(at.line - 1).unwrap_or("");
        LaidOut(report::pointed(
            &self.file,
            (at.line as u64, line),
            at.bytes.clone(),
            title,
            advice,
            Style::COLOUR,
        ))
    }
}

impl Origin {
    /// The line the step begins on, counted from 1.
    pub fn line(&self) -> usize {
        self.words.first().map_or(1, |word| word.at.line)
    }

    /// A text with where the step is written, in a recipe: `board.loom line 7: pad`.
    pub fn placed(&self, text: &str) -> String {
        match &self.recipe {
            Some(recipe) => format!("{} line {}: {text}", recipe.file, self.line()),
            None => text.into(),
        }
    }

    /// Words of the command line.
    pub fn typed(words: &[OsString]) -> Self {
        let at = Spot {
            line: 1,
            bytes: 0..0,
        };
        let word = |w: &OsString| Word {
            text: w.to_string_lossy().into_owned(),
            at: at.clone(),
        };
        Self {
            recipe: None,
            words: words.iter().map(word).collect(),
        }
    }

    /// An error at the word that it is about. The first paragraph of `text` is the title, further ones are advice.
    pub fn error(&self, text: &str) -> anyhow::Error {
        let mut parts = text.split("\n\n").map(str::trim_end);
        let title = parts.next().unwrap_or_default();
        let advice: Vec<&str> = parts.filter(|p| !p.is_empty()).collect();
        match (&self.recipe, meant(title, &self.words)) {
            (Some(recipe), Some(word)) => recipe.pointed(&word.at, title, &advice).into(),
            _ => {
                let advice = advice.iter().map(|a| format!("\n  {a}"));
                anyhow!(title.to_owned() + &advice.collect::<String>())
            }
        }
    }
}

/// The word that an error is about: the first one that it quotes, else the first of its words, else the step's name.
fn meant<'w>(text: &str, words: &'w [Word]) -> Option<&'w Word> {
    let arguments = words.get(1..).unwrap_or_default();
    let named = |token: &str| {
        let whole = arguments.iter().find(|w| w.text == token);
        let token = token.split([' ', '=']).next().unwrap_or(token);
        whole.filter(|_| !token.is_empty()).or_else(|| {
            let option = format!("{token}=");
            let value = format!("={token}");
            let is = |w: &&Word| w.text.starts_with(&option) || w.text.ends_with(&value);
            let part = arguments.iter().find(is);
            part.filter(|_| !token.is_empty())
        })
    };
    let quoted = |mark: char| text.split(mark).skip(1).step_by(2);
    let mut bare = text.split([' ', ':', ',', '(', ')', ';', '`', '\'']);
    let options = bare.clone().filter(|token| token.starts_with("--"));
    quoted('`')
        .chain(quoted('\''))
        .chain(options)
        .find_map(named)
        .or_else(|| bare.find_map(named))
        .or(words.first())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_word_that_is_quoted_is_meant() {
        let words = words::split("pad 27C265 --at=0x8000 --with 'A B' out.bin").unwrap();
        for (text, wanted) in [
            ("pad: `27C265` is no part of the table", "27C265"),
            (
                "invalid value 'A B' for '--with <BYTE>': `A` has no partner",
                "A B",
            ),
            ("unexpected argument '--at' found", "--at=0x8000"),
            ("`0x8000` is odd", "--at=0x8000"),
            ("0x8000 is odd", "--at=0x8000"),
            ("--at is no option of `pad`", "--at=0x8000"),
            ("write: out.bin: no such folder", "out.bin"),
            ("--with wants one byte", "--with"),
            ("the bench is empty", "pad"),
        ] {
            assert_eq!(meant(text, &words[0]).unwrap().text, wanted, "{text}");
        }
    }
}
