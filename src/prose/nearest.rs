//! Which known words a mistyped one may have meant.

/// At most so many suggestions are made.
const MOST: usize = 4;

/// The candidates nearest to `word`, best first, at most four; equally good ones keep their order.
///
/// Near is a candidate that differs by one slip in three characters (a character wrong, missing,
/// too many, or two swapped; at least one slip is forgiven), or that contains the word when it
/// has three characters or more. Upper and lower case count as the same.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let word = word.to_lowercase();
    let length = word.chars().count();
    let slips = (length / 3).max(1);
    let mut near: Vec<(usize, &str)> = candidates
        .into_iter()
        .filter_map(|candidate| {
            let lower = candidate.to_lowercase();
            let holds = length >= 3 && lower.contains(&word);
            // Lengths that differ cost at least that many slips; this also keeps a hostile word
            // of great length away from the distance, which takes the product of both lengths.
            if !holds && lower.chars().count().abs_diff(length) > slips {
                return None;
            }
            let distance = strsim::osa_distance(&word, &lower);
            (holds || distance <= slips).then_some((distance, candidate))
        })
        .collect();
    near.sort_by_key(|&(distance, _)| distance);
    near.truncate(MOST);
    near.into_iter().map(|(_, candidate)| candidate).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: [&str; 6] = [
        "split",
        "stamp",
        "swap",
        "27C256",
        "27C512",
        "crc-16/modbus",
    ];

    #[test]
    fn a_slip_is_forgiven_whatever_the_case() {
        assert_eq!(nearest("stmap", WORDS), ["stamp"]);
        assert_eq!(nearest("SPLTI", WORDS), ["split"]);
        assert_eq!(nearest("27c265", WORDS), ["27C256"]);
    }

    #[test]
    fn part_of_a_word_finds_it() {
        assert_eq!(nearest("modbus", WORDS), ["crc-16/modbus"]);
        assert_eq!(nearest("27C", WORDS), ["27C256", "27C512"]);
    }

    #[test]
    fn the_nearer_comes_first() {
        assert_eq!(nearest("swamp", ["stamp", "swap"]), ["stamp", "swap"]);
        assert_eq!(nearest("stampt", ["swamp", "stamp"]), ["stamp", "swamp"]);
    }

    #[test]
    fn nothing_near_is_no_suggestion() {
        assert!(nearest("frobnicate", WORDS).is_empty());
        assert!(nearest("", WORDS).is_empty());
        assert!(nearest(&"s".repeat(1 << 20), WORDS).is_empty());
    }

    #[test]
    fn never_more_than_four() {
        let many = ["aaa1", "aaa2", "aaa3", "aaa4", "aaa5"];
        assert_eq!(nearest("aaa", many), ["aaa1", "aaa2", "aaa3", "aaa4"]);
    }
}
