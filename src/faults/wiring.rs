//! Which rewiring of address and data lines turns one image into another.
//!
//! How often each data bit changes when one address bit changes survives any rewiring: the
//! lines are only called by other names. So do how far a data line's ones lean to one level of an
//! address line, how often two data lines differ, and how many ones a line has; an inversion
//! turns these at most around. Lines are told apart by these figures, each then by those of the
//! lines it meets, until nothing new comes out. Lines that still look alike are tried in turn,
//! and every answer is checked against every byte.

use std::collections::HashMap;

use super::Width;

/// A rewiring, in the terms of the step `rewire`: chip line i is wired to line `LIST[i]` of the
/// original image, first in the list is line 0.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Wiring {
    /// For each address line of the chip, the original's line it is wired to.
    pub address: Vec<u8>,
    /// The chip's address lines that are inverted besides; bit i is line i.
    pub address_inverted: u32,
    /// For each data line of the chip, the original's line it is wired to.
    pub data: Vec<u8>,
    /// The chip's data lines that are inverted besides; bit i is line i.
    pub data_inverted: u16,
}

/// What was recovered.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Recovered {
    /// A wiring that turns the first image into the second, byte for byte.
    pub wiring: Wiring,
    /// Groups of the original's address lines that can't be told apart: some other wiring that
    /// exchanges them does the same.
    pub alike_address: Vec<Vec<u8>>,
    /// Groups of the original's data lines that can't be told apart.
    pub alike_data: Vec<Vec<u8>>,
    /// Whether other inversions with the same lists would do the same.
    pub other_inversions: bool,
}

impl Recovered {
    /// Whether this is the only wiring that turns one image into the other.
    pub fn is_unique(&self) -> bool {
        self.alike_address.is_empty() && self.alike_data.is_empty() && !self.other_inversions
    }
}

/// Why no wiring was recovered.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum WiringError {
    /// Lines can only be found in whole chips of one size.
    #[error(
        "wiring is recovered from two images of one size that is a power of two, 2 words to \
         16 MiB; these have {wanted} and {read} bytes"
    )]
    Size {
        /// Bytes of the original image.
        wanted: usize,
        /// Bytes of the rewired image.
        read: usize,
    },
    /// No rewiring does it.
    #[error(
        "no exchange or inversion of lines turns one image into the other; \
         check with `diagnose` whether a line is stuck or shorted, or a byte wrong"
    )]
    None,
    /// Too many lines look alike in the image.
    #[error(
        "too many lines look alike in this image to try them all; \
         burn the pattern `random` and read that"
    )]
    TooAlike,
}

/// Wirings tried to the last byte before giving up.
const MOST_TRIED: usize = 512;
/// Binary logarithm of the inversions tried for one wiring.
const MOST_INVERSIONS: u32 = 26;

impl Wiring {
    /// The wiring that changes nothing.
    fn straight(lines: u8, width: Width) -> Self {
        Wiring {
            address: (0..lines).collect(),
            address_inverted: 0,
            data: (0..width.lines()).collect(),
            data_inverted: 0,
        }
    }

    /// The image as this wiring turns it. `None` when its size doesn't fit the lists.
    pub fn apply(&self, image: &[u8]) -> Option<Vec<u8>> {
        let width = match self.data.len() {
            8 => Width::Eight,
            16 => Width::Sixteen,
            _ => return None,
        };
        if image.len() != width.bytes() << self.address.len() {
            return None;
        }
        let cells = width.cells(image);
        let turned = Turned::new(self);
        let chip = (0..cells.len()).map(|chip| turned.cell(&cells, chip));
        Some(match width {
            Width::Eight => chip.map(|cell| cell as u8).collect(),
            Width::Sixteen => chip.flat_map(u16::to_le_bytes).collect(),
        })
    }
}

/// A wiring as tables.
struct Turned {
    low: Vec<u32>,
    high: Vec<u32>,
    /// What the low byte of a cell brings, and what the high one adds.
    data: [[u16; 256]; 2],
}

