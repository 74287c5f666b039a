//! Votes over reads that waver in known ways.

use super::*;
use crate::faults::reads::Oddity;

fn telltale(size: usize) -> Vec<u8> {
    "telltale"
        .parse::<crate::faults::Pattern>()
        .unwrap()
        .image(size)
        .unwrap()
}

/// Wavers without a generator: different at every address and read.
fn coin(read: usize, address: usize) -> bool {
    let mixed = (address * 131 + read * 7919 + 17).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    mixed >> 63 == 1
}

/// The vote over `reads` reads of `size` bytes, each byte as `show` has it.
fn voted(
    reads: usize,
    size: usize,
    width: Width,
    wanted: Option<&[u8]>,
    show: impl Fn(usize, usize) -> u8,
) -> Vote {
    let read = |n: usize| -> Vec<u8> { (0..size).map(|a| show(n, a)).collect() };
    let reads: Vec<Vec<u8>> = (0..reads).map(read).collect();
    let reads = Reads::new(reads.iter().map(Vec::as_slice).collect()).unwrap();
    let reads = reads.width(width).unwrap();
    match wanted {
        Some(wanted) => reads.wanted(wanted).vote(),
        None => reads.vote(),
    }
}

fn answer(vote: &Vote) -> (Verdict, &ReadsStory) {
    (vote.verdict, vote.story())
}

#[test]
fn refuses() {
    let count = |reads: Vec<&[u8]>| Reads::new(reads).unwrap_err();
    assert_eq!(count(vec![&[1]]), VoteError::Count { reads: 1 });
    assert_eq!(count(Vec::new()), VoteError::Count { reads: 0 });
    let many = vec![&[1u8][..]; 100];
    assert_eq!(count(many), VoteError::Count { reads: 100 });
    let error = count(vec![&[1], &[1], &[]]);
    assert!(matches!(error, VoteError::Length { number: 3, .. }));
    let odd = Reads::new(vec![&[1], &[1]]).unwrap().width(Width::Sixteen);
    assert_eq!(odd.unwrap_err(), VoteError::PartWord { length: 1 });
}

#[test]
fn reads_that_are_the_same_are_stable() {
    let vote = voted(2, 64, Width::Eight, None, |_, a| a as u8);
    assert_eq!(answer(&vote), (Verdict::Same, &ReadsStory::Stable));
    assert!(vote.unanimous() && !vote.explains(&[0; 64]));
    let empty = Reads::new(vec![&[], &[]]).unwrap().vote();
    assert_eq!(answer(&empty), (Verdict::Same, &ReadsStory::Stable));
}

#[test]
fn a_floating_line_is_certain() {
    let image = telltale(4096);
    let d3 = voted(5, 4096, Width::Eight, None, |read, a| {
        image[a] ^ u8::from(coin(read, a)) << 3
    });
    assert_eq!(answer(&d3), (Verdict::Certain, &ReadsStory::DataLine(3)));
    let a9 = voted(5, 4096, Width::Eight, None, |read, a| {
        image[a ^ usize::from(coin(read, a)) << 9]
    });
    assert_eq!(answer(&a9), (Verdict::Certain, &ReadsStory::AddressLine(9)));
    assert!(a9.explains(&image) && d3.explains(&image));
    let mut other = image.clone();
    other[5] ^= 0x60;
    assert!(!d3.explains(&other));
}

#[test]
fn a_word_has_sixteen_data_lines_and_one_address() {
    let image = telltale(4096);
    for line in [3u8, 11] {
        let vote = voted(5, 4096, Width::Sixteen, None, |read, a| {
            let floats = a % 2 == usize::from(line) / 8 && coin(read, a);
            image[a] ^ u8::from(floats) << (line % 8)
        });
        let want = ReadsStory::DataLine(line);
        assert_eq!(answer(&vote), (Verdict::Certain, &want));
        assert_eq!(vote.lines()[usize::from(line)], vote.wavering.len());
        assert!(vote.explains(&image));
    }
    let words = voted(5, 4096, Width::Sixteen, None, |read, a| {
        image[a ^ usize::from(coin(read, a / 2)) << 10]
    });
    let want = ReadsStory::AddressLine(9);
    assert_eq!(answer(&words), (Verdict::Certain, &want));
    assert!(words.explains(&image));
}

