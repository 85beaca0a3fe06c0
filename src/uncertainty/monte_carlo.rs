//! Propagation of distributions by Monte Carlo.

use super::agreement::numerical_tolerance;
use super::correlation::{BadCorrelation, Correlation};
use super::covariance::Covariance;
use super::coverage::Interval;
use super::draws::{NoSampler, Sampler};
use super::input::{BadInput, Input};
use super::sample::{mean_and_u, shortest_interval, symmetric_interval};
use rayon::prelude::*;

/// Draws of one block of the adaptive procedure: JCGM 101:2008, 7.9.4 for coverage up to 99 %.
const BLOCK: usize = 10_000;
/// Draws that one thread makes at a time; small against a block, so that threads end together.
const CHUNK: usize = 500;

/// How many draws to make, and what of them to tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// Names the stream of random numbers; the same seed gives the same result, bit for bit.
    pub seed: u64,
    /// Draws to make in any case; rounded up to whole blocks of 10 000.
    pub at_least: usize,
    /// Draws after which to stop although the result is not yet stable; rounded up in the same way.
    pub at_most: usize,
    /// Significant digits of the standard uncertainty that must be stable, 1 or 2.
    pub digits: u32,
    /// Probability of the coverage intervals, 0.95 for 95 %.
    pub coverage: f64,
}

impl Plan {
    /// Exactly `draws` draws (rounded up to whole blocks of 10 000) and 95 % intervals.
    pub const fn fixed(draws: usize, seed: u64) -> Self {
        Self { seed, at_least: draws, at_most: draws, digits: 2, coverage: 0.95 }
    }

    /// As many draws as two digits of every standard uncertainty need, at most one million.
    pub const fn adaptive(seed: u64) -> Self {
        Self { seed, at_least: 2 * BLOCK, at_most: 1_000_000, digits: 2, coverage: 0.95 }
    }
}

/// The result of a Monte Carlo.
#[derive(Clone, Debug, PartialEq)]
pub struct MonteCarlo {
    /// One for each output, in the model's order.
    pub outputs: Vec<SampledOutput>,
    /// Covariance between the outputs.
    pub covariance: Covariance,
    /// Draws made.
    pub draws: usize,
    /// Draws that the model refused; everything is told of the others only.
    pub refused: usize,
    /// Whether every output was stable to the digits asked for when the draws ended.
    pub stable: bool,
    /// The seed.
    pub seed: u64,
}

/// What the draws tell of one output.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SampledOutput {
    /// Mean.
    pub mean: f64,
    /// Standard deviation, which is the standard uncertainty.
    pub u: f64,
    /// Interval with equal probability on either side of it.
    pub symmetric: Interval,
    /// The shortest interval.
    pub shortest: Interval,
    /// How far these numbers themselves are uncertain.
    pub scatter: Scatter,
}

/// Standard deviations of the numbers of a [`SampledOutput`] that come from the finite number of
/// draws, estimated from block to block: JCGM 101:2008, 7.9.4. Infinite for a single block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Of the mean.
    pub mean: f64,
    /// Of the standard uncertainty.
    pub u: f64,
    /// Of the lower end of the symmetric interval.
    pub lo: f64,
    /// Of its upper end.
    pub hi: f64,
}

