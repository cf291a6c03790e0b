//! Fans by points of the maker's curve, scaled by speed and density.

use super::{Residual, Seen};
use crate::numerics::Pchip;

/// A fan as it runs: its total-pressure curve with speed and density scaled.
///
/// Fan laws for one wheel: Q ∝ n, p ∝ ρ·n², P ∝ ρ·n³. Between points the curve is interpolated
/// shape-preserving, so a stall dip stays; beyond them the slope bends smoothly to one that meets backward
/// flow with more pressure and overblown flow with less.
#[derive(Clone, Debug, PartialEq)]
pub struct FanCurve {
    total: Pchip,
    power: Option<Pchip>,
    curve_density: f64,
    speed_ratio: f64,
    efficiency: f64,
    /// Outlet area of the maker's data, m².
    pub outlet_area_m2: f64,
    /// First and last flow of the data, each with the slope the curve goes on with, Pa/(m³/s).
    left: (f64, f64),
    right: (f64, f64),
    /// Stretch over which the slope changes to that, m³/s.
    bend_m3_s: f64,
}

/// Goes on from `value` with `slope` for `distance`, the slope changing evenly to `target` over `stretch`.
fn bend(value: f64, slope: f64, target: f64, distance: f64, stretch: f64) -> (f64, f64) {
    let change = target - slope;
    if distance < stretch {
        let along = distance / stretch;
        (value + distance * (slope + 0.5 * change * along), slope + change * along)
    } else {
        (value + slope * stretch + 0.5 * change * stretch + target * (distance - stretch), target)
    }
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
            bend_m3_s: 0.1 * (last.0 - first.0),
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
            let (value, slope) = self.total.at(self.left.0);
            let (value, slope) = bend(value, -slope, self.left.1, self.left.0 - x, self.bend_m3_s);
            (value, -slope)
        } else if x > self.right.0 {
            let (value, slope) = self.total.at(self.right.0);
            bend(value, slope, -self.right.1, x - self.right.0, self.bend_m3_s)
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

    /// The last dip of the curve at this speed: flows where it begins to fall into it and where it has risen
    /// out of it, m³/s. None where the curve, once falling, goes on falling.
    ///
    /// Between them a system's parabola can cut the curve more than once.
    pub fn dip_m3_s(&self) -> Option<(f64, f64)> {
        let points: Vec<(f64, f64)> = self.total.points().collect();
        let bottom = (1..points.len().saturating_sub(1))
            .rev()
            .find(|&i| points[i].1 < points[i - 1].1 && points[i].1 < points[i + 1].1)?;
        let before = (0..bottom).rev().take_while(|&i| points[i].1 > points[i + 1].1).last()?;
        let after = (bottom + 1..points.len()).take_while(|&i| points[i].1 > points[i - 1].1).last()?;
        Some((points[before].0 * self.speed_ratio, points[after].0 * self.speed_ratio))
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

/// Fan speed of a belt drive: n = n_motor·(d_motor/d_fan)·(1 − slip), slip 0.005…0.02.
///
/// ```
/// let n = engine::laws::fan::belt_speed_rpm(1450.0, 0.160, 0.250, 0.01);
/// assert!((n - 918.7).abs() < 0.1);
/// ```
pub fn belt_speed_rpm(motor_rpm: f64, motor_pulley_m: f64, fan_pulley_m: f64, slip: f64) -> f64 {
    motor_rpm * motor_pulley_m / fan_pulley_m * (1.0 - slip)
}

/// Speed ratio at which a cold start takes no more shaft power than hot running: (ρ_hot/ρ_cold)^⅓.
///
/// From the fan laws, P ∝ ρ·n³, at an unchanged system.
///
/// ```
/// assert!((engine::laws::fan::cold_start_speed_ratio(0.74581, 1.20458) - 0.852).abs() < 0.001);
/// ```
pub fn cold_start_speed_ratio(hot_density: f64, cold_density: f64) -> f64 {
    crate::numerics::pow(hot_density / cold_density, 1.0 / 3.0)
}

/// Temperature rise of the air through a fan, K: Δp_t/(ρ·cp·η); a motor in the stream adds its losses.
///
/// ```
/// assert!((engine::laws::fan::temperature_rise_k(1500.0, 0.74581, 1025.0, 0.65) - 3.02).abs() < 0.01);
/// ```
pub fn temperature_rise_k(total_pressure_pa: f64, density: f64, cp_j_kgk: f64, efficiency: f64) -> f64 {
    total_pressure_pa / (density * cp_j_kgk * efficiency)
}

/// Constant C of a system-effect curve, Δp = C·q_v at the fan's outlet or inlet (AMCA 201; from memory).
///
/// Letters O (2.5) to X (0.1): a fan without outlet duct lies between P and U by its blast-area ratio.
pub fn system_effect(curve: char) -> Option<f64> {
    const CURVES: [(char, f64); 10] = [
        ('O', 2.5),
        ('P', 1.9),
        ('Q', 1.5),
        ('R', 1.2),
        ('S', 0.75),
        ('T', 0.50),
        ('U', 0.40),
        ('V', 0.25),
        ('W', 0.17),
        ('X', 0.10),
    ];
    CURVES.iter().find(|(letter, _)| *letter == curve.to_ascii_uppercase()).map(|(_, c)| *c)
}

/// Tolerances of a fan by grade, per cent: flow ±, pressure ±, power +, efficiency − points
/// (ISO 13348:2007; the grades exist in print, the numbers are from memory).
pub fn tolerance_percent(grade: u8) -> Option<[f64; 4]> {
    match grade {
        1 => Some([1.0, 1.0, 2.0, 1.0]),
        2 => Some([2.5, 2.5, 3.0, 2.0]),
        3 => Some([5.0, 5.0, 8.0, 5.0]),
        4 => Some([10.0, 10.0, 16.0, 12.0]),
        _ => None,
    }
}
