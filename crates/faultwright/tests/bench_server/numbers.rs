//! Random numbers that a seed brings back.

/// xorshift64* (Vigna, "An experimental exploration of Marsaglia's xorshift generators, scrambled", 2016).
pub struct Numbers(u64);

impl Numbers {
    /// A seed of its own for each of several generators; 0 would give nothing but zeros.
    pub fn seeded(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// From 0 to 1, without 1.
    pub fn share(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        // The 53 bits that a double holds.
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From `low` to `high`, without `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }
}
