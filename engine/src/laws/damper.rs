//! Blade dampers in ducts: how much of the open flow is left at a given travel.

use crate::numerics::{exp, ln};

/// How the blades turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Blades {
    /// Neighbours turn against each other.
    Opposed,
    /// All turn the same way; also a single blade.
    Parallel,
}

impl Blades {
    /// ζ fully open; middle of the published 0.2…0.5.
    pub fn open_loss(self) -> f64 {
        0.35
    }

    /// Slope of ln ζ, per degree, and the range of angles it holds in.
    fn exponential(self) -> (f64, f64, f64) {
        match self {
            Self::Opposed => (0.105, 35.0, 75.0),
            Self::Parallel => (0.0842, 25.0, 75.0),
        }
    }

    /// Loss coefficient on the duct's velocity pressure at closing angle `degrees` from fully open.
    ///
    /// ln ζ = −1.51 + b·θ; opposed b = 0.105 for 35…75°, parallel or single b = 0.0842 for 25…75°
    /// (ASHRAE 825-RP as used in open building-simulation libraries; log-linear after Legg 1986).
    /// Below, a parabola in ln ζ from the open value with equal slope; above, the line goes on and the
    /// free area closes smoothly to nothing at 90°.
    ///
    /// ```
    /// let zeta = engine::laws::damper::Blades::Opposed.loss(45.0);
    /// assert!((zeta - 24.9).abs() < 0.05);
    /// ```
    pub fn loss(self, degrees: f64) -> f64 {
        let (b, low, _) = self.exponential();
        let line = |angle: f64| -1.51 + b * angle;
        if degrees >= low {
            return exp(line(degrees));
        }
        let start = ln(self.open_loss());
        // start + c1·θ + c2·θ² meets the line at `low` in value and slope.
        let rise = line(low) - start;
        let c2 = (b * low - rise) / (low * low);
        let c1 = b - 2.0 * c2 * low;
        exp(start + degrees * (c1 + c2 * degrees))
    }

    /// Flow at travel `open_percent` over flow fully open at the same pressure difference, leakage included.
    ///
    /// λ + (1 − λ)·√(ζ_open/ζ), λ the leakage share; 0 shut, 100 open.
    pub fn flow_fraction(self, open_percent: f64, leakage_percent: f64) -> f64 {
        let angle = 90.0 * (1.0 - open_percent.clamp(0.0, 100.0) / 100.0);
        let (_, _, high) = self.exponential();
        let t = ((90.0 - angle) / (90.0 - high)).clamp(0.0, 1.0);
        let closing = t * t * (3.0 - 2.0 * t);
        let leakage = leakage_percent / 100.0;
        leakage + (1.0 - leakage) * closing * (self.open_loss() / self.loss(angle)).sqrt()
    }
}

/// Authority of a damper: its pressure drop fully open over the drop of the whole path **with** it.
///
/// N = Δp_damper,open/Δp_path. Some texts divide by the rest of the path; this definition, between 0
/// and 1, is the one used here.
pub fn authority(open_drop_pa: f64, path_drop_pa: f64) -> f64 {
    open_drop_pa / path_drop_pa
}

/// Installed characteristic: flow over greatest flow at a free-flow fraction φ of the damper alone,
/// when the path's ends keep their pressures: 1/√(1 − N + N/φ²).
///
/// ```
/// assert!((engine::laws::damper::installed_fraction(0.25, 0.1) - 0.632).abs() < 0.001);
/// assert!((engine::laws::damper::installed_fraction(0.25, 0.5) - 0.343).abs() < 0.001);
/// ```
pub fn installed_fraction(free_fraction: f64, authority: f64) -> f64 {
    1.0 / (1.0 - authority + authority / (free_fraction * free_fraction)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flow_rises_with_travel_from_leakage_to_all() {
        for blades in [Blades::Opposed, Blades::Parallel] {
            let mut last = blades.flow_fraction(0.0, 1.0);
            assert!((last - 0.01).abs() < 1e-12);
            for percent in 1..=100 {
                let now = blades.flow_fraction(f64::from(percent), 1.0);
                assert!(now > last, "{percent} {now} {last}");
                last = now;
            }
            assert!((last - 1.0).abs() < 1e-12);
        }
    }
}
