//! Bytes as messages show them.

/// `A9 00 60`.
pub(crate) fn hex(bytes: &[u8]) -> String {
    let pairs: Vec<String> = bytes.iter().map(|b| format!("{b:02X}")).collect();
    pairs.join(" ")
}

/// `A9 __ 60`, `__` for a hole.
fn hex_or_hole(bytes: &[Option<u8>]) -> String {
    let pairs: Vec<String> = bytes
        .iter()
        .map(|b| b.map_or("__".into(), |b| format!("{b:02X}")))
        .collect();
    pairs.join(" ")
}

/// `holds A9 00`, or `is a hole`: the end of a sentence that begins with an address.
pub(crate) fn holds(bytes: &[Option<u8>]) -> String {
    match bytes.iter().all(Option::is_none) {
        true => "is a hole".into(),
        false => format!("holds {}", hex_or_hole(bytes)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_pairs_of_digits_and_holes_two_lines() {
        assert_eq!(hex(&[0xA9, 0x00]), "A9 00");
        assert_eq!(hex_or_hole(&[Some(0x0A), None]), "0A __");
        assert_eq!(hex(&[]), "");
        assert_eq!(holds(&[Some(0x0A), None]), "holds 0A __");
        assert_eq!(holds(&[None, None]), "is a hole");
    }
}
