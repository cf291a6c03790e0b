//! Properties of the network solve, through the second JSON door.

use engine::network::door::{self, Case, CaseBranch, CaseLaw, CaseNode, CaseSlotModel, CaseVelocity, Fluid};
use engine::network::{Network, Solution};

const AIR: Fluid = Fluid { density_kg_m3: 0.746, viscosity_pa_s: 2.6e-5 };

/// Seeded numbers for test networks (Marsaglia's xorshift): tests must repeat.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
    fn below(&mut self, n: usize) -> usize {
        ((self.next() * n as f64) as usize).min(n - 1)
    }
}

fn node(id: &str, total_pressure_pa: Option<f64>) -> CaseNode {
    CaseNode { id: id.into(), total_pressure_pa, inflow_kg_s: None }
}

fn branch(id: &str, from: &str, to: &str, law: CaseLaw) -> CaseBranch {
    CaseBranch {
        id: id.into(),
        from: from.into(),
        to: to.into(),
        density_kg_m3: None,
        viscosity_pa_s: None,
        law,
    }
}

fn duct(length_m: f64, width_m: f64, height_m: f64) -> CaseLaw {
    CaseLaw::Duct {
        length_m,
        diameter_m: None,
        width_m: Some(width_m),
        height_m: Some(height_m),
        roughness_m: 9e-5,
        k: None,
    }
}

fn fan(scale: f64, speed_ratio: f64) -> CaseLaw {
    let points =
        [(0.0, 900.0), (0.4, 950.0), (1.0, 700.0), (1.6, 250.0)].map(|(q, p)| (q * scale, p)).to_vec();
    CaseLaw::Fan { points, points_density_kg_m3: 1.2, speed_ratio }
}

fn slot(model: CaseSlotModel, area_m2: f64, upstream: &str, downstream: Option<&str>) -> CaseLaw {
    CaseLaw::Slot {
        model,
        cd: Some(0.62),
        area_m2,
        duct_area_m2: 0.2,
        upstream: upstream.into(),
        downstream: downstream.map(Into::into),
        velocity: CaseVelocity::Mean,
    }
}

fn solve(case: &Case) -> (Network, Solution) {
    let (network, solution) = door::solve(case).expect("a well-posed case");
    assert!(solution.converged(), "{} {}", solution.worst, solution.pressure_residual_pa);
    (network, solution)
}

fn flow(network: &Network, solution: &Solution, id: &str) -> f64 {
    let i = network.branches().iter().position(|branch| branch.id == id).expect("the branch is there");
    solution.flows_kg_s[i]
}

/// A fan, a trunk, runs with slots that reach into a room, and a return to the fan.
fn oven(runs: usize, slots: usize, constant: bool) -> Case {
    let mut nodes = vec![node("room", Some(0.0)), node("intake", None), node("box", None)];
    let mut branches = vec![
        branch("return", "room", "intake", CaseLaw::K { k: 2.0, area_m2: 0.5 }),
        branch("fan", "intake", "box", fan(0.5 * runs as f64, 1.0)),
    ];
    let plain = |length: f64| {
        if constant { CaseLaw::K { k: 0.03 * length, area_m2: 0.2 } } else { duct(length, 0.5, 0.4) }
    };
    let model = if constant { CaseSlotModel::ConstantTotal } else { CaseSlotModel::CrossFlowSharp };
    let mut trunk = "box".to_owned();
    for r in 0..runs {
        let tee = format!("tee{r}");
        nodes.push(node(&tee, None));
        branches.push(branch(&format!("trunk{r}"), &trunk, &tee, plain(1.5)));
        let mut at = tee.clone();
        for s in 0..slots {
            let here = format!("r{r}s{s}");
            nodes.push(node(&here, None));
            branches.push(branch(&format!("duct-{here}"), &at, &here, plain(0.5)));
            let after = (s + 1 < slots).then(|| format!("duct-r{r}s{}", s + 1));
            branches.push(branch(
                &format!("slot-{here}"),
                &here,
                "room",
                slot(model, 0.004, &format!("duct-{here}"), after.as_deref()),
            ));
            at = here;
        }
        trunk = tee;
    }
    Case { fluid: AIR, nodes, branches }
}

