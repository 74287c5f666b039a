//! Which chip of a known set is this read?
//!
//! A read is looked up whole and in the forms that people and machines put it in: as a half, a
//! bank or a lane, inverted, with its bytes swapped, repeated. What is known by its image is cut
//! into such forms; what is known by a sum only is looked for among the forms of the read, and
//! among two reads put together.

use std::collections::HashMap;

use crate::faults::{Case, Names, Verdict};
use crate::sums::Algo;

/// Shorter forms than this are no evidence.
const LEAST: usize = 64;
/// Unknown reads that are still tried in pairs.
const MOST_IN_PAIRS: usize = 32;
/// Known forms that a diagnosis is made against, the nearest first.
const MOST_DIAGNOSED: usize = 12;

/// A chip of the set.
#[derive(Clone, Debug)]
pub struct KnownChip {
    /// What it is called.
    pub name: String,
    /// Its content, or a sum of it.
    pub by: KnownBy,
}

/// What is known of a chip.
#[derive(Clone, Debug)]
pub enum KnownBy {
    /// All of it.
    Image(Vec<u8>),
    /// A sum, in hex of any case.
    Sum(Algo, String),
}

/// Which part of a content.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cut {
    /// All of it.
    Whole,
    /// One of so many equal blocks, counted from 0.
    Bank {
        /// Which.
        n: usize,
        /// Of how many: 2, 4, 8 or 16.
        of: usize,
    },
    /// The bytes at the addresses that are `n` mod `of`.
    Lane {
        /// Which.
        n: usize,
        /// Of how many: 2 or 4.
        of: usize,
    },
}

/// In what form one content stands for another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Form {
    /// Which part.
    pub cut: Cut,
    /// Every bit inverted.
    pub inverted: bool,
    /// The two bytes of each word exchanged.
    pub swapped: bool,
}

/// What a read is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// A form of a known chip, so many times over.
    Is {
        /// The chip, by its place in the list.
        known: usize,
        /// The form of it.
        form: Form,
        /// How often it stands in the read.
        times: usize,
    },
    /// A form of the read is a known chip whole.
    Holds {
        /// The chip.
        known: usize,
        /// The form of the read.
        form: Form,
    },
    /// Put together with another read, it is a known chip.
    With {
        /// The chip.
        known: usize,
        /// The part that this read is of it.
        cut: Cut,
        /// The other read, by its place in the list.
        other: usize,
    },
    /// Every byte is the same.
    Constant(u8),
    /// Nothing known.
    Unknown(Option<Nearest>),
}

/// The known chip that an unknown read is nearest to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Nearest {
    /// The chip.
    pub known: usize,
    /// The form of it.
    pub form: Form,
    /// Bytes that differ.
    pub differing: u64,
    /// Bytes compared.
    pub compared: u64,
    /// What the diagnosis finds first, when it finds something.
    pub finding: Option<String>,
}

impl Form {
    const WHOLE: Form = Form {
        cut: Cut::Whole,
        inverted: false,
        swapped: false,
    };

    /// Runs `with` on every form of the bytes that is no constant, the plainest first.
    fn all(bytes: &[u8], mut with: impl FnMut(Form, &[u8])) {
        let mut cuts = vec![Cut::Whole];
        for of in [2, 4, 8, 16] {
            cuts.extend((0..of).map(|n| Cut::Bank { n, of }));
        }
        for of in [2, 4] {
            cuts.extend((0..of).map(|n| Cut::Lane { n, of }));
        }
        for cut in cuts {
            let Some(mut part) = cut.of(bytes) else {
                continue;
            };
            for (inverted, swapped) in [(false, false), (true, false), (false, true), (true, true)]
            {
                if swapped && part.len() % 2 != 0 {
                    continue;
                }
                // Each step from one form to the next turns what differs between them.
                match (inverted, swapped) {
                    (true, false) => invert(&mut part),
                    (false, true) => {
                        invert(&mut part);
                        swap(&mut part);
                    }
                    (true, true) => invert(&mut part),
                    (false, false) => {}
                }
                with(
                    Form {
                        cut,
                        inverted,
                        swapped,
                    },
                    &part,
                );
            }
        }
    }

