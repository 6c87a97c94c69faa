//! Few colours for many pictures, and the pictures in their numbers.

use super::film::Frame;

/// Eight bits of red, green and blue.
type Colour = [u8; 3];

/// Colours are tallied in steps of four.
const BINS: usize = 1 << 18;
/// Rounds of means.
const ROUNDS: usize = 4;
/// How far two neighbours of the even pattern may be pushed apart, in 255ths.
const DITHER: f32 = 5.0;
/// Bayer's even pattern ("An optimum method for two-level rendition of continuous-tone pictures", 1973), row by row.
const BAYER: [u8; 16] = [0, 8, 2, 10, 12, 4, 14, 6, 3, 11, 1, 9, 15, 7, 13, 5];

/// A colour and how much it weighs.
#[derive(Clone, Copy)]
struct Point {
    at: [f32; 3],
    weight: f32,
}

/// So many colours for all pictures: boxes by median cut (Heckbert, "Color Image Quantization for Frame Buffer Display", 1982),
/// then a few rounds of means (Lloyd, "Least Squares Quantization in PCM", 1982). `ground` is among them as it is, so that the
/// picture does not stand out from its page.
pub(super) fn palette(frames: &[Frame], count: usize, ground: Colour) -> Vec<Colour> {
    let points = tallied(frames);
    let mut boxes = vec![points.clone()];
    while boxes.len() < count {
        let spreads = boxes.iter().map(|points| if points.len() > 1 { spread(points).0 } else { -1.0 });
        let Some((worst, most)) = spreads.enumerate().max_by(|one, other| one.1.total_cmp(&other.1)) else { break };
        if most < 0.0 {
            break;
        }
        let (low, high) = parted(boxes.swap_remove(worst));
        boxes.extend([low, high]);
    }
    let mut means: Vec<[f32; 3]> = boxes.iter().map(|points| mean(points)).collect();
    for _ in 0..ROUNDS {
        let mut groups: Vec<Vec<Point>> = means.iter().map(|_| Vec::new()).collect();
        for point in &points {
            if let Some(group) = groups.get_mut(nearest(&means, point.at)) {
                group.push(*point);
            }
        }
        for (mean_of, group) in means.iter_mut().zip(&groups).filter(|(_, group)| !group.is_empty()) {
            *mean_of = mean(group);
        }
    }
    let at = nearest(&means, ground.map(f32::from));
    let mut colours: Vec<Colour> = means.iter().map(|colour| colour.map(|value| (value + 0.5) as u8)).collect();
    if let Some(colour) = colours.get_mut(at) {
        *colour = ground;
    }
    colours
}

/// Every colour there is, with the root of how often: one that fills half the picture needs no more room than one that fills a
/// tenth of it.
fn tallied(frames: &[Frame]) -> Vec<Point> {
    let mut tally = vec![0_u32; BINS];
    for pixel in frames.iter().flat_map(|frame| frame.rgb.chunks_exact(3)) {
        if let Some(count) = tally.get_mut(bin(pixel)) {
            *count += 1;
        }
    }
    let found = tally.iter().enumerate().filter(|(_, count)| **count > 0);
    let point = |(bin, count): (usize, &u32)| Point {
        at: [(bin >> 12) & 63, (bin >> 6) & 63, bin & 63].map(|step| step as f32 * 4.0 + 1.5),
        weight: (*count as f32).sqrt(),
    };
    found.map(point).collect()
}

fn bin(pixel: &[u8]) -> usize {
    pixel.iter().take(3).fold(0, |bin, channel| (bin << 6) | usize::from(channel >> 2))
}

/// How much a box wants to be parted, and along which channel.
fn spread(points: &[Point]) -> (f32, usize) {
    let weight: f32 = points.iter().map(|point| point.weight).sum();
    let along = |channel: usize| {
        let values = points.iter().filter_map(|point| point.at.get(channel).copied());
        let (low, high) = values.fold((f32::MAX, f32::MIN), |(low, high), value| (low.min(value), high.max(value)));
        (high - low, channel)
    };
    let (wide, channel) = (0..3).map(along).fold((0.0, 0), |best, one| if one.0 > best.0 { one } else { best });
    (wide * wide * weight, channel)
}

