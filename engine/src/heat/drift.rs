//! How air spreads between the bays of a zone.

use super::bays::{Bays, Face};
use super::frame::{Link, Place};

/// Air that passes each face from its first bay to its second so that every bay's air balances, kg/s.
///
/// Of all flows that do, those with the least ∑ṁ²·L/A are taken: ṁ = (A/L)·(φ_a − φ_b), as air spreads where
/// nothing but width resists it. The surplus of a bay is what its slots, leaks, openings and wet parts bring less what
/// returns, openings and exhaust take.
pub fn drift(bays: &Bays, links: &[Link], vapour_kg_s: &[f64]) -> Vec<f64> {
    let n = bays.bays.len();
    let mut surplus = vapour_kg_s.to_vec();
    for link in links {
        if let Place::Bay(bay) = link.to {
            surplus[bay] += link.kg_s;
        }
        if let Place::Bay(bay) = link.from {
            surplus[bay] -= link.kg_s;
        }
    }
    let mut matrix = vec![0.0; n * n];
    for face in &bays.faces {
        let ease = face.width_m / face.distance_m;
        matrix[face.a * n + face.a] += ease;
        matrix[face.b * n + face.b] += ease;
        matrix[face.a * n + face.b] -= ease;
        matrix[face.b * n + face.a] -= ease;
    }
    // Zones are each in balance: one bay of each stands for the level of its zone.
    for bay in 0..n {
        if bay == 0 || bays.bays[bay].zone != bays.bays[bay - 1].zone {
            for k in 0..n {
                matrix[bay * n + k] = 0.0;
            }
            matrix[bay * n + bay] = 1.0;
            surplus[bay] = 0.0;
        }
    }
    let level = &mut [surplus];
    eliminate(&mut matrix, level);
    let ease = |face: &Face| face.width_m / face.distance_m;
    bays.faces.iter().map(|face| ease(face) * (level[0][face.a] - level[0][face.b])).collect()
}

/// Solves a row-major system for each right side in place, by elimination without exchange of rows: bay
/// balances are diagonally dominant.
pub fn eliminate(matrix: &mut [f64], right: &mut [Vec<f64>]) {
    let n = right.first().map_or(0, Vec::len);
    for k in 0..n {
        for i in k + 1..n {
            let factor = matrix[i * n + k] / matrix[k * n + k];
            if factor == 0.0 {
                continue;
            }
            for j in k..n {
                matrix[i * n + j] -= factor * matrix[k * n + j];
            }
            for side in right.iter_mut() {
                side[i] -= factor * side[k];
            }
        }
    }
    for side in right.iter_mut() {
        for k in (0..n).rev() {
            let known: f64 = (k + 1..n).map(|j| matrix[k * n + j] * side[j]).sum();
            side[k] = (side[k] - known) / matrix[k * n + k];
        }
    }
}
