//! A picture of curves over one axis, with its table: a few lines for each new one.
//!
//! ```no_run
//! # use app::charts::xy::{Curves, Curve, Axis, Ink};
//! # use engine::units::{Kind, UnitSystem};
//! let curves = Curves {
//!     name: "Zone temperature against damper travel",
//!     x: Axis { title: "Damper travel", kind: Kind::Percent },
//!     y: Axis { title: "Zone temperature", kind: Kind::Temperature },
//!     curves: vec![Curve { name: "Dry-off".into(), ink: Ink::Over, dashed: false, points: vec![(0.0, 90.0)] }],
//!     marks: vec![("now".into(), (40.0, 120.0))],
//!     areas: Vec::new(),
//!     units: UnitSystem::Si,
//! };
//! // In a view: <CurvePicture curves={curves} theme={session.view.theme} testid="damper-travel" />
//! ```

pub use super::axes::Axis;
use super::axes::{Axes, LEFT_PX};
use super::axis::{finite, guarded, settled};
use super::ink::{Anchor, Chart, Drawn, Layer, Scales, Surface, Words, begin, dashed, fill, pen, pixel};
use super::palette::{Colour, Palette};
use super::picture::{numbers, picture};
use super::plot::{Drawing, Plot};
use crate::session::Theme;
use engine::units::{UnitSystem, show};
use plotters::prelude::*;
use std::rc::Rc;
use yew::prelude::*;

/// Which of the palette's inks a curve has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// That of the words.
    Ink,
    /// That of help lines.
    Soft,
    /// That of too much.
    Over,
    /// That of too little.
    Under,
    /// The accent.
    Accent,
}

impl Ink {
    fn of(self, palette: &Palette) -> Colour {
        match self {
            Self::Ink => palette.ink,
            Self::Soft => palette.ink_soft,
            Self::Over => palette.over,
            Self::Under => palette.under,
            Self::Accent => palette.accent,
        }
    }
}

/// A curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Its name.
    pub name: String,
    /// Its colour.
    pub ink: Ink,
    /// Broken, so that it can be told without colour.
    pub dashed: bool,
    /// Points by rising x, SI.
    pub points: Vec<(f64, f64)>,
}

impl Curve {
    fn pen(&self, palette: &Palette, scale: f64) -> ShapeStyle {
        pen(self.ink.of(palette), if self.dashed { 1.6 } else { 2.2 }, scale)
    }
}

/// Curves over one axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Curves {
    /// What the picture is called.
    pub name: &'static str,
    /// Level axis.
    pub x: Axis,
    /// Upright axis.
    pub y: Axis,
    /// The curves.
    pub curves: Vec<Curve>,
    /// Points worth marking, with a word for each.
    pub marks: Vec<(String, (f64, f64))>,
    /// Outlines of ranges worth staying in, with a word for each; infinity is the edge of the chart.
    pub areas: Vec<(String, Vec<(f64, f64)>)>,
    /// Units people read.
    pub units: UnitSystem,
}

impl Curves {
    /// Both axes, under the curves' names.
    fn axes(&self) -> Axes {
        let outlines = || self.areas.iter().flat_map(|area| &area.1);
        let marks = || self.marks.iter().map(|mark| &mark.1);
        let places = || self.curves.iter().flat_map(|c| &c.points).chain(marks()).chain(outlines());
        let x = guarded(places().map(|p| p.0), 0.0, 1e-3);
        let y = settled(guarded(places().map(|p| p.1), 0.08, 1e-3));
        let top_px = 10.0 + self.curves.len().div_ceil(2) as f64 * 16.0;
        Axes { x: (self.x, x), y: (self.y, y), top_px, right_px: 14.0, units: self.units }
    }
}

/// What the frame is made of.
pub fn scales(data: &Curves, _: (f64, f64)) -> Scales {
    let Axes { x, y, .. } = data.axes();
    let mut numbers = vec![x.1.start, x.1.end, y.1.start, y.1.end];
    numbers.extend(data.curves.iter().flat_map(|c| [f64::from(c.ink as u8), f64::from(u8::from(c.dashed))]));
    numbers.extend(data.areas.iter().flat_map(|area| &area.1).flat_map(|place| [place.0, place.1]));
    let mut words = vec![data.x.titled(data.units), data.y.titled(data.units)];
    words.extend(
        data.curves.iter().map(|c| c.name.clone()).chain(data.areas.iter().map(|area| area.0.clone())),
    );
    Scales { numbers, words }
}