/// A box in two of about the same weight.
fn parted(mut points: Vec<Point>) -> (Vec<Point>, Vec<Point>) {
    let (_, channel) = spread(&points);
    let value = |point: &Point| point.at.get(channel).copied().unwrap_or_default();
    points.sort_by(|one, other| value(one).total_cmp(&value(other)));
    let half = points.iter().map(|point| point.weight).sum::<f32>() / 2.0;
    let mut sum = 0.0;
    let cut = points.iter().position(|point| {
        sum += point.weight;
        sum >= half
    });
    let cut = (cut.unwrap_or(0) + 1).min(points.len().saturating_sub(1));
    let high = points.split_off(cut);
    (points, high)
}

fn mean(points: &[Point]) -> [f32; 3] {
    let weight: f32 = points.iter().map(|point| point.weight).sum::<f32>().max(1e-9);
    let [r, g, b] = points
        .iter()
        .fold([0.0; 3], |[r, g, b], Point { at, weight }| [r + at[0] * weight, g + at[1] * weight, b + at[2] * weight]);
    [r / weight, g / weight, b / weight]
}

/// The colour that looks most like one: green counts most, blue least.
fn nearest(colours: &[[f32; 3]], to: [f32; 3]) -> usize {
    let off = |colour: &[f32; 3]| {
        let [r, g, b] = [colour[0] - to[0], colour[1] - to[1], colour[2] - to[2]];
        2.0 * r * r + 4.0 * g * g + b * b
    };
    let best = colours.iter().enumerate().map(|(at, colour)| (at, off(colour)));
    best.fold((0, f32::MAX), |best, one| if one.1 < best.1 { one } else { best }).0
}

/// The pictures in the numbers of a palette. An even pattern that stays in its place hides bands, where that is wanted.
pub(super) fn numbered(frames: &[Frame], wide: usize, colours: &[Colour], dithered: bool) -> Vec<Vec<u8>> {
    let exact: std::collections::BTreeMap<Colour, u8> = colours.iter().copied().zip(0..).collect();
    let floats: Vec<[f32; 3]> = colours.iter().map(|colour| colour.map(f32::from)).collect();
    let mut known: Vec<Option<u8>> = vec![None; BINS];
    let mut number = |(at, pixel): (usize, &[u8])| {
        let &[r, g, b] = pixel else { return 0 };
        // A colour of the palette stays itself; only what lies between is pushed to either side.
        if let Some(same) = exact.get(&[r, g, b]) {
            return *same;
        }
        let place = (at / wide.max(1)) % 4 * 4 + at % wide.max(1) % 4;
        let step = BAYER.get(place).copied().map_or(0.5, |step| f32::from(step) / 15.0);
        let push = if dithered { (step - 0.5) * DITHER } else { 0.0 };
        let pushed = [r, g, b].map(|channel| (f32::from(channel) + push).clamp(0.0, 255.0));
        let slot = known.get_mut(bin(&pushed.map(|channel| channel as u8)));
        let found = || nearest(&floats, pushed) as u8;
        slot.map_or_else(found, |slot| *slot.get_or_insert_with(found))
    };
    frames.iter().map(|frame| frame.rgb.chunks_exact(3).enumerate().map(&mut number).collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_colours_are_kept_and_the_ground_to_the_bit() {
        let pixels = [[10_u8, 20, 30], [200, 100, 50], [0xf3, 0xf0, 0xea]].concat();
        let frame = Frame { rgb: pixels, stays: 5 };
        let colours = palette(std::slice::from_ref(&frame), 8, [0xf3, 0xf0, 0xea]);
        assert_eq!(colours.len(), 3);
        assert!(colours.contains(&[0xf3, 0xf0, 0xea]), "{colours:?}");
        let numbers = numbered(std::slice::from_ref(&frame), 3, &colours, false);
        for (number, wanted) in numbers[0].iter().zip([[10, 20, 30], [200, 100, 50], [0xf3, 0xf0, 0xea]]) {
            let found = colours[usize::from(*number)];
            assert!(found.iter().zip(wanted).all(|(one, other): (&u8, u8)| one.abs_diff(other) <= 2), "{found:?}");
        }
    }

    #[test]
    fn no_pixels_are_no_trouble() {
        let frame = Frame { rgb: Vec::new(), stays: 5 };
        let colours = palette(std::slice::from_ref(&frame), 8, [1, 2, 3]);
        assert_eq!(numbered(&[frame], 0, &colours, true), [Vec::<u8>::new()]);
    }
}
