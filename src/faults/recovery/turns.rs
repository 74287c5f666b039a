//! Which lines of a guessed wiring are inverted, from the signs of the sums.

use super::spectrum::Spectrum;

/// Below this the sums don't show whether an address line is inverted: a few times what chance gives.
const SETTLED: f32 = 6.0;
/// This many undecided lines are tried both ways.
const MOST_OPEN: usize = 5;

/// What both images' sums have in common, for each line or pair of lines: negative where an odd number of them is
/// inverted.
struct Shared {
    lean: Vec<Vec<f32>>,
    pair: Vec<Vec<Vec<f32>>>,
    one: Vec<f32>,
    both: Vec<Vec<f32>>,
}

/// Signs of the address lines and of the data lines, -1 where inverted.
#[derive(Clone)]
struct Signs {
    address: Vec<f32>,
    data: Vec<f32>,
}

/// Inversions of the chip's address lines worth a trial, the likeliest first; bit i is line i. `planes` are pairs of a
/// chip's data line and the image's that it carries.
pub(super) fn address_inversions(
    from: &Spectrum,
    to: &Spectrum,
    address: &[usize],
    planes: &[(usize, usize)],
) -> Vec<usize> {
    let lines = address.len();
    let by_plane = |product: &dyn Fn(usize, usize) -> f32| -> Vec<f32> {
        planes
            .iter()
            .map(|&(chip, own)| product(chip, own))
            .collect()
    };
    let pair = |a: usize, b: usize| {
        by_plane(&|chip, own| match a == b {
            true => 0.0,
            false => shared(to.pair(a, b, chip), from.pair(address[a], address[b], own)),
        })
    };
    let sums = Shared {
        lean: (0..lines)
            .map(|a| by_plane(&|chip, own| shared(to.lean(a, chip), from.lean(address[a], own))))
            .collect(),
        pair: (0..lines)
            .map(|a| (0..lines).map(|b| pair(a, b)).collect())
            .collect(),
        one: by_plane(&|chip, own| shared(to.one(chip), from.one(own))),
        both: planes
            .iter()
            .map(|&(chip, own)| {
                by_plane(&|other, others| match chip == other {
                    true => 0.0,
                    false => shared(to.both(chip, other), from.both(own, others)),
                })
            })
            .collect(),
    };
    let sign = |sum: f32| if sum < 0.0 { -1.0 } else { 1.0 };
    // From each data line in turn, as if it were not inverted.
    let starts = (0..planes.len()).map(|plane| Signs {
        address: sums.lean.iter().map(|lean| sign(lean[plane])).collect(),
        data: vec![1.0; planes.len()],
    });
    let best = starts
        .chain([sums.strongest_first()])
        .map(|start| {
            let signs = sums.climbed(start);
            (sums.worth(&signs), signs)
        })
        .reduce(|best, next| if next.0 > best.0 { next } else { best });
    let Some((_, signs)) = best else {
        return vec![0];
    };
    let mask = (0..lines)
        .filter(|line| signs.address[*line] < 0.0)
        .fold(0, |mask, line| mask | 1 << line);
    let mut open: Vec<(f32, usize)> = (0..lines)
        .map(|line| (sums.address_field(&signs, line), line))
        .filter(|(field, _)| *field < SETTLED)
        .collect();
    open.sort_by(|a, b| a.0.total_cmp(&b.0));
    open.truncate(MOST_OPEN);
    let turned = |n: usize| {
        let lines = open.iter().enumerate().filter(|(i, _)| n >> i & 1 == 1);
        lines.fold(mask, |mask, (_, (_, line))| mask ^ 1 << line)
    };
    (0..1usize << open.len()).map(turned).collect()
}

/// How far two sums are of the same sign, or of different ones: as far as the smaller is from 0.
fn shared(one: f32, other: f32) -> f32 {
    one.abs().min(other.abs()) * (one * other).signum()
}

impl Shared {
    /// Signs from the sums that say most: each line's follows from one that it is bound to.
    fn strongest_first(&self) -> Signs {
        let (lines, planes) = (self.lean.len(), self.one.len());
        // Address lines, then data lines, then one that is known.
        let known = lines + planes;
        let mut bonds: Vec<(f32, usize, usize)> = Vec::new();
        for (a, leans) in self.lean.iter().enumerate() {
            bonds.extend(
                leans
                    .iter()
                    .enumerate()
                    .map(|(d, sum)| (*sum, a, lines + d)),
            );
        }
        for (d, sums) in self.both.iter().enumerate() {
            bonds.extend(
                sums.iter()
                    .enumerate()
                    .map(|(e, sum)| (*sum, lines + d, lines + e)),
            );
            bonds.push((self.one[d], lines + d, known));
        }
        bonds.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
        let mut group: Vec<usize> = (0..=known).collect();
        let mut signs = vec![1.0f32; known + 1];
        for (sum, one, other) in bonds {
            let (keep, join) = (group[one], group[other]);
            if keep == join {
                continue;
            }
            let turn = sum.signum() * signs[one] * signs[other];
            for line in 0..=known {
                if group[line] == join {
                    (group[line], signs[line]) = (keep, signs[line] * turn);
                }
            }
        }
        let signs: Vec<f32> = signs.iter().map(|sign| sign * signs[known]).collect();
        Signs {
            address: signs[..lines].to_vec(),
            data: signs[lines..known].to_vec(),
        }
    }

