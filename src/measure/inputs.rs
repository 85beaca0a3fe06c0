//! Every stated, clicked, assumed or fitted number that the results depend on, by name.

use super::corrections::Effect;
use super::{Fitted, Refused, sight::Sight};
use crate::calibration::Group;
use crate::hydraulics::flow::FlowModel;
use crate::hydraulics::gravity;
use crate::notice::Notice;
use crate::quantity::Kind;
use crate::sheet::{Checked, Launch};
use crate::uncertainty::{Input, Shape};

/// How far the middle between the seen edges may bow away from the stream's true middle, as a share of the stream's
/// width (one standard uncertainty): refraction and shading shift the two edges of a transparent stream
/// differently as its slope and its background change. Measured on rendered jets of known truth: 0 to 2 %.
const BOW_SHARE: f64 = 0.015;
/// Standard uncertainty of an edge's place that all stations share, px: blur and gamma displace both edges outward or inward,
/// together, so that the width is off by twice as much. Measured on rendered jets of known truth: a width 0.9 px too large to
/// 0.8 px too small, 0.5 px rms over 14 photos, bright streams too wide and dark ones too thin.
const EDGE_U_PX: f64 = 0.5;

/// The inputs in their order, and where each group of them lies.
#[derive(Clone, Debug)]
pub struct Inputs {
    /// All inputs; the order is that of the values that [`super::Model::reduce`] takes.
    pub all: Vec<Input>,
    /// The calibration's observations by budget row; their inputs come first, one for each deviation.
    pub camera: Vec<Group>,
    /// Place of each single input.
    pub place: Places,
    /// The flow's model, where a flow is stated.
    pub flow: Option<FlowModel>,
    /// The corrections applied, each with its input.
    pub effects: Vec<Effect>,
}

/// Places of inputs in [`Inputs::all`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Places {
    /// Deviations of the camera: 0 .. this.
    pub camera_end: usize,
    /// Three unit deviations of the fit's parameters.
    pub stations: usize,
    /// Bow of the seen middle.
    pub bow: usize,
    /// x and y of the shift that all stations of a burst share, px.
    pub burst: Option<usize>,
    /// Widths of the stream; `None` where no station has one.
    pub width: Option<usize>,
    /// Diameter in mm.
    pub diameter: usize,
    /// Head in mm.
    pub head: Option<usize>,
    /// x and y of the marked water surface, px.
    pub surface: Option<usize>,
    /// Gravity in m/s^2.
    pub gravity: usize,
    /// Launch angle in rad, where it is stated.
    pub launch: Option<usize>,
    /// Temperature in degC.
    pub temperature: usize,
    /// Approach area in m^2.
    pub approach_area: Option<usize>,
    /// First input of the flow.
    pub flow: Option<usize>,
}

impl Inputs {
    /// Gathers the inputs.
    ///
    /// # Errors
    /// [`Refused`] where the flow as stated gives no discharge.
    pub fn new(sheet: &Checked, sight: &Sight, fitted: &Fitted, notices: &mut Vec<Notice>) -> Result<Self, Refused> {
        let mut all = Vec::new();
        let mut place = Places::default();
        let camera = sight.calibration.groups();
        for group in &camera {
            all.extend(group.deviations.iter().map(|_| Input::normal(group.name, 0.0, 1.0, "")));
        }
        place.camera_end = all.len();
        place.stations = all.len();
        all.extend((0..3).map(|_| station_deviation(fitted.fit.dof)));
        place.bow = all.len();
        all.push(Input::normal("stream.middle", 0.0, BOW_SHARE, "of the width"));
        if let Some(burst) = &sight.burst {
            place.burst = Some(all.len());
            all.extend((0..2).map(|_| Input::normal("photo.files", 0.0, burst.u_px, "px")));
        }
        if fitted.widths_px.iter().any(Option::is_some) {
            place.width = Some(all.len());
            all.push(Input::normal("stream.width", 0.0, 2.0 * EDGE_U_PX, "px"));
        }
        place.diameter = all.len();
        all.push(Input::normal("orifice.diameter", mm(sheet.diameter.value), mm(sheet.diameter.u), "mm"));
        let mut single = |input: Input| {
            all.push(input);
            all.len() - 1
        };
        place.head = head(sheet, notices).map(&mut single);
        if let (None, Some(mark)) = (place.head, sheet.surface) {
            place.surface = Some(single(Input::normal("head.surface", mark.at.x, mark.u_px, "px")));
            single(Input::normal("head.surface", mark.at.y, mark.u_px, "px"));
        }
        place.gravity = single(site_gravity(sheet));
        if let Launch::Stated(angle) = sheet.launch {
            place.launch =
                Some(single(Input::normal("trajectory.launch", angle.value.si(), sheet.launch_u.si(), "rad")));
        }
        place.temperature =
            single(Input::normal("water.temperature", sheet.temperature.value.si(), sheet.temperature.u.si(), "degC"));
        if let Some(area) = sheet.approach_area {
            place.approach_area =
                Some(single(Input::normal("head.approach_area", area.value.si(), area.u.si(), "m^2")));
        }
        let flow = match &sheet.flow {
            None => None,
            Some(stated) => Some(FlowModel::new(stated).map_err(|reasons| Refused { reasons })?),
        };
        if let Some(model) = &flow {
            notices.extend(model.notices().iter().cloned());
            place.flow = Some(all.len());
            all.extend(model.inputs().iter().map(|i| doubted(Input::normal(i.name, i.value, i.u, i.unit), i.dof)));
        }
        Ok(Self { all, camera, place, flow, effects: Vec::new() })
    }

