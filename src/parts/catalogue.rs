//! Finding parts by name and by words, among the built-in rows and a user's own.

use super::{OwnPartsError, Part, UnknownPart, own, table};

/// The built-in rows, and the user's own behind them.
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
    /// `name`, `words`, `width`, `kind` and `pins` must stand; `erased` too for kinds that are
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
    /// [`OwnPartsError`] with the line and column: TOML that is none, a column that is unknown,
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

    /// The part of this name, in upper or lower case.
    ///
    /// A suffix of one to three digits with up to three letters behind them, as `-15`, `-150` or
    /// `-20PC`, is taken for speed and package, which change no byte, and left out. Other letters
    /// matter (a 2764A is another part than a 2764), so nothing else is guessed.
    ///
    /// # Errors
    ///
    /// [`UnknownPart`], with the nearest names.
    pub fn find(&self, name: &str) -> Result<&Part, UnknownPart> {
        find_in(self.all(), name)
    }

    /// The parts that fit every word, in the table's order; no words: all parts.
    ///
    /// A word fits a part when it stands in one of its names, or when one of these begins with it:
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

/// The part of this name among `parts`; see [`Catalogue::find`].
pub(super) fn find_in<'a>(
    parts: impl Iterator<Item = &'a Part> + Clone,
    name: &str,
) -> Result<&'a Part, UnknownPart> {
    named(parts.clone(), name)
        .or_else(|| named(parts.clone(), without_speed(name)?))
        .ok_or_else(|| UnknownPart {
            word: name.to_owned(),
            nearest: nearest(parts.flat_map(Part::names), name),
        })
}

fn named<'a>(mut parts: impl Iterator<Item = &'a Part>, name: &str) -> Option<&'a Part> {
    parts.find(|part| part.names().any(|own| own.eq_ignore_ascii_case(name)))
}

/// The name in front of a speed suffix, if there is one: see [`Catalogue::find`].
fn without_speed(name: &str) -> Option<&str> {
    let (name, suffix) = name.rsplit_once('-')?;
    let letters = suffix.trim_start_matches(|c: char| c.is_ascii_digit());
    let digits = suffix.len() - letters.len();
    let package = letters.len() <= 3 && letters.bytes().all(|b| b.is_ascii_alphabetic());
    ((1..=3).contains(&digits) && package).then_some(name)
}

/// The names nearest to `word`, best first, at most four.
fn nearest<'a>(names: impl Iterator<Item = &'a str>, word: &str) -> Vec<String> {
    const MOST: usize = 4;
    // Longer than any name with a maker's letters and a suffix: not a slip, and not worth the
    // time, which grows with the length.
    const LONGEST: usize = 40;
    if word.len() > LONGEST {
        return Vec::new();
    }
    let word = word.to_uppercase();
    let length = word.chars().count();
    let slips = (length / 3).max(1);
    let mut near: Vec<(bool, usize, &str)> = names
        .filter_map(|name| {
            let upper = name.to_uppercase();
            // A maker's letters around the number, or a number half said.
            let holds = (upper.len() >= 4 && word.contains(&upper))
                || (length >= 3 && upper.contains(&word));
            let distance = strsim::osa_distance(&word, &upper);
            (holds || distance <= slips).then_some((!holds, distance, name))
        })
        .collect();
    near.sort_by_key(|&(apart, distance, _)| (apart, distance));
    near.truncate(MOST);
    near.into_iter()
        .map(|(_, _, name)| name.to_owned())
        .collect()
}

/// Whether the word, in lower case, fits the part; see [`Catalogue::filter`].
fn fits(part: &Part, word: &str) -> bool {
    let kind = part.kind.name();
    // Digits alone are part of a number: 256 is meant for a 27C256, not for 256K words.
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

    fn nearest_to(word: &str) -> Vec<String> {
        find(word).unwrap_err().nearest
    }

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
    fn speed_and_package_are_left_out() {
        for name in ["27C256-15", "27C256-150", "27c256-20PC", "27C256-1"] {
            assert_eq!(find(name).unwrap().name, "27C256", "{name}");
        }
        assert_eq!(find("2764A-25").unwrap().name, "2764A");
    }

    #[test]
    fn nothing_else_is_guessed() {
        for name in [
            "27C256A",
            "27C256-",
            "27C256-PC",
            "27C256-1500",
            "27C256-15ABCD",
            "27C256-15-15",
            "27C256 ",
            "C256",
            "",
            "-15",
            "prom-32",
            "27C256-\u{663}",
        ] {
            assert!(find(name).is_err(), "{name}");
        }
    }

    #[test]
    fn an_unknown_part_brings_the_nearest() {
        assert_eq!(nearest_to("27C265")[0], "27C256");
        assert_eq!(nearest_to("XY28C256")[0], "28C256");
        assert_eq!(nearest_to("27C512A")[0], "27C512");
        assert!(nearest_to("27C256A").contains(&"27C256".to_owned()));
        assert!(nearest_to("transistor").is_empty());
        assert!(nearest_to(&"9".repeat(1 << 20)).is_empty());
        assert!(nearest_to("27").len() <= 4);
    }

    #[test]
    fn the_error_says_what_is_near() {
        let error = find("27C265").unwrap_err().to_string();
        assert!(
            error.starts_with("`27C265` is no part of the table; nearest: 27C256"),
            "{error}"
        );
        let hostile = find("\u{1b}[2J\n").unwrap_err().to_string();
        assert!(!hostile.contains(['\u{1b}', '\n']), "{hostile}");
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
