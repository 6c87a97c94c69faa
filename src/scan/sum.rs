//! From what scans came to, to what is told of the run, each figure with its 95 % interval.

use super::survey::{Off, Part};
use super::told::{
    Away, DamageKind, EdgeBy, FORMAT, Measured, PartTold, Remark, RemarkKind, Spread, StockTold, Tone, VERSION,
    WorkTold,
};
use super::{EdgeFound, Known, Looked, Run, readings};
use crate::physics::contrast::{Contrast, relative_luminance};
use crate::rehearsal::{Meant, MeantKind, MeantLayer, MeantWork};
use crate::statistics::{Mean, of_mean};
use crate::units::plain;

/// The fit's own uncertainties are too small by about this factor, since neighbouring places of an edge stray alike; and what is left of
/// each besides at 300 dots to the inch, mm, which grows with the pixel. Both were found by scans of synthetic scanners.
const CUT: (f64, f64) = (1.4, 0.001);
const OPENING: (f64, f64) = (1.4, 0.0015);
const BURNT: (f64, f64) = (1.2, 0.0014);
/// Of how far a mark's edge has grown, which depends on how softly it ends.
const GROWTH: (f64, f64) = (1.2, 0.0014);
/// What is left does not shrink below this share of it.
const FINEST: f64 = 0.8;
/// What is less sure than this is not told: mm, and degrees.
const TOLD: f64 = 0.06;
const TURN_TOLD: f64 = 0.3;
/// Where the fit knows some rim better than this, mm, something on the parts told the scale; by the stated resolution alone it would be as
/// unsure as that is.
pub(super) const SCALE_TOLD: f64 = 0.01;
/// Twice the standard deviation, for 95 % of a normal distribution, rounded up from 1.96.
const COVER: f64 = 2.0;
/// A calliper's reading that is further off than this is of another part, mm.
const OTHER_PART: f64 = 0.3;
/// Grain makes neighbouring stretches of a mark's edge alike, so that their mean is less sure than their count says by about this factor:
/// found by scans of the synthetic scanner.
const ALIKE: f64 = 2.0;
/// What is left of a tone besides, as a share of it at 300 dots to the inch: strokes hardly wider than the picture is soft look paler.
const PALER: f64 = 0.035;
/// A contrast that is off by less than this share is not worth a word: scanners' own curves differ by as much (common practice, no source).
const OTHER_TONE: f64 = 0.25;

/// Everything that is told.
pub(super) fn run(meant: &Meant, looked: Vec<Looked>, known: Option<Known>, mut remarks: Vec<Remark>) -> Run {
    let mut parts = Vec::new();
    let mut edges = Vec::new();
    for (scan, it) in looked.iter().enumerate() {
        for (at, part) in it.survey.parts.iter().enumerate() {
            let Some(layer) = meant.layers.get(part.lying.layer) else { continue };
            let damage = it.damage.get(at).cloned().unwrap_or_default();
            let coarse = (300.0 / it.told.dpi.into_iter().fold(f64::INFINITY, f64::min)).max(FINEST);
            parts.push(PartTold { damage, ..told((parts.len() + 1, scan), part, layer, coarse) });
            let found = part.edges.iter();
            let found = found
                .map(|edge| EdgeFound { at: edge.at, normal: edge.normal, beyond: edge.beyond, cut: edge.cut })
                .collect();
            edges.push((part.lying.layer, found));
        }
    }
    let edge = proven(meant, known, (&mut parts, &mut edges), &mut remarks);
    damage(&parts, &mut remarks);
    tones(&parts, &mut remarks);
    let stocks = stocks(meant, &parts, &mut remarks);
    let of = |kind: MeantKind| offsets(&parts, kind);
    let measured = Measured {
        format: FORMAT.to_owned(),
        version: VERSION,
        dial: meant.dial.clone(),
        edge,
        scans: looked.into_iter().map(|it| it.told).collect(),
        pockets: of(MeantKind::Pocket),
        openings: of(MeantKind::Opening),
        marks: of(MeantKind::Mark),
        readings: readings::told(meant, &parts),
        stocks,
        parts,
        remarks,
    };
    Run { measured, edges }
}

/// So many decimals.
pub(super) fn to(value: f64, decimals: i32) -> f64 {
    let unit = 10.0_f64.powi(decimals);
    (value * unit).round() / unit + 0.0
}

