//! Synthetic stations of known truth: does the 95 % interval hold the velocity 95 times in 100?

#![cfg(test)]

use super::{FitOptions, Launch, Loss, Station, fit};

/// Repeatable noise for tests (SplitMix64: Steele, Lea & Flood 2014, "Fast splittable pseudorandom
/// number generators", OOPSLA; normal values by Box & Muller 1958).
pub(super) struct Noise(u64);

impl Noise {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(super) fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (((z ^ (z >> 31)) >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    pub(super) fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }

    /// A first-order autoregressive series of variance 1.
    pub(super) fn autoregressive(&mut self, n: usize, phi: f64) -> Vec<f64> {
        let mut last = self.normal();
        (0..n)
            .map(|_| {
                let now = last;
                last = phi * last + (1.0 - phi * phi).sqrt() * self.normal();
                now
            })
            .collect()
    }
}

/// A stretch of stream to draw stations on.
#[derive(Clone, Copy)]
struct Bench {
    stations: usize,
    spacing_mm: f64,
    white_mm: f64,
    correlated_mm: f64,
    /// Correlation from one station to the next.
    phi: f64,
    /// Length of a wave in stations; 0: the correlation just falls off.
    wave: f64,
    outliers: f64,
    /// Share of the stations, in one run, that follow a straight edge.
    ruler: f64,
    launch: Launch,
    stated_u_mm: f64,
    loss: Loss,
}

struct Covered {
    /// Share of the draws whose 95 % interval holds the true velocity.
    held: f64,
    /// Root mean square error over root mean square uncertainty; below 1 where few degrees of
    /// freedom make single uncertainties large.
    ratio: f64,
    /// Mean degrees of freedom.
    dof: f64,
}

const TRUTH: [f64; 3] = [0.5, -0.02, 1.25e-3];
const X_VC: f64 = 6.0;

impl Bench {
    /// Correlated noise of variance 1: falling off, or in trains of waves.
    fn waves(&self, noise: &mut Noise) -> Vec<f64> {
        let even = noise.autoregressive(self.stations, self.phi);
        if self.wave == 0.0 {
            return even;
        }
        let odd = noise.autoregressive(self.stations, self.phi);
        let turn = |(i, (e, o)): (usize, (&f64, &f64))| {
            let (s, c) = (std::f64::consts::TAU * i as f64 / self.wave).sin_cos();
            e * c + o * s
        };
        even.iter().zip(&odd).enumerate().map(turn).collect()
    }

    fn stations(&self, noise: &mut Noise) -> Vec<Station> {
        let waves = self.waves(noise);
        let ruler = (0.4 * self.stations as f64) as usize..((0.4 + self.ruler) * self.stations as f64) as usize;
        waves
            .iter()
            .enumerate()
            .map(|(i, wave)| {
                let x = 8.0 + self.spacing_mm * i as f64;
                let slope = TRUTH[1] + 2.0 * TRUTH[2] * x;
                let across = (1.0 + slope * slope).sqrt();
                let mut off = self.white_mm * noise.normal() + self.correlated_mm * wave;
                if noise.uniform() < self.outliers {
                    off += 6.0 * (noise.uniform() - 0.5); // up to 3 mm, both sides
                }
                let y = TRUTH[0] + x * (TRUTH[1] + TRUTH[2] * x);
                if ruler.contains(&i) {
                    return Station { x_mm: x, y_mm: 60.0 + 0.02 * x, u_mm: self.stated_u_mm };
                }
                Station { x_mm: x - off * slope / across, y_mm: y + off / across, u_mm: self.stated_u_mm }
            })
            .collect()
    }