/// What the low byte of a cell brings to the chip's data lines, and what its high byte adds by exclusive-or: chip line i
/// carries line `lines[i]` of the cell, turned over where bit i of `inverted` is set.
pub(crate) fn data_tables(lines: &[u8], inverted: u16) -> [[u16; 256]; 2] {
    let wired = |cell: usize| {
        let lines = lines.iter().enumerate();
        lines.fold(0, |d, (i, line)| d | ((cell >> line & 1) as u16) << i)
    };
    [
        std::array::from_fn(|low| wired(low) ^ inverted),
        std::array::from_fn(|high| wired(high << 8)),
    ]
}

const LOW_LINES: usize = 12;

impl Turned {
    fn new(wiring: &Wiring) -> Self {
        let lines = wiring.address.len();
        let original = |first: usize, count: usize| -> Vec<u32> {
            let lists = &wiring.address[first..first + count];
            (0..1usize << count)
                .map(|chip| {
                    let lines = lists.iter().enumerate();
                    lines.fold(0, |a, (i, line)| a | ((chip >> i & 1) as u32) << line)
                })
                .collect()
        };
        let low_lines = lines.min(LOW_LINES);
        let mut turned = Turned {
            low: original(0, low_lines),
            high: original(low_lines, lines - low_lines),
            data: data_tables(&wiring.data, wiring.data_inverted),
        };
        let inverted = (0..lines)
            .filter(|i| wiring.address_inverted >> i & 1 == 1)
            .fold(0, |a, i| a | 1 << wiring.address[i]);
        turned.high.iter_mut().for_each(|a| *a ^= inverted);
        turned
    }

    #[inline]
    fn cell(&self, image: &[u16], chip: usize) -> u16 {
        let low = self.low[chip & (self.low.len() - 1)];
        let a = low ^ self.high[chip >> LOW_LINES.min(self.low.len().trailing_zeros() as usize)];
        self.value(image[a as usize])
    }

    #[inline]
    fn value(&self, cell: u16) -> u16 {
        let [low, high] = cell.to_le_bytes();
        self.data[0][usize::from(low)] ^ self.data[1][usize::from(high)]
    }

    fn turns(&self, wanted: &[u16], read: &[u16]) -> bool {
        (0..read.len()).all(|chip| self.cell(wanted, chip) == read[chip])
    }
}

/// Finds a wiring that turns `wanted` into `read`, both of one chip of this width.
///
/// # Errors
/// [`WiringError`] when the sizes don't fit, when there is no such wiring, or when too many lines look
/// alike to try all.
pub fn recover(wanted: &[u8], read: &[u8], width: Width) -> Result<Recovered, WiringError> {
    let size = wanted.len();
    let least = 2 * width.bytes();
    if size != read.len() || !size.is_power_of_two() || !(least..=1 << 24).contains(&size) {
        return Err(WiringError::Size {
            wanted: size,
            read: read.len(),
        });
    }
    let (wanted, read) = (width.cells(wanted), width.cells(read));
    let (from, to) = (Figures::of(&wanted, width), Figures::of(&read, width));
    let mut attempt = Attempt::new(Side::new(&wanted, &from), Side::new(&read, &to));
    let Some(wiring) = attempt.search(from.start(), to.start()) else {
        return Err(attempt.error());
    };
    let (alike_address, alike_data) = alike(&wanted, &from);
    let own = Side::new(&wanted, &from);
    let mut same = Attempt::new(own, own);
    same.trivial_allowed = false;
    Ok(Recovered {
        wiring,
        alike_address,
        alike_data,
        other_inversions: same.inversions(&from.straight()).is_some(),
    })
}

/// The figures of an image that survive rewiring.
struct Figures {
    width: Width,
    /// Address lines.
    lines: usize,
    /// Cells.
    size: i64,
    /// Ones of each data line.
    ones: Vec<i64>,
    /// How often each data bit changes when one address bit changes, by address line.
    changes: Vec<Vec<i64>>,
    /// Ones of each data line where the address line is 1, less those where it is 0.
    leans: Vec<Vec<i64>>,
    /// How often two data lines differ.
    differ: Vec<Vec<i64>>,
}

