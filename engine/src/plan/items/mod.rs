//! The items of a plan and the document that holds them.

mod as_built;
mod burner;
mod ducts;
mod enquiry;
mod floor;
mod heater;
mod load;
mod panels;
mod safety;
mod slots;

pub use as_built::*;
pub use burner::*;
pub use ducts::*;
pub use enquiry::*;
pub use floor::*;
pub use heater::*;
pub use load::*;
pub use panels::*;
pub use safety::*;
pub use slots::*;

use crate::plan::record::record;
use serde::Serialize;

/// Fields of a newer version, kept as they came.
pub type Extra = serde_json::Map<String, serde_json::Value>;

/// The magic word a plan file opens with.
pub const FORMAT: &str = "evenrise-plan";
/// The version of the plan document written by this engine.
pub const VERSION: u32 = 1;

fn format_word() -> String {
    FORMAT.to_owned()
}
fn version() -> u32 {
    VERSION
}
fn one() -> f64 {
    1.0
}
fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

/// One oven as a person decided it: the document that is saved, opened, changed and solved.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Plan {
    /// The magic word, always "evenrise-plan".
    #[serde(default = "format_word")]
    pub format: String,
    /// Version of the document; older ones are migrated when opened.
    #[serde(default = "version")]
    pub version: u32,
    /// What the shop calls this oven.
    #[serde(default)]
    pub name: String,
    /// Free text.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// Supply air wanted from all slots together, kg/s.
    pub required_flow_kg_s: f64,
    /// Where the oven stands.
    #[serde(default)]
    pub site: Site,
    /// The box.
    pub enclosure: Enclosure,
    /// Temperature zones.
    pub zones: Vec<Zone>,
    /// Openings that parts pass through, to outside or between zones.
    #[serde(default)]
    pub openings: Vec<Opening>,
    /// The path parts take.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conveyor: Option<Conveyor>,
    /// Burner, recirculation fan and the losses between intake and discharge.
    pub heater: Heater,
    /// Supply, transfer and return ducts.
    #[serde(default)]
    pub ducts: Vec<Duct>,
    /// Slots along supply ducts.
    #[serde(default)]
    pub slot_rows: Vec<SlotRow>,
    /// Openings with slide dampers that take the air back.
    #[serde(default)]
    pub returns: Vec<ReturnOpening>,
    /// Air drawn to outside.
    #[serde(default)]
    pub exhausts: Vec<Exhaust>,
    /// What the customer asks for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub enquiry: Option<Enquiry>,
    /// What the oven heats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load: Option<Load>,
    /// What must cure on it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coating: Option<Coating>,
    /// Temperature sensors.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sensors: Vec<Sensor>,
    /// Safety ventilation, purge, relief and interlocks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub safety: Option<Safety>,
    /// Findings accepted with a written reason.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub accepted: Vec<Accepted>,
    /// What this shop can cut and set.
    #[serde(default)]
    pub shop: ShopRecord,
    /// Which published laws the plan is solved with.
    #[serde(default)]
    pub models: Models,
    /// What cutting, setting and nature leave open.
    #[serde(default, skip_serializing_if = "is_default")]
    pub tolerances: Tolerances,
    /// Slotted lengths tried on a shop fan.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bench_pieces: Vec<BenchPiece>,
    /// What the air at the hung parts must keep to.
    #[serde(default, skip_serializing_if = "is_default")]
    pub air_at_part: AirAtPart,
    /// What metal and running time count when alternatives are weighed.
    #[serde(default, skip_serializing_if = "is_default")]
    pub weighing: Weighing,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Plan { required_flow_kg_s, enclosure, zones, heater } or { format = format_word(), version = version(), name, notes, site, openings, conveyor, ducts, slot_rows, returns, exhausts, enquiry, load, coating, sensors, safety, accepted, shop, models, tolerances, bench_pieces, air_at_part, weighing });
