//! The turning picture as GIF, small enough for any mail.

use std::num::NonZeroUsize;

use gif::{DisposalMethod, Encoder, Repeat};

use super::GROUND;
use super::film::{Frame, Turning, frames};
use super::palette::{numbered, palette};
use crate::design::Design;

/// Most bytes of a turning picture: mail systems pass pictures of a megabyte everywhere (common practice, no source).
pub const MOST_BYTES: usize = 1_000_000;

/// How a film is made smaller, step by step.
#[derive(Clone, Copy)]
struct Thrift {
    /// Colours, the one that stands for "as it was" included.
    colours: usize,
    dithered: bool,
    size: u32,
    /// Pictures between two stops.
    between: u8,
}

const THRIFTS: [Thrift; 7] = [
    Thrift { colours: 128, dithered: true, size: u32::MAX, between: 6 },
    Thrift { colours: 128, dithered: false, size: u32::MAX, between: 6 },
    Thrift { colours: 64, dithered: false, size: u32::MAX, between: 6 },
    Thrift { colours: 64, dithered: false, size: 480, between: 6 },
    Thrift { colours: 64, dithered: false, size: 480, between: 4 },
    Thrift { colours: 64, dithered: false, size: 320, between: 2 },
    Thrift { colours: 32, dithered: false, size: 240, between: 0 },
];

/// A dial turning through all its stops, as GIF of at most [`MOST_BYTES`]; the first picture stands by itself. What is too large is
/// made again with less: no pattern, fewer colours, smaller, fewer pictures between.
///
/// # Errors
/// Why it cannot be made, in words.
pub fn gif(design: &Design, wanted: &Turning, threads: NonZeroUsize) -> Result<Vec<u8>, String> {
    let mut drawn: Option<((u32, u8), Film)> = None;
    for thrift in THRIFTS {
        let size = thrift.size.min(wanted.size);
        let film = match drawn.take() {
            Some((same, film)) if same == (size, thrift.between) => film,
            _ => Film::of(design, Turning { size, ..*wanted }, thrift.between, threads),
        };
        if film.frames.is_empty() {
            return Err("nothing of it turns".to_owned());
        }
        let bytes = film.written(&thrift)?;
        if bytes.len() <= MOST_BYTES {
            return Ok(bytes);
        }
        drawn = Some(((size, thrift.between), film));
    }
    Err(format!("it has so many stops that it would take more than {MOST_BYTES} bytes"))
}

struct Film {
    frames: Vec<Frame>,
    wide: usize,
    high: usize,
}

/// What of a picture differs from the one before.
struct Change {
    left: usize,
    top: usize,
    wide: usize,
    high: usize,
    numbers: Vec<u8>,
}

impl Film {
    fn of(design: &Design, wanted: Turning, between: u8, threads: NonZeroUsize) -> Self {
        let (frames, wide, high) = frames(design, &wanted, between, threads);
        Self { frames, wide, high }
    }

    fn written(&self, thrift: &Thrift) -> Result<Vec<u8>, String> {
        let same = thrift.colours - 1;
        let mut colours = palette(&self.frames, same, GROUND);
        let numbers = numbered(&self.frames, self.wide, &colours, thrift.dithered);
        // The number after the last colour stands for "as it was".
        let kept = colours.len() as u8;
        colours.push(GROUND);
        let failed = |error: gif::EncodingError| error.to_string();
        let mut bytes = Vec::new();
        let side = |length: usize| u16::try_from(length).map_err(|error| error.to_string());
        let mut encoder =
            Encoder::new(&mut bytes, side(self.wide)?, side(self.high)?, &colours.concat()).map_err(failed)?;
        encoder.set_repeat(Repeat::Infinite).map_err(failed)?;
        let mut before: Option<&Vec<u8>> = None;
        for (frame, now) in self.frames.iter().zip(&numbers) {
            let change = self.change(before, now, kept);
            let written = gif::Frame {
                delay: frame.stays,
                dispose: DisposalMethod::Keep,
                transparent: before.map(|_| kept),
                left: side(change.left)?,
                top: side(change.top)?,
                width: side(change.wide)?,
                height: side(change.high)?,
                buffer: change.numbers.into(),
                ..gif::Frame::default()
            };
            encoder.write_frame(&written).map_err(failed)?;
            before = Some(now);
        }
        drop(encoder);
        Ok(bytes)
    }

    /// The smallest box that holds all that differs; a pixel where nothing does.
    fn change(&self, before: Option<&Vec<u8>>, now: &[u8], kept: u8) -> Change {
        let Some(before) = before else {
            return Change { left: 0, top: 0, wide: self.wide, high: self.high, numbers: now.to_vec() };
        };
        let differs = now.iter().zip(before).enumerate().filter(|(_, (now, before))| now != before);
        let places = differs.map(|(at, _)| (at % self.wide, at / self.wide));
        let bounds = places.fold(None, |bounds, (x, y)| {
            let (left, top, right, low) = bounds.unwrap_or((x, y, x, y));
            Some((x.min(left), y.min(top), x.max(right), y.max(low)))
        });
        let (left, top, right, low) = bounds.unwrap_or((0, 0, 0, 0));
        let places = (top..=low).flat_map(|y| (left..=right).map(move |x| y * self.wide + x));
        let number = |at: usize| match (now.get(at), before.get(at)) {
            (Some(now), Some(before)) if now != before => *now,
            _ => kept,
        };
        let numbers = places.map(number).collect();
        Change { left, top, wide: right - left + 1, high: low - top + 1, numbers }
    }
}
