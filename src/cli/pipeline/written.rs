//! How the steps are written: on the command line or in a recipe, with the place of every word.

use std::ffi::OsString;
use std::ops::Range;
use std::rc::Rc;

use super::say::LaidOut;
use super::words::{LineRange, Word, lines, quoted};
use crate::cli::bench::on_errors;
use crate::cli::report;

/// The text that steps are written in: a recipe, or the command line with one step a line.
#[derive(Debug)]
pub struct Script {
    /// The recipe's file, for messages; none for the command line.
    file: Option<String>,
    lines: Vec<String>,
}

/// How one step is written, and where.
#[derive(Clone, Debug)]
pub struct Wording {
    script: Rc<Script>,
    words: Vec<Word>,
}

/// A word of a step, or a part of one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WordRange {
    /// Which word, counted from 0.
    pub word: usize,
    /// Its bytes that are meant; none for all of them.
    pub bytes: Option<Range<usize>>,
}

impl WordRange {
    /// All of a word.
    pub fn whole(word: usize) -> Self {
        Self { word, bytes: None }
    }
}

impl Script {
    /// A recipe's text.
    pub fn recipe(file: &str, text: &str) -> Self {
        Self {
            file: Some(file.into()),
            lines: lines(text).map(str::to_owned).collect(),
        }
    }

    /// The recipe's file; none for the command line.
    pub fn file(&self) -> Option<&str> {
        self.file.as_deref()
    }

    /// An error with the line it is about, a caret under the place and advice, one paragraph each.
    pub fn pointed(&self, at: &LineRange, title: &str, advice: &[&str]) -> LaidOut {
        let line = self.lines.get(at.line - 1).map_or("", String::as_str);
        LaidOut(report::pointed(
            self.file(),
            (at.line as u64, line),
            at.bytes.clone(),
            title,
            advice,
            on_errors(),
        ))
    }
}

impl Wording {
    /// Words of a recipe.
    pub fn of(script: &Rc<Script>, words: Vec<Word>) -> Self {
        Self {
            script: script.clone(),
            words,
        }
    }

    /// The steps of a command line, quoted as a shell needs it.
    pub fn typed(steps: &[Vec<OsString>]) -> Vec<Self> {
        let mut lines = Vec::new();
        let mut all = Vec::new();
        for words in steps {
            let mut line = String::new();
            let mut placed = Vec::new();
            for word in words {
                if !line.is_empty() {
                    line.push(' ');
                }
                let text = word.to_string_lossy().into_owned();
                let from = line.len();
                line += &quoted(&text);
                let at = LineRange {
                    line: lines.len() + 1,
                    bytes: from..line.len(),
                };
                let fixed = Vec::new();
                placed.push(Word { text, fixed, at });
            }
            lines.push(line);
            all.push(placed);
        }
        let script = Rc::new(Script { file: None, lines });
        all.into_iter().map(|w| Self::of(&script, w)).collect()
    }

    /// The words, the first one the step's name.
    pub fn texts(&self) -> Vec<&str> {
        self.words.iter().map(|w| w.text.as_str()).collect()
    }

    /// The same without the words before this one.
    pub fn behind(mut self, first: usize) -> Self {
        self.words.drain(..first.min(self.words.len()));
        self
    }

    /// The recipe's file; none for a step on the command line.
    pub fn recipe(&self) -> Option<&str> {
        self.script.file()
    }

    /// The line of the recipe that the step begins on, counted from 1; none for a step on the command line.
    pub fn line(&self) -> Option<usize> {
        self.recipe().map(|_| self.first_line())
    }

    fn first_line(&self) -> usize {
        self.words.first().map_or(1, |word| word.at.line)
    }

    /// A text with where the step is written, in a recipe: `board.loom line 7: pad`.
    pub fn placed(&self, text: &str) -> String {
        match self.recipe() {
            Some(file) => format!("{file} line {}: {text}", self.first_line()),
            None => text.into(),
        }
    }

    /// An error at one of the words, or at the step's name.
    pub fn pointed(&self, at: Option<&WordRange>, title: &str, advice: &[&str]) -> LaidOut {
        let step = WordRange::whole(0);
        let at = at.filter(|at| at.word < self.words.len()).unwrap_or(&step);
        match self.words.get(at.word) {
            Some(word) => {
                let place = self.place(word, at.bytes.clone());
                self.script.pointed(&place, title, advice)
            }
            None => LaidOut(on_errors().fitted(&format!("error: {title}\n"))),
        }
    }

    /// Where a word, or these bytes of it, are written.
    fn place(&self, word: &Word, bytes: Option<Range<usize>>) -> LineRange {
        let LineRange { line, bytes: all } = word.at.clone();
        let shown = self
            .script
            .lines
            .get(line - 1)
            .and_then(|l| l.get(all.clone()));
        let bytes = match bytes {
            // Quotes, escapes and values put in hide which bytes of the line these are.
            Some(part) if shown == Some(word.text.as_str()) => {
                all.start + part.start..all.start + part.end
            }
            _ => all,
        };
        LineRange { line, bytes }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(line: &str) -> Vec<Wording> {
        let words = shlex::split(line).unwrap();
        let words: Vec<OsString> = words.into_iter().map(OsString::from).collect();
        let steps: Vec<Vec<OsString>> = words.split(|w| w == "+").map(<[_]>::to_vec).collect();
        Wording::typed(&steps)
    }

    fn marked(wording: &Wording, at: WordRange) -> String {
        let place = wording.place(&wording.words[at.word], at.bytes);
        wording.script.lines[place.line - 1][place.bytes].to_owned()
    }

    #[test]
    fn a_part_of_a_word_is_marked_where_no_quotes_hide_it() {
        let steps = typed("load 'a b.hex' + split lanes 2 --names=even,odd --on 'x,y z'");
        let part = |word, bytes| WordRange {
            word,
            bytes: Some(bytes),
        };
        assert_eq!(marked(&steps[0], WordRange::whole(1)), "'a b.hex'");
        assert_eq!(marked(&steps[1], part(3, 13..16)), "odd");
        assert_eq!(marked(&steps[1], part(5, 2..5)), "'x,y z'");
    }

    #[test]
    fn only_a_recipe_has_lines() {
        let script = Rc::new(Script::recipe("r.loom", "\npad 4\n"));
        let words = super::super::words::split("\npad 4\n").unwrap().remove(0);
        let wording = Wording::of(&script, words);
        assert_eq!(wording.line(), Some(2));
        assert_eq!(wording.placed("pad"), "r.loom line 2: pad");
        let typed = typed("pad 4").remove(0);
        assert_eq!(typed.line(), None);
        assert_eq!(typed.placed("pad"), "pad");
    }
}
