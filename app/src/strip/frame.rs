//! The strip's frame: what stands as long as its scales do. Axes with their numbers, titles, names of lines.

use super::data::{Cells, StripData};
use super::draw::{BAND, Sheet};
use super::layout::Layout;
use crate::board::scene::text_width_px;
use crate::charts::axis::{Ticks, guarded, settled};
use crate::charts::display::Display;
use crate::charts::ink::{Anchor, Chart, Drawn, Scales, Words, fill, level_grid, rgb, upright_grid};
use crate::charts::palette::Palette;
use engine::units::Kind;
use plotters::prelude::*;
use std::ops::Range;

/// From a line's name to the next, px.
const APART_PX: f64 = 13.0;
/// The strip's lengths are read in this.
const ALONG: Kind = Kind::Length;

/// The upright axes.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Axes {
    /// Of the pressures, Pa.
    pub(super) pressures: Range<f64>,
    /// Of the lower panel: deviations, or velocities in m/s.
    pub(super) lower: Range<f64>,
}

impl Axes {
    pub(super) fn new(data: &StripData) -> Self {
        let before = data.before.as_ref();
        let stations = || data.stations.iter().chain(before.iter().flat_map(|before| &before.stations));
        let pressures = stations().flat_map(|s| [s.total_pa, s.static_pa, s.velocity_pa]);
        let lower = if data.kind == Cells::None {
            let speeds = data.stations.iter().map(|s| s.velocity_m_s);
            settled(guarded(speeds.chain([0.0]), 0.08, 0.5))
        } else {
            let before = before.iter().flat_map(|before| &before.misses).map(|(_, miss)| *miss);
            let misses = data.cells.iter().filter_map(|cell| cell.miss).chain(before);
            let reach = (misses.map(f64::abs).fold(0.0, f64::max).min(1.0) * 1.35).max(0.12);
            settled(-reach..reach)
        };
        Self { pressures: settled(guarded(pressures.chain([0.0]), 0.06, 1.0)), lower }
    }
}

/// A line's name right of its panel.
struct Name {
    level_px: f64,
    words: &'static str,
    tone: fn(&Palette) -> crate::charts::palette::Colour,
}

/// Names at the level where their lines end, kept apart; at one level while an end moves a little.
fn levelled(y: &Range<f64>, panel: (f64, f64), ends: &[f64], names: &mut [Name]) {
    let level = |v: f64| panel.1 - (v - y.start) / (y.end - y.start) * (panel.1 - panel.0);
    for (name, end) in names.iter_mut().zip(ends) {
        name.level_px = (level(*end) / APART_PX).round() * APART_PX;
    }
    engine::numerics::sort_short(names, |a, b| a.level_px.total_cmp(&b.level_px));
    let mut free = f64::NEG_INFINITY;
    for name in names.iter_mut() {
        name.level_px = name.level_px.max(free);
        free = name.level_px + APART_PX;
    }
    // What was pushed over the lower edge pushes back up.
    let mut floor = panel.1;
    for name in names.iter_mut().rev() {
        name.level_px = name.level_px.min(floor);
        floor = name.level_px - APART_PX;
    }
}

fn names(data: &StripData, layout: &Layout, axes: &Axes) -> Vec<Name> {
    let name = |words, tone| Name { level_px: 0.0, words, tone };
    let mut all = Vec::new();
    if let Some(end) = data.stations.last() {
        all = vec![name("total", |p| p.ink), name("static", |p| p.accent), name("velocity", |p| p.under)];
        let ends = [end.total_pa, end.static_pa, end.velocity_pa];
        levelled(&axes.pressures, layout.pressures, &ends, &mut all);
    }
    if data.kind != Cells::None {
        let mut lower = vec![name("target", |p| p.ink), name("±5 % band", |p| p.ink_soft)];
        levelled(&axes.lower, layout.bars, &[0.0, -BAND], &mut lower);
        all.extend(lower);
    }
    all
}

/// What the frame is made of at a size in CSS pixels.
pub fn scales(data: &StripData, (w, h): (f64, f64)) -> Scales {
    let Some(layout) = Layout::new(w, h, data) else { return Scales::default() };
    let axes = Axes::new(data);
    let Axes { pressures: p, lower } = &axes;
    let mut numbers =
        vec![data.length_m, layout.px_per_m_across(data), p.start, p.end, lower.start, lower.end];
    numbers.extend(names(data, &layout, &axes).iter().map(|name| name.level_px));
    numbers.extend(data.branches.iter().map(|branch| branch.station_m));
    let mut words = vec![data.name.clone(), Display::of(ALONG, data.units).symbol.to_owned()];
    words.extend(data.branches.iter().map(|branch| branch.name.clone()));
    words.push(format!("{:?} {}", data.kind, data.stations.is_empty()));
    Scales { numbers, words }
}

