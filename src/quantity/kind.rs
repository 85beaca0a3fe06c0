//! The kinds of quantity a sheet may hold, each a `uom` type with one SI unit beneath.

use uom::si::f64::{
    Acceleration, Angle, Area, Length, Mass, Power, Pressure, Ratio, Time, Velocity, Volume, VolumeRate,
};

use super::units::{self, Unit};

/// A kind of quantity whose value is a plain number in one coherent SI unit.
///
/// Differences and uncertainties of a kind are of that kind too: `Celsius(0.2)` as an
/// uncertainty means 0.2 K.
pub trait Kind: Copy + PartialEq + std::fmt::Debug + Send + Sync + 'static {
    /// The word for the kind, as in "a length".
    const NAME: &'static str;
    /// The units it is read and written in; the first is the one that [`Kind::si`] counts.
    const UNITS: &'static [Unit];
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
    const UNITS: &'static [Unit] = units::TEMPERATURE;
    fn from_si(value: f64) -> Self {
        Self(value)
    }
    fn si(self) -> f64 {
        self.0
    }
}

macro_rules! kind {
    ($($ty:ident $name:literal $units:ident;)*) => {$(
        impl Kind for $ty {
            const NAME: &'static str = $name;
            const UNITS: &'static [Unit] = units::$units;
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
    Length "length" LENGTH; Area "area" AREA; Volume "volume" VOLUME; Mass "mass" MASS; Time "time" TIME;
    Angle "angle" ANGLE; Velocity "velocity" VELOCITY; Acceleration "acceleration" ACCELERATION;
    VolumeRate "discharge" DISCHARGE; Pressure "pressure" PRESSURE; Power "power" POWER; Ratio "number" NUMBER;
}
