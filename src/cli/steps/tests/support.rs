//! A bench for tests.

use std::path::Path;

use crate::cli::bench::{Bench, Console, OutputMode, Staging, WritePolicy};
use crate::parts::Catalogue;

/// A bench that tells only warnings and writes no file.
pub(super) fn bench(folder: &Path) -> Bench {
    let mode = OutputMode {
        quiet: true,
        // Gathered, and never printed.
        json: true,
        ..OutputMode::default()
    };
    let staging = Staging::new(WritePolicy {
        dry_run: true,
        ..WritePolicy::default()
    });
    let parts = Catalogue::built_in();
    Bench::new(folder.to_owned(), parts, Console::new(mode), staging)
}