#[test]
fn mass_closes_and_losses_take_up_the_fan_s_air_power() {
    let (network, solution) = solve(&oven(4, 10, false));
    let mut balance = vec![0.0; network.nodes().len()];
    let mut lost = 0.0;
    let mut given = 0.0;
    for (branch, flow) in network.branches().iter().zip(&solution.flows_kg_s) {
        balance[branch.from] -= flow;
        balance[branch.to] += flow;
        let drop = solution.pressures_pa[branch.from] - solution.pressures_pa[branch.to];
        let power = drop * flow / branch.density_kg_m3;
        if branch.id == "fan" { given -= power } else { lost += power }
    }
    // Every branch has the room's density, so power closes without a density step.
    assert!((lost / given - 1.0).abs() < 1e-9, "{lost} {given}");
    for imbalance in balance {
        assert!(imbalance.abs() < 1e-12);
    }
}

#[test]
fn fan_laws_hold_on_constant_coefficients_and_nearly_with_friction() {
    let at_speed = |constant: bool, ratio: f64| {
        let mut case = oven(3, 8, constant);
        case.branches[1].law = fan(1.5, ratio);
        let (network, solution) = solve(&case);
        flow(&network, &solution, "fan")
    };
    let exact = at_speed(true, 0.7) / at_speed(true, 1.0);
    assert!((exact / 0.7 - 1.0).abs() < 1e-9, "{exact}");
    let real = at_speed(false, 0.7) / at_speed(false, 1.0);
    println!(
        "with Reynolds-dependent friction flow follows speed within {:.3} %",
        100.0 * (real / 0.7 - 1.0).abs()
    );
    assert!((real / 0.7 - 1.0).abs() < 0.01);
}

#[test]
fn density_changes_no_volume_flow_on_constant_coefficients() {
    let at_density = |density: f64| {
        let case = Case { fluid: Fluid { density_kg_m3: density, ..AIR }, ..oven(3, 8, true) };
        let (network, solution) = solve(&case);
        flow(&network, &solution, "slot-r2s7") / density
    };
    assert!((at_density(0.6) / at_density(1.2) - 1.0).abs() < 1e-9);
}

#[test]
fn splitting_a_plain_duct_changes_nothing() {
    let whole = oven(2, 6, false);
    let mut split = whole.clone();
    split.nodes.push(node("half", None));
    let i = split.branches.iter().position(|b| b.id == "trunk1").unwrap();
    split.branches[i].law = duct(0.6, 0.5, 0.4);
    let end = std::mem::replace(&mut split.branches[i].to, "half".into());
    split.branches.push(branch("second-half", "half", &end, duct(0.9, 0.5, 0.4)));
    let ((n1, s1), (n2, s2)) = (solve(&whole), solve(&split));
    for b in n1.branches() {
        let (one, two) = (flow(&n1, &s1, &b.id), flow(&n2, &s2, &b.id));
        assert!((one - two).abs() < 1e-11, "{} {one} {two}", b.id);
    }
}

#[test]
fn order_of_items_changes_nothing() {
    let case = oven(3, 6, false);
    let mut shuffled = case.clone();
    shuffled.nodes.reverse();
    shuffled.branches.reverse();
    shuffled.branches.rotate_left(7);
    let ((n1, s1), (n2, s2)) = (solve(&case), solve(&shuffled));
    for b in n1.branches() {
        let (one, two) = (flow(&n1, &s1, &b.id), flow(&n2, &s2, &b.id));
        assert!((one - two).abs() < 1e-11, "{} {one} {two}", b.id);
    }
}

