//! What a transfer does to a file: damage to look for before any line is suspected.

use super::story::Damage;

impl Damage {
    /// The bytes that arrive when these were sent. `erased` is what a chip file is filled up with.
    pub fn arrives(self, sent: &[u8], erased: u8) -> Vec<u8> {
        match self {
            Damage::Bit7Stripped => sent.iter().map(|byte| byte & 0x7F).collect(),
            Damage::LfToCrLf => replaced(sent, |byte| byte == b'\n', b"\r\n"),
            Damage::CrLfToLf => {
                let mut got = Vec::with_capacity(sent.len());
                for &byte in sent {
                    if byte == b'\n' && got.last() == Some(&b'\r') {
                        got.pop();
                    }
                    got.push(byte);
                }
                got
            }
            Damage::FlowControlSwallowed => replaced(sent, |byte| matches!(byte, 0x11 | 0x13), b""),
            Damage::CrToLf => sent
                .iter()
                .map(|&byte| if byte == b'\r' { b'\n' } else { byte })
                .collect(),
            Damage::CrDropped => replaced(sent, |byte| byte == b'\r', b""),
            Damage::NulDropped => replaced(sent, |byte| byte == 0x00, b""),
            Damage::FfDoubled => replaced(sent, |byte| byte == 0xFF, &[0xFF, 0xFF]),
            Damage::Latin1ToUtf8 => {
                let two = |byte: u8| char::from(byte).to_string().into_bytes();
                sent.iter().flat_map(|&byte| two(byte)).collect()
            }
            Damage::NotAsciiReplaced => replaced(sent, |byte| !byte.is_ascii(), REPLACEMENT),
            Damage::NotUtf8Replaced => sent
                .utf8_chunks()
                .flat_map(|chunk| {
                    let bad = !chunk.invalid().is_empty();
                    let mark: &[u8] = if bad { REPLACEMENT } else { b"" };
                    [chunk.valid().as_bytes(), mark].concat()
                })
                .collect(),
            Damage::Tail1A => {
                let end = sent.iter().rposition(|&byte| byte != erased);
                let end = end.map_or(0, |last| last + 1);
                let block_end = end.next_multiple_of(128);
                let mut got = sent.to_vec();
                got.resize(got.len().max(block_end), SUBSTITUTE);
                got[end..block_end].fill(SUBSTITUTE);
                got
            }
            Damage::EndedAt1A => {
                let end = memchr::memchr(SUBSTITUTE, sent).unwrap_or(sent.len());
                sent[..end].to_vec()
            }
        }
    }
}

/// U+FFFD in UTF-8.
const REPLACEMENT: &[u8] = &[0xEF, 0xBF, 0xBD];
/// The control character SUB, the end of a text on systems that count files in blocks.
const SUBSTITUTE: u8 = 0x1A;

fn replaced(sent: &[u8], which: impl Fn(u8) -> bool, by: &[u8]) -> Vec<u8> {
    let mut got = Vec::with_capacity(sent.len());
    for &byte in sent {
        if which(byte) {
            got.extend_from_slice(by);
        } else {
            got.push(byte);
        }
    }
    got
}
