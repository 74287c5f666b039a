//! `write --proof`: what does not decode to the image never takes the old file's place.

use romloom::cli::{Staging, StagingError, WritePolicy};
use romloom::formats::{self, ProofError, WriteOptions};
use romloom::image::{Image, Source};

#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error(transparent)]
    WritePolicy(#[from] StagingError),
    #[error(transparent)]
    Io(#[from] std::io::Error),
    #[error(transparent)]
    Proof(#[from] ProofError),
}

/// Stages `file` as the write step does, with the proof in between.
fn stage(
    staging: &mut Staging,
    path: &std::path::Path,
    format: &str,
    file: &[u8],
    image: &Image,
) -> Result<(), Failure> {
    let format = formats::by_name(format).unwrap();
    let staged = staging.stage::<Failure>(
        "chip",
        path,
        |out| Ok(out.write_all(file)?),
        |temp| {
            Ok(formats::prove(
                format,
                &std::fs::read(temp)?[..],
                image,
                &WriteOptions::default(),
            )?)
        },
    );
    staged.map(|_| ())
}

#[test]
fn a_failing_proof_keeps_the_old_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("chip");
    let image = Image::from_bytes(0x8000, vec![1, 2, 3, 4], Source::Patch).unwrap();
    for name in [
        "intel-hex",
        "s-record",
        "mos-tape",
        "tek-hex",
        "ti-txt",
        "readmem",
        "raw",
        "raw-le16",
    ] {
        let format = formats::by_name(name).unwrap();
        let write = |image: &Image| {
            let mut file = Vec::new();
            format
                .write(image, &WriteOptions::default(), &mut file)
                .unwrap();
            file
        };
        // A writer at fault: every record is sound, one byte is another.
        let other = Image::from_bytes(0x8000, vec![1, 2, 9, 4], Source::Patch).unwrap();
        let whole = write(&image);
        for wrong in [write(&other), whole[..whole.len() / 2].to_vec()] {
            std::fs::write(&path, "old").unwrap();
            let mut staging = Staging::new(WritePolicy::default());
            let failed = stage(&mut staging, &path, name, &wrong, &image);
            assert!(
                matches!(failed, Err(Failure::Proof(_))),
                "{name}: {failed:?}"
            );
            staging.put_in_place().unwrap();
            drop(staging);
            assert_eq!(std::fs::read(&path).unwrap(), b"old", "{name}");
            let left = std::fs::read_dir(folder.path()).unwrap().count();
            assert_eq!(left, 1, "{name}: nothing is left behind");
        }
        let mut staging = Staging::new(WritePolicy::default());
        stage(&mut staging, &path, name, &write(&image), &image).unwrap();
        staging.put_in_place().unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), write(&image), "{name}");
    }
}
