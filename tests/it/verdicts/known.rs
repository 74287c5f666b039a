//! What is known beside the two images: old contents, other chips, several reads, wide parts, damaged files.

use crate::support::broken::{
    self, Before, Cell, Chance, Fault, Kind, Mistake, Phase, World, flip,
};
use romloom::faults::{
    self, Case, CaseError, CaseImage, CellKind, Cells, Damage, LineFault, Model, Pattern, Verdict,
    Width,
};

fn random(lines: u32, seed: u32) -> Vec<u8> {
    Pattern::Random { seed }.image(1 << lines).unwrap()
}

fn stuck_low(line: u8) -> Model {
    Model::reading(LineFault::StuckLow(line))
}

#[test]
fn a_fault_and_a_few_wrong_bits_is_likely() {
    let image = random(14, 3);
    let fault = Fault::Address(Kind::Low(7), Phase::Reading);
    let read = flip(&fault.read(&image), 5, &mut Chance(1));
    let diagnosis = Case::new(&image, &read).diagnose().unwrap();
    assert_eq!(diagnosis.verdict, Verdict::Likely);
    let first = &diagnosis.candidates[0];
    assert!(first.equals.contains(&stuck_low(7).into()));
    assert_eq!(first.score.wrong(), 5);
}

#[test]
fn three_faults_are_not_explained() {
    let image = random(12, 3);
    let mut read = image.clone();
    for fault in [
        Fault::Address(Kind::Low(3), Phase::Reading),
        Fault::Address(Kind::WiredOr(5, 9), Phase::Reading),
        Fault::Data(Kind::Swapped(1, 6)),
    ] {
        read = fault.read(&read);
    }
    let case = Case::new(&image, &read);
    let diagnosis = case.diagnose().unwrap();
    // No story has three faults in it: at most that nothing known helps, and that is never certain.
    assert_ne!(diagnosis.verdict, Verdict::Certain);
    assert_eq!(diagnosis.story().unwrap().first, Model::NothingInCommon);
    assert!(diagnosis.to_settle(&case).is_some());
}

/// Two bytes differ, which is little; but they are those that unlock a chip, in the places where these go.
#[test]
fn unlock_bytes_that_were_stored_are_named() {
    for lines in [13, 15] {
        let image = random(lines, 8);
        let read = Fault::Mistake(Mistake::Unlock).read(&image);
        let diagnosis = Case::new(&image, &read).diagnose().unwrap();
        let last = image.len() - 1;
        let wanted = Model::UnlockStored {
            first: 0x5555 & last,
            second: 0x2AAA & last,
            command: 0xA0,
        };
        assert_eq!(diagnosis.story().unwrap().first, wanted);
        assert_eq!(diagnosis.verdict, Verdict::Certain);
    }
}

#[test]
fn a_damaged_file_in_a_bad_socket() {
    let image = random(12, 9);
    let file = Fault::Transfer {
        damage: broken::Damage::LfToCrLf,
        kept: true,
    }
    .read(&image);
    let read = Fault::Data(Kind::High(3)).read(&file);
    let diagnosis = Case::new(&image, &read).diagnose().unwrap();
    assert_eq!(diagnosis.verdict, Verdict::Certain);
    let found = &diagnosis.candidates[0].equals;
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].first, Model::Transfer(Damage::LfToCrLf));
    assert_eq!(found[0].second, Some(Model::Data(LineFault::StuckHigh(3))));
}

/// Transfers change lengths, so they are looked for before any line is.
#[test]
fn damaged_files_of_other_lengths() {
    let image = random(11, 4);
    for damage in broken::Damage::ALL.into_iter().take(8) {
        let read = damage.arrive(&image);
        if read == image {
            continue;
        }
        let diagnosis = Case::new(&image, &read).diagnose().unwrap();
        assert_eq!(diagnosis.verdict, Verdict::Certain, "{damage:?}");
        assert!(matches!(
            diagnosis.candidates[0].equals[0].first,
            Model::Transfer(_)
        ));
    }
    // A raw file of no chip's size, received by XMODEM.
    let file = &image[..1389];
    let read = broken::Damage::Tail1A.arrive(file);
    assert_eq!(read.len(), 1408);
    let diagnosis = Case::new(file, &read).diagnose().unwrap();
    assert_eq!(diagnosis.verdict, Verdict::Certain);
    let more = Case::new(file, &image).diagnose().unwrap();
    assert_eq!(more.verdict, Verdict::Likely);
    assert_eq!(
        more.story().unwrap().first,
        Model::Length(faults::Length::More)
    );
}