impl Figures {
    fn of(image: &[u16], width: Width) -> Self {
        let lines = image.len().trailing_zeros() as usize;
        let data = usize::from(width.lines());
        let mut whole = Counts::new(width);
        image.iter().for_each(|cell| whole.count(*cell));
        let ones = whole.per_line();
        let mut changes = Vec::new();
        let mut leans = Vec::new();
        for line in 0..lines {
            let half = 1 << line;
            // Two tables each, used in turn: runs of one value don't wait for each other.
            let mut turned = [Counts::new(width), Counts::new(width)];
            let mut upper = [Counts::new(width), Counts::new(width)];
            for block in image.chunks_exact(2 * half) {
                let (low, high) = block.split_at(half);
                for (n, (low, high)) in low.iter().zip(high).enumerate() {
                    turned[n & 1].count(low ^ high);
                    upper[n & 1].count(*high);
                }
            }
            let both = |[mut even, odd]: [Counts; 2]| {
                even.add(&odd);
                even.per_line()
            };
            changes.push(both(turned));
            let in_upper = both(upper);
            leans.push((0..data).map(|d| 2 * in_upper[d] - ones[d]).collect());
        }
        Figures {
            width,
            lines,
            size: image.len() as i64,
            ones,
            changes,
            leans,
            differ: whole.differing(),
        }
    }

    /// Data lines.
    fn data(&self) -> usize {
        self.ones.len()
    }

    /// All lines.
    fn all(&self) -> usize {
        self.lines + self.data()
    }

    /// The wiring that changes nothing.
    fn straight(&self) -> Wiring {
        Wiring::straight(self.lines as u8, self.width)
    }

    /// Each line's colour before it is compared with others: address lines first, then data
    /// lines.
    fn start(&self) -> Vec<u64> {
        let mut colours = vec![1; self.lines];
        colours.extend(self.ones.iter().map(|ones| mixed(2, self.folded(*ones))));
        colours
    }

    /// A count that an inversion may have turned into the rest of all.
    fn folded(&self, count: i64) -> u64 {
        count.min(self.size - count) as u64
    }

    /// Tells lines apart by the lines they meet, until no more come apart.
    fn refine(&self, colours: &mut Vec<u64>) {
        let mut kinds = distinct(colours);
        loop {
            let next: Vec<u64> = (0..colours.len())
                .map(|line| self.seen(line, colours))
                .collect();
            *colours = next;
            let now = distinct(colours);
            if now == kinds {
                return;
            }
            kinds = now;
        }
    }

    fn seen(&self, line: usize, colours: &[u64]) -> u64 {
        let meet = |address: usize, data: usize| {
            let lean = self.leans[address][data].unsigned_abs();
            mixed(self.changes[address][data] as u64, lean)
        };
        let mut meets: Vec<u64> = match line.checked_sub(self.lines) {
            None => (0..self.data())
                .map(|data| mixed(meet(line, data), colours[self.lines + data]))
                .collect(),
            Some(data) => {
                let address = (0..self.lines).map(|a| mixed(meet(a, data), colours[a]));
                let others = (0..self.data())
                    .filter(|&other| other != data)
                    .map(|other| {
                        let differ = self.folded(self.differ[data][other]);
                        mixed(mixed(3, differ), colours[self.lines + other])
                    });
                address.chain(others).collect()
            }
        };
        meets.sort_unstable();
        meets.into_iter().fold(colours[line], mixed)
    }
}

/// How often each value of a cell occurs.
struct Counts(Vec<u32>);

impl Counts {
    fn new(width: Width) -> Self {
        Counts(vec![0; 1 << width.lines()])
    }

    #[inline]
    fn count(&mut self, cell: u16) {
        self.0[usize::from(cell)] += 1;
    }

    fn add(&mut self, other: &Counts) {
        let both = self.0.iter_mut().zip(&other.0);
        both.for_each(|(own, more)| *own += more);
    }

    fn lines(&self) -> usize {
        self.0.len().trailing_zeros() as usize
    }

