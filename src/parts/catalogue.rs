//! Finding parts by name and by words, among the built-in rows and a user's own.

use super::marking::{find_in, named};
use super::{OwnPartsError, Part, UnknownPart, own, table};

/// The built-in rows, and the user's own after them.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    own: Vec<Part>,
}

impl Catalogue {
    /// The built-in rows alone.
    pub fn built_in() -> Catalogue {
        Catalogue::default()
    }

    /// Adds the parts of a TOML text, a table `[[part]]` each, with the
    /// [columns](super#columns). `file` is its name for messages. All parts are added, or none.
    ///
    /// `name`, `words`, `width`, `kind` and `pins` are needed; `erased` too for kinds that are
    /// sold or made erased. `source` is the file's name unless it says another.
    ///
    /// ```
    /// use romloom::parts::Catalogue;
    ///
    /// let mut catalogue = Catalogue::built_in();
    /// catalogue.add_own("my-parts.toml", r#"
    ///     [[part]]
    ///     name = "28C64-pages"
    ///     words = 8192
    ///     width = 8
    ///     kind = "eeprom"
    ///     erased = 0xFF
    ///     page = 32
    ///     pins = 28
    /// "#)?;
    /// assert_eq!(catalogue.find("28c64-pages")?.page, Some(32));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    ///
    /// [`OwnPartsError`] with the line and column: text that is not TOML, a column that is unknown,
    /// missing or out of range, a pinout that does not fit the part, a name that is taken.
    pub fn add_own(&mut self, file: &str, text: &str) -> Result<(), OwnPartsError> {
        let added = own::rows(file, text, own::Within::List, |name| self.has(name))?;
        self.own.extend(added);
        Ok(())
    }

    /// Adds the parts that a board file describes beside its sockets; there may be none.
    ///
    /// # Errors
    /// As [`add_own`](Self::add_own).
    pub fn add_own_of_board(&mut self, file: &str, text: &str) -> Result<(), OwnPartsError> {
        let added = own::rows(file, text, own::Within::Board, |name| self.has(name))?;
        self.own.extend(added);
        Ok(())
    }

    /// Every part, the user's own last.
    pub fn all(&self) -> impl Iterator<Item = &Part> + Clone {
        all().iter().chain(&self.own)
    }

    /// The part with this name, or the one that a chip's marking means, in upper or lower case.
    ///
    /// A maker's letters before the number and a speed after a hyphen (`-15`, `-150`, `-20PC`, `-70-4C-PHE`) change no byte
    /// and are left out: `AM29F040-90PC` is a 29F040. Letters directly after the number matter (a 2764A is a different part
    /// from a 2764), so they count only where the table lists them for that number.
    ///
    /// # Errors
    ///
    /// [`UnknownPart`], with the parts it may be; also for a marking that can mean different parts.
    pub fn find(&self, name: &str) -> Result<&Part, UnknownPart> {
        find_in(self.all(), name)
    }

    /// The parts that fit every word, in the table's order; all parts when there are no words.
    ///
    /// A word fits a part when it is in one of its names, or when one of these begins with it:
    /// the kind (`uv-eprom`, or `eprom` alone), the size (`32Kx8`, `x16`), the package (`28-pin`).
    pub fn filter<S: AsRef<str>>(&self, words: &[S]) -> Vec<&Part> {
        let words: Vec<String> = words
            .iter()
            .map(|word| word.as_ref().to_lowercase())
            .collect();
        self.all()
            .filter(|part| words.iter().all(|word| fits(part, word)))
            .collect()
    }

    /// Whether a part has exactly this name, in upper or lower case.
    pub(super) fn has(&self, name: &str) -> bool {
        named(self.all(), name).is_some()
    }
}

/// The built-in rows, by family and size.
pub fn all() -> &'static [Part] {
    table::built_in()
}

/// The built-in part of this name; see [`Catalogue::find`].
///
/// # Errors
///
/// [`UnknownPart`], with the nearest names.
pub fn find(name: &str) -> Result<&'static Part, UnknownPart> {
    find_in(all().iter(), name)
}

/// Whether the word, in lower case, fits the part; see [`Catalogue::filter`].
fn fits(part: &Part, word: &str) -> bool {
    let kind = part.kind.name();
    // Digits alone are part of a number: 256 means a 27C256, not 256K words.
    let all_digits = word.bytes().all(|b| b.is_ascii_digit());
    part.names().any(|name| name.to_lowercase().contains(word))
        || kind.starts_with(word)
        || kind.split('-').any(|half| half.starts_with(word))
        || (!all_digits && part.organisation().to_lowercase().starts_with(word))
        || format!("x{}", part.width) == word
        || (!all_digits && format!("{}-pin", part.pins).starts_with(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filtered(words: &[&str]) -> Vec<String> {
        let catalogue = Catalogue::built_in();
        let parts = catalogue.filter(words);
        parts.iter().map(|part| part.name.clone()).collect()
    }

    #[test]
    fn found_in_any_case_and_under_its_other_names() {
        assert_eq!(find("27c256").unwrap().name, "27C256");
        assert_eq!(find("PROM-32X8").unwrap().name, "prom-32x8");
        assert_eq!(find("27C801").unwrap().name, "27C080");
        assert_eq!(find("2716").unwrap().name, "2716");
    }

    #[test]
    fn words_filter_by_name_kind_size_and_package() {
        assert_eq!(
            filtered(&["39SF"]),
            ["39SF512", "39SF010", "39SF020", "39SF040"]
        );
        assert_eq!(filtered(&["page-flash", "256"]), ["29C256"]);
        assert_eq!(
            filtered(&["eprom", "x16", "42-pin"]),
            ["27C800", "27C160", "27C322"]
        );
        assert_eq!(filtered(&["MASK", "4kX8"]), ["2332"]);
        assert_eq!(
            filtered(&["sector-flash", "256kx8"]),
            ["29F002BT", "29F002BB", "29F002NBT", "29F002NBB", "39SF020"]
        );
        assert_eq!(filtered(&["eeprom", "24-pin"]), ["28C16"]);
        assert!(!filtered(&["eprom"]).contains(&"28C256".to_owned()));
        assert!(filtered(&["nonsense"]).is_empty());
        assert_eq!(filtered(&[]).len(), all().len());
    }
}
