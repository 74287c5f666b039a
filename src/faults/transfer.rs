//! What a transfer does to a file: the damage to look for before any line is suspected.

use super::models::Damage;

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

    /// Whether exactly these bytes arrive; `read` of the sent length is taken as a chip's, cut
    /// off or filled up with erased bytes.
    pub(super) fn explains(self, sent: &[u8], read: &[u8], erased: u8) -> bool {
        // Most damage shows early: what happens to the first bytes doesn't depend on the later
        // ones, but for a character or line end that is cut in two.
        const FIRST: usize = 1024;
        if sent.len() > 2 * FIRST && self != Damage::Tail1A {
            let mut first = self.arrives(&sent[..FIRST], erased);
            first.truncate(first.len().saturating_sub(4));
            let filled = self == Damage::EndedAt1A && first.len() < FIRST - 4;
            if !filled && !read.starts_with(&first) {
                return false;
            }
        }
        let mut got = self.arrives(sent, erased);
        if read.len() == sent.len() {
            got.resize(read.len(), erased);
        }
        got == read && got != sent
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
