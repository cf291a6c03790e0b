//! Ducts, their sections, bends and dampers.

use super::{Extra, Point, load, one};
use crate::plan::record::{choice, record};
use serde::{Deserialize, Serialize};

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

choice!(DuctRole { Supply = "supply", Transfer = "transfer", Return = "return" });

/// A duct drawn as a line of points; by convention air flows from the first to the last.
///
/// Ducts join by geometry: where an end of one touches another, the heater's intake or its
/// discharge, a joint forms by itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    /// One measured leakage figure, used instead of the class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leakage_test: Option<LeakageTest>,
    /// A blade damper at its first point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub damper: Option<BladeDamper>,
    /// Thickness of its insulation, m; 0 for a bare duct, which cools its air inside the oven.
    #[serde(default, skip_serializing_if = "load::is_zero")]
    pub insulation_m: f64,
    /// Height of its underside above the floor, m; 0 stands on it.
    #[serde(default, skip_serializing_if = "load::is_zero")]
    pub underside_m: f64,
    /// Stations at which it passes a wall in a sleeve, m.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sleeves_m: Vec<f64>,
    /// Whether its free end is a cover that can be taken off to clean the duct.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub clean_out: bool,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Duct { id, path, section } or { name, role, steps, roughness_m = sheet_roughness(), elbows, leakage_class, leakage_test, damper, insulation_m, underside_m, sleeves_m, clean_out });

impl Duct {
    /// A plain duct of ordinary sheet, tight and without a damper.
    pub fn new(id: impl Into<String>, role: DuctRole, path: Vec<Point>, section: Section) -> Self {
        Self {
            id: id.into(),
            name: String::new(),
            role,
            path,
            section,
            steps: Vec::new(),
            roughness_m: sheet_roughness(),
            elbows: ElbowStyle::default(),
            leakage_class: None,
            leakage_test: None,
            damper: None,
            insulation_m: 0.0,
            sleeves_m: Vec::new(),
            underside_m: 0.0,
            clean_out: false,
            extra: Extra::new(),
        }
    }
}

impl BladeDamper {
    /// Its free area in `duct` fully open, m².
    pub fn area_m2(&self, duct: &Duct) -> f64 {
        let full = duct.section.area_m2();
        self.size.map_or(full, |size| size.area_m2().min(full))
    }

    /// Opposed blades, set by hand, that leak 1 % when shut.
    pub fn new(open_percent: f64) -> Self {
        Self {
            blades: Blades::Opposed,
            open_percent,
            leakage_percent: 1.0,
            modulation: None,
            size: None,
            extra: Extra::new(),
        }
    }
}

pub(super) fn sheet_roughness() -> f64 {
    0.000_09
}

/// A leakage test: what a known surface of duct lost at a known pressure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LeakageTest {
    /// Leakage, m³/s.
    pub flow_m3_s: f64,
    /// Surface under test, m².
    pub surface_m2: f64,
    /// Test pressure, Pa.
    pub pressure_pa: f64,
}

record!(strict LeakageTest { flow_m3_s, surface_m2, pressure_pa } or {});

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

choice!(LeakageClass { A = "A", B = "B", C = "C", D = "D" });

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
pub(in crate::plan) struct SectionFields {
    #[serde(skip_serializing_if = "Option::is_none")]
    width_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    height_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    diameter_m: Option<f64>,
}

record!(strict SectionFields as it is by default { width_m, height_m, diameter_m });

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

record!(strict SizeStep { station_m, section } or {});

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

choice!(ElbowStyle { Mitred = "mitred", Vaned = "vaned", Radius = "radius" });

/// A blade damper in a duct, set by the travel of its blades.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    /// How a controller moves it; none for a damper set by hand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub modulation: Option<Modulation>,
    /// Inside size where it is not that of its duct; taken no larger than the duct.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<Section>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(BladeDamper { open_percent } or { blades, leakage_percent = one(), modulation, size });

/// How a controller moves a damper to hold a zone's temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Modulation {
    /// The zone whose temperature it holds.
    pub zone: String,
    /// Least travel its stop allows, %.
    #[serde(default)]
    pub least_percent: f64,
    /// Most travel it is allowed, %.
    #[serde(default = "fully")]
    pub most_percent: f64,
}

record!(strict Modulation { zone } or { least_percent, most_percent = fully() });

fn fully() -> f64 {
    100.0
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

choice!(Blades { Opposed = "opposed", Parallel = "parallel" });
