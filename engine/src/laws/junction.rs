//! Three-way junctions: straight and branch losses that depend on the split of flow.
//!
//! A junction is two branches, common → straight and common → branch, each reading the other's flow.
//! Coefficients after Gardel 1957 are quadratic in the flow split, so ζ·Q² of the common leg is a
//! quadratic form in the two leg flows: smooth, defined at every split, and tested to never give energy
//! away (flow-weighted loss ≥ 0). All six patterns of flow are covered; where the common leg is the side
//! leg the symmetric-tee pair of Idelchik (diagram 7-29) stands in. Range: branch area 0.1…1 of the
//! run's, 30…150°, Re > 10⁵; ±0.15 at equal areas, ±30 % of the branch's velocity pressure at a quarter
//! (the spread of the published sets). Coefficients from memory; the original was not seen.
//!
//! [`idelchik_converging`] is the handbook's table set for comparison. It breaks the second law: at 30°
//! and an area ratio of 0.5 a small branch flow would give energy away, so no plan is solved with it.

use super::{Residual, Seen};
use crate::numerics::{cos, sin, tan};

/// Shape of a junction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shape {
    /// Area of the through run, m².
    pub common_area_m2: f64,
    /// Area of the branch over the area of the run; 0.1…1.
    pub area_ratio: f64,
    /// Angle between the branch and the run's forward axis, degrees; 90 is a square tee.
    pub angle_deg: f64,
}

/// Which leg of the junction a branch is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LegKind {
    /// The run goes on.
    Straight,
    /// The side branch.
    Branch,
}

/// One leg as a law; the branch it reads is the other leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Shape of the junction.
    pub shape: Shape,
    /// Which leg.
    pub kind: LegKind,
}

impl Leg {
    /// The leg `kind` of a junction of `shape`.
    pub fn new(shape: Shape, kind: LegKind) -> Self {
        Self { shape, kind }
    }

    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let (own, other) = (seen.m, seen.others[0]);
        let (straight, branch) = match self.kind {
            LegKind::Straight => (own, other),
            LegKind::Branch => (other, own),
        };
        let losses = self.shape.losses(straight, branch);
        let (value, by_straight, by_branch) = match self.kind {
            LegKind::Straight => losses.to_straight,
            LegKind::Branch => losses.to_branch,
        };
        let a = self.shape.common_area_m2;
        let scale = seen.coupling / (2.0 * seen.density * a * a);
        let (by_own, by_other) = match self.kind {
            LegKind::Straight => (by_straight, by_branch),
            LegKind::Branch => (by_branch, by_straight),
        };
        let mut residual = Residual::pressure_form(seen, scale * value, scale * by_own);
        residual.d_others = [-scale * by_other, 0.0];
        residual
    }
}

/// A leg with less than this share of the others' flow is between two patterns.
const BLEND: f64 = 0.05;

/// How well a pattern of flow is known, 0 best: diverging, converging, out of or into the side leg.
fn standing([common_in, straight_out, branch_out]: [bool; 3]) -> u8 {
    match (straight_out, branch_out, common_in) {
        (true, true, _) | (false, true, false) => 0,
        (false, false, _) | (true, false, true) => 1,
        _ => 2,
    }
}

/// ζQ² with its derivatives by the straight and the branch flow.
type Form = (f64, f64, f64);

/// Losses common → straight and common → branch as ζQ², Q in the unit of the flows given.
#[derive(Clone, Copy, Debug)]
pub struct Losses {
    /// To the straight leg.
    pub to_straight: Form,
    /// To the branch.
    pub to_branch: Form,
}

/// k1·s² + k2·b² + k3·s·b and derivatives.
fn quadratic([k1, k2, k3]: [f64; 3], s: f64, b: f64) -> Form {
    (k1 * s * s + k2 * b * b + k3 * s * b, 2.0 * k1 * s + k3 * b, 2.0 * k2 * b + k3 * s)
}

impl Shape {
    /// Coefficients [Q_st², Q_b², Q_st·Q_b] of diverging flow: (straight, branch) (Gardel 1957, sharp edges).
    pub fn diverging(&self, angle_deg: f64) -> ([f64; 3], [f64; 3]) {
        let (a, t) = (self.area_ratio, tan(angle_deg.to_radians() / 2.0));
        ([0.03, 0.35, -0.2], [0.95, 1.3 * t - 0.3 + (0.4 - 0.1 * a) / (a * a), 0.4 * (1.0 + 1.0 / a) * t])
    }

