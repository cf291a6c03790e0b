//! Air speed at the parts on the board: one hue, the stronger the faster, with its range in words.

use super::ask::What;
use super::sheet::Sheet;
use crate::board::scene::{Fill, Form, Shape, Tone};
use crate::session::Session;
use engine::coverage::Grid;
use engine::plan::Point;
use engine::units::{Kind, UnitSystem, show};
use std::rc::Rc;

/// Steps of the colour.
const STEPS: f32 = 12.0;
/// The strongest colour lets the drawing show through.
const STRONGEST: f32 = 0.6;

/// The answer to be shown: only of the plan as it stands.
fn shown(session: &Session) -> Option<&Rc<Sheet>> {
    let studies = &session.studies;
    studies.answer(What::Coverage).filter(|_| studies.on_board)?.sheet_of(&session.plan)
}

fn fastest(grid: &Grid) -> f32 {
    grid.speeds_m_s.iter().flatten().fold(0.0, |most, speed| most.max(*speed))
}

/// The map in shapes that nobody can pick; nothing while it is not wanted or out of date.
pub fn shapes(session: &Session) -> Vec<Shape> {
    let Some(grid) = shown(session).and_then(|sheet| sheet.map.as_ref()) else { return Vec::new() };
    cells(grid)
}

/// Neighbours of one colour in a row are one rectangle.
pub fn cells(grid: &Grid) -> Vec<Shape> {
    let most = fastest(grid).max(1e-6);
    let step = |speed: &Option<f32>| speed.map_or(0, |speed| (STEPS * speed / most).ceil() as u8);
    let mut shapes = Vec::new();
    for (j, row) in grid.speeds_m_s.chunks(grid.columns.max(1)).enumerate() {
        let y = grid.y_m + (j as f64 - 0.5) * grid.cell_m;
        let mut at = 0;
        for same in row.chunk_by(|a, b| step(a) == step(b)) {
            let x = |cells: usize| grid.x_m + (cells as f64 - 0.5) * grid.cell_m;
            let (from, to) = (x(at), x(at + same.len()));
            at += same.len();
            let level = step(&same[0]);
            if level > 0 {
                let corner = |x_m, y_m| Point::new(x_m, y_m);
                let top = y + grid.cell_m;
                shapes.push(Shape {
                    item: None,
                    form: Form::Polygon(vec![
                        corner(from, y),
                        corner(to, y),
                        corner(to, top),
                        corner(from, top),
                    ]),
                    fill: Some(Fill::Solid(Tone::Accent, STRONGEST * f32::from(level) / STEPS)),
                    stroke: None,
                    backdrop: true,
                });
            }
        }
    }
    shapes
}

/// What the colours say, while the map is on the board.
pub fn legend(session: &Session) -> Option<String> {
    if !session.studies.on_board {
        return None;
    }
    let Some(grid) = shown(session).and_then(|sheet| sheet.map.as_ref()) else {
        let known = session.studies.answer(What::Coverage).is_some();
        let stale = "Air at the parts: out of date, not shown; ask again under Answers";
        return known.then(|| stale.to_owned());
    };
    Some(format!("Air at the parts: {}", full_colour(grid, session.view.units)))
}

/// What the colour means.
pub fn full_colour(grid: &Grid, units: UnitSystem) -> String {
    let most = show(f64::from(fastest(grid)), Kind::Velocity, units);
    format!("clear is still, full colour {most}; computed, not measured")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_of_one_colour_are_joined_and_what_is_outside_stays_clear() {
        let grid = Grid {
            x_m: 0.5,
            y_m: 0.5,
            cell_m: 1.0,
            columns: 3,
            speeds_m_s: vec![Some(1.0), Some(1.0), None, Some(0.0), Some(0.5), Some(1.0)],
        };
        let found = cells(&grid);
        assert_eq!(found.len(), 3);
        let Form::Polygon(first) = &found[0].form else { panic!("a rectangle") };
        assert_eq!((first[0], first[2]), (Point::new(0.0, 0.0), Point::new(2.0, 1.0)));
        assert_eq!(found[2].fill, Some(Fill::Solid(Tone::Accent, STRONGEST)));
    }
}
