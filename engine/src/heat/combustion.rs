//! Fuels: products of combustion, available heat, and the two honest ways to book them.

use crate::air::ZERO_CELSIUS_K;
use crate::plan::{Burner, Fuel};

/// Reactants at 60 °F, K.
const REFERENCE_K: f64 = 288.706;
/// Latent heat of water at 60 °F, J/mol.
const LATENT_J_MOL: f64 = 44_370.0;
/// Moles of nitrogen that come with one of oxygen in dry air.
const NITROGEN_PER_OXYGEN: f64 = 3.762;
/// Molar volume of an ideal gas at 60 °F and one atmosphere, m³/mol.
const MOLAR_VOLUME_M3: f64 = 0.023_690_6;

/// One mole of a fuel.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Mole {
    carbon_dioxide: f64,
    water: f64,
    inert: f64,
    oxygen_needed: f64,
    gross_j: f64,
}

/// What a mole of fuel burns to. Natural gas: 93.5 % methane, 3.6 % ethane, 0.7 % propane, 0.5 % carbon
/// dioxide, 1.7 % nitrogen, a typical pipeline gas of 1026 Btu/ft³.
fn mole(fuel: Fuel) -> Option<Mole> {
    let of = |carbon_dioxide, water, inert, oxygen_needed, gross_j| {
        Some(Mole { carbon_dioxide, water, inert, oxygen_needed, gross_j })
    };
    match fuel {
        Fuel::Methane => of(1.0, 2.0, 0.0, 2.0, 891_400.0),
        Fuel::NaturalGas => of(1.033, 2.006, 0.017, 2.031, 905_300.0),
        Fuel::Propane => of(3.0, 4.0, 0.0, 5.0, 2_221_700.0),
        Fuel::Electric => None,
    }
}

/// A gas in the products of combustion.
#[derive(Clone, Copy)]
enum Gas {
    CarbonDioxide,
    Water,
    Nitrogen,
    Oxygen,
}

/// Enthalpy above 60 °F of a gas, J/mol.
///
/// Shomate's equation, h = A·t + B·t²/2 + C·t³/3 + D·t⁴/4 − E/t + F − H, kJ/mol above 298.15 K, t = T/1000 K; used
/// from 288 K to 1200 K. Source: NIST Chemistry WebBook, gas phase thermochemistry (constants from memory;
/// available heat agrees with an independent equilibrium library within 0.3 points, see the outside checks).
fn enthalpy_j_mol(gas: Gas, kelvin: f64) -> f64 {
    let shomate = |kelvin: f64| {
        let [a, b, c, d, e, f, h] = match gas {
            Gas::CarbonDioxide => {
                [24.997_35, 55.186_96, -33.691_37, 7.948_387, -0.136_638, -403.607_5, -393.522_4]
            }
            Gas::Water => [30.092, 6.832_514, 6.793_435, -2.534_48, 0.082_139, -250.881, -241.826_4],
            Gas::Nitrogen if kelvin <= 500.0 => {
                [28.986_41, 1.853_978, -9.647_459, 16.635_37, 0.000_117, -8.671_914, 0.0]
            }
            Gas::Nitrogen => [19.505_83, 19.887_05, -8.598_535, 1.369_784, 0.527_601, -4.935_202, 0.0],
            Gas::Oxygen if kelvin <= 700.0 => {
                [31.322_34, -20.235_31, 57.866_44, -36.506_24, -0.007_374, -8.903_471, 0.0]
            }
            Gas::Oxygen => [30.032_35, 8.772_972, -3.988_133, 0.788_313, -0.741_599, -11.324_68, 0.0],
        };
        let t = kelvin / 1e3;
        1e3 * (t * (a + t * (b / 2.0 + t * (c / 3.0 + t * d / 4.0))) - e / t + f - h)
    };
    shomate(kelvin) - shomate(REFERENCE_K)
}

/// Share of the gross heating value that is left when the products leave at a temperature.
///
/// AH = 1 − [Σ nᵢ·hᵢ(T) + n_w·L]/H, nᵢ moles of product per mole of fuel, h their enthalpy above 60 °F J/mol, L the
/// latent heat of water 44.37 kJ/mol, H the gross heating value J/mol. Dry air, complete combustion, reactants at
/// 60 °F; 15…900 °C, below zero where even all heat does not reach the temperature. 1 for electric heat, which has
/// no products. Source: first law; North American Combustion Handbook form (from memory).
///
/// ```
/// use engine::{heat::combustion::available_heat, plan::Fuel};
/// assert!((available_heat(Fuel::NaturalGas, 10.0, 204.4) - 0.826).abs() < 0.005);
/// ```
pub fn available_heat(fuel: Fuel, excess_air_percent: f64, products_c: f64) -> f64 {
    let Some(mole) = mole(fuel) else { return 1.0 };
    let kelvin = products_c.clamp(-50.0, 1_200.0) + ZERO_CELSIUS_K;
    let excess = 0.01 * excess_air_percent.max(0.0);
    let nitrogen = mole.inert + NITROGEN_PER_OXYGEN * mole.oxygen_needed * (1.0 + excess);
    let carried = mole.carbon_dioxide * enthalpy_j_mol(Gas::CarbonDioxide, kelvin)
        + mole.water * (enthalpy_j_mol(Gas::Water, kelvin) + LATENT_J_MOL)
        + nitrogen * enthalpy_j_mol(Gas::Nitrogen, kelvin)
        + excess * mole.oxygen_needed * enthalpy_j_mol(Gas::Oxygen, kelvin);
    1.0 - carried / mole.gross_j
}

