//! Hex digits to bytes and back, a record at a time, with the sum of the bytes.

use crate::image::arrays;

/// A record in bytes: at most a length byte and the 255 it counts, and a few spare ones.
pub(super) type Scratch = [u8; SCRATCH];

/// How many bytes that is.
pub(super) const SCRATCH: usize = 264;

/// Bytes that are decoded, encoded or added up at once. The loops over a block have no branches and a fixed length,
/// so that the compiler makes vector code of them on every processor.
const BLOCK: usize = 8;

/// Decodes pairs of hex digits, either case; `None` when `digits` is anything else or too long.
#[inline]
pub(super) fn decode<'s>(digits: &[u8], scratch: &'s mut Scratch) -> Option<&'s [u8]> {
    decode_and_sum(digits, scratch).map(|(bytes, _)| bytes)
}

/// As [`decode`], with the sum of the bytes, modulo 256.
#[inline]
pub(super) fn decode_and_sum<'s>(
    digits: &[u8],
    scratch: &'s mut Scratch,
) -> Option<(&'s [u8], u8)> {
    if digits.len() % 2 != 0 {
        return None;
    }
    let out = scratch.get_mut(..digits.len() / 2)?;
    // Most records have 16 data bytes: for a constant length the compiler unrolls the loop.
    let sum = match digits.len() {
        40 => decode_blocks(&digits[..40], &mut out[..20])?,
        42 => decode_blocks(&digits[..42], &mut out[..21])?,
        44 => decode_blocks(&digits[..44], &mut out[..22])?,
        _ => decode_blocks(digits, out)?,
    };
    Some((out, sum))
}

/// Decodes into `out`, which has half the length of `digits`, and adds up.
#[inline(always)]
fn decode_blocks(digits: &[u8], out: &mut [u8]) -> Option<u8> {
    if out.len() < BLOCK {
        for (digits, out) in digits.chunks_exact(2).zip(&mut *out) {
            *out = pair(digits[0], digits[1])?;
        }
        return Some(byte_sum(out));
    }
    let (mut bad, mut more_bad) = ([0; 2 * BLOCK], [0; 4 * BLOCK]);
    let mut total = BlockSum(0);
    // Two blocks at once where there are two: that is half the calls.
    let twos = digits.chunks_exact(4 * BLOCK);
    for (two, out) in twos.zip(out.chunks_exact_mut(2 * BLOCK)) {
        // They have these lengths, which now the compiler sees too.
        if let (Some(two), Some(out)) = (two.first_chunk(), out.first_chunk_mut()) {
            decode_block::<{ 4 * BLOCK }, { 2 * BLOCK }>(two, out, &mut more_bad);
            arrays(out).for_each(|block| total.add(u64::from_le_bytes(block)));
        }
    }
    let (left, rest) = (out.len() % (2 * BLOCK), out.len() % BLOCK);
    let from = out.len() - left;
    if left >= BLOCK {
        let (digits, out) = (&digits[2 * from..], &mut out[from..]);
        if let (Some(block), Some(out)) = (digits.first_chunk(), out.first_chunk_mut()) {
            decode_block::<{ 2 * BLOCK }, BLOCK>(block, out, &mut bad);
            total.add(u64::from_le_bytes(*out));
        }
    }
    // What is left is less than a block, so the last block begins inside the one before.
    if rest > 0 {
        if let (Some(block), Some(out)) = (digits.last_chunk(), out.last_chunk_mut()) {
            decode_block::<{ 2 * BLOCK }, BLOCK>(block, out, &mut bad);
            total.add(last_bytes(u64::from_le_bytes(*out), rest));
        }
    }
    let bad = arrays(&more_bad).fold(u128::from_ne_bytes(bad), |bad, more| {
        bad | u128::from_ne_bytes(more)
    });
    let is_bad = bad & u128::from_ne_bytes([NO_DIGIT; 2 * BLOCK]) != 0;
    (!is_bad).then_some(total.low_byte())
}

/// The bits that no hex digit has in its value, and every other character has one of.
const NO_DIGIT: u8 = 0xF0;

/// The value of a hex digit; anything else has one of the bits of [`NO_DIGIT`]. Each step is one instruction for 16 of them.
#[inline(always)]
const fn digit_value(c: u8) -> u8 {
    // 0 to 9 end up at the top, so that what follows them comes out as 0, and in the end as 16 or more.
    let digit = c
        .wrapping_add(0xFF - b'9')
        .saturating_sub(6)
        .wrapping_sub(0xF0);
    let letter = (c & !0x20).wrapping_sub(b'A').saturating_add(10);
    if digit < letter { digit } else { letter }
}

/// Not inlined, so that it stays in vectors: when inlined, the compiler takes the arrays apart.
#[inline(never)]
fn decode_block<const DIGITS: usize, const BYTES: usize>(
    digits: &[u8; DIGITS],
    out: &mut [u8; BYTES],
    bad: &mut [u8; DIGITS],
) {
    let values = digits.map(digit_value);
    for (bad, value) in bad.iter_mut().zip(values) {
        *bad |= value;
    }
    for (out, pair) in out.iter_mut().zip(values.chunks_exact(2)) {
        *out = pair[0] << 4 | pair[1];
    }
}

