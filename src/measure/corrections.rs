//! Second-order corrections of a run: offered with their size, applied where the sheet lists them.
//!
//! Each is worked out once, from the results without any; what the budget and the draws move is its size, an input
//! `corrections.<name>` whose value is the relative change of the velocity.

use super::{CorrectionRow, Findings, Fitted, Found, Inputs, Model, Output, reduce::Scratch};
use crate::hydraulics::apparent::Estimator;
use crate::hydraulics::corrections::{ALL, Offer, Situation, offer};
use crate::hydraulics::drag::InAir;
use crate::hydraulics::plausible::HEAD_TO_DIAMETER_OF_CONCERN;
use crate::hydraulics::{air, coefficients, head, water::Water};
use crate::notice::Notice;
use crate::quantity::Kind;
use crate::sheet::{Checked, Correction, Launch};
use crate::uncertainty::Input;

/// How an applied correction acts on the results.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// Place of its input: the relative change of the velocity.
    pub input: usize,
    /// Relative change of the ideal velocity per relative change of the velocity: capillary pressure lowers it
    /// as the path's tension raises the velocity; buoyancy acts on both alike; drag leaves it.
    pub ideal_per_velocity: f64,
}

/// A correction with its size.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Offered {
    pub offer: Offer,
    /// Relative change of the ideal velocity.
    pub ideal_change: f64,
    pub applied: bool,
}

/// The word of the sheet.
pub(crate) fn name(correction: Correction) -> &'static str {
    match correction {
        Correction::SurfaceTension => "surface-tension",
        Correction::AirDrag => "air-drag",
        Correction::AirBuoyancy => "air-buoyancy",
    }
}

fn input_name(correction: Correction) -> &'static str {
    match correction {
        Correction::SurfaceTension => "corrections.surface-tension",
        Correction::AirDrag => "corrections.air-drag",
        Correction::AirBuoyancy => "corrections.air-buoyancy",
    }
}

/// The run as its corrections need it, from the results without any of them. `None` without water data, or where neither
/// a flow nor a width tells the jet's diameter.
pub(crate) fn run(sheet: &Checked, fitted: &Fitted, inputs: &Inputs, plain: &Model) -> Option<Situation> {
    let mut best = [f64::NAN; Output::ALL.len()];
    if !plain.reduce(&inputs.values(), &mut Scratch::default(), &mut best) {
        return None;
    }
    let of = |output: Output| Some(best[output as usize]).filter(|v| v.is_finite());
    let apparent_m_s = of(Output::Velocity)?;
    let jet_diameter_m = match of(Output::Discharge) {
        Some(q) => coefficients::vena_contracta_diameter_m(q / 1000.0, apparent_m_s)?,
        None => of(Output::StreamWidth)? / 1000.0,
    };
    let fit = &fitted.fit;
    let used = || fitted.points.iter().zip(&fit.used).filter(|(_, used)| **used).map(|(p, _)| p.x_mm);
    let lo = used().fold(f64::INFINITY, f64::min);
    let hi = used().fold(f64::NEG_INFINITY, f64::max);
    let estimator = match sheet.launch {
        Launch::Free => Estimator::FreeLaunchAndOffset,
        Launch::Level | Launch::Stated(_) => Estimator::LevelAndOffset,
    };
    let celsius = inputs.all[inputs.place.temperature].value;
    Some(Situation {
        apparent_m_s,
        ideal_m_s: of(Output::IdealVelocity),
        jet_diameter_m,
        launch_rad: of(Output::LaunchAngle)?.to_radians(),
        span_m: [((lo - fit.x_vc_mm) / 1000.0).max(0.0), (hi - fit.x_vc_mm) / 1000.0],
        estimator,
        water: Water::at(celsius).ok()?,
        // the room is taken to be as warm as the water: 5 K change drag and buoyancy by 2 % of themselves
        air_degc: celsius,
        air_pressure_pa: air::pressure_pa(sheet.altitude.value.si()).unwrap_or(air::SEA_LEVEL_PRESSURE_PA),
        gravity_m_s2: inputs.all[inputs.place.gravity].value,
    })
}

/// Share of its speed that drag takes from the jet per metre, over the stations' reach.
pub(crate) fn drag_per_m(run: &Situation) -> Option<f64> {
    let in_air = InAir {
        diameter_m: run.jet_diameter_m,
        density_kg_m3: run.water.density_kg_m3,
        air_density_kg_m3: air::density_kg_m3(run.air_degc, run.air_pressure_pa)?,
        air_viscosity_pa_s: air::viscosity_pa_s(run.air_degc)?,
        gravity_m_s2: run.gravity_m_s2,
    };
    let reach = run.span_m[1];
    (reach > 0.0).then(|| in_air.speed_lost(run.apparent_m_s, reach)).flatten().map(|lost| lost / reach)
}

