//! Every law: its gradient is the derivative of its residual, and both are smooth through zero and reversal.

use engine::laws::{
    Law, Residual, Seen, doorway::Doorway, duct::DuctLaw, fan::FanCurve, junction, leakage::LeakLaw, opening,
    slot,
};

fn laws() -> Vec<(&'static str, Law)> {
    let duct = DuctLaw {
        length_m: 3.0,
        area_m2: 0.2,
        hydraulic_diameter_m: 0.44,
        roughness_m: 9e-5,
        laminar_constant: 64.0,
        k: 0.7,
    };
    let slot = |model| {
        Law::Slot(slot::SlotLaw { model, velocity: slot::Velocity::Mean, area_m2: 0.004, duct_area_m2: 0.2 })
    };
    let leg = |kind| {
        Law::JunctionLeg(junction::Leg::new(
            junction::Shape { common_area_m2: 0.2, area_ratio: 0.6, angle_deg: 60.0 },
            kind,
        ))
    };
    let curve = FanCurve::new(&[(0.0, 900.0), (0.8, 950.0), (1.6, 700.0), (2.2, 300.0)], 1.2, 0.9).unwrap();
    vec![
        ("duct", Law::Duct(duct)),
        ("k", Law::Loss { k: 1.5, area_m2: 0.2 }),
        ("power", Law::Power { c: 40.0, n: 1.8 }),
        ("orifice", Law::Orifice(opening::Orifice { coefficient: 0.61, area_m2: 0.05 })),
        (
            "doorway",
            Law::Doorway(Doorway {
                coefficient: 0.65,
                width_m: 1.0,
                sill_m: 0.5,
                height_m: 1.5,
                from_density: 0.75,
                to_density: 1.2,
            }),
        ),
        ("leak", Law::Leak(LeakLaw { conductance_m3_s: 1e-3 })),
        ("sharp slot", slot(slot::Model::CrossFlowSharp)),
        ("formed slot", slot(slot::Model::CrossFlowFormed)),
        ("free-streamline slot", slot(slot::Model::FreeStreamline)),
        ("constant slot on total", slot(slot::Model::ConstantTotal(0.61))),
        ("constant slot on static", slot(slot::Model::ConstantStatic(0.61))),
        (
            "inlet",
            Law::Inlet(opening::Inlet { coefficient: 0.61, area_m2: 0.03, header_area_m2: 0.2, theta: 2.66 }),
        ),
        ("fan", Law::Fan(curve)),
        ("straight leg", leg(junction::LegKind::Straight)),
        ("branch leg", leg(junction::LegKind::Branch)),
        ("mixing", Law::Mixing(opening::Mixing { theta: 2.0, area_m2: 0.2 })),
        ("set flow", Law::Prescribed { mass_flow_kg_s: 0.4 }),
    ]
}

/// Index of what is varied: p_from, p_to, m, m₁, m₂.
fn vary(seen: &Seen, which: usize, by: f64) -> Seen {
    let mut moved = *seen;
    match which {
        0 => moved.p_from += by,
        1 => moved.p_to += by,
        2 => moved.m += by,
        k => moved.others[k - 3] += by,
    }
    moved
}

fn gradient(r: &Residual) -> [f64; 5] {
    [r.d_p_from, r.d_p_to, r.d_m, r.d_others[0], r.d_others[1]]
}

fn states() -> Vec<Seen> {
    let mut states = Vec::new();
    for (p_from, p_to) in [(180.0, 20.0), (20.0, 180.0), (12.0, -3.0), (-4.1, 0.0)] {
        for (m, others) in [
            (0.9, [1.1, 0.6]),
            (-0.9, [-1.1, -0.6]),
            (0.02, [0.3, 0.28]),
            (0.5, [-0.8, -1.2]),
            (-0.5, [0.7, 0.2]),
            (0.003, [0.004, 0.001]),
        ] {
            states.push(Seen { p_from, p_to, m, others, density: 0.75, viscosity: 2.6e-5, coupling: 1.0 });
        }
    }
    states
}

#[test]
fn gradients_are_the_derivatives_of_the_residuals() {
    for (name, law) in laws() {
        for seen in states() {
            let exact = gradient(&law.residual(&seen));
            for (which, exact) in exact.into_iter().enumerate() {
                let h = if which < 2 { 1e-4 } else { 1e-7 };
                let (above, below) =
                    (law.residual(&vary(&seen, which, h)).g, law.residual(&vary(&seen, which, -h)).g);
                let numeric = (above - below) / (2.0 * h);
                let size = exact.abs().max(numeric.abs());
                assert!(
                    (numeric - exact).abs() <= 2e-4 * size + 1e-7,
                    "{name}, derivative {which} at {seen:?}: {exact} against {numeric}"
                );
            }
        }
    }
}

#[test]
fn residuals_and_slopes_have_no_step_at_rest_or_reversal() {
    for (name, law) in laws() {
        for seen in states() {
            // Through zero of the pressure difference, of the own flow, and of each flow it reads.
            for which in [0, 2, 3, 4] {
                let zero = match which {
                    0 => seen.p_to - seen.p_from,
                    2 => -seen.m,
                    k => -seen.others[k - 3],
                };
                let h = 1e-11;
                let (below, above) = (
                    law.residual(&vary(&seen, which, zero - h)),
                    law.residual(&vary(&seen, which, zero + h)),
                );
                assert!((below.g - above.g).abs() <= 1e-6 * (1.0 + above.g.abs()), "{name} {which} {seen:?}");
                for (one, two) in gradient(&below).into_iter().zip(gradient(&above)) {
                    assert!(one.is_finite() && two.is_finite(), "{name}");
                    assert!(
                        (one - two).abs() <= 1e-2 * (1.0 + one.abs().max(two.abs())),
                        "{name} {which} {seen:?}: {one} {two}"
                    );
                }
            }
        }
    }
}

#[test]
fn a_shut_plate_passes_nothing_at_any_pressure() {
    for law in [
        Law::Orifice(opening::Orifice { coefficient: 0.6, area_m2: 0.0 }),
        Law::Slot(slot::SlotLaw {
            model: slot::Model::CrossFlowSharp,
            velocity: slot::Velocity::Mean,
            area_m2: 0.0,
            duct_area_m2: 0.2,
        }),
    ] {
        let seen = Seen {
            p_from: 300.0,
            m: 0.0,
            density: 0.75,
            viscosity: 2.6e-5,
            coupling: 1.0,
            ..Seen::default()
        };
        let residual = law.residual(&seen);
        assert_eq!((residual.g, residual.d_m), (0.0, 1.0));
        assert!(!law.ties_pressures());
    }
}
