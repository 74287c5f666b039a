//! Lists of sums, as the usual commands print them.

use super::Algo;
use crate::prose::debug_as_display;

/// A line of a list: what has which sum.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListedSum {
    /// What it is the sum of, usually a file's name.
    pub name: String,
    /// Which sum it is, known from the number of its digits: CRC-32, MD5, SHA-1 or SHA-256.
    pub algo: Algo,
    /// Its value, in hex of any case.
    pub digits: String,
}

/// A line of a list of sums that can't be used.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "line {line}: {fault}: write a sum in hex and a name, as `sha256sum`, `sha1sum` and `md5sum` print them, or 8 digits of CRC-32"
)]
pub struct ListError {
    /// The line, counted from 1.
    pub line: usize,
    /// What is wrong.
    pub fault: ListFault,
}

debug_as_display!(ListError);

/// What can be wrong with a line of a list of sums.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum ListFault {
    /// No name before the sum, in the form `SHA256 (name) = HEX`.
    NoNameBefore,
    /// No name after the sum.
    NoNameAfter,
    /// A word that is not a sum in hex, made fit for a message.
    NotHex(String),
    /// A number of digits that no known sum has.
    Digits(usize),
}

impl std::fmt::Display for ListFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            ListFault::NoNameBefore => f.write_str("there is no name before the sum"),
            ListFault::NoNameAfter => f.write_str("there is no name after the sum"),
            ListFault::NotHex(shown) => write!(f, "`{shown}` is not a sum in hex"),
            ListFault::Digits(n) => write!(
                f,
                "no known sum has {n} digits: CRC-32 has 8, MD5 32, SHA-1 40, SHA-256 64"
            ),
        }
    }
}

/// Reads a list of sums: `HEX  name`, `HEX *name`, or `SHA256 (name) = HEX`, one a line; `#` starts a comment. `None` when
/// the first line is nothing of the kind: then the text is not such a list.
///
/// ```
/// use romloom::sums::{Algo, read_list};
///
/// let list = read_list("CBF43926  monitor.bin\n")?.ok_or("no list")?;
/// assert_eq!((list[0].name.as_str(), list[0].algo), ("monitor.bin", Algo::CRC32));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`ListError`] for a later line that is not.
pub fn read_list(text: &str) -> Result<Option<Vec<ListedSum>>, ListError> {
    let mut listed = Vec::new();
    let lines = text.lines().map(str::trim).enumerate();
    for (n, line) in lines.filter(|(_, l)| !l.is_empty() && !l.starts_with('#')) {
        match line.parse::<ListedSum>() {
            Ok(sum) => listed.push(sum),
            Err(_) if listed.is_empty() => return Ok(None),
            Err(fault) => return Err(ListError { line: n + 1, fault }),
        }
    }
    Ok((!listed.is_empty()).then_some(listed))
}

/// One line of a list.
impl std::str::FromStr for ListedSum {
    type Err = ListFault;

    fn from_str(line: &str) -> Result<Self, ListFault> {
        let (digits, name) = match line.rsplit_once(") = ") {
            Some((front, digits)) => {
                let name = front.split_once(" (").map(|(_, name)| name);
                (digits, name.ok_or(ListFault::NoNameBefore)?)
            }
            None => {
                // A name with a backslash or a line end in it has a backslash before the sum.
                let line = line.strip_prefix('\\').unwrap_or(line);
                let (digits, name) = line
                    .split_once(char::is_whitespace)
                    .ok_or(ListFault::NoNameAfter)?;
                let name = name.trim_start();
                (digits, name.strip_prefix('*').unwrap_or(name))
            }
        };
        if name.is_empty() {
            return Err(ListFault::NoNameAfter);
        }
        if !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
            // The longest sum is shown whole.
            let shown = digits.chars().take(70).flat_map(char::escape_debug);
            return Err(ListFault::NotHex(shown.collect()));
        }
        let algo = match digits.len() {
            8 => Algo::CRC32,
            32 => Algo::MD5,
            40 => Algo::SHA1,
            64 => Algo::SHA256,
            n => return Err(ListFault::Digits(n)),
        };
        Ok(ListedSum {
            name: name.into(),
            algo,
            digits: digits.into(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_of_sums() {
        let md5 = "d41d8cd98f00b204e9800998ecf8427e";
        let names = |text: &str| -> Vec<String> {
            let listed = read_list(text).unwrap().unwrap();
            listed.into_iter().map(|sum| sum.name).collect()
        };
        assert_eq!(
            names(&format!(
                "\n# c\n{md5}  a b.bin\n{md5} *c\nMD5 (d (2)) = {md5}\n"
            )),
            ["a b.bin", "c", "d (2)"]
        );
        assert_eq!(names("00000000 nothing"), ["nothing"]);
        assert_eq!(names("00000000 one\r\n00000001 *two\r\n"), ["one", "two"]);
        assert!(read_list(":00000001FF\n").unwrap().is_none());
        assert!(read_list("").unwrap().is_none());
        let error = read_list("00000000 nothing\n123 x").unwrap_err();
        assert_eq!((error.line, error.fault), (2, ListFault::Digits(3)));
        assert!(read_list("00000000 nothing\n0000000\u{e9}").is_err());
    }
}
