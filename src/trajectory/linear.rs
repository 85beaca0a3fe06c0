//! Linear least squares that keeps its digits on ill-conditioned designs.

use super::NoFit;
use super::extended::Extended;

/// A design column that keeps less than this share of its length beside the columns before it is a
/// combination of them, as far as numbers of working precision can tell.
const DEPENDENT: f64 = 1e-13;

/// The result of a linear least-squares fit.
#[derive(Clone, Debug, PartialEq)]
pub struct LinearFit {
    /// The parameters, in the order of the design's columns.
    pub parameters: Vec<f64>,
    /// Their covariance, `residual_sd^2 (X'WX)^-1`: right if the observations are independent with
    /// variances inversely proportional to their weights, the factor taken from the scatter. Zero
    /// where nothing is left over (`dof` 0 gives no scatter: see there).
    pub covariance: Vec<Vec<f64>>,
    /// Root of the weighted sum of squares over `dof`; 0 where `dof` is 0.
    pub residual_sd: f64,
    /// Observations less parameters. With 0 the covariance cannot be had and is given as zero.
    pub dof: usize,
}

/// Minimises `sum w (y - row . b)^2`; `rows` hold one observation's design each, weights 1 where
/// `None`.
///
/// Orthogonalises the columns one against the other (modified Gram-Schmidt with the observations as
/// the last column: Björck 1967, "Solving linear least squares problems by Gram-Schmidt
/// orthogonalization", BIT 7, 1-21) in numbers of twice the precision. Column scaling and centring,
/// which plain precision would need, change nothing then; a polynomial of degree 10 on an uncentred
/// range keeps its digits.
///
/// # Errors
/// [`NoFit`] where lengths differ, a number is not finite, a weight is negative, there are fewer
/// observations than parameters, or a column depends on the others.
pub fn least_squares(rows: &[Vec<f64>], ys: &[f64], weights: Option<&[f64]>) -> Result<LinearFit, NoFit> {
    let p = rows.first().map_or(0, Vec::len);
    if rows.iter().any(|r| r.len() != p) {
        return Err(NoFit::new("the rows of the design differ in length"));
    }
    let columns = (0..p).map(|j| rows.iter().map(|r| Extended::from(r[j])).collect()).collect();
    solve(columns, ys, weights)
}

/// Fits `y = b0 + b1 x + ... + bk x^k`; as [`least_squares`], with the powers in twice the
/// precision too.
///
/// # Errors
/// As [`least_squares`].
pub fn polynomial(xs: &[f64], ys: &[f64], weights: Option<&[f64]>, degree: usize) -> Result<LinearFit, NoFit> {
    let mut columns = vec![vec![Extended::from(1.0); xs.len()]];
    for k in 0..degree {
        let next = columns[k].iter().zip(xs).map(|(power, x)| *power * Extended::from(*x)).collect();
        columns.push(next);
    }
    solve(columns, ys, weights)
}

