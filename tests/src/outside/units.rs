//! Units as the trade writes and reads them.

use super::Row;
use engine::air::Air;
use engine::safety::STANDARD_DENSITY_KG_M3;
use engine::units::{Kind, UnitSystem, parse, show_number};

fn kind(row: &Row) -> Kind {
    let name = serde_json::Value::from(row.text("measures"));
    serde_json::from_value(name).unwrap_or_else(|_| row.unknown("measures"))
}

fn read(text: &str, kind: Kind) -> f64 {
    parse(text, kind, UnitSystem::Si).unwrap_or_else(|error| panic!("{error}"))
}

/// A typed quantity in SI, a quantity as it is shown, or actual for standard flow.
pub fn trade(row: &Row) -> f64 {
    match row.text("law") {
        "units::parse" => read(row.text("text"), kind(row)),
        "units::show" => {
            let shown = show_number(row.number("si"), kind(row), UnitSystem::InchPound);
            shown.parse().unwrap_or_else(|_| row.unknown("si"))
        }
        "air::density" => {
            let mass_kg_s = STANDARD_DENSITY_KG_M3 * read(row.text("text"), Kind::StandardFlow);
            let here = Air::at(row.number("temperature_c"), 101_325.0, 0.0).density().value;
            mass_kg_s / here / read("1 acfm", Kind::VolumeFlow)
        }
        _ => row.unknown("law"),
    }
}
