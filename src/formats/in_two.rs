//! Large files of records are read in two places at once, on two cores.
//!
//! Another thread reads a later stretch of the file, for as long as its lines are plain records. The reader itself reads up to
//! where that stretch begins, takes over what was read of it, and goes on after it. The other thread stops at whatever is odd,
//! so that only the reader judges, with all that comes before it in the file known.

use std::io::{self, Read};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::{self, Scope};
use std::time::Duration;

use super::hex::{SCRATCH, Scratch};
use super::input::Input;
use super::line::LineEnd;
use super::record::{self, LineReader};
use crate::image::ask_memory;

/// Bytes of text that the reader reads before it looks what the other thread has: some milliseconds of work, and not much
/// memory. Tests have small files.
const STRETCH: u64 = if cfg!(test) { 16 << 10 } else { 2 << 20 };
/// Bytes of text that the other thread reads meanwhile: more, since the reader has to take them over too.
const LATER: u64 = STRETCH / 4 * 5;
/// Bytes of text in which the other thread looks for a record to begin with.
const SEARCHED: u64 = STRETCH / 2;
/// Memory that another thread takes, beside what it reads.
const THREAD: u64 = 4 << 20;

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

    /// Whether there was enough memory for all that was read, and still is.
    fn has_room(&self, later: &Self::Later) -> bool;

    /// Takes over what was read after this reader's first `lines` lines, as if it had read that itself.
    fn take_over(&mut self, later: &mut Self::Later, lines: u64);
}

/// As [`record::read_lines`], on two cores where the file is large and can be read in two places.
///
/// # Errors
/// The input's own.
pub(super) fn read_in_two<'a, R: InTwo>(reader: &mut R, input: &mut Input<'a>) -> io::Result<bool> {
    let is_large = input.left() >= STRETCH + LATER;
    let cores = || thread::available_parallelism().map_or(1, |n| n.get());
    if !is_large || (cores() < 2 && cfg!(not(test))) {
        return record::read_lines(reader, input);
    }
    thread::scope(|scope| {
        let mut ahead = Ahead {
            helper: Helper::new::<R>(scope),
            state: AheadState::Idle,
            spare: None,
        };
        record::read_lines_with(reader, input, |reader, input| ahead.turn(reader, input))
    })
}

/// The other thread, as this one sees it.
struct Helper<'a, L> {
    tasks: SyncSender<Task<'a, L>>,
    /// How many bytes of a stretch come before the record that it begins with; `None` where there is no such record.
    begins: Receiver<Option<u64>>,
    stretches: Receiver<ReadStretch<L>>,
}

/// What to read, and the memory for it.
struct Task<'a, L> {
    source: Box<dyn Read + Send + 'a>,
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
    /// `None` where the system has no thread, or no memory for one.
    fn new<'scope, R: InTwo<Later = L>>(scope: &'scope Scope<'scope, 'a>) -> Option<Self>
    where
        'a: 'scope,
    {
        ask_memory(THREAD).ok()?;
        let (tasks, given) = sync_channel::<Task<'a, L>>(1);
        let (tell, begins) = sync_channel(1);
        let (give, stretches) = sync_channel(1);
        let work = move || {
            // The first word says that it is there. By then it has waited once, so it has all the memory that waiting takes:
            // later there may be none, and then the system ends the process.
            let _ = given.recv_timeout(Duration::from_micros(100));
            let _ = tell.send(None);
            for task in given {
                let stretch = read_stretch::<R>(task, &tell);
                if give.send(stretch).is_err() {
                    break;
                }
            }
        };
        let thread = thread::Builder::new().stack_size(256 << 10);
        thread.spawn_scoped(scope, work).ok()?;
        begins.recv().ok()?;
        Some(Self {
            tasks,
            begins,
            stretches,
        })
    }
}

/// What is read ahead.
struct Ahead<'a, L> {
    helper: Option<Helper<'a, L>>,
    state: AheadState,
    spare: Option<Spare<L>>,
}

