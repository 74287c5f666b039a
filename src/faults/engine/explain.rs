//! The order in which stories are tried: what is cheap to try first, and the rest only while it can still win.

use super::apply::Known;
use super::banks::tell_banks;
use super::cells::{tell_cells, tell_neighbours, tell_pages_left};
use super::edits::{Edited, tell_edits};
use super::ledger::{Ledger, Told};
use super::lengths::Lengths;
use super::lines::{LineSearch, tell_lines};
use super::rank::{Ranking, rank};
use super::reversed::tell_reversed;
use crate::faults::cost::{Literals, Size, Tally, leftover_bits, model_bits, story_bits};
use crate::faults::line_fault::LineFault;
use crate::faults::moves::{Index, Kind, Parse, Token, alone, differing, parse};
use crate::faults::story::{CellKind, Damage, Model, Story};
use crate::wiring::Width;

/// A chip has at least this many cells.
const LEAST_CHIP: usize = 16;
/// After a story that is cheaper than this and leaves nothing over, no second fault is tried.
const POOR: f64 = 60.0;
/// Fewer bytes than these are alike by chance.
const LEAST_IN_COMMON: usize = 32;
/// A copy or run that is not longer than this is part of new content, and not a block that has moved.
const SMALL_STRETCH: usize = 64;
/// Things that may have happened to the whole on which lines are looked for, the nearest of them.
const LAYERS: usize = 3;

/// The question: what turned `wanted` into the read of `known`?
pub(in crate::faults) struct Question<'a> {
    pub known: Known<'a>,
    pub wanted: &'a [u8],
    /// What the read says when it is taken as the text of a record file: places and bytes of the wanted image.
    pub text_says: &'a [(usize, Vec<u8>)],
    /// Whether lines are tried at all, and two at once.
    pub lines: bool,
    pub pairs: bool,
}

/// The answer, with what it costs to tell the read out of nothing.
pub(in crate::faults) struct Explained {
    pub ranking: Ranking,
    pub alone_bits: f64,
}

/// Something that may have happened to the whole, and how near its result is.
struct Layer {
    model: Model,
    bits: f64,
    wrong: usize,
}

