//! The words of a recipe, each with its place: split as a shell splits them.

use std::ops::Range;

/// A word, what quotes and escapes hide taken off, and its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// The word as a command line would have it.
    pub text: String,
    /// The places in it of each `$` that quotes or a `\\` protect: it begins no `${NAME}`.
    pub fixed: Vec<usize>,
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

/// What keeps a text from being split, as a sentence for its reader.
#[derive(Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Unsplit {
    what: &'static str,
    /// What to do.
    pub advice: &'static str,
    /// Where it is.
    pub at: LineRange,
}

/// The lines of a text, without their ends and the mark that some editors put before it.
pub fn lines(text: &str) -> impl Iterator<Item = &str> {
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
    text.lines().map(|line| line.trim_end_matches('\r'))
}

/// The words of each logical line that has any. `\\` at the end of a line continues it, in quotes too, and counts as a
/// blank; `#` before a word starts a comment, which is not continued.
///
/// A shell's rules, but for `\\` before a character that means nothing to a shell: both stay, so that `roms\\a.hex` is
/// a file in a folder. A word that begins with two of them and a letter or digit keeps both: `\\\\server\\share`.
///
/// # Errors
/// A quote that is never closed, a `\\` with nothing after it, and `\\${`, which could mean either.
pub fn split(text: &str) -> Result<Vec<Vec<Word>>, Unsplit> {
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
        let mut at = 0;
        while let Some(c) = line[at..].chars().next() {
            let here = place(at, c.len_utf8());
            at += c.len_utf8();
            let rest = &line[at..];
            let open = quote.as_ref().map(|(q, _)| *q);
            match (open, c) {
                (_, '\\') if rest.is_empty() => {
                    if i + 1 == lines.len() {
                        return Err(Unsplit {
                            what: "there is nothing after this `\\`",
                            advice: "take it away: at the end of a line it continues the line",
                            at: here,
                        });
                    }
                    continued = true;
                    match quote {
                        Some(_) => push(&mut word, ' ', &here),
                        None => words.extend(word.take()),
                    }
                    break;
                }
                (None, ' ' | '\t') => words.extend(word.take()),
                (None, '#') if word.is_none() => break,
                (None, '"' | '\'') => {
                    begin(&mut word, &here);
                    quote = Some((c, here));
                }
                (Some(open), c) if open == c => quote = None,
                (Some('\''), c) => push_fixed(&mut word, c, &here),
                (_, '\\') if rest.starts_with("${") => {
                    return Err(Unsplit {
                        what: "`\\${` could be a folder or the characters themselves",
                        advice: "put a `/` before a file in a folder, and single quotes around the characters themselves",
                        at: place(here.bytes.start, 3),
                    });
                }
                (_, '\\') if begins_network_path(&word, rest) => {
                    push(&mut word, c, &here);
                    push(&mut word, c, &here);
                    at += 1;
                }
                (open, '\\') => match rest.chars().next().filter(|n| is_escaped(open, *n)) {
                    Some(next) => {
                        push_fixed(&mut word, next, &here);
                        at += next.len_utf8();
                    }
                    None => push(&mut word, c, &here),
                },
                (_, c) => push(&mut word, c, &here),
            }
            if let Some(word) = &mut word {
                if word.at.line == i + 1 {
                    word.at.bytes.end = at;
                }
            }
        }
        if continued {
            continue;
        }
        if let Some((open, at)) = quote {
            // `"roms\"`: the last one was to be the end.
            let escapes = open == '"' && line.contains(r#"\""#);
            return Err(Unsplit {
                what: "this quote is never closed",
                advice: match escapes {
                    true => {
                        "`\\` before a quote means the quote itself: write a folder without a `\\` at its end"
                    }
                    false => "put a `\\` before it where the character itself is meant",
                },
                at,
            });
        }
        words.extend(word.take());
        if !words.is_empty() {
            out.push(std::mem::take(&mut words));
        }
    }
    Ok(out)
}

/// Whether `\\` before this character gives the character alone: where it means something to a shell.
fn is_escaped(quote: Option<char>, next: char) -> bool {
    match quote {
        None => SPECIAL.contains(next),
        Some(_) => matches!(next, '"' | '\\' | '$' | '`'),
    }
}