/// The sum of up to 128 blocks, which is more than a record has: four sums of 16 bits side by side.
struct BlockSum(u64);

impl BlockSum {
    #[inline(always)]
    fn add(&mut self, block: u64) {
        const EVEN: u64 = 0x00FF_00FF_00FF_00FF;
        let pairs = (block & EVEN) + (block >> 8 & EVEN);
        self.0 = self.0.wrapping_add(pairs);
    }

    /// The sum of all bytes, modulo 256.
    #[inline(always)]
    fn low_byte(self) -> u8 {
        // The topmost 16 bits of the product are the sum of all four.
        (self.0.wrapping_mul(0x0001_0001_0001_0001) >> 48) as u8
    }
}

/// The last `n` bytes (1 to 8) of a block, with zeros for the others.
#[inline(always)]
fn last_bytes(block: u64, n: usize) -> u64 {
    block >> (8 * (BLOCK - n))
}

/// The byte that two hex digits give.
#[inline]
pub(super) fn pair(high: u8, low: u8) -> Option<u8> {
    match (
        DIGIT_VALUES[usize::from(high)],
        DIGIT_VALUES[usize::from(low)],
    ) {
        (high @ 0..16, low @ 0..16) => Some(high << 4 | low),
        _ => None,
    }
}

/// The value of each hex digit, either case; 0xFF for any other character.
const DIGIT_VALUES: [u8; 256] = {
    let mut values = [0xFF; 256];
    let mut i = 0;
    while i < 16 {
        values[b"0123456789ABCDEF"[i] as usize] = i as u8;
        values[b"0123456789abcdef"[i] as usize] = i as u8;
        i += 1;
    }
    values
};

/// The sum of all bytes, modulo 256.
#[inline]
pub(super) fn byte_sum(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, b| sum.wrapping_add(*b))
}

/// Big-endian number of up to 8 bytes.
#[inline]
pub(super) fn big_endian(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0, |n, b| n << 8 | u64::from(*b))
}

/// Writes the digits of `bytes` into `room`, which has two places for each, and adds the bytes up, modulo 256.
#[inline]
fn encode(bytes: &[u8], room: &mut [u8]) -> u8 {
    match bytes.len() {
        // As in `decode_and_sum`.
        16 => encode_blocks(&bytes[..16], &mut room[..32]),
        _ => encode_blocks(bytes, room),
    }
}

#[inline(always)]
fn encode_blocks(bytes: &[u8], room: &mut [u8]) -> u8 {
    if bytes.len() < BLOCK {
        for (pair, byte) in room.chunks_exact_mut(2).zip(bytes) {
            pair.copy_from_slice(&DIGITS[usize::from(*byte)]);
        }
        return byte_sum(bytes);
    }
    let mut total = BlockSum(0);
    let rest = bytes.len() % BLOCK;
    let rooms = room.chunks_exact_mut(2 * BLOCK);
    for (block, room) in bytes.chunks_exact(BLOCK).zip(rooms) {
        if let (Some(block), Some(room)) = (block.first_chunk(), room.first_chunk_mut()) {
            *room = encode_block(block);
            total.add(u64::from_le_bytes(*block));
        }
    }
    // What is left is less than a block, so the last block begins inside the one before.
    if rest > 0 {
        if let (Some(block), Some(room)) = (bytes.last_chunk(), room.last_chunk_mut()) {
            *room = encode_block(block);
            total.add(last_bytes(u64::from_le_bytes(*block), rest));
        }
    }
    total.low_byte()
}

#[inline(always)]
fn encode_block(bytes: &[u8; BLOCK]) -> [u8; 2 * BLOCK] {
    let mut digits = [0; 2 * BLOCK];
    for (pair, byte) in digits.chunks_exact_mut(2).zip(bytes) {
        pair.copy_from_slice(&[byte >> 4, byte & 0xF]);
    }
    digits.map(|value| value + if value < 10 { b'0' } else { b'A' - 10 })
}

/// The digits of every byte.
const DIGITS: [[u8; 2]; 256] = {
    let digit = *b"0123456789ABCDEF";
    let mut pairs = [[0; 2]; 256];
    let mut i = 0;
    while i < 256 {
        pairs[i] = [digit[i >> 4], digit[i & 15]];
        i += 1;
    }
    pairs
};

/// Characters handed on at once: at least as many as a buffered writer collects, so that none collects them again.
const ENOUGH: usize = 64 * 1024;

/// Bytes on their way out, as hex text.
pub(super) struct HexText {
    /// Never made shorter, so that nothing is cleared or grown between two records.
    text: Vec<u8>,
    len: usize,
}

impl HexText {
    pub(super) fn new() -> Self {
        Self {
            text: vec![0; ENOUGH + 4 * 1024],
            len: 0,
        }
    }

    /// Room for the next `len` characters, all of which must be written.
    #[inline]
    fn room(&mut self, len: usize) -> &mut [u8] {
        let from = self.len;
        self.len += len;
        if self.len > self.text.len() {
            self.grow();
        }
        &mut self.text[from..self.len]
    }

