//! What turns the fan: motor, pulleys or frequency, and the fan's duty hot and cold, filter clean and dirty.

use super::Designed;
use super::find_speed::find_speed;
use crate::air::Air;
use crate::analysis::{analyse, analyse_air};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::judge::{BELT_SLIP, near_stall};
use crate::laws::fan::{belt_speed_rpm, cold_start_speed_ratio, tolerance_percent};
use crate::network::from_plan::site_pressure_pa;
use crate::plan::{Drive, Plan};
use crate::units::Kind;
use serde::{Deserialize, Serialize};

/// Datum diameters of V-belt pulleys, mm (ISO 4183, preferred sizes; from memory).
const PULLEYS_MM: [f64; 33] = [
    90.0, 95.0, 100.0, 106.0, 112.0, 118.0, 125.0, 132.0, 140.0, 150.0, 160.0, 170.0, 180.0, 190.0, 200.0,
    212.0, 224.0, 236.0, 250.0, 265.0, 280.0, 300.0, 315.0, 335.0, 355.0, 400.0, 450.0, 500.0, 560.0, 630.0,
    710.0, 800.0, 900.0,
];
/// Motor ratings, kW (IEC 60072-1; from memory).
const MOTORS_KW: [f64; 24] = [
    0.37, 0.55, 0.75, 1.1, 1.5, 2.2, 3.0, 4.0, 5.5, 7.5, 11.0, 15.0, 18.5, 22.0, 30.0, 37.0, 45.0, 55.0,
    75.0, 90.0, 110.0, 132.0, 160.0, 200.0,
];
/// Motor ratings, hp (NEMA MG 1; from memory).
const MOTORS_HP: [f64; 21] = [
    0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 75.0, 100.0,
    125.0, 150.0, 200.0,
];
/// One horsepower, W.
const HORSEPOWER_W: f64 = 745.7;
/// Motor over hot shaft power, for belt loss and what the curve does not say (common practice).
const MOTOR_MARGIN: f64 = 1.15;
/// Fastest belt, m/s (common practice for V-belts).
const BELT_M_S: f64 = 33.0;
/// Motor speed where the plan names none: four poles at 50 Hz under load, rpm.
const USUAL_MOTOR_RPM: f64 = 1_450.0;
/// Frequency over the motor's base frequency beyond which torque, bearings and balance are for the motor's maker to say.
const MOST_OVER_BASE: f64 = 1.2;
/// Step a frequency drive is set in, Hz.
const STEP_HZ: f64 = 0.1;

/// The fan in one state of air and filter.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DutyPoint {
    /// Everything at the plant's temperature.
    pub cold: bool,
    /// Filters due for change.
    pub dirty: bool,
    /// m³/s.
    pub flow_m3_s: f64,
    /// Fan total pressure, Pa.
    pub total_pressure_pa: f64,
    /// W.
    pub shaft_power_w: f64,
    /// 100·(Q − Q at the pressure peak)/Q.
    pub stall_margin_percent: f64,
    /// Air from all slots against the required, %.
    pub supply_percent: f64,
}

/// Two pulleys that can be bought.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct BeltPair {
    /// On the motor, mm.
    pub motor_pulley_mm: f64,
    /// On the fan, mm.
    pub fan_pulley_mm: f64,
    /// Fan speed, rpm.
    pub speed_rpm: f64,
    /// Against the speed found, %.
    pub speed_off_percent: f64,
    /// Speed of the belt, m/s.
    pub belt_m_s: f64,
}

/// The motor to buy.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MotorChoice {
    /// The next rating of the IEC row, kW; none above the row.
    pub rating_kw: Option<f64>,
    /// The next rating of the NEMA row, hp; none above the row.
    pub rating_hp: Option<f64>,
    /// Least rating, W; of each motor, where several fans blow side by side.
    pub needed_w: f64,
    /// Shaft power of one fan hot, the dirtiest and cleanest filter, the larger, W.
    pub hot_w: f64,
    /// The same cold at full speed, W.
    pub cold_w: f64,
    /// Speed at which a cold start takes no more than hot running, % of the found speed.
    pub cold_start_speed_percent: f64,
    /// The rule, in words.
    pub rule: String,
}

