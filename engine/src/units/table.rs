//! Which units there are for what, their spellings, and which is shown with how many digits.

use super::{Kind, UnitSystem};
use uom::si::f64::{
    Angle, AngularVelocity, Area, Length, Mass, MassDensity, MassRate, Power, Pressure, Ratio,
    TemperatureInterval, ThermodynamicTemperature, Time, Velocity, VolumeRate,
};
use uom::si::{
    angle, angular_velocity, area, length, mass, mass_density, mass_rate, power, pressure, ratio,
    temperature_interval, thermodynamic_temperature, time, velocity, volume_rate,
};

/// One unit of one kind of quantity.
pub(super) struct Unit {
    /// The symbol shown, then every other accepted spelling without spaces and dots, in small letters.
    spellings: &'static [&'static str],
    factor: fn() -> f64,
    zero: fn() -> f64,
}

impl Unit {
    const fn new(spellings: &'static [&'static str], factor: fn() -> f64) -> Self {
        Self { spellings, factor, zero: || 0.0 }
    }

    /// The symbol shown.
    pub fn symbol(&self) -> &'static str {
        self.spellings[0]
    }

    /// SI for one of it.
    pub fn factor(&self) -> f64 {
        (self.factor)()
    }

    /// SI at its zero.
    pub fn zero(&self) -> f64 {
        (self.zero)()
    }

    /// Whether `folded` (see [`fold`]) is a spelling of it.
    pub fn is_written(&self, folded: &str) -> bool {
        fold(self.spellings[0]) == folded || self.spellings[1..].contains(&folded)
    }
}

/// Small letters without spaces, dots, carets; raised digits as plain ones.
pub(super) fn fold(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '^' | '·'))
        .map(|c| match c {
            '²' | '₂' => '2',
            '³' => '3',
            'º' | '˚' => '°',
            c => c.to_ascii_lowercase(),
        })
        .collect()
}

/// The unit a kind is shown in, and how many digits after the point.
pub(super) struct Shown {
    pub unit: &'static Unit,
    pub digits: usize,
}

fn minute() -> Time {
    Time::new::<time::minute>(1.0)
}

// uom's cubic foot has seven digits; its foot is exact.
fn cubic_feet_per_minute() -> f64 {
    let foot = Length::new::<length::foot>(1.0);
    (foot * foot * foot / minute()).get::<volume_rate::cubic_meter_per_second>()
}

/// °C at the zero of a temperature scale.
fn celsius_at_zero<N>() -> f64
where
    N: uom::si::thermodynamic_temperature::Unit + uom::Conversion<f64, T = f64>,
{
    ThermodynamicTemperature::new::<N>(0.0).get::<thermodynamic_temperature::degree_celsius>()
}

macro_rules! unit {
    ($spellings:expr, $quantity:ident, $module:ident :: $name:ident, $si:ident) => {
        Unit::new(&$spellings, || $quantity::new::<$module::$name>(1.0).get::<$module::$si>())
    };
}