/// Why there is no Monte Carlo.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoMonteCarlo {
    /// The model refused more than half of the draws.
    #[error("{refused} of {draws} draws gave no result; the uncertainties stated reach far into what is impossible")]
    Refused {
        /// How many were refused.
        refused: usize,
        /// Of how many.
        draws: usize,
    },
    /// Correlated inputs of a shape that has no stated joint distribution.
    #[error(
        "input `{name}` is correlated with others; only normal inputs, or Student t inputs with equal degrees of freedom, can be"
    )]
    Shape {
        /// The input.
        name: String,
    },
    /// A coverage probability that is not between 0 and 1.
    #[error("a coverage of {0} is asked for; give a probability between 0 and 1, such as 0.95")]
    Coverage(f64),
    /// An input with impossible numbers.
    #[error(transparent)]
    Input(#[from] BadInput),
    /// Correlations that cannot be.
    #[error(transparent)]
    Correlation(#[from] BadCorrelation),
}

/// Propagates the distributions of `inputs` through the model `f`: JCGM 101:2008, clause 7.
///
/// `f` reads the inputs, fills all `outputs` outputs and says whether it could; outputs that are
/// not finite count as a refusal. It must be a function of the inputs alone; `scratch` makes the
/// working memory that it may reuse, once for each share of the work. Draws are made in blocks of 10 000 on rayon's
/// current threads. Which numbers a draw gets depends on the seed and its own number only, and
/// sums run in the order of the draws, so the result is the same for any number of threads.
///
/// After `plan.at_least` draws it stops as soon as twice the [`Scatter`] of mean, u and both ends
/// of the symmetric interval is below the numerical tolerance of u for every output (7.9.4).
///
/// # Errors
/// See [`NoMonteCarlo`].
pub fn monte_carlo<S>(
    inputs: &[Input],
    correlation: &Correlation,
    outputs: usize,
    plan: Plan,
    scratch: impl Fn() -> S + Sync + Send,
    f: impl Fn(&mut S, &[f64], &mut [f64]) -> bool + Sync + Send,
) -> Result<MonteCarlo, NoMonteCarlo> {
    inputs.iter().try_for_each(Input::check)?;
    correlation.check(inputs.len())?;
    if !(plan.coverage > 0.0 && plan.coverage < 1.0) {
        return Err(NoMonteCarlo::Coverage(plan.coverage));
    }
    let sampler = Sampler::new(inputs, correlation).map_err(|why| match why {
        NoSampler::Shape(i) => NoMonteCarlo::Shape { name: inputs[i].name.clone() },
        NoSampler::Correlation(bad) => bad.into(),
    })?;
    let block = |number: usize| -> Block {
        let chunks = (0..BLOCK / CHUNK).into_par_iter().map_init(
            || (scratch(), vec![0.0; inputs.len()]),
            |(state, x), chunk| {
                let mut accepted = vec![0.0; CHUNK * outputs];
                let mut rows = 0;
                for k in 0..CHUNK {
                    sampler.fill(plan.seed, (number * BLOCK + chunk * CHUNK + k) as u64, x);
                    let y = &mut accepted[rows * outputs..(rows + 1) * outputs];
                    if f(state, x, y) && y.iter().all(|v| v.is_finite()) {
                        rows += 1;
                    }
                }
                accepted.truncate(rows * outputs);
                (rows, accepted)
            },
        );
        let chunks: Vec<(usize, Vec<f64>)> = chunks.collect();
        Block::new(&chunks, outputs, plan.coverage)
    };

    let least = plan.at_least.div_ceil(BLOCK).max(1);
    let most = plan.at_most.div_ceil(BLOCK).max(least);
    let mut blocks: Vec<Block> = (0..least).into_par_iter().map(block).collect();
    loop {
        let draws = blocks.len() * BLOCK;
        let refused = draws - blocks.iter().map(|block| block.rows).sum::<usize>();
        if 2 * refused > draws {
            return Err(NoMonteCarlo::Refused { refused, draws });
        }
        let stable = is_stable(&blocks, outputs, plan.digits);
        if stable || blocks.len() >= most {
            return Ok(tell(blocks, outputs, plan, refused, stable));
        }
        // One block more, and again, as the standard does; its chunks keep all threads busy.
        blocks.push(block(blocks.len()));
    }
}

/// One block of draws.
struct Block {
    /// Draws that the model did not refuse.
    rows: usize,
    /// The values of each output, in the order of the draws.
    columns: Vec<Vec<f64>>,
    /// Mean, u, lower and upper end of each output; `None` with fewer than two values.
    estimates: Option<Vec<[f64; 4]>>,
}

impl Block {
    fn new(chunks: &[(usize, Vec<f64>)], outputs: usize, coverage: f64) -> Self {
        let rows = chunks.iter().map(|(rows, _)| rows).sum();
        let column = |o: usize| chunks.iter().flat_map(|(_, v)| v.iter().skip(o).step_by(outputs)).copied().collect();
        let columns: Vec<Vec<f64>> = (0..outputs).map(column).collect();
        let estimate = |values: &Vec<f64>| {
            let (mean, u) = mean_and_u(values);
            let Interval { lo, hi } = symmetric_interval(&sorted(values), coverage);
            [mean, u, lo, hi]
        };
        let estimates = (rows >= 2).then(|| columns.iter().map(estimate).collect());
        Self { rows, columns, estimates }
    }
}

/// Standard deviations of the averages over blocks: JCGM 101:2008, 7.9.4.
fn scatter(blocks: &[Block], o: usize) -> Scatter {
    let of = |k: usize| {
        let values: Vec<f64> = blocks.iter().filter_map(|b| b.estimates.as_ref().map(|e| e[o][k])).collect();
        if values.len() < 2 { f64::INFINITY } else { mean_and_u(&values).1 / (values.len() as f64).sqrt() }
    };
    Scatter { mean: of(0), u: of(1), lo: of(2), hi: of(3) }
}

fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted
}

