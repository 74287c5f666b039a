//! Writing S-records.

use std::io::Write;

use super::form::SRecordForm;
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
    let entry = match how.entry_of(image) {
        Some(entry) => count.entry(entry)?.address(),
        None => 0,
    };
    let form = SRecordForm::choose(how.address, count.last(image), entry)?;
    let most = 254 - form.address_bytes() as u16;
    let width = count.width(how.width, form.name(), 16, most)?;
    let mut written = Written {
        form: Some(form.name()),
        ..Written::default()
    };
    let mut text = HexText::new();
    let line_end = how.line_end();
    let header = how.header.as_deref().or(image.header.as_deref());
    let header = header.unwrap_or_default();
    if header.len() > 252 {
        return Err(WriteError::HeaderTooLong {
            length: header.len(),
            most: 252,
        });
    }
    put(&mut text, b'0', &[0, 0], header, line_end);
    let mut records = 0u64;
    for span in image.spans() {
        let mut address = span.start() / count.unit;
        for data in span.bytes().chunks(width) {
            put(
                &mut text,
                form.data_kind(),
                form.address(&address.to_be_bytes()),
                data,
                line_end,
            );
            text.pour(out, false)?;
            address += data.len() as u64 / count.unit;
            records += 1;
        }
    }
    if how.count {
        let [.., a, b, c] = records.to_be_bytes();
        match records {
            0..=0xFFFF => put(&mut text, b'5', &[b, c], &[], line_end),
            0x1_0000..=0xFF_FFFF => put(&mut text, b'6', &[a, b, c], &[], line_end),
            _ => written.left_out.push(LeftOut::Count { records }),
        }
    }
    put(
        &mut text,
        form.end_kind(),
        form.address(&entry.to_be_bytes()),
        &[],
        line_end,
    );
    text.pour(out, true)?;
    Ok(written)
}

/// One record, `S` to line end.
#[inline]
fn put(text: &mut HexText, kind: u8, address: &[u8], data: &[u8], line_end: &[u8]) {
    // At most 255: width and header were checked.
    let count = (address.len() + data.len() + 1) as u8;
    let (mark, not) = ([b'S', kind], |sum: u8| !sum);
    match *address {
        [a, b] => text.record(mark, [count, a, b], data, not, line_end),
        [a, b, c] => text.record(mark, [count, a, b, c], data, not, line_end),
        [a, b, c, d] => text.record(mark, [count, a, b, c, d], data, not, line_end),
        _ => {}
    }
}
