//! Where heat goes, as a picture: one bar for each, split by zone, with its number.

use crate::charts::axis::{guarded, settled};
use crate::charts::ink::{Anchor, Drawn, Layer, Scales, Surface, Words, begin, fill, pen};
use crate::charts::palette::Palette;
use crate::charts::picture::{numbers, picture};
use crate::charts::plot::{Drawing, Plot};
use crate::session::Theme;
use engine::units::{Kind, UnitSystem, show};
use plotters::prelude::*;
use std::ops::Range;
use std::rc::Rc;
use yew::prelude::*;

/// One thing heat goes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// Its name.
    pub name: &'static str,
    /// Running, by zone, W; below zero a gain.
    pub parts_w: Vec<f64>,
    /// The same in another state, W.
    pub beside_w: Option<f64>,
}

/// Where heat goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Goes {
    /// The bars.
    pub bars: Vec<Bar>,
    /// What the parts of a bar are called.
    pub parts: Vec<String>,
    /// What the other state is called.
    pub beside: Option<&'static str>,
    /// Units people read.
    pub units: UnitSystem,
}

/// Where the legend begins, CSS px.
const LEGEND_PX: f64 = 6.0;
/// Height of a bar with its room, CSS px.
const ROW_PX: f64 = 21.0;

impl Goes {
    fn range(&self) -> Range<f64> {
        let sum = |bar: &Bar, sign: f64| sign * bar.parts_w.iter().map(|w| (sign * w).max(0.0)).sum::<f64>();
        let ends = self.bars.iter().flat_map(|bar| {
            let beside = bar.beside_w.unwrap_or(0.0);
            [sum(bar, 1.0), sum(bar, -1.0), beside, 0.0]
        });
        settled(guarded(ends, 0.0, 1.0))
    }
}

/// What the frame is made of.
pub fn scales(data: &Goes, _: (f64, f64)) -> Scales {
    let range = data.range();
    let parts = data.parts.iter().map(String::as_str);
    let names = data.bars.iter().map(|bar| bar.name).chain(parts).chain(data.beside);
    Scales { numbers: vec![range.start, range.end], words: names.map(str::to_owned).collect() }
}

/// Draws a layer of the bars on the whole of `area`.
pub fn draw<DB: DrawingBackend>(
    area: &Surface<DB>,
    data: &Goes,
    palette: &Palette,
    scale: f64,
    layer: Layer,
) -> Drawn<DB> {
    let px = |v: f64| (v * scale).round() as i32;
    let Some((w, h)) = begin(area, palette.paper, scale, layer, (240.0, 80.0))? else { return Ok(()) };
    if data.bars.is_empty() {
        return Ok(());
    }
    let hues = [palette.under, palette.over, palette.accent];
    let last = data.parts.len().saturating_sub(1);
    // What belongs to no zone is last, and grey.
    let fills = |part: usize| {
        let hue = if part == last { palette.ink_soft } else { hues[part % hues.len()] };
        fill(hue, if part < hues.len() { 0.6 } else { 0.3 })
    };
    let range = data.range();
    let (left, right) = (px(118.0), w as i32 - px(86.0));
    let x = |watts: f64| {
        let share = (watts - range.start) / (range.end - range.start);
        left + (share.clamp(0.0, 1.0) * f64::from(right - left)).round() as i32
    };
    // The legend: words beside a patch, so that no colour stands alone; in as many lines as it needs.
    let (mut line, mut at) = (0.0, LEGEND_PX);
    let names: Vec<_> = data.parts.iter().map(String::as_str).chain(data.beside).collect();
    let places: Vec<_> = names
        .iter()
        .map(|name| {
            let wide = 30.0 + 6.5 * name.chars().count() as f64;
            if at + wide > f64::from(w) / scale && at > LEGEND_PX {
                (line, at) = (line + 1.0, LEGEND_PX);
            }
            at += wide;
            (px(at - wide), px(6.0 + 15.0 * line))
        })
        .collect();
    let head = 24.0 + 15.0 * line;
    let row = ((f64::from(h) / scale - head - 2.0) / data.bars.len() as f64).min(ROW_PX);
    let middle = |i: usize| px(head + row * (i as f64 + 0.5));
    if layer == Layer::Marks {
        for (i, bar) in data.bars.iter().enumerate() {
            let top = head + row * i as f64;
            // What is lost to the right, what is gained to the left.
            let (mut lost, mut gained) = (0.0, 0.0);
            for (i, part) in bar.parts_w.iter().enumerate().filter(|(_, part)| part.is_finite()) {
                let from = if *part < 0.0 { &mut gained } else { &mut lost };
                let (a, b) = (x(*from), x(*from + part));
                if a != b {
                    let corners = [(a.min(b), px(top + 4.0)), (a.max(b), px(top + row - 4.0))];
                    area.draw(&Rectangle::new(corners, fills(i)))?;
                }
                *from += part;
            }
            if let Some(beside) = bar.beside_w.filter(|beside| beside.is_finite() && beside.abs() > 0.0) {
                let (a, b) = (x(0.0), x(beside));
                let corners = [(a.min(b), px(top + 2.0)), (a.max(b), px(top + row - 2.0))];
                area.draw(&Rectangle::new(corners, pen(palette.ink_soft, 1.2, scale)))?;
            }
            let total = show(bar.parts_w.iter().sum(), Kind::HeatRate, data.units);
            let at = (w as i32 - px(6.0), middle(i));
            Words::new(11.5, palette.ink).bold().write(area, &total, at, Anchor::Right, scale)?;
        }
        return Ok(());
    }
    for (i, (name, (x, y))) in names.into_iter().zip(places).enumerate() {
        let style = if i < data.parts.len() { fills(i) } else { pen(palette.ink_soft, 1.2, scale) };
        area.draw(&Rectangle::new([(x, y), (x + px(12.0), y + px(10.0))], style))?;
        Words::new(11.0, palette.ink).write(area, name, (x + px(17.0), y + px(5.0)), Anchor::Left, scale)?;
    }
    for (i, bar) in data.bars.iter().enumerate() {
        let at = (left - px(8.0), middle(i));
        Words::new(11.5, palette.ink).write(area, bar.name, at, Anchor::Right, scale)?;
    }
    let bottom = px(head + row * data.bars.len() as f64);
    area.draw(&PathElement::new(
        vec![(x(0.0), px(head - 2.0)), (x(0.0), bottom)],
        pen(palette.line, 1.0, scale),
    ))
}