pub(super) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// `coarse` is the size of a pixel, of that at 300 to the inch.
fn sure(formal: f64, (factor, rest): (f64, f64), coarse: f64) -> f64 {
    COVER * (factor * formal).hypot(rest * coarse)
}

fn told((number, scan): (usize, usize), part: &Part, layer: &MeantLayer, coarse: f64) -> PartTold {
    let pose = part.lying.pose;
    let works = part.works.iter().filter_map(|(at, off)| Some(work(layer.works.get(*at)?, off, coarse)));
    let turned = -pose.turn.to_degrees();
    PartTold {
        number,
        scan,
        layer: layer.name.clone(),
        stock: layer.stock.clone(),
        face: if part.lying.back { "back" } else { "front" }.to_owned(),
        at: [to(pose.at.x, 3), to(-pose.at.y, 3)],
        turned_deg: (part.turn_within < 0.02).then(|| to(turned.rem_euclid(360.0), 2)),
        kerf_mm: to(layer.kerf - 2.0 * part.offset, 4),
        kerf_plus_minus_mm: to(2.0 * sure(part.within, CUT, coarse), 4),
        works: works.collect(),
        damage: Vec::new(),
    }
}

fn work(meant: &MeantWork, off: &Off, coarse: f64) -> WorkTold {
    let own = if meant.kind == MeantKind::Opening { OPENING } else { BURNT };
    let away = |is: f64, formal: f64, factor: (f64, f64)| {
        let plus_minus = sure(formal, factor, coarse);
        (plus_minus < TOLD).then(|| Away { is: to(is, 4), plus_minus: to(plus_minus, 4) })
    };
    let ((first, second), turn, growth) = off.within;
    let there = off.found.0 > 0;
    let plus_minus = COVER * BURNT.0 * turn.to_degrees();
    WorkTold {
        name: meant.name.clone(),
        kind: meant.kind.name().to_owned(),
        axes: if off.polar { "out-clockwise" } else { "right-up" }.to_owned(),
        off: [away(off.shift.0, first, own).filter(|_| there), away(off.shift.1, second, own).filter(|_| there)],
        turned_deg: (matches!(meant.kind, MeantKind::Mark | MeantKind::Line) && there && plus_minus < TURN_TOLD)
            .then(|| Away { is: to(-off.turn.to_degrees(), 3), plus_minus: to(plus_minus, 3) }),
        growth_mm: away(off.growth, growth, GROWTH).filter(|_| there && meant.kind == MeantKind::Mark),
        tone: off.tone.filter(|_| there).map(|tone| toned(meant, tone, coarse)),
        found: to(off.found.0 as f64 / off.found.1.max(1) as f64, 3),
    }
}

/// What is told of a mark's tone, and what its stock says.
fn toned(meant: &MeantWork, [left, contrast]: [(f64, f64); 2], coarse: f64) -> Tone {
    let away =
        |(is, unsure): (f64, f64)| Away { is: to(is, 3), plus_minus: to(sure(unsure, (ALIKE, PALER * is), coarse), 3) };
    let left_meant = meant.colours.map(|[burnt, bare]| relative_luminance(burnt) / relative_luminance(bare).max(1e-6));
    Tone {
        light_left: away(left),
        light_meant: left_meant.map(|left| to(left, 3)),
        contrast: away(contrast),
        contrast_meant: meant.colours.map(|[burnt, bare]| to(Contrast::between(burnt, bare).ratio(), 2)),
    }
}

fn damage(parts: &[PartTold], remarks: &mut Vec<Remark>) {
    for (part, it) in parts.iter().flat_map(|part| part.damage.iter().map(move |it| (part, it))) {
        let (of, layer) = (&it.of, &part.layer);
        let (bearing, out) = (plain(it.bearing_deg, 0), plain(it.out_mm, 1));
        let (long, area) = (plain(it.long_mm, 1), plain(it.area_mm2.unwrap_or(0.0), 1));
        let deep = it.deep_mm.map_or_else(String::new, |deep| format!(", {} mm deep", plain(deep, 2)));
        let place = format!("on the {} of `{layer}`, {out} mm from the axis at bearing {bearing}°", part.face);
        let broke = "look whether a piece broke out, or something lies against it";
        let (says, help) = match it.kind {
            DamageKind::Rim => (
                format!("the rim of `{layer}` is not as it was meant for {long} mm at bearing {bearing}°{deep}"),
                broke,
            ),
            DamageKind::Opening => (
                format!(
                    "the edge of `{of}` of `{layer}` is not as it was meant for {long} mm at bearing {bearing}°{deep}"
                ),
                broke,
            ),
            DamageKind::Web => (
                format!("the web of `{layer}` beside `{of}` is broken, {out} mm from the axis at bearing {bearing}°"),
                "it was too thin for its board, or caught: widen it before more are cut",
            ),
            DamageKind::Spot => (
                format!("there is a dark spot of {area} mm² {place}, where the stock should be bare"),
                "a burn, dirt or a knot: look at it, and mask the face or blow more air if it is a burn",
            ),
            DamageKind::Hole => (format!("{area} mm² of stock are gone {place}"), broke),
        };
        let place = format!("part {}", part.number);
        remarks.push(Remark { kind: RemarkKind::Damage, place, says, help: help.to_owned() });
    }
}

