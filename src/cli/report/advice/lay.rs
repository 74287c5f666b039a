//! What helps where programs can't be laid over a board.

use std::error::Error;

use crate::board::{LayError, PutError, UnseatError};

/// What helps against this error, where it is one of these.
pub fn of(error: &(dyn Error + 'static)) -> Option<String> {
    if let Some(error) = error.downcast_ref::<PutError>() {
        return match error {
            PutError::Nothing { .. } => Some("`show` says where the chips are seen".into()),
            PutError::OtherChip { .. } => {
                Some("add --on for that chip too, or leave --on out".into())
            }
            _ => None,
        };
    }
    if let Some(UnseatError::Unequal { .. }) = error.downcast_ref() {
        return Some(
            "read the chip again; if one of them is right, `copy` makes the other equal before `unseat`".into(),
        );
    }
    let error = error.downcast_ref::<LayError>()?;
    match error {
        LayError::Unseen {
            nearest, address, ..
        } => {
            let Some(nearest) = nearest else {
                return Some("`relocate` moves it, --drop-outside drops it".into());
            };
            let first = nearest.first();
            let raw = match address {
                0 => format!("`load --at 0x{first:04X}` places a raw file there, "),
                _ => String::new(),
            };
            Some(format!(
                "the nearest window is {nearest}: {raw}`relocate` moves it, --drop-outside drops it"
            ))
        }
        LayError::NoBank { banks, .. } => Some(format!(
            "name it with `load --for bank{}` or with --in-banks; there are {} to {}",
            banks.0, banks.0, banks.1
        )),
        LayError::Excepted { .. } => Some("move it, or correct the range".into()),
        LayError::Absent { .. } => Some(
            "`load --for` with a socket's name takes the content of one chip unchanged; --drop-outside drops bytes without a chip".into(),
        ),
        LayError::NoSpace { known, .. } => Some(format!("it has {}", known.join(", "))),
        LayError::Programs { .. } => Some(
            "settle it with --clash same, first or last; `load --apart` keeps programs apart for other banks".into(),
        ),
        _ => None,
    }
}
