//! What the strip shows: one duct unrolled end to end, with what is cut into it and what was found.

use crate::board::outline::{drawn_joints, end_direction};
use crate::board::parts::{called, deviation, free_fraction, section_text};
use engine::analysis::{Analysis, SlotResult, Station};
use engine::plan::geometry::{Onto, along, joints, length_m, section_at};
use engine::plan::{Duct, DuctRole, Plan, Section};
use engine::units::UnitSystem;
use std::collections::HashMap;

/// What a duct is pierced by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cells {
    /// Slots that discharge.
    Slots,
    /// Openings that take air back.
    Returns,
    /// Nothing.
    None,
}

/// One slot or return opening.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Its name in the plan.
    pub id: String,
    /// What stands in the first column of the table.
    pub name: String,
    /// The slot row, and which slot of it, from 0; none for returns.
    pub slot: Option<(String, usize)>,
    /// Middle, m from the duct's first point.
    pub station_m: f64,
    /// Size along the duct, m.
    pub along_m: f64,
    /// Size across the duct, m.
    pub across_m: f64,
    /// How much of it is free: 1 for a slot, less where a slide covers a return.
    pub free: f64,
    /// What a shop sets: the slot's width, or how far the slide stands open, m.
    pub set_m: f64,
    /// Discharge, kg/s; for returns the share of all returned air.
    pub actual: Option<f64>,
    /// What it should be.
    pub target: Option<f64>,
    /// By how much it misses that, as a fraction.
    pub miss: Option<f64>,
    /// Jet velocity of a slot, m/s; pressure drop of a return, Pa.
    pub reading: Option<f64>,
}

/// A duct that joins this one.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// Its name.
    pub name: String,
    /// Where, m from this duct's first point.
    pub station_m: f64,
    /// Its width, m.
    pub width_m: f64,
    /// On the left side, looking along this duct; drawn above.
    pub left: bool,
}

/// The strip of one duct.
#[derive(Clone, Debug, PartialEq)]
pub struct StripData {
    /// The duct.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// What it carries.
    pub role: DuctRole,
    /// Length of its centre line, m.
    pub length_m: f64,
    /// Its size, in words.
    pub size: String,
    /// Width in plan from each station on, m.
    pub widths: Vec<(f64, f64)>,
    /// Where its centre line bends, m.
    pub bends: Vec<f64>,
    /// Pressures found along it, finite, by rising station.
    pub stations: Vec<Station>,
    /// What is cut into it, by rising station.
    pub cells: Vec<Cell>,
    /// What that is.
    pub kind: Cells,
    /// What joins it.
    pub branches: Vec<Branch>,
    /// The selected slot or return.
    pub selected: Option<String>,
    /// The duct itself is selected.
    pub held: bool,
    /// Inside sizes with the station each begins at, m; the first is the duct's own, then its changes.
    pub sections: Vec<(f64, Section)>,
    /// Smallest step of a slot's width, m.
    pub increment_m: f64,
    /// Units people read.
    pub units: UnitSystem,
    /// What was found along it for the version kept to compare with.
    pub before: Option<Ghost>,
}

/// What was found along a duct earlier.
#[derive(Clone, Debug, PartialEq)]
pub struct Ghost {
    /// Pressures, finite, by rising station.
    pub stations: Vec<Station>,
    /// Where each slot or return was, m, and by how much it missed its target.
    pub misses: Vec<(f64, f64)>,
}

impl StripData {
    /// The same strip with the kept version behind it.
    pub fn beside(mut self, plan: &Plan, analysis: &Analysis) -> Self {
        let earlier = Self::new(plan, Some(analysis), &self.id, None, self.units);
        self.before = earlier.map(|earlier| Ghost {
            stations: earlier.stations,
            misses: earlier.cells.iter().filter_map(|cell| Some((cell.station_m, cell.miss?))).collect(),
        });
        self
    }