    #[cold]
    fn grow(&mut self) {
        self.text.resize(2 * self.len, 0);
    }

    /// Text, unchanged.
    #[inline]
    pub(super) fn plain(&mut self, text: &[u8]) {
        self.room(text.len()).copy_from_slice(text);
    }

    /// Bytes as digits.
    #[inline]
    pub(super) fn hex(&mut self, bytes: &[u8]) {
        encode(bytes, self.room(2 * bytes.len()));
    }

    /// One record: `mark`, then the digits of `head`, `data` and what `checksum` makes of the sum of both, line end.
    #[inline(always)]
    pub(super) fn record<const MARK: usize, const HEAD: usize>(
        &mut self,
        mark: [u8; MARK],
        head: [u8; HEAD],
        data: &[u8],
        checksum: impl Fn(u8) -> u8,
        line_end: &[u8],
    ) {
        match (data.len(), line_end.len()) {
            // The usual record has a case of its own: with a constant length there is nothing to check.
            (16, 1) => self.put(mark, head, &data[..16], checksum, &line_end[..1]),
            _ => self.put(mark, head, data, checksum, line_end),
        }
    }

    #[inline(always)]
    fn put<const MARK: usize, const HEAD: usize>(
        &mut self,
        mark: [u8; MARK],
        head: [u8; HEAD],
        data: &[u8],
        checksum: impl Fn(u8) -> u8,
        line_end: &[u8],
    ) {
        let digits = 2 * (HEAD + data.len() + 1);
        let room = self.room(MARK + digits + line_end.len());
        let (room, end) = room.split_at_mut(MARK + digits);
        end.copy_from_slice(line_end);
        let (room, sum_room) = room.split_at_mut(MARK + digits - 2);
        let (head_room, data_room) = room.split_at_mut(MARK + 2 * HEAD);
        head_room[..MARK].copy_from_slice(&mark);
        let head_digits = head.map(|byte| DIGITS[usize::from(byte)]);
        head_room[MARK..].copy_from_slice(head_digits.as_flattened());
        let sum = encode(data, data_room).wrapping_add(byte_sum(&head));
        sum_room.copy_from_slice(&DIGITS[usize::from(checksum(sum))]);
    }

    /// Hands the text on when there is enough; `last` hands on whatever there is.
    #[inline]
    pub(super) fn pour(&mut self, out: &mut dyn std::io::Write, last: bool) -> std::io::Result<()> {
        if last || self.len >= ENOUGH {
            out.write_all(&self.text[..self.len])?;
            self.len = 0;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_length_is_encoded_decoded_and_added_up() {
        let bytes: Vec<u8> = (0..255u8).map(|i| i.wrapping_mul(151) ^ 0x5A).collect();
        let mut scratch: Scratch = [0xEE; SCRATCH];
        for len in 0..=255 {
            let bytes = &bytes[..len];
            let plain: String = bytes.iter().map(|b| format!("{b:02X}")).collect();
            let total = bytes.iter().map(|b| u32::from(*b)).sum::<u32>() as u8;
            let mut text = HexText::new();
            text.hex(bytes);
            text.plain(b" ");
            text.record([b'>'], [0xC3, 1], bytes, |sum| sum, b"\r\n");
            let mut out = Vec::new();
            text.pour(&mut out, true).unwrap();
            let sum = total.wrapping_add(0xC4);
            let wanted = format!("{plain} >C301{plain}{sum:02X}\r\n");
            assert_eq!(String::from_utf8(out).unwrap(), wanted);
            for digits in [plain.to_lowercase(), plain] {
                let decoded = decode_and_sum(digits.as_bytes(), &mut scratch);
                assert_eq!(decoded, Some((bytes, total)));
                let odd = &digits.as_bytes()[..digits.len().saturating_sub(1)];
                assert_eq!(decode(odd, &mut scratch).is_some(), odd.is_empty());
            }
        }
        assert_eq!(decode(&[b'0'; 530], &mut scratch), None, "too long");
    }

    #[test]
    fn one_wrong_character_anywhere_is_found() {
        let mut scratch: Scratch = [0; SCRATCH];
        for len in [2, 10, 16, 18, 32, 42, 58] {
            let mut digits = vec![b'a'; len];
            for at in 0..len {
                for wrong in (0..=255).filter(|c: &u8| !c.is_ascii_hexdigit()) {
                    digits[at] = wrong;
                    assert_eq!(decode(&digits, &mut scratch), None, "{wrong:X} at {at}");
                }
                digits[at] = b'F';
                assert!(decode(&digits, &mut scratch).is_some());
            }
        }
    }

    #[test]
    fn text_longer_than_the_buffer_is_not_lost() {
        let mut text = HexText::new();
        let long = vec![0xA5; 50_000];
        text.hex(&long);
        text.hex(&long);
        let mut out = Vec::new();
        text.pour(&mut out, false).unwrap();
        assert_eq!(out, b"A5".repeat(100_000));
    }
}
