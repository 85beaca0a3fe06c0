//! What there is to say about the results as a whole: plausibility, validity, and Cc seen in two ways.

use super::results::Results;
use super::{Findings, Fitted, Found, Output};
use crate::hydraulics::plausible::{Measured, Run, notices};
use crate::hydraulics::tension::WEBER_OF_CONCERN;
use crate::notice::Notice;
use crate::quantity::{Kind, show_plain, two_digits};
use crate::sheet::{Checked, Launch};
use crate::uncertainty::SECOND_ORDER;

/// Adds the notices that the results deserve.
pub(crate) fn give(sheet: &Checked, fitted: &Fitted, results: &Results, findings: &mut Findings) {
    let measured = |found: &Option<Found>| found.as_ref().map(|f| -> Measured { (f.value, f.u) });
    let value = |found: &Option<Found>| found.as_ref().map(|f| f.value);
    let fit = &fitted.fit;
    let used = || fitted.points.iter().zip(&fit.used).filter(|(_, used)| **used).map(|(p, _)| p);
    let run = Run {
        edge: Some(sheet.edge),
        cv: measured(&findings.cv),
        cd: measured(&findings.cd),
        cc: measured(&findings.cc),
        head_m: value(&findings.head).map(|h| h / 1000.0),
        diameter_m: Some(sheet.diameter.value.si()),
        reynolds: value(&findings.reynolds),
        stations: Some(used().count()),
        drop_m: used().map(|p| p.y_mm / 1000.0).reduce(f64::max),
        launch_rad: match sheet.launch {
            Launch::Free => measured(&findings.launch_angle).map(|(a, u)| (a.to_radians(), u.to_radians())),
            Launch::Level | Launch::Stated(_) => None,
        },
        clearance_m: sheet.clearance.map(|c| c.value.si()),
    };
    findings.notices.extend(notices(&run));
    findings.notices.extend(uncorrected(findings));
    findings.notices.extend(two_ways_to_cc(results));
    findings.notices.extend(motion(results));
    findings.notices.extend(beyond_the_linear(results));
}

/// Second-order effects that are not corrected for and that the intervals of V or Cv do not hold; surface tension also below the
/// Weber number of concern.
fn uncorrected(findings: &Findings) -> Vec<Notice> {
    let half = |f: &Option<Found>| f.as_ref().map_or(f64::INFINITY, |f| 0.5 * (f.hi - f.lo) / f.value.abs());
    let (half_v, half_cv) = (half(&findings.velocity), half(&findings.cv));
    let weber = findings.weber.as_ref().map(|f| f.value).filter(|we| *we < WEBER_OF_CONCERN);
    let told = findings.corrections.iter().filter(|row| !row.applied).filter_map(|row| {
        let (about, what) = match row.correction.as_str() {
            "surface-tension" => {
                let at = weber.map_or(String::new(), |we| format!("the Weber number is {we:.0}: "));
                ("weber", format!("{at}surface tension"))
            }
            "air-drag" => ("trajectory.corrections", "drag of the air".to_owned()),
            "air-buoyancy" => ("trajectory.corrections", "buoyancy in air".to_owned()),
            _ => return None,
        };
        let changes = [("V", row.velocity_change, half_v), ("Cv", row.cv_change, half_cv)];
        let beyond: Vec<String> = changes
            .iter()
            .filter(|(_, change, half)| change.abs() > *half)
            .map(|(label, _, half)| format!("{label} (± {} %)", digits(100.0 * half)))
            .collect();
        if beyond.is_empty() && (about != "weber" || weber.is_none()) {
            return None;
        }
        let reads =
            changes.iter().filter(|(_, change, half)| *change != 0.0 && half.is_finite()).map(|(label, change, _)| {
                format!(
                    "{label} read {} % {}",
                    digits(100.0 * change.abs()),
                    if *change > 0.0 { "low" } else { "high" }
                )
            });
        let reads = reads.collect::<Vec<_>>().join(", ");
        let hint = format!("corrections = [\"{}\"] under [trajectory] takes it out", row.correction);
        let notice = |says: String| Notice::new(about, says).hint(hint.as_str());
        Some(if beyond.is_empty() {
            notice(format!("{what} makes {reads}"))
        } else {
            notice(format!("{what} makes {reads}: more than the 95 % interval of {} holds", beyond.join(" and ")))
                .doubt()
        })
    });
    told.collect()
}

fn digits(value: f64) -> String {
    show_plain(two_digits(value), "")
}

/// What the motion of camera and stream between the photos of a burst leaves open: what all stations share of it, and the
/// scatter of each from photo to photo.
fn motion(results: &Results) -> Option<Notice> {
    let velocity = results.get(Output::Velocity)?;
    let part = |name: &str| velocity.rows.iter().find(|row| row.name == name).map(|row| row.contribution);
    let u = part("photo.files")?.hypot(part("stream.stations").unwrap_or(0.0));
    let percent = digits(100.0 * u / velocity.value);
    let says = format!(
        "what differs from photo to photo leaves ± {percent} % of V, and nothing of Cd, which takes no velocity"
    );
    Some(Notice::new("photo.files", says).aside())
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
        "Cc is {flow:.3} from the discharge and {width:.3} from the stream's width, {apart:.1} standard uncertainties \
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
    Some(Notice::new("cc", says).doubt().hint(hint))
}

#[cfg(test)]
mod tests {
    use crate::measure::simulated::{Marks, simulated};
    use crate::measure::{Draws, Findings, Found};
    use crate::notice::Weight;
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

    /// Told as a doubt where it is more than the interval holds, with the word that takes it out; not where it is applied.
    #[test]
    fn what_the_interval_does_not_hold_is_a_doubt() {
        let f = simulated(3, 4, Marks::Six, 60).unwrap().findings(Draws::None).unwrap();
        let v = f.velocity.clone().unwrap();
        let mut narrow = Findings { velocity: Some(Found { lo: v.value - 1e-5, hi: v.value + 1e-5, ..v }), ..f };
        let notices = super::uncorrected(&narrow);
        let tension = notices.iter().find(|n| n.about == "weber").unwrap();
        assert_eq!(tension.weight, Weight::Doubt);
        assert!(tension.says.contains("surface tension makes V read 0."), "{tension:?}");
        assert!(tension.says.contains("more than the 95 % interval of V (± 0.00036 %)"), "{tension:?}");
        assert!(tension.hint.as_ref().unwrap().contains("[\"surface-tension\"]"), "{tension:?}");
        narrow.corrections.iter_mut().for_each(|row| row.applied = true);
        assert!(super::uncorrected(&narrow).is_empty());
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
