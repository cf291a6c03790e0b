//! Draws the strip: pressures above, the duct to scale below them, discharge against target at the foot.

use super::data::{Cells, StripData};
use super::frame::Axes;
use super::layout::Layout;
use crate::charts::axis::finite;
use crate::charts::display::signed_percent;
use crate::charts::ink::{Anchor, Chart, Drawn, Failed, Layer, Surface, Words, dashed, fill, pen, rgb};
use crate::charts::palette::Palette;
use plotters::prelude::*;
use std::ops::Range;

/// How far off target is still even, as a fraction.
pub const BAND: f64 = 0.05;

/// Cells nearer to each other have no edges, which take longest to paint, px.
pub(super) const CROWDED_PX: f64 = 14.0;

/// What drawing needs at hand.
pub(super) struct Sheet<'a, DB: DrawingBackend> {
    pub(super) area: &'a Surface<DB>,
    pub(super) data: &'a StripData,
    pub(super) layout: Layout,
    pub(super) axes: Axes,
    pub(super) palette: &'a Palette,
    pub(super) scale: f64,
}

/// Draws a layer of the strip on the whole of `area`.
pub fn draw<DB: DrawingBackend>(
    area: &Surface<DB>,
    data: &StripData,
    palette: &Palette,
    scale: f64,
    layer: Layer,
) -> Drawn<DB> {
    let (w, h) = area.dim_in_pixel();
    let Some(layout) = Layout::new(f64::from(w) / scale, f64::from(h) / scale, data) else {
        return area.fill(&rgb(palette.paper));
    };
    let sheet = Sheet { area, data, layout, axes: Axes::new(data), palette, scale };
    if layer == Layer::Frame {
        return sheet.frame();
    }
    sheet.selection()?;
    sheet.pressures()?;
    sheet.duct()?;
    match data.kind {
        Cells::None => sheet.velocity(),
        Cells::Slots | Cells::Returns => sheet.bars(),
    }
}

