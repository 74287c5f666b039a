//! How sure a verdict is.

/// How sure the answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// The read is the wanted image. (A swap or inversion inside a programmer cancels when
    /// burned and read there.)
    Same,
    /// The answer explains every byte, and every story that would read differently would have to be at least a million times
    /// likelier from the start.
    Certain,
    /// The answer is much likelier than every other one, but it is a list, or it leaves something over, or its lead is
    /// smaller.
    Likely,
    /// Several stories are about as likely, or none is.
    Open,
}
