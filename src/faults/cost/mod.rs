//! What a story and what it leaves over cost, in bits.
//!
//! The measure is the minimum description length principle (J. Rissanen, "Modeling by shortest data description",
//! Automatica 14, 1978): of all stories that turn what was meant into what was read, the one that can be told in
//! the fewest bits is the likeliest, and each bit that it is shorter makes it twice as likely.

mod code;
mod leftover;
mod table;

pub(super) use code::{Literals, choose, integer, log2, log2_factorial, place};
pub(super) use leftover::{Tally, leftover_bits};
pub(super) use table::{
    A_LIST, A_MOVED_BLOCK, A_WRONG_CELL, CERTAIN, LEFT_OVER, LIKELY, MANY_STRETCHES, MapKind,
    NOTHING_IN_COMMON, ONE_MORE_EDIT, Size, TOO_MANY_STRETCHES, edit_bits, length_bits, map_kind,
    model_bits, story_bits,
};
