//! The read described as copies from the wanted image: what is in its place, what has moved, what is constant, and what is
//! new.
//!
//! Copies and literals in one pass are due to J. Ziv and A. Lempel ("A universal algorithm for sequential data
//! compression", IEEE Transactions on Information Theory 23, 1977); edits with block moves to W. F. Tichy ("The string-to-string
//! correction problem with block moves", ACM TOCS 2(4), 1984).

mod index;
mod parse;

pub(super) use index::{Index, common, differing};
pub(super) use parse::{Kind, Parse, Token, alone, parse};
