//! How long programming takes.

use std::fmt;
use std::time::Duration;

use super::Part;

/// How long programming a whole part takes, from its typical figures. Prints as a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Estimate {
    /// How many pulses, bytes or pages are written one after another.
    pub writes: u64,
    /// The typical time of one.
    pub each: Duration,
    /// The time for all of them. Erasing, verifying and the programmer's own transfers take more.
    pub total: Duration,
    unit: &'static str,
}

impl Part {
    /// How long programming the whole part takes; `None` where the table has no figure for it, or the
    /// part can't be written.
    ///
    /// ```
    /// let part = romloom::parts::find("28C256")?;
    /// let estimate = part.estimate().expect("the table has its figure");
    /// assert_eq!(
    ///     estimate.to_string(),
    ///     "about 2.6 s: 512 pages of 5 ms each, erasing and verifying not counted; \
    ///      a typical figure, check the maker's data sheet"
    /// );
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn estimate(&self) -> Option<Estimate> {
        let each = Duration::from_micros(self.write_us?.into());
        let (writes, unit) = match self.page {
            Some(page) => (self.bytes() / u64::from(page), "pages"),
            None if self.kind.takes_programming_voltage() => (self.words.into(), "pulses"),
            None if self.width == 16 => (self.words.into(), "words"),
            None => (self.words.into(), "bytes"),
        };
        let total = each.saturating_mul(u32::try_from(writes).unwrap_or(u32::MAX));
        Some(Estimate {
            writes,
            each,
            total,
            unit,
        })
    }
}

impl fmt::Display for Estimate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "about {}: {} {} of {} each, erasing and verifying not counted; a typical figure, \
             check the maker's data sheet",
            spoken(self.total),
            self.writes,
            self.unit,
            exact(self.each),
        )
    }
}

/// A time in everyday form: an estimate is not better than two digits.
fn spoken(time: Duration) -> String {
    let seconds = time.as_secs_f64();
    match seconds {
        s if s < 0.1 => format!("{:.0} ms", (s * 1000.0).max(1.0)),
        s if s < 10.0 => format!("{s:.1} s"),
        s if s < 90.0 => format!("{s:.0} s"),
        s if s < 600.0 => format!("{} min {} s", time.as_secs() / 60, time.as_secs() % 60),
        s => format!("{:.0} min", s / 60.0),
    }
}

/// A time from the table, in the unit of its row.
fn exact(time: Duration) -> String {
    let micros = time.as_micros();
    if micros % 1000 == 0 {
        format!("{} ms", micros / 1000)
    } else {
        format!("{micros} µs")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::find;

    fn said(name: &str) -> String {
        let sentence = find(name).unwrap().estimate().unwrap().to_string();
        sentence.split(", erasing").next().unwrap().to_owned()
    }

    // 50 ms a byte make a 2716 a matter of 100 seconds (common practice).
    #[test]
    fn pulses_bytes_and_pages_are_counted() {
        assert_eq!(said("2716"), "about 1 min 42 s: 2048 pulses of 50 ms each");
        assert_eq!(said("27C256"), "about 3.3 s: 32768 pulses of 100 µs each");
        assert_eq!(
            said("27C322"),
            "about 1 min 44 s: 2097152 pulses of 50 µs each"
        );
        assert_eq!(said("29F040"), "about 3.7 s: 524288 bytes of 7 µs each");
        assert_eq!(said("29C010"), "about 10 s: 1024 pages of 10 ms each");
    }

    #[test]
    fn no_figure_no_estimate() {
        for name in ["28C64", "29C020", "2332", "prom-32x8"] {
            assert_eq!(find(name).unwrap().estimate(), None, "{name}");
        }
    }

    #[test]
    fn the_largest_part_that_can_be_described_does_not_overflow() {
        let mut part = find("27C322").unwrap().clone();
        part.words = 1 << 31;
        part.write_us = Some(u32::MAX);
        assert!(part.estimate().unwrap().total > Duration::from_secs(9_000_000));
    }

    #[test]
    fn times_are_said_in_two_figures() {
        let said = |ms| spoken(Duration::from_millis(ms));
        assert_eq!(said(0), "1 ms");
        assert_eq!(said(45), "45 ms");
        assert_eq!(said(2_621), "2.6 s");
        assert_eq!(said(13_107), "13 s");
        assert_eq!(said(102_400), "1 min 42 s");
        assert_eq!(said(1_200_000), "20 min");
    }
}