    /// The values of all inputs.
    pub fn values(&self) -> Vec<f64> {
        self.all.iter().map(|i| i.value).collect()
    }
}

/// Fewest degrees of freedom from which the stations' scatter is drawn as Student's t. With fewer the residuals
/// are one or two long waves (what the camera owns is taken out, see [`super::owned`]); t with one or two degrees of freedom
/// would allow for bends far wider than the stream is seen to have, and has no standard deviation.
const FEWEST_FOR_T: f64 = 5.0;

/// An input whose uncertainty comes from the scatter of readings, with `dof` degrees of freedom: Student's t for the
/// draws (JCGM 101:2008, 6.4.9) as for the linear interval.
fn doubted(input: Input, dof: f64) -> Input {
    let shape = if dof.is_finite() { Shape::T { dof } } else { Shape::Normal };
    Input { shape, ..input.with_dof(dof) }
}

fn station_deviation(dof: f64) -> Input {
    let input = Input::normal("stream.stations", 0.0, 1.0, "");
    if dof < FEWEST_FOR_T { input.with_dof(dof.max(1.0)) } else { doubted(input, dof) }
}

fn mm(length: crate::quantity::Length) -> f64 {
    length.si() * 1000.0
}

/// One head of the readings: their mean, with the drift between them as a further uncertainty.
fn head(sheet: &Checked, notices: &mut Vec<Notice>) -> Option<Input> {
    let readings: Vec<f64> = sheet.head.iter().map(|h| h.value.si()).collect();
    let mean = crate::hydraulics::head::MeanHead::from_readings(&readings)?;
    let n = readings.len() as f64;
    let reading_u = (sheet.head.iter().map(|h| h.u.si().powi(2)).sum::<f64>()).sqrt() / n;
    let single_u = sheet.head.iter().map(|h| h.u.si()).fold(0.0, f64::max);
    notices.extend(mean.drift_notice(single_u));
    let u = reading_u.hypot(mean.drift_u_m());
    Some(Input::normal("head.reading", 1000.0 * mean.mean_m, 1000.0 * u, "mm"))
}

/// Gravity as stated, from latitude and height, or the conventional value with what the place may change.
fn site_gravity(sheet: &Checked) -> Input {
    if let Some(g) = sheet.gravity {
        return Input::normal("site.gravity", g.value.si(), g.u.si(), "m/s^2");
    }
    let height_m = sheet.altitude.value.si();
    match sheet.latitude.and_then(|l| Some((l, gravity::normal_m_s2(l.value.si(), height_m)?))) {
        Some((latitude, g)) => {
            let step = latitude.u.si().max(1e-6);
            let shifted = gravity::normal_m_s2((latitude.value.si() + step).min(1.57), height_m).unwrap_or(g);
            let by_height = 3.086e-6 * sheet.altitude.u.si();
            let u = ((shifted - g) / step * latitude.u.si()).hypot(by_height).hypot(gravity::ANOMALY_U_M_S2);
            Input::normal("site.latitude", g, u, "m/s^2")
        }
        None => Input::normal("site.gravity", gravity::CONVENTIONAL_M_S2, gravity::UNKNOWN_SITE_U_M_S2, "m/s^2"),
    }
}
