//! Which file each piece is compared with: one file for all, or `read-{name}.bin`, a file for each.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};

use super::common::{On, noun_of};
use super::placeholders::{NameOfEach, NameSlot, OF_REFERENCES, Placeholder};
use crate::cli::bench::{Bench, MessageKind, Piece, Stop, plain};
use crate::cli::report::{MissingFile, Unpaired};

/// The help for a file that each piece may have of its own. The parser reads a plain `{n}` as a line break; a
/// colour reset inside hides it, and is invisible when printed.
pub(super) const FILE_OF_EACH: &str =
    "with {name}, {part} or {\u{1b}[0mn} in its name each piece has its own";

/// The files that the pieces of a step are compared with.
#[derive(Debug)]
pub(super) struct References {
    /// Pieces that have a file: their index on the bench, in its order, and the file as a step names it.
    pub found: Vec<(usize, PathBuf)>,
    /// Pieces without a file, and files without a piece.
    pub unpaired: Unpaired,
}

/// Whether a file's name can be used, as far as that is known before the run.
///
/// # Errors
/// A word in braces that means nothing.
pub(super) fn check_reference(file: &Path) -> Result<(), Stop> {
    template(file).map(|_| ())
}

/// Whether each piece has its own file of this name.
pub(super) fn is_of_each(file: &Path) -> bool {
    matches!(template(file), Ok(Some(name)) if name.is_of_each())
}

impl References {
    /// Finds the files for the pieces that `on` chooses. A name without placeholders is the file of all of them; nobody has
    /// looked yet whether it is there. With placeholders, the folder decides what is there, and the case of letters decides
    /// nothing, as in the names of sockets. Files that belong to no piece are looked for when all pieces are chosen.
    ///
    /// # Errors
    /// No such piece, a word in braces that means nothing or that a piece has nothing for, two pieces with one file, and a
    /// folder that can't be read.
    pub fn of(bench: &Bench, file: &Path, on: &On) -> Result<Self, Stop> {
        let chosen = bench.chosen(&on.only)?;
        match template(file)? {
            Some(template) if template.is_of_each() => {
                let pieces = named(bench, &chosen, &template)?;
                let mut references = Self::paired(bench, pieces, fitting(bench, file)?);
                if !on.only.is_empty() {
                    references.unpaired.surplus.clear();
                }
                Ok(references)
            }
            _ => Ok(Self::one_for_all(bench, &chosen, &unescaped(file)?)),
        }
    }

    fn one_for_all(bench: &Bench, chosen: &[usize], file: &Path) -> Self {
        if chosen.len() > 1 && noun_of(bench, chosen) == "chip" {
            let text = format!(
                "{} chips are compared with one file: put {{name}} into it, such as 'read-{{name}}.bin', to give each its own",
                chosen.len()
            );
            bench.console.say_once(MessageKind::Note, &text);
        }
        Self {
            found: chosen.iter().map(|i| (*i, file.to_owned())).collect(),
            unpaired: Unpaired::default(),
        }
    }

    /// Gives each piece its file out of those that are there.
    fn paired(bench: &Bench, pieces: Vec<(usize, PathBuf)>, files: Vec<PathBuf>) -> Self {
        let mut files = Files::new(files);
        let exact: Vec<_> = pieces.iter().map(|(_, name)| files.take(name)).collect();
        let mut found = Vec::new();
        let mut missing = Vec::new();
        for ((i, name), exact) in pieces.into_iter().zip(exact) {
            let piece = &bench.pieces[i];
            let file = name.display().to_string();
            match exact.or_else(|| files.take_alike(&name)) {
                Some(file) => found.push((i, file)),
                None if is_left_out(piece) => {
                    let text = format!("{} is erased, and there is no {file}", piece.name);
                    bench.console.say(MessageKind::Note, &text);
                }
                None => missing.push(MissingFile {
                    piece: piece.name.clone(),
                    file,
                }),
            }
        }
        // Files that the run has read or made don't count as left over.
        let is_of_run = |file: &PathBuf| {
            let path = bench.path(file);
            bench.inputs.contains(&path) || bench.staging.has(&path)
        };
        let mut surplus = files.left();
        surplus.retain(|file| !is_of_run(file));
        let surplus = surplus.iter().map(|file| file.display().to_string());
        let surplus = surplus.collect();
        Self {
            found,
            unpaired: Unpaired { missing, surplus },
        }
    }
}