/// Noise in a blank area, where the byte at every partner address is the same FF.
#[test]
fn a_blank_area_proves_nothing() {
    let mut image = telltale(32 * 1024);
    image[8192..].fill(0xFF);
    let vote = voted(5, 32 * 1024, Width::Eight, None, |read, a| {
        let hit = (0..5).find(|n| 8192 + (n * 5 + read) * 947 == a);
        image[a] ^ hit.map_or(0, |n| 1 << ((n + read) % 8))
    });
    assert_eq!(vote.wavering.len(), 25);
    let lines = |told: &ToldOfReads| told.story.line().is_some();
    assert!(!vote.answer().iter().any(lines), "{:?}", vote.told);
    assert_eq!(answer(&vote), (Verdict::Likely, &ReadsStory::Noise));
}

#[test]
fn weak_cells_are_the_same_ones_and_are_never_certain() {
    let image = telltale(4096);
    let vote = voted(7, 4096, Width::Eight, None, |read, a| {
        image[a] ^ u8::from(a % 97 == 3 && coin(read, a)) << (a % 8)
    });
    assert_eq!(answer(&vote), (Verdict::Likely, &ReadsStory::WeakCells));
}

#[test]
fn the_odd_read_is_named_with_what_it_shows() {
    let image = telltale(4096);
    let vote = voted(4, 4096, Width::Eight, None, |read, a| {
        image[a] ^ u8::from(read == 2 && a % 61 == 7) << (a % 5)
    });
    let shows = |shows: Oddity| ReadsStory::OddRead { read: 2, shows };
    assert_eq!(answer(&vote), (Verdict::Certain, &shows(Oddity::Bits)));
    assert_eq!((vote.odd_read(), vote.changed[2]), (Some(2), 68));
    let line = voted(4, 4096, Width::Eight, None, |read, a| {
        image[a] ^ u8::from(read == 2 && a % 61 == 7) << 6
    });
    let d6 = shows(Oddity::DataLine(6));
    assert_eq!(answer(&line), (Verdict::Certain, &d6));
    let blank = voted(3, 4096, Width::Eight, None, |read, a| match read {
        2 => 0xFF,
        _ => image[a],
    });
    let only = shows(Oddity::Only(0xFF));
    assert_eq!(answer(&blank), (Verdict::Certain, &only));
    // Nobody else can be asked.
    let two = voted(2, 4096, Width::Eight, None, |read, a| {
        image[a] ^ u8::from(read == 1 && a % 61 == 7) << (a % 5)
    });
    assert_eq!(two.odd_read(), None);
}

/// All but one are blank: what is odd then is not the one that shows something.
#[test]
fn blank_reads_don_t_make_the_other_one_odd_for_certain() {
    let image = telltale(4096);
    let vote = voted(3, 4096, Width::Eight, None, |read, a| match read {
        0 => image[a],
        _ => 0xFF,
    });
    assert_ne!(vote.verdict, Verdict::Certain);
    assert_eq!(vote.different_contents(), None);
}

fn content(n: u32, size: usize) -> Vec<u8> {
    use crate::faults::Pattern;
    let seed = 1000 + n * 77_777;
    Pattern::Random { seed }.image(size).unwrap()
}

#[test]
fn reads_of_different_chips_are_told_apart() {
    let images: Vec<Vec<u8>> = (0..12).map(|n| content(n, 4096)).collect();
    let all = voted(12, 4096, Width::Eight, None, |read, a| images[read][a]);
    assert_eq!(all.different_contents().unwrap().len(), 12);
    let pairs = voted(4, 4096, Width::Eight, None, |read, a| images[read % 2][a]);
    assert_eq!(pairs.different_contents().unwrap(), [[0, 2], [1, 3]]);
    let one = voted(5, 4096, Width::Eight, None, |read, a| {
        images[usize::from(read == 3)][a]
    });
    assert_eq!(
        one.different_contents().unwrap(),
        [vec![0, 1, 2, 4], vec![3]]
    );
    assert_eq!(one.verdict, Verdict::Likely, "never certain");
}

/// One read of five begins 17 bytes late: it has nothing in common with the others in its place, and is of the same chip.
#[test]
fn a_read_that_is_shifted_is_no_stranger() {
    let image = content(1, 4096);
    let vote = voted(5, 4096, Width::Eight, None, |read, a| match read {
        4 => image.get(a + 17).copied().unwrap_or(0xFF),
        _ => image[a],
    });
    assert_eq!(vote.odd_read(), Some(4), "{:?}", vote.told[0]);
    let shows = match vote.story() {
        ReadsStory::OddRead { shows, .. } => shows,
        other => panic!("{other:?}"),
    };
    assert!(matches!(shows, Oddity::Story(_)), "{shows:?}");
}

