//! `diagnose`: what is wrong with a chip, its socket or a transfer.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Step;
use super::chip_set::{ChipOfSet, PiecesAre, add_old, chips_of_set, diagnosed};
use super::common::{Extent, Json, On, extent, noun_of};
use super::pattern::Variant;
use super::read_chip::{ReadChip, Wanted, cousins, image_of, known, text_says, wanted_of};
use super::references::{FILE_OF_EACH, References, check_reference, is_of_each};
use super::verdict_files::{VerdictFiles, VerdictOn};
use super::vote::{reads, shared_part};
use crate::cli::bench::{Argument, Bench, Blame, MessageKind, Stop, argument};
use crate::cli::report::{self, AloneAnswer, AloneReport, DiagnosisReport, WiringAnswer, plural};
use crate::faults::alone::{alone, banks, banks_of, stored_sums};
use crate::faults::recovery::{RecoveryError, recover};
use crate::faults::{self, Case, CaseError, Pattern, Verdict};
use crate::parts::Catalogue;

/// Say what may be wrong with a chip, from what was read
#[derive(Args, Debug)]
pub struct DiagnoseArgs {
    /// What the chip should contain; with [`FILE_OF_EACH`] each piece has its own
    #[arg(long, value_name = "FILE", help = format!("What the chip should contain; {FILE_OF_EACH}"))]
    wanted: Option<PathBuf>,
    /// What was read of each chip, when the bench has the wanted images; with [`FILE_OF_EACH`]
    #[arg(long, value_name = "FILE", conflicts_with_all = ["wanted", "pattern", "second", "recover_wiring", "others"],
        help = format!("What was read, when the bench has the wanted images; {FILE_OF_EACH}"))]
    read: Option<PathBuf>,
    /// It should contain this pattern (see `pattern`), as large as the read
    #[arg(long, value_name = "KIND", conflicts_with = "wanted")]
    pattern: Option<Pattern>,
    #[command(flatten)]
    variant: Variant,
    /// A second image and what was read of it, with the same fault
    #[arg(long, num_args = 2, value_names = ["WANTED", "READ"])]
    second: Vec<PathBuf>,
    /// The part, for its pins and cells [default: the one the piece is seated in]
    #[arg(long, value_name = "PART")]
    part: Option<String>,
    /// What the chip contained before it was burned; with [`FILE_OF_EACH`] each piece has its own
    #[arg(long, value_name = "FILE", help = format!("What the chip contained before it was burned; {FILE_OF_EACH}"))]
    old: Option<PathBuf>,
    /// The image of another chip of the set; may be given several times
    #[arg(long = "other", value_name = "FILE")]
    others: Vec<PathBuf>,
    /// Try single faults only, not two at once
    #[arg(long)]
    singles: bool,
    /// Find how address and data lines must be swapped and inverted to turn the wanted image into the read
    #[arg(long, conflicts_with_all = ["singles", "old", "others", "second"])]
    recover_wiring: bool,
    /// Print only the `rewire` step that undoes the wiring
    #[arg(long, requires = "recover_wiring", conflicts_with = "json")]
    step_only: bool,
    /// Without --wanted: divide the read into banks of this size [default: the most likely size]
    #[arg(long, value_name = "SIZE", value_parser = extent, conflicts_with_all = ["wanted", "pattern"])]
    bank_size: Option<Extent>,
    /// Without --wanted: look for checksums of each bank, or of the whole, that are stored in it
    #[arg(long, conflicts_with_all = ["wanted", "pattern"])]
    sums_of_banks: bool,
    /// Draw where the read differs from what is wanted; with {name} in the file name a set gets a picture for each chip
    #[arg(long, value_name = "FILE.svg")]
    picture: Option<String>,
    /// Write the verdict as a page to print, with the picture; with {name} in the file name a set gets a page for each chip
    #[arg(long, value_name = "FILE.html")]
    sheet: Option<String>,
    #[command(flatten)]
    json: Json,
    #[command(flatten)]
    on: On,
}

