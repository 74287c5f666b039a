//! Prepare, split, stamp and prove ROM images.
#![cfg_attr(docsrs, feature(doc_cfg))]

pub mod sums;
