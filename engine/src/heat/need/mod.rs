//! Heat and air needed, from a list of parts, with nothing drawn: the quote before the layout.
//!
//! ```text
//! enquiry + load + coating ──line──▶ lengths ──balance──▶ rows of heat ──▶ air, fan, burner ──layout──▶ a first plan
//! ```
//!
//! Every part is judged by itself, so that the heaviest sets length and heat and the lightest shows over-bake.

mod balance;
mod check;
mod judge;
mod layout;
mod line;
mod rows;

pub use layout::propose;

use crate::finding::Finding;
use crate::plan::{Enquiry, Plan};
use serde::{Deserialize, Serialize};

/// Humidity of plant air, kg/kg, where nothing else is known.
pub const OUTSIDE_RATIO: f64 = 0.008;
/// Humidity the oven's air is held under by exhaust, kg/kg: a dew point of 44 °C (common practice).
pub const HUMIDITY_LIMIT: f64 = 0.06;

/// What one kind of part needs and gets.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartNeed {
    /// The part's id.
    pub id: String,
    /// Time until its surface is dry, s.
    pub drying_s: f64,
    /// Metal as it leaves the dry-off zone, °C.
    pub dry_off_exit_c: f64,
    /// Time in the cure zone until all its metal is at the temperature wanted, s.
    pub bring_up_s: f64,
    /// Metal as it leaves the cure zone, °C.
    pub exit_c: f64,
    /// How often over it cures, by the coating's schedule; none without one.
    pub cures: Option<f64>,
    /// Biot number at the start of bring-up.
    pub biot: f64,
    /// Length of oven it needs, m: speed times drying, bring-up and dwell.
    pub length_m: f64,
    /// Heat it takes up in the dry-off and in the cure zone, W.
    pub heat_w: (f64, f64),
}

/// What one zone comes to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ZoneNeed {
    /// "dry-off" or "cure".
    pub id: String,
    /// Temperature, °C.
    pub temperature_c: f64,
    /// Length, m.
    pub length_m: f64,
    /// Heat its air must bring, W.
    pub load_w: f64,
    /// Supply air, kg/s.
    pub air_kg_s: f64,
    /// Supply air above zone temperature, K.
    pub supply_difference_k: f64,
    /// Changes of its air a minute.
    pub changes_per_min: f64,
    /// Exhaust drawn from it, kg/s.
    pub exhaust_kg_s: f64,
    /// Water in its air, kg per kg of dry air.
    pub humidity_ratio: f64,
    /// Hot air that rolls out of its opening, kg/s.
    pub roll_out_kg_s: f64,
    /// Content of cure fumes in its air over that in the cure zone.
    pub fume_share: f64,
}

/// What heat goes into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HeatItem {
    /// The parts.
    Product,
    /// Hangers and hooks.
    Hangers,
    /// Chain and trolleys.
    Chain,
    /// Water evaporated.
    Water,
    /// Walls and ends.
    Walls,
    /// Roof.
    Roof,
    /// Floor.
    Floor,
    /// Roll-out and radiation at the product openings.
    Openings,
    /// Exchange through the opening between the zones.
    BetweenZones,
    /// Plant air heated up to replace the exhaust.
    Exhaust,
    /// Metal of the ducts, while heating up.
    Ducts,
    /// What the fan's shaft puts into the air, a gain.
    Fan,
}

/// One line of the heat balance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeatRow {
    /// The zone's id, or "heater".
    pub zone: String,
    /// What it goes into.
    pub item: HeatItem,
    /// Running with the heaviest load, W.
    pub running_w: f64,
    /// Mean while heating up from cold, W.
    pub heating_up_w: f64,
    /// The same running, by the method for panels that was not chosen, W.
    pub other_method_w: Option<f64>,
}

/// A reason for exhaust.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ExhaustReason {
    /// What asks for it.
    pub what: String,
    /// How much, kg/s.
    pub kg_s: f64,
}

/// The recirculation fan as far as it can be told before a layout.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FanNeed {
    /// Flow at supply temperature, m³/s.
    pub flow_m3_s: f64,
    /// Total pressure by a budget, Pa: slots, ducts, returns, burner and filter.
    pub pressure_pa: f64,
    /// Shaft power hot, W, at 60 % efficiency.
    pub shaft_w: f64,
    /// The same in a cold start at full speed, W.
    pub cold_shaft_w: f64,
    /// The next motor of the IEC series above the cold start and a tenth, W.
    pub motor_w: f64,
}

