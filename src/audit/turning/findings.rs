//! What is said of readings that fail.

use kurbo::Point;

use super::yields::{Share, Spread};
use crate::design::{Design, Reading, ReadsHow, Ring};
use crate::diagnostics::{Diagnostic, Finding, Severity};
use crate::source::Span;
use crate::units::{Angle, Length, percent_of, plain};

/// The failing stops of one reading: the worst of them, and how many there are of how many.
pub struct Failing<'a> {
    /// The reading.
    pub reading: &'a Reading,
    /// The worst stop in words: "stop 3 (72deg)".
    pub stop: String,
    /// Failing stops.
    pub count: usize,
    /// All stops.
    pub of: usize,
    /// What the due label says.
    pub due: &'a str,
    /// What asked for the due label.
    pub label: Span,
    /// What asked for the opening or pointer.
    pub opening: Span,
    /// The worst place, on the ring's layer.
    pub spot: Point,
}

impl Failing<'_> {
    fn others(&self) -> String {
        match self.count - 1 {
            0 => String::new(),
            1 => format!("; one more of {} stops is like it", self.of),
            more => format!("; {more} more of {} stops are like it", self.of),
        }
    }

    fn by(&self) -> String {
        quoted(&self.reading.by)
    }

    fn diagnostic(&self, severity: Severity, finding: Finding, message: String) -> Diagnostic {
        let message = format!("{message}{}", self.others());
        let made = match severity {
            Severity::Error => Diagnostic::error(finding, message),
            Severity::Warning => Diagnostic::warning(finding, message),
            Severity::Advice => Diagnostic::advice(finding, message),
        };
        let how = if self.reading.how == ReadsHow::Through { "read through this" } else { "read beside this" };
        let label = format!("`{}` is due at {}", self.due, self.stop);
        made.label(self.label, label).label(self.opening, how).about(&self.reading.ring).spot(self.spot)
    }
}

/// How a ring should be changed so that its labels stand where they are read.
pub enum Mending {
    /// Turned clockwise by this.
    Turn(Angle),
    /// Moved to this radius.
    Radius(Length),
    /// The opening is too small by this on either side.
    Widen(Length),
}

fn mending(reading: &Reading, mend: &Mending) -> String {
    let (ring, by) = (&reading.ring, quoted(&reading.by));
    match mend {
        Mending::Turn(by) => format!(
            "turn the ring `{ring}` by {}deg {}, with `first` or `bearings`",
            plain(by.as_degrees().abs(), 2),
            if by.as_degrees() > 0.0 { "clockwise" } else { "anticlockwise" }
        ),
        Mending::Radius(radius) => format!("write `radius {radius}` in the ring `{ring}`"),
        Mending::Widen(by_side) => {
            format!("make {by} at least {} wider and higher, or the labels smaller", *by_side * 2.0)
        }
    }
}

fn quoted(names: &[String]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(" and ")
}

/// The due label is covered, wholly or in part.
pub fn hidden(failing: &Failing, visible: f64, area: f64, depth: Length, mend: &Mending) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let (severity, message) = if visible <= 0.0 {
        (Severity::Error, format!("at {stop} nothing of `{due}` shows through {by}"))
    } else {
        let share = percent_of(area - visible, area, 1);
        (Severity::Warning, format!("at {stop} {share} of `{due}` is hidden, {depth} deep at the worst place"))
    };
    let help = mending(failing.reading, mend);
    failing.diagnostic(severity, Finding::ReadingHidden, message).help(help)
}

/// Another label shows.
pub fn wrong(failing: &Failing, shown: &str, mend: Option<&Mending>) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let how = if failing.reading.how == ReadsHow::Through { "shows through" } else { "stands beside" };
    let message = format!("at {stop} `{shown}` {how} {by}, but `{due}` is due");
    let otherwise = || {
        "a label's bearing must be the opening's bearing plus its stop: give the ring `bearings` or the turn \
        `stops` that agree"
            .to_owned()
    };
    let help = mend.map_or_else(otherwise, |mend| mending(failing.reading, mend));
    failing.diagnostic(Severity::Error, Finding::ReadingWrong, message).help(help)
}

