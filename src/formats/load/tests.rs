use std::error::Error;
use std::fs;

use crate::formats::*;

const SOUND: &str = ":080000000010000000000400E4\n:00000001FF\n";

#[test]
fn a_build_script_that_fails_shows_one_sentence_with_file_line_and_column() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("prog.hex");
    let shown = path.display();
    fn build(path: &std::path::Path) -> Result<(), Box<dyn Error>> {
        load(path, &ReadOptions::default())?;
        Ok(())
    }
    fs::write(&path, SOUND.replace("E4", "E5")).unwrap();
    let wanted = format!(
        "{shown}: line 1, column 26: the checksum is wrong: says E5, the record's bytes give E4"
    );
    // What `main` prints of an error it returns is its Debug text.
    assert_eq!(format!("{:?}", build(&path).unwrap_err()), wanted);

    let broken = SOUND
        .replace("E4", "E5")
        .repeat(3)
        .replace(":00000001FF\n", "");
    fs::write(&path, broken).unwrap();
    let told = format!("{:?}", build(&path).unwrap_err());
    assert_eq!(told, format!("{wanted} (and 3 more)"));

    fs::write(&path, "10 PRINT").unwrap();
    let unknown = folder.path().join("prog");
    fs::rename(&path, &unknown).unwrap();
    assert_eq!(
        format!("{:?}", build(&unknown).unwrap_err()),
        format!(
            "{}: the format can't be told from the content or the file name",
            unknown.display()
        )
    );
    let told = format!("{:?}", build(&path).unwrap_err());
    assert!(told.starts_with(&format!("{shown}: ")), "{told}");
}

#[test]
fn the_name_tells_the_format_where_the_content_does_not() {
    let load = |name: &str, how: &ReadOptions| {
        load_from(&mut Input::new(name, &b"\xA9\x00"[..]), how).map(|l| l.format.name())
    };
    let how = ReadOptions::default();
    assert_eq!(load("some.folder/chip.bin", &how).unwrap(), "raw");
    assert!(matches!(
        load("some.bin/chip", &how),
        Err(LoadError::Undetected { .. })
    ));
}

#[test]
fn a_format_that_is_given_is_not_looked_for() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("prog.hex");
    fs::write(&path, SOUND).unwrap();
    let loaded = load_as(&raw::Raw, &path, &ReadOptions::default()).unwrap();
    assert_eq!(loaded.image.len(), SOUND.len() as u64);
    let problem = &loaded.findings.list()[0].problem;
    assert_eq!(
        *problem,
        Problem::LooksLike {
            format: "intel-hex"
        }
    );
}

/// What was read from a chip is the chip's content, also where that is the text of a record file.
#[test]
fn records_in_a_file_that_is_named_as_raw_bytes_are_read_and_told() {
    for (name, wanted) in [
        ("chip.bin", Some("raw")),
        ("chip.ROM", Some("raw")),
        ("chip.prg", None),
        ("chip.hex", None),
        ("chip", None),
    ] {
        let mut input = Input::new(name, SOUND.as_bytes());
        let loaded = load_from(&mut input, &ReadOptions::default()).unwrap();
        let problems = loaded.findings.list().iter().map(|f| f.problem.clone());
        let told = wanted.map(|named| Problem::NamedOtherwise {
            named,
            format: "intel-hex",
        });
        assert_eq!(problems.collect::<Vec<_>>(), Vec::from_iter(told), "{name}");
        assert_eq!(loaded.findings.errors(), 0);
    }
    // A format that is given is meant.
    let mut input = Input::new("chip.bin", SOUND.as_bytes());
    let format = by_name("intel-hex").unwrap();
    let loaded = read_as(format, &mut input, &ReadOptions::default()).unwrap();
    assert!(loaded.findings.list().is_empty());
}

#[test]
fn salvage_takes_a_broken_file_and_says_what_is_wrong() {
    let text = SOUND.replace("E4", "E5");
    let how = ReadOptions {
        strictness: Strictness::Salvage,
        ..ReadOptions::default()
    };
    let loaded = load_from(&mut Input::new("prog.hex", text.as_bytes()), &how).unwrap();
    assert_eq!((loaded.image.len(), loaded.findings.errors()), (0, 1));
}
