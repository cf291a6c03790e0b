//! Least squares of a few unknowns: Gauss–Newton with damping, derivatives by differences.

/// Steps at most.
const STEPS: usize = 60;
/// Unknowns are near 1; this is where differences lose least.
const DIFFERENCE: f64 = 1e-5;

/// A minimum of Σ misfit².
#[derive(Clone, Debug)]
pub struct Fit {
    /// The unknowns.
    pub x: Vec<f64>,
    /// Each misfit there.
    pub misfits: Vec<f64>,
    /// Cholesky factor of JᵀJ, lower, by rows.
    factor: Vec<Vec<f64>>,
}

impl Fit {
    /// Variance of unknown `k`: entry k, k of (JᵀJ)⁻¹.
    pub fn covariance(&self, k: usize) -> f64 {
        let mut unit = vec![0.0; self.x.len()];
        unit[k] = 1.0;
        solve(&self.factor, &mut unit);
        unit[k]
    }
}

/// Minimises Σ misfit² from `x` (Levenberg 1944, Marquardt 1963); none where the misfits cannot be computed
/// at the start or the unknowns cannot be told apart.
pub fn fit(mut x: Vec<f64>, mut misfits_at: impl FnMut(&[f64]) -> Option<Vec<f64>>) -> Option<Fit> {
    let mut misfits = misfits_at(&x)?;
    let mut damping = 1e-3;
    for _ in 0..STEPS {
        let jacobian = jacobian(&x, &misfits, &mut misfits_at)?;
        let (normal, slope) = normal_equations(&jacobian, &misfits);
        let score = sum_of_squares(&misfits);
        let mut moved = 0.0_f64;
        while damping < 1e8 {
            let mut damped = normal.clone();
            (0..x.len()).for_each(|k| damped[k][k] *= 1.0 + damping);
            let mut step = slope.clone();
            solve(&cholesky(damped)?, &mut step);
            let trial: Vec<f64> = x.iter().zip(&step).map(|(x, step)| x - step).collect();
            match misfits_at(&trial).filter(|found| sum_of_squares(found) <= score) {
                Some(found) => {
                    moved = step.iter().fold(0.0, |most, step| most.max(step.abs()));
                    (x, misfits) = (trial, found);
                    damping = (0.1 * damping).max(1e-12);
                    break;
                }
                None => damping *= 10.0,
            }
        }
        if moved < 1e-9 {
            break;
        }
    }
    let jacobian = jacobian(&x, &misfits, &mut misfits_at)?;
    let factor = cholesky(normal_equations(&jacobian, &misfits).0)?;
    Some(Fit { x, misfits, factor })
}

fn sum_of_squares(misfits: &[f64]) -> f64 {
    misfits.iter().map(|m| m * m).sum()
}

/// Columns of derivatives, one an unknown.
fn jacobian(
    x: &[f64],
    misfits: &[f64],
    misfits_at: &mut impl FnMut(&[f64]) -> Option<Vec<f64>>,
) -> Option<Vec<Vec<f64>>> {
    (0..x.len())
        .map(|k| {
            let mut side = |by: f64| {
                let mut moved = x.to_vec();
                moved[k] += by;
                misfits_at(&moved)
            };
            let (up, down) = (side(DIFFERENCE)?, side(-DIFFERENCE)?);
            Some((0..misfits.len()).map(|i| (up[i] - down[i]) / (2.0 * DIFFERENCE)).collect())
        })
        .collect()
}

/// JᵀJ and Jᵀ·misfits.
fn normal_equations(columns: &[Vec<f64>], misfits: &[f64]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let normal = columns.iter().map(|a| columns.iter().map(|b| dot(a, b)).collect()).collect();
    (normal, columns.iter().map(|column| dot(column, misfits)).collect())
}

/// Lower factor L of A = L·Lᵀ; none where A is not positive definite.
fn cholesky(mut a: Vec<Vec<f64>>) -> Option<Vec<Vec<f64>>> {
    for i in 0..a.len() {
        for j in 0..=i {
            let known: f64 = (0..j).map(|k| a[i][k] * a[j][k]).sum();
            let rest = a[i][j] - known;
            a[i][j] = if i == j {
                if rest <= 1e-14 * a[i][i] {
                    return None;
                }
                rest.sqrt()
            } else {
                rest / a[j][j]
            };
        }
    }
    Some(a)
}

/// L·Lᵀ·x = b, in place.
fn solve(factor: &[Vec<f64>], b: &mut [f64]) {
    let n = b.len();
    for i in 0..n {
        let known: f64 = (0..i).map(|k| factor[i][k] * b[k]).sum();
        b[i] = (b[i] - known) / factor[i][i];
    }
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|k| factor[k][i] * b[k]).sum();
        b[i] = (b[i] - known) / factor[i][i];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_fitted_as_by_hand() {
        // y = a + b·t at t = 0, 1, 2 with y = 1, 3, 2: a = 1.5, b = 0.5; variances 5/6 and 1/2.
        let misfits = |x: &[f64]| Some(vec![x[0] - 1.0, x[0] + x[1] - 3.0, x[0] + 2.0 * x[1] - 2.0]);
        let found = fit(vec![1.0, 1.0], misfits).unwrap();
        assert!((found.x[0] - 1.5).abs() < 1e-7 && (found.x[1] - 0.5).abs() < 1e-7);
        assert!((found.covariance(0) - 5.0 / 6.0).abs() < 1e-7);
        assert!((found.covariance(1) - 0.5).abs() < 1e-7);
    }

    #[test]
    fn unknowns_that_cannot_be_told_apart_are_refused() {
        assert!(fit(vec![1.0, 1.0], |x| Some(vec![x[0] + x[1] - 3.0])).is_none());
    }
}
