//! From random numbers to drawn values of all inputs.

use super::correlation::{BadCorrelation, Correlation};
use super::input::{Input, Shape};
use super::random::Draw;

/// How to fill the inputs of one draw.
pub(super) struct Sampler<'a> {
    inputs: &'a [Input],
    /// Inputs that are neither exact nor correlated.
    alone: Vec<usize>,
    /// Inputs that are correlated, group by group, with the factor of their correlation matrix.
    tied: Vec<(Vec<usize>, Vec<Vec<f64>>)>,
}

/// Why correlated inputs cannot be drawn.
#[derive(Debug)]
pub(super) enum NoSampler {
    /// The input at this position has a shape for which no joint distribution is stated.
    Shape(usize),
    /// The coefficients contradict one another.
    Correlation(BadCorrelation),
}

impl<'a> Sampler<'a> {
    /// Correlated inputs must be normal, or those of one group all Student t with the same degrees of freedom.
    pub(super) fn new(inputs: &'a [Input], correlation: &Correlation) -> Result<Self, NoSampler> {
        let (mut alone, mut tied) = (Vec::new(), Vec::new());
        for group in correlation.groups(inputs.len()) {
            let shape = inputs[group[0]].shape;
            if group.len() == 1 {
                alone.extend(group.into_iter().filter(|&i| inputs[i].u > 0.0));
                continue;
            }
            let joint = |i: usize| matches!(shape, Shape::Normal | Shape::T { .. }) && inputs[i].shape == shape;
            if let Some(&i) = group.iter().find(|&&i| !joint(i)) {
                return Err(NoSampler::Shape(i));
            }
            let factor = correlation.factor(&group).map_err(NoSampler::Correlation)?;
            tied.push((group, factor));
        }
        Ok(Self { inputs, alone, tied })
    }

    /// Fills `x` with the values of draw number `draw`; the lane of an input is its position.
    pub(super) fn fill(&self, seed: u64, draw: u64, x: &mut [f64]) {
        let draw = Draw::new(seed, draw);
        x.iter_mut().zip(self.inputs).for_each(|(x, input)| *x = input.value);
        for &i in &self.alone {
            let lane = i as u32;
            x[i] += self.inputs[i].u
                * match self.inputs[i].shape {
                    Shape::Normal => draw.normal(lane),
                    Shape::Rectangular => 3.0_f64.sqrt() * draw.rectangular(lane),
                    Shape::Triangular => 6.0_f64.sqrt() * draw.triangular(lane),
                    Shape::T { dof } => draw.t(lane, dof),
                };
        }
        for (group, factor) in &self.tied {
            // Multivariate normal: JCGM 101:2008, 6.4.8; multivariate t: JCGM 102:2011, the
            // same divided by one common root of chi-squared over its degrees of freedom.
            let widen = match self.inputs[group[0]].shape {
                Shape::T { dof } if dof.is_finite() => (dof / draw.chi_squared(group[0] as u32, dof)).sqrt(),
                _ => 1.0,
            };
            for (row, &i) in factor.iter().zip(group) {
                let sum: f64 = row.iter().zip(group).map(|(l, &k)| l * draw.normal(k as u32)).sum();
                x[i] += self.inputs[i].u * widen * sum;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(inputs: &[Input], correlation: &Correlation) -> Vec<Vec<f64>> {
        let sampler = Sampler::new(inputs, correlation).unwrap();
        let mut x = vec![0.0; inputs.len()];
        (0..20_000)
            .map(|i| {
                sampler.fill(3, i, &mut x);
                x.clone()
            })
            .collect()
    }

    fn covariance(draws: &[Vec<f64>], a: usize, b: usize) -> f64 {
        let mean = |k: usize| draws.iter().map(|x| x[k]).sum::<f64>() / draws.len() as f64;
        let (ma, mb) = (mean(a), mean(b));
        draws.iter().map(|x| (x[a] - ma) * (x[b] - mb)).sum::<f64>() / draws.len() as f64
    }

    #[test]
    fn draws_have_the_stated_moments_and_correlations() {
        let t = Shape::T { dof: 9.0 };
        let inputs = [
            Input::normal("a", 1.0, 2.0, ""),
            Input::rectangular("b", -3.0, 3.0, ""),
            Input::normal("c", 0.0, 0.5, ""),
            Input::triangular("d", 2.0, 6.0, ""),
            Input { shape: t, ..Input::normal("e", 0.0, 1.0, "") },
            Input { shape: t, ..Input::normal("f", 0.0, 1.0, "") },
            Input { u: 0.0, ..Input::normal("g", 4.0, 1.0, "") },
        ];
        let mut correlation = Correlation::none();
        correlation.set(0, 2, -0.8);
        correlation.set(4, 5, 0.6);
        let draws = drawn(&inputs, &correlation);
        // Sampling errors of a variance of 20 000 draws are near 1 %, more for t; five times that is allowed.
        for (a, b, expected) in [
            (0, 0, 4.0),
            (1, 1, 3.0),
            (2, 2, 0.25),
            (3, 3, 6.0),
            (4, 4, 9.0 / 7.0),
            (0, 2, -0.8),
            (4, 5, 0.6 * 9.0 / 7.0),
        ] {
            let found = covariance(&draws, a, b);
            assert!((found / expected - 1.0).abs() < 0.05, "{a} {b}: {found}, expected {expected}");
        }
        assert!(covariance(&draws, 0, 1).abs() < 0.12 && covariance(&draws, 2, 4).abs() < 0.03);
        assert!(draws.iter().all(|x| x[6] == 4.0));
    }

    #[test]
    fn an_input_more_leaves_the_others_as_they_were() {
        let two = [Input::normal("a", 1.0, 2.0, ""), Input::rectangular("b", 0.0, 1.0, "")];
        let three = [two[0].clone(), two[1].clone(), Input::normal("c", 0.0, 1.0, "")];
        let (short, long) = (drawn(&two, &Correlation::none()), drawn(&three, &Correlation::none()));
        assert!(short.iter().zip(&long).all(|(s, l)| s[..] == l[..2]));
    }

    #[test]
    fn shapes_without_a_joint_distribution_are_refused() {
        let inputs = [Input::normal("a", 1.0, 2.0, ""), Input::rectangular("b", 0.0, 1.0, "")];
        let mut correlation = Correlation::none();
        correlation.set(0, 1, 0.5);
        assert!(matches!(Sampler::new(&inputs, &correlation), Err(NoSampler::Shape(1))));
    }
}
