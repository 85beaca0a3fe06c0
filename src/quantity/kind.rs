//! The kinds of quantity a sheet may hold, each a `uom` type with one SI unit beneath.

use uom::si::f64::{
    Acceleration, Angle, Area, Length, Mass, Power, Pressure, Ratio, Time, Velocity, Volume, VolumeRate,
};

/// A kind of quantity whose value is a plain number in one coherent SI unit.
///
/// Differences and uncertainties of a kind are of that kind too: `Celsius(0.2)` as an
/// uncertainty means 0.2 K.
pub trait Kind: Copy + PartialEq + std::fmt::Debug + Send + Sync + 'static {
    /// The word for the kind, as in "a length".
    const NAME: &'static str;
    /// From a number in the kind's SI unit (for temperatures: degrees Celsius).
    fn from_si(value: f64) -> Self;
    /// The number in the kind's SI unit (for temperatures: degrees Celsius).
    fn si(self) -> f64;
}

/// A Celsius temperature, or a difference of two.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Celsius(pub f64);

impl Kind for Celsius {
    const NAME: &'static str = "temperature";
    fn from_si(value: f64) -> Self {
        Self(value)
    }
    fn si(self) -> f64 {
        self.0
    }
}

macro_rules! kind {
    ($($ty:ident $name:literal;)*) => {$(
        impl Kind for $ty {
            const NAME: &'static str = $name;
            fn from_si(value: f64) -> Self {
                Self { dimension: std::marker::PhantomData, units: std::marker::PhantomData, value }
            }
            fn si(self) -> f64 {
                self.value
            }
        }
    )*};
}

kind! {
    Length "length"; Area "area"; Volume "volume"; Mass "mass"; Time "time"; Angle "angle";
    Velocity "velocity"; Acceleration "acceleration"; VolumeRate "discharge"; Pressure "pressure";
    Power "power"; Ratio "number";
}