    /// This form of the bytes.
    fn of(self, bytes: &[u8]) -> Option<Vec<u8>> {
        let mut part = self.cut.of(bytes)?;
        if self.inverted {
            invert(&mut part);
        }
        if self.swapped {
            swap(&mut part);
        }
        Some(part)
    }
}

impl Cut {
    fn of(self, bytes: &[u8]) -> Option<Vec<u8>> {
        let fits = |of: usize| bytes.len() % of == 0 && bytes.len() / of >= LEAST;
        let part: Vec<u8> = match self {
            Cut::Whole => bytes.to_vec(),
            Cut::Bank { n, of } if fits(of) => {
                let size = bytes.len() / of;
                bytes[n * size..(n + 1) * size].to_vec()
            }
            Cut::Lane { n, of } if fits(of) => bytes.iter().skip(n).step_by(of).copied().collect(),
            _ => return None,
        };
        constant(&part).is_none().then_some(part)
    }
}

fn invert(bytes: &mut [u8]) {
    bytes.iter_mut().for_each(|byte| *byte = !*byte);
}

fn swap(bytes: &mut [u8]) {
    bytes.chunks_exact_mut(2).for_each(|word| word.swap(0, 1));
}

fn constant(bytes: &[u8]) -> Option<u8> {
    let (&first, rest) = bytes.split_first()?;
    rest.iter().all(|&byte| byte == first).then_some(first)
}

/// The shortest content whose repetition makes the bytes, by halving.
fn once(bytes: &[u8]) -> (&[u8], usize) {
    let (mut part, mut times) = (bytes, 1);
    while part.len() >= 2 * LEAST && part.len() % 2 == 0 {
        let (lower, upper) = part.split_at(part.len() / 2);
        if lower != upper {
            break;
        }
        (part, times) = (lower, 2 * times);
    }
    (part, times)
}

/// Everything that is known, by the sums of its forms.
struct Library<'k> {
    known: &'k [KnownChip],
    /// Forms of the chips known by their images, by SHA-256.
    forms: HashMap<String, (usize, Form)>,
    /// Whole chips, by each sum.
    whole: HashMap<(Algo, String), usize>,
    /// The sums that occur.
    algos: Vec<Algo>,
}

fn sum(algo: Algo, bytes: &[u8]) -> Option<String> {
    let sum = algo.sum(bytes).ok()?;
    Some(sum.to_string().to_ascii_lowercase())
}

impl<'k> Library<'k> {
    fn new(known: &'k [KnownChip]) -> Self {
        let mut library = Library {
            known,
            forms: HashMap::new(),
            whole: HashMap::new(),
            algos: Vec::new(),
        };
        for (n, chip) in known.iter().enumerate() {
            let (algo, value) = match &chip.by {
                KnownBy::Sum(algo, value) => (*algo, Some(value.to_ascii_lowercase())),
                KnownBy::Image(bytes) => {
                    Form::all(bytes, |form, part| {
                        let Some(key) = sum(Algo::SHA256, part) else {
                            return;
                        };
                        let entry = library.forms.entry(key).or_insert((n, form));
                        // The plainest form wins, whichever image it is of.
                        if form < entry.1 {
                            *entry = (n, form);
                        }
                    });
                    (Algo::SHA256, sum(Algo::SHA256, bytes))
                }
            };
            if let Some(value) = value {
                library.whole.entry((algo, value)).or_insert(n);
            }
            if !library.algos.contains(&algo) {
                library.algos.push(algo);
            }
        }
        library
    }

    /// The chip that is wholly these bytes.
    fn whole(&self, bytes: &[u8]) -> Option<usize> {
        self.algos.iter().find_map(|algo| {
            let key = (*algo, sum(*algo, bytes)?);
            self.whole.get(&key).copied()
        })
    }

