//! What the proof says in words: sizes, the brief, the findings.

use super::super::Printing;
use super::super::drawing::GREY;
use super::super::page::text::{SMALL, Style, TextRun, Voice, line, line_height, marked};
use super::super::page::{Flow, Mark};
use super::draw::figure;
use crate::audit::fit::swept;
use crate::design::{Mark as Worked, ReadsHow, Shape};
use crate::diagnostics::{Diagnostic, Severity};
use crate::units::{Length, plain};
use kurbo::Point;
use svg::node::element::Group;

/// The sizes that matter: what, and how much.
pub(super) fn sizes(job: &Printing) -> Vec<(String, String)> {
    let design = job.design;
    let widest = design.layers.iter().map(|layer| swept(&layer.outline)).reduce(|a, b| if b > a { b } else { a });
    let mut rows: Vec<(String, String)> = Vec::new();
    let mut say = |what: &str, how: String| rows.push((what.to_owned(), how));
    // A board with wheels does not turn itself.
    if let Some(widest) = widest.filter(|_| !design.has_wheels()) {
        say("turns within", format!("Ø{}", figure(widest)));
    }
    say("thick", figure(design.thickness()));
    for reading in &design.readings {
        if let Some((_, ring)) = design.ring(&reading.ring) {
            let count = ring.labels.len();
            say(
                &format!("ring {}", ring.name),
                format!("{count} labels {} high at R{}", figure(ring.height), figure(ring.radius)),
            );
        }
        for name in reading.by.iter().filter(|_| reading.how == ReadsHow::Through) {
            let axis = design.ring(&reading.ring).map_or(Point::ORIGIN, |(at, _)| design.axis(at));
            say(&format!("opening {name}"), opening(design.mark(name).map(|(_, mark)| mark), axis));
        }
    }
    for reading in &job.audit.reading_check.readings {
        let least = reading.stops.iter().filter_map(crate::audit::CheckedStop::near_margin);
        if let Some(least) = least.reduce(|a, b| if b < a { b } else { a }) {
            say(&format!("margin of {}, least", reading.ring), figure(least));
        }
        let aside = reading.stops.iter().filter(|stop| stop.reads).map(|stop| stop.aside.as_degrees());
        if let Some(least) = aside.reduce(f64::min) {
            say(&format!("{} reads, from aside", reading.ring), format!("up to {}° off", plain(least, 1)));
        }
        let stands = reading.stops.iter().filter_map(|stop| stop.stands).map(|stands| stands.as_degrees().abs());
        if let Some(most) = stands.reduce(f64::max) {
            let upright = if most < 0.05 { "upright".to_owned() } else { format!("up to {}° off", plain(most, 1)) };
            say(&format!("{} stands, 0° up", reading.ring), upright);
        }
    }
    if let Some(sure) = job.audit.dial_yield(design) {
        say("read right at every stop", format!("{} of dials", sure.share));
        say("at the stop that is least sure", format!("{} of dials", sure.worst.share));
    }
    for (layer, floor) in job.audit.strength.layers.iter().filter_map(|layer| Some((layer, layer.floor.as_ref()?))) {
        // The drawing shows what a pocket leaves; where something is burnt into its far face as well, less is left there.
        let of = design.layers.iter().find(|it| it.name == layer.layer);
        let pockets =
            of.into_iter().flat_map(|it| it.pockets().map(|(.., depth)| it.stock.thickness.mean - depth.made()));
        let drawn = pockets.reduce(|a, b| if b < a { b } else { a });
        let burnt = drawn.is_some_and(|drawn| floor.left < drawn - Length::mm(0.005));
        let less = if burnt { "less its engraving" } else { "least" };
        say(&format!("floor in {}, {less}", layer.layer), figure(floor.left));
    }
    for wheel in &job.audit.wheels.wheels {
        let room = wheel.room.map_or_else(String::new, |(room, strays)| {
            format!(", {} ± {} under its lid", figure(room), figure(strays * 2.0))
        });
        let (clearance, strays) = (figure(wheel.clearance), figure(wheel.strays * 2.0));
        say(&format!("play of {}", wheel.wheel), format!("{clearance} ± {strays} across{room}"));
        say(&format!("rim of {}, free", wheel.wheel), figure(wheel.thumb_room));
    }
    if let Some(fit) = &job.audit.fit {
        say("clears its slot, turning", figure(fit.turning));
    }
    for held in job.audit.holding.turns.iter().filter_map(|turn| turn.magnets.as_ref()) {
        let (least, most) = held.lift_off.range();
        let newtons = |force: crate::units::Force| plain(force.as_newtons(), 1);
        say("lifts off between", format!("{} N and {} N", newtons(least), newtons(most)));
    }
    if let Some(what) = design.nominal() {
        say("nominal", what.replace('`', ""));
    }
    rows
}

