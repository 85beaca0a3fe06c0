//! Head at the orifice and the ideal velocity that it would give.

use super::finite;
use crate::notice::Notice;

/// What the readings of one run say about its head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanHead {
    /// Mean of the readings in m.
    pub mean_m: f64,
    /// Last less first reading in m; `None` for a single reading.
    pub drift_m: Option<f64>,
}

impl MeanHead {
    /// From the readings in m, in order of time. `None` without readings or where one is not a
    /// positive number.
    ///
    /// The mean of start and end stands for the run: with a head that falls steadily by a share
    /// e of itself, `mean(sqrt H) = sqrt(mean H) (1 - e^2/96)`, so even a fall of 10 % costs 0.01 %.
    pub fn from_readings(readings_m: &[f64]) -> Option<Self> {
        let all_good = readings_m.iter().all(|h| h.is_finite() && *h > 0.0);
        let (first, last) = (readings_m.first()?, readings_m.last()?);
        all_good.then(|| Self {
            mean_m: readings_m.iter().sum::<f64>() / readings_m.len() as f64,
            drift_m: (readings_m.len() > 1).then_some(last - first),
        })
    }

    /// Standard uncertainty in m of the mean as the head at the moment of the photo: the photo
    /// was taken somewhere between the readings, so `|drift| / sqrt(12)`; 0 for one reading.
    pub fn drift_u_m(&self) -> f64 {
        self.drift_m.map_or(0.0, |d| d.abs() / 12f64.sqrt())
    }

    /// Relative change of V and Q over the run that the drift makes, `drift / (2 H)`.
    pub fn drift_of_velocity(&self) -> f64 {
        self.drift_m.unwrap_or(0.0) / (2.0 * self.mean_m)
    }

    /// A notice where the drift makes more than 0.1 % of V or Q, with its effect; `u_reading_m` is a
    /// reading's standard uncertainty, so that two readings that agree within theirs stay quiet.
    pub fn drift_notice(&self, u_reading_m: f64) -> Option<Notice> {
        let drift_m = self.drift_m?;
        let share = self.drift_of_velocity() * 100.0;
        let told = drift_m.abs() > 2.0 * 2f64.sqrt() * u_reading_m && share.abs() > 0.1;
        told.then(|| {
            let mm = drift_m * 1e3;
            let says = format!("the head changed by {mm:+.1} mm over the run: {share:+.2} % of velocity and discharge");
            let hint = "let the tank settle, or note which reading belongs to the photo; cv and cd take the mean head";
            Notice::new("head.reading", says).doubt().hint(hint)
        })
    }
}

/// Ideal velocity in m/s, `Vi = sqrt(2 g H)`.
///
/// Source: E. Torricelli 1644; W. C. Unwin, "Hydraulics", Encyclopaedia Britannica, 11th ed.
/// 1911, sec. 17. `None` unless both arguments are positive numbers.
pub fn ideal_velocity_m_s(gravity_m_s2: f64, head_m: f64) -> Option<f64> {
    (gravity_m_s2 > 0.0 && head_m > 0.0).then(|| (2.0 * gravity_m_s2 * head_m).sqrt()).and_then(finite)
}

/// Ideal velocity in m/s with the velocity of approach, `Vi = sqrt(2 g H + (Q/A1)^2)`.
///
/// `Q` is the measured discharge and `A1` the area of the stream that approaches the orifice.
/// Source: Unwin 1911, as [`ideal_velocity_m_s`]. `None` as there, or without an area.
pub fn ideal_velocity_with_flow_m_s(
    gravity_m_s2: f64,
    head_m: f64,
    discharge_m3_s: f64,
    approach_area_m2: f64,
) -> Option<f64> {
    let still = ideal_velocity_m_s(gravity_m_s2, head_m)?;
    (approach_area_m2 > 0.0).then(|| still.hypot(discharge_m3_s / approach_area_m2)).and_then(finite)
}

