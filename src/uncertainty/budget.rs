//! The budget of uncertainty: the law of propagation, taken by differences.

use super::correlation::{BadCorrelation, Correlation};
use super::covariance::Covariance;
use super::coverage::{Interval, effective_dof};
use super::differences::{Moves, centre, moves};
use super::input::{BadInput, Input};
use super::second_order::Together;

/// Probability of the coverage interval that a budget gives.
pub(super) const COVERAGE: f64 = 0.95;

/// The budget of all outputs of one model.
#[derive(Clone, Debug, PartialEq)]
pub struct Budget {
    /// One for each output, in the model's order.
    pub outputs: Vec<OutputBudget>,
    /// Covariance between the outputs; its diagonal is the square of each `u`.
    pub covariance: Covariance,
    /// Names of inputs that the model refused to move to one side, so that their sensitivities
    /// are one-sided differences.
    pub one_sided: Vec<String>,
    /// What each input contributes to each output, with its sign: `contributions[input][output]` is the output's
    /// derivative times the input's standard uncertainty. Runs that share an input are correlated through these.
    pub contributions: Vec<Vec<f64>>,
}

/// The budget of one output.
#[derive(Clone, Debug, PartialEq)]
pub struct OutputBudget {
    /// The output at the estimates of the inputs.
    pub value: f64,
    /// Combined standard uncertainty.
    pub u: f64,
    /// Effective degrees of freedom, not cut to a whole number; may be infinite.
    pub dof: f64,
    /// 95 % coverage interval, value ± t u.
    pub interval: Interval,
    /// One for each name, largest share first.
    pub rows: Vec<Row>,
    /// Which inputs add most through products and curvature; `None` in the linear budget.
    pub together: Option<Together>,
    /// What the curvature would add to the expected value, sum of f''u^2/2 (JCGM 100:2008, 5.1.2 note,
    /// and H.2.4 on its cause); mixed derivatives left out. Told, not applied.
    pub second_order_shift: f64,
    /// Standard uncertainty that the curvature in single inputs would add, sqrt(sum (f''u^2)^2/2),
    /// for normal inputs. Beside `u` a measure of how far the linear budget can be trusted.
    pub second_order_u: f64,
}

/// One row of a budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Name of the input or inputs.
    pub name: String,
    /// The input's value; `None` where the row stands for several inputs.
    pub value: Option<f64>,
    /// The input's standard uncertainty. Of several inputs with one unit the root mean square;
    /// of several with different units 1, and `sensitivity` is then per one standard uncertainty.
    pub u: f64,
    /// Unit of `value` and `u`; empty for a pure number and for several different units.
    pub unit: &'static str,
    /// How many inputs the row stands for.
    pub inputs: usize,
    /// Derivative of the output by the input; of several inputs `contribution / u`, without sign.
    pub sensitivity: f64,
    /// Part of the combined standard uncertainty, |sensitivity| u; of several inputs the root of
    /// the sum of their squares, with the correlations among them.
    pub contribution: f64,
    /// Share of the variance. Shares add to 1; correlations between rows can make one negative.
    pub share: f64,
}

