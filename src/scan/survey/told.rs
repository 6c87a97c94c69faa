//! From the unknowns of a scan to what they say of each part.

use kurbo::Vec2;

use crate::scan::sum::median;

use super::{Edge, Fit, Found, Kind, Lost, Lying, Off, Part, Pose, Row, Station};

/// What a solution says of one part.
pub(super) fn told(
    fit: &Fit<'_>,
    part: usize,
    all: &[Vec<(Option<usize>, Station)>],
    (rows, founds, lefts): (&[Row], &[Found], &[f64]),
    deviations: &[f64],
) -> Part {
    let start = fit.start(part);
    let deviation = |at: usize| deviations.get(at).copied().unwrap_or(0.0);
    let own = || rows.iter().zip(founds).zip(lefts).filter(|((row, _), _)| row.part == part);
    let stations = all.get(part).map(Vec::as_slice).unwrap_or_default();
    let counted = |work: Option<usize>| {
        let found = own().filter(|((row, _), _)| row.work == work).count();
        (found, stations.iter().filter(|(of, _)| *of == work).count())
    };
    let off = |work: usize| -> Option<Off> {
        let at = fit.work_start(part, work)?;
        let tones: Vec<(f64, f64)> =
            own().filter(|((row, _), _)| row.work == Some(work)).filter_map(|((row, _), _)| row.tone).collect();
        Some(Off {
            shift: (fit.value(at), fit.value(at + 1)),
            polar: fit.axes_of(part, work)?.polar,
            turn: fit.value(at + 2),
            growth: fit.value(at + 3),
            within: ((deviation(at), deviation(at + 1)), deviation(at + 2), deviation(at + 3)),
            found: counted(Some(work)),
            tone: toned(&tones),
        })
    };
    let works = fit.works(part).iter().filter_map(|it| Some((it.work, off(it.work)?))).collect();
    let offset = fit.value(start + 3);
    let edges = own().map(|((row, _), left)| {
        let own = row.work.and_then(|work| Some((fit.work_start(part, work)?, fit.axes_of(part, work)?)));
        let cut = matches!(row.work.and_then(|work| fit.work_kind(part, work)), None | Some(Kind::Opening));
        let moved = own.map_or(0.0, |(at, axes)| {
            row.normal.dot(axes.first * fit.value(at) + axes.second * fit.value(at + 1))
                + row.normal.dot(Vec2::new(-row.at.y, row.at.x)) * fit.value(at + 2)
                + fit.value(at + 3)
        });
        let beyond = moved + left + if cut { offset } else { 0.0 };
        Edge { at: row.at, normal: row.normal, cut, beyond }
    });
    let mut soft: Vec<f64> = own().filter(|((row, _), _)| row.work.is_none()).map(|((_, it), _)| it.soft).collect();
    soft.sort_by(f64::total_cmp);
    let mut lying = fit.lying.get(part).cloned().unwrap_or(Lying {
        layer: 0,
        back: false,
        pose: Pose { at: Vec2::ZERO, turn: 0.0, mirrored: false },
    });
    lying.pose.at += Vec2::new(fit.value(start), fit.value(start + 1));
    lying.pose.turn += fit.value(start + 2);
    let edges = edges.collect();
    let soft = soft.get(soft.len() / 2).copied().unwrap_or(0.0);
    let is_cut =
        |work: Option<usize>| matches!(work.and_then(|work| fit.work_kind(part, work)), None | Some(Kind::Opening));
    let lost = lost(stations, own().map(|((row, _), left)| (row, *left)), is_cut);
    Part { lying, offset, within: deviation(start + 3), turn_within: deviation(start + 2), works, edges, lost, soft }
}

/// From this far on an edge is not where it was cut elsewhere, mm: no kerf strays so far along one rim (common practice, no source).
const LOST: f64 = 0.25;

fn lost<'r>(
    stations: &[(Option<usize>, Station)],
    rows: impl Iterator<Item = (&'r Row, f64)>,
    is_cut: impl Fn(Option<usize>) -> bool,
) -> Vec<Lost> {
    let mut left: Vec<Option<f64>> = vec![None; stations.len()];
    for (row, value) in rows {
        left.iter_mut().skip(row.station).take(1).for_each(|it| *it = Some(value));
    }
    let cut = stations.iter().zip(left).filter(|((work, _), _)| is_cut(*work));
    let lost = cut.filter(|(_, left)| left.is_none_or(|left| left.abs() > LOST));
    lost.map(|((work, station), left)| Lost { work: *work, at: station.at, deep: left.map(|left| -left) }).collect()
}

/// Luminance that is left where it is burnt, and contrast, each with the standard uncertainty of a median over such stretches (of which thin
/// joints of strokes are not a part); grain makes neighbours alike, which is counted where these are told.
fn toned(all: &[(f64, f64)]) -> Option<[(f64, f64); 2]> {
    let of = |value: fn(&(f64, f64)) -> f64| {
        let values: Vec<f64> = all.iter().filter(|(_, bare)| *bare > 0.01).map(value).collect();
        let middle = median(values.clone())?;
        let away = median(values.iter().map(|value| (value - middle).abs()).collect())?;
        // Of a normal distribution: the standard deviation is 1.4826 of the median deviation, a median's 1.2533 of a mean's.
        Some((middle, 1.2533 * 1.4826 * away / (values.len() as f64).sqrt()))
    };
    // Relative luminances of the WCAG, section 1.4.3, with 0.05 for the light of the room.
    Some([of(|(dark, bare)| dark / bare)?, of(|(dark, bare)| (bare + 0.05) / (dark.max(0.0) + 0.05))?])
}
