//! How the outputs move when one input moves by its standard uncertainty.

use super::budget::NoBudget;
use super::input::Input;

/// The step is u/4^k for k up to this; smaller steps serve only where the model refuses larger ones.
const STEPS: u32 = 4;

/// What the differences in one input gave, for each output.
pub(super) struct Moves {
    /// Sensitivity times standard uncertainty, c u, with its sign.
    pub(super) first: Vec<f64>,
    /// Second derivative times u^2; zero where only one side could be had.
    pub(super) second: Vec<f64>,
    /// The model refused one side at every step, so the difference is one-sided.
    pub(super) one_sided: bool,
}

/// The value of the model at the estimates, or the refusal.
pub(super) fn centre(
    inputs: &[Input],
    outputs: usize,
    f: &mut impl FnMut(&[f64], &mut [f64]) -> bool,
) -> Result<Vec<f64>, NoBudget> {
    let x: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let mut y = vec![0.0; outputs];
    if evaluate(f, &x, &mut y) { Ok(y) } else { Err(NoBudget::Refused) }
}

/// Differences in input `i` around `x`, where the model gives `y0`.
///
/// Central with step u, as JCGM 100:2008, 5.1.3 note 2, says: the sensitivity is then that over
/// the range that the input is believed to take, and rounding in the model does not matter.
/// Where the model refuses a side, the step is quartered; if it refuses one side at every step
/// (the estimate lies on the border of what is possible), the other side alone serves.
pub(super) fn moves(
    inputs: &[Input],
    i: usize,
    y0: &[f64],
    f: &mut impl FnMut(&[f64], &mut [f64]) -> bool,
) -> Result<Moves, NoBudget> {
    let mut x: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let (mut up, mut down) = (vec![0.0; y0.len()], vec![0.0; y0.len()]);
    let mut one_sided = None;
    for k in 0..STEPS {
        let part = 0.25_f64.powi(k as i32);
        let Input { value, u, .. } = inputs[i];
        x[i] = value + part * u;
        let above = evaluate(f, &x, &mut up);
        x[i] = value - part * u;
        let below = evaluate(f, &x, &mut down);
        let per_u = |high: &[f64], low: &[f64], steps: f64| -> Vec<f64> {
            high.iter().zip(low).map(|(h, l)| (h - l) / (steps * part)).collect()
        };
        let flat = vec![0.0; y0.len()];
        match (above, below) {
            (true, true) => {
                let bend = |o: usize| (up[o] - 2.0 * y0[o] + down[o]) / (part * part);
                let second = (0..y0.len()).map(bend).collect();
                return Ok(Moves { first: per_u(&up, &down, 2.0), second, one_sided: false });
            }
            (true, false) => one_sided = Some(Moves { first: per_u(&up, y0, 1.0), second: flat, one_sided: true }),
            (false, true) => one_sided = Some(Moves { first: per_u(y0, &down, 1.0), second: flat, one_sided: true }),
            (false, false) => {}
        }
    }
    one_sided.ok_or_else(|| NoBudget::RefusedNear { name: inputs[i].name.clone() })
}

/// Asks the model; outputs that are not finite count as a refusal.
pub(super) fn evaluate(f: &mut impl FnMut(&[f64], &mut [f64]) -> bool, x: &[f64], y: &mut [f64]) -> bool {
    f(x, y) && y.iter().all(|v| v.is_finite())
}