fn solve(mut q: Vec<Vec<Extended>>, ys: &[f64], weights: Option<&[f64]>) -> Result<LinearFit, NoFit> {
    let (n, p) = (ys.len(), q.len());
    let ones = vec![1.0; n];
    let weights = weights.unwrap_or(&ones);
    if p == 0 || n < p {
        return Err(NoFit::new(format!("{n} observations cannot determine {p} parameters")));
    }
    if weights.len() != n || q.iter().any(|c| c.len() != n) {
        return Err(NoFit::new("the lists of observations differ in length"));
    }
    if !weights.iter().all(|w| w.is_finite() && *w >= 0.0)
        || !ys.iter().all(|y| y.is_finite())
        || !q.iter().flatten().all(|v| v.value().is_finite())
    {
        return Err(NoFit::new("an observation is not finite, or a weight is negative"));
    }
    let roots: Vec<Extended> = weights.iter().map(|w| Extended::from(*w).sqrt()).collect();
    let weigh = |column: &mut Vec<Extended>| column.iter_mut().zip(&roots).for_each(|(v, r)| *v = *v * *r);
    q.iter_mut().for_each(weigh);
    let mut rest: Vec<Extended> = ys.iter().map(|y| Extended::from(*y)).collect();
    weigh(&mut rest);

    let lengths: Vec<f64> = q.iter().map(|c| dot(c, c).sqrt().value()).collect();
    let mut r = vec![vec![Extended::ZERO; p]; p];
    let mut along = vec![Extended::ZERO; p];
    for k in 0..p {
        let length = dot(&q[k], &q[k]).sqrt();
        if length.value() <= DEPENDENT * lengths[k] || !length.value().is_finite() {
            return Err(NoFit::new(format!("parameter {} cannot be told from those before it", k + 1)));
        }
        r[k][k] = length;
        q[k].iter_mut().for_each(|v| *v = *v / length);
        let unit = q[k].clone();
        for (j, column) in q.iter_mut().enumerate().skip(k + 1) {
            r[k][j] = take_out(&unit, column);
        }
        along[k] = take_out(&unit, &mut rest);
    }

    // columns of the inverse of R, by back substitution
    let inverse_column = |j: usize| {
        let mut column = vec![Extended::ZERO; p];
        for i in (0..=j).rev() {
            let unit = Extended::from(f64::from(u8::from(i == j)));
            let known = (i + 1..=j).fold(Extended::ZERO, |s, k| s + r[i][k] * column[k]);
            column[i] = (unit - known) / r[i][i];
        }
        column
    };
    let inverse: Vec<Vec<Extended>> = (0..p).map(inverse_column).collect();
    let parameters = (0..p).map(|i| (i..p).fold(Extended::ZERO, |s, k| s + inverse[k][i] * along[k]).value()).collect();
    let dof = n - p;
    let variance = if dof == 0 { Extended::ZERO } else { dot(&rest, &rest) / Extended::from(dof as f64) };
    let cell = |i: usize, j: usize| {
        (variance * (i.max(j)..p).fold(Extended::ZERO, |s, k| s + inverse[k][i] * inverse[k][j])).value()
    };
    let covariance = (0..p).map(|i| (0..p).map(|j| cell(i, j)).collect()).collect();
    Ok(LinearFit { parameters, covariance, residual_sd: variance.sqrt().value(), dof })
}

fn dot(a: &[Extended], b: &[Extended]) -> Extended {
    a.iter().zip(b).fold(Extended::ZERO, |s, (a, b)| s + *a * *b)
}

/// Takes the part along `unit` out of `column` and returns its size.
fn take_out(unit: &[Extended], column: &mut [Extended]) -> Extended {
    let size = dot(unit, column);
    column.iter_mut().zip(unit).for_each(|(v, u)| *v = *v - size * *u);
    size
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_count_as_repeats() {
        let doubled = polynomial(&[0.0, 1.0, 1.0, 3.0], &[1.0, 2.0, 2.0, 5.0], None, 1).unwrap();
        let weighted = polynomial(&[0.0, 1.0, 3.0], &[1.0, 2.0, 5.0], Some(&[1.0, 2.0, 1.0]), 1).unwrap();
        assert_eq!(doubled.parameters, weighted.parameters);
    }

    #[test]
    fn what_cannot_be_solved_says_why() {
        let say = |rows: &[Vec<f64>], ys: &[f64]| least_squares(rows, ys, None).unwrap_err().reason;
        let rows: Vec<Vec<f64>> = (0..5).map(|i| vec![1.0, f64::from(i), 0.1 + 0.3 * f64::from(i)]).collect();
        assert_eq!(say(&rows, &[1.0; 5]), "parameter 3 cannot be told from those before it");
        assert_eq!(say(&rows[..2], &[1.0; 2]), "2 observations cannot determine 3 parameters");
        assert!(say(&[vec![1.0], vec![f64::NAN]], &[1.0; 2]).contains("not finite"));
        assert!(say(&[vec![1.0], vec![1.0, 2.0]], &[1.0; 2]).contains("differ in length"));
        assert!(polynomial(&[1.0; 4], &[1.0; 4], None, 1).is_err());
    }
}
