//! The forms of S-records: how wide their addresses are.

use crate::formats::options::AddressForm;
use crate::formats::written::WriteError;

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum SRecordForm {
    S1,
    S2,
    S3,
}

impl SRecordForm {
    pub const ALL: [SRecordForm; 3] = [SRecordForm::S1, SRecordForm::S2, SRecordForm::S3];

    pub fn name(self) -> &'static str {
        match self {
            SRecordForm::S1 => "S1",
            SRecordForm::S2 => "S2",
            SRecordForm::S3 => "S3",
        }
    }

    pub fn address_bytes(self) -> usize {
        match self {
            SRecordForm::S1 => 2,
            SRecordForm::S2 => 3,
            SRecordForm::S3 => 4,
        }
    }

    pub fn limit(self) -> u64 {
        (1 << (8 * self.address_bytes())) - 1
    }

    /// The low bytes of a big-endian address.
    pub fn address(self, bytes: &[u8; 8]) -> &[u8] {
        &bytes[8 - self.address_bytes()..]
    }

    pub fn data_kind(self) -> u8 {
        b'0' + self.address_bytes() as u8 - 1
    }

    pub fn end_kind(self) -> u8 {
        b'0' + 11 - self.address_bytes() as u8
    }

    pub fn choose(address: AddressForm, last: u64, entry: u64) -> Result<SRecordForm, WriteError> {
        let form = match address {
            AddressForm::Smallest => SRecordForm::ALL
                .into_iter()
                .find(|f| last.max(entry) <= f.limit())
                .unwrap_or(SRecordForm::S3),
            AddressForm::Bits16 => SRecordForm::S1,
            AddressForm::Bits24 => SRecordForm::S2,
            AddressForm::Bits32 => SRecordForm::S3,
            AddressForm::Bits20 => {
                return Err(WriteError::NoSuchForm {
                    format: "s-record",
                    bits: 20,
                    has: "16 (S1), 24 (S2) and 32 (S3)",
                });
            }
        };
        let (form_name, limit) = (form.name(), form.limit());
        if last > limit {
            return Err(WriteError::AddressTooLarge {
                form: form_name,
                last,
                limit,
                widest: SRecordForm::S3.limit(),
            });
        }
        if entry > limit {
            return Err(WriteError::EntryTooLarge {
                form: form_name,
                entry,
                limit,
            });
        }
        Ok(form)
    }
}
