//! Numbers that are the same on every machine: transcendental functions from `libm`, a smooth
//! signed square root, and shape-preserving interpolation.

pub use libm::{acos, cos, exp, log as ln, log10, pow, sin, tan};

/// A signed square root that is smooth through zero, and its slope:
/// s = x/(x² + δ²)^¼, which is √x within (δ/2x)² of its value for x ≫ δ.
///
/// ```
/// let (s, slope) = engine::numerics::signed_sqrt(25.0, 1e-6);
/// assert!((s - 5.0).abs() < 1e-12 && (slope - 0.1).abs() < 1e-12);
/// ```
pub fn signed_sqrt(x: f64, delta: f64) -> (f64, f64) {
    let square = x * x + delta * delta;
    let fourth_root = square.sqrt().sqrt();
    (x / fourth_root, (0.5 * x * x + delta * delta) / (square * fourth_root))
}

/// Shape-preserving cubic interpolation (Fritsch & Butland 1984) with straight continuation.
///
/// Between two points the curve never leaves their band, so a dip in a fan curve stays a dip and
/// no new peak appears.
#[derive(Clone, Debug, PartialEq)]
pub struct Pchip {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl Pchip {
    /// The curve through `points` of rising x; `None` for fewer than two points or x not rising.
    pub fn new(points: &[(f64, f64)]) -> Option<Self> {
        let rising = points.windows(2).all(|pair| pair[0].0 < pair[1].0);
        if points.len() < 2 || !rising || points.iter().any(|p| !(p.0.is_finite() && p.1.is_finite())) {
            return None;
        }
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        let width: Vec<f64> = x.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let chord: Vec<f64> = y.windows(2).zip(&width).map(|(pair, w)| (pair[1] - pair[0]) / w).collect();
        let last = x.len() - 1;
        let slope = (0..x.len())
            .map(|i| {
                if last == 1 {
                    chord[0]
                } else if i == 0 {
                    end_slope(width[0], width[1], chord[0], chord[1])
                } else if i == last {
                    end_slope(width[last - 1], width[last - 2], chord[last - 1], chord[last - 2])
                } else if chord[i - 1] * chord[i] <= 0.0 {
                    0.0
                } else {
                    let (w1, w2) = (2.0 * width[i] + width[i - 1], width[i] + 2.0 * width[i - 1]);
                    (w1 + w2) / (w1 / chord[i - 1] + w2 / chord[i])
                }
            })
            .collect();
        Some(Self { x, y, slope })
    }

    /// Value and slope at `x`; straight lines beyond both ends.
    pub fn at(&self, x: f64) -> (f64, f64) {
        let last = self.x.len() - 1;
        for end in [0, last] {
            if (end == 0 && x <= self.x[0]) || (end == last && x >= self.x[last]) {
                return (self.y[end] + self.slope[end] * (x - self.x[end]), self.slope[end]);
            }
        }
        let i = self.x.partition_point(|&xi| xi <= x) - 1;
        let h = self.x[i + 1] - self.x[i];
        let t = (x - self.x[i]) / h;
        let (y0, y1, d0, d1) = (self.y[i], self.y[i + 1], self.slope[i] * h, self.slope[i + 1] * h);
        let (c2, c3) = (3.0 * (y1 - y0) - 2.0 * d0 - d1, d0 + d1 - 2.0 * (y1 - y0));
        (y0 + t * (d0 + t * (c2 + t * c3)), (d0 + t * (2.0 * c2 + 3.0 * t * c3)) / h)
    }

    /// The points the curve goes through.
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.x.iter().copied().zip(self.y.iter().copied())
    }
}

/// Three-point end slope that keeps the shape.
fn end_slope(w0: f64, w1: f64, c0: f64, c1: f64) -> f64 {
    let slope = ((2.0 * w0 + w1) * c0 - w0 * c1) / (w0 + w1);
    if slope * c0 <= 0.0 {
        0.0
    } else if c0 * c1 <= 0.0 && slope.abs() > 3.0 * c0.abs() {
        3.0 * c0
    } else {
        slope
    }
}

/// Puts numbers in rising order, by [`sort_keys`].
#[inline(never)]
pub fn sort_numbers(values: &mut [f64]) {
    let mut keys: Vec<u128> = values.iter().map(|&x| rising(x).into()).collect();
    sort_keys(&mut keys);
    for (value, key) in values.iter_mut().zip(keys) {
        let key = key as u64;
        *value = f64::from_bits(if key >> 63 == 1 { key & !(1 << 63) } else { !key });
    }
}

