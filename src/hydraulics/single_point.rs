//! Is the velocity the same from every point of the jet? And if not, what would explain it?
//!
//! Every station gives a velocity of its own, `V = x sqrt(g/(2y))`. Errors of the set-up bend that
//! series in ways of their own (t = 2y/x the slope, own derivations):
//!
//! ```text
//! launch angle dth, upwards            dV/V = dth / t                 falls as 1/x
//! photo turned by dth, jet rising      dV/V = dth (1/t + t/2)         falls, then grows
//! origin too far back, dx              dV/V = dx / x                  falls as 1/x
//! origin too low, dy                   dV/V = dy / (2 y)              falls as 1/x^2
//! lens, stretch k at the far end       dV/V = (k/2) (r/R)^2           grows
//! drag, loss k a metre                 dV/V = -k x / 3                sinks
//! surface tension, eps                 dV/V = -(eps/2)(1 + F(t))      sinks
//! scale                                dV/V = const                   does not show here
//! ```
//!
//! A launch angle and an origin shifted along the jet have the same shape: the test names both and leaves
//! the choice to whoever can look at the bench.

use super::tension::bend_function;
use crate::notice::Notice;

/// Drift is told from this many standard uncertainties on (common practice, no source).
pub const TELL_FROM: f64 = 3.0;

/// The velocity that one station gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SinglePoint {
    /// Along the jet, m.
    pub x_m: f64,
    /// Drop, m.
    pub y_m: f64,
    /// Velocity in m/s.
    pub velocity_m_s: f64,
    /// Standard uncertainty in m/s from the station's own scatter, without what all stations share.
    pub u_m_s: f64,
}

/// What is known beforehand of the second-order effects, to judge whether they are large enough.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Expected {
    /// `eps = 2/We` of the jet.
    pub eps: Option<f64>,
    /// Share of speed that drag takes per metre of path.
    pub drag_per_m: Option<f64>,
    /// Orifice diameter in m, the scale of a doubtful origin.
    pub diameter_m: Option<f64>,
}

/// A possible cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The jet does not start level.
    Launch,
    /// The photo's vertical is off.
    Vertical,
    /// The origin's place along the jet.
    OriginAlong,
    /// The origin's height.
    OriginHeight,
    /// Distortion of the lens.
    Lens,
    /// Drag of the air.
    Drag,
    /// Surface tension.
    SurfaceTension,
}

/// How well one cause explains the series, and how large it would have to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Explanation {
    /// The cause.
    pub cause: Cause,
    /// Its size: rad, m, m, share at the far end, share per metre, eps.
    pub size: f64,
    /// Standard uncertainty of the size.
    pub u_size: f64,
    /// Share of the variation (of chi-squared about a constant) that it takes away, 0 to 1.
    pub explains: f64,
    /// Whether a size like this can be: drag and tension have a sign and an expected size.
    pub can_be: bool,
}

/// The drift of a series of single-point velocities.
#[derive(Clone, Debug, PartialEq)]
pub struct Drift {
    /// Relative rise from the first station to the last by a straight line.
    pub rise: f64,
    /// Standard uncertainty of the rise.
    pub u_rise: f64,
    /// From where to where, m.
    pub x_m: [f64; 2],
    /// Causes, those that can be first, each group by how much it explains. Drag and surface tension are left out where they
    /// would have to act the other way.
    pub causes: Vec<Explanation>,
}