    /// The strip of the duct `id`; none when it is not in the plan or has no length.
    pub fn new(
        plan: &Plan,
        analysis: Option<&Analysis>,
        id: &str,
        selection: Option<&str>,
        units: UnitSystem,
    ) -> Option<Self> {
        let index = plan.ducts.iter().position(|duct| duct.id == id)?;
        let duct = &plan.ducts[index];
        let length = length_m(&duct.path);
        if !(length.is_finite() && length > 0.0) {
            return None;
        }
        let mut cells = slots(plan, analysis, duct);
        cells.extend(returns(plan, analysis, duct));
        cells.retain(|cell| cell.station_m.is_finite());
        engine::numerics::sort_short(&mut cells, |a, b| a.station_m.total_cmp(&b.station_m));
        let kind = match cells.first() {
            None => Cells::None,
            Some(cell) if cell.slot.is_some() => Cells::Slots,
            Some(_) => Cells::Returns,
        };
        let mut widths = vec![(0.0, duct.section.plan_width_m())];
        widths.extend(duct.steps.iter().map(|s| (s.station_m, s.section.plan_width_m())));
        let mut walked = 0.0;
        let mut bends = Vec::new();
        for pair in duct.path.windows(2) {
            walked += length_m(pair);
            bends.push(walked);
        }
        bends.pop();
        let profile = analysis.and_then(|a| a.runs.iter().find(|run| run.id == id));
        let stations = profile.map_or_else(Vec::new, |run| sound(&run.stations));
        let branches = drawn_joints(plan, &joints(plan))
            .into_iter()
            .filter_map(|joint| match joint.onto {
                Onto::Duct { duct: onto, station_m } if onto == index => {
                    let branch = &plan.ducts[joint.duct];
                    let name = called(&branch.name, &branch.id).to_owned();
                    let end = if joint.last { length_m(&branch.path) } else { 0.0 };
                    let run = along(&duct.path, station_m).1;
                    let into = end_direction(branch, joint.last).unwrap_or(run);
                    let left = run.0 * into.1 - run.1 * into.0 > 0.0;
                    Some(Branch { name, station_m, width_m: section_at(branch, end).plan_width_m(), left })
                }
                _ => None,
            })
            .collect();
        Some(Self {
            id: duct.id.clone(),
            name: called(&duct.name, &duct.id).to_owned(),
            role: duct.role,
            length_m: length,
            size: section_text(duct.section, units),
            widths,
            bends,
            stations,
            kind,
            branches,
            selected: selection.filter(|id| cells.iter().any(|cell| cell.id == *id)).map(str::to_owned),
            cells,
            increment_m: plan.shop.width_increment_m,
            held: selection == Some(id),
            sections: std::iter::once((0.0, duct.section))
                .chain(duct.steps.iter().map(|step| (step.station_m, step.section)))
                .collect(),
            units,
            before: None,
        })
    }

    /// Which of `sections` holds just after `station_m`.
    pub fn section_at(&self, station_m: f64) -> usize {
        self.sections.iter().rposition(|(from, _)| *from <= station_m + 1e-9).unwrap_or(0)
    }

    /// Width in plan just after `station_m`, m.
    pub fn width_m(&self, station_m: f64) -> f64 {
        self.widths.iter().rev().find(|w| w.0 <= station_m + 1e-9).map_or(self.widths[0].1, |w| w.1)
    }
}

/// The duct a selection belongs to: itself, a slot's, a slot row's or a return's.
pub fn duct_of(plan: &Plan, selection: &str) -> Option<String> {
    let duct = |id: &str| plan.ducts.iter().find(|duct| duct.id == id).map(|duct| duct.id.clone());
    let row_id = selection.rsplit_once('/').map_or(selection, |(row, _)| row);
    let row = |id: &str| plan.slot_rows.iter().find(|row| row.id == id).and_then(|row| duct(&row.duct));
    let opening = || {
        let opening = plan.returns.iter().find(|opening| opening.id == selection)?;
        duct(opening.duct.as_deref()?)
    };
    duct(selection).or_else(|| row(selection)).or_else(|| row(row_id)).or_else(opening)
}

/// The duct to show when nothing is selected: the one with the worst slot, else the first with slots.
pub fn duct_to_show(plan: &Plan, analysis: Option<&Analysis>) -> Option<String> {
    let worst = analysis.and_then(|a| a.slots.iter().find(|slot| slot.id == a.evenness.worst_slot));
    worst
        .and_then(|slot| duct_of(plan, &slot.run))
        .or_else(|| plan.slot_rows.iter().find_map(|row| duct_of(plan, &row.id)))
        .or_else(|| plan.ducts.first().map(|duct| duct.id.clone()))
}

fn slots(plan: &Plan, analysis: Option<&Analysis>, duct: &Duct) -> Vec<Cell> {
    let mut cells = Vec::new();
    let own: HashMap<&str, &SlotResult> = analysis.map_or_else(HashMap::new, |a| {
        a.slots.iter().filter(|slot| slot.run == duct.id).map(|slot| (slot.id.as_str(), slot)).collect()
    });
    for row in plan.slot_rows.iter().filter(|row| row.duct == duct.id) {
        for k in 0..row.count as usize {
            let id = row.slot_id(k);
            let found = own.get(id.as_str());
            let station_m = row.station_m(k);
            let width = row.width_m(k);
            // As on the board: across the duct where the slot fits across.
            let length = row.slot_length_m(k);
            let across = length <= section_at(duct, station_m).plan_width_m();
            let (along_m, across_m) = if across { (width, length) } else { (length, width) };
            cells.push(Cell {
                name: id.clone(),
                slot: Some((row.id.clone(), k)),
                id,
                station_m,
                along_m,
                across_m,
                free: 1.0,
                set_m: width,
                actual: found.map(|s| s.mass_flow_kg_s),
                target: found.map(|s| s.target_kg_s),
                miss: found.and_then(|s| deviation(s.mass_flow_kg_s, s.target_kg_s)),
                reading: found.map(|s| s.velocity_m_s),
            });
        }
    }
    cells
}