    /// How much evidence the sums give for the sign of the address line.
    fn address_field(&self, signs: &Signs, line: usize) -> f32 {
        let leans = self.lean[line].iter().zip(&signs.data);
        let mut field: f32 = leans.map(|(lean, t)| lean * t).sum();
        for (pair, other) in self.pair[line].iter().zip(&signs.address) {
            let sum: f32 = pair.iter().zip(&signs.data).map(|(pair, t)| pair * t).sum();
            field += sum * other;
        }
        field * signs.address[line]
    }

    /// How much evidence the sums give for the sign of the data line.
    fn data_field(&self, signs: &Signs, plane: usize) -> f32 {
        let mut field = self.one[plane];
        for (a, sign) in signs.address.iter().enumerate() {
            field += self.lean[a][plane] * sign;
            for (b, other) in signs.address.iter().enumerate().skip(a + 1) {
                field += self.pair[a][b][plane] * sign * other;
            }
        }
        let both = self.both[plane].iter().zip(&signs.data);
        field += both.map(|(both, t)| both * t).sum::<f32>();
        field * signs.data[plane]
    }

    fn worth(&self, signs: &Signs) -> f32 {
        let data = (0..signs.data.len()).map(|plane| self.data_field(signs, plane));
        data.sum()
    }

    /// Turns one sign after another for as long as that is better.
    fn climbed(&self, mut signs: Signs) -> Signs {
        for _ in 0..40 {
            let mut turned = false;
            for plane in 0..signs.data.len() {
                if self.data_field(&signs, plane) < 0.0 {
                    signs.data[plane] = -signs.data[plane];
                    turned = true;
                }
            }
            for line in 0..signs.address.len() {
                if self.address_field(&signs, line) < 0.0 {
                    signs.address[line] = -signs.address[line];
                    turned = true;
                }
            }
            if !turned {
                break;
            }
        }
        signs
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::recovery::figures::Figures;
    use crate::faults::recovery::testing::program;
    use crate::wiring::{Lookup, Width, Wiring};

    fn spectrum(image: &[u16]) -> Spectrum {
        Spectrum::of(image, &Figures::of(image, Width::Eight))
    }

    #[test]
    fn inverted_lines_are_known_by_the_signs_of_their_sums() {
        let image = program();
        let address = [3, 10, 0, 7, 1, 9, 4, 2, 6, 5, 8];
        let data = [1, 0, 2, 7, 4, 5, 6, 3];
        let wiring = Wiring::new(Width::Eight, address.to_vec(), data.to_vec()).unwrap();
        let planes: Vec<(usize, usize)> = data.map(usize::from).into_iter().enumerate().collect();
        for (turned, data) in [
            (0, 0),
            (0x001, 0xFF),
            (0x4A5, 0x3C),
            (0x7FF, 0x81),
            (0x102, 0),
        ] {
            let wiring = wiring.clone().inverting(turned, data).unwrap();
            let lookup = Lookup::new(&wiring);
            let read: Vec<u16> = (0..2048).map(|at| lookup.cell(&image, at)).collect();
            let found = address_inversions(
                &spectrum(&image),
                &spectrum(&read),
                &address.map(usize::from),
                &planes,
            );
            assert_eq!(found[0], turned as usize, "{found:X?}");
        }
    }

    /// A line of which the sums say nothing is tried both ways, with every other one of those.
    #[test]
    fn what_the_sums_don_t_show_is_tried_both_ways() {
        let image: Vec<u16> = (0..2048).map(|a| program()[a & !0x11]).collect();
        let straight: Vec<usize> = (0..11).collect();
        let planes: Vec<(usize, usize)> = (0..8).map(|line| (line, line)).collect();
        let sums = spectrum(&image);
        let mut found = address_inversions(&sums, &sums, &straight, &planes);
        assert_eq!(found[0], 0);
        found.sort_unstable();
        assert_eq!(found, [0x00, 0x01, 0x10, 0x11]);
        assert_eq!(address_inversions(&sums, &sums, &straight, &[]).len(), 32);
    }

    #[test]
    fn the_smaller_of_two_sums_is_what_they_share() {
        assert_eq!([shared(3.0, 5.0), shared(-3.0, 5.0)], [3.0, -3.0]);
        assert_eq!([shared(5.0, -3.0), shared(-5.0, -3.0)], [-3.0, 3.0]);
    }
}
