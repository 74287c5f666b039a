//! Board files: the description of a board as TOML.

use std::fmt;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fault::BoardFault;
use super::hardware::Board;
use super::spec::{Level, SocketsSpec, SwitchedPin, WindowSpec, Wire};
use crate::image::AddressRange;
use crate::parts::Catalogue;
use crate::prose::{nearest, plural, shown, thousands};
use crate::sums::Order;
use crate::values;

/// A longer text, in bytes, is not a board.
const LARGEST: usize = 4 << 20;

/// The words that each table of a board file has.
const BOARD_KEYS: &[&str] = &["title", "sockets", "part"];
const SOCKETS_KEYS: &[&str] = &[
    "names", "part", "lanes", "order", "with", "except", "note", "space", "tied", "wires",
    "window", "at", "size", "from", "banks", "switch", "by", "mirrored",
];
const WINDOW_KEYS: &[&str] = &[
    "at", "size", "from", "banks", "switch", "by", "tied", "mirrored", "space", "except",
];

/// A board file that can't be used.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}:{column}: {problem}")]
pub struct BoardFileError {
    /// The file, as it was named.
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
    /// The column, counted from 1, in characters.
    pub column: usize,
    /// The bytes of the text that it is about.
    pub span: Range<usize>,
    /// What is wrong there.
    pub problem: Box<FileProblem>,
}

crate::prose::debug_as_display!(BoardFileError);

/// What is wrong with a board file.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum FileProblem {
    /// It is larger than any board.
    TooLarge {
        /// Its size in bytes.
        bytes: usize,
    },
    /// It is not TOML.
    NotToml(String),
    /// A key that does not exist.
    UnknownKey {
        /// The key.
        key: String,
        /// The table that it is in.
        table: &'static str,
        /// The keys that it may be, best first; may be empty.
        nearest: Vec<String>,
    },
    /// A key that must be there.
    Missing {
        /// The key.
        key: &'static str,
        /// The table that lacks it.
        table: &'static str,
    },
    /// A value of a kind that the key does not take.
    Expected {
        /// The key.
        key: String,
        /// What was expected.
        expected: &'static str,
        /// What was found.
        found: String,
    },
    /// A value that can't be read.
    Value {
        /// The key.
        key: String,
        /// What is wrong with it.
        problem: String,
    },
    /// Both a window and the words of one.
    TwoWays {
        /// The key that belongs into the window.
        key: &'static str,
    },
    /// A part that is not in the table.
    Part(crate::parts::UnknownPart),
    /// A part that the file describes and that can't be used.
    OwnPart(String),
    /// The board that is described can't be built.
    Board(BoardFault),
}

impl fmt::Display for FileProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FileProblem::TooLarge { bytes } => {
                write!(
                    f,
                    "the file has {}, but a board file at most {}",
                    plural(*bytes as u64, "byte"),
                    thousands(LARGEST as u64)
                )
            }
            FileProblem::NotToml(problem) | FileProblem::OwnPart(problem) => f.write_str(problem),
            FileProblem::UnknownKey {
                key,
                table,
                nearest,
            } => {
                write!(f, "`{}` is not a key of {table}", shown(key))?;
                match nearest.first() {
                    Some(nearest) => write!(f, "; nearest: {nearest}"),
                    None => Ok(()),
                }
            }
            FileProblem::Missing { key, table } => write!(f, "{table} has no `{key}`"),
            FileProblem::Expected {
                key,
                expected,
                found,
            } => write!(f, "`{key}` must be {expected}, not {found}"),
            FileProblem::Value { key, problem } => write!(f, "`{key}`: {problem}"),
            FileProblem::TwoWays { key } => write!(
                f,
                "`{key}` belongs to a window, and these sockets list their windows separately"
            ),
            FileProblem::Part(error) => error.fmt(f),
            FileProblem::Board(fault) => fault.fmt(f),
        }
    }
}

/// A problem and the bytes it is about.
type Problem = (Range<usize>, FileProblem);

/// A table of the file.
struct Table<'t, 'i> {
    of: &'static str,
    span: Range<usize>,
    map: &'t DeTable<'i>,
}

