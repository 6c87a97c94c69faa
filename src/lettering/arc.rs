//! Labels on bearings, and letters along an arc.

use kurbo::{Affine, BezPath};

use super::contours::filled;
use super::setting::LetterLine;
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
    /// Along the rim, on in the clock's sense: labels read towards the axis.
    Clockwise,
    /// Along the rim, against the clock's sense: labels read away from the axis.
    Anticlockwise,
}

impl Facing {
    /// Whether text that runs round the axis is bent, rather than placed whole.
    pub fn bends(self) -> bool {
        matches!(self, Self::Outward | Self::Inward)
    }

    /// What the language calls it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Outward => "outward",
            Self::Inward => "inward",
            Self::Upright => "upright",
            Self::Clockwise => "clockwise",
            Self::Anticlockwise => "anticlockwise",
        }
    }

    /// The bearing that the tops of letters at `bearing` point to.
    pub fn tops(self, bearing: Angle) -> Angle {
        match self {
            Self::Outward => bearing,
            Self::Inward => bearing + Angle::degrees(180.0),
            Self::Upright => Angle::ZERO,
            Self::Clockwise => bearing + Angle::degrees(90.0),
            Self::Anticlockwise => bearing - Angle::degrees(90.0),
        }
    }
}

/// The arc that letters run along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// From the turning axis to the middle of the cap height (of a block of lines, to the block's middle), in mm.
    pub radius_mm: f64,
    /// Where the text comes to stand: its middle, or the edge by which it is aligned.
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
        Facing::Upright => Affine::IDENTITY,
        _ => turn(facing.tops(bearing)),
    };
    Affine::translate(polar(radius_mm, bearing).to_vec2()) * turned
}

impl Typeface {
    /// Sets a text letter by letter along an arc.
    ///
    /// The letters keep their kerned advances, measured along the circle through the middle of the cap height,
    /// and each stands square to the radius through the middle of its own advance. The middle of the ink, as
    /// it would be set straight, comes to the bearing, or the edge that `setting.align` says. Outward text runs
    /// clockwise, inward text the other way, so that each reads from left to right; further lines stand on further
    /// circles. Letters are never joined into ligatures. Text that faces any other way is not bent, for its letters
    /// would climb over one another: the straight word is placed whole.
    ///
    /// `setting.fit_mm` is measured along the circle.
    ///
    /// # Errors
    /// As [`Typeface::set`], and [`LetteringError::LongerThanCircle`].
    pub fn along_arc(&self, text: &str, setting: &Setting, arc: &Arc) -> Result<Region, LetteringError> {
        setting.checked(text)?;
        positive_radius(arc.radius_mm)?;
        // Upright or along the rim, letters that follow a circle would climb over one another.
        if !arc.facing.bends() {
            let word = self.set(text, setting)?;
            return Ok(place_label(&word.ink, arc.radius_mm, arc.bearing, arc.facing));
        }
        if setting.underlined {
            return Err(LetteringError::BentUnderline);
        }
        // Without ligatures: one glyph for three letters cannot be bent.
        let path = bent(setting, arc, |setting| self.lines(text, setting, false))?;
        let region = filled(&path, Rule::NonZero)?;
        if region.is_empty() { Err(LetteringError::Blank) } else { Ok(region) }
    }
}

pub(super) fn positive_radius(value: f64) -> Result<f64, LetteringError> {
    match value > 0.0 {
        true => Ok(value),
        false => Err(GeometryError::NotPositive { what: "radius", value }.into()),
    }
}

/// Lines on their circles, letter by letter. `lines_at` makes them for a setting: once more where they must shrink.
pub(super) fn bent(
    setting: &Setting,
    arc: &Arc,
    lines_at: impl Fn(&Setting) -> Result<Vec<LetterLine>, LetteringError>,
) -> Result<BezPath, LetteringError> {
    let mut lines = lines_at(setting)?;
    let widest = lines.iter().filter_map(|line| line.ink).map(|ink| ink.width()).fold(0.0, f64::max);
    let shrink = setting.fit_mm.map_or(1.0, |fit| (fit / widest).min(1.0));
    let setting =
        Setting { height_mm: setting.height_mm * shrink, tracking_mm: setting.tracking_mm * shrink, ..*setting };
    // Made anew and not scaled: the circle keeps its radius, so the letters' bearings change with their size.
    if shrink < 1.0 {
        lines = lines_at(&setting)?;
    }
    let drop = setting.line_spacing * setting.height_mm;
    // A further line stands below the one before it as one reads: nearer to the axis outward, farther from it inward.
    let down = if arc.facing == Facing::Inward { 1.0 } else { -1.0 };
    let mut path = BezPath::new();
    #[allow(clippy::cast_precision_loss, reason = "a text has few lines")]
    for (at, line) in lines.iter().enumerate() {
        let below_middle = drop * (at as f64 - (lines.len() as f64 - 1.0) / 2.0);
        let arc = Arc { radius_mm: positive_radius(arc.radius_mm + down * below_middle)?, ..*arc };
        bend(line, &setting, &arc, &mut path)?;
    }
    Ok(path)
}

/// Adds the letters of one line, each in its place on the circle.
fn bend(line: &LetterLine, setting: &Setting, arc: &Arc, path: &mut BezPath) -> Result<(), LetteringError> {
    let Some(ink) = line.ink else { return Ok(()) };
    let circumference_mm = std::f64::consts::TAU * arc.radius_mm;
    if ink.width() > circumference_mm {
        return Err(LetteringError::LongerThanCircle { length_mm: ink.width(), circumference_mm });
    }
    let clockwise = if arc.facing == Facing::Inward { -1.0 } else { 1.0 };
    let origin = setting.align.of(line, ink);
    for letter in &line.letters {
        let middle = (letter.from + letter.to) / 2.0;
        let bearing = arc.bearing + Angle::radians(clockwise * (middle - origin) / arc.radius_mm);
        let centred = Affine::translate((-middle, -setting.height_mm / 2.0));
        path.extend(placing(arc.radius_mm, bearing, arc.facing) * centred * &letter.path);
    }
    Ok(())
}
