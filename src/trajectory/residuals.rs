//! What the parabola leaves over, how large it is, and what would explain it.

use super::correlation::correlation;
use super::quadratic::Regression;
use super::{Fit, Launch, Station};
use crate::notice::Notice;

/// A cubic this many of its standard uncertainties away from zero is told to the user.
const NOTABLE: f64 = 3.0;
/// Probability with which noise alone would show so high a peak of the periodogram.
const FALSE_ALARM: f64 = 1e-3;
/// Single outliers are specks; from this many in a row something else was followed.
const RUN: usize = 3;

/// What is left over after the fit.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Leftover {
    /// Coefficient of `x^3` if the curve had one, 1/mm^2.
    pub cubic_per_mm2: f64,
    /// Its standard uncertainty, with the residuals' own correlation in it, 1/mm^2.
    pub cubic_u_per_mm2: f64,
    /// How far the cubic moves the curve at the ends of the stations, mm.
    pub cubic_at_ends_mm: f64,
    /// The turn of the stated vertical that would explain the cubic, rad: positive where the
    /// horizontal that was taken falls away from the tank, which also raises the launch angle by as
    /// much. `cubic = -2 a^2 roll`, so `None` for a curve that does not bend.
    pub roll_rad: Option<f64>,
    /// Standard uncertainty of `roll_rad`, rad.
    pub roll_u_rad: Option<f64>,
    /// Root mean square of the part of the residuals that neighbouring stations share, mm.
    pub waviness_mm: f64,
    /// Wavelength along the stream of the strongest wave, mm, if one stands out.
    pub wavelength_mm: Option<f64>,
    /// Runs of three or more stations that the fit did not use, in order of x.
    pub outlier_runs: Vec<OutlierRun>,
    /// The above in words, where it is large enough to matter.
    pub notices: Vec<Notice>,
}

/// Neighbouring stations that follow something other than the trajectory.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutlierRun {
    /// First station's x, mm.
    pub from_mm: f64,
    /// Last station's x, mm.
    pub to_mm: f64,
    /// How many.
    pub stations: usize,
    /// Their mean distance from the curve, mm, positive below it.
    pub off_mm: f64,
}

/// Looks at the residuals of `fit`, which must be that of these `stations`; all zero if it is not.
///
/// **Trend.** The residuals regress on `x^3` less what a quadratic takes of it. A camera roll `d`
/// turns `y = a x^2` into `a x^2 - d x - 2 a^2 d x^3` to first order, so the cubic measures the
/// roll; lens distortion and, below We about 1100, surface tension make one too: a diagnosis, not a
/// correction.
///
/// **Waves.** Shared variance is the autocovariance of neighbours, in which white noise has no
/// part. The wavelength is the peak of the periodogram for uneven spacing (Lomb 1976, Astrophys.
/// Space Sci. 39, 447-462; Scargle 1982, Astrophys. J. 263, 835-853, eq. 10) if noise alone would
/// show it less than once in a thousand.
pub fn left_over(stations: &[Station], fit: &Fit) -> Leftover {
    let mut found = Leftover { outlier_runs: outlier_runs(stations, fit), ..Leftover::default() };
    let series = Series::new(stations, fit);
    if let Some(rest) = series.and_then(|s| s.without_cubic(fit, &mut found)) {
        (found.waviness_mm, found.wavelength_mm) = rest.waves();
    }
    found.notices = in_words(&found, fit);
    found
}

/// The used stations in order of x.
struct Series {
    xs: Vec<f64>,
    /// Along the curve, mm.
    arc: Vec<f64>,
    /// y above what the curve says, mm.
    rise: Vec<f64>,
    /// `1 / (u^2 (1 + slope^2))`.
    weights: Vec<f64>,
    /// `sqrt(1 + slope^2)`.
    steepness: Vec<f64>,
}

