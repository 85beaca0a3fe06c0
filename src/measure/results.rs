//! From the model and its inputs to [`Findings`].

use super::paths;
use super::reduce::Scratch;
use super::sight::Sight;
use super::{BudgetRow, Findings, Fitted, Found, Inputs, Job, Model, Output, Refused, StationRow};
use crate::hydraulics::coefficients;
use crate::jet::End;
use crate::notice::Notice;
use crate::quantity::{show_plain, show_value, two_digits};
use crate::uncertainty::{Budget, Correlation, OutputBudget, Row, SECOND_ORDER, budget, second_order};
use std::collections::BTreeMap;

/// The results that could be had, with their budget.
pub(crate) struct Results {
    /// Which, in the order of the budget.
    pub present: Vec<Output>,
    /// The budget.
    pub budget: Budget,
}

impl Results {
    /// Values and budget through the model.
    pub(crate) fn of(inputs: &Inputs, model: &Model) -> Result<Self, Refused> {
        let cannot = || {
            Refused::because(
                "stream",
                "no velocity follows from the stations: the path does not fall",
                "check vertical, orifice.centre and the stations",
            )
        };
        let mut scratch = Scratch::default();
        let mut all = [f64::NAN; Output::ALL.len()];
        if !model.reduce(&inputs.values(), &mut scratch, &mut all) {
            return Err(cannot());
        }
        let present: Vec<Output> = Output::ALL.into_iter().filter(|o| all[*o as usize].is_finite()).collect();
        let mut reduced = |values: &[f64], out: &mut [f64]| {
            let could = model.reduce(values, &mut scratch, &mut all);
            out.iter_mut().zip(&present).for_each(|(o, p)| *o = all[*p as usize]);
            could
        };
        let linear = budget(&inputs.all, &Correlation::none(), present.len(), &mut reduced).map_err(|e| {
            let hint = "an uncertainty is as large as its value, or the marks leave the velocity open";
            Refused::because("sheet", e.to_string(), hint)
        })?;
        let budget = second_order(linear, &inputs.all, reduced);
        Ok(Self { present, budget })
    }

    /// Where an output is in the budget.
    pub(crate) fn place(&self, output: Output) -> Option<usize> {
        self.present.iter().position(|p| *p == output)
    }

    /// The budget of an output.
    pub(crate) fn get(&self, output: Output) -> Option<&OutputBudget> {
        self.place(output).map(|i| &self.budget.outputs[i])
    }

    fn found(&self, output: Output) -> Option<Found> {
        self.get(output).map(|o| quantity(o, output.unit()))
    }
}

/// Results, budget and stations.
pub(crate) fn findings(
    job: &Job,
    sight: &Sight,
    fitted: &Fitted,
    inputs: &Inputs,
    results: &Results,
    mut notices: Vec<Notice>,
) -> Findings {
    let found = |output: Output| results.found(output);
    absent(job, &results.present, &mut notices);
    end_told(sight, &mut notices);
    let budgets = results
        .present
        .iter()
        .zip(&results.budget.outputs)
        .map(|(output, o)| (output.key().to_owned(), rows(o, sight, fitted, inputs)))
        .collect();
    let contributions = results
        .present
        .iter()
        .enumerate()
        .map(|(i, output)| (output.key().to_owned(), contributions(&results.budget, i, sight, inputs)))
        .collect();
    let gravity = inputs.all[inputs.place.gravity].value;
    // single stations are read without corrections, against the ideal velocity without them
    let on_ideal: f64 = inputs.effects.iter().map(|e| 1.0 + e.ideal_per_velocity * inputs.all[e.input].value).product();
    let ideal = results.get(Output::IdealVelocity).map(|o| o.value / on_ideal);
    Findings {
        format: 1,
        sheet: job.sheet_name.to_owned(),
        title: job.sheet.title.clone(),
        velocity: found(Output::Velocity),
        launch_angle: found(Output::LaunchAngle),
        cv: found(Output::Cv),
        cd: found(Output::Cd),
        cc: found(Output::Cc),
        k: found(Output::K),
        ideal_velocity: found(Output::IdealVelocity),
        head: found(Output::Head),
        discharge: found(Output::Discharge),
        reynolds: found(Output::Reynolds),
        weber: found(Output::Weber),
        head_lost: found(Output::HeadLost),
        jet_power: found(Output::JetPower),
        stream_width: found(Output::StreamWidth),
        cc_from_width: found(Output::CcFromWidth),
        efficiency: found(Output::Efficiency),
        froude: found(Output::Froude),
        head_to_diameter: found(Output::HeadToDiameter),
        rulers: super::rulers::rows(&sight.rulers),
        card: super::card::row(job.sheet, sight),
        stations: stations(sight, fitted, gravity, ideal),
        fitted: paths::fitted(&sight.calibration, fitted),
        predicted: ideal.map_or_else(Vec::new, |v| paths::ideal(&sight.calibration, fitted, gravity, v)),
        budget: budgets,
        contributions,
        fit: fit(sight, fitted),
        notices,
        inputs: job.inputs.clone(),
        ..Findings::default()
    }
}

