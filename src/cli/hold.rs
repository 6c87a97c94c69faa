//! `hold`: what holds every turn, what glues it together, and curves of it.

use std::path::{Path, PathBuf};

use clap::Args;
use comfy_table::{ContentArrangement, Table, presets};
use serde_json::{Value, json};

use super::picture::Picture;
use super::report::rounded;
use super::{DesignArguments, FINDINGS, FINE, MessageFormat, report, terminal};
use crate::analysis::{Analysis, Dial};
use crate::audit::holding::{Glued, Held, Rings, TurnHolding};
use crate::design::axis::magnets;
use crate::design::{Face, Pole};
use crate::output::curves;
use crate::physics::Polarity;
use crate::physics::spread::Cause;
use crate::plan::{Effort, face_name, magnet_steps};
use crate::units::Length;

#[derive(Debug, Args)]
pub(super) struct HoldArguments {
    #[command(flatten)]
    design: DesignArguments,
    /// Draws pull against gap, and torque and energy against the angle, into this file, an .svg or a .png
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
}

pub(super) fn run(arguments: &HoldArguments) -> u8 {
    held(arguments).unwrap_or_else(|code| code)
}

fn held(arguments: &HoldArguments) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let plot = arguments.plot.as_deref().map(Picture::named).transpose().map_err(fail)?;
    // No layout is shown, so none is searched for.
    let analysis = report::analysed_with(&arguments.design, Effort(0))?;
    let written = match plot.filter(|_| !analysis.dials.is_empty()) {
        Some(plot) => Some(draw(&plot, &analysis).map_err(fail)?),
        None => None,
    };
    match format {
        MessageFormat::Json => report::json(&as_json(&analysis)),
        MessageFormat::Text => {
            report::findings(&analysis);
            analysis.dials.iter().for_each(print_dial);
            report::verdict(&analysis.verdict);
            written.iter().for_each(|path| println!("written    {}", path.display()));
        }
    }
    Ok(if report::code(&analysis) == FINE { FINE } else { FINDINGS })
}

fn draw<'a>(plot: &Picture<'a>, analysis: &Analysis) -> Result<&'a Path, String> {
    let dials: Vec<_> = analysis.dials.iter().map(|dial| (&dial.design, &dial.audit.holding)).collect();
    plot.write(curves::sheet(&dials).ok_or("there is no curve to draw: no turn is held by magnets")?)
}

fn print_dial(dial: &Dial) {
    let design = &dial.design;
    let variant = design.variant.as_ref().map(|variant| format!(" · {variant}")).unwrap_or_default();
    for found in &dial.audit.holding.turns {
        println!("{}{variant}: {}\n", design.title, names(dial, found));
        let mut table = Table::new();
        table
            .load_preset(presets::NOTHING)
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(terminal::print_columns());
        for (what, words) in dial.audit.holding.describe(design, found) {
            table.add_row([what.to_owned(), words]);
        }
        terminal::table(&table).iter().for_each(|line| println!("{line}"));
        println!();
    }
    let steps = magnet_steps(design, &dial.audit.holding);
    if !steps.is_empty() {
        println!("At the glue bench\n");
        let mut table = Table::new();
        table
            .load_preset(presets::NOTHING)
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(terminal::print_columns());
        for (number, step) in (1..).zip(steps) {
            table.add_row([format!("{number}."), step]);
        }
        terminal::table(&table).iter().for_each(|line| println!("{line}"));
        println!();
    }
    if crate::plan::has_magnets(design) {
        let caution = crate::plan::MAGNETS;
        let mut table = Table::new();
        table
            .load_preset(presets::NOTHING)
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(terminal::print_columns());
        table.add_row(["caution".to_owned(), format!("{} ({})", caution.text, caution.source)]);
        terminal::table(&table).iter().for_each(|line| println!("{line}"));
        println!();
    }
    if dial.audit.holding.turns.is_empty() {
        println!("{}{variant}: nothing turns\n", design.title);
    }
}

