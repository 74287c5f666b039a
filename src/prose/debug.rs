//! Errors that a developer can read.

/// `Debug` that prints what `Display` does, so that a program whose `main` returns the error ends with a sentence and not
/// with the fields of a struct.
macro_rules! debug_as_display {
    ($($error:ty),+ $(,)?) => {
        $(impl ::std::fmt::Debug for $error {
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result {
                ::std::fmt::Display::fmt(self, f)
            }
        })+
    };
}
pub(crate) use debug_as_display;
