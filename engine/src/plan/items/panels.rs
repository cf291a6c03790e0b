//! What the box is built of: wall and roof panels, the floor on its slab, and room to grow.

use super::{Extra, Material, load};
use crate::plan::record::{choice, record};
use serde::{Deserialize, Serialize};

/// Panel build-ups of the enclosure.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Panels {
    /// Wall panels.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wall: Option<PanelBuildUp>,
    /// Roof panels; those of the wall when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub roof: Option<PanelBuildUp>,
    /// The floor and the slab under it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub floor: Option<FloorBuildUp>,
    /// How the loss of walls and roof is reckoned; the two differ four- to fivefold.
    pub basis: PanelBasis,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Panels as it is by default { wall, roof, floor, basis });

/// How the loss of a panel is reckoned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum PanelBasis {
    /// Conduction through the clear panel, and through the metal at each joint.
    #[default]
    ClearAndJoints,
    /// The trade's published factor by thickness, which covers joints, doors and leakage.
    TradeFactor,
}

choice!(PanelBasis { ClearAndJoints = "clear_and_joints", TradeFactor = "trade_factor" });

/// A sheet-metal panel filled with insulation.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PanelBuildUp {
    /// Thickness of the insulation, m.
    pub insulation_m: f64,
    /// Conductivity of the insulation at points of its mean temperature; stone wool of 80…100 kg/m³ when left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub conductivity_points: Vec<ConductivityPoint>,
    /// Density of the insulation, kg/m³.
    #[serde(default = "wool_density")]
    pub insulation_density_kg_m3: f64,
    /// Thickness of the inner skin, m.
    #[serde(default = "inner_skin")]
    pub inner_skin_m: f64,
    /// Thickness of the outer skin, m.
    #[serde(default = "outer_skin")]
    pub outer_skin_m: f64,
    /// Emissivity of the outer face: 0.26 bare galvanised, 0.9 painted.
    #[serde(default = "load::painted")]
    pub outer_emissivity: f64,
    /// Metal that ties the skins together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joints: Option<Joints>,
    /// The shop's own loss factor, W/(m²·K), used with the basis "trade_factor" instead of the published one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub loss_factor_w_m2k: Option<f64>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(PanelBuildUp { insulation_m } or { conductivity_points, insulation_density_kg_m3 = wool_density(), inner_skin_m = inner_skin(), outer_skin_m = outer_skin(), outer_emissivity = load::painted(), joints, loss_factor_w_m2k });

impl PanelBuildUp {
    /// A painted panel of stone wool without joints.
    pub fn new(insulation_m: f64) -> Self {
        Self {
            insulation_m,
            conductivity_points: Vec::new(),
            insulation_density_kg_m3: wool_density(),
            inner_skin_m: inner_skin(),
            outer_skin_m: outer_skin(),
            outer_emissivity: load::painted(),
            joints: None,
            loss_factor_w_m2k: None,
            extra: Extra::new(),
        }
    }
}

fn wool_density() -> f64 {
    90.0
}
fn inner_skin() -> f64 {
    0.001
}
fn outer_skin() -> f64 {
    0.000_8
}

/// Conductivity of an insulation at one mean temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ConductivityPoint {
    /// Mean temperature, °C.
    pub temperature_c: f64,
    /// Conductivity, W/(m·K).
    pub conductivity_w_mk: f64,
}

record!(strict ConductivityPoint { temperature_c, conductivity_w_mk } or {});

/// Webs of metal from skin to skin, side by side at one pitch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Joints {
    /// Distance from joint to joint, m.
    pub pitch_m: f64,
    /// Webs at each joint.
    #[serde(default = "two_webs")]
    pub webs: u32,
    /// Sheet thickness of a web, m.
    #[serde(default = "web")]
    pub web_thickness_m: f64,
    /// Metal left by slots across the web, %: 100 unslotted.
    #[serde(default = "whole")]
    pub metal_percent: f64,
    /// What the webs are made of.
    #[serde(default)]
    pub material: Material,
    /// A load-bearing thermal break under each web: its thickness, m.
    #[serde(default, skip_serializing_if = "load::is_zero")]
    pub break_m: f64,
    /// Conductivity of that break, W/(m·K); calcium silicate when left out.
    #[serde(default = "break_conductivity")]
    pub break_conductivity_w_mk: f64,
    /// Width of that break under the web, m.
    #[serde(default = "break_width")]
    pub break_width_m: f64,
}

record!(strict Joints { pitch_m } or { webs = two_webs(), web_thickness_m = web(), metal_percent = whole(), material, break_m, break_conductivity_w_mk = break_conductivity(), break_width_m = break_width() });

impl Joints {
    /// Usual joints: two webs of 1.2 mm, slotted to a fifth of their metal.
    pub fn usual(pitch_m: f64) -> Self {
        Self {
            pitch_m,
            webs: two_webs(),
            web_thickness_m: web(),
            metal_percent: 20.0,
            material: Material::Steel,
            break_m: 0.0,
            break_conductivity_w_mk: break_conductivity(),
            break_width_m: break_width(),
        }
    }
}

