//! Finds room for labels: each takes the first of its places that is free of ducts and other labels.

use super::scene::{Align, Ground, Text, Tone, text_width_px};
use engine::plan::Point;

/// An upright rectangle in pixels, from the plan's origin, y down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Left edge.
    pub x0: f64,
    /// Upper edge.
    pub y0: f64,
    /// Right edge.
    pub x1: f64,
    /// Lower edge.
    pub y1: f64,
}

impl Frame {
    fn meets(&self, other: &Self) -> bool {
        self.x0 < other.x1 && other.x0 < self.x1 && self.y0 < other.y1 && other.y0 < self.y1
    }
}

/// One place a label could take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Where, on the floor.
    pub at: Point,
    /// And from there, px.
    pub shift_px: (f64, f64),
    /// Which part of the text stands there.
    pub align: Align,
    /// On its own duct, of this colour, rather than beside it.
    pub on: Option<Tone>,
    /// Longest text that may stand here, px.
    pub most_px: f64,
}

/// The space taken so far, at one scale.
#[derive(Clone, Debug)]
pub struct Room {
    px_per_m: f64,
    letters: f64,
    bodies: Vec<Frame>,
    taken: Vec<Frame>,
}

impl Room {
    /// An empty drawing at `px_per_m`, in letters that much wider than usual.
    pub fn new(px_per_m: f64, letters: f64) -> Self {
        Self { px_per_m, letters, bodies: Vec::new(), taken: Vec::new() }
    }

    /// Nothing may be written over the polygon's frame, but a label of its own may lie inside.
    pub fn keep_clear(&mut self, outline: &[Point], inside_allowed: bool) {
        let (xs, ys) = (outline.iter().map(|p| p.x_m), outline.iter().map(|p| -p.y_m));
        let low = |v: &mut dyn Iterator<Item = f64>| v.fold(f64::INFINITY, f64::min) * self.px_per_m;
        let high = |v: &mut dyn Iterator<Item = f64>| v.fold(f64::NEG_INFINITY, f64::max) * self.px_per_m;
        let frame = Frame {
            x0: low(&mut xs.clone()),
            y0: low(&mut ys.clone()),
            x1: high(&mut xs.clone()),
            y1: high(&mut ys.clone()),
        };
        if inside_allowed { self.bodies.push(frame) } else { self.taken.push(frame) }
    }

    fn frame(&self, text: &str, like: &Text, spot: &Spot) -> Frame {
        let width = text_width_px(text, like.size_px) * self.letters * if like.bold { 1.1 } else { 1.0 };
        let (w, h) = (width + 8.0, like.size_px * 1.5);
        let x = spot.at.x_m * self.px_per_m + spot.shift_px.0;
        let y = -spot.at.y_m * self.px_per_m + spot.shift_px.1;
        let x0 = match spot.align {
            Align::Start => x - 4.0,
            Align::Middle => x - w / 2.0,
            Align::End => x - w + 4.0,
        };
        Frame { x0, y0: y - h / 2.0, x1: x0 + w, y1: y + h / 2.0 }
    }

    /// Whether nothing lies where the text would.
    fn is_free(&self, frame: &Frame, inside: bool) -> bool {
        let free = |frames: &[Frame]| !frames.iter().any(|f| f.meets(frame));
        free(&self.taken) && (inside || free(&self.bodies))
    }

    /// The first of `wordings` that finds room in one of `spots`; its place is then taken.
    pub fn place(&mut self, wordings: &[String], like: &Text, spots: &[Spot]) -> Option<Text> {
        for text in wordings {
            for spot in spots {
                let frame = self.frame(text, like, spot);
                if frame.x1 - frame.x0 <= spot.most_px && self.is_free(&frame, spot.on.is_some()) {
                    self.taken.push(frame);
                    return Some(Text {
                        text: text.clone(),
                        at: spot.at,
                        shift_px: spot.shift_px,
                        align: spot.align,
                        ground: spot.on.map_or(like.ground, Ground::Plate),
                        ..like.clone()
                    });
                }
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn like() -> Text {
        Text {
            text: String::new(),
            at: Point::new(0.0, 0.0),
            shift_px: (0.0, 0.0),
            size_px: 10.0,
            align: Align::Middle,
            bold: false,
            tone: Tone::Ink,
            ground: Ground::None,
            upwards: false,
        }
    }

    fn spot(x: f64, inside: bool) -> Spot {
        let on = inside.then_some(Tone::Duct);
        Spot {
            at: Point::new(x, 0.0),
            shift_px: (0.0, 0.0),
            align: Align::Middle,
            on,
            most_px: f64::INFINITY,
        }
    }

    #[test]
    fn a_label_moves_on_to_a_free_place_and_then_gets_shorter() {
        let mut room = Room::new(10.0, 1.0);
        let words = ["long wording".to_owned(), "short".to_owned()];
        let first = room.place(&words, &like(), &[spot(0.0, false)]).unwrap();
        assert_eq!(first.text, "long wording");
        let second = room.place(&words, &like(), &[spot(0.0, false), spot(20.0, false)]).unwrap();
        assert_eq!(second.at.x_m, 20.0);
        // Between the two there is only room for the short one.
        let third = room.place(&words, &like(), &[spot(6.5, false)]).unwrap();
        assert_eq!(third.text, "short");
        assert!(room.place(&words, &like(), &[spot(6.5, false)]).is_none());
    }

    #[test]
    fn only_a_ducts_own_label_lies_on_it() {
        let mut room = Room::new(10.0, 1.0);
        let body = [Point::new(-9.0, -1.0), Point::new(9.0, 1.0)];
        room.keep_clear(&body, true);
        assert!(room.place(&["run".to_owned()], &like(), &[spot(0.0, false)]).is_none());
        assert!(room.place(&["run".to_owned()], &like(), &[spot(0.0, true)]).is_some());
    }
}
