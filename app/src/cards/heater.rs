//! Heater, fan, its curve, fixed losses.

use super::{findings_of, gone};
use crate::edit::{Edit, FanEdit, FixedLossEdit, HeaterEdit, NewItem};
use crate::fields::{Field, Form, stacked};
use engine::plan::{FixedLoss, PressureBasis};
use engine::units::Kind;
use yew::prelude::*;

/// Highest speed the field takes where the maker gives no limit, rpm.
pub const TOP_SPEED_RPM: f64 = 10_000.0;

/// What can be set on the heater.
pub fn heater_fields(form: &Form) -> Vec<Field> {
    let heater = &form.plan().heater;
    vec![
        form.quantity(
            "Supply air",
            "supply-temperature",
            Kind::Temperature,
            heater.supply_temperature_c,
            0.0..=450.0,
            |v| Edit::Heater(HeaterEdit::SupplyTemperature(v)),
        ),
        form.place("Discharge: the trunk begins", "discharge", heater.discharge, |at| {
            Edit::Heater(HeaterEdit::Discharge(at))
        }),
        form.place("Intake: return ducts end", "intake", heater.intake, |at| {
            Edit::Heater(HeaterEdit::Intake(at))
        }),
    ]
}

/// What can be set on the fan.
pub fn fan_fields(form: &Form) -> Vec<Field> {
    let fan = &form.plan().heater.fan;
    let edit = |make: fn(f64) -> FanEdit| move |v| Edit::Fan(make(v));
    let basis = vec![
        (PressureBasis::Total, "fan total".to_owned()),
        (PressureBasis::Static, "fan static".to_owned()),
    ];
    vec![
        form.text("Fan", "fan-name", &fan.name, |v| Edit::Fan(FanEdit::Name(v))),
        form.quantity(
            "Runs at",
            "fan-runs-at",
            Kind::Rotation,
            fan.speed_rpm,
            0.0..=fan.allowed_speed_rpm().unwrap_or(TOP_SPEED_RPM),
            edit(FanEdit::Speed),
        ),
        form.optional(
            "Highest speed, cold",
            "fan-max-speed",
            Kind::Rotation,
            fan.max_speed_rpm,
            1.0..=20_000.0,
            |v| Edit::Fan(FanEdit::MaxSpeed(v)),
        ),
        form.optional(
            "Highest speed, hot",
            "fan-max-speed-hot",
            Kind::Rotation,
            fan.max_speed_hot_rpm,
            1.0..=20_000.0,
            |v| Edit::Fan(FanEdit::MaxSpeedHot(v)),
        ),
        form.count("Fans side by side", "fan-count", fan.count, 1..=20, |v| Edit::Fan(FanEdit::Count(v))),
        form.quantity(
            "System effect, on outlet velocity pressure",
            "system-effect",
            Kind::Number,
            fan.system_effect,
            0.0..=10.0,
            edit(FanEdit::SystemEffect),
        ),
        form.quantity(
            "Curve drawn at",
            "curve-speed",
            Kind::Rotation,
            fan.curve_speed_rpm,
            1.0..=20_000.0,
            edit(FanEdit::CurveSpeed),
        ),
        form.quantity(
            "Curve density",
            "curve-density",
            Kind::Density,
            fan.curve_density_kg_m3,
            0.1..=5.0,
            edit(FanEdit::CurveDensity),
        ),
        form.choice("Curve gives", "curve-basis", &fan.basis, basis, |v| Edit::Fan(FanEdit::Basis(v))),
        form.quantity(
            "Outlet area",
            "outlet-area",
            Kind::Area,
            fan.outlet_area_m2,
            0.001..=50.0,
            edit(FanEdit::OutletArea),
        ),
        form.quantity(
            "Efficiency where no power is given",
            "efficiency",
            Kind::Percent,
            fan.efficiency_percent,
            1.0..=100.0,
            edit(FanEdit::Efficiency),
        ),
    ]
}

