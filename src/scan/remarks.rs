//! What of a scan keeps figures from being as sure as they might.

use super::sum;
use super::survey::Survey;
use super::told::{Remark, RemarkKind, ScanTold};
use crate::rehearsal::{MeantKind, MeantLayer};
use crate::units::plain;

/// From this mean step of rounding on a JPEG moves edges by more than 10 µm; that of quality 75 is 29, of 92 it is 9.
const COARSE: f64 = 20.0;
/// Softer than this, as the standard deviation of an edge in mm, a scan is out of focus: a contact sensor sees parts on its glass
/// within 0.1 mm.
const SOFT: f64 = 0.14;
/// Parts that lie within this of one direction, in degrees, do not tell the laser's two directions from the scanner's.
const ONE_WAY: f64 = 15.0;
/// From this on nothing tells the turn of a part, rad.
const NO_TURN: f64 = 0.02;
/// Less of a mark's edge than this was found where it is missing.
const FOUND: f64 = 0.4;

/// Everything that is to be said of a scan.
pub(super) fn of_scan(
    told: &ScanTold,
    lossy: Option<f64>,
    survey: &Survey,
    layers: &[MeantLayer],
    remarks: &mut Vec<Remark>,
) {
    let mut say = |kind: RemarkKind, says: String, help: &str| {
        remarks.push(Remark { kind, place: told.file.clone(), says, help: help.to_owned() });
    };
    if let Some(step) = lossy.filter(|step| *step > COARSE) {
        let says = format!(
            "it is a JPEG that rounds by {} on the average, which moves edges by 10 µm and more",
            plain(step, 0)
        );
        say(RemarkKind::Lossy, says, "save it as PNG or TIFF, or at a quality above 90");
    }
    if survey.parts.is_empty() {
        return;
    }
    if !told.light_lid {
        let says =
            "the lid is dark, so the outer edge of char cannot be told from it: kerfs come out some 0.3 mm too wide"
                .to_owned();
        say(
            RemarkKind::DarkLid,
            says,
            "lay a sheet of white paper over the parts; only what lies off its place can be trusted here",
        );
    }
    if told.soft_mm > SOFT {
        let says = format!(
            "edges are soft, {} mm where 0.1 mm is usual: its sensor may look through a lens",
            plain(told.soft_mm, 2)
        );
        say(
            RemarkKind::Soft,
            says,
            "press the parts onto the glass, use a scanner with a contact sensor, or trust positions to 0.05 mm",
        );
    }
    if told.scale.is_none() {
        let says = "nothing on these parts tells the scanner's scale, so kerfs rest on the resolution that it states: ± 0.15 mm".to_owned();
        say(RemarkKind::NoScale, says, "lay parts with an opening beside them");
    }
    let turns: Vec<f64> = survey.parts.iter().map(|part| 2.0 * part.lying.pose.turn).collect();
    let (sin, cos) = turns.iter().fold((0.0, 0.0), |(sin, cos), turn| (sin + turn.sin(), cos + turn.cos()));
    let middle = f64::atan2(sin, cos);
    let far =
        turns.iter().map(|turn| ((turn - middle).sin().atan2((turn - middle).cos()) / 2.0).abs()).fold(0.0, f64::max);
    if turns.len() > 1 && far.to_degrees() < ONE_WAY {
        let says = format!("all {} parts lie the same way up, to within {}°", turns.len(), plain(far.to_degrees(), 0));
        say(
            RemarkKind::SameWay,
            says,
            "turn every other part by a quarter, so that the laser's directions are told from the scanner's",
        );
    }
    of_parts(survey, layers, &mut say);
}

/// What lacks a bearing, or work, or shows and is not measured.
fn of_parts(survey: &Survey, layers: &[MeantLayer], say: &mut impl FnMut(RemarkKind, String, &str)) {
    let mut faces: Vec<(usize, bool)> = survey.parts.iter().map(|part| (part.lying.layer, part.lying.back)).collect();
    faces.sort_unstable();
    faces.dedup();
    for (layer, back) in faces.into_iter().filter_map(|(layer, back)| Some((layers.get(layer)?, back))) {
        let shown = layer.others.iter().filter(|it| it.back == back);
        let others: Vec<String> = shown.map(|it| format!("`{}`, {}", it.name, it.done)).collect();
        if !others.is_empty() {
            let says = format!(
                "not measured on the {} of `{}`: {}",
                if back { "back" } else { "front" },
                layer.name,
                others.join("; ")
            );
            let help = "it has no burnt edge: prints go by the crosses of their sheet, what is left standing by the field round it";
            say(RemarkKind::NotMeasured, says, help);
        }
    }
    for part in &survey.parts {
        let Some(layer) = layers.get(part.lying.layer) else { continue };
        if part.turn_within > NO_TURN {
            let says = format!(
                "a part of `{}` is round and has no opening or mark on this side: nothing tells its bearing",
                layer.name
            );
            say(
                RemarkKind::NoBearing,
                says,
                "it is measured but for directions; turn it over if its other side has marks",
            );
        }
        for (work, off) in &part.works {
            let Some(work) = layer.works.get(*work) else { continue };
            let share = off.found.0 as f64 / off.found.1.max(1) as f64;
            if work.kind != MeantKind::Opening && share < FOUND {
                let (x, y) = (plain(part.lying.pose.at.x, 0), plain(-part.lying.pose.at.y, 0));
                let says = format!(
                    "`{}` of `{}` is missing on the part {x} mm from the left and {y} mm from the top: {} % of its edge is there",
                    work.name,
                    layer.name,
                    sum::to(100.0 * share, 0)
                );
                say(RemarkKind::Missing, says, "look whether it was burnt at all, or is too pale");
            }
        }
    }
}