#[test]
fn what_shows_the_byte_before_was_read_too_early() {
    let image = content(3, 4096);
    let vote = voted(5, 4096, Width::Eight, None, |read, a| {
        match a % 2 == 0 && coin(read, a) && coin(read + 9, a) && a > 0 {
            true => image[a - 1],
            false => image[a],
        }
    });
    assert_eq!(answer(&vote), (Verdict::Likely, &ReadsStory::ReadTooEarly));
}

#[test]
fn remarks_are_more_than_chance() {
    let image = telltale(4096);
    let remarks =
        |show: &dyn Fn(usize, usize) -> u8| voted(5, 4096, Width::Eight, None, show).distributions;
    let region = remarks(&|read, a| {
        let inside = (0x810..0x8F0).contains(&a) && coin(read, a);
        image[a] ^ if inside { 1 << (a % 8) } else { 0 }
    });
    assert!(
        matches!(&region[..], [Distribution::Region(part)] if *part.start() >= 0x810 && *part.end() < 0x8F0),
        "{region:?}"
    );
    let growing = remarks(&|read, a| {
        let bad = coin(read, a) && a * a / 4096 > a.wrapping_mul(0x9E3B) % 4096;
        image[a] ^ if bad { 1 << (a % 8) } else { 0 }
    });
    assert_eq!(growing, [Distribution::Growing]);
    let half = remarks(&|read, a| {
        let bad = a & 0x20 != 0 && a % 37 == 1 && coin(read, a);
        image[a] ^ u8::from(bad) << (a % 8)
    });
    assert_eq!(
        half,
        [Distribution::Half {
            line: 5,
            high: true
        }]
    );
    // Four of four on one side of a line are nothing: with twelve lines, one has them so more often than not.
    let few = remarks(&|read, a| {
        image[a] ^ u8::from([7, 0x207, 0x40F, 0x807].contains(&a) && coin(read, a))
    });
    assert_eq!(few, []);
}

/// Two blocks whose addresses differ in A9 only, swapped in one of two reads: no line has to float for that.
#[test]
fn of_two_reads_a_line_is_not_certain() {
    let image = telltale(4096);
    let show = |read: usize, a: usize| match (read, a >> 8) {
        (1, 5 | 7) => image[a ^ 0x200],
        _ => image[a],
    };
    let vote = voted(2, 4096, Width::Eight, None, show);
    assert_ne!(vote.verdict, Verdict::Certain, "{:?}", vote.story());
}

/// What the majority has wrong is explained where the bit wavers, or where the line that floats explains it.
#[test]
fn what_wavers_explains_what_is_wrong() {
    let base = voted(3, 16, Width::Eight, None, |read, a| {
        a as u8 ^ if a == 3 && read == 1 { 0x0F } else { 0 }
    });
    let image: Vec<u8> = (0..16).collect();
    let explains = |story: &ReadsStory, verdict: Verdict, width: Width, wrong: &[(usize, u8)]| {
        let mut vote = base.clone();
        (vote.told[0].story, vote.verdict, vote.width) = (story.clone(), verdict, width);
        let mut wanted = image.clone();
        wrong.iter().for_each(|(at, bits)| wanted[*at] ^= bits);
        vote.explains(&wanted)
    };
    let (noise, eight) = (ReadsStory::Noise, Width::Eight);
    let noise = |wrong: &[(usize, u8)]| explains(&noise, Verdict::Open, eight, wrong);
    assert!(noise(&[]) && noise(&[(3, 0x05)]));
    assert!(!noise(&[(3, 0x15)]) && !noise(&[(2, 0x01)]) && !noise(&[(3, 1), (4, 1)]));
    assert!(!base.explains(&image[..15]));
    // D2 may be wrong everywhere when it floats, and no other line.
    let d2 = ReadsStory::DataLine(2);
    let d2 = |verdict, wrong: &[(usize, u8)]| explains(&d2, verdict, eight, wrong);
    assert!(d2(Verdict::Certain, &[(0, 4), (3, 4), (15, 4)]));
    assert!(!d2(Verdict::Certain, &[(0, 6)]) && !d2(Verdict::Certain, &[(0, 2)]));
    assert!(!d2(Verdict::Open, &[(0, 4)]));
    let d10 = ReadsStory::DataLine(10);
    let d10 = |at| explains(&d10, Verdict::Likely, Width::Sixteen, &[(at, 4)]);
    assert!(d10(1) && !d10(0) && d10(15));
    // With A1 floating a byte may be that of its partner: 7 for 5, or in words of two bytes 1 for 5.
    let a1 = ReadsStory::AddressLine(1);
    let a1 = |width, at, bits| explains(&a1, Verdict::Likely, width, &[(at, bits)]);
    assert!(!a1(eight, 5, 2), "7 should be read as 5, not as itself");
    let mut vote = base.clone();
    (vote.told[0].story, vote.verdict) = (ReadsStory::AddressLine(1), Verdict::Likely);
    vote.image[5] = 7;
    assert!(vote.explains(&image));
    vote.width = Width::Sixteen;
    assert!(!vote.explains(&image));
    vote.image[5] = 1;
    assert!(vote.explains(&image));
    vote.verdict = Verdict::Open;
    assert!(!vote.explains(&image));
}

