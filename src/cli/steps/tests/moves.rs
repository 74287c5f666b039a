//! A step that moves bytes must say so, or `cpu:` addresses and stored sums lead astray. Every step runs over a seated,
//! stamped chip in which each word is different, so that it shows what has moved.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use clap::Command;

use super::support::bench;
use crate::cli::bench::Bench;
use crate::cli::steps::STEPS;
use crate::image::Image;

/// Bytes of the chip, a 27C32.
const SIZE: u64 = 0x1000;

/// What is run after the setup; the last step of each line is the one that is looked at.
const LINES: &[&str] = &[
    "load more.bin --at 0x10 --as raw --clash last",
    "pattern walk 16",
    "hollow 80 --least 1 + fill EE 0-0xFF",
    "hollow 80 --least 1",
    "keep 0-0x7FF",
    "drop 0x100-0x1FF",
    "drop 0x800-0xFFF + relocate --by +0x100",
    "relocate --to 0",
    "pad 4K --with 00",
    "repeat 4K",
    "copy 0-0xF --to 0x100 --clash last",
    "find 0180",
    "unseat",
    "split lanes 2",
    "split banks 1K",
    "load more.bin --at 0x1000 --as raw --apart + join --name all",
    "spread 0-0xF --bank-size 1K --replace",
    "swap 2",
    "swap 4",
    "rewire --address 1,0",
    "rewire --address 0,1,2,3,4,5,6,7,8,9,11,10",
    "rewire --data 7,6,5,4,3,2,1,0",
    "rewire --inverted A11",
    "rewire --invert-data",
    "patch 0x10 EEEE",
    "patch cpu:0x8010 EEEE",
    "mark 0x20 text --replace",
    "stamp crc32 --across 0-0xF --at 0x30 --replace",
    "expect full",
    "burnable chip.bin",
    "compare chip.bin",
    "load chip.bin --as raw --apart --name second + vote --name chip --tie hole",
    "diagnose",
    "digest",
    "show",
    "write out.bin",
    "sheet out.html",
];

/// Words of which none is another one with its bytes swapped.
fn program() -> Vec<u8> {
    let words = 0..SIZE / 2;
    words
        .flat_map(|n| [(n % 64) as u8, 0x80 + (n / 64) as u8])
        .collect()
}

fn run(bench: &mut Bench, line: &str) {
    let words: Vec<&str> = line.split(' ').collect();
    let entry = STEPS.iter().find(|step| step.name == words[0]).unwrap();
    let root = Command::new("romloom").subcommand(entry.command());
    let words = std::iter::once("romloom").chain(words);
    let mut matches = root.try_get_matches_from(words).unwrap();
    let (_, mut matches) = matches.remove_subcommand().unwrap();
    let planned = entry.plan(&mut matches).unwrap();
    planned.check(&bench.parts).unwrap();
    if let Err(stop) = planned.run(bench) {
        panic!("{line}: {}", stop.text());
    }
    if let Err(stop) = bench.ran(entry.name) {
        panic!("{line}: {}", stop.text());
    }
}

/// The words of an image by address, those that are whole.
fn words(image: &Image) -> BTreeMap<u64, [u8; 2]> {
    let Some(extent) = image.extent() else {
        return BTreeMap::new();
    };
    let addresses = (extent.first()..=extent.last()).filter(|at| at % 2 == 0);
    addresses
        .filter_map(|at| Some((at, [image.byte(at)?, image.byte(at + 1)?])))
        .collect()
}

/// What became of the words that are not where they were.
#[derive(Debug, PartialEq)]
enum Fate {
    /// All that are left are where they were.
    InPlace,
    /// All have moved alike.
    Moved(i128),
    /// They have moved in several ways, or most are others now.
    Rearranged,
}

fn fate(before: &BTreeMap<u64, [u8; 2]>, after: &BTreeMap<u64, [u8; 2]>) -> Fate {
    let places: BTreeMap<[u8; 2], u64> = after.iter().map(|(at, word)| (*word, *at)).collect();
    let mut distances = BTreeSet::new();
    let mut changed = 0;
    for (at, word) in before {
        match (after.get(at), places.get(word)) {
            (Some(now), _) if now == word => {
                distances.insert(0);
            }
            (_, Some(place)) => {
                distances.insert(i128::from(*place) - i128::from(*at));
            }
            (Some(_), None) => changed += 1,
            (None, None) => {}
        }
    }
    let distances: Vec<i128> = distances.into_iter().collect();
    match distances[..] {
        _ if changed > before.len() / 2 => Fate::Rearranged,
        [] | [0] => Fate::InPlace,
        [distance] => Fate::Moved(distance),
        _ => Fate::Rearranged,
    }
}

#[test]
fn a_step_that_moves_bytes_says_so() {
    let folder = tempfile::TempDir::new().unwrap();
    fs::write(folder.path().join("chip.bin"), program()).unwrap();
    fs::write(folder.path().join("more.bin"), [0xEE; 16]).unwrap();
    let mut fates = BTreeSet::new();
    let mut looked_at = BTreeSet::from(["seat"]); // it makes the chip
    for line in LINES {
        let mut bench = bench(folder.path());
        run(&mut bench, "load chip.bin --as raw --at 0x8000");
        run(&mut bench, "seat 27C32 --at 0x8000");
        run(
            &mut bench,
            "stamp sum16 --across 0x40-0x7F --at 0x80 --replace",
        );
        let before = words(bench.pieces[0].image());
        for step in line.split(" + ") {
            run(&mut bench, step);
        }
        let last = line.rsplit(" + ").next().unwrap();
        looked_at.insert(last.split(' ').next().unwrap());
        let piece = &bench.pieces[0];
        let (found, stored) = (fate(&before, &words(piece.image())), piece.stored());
        let board = piece.seat().filter(|_| piece.rearranged_by().is_none());
        let places: Vec<u64> = stored.iter().map(|place| place.first()).collect();
        match &found {
            // What is no chip any more has no CPU addresses; whatever is one still has them.
            Fate::InPlace => assert_eq!(board.is_some(), piece.seat().is_some(), "{line}"),
            Fate::Moved(_) | Fate::Rearranged => assert!(board.is_none(), "{line}: {found:?}"),
        }
        match &found {
            Fate::InPlace if piece.seat().is_some() => assert!(places.contains(&0x80), "{line}"),
            Fate::Moved(distance) if piece.seat().is_some() => {
                assert_eq!(places, [(0x80 + distance) as u64], "{line}");
            }
            Fate::Moved(_) => {}
            Fate::Rearranged => assert!(places.is_empty(), "{line}"),
            Fate::InPlace => {}
        }
        fates.insert(format!("{found:?}"));
    }
    assert_eq!(
        fates,
        BTreeSet::from(["InPlace", "Moved(256)", "Moved(32768)", "Rearranged"].map(String::from))
    );
    let all: BTreeSet<&str> = STEPS.iter().map(|step| step.name).collect();
    assert_eq!(looked_at, all, "every step has its line");
}
