//! The table of steps.

use super::entry::{Step, StepEntry};
use super::{
    burnable, compare, copy, diagnose, digest, drop, expect, fill, find, hollow, join, keep, load,
    mark, pad, patch, pattern, relocate, repeat, rewire, seat, sheet, show, split, spread, stamp,
    swap, unseat, vote, write,
};

/// The table of steps, in the order in which people meet them.
pub const STEPS: &[StepEntry] = &[
    StepEntry::of::<load::LoadArgs>(),
    StepEntry::of::<pattern::PatternArgs>(),
    StepEntry::of::<fill::FillArgs>(),
    StepEntry::of::<hollow::HollowArgs>(),
    StepEntry::of::<keep::KeepArgs>(),
    StepEntry::of::<drop::DropArgs>(),
    StepEntry::of::<relocate::RelocateArgs>(),
    StepEntry::of::<pad::PadArgs>(),
    StepEntry::of::<repeat::RepeatArgs>(),
    StepEntry::of::<copy::CopyArgs>(),
    StepEntry::of::<find::FindArgs>(),
    StepEntry::of::<seat::SeatArgs>(),
    StepEntry::of::<unseat::UnseatArgs>(),
    StepEntry::of::<split::SplitArgs>(),
    StepEntry::of::<join::JoinArgs>(),
    StepEntry::of::<spread::SpreadArgs>(),
    StepEntry::of::<swap::SwapArgs>(),
    StepEntry::of::<rewire::RewireArgs>(),
    StepEntry::of::<patch::PatchArgs>(),
    StepEntry::of::<mark::MarkArgs>(),
    StepEntry::of::<stamp::StampArgs>(),
    StepEntry::of::<expect::ExpectArgs>(),
    StepEntry::of::<burnable::BurnableArgs>(),
    StepEntry::of::<compare::CompareArgs>(),
    StepEntry::of::<vote::VoteArgs>(),
    StepEntry::of::<diagnose::DiagnoseArgs>(),
    StepEntry::of::<digest::DigestArgs>(),
    StepEntry::of::<show::ShowArgs>(),
    StepEntry::of::<write::WriteArgs>(),
    StepEntry::of::<sheet::SheetArgs>(),
];

/// Names of steps that the command line treats specially.
pub mod step {
    use super::*;

    /// See [`Step::NAME`].
    pub const LOAD: &str = load::LoadArgs::NAME;
    /// See [`Step::NAME`].
    pub const PATTERN: &str = pattern::PatternArgs::NAME;
    /// See [`Step::NAME`].
    pub const FILL: &str = fill::FillArgs::NAME;
    /// See [`Step::NAME`].
    pub const HOLLOW: &str = hollow::HollowArgs::NAME;
    /// See [`Step::NAME`].
    pub const KEEP: &str = keep::KeepArgs::NAME;
    /// See [`Step::NAME`].
    pub const DROP: &str = drop::DropArgs::NAME;
    /// See [`Step::NAME`].
    pub const RELOCATE: &str = relocate::RelocateArgs::NAME;
    /// See [`Step::NAME`].
    pub const PAD: &str = pad::PadArgs::NAME;
    /// See [`Step::NAME`].
    pub const REPEAT: &str = repeat::RepeatArgs::NAME;
    /// See [`Step::NAME`].
    pub const COPY: &str = copy::CopyArgs::NAME;
    /// See [`Step::NAME`].
    pub const FIND: &str = find::FindArgs::NAME;
    /// See [`Step::NAME`].
    pub const SEAT: &str = seat::SeatArgs::NAME;
    /// See [`Step::NAME`].
    pub const UNSEAT: &str = unseat::UnseatArgs::NAME;
    /// See [`Step::NAME`].
    pub const SPLIT: &str = split::SplitArgs::NAME;
    /// See [`Step::NAME`].
    pub const JOIN: &str = join::JoinArgs::NAME;
    /// See [`Step::NAME`].
    pub const SPREAD: &str = spread::SpreadArgs::NAME;
    /// See [`Step::NAME`].
    pub const SWAP: &str = swap::SwapArgs::NAME;
    /// See [`Step::NAME`].
    pub const REWIRE: &str = rewire::RewireArgs::NAME;
    /// See [`Step::NAME`].
    pub const PATCH: &str = patch::PatchArgs::NAME;
    /// See [`Step::NAME`].
    pub const MARK: &str = mark::MarkArgs::NAME;
    /// See [`Step::NAME`].
    pub const STAMP: &str = stamp::StampArgs::NAME;
    /// See [`Step::NAME`].
    pub const EXPECT: &str = expect::ExpectArgs::NAME;
    /// See [`Step::NAME`].
    pub const BURNABLE: &str = burnable::BurnableArgs::NAME;
    /// See [`Step::NAME`].
    pub const COMPARE: &str = compare::CompareArgs::NAME;
    /// See [`Step::NAME`].
    pub const VOTE: &str = vote::VoteArgs::NAME;
    /// See [`Step::NAME`].
    pub const DIAGNOSE: &str = diagnose::DiagnoseArgs::NAME;
    /// See [`Step::NAME`].
    pub const DIGEST: &str = digest::DigestArgs::NAME;
    /// See [`Step::NAME`].
    pub const SHOW: &str = show::ShowArgs::NAME;
    /// See [`Step::NAME`].
    pub const WRITE: &str = write::WriteArgs::NAME;
    /// See [`Step::NAME`].
    pub const SHEET: &str = sheet::SheetArgs::NAME;
}
