//! A file being read: its name, a look at its beginning, and its lines or bytes, with memory bounded by the window.

use std::io::{self, Read};
use std::ops::Range;
use std::sync::Arc;

use memchr::memchr2;

use super::ahead::{OneReader, ReadAhead};
use super::line::{LONGEST_LINE, LineEnd, TextLine, is_padding};
use super::place::TextPlace;
use super::problem::Problem;
use crate::image::{NoMemory, ask_memory};

mod take;

pub use take::Taken;

/// How many bytes of a file are looked at to find out its format.
const HEAD: usize = 64 * 1024;
/// How many bytes the reader is asked for at once, or half as many and more.
const WINDOW: usize = 256 * 1024;
/// Most records are shorter.
const NEAR: usize = 128;
/// How many bytes are read in one place before what was read in another is taken over, or at least where that is all: some
/// milliseconds of work, and not much memory.
const STRETCH: u64 = 2 << 20;

/// A file, a pipe or bytes in memory, being read once from front to back.
pub struct Input<'a> {
    name: Arc<str>,
    reader: Box<dyn ReadAhead<'a> + 'a>,
    /// What the reader still has, where it can be read in two places.
    left: u64,
    /// Bytes that have been read, those in the window among them.
    read: u64,
    /// Whether `left` is all that there is, as far as is known.
    is_sized: bool,
    stretch: u64,
    /// How many more bytes may be read before somebody has to be asked; most often any number.
    until_stop: u64,
    window: Vec<u8>,
    from: usize,
    to: usize,
    ended: bool,
    line: u64,
    /// The format that its content, or its name, says.
    told: Option<&'static str>,
    /// What was odd about it before it was read.
    odd: Option<Problem>,
    /// Characters of the current line that went out in earlier parts.
    before: u64,
}

/// Length of `text` without the padding at its end.
fn padded_off(text: &[u8]) -> usize {
    text.iter()
        .rposition(|b| !is_padding(*b))
        .map_or(0, |i| i + 1)
}

/// Where the first line ends. Near its beginning it is looked for byte by byte: the fast search asks first what the processor can do,
/// which takes longer than to read a small file.
fn line_end(text: &[u8]) -> Option<usize> {
    let (near, far) = text.split_at(text.len().min(NEAR));
    let is_end = |b: &u8| matches!(b, b'\n' | b'\r');
    let found = near.iter().position(is_end);
    if found.is_some() || far.is_empty() {
        return found;
    }
    memchr2(b'\n', b'\r', far).map(|i| near.len() + i)
}

fn window_of(bytes: usize) -> Result<Vec<u8>, NoMemory> {
    ask_memory(bytes as u64)?;
    // Memory that comes as zeros costs nothing to clear.
    Ok(vec![0; bytes])
}

fn no_memory(error: NoMemory) -> io::Error {
    io::Error::new(io::ErrorKind::OutOfMemory, error)
}

impl<'a> Input<'a> {
    /// A reader under the name that messages will use.
    pub fn new(name: impl Into<Arc<str>>, reader: impl Read + 'a) -> Self {
        Self::in_two(name, OneReader(reader))
    }

    /// As [`new`](Self::new), for what can be read in two places at once: large files are read on two cores then, where their
    /// format allows it.
    pub fn in_two(name: impl Into<Arc<str>>, reader: impl ReadAhead<'a> + 'a) -> Self {
        let left = reader.left();
        Self {
            name: name.into(),
            left,
            is_sized: left > 0,
            reader: Box::new(reader),
            read: 0,
            stretch: STRETCH,
            until_stop: u64::MAX,
            window: Vec::new(),
            from: 0,
            to: 0,
            ended: false,
            line: 0,
            told: None,
            odd: None,
            before: 0,
        }
    }

    /// The same, read in places so close together that small files have several of them.
    #[cfg(test)]
    pub(super) fn in_stretches_of(mut self, bytes: u64) -> Self {
        self.stretch = bytes;
        self
    }

