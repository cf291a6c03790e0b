//! The page gives the same bits as the engine run natively.

use std::fs;

use tests::browser::Visit;
use tests::golden::in_repository;

use crate::planner::{Planner, example_text};

#[test]
fn the_page_gives_the_bits_on_record() {
    Visit::to_dist().run("bits", async |page| {
        let planner = Planner::up(page).await;
        let record = fs::read_to_string(in_repository("tests/plans/fingerprints.txt")).unwrap();
        let mut count = 0;
        for line in record.lines() {
            let [name, before, after] = line.split(' ').collect::<Vec<_>>()[..] else {
                panic!("{line:?} is not a name and two fingerprints")
            };
            planner.open(name, &example_text(name)).await;
            assert_eq!(planner.fingerprint().await, before, "{name} as it is");
            planner.compute("set-returns", "Set returns").await;
            planner.compute("even-out", "Even out").await;
            assert_eq!(planner.fingerprint().await, after, "{name} evened out");
            count += 1;
        }
        assert_eq!(count, 6);
    });
}
