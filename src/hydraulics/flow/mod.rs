//! Discharge from what was caught in what time, as a model over named inputs.
//!
//! [`FlowModel`] is made once from the sheet: it checks everything that was stated, fits what is to be
//! fitted, and offers a few named inputs (`flow.volume`, `flow.time`, `flow.scatter` ...) with
//! standard uncertainties. [`FlowModel::discharge_m3_s`] is then a plain function of those numbers, cheap enough
//! for differences and for every draw of a simulation.
//!
//! Static gauging (repeats of a closed interval) and dynamic gauging (one filling, read without
//! stopping) follow ISO 8316:1987 for volumes and ISO 4185:1980 for weighing.

mod check;
mod running;
mod timed;

use super::{buoyancy, finite};
use crate::notice::Notice;
use crate::quantity::Kind;
use crate::sheet::{Caught, Filling, Flow};

/// Densities that turn a weighed mass into a volume; not used for volumes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Densities {
    /// Water in kg/m3.
    pub water_kg_m3: f64,
    /// Air in kg/m3; 0 leaves the buoyancy of weighing out.
    pub air_kg_m3: f64,
}

/// One named input of the discharge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowInput {
    /// Its name in the budget: `flow.time`.
    pub name: &'static str,
    /// Its value in `unit`.
    pub value: f64,
    /// Its standard uncertainty in `unit`.
    pub u: f64,
    /// Degrees of freedom of `u`; infinite where it is not from scatter.
    pub dof: f64,
    /// The SI unit.
    pub unit: &'static str,
}

/// A discharge with its standard uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Discharge {
    /// Value in m3/s.
    pub m3_s: f64,
    /// Standard uncertainty in m3/s (of the inputs `flow.*`; that of the densities is not in it).
    pub u_m3_s: f64,
    /// Effective degrees of freedom by Welch and Satterthwaite; may be infinite.
    pub dof: f64,
    /// What the user should know.
    pub notices: Vec<Notice>,
}

/// The discharge as a function of named inputs.
#[derive(Clone, Debug, PartialEq)]
pub struct FlowModel {
    rate: Rate,
    weighed: bool,
    inputs: Vec<FlowInput>,
    notices: Vec<Notice>,
}

/// How the rate (m3/s or kg/s) follows from the input values.
#[derive(Clone, Debug, PartialEq)]
enum Rate {
    Timed(timed::Timed),
    Running(running::Running),
    Stated,
}

/// One filling in plain numbers: m3 or kg, and s.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Catch {
    amount: f64,
    u_amount: f64,
    time_s: f64,
    u_time_s: f64,
}

impl FlowModel {
    /// The model of what the sheet states; the check of the sheet gave every reading its uncertainty, and one without counts
    /// as exact.
    ///
    /// # Errors
    /// All faults at once: nothing caught, a time or an amount that is not positive, running readings that
    /// do not rise, volumes and masses in one list, a negative uncertainty.
    pub fn new(flow: &Flow) -> Result<Self, Vec<Notice>> {
        check::check(flow)?;
        let mut notices = Vec::new();
        let model = |rate, weighed, inputs, notices| Self { rate, weighed, inputs, notices };
        match flow {
            Flow::Timed(fillings) => {
                let catches = plain(fillings);
                let weighed = is_weighed(fillings);
                let (timed, inputs) = timed::Timed::new(&catches, weighed, &mut notices);
                Ok(model(Rate::Timed(timed), weighed, inputs, notices))
            }
            Flow::Running(fillings) => {
                let catches = plain(fillings);
                let weighed = is_weighed(fillings);
                let (running, inputs) = running::Running::new(&catches, weighed, &mut notices);
                Ok(model(Rate::Running(running), weighed, inputs, notices))
            }
            Flow::Discharge(stated) => {
                let (value, u) = (stated.value.si(), stated.u.map_or(0.0, Kind::si));
                let input = FlowInput { name: "flow.discharge", value, u, dof: f64::INFINITY, unit: "m^3/s" };
                Ok(model(Rate::Stated, false, vec![input], notices))
            }
        }
    }

