//! What even out aims at: shares as they stand, equal air per metre, or equal temperature.

use super::{Designed, even_out};
use crate::analysis::{Analysis, analyse};
use crate::error::EngineError;
use crate::heat::weights_for_equal_temperature;
use crate::network::from_plan;
use crate::plan::{Plan, SlotRow};
use serde::{Deserialize, Serialize};

/// What the air of every slot goes by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EvenTarget {
    /// The weights of the rows and the shares of their slots, as the plan has them.
    #[default]
    Shares,
    /// The stretch each slot serves: the same air for every metre of row.
    PerMetre,
    /// The heat its bay needs: every bay at the set temperature of its zone.
    Temperature,
}

/// Sets the share of every slot by `target`, then evens out to these shares.
///
/// The shares stay in the plan, so that a later even out keeps them. Refused where even out refuses, and for equal
/// temperature also where the bays would not come nearer to their set temperatures (mean square over all bays).
pub fn even_out_to(plan: &Plan, target: EvenTarget) -> Result<Designed, EngineError> {
    let shared = match target {
        EvenTarget::Shares => return even_out(plan),
        EvenTarget::PerMetre => per_metre(plan)?,
        EvenTarget::Temperature => by_heat(plan)?,
    };
    let before = analyse(plan)?;
    let designed = even_out(&shared)?;
    let (was, is) = (spread_k(&before), spread_k(&designed.after));
    if target == EvenTarget::Temperature && (is.is_nan() || is >= was) {
        return Err(EngineError::new(
            "slots",
            format!(
                "air by the heat of each bay would leave the bays {is:.1} K off where they are {was:.1} K off now"
            ),
            "hold back the cold air at the product openings first, or even out by flow",
        ));
    }
    Ok(Designed { before, ..designed })
}

/// To a ten-thousandth, so that files stay readable.
fn readable(weight: f64) -> f64 {
    (1e4 * weight).round().max(1.0) / 1e4
}

/// The plan with rows weighted by their pitch against the mean of all slots.
fn per_metre(plan: &Plan) -> Result<Plan, EngineError> {
    let mut shared = plan.clone();
    let slots = |row: &SlotRow| f64::from(row.count);
    let all: f64 = plan.slot_rows.iter().map(slots).sum();
    let mean = plan.slot_rows.iter().map(|row| slots(row) * row.pitch_m).sum::<f64>() / all.max(1.0);
    for row in &mut shared.slot_rows {
        if row.pitch_m <= 0.0 {
            return Err(EngineError::new(
                &row.id,
                "has no pitch, so nothing tells what stretch its slot serves",
                "enter the metres it serves as its pitch",
            ));
        }
        row.weight = readable(row.pitch_m / mean);
        row.shares.clear();
    }
    Ok(shared)
}

/// The plan with the share of every slot by the heat its bay needs.
fn by_heat(plan: &Plan) -> Result<Plan, EngineError> {
    let weights = weights_for_equal_temperature(plan)?;
    let built = from_plan::build(plan)?;
    let mut shared = plan.clone();
    for row in &mut shared.slot_rows {
        row.shares = vec![1.0; row.count as usize];
    }
    for (site, weight) in built.slots.iter().zip(&weights) {
        let row = &mut shared.slot_rows[site.row];
        row.shares[site.index] = readable(weight / row.slot_weight(site.index));
    }
    Ok(shared)
}

/// Root mean square of the distance of all bays from their set temperatures, K.
fn spread_k(analysis: &Analysis) -> f64 {
    analysis.heat.as_ref().map_or(f64::NAN, |heat| {
        (heat.bays.iter().map(|bay| bay.off_k * bay.off_k).sum::<f64>() / heat.bays.len() as f64).sqrt()
    })
}
