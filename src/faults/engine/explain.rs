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