impl Question<'_> {
    fn size(&self) -> Size {
        let bytes = self.known.read.len().max(self.wanted.len());
        Size {
            cells: bytes / self.known.width.bytes(),
            bytes,
            data_lines: self.known.width.lines().into(),
            others: self.known.others.len(),
            cousins: self.known.cousins.len(),
        }
    }

    /// Tells every story and ranks them.
    pub fn explain(&self) -> Explained {
        let (wanted, read) = (self.wanted, self.known.read);
        let size = self.size();
        let literals = Literals::of(read);
        let index = Index::of(wanted);
        let blocks = parse(wanted, &index, read, &literals);
        let alone_bits = alone(read, &literals).bits;
        let read_cells = self.known.width.cells(read);
        let mut ledger = Ledger::new(&read_cells, self.known.width, &literals);
        let nothing = Model::NothingInCommon;
        ledger.list(
            nothing.clone().into(),
            alone_bits + model_bits(&nothing, size),
        );
        self.moves(&mut ledger, &blocks, size);
        self.text(&mut ledger, size);

        let same_length = wanted.len() == read.len();
        let wanted_cells = self.known.width.cells(wanted);
        let cells_differ = wanted_cells
            .iter()
            .zip(&read_cells)
            .filter(|(a, b)| a != b)
            .count();
        let mut layers: Vec<(Model, f64)> = Vec::new();
        if same_length {
            tell_cells(&mut ledger, &wanted_cells, size);
            tell_banks(&mut ledger, wanted, read, &index, size);
            let on = Edited {
                wanted,
                read,
                index: &index,
                parse: &blocks,
                erased: self.known.erased,
                bits: model_bits(&Model::Edits(Vec::new()), size),
            };
            tell_edits(&mut ledger, &on, Story::from);
        } else {
            let lengths = Lengths {
                wanted,
                read,
                index: &index,
                parse: &blocks,
                literals: &literals,
                size,
            };
            layers.extend(lengths.models());
        }
        let damages = Damage::ALL.into_iter().map(Model::Transfer);
        let cousins = (0..self.known.cousins.len() as u8).map(Model::Cousin);
        let whole = damages.chain(cousins.filter(|_| !same_length));
        layers.extend(whole.map(|model| {
            let bits = model_bits(&model, size);
            (model, bits)
        }));
        let mut layers = self.hold_layers(&mut ledger, layers);

        if let Some(shape) = self
            .known
            .shape(read.len())
            .filter(|s| s.size() >= LEAST_CHIP && same_length)
        {
            let images = self.known.images(&wanted_cells, shape);
            let places: Vec<usize> = (0..read_cells.len())
                .filter(|&a| read_cells[a] != wanted_cells[a])
                .collect();
            tell_neighbours(&mut ledger, &images, &places, size);
            tell_pages_left(&mut ledger, &images, &places, size);
            if self.lines {
                let on = LineSearch {
                    images,
                    read,
                    size,
                    pairs: self.pairs,
                    base: None,
                };
                tell_lines(&mut ledger, &on);
                tell_reversed(&mut ledger, &images, size);
            }
            layers.extend(self.whole_images(&wanted_cells, &read_cells, size));
        }
        if self.lines {
            self.lines_on_layers(&mut ledger, layers, cells_differ, same_length);
        }
        let length = read_cells.len().abs_diff(wanted_cells.len());
        Explained {
            ranking: rank(ledger, &blocks, cells_differ + length, same_length),
            alone_bits,
        }
    }

    fn moves(&self, ledger: &mut Ledger, blocks: &Parse, size: Size) {
        let moves = blocks.moves();
        // When all of the wanted image is there in its order, what is new came in between and is told.
        let mut next = 0;
        let in_order = blocks.tokens.iter().all(|token| match token.kind {
            Kind::Same | Kind::Copy(_) => {
                let from = match token.kind {
                    Kind::Copy(from) => from,
                    _ => token.at,
                };
                let follows = from == next;
                next += token.len;
                follows
            }
            _ => true,
        });
        let whole = in_order && next == self.wanted.len();
        // So little of it is wanted that it has nothing in common, and that story is there already.
        if moves.in_place + moves.moved < LEAST_IN_COMMON {
            return;
        }
        let model = Model::Moves(moves);
        let bits = blocks.bits + model_bits(&model, size);
        // If nearly everything is in its place and the rest is in small stretches, these are new content.
        let small = |token: &Token| token.kind == Kind::Same || token.len <= SMALL_STRETCH;
        let same_length = self.wanted.len() == self.known.read.len();
        let in_place = moves.in_place * 4 >= self.known.read.len() * 3;
        if same_length
            && in_place
            && blocks
                .tokens
                .iter()
                .all(|token| small(token) || token.kind == Kind::Literal)
        {
            ledger.list(Model::Cells(CellKind::Rewritten).into(), bits);
            return;
        }
        ledger.add(Told {
            story: model.into(),
            bits,
            wrong: if whole { 0 } else { moves.new },
            left: None,
            print: None,
            list: false,
            passenger: false,
        });
    }

    /// The read as the text of a record file, when its records say what is wanted.
    fn text(&self, ledger: &mut Ledger, size: Size) {
        let (mut should, mut is) = (Vec::new(), Vec::new());
        for (at, bytes) in self.text_says {
            let Some(wanted) = self
                .wanted
                .get(*at..)
                .and_then(|rest| rest.get(..bytes.len()))
            else {
                return;
            };
            should.extend(wanted.iter().map(|&byte| u16::from(byte)));
            is.extend(bytes.iter().map(|&byte| u16::from(byte)));
        }
        if should.len() < LEAST_CHIP {
            return;
        }
        let mut tally = Tally::new(ledger.literals, Width::Eight);
        tally.take(&should, &is);
        let left = leftover_bits(&tally);
        let bits = model_bits(&Model::RecordText, size) + left.map_or(0.0, |(_, bits)| bits);
        ledger.add(Told {
            story: Model::RecordText.into(),
            bits,
            wrong: tally.wrong,
            left: left.map(|(kind, _)| kind),
            print: None,
            list: false,
            passenger: false,
        });
    }

    /// Compares each with the read, and remembers how near it comes.
    fn hold_layers(&self, ledger: &mut Ledger, layers: Vec<(Model, f64)>) -> Vec<Layer> {
        let mut held = Vec::new();
        for (model, bits) in layers {
            let Some(made) = self.known.made(self.wanted, &model) else {
                continue;
            };
            let untouched = made == self.wanted;
            let made = self.to_length(made);
            if untouched || made.is_empty() {
                continue;
            }
            ledger.hold_bytes(bits, &made, || model.clone().into());
            let wrong = differing(&made, self.known.read);
            held.push(Layer { model, bits, wrong });
        }
        held
    }

    /// What a chip of the read's size shows of a file: cut off, or filled up with erased bytes.
    fn to_length(&self, mut made: Vec<u8>) -> Vec<u8> {
        if self.known.read.len() == self.wanted.len() {
            made.resize(self.wanted.len(), self.known.erased);
        }
        match made.len() == self.known.read.len() {
            true => made,
            false => Vec::new(),
        }
    }

    /// Everything that says what each cell reads and is not a line fault: a line may be bad as well.
    fn whole_images(&self, wanted: &[u16], read: &[u16], size: Size) -> Vec<Layer> {
        let Some(shape) = self.known.shape(self.wanted.len()) else {
            return Vec::new();
        };
        let images = self.known.images(wanted, shape);
        let mut models = vec![Model::BitsReversed, Model::AllInverted];
        for lanes in [2u8, 4] {
            if self.wanted.len() >= usize::from(lanes) {
                models.push(Model::LanesSwapped { lanes });
            }
        }
        models.push(Model::NotBlank);
        models.extend((0..self.known.others.len() as u8).map(Model::OtherImage));
        models.extend((0..self.known.cousins.len() as u8).map(Model::Cousin));
        let layers = models.into_iter().filter_map(|model| {
            let predicted = images.predicted(&model, None)?;
            let wrong = (0..read.len()).filter(|&a| predicted(a) != read[a]).count();
            let bits = model_bits(&model, size);
            Some(Layer { model, bits, wrong })
        });
        layers.collect()
    }

    /// A line fault on top of what changed the whole, where nothing simpler has been found.
    fn lines_on_layers(
        &self,
        ledger: &mut Ledger,
        mut layers: Vec<Layer>,
        cells_differ: usize,
        same_length: bool,
    ) {
        ledger.sort();
        let settled = ledger
            .told
            .first()
            .is_some_and(|best| best.wrong == 0 && best.bits <= POOR);
        if settled {
            return;
        }
        let plain = match same_length {
            true => cells_differ * self.known.width.bytes(),
            false => usize::MAX,
        };
        let size = self.size();
        layers.sort_by_key(|layer| layer.wrong);
        layers.truncate(LAYERS);
        for layer in layers {
            let hopeless = layer.wrong >= self.known.read.len() * 3 / 4 || layer.wrong >= plain;
            if layer.wrong == 0 || hopeless {
                continue;
            }
            let Some(made) = self.known.made(self.wanted, &layer.model) else {
                continue;
            };
            let made = self.to_length(made);
            if made.is_empty() {
                continue;
            }
            let extra = layer.bits - model_bits(&layer.model, size);
            let cells = self.known.width.cells(&made);
            match self
                .known
                .shape(made.len())
                .filter(|shape| shape.size() >= LEAST_CHIP)
            {
                Some(shape) => {
                    let on = LineSearch {
                        images: self.known.images(&cells, shape),
                        read: self.known.read,
                        size,
                        pairs: false,
                        base: Some((layer.model, extra)),
                    };
                    tell_lines(ledger, &on);
                }
                None => tell_data_lines(ledger, &cells, &layer.model, extra, size),
            }
        }
    }
}

