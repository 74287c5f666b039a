//! Large files of records are read in two places at once, on two cores.
//!
//! Another thread reads a later stretch of the file, for as long as its lines are plain records. The reader itself reads up to
//! where that stretch begins, takes over what was read of it, and goes on after it. The other thread stops at whatever is odd,
//! so that only the reader judges, with all that comes before it in the file known.

use std::io::{self, Read};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::{self, Scope};

use super::hex::{SCRATCH, Scratch};
use super::input::Input;
use super::line::LineEnd;
use super::record::{self, LineReader};
use crate::image::{Builder, begin_aside, has_second_core};

/// So many stretches in a row without a record to begin with, and the file is not one for two.
const MOST_MISSES: u32 = 4;

/// A reader of records of which a later stretch can be read without what comes before it.
pub(super) trait InTwo: LineReader {
    /// What was read of a stretch.
    type Later: Send + 'static;

    /// The beginning of one; `None` where every record may have to be spoken of. `before` is one that was taken over, whose
    /// memory can be used again.
    fn later(&self, before: Option<Self::Later>) -> Option<Self::Later>;

    /// Whether a stretch can begin with this record, whatever comes before it.
    fn begins(later: &Self::Later, record: &Self::Record<'_>) -> bool;

    /// Takes a record about which there is nothing to say; false for any other, of which nothing is taken.
    fn take(later: &mut Self::Later, record: &Self::Record<'_>, line: u64) -> bool;

    /// What all bytes of the stretch went into.
    fn builder(later: &Self::Later) -> &Builder;

    /// Takes over what was read after this reader's first `lines` lines, as if it had read that itself.
    fn take_over(&mut self, later: &mut Self::Later, lines: u64);
}

/// As [`record::read_lines`], on two cores where the file is large and can be read in two places.
///
/// # Errors
/// The input's own.
pub(super) fn read_in_two<'a, R: InTwo>(reader: &mut R, input: &mut Input<'a>) -> io::Result<bool> {
    let is_large = input.left() >= both(input);
    if !is_large || !has_second_core() {
        return record::read_lines(reader, input);
    }
    thread::scope(|scope| {
        let mut ahead = Ahead {
            scope,
            helper: None,
            is_over: false,
            state: AheadState::Idle,
            misses: 0,
            spare: None,
        };
        record::read_lines_with(reader, input, |reader, input| ahead.turn(reader, input))
    })
}

/// Bytes of text that the other thread reads while this one reads a stretch: more, since this one has to take them over.
fn later_of(stretch: u64) -> u64 {
    stretch / 2 * 3
}

/// Bytes that have to be left for both.
fn both(input: &Input<'_>) -> u64 {
    input.stretch() + later_of(input.stretch())
}

/// Bytes that this thread reads next while the other one reads those after them: near the end fewer than usual; `None` where too
/// few are left.
fn next_stretch(input: &Input<'_>) -> Option<u64> {
    let usual = input.stretch();
    let stretch = usual.min(input.left() / 5 * 2);
    (stretch >= (usual / 4).max(1)).then_some(stretch)
}

/// Whether there was enough memory for all that was read, and still is.
fn has_room<R: InTwo>(stretch: &ReadStretch<R::Later>) -> bool {
    R::builder(&stretch.spare.later).check_memory().is_ok()
}

/// The other thread, as this one sees it.
struct Helper<'a, L> {
    tasks: SyncSender<Task<'a, L>>,
    words: Receiver<HelperWord>,
    stretches: Receiver<ReadStretch<L>>,
}

/// What the other thread says before it has read a stretch.
enum HelperWord {
    /// How many bytes come before the record that the stretch begins with.
    Begins(u64),
    /// That there is no such record.
    Nothing,
}

/// What to read, and the memory for it.
struct Task<'a, L> {
    source: Box<dyn Read + Send + 'a>,
    /// How much this thread reads meanwhile.
    stretch: u64,
    spare: Spare<L>,
}

