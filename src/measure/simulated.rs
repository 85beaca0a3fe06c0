//! Simulated runs of exactly known truth, from the camera to the flow: no photo, stations where a camera would see them.
//!
//! Everything that a sheet states or that is assumed of a camera is drawn from its standard uncertainty about the
//! truth (or, for assumptions, the truth about the assumption), so the intervals found are put to the test that they claim.

#![cfg(test)]

use super::sight::Sight;
use super::{Draws, Findings, Fitted, Inputs, Job, Refused, conclude, shape};
use crate::calibration::lens::Radial;
use crate::calibration::{Direction, Frame, Pose, View, calibrate};
use crate::jet::{self, Station};
use crate::point::{BenchPoint, PixelPoint};
use crate::sheet::{self, Checked};
use crate::uncertainty::random::Draw;
use std::collections::BTreeMap;

pub(crate) const CV: f64 = 0.975;
pub(crate) const CC: f64 = 0.630;
const HEAD_MM: f64 = 412.0;
const DIAMETER_MM: f64 = 12.0;
const FRAME: Frame = Frame { width: 4000.0, height: 3000.0, focal_length_35mm: Some(26.0) };

/// What the sheet marks for the geometry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Marks {
    /// Two marks on a ruler and a plumb line.
    Two,
    /// Six marks of the jet's plane and two straight edges.
    Six,
}

/// One simulated run.
pub(crate) struct Simulated {
    pub sheet: Checked,
    pub sight: Sight,
    /// True velocity in m/s.
    pub velocity_m_s: f64,
}

/// Standard normal numbers, one after the other.
struct Lots {
    draw: Draw,
    lane: u32,
}

impl Lots {
    fn next(&mut self) -> f64 {
        self.lane += 1;
        self.draw.normal(self.lane)
    }

    fn click(&mut self, at: PixelPoint) -> PixelPoint {
        PixelPoint::new(at.x + 0.7 * self.next(), at.y + 0.7 * self.next())
    }
}

