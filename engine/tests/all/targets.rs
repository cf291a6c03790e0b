//! What even out can aim at, on whole plans, and rows with lists of their own.

use crate::examples::with_returns as plan;
use engine::design::{EvenTarget, even_out, even_out_to};
use engine::plan::{BuildStyle, file};

#[test]
fn every_metre_of_row_gets_the_same_air() {
    for name in ["lantern-box", "fence-tunnel", "planter-ring"] {
        let mut start = plan(name);
        // What stood there before does not matter.
        start.slot_rows[0].weight = 1.4;
        start.slot_rows[1].shares = vec![0.7; start.slot_rows[1].count as usize];
        let done =
            even_out_to(&start, EvenTarget::PerMetre).unwrap_or_else(|error| panic!("{name}: {error}"));
        let e = &done.after.evenness;
        println!("{name}: worst {:.2} %, floor {:.2} %", e.worst_percent, e.rounding_floor_percent);
        let limit = f64::max(3.0, 1.3 * e.rounding_floor_percent);
        assert!(e.worst_percent <= limit, "{name} {}", e.worst_percent);
        let metres: f64 = done.plan.slot_rows.iter().map(|row| row.pitch_m * f64::from(row.count)).sum();
        let each = done.plan.required_flow_kg_s / metres;
        for slot in &done.after.slots {
            let row = slot.id.rsplit_once('/').expect("row/number").0;
            let row = done.plan.slot_rows.iter().find(|other| other.id == row).expect("its row");
            let off = 100.0 * (slot.mass_flow_kg_s / row.pitch_m / each - 1.0).abs();
            assert!(off <= limit + 0.1, "{name} {}: {off:.2} % from {each:.3} kg/(s·m)", slot.id);
        }
        // The shares stay in the plan: whichever way it is asked again, nothing changes.
        let reread = file::read(&file::write(&done.plan)).expect("opens");
        for target in [EvenTarget::PerMetre, EvenTarget::Shares] {
            assert!(even_out_to(&reread, target).expect("again").plan == done.plan, "{name} {target:?}");
        }
    }
    let mut single = plan("garden-gates");
    let row = &mut single.slot_rows[2];
    (row.count, row.pitch_m) = (1, 0.0);
    row.widths_m.truncate(1);
    let said = even_out_to(&single, EvenTarget::PerMetre).expect_err("no pitch").to_string();
    assert!(said.starts_with(&single.slot_rows[2].id) && said.contains("pitch"), "{said}");
}

#[test]
fn a_plan_without_load_has_no_heat_to_go_by() {
    let mut cold = plan("garden-gates");
    cold.load = None;
    let said = even_out_to(&cold, EvenTarget::Temperature).expect_err("no load").to_string();
    assert!(said.starts_with("load") && said.contains("enter what the oven heats"), "{said}");
}

/// A row that already has lengths, stations and shares of its own is evened out to them in every style of single slots;
/// where all slots are alike their lengths are left out, and where their number changes shares go by place.
#[test]
fn rows_with_lists_of_their_own_are_evened_out_in_each_style_of_single_slots() {
    let styles = [
        BuildStyle::SteppedWidths,
        BuildStyle::SteppedLengths,
        BuildStyle::PunchedCount,
        BuildStyle::VariedPitch,
        BuildStyle::AdjustableStrip { slot_width_m: 0.040 },
    ];
    for style in styles {
        let mut start = plan("lantern-box");
        start.shop.build = style;
        for row in &mut start.slot_rows {
            let count = row.count as usize;
            // Every second slot shorter, every third a little late, the last third with a fifth more air.
            row.lengths_m = (0..count).map(|k| row.length_m * if k % 2 == 0 { 1.0 } else { 0.9 }).collect();
            row.stations_m = (0..count)
                .map(|k| row.first_station_m + row.pitch_m * k as f64 + if k % 3 == 1 { 0.02 } else { 0.0 })
                .collect();
            row.shares = (0..count).map(|k| if 3 * k >= 2 * count { 1.2 } else { 1.0 }).collect();
        }
        let done = even_out(&start).unwrap_or_else(|error| panic!("{style:?}: {error}"));
        let e = &done.after.evenness;
        println!("{style:?}: worst {:.2} %, floor {:.2} %", e.worst_percent, e.rounding_floor_percent);
        assert!(e.worst_percent <= f64::max(3.0, 1.3 * e.rounding_floor_percent), "{style:?}");
        for (row, old) in done.plan.slot_rows.iter().zip(&start.slot_rows) {
            if style == BuildStyle::PunchedCount {
                let sum = |row: &engine::plan::SlotRow| row.weight * row.shares.iter().sum::<f64>();
                assert!((sum(row) / sum(old) - 1.0).abs() < 1e-9, "{}: its air has changed", row.id);
                let last = |row: &engine::plan::SlotRow| (row.shares[0], row.shares[row.shares.len() - 1]);
                assert_eq!((row.shares.len(), last(row)), (row.count as usize, last(old)));
            } else {
                assert_eq!(row.shares, old.shares);
            }
            let kept = !matches!(style, BuildStyle::VariedPitch | BuildStyle::PunchedCount);
            assert!(!kept || row.stations_m == old.stations_m, "{style:?}: stations are not its to change");
            let first = |k: usize| {
                let slot = done.after.slots.iter().find(|slot| slot.id == row.slot_id(k)).expect("is there");
                slot.mass_flow_kg_s / row.slot_weight(k)
            };
            let (low, high) = (0..row.count as usize)
                .map(first)
                .fold((f64::INFINITY, 0.0_f64), |(low, high), x| (low.min(x), high.max(x)));
            assert!(high / low - 1.0 <= 0.07, "{style:?} {}: {}", row.id, high / low);
        }
        let reread = file::read(&file::write(&done.plan)).expect("opens");
        assert!(
            even_out(&reread).expect("again").plan == done.plan,
            "{style:?}: a second run changes something"
        );
    }
}
