//! Second-order corrections of one run: offered each with its size, applied only when asked for.

use super::apparent::Estimator;
use super::drag::InAir;
use super::tension::{self, Corrected, Jet, PathGain};
use super::water::Water;
use super::{air, buoyancy, finite};
use crate::sheet::Correction;

/// All three, in the order in which they are offered.
pub const ALL: [Correction; 3] = [Correction::SurfaceTension, Correction::AirDrag, Correction::AirBuoyancy];

/// A run as far as its corrections need it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Situation {
    /// Speed at the vena contracta as the trajectory shows it, m/s.
    pub apparent_m_s: f64,
    /// Ideal velocity in m/s where a head is known.
    pub ideal_m_s: Option<f64>,
    /// Diameter of the jet at the vena contracta in m.
    pub jet_diameter_m: f64,
    /// Launch angle in rad, upwards positive.
    pub launch_rad: f64,
    /// First and last station, x in m.
    pub span_m: [f64; 2],
    /// How the velocity was read.
    pub estimator: Estimator,
    /// The water.
    pub water: Water,
    /// Air temperature in degrees Celsius.
    pub air_degc: f64,
    /// Air pressure in Pa.
    pub air_pressure_pa: f64,
    /// Gravity in m/s2.
    pub gravity_m_s2: f64,
}

/// What one correction would make of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offer {
    /// Which.
    pub correction: Correction,
    /// The velocity with the effect taken out.
    pub velocity: Corrected,
    /// Cv with the effect taken out of velocity and ideal velocity; `None` without a head.
    pub cv: Option<f64>,
    /// Relative change of Cv, and its standard uncertainty.
    pub cv_relative: f64,
    /// See `cv_relative`.
    pub u_cv_relative: f64,
}

/// What `correction` would make of a run; `None` where it cannot be computed (see the modules of each).
///
/// Surface tension enters Cv twice: through the path, and as the capillary pressure that lowers the
/// ideal velocity. The air's buoyancy leaves Cv as it is, for the head feels it too.
pub fn offer(correction: Correction, run: &Situation) -> Option<Offer> {
    match correction {
        Correction::SurfaceTension => surface_tension(run),
        Correction::AirDrag => {
            let in_air = InAir {
                diameter_m: run.jet_diameter_m,
                density_kg_m3: run.water.density_kg_m3,
                air_density_kg_m3: air::density_kg_m3(run.air_degc, run.air_pressure_pa)?,
                air_viscosity_pa_s: air::viscosity_pa_s(run.air_degc)?,
                gravity_m_s2: run.gravity_m_s2,
            };
            let velocity = in_air.correct(run.apparent_m_s, run.span_m, run.estimator)?;
            let cv = run.ideal_m_s.and_then(|ideal| finite(velocity.velocity_m_s / ideal));
            let (cv_relative, u_cv_relative) = (velocity.relative, velocity.u_relative);
            Some(Offer { correction, velocity, cv, cv_relative, u_cv_relative })
        }
        Correction::AirBuoyancy => {
            let air = air::density_kg_m3(run.air_degc, run.air_pressure_pa)?;
            let ratio = buoyancy::density_ratio(air, run.water.density_kg_m3)?;
            let velocity = buoyancy::correct_velocity(run.apparent_m_s, ratio, air::DENSITY_U_REL)?;
            let cv = run.ideal_m_s.and_then(|ideal| finite(run.apparent_m_s / ideal));
            Some(Offer { correction, velocity, cv, cv_relative: 0.0, u_cv_relative: 0.0 })
        }
    }
}

fn surface_tension(run: &Situation) -> Option<Offer> {
    let jet = Jet {
        diameter_m: run.jet_diameter_m,
        launch_rad: run.launch_rad,
        density_kg_m3: run.water.density_kg_m3,
        surface_tension_n_m: run.water.surface_tension_n_m,
        gravity_m_s2: run.gravity_m_s2,
    };
    let gain = PathGain::of(&jet, run.apparent_m_s, run.span_m, run.estimator)?;
    let velocity = gain.correct(&jet, run.apparent_m_s, tension::BENCH_WATER_U_REL)?;
    // The capillary part without a head: Vi^2 is near V^2, so eps of V serves for its size.
    let (cv, ideal_falls) = match run.ideal_m_s {
        Some(ideal) => {
            let lowered = tension::ideal_velocity_with_capillary_m_s(ideal, &jet)?;
            (finite(velocity.velocity_m_s / lowered), ideal / lowered - 1.0)
        }
        None => (None, jet.eps(velocity.velocity_m_s)?),
    };
    let cv_relative = (1.0 + velocity.relative) * (1.0 + ideal_falls) - 1.0;
    let u_cv_relative = cv_relative.abs() * tension::BENCH_WATER_U_REL.hypot(tension::MODEL_U_REL);
    Some(Offer { correction: Correction::SurfaceTension, velocity, cv, cv_relative, u_cv_relative })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(diameter_mm: f64, velocity_m_s: f64) -> Situation {
        Situation {
            apparent_m_s: velocity_m_s,
            ideal_m_s: Some(velocity_m_s / 0.97),
            jet_diameter_m: diameter_mm / 1e3,
            launch_rad: 0.0,
            span_m: [0.02, velocity_m_s * velocity_m_s / 9.81],
            estimator: Estimator::FreeLaunchAndOffset,
            water: Water::at(20.0).unwrap(),
            air_degc: 20.0,
            air_pressure_pa: air::SEA_LEVEL_PRESSURE_PA,
            gravity_m_s2: 9.81,
        }
    }

    #[test]
    fn sizes_at_the_bench() {
        let of = |correction| offer(correction, &run(4.0, 2.0)).unwrap();
        let tension = of(Correction::SurfaceTension);
        // About (eps/2) 1.16 for the path and eps more for Cv, eps = 0.0091.
        assert!((tension.velocity.relative - 0.0053).abs() < 2e-4, "{tension:?}");
        assert!((tension.cv_relative - 0.0141).abs() < 5e-4, "{tension:?}");
        assert!((tension.cv.unwrap() / 0.97 - 1.0 - tension.cv_relative).abs() < 1e-12);
        let drag = of(Correction::AirDrag);
        assert!(drag.velocity.relative > 0.0 && drag.velocity.relative < 0.002, "{drag:?}");
        assert!(drag.velocity.u_relative > drag.velocity.relative);
        let buoyancy = of(Correction::AirBuoyancy);
        assert!((buoyancy.velocity.relative + 0.000_603).abs() < 1e-6, "{buoyancy:?}");
        assert!((buoyancy.cv.unwrap() - 0.97).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_is_not_offered() {
        assert_eq!(offer(Correction::SurfaceTension, &run(1.0, 0.3)), None);
        assert_eq!(offer(Correction::AirDrag, &run(0.0, 2.0)), None);
        for correction in ALL {
            assert!(offer(correction, &Situation { ideal_m_s: None, ..run(4.0, 2.0) }).unwrap().cv.is_none());
        }
    }
}
