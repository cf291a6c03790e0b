//! One slot's jet and how jets merge.

use crate::numerics::{exp, pow};
use core::f64::consts::PI;

/// Spread of a jet's momentum across a slot: with it the plane jet decays as published, see [`Jet`].
const SPREAD_ACROSS: f64 = 0.092_112_585;
/// The same along the slot: with both the far jet decays as the round one does.
const SPREAD_ALONG: f64 = 0.068_381_707;
/// Standard gravity, m/s².
pub(super) const GRAVITY_M_S2: f64 = 9.806_65;

/// A place or a direction, m or 1: x and y as on the floor plan, z up.
pub type Vector = [f64; 3];

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The jet of one slot.
///
/// Its momentum spreads as heat does (Reichardt 1941, inductive theory of turbulence; superposition of
/// parallel jets by adding u²): with s the distance along the axis, y across the slot, l along it,
/// u² = (ρ_j/ρ_a)·U₀²·b/(√π·c·s)·exp(−(y/(c·s))²)·½·[erf((l + L/2)/(c′s)) − erf((l − L/2)/(c′s))].
/// U₀ m/s velocity of the contracted jet, b = Cd·width m its thickness, L m the slot's length, ρ_j and ρ_a
/// kg/m³ densities of jet and surroundings. c = 0.0921 gives the plane jet's U_m/U₀ = 3.50·√(b/2/s)
/// (Rajaratnam 1976, Turbulent Jets, from memory), c′ = 0.0684 with c the round jet's 6.3·d/s far away (same
/// source); the change from one to the other is gradual, half done at 8 lengths. Measured slots with sharp
/// ends turn sooner, from 2 to 3 lengths: beyond that the speed is on the high side. Within the core, some
/// 6 b, the speed is U₀. Physical band ±10 % alone, ±30 % in a box whose walls turn the air round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jet {
    /// Middle of the slot.
    pub from: Vector,
    /// Unit direction of the axis, lean included.
    pub axis: Vector,
    /// Unit direction of the slot's long side, square to the axis.
    pub along: Vector,
    /// Length of the slot, m.
    pub length_m: f64,
    /// Thickness of the contracted jet, m.
    pub thickness_m: f64,
    /// Velocity of the contracted jet, m/s.
    pub velocity_m_s: f64,
    /// Density of the jet over that of its surroundings.
    pub density_ratio: f64,
    /// Buoyant acceleration g·(T_j − T_a)/T_a, m/s².
    pub buoyancy_m_s2: f64,
}

impl Jet {
    /// Velocity on the axis of the plane jet, buoyancy left out, m/s: U₀·√(ρ_j/ρ_a)·2.475·√(b/s), at most U₀.
    ///
    /// ```
    /// # use engine::coverage::Jet;
    /// let jet = Jet { from: [0.0; 3], axis: [0.0, 0.0, 1.0], along: [1.0, 0.0, 0.0], length_m: 100.0,
    ///     thickness_m: 0.01, velocity_m_s: 15.0, density_ratio: 1.0, buoyancy_m_s2: 0.0 };
    /// assert!((jet.plane_m_s(0.5) - 5.25).abs() < 0.002);
    /// ```
    pub fn plane_m_s(&self, s_m: f64) -> f64 {
        let square = self.density_ratio * self.thickness_m / (PI.sqrt() * SPREAD_ACROSS * s_m.max(1e-9));
        self.velocity_m_s * square.min(1.0).sqrt()
    }

    /// Air carried by the plane jet over what left the slot: Q/Q₀ = 0.44·√(s/(b/2)) (Rajaratnam 1976, from
    /// memory), at least 1.
    pub fn entrained(&self, s_m: f64) -> f64 {
        (0.44 * (2.0 * s_m / self.thickness_m).sqrt()).max(1.0)
    }

    /// Archimedes number Ar = g·b·(T_j − T_a)/(T_a·U₀²).
    pub fn archimedes(&self) -> f64 {
        self.buoyancy_m_s2 * self.thickness_m / (self.velocity_m_s * self.velocity_m_s)
    }

    /// Buoyancy flux of a unit length over surrounding density, m³/s³.
    fn buoyancy_flux(&self) -> f64 {
        self.buoyancy_m_s2 * self.density_ratio * self.velocity_m_s * self.thickness_m
    }

