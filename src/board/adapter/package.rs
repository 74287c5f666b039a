//! How one package sits in the socket of another.

/// Packages whose rows are equally far apart, so that the smaller sits in the lower end of the larger one's socket, and the
/// larger may reach beyond the smaller one's (common practice).
const ALIKE: [&[u8]; 2] = [&[24, 28, 32], &[40, 42]];

/// The pin of the socket that a pin of the chip sits in when both have their lower ends together; both counted from 1.
/// `None` for a pin that is beyond the socket's end, and where the packages don't fit each other.
pub(super) fn under(pin: u8, chip_pins: u8, socket_pins: u8) -> Option<u8> {
    let alike = ALIKE
        .iter()
        .any(|group| group.contains(&chip_pins) && group.contains(&socket_pins));
    if !alike && chip_pins != socket_pins {
        return None;
    }
    // Pin 1 of a 24-pin chip is in pin 3 of a 28-pin socket.
    let shift = (i16::from(socket_pins) - i16::from(chip_pins)) / 2;
    let hole = i16::from(pin) + shift;
    u8::try_from(hole)
        .ok()
        .filter(|hole| (1..=socket_pins).contains(hole))
}

#[cfg(test)]
mod tests {
    use super::under;

    #[test]
    fn lower_ends_are_together() {
        assert_eq!(under(1, 24, 28), Some(3));
        assert_eq!(under(24, 24, 28), Some(26));
        assert_eq!(under(3, 28, 24), Some(1));
        assert_eq!(under(2, 28, 24), None);
        assert_eq!(under(27, 28, 24), None);
        assert_eq!(under(14, 28, 32), Some(16));
        assert_eq!(under(1, 40, 42), Some(2));
        assert_eq!(under(7, 16, 16), Some(7));
        // Their rows are not equally far apart.
        assert_eq!(under(1, 16, 24), None);
        assert_eq!(under(1, 40, 44), None);
    }
}
