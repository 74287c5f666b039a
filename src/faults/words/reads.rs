//! What makes reads of one chip differ, in words.

use super::counts::cell_name;
use super::{Names, Sentences};
use crate::faults::reads::{Oddity, ReadsStory, ToldOfReads, Vote};
use crate::prose::{plural, thousands};
use crate::wiring::Line;

/// How many groups of reads are named one by one.
const NAMED: usize = 6;

impl ToldOfReads {
    /// What is said about the story of this vote over reads of these names.
    pub fn sentences(&self, vote: &Vote, reads: &[String], names: &Names) -> Sentences {
        let cell = cell_name(vote.width);
        let advice = |text: &str| text.to_owned();
        let (finding, look_next) = match &self.story {
            ReadsStory::Stable => ("The reads are all the same".to_owned(), advice("")),
            ReadsStory::WeakCells => (
                "The same bits waver from read to read, like weak cells".to_owned(),
                advice(
                    "Weak bits change with the supply voltage: read at the lowest and at the highest that the data \
                     sheet allows, keep the majority, and burn another chip.",
                ),
            ),
            ReadsStory::Noise => (
                "Other bits are wrong in each read: the reading is disturbed, not the cells"
                    .to_owned(),
                advice(
                    "Clean the pins and the socket, check the supply and the capacitor at its pin, shorten the \
                     cable, and read slower.",
                ),
            ),
            ReadsStory::ReadTooEarly => (
                format!("What wavers shows the {cell} before it: the chip may be read too early"),
                advice(
                    "Read with a longer access time. A chip that still needs more than its marking says is slow or \
                     at the wrong supply voltage.",
                ),
            ),
            ReadsStory::DataLine(line) => self.floats(Line::Data(*line), names),
            ReadsStory::AddressLine(line) => self.floats(Line::Address(*line), names),
            ReadsStory::OddRead { read, shows } => {
                let name = self::name(reads, *read);
                let others = vote.reads - 1;
                let agree = match (others, self.left) {
                    (1, _) => "the other one is as wanted".to_owned(),
                    (others, 0) => format!("the other {others} reads are the same"),
                    (others, bits) => format!(
                        "the other {others} reads are the same except for {}",
                        plural(bits as u64, "bit")
                    ),
                };
                let shows = match shows {
                    Oddity::Bits => String::new(),
                    Oddity::DataLine(line) => {
                        format!(
                            ", and it differs only on {}",
                            names.named(Line::Data(*line))
                        )
                    }
                    Oddity::Only(byte) => format!(", and it is {byte:02X} throughout"),
                    Oddity::Story(story) => {
                        let said = story.sentences(names).finding;
                        format!(", and compared with them: {said}")
                    }
                };
                (
                    format!("{name} is the odd read out: {agree}{shows}"),
                    match others {
                        3.. => format!(
                            "The majority is that of the other {others}. Read once more: if {name} is still alone, \
                             go on without it."
                        ),
                        _ if others == 1 => "Read once more. One right read shows that the chip was burned right: the contact, the supply or the \
 reading changes."
.to_owned(),
                        _ => {
                            "Two reads against one are a thin majority: read twice more.".to_owned()
                        }
                    },
                )
            }
            ReadsStory::DifferentContents(groups) => (
                format!("The reads are not of one chip: {}", belong(groups, reads)),
                advice(
                    "Read the marking on each chip, and read again. If all reads are of one chip, hardly anything of \
                     it arrives: check its orientation, the select and supply pins, and the part chosen.",
                ),
            ),
        };
        Sentences { finding, look_next }
    }

    fn floats(&self, line: Line, names: &Names) -> (String, String) {
        let (named, pin) = (names.named(line), names.pin_of(line));
        let finding = match (line, self.left) {
            (Line::Data(_), 0) => format!("{named} wavers, and no other line does"),
            (Line::Data(_), _) => format!("{named} wavers more than all other lines"),
            (Line::Address(_), _) => {
                format!("{named} reaches the chip as 0 at one time and as 1 at another")
            }
        };
        let place = format!("Check {pin} and its socket contact: a line without contact floats.");
        (finding, place)
    }

