//! Reading and writing records in memory, beside the crates that are the second opinion of `write --proof`.
//!
//! Ours reads into a finished image, with every address checked and every byte's line kept; the crates into a list of
//! records.

use std::hint::black_box;

use romloom::formats::{Format, intel_hex::IntelHex, s_record::SRecords};

use crate::table::{heading, in_turns, rate, row};
use crate::work::{M, image, read, write, write_to};

pub fn rows() {
    heading("16 MiB in records of 16 bytes, MB of text a second: times as fast as the reference");
    let image = image(16 * M);
    let hex = String::from_utf8(write(&IntelHex, &image)).unwrap();
    let s = String::from_utf8(write(&SRecords, &image)).unwrap();
    let as_fast = |what: &str, text: &str, other: &str, wanted: &str, times| {
        let (ours, theirs): (std::time::Duration, std::time::Duration) = times;
        let len = text.len() as u64;
        let ratio = theirs.as_secs_f64() / ours.as_secs_f64();
        row(
            what,
            &rate(len, ours),
            other,
            &rate(len, theirs),
            ratio,
            wanted,
        );
    };

    let ihex = || {
        ihex::Reader::new(black_box(&hex))
            .collect::<Result<Vec<_>, _>>()
            .unwrap()
    };
    let times = in_turns(
        5,
        || drop(read(&IntelHex, black_box(hex.as_bytes()))),
        || drop(ihex()),
    );
    as_fast("read Intel HEX", &hex, "crate ihex", "at least 12", times);

    let srec = || {
        srec::read_records(black_box(&s))
            .collect::<Result<Vec<_>, _>>()
            .unwrap()
    };
    let times = in_turns(
        5,
        || drop(read(&SRecords, black_box(s.as_bytes()))),
        || drop(srec()),
    );
    as_fast("read S-record", &s, "crate srec", "at least 6", times);

    let records = ihex();
    let theirs = || drop(ihex::create_object_file_representation(&records));
    let times = in_turns(5, || drop(write(&IntelHex, &image)), theirs);
    as_fast("write Intel HEX", &hex, "crate ihex", "at least 10", times);

    let records = srec();
    let theirs = || drop(srec::generate_srec_file(&records));
    let times = in_turns(3, || drop(write(&SRecords, &image)), theirs);
    as_fast("write S-record", &s, "crate srec", "at least 25", times);

    // The system clears new memory about as fast as the text is made, so once more into memory that is there.
    let mut out = Vec::with_capacity(hex.len().max(s.len()));
    let mut again = |format: &dyn Format| {
        out.clear();
        write_to(format, &image, &mut out);
    };
    let records = ihex();
    let theirs = || drop(ihex::create_object_file_representation(&records));
    let times = in_turns(5, || again(&IntelHex), theirs);
    as_fast(
        "write Intel HEX, memory in use",
        &hex,
        "crate ihex",
        "",
        times,
    );
    let records = srec();
    let theirs = || drop(srec::generate_srec_file(&records));
    let times = in_turns(3, || again(&SRecords), theirs);
    as_fast("write S-record, memory in use", &s, "crate srec", "", times);
}
