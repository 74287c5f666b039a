//! Salvage.

use super::*;

#[test]
fn of_data_kinds_that_are_mixed_the_usual_one_is_believed_in_a_salvage() {
    let records = [
        s1(0, &[1, 1]),
        s2(0x10, &[2, 2, 2]),
        s2(0x13, &[2]),
        s1(0x20, &[1]),
        s3(0x30, &[3]),
        s2(0x40, &[2]),
    ];
    let reading = salvage(&SRecords, records.concat() + "S804000000FB\n");
    let kept = [(0x10, vec![2; 4]), (0x40, vec![2])];
    assert_eq!(spans(&reading.image), kept);
    let facts = &reading.findings.facts;
    assert_eq!((facts.left_out_records, facts.left_out_bytes), (3, 4));
    let damaged: Vec<(u64, u64)> = facts.damaged.iter().map(|d| (d.first, d.last)).collect();
    assert_eq!(damaged, [(1, 1), (4, 5)]);
    let problem = Problem::OtherKinds {
        most: '2',
        records: 3,
    };
    assert!(
        reading.errors().iter().any(|e| e.3 == problem),
        "{:?}",
        reading.errors()
    );
    // Neither is more frequent: the one met first.
    for (one, two, kept) in [(s1(0, &[1]), s3(8, &[3]), 0), (s3(8, &[3]), s1(0, &[1]), 8)] {
        let reading = salvage(&SRecords, one + &two + S9);
        assert_eq!(spans(&reading.image)[0].0, kept);
        assert_eq!(reading.findings.facts.left_out_records, 1);
    }
    let pure = salvage(&SRecords, s2(0, &[1]) + &s2(8, &[2]) + "S804000000FB\n");
    assert_eq!(pure.errors(), []);
    assert_eq!(pure.findings.facts.left_out_records, 0);
}
