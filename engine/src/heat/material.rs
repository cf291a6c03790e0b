//! Heat capacity, conductivity and size of the metals that go through an oven.

use crate::plan::{HungPart, Material, PartShape};

/// Figures of a material at oven temperatures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Properties {
    /// Specific heat, J/(kg·K).
    pub specific_heat_j_kgk: f64,
    /// Conductivity, W/(m·K).
    pub conductivity_w_mk: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
}

/// Figures of `material`, as means over 20…200 °C.
///
/// Carbon steel: 490 J/(kg·K), the mean of [`steel_specific_heat_j_kgk`]; 50 W/(m·K), 7850 kg/m³.
/// Stainless 304: 510 J/(kg·K), 16 W/(m·K), 7900 kg/m³. Aluminium: 948 J/(kg·K), the mean of
/// 903 + 0.41·θ (EN 1999-1-2:2007, 3.3.2; from memory), 190 W/(m·K), 2700 kg/m³.
/// Conductivities and densities: usual handbook figures, from memory.
pub fn properties(material: Material) -> Properties {
    let (specific_heat_j_kgk, conductivity_w_mk, density_kg_m3) = match material {
        Material::Steel => (490.0, 50.0, 7850.0),
        Material::StainlessSteel => (510.0, 16.0, 7900.0),
        Material::Aluminium => (948.0, 190.0, 2700.0),
        Material::Other { specific_heat_j_kgk, conductivity_w_mk, density_kg_m3 } => {
            (specific_heat_j_kgk, conductivity_w_mk, density_kg_m3)
        }
    };
    Properties { specific_heat_j_kgk, conductivity_w_mk, density_kg_m3 }
}

/// Specific heat of carbon steel.
///
/// c = 425 + 0.773·θ − 1.69·10⁻³·θ² + 2.22·10⁻⁶·θ³, θ °C, J/(kg·K); 20…600 °C, the end value outside.
/// Source: EN 1993-1-2:2005, eq. (3.2a).
///
/// ```
/// assert!((engine::heat::material::steel_specific_heat_j_kgk(200.0) - 529.76).abs() < 1e-9);
/// ```
pub fn steel_specific_heat_j_kgk(temperature_c: f64) -> f64 {
    let t = temperature_c.clamp(20.0, 600.0);
    425.0 + t * (0.773 + t * (-1.69e-3 + t * 2.22e-6))
}

/// Volume over heated surface, m: the length that counts for the Biot number and for how fast a body heats.
///
/// Sheet t/2 (heated from both sides), bar d/4, tube s·(d − s)/d (heated from outside only).
///
/// ```
/// use engine::plan::PartShape;
/// let sheet = PartShape::Sheet { thickness_m: 0.002 };
/// assert_eq!(engine::heat::material::volume_over_surface_m(sheet), 0.001);
/// ```
pub fn volume_over_surface_m(shape: PartShape) -> f64 {
    match shape {
        PartShape::Sheet { thickness_m } => 0.5 * thickness_m,
        PartShape::Bar { diameter_m } => 0.25 * diameter_m,
        PartShape::Tube { diameter_m, wall_m } => {
            let wall = wall_m.min(0.5 * diameter_m);
            wall * (diameter_m - wall) / diameter_m
        }
    }
}

/// Heated surface of a part per metre of conveyor, m²/m: as entered, otherwise m′/(ρ·V/A).
///
/// m′ mass per metre kg/m, ρ kg/m³, V/A m. None where mass, density or size is not above zero.
pub fn surface_m2_per_m(part: &HungPart) -> Option<f64> {
    let surface = part.surface_m2_per_m.unwrap_or_else(|| {
        part.kg_per_m / (properties(part.material).density_kg_m3 * volume_over_surface_m(part.shape))
    });
    (surface.is_finite() && surface > 0.0).then_some(surface)
}
