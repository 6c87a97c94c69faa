//! From the unknowns of a scan to what they say of each part.

use kurbo::{Point, Vec2};

use super::{Edge, Fit, Found, Kind, Lying, Off, Part, Pose, Row, Station};

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
        let light = |side: fn(&Found) -> f64| {
            let mut all: Vec<f64> =
                own().filter(|((row, _), _)| row.work == Some(work)).map(|((_, it), _)| side(it)).collect();
            all.sort_by(f64::total_cmp);
            all.get(all.len() / 2).copied().unwrap_or(0.0)
        };
        Some(Off {
            shift: (fit.value(at), fit.value(at + 1)),
            polar: fit.axes_of(part, work)?.polar,
            turn: fit.value(at + 2),
            growth: fit.value(at + 3),
            within: ((deviation(at), deviation(at + 1)), deviation(at + 2), deviation(at + 3)),
            found: counted(Some(work)),
            light: (light(|it| it.light.0), light(|it| it.light.1)),
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
    let lost = lost(stations, own().map(|((row, _), left)| (row, *left)));
    Part { lying, offset, within: deviation(start + 3), turn_within: deviation(start + 2), works, edges, lost, soft }
}

/// From this far on an edge is not where it was cut elsewhere, mm: no kerf strays so far along one rim (common practice, no source).
const LOST: f64 = 0.25;

fn lost<'r>(
    stations: &[(Option<usize>, Station)],
    rows: impl Iterator<Item = (&'r Row, f64)>,
) -> Vec<(Point, Option<f64>)> {
    let mut left: Vec<Option<f64>> = vec![None; stations.len()];
    for (row, value) in rows {
        left.iter_mut().skip(row.station).take(1).for_each(|it| *it = Some(value));
    }
    let rim = stations.iter().zip(left).filter(|((work, _), _)| work.is_none());
    let lost = rim.filter(|(_, left)| left.is_none_or(|left| left.abs() > LOST));
    lost.map(|((_, station), left)| (station.at, left.map(|left| -left))).collect()
}
