//! How figures are written: for people with as few digits as say what they mean, for programs to a stated precision.

use super::{Length, Quantity};

impl Quantity {
    /// With so many decimals at most, trailing zeros dropped, in the unit people use for it: `12.35mm`.
    pub fn to_decimals(self, decimals: usize) -> String {
        let (unit, factor) = self.dimension.shown_in();
        format!("{}{unit}", plain(self.value / factor, decimals))
    }

    /// The number in the unit people use for it, for programs, and that unit.
    pub fn in_unit(self) -> (f64, String) {
        let (unit, factor) = self.dimension.shown_in();
        (rounded(self.value / factor, 6), unit)
    }
}

/// A length given in mm, as lengths are shown: `12.346mm`.
pub fn mm(value: f64) -> String {
    Length::mm(value).to_string()
}

/// What the rounding of a sum leaves of a whole.
const ROUNDING: f64 = 1e-5;

/// A share from 0 to 1 as prose tells it, in hundredths with so many decimals at most: `12.3 %` (a space before the sign: SI
/// Brochure, 9th edition, 5.4.7). Only nothing is `0 %`, and only all of it `100 %`.
pub fn percent(share: f64, decimals: usize) -> String {
    let smallest = 10.0_f64.powi(-i32::try_from(decimals).unwrap_or(0));
    match plain(100.0 * share, decimals).as_str() {
        "0" if share > 0.0 => format!("less than {} %", plain(smallest, decimals)),
        "100" if share < 1.0 - ROUNDING => format!("more than {} %", plain(100.0 - smallest, decimals)),
        told => format!("{told} %"),
    }
}

/// What share of a whole above zero a part is, as [`percent`] tells it.
pub fn percent_of(part: f64, whole: f64, decimals: usize) -> String {
    percent(part / whole.max(f64::MIN_POSITIVE), decimals)
}

/// A share from 0 to 1 as the language takes it, with so many decimals at most: `12.3%`.
pub fn typed_percent(share: f64, decimals: usize) -> String {
    format!("{}%", plain(100.0 * share, decimals))
}

/// A number for programs, to so many decimals, never -0.0.
pub fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10.0_f64.powi(decimals);
    // Nothing with a sign and nothing without one add up to nothing without one (IEEE 754).
    (value * scale).round() / scale + 0.0
}

/// `value` with just so many places, for columns and prices; what rounds to nothing has no sign: `0.00`, never `-0.00`.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let is_nothing = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
    if is_nothing { text.trim_start_matches('-').to_owned() } else { text }
}

/// From here on a number is written by its power of ten: not every whole number has a float of its own.
const VAST: f64 = 1e15;

/// `value` with `decimals` places at most and no trailing zeros, never "-0"; what is vast by its power of ten: `1e21`.
pub fn plain(value: f64, decimals: usize) -> String {
    let mut text = String::new();
    push_plain(&mut text, value, decimals);
    text
}

/// Writes what [`plain`] gives at the end of a text.
pub(crate) fn push_plain(text: &mut String, value: f64, decimals: usize) {
    if value.abs() >= VAST {
        text.push_str(&format!("{value:e}"));
        return;
    }
    let Some((mut digits, mut places)) = as_whole(value, decimals) else {
        let exact = format!("{value:.decimals$}");
        let exact = if exact.contains('.') { exact.trim_end_matches('0').trim_end_matches('.') } else { &exact };
        text.push_str(if exact == "-0" { "0" } else { exact });
        return;
    };
    while places > 0 && digits.is_multiple_of(10) {
        (digits, places) = (digits / 10, places - 1);
    }
    if value < 0.0 && digits > 0 {
        text.push('-');
    }
    let mut written = itoa::Buffer::new();
    let written = written.format(digits);
    match written.split_at_checked(written.len().wrapping_sub(places)) {
        Some((whole, part)) => {
            text.push_str(if whole.is_empty() { "0" } else { whole });
            if places > 0 {
                text.push('.');
                text.push_str(part);
            }
        }
        None => {
            text.push_str("0.");
            (written.len()..places).for_each(|_| text.push('0'));
            text.push_str(written);
        }
    }
}

