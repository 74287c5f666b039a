//! The forms of Intel HEX: how wide their addresses are.

use crate::formats::options::AddressForm;
use crate::formats::written::WriteError;
use crate::image::Entry;

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum IntelHexForm {
    I8,
    I16,
    I32,
}

impl IntelHexForm {
    pub const ALL: [IntelHexForm; 3] = [IntelHexForm::I8, IntelHexForm::I16, IntelHexForm::I32];

    pub fn name(self) -> &'static str {
        match self {
            IntelHexForm::I8 => "I8HEX",
            IntelHexForm::I16 => "I16HEX",
            IntelHexForm::I32 => "I32HEX",
        }
    }

    pub fn limit(self) -> u64 {
        match self {
            IntelHexForm::I8 => 0xFFFF,
            IntelHexForm::I16 => 0xF_FFFF,
            IntelHexForm::I32 => 0xFFFF_FFFF,
        }
    }

    pub fn choose(address: AddressForm, last: u64) -> Result<IntelHexForm, WriteError> {
        let form = match address {
            AddressForm::Smallest => IntelHexForm::ALL
                .into_iter()
                .find(|f| last <= f.limit())
                .unwrap_or(IntelHexForm::I32),
            AddressForm::Bits16 => IntelHexForm::I8,
            AddressForm::Bits20 => IntelHexForm::I16,
            AddressForm::Bits32 => IntelHexForm::I32,
            AddressForm::Bits24 => {
                return Err(WriteError::NoSuchForm {
                    format: "intel-hex",
                    bits: 24,
                    has: "16 (I8HEX), 20 (I16HEX) and 32 (I32HEX)",
                });
            }
        };
        match last <= form.limit() {
            true => Ok(form),
            false => Err(WriteError::AddressTooLarge {
                form: form.name(),
                last,
                limit: form.limit(),
                widest: IntelHexForm::I32.limit(),
            }),
        }
    }

    /// Type and value of the record that carries `entry`; `None` where the form has no such record.
    pub fn start_record(self, entry: Entry) -> Result<Option<(u8, u32)>, WriteError> {
        let segmented = |cs: u16, ip: u16| Some((3, u32::from(cs) << 16 | u32::from(ip)));
        match (self, entry) {
            (IntelHexForm::I8, _) => Ok(None),
            (_, Entry::Segmented { cs, ip }) => Ok(segmented(cs, ip)),
            (_, Entry::Linear(address)) if address > self.limit() => {
                Err(WriteError::EntryTooLarge {
                    form: self.name(),
                    entry: address,
                    limit: self.limit(),
                })
            }
            (IntelHexForm::I16, Entry::Linear(address)) => {
                Ok(segmented((address >> 16 << 12) as u16, address as u16))
            }
            (IntelHexForm::I32, Entry::Linear(address)) => Ok(Some((5, address as u32))),
        }
    }
}
