//! What the two pin tables don't tell, and only somebody with the board and the chip can.

/// What is known beside the pin tables. The default is nothing.
#[derive(Clone, Debug, Default)]
pub struct AdapterOptions {
    /// Enabling pins of the socket, and the level at which the board selects there. A `CS` needs one; a `CE` or `OE` may
    /// have [`SelectLevel::Always`].
    pub selects: Vec<(u8, SelectLevel)>,
    /// `CS` pins of the chip, and the level at which they enable it, `true` for 1.
    pub chip_selects: Vec<(u8, bool)>,
    /// What is done with the address lines of the chip that the socket lacks. `None` holds them at 0, but where
    /// the chip may be put in as it is, at the level that the socket's `PGM` or `WE` under a line has while it is read: 1
    /// (common practice).
    pub upper: Option<UpperLines>,
    /// Nothing else drives the socket's data lines while the chip answers.
    pub alone: bool,
}

/// How a board selects at a pin of the socket.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SelectLevel {
    /// The pin goes to 0 when the chip is meant.
    Low,
    /// The pin goes to 1 when the chip is meant.
    High,
    /// The board never changes the pin: it takes no part in selecting.
    Always,
}

/// What is done with the address lines of the chip that the socket lacks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum UpperLines {
    /// Held at 0: the board sees the lowest part of the chip.
    Low,
    /// Held at 1: the board sees the highest part of the chip.
    High,
    /// Held at 0, and the content is the same for both levels.
    Any,
    /// Each on a switch between 0 and 1, the lowest line first.
    Switch,
}
