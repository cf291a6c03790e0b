//! Paints shapes on a 2-D context. The only place of the board that does.

use crate::board::camera::{Bounds, Look, ScreenPoint};
use crate::board::scene::{Align, Dash, Fill, Form, Ground, Patch, Shape, Stroke, Text, Tone, text_width_px};
use crate::charts::palette::{Colour, Palette};
use crate::charts::surface::{Size, context};
use engine::plan::Point;
use gloo::utils::document;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{CanvasPattern, CanvasRenderingContext2d, HtmlCanvasElement};

/// The letters of drawings.
pub const FONT: &str = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Noto Sans', sans-serif";

/// How much wider the page's letters are than labels are laid out for.
pub fn letters(context: &CanvasRenderingContext2d) -> f64 {
    const SAMPLE: &str = "Cure, north outer \u{b7} 500 \u{d7} 450 mm \u{b7} \u{2212}8\u{2026}+12 %";
    context.set_font(&format!("20px {FONT}"));
    let measured = context.measure_text(SAMPLE).map_or(0.0, |m| m.width());
    let ratio = measured / text_width_px(SAMPLE, 20.0);
    if ratio.is_finite() { ratio.clamp(0.7, 1.6) } else { 1.0 }
}

/// A context with what painting remembers between shapes.
pub struct Painter<'a> {
    pub(super) context: &'a CanvasRenderingContext2d,
    pub(super) palette: &'a Palette,
    pub(super) look: Look,
    pub(super) size: Size,
    hatches: Vec<(Colour, CanvasPattern)>,
    fill: Option<(Colour, f32)>,
    stroke: Option<(Colour, f32, f64)>,
    letters: Option<Letters>,
}

/// Size in px, bold, which part of a text stands at its place, and which of its heights.
type Letters = (f64, bool, &'static str, &'static str);

impl<'a> Painter<'a> {
    /// Paints on `context`, on what is there.
    pub fn new(context: &'a CanvasRenderingContext2d, palette: &'a Palette, look: Look, size: Size) -> Self {
        upright(context, size);
        context.set_line_join("round");
        context.set_line_cap("butt");
        Self { context, palette, look, size, hatches: Vec::new(), fill: None, stroke: None, letters: None }
    }

    /// Clears the canvas to paper.
    pub fn clear(&mut self) {
        self.set_fill(self.palette.paper, 1.0);
        self.context.fill_rect(0.0, 0.0, self.size.width, self.size.height);
    }

    pub(super) fn set_fill(&mut self, colour: Colour, alpha: f32) {
        // Words to the browser cost more than all else here, and a thousand slots share few colours.
        if self.fill != Some((colour, alpha)) {
            self.context.set_fill_style_str(&colour.css(alpha));
            self.fill = Some((colour, alpha));
        }
    }

    pub(super) fn set_letters(&mut self, letters: Letters) {
        let before = self.letters.replace(letters);
        let (size_px, bold, align, baseline) = letters;
        if before.is_none_or(|before| (before.0, before.1) != (size_px, bold)) {
            let weight = if bold { "600 " } else { "" };
            self.context.set_font(&format!("{weight}{size_px}px {FONT}"));
        }
        if before.is_none_or(|before| before.2 != align) {
            self.context.set_text_align(align);
        }
        if before.is_none_or(|before| before.3 != baseline) {
            self.context.set_text_baseline(baseline);
        }
    }

    pub(super) fn set_stroke(&mut self, colour: Colour, alpha: f32, width_px: f64) {
        if self.stroke.is_none_or(|(of, before, _)| (of, before) != (colour, alpha)) {
            self.context.set_stroke_style_str(&colour.css(alpha));
        }
        if self.stroke.is_none_or(|(.., before)| before != width_px) {
            self.context.set_line_width(width_px);
        }
        self.stroke = Some((colour, alpha, width_px));
    }