    fn coverage(&self, draws: u64) -> Covered {
        let g = 9.81;
        let slope = TRUTH[1] + 2.0 * TRUTH[2] * X_VC;
        let truth = (g / (2.0 * TRUTH[2] * 1e3) * (1.0 + slope * slope)).sqrt();
        let options = FitOptions { x_vc_mm: X_VC, loss: self.loss, launch: self.launch, ..FitOptions::default() };
        let (mut held, mut errors, mut variances, mut dofs) = (0.0, 0.0, 0.0, 0.0);
        for seed in 0..draws {
            let mut noise = Noise::new(0xc0ffee + seed);
            let fit = fit(&self.stations(&mut noise), &options).unwrap();
            let error = fit.velocity_m_s(g).unwrap() - truth;
            let u = fit.velocity_u_m_s(g).unwrap();
            held += f64::from(error.abs() <= student_975(fit.dof) * u);
            errors += error * error;
            variances += u * u;
            dofs += fit.dof;
        }
        let n = draws as f64;
        Covered { held: held / n, ratio: (errors / variances).sqrt(), dof: dofs / n }
    }
}

/// The 97.5 % quantile of Student's t: bisection on Simpson's integral of the density.
fn student_975(dof: f64) -> f64 {
    let density = |t: f64| (1.0 + t * t / dof).powf(-0.5 * (dof + 1.0));
    // with t = tan(angle), the half line becomes a quarter turn
    let area = |to: f64| {
        let n = 400;
        let f = |i: i32| {
            let angle = to.atan() * f64::from(i) / f64::from(n);
            density(angle.tan()) / angle.cos().powi(2)
        };
        let inner: f64 = (1..n).map(|i| f64::from(2 + 2 * (i % 2)) * f(i)).sum();
        (f(0) + inner + f(n)) * to.atan() / f64::from(n) / 3.0
    };
    let whole = area(1e6);
    let (mut lo, mut hi) = (1.0, 20.0);
    for _ in 0..40 {
        let middle = 0.5 * (lo + hi);
        if area(middle) < 0.95 * whole { lo = middle } else { hi = middle }
    }
    0.5 * (lo + hi)
}

#[test]
fn the_quantile_is_students() {
    // GUM (JCGM 100:2008) table G.2, p = 95 %
    for (dof, t) in [(1.0, 12.71), (2.0, 4.30), (5.0, 2.57), (10.0, 2.23), (50.0, 2.01)] {
        assert!((student_975(dof) - t).abs() < 0.0051, "{dof}: {}", student_975(dof));
    }
}

impl Bench {
    /// A run as photos give it: 200 stations over 0.4 m, waves a few stations long, 5 % outliers.
    const COMMON: Self = Self {
        stations: 200,
        spacing_mm: 2.0,
        white_mm: 0.1,
        correlated_mm: 0.15,
        phi: 0.8,
        wave: 0.0,
        outliers: 0.05,
        ruler: 0.0,
        launch: Launch::Free,
        stated_u_mm: 0.18,
        loss: Loss::TUKEY,
    };
}

#[test]
fn the_interval_covers_the_velocity_under_waves_and_outliers() {
    let Covered { held, .. } = Bench::COMMON.coverage(1000);
    assert!((0.93..=0.97).contains(&held), "{held}");
}

/// Last measured, 1000 draws each: share held, error over uncertainty, mean degrees of freedom.
/// ```text
/// common               0.966 0.69   8      30 stations          0.972 0.77  26
/// 100 stations         0.956 0.75   4      30 stations, waves   0.936 0.74   8
/// 400 stations         0.946 0.89  20      10 stations          0.948 1.12  25
/// waves of 2 stations  0.956 0.91  24      30 % on a ruler      0.959 0.72   5
/// waves of 10 stations 0.970 0.67   4      20 % outliers        0.963 0.69   8
/// faint waves          0.944 0.92  25      angle stated         0.956 0.73  10
/// trains of waves      0.974 0.87  33      u stated too small  0.966 0.69   8
/// trains of long waves 0.978 0.66   6      u stated too large  0.982 0.56  18
/// no waves             0.950 0.99 160      Cauchy 0.966, Huber 0.964, squares 0.969
/// ```
#[test]
#[ignore = "two minutes in the test profile; run it after any change to the fit's covariance"]
fn the_interval_covers_on_every_bench() {
    let common = Bench::COMMON;
    let white = Bench { correlated_mm: 0.0, ..common };
    let hundred = Bench { stations: 100, spacing_mm: 4.0, ..common };
    let thirty = Bench { stations: 30, spacing_mm: 13.0, ..common };
    let angle_rad = -(TRUTH[1] + 2.0 * TRUTH[2] * X_VC).atan();
    for (name, bench) in [
        ("common", common),
        ("100 stations", hundred),
        ("400 stations", Bench { stations: 400, spacing_mm: 1.0, ..common }),
        ("waves of 2 stations", Bench { phi: 0.5, ..common }),
        ("waves of 10 stations", Bench { phi: 0.9, ..common }),
        ("faint waves", Bench { phi: 0.3, ..hundred }),
        ("trains of waves", Bench { wave: 10.0, ..common }),
        ("trains of long waves", Bench { wave: 40.0, phi: 0.9, ..common }),
        ("no waves", white),
        ("30 stations", Bench { correlated_mm: 0.0, ..thirty }),
        ("30 stations, waves", Bench { phi: 0.6, ..thirty }),
        ("10 stations", Bench { stations: 10, spacing_mm: 40.0, outliers: 0.0, stated_u_mm: 0.1, ..white }),
        ("30 % on a ruler", Bench { ruler: 0.3, ..common }),
        ("20 % outliers", Bench { outliers: 0.2, ..common }),
        ("angle stated", Bench { launch: Launch::Stated { angle_rad, u_rad: 1e-4 }, ..common }),
        ("u stated too small", Bench { stated_u_mm: 0.02, ..common }),
        ("u stated too large", Bench { stated_u_mm: 1.0, ..common }),
        ("Cauchy's loss", Bench { loss: Loss::CAUCHY, ..common }),
        ("Huber's loss", Bench { loss: Loss::HUBER, ..common }),
        ("squares", Bench { loss: Loss::Squared, outliers: 0.0, ..common }),
    ] {
        let Covered { held, ratio, dof } = bench.coverage(1000);
        println!("{name:22} {held:.3} {ratio:.2} {dof:4.0}");
        // Above 0.97: trains of waves, whose correlation turns negative beyond the window and would
        // deflate the uncertainty; 30 stations, where caution about correlation costs; u stated
        // five times too large, by design. Below 0.93 nothing.
        let high = if name.starts_with("trains") || name.starts_with("30 stations") || name.ends_with("large") {
            0.985
        } else {
            0.972
        };
        assert!((0.93..=high).contains(&held), "{name}: {held}");
    }
}
