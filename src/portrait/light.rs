//! How much light comes to a place: of the key light past what stands in its way, and of the sky.

use super::camera::{Camera, Vec3, dot, unit};
use super::colour::{Rgb, mixed, plus, scaled, times};
use super::noise::fade;
use super::scene::Place;
use super::slab::{Kind, Slab};

/// Where the key light comes from: towards it on the page, of length 1.
pub(super) type Away = (f32, f32);

/// From the upper left, as light falls on a page.
pub(super) const UPPER_LEFT: Away = (-0.6887, -0.7250);
/// More from the side, so that walls towards the reader are not dark.
pub(super) const LEFT: Away = (-0.9650, -0.2622);

/// The key light stands 52 degrees high: sine, cosine, and its way on the page for each mm of height.
pub(super) const HIGH: f32 = 0.7880;
const FLAT: f32 = 0.6157;
pub(super) const RUN: f32 = 0.7813;
/// Half of the width of a penumbra for each mm of way.
const SOFT: f32 = 0.27;
/// Parts of key and sky on an open level face; together 1, so that a stated colour comes out as stated.
const KEY: f32 = 0.60;
const SKY: f32 = 0.40;
/// What little light comes into corners has touched the stock before.
const CORNER_TINT: Rgb = [1.20, 1.0, 0.80];
/// The key's part on the ground, where a lighter shadow looks right.
const GROUND_KEY: f32 = 0.46;
/// The colour of the ground's shadow.
const GROUND_SHADE: Rgb = [1.0, 0.975, 0.945];
/// How much nearer the light is to what lies at the rim of the dial on its side, as a share.
const NEARNESS: f32 = 0.048;

/// A dial that stands there, and how it is looked at.
pub(super) struct Sight<'a> {
    /// In order of the heights of their upper faces.
    pub(super) slabs: Vec<&'a Slab>,
    /// Where each layer stands.
    pub(super) places: &'a [Place],
    pub(super) camera: Camera,
    pub(super) away: Away,
    pub(super) ground: Rgb,
    /// How far the dial reaches, in mm.
    pub(super) reach: f32,
}

