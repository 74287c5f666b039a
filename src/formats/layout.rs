//! From what was read to an image: clashes, and the holes that lost lines leave.

use super::explanation::Explanation;
use super::findings::Findings;
use super::problem::Problem;
use crate::image::{AddressRange, Builder, Clash, Image, Overlap};

/// Lays out what was read. Addresses that came twice go to the findings where `clash` does not settle them.
pub(super) fn finished(
    builder: Builder,
    clash: Clash,
    findings: &mut Findings,
    carry: impl FnOnce(&mut Image),
) -> Image {
    findings.facts.arrival = builder.arrival();
    if let Err(error) = builder.check_memory() {
        findings.error(None, Problem::NoMemory(error));
        return Image::new();
    }
    let settled = matches!(clash, Clash::First | Clash::Last);
    let laid_out = match findings.is_salvage() && !settled {
        false => builder.finish(clash),
        true => {
            let (image, contests) = builder.finish_undisputed();
            for contest in &contests {
                findings.error(None, Problem::Contested(Box::new(contest.clone())));
            }
            findings.facts.contested = contests;
            Ok(image)
        }
    };
    match laid_out {
        Ok(mut image) => {
            let is_it = |p: &Problem| matches!(p, Problem::Count { says, has } if has < says);
            findings.explain(is_it, |problem| lost_line(&image, problem));
            carry(&mut image);
            image
        }
        Err(overlap) => {
            let doubled = doubled_line(&overlap);
            findings.error(None, Problem::Overlap(Box::new(overlap)));
            if doubled.is_some() {
                findings.explain_last(doubled.into_iter().collect());
            }
            Image::new()
        }
    }
}

/// The most data bytes of a record, in the formats that have records.
const MOST_DATA: u64 = 255;

/// Two lines, one after the other, that say the same.
fn doubled_line(overlap: &Overlap) -> Option<Explanation> {
    let (earlier, later) = (&overlap.earlier.0, &overlap.later.0);
    let (line, again) = (earlier.line?, later.line?);
    let same = earlier.source == later.source && overlap.equal == overlap.count;
    (same && again == line + 1 && overlap.count <= MOST_DATA)
        .then_some(Explanation::Doubled { line, again })
}

/// The only hole between neighbouring lines that is as large as the records that a count misses.
fn lost_line(image: &Image, problem: &Problem) -> Option<Explanation> {
    let Problem::Count { says, has } = problem else {
        return None;
    };
    let missing = says.checked_sub(*has)?;
    let mut fitting = gaps_between_lines(image).filter(|gap| gap.records == missing);
    match (fitting.next(), fitting.next()) {
        (Some(gap), None) => Some(Explanation::LostLine {
            behind: gap.behind,
            range: gap.range,
        }),
        _ => None,
    }
}

/// A hole between two neighbouring lines of a file, as large as whole records of the line before it.
pub(super) struct LineGap {
    /// The line before it.
    pub behind: u64,
    /// The hole.
    pub range: AddressRange,
    /// Records that would fill it.
    pub records: u64,
}

/// All such holes, lowest first.
pub(super) fn gaps_between_lines(image: &Image) -> impl Iterator<Item = LineGap> {
    image.origins().runs().windows(2).filter_map(|pair| {
        let (before, after) = (&pair[0], &pair[1]);
        let range =
            AddressRange::new(before.range.last().checked_add(1)?, after.range.first() - 1)?;
        let stride = u64::from(before.lines?.stride());
        let behind = before.line_at(before.range.last())?;
        let neighbours =
            before.source == after.source && after.line_at(after.range.first())? == behind + 1;
        (neighbours && range.len() % stride == 0).then_some(LineGap {
            behind,
            range,
            records: range.len() / stride,
        })
    })
}
