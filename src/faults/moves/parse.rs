//! The parse: at each byte of the read the copy, run or literal that saves most.

use super::index::{GRAM, Index, common};
use crate::faults::cost::{Literals, integer, log2, place};
use crate::faults::story::Moves;

/// Links of a chain that are followed for one byte of the read.
const TRIES: usize = 24;
/// The same, of the read's own earlier bytes.
const OWN_TRIES: usize = 8;
/// A copy in place or at a known distance that is so long is taken without looking for another.
const LONG: usize = 512;
/// Runs shorter than this are not worth a token.
const LEAST_RUN: usize = 3;
/// The kind of a token other than a copy in its place.
const KIND: f64 = 3.0;
/// Naming the byte of a run: erased or zero, or any.
const COMMON_BYTE: f64 = 2.0;
const ANY_BYTE: f64 = 9.0;
/// A copy that ends a literal has to save so much, for the next literal begins with a token of its own.
const AFTER_LITERAL: f64 = 4.0;

/// Where the bytes of a stretch of the read come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::faults) enum Kind {
    /// From the same place of the wanted image.
    Same,
    /// From this place of it.
    Copy(usize),
    /// From this earlier place of the read itself.
    Own(usize),
    /// All are this byte.
    Run(u8),
    /// Nowhere: they are new.
    Literal,
}

/// A stretch of the read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::faults) struct Token {
    pub at: usize,
    pub len: usize,
    pub kind: Kind,
    pub bits: f64,
}

/// A read told as stretches, one after another.
#[derive(Clone, Debug, Default)]
pub(in crate::faults) struct Parse {
    pub tokens: Vec<Token>,
    pub bits: f64,
}

impl Parse {
    fn push(&mut self, token: Token) {
        self.bits += token.bits;
        self.tokens.push(token);
    }

    /// What it comes to, in bytes.
    pub fn moves(&self) -> Moves {
        Moves {
            in_place: self.bytes(|kind| kind == Kind::Same),
            moved: self.bytes(|kind| matches!(kind, Kind::Copy(_))),
            constant: self.bytes(|kind| matches!(kind, Kind::Run(_))),
            new: self.bytes(|kind| kind == Kind::Literal),
            stretches: self.tokens.len(),
        }
    }

    /// Bytes of the stretches of these kinds.
    pub fn bytes(&self, which: impl Fn(Kind) -> bool) -> usize {
        let tokens = self.tokens.iter().filter(|token| which(token.kind));
        tokens.map(|token| token.len).sum()
    }
}

/// The read told out of the wanted image.
pub(in crate::faults) fn parse(
    wanted: &[u8],
    index: &Index,
    read: &[u8],
    literals: &Literals,
) -> Parse {
    Parser::new(wanted, index, read, literals, false).run()
}

/// The read told out of itself: what it costs when it has nothing in common with anything.
pub(in crate::faults) fn alone(read: &[u8], literals: &Literals) -> Parse {
    Parser::new(&[], &Index::of(&[]), read, literals, true).run()
}

struct Parser<'a> {
    wanted: &'a [u8],
    index: &'a Index,
    read: &'a [u8],
    literals: &'a Literals,
    /// What the first this many bytes of the read cost as literals, in eighths of a bit.
    written: Vec<u32>,
    /// The read's own earlier bytes, and how far they are in it.
    own: Option<(Index, usize)>,
    /// The distances that copies have come from last, and 0.
    distances: [isize; 4],
    /// How far the read is the same as the wanted image at each of these distances, as far as that has been looked at: where
    /// bytes are so common that a copy saves nothing, nobody looks at them again for each of them.
    same_until: [usize; 4],
    /// The same for the run that the next byte belongs to.
    run_end: usize,
}

/// A way of telling the next bytes.
#[derive(Clone, Copy)]
struct Offer {
    len: usize,
    kind: Kind,
    bits: f64,
    saves: f64,
}

