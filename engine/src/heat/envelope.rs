//! Walls and roof: what a panel loses, how hot its skin and its joints get, and what a hand bears.

use super::bisect;
use super::convection::radiation_w_m2k;
use super::part::metal;
use crate::numerics::{ln, pow};
use crate::plan::{Joints, PanelBasis, PanelBuildUp};

/// Heat transfer coefficient inside an oven, W/(m²·K): moving air and radiation together (common practice).
pub const INSIDE_COEFFICIENT_W_M2K: f64 = 15.0;

/// Conductivity of stone wool of 80…100 kg/m³.
///
/// k = 0.0357 + 5.9·10⁻⁵·θ + 4.1·10⁻⁷·θ², W/(m·K), θ °C; 0…350 °C, held to that range.
/// Source: fit within 0.0004 to typical declared values (from memory). Ten per cent of moisture adds a half.
///
/// ```
/// assert!((engine::heat::envelope::stone_wool_w_mk(100.0) - 0.0457).abs() < 1e-4);
/// ```
pub fn stone_wool_w_mk(temperature_c: f64) -> f64 {
    let t = temperature_c.clamp(0.0, 350.0);
    0.035_7 + t * (5.9e-5 + t * 4.1e-7)
}

/// Mean conductivity of a panel's insulation between two faces, W/(m·K): the integral of k over temperature,
/// divided by the difference; Simpson's rule, exact for the built-in curve.
pub fn mean_conductivity_w_mk(panel: &PanelBuildUp, hot_c: f64, cold_c: f64) -> f64 {
    mean_of(&|t| conductivity(panel, t), hot_c, cold_c)
}

pub(super) fn mean_of(k: &dyn Fn(f64) -> f64, hot_c: f64, cold_c: f64) -> f64 {
    (k(hot_c) + 4.0 * k(0.5 * (hot_c + cold_c)) + k(cold_c)) / 6.0
}

fn conductivity(panel: &PanelBuildUp, temperature_c: f64) -> f64 {
    let points = &panel.conductivity_points;
    let Some((first, last)) = points.first().zip(points.last()) else {
        return stone_wool_w_mk(temperature_c);
    };
    let t = temperature_c.clamp(first.temperature_c.min(last.temperature_c), last.temperature_c);
    points
        .windows(2)
        .find(|pair| t <= pair[1].temperature_c && pair[1].temperature_c > pair[0].temperature_c)
        .map_or(last.conductivity_w_mk, |pair| {
            let share = (t - pair[0].temperature_c) / (pair[1].temperature_c - pair[0].temperature_c);
            pair[0].conductivity_w_mk + share * (pair[1].conductivity_w_mk - pair[0].conductivity_w_mk)
        })
}

/// Heat transfer coefficient at the outside of a wall: radiation and free convection.
///
/// h = ε·σ·(T_s⁴ − T_a⁴)/(T_s − T_a) + 1.32·(Δθ/H)^¼ where H³·Δθ ≤ 10 m³·K, else + 1.74·Δθ^⅓; W/(m²·K), T K, Δθ K,
/// H wall height m. Source: ISO 12241 (from memory). On a wall of 3 m its convection is 24 to 37 % above that of
/// Churchill & Chu 1975, by which the skin gets 0.6 to 2.3 K hotter.
///
/// ```
/// let h = engine::heat::envelope::outside_coefficient_w_m2k(45.0, 25.0, 0.9, 3.0);
/// assert!((h - 10.702).abs() < 0.02);
/// ```
pub fn outside_coefficient_w_m2k(skin_c: f64, ambient_c: f64, emissivity: f64, height_m: f64) -> f64 {
    let radiation = radiation_w_m2k(emissivity, skin_c, ambient_c);
    let difference = (skin_c - ambient_c).abs();
    let laminar = height_m * height_m * height_m * difference <= 10.0;
    let convection = if laminar {
        1.32 * pow(difference / height_m.max(0.1), 0.25)
    } else {
        1.74 * pow(difference, 1.0 / 3.0)
    };
    radiation + convection
}

/// What a stretch of panel does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearPanel {
    /// Outer skin away from joints, °C.
    pub skin_c: f64,
    /// Loss, W/m².
    pub flux_w_m2: f64,
    /// Loss per kelvin from oven air to plant air, W/(m²·K).
    pub u_w_m2k: f64,
    /// Coefficient at the outer skin, W/(m²·K).
    pub outside_w_m2k: f64,
}

