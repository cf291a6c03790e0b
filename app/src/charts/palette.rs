//! The colours of drawings, read from the style sheet's custom properties once per theme.

use crate::board::scene::Tone;

/// A colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

impl Colour {
    /// As a style sheet writes it.
    pub fn css(self, alpha: f32) -> String {
        if alpha >= 1.0 {
            format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
        } else {
            format!("rgba({},{},{},{:.3})", self.0, self.1, self.2, f64::from(alpha))
        }
    }

    /// `t` of the way to `other`.
    pub fn towards(self, other: Self, t: f64) -> Self {
        let mix =
            |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * t.clamp(0.0, 1.0)).round() as u8;
        Self(mix(self.0, other.0), mix(self.1, other.1), mix(self.2, other.2))
    }

    /// Relative luminance by WCAG 2.
    pub fn luminance(self) -> f64 {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { engine::numerics::pow((c + 0.055) / 1.055, 2.4) }
        };
        0.2126 * linear(self.0) + 0.7152 * linear(self.1) + 0.0722 * linear(self.2)
    }

    /// A colour as a browser gives it: `#rgb`, `#rrggbb`, `rgb(…)`, `rgba(…)` or `color(srgb …)`.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        if let Some(hex) = text.strip_prefix('#') {
            let digit = |i: usize| hex.get(i..=i).and_then(|d| u8::from_str_radix(d, 16).ok());
            let pair = |i: usize| hex.get(i..i + 2).and_then(|d| u8::from_str_radix(d, 16).ok());
            return match hex.len() {
                3 | 4 => Some(Self(digit(0)? * 17, digit(1)? * 17, digit(2)? * 17)),
                6 | 8 => Some(Self(pair(0)?, pair(2)?, pair(4)?)),
                _ => None,
            };
        }
        let (name, rest) = text.split_once('(')?;
        let body = rest.strip_suffix(')')?;
        let (scale, body) = match name {
            "rgb" | "rgba" => (1.0, body),
            "color" => (255.0, body.trim_start().strip_prefix("srgb")?),
            _ => return None,
        };
        let mut numbers = body.split([' ', ',', '/']).filter(|part| !part.is_empty()).map(|part| {
            serde_json::from_str::<f64>(part).ok().map(|v| (v * scale).round().clamp(0.0, 255.0) as u8)
        });
        Some(Self(numbers.next()??, numbers.next()??, numbers.next()??))
    }
}

/// The deviation at which the colour scale ends, as a fraction.
pub const FULL_DEVIATION: f64 = 0.20;

/// Every colour a drawing uses; the fields are the custom properties `--paper`, `--ink`, …
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Palette {
    /// The page.
    pub paper: Colour,
    /// Lines and text that matter.
    pub ink: Colour,
    /// Lines and text in the background.
    pub ink_soft: Colour,
    /// Walls and frames.
    pub line: Colour,
    /// The grid.
    pub grid: Colour,
    /// What is selected.
    pub accent: Colour,
    /// Supply duct.
    pub duct: Colour,
    /// Return duct.
    pub duct_return: Colour,
    /// Odd zones.
    pub zone_a: Colour,
    /// Even zones.
    pub zone_b: Colour,
    /// Too much.
    pub over: Colour,
    /// Too little.
    pub under: Colour,
    /// On target.
    pub even: Colour,
    /// The target band.
    pub band: Colour,
    /// A caution.
    pub warn: Colour,
    /// A problem.
    pub problem: Colour,
    /// The focus ring.
    pub focus: Colour,
}

impl Palette {
    /// For a light page whose style sheet says nothing.
    pub const LIGHT: Self = Self {
        paper: Colour(0xfb, 0xfb, 0xf8),
        ink: Colour(0x1e, 0x2a, 0x33),
        ink_soft: Colour(0x54, 0x62, 0x6d),
        line: Colour(0xa7, 0xb0, 0xb6),
        grid: Colour(0xe6, 0xe8, 0xe6),
        accent: Colour(0x0b, 0x6e, 0x5f),
        duct: Colour(0xe3, 0xe8, 0xea),
        duct_return: Colour(0xcf, 0xd3, 0xcc),
        zone_a: Colour(0xf4, 0xf3, 0xec),
        zone_b: Colour(0xf6, 0xf0, 0xea),
        over: Colour(0xd9, 0x6a, 0x12),
        under: Colour(0x1f, 0x66, 0xb5),
        even: Colour(0xff, 0xff, 0xff),
        band: Colour(0xcf, 0xe6, 0xdc),
        warn: Colour(0xb2, 0x6a, 0x00),
        problem: Colour(0xb3, 0x26, 0x1e),
        focus: Colour(0x0b, 0x57, 0xd0),
    };