impl Step for DiagnoseArgs {
    const NAME: &'static str = "diagnose";
    const ABOUT: &'static str = "say what may be wrong with a chip, from what was read";
    const SENTENCE: &'static str = "Says what may be wrong with a chip, from what was read of it.";
    const HELP: &'static str = "\
One piece is one read. Several pieces, loaded with --apart, are several reads of one chip, and their majority is \
explained. Every story that turns what was wanted into what was read has a cost in bits: bad address and data lines, while \
burning or reading, cells, blocks and banks in other places, other lengths, damage by a transfer, another \
version, another chip. The cheapest story is the answer, with how sure it is: certain, likely or open. Stories that read the \
same are one answer. Without --wanted it says what the read alone shows.

--wanted 'want-{name}.bin' compares each piece with a file of its own: a set of chips, with a verdict for each and one for \
all. With --read 'read-{name}.bin' the pieces on the bench are what is wanted, such as the chips that `seat` made.

The part, from --part or from `seat`, gives pin numbers, and says what happens to cells that are written twice. Exit code 1 \
when something is wrong; the run goes on. With --recover-wiring, 1 when no wiring is found, or one that leaves bytes \
over or a data line dead. \
docs/diagnosis.md says what each verdict means at the bench.";
    const EXAMPLE: &'static str = "\
$ romloom load a7-low.bin + diagnose --pattern telltale --part 2716
? 1
a7-low against the pattern telltale: 1,024 of 2,048 bytes differ, in 3,072 bits
Finding
  The chip sees A7 as 0 everywhere.
  This is certain.
Because
  That explains all 1,024 differences and contradicts none of the 1,024 equal
  bytes.
  The next story is 155 bits less likely: The read consists of 16 stretches:
  1,024 bytes are in their place, 1,024 from elsewhere in the image.
Look next
  Check pin 1 and its socket contact. Read again: if the bytes change between
  reads, the pin has no contact.
";

    fn check(&self, parts: &Catalogue) -> Result<(), Stop> {
        if let Some(name) = &self.part {
            parts.find(name).blame(argument!(self.part))?;
        }
        let size = self.bank_size.as_ref().map(|size| size.bytes(parts));
        size.transpose().blame(argument!(self.bank_size))?;
        match self.pattern {
            Some(kind) => self.variant.of(kind).map(|_| ())?,
            None if self.variant.pass.is_some() || self.variant.seed.is_some() => {
                let argument = match self.variant.pass {
                    Some(_) => argument!(self.variant.pass),
                    None => argument!(self.variant.seed),
                };
                return Err(Stop::trouble("--pass and --seed belong to --pattern").at(argument));
            }
            None => {}
        }
        let needs_wanted = [
            ("--second", !self.second.is_empty(), argument!(self.second)),
            ("--old", self.old.is_some(), argument!(self.old)),
            ("--other", !self.others.is_empty(), argument!(self.others)),
            (
                "--recover-wiring",
                self.recover_wiring,
                argument!(self.recover_wiring),
            ),
            ("--picture", self.picture.is_some(), argument!(self.picture)),
            ("--sheet", self.sheet.is_some(), argument!(self.sheet)),
        ];
        let files = [
            (self.wanted.as_deref(), argument!(self.wanted)),
            (self.read.as_deref(), argument!(self.read)),
            (self.old.as_deref(), argument!(self.old)),
        ];
        for (file, argument) in files {
            file.map_or(Ok(()), check_reference).blame(argument)?;
        }
        self.files().check()?;
        if self.read.is_some() {
            return Ok(());
        }
        if self.wanted.is_none() && self.pattern.is_none() {
            if let Some((option, _, argument)) = needs_wanted.iter().find(|(_, given, _)| *given) {
                return Err(
                    Stop::trouble(format!("{option} needs what the chip should contain"))
                        .advise("add --wanted FILE or --pattern KIND")
                        .at(*argument),
                );
            }
        }
        Ok(())
    }

    fn outputs(&self) -> Vec<(Argument, &str)> {
        self.files().outputs()
    }

    fn run(&self, bench: &mut Bench) -> Result<(), Stop> {
        if self.is_set() {
            return self.set(bench);
        }
        let chosen = bench.chosen(&self.on.only)?;
        let reads = reads(bench, &chosen, false)?;
        let part = match &self.part {
            Some(name) => {
                let part = bench.parts.find(name).blame(argument!(self.part))?;
                Some(part.clone())
            }
            None => shared_part(bench, &chosen),
        };
        let chip = ReadChip { reads, part };
        chip.check_size(bench);
        match self.wanted(bench, &chip)? {
            None => self.alone(bench, &chip),
            Some(wanted) if self.recover_wiring => self.wiring(bench, &chip, &wanted),
            Some(wanted) => self.against(bench, &chip, &wanted),
        }
    }
}