    /// A CSS pixel coordinate moved so that a line `width_px` wide covers whole device pixels.
    pub(super) fn crisp(&self, v: f64, width_px: f64) -> f64 {
        let dpr = self.size.dpr;
        let odd = (width_px * dpr).round() as i64 % 2 != 0;
        if odd { ((v * dpr).floor() + 0.5) / dpr } else { (v * dpr).round() / dpr }
    }

    /// Paints one shape if it is in sight.
    pub fn shape(&mut self, shape: &Shape) {
        match &shape.form {
            Form::Polygon(points) => self.outline(points, true, shape),
            Form::Path(points) => self.outline(points, false, shape),
            Form::Disc { at, radius_m } => {
                self.disc(*at, radius_m * self.look.camera.px_per_m, shape);
            }
            Form::Dot { at, radius_px } => self.disc(*at, *radius_px, shape),
            Form::Patches(patches) => self.patches(patches, shape.stroke),
            Form::Dashes(lines) => self.dashes(lines, shape.stroke),
            Form::Text(text) => self.text(text),
        }
    }

    fn in_sight(&self, points: &[Point]) -> bool {
        let Some(b) = Bounds::around(points.iter().copied()) else { return false };
        let sight = self.look.in_sight().grown(16.0 / self.look.camera.px_per_m);
        b.min.x_m <= sight.max.x_m
            && b.max.x_m >= sight.min.x_m
            && b.min.y_m <= sight.max.y_m
            && b.max.y_m >= sight.min.y_m
    }

    fn outline(&mut self, points: &[Point], closed: bool, shape: &Shape) {
        if points.len() < 2 || !self.in_sight(points) {
            return;
        }
        // Upright and level edges sit on whole pixels, so that thin lines stay thin.
        let square = |w: &[Point]| {
            let (dx, dy) = ((w[1].x_m - w[0].x_m).abs(), (w[1].y_m - w[0].y_m).abs());
            dx < 1e-9 || dy < 1e-9
        };
        let snap = points.windows(2).all(square);
        let width_px = shape.stroke.map_or(0.0, |s| f64::from(s.width_px));
        if closed && snap && self.rectangle(points, shape, width_px) {
            return;
        }
        self.context.begin_path();
        for (i, p) in points.iter().enumerate() {
            let ScreenPoint { mut x, mut y } = self.look.screen_from_plan(*p);
            if snap {
                (x, y) = (self.crisp(x, width_px), self.crisp(y, width_px));
            }
            if i == 0 { self.context.move_to(x, y) } else { self.context.line_to(x, y) }
        }
        if closed {
            self.context.close_path();
        }
        self.fill_and_stroke(shape.fill, shape.stroke);
    }

    /// Many rectangles, in one path for each colour: words to the browser cost more than all else here.
    fn patches(&mut self, patches: &[Patch], stroke: Option<Stroke>) {
        let mut groups: Vec<(Colour, Vec<&Patch>)> = Vec::new();
        for patch in patches {
            let colour = self.palette.tone(patch.tone.coarse());
            match groups.iter_mut().find(|(known, _)| *known == colour) {
                Some((_, group)) => group.push(patch),
                None => groups.push((colour, vec![patch])),
            }
        }
        let width_px = stroke.map_or(0.0, |s| f64::from(s.width_px));
        if let Some(stroke) = stroke {
            self.set_stroke(self.palette.tone(stroke.tone), 1.0, width_px);
        }
        for (colour, group) in groups {
            self.set_fill(colour, 1.0);
            self.context.begin_path();
            for patch in group {
                let corners = patch.corners();
                if !self.in_sight(&corners) {
                    continue;
                }
                let upright = patch.direction.0.abs() < 1e-9 || patch.direction.1.abs() < 1e-9;
                let places = corners.map(|corner| self.look.screen_from_plan(corner));
                if upright {
                    let at = |p: ScreenPoint| (self.crisp(p.x, width_px), self.crisp(p.y, width_px));
                    let ((x0, y0), (x1, y1)) = (at(places[0]), at(places[2]));
                    // Without an edge a rectangle needs no path, which is slower to paint than to say.
                    match stroke {
                        Some(_) => self.context.rect(x0, y0, x1 - x0, y1 - y0),
                        None => self.context.fill_rect(x0, y0, (x1 - x0).max(1.0), y1 - y0),
                    }
                } else {
                    self.context.move_to(places[0].x, places[0].y);
                    places[1..].iter().for_each(|p| self.context.line_to(p.x, p.y));
                    self.context.close_path();
                }
            }
            self.context.fill();
            if stroke.is_some() {
                self.context.stroke();
            }
        }
    }

