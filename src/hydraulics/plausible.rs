//! Is it plausible, and does it lie where coefficients are known to hold? Notices, never refusals.

use crate::notice::Notice;
use crate::sheet::Edge;

/// Bands in which a sharp-edged orifice is expected: Cv, Cd, Cc (common practice, no source).
pub const SHARP_BANDS: [[f64; 2]; 3] = [[0.94, 1.00], [0.57, 0.67], [0.58, 0.68]];

/// Least contraction coefficient that an orifice can have: the re-entrant tube's 1/2.
/// Source: J. C. Borda; Unwin 1911, "Hydraulics", sec. 37.
pub const LEAST_CC: f64 = 0.5;

/// Reynolds number below which Cd of a sharp orifice depends on it (common practice, no source).
pub const REYNOLDS_OF_CONCERN: f64 = 1e4;

/// Head over diameter below which the orifice is no longer small (common practice, no source).
pub const HEAD_TO_DIAMETER_OF_CONCERN: f64 = 5.0;

/// Distance to the nearest wall over diameter below which the contraction is not full.
/// Source: Unwin 1911, "Hydraulics", sec. 23, "generally stated", for the sides of the vessel.
pub const CLEARANCE_OF_CONCERN: f64 = 2.7;

/// Fewest stations for a trajectory worth its uncertainty (common practice, no source).
pub const STATIONS_OF_CONCERN: usize = 20;

/// Drop of the last station in m below which little is known of the curvature (common practice, no source).
pub const DROP_OF_CONCERN_M: f64 = 0.050;

/// Launch angle in rad above which the vertical or the plate deserves a look: 1 deg (common practice, no source).
pub const LAUNCH_OF_CONCERN_RAD: f64 = std::f64::consts::PI / 180.0;

/// A value with its standard uncertainty.
pub type Measured = (f64, f64);

/// What a run gave; `None` for what it did not.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Run {
    /// Kind of orifice.
    pub edge: Option<Edge>,
    /// Coefficient of velocity.
    pub cv: Option<Measured>,
    /// Coefficient of discharge.
    pub cd: Option<Measured>,
    /// Coefficient of contraction.
    pub cc: Option<Measured>,
    /// Head in m.
    pub head_m: Option<f64>,
    /// Orifice diameter in m.
    pub diameter_m: Option<f64>,
    /// Reynolds number of the jet.
    pub reynolds: Option<f64>,
    /// Stations that the fit used.
    pub stations: Option<usize>,
    /// Drop of the last station in m.
    pub drop_m: Option<f64>,
    /// Launch angle in rad, where it was left free.
    pub launch_rad: Option<Measured>,
    /// Distance in m from the orifice's edge to the nearest wall, floor or free surface.
    pub clearance_m: Option<f64>,
}

/// All that there is to say about a run.
pub fn notices(run: &Run) -> Vec<Notice> {
    let mut told = Vec::new();
    coefficients(run, &mut told);
    validity(run, &mut told);
    told
}

fn coefficients(run: &Run, told: &mut Vec<Notice>) {
    if let Some((cv, u)) = run.cv.filter(|(cv, _)| *cv > 1.0) {
        let times = if u > 0.0 { (cv - 1.0) / u } else { f64::INFINITY };
        let notice = if times > 2.0 {
            Notice::new("cv", format!("Cv is {cv:.4}, above 1, which no orifice can give")).doubt()
        } else {
            let by = format!("above 1 by {times:.1} of its standard uncertainties, so it may be chance");
            Notice::new("cv", format!("Cv is {cv:.4}, {by}"))
        };
        told.push(notice.hint(what_would_lower(cv - 1.0, run.head_m)));
    }
    if let Some((cc, _)) = run.cc.filter(|(cc, _)| *cc < LEAST_CC || *cc > 1.0) {
        let bound = if cc > 1.0 { "above 1, so wider than the orifice" } else { "below 0.5, the least of any orifice" };
        let hint = "check the discharge, the orifice's diameter and the velocity: Cc is Q over area times velocity";
        told.push(Notice::new("cc", format!("Cc is {cc:.4}, {bound}")).doubt().hint(hint));
    }
    if run.edge == Some(Edge::Sharp) {
        let three = [("Cv", run.cv), ("Cd", run.cd), ("Cc", run.cc)];
        for ((name, measured), [lo, hi]) in three.into_iter().zip(SHARP_BANDS) {
            let Some((value, u)) = measured else { continue };
            // What is outside a band by chance only is no news; what the lines above told is told.
            let already = name == "Cv" && value > 1.0 || name == "Cc" && !(LEAST_CC..=1.0).contains(&value);
            if !already && (value + 2.0 * u < lo || value - 2.0 * u > hi) {
                let says = format!("{name} is {value:.3}; sharp-edged orifices mostly lie between {lo} and {hi}");
                let hint = "an edge that is not sharp, a chipped plate or a misread diameter does this";
                told.push(Notice::new(name.to_lowercase(), says).doubt().hint(hint));
            }
        }
    }
}

/// Each by itself would bring Cv down to 1: half the share shows in V for a scale or head error.
fn what_would_lower(excess: f64, head_m: Option<f64>) -> String {
    let scale = 200.0 * excess;
    let head = head_m.map_or(String::new(), |h| format!(", a head read {:.1} mm too low", 2000.0 * excess * h));
    format!("a scale stated {scale:.1} % too long{head} or a vertical that is off would explain it")
}

