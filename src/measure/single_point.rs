//! The square-and-yardstick view: does every station give the same velocity, and what would explain it if not.

use super::corrections::drag_per_m;
use super::{CauseRow, Findings, Fitted, SinglePointView};
use crate::hydraulics::coefficients::single_point_velocity_inclined_m_s;
use crate::hydraulics::corrections::Situation;
use crate::hydraulics::single_point::{Cause, Expected, SinglePoint, drift};
use crate::quantity::Kind;
use crate::sheet::{Checked, Launch};

/// A free launch steeper than this is read as such, a flatter one as level: what a square and a yardstick take for
/// level. Also the largest angle that the kernel counts among possible causes of a drift.
const LEVEL_UP_TO_DEG: f64 = 3.0;

/// The drift of the single stations' velocities, read from the marked orifice with a level (or the stated) launch, as
/// one would by hand: there a tilt or a wrong origin shows, which a fit with free launch takes up.
///
/// Told as a notice where it stands out of the stations' scatter *and* exceeds twice the velocity's own relative
/// uncertainty, so that a reading by hand at one end would contradict the result.
pub(crate) fn view(
    sheet: &Checked,
    fitted: &Fitted,
    run: Option<&Situation>,
    findings: &mut Findings,
) -> Option<SinglePointView> {
    let fit = &fitted.fit;
    let seen_deg = fit.launch_angle_rad().to_degrees();
    let launch_deg = match sheet.launch {
        Launch::Level => 0.0,
        Launch::Stated(angle) => angle.value.si().to_degrees(),
        Launch::Free if seen_deg.abs() < LEVEL_UP_TO_DEG => 0.0,
        Launch::Free => seen_deg,
    };
    let launch = launch_deg.to_radians();
    let gravity = run.map(|r| r.gravity_m_s2).or_else(|| {
        // without a run for the corrections the ideal velocity tells gravity; the drift is relative, any value serves
        let (head, ideal) = (findings.head.as_ref()?.value / 1000.0, findings.ideal_velocity.as_ref()?.value);
        Some(ideal * ideal / (2.0 * head))
    });
    let gravity = gravity.unwrap_or(crate::hydraulics::gravity::CONVENTIONAL_M_S2);
    let stations: Vec<SinglePoint> = fitted
        .points
        .iter()
        .enumerate()
        .filter(|(i, _)| fit.used[*i])
        .filter_map(|(i, p)| {
            let x_m = (p.x_mm - fit.x_vc_mm) / 1000.0;
            // the vena contracta lies on the launch line through the orifice's centre
            let y_m = p.y_mm / 1000.0 + fit.x_vc_mm / 1000.0 * launch.tan();
            let fall_m = y_m + x_m * launch.tan();
            let velocity_m_s = single_point_velocity_inclined_m_s(x_m, y_m, gravity, launch)?;
            let u_drop_m = fitted.u_mm[i] * fit.slope(p.x_mm).hypot(1.0) / 1000.0;
            let u_m_s = 0.5 * velocity_m_s * u_drop_m / fall_m;
            Some(SinglePoint { x_m, y_m: fall_m, velocity_m_s, u_m_s })
        })
        .collect();
    let expected = Expected {
        eps: findings.weber.as_ref().map(|we| 2.0 / we.value),
        drag_per_m: run.and_then(drag_per_m),
        diameter_m: Some(sheet.diameter.value.si()),
    };
    let drift = drift(&stations, fit.n_effective, &expected)?;
    let matters = findings.velocity.as_ref().is_some_and(|v| drift.rise.abs() > 2.0 * v.u / v.value);
    if matters && let Some(mut notice) = drift.notice() {
        if matches!(sheet.launch, Launch::Free) {
            let hint = notice.hint.unwrap_or_default();
            notice.hint = Some(format!("{hint}; the fit has a launch angle and an origin height of its own"));
        }
        findings.notices.push(notice);
    }
    Some(SinglePointView {
        launch_deg,
        rise: drift.rise,
        rise_u: drift.u_rise,
        x_mm: drift.x_m.map(|x| 1000.0 * x),
        significant: drift.is_significant(),
        causes: drift
            .causes
            .iter()
            .map(|c| CauseRow {
                cause: name(c.cause).to_owned(),
                says: c.words(),
                explains: c.explains,
                can_be: c.can_be,
            })
            .collect(),
    })
}

fn name(cause: Cause) -> &'static str {
    match cause {
        Cause::Launch => "launch",
        Cause::Vertical => "vertical",
        Cause::OriginAlong => "origin along",
        Cause::OriginHeight => "origin height",
        Cause::Lens => "lens",
        Cause::Drag => "air drag",
        Cause::SurfaceTension => "surface tension",
    }
}

#[cfg(test)]
mod tests {
    use crate::measure::Draws;
    use crate::measure::simulated::{Marks, simulated};
    use crate::quantity::Kind;
    use crate::sheet::Launch;

    /// The simulated jet starts 0.4 deg upward: read as level it drifts, and a tilt is named with that size.
    #[test]
    fn a_tilt_shows_in_single_stations() {
        let mut one = simulated(3, 4, Marks::Six, 60).unwrap();
        let f = one.findings(Draws::None).unwrap();
        let view = f.single_point.unwrap();
        assert!(view.significant && view.rise < 0.0 && view.launch_deg == 0.0, "{view:?}");
        let launch = view.causes.iter().find(|c| c.cause == "launch").unwrap();
        assert!(launch.can_be && launch.explains > 0.9, "{view:?}");
        assert!(f.notices.iter().any(|n| n.about == "stations" && n.says.contains("falls by")), "{:?}", f.notices);
        // stated as what it is, the drift is gone but for what the marks leave open
        let Launch::Free = one.sheet.launch else { panic!("free") };
        let angle = crate::quantity::Angle::from_si(0.4f64.to_radians());
        one.sheet.launch = Launch::Stated(crate::quantity::Reading { value: angle, u: None });
        one.sheet.launch_u = crate::quantity::Angle::from_si(0.1f64.to_radians());
        let stated = one.findings(Draws::None).unwrap().single_point.unwrap();
        assert!(stated.rise.abs() < 0.2 * view.rise.abs(), "{stated:?} {view:?}");
    }
}
