//! What cannot be a flow, told all at once.

use crate::notice::Notice;
use crate::quantity::{Kind, Reading};
use crate::sheet::{Caught, Filling, Flow};

/// Checks what was stated.
///
/// # Errors
/// Every fault, each about its field, with the value seen.
pub(super) fn check(flow: &Flow) -> Result<(), Vec<Notice>> {
    let faults = match flow {
        Flow::Timed(fillings) => fillings_faults(fillings, "flow.timed", "repeat", 1),
        Flow::Running(fillings) => {
            let mut faults = fillings_faults(fillings, "flow.running", "reading", 2);
            faults.extend(fillings.windows(2).enumerate().flat_map(|(i, pair)| not_rising(pair, i + 2)));
            faults
        }
        Flow::Discharge(stated) => reading_faults(stated, "flow.discharge", "discharge", "m^3/s"),
    };
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

fn fillings_faults(fillings: &[Filling], about: &str, each: &str, at_least: usize) -> Vec<Notice> {
    let mut faults = Vec::new();
    if fillings.len() < at_least {
        let says = format!("{} {each}s stated, at least {at_least} needed", fillings.len());
        faults.push(Notice::new(about, says).hint(format!("add a {each}: {{ volume = \"10 L\", time = \"42.3 s\" }}")));
    }
    let masses = fillings.iter().filter(|f| matches!(f.caught, Caught::Mass(_))).count();
    if masses > 0 && masses < fillings.len() {
        let says = format!("{masses} of {} {each}s are masses, the others volumes", fillings.len());
        faults.push(Notice::new(about, says).hint("give all as masses or all as volumes"));
    }
    for (i, filling) in fillings.iter().enumerate() {
        let what = |of: &str| format!("{each} {}: {of}", i + 1);
        faults.extend(match &filling.caught {
            Caught::Volume(volume) => reading_faults(volume, about, &what("volume"), "m^3"),
            Caught::Mass(mass) => reading_faults(mass, about, &what("mass"), "kg"),
        });
        faults.extend(reading_faults(&filling.time, about, &what("time"), "s"));
    }
    faults
}

fn reading_faults<Q: Kind>(reading: &Reading<Q>, about: &str, what: &str, unit: &str) -> Vec<Notice> {
    let mut faults = Vec::new();
    let value = reading.value.si();
    if !(value.is_finite() && value > 0.0) {
        faults.push(Notice::new(about, format!("{what} is {value} {unit}, which is not above zero")));
    }
    if let Some(u) = reading.u.map(Kind::si).filter(|u| !(u.is_finite() && *u >= 0.0)) {
        faults.push(Notice::new(about, format!("the uncertainty of {what} is {u} {unit}, which is below zero")));
    }
    faults
}

/// `at` is the second one's place, from 1.
fn not_rising(pair: &[Filling], at: usize) -> Vec<Notice> {
    let amount = |f: &Filling| match f.caught {
        Caught::Volume(v) => v.value.si(),
        Caught::Mass(m) => m.value.si(),
    };
    let (first, second) = (&pair[0], &pair[1]);
    let hint = "readings of one filling count from its start and stand in order of time";
    let mut faults = Vec::new();
    let (t0, t1) = (first.time.value.si(), second.time.value.si());
    if t1 <= t0 {
        let says = format!("reading {at}: time {t1} s does not come after {t0} s");
        faults.push(Notice::new("flow.running", says).hint(hint));
    }
    let same_kind = matches!(
        (&first.caught, &second.caught),
        (Caught::Volume(_), Caught::Volume(_)) | (Caught::Mass(_), Caught::Mass(_))
    );
    if same_kind && amount(second) <= amount(first) {
        let says = format!("reading {at}: {} is not more than {} at the reading before", amount(second), amount(first));
        faults.push(Notice::new("flow.running", says).hint(hint));
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::super::samples::{kilograms, litres};
    use super::*;

    #[test]
    fn every_fault_at_once() {
        let said = |flow: &Flow| check(flow).unwrap_err().into_iter().map(|n| n.says).collect::<Vec<_>>();
        assert_eq!(said(&Flow::Timed(vec![])), ["0 repeats stated, at least 1 needed"]);
        assert_eq!(
            said(&Flow::Timed(vec![litres(10.0, 0.02, 0.0, 0.1), kilograms(-1.0, 5.0), litres(1.0, -0.1, 1.0, 0.1)])),
            [
                "1 of 3 repeats are masses, the others volumes",
                "repeat 1: time is 0 s, which is not above zero",
                "repeat 2: mass is -1 kg, which is not above zero",
                "the uncertainty of repeat 3: volume is -0.0001 m^3, which is below zero",
            ]
        );
        assert_eq!(
            said(&Flow::Running(vec![litres(2.0, 0.0, 6.0, 0.1), litres(1.0, 0.0, 5.0, 0.1)])),
            [
                "reading 2: time 5 s does not come after 6 s",
                "reading 2: 0.001 is not more than 0.002 at the reading before"
            ]
        );
        assert_eq!(said(&Flow::Running(vec![litres(2.0, 0.0, 6.0, 0.1)])), ["1 readings stated, at least 2 needed"]);
        assert!(check(&Flow::Timed(vec![litres(f64::NAN, 0.0, 6.0, 0.1)])).is_err());
    }
}