impl Board {
    /// The board that a TOML text describes. `file` is its name for messages; parts are looked up in `parts`, to which the
    /// text's own `[[part]]` rows are added.
    ///
    /// ```
    /// use romloom::board::Board;
    /// use romloom::parts::Catalogue;
    ///
    /// let text = "\
    /// title = \"Heron-8\"
    /// [[sockets]]
    /// names = [\"U7\"]
    /// part = \"27C256\"
    /// at = 0x8000
    /// ";
    /// let board = Board::from_toml("heron-8.board", text, &mut Catalogue::built_in())?;
    /// assert_eq!(board.title(), "Heron-8");
    /// assert!(board.socket("u7").is_some());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`BoardFileError`], which names the line, the key, what was found and what was expected.
    pub fn from_toml(
        file: &str,
        text: &str,
        parts: &mut Catalogue,
    ) -> Result<Board, BoardFileError> {
        read(file, text, parts).map_err(|(span, problem)| {
            let mut starts = (0..=span.start.min(text.len())).rev();
            let start = starts.find(|at| text.is_char_boundary(*at)).unwrap_or(0);
            let before = &text[..start];
            let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
            BoardFileError {
                file: file.to_owned(),
                line: before.matches('\n').count() + 1,
                column: before[line_start..].chars().count() + 1,
                span,
                problem: Box::new(problem),
            }
        })
    }
}

fn read(file: &str, text: &str, parts: &mut Catalogue) -> Result<Board, Problem> {
    if text.len() > LARGEST {
        let bytes = text.len();
        return Err((0..0, FileProblem::TooLarge { bytes }));
    }
    let parsed = DeTable::parse(text).map_err(|error| {
        let problem = error.message().trim_end().replace('\n', "; ");
        (error.span().unwrap_or(0..0), FileProblem::NotToml(problem))
    })?;
    let top = Table {
        of: "a board",
        span: 0..0,
        map: parsed.get_ref(),
    };
    top.check_keys(BOARD_KEYS)?;
    parts.add_own_of_board(file, text).map_err(|error| {
        let mut lines = text.split_inclusive('\n').take(error.line - 1);
        let start = lines.try_fold(0usize, |at, line| at.checked_add(line.len()));
        let start = start.unwrap_or(0);
        let own = text[start..].char_indices().nth(error.column - 1);
        let at = start + own.map_or(0, |(at, _)| at);
        (at..at, FileProblem::OwnPart(error.message))
    })?;
    let title = top.text("title")?.map(|(_, title)| title);
    let mut specs = Vec::new();
    let mut spans: Vec<SpansOf> = Vec::new();
    for table in top.tables("sockets", "`[[sockets]]`")? {
        let (spec, span) = sockets(&table, parts)?;
        specs.push(spec);
        spans.push(span);
    }
    if specs.is_empty() {
        return Err((text.len()..text.len(), top.missing("sockets").1));
    }
    Board::new(title.unwrap_or_default(), specs).map_err(|fault| {
        let span = spans.get(fault.sockets).map(|own| own.of(&fault));
        (span.unwrap_or(0..0), FileProblem::Board(fault))
    })
}

/// Where the keys of one description are in the text.
struct SpansOf {
    table: Range<usize>,
    keys: Keys,
    windows: Vec<(Range<usize>, Keys)>,
}

/// The values of a table, each with its key.
type Keys = Vec<(String, Range<usize>)>;

/// The pins of a table such as `{ A13 = 1 }`, each with its place and its value.
type PinTable<'t, 'i> = Vec<(Range<usize>, String, &'t Spanned<DeValue<'i>>)>;

impl SpansOf {
    /// The place of the key that a fault is about; of the window or the table, where the key is not there.
    fn of(&self, fault: &BoardFault) -> Range<usize> {
        let key = fault.key.to_string();
        let named = |keys: &[(String, Range<usize>)]| {
            let mut keys = keys.iter();
            keys.find(|(name, _)| *name == key)
                .map(|(_, span)| span.clone())
        };
        let window = fault.window.and_then(|window| self.windows.get(window));
        let in_window = window.and_then(|(_, keys)| named(keys));
        let whole = window.map(|(span, _)| span.clone());
        in_window
            .or_else(|| named(&self.keys))
            .or(whole)
            .unwrap_or(self.table.clone())
    }
}