    /// Coefficients [Q_st², Q_b², Q_st·Q_b] of converging flow: (straight, branch) (Gardel 1957, sharp edges).
    pub fn converging(&self, angle_deg: f64) -> ([f64; 3], [f64; 3]) {
        let (a, c) = (self.area_ratio, cos(angle_deg.to_radians()));
        let branch = 1.2 * (c / a - 1.0) + 0.8 * (1.0 - 1.0 / (a * a)) - (1.0 / a - 1.0) * c;
        let straight = 1.0 + 1.62 * (c / a - 1.0) - 0.38 * (1.0 - a);
        ([0.03, -straight, 2.0 - a], [-0.92, -branch, 2.0 - a])
    }

    /// Losses from the common leg to the straight and to the branch leg, any directions of flow.
    ///
    /// `straight` and `branch` are flows out of the junction through those legs; what enters through
    /// the common leg is their sum. A negative flow comes in through that leg. Where one leg is nearly
    /// at rest its two patterns are blended, so that the losses are smooth at every reversal.
    pub fn losses(&self, straight: f64, branch: f64) -> Losses {
        let common = straight + branch;
        let signs = [common >= 0.0, straight >= 0.0, branch >= 0.0];
        // (flow of the leg, its derivatives by straight and branch, mean size of the other two, its derivatives)
        let legs = [
            (common, [1.0, 1.0], straight, [1.0, 0.0], branch, [0.0, 1.0]),
            (straight, [1.0, 0.0], common, [1.0, 1.0], branch, [0.0, 1.0]),
            (branch, [0.0, 1.0], common, [1.0, 1.0], straight, [1.0, 0.0]),
        ];
        for (k, (own, d_own, one, d_one, two, d_two)) in legs.into_iter().enumerate() {
            let size = 0.5 * (one.abs() + two.abs());
            if own.abs() >= BLEND * size || size == 0.0 {
                continue;
            }
            let (mut out, mut back) = (signs, signs);
            (out[k], back[k]) = (true, false);
            // The band lies within the pattern that is known less well.
            let shift = if standing(out) <= standing(back) { 1.0 } else { 0.0 };
            let t = own / (BLEND * size) + shift;
            if !(0.0..1.0).contains(&t) {
                break;
            }
            let d_size = |i: usize| 0.5 * (one.signum() * d_one[i] + two.signum() * d_two[i]);
            let d_x = |i: usize| (d_own[i] - own / size * d_size(i)) / (BLEND * size);
            let (share, d_share) = (t * t * (3.0 - 2.0 * t), 6.0 * t * (1.0 - t));
            let (out, back) = (self.pattern(out, straight, branch), self.pattern(back, straight, branch));
            let blend = |o: Form, n: Form| {
                let step = (o.0 - n.0) * d_share;
                (
                    n.0 + share * (o.0 - n.0),
                    n.1 + share * (o.1 - n.1) + step * d_x(0),
                    n.2 + share * (o.2 - n.2) + step * d_x(1),
                )
            };
            return Losses {
                to_straight: blend(out.to_straight, back.to_straight),
                to_branch: blend(out.to_branch, back.to_branch),
            };
        }
        self.pattern(signs, straight, branch)
    }