/// A first `\\` is read, and the rest begins with another and what can be a computer's name.
fn begins_network_path(word: &Option<Word>, rest: &str) -> bool {
    let name = rest.strip_prefix('\\').and_then(|name| name.chars().next());
    word.as_ref().is_none_or(|word| word.text.is_empty())
        && name.is_some_and(|c| c.is_alphanumeric() || matches!(c, '?' | '.'))
}

/// Characters that mean something to a shell.
const SPECIAL: &str = " \t'\"\\$`*?[](){}&;|<>#~!";

/// A word as a shell and a recipe need it.
pub fn quoted(word: &str) -> String {
    // A brace alone means nothing: only with several values, or ends of a range, in it.
    let is_special = |c: char| !matches!(c, '{' | '}') && SPECIAL.contains(c);
    let expands = word.contains('{') && (word.contains(',') || word.contains(".."));
    if !word.is_empty() && !word.contains(is_special) && !expands {
        return word.into();
    }
    match (
        word.contains('\''),
        word.contains(['"', '\\', '$', '`', '!']),
    ) {
        (false, _) => format!("'{word}'"),
        (true, false) => format!("\"{word}\""),
        // What double quotes don't protect goes into single ones, and single quotes into double ones.
        (true, true) => {
            let chunks: Vec<String> = (word.split('\''))
                .map(|chunk| match chunk {
                    "" => String::new(),
                    chunk => format!("'{chunk}'"),
                })
                .collect();
            chunks.join("\"'\"")
        }
    }
}

fn begin<'w>(word: &'w mut Option<Word>, at: &LineRange) -> &'w mut Word {
    word.get_or_insert_with(|| Word {
        text: String::new(),
        fixed: Vec::new(),
        at: at.clone(),
    })
}

fn push(word: &mut Option<Word>, c: char, at: &LineRange) {
    begin(word, at).text.push(c);
}

