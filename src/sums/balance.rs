//! Bytes that bring a range to a wanted sum.

use super::algo::Family;
use super::plain::Plain;
use super::sum::number_to_bytes;
use super::{Algo, Order, Sum, SumError};

/// The bytes to store so that the whole range, these bytes included, sums to `target`.
///
/// `total_without_stamp` is the sum of the range with the stamped bytes counted as zeros. There
/// are [`Algo::bytes`] bytes to store. Those of a word sum count as one word, so they must
/// be on a word boundary, counted from the start of the range, and in the order of the
/// sum's words.
///
/// ```
/// use romloom::sums::{Algo, Order, balance};
///
/// let total = Algo::SUM8.sum(&[0x55, 0xAA, 0x01, 0x00])?;
/// assert_eq!(balance(Algo::SUM8, &total, 0, Order::Little)?, [0x00]);
/// let total = Algo::SUM16BE.sum(&[0x12, 0x34, 0x00, 0x00])?;
/// assert_eq!(balance(Algo::SUM16BE, &total, 0, Order::Big)?, [0xED, 0xCC]);
/// # Ok::<(), romloom::sums::SumError>(())
/// ```
///
/// # Errors
/// [`SumError::NoBalance`] for `sum16` and `sum32` of bytes, sums with carries added back, sums of sums, CRCs and digests;
/// [`SumError::OtherOrder`] when `order` is not that of a word sum's words (see [`Algo::order`]);
/// [`SumError::TooLarge`] when the target has more bits than the sum;
/// [`SumError::OtherSum`] when the total is not one of `algo`.
pub fn balance(
    algo: Algo,
    total_without_stamp: &Sum,
    target: u128,
    order: Order,
) -> Result<Vec<u8>, SumError> {
    let refuse = |reason| Err(SumError::NoBalance { algo, reason });
    let plain = match algo.0 {
        Family::Plain(Plain::Sum16 | Plain::Sum32) => {
            return refuse(
                "stored bytes add at most 255 each, which does not reach every target; \
                 use sum8 or a sum of words",
            );
        }
        Family::Plain(Plain::Carry8 | Plain::Carry16 | Plain::Internet) => {
            return refuse(
                "a sum with carries added back is 0 only when all bytes are 00; its ones' complement, \
                 stored on a word of the range, brings carry8 and internet to all ones",
            );
        }
        Family::Plain(Plain::Fletcher16 | Plain::Adler32) => {
            return refuse(
                "what a byte adds depends on how many bytes follow; store the sum outside the range it covers",
            );
        }
        Family::Crc(_) => {
            return refuse("a CRC is not an addition; store it outside the range it covers");
        }
        Family::Digest(_) => {
            return refuse(
                "a digest is made so that this cannot be done; store it outside the range it covers",
            );
        }
        Family::Plain(plain) => plain,
    };
    let Some(total) = total_without_stamp
        .value()
        .filter(|_| total_without_stamp.algo == algo)
    else {
        return Err(SumError::OtherSum {
            expected: algo,
            found: total_without_stamp.algo,
        });
    };
    if let Some(own) = plain.order().filter(|&own| own != order) {
        return Err(SumError::OtherOrder {
            algo,
            own,
            asked: order,
        });
    }
    algo.check_fits("target", target)?;
    let missing = match plain {
        Plain::Xor8 => target ^ total,
        _ => target.wrapping_sub(total) & algo.mask(),
    };
    Ok(number_to_bytes(missing, algo.bytes(), order))
}