/// Memory of a stretch, which can be used again.
struct Spare<L> {
    later: L,
    window: Vec<u8>,
}

/// What was read, and how much text that was.
struct ReadStretch<L> {
    spare: Spare<L>,
    bytes: u64,
    lines: u64,
}

impl<'a, L: Send + 'static> Helper<'a, L> {
    /// `None` where the system has no thread, or no memory for one and for an image of so many bytes.
    fn new<'scope, R: InTwo<Later = L>>(
        scope: &'scope Scope<'scope, 'a>,
        image: u64,
    ) -> Option<Self>
    where
        'a: 'scope,
    {
        let (tasks, given) = sync_channel::<Task<'a, L>>(1);
        let (tell, words) = sync_channel(1);
        let (give, stretches) = sync_channel(1);
        let work = move || {
            for task in given {
                let stretch = read_stretch::<R>(task, &tell);
                if give.send(stretch).is_err() {
                    break;
                }
            }
        };
        begin_aside(scope, image, work)?;
        Some(Self {
            tasks,
            words,
            stretches,
        })
    }
}

/// What is read ahead.
struct Ahead<'scope, 'a, L> {
    scope: &'scope Scope<'scope, 'a>,
    helper: Option<Helper<'a, L>>,
    /// It was of no use.
    is_over: bool,
    state: AheadState,
    /// Stretches without a record to begin with, one after another.
    misses: u32,
    spare: Option<Spare<L>>,
}

#[derive(Clone, Copy)]
enum AheadState {
    /// Nothing.
    Idle,
    /// A record to begin with is looked for.
    Searched,
    /// A stretch is read; the reader's own ends where that begins.
    Read,
}

impl<'scope, 'a, L: Send + 'static> Ahead<'scope, 'a, L> {
    /// Called before the end of a line is searched for: at the end of a window, and at a line that is not plain. True if
    /// something changed, so that the reader has to look again.
    fn turn<R: InTwo<Later = L>>(
        &mut self,
        reader: &mut R,
        input: &mut Input<'a>,
    ) -> io::Result<bool> {
        if self.is_over {
            return Ok(false);
        }
        match self.state {
            AheadState::Idle => {
                self.begin(reader, input);
                Ok(false)
            }
            // A line went on past the stop: what was read ahead is of no use.
            state if input.stops_nowhere() => {
                self.give_up(state);
                Ok(true)
            }
            AheadState::Searched if input.is_at_stop() => {
                match self.helper.as_ref().and_then(|own| own.words.recv().ok()) {
                    Some(HelperWord::Begins(bytes)) => {
                        input.stop_after(bytes);
                        self.state = AheadState::Read;
                    }
                    _ => {
                        input.stop_nowhere();
                        self.misses += 1;
                        self.give_up(AheadState::Read);
                    }
                }
                Ok(true)
            }
            AheadState::Read if input.is_at_stop() && input.ahead().is_empty() => {
                match self.stretch() {
                    Some(stretch) if has_room::<R>(&stretch) => {
                        self.take_over(stretch, reader, input)?;
                    }
                    _ => {
                        input.stop_nowhere();
                        self.is_over = true;
                    }
                }
                Ok(true)
            }
            AheadState::Searched | AheadState::Read => Ok(false),
        }
    }

    /// What the other thread has read.
    fn stretch(&self) -> Option<ReadStretch<L>> {
        self.helper.as_ref()?.stretches.recv().ok()
    }

    /// Leaves what is read ahead, after the words that are still to come in this state.
    fn give_up(&mut self, state: AheadState) {
        if let (AheadState::Searched, Some(helper)) = (state, &self.helper) {
            let _ = helper.words.recv();
        }
        // Its memory is not used again: what is in it is not known to be in place.
        let is_there = self.stretch().is_some();
        self.is_over = !is_there || self.misses >= MOST_MISSES;
        self.state = AheadState::Idle;
    }

    fn take_over<R: InTwo<Later = L>>(
        &mut self,
        mut stretch: ReadStretch<L>,
        reader: &mut R,
        input: &mut Input<'a>,
    ) -> io::Result<()> {
        input.stop_nowhere();
        let lines = input.lines();
        input.pass(stretch.bytes, stretch.lines)?;
        self.misses = 0;
        // The other thread reads on while this one takes over.
        self.state = AheadState::Idle;
        self.begin(reader, input);
        reader.take_over(&mut stretch.spare.later, lines);
        self.spare = Some(stretch.spare);
        Ok(())
    }

    /// Lets the other thread read ahead, if there is enough left for two, and memory for it.
    fn begin<R: InTwo<Later = L>>(&mut self, reader: &R, input: &mut Input<'a>) {
        let Some(stretch) = next_stretch(input) else {
            return;
        };
        let (before, window) = match self.spare.take() {
            Some(spare) => (Some(spare.later), spare.window),
            None => (None, Vec::new()),
        };
        let Some(later) = reader.later(before) else {
            return;
        };
        if self.helper.is_none() {
            // A file of records is twice as long as its image, or more.
            self.helper = Helper::new::<R>(self.scope, input.left());
        }
        let task = input.later(stretch).and_then(|source| {
            let window = match window.is_empty() {
                true => Input::new_window().ok()?,
                false => window,
            };
            let spare = Spare { later, window };
            Some(Task {
                source,
                stretch,
                spare,
            })
        });
        let sent = match (&self.helper, task) {
            (Some(helper), Some(task)) => helper.tasks.send(task).is_ok(),
            _ => false,
        };
        match sent {
            true => {
                input.stop_after(stretch);
                self.state = AheadState::Searched;
            }
            false => self.is_over = true,
        }
    }
}

