//! Words, lines and axes for plotters drawings, without measuring text on the page.
//!
//! Plotters' own mesh measures each label by laying out an element, and knows nothing of the screen's
//! pixel ratio: both are done here instead. Sizes are CSS pixels times `scale`.

use super::axis::Ticks;
use super::palette::Colour;
use crate::board::scene::text_width_px;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// The letters of charts.
pub const FONT: &str = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Noto Sans', sans-serif";

/// Why a drawing failed: the surface's own reason.
pub type Failed<DB> = DrawingAreaErrorKind<<DB as DrawingBackend>::ErrorType>;
/// What a drawing gives back.
pub type Drawn<DB> = Result<(), Failed<DB>>;
/// A surface in pixels.
pub type Surface<DB> = DrawingArea<DB, plotters::coord::Shift>;
/// A chart over two straight axes.
pub type Chart<'a, DB> = ChartContext<'a, DB, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// What of a picture is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layer {
    /// Ground, axes, grid and names: they stand as long as the scales do.
    Frame,
    /// What was found, over the frame.
    Marks,
}

impl Layer {
    /// Both, in the order they are drawn.
    pub const ALL: [Self; 2] = [Self::Frame, Self::Marks];
}

/// Begins a layer of a picture: the ground under the frame, and the pixels there are; none where they are fewer than
/// `least` CSS px either way, too few to draw on.
pub fn begin<DB: DrawingBackend>(
    area: &Surface<DB>,
    paper: Colour,
    scale: f64,
    layer: Layer,
    least: (f64, f64),
) -> Result<Option<(u32, u32)>, Failed<DB>> {
    if layer == Layer::Frame {
        area.fill(&rgb(paper))?;
    }
    let px = |v: f64| (v * scale).round() as u32;
    let (w, h) = area.dim_in_pixel();
    Ok((w >= px(least.0) && h >= px(least.1)).then_some((w, h)))
}

/// What the frame of a picture is made of, besides size and colours: as long as this stays, so does the frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scales {
    /// Ends of axes, places of names.
    pub numbers: Vec<f64>,
    /// Names and units.
    pub words: Vec<String>,
}

/// Which part of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Left edge, middle height.
    Left,
    /// Right edge, middle height.
    Right,
    /// Middle, under the place.
    Below,
    /// Middle, over the place.
    Above,
    /// The middle of the text.
    Centre,
}

/// A colour for plotters.
pub fn rgb(colour: Colour) -> RGBColor {
    RGBColor(colour.0, colour.1, colour.2)
}

/// A line's style; `width` CSS px.
pub fn pen(colour: Colour, width: f64, scale: f64) -> ShapeStyle {
    ShapeStyle::from(&rgb(colour)).stroke_width((width * scale).round().max(1.0) as u32)
}

/// A filling.
pub fn fill(colour: Colour, alpha: f64) -> ShapeStyle {
    ShapeStyle::from(&rgb(colour).mix(alpha)).filled()
}

/// How words look.
#[derive(Clone, Copy, Debug)]
pub struct Words {
    /// Height, CSS px.
    pub size: f64,
    /// Colour.
    pub colour: Colour,
    /// Bold.
    pub bold: bool,
    /// Reading upwards.
    pub upwards: bool,
}

impl Words {
    /// Plain words.
    pub fn new(size: f64, colour: Colour) -> Self {
        Self { size, colour, bold: false, upwards: false }
    }

    /// The same, bold.
    pub fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    /// The same, reading upwards.
    pub fn upwards(self) -> Self {
        Self { upwards: true, ..self }
    }