/// Skin temperature and loss of a panel without joints.
///
/// h_i·(T_i − T_1) = k̄·(T_1 − T_s)/L = h_e·(T_s − T_a), k̄ the mean conductivity between the faces; T °C, L m, h W/(m²·K).
/// Zero insulation leaves the two surface coefficients. Source: ISO 12241, plane wall.
pub fn clear_panel(panel: &PanelBuildUp, inside_c: f64, ambient_c: f64, height_m: f64) -> ClearPanel {
    let outside = |skin: f64| outside_coefficient_w_m2k(skin, ambient_c, panel.outer_emissivity, height_m);
    let thickness = panel.insulation_m.max(0.0);
    // What the wool brings to the skin less what leaves it, times the thickness: falls as the skin warms.
    let skin_c = bisect(inside_c.min(ambient_c), inside_c.max(ambient_c), |skin| {
        let leaves = outside(skin) * (skin - ambient_c);
        let inner = inside_c - leaves / INSIDE_COEFFICIENT_W_M2K;
        leaves * thickness - mean_conductivity_w_mk(panel, inner, skin) * (inner - skin)
    });
    let outside_w_m2k = outside(skin_c);
    let flux_w_m2 = outside_w_m2k * (skin_c - ambient_c);
    let difference = inside_c - ambient_c;
    // At no difference the loss per kelvin is still that of the layers.
    let u_w_m2k = if difference.abs() > 1e-3 {
        flux_w_m2 / difference
    } else {
        let wool = thickness / conductivity(panel, inside_c).max(1e-6);
        1.0 / (1.0 / INSIDE_COEFFICIENT_W_M2K + wool + 1.0 / outside_w_m2k.max(1e-6))
    };
    ClearPanel { skin_c, flux_w_m2, u_w_m2k, outside_w_m2k }
}

/// What metal through a panel adds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThroughMetal {
    /// Loss per metre of joint and kelvin, W/(m·K).
    pub psi_w_mk: f64,
    /// The same over the panel area, W/(m²·K).
    pub added_u_w_m2k: f64,
    /// Outer skin on the joint line, °C.
    pub line_c: f64,
}

/// Loss and skin temperature of a joint whose webs tie both skins together.
///
/// 1/ψ = 1/(2√(h_i·k·t_i)) + 1/(k·t_w·n/L) + R_break + 1/(2√(h_e·k·t_e)), ΔU = ψ/pitch, T_line = T_a + ψ·(T_i − T_a)/G_e.
/// Each skin is an endless fin to both sides; t sheet thicknesses m, n webs, L length through the insulation m, k of
/// the metal W/(m·K), h W/(m²·K). Skins narrower than about 0.3 m to each side lose less. Source: fin theory
/// (Incropera & DeWitt); the arrangement is ours.
pub fn through_metal(
    joints: &Joints,
    insulation_m: f64,
    skins_m: (f64, f64),
    coefficients_w_m2k: (f64, f64),
    inside_c: f64,
    ambient_c: f64,
) -> ThroughMetal {
    let k = joint_conductivity_w_mk(joints);
    let fin = |h: f64, thickness: f64| 2.0 * (h * k * thickness.max(0.0)).sqrt();
    let (inner, outer) = (fin(coefficients_w_m2k.0, skins_m.0), fin(coefficients_w_m2k.1, skins_m.1));
    let psi_w_mk = 1.0 / (1.0 / inner + web_resistance_mk_w(joints, insulation_m) + 1.0 / outer);
    ThroughMetal {
        psi_w_mk,
        added_u_w_m2k: if joints.pitch_m > 0.0 { psi_w_mk / joints.pitch_m } else { 0.0 },
        line_c: ambient_c + psi_w_mk * (inside_c - ambient_c) / outer.max(1e-9),
    }
}

/// Conductivity of a joint's metal; sheet of carbon steel 45 W/(m·K) as usual for oven panels at temperature.
pub(super) fn joint_conductivity_w_mk(joints: &Joints) -> f64 {
    match joints.material {
        crate::plan::Material::Steel => 45.0,
        other => metal(other).2,
    }
}

/// Resistance of a joint's webs and thermal break per metre of joint, m·K/W.
pub(super) fn web_resistance_mk_w(joints: &Joints, insulation_m: f64) -> f64 {
    let metal = joint_conductivity_w_mk(joints)
        * joints.web_thickness_m
        * f64::from(joints.webs)
        * 0.01
        * joints.metal_percent.clamp(0.0, 100.0);
    let broken = if joints.break_m > 0.0 {
        joints.break_m / (joints.break_conductivity_w_mk * joints.break_width_m)
    } else {
        0.0
    };
    insulation_m.max(1e-4) / metal.max(1e-12) + broken
}