    /// The inputs at their best values, in the order that [`Self::discharge_m3_s`] takes them.
    pub fn inputs(&self) -> &[FlowInput] {
        &self.inputs
    }

    /// What the user should know about the flow as stated.
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }

    /// Whether the water was weighed, so that its density (temperature) enters.
    pub fn is_weighed(&self) -> bool {
        self.weighed
    }

    /// The discharge in m3/s for `values` of the inputs, in their order.
    ///
    /// `None` where a value leaves no positive discharge, or for a wrong number of values.
    pub fn discharge_m3_s(&self, values: &[f64], densities: Densities) -> Option<f64> {
        if values.len() != self.inputs.len() {
            return None;
        }
        let rate = match &self.rate {
            Rate::Timed(timed) => timed.rate(values),
            Rate::Running(running) => running.rate(values),
            Rate::Stated => values[0],
        };
        let volume_per_amount = if self.weighed {
            buoyancy::volume_of_weighed_m3(1.0, densities.water_kg_m3, densities.air_kg_m3)?
        } else {
            1.0
        };
        finite(rate * volume_per_amount).filter(|q| *q > 0.0)
    }

    /// The discharge at the best values, its uncertainty by central differences of half a standard
    /// uncertainty, its degrees of freedom by GUM equation G.2b (Welch-Satterthwaite).
    pub fn discharge(&self, densities: Densities) -> Option<Discharge> {
        let best: Vec<f64> = self.inputs.iter().map(|i| i.value).collect();
        let m3_s = self.discharge_m3_s(&best, densities)?;
        let (mut variance, mut fourths) = (0.0, 0.0);
        for (i, input) in self.inputs.iter().enumerate().filter(|(_, input)| input.u > 0.0) {
            let at = |value: f64| {
                let mut values = best.clone();
                values[i] = value;
                self.discharge_m3_s(&values, densities)
            };
            let half = 0.5 * input.u;
            let part = at(input.value + half)? - at(input.value - half)?;
            variance += part * part;
            fourths += part.powi(4) / input.dof;
        }
        let dof = if fourths > 0.0 { variance * variance / fourths } else { f64::INFINITY };
        Some(Discharge { m3_s, u_m3_s: variance.sqrt(), dof, notices: self.notices.clone() })
    }
}

fn is_weighed(fillings: &[Filling]) -> bool {
    fillings.iter().any(|f| matches!(f.caught, Caught::Mass(_)))
}

/// Plain numbers; what has no uncertainty counts as exact.
fn plain(fillings: &[Filling]) -> Vec<Catch> {
    let u = |u: Option<f64>| u.unwrap_or(0.0);
    fillings
        .iter()
        .map(|filling| {
            let (amount, u_amount) = match filling.caught {
                Caught::Volume(v) => (v.value.si(), u(v.u.map(Kind::si))),
                Caught::Mass(m) => (m.value.si(), u(m.u.map(Kind::si))),
            };
            Catch { amount, u_amount, time_s: filling.time.value.si(), u_time_s: u(filling.time.u.map(Kind::si)) }
        })
        .collect()
}

/// What a drift of the flow, in per cent from start to end, may do to Cd, which takes the mean flow; V is that of the photo.
fn effect_of_drift(drift: f64) -> String {
    format!("Cd and Cc, which take the mean flow, may be off by {:.2} % at the moment of the photo", 0.5 * drift.abs())
}

/// 0.975 quantile of Student's t. Source: GUM (JCGM 100:2008), table G.2, 95 %; 2.0 beyond 20.
fn t95(dof: usize) -> f64 {
    const TABLE: [f64; 20] = [
        12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23, 2.20, 2.18, 2.16, 2.14, 2.13, 2.12, 2.11, 2.10,
        2.09, 2.09,
    ];
    dof.checked_sub(1).and_then(|i| TABLE.get(i)).copied().unwrap_or(2.0)
}