    /// The values that occur.
    fn cells(&self) -> impl Iterator<Item = (usize, i64)> {
        let counts = self.0.iter().enumerate();
        let there = counts.filter(|(_, count)| **count > 0);
        there.map(|(cell, count)| (cell, i64::from(*count)))
    }

    /// Ones of each data line.
    fn per_line(&self) -> Vec<i64> {
        let mut ones = vec![0; self.lines()];
        for (cell, count) in self.cells() {
            for (line, ones) in ones.iter_mut().enumerate() {
                *ones += count * (cell >> line & 1) as i64;
            }
        }
        ones
    }

    /// How often each data line differs from each.
    fn differing(&self) -> Vec<Vec<i64>> {
        let mut differ = vec![vec![0; self.lines()]; self.lines()];
        for (cell, count) in self.cells() {
            for (a, differ) in differ.iter_mut().enumerate() {
                for (b, differ) in differ.iter_mut().enumerate() {
                    *differ += count * ((cell >> a ^ cell >> b) & 1) as i64;
                }
            }
        }
        differ
    }
}

fn mixed(a: u64, b: u64) -> u64 {
    let mixed = (a ^ b.rotate_left(32)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed ^ mixed >> 29)
        .wrapping_add(b)
        .wrapping_mul(0xBF58_476D_1CE4_E5B9)
}

fn distinct(colours: &[u64]) -> usize {
    let mut sorted = colours.to_vec();
    sorted.sort_unstable();
    sorted.dedup();
    sorted.len()
}

#[derive(Clone, Copy)]
struct Side<'a> {
    image: &'a [u16],
    figures: &'a Figures,
}

impl<'a> Side<'a> {
    fn new(image: &'a [u16], figures: &'a Figures) -> Self {
        Side { image, figures }
    }
}

/// A search for a wiring between two images.
struct Attempt<'a> {
    from: Side<'a>,
    to: Side<'a>,
    tried: usize,
    gave_up: bool,
    /// Whether a wiring without inversions counts.
    trivial_allowed: bool,
}

impl<'a> Attempt<'a> {
    fn new(from: Side<'a>, to: Side<'a>) -> Self {
        Attempt {
            from,
            to,
            tried: 0,
            gave_up: false,
            trivial_allowed: true,
        }
    }

    fn error(&self) -> WiringError {
        if self.gave_up {
            WiringError::TooAlike
        } else {
            WiringError::None
        }
    }

    fn search(&mut self, mut from: Vec<u64>, mut to: Vec<u64>) -> Option<Wiring> {
        self.from.figures.refine(&mut from);
        self.to.figures.refine(&mut to);
        let mut groups: HashMap<u64, (Vec<usize>, Vec<usize>)> = HashMap::new();
        for (line, &colour) in from.iter().enumerate() {
            groups.entry(colour).or_default().0.push(line);
        }
        for (line, &colour) in to.iter().enumerate() {
            groups.entry(colour).or_default().1.push(line);
        }
        if groups.values().any(|(from, to)| from.len() != to.len()) {
            return None;
        }
        let open = groups
            .iter()
            .filter(|(_, (from, _))| from.len() > 1)
            .min_by_key(|(_, (from, _))| (from.len(), from[0]));
        let Some((&colour, (choices, lines))) = open else {
            return self.settled(groups.values().map(|(from, to)| (from[0], to[0])));
        };
        // One line of the chip is given a colour of its own, and so is each that it may be.
        let line = lines[0];
        for &choice in choices {
            if self.tried >= MOST_TRIED {
                self.gave_up = true;
                return None;
            }
            let (mut from, mut to) = (from.clone(), to.clone());
            from[choice] = mixed(colour, 5);
            to[line] = mixed(colour, 5);
            if let Some(found) = self.search(from, to) {
                return Some(found);
            }
        }
        None
    }

    /// All lines are matched; the inversions are left.
    fn settled(&mut self, matched: impl Iterator<Item = (usize, usize)>) -> Option<Wiring> {
        self.tried += 1;
        let lines = self.from.figures.lines;
        let mut wiring = self.from.figures.straight();
        for (from, to) in matched {
            match to.checked_sub(lines) {
                None => wiring.address[to] = from as u8,
                Some(data) => wiring.data[data] = (from - lines) as u8,
            }
        }
        self.inversions(&wiring)
    }

