//! What the curvature and the products of inputs add to the law of propagation.
//!
//! First derivatives miss what two inputs do together: where one is known to 50 % and multiplies another, the spread of
//! their product is wider than either derivative says. JCGM 100:2008, 5.1.2 note, adds for it to the variance
//! sum_ij [f_ij^2/2 + f_i f_ijj] u_i^2 u_j^2. Here the same terms are taken over the range of the inputs
//! instead of at a point: the model is expanded into functions of one input and of two, f_i(x_i) + f_ij(x_i, x_j), and
//! the variance of each part is summed over three places of each input that share mean, variance and
//! kurtosis k with its distribution: the estimate, and sqrt(k) u to both sides with weights 1/(2k). For normal inputs these
//! are the three points of Gauss and Hermite. Exact for squares and for products, as the note is.
//!
//! Not seen: what three inputs do together, and what goes on beyond sqrt(k) u.

use super::budget::{Budget, Row};
use super::coverage::Interval;
use super::differences::evaluate;
use super::input::{Input, Shape};
use super::random::Draw;
use std::fmt;

/// Name of the row that stands for these terms.
pub const SECOND_ORDER: &str = "second order";

/// Share of a variance below which an input's curvature or products are left out.
const TELLING: f64 = 1e-4;
/// Share of a result below which a difference between two evaluations is rounding.
const ROUNDING: f64 = 1e-9;
/// Step, in standard uncertainties, of the search for inputs that take part in products: all inputs move at once there,
/// and the model may refuse a corner so far out.
const SEARCH_STEP: f64 = 0.25;
/// Directions of that search. Two products of one input can cancel in one direction, hardly in all.
const DIRECTIONS: u64 = 3;

/// The two inputs, or the one, that add most to an output beyond the linear terms.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Together(pub String, pub Option<String>);

impl fmt::Display for Together {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.1 {
            Some(other) if *other != self.0 => write!(f, "{} with {other}", self.0),
            _ => f.write_str(&self.0),
        }
    }
}

