//! What was copied along with a step: the program's own name, a shell's prompt.

use super::slip::Slip;
use crate::cli::pipeline::written::WordRange;

/// `romloom load a.hex` as a line of a recipe, or `$ load a.hex`.
pub fn prompt(words: &[&str]) -> Option<Slip> {
    let (first, rest) = words.split_first()?;
    let program = first.rsplit(['/', '\\']).next().unwrap_or(first);
    let is_ours = ["romloom", "romloom.exe"].contains(&program);
    let is_prompt = ["$", ">", "%", "#", "PS>", "C:\\>"].contains(first);
    if rest.is_empty() || !(is_ours || is_prompt) {
        return None;
    }
    let fact = match is_ours {
        true => format!("`{first}` is the program itself: here a step begins"),
        false => format!("`{first}` is not a step"),
    };
    let rest = rest.iter().map(|word| (*word).to_owned()).collect();
    let slip = Slip::new(fact).at(Some(WordRange::whole(0)));
    Some(slip.write_one(rest))
}
