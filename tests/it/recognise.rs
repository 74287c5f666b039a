//! Which chip of a known set is it: reads of every form over made-up contents, and the command.
//!
//! `ROMLOOM_THOROUGH=1 cargo test --profile thorough --test it recognise:: -- --nocapture` tries all and prints the counts.

use romloom::faults::Pattern;
use romloom::identify::{Recognised, Recogniser};

use insta::assert_snapshot;

use crate::support::bench::Folder;
use crate::support::broken::Chance;
use crate::support::contents::{Content, Kind};
use crate::support::thorough;

/// A chip's content of a kind, of 1 << `lines` bytes.
fn content(kind: Kind, seed: u64, lines: u32) -> Vec<u8> {
    Content { kind, lines, seed }.bytes()
}

/// Some chip of a small processor.
fn program(seed: u64, lines: u32) -> Vec<u8> {
    content(Kind::M6502, seed, lines)
}

/// The forms that are exact: nothing but a part of the known chip, or the known chip and something beside it.
const EXACT: [&str; 18] = [
    "whole",
    "lower half",
    "upper half",
    "even lane",
    "odd lane",
    "lane 2 of 4",
    "bank 3 of 8",
    "twice",
    "four times",
    "padded with FF",
    "padded with 00",
    "padded with 1A",
    "FF before it",
    "cut short",
    "header",
    "a stretch",
    "bank and fixed bank",
    "words swapped",
];
/// The forms in which something is wrong.
const NEAR: [&str; 18] = [
    "inverted",
    "one bit",
    "twenty bits",
    "another version",
    "D3 at 0",
    "D3 inverted",
    "A5 at 0",
    "A1 at 0",
    "A0 at 1",
    "A2 and A4 swapped",
    "A9 at 0 while burning",
    "banks mixed",
    "bytes lost",
    "one bit in a lane",
    "one bit in a bank",
    "D6 at 1 in a half",
    "A3 at 0 in a lane",
    "header and one bit",
];
/// Reads of what is not known.
const STRANGE: [&str; 2] = ["another content", "random"];

fn lane(image: &[u8], n: usize, of: usize) -> Vec<u8> {
    image.iter().copied().skip(n).step_by(of).collect()
}

/// Whether one content is in the other as it is.
fn holds(image: &[u8], part: &[u8]) -> bool {
    image.windows(part.len()).any(|window| window == part)
}

fn flipped(mut image: Vec<u8>, chance: &mut Chance) -> Vec<u8> {
    let at = chance.below(image.len());
    image[at] ^= 1 << chance.below(8);
    image
}

/// A known chip as it is read in a form.
fn in_form(form: &str, image: &[u8], chance: &mut Chance) -> Vec<u8> {
    let size = image.len();
    let read = |through: &dyn Fn(usize) -> usize| (0..size).map(|a| image[through(a)]).collect();
    match form {
        "whole" => image.to_vec(),
        "lower half" => image[..size / 2].to_vec(),
        "upper half" => image[size / 2..].to_vec(),
        "even lane" => lane(image, 0, 2),
        "odd lane" => lane(image, 1, 2),
        "lane 2 of 4" => lane(image, 2, 4),
        "bank 3 of 8" => image[3 * size / 8..size / 2].to_vec(),
        "twice" => image.repeat(2),
        "four times" => image.repeat(4),
        "padded with FF" => [image, &vec![0xFF; size]].concat(),
        "padded with 00" => [image, &vec![0; 1 + chance.below(size)]].concat(),
        "padded with 1A" => [image, &vec![0x1A; 1 + chance.below(300)]].concat(),
        "FF before it" => [&vec![0xFF; size], image].concat(),
        "cut short" => image[..size - size / 8 - 3].to_vec(),
        "header" => {
            let header: Vec<u8> = (0..16).map(|_| chance.below(256) as u8).collect();
            [&header, image].concat()
        }
        "a stretch" => image[size / 7..size / 2].to_vec(),
        "bank and fixed bank" => [&image[size / 8..size / 4], &image[7 * size / 8..]].concat(),
        "words swapped" => read(&|a| a ^ 1),
        "inverted" => image.iter().map(|byte| !byte).collect(),
        "one bit" => flipped(image.to_vec(), chance),
        "twenty bits" => (0..20).fold(image.to_vec(), |read, _| flipped(read, chance)),
        "another version" => {
            let mut read = image.to_vec();
            let at = chance.below(size / 2 - 200);
            read[at..at + 150].fill_with(|| chance.below(256) as u8);
            read
        }
        "D3 at 0" => image.iter().map(|byte| byte & !8).collect(),
        "D3 inverted" => image.iter().map(|byte| byte ^ 8).collect(),
        "A5 at 0" => read(&|a| a & !32),
        "A1 at 0" => read(&|a| a & !2),
        "A0 at 1" => read(&|a| a | 1),
        "A2 and A4 swapped" => read(&|a| a & !0x14 | (a >> 2 & 4) | (a << 2 & 16)),
        "A9 at 0 while burning" => (0..size)
            .map(|a| match a & 512 {
                0 => image[a] & image[a | 512],
                _ => 0xFF,
            })
            .collect(),
        "banks mixed" => {
            let bank = size / 8;
            let banks = [3, 1, 0, 2, 6, 7, 5, 4].into_iter();
            banks
                .flat_map(|n| image[n * bank..][..bank].to_vec())
                .collect()
        }
        "bytes lost" => {
            let mut read = image.to_vec();
            read.drain(size / 3..size / 3 + 17);
            read.resize(size, 0xFF);
            read
        }
        "one bit in a lane" => flipped(lane(image, 1, 2), chance),
        "one bit in a bank" => flipped(image[size / 4..3 * size / 8].to_vec(), chance),
        "D6 at 1 in a half" => image[..size / 2].iter().map(|byte| byte | 0x40).collect(),
        "A3 at 0 in a lane" => {
            let lane = lane(image, 0, 2);
            (0..lane.len()).map(|a| lane[a & !8]).collect()
        }
        "header and one bit" => {
            let read = flipped(image.to_vec(), chance);
            [&[0x48, 0x38, 1, 0, 0x10, 0, 0, 0x80][..], &read].concat()
        }
        _ => panic!("{form}"),
    }
}