/// What the picture is given.
#[derive(PartialEq, Properties)]
pub struct GoesProps {
    /// The bars.
    pub goes: Goes,
    /// Light or dark.
    pub theme: Theme,
}

const NAME: &str = "Where heat goes";

/// Where heat goes, in a frame with its table.
#[component]
pub fn GoesPicture(props: &GoesProps) -> Html {
    let drawing = use_memo(props.goes.clone(), |goes| Drawing::new(Rc::new(goes.clone()), scales, draw));
    let goes = &props.goes;
    let head: Vec<String> = std::iter::once("Heat goes to")
        .chain(goes.parts.iter().map(String::as_str))
        .chain(goes.beside)
        .map(str::to_owned)
        .collect();
    let rows = goes.bars.iter().map(|bar| {
        std::iter::once(bar.name.to_owned())
            .chain(bar.parts_w.iter().map(|w| show(*w, Kind::HeatRate, goes.units)))
            .chain(goes.beside.and(bar.beside_w).map(|w| show(w, Kind::HeatRate, goes.units)))
            .collect()
    });
    let plot = html! {
        <Plot drawing={(*drawing).clone()} theme={props.theme} testid="heat-goes" class={classes!("goes-canvas")}
            label="Where heat goes, one bar for each. The numbers are in the table below." />
    };
    picture(NAME, plot, "In numbers", numbers(NAME, &head, rows))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::charts::mock::{Recorder, both, words};

    fn goes(watts: f64) -> Goes {
        Goes {
            bars: vec![
                Bar { name: "Parts", parts_w: vec![20e3, 80e3, 0.0], beside_w: Some(0.0) },
                Bar { name: "Fan", parts_w: vec![0.0, 0.0, watts], beside_w: Some(-9e3) },
            ],
            parts: ["dry-off", "cure", "heater"].map(str::to_owned).to_vec(),
            beside: Some("heating up"),
            units: UnitSystem::Si,
        }
    }

    #[test]
    fn each_bar_is_named_and_bears_its_number() {
        let seen = words(700, 300, |area| both(|layer| draw(area, &goes(-5e3), &Palette::LIGHT, 1.0, layer)));
        for word in ["Parts", "100.0\u{a0}kW", "Fan", "\u{2212}5.0\u{a0}kW", "dry-off", "cure", "heating up"]
        {
            assert!(seen.iter().any(|w| w == word), "{word} in {seen:?}");
        }
    }

    #[test]
    fn bad_numbers_and_small_canvases_draw_inside() {
        for watts in [f64::NAN, f64::INFINITY, 1e15, -1e9] {
            for (w, h) in [(700, 300), (250, 90), (10, 10)] {
                let data = goes(watts);
                let seen = Recorder::record(w, h, |area| {
                    both(|layer| draw(area, &data, &Palette::DARK, 1.0, layer))
                });
                assert!(seen.iter().all(|p| (-2..=w as i32 + 2).contains(&p.0)), "{watts} {w}");
            }
        }
    }
}