/// The digits of a number rounded to so many decimals, as a whole number, and how many of them are decimals: most numbers are
/// written by the thousand, and this is many times as quick as finding their shortest digits. None for large numbers, and
/// where the sum is too near to a half to tell which way it rounds.
fn as_whole(value: f64, decimals: usize) -> Option<(u32, usize)> {
    const SCALES: [f64; 7] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6];
    const LARGEST: f64 = 1e9;
    const UNSURE: f64 = 1e-6;
    let scaled = value.abs() * SCALES.get(decimals)?;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to a thousand million")]
    let below = scaled as u32;
    let part = scaled - f64::from(below);
    let is_sure = scaled < LARGEST && (part - 0.5).abs() > UNSURE;
    is_sure.then(|| (below + u32::from(part > 0.5), decimals))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn vast_numbers_are_written_by_their_power_of_ten() {
        let texts = [1e15, -1e300, 2.5e20, f64::INFINITY, 999_999_999_999_999.0].map(|value| plain(value, 3));
        assert_eq!(texts, ["1e15", "-1e300", "2.5e20", "inf", "999999999999999"]);
    }

    #[test]
    fn numbers_are_written_as_the_library_rounds_them() {
        let as_formatted = |value: f64, decimals: usize| {
            let text = format!("{value:.decimals$}");
            let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
            if text == "-0" { "0".to_owned() } else { text.to_owned() }
        };
        let mut rng = fastrand::Rng::with_seed(0);
        let drawn = (0..20_000).map(|_| (rng.f64() - 0.5) * 10_f64.powi(rng.i32(-7..12)));
        let ties = (-4000..4000).map(|at| f64::from(at) / 16.0);
        let tenths = (-4000..4000).map(|at| f64::from(at) * 0.1 + 0.0005);
        let odd = [f64::NAN, f64::INFINITY, f64::MIN_POSITIVE, -0.0, 999_999.999_999_9];
        for value in drawn.chain(ties).chain(tenths).chain(odd) {
            for decimals in 0..9 {
                assert_eq!(plain(value, decimals), as_formatted(value, decimals), "{value:?} to {decimals}");
            }
        }
    }

    #[test]
    fn shares_are_written_in_hundredths() {
        assert_eq!(
            (percent(0.123_4, 1), percent(1.0, 2), percent(0.0, 0)),
            ("12.3 %".into(), "100 %".into(), "0 %".into())
        );
        assert_eq!((percent_of(1.0, 3.0, 2), percent_of(0.0, 0.0, 2)), ("33.33 %".into(), "0 %".into()));
        assert_eq!(
            (percent(0.000_1, 1), percent(0.999_9, 1), percent(0.999, 1), typed_percent(0.6, 2)),
            ("less than 0.1 %".into(), "more than 99.9 %".into(), "99.9 %".into(), "60%".into())
        );
    }

    #[test]
    fn programs_get_so_many_decimals() {
        assert_eq!((rounded(1.234_56, 3), rounded(-0.05, 1), rounded(1234.5, -2)), (1.235, -0.1, 1200.0));
        assert_eq!(mm(0.1 + 0.2), "0.3mm");
    }

    /// By hand, and for numbers drawn at random: what rounds to nothing has no sign, whatever writes it; all others keep theirs.
    #[test]
    fn nothing_has_no_sign() {
        let written = [-0.004, -0.0, 0.0, 0.004, -0.006].map(|value| fixed(value, 2));
        assert_eq!(written, ["0.00", "0.00", "0.00", "0.00", "-0.01"]);
        assert_eq!(
            (fixed(-0.4, 0), fixed(-12.345, 1), fixed(f64::NEG_INFINITY, 2)),
            ("0".into(), "-12.3".into(), "-inf".into())
        );
        let mut rng = fastrand::Rng::with_seed(7);
        let drawn = (0..20_000).map(|_| (rng.f64() - 0.5) * 10_f64.powi(rng.i32(-9..3)));
        for value in drawn.chain([-0.0, 0.0, -f64::MIN_POSITIVE]) {
            for (decimals, places) in (0_u8..7).map(|at| (usize::from(at), i32::from(at))) {
                let told = [plain(value, decimals), fixed(value, decimals), rounded(value, places).to_string()];
                for text in told {
                    let is_nothing = text.parse::<f64>().unwrap() == 0.0;
                    assert!(!is_nothing || !text.starts_with('-'), "{text} for {value:?} to {decimals}");
                }
                // A number half-way is rounded away from nothing by the one and to even by the other.
                let apart = (fixed(value, decimals).parse::<f64>().unwrap() - rounded(value, places)).abs();
                assert!(apart < 1.5 * 10_f64.powi(-places), "{value:?} to {decimals}");
            }
        }
    }
}