/// Loss factor of oven panels as published by the trade.
///
/// 0.40, 0.35, 0.30, 0.25, 0.20 Btu/(h·ft²·°F) for 3, 4, 5, 6, 8 in: 2.27…1.14 W/(m²·K); straight lines between, in
/// inverse proportion to thickness outside, 5 W/(m²·K) at most. It is four to five times the loss of a clear panel and
/// presumably covers joints, doors and leakage. Source: trade article "Calculating oven heat load capacity".
///
/// ```
/// assert!((engine::heat::envelope::trade_factor_w_m2k(0.1016) - 1.987).abs() < 0.001);
/// ```
pub fn trade_factor_w_m2k(insulation_m: f64) -> f64 {
    const POINTS: [(f64, f64); 5] = [(3.0, 0.40), (4.0, 0.35), (5.0, 0.30), (6.0, 0.25), (8.0, 0.20)];
    let inches = (insulation_m / 0.0254).max(1e-3);
    let (first, last) = (POINTS[0], POINTS[4]);
    let factor = if inches <= first.0 {
        first.1 * first.0 / inches
    } else if inches >= last.0 {
        last.1 * last.0 / inches
    } else {
        let i = POINTS.iter().take_while(|point| point.0 <= inches).count();
        let (a, b) = (POINTS[i - 1], POINTS[i]);
        a.1 + (b.1 - a.1) * (inches - a.0) / (b.0 - a.0)
    };
    (5.678_263 * factor).min(5.0)
}

/// What a panel loses by both methods.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelLoss {
    /// The stretch between joints.
    pub clear: ClearPanel,
    /// Its joints, where the build-up has any.
    pub joints: Option<ThroughMetal>,
    /// Clear panel and joints, W/(m²·K).
    pub clear_and_joints_w_m2k: f64,
    /// The trade's factor, W/(m²·K).
    pub trade_w_m2k: f64,
}

impl PanelLoss {
    /// The loss by the chosen method, W/(m²·K).
    pub fn by(&self, basis: PanelBasis) -> f64 {
        match basis {
            PanelBasis::ClearAndJoints => self.clear_and_joints_w_m2k,
            PanelBasis::TradeFactor => self.trade_w_m2k,
        }
    }

    /// The hottest place of the outer skin, °C.
    pub fn hottest_c(&self) -> f64 {
        self.joints.map_or(self.clear.skin_c, |joint| joint.line_c.max(self.clear.skin_c))
    }
}

/// Loss of a panel by both methods: clear panel plus joints, and the trade's factor.
pub fn panel_loss(panel: &PanelBuildUp, inside_c: f64, ambient_c: f64, height_m: f64) -> PanelLoss {
    let clear = clear_panel(panel, inside_c, ambient_c, height_m);
    let joints = panel.joints.as_ref().map(|joints| {
        // The joint line is hotter than the skin, so its own coefficient is found with it.
        let at = |outside: f64| {
            through_metal(
                joints,
                panel.insulation_m,
                (panel.inner_skin_m, panel.outer_skin_m),
                (INSIDE_COEFFICIENT_W_M2K, outside),
                inside_c,
                ambient_c,
            )
        };
        let mut found = at(clear.outside_w_m2k);
        for _ in 0..20 {
            // The fin's mean rise is half that of its root.
            let mean = 0.5 * (found.line_c + clear.skin_c);
            found = at(outside_coefficient_w_m2k(mean, ambient_c, panel.outer_emissivity, height_m));
        }
        found
    });
    PanelLoss {
        clear,
        joints,
        clear_and_joints_w_m2k: clear.u_w_m2k + joints.map_or(0.0, |joint| joint.added_u_w_m2k),
        trade_w_m2k: panel.loss_factor_w_m2k.unwrap_or_else(|| trade_factor_w_m2k(panel.insulation_m)),
    }
}

/// Heat to bring a square metre of panel to temperature, J/(m²·K): the inner skin wholly, the insulation by half.
///
/// c = ρ_s·t_i·c_s + ½·ρ_w·L·c_w with steel 7850 kg/m³ and 490 J/(kg·K), wool 840 J/(kg·K). Source: common practice.
pub fn stored_j_m2k(panel: &PanelBuildUp) -> f64 {
    7_850.0 * 490.0 * panel.inner_skin_m.max(0.0)
        + 0.5 * 840.0 * panel.insulation_density_kg_m3 * panel.insulation_m.max(0.0)
}

/// Metal temperature that burns skin in a time of contact: reversible (first degree) and irreversible.
///
/// T = 39.468 − 0.41352·L + 190.60/L and 15.005 + 0.51907·L + 352.97/L, °C, L = ln(1000·t), t s; 1…600 s, held to it.
/// Source: ASTM C1055 (from memory, low confidence: check the edition in force). 5 s is its design contact for
/// industry, 60 s for the public.
///
/// ```
/// let (first, lasting) = engine::heat::envelope::contact_burn_c(5.0);
/// assert!((first - 58.3).abs() < 0.1 && (lasting - 60.9).abs() < 0.1);
/// ```
pub fn contact_burn_c(contact_s: f64) -> (f64, f64) {
    let l = ln(1e3 * contact_s.clamp(1.0, 600.0));
    (39.468 - 0.413_52 * l + 190.60 / l, 15.005 + 0.519_07 * l + 352.97 / l)
}
