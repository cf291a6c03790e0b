//! Large vertical openings between air of two temperatures: both ways at once, with a neutral level.

use super::{Residual, Seen};

/// Acceleration of gravity, m/s².
pub const GRAVITY_M_S2: f64 = 9.806_65;
/// Least difference of pressure over the height, Pa: what the stir of the air amounts to, 0.13 m/s (common practice, no
/// published source).
///
/// Between air of one density the law would be a bare square root. Around a net flow of zero Newton's method then runs in
/// a ring, from x to −x, and a cold start at one temperature does not close.
const STIRRED_PA: f64 = 0.01;

/// A vertical opening; from and to are the pressures of the two sides at floor level.
///
/// Δp(z) = Δp₀ + B·z, B = g(ρ_to − ρ_from), z above the floor; speed √(2|Δp|/ρ of the source). With
/// F(x) = max(x, 0)^1.5 and a, b the values of Δp at sill and lintel, out = C·W·√(2ρ_from)·(2/3B)·[F(b) − F(a)]
/// and in = C·W·√(2ρ_to)·(2/3B)·[F(−a) − F(−b)]; ṁ = out − in. Smooth in Δp₀. Source: the compartment-vent
/// form of Kawagoe 1958 and Rockett 1976; its small-difference limit is Brown & Solvason 1962, eq. 6. B·H is at least 0.01 Pa:
/// air of one density on both sides still mixes, and the law stays smooth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doorway {
    /// Discharge coefficient, 0.60…0.78; 0.65 usual.
    pub coefficient: f64,
    /// Clear width, m.
    pub width_m: f64,
    /// Lower edge above the floor, m.
    pub sill_m: f64,
    /// Clear height, m.
    pub height_m: f64,
    /// Density on the first side, kg/m³.
    pub from_density: f64,
    /// Density on the second side, kg/m³.
    pub to_density: f64,
}

/// What passes a doorway.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Exchange {
    /// From the first side to the second, kg/s.
    pub out_kg_s: f64,
    /// From the second side to the first, kg/s.
    pub in_kg_s: f64,
    /// d(out − in)/dΔp₀.
    pub slope: f64,
    /// Height above the floor where both pressures are equal, m, when within the opening.
    pub neutral_m: Option<f64>,
}

impl Doorway {
    /// Exchange at a pressure difference at floor level.
    ///
    /// ```
    /// use engine::laws::doorway::Doorway;
    /// // 1.5 × 2 m, 200 against 20 °C, balanced: 1.888 kg/s each way, neutral at 46 % of the height.
    /// let door = Doorway { coefficient: 0.65, width_m: 1.5, sill_m: 0.0, height_m: 2.0,
    ///                      from_density: 0.74581, to_density: 1.20458 };
    /// let exchange = door.exchange(-4.141);
    /// assert!((exchange.out_kg_s - 1.888).abs() < 0.01 && (exchange.in_kg_s - 1.888).abs() < 0.01);
    /// assert!((exchange.neutral_m.unwrap() - 0.92).abs() < 0.01);
    /// ```
    pub fn exchange(&self, dp_floor_pa: f64) -> Exchange {
        let b = GRAVITY_M_S2 * (self.to_density - self.from_density);
        let middle = dp_floor_pa + b * (self.sill_m + 0.5 * self.height_m);
        let is_still = (b * self.height_m).abs() < STIRRED_PA;
        let (b, low, high) = if is_still {
            (STIRRED_PA / self.height_m, middle - 0.5 * STIRRED_PA, middle + 0.5 * STIRRED_PA)
        } else {
            (b, dp_floor_pa + b * self.sill_m, dp_floor_pa + b * (self.sill_m + self.height_m))
        };
        let root = |x: f64| x.max(0.0).sqrt();
        let area = |x: f64| 2.0 / 3.0 * x.max(0.0) * root(x);
        let scale = self.coefficient * self.width_m / b;
        let (out, back) = (scale * (2.0 * self.from_density).sqrt(), scale * (2.0 * self.to_density).sqrt());
        let neutral = -dp_floor_pa / b;
        Exchange {
            out_kg_s: out * (area(high) - area(low)),
            in_kg_s: back * (area(-low) - area(-high)),
            slope: out * (root(high) - root(low)) + back * (root(-low) - root(-high)),
            neutral_m: (!is_still && (self.sill_m..=self.sill_m + self.height_m).contains(&neutral))
                .then_some(neutral),
        }
    }

    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let exchange = self.exchange(seen.p_from - seen.p_to);
        Residual::flow_form(seen, exchange.out_kg_s - exchange.in_kg_s, exchange.slope)
    }
}

/// Outlet velocity of an air curtain that just holds an opening of height `height_m`, m/s.
///
/// u₀ = √(Dm·g·H²·Δρ/(ρ₀·b₀)), Dm the deflection modulus (Hayes & Stoecker 1969; least values 0.12…0.2
/// for H/b₀ 10…40, times a safety factor 1.3…2; numbers from memory), b₀ the nozzle's width, m, ρ₀ the
/// density of the jet. Curtains are tuned on site: effectiveness of 0.4 to 0.8 has been measured.
///
/// ```
/// let u = engine::laws::doorway::curtain_velocity_m_s(0.2, 2.0, 0.05, 1.20458, 1.20458 - 0.74581);
/// assert!((u - 7.73).abs() < 0.01);
/// ```
pub fn curtain_velocity_m_s(
    modulus: f64,
    height_m: f64,
    nozzle_m: f64,
    jet_density: f64,
    density_step: f64,
) -> f64 {
    (modulus * GRAVITY_M_S2 * height_m * height_m * density_step / (jet_density * nozzle_m)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    const DOOR: Doorway = Doorway {
        coefficient: 0.65,
        width_m: 1.5,
        sill_m: 0.0,
        height_m: 2.0,
        from_density: 0.745_81,
        to_density: 1.204_58,
    };

    #[test]
    fn turned_round_it_gives_the_same_flows() {
        let turned = Doorway { from_density: DOOR.to_density, to_density: DOOR.from_density, ..DOOR };
        for dp in [-12.0, -8.0, -4.0, -1.0, 0.0, 3.0] {
            let (one, other) = (DOOR.exchange(dp), turned.exchange(-dp));
            assert!(
                (one.out_kg_s - other.in_kg_s).abs() < 1e-12 && (one.in_kg_s - other.out_kg_s).abs() < 1e-12
            );
        }
    }

    #[test]
    fn slope_is_the_derivative_and_equal_air_is_nearly_an_orifice() {
        for dp in [-12.0, -8.9, -4.0, -0.1, 3.0] {
            let h = 1e-6;
            let net = |dp: f64| DOOR.exchange(dp).out_kg_s - DOOR.exchange(dp).in_kg_s;
            let numeric = (net(dp + h) - net(dp - h)) / (2.0 * h);
            assert!((numeric / DOOR.exchange(dp).slope - 1.0).abs() < 1e-4, "{dp}");
        }
        let even = Doorway { to_density: DOOR.from_density, ..DOOR };
        let expected = 0.65 * 3.0 * (2.0 * DOOR.from_density * 5.0_f64).sqrt();
        assert!((even.exchange(5.0).out_kg_s / expected - 1.0).abs() < 1e-6);
        // At rest it mixes a little both ways, alike.
        let rest = even.exchange(0.0);
        assert!(rest.out_kg_s > 0.0 && (rest.out_kg_s - rest.in_kg_s).abs() < 1e-12 && rest.slope < 50.0);
    }
}
