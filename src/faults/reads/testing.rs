//! Reads for the tests of this room.

use super::majority::majority;
use super::observed::Observed;
use crate::wiring::Width;

/// So many reads of an image; in those of `shows` a cell shows this byte.
pub(super) fn reads_that_show(
    image: &[u8],
    count: usize,
    shows: &[(usize, &[usize], u8)],
) -> Vec<Vec<u8>> {
    let mut reads = vec![image.to_vec(); count];
    for &(at, in_reads, byte) in shows {
        in_reads.iter().for_each(|&read| reads[read][at] = byte);
    }
    reads
}

/// What is asked of these reads.
pub(super) fn ask<R>(reads: &[Vec<u8>], wanted: Option<&[u8]>, ask: impl Fn(&Observed) -> R) -> R {
    let reads: Vec<&[u8]> = reads.iter().map(Vec::as_slice).collect();
    let found = majority(&reads, wanted);
    ask(&Observed::new(&reads, Width::Eight, wanted, &found))
}
