//! The check of the flow: fillings that can be, and the uncertainty of each.

use super::{Check, defaults};
use crate::quantity::{Kind, Reading, show_plain};
use crate::sheet::{Caught, Filling, Flow, Sheet};

impl Check<'_> {
    /// The flow with an uncertainty on every reading.
    pub(super) fn flow(&mut self, sheet: &Sheet) -> Option<Flow> {
        for (place, filling) in &self.places.loose.fillings {
            self.filling(filling, place);
        }
        if self.places.loose.flows.len() > 1 {
            let hint = "keep one of timed, running and discharge";
            self.fault("flow", "the flow is stated in more than one way", hint);
            for flow in &self.places.loose.flows {
                self.one_flow(flow, sheet);
            }
        }
        self.one_flow(sheet.flow.as_ref()?, sheet)
    }

    fn one_flow(&mut self, flow: &Flow, sheet: &Sheet) -> Option<Flow> {
        Some(match flow {
            Flow::Timed(fillings) => {
                if fillings.is_empty() {
                    let hint = "as in timed = [{ volume = \"10 L\", time = \"42.3 s\" }]";
                    self.fault("flow.timed", "no filling is listed", hint);
                }
                let masses = fillings.iter().filter(|f| matches!(f.caught, Caught::Mass(_))).count();
                if masses > 0 && masses < fillings.len() {
                    let says = format!("{masses} of {} fillings are weighed, the others are volumes", fillings.len());
                    self.fault("flow.timed", says, "use one of the two throughout");
                }
                Flow::Timed(self.fillings(fillings, "flow.timed", defaults::INTERVAL_U_S, sheet))
            }
            Flow::Running(marks) => {
                self.rises(marks, "flow.running");
                Flow::Running(self.fillings(marks, "flow.running", defaults::PRESS_U_S, sheet))
            }
            Flow::Discharge(reading) => {
                let about = "flow.discharge";
                if !self.is_positive(reading, about, "the discharge") {
                    return None;
                }
                let u = defaults::DISCHARGE_RELATIVE_U * reading.value.si();
                let given = self.given(*reading, about, u, "L/s");
                Flow::Discharge(Reading::with_u(given.value, given.u))
            }
        })
    }

    fn fillings(&mut self, fillings: &[Filling], about: &str, time_u_s: f64, sheet: &Sheet) -> Vec<Filling> {
        for (i, filling) in fillings.iter().enumerate() {
            self.filling(filling, &format!("{about}[{}]", i + 1));
        }
        let lacks = |lacks_u: fn(&Filling) -> bool| fillings.iter().any(lacks_u);
        if lacks(|f| f.time.u.is_none()) {
            let u = show_plain(time_u_s, "s");
            let says = format!("times without an uncertainty, ± {u} of a stop-watch in the hand assumed");
            self.notice(about, says, "state one, as in time = \"42.3 s ± 0.1 s\"");
        }
        if lacks(|f| matches!(f.caught, Caught::Volume(v) if v.u.is_none())) {
            let says = format!("volumes without an uncertainty, ± {} % assumed", defaults::VOLUME_RELATIVE_U * 100.0);
            self.notice(about, says, "state one, as in volume = \"10 L ± 0.02 L\"");
        }
        if lacks(|f| matches!(f.caught, Caught::Mass(m) if m.u.is_none())) {
            let says = format!("masses without an uncertainty, ± {} % assumed", defaults::MASS_RELATIVE_U * 100.0);
            self.notice(about, says, "state one, as in mass = \"9.98 kg ± 0.01 kg\"");
        }
        if lacks(|f| matches!(f.caught, Caught::Mass(_))) && sheet.temperature.is_none() {
            let hint =
                "as in temperature = \"18.5 degC\" under [water], with ± 3 degC if nobody took it; or state the volume";
            self.fault("water.temperature", "the water was weighed, and its volume needs its temperature", hint);
        }
        fillings.iter().map(|filling| complete(filling, time_u_s)).collect()
    }

    fn filling(&mut self, filling: &Filling, place: &str) {
        self.is_positive(&filling.time, &format!("{place}.time"), "the time");
        match &filling.caught {
            Caught::Volume(volume) => self.is_positive(volume, &format!("{place}.volume"), "the volume"),
            Caught::Mass(mass) => self.is_positive(mass, &format!("{place}.mass"), "the mass"),
        };
    }

    /// A running filling: volumes (or masses) and times both rise from mark to mark.
    fn rises(&mut self, marks: &[Filling], about: &str) {
        if marks.len() < 2 {
            let says = format!("a running filling needs two marks or more, not {}", marks.len());
            self.fault(about, says, "as in running = [{ volume = \"1 L\", time = \"6.2 s\" }, ...]");
            return;
        }
        for (i, pair) in marks.windows(2).enumerate() {
            let [before, after] = pair else { continue };
            let place = format!("{about}[{}]", i + 2);
            if after.time.value.si() <= before.time.value.si() {
                self.fault(
                    &format!("{place}.time"),
                    "the time does not rise",
                    "times run from the start of the filling",
                );
            }
            let hint = "volumes and masses run from the start of the filling";
            match (&before.caught, &after.caught) {
                (Caught::Volume(a), Caught::Volume(b)) if b.value.si() <= a.value.si() => {
                    self.fault(&format!("{place}.volume"), "the volume does not rise", hint);
                }
                (Caught::Mass(a), Caught::Mass(b)) if b.value.si() <= a.value.si() => {
                    self.fault(&format!("{place}.mass"), "the mass does not rise", hint);
                }
                (Caught::Volume(_), Caught::Mass(_)) | (Caught::Mass(_), Caught::Volume(_)) => {
                    self.fault(&place, "a running filling mixes volumes and masses", "use one of the two throughout");
                }
                _ => {}
            }
        }
    }
}

/// The filling with our uncertainty where none is stated.
fn complete(filling: &Filling, time_u_s: f64) -> Filling {
    fn with<Q: Kind>(reading: Reading<Q>, u_si: f64) -> Reading<Q> {
        Reading { u: reading.u.or(Some(Q::from_si(u_si))), ..reading }
    }
    let caught = match filling.caught {
        Caught::Volume(v) => Caught::Volume(with(v, defaults::VOLUME_RELATIVE_U * v.value.si())),
        Caught::Mass(m) => Caught::Mass(with(m, defaults::MASS_RELATIVE_U * m.value.si())),
    };
    Filling { caught, time: with(filling.time, time_u_s) }
}
