use serde::{Deserialize, Serialize};

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

/// A place on the floor plan, metres from the plan's origin; x to the right, y up the page.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// To the right, m.
    pub x_m: f64,
    /// Up the page, m.
    pub y_m: f64,
}

impl Point {
    /// The point (x, y), both in metres.
    pub const fn new(x_m: f64, y_m: f64) -> Self {
        Self { x_m, y_m }
    }
}

/// One oven as a person decided it: the document that is saved, opened, changed and solved.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
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
    /// What this shop can cut and set.
    #[serde(default)]
    pub shop: ShopRecord,
    /// Which published laws the plan is solved with.
    #[serde(default)]
    pub models: Models,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// Where the oven stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Site {
    /// Height above sea level, m; gives the barometer by the standard atmosphere.
    pub altitude_m: f64,
    /// A barometer reading, Pa, that overrides the altitude.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub barometer_pa: Option<f64>,
    /// Air in the plant, °C.
    pub ambient_c: f64,
    /// Water in the oven air, kg per kg of dry air.
    pub oven_humidity_ratio: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

impl Default for Site {
    fn default() -> Self {
        Self {
            altitude_m: 0.0,
            barometer_pa: None,
            ambient_c: 20.0,
            oven_humidity_ratio: 0.0,
            extra: Extra::new(),
        }
    }
}

/// The box: outline, height and what must be kept clear.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Enclosure {
    /// Corners of the outline in order; the last joins the first.
    pub outline: Vec<Point>,
    /// Inside height, m.
    pub height_m: f64,
    /// Inner walls, each a line of points.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub walls: Vec<Vec<Point>>,
    /// Columns no duct may pass.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<Column>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// A building column on the floor plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Column {
    /// Name of this item in the plan.
    pub id: String,
    /// Middle of the column.
    pub at: Point,
    /// Size along x, m.
    pub width_m: f64,
    /// Size along y, m.
    pub depth_m: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// A part of the oven held at one temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Zone {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Corners of the zone's floor in order; the last joins the first.
    pub outline: Vec<Point>,
    /// Temperature the zone is held at, °C.
    pub set_temperature_c: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// An opening that parts pass through: from a zone to outside, or to another zone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Opening {
    /// Name of this item in the plan.
    pub id: String,
    /// The zone it opens from.
    pub zone: String,
    /// The zone it leads to; outside when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_zone: Option<String>,
    /// Middle of the opening on the floor plan.
    pub at: Point,
    /// Clear width, m.
    pub width_m: f64,
    /// Clear height, m.
    pub height_m: f64,
    /// Height of the lower edge above the floor, m.
    #[serde(default)]
    pub sill_m: f64,
    /// Discharge coefficient, 0.65 as usual for doors.
    #[serde(default = "door_coefficient")]
    pub discharge_coefficient: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

fn door_coefficient() -> f64 {
    0.65
}

/// The path parts take through the oven.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Conveyor {
    /// Points of the path in the direction of travel.
    pub path: Vec<Point>,
    /// Height of the middle of the hung part above the floor, m.
    pub part_height_m: f64,
    /// Line speed, m/s.
    pub speed_m_s: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// Burner box and recirculation fan: draws at `intake`, blows at `discharge`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Heater {
    /// Name of this item in the plan.
    pub id: String,
    /// Where return ducts end.
    pub intake: Point,
    /// Where the supply trunk begins.
    pub discharge: Point,
    /// Temperature of the air it blows, °C.
    pub supply_temperature_c: f64,
    /// The recirculation fan.
    pub fan: Fan,
    /// Filter, burner and other losses in series with the fan.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fixed_losses: Vec<FixedLoss>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// A fan by points of its maker's curve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Fan {
    /// Maker's type or the shop's name for it.
    #[serde(default)]
    pub name: String,
    /// Points of the curve at `curve_speed_rpm` and `curve_density_kg_m3`, by rising flow.
    pub points: Vec<FanPoint>,
    /// Which pressure the points give.
    #[serde(default)]
    pub basis: PressureBasis,
    /// Density the curve was drawn for, kg/m³.
    #[serde(default = "standard_density")]
    pub curve_density_kg_m3: f64,
    /// Speed the curve was drawn for, rpm.
    pub curve_speed_rpm: f64,
    /// Speed the fan runs at, rpm.
    pub speed_rpm: f64,
    /// Highest speed the maker allows cold, rpm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_speed_rpm: Option<f64>,
    /// Highest speed the maker allows at supply temperature, rpm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_speed_hot_rpm: Option<f64>,
    /// How many of these fans blow side by side; 1 when left out.
    #[serde(default = "one_fan", skip_serializing_if = "is_one")]
    pub count: u32,
    /// System effect at inlet and outlet together, on the outlet velocity pressure: 0 for connections as
    /// the maker tested.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub system_effect: f64,
    /// Outlet area of the maker's data, m².
    pub outlet_area_m2: f64,
    /// Total efficiency used where the points give no shaft power, %.
    #[serde(default = "fan_efficiency")]
    pub efficiency_percent: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

