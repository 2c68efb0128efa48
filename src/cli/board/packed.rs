//! Bytes as text in a page: compressed, and in letters that can stand there. `letters.js` reads them.

use std::num::NonZero;

use anyhow::Result;
use zopfli::{Format, Options};

/// How often the compressor goes over a block: more than once makes the engine smaller by no more than a thousandth.
const ROUNDS: NonZero<u64> = NonZero::<u64>::MIN;

/// Bytes compressed and written as letters; the same bytes give the same letters. It takes a second for each megabyte: a file
/// that is made once and sent often is to be small.
///
/// # Errors
/// When compressing fails.
pub(super) fn packed(bytes: &[u8]) -> Result<String> {
    let options = Options {
        iteration_count: ROUNDS,
        ..Options::default()
    };
    let mut packed = Vec::new();
    zopfli::compress(options, Format::Gzip, bytes, &mut packed)?;
    Ok(lettered(&packed))
}

/// Bytes as plain letters, five for four bytes, where the usual base 64 takes five and a third.
///
/// Four bytes, most significant first, are a number with five digits to the base 85, and the digits are the characters from
/// `(` on, but for `<`, which must not stand in a page. Of fewer bytes at the end, one letter more than there are bytes.
fn lettered(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(4) * 5);
    for group in bytes.chunks(4) {
        let mut four = [0; 4];
        four[..group.len()].copy_from_slice(group);
        let mut rest = u32::from_be_bytes(four);
        let mut digits = [0; 5];
        for digit in digits.iter_mut().rev() {
            *digit = b'(' + (rest % 85).to_le_bytes()[0];
            rest /= 85;
        }
        let kept = digits[..=group.len()].iter();
        text.extend(kept.map(|&letter| match letter {
            b'<' => '}',
            letter => char::from(letter),
        }));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_digits_to_the_base_85() {
        // 85^4 = 52 200 625 = 0x031c84b1; 2^32 - 1 has the digits 82, 23, 54, 12, 0.
        assert_eq!(lettered(&[0x03, 0x1c, 0x84, 0xb1]), ")((((");
        assert_eq!(lettered(&[0xff; 4]), "z?^4(");
        // The digit 20 would be `<`.
        assert_eq!(lettered(&[0, 0, 0, 20]), "((((}");
        assert_eq!(lettered(&[0]), "((");
        assert_eq!(lettered(&[0; 7]), "(((((((((");
        let all: Vec<u8> = (0..=255).collect();
        let allowed = |c: u8| (b'('..=b'}').contains(&c) && c != b'<';
        assert!(lettered(&all).bytes().all(allowed));
    }

    #[test]
    fn text_that_repeats_itself_becomes_short() {
        let text = "three views, ".repeat(1000);
        assert!(packed(text.as_bytes()).unwrap().len() < text.len() / 50);
    }
}
