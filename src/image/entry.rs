//! Where a program starts.

/// Where a program starts, in the form its file gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Entry {
    /// A plain address.
    Linear(u64),
    /// Code segment and instruction pointer of an 8086; the address is `cs * 16 + ip`.
    Segmented {
        /// Code segment, in units of 16 bytes.
        cs: u16,
        /// Instruction pointer.
        ip: u16,
    },
}

impl Entry {
    /// The address as one number.
    pub fn address(self) -> u64 {
        match self {
            Entry::Linear(address) => address,
            Entry::Segmented { cs, ip } => u64::from(cs) * 16 + u64::from(ip),
        }
    }
}