/// Tests a series for drift. `effective` is the number of independent stations (waves make neighbours alike); it
/// widens the uncertainties.
///
/// `None` with fewer than five usable stations (x, y, V, u above zero).
pub fn drift(stations: &[SinglePoint], effective: f64, expected: &Expected) -> Option<Drift> {
    let good = |s: &&SinglePoint| [s.x_m, s.y_m, s.velocity_m_s, s.u_m_s].iter().all(|v| v.is_finite() && *v > 0.0);
    let used: Vec<SinglePoint> = stations.iter().filter(good).copied().collect();
    if used.len() < 5 {
        return None;
    }
    let series = Series::new(&used, effective);
    let (lo, hi) = used.iter().fold((f64::INFINITY, 0.0f64), |(lo, hi), s| (lo.min(s.x_m), hi.max(s.x_m)));
    let line = series.fit(|s| s.x_m)?;
    let far = used.iter().map(|s| s.x_m.hypot(s.y_m)).fold(0.0, f64::max);
    let limit_m = expected.diameter_m.map_or(3e-3, |d| d.max(3e-3));
    let within = |size: f64, most: Option<f64>, times: f64| most.is_none_or(|m| size < times * m);
    let mut causes: Vec<Explanation> = [
        (Cause::Launch, series.fit(|s| s.x_m / (2.0 * s.y_m))),
        (Cause::Vertical, series.fit(|s| s.x_m / (2.0 * s.y_m) + s.y_m / s.x_m)),
        (Cause::OriginAlong, series.fit(|s| 1.0 / s.x_m)),
        (Cause::OriginHeight, series.fit(|s| 1.0 / (2.0 * s.y_m))),
        (Cause::Lens, series.fit(|s| 0.5 * (s.x_m.hypot(s.y_m) / far).powi(2))),
        (Cause::Drag, series.fit(|s| -s.x_m / 3.0)),
        (Cause::SurfaceTension, series.fit(|s| -0.5 * (1.0 + bend_function(2.0 * s.y_m / s.x_m).unwrap_or(1.0)))),
    ]
    .into_iter()
    .filter_map(|(cause, fitted)| {
        let Fitted { size, u_size, explains } = fitted?;
        if size <= 0.0 && matches!(cause, Cause::Drag | Cause::SurfaceTension) {
            return None; // they act one way only: no size of theirs would explain the other
        }
        let can_be = match cause {
            Cause::Launch | Cause::Vertical => size.abs() < 3f64.to_radians(),
            Cause::OriginAlong | Cause::OriginHeight => size.abs() < limit_m,
            Cause::Lens => size.abs() < 0.03,
            // A rippled jet may feel three times the drag of a smooth one.
            Cause::Drag => within(size - 2.0 * u_size, expected.drag_per_m, 3.0),
            Cause::SurfaceTension => within(size - 2.0 * u_size, expected.eps, 1.0),
        };
        Some(Explanation { cause, size, u_size, explains, can_be })
    })
    .collect();
    causes.sort_by(|a, b| b.can_be.cmp(&a.can_be).then(b.explains.total_cmp(&a.explains)));
    Some(Drift { rise: line.size * (hi - lo), u_rise: line.u_size * (hi - lo), x_m: [lo, hi], causes })
}

impl Drift {
    /// Whether the rise stands out of its uncertainty.
    pub fn is_significant(&self) -> bool {
        self.rise.abs() > TELL_FROM * self.u_rise
    }

    /// The drift in words with the two or three likeliest causes and their sizes; `None` if not significant.
    pub fn notice(&self) -> Option<Notice> {
        if !self.is_significant() {
            return None;
        }
        let word = if self.rise > 0.0 { "rises" } else { "falls" };
        let says = format!(
            "the velocity from single stations {word} by {:.2} % from x = {:.0} mm to {:.0} mm, \
             {:.1} standard uncertainties",
            self.rise.abs() * 100.0,
            self.x_m[0] * 1e3,
            self.x_m[1] * 1e3,
            (self.rise / self.u_rise).abs()
        );
        let told: Vec<String> = self
            .causes
            .iter()
            .filter(|e| e.can_be && e.explains > 0.3)
            .take(3)
            .map(Explanation::words_with_share)
            .collect();
        let hint = if told.is_empty() {
            "none of the usual causes has this shape: look at the stations that stand out".to_owned()
        } else {
            format!("what would explain it: {}", told.join("; "))
        };
        Some(Notice::new("stations", says).doubt().hint(hint))
    }
}