/// `linear` with the terms of second order: `u`, interval and covariance enlarged, and one more row, [`SECOND_ORDER`], where
/// they tell.
///
/// `inputs` and `f` are those that `linear` was made of, and independent of one another. Few inputs take part in such terms: a
/// search by 12 calls of the model for each input finds them, then 4 calls for each pair of those found.
/// Where the model refuses a place, the terms that need it are left out. Degrees of freedom: the parts that are doubted
/// stay the same while the whole grows, Welch-Satterthwaite, JCGM 100:2008, (G.2b).
///
/// A budget without such terms comes back as it was.
pub fn second_order(mut linear: Budget, inputs: &[Input], f: impl FnMut(&[f64], &mut [f64]) -> bool) -> Budget {
    let outputs = linear.outputs.len();
    let mut model = Model { inputs, outputs, f, x: inputs.iter().map(|input| input.value).collect() };
    let Some(centre) = model.at(&[]) else { return linear };
    let variance: Vec<f64> = (0..outputs).map(|o| linear.covariance.get(o, o)).collect();
    // where the first derivatives are all zero (JCGM 101:2008, 9.4 at the origin) all there is is of second order; below
    // the floor differences are rounding
    let floor: Vec<f64> = centre.iter().map(|c| (ROUNDING * c).powi(2)).collect();
    let told = |o: usize, v: f64| v.abs() > floor[o].max(TELLING * variance[o]);
    let alone: Vec<Option<Arms>> = (0..inputs.len()).map(|i| model.arms(i, &centre)).collect();
    let taking_part: Vec<usize> = (0..inputs.len())
        .filter(|&i| {
            let Some(arms) = &alone[i] else { return false };
            let first = &linear.contributions[i];
            let curved = (0..outputs).any(|o| told(o, arms.covariance(o, o) - first[o] * first[o]));
            curved || model.multiplies(i, first, told)
        })
        .collect();
    if taking_part.is_empty() {
        return linear;
    }

    let mut main: Vec<Arms> = taking_part.iter().filter_map(|&i| alone[i].clone()).collect();
    let mut added = vec![0.0; outputs * outputs];
    let mut largest: Vec<(f64, Option<Together>)> = vec![(0.0, None); outputs];
    let mut lead = |o: usize, v: f64, i: usize, j: Option<usize>| {
        if v > largest[o].0 {
            largest[o] = (v, Some(Together(inputs[i].name.clone(), j.map(|j| inputs[j].name.clone()))));
        }
    };
    for a in 0..main.len() {
        for b in a + 1..main.len() {
            let (i, j) = (taking_part[a], taking_part[b]);
            let Some(corners) = model.corners(i, j) else { continue };
            // what the two do together at each corner, beyond what each does alone
            let mut joint = [[vec![0.0; outputs], vec![0.0; outputs]], [vec![0.0; outputs], vec![0.0; outputs]]];
            for (p, q) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                for o in 0..outputs {
                    joint[p][q][o] =
                        corners[p][q][o] - centre[o] - alone_at(&alone, i, p, o) - alone_at(&alone, j, q, o);
                }
            }
            let (wi, wj) = (main[a].weight, main[b].weight);
            for (p, o) in (0..2).flat_map(|p| (0..outputs).map(move |o| (p, o))) {
                main[a].side[p][o] += wj * (joint[p][0][o] + joint[p][1][o]);
                main[b].side[p][o] += wi * (joint[0][p][o] + joint[1][p][o]);
            }
            let parts: Vec<[f64; 9]> = (0..outputs).map(|o| interaction(&joint, o, wi, wj)).collect();
            let weight = |k: usize| [wi, 1.0 - 2.0 * wi, wi][k / 3] * [wj, 1.0 - 2.0 * wj, wj][k % 3];
            for o in 0..outputs {
                for other in o..outputs {
                    let sum: f64 = (0..9).map(|k| weight(k) * parts[o][k] * parts[other][k]).sum();
                    added[o * outputs + other] += sum;
                    if other == o {
                        lead(o, sum, i, Some(j));
                    }
                }
            }
        }
    }
    for (arms, &i) in main.iter().zip(&taking_part) {
        let first = &linear.contributions[i];
        for o in 0..outputs {
            for other in o..outputs {
                added[o * outputs + other] += arms.covariance(o, other) - first[o] * first[other];
            }
            lead(o, arms.covariance(o, o) - first[o] * first[o], i, None);
        }
    }
    if (0..outputs).all(|o| !told(o, added[o * outputs + o])) {
        return linear;
    }
    let leads: Vec<Option<Together>> = largest.into_iter().map(|(_, together)| together).collect();
    enlarge(&mut linear, &added, leads);
    linear
}

/// Adds `added` to the budget's covariance and a row to each output.
fn enlarge(budget: &mut Budget, added: &[f64], leads: Vec<Option<Together>>) {
    let outputs = budget.outputs.len();
    budget.covariance.add(|a, b| added[a * outputs + b]);
    for (o, (out, lead)) in budget.outputs.iter_mut().zip(leads).enumerate() {
        let (before, u) = (out.u, budget.covariance.u(o));
        if before.is_nan() || before < 0.0 || u <= 0.0 {
            continue;
        }
        let variance = added[o * outputs + o];
        // infinite where the first derivatives are all zero: nothing of what is doubted is left
        let grown = (u / before).powi(2);
        out.dof = if grown.is_finite() { out.dof * grown * grown } else { f64::INFINITY };
        out.interval = Interval::around(out.value, u, out.dof, super::budget::COVERAGE);
        out.u = u;
        out.rows.iter_mut().for_each(|row| row.share = if grown.is_finite() { row.share / grown } else { 0.0 });
        if (grown - 1.0).abs() < TELLING {
            continue;
        }
        out.rows.push(Row {
            name: SECOND_ORDER.to_owned(),
            value: None,
            u: 1.0,
            unit: "",
            inputs: 0,
            sensitivity: variance.abs().sqrt(),
            contribution: variance.abs().sqrt(),
            share: variance / (u * u),
        });
        out.rows.sort_by(|a, b| b.share.total_cmp(&a.share));
        out.together = lead;
    }
}