fn sockets(table: &Table, parts: &Catalogue) -> Result<(SocketsSpec, SpansOf), Problem> {
    table.check_keys(SOCKETS_KEYS)?;
    let (span, part) = table.text("part")?.ok_or_else(|| table.missing("part"))?;
    let part = parts
        .find(&part)
        .map_err(|error| (span, FileProblem::Part(error)))?;
    let names = table.names()?;
    let mut spec = SocketsSpec::new(part.clone(), names);
    if let Some((span, lanes)) = table.number("lanes")? {
        spec.lanes = u32::try_from(lanes).map_err(|_| {
            let problem = format!("{lanes} lanes are more than any bus has");
            (span, value("lanes", problem))
        })?;
    }
    if let Some((span, order)) = table.text("order")? {
        spec.order = Some(match order.as_str() {
            "little" => Order::Little,
            "big" => Order::Big,
            _ => {
                return Err((
                    span,
                    table.expected("order", "\"little\" or \"big\"", &order),
                ));
            }
        });
    }
    if let Some((span, with)) = table.number("with")? {
        spec.with = Some(u8::try_from(with).map_err(|_| {
            let problem = format!("{with} does not fit in a byte");
            (span, value("with", problem))
        })?);
    }
    if let Some((_, space)) = table.text("space")? {
        spec.space = space;
    }
    if let Some((_, note)) = table.text("note")? {
        spec.note = note;
    }
    spec.except = table.ranges("except")?;
    spec.tied = table.levels("tied")?;
    spec.wires = table.wires()?;
    let mut spans = SpansOf {
        table: table.span.clone(),
        keys: table.spans(),
        windows: Vec::new(),
    };
    let windows = table.tables("window", "a window")?;
    if windows.is_empty() {
        // The keys of a window among those of the sockets: it is the only one.
        if table.get("at").is_some() {
            spec.windows.push(window(table, false)?);
        }
        return Ok((spec, spans));
    }
    for key in ["at", "size", "from", "banks", "switch", "by", "mirrored"] {
        if let Some((span, _)) = table.get(key) {
            return Err((span, FileProblem::TwoWays { key }));
        }
    }
    for own in windows {
        own.check_keys(WINDOW_KEYS)?;
        spans.windows.push((own.span.clone(), own.spans()));
        spec.windows.push(window(&own, true)?);
    }
    Ok((spec, spans))
}

/// The keys of a window; `own` when they have a table of their own, which may have pins and name a bus too.
fn window(table: &Table, own: bool) -> Result<WindowSpec, Problem> {
    let (_, at) = table.number("at")?.ok_or_else(|| table.missing("at"))?;
    let (tied, space, except) = match own {
        true => (
            table.levels("tied")?,
            table.text("space")?.map(|(_, space)| space),
            table.ranges("except")?,
        ),
        false => Default::default(),
    };
    Ok(WindowSpec {
        at,
        size: table.number("size")?.map(|(_, size)| size),
        from: table.number("from")?.map(|(_, from)| from),
        banks: table.banks()?,
        switch: table.switch()?,
        by: table.text("by")?.map(|(_, by)| by).unwrap_or_default(),
        tied,
        mirrored: table.truth("mirrored")?,
        space,
        except,
    })
}

fn value(key: &str, problem: String) -> FileProblem {
    FileProblem::Value {
        key: key.to_owned(),
        problem,
    }
}

/// `A12`, with `/` before it for the complement where that is allowed.
fn pin(text: &str) -> Option<(char, u8, bool)> {
    let (inverted, name) = match text.strip_prefix('/') {
        Some(name) => (true, name),
        None => (false, text),
    };
    let letter = name.chars().next()?.to_ascii_uppercase();
    let number = name.get(1..)?;
    let plain = !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit());
    let number = number.parse().ok().filter(|_| plain)?;
    matches!(letter, 'A' | 'D').then_some((letter, number, inverted))
}

impl<'t, 'i> Table<'t, 'i> {
    fn get(&self, key: &str) -> Option<(Range<usize>, &'t DeValue<'i>)> {
        let value = self.map.get(key)?;
        Some((value.span(), value.get_ref()))
    }

    fn spans(&self) -> Keys {
        let keys = self.map.iter();
        keys.map(|(key, value)| (key.get_ref().to_string(), value.span()))
            .collect()
    }

