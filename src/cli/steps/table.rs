//! The table of steps.

use super::entry::Entry;
use super::{
    burnable, compare, copy, diagnose, digest, drop, expect, fill, find, hollow, join, keep, load,
    mark, pad, patch, pattern, relocate, repeat, rewire, seat, sheet, show, split, spread, stamp,
    swap, vote, write,
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
