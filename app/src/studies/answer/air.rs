//! Answers about the fan's air and the air at the parts.

use super::Answered;
use crate::studies::sheet::{Cell, Series, Sheet, Table};
use engine::analysis::analyse;
use engine::coverage::coverage;
use engine::design::{duty_findings, fan_duty};
use engine::plan::Plan;
use engine::units::Kind;

pub(super) fn duty(plan: &Plan) -> Answered {
    let duty = fan_duty(plan)?;
    let chart = analyse(plan)?.fan_chart;
    let state = |cold, dirty| match (cold, dirty) {
        (false, false) => "Hot, filter clean",
        (false, true) => "Hot, filter dirty",
        (true, false) => "Cold, filter clean",
        (true, true) => "Cold, filter dirty",
    };
    let head =
        ["State", "Flow at the inlet", "Total pressure", "Shaft power", "Margin to stall", "Air of wanted"];
    let mut points = Table::new("The fan in four states", &head);
    let mut marks = Vec::new();
    for point in &duty.points {
        let title = state(point.cold, point.dirty);
        points.row(
            title,
            &[
                (Kind::VolumeFlow, point.flow_m3_s),
                (Kind::Pressure, point.total_pressure_pa),
                (Kind::ShaftPower, point.shaft_power_w),
                (Kind::Percent, point.stall_margin_percent),
                (Kind::Percent, point.supply_percent),
            ],
        );
        marks.push((title.to_owned(), (point.flow_m3_s, point.total_pressure_pa)));
    }
    let mut fan = Table::new("Fan and motor", &["Figure", "Value"]);
    let none = f64::NAN;
    let motor = &duty.motor;
    fan.alike("Worst of the four margins to stall", Kind::Percent, &[duty.worst_margin_percent]);
    fan.alike("Speed", Kind::Rotation, &[duty.speed_rpm]);
    fan.alike("The maker allows, cold and hot", Kind::Rotation, &[duty.allowed_speed_rpm.unwrap_or(none)]);
    fan.alike("Total efficiency at the working point", Kind::Percent, &[duty.efficiency_percent]);
    let each = match plan.heater.fan.count {
        0 | 1 => String::new(),
        fans => format!(", each of {fans}"),
    };
    let each = |title: &str| format!("{title}{each}");
    fan.alike(&each("Shaft power hot, the larger"), Kind::ShaftPower, &[motor.hot_w]);
    fan.alike(&each("Shaft power cold at full speed, the larger"), Kind::ShaftPower, &[motor.cold_w]);
    fan.alike(
        "Speed at which a cold start takes no more than hot",
        Kind::Percent,
        &[motor.cold_start_speed_percent],
    );
    fan.alike(&each("The motor's rating, at least"), Kind::ShaftPower, &[motor.needed_w]);
    let rating = |rating: Option<f64>, unit: &str| match rating {
        Some(rating) => Cell::Text(format!("{rating}\u{a0}{unit}")),
        None => "above the row of ratings".into(),
    };
    fan.rows.push(vec!["Next motor of the IEC row".into(), rating(motor.rating_kw, "kW")]);
    fan.rows.push(vec!["Next motor of the NEMA row".into(), rating(motor.rating_hp, "hp")]);
    fan.words("Why", motor.rule.as_str());
    if let Some([flow, pressure, power, efficiency]) = duty.tolerance_percent {
        fan.rows.push(vec![
            "Tolerances of the fan's grade".into(),
            Cell::Text(format!(
                "flow ±{flow} %, pressure ±{pressure} %, power +{power} %, efficiency −{efficiency} %"
            )),
        ]);
    }
    if let Some([low, high]) = duty.flow_band_m3_s {
        fan.alike("Flow within that grade, from", Kind::VolumeFlow, &[low]);
        fan.alike("Flow within that grade, to", Kind::VolumeFlow, &[high]);
    }
    if let Some(hz) = duty.frequency_hz {
        fan.rows.push(vec!["Frequency for this speed".into(), Cell::Text(format!("{hz}\u{a0}Hz"))]);
    }
    let mut tables = vec![points, fan];
    if !duty.belts.is_empty() {
        let head = ["Pulleys", "On the motor", "On the fan", "Speed", "Off", "Belt speed"];
        let mut belts = Table::new("Pulley pairs nearest to this speed", &head);
        for (i, pair) in duty.belts.iter().enumerate() {
            belts.row(
                &format!("{}", i + 1),
                &[
                    (Kind::ShopLength, 1e-3 * pair.motor_pulley_mm),
                    (Kind::ShopLength, 1e-3 * pair.fan_pulley_mm),
                    (Kind::Rotation, pair.speed_rpm),
                    (Kind::Percent, pair.speed_off_percent),
                    (Kind::Velocity, pair.belt_m_s),
                ],
            );
        }
        tables.push(belts);
    }
    let series =
        |name: &str, dashed, points: Vec<(f64, f64)>| Series { name: name.to_owned(), dashed, points };
    let curves = vec![
        series("fan hot", false, chart.hot),
        series("fan cold", false, chart.cold),
        series("system hot", true, chart.system_hot),
        series("system cold", true, chart.system_cold),
    ];
    let findings = duty_findings(plan, &duty);
    Ok((Sheet { tables, curves, marks, findings, ..Sheet::default() }, None))
}

pub(super) fn at_parts(plan: &Plan) -> Answered {
    let found = coverage(plan, &analyse(plan)?)?;
    let head = ["Zone", "Mean", "Slowest", "Fastest", "Uniformity at the part (CV)"];
    let mut zones = Table::new("Air speed along the conveyor; jet theory, ±30 %", &head);
    for zone in &found.zones {
        zones.row(
            &zone.zone,
            &[
                (Kind::Velocity, zone.mean_m_s),
                (Kind::Velocity, zone.least_m_s),
                (Kind::Velocity, zone.most_m_s),
                (Kind::Percent, zone.cv_percent),
            ],
        );
    }
    let points: Vec<_> = found.path.iter().map(|place| (place.station_m, place.speed_m_s)).collect();
    let mut curves = vec![Series { name: "air speed at part height".to_owned(), dashed: false, points }];
    if let (Some(first), Some(last)) = (found.path.first(), found.path.last()) {
        let rule = &plan.air_at_part;
        let from = rule.loose_from_m.max(first.station_m);
        let to = rule.gelled_at_m.unwrap_or(last.station_m).min(last.station_m);
        if from < to {
            let points = vec![(from, rule.loose_powder_m_s), (to, rule.loose_powder_m_s)];
            curves.push(Series { name: "loose powder bears".to_owned(), dashed: true, points });
        }
    }
    let mut about = Table::new("Looked at", &["Figure", "Value"]);
    about.alike("Height above the floor", Kind::Length, &[found.height_m]);
    let map = Some(found.grid);
    Ok((
        Sheet { tables: vec![zones, about], curves, map, findings: found.findings, ..Sheet::default() },
        None,
    ))
}
