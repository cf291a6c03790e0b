//! Even out to equal temperature: every slot gets the air that the heat of its bay asks for.

use super::{Designed, even_out};
use crate::analysis::{Analysis, analyse};
use crate::error::EngineError;
use crate::heat::weights_for_equal_temperature;
use crate::network::from_plan;
use crate::plan::Plan;

/// Sets the share of every slot by the heat its bay needs, then evens out to these shares.
///
/// The shares stay in the plan, so that a later even out keeps them. Refused where the bays would not come nearer to
/// their set temperatures (mean square over all bays), or where even out refuses.
pub fn even_out_temperature(plan: &Plan) -> Result<Designed, EngineError> {
    let before = analyse(plan)?;
    let weights = weights_for_equal_temperature(plan)?;
    let built = from_plan::build(plan)?;
    let mut shared = plan.clone();
    for row in &mut shared.slot_rows {
        row.shares = vec![1.0; row.count as usize];
    }
    for (site, weight) in built.slots.iter().zip(&weights) {
        let row = &mut shared.slot_rows[site.row];
        // Rounded so that files stay readable.
        row.shares[site.index] = (1e4 * weight / row.slot_weight(site.index)).round().max(1.0) / 1e4;
    }
    let designed = even_out(&shared)?;
    let (was, is) = (spread_k(&before), spread_k(&designed.after));
    if is.is_nan() || is >= was {
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

/// Root mean square of the distance of all bays from their set temperatures, K.
fn spread_k(analysis: &Analysis) -> f64 {
    analysis.heat.as_ref().map_or(f64::NAN, |heat| {
        (heat.bays.iter().map(|bay| bay.off_k * bay.off_k).sum::<f64>() / heat.bays.len() as f64).sqrt()
    })
}
