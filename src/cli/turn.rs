//! `turn`: the table of all stops, and a picture of each.

use std::path::PathBuf;

use clap::Args;
use comfy_table::{CellAlignment, ContentArrangement, Table, presets};
use serde_json::{Value, json};

use super::picture::Picture;
use super::report::rounded;
use super::{DesignArguments, FINDINGS, FINE, MessageFormat, report, terminal};
use crate::analysis::{Analysis, Dial};
use crate::audit::fit::in_words;
use crate::audit::{CheckedReading, CheckedStop, ReadingTolerance, Spread, StopTolerance};
use crate::design::{Design, ReadsHow};
use crate::output::stops;
use crate::plan::Effort;
use crate::units::{Angle, Length, fixed, plain};

#[derive(Debug, Args)]
pub(super) struct TurnArguments {
    #[command(flatten)]
    design: DesignArguments,
    /// Draws the dial at every stop into this file, an .svg or a .png
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
}

pub(super) fn run(arguments: &TurnArguments) -> u8 {
    turned(arguments).unwrap_or_else(|code| code)
}

fn turned(arguments: &TurnArguments) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let picture = arguments.picture.as_deref().map(Picture::named).transpose().map_err(fail)?;
    // No layout is shown, so none is searched for.
    let analysis = report::analysed_with(&arguments.design, Effort(0))?;
    let written = match picture.filter(|_| !analysis.dials.is_empty()) {
        Some(picture) => Some(picture.write(sheet(&analysis)).map_err(fail)?),
        None => None,
    };
    match format {
        MessageFormat::Json => report::json(&as_json(&analysis)),
        MessageFormat::Text => {
            report::findings(&analysis);
            analysis.dials.iter().for_each(table_of);
            report::verdict(&analysis.verdict);
            written.iter().for_each(|path| println!("written    {}", path.display()));
        }
    }
    // A misreading that was accepted is no standing finding, but this verb is asked whether the dial reads.
    let reads = analysis.dials.iter().all(|dial| dial.audit.reading_check.reads());
    Ok(if reads && report::code(&analysis) == FINE { FINE } else { FINDINGS })
}

/// The sheet of all stops of all dials.
fn sheet(analysis: &Analysis) -> String {
    let dials: Vec<_> = analysis.dials.iter().map(|dial| (&dial.design, &dial.audit.reading_check)).collect();
    stops::sheet(&dials)
}

/// The readings of a dial, each with how sure it is.
fn readings(dial: &Dial) -> impl Iterator<Item = (&CheckedReading, &ReadingTolerance)> {
    dial.audit.reading_check.readings.iter().zip(dial.audit.tolerance(&dial.design))
}

/// The stops of a reading, each with how sure it is.
fn stops_of<'a>(
    checked: &'a CheckedReading,
    sure: &'a ReadingTolerance,
) -> impl Iterator<Item = (&'a CheckedStop, &'a StopTolerance)> + Clone {
    checked.stops.iter().zip(&sure.stops)
}

fn heading(design: &Design, checked: &CheckedReading) -> String {
    let variant = design.variant.as_ref().map(|variant| format!(" · {variant}")).unwrap_or_default();
    let how = if checked.how == ReadsHow::Through { "through" } else { "beside" };
    format!("{}{variant}: {} {how} {}", design.title, checked.ring, checked.by.join(", "))
}

/// Names of the columns with their units, and which end of them is flush.
const COLUMNS: [(&str, CellAlignment); 10] = [
    ("stop", CellAlignment::Right),
    ("bearing\ndeg", CellAlignment::Right),
    ("due", CellAlignment::Left),
    ("shows", CellAlignment::Left),
    ("stands\ndeg", CellAlignment::Right),
    ("margin\nmm", CellAlignment::Right),
    ("slack\ndeg", CellAlignment::Right),
    ("centring\nmm", CellAlignment::Right),
    ("yield\n%", CellAlignment::Right),
    ("", CellAlignment::Left),
];

