//! Which tone each pixel has, and of what two tones an edge pixel is mixed.

use super::cover::Cover;
use super::decode::Picture;
use super::tones::{MOST, ToneShare, apart, near, nearest};

/// An edge mixes tones found within this many pixels.
const REACH: usize = 2;
/// A mixed colour may lie this far from the straight way between its two tones, in levels.
const OFF_MIX: f64 = 30.0;
/// The label of a pixel without a tone.
const NONE: u8 = u8::MAX;

/// A picture whose pixels know their tone.
pub(super) struct Labels<'a> {
    picture: &'a Picture,
    tones: Vec<[u8; 3]>,
    of: Vec<u8>,
}

/// Two tones and the share of the first.
#[derive(Clone, Copy)]
pub(super) struct Mix {
    first: usize,
    second: usize,
    share: f64,
}

impl<'a> Labels<'a> {
    pub(super) fn new(picture: &'a Picture, tones: &[ToneShare], noise: f64) -> Self {
        let tones: Vec<[u8; 3]> = tones.iter().take(MOST).map(|tone| tone.colour).collect();
        let near = near(noise);
        let mut last = ([0; 3], None);
        let label = |pixel: &[u8; 3]| {
            // Most pixels are like the one before them.
            if last.0 != *pixel || last.1.is_none() {
                last = (*pixel, nearest(&tones, *pixel, near));
            }
            last.1.and_then(|tone| u8::try_from(tone).ok()).unwrap_or(NONE)
        };
        let of = picture.pixels.iter().map(label).collect();
        Self { picture, tones, of }
    }

    /// The tone of a pixel, or the two that it mixes; none where it is neither.
    fn mix(&self, at: usize) -> Option<Mix> {
        match self.of.get(at) {
            Some(&NONE) | None => {
                let around = self.around(at);
                let colour = self.picture.pixels.get(at)?;
                // Only tones around an edge pixel can be mixed in it: among all tones some two would explain almost
                // any colour.
                let pairs =
                    around.iter().enumerate().flat_map(|(n, a)| around.iter().skip(n + 1).map(move |b| (*a, *b)));
                let mixes = pairs.filter_map(|(a, b)| self.mixed(*colour, a, b));
                mixes.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(mix, _)| mix)
            }
            Some(tone) => Some(Mix { first: usize::from(*tone), second: usize::from(*tone), share: 1.0 }),
        }
    }

    /// How a colour mixes two tones, and how far it lies from the way between them; none where that is too far.
    fn mixed(&self, colour: [u8; 3], first: usize, second: usize) -> Option<(Mix, f64)> {
        let (a, b) = (self.tones.get(first)?, self.tones.get(second)?);
        let share = share(colour, *a, *b);
        let off = a.iter().zip(b).zip(colour).map(|((a, b), c)| {
            let (a, b) = (f64::from(*a), f64::from(*b));
            (f64::from(c) - b - share * (a - b)).powi(2)
        });
        let off = off.sum::<f64>().sqrt();
        (off <= OFF_MIX).then_some((Mix { first, second, share }, off))
    }

    /// The tones around a pixel, in order and once each.
    fn around(&self, at: usize) -> Vec<usize> {
        let (x, y) = (at % self.picture.width, at / self.picture.width);
        let mut found: Vec<usize> = Vec::new();
        for y in y.saturating_sub(REACH)..=(y + REACH).min(self.picture.height.saturating_sub(1)) {
            let from = y * self.picture.width;
            let to = from + (x + REACH + 1).min(self.picture.width);
            let row = self.of.get(from + x.saturating_sub(REACH)..to).unwrap_or_default();
            let tones = row.iter().filter(|tone| **tone != NONE).map(|tone| usize::from(*tone));
            for tone in tones {
                if let Err(place) = found.binary_search(&tone) {
                    found.insert(place, tone);
                }
            }
        }
        found
    }

    /// The cover of all tones that are wanted.
    pub(super) fn cover(&self, wanted: &[bool]) -> Cover {
        let is_wanted = |tone: usize| wanted.get(tone).copied().unwrap_or(false);
        let value = |at: usize| match self.mix(at) {
            Some(Mix { first, second, share }) => {
                let covered =
                    if is_wanted(first) { share } else { 0.0 } + if is_wanted(second) { 1.0 - share } else { 0.0 };
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 255")]
                let value = (255.0 * covered).round() as u8;
                value
            }
            // Neither a tone nor a mix: the nearest tone has it.
            None => {
                let colour = self.picture.pixels.get(at).copied().unwrap_or([255; 3]);
                if nearest(&self.tones, colour, u8::MAX).is_some_and(is_wanted) { 255 } else { 0 }
            }
        };
        Cover::new(self.picture.width, self.picture.height, (0..self.of.len()).map(value))
    }

    /// The cover of the first of two tones by the straight way between them.
    pub(super) fn cover_of_two(picture: &Picture, mark: [u8; 3], ground: [u8; 3]) -> Cover {
        let mut last = ([0; 3], value_of_two([0; 3], mark, ground));
        let values = picture.pixels.iter().map(|pixel| {
            if last.0 != *pixel {
                last = (*pixel, value_of_two(*pixel, mark, ground));
            }
            last.1
        });
        Cover::new(picture.width, picture.height, values)
    }

    /// The pixels that are neither a tone nor a mix of tones beside them.
    pub(super) fn strays(&self) -> impl Iterator<Item = usize> {
        (0..self.of.len()).filter(|at| self.of.get(*at) == Some(&NONE) && self.mix(*at).is_none())
    }

    /// How many pixels have no tone.
    pub(super) fn untoned(&self) -> usize {
        self.of.iter().filter(|tone| **tone == NONE).count()
    }

    /// The tone most frequent on the rim of the picture.
    pub(super) fn ground(&self) -> Option<usize> {
        let (width, height) = (self.picture.width, self.picture.height);
        let mut counts = vec![0usize; self.tones.len()];
        let mut count = |at: usize| {
            if let Some(count) = self.of.get(at).and_then(|tone| counts.get_mut(usize::from(*tone))) {
                *count += 1;
            }
        };
        (0..width).for_each(|x| {
            count(x);
            count(x + (height - 1) * width)
        });
        (0..height).for_each(|y| {
            count(y * width);
            count(y * width + width - 1)
        });
        // Of two that are as frequent the first, which is the more frequent in the whole picture.
        let most = counts.iter().enumerate().max_by_key(|(at, count)| (**count, std::cmp::Reverse(*at)));
        most.filter(|(_, count)| **count > 0).map(|(at, _)| at)
    }

    /// The tone that a colour names; none where no tone is near.
    pub(super) fn named(&self, colour: [u8; 3]) -> Option<usize> {
        let far = |tone: &[u8; 3]| apart(*tone, colour);
        let (at, tone) = self.tones.iter().enumerate().min_by_key(|(at, tone)| (far(tone), *at))?;
        (far(tone) <= near(0.0)).then_some(at)
    }
}

/// The share of the first of two tones in a colour.
fn share(colour: [u8; 3], first: [u8; 3], second: [u8; 3]) -> f64 {
    let (mut along, mut whole) = (0i32, 0i32);
    for ((c, a), b) in colour.into_iter().zip(first).zip(second) {
        let way = i32::from(a) - i32::from(b);
        along += (i32::from(c) - i32::from(b)) * way;
        whole += way * way;
    }
    (f64::from(along) / f64::from(whole.max(1))).clamp(0.0, 1.0)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 255")]
fn value_of_two(colour: [u8; 3], mark: [u8; 3], ground: [u8; 3]) -> u8 {
    (255.0 * share(colour, mark, ground)).round() as u8
}
