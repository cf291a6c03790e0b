//! The floor: what it loses to the ground, and how warm the concrete gets in days and in years.

use super::bays::floor_area_m2;
use super::convection::STEFAN_BOLTZMANN;
use super::envelope::{joint_conductivity_w_mk, mean_of, stone_wool_w_mk, web_resistance_mk_w};
use super::solve_dense;
use crate::air::{Air, STANDARD_PRESSURE_PA, ZERO_CELSIUS_K};
use crate::numerics::ln;
use crate::plan::geometry::distance_m;
use crate::plan::{FloorBuildUp, Plan};

/// Coefficient at the deck, W/(m²·K) (common practice).
const DECK_COEFFICIENT_W_M2K: f64 = 10.0;
/// Outside surface resistance of the ground path, m²·K/W (ISO 13370).
const GROUND_SURFACE_M2K_W: f64 = 0.04;
/// Thickness of the walls standing on the slab in ISO 13370's equivalent thickness, m.
const WALL_M: f64 = 0.3;
/// Free convection at each face of a gap with air led through it, W/(m²·K) (heat flowing down; common practice).
const GAP_CONVECTION_W_M2K: f64 = 3.0;
/// Emissivity of concrete.
const CONCRETE_EMISSIVITY: f64 = 0.9;
/// Specific heat of air in the gap, J/(kg·K), and its density, kg/m³.
const GAP_AIR: (f64, f64) = (1_006.0, 1.2);

/// Resistance of a still gap, heat flowing down: R = 1/(k/d + 4·E·σ·T_m³), E = 1/(1/ε₁ + 1/ε₂ − 1), m²·K/W.
///
/// k of air W/(m·K), d height m, T_m mean K. No convection, for warm air lies above cold. Source: conduction and
/// radiation between parallel planes (Incropera & DeWitt).
///
/// ```
/// let r = engine::heat::floor_slab::still_gap_m2k_w(0.05, 80.0, 60.0, 0.26, 0.9);
/// assert!((r - 0.344).abs() < 0.002);
/// ```
pub fn still_gap_m2k_w(height_m: f64, above_c: f64, below_c: f64, above: f64, below: f64) -> f64 {
    if height_m <= 0.0 {
        return 0.0;
    }
    let mean_c = 0.5 * (above_c + below_c);
    let air = Air::at(mean_c, STANDARD_PRESSURE_PA, 0.0).conductivity().value;
    1.0 / (air / height_m + gap_radiation_w_m2k(mean_c, above, below))
}

fn gap_radiation_w_m2k(mean_c: f64, above: f64, below: f64) -> f64 {
    let exchange = 1.0 / (1.0 / above.max(1e-3) + 1.0 / below.max(1e-3) - 1.0);
    let mean_k = mean_c + ZERO_CELSIUS_K;
    4.0 * exchange * STEFAN_BOLTZMANN * mean_k * mean_k * mean_k
}

/// Loss of an insulated floor on the ground per kelvin above the ground, with the ground itself in it.
///
/// B′ = A/(P/2); d_t = w + λ·ΣR; U = 2λ/(πB′ + d_t)·ln(πB′/d_t + 1) for d_t < B′, else λ/(0.457·B′ + d_t); W/(m²·K),
/// A floor m², P its perimeter m, w 0.3 m of wall, λ soil W/(m·K), ΣR resistances m²·K/W.
/// Source: ISO 13370, slab on ground (from memory).
pub fn ground_u_w_m2k(area_m2: f64, perimeter_m: f64, soil_w_mk: f64, resistance_m2k_w: f64) -> f64 {
    let breadth = area_m2 / (0.5 * perimeter_m).max(1e-6);
    let thick = WALL_M + soil_w_mk * resistance_m2k_w;
    if thick < breadth {
        let pi_breadth = core::f64::consts::PI * breadth;
        2.0 * soil_w_mk / (pi_breadth + thick) * ln(pi_breadth / thick + 1.0)
    } else {
        soil_w_mk / (0.457 * breadth + thick)
    }
}

/// The floor when everything has settled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SteadyFloor {
    /// Loss from the oven into the floor as a mean over its duty, W/m².
    pub flux_w_m2: f64,
    /// The same while the oven is hot, over ground that has settled at the mean, W/m².
    pub hot_flux_w_m2: f64,
    /// Top of the concrete, °C.
    pub slab_top_c: f64,
    /// What the air led through the gap carries off, W/m².
    pub carried_off_w_m2: f64,
    /// That air as it leaves, °C; plant air where none is led through.
    pub gap_air_out_c: f64,
    /// What flows into the ground, W/m².
    pub into_ground_w_m2: f64,
    /// Resistance between oven air and the top of the slab, m²·K/W.
    pub above_slab_m2k_w: f64,
    /// Resistance from the top of the slab to the ground, m²·K/W.
    pub below_slab_m2k_w: f64,
}

