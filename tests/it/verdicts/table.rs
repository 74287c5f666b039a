//! The tables: how often a verdict is right, and how often it is certain and wrong.
//!
//! `cargo test --test it verdicts::` judges a share of the cases;
//! `ROMLOOM_THOROUGH=1 cargo test --profile thorough --test it verdicts:: -- --nocapture` judges all of them and prints the
//! tables of docs/evidence.md. `ROMLOOM_SEED` gives other cases, `ROMLOOM_CASES` more or fewer. One that went wrong is looked into with
//! `ROMLOOM_SEED=S ROMLOOM_CASE=N cargo test --test it verdicts::table::one_case -- --ignored --nocapture`.

use super::case::{Case, seed, set};
use super::classes::{CLASSES, Group};
use super::engine;
use super::judge::{Place, Sure, Table};
use crate::support::thorough;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// All cases.
const ALL: usize = 20_000;
/// How many of each class a share has.
const SHARE: usize = 1;
/// The most address lines of a chip in a share, and in all cases.
const LINES: (u32, u32) = (11, 17);

fn largest() -> u32 {
    if thorough() { LINES.1 } else { LINES.0 }
}

#[test]
fn single_reads() {
    let share = match thorough() {
        true => ALL,
        false => SHARE * CLASSES.len(),
    };
    let cases = set("ROMLOOM_CASES", share as u64) as usize;
    let (seed, next) = (seed(), AtomicUsize::new(0));
    let (send, judged) = mpsc::channel();
    let mut table = Table::default();
    let (mut wrong, mut misled) = (Vec::new(), Vec::new());
    let mut done = 0;
    let mut slowest = (Duration::ZERO, String::new());
    std::thread::scope(|scope| {
        for _ in 0..if thorough() { 2 } else { 1 } {
            let (send, next) = (send.clone(), &next);
            scope.spawn(move || {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= cases {
                        break;
                    }
                    if let Some(case) = Case::new(seed, number, largest()) {
                        let start = Instant::now();
                        let verdict = engine::ask(&case);
                        let took = start.elapsed();
                        let place = verdict.place(&case);
                        send.send((case, verdict, place, took)).unwrap();
                    }
                }
            });
        }
        drop(send);
        for (case, verdict, place, took) in judged {
            if took > slowest.0 {
                slowest = (took, case.to_string());
            }
            table.add(&case, verdict.sure, place);
            done += 1;
            if thorough() && done % 500 == 0 {
                eprintln!("{done} cases: {}", table.sum(|_| true)); // all of them take a while
            }
            let right = matches!(place, Place::First | Place::Among);
            match verdict.sure {
                Sure::Certain if !right => {
                    eprintln!("certain and wrong: {case}");
                    wrong.push(format!("{case}\n{}", verdict.in_full()));
                }
                Sure::Likely if !right => misled.push(format!("{case}\n{}", verdict.in_full())),
                _ => {}
            }
        }
    });
    println!("{table}");
    println!("{:?} on {}", slowest.0, slowest.1);
    println!("{} likely and wrong:\n{}", misled.len(), misled.join("\n"));
    assert!(
        wrong.is_empty(),
        "{} certain and wrong:\n{}",
        wrong.len(),
        wrong.join("\n")
    );

    let strangers = table.sum(|class| class.name == "a stranger");
    assert_eq!(
        strangers.certain + strangers.certain_wrong,
        0,
        "strangers are never certain"
    );
    let answered = |names: &[&str]| table.sum(|class| names.contains(&class.name)).answered();
    assert!(answered(&["address line, read, code", "data line, code"]) >= 97.0);
    assert!(answered(&["address line, read, telltale"]) == 100.0);
    let blocks = table.sum(|class| matches!(class.group, Group::Blocks | Group::Lengths));
    assert!(
        blocks.answered() >= 95.0,
        "blocks, banks and lengths: {}",
        blocks.answered()
    );
}

#[test]
#[ignore = "looks into the one case that ROMLOOM_CASE names"]
fn one_case() {
    let lines = [LINES.0, LINES.1][usize::from(std::env::var_os("ROMLOOM_THOROUGH").is_some())];
    let case =
        Case::new(seed(), set("ROMLOOM_CASE", 0) as usize, lines).expect("a case of this number");
    let verdict = engine::ask(&case);
    println!(
        "{case}\n    {:?}\n{}",
        verdict.place(&case),
        verdict.in_full()
    );
}