    /// The inversions that make this wiring turn one image into the other.
    fn inversions(&mut self, wiring: &Wiring) -> Option<Wiring> {
        let (from, to) = (self.from.figures, self.to.figures);
        let lines = from.lines;
        // For each line of the chip, addresses first: which group of lines it is bound to, and
        // whether it is inverted when the group is not.
        let mut bound: Vec<(usize, bool)> = (0..from.all()).map(|line| (line, false)).collect();
        // A further group whose inversion is known: not inverted.
        let known = from.all();
        bound.push((known, false));
        let mut bind = |a: usize, b: usize, differ: bool| -> bool {
            let ((one, turned), (other, turned_too)) = (bound[a], bound[b]);
            let turn = turned ^ turned_too ^ differ;
            if one == other {
                return !turn;
            }
            for (group, inverted) in &mut bound {
                if *group == other {
                    *group = one;
                    *inverted ^= turn;
                }
            }
            true
        };
        let mut possible = true;
        for data in 0..from.data() {
            let (one, now) = (from.ones[usize::from(wiring.data[data])], to.ones[data]);
            if 2 * now != to.size {
                possible &= bind(known, lines + data, one != now);
            }
            for address in 0..lines {
                let original = usize::from(wiring.address[address]);
                let lean = from.leans[original][usize::from(wiring.data[data])];
                let now = to.leans[address][data];
                if now != 0 {
                    possible &= bind(address, lines + data, lean != now);
                }
            }
            for other in 0..data {
                let original = |data: usize| usize::from(wiring.data[data]);
                let one = from.differ[original(data)][original(other)];
                let now = to.differ[data][other];
                if 2 * now != to.size {
                    possible &= bind(lines + data, lines + other, one != now);
                }
            }
        }
        if !possible {
            return None;
        }
        let mut free: Vec<usize> = bound.iter().map(|(group, _)| *group).collect();
        free.sort_unstable();
        free.dedup();
        free.retain(|&group| group != bound[known].0);
        if free.len() as u32 > MOST_INVERSIONS {
            self.gave_up = true;
            return None;
        }
        // Which lines turn with each free group, and which are inverted anyway.
        let mask = |turned: &dyn Fn(usize, bool) -> bool| {
            (0..from.all())
                .filter(|&line| turned(bound[line].0, bound[line].1))
                .fold(0u64, |mask, line| mask | 1 << line)
        };
        let (settled, level) = bound[known];
        let base = mask(&|group, inverted| inverted ^ (group == settled && level));
        let groups: Vec<u64> = free
            .iter()
            .map(|&free| mask(&|group, _| group == free))
            .collect();

        let straight = Turned::new(wiring);
        let address_of = |chip: usize| -> usize {
            wiring
                .address
                .iter()
                .enumerate()
                .fold(0, |a, (i, line)| a | (chip >> i & 1) << line)
        };
        let probes = [0, 1, 2, 5, 11, 23, 47, 95].map(|probe| {
            let chip = (probe * 0x9E37_79B1usize) & (self.to.image.len() - 1);
            (address_of(chip), self.to.image[chip])
        });
        let mut inverted = base;
        // In Gray order one group turns at a time.
        for n in 0..1u64 << groups.len() {
            if n > 0 {
                inverted ^= groups[n.trailing_zeros() as usize];
            }
            let turn = address_of(inverted as usize & ((1 << lines) - 1));
            let data = (inverted >> lines) as u16;
            let fits = probes.iter().all(|&(address, cell)| {
                straight.value(self.from.image[address ^ turn]) ^ data == cell
            });
            if !fits || inverted == 0 && !self.trivial_allowed {
                continue;
            }
            let found = Wiring {
                address_inverted: inverted as u32 & ((1 << lines) - 1),
                data_inverted: data,
                ..wiring.clone()
            };
            if Turned::new(&found).turns(self.from.image, self.to.image) {
                return Some(found);
            }
        }
        None
    }
}

