//! Draws the strip: pressures above, the duct to scale below them, discharge against target at the foot.

use super::data::{Cells, StripData};
use super::layout::Layout;
use crate::board::scene::text_width_px;
use crate::charts::axis::{Ticks, finite, guarded};
use crate::charts::display::{Display, signed_percent};
use crate::charts::ink::{Anchor, Drawn, Surface, Words, dashed, fill, level_grid, pen, rgb, upright_grid};
use crate::charts::palette::{Colour, Palette};
use engine::units::Kind;
use plotters::prelude::*;
use std::ops::Range;

/// How far off target is still even, as a fraction.
pub const BAND: f64 = 0.05;

/// What drawing needs at hand.
pub(super) struct Sheet<'a, DB: DrawingBackend> {
    pub(super) area: &'a Surface<DB>,
    pub(super) data: &'a StripData,
    pub(super) layout: Layout,
    pub(super) palette: &'a Palette,
    pub(super) scale: f64,
}

/// Draws the strip on the whole of `area`.
pub fn draw<DB: DrawingBackend>(
    area: &Surface<DB>,
    data: &StripData,
    palette: &Palette,
    scale: f64,
) -> Drawn<DB> {
    area.fill(&rgb(palette.paper))?;
    let (w, h) = area.dim_in_pixel();
    let Some(layout) = Layout::new(f64::from(w) / scale, f64::from(h) / scale, data) else { return Ok(()) };
    let sheet = Sheet { area, data, layout, palette, scale };
    sheet.selection()?;
    sheet.pressures()?;
    sheet.duct()?;
    match data.kind {
        Cells::None => sheet.velocity()?,
        Cells::Slots | Cells::Returns => sheet.bars()?,
    }
    sheet.axis_title()
}

