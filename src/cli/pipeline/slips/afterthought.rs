//! What may help where a step stopped.

use std::path::Path;

use super::vocabulary::is_file;
use crate::cli::bench::Cause;
use crate::cli::pipeline::words::quoted;
use crate::cli::pipeline::written::Wording;
use crate::values;

/// What may help where a step stopped: how it is written, which word is meant and why it stopped, and where its files are.
pub fn afterthought(
    wording: &Wording,
    at: Option<usize>,
    cause: &Cause,
    folder: &Path,
) -> Option<String> {
    match cause {
        Cause::Other => None,
        Cause::UnknownFormat(file) => {
            let is_recipe = file.extension().is_some_and(|e| e == "loom");
            let recipe = quoted(&file.to_string_lossy());
            let extension = file.extension().is_some();
            match (is_recipe, extension) {
                (true, _) => Some(format!("a recipe needs no `load`: romloom run {recipe}")),
                (false, true) => Some(format!(
                    "where it is a chip's bytes: load {recipe} --as raw"
                )),
                (false, false) => None,
            }
        }
        Cause::NoSuchFile(_) => missing(wording, at?, folder),
    }
}

fn missing(wording: &Wording, missing: usize, folder: &Path) -> Option<String> {
    let words = wording.texts();
    let word = *words.get(missing)?;
    if word.contains(['*', '?']) {
        return Some(format!(
            "`{word}` is taken as it is: only a shell makes a list of files of it, so name each file"
        ));
    }
    let there = |name: &str| !name.is_empty() && is_file(folder, name);
    if let Some(rest) = word.strip_prefix("file:") {
        let path = rest.trim_start_matches("//");
        return there(path).then(|| format!("name the file itself: {}", quoted(path)));
    }
    // `$8000` among the files.
    let number = match values::number(word) {
        Ok(_) => Some(word.to_owned()),
        Err(bad) => {
            let marked = word.starts_with(['$', '#', '&']);
            bad.meant().filter(|_| marked).map(str::to_owned)
        }
    };
    if let Some(number) = number.filter(|_| missing > 1) {
        let before: Vec<String> = words[..missing].iter().map(|w| quoted(w)).collect();
        return Some(format!(
            "an address comes after --at: {} --at {number}",
            before.join(" ")
        ));
    }
    let flag = words[missing - 1];
    if flag.starts_with("--") && ["yes", "true", "on"].contains(&word) {
        return Some(format!("`{flag}` takes no value: leave `{word}` out"));
    }
    // `roms\monitor.hex` where a backslash is part of a name.
    let slashes = word.replace('\\', "/").replace("//", "/");
    if slashes != word && !cfg!(windows) {
        let shown = quoted(&slashes);
        let as_in = if there(&slashes) { ":" } else { ", such as" };
        return Some(format!(
            "folders are separated by / on this system{as_in} {shown}"
        ));
    }
    // Quotes that another shell takes off, and commas between names.
    let bare = word.trim_matches(['"', '\'', '“', '”', ',', ';']);
    if bare != word && there(bare) {
        let all: Vec<String> = (words.iter().skip(missing))
            .map(|w| w.trim_matches(['"', '\'', '“', '”', ',', ';']))
            .filter(|w| !w.is_empty())
            .map(quoted)
            .collect();
        let before: Vec<String> = words[..missing].iter().map(|w| quoted(w)).collect();
        return Some(format!("{} {}", before.join(" "), all.join(" ")));
    }
    // `.\a.hex`, of which a shell has taken the backslash.
    if let Some(name) = word.strip_prefix('.').filter(|name| there(name)) {
        return Some(format!(
            "a file of this folder is named without .\\: {}",
            quoted(name)
        ));
    }
    // `a.hex,b.hex`: several names in one word.
    let names: Vec<&str> = word.split([',', ';']).collect();
    if names.len() > 1 && names.iter().all(|name| there(name)) {
        let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
        return Some(format!(
            "files are separated by blanks: {}",
            names.join(" ")
        ));
    }
    // `load my data.bin`: the name has a blank.
    let longest = (missing + 2..=words.len()).rev();
    longest
        .map(|end| words[missing..end].join(" "))
        .find(|name| there(name))
        .map(|name| format!("a name with blanks goes into quotes: \"{name}\""))
}
