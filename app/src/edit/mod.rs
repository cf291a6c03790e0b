//! Changes of the plan: a closed list, applied to a plan and nothing else.

mod add;
mod draw;
mod duct;
mod floor;
mod group;
mod heater;
mod path;
mod remove;
mod row;
mod slots;

pub use add::{NewItem, default_section, fresh_id};
pub use draw::{Drawn, closed_outline, nearest_wall};
pub use duct::DuctEdit;
pub use floor::{ColumnEdit, ConveyorEdit, EnclosureEdit, ExhaustEdit, OpeningEdit, SiteEdit, ZoneEdit};
pub use group::{Axis, GroupEdit, can_move, each_point};
pub use heater::{FanEdit, FixedLossEdit, HeaterEdit};
pub use path::{PathEdit, corners};
pub use remove::{delete_label, dependents};
pub use row::{Each, SlotRowEdit};
pub use slots::{ModelsEdit, ReturnEdit};

use engine::error::EngineError;
use engine::plan::{DuctRole, Plan, Point, ShopRecord};

/// One change of the plan.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// What the shop calls this oven.
    Name(String),
    /// Free text.
    Notes(String),
    /// Supply air wanted, kg/s.
    RequiredFlow(f64),
    /// Where the oven stands.
    Site(SiteEdit),
    /// The box.
    Enclosure(EnclosureEdit),
    /// A building column.
    Column { id: String, edit: ColumnEdit },
    /// A zone.
    Zone { id: String, edit: ZoneEdit },
    /// An opening that parts pass through.
    Opening { id: String, edit: OpeningEdit },
    /// The path of the parts.
    Conveyor(ConveyorEdit),
    /// Burner box.
    Heater(HeaterEdit),
    /// Recirculation fan.
    Fan(FanEdit),
    /// A loss in series with the fan.
    FixedLoss { id: String, edit: FixedLossEdit },
    /// A duct.
    Duct { id: String, edit: DuctEdit },
    /// A row of slots.
    SlotRow { id: String, edit: SlotRowEdit },
    /// A return opening.
    Return { id: String, edit: ReturnEdit },
    /// Air drawn to outside.
    Exhaust { id: String, edit: ExhaustEdit },
    /// Another shop record takes the place of the plan's.
    Shop(Box<ShopRecord>),
    /// Which laws the plan is solved with.
    Models(ModelsEdit),
    /// A plain setting, or a whole part of the plan, by its place in the plan's file.
    Set {
        /// What changes, as it stands beside Undo.
        what: &'static str,
        /// Where, as a JSON pointer.
        path: String,
        /// What stands there from now on; nothing where none.
        value: Option<serde_json::Value>,
    },
    /// A new item, which becomes the selection.
    Add(NewItem),
    /// What was drawn on the board becomes an item, and the selection.
    Draw(Drawn),
    /// A corner of an outline or a point of the conveyor; the edges it ends stay square.
    Corner { id: String, point: usize, to: Point },
    /// Several items at once.
    Group { ids: Vec<String>, edit: GroupEdit },
    /// An item goes, with what cannot be without it.
    Delete(String),
    /// An item gets another name; whatever refers to it follows.
    Rename { from: String, to: String },
}

/// The kinds of items that carry a name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ItemKind {
    /// The box.
    Enclosure,
    /// The path of the parts.
    Conveyor,
    /// A building column.
    Column,
    /// A zone.
    Zone,
    /// An opening that parts pass through.
    Opening,
    /// Burner box and fan.
    Heater,
    /// A loss in series with the fan.
    FixedLoss,
    /// A duct.
    Duct(DuctRole),
    /// A row of slots.
    SlotRow,
    /// One slot of a row, from 0.
    Slot(usize),
    /// A return opening.
    Return,
    /// Air drawn to outside.
    Exhaust,
    /// A temperature sensor.
    Sensor,
}

/// The name under which the enclosure is selected.
pub const ENCLOSURE: &str = "enclosure";
/// The name under which the conveyor is selected.
pub const CONVEYOR: &str = "conveyor";

/// What `id` names in `plan`; a slot by `row/number`.
pub fn kind_of(plan: &Plan, id: &str) -> Option<ItemKind> {
    if let Some(duct) = plan.ducts.iter().find(|item| item.id == id) {
        return Some(ItemKind::Duct(duct.role));
    }
    let found = [
        (plan.slot_rows.iter().any(|item| item.id == id), ItemKind::SlotRow),
        (plan.returns.iter().any(|item| item.id == id), ItemKind::Return),
        (plan.zones.iter().any(|item| item.id == id), ItemKind::Zone),
        (plan.openings.iter().any(|item| item.id == id), ItemKind::Opening),
        (plan.exhausts.iter().any(|item| item.id == id), ItemKind::Exhaust),
        (plan.sensors.iter().any(|item| item.id == id), ItemKind::Sensor),
        (plan.heater.id == id, ItemKind::Heater),
        (plan.heater.fixed_losses.iter().any(|item| item.id == id), ItemKind::FixedLoss),
        (plan.enclosure.columns.iter().any(|item| item.id == id), ItemKind::Column),
        (id == ENCLOSURE && !plan.enclosure.outline.is_empty(), ItemKind::Enclosure),
        (id == CONVEYOR && plan.conveyor.is_some(), ItemKind::Conveyor),
    ];
    if let Some((_, kind)) = found.into_iter().find(|(is, _)| *is) {
        return Some(kind);
    }
    let (row, number) = id.rsplit_once('/')?;
    let number: usize = number.parse().ok()?;
    let row = plan.slot_rows.iter().find(|item| item.id == row)?;
    (1..=row.count as usize).contains(&number).then(|| ItemKind::Slot(number - 1))
}

