//! Safety ventilation, purge and relief: arithmetic that reminds and never approves.
//!
//! Every rule names its basis, with edition and clause where known; values from memory say so. The code in force
//! where the oven stands and a licensed engineer decide.

mod findings;

pub use findings::judge;

use crate::plan::Plan;

/// Density of standard air, kg/m³ (0.075 lb/ft³).
pub const STANDARD_DENSITY_KG_M3: f64 = 1.2014;
/// Volume of a mole of gas in standard air, m³: 28.96 g over its density.
const STANDARD_MOLE_M3: f64 = 0.028_96 / STANDARD_DENSITY_KG_M3;
/// Volume of an oven for each unit of relief area, m: 15 ft³ per ft².
pub const RELIEF_M: f64 = 4.572;
/// Products and the air around them for each watt of direct firing, standard m³/s: 183 scfm per million Btu/h.
pub const PRODUCTS_M3_S_W: f64 = 183.0 * 0.028_316_846_592 / 60.0 / 293_071.07;
/// Xylene stands for the volatile share of powder: share of its mass, molar mass g/mol, limit % by volume.
const POWDER_AS_XYLENE: (f64, f64, f64) = (0.09, 106.17, 0.9);

/// Lower flammable limit at temperature over that at room temperature.
///
/// f = (1300 − T)/(1300 − 25), T °C; 25…800 °C, 1 below. The same as 1 − 0.000436·(T_F − 77). Not conservative for
/// all: acetone, benzene, hexane and cyclohexane were measured at 0.67…0.75 at 200 °C where it gives 0.86 (Ludwig,
/// Applied Process Design 1, 3rd ed., table 7-22). Source: rule of Burgess & Wheeler and Zabetakis; the form NFPA 86
/// uses (from memory).
///
/// ```
/// assert!((engine::safety::lfl_factor(200.0) - 0.8627).abs() < 1e-4);
/// ```
pub fn lfl_factor(temperature_c: f64) -> f64 {
    ((1_300.0 - temperature_c.clamp(25.0, 800.0)) / 1_275.0).min(1.0)
}

/// Fresh air that dilutes a vapour to a share of its lower flammable limit, standard m³/s.
///
/// Q = ṁ/M·V_m·(100 − L)/L·100/s; ṁ kg/s, M kg/mol, V_m 0.0241 m³/mol, L limit at oven temperature % by volume, s the
/// share allowed %, 25 without monitoring. Infinite where the limit or the share is not above zero.
/// Source: the form of NFPA 86 for continuous ovens (from memory); 25 % as summarised in trade notes on it.
///
/// ```
/// // A litre of toluene an hour (0.87 kg) at 25 °C, 25 %: 81.7 m³ of fresh air.
/// let q = engine::safety::dilution_std_m3_s(0.87 / 3_600.0, 92.14, 1.1, 25.0);
/// assert!((q * 3_600.0 - 81.8).abs() < 0.3);
/// ```
pub fn dilution_std_m3_s(kg_s: f64, molar_mass_g_mol: f64, lfl_percent: f64, share_percent: f64) -> f64 {
    if kg_s <= 0.0 {
        return 0.0;
    }
    if !(lfl_percent > 0.0 && share_percent > 0.0 && molar_mass_g_mol > 0.0) {
        return f64::INFINITY;
    }
    let vapour = kg_s / (1e-3 * molar_mass_g_mol) * STANDARD_MOLE_M3;
    vapour * (100.0 - lfl_percent) / lfl_percent * 100.0 / share_percent
}

/// Safety ventilation for powder, standard m³/s: as if 9 % of its mass were xylene and the rest inert; more where
/// `volatile_percent` says that more leaves it.
///
/// Source: NFPA 86, chapter 11 of the 2003 to 2019 editions (from memory).
pub fn powder_dilution_std_m3_s(
    powder_kg_s: f64,
    volatile_percent: f64,
    oven_c: f64,
    share_percent: f64,
) -> f64 {
    let (share, molar, limit) = POWDER_AS_XYLENE;
    let share = share.max(0.01 * volatile_percent);
    dilution_std_m3_s(share * powder_kg_s, molar, limit * lfl_factor(oven_c), share_percent)
}

