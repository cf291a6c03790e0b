//! What a course teaches about sizing ducts: constant velocity, equal friction, static regain, compared.

use super::cutting::{Cutting, style};
use super::exact::{exact, needs};
use super::sections::{DuctCost, Stretch, cost, height_for_area, in_stock, stretches, with_sections};
use crate::analysis::{Evenness, analyse_air, slot_targets};
use crate::error::EngineError;
use crate::laws::friction::friction_factor;
use crate::plan::{BuildStyle, Plan, Section};
use serde::{Deserialize, Serialize};

/// A method of sizing ducts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// As drawn.
    AsDrawn,
    /// The same velocity everywhere.
    ConstantVelocity,
    /// The same friction on every metre.
    EqualFriction,
    /// Velocity falls from stretch to stretch so that what static pressure regains pays the friction.
    StaticRegain,
}

/// Ducts sized by one method.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Course {
    /// The method.
    pub method: Method,
    /// Velocity at the heater's discharge, m/s.
    pub first_velocity_m_s: f64,
    /// Pressure, metal and power, in stock sizes.
    pub cost: Option<DuctCost>,
    /// Evenness with all slots of a row alike: what the ducts alone give.
    pub evenness: Option<Evenness>,
    /// Why neither can be said: a slot that gets no air at this fan speed, a duct that finds no room.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refused: Option<String>,
    /// The plan with these ducts and slots, their widths not rounded; a punched size stays.
    pub plan: Plan,
}

/// Share of the velocity pressure given up that comes back as static pressure in a duct that passes
/// branches (0.75, common practice of the static-regain method; it covers take-off losses).
const REGAIN: f64 = 0.75;

/// Friction of a duct of this section, Pa/m.
///
/// f/d·ρV²/2, f after Colebrook on the hydraulic diameter (see [`crate::laws::friction`]).
fn friction_pa_m(stretch: &Stretch, section: Section, roughness_m: f64) -> f64 {
    let (v, d) = (stretch.flow_m3_s / section.area_m2(), section.hydraulic_diameter_m());
    let reynolds = stretch.density_kg_m3 * v * d / stretch.viscosity_pa_s;
    let laminar = crate::laws::friction::LAMINAR_CONSTANT_ROUND;
    friction_factor(reynolds, roughness_m / d, laminar).0 / d * 0.5 * stretch.density_kg_m3 * v * v
}

/// Height between 20 mm and 5 m at which `excess` changes from above to below zero.
fn bisect(section: Section, excess: impl Fn(Section) -> f64) -> f64 {
    let (mut low, mut high) = (0.02, 5.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(super::stepped_duct::of_height(section, middle)) > 0.0 {
            low = middle
        } else {
            high = middle
        }
    }
    high
}

/// Areas, not rounded, that a method gives the stretches as wide as drawn, beginning with `velocity` at the discharge, m².
pub(super) fn areas(plan: &Plan, stretches: &[Stretch], method: Method, velocity: f64) -> Vec<f64> {
    // The first stretch of the largest flow sets what "equal" means.
    let root = stretches.iter().max_by(|a, b| a.flow_m3_s.total_cmp(&b.flow_m3_s));
    let Some(root) = root else { return Vec::new() };
    let root_height = height_for_area(root.drawn, root.flow_m3_s / velocity);
    let root_section = super::stepped_duct::of_height(root.drawn, root_height);
    let per_metre = friction_pa_m(root, root_section, plan.ducts[root.duct].roughness_m);
    let mut before: Option<(usize, f64)> = None;
    stretches
        .iter()
        .map(|stretch| {
            let roughness_m = plan.ducts[stretch.duct].roughness_m;
            let area_at = |height| super::stepped_duct::of_height(stretch.drawn, height).area_m2();
            let area = match (method, before) {
                (Method::EqualFriction, _) => area_at(bisect(stretch.drawn, |section| {
                    friction_pa_m(stretch, section, roughness_m) - per_metre
                })),
                (Method::StaticRegain, Some((last, v1))) if last == stretch.duct => {
                    area_at(bisect(stretch.drawn, |section| {
                        let v2 = stretch.flow_m3_s / section.area_m2();
                        let regained = REGAIN * 0.5 * stretch.density_kg_m3 * (v1 * v1 - v2 * v2);
                        friction_pa_m(stretch, section, roughness_m) * (stretch.to_m - stretch.from_m)
                            - regained
                    }))
                }
                _ => stretch.flow_m3_s / velocity,
            };
            before = Some((stretch.duct, stretch.flow_m3_s / area));
            area
        })
        .collect()
}

