//! The number half: named inputs -> velocity and coefficients. Every row of the budget and every draw of a Monte
//! Carlo run goes through [`Model::reduce`]; it allocates nothing.

use super::{Fitted, Inputs, sight::Sight};
use crate::calibration::Calibration;
use crate::hydraulics::flow::{Densities, FlowModel};
use crate::hydraulics::{coefficients, head, water::Water};
use crate::point::PixelPoint;
use crate::quantity::Kind;
use crate::sheet::{Checked, Launch};
use crate::trajectory;

/// One result, in the order of [`Output::ALL`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Output {
    /// Speed at the vena contracta, m/s.
    Velocity,
    /// Launch angle there, degrees upward.
    LaunchAngle,
    /// Width of the stream there, mm.
    StreamWidth,
    /// Head, mm.
    Head,
    /// Ideal velocity, m/s.
    IdealVelocity,
    /// Coefficient of velocity.
    Cv,
    /// Coefficient of loss.
    K,
    /// Head lost, mm.
    HeadLost,
    /// Discharge, L/s.
    Discharge,
    /// Coefficient of discharge.
    Cd,
    /// Coefficient of contraction.
    Cc,
    /// Power of the jet, W.
    JetPower,
    /// Reynolds number of the jet.
    Reynolds,
    /// Weber number of the jet.
    Weber,
    /// Coefficient of contraction from the stream's width in the photo.
    CcFromWidth,
    /// Share of the head's energy that the jet carries, Cv^2.
    Efficiency,
    /// Froude number of the jet on its diameter.
    Froude,
    /// Head over orifice diameter.
    HeadToDiameter,
}

impl Output {
    /// All of them.
    pub const ALL: [Self; 18] = [
        Self::Velocity,
        Self::LaunchAngle,
        Self::StreamWidth,
        Self::Head,
        Self::IdealVelocity,
        Self::Cv,
        Self::K,
        Self::HeadLost,
        Self::Discharge,
        Self::Cd,
        Self::Cc,
        Self::JetPower,
        Self::Reynolds,
        Self::Weber,
        Self::CcFromWidth,
        Self::Efficiency,
        Self::Froude,
        Self::HeadToDiameter,
    ];

    /// Its key in the findings.
    pub fn key(self) -> &'static str {
        match self {
            Self::Velocity => "velocity",
            Self::LaunchAngle => "launch_angle",
            Self::StreamWidth => "stream_width",
            Self::Head => "head",
            Self::IdealVelocity => "ideal_velocity",
            Self::Cv => "cv",
            Self::K => "k",
            Self::HeadLost => "head_lost",
            Self::Discharge => "discharge",
            Self::Cd => "cd",
            Self::Cc => "cc",
            Self::JetPower => "jet_power",
            Self::Reynolds => "reynolds",
            Self::Weber => "weber",
            Self::CcFromWidth => "cc_from_width",
            Self::Efficiency => "efficiency",
            Self::Froude => "froude",
            Self::HeadToDiameter => "head_to_diameter",
        }
    }

    /// Its unit; empty for a pure number.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Velocity | Self::IdealVelocity => "m/s",
            Self::LaunchAngle => "deg",
            Self::StreamWidth | Self::Head | Self::HeadLost => "mm",
            Self::Discharge => "L/s",
            Self::JetPower => "W",
            Self::Cv
            | Self::K
            | Self::Cd
            | Self::Cc
            | Self::Reynolds
            | Self::Weber
            | Self::CcFromWidth
            | Self::Efficiency
            | Self::Froude
            | Self::HeadToDiameter => "",
        }
    }
}

/// Scratch memory of one thread.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    deviations: Vec<f64>,
    x_mm: Vec<f64>,
    y_mm: Vec<f64>,
}

/// From inputs to results.
#[derive(Clone, Debug)]
pub struct Model<'a> {
    calibration: &'a Calibration,
    inputs: &'a Inputs,
    launch: Launch,
    launch_u_rad: f64,
    flow: Option<&'a FlowModel>,
    px: Vec<PixelPoint>,
    weight: Vec<f64>,
    /// Shift of each station's drop per unit of bow, mm.
    bow_mm: Vec<f64>,
    root: [[f64; 3]; 3],
    width_px: Option<f64>,
}

