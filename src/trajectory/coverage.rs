//! Synthetic stations of known truth: does the 95 % interval hold the velocity 95 times in 100?

/// Repeatable noise for tests (SplitMix64: Steele, Lea & Flood 2014, "Fast splittable pseudorandom
/// number generators", OOPSLA; normal values by Box & Muller 1958).
pub(super) struct Noise(u64);

impl Noise {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(super) fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (((z ^ (z >> 31)) >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    pub(super) fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }

    /// A first-order autoregressive series of variance 1.
    pub(super) fn autoregressive(&mut self, n: usize, phi: f64) -> Vec<f64> {
        let mut last = self.normal();
        (0..n)
            .map(|_| {
                let now = last;
                last = phi * last + (1.0 - phi * phi).sqrt() * self.normal();
                now
            })
            .collect()
    }
}