#[cfg(test)]
pub(super) mod samples {
    //! Small makers of what the sheet would state, for the tests of this folder.
    use super::*;
    use crate::quantity::{Mass, Reading, Time, Volume};

    pub(crate) const COLD: Densities = Densities { water_kg_m3: 998.2067, air_kg_m3: 1.2041 };

    pub(crate) fn litres(volume_l: f64, u_l: f64, time_s: f64, u_s: f64) -> Filling {
        let volume = Reading::with_u(Volume::from_si(volume_l / 1e3), Volume::from_si(u_l / 1e3));
        Filling { caught: Caught::Volume(volume), time: Reading::with_u(Time::from_si(time_s), Time::from_si(u_s)) }
    }

    pub(crate) fn kilograms(mass_kg: f64, time_s: f64) -> Filling {
        Filling {
            caught: Caught::Mass(Reading::exact(Mass::from_si(mass_kg))),
            time: Reading::exact(Time::from_si(time_s)),
        }
    }

    /// Normal deviates of a stated seed: a 64-bit congruential generator and the polar-free Box-Muller.
    pub(crate) struct Normal(pub(crate) u64);

    impl Normal {
        fn uniform(&mut self) -> f64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
        }

        pub(crate) fn draw(&mut self) -> f64 {
            (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::samples::{COLD, kilograms, litres};
    use super::*;
    use crate::quantity::{Reading, VolumeRate};

    #[test]
    fn a_stated_discharge() {
        let stated = Reading::with_u(VolumeRate::from_si(2.36e-4), VolumeRate::from_si(1e-6));
        let q = FlowModel::new(&Flow::Discharge(stated)).unwrap().discharge(COLD).unwrap();
        assert!((q.m3_s - 2.36e-4).abs() < 1e-18 && (q.u_m3_s - 1e-6).abs() < 1e-15);
        assert!(q.dof.is_infinite() && q.notices.is_empty());
        let bare = FlowModel::new(&Flow::Discharge(Reading::exact(VolumeRate::from_si(2e-4)))).unwrap();
        assert_eq!((bare.inputs()[0].value, bare.inputs()[0].u), (2e-4, 0.0));
    }

    /// 5.00 L in a vessel of 0.02 L divisions (triangular: 0.02/(2 sqrt 6) each end, two ends), 32 s, 0.10 s:
    /// the stop-watch gives 0.31 %; with 0.0082 L for the volume 0.353 % in all.
    #[test]
    fn one_filling_by_hand() {
        let model = FlowModel::new(&Flow::Timed(vec![litres(5.0, 0.02 / 6f64.sqrt(), 32.0, 0.10)])).unwrap();
        let q = model.discharge(COLD).unwrap();
        assert!((q.m3_s - 0.005 / 32.0).abs() < 1e-18);
        assert!((q.u_m3_s / q.m3_s * 100.0 - 0.353).abs() < 0.0006, "{}", q.u_m3_s / q.m3_s);
        assert!(q.dof.is_infinite());
    }

    #[test]
    fn weighing_knows_the_density_and_the_air() {
        let model = FlowModel::new(&Flow::Timed(vec![kilograms(9.98, 42.3)])).unwrap();
        assert!(model.is_weighed());
        assert_eq!(model.inputs().iter().map(|i| i.name).collect::<Vec<_>>(), ["flow.mass", "flow.time"]);
        // one filling only
        assert_eq!(model.notices().len(), 1);
        let values: Vec<f64> = model.inputs().iter().map(|i| i.value).collect();
        let with_air = model.discharge_m3_s(&values, COLD).unwrap();
        let without = model.discharge_m3_s(&values, Densities { air_kg_m3: 0.0, ..COLD }).unwrap();
        assert!((without - 9.98 / 998.2067 / 42.3).abs() < 1e-15);
        assert!((with_air / without - 1.001_057).abs() < 1e-6);
        assert_eq!(model.discharge_m3_s(&values[..1], COLD), None);
        assert_eq!(model.discharge_m3_s(&[-1.0, 42.3], COLD), None);
    }
}