impl DiagnoseArgs {
    /// The argument that says what the chip should contain.
    fn against_what(&self) -> Argument {
        match self.pattern {
            Some(_) => argument!(self.pattern),
            None => argument!(self.wanted),
        }
    }

    fn wanted(&self, bench: &mut Bench, chip: &ReadChip) -> Result<Option<Wanted>, Stop> {
        if let Some(kind) = self.pattern {
            let pattern = self.variant.of(kind)?;
            return Ok(Some(Wanted {
                name: format!("the pattern {pattern}"),
                bytes: pattern
                    .image(chip.first_read().len())
                    .blame(argument!(self.pattern))?,
                filler: Vec::new(),
            }));
        }
        let Some(file) = &self.wanted else {
            return Ok(None);
        };
        let first = chip.reads.first;
        let wanted = wanted_of(bench, file, first, chip.first_read(), chip);
        Ok(Some(wanted.blame(argument!(self.wanted))?))
    }

    /// Whether each piece is a chip of its own, and not one of several reads of one chip.
    fn is_set(&self) -> bool {
        self.read.is_some() || self.wanted.as_deref().is_some_and(is_of_each)
    }

    /// Every chip of a set, and then all of them.
    fn set(&self, bench: &mut Bench) -> Result<(), Stop> {
        let (file, argument, pieces) = match (&self.read, &self.wanted) {
            (Some(read), _) => (read, argument!(self.read), PiecesAre::Wanted),
            (None, Some(wanted)) => (wanted, argument!(self.wanted), PiecesAre::Read),
            (None, None) => return Ok(()),
        };
        for (given, argument, option) in [
            (!self.others.is_empty(), argument!(self.others), "--other"),
            (!self.second.is_empty(), argument!(self.second), "--second"),
            (
                self.recover_wiring,
                argument!(self.recover_wiring),
                "--recover-wiring",
            ),
        ] {
            if given {
                return Err(Stop::trouble(format!("{option} is about one chip, but this is a set"))
                    .advise("choose one chip with --on NAME and name its file; in a set each chip is compared with the others anyway")
                    .at(argument));
            }
        }
        let references = References::of(bench, file, &self.on).blame(argument)?;
        let chosen: Vec<usize> = references.found.iter().map(|(i, _)| *i).collect();
        let all = bench.chosen(&self.on.only)?;
        let noun = noun_of(bench, &all);
        self.files().check_for(chosen.len())?;
        let mut pairs = chips_of_set(bench, &references, pieces).blame(argument)?;
        if let Some(name) = &self.part {
            let part = bench.parts.find(name).blame(argument!(self.part))?.clone();
            for pair in &mut pairs {
                pair.chip.part.get_or_insert_with(|| part.clone());
            }
        }
        if let Some(old) = &self.old {
            let before = References::of(bench, old, &self.on).blame(argument!(self.old))?;
            let files: Vec<(usize, &Path)> = before
                .found
                .iter()
                .filter_map(|(i, file)| Some((chosen.iter().position(|n| n == i)?, file.as_path())))
                .collect();
            add_old(bench, &mut pairs, &files).blame(argument!(self.old))?;
        }
        let told = |case, pair: &ChipOfSet| self.told(case, &pair.chip, &pair.wanted);
        let report = diagnosed(&pairs, &told, references.unpaired, noun)
            .map_err(|stop| stop.at(argument))?;
        if !report.is_as_wanted() {
            bench.say_no();
        }
        for (n, pair) in pairs.iter().enumerate() {
            let piece = chosen[n];
            let on = VerdictOn {
                piece: (piece, all.iter().position(|i| *i == piece).unwrap_or(n)),
                chip: &pair.chip,
                wanted: &pair.wanted,
                read: pair.chip.first_read(),
                report: &report.chips[n],
                set: Some(&report),
            };
            self.files().make(bench, &on)?;
        }
        bench.console.report(&report, self.json.json);
        Ok(())
    }

