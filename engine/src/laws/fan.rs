//! Fans by points of the maker's curve, scaled by speed and density.

use super::{Residual, Seen};
use crate::numerics::Pchip;

/// A fan as it runs: its total-pressure curve with speed and density scaled.
///
/// Fan laws for one wheel: Q ∝ n, p ∝ ρ·n², P ∝ ρ·n³. Between points the curve is interpolated
/// shape-preserving, so a stall dip stays; beyond them it goes on straight and, towards negative flow,
/// never falls.
#[derive(Clone, Debug, PartialEq)]
pub struct FanCurve {
    total: Pchip,
    power: Option<Pchip>,
    curve_density: f64,
    speed_ratio: f64,
    efficiency: f64,
    /// Outlet area of the maker's data, m².
    pub outlet_area_m2: f64,
    left: (f64, f64),
    right: (f64, f64),
}

impl FanCurve {
    /// A fan from `points` of (flow m³/s, **total** pressure Pa) at `curve_density`, run at `speed_ratio`
    /// times the curve's speed. `None` for fewer than two points or flows not rising.
    pub fn new(points: &[(f64, f64)], curve_density: f64, speed_ratio: f64) -> Option<Self> {
        let total = Pchip::new(points)?;
        let (first, last) = (*points.first()?, *points.last()?);
        let mean_fall = ((first.1 - last.1) / (last.0 - first.0)).abs().max(1e-6);
        // Backward flow meets at least a tenth of the mean fall, overblown flow at least the mean fall.
        let left = (first.0, (-total.at(first.0).1).max(0.1 * mean_fall));
        let right = (last.0, (-total.at(last.0).1).max(mean_fall));
        Some(Self {
            total,
            power: None,
            curve_density,
            speed_ratio,
            efficiency: 0.6,
            outlet_area_m2: 1.0,
            left,
            right,
        })
    }

    /// Adds shaft power points (flow m³/s, W) at the curve's speed and density.
    #[must_use]
    pub fn with_power(mut self, points: &[(f64, f64)]) -> Self {
        self.power = Pchip::new(points);
        self
    }

    /// Sets the total efficiency used without power points, 0…1, and the outlet area, m².
    #[must_use]
    pub fn with_outlet(mut self, efficiency: f64, outlet_area_m2: f64) -> Self {
        (self.efficiency, self.outlet_area_m2) = (efficiency, outlet_area_m2);
        self
    }

    /// The same fan at another speed ratio.
    #[must_use]
    pub fn at_speed(&self, speed_ratio: f64) -> Self {
        Self { speed_ratio, ..self.clone() }
    }

    /// Speed over the curve's speed.
    pub fn speed_ratio(&self) -> f64 {
        self.speed_ratio
    }

    /// Density of the curve, kg/m³.
    pub fn curve_density_kg_m3(&self) -> f64 {
        self.curve_density
    }

    /// The total-pressure points of the curve (m³/s, Pa).
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.total.points()
    }

    /// Total pressure rise at volume flow `q` and its derivative by `q`.
    pub fn rise(&self, q: f64, density: f64) -> (f64, f64) {
        let s = self.speed_ratio;
        let scale = density / self.curve_density;
        if s <= 0.0 {
            // A stopped wheel only resists, as the curve does beyond its last point at unit speed.
            let c = scale * self.right.1;
            return (-c * q, -c);
        }
        let x = q / s;
        let (value, slope) = if x < self.left.0 {
            (self.total.at(self.left.0).0 + self.left.1 * (self.left.0 - x), -self.left.1)
        } else if x > self.right.0 {
            (self.total.at(self.right.0).0 - self.right.1 * (x - self.right.0), -self.right.1)
        } else {
            self.total.at(x)
        };
        (scale * s * s * value, scale * s * slope)
    }

    /// Shaft power at volume flow `q`, W: from the maker's points, else air power over efficiency.
    pub fn shaft_power_w(&self, q: f64, density: f64) -> f64 {
        let s = self.speed_ratio;
        match &self.power {
            Some(power) if s > 0.0 => power.at(q / s).0 * s * s * s * density / self.curve_density,
            _ => q * self.rise(q, density).0 / self.efficiency,
        }
    }

    /// Flow at the highest total pressure, m³/s. The interpolation has its peak at a data point.
    pub fn peak_flow_m3_s(&self) -> f64 {
        let peak =
            self.total.points().fold((0.0, f64::NEG_INFINITY), |best, p| if p.1 > best.1 { p } else { best });
        peak.0 * self.speed_ratio
    }

    /// Largest flow of the data at this speed, m³/s.
    pub fn last_flow_m3_s(&self) -> f64 {
        self.right.0 * self.speed_ratio
    }

    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let (rise, slope) = self.rise(seen.m / seen.density, seen.density);
        Residual::pressure_form(seen, -rise, -slope / seen.density)
    }
}