/// "cover on base".
fn names(dial: &Dial, found: &TurnHolding) -> String {
    let name = |at: usize| dial.design.layers.get(at).map_or("", |layer| layer.name.as_str());
    let (lower, upper) = dial.design.across(found.below);
    let lies = if dial.design.walled(upper).is_some() { "in" } else { "on" };
    format!("{} {lies} {}", name(upper), name(lower))
}

fn as_json(analysis: &Analysis) -> Value {
    let mut said = report::as_json(analysis);
    let all: Vec<Value> = analysis.dials.iter().map(dial_json).collect();
    if let Some(dials) = said.get_mut("dials").and_then(Value::as_array_mut) {
        for (dial, holding) in dials.iter_mut().zip(all) {
            dial["holding"] = holding;
        }
    }
    said
}

fn dial_json(dial: &Dial) -> Value {
    let (axis, _) = magnets(&dial.design);
    let seats = axis.iter().map(|magnet| {
        json!({
            "magnet": magnet.magnet.name,
            "layer": dial.design.layers.get(magnet.layer).map(|layer| layer.name.as_str()),
            "face": face_name(magnet.face),
            "north": magnet.poled.then_some(if magnet.north == Pole::Up { "up" } else { "down" }),
            "bottom_mm": rounded(magnet.bottom.as_mm()),
            "serves_both_turns": magnet.shared,
        })
    });
    json!({
        "turns": dial.audit.holding.turns.iter().map(|found| turn_json(dial, found)).collect::<Vec<_>>(),
        "magnets_on_axis": seats.collect::<Vec<_>>(),
        "stored_pull_n": dial.audit.holding.stored.map(|pull| rounded(pull.as_newtons())),
        "glue_bench": magnet_steps(&dial.design, &dial.audit.holding),
        "cautions": crate::plan::cautions(&dial.design).iter().map(|caution| caution.text).collect::<Vec<_>>(),
    })
}

fn turn_json(dial: &Dial, found: &TurnHolding) -> Value {
    let name = |at: usize| dial.design.layers.get(at).map(|layer| layer.name.as_str());
    let said = dial.audit.holding.describe(&dial.design, found);
    let halves = found.halves.map(|half| {
        json!({ "mass_g": rounded(half.mass.as_kilograms() * 1e3), "off_axis_mm": rounded(half.offset().as_mm()) })
    });
    let off = |(least, most): (Option<Length>, Option<Length>)| {
        [least, most].map(|length| length.map(|length| rounded(length.as_mm())))
    };
    json!({
        "lower": name(dial.design.stacked(found.below)),
        "upper": name(found.below + 1),
        "said": said.into_iter().map(|(what, words)| json!({ "what": what, "words": words })).collect::<Vec<_>>(),
        "stays_times": found.stays().map(rounded),
        "knock_asked_gravities": rounded(found.shock),
        "knock_to_part_gravities": found.shock_to_part().map(rounded),
        "knock_to_part_range": found.part_range().map(|(least, most)| [rounded(least), rounded(most)]),
        "knock_to_turn_gravities": found.shock_to_turn().map(rounded),
        "knock_to_turn_range": found.turn_range().map(|(least, most)| [rounded(least), rounded(most)]),
        "thumb_n": found.thumb().map(|(least, most)| [rounded(least.as_newtons()), rounded(most.as_newtons())]),
        "gravity_mnm": rounded(found.gravity().as_millinewton_metres()),
        "play_mm": rounded(found.play.as_mm()),
        "off_axis_held_mm": off(found.off_axis.held),
        "off_axis_turned_mm": off(found.off_axis.turned),
        "reaches_across": found.reaches,
        "halves": halves,
        "magnets": found.magnets.as_ref().map(held_json),
    })
}