/// The burner.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BurnerNeed {
    /// Heat into the oven's air, running, W.
    pub net_w: f64,
    /// Share of the gross input that reaches the air.
    pub share_to_air: f64,
    /// Gross input running, W.
    pub input_w: f64,
    /// Gross input while heating up, W.
    pub heating_up_w: f64,
    /// Gross input with the line stopped and nothing wet, W.
    pub idle_w: f64,
    /// Rating to order, W: the larger of running with margin and heating up.
    pub rated_w: f64,
    /// Turn-down that idling asks for.
    pub turn_down: f64,
}

/// Heat and air needed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Need {
    /// Line speed, m/s.
    pub speed_m_s: f64,
    /// Inside width, m.
    pub width_m: f64,
    /// Inside height, m.
    pub height_m: f64,
    /// Every kind of part.
    pub parts: Vec<PartNeed>,
    /// Dry-off first, where there is one; then cure.
    pub zones: Vec<ZoneNeed>,
    /// The heat balance line by line.
    pub rows: Vec<HeatRow>,
    /// Supply air, °C.
    pub supply_c: f64,
    /// Recirculated air, kg/s.
    pub air_kg_s: f64,
    /// What asks for exhaust; the total is at least the largest.
    pub exhaust_reasons: Vec<ExhaustReason>,
    /// Exhaust, kg/s.
    pub exhaust_kg_s: f64,
    /// The fan.
    pub fan: FanNeed,
    /// The burner.
    pub burner: BurnerNeed,
}

/// A need, where one could be reckoned, and what to say about it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// None where the input makes no oven; the findings say why.
    pub need: Option<Need>,
    /// What stands in the way, or should be known.
    pub findings: Vec<Finding>,
}

/// Heat and air needed by the enquiry, load and coating of a plan; nothing need be drawn.
///
/// Without an enquiry the usual one is taken, with line speed and temperatures from the conveyor and zones that are
/// drawn.
pub fn need(plan: &Plan) -> Answer {
    let enquiry = enquiry_of(plan);
    let mut findings = Vec::new();
    if let Err(error) = crate::plan::check::numbers(plan) {
        let problem = format!("{}: {}.", error.place, error.problem);
        check::refuse(&mut findings, "need-input", None, &problem, "Enter a number.");
        return Answer { need: None, findings };
    }
    let Some(asked) = check::check(plan, &enquiry, &mut findings) else {
        return Answer { need: None, findings };
    };
    let Some(line) = line::lay_out(&asked, &mut findings) else { return Answer { need: None, findings } };
    let need = balance::balance(&asked, &line);
    let sound = need.rows.iter().all(|row| row.running_w.is_finite() && row.heating_up_w.is_finite())
        && [need.air_kg_s, need.supply_c, need.exhaust_kg_s, need.burner.rated_w, need.fan.motor_w]
            .iter()
            .all(|value| value.is_finite())
        && need.exhaust_reasons.iter().all(|reason| reason.kg_s.is_finite());
    if sound {
        judge::judge(&asked, &need, &mut findings);
    } else {
        check::refuse(
            &mut findings,
            "need-unbounded",
            None,
            "These figures have no finite answer.",
            "Look for an exhaust or a temperature that cannot be reached, or a solvent without limit or molar mass.",
        );
    }
    crate::finding::worst_first(&mut findings);
    Answer { need: sound.then_some(need), findings }
}

fn enquiry_of(plan: &Plan) -> Enquiry {
    let mut enquiry = plan.enquiry.clone().unwrap_or_else(|| {
        let coolest_first = || {
            let heated = plan.zones.iter().filter(|zone| !zone.unheated);
            let mut zones: Vec<f64> = heated.map(|zone| zone.set_temperature_c).collect();
            crate::numerics::sort_numbers(&mut zones);
            zones
        };
        let zones = coolest_first();
        let usual = Enquiry::default();
        Enquiry {
            dry_off_c: zones.first().copied().filter(|_| zones.len() > 1),
            cure_c: zones.last().copied().unwrap_or(usual.cure_c),
            ..usual
        }
    });
    if enquiry.speed_m_s.is_none() && (enquiry.parts_per_hour.is_none() || enquiry.parts_per_m.is_none()) {
        enquiry.speed_m_s = plan.conveyor.as_ref().map(|conveyor| conveyor.speed_m_s);
    }
    enquiry
}