impl<DB: DrawingBackend> Sheet<'_, DB> {
    pub(super) fn frame(&self) -> Drawn<DB> {
        self.area.fill(&rgb(self.palette.paper))?;
        let mut pressures = self.chart(self.layout.pressures, &self.axes.pressures)?;
        self.grid(
            &mut pressures,
            self.layout.pressures,
            Display::of(Kind::Pressure, self.data.units),
            false,
        )?;
        let mut lower = self.chart(self.layout.bars, &self.axes.lower)?;
        let (display, title) = match self.data.kind {
            Cells::None => {
                let display = Display::of(Kind::Velocity, self.data.units);
                (display, format!("Velocity, {}", display.symbol))
            }
            kind => {
                let s = self.layout.stations();
                let band = Rectangle::new([(s.start, -BAND), (s.end, BAND)], fill(self.palette.band, 1.0));
                lower.draw_series(std::iter::once(band))?;
                let title = if kind == Cells::Slots { "Off target, %" } else { "Share off, %" };
                (Display { factor: 0.01, offset: 0.0, symbol: "%" }, title.to_owned())
            }
        };
        self.grid(&mut lower, self.layout.bars, display, true)?;
        self.side_title(&title, self.layout.bars)?;
        let pressure = Display::of(Kind::Pressure, self.data.units).symbol;
        self.side_title(&format!("Pressure, {pressure}"), self.layout.pressures)?;
        for name in names(self.data, &self.layout, &self.axes) {
            let at = (self.px(self.layout.x.1 + 6.0), self.px(name.level_px));
            let style = Words::new(11.0, (name.tone)(self.palette)).bold();
            style.write(self.area, name.words, at, Anchor::Left, self.scale)?;
        }
        if self.data.stations.is_empty() {
            let middle = (self.layout.x.0 + self.layout.x.1) / 2.0;
            let at = (self.px(middle), self.px((self.layout.pressures.0 + self.layout.pressures.1) / 2.0));
            self.soft().write(self.area, "not calculated yet", at, Anchor::Centre, self.scale)?;
        }
        self.duct_words()?;
        let words =
            format!("Distance along {}, {}", self.data.name, Display::of(ALONG, self.data.units).symbol);
        let middle = self.px((self.layout.x.0 + self.layout.x.1) / 2.0);
        let at = (middle, self.px(self.layout.bars.1 + 18.0));
        Words::new(11.0, self.palette.ink).write(self.area, &words, at, Anchor::Below, self.scale)
    }

    /// The lines of a panel with their numbers; those along the duct where it is the lowest.
    fn grid(&self, chart: &mut Chart<DB>, panel: (f64, f64), display: Display, lowest: bool) -> Drawn<DB> {
        let (pitch, most) = if lowest { (15.0, 6) } else { (20.0, 7) };
        let room = ((panel.1 - panel.0) / pitch) as usize;
        let ticks = Ticks::new(&chart.y_range(), display, room.clamp(3, most));
        level_grid(self.area, chart, &ticks, self.palette.grid, self.soft(), self.scale)?;
        let marks = ((self.layout.x.1 - self.layout.x.0) / 64.0).clamp(2.0, 24.0) as usize;
        let along = Ticks::new(&(0.0..self.data.length_m), Display::of(ALONG, self.data.units), marks);
        upright_grid(self.area, chart, &along, self.palette.grid, lowest.then(|| self.soft()), self.scale)
    }

    /// Along the panel's left edge: the whole title, or where that is too long what follows the comma.
    fn side_title(&self, words: &str, panel: (f64, f64)) -> Drawn<DB> {
        let fits = text_width_px(words, 10.5) * 1.15 <= panel.1 - panel.0;
        let words = if fits { words } else { words.rsplit(", ").next().unwrap_or(words) };
        let at = (self.px(9.0), self.px((panel.0 + panel.1) / 2.0));
        let style = Words::new(10.5, self.palette.ink).upwards();
        style.write(self.area, words, at, Anchor::Centre, self.scale)
    }
}
