//! Where each byte came from: a run-length map beside the spans.
//!
//! A file of a million even records is one run here, not a million: a run knows its first line and how
//! many bytes each line brought, so the line of any byte can be worked out when a message needs it.

use std::fmt;
use std::sync::Arc;

use super::AddressRange;
use super::span::shifted;

/// What put bytes into an image.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Source {
    /// Read from the file of this name.
    File(Arc<str>),
    /// Filler between or after the data.
    Filler,
    /// A stored sum, with the name of its algorithm.
    Stamp(Arc<str>),
    /// Overwritten by hand.
    Patch,
    /// A version, date or label text.
    Mark,
    /// A made-up test pattern, with its kind.
    Pattern(Arc<str>),
    /// A block copied from another place.
    Copy,
    /// The majority of several reads.
    Majority,
    /// Bytes of several sources taken in turn, such as those of joined lanes.
    Woven(Vec<Arc<Source>>),
}

impl Source {
    /// Whether it is only filler, so that no data is lost when it is replaced.
    pub fn is_filler(&self) -> bool {
        match self {
            Source::Filler => true,
            Source::Woven(parts) => parts.iter().all(|p| p.is_filler()),
            _ => false,
        }
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Source::File(name) => f.write_str(name),
            Source::Filler => f.write_str("filler"),
            Source::Stamp(algo) => write!(f, "stamp {algo}"),
            Source::Patch => f.write_str("patch"),
            Source::Mark => f.write_str("mark"),
            Source::Pattern(kind) => write!(f, "pattern {kind}"),
            Source::Copy => f.write_str("copy"),
            Source::Majority => f.write_str("majority"),
            Source::Woven(parts) => {
                for (i, part) in parts.iter().enumerate() {
                    write!(f, "{}{part}", if i == 0 { "" } else { " and " })?;
                }
                f.write_str(" in turn")
            }
        }
    }
}

/// Line numbers of a run: the byte `n` addresses after the run's first is on line
/// `first + (n * scale + phase) / stride`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lines {
    /// Line of the run's first byte, counted from 1.
    pub(super) first: u64,
    /// Bytes each line brought; at least 1.
    pub(super) stride: u32,
    /// How many bytes of its line are before the run's first byte; less than `stride`.
    pub(super) phase: u32,
    /// How many of the file's bytes there are for each address of the run: 1, or the number of lanes after a split.
    pub(super) scale: u32,
}

impl Lines {
    /// Lines of `stride` bytes each; the run's first byte is the first of line `first`, counted from 1. `None` for lines
    /// without a byte.
    pub fn new(first: u64, stride: u32) -> Option<Self> {
        (stride > 0).then_some(Self {
            first,
            stride,
            phase: 0,
            scale: 1,
        })
    }

    /// Bytes each line brought; at least 1.
    pub fn stride(self) -> u32 {
        self.stride
    }

    fn at(self, n: u64) -> u64 {
        let bytes = u128::from(n) * u128::from(self.scale) + u128::from(self.phase);
        let line = (bytes / u128::from(self.stride)) as u64;
        self.first.saturating_add(line)
    }

    fn advanced(self, n: u64) -> Self {
        let bytes = u128::from(n) * u128::from(self.scale) + u128::from(self.phase);
        Self {
            first: self.at(n),
            phase: (bytes % u128::from(self.stride)) as u32,
            ..self
        }
    }
}

/// A range of bytes with one source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OriginRun {
    /// The addresses.
    pub range: AddressRange,
    /// What put the bytes there.
    pub source: Arc<Source>,
    /// Lines of the file, when the source is a text file.
    pub lines: Option<Lines>,
}

impl OriginRun {
    /// Line of the byte at `address`, counted from 1, where known.
    pub fn line_at(&self, address: u64) -> Option<u64> {
        let n = address.checked_sub(self.range.first())?;
        self.lines.map(|lines| lines.at(n))
    }

    /// The part of this run inside `range`.
    pub fn cut(&self, range: AddressRange) -> Option<OriginRun> {
        let part = self.range.overlap(range)?;
        Some(OriginRun {
            range: part,
            source: self.source.clone(),
            lines: self
                .lines
                .map(|l| l.advanced(part.first() - self.range.first())),
        })
    }

    /// The same run elsewhere; the caller knows that it is inside the address space.
    pub(super) fn moved(&self, by: i128) -> OriginRun {
        let (first, last) = (self.range.first(), self.range.last());
        let range = AddressRange::new(shifted(first, by), shifted(last, by));
        OriginRun {
            range: range.unwrap_or(self.range),
            ..self.clone()
        }
    }