/// Files by their names in small letters.
struct Files(BTreeMap<String, Vec<PathBuf>>);

impl Files {
    fn new(files: Vec<PathBuf>) -> Self {
        let mut by_name: BTreeMap<String, Vec<PathBuf>> = BTreeMap::new();
        for file in files {
            by_name.entry(Self::key(&file)).or_default().push(file);
        }
        Self(by_name)
    }

    fn key(file: &Path) -> String {
        file.to_string_lossy().to_ascii_lowercase()
    }

    /// Takes out the file of this very name.
    fn take(&mut self, name: &Path) -> Option<PathBuf> {
        let alike = self.0.get_mut(&Self::key(name))?;
        let at = alike.iter().position(|file| file == name)?;
        Some(alike.swap_remove(at))
    }

    /// Takes out the only file left whose name differs in the case of letters alone.
    fn take_alike(&mut self, name: &Path) -> Option<PathBuf> {
        let alike = self.0.get_mut(&Self::key(name))?;
        match alike.len() {
            1 => alike.pop(),
            _ => None,
        }
    }

    /// Files that no piece has taken, in the order of names.
    fn left(self) -> Vec<PathBuf> {
        let mut left: Vec<PathBuf> = self.0.into_values().flatten().collect();
        left.sort();
        left
    }
}

/// These pieces, each with the name that its file should have.
fn named(
    bench: &Bench,
    chosen: &[usize],
    template: &NameOfEach,
) -> Result<Vec<(usize, PathBuf)>, Stop> {
    let mut owners: BTreeMap<PathBuf, &str> = BTreeMap::new();
    let mut named = Vec::new();
    for (n, i) in chosen.iter().enumerate() {
        let piece = &bench.pieces[*i];
        let name = template.of(piece, n)?;
        // As the files are named that were found: without a second `/` in a row.
        let path: PathBuf = Path::new(&name).components().collect();
        if let Some(other) = owners.insert(path.clone(), &piece.name) {
            let fact = format!("{other} and {} would both have {name}", piece.name);
            return Err(Stop::trouble(fact).advise("put {name} or {n} into the file's name"));
        }
        named.push((*i, path));
    }
    Ok(named)
}

/// Whether `write` makes no file of it, because an erased chip is not burned.
fn is_left_out(piece: &Piece) -> bool {
    piece.seat().is_some() && piece.is_erased()
}

/// The name, cut at its words in braces; what is not text can't have any.
fn template(file: &Path) -> Result<Option<NameOfEach>, Stop> {
    let name = file.to_str();
    name.map(|name| NameOfEach::read(name, OF_REFERENCES))
        .transpose()
}

/// The name of a file that all pieces have: a brace that is written twice is one.
fn unescaped(file: &Path) -> Result<PathBuf, Stop> {
    let name = template(file)?.and_then(|name| name.of_none());
    Ok(name.map_or_else(|| file.to_owned(), PathBuf::from))
}

/// All files that a piece of some name could have, as a step would name them.
fn fitting(bench: &Bench, file: &Path) -> Result<Vec<PathBuf>, Stop> {
    let parts: Vec<Component> = file.components().collect();
    let mut found = vec![PathBuf::new()];
    for (i, part) in parts.iter().enumerate() {
        let name = match part {
            Component::Normal(_) => template(Path::new(part))?,
            _ => None,
        };
        let is_last = i + 1 == parts.len();
        let Some(name) = name.filter(NameOfEach::is_of_each) else {
            let own = unescaped(Path::new(part))?;
            found.iter_mut().for_each(|path| path.push(&own));
            continue;
        };
        let mut inside = Vec::new();
        for folder in found {
            let names = names_in(&bench.path(&folder)).map_err(|error| {
                let folder = bench.shown(&folder);
                Stop::trouble(format!("{folder}: {}", plain(&error)))
            })?;
            let fit = names.into_iter().filter(|text| fits(name.slots(), text));
            inside.extend(fit.map(|text| folder.join(text)));
        }
        let is_folder = |path: &PathBuf| bench.path(path).is_dir();
        inside.retain(|path| is_last || is_folder(path));
        found = inside;
    }
    found.retain(|path| fs::metadata(bench.path(path)).is_ok_and(|meta| !meta.is_dir()));
    Ok(found)
}

