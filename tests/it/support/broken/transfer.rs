//! What a transfer does to the bytes of a file that it takes for text, or takes for its own signals.

/// What a transfer did.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Damage {
    Bit7,
    LfToCrLf,
    CrLfToLf,
    CrToLf,
    LfToCr,
    FlowControl,
    /// Bytes from 80 up, each by itself, became the three bytes of U+FFFD.
    NotAscii,
    /// What is not UTF-8 became U+FFFD.
    NotUtf8,
    /// Each byte became the character of its number in UTF-8.
    Latin1ToUtf8,
    /// Each byte from 80 up became a question mark.
    QuestionMarks,
    NulDropped,
    /// As Telnet doubles it (RFC 854): FF is sent twice and taken as it comes.
    FfDoubled,
    /// 1A after the last byte that is not erased, up to a multiple of 128.
    Tail1A,
    /// Nothing from the first 1A on.
    EndAt1A,
}

impl Damage {
    pub const ALL: [Damage; 14] = [
        Damage::Bit7,
        Damage::LfToCrLf,
        Damage::CrLfToLf,
        Damage::FlowControl,
        Damage::NotAscii,
        Damage::NotUtf8,
        Damage::Tail1A,
        Damage::EndAt1A,
        Damage::CrToLf,
        Damage::LfToCr,
        Damage::Latin1ToUtf8,
        Damage::QuestionMarks,
        Damage::NulDropped,
        Damage::FfDoubled,
    ];

    /// The bytes that arrive.
    pub fn arrive(self, sent: &[u8]) -> Vec<u8> {
        let mut got = Vec::new();
        match self {
            Damage::Bit7 => got.extend(sent.iter().map(|byte| byte & 0x7F)),
            Damage::LfToCrLf => {
                for &byte in sent {
                    if byte == 0x0A {
                        got.push(0x0D);
                    }
                    got.push(byte);
                }
            }
            Damage::CrLfToLf => {
                for (i, &byte) in sent.iter().enumerate() {
                    if !(byte == 0x0D && sent.get(i + 1) == Some(&0x0A)) {
                        got.push(byte);
                    }
                }
            }
            Damage::CrToLf => got.extend(sent.iter().map(|&b| if b == 0x0D { 0x0A } else { b })),
            Damage::LfToCr => got.extend(sent.iter().map(|&b| if b == 0x0A { 0x0D } else { b })),
            Damage::FlowControl => {
                got.extend(sent.iter().filter(|&&byte| byte != 0x11 && byte != 0x13));
            }
            Damage::NotAscii => {
                for &byte in sent {
                    if byte < 0x80 {
                        got.push(byte);
                    } else {
                        got.extend([0xEF, 0xBF, 0xBD]);
                    }
                }
            }
            Damage::NotUtf8 => got = String::from_utf8_lossy(sent).into_owned().into_bytes(),
            Damage::Latin1ToUtf8 => {
                let text: String = sent.iter().map(|&byte| char::from(byte)).collect();
                got = text.into_bytes();
            }
            Damage::QuestionMarks => {
                got.extend(sent.iter().map(|&b| if b < 0x80 { b } else { b'?' }));
            }
            Damage::NulDropped => got.extend(sent.iter().filter(|&&byte| byte != 0)),
            Damage::FfDoubled => {
                for &byte in sent {
                    if byte == 0xFF {
                        got.push(0xFF);
                    }
                    got.push(byte);
                }
            }
            Damage::Tail1A => {
                let used = sent.iter().rposition(|&b| b != 0xFF).map_or(0, |at| at + 1);
                let end = used.div_ceil(128) * 128;
                got.extend(&sent[..used]);
                got.resize(end, 0x1A);
                got.extend(sent.get(end..).unwrap_or_default());
            }
            Damage::EndAt1A => got.extend(sent.iter().take_while(|&&byte| byte != 0x1A)),
        }
        got
    }
}