/// Factor on `sqrt(2 g H)` for the velocity of approach, `1 / sqrt(1 - m^2)`, `m = Cd A / A1`.
///
/// The limit of the iteration `Vi^2 <- 2 g H + (m Vi)^2`, for when the discharge was not
/// measured and Cd is taken from a table. `None` unless `0 <= m < 1`.
pub fn approach_factor(m: f64) -> Option<f64> {
    (0.0..1.0).contains(&m).then(|| 1.0 / (1.0 - m * m).sqrt())
}

/// Discharge of a circular orifice in a vertical plate over that reckoned with the head at its
/// centre, for the radius r and the head H to the centre.
///
/// The velocity differs over the orifice: `(2/pi) Int_0^pi sin^2(a) sqrt(1 + (r/H) cos a) da`.
/// Source: Unwin 1911, sec. 40 (integral form). The integrand is smooth and even at both
/// ends, so the trapezoid rule converges fast: better than 1e-12 below r/H = 0.9, 1e-10 at 1.
/// `None` unless `0 <= r/H <= 1` (the surface stands above the orifice's top).
pub fn small_head_factor(radius_over_head: f64) -> Option<f64> {
    const STEPS: u32 = 512;
    if !(0.0..=1.0).contains(&radius_over_head) {
        return None;
    }
    let step = std::f64::consts::PI / f64::from(STEPS);
    // The ends, a = 0 and pi, have sin a = 0.
    let sum: f64 = (1..STEPS)
        .map(|i| {
            let a = f64::from(i) * step;
            a.sin().powi(2) * (1.0 + radius_over_head * a.cos()).sqrt()
        })
        .sum();
    Some(sum * step * 2.0 / std::f64::consts::PI)
}

/// First terms of [`small_head_factor`]: `1 - (1/32)(r/H)^2 - (5/1024)(r/H)^4`.
///
/// Within 1e-4 of the exact value up to r/H = 0.5. `None` unless `0 <= r/H <= 1`.
pub fn small_head_series(radius_over_head: f64) -> Option<f64> {
    let q = radius_over_head * radius_over_head;
    (0.0..=1.0).contains(&radius_over_head).then(|| 1.0 - q / 32.0 - 5.0 * q * q / 1024.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn approach_is_the_limit_of_its_iteration() {
        let m = 0.6 * 0.09;
        let still = ideal_velocity_m_s(9.81, 0.4).unwrap();
        let mut with = still;
        for _ in 0..50 {
            with = still.hypot(m * with);
        }
        assert!((with / still - approach_factor(m).unwrap()).abs() < 1e-15);
        // The same flow as a discharge: Q/A1 = m Vi.
        let by_flow = ideal_velocity_with_flow_m_s(9.81, 0.4, m * with, 1.0).unwrap();
        assert!((by_flow / with - 1.0).abs() < 1e-15);
        assert_eq!(approach_factor(1.0), None);
    }

    #[test]
    fn mean_and_drift() {
        let run = MeanHead::from_readings(&[0.412, 0.408]).unwrap();
        assert!((run.mean_m - 0.410).abs() < 1e-15);
        assert!((run.drift_m.unwrap() + 0.004).abs() < 1e-15);
        assert!((run.drift_of_velocity() + 0.004 / 0.82).abs() < 1e-15);
        assert_eq!(MeanHead::from_readings(&[0.4]).unwrap().drift_u_m(), 0.0);
        let told = run.drift_notice(0.0005).unwrap().says;
        assert_eq!(told, "the head changed by -4.0 mm over the run: -0.49 % of velocity and discharge");
        assert_eq!(run.drift_notice(0.002), None);
        for bad in [&[][..], &[0.0], &[0.4, -0.1], &[f64::NAN]] {
            assert_eq!(MeanHead::from_readings(bad), None);
        }
    }

    /// The claim in the doc comment of the mean: 1 - e^2/96.
    #[test]
    fn mean_of_start_and_end_stands_for_a_steady_fall() {
        let e: f64 = 0.1;
        let n = 10_000;
        let mean_root: f64 =
            (0..n).map(|i| (1.0 + e * ((f64::from(i) + 0.5) / f64::from(n) - 0.5)).sqrt()).sum::<f64>() / f64::from(n);
        assert!((mean_root - (1.0 - e * e / 96.0)).abs() < 1e-6);
    }
}
