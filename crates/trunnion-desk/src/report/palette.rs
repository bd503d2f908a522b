//! Colours of the report, in one place for page, script and pictures.
//!
//! The eight line colours were found by a search of our own: eight hues, each in the shade that makes the
//! smallest difference between any two (OKLab distance) largest, for full colour sight and for simulated
//! protanopia, deuteranopia and tritanopia (Machado, Oliveira and Fernandes, 2009, severity 1; matrices
//! from memory), with a contrast of at least 3:1 to the sheet (WCAG 2.2, criterion 1.4.11). Smallest
//! distance 0.144. Line patterns and words repeat what colour says.

/// Line colours on the light sheet.
pub(super) const LINES_LIGHT: [&str; 8] =
    ["#3688e9", "#b33705", "#167360", "#c950a9", "#9c8c4e", "#301256", "#78170b", "#244554"];
/// Line colours on the dark sheet, hue for hue.
pub(super) const LINES_DARK: [&str; 8] =
    ["#4b8be9", "#fc9524", "#15d2ad", "#9b5986", "#fcdd5c", "#b8adff", "#d85b3d", "#c3e9fb"];
/// Grounds of states 1, 2, 3… of a band on the light sheet; their names stand on them.
pub(super) const STATES_LIGHT: [&str; 6] = ["#bcd9d4", "#f1d3a9", "#cdd0ef", "#eec4bd", "#dfe3a8", "#d9c6dc"];
/// Grounds of states on the dark sheet.
pub(super) const STATES_DARK: [&str; 6] = ["#1f5850", "#6d4a17", "#3d4484", "#78392f", "#565b1c", "#5f4265"];

/// Named colours: (name, light, dark).
pub(super) const SURFACES: [(&str, &str, &str); 11] = [
    ("desk", "#eef1ec", "#0e1718"),
    ("sheet", "#fdfefc", "#142021"),
    ("ink", "#15292b", "#e0e9e5"),
    ("soft", "#526866", "#9db1ad"),
    ("rule", "#c9d4cf", "#31474a"),
    ("grid", "#e4eae6", "#203032"),
    ("tint", "#f2f5f1", "#1a2829"),
    ("accent", "#0d6470", "#74c7cf"),
    ("held", "#0f6a58", "#4fd0b0"),
    ("violated", "#a92a10", "#ff8c6b"),
    ("open", "#7c6614", "#e3c65a"),
];

/// Style rules that set every colour as a custom property, for light and dark.
pub(super) fn rules() -> String {
    format!(
        ":root{{color-scheme:light dark;{}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}\n",
        properties(|row| row.1, &LINES_LIGHT, &STATES_LIGHT),
        properties(|row| row.2, &LINES_DARK, &STATES_DARK),
    )
}

fn properties(
    surface: impl Fn(&(&str, &'static str, &'static str)) -> &'static str,
    lines: &[&str],
    states: &[&str],
) -> String {
    let mut rules = String::new();
    for row in &SURFACES {
        rules += &format!("--{}:{};", row.0, surface(row));
    }
    for (index, colour) in lines.iter().enumerate() {
        rules += &format!("--line-{index}:{colour};");
    }
    for (index, colour) in states.iter().enumerate() {
        rules += &format!("--state-{index}:{colour};");
    }
    rules
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance (WCAG 2.2, definition).
    fn luminance(colour: &str) -> f64 {
        let part = |at: usize| {
            let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    }

    fn contrast(one: &str, other: &str) -> f64 {
        let (a, b) = (luminance(one), luminance(other));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    fn surface(name: &str) -> (&'static str, &'static str) {
        let row = SURFACES.iter().find(|row| row.0 == name).unwrap();
        (row.1, row.2)
    }

    #[test]
    fn lines_stand_out_from_the_sheet_three_to_one() {
        let sheet = surface("sheet");
        for colour in LINES_LIGHT {
            assert!(contrast(colour, sheet.0) >= 3.0, "{colour} on the light sheet");
        }
        for colour in LINES_DARK {
            assert!(contrast(colour, sheet.1) >= 3.0, "{colour} on the dark sheet");
        }
    }

    #[test]
    fn words_stand_out_four_and_a_half_to_one() {
        for ground in ["sheet", "desk", "tint"] {
            for word in ["ink", "soft", "accent", "held", "violated", "open"] {
                let (light, dark) = (surface(ground), surface(word));
                assert!(contrast(light.0, dark.0) >= 4.5, "{word} on {ground}, light");
                assert!(contrast(light.1, dark.1) >= 4.5, "{word} on {ground}, dark");
            }
        }
        let ink = surface("ink");
        assert!(STATES_LIGHT.iter().all(|ground| contrast(ground, ink.0) >= 4.5));
        assert!(STATES_DARK.iter().all(|ground| contrast(ground, ink.1) >= 4.5));
    }

    #[test]
    fn print_is_light_whatever_the_screen_prefers() {
        assert!(rules().contains("@media screen and (prefers-color-scheme:dark)"));
    }
}
