//! Correlation between inputs.

/// Pivots of Cholesky's method closer to zero than this are rounding noise of a matrix that is not of full rank.
const VANISHES: f64 = 1e-9;

/// Correlation coefficients between inputs; most are zero, so only the others are kept.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Correlation {
    /// (i, j, r) with i < j, in the order in which they were set.
    pairs: Vec<(usize, usize, f64)>,
}

impl Correlation {
    /// All inputs are independent.
    pub fn none() -> Self {
        Self::default()
    }

    /// States that inputs `i` and `j` (positions in the list of inputs) have correlation
    /// coefficient `r`; the last statement about a pair holds.
    pub fn set(&mut self, i: usize, j: usize, r: f64) {
        let (i, j) = (i.min(j), i.max(j));
        self.pairs.retain(|&(a, b, _)| (a, b) != (i, j));
        if r != 0.0 {
            self.pairs.push((i, j, r));
        }
    }

    /// Pairs (i, j, r) with i < j and r not zero.
    pub fn pairs(&self) -> &[(usize, usize, f64)] {
        &self.pairs
    }

    /// Groups of inputs that hang together through correlations, each in ascending order; an
    /// input that is correlated with no other stands alone. `inputs` is how many there are.
    pub(super) fn groups(&self, inputs: usize) -> Vec<Vec<usize>> {
        let mut root: Vec<usize> = (0..inputs).collect();
        for &(i, j, _) in &self.pairs {
            let (keep, drop) = (root[i].min(root[j]), root[i].max(root[j]));
            root.iter_mut().filter(|r| **r == drop).for_each(|r| *r = keep);
        }
        (0..inputs).filter(|&i| root[i] == i).map(|i| (i..inputs).filter(|&j| root[j] == i).collect()).collect()
    }

    /// Lower triangular factor L of the correlation matrix of `group`, row by row: R = L L'.
    ///
    /// Cholesky's method. A pivot that vanishes (inputs that are correlated fully) gives a column
    /// of zeros, so that the matrix need not be of full rank.
    pub(super) fn factor(&self, group: &[usize]) -> Result<Vec<Vec<f64>>, BadCorrelation> {
        let place = |input: usize| group.iter().position(|&g| g == input);
        let mut l: Vec<Vec<f64>> = (0..group.len()).map(|row| vec![0.0; row + 1]).collect();
        for (row, values) in l.iter_mut().enumerate() {
            values[row] = 1.0;
        }
        for &(i, j, r) in &self.pairs {
            if let (Some(i), Some(j)) = (place(i), place(j)) {
                l[j][i] = r;
            }
        }
        for row in 0..group.len() {
            for column in 0..=row {
                let done: f64 = (0..column).map(|k| l[row][k] * l[column][k]).sum();
                let rest = l[row][column] - done;
                if column == row {
                    if rest < -VANISHES {
                        return Err(BadCorrelation::Impossible { input: group[row] });
                    }
                    l[row][row] = if rest > VANISHES { rest.sqrt() } else { 0.0 };
                } else if l[column][column] > 0.0 {
                    l[row][column] = rest / l[column][column];
                } else if rest.abs() > 1e-6 {
                    return Err(BadCorrelation::Impossible { input: group[row] });
                } else {
                    l[row][column] = 0.0;
                }
            }
        }
        Ok(l)
    }

    /// Whether the coefficients fit `inputs` inputs and one another.
    ///
    /// # Errors
    /// See [`BadCorrelation`].
    pub fn check(&self, inputs: usize) -> Result<(), BadCorrelation> {
        for &(i, j, r) in &self.pairs {
            if i == j || j >= inputs {
                return Err(BadCorrelation::NoSuchPair { i, j, inputs });
            }
            if r.is_nan() || r.abs() > 1.0 {
                return Err(BadCorrelation::OutOfRange { i, j, r });
            }
        }
        self.groups(inputs).iter().filter(|g| g.len() > 1).try_for_each(|g| self.factor(g).map(drop))
    }
}

/// Correlation coefficients that cannot be.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BadCorrelation {
    /// A pair outside the list of inputs, or an input with itself.
    #[error("a correlation is stated between inputs {i} and {j}, but they are not two of the {inputs} inputs")]
    NoSuchPair {
        /// Lower position.
        i: usize,
        /// Higher position.
        j: usize,
        /// How many inputs there are.
        inputs: usize,
    },
    /// A coefficient beyond -1 to 1.
    #[error("the correlation between inputs {i} and {j} is {r}; it must lie between -1 and 1")]
    OutOfRange {
        /// Lower position.
        i: usize,
        /// Higher position.
        j: usize,
        /// The coefficient.
        r: f64,
    },
    /// Coefficients each possible but not together: the matrix has a negative eigenvalue.
    #[error("the correlations of input {input} contradict those between the other inputs")]
    Impossible {
        /// The position at which it shows.
        input: usize,
    },
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(pairs: &[(usize, usize, f64)]) -> Correlation {
        let mut correlation = Correlation::none();
        pairs.iter().for_each(|&(i, j, r)| correlation.set(i, j, r));
        correlation
    }

    #[test]
    fn groups_follow_chains() {
        let groups = of(&[(4, 1, 0.5), (4, 2, 0.1)]).groups(6);
        assert_eq!(groups, [vec![0], vec![1, 2, 4], vec![3], vec![5]]);
    }

    #[test]
    fn factor_multiplies_back() {
        let (a, b, c) = (0.3, -0.4, 0.5);
        let l = of(&[(0, 1, a), (0, 2, b), (1, 2, c)]).factor(&[0, 1, 2]).unwrap();
        let dot = |i: usize, j: usize| -> f64 { (0..=i.min(j)).map(|k| l[i][k] * l[j][k]).sum() };
        for (i, j, r) in [(0, 1, a), (0, 2, b), (1, 2, c), (2, 2, 1.0)] {
            assert!((dot(i, j) - r).abs() < 1e-15);
        }
    }

    #[test]
    fn full_correlation_is_allowed_and_contradiction_is_not() {
        assert_eq!(of(&[(0, 1, 1.0)]).check(2), Ok(()));
        assert_eq!(of(&[(0, 1, 1.0), (0, 2, 0.6), (1, 2, 0.6)]).check(3), Ok(()));
        assert!(matches!(of(&[(0, 1, 1.0), (0, 2, 0.6)]).check(3), Err(BadCorrelation::Impossible { .. })));
        assert!(of(&[(0, 1, 0.9), (0, 2, 0.9), (1, 2, -0.9)]).check(3).is_err());
        assert!(of(&[(0, 1, 1.2)]).check(2).is_err() && of(&[(0, 5, 0.2)]).check(2).is_err());
    }

    #[test]
    fn the_last_statement_holds() {
        let correlation = of(&[(0, 1, 0.5), (1, 0, 0.2)]);
        assert_eq!(correlation.pairs(), [(0, 1, 0.2)]);
        assert!(of(&[(0, 1, 0.5), (0, 1, 0.0)]).pairs().is_empty());
    }
}
