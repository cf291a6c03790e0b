//! The strip's middle: the duct to scale with its slots or returns, branches and sizes.

use super::data::{Branch, Cell, Cells};
use super::draw::{CROWDED_PX, Sheet};
use crate::board::scene::text_width_px;
use crate::charts::display::{Display, short};
use crate::charts::ink::{Anchor, Drawn, Words, fill, pen};
use engine::plan::{DuctRole, Section};
use engine::units::{Kind, UnitSystem};
use plotters::prelude::*;

impl<DB: DrawingBackend> Sheet<'_, DB> {
    pub(super) fn duct(&self) -> Drawn<DB> {
        let middle = (self.layout.duct.0 + self.layout.duct.1) / 2.0;
        let across = self.layout.px_per_m_across(self.data);
        let is_return = self.data.role == DuctRole::Return;
        let sheet = if is_return { self.palette.duct_return } else { self.palette.duct };
        let half = |station: f64| self.data.width_m(station) / 2.0 * across;
        let mut upper = Vec::new();
        for (i, &(station, width)) in self.data.widths.iter().enumerate() {
            let x = self.x(station);
            if i > 0 {
                upper.push((x, half(self.data.widths[i - 1].0)));
            }
            upper.push((x, width / 2.0 * across));
        }
        upper.push((self.x(self.data.length_m), half(self.data.length_m)));
        let side = |sign: f64| upper.iter().map(move |(x, h)| (*x, self.px(middle + sign * h)));
        let outline: Vec<_> = side(-1.0).chain(side(1.0).rev()).collect();
        self.area.draw(&Polygon::new(outline.clone(), fill(sheet, 1.0)))?;
        for bend in &self.data.bends {
            let (x, h) = (self.x(*bend), half(*bend));
            let path = vec![(x, self.px(middle - h)), (x, self.px(middle + h))];
            self.area.draw(&PathElement::new(path, pen(self.palette.ink_soft, 1.0, self.scale)))?;
        }
        for branch in &self.data.branches {
            self.branch(branch, middle, half(branch.station_m))?;
        }
        let edged = self.closest_px() >= CROWDED_PX;
        for cell in self.data.cells.iter().filter(|cell| self.on_duct(cell)) {
            self.cell(cell, middle, across, edged)?;
        }
        let closed = outline.iter().copied().chain(outline.first().copied()).collect::<Vec<_>>();
        self.area.draw(&PathElement::new(closed, pen(self.palette.ink, 1.3, self.scale)))?;
        self.flow_arrow(middle)?;
        self.sizes()?;
        self.height_mark(self.layout.x.1 + 6.0, middle)?;
        let beyond = self.data.cells.iter().filter(|cell| !self.on_duct(cell)).count();
        if beyond == 0 {
            return Ok(());
        }
        let words = format!("{beyond} beyond the end");
        let at = (self.px(self.layout.x.1 - 8.0), self.px(middle));
        Words::new(12.0, self.palette.problem).bold().write(self.area, &words, at, Anchor::Right, self.scale)
    }

    /// What stands beside the duct whatever was found: scale, what is written under its slots, names of branches.
    pub(super) fn duct_words(&self) -> Drawn<DB> {
        let beside = self.px(self.layout.x.1 + 6.0);
        let middle = (self.layout.duct.0 + self.layout.duct.1) / 2.0;
        // To scale along; across too, unless the duct is too wide for the panel.
        let true_scale = (self.layout.px_per_m_across(self.data) - self.layout.px_per_m()).abs() < 1e-9;
        let words = if true_scale { "to scale" } else { "length to scale" };
        let at = (beside, self.px(middle));
        Words::new(10.5, self.palette.ink).write(self.area, words, at, Anchor::Left, self.scale)?;
        let symbol = Display::of(Kind::ShopLength, self.data.units).symbol;
        let title = match self.data.kind {
            Cells::Slots => format!("width, {symbol}"),
            Cells::Returns => format!("open, {symbol}"),
            Cells::None => return self.branch_names(),
        };
        let at = (beside, self.px(self.layout.duct.1 + 10.0));
        self.soft().write(self.area, &title, at, Anchor::Left, self.scale)?;
        self.branch_names()
    }

    /// The height at the duct's end, which is dragged here: it does not show in plan.
    fn height_mark(&self, x: f64, middle: f64) -> Drawn<DB> {
        let Some((_, section)) = self.data.sections.last() else { return Ok(()) };
        let display = Display::of(Kind::ShopLength, self.data.units);
        let digits = if self.data.units == UnitSystem::Si { 1 } else { 2 };
        let (height_m, sign) = match section {
            Section::Rectangular { height_m, .. } => (*height_m, ""),
            Section::Round { diameter_m } => (*diameter_m, "⌀ "),
        };
        let words = format!("↕ {sign}{} {}", short(display.number(height_m), digits), display.symbol);
        let at = (self.px(x), self.px(middle + 15.0));
        let colour = if self.data.held { self.palette.accent } else { self.palette.ink };
        Words::new(11.0, colour).bold().write(self.area, &words, at, Anchor::Left, self.scale)
    }

    /// Whether a slot or return is on the duct at all: rows can be longer than a duct just shortened.
    pub(super) fn on_duct(&self, cell: &Cell) -> bool {
        (0.0..=self.data.length_m).contains(&cell.station_m)
    }

    /// A collar on the side where the branch leaves.
    fn branch(&self, branch: &Branch, middle: f64, half: f64) -> Drawn<DB> {
        let reach = (branch.width_m / 2.0 * self.layout.px_per_m()).max(3.0);
        let x = self.layout.x_of(branch.station_m.clamp(0.0, self.data.length_m));
        let (x0, x1) = ((x - reach).max(self.layout.x.0), (x + reach).min(self.layout.x.1));
        let (y0, y1) = if branch.left {
            (middle - half - 4.0, middle - half)
        } else {
            (middle + half, middle + half + 4.0)
        };
        let corners = [(self.px(x0), self.px(y0)), (self.px(x1), self.px(y1))];
        self.area.draw(&Rectangle::new(corners, fill(self.palette.ink_soft, 1.0)))
    }

    /// Names of branches over and under the duct, from the left; those without room are left out.
    fn branch_names(&self) -> Drawn<DB> {
        for left in [true, false] {
            let mut branches: Vec<&Branch> = self.data.branches.iter().filter(|b| b.left == left).collect();
            engine::numerics::sort_short(&mut branches, |a, b| a.station_m.total_cmp(&b.station_m));
            let mut free_from = self.layout.x.0 - 10.0;
            let right = self.layout.x.1 + 88.0;
            for branch in branches {
                let width = text_width_px(&branch.name, 10.5);
                let x = self.layout.x_of(branch.station_m.clamp(0.0, self.data.length_m));
                let middle = x.min(right - width / 2.0);
                if middle - width / 2.0 < free_from {
                    continue;
                }
                free_from = middle + width / 2.0 + 10.0;
                let y = if left { self.layout.duct.0 - 7.0 } else { self.layout.duct.1 + 9.0 };
                let style = Words::new(10.0, self.palette.ink_soft);
                style.write(
                    self.area,
                    &branch.name,
                    (self.px(middle), self.px(y)),
                    Anchor::Centre,
                    self.scale,
                )?;
            }
        }
        Ok(())
    }

    fn cell(&self, cell: &Cell, middle: f64, across: f64, edged: bool) -> Drawn<DB> {
        let x = self.layout.x_of(cell.station_m);
        // A slot is seen before it is to scale.
        let half_x = (cell.along_m / 2.0 * self.layout.px_per_m()).max(1.6);
        let half_y = match self.data.kind {
            Cells::Returns => self.data.width_m(cell.station_m) / 2.0 * across * 0.8,
            _ => (cell.across_m / 2.0 * across).max(2.0),
        };
        let corners = [
            (self.px(x - half_x), self.px(middle - half_y)),
            (self.px(x + half_x), self.px(middle + half_y)),
        ];
        let colour = cell.miss.map_or(self.palette.paper, |miss| self.palette.deviation(miss));
        // What a slide covers is sheet.
        let covered = corners[1].1 - ((corners[1].1 - corners[0].1) as f64 * cell.free).round() as i32;
        if cell.free < 1.0 {
            self.area.draw(&Rectangle::new(corners, fill(self.palette.line, 1.0)))?;
        }
        self.area.draw(&Rectangle::new([(corners[0].0, covered), corners[1]], fill(colour, 1.0)))?;
        let selected = self.data.selected.as_ref() == Some(&cell.id);
        let edge = if selected {
            pen(self.palette.accent, 2.0, self.scale)
        } else if edged {
            pen(self.palette.ink, 1.0, self.scale)
        } else {
            return Ok(());
        };
        self.area.draw(&Rectangle::new(corners, edge))
    }

    fn flow_arrow(&self, middle: f64) -> Drawn<DB> {
        let back = self.data.stations.iter().map(|s| s.velocity_m_s).sum::<f64>() < 0.0;
        let x = self.layout.x.0 - 16.0;
        let (tail, tip) = if back { (x + 12.0, x - 8.0) } else { (x - 8.0, x + 12.0) };
        let head = if back { 5.0 } else { -5.0 };
        let style = pen(self.palette.ink, 1.6, self.scale);
        let shaft = vec![(self.px(tail), self.px(middle)), (self.px(tip), self.px(middle))];
        self.area.draw(&PathElement::new(shaft, style))?;
        let barbs = vec![
            (self.px(tip + head), self.px(middle - 4.0)),
            (self.px(tip), self.px(middle)),
            (self.px(tip + head), self.px(middle + 4.0)),
        ];
        self.area.draw(&PathElement::new(barbs, style))
    }

    /// What the shop sets, under each slot or return; as many as there is room for.
    fn sizes(&self) -> Drawn<DB> {
        if self.data.kind == Cells::None {
            return Ok(());
        }
        let display = Display::of(Kind::ShopLength, self.data.units);
        let digits = if self.data.units == UnitSystem::Si { 1 } else { 3 };
        let words: Vec<String> =
            self.data.cells.iter().map(|cell| short(display.number(cell.set_m), digits)).collect();
        let widest = words.iter().map(|w| w.chars().count()).max().unwrap_or(1) as f64 * 6.0 + 5.0;
        let y = self.px(self.layout.duct.1 + 10.0);
        for i in self.spaced(widest) {
            let at = (self.x(self.data.cells[i].station_m), y);
            let style = Words::new(10.0, self.palette.ink);
            style.write(self.area, &words[i], at, Anchor::Centre, self.scale)?;
        }
        Ok(())
    }

    /// The cells that can be written at, `room` px apart: the selected one always, the rest evenly.
    pub(super) fn spaced(&self, room: f64) -> Vec<usize> {
        let x = |i: usize| self.layout.x_of(self.data.cells[i].station_m);
        let selected = self.data.cells.iter().position(|c| Some(&c.id) == self.data.selected.as_ref());
        let n = self.data.cells.len();
        let closest = (1..n).map(|i| x(i) - x(i - 1)).fold(f64::INFINITY, f64::min);
        let every = if closest >= room { 1 } else { (room / closest.max(0.5)).ceil() as usize };
        let mut kept: Vec<usize> =
            (0..n).step_by(every.max(1)).filter(|&i| self.on_duct(&self.data.cells[i])).collect();
        if let Some(selected) = selected {
            kept.retain(|&i| i == selected || (x(i) - x(selected)).abs() >= room);
            if !kept.contains(&selected) && self.on_duct(&self.data.cells[selected]) {
                kept.push(selected);
            }
        }
        kept
    }
}