fn quantity(o: &OutputBudget, unit: &str) -> Found {
    Found { value: o.value, u: o.u, lo: o.interval.lo, hi: o.interval.hi, unit: unit.to_owned() }
}

/// Why results are absent.
fn absent(job: &Job, present: &[Output], notices: &mut Vec<Notice>) {
    let has = |o| present.contains(&o);
    let mut tell = |about: &str, says: &str, hint: &str| notices.push(Notice::new(about, says).hint(hint));
    if !has(Output::Head) {
        tell(
            "head",
            "no head: Cv, K and the head lost are absent",
            "state head.reading, or mark the water surface: head.surface",
        );
    } else if !has(Output::Cv) {
        tell("head", "the head is not above the orifice: Cv is absent", "check head.surface and vertical");
    }
    if job.sheet.flow.is_none() {
        tell(
            "flow",
            "no flow: discharge, Cd, Cc and the jet's power are absent",
            "state flow.timed, flow.running or flow.discharge",
        );
    }
    if job.sheet.approach_area.is_some() && job.sheet.flow.is_none() {
        tell(
            "head.approach_area",
            "without a flow the velocity of approach cannot be had: the approach area is not used",
            "state a flow, or read the head where the water stands still",
        );
    }
    if !has(Output::StreamWidth) {
        tell(
            "stream",
            "stations placed by hand have no width: the stream's width is absent",
            "let the stream be found, or state a flow",
        );
    }
    if !has(Output::Weber) {
        tell(
            "water",
            "Reynolds and Weber numbers are absent: they need the jet's diameter and water of 0 to 40 degC",
            "state a flow; check water.temperature",
        );
    }
}

fn end_told(sight: &Sight, notices: &mut Vec<Notice>) {
    let (says, hint) = match sight.trace.end {
        End::Lost => (
            "the stream is followed until it breaks up, is hidden or grows too faint",
            "look at the last stations; end them earlier with stream.until",
        ),
        End::LeftOut => ("the stream is followed until a left-out area", "see stream.look_in and stream.leave_out"),
        End::Frame | End::Until | End::ByHand => return,
    };
    notices.push(Notice::new("stream.until", says).hint(hint).aside());
}

fn stations(sight: &Sight, fitted: &Fitted, gravity: f64, ideal: Option<f64>) -> Vec<StationRow> {
    let fit = &fitted.fit;
    let x_vc = fit.x_vc_mm;
    let (y_vc, angle) = (fit.y_mm(x_vc), fit.launch_angle_rad());
    sight
        .trace
        .stations
        .iter()
        .enumerate()
        .map(|(i, s)| {
            let p = fitted.points[i];
            let (x_m, y_m) = ((p.x_mm - x_vc) / 1000.0, (p.y_mm - y_vc) / 1000.0);
            let velocity = coefficients::single_point_velocity_inclined_m_s(x_m, y_m, gravity, angle);
            // V goes as the inverse root of the fall below the launch line
            let fall_m = y_m + x_m * angle.tan();
            let u_drop_m = fitted.u_mm[i] * fit.slope(p.x_mm).hypot(1.0) / 1000.0;
            StationRow {
                px: s.at.into(),
                x_mm: p.x_mm,
                y_mm: p.y_mm,
                u_px: s.u_px,
                width_mm: s.width_px.map(|w| w / sight.calibration.px_per_mm()),
                off_mm: fit.off_mm[i],
                used: fit.used[i],
                velocity,
                velocity_u: velocity.map(|v| 0.5 * v * u_drop_m / fall_m).filter(|u| u.is_finite()),
                cv: velocity.zip(ideal).and_then(|(v, vi)| coefficients::cv(v, vi)),
            }
        })
        .collect()
}