fn validity(run: &Run, told: &mut Vec<Notice>) {
    if let Some(re) = run.reynolds.filter(|re| *re < REYNOLDS_OF_CONCERN) {
        let says = format!("the Reynolds number is {re:.0}; below 10000 the coefficients depend on it");
        told.push(Notice::new("reynolds", says).hint("compare with runs of the same Reynolds number only"));
    }
    if let (Some(h), Some(d)) = (run.head_m, run.diameter_m)
        && h < HEAD_TO_DIAMETER_OF_CONCERN * d
    {
        let says = format!("the head is {:.1} orifice diameters; below 5 the orifice is not small", h / d);
        let by = super::head::small_head_factor(0.5 * d / h).map_or(String::new(), |factor| {
            let share = 100.0 * (1.0 / factor - 1.0);
            format!(
                "; reckoned over a vertical orifice's height instead of at its centre, Cd would be {share:.3} % larger"
            )
        });
        told.push(Notice::new("head.reading", says).hint(format!("raise the head{by}")));
    }
    if let (Some(free), Some(d)) = (run.clearance_m, run.diameter_m)
        && free < CLEARANCE_OF_CONCERN * d
    {
        let says = format!(
            "the nearest wall or surface is {:.1} orifice diameters away; below {CLEARANCE_OF_CONCERN} the contraction is not full",
            free / d
        );
        let hint =
            "Cc and Cd are larger than published ones of a free orifice; move the wall, or compare like with like";
        told.push(Notice::new("orifice.clearance", says).hint(hint));
    }
    if let Some(n) = run.stations.filter(|n| *n < STATIONS_OF_CONCERN) {
        let says = format!("only {n} stations carry the trajectory");
        told.push(Notice::new("stream", says).doubt().hint("widen look_in, or place stations by hand"));
    }
    if let Some(drop) = run.drop_m.filter(|drop| *drop < DROP_OF_CONCERN_M) {
        let says = format!("the last station is only {:.0} mm below the orifice", drop * 1e3);
        told.push(
            Notice::new("stream.until", says).doubt().hint("let the photo show more of the fall, 100 mm or better"),
        );
    }
    // a nozzle may point anywhere; a plate's jet leaves level
    let stands_out = |(a, u): &Measured| a.abs() > LAUNCH_OF_CONCERN_RAD && a.abs() > 2.0 * u;
    if let Some((launch, u)) = run.launch_rad.filter(stands_out).filter(|_| run.edge != Some(Edge::Nozzle)) {
        let says =
            format!("the jet seems to start {:+.2} ± {:.2} deg to the level", launch.to_degrees(), u.to_degrees());
        let hint = "check the plumb line; the plate may not stand upright either";
        told.push(Notice::new("vertical", says).doubt().hint(hint));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(run: Run) -> Vec<String> {
        notices(&run).into_iter().map(|n| n.says).collect()
    }

    #[test]
    fn a_good_run_is_quiet() {
        let run = Run {
            edge: Some(Edge::Sharp),
            cv: Some((0.975, 0.003)),
            cd: Some((0.612, 0.004)),
            cc: Some((0.628, 0.004)),
            head_m: Some(0.412),
            diameter_m: Some(0.012),
            reynolds: Some(27_000.0),
            stations: Some(180),
            drop_m: Some(0.25),
            launch_rad: Some((0.003, 0.001)),
            clearance_m: Some(0.05),
        };
        assert!(said(run).is_empty(), "{:?}", said(run));
        assert!(said(Run::default()).is_empty());
    }

    #[test]
    fn cv_above_one_says_what_would_explain_it() {
        let run = Run { cv: Some((1.02, 0.004)), head_m: Some(0.4), ..Run::default() };
        let told = notices(&run);
        assert_eq!(told[0].says, "Cv is 1.0200, above 1, which no orifice can give");
        let hint = told[0].hint.as_deref().unwrap();
        assert_eq!(
            hint,
            "a scale stated 4.0 % too long, a head read 16.0 mm too low or a vertical that is off would explain it"
        );
        assert!(said(Run { cv: Some((1.002, 0.004)), ..run })[0].contains("may be chance"));
    }

    #[test]
    fn every_limit_speaks_once() {
        let run = Run {
            edge: Some(Edge::Sharp),
            cv: Some((0.89, 0.01)),
            cd: Some((0.708, 0.01)),
            cc: Some((1.1, 0.01)),
            head_m: Some(0.05),
            diameter_m: Some(0.012),
            reynolds: Some(8000.0),
            stations: Some(9),
            drop_m: Some(0.02),
            launch_rad: Some((-0.03, 0.001)),
            clearance_m: Some(0.012),
        };
        let told = said(run);
        assert_eq!(told.len(), 9, "{told:#?}");
        assert_eq!(told.iter().filter(|s| s.starts_with("Cc")).count(), 1);
    }

    #[test]
    fn a_nozzle_may_point_upwards_and_chance_is_no_news() {
        let run = Run { edge: Some(Edge::Sharp), launch_rad: Some((0.49, 0.003)), ..Run::default() };
        assert!(said(run)[0].contains("+28.07 ± 0.17 deg"), "{:?}", said(run));
        assert!(said(Run { edge: Some(Edge::Nozzle), ..run }).is_empty());
        assert!(said(Run { launch_rad: Some((0.02, 0.015)), ..run }).is_empty());
    }
}
