//! From a case to a network, every number checked.

use super::{Case, CaseLaw, CaseSlotModel, CaseVelocity};
use crate::error::EngineError;
use crate::laws::{Law, duct, fan, friction, opening, slot};
use crate::network::{Branch, Network, Node};
use std::collections::HashMap;

/// The network of a case, every number checked.
pub fn build(case: &Case) -> Result<Network, EngineError> {
    let nodes: HashMap<&str, usize> = unique(case.nodes.iter().map(|node| node.id.as_str()), "node")?;
    let branches: HashMap<&str, usize> =
        unique(case.branches.iter().map(|branch| branch.id.as_str()), "branch")?;
    let temperature_k = 293.15;
    let built_nodes = case
        .nodes
        .iter()
        .map(|node| Node {
            id: node.id.clone(),
            fixed_pressure_pa: node.total_pressure_pa,
            inflow_kg_s: node.inflow_kg_s.unwrap_or(0.0),
            temperature_k,
            humidity_ratio: 0.0,
        })
        .collect();
    let find = |at: &str, id: &str, what: &str, map: &HashMap<&str, usize>| {
        map.get(id).copied().ok_or_else(|| {
            EngineError::new(
                at,
                format!("there is no {what} called \"{id}\""),
                format!("name an existing {what}"),
            )
        })
    };
    let mut built = Vec::with_capacity(case.branches.len());
    for branch in &case.branches {
        let mut reads = [None; 2];
        if let CaseLaw::Slot { upstream, downstream, .. } = &branch.law {
            reads[0] = Some(find(&branch.id, upstream, "branch", &branches)?);
            if let Some(downstream) = downstream {
                reads[1] = Some(find(&branch.id, downstream, "branch", &branches)?);
            }
        }
        built.push(Branch {
            id: branch.id.clone(),
            from: find(&branch.id, &branch.from, "node", &nodes)?,
            to: find(&branch.id, &branch.to, "node", &nodes)?,
            law: law(&branch.id, &branch.law)?,
            reads,
            density_kg_m3: branch.density_kg_m3.unwrap_or(case.fluid.density_kg_m3),
            viscosity_pa_s: branch.viscosity_pa_s.unwrap_or(case.fluid.viscosity_pa_s),
            item: None,
        });
    }
    Network::new(built_nodes, built)
}

fn law(id: &str, law: &CaseLaw) -> Result<Law, EngineError> {
    let check = |name: &str, value: f64, low: f64, strictly: bool| {
        let ok = value.is_finite() && if strictly { value > low } else { value >= low };
        let than = if strictly { "above" } else { "at least" };
        if ok {
            Ok(value)
        } else {
            Err(EngineError::new(id, format!("{name} is {value}"), format!("enter a number {than} {low}")))
        }
    };
    let above = |name: &str, value: f64| check(name, value, 0.0, true);
    let from_zero = |name: &str, value: f64| check(name, value, 0.0, false);
    Ok(match law {
        CaseLaw::Duct { length_m, diameter_m, width_m, height_m, roughness_m, k } => {
            let (area_m2, hydraulic_diameter_m, laminar_constant) = match (diameter_m, width_m, height_m) {
                (Some(d), None, None) => {
                    let d = above("diameter_m", *d)?;
                    (core::f64::consts::FRAC_PI_4 * d * d, d, friction::LAMINAR_CONSTANT_ROUND)
                }
                (None, Some(w), Some(h)) => {
                    let (w, h) = (above("width_m", *w)?, above("height_m", *h)?);
                    (w * h, 2.0 * w * h / (w + h), friction::laminar_constant_rectangular(w, h))
                }
                _ => {
                    return Err(EngineError::new(
                        id,
                        "the duct has no clear size",
                        "give diameter_m alone, or width_m and height_m",
                    ));
                }
            };
            Law::Duct(duct::DuctLaw {
                length_m: from_zero("length_m", *length_m)?,
                area_m2,
                hydraulic_diameter_m,
                roughness_m: from_zero("roughness_m", *roughness_m)?,
                laminar_constant,
                k: check("k", k.unwrap_or(0.0), f64::MIN, false)?,
            })
        }
        CaseLaw::K { k, area_m2 } => {
            Law::Loss { k: check("k", *k, f64::MIN, false)?, area_m2: above("area_m2", *area_m2)? }
        }
        CaseLaw::Power { c, n } => Law::Power { c: from_zero("c", *c)?, n: check("n", *n, 1.0, false)? },
        CaseLaw::Orifice { cd, area_m2 } => Law::Orifice(opening::Orifice {
            coefficient: above("cd", *cd)?,
            area_m2: from_zero("area_m2", *area_m2)?,
        }),
        CaseLaw::Damper { cd, area_m2, free_fraction } => Law::Orifice(opening::Orifice {
            coefficient: above("cd", *cd)?,
            area_m2: from_zero("area_m2", *area_m2)? * from_zero("free_fraction", *free_fraction)?,
        }),
        CaseLaw::Slot { model, cd, area_m2, duct_area_m2, velocity, .. } => {
            let constant = || {
                let cd =
                    cd.ok_or_else(|| EngineError::new(id, "a constant slot law has no cd", "give cd"))?;
                above("cd", cd)
            };
            Law::Slot(slot::SlotLaw {
                model: match model {
                    CaseSlotModel::ConstantTotal => slot::Model::ConstantTotal(constant()?),
                    CaseSlotModel::ConstantStatic => slot::Model::ConstantStatic(constant()?),
                    CaseSlotModel::CrossFlowSharp => slot::Model::CrossFlowSharp,
                    CaseSlotModel::CrossFlowFormed => slot::Model::CrossFlowFormed,
                    CaseSlotModel::FreeStreamline => slot::Model::FreeStreamline,
                },
                velocity: match velocity {
                    CaseVelocity::Upstream => slot::Velocity::Upstream,
                    CaseVelocity::Mean => slot::Velocity::Mean,
                },
                area_m2: from_zero("area_m2", *area_m2)?,
                duct_area_m2: above("duct_area_m2", *duct_area_m2)?,
            })
        }
        CaseLaw::Fan { points, points_density_kg_m3, speed_ratio } => {
            let density = above("points_density_kg_m3", *points_density_kg_m3)?;
            let speed = from_zero("speed_ratio", *speed_ratio)?;
            let curve = fan::FanCurve::new(points, density, speed).ok_or_else(|| {
                EngineError::new(id, "the fan curve cannot be used", "give two or more points by rising flow")
            })?;
            Law::Fan(curve)
        }
    })
}

fn unique<'a>(
    ids: impl Iterator<Item = &'a str>,
    what: &str,
) -> Result<HashMap<&'a str, usize>, EngineError> {
    let mut map = HashMap::new();
    for (i, id) in ids.enumerate() {
        if map.insert(id, i).is_some() {
            return Err(EngineError::new(
                id,
                format!("two of the {what}s have this id"),
                "rename one of them",
            ));
        }
    }
    Ok(map)
}
