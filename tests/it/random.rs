//! Random numbers that are the same in every run and on every machine.

/// A small generator of pseudo-random numbers: xorshift64* (Marsaglia 2003, with Vigna's multiplier).
pub(crate) struct Random(u64);

impl Random {
    /// A generator whose numbers follow from `seed` alone.
    pub(crate) fn new(seed: u64) -> Self {
        let mut random = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        for _ in 0..8 {
            random.bits();
        }
        random
    }

    /// 64 random bits.
    pub(crate) fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    /// A number in 0 .. n.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        let n = u64::try_from(n).expect("a small number");
        usize::try_from((self.bits() >> 16) % n).expect("less than a usize")
    }

    /// A number in `low ..= high`.
    pub(crate) fn within(&mut self, low: usize, high: usize) -> usize {
        low + self.below(high - low + 1)
    }

    /// A number in 0.0 .. 1.0.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A number between `low` and `high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// `true` once in `n` times.
    pub(crate) fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    /// One of the items.
    pub(crate) fn pick<'a, T>(&mut self, items: &'a [T]) -> &'a T {
        &items[self.below(items.len())]
    }

    /// Puts the items in a random order.
    pub(crate) fn shuffle<T>(&mut self, items: &mut [T]) {
        for i in (1..items.len()).rev() {
            items.swap(i, self.below(i + 1));
        }
    }
}
