use std::fs;

use crate::formats::*;
use crate::image::{Image, Source};

fn chip() -> Image {
    Image::from_bytes(0x8000, vec![1, 2, 3], Source::Patch).unwrap()
}

#[test]
fn the_extension_tells_the_format_and_what_is_written_reads_back() {
    let folder = tempfile::tempdir().unwrap();
    for (name, format) in [
        ("a.hex", "intel-hex"),
        ("a.S19", "s-record"),
        ("a.txt", "ti-txt"),
    ] {
        let path = folder.path().join(name);
        save(&path, &chip(), &WriteOptions::default()).unwrap();
        let loaded = load(&path, &ReadOptions::default()).unwrap();
        assert_eq!(loaded.format.name(), format);
        assert!(loaded.image.same_bytes(&chip()), "{name}");
    }
    for name in ["a", "a.elf", "a.doc"] {
        let path = folder.path().join(name);
        let error = save(&path, &chip(), &WriteOptions::default()).unwrap_err();
        assert_eq!(
            format!("{error:?}"),
            format!("{}: the file name does not say the format", path.display())
        );
        assert!(!path.exists());
    }
}

#[test]
fn what_can_not_be_written_leaves_the_old_file_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.bin");
    fs::write(&path, "old").unwrap();
    let mut holed = chip();
    holed.put(0x9000, vec![4], Source::Patch).unwrap();
    let error = save(&path, &holed, &WriteOptions::default()).unwrap_err();
    assert!(matches!(
        error,
        SaveError::Write {
            error: WriteError::Hole { .. },
            ..
        }
    ));
    assert_eq!(fs::read(&path).unwrap(), b"old");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    save(&path, &chip(), &WriteOptions::default()).unwrap();
    assert_eq!(fs::read(&path).unwrap(), [1, 2, 3]);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn neither_a_folder_nor_a_place_without_one_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let there = folder.path().join("a.bin");
    fs::create_dir(&there).unwrap();
    for path in [there, folder.path().join("no").join("b.bin")] {
        let error = save(&path, &chip(), &WriteOptions::default()).unwrap_err();
        let told = error.to_string();
        assert!(told.starts_with(&format!("{}: ", path.display())), "{told}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[cfg(unix)]
#[test]
fn permissions_and_links_stay() {
    use std::os::unix::fs::{PermissionsExt, symlink};

    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.bin");
    fs::write(&path, "old").unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let link = folder.path().join("link.bin");
    symlink("a.bin", &link).unwrap();
    save(&link, &chip(), &WriteOptions::default()).unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(fs::read(&path).unwrap(), [1, 2, 3]);
    let mode = fs::metadata(&path).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
}

/// A new file never runs as its owner or group because the old one did.
#[cfg(unix)]
#[test]
fn the_nine_permission_bits_stay_and_no_set_id_bits() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.bin");
    fs::write(&path, "old").unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o6754)).unwrap();
    save(&path, &chip(), &WriteOptions::default()).unwrap();
    let mode = fs::metadata(&path).unwrap().permissions().mode();
    assert_eq!(mode & 0o7777, 0o754, "{mode:o}");
}
