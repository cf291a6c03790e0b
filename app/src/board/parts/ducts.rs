//! Duct bodies, collars, elbow vanes, dampers, flow arrows and size labels.

use super::{Drawing, Fill, Form, ItemId, Stroke, Tone, called, outline, section_text, text};
use crate::board::labels::Spot;
use crate::board::outline::{direction, end_direction, left, moved, rectangle};
use crate::board::scene::{Align, Dash, Item, Text};
use crate::charts::display::signed_percent;
use engine::numerics::{cos, sin};
use engine::plan::geometry::{along, distance_m, length_m, section_at};
use engine::plan::{Blades, Duct, DuctRole, ElbowStyle, Point, Section};
use engine::units::{Kind, show};

impl Drawing<'_> {
    pub(super) fn ducts(&mut self) {
        let plan = self.plan;
        let collars = outline::collars(plan, &self.joints);
        let order = outline::painting_order(plan, &self.joints);
        for duct in &plan.ducts {
            for pair in duct.path.windows(2) {
                let width = duct.section.plan_width_m();
                self.room.keep_clear(&outline::thick_line(pair, width), true);
            }
        }
        for &index in &order {
            let duct = &plan.ducts[index];
            let id: ItemId = duct.id.as_str().into();
            self.body(index, &id);
            self.vanes(duct);
            self.arrows(duct);
        }
        for collar in &collars {
            // The flange stands a little proud of the sheet.
            let n = left(collar.into);
            let reach = collar.width_m / 2.0 + 2.5 / self.scale;
            let path = vec![moved(collar.at, n, reach), moved(collar.at, n, -reach)];
            self.line(None, path, Stroke::solid(Tone::Ink, 2.0));
        }
        for index in 0..plan.ducts.len() {
            self.fittings(index);
        }
        // After all bodies: what is cut into or set upon sheet is never hidden by another duct.
        self.slots();
        self.return_openings();
        for (index, duct) in plan.ducts.iter().enumerate() {
            let inside = collars
                .iter()
                .find(|c| c.duct == index && distance_m(c.at, duct.path[0]) < c.inside_m + 1e-6)
                .map_or(0.0, |c| c.inside_m);
            self.damper(duct, inside);
        }
        for index in 0..plan.ducts.len() {
            self.duct_item(&plan.ducts[index]);
        }
    }

    fn body(&mut self, index: usize, id: &ItemId) {
        let duct = &self.plan.ducts[index];
        let past = outline::past_ends_m(self.plan, &self.joints, index);
        let body = outline::duct_body(duct, past);
        if body.is_empty() {
            return;
        }
        let is_return = duct.role == DuctRole::Return;
        let tone = if is_return { Tone::DuctReturn } else { Tone::Duct };
        let edge = Stroke::solid(Tone::Ink, 1.2);
        self.polygon(Some(id), body, Fill::Solid(tone, 1.0), Some(edge));
        // A thin centre line where no slots are in its way.
        if !self.has_slots(duct) && duct.section.plan_width_m() * self.scale > 12.0 {
            let chain = Stroke::broken(Tone::InkSoft, 0.8, Dash::Chain);
            self.line(None, duct.path.clone(), chain);
        }
        for step in &duct.steps {
            let (at, d) = along(&duct.path, step.station_m);
            let half = duct.section.plan_width_m().max(step.section.plan_width_m()) / 2.0;
            let n = left(d);
            let seam = vec![moved(at, n, half), moved(at, n, -half)];
            self.line(None, seam, Stroke::solid(Tone::InkSoft, 1.0));
        }
    }

    /// Sleeves through walls, and the cover of an end that can be taken off.
    fn fittings(&mut self, index: usize) {
        let duct = &self.plan.ducts[index];
        let width = |station| section_at(duct, station).plan_width_m();
        for &station in &duct.sleeves_m {
            let (at, d) = along(&duct.path, station);
            let sleeve = rectangle(at, d, outline::WALL_M * 1.8, width(station) + 0.12);
            self.scene.push(None, Form::Polygon(sleeve), None, Some(Stroke::solid(Tone::Ink, 1.6)));
        }
        let free = [true, false]
            .into_iter()
            .find(|last| !self.joints.iter().any(|joint| joint.duct == index && joint.last == *last));
        if let (true, Some(last)) = (duct.clean_out, free)
            && let Some(into) = end_direction(duct, last)
        {
            let end = if last { duct.path[duct.path.len() - 1] } else { duct.path[0] };
            let station = if last { f64::INFINITY } else { 0.0 };
            let cover =
                rectangle(moved(end, into, -2.0 / self.scale), into, 3.0 / self.scale, width(station) * 0.7);
            self.polygon(None, cover, Fill::Solid(Tone::Ink, 1.0), None);
        }
    }

    fn has_slots(&self, duct: &Duct) -> bool {
        self.plan.slot_rows.iter().any(|row| row.duct == duct.id && row.count > 0)
    }

    /// Turning vanes across the mitre of every bend, where there is room to show them.
    fn vanes(&mut self, duct: &Duct) {
        for corner in duct.path.windows(3) {
            let (Some(a), Some(b)) = (direction(corner[0], corner[1]), direction(corner[1], corner[2]))
            else {
                continue;
            };
            let turn = a.0 * b.1 - a.1 * b.0;
            let half = duct.section.plan_width_m() / 2.0;
            if turn.abs() < 0.2 || half * self.scale < 6.0 {
                continue;
            }
            let diagonal = (a.0 - b.0, a.1 - b.1);
            let pen = Stroke::solid(Tone::InkSoft, 1.0);
            match duct.elbows {
                ElbowStyle::Mitred | ElbowStyle::Radius => {
                    let ends = [-half, half].map(|by| moved(corner[1], diagonal, by));
                    self.line(None, ends.to_vec(), pen);
                }
                ElbowStyle::Vaned => {
                    for k in -2..=2 {
                        let at = moved(corner[1], diagonal, half * 0.36 * f64::from(k));
                        let size = half * 0.28;
                        let vane = vec![moved(at, a, -size), at, moved(at, b, size)];
                        self.line(None, vane, pen);
                    }
                }
            }
        }
    }

    /// Arrowheads where the air goes, turned round where the solve finds it flowing back.
    fn arrows(&mut self, duct: &Duct) {
        let total = length_m(&duct.path);
        if total <= 0.0 || duct.section.plan_width_m() * self.scale < 7.0 {
            return;
        }
        let size = (4.0 / self.scale).min(duct.section.plan_width_m() * 0.3);
        let pen = Stroke::solid(Tone::InkSoft, 1.4);
        let spacing = (150.0 / self.scale).max(0.5);
        let mut station = if self.has_slots(duct) {
            return;
        } else {
            spacing * 0.5
        };
        let backwards = self.flows_back(duct);
        while station < total {
            let (at, d) = along(&duct.path, station);
            let d = if backwards(station) { (-d.0, -d.1) } else { d };
            self.chevron(at, d, size, pen);
            station += spacing;
        }
    }

    fn flows_back(&self, duct: &Duct) -> impl Fn(f64) -> bool + use<> {
        let stations = self.profiles.get(duct.id.as_str()).map_or_else(Vec::new, |profile| {
            profile.stations.iter().map(|s| (s.station_m, s.velocity_m_s)).collect()
        });
        move |station| {
            let near =
                |a: &&(f64, f64), b: &&(f64, f64)| (a.0 - station).abs().total_cmp(&(b.0 - station).abs());
            stations.iter().min_by(near).is_some_and(|s| s.1 < -1e-3)
        }
    }

    /// Blades at the angle of their travel, across the duct just behind its collar.
    fn damper(&mut self, duct: &Duct, inside_m: f64) {
        let Some(damper) = &duct.damper else { return };
        let Some(d) = end_direction(duct, false) else { return };
        let id: ItemId = duct.id.as_str().into();
        let width = duct.section.plan_width_m();
        let depth = width * 0.55;
        let at = moved(duct.path[0], d, inside_m + 0.12 + depth / 2.0);
        let edge = Stroke::solid(Tone::Ink, 1.6);
        let frame = rectangle(at, d, depth, width * 1.14);
        self.polygon(Some(&id), frame, Fill::Solid(Tone::Paper, 1.0), Some(edge));
        let count = 4;
        let n = left(d);
        let pitch = width / f64::from(count);
        // Shut blades lie across the duct, open ones along it.
        let open = (damper.open_percent / 100.0).clamp(0.0, 1.0) * core::f64::consts::FRAC_PI_2;
        for k in 0..count {
            let middle = moved(at, n, (f64::from(k) + 0.5 - f64::from(count) / 2.0) * pitch);
            let opposed = damper.blades == Blades::Opposed && k % 2 == 1;
            let lean = if opposed { -sin(open) } else { sin(open) };
            let blade = (n.0 * cos(open) + d.0 * lean, n.1 * cos(open) + d.1 * lean);
            let half = pitch * 0.48;
            let path = vec![moved(middle, blade, -half), moved(middle, blade, half)];
            self.line(Some(&id), path, Stroke::solid(Tone::Accent, 2.0));
            if self.scale > 60.0 {
                let fill = Some(Fill::Solid(Tone::Ink, 1.0));
                self.scene.push(None, Form::Dot { at: middle, radius_px: 1.6 }, fill, None);
            }
        }
        let words = [
            format!("Damper {}", show(damper.open_percent, Kind::Percent, self.units)),
            show(damper.open_percent, Kind::Percent, self.units),
        ];
        let reach = width * 0.57 * self.scale + 9.0;
        let vertical = d.1.abs() > d.0.abs();
        let spots = [1.0, -1.0].map(|side| Spot {
            at,
            shift_px: if vertical { (side * reach, 0.0) } else { (0.0, side * -reach) },
            align: match (vertical, side > 0.0) {
                (false, _) => Align::Middle,
                (true, true) => Align::Start,
                (true, false) => Align::End,
            },
            on: None,
            most_px: f64::INFINITY,
        });
        let like = Text { bold: true, tone: Tone::Accent, ..text(at, "") };
        self.label(&words, &like, &spots);
    }

    fn duct_item(&mut self, duct: &Duct) {
        let total = length_m(&duct.path);
        let kind = match duct.role {
            DuctRole::Supply if self.has_slots(duct) => "Run",
            DuctRole::Supply => "Trunk",
            DuctRole::Transfer => "Transfer duct",
            DuctRole::Return => "Return duct",
        };
        let mut spoken = format!(
            "{kind} {}, {} long, {}",
            called(&duct.name, &duct.id),
            show(total, Kind::Length, self.units),
            section_text(duct.section, self.units)
        );
        if let Some((low, high)) = self.ranges.get(duct.id.as_str()).copied() {
            let range = format!(
                ", slots from {} to {} percent off target",
                signed_percent(low, 1),
                signed_percent(high, 1)
            );
            spoken.push_str(&range);
        }
        if let Some(damper) = &duct.damper {
            let travel = show(damper.open_percent, Kind::Percent, self.units);
            spoken.push_str(&format!(", damper at {travel} of its travel"));
        }
        let at = along(&duct.path, total / 2.0).0;
        self.scene.items.push(Item { id: duct.id.as_str().into(), spoken, at });
    }

    pub(super) fn duct_labels(&mut self) {
        let plan = self.plan;
        let mut ducts: Vec<&Duct> = plan.ducts.iter().collect();
        engine::numerics::sort_short(&mut ducts, |a, b| length_m(&b.path).total_cmp(&length_m(&a.path)));
        for duct in ducts {
            let words = self.duct_wordings(duct);
            let spots = self.duct_spots(duct);
            let at = duct.path.first().copied().unwrap_or(Point::new(0.0, 0.0));
            self.label(&words, &text(at, ""), &spots);
        }
    }

    fn duct_wordings(&self, duct: &Duct) -> Vec<String> {
        let name = called(&duct.name, &duct.id).to_owned();
        let mut size = section_text(duct.section, self.units);
        for step in &duct.steps {
            // The unit stands once, at the end.
            let before = size.rsplit_once('\u{a0}').map_or(size.as_str(), |(numbers, _)| numbers);
            size = format!("{before} → {}", section_text(step.section, self.units));
        }
        let mut words = Vec::new();
        if let Some((low, high)) = self.ranges.get(duct.id.as_str()).copied() {
            let range = format!("{}…{} %", signed_percent(low, 0), signed_percent(high, 0));
            words.push(format!("{name} · {size} · {range}"));
        }
        words.push(format!("{name} · {size}"));
        if !size.contains('→') {
            words.push(size);
        }
        words.push(name);
        words
    }

    /// Beside the longest straight first, then beyond the end; inside where no slots are.
    fn duct_spots(&self, duct: &Duct) -> Vec<Spot> {
        let longest = duct
            .path
            .windows(2)
            .map(|w| (w[0], w[1]))
            .max_by(|a, b| distance_m(a.0, a.1).total_cmp(&distance_m(b.0, b.1)));
        let Some((a, b)) = longest else { return Vec::new() };
        let Some(d) = direction(a, b) else { return Vec::new() };
        let upright = d.1.abs() > d.0.abs();
        let station = |p: Point| engine::plan::geometry::nearest(&duct.path, p).0;
        let mut spots = Vec::new();
        for f in [0.5, 0.35, 0.65, 0.2, 0.8, 0.9, 0.1] {
            let at = Point::new(a.x_m + (b.x_m - a.x_m) * f, a.y_m + (b.y_m - a.y_m) * f);
            let half_px = half_width(section_at(duct, station(at))) * self.scale;
            // Inside, clear of both ends and of what joins or bends there.
            let inside_px = 2.0 * (f.min(1.0 - f) * distance_m(a, b) * self.scale - half_px);
            if !upright && half_px >= 8.0 && !self.has_slots(duct) {
                spots.push(Spot {
                    at,
                    shift_px: (0.0, 0.0),
                    align: Align::Middle,
                    on: Some(if duct.role == DuctRole::Return { Tone::DuctReturn } else { Tone::Duct }),
                    most_px: inside_px,
                });
            }
            for side in [-1.0, 1.0] {
                let reach = side * (half_px + 9.0);
                spots.push(if upright {
                    let align = if side > 0.0 { Align::Start } else { Align::End };
                    Spot { at, shift_px: (reach, 0.0), align, on: None, most_px: f64::INFINITY }
                } else {
                    Spot {
                        at,
                        shift_px: (0.0, reach),
                        align: Align::Middle,
                        on: None,
                        most_px: f64::INFINITY,
                    }
                });
            }
        }
        if let Some(&end) = duct.path.last().filter(|_| !upright) {
            let align = if d.0 > 0.0 { Align::Start } else { Align::End };
            spots.push(Spot {
                at: end,
                shift_px: (8.0 * d.0.signum(), 0.0),
                align,
                on: None,
                most_px: f64::INFINITY,
            });
        }
        spots
    }
}

fn half_width(section: Section) -> f64 {
    section.plan_width_m() / 2.0
}