impl<DB: DrawingBackend> Sheet<'_, DB> {
    pub(super) fn px(&self, v: f64) -> i32 {
        (v * self.scale).round() as i32
    }

    pub(super) fn x(&self, station_m: f64) -> i32 {
        self.px(self.layout.x_of(station_m))
    }

    /// The panel between two heights, as a surface of its own.
    fn panel(&self, y: (f64, f64)) -> Surface<DB> {
        let (x0, x1) = (self.px(self.layout.x.0), self.px(self.layout.x.1));
        let (y0, y1) = (self.px(y.0), self.px(y.1));
        self.area.clone().shrink((x0, y0), (x1 - x0, y1 - y0))
    }

    pub(super) fn soft(&self) -> Words {
        Words::new(10.5, self.palette.ink_soft)
    }

    /// A light column behind everything at the selected slot or return.
    fn selection(&self) -> Drawn<DB> {
        let selected = self.data.cells.iter().find(|cell| Some(&cell.id) == self.data.selected.as_ref());
        let Some(cell) = selected.filter(|cell| self.on_duct(cell)) else { return Ok(()) };
        let half = (cell.along_m / 2.0 * self.layout.px_per_m()).max(7.0) + 2.0;
        let x = self.layout.x_of(cell.station_m);
        let corners = [
            (self.px(x - half), self.px(self.layout.pressures.0)),
            (self.px(x + half), self.px(self.layout.bars.1)),
        ];
        self.area.draw(&Rectangle::new(corners, fill(self.palette.accent, 0.14)))
    }

    fn pressures(&self) -> Drawn<DB> {
        let stations = &self.data.stations;
        let panel = self.panel(self.layout.pressures);
        let before = self.data.before.as_ref().map_or(&[][..], |before| &before.stations);
        let values = stations.iter().chain(before).flat_map(|s| [s.total_pa, s.static_pa, s.velocity_pa]);
        let y = guarded(values.chain([0.0]), 0.06, 1.0);
        let mut chart = ChartBuilder::on(&panel).build_cartesian_2d(self.layout.stations(), y.clone())?;
        let display = Display::of(Kind::Pressure, self.data.units);
        let room = ((self.layout.pressures.1 - self.layout.pressures.0) / 20.0) as usize;
        let ticks = Ticks::new(&y, display, room.clamp(3, 7));
        level_grid(self.area, &mut chart, &ticks, self.palette.grid, self.soft(), self.scale)?;
        let along = Ticks::new(&self.stations_in_sight(), self.length_display(), self.marks_along());
        upright_grid(self.area, &mut chart, &along, self.palette.grid, None, self.scale)?;

        let line =
            |of: fn(&engine::analysis::Station) -> f64| finite(stations.iter().map(|s| (s.station_m, of(s))));
        let ghost = pen(self.palette.ink_soft, 1.2, self.scale);
        for of in [|s: &engine::analysis::Station| s.total_pa, |s: &engine::analysis::Station| s.static_pa] {
            let line = finite(before.iter().map(|s| (s.station_m, of(s))));
            dashed(&mut chart, &line, ghost, self.scale)?;
        }
        let (total, stat, velocity) = (line(|s| s.total_pa), line(|s| s.static_pa), line(|s| s.velocity_pa));
        if !total.is_empty() {
            // The band between total and static is the velocity pressure.
            let band: Vec<_> = total.iter().copied().chain(stat.iter().rev().copied()).collect();
            chart.draw_series(std::iter::once(Polygon::new(band, fill(self.palette.under, 0.12))))?;
            chart.draw_series(LineSeries::new(total.clone(), pen(self.palette.ink, 2.0, self.scale)))?;
            chart.draw_series(LineSeries::new(stat.clone(), pen(self.palette.accent, 2.0, self.scale)))?;
            dashed(&mut chart, &velocity, pen(self.palette.under, 1.6, self.scale), self.scale)?;
            let end = |line: &[(f64, f64)]| line.last().map_or(0.0, |p| p.1);
            self.line_names(
                &y,
                self.layout.pressures,
                vec![
                    (end(&total), "total", self.palette.ink),
                    (end(&stat), "static", self.palette.accent),
                    (end(&velocity), "velocity", self.palette.under),
                ],
            )?;
        } else {
            let middle = (self.layout.x.0 + self.layout.x.1) / 2.0;
            let at = (self.px(middle), self.px((self.layout.pressures.0 + self.layout.pressures.1) / 2.0));
            self.soft().write(self.area, "not calculated yet", at, Anchor::Centre, self.scale)?;
        }
        self.side_title(&format!("Pressure, {}", display.symbol), self.layout.pressures)
    }

    /// Names right of the plot at the level where their lines end, kept apart.
    fn line_names(
        &self,
        y: &Range<f64>,
        panel: (f64, f64),
        mut names: Vec<(f64, &str, Colour)>,
    ) -> Drawn<DB> {
        engine::numerics::sort_short(&mut names, |a, b| b.0.total_cmp(&a.0));
        let level = |v: f64| panel.1 - (v - y.start) / (y.end - y.start) * (panel.1 - panel.0);
        let apart = 13.0;
        let mut levels: Vec<f64> = Vec::new();
        for name in &names {
            let wanted = level(name.0);
            levels.push(levels.last().map_or(wanted, |last: &f64| wanted.max(last + apart)));
        }
        // What was pushed over the lower edge pushes back up.
        let mut floor = panel.1;
        for level in levels.iter_mut().rev() {
            *level = level.min(floor);
            floor = *level - apart;
        }
        for ((_, name, colour), level) in names.into_iter().zip(levels) {
            let at = (self.px(self.layout.x.1 + 6.0), self.px(level));
            Words::new(11.0, colour).bold().write(self.area, name, at, Anchor::Left, self.scale)?;
        }
        Ok(())
    }

    /// Along the panel's left edge: the whole title, or where that is too long what follows the comma.
    fn side_title(&self, words: &str, panel: (f64, f64)) -> Drawn<DB> {
        let fits = text_width_px(words, 10.5) * 1.15 <= panel.1 - panel.0;
        let words = if fits { words } else { words.rsplit(", ").next().unwrap_or(words) };
        let at = (self.px(9.0), self.px((panel.0 + panel.1) / 2.0));
        let style = Words::new(10.5, self.palette.ink).upwards();
        style.write(self.area, words, at, Anchor::Centre, self.scale)
    }

    fn stations_in_sight(&self) -> Range<f64> {
        0.0..self.data.length_m
    }

    fn length_display(&self) -> Display {
        Display::of(Kind::Length, self.data.units)
    }

    fn marks_along(&self) -> usize {
        ((self.layout.x.1 - self.layout.x.0) / 64.0).clamp(2.0, 24.0) as usize
    }

    fn bars(&self) -> Drawn<DB> {
        let before = self.data.before.iter().flat_map(|before| &before.misses).map(|(_, miss)| *miss);
        let worst =
            self.data.cells.iter().filter_map(|c| c.miss).chain(before).map(f64::abs).fold(0.0, f64::max);
        let reach = (worst.min(1.0) * 1.35).max(0.12);
        let y = -reach..reach;
        let panel = self.panel(self.layout.bars);
        let mut chart = ChartBuilder::on(&panel).build_cartesian_2d(self.layout.stations(), y.clone())?;
        let s = self.layout.stations();
        let band = Rectangle::new([(s.start, -BAND), (s.end, BAND)], fill(self.palette.band, 1.0));
        chart.draw_series(std::iter::once(band))?;
        let percent = Display { factor: 0.01, offset: 0.0, symbol: "%" };
        let room = ((self.layout.bars.1 - self.layout.bars.0) / 15.0) as usize;
        let ticks = Ticks::new(&y, percent, room.clamp(3, 6));
        level_grid(self.area, &mut chart, &ticks, self.palette.grid, self.soft(), self.scale)?;
        let along = Ticks::new(&self.stations_in_sight(), self.length_display(), self.marks_along());
        upright_grid(self.area, &mut chart, &along, self.palette.grid, Some(self.soft()), self.scale)?;

        let spacing = self.closest_px();
        let half = (spacing * 0.36).clamp(1.5, 13.0) / self.layout.px_per_m();
        for cell in self.data.cells.iter().filter(|cell| self.on_duct(cell)) {
            let Some(miss) = cell.miss else { continue };
            let top = miss.clamp(-reach, reach);
            let corners = [(cell.station_m - half, 0.0), (cell.station_m + half, top)];
            let colour = self.palette.deviation(miss);
            chart.draw_series(std::iter::once(Rectangle::new(corners, fill(colour, 1.0))))?;
            let edge = pen(self.palette.ink, 1.0, self.scale);
            chart.draw_series(std::iter::once(Rectangle::new(corners, edge)))?;
        }
        for &(station_m, miss) in self.data.before.iter().flat_map(|before| &before.misses) {
            let miss = miss.clamp(-reach, reach);
            let (from, to) = ((station_m - 1.4 * half).max(s.start), (station_m + 1.4 * half).min(s.end));
            if from < to {
                let mark = PathElement::new(
                    vec![(from, miss), (to, miss)],
                    pen(self.palette.ink_soft, 2.0, self.scale),
                );
                chart.draw_series(std::iter::once(mark))?;
            }
        }
        let target =
            PathElement::new(vec![(s.start, 0.0), (s.end, 0.0)], pen(self.palette.ink, 1.4, self.scale));
        chart.draw_series(std::iter::once(target))?;
        let digits = usize::from(spacing >= 40.0);
        let widest = if digits == 1 { 36.0 } else { 26.0 };
        for i in self.spaced(widest) {
            let cell = &self.data.cells[i];
            let Some(miss) = cell.miss else { continue };
            let (x, y) = chart.backend_coord(&(cell.station_m, miss.clamp(-reach, reach)));
            let (y, anchor) = if miss < 0.0 {
                (y + self.px(2.0), Anchor::Below)
            } else {
                (y - self.px(2.0), Anchor::Above)
            };
            let style = Words::new(10.0, self.palette.ink);
            let style = if miss.abs() > BAND { style.bold() } else { style };
            style.write(self.area, &signed_percent(miss, digits), (x, y), anchor, self.scale)?;
        }
        let what = if self.data.kind == Cells::Slots { "Off target, %" } else { "Share off, %" };
        self.side_title(what, self.layout.bars)?;
        let names = vec![(0.0, "target", self.palette.ink), (-BAND, "±5 % band", self.palette.ink_soft)];
        self.line_names(&y, self.layout.bars, names)
    }

    /// The smallest distance between neighbouring cells, px.
    fn closest_px(&self) -> f64 {
        let stations = self.data.cells.windows(2).map(|w| w[1].station_m - w[0].station_m);
        (stations.fold(f64::INFINITY, f64::min) * self.layout.px_per_m()).min(60.0)
    }

    fn velocity(&self) -> Drawn<DB> {
        let line = finite(self.data.stations.iter().map(|s| (s.station_m, s.velocity_m_s)));
        let y = guarded(line.iter().map(|p| p.1).chain([0.0]), 0.08, 0.5);
        let panel = self.panel(self.layout.bars);
        let mut chart = ChartBuilder::on(&panel).build_cartesian_2d(self.layout.stations(), y.clone())?;
        let display = Display::of(Kind::Velocity, self.data.units);
        let room = ((self.layout.bars.1 - self.layout.bars.0) / 15.0) as usize;
        let ticks = Ticks::new(&y, display, room.clamp(3, 6));
        level_grid(self.area, &mut chart, &ticks, self.palette.grid, self.soft(), self.scale)?;
        let along = Ticks::new(&self.stations_in_sight(), self.length_display(), self.marks_along());
        upright_grid(self.area, &mut chart, &along, self.palette.grid, Some(self.soft()), self.scale)?;
        if !line.is_empty() {
            let area = AreaSeries::new(line.clone(), 0.0, fill(self.palette.under, 0.12));
            chart.draw_series(area.border_style(pen(self.palette.under, 1.8, self.scale)))?;
        }
        self.side_title(&format!("Velocity, {}", display.symbol), self.layout.bars)
    }

    fn axis_title(&self) -> Drawn<DB> {
        let words = format!("Distance along {}, {}", self.data.name, self.length_display().symbol);
        let middle = self.px((self.layout.x.0 + self.layout.x.1) / 2.0);
        let at = (middle, self.px(self.layout.bars.1 + 18.0));
        Words::new(11.0, self.palette.ink).write(self.area, &words, at, Anchor::Below, self.scale)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::fixture::{demo, invented};
    use crate::charts::mock::{Recorder, words};
    use engine::units::UnitSystem;

    fn strip(id: &str, units: UnitSystem) -> StripData {
        let plan = demo();
        StripData::new(&plan, Some(&invented(&plan)), id, None, units).unwrap()
    }

    fn written(data: &StripData) -> Vec<String> {
        words(1200, 420, |area| draw(area, data, &Palette::LIGHT, 1.0))
    }

    #[test]
    fn every_duct_draws_inside_its_canvas_in_both_units_and_at_any_scale() {
        for duct in demo().ducts {
            for units in [UnitSystem::Si, UnitSystem::InchPound] {
                for scale in [1.0, 2.0] {
                    let data = strip(&duct.id, units);
                    let (w, h) = ((1200.0 * scale) as u32, (300.0 * scale) as u32);
                    let seen = Recorder::record(w, h, |area| draw(area, &data, &Palette::DARK, scale));
                    let inside = |p: &(i32, i32)| {
                        (-2..=w as i32 + 2).contains(&p.0) && (-2..=h as i32 + 2).contains(&p.1)
                    };
                    assert!(!seen.is_empty() && seen.iter().all(inside), "{}", duct.id);
                }
            }
        }
    }

    #[test]
    fn a_run_shows_lines_widths_and_signed_numbers() {
        let seen = written(&strip("cure-1", UnitSystem::Si));
        for word in ["total", "static", "velocity", "target", "Pressure, Pa", "14", "width, mm"] {
            assert!(seen.iter().any(|w| w == word), "{word} in {seen:?}");
        }
        assert!(seen.iter().filter(|w| w.starts_with(['+', '\u{2212}'])).count() > 10);
    }

    #[test]
    fn a_trunk_shows_velocity_and_its_branches() {
        let seen = written(&strip("trunk", UnitSystem::InchPound));
        assert!(seen.iter().any(|w| w.starts_with("Velocity, ")));
        assert!(!seen.iter().any(|w| w.starts_with("Off target")));
    }

    #[test]
    fn slots_beyond_a_shortened_duct_stay_inside_the_canvas_and_are_counted() {
        let mut plan = demo();
        let analysis = invented(&plan);
        plan.ducts.iter_mut().find(|d| d.id == "cure-1").unwrap().path[1].x_m = 20.0;
        let selected = Some("slots-cure-1/23");
        let data = StripData::new(&plan, Some(&analysis), "cure-1", selected, UnitSystem::Si).unwrap();
        let seen = Recorder::record(1200, 300, |area| draw(area, &data, &Palette::LIGHT, 1.0));
        assert!(seen.iter().all(|p| (-2..=1202).contains(&p.0)));
        assert!(written(&data).iter().any(|w| w == "8 beyond the end"), "{:?}", written(&data));
    }

    #[test]
    fn without_an_analysis_it_says_so() {
        let plan = demo();
        let data = StripData::new(&plan, None, "cure-1", None, UnitSystem::Si).unwrap();
        assert!(written(&data).iter().any(|w| w == "not calculated yet"));
    }
}