#[derive(Clone, Copy, Default)]
struct Count {
    right: usize,
    certain: usize,
    likely: usize,
    nearest: usize,
    wrong: usize,
    certain_and_wrong: usize,
    of: usize,
}

/// Reads of every form among contents of every kind, some of which are versions, halves and lanes of others.
fn counted(references: usize, rounds: usize, seed: u64) -> Vec<(&'static str, Count)> {
    let mut chance = Chance(seed);
    let mut library: Vec<Vec<u8>> = Vec::new();
    for n in 0..references {
        let kind = Kind::REAL[n % Kind::REAL.len()];
        library.push(content(kind, chance.next(), 12 + chance.below(3) as u32));
    }
    for n in 0..3 {
        let mut version = library[n].clone();
        for _ in 0..12 {
            let at = chance.below(version.len());
            version[at] ^= 1 + chance.below(255) as u8;
        }
        library.push(version);
    }
    library.push(library[4][..library[4].len() / 2].to_vec());
    library.push(lane(&library[5], 0, 2));
    let (mut cases, mut reads) = (Vec::new(), Vec::new());
    for _ in 0..rounds {
        for form in EXACT.iter().chain(&NEAR).copied() {
            let n = 8 + chance.below(references - 8);
            let read = in_form(form, &library[n], &mut chance);
            // A form that changes nothing visible, such as half of a chip that is blank there, is no case.
            if read.iter().filter(|byte| **byte != read[0]).count() >= 64 {
                cases.push((form, Some(n)));
                reads.push(read);
            }
        }
        for form in STRANGE {
            cases.push((form, None));
            reads.push(match form {
                "random" => Pattern::Random {
                    seed: 1 + chance.below(9999) as u32,
                }
                .image(8192)
                .unwrap(),
                _ => content(chance.pick(&Kind::REAL), chance.next(), 13),
            });
        }
    }
    let slices: Vec<&[u8]> = reads.iter().map(Vec::as_slice).collect();
    let mut recogniser = Recogniser::new(&slices);
    for content in &library {
        recogniser.look_at(content);
    }
    let found = recogniser.answers(|n| Ok::<_, ()>(&library[n])).unwrap();
    let forms = EXACT.iter().chain(&NEAR).chain(&STRANGE);
    let mut counts: Vec<(&str, Count)> = forms.map(|form| (*form, Count::default())).collect();
    for ((form, truth), found) in cases.into_iter().zip(found) {
        let count = &mut counts.iter_mut().find(|(name, _)| *name == form).unwrap().1;
        let named = found.matches.first().map(|first| first.known);
        // A form of one chip may be one of another, too, which is no less true: then both are named, or one is in the other.
        let told = found.matches.iter().any(|one| Some(one.known) == truth);
        let right = match (truth, named) {
            (Some(truth), Some(named)) => told || holds(&library[truth], &library[named]),
            (None, named) => named.is_none(),
            (Some(_), None) => false,
        };
        let certain = found.answer == Recognised::Is;
        count.of += 1;
        count.right += usize::from(right);
        count.certain += usize::from(certain);
        count.likely += usize::from(found.answer == Recognised::IsLikely);
        count.nearest += usize::from(found.answer == Recognised::Nearest);
        count.wrong += usize::from(!right && named.is_some());
        count.certain_and_wrong += usize::from(certain && !right);
        if !right {
            println!(
                "{form} of {truth:?}: {:?} {:?}",
                found.answer,
                found.matches.first()
            );
        }
    }
    counts
}