/// Whether `id` names an item or a slot of `plan`.
pub fn names(plan: &Plan, id: &str) -> bool {
    kind_of(plan, id).is_some()
}

/// Every name taken by an item of `plan`.
pub fn all_ids(plan: &Plan) -> Vec<&str> {
    let mut ids = vec![plan.heater.id.as_str()];
    ids.extend(plan.heater.fixed_losses.iter().map(|item| item.id.as_str()));
    ids.extend(plan.enclosure.columns.iter().map(|item| item.id.as_str()));
    ids.extend(plan.zones.iter().map(|item| item.id.as_str()));
    ids.extend(plan.openings.iter().map(|item| item.id.as_str()));
    ids.extend(plan.ducts.iter().map(|item| item.id.as_str()));
    ids.extend(plan.slot_rows.iter().map(|item| item.id.as_str()));
    ids.extend(plan.returns.iter().map(|item| item.id.as_str()));
    ids.extend(plan.exhausts.iter().map(|item| item.id.as_str()));
    ids.extend(plan.sensors.iter().map(|item| item.id.as_str()));
    ids
}

/// References of `plan` that lead nowhere, as sentences; edits never make one.
pub fn broken_references(plan: &Plan) -> Vec<String> {
    let mut broken = Vec::new();
    let duct = |id: &str| plan.ducts.iter().any(|duct| duct.id == id);
    let zone = |id: &str| plan.zones.iter().any(|zone| zone.id == id);
    for row in &plan.slot_rows {
        if !duct(&row.duct) {
            broken.push(format!("slot row {} is cut in duct {}, which is not in the plan", row.id, row.duct));
        }
        // A tapering row has a width at each joint: one more than panels.
        let count = row.count as usize;
        let lists = Each::ALL.map(|each| (each.of(row).len(), [0, count, count]));
        let widths = (row.widths_m.len(), [1, count, count + 1]);
        for (has, may) in lists.into_iter().chain([widths]) {
            if !may.contains(&has) {
                broken.push(format!("slot row {} has a list of {has} values for {count} slots", row.id));
            }
        }
    }
    for opening in &plan.returns {
        if let Some(id) = &opening.duct
            && !duct(id)
        {
            broken.push(format!("return {} opens into duct {id}, which is not in the plan", opening.id));
        }
    }
    for opening in &plan.openings {
        for id in std::iter::once(&opening.zone).chain(&opening.to_zone) {
            if !zone(id) {
                broken.push(format!("opening {} leads to zone {id}, which is not in the plan", opening.id));
            }
        }
    }
    let modulated = plan.ducts.iter().filter_map(|duct| {
        let zone = &duct.damper.as_ref()?.modulation.as_ref()?.zone;
        Some((duct.id.as_str(), zone))
    });
    let limited =
        plan.shop.speed_limits.iter().filter_map(|limit| Some(("a speed limit", limit.zone.as_ref()?)));
    let sensed = plan.sensors.iter().filter_map(|sensor| Some((sensor.id.as_str(), sensor.zone.as_ref()?)));
    for (item, id) in modulated.chain(limited).chain(sensed).filter(|(_, id)| !zone(id)) {
        broken.push(format!("{item} is about zone {id}, which is not in the plan"));
    }
    for exhaust in &plan.exhausts {
        if !zone(&exhaust.zone) {
            broken.push(format!(
                "exhaust {} draws from zone {}, which is not in the plan",
                exhaust.id, exhaust.zone
            ));
        }
    }
    broken
}