    /// The quadratic forms of one of the six patterns of flow; they are defined at any flows.
    fn pattern(&self, [common_in, straight_out, branch_out]: [bool; 3], s: f64, b: f64) -> Losses {
        let common = s + b;
        let turned = 180.0 - self.angle_deg;
        match (straight_out, branch_out, common_in) {
            (true, true, _) => {
                let (ks, kb) = self.diverging(self.angle_deg);
                Losses { to_straight: quadratic(ks, s, b), to_branch: quadratic(kb, s, b) }
            }
            (false, false, _) => {
                // Both legs bring air: p_leg − p_common = ζ; the flows enter squared, signs drop out.
                let (ks, kb) = self.converging(self.angle_deg);
                Losses { to_straight: negated(quadratic(ks, s, b)), to_branch: negated(quadratic(kb, s, b)) }
            }
            (false, true, false) => {
                // Air comes in by the straight leg and leaves by the common leg and the branch.
                let (kc, kb) = self.diverging(turned);
                let to_common = by_common(quadratic(kc, -common, b));
                let to_branch = by_common(quadratic(kb, -common, b));
                Losses { to_straight: negated(to_common), to_branch: difference(to_branch, to_common) }
            }
            (true, false, true) => {
                // Air comes in by the common leg and the branch and leaves by the straight leg.
                let (kc, kb) = self.converging(turned);
                let from_common = by_common_in(quadratic(kc, common, -b));
                let from_branch = by_common_in(quadratic(kb, common, -b));
                Losses { to_straight: from_common, to_branch: difference(from_common, from_branch) }
            }
            (false, true, true) => {
                // Common and straight leg bring air that leaves by the branch.
                let from_common = self.symmetric_converging(common, b);
                let from_straight = self.symmetric_converging(-s, b);
                let from_common = (from_common.0, from_common.1, from_common.1 + from_common.2);
                let from_straight = (from_straight.0, -from_straight.1, from_straight.2);
                Losses { to_straight: difference(from_common, from_straight), to_branch: from_common }
            }
            (true, false, false) => {
                // The branch brings air that leaves by the common and the straight leg.
                let to_common = self.symmetric_diverging(-common, b);
                let to_straight = self.symmetric_diverging(s, b);
                let to_common = (to_common.0, -to_common.1, -to_common.1 + to_common.2);
                Losses { to_straight: difference(to_straight, to_common), to_branch: negated(to_common) }
            }
        }
    }

    /// Side leg `side` brings air into the branch that carries `b`: ζQ² by (side, b) (Idelchik 7-29).
    fn symmetric_converging(&self, side: f64, b: f64) -> Form {
        let n = self.area_ratio * self.area_ratio;
        // 1 + n + 3n(q² − q) on the branch's velocity pressure, brought to the run's: divided by n.
        quadratic([3.0, 1.0 + 1.0 / n, -3.0], side, b)
    }

    /// The branch that carries `b` blows into side leg `side`: ζQ² by (side, b) (Idelchik 7-29, k = 1.5).
    fn symmetric_diverging(&self, side: f64, b: f64) -> Form {
        quadratic([1.5, 1.0 / (self.area_ratio * self.area_ratio), 0.0], side, b)
    }
}

/// Converging coefficients (straight, branch) of the handbook tables on the common velocity pressure.
///
/// q the branch's share of flow, a its share of area, α the angle (Idelchik, 3rd ed., tables 7-1 and
/// 7-2): ζ_b = A·[1 + (q/a)² − 2(1−q)² − (2/a)·q²·cos α], ζ_st = 1 − (1−q)² − (1.4−q)·q²·sin α −
/// 2K·(q/a)·cos α with stepwise A and K. **Breaks the second law**: the flow-weighted loss reaches
/// −0.047 at 30°, a = 0.5, q = 0.17. For comparison only.
pub fn idelchik_converging(share: f64, area_ratio: f64, angle_deg: f64) -> (f64, f64) {
    let (q, a, radians) = (share, area_ratio, angle_deg.to_radians());
    let (c, v) = (cos(radians), q / a);
    let small = a <= 0.35;
    let factor = if small {
        1.0
    } else if q <= 0.4 {
        0.9 * (1.0 - q)
    } else {
        0.55
    };
    let branch = factor * (1.0 + v * v - 2.0 * (1.0 - q) * (1.0 - q) - 2.0 / a * q * q * c);
    let k = if small || q > 0.6 { 0.8 * q } else { 0.5 };
    let straight = 1.0 - (1.0 - q) * (1.0 - q) - (1.4 - q) * q * q * sin(radians) - 2.0 * k * v * c;
    (straight, branch)
}

fn negated(form: Form) -> Form {
    (-form.0, -form.1, -form.2)
}

fn difference(a: Form, b: Form) -> Form {
    (a.0 - b.0, a.1 - b.1, a.2 - b.2)
}

/// Derivatives by (−common, b) turned into derivatives by (straight, branch).
fn by_common((value, by_c, by_b): Form) -> Form {
    (value, -by_c, by_b - by_c)
}