/// Reads a stretch: finds a record to begin with, tells how many bytes come before it, and takes records from there.
fn read_stretch<R: InTwo>(
    task: Task<'_, R::Later>,
    tell: &SyncSender<HelperWord>,
) -> ReadStretch<R::Later> {
    let Task {
        source,
        stretch,
        mut spare,
    } = task;
    let (searched, most) = (stretch / 2, later_of(stretch));
    // However long a line is, no more than the longest stretch is read.
    let mut input = Input::with_window(source.take(most), spare.window);
    let later = &mut spare.later;
    let mut scratch: Scratch = [0; SCRATCH];
    // Where it begins there is the rest of a line.
    let mut is_line = matches!(input.next_line(), Ok(Some(_)));
    while is_line && input.place() < searched {
        match next_record::<R>(&mut input, &mut scratch) {
            Some((record, ..)) if R::begins(later, &record) => break,
            _ => is_line = matches!(input.next_line(), Ok(Some(_))),
        }
    }
    let from = input.place();
    let begins = is_line && from < searched;
    // An error is that nobody listens any more.
    let _ = tell.send(match begins {
        true => HelperWord::Begins(from),
        false => HelperWord::Nothing,
    });
    let mut lines = 0;
    if begins {
        while let Some((record, length, end)) = next_record::<R>(&mut input, &mut scratch) {
            if !R::take(later, &record, lines + 1) {
                break;
            }
            input.pass_line(length, end);
            lines += 1;
        }
    }
    let bytes = input.place() - from;
    spare.window = input.into_window();
    ReadStretch {
        spare,
        bytes,
        lines,
    }
}

/// The next line as a record, without taking it: the record, the line's length, and how it ends.
#[inline(always)]
fn next_record<'t, R: InTwo>(
    input: &'t mut Input<'_>,
    scratch: &'t mut Scratch,
) -> Option<(R::Record<'t>, usize, LineEnd)> {
    let whole = |input: &Input<'_>| {
        let length = R::length(input.ahead())?;
        input.line_of(length).map(|line| (length, line.end))
    };
    let (length, end) = match whole(input) {
        Some(line) => line,
        None => {
            input.more().ok()?;
            whole(input)?
        }
    };
    let record = R::decode(&input.ahead()[..length], scratch)?;
    Some((record, length, end))
}