    /// Many short lines, in one path.
    fn dashes(&mut self, lines: &[[Point; 2]], stroke: Option<Stroke>) {
        let width_px = stroke.map_or(0.0, |s| f64::from(s.width_px));
        self.context.begin_path();
        for line in lines.iter().filter(|line| self.in_sight(*line)) {
            let level = (line[0].x_m - line[1].x_m).abs() < 1e-9 || (line[0].y_m - line[1].y_m).abs() < 1e-9;
            let [a, b] = line.map(|end| {
                let ScreenPoint { x, y } = self.look.screen_from_plan(end);
                if level { (self.crisp(x, width_px), self.crisp(y, width_px)) } else { (x, y) }
            });
            self.context.move_to(a.0, a.1);
            self.context.line_to(b.0, b.1);
        }
        self.fill_and_stroke(None, stroke);
    }

    /// An upright rectangle in one colour, which canvases draw without a path; false for anything else.
    fn rectangle(&mut self, points: &[Point], shape: &Shape, width_px: f64) -> bool {
        let (4, Some(Fill::Solid(tone, alpha))) = (points.len(), shape.fill) else { return false };
        if shape.stroke.is_some_and(|stroke| stroke.dash != Dash::Solid) {
            return false;
        }
        let (a, c) = (self.look.screen_from_plan(points[0]), self.look.screen_from_plan(points[2]));
        let (x0, x1) = (self.crisp(a.x, width_px), self.crisp(c.x, width_px));
        let (y0, y1) = (self.crisp(a.y, width_px), self.crisp(c.y, width_px));
        self.set_fill(self.palette.tone(tone), alpha);
        self.context.fill_rect(x0, y0, x1 - x0, y1 - y0);
        if let Some(stroke) = shape.stroke {
            self.set_stroke(self.palette.tone(stroke.tone), 1.0, width_px);
            self.context.stroke_rect(x0, y0, x1 - x0, y1 - y0);
        }
        true
    }

    fn disc(&mut self, at: Point, radius_px: f64, shape: &Shape) {
        let ScreenPoint { x, y } = self.look.screen_from_plan(at);
        self.context.begin_path();
        if self.context.arc(x, y, radius_px, 0.0, core::f64::consts::TAU).is_ok() {
            self.fill_and_stroke(shape.fill, shape.stroke);
        }
    }

    fn fill_and_stroke(&mut self, fill: Option<Fill>, stroke: Option<Stroke>) {
        match fill {
            Some(Fill::Solid(tone, alpha)) => {
                self.set_fill(self.palette.tone(tone), alpha);
                self.context.fill();
            }
            Some(Fill::Hatch(tone)) => self.hatch(tone),
            None => {}
        }
        if let Some(stroke) = stroke {
            self.set_stroke(self.palette.tone(stroke.tone), 1.0, f64::from(stroke.width_px));
            let dashes: &[f64] = match stroke.dash {
                Dash::Solid => &[],
                Dash::Dashed => &[5.0, 4.0],
                Dash::Chain => &[14.0, 4.0, 2.0, 4.0],
            };
            if dashes.is_empty() {
                self.context.stroke();
                return;
            }
            self.dash(dashes);
            self.context.stroke();
            self.dash(&[]);
        }
    }

    fn dash(&self, dashes: &[f64]) {
        let list: js_sys::Array = dashes.iter().map(|d| JsValue::from_f64(*d)).collect();
        let _ = self.context.set_line_dash(&list);
    }