    fn alone(&self, bench: &mut Bench, chip: &ReadChip) -> Result<(), Stop> {
        let reads = &chip.reads;
        let vote = match reads.bytes.len() {
            1 => None,
            _ => Some(reads.vote(chip.width(), None)?),
        };
        if let Some(vote) = &vote {
            self.refuse(reads.strangers(vote))?;
        }
        let read = vote.as_ref().map_or(chip.first_read(), |vote| &vote.image);
        let mut found = alone(read, chip.width());
        if let Some(part) = &chip.part {
            found.forget_data_lines_from(part.width);
        }
        let mut report = AloneReport::new(
            &reads.names,
            &found,
            vote.as_ref(),
            (read.len(), reads.first),
            known(chip, &[], &[]),
        );
        let banks = match &self.bank_size {
            None => banks(read),
            Some(size) => {
                let size = size.bytes(&bench.parts).blame(argument!(self.bank_size))?;
                let banks = usize::try_from(size)
                    .ok()
                    .and_then(|size| banks_of(read, size));
                let refused = || {
                    Stop::trouble(format!(
                        "{} is not a whole number of banks of {}",
                        plural(read.len() as u64, "byte"),
                        plural(size, "byte")
                    ))
                    .advise("give the size of one bank")
                    .at(argument!(self.bank_size))
                };
                Some(banks.ok_or_else(refused)?)
            }
        };
        if let Some(banks) = &banks {
            report.add_banks(banks);
        }
        if self.sums_of_banks {
            if let Some(banks) = &banks {
                let firsts = banks.distinct();
                let pieces: Vec<&[u8]> = firsts
                    .iter()
                    .map(|bank| &read[bank * banks.size..][..banks.size])
                    .collect();
                report.add_sums(&stored_sums(&pieces), banks.size, &firsts);
            }
            report.add_sums(&stored_sums(&[read]), read.len(), &[]);
        }
        if report.verdict != AloneAnswer::Sound {
            bench.say_no();
        }
        bench.console.report(&report, self.json.json);
        Ok(())
    }

    fn against(&self, bench: &mut Bench, chip: &ReadChip, wanted: &Wanted) -> Result<(), Stop> {
        let size = wanted.bytes.len();
        let first = chip.reads.first;
        let mut other_images = |file: &Path| image_of(bench, file, first, size, chip);
        let old = self.old.as_deref().map(&mut other_images).transpose();
        let old = old.blame(argument!(self.old))?;
        let others = self.others.iter().enumerate();
        let others: Vec<Vec<u8>> = others
            .map(|(i, f)| other_images(f).blame(argument!(self.others[i])))
            .collect::<Result<_, _>>()?;
        let mut case = Case::new(&wanted.bytes, chip.first_read());
        case = self.told(case, chip, wanted);
        let cousins = cousins(bench, chip, wanted);
        for (_, read) in &cousins {
            case = case.cousin(read);
        }
        for read in chip.reads.bytes.iter().skip(1) {
            case = case.another_read(read);
        }
        if let Some(old) = &old {
            case = case.old(old);
        }
        for other in &others {
            case = case.other(other);
        }
        let diagnosed = case.diagnose();
        if let Err(CaseError::DifferentContents { .. }) = diagnosed {
            let vote = chip.reads.vote(chip.width(), Some(&wanted.bytes))?;
            self.refuse(chip.reads.strangers(&vote))?;
        }
        let mut found = diagnosed.blame(self.against_what())?;
        if let [wanted, read] = &self.second[..] {
            let second = self.second(bench, chip, wanted, read)?;
            found = found.and(&second);
        }
        let wavers = found.vote.as_ref().is_some_and(|vote| !vote.unanimous());
        if found.verdict != Verdict::Same || wavers {
            bench.say_no();
        }
        let names: Vec<String> = self
            .others
            .iter()
            .map(|f| f.display().to_string())
            .collect();
        let cousin_names: Vec<String> = cousins.iter().map(|(name, _)| name.clone()).collect();
        let read = found
            .vote
            .as_ref()
            .map_or(chip.first_read(), |vote| &vote.image);
        let also = match self.second.first() {
            Some(second) => format!(" and {}", second.display()),
            None => String::new(),
        };
        let mut report = DiagnosisReport::new(
            &chip.reads.names,
            &(wanted.name.clone() + &also),
            &case,
            &found,
            read.len(),
            known(chip, &names, &cousin_names),
        );
        let told = found
            .story()
            .is_some_and(|story| story.predicts() && found.verdict != Verdict::Open);
        if found.verdict != Verdict::Same && !told {
            let wiring = recover(&wanted.bytes, read, chip.width()).ok();
            if let Some(wiring) = wiring.filter(|found| !found.wiring.is_straight()) {
                report.add_wiring(&wiring);
            }
        }
        let on = VerdictOn {
            piece: (bench.chosen(&self.on.only)?[0], 0),
            chip,
            wanted,
            read,
            report: &report,
            set: None,
        };
        self.files().make(bench, &on)?;
        bench.console.report(&report, self.json.json);
        Ok(())
    }