static LENGTHS: [Unit; 5] = [
    unit!(["m", "meter", "metre", "meters", "metres"], Length, length::meter, meter),
    unit!(["mm", "millimeter", "millimetre"], Length, length::millimeter, meter),
    unit!(["cm", "centimeter", "centimetre"], Length, length::centimeter, meter),
    unit!(["ft", "'", "foot", "feet"], Length, length::foot, meter),
    unit!(["in", "\"", "''", "inch", "inches"], Length, length::inch, meter),
];
static AREAS: [Unit; 5] = [
    unit!(["m²", "sqm"], Area, area::square_meter, square_meter),
    unit!(["ft²", "sqft"], Area, area::square_foot, square_meter),
    unit!(["cm²"], Area, area::square_centimeter, square_meter),
    unit!(["mm²"], Area, area::square_millimeter, square_meter),
    unit!(["in²", "sqin"], Area, area::square_inch, square_meter),
];
static PRESSURES: [Unit; 7] = [
    unit!(["Pa", "pascal"], Pressure, pressure::pascal, pascal),
    unit!(
        ["in.\u{a0}w.c.", "inwg", "inh2o", "\"wc", "\"wg", "\"h2o", "inchwc", "incheswc", "iwc"],
        Pressure,
        pressure::inch_of_water,
        pascal
    ),
    unit!(["kPa"], Pressure, pressure::kilopascal, pascal),
    unit!(["hPa"], Pressure, pressure::hectopascal, pascal),
    unit!(["mbar"], Pressure, pressure::millibar, pascal),
    unit!(["mm\u{a0}w.c.", "mmh2o", "mmwg"], Pressure, pressure::millimeter_of_water, pascal),
    unit!(["in.\u{a0}Hg", "\"hg"], Pressure, pressure::inch_of_mercury, pascal),
];
static VELOCITIES: [Unit; 4] = [
    unit!(["m/s", "mps"], Velocity, velocity::meter_per_second, meter_per_second),
    unit!(["fpm", "ft/min"], Velocity, velocity::foot_per_minute, meter_per_second),
    unit!(["ft/s", "fps"], Velocity, velocity::foot_per_second, meter_per_second),
    Unit::new(&["m/min", "mpm"], meter_per_minute),
];
static LINE_SPEEDS: [Unit; 4] = [
    Unit::new(&["m/min", "mpm"], meter_per_minute),
    unit!(["ft/min", "fpm"], Velocity, velocity::foot_per_minute, meter_per_second),
    unit!(["m/s"], Velocity, velocity::meter_per_second, meter_per_second),
    unit!(["mm/s"], Velocity, velocity::millimeter_per_second, meter_per_second),
];
fn meter_per_minute() -> f64 {
    (Length::new::<length::meter>(1.0) / minute()).get::<velocity::meter_per_second>()
}
static VOLUME_FLOWS: [Unit; 5] = [
    unit!(["m³/s"], VolumeRate, volume_rate::cubic_meter_per_second, cubic_meter_per_second),
    Unit::new(&["acfm"], cubic_feet_per_minute),
    unit!(["m³/h", "m3/hr", "cmh"], VolumeRate, volume_rate::cubic_meter_per_hour, cubic_meter_per_second),
    unit!(["m³/min"], VolumeRate, volume_rate::cubic_meter_per_minute, cubic_meter_per_second),
    unit!(["L/s"], VolumeRate, volume_rate::liter_per_second, cubic_meter_per_second),
];
static MASS_FLOWS: [Unit; 6] = [
    unit!(["kg/s"], MassRate, mass_rate::kilogram_per_second, kilogram_per_second),
    unit!(
        ["lb/h", "lb/hr", "lbs/h", "lbs/hr", "pph"],
        MassRate,
        mass_rate::pound_per_hour,
        kilogram_per_second
    ),
    unit!(["kg/h", "kg/hr"], MassRate, mass_rate::kilogram_per_hour, kilogram_per_second),
    unit!(["lb/s"], MassRate, mass_rate::pound_per_second, kilogram_per_second),
    unit!(["lb/min"], MassRate, mass_rate::pound_per_minute, kilogram_per_second),
    unit!(["g/s"], MassRate, mass_rate::gram_per_second, kilogram_per_second),
];
static TEMPERATURES: [Unit; 3] = [
    Unit {
        spellings: &["°C", "c", "degc"],
        factor: || {
            TemperatureInterval::new::<temperature_interval::degree_celsius>(1.0)
                .get::<temperature_interval::kelvin>()
        },
        zero: celsius_at_zero::<thermodynamic_temperature::degree_celsius>,
    },
    Unit {
        spellings: &["°F", "f", "degf"],
        factor: fahrenheit,
        // 32 °F is 0 °C to the last digit, which uom's way over absolute zero is not.
        zero: || -32.0 * fahrenheit(),
    },
    Unit { spellings: &["K"], factor: || 1.0, zero: celsius_at_zero::<thermodynamic_temperature::kelvin> },
];
fn fahrenheit() -> f64 {
    TemperatureInterval::new::<temperature_interval::degree_fahrenheit>(1.0)
        .get::<temperature_interval::kelvin>()
}
static DIFFERENCES: [Unit; 3] = [
    unit!(["K"], TemperatureInterval, temperature_interval::kelvin, kelvin),
    Unit::new(&["°F", "f", "degf"], fahrenheit),
    unit!(["°C", "c", "degc"], TemperatureInterval, temperature_interval::degree_celsius, kelvin),
];
static POWERS: [Unit; 3] = [
    unit!(["kW"], Power, power::kilowatt, watt),
    unit!(["hp", "bhp"], Power, power::horsepower, watt),
    unit!(["W"], Power, power::watt, watt),
];
/// A British thermal unit per hour (international table), W.
const BTU_H_W: f64 = 0.293_071_07;
static HEAT_RATES: [Unit; 5] = [
    Unit::new(&["kW"], || 1e3),
    Unit::new(&["MBH", "mbtu/h", "kbtu/h"], || 1e3 * BTU_H_W),
    Unit::new(&["W"], || 1.0),
    Unit::new(&["Btu/h", "btuh", "btu/hr"], || BTU_H_W),
    Unit::new(&["MMBtu/h", "mmbh", "mmbtuh", "mmbtu/hr"], || 1e6 * BTU_H_W),
];
/// A cubic foot, m³.
const FOOT3_M3: f64 = 0.028_316_846_592;
static STANDARD_FLOWS: [Unit; 2] =
    [Unit::new(&["std\u{a0}m³/s", "m3/s", "sm3/s"], || 1.0), Unit::new(&["scfm"], || FOOT3_M3 / 60.0)];