/// The maker's curve, point by point.
pub fn curve_table(form: &Form) -> Html {
    let fan = &form.plan().heater.fan;
    let rows = fan.points.iter().enumerate().map(|(point, at)| {
        let number = point + 1;
        let power = form.optional("Shaft power", &format!("curve-{point}-power"), Kind::ShaftPower, at.shaft_power_w, 0.0..=1e7, move |v| {
            Edit::Fan(FanEdit::PointPower { point, shaft_power_w: v })
        });
        html! {
            <tr key={point}>
                <th scope="row">{ number }</th>
                <td>{ form.number(&format!("Point {number}, flow"), &format!("curve-{point}-flow"), Kind::VolumeFlow, at.flow_m3_s,
                    0.0..=10_000.0, move |v| Edit::Fan(FanEdit::PointFlow { point, flow_m3_s: v })) }</td>
                <td>{ form.number(&format!("Point {number}, pressure"), &format!("curve-{point}-pressure"), Kind::Pressure, at.pressure_pa,
                    -100_000.0..=100_000.0, move |v| Edit::Fan(FanEdit::PointPressure { point, pressure_pa: v })) }</td>
                <td>{ power.control }</td>
                <td>{ form.button("Remove", &format!("curve-{point}-remove"), Edit::Fan(FanEdit::RemovePoint(point))) }</td>
            </tr>
        }
    });
    html! {
        <>
            if fan.points.is_empty() {
                <p class="teach" key="teach">
                    { "No curve yet. Read five or more points off the maker's curve, from shut to free-blowing, with the speed and density it was drawn for. Or begin with a round-number curve and put the maker's in its place later." }
                </p>
            } else {
                <div class="scroll" key="table"><table class="grid compact" data-testid="fan-curve">
                    <thead><tr><th scope="col">{ "No." }</th><th scope="col">{ "Flow" }</th><th scope="col">{ "Pressure" }</th>
                        <th scope="col">{ "Shaft power" }</th><th scope="col"><span class="unseen">{ "Remove" }</span></th></tr></thead>
                    <tbody>{ for rows }</tbody>
                </table></div>
            }
            <p class="buttons" key="buttons">
                { form.button("Add curve point", "add-curve-point", Edit::Fan(FanEdit::AddPoint)) }
                if fan.points.len() < 2 {
                    { form.button("Begin with a round-number curve", "start-curve", Edit::Fan(FanEdit::StartCurve)) }
                }
            </p>
        </>
    }
}

/// What can be set on a loss in series with the fan.
pub fn fixed_loss_fields(form: &Form, loss: &FixedLoss) -> Vec<Field> {
    let edit = |make: fn(f64) -> FixedLossEdit| {
        let id = loss.id.clone();
        move |v| Edit::FixedLoss { id: id.clone(), edit: make(v) }
    };
    let id = loss.id.clone();
    vec![
        form.text("Called", "name", &loss.name, move |v| Edit::FixedLoss {
            id: id.clone(),
            edit: FixedLossEdit::Name(v),
        }),
        form.quantity(
            "Known at",
            "flow",
            Kind::VolumeFlow,
            loss.flow_m3_s,
            0.001..=10_000.0,
            edit(FixedLossEdit::Flow),
        ),
        form.quantity(
            "Drop there",
            "drop",
            Kind::Pressure,
            loss.drop_pa,
            0.0..=100_000.0,
            edit(FixedLossEdit::Drop),
        ),
        form.optional(
            "Drop when dirty",
            "dirty-drop",
            Kind::Pressure,
            loss.dirty_drop_pa,
            0.0..=100_000.0,
            {
                let id = loss.id.clone();
                move |v| Edit::FixedLoss { id: id.clone(), edit: FixedLossEdit::DirtyDrop(v) }
            },
        ),
        form.quantity(
            "Dirty by",
            "dirt",
            Kind::Percent,
            loss.dirt_percent,
            0.0..=100.0,
            edit(FixedLossEdit::Dirt),
        ),
        form.quantity(
            "In air of",
            "density",
            Kind::Density,
            loss.density_kg_m3,
            0.1..=5.0,
            edit(FixedLossEdit::Density),
        ),
    ]
}

/// The card of the heater.
pub fn heater_card(form: &Form) -> Html {
    html! {
        <>
            { stacked(heater_fields(form)) }
            { findings_of(form, &form.plan().heater.id.clone()) }
            <h3>{ "Burner" }</h3>
            { super::heat::burner(form) }
            <h3>{ "Fan" }</h3>
            { stacked(fan_fields(form)) }
            <h3>{ "Maker's curve" }</h3>
            { curve_table(form) }
            <p class="buttons">{ form.button("Add fixed loss", "add-loss", Edit::Add(NewItem::FixedLoss)) }</p>
        </>
    }
}

/// The card of a loss.
pub fn fixed_loss_card(form: &Form, id: &str) -> Html {
    let Some(loss) = form.plan().heater.fixed_losses.iter().find(|item| item.id == id) else {
        return gone(id);
    };
    html! { <>{ stacked(fixed_loss_fields(form, loss)) }{ findings_of(form, id) }</> }
}