    /// How many bytes are read in one place before what was read in another is taken over.
    pub(super) fn stretch(&self) -> u64 {
        self.stretch
    }

    /// One without a name, which uses the window of another again.
    pub(super) fn with_window(reader: impl Read + 'a, window: Vec<u8>) -> Self {
        Self {
            window,
            ..Self::new("", reader)
        }
    }

    /// A window for another.
    ///
    /// # Errors
    /// [`NoMemory`].
    pub(super) fn new_window() -> Result<Vec<u8>, NoMemory> {
        window_of(WINDOW)
    }

    /// The window, for another.
    pub(super) fn into_window(self) -> Vec<u8> {
        self.window
    }

    /// The name that messages use.
    pub fn name(&self) -> &Arc<str> {
        &self.name
    }

    /// Keeps the name of the format that its content, or its name, says.
    pub(super) fn tell(&mut self, format: &'static str) {
        self.told = Some(format);
    }

    /// What was kept so.
    pub(super) fn told(&self) -> Option<&'static str> {
        self.told
    }

    /// Something odd, to be said when it is read.
    pub(super) fn note(&mut self, odd: Problem) {
        self.odd = Some(odd);
    }

    /// What was noted, once.
    pub(super) fn take_note(&mut self) -> Option<Problem> {
        self.odd.take()
    }

    /// The beginning of what is left, up to 64 KiB, without taking it; also whether that is all there is.
    ///
    /// # Errors
    /// What the reader says.
    pub fn head(&mut self) -> io::Result<(&[u8], bool)> {
        while !self.ended && self.to - self.from < HEAD {
            self.refill()?;
        }
        let head = &self.window[self.from..self.to];
        Ok((
            &head[..head.len().min(HEAD)],
            self.ended && head.len() <= HEAD,
        ))
    }

    /// Moves what is left to the start of the window, then reads more after it.
    fn refill(&mut self) -> io::Result<()> {
        self.window.copy_within(self.from..self.to, 0);
        self.to -= self.from;
        self.from = 0;
        let room = self.room();
        if self.window.is_empty() {
            self.window = window_of(room).map_err(no_memory)?;
        } else if self.window.len() - self.to < room.div_ceil(2) {
            let more = self.to + room - self.window.len();
            let bytes = (2 * self.window.len() + more) as u64;
            let grown = self.window.try_reserve(more);
            grown.map_err(|_| no_memory(NoMemory { bytes }))?;
            self.window.resize(self.to + room, 0);
        }
        if self.until_stop == 0 {
            // Nobody looked whether it is there; what is read elsewhere is not needed then.
            self.stop_nowhere();
        }
        let most = usize::try_from(self.until_stop).unwrap_or(usize::MAX);
        let end = self.to.saturating_add(most).min(self.window.len());
        let n = loop {
            match self.reader.read(&mut self.window[self.to..end]) {
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                other => break other?,
            }
        };
        self.to += n;
        self.count(n as u64);
        self.ended = n == 0;
        Ok(())
    }

    /// How much is worth asking for at once: what is left, and a byte more that shows the end, or as much as a window.
    fn room(&self) -> usize {
        match self.is_sized {
            true => self.left.min(WINDOW as u64 - 1) as usize + 1,
            false => WINDOW,
        }
    }

    fn count(&mut self, bytes: u64) {
        self.read += bytes;
        // It has grown.
        self.is_sized &= bytes <= self.left;
        self.left = self.left.saturating_sub(bytes);
        if self.until_stop != u64::MAX {
            self.until_stop = self.until_stop.saturating_sub(bytes);
        }
    }

    /// Reads on, so that more is in the window.
    pub(super) fn more(&mut self) -> io::Result<()> {
        match self.ended {
            true => Ok(()),
            false => self.refill(),
        }
    }

    /// How many bytes are not in the window yet; 0 where they can't be read in two places.
    pub(super) fn left(&self) -> u64 {
        self.left
    }

    /// Bytes that have been taken.
    pub(super) fn place(&self) -> u64 {
        self.read - (self.to - self.from) as u64
    }

    /// Lines that have been taken.
    pub(super) fn lines(&self) -> u64 {
        self.line
    }

    /// A second reader, which begins so many bytes after what is in the window.
    pub(super) fn later(&self, skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
        self.reader.ahead(skip)
    }

    /// Puts no more than so many bytes into the window before [`is_at_stop`](Self::is_at_stop) was asked.
    pub(super) fn stop_after(&mut self, bytes: u64) {
        self.until_stop = bytes;
    }

    /// Reads on to the end.
    pub(super) fn stop_nowhere(&mut self) {
        self.until_stop = u64::MAX;
    }

    /// Whether there is no stop, perhaps because it was passed.
    pub(super) fn stops_nowhere(&self) -> bool {
        self.until_stop == u64::MAX
    }

    /// Whether all up to the stop has been read; some of it may still be in the window.
    #[inline]
    pub(super) fn is_at_stop(&self) -> bool {
        self.until_stop == 0
    }

    /// Passes over what a second reader has read; the window is empty.
    ///
    /// # Errors
    /// What the reader says.
    pub(super) fn pass(&mut self, bytes: u64, lines: u64) -> io::Result<()> {
        self.reader.pass(bytes)?;
        self.count(bytes);
        self.line += lines;
        Ok(())
    }

    /// What is in the window of the rest of the file: perhaps nothing, perhaps not all of the next line.
    #[inline]
    pub(super) fn ahead(&self) -> &[u8] {
        &self.window[self.from..self.to]
    }

    /// The next line, without a search for its end and without taking it: the next `length` bytes, if LF or CR LF
    /// follows them. They may contain a line end themselves, so a caller that takes them must know that they don't.
    #[inline]
    pub(super) fn line_of(&self, length: usize) -> Option<TextLine<'_>> {
        let window = self.ahead();
        let end = match *window.get(length)? {
            b'\n' => LineEnd::Lf,
            b'\r' if window.get(length + 1) == Some(&b'\n') => LineEnd::CrLf,
            _ => return None,
        };
        Some(TextLine {
            number: self.line + 1,
            bytes: &window[..length],
            length: length as u64,
            end,
        })
    }

    /// Takes the line that [`line_of`](Input::line_of) gave.
    #[inline]
    pub(super) fn pass_line(&mut self, length: usize, end: LineEnd) {
        self.from += length + if end == LineEnd::Lf { 1 } else { 2 };
        self.line += 1;
    }

    /// The next line; `None` at the end of the file.
    ///
    /// # Errors
    /// What the reader says.
    pub fn next_line(&mut self) -> io::Result<Option<TextLine<'_>>> {
        loop {
            let window = &self.window[self.from..self.to];
            match line_end(window) {
                // Only the next byte says whether this is CR or CR LF.
                Some(i) if window[i] == b'\r' && i + 1 == window.len() && !self.ended => {
                    self.refill()?;
                }
                Some(i) => {
                    let end = match (window[i], window.get(i + 1)) {
                        (b'\n', _) => LineEnd::Lf,
                        (_, Some(b'\n')) => LineEnd::CrLf,
                        _ => LineEnd::Cr,
                    };
                    let length = match i <= LONGEST_LINE {
                        true => i,
                        false => padded_off(&window[..i]).max(LONGEST_LINE),
                    };
                    let from = self.from;
                    self.from += i + if end == LineEnd::CrLf { 2 } else { 1 };
                    self.line += 1;
                    return Ok(Some(TextLine {
                        number: self.line,
                        bytes: &self.window[from..from + i.min(LONGEST_LINE)],
                        length: length as u64,
                        end,
                    }));
                }
                None if window.len() > LONGEST_LINE => return self.overlong().map(Some),
                None if !self.ended => self.refill()?,
                None if window.is_empty() => return Ok(None),
                None => {
                    let (from, to) = (self.from, self.to);
                    self.from = to;
                    self.line += 1;
                    return Ok(Some(TextLine {
                        number: self.line,
                        bytes: &self.window[from..to],
                        length: (to - from) as u64,
                        end: LineEnd::EndOfFile,
                    }));
                }
            }
        }
    }

    /// A line longer than any record: keeps its beginning and skips the rest, however long.
    #[cold]
    fn overlong(&mut self) -> io::Result<TextLine<'_>> {
        let kept: Vec<u8> = self.window[self.from..self.from + LONGEST_LINE].to_vec();
        let mut length = 0u64;
        let mut passed = 0u64;
        let mut pass = |text: &[u8]| {
            match padded_off(text) as u64 {
                0 => {}
                part => length = passed + part,
            }
            passed += text.len() as u64;
        };
        let end = loop {
            let window = &self.window[self.from..self.to];
            match memchr2(b'\n', b'\r', window) {
                Some(i) if window[i] == b'\r' && i + 1 == window.len() && !self.ended => {
                    pass(&window[..i]);
                    self.from += i;
                    self.refill()?;
                }
                Some(i) => {
                    pass(&window[..i]);
                    let (end, skip) = match (window[i], window.get(i + 1)) {
                        (b'\n', _) => (LineEnd::Lf, 1),
                        (_, Some(b'\n')) => (LineEnd::CrLf, 2),
                        _ => (LineEnd::Cr, 1),
                    };
                    self.from += i + skip;
                    break end;
                }
                None => {
                    pass(window);
                    self.from = self.to;
                    if self.ended {
                        break LineEnd::EndOfFile;
                    }
                    self.refill()?;
                }
            }
        };
        // The space before what is still unread is free for the beginning.
        if self.from < kept.len() {
            let more = kept.len() - self.from;
            self.window.splice(0..0, std::iter::repeat_n(0, more));
            self.from += more;
            self.to += more;
        }
        self.window[..kept.len()].copy_from_slice(&kept);
        self.line += 1;
        Ok(TextLine {
            number: self.line,
            bytes: &self.window[..kept.len()],
            length: length.max(kept.len() as u64),
            end,
        })
    }

    /// The next line, or the next part of one that is longer than [`LONGEST_LINE`], for formats whose lines may have any
    /// length; `None` at the end of the file. A long line is cut after a blank, if it has one.
    ///
    /// # Errors
    /// What the reader says.
    pub fn next_part(&mut self) -> io::Result<Option<LinePart<'_>>> {
        let (len, skip, end) = loop {
            let window = &self.window[self.from..self.to];
            match line_end(&window[..window.len().min(LONGEST_LINE)]) {
                // Only the next byte says whether this is CR or CR LF.
                Some(i) if window[i] == b'\r' && i + 1 == window.len() && !self.ended => {
                    self.refill()?;
                }
                Some(i) => match (window[i], window.get(i + 1)) {
                    (b'\n', _) => break (i, 1, Some(LineEnd::Lf)),
                    (_, Some(b'\n')) => break (i, 2, Some(LineEnd::CrLf)),
                    _ => break (i, 1, Some(LineEnd::Cr)),
                },
                None if window.len() > LONGEST_LINE => {
                    let full = &window[..LONGEST_LINE];
                    let cut = memchr::memrchr2(b' ', b'\t', full).map_or(LONGEST_LINE, |i| i + 1);
                    break (cut, 0, None);
                }
                None if !self.ended => self.refill()?,
                None if window.is_empty() => return Ok(None),
                None => break (window.len(), 0, Some(LineEnd::EndOfFile)),
            }
        };
        let bytes = &self.window[self.from..self.from + len];
        self.from += len + skip;
        let before = self.before;
        self.line += u64::from(before == 0);
        self.before = match end {
            Some(_) => 0,
            None => before + String::from_utf8_lossy(bytes).chars().count() as u64,
        };
        Ok(Some(LinePart {
            line: TextLine {
                number: self.line,
                bytes,
                length: len as u64,
                end: end.unwrap_or(LineEnd::EndOfFile),
            },
            before,
            goes_on: end.is_none(),
        }))
    }
}