impl<'a> Parser<'a> {
    fn new(
        wanted: &'a [u8],
        index: &'a Index,
        read: &'a [u8],
        literals: &'a Literals,
        own: bool,
    ) -> Self {
        let mut written = Vec::with_capacity(read.len() + 1);
        let mut sum = 0u32;
        written.push(0);
        for &byte in read {
            sum = sum.saturating_add((literals.price(byte) * 8.0).round() as u32);
            written.push(sum);
        }
        Parser {
            wanted,
            index,
            read,
            literals,
            written,
            own: own.then(|| (Index::empty(read.len()), 0)),
            distances: [0; 4],
            same_until: [0; 4],
            run_end: 0,
        }
    }

    fn literal(&self, from: usize, to: usize) -> f64 {
        f64::from(self.written[to] - self.written[from]) / 8.0
    }

    fn run(mut self) -> Parse {
        let mut parse = Parse::default();
        let (mut at, mut new_from) = (0, 0);
        while at < self.read.len() {
            let margin = if at > new_from { AFTER_LITERAL } else { 0.0 };
            let best = self.best(at).filter(|offer| offer.saves > margin);
            let Some(offer) = best else {
                at += 1;
                continue;
            };
            self.write_out(new_from, at, &mut parse);
            parse.push(Token {
                at,
                len: offer.len,
                kind: offer.kind,
                bits: offer.bits,
            });
            if let Kind::Copy(from) = offer.kind {
                self.remember(from as isize - at as isize);
            }
            at += offer.len;
            new_from = at;
        }
        self.write_out(new_from, at, &mut parse);
        parse
    }

    /// Remembers a distance that a copy came from, in place of the oldest.
    fn remember(&mut self, distance: isize) {
        if !self.distances.contains(&distance) {
            self.distances = [0, distance, self.distances[1], self.distances[2]];
            self.same_until = [
                self.same_until[0],
                0,
                self.same_until[1],
                self.same_until[2],
            ];
        }
    }

    fn write_out(&self, from: usize, to: usize, parse: &mut Parse) {
        if to > from {
            parse.push(Token {
                at: from,
                len: to - from,
                kind: Kind::Literal,
                bits: KIND + integer(to - from) + self.literals.prices(&self.read[from..to]),
            });
        }
    }

    /// What the end of a stretch costs: nothing much at the end of the read or of a piece.
    fn end(&self, at: usize, source_end: Option<usize>) -> f64 {
        if at == self.read.len() {
            return 1.0;
        }
        let mut bits = place(at, self.read.len()) + 1.0;
        if source_end.is_some_and(|end| self.index.is_end(end)) {
            bits = bits.min(2.0);
        }
        if self.index.is_start(at) || self.index.is_end(at) {
            bits = bits.min(self.index.boundary());
        }
        bits
    }

    fn best(&mut self, at: usize) -> Option<Offer> {
        let rest = &self.read[at..];
        let mut best: Option<Offer> = None;
        let mut longest = 0;
        let mut offer = |parser: &Self, len: usize, kind: Kind, bits: f64| {
            longest = longest.max(len);
            let saves = parser.literal(at, at + len) - bits;
            if len > 0 && best.is_none_or(|best| saves > best.saves) {
                best = Some(Offer {
                    len,
                    kind,
                    bits,
                    saves,
                });
            }
            longest
        };
        let mut reach = 0;
        for n in 0..self.distances.len() {
            let distance = self.distances[n];
            if n > 0 && distance == 0 {
                continue;
            }
            let Some(from) = at.checked_add_signed(distance) else {
                continue;
            };
            if self.same_until[n] <= at {
                let source = self.wanted.get(from..).unwrap_or(&[]);
                self.same_until[n] = at + common(source, rest);
            }
            let len = self.same_until[n] - at;
            let end = self.end(at + len, Some(from + len));
            reach = match n {
                0 => offer(self, len, Kind::Same, 1.0 + end),
                _ => offer(self, len, Kind::Copy(from), KIND + end),
            };
        }
        let byte = rest[0];
        if self.run_end <= at {
            self.run_end = at + rest.iter().take_while(|&&next| next == byte).count();
        }
        let len = self.run_end - at;
        if len >= LEAST_RUN {
            let which = match byte {
                0x00 | 0xFF => COMMON_BYTE,
                _ => ANY_BYTE,
            };
            let bits = KIND + which + self.end(at + len, None);
            reach = offer(self, len, Kind::Run(byte), bits);
        }
        if rest.len() < GRAM || reach >= LONG {
            return best;
        }
        for from in self.index.places(self.wanted, self.read, at, TRIES) {
            if from != at {
                let len = common(&self.wanted[from..], rest);
                let bits = KIND + self.source(from, at) + self.end(at + len, Some(from + len));
                offer(self, len, Kind::Copy(from), bits);
            }
        }
        if let Some((mut own, fed)) = self.own.take() {
            for earlier in fed..at {
                if earlier + GRAM <= self.read.len() {
                    own.put(self.read, earlier);
                }
            }
            for from in own.places(self.read, self.read, at, OWN_TRIES) {
                let len = common(&self.read[from..], rest);
                let end = self.end(at + len, None).min(integer(len));
                offer(self, len, Kind::Own(from), KIND + 1.0 + log2(at) + end);
            }
            self.own = Some((own, at));
        }
        best
    }

