//! Every function against a plain byte-by-byte model, or against figures worked out by hand in the comment.

mod burnable;
mod check;
mod copy;
mod edit;
mod rewire;
mod space;
mod split;
mod stamp;
mod support;
