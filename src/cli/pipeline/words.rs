//! The words of a recipe, each with where it stands: split as a shell splits them.

use std::ops::Range;

/// A word, what quotes and escapes hide taken off, and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// The word as a command line would have it.
    pub text: String,
    /// Where it is written.
    pub at: LineRange,
}

/// A place in a text: bytes of one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineRange {
    /// The line, counted from 1.
    pub line: usize,
    /// The bytes of this line, without its end.
    pub bytes: Range<usize>,
}

/// Something that is opened and not closed.
#[derive(Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Open {
    /// In words.
    what: &'static str,
    /// Where it is opened.
    pub at: LineRange,
}

/// The lines of a text, without their ends and the mark that some editors put in front of it.
pub fn lines(text: &str) -> impl Iterator<Item = &str> {
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
    text.lines().map(|line| line.trim_end_matches('\r'))
}

/// The words of each logical line that has any. `\` at the end of a line continues it, in quotes too, and counts as a
/// blank; `#` in front of a word starts a comment, which is not continued.
///
/// # Errors
/// [`Open`] for a quote that is never closed, and for a `\` with nothing behind it.
pub fn split(text: &str) -> Result<Vec<Vec<Word>>, Open> {
    let lines: Vec<&str> = lines(text).collect();
    let mut out = Vec::new();
    let mut words = Vec::new();
    let mut word: Option<Word> = None;
    let mut quote: Option<(char, LineRange)> = None;
    for (i, line) in lines.iter().enumerate() {
        let place = |from: usize, len: usize| LineRange {
            line: i + 1,
            bytes: from..from + len,
        };
        let mut continued = false;
        let mut chars = line.char_indices().peekable();
        while let Some((at, c)) = chars.next() {
            let behind = at + c.len_utf8();
            let next = chars.peek().map(|(_, c)| *c);
            if c == '\\' && next.is_none() {
                if i + 1 == lines.len() {
                    let what = "there is nothing behind this `\\`";
                    let at = place(at, 1);
                    return Err(Open { what, at });
                }
                continued = true;
                match quote {
                    Some(_) => push(&mut word, ' ', &place(at, 1)),
                    None => words.extend(word.take()),
                }
                break;
            }
            match (quote.as_ref().map(|(q, _)| *q), c) {
                (None, ' ' | '\t') => words.extend(word.take()),
                (None, '#') if word.is_none() => break,
                (None, '"' | '\'') => {
                    quote = Some((c, place(at, 1)));
                    begin(&mut word, &place(at, 1));
                }
                (Some(open), c) if open == c => quote = None,
                (None, '\\') => {
                    chars.next();
                    push(&mut word, next.unwrap_or(c), &place(at, 1));
                }
                (Some('"'), '\\') if matches!(next, Some('$' | '`' | '"' | '\\')) => {
                    chars.next();
                    push(&mut word, next.unwrap_or(c), &place(at, 1));
                }
                (Some('"'), '\\') => {
                    // Any other pair stays as it is, so that its second half closes nothing.
                    chars.next();
                    push(&mut word, '\\', &place(at, 1));
                    push(&mut word, next.unwrap_or(c), &place(at, 1));
                }
                (_, c) => push(&mut word, c, &place(at, 1)),
            }
            if let Some(word) = &mut word {
                if word.at.line == i + 1 {
                    let end = chars.peek().map_or(line.len(), |(at, _)| *at);
                    word.at.bytes.end = end.max(behind);
                }
            }
        }
        if continued {
            continue;
        }
        if let Some((_, at)) = quote {
            let what = "this quote is never closed";
            return Err(Open { what, at });
        }
        words.extend(word.take());
        if !words.is_empty() {
            out.push(std::mem::take(&mut words));
        }
    }
    Ok(out)
}