impl<'a> Model<'a> {
    /// A model of what was seen.
    pub fn new(sheet: &Checked, sight: &'a Sight, fitted: &'a Fitted, inputs: &'a Inputs) -> Self {
        let used: Vec<usize> = (0..fitted.points.len()).filter(|&i| fitted.fit.used[i]).collect();
        Self {
            calibration: &sight.calibration,
            inputs,
            launch: sheet.launch,
            launch_u_rad: sheet.launch_u.si(),
            flow: inputs.flow.as_ref(),
            px: used.iter().map(|&i| sight.trace.stations[i].at).collect(),
            weight: used.iter().map(|&i| fitted.fit.weight[i]).collect(),
            bow_mm: used.iter().map(|&i| fitted.bow_mm[i]).collect(),
            root: root(fitted.fit.covariance),
            width_px: fitted.width_px,
        }
    }

    /// Results for `values` of all inputs, in the order of [`Output::ALL`]; NaN stands for a result that was not asked
    /// for (no head, no flow) and never leaves this crate's budget. False where the velocity cannot be had.
    pub fn reduce(&self, values: &[f64], scratch: &mut Scratch, out: &mut [f64]) -> bool {
        self.reduced(values, scratch, out).is_some()
    }

    fn reduced(&self, values: &[f64], scratch: &mut Scratch, out: &mut [f64]) -> Option<()> {
        let place = &self.inputs.place;
        out.fill(f64::NAN);
        let view = {
            scratch.deviations.clear();
            scratch.deviations.resize(self.calibration.observations().len(), 0.0);
            let directions = self.inputs.camera.iter().flat_map(|g| &g.deviations);
            for (direction, z) in directions.zip(&values[..place.camera_end]) {
                if *z != 0.0 {
                    scratch.deviations.iter_mut().zip(direction).for_each(|(d, v)| *d += z * v);
                }
            }
            self.calibration.view_at(&scratch.deviations)
        };
        scratch.x_mm.clear();
        scratch.y_mm.clear();
        let bow = values[place.bow];
        let [sx, sy] = place.burst.map_or([0.0; 2], |i| [values[i], values[i + 1]]);
        for (p, b) in self.px.iter().zip(&self.bow_mm) {
            let q = view.bench_from_pixel(PixelPoint::new(p.x + sx, p.y + sy))?;
            scratch.x_mm.push(q.x_mm);
            scratch.y_mm.push(q.y_mm + bow * b);
        }
        let g = values[place.gravity];
        let diameter_mm = values[place.diameter];
        let x_vc = 0.5 * diameter_mm;
        let launch = match self.launch {
            Launch::Free => trajectory::Launch::Free,
            Launch::Level => trajectory::Launch::Level,
            Launch::Stated(_) => {
                trajectory::Launch::Stated { angle_rad: values[place.launch?], u_rad: self.launch_u_rad }
            }
        };
        let (_, mut b, mut a) = trajectory::refit(&scratch.x_mm, &scratch.y_mm, &self.weight, launch, x_vc)?;
        let z = &values[place.stations..place.stations + 3];
        b += self.root[1][0] * z[0] + self.root[1][1] * z[1];
        a += self.root[2][0] * z[0] + self.root[2][1] * z[1] + self.root[2][2] * z[2];
        if a.is_nan() || a <= 0.0 || g.is_nan() || g <= 0.0 {
            return None;
        }
        // the contraction ends half a diameter along the launch direction, not along x
        let x_vc = x_vc / (b + 2.0 * a * x_vc).hypot(1.0);
        let slope = b + 2.0 * a * x_vc;
        let seen = (g * (1.0 + slope * slope) / (2.0 * a * 1000.0)).sqrt();
        let (mut on_velocity, mut on_ideal) = (1.0, 1.0);
        for effect in &self.inputs.effects {
            on_velocity *= 1.0 + values[effect.input];
            on_ideal *= 1.0 + effect.ideal_per_velocity * values[effect.input];
        }
        let velocity = seen * on_velocity;
        if velocity.is_nan() || velocity <= 0.0 {
            return None;
        }
        let mut put = |output: Output, value: Option<f64>| {
            if let Some(v) = value {
                out[output as usize] = v;
            }
        };
        put(Output::Velocity, Some(velocity));
        put(Output::LaunchAngle, Some(-slope.atan().to_degrees()));

        let width_mm = self.width_px.zip(place.width).map(|(w, i)| (w + values[i]) / view.px_per_mm());
        put(Output::StreamWidth, width_mm.filter(|w| *w > 0.0));

        let head_mm = match (place.head, place.surface) {
            (Some(i), _) => Some(values[i]),
            (None, Some(i)) => {
                let mark = PixelPoint::new(values[i], values[i + 1]);
                Some(-view.bench_from_pixel(mark)?.y_mm)
            }
            (None, None) => None,
        };
        put(Output::Head, head_mm);
        let water = Water::at(values[place.temperature]).ok();
        let flow_m3_s = self.flow.zip(place.flow).and_then(|(model, i)| {
            let densities = Densities {
                water_kg_m3: water.as_ref()?.density_kg_m3,
                air_kg_m3: crate::hydraulics::air::density_kg_m3(
                    values[place.temperature],
                    crate::hydraulics::air::SEA_LEVEL_PRESSURE_PA,
                )?,
            };
            model.discharge_m3_s(&values[i..i + model.inputs().len()], densities)
        });
        put(Output::Discharge, flow_m3_s.map(|q| 1000.0 * q));
        let ideal = head_mm.and_then(|h| match (place.approach_area, flow_m3_s) {
            (Some(i), Some(q)) => head::ideal_velocity_with_flow_m_s(g, h / 1000.0, q, values[i]),
            _ => head::ideal_velocity_m_s(g, h / 1000.0),
        });
        let ideal = ideal.map(|v| v * on_ideal);
        put(Output::IdealVelocity, ideal);
        let cv = ideal.and_then(|i| coefficients::cv(velocity, i));
        put(Output::Cv, cv);
        put(Output::K, cv.and_then(coefficients::loss_coefficient));
        put(
            Output::HeadLost,
            head_mm.zip(cv).and_then(|(h, c)| coefficients::head_lost_m(h / 1000.0, c)).map(|h| 1000.0 * h),
        );
        let diameter_m = diameter_mm / 1000.0;
        put(Output::Efficiency, cv.and_then(coefficients::efficiency));
        put(Output::HeadToDiameter, head_mm.and_then(|h| coefficients::head_to_diameter(h / 1000.0, diameter_m)));
        let width_m = width_mm.filter(|w| *w > 0.0).map(|w| w / 1000.0);
        put(Output::CcFromWidth, width_m.and_then(|w| coefficients::cc_from_width(w, diameter_m)));
        let jet_m = flow_m3_s.and_then(|q| coefficients::vena_contracta_diameter_m(q, velocity)).or(width_m);
        put(Output::Froude, jet_m.and_then(|d| coefficients::froude(velocity, d, g)));
        let cc = flow_m3_s.and_then(|q| coefficients::cc(q, diameter_m, velocity));
        put(Output::Cd, flow_m3_s.zip(ideal).and_then(|(q, i)| coefficients::cd(q, diameter_m, i)));
        put(Output::Cc, cc);
        if let Some(water) = &water {
            put(Output::JetPower, flow_m3_s.and_then(|q| coefficients::jet_power_w(water.density_kg_m3, q, velocity)));
            put(
                Output::Reynolds,
                jet_m.and_then(|d| coefficients::reynolds(velocity, d, water.density_kg_m3, water.viscosity_pa_s)),
            );
            put(
                Output::Weber,
                jet_m.and_then(|d| coefficients::weber(velocity, d, water.density_kg_m3, water.surface_tension_n_m)),
            );
        }
        Some(())
    }
}

/// Lower triangular root of a covariance of three (Cholesky); rows that it leaves without variance are 0.
fn root(c: [[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let mut l = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..=i {
            let mut sum = c[i][j];
            sum -= l[i].iter().zip(&l[j]).take(j).map(|(a, b)| a * b).sum::<f64>();
            l[i][j] = if i == j {
                sum.max(0.0).sqrt()
            } else if l[j][j] > 0.0 {
                sum / l[j][j]
            } else {
                0.0
            };
        }
    }
    l
}