fn standard_density() -> f64 {
    1.2
}
fn one_fan() -> u32 {
    1
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_one(count: &u32) -> bool {
    *count == 1
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}
fn fan_efficiency() -> f64 {
    60.0
}

/// One point of a fan curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FanPoint {
    /// Volume flow at the inlet, m³/s.
    pub flow_m3_s: f64,
    /// Pressure, total or static by the curve's basis, Pa.
    pub pressure_pa: f64,
    /// Shaft power, W, where the maker gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shaft_power_w: Option<f64>,
}

/// Which pressure a fan curve gives.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum PressureBasis {
    /// Fan total pressure.
    #[default]
    Total,
    /// Fan static pressure: total less the velocity pressure at the outlet.
    Static,
}

/// A loss known by one measured or catalogued point; follows the square of flow.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FixedLoss {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Volume flow of the known point, m³/s.
    pub flow_m3_s: f64,
    /// Total-pressure drop at that flow, Pa.
    pub drop_pa: f64,
    /// Density of the known point, kg/m³.
    #[serde(default = "standard_density")]
    pub density_kg_m3: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// What a duct carries.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum DuctRole {
    /// From the heater to slots.
    #[default]
    Supply,
    /// Supply air led to a second zone through the modulated damper.
    Transfer,
    /// From return openings back to the heater.
    Return,
}

/// A duct drawn as a line of points; by convention air flows from the first to the last.
///
/// Ducts join by geometry: where an end of one touches another, the heater's intake or its
/// discharge, a joint forms by itself.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Duct {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// What it carries.
    #[serde(default)]
    pub role: DuctRole,
    /// Centre line.
    pub path: Vec<Point>,
    /// Inside size from the first point on.
    pub section: Section,
    /// Changes of size further along, by rising station.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<SizeStep>,
    /// Equivalent sheet roughness, m; 0.09 mm is the trade's average.
    #[serde(default = "sheet_roughness")]
    pub roughness_m: f64,
    /// How its own bends are made.
    #[serde(default)]
    pub elbows: ElbowStyle,
    /// Tightness of its seams; taken as tight when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leakage_class: Option<LeakageClass>,
    /// A blade damper at its first point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub damper: Option<BladeDamper>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

fn sheet_roughness() -> f64 {
    0.000_09
}

/// Tightness class of EN 12237 and EN 1507, A the leakiest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum LeakageClass {
    /// 0.027 l/(s·m²) at 1 Pa.
    A,
    /// 0.009 l/(s·m²) at 1 Pa.
    B,
    /// 0.003 l/(s·m²) at 1 Pa.
    C,
    /// 0.001 l/(s·m²) at 1 Pa.
    D,
}

impl LeakageClass {
    /// The class as a letter.
    pub fn letter(self) -> char {
        match self {
            Self::A => 'A',
            Self::B => 'B',
            Self::C => 'C',
            Self::D => 'D',
        }
    }
}

/// Inside size of a duct: `width_m` and `height_m`, or `diameter_m`.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(try_from = "SectionFields", into = "SectionFields")]
#[cfg_attr(feature = "schema", schemars(with = "SectionFields"))]
pub enum Section {
    /// Rectangular; width in plan, height upright.
    Rectangular {
        /// Width in plan, m.
        width_m: f64,
        /// Height, m.
        height_m: f64,
    },
    /// Round.
    Round {
        /// Diameter, m.
        diameter_m: f64,
    },
}