/// Purge time, s: t = n·V/Q, V volume m³, Q fresh air standard m³/s, n volume changes; infinite without flow.
///
/// ```
/// assert_eq!(engine::safety::purge_time_s(156.0, 1.0, 4.0), 624.0);
/// ```
pub fn purge_time_s(volume_m3: f64, fresh_std_m3_s: f64, changes: f64) -> f64 {
    if fresh_std_m3_s > 0.0 { changes * volume_m3 / fresh_std_m3_s } else { f64::INFINITY }
}

/// One reason to draw air out.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    /// What asks for it.
    pub what: String,
    /// Fresh air at standard density, m³/s.
    pub std_m3_s: f64,
}

/// Safety ventilation a plan asks for, term by term; the terms add up.
///
/// Solvents by their own limits, powder as xylene, products of a direct-fired burner by its rating. Powder is the
/// most any part carries in.
pub fn demands(plan: &Plan) -> Vec<Demand> {
    let oven_c = plan.zones.iter().map(|zone| zone.set_temperature_c).fold(25.0, f64::max);
    let speed = plan.conveyor.as_ref().map_or(0.0, |conveyor| conveyor.speed_m_s);
    demands_of(plan, speed, oven_c)
}

/// The same at a line speed and temperature that are not drawn yet.
pub fn demands_of(plan: &Plan, speed_m_s: f64, oven_c: f64) -> Vec<Demand> {
    let share = lfl_share_percent(plan);
    let mut demands = Vec::new();
    let mut add = |what: String, std_m3_s: f64| {
        if std_m3_s > 0.0 {
            demands.push(Demand { what, std_m3_s });
        }
    };
    for solvent in plan.coating.iter().flat_map(|coating| &coating.solvents) {
        let limit = solvent.lfl_percent * lfl_factor(oven_c);
        add(solvent.name.clone(), dilution_std_m3_s(solvent.kg_s, solvent.molar_mass_g_mol, limit, share));
    }
    let volatile = plan.coating.as_ref().and_then(|coating| coating.volatile_percent).unwrap_or(0.0);
    let powder = powder_kg_s(plan, speed_m_s);
    add("powder".to_owned(), powder_dilution_std_m3_s(powder, volatile, oven_c, share));
    if let Some(burner) = plan.heater.burner.as_ref()
        && burner.direct
        && burner.fuel != crate::plan::Fuel::Electric
    {
        add("products of combustion".to_owned(), PRODUCTS_M3_S_W * burner.rated_w);
    }
    demands
}

/// Share of the lower flammable limit that vapour may reach, %: as entered, otherwise 25.
pub fn lfl_share_percent(plan: &Plan) -> f64 {
    plan.safety.as_ref().and_then(|safety| safety.lfl_share_percent).unwrap_or(25.0)
}

/// The most powder any kind of part carries into the oven, kg/s.
pub fn powder_kg_s(plan: &Plan, speed_m_s: f64) -> f64 {
    let parts = plan.load.iter().flat_map(|load| &load.parts);
    parts
        .filter_map(|part| Some(part.powder_kg_m2 * crate::heat::material::surface_m2_per_m(part)?))
        .fold(0.0, f64::max)
        * speed_m_s.max(0.0)
}

/// Air inside oven and heater house, m³.
pub fn volume_m3(plan: &Plan) -> f64 {
    let floor = crate::heat::bays::floor_area_m2(&plan.enclosure.outline);
    floor * plan.enclosure.height_m + plan.heater.house.as_ref().map_or(0.0, |house| house.volume_m3)
}

/// Fresh air of the purge, standard m³/s: as entered, otherwise what the exhausts of heated zones draw.
pub fn purge_flow_std_m3_s(plan: &Plan) -> f64 {
    let entered = plan.safety.as_ref().and_then(|safety| safety.purge_flow_std_m3_s);
    entered.unwrap_or_else(|| drawn_std_m3_s(plan))
}

/// Air that exhausts draw from heated zones, standard m³/s: what a vestibule's hood draws is mostly plant air and
/// thins no vapour.
pub fn drawn_std_m3_s(plan: &Plan) -> f64 {
    let is_heated = |id: &str| plan.zones.iter().all(|zone| zone.id != id || !zone.unheated);
    let drawing = plan.exhausts.iter().filter(|exhaust| is_heated(&exhaust.zone));
    drawing.map(|exhaust| exhaust.mass_flow_kg_s).sum::<f64>() / STANDARD_DENSITY_KG_M3
}