#[test]
fn shut_dampers_dead_ends_and_isolated_pieces_are_reported_not_crashed_on() {
    let mut case = oven(2, 4, false);
    for id in ["behind", "beyond", "island-a", "island-b", "stub"] {
        case.nodes.push(node(id, None));
    }
    case.branches.push(branch(
        "shut",
        "box",
        "behind",
        CaseLaw::Damper { cd: 0.6, area_m2: 0.1, free_fraction: 0.0 },
    ));
    case.branches.push(branch("after-shut", "behind", "beyond", duct(2.0, 0.3, 0.3)));
    case.branches.push(branch("island", "island-a", "island-b", duct(2.0, 0.3, 0.3)));
    case.branches.push(branch("dead-end", "box", "stub", duct(2.0, 0.3, 0.3)));
    let (network, solution) = solve(&case);
    for id in ["shut", "after-shut", "island", "dead-end"] {
        assert!(flow(&network, &solution, id).abs() < 1e-12, "{id}");
    }
    assert_eq!(network.floating(), ["behind", "island-a"]);
}

#[test]
fn opening_a_damper_never_lowers_its_own_flow() {
    let at_opening = |free_fraction: f64| {
        let mut case = oven(2, 5, false);
        case.branches.push(branch(
            "relief",
            "tee1",
            "room",
            CaseLaw::Damper { cd: 0.6, area_m2: 0.05, free_fraction },
        ));
        let (network, solution) = solve(&case);
        flow(&network, &solution, "relief")
    };
    let mut last = -1.0;
    for k in 0..=20 {
        let now = at_opening(f64::from(k) / 20.0);
        assert!(now > last || (k == 0 && now == 0.0), "{k}: {now} after {last}");
        last = now;
    }
}

#[test]
fn a_closed_loop_without_a_level_is_solved_against_one_of_its_own_nodes() {
    let mut case = oven(1, 3, false);
    case.nodes[0].total_pressure_pa = None;
    let (network, solution) = solve(&case);
    assert_eq!(network.floating(), ["room"]);
    assert!(flow(&network, &solution, "fan") > 0.1);
    case.nodes[2].inflow_kg_s = Some(0.2);
    let error = door::solve(&case).unwrap_err().to_string();
    assert!(error.contains("room") && error.contains("opening to outside"), "{error}");
}

