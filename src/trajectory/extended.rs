//! Numbers of twice the working precision, for the few sums that lose everything in plain ones.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// An unevaluated sum `high + low` of two `f64`, about 31 decimal digits.
///
/// Arithmetic after Dekker 1971, "A floating-point technique for extending the available
/// precision", Numer. Math. 18, 224-242, with Knuth's branch-free sum (The Art of Computer
/// Programming 2, section 4.2.2, theorem B) and the fused multiply-add for exact products.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extended {
    high: f64,
    low: f64,
}

impl Extended {
    pub(super) const ZERO: Self = Self { high: 0.0, low: 0.0 };

    pub(super) fn value(self) -> f64 {
        self.high + self.low
    }

    /// The exact sum of two doubles.
    fn sum(a: f64, b: f64) -> Self {
        let high = a + b;
        let part = high - a;
        Self { high, low: (a - (high - part)) + (b - part) }
    }

    /// As `sum`, for `|a| >= |b|`.
    fn quick_sum(a: f64, b: f64) -> Self {
        let high = a + b;
        Self { high, low: b - (high - a) }
    }

    pub(super) fn sqrt(self) -> Self {
        if self.high <= 0.0 {
            return Self::ZERO;
        }
        // one Newton step doubles the digits of the plain root
        let root = Self::from(self.high.sqrt());
        (root + self / root) * Self::from(0.5)
    }
}

impl From<f64> for Extended {
    fn from(high: f64) -> Self {
        Self { high, low: 0.0 }
    }
}

impl Add for Extended {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        let high = Self::sum(self.high, other.high);
        let low = Self::sum(self.low, other.low);
        let first = Self::quick_sum(high.high, high.low + low.high);
        Self::quick_sum(first.high, first.low + low.low)
    }
}

impl Neg for Extended {
    type Output = Self;
    fn neg(self) -> Self {
        Self { high: -self.high, low: -self.low }
    }
}

impl Sub for Extended {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Extended {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        let high = self.high * other.high;
        let low = self.high.mul_add(other.high, -high) + (self.high * other.low + self.low * other.high);
        Self::quick_sum(high, low)
    }
}

impl Div for Extended {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let first = self.high / other.high;
        let rest = self - other * Self::from(first);
        let second = rest.high / other.high;
        let rest = rest - other * Self::from(second);
        Self::quick_sum(first, second) + Self::from(rest.high / other.high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_what_plain_numbers_lose() {
        let tiny = Extended::from(1e-25);
        let one = Extended::from(1.0);
        assert_eq!(((one + tiny) - one).value(), 1e-25);
        let third = one / Extended::from(3.0);
        let back = third * Extended::from(3.0) - one;
        assert!(back.value().abs() < 1e-31, "{back:?}");
        let root = Extended::from(2.0).sqrt();
        assert!((root * root - Extended::from(2.0)).value().abs() < 1e-31);
        assert_eq!(Extended::ZERO.sqrt().value(), 0.0);
    }
}
