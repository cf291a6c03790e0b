//! Ducts.

use super::path::{self, PathEdit};
use engine::error::EngineError;
use engine::numerics::sort_short;
use engine::plan::{
    BladeDamper, Blades, Duct, DuctRole, ElbowStyle, LeakageClass, Point, Section, SizeStep, geometry,
};

/// A change of a duct.
#[derive(Clone, Debug, PartialEq)]
pub enum DuctEdit {
    /// What people call it.
    Name(String),
    /// What it carries.
    Role(DuctRole),
    /// A point of the centre line, as a drag gives it.
    MovePoint {
        /// Which, from 0.
        point: usize,
        /// Where to.
        to: Point,
    },
    /// Insert or remove a point of the centre line.
    Path(PathEdit),
    /// Inside size from the first point on.
    Section(Section),
    /// A change of size half-way along what is left.
    AddStep,
    /// Where a change of size is, m.
    StepStation {
        /// Which, from 0.
        step: usize,
        /// From the first point, m.
        station_m: f64,
    },
    /// Size after a change.
    StepSection {
        /// Which, from 0.
        step: usize,
        /// Inside size.
        section: Section,
    },
    /// A change of size goes.
    RemoveStep(usize),
    /// A sleeve wherever it passes a wall, and nowhere else.
    SleeveWalls,
    /// Where a sleeve is, m.
    Sleeve {
        /// Which, from 0.
        sleeve: usize,
        /// From the first point, m.
        station_m: f64,
    },
    /// A sleeve goes.
    RemoveSleeve(usize),
    /// Height of its underside above the floor, m.
    Underside(f64),
    /// Whether its free end can be taken off.
    CleanOut(bool),
    /// Sheet roughness, m.
    Roughness(f64),
    /// How bends are made.
    Elbows(ElbowStyle),
    /// Tightness of its seams; none is tight.
    Leakage(Option<LeakageClass>),
    /// With or without a blade damper.
    HasDamper(bool),
    /// Travel of the blades, %.
    DamperOpen(f64),
    /// Leakage when shut, %.
    DamperLeakage(f64),
    /// How the blades turn.
    DamperBlades(Blades),
    /// Inside size of the damper; none is as its duct.
    DamperSize(Option<Section>),
}

pub(super) fn duct(duct: &mut Duct, edit: &DuctEdit) -> Result<(), EngineError> {
    let place = format!("duct {}", duct.id);
    let no_step = || EngineError::new(&*place, "has no such change of size any more", "choose another");
    let no_sleeve = || EngineError::new(&*place, "has no such sleeve any more", "choose another");
    let no_damper = || EngineError::new(&*place, "has no blade damper", "add one first");
    match edit {
        DuctEdit::Name(name) => duct.name.clone_from(name),
        DuctEdit::Role(role) => duct.role = *role,
        DuctEdit::MovePoint { point, to } => {
            path::apply(&mut duct.path, PathEdit::Move { point: *point, to: *to }, 2, false)?;
        }
        DuctEdit::Path(edit) => path::apply(&mut duct.path, *edit, 2, false)?,
        DuctEdit::Section(section) => duct.section = *section,
        DuctEdit::AddStep => {
            let from = duct.steps.last().map_or(0.0, |step| step.station_m);
            let section = duct.steps.last().map_or(duct.section, |step| step.section);
            let station_m = (from + geometry::length_m(&duct.path)) / 2.0;
            duct.steps.push(SizeStep { station_m, section });
        }
        DuctEdit::StepStation { step, station_m } => {
            duct.steps.get_mut(*step).ok_or_else(no_step)?.station_m = *station_m;
            sort_short(&mut duct.steps, |a, b| a.station_m.total_cmp(&b.station_m));
        }
        DuctEdit::StepSection { step, section } => {
            duct.steps.get_mut(*step).ok_or_else(no_step)?.section = *section;
        }
        DuctEdit::RemoveStep(step) => {
            if *step >= duct.steps.len() {
                return Err(no_step());
            }
            duct.steps.remove(*step);
        }
        // Where the walls are the plan knows.
        DuctEdit::SleeveWalls => {}
        DuctEdit::Sleeve { sleeve, station_m } => {
            *duct.sleeves_m.get_mut(*sleeve).ok_or_else(no_sleeve)? = *station_m;
        }
        DuctEdit::RemoveSleeve(sleeve) => {
            if *sleeve >= duct.sleeves_m.len() {
                return Err(no_sleeve());
            }
            duct.sleeves_m.remove(*sleeve);
        }
        DuctEdit::Underside(v) => duct.underside_m = *v,
        DuctEdit::CleanOut(has) => duct.clean_out = *has,
        DuctEdit::Roughness(v) => duct.roughness_m = *v,
        DuctEdit::Elbows(style) => duct.elbows = *style,
        DuctEdit::Leakage(class) => duct.leakage_class = *class,
        DuctEdit::HasDamper(true) => {
            duct.damper.get_or_insert_with(|| BladeDamper::new(100.0));
        }
        DuctEdit::HasDamper(false) => duct.damper = None,
        DuctEdit::DamperOpen(v) => duct.damper.as_mut().ok_or_else(no_damper)?.open_percent = *v,
        DuctEdit::DamperLeakage(v) => duct.damper.as_mut().ok_or_else(no_damper)?.leakage_percent = *v,
        DuctEdit::DamperBlades(blades) => duct.damper.as_mut().ok_or_else(no_damper)?.blades = *blades,
        DuctEdit::DamperSize(size) => duct.damper.as_mut().ok_or_else(no_damper)?.size = *size,
    }
    Ok(())
}
