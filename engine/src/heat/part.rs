//! The temperature of a part along its way: a lumped body, or conduction in one dimension where it is thick.

use super::convection::{cylinder, film, plate, radiation_w_m2k};
use crate::air::Air;
use crate::numerics::exp;
use crate::plan::{HungPart, Material, PartShape};

/// Below this Biot number a part has one temperature (Incropera & DeWitt, section 5.2).
pub const LUMPED_BIOT: f64 = 0.1;
/// Cells across half of a thick part.
const CELLS: usize = 12;
/// Real oven turbulence raises a plate's coefficient in a quiet stream 1.3 to 2 times (common practice, no
/// published source). Nothing is added on tubes and bars, whose wake is turbulent already.
pub const TURBULENCE: f64 = 1.5;

/// Metal that air heats, per square metre of its heated surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Volume over heated surface, m: half the thickness of a sheet heated from both sides.
    pub depth_m: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Specific heat, J/(kg·K).
    pub specific_heat_j_kgk: f64,
    /// Conductivity, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Emissivity of the surface.
    pub emissivity: f64,
    /// Length the flow runs along (plate) or diameter (cylinder), m.
    pub length_m: f64,
    /// A cylinder across the flow, else a plate along it.
    pub round: bool,
    /// A solid bar: inside it, heat runs along the radius.
    pub solid_bar: bool,
}

/// Density kg/m³, specific heat J/(kg·K) and conductivity W/(m·K) of a material at oven temperatures.
///
/// Steel 7850, 490 (mean of 20…200 °C of c = 425 + 0.773·t − 1.69·10⁻³·t² + 2.22·10⁻⁶·t³, EN 1993-1-2), 50; stainless
/// 7900, 510, 16; aluminium 2700, 920, 200 (from memory).
pub fn metal(material: Material) -> (f64, f64, f64) {
    match material {
        Material::Steel => (7_850.0, 490.0, 50.0),
        Material::StainlessSteel => (7_900.0, 510.0, 16.0),
        Material::Aluminium => (2_700.0, 920.0, 200.0),
        Material::Other { density_kg_m3, specific_heat_j_kgk, conductivity_w_mk } => {
            (density_kg_m3, specific_heat_j_kgk, conductivity_w_mk)
        }
    }
}

impl Body {
    /// The body a hung part stands for; an entered surface makes it as deep as its mass over that surface.
    pub fn of(part: &HungPart) -> Self {
        let (density_kg_m3, specific_heat_j_kgk, conductivity_w_mk) = metal(part.material);
        let (depth_m, length_m, round, solid_bar) = match part.shape {
            PartShape::Sheet { thickness_m } => (0.5 * thickness_m, part.height_m, false, false),
            PartShape::Bar { diameter_m } => (0.25 * diameter_m, diameter_m, true, true),
            PartShape::Tube { diameter_m, wall_m } => {
                // Wall area over circumference.
                (wall_m * (1.0 - wall_m / diameter_m), diameter_m, true, false)
            }
        };
        let entered = part.surface_m2_per_m.map(|surface| part.kg_per_m / (density_kg_m3 * surface));
        Self {
            depth_m: entered.unwrap_or(depth_m),
            density_kg_m3,
            specific_heat_j_kgk,
            conductivity_w_mk,
            emissivity: part.emissivity,
            length_m,
            round,
            solid_bar,
        }
    }

    /// Heat that one square metre of surface stores per kelvin, J/(m²·K).
    pub fn store_j_m2k(&self) -> f64 {
        self.density_kg_m3 * self.specific_heat_j_kgk * self.depth_m
    }

    /// Heat transfer by moving air and by radiation from walls of the air's temperature, W/(m²·K).
    ///
    /// h = Nu·k/L + h_rad, Nu of [`cylinder`], or [`TURBULENCE`] times that of [`plate`], at film temperature.
    pub fn coefficient_w_m2k(&self, air_c: f64, surface_c: f64, speed_m_s: f64, pressure_pa: f64) -> f64 {
        let (viscosity, conductivity, prandtl) = film(Air::at(0.5 * (air_c + surface_c), pressure_pa, 0.0));
        let reynolds = speed_m_s.abs() * self.length_m / viscosity;
        let nusselt =
            if self.round { cylinder(reynolds, prandtl) } else { TURBULENCE * plate(reynolds, prandtl) };
        nusselt * conductivity / self.length_m + radiation_w_m2k(self.emissivity, surface_c, air_c)
    }

    /// Biot number h·L/k with L the volume over the surface.
    pub fn biot(&self, coefficient_w_m2k: f64) -> f64 {
        coefficient_w_m2k * self.depth_m / self.conductivity_w_mk
    }
}

/// A body with its present temperatures: one cell when lumped, else cells from the middle to the skin.
#[derive(Clone, Debug, PartialEq)]
pub struct Heated {
    body: Body,
    cells_c: Vec<f64>,
}

