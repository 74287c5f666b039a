//! Timing two things turn by turn, and rows that say how they compare.

use std::time::{Duration, Instant};

pub fn heading(text: &str) {
    println!("\n{text}");
}

/// One row: what was measured, its figure, the reference's name and figure, the ratio, and what is wanted of it.
pub fn row(what: &str, figure: &str, reference: &str, its_figure: &str, ratio: f64, wanted: &str) {
    println!(
        "  {what:<44} {figure:>12}   {reference:<26} {its_figure:>12}   {ratio:>7.2}   {wanted}"
    );
}

/// Median times of both, after one turn each to warm up.
pub fn in_turns(times: usize, ours: impl FnMut(), other: impl FnMut()) -> (Duration, Duration) {
    in_prepared_turns(times, || (), ours, other)
}

/// As [`in_turns`]; `prepare` comes before every turn and is not timed.
pub fn in_prepared_turns(
    times: usize,
    mut prepare: impl FnMut(),
    mut ours: impl FnMut(),
    mut other: impl FnMut(),
) -> (Duration, Duration) {
    let mut clock = |work: &mut dyn FnMut()| {
        prepare();
        let start = Instant::now();
        work();
        start.elapsed()
    };
    clock(&mut ours);
    clock(&mut other);
    let (a, b) = (0..times)
        .map(|_| (clock(&mut ours), clock(&mut other)))
        .unzip();
    (median(a), median(b))
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

pub fn milliseconds(time: Duration) -> String {
    format!("{:.2} ms", time.as_secs_f64() * 1e3)
}

pub fn rate(bytes: u64, time: Duration) -> String {
    format!("{:.0} MB/s", bytes as f64 / time.as_secs_f64() / 1e6)
}
