//! Which chip of a known set is this read?

mod recognise;

pub use recognise::{
    Answer, Cut, Form, KnownBy, KnownChip, ListError, Nearest, recognise, sums_of_list,
};