impl Explanation {
    /// The cause with its size and its share: `a vertical off by +0.31 ± 0.02 deg (97 % of it)`.
    fn words_with_share(&self) -> String {
        format!("{} ({:.0} % of it)", self.words(), self.explains * 100.0)
    }

    /// The cause with its size: `a vertical off by +0.31 ± 0.02 deg`.
    pub fn words(&self) -> String {
        let (size, u) = (self.size, self.u_size);
        match self.cause {
            Cause::Launch => format!("a launch {:+.2} ± {:.2} deg to the level", size.to_degrees(), u.to_degrees()),
            Cause::Vertical => format!("a vertical off by {:+.2} ± {:.2} deg", size.to_degrees(), u.to_degrees()),
            Cause::OriginAlong => format!(
                "an origin {:.1} ± {:.1} mm too far {}",
                (size * 1e3).abs(),
                u * 1e3,
                if size > 0.0 { "back" } else { "ahead" }
            ),
            Cause::OriginHeight => format!(
                "an origin {:.2} ± {:.2} mm too {}",
                (size * 1e3).abs(),
                u * 1e3,
                if size > 0.0 { "low" } else { "high" }
            ),
            Cause::Lens => format!("a lens that stretches the far end by {:+.2} ± {:.2} %", size * 100.0, u * 100.0),
            Cause::Drag => format!("air drag of {:.2} ± {:.2} % a metre", size * 100.0, u * 100.0),
            Cause::SurfaceTension => format!("surface tension at a Weber number of {:.0}", 2.0 / size),
        }
    }
}

struct Fitted {
    size: f64,
    u_size: f64,
    explains: f64,
}

/// ln V with weights, ready for a constant plus one pattern.
struct Series<'a> {
    stations: &'a [SinglePoint],
    weights: Vec<f64>,
    /// Factor on every uncertainty for correlated neighbours.
    widen: f64,
}

impl<'a> Series<'a> {
    fn new(stations: &'a [SinglePoint], effective: f64) -> Self {
        let weights = stations.iter().map(|s| (s.velocity_m_s / s.u_m_s).powi(2)).collect();
        let n = stations.len() as f64;
        Self { stations, weights, widen: (n / effective.clamp(1.0, n)).sqrt() }
    }

    fn mean(&self, of: impl Fn(&SinglePoint) -> f64) -> f64 {
        let total: f64 = self.weights.iter().sum();
        self.stations.iter().zip(&self.weights).map(|(s, w)| w * of(s)).sum::<f64>() / total
    }