/// The same for a character that is protected.
fn push_fixed(word: &mut Option<Word>, c: char, at: &LineRange) {
    let word = begin(word, at);
    if c == '$' {
        word.fixed.push(word.text.len());
    }
    word.text.push(c);
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
    fn a_backslash_stays_where_a_shell_has_no_use_for_it() {
        let words = |line: &str| texts(split(line).unwrap()).remove(0);
        for (line, wanted) in [
            (r"roms\monitor.hex", r"roms\monitor.hex"),
            (r"C:\roms\new.hex", r"C:\roms\new.hex"),
            (r"..\_x\-y\.z\é", r"..\_x\-y\.z\é"),
            (r"\\server\share\a.hex", r"\\server\share\a.hex"),
            (r#""\\server\my files\a.hex""#, r"\\server\my files\a.hex"),
            (r"'\\server\my files'", r"\\server\my files"),
            (r#""C:\my files\a.hex""#, r"C:\my files\a.hex"),
            (r"Heron\ \(v2\)\ \#1\ \$5.hex", "Heron (v2) #1 $5.hex"),
            (r"a\\b", r"a\b"),
            (r"\\\\b", r"\\b"),
            (r"text:A\nB", r"text:A\nB"),
        ] {
            assert_eq!(words(line), [wanted], "{line}");
        }
    }

    #[test]
    fn a_protected_dollar_begins_no_name() {
        let fixed = |line: &str| split(line).unwrap().remove(0).remove(0).fixed;
        assert_eq!(fixed("é'${A}'${B}"), [2]);
        assert_eq!(fixed(r#"\$A"\$"${B}"#), [0, 2]);
        assert_eq!(fixed("\"${A}\""), [0; 0]);
        for line in [r"out\${A}.bin", r#""out\${A}.bin""#] {
            let unsplit = split(line).unwrap_err();
            assert_eq!(
                unsplit.to_string(),
                r"`\${` could be a folder or the characters themselves"
            );
            assert!(line[unsplit.at.bytes].starts_with(r"\${"));
        }
    }

    #[test]
    fn what_is_not_closed_is_shown_where_it_opens() {
        let open = split("load a.hex\nmark 0 'HERON").unwrap_err();
        assert_eq!(open.to_string(), "this quote is never closed");
        assert_eq!((open.at.line, open.at.bytes), (2, 7..8));
        let open = split("mark 0 \"A \\\nB\npad 4").unwrap_err();
        assert_eq!((open.at.line, open.at.bytes), (1, 7..8));
        let open = split("load a.hex \\").unwrap_err();
        assert_eq!(open.to_string(), "there is nothing after this `\\`");
        assert_eq!((open.at.line, open.at.bytes), (1, 11..12));
    }

    /// What a shell makes of the words, where there is one.
    #[cfg(unix)]
    fn of_shell(words: &str) -> Option<Vec<String>> {
        let script = format!("for w in {words}; do printf '%s\\0' \"$w\"; done");
        let out = std::process::Command::new("sh")
            .arg("-c")
            .arg(script)
            .output()
            .ok()?;
        let text = String::from_utf8(out.stdout)
            .ok()
            .filter(|_| out.status.success())?;
        Some(text.split_terminator('\0').map(str::to_owned).collect())
    }

    /// Words that mean the same to a shell: no `\\` that begins a path, nothing that a shell would replace or run.
    const SHELL_WORDS: &str = concat!(
        r#"([ab é\t]|'[ab é\t#"\\$`*?&;|<>(){}~!]{0,4}'|"([ab é\t#'*?&;|<>(){}~!]|\\[ab"$`\\]){0,4}""#,
        r#"|a\\[ \t'"\\$`*?\[\](){}&;|<>#~!]){0,12}"#
    );

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(100))]

        /// A real shell finds the same words.
        #[cfg(unix)]
        #[test]
        fn a_shell_finds_the_same_words(line in SHELL_WORDS) {
            let network_path = split(&line).iter().flatten().flatten().any(|w| w.text.starts_with(r"\\"));
            prop_assume!(!network_path && !line.contains(r"\${"));
            let ours: Vec<Word> = split(&line).unwrap().into_iter().flatten().collect();
            let ours: Vec<String> = ours.into_iter().map(|w| w.text).collect();
            if let Some(words) = of_shell(&line) {
                prop_assert_eq!(ours, words);
            }
        }

        /// A quoted word is one word and the same, for us and for a shell, and nothing in it is replaced.
        #[cfg(unix)]
        #[test]
        fn a_quoted_word_is_itself_to_a_shell(word in r#"([^\x00\r\n]|[a '"\\$#{!]){0,10}"#) {
            if let Some(words) = of_shell(&quoted(&word)) {
                prop_assert_eq!(words, vec![word]);
            }
        }
    }

    proptest! {
        /// One line, against the crate `shlex`: both refuse it, or both find the same words.
        #[test]
        fn shlex_finds_the_same_words(line in r#"([ab é\t#'"$`]|a\\[ '"\\$`#]){0,24}"#) {
            // A `\\` that begins a network path, stays in double quotes, or could be a folder, is ours alone.
            let inside = |quote: char| line.split(quote).skip(1).step_by(2).any(|part| part.contains('\\'));
            prop_assume!(!inside('"') && !inside('\''));
            let ours = split(&line).ok().map(|l| l.into_iter().flatten().map(|w| w.text).collect());
            prop_assert_eq!(ours, shlex::split(&line));
        }

        /// A quoted word is one word and the same, and nothing in it is replaced.
        #[test]
        fn a_quoted_word_is_itself(word in r#"([^\r\n]|[a é\t'"\\$#{!]){0,12}"#) {
            let words: Vec<Word> = split(&format!("x {}", quoted(&word))).unwrap().into_iter().flatten().collect();
            prop_assert_eq!(words.len(), 2);
            let dollars: Vec<usize> = word.match_indices("${").map(|(at, _)| at).collect();
            prop_assert!(dollars.iter().all(|at| words[1].fixed.contains(at)));
            prop_assert_eq!(&words[1].text, &word);
        }

        /// What is marked is what was split: split again it gives the word.
        #[test]
        fn the_marked_place_has_the_word(line in r#"([ab é\t'"\\]|\\\\|\\"){0,24}"#) {
            for word in split(&line).unwrap_or_default().into_iter().flatten() {
                let marked = &line[word.at.bytes.clone()];
                let again: Vec<String> = split(marked).unwrap().into_iter().flatten().map(|w| w.text).collect();
                prop_assert_eq!(again, vec![word.text]);
            }
        }
    }
}
