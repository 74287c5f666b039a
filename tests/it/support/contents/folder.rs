//! Contents of one's own, for a measurement on this machine: `ROMLOOM_CONTENT` names a folder of files.

use crate::support::broken::Chance;
use std::sync::OnceLock;

/// What there is in the folder, each file whole; `None` where none is named.
fn files() -> Option<&'static [Vec<u8>]> {
    static FILES: OnceLock<Option<Vec<Vec<u8>>>> = OnceLock::new();
    let read = || {
        let folder = std::env::var_os("ROMLOOM_CONTENT")?;
        let entries = std::fs::read_dir(&folder).expect("ROMLOOM_CONTENT names a folder");
        let mut paths: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
        paths.sort();
        let files = paths.into_iter().filter(|path| path.is_file());
        let large = |file: &Vec<u8>| file.len() >= 4096;
        let files: Vec<Vec<u8>> = files
            .filter_map(|path| std::fs::read(path).ok())
            .filter(large)
            .collect();
        assert!(
            !files.is_empty(),
            "ROMLOOM_CONTENT has no file of 4,096 bytes or more"
        );
        Some(files)
    };
    FILES.get_or_init(read).as_deref()
}

/// A chip of this size with a part of one of the files, or all of it, and erased cells after that.
pub fn from_folder(size: usize, seed: u64) -> Option<Vec<u8>> {
    let chance = &mut Chance(seed);
    let files = files()?;
    let file = &files[chance.below(files.len())];
    let used = (size * chance.between(50, 100) / 100).min(file.len());
    let from = chance.below(file.len() - used + 1) & !0xF;
    let mut chip = file[from..from + used].to_vec();
    chip.resize(size, 0xFF);
    Some(chip)
}
