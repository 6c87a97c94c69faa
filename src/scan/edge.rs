//! Where an edge lies across its profile: erf steps, by Levenberg and Marquardt's least squares (Tabatabai and Mitchell, "Edge
//! location to subpixel values in digital imagery", IEEE Transactions on Pattern Analysis and Machine Intelligence 6, 1984, for
//! what a step's place between pixels is).

use crate::statistics::normal::below;

/// What a profile crosses, from within the part outwards.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Across {
    /// Bare face, char, lid.
    Cut,
    /// Dark, bare.
    Burn,
    /// Bare, a line that is hardly wider than the picture is soft, bare.
    Line,
}

/// An edge that was found.
#[derive(Clone, Copy, Debug)]
pub(super) struct Found {
    /// Where it is along the profile, mm.
    pub(super) at: f64,
    /// How soft it is: the standard deviation of its step, mm.
    pub(super) soft: f64,
    /// Light on either side of it: within, beyond.
    pub(super) light: (f64, f64),
}

const MOST: usize = 9;
type Values = [f64; MOST];

/// Finds it; none where the profile shows no such edge. `places` in mm, `step` apart. Char that is hardly wider than the picture is soft
/// does not tell its own light, which may be given for it.
pub(super) fn find(across: Across, places: &[f64], light: &[f64], (step, char): (f64, Option<f64>)) -> Option<Found> {
    let (mut start, count) = begin(across, places, light, step)?;
    let known = char.filter(|_| across == Across::Cut);
    if let (Some(known), [_, own, ..]) = (known, &mut start) {
        *own = known;
    }
    let (values, left) = fitted(across, places, light, (start, count, known.is_some()))?;
    let [inner, char, _, lid, _, _, at, soft, ..] = values;
    let (within, beyond) = if across == Across::Cut { (char, lid) } else { (inner, char) };
    let (first, last) = (places.first()?, places.last()?);
    let deep = (beyond - within).abs();
    // Where a piece broke out there is only lid, and char that is given and not seen is no edge.
    let lowest = light.iter().copied().fold(f64::INFINITY, f64::min);
    let shows = across != Across::Cut || beyond - lowest > 0.3 * deep;
    let sound = shows && at > *first && at < *last && soft.abs() < 0.4 && deep > 0.02 && left < 0.25 * deep;
    sound.then_some(Found { at, soft: soft.abs(), light: (within, beyond) })
}

/// Light within and beyond an edge that was found in another light: linear least squares on the same step.
pub(super) fn sides(places: &[f64], light: &[f64], found: &Found) -> Option<(f64, f64)> {
    let mut normal = super::solve::Normal::of(2);
    for (s, light) in places.iter().zip(light) {
        let outer = below((s - found.at) / found.soft);
        normal.add([(0, 1.0 - outer), (1, outer)].into_iter(), *light, 1.0);
    }
    match normal.solved()?.as_slice() {
        [within, beyond] => Some((*within, *beyond)),
        _ => None,
    }
}

/// Where to begin: at the steepest slopes.
fn begin(across: Across, places: &[f64], light: &[f64], step: f64) -> Option<(Values, usize)> {
    let reach = ((0.08 / step).round() as usize).max(1);
    let slopes: Vec<(f64, f64)> = places
        .iter()
        .zip(light.windows(2 * reach + 1))
        .map(|(place, window)| {
            let rise = window.last().unwrap_or(&0.0) - window.first().unwrap_or(&0.0);
            (*place + reach as f64 * step, rise)
        })
        .collect();
    let edge = slopes.iter().max_by(|a, b| a.1.total_cmp(&b.1))?.0;
    let mean = |from: f64, to: f64| {
        let within = places.iter().zip(light).filter(|(place, _)| **place >= from && **place <= to);
        let (sum, count) = within.fold((0.0, 0.0), |(sum, count), (_, light)| (sum + light, count + 1.0));
        if count > 0.0 { Some(sum / count) } else { None }
    };
    let (first, last) = (*places.first()?, *places.last()?);
    match across {
        Across::Cut => {
            let inner = mean(first, edge - 0.3)?;
            let char = light
                .iter()
                .zip(places)
                .filter(|(_, p)| **p < edge && **p > edge - 0.3)
                .map(|it| *it.0)
                .fold(f64::MAX, f64::min);
            let lid = mean(edge + 0.1, last)?;
            Some(([inner, char.min(lid), edge - 0.13, lid, 0.0, 0.05, edge, 0.05, 0.0], MOST))
        }
        Across::Burn => {
            let (dark, bare) = (mean(first, edge - 0.05)?, mean(edge + 0.05, last)?);
            Some(([dark, bare, 0.0, 0.0, 0.0, 0.0, edge, 0.06, 0.0], 4))
        }
        Across::Line => {
            let darkest = places.iter().zip(light).min_by(|a, b| a.1.total_cmp(b.1))?;
            let bare = light.iter().sum::<f64>() / light.len().max(1) as f64;
            Some(([*darkest.1, bare, 0.0, 0.0, 0.0, 0.0, *darkest.0, 0.1, 0.0], 4))
        }
    }
}

