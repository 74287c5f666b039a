//! The files that a verdict can be made into: a page, and a picture of the differences.

use super::pages::{page_name, page_of_each, put_page};
use super::read_chip::{ReadChip, Wanted};
use crate::cli::bench::{Argument, Bench, Blame, MessageKind, Stop};
use crate::cli::report::{DiagnosisReport, DifferenceMap, SetReport, VerdictPage, plural};

/// The files that were asked for, each with its argument.
#[derive(Clone, Copy)]
pub(super) struct VerdictFiles<'a> {
    pub picture: Option<(&'a str, Argument)>,
    pub sheet: Option<(&'a str, Argument)>,
}

/// What they are made of: one chip, as it was read and as it should be.
pub(super) struct VerdictOn<'a> {
    /// Its piece on the bench, and its number among those that the step works on.
    pub piece: (usize, usize),
    pub chip: &'a ReadChip,
    pub wanted: &'a Wanted,
    /// What was read, or the majority of several reads.
    pub read: &'a [u8],
    pub report: &'a DiagnosisReport,
    pub set: Option<&'a SetReport>,
}

impl<'a> VerdictFiles<'a> {
    fn all(self) -> impl Iterator<Item = (&'a str, Argument, &'static str, &'static str)> {
        let picture = self
            .picture
            .map(|(name, own)| (name, own, "svg", "a picture"));
        let sheet = self.sheet.map(|(name, own)| (name, own, "html", "a page"));
        picture.into_iter().chain(sheet)
    }

    /// Those of them that have one name.
    pub fn outputs(self) -> Vec<(Argument, &'a str)> {
        let named = self.all();
        named
            .filter_map(|(name, own, ..)| Some((own, page_name(name)?)))
            .collect()
    }

    /// Checks the names.
    ///
    /// # Errors
    /// Another extension than .svg and .html, and words in braces that mean nothing.
    pub fn check(self) -> Result<(), Stop> {
        for (name, own, extension, what) in self.all() {
            page_of_each(name, &[extension], what).blame(own)?;
        }
        Ok(())
    }

    /// Checks that each of several chips gets a file of its own.
    ///
    /// # Errors
    /// Several chips and one name.
    pub fn check_for(self, chips: usize) -> Result<(), Stop> {
        for (name, own, extension, what) in self.all() {
            if chips > 1 && !page_of_each(name, &[extension], what)?.is_of_each() {
                return Err(
                    Stop::trouble(format!("there are {chips} chips but one name"))
                        .advise("put {name} into it, or choose one with --on")
                        .at(own),
                );
            }
        }
        Ok(())
    }

    /// Makes the files of one chip.
    ///
    /// # Errors
    /// What is wrong with a file's place; and a picture that can't be drawn, where nothing but that was asked for.
    pub fn make(self, bench: &mut Bench, on: &VerdictOn) -> Result<(), Stop> {
        let (chip, report) = (on.chip, on.report);
        let blamed: Vec<String> = report
            .lines_to_look_at()
            .into_iter()
            .map(|(line, _)| line)
            .collect();
        let drawing = DifferenceMap::new(&on.wanted.bytes, on.read, chip.width(), blamed);
        let name = report.reads.join(", ");
        if let Some((picture, own)) = self.picture {
            match &drawing {
                Some(drawing) => {
                    let title = format!("{name} against {}", on.wanted.name);
                    let svg = drawing.svg(&title, finding(report).as_deref());
                    let file = file_of(bench, picture, on).blame(own)?;
                    put_page(bench, &file, &svg, format!("picture of {name}")).blame(own)?;
                }
                None => cannot_draw(bench, on, own)?,
            }
        }
        if let Some((sheet, own)) = self.sheet {
            let page = VerdictPage {
                report,
                part: chip.part.as_ref(),
                drawing: drawing.as_ref(),
                set: on.set,
            };
            let file = file_of(bench, sheet, on).blame(own)?;
            put_page(bench, &file, &page.html(), format!("verdict on {name}")).blame(own)?;
        }
        Ok(())
    }
}

fn file_of(bench: &Bench, name: &str, on: &VerdictOn) -> Result<String, Stop> {
    let (piece, n) = on.piece;
    let name = page_of_each(name, &["svg", "html"], "a page")?;
    name.of(&bench.pieces[piece], n)
}

/// A chip of a set without a picture is reported, and the others get theirs; for one chip alone it is an error.
fn cannot_draw(bench: &Bench, on: &VerdictOn, own: Argument) -> Result<(), Stop> {
    let fact = format!(
        "a picture shows two images of one size, but the read has {}, the wanted image {}",
        plural(on.read.len() as u64, "byte"),
        plural(on.wanted.bytes.len() as u64, "byte"),
    );
    match on.set {
        Some(_) => {
            let text = format!("{}: no picture: {fact}", on.report.reads.join(", "));
            bench.console.say(MessageKind::Note, &text);
            Ok(())
        }
        None => Err(Stop::trouble(fact)
            .advise("both must have the same size, a power of two; --sheet makes a page without a picture")
            .at(own)),
    }
}

/// The first finding, and how many read the same.
fn finding(report: &DiagnosisReport) -> Option<String> {
    match &report.candidates.first()?.equals[..] {
        [] => None,
        [one] => Some(one.finding.clone()),
        [one, more @ ..] => Some(format!(
            "{}, or one of {} more that read the same",
            one.finding,
            more.len()
        )),
    }
}
