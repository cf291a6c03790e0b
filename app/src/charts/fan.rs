//! The fan chart: fan and system, hot and cold, where they meet, and how far the peak is.

use super::axes::{Axes, Axis, BOTTOM_PX, LEFT_PX};
use super::axis::{finite, guarded};
use super::ink::{Anchor, Chart, Drawn, Layer, Scales, Surface, Words, begin, dashed, fill, pen, pixel};
use super::palette::{Colour, Palette};
use crate::board::scene::text_width_px;
use engine::analysis::FanChart;
use engine::units::{Kind, UnitSystem, show};
use plotters::prelude::*;
use std::ops::Range;

/// What the chart shows.
#[derive(Clone, Debug, PartialEq)]
pub struct FanData {
    /// The curves.
    pub chart: FanChart,
    /// 100·(Q − Q at the peak)/Q.
    pub stall_margin_percent: f64,
    /// The operating point of the version kept to compare with.
    pub before: Option<(f64, f64)>,
    /// Units people read.
    pub units: UnitSystem,
}

/// A curve with its look and its name.
struct Curve {
    points: Vec<(f64, f64)>,
    colour: Colour,
    width: f64,
    dashed: bool,
    name: &'static str,
}

/// From a curve's name to the next, CSS px.
const APART: f64 = 14.0;

/// The axes, at a size in CSS px.
struct Plan {
    axes: Axes,
    /// Beside a card there is no room right of the curves: their names go above.
    narrow: bool,
    size: (f64, f64),
}

impl Plan {
    fn new(data: &FanData, size: (f64, f64)) -> Self {
        let narrow = size.0 < 480.0;
        let (top_px, right_px) = if narrow { (46.0, 12.0) } else { (14.0, 98.0) };
        let fan_points =
            || data.chart.hot.iter().chain(&data.chart.cold).chain(&data.chart.points).chain(&data.before);
        let x = 0.0..guarded(fan_points().map(|p| p.0).chain([0.0]), 0.0, 1e-3).end * 1.02;
        let y = 0.0..guarded(fan_points().map(|p| p.1).chain([0.0]), 0.0, 1.0).end * 1.12;
        let across = Axis { title: "Volume flow at the inlet", kind: Kind::VolumeFlow };
        let up = Axis { title: "Fan total pressure", kind: Kind::Pressure };
        let axes = Axes { x: (across, x), y: (up, y), top_px, right_px, units: data.units };
        Self { axes, narrow, size }
    }

    /// The ends of both axes.
    fn ends(&self) -> (f64, f64) {
        (self.axes.x.1.end, self.axes.y.1.end)
    }

    /// The end of the fan's fall to the left, where there is one in sight.
    fn peak(&self, data: &FanData) -> Option<f64> {
        let peak = data.chart.peak_flow_m3_s;
        (peak.is_finite() && peak > 0.0 && peak < self.ends().0).then_some(peak)
    }

    /// The curves as far as they lie between the axes.
    fn curves(&self, data: &FanData, palette: &Palette) -> [Curve; 4] {
        let curve = |points: &[(f64, f64)], colour, dashed, name| Curve {
            points: clipped(&finite(points.iter().copied()), &self.axes.x.1, &self.axes.y.1),
            colour,
            width: if dashed { 1.5 } else { 2.2 },
            dashed,
            name,
        };
        let chart = &data.chart;
        [
            curve(&chart.cold, palette.ink_soft, true, "fan, cold"),
            curve(&chart.hot, palette.ink, false, "fan, hot"),
            curve(&chart.system_cold, palette.under, true, "system, cold"),
            curve(&chart.system_hot, palette.over, false, "system, hot"),
        ]
    }

    /// Where the name of a curve is wanted, CSS px: near its end, and at one place while that moves a little.
    fn wanted(&self, curve: &Curve) -> Option<(f64, f64)> {
        let &(x, y) = curve.points.last()?;
        let (right, top) = (self.axes.right_px, self.axes.top_px);
        let (w, h) = (self.size.0 - LEFT_PX - right, self.size.1 - top - BOTTOM_PX);
        let coarse = |v: f64| (v / APART).round() * APART;
        let ends = self.ends();
        Some((coarse(LEFT_PX + x / ends.0 * w), coarse(top + (1.0 - y / ends.1) * h)))
    }
}

