//! How much a recovery may do before it gives up.

/// Cells that may still be looked at. One budget serves a whole recovery, so that no image takes it long.
pub(super) struct Budget {
    left: u64,
    used_up: bool,
}

impl Budget {
    /// For images of this many cells: what a sound case takes, several times over.
    pub fn new(cells: usize) -> Self {
        Budget {
            left: (1 << 24) + 24 * cells as u64,
            used_up: false,
        }
    }

    /// Takes this many cells; false when there are not as many left, and from then on.
    pub fn spend(&mut self, cells: usize) -> bool {
        match self.left.checked_sub(cells as u64) {
            Some(left) if !self.used_up => self.left = left,
            _ => self.used_up = true,
        }
        !self.used_up
    }

    /// Whether something was left undone.
    pub fn is_used_up(&self) -> bool {
        self.used_up
    }

    /// Half of what is left, for a part of the work.
    pub fn half(&mut self) -> Budget {
        self.left /= 2;
        Budget {
            left: self.left,
            used_up: self.used_up,
        }
    }

    /// Takes back what a part of the work did not need.
    pub fn take_back(&mut self, part: Budget) {
        self.left += part.left;
    }
}