#[test]
fn what_the_chip_held_before() {
    let (image, old) = (random(12, 5), random(12, 6));
    let world = World {
        old: &old,
        ..World::default()
    };
    let read = Fault::Cell(Cell::NotBlank).read_in(&image, &world);
    let unknown = Case::new(&image, &read).diagnose().unwrap();
    assert_eq!(unknown.verdict, Verdict::Likely);
    assert_eq!(
        unknown.candidates[0].equals[0].first,
        Model::Cells(CellKind::ReadAsZero)
    );
    let known = Case::new(&image, &read).old(&old).diagnose().unwrap();
    assert_eq!(known.verdict, Verdict::Certain);
    assert_eq!(known.candidates[0].equals, [Model::NotBlank.into()]);

    let read = Fault::Cell(Cell::PagesLeft {
        page: 64,
        one_in: 3,
        before: Before::Old,
        seed: 3,
    })
    .read_in(&image, &world);
    let found = Case::new(&image, &read).old(&old).diagnose().unwrap();
    assert_ne!(found.verdict, Verdict::Certain, "which pages is a list");
    let left = |story: &faults::Story| {
        matches!(
            story.first,
            Model::PagesLeft {
                before: faults::Before::Old,
                ..
            }
        )
    };
    assert!(
        found
            .candidates
            .iter()
            .any(|candidate| candidate.equals.iter().any(left)),
        "{found:?}"
    );
}

#[test]
fn chips_of_the_same_set() {
    let (image, other, third) = (random(12, 5), random(12, 6), random(12, 7));
    let case = |read| {
        Case::new(&image, read)
            .other(&third)
            .other(&other)
            .diagnose()
            .unwrap()
    };
    let taken = case(&other);
    assert_eq!(taken.candidates[0].equals, [Model::OtherImage(1).into()]);
    let both: Vec<u8> = image.iter().zip(&other).map(|(a, b)| a & b).collect();
    let together = case(&both);
    assert_eq!(together.verdict, Verdict::Certain);
    assert_eq!(together.candidates[0].equals, [Model::OtherOnBus(1).into()]);
}

#[test]
fn known_cells_leave_fewer_equals() {
    let image = random(12, 8);
    let read = Fault::Address(Kind::High(4), Phase::Reading).read(&image);
    let equals = |case: Case| case.diagnose().unwrap().candidates[0].equals.len();
    // In a chip that overwrites, a line that was bad while burning and reading reads the same:
    // stuck either way, or following any of the 11 others.
    assert_eq!(equals(Case::new(&image, &read)), 14);
    assert_eq!(equals(Case::new(&image, &read).cells(Cells::Overwrite)), 14);
    assert_eq!(equals(Case::new(&image, &read).cells(Cells::OnlyClear)), 1);
}

#[test]
fn several_reads() {
    let image = random(12, 9);
    let chance = &mut Chance(9);
    let reads: Vec<Vec<u8>> = (0..3)
        .map(|_| broken::floating_data(&image, 2, chance))
        .collect();
    let case = Case::new(&image, &reads[0])
        .another_read(&reads[1])
        .another_read(&reads[2]);
    let diagnosis = case.diagnose().unwrap();
    assert_eq!(diagnosis.verdict, Verdict::Likely);
    let floats = Model::Cells(CellKind::OneLine(2));
    assert_eq!(diagnosis.candidates[0].equals, [floats.into()]);
    let vote = diagnosis.vote.unwrap();
    assert_eq!(
        vote.story(),
        &romloom::faults::reads::ReadsStory::DataLine(2)
    );

    let once = flip(&image, 3, chance);
    let case = Case::new(&image, &once)
        .another_read(&image)
        .another_read(&image);
    let wavers = case.diagnose().unwrap();
    assert_eq!(wavers.verdict, Verdict::Same);
    assert!(!wavers.vote.unwrap().unanimous());
}