impl Heated {
    /// `body` all at `start_c`; thick when its Biot number at `coefficient_w_m2k` reaches [`LUMPED_BIOT`].
    pub fn new(body: Body, start_c: f64, coefficient_w_m2k: f64) -> Self {
        let thick = body.biot(coefficient_w_m2k) >= LUMPED_BIOT;
        Self { body, cells_c: vec![start_c; if thick { CELLS } else { 1 }] }
    }

    /// Whether conduction inside is followed.
    pub fn thick(&self) -> bool {
        self.cells_c.len() > 1
    }

    /// Mean temperature, °C.
    pub fn mean_c(&self) -> f64 {
        let volumes = self.volumes();
        self.cells_c.iter().zip(&volumes).map(|(t, v)| t * v).sum::<f64>() / volumes.iter().sum::<f64>()
    }

    /// Temperature of the outermost and of the innermost metal, °C.
    pub fn skin_and_core_c(&self) -> (f64, f64) {
        (self.cells_c[self.cells_c.len() - 1], self.cells_c[0])
    }

    /// Relative volume of each cell.
    fn volumes(&self) -> Vec<f64> {
        let n = self.cells_c.len();
        (0..n)
            .map(|i| if self.body.solid_bar && n > 1 { (2 * i + 1) as f64 / (2 * n) as f64 } else { 1.0 })
            .collect()
    }

    /// Moves on by `seconds` in air of `air_c` with `coefficient_w_m2k`; returns the heat taken, J per m² of surface.
    ///
    /// Lumped: T = T_air − (T_air − T)·exp(−h·t/(ρ·c·L)). Thick: finite volumes with the trapezoidal rule
    /// (Crank & Nicolson 1947), heat flowing square to the skin, or along the radius of a solid bar.
    pub fn step(&mut self, air_c: f64, coefficient_w_m2k: f64, seconds: f64) -> f64 {
        let before = self.mean_c();
        let store = self.body.store_j_m2k();
        if !self.thick() {
            let keep = exp(-coefficient_w_m2k * seconds / store);
            self.cells_c[0] = air_c - (air_c - self.cells_c[0]) * keep;
        } else {
            self.conduct(air_c, coefficient_w_m2k, seconds);
        }
        store * (self.mean_c() - before)
    }

    fn conduct(&mut self, air_c: f64, coefficient_w_m2k: f64, seconds: f64) {
        let n = self.cells_c.len();
        let body = &self.body;
        // A bar's radius is twice its volume over its surface.
        let reach = if body.solid_bar { 2.0 * body.depth_m } else { body.depth_m };
        let width = reach / n as f64;
        let face = |i: usize| if body.solid_bar { (i + 1) as f64 / n as f64 } else { 1.0 };
        let volumes = self.volumes();
        let capacity: Vec<f64> = volumes
            .iter()
            .map(|v| v * width * body.density_kg_m3 * body.specific_heat_j_kgk / seconds)
            .collect();
        let between: Vec<f64> = (0..n - 1).map(|i| face(i) * body.conductivity_w_mk / width).collect();
        let skin = 1.0 / (1.0 / coefficient_w_m2k + 0.5 * width / body.conductivity_w_mk);
        let t = &self.cells_c;
        let flux = |i: usize| between[i] * (t[i + 1] - t[i]);
        // (C + K/2)·T' = (C − K/2)·T + boundary.
        let (mut diagonal, mut right) = (vec![0.0; n], vec![0.0; n]);
        for i in 0..n {
            let below = if i > 0 { between[i - 1] } else { 0.0 };
            let above = if i + 1 < n { between[i] } else { skin };
            diagonal[i] = capacity[i] + 0.5 * (below + above);
            right[i] = capacity[i] * t[i];
            if i > 0 {
                right[i] -= 0.5 * flux(i - 1);
            }
            right[i] += if i + 1 < n { 0.5 * flux(i) } else { skin * (air_c - 0.5 * t[i]) };
        }
        for i in 1..n {
            let ratio = -0.5 * between[i - 1] / diagonal[i - 1];
            diagonal[i] += 0.5 * between[i - 1] * ratio;
            right[i] -= ratio * right[i - 1];
        }
        let mut above = 0.0;
        for i in (0..n).rev() {
            let coupled = if i + 1 < n { 0.5 * between[i] * above } else { 0.0 };
            above = (right[i] + coupled) / diagonal[i];
            self.cells_c[i] = above;
        }
    }
}

/// How much of its cure a coating gets: the supplier's equal schedules as points of rising temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    points: Vec<(f64, f64)>,
}