#[test]
fn every_form_is_told_and_no_stranger() {
    let (references, rounds, seeds) = if thorough() { (64, 10, 4) } else { (16, 1, 1) };
    let mut all: Vec<(&str, Count)> = Vec::new();
    for seed in 0..seeds {
        let counts = counted(references, rounds, 7_000 + seed);
        if all.is_empty() {
            all = counts;
            continue;
        }
        for ((_, all), (_, new)) in all.iter_mut().zip(counts) {
            all.right += new.right;
            all.certain += new.certain;
            all.likely += new.likely;
            all.nearest += new.nearest;
            all.wrong += new.wrong;
            all.certain_and_wrong += new.certain_and_wrong;
            all.of += new.of;
        }
    }
    println!("form | reads | right | is | likely | nearest | wrong | certain and wrong");
    for (form, count) in &all {
        println!(
            "{form} | {} | {} | {} | {} | {} | {} | {}",
            count.of,
            count.right,
            count.certain,
            count.likely,
            count.nearest,
            count.wrong,
            count.certain_and_wrong
        );
    }
    let sum = |names: &[&str], of: fn(&Count) -> usize| -> usize {
        let rows = all.iter().filter(|(form, _)| names.contains(form));
        rows.map(|(_, count)| of(count)).sum()
    };
    for names in [&EXACT[..], &NEAR, &STRANGE] {
        assert_eq!(sum(names, |count| count.certain_and_wrong), 0);
    }
    assert_eq!(
        sum(&EXACT, |count| count.right),
        sum(&EXACT, |count| count.of)
    );
    assert!(20 * sum(&NEAR, |count| count.right) >= 19 * sum(&NEAR, |count| count.of));
    assert_eq!(sum(&STRANGE, |count| count.certain), 0);
}

/// What a run prints that ends with exit code 1 and says nothing on standard error.
fn says_no(folder: &Folder, line: &str) -> String {
    let ran = folder.run(line);
    assert_eq!((ran.code, ran.err.as_str()), (1, ""), "{line}\n{}", ran.out);
    ran.out
}

