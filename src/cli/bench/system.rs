//! What the system says, in our words.

use std::io::{self, ErrorKind};

/// What the system says, without its error number: in the same words on every system where the kind of error is known.
pub fn plain(error: &io::Error) -> String {
    let words = match error.kind() {
        ErrorKind::NotFound => "no such file or directory",
        ErrorKind::PermissionDenied => "permission denied",
        ErrorKind::ReadOnlyFilesystem => "read-only file system",
        ErrorKind::StorageFull => "no space left on device",
        ErrorKind::QuotaExceeded => "disk quota exceeded",
        ErrorKind::FileTooLarge => "file too large",
        ErrorKind::IsADirectory => "is a directory",
        ErrorKind::NotADirectory => "not a directory",
        ErrorKind::BrokenPipe => "broken pipe",
        _ => {
            let text = error.to_string();
            let number = error.raw_os_error();
            let number = number.map(|number| format!(" (os error {number})"));
            return match number.and_then(|number| text.strip_suffix(&number)) {
                Some(words) => words.to_lowercase(),
                None => text,
            };
        }
    };
    words.into()
}
