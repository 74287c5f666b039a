//! Where two images differ, in bytes and in holes.

use crate::faults::Width;
use crate::faults::compare::{Turned, compare as compare_bytes};
use crate::image::{AddressRange, Image};

/// Whether a byte in one image where the other has a hole counts as a difference.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holes {
    /// It does.
    Differ,
    /// It does not: only bytes that both have are compared.
    Ignored,
}

/// All differences of two images.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comparison {
    /// Addresses at which both have a byte.
    pub compared: u64,
    /// Bytes that differ among those.
    pub bytes: u64,
    /// Where these are, lowest first.
    pub ranges: Vec<AddressRange>,
    /// Bits that differ, of each data line from D0 up: 8 lines, or 16 for words.
    pub lines: Vec<Turned>,
    /// Where the first image has bytes and the second holes.
    pub only_first: Vec<AddressRange>,
    /// Where the second image has bytes and the first holes.
    pub only_second: Vec<AddressRange>,
}

impl Comparison {
    /// Whether the same bytes are at the same addresses.
    pub fn is_same(&self, holes: Holes) -> bool {
        let one_sided = !self.only_first.is_empty() || !self.only_second.is_empty();
        self.bytes == 0 && !(holes == Holes::Differ && one_sided)
    }
}

/// Compares two images address by address. With [`Width::Sixteen`] two bytes make a word of a chip with 16 data lines, the
/// even one on D0-D7.
pub fn compare(first: &Image, second: &Image, width: Width) -> Comparison {
    let mut all = Comparison {
        only_first: one_sided(first, second),
        only_second: one_sided(second, first),
        ..Comparison::default()
    };
    let mut lines = [Turned::default(); 8];
    for_common(first, second, |at, a, b| {
        let found = compare_bytes(a, b);
        all.compared += a.len() as u64;
        all.bytes += found.bytes as u64;
        // Between two stretches one image has a hole, so no range goes on in the next.
        let ranges = found.ranges.iter();
        all.ranges.extend(
            ranges.filter_map(|run| {
                AddressRange::new(at + *run.start() as u64, at + *run.end() as u64)
            }),
        );
        add(&mut lines, &found.lines);
    });
    all.lines = lines.to_vec();
    if width == Width::Sixteen {
        let lanes = |image: &Image| image.clone().deal(2).into_iter();
        let lanes = lanes(first).zip(lanes(second));
        all.lines = lanes
            .flat_map(|(a, b)| compare(&a, &b, Width::Eight).lines)
            .collect();
    }
    all
}

fn add(sum: &mut [Turned; 8], more: &[Turned; 8]) {
    for (line, more) in sum.iter_mut().zip(more) {
        line.to_one += more.to_one;
        line.to_zero += more.to_zero;
    }
}

fn one_sided(has: &Image, lacks: &Image) -> Vec<AddressRange> {
    let spans = has.spans().iter();
    spans.flat_map(|span| lacks.holes(span.range())).collect()
}

/// Every stretch at which both have bytes.
fn for_common(first: &Image, second: &Image, mut with: impl FnMut(u64, &[u8], &[u8])) {
    for span in first.spans() {
        for (at, b) in second.within(span.range()) {
            // Inside the span, so it fits.
            let from = (at - span.start()) as usize;
            with(at, &span.bytes()[from..from + b.len()], b);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::image::Source;

    fn image(parts: &[(u64, &[u8])]) -> Image {
        let mut image = Image::new();
        for (at, bytes) in parts {
            image.put(*at, bytes.to_vec(), Source::Patch).unwrap();
        }
        image
    }

    fn range(first: u64, last: u64) -> AddressRange {
        AddressRange::new(first, last).unwrap()
    }

    #[test]
    fn holes_are_no_bytes() {
        let first = image(&[(0, &[1, 2, 3, 4]), (8, &[0xFF; 4])]);
        let second = image(&[(2, &[3, 5]), (4, &[0; 6])]);
        let found = compare(&first, &second, Width::Eight);
        assert_eq!(found.compared, 4);
        assert_eq!(found.bytes, 3);
        assert_eq!(found.ranges, [range(3, 3), range(8, 9)]);
        assert_eq!(found.only_first, [range(0, 1), range(10, 11)]);
        assert_eq!(found.only_second, [range(4, 7)]);
        assert_eq!(
            found.lines[0],
            Turned {
                to_one: 1,
                to_zero: 2
            }
        );
        let same = image(&[(0, &[1, 2])]);
        let part = compare(&first, &same, Width::Eight);
        assert!(part.is_same(Holes::Ignored) && !part.is_same(Holes::Differ));
        let part = compare(&same, &first, Width::Eight);
        assert!(part.is_same(Holes::Ignored) && !part.is_same(Holes::Differ));
        assert!(compare(&first, &first, Width::Eight).is_same(Holes::Differ));
    }

    #[test]
    fn words_have_sixteen_lines() {
        let found = compare(
            &image(&[(0, &[0, 0])]),
            &image(&[(0, &[0, 0x80])]),
            Width::Sixteen,
        );
        assert_eq!(found.lines.len(), 16);
        assert_eq!(found.lines[15].to_one, 1);
        assert_eq!(
            found.lines.iter().filter(|line| line.total() > 0).count(),
            1
        );
    }
}
