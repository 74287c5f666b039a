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

#[cfg(test)]
mod tests {
    use super::*;

    /// What arrives of these bytes, by hand.
    #[test]
    fn each_damage_by_hand() {
        let sent = [
            0x41, 0x0D, 0x0A, 0x0A, 0x0D, 0x11, 0x13, 0x12, 0x00, 0xFF, 0xC3, 0xA9, 0xE9,
        ];
        let got = |damage: Damage| damage.arrives(&sent, 0xFF);
        let stripped = [
            0x41, 0x0D, 0x0A, 0x0A, 0x0D, 0x11, 0x13, 0x12, 0x00, 0x7F, 0x43, 0x29, 0x69,
        ];
        assert_eq!(got(Damage::Bit7Stripped), stripped);
        assert_eq!(
            got(Damage::LfToCrLf)[..7],
            [0x41, 0x0D, 0x0D, 0x0A, 0x0D, 0x0A, 0x0D]
        );
        assert_eq!(got(Damage::CrLfToLf)[..5], [0x41, 0x0A, 0x0A, 0x0D, 0x11]);
        assert_eq!(
            got(Damage::CrToLf)[..6],
            [0x41, 0x0A, 0x0A, 0x0A, 0x0A, 0x11]
        );
        assert_eq!(got(Damage::CrDropped)[..4], [0x41, 0x0A, 0x0A, 0x11]);
        assert_eq!(got(Damage::FlowControlSwallowed)[4..7], [0x0D, 0x12, 0x00]);
        assert_eq!(got(Damage::NulDropped)[7..9], [0x12, 0xFF]);
        assert_eq!(
            got(Damage::FfDoubled)[8..],
            [0x00, 0xFF, 0xFF, 0xC3, 0xA9, 0xE9]
        );
        let utf8 = [0xC3, 0xBF, 0xC3, 0x83, 0xC2, 0xA9, 0xC3, 0xA9];
        assert_eq!(got(Damage::Latin1ToUtf8)[9..], utf8);
        let replaced = [0xEF, 0xBF, 0xBD];
        assert_eq!(got(Damage::NotAsciiReplaced)[9..], replaced.repeat(4));
        let some = [&replaced[..], &[0xC3, 0xA9], &replaced].concat();
        assert_eq!(got(Damage::NotUtf8Replaced)[9..], some);
        assert_eq!(Damage::EndedAt1A.arrives(&[1, 2, 0x1A, 3], 0xFF), [1, 2]);
        assert_eq!(Damage::EndedAt1A.arrives(&[1, 2], 0xFF), [1, 2]);
    }

    /// 1A from the end of the content up to the next multiple of 128, whatever the chip has there.
    #[test]
    fn the_last_block_is_filled_with_1a() {
        let got = |content: usize, all: usize| {
            let mut sent = vec![0x42; content];
            sent.resize(all, 0xFF);
            let got = Damage::Tail1A.arrives(&sent, 0xFF);
            let filled = got.iter().filter(|byte| **byte == 0x1A).count();
            assert!(got[..content].iter().all(|byte| *byte == 0x42));
            assert!(got[content + filled..].iter().all(|byte| *byte == 0xFF));
            (filled, got.len())
        };
        assert_eq!((got(100, 256), got(128, 256)), ((28, 256), (0, 256)));
        assert_eq!((got(129, 130), got(127, 127)), ((127, 256), (1, 128)));
        assert_eq!(Damage::Tail1A.arrives(&[0xFF; 200], 0xFF), [0xFF; 200]);
    }
}
