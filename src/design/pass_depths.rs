//! How deep a pocket gets, pass by pass.

use crate::statistics::{FittedLine, Mean};
use crate::units::Length;

/// A pocket that much shallower than wanted is as deep as wanted: half the step that a calliper reads (common practice, no
/// source).
const NO_DIFFERENCE_MM: f64 = 0.005;

/// A line serves where it misses no pass's mean depth by more than this share of what one pass takes: half of the error that
/// choosing whole passes makes anyway (common practice, no source).
const STRAIGHT: f64 = 0.25;

/// Pocket depths measured after 1, 2 … passes. Nothing is ever extrapolated beyond the last measured one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PassDepths {
    readings: Vec<Vec<Length>>,
    line: Option<FittedLine>,
}

/// A number of passes, and how deep they go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passes {
    /// How many.
    pub count: usize,
    /// How deep they go: on the line through all readings, or the mean of those after so many passes where no line serves.
    pub reach: Length,
    /// Half the 95 % interval of the depth of one further pocket; none where no line serves.
    pub within: Option<Length>,
}

/// `4 passes, 1.617mm ± 0.072mm`, or `4 passes, 1.62mm` where no line serves.
impl std::fmt::Display for Passes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}, {}", self.counted(), self.reach)?;
        self.within.map_or(Ok(()), |within| write!(f, " ± {within}"))
    }
}

impl Passes {
    /// `4 passes`.
    pub fn counted(&self) -> String {
        if self.count == 1 { "1 pass".to_owned() } else { format!("{} passes", self.count) }
    }
}

impl PassDepths {
    /// From the readings after 1, 2 … passes, one list for each.
    pub fn new(readings: Vec<Vec<Length>>) -> Self {
        // A line serves only where depths follow it. Where they bend, each pass stands by its own mean and without an
        // interval: one reckoned from a line that does not fit would promise too much.
        let line = FittedLine::through(&points(&readings)).filter(|line| bend(&readings, line) <= STRAIGHT);
        Self { readings, line }
    }

    /// The readings after 1, 2 … passes.
    pub fn readings(&self) -> &[Vec<Length>] {
        &self.readings
    }

    /// The line of least squares through all readings, passes along x, mm along y; none through fewer than three, and none
    /// where the depths bend too far off it.
    pub fn line(&self) -> Option<&FittedLine> {
        self.line.as_ref()
    }

    /// Whether nothing was measured.
    pub fn is_empty(&self) -> bool {
        self.readings.is_empty()
    }

    /// How deep so many passes go; none where that was not measured.
    pub fn after(&self, count: usize) -> Option<Passes> {
        let readings = self.readings.get(count.checked_sub(1)?)?;
        #[allow(clippy::cast_precision_loss, reason = "a handful of passes")]
        let x = count as f64;
        let (reach, within) = match &self.line {
            Some(line) => (line.at(x), Some(Length::mm(line.half_width(x)))),
            None => (mean(readings)?, None),
        };
        Some(Passes { count, reach: Length::mm(reach), within })
    }

    /// The fewest passes that reach a depth; none where the deepest measured ones do not.
    pub fn reaching(&self, depth: Length) -> Option<Passes> {
        // The mean is compared, not its lower end: what floor a pocket leaves is judged by itself.
        let reaches = |passes: &Passes| passes.reach.as_mm() >= depth.as_mm() - NO_DIFFERENCE_MM;
        (1..=self.readings.len()).filter_map(|count| self.after(count)).find(reaches)
    }

    /// The deepest pocket that is no deeper than this: by whole passes, or just so deep where none was measured. None where
    /// the first pass goes deeper.
    pub fn within(&self, most: Length) -> Option<Length> {
        if self.is_empty() {
            return (most > Length::ZERO).then_some(most);
        }
        let all = (1..=self.readings.len()).filter_map(|count| self.after(count)).map(|passes| passes.reach);
        all.filter(|reach| *reach <= most).reduce(|one, other| if one < other { other } else { one })
    }