    /// For a dark page whose style sheet says nothing.
    pub const DARK: Self = Self {
        paper: Colour(0x14, 0x1a, 0x1e),
        ink: Colour(0xe4, 0xe9, 0xeb),
        ink_soft: Colour(0x9f, 0xac, 0xb4),
        line: Colour(0x5b, 0x68, 0x71),
        grid: Colour(0x22, 0x2a, 0x2f),
        accent: Colour(0x4f, 0xc4, 0xae),
        duct: Colour(0x2f, 0x3a, 0x42),
        duct_return: Colour(0x3d, 0x41, 0x3a),
        zone_a: Colour(0x19, 0x20, 0x22),
        zone_b: Colour(0x20, 0x1d, 0x1c),
        over: Colour(0xf0, 0x8a, 0x34),
        under: Colour(0x5a, 0xa0, 0xec),
        even: Colour(0xe9, 0xec, 0xec),
        band: Colour(0x1f, 0x3f, 0x37),
        warn: Colour(0xf2, 0xb1, 0x4c),
        problem: Colour(0xff, 0x8a, 0x80),
        focus: Colour(0x8a, 0xb4, 0xf8),
    };

    /// The custom properties in the order of [`Palette::from_list`].
    pub const PROPERTIES: [&'static str; 17] = [
        "--paper",
        "--ink",
        "--ink-soft",
        "--line",
        "--grid",
        "--accent",
        "--duct",
        "--duct-return",
        "--zone-a",
        "--zone-b",
        "--over",
        "--under",
        "--even",
        "--band",
        "--warn",
        "--problem",
        "--focus",
    ];

    /// The colours found, each one missing taken from `fallback`.
    pub fn from_list(found: [Option<Colour>; 17], fallback: &Self) -> Self {
        let f = fallback;
        let own = [
            f.paper,
            f.ink,
            f.ink_soft,
            f.line,
            f.grid,
            f.accent,
            f.duct,
            f.duct_return,
            f.zone_a,
            f.zone_b,
            f.over,
            f.under,
            f.even,
            f.band,
            f.warn,
            f.problem,
            f.focus,
        ];
        let mut i = 0;
        let mut next = || {
            let colour = found[i].unwrap_or(own[i]);
            i += 1;
            colour
        };
        Self {
            paper: next(),
            ink: next(),
            ink_soft: next(),
            line: next(),
            grid: next(),
            accent: next(),
            duct: next(),
            duct_return: next(),
            zone_a: next(),
            zone_b: next(),
            over: next(),
            under: next(),
            even: next(),
            band: next(),
            warn: next(),
            problem: next(),
            focus: next(),
        }
    }

    /// Blue for too little, white on target, orange for too much.
    pub fn deviation(&self, fraction: f64) -> Colour {
        let t = (fraction.abs() / FULL_DEVIATION).min(1.0);
        self.even.towards(if fraction < 0.0 { self.under } else { self.over }, t)
    }

    /// The colour of a meaning.
    pub fn tone(&self, tone: Tone) -> Colour {
        match tone {
            Tone::Paper => self.paper,
            Tone::Ink => self.ink,
            Tone::InkSoft => self.ink_soft,
            Tone::Line => self.line,
            Tone::Accent => self.accent,
            Tone::Duct => self.duct,
            Tone::DuctReturn => self.duct_return,
            Tone::ZoneA => self.zone_a,
            Tone::ZoneB => self.zone_b,
            Tone::Warn => self.warn,
            Tone::Problem => self.problem,
            Tone::Deviation(fraction) => self.deviation(fraction),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn contrast(a: Colour, b: Colour) -> f64 {
        let (a, b) = (a.luminance() + 0.05, b.luminance() + 0.05);
        if a > b { a / b } else { b / a }
    }

    #[test]
    fn colours_are_read_as_browsers_write_them() {
        for text in [
            "#0b6e5f",
            "rgb(11, 110, 95)",
            "rgba(11,110,95,0.5)",
            "rgb(11 110 95 / 0.5)",
            "color(srgb 0.0431 0.4314 0.3725)",
        ] {
            assert_eq!(Colour::parse(text), Some(Colour(11, 110, 95)), "{text}");
        }
        assert_eq!(Colour::parse("#fff"), Some(Colour(255, 255, 255)));
        for text in ["", "red", "rgb(1,2)", "#12345", "oklch(0.5 0.1 20)"] {
            assert_eq!(Colour::parse(text), None, "{text}");
        }
    }

    #[test]
    fn a_missing_colour_comes_from_the_fallback() {
        let mut found = [None; 17];
        found[5] = Some(Colour(1, 2, 3));
        let palette = Palette::from_list(found, &Palette::DARK);
        assert_eq!(palette, Palette { accent: Colour(1, 2, 3), ..Palette::DARK });
    }

    #[test]
    fn the_fallback_palettes_can_be_read() {
        for p in [Palette::LIGHT, Palette::DARK] {
            for ground in [p.paper, p.zone_a, p.zone_b, p.duct, p.duct_return] {
                assert!(contrast(p.ink, ground) >= 7.0);
                assert!(contrast(p.ink_soft, ground) >= 4.5 || ground == p.duct || ground == p.duct_return);
                assert!(contrast(p.accent, ground) >= 3.0);
            }
            assert!(contrast(p.over, p.paper) >= 3.0 && contrast(p.under, p.paper) >= 3.0);
        }
    }

    #[test]
    fn the_deviation_scale_diverges_from_even() {
        let p = Palette::LIGHT;
        assert_eq!(p.deviation(0.0), p.even);
        assert_eq!(p.deviation(0.5), p.over);
        assert_eq!(p.deviation(-0.2), p.under);
    }
}
