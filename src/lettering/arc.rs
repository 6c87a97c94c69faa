//! Labels on bearings, and letters along an arc.

use kurbo::{Affine, BezPath};

use super::contours::filled;
use super::{LetteringError, Setting, Typeface};
use crate::geometry::{GeometryError, Region, Rule, polar, turn};
use crate::units::Angle;

/// Which way the tops of letters point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Facing {
    /// Away from the turning axis: labels at the bottom stand on their heads.
    Outward,
    /// Towards the turning axis.
    Inward,
    /// To 0deg, wherever the label stands.
    Upright,
}

/// The arc that letters run along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// From the turning axis to the middle of the cap height, in mm.
    pub radius_mm: f64,
    /// Where the middle of the text comes to stand.
    pub bearing: Angle,
    /// Which way the letters face.
    pub facing: Facing,
}

/// Moves a label that is centred on the axis out to a bearing, its centre at `radius_mm`.
pub fn place_label(label: &Region, radius_mm: f64, bearing: Angle, facing: Facing) -> Region {
    label.transformed(placing(radius_mm, bearing, facing))
}

/// The map behind [`place_label`]: a turn about the label's own centre, then a move.
pub fn placing(radius_mm: f64, bearing: Angle, facing: Facing) -> Affine {
    let turned = match facing {
        Facing::Outward => turn(bearing),
        Facing::Inward => turn(bearing + Angle::degrees(180.0)),
        Facing::Upright => Affine::IDENTITY,
    };
    Affine::translate(polar(radius_mm, bearing).to_vec2()) * turned
}

impl Typeface {
    /// Sets one line letter by letter along an arc.
    ///
    /// The letters keep their kerned advances, measured along the circle through the middle of the cap height,
    /// and each stands square to the radius through the middle of its own advance. The middle of the ink, as
    /// it would be set straight, comes to the bearing. Outward text runs clockwise, inward text the other way,
    /// so that each reads from left to right. Letters are never joined into ligatures. Upright text is not bent,
    /// for its letters would climb over one another at 90deg: the straight word is placed whole.
    ///
    /// `setting.fit_mm` does not apply, nor do `align` and `line_spacing` to bent text, where a line end counts
    /// as a missing character.
    ///
    /// # Errors
    /// As [`Typeface::set`], and [`LetteringError::LongerThanCircle`].
    pub fn along_arc(&self, text: &str, setting: &Setting, arc: &Arc) -> Result<Region, LetteringError> {
        setting.checked(text)?;
        if arc.radius_mm.is_nan() || arc.radius_mm <= 0.0 {
            return Err(GeometryError::NotPositive { what: "radius", value: arc.radius_mm }.into());
        }
        if arc.facing == Facing::Upright {
            let word = self.set(text, &Setting { fit_mm: None, ..*setting })?;
            return Ok(place_label(&word.ink, arc.radius_mm, arc.bearing, arc.facing));
        }
        let line = self.line(text, setting, false)?;
        let ink = line.ink.ok_or(LetteringError::Blank)?;
        let circumference_mm = std::f64::consts::TAU * arc.radius_mm;
        if ink.width() > circumference_mm {
            return Err(LetteringError::LongerThanCircle { length_mm: ink.width(), circumference_mm });
        }
        let clockwise = if arc.facing == Facing::Inward { -1.0 } else { 1.0 };
        let mut path = BezPath::new();
        for letter in &line.letters {
            let middle = (letter.from + letter.to) / 2.0;
            let along = clockwise * (middle - ink.center().x);
            let bearing = arc.bearing + Angle::radians(along / arc.radius_mm);
            let centred = Affine::translate((-middle, -setting.height_mm / 2.0));
            path.extend(placing(arc.radius_mm, bearing, arc.facing) * centred * &letter.path);
        }
        let region = filled(&path, Rule::NonZero)?;
        if region.is_empty() { Err(LetteringError::Blank) } else { Ok(region) }
    }
}