#[derive(Clone, Copy, Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct SectionFields {
    #[serde(skip_serializing_if = "Option::is_none")]
    width_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    height_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    diameter_m: Option<f64>,
}

impl TryFrom<SectionFields> for Section {
    type Error = &'static str;
    fn try_from(fields: SectionFields) -> Result<Self, Self::Error> {
        match (fields.width_m, fields.height_m, fields.diameter_m) {
            (Some(width_m), Some(height_m), None) => Ok(Self::Rectangular { width_m, height_m }),
            (None, None, Some(diameter_m)) => Ok(Self::Round { diameter_m }),
            _ => Err("a section needs width_m and height_m, or diameter_m alone"),
        }
    }
}

impl From<Section> for SectionFields {
    fn from(section: Section) -> Self {
        match section {
            Section::Rectangular { width_m, height_m } => {
                Self { width_m: Some(width_m), height_m: Some(height_m), diameter_m: None }
            }
            Section::Round { diameter_m } => Self { diameter_m: Some(diameter_m), ..Self::default() },
        }
    }
}

impl Section {
    /// Free area, m².
    pub fn area_m2(self) -> f64 {
        match self {
            Self::Rectangular { width_m, height_m } => width_m * height_m,
            Self::Round { diameter_m } => core::f64::consts::FRAC_PI_4 * diameter_m * diameter_m,
        }
    }

    /// Hydraulic diameter 4·A/P, m.
    pub fn hydraulic_diameter_m(self) -> f64 {
        match self {
            Self::Rectangular { width_m, height_m } => 2.0 * width_m * height_m / (width_m + height_m),
            Self::Round { diameter_m } => diameter_m,
        }
    }

    /// Inside perimeter, m.
    pub fn perimeter_m(self) -> f64 {
        4.0 * self.area_m2() / self.hydraulic_diameter_m()
    }

    /// Width seen from above, m.
    pub fn plan_width_m(self) -> f64 {
        match self {
            Self::Rectangular { width_m, .. } => width_m,
            Self::Round { diameter_m } => diameter_m,
        }
    }
}

/// A change of size part-way along a duct.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SizeStep {
    /// Distance along the centre line from the first point, m.
    pub station_m: f64,
    /// Inside size from there on.
    pub section: Section,
}

/// How the bends of a duct are made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ElbowStyle {
    /// A plain mitre.
    #[default]
    Mitred,
    /// A mitre with turning vanes.
    Vaned,
    /// Rolled, centre-line radius 1.5 times the width.
    Radius,
}

/// A blade damper in a duct, set by the travel of its blades.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BladeDamper {
    /// How the blades turn.
    #[serde(default)]
    pub blades: Blades,
    /// Travel, % of full: 0 shut, 100 open.
    pub open_percent: f64,
    /// Leakage when shut, % of the flow when open at the same pressure.
    #[serde(default = "one")]
    pub leakage_percent: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// How the blades of a damper turn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Blades {
    /// Neighbours turn against each other.
    #[default]
    Opposed,
    /// All turn the same way; also a single blade.
    Parallel,
}

/// Which wall of the duct slots are cut in, looking from its first to its last point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// Facing up.
    #[default]
    Top,
    /// The left side.
    Left,
    /// The right side.
    Right,
}

/// Slots cut along one duct at a constant pitch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SlotRow {
    /// Name of this item in the plan; its slots are called `id/1`, `id/2`, ...
    pub id: String,
    /// The duct they are cut in.
    pub duct: String,
    /// Which wall.
    #[serde(default)]
    pub face: Face,
    /// Station of the middle of the first slot, m from the duct's first point.
    pub first_station_m: f64,
    /// From middle to middle, m.
    pub pitch_m: f64,
    /// How many slots.
    pub count: u32,
    /// Long side of each slot, m.
    pub length_m: f64,
    /// Short side: one value for all slots, or one for each, m.
    pub widths_m: Vec<f64>,
    /// Share of the air of each slot against other rows' slots.
    #[serde(default = "one")]
    pub weight: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

