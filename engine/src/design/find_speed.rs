//! Find speed: the fan speed at which all slots together pass the required flow.

use super::Designed;
use super::drive::{duty_findings, fan_duty};
use crate::analysis::{Analysis, analyse, analyse_air};
use crate::error::EngineError;
use crate::judge::near_stall;
use crate::plan::Plan;

/// The speed found brings the total within this share of the required flow.
const CLOSE_ENOUGH: f64 = 1e-6;

/// Sets the fan speed so that the slots as they are pass the required flow.
///
/// Total flow rises almost in proportion to speed (fan laws), so speed is corrected by the ratio of
/// flows, secured by a bracket. A speed above the maker's maximum is refused.
pub fn find_speed(plan: &Plan) -> Result<Designed, EngineError> {
    let before = analyse(plan)?;
    let (plan, _) = at_its_speed(plan)?;
    let after = analyse(&plan)?;
    // Where one of the four states cannot be solved, the one that was is told; the fan's duty tells why.
    let now =
        |_| near_stall(&plan, "At this speed the fan", after.fan.stall_margin_percent).into_iter().collect();
    let findings = fan_duty(&plan).map_or_else(now, |duty| duty_findings(&plan, &duty));
    Ok(Designed { plan, before, after, findings })
}

/// The plan at the speed found, with its air.
pub(super) fn at_its_speed(plan: &Plan) -> Result<(Plan, Analysis), EngineError> {
    let fan = &plan.heater.fan;
    let required = plan.required_flow_kg_s;
    let mut trial = plan.clone();
    let mut speed = if fan.speed_rpm > 0.0 { fan.speed_rpm } else { fan.curve_speed_rpm };
    let (mut low, mut high) = (0.0, f64::INFINITY);
    let mut found = None;
    for _ in 0..60 {
        trial.heater.fan.speed_rpm = speed;
        let air = analyse_air(&trial)?;
        if air.slots.iter().all(|slot| slot.area_m2 <= 0.0) {
            return Err(EngineError::new(
                "slots",
                "no slot is open, so no speed gives the wanted air",
                "even out first",
            ));
        }
        let ratio = air.total_flow_kg_s / required;
        if air.status == "converged" && (ratio - 1.0).abs() <= CLOSE_ENOUGH {
            found = Some(air);
            break;
        }
        if ratio < 1.0 {
            low = speed
        } else {
            high = speed
        }
        if speed > 20.0 * fan.curve_speed_rpm {
            break;
        }
        let proportional = if ratio > 0.05 { speed / ratio } else { 2.0 * speed };
        speed = if proportional > low && proportional < high {
            proportional
        } else {
            0.5 * (low + high.min(2.0 * low.max(1.0)))
        };
    }
    let air = found.ok_or_else(|| {
        EngineError::new(
            &plan.heater.id,
            "no fan speed gives the required flow",
            "open slots and returns, or choose another fan",
        )
    })?;
    within_makers_speed(&trial)?;
    Ok((trial, air))
}

/// Refuses a plan whose fan would run faster than its maker allows: a wheel that bursts kills.
pub(super) fn within_makers_speed(plan: &Plan) -> Result<(), EngineError> {
    let speed = plan.heater.fan.speed_rpm;
    match plan.heater.fan.allowed_speed_rpm() {
        Some(max) if speed > max => Err(EngineError::new(
            &plan.heater.id,
            format!("the fan would run at {speed:.0} rpm, the maker allows {max:.0} rpm or less when hot"),
            "open slots and returns, use larger ducts, or choose another fan",
        )),
        _ => Ok(()),
    }
}
