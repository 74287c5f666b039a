//! What of an image's lines survives wrong bytes as well: sums over all cells, each plane of which counts 1 and -1.
//!
//! These are the coefficients of one and of two address lines in each data line's Walsh transform, and how far a data
//! line keeps its level when one address line turns. One byte in fifty moves them by about a seventh of what chance makes
//! them differ from line to line in an image without any order.

use super::figures::Figures;

/// The sums of an image, in units of the square root of its cells, so that chance is about 1.
pub(super) struct Spectrum {
    pub lines: usize,
    pub data: usize,
    turn: Vec<f32>,
    lean: Vec<f32>,
    pair: Vec<f32>,
    one: Vec<f32>,
    both: Vec<f32>,
}

impl Spectrum {
    pub fn of(image: &[u16], figures: &Figures) -> Self {
        let (lines, data) = (figures.lines, figures.data());
        let unit = (image.len() as f32).sqrt();
        let scaled = |sum: i64| sum as f32 / unit;
        let by_line = |table: &[Vec<i64>], sum: &dyn Fn(i64) -> i64| -> Vec<f32> {
            let all = table.iter().flatten();
            all.map(|count| scaled(sum(*count))).collect()
        };
        let mut pair = vec![0.0; lines * lines * data];
        for plane in 0..data {
            for (one, other, sum) in pairs(image, plane, lines) {
                pair[(one * lines + other) * data + plane] = scaled(sum);
                pair[(other * lines + one) * data + plane] = scaled(sum);
            }
        }
        let turning = |count: i64| figures.size - 2 * count;
        Spectrum {
            lines,
            data,
            turn: by_line(&figures.changes, &turning),
            lean: by_line(&figures.leans, &|lean| 2 * lean),
            pair,
            one: figures.ones.iter().map(|c| scaled(turning(*c))).collect(),
            both: by_line(&figures.differ, &turning),
        }
    }

    /// How far the data line keeps its level when the address line turns.
    pub fn turn(&self, address: usize, data: usize) -> f32 {
        self.turn[address * self.data + data]
    }

    /// How far the data line goes with the address line.
    pub fn lean(&self, address: usize, data: usize) -> f32 {
        self.lean[address * self.data + data]
    }

    /// How far the data line goes with the exclusive-or of two address lines.
    pub fn pair(&self, one: usize, other: usize, data: usize) -> f32 {
        self.pair[(one * self.lines + other) * self.data + data]
    }

    /// How many more zeros than ones the data line has.
    pub fn one(&self, data: usize) -> f32 {
        self.one[data]
    }

    /// How far two data lines go together.
    pub fn both(&self, one: usize, other: usize) -> f32 {
        self.both[one * self.data + other]
    }
}

/// The sums of one data line by pairs of address lines. The plane is folded over its upper line again and again: what
/// is left of the halves' difference depends on that line, what is left of their sum does not.
fn pairs(image: &[u16], plane: usize, lines: usize) -> Vec<(usize, usize, i64)> {
    let mut found = Vec::new();
    let level = |cell: &u16| 1 - 2 * i32::from(cell >> plane & 1);
    let mut sums: Vec<i32> = image.iter().map(level).collect();
    for top in (1..lines).rev() {
        let (low, high) = sums.split_at_mut(1 << top);
        let mut leans: Vec<i32> = low.iter().zip(&*high).map(|(l, h)| l - h).collect();
        low.iter_mut().zip(&*high).for_each(|(l, h)| *l += h);
        sums.truncate(1 << top);
        for line in (0..top).rev() {
            let (low, high) = leans.split_at_mut(1 << line);
            let both = low.iter().zip(&*high);
            let sum = both.map(|(l, h)| i64::from(*l) - i64::from(*h)).sum();
            found.push((top, line, sum));
            low.iter_mut().zip(&*high).for_each(|(l, h)| *l += h);
            leans.truncate(1 << line);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_are_summed_as_they_are_defined() {
        let image: Vec<u16> = (0..64u32)
            .map(|a| ((a * a * 37) >> 3) as u16 & 0xFF)
            .collect();
        for (one, other, sum) in pairs(&image, 2, 6) {
            let sign = |bit: usize| 1 - 2 * (bit & 1) as i64;
            let cells = image.iter().enumerate();
            let plain: i64 = cells
                .map(|(a, cell)| sign(usize::from(cell >> 2)) * sign(a >> one ^ a >> other))
                .sum();
            assert_eq!(sum, plain, "A{one} and A{other}");
        }
    }

    /// Each sum as its sentence says it, in units of the square root of the cells: 8 of 64.
    #[test]
    fn sums_are_what_they_say() {
        use crate::wiring::Width;
        let image: Vec<u16> = (0..64u32)
            .map(|a| ((a * a * 37 + a * 5) >> 2) as u16 & 0xFF)
            .collect();
        let sums = Spectrum::of(&image, &Figures::of(&image, Width::Eight));
        assert_eq!((sums.lines, sums.data), (6, 8));
        let sign = |a: usize, d: usize| 1.0 - 2.0 * f32::from(image[a] >> d & 1);
        let at = |a: usize, line: usize| 1.0 - 2.0 * (a >> line & 1) as f32;
        let sum = |of: &dyn Fn(usize) -> f32| (0..64).map(of).sum::<f32>() / 8.0;
        for d in 0..8 {
            assert_eq!(sums.one(d), sum(&|a| sign(a, d)));
            for line in 0..6 {
                assert_eq!(sums.lean(line, d), sum(&|a| sign(a, d) * at(a, line)));
                // The cells that have the level of their partner.
                let kept = |a: usize| sign(a, d) == sign(a ^ 1 << line, d);
                let kept = sum(&|a| f32::from(u8::from(kept(a))));
                assert_eq!(sums.turn(line, d), kept);
                for other in (0..6).filter(|other| *other != line) {
                    let pair = sum(&|a| sign(a, d) * at(a, line) * at(a, other));
                    assert_eq!(sums.pair(line, other, d), pair);
                }
            }
            for other in 0..8 {
                assert_eq!(sums.both(d, other), sum(&|a| sign(a, d) * sign(a, other)));
            }
        }
    }
}