impl<DB: DrawingBackend> Sheet<'_, DB> {
    pub(super) fn px(&self, v: f64) -> i32 {
        (v * self.scale).round() as i32
    }

    pub(super) fn x(&self, station_m: f64) -> i32 {
        self.px(self.layout.x_of(station_m))
    }

    /// The panel between two heights, with the stations across and `y` up.
    pub(super) fn chart(&self, panel: (f64, f64), y: &Range<f64>) -> Result<Chart<'_, DB>, Failed<DB>> {
        let (x0, x1) = (self.px(self.layout.x.0), self.px(self.layout.x.1));
        let (y0, y1) = (self.px(panel.0), self.px(panel.1));
        let panel = self.area.clone().shrink((x0, y0), (x1 - x0, y1 - y0));
        ChartBuilder::on(&panel).build_cartesian_2d(self.layout.stations(), y.clone())
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
        let before = self.data.before.as_ref().map_or(&[][..], |before| &before.stations);
        let mut chart = self.chart(self.layout.pressures, &self.axes.pressures)?;
        let line =
            |of: fn(&engine::analysis::Station) -> f64| finite(stations.iter().map(|s| (s.station_m, of(s))));
        let ghost = pen(self.palette.ink_soft, 1.2, self.scale);
        for of in [|s: &engine::analysis::Station| s.total_pa, |s: &engine::analysis::Station| s.static_pa] {
            let line = finite(before.iter().map(|s| (s.station_m, of(s))));
            dashed(&mut chart, &line, ghost, self.scale)?;
        }
        let (total, stat, velocity) = (line(|s| s.total_pa), line(|s| s.static_pa), line(|s| s.velocity_pa));
        if total.is_empty() {
            return Ok(());
        }
        // The band between total and static is the velocity pressure.
        let band: Vec<_> = total.iter().copied().chain(stat.iter().rev().copied()).collect();
        chart.draw_series(std::iter::once(Polygon::new(band, fill(self.palette.under, 0.12))))?;
        chart.draw_series(LineSeries::new(total, pen(self.palette.ink, 2.0, self.scale)))?;
        chart.draw_series(LineSeries::new(stat, pen(self.palette.accent, 2.0, self.scale)))?;
        dashed(&mut chart, &velocity, pen(self.palette.under, 1.6, self.scale), self.scale)
    }

    fn bars(&self) -> Drawn<DB> {
        let reach = self.axes.lower.end;
        let s = self.layout.stations();
        let mut chart = self.chart(self.layout.bars, &self.axes.lower)?;
        let spacing = self.closest_px();
        let half = (spacing * 0.36).clamp(1.5, 13.0) / self.layout.px_per_m();
        for cell in self.data.cells.iter().filter(|cell| self.on_duct(cell)) {
            let Some(miss) = cell.miss else { continue };
            let top = miss.clamp(-reach, reach);
            let corners = [(cell.station_m - half, 0.0), (cell.station_m + half, top)];
            let colour = self.palette.deviation(miss);
            chart.draw_series(std::iter::once(Rectangle::new(corners, fill(colour, 1.0))))?;
            if spacing >= CROWDED_PX {
                let edge = pen(self.palette.ink, 1.0, self.scale);
                chart.draw_series(std::iter::once(Rectangle::new(corners, edge)))?;
            }
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
            // Outside the bar, and outside the marks of before that the number would cross.
            let near = (0.5 * widest) / self.layout.px_per_m() + 1.4 * half;
            let marks = self.data.before.iter().flat_map(|before| &before.misses);
            let crossed = marks
                .filter(|(at, before)| (at - cell.station_m).abs() < near && (*before < 0.0) == (miss < 0.0));
            let out = crossed.fold(miss.abs(), |out, (_, before)| out.max(before.abs())).min(reach);
            let (x, y) = chart.backend_coord(&(cell.station_m, out.copysign(miss)));
            let (y, anchor) = if miss < 0.0 {
                (y + self.px(2.0), Anchor::Below)
            } else {
                (y - self.px(2.0), Anchor::Above)
            };
            let style = Words::new(10.0, self.palette.ink);
            let style = if miss.abs() > BAND { style.bold() } else { style };
            style.write(self.area, &signed_percent(miss, digits), (x, y), anchor, self.scale)?;
        }
        Ok(())
    }

    /// The smallest distance between neighbouring cells, px.
    pub(super) fn closest_px(&self) -> f64 {
        let stations = self.data.cells.windows(2).map(|w| w[1].station_m - w[0].station_m);
        (stations.fold(f64::INFINITY, f64::min) * self.layout.px_per_m()).min(60.0)
    }

    fn velocity(&self) -> Drawn<DB> {
        let line = finite(self.data.stations.iter().map(|s| (s.station_m, s.velocity_m_s)));
        if line.is_empty() {
            return Ok(());
        }
        let mut chart = self.chart(self.layout.bars, &self.axes.lower)?;
        let area = AreaSeries::new(line, 0.0, fill(self.palette.under, 0.12));
        chart.draw_series(area.border_style(pen(self.palette.under, 1.8, self.scale)))?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::frame::scales;
    use super::*;
    use crate::board::fixture::{demo, invented};
    use crate::charts::mock::{Recorder, both, words};
    use engine::units::UnitSystem;

    fn strip(id: &str, units: UnitSystem) -> StripData {
        let plan = demo();
        StripData::new(&plan, Some(&invented(&plan)), id, None, units).unwrap()
    }

    fn written(data: &StripData) -> Vec<String> {
        words(1200, 420, |area| both(|layer| draw(area, data, &Palette::LIGHT, 1.0, layer)))
    }

    fn touched(w: u32, h: u32, data: &StripData, scale: f64) -> Vec<(i32, i32)> {
        Recorder::record(w, h, |area| both(|layer| draw(area, data, &Palette::DARK, scale, layer)))
    }

    #[test]
    fn every_duct_draws_inside_its_canvas_in_both_units_and_at_any_scale() {
        for duct in demo().ducts {
            for units in [UnitSystem::Si, UnitSystem::InchPound] {
                for scale in [1.0, 2.0] {
                    let data = strip(&duct.id, units);
                    let (w, h) = ((1200.0 * scale) as u32, (300.0 * scale) as u32);
                    let seen = touched(w, h, &data, scale);
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
        let seen = touched(1200, 300, &data, 1.0);
        assert!(seen.iter().all(|p| (-2..=1202).contains(&p.0)));
        assert!(written(&data).iter().any(|w| w == "8 beyond the end"), "{:?}", written(&data));
    }

    #[test]
    fn other_figures_on_the_same_axes_write_only_the_numbers_at_slots() {
        let mut data = strip("cure-1", UnitSystem::Si);
        let before = scales(&data, (1200.0, 420.0));
        for station in &mut data.stations {
            station.total_pa *= 1.002;
            station.static_pa *= 1.002;
        }
        data.cells[3].miss = data.cells[3].miss.map(|miss| miss * 0.9);
        assert_eq!(scales(&data, (1200.0, 420.0)), before);
        let seen = words(1200, 420, |area| draw(area, &data, &Palette::LIGHT, 1.0, Layer::Marks));
        let number = |w: &String| !w.chars().any(char::is_alphabetic);
        let of_axes = seen.iter().filter(|w| !number(w) && !w.starts_with('↕')).count();
        // A width and a deviation at each slot, and the height at the end.
        assert!(of_axes == 0 && seen.len() <= 2 * data.cells.len() + 1, "{seen:?}");
        data.stations[0].total_pa *= 1.5;
        assert_ne!(scales(&data, (1200.0, 420.0)), before);
    }

    #[test]
    fn without_an_analysis_it_says_so() {
        let plan = demo();
        let data = StripData::new(&plan, None, "cure-1", None, UnitSystem::Si).unwrap();
        assert!(written(&data).iter().any(|w| w == "not calculated yet"));
    }
}