    /// Distance at which buoyancy has made as much momentum as the slot, m: M/|B|^⅔ (List 1982).
    pub fn momentum_length_m(&self) -> f64 {
        let momentum = self.density_ratio * self.velocity_m_s * self.velocity_m_s * self.thickness_m;
        momentum / pow(self.buoyancy_flux().abs(), 2.0 / 3.0)
    }

    /// Factor on speed by buoyancy at distance `s_m` of a jet that rises: (1 + 1.66³·B/U³)^⅓ joins the jet U
    /// near the slot with the plane plume U = 1.66·B^⅓ far from it (List 1982; the joint is ours). Below 1
    /// where the jet is colder than its surroundings. A jet from a side wall is left at 1; it bends, see
    /// [`Self::rise_m`].
    fn lift(&self, s_m: f64) -> f64 {
        let rise = self.axis[2];
        if rise < 0.5 || self.buoyancy_m_s2 == 0.0 {
            return 1.0;
        }
        let u = self.plane_m_s(s_m).max(1e-6);
        let gained = 1.66 * 1.66 * 1.66 * self.buoyancy_flux() / (u * u * u);
        pow((1.0 + gained).max(0.0), 1.0 / 3.0)
    }

    /// How far buoyancy has lifted the axis of a jet from a side wall at distance `s_m`, m; it falls where it is colder.
    ///
    /// z/b = 0.62·(4/15)·Ar·(s/b)^2.5 with Ar of [`Self::archimedes`]: the axis turns as buoyancy adds upward momentum to
    /// the momentum of the slot, which is kept; a slice of jet holds it for s over its mean speed, M/(ρ·Q), with the air
    /// taken up Q/Q₀ = 0.62·√(s/b) (Rajaratnam 1976). Derived here; no published trajectory was at hand. Range: slope
    /// dz/ds below 1, held there; 0 for jets that rise more steeply than 30°.
    pub fn rise_m(&self, s_m: f64) -> f64 {
        if self.buoyancy_m_s2 == 0.0 || self.axis[2].abs() >= 0.5 {
            return 0.0;
        }
        let b = self.thickness_m;
        let at = |s: f64| 0.62 * (4.0 / 15.0) * self.archimedes() * b * pow(s / b, 2.5);
        // Slope 1 is reached where 2.5·z = s.
        let steep = pow(2.5 * at(1.0).abs(), -1.0 / 1.5);
        if s_m <= steep {
            at(s_m)
        } else {
            at(steep) + (s_m - steep).copysign(self.buoyancy_m_s2) * 1.0_f64.copysign(s_m)
        }
    }

    /// Corners of what it reaches at a height, as seen from above: nothing of it lies outside.
    pub(super) fn reach_at(&self, height_m: f64) -> ([f64; 2], [f64; 2]) {
        let rise = self.axis[2];
        let steep = (1.0 - rise * rise).max(0.0).sqrt();
        // The jet at s lies within half a slot and k·s of its axis.
        let k = 4.0 * (SPREAD_ACROSS * SPREAD_ACROSS + SPREAD_ALONG * SPREAD_ALONG).sqrt();
        let (up, half) = (height_m - self.from[2], 0.5 * self.length_m);
        if rise - k * steep < 0.1 || rise < 0.5 {
            return ([f64::NEG_INFINITY; 2], [f64::INFINITY; 2]);
        }
        let far = (up + half * steep) / (rise - k * steep);
        if far <= 0.0 {
            // It blows up from above that height.
            return ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        }
        let near = ((up - half * steep) / (rise + k * steep)).max(0.0);
        let wide = half + k * far;
        let ends = |i: usize| [near * self.axis[i], far * self.axis[i]].map(|x| self.from[i] + x);
        let low = |i: usize| ends(i)[0].min(ends(i)[1]) - wide;
        let high = |i: usize| ends(i)[0].max(ends(i)[1]) + wide;
        ([low(0), low(1)], [high(0), high(1)])
    }

    /// Its share of u² at a place, (m/s)².
    pub fn square_at(&self, place: Vector) -> f64 {
        let mut to = [place[0] - self.from[0], place[1] - self.from[1], place[2] - self.from[2]];
        let s = dot(to, self.axis);
        if s <= 0.0 {
            return 0.0;
        }
        to[2] -= self.rise_m(s);
        let s = dot(to, self.axis).max(1e-9);
        let l = dot(to, self.along);
        let (across, along) = (SPREAD_ACROSS * s, SPREAD_ALONG * s);
        let y_square = (dot(to, to) - s * s - l * l).max(0.0);
        let half = 0.5 * self.length_m;
        // Four spreads out, nothing is left: exp(−16).
        if y_square > 16.0 * across * across || l.abs() - half > 4.0 * along {
            return 0.0;
        }
        let ends = 0.5 * (libm::erf((l + half) / along) - libm::erf((l - half) / along));
        let u = self.plane_m_s(s) * self.lift(s);
        u * u * exp(-y_square / (across * across)) * ends
    }
}