/// Sizes trunk and runs by each named method from the same velocity at the discharge, in stock sizes, and
/// says what each costs and how even equal slots would be on it.
///
/// Methods as in the courses on duct design (ASHRAE Handbook Fundamentals, duct design; Carrier System
/// Design Manual part 2; from memory).
pub fn compare_courses(plan: &Plan, velocity_m_s: f64) -> Result<Vec<Course>, EngineError> {
    if !(velocity_m_s.is_finite() && velocity_m_s > 0.0) {
        return Err(EngineError::new("sections", "the velocity is not above zero", "enter more than zero"));
    }
    let drawn = needs(plan)?;
    let stretches = stretches(plan, &drawn);
    let methods = [Method::AsDrawn, Method::ConstantVelocity, Method::EqualFriction, Method::StaticRegain];
    let root = stretches.iter().max_by(|a, b| a.flow_m3_s.total_cmp(&b.flow_m3_s));
    let first_velocity = |plan: &Plan| {
        root.map_or(0.0, |root| {
            root.flow_m3_s / crate::plan::geometry::section_at(&plan.ducts[root.duct], root.from_m).area_m2()
        })
    };
    let course = |method: Method| {
        let sized = if method == Method::AsDrawn {
            plan.clone()
        } else {
            let areas = areas(plan, &stretches, method, velocity_m_s);
            with_sections(plan, &stretches, &in_stock(plan, &stretches, &areas)?)
        };
        let equal = with_equal_slots(&sized)?;
        let evenness = analyse_air(&equal)?.evenness;
        // Power with the slots as they are: with others the fan would go on at its speed.
        let cost = cost(&sized, &needs(&equal)?);
        let first_velocity_m_s = first_velocity(&equal);
        let mut offered = equal;
        for (row, old) in offered.slot_rows.iter_mut().zip(&plan.slot_rows) {
            if style(plan, old) == BuildStyle::PunchedCount {
                row.widths_m.clone_from(&old.widths_m);
            }
        }
        Ok::<_, EngineError>(Course {
            method,
            first_velocity_m_s,
            cost: Some(cost),
            evenness: Some(evenness),
            refused: None,
            plan: offered,
        })
    };
    Ok(methods
        .into_iter()
        .map(|method| {
            course(method).unwrap_or_else(|error| Course {
                method,
                first_velocity_m_s: velocity_m_s,
                cost: None,
                evenness: None,
                refused: Some(error.to_string()),
                plan: plan.clone(),
            })
        })
        .collect())
}

/// The plan with one width for all slots of a row, not rounded, at which the row has its air.
fn with_equal_slots(plan: &Plan) -> Result<Plan, EngineError> {
    let mut equal = plan.clone();
    for row in &mut equal.slot_rows {
        row.build = Some(BuildStyle::VariedPitch);
        row.stations_m.clear();
        row.lengths_m.clear();
    }
    let exact = exact(&equal)?;
    let cutting = Cutting::of(&equal, &exact.built)?;
    let sizes = cutting.sizes_for(&exact.areas_m2, &slot_targets(&equal, &exact.built));
    for (site, uses) in exact.built.slots.iter().zip(&cutting.uses) {
        equal.slot_rows[site.row].widths_m = vec![sizes[uses[0]]];
    }
    for (row, old) in equal.slot_rows.iter_mut().zip(&plan.slot_rows) {
        row.build = old.build.filter(|style| *style != BuildStyle::ContinuousTaper);
    }
    Ok(equal)
}