/// Data lines are those of the chip: of a word the odd byte has the upper eight.
#[test]
fn ties_and_lines_are_counted() {
    let vote = |width| {
        voted(2, 8, width, None, |read, a| match (read, a) {
            (1, 2) => 0x81,
            (1, 5) => 0x01,
            _ => 0,
        })
    };
    let lines = |width, line: usize| vote(width).lines()[line];
    assert_eq!([0, 7].map(|line| lines(Width::Eight, line)), [2, 1]);
    assert_eq!(
        [0, 7, 8, 15].map(|line| lines(Width::Sixteen, line)),
        [1, 1, 1, 0]
    );
    let ties: Vec<usize> = vote(Width::Eight).ties().map(|byte| byte.address).collect();
    assert_eq!(ties, [2, 5]);
    let three = voted(3, 8, Width::Eight, None, |read, _| read as u8 / 2);
    assert_eq!(three.ties().count(), 0);
}

/// In at most a sixteenth of the chip, on one side of a line, or more from quarter to quarter: where it saves 10 bits.
#[test]
fn remarks_begin_where_they_are_worth_it() {
    let waver = |width, cells: &dyn Fn(usize) -> bool| {
        let bytes = Width::bytes(width);
        let turn = |a: usize| a.wrapping_mul(0x9E37_79B9) >> 9 & 3;
        let show = |read, a: usize| {
            u8::from(a % bytes == 0 && cells(a / bytes) && read == turn(a / bytes))
        };
        voted(5, 4096 * bytes, width, None, show).distributions
    };
    let region = |reach: usize| {
        let (first, last) = (0x810, 0x810 + reach - 1);
        move |a: usize| a == last || (first..=last).contains(&a) && (a - first) % 15 == 0
    };
    let found = waver(Width::Eight, &region(256));
    assert_eq!(found, [Distribution::Region(0x810..=0x90F)]);
    let found = waver(Width::Sixteen, &region(256));
    assert_eq!(found, [Distribution::Region(0x1020..=0x121F)]);
    let wider = waver(Width::Eight, &region(257));
    assert!(
        !wider
            .iter()
            .any(|one| matches!(one, Distribution::Region(_))),
        "{wider:?}"
    );
    // 18 cells where A5 is 1 save 18 bits, which is 3, which of 12 lines, its level, and 10.
    let half = |count: usize, high: usize| {
        let at = |n: usize| (n * 227 + 11) & !0x20 | high << 5;
        waver(Width::Eight, &|a| (0..count).any(|n| at(n) == a))
    };
    let of = |high| [Distribution::Half { line: 5, high }];
    assert_eq!(
        (half(18, 1), half(18, 0)),
        (of(true).to_vec(), of(false).to_vec())
    );
    assert_eq!(half(17, 1), []);
    // By half as many again, from a quarter to the next.
    let growing = |quarters: [usize; 4]| {
        waver(Width::Eight, &|a| {
            a % 1024 * 333 % 1024 < quarters[a / 1024]
        })
    };
    assert_eq!(growing([75, 113, 170, 255]), [Distribution::Growing]);
    assert_eq!(growing([75, 113, 170, 254]), []);
    assert_eq!(growing([75, 112, 170, 255]), []);
    assert_eq!(growing([12, 18, 27, 41]), [], "too few");
}