    /// Reads of different chips have no majority that could be explained.
    fn refuse(&self, strangers: Option<String>) -> Result<(), Stop> {
        match strangers {
            Some(fact) => Err(Stop::trouble(fact)
                .advise("choose the reads of one chip with --on, or one read at a time")
                .at(argument!(self.on.only))),
            None => Ok(()),
        }
    }

    /// The case with what the options and the part say.
    fn told<'a>(&self, mut case: Case<'a>, chip: &ReadChip, wanted: &Wanted) -> Case<'a> {
        case = case.width(chip.width()).erased(chip.erased());
        case = case.without_data(wanted.filler.clone());
        case = case.text_says(text_says(chip.first_read(), chip.reads.first));
        if let Some(cells) = chip.cells() {
            case = case.cells(cells);
        }
        match self.singles {
            true => case.singles_only(),
            false => case,
        }
    }

    fn second(
        &self,
        bench: &mut Bench,
        chip: &ReadChip,
        wanted: &Path,
        read: &Path,
    ) -> Result<faults::Diagnosis, Stop> {
        let size = chip.first_read().len();
        let first = chip.reads.first;
        let read = image_of(bench, read, first, size, chip).blame(argument!(self.second[1]))?;
        let wanted = image_of(bench, wanted, first, size, chip).blame(argument!(self.second[0]))?;
        let case = Case::new(&wanted, &read);
        Ok(self.told(case, chip, &Wanted::default()).diagnose()?)
    }

    fn wiring(&self, bench: &mut Bench, chip: &ReadChip, wanted: &Wanted) -> Result<(), Stop> {
        if chip
            .reads
            .bytes
            .iter()
            .any(|read| **read != *chip.first_read())
        {
            return Err(Stop::trouble("the reads differ")
                .advise("make one piece of them with `vote` first")
                .at(argument!(self.recover_wiring)));
        }
        let names = &chip.reads.names;
        let bytes = wanted.bytes.len();
        let report = match recover(&wanted.bytes, chip.first_read(), chip.width()) {
            Ok(found) => {
                let undo = super::rewire::undoing(&found.wiring);
                let (size, known) = ((bytes, chip.reads.first), known(chip, &[], &[]));
                if !found.is_exact() {
                    bench.say_no();
                }
                report::WiringReport::new(names, &wanted.name, size, &found, undo, known)
            }
            Err(error @ RecoveryError::Size { .. }) => {
                return Err(Stop::from(error).at(self.against_what()));
            }
            Err(error) => {
                bench.say_no();
                let why_not = report::advice::told(&error);
                report::WiringReport::none(names, &wanted.name, bytes, why_not)
            }
        };
        match (self.step_only, &report.undo) {
            (true, Some(undo)) => {
                bench.console.line(undo);
                if let Some(rest) = report.not_explained() {
                    let text = format!("the wiring is likely, but not certain: {rest}");
                    bench.console.say(MessageKind::Warning, &text);
                }
            }
            (true, None) if report.verdict == WiringAnswer::Straight && report.certain => {
                bench
                    .console
                    .say(MessageKind::Note, "all lines are straight: nothing to undo");
            }
            // The step on standard output will be run, so there must be nothing else.
            (true, None) => bench.console.report_instead(&report),
            (false, _) => bench.console.report(&report, self.json.json),
        }
        Ok(())
    }

    /// The page and the picture that were asked for.
    fn files(&self) -> VerdictFiles<'_> {
        VerdictFiles {
            picture: (self.picture.as_deref()).map(|name| (name, argument!(self.picture))),
            sheet: (self.sheet.as_deref()).map(|name| (name, argument!(self.sheet))),
        }
    }
}