/// Derivatives by (common, −b) turned into derivatives by (straight, branch).
fn by_common_in((value, by_c, by_b): Form) -> Form {
    (value, by_c, by_c - by_b)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHAPES: [f64; 4] = [0.1, 0.35, 0.7, 1.0];
    const ANGLES: [f64; 4] = [30.0, 45.0, 60.0, 90.0];

    #[test]
    fn known_values_of_a_sharp_square_tee() {
        let shape = Shape { common_area_m2: 1.0, area_ratio: 1.0, angle_deg: 90.0 };
        let all_branch = shape.losses(0.0, 1.0);
        assert!((all_branch.to_branch.0 - 1.30).abs() < 1e-12);
        assert!((all_branch.to_straight.0 - 0.35).abs() < 1e-12);
        assert!((shape.losses(1.0, 0.0).to_branch.0 - 0.95).abs() < 1e-12);
    }

    #[test]
    fn never_gives_energy_away() {
        for area_ratio in SHAPES {
            for angle_deg in ANGLES {
                let shape = Shape { common_area_m2: 1.0, area_ratio, angle_deg };
                for k in 0..7_200 {
                    let phase = f64::from(k).to_radians() / 20.0;
                    let (s, b) = (cos(phase), sin(phase));
                    let losses = shape.losses(s, b);
                    // Total pressure lost × flow, all legs: Σ flow·(p_common − p_leg).
                    let lost = s * losses.to_straight.0 + b * losses.to_branch.0;
                    assert!(lost >= -1e-12, "{area_ratio} {angle_deg} {s} {b}: {lost}");
                }
            }
        }
    }

    #[test]
    fn gradient_is_the_derivative() {
        let shape = Shape { common_area_m2: 1.0, area_ratio: 0.6, angle_deg: 60.0 };
        let apart = [(1.0, 0.4), (-1.0, -0.4), (-1.0, 0.4), (1.0, -0.4), (-0.4, 1.0), (0.4, -1.0)];
        let nearly_at_rest =
            [(1.0, 0.01), (1.0, -0.02), (0.01, 1.0), (-0.03, -1.0), (1.0, -1.02), (-1.0, 0.98)];
        for (s, b) in apart.into_iter().chain(nearly_at_rest) {
            let h = 1e-6;
            let exact = shape.losses(s, b);
            let by_s = (shape.losses(s + h, b), shape.losses(s - h, b));
            let by_b = (shape.losses(s, b + h), shape.losses(s, b - h));
            let slope = |pair: (f64, f64)| (pair.0 - pair.1) / (2.0 * h);
            for (got, want) in [
                (exact.to_straight.1, slope((by_s.0.to_straight.0, by_s.1.to_straight.0))),
                (exact.to_straight.2, slope((by_b.0.to_straight.0, by_b.1.to_straight.0))),
                (exact.to_branch.1, slope((by_s.0.to_branch.0, by_s.1.to_branch.0))),
                (exact.to_branch.2, slope((by_b.0.to_branch.0, by_b.1.to_branch.0))),
            ] {
                assert!((got - want).abs() < 1e-6, "{s} {b}: {got} {want}");
            }
        }
    }

    #[test]
    fn losses_are_continuous_at_every_reversal() {
        let shape = Shape { common_area_m2: 1.0, area_ratio: 0.6, angle_deg: 60.0 };
        for edge in [0.0_f64, 90.0, 135.0, 180.0, 270.0, 315.0] {
            for offset in [-1.0, 0.0, 1.0] {
                // The pattern's own edge and both ends of the blend.
                let angle = |degrees: f64| (cos(degrees.to_radians()), sin(degrees.to_radians()));
                let at = edge + offset * 2.8;
                let (one, two) = (angle(at - 1e-7), angle(at + 1e-7));
                let (below, above) = (shape.losses(one.0, one.1), shape.losses(two.0, two.1));
                assert!((below.to_straight.0 - above.to_straight.0).abs() < 1e-6, "{at}");
                assert!((below.to_branch.0 - above.to_branch.0).abs() < 1e-6, "{at}");
            }
        }
    }

    #[test]
    fn the_handbook_tables_break_the_second_law_and_are_named_for_it() {
        let lost = |q: f64| {
            let (straight, branch) = idelchik_converging(q, 0.5, 30.0);
            (1.0 - q) * straight + q * branch
        };
        assert!((lost(0.17) + 0.047).abs() < 0.002, "{}", lost(0.17));
    }
}
