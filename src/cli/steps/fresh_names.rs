//! Names for pieces that don't say how they are called.

use std::collections::{HashMap, HashSet};
use std::path::Path;

use crate::cli::bench::Bench;

/// The names of the pieces that there are.
pub struct FreshNames {
    taken: HashSet<String>,
    /// For the names that several wanted: the number that comes next.
    next: HashMap<String, u64>,
}

impl FreshNames {
    /// The names that are taken.
    pub fn on(bench: &Bench) -> Self {
        Self {
            taken: bench.pieces.iter().map(|p| p.name.clone()).collect(),
            next: HashMap::new(),
        }
    }

    /// Counts this name as taken.
    pub fn take(&mut self, name: &str) {
        self.taken.insert(name.to_owned());
    }

    /// A file's name without folders and extension, made different from every name there is.
    pub fn of(&mut self, file: &Path) -> String {
        let stem = match file.file_stem() {
            Some(stem) if file != Path::new("-") => stem.to_string_lossy().into_owned(),
            _ => "input".into(),
        };
        if !self.taken.contains(&stem) {
            return stem;
        }
        let next = self.next.entry(stem.clone()).or_insert(2);
        loop {
            let name = format!("{stem}-{next}");
            if !self.taken.contains(&name) {
                return name;
            }
            *next += 1;
        }
    }
}