/// A random well-posed network: one or two fans, ducts, slots and plates, some rings.
fn random_case(seed: u64) -> Case {
    let mut numbers = Numbers(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..8 {
        numbers.next();
    }
    let inner = 3 + numbers.below(25);
    let mut nodes = vec![node("out", Some(0.0))];
    nodes.extend((0..inner).map(|i| node(&format!("n{i}"), None)));
    let mut branches =
        vec![branch("fan0", "out", "n0", fan(numbers.between(0.5, 8.0), numbers.between(0.5, 1.2)))];
    for i in 1..inner {
        // A tree first, so that every node is reached.
        let parent = numbers.below(i);
        let law = match numbers.below(10) {
            0..=5 => duct(numbers.between(0.2, 12.0), numbers.between(0.2, 0.8), numbers.between(0.2, 0.6)),
            6 => CaseLaw::K { k: numbers.between(0.0, 5.0), area_m2: numbers.between(0.05, 0.5) },
            7 => CaseLaw::Damper { cd: 0.61, area_m2: 0.2, free_fraction: numbers.between(0.05, 1.0) },
            8 => CaseLaw::Orifice { cd: 0.62, area_m2: numbers.between(0.005, 0.2) },
            _ => CaseLaw::Power { c: numbers.between(5.0, 400.0), n: numbers.between(1.2, 2.0) },
        };
        branches.push(branch(&format!("b{i}"), &format!("n{parent}"), &format!("n{i}"), law));
    }
    for ring in 0..numbers.below(4) {
        let (a, b) = (numbers.below(inner), numbers.below(inner));
        if a != b {
            let law = duct(numbers.between(0.5, 10.0), 0.4, 0.3);
            branches.push(branch(&format!("ring{ring}"), &format!("n{a}"), &format!("n{b}"), law));
        }
    }
    for i in 1..inner {
        let upstream =
            branches.iter().find(|b| b.to == format!("n{i}") && matches!(b.law, CaseLaw::Duct { .. }));
        let downstream =
            branches.iter().find(|b| b.from == format!("n{i}") && matches!(b.law, CaseLaw::Duct { .. }));
        let model = [
            CaseSlotModel::CrossFlowSharp,
            CaseSlotModel::CrossFlowFormed,
            CaseSlotModel::FreeStreamline,
            CaseSlotModel::ConstantTotal,
            CaseSlotModel::ConstantStatic,
        ][numbers.below(5)];
        let law = match upstream {
            Some(up) => slot(model, numbers.between(0.001, 0.06), &up.id, downstream.map(|b| b.id.as_str())),
            None => CaseLaw::Orifice { cd: 0.61, area_m2: numbers.between(0.001, 0.05) },
        };
        branches.push(branch(&format!("s{i}"), &format!("n{i}"), "out", law));
    }
    if numbers.below(4) == 0 {
        let at = numbers.below(inner);
        branches.push(branch(
            "fan1",
            "out",
            &format!("n{at}"),
            fan(numbers.between(0.5, 4.0), numbers.between(0.6, 1.1)),
        ));
    }
    Case { fluid: AIR, nodes, branches }
}

#[test]
fn almost_every_well_posed_random_network_converges() {
    const CASES: u64 = 2_000;
    let mut failed = Vec::new();
    let mut steps = 0;
    for seed in 0..CASES {
        let (_, solution) = door::solve(&random_case(seed)).expect("well posed");
        steps += solution.iterations;
        if !solution.converged() {
            failed.push(format!(
                "{seed}: {:?} at {} ({:.1e} Pa, mass {:.1e})",
                solution.status, solution.worst, solution.pressure_residual_pa, solution.mass_residual
            ));
        }
    }
    let share = 100.0 * (1.0 - failed.len() as f64 / CASES as f64);
    println!("{share:.2} % of {CASES} converged, {:.1} steps each", steps as f64 / CASES as f64);
    failed.iter().for_each(|line| println!("  {line}"));
    assert!(share >= 99.5, "{share} %");
}

#[test]
fn bad_cases_name_the_item_and_the_remedy() {
    let case = serde_json::to_value(oven(1, 2, false)).unwrap();
    let broken = |change: &dyn Fn(&mut serde_json::Value)| {
        let mut copy = case.clone();
        change(&mut copy);
        match door::read(&copy.to_string()).and_then(|case| door::solve(&case)) {
            Ok(_) => panic!("accepted"),
            Err(error) => error.to_string(),
        }
    };
    type Change<'a> = &'a dyn Fn(&mut serde_json::Value);
    let cases: [(Change, [&str; 2]); 6] = [
        (&|c| c["branches"][2]["law"]["width_m"] = (-1).into(), ["trunk0", "above 0"]),
        (&|c| c["branches"][2]["to"] = "nowhere".into(), ["trunk0", "nowhere"]),
        (&|c| c["branches"][2]["law"]["colour"] = "red".into(), ["branches[2].law", "colour"]),
        (&|c| c["nodes"][1]["id"] = "room".into(), ["room", "rename"]),
        (&|c| c["branches"][1]["law"]["points"] = serde_json::json!([[0, 1]]), ["fan", "two or more"]),
        (&|c| c["fluid"] = serde_json::json!({"density_kg_m3": 1}), ["fluid", "viscosity_pa_s"]),
    ];
    for (change, words) in cases {
        let message = broken(change);
        assert!(words.iter().all(|word| message.contains(word)), "{message}");
    }
    assert!(door::read("{").unwrap_err().to_string().contains("JSON"));
}

#[test]
fn zones_of_the_same_temperature_are_solved() {
    let text = std::fs::read_to_string("../tests/plans/garden-gates.evenrise.json").expect("is there");
    let mut plan = engine::plan::file::read(&text).expect("can be read");
    plan.load = None;
    for apart_k in [0.0, 1e-9, 1e-4, 0.004, 0.01, 0.1, 1.0] {
        plan.zones[0].set_temperature_c = plan.zones[1].set_temperature_c - apart_k;
        let built = engine::network::from_plan::build(&plan).expect("builds");
        let solution = engine::network::solve(&built.network, &engine::network::Settings::default());
        assert!(solution.converged(), "{apart_k} K apart: {:?}", solution.status);
    }
}