impl Series {
    fn new(stations: &[Station], fit: &Fit) -> Option<Self> {
        if stations.len() != fit.used.len() {
            return None;
        }
        let mut used: Vec<&Station> = stations.iter().zip(&fit.used).filter(|(_, u)| **u).map(|(s, _)| s).collect();
        used.sort_by(|l, r| l.x_mm.total_cmp(&r.x_mm));
        let xs: Vec<f64> = used.iter().map(|s| s.x_mm).collect();
        let steepness: Vec<f64> = xs.iter().map(|&x| 1.0_f64.hypot(fit.slope(x))).collect();
        let mut along = 0.0;
        let mut last = *xs.first()?;
        let arc = xs
            .iter()
            .map(|&x| {
                along += (x - last).hypot(fit.y_mm(x) - fit.y_mm(last));
                last = x;
                along
            })
            .collect();
        let rise = used.iter().map(|s| s.y_mm - fit.y_mm(s.x_mm)).collect();
        let weights = used.iter().zip(&steepness).map(|(s, n)| (s.u_mm * n).powi(-2)).collect();
        Some(Self { xs, arc, rise, weights, steepness })
    }

    /// Measures the cubic and takes it out. `None` with too few stations for one.
    fn without_cubic(mut self, fit: &Fit, found: &mut Leftover) -> Option<Self> {
        if self.xs.len() < 6 {
            return None;
        }
        // in units of half the span, so that powers stay near one
        let (first, last) = (self.xs[0], self.xs[self.xs.len() - 1]);
        let (middle, half) = (0.5 * (first + last), 0.5 * (last - first));
        let ts: Vec<f64> = self.xs.iter().map(|x| (x - middle) / half).collect();
        let cubes: Vec<f64> = ts.iter().map(|t| t * t * t).collect();
        let [c, b, a] = Regression::new(&ts, &cubes, &self.weights)?.observe(Launch::Free, 0.0).coefficients();
        let shape: Vec<f64> = ts.iter().zip(&cubes).map(|(t, cube)| cube - c - t * (b + t * a)).collect();
        let weighted = |of: &[f64]| of.iter().zip(&shape).zip(&self.weights).map(|((v, s), w)| v * s * w).sum::<f64>();
        let length = weighted(&shape);
        let size = weighted(&self.rise) / length;
        self.rise.iter_mut().zip(&shape).for_each(|(r, s)| *r -= size * s);
        let scaled: Vec<f64> = self.rise.iter().zip(&self.weights).map(|(r, w)| r * w.sqrt()).collect();
        let noise = correlation(&self.arc, &scaled, 4);
        let u = (noise.variance * noise.inflation / length).sqrt();
        if !(size.is_finite() && u.is_finite()) {
            return None;
        }
        let per_cube = half.powi(-3);
        found.cubic_per_mm2 = size * per_cube;
        found.cubic_u_per_mm2 = u * per_cube;
        found.cubic_at_ends_mm = size.abs() * shape[0].abs().max(shape[shape.len() - 1].abs());
        if fit.a_per_mm > 0.0 {
            let per_roll = -2.0 * fit.a_per_mm * fit.a_per_mm;
            found.roll_rad = Some(found.cubic_per_mm2 / per_roll);
            found.roll_u_rad = Some(found.cubic_u_per_mm2 / per_roll.abs());
        }
        Some(self)
    }

    /// Root mean square of the shared part, and the wavelength that stands out.
    fn waves(&self) -> (f64, Option<f64>) {
        let offs: Vec<f64> = self.rise.iter().zip(&self.steepness).map(|(r, n)| r / n).collect();
        let n = offs.len() as f64;
        let mean = offs.iter().sum::<f64>() / n;
        let offs: Vec<f64> = offs.iter().map(|d| d - mean).collect();
        let shared = offs.windows(2).map(|w| w[0] * w[1]).sum::<f64>() / (n - 1.0);
        let variance = offs.iter().map(|d| d * d).sum::<f64>() / (n - 1.0);
        let span = self.arc[self.arc.len() - 1] - self.arc[0];
        if offs.len() < 20 || variance <= 0.0 || span <= 0.0 {
            return (shared.max(0.0).sqrt(), None);
        }
        // two waves on the stretch up to one per two stations, in quarter steps
        let steps = 2 * offs.len() - 8;
        let power = |k: usize| lomb(&self.arc, &offs, (2.0 + 0.25 * k as f64) / span) / variance;
        let (best, peak) = (0..steps).map(|k| (k, power(k))).max_by(|l, r| l.1.total_cmp(&r.1)).unwrap_or((0, 0.0));
        let by_chance = 1.0 - (1.0 - (-peak).exp()).powf(0.5 * n);
        let wavelength = span / (2.0 + 0.25 * best as f64);
        (shared.max(0.0).sqrt(), (by_chance < FALSE_ALARM).then_some(wavelength))
    }
}