    fn exact(&self, read: &[u8]) -> Option<Answer> {
        if let Some(known) = self.whole(read) {
            return Some(Answer::Is {
                known,
                form: Form::WHOLE,
                times: 1,
            });
        }
        let (part, times) = once(read);
        for (part, times) in [(read, 1), (part, times)] {
            let key = sum(Algo::SHA256, part)?;
            if let Some(&(known, form)) = self.forms.get(&key) {
                return Some(Answer::Is { known, form, times });
            }
            // What is known by its sum only: the read is turned instead.
            let mut found = None;
            Form::all(part, |form, turned| {
                if found.is_none() && form.cut == Cut::Whole {
                    found = self.whole(turned).map(|known| (known, form));
                }
            });
            if let Some((known, form)) = found {
                return Some(Answer::Is { known, form, times });
            }
        }
        let mut found = None;
        Form::all(part, |form, turned| {
            if found.is_none() && form.cut != Cut::Whole {
                found = self
                    .whole(turned)
                    .map(|known| Answer::Holds { known, form });
            }
        });
        found
    }

    /// The known chip that is nearest, of those known by their images.
    fn nearest(&self, read: &[u8]) -> Option<Nearest> {
        let (once, _) = once(read);
        let mut near: Vec<(usize, usize, Form)> = Vec::new();
        for (n, chip) in self.known.iter().enumerate() {
            let KnownBy::Image(bytes) = &chip.by else {
                continue;
            };
            Form::all(bytes, |form, part| {
                if part.len() == read.len() || part.len() == once.len() {
                    let differ = part.iter().zip(read).filter(|(a, b)| a != b).count();
                    let share = differ * 1000 / part.len();
                    near.push((share, n, form));
                }
            });
        }
        near.sort_unstable();
        near.truncate(MOST_DIAGNOSED);
        let mut best: Option<(u8, Nearest)> = None;
        for (share, known, form) in near {
            let KnownBy::Image(bytes) = &self.known[known].by else {
                continue;
            };
            let Some(part) = form.of(bytes) else {
                continue;
            };
            let read = &read[..part.len()];
            let Ok(found) = Case::new(&part, read).singles_only().diagnose() else {
                continue;
            };
            let rank = match found.verdict {
                Verdict::Certain => 0,
                Verdict::Likely => 1,
                Verdict::Possible => 2,
                // By chance half of the bits are equal, but hardly half of the bytes.
                _ if share < 500 => 3,
                _ => continue,
            };
            let candidate = found.candidates.first().filter(|_| rank < 3);
            let finding = candidate.and_then(|c| c.equals.first());
            if best.as_ref().is_none_or(|(other, _)| rank < *other) {
                let nearest = Nearest {
                    known,
                    form,
                    differing: found.differences.bytes as u64,
                    compared: part.len() as u64,
                    finding: finding.map(|e| e.sentences(&Names::NONE).finding),
                };
                best = Some((rank, nearest));
            }
        }
        best.map(|(_, nearest)| nearest)
    }
}

/// What each read is, in the reads' order.
pub fn recognise(reads: &[&[u8]], known: &[KnownChip]) -> Vec<Answer> {
    let library = Library::new(known);
    let mut answers: Vec<Answer> = reads
        .iter()
        .map(|read| match (constant(read), library.exact(read)) {
            (_, Some(answer)) => answer,
            (Some(value), None) => Answer::Constant(value),
            (None, None) => Answer::Unknown(None),
        })
        .collect();
    let open: Vec<usize> = (0..reads.len())
        .filter(|n| matches!(answers[*n], Answer::Unknown(_)))
        .collect();
    if open.len() <= MOST_IN_PAIRS {
        in_pairs(reads, &open, &library, &mut answers);
    }
    for n in open {
        if matches!(answers[n], Answer::Unknown(_)) {
            answers[n] = Answer::Unknown(library.nearest(reads[n]));
        }
    }
    answers
}

/// Two reads that are a known chip as its lanes or halves.
fn in_pairs(reads: &[&[u8]], open: &[usize], library: &Library, answers: &mut [Answer]) {
    for &a in open {
        for &b in open {
            if a == b || reads[a].len() != reads[b].len() {
                continue;
            }
            let woven: Vec<u8> = reads[a]
                .iter()
                .zip(reads[b])
                .flat_map(|(a, b)| [*a, *b])
                .collect();
            let follows = [reads[a], reads[b]].concat();
            let lane = |n| Cut::Lane { n, of: 2 };
            let bank = |n| Cut::Bank { n, of: 2 };
            for (whole, one, two) in [(woven, lane(0), lane(1)), (follows, bank(0), bank(1))] {
                if let Some(known) = library.whole(&whole) {
                    answers[a] = Answer::With {
                        known,
                        cut: one,
                        other: b,
                    };
                    answers[b] = Answer::With {
                        known,
                        cut: two,
                        other: a,
                    };
                }
            }
        }
    }
}

