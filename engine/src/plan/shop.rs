//! A shop record on its way from one plan to another.

use super::file::{from_json, read, write};
use super::{FORMAT, Plan, check};
use crate::error::EngineError;
use serde_json::{Value, json};

/// The word in `format` of a file that holds a shop record alone.
pub const SHOP_FORMAT: &str = "evenrise-shop";

/// `plan` with the shop record of another file: a plan's, or one written by [`write_shop`].
///
/// Speed limits that name a zone or a stretch of the conveyor belong to the layout they were written for: those of
/// `plan` stay, those of the file are left behind.
///
/// ```
/// use engine::plan::{file, take_shop, write_shop};
/// let text = include_str!("../../../tests/plans/minimal.evenrise.json");
/// let mut plan = file::read(text).unwrap();
/// let mut other = plan.clone();
/// other.shop.duct_sizes_m = vec![0.3, 0.4];
/// plan = take_shop(&plan, &write_shop(&other)).unwrap();
/// assert_eq!(plan.shop.duct_sizes_m, [0.3, 0.4]);
/// ```
pub fn take_shop(plan: &Plan, text: &str) -> Result<Plan, EngineError> {
    let value: Value = from_json(text)?;
    match value.get("format").map(|format| format.as_str().unwrap_or_default()) {
        None | Some(FORMAT | SHOP_FORMAT) => {}
        Some(_) => {
            return Err(EngineError::new(
                "format",
                "this is neither an oven plan nor a shop record",
                format!("choose a file whose \"format\" is \"{FORMAT}\" or \"{SHOP_FORMAT}\""),
            ));
        }
    }
    Plan::known(None, value.get("version"))?;
    let Some(shop) = value.get("shop") else {
        return Err(EngineError::new(
            "shop",
            "the file has no shop record",
            "choose a plan whose shop record has been entered, or a file with \"shop\" in it",
        ));
    };
    // Through the plan's own reader, so that nothing is read in two ways.
    let mut whole: Value = from_json(&write(plan))?;
    whole["shop"] = shop.clone();
    let mut taken = read(&whole.to_string())?;
    taken.shop.speed_limits.retain(|limit| limit.zone.is_none() && limit.conveyor_m.is_none());
    let placed = plan.shop.speed_limits.iter();
    let placed = placed.filter(|limit| limit.zone.is_some() || limit.conveyor_m.is_some());
    taken.shop.speed_limits.extend(placed.cloned());
    check::shop(&taken)?;
    Ok(taken)
}

/// The shop record of `plan` as a file of its own.
pub fn write_shop(plan: &Plan) -> String {
    let whole: Value = from_json(&write(plan)).unwrap_or_default();
    let mut text =
        format!("{:#}", json!({ "format": SHOP_FORMAT, "version": super::VERSION, "shop": whole["shop"] }));
    text.push('\n');
    text
}