/// What the frame is made of at a size in CSS pixels.
pub fn scales(data: &FanData, size: (f64, f64)) -> Scales {
    let plan = Plan::new(data, size);
    let (x, y) = plan.ends();
    let mut numbers = vec![x, y, plan.peak(data).unwrap_or(0.0)];
    let curves = plan.curves(data, &Palette::LIGHT);
    numbers.extend(curves.iter().flat_map(|curve| plan.wanted(curve)).flat_map(|(x, y)| [x, y]));
    Scales { numbers, words: vec![plan.axes.x.0.titled(data.units)] }
}

/// Draws a layer of the chart on the whole of `area`.
pub fn draw<DB: DrawingBackend>(
    area: &Surface<DB>,
    data: &FanData,
    palette: &Palette,
    scale: f64,
    layer: Layer,
) -> Drawn<DB> {
    let Some((w, h)) = begin(area, palette.paper, scale, layer, (200.0, 120.0))? else { return Ok(()) };
    let plan = Plan::new(data, (f64::from(w) / scale, f64::from(h) / scale));
    let chart = plan.axes.chart(area, scale)?;
    match layer {
        Layer::Frame => frame(area, chart, &plan, data, palette, scale),
        Layer::Marks => marks(area, chart, &plan, data, palette, scale),
    }
}

/// Axes, grid, the shading left of the peak, and the curves' names.
fn frame<DB: DrawingBackend>(
    area: &Surface<DB>,
    mut chart: Chart<DB>,
    plan: &Plan,
    data: &FanData,
    palette: &Palette,
    scale: f64,
) -> Drawn<DB> {
    let px = |v: f64| (v * scale).round() as i32;
    let (w, h) = area.dim_in_pixel();
    let (x_end, y_end) = plan.ends();
    if let Some(peak) = plan.peak(data) {
        let stall = Rectangle::new([(0.0, 0.0), (peak, y_end)], fill(palette.warn, 0.13));
        chart.draw_series(std::iter::once(stall))?;
    }
    plan.axes.draw(area, &mut chart, palette, scale)?;
    let path = vec![(0.0, y_end), (0.0, 0.0), (x_end, 0.0)];
    chart.draw_series(std::iter::once(PathElement::new(path, pen(palette.ink_soft, 1.2, scale))))?;
    let curves = plan.curves(data, palette);
    if plan.narrow {
        legend(area, &curves, px(LEFT_PX), (w as i32 - px(LEFT_PX + 12.0)) / 2, scale)?;
    } else {
        let ends = curves.iter().filter_map(|curve| Some((plan.wanted(curve)?, curve)));
        let names = ends.map(|((x, y), curve)| ((px(x), px(y)), curve)).collect();
        name_curves(area, names, px(14.0), h as i32 - px(48.0), scale)?;
    }
    if let Some(peak) = plan.peak(data) {
        let (top, bottom) = (pixel(&chart, (peak, y_end)), pixel(&chart, (peak, 0.0)));
        area.draw(&PathElement::new(vec![top, bottom], pen(palette.warn, 1.2, scale)))?;
        let words = Words::new(11.0, palette.warn).bold();
        let left = pixel(&chart, (0.0, y_end)).0;
        // The words stand where the shading leaves them room.
        if top.0 - left > px(120.0) {
            let at = (left + px(8.0), top.1 + px(11.0));
            words.write(area, "left of the peak: may surge", at, Anchor::Left, scale)?;
        }
    }
    Ok(())
}