    /// Naming where a copy comes from: at a round distance, at a small one, from the start of a piece, or anywhere.
    fn source(&self, from: usize, at: usize) -> f64 {
        let distance = from.abs_diff(at);
        let any = log2(self.wanted.len());
        let round = 4.0 + (any - f64::from(distance.trailing_zeros())).max(0.0);
        let small = 3.0 + 2.0 * log2(distance + 1);
        let bits = (2.0 + any).min(round).min(small);
        match self.index.is_start(from) {
            true => bits.min(3.0 + log2(self.index.pieces())),
            false => bits,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;

    fn content(bytes: usize) -> Vec<u8> {
        Pattern::Random { seed: 5 }.image(bytes).unwrap()
    }

    fn told(wanted: &[u8], read: &[u8]) -> Vec<(usize, usize, Kind)> {
        let literals = Literals::of(read);
        let parse = parse(wanted, &Index::of(wanted), read, &literals);
        let mut end = 0;
        for token in &parse.tokens {
            assert_eq!(token.at, end, "the stretches follow one another");
            end += token.len;
        }
        assert_eq!(end, read.len());
        parse.tokens.iter().map(|t| (t.at, t.len, t.kind)).collect()
    }

    #[test]
    fn a_block_that_moved_is_one_copy() {
        let wanted = content(4096);
        let mut read = wanted.clone();
        read[0x800..0xA00].copy_from_slice(&wanted[0x200..0x400]);
        assert_eq!(
            told(&wanted, &read),
            [
                (0, 0x800, Kind::Same),
                (0x800, 0x200, Kind::Copy(0x200)),
                (0xA00, 0x600, Kind::Same)
            ]
        );
    }

    #[test]
    fn lost_bytes_shift_the_rest() {
        let wanted = content(4096);
        let mut read = wanted.clone();
        read.drain(1000..1017);
        read.resize(4096, 0xFF);
        assert_eq!(
            told(&wanted, &read),
            [
                (0, 1000, Kind::Same),
                (1000, 3079, Kind::Copy(1017)),
                (4079, 17, Kind::Run(0xFF))
            ]
        );
    }

    #[test]
    fn a_stranger_costs_what_it_costs_alone() {
        let (wanted, read) = (vec![0x12; 4096], content(4096));
        let literals = Literals::of(&read);
        let from_wanted = parse(&wanted, &Index::of(&wanted), &read, &literals).bits;
        let alone = alone(&read, &literals).bits;
        assert!((from_wanted - alone).abs() < 40.0, "{from_wanted} {alone}");
        assert!(alone > 8.0 * 4000.0);
    }

    #[test]
    fn a_read_that_repeats_costs_its_content_once() {
        let read = content(1024).repeat(4);
        let literals = Literals::of(&read);
        let once = alone(&content(1024), &literals).bits;
        assert!(alone(&read, &literals).bits < once + 100.0);
    }

    /// EVIDENCE: in place 1 + end; copy 3 + end and where from; literal 3 + int + literals; an end costs 1 at the read's end,
    /// 2 at a piece's end, else a place and 1.
    #[test]
    fn each_stretch_costs_what_the_page_says() {
        let bits = |wanted: &[u8], read: &[u8]| -> Vec<f64> {
            let literals = Literals::of(read);
            let parse = parse(wanted, &Index::of(wanted), read, &literals);
            let bits: Vec<f64> = parse.tokens.iter().map(|token| token.bits).collect();
            assert!((parse.bits - bits.iter().sum::<f64>()).abs() < 1e-9);
            bits
        };
        let close = |found: Vec<f64>, wanted: &[f64]| {
            let same = found.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-9);
            assert!(found.len() == wanted.len() && same, "{found:?} {wanted:?}");
        };
        let wanted = content(4096);
        close(bits(&wanted, &wanted), &[1.0 + 1.0]);
        // From a round distance: 4, and 12 less 9 bits of it.
        let mut read = wanted.clone();
        read[0x800..0xA00].copy_from_slice(&wanted[0x200..0x400]);
        let round = 4.0 + 3.0;
        let (to_0x800, to_0xa00) = (5.0 + 1.0, 4.0 + 3.0 + 1.0);
        let copy = 3.0 + round + to_0xa00;
        close(bits(&wanted, &read), &[1.0 + to_0x800, copy, 2.0]);
        // From one that is neither round nor small: 2 and 12. Its other end is no round place either.
        let mut read = wanted.clone();
        read[0x801..0xA01].copy_from_slice(&wanted[0x200..0x400]);
        let any = 13.0 + 1.0;
        close(bits(&wanted, &read), &[1.0 + any, 3.0 + 14.0 + any, 2.0]);
        // From two bytes further on: 3 + 2 log2 3.
        let read = [&wanted[..1001], &wanted[1003..]].concat();
        let small = 3.0 + 2.0 * 3f64.log2();
        let place = 1.0 + (read.len() as f64).log2();
        close(
            bits(&wanted, &read),
            &[1.0 + place + 1.0, 3.0 + small + 1.0],
        );
        // A distance that copies came from before needs no name.
        let mut again = wanted.clone();
        for at in [0x801, 0xC01] {
            again[at..at + 0x100].copy_from_slice(&wanted[at - 0x601..at - 0x501]);
        }
        let again = bits(&wanted, &again);
        close(
            again,
            &[1.0 + any, 3.0 + 14.0 + any, 1.0 + any, 3.0 + any, 2.0],
        );
        // New bytes cost their number, and each by how often it is in the read.
        let mut read = wanted.clone();
        let new: Vec<u8> = wanted[0x800..0x820]
            .iter()
            .map(|byte| byte ^ 0x77)
            .collect();
        read[0x800..0x820].copy_from_slice(&new);
        let literal = 3.0 + integer(32) + Literals::of(&read).prices(&new);
        close(bits(&wanted, &read), &[1.0 + to_0x800, literal, 2.0]);
    }

    /// A run costs 3 + 2 where it is of FF or 00, else 3 + 9; at a piece's end an end is cheap.
    #[test]
    fn runs_and_pieces_cost_what_the_page_says() {
        let mut wanted = vec![0xFF; 4096];
        wanted[0x123..0x345].copy_from_slice(&content(4096)[0x300..0x522]);
        let index = Index::of(&wanted);
        let bits = |read: &[u8]| -> Vec<(Kind, f64)> {
            let literals = Literals::of(&content(256));
            let parse = parse(&wanted, &index, read, &literals);
            parse
                .tokens
                .iter()
                .map(|token| (token.kind, token.bits))
                .collect()
        };
        // The only piece is elsewhere: where it starts costs 3, and its end 2, or 1 where all that follows is the same.
        let mut read = vec![0xFF; 4096];
        read[0x801..0xA23].copy_from_slice(&wanted[0x123..0x345]);
        let blank = (Kind::Run(0xFF), 3.0 + 2.0 + 13.0 + 1.0);
        let piece = |end: f64| (Kind::Copy(0x123), 3.0 + 3.0 + end);
        assert_eq!(bits(&read), [blank, piece(1.0)]);
        read[0xA23..].fill(0x00);
        let zeros = (Kind::Run(0x00), 3.0 + 2.0 + 1.0);
        assert_eq!(bits(&read), [blank, piece(2.0), zeros]);
        for (byte, which) in [(0x00, 2.0), (0xFF, 2.0), (0x5A, 9.0)] {
            // In place of all of the piece, up to one of its two boundaries, which cost 4.
            let mut read = wanted.clone();
            read[0x123..0x345].fill(byte);
            let run = |end: f64| (Kind::Run(byte), 3.0 + which + end);
            match byte {
                0xFF => assert_eq!(bits(&read), [run(1.0)]),
                _ => {
                    let same = |end: f64| (Kind::Same, 1.0 + end);
                    assert_eq!(bits(&read), [same(4.0), run(4.0), same(1.0)]);
                }
            }
        }
    }

    /// Out of itself: a copy of earlier bytes costs its place among them, and its length or its end.
    #[test]
    fn what_a_read_repeats_costs_its_place() {
        let read = content(1024).repeat(2);
        let literals = Literals::of(&read);
        let parse = alone(&read, &literals);
        let kinds: Vec<Kind> = parse.tokens.iter().map(|token| token.kind).collect();
        assert_eq!(kinds, [Kind::Literal, Kind::Own(0)]);
        let new = 3.0 + integer(1024) + literals.prices(&read[..1024]);
        assert!((parse.tokens[0].bits - new).abs() < 1e-9);
        assert!((parse.tokens[1].bits - (3.0 + 1.0 + 10.0 + 1.0)).abs() < 1e-9);
        let moves = parse.moves();
        assert_eq!((moves.new, moves.moved, moves.in_place), (1024, 0, 0));
        assert_eq!((moves.constant, moves.stretches), (0, 2));
        let short = [&read[..1060], &[0x5A; 60]].concat();
        let tokens = alone(&short, &literals).tokens;
        assert_eq!((tokens[1].kind, tokens[1].len), (Kind::Own(0), 36));
        // Its length is cheaper to say than where it ends: 1 + 2 log2 36.
        let bits = 3.0 + 1.0 + 10.0 + integer(36).min(place(1060, 1120) + 1.0);
        assert!((tokens[1].bits - bits).abs() < 1e-9);
    }

    /// Three FF in new content save a bit, which is not worth a token and another one for the rest; after a copy they are.
    #[test]
    fn a_short_run_in_new_content_is_new_content() {
        let wanted = Pattern::Random { seed: 5 }.image(1 << 16).unwrap();
        let literals = Literals::of(&[]);
        let kinds = |new: std::ops::Range<usize>, run: usize| -> Vec<Kind> {
            let mut read = wanted.clone();
            new.for_each(|at| read[at] ^= 0x55);
            read[run..run + 3].fill(0xFF);
            let parse = parse(&wanted, &Index::of(&wanted), &read, &literals);
            parse.tokens.iter().map(|token| token.kind).collect()
        };
        let (same, run, new) = (Kind::Same, Kind::Run(0xFF), Kind::Literal);
        assert_eq!(kinds(0x7001..0x7041, 0x7022), [same, new, same]);
        assert_eq!(kinds(0x7001..0x7041, 0x7001), [same, run, new, same]);
    }

    /// Content that looks the same everywhere must not cost the square of its length.
    #[test]
    fn repetitive_content_is_parsed_in_few_steps() {
        for period in [1usize, 2, 3, 7, 8, 64] {
            let wanted: Vec<u8> = (0..1 << 16).map(|n| (n % period * 37) as u8).collect();
            let mut read = wanted.clone();
            read.rotate_left(1);
            assert!(told(&wanted, &read).len() < 8, "period {period}");
        }
    }
}