/// Data lines on a length that no chip has.
fn tell_data_lines(ledger: &mut Ledger, cells: &[u16], base: &Model, extra: f64, size: Size) {
    for fault in LineFault::all(size.data_lines as u8) {
        let story = Story::two(base.clone(), Model::Data(fault));
        let bits = story_bits(&story, size) + extra;
        ledger.hold(bits, &|a| fault.apply(usize::from(cells[a])) as u16, || {
            story
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::Pattern;
    use crate::faults::verdict::Verdict;

    fn noise(seed: u32, bytes: usize) -> Vec<u8> {
        Pattern::Random { seed }.image(bytes).unwrap()
    }

    fn question<'a>(wanted: &'a [u8], read: &'a [u8]) -> Question<'a> {
        Question {
            known: Known {
                read,
                width: Width::Eight,
                erased: 0xFF,
                cells: None,
                old: None,
                others: Vec::new(),
                cousins: Vec::new(),
            },
            wanted,
            text_says: &[],
            lines: true,
            pairs: false,
        }
    }

    /// What the stretches of a read alone tell, apart from every other story.
    fn moves(wanted: &[u8], read: &[u8]) -> Option<Told> {
        let question = question(wanted, read);
        let literals = Literals::of(read);
        let blocks = parse(wanted, &Index::of(wanted), read, &literals);
        let cells = Width::Eight.cells(read);
        let mut ledger = Ledger::new(&cells, Width::Eight, &literals);
        question.moves(&mut ledger, &blocks, question.size());
        assert!(ledger.told.len() <= 1);
        if let Some(told) = ledger.told.first() {
            // The parse costs 4 bits more than its stretches.
            assert_eq!(told.bits, blocks.bits + 4.0);
        }
        ledger.told.pop()
    }

    #[test]
    fn new_bytes_among_all_of_the_image_are_explained() {
        let (wanted, new) = (noise(1, 2048), noise(2, 400));
        let left = |read: &[u8]| moves(&wanted, read).map(|told| told.wrong);
        let put_in = [&wanted[..700], &new[..100], &wanted[700..]].concat();
        assert_eq!(left(&put_in), Some(0));
        // Not where some of the image is missing, or in another order.
        let cut = [&wanted[..700], &new[..100], &wanted[700..1500]].concat();
        assert_eq!(left(&cut), Some(100));
        let lacks = [&wanted[..700], &new[..100], &wanted[900..]].concat();
        assert_eq!(left(&lacks), Some(100));
        let turned = [&wanted[700..], &new[..100], &wanted[..700]].concat();
        assert_eq!(left(&turned), Some(100));
        let doubled = [&wanted[..700], &new[..100], &wanted[..1348], &wanted[700..]].concat();
        assert_eq!(left(&doubled), Some(100));
    }

    #[test]
    fn a_few_bytes_in_common_are_chance() {
        let (wanted, new) = (noise(1, 2048), noise(2, 2048));
        let with = |bytes: usize| {
            let mut read = new.clone();
            read[1000..1000 + bytes].copy_from_slice(&wanted[300..300 + bytes]);
            moves(&wanted, &read).is_some()
        };
        assert!(!with(24) && with(40));
    }

    /// Three quarters in their place and the rest in small stretches: new content. A larger block is a block.
    #[test]
    fn small_stretches_are_new_content() {
        let wanted = noise(1, 4096);
        let read_with = |block: usize| {
            let mut read = wanted.clone();
            read[500..520].copy_from_slice(&noise(2, 20));
            read[2000..2000 + block].copy_from_slice(&wanted[3000..3000 + block]);
            read
        };
        let is_version = |read: &[u8]| {
            let told = moves(&wanted, read).unwrap();
            told.story.first == Model::Cells(CellKind::Rewritten)
        };
        assert!(is_version(&read_with(64)));
        assert!(!is_version(&read_with(65)));
        let mut new = wanted.clone();
        new[1000..1990].copy_from_slice(&noise(3, 990));
        assert!(is_version(&new));
        new[1000..2040].copy_from_slice(&noise(3, 1040));
        assert!(!is_version(&new), "more than a quarter is new");
        new.truncate(4095);
        assert!(!is_version(&new));
    }

    /// A story that is no line is found too when a few cells are wrong beside it.
    #[test]
    fn whole_chips_with_a_few_wrong_cells() {
        let wanted = noise(1, 2048);
        let wrong = |mut read: Vec<u8>| {
            for at in [100, 900, 1777] {
                read[at] ^= 0x24;
            }
            let ranking = question(&wanted, &read).explain().ranking;
            let best = ranking.told.into_iter().next().unwrap();
            assert_eq!((best.wrong, ranking.verdict), (3, Verdict::Likely));
            best.story
        };
        let read = |cell: &dyn Fn(usize) -> u8| (0..2048).map(cell).collect::<Vec<u8>>();
        let inverted = wrong(read(&|a| !wanted[a]));
        assert_eq!(inverted, Model::AllInverted.into());
        let reversed = wrong(read(&|a| wanted[a].reverse_bits()));
        assert_eq!(reversed, Model::BitsReversed.into());
        let lanes = wrong(read(&|a| wanted[a ^ 3]));
        assert_eq!(lanes, Model::LanesSwapped { lanes: 4 }.into());
        let smaller = wrong(read(&|a| wanted[a & 0x3FF]));
        assert!(
            matches!(smaller.first, Model::Smaller { lines: 10, .. }),
            "{smaller:?}"
        );
    }

    /// The records of a text say what is wanted, or most of it; all of it must be of this image.
    #[test]
    fn a_record_text_is_known_by_what_it_says() {
        let wanted = noise(1, 1024);
        let read = noise(2, 3000);
        let told = |says: &[(usize, Vec<u8>)]| {
            let mut question = question(&wanted, &read);
            question.text_says = says;
            let literals = Literals::of(&read);
            let cells = Width::Eight.cells(&read);
            let mut ledger = Ledger::new(&cells, Width::Eight, &literals);
            question.text(&mut ledger, question.size());
            ledger.told.pop()
        };
        let says = |at: usize, bytes: usize| (at, wanted[at..at + bytes].to_vec());
        let all = told(&[says(0, 500), says(500, 524)]).unwrap();
        assert_eq!((all.bits, all.wrong), (6.0, 0));
        assert!(told(&[says(8, 16)]).is_some() && told(&[says(8, 15)]).is_none());
        assert!(
            told(&[says(0, 500), (1020, vec![0; 5])]).is_none(),
            "beyond the end"
        );
        let mut other = says(0, 500);
        other.1[77] ^= 0x10;
        let other = told(&[other]).unwrap();
        assert!((other.wrong, other.left.is_some()) == (1, true) && other.bits > 6.0);
    }

    /// A line on top of what happened to the whole: an inverted image, half of it, a header.
    #[test]
    fn lines_on_what_happened_to_the_whole() {
        let wanted = noise(1, 2048);
        let answer = |read: &[u8]| {
            let ranking = question(&wanted, read).explain().ranking;
            let best = &ranking.told[0];
            (best.story.clone(), best.wrong, ranking.verdict)
        };
        let (low, d3) = (LineFault::StuckLow(4), LineFault::StuckLow(3));
        let line = Model::reading(low);
        let through =
            |image: &[u8]| -> Vec<u8> { (0..image.len()).map(|a| image[a & !16]).collect() };
        let inverted: Vec<u8> = through(&wanted).iter().map(|byte| !byte).collect();
        let both = Story::two(Model::AllInverted, line.clone());
        assert_eq!(answer(&inverted), (both, 0, Verdict::Certain));
        let half = crate::faults::Length::Part { n: 0, of: 2 };
        let cut = Story::two(Model::Length(half), line);
        assert_eq!(
            answer(&through(&wanted[..1024])),
            (cut, 0, Verdict::Certain)
        );
        let header = [&noise(2, 100)[..], &wanted].concat();
        let header: Vec<u8> = header.iter().map(|byte| byte & 0xF7).collect();
        let front = Model::Length(crate::faults::Length::InFront);
        let both = Story::two(front, Model::Data(d3));
        assert_eq!(answer(&header), (both, 0, Verdict::Certain));
        // Where lines are not asked for there are none.
        let mut lists = question(&wanted, &inverted);
        lists.lines = false;
        let told = lists.explain().ranking.told;
        assert!(
            told.iter()
                .all(|told| !told.story.models().any(Model::is_line))
        );
    }
}