/// The chips of the sample computers, in mixed forms, one of them bad.
#[test]
fn a_box_of_chips_sorts_itself() {
    let folder = Folder::new();
    let (eight, sixteen) = (
        crate::support::recipes::run_recipe("heron-8"),
        crate::support::recipes::run_recipe("heron-16"),
    );
    let chip = eight.file("out/heron-8.bin");
    let (even, odd) = (
        sixteen.file("out/heron-16-even.bin"),
        sixteen.file("out/heron-16-odd.bin"),
    );
    let woven: Vec<u8> = even.iter().zip(&odd).flat_map(|(a, b)| [*a, *b]).collect();
    folder.put("heron-8.bin", &chip);
    folder.put("heron-16.bin", &woven);
    folder.put("u1.bin", &chip[0x4000..]);
    folder.put("u2.bin", &odd);
    folder.put("u3.bin", chip.iter().map(|byte| !byte).collect::<Vec<u8>>());
    folder.put("u4.bin", [&even[..], &even].concat());
    let low: Vec<u8> = (0..odd.len()).map(|a| odd[a & !0x08]).collect();
    folder.put("u5.bin", low);
    folder.put("u6.bin", [0xFF; 8192]);
    let line =
        "recognise u1.bin u2.bin u3.bin u4.bin u5.bin u6.bin --among heron-8.bin heron-16.bin";
    assert_snapshot!(says_no(&folder, line), @r"
    u1.bin   is the upper half of heron-8.bin
    u2.bin   is the odd lane of heron-16.bin
    u3.bin   is heron-8.bin, inverted
    u4.bin   is the even lane of heron-16.bin, twice over
    u5.bin   is the odd lane of heron-16.bin, but 151 of 32,768 bytes differ
             The chip sees A3 as 0 everywhere
    u6.bin   is all FF: blank, not selected or not there
    ");
    let ran = folder.run(&format!("{line} --json"));
    let found: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(found["step"], "recognise");
    let second = &found["reads"][1]["matches"][0];
    assert_eq!(second["known"], "heron-16.bin");
    assert_eq!(
        second["form"]["lane"],
        serde_json::json!({ "n": 1, "of": 2 })
    );
    let answers = ["is", "is", "is", "is", "is", "constant"];
    let told = found["reads"].as_array().unwrap().iter();
    assert!(told.map(|read| &read["answer"]).eq(answers));

    // By sums alone: the list of the whole machine's images, and lanes that make one of them.
    let sum = |name: &str, algo: &str| {
        let out = folder.ok(&format!("load {name} + digest {algo}")).out;
        out.split_whitespace().last().unwrap().to_owned()
    };
    let crc = folder.ok("load heron-8.bin + digest crc32 --json").out;
    let crc: serde_json::Value = serde_json::from_str(&crc).unwrap();
    folder.put(
        "known.txt",
        format!(
            "# from the maker's disk\n{}  heron-16.bin\n{} *heron-8.bin\n",
            sum("heron-16.bin", "sha256"),
            crc["pieces"][0]["sums"][0]["value"].as_str().unwrap()
        ),
    );
    folder.put("u7.bin", &even);
    assert_snapshot!(folder.ok("recognise u3.bin u2.bin u7.bin --among known.txt").out, @r"
    u3.bin   is heron-8.bin, inverted
    u2.bin   is the odd lane of heron-16.bin, beside u7.bin
    u7.bin   is the even lane of heron-16.bin, beside u2.bin
    ");
    folder.put("bad.txt", "00000000 nothing\n12 x\n");
    let ran = folder.run("recognise u1.bin --among bad.txt");
    assert_eq!(ran.code, 2);
    assert!(
        ran.err
            .contains("bad.txt: line 2: no known sum has 2 digits"),
        "{}",
        ran.err
    );
}

/// A folder of known chips and a box of reads, with files of every kind in both.
#[test]
fn folders_are_read_as_they_are() {
    let folder = Folder::new();
    let (one, two) = (program(1, 12), program(2, 13));
    folder.put("known/one.bin", &one);
    folder.put("known/one of the spare box.u7", &one);
    folder.put("known/two", &two);
    folder.put("known/.hidden", "no");
    folder.put("known/more/three.bin", program(3, 12));
    folder.put("known/broken.hex", ":0480000010111213FF\n");
    folder.put("known/empty.bin", "");
    folder.put("known/notes.txt", "the lower shelf\n");
    folder.put("box/a.u1", &one);
    folder.put("box/b.ic2", &two[4096..]);
    assert_snapshot!(folder.ok("recognise box --among known").out, @r"
    box/a.u1    is known/one of the spare box.u7
                also known/one.bin
    box/b.ic2   is the upper half of known/two
    left out: known/more: a folder inside the folder
    left out: known/broken.hex: line 1: the checksum is wrong
    left out: known/empty.bin: there is no data in this file
    left out: known/notes.txt: the format can't be told from the content or the file name
    ");
    // A folder that the reads are in: none is held against itself.
    assert_snapshot!(folder.run("recognise box/a.u1 --among box").out, @r"
    box/a.u1   is unknown
    not among these reads: box/b.ic2
    tried: 1 reference
    left out: box/a.u1: one of the reads
    ");
}

/// Finding of the attacker: a list of a quarter of a million sums was no list.
#[test]
fn a_list_may_be_of_any_size() {
    let folder = Folder::new();
    let image = program(1, 12);
    folder.put("chip.bin", &image);
    let sha256 = |name: &str| {
        let out = folder.ok(&format!("load {name} + digest sha256")).out;
        out.split_whitespace().last().unwrap().to_owned()
    };
    let sum = sha256("chip.bin");
    let mut chance = Chance(5);
    let mut list = String::from("# more than 16 MiB of sums\n\n");
    for n in 0..250_000 {
        let digits: String = (0..4).map(|_| format!("{:016x}", chance.next())).collect();
        list += &format!("{digits}  chip {n}.bin\n");
    }
    // The same sum twice, and the same name twice.
    list += &format!("{sum}  the one.bin\n{sum} *the other.bin\n{sum}  the one.bin\n");
    folder.put("sums", list);
    assert_snapshot!(folder.ok("recognise chip.bin --among sums").out, @r"
    chip.bin   is the one.bin
               also the other.bin
    not among these reads: 250,000 of 250,003 known chips
    ");
    folder.put("stranger.bin", program(2, 12));
    assert_snapshot!(says_no(&folder, "recognise stranger.bin --among sums"), @r"
    stranger.bin   is unknown
    not among these reads: 250,003 of 250,003 known chips
    tried: 1 list with 250,003 sums
    ");
}

#[test]
fn what_can_not_be_looked_up_is_refused() {
    let folder = Folder::new();
    folder.put("chip.bin", program(1, 12));
    folder.put("empty/.hidden", "");
    folder.put("blank.bin", "");
    for (line, says) in [
        (
            "recognise chip.bin --among empty",
            "there is nothing to compare the reads with",
        ),
        ("recognise empty --among chip.bin", "there is no read"),
        (
            "recognise chip.bin --among blank.bin",
            "there is no data in this file",
        ),
        (
            "recognise chip.bin --among -",
            "what is known can't be read from standard input",
        ),
        (
            "recognise chip.bin --among none.bin",
            "none.bin: no such file",
        ),
    ] {
        let ran = folder.run(line);
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.err.contains(says), "{line}: {}", ran.err);
    }
}
