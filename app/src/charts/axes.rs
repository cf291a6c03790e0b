//! Two straight axes with their grid, numbers and titles: the one frame of all charts over them.

use super::axis::Ticks;
use super::display::Display;
use super::ink::{Anchor, Chart, Drawn, Failed, Surface, Words, level_grid, pixel, upright_grid};
use super::palette::Palette;
use engine::units::{Kind, UnitSystem};
use plotters::prelude::*;
use std::ops::Range;

/// Room left of the upright axis and below the level one, CSS px.
pub const LEFT_PX: f64 = 62.0;
/// The same, below.
pub const BOTTOM_PX: f64 = 42.0;

/// What an axis shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    /// Its title, without the unit.
    pub title: &'static str,
    /// What it measures.
    pub kind: Kind,
}

impl Axis {
    /// Its title with the unit.
    pub fn titled(self, units: UnitSystem) -> String {
        match Display::of(self.kind, units).symbol {
            "" => self.title.to_owned(),
            symbol => format!("{}, {symbol}", self.title),
        }
    }
}

/// Both axes and the room they leave above and to the right, CSS px.
#[derive(Clone, Debug, PartialEq)]
pub struct Axes {
    /// From where to where, SI.
    pub x: (Axis, Range<f64>),
    /// The same, upright.
    pub y: (Axis, Range<f64>),
    /// Above the plot.
    pub top_px: f64,
    /// Right of the plot.
    pub right_px: f64,
    /// Units people read.
    pub units: UnitSystem,
}

impl Axes {
    /// The chart between them.
    pub fn chart<'a, DB: DrawingBackend>(
        &self,
        area: &'a Surface<DB>,
        scale: f64,
    ) -> Result<Chart<'a, DB>, Failed<DB>> {
        let px = |v: f64| (v * scale).round() as i32;
        ChartBuilder::on(area)
            .margin_top(px(self.top_px))
            .margin_right(px(self.right_px))
            .x_label_area_size(px(BOTTOM_PX))
            .y_label_area_size(px(LEFT_PX))
            .build_cartesian_2d(self.x.1.clone(), self.y.1.clone())
    }

    /// Grid, numbers and titles.
    pub fn draw<DB: DrawingBackend>(
        &self,
        area: &Surface<DB>,
        chart: &mut Chart<DB>,
        palette: &Palette,
        scale: f64,
    ) -> Drawn<DB> {
        let px = |v: f64| (v * scale).round() as i32;
        let (w, h) = area.dim_in_pixel();
        let (across, up) = (Display::of(self.x.0.kind, self.units), Display::of(self.y.0.kind, self.units));
        let soft = Words::new(11.0, palette.ink_soft);
        let ticks = Ticks::new(&self.y.1, up, (f64::from(h) / scale / 50.0) as usize);
        level_grid(area, chart, &ticks, palette.grid, soft, scale)?;
        let ticks = Ticks::new(&self.x.1, across, (f64::from(w) / scale / 75.0) as usize);
        upright_grid(area, chart, &ticks, palette.grid, Some(soft), scale)?;
        let (x, y) = (&self.x.1, &self.y.1);
        let middle = pixel(chart, ((x.start + x.end) / 2.0, (y.start + y.end) / 2.0));
        let title = Words::new(12.0, palette.ink);
        let under = (middle.0, h as i32 - px(20.0));
        title.write(area, &self.x.0.titled(self.units), under, Anchor::Below, scale)?;
        let beside = (px(12.0), middle.1);
        title.upwards().write(area, &self.y.0.titled(self.units), beside, Anchor::Centre, scale)
    }
}