fn table_of(dial: &Dial) {
    for (checked, sure) in readings(dial) {
        println!("{}\n", heading(&dial.design, checked));
        let mut table = Table::new();
        table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
        table.set_header(COLUMNS.map(|(name, _)| name));
        for (stop, sure) in stops_of(checked, sure) {
            table.add_row(row(stop, sure));
        }
        for (column, (_, alignment)) in table.column_iter_mut().zip(COLUMNS) {
            column.set_cell_alignment(alignment);
        }
        terminal::table(&table).iter().for_each(|line| println!("{line}"));
        println!();
        worst(checked, sure).iter().for_each(|(what, words)| println!("{what:<12} {words}"));
        println!();
    }
    match dial.audit.dial_yield(&dial.design) {
        Some(whole) => println!("{:<12} {} of dials read right at every stop\n", "yield", whole.share),
        None => println!("{}: nothing is read\n", dial.design.title),
    }
}

fn row(stop: &CheckedStop, sure: &StopTolerance) -> [String; 10] {
    let numbers: Vec<String> = stop.stops.iter().map(|at| (at + 1).to_string()).collect();
    let bearings: Vec<String> = stop.bearings.iter().map(|by| plain(by.as_degrees(), 2)).collect();
    let (back, on) = (stop.slack.0.as_degrees(), stop.slack.1.as_degrees());
    let mm = |length: Option<Length>| length.map_or("free".to_owned(), |length| fixed(length.as_mm(), 2));
    [
        numbers.join(", "),
        bearings.join(", "),
        stop.due_says.clone(),
        stop.shows(),
        stop.stands.map_or_else(String::new, |stands| plain(stands.as_degrees(), 1)),
        if has_margin(stop, stop.margin) { mm(stop.near_margin()) } else { "none".to_owned() },
        if stop.reads { format!("{} +{}", fixed(-back, 2), fixed(on, 2)) } else { "none".to_owned() },
        mm(stop.near_centring_slack()),
        sure.share.in_percent(),
        remark(stop),
    ]
}

/// What is amiss at a stop, in words.
fn remark(stop: &CheckedStop) -> String {
    let elsewhere = stop.elsewhere.as_ref().map(|seen| format!("{} shows elsewhere", seen.says));
    let amiss = (!stop.reads).then(|| "misreads".to_owned());
    amiss.into_iter().chain(elsewhere).collect::<Vec<_>>().join("; ")
}

/// Whether there is a margin to tell of: room round a label that reads wrong for another reason is none, how deep it is covered
/// is one.
fn has_margin(stop: &CheckedStop, margin: Length) -> bool {
    stop.reads || margin < Length::ZERO
}

/// The stop that is right least often, the one with least left at worst, and what takes most there.
fn worst(checked: &CheckedReading, sure: &ReadingTolerance) -> Vec<(&'static str, String)> {
    let stops = stops_of(checked, sure);
    let place = |stop: &CheckedStop| format!("{}, due {}", in_words(&stop.stops, &stop.bearings), stop.due_says);
    let least = stops.clone().min_by(|a, b| a.1.share.share.total_cmp(&b.1.share.share));
    let least =
        least.map(|(stop, sure)| ("least sure", format!("{}: {} of dials read right", place(stop), sure.share)));
    let worst = worst_of(stops);
    let margin = worst.map(|(stop, sure)| {
        let left = sure.worst_margin;
        let told = if left < Length::ZERO {
            format!("{} too little", near(-left))
        } else {
            format!("{} to spare", near(left))
        };
        ("worst case", format!("{}: {told} with every spread at its worst", place(stop)))
    });
    let most = worst.and_then(|(_, sure)| {
        let loss = loss_of(sure, sure.matters_most()?);
        Some(("matters most", format!("{}, which takes {} of it", sure.matters_most()?.name(), near(loss))))
    });
    least.into_iter().chain(margin).chain(most).chain(aside(checked)).collect()
}

/// How far off straight on a reading is seen whole and alone.
fn aside(checked: &CheckedReading) -> Option<(&'static str, String)> {
    let stops = checked.stops.iter().filter(|stop| stop.reads);
    let least = stops.min_by(|a, b| a.aside.as_degrees().total_cmp(&b.aside.as_degrees()))?;
    let words = format!(
        "{}, due {}: reads whole and alone up to {}deg off straight on",
        in_words(&least.stops, &least.bearings),
        least.due_says,
        fixed(least.aside.as_degrees(), 1)
    );
    Some(("from aside", words))
}