    /// The evidence: a sentence without its capital and its full stop.
    pub fn because(&self, vote: &Vote, reads: &[String]) -> String {
        let bits = vote.lines().iter().sum::<usize>();
        let waver = format!(
            "{} of {} {}, in {}",
            plural(vote.wavering.len() as u64, "byte"),
            thousands(vote.image.len() as u64),
            if vote.wavering.len() == 1 {
                "wavers"
            } else {
                "waver"
            },
            plural(bits as u64, "bit")
        );
        let all: usize = vote.changed.iter().sum();
        let more = match &self.story {
            ReadsStory::AddressLine(_) | ReadsStory::ReadTooEarly if self.left == 0 => {
                "; each shows its own value or that one".to_owned()
            }
            ReadsStory::OddRead { read, .. } => format!(
                "; {} of {}, {} of all others",
                thousands(vote.changed[*read] as u64),
                name(reads, *read),
                self.left
            ),
            _ if self.left > 0 => format!(
                "; it leaves {} of {} changes over",
                thousands(self.left as u64),
                thousands(all as u64)
            ),
            _ => String::new(),
        };
        waver + &more
    }
}

/// The name of a read, or its number from 1 up.
fn name(reads: &[String], n: usize) -> String {
    match reads.get(n) {
        Some(name) => name.clone(),
        None => format!("read {}", n + 1),
    }
}

