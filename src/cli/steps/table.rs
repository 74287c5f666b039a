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

/// Names of steps that the command line treats in a way of their own.
pub mod step {
    use super::*;

    /// What begins most pipelines.
    pub const LOAD: &str = load::LoadArgs::NAME;
    /// What makes a piece without a file.
    pub const PATTERN: &str = pattern::PatternArgs::NAME;
    /// What makes the pieces of a board.
    pub const SEAT: &str = seat::SeatArgs::NAME;
    /// What makes several pieces of one.
    pub const SPLIT: &str = split::SplitArgs::NAME;
    /// What makes one piece of several.
    pub const JOIN: &str = join::JoinArgs::NAME;
    /// What answers by its exit code alone.
    pub const EXPECT: &str = expect::ExpectArgs::NAME;
    /// What holds an image against a file.
    pub const COMPARE: &str = compare::CompareArgs::NAME;
    /// What shows sums.
    pub const DIGEST: &str = digest::DigestArgs::NAME;
    /// What shows maps and bytes.
    pub const SHOW: &str = show::ShowArgs::NAME;
    /// What writes files in a format.
    pub const WRITE: &str = write::WriteArgs::NAME;
    /// What is meant by other words for changing an image.
    pub const RELOCATE: &str = relocate::RelocateArgs::NAME;
    /// As [`RELOCATE`].
    pub const KEEP: &str = keep::KeepArgs::NAME;
    /// As [`RELOCATE`].
    pub const DROP: &str = drop::DropArgs::NAME;
    /// As [`RELOCATE`].
    pub const PATCH: &str = patch::PatchArgs::NAME;
    /// As [`RELOCATE`].
    pub const REPEAT: &str = repeat::RepeatArgs::NAME;
    /// As [`RELOCATE`].
    pub const SWAP: &str = swap::SwapArgs::NAME;
    /// As [`RELOCATE`].
    pub const STAMP: &str = stamp::StampArgs::NAME;
    /// What is meant by other words for looking for bytes.
    pub const FIND: &str = find::FindArgs::NAME;
}