/// Net (lower) over gross (higher) heating value: 1 − n_w·L/H.
///
/// ```
/// use engine::{heat::combustion::net_over_gross, plan::Fuel};
/// assert!((net_over_gross(Fuel::NaturalGas) - 0.902).abs() < 0.001);
/// ```
pub fn net_over_gross(fuel: Fuel) -> f64 {
    mole(fuel).map_or(1.0, |mole| 1.0 - mole.water * LATENT_J_MOL / mole.gross_j)
}

/// Volume of air per volume of fuel for complete combustion; 0 for electric heat.
pub fn air_over_fuel(fuel: Fuel) -> f64 {
    mole(fuel).map_or(0.0, |mole| (1.0 + NITROGEN_PER_OXYGEN) * mole.oxygen_needed)
}

/// Oxygen in the dry products, % by volume: what an analyser shows.
pub fn dry_oxygen_percent(fuel: Fuel, excess_air_percent: f64) -> f64 {
    let Some(mole) = mole(fuel) else { return 20.95 };
    let excess = 0.01 * excess_air_percent;
    let oxygen = excess * mole.oxygen_needed;
    let nitrogen = mole.inert + NITROGEN_PER_OXYGEN * mole.oxygen_needed * (1.0 + excess);
    100.0 * oxygen / (oxygen + nitrogen + mole.carbon_dioxide)
}

/// Flows of one watt of fuel on the gross heating value.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PerWatt {
    /// Wet products at 60 °F and one atmosphere, m³/s.
    pub products_std_m3_s: f64,
    /// Combustion air, kg/s.
    pub air_kg_s: f64,
    /// Fuel, kg/s.
    pub fuel_kg_s: f64,
    /// Water in the products, kg/s.
    pub water_kg_s: f64,
}

/// Products, air and water per watt of fuel.
///
/// Molar balance of complete combustion with dry air, molar volume 23.69 l at 60 °F.
///
/// ```
/// use engine::{heat::combustion::per_watt, plan::Fuel};
/// let scfm = per_watt(Fuel::Methane, 0.0).products_std_m3_s * 293_071.0 / 0.000_471_947;
/// assert!((scfm - 173.6).abs() < 1.0);
/// ```
pub fn per_watt(fuel: Fuel, excess_air_percent: f64) -> PerWatt {
    let Some(mole) = mole(fuel) else { return PerWatt::default() };
    let air = (1.0 + NITROGEN_PER_OXYGEN) * mole.oxygen_needed * (1.0 + 0.01 * excess_air_percent);
    let products = mole.carbon_dioxide + mole.water + mole.inert + air - mole.oxygen_needed;
    let dry = mole.carbon_dioxide * 44.010 + mole.inert * 28.013 + mole.water * 18.015;
    let fuel_g = dry - mole.oxygen_needed * 31.998;
    PerWatt {
        products_std_m3_s: products * MOLAR_VOLUME_M3 / mole.gross_j,
        air_kg_s: air * 28.965e-3 / mole.gross_j,
        fuel_kg_s: fuel_g * 1e-3 / mole.gross_j,
        water_kg_s: mole.water * 18.015e-3 / mole.gross_j,
    }
}

/// Air and fuel that enter the oven's air with a burner's gross input, kg/s: what a direct-fired burner burns and adds.
///
/// ```
/// # use engine::{heat::combustion::added_kg_s, plan::{Burner, Fuel}};
/// let burner: Burner = serde_json::from_str(r#"{"rated_w": 300000, "fuel": "methane", "excess_air_percent": 0}"#).unwrap();
/// // 100 kW: 1.8 g/s of methane (55.6 MJ/kg) with 17.2 times as much air.
/// assert!((added_kg_s(&burner, 1e5) / (1.8e-3 * 18.2) - 1.0).abs() < 0.01);
/// ```
pub fn added_kg_s(burner: &Burner, input_w: f64) -> f64 {
    let per_watt = per_watt(burner.fuel, burner.excess_air_percent);
    if burner.direct { input_w.max(0.0) * (per_watt.air_kg_s + per_watt.fuel_kg_s) } else { 0.0 }
}

/// Water in the products of a burner, kg per kg of the rest, combustion air taken as dry; 0 without products.
pub fn products_humidity_ratio(burner: &Burner) -> f64 {
    let per_watt = per_watt(burner.fuel, burner.excess_air_percent);
    per_watt.water_kg_s / (per_watt.air_kg_s + per_watt.fuel_kg_s - per_watt.water_kg_s).max(1e-300)
}

/// Share of the burner's gross input that reaches the oven's air, the whole exhaust being booked as a loss of its own.
///
/// Measured efficiency where entered; direct firing loses the latent heat only (net over gross); a heat exchanger
/// loses what its flue carries, taken at 120 K above the supply air (common practice, no published source).
/// Nothing is counted twice: with this share the products must be part of the exhaust flow.
pub fn share_to_air(burner: &Burner, supply_c: f64) -> f64 {
    let share = burner.efficiency_percent.map_or_else(
        || {
            if burner.direct {
                net_over_gross(burner.fuel)
            } else {
                available_heat(burner.fuel, burner.excess_air_percent, supply_c + 120.0)
            }
        },
        |percent| 0.01 * percent,
    );
    share.clamp(0.01, 1.0)
}