/// What one input does alone, to both sides of its estimate, less the value at the estimate.
#[derive(Clone, Debug)]
struct Arms {
    /// Below and above, for each output.
    side: [Vec<f64>; 2],
    /// Weight of either side.
    weight: f64,
}

impl Arms {
    /// Covariance that the input causes between outputs `a` and `b`.
    fn covariance(&self, a: usize, b: usize) -> f64 {
        let mean = |o: usize| self.weight * (self.side[0][o] + self.side[1][o]);
        self.weight * (self.side[0][a] * self.side[0][b] + self.side[1][a] * self.side[1][b]) - mean(a) * mean(b)
    }
}

fn alone_at(alone: &[Option<Arms>], i: usize, side: usize, o: usize) -> f64 {
    alone[i].as_ref().map_or(0.0, |arms| arms.side[side][o])
}

/// Output `o` of a pair's joint part at its nine places, less what belongs to either input alone.
fn interaction(joint: &[[Vec<f64>; 2]; 2], o: usize, wi: f64, wj: f64) -> [f64; 9] {
    let at = |p: usize, q: usize| if p == 1 || q == 1 { 0.0 } else { joint[p / 2][q / 2][o] };
    let row = |p: usize| wj * (at(p, 0) + at(p, 2));
    let column = |q: usize| wi * (at(0, q) + at(2, q));
    let whole = wi * (row(0) + row(2));
    std::array::from_fn(|k| at(k / 3, k % 3) - row(k / 3) - column(k % 3) + whole)
}

/// The model with its inputs, asked at places counted in standard uncertainties from the estimates.
struct Model<'a, F> {
    inputs: &'a [Input],
    outputs: usize,
    f: F,
    x: Vec<f64>,
}

impl<F: FnMut(&[f64], &mut [f64]) -> bool> Model<'_, F> {
    fn at(&mut self, steps: &[(usize, f64)]) -> Option<Vec<f64>> {
        let mut y = vec![0.0; self.outputs];
        for &(i, step) in steps {
            self.x[i] = self.inputs[i].value + step * self.inputs[i].u;
        }
        let could = evaluate(&mut self.f, &self.x, &mut y);
        for &(i, _) in steps {
            self.x[i] = self.inputs[i].value;
        }
        could.then_some(y)
    }

    fn arms(&mut self, i: usize, centre: &[f64]) -> Option<Arms> {
        if self.inputs[i].u <= 0.0 {
            return None;
        }
        let kurtosis = kurtosis(self.inputs[i].shape);
        let less = |y: Vec<f64>| y.iter().zip(centre).map(|(y, c)| y - c).collect::<Vec<f64>>();
        let (below, above) = (self.at(&[(i, -kurtosis.sqrt())])?, self.at(&[(i, kurtosis.sqrt())])?);
        Some(Arms { side: [less(below), less(above)], weight: 0.5 / kurtosis })
    }

    fn corners(&mut self, i: usize, j: usize) -> Option<[[Vec<f64>; 2]; 2]> {
        let (hi, hj) = (kurtosis(self.inputs[i].shape).sqrt(), kurtosis(self.inputs[j].shape).sqrt());
        let mut at = |si: f64, sj: f64| self.at(&[(i, si * hi), (j, sj * hj)]);
        Some([[at(-1.0, -1.0)?, at(-1.0, 1.0)?], [at(1.0, -1.0)?, at(1.0, 1.0)?]])
    }

    /// Whether input `i` multiplies others: it and all others together are moved, the others in random directions.
    fn multiplies(&mut self, i: usize, first: &[f64], told: impl Fn(usize, f64) -> bool) -> bool {
        for direction in 0..DIRECTIONS {
            let draw = Draw::new(direction, 0);
            let others: Vec<(usize, f64)> = (0..self.inputs.len())
                .filter(|&j| j != i && self.inputs[j].u > 0.0)
                .map(|j| (j, if draw.normal(j as u32 + 1) < 0.0 { -SEARCH_STEP } else { SEARCH_STEP }))
                .collect();
            let mut moved = |own: f64, sign: f64| {
                let mut steps: Vec<(usize, f64)> = others.iter().map(|&(j, step)| (j, sign * step)).collect();
                steps.push((i, own * SEARCH_STEP));
                self.at(&steps)
            };
            let all = (moved(1.0, 1.0), moved(1.0, -1.0), moved(-1.0, 1.0), moved(-1.0, -1.0));
            let (Some(pp), Some(pm), Some(mp), Some(mm)) = all else { return true };
            let tells = (0..self.outputs).any(|o| {
                let product = (pp[o] - pm[o] - mp[o] + mm[o]) / (4.0 * SEARCH_STEP * SEARCH_STEP);
                // the input's own slope with the others moved, against its slope without
                let slope = (pp[o] + pm[o] - mp[o] - mm[o]) / (4.0 * SEARCH_STEP);
                let third = (slope - first[o]) / (SEARCH_STEP * SEARCH_STEP);
                told(o, product * product) || told(o, first[o] * third)
            });
            if tells {
                return true;
            }
        }
        false
    }
}