/// Run number `run` of the seed; `None` where a mark would lie outside the photo, or the drawn lens folds it onto itself.
pub(crate) fn simulated(seed: u64, run: u64, marks: Marks, stations: usize) -> Option<Simulated> {
    let mut lots = Lots { draw: Draw::new(seed, run), lane: 0 };
    let half_diagonal = FRAME.half_diagonal_px();
    let assumed_focal = 26.0 * 2.0 * half_diagonal / 43.27;
    let pose = Pose {
        orifice: PixelPoint::new(520.0, 510.0),
        scale_px_mm: 3.0,
        roll_rad: (0.4 * lots.next()).to_radians(),
        yaw_rad: (2.5 * lots.next()).to_radians(),
        pitch_rad: (2.5 * lots.next()).to_radians(),
        focal_px: assumed_focal * (0.07 * lots.next()).exp(),
        lens: Radial {
            centre: PixelPoint::new(
                2000.0 + 0.01 * half_diagonal * lots.next(),
                1500.0 + 0.01 * half_diagonal * lots.next(),
            ),
            unit_px: half_diagonal,
            k1: 0.03 * lots.next(),
            k2: 0.003 * lots.next(),
        },
        direction: Direction::Right,
    };
    let view = View::new(pose)?;
    let see = |x: f64, y: f64, behind: f64| view.pixel_from_space(BenchPoint::new(x, y), behind);

    let g = 9.812;
    let velocity_m_s = CV * (2.0 * g * HEAD_MM / 1000.0).sqrt();
    let launch = 0.4f64.to_radians();
    let area_m2 = std::f64::consts::FRAC_PI_4 * (DIAMETER_MM / 1000.0).powi(2);
    let q_l_s = 1000.0 * CC * area_m2 * velocity_m_s;
    let px = |p: PixelPoint| format!("[{:.4}, {:.4}]", p.x, p.y);
    let mut text = String::from("format = 1\n[photo]\nfile = \"a.jpg\"\n");
    match marks {
        Marks::Two => {
            let behind = lots.next();
            let length = 500.0 + 0.3 * lots.next();
            let (a, b) = (see(200.0, 700.0, behind)?, see(200.0 + length, 700.0, behind)?);
            let tilt = (0.06 * lots.next()).to_radians().tan();
            let (up, down) = (see(-100.0, -100.0, 0.0)?, see(-100.0 - 750.0 * tilt, 650.0, 0.0)?);
            text += &format!(
                "[scale]\nmarks = [{}, {}]\nlength = \"500 mm ± 0.3 mm\"\nbehind_jet = \"0 mm ± 1 mm\"\n[vertical]\nplumb = [{}, {}]\n",
                px(lots.click(a)),
                px(lots.click(b)),
                px(lots.click(up)),
                px(lots.click(down)),
            );
        }
        Marks::Six => {
            text += "[plane]\nbehind_jet = \"0 mm ± 0.5 mm\"\nmarks = [\n";
            let behind = 0.5 * lots.next();
            for i in 0..6 {
                let (x, y) = (-60.0 + 480.0 * f64::from(i % 3), -80.0 + 760.0 * f64::from(i / 3));
                let seen = see(x + 0.2 * lots.next(), y + 0.2 * lots.next(), behind)?;
                text +=
                    &format!("{{ px = {}, at = [\"{x} mm ± 0.2 mm\", \"{y} mm ± 0.2 mm\"] }},\n", px(lots.click(seen)));
            }
            text += "]\n[lens]\nstraight = [\n";
            for y in [-90.0, 700.0] {
                let points = (0..6).map(|i| see(-60.0 + 190.0 * f64::from(i), y, 0.0).map(|p| px(lots.click(p))));
                text += &format!("[{}],\n", points.collect::<Option<Vec<_>>>()?.join(", "));
            }
            text += "]\n";
        }
    }
    let orifice = lots.click(see(0.0, 0.0, 0.0)?);
    text += &format!(
        "[orifice]\ncentre = {}\ndiameter = \"{:.5} mm ± 0.02 mm\"\nedge = \"sharp\"\n\
         [head]\nreading = \"{:.5} mm ± 0.6 mm\"\n[flow]\ndischarge = \"{:.7} L/s ± {:.7} L/s\"\n\
         [water]\ntemperature = \"18 degC\"\n[site]\ngravity = \"{:.6} m/s^2 ± 0.0005 m/s^2\"\n",
        px(orifice),
        DIAMETER_MM + 0.02 * lots.next(),
        HEAD_MM + 0.6 * lots.next(),
        q_l_s * (1.0 + 0.004 * lots.next()),
        q_l_s * 0.004,
        g + 0.0005 * lots.next(),
    );
    let opened = sheet::open(&text);
    let other = opened.faults.iter().find(|f| !f.says.contains("outside the photo"));
    assert!(other.is_none(), "{other:?}\n{text}");
    let sheet = opened.checked?;

    // the vena contracta lies half a diameter along the launch direction; from there the plain parabola
    let (x0, y0) = (0.5 * DIAMETER_MM * launch.cos(), -0.5 * DIAMETER_MM * launch.sin());
    let path = |x: f64| {
        let along_m = (x - x0) / 1000.0;
        let fall = g * along_m * along_m / (2.0 * (velocity_m_s * launch.cos()).powi(2));
        BenchPoint::new(x, y0 + 1000.0 * (fall - along_m * launch.tan()))
    };
    let (from, to) = (40.0, 900.0);
    let (bow, edge) = (0.015 * lots.next(), 0.5 * 2f64.sqrt() * lots.next());
    let u_px = 0.15;
    let xs: Vec<f64> = (0..stations).map(|i| from + (to - from) * i as f64 / (stations - 1) as f64).collect();
    let seen: Vec<PixelPoint> = xs.iter().map(|x| view.pixel_from_bench(path(*x))).collect::<Option<_>>()?;
    let mut s_px = vec![see(0.0, 0.0, 0.0)?.distance(seen[0])];
    for pair in seen.windows(2) {
        s_px.push(s_px[s_px.len() - 1] + pair[0].distance(pair[1]));
    }
    let (s_first, reach) = (s_px[0], s_px[stations - 1] - s_px[0]);
    let mut all = Vec::new();
    for ((&x, &here), &s_px) in xs.iter().zip(&seen).zip(&s_px) {
        let next = view.pixel_from_bench(path(x + 0.1))?;
        let step = here.distance(next);
        let normal = [-(next.y - here.y) / step, (next.x - here.x) / step];
        // V(s)/V0 from the fall
        let speed = (1.0 + 2.0 * g * path(x).y_mm / 1000.0 / velocity_m_s.powi(2)).sqrt();
        let width = (CC / speed).sqrt() * DIAMETER_MM * pose.scale_px_mm + edge;
        // the bow as it is assumed: over the length along the stream. Over x it would move V by 4 % more
        let t = 2.0 * (s_px - s_first) / reach - 1.0;
        let off = bow * width * (1.5 * t * t - 0.5) + u_px * lots.next();
        let at = PixelPoint::new(here.x + off * normal[0], here.y + off * normal[1]);
        all.push(Station { at, normal, s_px, u_px, width_px: Some(width), by_hand: false, sound: true });
    }
    let mut trace = jet::by_hand(&all.iter().map(|s| s.at).collect::<Vec<_>>(), u_px, orifice);
    trace.stations = all;
    let calibration = calibrate(&sheet, &FRAME, Direction::Right).ok()?.value;
    Some(Simulated {
        sheet,
        sight: Sight { calibration, trace, frame: FRAME, card: None, burst: None, rulers: Vec::new() },
        velocity_m_s,
    })
}

impl Simulated {
    /// The trajectory.
    pub(crate) fn fitted(&self) -> Result<Fitted, Refused> {
        shape::fit(&self.sheet, &self.sight, &mut Vec::new())
    }

    /// The findings, with draws where asked for.
    pub(crate) fn findings(&self, draws: Draws) -> Result<Findings, Refused> {
        let fitted = self.fitted()?;
        let mut notices = Vec::new();
        let inputs = Inputs::new(&self.sheet, &self.sight, &fitted, &mut notices)?;
        let job = Job {
            sheet_name: "simulated.toml",
            sheet: &self.sheet,
            photos: &[],
            dry: None,
            notices: Vec::new(),
            inputs: BTreeMap::new(),
            seed: 1,
            draws,
        };
        conclude(&job, &self.sight, &fitted, inputs, notices)
    }
}
