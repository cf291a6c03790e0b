//! Heat: what the oven must supply, where it goes, and what it does to metal, air, floor and hand.

pub mod accounts;
pub mod agree;
pub mod air_at_part;
pub mod balance;
pub mod bays;
pub mod combustion;
pub mod control;
pub mod convection;
pub mod coupled;
pub mod drift;
pub mod envelope;
pub mod equal;
pub mod expansion;
pub mod findings;
pub mod floor_slab;
pub mod frame;
pub mod judge;
pub mod losses;
pub mod material;
pub mod moisture;
pub mod need;
pub mod openings;
pub mod part;
pub mod parts;
pub mod report;
pub mod results;
pub mod stream;
pub mod travel;
pub mod warm_up;
pub mod water;
pub mod way;

pub use equal::weights_for_equal_temperature;
pub use travel::damper_travel;

/// The zero of `f` between `low` and `high`, where it changes sign once; the end nearer to it where it does not.
pub(crate) fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rising = f(low) <= f(high);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if (f(middle) < 0.0) == rising {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Solves the small dense system `a`·x = `b` by elimination with pivoting; none where it is singular.
pub(crate) fn solve_dense(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|&i, &j| a[i][k].abs().total_cmp(&a[j][k].abs()))?;
        a.swap(k, pivot);
        b.swap(k, pivot);
        if a[k][k].abs().is_nan() || a[k][k].abs() <= 1e-300 {
            return None;
        }
        for i in k + 1..n {
            let factor = a[i][k] / a[k][k];
            let (upper, lower) = a.split_at_mut(i);
            for (below, above) in lower[0][k..].iter_mut().zip(&upper[k][k..]) {
                *below -= factor * above;
            }
            b[i] -= factor * b[k];
        }
    }
    for k in (0..n).rev() {
        let rest: f64 = (k + 1..n).map(|j| a[k][j] * b[j]).sum();
        b[k] = (b[k] - rest) / a[k][k];
    }
    Some(b)
}
