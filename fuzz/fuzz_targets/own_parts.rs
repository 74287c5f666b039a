#![no_main]

#[path = "../../tests/it/fuzz_bodies.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(|data: &[u8]| targets::own_parts(data));
