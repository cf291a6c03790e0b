//! Heat and air needed by a list of parts.

use super::Row;
use super::row::folder;
use engine::heat::need::{HeatItem, Need, need};
use engine::plan::file;
use std::sync::OnceLock;

fn found() -> &'static Need {
    static FOUND: OnceLock<Need> = OnceLock::new();
    FOUND.get_or_init(|| {
        let path = folder().join("cases/enquiry.evenrise.json");
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{error}"));
        let answer = need(&file::read(&text).unwrap_or_else(|error| panic!("{error}")));
        answer.need.unwrap_or_else(|| panic!("{:?}", answer.findings))
    })
}

/// A line of the heat balance, W, or a figure of the part or zone.
pub fn needed(row: &Row) -> f64 {
    let (need, zone) = (found(), row.text("zone"));
    let part = &need.parts[0];
    match row.text("quantity") {
        "speed" => need.speed_m_s,
        "drying" => part.drying_s,
        "dry_exit" => part.dry_off_exit_c,
        "bring_up" => part.bring_up_s,
        "exit" => part.exit_c,
        "length" => {
            need.zones.iter().find(|item| item.id == zone).unwrap_or_else(|| row.unknown("zone")).length_m
        }
        quantity => {
            let item: HeatItem =
                serde_json::from_value(quantity.into()).unwrap_or_else(|_| row.unknown("quantity"));
            let line = need.rows.iter().find(|line| line.zone == zone && line.item == item);
            line.unwrap_or_else(|| row.unknown("zone")).running_w
        }
    }
}
