//! How fast record files are read and written, beside the crates that are our second opinion.
//!
//! 16 MiB of data in records of 16 bytes; throughput counts bytes of text. `romloom` reads into a finished image,
//! with every address checked and every byte's line kept; the crates read into a list of records. Run with
//! `cargo bench --bench records`.

use std::hint::black_box;
use std::sync::LazyLock;

use divan::Bencher;
use divan::counter::BytesCount;
use romloom::formats::{
    AddressForm, Findings, Format, Input, ReadOptions, Strictness, WriteOptions,
    intel_hex::IntelHex, s_record::SRecords,
};
use romloom::image::{Image, Source};

const SIZE: u64 = 16 * 1024 * 1024;

/// Bytes without a pattern, by a multiplicative generator.
static IMAGE: LazyLock<Image> = LazyLock::new(|| {
    let mut state = 1u64;
    let bytes = (0..SIZE).map(|_| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (state >> 56) as u8
    });
    Image::from_bytes(0, bytes.collect(), Source::Patch).expect("16 MiB fit")
});
static HEX: LazyLock<String> = LazyLock::new(|| text(&IntelHex));
static S: LazyLock<String> = LazyLock::new(|| text(&SRecords));

fn main() {
    divan::main();
}

fn write(format: &dyn Format) -> Vec<u8> {
    let how = WriteOptions {
        address: AddressForm::Bits32,
        ..WriteOptions::default()
    };
    let mut out = Vec::new();
    format.write(&IMAGE, &how, &mut out).expect("it fits");
    out
}

fn text(format: &dyn Format) -> String {
    String::from_utf8(write(format)).expect("hex is ASCII")
}

fn read(format: &dyn Format, text: &str) -> Image {
    let mut findings = Findings::new("bench".into(), Strictness::Usual);
    let mut input = Input::new("bench", text.as_bytes());
    let image = format.read(&mut input, &ReadOptions::default(), &mut findings);
    let image = image.expect("memory can be read");
    assert_eq!((image.len(), findings.list().len()), (SIZE, 0));
    image
}

fn ihex_records() -> Vec<ihex::Record> {
    let records: Result<Vec<_>, _> = ihex::Reader::new(black_box(&HEX)).collect();
    records.expect("our records are sound")
}

fn srec_records() -> Vec<srec::Record> {
    let records: Result<Vec<_>, _> = srec::read_records(black_box(&S)).collect();
    records.expect("our records are sound")
}

#[divan::bench_group(sample_count = 7, sample_size = 1)]
mod read_intel_hex {
    use super::*;

    #[divan::bench]
    fn romloom(bencher: Bencher) {
        bencher
            .counter(BytesCount::of_str(&**HEX))
            .bench(|| read(&IntelHex, black_box(&HEX)));
    }

    #[divan::bench]
    fn ihex(bencher: Bencher) {
        bencher
            .counter(BytesCount::of_str(&**HEX))
            .bench(ihex_records);
    }
}

#[divan::bench_group(sample_count = 7, sample_size = 1)]
mod write_intel_hex {
    use super::*;

    #[divan::bench]
    fn romloom(bencher: Bencher) {
        bencher
            .counter(BytesCount::of_str(&**HEX))
            .bench(|| write(&IntelHex));
    }

    #[divan::bench]
    fn ihex(bencher: Bencher) {
        let records = ihex_records();
        bencher
            .counter(BytesCount::of_str(&**HEX))
            .bench(|| ::ihex::create_object_file_representation(&records));
    }
}

#[divan::bench_group(sample_count = 7, sample_size = 1)]
mod read_s_record {
    use super::*;

    #[divan::bench]
    fn romloom(bencher: Bencher) {
        bencher
            .counter(BytesCount::of_str(&**S))
            .bench(|| read(&SRecords, black_box(&S)));
    }

    #[divan::bench]
    fn srec(bencher: Bencher) {
        bencher
            .counter(BytesCount::of_str(&**S))
            .bench(srec_records);
    }
}

#[divan::bench_group(sample_count = 7, sample_size = 1)]
mod write_s_record {
    use super::*;

    #[divan::bench]
    fn romloom(bencher: Bencher) {
        bencher
            .counter(BytesCount::of_str(&**S))
            .bench(|| write(&SRecords));
    }

    #[divan::bench]
    fn srec(bencher: Bencher) {
        let records = srec_records();
        bencher
            .counter(BytesCount::of_str(&**S))
            .bench(|| ::srec::generate_srec_file(&records));
    }
}