/// Groups of lines that some wiring of the image onto itself exchanges: addresses, data.
fn alike(image: &[u16], figures: &Figures) -> (Vec<Vec<u8>>, Vec<Vec<u8>>) {
    let mut colours = figures.start();
    figures.refine(&mut colours);
    let side = Side::new(image, figures);
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for line in 0..colours.len() {
        let exchanged = |group: &&mut Vec<usize>| {
            let first = group[0];
            if colours[first] != colours[line] {
                return false;
            }
            let (mut from, mut to) = (colours.clone(), colours.clone());
            from[first] = mixed(colours[line], 7);
            to[line] = mixed(colours[line], 7);
            let mut attempt = Attempt::new(side, side);
            // Too many to try is as good as alike: nothing tells them apart.
            attempt.search(from, to).is_some() || attempt.gave_up
        };
        match groups.iter_mut().find(exchanged) {
            Some(group) => group.push(line),
            None => groups.push(vec![line]),
        }
    }
    groups.retain(|group| group.len() > 1);
    let (address, data): (Vec<_>, Vec<_>) = groups
        .into_iter()
        .partition(|group| group[0] < figures.lines);
    let named = |groups: Vec<Vec<usize>>, first: usize| {
        let names =
            |group: Vec<usize>| group.into_iter().map(|line| (line - first) as u8).collect();
        groups.into_iter().map(names).collect()
    };
    (named(address, 0), named(data, figures.lines))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    fn image(name: &str, lines: u32) -> Vec<u8> {
        name.parse::<Pattern>().unwrap().image(1 << lines).unwrap()
    }

    #[test]
    fn an_image_is_its_own_straight_wiring() {
        let random = image("random", 12);
        let found = recover(&random, &random, Width::Eight).unwrap();
        assert_eq!(found.wiring, Wiring::straight(12, Width::Eight));
        assert!(found.is_unique());
    }

    #[test]
    fn lists_say_what_each_chip_line_is_wired_to() {
        let random = image("random", 3);
        let wiring = Wiring {
            address: vec![2, 0, 1],
            address_inverted: 0b010,
            data: vec![0, 1, 2, 3, 4, 5, 7, 6],
            data_inverted: 0x01,
        };
        let chip = wiring.apply(&random).unwrap();
        for (at, &byte) in chip.iter().enumerate() {
            // Chip line 0 is the original's A2, line 1 its A0 inverted, line 2 its A1.
            let original = (at & 1) << 2 | (at >> 1 & 1 ^ 1) | (at >> 2) << 1;
            let wanted = random[original];
            let swapped = wanted & 0x3F | (wanted & 0x40) << 1 | (wanted & 0x80) >> 1;
            assert_eq!(byte, swapped ^ 0x01);
        }
        assert_eq!(wiring.apply(&random[..4]), None);
    }

    #[test]
    fn says_which_lines_look_alike() {
        // Address lines 8 to 10 make no difference, and the others only together with the data.
        let found = recover(&image("address", 11), &image("address", 11), Width::Eight).unwrap();
        assert_eq!(
            found.alike_address,
            [(0..8).collect::<Vec<u8>>(), vec![8, 9, 10]]
        );
        assert_eq!(found.alike_data, [(0..8).collect::<Vec<u8>>()]);
        assert!(found.other_inversions);
    }

    #[test]
    fn refuses_what_no_wiring_does() {
        let random = image("random", 10);
        let mut other = random.clone();
        other[77] ^= 0x10;
        assert_eq!(
            recover(&random, &other, Width::Eight),
            Err(WiringError::None)
        );
        let stuck: Vec<u8> = random.iter().map(|byte| byte | 1).collect();
        assert_eq!(
            recover(&random, &stuck, Width::Eight),
            Err(WiringError::None)
        );
        assert!(matches!(
            recover(&random, &random[..512], Width::Eight),
            Err(WiringError::Size { .. })
        ));
        assert!(recover(&random[..1000], &random[..1000], Width::Eight).is_err());
    }
}
