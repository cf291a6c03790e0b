//! What the oven heats: parts, hangers and chain, and the coating that must cure on them.

use super::Extra;
use crate::plan::record::{choice, record};
use serde::{Deserialize, Serialize};

/// What hangs on the conveyor: parts of several kinds, of which the lightest and the heaviest are judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Load {
    /// Temperature of the parts as they come in, °C.
    #[serde(default = "room_c")]
    pub entry_temperature_c: f64,
    /// Kinds of parts; each is taken to fill the line by itself.
    #[serde(default)]
    pub parts: Vec<HungPart>,
    /// Hangers, racks and hooks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hangers: Option<Carried>,
    /// Chain, trolleys and whatever of the conveyor moves with them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chain: Option<Carried>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Load {  } or { entry_temperature_c = room_c(), parts, hangers, chain });

fn room_c() -> f64 {
    20.0
}

/// One kind of part as it hangs on the line.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HungPart {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Mass hung per metre of conveyor, kg/m.
    pub kg_per_m: f64,
    /// What it is made of.
    #[serde(default)]
    pub material: Material,
    /// What most of it is made from; sets how fast its inside follows its skin.
    pub shape: PartShape,
    /// Length along the rising air, m.
    #[serde(default = "one_metre")]
    pub height_m: f64,
    /// Wetted and heated surface per metre of conveyor, both sides, m²/m; from mass and shape when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub surface_m2_per_m: Option<f64>,
    /// Water carried into the dry-off zone, kg per m² of surface; pockets and cups decide it.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub water_kg_m2: f64,
    /// Powder carried into the cure zone, kg per m² of surface; wet paint counts by the coating's solvents.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub powder_kg_m2: f64,
    /// Long-wave emissivity of its surface; 0.9 for paint and powder.
    #[serde(default = "painted")]
    pub emissivity: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(HungPart { id, kg_per_m, shape } or { name, material, height_m = one_metre(), surface_m2_per_m, water_kg_m2, powder_kg_m2, emissivity = painted() });

fn one_metre() -> f64 {
    1.0
}
pub(super) fn painted() -> f64 {
    0.9
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
pub(super) fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

/// What something is made of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Material {
    /// Carbon steel, also galvanised and aluminised.
    #[default]
    Steel,
    /// Austenitic stainless steel, 304 and its kin.
    StainlessSteel,
    /// Aluminium alloys.
    Aluminium,
    /// Anything else, by its figures.
    Other {
        /// Specific heat, J/(kg·K).
        specific_heat_j_kgk: f64,
        /// Conductivity, W/(m·K).
        conductivity_w_mk: f64,
        /// Density, kg/m³.
        density_kg_m3: f64,
    },
}

choice!(Material {
    Steel = "steel",
    StainlessSteel = "stainless_steel",
    Aluminium = "aluminium",
    Other = "other" { specific_heat_j_kgk, conductivity_w_mk, density_kg_m3 }
});

/// What a part is mostly made from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum PartShape {
    /// Sheet or plate, heated from both sides.
    Sheet {
        /// Thickness, m.
        thickness_m: f64,
    },
    /// Round or square bar.
    Bar {
        /// Diameter or side, m.
        diameter_m: f64,
    },
    /// Closed tube, round or square, heated from outside only.
    Tube {
        /// Outside diameter or side, m.
        diameter_m: f64,
        /// Wall, m.
        wall_m: f64,
    },
}

choice!(PartShape { Sheet = "sheet" { thickness_m }, Bar = "bar" { diameter_m }, Tube = "tube" { diameter_m, wall_m } });

/// Metal that goes along with the parts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Carried {
    /// Mass per metre of conveyor, kg/m.
    pub kg_per_m: f64,
    /// Specific heat, J/(kg·K); steel at 20…200 °C when left out.
    #[serde(default = "steel_heat")]
    pub specific_heat_j_kgk: f64,
    /// Temperature as it comes in, °C; warm where it returns hot from the oven. That of the parts when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry_temperature_c: Option<f64>,
}

record!(strict Carried { kg_per_m } or { specific_heat_j_kgk = steel_heat(), entry_temperature_c });

fn steel_heat() -> f64 {
    490.0
}

/// The coating: what its supplier asks for, and what leaves it in the oven.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Coating {
    /// What the supplier calls it.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// Equal schedules of the data sheet: metal temperature and time at it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cure_points: Vec<CurePoint>,
    /// Metal temperature at which it discolours or turns brittle, °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub over_bake_c: Option<f64>,
    /// How many times the cure time at temperature it bears.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub over_bake_times: Option<f64>,
    /// Metal temperature at which the powder has fused and holds, °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fuse_c: Option<f64>,
    /// Fastest air the powder bears before it has fused, m/s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub air_limit_before_fuse_m_s: Option<f64>,
    /// Share of the powder's mass that leaves it as vapour in the oven, %; dilution counts 9 at least.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volatile_percent: Option<f64>,
    /// Flammable solvents that come in with the parts.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub solvents: Vec<Solvent>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Coating as it is by default { name, cure_points, over_bake_c, over_bake_times, fuse_c, air_limit_before_fuse_m_s, volatile_percent, solvents });

/// One schedule of a data sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CurePoint {
    /// Metal temperature, °C.
    pub temperature_c: f64,
    /// Time at that temperature, min.
    pub minutes: f64,
}

record!(strict CurePoint { temperature_c, minutes } or {});

/// A flammable solvent brought into the oven.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Solvent {
    /// What it is.
    pub name: String,
    /// Mass evaporated in the oven, kg/s.
    pub kg_s: f64,
    /// Lower flammable limit at room temperature, % by volume.
    pub lfl_percent: f64,
    /// Molar mass, g/mol.
    pub molar_mass_g_mol: f64,
    /// Density of the liquid over that of water; used where amounts are told by volume.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub specific_gravity: Option<f64>,
}

record!(strict Solvent { name, kg_s, lfl_percent, molar_mass_g_mol } or { specific_gravity });
