//! Diagnosis, votes and wirings.

use std::error::Error;

use crate::faults::CaseError;
use crate::faults::reads::VoteError;
use crate::faults::recovery::RecoveryError;
use crate::ops::OpError;
use crate::wiring::WiringError;

/// What helps against an error of these areas.
pub(super) fn of(error: &(dyn Error + 'static)) -> Option<String> {
    let advice = if let Some(error) = error.downcast_ref() {
        case(error)
    } else if let Some(error) = error.downcast_ref() {
        vote(error)
    } else if let Some(error) = error.downcast_ref() {
        recovery(error)
    } else if let Some(error) = error.downcast_ref() {
        wiring(error)
    } else if let Some(OpError::Wiring(error)) = error.downcast_ref() {
        wiring(error)
    } else {
        None
    };
    advice.map(str::to_owned)
}

fn case(error: &CaseError) -> Option<&'static str> {
    match error {
        CaseError::OtherLength { .. } => Some("give one of the same chip size"),
        CaseError::Vote(error) => vote(error),
        _ => None,
    }
}

fn vote(error: &VoteError) -> Option<&'static str> {
    match error {
        VoteError::Length { .. } | VoteError::PartWord { .. } => {
            Some("make all reads with the same part chosen")
        }
        _ => None,
    }
}

fn recovery(error: &RecoveryError) -> Option<&'static str> {
    match error {
        RecoveryError::None => {
            Some("`diagnose` shows whether a line is stuck or shorted, or a byte wrong")
        }
        RecoveryError::TooAlike => Some("burn the pattern `random` and read that"),
        _ => None,
    }
}

fn wiring(error: &WiringError) -> Option<&'static str> {
    match error {
        WiringError::Double { .. } => Some("each line goes to one place"),
        WiringError::Outside { .. } => Some("list every line up to the highest"),
        WiringError::NoSuchLine { .. } => {
            Some("data lines are D0 to D7, or with --words D0 to D15")
        }
        WiringError::BrokenWord { .. } => Some("`fill` it first"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wiring::{Width, Wiring};

    #[test]
    fn a_wiring_has_its_advice_bare_and_out_of_a_step() {
        let error = Wiring::new(Width::Eight, vec![0, 0], Vec::new()).unwrap_err();
        let advice = Some("each line goes to one place".to_owned());
        assert_eq!(of(&error), advice);
        assert_eq!(of(&OpError::Wiring(error)), advice);
        assert_eq!(of(&OpError::Empty), None);
    }
}