/// All corrections that can be worked out for the run.
pub(crate) fn offered(sheet: &Checked, run: Option<&Situation>) -> Vec<Offered> {
    let Some(run) = run else { return Vec::new() };
    let one = |correction| {
        let offer = offer(correction, run)?;
        let v = offer.velocity.relative;
        let ideal_change = match correction {
            Correction::SurfaceTension => (1.0 + v) / (1.0 + offer.cv_relative) - 1.0,
            Correction::AirDrag => 0.0,
            Correction::AirBuoyancy => v,
        };
        Some(Offered { offer, ideal_change, applied: sheet.corrections.contains(&correction) && v != 0.0 })
    };
    ALL.into_iter().filter_map(one).collect()
}

/// Makes the listed ones inputs of the model, and says so.
pub(crate) fn apply(sheet: &Checked, offered: &[Offered], inputs: &mut Inputs, notices: &mut Vec<Notice>) {
    for o in offered.iter().filter(|o| o.applied) {
        let (correction, v) = (o.offer.correction, o.offer.velocity);
        let input = inputs.all.len();
        inputs.all.push(Input::normal(input_name(correction), v.relative, v.u_relative, ""));
        inputs.effects.push(Effect { input, ideal_per_velocity: o.ideal_change / v.relative });
        let says = format!("{} is applied: {}", name(correction), size(o));
        notices
            .push(Notice::new("trajectory.corrections", says).hint("take it off the list for the result without it"));
    }
    for correction in &sheet.corrections {
        if !offered.iter().any(|o| o.applied && o.offer.correction == *correction) {
            let says = format!("{} is listed but cannot be worked out, so it is not applied", name(*correction));
            let hint = "it needs the jet's diameter (a flow, or a stream found in the photo) and water of 0 to 40 degC";
            notices.push(Notice::new("trajectory.corrections", says).hint(hint));
        }
    }
}

/// `V +0.53 % ± 0.08 %, cv +1.41 % ± 0.20 %`.
fn size(o: &Offered) -> String {
    let percent = |value: f64, u: f64| format!("{:+.3} % ± {:.3} %", 100.0 * value, 100.0 * u);
    let v = o.offer.velocity;
    let mut text = format!("V {}", percent(v.relative, v.u_relative));
    if o.offer.cv_relative != 0.0 {
        text += &format!(", cv {}", percent(o.offer.cv_relative, o.offer.u_cv_relative));
    }
    text
}

/// Writes the applied ones among what went in.
pub(crate) fn record(offered: &[Offered], findings: &mut Findings) {
    let told: Vec<String> =
        offered.iter().filter(|o| o.applied).map(|o| format!("{} ({})", name(o.offer.correction), size(o))).collect();
    if !told.is_empty() {
        findings.inputs.insert("corrections applied".to_owned(), told.join("; "));
    }
}

/// The rows of the findings: each correction by itself upon the results as they stand.
pub(crate) fn rows(sheet: &Checked, offered: &[Offered], findings: &Findings) -> Vec<CorrectionRow> {
    let with = |found: &Option<Found>, change: f64, u: f64, applied: bool| {
        found.as_ref().map(|f| if applied { f.clone() } else { changed(f, change, u) })
    };
    let mut rows: Vec<CorrectionRow> = offered
        .iter()
        .map(|o| {
            let (v, applied) = (o.offer.velocity, o.applied);
            let share_u = if v.relative == 0.0 { 0.0 } else { (v.u_relative / v.relative).abs() };
            let (cv, cv_u) = (o.offer.cv_relative, o.offer.u_cv_relative);
            let cd = 1.0 / (1.0 + o.ideal_change) - 1.0;
            let cd_u = cd.abs() * share_u;
            CorrectionRow {
                correction: name(o.offer.correction).to_owned(),
                applied,
                velocity: with(&findings.velocity, v.relative, v.u_relative, applied),
                cv: with(&findings.cv, cv, cv_u, applied),
                cd: with(&findings.cd, cd, cd_u, applied),
                velocity_change: v.relative,
                velocity_change_u: v.u_relative,
                cv_change: cv,
                cv_change_u: cv_u,
                cd_change: cd,
                cd_change_u: cd_u,
            }
        })
        .collect();
    rows.extend(small_head(sheet, findings));
    rows
}

/// Cd with the velocity taken over the height of a vertical orifice instead of at its centre; where the head is below
/// five diameters (common practice, no source). No change of V: the jet's middle feels the head at the centre.
fn small_head(sheet: &Checked, findings: &Findings) -> Option<CorrectionRow> {
    let head_mm = findings.head.as_ref()?.value;
    let diameter_mm = sheet.diameter.value.si() * 1000.0;
    if head_mm > HEAD_TO_DIAMETER_OF_CONCERN * diameter_mm {
        return None;
    }
    let change = 1.0 / head::small_head_factor(0.5 * diameter_mm / head_mm)? - 1.0;
    Some(CorrectionRow {
        correction: "small-head".to_owned(),
        applied: false,
        velocity: None,
        cv: None,
        cd: findings.cd.as_ref().map(|cd| changed(cd, change, 0.0)),
        velocity_change: 0.0,
        velocity_change_u: 0.0,
        cv_change: 0.0,
        cv_change_u: 0.0,
        cd_change: change,
        cd_change_u: 0.0,
    })
}