static VOLUMES: [Unit; 2] =
    [Unit::new(&["m³", "m3", "cum"], || 1.0), Unit::new(&["ft³", "ft3", "cuft", "cf"], || FOOT3_M3)];
static DURATIONS: [Unit; 3] = [
    Unit::new(&["min", "minutes", "mins"], || 60.0),
    Unit::new(&["s", "sec", "seconds"], || 1.0),
    Unit::new(&["h", "hr", "hours"], || 3_600.0),
];
static DENSITIES: [Unit; 2] = [
    unit!(["kg/m³"], MassDensity, mass_density::kilogram_per_cubic_meter, kilogram_per_cubic_meter),
    unit!(
        ["lb/ft³", "pcf", "lbs/ft3"],
        MassDensity,
        mass_density::pound_per_cubic_foot,
        kilogram_per_cubic_meter
    ),
];
// Plans hold speeds of rotation in rpm.
static ROTATIONS: [Unit; 2] = [
    Unit::new(&["rpm", "1/min", "r/min", "min-1"], || 1.0),
    Unit::new(&["1/s", "rps", "hz"], || {
        {
            AngularVelocity::new::<angular_velocity::revolution_per_second>(1.0)
                / AngularVelocity::new::<angular_velocity::revolution_per_minute>(1.0)
        }
        .get::<ratio::ratio>()
    }),
];
// Angles and shares are held in degrees and percent.
static ANGLES: [Unit; 2] = [
    Unit::new(&["°", "deg", "degrees"], || 1.0),
    Unit::new(&["rad"], || Angle::new::<angle::radian>(1.0).get::<angle::degree>()),
];
static PERCENTS: [Unit; 1] =
    [Unit::new(&["%", "percent", "pct"], || Ratio::new::<ratio::percent>(1.0).get::<ratio::percent>())];
// The international table's Btu, by which the trade reckons: 1,055.055 852 62 J exactly.
fn btu_per_hour() -> f64 {
    1_055.055_852_62 / 3_600.0
}
fn square_foot() -> f64 {
    Area::new::<area::square_foot>(1.0).get::<area::square_meter>()
}
fn pound() -> f64 {
    // Exact by its definition; uom's has seven digits.
    0.453_592_37
}
fn foot() -> f64 {
    Length::new::<length::foot>(1.0).get::<length::meter>()
}
static MASSES: [Unit; 3] = [
    unit!(["kg"], Mass, mass::kilogram, kilogram),
    Unit::new(&["lb", "lbs", "pound", "pounds"], pound),
    unit!(["g"], Mass, mass::gram, kilogram),
];
static LINE_MASSES: [Unit; 2] =
    [Unit::new(&["kg/m"], || 1.0), Unit::new(&["lb/ft", "lbs/ft", "plf"], || pound() / foot())];
static FILMS: [Unit; 3] = [
    Unit::new(&["g/m²", "gsm"], || 1e-3),
    Unit::new(&["oz/ft²", "oz/sqft"], || pound() / 16.0 / square_foot()),
    Unit::new(&["kg/m²"], || 1.0),
];
static SPECIFIC_HEATS: [Unit; 3] = [
    Unit::new(&["J/(kg·K)", "j/kgk"], || 1.0),
    Unit::new(&["Btu/(lb·°F)", "btu/lb°f", "btu/lbf"], || {
        3_600.0 * btu_per_hour() / (pound() * fahrenheit())
    }),
    Unit::new(&["kJ/(kg·K)", "kj/kgk"], || 1e3),
];
static CONDUCTIVITIES: [Unit; 2] = [
    Unit::new(&["W/(m·K)", "w/mk"], || 1.0),
    Unit::new(&["Btu·in/(h·ft²·°F)", "btuin/hft2f", "btuin/hft2°f"], || {
        btu_per_hour() * (foot() / 12.0) / (square_foot() * fahrenheit())
    }),
];
static LOSS_FACTORS: [Unit; 2] = [
    Unit::new(&["W/(m²·K)", "w/m2k"], || 1.0),
    Unit::new(&["Btu/(h·ft²·°F)", "btu/hft2f", "btu/hft2°f"], || {
        btu_per_hour() / (square_foot() * fahrenheit())
    }),
];
static NUMBERS: [Unit; 1] = [Unit::new(&[""], || 1.0)];

