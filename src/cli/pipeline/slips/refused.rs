//! What the parser refuses, and which of the words it means.

use clap::error::{ContextKind, ContextValue};
use clap::{Arg, Command};

use super::around::Around;
use super::vocabulary::step_called;
use crate::cli::pipeline::parsed::{CommandWords, Role, Token, by_command};
use crate::cli::pipeline::written::WordRange;
use crate::cli::steps::StepEntry;

/// Words that the parser refuses, and what it says of them.
pub struct Refused<'a> {
    /// What the parser says.
    pub error: &'a clap::Error,
    /// The words of the segment.
    pub words: &'a [&'a str],
    /// All commands.
    pub root: &'a Command,
    /// What the line belongs to.
    pub around: Around<'a>,
    /// Whether the bench is empty before them.
    pub first: bool,
    groups: Vec<CommandWords<'a>>,
}

impl<'a> Refused<'a> {
    /// These words of a segment, and what the parser says of them.
    pub fn new(
        error: &'a clap::Error,
        words: &'a [&'a str],
        root: &'a Command,
        around: Around<'a>,
        first: bool,
    ) -> Self {
        Self {
            error,
            words,
            root,
            around,
            first,
            groups: by_command(root, words),
        }
    }

    /// What the parser says of this kind.
    pub fn context(&self, kind: ContextKind) -> Vec<&'a str> {
        match self.error.get(kind) {
            Some(ContextValue::String(text)) => vec![text],
            Some(ContextValue::Strings(all)) => all.iter().map(String::as_str).collect(),
            _ => Vec::new(),
        }
    }

    /// The first thing that it says of this kind.
    pub fn says(&self, kind: ContextKind) -> Option<&'a str> {
        self.context(kind).first().copied()
    }

    /// The step or command.
    pub fn command(&self) -> Option<&'a Command> {
        self.groups.get(1).map(|group| group.command)
    }

    /// The innermost command: `split lanes`.
    pub fn innermost(&self) -> Option<&'a Command> {
        self.groups.last().map(|group| group.command)
    }

    /// Which word names the step or command.
    pub fn name(&self) -> Option<usize> {
        self.groups.get(1)?.name
    }

    /// The step.
    pub fn step(&self) -> Option<&'static StepEntry> {
        step_called(self.command()?.get_name())
    }

    /// The words, with these in place of `count` of them from this one on.
    pub fn replaced(&self, at: usize, count: usize, new: &[&str]) -> Vec<String> {
        let mut words: Vec<String> = self.words.iter().map(|w| (*w).to_owned()).collect();
        let at = at.min(words.len());
        let end = (at + count).min(words.len());
        words.splice(at..end, new.iter().map(|w| (*w).to_owned()));
        words
    }

    /// The words, with this in place of those bytes of a word.
    pub fn with_value(&self, at: &WordRange, new: &str) -> Vec<String> {
        let word = self.words.get(at.word).copied().unwrap_or_default();
        let whole = match &at.bytes {
            Some(bytes) if word.get(bytes.clone()).is_some() => {
                format!("{}{new}{}", &word[..bytes.start], &word[bytes.end..])
            }
            _ => new.to_owned(),
        };
        self.replaced(at.word, 1, &[&whole])
    }

    fn all(&self) -> impl Iterator<Item = (&CommandWords<'a>, &Token)> {
        let groups = self.groups.iter();
        groups.flat_map(|group| group.tokens.iter().map(move |token| (group, token)))
    }

    /// The first word of this role, and whether it is before the step.
    pub fn first_of(&self, role: &Role) -> Option<(WordRange, bool)> {
        let (group, token) = self.all().find(|(_, token)| token.role == *role)?;
        Some((token.at.clone(), group.name.is_none()))
    }

    /// All arguments that these words could give, the innermost command's first.
    pub fn arguments(&self) -> impl Iterator<Item = &'a Arg> {
        self.groups
            .iter()
            .rev()
            .flat_map(|group| group.command.get_arguments())
    }

    /// The argument that the parser shows so, such as `--at <ADDR>`.
    pub fn argument(&self, shown: &str) -> Option<&'a Arg> {
        self.arguments().find(|arg| arg.to_string() == shown)
    }

    /// The words of an argument's option, in order.
    pub fn options(&self, arg: &Arg) -> Vec<WordRange> {
        self.tokens(&Role::Option(arg.get_id().to_string()))
    }

    /// The words of an argument's values, in order.
    pub fn values(&self, arg: &Arg) -> Vec<WordRange> {
        self.tokens(&Role::Value(arg.get_id().to_string()))
    }

    fn tokens(&self, role: &Role) -> Vec<WordRange> {
        let tokens = self.all().filter(|(_, token)| token.role == *role);
        tokens.map(|(_, token)| token.at.clone()).collect()
    }

    /// The option of an argument that has no value after it.
    pub fn without_value(&self, arg: &Arg) -> Option<WordRange> {
        let id = arg.get_id().to_string();
        let (option, value) = (Role::Option(id.clone()), Role::Value(id));
        let mut all = self.all().map(|(_, token)| token).peekable();
        while let Some(token) = all.next() {
            if token.role == option && all.peek().is_none_or(|next| next.role != value) {
                return Some(token.at.clone());
            }
        }
        None
    }

    /// Whether an option of this name is given.
    pub fn gives(&self, long: &str) -> bool {
        self.all().any(|(group, token)| match &token.role {
            Role::Option(id) => group.argument(id).and_then(Arg::get_long) == Some(long),
            _ => false,
        })
    }

    /// What is written there.
    pub fn text(&self, at: &WordRange) -> &'a str {
        let word = self.words.get(at.word).copied().unwrap_or_default();
        match &at.bytes {
            Some(bytes) => word.get(bytes.clone()).unwrap_or(word),
            None => word,
        }
    }
}
