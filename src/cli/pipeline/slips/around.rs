//! What a line belongs to.

use std::path::Path;

/// What a line belongs to.
#[derive(Clone, Copy, Debug)]
pub struct Around<'a> {
    /// Where its files are.
    pub folder: &'a Path,
    /// Whether the bench is empty before it.
    pub first: bool,
    /// Whether it is a recipe's.
    pub recipe: bool,
}