/// Air velocity at a place in the stream of several jets, m/s: along the sum of their momenta, its size the
/// root of that sum's size, so that parallel jets add u² and opposed ones stop each other.
pub fn velocity_at<'a>(jets: impl Iterator<Item = &'a Jet>, place: Vector) -> Vector {
    let mut sum = [0.0; 3];
    for jet in jets {
        let square = jet.square_at(place);
        if square > 0.0 {
            (0..3).for_each(|k| sum[k] += square * jet.axis[k]);
        }
    }
    velocity_of(sum)
}

/// Velocity whose square, along its own direction, is `sum`.
pub(super) fn velocity_of(sum: Vector) -> Vector {
    let speed = size(sum).sqrt();
    if speed > 0.0 { sum.map(|x| x / speed) } else { sum }
}

/// Length of a vector.
pub(super) fn size(v: Vector) -> f64 {
    dot(v, v).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn speed_at<'a>(jets: impl Iterator<Item = &'a Jet>, place: Vector) -> f64 {
        size(velocity_at(jets, place))
    }

    fn jet(length_m: f64) -> Jet {
        Jet {
            from: [0.0; 3],
            axis: [0.0, 0.0, 1.0],
            along: [1.0, 0.0, 0.0],
            length_m,
            thickness_m: 0.01,
            velocity_m_s: 15.0,
            density_ratio: 1.0,
            buoyancy_m_s2: 0.0,
        }
    }

    #[test]
    fn a_long_slot_is_plane_and_a_short_one_round() {
        let plane = speed_at([jet(100.0)].iter(), [0.0, 0.0, 1.0]);
        assert!((plane - 3.7123).abs() < 1e-3, "{plane}");
        // A square hole of 0.01 m has the area of a round one of 0.01128 m.
        let short = speed_at([jet(0.01)].iter(), [0.0, 0.0, 1.0]);
        assert!((short / (6.3 * 15.0 * 0.011_284) - 1.0).abs() < 2e-3, "{short}");
    }

    #[test]
    fn momentum_is_kept_at_every_distance() {
        let one = jet(0.3);
        for z in [0.5, 1.0, 3.0] {
            let step = 0.01;
            let sum: f64 = (-200..=200)
                .flat_map(|i| (-200..=200).map(move |j| (f64::from(i) * step, f64::from(j) * step)))
                .map(|(x, y)| one.square_at([x, y, z]) * step * step)
                .sum();
            assert!((sum / (15.0 * 15.0 * 0.01 * 0.3) - 1.0).abs() < 0.01, "{z} {sum}");
        }
    }

    #[test]
    fn parallel_jets_merge_and_opposed_ones_stop_each_other() {
        let twins = [jet(0.3), Jet { from: [0.0, 0.05, 0.0], ..jet(0.3) }];
        let far = [0.0, 0.025, 4.0];
        let (one, two) = (speed_at(twins[..1].iter(), far), speed_at(twins.iter(), far));
        assert!((two / one - 2.0_f64.sqrt()).abs() < 1e-3);
        let against = Jet { from: [0.0, 0.0, 2.0], axis: [0.0, 0.0, -1.0], ..jet(0.3) };
        assert!(speed_at([jet(0.3), against].iter(), [0.0, 0.0, 1.0]) < 1e-9);
    }

    #[test]
    fn hot_jets_gain_and_cold_jets_lose() {
        let lifted = |buoyancy_m_s2: f64| {
            speed_at([Jet { buoyancy_m_s2, velocity_m_s: 5.0, ..jet(100.0) }].iter(), [0.0, 0.0, 3.0])
        };
        assert!(lifted(0.8) > 1.02 * lifted(0.0) && lifted(-0.8) < lifted(0.0));
        // Far away it is the plume's speed, whatever left the slot.
        let slow = Jet { velocity_m_s: 1.0, buoyancy_m_s2: 0.8, ..jet(1e4) };
        let plume = 1.66 * pow(slow.buoyancy_flux(), 1.0 / 3.0);
        assert!((speed_at([slow].iter(), [0.0, 0.0, 500.0]) / plume - 1.0).abs() < 0.01);
    }
}
