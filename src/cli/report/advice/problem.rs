//! Advice on files that break their format's rules, and on images that a format can't carry.

use std::error::Error;

use crate::cli::report::plural;
use crate::formats::{
    FORMATS, LeftOut, LoadError, Problem, ProofError, SaveError, Undetected, WriteError,
};

pub(super) fn of(error: &(dyn Error + 'static)) -> Option<String> {
    if let Some(error) = error.downcast_ref::<WriteError>() {
        return of_write(error);
    }
    if let Some(error) = error.downcast_ref::<Undetected>() {
        return Some(of_undetected(error));
    }
    match error.downcast_ref::<LoadError>() {
        Some(LoadError::Undetected { error, .. }) => return Some(of_undetected(error)),
        Some(_) => return None,
        None => {}
    }
    if let Some(SaveError::Write { error, .. }) = error.downcast_ref::<SaveError>() {
        return of_write(error);
    }
    match error.downcast_ref::<ProofError>() {
        Some(ProofError::NoReader { .. }) => Some("leave --proof out".into()),
        _ => None,
    }
}

/// What to do where the format can't be told.
fn of_undetected(error: &Undetected) -> String {
    match error {
        Undetected::Several(names) => {
            let first = names.first().copied().unwrap_or("FORMAT");
            format!("say which with --as, such as --as {first}")
        }
        _ => {
            let readable = FORMATS.iter().filter(|f| f.can_read());
            let names: Vec<_> = readable.map(|f| f.name()).collect();
            format!("name it with --as ({})", names.join(", "))
        }
    }
}

/// The last address of the widest form that `--address-bits` can ask for.
const WIDEST_OPTION: u64 = u32::MAX as u64;

/// What to do where an image can't be written.
fn of_write(error: &WriteError) -> Option<String> {
    Some(match error {
        WriteError::AddressTooLarge { last, widest, .. } => {
            if last > widest || *last > WIDEST_OPTION {
                "`relocate --to` moves it down".into()
            } else {
                "choose a wider --address-bits, or move it down with `relocate --to`".into()
            }
        }
        WriteError::EntryTooLarge { .. } => "choose a wider --address-bits, or --entry none".into(),
        WriteError::HeaderTooLong { .. } => "shorten it with --header".into(),
        WriteError::Hole { .. } => "`fill 0xFF` closes them, `keep` cuts down to one part".into(),
        WriteError::PartWord { unit, .. } => {
            format!("`fill` completes them, `relocate` moves them to a multiple of {unit}")
        }
        WriteError::WidthUnit { unit, .. } => format!("choose a --per-record that {unit} divides"),
        WriteError::EntryUnit { .. } => "choose another with --entry, or --entry none".into(),
        WriteError::UnitAndWord => "leave --unit out".into(),
        WriteError::TooManyRecords { .. } => "choose a larger --per-record".into(),
        WriteError::NoName { .. } => "add --name NAME".into(),
        _ => return None,
    })
}

/// What would get this into the file.
pub fn of_left_out(left_out: &LeftOut) -> Option<&'static str> {
    match left_out {
        LeftOut::EntryOfForm { .. } => Some("--address-bits 20 or 32 has a place for it"),
        _ => None,
    }
}

