//! Large files of records are read in two places at once, on two cores.
//!
//! Another thread reads a later stretch of the file, for as long as its lines are plain records. The reader itself reads up to
//! where that stretch begins, takes over what was read of it, and goes on after it. The other thread stops at whatever is odd,
//! so that only the reader judges, with all that comes before it in the file known.

use std::io::{self, Read};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::{self, Scope, ScopedJoinHandle};

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
pub(super) fn read_lines<'a, R: InTwo>(reader: &mut R, input: &mut Input<'a>) -> io::Result<bool> {
    let is_large = input.left() >= STRETCH + LATER;
    let cores = || thread::available_parallelism().map_or(1, |n| n.get());
    if !is_large || (cores() < 2 && cfg!(not(test))) {
        return record::read_lines(reader, input);
    }
    thread::scope(|scope| {
        let mut helper = Helper {
            scope,
            state: HelperState::Idle,
            spare: None,
        };
        record::read_lines_with(reader, input, |reader, input| helper.turn(reader, input))
    })
}

/// The other thread, as the reader sees it.
struct Helper<'scope, 'env, R: InTwo> {
    scope: &'scope Scope<'scope, 'env>,
    state: HelperState<'scope, R>,
    spare: Option<Spare<R::Later>>,
}

enum HelperState<'scope, R: InTwo> {
    Idle,
    /// It looks for a record to begin with, and will say how many bytes after the reader's stretch that is.
    Searches(HelperThread<'scope, R>, Receiver<u64>),
    /// It reads; the reader's stretch ends where it began.
    Reads(HelperThread<'scope, R>),
    /// It was of no use.
    Dismissed,
}

/// Memory of a stretch that was taken over.
struct Spare<L> {
    later: L,
    window: Vec<u8>,
}

type HelperThread<'scope, R> = ScopedJoinHandle<'scope, Stretch<<R as InTwo>::Later>>;

/// What was read, and how much text that was.
struct Stretch<L> {
    spare: Spare<L>,
    bytes: u64,
    lines: u64,
}

impl<'scope, 'env, R: InTwo> Helper<'scope, 'env, R> {
    /// Called where the next line has to be searched for, as at the end of a window. True if something changed, so that
    /// the reader has to look again.
    fn turn(&mut self, reader: &mut R, input: &mut Input<'env>) -> io::Result<bool> {
        self.state = match std::mem::replace(&mut self.state, HelperState::Dismissed) {
            HelperState::Idle => {
                self.state = self.begin(reader, input);
                return Ok(false);
            }
            HelperState::Searches(thread, begin) if input.is_at_stop() => match begin.recv() {
                Ok(bytes) => {
                    input.stop_after(bytes);
                    HelperState::Reads(thread)
                }
                Err(_) => {
                    input.stop_nowhere();
                    HelperState::Dismissed
                }
            },
            HelperState::Reads(thread) if input.is_at_stop() && input.ahead().is_empty() => {
                input.stop_nowhere();
                let Ok(mut stretch) = thread.join() else {
                    return Ok(true);
                };
                if !reader.has_room(&stretch.spare.later) {
                    return Ok(true);
                }
                let lines = input.lines();
                input.pass(stretch.bytes, stretch.lines)?;
                // The other thread reads on while this one takes over.
                let next = self.begin(reader, input);
                reader.take_over(&mut stretch.spare.later, lines);
                self.spare = Some(stretch.spare);
                next
            }
            other => {
                self.state = other;
                return Ok(false);
            }
        };
        Ok(true)
    }

    /// Sends the other thread ahead, if there is enough left for both, and memory for it.
    fn begin(&mut self, reader: &R, input: &mut Input<'env>) -> HelperState<'scope, R> {
        if input.left() < STRETCH + LATER {
            return HelperState::Idle;
        }
        let spare = self.spare.take();
        let (before, window) = spare.map(|spare| (spare.later, spare.window)).unzip();
        let Some(later) = reader.later(before) else {
            return HelperState::Idle;
        };
        let spare = Spare {
            later,
            window: window.unwrap_or_default(),
        };
        let Some(source) = input.later(STRETCH) else {
            return HelperState::Dismissed;
        };
        if ask_memory(THREAD).is_err() {
            return HelperState::Dismissed;
        }
        let (tell, begin) = sync_channel(1);
        let thread = thread::Builder::new().stack_size(256 << 10);
        let thread =
            thread.spawn_scoped(self.scope, move || read_stretch::<R>(source, spare, tell));
        match thread {
            Ok(thread) => {
                input.stop_after(STRETCH);
                HelperState::Searches(thread, begin)
            }
            Err(_) => HelperState::Dismissed,
        }
    }
}

/// Reads a stretch: finds a record to begin with, tells how many bytes come before it, and takes records from there.
fn read_stretch<R: InTwo>(
    source: Box<dyn Read + Send + '_>,
    mut spare: Spare<R::Later>,
    tell: SyncSender<u64>,
) -> Stretch<R::Later> {
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
    // If nothing is told, the reader goes on alone.
    let begins = is_line && from < SEARCHED && tell.send(from).is_ok();
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
    Stretch {
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
