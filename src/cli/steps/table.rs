//! The table of steps.

use super::entry::{Entry, Step};
use super::{
    burnable, compare, copy, diagnose, digest, drop, expect, fill, find, hollow, join, keep, load,
    mark, pad, patch, pattern, relocate, repeat, rewire, seat, sheet, show, split, spread, stamp,
    swap, unseat, vote, write,
};

/// The table of steps, in the order in which people meet them.
pub const STEPS: &[Entry] = &[
    Entry::of::<load::Load>(),
    Entry::of::<pattern::Pattern>(),
    Entry::of::<fill::Fill>(),
    Entry::of::<hollow::Hollow>(),
    Entry::of::<keep::Keep>(),
    Entry::of::<drop::Drop>(),
    Entry::of::<relocate::Relocate>(),
    Entry::of::<pad::Pad>(),
    Entry::of::<repeat::Repeat>(),
    Entry::of::<copy::Copy>(),
    Entry::of::<find::Find>(),
    Entry::of::<seat::Seat>(),
    Entry::of::<unseat::Unseat>(),
    Entry::of::<split::Split>(),
    Entry::of::<join::Join>(),
    Entry::of::<spread::Spread>(),
    Entry::of::<swap::Swap>(),
    Entry::of::<rewire::Rewire>(),
    Entry::of::<patch::Patch>(),
    Entry::of::<mark::Mark>(),
    Entry::of::<stamp::Stamp>(),
    Entry::of::<expect::Expect>(),
    Entry::of::<burnable::Burnable>(),
    Entry::of::<compare::Compare>(),
    Entry::of::<vote::Vote>(),
    Entry::of::<diagnose::Diagnose>(),
    Entry::of::<digest::Digest>(),
    Entry::of::<show::Show>(),
    Entry::of::<write::Write>(),
    Entry::of::<sheet::Sheet>(),
];

/// Names of steps that the command line treats in a way of their own.
pub mod step {
    use super::*;

    /// What begins most pipelines.
    pub const LOAD: &str = load::Load::NAME;
    /// What makes a piece without a file.
    pub const PATTERN: &str = pattern::Pattern::NAME;
    /// What makes the pieces of a board.
    pub const SEAT: &str = seat::Seat::NAME;
    /// What makes several pieces of one.
    pub const SPLIT: &str = split::Split::NAME;
    /// What makes one piece of several.
    pub const JOIN: &str = join::Join::NAME;
    /// What answers by its exit code alone.
    pub const EXPECT: &str = expect::Expect::NAME;
    /// What holds an image against a file.
    pub const COMPARE: &str = compare::Compare::NAME;
    /// What shows sums.
    pub const DIGEST: &str = digest::Digest::NAME;
    /// What shows maps and bytes.
    pub const SHOW: &str = show::Show::NAME;
    /// What writes files in a format.
    pub const WRITE: &str = write::Write::NAME;
    /// What is meant by other words for changing an image.
    pub const RELOCATE: &str = relocate::Relocate::NAME;
    /// As [`RELOCATE`].
    pub const KEEP: &str = keep::Keep::NAME;
    /// As [`RELOCATE`].
    pub const DROP: &str = drop::Drop::NAME;
    /// As [`RELOCATE`].
    pub const PATCH: &str = patch::Patch::NAME;
    /// As [`RELOCATE`].
    pub const REPEAT: &str = repeat::Repeat::NAME;
    /// As [`RELOCATE`].
    pub const SWAP: &str = swap::Swap::NAME;
    /// As [`RELOCATE`].
    pub const STAMP: &str = stamp::Stamp::NAME;
    /// What is meant by other words for looking for bytes.
    pub const FIND: &str = find::Find::NAME;
}
