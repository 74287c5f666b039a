//! Names of chips that say which lane they are.

use crate::image::Order;

/// Lists of words that mean the same.
type SameWords = &'static [&'static str];

/// Pairs of words of which the first belongs in lane 0, with the byte order for which that is so; `None` for any.
const FIRST: [(SameWords, SameWords, Option<Order>); 3] = [
    (&["even"], &["odd"], None),
    (&["hi", "high"], &["lo", "low"], Some(Order::Big)),
    (&["lo", "low"], &["hi", "high"], Some(Order::Little)),
];

/// What is odd about the names of the lanes, lane 0 first. Swapping the even and the odd chip is the oldest mistake. `order`
/// is the byte order if it was given.
pub fn backwards(names: &[&str], order: Option<Order>) -> Option<String> {
    // A word of its own: there is a hi in each chip.
    let has = |name: &str, words: SameWords| {
        let name = name.to_lowercase();
        let mut parts = name.split(|c: char| !c.is_alphabetic());
        parts.any(|part| words.contains(&part))
    };
    let place = |words: SameWords| names.iter().position(|name| has(name, words));
    let told = FIRST
        .iter()
        .filter(|(_, _, own)| own.is_none() || *own == order);
    told.filter_map(|(first, second, own)| {
        let (first, second) = (place(first)?, place(second)?);
        let lane = match own {
            None => "the even addresses",
            Some(Order::Big) => "the high byte of a word here",
            Some(Order::Little) => "the low byte of a word here",
        };
        (second < first).then(|| {
            format!(
                "{} comes before {}, but lane 0 has {lane}: is the order right?",
                names[second], names[first]
            )
        })
    })
    .next()
}