    /// Writes `text` at a pixel of `area`.
    pub fn write<DB: DrawingBackend>(
        self,
        area: &Surface<DB>,
        text: &str,
        at: (i32, i32),
        anchor: Anchor,
        scale: f64,
    ) -> Drawn<DB> {
        let pos = match anchor {
            Anchor::Left => Pos::new(HPos::Left, VPos::Center),
            Anchor::Right => Pos::new(HPos::Right, VPos::Center),
            Anchor::Below => Pos::new(HPos::Center, VPos::Top),
            Anchor::Above => Pos::new(HPos::Center, VPos::Bottom),
            Anchor::Centre => Pos::new(HPos::Center, VPos::Center),
        };
        let weight = if self.bold { FontStyle::Bold } else { FontStyle::Normal };
        let font = FontDesc::new(FontFamily::Name(FONT), self.size * scale, weight);
        let font = if self.upwards { font.transform(FontTransform::Rotate270) } else { font };
        let colour = rgb(self.colour);
        let style = TextStyle::from(font).color(&colour).pos(pos);
        area.draw_text(text, &style, at)
    }
}

impl Words {
    /// The same on a plate of `paper`, so that no curve crosses it.
    pub fn write_on<DB: DrawingBackend>(
        self,
        paper: Colour,
        area: &Surface<DB>,
        text: &str,
        at: (i32, i32),
        anchor: Anchor,
        scale: f64,
    ) -> Drawn<DB> {
        let px = |v: f64| (v * scale).round() as i32;
        let (width, height) = (px(text_width_px(text, self.size + 1.0)), px(self.size + 4.5));
        let (left, top) = match anchor {
            Anchor::Left => (at.0, at.1 - height / 2),
            Anchor::Right => (at.0 - width, at.1 - height / 2),
            Anchor::Below => (at.0 - width / 2, at.1),
            Anchor::Above => (at.0 - width / 2, at.1 - height),
            Anchor::Centre => (at.0 - width / 2, at.1 - height / 2),
        };
        let plate = [(left - px(3.0), top), (left + width + px(3.0), top + height)];
        area.draw(&Rectangle::new(plate, fill(paper, 0.85)))?;
        self.write(area, text, at, anchor, scale)
    }
}

/// Pixel of a place of the chart.
pub fn pixel<DB: DrawingBackend>(chart: &Chart<DB>, at: (f64, f64)) -> (i32, i32) {
    chart.backend_coord(&at)
}

/// Level lines at the marks with their numbers to the left of the plot.
pub fn level_grid<DB: DrawingBackend>(
    root: &Surface<DB>,
    chart: &mut Chart<DB>,
    ticks: &Ticks,
    line: Colour,
    words: Words,
    scale: f64,
) -> Drawn<DB> {
    let x = chart.x_range();
    for (y, text) in &ticks.marks {
        let style = pen(line, 1.0, scale);
        chart.draw_series(std::iter::once(PathElement::new(vec![(x.start, *y), (x.end, *y)], style)))?;
        let at = pixel(chart, (x.start, *y));
        words.write(root, text, (at.0 - (6.0 * scale) as i32, at.1), Anchor::Right, scale)?;
    }
    Ok(())
}

/// Upright lines at the marks, with their numbers under the plot when asked for.
pub fn upright_grid<DB: DrawingBackend>(
    root: &Surface<DB>,
    chart: &mut Chart<DB>,
    ticks: &Ticks,
    line: Colour,
    words: Option<Words>,
    scale: f64,
) -> Drawn<DB> {
    let y = chart.y_range();
    for (x, text) in &ticks.marks {
        let style = pen(line, 1.0, scale);
        chart.draw_series(std::iter::once(PathElement::new(vec![(*x, y.start), (*x, y.end)], style)))?;
        if let Some(words) = words {
            let at = pixel(chart, (*x, y.start));
            words.write(root, text, (at.0, at.1 + (4.0 * scale) as i32), Anchor::Below, scale)?;
        }
    }
    Ok(())
}

/// A broken line through `points`, drawn as separate strokes: `dash` and `gap` CSS px.
pub fn dashed<DB: DrawingBackend>(
    chart: &mut Chart<DB>,
    points: &[(f64, f64)],
    style: ShapeStyle,
    scale: f64,
) -> Drawn<DB> {
    let dashes =
        DashedLineSeries::new(points.iter().copied(), (7.0 * scale) as u32, (4.0 * scale) as u32, style);
    chart.draw_series(dashes)?;
    Ok(())
}