/// Draws a layer of the curves on the whole of `area`.
pub fn draw<DB: DrawingBackend>(
    area: &Surface<DB>,
    data: &Curves,
    palette: &Palette,
    scale: f64,
    layer: Layer,
) -> Drawn<DB> {
    let px = |v: f64| (v * scale).round() as i32;
    let Some((w, _)) = begin(area, palette.paper, scale, layer, (160.0, 120.0))? else { return Ok(()) };
    let axes = data.axes();
    let mut chart = axes.chart(area, scale)?;
    if layer == Layer::Marks {
        return marks(area, &mut chart, data, palette, scale);
    }
    for (word, outline) in &data.areas {
        let inside = |v: f64, range: &std::ops::Range<f64>| v.clamp(range.start, range.end);
        let corners = outline.iter().filter(|p| !p.0.is_nan() && !p.1.is_nan());
        let corners: Vec<_> =
            corners.map(|p| pixel(&chart, (inside(p.0, &axes.x.1), inside(p.1, &axes.y.1)))).collect();
        let Some(highest) = corners.iter().map(|p| p.1).min() else { continue };
        let left = corners.iter().filter(|p| p.1 < highest + px(3.0)).map(|p| p.0).min().unwrap_or_default();
        area.draw(&Polygon::new(corners, fill(palette.band, 1.0)))?;
        let at = (left + px(5.0), highest + px(10.0));
        Words::new(11.0, palette.ink_soft).write(area, word, at, Anchor::Left, scale)?;
    }
    axes.draw(area, &mut chart, palette, scale)?;
    for (i, curve) in data.curves.iter().enumerate() {
        let style = curve.pen(palette, scale);
        let column = px(LEFT_PX) + (i % 2) as i32 * (w as i32 - px(LEFT_PX + 14.0)) / 2;
        let level = px(12.0 + 16.0 * (i / 2) as f64);
        let sample = |from: f64, to: f64| vec![(column + px(from), level), (column + px(to), level)];
        let strokes: &[(f64, f64)] = if curve.dashed { &[(0.0, 6.0), (10.0, 16.0)] } else { &[(0.0, 16.0)] };
        for &(from, to) in strokes {
            area.draw(&PathElement::new(sample(from, to), style))?;
        }
        let at = (column + px(21.0), level);
        Words::new(11.0, palette.ink).write(area, &curve.name, at, Anchor::Left, scale)?;
    }
    Ok(())
}

/// The curves and the points worth marking.
fn marks<DB: DrawingBackend>(
    area: &Surface<DB>,
    chart: &mut Chart<DB>,
    data: &Curves,
    palette: &Palette,
    scale: f64,
) -> Drawn<DB> {
    let px = |v: f64| (v * scale).round() as i32;
    for curve in &data.curves {
        let (points, style) = (finite(curve.points.iter().copied()), curve.pen(palette, scale));
        if curve.dashed {
            dashed(chart, &points, style, scale)?;
        } else {
            chart.draw_series(LineSeries::new(points, style))?;
        }
    }
    let mut written = Vec::new();
    for (word, place) in data.marks.iter().filter(|(_, p)| p.0.is_finite() && p.1.is_finite()) {
        let at = pixel(chart, *place);
        area.draw(&Circle::new(at, px(4.5), fill(palette.paper, 1.0)))?;
        area.draw(&Circle::new(at, px(4.5), pen(palette.ink, 2.0, scale)))?;
        let right = at.0 < area.dim_in_pixel().0 as i32 / 2;
        let (dx, anchor) = if right { (px(9.0), Anchor::Left) } else { (-px(9.0), Anchor::Right) };
        // Above its point, or where no other word is.
        let free = |y: &i32| {
            written
                .iter()
                .all(|&(x, other): &(i32, i32)| (at.0 - x).abs() > px(110.0) || (y - other).abs() >= px(16.0))
        };
        let above = at.1 - px(8.0);
        let y = [above, at.1 + px(14.0), at.1 - px(26.0), at.1 + px(32.0)].into_iter().find(free);
        let y = y.unwrap_or(above);
        written.push((at.0, y));
        let words = Words::new(11.5, palette.ink).bold();
        words.write_on(palette.paper, area, word, (at.0 + dx, y), anchor, scale)?;
    }
    Ok(())
}

