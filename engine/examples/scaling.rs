//! How the cost of a solve grows: trees with a few rings of 1,000 to 100,000 branches, JSON out.
use engine::network::door::{self, Case, CaseBranch, CaseLaw, CaseNode, CaseSlotModel, CaseVelocity, Fluid};
use engine::network::{Settings, solve};
use serde_json::json;
use std::time::Instant;

const SIZES: [usize; 5] = [1_000, 3_000, 10_000, 30_000, 100_000];
const SLOTS_A_RUN: usize = 40;

fn main() {
    let mut rows = Vec::new();
    for size in SIZES {
        let network = door::build(&tree_with_rings(size)).expect("the case is well posed");
        let branches = network.branches().len();
        // The best of three: what the solve costs when nothing else disturbs it.
        let mut best = f64::INFINITY;
        let mut iterations = 0;
        for _ in 0..3 {
            let start = Instant::now();
            let solution = solve(&network, &Settings::default());
            best = best.min(start.elapsed().as_secs_f64());
            assert!(solution.converged(), "{size}: {}", solution.worst);
            iterations = solution.iterations;
        }
        rows.push((branches as f64, best, iterations));
    }
    let logs: Vec<(f64, f64)> = rows.iter().map(|(n, t, _)| (libm::log(*n), libm::log(*t))).collect();
    let mean = |f: &dyn Fn(&(f64, f64)) -> f64| logs.iter().map(f).sum::<f64>() / logs.len() as f64;
    let (x, y) = (mean(&|p| p.0), mean(&|p| p.1));
    let exponent = mean(&|p| (p.0 - x) * (p.1 - y)) / mean(&|p| (p.0 - x) * (p.0 - x));
    let sizes: Vec<_> = rows
        .iter()
        .map(|(n, seconds, iterations)| {
            json!({"branches": n, "seconds": seconds, "microseconds_per_branch": 1e6 * seconds / n, "iterations": iterations})
        })
        .collect();
    println!(
        "{}",
        serde_json::to_string_pretty(&json!({"sizes": sizes, "exponent": exponent})).expect("JSON")
    );
}

/// A fan, a trunk with runs of slots, and a ring duct between the ends of every tenth pair of runs.
fn tree_with_rings(branches: usize) -> Case {
    let runs = (branches / (2 * SLOTS_A_RUN + 1)).max(1);
    let scale = runs as f64;
    let node = |id: String, total_pressure_pa| CaseNode { id, total_pressure_pa, inflow_kg_s: None };
    let branch = |id: String, from: &str, to: &str, law| CaseBranch {
        id,
        from: from.into(),
        to: to.into(),
        density_kg_m3: None,
        viscosity_pa_s: None,
        law,
    };
    let duct = |length_m, width_m| CaseLaw::Duct {
        length_m,
        diameter_m: None,
        width_m: Some(width_m),
        height_m: Some(0.35),
        roughness_m: 9e-5,
        k: None,
    };
    let points = vec![(0.0, 900.0), (0.6 * scale, 850.0), (1.4 * scale, 650.0), (2.4 * scale, 100.0)];
    let mut nodes = vec![node("room".into(), Some(0.0)), node("box".into(), None)];
    let mut all = vec![branch(
        "fan".into(),
        "room",
        "box",
        CaseLaw::Fan { points, points_density_kg_m3: 1.2, speed_ratio: 1.0 },
    )];
    let mut trunk = "box".to_owned();
    for r in 0..runs {
        let tee = format!("tee{r}");
        nodes.push(node(tee.clone(), None));
        all.push(branch(format!("trunk{r}"), &trunk, &tee, duct(1.0, 0.6 * scale)));
        let mut at = tee.clone();
        for s in 0..SLOTS_A_RUN {
            let here = format!("r{r}s{s}");
            nodes.push(node(here.clone(), None));
            all.push(branch(format!("duct-{here}"), &at, &here, duct(0.3, 0.6)));
            let law = CaseLaw::Slot {
                model: CaseSlotModel::CrossFlowSharp,
                cd: None,
                area_m2: 0.0025,
                duct_area_m2: 0.21,
                upstream: format!("duct-{here}"),
                downstream: (s + 1 < SLOTS_A_RUN).then(|| format!("duct-r{r}s{}", s + 1)),
                velocity: CaseVelocity::Mean,
            };
            all.push(branch(format!("slot-{here}"), &here, "room", law));
            at = here;
        }
        if r % 20 == 19 {
            all.push(branch(
                format!("ring{r}"),
                &at,
                &format!("r{}s{}", r - 1, SLOTS_A_RUN - 1),
                duct(2.0, 0.6),
            ));
        }
        trunk = tee;
    }
    Case { fluid: Fluid { density_kg_m3: 0.746, viscosity_pa_s: 2.6e-5 }, nodes, branches: all }
}
