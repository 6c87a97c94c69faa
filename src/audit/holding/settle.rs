//! Where a turn that is let go rests farther off than what is read across it bears.

use super::findings as say;
use super::{Holding, LEVELS, StopRest, TurnHolding, pulls};
use crate::audit::turning::{CheckedReading, CheckedStop, ReadingCheck};
use crate::design::{Design, Turn};
use crate::diagnostics::{Diagnostic, Problems, Severity};
use crate::physics::friction::{Basis, Coefficient};
use crate::units::Length;

/// What is wrong with where turns rest, once it is known how much their readings bear.
pub(in crate::audit) fn settled(design: &Design, holding: &Holding, check: &ReadingCheck) -> Problems {
    let turns = || {
        design.turns().enumerate().filter_map(|(at, (below, turn))| {
            Some((at, turn, holding.turns.iter().find(|found| found.below == below)?))
        })
    };
    let mut problems = Problems::default();
    problems.extend(turns().filter_map(|(at, turn, found)| off_stop(design, (at, turn, found), check)));
    problems.extend(off_axis(design, &turns().collect::<Vec<_>>(), check));
    problems
}

/// How bad it is: friction that was measured varies so among the dials of a run, and friction of tables may be anywhere in its
/// range, but no more than one place of it is true.
fn severity(surely: bool, friction: Coefficient) -> Severity {
    if surely || friction.basis == Basis::Measured { Severity::Warning } else { Severity::Advice }
}

/// The stop of a turn at which the least friction leaves it too far off.
fn off_stop(
    design: &Design,
    (at, turn, found): (usize, &Turn, &TurnHolding),
    check: &ReadingCheck,
) -> Option<Diagnostic> {
    let held = found.magnets.as_ref()?;
    let (rings, clicks) = (held.clicks.as_ref()?, turn.clicks.as_ref()?);
    let mut short: Vec<say::OffStop> = Vec::new();
    for (reading, stop) in
        check.readings.iter().flat_map(|reading| reading.stops.iter().map(move |stop| (reading, stop)))
    {
        let place = reading.turns.iter().position(|turn| *turn == at);
        let Some(rest) = place.and_then(|place| rings.rests.get(*stop.stops.get(place)?)) else { continue };
        // A stop that never clicks has its own finding, and so has one that misreads as it stands.
        if let Some(level) = fails_from(rest, stop).filter(|_| stop.reads && rest.band(0.0).is_some()) {
            short.push(say::OffStop { reading, stop, rest, level });
        }
    }
    let count =
        short.iter().map(|it| it.rest.stop.as_degrees().to_bits()).collect::<std::collections::BTreeSet<_>>().len();
    let slack = |it: &say::OffStop| it.stop.angular_slack().as_degrees();
    let worst = short.into_iter().min_by(|a, b| a.level.cmp(&b.level).then(slack(a).total_cmp(&slack(b))))?;
    let severity = severity(worst.level == 0, held.coefficient);
    Some(say::rests_off_stop(clicks, (&worst, count, rings.rests.len()), severity, upper(design, found)))
}

/// The first level of friction at which a stop rests farther off than its reading bears, or does not click.
fn fails_from(rest: &StopRest, stop: &CheckedStop) -> Option<u8> {
    (0..LEVELS).find(|level| {
        let band = rest.band(f64::from(*level) / f64::from(LEVELS - 1));
        band.is_none_or(|band| -band.stays.0 > stop.slack.0 || band.stays.1 > stop.slack.1)
    })
}

/// The reading that bears least of how far off the axis the turns that it is read across may rest.
fn off_axis(design: &Design, turns: &[(usize, &Turn, &TurnHolding)], check: &ReadingCheck) -> Option<Diagnostic> {
    let worst = |reading: &CheckedReading| {
        let stops = reading.stops.iter().filter(|stop| stop.reads);
        stops.filter_map(CheckedStop::near_centring_slack).reduce(|one, other| if other < one { other } else { one })
    };
    let short = check.readings.iter().filter_map(|reading| {
        // A reading that bears nothing has a fault of its own.
        let bears = worst(reading)?;
        let across: Vec<_> = turns.iter().filter(|(at, ..)| reading.turns.contains(at)).collect();
        let rests = across.iter().map(|(_, _, found)| found.off_axis.range());
        let (least, most) = rests.fold((Length::ZERO, Length::ZERO), |all, one| (all.0 + one.0, all.1 + one.1));
        let (_, turn, found) = **across.first()?;
        let friction = found.magnets.as_ref()?.coefficient;
        (bears > Length::ZERO && most > bears).then_some((
            reading,
            turn,
            found,
            say::OffAxis { bears, rests: (least, most) },
            friction,
        ))
    });
    let over = |it: &say::OffAxis| it.rests.0.as_mm() / it.bears.as_mm().max(f64::MIN_POSITIVE);
    let (reading, turn, found, off, friction) = short.max_by(|a, b| over(&a.3).total_cmp(&over(&b.3)))?;
    let severity = severity(off.rests.0 > off.bears, friction);
    let reach = pulls::surely(design.spreads.depth);
    Some(say::rests_off_axis(turn, reading, &off, (severity, reach), upper(design, found)))
}

fn upper<'d>(design: &'d Design, found: &TurnHolding) -> &'d str {
    design.layers.get(found.below + 1).map_or("", |layer| layer.name.as_str())
}