/// A line, or part of one that is very long.
#[derive(Clone, Copy, Debug)]
pub struct LinePart<'a> {
    /// The text, at most [`LONGEST_LINE`] bytes of it; its `length` and `end` mean the whole line only when this part
    /// is the last of it.
    pub line: TextLine<'a>,
    /// Characters of the line before this part.
    pub before: u64,
    /// Whether the line goes on in the next part.
    pub goes_on: bool,
}

impl LinePart<'_> {
    /// The bytes `mark` of this part, as a place in its line.
    pub fn place(&self, mark: Range<usize>) -> TextPlace {
        let mut place = TextPlace::new(&self.line, mark);
        place.column += self.before;
        place.cut_before |= self.before > 0;
        place.cut_after |= self.goes_on;
        place
    }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;
    use std::rc::Rc;

    use super::*;

    /// Hands out `step` bytes at a time, as a slow pipe would.
    struct Drip<'a>(&'a [u8], usize);

    impl Read for Drip<'_> {
        fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
            let n = self.1.min(self.0.len()).min(to.len());
            to[..n].copy_from_slice(&self.0[..n]);
            self.0 = &self.0[n..];
            Ok(n)
        }
    }

    fn lines(text: &[u8], step: usize) -> Vec<(u64, Vec<u8>, LineEnd)> {
        let mut input = Input::new("a", Drip(text, step));
        let mut out = Vec::new();
        while let Some(line) = input.next_line().unwrap() {
            assert_eq!(line.length, line.bytes.len() as u64);
            out.push((line.number, line.bytes.to_vec(), line.end));
        }
        out
    }

    #[test]
    fn every_line_end_counts_and_pipes_may_drip() {
        let text = b"one\r\ntwo\rthree\n\nfive";
        let wanted = [
            (1, b"one".to_vec(), LineEnd::CrLf),
            (2, b"two".to_vec(), LineEnd::Cr),
            (3, b"three".to_vec(), LineEnd::Lf),
            (4, b"".to_vec(), LineEnd::Lf),
            (5, b"five".to_vec(), LineEnd::EndOfFile),
        ];
        for step in [1, 2, 3, 5, 1000] {
            assert_eq!(lines(text, step), wanted, "step {step}");
        }
    }

    /// A file that has more in it, or less, than it had when it was opened.
    struct Changed<'a> {
        inner: &'a [u8],
        had: u64,
        asked: Rc<Cell<usize>>,
    }

    impl Read for Changed<'_> {
        fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
            self.asked.set(self.asked.get() + 1);
            self.inner.read(to)
        }
    }

    impl<'a> ReadAhead<'a> for Changed<'a> {
        fn left(&self) -> u64 {
            self.had
        }

        fn ahead(&self, _skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
            None
        }

        fn pass(&mut self, _bytes: u64) -> io::Result<()> {
            Err(io::ErrorKind::Unsupported.into())
        }
    }

    #[test]
    fn a_file_is_read_to_its_end_whatever_length_it_had_and_not_in_little_pieces() {
        let text = b"0123456789\n".repeat(60_000);
        for had in [0, 1, 10, 65_536, 300_000, 660_000, 660_001, 9_000_000] {
            let asked = Rc::new(Cell::new(0));
            let inner = &text[..];
            let mut input = Input::in_two(
                "a",
                Changed {
                    inner,
                    had,
                    asked: asked.clone(),
                },
            );
            let mut lines = 0;
            while let Some(line) = input.next_line().unwrap() {
                assert_eq!(line.bytes, b"0123456789");
                lines += 1;
            }
            assert_eq!(lines, 60_000, "{had}");
            assert!(asked.get() <= 10, "{had}: asked {} times", asked.get());
        }
    }

    #[test]
    fn a_small_file_has_a_small_window() {
        let text = b"0123456789\n".repeat(3000);
        let asked = Rc::new(Cell::new(0));
        let changed = Changed {
            inner: &text,
            had: text.len() as u64,
            asked: asked.clone(),
        };
        let mut input = Input::in_two("a", changed);
        assert_eq!(input.head().unwrap(), (&text[..], true));
        assert_eq!(input.window.len(), text.len() + 1);
        assert_eq!(asked.get(), 2);
    }

    #[test]
    fn a_line_ends_at_its_first_end_however_far_that_is() {
        for len in [0, 1, NEAR - 1, NEAR, NEAR + 1, NEAR + 100] {
            let mut text = vec![b'x'; len];
            assert_eq!(line_end(&text), None, "{len}");
            for (first, second) in [(b'\r', b'\n'), (b'\n', b'\r')] {
                text.truncate(len);
                text.extend([first, b'x', second]);
                assert_eq!(line_end(&text), Some(len), "{len}");
            }
        }
    }

    #[test]
    fn a_line_of_ten_megabytes_keeps_its_place_and_costs_no_memory() {
        let mut text = vec![b'x'; 10_000_000];
        text.extend(b"\r\nnext");
        let mut input = Input::new("a", Drip(&text, 7777));
        let line = input.next_line().unwrap().unwrap();
        assert_eq!((line.number, line.length), (1, 10_000_000));
        assert_eq!(line.bytes, vec![b'x'; LONGEST_LINE]);
        assert_eq!(line.end, LineEnd::CrLf);
        let line = input.next_line().unwrap().unwrap();
        assert_eq!((line.number, line.bytes), (2, &b"next"[..]));
        assert!(input.window.len() < 2 * WINDOW);
    }

    #[test]
    fn a_very_long_line_comes_in_pieces_cut_behind_blanks() {
        let mut text = b"short\r\n".to_vec();
        text.extend(b"12 ".repeat(50_000));
        text.extend(b"\nlast");
        for step in [1000, 7777, 1_000_000] {
            let mut input = Input::new("a", Drip(&text, step));
            let first = input.next_part().unwrap().unwrap();
            assert_eq!(first.line.bytes, b"short");
            let (mut seen, mut parts) = (Vec::new(), 0);
            loop {
                let part = input.next_part().unwrap().unwrap();
                assert_eq!(part.line.number, 2);
                assert_eq!(part.before, seen.len() as u64);
                assert!(part.line.bytes.len() <= LONGEST_LINE);
                assert!(part.line.bytes.ends_with(b" "));
                seen.extend_from_slice(part.line.bytes);
                parts += 1;
                if !part.goes_on {
                    break;
                }
            }
            assert_eq!((seen.len(), parts), (150_000, 3));
            let last = input.next_part().unwrap().unwrap();
            assert_eq!((last.line.number, last.line.bytes), (3, &b"last"[..]));
            assert!(input.next_part().unwrap().is_none());
        }
    }

    #[test]
    fn a_look_at_the_head_takes_nothing() {
        let mut input = Input::new("a", Drip(b"abc\ndef", 2));
        assert_eq!(input.head().unwrap(), (&b"abc\ndef"[..], true));
        assert_eq!(input.next_line().unwrap().unwrap().bytes, b"abc");
        assert_eq!(input.take_bytes(1, Some(1)).unwrap().bytes, b"e");
    }

    #[test]
    fn part_of_a_file_can_be_taken() {
        let file: Vec<u8> = (0..=255).collect();
        let taken = |skip, limit| {
            let mut input = Input::new("a", Drip(&file, 100));
            input.head().unwrap();
            let taken = input.take_bytes(skip, limit).unwrap();
            (taken.skipped, taken.bytes)
        };
        assert_eq!(taken(250, None), (250, vec![250, 251, 252, 253, 254, 255]));
        assert_eq!(taken(3, Some(2)), (3, vec![3, 4]));
        assert_eq!(taken(300, Some(2)), (256, vec![]));
    }
}