/// All about the fan of a plan at its speed.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct FanDuty {
    /// Speed, rpm.
    pub speed_rpm: f64,
    /// The lower of the speeds the maker allows cold and hot, rpm.
    pub allowed_speed_rpm: Option<f64>,
    /// Total efficiency at the working point as the plan stands, %.
    pub efficiency_percent: f64,
    /// Hot clean, hot dirty, cold clean, cold dirty.
    pub points: Vec<DutyPoint>,
    /// The least of their margins to the pressure peak, %.
    pub worst_margin_percent: f64,
    /// Tolerances of the fan's grade: flow ±, pressure ±, power +, efficiency −, %.
    pub tolerance_percent: Option<[f64; 4]>,
    /// Flow at the working point within that tolerance, m³/s.
    pub flow_band_m3_s: Option<[f64; 2]>,
    /// The motor.
    pub motor: MotorChoice,
    /// Pulley pairs nearest to the speed, the best first.
    pub belts: Vec<BeltPair>,
    /// Frequency for the speed on a coupled motor, Hz, where the plan has such a drive.
    pub frequency_hz: Option<f64>,
}

/// The plant's temperature where a plan may be solved at it, °C: no zone is set below 0.
fn solved_cold_c(plan: &Plan) -> f64 {
    plan.site.ambient_c.max(0.0)
}

/// The plan in one state: `cold` all air at the plant's temperature, `dirty` filters due for change.
fn in_state(plan: &Plan, cold: bool, dirty: bool) -> Plan {
    let mut state = plan.clone();
    for loss in &mut state.heater.fixed_losses {
        loss.dirt_percent = if dirty { 100.0 } else { 0.0 };
    }
    if cold {
        let plant_c = solved_cold_c(plan);
        state.heater.supply_temperature_c = plant_c;
        state.zones.iter_mut().for_each(|zone| zone.set_temperature_c = plant_c);
        // Nothing is wetted before parts come.
        state.site.oven_humidity_ratio = 0.0;
    }
    state
}

/// With the density at the fan, kg/m³.
fn duty_point(plan: &Plan, cold: bool, dirty: bool) -> Result<(DutyPoint, f64), EngineError> {
    let found = analyse_air(&in_state(plan, cold, dirty))?;
    if found.status != "converged" {
        let place = found.worst_branch.unwrap_or_else(|| plan.heater.id.clone());
        return Err(EngineError::new(place, "the air balance does not close", "check this item"));
    }
    // Colder air yet goes through at the same flow with more pressure and power, as dense as it is (fan laws).
    let density = |celsius: f64| Air::at(celsius, site_pressure_pa(plan), 0.0).density_kg_m3();
    let denser = if cold { density(plan.site.ambient_c) / density(solved_cold_c(plan)) } else { 1.0 };
    let point = DutyPoint {
        cold,
        dirty,
        flow_m3_s: found.fan.flow_m3_s,
        total_pressure_pa: denser * found.fan.total_pressure_pa,
        shaft_power_w: denser * found.fan.shaft_power_w,
        stall_margin_percent: found.fan.stall_margin_percent,
        supply_percent: 100.0 * found.total_flow_kg_s / found.required_flow_kg_s,
    };
    Ok((point, denser * found.fan.density_kg_m3))
}

/// The pulley pairs nearest to `speed_rpm` that keep the belt's speed and the maker's limit.
fn belt_pairs(motor_rpm: f64, speed_rpm: f64, allowed_rpm: f64) -> Vec<BeltPair> {
    let mut pairs: Vec<BeltPair> = Vec::new();
    for motor in PULLEYS_MM {
        for fan in PULLEYS_MM {
            let speed = belt_speed_rpm(motor_rpm, motor * 1e-3, fan * 1e-3, BELT_SLIP);
            let belt_m_s = core::f64::consts::PI * motor * 1e-3 * motor_rpm / 60.0;
            if speed <= allowed_rpm && belt_m_s <= BELT_M_S {
                let speed_off_percent = 100.0 * (speed / speed_rpm - 1.0);
                let pair = BeltPair {
                    motor_pulley_mm: motor,
                    fan_pulley_mm: fan,
                    speed_rpm: speed,
                    speed_off_percent,
                    belt_m_s,
                };
                pairs.push(pair);
            }
        }
    }
    // Nearest first; of equal ones the smaller.
    crate::numerics::sort_short(&mut pairs, |a, b| {
        (a.speed_off_percent.abs().total_cmp(&b.speed_off_percent.abs()))
            .then(a.fan_pulley_mm.total_cmp(&b.fan_pulley_mm))
    });
    pairs.truncate(3);
    pairs
}