/// What to do about what is wrong in a file, if there is something better than "look at the line".
pub fn of_problem(problem: &Problem) -> Option<String> {
    Some(match problem {
        Problem::NoMark { .. } => {
            "if this line is a comment or a page header, take it out; if the file is of another format, name it with --as".into()
        }
        Problem::NotHex
        | Problem::OddDigits { .. }
        | Problem::TooShort { .. }
        | Problem::Checksum { .. } => {
            "a character of this line is damaged or lost: make the file again, or send it again".into()
        }
        Problem::Length { says, has } if has < says => {
            "the end of the line is lost: make the file again, or send it again".into()
        }
        Problem::Length { .. } => {
            "something was added to the line, or its length field is damaged: make the file again, or send it again".into()
        }
        Problem::NoEnd { .. } => {
            "the file may have been cut off: compare its last line with the source".into()
        }
        Problem::AfterEnd { records: 1.., .. } => {
            "if the second part belongs to the image, put it in a file of its own and load both".into()
        }
        Problem::Count { says, has } if has < says => {
            "lines are lost: make the file again, or send it again".into()
        }
        Problem::Count { .. } => {
            "lines were added or doubled: make the file again, or send it again".into()
        }
        Problem::Overlap(_) => {
            "settle it with --clash same, first or last, or load the parts separately".into()
        }
        Problem::TransferTail { .. } => {
            "if the padding does not belong to the image, `hollow 0x1A --tail` takes it off".into()
        }
        Problem::LooksLike { format } => {
            format!("to read its records, use --as {format}")
        }
        Problem::NamedOtherwise { named, format } => {
            format!(
                "if it was read from a chip, use --as {named}: the chip contains this text; otherwise --as {format} says that it is meant"
            )
        }
        Problem::MixedKinds { .. } | Problem::EndKind { .. } | Problem::LateHeader => {
            "the type digit is not under the checksum, so it may be damaged: compare with the source".into()
        }
        Problem::WideWord { digits, .. } => format!(
            "if the file has words of {} bytes, read it with --word {}",
            digits.div_ceil(2),
            digits.div_ceil(2)
        ),
        Problem::NarrowWords { digits, .. } => format!(
            "if its words have {}, read it with --word {}",
            plural(digits.div_ceil(2) as u64, "byte"),
            digits.div_ceil(2)
        ),
        Problem::NoAddress => {
            "an address line is missing before it, or the file is of another format: name it with --as".into()
        }
        Problem::NoPair { .. } | Problem::LongWord { .. } => {
            "a blank or a digit is lost or added: make the file again, or send it again; if it is of another format, name it with --as".into()
        }
        Problem::BareMark | Problem::LongAddress { .. } => {
            "the address is damaged: make the file again, or send it again".into()
        }
        Problem::PastLast { .. } => {
            "the address is damaged, or the program was placed too high: check its origin".into()
        }
        Problem::Uncertain { .. } => {
            "another copy of the file, loaded together with this one, may fill the hole".into()
        }
        Problem::Outside => {
            "if a record was meant, its first character is damaged or missing".into()
        }
        Problem::UnknownBits => {
            "a ROM needs known bits: let the tool that wrote the file put a number there".into()
        }
        Problem::OpenComment => {
            "everything from here to the end of the file was skipped: close the comment".into()
        }
        Problem::UnitAndWord => "leave --unit out".into(),
        Problem::NotElf => "name the file's format with --as".into(),
        Problem::Compressed { .. } => {
            "link it again without compressing sections; a debugger's sections may be compressed, but not those of the program".into()
        }
        Problem::ElfDamaged { .. }
        | Problem::CutOff { .. }
        | Problem::NoRoom { .. }
        | Problem::PastSpace { .. }
        | Problem::Swollen { .. } => {
            "make the file again with the linker, or send it again".into()
        }
        Problem::NotExecutable { .. } => {
            "let a linker place it, such as `ld -N -Ttext 0x8000 -o program.elf part.o`, and load the result".into()
        }
        Problem::NothingToLoad { .. } => {
            "check the linker script: it places nothing of the file in memory".into()
        }
        Problem::OwnHeaders { .. } => {
            "a linker's page alignment does this: link with `ld -N`, or with a linker script whose segments name neither FILEHDR nor PHDRS, or load with --sections".into()
        }
        Problem::NoPhysical { .. } => "load with --virtual to use the virtual ones".into(),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formats::{self, AddressForm, WriteOptions};
    use crate::image::{AddressRange, Image, Source};

    fn written(format: &str, at: u64, bytes: &[u8], how: &WriteOptions) -> String {
        let format = formats::by_name(format).expect("a format");
        let image = Image::from_bytes(at, bytes.to_vec(), Source::Patch).expect("an image");
        let mut out = Vec::new();
        let error = format.write(&image, how, &mut out).expect_err("refused");
        format!("{error}: {}", of(&error).unwrap_or_default())
    }

    #[test]
    fn an_image_too_far_up_gets_a_wider_form_where_there_is_one() {
        let usual = WriteOptions::default();
        let narrow = WriteOptions {
            address: AddressForm::Bits16,
            ..WriteOptions::default()
        };
        let down = "`relocate --to` moves it down";
        let wider = "choose a wider --address-bits, or move it down with `relocate --to`";
        for (format, at, how, advice) in [
            ("mos-tape", 0x1_0000, &usual, down),
            ("raw-le16", 0x1_0000, &usual, down),
            ("ti-txt", 0x1_0000, &narrow, wider),
            ("intel-hex", 0x1_0000, &narrow, wider),
            ("s-record", 0x1_0000, &narrow, wider),
            ("s-record", 0x1_0000_0000, &narrow, down),
            ("intel-hex", 0x1_0000_0000, &usual, down),
        ] {
            let told = written(format, at, &[1], how);
            assert!(told.ends_with(&format!(": {advice}")), "{format}: {told}");
        }
    }

    #[test]
    fn part_words_holes_and_nameless_arrays_are_told_what_mends_them() {
        let by_words = WriteOptions {
            unit: 2,
            ..WriteOptions::default()
        };
        assert_eq!(
            written("intel-hex", 2, &[1], &by_words),
            "the bytes at 0x0002 don't fill whole words of 2: `fill` completes them, `relocate` moves them to a multiple of 2"
        );
        let text = {
            let mut image = Image::from_bytes(0x100, vec![1], Source::Patch).expect("an image");
            image.put(0x110, vec![2], Source::Patch).expect("put");
            let raw = formats::by_name("raw").expect("a format");
            let error = raw.write(&image, &WriteOptions::default(), &mut Vec::new());
            let error = error.expect_err("a hole");
            format!("{error}: {}", of(&error).unwrap_or_default())
        };
        assert_eq!(
            text,
            "0x0101-0x010F is a hole (1 in all), but a raw file can't contain holes: `fill 0xFF` closes them, `keep` cuts down to one part"
        );
        assert_eq!(
            written("c-bytes", 2, &[1], &WriteOptions::default()),
            "c-bytes needs a name for its array: add --name NAME"
        );
    }

    #[test]
    fn a_format_that_nothing_tells_is_named_by_hand() {
        let several = Undetected::Several(vec!["intel-hex", "s-record"]);
        assert_eq!(
            format!("{several}: {}", of(&several).expect("advice")),
            "could be intel-hex or s-record: say which with --as, such as --as intel-hex"
        );
        let advice = of(&Undetected::Nothing).expect("advice");
        for format in FORMATS {
            let listed = advice.contains(format.name());
            assert_eq!(listed, format.can_read(), "{}: {advice}", format.name());
        }
    }

    #[test]
    fn problems_in_files_name_their_cure() {
        let at = AddressRange::new(0x8000, 0x80FF).expect("a range");
        for (problem, words) in [
            (Problem::Count { says: 3, has: 2 }, &["lines are lost"][..]),
            (Problem::Count { says: 0, has: 1 }, &["lines were added"]),
            (Problem::TransferTail { run: 28 }, &["`hollow 0x1A --tail`"]),
            (Problem::UnknownBits, &["known bits"]),
            (Problem::WideWord { digits: 4, word: 1 }, &["--word 2"]),
            (
                Problem::NotExecutable {
                    kind: "of an unknown kind",
                },
                &["linker"],
            ),
            (
                Problem::OwnHeaders { number: 0, at },
                &["-N", "FILEHDR", "PHDRS", "--sections"],
            ),
        ] {
            let advice = of_problem(&problem).expect("advice");
            for word in words {
                assert!(advice.contains(word), "{advice}");
            }
        }
        assert_eq!(of_problem(&Problem::NoData), None);
    }
}