/// A word as a shell and a recipe need it.
pub fn quoted(word: &str) -> String {
    let special = |c: char| " \t'\"\\$`*?[]()&;|<>#~!".contains(c);
    match (
        word.is_empty() || word.contains(special),
        word.contains('\''),
    ) {
        (false, _) => word.into(),
        (true, false) => format!("'{word}'"),
        (true, true) => {
            let escaped = word.replace('\\', "\\\\").replace('"', "\\\"");
            format!("\"{}\"", escaped.replace('$', "\\$").replace('`', "\\`"))
        }
    }
}

fn begin<'w>(word: &'w mut Option<Word>, at: &LineRange) -> &'w mut Word {
    word.get_or_insert_with(|| Word {
        text: String::new(),
        at: at.clone(),
    })
}

fn push(word: &mut Option<Word>, c: char, at: &LineRange) {
    begin(word, at).text.push(c);
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn texts(lines: Vec<Vec<Word>>) -> Vec<Vec<String>> {
        let texts = |line: Vec<Word>| line.into_iter().map(|w| w.text).collect();
        lines.into_iter().map(texts).collect()
    }

    #[test]
    fn lines_are_split_as_a_shell_splits_them() {
        let text = "\u{FEFF}# comment \\\nload 'a b.hex' \\\n  c.hex # more \\\r\n\nmark 0 \"HE\\\"RON\"\nx\\\\\n---\n";
        assert_eq!(
            texts(split(text).unwrap()),
            [
                vec!["load", "a b.hex", "c.hex"],
                vec!["mark", "0", "HE\"RON"],
                vec!["x\\"],
                vec!["---"],
            ]
        );
    }

    #[test]
    fn every_word_knows_where_it_stands() {
        let text = "load 'a b'.hex \\\r\n  né\\ e --at=\"0\"\n";
        let lines: Vec<&str> = lines(text).collect();
        let words = split(text).unwrap().remove(0);
        let shown: Vec<_> = (words.iter())
            .map(|w| (w.at.line, &lines[w.at.line - 1][w.at.bytes.clone()]))
            .collect();
        let wanted = [
            (1, "load"),
            (1, "'a b'.hex"),
            (2, "né\\ e"),
            (2, "--at=\"0\""),
        ];
        assert_eq!(shown, wanted);
    }

    #[test]
    fn what_is_not_closed_is_shown_where_it_opens() {
        let open = split("load a.hex\nmark 0 'HERON").unwrap_err();
        assert_eq!(open.to_string(), "this quote is never closed");
        assert_eq!((open.at.line, open.at.bytes), (2, 7..8));
        let open = split("mark 0 \"A \\\nB\npad 4").unwrap_err();
        assert_eq!((open.at.line, open.at.bytes), (1, 7..8));
        let open = split("load a.hex \\").unwrap_err();
        assert_eq!(open.to_string(), "there is nothing behind this `\\`");
        assert_eq!((open.at.line, open.at.bytes), (1, 11..12));
    }

    proptest! {
        /// One line, against the crate `shlex`: both refuse it, or both find the same words.
        #[test]
        fn shlex_finds_the_same_words(line in r#"([ab é\t#'"\\$`]|\\\\|\\"){0,24}"#) {
            // A carriage return at the end is part of the line's end here.
            let ours = split(&line).ok().map(|l| l.into_iter().flatten().map(|w| w.text).collect());
            prop_assert_eq!(ours, shlex::split(&line));
        }

        /// A quoted word is one word, and the same.
        #[test]
        fn a_quoted_word_is_itself(word in r#"[a é\t'"\\$#]{0,12}"#) {
            prop_assert_eq!(shlex::split(&quoted(&word)), Some(vec![word]));
        }

        /// What is marked is what was split: split again it gives the word.
        #[test]
        fn the_marked_place_holds_the_word(line in r#"([ab é\t'"\\]|\\\\|\\"){0,24}"#) {
            for word in split(&line).unwrap_or_default().into_iter().flatten() {
                let marked = &line[word.at.bytes.clone()];
                prop_assert_eq!(shlex::split(marked), Some(vec![word.text]));
            }
        }
    }
}
