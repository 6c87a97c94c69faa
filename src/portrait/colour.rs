//! Light in three channels, and the way from and to the colours that people state.

use crate::design::Tone;

/// Linear light: red, green, blue, 1 being white.
pub(super) type Rgb = [f32; 3];

/// From sRGB to linear light (IEC 61966-2-1).
pub(super) fn linear(tone: Tone) -> Rgb {
    tone.map(|channel| {
        let value = f32::from(channel) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { libm::powf((value + 0.055) / 1.055, 2.4) }
    })
}

pub(super) fn times(a: Rgb, b: Rgb) -> Rgb {
    [a[0] * b[0], a[1] * b[1], a[2] * b[2]]
}

pub(super) fn scaled(a: Rgb, by: f32) -> Rgb {
    a.map(|channel| channel * by)
}

pub(super) fn plus(a: Rgb, b: Rgb) -> Rgb {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// From one to the other by a share.
pub(super) fn mixed(a: Rgb, b: Rgb, share: f32) -> Rgb {
    [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, a[2] + (b[2] - a[2]) * share]
}

/// Lighter or darker by a share; what is darker is warmer too, as wood is.
pub(super) fn toned(colour: Rgb, by: f32) -> Rgb {
    [colour[0] * (1.0 + 0.82 * by), colour[1] * (1.0 + by), colour[2] * (1.0 + 1.22 * by)]
}

/// From linear light to sRGB by a table, fine enough that every one of the 256 tones comes out as it went in.
pub(super) struct ToSrgb(Vec<u8>);

impl ToSrgb {
    const LAST: f32 = 8191.0;

    pub(super) fn new() -> Self {
        let entry = |at: u16| {
            let value = f32::from(at) / Self::LAST;
            let coded = if value <= 0.003_130_8 { 12.92 * value } else { 1.055 * libm::powf(value, 1.0 / 2.4) - 0.055 };
            (coded * 255.0 + 0.5) as u8
        };
        Self((0..=Self::LAST as u16).map(entry).collect())
    }

    pub(super) fn of(&self, value: f32) -> u8 {
        self.0.get((value.clamp(0.0, 1.0) * Self::LAST + 0.5) as usize).copied().unwrap_or(u8::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_tone_comes_back_as_it_went() {
        let table = ToSrgb::new();
        for tone in 0..=255 {
            assert_eq!(linear([tone; 3]).map(|channel| table.of(channel)), [tone; 3]);
        }
        assert_eq!((table.of(-1.0), table.of(9.0), table.of(f32::NAN)), (0, 255, 0));
    }
}
