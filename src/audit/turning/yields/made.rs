//! A dial as it was made, and as it is set: how each of its joints strays.

use kurbo::Vec2;

use super::causes::Causes;
use super::look::{Frame, Look};

/// How all joints of a dial stray.
pub(super) struct Made {
    pub turns: Vec<Strayed>,
    pub glued: Vec<Laid>,
}

/// How one turn of a dial strays.
#[derive(Clone, Copy, Default)]
pub(super) struct Strayed {
    /// Its pockets, off the axis in the frames of their halves.
    pub lower: Vec2,
    pub upper: Vec2,
    /// How far its friction stands between the least and the greatest, and how far it is pushed off the axis at the most.
    pub friction: f64,
    pub pushed: f64,
    /// What is off anew each time it is set, in the ring's frame.
    pub anew: Vec2,
    /// How far off the stop it is left, in radians, had it come from the other side, and the standard deviation about that.
    pub off: f64,
    pub other: f64,
    pub placing: f64,
}

/// How a glued joint of a dial was laid: how far its upper layer is shifted, in the frame of its lower one, and turned, in radians.
#[derive(Clone, Copy, Default)]
pub(super) struct Laid {
    pub shift: Vec2,
    pub turned: f64,
}

impl Made {
    pub(super) fn new(causes: &Causes) -> Self {
        Self { turns: vec![Strayed::default(); causes.turns.len()], glued: vec![Laid::default(); causes.glued.len()] }
    }

    pub(super) fn turn(&self, at: usize) -> Strayed {
        self.turns.get(at).copied().unwrap_or_default()
    }

    /// How far the pockets of some turns shift their halves against each other, in the ring's frame.
    pub(super) fn kept(&self, frames: &[Frame]) -> Vec2 {
        let of = |frame: &Frame| {
            let turn = self.turn(frame.turn);
            turned(turn.lower, frame.lower) - turned(turn.upper, frame.upper)
        };
        frames.iter().map(of).fold(Vec2::ZERO, |sum, shift| sum + shift)
    }

    /// How far they are shifted anew each time the dial is set, in the ring's frame.
    pub(super) fn anew(&self, frames: &[Frame]) -> Vec2 {
        frames.iter().map(|frame| self.turn(frame.turn).anew).fold(Vec2::ZERO, |sum, shift| sum + shift)
    }

    /// How far some glued joints shift the layers over them at a look, in the ring's frame, and turn them, in radians.
    pub(super) fn laid(&self, look: &Look, glued: &[usize]) -> (Vec2, f64) {
        let all = glued.iter().filter_map(|at| self.glued.get(*at).zip(look.glued.get(*at)));
        all.fold((Vec2::ZERO, 0.0), |(shift, askew), (laid, frame)| {
            (shift + turned(laid.shift, *frame), askew + laid.turned)
        })
    }
}

/// Turned clockwise by the angle with this sine and cosine.
pub(super) fn turned(at: Vec2, (sin, cos): (f64, f64)) -> Vec2 {
    Vec2::new(at.x * cos + at.y * sin, at.y * cos - at.x * sin)
}