impl Sight<'_> {
    /// Where a slab stands.
    #[inline(always)]
    pub(super) fn place(&self, slab: &Slab) -> Place {
        self.places.get(slab.layer).copied().unwrap_or(Place { x: 0.0, y: 0.0, cos: 1.0, sin: 0.0 })
    }

    /// A place on the page, `way` mm nearer to the key light, in the frame of what stands at `place`.
    #[inline(always)]
    pub(super) fn toward_light(&self, place: &Place, (x, y): (f32, f32), way: f32) -> (f32, f32) {
        place.own(x + self.away.0 * way, y + self.away.1 * way)
    }

    /// How much of the key light comes to a place: through every slab that is higher, the nearest miss counts.
    pub(super) fn key_light(&self, [x, y, z]: Vec3) -> f32 {
        let above = self.slabs.iter().rev().take_while(|slab| slab.high > z + 1e-4);
        above.fold(1.0, |light, slab| light * (1.0 - self.taken(slab, (x, y), z)))
    }

    /// What share of the key light a slab takes from a place below its upper face.
    #[inline(always)]
    fn taken(&self, slab: &Slab, at: (f32, f32), z: f32) -> f32 {
        let place = self.place(slab);
        let (from, to) = ((slab.low - z).max(0.0) * RUN, (slab.high - z) * RUN);
        let (mid_x, mid_y) = self.toward_light(&place, at, 0.5 * (from + to));
        let reach = 0.5 * (to - from) + SOFT * to + 0.1;
        let there = slab.edge.at(mid_x, mid_y);
        if there < -reach {
            return 0.0;
        }
        let solid = if slab.is_clear() {
            // Paint lies on the far side, at the foot of the slab.
            let painted = coat(slab, self.toward_light(&place, at, from));
            0.10 + 0.9 * painted + 0.16 * fade(there.abs() * 2.2) * (1.0 - painted)
        } else {
            1.0
        };
        let mut open = if there > reach { 0.0 } else { 1.0_f32 };
        let steps: u8 = if from == 0.0 { 7 } else { 8 };
        for step in 0..steps {
            if open <= 0.0 {
                break;
            }
            let way = from + (to - from) * (f32::from(step) + 0.5) / f32::from(steps);
            let (u, v) = self.toward_light(&place, at, way);
            open = open.min(0.5 - 0.5 * slab.edge.at(u, v) / (SOFT * way + 0.03));
        }
        let open = open.max(0.0);
        solid * (1.0 - open * open * (3.0 - 2.0 * open))
    }

    /// How much of the sky is seen past what is above.
    pub(super) fn sky(&self, [x, y, z]: Vec3) -> f32 {
        let most = if z == 0.0 { 0.52 } else { 0.80 };
        let above = self.slabs.iter().rev().take_while(|slab| slab.high > z + 1e-4).filter(|slab| slab.low >= z - 1e-4);
        above.fold(1.0, |open, slab| {
            let (u, v) = self.place(slab).own(x, y);
            let near = 1.0 / (1.0 + 0.06 * (slab.low - z).max(0.0));
            let solid = if slab.is_clear() { 0.05 + 0.75 * coat(slab, (u, v)) } else { most };
            open * (1.0 - solid * near * slab.shade.at(u, v))
        })
    }

    pub(super) fn to_light(&self) -> Vec3 {
        [self.away.0 * FLAT, self.away.1 * FLAT, HIGH]
    }

    /// A dull face of a colour, its normal, and how much key and sky come there.
    pub(super) fn lit(&self, colour: Rgb, normal: Vec3, key: f32, sky: f32) -> Rgb {
        let facing = (dot(normal, self.to_light()) / HIGH).max(0.0);
        let direct = KEY * facing * key;
        let round = SKY * (0.5 + 0.5 * normal[2]) * sky;
        let corner = mixed(CORNER_TINT, [1.0; 3], (direct / KEY + sky).min(1.0));
        times(colour, scaled(corner, direct + round))
    }

    /// A broad highlight: of a half-way normal (Blinn, "Models of Light Reflection for Computer Synthesized Pictures", 1977), by
    /// repeated squaring.
    pub(super) fn gloss(&self, normal: Vec3, along: Vec3, (amount, power): (f32, u8)) -> f32 {
        let light = self.to_light();
        let half = unit([light[0] - along[0], light[1] - along[1], light[2] - along[2]]);
        let base = dot(normal, half).max(0.0);
        let value = (0..power).fold(1.0, |value, _| value * base);
        let grazing = 1.0 + dot(normal, along).min(0.0);
        amount * value * (1.0 + 6.0 * grazing * grazing * grazing)
    }

    /// The light is a window and not far away: what lies nearer to it is a little lighter.
    pub(super) fn nearness(&self, x: f32, y: f32) -> f32 {
        1.0 + NEARNESS * (self.away.0 * x + self.away.1 * y) / self.reach
    }

    /// The ground at a place: how light it is, and its colour.
    pub(super) fn ground_at(&self, x: f32, y: f32) -> (f32, Rgb) {
        let at = [x, y, 0.0];
        let light = GROUND_KEY * self.key_light(at) + (1.0 - GROUND_KEY) * self.sky(at);
        (light, times(scaled(self.ground, light), mixed(GROUND_SHADE, [1.0; 3], light)))
    }

    /// Which way the distance to the edge grows, on the page: inwards.
    pub(super) fn inwards(&self, slab: &Slab, (u, v): (f32, f32)) -> (f32, f32) {
        const STEP: f32 = 0.09;
        let gu = slab.edge.at(u + STEP, v) - slab.edge.at(u - STEP, v);
        let gv = slab.edge.at(u, v + STEP) - slab.edge.at(u, v - STEP);
        let size = (gu * gu + gv * gv).sqrt().max(1e-6);
        self.place(slab).out_of(gu / size, gv / size)
    }

    /// White light given back, added to what is there.
    pub(super) fn shone(&self, on: Rgb, sheen: f32) -> Rgb {
        plus(on, scaled([1.0, 0.99, 0.96], sheen))
    }
}

/// How much of a place of clear stock is painted on its far face.
fn coat(slab: &Slab, (u, v): (f32, f32)) -> f32 {
    let coats = slab.far.iter().filter(|mark| mark.kind == Kind::Paint);
    coats.map(|mark| mark.mask.at(u, v)).fold(0.0, f32::max)
}