/// Marks that are darker or paler than the stock says.
fn tones(parts: &[PartTold], remarks: &mut Vec<Remark>) {
    for part in parts {
        for work in &part.works {
            let Some((tone, meant)) = work.tone.and_then(|tone| Some((tone, tone.contrast_meant?))) else { continue };
            let off = tone.contrast.is / meant - 1.0;
            if off.abs() < OTHER_TONE || (tone.contrast.is - meant).abs() < tone.contrast.plus_minus {
                continue;
            }
            let (how, help) = if off < 0.0 {
                (
                    "paler",
                    "burn it slower or with more power, or give the stock the colour that it burns to, `engraved`",
                )
            } else {
                (
                    "darker",
                    "burn it faster or with less power, or give the stock the colour that it burns to, `engraved`",
                )
            };
            remarks.push(Remark {
                kind: RemarkKind::Tone,
                place: format!("part {}", part.number),
                says: format!(
                    "`{}` of `{}` is {how} than its stock says: contrast {} ± {} where {} is meant",
                    work.name,
                    part.layer,
                    plain(tone.contrast.is, 2),
                    plain(tone.contrast.plus_minus, 2),
                    plain(meant, 2)
                ),
                help: help.to_owned(),
            });
        }
    }
}

/// Moves every edge to where a calliper's reading of one part says that it is.
fn proven(
    meant: &Meant,
    known: Option<Known>,
    (parts, edges): (&mut [PartTold], &mut [(usize, Vec<EdgeFound>)]),
    remarks: &mut Vec<Remark>,
) -> EdgeBy {
    let Some(known) = known else { return EdgeBy::Scan };
    let part = parts.iter().zip(edges.iter()).find(|(part, _)| part.number == known.part);
    let layer = part.and_then(|(part, (layer, _))| Some((part, meant.layers.get(*layer)?)));
    let Some((part, layer)) = layer else {
        let says = format!("there is no part {} on these scans; they have {}", known.part, parts.len());
        let help = "take its number from the picture, `--picture FILE`".to_owned();
        remarks.push(Remark { kind: RemarkKind::Known, place: "--known".to_owned(), says, help });
        return EdgeBy::Scan;
    };
    let expected = least_width(layer) + layer.kerf - part.kerf_mm;
    let more = (known.width - expected) / 2.0;
    if more.abs() > OTHER_PART {
        let says = format!(
            "part {} is {} mm across by the scan where it is narrowest, and {} mm by the calliper",
            known.part,
            plain(expected, 2),
            plain(known.width, 2)
        );
        let help = "read it anew between two parallel jaws, the least that you find, or look at its number".to_owned();
        remarks.push(Remark { kind: RemarkKind::Known, place: "--known".to_owned(), says, help });
        return EdgeBy::Scan;
    }
    parts.iter_mut().for_each(|part| part.kerf_mm = to(part.kerf_mm - 2.0 * more, 4));
    let cuts = edges.iter_mut().flat_map(|(_, edges)| edges).filter(|edge| edge.cut);
    cuts.for_each(|edge| edge.beyond += more);
    EdgeBy::Calliper
}

