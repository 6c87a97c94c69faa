//! The `transform` of a style as that of an attribute (W3C CSS Transforms Module Level 1).

use kurbo::Affine;
use svgtypes::{Length, LengthUnit};

use super::scan::{bracket_end, listed};

/// The map as a matrix; none where it is in space, in shares of a box, or not understood.
pub(super) fn transform(value: &str) -> Option<String> {
    if matches!(value, "none" | "initial" | "unset" | "revert") {
        return Some("matrix(1 0 0 1 0 0)".to_owned());
    }
    let mut map = Affine::IDENTITY;
    let mut rest = value.trim();
    while !rest.is_empty() {
        let (name, after) = rest.split_once('(')?;
        let end = bracket_end(after)?;
        map *= function(&name.trim().to_ascii_lowercase(), &listed(after.get(..end)?))?;
        rest = after.get(end + 1..)?.trim_start();
    }
    let [a, b, c, d, e, f] = map.as_coeffs();
    Some(format!("matrix({a} {b} {c} {d} {e} {f})"))
}

fn function(name: &str, given: &[&str]) -> Option<Affine> {
    let map = match (name, given) {
        ("translate", [x, y]) => Affine::translate((length(x)?, length(y)?)),
        ("translate" | "translatex", [x]) => Affine::translate((length(x)?, 0.0)),
        ("translatey", [y]) => Affine::translate((0.0, length(y)?)),
        ("scale", [x, y]) => Affine::scale_non_uniform(factor(x)?, factor(y)?),
        ("scale", [both]) => Affine::scale(factor(both)?),
        ("scalex", [x]) => Affine::scale_non_uniform(factor(x)?, 1.0),
        ("scaley", [y]) => Affine::scale_non_uniform(1.0, factor(y)?),
        ("rotate" | "rotatez", [turn]) => Affine::rotate(angle(turn)?),
        ("skew", [x, y]) => Affine::skew(angle(x)?.tan(), angle(y)?.tan()),
        ("skew" | "skewx", [x]) => Affine::skew(angle(x)?.tan(), 0.0),
        ("skewy", [y]) => Affine::skew(0.0, angle(y)?.tan()),
        ("matrix", given) => {
            let numbers: Option<Vec<f64>> = given.iter().map(|number| number.parse().ok()).collect();
            Affine::new(numbers?.try_into().ok()?)
        }
        _ => return None,
    };
    map.is_finite().then_some(map)
}

/// A length in px; those that depend on type or page are not taken.
fn length(text: &str) -> Option<f64> {
    let length: Length = text.parse().ok()?;
    let px = match length.unit {
        LengthUnit::None if length.number == 0.0 => 0.0,
        LengthUnit::Px => 1.0,
        LengthUnit::In => 96.0,
        LengthUnit::Cm => 96.0 / 2.54,
        LengthUnit::Mm => 96.0 / 25.4,
        LengthUnit::Pt => 96.0 / 72.0,
        LengthUnit::Pc => 16.0,
        _ => return None,
    };
    Some(length.number * px)
}

fn factor(text: &str) -> Option<f64> {
    match text.strip_suffix('%') {
        Some(percent) => percent.parse::<f64>().ok().map(|percent| percent / 100.0),
        None => text.parse().ok(),
    }
}

/// An angle in radians; a style wants its unit.
fn angle(text: &str) -> Option<f64> {
    let digits = text.trim_end_matches(|letter: char| letter.is_ascii_alphabetic());
    let number: f64 = digits.parse().ok()?;
    match text.get(digits.len()..)?.to_ascii_lowercase().as_str() {
        "deg" => Some(number.to_radians()),
        "rad" => Some(number),
        "grad" => Some((number * 0.9).to_radians()),
        "turn" => Some(number * std::f64::consts::TAU),
        "" if number == 0.0 => Some(0.0),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn functions_become_one_matrix() {
        for (value, wanted) in [
            ("translate(3px, 1in) scale(50%, 2)", "matrix(0.5 0 0 2 3 96)"),
            ("none", "matrix(1 0 0 1 0 0)"),
            ("translateX(0) matrix(1, 2, 3, 4, 5, 6)", "matrix(1 2 3 4 5 6)"),
            ("skewX(0deg) scaleY(-1)", "matrix(1 0 0 -1 0 0)"),
        ] {
            assert_eq!(transform(value).as_deref(), Some(wanted), "{value}");
        }
        for odd in ["rotate(20)", "translate(10%)", "rotate3d(0,0,1,3deg)", "scale(2) x", "matrix(1,2)", "rotate(1deg"]
        {
            assert_eq!(transform(odd), None, "{odd}");
        }
        let turned = transform("rotate(.25turn)").unwrap();
        let numbers: Vec<f64> = turned[7..turned.len() - 1].split(' ').map(|number| number.parse().unwrap()).collect();
        assert!(numbers.iter().zip([0.0, 1.0, -1.0, 0.0, 0.0, 0.0]).all(|(a, b)| (a - b).abs() < 1e-12), "{turned}");
    }
}