/// A line of a list of sums that can't be used.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "line {line}: {problem}: write a sum in hex and a name, as `sha256sum`, `sha1sum` and `md5sum` print them, or 8 digits of CRC-32"
)]
pub struct ListError {
    /// The line, counted from 1.
    pub line: usize,
    /// What is wrong.
    pub problem: String,
}

crate::prose::debug_as_display!(ListError);

/// Reads a list of known sums: `HEX  name`, `HEX *name`, or `SHA256 (name) = HEX`, one a line; `#`
/// starts a comment. `None` when the first line is nothing of the kind: then it is no such list.
///
/// # Errors
/// [`ListError`] for a later line that is not.
pub fn sums_of_list(text: &str) -> Result<Option<Vec<KnownChip>>, ListError> {
    let mut known = Vec::new();
    let lines = text.lines().map(str::trim).enumerate();
    for (n, line) in lines.filter(|(_, l)| !l.is_empty() && !l.starts_with('#')) {
        match sum_of_line(line) {
            Ok(chip) => known.push(chip),
            Err(_) if known.is_empty() => return Ok(None),
            Err(problem) => {
                return Err(ListError {
                    line: n + 1,
                    problem,
                });
            }
        }
    }
    Ok((!known.is_empty()).then_some(known))
}

fn sum_of_line(line: &str) -> Result<KnownChip, String> {
    let (digits, name) = match line.rsplit_once(") = ") {
        Some((front, digits)) => {
            let name = front.split_once(" (").map(|(_, name)| name);
            (digits, name.ok_or("no name in front of the sum")?)
        }
        None => {
            // A name with a backslash or a line end in it has a backslash before the sum.
            let line = line.strip_prefix('\\').unwrap_or(line);
            let (digits, name) = line
                .split_once(char::is_whitespace)
                .ok_or("no name behind the sum")?;
            let name = name.trim_start();
            (digits, name.strip_prefix('*').unwrap_or(name))
        }
    };
    if name.is_empty() {
        return Err("no name behind the sum".into());
    }
    let shown: String = digits
        .chars()
        .take(70)
        .flat_map(char::escape_debug)
        .collect();
    if !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return Err(format!("`{shown}` is no sum in hex"));
    }
    let algo = match digits.len() {
        8 => Algo::CRC32,
        32 => Algo::MD5,
        40 => Algo::SHA1,
        64 => Algo::SHA256,
        n => {
            return Err(format!(
                "a sum of {n} digits is none of CRC-32 (8), MD5 (32), SHA-1 (40), SHA-256 (64)"
            ));
        }
    };
    Ok(KnownChip {
        name: name.into(),
        by: KnownBy::Sum(algo, digits.into()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    fn random(seed: u32, size: usize) -> Vec<u8> {
        Pattern::Random { seed }.image(size).unwrap()
    }

    fn image(name: &str, bytes: &[u8]) -> KnownChip {
        KnownChip {
            name: name.into(),
            by: KnownBy::Image(bytes.to_vec()),
        }
    }

    fn is(form: Form, times: usize) -> Answer {
        Answer::Is {
            known: 1,
            form,
            times,
        }
    }

    #[test]
    fn every_form_of_an_image_is_known() {
        let (other, rom) = (random(1, 1024), random(2, 1024));
        let known = [image("other", &other), image("rom", &rom)];
        let mut count = 0;
        Form::all(&rom, |form, part| {
            assert_eq!(form.of(&rom).unwrap(), part);
            assert_eq!(recognise(&[part], &known), [is(form, 1)]);
            let twice = [part, part].concat();
            assert_eq!(recognise(&[&twice], &known), [is(form, 2)]);
            count += 1;
        });
        assert_eq!(count, 4 * (1 + 30 + 6));
    }

    #[test]
    fn a_sum_is_enough() {
        let rom = random(2, 4096);
        let list = |algo: Algo| {
            let sum = sum(algo, &rom).unwrap().to_uppercase();
            sums_of_list(&format!("# ours\n{sum} *rom.bin\n"))
                .unwrap()
                .unwrap()
        };
        let mut inverted = rom.clone();
        invert(&mut inverted);
        let larger = [random(3, 4096), rom.clone()].concat();
        let (even, odd): (Vec<u8>, Vec<u8>) =
            rom.chunks_exact(2).map(|word| (word[0], word[1])).unzip();
        for algo in [Algo::CRC32, Algo::MD5, Algo::SHA1, Algo::SHA256] {
            let reads = [&rom[..], &inverted, &larger, &odd, &even, &[0xFF; 128]];
            let answers = recognise(&reads, &list(algo));
            let whole = |inverted| Answer::Is {
                known: 0,
                form: Form {
                    inverted,
                    ..Form::WHOLE
                },
                times: 1,
            };
            assert_eq!(answers[0], whole(false));
            assert_eq!(answers[1], whole(true));
            let upper = Form {
                cut: Cut::Bank { n: 1, of: 2 },
                ..Form::WHOLE
            };
            assert_eq!(
                answers[2],
                Answer::Holds {
                    known: 0,
                    form: upper
                }
            );
            let lane = |n, other| Answer::With {
                known: 0,
                cut: Cut::Lane { n, of: 2 },
                other,
            };
            assert_eq!(answers[3..5], [lane(1, 4), lane(0, 3)]);
            assert_eq!(answers[5], Answer::Constant(0xFF));
        }
    }

    #[test]
    fn the_nearest_and_what_is_wrong_with_it() {
        let (other, rom) = (random(1, 4096), random(2, 4096));
        let known = [image("other", &other), image("rom", &rom)];
        let odd: Vec<u8> = rom.iter().skip(1).step_by(2).copied().collect();
        let bad: Vec<u8> = odd.iter().map(|byte| byte | 0x08).collect();
        let answers = recognise(&[&bad, &random(9, 4096)], &known);
        let Answer::Unknown(Some(near)) = &answers[0] else {
            panic!("{answers:?}");
        };
        assert_eq!((near.known, near.form.cut), (1, Cut::Lane { n: 1, of: 2 }));
        assert_eq!(
            near.finding.as_deref(),
            Some("D3 never moves, it reads 1 everywhere")
        );
        assert_eq!(answers[1], Answer::Unknown(None));
    }

    #[test]
    fn forms_are_whole_and_long_enough_to_be_evidence() {
        for cut in [Cut::Bank { n: 1, of: 2 }, Cut::Lane { n: 1, of: 2 }] {
            let form = Form { cut, ..Form::WHOLE };
            let len = |size| form.of(&random(1, size)).map(|part| part.len());
            assert_eq!(len(2 * LEAST), Some(LEAST));
            assert_eq!(len(2 * LEAST - 2), None);
            assert_eq!(len(2 * LEAST + 1), None);
        }
    }

    #[test]
    fn what_repeats_is_halved_while_it_is_evidence() {
        let part = random(1, LEAST);
        assert_eq!(once(&part.repeat(4)), (&part[..], 4));
        assert_eq!(once(&part.repeat(3)).1, 1);
        // Halves too short to tell anything stay together.
        let short = random(1, LEAST / 2);
        assert_eq!(once(&short.repeat(4)), (&short.repeat(2)[..], 2));
        let shorter = random(1, LEAST - 1);
        assert_eq!(once(&shorter.repeat(2)).1, 1);
    }

    /// The answer about one read when these are known.
    fn nearest(read: &[u8], known: &[KnownChip]) -> Option<Nearest> {
        match recognise(&[read], known).remove(0) {
            Answer::Unknown(nearest) => nearest,
            other => panic!("{other:?}"),
        }
    }

    /// The bytes with so many of them changed, evenly spread, each in some bits.
    fn noisy(bytes: &[u8], changed: usize) -> Vec<u8> {
        let mut noisy = bytes.to_vec();
        let noise = random(77, bytes.len());
        for n in 0..changed {
            let at = n * bytes.len() / changed;
            noisy[at] ^= noise[at].max(1);
        }
        noisy
    }

    #[test]
    fn half_of_the_bytes_by_chance_are_not_near() {
        let rom = random(2, 4096);
        let known = [image("rom", &rom)];
        let near = nearest(&noisy(&rom, 2047), &known).unwrap();
        assert_eq!((near.differing, near.compared), (2047, 4096));
        assert_eq!(near.finding, None);
        assert_eq!(nearest(&noisy(&rom, 2048), &known), None);
    }

    #[test]
    fn an_explained_read_is_nearer_than_one_with_fewer_differences() {
        let rom = random(2, 4096);
        let stuck: Vec<u8> = rom.iter().map(|byte| byte | 0x08).collect();
        // Every sixteenth byte of this one differs from the read, for no reason there is.
        let close = noisy(&stuck, 256);
        let closer = noisy(&stuck, 128);
        let known = [
            image("close", &close),
            image("closer", &closer),
            image("rom", &rom),
        ];
        let near = nearest(&stuck, &known).unwrap();
        assert_eq!(near.known, 2);
        assert!(near.finding.is_some());
        // Of two that nothing explains the nearer one.
        for known in [&known[..2], &[known[1].clone(), known[0].clone()]] {
            let near = nearest(&stuck, known).unwrap();
            assert_eq!(
                (known[near.known].name.as_str(), near.differing),
                ("closer", 128)
            );
            assert_eq!(near.finding, None);
        }
        // A larger chip that holds it twice is as near.
        let near = nearest(&stuck.repeat(2), &known[2..]).unwrap();
        assert_eq!((near.known, near.compared), (0, 4096));
        assert!(near.finding.is_some());
    }

    #[test]
    fn a_likely_and_a_possible_fault_are_named_too() {
        let rom = random(2, 4096);
        let known = [image("rom", &rom)];
        let mut likely: Vec<u8> = rom.iter().map(|byte| byte | 0x08).collect();
        likely[77] ^= 0x40;
        let near = nearest(&likely, &known).unwrap();
        let finding = near.finding.unwrap();
        assert!(finding.starts_with("D3 never moves"), "{finding}");
        let mut possible = rom.clone();
        possible[2000] ^= possible[2000] & 0x10 | !possible[2000] & 0x20;
        let near = nearest(&possible, &known).unwrap();
        assert!(near.finding.is_some());
    }

    #[test]
    fn a_read_is_no_pair_with_itself() {
        let lane = random(2, 1024);
        let both: Vec<u8> = lane.iter().flat_map(|byte| [*byte, *byte]).collect();
        let sum = sum(Algo::SHA256, &both).unwrap();
        let known = sums_of_list(&format!("{sum}  both")).unwrap().unwrap();
        assert_eq!(recognise(&[&lane], &known), [Answer::Unknown(None)]);
        // Two reads of it are.
        let pair = recognise(&[&lane, &lane], &known);
        assert!(matches!(pair[0], Answer::With { other: 1, .. }), "{pair:?}");
        // Lanes of unlike lengths are none.
        let reads = [&lane[..], &lane[..1000]];
        assert_eq!(
            recognise(&reads, &known),
            [(), ()].map(|()| Answer::Unknown(None))
        );
    }

    #[test]
    fn lists_of_sums() {
        let md5 = "d41d8cd98f00b204e9800998ecf8427e";
        let names = |text: &str| -> Vec<String> {
            let known = sums_of_list(text).unwrap().unwrap();
            known.into_iter().map(|chip| chip.name).collect()
        };
        assert_eq!(
            names(&format!(
                "\n# c\n{md5}  a b.bin\n{md5} *c\nMD5 (d (2)) = {md5}\n"
            )),
            ["a b.bin", "c", "d (2)"]
        );
        assert_eq!(names("00000000 nothing"), ["nothing"]);
        assert!(sums_of_list(":00000001FF\n").unwrap().is_none());
        assert!(sums_of_list("").unwrap().is_none());
        let error = sums_of_list("00000000 nothing\n123 x").unwrap_err();
        assert_eq!((error.line, error.problem.contains("3 digits")), (2, true));
        assert!(sums_of_list("00000000 nothing\n0000000\u{e9}").is_err());
    }
}
