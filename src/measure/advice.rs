//! What there is to say about the results as a whole: plausibility, validity, and Cc seen in two ways.

use super::results::Results;
use super::{Findings, Fitted, Found, Output};
use crate::hydraulics::plausible::{Measured, Run, notices};
use crate::notice::Notice;
use crate::quantity::Kind;
use crate::sheet::{Checked, Correction, Launch};
use crate::uncertainty::SECOND_ORDER;

/// Adds the notices that the results deserve.
pub(crate) fn give(sheet: &Checked, fitted: &Fitted, results: &Results, findings: &mut Findings) {
    let measured = |found: &Option<Found>| found.as_ref().map(|f| -> Measured { (f.value, f.u) });
    let value = |found: &Option<Found>| found.as_ref().map(|f| f.value);
    let fit = &fitted.fit;
    let used = || fitted.points.iter().zip(&fit.used).filter(|(_, used)| **used).map(|(p, _)| p);
    let corrected = sheet.corrections.contains(&Correction::SurfaceTension) && !findings.corrections.is_empty();
    let run = Run {
        edge: Some(sheet.edge),
        cv: measured(&findings.cv),
        cd: measured(&findings.cd),
        cc: measured(&findings.cc),
        // compared below, where what both share (diameter, scale) is known
        cc_from_width: None,
        head_m: value(&findings.head).map(|h| h / 1000.0),
        diameter_m: Some(sheet.diameter.value.si()),
        reynolds: value(&findings.reynolds),
        // a correction that is applied need not be offered again
        weber: value(&findings.weber).filter(|_| !corrected),
        stations: Some(used().count()),
        drop_m: used().map(|p| p.y_mm / 1000.0).reduce(f64::max),
        launch_rad: match sheet.launch {
            Launch::Free => value(&findings.launch_angle).map(f64::to_radians),
            Launch::Level | Launch::Stated(_) => None,
        },
        clearance_m: None,
    };
    findings.notices.extend(notices(&run));
    findings.notices.extend(two_ways_to_cc(results));
    findings.notices.extend(beyond_the_linear(results));
}

/// Share of the velocity's variance from which products of inputs are told.
const TOLD_SHARE: f64 = 0.05;

/// What the products of inputs that are not well known add to the velocity's uncertainty.
fn beyond_the_linear(results: &Results) -> Option<Notice> {
    let velocity = results.get(Output::Velocity)?;
    let row = velocity.rows.iter().find(|row| row.name == SECOND_ORDER && row.share > TOLD_SHARE)?;
    let together = velocity.together.as_ref()?;
    let says = format!(
        "{:.0} % of the velocity's variance comes of what two doubtful inputs do together, first of all {together}",
        100.0 * row.share
    );
    Some(Notice::new("budget", says).hint("state either of them more closely, or mark what replaces it"))
}

/// Cc from the flow against Cc from the stream's width, over the standard uncertainty of their difference: the
/// diameter enters both alike, the scale one by V, the other by the width.
fn two_ways_to_cc(results: &Results) -> Option<Notice> {
    let (i, j) = (results.place(Output::Cc)?, results.place(Output::CcFromWidth)?);
    let covariance = &results.budget.covariance;
    let u = (covariance.get(i, i) + covariance.get(j, j) - 2.0 * covariance.get(i, j)).max(0.0).sqrt();
    let (flow, width) = (results.budget.outputs[i].value, results.budget.outputs[j].value);
    let apart = (flow - width).abs() / u;
    if apart.is_nan() || apart <= 2.0 {
        return None;
    }
    let says = format!(
        "cc is {flow:.3} from the discharge and {width:.3} from the stream's width, {apart:.1} standard uncertainties \
         of their difference apart"
    );
    let off = 100.0 * (flow / width - 1.0).abs();
    let hint = if width > flow {
        format!(
            "an outline {:.1} % too wide (blur, waves, a halo) or a discharge {off:.1} % too small would do it",
            0.5 * off
        )
    } else {
        format!(
            "an outline {:.1} % too thin (one rim missed) or a discharge {off:.1} % too large would do it",
            0.5 * off
        )
    };
    Some(Notice::new("cc", says).hint(hint))
}

#[cfg(test)]
mod tests {
    use crate::measure::simulated::{Marks, simulated};
    use crate::measure::{Draws, Findings};
    use crate::quantity::Kind;
    use crate::sheet::Flow;

    fn cc_notices(f: &Findings) -> Vec<&str> {
        f.notices.iter().filter(|n| n.says.contains("from the stream's width")).map(|n| n.says.as_str()).collect()
    }

    #[test]
    fn two_ways_to_cc_agree_until_the_flow_is_wrong() {
        let mut one = simulated(3, 4, Marks::Six, 60).unwrap();
        let f = one.findings(Draws::None).unwrap();
        assert!(cc_notices(&f).is_empty(), "{:?}", f.notices);
        let (flow, width) = (f.cc.unwrap(), f.cc_from_width.unwrap());
        assert!((flow.value - width.value).abs() < 3.0 * flow.u.hypot(width.u), "{flow:?} {width:?}");
        let Some(Flow::Discharge(q)) = &mut one.sheet.flow else { panic!("a stated discharge") };
        q.value = crate::quantity::VolumeRate::from_si(0.8 * q.value.si());
        let f = one.findings(Draws::None).unwrap();
        assert_eq!(cc_notices(&f).len(), 1, "{:?}", f.notices);
    }

    #[test]
    fn a_head_read_too_low_gives_a_cv_above_one_and_says_so() {
        let mut one = simulated(3, 4, Marks::Six, 60).unwrap();
        one.sheet.head[0].value = crate::quantity::Length::from_si(0.36);
        let f = one.findings(Draws::None).unwrap();
        assert!(f.notices.iter().any(|n| n.about == "cv" && n.says.contains("above 1")), "{:?}", f.notices);
    }

    #[test]
    fn a_head_that_falls_is_told_with_its_effect() {
        let mut one = simulated(3, 4, Marks::Six, 60).unwrap();
        let mut end = one.sheet.head[0];
        end.value = crate::quantity::Length::from_si(end.value.si() - 0.01);
        one.sheet.head.push(end);
        let f = one.findings(Draws::None).unwrap();
        let told = f.notices.iter().find(|n| n.says.contains("the head changed by -10.0 mm")).unwrap();
        assert!(told.says.contains("of velocity and discharge"), "{told:?}");
    }
}