fn held_json(held: &Held) -> Value {
    let (expected, bracket, sure) = (held.friction.expected(), held.friction.bracket(), &held.lift_off);
    let (least, most) = sure.range();
    let range = |range: crate::physics::friction::TorqueRange| {
        [rounded(range.least.as_millinewton_metres()), rounded(range.most.as_millinewton_metres())]
    };
    let cause = |cause: Cause| match cause {
        Cause::Remanence => "remanence",
        Cause::Pocket => "depth of the pockets",
        Cause::Film => "glue films",
    };
    let parts = sure.parts.iter().map(|part| {
        json!({ "cause": cause(part.cause), "deviation_n": rounded(part.deviation.as_newtons()), "share": rounded(part.share) })
    });
    json!({
        "gap_mm": rounded(held.pair.gap().as_mm()),
        "pull_n": rounded(held.pair.pull().as_newtons()),
        "flush_pull_n": rounded(held.flush.as_newtons()),
        "slope_n_per_mm": rounded(held.pair.slope().as_newtons_per_mm()),
        "centring_n_per_mm": rounded(held.pair.centring().as_newtons_per_mm()),
        "lift_off_n": rounded(sure.pull.as_newtons()),
        "lift_off_range_n": [rounded(least.as_newtons()), rounded(most.as_newtons())],
        "model_n": rounded(sure.model.as_newtons()),
        "expanded_n": rounded(sure.expanded().as_newtons()),
        "causes": parts.collect::<Vec<_>>(),
        "coefficient": [held.coefficient.least, held.coefficient.most],
        "friction_mnm": range(expected),
        "friction_bracket_mnm": range(bracket),
        "glue": held.glue.iter().map(glue_json).collect::<Vec<_>>(),
        "clicks": held.clicks.as_ref().map(rings_json),
    })
}

fn glue_json(glued: &Glued) -> Value {
    json!({
        "magnet": glued.magnet,
        "adhesive": glued.adhesive,
        "area_mm2": rounded(glued.area_mm2),
        "pull_out_n": glued.pull_out.map(|out| rounded(out.as_newtons())),
        "pulled_n": rounded(glued.pulled.as_newtons()),
        "times": glued.times().map(rounded),
    })
}

fn rings_json(rings: &Rings) -> Value {
    let verdict = &rings.pattern.verdict;
    let stops = verdict.stops.iter().map(|(stop, rest)| {
        json!({
            "stop_deg": rounded(stop.as_degrees()),
            "rests_deg": rest.as_ref().map(|rest| rounded(rest.point.at.as_degrees())),
            "holds_mnm": rest.as_ref().map(|rest| rounded(rest.holds().as_millinewton_metres())),
        })
    });
    let rests = rings.rests.iter().map(|rest| {
        let bands = rest.bands.iter().map(|band| {
            let pair = |(from, to): (crate::units::Angle, crate::units::Angle)| {
                [rounded(from.as_degrees()), rounded(to.as_degrees())]
            };
            band.map(|band| json!({ "stays_deg": pair(band.stays), "comes_deg": pair(band.comes) }))
        });
        json!({ "stop_deg": rounded(rest.stop.as_degrees()), "by_friction": bands.collect::<Vec<_>>() })
    });
    let ring = |face: Face, bearings: &[crate::units::Angle], poles: &[Polarity]| {
        let seats = bearings.iter().zip(poles).map(|(at, pole)| {
            json!({ "bearing_deg": rounded(at.as_degrees()), "north": if *pole == Polarity::Up { "up" } else { "down" } })
        });
        json!({ "face": face_name(face), "magnets": seats.collect::<Vec<_>>() })
    };
    let false_stops = verdict.false_stops.iter().map(|rest| rounded(rest.point.at.as_degrees()));
    json!({
        "stops": stops.collect::<Vec<_>>(),
        "rests": rests.collect::<Vec<_>>(),
        "false_stops_deg": false_stops.collect::<Vec<_>>(),
        "weakest_mnm": rounded(verdict.weakest.as_millinewton_metres()),
        "peak_mnm": rounded(rings.peak.torque.as_millinewton_metres().abs()),
        "least_friction_mnm": rounded(rings.felt.as_millinewton_metres()),
        "least_pull_n": rounded(rings.pattern.least_pull.as_newtons()),
        "lower": ring(Face::Front, &rings.bearings.0, &rings.pattern.lower),
        "upper": ring(Face::Back, &rings.bearings.1, &rings.pattern.upper),
    })
}