    /// Whether `next` continues where this run stops, line numbers included.
    fn continues_into(&self, next: &OriginRun) -> bool {
        self.range.last() + 1 == next.range.first()
            && (Arc::ptr_eq(&self.source, &next.source) || self.source == next.source)
            && self.lines.map(|l| l.advanced(self.range.len())) == next.lines
    }
}

/// One byte's origin, ready to be named in a message: `monitor.hex line 7`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Origin {
    /// What put the byte there.
    pub source: Arc<Source>,
    /// The file's line, counted from 1, where known.
    pub line: Option<u64>,
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.source)?;
        match self.line {
            Some(line) => write!(f, " line {line}"),
            None => Ok(()),
        }
    }
}

/// The runs of one image, sorted; no two overlap.
#[derive(Clone, Debug, Default)]
pub struct Origins {
    runs: Vec<OriginRun>,
}

impl Origins {
    /// From runs that are sorted and do not overlap; joins those that continue one another.
    pub(super) fn from_sorted(runs: impl IntoIterator<Item = OriginRun>) -> Self {
        let runs = runs.into_iter();
        let mut out = Self::with_capacity(runs.size_hint().0);
        runs.for_each(|run| out.push(run));
        out
    }

    pub(super) fn with_capacity(runs: usize) -> Self {
        Self {
            runs: Vec::with_capacity(runs),
        }
    }

    /// Adds a run after all others, joined to the last when it continues it.
    #[inline]
    pub(super) fn push(&mut self, run: OriginRun) {
        match self.runs.last_mut() {
            Some(last) if last.continues_into(&run) => last.range = last.range.hull(run.range),
            _ => self.runs.push(run),
        }
    }

    pub(super) fn into_runs(self) -> Vec<OriginRun> {
        self.runs
    }

    /// All runs, lowest address first.
    pub fn runs(&self) -> &[OriginRun] {
        &self.runs
    }

    /// The run that contains `address`.
    pub fn run_at(&self, address: u64) -> Option<&OriginRun> {
        let i = self.runs.partition_point(|r| r.range.last() < address);
        self.runs.get(i).filter(|r| r.range.contains(address))
    }