/// `a and b belong together, c is like none of them`.
fn belong(groups: &[Vec<usize>], reads: &[String]) -> String {
    let names = |group: &[usize]| -> String {
        let all: Vec<String> = group.iter().map(|&n| name(reads, n)).collect();
        match &all[..] {
            [] => String::new(),
            [one] => one.clone(),
            [first @ .., last] => format!("{} and {last}", first.join(", ")),
        }
    };
    if groups.iter().all(|group| group.len() == 1) {
        let all: Vec<usize> = groups.iter().flatten().copied().collect();
        return match all.len() {
            2 => format!("{} have nothing in common", names(&all)),
            n => format!("no two of these {n} have anything in common"),
        };
    }
    let mut said: Vec<String> = groups
        .iter()
        .take(NAMED)
        .map(|group| match group.len() {
            1 => format!("{} is like no other", names(group)),
            _ => format!("{} belong together", names(group)),
        })
        .collect();
    if groups.len() > NAMED {
        said.push(format!("and {} more contents", groups.len() - NAMED));
    }
    said.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_are_named_by_their_reads() {
        let reads: Vec<String> = ["a", "b", "c"].map(String::from).to_vec();
        let said = |groups: &[&[usize]]| {
            let groups: Vec<Vec<usize>> = groups.iter().map(|group| group.to_vec()).collect();
            belong(&groups, &reads)
        };
        assert_eq!(said(&[&[0], &[1]]), "a and b have nothing in common");
        assert_eq!(
            said(&[&[0], &[1], &[2]]),
            "no two of these 3 have anything in common"
        );
        assert_eq!(
            said(&[&[0, 2], &[1]]),
            "a and c belong together; b is like no other"
        );
        assert_eq!(
            said(&[&[0, 1, 2], &[3]]),
            "a, b and c belong together; read 4 is like no other"
        );
    }

    use crate::faults::reads::Reads;
    use crate::faults::story::Model;

    /// Five reads of 16 bytes of FF; in those given a byte shows another value.
    fn vote(shows: &[(usize, usize, u8)]) -> Vote {
        let mut reads = [[0xFFu8; 16]; 5];
        for &(read, at, byte) in shows {
            reads[read][at] = byte;
        }
        let reads: Vec<&[u8]> = reads.iter().map(|read| &read[..]).collect();
        Reads::new(reads).unwrap().vote()
    }

    fn told(story: ReadsStory, left: usize) -> ToldOfReads {
        let mut told = vote(&[]).told[0].clone();
        (told.story, told.left) = (story, left);
        told
    }

    #[test]
    fn each_story_is_said() {
        let (names, vote) = (Names::NONE, vote(&[(1, 3, 0xFE), (2, 9, 0xFC)]));
        let reads = ["one".to_owned()];
        let finding = |story, left| told(story, left).sentences(&vote, &reads, &names).finding;
        assert_eq!(finding(ReadsStory::Stable, 0), "The reads are all the same");
        assert_eq!(
            finding(ReadsStory::WeakCells, 0),
            "The same bits waver from read to read, like weak cells"
        );
        assert_eq!(
            finding(ReadsStory::Noise, 0),
            "Other bits are wrong in each read: the reading is disturbed, not the cells"
        );
        assert_eq!(
            finding(ReadsStory::ReadTooEarly, 0),
            "What wavers shows the byte before it: the chip may be read too early"
        );
        let d3 = || ReadsStory::DataLine(3);
        assert_eq!(finding(d3(), 0), "D3 wavers, and no other line does");
        assert_eq!(finding(d3(), 1), "D3 wavers more than all other lines");
        assert_eq!(
            finding(ReadsStory::AddressLine(2), 4),
            "A2 reaches the chip as 0 at one time and as 1 at another"
        );
        let odd = |read, shows| ReadsStory::OddRead { read, shows };
        assert_eq!(
            finding(odd(0, Oddity::Bits), 0),
            "one is the odd read out: the other 4 reads are the same"
        );
        assert_eq!(
            finding(odd(1, Oddity::DataLine(5)), 1),
            "read 2 is the odd read out: the other 4 reads are the same except for 1 bit, and it differs only on D5"
        );
        assert_eq!(
            finding(odd(1, Oddity::Only(0xFF)), 2),
            "read 2 is the odd read out: the other 4 reads are the same except for 2 bits, and it is FF throughout"
        );
        let story = Oddity::Story(Model::AllInverted.into());
        assert_eq!(
            finding(odd(0, story), 0),
            "one is the odd read out: the other 4 reads are the same, and compared with them: Every bit is inverted"
        );
    }

    /// Of two reads against one nothing is sure, of two the wanted image decides.
    #[test]
    fn what_the_others_are_worth() {
        let look = |reads: usize| {
            let images = vec![[0u8; 4]; reads];
            let vote = Reads::new(images.iter().map(|read| &read[..]).collect())
                .unwrap()
                .vote();
            let (read, shows) = (0, Oddity::Bits);
            let told = told(ReadsStory::OddRead { read, shows }, 0);
            told.sentences(&vote, &[], &Names::NONE)
        };
        assert!(look(2).finding.ends_with("the other one is as wanted"));
        assert!(
            look(2)
                .look_next
                .starts_with("Read once more. One right read")
        );
        assert!(look(3).look_next.starts_with("Two reads against one"));
        assert!(
            look(4)
                .look_next
                .starts_with("The majority is that of the other 3.")
        );
    }

    #[test]
    fn the_evidence_is_counted() {
        let one = vote(&[(1, 3, 0xFE)]);
        let two = vote(&[(1, 3, 0xFE), (2, 9, 0xFC)]);
        let because = |vote: &Vote, story, left| told(story, left).because(vote, &[]);
        assert_eq!(
            because(&one, ReadsStory::Noise, 0),
            "1 byte of 16 wavers, in 1 bit"
        );
        assert_eq!(
            because(&two, ReadsStory::Noise, 0),
            "2 bytes of 16 waver, in 3 bits"
        );
        assert_eq!(
            because(&two, ReadsStory::DataLine(0), 1),
            "2 bytes of 16 waver, in 3 bits; it leaves 1 of 3 changes over"
        );
        for story in [ReadsStory::AddressLine(2), ReadsStory::ReadTooEarly] {
            assert_eq!(
                because(&two, story.clone(), 0),
                "2 bytes of 16 waver, in 3 bits; each shows its own value or that one"
            );
            assert_eq!(
                because(&two, story, 2),
                "2 bytes of 16 waver, in 3 bits; it leaves 2 of 3 changes over"
            );
        }
        let (read, shows) = (2, Oddity::Bits);
        assert_eq!(
            because(&two, ReadsStory::OddRead { read, shows }, 1),
            "2 bytes of 16 waver, in 3 bits; 2 of read 3, 1 of all others"
        );
    }

    #[test]
    fn many_groups_are_not_all_named() {
        let said = |count: usize| {
            let groups: Vec<Vec<usize>> = (0..count).map(|n| vec![2 * n, 2 * n + 1]).collect();
            belong(&groups, &[])
        };
        assert!(
            said(6).ends_with("read 11 and read 12 belong together"),
            "{}",
            said(6)
        );
        assert!(said(8).ends_with("; and 2 more contents"), "{}", said(8));
    }
}
