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

#[cfg(test)]
mod tests {
    use super::*;

    /// 16 Mi cells and 24 for each of the image; what can't be paid ends it.
    #[test]
    fn a_budget_is_used_up() {
        let mut budget = Budget::new(10);
        let all = (1 << 24) + 240;
        assert!(budget.spend(all - 1) && budget.spend(1) && budget.spend(0));
        assert!(!budget.is_used_up());
        assert!(!budget.spend(1) && budget.is_used_up());
        assert!(!budget.spend(0), "and from then on");
        // A part may use half, and gives back what it did not need.
        let mut budget = Budget::new(0);
        let mut half = budget.half();
        assert!(half.spend(1 << 23) && !half.spend(1));
        assert!(!budget.is_used_up());
        budget.take_back(half);
        assert!(budget.spend(1 << 23) && !budget.spend(1));
        let mut budget = Budget::new(0);
        let half = budget.half();
        budget.take_back(half);
        assert!(budget.spend(1 << 24) && !budget.spend(1));
    }
}