fn two_webs() -> u32 {
    2
}
fn web() -> f64 {
    0.001_2
}
fn whole() -> f64 {
    100.0
}
fn break_conductivity() -> f64 {
    0.25
}
fn break_width() -> f64 {
    0.05
}

/// Insulated floor on a concrete slab on the ground.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FloorBuildUp {
    /// Thickness of the insulation, m.
    pub insulation_m: f64,
    /// The space between insulation and slab; none where it lies on the slab.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap: Option<FloorGap>,
    /// Channels that carry the deck through the insulation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub channels: Option<Joints>,
    /// Thickness of the deck, m.
    #[serde(default = "deck")]
    pub deck_m: f64,
    /// The concrete slab.
    #[serde(default)]
    pub slab: Slab,
    /// Conductivity of the soil, W/(m·K).
    #[serde(default = "soil_conductivity")]
    pub soil_conductivity_w_mk: f64,
    /// Thermal diffusivity of the soil, m²/s.
    #[serde(default = "soil_diffusivity")]
    pub soil_diffusivity_m2_s: f64,
    /// Undisturbed ground, °C.
    #[serde(default = "ground")]
    pub ground_c: f64,
    /// Share of the year the oven is hot, %.
    #[serde(default = "whole")]
    pub duty_percent: f64,
    /// Hottest the top of the slab may get over years, °C; 66 by ACI 349 when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slab_limit_c: Option<f64>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(FloorBuildUp { insulation_m } or { gap, channels, deck_m = deck(), slab, soil_conductivity_w_mk = soil_conductivity(), soil_diffusivity_m2_s = soil_diffusivity(), ground_c = ground(), duty_percent = whole(), slab_limit_c });

fn deck() -> f64 {
    0.002
}
fn soil_conductivity() -> f64 {
    2.0
}
fn soil_diffusivity() -> f64 {
    1e-6
}
fn ground() -> f64 {
    12.0
}

/// The space between floor insulation and slab.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FloorGap {
    /// Clear height, m.
    pub height_m: f64,
    /// Room air led through it, m³/s; 0 for a still gap.
    #[serde(default, skip_serializing_if = "load::is_zero")]
    pub ventilation_m3_s: f64,
    /// Emissivity of the face above, usually galvanised sheet.
    #[serde(default = "galvanised")]
    pub upper_emissivity: f64,
}

record!(strict FloorGap { height_m } or { ventilation_m3_s, upper_emissivity = galvanised() });

fn galvanised() -> f64 {
    0.26
}

/// A concrete slab.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct Slab {
    /// Thickness, m.
    pub thickness_m: f64,
    /// Conductivity, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Thermal diffusivity, m²/s.
    pub diffusivity_m2_s: f64,
}

record!(strict Slab as it is by default { thickness_m, conductivity_w_mk, diffusivity_m2_s });

impl Default for Slab {
    fn default() -> Self {
        Self { thickness_m: 0.2, conductivity_w_mk: 1.8, diffusivity_m2_s: 8.7e-7 }
    }
}

/// Room left for hot metal to grow.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Growth {
    /// What the inner skin is made of.
    pub skin: Material,
    /// What the ducts are made of.
    pub duct: Material,
    /// Width of a panel from joint to joint, m.
    pub panel_width_m: f64,
    /// Gap left at each panel joint, m; about half an inch between roof panels is common practice.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub panel_gap_m: Option<f64>,
    /// Free travel of one slip joint of a duct, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub duct_gap_m: Option<f64>,
    /// Longest stretch of duct between slip joints, m.
    pub duct_stretch_m: f64,
    /// Free travel of one expansion joint of the conveyor rail, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rail_gap_m: Option<f64>,
    /// Longest stretch of rail between expansion joints, m.
    pub rail_stretch_m: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Growth as it is by default { skin, duct, panel_width_m, panel_gap_m, duct_gap_m, duct_stretch_m, rail_gap_m, rail_stretch_m });

impl FloorBuildUp {
    /// Insulation laid on a usual slab.
    pub fn new(insulation_m: f64) -> Self {
        Self {
            insulation_m,
            gap: None,
            channels: None,
            deck_m: deck(),
            slab: Slab::default(),
            soil_conductivity_w_mk: soil_conductivity(),
            soil_diffusivity_m2_s: soil_diffusivity(),
            ground_c: ground(),
            duty_percent: whole(),
            slab_limit_c: None,
            extra: Extra::new(),
        }
    }
}

impl Default for Growth {
    fn default() -> Self {
        Self {
            skin: Material::Steel,
            duct: Material::Steel,
            panel_width_m: 0.6,
            panel_gap_m: None,
            duct_gap_m: None,
            duct_stretch_m: 6.0,
            rail_gap_m: None,
            rail_stretch_m: 15.0,
            extra: Extra::new(),
        }
    }
}
