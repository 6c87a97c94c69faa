//! What the person at the machine and at the bench needs, on paper: one content, as an HTML page without scripts and as
//! PDF pages. Both print in black and white: what is coloured is the colours of the files, and they are named.

mod assembly;
mod board;
mod content;
mod finishing;
mod html;
mod magnets;
mod need;
mod pages;
mod setup;
mod solid;
mod steps;
mod timeline;
mod wheels;

use super::page::text::{TextRun, marked};
use super::page::{About, Pages};
use super::quote::in_words;
use crate::audit::Audit;
use crate::design::Design;
use crate::diagnostics::{Diagnostic, counted};
use crate::plan::{Plan, cautions};
use crate::quote::Quote;
use crate::units::{Time, plain};
use content::{Item, Part, cell};

/// The run sheet as HTML.
pub fn page(design: &Design, audit: &Audit, plan: &Plan, quote: &Quote) -> String {
    html::page(&design.full_title(), &parts(design, audit, plan, quote))
}

/// The run sheet as pages.
pub fn pages(about: About, (design, audit, plan, quote): (&Design, &Audit, &Plan, &Quote)) -> Pages {
    pages::pages(about, &parts(design, audit, plan, quote))
}

fn parts(design: &Design, audit: &Audit, plan: &Plan, quote: &Quote) -> Vec<Part> {
    // In the order in which a person needs them: what must not be overlooked, what to fetch, when to begin, then
    // board by board to the finished dial. Figures for the office come last.
    let mut parts = vec![Part::Words(vec![TextRun::plain(run_in_words(design))])];
    parts.push(first(design));
    parts.extend(needed(design, quote));
    parts.extend(when(design, plan, quote));
    parts.extend(setup::setups(design, plan).into_iter().map(|sheet| Part::Setup(Box::new(sheet))));
    parts.extend(finish(design));
    parts.extend(bench(design, audit));
    parts.extend(checks(design, audit));
    parts.extend(standing(&audit.problems.iter().collect::<Vec<_>>()));
    parts.extend(reckoned(quote));
    parts
}

fn heading(text: &str) -> Part {
    Part::Heading(text.to_owned())
}

fn run_in_words(design: &Design) -> String {
    let run = &design.run;
    let spares = if run.spares > 0 { format!(" and {}", counted(run.spares as usize, "spare")) } else { String::new() };
    let shop =
        design.shop.as_ref().map_or_else(|| "nominal shop, not measured".to_owned(), |shop| format!("made in {shop}"));
    let wanted = run.wanted.map_or_else(String::new, |wanted| format!(", wanted {wanted}"));
    let layers = counted(design.layers.len(), "layer");
    format!("{}{spares}, {layers} each, {shop}{wanted}.", counted(run.dials as usize, "dial"))
}

fn first(design: &Design) -> Part {
    let items = cautions(design)
        .into_iter()
        .map(|caution| Item::dot(vec![TextRun::plain(caution.text), TextRun::plain(format!(" ({})", caution.source))]));
    Part::Cautions { heading: "Before anything else".to_owned(), items: items.collect() }
}

fn needed(design: &Design, quote: &Quote) -> Vec<Part> {
    let head = vec!["What", "How much", "For what, and reckoned from what"];
    vec![heading("Have ready"), Part::Table { shares: vec![2.2, 1.0, 3.8], head, rows: need::needed(design, quote) }]
}

/// The run from its start to the finished dials.
fn when(design: &Design, plan: &Plan, quote: &Quote) -> Vec<Part> {
    let (stages, total, known) = timeline::timeline(design, plan, quote);
    let rows = stages.iter().map(|stage| {
        let takes = stage.takes.map_or_else(|| "not stated".to_owned(), in_words);
        let latest = stage.latest.map_or_else(String::new, |latest| latest.to_string());
        let from_start = vec![
            cell(stage.what.clone()),
            cell(takes),
            cell(if stage.begins > Time::ZERO { format!("+ {}", in_words(stage.begins)) } else { "start".to_owned() }),
        ];
        if design.run.wanted.is_some() { [from_start, vec![cell(latest)]].concat() } else { from_start }
    });
    let (mut shares, mut head) = (vec![4.0, 1.3, 1.6], vec!["Step", "Takes", "From the start"]);
    if design.run.wanted.is_some() {
        shares.push(2.0);
        head.push("Begin at the latest");
    }
    let least = if known { "" } else { " at least, for some times are not stated in the shop file" };
    let words = format!("From the first cut to the last check: {}{least}. ", in_words(total));
    let cures = "Times to cure are those of the shop file; the adhesive's own sheet comes first.";
    vec![
        heading("When"),
        Part::Table { shares, head, rows: rows.collect() },
        Part::Words(vec![TextRun::strong(words), TextRun::plain(cures)]),
    ]
}

fn finish(design: &Design) -> Vec<Part> {
    let items = finishing::finishing(design);
    if items.is_empty() {
        return Vec::new();
    }
    vec![Part::Chapter("Stain and ink".to_owned()), Part::Words(finishing::order()), Part::Lines { items, steps: true }]
}

