//! One error type for those who call the library.

use crate::prose::debug_as_display;
use crate::{board, faults, formats, image, ops, parts, sums, values, wiring};

/// Whatever can go wrong in this library, for callers that only pass it on.
///
/// Every error of every module converts into it with `?`. It prints what the error inside prints, and its `Debug` is the
/// same sentence: a build script whose `main` returns it ends with what is wrong and, for a file, with name, line and column.
///
/// ```
/// use romloom::parts;
///
/// fn pins(name: &str) -> Result<u8, romloom::Error> {
///     Ok(parts::find(name)?.pins)
/// }
/// assert_eq!(pins("27C256")?, 28);
/// let error = pins("27C265").unwrap_err();
/// assert!(error.to_string().starts_with("`27C265` is not in the part table"));
/// assert_eq!(format!("{error:?}"), error.to_string());
/// # Ok::<(), romloom::Error>(())
/// ```
#[derive(thiserror::Error)]
#[non_exhaustive]
#[error(transparent)]
pub enum Error {
    /// A file can't be opened, read or written.
    Io(#[from] std::io::Error),
    /// A file can't be loaded.
    Load(#[from] formats::LoadError),
    /// A file can't be saved.
    Save(#[from] formats::SaveError),
    /// An image can't be written in a format.
    Write(#[from] formats::WriteError),
    /// A written file was not proved to contain the image.
    #[cfg(feature = "proof")]
    Proof(#[from] formats::ProofError),
    /// A file's format can't be told, or several fit.
    Undetected(#[from] formats::Undetected),
    /// Something can't be done to an image.
    Op(#[from] ops::OpError),
    /// A chip can't be put into a socket with wires alone.
    Adapter(#[from] board::NoAdapter),
    /// A board can't be built, or an image does not fit it.
    Board(#[from] board::BoardFault),
    /// A board file can't be used.
    BoardFile(#[from] board::BoardFileError),
    /// Programs can't be laid over a board.
    Lay(#[from] board::LayError),
    /// Bytes can't be put where a bus should see them.
    Put(#[from] board::PutError),
    /// Chips that were read can't be put together.
    Unseat(#[from] board::UnseatError),
    /// A list of sums can't be read.
    List(#[from] sums::ListError),
    /// There is no such part.
    UnknownPart(#[from] parts::UnknownPart),
    /// A file of own parts can't be used.
    OwnParts(#[from] parts::OwnPartsError),
    /// A word that is not the name of a pin.
    UnknownPin(#[from] parts::UnknownPin),
    /// A sum can't be made.
    Sum(#[from] sums::SumError),
    /// There is no such sum.
    UnknownAlgo(#[from] sums::UnknownAlgo),
    /// A word that is not a complement.
    UnknownComplement(#[from] sums::UnknownComplement),
    /// A word that is not a way to settle a clash.
    UnknownClash(#[from] image::UnknownClash),
    /// A word that is not a byte order.
    UnknownOrder(#[from] image::UnknownOrder),
    /// A number, range or byte string can't be read.
    Value(#[from] values::BadValue),
    /// Two sources want one address.
    Overlap(#[from] image::Overlap),
    /// An address would leave the 64-bit address space.
    OutOfSpace(#[from] image::OutOfSpace),
    /// A read can't be diagnosed.
    Diagnosis(#[from] faults::CaseError),
    /// Reads can't be compared by vote.
    Vote(#[from] faults::reads::VoteError),
    /// There is no such test pattern, or not of that size.
    Pattern(#[from] faults::PatternError),
    /// No wiring can be found between two images.
    Recovery(#[from] faults::recovery::RecoveryError),
    /// Lists of lines are not a wiring, or an image can't be rewired.
    Wiring(#[from] wiring::WiringError),
}

debug_as_display!(Error);

#[cfg(test)]
mod tests {
    use super::*;

    /// As `main`, threads and other errors want it.
    fn travels<E: std::error::Error + Send + Sync + 'static>() {}

    #[test]
    fn one_error_carries_every_other_as_its_sentence() {
        travels::<Error>();
        let inner = parts::find("27C265").unwrap_err();
        let sentence = inner.to_string();
        let error = Error::from(inner);
        assert_eq!(error.to_string(), sentence);
        assert_eq!(format!("{error:?}"), sentence);
        let boxed: Box<dyn std::error::Error> = error.into();
        assert_eq!(format!("{boxed:?}"), sentence);
    }

    /// What a build script's `main` leaves on the screen when it fails.
    #[test]
    fn a_broken_file_is_one_sentence_with_its_place() {
        fn main() -> Result<(), Error> {
            // The second record's sum is wrong.
            let text = ":0100000001FE\n:01000100FFFE\n:00000001FF\n";
            let mut input = formats::Input::new("prog.hex", text.as_bytes());
            formats::load_from(&mut input, &formats::ReadOptions::default())?;
            Ok(())
        }
        let screen = format!("Error: {:?}", main().unwrap_err());
        let place = "Error: prog.hex: line 2, column 12: the checksum is wrong";
        assert!(screen.starts_with(place), "{screen}");
        assert_eq!(screen.lines().count(), 1, "{screen}");
    }

    #[test]
    fn every_error_below_is_a_sentence_in_debug_too() {
        let board = board::Board::new("", []).map(|board| board.seat(&image::Image::new()));
        assert!(
            board.is_ok(),
            "a board without a socket holds a program without a byte"
        );
        let spec = board::SocketsSpec::new(parts::all()[0].clone(), ["U1"]);
        let board = board::Board::new("", [spec]).unwrap_err();
        assert_eq!(format!("{board:?}"), board.to_string());
        let op = ops::OpError::Empty;
        assert_eq!(format!("{op:?}"), op.to_string());
        let space = image::OutOfSpace;
        assert_eq!(format!("{space:?}"), space.to_string());
        let sum = "sum15".parse::<sums::Algo>().unwrap_err();
        assert_eq!(format!("{sum:?}"), sum.to_string());
        let pin = "Q".parse::<parts::Pin>().unwrap_err();
        assert_eq!(format!("{pin:?}"), pin.to_string());
    }
}