/// Everything about a floor's place that is not its build-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FloorPlace {
    /// Floor area, m².
    pub area_m2: f64,
    /// Its perimeter, m.
    pub perimeter_m: f64,
    /// Oven air above it, °C.
    pub inside_c: f64,
    /// Plant air, °C.
    pub ambient_c: f64,
}

impl FloorPlace {
    /// Below the whole box of a plan, with its air at `inside_c`.
    pub fn of(plan: &Plan, inside_c: f64) -> Self {
        let outline = &plan.enclosure.outline;
        let next = outline.iter().cycle().skip(1);
        Self {
            area_m2: floor_area_m2(outline),
            perimeter_m: outline.iter().zip(next).map(|(a, b)| distance_m(*a, *b)).sum(),
            inside_c,
            ambient_c: plan.site.ambient_c,
        }
    }
}

/// Deck, insulation and channels, m²·K/W, between oven air and the underside of the insulation.
fn insulation_m2k_w(floor: &FloorBuildUp, hot_c: f64, cold_c: f64) -> f64 {
    let wool = floor.insulation_m.max(0.0) / mean_of(&stone_wool_w_mk, hot_c, cold_c);
    let clear = 1.0 / DECK_COEFFICIENT_W_M2K + wool;
    let Some(channels) = floor.channels.filter(|channels| channels.pitch_m > 0.0) else { return clear };
    let deck =
        2.0 * (DECK_COEFFICIENT_W_M2K * joint_conductivity_w_mk(&channels) * floor.deck_m.max(1e-4)).sqrt();
    let psi = 1.0 / (1.0 / deck + web_resistance_mk_w(&channels, floor.insulation_m));
    1.0 / (1.0 / clear + psi / channels.pitch_m)
}

/// Loss and slab temperature when everything has settled, after a year or more.
///
/// Heat passes deck, insulation (with its channels beside it), gap and slab into the ground of ISO 13370. A ventilated
/// gap is a balance of three places, deck underside, air and slab, with free convection 3 W/(m²·K) at both faces
/// (common practice) and radiation across; its air is taken at the mean of in and out. The oven counts as hot for its
/// duty only: T = duty·T_i + (1 − duty)·T_a.
pub fn steady_floor(floor: &FloorBuildUp, place: &FloorPlace) -> SteadyFloor {
    let duty = 0.01 * floor.duty_percent.clamp(0.0, 100.0);
    let inside = duty * place.inside_c + (1.0 - duty) * place.ambient_c;
    let slab = floor.slab.thickness_m.max(0.0) / floor.slab.conductivity_w_mk.max(1e-3);
    let soil = floor.soil_conductivity_w_mk.max(1e-3);
    let (mut deck_c, mut slab_c) = (inside - 10.0, 0.5 * (inside + floor.ground_c));
    let mut found = None;
    let flow = floor.gap.map_or(0.0, |gap| gap.ventilation_m3_s.max(0.0));
    for _ in 0..60 {
        let upper = insulation_m2k_w(floor, inside.max(deck_c), deck_c);
        let still = floor.gap.map_or(0.0, |gap| {
            still_gap_m2k_w(gap.height_m, deck_c, slab_c, gap.upper_emissivity, CONCRETE_EMISSIVITY)
        });
        let above = upper + still;
        let total = above + slab + GROUND_SURFACE_M2K_W;
        let u = ground_u_w_m2k(place.area_m2, place.perimeter_m, soil, total);
        let below = (1.0 / u - above).max(1e-6);
        let (flux, deck, top, air) = match floor.gap.filter(|_| flow > 0.0) {
            None => {
                let flux = (inside - floor.ground_c) / (above + below);
                let top = inside - flux * above;
                (flux, top + flux * still, top, place.ambient_c)
            }
            Some(gap) => {
                let carry = 2.0 * flow * GAP_AIR.0 * GAP_AIR.1 / place.area_m2.max(1e-6);
                let (h, r) = (
                    GAP_CONVECTION_W_M2K,
                    gap_radiation_w_m2k(0.5 * (deck_c + slab_c), gap.upper_emissivity, CONCRETE_EMISSIVITY),
                );
                // Unknown: deck underside, air in the middle of its way, top of the slab.
                let a = vec![
                    vec![1.0 / upper + h + r, -h, -r],
                    vec![-h, carry + 2.0 * h, -h],
                    vec![-r, -h, h + r + 1.0 / below],
                ];
                let b = vec![inside / upper, carry * place.ambient_c, floor.ground_c / below];
                let t = solve_dense(a, b).unwrap_or_else(|| vec![inside; 3]);
                ((inside - t[0]) / upper, t[0], t[2], t[1])
            }
        };
        (deck_c, slab_c) = (0.5 * (deck_c + deck), 0.5 * (slab_c + top));
        let into_ground_w_m2 = (top - floor.ground_c) / below;
        // What lies below the insulation follows over weeks, not over a shift.
        let follows = if flow > 0.0 { upper } else { above };
        found = Some(SteadyFloor {
            flux_w_m2: flux,
            hot_flux_w_m2: flux + (place.inside_c - inside) / follows,
            slab_top_c: top,
            carried_off_w_m2: flux - into_ground_w_m2,
            gap_air_out_c: 2.0 * air - place.ambient_c,
            into_ground_w_m2,
            above_slab_m2k_w: above,
            below_slab_m2k_w: below,
        });
    }
    found.unwrap_or(SteadyFloor {
        flux_w_m2: 0.0,
        hot_flux_w_m2: 0.0,
        slab_top_c: place.ambient_c,
        carried_off_w_m2: 0.0,
        gap_air_out_c: place.ambient_c,
        into_ground_w_m2: 0.0,
        above_slab_m2k_w: 0.0,
        below_slab_m2k_w: 0.0,
    })
}