/// What is done at the bench, each step with its picture.
fn bench(design: &Design, audit: &Audit) -> Vec<Part> {
    let chapters = assembly::assembly(design, &audit.holding);
    if chapters.is_empty() {
        return Vec::new();
    }
    let mut parts = vec![Part::Chapter("At the bench, dial by dial".to_owned())];
    for (title, steps) in chapters {
        parts.extend([Part::Minor(title.to_owned()), Part::Bench(steps)]);
        parts.extend((title == assembly::GLUE).then(|| cured(design)).flatten());
    }
    parts
}

/// When glued dials are ready.
fn cured(design: &Design) -> Option<Part> {
    let cures = design.bonds().map(|(.., glue)| glue.adhesive.cure);
    let longest = cures.reduce(|longest, cure| if cure > longest { cure } else { longest })?;
    let goes = if wheels::goes(design) > 1 { "The dials are ready " } else { "Glued in one go, the dials are ready " };
    let rest = " after the last joint is closed. Follow the adhesive's own sheet for clamping, air and gloves; it comes before these times.";
    Some(Part::Words(vec![TextRun::plain(goes), TextRun::strong(in_words(longest)), TextRun::plain(rest)]))
}

/// What to look at on a finished dial, with its limits.
fn checks(design: &Design, audit: &Audit) -> Vec<Part> {
    let mut items = Vec::new();
    for reading in &audit.reading_check.readings {
        let labels: Vec<&str> = reading.stops.iter().map(|stop| stop.due_says.as_str()).collect();
        let order = labels.join(", ");
        let mut says = marked(&format!("Turn it through every stop. Ring `{}` shows, in this order: ", reading.ring));
        says.push(TextRun::plain(format!("{order}. ")));
        if let Some(margin) = least(reading.stops.iter().map(|stop| stop.margin.as_mm())) {
            says.push(TextRun::plain(format!("At least {} mm of clear edge all round each.", plain(margin, 2))));
        }
        items.push(Item::tick(says));
    }
    for held in audit.holding.turns.iter().filter_map(|turn| turn.magnets.as_ref()) {
        let (least, most) = held.lift_off.range();
        let [least, most] = [least, most].map(|force| plain(force.as_newtons(), 1));
        let says = format!("Lift the upper half off straight: it must take between {least} N and {most} N.");
        items.push(Item::tick(cell(says)));
    }
    if let Some(what) = design.nominal() {
        items.push(Item::dot(cell(format!(
            "Nominal: {}. What is worked out from them may differ.",
            what.replace('`', "")
        ))));
    }
    let thick = design.thickness();
    items.push(Item::tick(cell(format!("Measure how thick it is: {} mm.", plain(thick.as_mm(), 2)))));
    if let (Some(_), Some(fit)) = (&design.slot, &audit.fit) {
        let clears = plain(fit.turning.as_mm(), 2);
        let says = format!("Lay it into its slot and turn it: it clears the sides by {clears} mm at the narrowest.");
        items.push(Item::tick(cell(says)));
    }
    let spares = design.run.spares as usize;
    if spares > 0 {
        let says = format!("{} too many were made: they stand in for what fails here.", counted(spares, "dial"));
        items.push(Item::dot(cell(says)));
    }
    vec![Part::Chapter("Check every finished dial".to_owned()), Part::Lines { items, steps: false }]
}

fn least(values: impl Iterator<Item = f64>) -> Option<f64> {
    values.reduce(f64::min).filter(|least| least.is_finite())
}

fn standing(findings: &[&Diagnostic]) -> Vec<Part> {
    if findings.is_empty() {
        return Vec::new();
    }
    let items = findings.iter().map(|finding| {
        let reason = finding.accepted.iter().map(|reason| TextRun::plain(format!(" (accepted: {reason})")));
        Item::dot(marked(&finding.message).into_iter().chain(reason).collect())
    });
    vec![heading("Known before cutting"), Part::Lines { items: items.collect(), steps: false }]
}

fn reckoned(quote: &Quote) -> Vec<Part> {
    let work = quote.work.iter().map(|work| {
        vec![cell(format!("{} {}", work.kind, work.stock)), cell(time(work.time)), cell(work.basis.clone())]
    });
    let hands = quote.hands.iter().filter(|hands| hands.times > 0).map(|hands| {
        let each = hands.each.map_or_else(String::new, |each| format!(", {} each", in_words(each)));
        vec![cell(hands.what), cell(time(hands.time())), cell(format!("{} times{each}", hands.times))]
    });
    let head = vec!["Work", "Time", "Reckoned from"];
    let table = Part::Table { shares: vec![2.6, 1.0, 4.0], head, rows: work.chain(hands).collect() };
    let sure = ". Times at the machine are lengths over the speeds that the shop states, so they have no ±: it takes longer, for it must speed up and slow down. All else is counted as stated.";
    let words = vec![TextRun::strong(super::quote::line(quote)), TextRun::plain(sure)];
    vec![heading("Time and price"), table, Part::Words(words)]
}

fn time(time: Option<Time>) -> String {
    time.map_or_else(|| "not known".to_owned(), in_words)
}
