//! What is said of readings that fail.

use kurbo::Point;

use super::aslant::{ASIDE, Amiss, READABLE};
use super::elsewhere::{Cause, SeenElsewhere};
use super::mends::Mending;
use super::spares::Enough;
use super::yields::{Share, Spread};
use super::{CheckedStop, SeenMark, upright};
use crate::design::{Design, Laid, Reading, ReadsHow, Ring, Run};
use crate::diagnostics::{Diagnostic, Finding, Severity, counted};
use crate::source::Span;
use crate::units::{Angle, Length, percent, percent_of, plain};

/// The failing stops of one reading: the worst of them, and how many there are of how many.
#[derive(Clone)]
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
    /// Whether the ring lies above what it is read by.
    pub ring_above: bool,
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
        Mending::Narrow(by_side) => format!("make {by} at least {} narrower and lower", *by_side * 2.0),
        Mending::Lower(height) => format!("write `height {height}` in the ring `{ring}`"),
        Mending::Open(layer) => format!(
            "cut an opening like {by} through the layer `{layer}` as well, with a name of its own, and add that name to \
            the reading"
        ),
        Mending::Runs(way) => format!("write `runs {}` in the ring `{ring}`", way.word()),
        Mending::Facing(facing) => format!("write `facing {}` in the ring `{ring}`", facing.word()),
    }
}

fn quoted(names: &[String]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(" and ")
}

/// The due label is covered, wholly or in part.
pub fn hidden(failing: &Failing, visible: f64, area: f64, depth: Length, mend: Option<&Mending>) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let (severity, message) = if visible <= 0.0 {
        (Severity::Error, format!("at {stop} nothing of `{due}` shows through {by}"))
    } else {
        let share = percent_of(area - visible, area, 1);
        let severity = if visible < READABLE * area { Severity::Error } else { Severity::Warning };
        (severity, format!("at {stop} {share} of `{due}` is hidden, {depth} deep at the worst place"))
    };
    let help = mend.map_or_else(|| agreeing(failing), |mend| mending(failing.reading, mend));
    failing.diagnostic(severity, Finding::ReadingHidden, message).help(help)
}

/// Another label shows.
pub fn wrong(failing: &Failing, shown: &str, mend: Option<&Mending>) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let how = if failing.reading.how == ReadsHow::Through { "shows through" } else { "stands beside" };
    let message = format!("at {stop} `{shown}` {how} {by}, but `{due}` is due");
    let help = mend.map_or_else(|| agreeing(failing), |mend| mending(failing.reading, mend));
    failing.diagnostic(Severity::Error, Finding::ReadingWrong, message).help(help)
}

/// What must hold, where no single change would do.
fn agreeing(failing: &Failing) -> String {
    let what = if failing.reading.how == ReadsHow::Through { "opening" } else { "pointer" };
    // A ring above its turn is carried on by it, and its labels come round the other way.
    let way = if failing.ring_above { "less" } else { "plus" };
    format!(
        "a label's bearing must be the {what}'s bearing {way} its stop, and it must stand as far out: give the ring \
        `bearings` or the turn `stops` that agree"
    )
}

/// At every stop at least so many other labels show as whole as the due one.
pub fn all_show(failing: &Failing, others: usize, mend: Option<&Mending>) -> Diagnostic {
    let (by, of) = (failing.by(), failing.of);
    let others = counted(others, "other label");
    let message =
        format!("at each of {of} stops at least {others} show whole through {by}, and nothing tells which is due");
    let alone = Failing { count: 1, ..failing.clone() };
    let otherwise = || {
        format!(
            "cut {by} so that it shows one label at each stop, or let a hand point at it: `reads {} beside HAND`",
            failing.reading.ring
        )
    };
    let help = mend.map_or_else(otherwise, |mend| mending(failing.reading, mend));
    alone.diagnostic(Severity::Error, Finding::ReadingShared, message).help(help)
}

/// Another label shows beside the due one.
pub fn shared(
    failing: &Failing,
    ink: &str,
    origin: Span,
    depth: Length,
    area: f64,
    mend: Option<&Mending>,
) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let seen = if area > 0.0 { format!(" ({}mm²)", plain(area, 3)) } else { String::new() };
    let message = format!("at {stop} `{ink}` reaches {depth} into {by}{seen} beside `{due}`");
    let found = failing.diagnostic(Severity::Warning, Finding::ReadingShared, message);
    let found = if origin == failing.label { found } else { found.label(origin, "this shows as well") };
    let otherwise = || format!("make {by} narrower on that side, or give the ring fewer labels");
    found.help(mend.map_or_else(otherwise, |mend| mending(failing.reading, mend)))
}

