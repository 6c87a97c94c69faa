//! From what scans came to, to what is told of the run, each figure with its 95 % interval.

use super::survey::{Off, Part};
use super::told::{
    Away, Damage, EdgeBy, FORMAT, Measured, PartTold, Remark, RemarkKind, Spread, StockTold, VERSION, WorkTold,
};
use super::{EdgeFound, Known, Looked, Run};
use crate::rehearsal::{Meant, MeantKind, MeantLayer};
use crate::statistics::{Mean, of_mean};
use crate::units::plain;

/// The fit's own uncertainties are too small by about this factor, since neighbouring places of an edge stray alike: found by
/// scans of the synthetic scanner; and what is left of each besides, mm.
const CUT: (f64, f64) = (2.0, 0.001);
const OPENING: (f64, f64) = (1.8, 0.001);
const BURNT: (f64, f64) = (1.5, 0.0009);
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
/// Places of a broken rim no farther apart than this are one, mm.
const ONE_PIECE: f64 = 4.0;

/// Everything that is told.
pub(super) fn run(meant: &Meant, looked: Vec<Looked>, known: Option<Known>, mut remarks: Vec<Remark>) -> Run {
    let mut parts = Vec::new();
    let mut edges = Vec::new();
    for (scan, it) in looked.iter().enumerate() {
        for part in &it.survey.parts {
            let Some(layer) = meant.layers.get(part.lying.layer) else { continue };
            parts.push(told(parts.len() + 1, scan, part, layer));
            let found = part.edges.iter();
            let found = found
                .map(|edge| EdgeFound { at: edge.at, normal: edge.normal, beyond: edge.beyond, cut: edge.cut })
                .collect();
            edges.push((part.lying.layer, found));
        }
    }
    let edge = proven(meant, known, (&mut parts, &mut edges), &mut remarks);
    damage(&parts, &mut remarks);
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

fn sure(formal: f64, (factor, rest): (f64, f64)) -> f64 {
    COVER * (factor * formal).hypot(rest)
}

fn told(number: usize, scan: usize, part: &Part, layer: &MeantLayer) -> PartTold {
    let pose = part.lying.pose;
    let works = part.works.iter().filter_map(|(at, off)| Some(work(layer.works.get(*at)?, off)));
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
        kerf_plus_minus_mm: to(2.0 * sure(part.within, CUT), 4),
        works: works.collect(),
        damage: damages(part),
    }
}

fn work(meant: &crate::rehearsal::MeantWork, off: &Off) -> WorkTold {
    let factor = if meant.kind == MeantKind::Opening { OPENING } else { BURNT };
    let away = |is: f64, formal: f64| {
        let plus_minus = sure(formal, factor);
        (plus_minus < TOLD).then(|| Away { is: to(is, 4), plus_minus: to(plus_minus, 4) })
    };
    let ((first, second), turn, growth) = off.within;
    let there = off.found.0 > 0;
    let plus_minus = COVER * BURNT.0 * turn.to_degrees();
    WorkTold {
        name: meant.name.clone(),
        kind: meant.kind.name().to_owned(),
        axes: if off.polar { "out-clockwise" } else { "right-up" }.to_owned(),
        off: [away(off.shift.0, first).filter(|_| there), away(off.shift.1, second).filter(|_| there)],
        turned_deg: (meant.kind == MeantKind::Mark && there && plus_minus < TURN_TOLD)
            .then(|| Away { is: to(-off.turn.to_degrees(), 3), plus_minus: to(plus_minus, 3) }),
        growth_mm: away(off.growth, growth).filter(|_| there && meant.kind == MeantKind::Mark),
        light_left: (there && meant.kind != MeantKind::Opening && off.light.1 > 0.0)
            .then(|| to(off.light.0 / off.light.1, 3)),
        found: to(off.found.0 as f64 / off.found.1.max(1) as f64, 3),
    }
}

/// Stretches of the rim that are lost, neighbours as one.
fn damages(part: &Part) -> Vec<Damage> {
    let mut runs: Vec<Vec<(kurbo::Point, Option<f64>)>> = Vec::new();
    for (at, deep) in &part.lost {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|(last, _)| (*last - *at).hypot() < ONE_PIECE) => {
                run.push((*at, *deep))
            }
            _ => runs.push(vec![(*at, *deep)]),
        }
    }
    let told = runs.into_iter().filter(|run| run.len() > 1).filter_map(|run| {
        let (first, last) = (run.first()?.0, run.last()?.0);
        let middle = run.get(run.len() / 2)?.0;
        let deep = run
            .iter()
            .filter_map(|it| it.1)
            .fold(None, |most: Option<f64>, it| Some(most.map_or(it, |most| most.max(it))));
        Some(Damage {
            bearing_deg: to(middle.x.atan2(middle.y).to_degrees().rem_euclid(360.0), 0),
            // A station at either end is counted by its half.
            long_mm: to((last - first).hypot() + 1.5, 1),
            deep_mm: deep.map(|deep| to(deep, 2)),
        })
    });
    told.collect()
}

fn damage(parts: &[PartTold], remarks: &mut Vec<Remark>) {
    for part in parts {
        for it in &part.damage {
            let deep = it.deep_mm.map_or_else(String::new, |deep| format!(", {} mm deep", plain(deep, 2)));
            remarks.push(Remark {
                kind: RemarkKind::Damage,
                place: format!("part {}", part.number),
                says: format!(
                    "the rim of `{}` is not as it was meant for {} mm at bearing {}°{deep}",
                    part.layer,
                    plain(it.long_mm, 1),
                    plain(it.bearing_deg, 0)
                ),
                help: "look whether a piece broke out, or something lies against it".to_owned(),
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