/// The least distance between two parallel jaws round a layer, mm.
pub fn least_width(layer: &MeantLayer) -> f64 {
    let mut points = Vec::new();
    kurbo::flatten(&layer.outline, 0.0002, |element| {
        if let kurbo::PathEl::MoveTo(p) | kurbo::PathEl::LineTo(p) = element {
            points.push(p);
        }
    });
    let width = |turn: f64| {
        let along = kurbo::Vec2::from_angle(turn);
        let places = points.iter().map(|p| p.to_vec2().dot(along));
        let (low, high) = places.fold((f64::MAX, f64::MIN), |(low, high), it| (low.min(it), high.max(it)));
        high - low
    };
    (0..720).map(|at| width(f64::from(at) * std::f64::consts::PI / 720.0)).fold(f64::MAX, f64::min)
}

fn stocks(meant: &Meant, parts: &[PartTold], remarks: &mut Vec<Remark>) -> Vec<StockTold> {
    let mut names: Vec<&str> = parts.iter().map(|part| part.stock.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let told = names.into_iter().filter_map(|name| {
        let own: Vec<&PartTold> = parts.iter().filter(|part| part.stock == name).collect();
        let readings: Vec<f64> = own.iter().map(|part| part.kerf_mm).collect();
        let noise =
            own.iter().map(|part| (part.kerf_plus_minus_mm / COVER).powi(2)).sum::<f64>() / own.len().max(1) as f64;
        if let Some((found, part)) = of_mean(&readings, 0.0).and_then(|found| Some((found, own.get(found.at)?))) {
            remarks.push(Remark {
                kind: RemarkKind::StandsOut,
                place: format!("part {}", part.number),
                says: format!(
                    "its kerf, {} mm, stands out among the {} of `{name}` (Grubbs: {} where {} is the most)",
                    plain(part.kerf_mm, 3),
                    readings.len(),
                    plain(found.statistic, 2),
                    plain(found.critical, 2)
                ),
                help: "it counts all the same; look at the part before you believe the spread".to_owned(),
            });
        }
        let used = meant.layers.iter().find(|layer| layer.stock == name)?.kerf;
        Some(StockTold { stock: name.to_owned(), used_mm: used, kerf: spread(&readings, noise)? })
    });
    told.collect()
}

/// How far works of a kind are off their places along either axis; their deviation is that about their places.
fn offsets(parts: &[PartTold], kind: MeantKind) -> Option<Spread> {
    let works = parts.iter().flat_map(|part| &part.works).filter(|work| work.kind == kind.name());
    let away: Vec<Away> = works.flat_map(|work| work.off.into_iter().flatten()).collect();
    let values: Vec<f64> = away.iter().map(|it| it.is).collect();
    let noise = away.iter().map(|it| (it.plus_minus / COVER).powi(2)).sum::<f64>() / away.len().max(1) as f64;
    let mut spread = spread(&values, noise)?;
    // What lies off its place in all parts alike is off its place as well.
    let about_none = (values.iter().map(|it| it * it).sum::<f64>() / values.len() as f64 - noise).max(0.0).sqrt();
    spread.deviation_mm = Some(to(about_none, 4));
    let (low, high) = deviation_interval(about_none, values.len());
    spread.deviation_from_to_mm = (values.len() > 2).then(|| [to(low, 4), to(high, 4)]);
    Some(spread)
}

/// Mean and spread, less the variance that measuring adds.
fn spread(readings: &[f64], noise: f64) -> Option<Spread> {
    let mean = Mean::of(readings)?;
    let free = readings.len().saturating_sub(1);
    let less = |deviation: f64| to((deviation * deviation - noise).max(0.0).sqrt(), 4);
    let from_to = mean.deviation.filter(|_| free > 1).map(|s| {
        let (low, high) = deviation_interval(s, free);
        [less(low), less(high)]
    });
    Some(Spread {
        mean_mm: to(mean.mean, 4),
        plus_minus_mm: mean.half_width().map(|half| to(half, 4)),
        deviation_mm: mean.deviation.map(less),
        deviation_from_to_mm: from_to,
        count: mean.count,
    })
}

/// The 95 % interval of a standard deviation: s·√(n/χ²), with χ² by Wilson and Hilferty (Abramowitz and Stegun 26.4.17), which is
/// within 2 % from two degrees of freedom on.
fn deviation_interval(s: f64, free: usize) -> (f64, f64) {
    let (n, z) = (free as f64, 1.96);
    let chi = |z: f64| n * (1.0 - 2.0 / (9.0 * n) + z * (2.0 / (9.0 * n)).sqrt()).max(0.05).powi(3);
    (s * (n / chi(z)).sqrt(), s * (n / chi(-z)).sqrt())
}