/// The value of a model at a place, and its slopes by each value.
fn model(across: Across, v: &Values, s: f64) -> (f64, Values) {
    let step = |at: f64, soft: f64| {
        let z = (s - at) / soft;
        let bell = (-0.5 * z * z).exp() / (soft * std::f64::consts::TAU.sqrt());
        (below(z), bell, z)
    };
    let mut slopes = [0.0; MOST];
    match across {
        Across::Cut => {
            let [wood, char, rim, lid, rise, soft_rim, at, soft, bend] = *v;
            let (inner, inner_bell, inner_z) = step(rim, soft_rim);
            let (outer, outer_bell, outer_z) = step(at, soft);
            let t = s - at;
            let beyond = lid + rise * t + bend * t * t - char;
            slopes = [
                1.0 - inner,
                inner - outer,
                -(char - wood) * inner_bell,
                outer,
                outer * t,
                -(char - wood) * inner_bell * inner_z,
                -beyond * outer_bell - (rise + 2.0 * bend * t) * outer,
                -beyond * outer_bell * outer_z,
                outer * t * t,
            ];
            (wood + (char - wood) * inner + beyond * outer, slopes)
        }
        Across::Burn => {
            let [dark, bare, _, _, _, _, at, soft, _] = *v;
            let (outer, bell, z) = step(at, soft);
            let [a, b, c, d, ..] = &mut slopes;
            (*a, *b, *c, *d) = (1.0 - outer, outer, -(bare - dark) * bell, -(bare - dark) * bell * z);
            (dark + (bare - dark) * outer, slopes)
        }
        Across::Line => {
            let [dark, bare, _, _, _, _, at, soft, _] = *v;
            let z = (s - at) / soft;
            let bell = (-0.5 * z * z).exp();
            let [a, b, c, d, ..] = &mut slopes;
            (*a, *b, *c, *d) = (bell, 1.0 - bell, (dark - bare) * bell * z / soft, (dark - bare) * bell * z * z / soft);
            (bare + (dark - bare) * bell, slopes)
        }
    }
}

/// Which of the values a model is made of, in the order of its slopes.
fn used(across: Across) -> &'static [usize] {
    match across {
        Across::Cut => &[0, 1, 2, 3, 4, 5, 6, 7, 8],
        Across::Burn | Across::Line => &[0, 1, 6, 7],
    }
}

fn squares(across: Across, places: &[f64], light: &[f64], v: &Values) -> f64 {
    places.iter().zip(light).map(|(s, light)| (light - model(across, v, *s).0).powi(2)).sum()
}

/// Levenberg's steps with Marquardt's scaling; the values and the root mean square of what is left.
fn fitted(
    across: Across,
    places: &[f64],
    light: &[f64],
    (start, count, keeps_char): (Values, usize, bool),
) -> Option<(Values, f64)> {
    let (mut values, mut damping) = (start, 1e-3);
    let mut left = squares(across, places, light, &values);
    for _ in 0..40 {
        let mut normal = super::solve::Normal::of(count);
        for (s, light) in places.iter().zip(light) {
            let (value, mut slopes) = model(across, &values, *s);
            if keeps_char {
                let [_, own, ..] = &mut slopes;
                *own = 0.0;
            }
            normal.add(slopes.iter().take(count).copied().enumerate(), light - value, 1.0);
        }
        normal.damp(damping);
        let step = normal.solved()?;
        let mut next = values;
        for (at, by) in used(across).iter().zip(&step) {
            if let Some(value) = next.get_mut(*at) {
                *value += by;
            }
        }
        keep_sound(across, &mut next);
        let then = squares(across, places, light, &next);
        if then.is_finite() && then < left {
            let gained = (left - then) / left.max(1e-30);
            (values, left, damping) = (next, then, (damping * 0.3).max(1e-9));
            if gained < 1e-7 {
                break;
            }
        } else {
            damping *= 6.0;
            if damping > 1e8 {
                break;
            }
        }
    }
    Some((values, (left / places.len().max(1) as f64).sqrt()))
}

/// Steps have a width, and char lies within the edge.
fn keep_sound(across: Across, values: &mut Values) {
    let [_, _, rim, _, _, soft_rim, at, soft, _] = values;
    *soft = soft.abs().clamp(0.012, 0.6);
    if across == Across::Cut {
        *soft_rim = soft_rim.abs().clamp(0.012, 0.6);
        *rim = rim.clamp(*at - 0.8, *at - 0.02);
    }
}
