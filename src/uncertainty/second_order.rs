//! The terms of second order in the law of propagation.

use super::budget::NoBudget;
use super::differences::{centre, evaluate, moves};
use super::input::Input;

/// Combined standard uncertainty of each output with the terms of second order, for independent inputs.
///
/// JCGM 100:2008, 5.1.2 note: u^2 = sum_i c_i^2 u_i^2 + sum_ij [f_ij^2/2 + f_i f_ijj] u_i^2 u_j^2, where
/// f_ij is the mixed second derivative and f_ijj the third. All are taken by central differences
/// of step u (2u for the pure third one). Exact to this order for normal inputs; for others the
/// fourth moment differs, which the Guide's own example H.1.7 passes over too.
///
/// Asks the model about 2n^2 + 3n times, so for tens of inputs, not hundreds. Unlike
/// [`budget`](super::budget()) it needs the model on both sides of every estimate, out to 2u.
///
/// # Errors
/// See [`NoBudget`].
pub fn second_order_u(
    inputs: &[Input],
    outputs: usize,
    mut f: impl FnMut(&[f64], &mut [f64]) -> bool,
) -> Result<Vec<f64>, NoBudget> {
    inputs.iter().try_for_each(Input::check)?;
    let y0 = centre(inputs, outputs, &mut f)?;
    let moving: Vec<usize> = (0..inputs.len()).filter(|&i| inputs[i].u > 0.0).collect();
    let all = moving.iter().map(|&i| moves(inputs, i, &y0, &mut f)).collect::<Result<Vec<_>, _>>()?;

    let mut at = |steps: &[(usize, f64)]| -> Result<Vec<f64>, NoBudget> {
        let mut x: Vec<f64> = inputs.iter().map(|input| input.value).collect();
        steps.iter().for_each(|&(i, step)| x[i] += step * inputs[i].u);
        let mut y = vec![0.0; outputs];
        let near = || NoBudget::RefusedNear { name: inputs[steps[0].0].name.clone() };
        if evaluate(&mut f, &x, &mut y) { Ok(y) } else { Err(near()) }
    };
    let mut variance: Vec<f64> = (0..outputs).map(|o| all.iter().map(|moves| moves.first[o].powi(2)).sum()).collect();
    for (a, &i) in moving.iter().enumerate() {
        let (far_up, far_down) = (at(&[(i, 2.0)])?, at(&[(i, -2.0)])?);
        for o in 0..outputs {
            let (first, second) = (all[a].first[o], all[a].second[o]);
            // f(2u) - 2 f(u) + 2 f(-u) - f(-2u) = 2 u^3 f''', and f(u) - f(-u) is twice `first`.
            let third = (far_up[o] - far_down[o] - 4.0 * first) / 2.0;
            variance[o] += second * second / 2.0 + first * third;
        }
        for (b, &j) in moving.iter().enumerate().skip(a + 1) {
            let (pp, pm) = (at(&[(i, 1.0), (j, 1.0)])?, at(&[(i, 1.0), (j, -1.0)])?);
            let (mp, mm) = (at(&[(i, -1.0), (j, 1.0)])?, at(&[(i, -1.0), (j, -1.0)])?);
            for o in 0..outputs {
                let mixed = (pp[o] - pm[o] - mp[o] + mm[o]) / 4.0;
                // The rise along one input, averaged over both sides of the other, less the rise at its estimate.
                let third_ijj = (pp[o] + pm[o] - mp[o] - mm[o]) / 2.0 - 2.0 * all[a].first[o];
                let third_jii = (pp[o] + mp[o] - pm[o] - mm[o]) / 2.0 - 2.0 * all[b].first[o];
                variance[o] += mixed * mixed + all[a].first[o] * third_ijj + all[b].first[o] * third_jii;
            }
        }
    }
    Ok(variance.into_iter().map(|v| v.max(0.0).sqrt()).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_product_has_its_exact_variance() {
        // var(xy) = x^2 u_y^2 + y^2 u_x^2 + u_x^2 u_y^2 for independent inputs.
        let inputs = [Input::normal("x", 2.0, 0.5, ""), Input::normal("y", -1.0, 0.8, "")];
        let product = |x: &[f64], y: &mut [f64]| {
            y[0] = x[0] * x[1];
            true
        };
        let exact: f64 = 4.0 * 0.64 + 0.25 + 0.25 * 0.64;
        let u = second_order_u(&inputs, 1, product).unwrap();
        assert!((u[0] - exact.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn third_derivatives_enter_with_the_first() {
        // y = x^3 + x z^2 at (2, 1): c = 13, 4; f_xx = 12, f_xz = 2, f_zz = 4, f_xxx = 6, f_xzz = 2. Steps of
        // u change the first differences: (f(2+h) - f(2-h))/2h = 13 + h^2.
        let (ux, uz): (f64, f64) = (0.01, 0.02);
        let inputs = [Input::normal("x", 2.0, ux, ""), Input::normal("z", 1.0, uz, "")];
        let cubic = |x: &[f64], y: &mut [f64]| {
            y[0] = x[0].powi(3) + x[0] * x[1] * x[1];
            true
        };
        let (vx, vz) = (ux * ux, uz * uz);
        let first = (13.0 + vx).powi(2) * vx + 16.0 * vz;
        let pure = (12.0_f64.powi(2) / 2.0 + (13.0 + vx) * 6.0) * vx * vx + 16.0 / 2.0 * vz * vz;
        let mixed = (4.0 + (13.0 + vx) * 2.0 + 0.0) * vx * vz;
        let u = second_order_u(&inputs, 1, cubic).unwrap();
        assert!((u[0].powi(2) / (first + pure + mixed) - 1.0).abs() < 1e-9, "{u:?}");
    }
}