/// Why there is no budget.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoBudget {
    /// The model refused the estimates themselves.
    #[error("the result cannot be computed from the values as stated")]
    Refused,
    /// The model refused to move an input to either side.
    #[error(
        "the result cannot be computed a little above or below the value of `{name}`; check its value and uncertainty"
    )]
    RefusedNear {
        /// The input.
        name: String,
    },
    /// An input with impossible numbers.
    #[error(transparent)]
    Input(#[from] BadInput),
    /// Correlations that cannot be.
    #[error(transparent)]
    Correlation(#[from] BadCorrelation),
}

/// Propagates the standard uncertainties of `inputs` through the model `f`.
///
/// `f` reads the inputs, fills all `outputs` outputs and says whether it could; outputs that are
/// not finite count as a refusal. It is asked 1 + 2n times for n inputs that are not exact.
/// Inputs with `u` 0 are exact: they are not moved and have no row.
///
/// u^2 = sum_ij c_i u_i r_ij c_j u_j, JCGM 100:2008, (13) and (16), with c by central differences of
/// step u (5.1.3 note 2). Effective degrees of freedom by Welch-Satterthwaite, (G.2b); inputs tied
/// by correlations enter it as one part with the fewest degrees of freedom among them, since the
/// formula needs independent parts. The interval is value ± t u for 95 %.
///
/// # Errors
/// See [`NoBudget`].
pub fn budget(
    inputs: &[Input],
    correlation: &Correlation,
    outputs: usize,
    mut f: impl FnMut(&[f64], &mut [f64]) -> bool,
) -> Result<Budget, NoBudget> {
    inputs.iter().try_for_each(Input::check)?;
    correlation.check(inputs.len())?;
    let values = centre(inputs, outputs, &mut f)?;

    let still = || Moves { first: vec![0.0; outputs], second: vec![0.0; outputs], one_sided: false };
    let all: Vec<Moves> = (0..inputs.len())
        .map(|i| if inputs[i].u > 0.0 { moves(inputs, i, &values, &mut f) } else { Ok(still()) })
        .collect::<Result<_, _>>()?;

    // The part of covariance (a, b) that input i has, alone and through its correlations.
    let mut tied: Vec<Vec<(usize, f64)>> = vec![Vec::new(); inputs.len()];
    for &(i, j, r) in correlation.pairs() {
        tied[i].push((j, r));
        tied[j].push((i, r));
    }
    let part = |i: usize, a: usize, b: usize| -> f64 {
        let others: f64 = tied[i].iter().map(|&(j, r)| r * all[j].first[b]).sum();
        all[i].first[a] * (all[i].first[b] + others)
    };
    let covariance = Covariance::from_fn(outputs, |a, b| (0..inputs.len()).map(|i| part(i, a, b)).sum());

    let groups = correlation.groups(inputs.len());
    let budgets = values.iter().enumerate().map(|(o, &value)| {
        let u = covariance.u(o);
        let dof = effective_dof(groups.iter().map(|group| {
            let variance: f64 = group.iter().map(|&i| part(i, o, o)).sum();
            let moving = group.iter().filter(|&&i| all[i].first[o] != 0.0);
            (variance.max(0.0).sqrt(), moving.map(|&i| inputs[i].dof).fold(f64::INFINITY, f64::min))
        }));
        let rows = rows(inputs, &tied, o, &all, |i| part(i, o, o), u);
        let second = || all.iter().map(|moves| moves.second[o]);
        OutputBudget {
            value,
            u,
            dof,
            interval: Interval::around(value, u, dof, COVERAGE),
            rows,
            together: None,
            second_order_shift: second().sum::<f64>() / 2.0,
            second_order_u: (second().map(|s| s * s).sum::<f64>() / 2.0).sqrt(),
        }
    });
    let outputs = budgets.collect();
    let mut one_sided: Vec<String> = Vec::new();
    for (input, moves) in inputs.iter().zip(&all) {
        if moves.one_sided && !one_sided.contains(&input.name) {
            one_sided.push(input.name.clone());
        }
    }
    let contributions = all.into_iter().map(|moves| moves.first).collect();
    Ok(Budget { outputs, covariance, one_sided, contributions })
}

/// The rows of output `o`, merged by name; `part` is the share of the variance, not yet divided by it.
fn rows(
    inputs: &[Input],
    tied: &[Vec<(usize, f64)>],
    o: usize,
    all: &[Moves],
    part: impl Fn(usize) -> f64,
    u: f64,
) -> Vec<Row> {
    let mut names: Vec<(&str, Vec<usize>)> = Vec::new();
    for (i, input) in inputs.iter().enumerate().filter(|(_, input)| input.u > 0.0) {
        match names.iter_mut().find(|(name, _)| *name == input.name) {
            Some((_, members)) => members.push(i),
            None => names.push((&input.name, vec![i])),
        }
    }
    let share = |members: &[usize]| {
        let variance: f64 = members.iter().map(|&i| part(i)).sum();
        if u > 0.0 { variance / (u * u) } else { 0.0 }
    };
    let mut rows: Vec<Row> = names
        .into_iter()
        .map(|(name, members)| {
            let first = &inputs[members[0]];
            let row = Row {
                name: name.to_owned(),
                value: None,
                u: first.u,
                unit: first.unit,
                inputs: members.len(),
                sensitivity: 0.0,
                contribution: 0.0,
                share: share(&members),
            };
            if members.len() == 1 {
                let moved = all[members[0]].first[o];
                return Row {
                    value: Some(first.value),
                    sensitivity: moved / first.u,
                    contribution: moved.abs(),
                    ..row
                };
            }
            let within = |i: usize| -> f64 {
                let tied = tied[i].iter().filter(|(j, _)| members.contains(j));
                all[i].first[o] * (all[i].first[o] + tied.map(|&(j, r)| r * all[j].first[o]).sum::<f64>())
            };
            let contribution = members.iter().map(|&i| within(i)).sum::<f64>().max(0.0).sqrt();
            let one_unit = members.iter().all(|&i| inputs[i].unit == first.unit);
            let mean_square = members.iter().map(|&i| inputs[i].u.powi(2)).sum::<f64>() / members.len() as f64;
            let (u, unit) = if one_unit { (mean_square.sqrt(), first.unit) } else { (1.0, "") };
            Row { u, unit, sensitivity: contribution / u, contribution, ..row }
        })
        .collect();
    rows.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.name.cmp(&b.name)));
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    fn linear(x: &[f64], y: &mut [f64]) -> bool {
        y[0] = 3.0 * x[0] - 4.0 * x[1];
        y[1] = x[0] + x[1];
        true
    }

    fn pair(a: &str, b: &str) -> [Input; 2] {
        [Input::normal(a, 1.0, 1.0, "mm"), Input::normal(b, 2.0, 1.0, "mm")]
    }

    #[test]
    fn a_linear_model_has_the_textbook_variance() {
        let budget = budget(&pair("a", "b"), &Correlation::none(), 2, linear).unwrap();
        let out = &budget.outputs[0];
        assert!((out.u - 5.0).abs() < 1e-12 && out.dof.is_infinite());
        assert!((budget.covariance.get(0, 1) - (3.0 - 4.0)).abs() < 1e-12);
        let (first, second) = (&out.rows[0], &out.rows[1]);
        assert_eq!((first.name.as_str(), second.name.as_str()), ("b", "a"));
        assert!((first.sensitivity + 4.0).abs() < 1e-12 && (first.contribution - 4.0).abs() < 1e-12);
        assert!((first.share - 0.64).abs() < 1e-12 && (second.share - 0.36).abs() < 1e-12);
        assert!((budget.contributions[1][0] + 4.0).abs() < 1e-12 && (budget.contributions[0][1] - 1.0).abs() < 1e-12);
        assert!(out.second_order_u < 1e-12 && out.second_order_shift.abs() < 1e-12);
    }

    #[test]
    fn correlation_enters_variance_and_shares() {
        let mut correlation = Correlation::none();
        correlation.set(0, 1, 0.5);
        let out = budget(&pair("a", "b"), &correlation, 2, linear).unwrap().outputs.remove(0);
        assert!((out.u - 13.0_f64.sqrt()).abs() < 1e-12);
        assert!((out.rows.iter().map(|row| row.share).sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn inputs_of_one_name_share_a_row() {
        let out = budget(&pair("click", "click"), &Correlation::none(), 2, linear).unwrap().outputs.remove(0);
        let [row] = out.rows.as_slice() else { panic!("{:?}", out.rows) };
        assert_eq!((row.inputs, row.value, row.u, row.unit), (2, None, 1.0, "mm"));
        assert!((row.contribution - 5.0).abs() < 1e-12 && (row.sensitivity - 5.0).abs() < 1e-12);
        assert!((row.share - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_row_of_several_units_counts_in_standard_uncertainties() {
        let mut inputs = pair("fit", "fit");
        inputs[1].unit = "1/mm";
        let out = budget(&inputs, &Correlation::none(), 2, linear).unwrap().outputs.remove(0);
        assert_eq!((out.rows[0].u, out.rows[0].unit), (1.0, ""));
        assert!((out.rows[0].sensitivity - 5.0).abs() < 1e-12);
    }

    #[test]
    fn correlated_inputs_of_one_fit_keep_its_degrees_of_freedom() {
        let mut correlation = Correlation::none();
        correlation.set(0, 1, -0.7);
        let inputs = pair("a", "b").map(|input| input.with_dof(9.0));
        let out = budget(&inputs, &correlation, 2, linear).unwrap().outputs.remove(0);
        assert!((out.dof - 9.0).abs() < 1e-9);
    }

    #[test]
    fn a_border_is_approached_from_the_side_that_works() {
        // The model refuses negative arguments; the estimate stands on the border, then near it.
        let root = |x: &[f64], y: &mut [f64]| {
            y[0] = x[0] + x[0] * x[0];
            x[0] >= 0.0
        };
        let on = budget(&[Input::normal("a", 0.0, 0.01, "")], &Correlation::none(), 1, root).unwrap();
        assert_eq!(on.one_sided, ["a"]);
        assert!((on.outputs[0].rows[0].sensitivity - 1.0).abs() < 1e-3);
        let near = budget(&[Input::normal("a", 0.005, 0.01, "")], &Correlation::none(), 1, root).unwrap();
        assert!(near.one_sided.is_empty());
        assert!((near.outputs[0].rows[0].sensitivity - 1.01).abs() < 1e-9);
        assert!((near.outputs[0].second_order_shift - 1e-4).abs() < 1e-9);
    }

    #[test]
    fn refusals_name_what_was_refused() {
        let none = Correlation::none();
        let inputs = pair("a", "b");
        assert_eq!(budget(&inputs, &none, 1, |_, _| false), Err(NoBudget::Refused));
        let only_here = |x: &[f64], y: &mut [f64]| {
            y[0] = 1.0;
            x[1] == 2.0
        };
        assert_eq!(budget(&inputs, &none, 1, only_here), Err(NoBudget::RefusedNear { name: "b".into() }));
        let nan = |_: &[f64], y: &mut [f64]| {
            y[0] = f64::NAN;
            true
        };
        assert_eq!(budget(&inputs, &none, 1, nan), Err(NoBudget::Refused));
    }

    #[test]
    fn exact_inputs_have_no_row_and_a_constant_no_uncertainty() {
        let inputs = pair("a", "b").map(|input| Input { u: 0.0, ..input });
        let out = budget(&inputs, &Correlation::none(), 2, linear).unwrap().outputs.remove(0);
        assert!(out.rows.is_empty() && out.u == 0.0);
        assert_eq!((out.interval.lo, out.interval.hi), (-5.0, -5.0));
        let constant = |_: &[f64], y: &mut [f64]| {
            y[0] = 7.0;
            true
        };
        let out = budget(&pair("a", "b"), &Correlation::none(), 1, constant).unwrap().outputs.remove(0);
        assert!(out.u == 0.0 && out.rows.iter().all(|row| row.share == 0.0));
    }
}