fn is_stable(blocks: &[Block], outputs: usize, digits: u32) -> bool {
    (0..outputs).all(|o| {
        let us = || blocks.iter().filter_map(|b| b.estimates.as_ref().map(|e| e[o][1]));
        let u = us().sum::<f64>() / us().count().max(1) as f64;
        let Scatter { mean, u: of_u, lo, hi } = scatter(blocks, o);
        // An output that does not vary is stable with no tolerance at all.
        [mean, of_u, lo, hi].iter().all(|s| 2.0 * s <= numerical_tolerance(u, digits))
    })
}

/// Estimates from all blocks together, JCGM 101:2008, 7.9.4.
fn tell(mut blocks: Vec<Block>, outputs: usize, plan: Plan, refused: usize, stable: bool) -> MonteCarlo {
    let draws = blocks.len() * BLOCK;
    // Block after block is emptied on the way, so that a million draws are in memory once.
    let mut columns: Vec<Vec<f64>> = (0..outputs).map(|_| Vec::with_capacity(draws)).collect();
    for block in &mut blocks {
        columns.iter_mut().zip(std::mem::take(&mut block.columns)).for_each(|(whole, part)| whole.extend(part));
    }
    let moments: Vec<(f64, f64)> = columns.par_iter().map(|values| mean_and_u(values)).collect();
    let found = (0..outputs).into_par_iter().map(|o| {
        let sorted = sorted(&columns[o]);
        let (mean, u) = moments[o];
        SampledOutput {
            mean,
            u,
            symmetric: symmetric_interval(&sorted, plan.coverage),
            shortest: shortest_interval(&sorted, plan.coverage),
            scatter: scatter(&blocks, o),
        }
    });
    let found = found.collect();
    let pairs: Vec<(usize, usize)> = (0..outputs).flat_map(|a| (a..outputs).map(move |b| (a, b))).collect();
    let product = |&(a, b): &(usize, usize)| {
        let both = columns[a].iter().zip(&columns[b]);
        both.map(|(x, y)| (x - moments[a].0) * (y - moments[b].0)).sum::<f64>() / (columns[a].len() as f64 - 1.0)
    };
    let products: Vec<f64> = pairs.par_iter().map(product).collect();
    let place = |a: usize, b: usize| pairs.iter().position(|&pair| pair == (a, b)).map_or(0.0, |k| products[k]);
    let covariance = Covariance::from_fn(outputs, place);
    MonteCarlo { outputs: found, covariance, draws, refused, stable, seed: plan.seed }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn root(_: &mut (), x: &[f64], y: &mut [f64]) -> bool {
        y[0] = x[0].sqrt();
        x[0] >= 0.0
    }

    fn run(input: Input, plan: Plan) -> Result<MonteCarlo, NoMonteCarlo> {
        monte_carlo(&[input], &Correlation::none(), 1, plan, || (), root)
    }

    #[test]
    fn refused_draws_are_counted_and_left_out() {
        // One draw in 44 of N(2, 1) lies below zero; expected 228 of 10 000, sampling error 15.
        let found = run(Input::normal("a", 2.0, 1.0, ""), Plan::fixed(10_000, 1)).unwrap();
        assert_eq!(found.draws, 10_000);
        assert!((found.refused as f64 - 228.0).abs() < 60.0, "{}", found.refused);
        assert!(found.outputs[0].symmetric.lo >= 0.0);
        let mostly = run(Input::normal("a", -2.0, 1.0, ""), Plan::fixed(10_000, 1));
        assert!(matches!(mostly, Err(NoMonteCarlo::Refused { draws: 10_000, .. })));
    }

    #[test]
    fn adaptive_draws_stop_when_stable_and_not_before() {
        let input = Input::normal("a", 400.0, 40.0, "");
        // u is about 1.0 of 20, so two digits mean 0.05: few blocks suffice.
        let found = run(input.clone(), Plan::adaptive(1)).unwrap();
        assert!(found.stable && found.draws < 200_000, "{}", found.draws);
        let out = found.outputs[0];
        assert!(2.0 * out.scatter.hi <= numerical_tolerance(out.u, 2));
        // The prefix property: the same number of draws asked for directly gives the same bits.
        let fixed = run(input.clone(), Plan::fixed(found.draws, 1)).unwrap();
        assert_eq!(fixed.outputs, found.outputs);
        let cut = run(input, Plan { at_most: 10_000, ..Plan::adaptive(1) }).unwrap();
        assert_eq!(cut.draws, 20_000);
    }

    #[test]
    fn a_constant_is_stable_and_exact() {
        let input = Input { u: 0.0, ..Input::normal("a", 4.0, 1.0, "") };
        let found = run(input, Plan::adaptive(9)).unwrap();
        assert!(found.stable && found.draws == 20_000);
        assert_eq!((found.outputs[0].mean, found.outputs[0].u), (2.0, 0.0));
    }

    #[test]
    fn any_number_of_threads_gives_the_same_bits() {
        let inputs = [
            Input::normal("a", 5.0, 0.5, ""),
            Input::from_readings("b", 1.0, 0.1, 4.0, ""),
            Input::rectangular("c", 2.0, 0.3, ""),
            Input::normal("d", 3.0, 0.2, ""),
        ];
        let mut correlation = Correlation::none();
        correlation.set(0, 3, 0.7);
        let model = |_: &mut (), x: &[f64], y: &mut [f64]| {
            y.copy_from_slice(&[x[0] * x[1], x[2] / x[3], (x[0] - 3.9).ln()]);
            true
        };
        let with = |threads: usize, seed: u64| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            let plan = Plan { at_most: 70_000, ..Plan::adaptive(seed) };
            pool.install(|| monte_carlo(&inputs, &correlation, 3, plan, || (), model)).unwrap()
        };
        let one = with(1, 42);
        assert!(one.refused > 0 && one.draws > 20_000);
        assert_eq!(one, with(2, 42));
        assert_eq!(one, with(7, 42));
        assert_ne!(one.outputs, with(2, 43).outputs);
    }

    #[test]
    fn what_cannot_be_is_told() {
        let input = Input::normal("a", 4.0, 1.0, "");
        let plan = Plan { coverage: 1.0, ..Plan::fixed(1, 1) };
        assert_eq!(run(input.clone(), plan), Err(NoMonteCarlo::Coverage(1.0)));
        assert!(run(Input { u: f64::NAN, ..input }, Plan::fixed(1, 1)).is_err());
    }
}