/// Periodogram of `values` at uneven `positions` for one `frequency`, Scargle's eq. 10.
fn lomb(positions: &[f64], values: &[f64], frequency: f64) -> f64 {
    let w = std::f64::consts::TAU * frequency;
    let (s2, c2) = positions.iter().map(|p| (2.0 * w * p).sin_cos()).fold((0.0, 0.0), |(s, c), (a, b)| (s + a, c + b));
    let shift = 0.5 * f64::atan2(s2, c2);
    let (mut yc, mut ys, mut cc, mut ss) = (0.0, 0.0, 0.0, 0.0);
    for (p, v) in positions.iter().zip(values) {
        let (s, c) = (w * p - shift).sin_cos();
        yc += v * c;
        ys += v * s;
        cc += c * c;
        ss += s * s;
    }
    let part = |y: f64, q: f64| if q > 0.0 { y * y / q } else { 0.0 };
    0.5 * (part(yc, cc) + part(ys, ss))
}

fn outlier_runs(stations: &[Station], fit: &Fit) -> Vec<OutlierRun> {
    let mut order: Vec<usize> = (0..stations.len().min(fit.used.len())).collect();
    order.sort_by(|&i, &j| stations[i].x_mm.total_cmp(&stations[j].x_mm));
    order
        .chunk_by(|&i, &j| fit.used[i] == fit.used[j])
        .filter(|run| run.len() >= RUN && !fit.used[run[0]])
        .map(|run| OutlierRun {
            from_mm: stations[run[0]].x_mm,
            to_mm: stations[run[run.len() - 1]].x_mm,
            stations: run.len(),
            off_mm: run.iter().map(|&i| fit.off_mm[i]).sum::<f64>() / run.len() as f64,
        })
        .collect()
}