/// A chip of 16 data lines: an address line is one of words, and D8 to D15 are lines too.
#[test]
fn sixteen_data_lines() {
    let image = random(13, 10);
    let words: Vec<u16> = image
        .chunks_exact(2)
        .map(|pair| u16::from_le_bytes([pair[0], pair[1]]))
        .collect();
    let bytes =
        |words: Vec<u16>| -> Vec<u8> { words.iter().flat_map(|word| word.to_le_bytes()).collect() };
    let case = |read: &[u8]| {
        let diagnosis = Case::new(&image, read)
            .width(Width::Sixteen)
            .diagnose()
            .unwrap();
        assert_eq!(diagnosis.verdict, Verdict::Certain);
        diagnosis.candidates[0].equals.clone()
    };
    let a5 = bytes((0..words.len()).map(|a| words[a & !(1 << 5)]).collect());
    assert_eq!(case(&a5), [stuck_low(5).into()]);
    let d12 = bytes(words.iter().map(|word| word | 1 << 12).collect());
    assert_eq!(case(&d12), [Model::Data(LineFault::StuckHigh(12)).into()]);
    let lanes = bytes(words.iter().map(|word| word.swap_bytes()).collect());
    assert_eq!(case(&lanes), [Model::LanesSwapped { lanes: 2 }.into()]);
    let mixed = bytes(
        (0..words.len())
            .map(|a| words[a ^ 1 << 9] & !(1 << 11))
            .collect(),
    );
    let pair = case(&mixed);
    assert_eq!(pair.len(), 1);
    assert_eq!(pair[0].second, Some(Model::Data(LineFault::StuckLow(11))));
}

#[test]
fn refuses_what_can_not_be_one_chip() {
    let image = random(8, 1);
    assert_eq!(
        Case::new(&image, &[]).diagnose(),
        Err(CaseError::Empty {
            which: CaseImage::Read
        })
    );
    let odd = Case::new(&image, &image[..3]).width(Width::Sixteen);
    assert!(matches!(
        odd.diagnose(),
        Err(CaseError::PartWord { length: 3, .. })
    ));
    assert!(matches!(
        Case::new(&image, &image).old(&[1, 2]).diagnose(),
        Err(CaseError::OtherLength { .. })
    ));
    assert!(matches!(
        Case::new(&image, &image).another_read(&[1]).diagnose(),
        Err(CaseError::Vote(_))
    ));
}

/// The smallest and the oddest images are no trouble.
#[test]
fn small_images() {
    for size in 1..=20usize {
        let image: Vec<u8> = (0..size).map(|n| (n * 37) as u8).collect();
        let read: Vec<u8> = image.iter().map(|byte| byte ^ 0x41).collect();
        for width in [Width::Eight, Width::Sixteen] {
            let case = Case::new(&image, &read).width(width);
            let odd = width == Width::Sixteen && size % 2 == 1;
            assert_eq!(case.diagnose().is_err(), odd);
        }
    }
}

/// In a periodic image thousands of shifts read the same; the nearest are named.
#[test]
fn periodic_images() {
    let image = "address"
        .parse::<Pattern>()
        .unwrap()
        .image(1 << 13)
        .unwrap();
    let read = Fault::Block(broken::Block::Rotated(3)).read(&image);
    let diagnosis = Case::new(&image, &read).diagnose().unwrap();
    assert_eq!(diagnosis.verdict, Verdict::Certain);
    let nearest = |by| Model::Shifted {
        by,
        fill: romloom::faults::ShiftedIn::Wrapped,
    };
    let equals = &diagnosis.candidates[0].equals;
    assert!(equals.contains(&nearest(3).into()), "{equals:?}");
    assert!(equals.len() < 20);
}
