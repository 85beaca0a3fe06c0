//! What happens over the range of heads: V^2 against H, Q against H, the coefficients against H.

use super::covariance::Signal;
use super::line::{Line, Points, line};
use super::pool::{LEVEL, around, percent, shown, test};
use super::shared::Sharing;
use super::{COEFFICIENTS, HeadLine, Law, Run, SeriesFindings, Test, name};
use crate::notice::Notice;

/// Heads that span less than this many standard uncertainties of one of them bear no law.
const LEAST_SPAN_U: f64 = 4.0;

/// Adds the laws to `told`, and why one is absent.
pub(super) fn tell(runs: &[Run], sharing: &Sharing, told: &mut SeriesFindings) {
    let mut absent = |about: &str, reason: String| {
        let hint = "measure the orifice at heads that differ widely";
        told.notices.push(Notice::new(about, reason).hint(hint));
    };
    let Some(head) = Signal::of(runs, "head") else {
        absent("head", "no run has a head: how the orifice goes with it is not known".to_owned());
        return;
    };
    let cv = Signal::of(runs, "cv");
    let discharge = Signal::of(runs, "discharge");
    let velocity_head =
        cv.as_ref().map(|cv| Signal::combined(cv, &head, |c, h| (c * c * h, 2.0 * c * h, c * c))).unwrap_or_default();
    let mut head_line = None;
    match fitted(&head, &velocity_head, sharing, |h| (h, 1.0)) {
        Ok(fit) => head_line = Some(of_head(&fit)),
        Err(reason) => absent("head_line", format!("no line of V^2 against the head: {reason}")),
    }
    let ln_discharge = discharge.as_ref().map(|q| Signal::combined(q, q, |q, _| (q.ln(), 1.0 / q, 0.0)));
    let mut exponent = None;
    match fitted(&head, &ln_discharge.unwrap_or_default(), sharing, |h| (h.ln(), 1.0 / h)) {
        Ok(fit) => exponent = Some(fit.law(1.0, 0.5, "")),
        Err(reason) => absent("exponent", format!("no exponent of the discharge: {reason}")),
    }
    for key in COEFFICIENTS {
        let Some(signal) = Signal::of(runs, key) else { continue };
        match fitted(&head, &signal, sharing, |h| (h, 1.0)) {
            Ok(fit) => {
                told.trends.insert(key.to_owned(), fit.law(100.0, 0.0, "per 100 mm"));
            }
            Err(reason) => absent(key, format!("no trend of {} with the head: {reason}", name(key))),
        }
    }
    told.head_line = head_line;
    told.exponent = exponent;
    notices(told);
}

/// A line that was fitted, with its test and how much wider its scatter makes it.
struct Fitted {
    line: Line,
    test: Option<Test>,
    /// Factor on all standard uncertainties.
    wider: f64,
    dof: f64,
}

/// The line of `y` against a function of the head (given with its derivative), or why there is none.
///
/// Where the scatter is more than the uncertainties bear, these grow by the root of chi^2 over its degrees of freedom
/// (R. T. Birge, 1932, Phys. Rev. 40:207), and intervals take Student's t.
fn fitted(head: &Signal, y: &Signal, sharing: &Sharing, of: impl Fn(f64) -> (f64, f64)) -> Result<Fitted, String> {
    let n = y.runs.iter().filter(|r| head.runs.contains(r)).count();
    if n < 2 {
        let have = if n == 0 { "no run has" } else { "only one run has" };
        return Err(format!("{have} what it needs"));
    }
    let heads = Signal::combined(head, y, |h, _| (h, 1.0, 0.0));
    let (low, high) = heads.values.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
    let u = heads.largest_u();
    if high - low <= LEAST_SPAN_U * u {
        return Err(format!(
            "the heads span {:.1} mm, hardly more than the {u:.1} mm they are uncertain by",
            high - low
        ));
    }
    let x = Signal::combined(head, y, |h, _| {
        let (value, by) = of(h);
        (value, by, 0.0)
    });
    let y = Signal::combined(y, head, |y, _| (y, 1.0, 0.0));
    let points = Points {
        x: &x.values,
        y: &y.values,
        xx: x.covariance(&x, sharing),
        xy: x.covariance(&y, sharing),
        yy: y.covariance(&y, sharing),
    };
    let line = line(&points).ok_or("the runs' uncertainties leave the line open")?;
    let test = (n > 2).then(|| test(line.chi2, n - 2));
    let poor = test.filter(|t| t.probability < LEVEL);
    let wider = poor.map_or(1.0, |t| (t.chi2 / t.dof as f64).sqrt());
    let dof = poor.map_or(f64::INFINITY, |t| t.dof as f64);
    Ok(Fitted { line, test, wider, dof })
}