fn motor(plan: &Plan, points: &[DutyPoint], densities: [f64; 2]) -> MotorChoice {
    let fan = &plan.heater.fan;
    let most = |cold: bool| {
        let all = points.iter().filter(|p| p.cold == cold).map(|p| p.shaft_power_w).fold(0.0, f64::max);
        all / f64::from(fan.count.max(1))
    };
    let (hot_w, cold_w) = (most(false), most(true));
    let ratio = cold_start_speed_ratio(densities[0], densities[1]).min(1.0);
    // Below its own speed a coupled motor gives its torque, so power only in proportion.
    let slower = match fan.drive {
        Some(Drive::Frequency { motor_speed_rpm, .. }) if fan.speed_rpm > 0.0 => {
            Some((motor_speed_rpm / fan.speed_rpm).max(1.0))
        }
        Some(Drive::Frequency { .. }) => Some(1.0),
        _ => None,
    };
    let needed_w = slower.map_or((MOTOR_MARGIN * hot_w).max(cold_w), |slower| MOTOR_MARGIN * hot_w * slower);
    let rule = if let Some(slower) = slower {
        format!(
            "15 % above hot running; at this frequency a motor gives {:.0} % of its rating; the drive must start cold \
             air at {:.0} % of the speed and raise it as the air warms",
            100.0 / slower,
            100.0 * ratio
        )
    } else if cold_w > MOTOR_MARGIN * hot_w {
        "cold air at full speed: belts cannot start slower, so the motor must carry the cold start".to_owned()
    } else {
        "15 % above hot running, which is more than the cold start takes".to_owned()
    };
    let next = |row: &[f64], one_w: f64| row.iter().copied().find(|rating| rating * one_w >= needed_w);
    MotorChoice {
        rating_kw: next(&MOTORS_KW, 1e3),
        rating_hp: next(&MOTORS_HP, HORSEPOWER_W),
        needed_w,
        hot_w,
        cold_w,
        cold_start_speed_percent: 100.0 * ratio,
        rule,
    }
}

/// All about the fan at the plan's speed: four solved points, margin, tolerance, motor, pulleys, frequency.
pub fn fan_duty(plan: &Plan) -> Result<FanDuty, EngineError> {
    let fan = &plan.heater.fan;
    let now = analyse_air(plan)?;
    let states = [(false, false), (false, true), (true, false), (true, true)];
    let solved: Vec<_> =
        states.into_iter().map(|(cold, dirty)| duty_point(plan, cold, dirty)).collect::<Result<_, _>>()?;
    let cold_density = solved[2].1;
    let points: Vec<_> = solved.into_iter().map(|(point, _)| point).collect();
    let hot_density = now.fan.density_kg_m3;
    let motor = motor(plan, &points, [hot_density, cold_density]);
    let tolerance = fan.tolerance_grade.and_then(tolerance_percent);
    let motor_rpm = match fan.drive {
        Some(Drive::Belt { motor_speed_rpm, .. } | Drive::Frequency { motor_speed_rpm, .. }) => {
            motor_speed_rpm
        }
        None => USUAL_MOTOR_RPM,
    };
    let allowed = fan.allowed_speed_rpm();
    let power = now.fan.shaft_power_w;
    Ok(FanDuty {
        speed_rpm: fan.speed_rpm,
        allowed_speed_rpm: allowed,
        efficiency_percent: if power > 0.0 {
            100.0 * now.fan.flow_m3_s * now.fan.total_pressure_pa / power
        } else {
            0.0
        },
        worst_margin_percent: points.iter().map(|p| p.stall_margin_percent).fold(f64::INFINITY, f64::min),
        points,
        tolerance_percent: tolerance,
        flow_band_m3_s: tolerance
            .map(|t| [now.fan.flow_m3_s * (1.0 - t[0] / 100.0), now.fan.flow_m3_s * (1.0 + t[0] / 100.0)]),
        motor,
        belts: belt_pairs(motor_rpm, fan.speed_rpm, allowed.unwrap_or(f64::INFINITY)),
        frequency_hz: match fan.drive {
            Some(Drive::Frequency { motor_speed_rpm, base_hz, .. }) => {
                Some(in_hz(fan.speed_rpm / motor_speed_rpm * base_hz))
            }
            _ => None,
        },
    })
}