fn fit(sight: &Sight, fitted: &Fitted) -> BTreeMap<String, Found> {
    let plain = |value: f64, unit: &str| Found { value, u: 0.0, lo: value, hi: value, unit: unit.to_owned() };
    let fit = &fitted.fit;
    let used = fit.used.iter().filter(|u| **u).count();
    BTreeMap::from([
        ("stations".to_owned(), plain(fit.used.len() as f64, "")),
        ("stations_used".to_owned(), plain(used as f64, "")),
        ("effective_stations".to_owned(), plain(fit.n_effective, "")),
        ("rms_off".to_owned(), plain(fit.rms_mm, "mm")),
        ("rms_off_px".to_owned(), plain(fit.rms_mm * sight.calibration.px_per_mm(), "px")),
        ("left_over".to_owned(), plain(fitted.discrepancy_mm, "mm")),
        ("px_per_mm".to_owned(), plain(sight.calibration.px_per_mm(), "px/mm")),
    ])
}

/// Signed contributions to output `o` by the inputs' names. Those of the camera's deviations are told for each
/// observation, because the deviations themselves have no sign that two photos share: with c_j the contribution of
/// deviation d_j, observation i of standard uncertainty u_i contributes sum_j c_j d_ji / u_i.
fn contributions(budget: &Budget, o: usize, sight: &Sight, inputs: &Inputs) -> BTreeMap<String, Vec<f64>> {
    let mut of: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let mut at = 0;
    for group in &inputs.camera {
        let members = group.members.iter().map(|&i| {
            let u = sight.calibration.observations()[i].u;
            let parts = group.deviations.iter().enumerate().map(|(j, d)| budget.contributions[at + j][o] * d[i] / u);
            parts.sum()
        });
        of.entry(group.name.to_owned()).or_default().extend(members.collect::<Vec<f64>>());
        at += group.deviations.len();
    }
    for (input, moved) in inputs.all.iter().zip(&budget.contributions).skip(at) {
        of.entry(input.name.clone()).or_default().push(moved[o]);
    }
    let beyond = budget.outputs[o].rows.iter().find(|row| row.name == SECOND_ORDER && row.share > 0.0);
    if let Some(row) = beyond {
        // of one sign with the velocity (the first result) or of the other, as their covariance says
        let sign = if budget.covariance.get(0, o) < 0.0 { -1.0 } else { 1.0 };
        of.insert(row.name.clone(), vec![sign * row.contribution]);
    }
    of
}

/// The budget's rows with values and uncertainties as text.
fn rows(o: &OutputBudget, sight: &Sight, fitted: &Fitted, inputs: &Inputs) -> Vec<BudgetRow> {
    let told = |row: &Row| {
        if row.name != SECOND_ORDER {
            return text(row, sight, fitted, inputs);
        }
        BudgetRow {
            input: row.name.clone(),
            value: o.together.as_ref().map_or_else(|| "products of inputs".to_owned(), ToString::to_string),
            u: "-".to_owned(),
            sensitivity: row.sensitivity,
            share: row.share,
        }
    };
    o.rows.iter().map(told).collect()
}

/// The unit that a volume or its rate is told in, and how many of it make one of the model's.
fn in_litres(unit: &'static str) -> (&'static str, f64) {
    match unit {
        "m^3" => ("L", 1000.0),
        "m^3/s" => ("L/s", 1000.0),
        other => (other, 1.0),
    }
}

fn text(row: &Row, sight: &Sight, fitted: &Fitted, inputs: &Inputs) -> BudgetRow {
    let (value, u, step) = if let Some(group) = inputs.camera.iter().find(|g| g.name == row.name) {
        let value = match group.value {
            Some(v) => show_value(v, group.u, group.unit),
            None => format!("{} readings", group.members.len()),
        };
        (value, show_plain(two_digits(group.u), group.unit), group.u)
    } else if row.name == "stream.stations" {
        let used = fitted.fit.used.iter().filter(|u| **u).count();
        let rms_px = fitted.fit.rms_mm * sight.calibration.px_per_mm();
        (format!("{used} stations"), show_plain(two_digits(rms_px), "px rms"), rms_px)
    } else {
        let (unit, times) = in_litres(row.unit);
        let u = times * row.u;
        let readings = || format!("{} readings", row.inputs);
        let value = row.value.map_or_else(readings, |v| show_value(times * v, u, unit));
        (value, show_plain(two_digits(u), unit), u)
    };
    let times = in_litres(row.unit).1;
    let alone = row.inputs == 1 && step == times * row.u;
    let sensitivity = if alone { row.sensitivity / times } else { row.contribution / step };
    BudgetRow { input: row.name.clone(), value, u, sensitivity, share: row.share }
}