    /// Fits `ln V = c + size * pattern`. Uncertainties are scaled up, never down, by the scatter left.
    fn fit(&self, pattern: impl Fn(&SinglePoint) -> f64) -> Option<Fitted> {
        let log = |s: &SinglePoint| s.velocity_m_s.ln();
        let (mean_p, mean_v) = (self.mean(&pattern), self.mean(log));
        let (mut spread, mut over, mut about_constant) = (0.0, 0.0, 0.0);
        for (s, w) in self.stations.iter().zip(&self.weights) {
            let (p, v) = (pattern(s) - mean_p, log(s) - mean_v);
            spread += w * p * p;
            over += w * p * v;
            about_constant += w * v * v;
        }
        let size = super::finite(over / spread)?;
        let left = (about_constant - size * over).max(0.0);
        let scatter = (left / (self.stations.len() as f64 - 2.0)).sqrt().max(1.0);
        let explains = if about_constant > 0.0 { 1.0 - left / about_constant } else { 0.0 };
        Some(Fitted { size, u_size: scatter * self.widen / spread.sqrt(), explains })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hydraulics::tension::Jet;

    const G: f64 = 9.806_65;

    /// Stations every 20 mm up to 600 mm of a jet of 2 m/s, moved by `seen`, read to 0.05 mm.
    fn stations(seen: impl Fn(f64, f64) -> (f64, f64)) -> Vec<SinglePoint> {
        (5..=30)
            .map(|i| {
                let x = f64::from(i) * 0.02;
                let (x_m, y_m) = seen(x, G * x * x / 8.0);
                let velocity_m_s = x_m * (G / (2.0 * y_m)).sqrt();
                SinglePoint { x_m, y_m, velocity_m_s, u_m_s: velocity_m_s * 0.05e-3 / (2.0 * y_m) }
            })
            .collect()
    }

    fn size(of: Cause, drift: &Drift) -> Explanation {
        *drift.causes.iter().find(|e| e.cause == of).unwrap()
    }

    #[test]
    fn a_true_jet_has_no_drift() {
        let drift = drift(&stations(|x, y| (x, y)), 26.0, &Expected::default()).unwrap();
        assert!(!drift.is_significant() && drift.notice().is_none());
        assert!(drift.rise.abs() < 1e-12);
    }

    #[test]
    fn a_turned_photo_is_named_with_its_angle() {
        let turn = 0.5f64.to_radians();
        // The photo's vertical off: what is level seems to rise.
        let seen = stations(|x, y| (x * turn.cos() + y * turn.sin(), y * turn.cos() - x * turn.sin()));
        let drift = drift(&seen, 26.0, &Expected::default()).unwrap();
        let tilt = size(Cause::Vertical, &drift);
        // 0.48 deg: first order, where the nearest station is off by 4 %.
        assert!((tilt.size / turn - 1.0).abs() < 0.05, "{}", tilt.size.to_degrees());
        assert!(tilt.explains > 0.98);
        assert_eq!(drift.causes[0].cause, Cause::Vertical);
        assert_eq!(tilt.words_with_share(), "a vertical off by +0.48 ± 0.01 deg (100 % of it)");
    }

    #[test]
    fn a_launch_angle_is_named() {
        let launch = 0.5f64.to_radians();
        let drift = drift(&stations(|x, y| (x, y - x * launch)), 26.0, &Expected::default()).unwrap();
        let named = size(Cause::Launch, &drift);
        assert!((named.size / launch - 1.0).abs() < 0.03, "{}", named.size.to_degrees());
        assert!(drift.rise < 0.0 && drift.is_significant());
        let notice = drift.notice().unwrap();
        assert!(notice.says.starts_with("the velocity from single stations falls by"), "{}", notice.says);
        assert!(notice.hint.unwrap().contains("a launch +0.49"));
    }

    /// The size of each effect on one point; photo turned by 1 deg: 2.62 % at slope 1, 3.93 % at 0.5 to first
    /// order, 2.67 and 4.13 % by exact rotation.
    #[test]
    fn a_turn_by_one_degree() {
        let turn = 1f64.to_radians();
        for (t, first, exact) in [(1.0, 2.62, 2.67), (0.5, 3.93, 4.13)] {
            assert!((turn * (1.0 / t + t / 2.0) * 100.0 - first).abs() < 0.006);
            let (x, y) = (t * 4.0 / G, t * t * 2.0 / G);
            let (xs, ys) = (x * turn.cos() + y * turn.sin(), y * turn.cos() - x * turn.sin());
            assert!((xs * (G / (2.0 * ys)).sqrt() / 2.0 * 100.0 - 100.0 - exact).abs() < 0.006);
        }
    }

    #[test]
    fn an_origin_off_is_named_with_its_distance() {
        let along = drift(&stations(|x, y| (x + 0.002, y)), 26.0, &Expected::default()).unwrap();
        assert!((size(Cause::OriginAlong, &along).size - 0.002).abs() < 0.0001);
        let below = drift(&stations(|x, y| (x, y - 0.0005)), 26.0, &Expected::default()).unwrap();
        let height = size(Cause::OriginHeight, &below);
        assert!((height.size - 0.0005).abs() < 0.00003, "{}", height.size);
        assert_eq!(below.causes[0].cause, Cause::OriginHeight);
        assert!(below.causes[0].words().contains("0.5"), "{}", below.causes[0].words());
    }

    #[test]
    fn a_lens_is_named_with_its_stretch() {
        let far = 0.6f64.hypot(G * 0.36 / 8.0);
        let stretched = stations(|x, y| {
            let k = 1.0 + 0.01 * (x.hypot(y) / far).powi(2);
            (x * k, y * k)
        });
        let drift = drift(&stretched, 26.0, &Expected::default()).unwrap();
        let lens = size(Cause::Lens, &drift);
        assert!((lens.size - 0.01).abs() < 2e-4 && lens.explains > 0.99);
        assert_eq!(drift.causes[0].cause, Cause::Lens);
    }

    #[test]
    fn surface_tension_is_named_only_if_it_can_be_so_large() {
        let jet = Jet {
            diameter_m: 0.0024,
            launch_rad: 0.0,
            density_kg_m3: 998.2,
            surface_tension_n_m: 0.072_74,
            gravity_m_s2: G,
        };
        let eps = jet.eps(2.0).unwrap();
        let path = jet.path_m(2.0, 0.6, 30).unwrap();
        let seen: Vec<SinglePoint> = path[5..]
            .iter()
            .map(|&(x_m, y_m)| {
                let velocity_m_s = x_m * (G / (2.0 * y_m)).sqrt();
                SinglePoint { x_m, y_m, velocity_m_s, u_m_s: velocity_m_s * 0.01e-3 / (2.0 * y_m) }
            })
            .collect();
        let known = drift(&seen, 26.0, &Expected { eps: Some(eps), ..Expected::default() }).unwrap();
        let tension = size(Cause::SurfaceTension, &known);
        assert!((tension.size / eps - 1.0).abs() < 0.05 && tension.can_be, "{} {eps}", tension.size);
        let large = drift(&seen, 26.0, &Expected { eps: Some(eps / 10.0), ..Expected::default() }).unwrap();
        assert!(!size(Cause::SurfaceTension, &large).can_be);
    }

    #[test]
    fn drag_has_a_sign() {
        let slowed = stations(|x, y| (x, y * (1.0 + 2.0 * 0.01 * x / 3.0)));
        let falls = drift(&slowed, 26.0, &Expected::default()).unwrap();
        assert!((size(Cause::Drag, &falls).size - 0.01).abs() < 2e-4 && size(Cause::Drag, &falls).can_be);
        let hastened = stations(|x, y| (x, y * (1.0 - 2.0 * 0.01 * x / 3.0)));
        let rises = drift(&hastened, 26.0, &Expected::default()).unwrap();
        assert!(rises.causes.iter().all(|e| e.cause != Cause::Drag), "{:?}", rises.causes);
    }

    #[test]
    fn no_cause_of_the_wrong_sign_is_offered() {
        // the far end seems too high: surface tension would have to push the jet up
        let drift = drift(&stations(|x, y| (x, y * (1.0 - 0.02 * x))), 26.0, &Expected::default()).unwrap();
        assert!(drift.is_significant() && drift.rise > 0.0);
        for named in &drift.causes {
            assert!(!matches!(named.cause, Cause::Drag | Cause::SurfaceTension), "{}", named.words());
            assert!(!named.words().contains("number of -"), "{}", named.words());
        }
    }

    #[test]
    fn few_stations_give_no_verdict_and_correlated_ones_a_wider() {
        let seen = stations(|x, y| (x + 0.002, y));
        assert_eq!(drift(&seen[..4], 4.0, &Expected::default()), None);
        let all = drift(&seen, 26.0, &Expected::default()).unwrap();
        let few = drift(&seen, 6.5, &Expected::default()).unwrap();
        assert!((few.u_rise / all.u_rise - 2.0).abs() < 1e-12);
    }
}