impl Fitted {
    /// The slope, times `per`, beside what is expected.
    fn law(&self, per: f64, expected: f64, unit: &str) -> Law {
        let found = around(per * self.line.slope, per * self.line.slope_variance.sqrt() * self.wider, self.dof, unit);
        let significant = !(found.lo <= expected && expected <= found.hi);
        Law { found, expected, at_zero: self.line.intercept, significant, test: self.test }
    }
}

/// Cv and the datum error of the line V^2/(2g) = Cv^2 (H + h0): h0 = a/b,
/// u^2(h0) = (u_a^2 - 2 h0 u_ab + h0^2 u_b^2) / b^2.
fn of_head(fit: &Fitted) -> HeadLine {
    let l = &fit.line;
    let datum = l.intercept / l.slope;
    let variance = l.intercept_variance - 2.0 * datum * l.covariance + datum * datum * l.slope_variance;
    let datum_error = around(datum, fit.wider * variance.max(0.0).sqrt() / l.slope.abs(), fit.dof, "mm");
    let slope_u = fit.wider * l.slope_variance.sqrt();
    let cv = l.slope.max(0.0).sqrt();
    HeadLine {
        slope: around(l.slope, slope_u, fit.dof, ""),
        cv: around(cv, if cv > 0.0 { 0.5 * slope_u / cv } else { slope_u }, fit.dof, ""),
        significant: datum_error.lo > 0.0 || datum_error.hi < 0.0,
        datum_error,
        test: fit.test,
    }
}

/// What the laws mean for the user.
fn notices(told: &mut SeriesFindings) {
    let mut notices = Vec::new();
    if let Some(line) = &told.head_line {
        if line.significant {
            let reads = if line.datum_error.value > 0.0 { "low" } else { "high" };
            let says = format!(
                "V^2 against the head does not pass through zero: the heads read {reads}, {} are to be added, if Cv is the \
                 same at every head",
                shown(&line.datum_error)
            );
            let hint =
                "check the gauge's zero against the orifice's centre; a Cv that goes with the head looks the same";
            notices.push(Notice::new("head.reading", says).doubt().hint(hint));
        }
        tell_poor("head_line", "the line of V^2 against the head", line.test, &mut notices);
    }
    if let Some(exponent) = &told.exponent {
        if exponent.significant {
            let says = format!("the discharge goes with the head to the power {}, not 0.5", shown(&exponent.found));
            notices.push(
                Notice::new("exponent", says).doubt().hint("Cd goes with the head, or the gauge has a datum error"),
            );
        }
        tell_poor("exponent", "the power law of the discharge", exponent.test, &mut notices);
    }
    for (key, trend) in &told.trends {
        if trend.significant {
            let goes = if trend.found.value > 0.0 { "rises" } else { "falls" };
            let says = format!("{} {goes} with the head: {}", name(key), shown(&trend.found));
            notices.push(Notice::new(key.as_str(), says).hint("a pooled value stands for this range of heads only"));
        }
    }
    told.notices.extend(notices);
}

fn tell_poor(about: &str, what: &str, test: Option<Test>, notices: &mut Vec<Notice>) {
    if let Some(t) = test.filter(|t| t.probability < LEVEL) {
        let says = format!(
            "{what} leaves more over than the runs' uncertainties bear: chi-squared {:.1} with {} degrees of freedom, chance \
             {}; its uncertainties are widened to match",
            t.chi2,
            t.dof,
            percent(t.probability)
        );
        notices.push(Notice::new(about, says).doubt());
    }
}
