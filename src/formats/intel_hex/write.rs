//! Writing Intel HEX.

use std::io::Write;

use super::form::IntelHexForm;
use crate::formats::address::Counting;
use crate::formats::hex::HexText;
use crate::formats::options::WriteOptions;
use crate::formats::written::{LeftOut, WriteError, Written};
use crate::image::Image;

/// Writes an image.
pub(super) fn write(
    image: &Image,
    how: &WriteOptions,
    out: &mut dyn Write,
) -> Result<Written, WriteError> {
    let count = Counting::new(image, how)?;
    let form = IntelHexForm::choose(how.address, count.last(image))?;
    let width = count.width(how.width, form.name(), 16, 255)?;
    let mut written = Written {
        form: Some(form.name()),
        ..Written::default()
    };
    let mut text = HexText::new();
    let line_end = how.line_end();
    let mut base = (form == IntelHexForm::I8).then_some(0);
    for span in image.spans() {
        let mut address = span.start() / count.unit;
        let mut bytes = span.bytes();
        while !bytes.is_empty() {
            // No record crosses a 64 K boundary: readers disagree on what happens there.
            let room = (0x1_0000 - (address & 0xFFFF)) * count.unit;
            let (data, rest) = bytes.split_at(bytes.len().min(width).min(room as usize));
            if base != Some(address >> 16) {
                base = Some(address >> 16);
                match form {
                    IntelHexForm::I8 => {}
                    IntelHexForm::I16 => {
                        let segment = (address >> 16 << 12) as u16;
                        put(&mut text, 0, 2, &segment.to_be_bytes(), line_end);
                    }
                    IntelHexForm::I32 => {
                        let upper = (address >> 16) as u16;
                        put(&mut text, 0, 4, &upper.to_be_bytes(), line_end);
                    }
                }
            }
            put(&mut text, address as u16, 0, data, line_end);
            text.pour(out, false)?;
            address += data.len() as u64 / count.unit;
            bytes = rest;
        }
    }
    if let Some(entry) = how.entry_of(image) {
        match form.start_record(count.entry(entry)?)? {
            Some((kind, value)) => put(&mut text, 0, kind, &value.to_be_bytes(), line_end),
            None if entry.address() != 0 => {
                written.left_out.push(LeftOut::EntryOfForm {
                    form: form.name(),
                    entry: entry.address(),
                });
            }
            None => {}
        }
    }
    put(&mut text, 0, 1, &[], line_end);
    text.pour(out, true)?;
    Ok(written)
}

/// One record, mark to line end.
#[inline]
fn put(text: &mut HexText, offset: u16, kind: u8, data: &[u8], line_end: &[u8]) {
    let [high, low] = offset.to_be_bytes();
    // At most 255: the width was checked.
    let head = [data.len() as u8, high, low, kind];
    text.record([b':'], head, data, u8::wrapping_neg, line_end);
}
