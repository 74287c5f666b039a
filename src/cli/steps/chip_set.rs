//! The chips of one board, each with what it should contain.

use std::path::Path;

use super::common::raw_base;
use super::read_chip::{ReadChip, Wanted, filled, image_of, known, wanted_of};
use super::references::References;
use super::vote::{ChipReads, ReadBytes};
use crate::cli::bench::{Bench, ReadLimit, Stop};
use crate::cli::report::{DiagnosisReport, Known, SetReport, Unpaired};
use crate::faults::{Case, Verdict, diagnose_set, other_place};

/// A chip of a set: what was read of it, and what it should contain.
pub(super) struct ChipOfSet {
    /// Its piece's name, the read and its part.
    pub chip: ReadChip,
    /// What it should contain.
    pub wanted: Wanted,
    /// What it contained before it was burned.
    pub old: Option<Vec<u8>>,
}

/// What the pieces on the bench are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PiecesAre {
    /// What was read; the files are what is wanted.
    Read,
    /// What is wanted; the files are what was read.
    Wanted,
}

/// The pieces with their files.
///
/// # Errors
/// A file that can't be read or that can't belong to its piece, and a read with holes.
pub(super) fn chips_of_set(
    bench: &mut Bench,
    references: &References,
    pieces: PiecesAre,
) -> Result<Vec<ChipOfSet>, Stop> {
    let mut pairs = Vec::new();
    for (i, file) in &references.found {
        let piece = &bench.pieces[*i];
        let name = piece.name.clone();
        let first = raw_base(piece);
        let part = piece.part().cloned();
        let chip = |first: u64, bytes: ReadBytes| ReadChip {
            reads: ChipReads {
                first,
                names: vec![name.clone()],
                bytes: vec![bytes],
            },
            part: part.clone(),
        };
        let pair = match pieces {
            PiecesAre::Read => {
                let read = ReadBytes::of(piece.image());
                let (first, bytes) = read.map_err(|error| Stop::from(error).about(&name))?;
                let chip = chip(first, bytes);
                let wanted = wanted_of(bench, file, first, chip.first_read(), &chip)?;
                ChipOfSet {
                    chip,
                    wanted,
                    old: None,
                }
            }
            PiecesAre::Wanted => {
                let image = piece.image().clone();
                let read = super::load::read_other(bench, file, first, ReadLimit::Fixed)?;
                let shown = bench.shown(file);
                let read = ReadBytes::of(&read);
                let (own, bytes) = read.map_err(|error| Stop::from(error).about(&shown))?;
                if own != first {
                    return Err(Stop::trouble(format!(
                        "{shown} begins at 0x{:04X}, but the chip begins at 0x{first:04X}",
                        own
                    ))
                    .advise("`relocate` the read to the chip's first address and write it as raw binary"));
                }
                let chip = chip(first, bytes);
                let size = chip.first_read().len();
                let wanted = filled(bench, &image, &name, first, size, &chip)?;
                ChipOfSet {
                    chip,
                    wanted,
                    old: None,
                }
            }
        };
        pair.chip.check_size(bench);
        pairs.push(pair);
    }
    Ok(pairs)
}

/// Adds what each chip contained before; a piece without such a file has none.
///
/// # Errors
/// As of [`image_of`].
pub(super) fn add_old(
    bench: &mut Bench,
    pairs: &mut [ChipOfSet],
    files: &[(usize, &Path)],
) -> Result<(), Stop> {
    for &(n, file) in files {
        let pair = &mut pairs[n];
        let size = pair.wanted.bytes.len();
        let first = pair.chip.reads.first;
        pair.old = Some(image_of(bench, file, first, size, &pair.chip)?);
    }
    Ok(())
}

/// The verdict on all of them; `told` adds to a case what the options say.
///
/// # Errors
/// A chip that can't be explained.
pub(super) fn diagnosed<'a>(
    pairs: &'a [ChipOfSet],
    told: &dyn Fn(Case<'a>, &'a ChipOfSet) -> Case<'a>,
    unpaired: Unpaired,
    noun: &'static str,
) -> Result<SetReport, Stop> {
    let case = |pair: &'a ChipOfSet| {
        let case = told(Case::new(&pair.wanted.bytes, pair.chip.first_read()), pair);
        match &pair.old {
            Some(old) => case.old(old),
            None => case,
        }
    };
    let cases: Vec<Case> = pairs.iter().map(case).collect();
    let name = |n: usize| &pairs[n].chip.reads.names[0];
    let found = diagnose_set(&cases).map_err(|(n, error)| Stop::from(error).about(name(n)))?;
    let others = |n: usize| -> Vec<String> {
        (0..=u8::MAX)
            .map_while(|other| other_place(&cases, n, other))
            .map(|place| format!("what belongs in {}", name(place)))
            .collect()
    };
    let chips = pairs.iter().enumerate().map(|(n, pair)| {
        let others = others(n);
        DiagnosisReport::new(
            &pair.chip.reads.names,
            &pair.wanted.name,
            &cases[n],
            &found.chips[n],
            pair.chip.first_read().len(),
            known(&pair.chip, &others, &[]),
        )
    });
    let chips = chips.collect();
    let differing = found
        .chips
        .iter()
        .position(|chip| chip.verdict != Verdict::Same);
    let first = pairs.get(differing.unwrap_or(0));
    let known = first.map_or_else(Known::default, |pair| known(&pair.chip, &[], &[]));
    Ok(SetReport::new(&found.verdict, chips, unpaired, noun, known))
}
