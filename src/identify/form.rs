//! The forms that people and machines put a content in.

/// Shorter forms than this are no evidence.
pub(super) const LEAST: usize = 64;

/// Which part of a content.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Cut {
    /// All of it.
    Whole,
    /// One of so many equal blocks, counted from 0.
    Bank {
        /// Which.
        n: usize,
        /// Of how many: 2, 4, 8 or 16.
        of: usize,
    },
    /// The bytes at the addresses that are `n` mod `of`.
    Lane {
        /// Which.
        n: usize,
        /// Of how many: 2 or 4.
        of: usize,
    },
}

/// In what form one content stands for another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ContentForm {
    /// Which part.
    pub cut: Cut,
    /// Every bit inverted.
    pub inverted: bool,
    /// The two bytes of each word exchanged.
    pub swapped: bool,
}

impl ContentForm {
    pub(super) const WHOLE: ContentForm = ContentForm {
        cut: Cut::Whole,
        inverted: false,
        swapped: false,
    };

    /// Runs `with` on every form of the bytes that is no constant, the plainest first.
    pub(super) fn all(bytes: &[u8], mut with: impl FnMut(ContentForm, &[u8])) {
        let mut cuts = vec![Cut::Whole];
        for of in [2, 4, 8, 16] {
            cuts.extend((0..of).map(|n| Cut::Bank { n, of }));
        }
        for of in [2, 4] {
            cuts.extend((0..of).map(|n| Cut::Lane { n, of }));
        }
        for cut in cuts {
            let Some(mut part) = cut.of(bytes) else {
                continue;
            };
            for (inverted, swapped) in [(false, false), (true, false), (false, true), (true, true)]
            {
                if swapped && part.len() % 2 != 0 {
                    continue;
                }
                // Each step from one form to the next turns what differs between them.
                match (inverted, swapped) {
                    (true, false) => invert(&mut part),
                    (false, true) => {
                        invert(&mut part);
                        swap(&mut part);
                    }
                    (true, true) => invert(&mut part),
                    (false, false) => {}
                }
                with(
                    ContentForm {
                        cut,
                        inverted,
                        swapped,
                    },
                    &part,
                );
            }
        }
    }

    /// This form of the bytes.
    pub(super) fn of(self, bytes: &[u8]) -> Option<Vec<u8>> {
        let mut part = self.cut.of(bytes)?;
        if self.inverted {
            invert(&mut part);
        }
        if self.swapped {
            swap(&mut part);
        }
        Some(part)
    }
}

impl Cut {
    fn of(self, bytes: &[u8]) -> Option<Vec<u8>> {
        let fits = |of: usize| bytes.len() % of == 0 && bytes.len() / of >= LEAST;
        let part: Vec<u8> = match self {
            Cut::Whole => bytes.to_vec(),
            Cut::Bank { n, of } if fits(of) => {
                let size = bytes.len() / of;
                bytes[n * size..(n + 1) * size].to_vec()
            }
            Cut::Lane { n, of } if fits(of) => bytes.iter().skip(n).step_by(of).copied().collect(),
            _ => return None,
        };
        constant(&part).is_none().then_some(part)
    }
}

pub(super) fn invert(bytes: &mut [u8]) {
    bytes.iter_mut().for_each(|byte| *byte = !*byte);
}

fn swap(bytes: &mut [u8]) {
    bytes.chunks_exact_mut(2).for_each(|word| word.swap(0, 1));
}

pub(super) fn constant(bytes: &[u8]) -> Option<u8> {
    let (&first, rest) = bytes.split_first()?;
    rest.iter().all(|&byte| byte == first).then_some(first)
}
