//! What the little compiler of [`program`](super::program) asks of a processor.

/// A byte in RAM, by number.
pub type Variable = u8;

/// The most variables that a program has.
pub const VARIABLES: usize = 48;

/// What is done without a jump.
#[derive(Clone, Copy, Debug)]
pub enum Act {
    Set(Variable, u8),
    /// From the first into the second.
    Copy(Variable, Variable),
    /// The second to the first.
    Add(Variable, Variable),
    AddNumber(Variable, u8),
    Increment(Variable),
    Mask(Variable, u8),
    Double(Variable),
    /// The byte of the table at this address that the first variable counts, into the second.
    Fetch(usize, Variable, Variable),
    /// To a device.
    Send(Variable, u8),
    /// From a device.
    Take(u8, Variable),
    /// The address of a text, and the routine that prints it.
    Say(usize, usize),
    Call(usize),
}

/// Where a jump's distance or target is still to be written.
#[derive(Clone, Copy, Debug)]
pub struct Gap {
    /// The first byte to write.
    pub at: usize,
    /// A target of two bytes instead of a distance of one.
    pub far: bool,
}

/// Machine code in the making; the first byte is at `origin`.
#[derive(Clone, Debug, Default)]
pub struct Code {
    pub origin: usize,
    pub bytes: Vec<u8>,
}

impl Code {
    pub fn put(&mut self, bytes: &[u8]) {
        self.bytes.extend_from_slice(bytes);
    }

    /// An opcode and an address, low byte first.
    pub fn low_first(&mut self, opcode: u8, address: usize) {
        self.put(&[opcode, address as u8, (address >> 8) as u8]);
    }

    /// The address of the next byte.
    pub fn here(&self) -> usize {
        self.origin + self.bytes.len()
    }

    /// The distance from behind the byte at `at` to here.
    pub fn distance(&self, at: usize) -> u8 {
        let distance = self.bytes.len() - (at + 1);
        assert!(distance < 0x80, "too far for a short jump: {distance}");
        distance as u8
    }
}

/// How a processor does it, in the form that its compilers and assembler programmers use.
pub trait Processor {
    fn act(&self, code: &mut Code, act: Act);
    /// Jumps unless the variable has this value.
    fn unless(&self, code: &mut Code, variable: Variable, value: u8, far: bool) -> Gap;
    /// Jumps always.
    fn jump(&self, code: &mut Code, far: bool) -> Gap;
    /// The jump leads here.
    fn land(&self, code: &mut Code, gap: Gap);
    /// Begins a loop of so many rounds at this depth; gives where its body begins.
    fn rounds(&self, code: &mut Code, depth: usize, times: u8) -> usize;
    /// Ends it.
    fn again(&self, code: &mut Code, depth: usize, body: usize);
    /// Begins a routine and gives its address; `keeps` is whether it saves registers.
    fn enter(&self, code: &mut Code, keeps: bool) -> usize;
    /// Ends it.
    fn leave(&self, code: &mut Code, keeps: bool);
    /// The table of addresses through which the processor or the program finds its routines.
    fn pointers(&self, addresses: &[usize]) -> Vec<u8>;
}