impl SlotRow {
    /// Short side of slot `k` (from 0), m.
    pub fn width_m(&self, k: usize) -> f64 {
        match self.widths_m.as_slice() {
            [all] => *all,
            each => each.get(k).copied().unwrap_or(0.0),
        }
    }

    /// Name of slot `k` (from 0).
    pub fn slot_id(&self, k: usize) -> String {
        format!("{}/{}", self.id, k + 1)
    }
}

/// A wall opening with a slide damper that takes air back, on a return duct or in the heater's own wall.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReturnOpening {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// The return duct it opens into; the heater's intake plenum when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duct: Option<String>,
    /// Distance along that duct from its first point, m.
    #[serde(default)]
    pub station_m: f64,
    /// Where an opening without a duct is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Point>,
    /// Width across the slide's travel, m.
    pub width_m: f64,
    /// Height along the slide's travel, m.
    pub height_m: f64,
    /// How far the slide stands open, m.
    pub open_m: f64,
    /// Wanted share of the returned air against the other openings.
    #[serde(default = "one")]
    pub weight: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// Air drawn from a zone to outside.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Exhaust {
    /// Name of this item in the plan.
    pub id: String,
    /// The zone it draws from.
    pub zone: String,
    /// Where it leaves.
    pub at: Point,
    /// Mass flow, kg/s.
    pub mass_flow_kg_s: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// What this shop can cut, set and sell.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct ShopRecord {
    /// Smallest step of a slot's width, m.
    pub width_increment_m: f64,
    /// Narrowest slot, m.
    pub min_width_m: f64,
    /// Widest slot, m.
    pub max_width_m: f64,
    /// Slowest discharge that still reaches the part, m/s.
    pub min_discharge_m_s: f64,
    /// Fastest discharge that leaves the finish alone, m/s.
    pub max_discharge_m_s: f64,
    /// Smallest step of a slide, m.
    pub slide_increment_m: f64,
    /// Opening of the slide that needs the most, %: what is left over is the trim reserve.
    pub index_opening_percent: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

impl Default for ShopRecord {
    fn default() -> Self {
        Self {
            width_increment_m: 0.0005,
            min_width_m: 0.003,
            max_width_m: 0.040,
            min_discharge_m_s: 3.0,
            max_discharge_m_s: 30.0,
            slide_increment_m: 0.005,
            index_opening_percent: 80.0,
            extra: Extra::new(),
        }
    }
}

/// Which published laws the plan is solved with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Models {
    /// How a slot's discharge depends on the air passing it.
    pub slot: SlotModel,
    /// Which duct velocity that law sees.
    pub slot_velocity: SlotVelocity,
    /// Regain factor R: static pressure rises by R·(ρ/2)(V₁² − V₂²) across a slot. 1 loses nothing;
    /// 0.8…1.1 for rough, burred or baffled slots.
    pub regain: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

impl Default for Models {
    fn default() -> Self {
        Self {
            slot: SlotModel::default(),
            slot_velocity: SlotVelocity::default(),
            regain: 1.0,
            extra: Extra::new(),
        }
    }
}

/// How a slot's discharge depends on the air passing it in the duct.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", tag = "law", deny_unknown_fields)]
pub enum SlotModel {
    /// Sharp edge: Cd = 0.63 − 0.58·q/E (Rawn, Bowerman & Brooks 1961).
    #[default]
    CrossFlowSharp,
    /// Formed edge: Cd = 0.975·(1 − q/E)^(3/8) (same sources).
    CrossFlowFormed,
    /// Exact two-dimensional free-streamline slot.
    FreeStreamline,
    /// A constant coefficient on total pressure.
    ConstantTotal {
        /// Discharge coefficient.
        cd: f64,
    },
    /// A constant coefficient on static pressure.
    ConstantStatic {
        /// Discharge coefficient.
        cd: f64,
    },
}

/// Which duct velocity a cross-flow slot law sees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SlotVelocity {
    /// The mean of the velocities before and after the slot.
    #[default]
    Mean,
    /// The velocity before the slot.
    Upstream,
}