    /// The parts of the runs inside `range`.
    pub fn within(&self, range: AddressRange) -> impl Iterator<Item = OriginRun> + '_ {
        let from = self
            .runs
            .partition_point(|r| r.range.last() < range.first());
        self.runs[from..]
            .iter()
            .take_while(move |r| r.range.first() <= range.last())
            .filter_map(move |r| r.cut(range))
    }

    /// Takes off what is from `at` up.
    pub(super) fn split_off(&mut self, at: u64) -> Origins {
        let whole = self.runs.partition_point(|run| run.range.first() < at);
        let mut runs = self.runs.split_off(whole);
        let across = self.runs.last_mut().filter(|run| run.range.last() >= at);
        if let (Some(run), Some(upper)) = (across, AddressRange::from_up(at)) {
            runs.splice(0..0, run.cut(upper));
            if let Some(lower) = AddressRange::below(at).and_then(|lower| run.cut(lower)) {
                *run = lower;
            }
        }
        Origins { runs }
    }

    /// Takes `range` out; what is around it stays.
    pub(super) fn remove(&mut self, range: AddressRange) {
        let from = self
            .runs
            .partition_point(|r| r.range.last() < range.first());
        let to = self
            .runs
            .partition_point(|r| r.range.first() <= range.last());
        if from >= to {
            return;
        }
        let before = AddressRange::below(range.first()).and_then(|r| self.runs[from].cut(r));
        let after = AddressRange::from_up(range.last() + 1).and_then(|r| self.runs[to - 1].cut(r));
        self.runs.splice(from..to, before.into_iter().chain(after));
    }

    /// Takes out ranges that are in order and apart, in one sweep.
    pub(super) fn remove_united(&mut self, gone: &[AddressRange]) {
        let old = std::mem::take(&mut self.runs);
        self.runs.reserve(old.len());
        let mut next = 0;
        for run in old {
            let before = gone[next..].iter();
            next += before.take_while(|r| r.last() < run.range.first()).count();
            let mut at = run.range.first();
            let mut n = next;
            while let Some(range) = gone.get(n).filter(|r| r.first() <= run.range.last()) {
                let kept = range.first().checked_sub(1);
                let kept = kept.and_then(|last| AddressRange::new(at, last));
                self.runs.extend(kept.and_then(|kept| run.cut(kept)));
                at = range.last() + 1;
                n += 1;
            }
            match at == run.range.first() {
                true => self.runs.push(run),
                false => {
                    let kept = AddressRange::new(at, run.range.last());
                    self.runs.extend(kept.and_then(|kept| run.cut(kept)));
                }
            }
            // The last of them may go on in the next run.
            next = n.saturating_sub(1).max(next);
        }
    }

    /// Puts runs that are sorted and apart from each other over whatever is here.
    pub(super) fn replace(&mut self, runs: Vec<OriginRun>) {
        /// Up to so many are put into their places one by one.
        const FEW: usize = 8;
        if runs.len() <= FEW {
            runs.into_iter().for_each(|run| self.replace_one(run));
            return;
        }
        let ranges: Vec<AddressRange> = runs.iter().map(|run| run.range).collect();
        self.remove_united(&ranges);
        self.insert_apart(runs);
    }

    fn replace_one(&mut self, run: OriginRun) {
        self.remove(run.range);
        let at = self.runs.partition_point(|r| r.range < run.range);
        let (from, to) = (at.saturating_sub(1), self.runs.len().min(at + 1));
        // Its neighbours may go on in it.
        let before = self.runs[from..at].iter().cloned();
        let after = self.runs[at..to].iter().cloned();
        let joined = Self::from_sorted(before.chain([run]).chain(after).collect::<Vec<_>>());
        self.runs.splice(from..to, joined.runs);
    }

    /// Adds runs that are sorted and overlap no run here.
    pub(super) fn insert_apart(&mut self, more: Vec<OriginRun>) {
        let old = std::mem::take(&mut self.runs);
        *self = Self::from_sorted(super::span::merge_sorted(old, more, |r| r.range.first()));
    }

    pub(super) fn map(&mut self, mut f: impl FnMut(&mut OriginRun)) {
        self.runs.iter_mut().for_each(&mut f);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn r(first: u64, last: u64) -> AddressRange {
        AddressRange::new(first, last).unwrap()
    }

    fn run(first: u64, last: u64, line: u64) -> OriginRun {
        OriginRun {
            range: r(first, last),
            source: Arc::new(Source::File("a.hex".into())),
            lines: Some(Lines {
                first: line,
                stride: 16,
                phase: 0,
                scale: 1,
            }),
        }
    }

    #[test]
    fn a_cut_run_still_names_the_right_lines() {
        let cut = run(0x100, 0x14F, 7).cut(r(0x115, 0x200)).unwrap();
        assert_eq!(cut.range, r(0x115, 0x14F));
        for (address, line) in [(0x115, 8), (0x11F, 8), (0x120, 9), (0x14F, 11)] {
            assert_eq!(cut.line_at(address), Some(line), "{address:X}");
        }
    }

    #[test]
    fn a_line_split_over_lanes_is_counted_in_bytes_of_the_file() {
        // Every third byte of lines of 4 bytes, from the second byte of line 5 on: bytes 1, 4, 7, 10 of the file.
        let mut lane = run(0, 3, 5);
        lane.lines = Some(Lines {
            first: 5,
            stride: 4,
            phase: 1,
            scale: 3,
        });
        let lines = |run: &OriginRun| (0..4).map(|at| run.line_at(at)).collect::<Vec<_>>();
        assert_eq!(lines(&lane), [Some(5), Some(6), Some(6), Some(7)]);
        let cut = lane.cut(r(2, 3)).unwrap();
        assert_eq!(lines(&cut), [None, None, Some(6), Some(7)]);
        assert_eq!(cut.lines.map(|l| (l.first, l.phase)), Some((6, 3)));
        let mut whole = Origins::from_sorted([lane.cut(r(0, 1)).unwrap(), cut]);
        assert_eq!(whole.runs(), std::slice::from_ref(&lane));
        whole.remove(r(1, 1));
        assert_eq!(whole.run_at(1), None);
        assert_eq!(lines(whole.run_at(3).unwrap())[2..], lines(&lane)[2..]);
    }

    #[test]
    fn removing_the_middle_leaves_both_ends_with_their_lines() {
        let mut origins = Origins::from_sorted([run(0, 0x4F, 1)]);
        origins.remove(r(0x10, 0x1F));
        assert_eq!(origins.runs().len(), 2);
        assert_eq!(origins.run_at(0xF).unwrap().line_at(0xF), Some(1));
        assert!(origins.run_at(0x10).is_none());
        assert_eq!(origins.run_at(0x20).unwrap().line_at(0x20), Some(3));
    }

    #[test]
    fn runs_that_go_on_one_another_become_one() {
        let mut origins = Origins::from_sorted([run(0, 0xF, 1), run(0x20, 0x2F, 3)]);
        origins.insert_apart(vec![run(0x10, 0x1F, 2)]);
        assert_eq!(origins.runs(), [run(0, 0x2F, 1)]);
    }
}