fn returns(plan: &Plan, analysis: Option<&Analysis>, duct: &Duct) -> Vec<Cell> {
    plan.returns
        .iter()
        .filter(|opening| opening.duct.as_ref() == Some(&duct.id))
        .map(|opening| {
            let found = analysis.and_then(|a| a.returns.iter().find(|r| r.id == opening.id));
            Cell {
                id: opening.id.clone(),
                name: called(&opening.name, &opening.id).to_owned(),
                slot: None,
                station_m: opening.station_m,
                along_m: opening.width_m,
                across_m: opening.height_m,
                free: free_fraction(opening),
                set_m: opening.open_m,
                actual: found.map(|r| r.share),
                target: found.map(|r| r.target_share),
                miss: found.and_then(|r| deviation(r.share, r.target_share)),
                reading: found.map(|r| r.drop_pa),
            }
        })
        .collect()
}

/// Stations with only finite numbers, by rising place: plotters would stop at any other.
fn sound(stations: &[Station]) -> Vec<Station> {
    let mut sound: Vec<Station> = stations
        .iter()
        .filter(|s| {
            [s.station_m, s.total_pa, s.static_pa, s.velocity_pa, s.velocity_m_s]
                .iter()
                .all(|v| v.is_finite())
        })
        .copied()
        .collect();
    engine::numerics::sort_short(&mut sound, |a, b| a.station_m.total_cmp(&b.station_m));
    sound
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::fixture::{demo, invented};

    fn strip(id: &str) -> StripData {
        let plan = demo();
        StripData::new(&plan, Some(&invented(&plan)), id, Some("slots-cure-1/3"), UnitSystem::Si).unwrap()
    }

    #[test]
    fn a_run_shows_its_slots_in_order_with_what_was_found() {
        let strip = strip("cure-1");
        assert_eq!((strip.kind, strip.cells.len()), (Cells::Slots, 23));
        assert!(strip.cells.windows(2).all(|w| w[0].station_m < w[1].station_m));
        assert!(strip.cells.iter().all(|cell| cell.miss.is_some() && cell.along_m == 0.014));
        assert_eq!(strip.selected.as_deref(), Some("slots-cure-1/3"));
        assert!((strip.length_m - 14.2).abs() < 1e-9);
    }

    #[test]
    fn slots_of_a_varied_row_stand_where_they_are_cut() {
        let mut plan = demo();
        let row = plan.slot_rows.iter_mut().find(|row| row.duct == "cure-1").unwrap();
        row.count = 3;
        row.widths_m = vec![0.014];
        row.stations_m = vec![1.0, 1.2, 6.0];
        row.lengths_m = vec![0.3, 0.25, 0.2];
        let data = StripData::new(&plan, None, "cure-1", None, UnitSystem::Si).unwrap();
        let drawn: Vec<_> = data.cells.iter().map(|cell| (cell.station_m, cell.across_m)).collect();
        assert_eq!(drawn, [(1.0, 0.3), (1.2, 0.25), (6.0, 0.2)]);
    }

    #[test]
    fn a_return_duct_shows_shares_and_a_trunk_its_branches() {
        let returns = strip("return-cure");
        assert_eq!((returns.kind, returns.cells.len()), (Cells::Returns, 5));
        assert!(returns.cells[0].target.unwrap() < 1.0);
        assert_eq!(returns.bends.len(), 2);
        assert_eq!(returns.selected, None);
        let trunk = strip("trunk");
        assert_eq!(trunk.kind, Cells::None);
        assert_eq!(trunk.branches.len(), 7);
        let of = |name: &str| trunk.branches.iter().find(|b| b.name == name).unwrap().left;
        // Looking down the trunk, east is left.
        assert!(of("Cure, north outer") && !of("Cure, north short"));
        assert_eq!((trunk.width_m(1.0), trunk.width_m(4.0)), (0.9, 0.7));
    }

    #[test]
    fn a_selection_leads_to_its_duct() {
        let plan = demo();
        for (selection, duct) in [
            ("cure-1", Some("cure-1")),
            ("slots-cure-1", Some("cure-1")),
            ("slots-cure-1/7", Some("cure-1")),
            ("return-6", Some("return-dry")),
            ("heater", None),
        ] {
            assert_eq!(duct_of(&plan, selection).as_deref(), duct, "{selection}");
        }
        assert!(duct_to_show(&plan, None).is_some());
    }

    #[test]
    fn broken_stations_are_left_out() {
        let mut plan = demo();
        let mut analysis = invented(&plan);
        analysis.runs[2].stations[4].total_pa = f64::NAN;
        let id = analysis.runs[2].id.clone();
        let before = analysis.runs[2].stations.len();
        let strip = StripData::new(&plan, Some(&analysis), &id, None, UnitSystem::Si).unwrap();
        assert_eq!(strip.stations.len(), before - 1);
        plan.ducts[2].path = vec![plan.ducts[2].path[0]; 2];
        assert!(StripData::new(&plan, None, &id, None, UnitSystem::Si).is_none());
    }
}