fn worst_of<'a>(
    stops: impl Iterator<Item = (&'a CheckedStop, &'a StopTolerance)>,
) -> Option<(&'a CheckedStop, &'a StopTolerance)> {
    stops.min_by(|a, b| a.1.worst_margin.as_mm().total_cmp(&b.1.worst_margin.as_mm()))
}

fn loss_of(sure: &StopTolerance, wanted: Spread) -> Length {
    sure.losses.iter().find(|(spread, _)| *spread == wanted).map_or(Length::ZERO, |(_, loss)| *loss)
}

fn near(length: Length) -> String {
    length.to_decimals(2)
}

fn as_json(analysis: &Analysis) -> Value {
    let mut said = report::as_json(analysis);
    let all: Vec<Value> = analysis.dials.iter().map(|dial| readings(dial).map(reading_json).collect()).collect();
    if let Some(dials) = said.get_mut("dials").and_then(Value::as_array_mut) {
        for (dial, readings) in dials.iter_mut().zip(all) {
            dial["readings"] = readings;
        }
    }
    said
}

fn reading_json((checked, sure): (&CheckedReading, &ReadingTolerance)) -> Value {
    let worst = worst_of(stops_of(checked, sure)).map(|(stop, sure)| {
        json!({
            "stops": counted_from_1(stop),
            "margin_mm": Some(sure.worst_margin).filter(|margin| has_margin(stop, *margin)).map(|it| rounded(it.as_mm())),
            "matters_most": sure.matters_most().map(Spread::name),
        })
    });
    json!({
        "ring": checked.ring,
        "how": if checked.how == ReadsHow::Through { "through" } else { "beside" },
        "by": checked.by,
        "reads": checked.stops.iter().all(|stop| stop.reads),
        "stops_misread": checked.stops.iter().filter(|stop| !stop.reads).count(),
        "stops": stops_of(checked, sure).map(stop_json).collect::<Vec<_>>(),
        "worst_case": worst,
    })
}

fn stop_json((stop, sure): (&CheckedStop, &StopTolerance)) -> Value {
    let mm = |length: Option<Length>| length.map(|length| rounded(length.as_mm()));
    // What does not read has no room to read in, so that nothing beside `reads` can be taken for a verdict.
    let slack = |angle: Angle| stop.reads.then(|| rounded(angle.as_degrees()));
    let losses =
        sure.losses.iter().map(|(spread, loss)| json!({ "spread": spread.name(), "mm": rounded(loss.as_mm()) }));
    json!({
        "stops": counted_from_1(stop),
        "bearings_deg": stop.bearings.iter().map(|by| rounded(by.as_degrees())).collect::<Vec<_>>(),
        "due": stop.due_says,
        "shows": stop.shows(),
        "reads": stop.reads,
        "stands_deg": stop.stands.map(|stands| rounded(stands.as_degrees())),
        "others_mm": mm(stop.foreign_gap),
        "elsewhere": stop.elsewhere.as_ref().map(|seen| json!({
            "label": seen.says, "share_percent": rounded(100.0 * seen.part), "area_mm2": rounded(seen.area),
        })),
        "margin_mm": mm(stop.near_margin().filter(|margin| has_margin(stop, *margin))),
        "slack_anticlockwise_deg": slack(stop.slack.0),
        "slack_clockwise_deg": slack(stop.slack.1),
        "aside_deg": slack(stop.aside),
        "centring_slack_mm": mm(stop.near_centring_slack().filter(|_| stop.reads)),
        "yield_percent": rounded(100.0 * sure.share.share),
        "yield_plus_minus_percent": rounded(100.0 * sure.share.plus_minus),
        "worst_margin_mm": mm(Some(sure.worst_margin).filter(|margin| has_margin(stop, *margin))),
        "losses": losses.collect::<Vec<_>>(),
    })
}

fn counted_from_1(stop: &CheckedStop) -> Vec<usize> {
    stop.stops.iter().map(|at| at + 1).collect()
}
