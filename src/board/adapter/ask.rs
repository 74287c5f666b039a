//! What the two pin tables don't say, and only somebody with the board and the chip can.

/// What is known in addition to the pin tables. The default is nothing.
#[derive(Clone, Debug, Default)]
pub struct AdapterOptions {
    /// Enabling pins of the socket, and the level at which the board selects there. A `CS` needs one; a `CE` or `OE` may
    /// have [`SelectLevel::Always`].
    pub selects: Vec<(u8, SelectLevel)>,
    /// `CS` pins of the chip, and the level at which they enable it, `true` for 1.
    pub chip_selects: Vec<(u8, bool)>,
    /// What is done with the address lines of the chip that the socket lacks. `None` holds them at 0; where
    /// the chip may be put in as it is, it holds them at the level of the socket's `PGM` or `WE` under the line, which is 1
    /// while the socket is read (common practice).
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
    /// The board never changes the pin, so it does not select.
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