    fn hatch(&mut self, tone: Tone) {
        let colour = self.palette.tone(tone);
        let pattern = match self.hatches.iter().find(|(of, _)| *of == colour) {
            Some((_, pattern)) => pattern.clone(),
            None => {
                let Some(pattern) = hatch_pattern(self.context, colour, self.size.dpr) else {
                    return;
                };
                self.hatches.push((colour, pattern.clone()));
                pattern
            }
        };
        // The tile is in device pixels: fill without the scale.
        self.context.save();
        let _ = self.context.set_transform(1.0, 0.0, 0.0, 1.0, 0.0, 0.0);
        self.context.set_fill_style_canvas_pattern(&pattern);
        self.context.fill();
        self.context.restore();
    }

    pub(super) fn text(&mut self, text: &Text) {
        let at = self.look.screen_from_plan(text.at);
        let (x, y) = (at.x + text.shift_px.0, at.y + text.shift_px.1);
        let reach = text.width_px() + 20.0;
        if x < -reach || y < -reach || x > self.size.width + reach || y > self.size.height + reach {
            return;
        }
        let align = match text.align {
            Align::Start => "left",
            Align::Middle => "center",
            Align::End => "right",
        };
        self.set_letters((text.size_px, text.bold, align, "middle"));
        let at = if text.upwards { self.turned(x, y) } else { (x, y) };
        match text.ground {
            Ground::None => {}
            Ground::Halo(tone) => {
                self.set_stroke(self.palette.tone(tone), 0.85, 3.0);
                let _ = self.context.stroke_text(&text.text, at.0, at.1);
            }
            Ground::Plate(tone) => self.plate(text, tone, at),
        }
        self.set_fill(self.palette.tone(text.tone), 1.0);
        let _ = self.context.fill_text(&text.text, at.0, at.1);
        if text.upwards {
            upright(self.context, self.size);
        }
    }

    /// Turns what follows a quarter, upwards, about a place; the place from then on.
    pub(super) fn turned(&self, x: f64, y: f64) -> (f64, f64) {
        let _ = self.context.translate(x, y);
        let _ = self.context.rotate(-core::f64::consts::FRAC_PI_2);
        (0.0, 0.0)
    }

    fn plate(&mut self, text: &Text, tone: Tone, at: (f64, f64)) {
        let Ok(measured) = self.context.measure_text(&text.text) else { return };
        let (w, h) = (measured.width() + 8.0, text.size_px * 1.1);
        let x = match text.align {
            Align::Start => -4.0,
            Align::Middle => -w / 2.0,
            Align::End => 4.0 - w,
        };
        self.set_fill(self.palette.tone(tone), 1.0);
        self.context.fill_rect(at.0 + x, at.1 - h / 2.0, w, h);
    }
}

/// Takes every turn and shift back: CSS pixels, from the upper left.
pub(super) fn upright(context: &CanvasRenderingContext2d, size: Size) {
    let _ = context.set_transform(size.dpr, 0.0, 0.0, size.dpr, 0.0, 0.0);
}

/// A tile of slanted lines, in device pixels.
fn hatch_pattern(context: &CanvasRenderingContext2d, colour: Colour, dpr: f64) -> Option<CanvasPattern> {
    let side = (6.0 * dpr).round();
    let tile: HtmlCanvasElement = document().create_element("canvas").ok()?.dyn_into().ok()?;
    tile.set_width(side as u32);
    tile.set_height(side as u32);
    let ink = self::context(&tile)?;
    ink.set_stroke_style_str(&colour.css(1.0));
    ink.set_line_width(dpr);
    ink.begin_path();
    // Three parallels, so that the corners of neighbouring tiles meet.
    for k in [-1.0, 0.0, 1.0] {
        ink.move_to(k * side - 1.0, side + 1.0);
        ink.line_to((k + 1.0) * side + 1.0, -1.0);
    }
    ink.stroke();
    context.create_pattern_with_html_canvas_element(&tile, "repeat").ok()?
}