/// A result changed by a share that is itself uncertain; the interval keeps its coverage factor.
fn changed(found: &Found, change: f64, u_change: f64) -> Found {
    let value = found.value * (1.0 + change);
    let u = (found.u * (1.0 + change)).hypot(found.value * u_change);
    let factor = if found.u > 0.0 { 0.5 * (found.hi - found.lo) / found.u } else { 1.96 };
    Found { value, u, lo: value - factor * u, hi: value + factor * u, unit: found.unit.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_changed_result_keeps_its_coverage_factor() {
        let found = Found { value: 2.0, u: 0.01, lo: 1.98, hi: 2.02, unit: "m/s".into() };
        let with = changed(&found, 0.01, 0.005);
        assert!((with.value - 2.02).abs() < 1e-12);
        assert!((with.u - 0.0101f64.hypot(0.01)).abs() < 1e-12);
        assert!((with.hi - with.value - 2.0 * with.u).abs() < 1e-12);
    }
    use crate::measure::Draws;
    use crate::measure::simulated::{Marks, simulated};

    #[test]
    fn listed_ones_enter_results_budget_notices_and_inputs() {
        let mut one = simulated(3, 4, Marks::Two, 60).unwrap();
        let plain = one.findings(Draws::None).unwrap();
        assert_eq!(plain.corrections.iter().filter(|r| r.applied).count(), 0);
        assert!(plain.inputs.is_empty());
        one.sheet.corrections = ALL.to_vec();
        let with = one.findings(Draws::None).unwrap();
        let value = |f: &Option<Found>| f.as_ref().unwrap().value;
        let product =
            |change: fn(&CorrectionRow) -> f64| -> f64 { plain.corrections.iter().map(|r| 1.0 + change(r)).product() };
        assert_eq!(plain.corrections.len(), 3);
        let v = value(&with.velocity) / value(&plain.velocity);
        assert!((v - product(|r| r.velocity_change)).abs() < 1e-12, "{v}");
        let cv = value(&with.cv) / value(&plain.cv);
        assert!((cv - product(|r| r.cv_change)).abs() < 1e-9 && cv > 1.0, "{cv}");
        let cd = value(&with.cd) / value(&plain.cd);
        assert!((cd - product(|r| r.cd_change)).abs() < 1e-9, "{cd}");
        assert!(value(&with.cc) < value(&plain.cc));
        for name in ["surface-tension", "air-drag", "air-buoyancy"] {
            assert!(with.budget["velocity"].iter().any(|r| r.input == format!("corrections.{name}")), "{name}");
            assert!(with.notices.iter().any(|n| n.says.starts_with(&format!("{name} is applied"))), "{name}");
            assert!(with.inputs["corrections applied"].contains(name));
            assert!(with.corrections.iter().any(|r| r.applied && r.correction == name));
        }
        // a single station is read as before
        assert_eq!(plain.stations[9].velocity, with.stations[9].velocity);
        let moved = with.stations[9].cv.unwrap() / plain.stations[9].cv.unwrap();
        assert!((moved - 1.0).abs() < 1e-12, "{moved}");
    }

    #[test]
    fn what_cannot_be_worked_out_is_told() {
        let mut one = simulated(3, 4, Marks::Two, 60).unwrap();
        one.sheet.corrections = vec![Correction::SurfaceTension];
        one.sheet.flow = None;
        one.sight.trace.stations.iter_mut().for_each(|s| s.width_px = None);
        let told = one.findings(Draws::None).unwrap();
        assert!(told.corrections.is_empty());
        assert!(told.notices.iter().any(|n| n.says.contains("surface-tension is listed but cannot be worked out")));
    }

    #[test]
    fn a_small_head_is_offered_with_its_size() {
        let mut one = simulated(3, 4, Marks::Two, 60).unwrap();
        one.sheet.diameter.value = crate::quantity::Length::from_si(0.1);
        let told = one.findings(Draws::None).unwrap();
        let row = told.corrections.iter().find(|r| r.correction == "small-head").unwrap();
        // 1 + (r/H)^2/32, Unwin 1911, sec. 40
        let head = value_of(&told.head);
        assert!((row.cd_change / ((50.0 / head).powi(2) / 32.0) - 1.0).abs() < 0.02, "{}", row.cd_change);
        assert!(told.notices.iter().any(|n| n.hint.as_ref().is_some_and(|h| h.contains("Cd would be"))));
    }

    fn value_of(found: &Option<Found>) -> f64 {
        found.as_ref().unwrap().value
    }
}
