//! Every edge of a scan, looked for where it should be.

use kurbo::{Affine, Point, Vec2};

use super::{DARK, Fit, Found, Kind, LAST, Picture, Row, Station};
use crate::scan::edge::{self, Across};

/// Looks for every edge where it should be by what is known so far, as far as `reach` from there.
pub(super) fn look(
    picture: &Picture,
    fit: &Fit<'_>,
    all: &[Vec<(Option<usize>, Station)>],
    reach: f64,
    (lid, char): (f64, Option<f64>),
) -> (Vec<Row>, Vec<Found>) {
    let (mut rows, mut founds) = (Vec::new(), Vec::new());
    for (part, stations) in all.iter().enumerate() {
        let pose = fit.pose(part);
        for (at, (work, station)) in stations.iter().enumerate() {
            let kind = work.and_then(|work| fit.work_kind(part, work));
            let cut = matches!(kind, None | Some(Kind::Opening));
            let to_glass = pose * fit.off(part, *work);
            let beyond = beyond(fit, part, *work, station);
            let crossing = Crossing::of(picture, fit, (to_glass, station), (beyond, window(kind, reach)));
            let found = crossing.light(|place| picture.at(place)).and_then(|light| {
                // On a dark lid the bright side is within.
                let turned = cut && lid <= DARK;
                let light = if turned { light.iter().map(|it| 1.0 - it).collect() } else { light };
                let across = match kind {
                    Some(Kind::Line) => Across::Line,
                    None | Some(Kind::Opening) if !turned => Across::Cut,
                    _ => Across::Burn,
                };
                edge::find(across, &crossing.places, &light, (crossing.step, char))
            });
            let Some(found) = found else { continue };
            let is_toned = kind == Some(Kind::Mark) && reach <= LAST;
            let tone = is_toned.then(|| crossing.light(|place| picture.luminance(place))).flatten();
            let tone = tone.and_then(|light| edge::sides(&crossing.places, &light, &found));
            // Where the edge is along the crossing, from where it was drawn, in the glass's own mm.
            let linear = |v: Vec2| (pose * v.to_point()) - (pose * Point::ORIGIN);
            let across = linear(station.normal);
            // All of what is known counts in the value, so that each solution stands for itself.
            let row = Row {
                part,
                work: *work,
                at: station.at,
                normal: station.normal,
                glass: to_glass * station.at + across * (found.at + beyond),
                across,
                value: found.at,
                kind: usize::from(!cut) + usize::from(matches!(kind, Some(Kind::Mark | Kind::Line))),
                station: at,
                tone,
            };
            let known: f64 = fit.slopes(&row).iter().map(|(at, slope)| slope * fit.value(*at)).sum();
            rows.push(Row { value: found.at + known, ..row });
            founds.push(found);
        }
    }
    (rows, founds)
}

/// How far beyond where it was drawn an edge is by what is known so far, besides how its work is off its place, mm.
fn beyond(fit: &Fit<'_>, part: usize, work: Option<usize>, station: &Station) -> f64 {
    let kind = work.and_then(|work| fit.work_kind(part, work));
    if matches!(kind, None | Some(Kind::Opening)) {
        let angle = 2.0 * station.normal.atan2();
        return fit.value(fit.start(part) + 3) + fit.value(4) * angle.cos() + fit.value(5) * angle.sin();
    }
    work.and_then(|work| fit.work_start(part, work)).map_or(0.0, |own| fit.value(own + 3))
}

/// From where to where across an edge it is looked at, mm.
fn window(kind: Option<Kind>, reach: f64) -> (f64, f64) {
    match kind {
        Some(Kind::Mark | Kind::Line | Kind::Pocket) => (-(0.35 * reach + 0.1), 0.35 * reach + 0.1),
        None | Some(Kind::Opening) => (-(reach.max(0.8)), reach),
    }
}

/// The light of char on this scan: that of the quarter of all stretches where it is darkest, because it is wide there.
pub(super) fn char_of(rows: &[Row], founds: &[Found]) -> Option<f64> {
    let cut = rows.iter().zip(founds).filter(|(row, _)| row.kind == 0);
    let mut lights: Vec<f64> = cut.map(|(_, found)| found.light.0).collect();
    lights.sort_by(f64::total_cmp);
    lights.get(lights.len() / 4).map(|light| light.max(0.0))
}

/// Places across a stretch of an edge.
struct Crossing {
    /// How far along the crossing they are, mm, so far from one to the next.
    places: Vec<f64>,
    step: f64,
    /// Of each neighbour along the edge its place on the scan, and the direction across it there.
    along: Vec<(Point, Vec2)>,
    beyond: f64,
}

impl Crossing {
    fn of(
        picture: &Picture,
        fit: &Fit<'_>,
        (to_glass, station): (Affine, &Station),
        (beyond, (from, to)): (f64, (f64, f64)),
    ) -> Self {
        let step = (picture.pixel.x.min(picture.pixel.y) / 2.0).clamp(0.004, 0.05);
        let count = ((to - from) / step).floor() as usize + 1;
        let origin = to_glass * Point::ORIGIN;
        let along = station.along.iter().map(|(p, n)| {
            let place = to_glass * *p;
            (place + fit.strain(place), to_glass * n.to_point() - origin)
        });
        let along = along.collect();
        Self { places: (0..count).map(|at| from + at as f64 * step).collect(), step, along, beyond }
    }

    /// The mean profile; none where some of it is beyond the picture.
    fn light(&self, at: impl Fn(Point) -> Option<f64>) -> Option<Vec<f64>> {
        let mut sums = vec![0.0; self.places.len()];
        for (place, across) in &self.along {
            for (sum, s) in sums.iter_mut().zip(&self.places) {
                *sum += at(*place + *across * (s + self.beyond))?;
            }
        }
        Some(sums.iter().map(|sum| sum / self.along.len() as f64).collect())
    }
}