/// Puts a short list in order by insertion, with less code than the standard library's sort; equal ones keep their order.
///
/// ```
/// let mut names = ["c", "a", "b"];
/// engine::numerics::sort_short(&mut names, |a, b| a.cmp(b));
/// assert_eq!(names, ["a", "b", "c"]);
/// ```
pub fn sort_short<T>(items: &mut [T], compare: impl Fn(&T, &T) -> core::cmp::Ordering) {
    for end in 1..items.len() {
        let mut at = end;
        while at > 0 && compare(&items[at - 1], &items[at]).is_gt() {
            items.swap(at - 1, at);
            at -= 1;
        }
    }
}

/// Puts keys in rising order: the one sort of long lists, for which they are packed into keys. The standard
/// library's sort is 4 KB of the download for every type it is used with.
#[inline(never)]
pub fn sort_keys(keys: &mut [u128]) {
    keys.sort_unstable();
}

/// A key that rises as the number does (IEEE 754 total order).
///
/// ```
/// use engine::numerics::rising;
/// assert!(rising(-2.0) < rising(-1.0) && rising(-1.0) < rising(0.0) && rising(0.0) < rising(3.5));
/// ```
pub fn rising(x: f64) -> u64 {
    let bits = x.to_bits();
    if x.is_sign_negative() { !bits } else { bits | (1 << 63) }
}

/// The items in rising order of their keys; equal ones keep their order.
pub fn sorted_by_key<T>(items: Vec<T>, key: impl Fn(&T) -> u64) -> Vec<T> {
    let keyed = |(i, item)| (u128::from(key(item)) << 64) | i as u128;
    let mut keys: Vec<u128> = items.iter().enumerate().map(keyed).collect();
    sort_keys(&mut keys);
    let mut items: Vec<Option<T>> = items.into_iter().map(Some).collect();
    keys.iter().filter_map(|&key| items[key as u64 as usize].take()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interpolation_keeps_the_dip_and_adds_no_peak() {
        let curve = Pchip::new(&[(0.0, 5.0), (1.0, 4.0), (2.0, 4.5), (4.0, 1.0)]).unwrap();
        for k in 0..=100 {
            let x = 1.0 + f64::from(k) / 100.0;
            let y = curve.at(x).0;
            assert!((4.0..=4.5).contains(&y), "{x} {y}");
        }
        assert_eq!(curve.at(2.0).1, 0.0);
    }

    #[test]
    fn numbers_are_sorted_in_total_order() {
        let mut found = [2.5, f64::NAN, -0.0, 0.0, -3.0, f64::NEG_INFINITY, 1e-300, f64::INFINITY, -3.0];
        let mut wanted = found;
        wanted.sort_by(f64::total_cmp);
        sort_numbers(&mut found);
        assert_eq!(found.map(f64::to_bits), wanted.map(f64::to_bits));
    }

    #[test]
    fn equal_keys_keep_their_order() {
        let items = vec![(2, 'a'), (1, 'b'), (2, 'c'), (0, 'd'), (1, 'e')];
        let sorted: String = sorted_by_key(items, |item| item.0).into_iter().map(|item| item.1).collect();
        assert_eq!(sorted, "dbeac");
    }

    #[test]
    fn slope_is_the_derivative() {
        let curve = Pchip::new(&[(0.0, 5.0), (1.0, 4.8), (2.5, 4.0), (4.0, 1.0)]).unwrap();
        for x in [-1.0, 0.3, 1.7, 3.9, 6.0] {
            let h = 1e-6;
            let numeric = (curve.at(x + h).0 - curve.at(x - h).0) / (2.0 * h);
            assert!((numeric - curve.at(x).1).abs() < 1e-6);
        }
        for x in [-3.0, -1e-6, 0.0, 2e-6, 4.0] {
            let h = 1e-9;
            let numeric = (signed_sqrt(x + h, 1e-3).0 - signed_sqrt(x - h, 1e-3).0) / (2.0 * h);
            assert!((numeric / signed_sqrt(x, 1e-3).1 - 1.0).abs() < 1e-5);
        }
    }
}
