//! When what is done: hours from the start, or, where the run is wanted at a moment, the latest moment to begin each step.
//!
//! Steps follow one another, and each takes what the shop states: machine and hands by its speeds and rates, glue by its
//! time to cure. What takes a time that the shop does not state counts as nothing, and the sheet says so.

use crate::design::{Adhesive, Design, Joint, LocalDateTime};
use crate::plan::Plan;
use crate::plan::has_magnets;
use crate::quote::Quote;
use crate::units::Time;

/// A step of the whole run.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stage {
    /// What is done, or waited for.
    pub(super) what: String,
    /// How long it takes; none where the shop does not state it.
    pub(super) takes: Option<Time>,
    /// When it begins, from the start of the run.
    pub(super) begins: Time,
    /// When it must begin at the latest; none where the run is not wanted at a moment.
    pub(super) latest: Option<LocalDateTime>,
}

/// The stages in order, how long they take together, and whether every one of them is known.
pub(super) fn timeline(design: &Design, plan: &Plan, quote: &Quote) -> (Vec<Stage>, Time, bool) {
    let steps = steps(design, plan, quote);
    // What the shop does not state counts as nothing, and `known` lets the sheet say so.
    let length = |takes: &Option<Time>| takes.unwrap_or(Time::ZERO);
    let total = steps.iter().fold(Time::ZERO, |all, (_, takes)| all + length(takes));
    let known = steps.iter().all(|(_, takes)| takes.is_some());
    let mut begins = Time::ZERO;
    let mut stages = Vec::new();
    for (what, takes) in steps {
        // Counted back from the moment the run is wanted at, which is the clock on the wall of the shop: without time
        // zones no crate for dates is needed.
        let latest = design.run.wanted.and_then(|wanted| wanted.earlier(total - begins));
        let next = begins + length(&takes);
        stages.push(Stage { what, takes, begins, latest });
        begins = next;
    }
    (stages, total, known)
}

fn steps(design: &Design, plan: &Plan, quote: &Quote) -> Vec<(String, Option<Time>)> {
    let at_machine = quote.hands.iter().take(2).filter(|hands| hands.times > 0).map(crate::quote::Hands::time);
    let machine = at_machine.chain([quote.machine]).try_fold(Time::ZERO, |all, one| Some(all + one?));
    let boards = plan.boards.len();
    let mut steps = vec![(format!("Engrave and cut {}", crate::diagnostics::counted(boards, "board")), machine)];
    let glued_in = glues_of_what_is_set_in(design);
    if let Some((names, cure)) = longest(&glued_in) {
        let pins = design.turns().any(|(_, turn)| turn.ends.is_some());
        let what = match (has_magnets(design), pins) {
            (true, false) => "Glue in the magnets, test their poles",
            (true, true) => "Glue in the magnets, test their poles, glue in the pins",
            (false, _) => "Glue in the pins",
        };
        steps.push((format!("{what}, let {names} cure"), Some(cure)));
    }
    let layers: Vec<&Adhesive> = design
        .joints
        .iter()
        .filter_map(|joint| match joint {
            Joint::Glue(glue) => Some(&glue.adhesive),
            Joint::Turn(_) => None,
        })
        .collect();
    if let Some((names, cure)) = longest(&layers) {
        let goes = super::wheels::goes(design);
        let each = if goes > 1 { format!(" each of {goes} times") } else { String::new() };
        steps.push((format!("Glue the layers under weight, let {names} cure{each}"), Some(cure * f64::from(goes))));
    }
    let dials = quote.hands.get(2).and_then(crate::quote::Hands::time);
    steps.push(("Finish, assemble and check the dials".to_owned(), dials));
    steps
}

fn glues_of_what_is_set_in(design: &Design) -> Vec<&Adhesive> {
    let mut all = Vec::new();
    for (_, turn) in design.turns() {
        all.extend(turn.pivot.discs().filter_map(|disc| disc.adhesive.as_ref()));
        all.extend(turn.ends.iter().filter_map(|ends| ends.pin.adhesive.as_ref()));
        all.extend(turn.clicks.iter().filter_map(|clicks| clicks.magnet.adhesive.as_ref()));
    }
    all
}

/// The names of adhesives, each once, and the longest time that one of them cures; none where there are none.
fn longest(all: &[&Adhesive]) -> Option<(String, Time)> {
    let cure = all.iter().map(|glue| glue.cure).reduce(|a, b| if b > a { b } else { a })?;
    let mut names: Vec<&str> = all.iter().map(|glue| glue.name.as_str()).collect();
    names.dedup();
    Some((names.join(" and "), cure))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::{Request, analyse};
    use crate::project::MemoryProject;

    const DIAL: &str = r#"dial "Ferry"
outline circle(diameter: 60mm)
layer base of birch { engrave ring points { labels 0 to 9 } }
layer core of birch { window eye = circle(diameter: 14mm) at polar(20mm, 0deg) }
layer cover of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }
stack { base; turn on magnets(disc); core; glue pva; cover }
reads points through peep
run 4 { wanted "2026-12-04 18:00" }
shop "Quay"
stock birch { thickness 3mm; board 300mm by 300mm; kerf 0.15mm; passes [0.5mm, 1mm, 1.5mm, 2mm]; cut_speed 10mm / 1s; engrave_speed 200mm / 1s; line_spacing 0.1mm }
magnet disc { diameter 8mm; height 1.5mm; remanence 1.3T; adhesive epoxy }
adhesive pva { cure 12h }
adhesive epoxy { cure 24h }
rates ours { setup_time 5min; turn_time 1min; dial_time 15min }
"#;

    fn stages(text: &str) -> (Vec<Stage>, Time, bool) {
        let project = MemoryProject::default().with("ferry.dial", text);
        let analysis = analyse(&project, "ferry.dial", "", &Request::default()).unwrap();
        let dial = analysis.dials.first().unwrap_or_else(|| panic!("{:?}", analysis.findings));
        let (plan, quote) = dial.made().unwrap();
        timeline(&dial.design, plan, quote)
    }

    /// Four dials of 15 min take an hour, so that gluing of 12 h ends at 17:00, and that of 24 h at 5:00 on the same day.
    #[test]
    fn the_latest_moments_are_reckoned_back_from_when_the_dials_are_wanted() {
        let (stages, total, known) = stages(DIAL);
        assert!(known);
        let latest: Vec<String> = stages.iter().skip(1).map(|stage| stage.latest.unwrap().to_string()).collect();
        assert_eq!(latest, ["Thu 2026-12-03 05:00", "Fri 2026-12-04 05:00", "Fri 2026-12-04 17:00"]);
        let last = stages.last().unwrap();
        assert!((last.begins + last.takes.unwrap() - total).as_seconds().abs() < 1e-6);
    }

    #[test]
    fn what_is_not_known_is_said_and_counts_as_nothing() {
        let (stages, total, known) =
            stages(&DIAL.replace("dial_time 15min", "").replace("wanted \"2026-12-04 18:00\"", ""));
        assert!(!known);
        assert!(stages.iter().all(|stage| stage.latest.is_none()));
        assert!(total >= Time::seconds(36.0 * 3600.0) && total < Time::seconds(40.0 * 3600.0));
    }
}