/// Every unit `kind` may be written in.
pub(super) fn units(kind: Kind) -> &'static [Unit] {
    match kind {
        Kind::Length | Kind::ShopLength => &LENGTHS,
        Kind::Area => &AREAS,
        Kind::Pressure => &PRESSURES,
        Kind::Velocity => &VELOCITIES,
        Kind::LineSpeed => &LINE_SPEEDS,
        Kind::VolumeFlow => &VOLUME_FLOWS,
        Kind::MassFlow => &MASS_FLOWS,
        Kind::Temperature => &TEMPERATURES,
        Kind::TemperatureDifference => &DIFFERENCES,
        Kind::ShaftPower => &POWERS,
        Kind::HeatRate => &HEAT_RATES,
        Kind::StandardFlow => &STANDARD_FLOWS,
        Kind::Volume => &VOLUMES,
        Kind::Duration => &DURATIONS,
        Kind::Density => &DENSITIES,
        Kind::Rotation => &ROTATIONS,
        Kind::Angle => &ANGLES,
        Kind::Percent => &PERCENTS,
        Kind::Mass => &MASSES,
        Kind::LineMass => &LINE_MASSES,
        Kind::Film => &FILMS,
        Kind::SpecificHeat => &SPECIFIC_HEATS,
        Kind::Conductivity => &CONDUCTIVITIES,
        Kind::LossFactor => &LOSS_FACTORS,
        Kind::Number => &NUMBERS,
    }
}

/// Every kind with what it is called, to tell a person what a misplaced unit measures.
pub(super) const KINDS: [(Kind, &str); 26] = [
    (Kind::Length, "a length"),
    (Kind::ShopLength, "a length"),
    (Kind::Area, "an area"),
    (Kind::Pressure, "a pressure"),
    (Kind::Velocity, "a velocity"),
    (Kind::LineSpeed, "a line speed"),
    (Kind::VolumeFlow, "a volume flow"),
    (Kind::MassFlow, "a mass flow"),
    (Kind::Temperature, "a temperature"),
    (Kind::TemperatureDifference, "a temperature difference"),
    (Kind::ShaftPower, "a power"),
    (Kind::HeatRate, "a rate of heat"),
    (Kind::StandardFlow, "a standard volume flow"),
    (Kind::Volume, "a volume"),
    (Kind::Duration, "a time"),
    (Kind::Density, "a density"),
    (Kind::Rotation, "a speed of rotation"),
    (Kind::Angle, "an angle"),
    (Kind::Percent, "a percentage"),
    (Kind::Mass, "a mass"),
    (Kind::LineMass, "a mass by length"),
    (Kind::Film, "a mass by area"),
    (Kind::SpecificHeat, "a specific heat"),
    (Kind::Conductivity, "a conductivity"),
    (Kind::LossFactor, "a loss factor"),
    (Kind::Number, "a bare number"),
];

/// The unit and digits `kind` is shown with.
pub(super) fn shown(kind: Kind, system: UnitSystem) -> Shown {
    let (si, si_digits, inch_pound, inch_pound_digits) = match kind {
        Kind::Length => (0, 2, 3, 2),
        Kind::ShopLength => (1, 1, 4, 3),
        Kind::Area => (0, 3, 1, 2),
        Kind::Pressure => (0, 1, 1, 3),
        Kind::Velocity => (0, 1, 1, 0),
        Kind::LineSpeed => (0, 2, 1, 1),
        Kind::VolumeFlow => (0, 2, 1, 0),
        Kind::MassFlow => (0, 3, 1, 0),
        Kind::Temperature | Kind::TemperatureDifference => (0, 1, 1, 1),
        Kind::ShaftPower => (0, 2, 1, 2),
        Kind::HeatRate => (0, 1, 1, 0),
        Kind::StandardFlow => (0, 2, 1, 0),
        Kind::Volume => (0, 1, 1, 0),
        Kind::Duration => (0, 1, 0, 1),
        Kind::Density => (0, 3, 1, 4),
        Kind::Rotation => (0, 0, 0, 0),
        Kind::Angle | Kind::Percent => (0, 1, 0, 1),
        Kind::Mass => (0, 1, 1, 1),
        Kind::LineMass => (0, 2, 1, 2),
        Kind::Film => (0, 0, 1, 2),
        Kind::SpecificHeat => (0, 0, 1, 3),
        Kind::Conductivity => (0, 4, 1, 3),
        Kind::LossFactor => (0, 2, 1, 3),
        Kind::Number => (0, 3, 0, 3),
    };
    let (index, digits) = match system {
        UnitSystem::Si => (si, si_digits),
        UnitSystem::InchPound => (inch_pound, inch_pound_digits),
    };
    Shown { unit: &units(kind)[index], digits }
}