fn in_words(found: &Leftover, fit: &Fit) -> Vec<Notice> {
    let mut notices = Vec::new();
    if found.cubic_per_mm2.abs() > NOTABLE * found.cubic_u_per_mm2 && found.cubic_at_ends_mm > 0.0 {
        let ends =
            format!("the stations leave the parabola by {:.2} mm at the ends in an S shape", found.cubic_at_ends_mm);
        // beyond a few degrees the user would have seen it, and the first order no longer holds
        let roll = found.roll_rad.zip(found.roll_u_rad).filter(|(roll, _)| roll.abs() < 0.1);
        notices.push(match roll {
            Some((roll, u)) => Notice::new(
                "vertical",
                format!(
                    "{ends}; a vertical that is off by {:.2} ± {:.2} degrees would explain it",
                    roll.to_degrees(),
                    u.to_degrees()
                ),
            )
            .doubt()
            .hint(
                "check the plumb or level line; a lens that bends straight edges by as much, \
                 or surface tension in a thin slow jet, looks the same",
            ),
            None => Notice::new("trajectory", format!("{ends}, more than a tilt of the camera could cause"))
                .doubt()
                .hint("check the scale marks and the lens, and whether the stations follow the stream to its end"),
        });
    }
    if found.waviness_mm > fit.rms_mm * 0.5 && fit.n_effective < 20.0 {
        let wave = found.wavelength_mm.map_or_else(String::new, |l| format!(", the strongest {l:.0} mm long"));
        notices.push(
            Notice::new(
                "stream",
                format!(
                    "waves of {:.2} mm rms along the stream{wave} make the stations worth {:.0} independent ones",
                    found.waviness_mm, fit.n_effective
                ),
            )
            .hint("several photos of the same jet average surface waves out"),
        );
    }
    for run in &found.outlier_runs {
        notices.push(
            Notice::new(
                "stream.leave_out",
                format!(
                    "{} stations from x = {:.0} to {:.0} mm lie {:.1} mm {} the trajectory and were not used",
                    run.stations,
                    run.from_mm,
                    run.to_mm,
                    run.off_mm.abs(),
                    if run.off_mm > 0.0 { "below" } else { "above" }
                ),
            )
            .hint("leave that part of the photo out, if it is not the stream"),
        );
    }
    notices
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trajectory::coverage::Noise;
    use crate::trajectory::{FitOptions, fit};

    /// A level jet, stations every 2 mm to x = 400 mm, turned by `roll` rad about the orifice.
    fn turned(roll: f64, noise_mm: f64, wave_mm: f64) -> Vec<Station> {
        let mut noise = Noise::new(3);
        (0..200)
            .map(|i| {
                let x = 2.0 * f64::from(i);
                let wave = wave_mm * (std::f64::consts::TAU * x / 31.0).sin();
                let y = 1.25e-3 * x * x + noise_mm * noise.normal() + wave;
                let (s, c) = roll.sin_cos();
                Station { x_mm: x * c + y * s, y_mm: y * c - x * s, u_mm: 0.1 }
            })
            .collect()
    }

    fn look(stations: &[Station]) -> (Fit, Leftover) {
        let fit = fit(stations, &FitOptions::default()).unwrap();
        let found = left_over(stations, &fit);
        (fit, found)
    }

    #[test]
    fn a_turned_camera_shows_by_its_cubic() {
        let roll = 1.0_f64.to_radians();
        for sign in [1.0, -1.0] {
            let (fit, found) = look(&turned(sign * roll, 0.05, 0.0));
            let (seen, u) = (found.roll_rad.unwrap(), found.roll_u_rad.unwrap());
            // first order only: the exact cubic of a curve of slope 1 at its end is some 10 %
            // smaller
            assert!((seen - sign * roll).abs() < 3.0 * u + 0.15 * roll, "{seen} +- {u}");
            assert!(u < 0.2 * roll);
            // it reads as a launch angle of the same size
            assert!((fit.launch_angle_rad() - sign * roll).abs() < 0.3 * roll, "{}", fit.launch_angle_rad());
            assert!(found.notices[0].says.contains("a vertical that is off by"), "{:?}", found.notices);
        }
    }

    #[test]
    fn the_uncertainty_of_the_cubic_is_that_of_theory() {
        // sqrt(2800 / N) q / X^3 for N equally spaced stations of scatter q over X (own derivation;
        // for y-distances, which the slope makes larger here, and finite N: within a third)
        let (_, found) = look(&turned(0.0, 0.05, 0.0));
        let theory = (2800.0_f64 / 200.0).sqrt() * 0.05 / 400.0_f64.powi(3);
        assert!((0.67..1.5).contains(&(found.cubic_u_per_mm2 / theory)), "{}", found.cubic_u_per_mm2 / theory);
        assert!(found.cubic_per_mm2.abs() < 3.0 * found.cubic_u_per_mm2);
        assert!(found.notices.is_empty() && found.wavelength_mm.is_none(), "{:?}", found.notices);
    }

    #[test]
    fn a_wave_is_found_with_its_size_and_length() {
        let (_, found) = look(&turned(0.0, 0.05, 0.4));
        // across the stream a wave in y is smaller by the cosine of the slope, 0.71 to 1
        assert!((0.2..0.29).contains(&found.waviness_mm), "{}", found.waviness_mm);
        // and along it longer: 31 mm of x are 31 to 44 mm of stream
        let length = found.wavelength_mm.unwrap();
        assert!((31.0..44.0).contains(&length), "{length}");
    }

    #[test]
    fn a_run_of_outliers_is_one_run() {
        let mut stations = turned(0.0, 0.05, 0.0);
        for s in &mut stations[100..120] {
            s.y_mm += 5.0;
        }
        stations[150].y_mm -= 5.0;
        let (_, found) = look(&stations);
        let [run] = found.outlier_runs[..] else { panic!("{:?}", found.outlier_runs) };
        assert_eq!((run.from_mm, run.to_mm, run.stations), (200.0, 238.0, 20));
        assert!((3.5..5.0).contains(&run.off_mm));
        assert!(found.notices.iter().any(|n| n.says.starts_with("20 stations from x = 200 to 238 mm lie")));
    }

    #[test]
    fn few_or_foreign_stations_leave_nothing() {
        let stations = turned(0.0, 0.05, 0.0);
        let (fit, _) = look(&stations);
        assert_eq!(left_over(&stations[..50], &fit).cubic_per_mm2, 0.0);
        let (_, few) = look(&[stations[0], stations[50], stations[100], stations[199]]);
        assert_eq!((few.cubic_per_mm2, few.roll_rad), (0.0, None));
    }
}