impl Schedule {
    /// From pairs of metal temperature, °C, and time, s; `None` without a usable pair.
    pub fn new(points: impl IntoIterator<Item = (f64, f64)>) -> Option<Self> {
        let mut points: Vec<(f64, f64)> =
            points.into_iter().filter(|(c, s)| c.is_finite() && s.is_finite() && *s > 0.0).collect();
        crate::numerics::sort_short(&mut points, |a, b| a.0.total_cmp(&b.0));
        points.dedup_by(|a, b| a.0 == b.0);
        (!points.is_empty()).then_some(Self { points })
    }

    /// Lowest temperature of the schedule, °C: below it nothing counts as curing.
    pub fn least_c(&self) -> f64 {
        self.points[0].0
    }

    /// Highest temperature of the schedule, °C.
    pub fn most_c(&self) -> f64 {
        self.points[self.points.len() - 1].0
    }

    /// Time needed at a metal temperature, s; `None` below the table.
    ///
    /// ln t is interpolated linearly in T; above the table its shortest time holds. A supplier's table is used
    /// as printed and never extrapolated (common practice).
    ///
    /// ```
    /// let schedule = engine::heat::part::Schedule::new([(190.0, 720.0), (210.0, 480.0)]).unwrap();
    /// // Halfway: the geometric mean of 12 and 8 min, 9.80 min.
    /// assert!((schedule.seconds_at(200.0).unwrap() - 587.9).abs() < 0.1);
    /// assert_eq!(schedule.seconds_at(189.0), None);
    /// ```
    pub fn seconds_at(&self, metal_c: f64) -> Option<f64> {
        if metal_c < self.least_c() {
            return None;
        }
        let above = self.points.iter().position(|point| point.0 > metal_c);
        let Some(above) = above else { return self.points.last().map(|point| point.1) };
        let ((c0, s0), (c1, s1)) = (self.points[above - 1], self.points[above]);
        Some(s0 * crate::numerics::pow(s1 / s0, (metal_c - c0) / (c1 - c0)))
    }

    /// Share of the cure got per second at a metal temperature, 1/s.
    pub fn rate(&self, metal_c: f64) -> f64 {
        self.seconds_at(metal_c).map_or(0.0, |seconds| 1.0 / seconds)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steel(depth_m: f64, solid_bar: bool) -> Body {
        Body {
            depth_m,
            density_kg_m3: 7_850.0,
            specific_heat_j_kgk: 490.0,
            conductivity_w_mk: 20.0,
            emissivity: 0.9,
            length_m: 0.3,
            round: false,
            solid_bar,
        }
    }

    /// One term of the plane-wall series, Fo > 0.2 (Incropera & DeWitt, eq. 5.43).
    fn wall_series(bi: f64, fo: f64) -> (f64, f64) {
        let (mut low, mut high) = (1e-9, core::f64::consts::FRAC_PI_2 - 1e-9);
        for _ in 0..200 {
            let mid = 0.5 * (low + high);
            if mid * crate::numerics::tan(mid) > bi { high = mid } else { low = mid }
        }
        let z = low;
        let sin = crate::numerics::sin(z);
        let a = 4.0 * sin / (2.0 * z + crate::numerics::sin(2.0 * z));
        let centre = a * exp(-z * z * fo);
        (centre, centre * sin / z)
    }

    #[test]
    fn conduction_follows_the_series_of_a_plane_wall() {
        let body = steel(0.05, false);
        for h in [100.0, 400.0] {
            let mut wall = Heated::new(body, 20.0, h);
            assert!(wall.thick());
            let mut heat = 0.0;
            for _ in 0..400 {
                heat += wall.step(200.0, h, 3.0);
            }
            let diffusivity = 20.0 / (7_850.0 * 490.0);
            let (centre, mean) = wall_series(h * 0.05 / 20.0, diffusivity * 1_200.0 / (0.05 * 0.05));
            // The innermost cell's middle lies a 24th of the depth off the centre.
            let theta = |c: f64| (c - 200.0) / (20.0 - 200.0);
            assert!((theta(wall.skin_and_core_c().1) - centre).abs() < 3e-3, "{h}");
            assert!((theta(wall.mean_c()) - mean).abs() < 1e-3, "{h} {} {mean}", theta(wall.mean_c()));
            assert!((heat / body.store_j_m2k() - (wall.mean_c() - 20.0)).abs() < 1e-9);
        }
    }

    #[test]
    fn a_solid_bar_warms_like_its_volume_over_surface_when_it_conducts_well() {
        let body = Body { conductivity_w_mk: 2_000.0, ..steel(0.02, true) };
        let mut thick = Heated { body, cells_c: vec![20.0; CELLS] };
        let mut lumped = Heated { body, cells_c: vec![20.0] };
        for _ in 0..300 {
            thick.step(200.0, 50.0, 2.0);
            lumped.step(200.0, 50.0, 2.0);
        }
        assert!((thick.mean_c() - lumped.mean_c()).abs() < 0.1);
    }
}