/// What the four states and the drive give reason to say.
pub fn duty_findings(plan: &Plan, duty: &FanDuty) -> Vec<Finding> {
    let worst = duty.points.iter().min_by(|a, b| a.stall_margin_percent.total_cmp(&b.stall_margin_percent));
    let mut findings: Vec<Finding> = worst
        .and_then(|worst| {
            let air = if worst.cold { "Cold" } else { "Hot" };
            let filters = if worst.dirty { "dirty" } else { "clean" };
            near_stall(plan, &format!("{air}, with {filters} filters, the fan"), worst.stall_margin_percent)
        })
        .into_iter()
        .collect();
    if let (Some(Drive::Frequency { base_hz, .. }), Some(hz)) = (plan.heater.fan.drive, duty.frequency_hz)
        && hz > MOST_OVER_BASE * base_hz
    {
        findings.push(Finding::new(
            Severity::Caution,
            "above-base",
            Some(&plan.heater.id),
            Message::new(format!(
                "This speed takes {hz:.1} Hz; the motor's plate says {base_hz:.0} Hz, above which its torque falls."
            )),
            "Use a faster motor or belts, unless the motor's maker allows it.",
            "common practice, no published source: up to 1.2 times the base frequency",
        ));
    }
    findings
}

/// A frequency in steps of the drive, never above what it stands for.
fn in_hz(hz: f64) -> f64 {
    ((hz / STEP_HZ).round() * STEP_HZ * 1e6).round() / 1e6
}

/// Finds the speed, then sets the fan to the nearest that can be bought: a pulley pair, or a step of the
/// frequency drive. The plan names its drive; belts on a four-pole motor when it names none.
pub fn fit_drive(plan: &Plan) -> Result<Designed, EngineError> {
    let found = find_speed(plan)?;
    let mut fitted = found.plan;
    let wanted = fitted.heater.fan.speed_rpm;
    let allowed = fitted.heater.fan.allowed_speed_rpm().unwrap_or(f64::INFINITY);
    let (drive, speed) = match fitted.heater.fan.drive {
        Some(Drive::Frequency { motor_speed_rpm, base_hz, .. }) => {
            let mut hz = in_hz(wanted / motor_speed_rpm * base_hz);
            if hz / base_hz * motor_speed_rpm > allowed {
                hz = in_hz(hz - STEP_HZ);
            }
            let drive = Drive::Frequency { motor_speed_rpm, base_hz, set_hz: Some(hz) };
            (drive, hz / base_hz * motor_speed_rpm)
        }
        other => {
            let motor_speed_rpm = match other {
                Some(Drive::Belt { motor_speed_rpm, .. }) => motor_speed_rpm,
                _ => USUAL_MOTOR_RPM,
            };
            let pair = belt_pairs(motor_speed_rpm, wanted, allowed).into_iter().next().ok_or_else(|| {
                EngineError::new(
                    &plan.heater.id,
                    format!("no pulley pair gives {wanted:.0} rpm within the maker's and the belt's limits"),
                    "use a motor of another speed, or a frequency drive",
                )
            })?;
            let drive = Drive::Belt {
                motor_speed_rpm,
                motor_pulley_m: Some(pair.motor_pulley_mm / 1e3),
                fan_pulley_m: Some(pair.fan_pulley_mm / 1e3),
            };
            (drive, pair.speed_rpm)
        }
    };
    fitted.heater.fan.drive = Some(drive);
    fitted.heater.fan.speed_rpm = speed;
    let after = analyse(&fitted)?;
    let mut findings = found.findings;
    let off = 100.0 * (after.total_flow_kg_s / after.required_flow_kg_s - 1.0);
    if off.abs() > 2.0 {
        findings.push(Finding::new(
            Severity::Caution,
            "drive-off",
            Some(&plan.heater.id),
            Message::new("The nearest drive that can be bought passes ")
                .difference(Kind::Percent, off)
                .text(" than the required flow."),
            "Even out takes up what is left; or use an adjustable pulley or a frequency drive.",
            "pulley diameters of ISO 4183, from memory",
        ));
    }
    Ok(Designed { plan: fitted, before: found.before, after, findings })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pulley_pairs_are_near_and_keep_their_limits() {
        for speed in [500.0, 735.0, 1_100.0, 1_450.0, 1_800.0] {
            let pairs = belt_pairs(1_450.0, speed, f64::INFINITY);
            assert_eq!(pairs.len(), 3);
            // At the motor's own speed equal pulleys are nearest: off by the belt's slip, 1 %.
            assert!(pairs[0].speed_off_percent.abs() < 1.001, "{speed}: {:?}", pairs[0]);
            assert!(pairs.iter().all(|pair| pair.belt_m_s <= BELT_M_S));
            let by_hand = 1_450.0 * pairs[0].motor_pulley_mm / pairs[0].fan_pulley_mm * 0.99;
            assert!((by_hand / pairs[0].speed_rpm - 1.0).abs() < 1e-12);
        }
        assert!(belt_pairs(1_450.0, 1_100.0, 1_050.0).iter().all(|pair| pair.speed_rpm <= 1_050.0));
    }
}