/// A mark that is no label shows beside the due one. The openings see a band round the axis, given in mm.
pub fn marked(failing: &Failing, mark: &SeenMark, band: (f64, f64)) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let what = if mark.says.is_empty() { "another mark".to_owned() } else { format!("`{}`", mark.says) };
    let seen = if mark.area > 0.0 { format!(" ({}mm²)", plain(mark.area, 3)) } else { String::new() };
    let message = format!("at {stop} {what} reaches {} into {by}{seen} beside `{due}`", mark.depth);
    let (ring, band) = (&failing.reading.ring, from_axis(band));
    failing
        .diagnostic(Severity::Warning, Finding::ReadingShared, message)
        .label(mark.origin, "this shows as well")
        .help(format!(
            "keep it out of what {by} passes over, {band}; where it is meant to show: `accept reading-shared on {ring} \
            \"REASON\"`"
        ))
}

/// A label shows outside what its ring is read through. The ring's ink lies in a band round the axis, given in mm.
pub fn elsewhere(failing: &Failing, seen: &SeenElsewhere, cause: Option<&Cause>, band: (f64, f64)) -> Diagnostic {
    let (stop, by, ring) = (&failing.stop, failing.by(), &failing.reading.ring);
    let share = percent(seen.part, 1);
    let area = plain(seen.area, 2);
    let message = format!(
        "at {stop} {share} of `{}` ({area}mm²) shows outside {by}, where a player may take it for the reading",
        seen.says
    );
    let severity = if seen.part >= READABLE { Severity::Warning } else { Severity::Advice };
    let found = failing.diagnostic(severity, Finding::ShowsElsewhere, message).spot(seen.at);
    let (most, band) = (Length::mm((10.0 * band.1).ceil() / 10.0), from_axis(band));
    match cause {
        Some(Cause::Opening(name, origin)) => {
            let what = name.map_or("this opening".to_owned(), |name| format!("`{name}`"));
            let found = found.label(*origin, "shows through this");
            found.help(format!("keep {what} out of the labels' band, {band}, or let a layer lie under it"))
        }
        Some(Cause::Rim(layer)) => {
            let found = found.label(layer.outline_origin, "reaches no farther");
            found.help(format!(
                "let `{}` cover the labels of `{ring}` all round: their band lies {band}, so an edge that keeps {most} \
                from the axis is enough",
                layer.name
            ))
        }
        Some(Cause::Clear(layer)) => {
            let found = found.label(layer.origin, "is clear");
            found.help(format!("paint `{}` over the labels' band, {band}, and leave {by} bare", layer.name))
        }
        None => found.help(format!("cover the labels' band, {band}, but for {by}")),
    }
}

/// A band round the axis in words.
fn from_axis((inner, outer): (f64, f64)) -> String {
    // Outwards, so that what keeps out of the band as told keeps out of it.
    let [from, to] = [(10.0 * inner).floor() / 10.0, (10.0 * outer).ceil() / 10.0].map(Length::mm);
    format!("from {from} to {to} from the axis")
}

/// A reading that stands on its head or lies on its side for the holder. What shows which way up the dial is held is another ring
/// that stands `upright`, or else other lettering. The mend either fits the opening or asks for lower labels.
pub fn not_upright(
    failing: &Failing,
    worst: &CheckedStop,
    severity: Severity,
    upright: Option<&str>,
    (mend, fits, tilted): (&Mending, bool, bool),
) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let turned = worst.stands.map_or(0.0, |stands| stands.as_degrees());
    let how = if turned.abs() > upright::ON_ITS_HEAD { "stands upside down" } else { "lies on its side" };
    let way = if turned < 0.0 { "anticlockwise" } else { "clockwise" };
    let against = match (upright, severity) {
        (Some(ring), _) => format!(", where `{ring}` stands upright"),
        (None, Severity::Warning) => ", while other lettering shows how the dial is held".to_owned(),
        (None, _) => String::new(),
    };
    let message = format!("at {stop} `{due}` {how} in {by}, turned {}deg {way}{against}", plain(turned.abs(), 1));
    let help = match mend {
        Mending::Facing(facing) if tilted => {
            format!("leave `tilt` out of the ring `{}` and write `facing {}`", failing.reading.ring, facing.word())
        }
        _ => mending(failing.reading, mend),
    };
    let help = if fits { help } else { format!("{help}, and lower labels, which then fit") };
    failing.diagnostic(severity, Finding::NotUpright, message).help(help)
}

/// Two combinations of stops that read alike.
pub fn stops_alike(ring: &Ring, (says, one): (&str, &str), (again, other): (&str, &str)) -> Diagnostic {
    let message = if says == again {
        format!("{says} is due at {one} and again at {other}, and nothing tells the two apart")
    } else {
        format!("{says} is due at {one} and {again} at {other}, and the two look alike")
    };
    Diagnostic::advice(Finding::StopsAlike, message)
        .label(ring.origin, "has the same label twice")
        .about(&ring.name)
        .help("give each stop a label of its own, or a second ring that tells the stops apart")
}

