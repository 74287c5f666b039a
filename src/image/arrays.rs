//! Bytes a few at a time.

/// Every `N` bytes, without what is left at the end, as `slice::as_chunks` of newer Rust gives them.
pub(crate) fn arrays<const N: usize>(
    bytes: &[u8],
) -> impl DoubleEndedIterator<Item = [u8; N]> + ExactSizeIterator {
    // Each chunk has N bytes, which the compiler sees too: the other value is never used.
    (bytes.chunks_exact(N)).map(|chunk| chunk.first_chunk().copied().unwrap_or([0; N]))
}