/// The curves, the operating points and the margin.
fn marks<DB: DrawingBackend>(
    area: &Surface<DB>,
    mut chart: Chart<DB>,
    plan: &Plan,
    data: &FanData,
    palette: &Palette,
    scale: f64,
) -> Drawn<DB> {
    let px = |v: f64| (v * scale).round() as i32;
    let (x_end, y_end) = plan.ends();
    let in_sight = |p: &(f64, f64)| p.0.is_finite() && p.1.is_finite() && p.0 <= x_end && p.1 <= y_end;
    for curve in plan.curves(data, palette) {
        let style = pen(curve.colour, curve.width, scale);
        if curve.dashed {
            dashed(&mut chart, &curve.points, style, scale)?;
        } else {
            chart.draw_series(LineSeries::new(curve.points, style))?;
        }
    }
    margin_arrow(area, &chart, data, palette, scale)?;
    for (point, cold) in data.chart.points.iter().zip([false, true]).filter(|(point, _)| in_sight(point)) {
        let at = pixel(&chart, *point);
        let colour = if cold { palette.ink_soft } else { palette.ink };
        area.draw(&Circle::new(at, px(5.0), fill(palette.paper, 1.0)))?;
        area.draw(&Circle::new(at, px(5.0), pen(colour, 2.0, scale)))?;
        if !cold {
            area.draw(&Circle::new(at, px(2.2), fill(colour, 1.0)))?;
        }
        let name = if cold { "cold" } else { "hot" };
        let (flow, pressure) =
            (show(point.0, Kind::VolumeFlow, data.units), show(point.1, Kind::Pressure, data.units));
        let words = if plan.narrow { name.to_owned() } else { format!("{name} {flow} · {pressure}") };
        let style = Words::new(11.5, palette.ink);
        let style = if cold { style } else { style.bold() };
        // In the wedge between the two curves, right of the point where there is room.
        let width = px(text_width_px(&words, 12.5));
        let right = at.0 + px(26.0) + width < pixel(&chart, (x_end, 0.0)).0;
        let start = if right { at.0 + px(26.0) } else { at.0 - px(26.0) - width };
        style.write_on(palette.paper, area, &words, (start, at.1), Anchor::Left, scale)?;
    }
    if let Some(point) = data.before.filter(in_sight) {
        let (u, v) = pixel(&chart, point);
        let r = px(5.0);
        let diamond = vec![(u, v - r), (u + r, v), (u, v + r), (u - r, v), (u, v - r)];
        area.draw(&PathElement::new(diamond, pen(palette.ink_soft, 1.6, scale)))?;
        let soft = Words::new(11.0, palette.ink_soft);
        // Below it: to its left and right are the names of the points it is compared with.
        soft.write_on(palette.paper, area, "before", (u, v + px(8.0)), Anchor::Below, scale)?;
    }
    Ok(())
}

/// From the peak to the operating point, with the margin in words.
fn margin_arrow<DB: DrawingBackend>(
    area: &Surface<DB>,
    chart: &Chart<DB>,
    data: &FanData,
    palette: &Palette,
    scale: f64,
) -> Drawn<DB> {
    let px = |v: f64| (v * scale).round() as i32;
    let (Some(&(flow, _)), peak) = (data.chart.points.first(), data.chart.peak_flow_m3_s) else {
        return Ok(());
    };
    let x = chart.x_range();
    if !(flow.is_finite() && peak.is_finite() && flow > peak && peak > 0.0 && flow <= x.end) {
        return Ok(());
    }
    let level = pixel(chart, (0.0, 0.0)).1 - px(30.0);
    let (a, b) = (pixel(chart, (peak, 0.0)).0, pixel(chart, (flow, 0.0)).0);
    let style = pen(palette.ink, 1.2, scale);
    area.draw(&PathElement::new(vec![(a, level), (b, level)], style))?;
    for (tip, back) in [(a, px(5.0)), (b, -px(5.0))] {
        let head = vec![(tip + back, level - px(4.0)), (tip, level), (tip + back, level + px(4.0))];
        area.draw(&PathElement::new(head, style))?;
    }
    let foot = vec![(b, level), (b, pixel(chart, (flow, 0.0)).1)];
    area.draw(&PathElement::new(foot, pen(palette.line, 1.0, scale)))?;
    if data.stall_margin_percent.is_finite() {
        let words = format!("margin {}", show(data.stall_margin_percent, Kind::Percent, data.units));
        let style = Words::new(11.5, palette.ink).bold();
        // Over the arrow, but never over the pressures' numbers.
        let half = px(text_width_px(&words, 12.5)) / 2;
        let middle = ((a + b) / 2).max(pixel(chart, (0.0, 0.0)).0 + half + px(4.0));
        style.write_on(palette.paper, area, &words, (middle, level - px(12.0)), Anchor::Centre, scale)?;
    }
    Ok(())
}

