//! Heater, fan and its curve, fixed losses.

use engine::error::EngineError;
use engine::numerics::sort_short;
use engine::plan::{Fan, FanPoint, FixedLoss, Heater, Point, PressureBasis};

/// A change of the burner box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HeaterEdit {
    /// Where return ducts end.
    Intake(Point),
    /// Where the supply trunk begins.
    Discharge(Point),
    /// Air it blows, °C.
    SupplyTemperature(f64),
}

/// A change of the fan.
#[derive(Clone, Debug, PartialEq)]
pub enum FanEdit {
    /// Maker's type or the shop's name.
    Name(String),
    /// Speed it runs at, rpm.
    Speed(f64),
    /// Highest speed allowed, rpm.
    MaxSpeed(Option<f64>),
    /// Highest speed allowed at supply temperature, rpm.
    MaxSpeedHot(Option<f64>),
    /// How many fans side by side.
    Count(u32),
    /// System effect on the outlet velocity pressure.
    SystemEffect(f64),
    /// Speed of the curve, rpm.
    CurveSpeed(f64),
    /// Density of the curve, kg/m³.
    CurveDensity(f64),
    /// Which pressure the curve gives.
    Basis(PressureBasis),
    /// Outlet area, m².
    OutletArea(f64),
    /// Efficiency where the curve gives no power, %.
    Efficiency(f64),
    /// Flow of a curve point, m³/s.
    PointFlow {
        /// Which, from 0.
        point: usize,
        /// m³/s.
        flow_m3_s: f64,
    },
    /// Pressure of a curve point, Pa.
    PointPressure {
        /// Which, from 0.
        point: usize,
        /// Pa.
        pressure_pa: f64,
    },
    /// Shaft power of a curve point, W.
    PointPower {
        /// Which, from 0.
        point: usize,
        /// W, where the maker gives it.
        shaft_power_w: Option<f64>,
    },
    /// A point beyond the last.
    AddPoint,
    /// A point goes.
    RemovePoint(usize),
    /// A curve to start with, until the maker's is at hand.
    StartCurve,
}

/// A change of a loss in series with the fan.
#[derive(Clone, Debug, PartialEq)]
pub enum FixedLossEdit {
    /// What people call it.
    Name(String),
    /// Volume flow of the known point, m³/s.
    Flow(f64),
    /// Drop at the known point, Pa.
    Drop(f64),
    /// Drop when due for change, Pa.
    DirtyDrop(Option<f64>),
    /// How dirty it is now, %.
    Dirt(f64),
    /// Density of the known point, kg/m³.
    Density(f64),
}

pub(super) fn heater(heater: &mut Heater, edit: &HeaterEdit) {
    match *edit {
        HeaterEdit::Intake(at) => heater.intake = at,
        HeaterEdit::Discharge(at) => heater.discharge = at,
        HeaterEdit::SupplyTemperature(v) => heater.supply_temperature_c = v,
    }
}

pub(super) fn fan(fan: &mut Fan, edit: &FanEdit) -> Result<(), EngineError> {
    let missing = || EngineError::new("fan curve", "has no such point any more", "choose another point");
    match edit {
        FanEdit::Name(name) => fan.name.clone_from(name),
        FanEdit::Speed(v) => fan.speed_rpm = *v,
        FanEdit::MaxSpeed(v) => fan.max_speed_rpm = *v,
        FanEdit::MaxSpeedHot(v) => fan.max_speed_hot_rpm = *v,
        FanEdit::Count(v) => fan.count = *v,
        FanEdit::SystemEffect(v) => fan.system_effect = *v,
        FanEdit::CurveSpeed(v) => fan.curve_speed_rpm = *v,
        FanEdit::CurveDensity(v) => fan.curve_density_kg_m3 = *v,
        FanEdit::Basis(v) => fan.basis = *v,
        FanEdit::OutletArea(v) => fan.outlet_area_m2 = *v,
        FanEdit::Efficiency(v) => fan.efficiency_percent = *v,
        FanEdit::PointFlow { point, flow_m3_s } => {
            fan.points.get_mut(*point).ok_or_else(missing)?.flow_m3_s = *flow_m3_s;
            // The curve reads by rising flow whatever the order of typing.
            sort_short(&mut fan.points, |a, b| a.flow_m3_s.total_cmp(&b.flow_m3_s));
        }
        FanEdit::PointPressure { point, pressure_pa } => {
            fan.points.get_mut(*point).ok_or_else(missing)?.pressure_pa = *pressure_pa;
        }
        FanEdit::PointPower { point, shaft_power_w } => {
            fan.points.get_mut(*point).ok_or_else(missing)?.shaft_power_w = *shaft_power_w;
        }
        FanEdit::AddPoint => fan.points.push(next_point(&fan.points)),
        FanEdit::RemovePoint(point) => {
            if *point >= fan.points.len() {
                return Err(missing());
            }
            fan.points.remove(*point);
        }
        FanEdit::StartCurve => {
            if fan.name.is_empty() {
                "Starting curve: put the maker's points in its place".clone_into(&mut fan.name);
            }
            fan.points = START_CURVE
                .iter()
                .map(|&(flow_m3_s, pressure_pa)| FanPoint { flow_m3_s, pressure_pa, shaft_power_w: None })
                .collect();
        }
    }
    Ok(())
}

/// A small radial fan in round numbers of our own, m³/s and Pa; no maker's.
const START_CURVE: [(f64, f64); 7] =
    [(0.0, 560.0), (0.5, 600.0), (1.0, 610.0), (1.5, 560.0), (2.0, 450.0), (2.5, 280.0), (3.0, 60.0)];

/// Beyond the last point, as far as that one is from the one before, and no higher.
fn next_point(points: &[FanPoint]) -> FanPoint {
    match points {
        [] => FanPoint { flow_m3_s: 0.0, pressure_pa: 1000.0, shaft_power_w: None },
        [only] => FanPoint { flow_m3_s: only.flow_m3_s + 1.0, ..*only },
        [.., before, last] => FanPoint {
            flow_m3_s: last.flow_m3_s + (last.flow_m3_s - before.flow_m3_s).max(0.1),
            pressure_pa: (last.pressure_pa + (last.pressure_pa - before.pressure_pa).min(0.0)).max(0.0),
            shaft_power_w: last.shaft_power_w,
        },
    }
}

pub(super) fn fixed_loss(loss: &mut FixedLoss, edit: &FixedLossEdit) {
    match edit {
        FixedLossEdit::Name(name) => loss.name.clone_from(name),
        FixedLossEdit::Flow(v) => loss.flow_m3_s = *v,
        FixedLossEdit::Drop(v) => loss.drop_pa = *v,
        FixedLossEdit::DirtyDrop(v) => loss.dirty_drop_pa = *v,
        FixedLossEdit::Dirt(v) => loss.dirt_percent = *v,
        FixedLossEdit::Density(v) => loss.density_kg_m3 = *v,
    }
}