/// What is in a folder; nothing if there is no such folder.
fn names_in(folder: &Path) -> io::Result<Vec<String>> {
    let here = Path::new(".");
    let folder = Some(folder).filter(|f| !f.as_os_str().is_empty());
    let entries = match fs::read_dir(folder.unwrap_or(here)) {
        Ok(entries) => entries,
        Err(error) => match error.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => return Ok(Vec::new()),
            _ => return Err(error),
        },
    };
    // A piece's name is text, and so is that of its file.
    let names = entries.map(|entry| entry.map(|entry| entry.file_name().into_string().ok()));
    names.filter_map(Result::transpose).collect()
}

/// Whether some piece could make this name. The time goes with the length of the name and the number of stretches.
fn fits(slots: &[NameSlot], name: &str) -> bool {
    let name = name.as_bytes();
    // How much of the name the stretches up to here can explain.
    let mut ends = vec![false; name.len() + 1];
    ends[0] = true;
    for slot in slots {
        let mut next = vec![false; name.len() + 1];
        match slot {
            NameSlot::Text(text) => {
                for at in (0..=name.len()).filter(|at| ends[*at]) {
                    if name[at..].starts_with(text.as_bytes()) {
                        next[at + text.len()] = true;
                    }
                }
            }
            NameSlot::Word(word) => {
                for at in 0..name.len() {
                    let goes_on = *word != Placeholder::Number || name[at].is_ascii_digit();
                    next[at + 1] = (ends[at] || next[at]) && goes_on;
                }
            }
        }
        ends = next;
    }
    ends[name.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_of_another_case_are_taken_only_when_there_is_no_doubt() {
        let names = ["rd-A", "rd-b", "rd-C", "rd-c"].map(PathBuf::from);
        let mut files = Files::new(names.to_vec());
        let taken = |file: Option<PathBuf>| file.map(|file| file.display().to_string());
        assert_eq!(taken(files.take(Path::new("rd-a"))), None);
        assert_eq!(
            taken(files.take(Path::new("rd-A"))).as_deref(),
            Some("rd-A")
        );
        assert_eq!(
            taken(files.take_alike(Path::new("rd-a"))),
            None,
            "it is taken"
        );
        assert_eq!(
            taken(files.take_alike(Path::new("rd-B"))).as_deref(),
            Some("rd-b")
        );
        assert_eq!(
            taken(files.take_alike(Path::new("RD-C"))),
            None,
            "there are two"
        );
        assert_eq!(files.left(), [PathBuf::from("rd-C"), PathBuf::from("rd-c")]);
    }

    fn fit(template: &str, name: &str) -> bool {
        let Ok(template) = NameOfEach::read(template, OF_REFERENCES) else {
            panic!("{template}");
        };
        fits(template.slots(), name)
    }

    #[test]
    fn a_name_fits_where_a_piece_could_make_it() {
        for (template, name) in [
            ("rd-{name}.bin", "rd-even.bin"),
            ("rd-{name}.bin", "rd-.bin.bin"),
            ("{n}-{name}.{part}", "12-a-b.27C64"),
            ("{name}{n}", "U7"),
            ("{{{n}}}", "{3}"),
        ] {
            assert!(fit(template, name), "{template} {name}");
        }
        for (template, name) in [
            ("rd-{name}.bin", "rd-.bin"),
            ("rd-{name}.bin", "rd-even.bin.txt"),
            ("rd-{name}.bin", "even.bin"),
            ("rd-{n}.bin", "rd-even.bin"),
            ("rd-{n}.bin", "rd-.bin"),
        ] {
            assert!(!fit(template, name), "{template} {name}");
        }
        // As many ways to cut it as there are letters, but still no time.
        assert!(!fit(&"{name}".repeat(200), &"a".repeat(199)));
        assert!(fit(&"{name}".repeat(200), &"a".repeat(200)));
    }
}