enum AheadState {
    /// Nothing.
    Idle,
    /// A record to begin with is looked for.
    Searched,
    /// A stretch is read; the reader's own ends where that begins.
    Read,
}

impl<'a, L: Send + 'static> Ahead<'a, L> {
    /// Called where the next line has to be searched for, as at the end of a window. True if something changed, so that
    /// the reader has to look again.
    fn turn<R: InTwo<Later = L>>(
        &mut self,
        reader: &mut R,
        input: &mut Input<'a>,
    ) -> io::Result<bool> {
        let Some(helper) = &self.helper else {
            return Ok(false);
        };
        match self.state {
            AheadState::Idle => {
                self.begin(reader, input);
                Ok(false)
            }
            AheadState::Searched if input.is_at_stop() => {
                match helper.begins.recv().ok().flatten() {
                    Some(bytes) => {
                        input.stop_after(bytes);
                        self.state = AheadState::Read;
                    }
                    None => self.dismiss(input),
                }
                Ok(true)
            }
            AheadState::Read if input.is_at_stop() && input.ahead().is_empty() => {
                match helper.stretches.recv() {
                    Ok(stretch) if reader.has_room(&stretch.spare.later) => {
                        self.take_over(stretch, reader, input)?;
                    }
                    _ => self.dismiss(input),
                }
                Ok(true)
            }
            AheadState::Searched | AheadState::Read => Ok(false),
        }
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
        // The other thread reads on while this one takes over.
        self.state = AheadState::Idle;
        self.begin(reader, input);
        reader.take_over(&mut stretch.spare.later, lines);
        self.spare = Some(stretch.spare);
        Ok(())
    }

    /// Goes on alone.
    fn dismiss(&mut self, input: &mut Input<'a>) {
        input.stop_nowhere();
        self.helper = None;
    }

    /// Lets the other thread read ahead, if there is enough left for both, and memory for it.
    fn begin<R: InTwo<Later = L>>(&mut self, reader: &R, input: &mut Input<'a>) {
        let Some(helper) = &self.helper else { return };
        if input.left() < STRETCH + LATER {
            return;
        }
        let (before, window) = match self.spare.take() {
            Some(spare) => (Some(spare.later), spare.window),
            None => (None, Vec::new()),
        };
        let Some(later) = reader.later(before) else {
            return;
        };
        let task = input.later(STRETCH).and_then(|source| {
            let window = match window.is_empty() {
                true => Input::new_window().ok()?,
                false => window,
            };
            let spare = Spare { later, window };
            Some(Task { source, spare })
        });
        match task.map(|task| helper.tasks.send(task)) {
            Some(Ok(())) => {
                input.stop_after(STRETCH);
                self.state = AheadState::Searched;
            }
            _ => self.helper = None,
        }
    }
}

/// Reads a stretch: finds a record to begin with, tells how many bytes come before it, and takes records from there.
fn read_stretch<R: InTwo>(
    Task { source, mut spare }: Task<'_, R::Later>,
    tell: &SyncSender<Option<u64>>,
) -> ReadStretch<R::Later> {
    let mut input = Input::with_window(source, spare.window);
    let later = &mut spare.later;
    let mut scratch: Scratch = [0; SCRATCH];
    // Where it begins there is the rest of a line.
    let mut is_line = matches!(input.next_line(), Ok(Some(_)));
    while is_line && input.place() < SEARCHED {
        match next_record::<R>(&mut input, &mut scratch) {
            Some((record, ..)) if R::begins(later, &record) => break,
            _ => is_line = matches!(input.next_line(), Ok(Some(_))),
        }
    }
    let from = input.place();
    let begins = is_line && from < SEARCHED;
    // An error is that nobody listens any more.
    let _ = tell.send(begins.then_some(from));
    let mut lines = 0;
    while begins && input.place() < LATER {
        let Some((record, length, end)) = next_record::<R>(&mut input, &mut scratch) else {
            break;
        };
        if !R::take(later, &record, lines + 1) {
            break;
        }
        input.pass_line(length, end);
        lines += 1;
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