/// Top of the slab after the oven has been hot for some time, °C, at each of `hours` (rising).
///
/// ρc·∂T/∂t = ∂/∂x(k·∂T/∂x) through slab and soil, heat coming in through the resistance above the slab, the soil as
/// deep as makes its steady loss that of [`steady_floor`]; slab at plant temperature and soil at ground temperature to
/// begin with. Implicit finite volumes, steps growing from a minute by 4 %. A ventilated gap is taken by its steady
/// share: the heat that does not reach the slab leaves the drive in proportion.
/// Source: heat conduction in one dimension (Carslaw & Jaeger 1959); method ours.
pub fn slab_top_after_c(floor: &FloorBuildUp, place: &FloorPlace, hours: &[f64]) -> Vec<f64> {
    let steady = steady_floor(floor, place);
    let duty = 0.01 * floor.duty_percent.clamp(0.0, 100.0);
    let inside = duty * place.inside_c + (1.0 - duty) * place.ambient_c;
    // With a ventilated gap the slab sees a source that would hold it where it settles.
    let reaches = steady.into_ground_w_m2.abs().max(1e-9);
    let (drive_c, above) = if steady.carried_off_w_m2.abs() > 1e-6 {
        let above = 1.0 / (2.0 * GAP_CONVECTION_W_M2K);
        (steady.slab_top_c + reaches * above, above)
    } else {
        (inside, steady.above_slab_m2k_w.max(1e-6))
    };
    let slab = floor.slab.thickness_m.max(0.01);
    let slab_k = floor.slab.conductivity_w_mk.max(1e-3);
    let soil_k = floor.soil_conductivity_w_mk.max(1e-3);
    let depth = ((steady.below_slab_m2k_w - slab / slab_k) * soil_k).max(0.1);
    let capacity = |k: f64, diffusivity: f64| k / diffusivity.max(1e-9);
    let (slab_c, soil_c) =
        (capacity(slab_k, floor.slab.diffusivity_m2_s), capacity(soil_k, floor.soil_diffusivity_m2_s));
    // Cells: twenty in the slab, then sixty growing downwards.
    let mut cells: Vec<(f64, f64, f64)> = vec![(slab / 20.0, slab_k, slab_c); 20];
    let sizes: Vec<f64> = core::iter::successors(Some(1.0), |size| Some(size * 1.05)).take(60).collect();
    let unit = depth / sizes.iter().sum::<f64>();
    cells.extend(sizes.iter().map(|size| (unit * size, soil_k, soil_c)));
    let n = cells.len();
    let half = |i: usize| 0.5 * cells[i].0 / cells[i].1;
    let link: Vec<f64> =
        (0..n).map(|i| if i + 1 < n { 1.0 / (half(i) + half(i + 1)) } else { 1.0 / half(i) }).collect();
    let top = 1.0 / (above + half(0));
    let mut t: Vec<f64> = (0..n).map(|i| if i < 20 { place.ambient_c } else { floor.ground_c }).collect();
    let surface = |t: &[f64]| t[0] + (drive_c - t[0]) * top * half(0);
    let (mut now, mut step, mut told) = (0.0, 60.0, Vec::with_capacity(hours.len()));
    for &hour in hours {
        let end = hour.max(0.0) * 3_600.0;
        while now < end - 1e-6 {
            let dt = f64::min(step, end - now);
            // Thomas' elimination of the tridiagonal system of one step.
            let (mut ratio, mut rest) = (vec![0.0; n], vec![0.0; n]);
            for i in 0..n {
                let store = cells[i].0 * cells[i].2 / dt;
                let upper = if i == 0 { top } else { link[i - 1] };
                let (mut diagonal, mut right) = (store + upper + link[i], store * t[i]);
                if i == 0 {
                    right += top * drive_c;
                } else {
                    diagonal -= upper * ratio[i - 1];
                    right += upper * rest[i - 1];
                }
                if i + 1 == n {
                    right += link[i] * floor.ground_c;
                }
                ratio[i] = link[i] / diagonal;
                rest[i] = right / diagonal;
            }
            t[n - 1] = rest[n - 1];
            for i in (0..n - 1).rev() {
                t[i] = rest[i] + ratio[i] * t[i + 1];
            }
            now += dt;
            step *= 1.04;
        }
        told.push(surface(&t));
    }
    told
}