/// Ink that is not due shows beside the due label.
pub fn shared(failing: &Failing, ink: &str, origin: Span, depth: Length, area: f64) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let what = if ink.is_empty() { "another mark".to_owned() } else { format!("`{ink}`") };
    let seen = if area > 0.0 { format!(" ({}mm²)", plain(area, 3)) } else { String::new() };
    let message = format!("at {stop} {what} reaches {depth} into {by}{seen} beside `{due}`");
    let found = failing.diagnostic(Severity::Warning, Finding::ReadingShared, message);
    let found = if origin == failing.label { found } else { found.label(origin, "this shows as well") };
    found.help(format!("make {by} at least {depth} narrower on that side, or give the ring lower or fewer labels"))
}

/// The pointer is covered.
pub fn pointer_covered(failing: &Failing, depth: Length) -> Diagnostic {
    let message = format!("at {} {} is covered, {depth} deep at the worst place", failing.stop, failing.by());
    failing
        .diagnostic(Severity::Warning, Finding::ReadingCovered, message)
        .help("put the pointer on the uppermost layer, or cut an opening over it")
}

/// Too few dials read right within the shop's spreads: `whole` at every stop, where they do as drawn.
pub fn unsure(
    failing: &Failing,
    severity: Severity,
    share: Share,
    whole: Option<Share>,
    matters_most: Option<Spread>,
) -> Diagnostic {
    let (due, stop) = (failing.due, &failing.stop);
    let message = match whole {
        Some(whole) => {
            format!("{whole} of dials read right at every stop, and {share} at {stop}, where `{due}` is due")
        }
        None => format!("{share} of dials read right at {stop}, where `{due}` is due"),
    };
    let help = match matters_most {
        Some(spread) => format!("{} matters most: lessen it, or leave more room round the labels", spread.name()),
        None => "leave more room round the labels".to_owned(),
    };
    failing.diagnostic(severity, Finding::ReadingUnsure, message).help(help)
}

/// A label that is seen upside down, where it reads as another of its ring; none reads a ring that lies open.
pub fn upside_down_twin(ring: &Ring, says: &str, reads_as: &str, reading: Option<&Reading>) -> Diagnostic {
    let name = &ring.name;
    let message = format!(
        "`{says}` of ring `{name}` is seen upside down and then reads as `{reads_as}`, which the ring also has"
    );
    let found = Diagnostic::advice(Finding::UpsideDownTwin, message).label(ring.origin, "has both");
    let found = reading.into_iter().fold(found, |found, reading| found.label(reading.origin, "read here"));
    found.about(name).help(format!("show which way up they are, as in `\"{says}.\"` and `\"{reads_as}.\"`"))
}

/// An opening that lies on the side of the ring that nobody looks at.
pub fn wrong_side(design: &Design, reading: &Reading, opening: &str) -> Diagnostic {
    let ring = &reading.ring;
    let message = format!("the ring `{ring}` cannot be read through `{opening}`, which does not lie over its face");
    let found = Diagnostic::error(Finding::ReadingCovered, message).label(reading.origin, "asked for here");
    let found = design.ring(ring).into_iter().fold(found, |found, (_, ring)| found.label(ring.origin, "the ring"));
    let found =
        design.mark(opening).into_iter().fold(found, |found, (_, mark)| found.label(mark.origin, "the opening"));
    found
        .about(ring)
        .help("put the layer with the opening nearer to the player in the `stack`, or the ring on the other face")
}

/// More combinations of stops than are proven.
pub fn too_many_stops(reading: &Reading, count: usize, most: usize) -> Diagnostic {
    let ring = &reading.ring;
    Diagnostic::error(
        Finding::TooManyStops,
        format!("the reading of `{ring}` has {count} combinations of stops, and at most {most} are proven"),
    )
    .label(reading.origin, "this crosses all those turns")
    .about(ring)
    .help("give the turns fewer `stops`, or read the ring through an opening that crosses fewer turns")
}
