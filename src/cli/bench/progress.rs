//! What a long run is doing, as one line on a terminal.

use std::fmt::Write;
use std::io::{self, IsTerminal};
use std::thread;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressFinish, ProgressState, ProgressStyle};

/// A run that is finished sooner shows nothing.
const PATIENCE: Duration = Duration::from_millis(500);
/// The time between two looks at what has been done.
const PAUSE: Duration = Duration::from_millis(200);

/// The line; clones are the same one. By default there is none, and nothing is counted.
#[derive(Clone, Debug, Default)]
pub struct Progress(Option<ProgressBar>);

impl Progress {
    /// A line on standard error, when that is a terminal and the run takes longer than half a second.
    pub fn new() -> Self {
        if !io::stderr().is_terminal() {
            return Self(None);
        }
        let Ok(style) = ProgressStyle::with_template("{msg}{amount}") else {
            return Self(None);
        };
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden())
            .with_style(style.with_key("amount", amount))
            .with_finish(ProgressFinish::AndClear);
        let later = bar.downgrade();
        let shown = thread::Builder::new().spawn(move || {
            thread::sleep(PATIENCE);
            if let Some(bar) = later.upgrade().filter(|bar| !bar.is_finished()) {
                bar.set_draw_target(ProgressDrawTarget::stderr_with_hz(10));
                bar.enable_steady_tick(PAUSE);
            }
        });
        // Without a thread there is no line, and the work goes on.
        Self(shown.is_ok().then_some(bar))
    }

    /// Something else is being done now, with this many bytes to do if that is known.
    pub fn now(&self, what: impl FnOnce() -> String, bytes: Option<u64>) {
        let Some(bar) = self.0.as_ref().filter(|bar| !bar.is_finished()) else {
            return;
        };
        match bytes {
            Some(bytes) => bar.set_length(bytes),
            None => bar.unset_length(),
        }
        bar.set_position(0);
        bar.reset_elapsed();
        bar.set_message(what());
    }

    /// This many more bytes are done.
    pub fn add(&self, bytes: usize) {
        if let Some(bar) = &self.0 {
            bar.inc(bytes as u64);
        }
    }

    /// Removes the line while something else is printed.
    pub fn aside<T>(&self, print: impl FnOnce() -> T) -> T {
        match &self.0 {
            Some(bar) => bar.suspend(print),
            None => print(),
        }
    }

    /// Removes the line for good.
    pub fn finish(&self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}

/// `  12 of 46 MB`, or how long it has taken where no bytes are counted.
fn amount(state: &ProgressState, out: &mut dyn Write) {
    // A line that can't be drawn is drawn next time.
    let _ = out.write_str(&in_words(state.pos(), state.len(), state.elapsed()));
}

fn in_words(done: u64, all: Option<u64>, since: Duration) -> String {
    let (unit, word) = match all.unwrap_or(done) {
        0..1_000_000 => (1000, "kB"),
        _ => (1_000_000, "MB"),
    };
    match (done, all) {
        (0, None) => format!("  {} s", since.as_secs()),
        (done, None) => format!("  {} {word}", done / unit),
        (done, Some(all)) => format!("  {} of {} {word}", done / unit, all / unit),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_counts_what_can_be_counted() {
        let words = |done, all| in_words(done, all, Duration::from_millis(3700));
        assert_eq!(words(0, None), "  3 s");
        assert_eq!(words(12_345, None), "  12 kB");
        assert_eq!(words(12_345_678, None), "  12 MB");
        assert_eq!(words(12_345, Some(46_500_000)), "  0 of 46 MB");
        assert_eq!(words(46_500_000, Some(46_500_000)), "  46 of 46 MB");
    }
}