/// The curves' names with a piece of each line, two by two above the plot.
fn legend<DB: DrawingBackend>(
    area: &Surface<DB>,
    curves: &[Curve; 4],
    left: i32,
    column: i32,
    scale: f64,
) -> Drawn<DB> {
    let px = |v: f64| (v * scale).round() as i32;
    for (i, curve) in curves.iter().enumerate() {
        let (x, y) = (left + i as i32 / 2 * column, px(12.0) + i as i32 % 2 * px(17.0));
        let style = pen(curve.colour, curve.width, scale);
        let pieces: &[(f64, f64)] = if curve.dashed { &[(0.0, 8.0), (12.0, 20.0)] } else { &[(0.0, 20.0)] };
        for (from, to) in pieces {
            area.draw(&PathElement::new(vec![(x + px(*from), y), (x + px(*to), y)], style))?;
        }
        Words::new(11.0, curve.colour).write(area, curve.name, (x + px(25.0), y), Anchor::Left, scale)?;
    }
    Ok(())
}

/// Writes each curve's name right of its end, kept apart.
fn name_curves<DB: DrawingBackend>(
    area: &Surface<DB>,
    mut names: Vec<((i32, i32), &Curve)>,
    top: i32,
    bottom: i32,
    scale: f64,
) -> Drawn<DB> {
    engine::numerics::sort_short(&mut names, |a, b| a.0.1.cmp(&b.0.1));
    let apart = (APART * scale) as i32;
    let mut last = top - apart;
    for ((x, y), curve) in names {
        let level = y.max(last + apart).min(bottom);
        last = level;
        let at = (x + (6.0 * scale) as i32, level);
        Words::new(11.0, curve.colour).write(area, curve.name, at, Anchor::Left, scale)?;
    }
    Ok(())
}

