//! The engine as a WebAssembly module: three plain functions over bytes in its memory.
//!
//! A caller asks [`alloc`] for room, writes a request there and passes it to [`answer`], which gives back the place of the
//! answer: four bytes of length, least first, and the answer itself. Both are handed to [`free`] when they are done with.
//! This is the one place with unsafe code: bytes have to pass a border that knows only numbers.

#![allow(
    unsafe_code,
    reason = "memory is handed across the border to the page as a place and a length"
)]
#![allow(
    unreachable_pub,
    reason = "what is public here is called from outside of Rust"
)]

/// Bytes in front of an answer that say how long it is.
const HEAD: usize = size_of::<u32>();

/// Room for `length` bytes; to be given back to [`free`] with the same length.
#[unsafe(no_mangle)]
pub extern "C" fn alloc(length: usize) -> *mut u8 {
    hand_over(vec![0; length])
}

/// Gives back room of `length` bytes, as got from [`alloc`] or, with its head, from [`answer`].
///
/// # Safety
/// `place` must come from one of them, with this length, and not have been given back before.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn free(place: *mut u8, length: usize) {
    let bytes = std::ptr::slice_from_raw_parts_mut(place, length);
    // SAFETY: the caller says that `hand_over` made these bytes and that nobody else has them.
    drop(unsafe { Box::from_raw(bytes) });
}

/// Answers the request of `length` bytes at `place`, as [`crate::answer`] does. The answer begins with its length without
/// that head, in four bytes, least first.
///
/// # Safety
/// `place` must be room from [`alloc`] of at least this length.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn answer(place: *const u8, length: usize) -> *mut u8 {
    // SAFETY: the caller says that there is room of this length, and nothing else runs while it is read.
    let request = unsafe { std::slice::from_raw_parts(place, length) };
    let answer = super::answer(request);
    let mut bytes = Vec::with_capacity(HEAD + answer.len());
    // Memory here is counted in 32 bits, so every length fits.
    let count = u32::try_from(answer.len()).unwrap_or(u32::MAX);
    bytes.extend(count.to_le_bytes());
    bytes.extend(answer);
    hand_over(bytes)
}

fn hand_over(bytes: Vec<u8>) -> *mut u8 {
    Box::into_raw(bytes.into_boxed_slice()).cast()
}