/// Between two columns of sizes, in mm.
const APART: f64 = 8.0;

/// Size of an opening, and how far it stands off the axis that it is read about.
fn opening(mark: Option<&Worked>, axis: Point) -> String {
    let region = mark.and_then(|mark| match &mark.shape {
        Shape::Region(region) => Some(region),
        Shape::Trace(_) => None,
    });
    let size = region.and_then(|region| Some((region.bounds()?, region.centroid()?)));
    size.map_or_else(String::new, |(size, centre)| {
        let [wide, high, off] = [size.width(), size.height(), centre.distance(axis)].map(|mm| figure(Length::mm(mm)));
        format!("{wide} × {high} at R{off}")
    })
}

/// The sizes, in two columns where the whole width is free.
pub(super) fn size_table(flow: &mut Flow, rows: &[(String, String)], columns: usize) {
    let high = line_height(SMALL) + 0.7;
    #[allow(clippy::cast_precision_loss, reason = "one or two")]
    let count = columns.max(1) as f64;
    let wide = (flow.width() - (count - 1.0) * APART) / count;
    let each = rows.len().div_ceil(columns.max(1)).max(1);
    for row in 0..each {
        let (mut drawn, mut left) = (Group::new(), 0.0);
        for (what, how) in rows.iter().skip(row).step_by(each) {
            let how = line(how, Style::of(SMALL).end(), (left + wide, high - 1.2), wide * 0.62);
            let what = line(what, Style::of(SMALL).ink(GREY), (left, high - 1.2), wide * 0.5);
            let below = super::super::page::rule((left, high), (left + wide, high), 0.1, GREY);
            drawn = drawn.add(what).add(how).add(below);
            left += wide + APART;
        }
        flow.put(drawn, high);
    }
}

/// What was asked for, and how it turned out.
pub(super) fn brief(flow: &mut Flow, job: &Printing) {
    if job.expectations.is_empty() {
        return;
    }
    flow.heading("What was asked for", 2.0 * line_height(SMALL));
    let rows: Vec<Vec<Vec<TextRun>>> = job
        .expectations
        .iter()
        .map(|it| {
            let holds = match it.holds {
                Some(true) => TextRun::plain("holds"),
                Some(false) => TextRun::strong("does not hold"),
                None => TextRun::strong("cannot be told"),
            };
            let measured: Vec<String> = it.measured.iter().map(|(what, value)| format!("{what} is {value}")).collect();
            vec![
                vec![TextRun { text: it.condition.clone(), voice: Voice::Code }],
                vec![holds],
                vec![TextRun::plain(measured.join(", "))],
            ]
        })
        .collect();
    flow.table(&[4.0, 1.4, 3.0], &["Condition", "", "Measured"], &rows);
}

/// Every finding that stands or was accepted; advice last.
pub(super) fn findings(flow: &mut Flow, job: &Printing) {
    let mut found: Vec<&Diagnostic> = job.findings.clone();
    // The sort is stable: within a weight findings stay in order of place.
    found.sort_by_key(|finding| (std::cmp::Reverse(finding.severity), finding.accepted.is_some()));
    flow.heading("Findings", 2.0 * line_height(SMALL));
    if found.is_empty() {
        flow.small(&[TextRun::plain("None.")], super::super::drawing::INK);
    }
    for finding in found {
        flow.item(Mark::Dot, &finding_runs(finding, job), SMALL);
    }
}

fn finding_runs(finding: &Diagnostic, job: &Printing) -> Vec<TextRun> {
    let weight = match (finding.severity, &finding.accepted) {
        (_, Some(_)) => "accepted",
        (Severity::Error, None) => "error",
        (Severity::Warning, None) => "warning",
        (Severity::Advice, None) => "advice",
    };
    let mut runs = vec![TextRun::strong(format!("{weight} {}: ", finding.finding.name()))];
    runs.extend(marked(&finding.message));
    if let Some(span) = finding.span() {
        let line = job.sources.line_column(span).line;
        runs.push(TextRun::plain(format!(" ({}, line {line})", job.sources.file(span.source).name)));
    }
    if let Some(reason) = &finding.accepted {
        runs.push(TextRun::plain(format!(". Accepted: “{reason}”")));
    }
    runs
}
