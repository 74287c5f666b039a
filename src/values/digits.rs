//! Digits as a number: the only notations that are taken.

/// What digits come to.
pub(super) enum Digits {
    /// A number.
    Number(u64),
    /// A number of more than 64 bits.
    TooLarge,
    /// Something else.
    Other,
}

/// `0x8000`, `8000h`, `32768`, `32K` or `1M`.
pub(super) fn read_digits(text: &str) -> Digits {
    let lower = text.to_ascii_lowercase();
    let (digits, radix, unit) = if let Some(digits) = lower.strip_prefix("0x") {
        (digits, 16, 1)
    } else if let Some(digits) = lower.strip_suffix('h') {
        (digits, 16, 1)
    } else if let Some(digits) = lower.strip_suffix('k') {
        (digits, 10, 1 << 10)
    } else if let Some(digits) = lower.strip_suffix('m') {
        (digits, 10, 1 << 20)
    } else {
        (lower.as_str(), 10, 1)
    };
    if digits.is_empty() || !digits.chars().all(|c| c.is_digit(radix)) {
        return Digits::Other;
    }
    let number = u64::from_str_radix(digits, radix).ok();
    match number.and_then(|n| n.checked_mul(unit)) {
        Some(number) => Digits::Number(number),
        None => Digits::TooLarge,
    }
}