/// What the picture is given.
#[derive(PartialEq, Properties)]
pub struct CurvePictureProps {
    /// The curves.
    pub curves: Curves,
    /// Light or dark.
    pub theme: Theme,
    /// For tests.
    pub testid: AttrValue,
}

/// Curves in a frame with their table.
#[component]
pub fn CurvePicture(props: &CurvePictureProps) -> Html {
    let drawing =
        use_memo(props.curves.clone(), |curves| Drawing::new(Rc::new(curves.clone()), scales, draw));
    let Curves { name, x, y, curves, units, .. } = &props.curves;
    let rows = curves.iter().flat_map(|curve| {
        curve
            .points
            .iter()
            .map(|p| vec![curve.name.clone(), show(p.0, x.kind, *units), show(p.1, y.kind, *units)])
    });
    let head = ["Curve".to_owned(), x.title.to_owned(), y.title.to_owned()];
    let plot = html! {
        <Plot drawing={(*drawing).clone()} theme={props.theme} testid={props.testid.clone()} class={classes!("fan-canvas")}
            label={format!("{name}. The numbers are in the table below.")} />
    };
    picture(name, plot, "In numbers", numbers(name, &head, rows))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::charts::mock::{Recorder, both, words};
    use engine::units::Kind;

    fn curves(points: Vec<(f64, f64)>) -> Curves {
        Curves {
            name: "Travel",
            x: Axis { title: "Damper travel", kind: Kind::Percent },
            y: Axis { title: "Zone temperature", kind: Kind::Temperature },
            curves: vec![
                Curve { name: "Dry-off".into(), ink: Ink::Over, dashed: false, points: points.clone() },
                Curve { name: "Cure".into(), ink: Ink::Under, dashed: true, points },
            ],
            marks: vec![("now".into(), (40.0, 120.0))],
            areas: vec![(
                "useful".into(),
                vec![
                    (20.0, f64::NEG_INFINITY),
                    (20.0, f64::INFINITY),
                    (60.0, f64::INFINITY),
                    (60.0, f64::NEG_INFINITY),
                ],
            )],
            units: UnitSystem::InchPound,
        }
    }

    #[test]
    fn axes_curves_and_marks_are_named() {
        let data = curves(vec![(0.0, 90.0), (100.0, 180.0)]);
        let seen = words(600, 400, |area| both(|layer| draw(area, &data, &Palette::LIGHT, 1.0, layer)));
        for word in ["Damper travel, %", "Zone temperature, °F", "Dry-off", "Cure", "now", "useful", "300"] {
            assert!(seen.iter().any(|w| w == word), "{word} in {seen:?}");
        }
    }

    #[test]
    fn other_points_on_the_same_axes_leave_axes_and_words_as_they_are() {
        let mut data = curves(vec![(0.0, 90.0), (100.0, 180.0)]);
        data.marks.clear();
        let before = scales(&data, (600.0, 400.0));
        data.curves[0].points[1].1 = 171.0;
        assert_eq!(scales(&data, (600.0, 400.0)), before);
        let written = words(600, 400, |area| draw(area, &data, &Palette::LIGHT, 1.0, Layer::Marks));
        assert!(written.is_empty(), "{written:?}");
        data.curves[0].points[1].1 = 400.0;
        data.curves[1].points[1].1 = 400.0;
        assert_ne!(scales(&data, (600.0, 400.0)), before);
    }

    #[test]
    fn bad_numbers_and_small_canvases_draw_inside() {
        let data = curves(vec![(f64::NAN, 1.0), (1.0, f64::INFINITY), (5.0, 5.0)]);
        for (w, h) in [(600, 400), (170, 130), (10, 10)] {
            let seen =
                Recorder::record(w, h, |area| both(|layer| draw(area, &data, &Palette::DARK, 1.0, layer)));
            assert!(seen.iter().all(|p| (-2..=w as i32 + 2).contains(&p.0)), "{w}");
        }
    }
}
