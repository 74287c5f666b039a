//! A little compiler that makes up programs: routines with loops, branches, calls, look-ups and texts, in the machine
//! code of a real processor. They do nothing useful, but their bytes repeat and vary as those of programs do.

use super::processor::{Act, Code, Gap, Processor, VARIABLES, Variable};
use super::{tables, text};
use crate::support::broken::Chance;

/// A program in the making.
struct Maker<'a> {
    processor: &'a dyn Processor,
    code: Code,
    chance: &'a mut Chance,
    routines: Vec<usize>,
    tables: Vec<usize>,
    texts: Vec<usize>,
    /// The variables that the present routine uses.
    scope: Vec<Variable>,
}

/// A program of about this many bytes (a routine or a table more), and the addresses of its routines, one at least.
pub fn program(
    processor: &dyn Processor,
    origin: usize,
    size: usize,
    chance: &mut Chance,
) -> (Vec<u8>, Vec<usize>) {
    let mut maker = Maker {
        processor,
        code: Code {
            origin,
            bytes: Vec::new(),
        },
        chance,
        routines: Vec::new(),
        tables: Vec::new(),
        texts: Vec::new(),
        scope: Vec::new(),
    };
    while maker.code.bytes.len() < size || maker.routines.is_empty() {
        maker.part();
    }
    (maker.code.bytes, maker.routines)
}

impl Maker<'_> {
    /// A routine, now and then with its texts and tables before it.
    fn part(&mut self) {
        if self.chance.once_in(4) {
            self.texts.push(self.code.here());
            let mut said = text::sentence(self.chance);
            said.push(0);
            self.code.put(&said);
        }
        if self.chance.once_in(12) {
            self.tables.push(self.code.here());
            let table = tables::short(self.chance);
            self.code.put(&table);
        }
        self.scope = (0..3 + self.chance.below(5))
            .map(|_| self.often_the_first(VARIABLES) as Variable)
            .collect();
        let keeps = self.chance.once_in(3);
        let at = self.processor.enter(&mut self.code, keeps);
        let acts = 3 + self.chance.below(12);
        self.body(acts, 0);
        self.processor.leave(&mut self.code, keeps);
        self.routines.push(at);
    }

    /// A number below `end`, small ones more often: some variables and routines are everybody's.
    fn often_the_first(&mut self, end: usize) -> usize {
        let within = 1 + self.chance.below(end);
        self.chance.below(within)
    }

    fn variable(&mut self) -> Variable {
        let scope = self.scope.clone();
        self.chance.pick(&scope)
    }

    fn number(&mut self) -> u8 {
        match self.chance.below(4) {
            0 => self
                .chance
                .pick(&[0, 1, 2, 8, 10, 13, 16, 32, 0x7F, 0x80, 0xFF]),
            1 => b'A' + self.chance.below(26) as u8,
            2 => 1 << self.chance.below(8),
            _ => self.chance.next() as u8,
        }
    }

    fn act(&mut self) -> Act {
        let (v, w, n) = (self.variable(), self.variable(), self.number());
        match self.chance.below(16) {
            0..=2 => Act::Set(v, n),
            3 | 4 => Act::Copy(v, w),
            5 => Act::Add(v, w),
            6 => Act::AddNumber(v, n),
            7 => Act::Increment(v),
            8 => Act::Mask(v, n),
            9 => Act::Double(v),
            10 if !self.tables.is_empty() => Act::Fetch(self.chance.pick(&self.tables), v, w),
            11 => Act::Send(v, n & 7),
            12 => Act::Take(n & 7, v),
            13 if !self.texts.is_empty() && !self.routines.is_empty() => {
                Act::Say(self.texts[self.texts.len() - 1], self.routines[0])
            }
            _ if !self.routines.is_empty() => {
                let called = self.often_the_first(self.routines.len());
                Act::Call(self.routines[called])
            }
            _ => Act::Set(w, n),
        }
    }

    fn body(&mut self, acts: usize, depth: usize) {
        for _ in 0..acts {
            match self.chance.below(8) {
                0 if depth < 2 => {
                    let times = 2 + self.chance.below(40) as u8;
                    let body = self.processor.rounds(&mut self.code, depth, times);
                    let acts = 2 + self.chance.below(4);
                    self.body(acts, depth + 1);
                    self.processor.again(&mut self.code, depth, body);
                }
                1 | 2 if depth < 3 => self.branch(depth),
                _ => {
                    let act = self.act();
                    self.processor.act(&mut self.code, act);
                }
            }
        }
    }

    /// A short one has nothing but acts in it, so that it is known to be in reach.
    fn branch(&mut self, depth: usize) {
        let far = self.chance.once_in(3);
        let (v, n) = (self.variable(), self.number());
        let unless = self.processor.unless(&mut self.code, v, n, far);
        self.inside(far, depth);
        let last: Gap = match self.chance.once_in(3) {
            true => {
                let over = self.processor.jump(&mut self.code, far);
                self.processor.land(&mut self.code, unless);
                self.inside(far, depth);
                over
            }
            false => unless,
        };
        self.processor.land(&mut self.code, last);
    }

    fn inside(&mut self, far: bool, depth: usize) {
        let acts = 1 + self.chance.below(3);
        match far {
            true => self.body(acts, depth + 1),
            false => {
                for _ in 0..acts {
                    let act = self.act();
                    self.processor.act(&mut self.code, act);
                }
            }
        }
    }
}