/// The part of a rising-x curve inside the plot, cut at its upper edge.
fn clipped(points: &[(f64, f64)], x: &Range<f64>, y: &Range<f64>) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = Vec::with_capacity(points.len());
    for (i, &p) in points.iter().enumerate() {
        let inside = x.contains(&p.0) && p.1 >= y.start && p.1 <= y.end;
        if inside {
            kept.push(p);
            continue;
        }
        let Some(&before) = i.checked_sub(1).and_then(|i| points.get(i)) else { continue };
        if kept.last() == Some(&before) {
            // Leaves the plot between the last point and this one.
            let t_x = if p.0 > x.end { (x.end - before.0) / (p.0 - before.0) } else { 1.0 };
            let t_y = if p.1 > y.end {
                (y.end - before.1) / (p.1 - before.1)
            } else if p.1 < y.start {
                (y.start - before.1) / (p.1 - before.1)
            } else {
                1.0
            };
            let t = t_x.min(t_y).clamp(0.0, 1.0);
            kept.push((before.0 + t * (p.0 - before.0), before.1 + t * (p.1 - before.1)));
            break;
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::fixture::{demo, invented};
    use crate::charts::mock::{Recorder, both, words};

    fn data(units: UnitSystem) -> FanData {
        let chart = invented(&demo()).fan_chart;
        FanData { chart, stall_margin_percent: 35.3, before: None, units }
    }

    fn written(w: u32, h: u32, data: &FanData) -> Vec<String> {
        words(w, h, |area| both(|layer| draw(area, data, &Palette::LIGHT, 1.0, layer)))
    }

    fn touched(w: u32, h: u32, data: &FanData, scale: f64) -> Vec<(i32, i32)> {
        Recorder::record(w, h, |area| both(|layer| draw(area, data, &Palette::DARK, scale, layer)))
    }

    #[test]
    fn another_operating_point_writes_only_its_own_numbers() {
        let mut data = data(UnitSystem::Si);
        let before = scales(&data, (700.0, 360.0));
        for point in data.chart.points.iter_mut().chain(&mut data.chart.system_hot) {
            point.1 *= 0.999;
        }
        assert_eq!(scales(&data, (700.0, 360.0)), before);
        let written = words(700, 360, |area| draw(area, &data, &Palette::LIGHT, 1.0, Layer::Marks));
        let own = |w: &String| ["hot ", "cold ", "margin "].iter().any(|word| w.starts_with(word));
        assert!(written.len() == 3 && written.iter().all(own), "{written:?}");
        data.chart.peak_flow_m3_s *= 1.1;
        assert_ne!(scales(&data, (700.0, 360.0)), before);
    }

    #[test]
    fn the_chart_names_its_axes_and_points_with_units() {
        for (units, expected) in
            [(UnitSystem::Si, ["m³/s", "Pa"]), (UnitSystem::InchPound, ["cfm", "in. w.c."])]
        {
            let written = written(700, 360, &data(units));
            for unit in expected {
                assert!(
                    written.iter().any(|w| w.contains("inlet") || w.contains(unit)),
                    "{unit}: {written:?}"
                );
            }
            assert!(written.iter().any(|w| w.starts_with("margin")));
            assert!(written.iter().any(|w| w.starts_with("hot ")));
            assert!(written.iter().any(|w| w.starts_with("cold ")));
        }
    }

    #[test]
    fn beside_a_card_the_curves_are_named_above_and_the_points_briefly() {
        let written = written(340, 300, &data(UnitSystem::Si));
        for name in ["fan, hot", "fan, cold", "system, hot", "system, cold", "hot", "cold"] {
            assert!(written.iter().any(|w| w == name), "{name} in {written:?}");
        }
        let seen = touched(340, 300, &data(UnitSystem::Si), 1.0);
        assert!(seen.iter().all(|(x, y)| (-2..=342).contains(x) && (-2..=302).contains(y)), "{seen:?}");
    }

    #[test]
    fn nothing_is_drawn_outside_the_chart() {
        let mut bad = data(UnitSystem::Si);
        bad.chart.system_hot = vec![(0.0, 0.0), (5.0, 800.0), (50.0, 1e9)];
        let seen = touched(700, 360, &bad, 2.0);
        assert!(seen.iter().all(|(x, y)| (-2..=702).contains(x) && (-2..=362).contains(y)), "{seen:?}");
    }

    #[test]
    fn bad_numbers_are_left_out_and_do_not_stop_it() {
        let mut bad = data(UnitSystem::Si);
        bad.chart.hot[2].1 = f64::NAN;
        bad.chart.points = vec![(f64::NAN, f64::NAN), (f64::INFINITY, 3.0)];
        bad.chart.peak_flow_m3_s = f64::NAN;
        let _ = written(700, 360, &bad);
        let empty = FanData {
            chart: FanChart::default(),
            stall_margin_percent: f64::NAN,
            before: None,
            units: UnitSystem::Si,
        };
        let _ = written(700, 360, &empty);
        let _ = written(10, 5, &empty);
    }

    #[test]
    fn a_curve_is_cut_at_the_plots_edge() {
        let cut = clipped(&[(0.0, 0.0), (1.0, 1.0), (2.0, 4.0), (3.0, 9.0)], &(0.0..10.0), &(0.0..2.5));
        assert_eq!(cut.len(), 3);
        assert!((cut[2].1 - 2.5).abs() < 1e-12 && (cut[2].0 - 1.5).abs() < 1e-12);
    }
}