    fn check_keys(&self, known: &[&'static str]) -> Result<(), Problem> {
        for key in self.map.keys() {
            let name = key.get_ref();
            if !known.contains(&name.as_ref()) {
                let nearest = nearest(name, known.iter().copied());
                let problem = FileProblem::UnknownKey {
                    key: name.to_string(),
                    table: self.of,
                    nearest: nearest.into_iter().map(String::from).collect(),
                };
                return Err((key.span(), problem));
            }
        }
        Ok(())
    }

    fn missing(&self, key: &'static str) -> Problem {
        let table = self.of;
        (self.span.clone(), FileProblem::Missing { key, table })
    }

    fn expected(&self, key: &str, expected: &'static str, found: &str) -> FileProblem {
        FileProblem::Expected {
            key: key.to_owned(),
            expected,
            found: format!("\"{}\"", shown(found)),
        }
    }

    fn other_kind(
        &self,
        key: &str,
        expected: &'static str,
        (span, found): (Range<usize>, &DeValue),
    ) -> Problem {
        let problem = FileProblem::Expected {
            key: key.to_owned(),
            expected,
            found: match found {
                DeValue::String(text) => format!("\"{}\"", shown(text)),
                DeValue::Integer(number) => number.to_string(),
                DeValue::Float(_) => "a number with a fraction".into(),
                DeValue::Boolean(truth) => truth.to_string(),
                DeValue::Datetime(_) => "a date".into(),
                DeValue::Array(_) => "a list".into(),
                DeValue::Table(_) => "a table".into(),
            },
        };
        (span, problem)
    }

    fn text(&self, key: &str) -> Result<Option<(Range<usize>, String)>, Problem> {
        match self.get(key) {
            None => Ok(None),
            Some((span, DeValue::String(text))) => Ok(Some((span, text.to_string()))),
            Some(other) => Err(self.other_kind(key, "a text in quotes", other)),
        }
    }

    fn truth(&self, key: &str) -> Result<bool, Problem> {
        match self.get(key) {
            None => Ok(false),
            Some((_, DeValue::Boolean(truth))) => Ok(*truth),
            Some(other) => Err(self.other_kind(key, "true or false", other)),
        }
    }

    /// A number, or one in quotes with a unit, such as "8K".
    fn number(&self, key: &str) -> Result<Option<(Range<usize>, u64)>, Problem> {
        let expected = "a number, or one with a unit in quotes such as \"8K\"";
        match self.get(key) {
            None => Ok(None),
            Some((span, DeValue::Integer(number))) => {
                let parsed = u64::from_str_radix(number.as_str(), number.radix());
                match parsed {
                    Ok(number) => Ok(Some((span, number))),
                    Err(_) => {
                        let problem = format!("{number} is not a number from 0 to 2^64 - 1");
                        Err((span, value(key, problem)))
                    }
                }
            }
            Some((span, DeValue::String(text))) => match values::size(text) {
                Ok(number) => Ok(Some((span, number))),
                Err(bad) => Err((span, value(key, bad.to_string()))),
            },
            Some(other) => Err(self.other_kind(key, expected, other)),
        }
    }

    fn list(&self, key: &str) -> Result<Vec<(Range<usize>, String)>, Problem> {
        let texts = "a text in quotes, or a list of them";
        match self.get(key) {
            None => Ok(Vec::new()),
            Some((span, DeValue::String(text))) => Ok(vec![(span, text.to_string())]),
            Some((_, DeValue::Array(items))) => {
                let mut out = Vec::new();
                for item in items {
                    match item.get_ref() {
                        DeValue::String(text) => out.push((item.span(), text.to_string())),
                        other => return Err(self.other_kind(key, texts, (item.span(), other))),
                    }
                }
                Ok(out)
            }
            Some(other) => Err(self.other_kind(key, texts, other)),
        }
    }

    fn names(&self) -> Result<Vec<String>, Problem> {
        if self.get("names").is_none() {
            return Err(self.missing("names"));
        }
        let names = self.list("names")?;
        Ok(names.into_iter().map(|(_, name)| name).collect())
    }

    fn ranges(&self, key: &str) -> Result<Vec<AddressRange>, Problem> {
        let ranges = self.list(key)?.into_iter();
        ranges
            .map(|(span, text)| {
                values::range(&text).map_err(|bad| (span, value(key, bad.to_string())))
            })
            .collect()
    }

    /// Tables in double brackets, or a list of tables in one line.
    fn tables(&self, key: &'static str, of: &'static str) -> Result<Vec<Table<'t, 'i>>, Problem> {
        let expected = "a list of tables";
        match self.get(key) {
            None => Ok(Vec::new()),
            Some((_, DeValue::Array(items))) => {
                let mut out = Vec::new();
                for item in items {
                    match item.get_ref() {
                        DeValue::Table(map) => out.push(Table {
                            of,
                            span: item.span(),
                            map,
                        }),
                        other => return Err(self.other_kind(key, expected, (item.span(), other))),
                    }
                }
                Ok(out)
            }
            Some(other) => Err(self.other_kind(key, expected, other)),
        }
    }

    /// `banks = 32` are positions 0 to 31, `"2"` is one, `"32-63"` are several.
    fn banks(&self) -> Result<Option<(u64, u64)>, Problem> {
        let expected = "how many there are, or positions in quotes such as \"2\" or \"32-63\"";
        match self.get("banks") {
            None => Ok(None),
            Some((span, DeValue::Integer(number))) => {
                let count = u64::from_str_radix(number.as_str(), number.radix());
                match count {
                    Ok(count) if count > 0 => Ok(Some((0, count - 1))),
                    _ => {
                        let problem = format!("{number} is not a number of banks");
                        Err((span, value("banks", problem)))
                    }
                }
            }
            Some((span, DeValue::String(text))) => {
                let (first, last) = text.split_once('-').unwrap_or((text, text));
                match (values::number(first.trim()), values::number(last.trim())) {
                    (Ok(first), Ok(last)) => Ok(Some((first, last))),
                    (Err(bad), _) | (_, Err(bad)) => Err((span, value("banks", bad.to_string()))),
                }
            }
            Some(other) => Err(self.other_kind("banks", expected, other)),
        }
    }

    fn switch(&self) -> Result<Vec<SwitchedPin>, Problem> {
        let pins = self.list("switch")?.into_iter();
        pins.map(|(span, text)| match pin(&text) {
            Some(('A', pin, inverted)) => Ok(SwitchedPin { pin, inverted }),
            _ => {
                let expected = "pins such as \"A14\", or \"/A14\" for the complement";
                Err((span, self.expected("switch", expected, &text)))
            }
        })
        .collect()
    }

    /// The pins of a table such as `{ A13 = 1 }`, each with its value.
    fn pins(&self, key: &str) -> Result<PinTable<'t, 'i>, Problem> {
        match self.get(key) {
            None => Ok(Vec::new()),
            Some((_, DeValue::Table(map))) => {
                let pins = map.iter();
                Ok(pins
                    .map(|(name, value)| (name.span(), name.get_ref().to_string(), value))
                    .collect())
            }
            Some(other) => Err(self.other_kind(key, "a table of pins in braces", other)),
        }
    }

    fn levels(&self, key: &str) -> Result<Vec<(u8, Level)>, Problem> {
        let mut out = Vec::new();
        for (span, name, value) in self.pins(key)? {
            let Some(('A', pin, false)) = pin(&name) else {
                let expected = "address pins such as A13";
                return Err((span, self.expected(key, expected, &name)));
            };
            let level = match value.get_ref() {
                DeValue::Integer(number) if number.as_str() == "0" => Level::Low,
                DeValue::Integer(number) if number.as_str() == "1" => Level::High,
                DeValue::String(text) if text == "any" => Level::Any,
                other => {
                    let expected = "0, 1 or \"any\" for each pin";
                    return Err(self.other_kind(key, expected, (value.span(), other)));
                }
            };
            out.push((pin, level));
        }
        Ok(out)
    }

    fn wires(&self) -> Result<Vec<Wire>, Problem> {
        let expected = "pins and the line of each, such as A0 = \"A3\" or D1 = \"/D1\"";
        let mut out = Vec::new();
        for (span, name, value) in self.pins("wires")? {
            let at = pin(&name).filter(|(.., inverted)| !inverted);
            let Some((letter, pin, _)) = at else {
                return Err((span, self.expected("wires", expected, &name)));
            };
            let line = match value.get_ref() {
                DeValue::String(text) => self::pin(text),
                other => return Err(self.other_kind("wires", expected, (value.span(), other))),
            };
            let found = line.filter(|(own, ..)| *own == letter);
            out.push(match found {
                Some(('A', line, inverted)) => Wire::Address {
                    pin,
                    line,
                    inverted,
                },
                Some((_, line, inverted)) => Wire::Data {
                    pin,
                    line,
                    inverted,
                },
                None => {
                    let other = (value.span(), value.get_ref());
                    return Err(self.other_kind("wires", expected, other));
                }
            });
        }
        Ok(out)
    }
}