/// Fourth moment over the square of the variance. Student's t counts as normal, as in the linear budget: what is
/// wider about it is in the coverage factor.
fn kurtosis(shape: Shape) -> f64 {
    match shape {
        Shape::Normal | Shape::T { .. } => 3.0,
        Shape::Rectangular => 1.8,
        Shape::Triangular => 2.4,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertainty::{Correlation, Plan, budget, monte_carlo};

    fn whole(inputs: &[Input], outputs: usize, f: fn(&[f64], &mut [f64])) -> Budget {
        let mut model = |x: &[f64], y: &mut [f64]| {
            f(x, y);
            true
        };
        let linear = budget(inputs, &Correlation::none(), outputs, model).unwrap();
        second_order(linear, inputs, &mut model)
    }

    #[test]
    fn a_product_has_its_exact_variance_and_covariance() {
        // var(xy) = x^2 u_y^2 + y^2 u_x^2 + u_x^2 u_y^2, cov(xy, x) = y u_x^2 for independent inputs.
        let inputs = [Input::normal("x", 2.0, 0.5, ""), Input::normal("y", -1.0, 0.8, "")];
        let both = whole(&inputs, 2, |x, y| {
            y[0] = x[0] * x[1];
            y[1] = x[0];
        });
        let exact: f64 = 4.0 * 0.64 + 0.25 + 0.25 * 0.64;
        let out = &both.outputs[0];
        assert!((out.u - exact.sqrt()).abs() < 1e-12, "{}", out.u);
        assert!((both.covariance.get(0, 1) + 0.25).abs() < 1e-12);
        assert_eq!(out.together, Some(Together("x".into(), Some("y".into()))));
        let row = out.rows.iter().find(|row| row.name == SECOND_ORDER).unwrap();
        assert!((row.share - 0.16 / exact).abs() < 1e-12);
        assert!((out.rows.iter().map(|row| row.share).sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_product_of_inputs_about_zero_is_seen_although_neither_moves_it_alone() {
        let inputs =
            [Input::normal("x", 0.0, 0.5, ""), Input::rectangular("y", 0.0, 2.0, ""), Input::normal("z", 0.0, 0.1, "")];
        let out = whole(&inputs, 1, |x, y| y[0] = x[0] * x[1] + x[2]).outputs.remove(0);
        assert!((out.u.powi(2) - (0.25 * 4.0 / 3.0 + 0.01)).abs() < 1e-12, "{}", out.u);
    }

    #[test]
    fn squares_have_their_exact_variance_for_each_shape() {
        // var(x^2) = 4 m^2 u^2 + (k - 1) u^4
        for input in [
            Input::normal("x", 1.0, 0.5, ""),
            Input::rectangular("x", 1.0, 1.5, ""),
            Input::triangular("x", 1.0, 1.5, ""),
        ] {
            let (v, k) = (input.u * input.u, kurtosis(input.shape));
            let out = whole(&[input], 1, |x, y| y[0] = x[0] * x[0]).outputs.remove(0);
            assert!((out.u.powi(2) - (4.0 * v + (k - 1.0) * v * v)).abs() < 1e-12);
        }
    }

    #[test]
    fn what_is_linear_stays_as_it_was() {
        let inputs = [Input::normal("x", 2.0, 0.5, ""), Input::normal("y", -1.0, 0.8, "").with_dof(7.0)];
        let sum = |x: &[f64], y: &mut [f64]| {
            y[0] = 3.0 * x[0] + x[1];
            true
        };
        let linear = budget(&inputs, &Correlation::none(), 1, sum).unwrap();
        assert_eq!(second_order(linear.clone(), &inputs, sum), linear);
    }

    /// s exp(-t) is what a camera askew does beside a focal length known as a logarithm: var = u_s^2 exp(2 u_t^2) for s
    /// about 0. The derivatives at the point alone give 1 + 2 u_t^2.
    #[test]
    fn a_wide_factor_comes_within_half_a_percent() {
        let inputs = [Input::normal("s", 0.0, 1.0, ""), Input::normal("t", 0.0, 0.5, "")];
        let out = whole(&inputs, 1, |x, y| y[0] = x[0] * (-x[1]).exp()).outputs.remove(0);
        let exact = 0.25f64.exp();
        assert!((out.u / exact - 1.0).abs() < 0.005, "{} for {exact}", out.u);
    }

    #[test]
    fn degrees_of_freedom_grow_with_what_is_not_doubted() {
        let inputs = [Input::normal("x", 2.0, 0.5, "").with_dof(6.0), Input::normal("y", 0.0, 0.8, "")];
        let out = whole(&inputs, 1, |x, y| y[0] = x[0] * x[1] + x[0]).outputs.remove(0);
        let doubted: f64 = 0.25;
        assert!((out.dof - 6.0 * (out.u.powi(2) / doubted).powi(2)).abs() < 1e-9 * out.dof, "{}", out.dof);
    }

    #[test]
    fn refused_places_leave_their_terms_out() {
        let inputs = [Input::normal("x", 1.0, 0.5, ""), Input::normal("y", 1.0, 0.5, "")];
        let near = |x: &[f64], y: &mut [f64]| {
            y[0] = x[0] * x[1];
            x[0] < 1.6
        };
        let linear = budget(&inputs, &Correlation::none(), 1, near).unwrap();
        assert_eq!(second_order(linear.clone(), &inputs, near), linear);
    }

    #[test]
    fn a_curved_model_of_many_inputs_agrees_with_draws() {
        let mut inputs: Vec<Input> =
            (0..8).map(|k| Input::normal(format!("x{k}"), 0.2 * f64::from(k), 0.3, "")).collect();
        inputs[3] = Input::rectangular("x3", 1.0, 0.8, "");
        let model = |x: &[f64], y: &mut [f64]| {
            y[0] = x[0] * x[1] + x[2] * x[3] * x[3] + (0.5 * x[4]).exp() * x[5] + x[6] + x[7];
            true
        };
        let linear = budget(&inputs, &Correlation::none(), 1, model).unwrap();
        let out = second_order(linear, &inputs, model).outputs.remove(0);
        let drawn =
            monte_carlo(&inputs, &Correlation::none(), 1, Plan::fixed(200_000, 5), || (), |(), x, y| model(x, y));
        let ratio = drawn.unwrap().outputs[0].u / out.u;
        assert!((ratio - 1.0).abs() < 0.01, "{ratio}");
    }
}