/// Changes `plan`; the names to select afterwards, if they should change.
pub fn apply(plan: &mut Plan, edit: &Edit) -> Result<Vec<String>, EngineError> {
    match edit {
        Edit::Name(name) => plan.name.clone_from(name),
        Edit::Notes(notes) => plan.notes.clone_from(notes),
        Edit::RequiredFlow(flow) => plan.required_flow_kg_s = *flow,
        Edit::Site(edit) => floor::site(&mut plan.site, edit),
        Edit::Enclosure(edit) => floor::enclosure(&mut plan.enclosure, edit)?,
        Edit::Column { id, edit } => {
            floor::column(find(&mut plan.enclosure.columns, |item| &item.id, id, "column")?, edit);
        }
        Edit::Zone { id, edit } => floor::zone(find(&mut plan.zones, |item| &item.id, id, "zone")?, edit)?,
        Edit::Opening { id, edit } => {
            floor::opening(find(&mut plan.openings, |item| &item.id, id, "opening")?, edit);
        }
        Edit::Conveyor(edit) => floor::conveyor(&mut plan.conveyor, edit)?,
        Edit::Heater(edit) => heater::heater(&mut plan.heater, edit),
        Edit::Fan(edit) => heater::fan(&mut plan.heater.fan, edit)?,
        Edit::FixedLoss { id, edit } => {
            heater::fixed_loss(find(&mut plan.heater.fixed_losses, |item| &item.id, id, "loss")?, edit);
        }
        Edit::Duct { id, edit: DuctEdit::SleeveWalls } => {
            let duct = find(&mut plan.ducts, |item| &item.id, id, "duct")?.clone();
            let mut stations: Vec<f64> = engine::judge::wall_crossings(plan, &duct)
                .iter()
                .map(|(station_m, ..)| (station_m * 1e6).round() / 1e6)
                .collect();
            engine::numerics::sort_short(&mut stations, f64::total_cmp);
            find(&mut plan.ducts, |item| &item.id, id, "duct")?.sleeves_m = stations;
        }
        Edit::Duct { id, edit } => duct::duct(find(&mut plan.ducts, |item| &item.id, id, "duct")?, edit)?,
        Edit::SlotRow { id, edit } => {
            row::row(find(&mut plan.slot_rows, |item| &item.id, id, "slot row")?, edit)?;
        }
        Edit::Return { id, edit } => {
            slots::opening(find(&mut plan.returns, |item| &item.id, id, "return")?, edit);
        }
        Edit::Exhaust { id, edit } => {
            floor::exhaust(find(&mut plan.exhausts, |item| &item.id, id, "exhaust")?, edit);
        }
        Edit::Shop(shop) => plan.shop.clone_from(shop),
        Edit::Models(edit) => slots::models(&mut plan.models, *edit),
        Edit::Set { path, value, .. } => crate::settings::set(plan, path, value.as_ref())?,
        Edit::Add(item) => return add::add(plan, item).map(|id| vec![id]),
        Edit::Draw(drawn) => return draw::draw(plan, drawn).map(|id| vec![id]),
        Edit::Corner { id, point, to } => path::corner(plan, id, *point, *to)?,
        Edit::Group { ids, edit } => return group::group(plan, ids, *edit),
        Edit::Delete(id) => remove::delete(plan, id)?,
        Edit::Rename { from, to } => return remove::rename(plan, from, to).map(|id| vec![id]),
    }
    Ok(Vec::new())
}

/// What a person should read of what else `edit` has changed between two plans.
pub fn told(before: &Plan, after: &Plan, edit: &Edit) -> Option<String> {
    let Edit::SlotRow { id, edit } = edit else { return None };
    let row = |plan: &'_ Plan| plan.slot_rows.iter().position(|row| row.id == *id);
    row::told(&before.slot_rows[row(before)?], &after.slot_rows[row(after)?], edit)
}

fn find<'a, T>(
    items: &'a mut [T],
    name: impl Fn(&T) -> &String,
    id: &str,
    what: &str,
) -> Result<&'a mut T, EngineError> {
    items.iter_mut().find(|item| name(item) == id).ok_or_else(|| {
        EngineError::new(format!("{what} {id}"), "is no longer in the plan", "select another item")
    })
}

impl Edit {
    /// What was done, as it stands beside Undo.
    pub fn label(&self) -> String {
        match self {
            Self::Name(_) => "Name the plan".into(),
            Self::Notes(_) => "Change notes".into(),
            Self::RequiredFlow(_) => "Change air wanted".into(),
            Self::Site(_) => "Change site".into(),
            Self::Enclosure(_) => "Change enclosure".into(),
            Self::Column { id, .. }
            | Self::Zone { id, .. }
            | Self::Opening { id, .. }
            | Self::FixedLoss { id, .. }
            | Self::Duct { id, .. }
            | Self::SlotRow { id, .. }
            | Self::Return { id, .. }
            | Self::Exhaust { id, .. } => format!("Change {id}"),
            Self::Conveyor(_) => "Change conveyor".into(),
            Self::Heater(_) => "Change heater".into(),
            Self::Fan(FanEdit::Speed(_)) => "Change fan speed".into(),
            Self::Fan(_) => "Change fan".into(),
            Self::Shop(_) => "Take shop record".into(),
            Self::Models(_) => "Change slot law".into(),
            Self::Set { what, .. } => format!("Change {what}"),
            Self::Add(item) => format!("Add {}", item.word()),
            Self::Draw(drawn) => format!("Draw {}", drawn.word()),
            Self::Corner { id, .. } => format!("Move corner of {id}"),
            Self::Group { ids, edit } => match ids.as_slice() {
                [one] => format!("{} {one}", edit.word()),
                many => format!("{} {} items", edit.word(), many.len()),
            },
            Self::Delete(id) => format!("Delete {id}"),
            Self::Rename { from, to } => format!("Rename {from} to {to}"),
        }
    }
}