    /// The most passes measured; none where nothing was.
    pub fn deepest(&self) -> Option<Passes> {
        self.after(self.readings.len())
    }

    /// Whether every reading is above zero, and each pass goes deeper than the one before, on average.
    pub fn rises(&self) -> bool {
        let means: Option<Vec<f64>> = self.readings.iter().map(|readings| mean(readings)).collect();
        let above_zero = self.readings.iter().flatten().all(|reading| reading.as_mm() > 0.0);
        above_zero && means.is_some_and(|means| means.iter().zip(means.iter().skip(1)).all(|(one, next)| next > one))
    }
}

/// `0.42mm, 0.83mm`, or `0.42mm and 0.45mm, 0.83mm and 0.88mm` where each was read several times.
impl std::fmt::Display for PassDepths {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let each = self.readings.iter().map(|readings| {
            let words: Vec<String> = readings.iter().map(ToString::to_string).collect();
            words.join(" and ")
        });
        f.write_str(&each.collect::<Vec<_>>().join(", "))
    }
}

/// The farthest that a pass's mean depth lies from the line, as a share of what one pass takes.
fn bend(readings: &[Vec<Length>], line: &FittedLine) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a handful of passes")]
    let off = readings.iter().enumerate().filter_map(|(at, depths)| {
        let x = (at + 1) as f64;
        Some((mean(depths)? - line.at(x)).abs())
    });
    off.fold(0.0, f64::max) / line.slope.abs()
}

fn points(readings: &[Vec<Length>]) -> Vec<(f64, f64)> {
    #[allow(clippy::cast_precision_loss, reason = "a handful of passes")]
    let each = readings.iter().enumerate().flat_map(|(at, depths)| {
        let count = (at + 1) as f64;
        depths.iter().map(move |depth| (count, depth.as_mm()))
    });
    each.collect()
}

fn mean(readings: &[Length]) -> Option<f64> {
    let all: Vec<f64> = readings.iter().map(|reading| reading.as_mm()).collect();
    Mean::of(&all).map(|mean| mean.mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn depths(readings: &[&[f64]]) -> PassDepths {
        PassDepths::new(readings.iter().map(|depths| depths.iter().map(|depth| Length::mm(*depth)).collect()).collect())
    }

    #[test]
    fn nothing_is_said_beyond_the_last_pass() {
        let depths = depths(&[&[0.42, 0.45], &[0.83, 0.88], &[1.27, 1.22], &[1.71, 1.66]]);
        assert_eq!(depths.after(0), None);
        assert_eq!(depths.after(5), None);
        assert_eq!(depths.reaching(Length::mm(1.7)), None);
        assert_eq!(depths.reaching(Length::mm(1.2)).map(|passes| passes.count), Some(3));
        // On the line 4 passes go 1.676 mm deep: 4 µm less than wanted is no difference.
        assert_eq!(depths.reaching(Length::mm(1.68)).map(|passes| passes.count), Some(4));
    }

    #[test]
    fn two_readings_fix_no_line() {
        let depths = depths(&[&[0.42], &[0.83]]);
        assert_eq!(depths.after(2), Some(Passes { count: 2, reach: Length::mm(0.83), within: None }));
    }

    #[test]
    fn a_ladder_that_bends_is_taken_as_read() {
        let depths = depths(&[&[0.5], &[1.0], &[9.0]]);
        assert_eq!(depths.line(), None);
        assert_eq!(depths.after(3), Some(Passes { count: 3, reach: Length::mm(9.0), within: None }));
    }

    #[test]
    fn depths_must_rise_on_average() {
        assert!(depths(&[&[0.42, 0.50], &[0.49, 0.83]]).rises());
        assert!(!depths(&[&[0.42], &[0.40]]).rises());
        assert!(!depths(&[&[0.0], &[0.40]]).rises());
        assert!(!depths(&[&[], &[0.40]]).rises());
    }
}