/// Two rings read across one turn, of which the first goes on as its stops go up and the second goes back, with what either shows
/// at its stops.
pub fn rings_run_apart(
    reading: &Reading,
    [up, down]: [&Ring; 2],
    stops: [&[CheckedStop]; 2],
    mend: Option<&Mending>,
) -> Diagnostic {
    let [on, back] = stops.map(|stops| {
        let says = stops.iter().map(|stop| stop.due_says.as_str());
        let mut says: Vec<&str> = says.fold(Vec::new(), |mut all, one| {
            if all.last() != Some(&one) {
                all.push(one);
            }
            all
        });
        says.truncate(3);
        says.join(", ")
    });
    let (up_name, down_name) = (&up.name, &down.name);
    let message = format!(
        "the rings `{up_name}` and `{down_name}` run against each other: as the stops go up, one shows {on} … and the other {back} …"
    );
    let stated =
        format!("state what is meant with `expect shows({}) is […]`", reading.by.first().map_or("", String::as_str));
    let help = match mend {
        Some(mend) if down.laid == Laid::AtBearings => {
            format!("{} in place of its `bearings`, or {stated}", mending(reading, mend))
        }
        Some(mend) => format!("{}, or {stated}", mending(reading, mend)),
        None => stated,
    };
    Diagnostic::advice(Finding::RingsRunApart, message)
        .label(down.origin, "goes back")
        .label(up.origin, "goes on")
        .about(down_name)
        .help(help)
}

/// Labels that show whole, but stand nearer to the edge of the opening than the shop asks.
pub fn near_opening(failing: &Failing, margin: Length, clear: Length, mend: Option<&Mending>) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let margin = Length::mm(margin.as_mm().max(0.0));
    let message =
        format!("at {stop} `{due}` stands {margin} from the edge of {by}, less than the {clear} of `clear_opening`");
    let otherwise = || format!("make {by} larger, or the labels lower");
    failing
        .diagnostic(Severity::Advice, Finding::LabelNearOpening, message)
        .help(mend.map_or_else(otherwise, |mend| mending(failing.reading, mend)))
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

/// What reads right straight on, and not from aside. Who sees too little looks from nearer to straight on; who sees another label
/// has no cause to.
pub fn aslant(failing: &Failing, amiss: Amiss, shown: &str, until: Angle) -> Diagnostic {
    let (due, stop, by) = (failing.due, &failing.stop, failing.by());
    let from = format!("from {ASIDE} off straight on");
    let until = plain((10.0 * until.as_degrees()).floor() / 10.0, 1);
    let reads = format!("it reads right up to {until}deg off");
    let (severity, message, help) = match amiss {
        Amiss::Points => (
            Severity::Warning,
            format!("{from}, {by} stands nearer to another label than to `{due}` at {stop}: {reads}"),
            "take a thinner layer for the pointer, fewer labels, or a pointer that reaches farther out",
        ),
        Amiss::Shows(_) => (
            Severity::Warning,
            format!("{from}, half of `{shown}` or more shows through {by} at {stop}, where `{due}` is due: {reads}"),
            "bring the opening nearer to the ring, with fewer or thinner layers between them",
        ),
        Amiss::Hidden => (
            Severity::Advice,
            format!(
                "{from}, less than half of `{due}` shows through {by} at {stop}, and all of it up to {until}deg off"
            ),
            "take thinner layers over the ring, or leave more room round the labels",
        ),
    };
    failing.diagnostic(severity, Finding::ReadingAslant, message).help(help)
}

/// A run that is likely to end with fewer dials than are wanted.
pub fn spares_too_few(run: &Run, origin: Span, reads: Share, enough: &Enough) -> Diagnostic {
    let wanted = counted_in(run.dials, "dial");
    let made =
        if run.spares > 0 { format!("with {}", counted_in(run.spares, "spare")) } else { "without spares".into() };
    let message = format!(
        "{reads} of dials read right at every stop, so {wanted} {made} come to {} that do in {} of such runs",
        run.dials, enough.share
    );
    let help = match enough.spares {
        Some(spares) => {
            format!("write `spares {spares}`, which is enough in 95 of 100 such runs, or make the reading surer")
        }
        None => "make the reading surer: no run is large enough for so many that misread".to_owned(),
    };
    Diagnostic::warning(Finding::SparesTooFew, message).label(origin, "too few are made").help(help)
}

fn counted_in(count: u32, word: &str) -> String {
    counted(usize::try_from(count).unwrap_or(usize::MAX), word)
}

/// A label that is seen upside down, where it reads as another of its ring; none reads a ring that lies open.
pub fn upside_down_twin(ring: &Ring, says: &str, reads_as: &str, reading: Option<&Reading>) -> Diagnostic {
    let name = &ring.name;
    let message = format!(
        "`{says}` of ring `{name}` is seen upside down and then reads as `{reads_as}`, which the ring also has"
    );
    let found = Diagnostic::advice(Finding::UpsideDownTwin, message).label(ring.origin, "has both");
    let found = reading.into_iter().fold(found, |found, reading| found.label(reading.origin, "read here"));
    let written = |says: &str| {
        let is_number = says.bytes().all(|byte| byte.is_ascii_digit());
        if is_number { says.to_owned() } else { format!("\"{says}\"") }
    };
    found.about(name).help(format!(
        "show which way up they are: write `underlined [{}, {}]` in the ring `{name}`",
        written(says),
        written(reads_as)
    ))
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
