//! Stops of a turn, and where its click magnets sit.

use crate::units::Angle;

/// The least angle between neighbouring stops; none for a single one.
pub fn closest_stops(stops: &[Angle]) -> Option<Angle> {
    gaps(stops).into_iter().reduce(f64::min).map(Angle::degrees)
}

/// Whether all neighbouring stops are equally far apart, to a millionth of a degree.
pub fn evenly_spaced(stops: &[Angle]) -> bool {
    let gaps = gaps(stops);
    gaps.iter().all(|gap| (gap - gaps.first().copied().unwrap_or_default()).abs() < 1e-6)
}

/// Bearings of the click magnets on the lower and on the upper half of a turn with these stops: one pair for each
/// stop where the stops are even; a single one on the upper half where they are not, since only that meets a partner
/// at every stop.
pub fn click_bearings(stops: &[Angle]) -> (Vec<Angle>, Vec<Angle>) {
    (stops.to_vec(), if evenly_spaced(stops) { stops.to_vec() } else { vec![Angle::ZERO] })
}

/// The angles between neighbouring stops round the circle, in degrees.
fn gaps(stops: &[Angle]) -> Vec<f64> {
    let mut sorted: Vec<f64> = stops.iter().map(|stop| stop.as_degrees().rem_euclid(360.0)).collect();
    sorted.sort_by(f64::total_cmp);
    let Some(first) = sorted.first().copied().filter(|_| sorted.len() > 1) else { return Vec::new() };
    let next = sorted.iter().skip(1).copied().chain(std::iter::once(first + 360.0));
    sorted.iter().zip(next).map(|(here, next)| next - here).collect()
}
