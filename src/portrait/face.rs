//! The upper face of a slab: its figure, what is burnt, filled, painted and sunk into it, and its rim.

use super::camera::{Vec3, unit};
use super::colour::{Rgb, mixed, scaled, toned};
use super::grain::{card, kept, wood};
use super::light::{RUN, Sight};
use super::noise::{fade, noise, smooth};
use super::raster::Grid;
use super::scene::Place;
use super::slab::{Kind, Layered, Slab};
use super::stuff::Stuff;

/// Depth of a full engraving and width of its flank, in mm.
const BURNT: f32 = 0.20;
const FLANK: f32 = 0.07;
/// How far an ink stands below the face, as a share of the engraving's depth.
const FILLED: f32 = 0.4;
/// How far heat colours the wood beside a cut, in mm.
const SCORCH: f32 = 0.32;

/// Where a face is looked at.
#[derive(Clone, Copy)]
pub(super) struct Spot {
    pub(super) place: Place,
    /// On the page, and in the frame of the slab.
    pub(super) at: (f32, f32),
    pub(super) own: (f32, f32),
    pub(super) along: Vec3,
    /// Width of a pixel in mm.
    pub(super) pixel: f32,
}

/// What is known of a place of a face, before light.
struct Face {
    colour: Rgb,
    normal: Vec3,
    /// What is left of the key light, and of the sky.
    key: f32,
    sky: f32,
    gloss: (f32, u8),
}

/// What stock is like at a place.
struct Figure {
    /// Lightness about 0, and how much of the place is an open pore.
    light: f32,
    pore: f32,
    /// Along and across the grain.
    grain: (f32, f32),
}

impl Sight<'_> {
    /// The light that comes from the upper face of a slab, so far from its edge.
    pub(super) fn face(&self, slab: &Slab, spot: &Spot, edge: f32) -> Rgb {
        let figure = figure(slab, spot);
        let mut face = bare(slab, &figure, edge);
        self.smoked(&mut face, slab, spot);
        for mark in &slab.near {
            let there = mark.mask.at(spot.own.0, spot.own.1);
            match mark.kind {
                _ if there <= 0.0 => {}
                // A coat hides the figure, all but what of it stands out of the board.
                Kind::Paint => face.colour = mixed(face.colour, toned(mark.colour, 0.25 * figure.light), there),
                Kind::Burnt { deep, filled: false } => self.burnt(&mut face, (slab, mark), spot, &figure, deep),
                Kind::Burnt { filled: true, .. } => self.filled(&mut face, (slab, mark), spot),
                Kind::Pocket(depth) => self.sunk(&mut face, (slab, mark), spot, depth),
                Kind::Metal => {
                    face.colour = mixed(face.colour, mark.colour, there);
                    face.gloss = Stuff::Metal.gloss();
                }
            }
        }
        self.rim(&mut face, slab, spot, edge);
        let at = [spot.at.0, spot.at.1, slab.high];
        let key = self.key_light(at) * face.key * self.nearness(spot.at.0, spot.at.1);
        let body = self.lit(face.colour, face.normal, key, self.sky(at) * face.sky);
        // What a level face gives back straight on is in its stated colour already; metal has none but what it gives back.
        let level =
            if slab.stuff == Stuff::Metal { 0.0 } else { self.gloss([0.0, 0.0, 1.0], [0.0, 0.0, -1.0], face.gloss) };
        self.shone(body, (self.gloss(face.normal, spot.along, face.gloss) - level) * key)
    }

    /// Smoke beside what is burnt.
    fn smoked(&self, face: &mut Face, slab: &Slab, spot: &Spot) {
        let near = slab.smoke.as_ref().map_or(0.0, |smoke| smoke.at(spot.own.0, spot.own.1));
        if near > 0.004 {
            face.colour = toned(face.colour, -0.30 * near);
        }
    }

    /// The floor of an engraving, its flank, and the shadow of its rim.
    fn burnt(&self, face: &mut Face, (slab, mark): (&Slab, &Layered), spot: &Spot, figure: &Figure, deep: f32) {
        let there = mark.mask.at(spot.own.0, spot.own.1);
        let (u, v) = spot.own;
        let floor = if slab.stuff.is_wood() {
            let (along, across) = figure.grain;
            let fleck = kept(0.16, spot.pixel) * 0.07 * noise(u / 0.19, v / 0.14, slab.seed.wrapping_add(40))
                + kept(0.24, spot.pixel) * 0.16 * noise(along / 4.0, across / 0.24, slab.seed.wrapping_add(41));
            toned(mark.colour, 2.6 * figure.light - 1.5 * figure.pore + fleck)
        } else {
            toned(mark.colour, 2.0 * figure.light)
        };
        face.colour = mixed(face.colour, floor, there);
        face.sky *= 1.0 - 0.22 * there * deep;
        self.sloped(face, &mark.mask, spot, deep);
        face.key *= 1.0 - 0.75 * deep * there * (1.0 - self.lighter(&mark.mask, spot, BURNT * deep));
    }

    /// An engraving filled nearly to the brim.
    fn filled(&self, face: &mut Face, (slab, mark): (&Slab, &Layered), spot: &Spot) {
        let there = mark.mask.at(spot.own.0, spot.own.1);
        let spread = 0.012 * noise(spot.own.0 / 0.5, spot.own.1 / 0.5, slab.seed.wrapping_add(50));
        face.colour = mixed(face.colour, toned(mark.colour, spread), there);
        face.gloss.0 += 0.02 * there;
        self.sloped(face, &mark.mask, spot, 0.45);
        face.key *= 1.0 - 0.6 * there * (1.0 - self.lighter(&mark.mask, spot, FILLED * BURNT));
    }

    /// The flank of a mark leans into it.
    fn sloped(&self, face: &mut Face, mask: &Grid<u8>, spot: &Spot, deep: f32) {
        if let Some((bend_u, bend_v)) = flank(mask, spot.own, spot.pixel) {
            let (x, y) = spot.place.out_of(deep * bend_u, deep * bend_v);
            face.normal = unit([-x, -y, 1.0]);
        }
    }

    /// Coverage of a mark where a ray of the key light comes in that ends here, so deep below the face.
    fn lighter(&self, mask: &Grid<u8>, spot: &Spot, deep: f32) -> f32 {
        let (u, v) = self.toward_light(&spot.place, spot.at, deep * RUN);
        mask.at(u, v)
    }

    /// A pocket: down the line of sight either its floor is met, or its wall before it.
    fn sunk(&self, face: &mut Face, (slab, mark): (&Slab, &Layered), spot: &Spot, depth: f32) {
        if mark.mask.at(spot.own.0, spot.own.1) <= 0.5 {
            return;
        }
        let down = depth / -spot.along[2];
        let at = (spot.at.0 + spot.along[0] * down, spot.at.1 + spot.along[1] * down);
        let (u, v) = spot.place.own(at.0, at.1);
        let floor = mark.mask.at(u, v);
        let fleck = 0.10 * noise(u / 0.3, v / 0.3, slab.seed.wrapping_add(70))
            + 0.10 * noise(u / 3.0, v / 0.25, slab.seed.wrapping_add(71));
        let burnt = toned(mixed(slab.colour, mark.colour, 0.62), fleck);
        face.colour = mixed(scaled(mark.colour, 0.5), burnt, floor);
        let lit = (1..=4_u8).map(|step| {
            let (u, v) = self.toward_light(&spot.place, at, depth * RUN * f32::from(step) / 4.0);
            0.25 * mark.mask.at(u, v)
        });
        let lit: f32 = lit.sum();
        face.key *= lit * lit;
        face.sky *= 0.55 + 0.2 * floor;
    }

    /// The rim: soot on wood and card, and a corner that is not quite sharp.
    fn rim(&self, face: &mut Face, slab: &Slab, spot: &Spot, edge: f32) {
        let rim = slab.stuff.rim();
        if edge >= rim {
            return;
        }
        let near = 1.0 - edge / rim;
        let (x, y) = self.inwards(slab, spot.own);
        let lean = if slab.stuff == Stuff::Metal { 1.5 * near * near } else { 0.75 * near };
        face.normal = unit([face.normal[0] - x * lean, face.normal[1] - y * lean, face.normal[2]]);
        face.colour = match slab.stuff {
            Stuff::Wood { .. } => mixed(face.colour, scaled(slab.engraved, 0.45), 0.78 * smooth(0.0, 1.0, 1.3 * near)),
            Stuff::Card => mixed(face.colour, slab.engraved, 0.55 * smooth(0.0, 1.0, near)),
            _ => face.colour,
        };
    }
}

fn figure(slab: &Slab, spot: &Spot) -> Figure {
    let ((cos, sin), (u, v)) = (slab.grain, spot.own);
    // Grain at 0 degrees runs up the page, as a bearing does.
    let grain = (u * sin - v * cos, u * cos + v * sin);
    let (light, pore) = match (slab.stuff, &slab.slow) {
        (Stuff::Wood { figure, .. }, Some(slow)) => wood(figure, slow, grain, slab.seed, spot.pixel),
        (Stuff::Card, _) => (card(u, v, slab.seed, spot.pixel), 0.0),
        _ => (0.0, 0.0),
    };
    Figure { light, pore, grain }
}

/// The face of the stock, scorched beside cuts where it is wood.
fn bare(slab: &Slab, figure: &Figure, edge: f32) -> Face {
    let colour = figured(slab.colour, slab.stained, figure.light, figure.pore);
    let colour = if slab.stuff.is_wood() { toned(colour, -0.22 * fade(edge / SCORCH)) } else { colour };
    Face { colour, normal: [0.0, 0.0, 1.0], key: 1.0, sky: 1.0, gloss: slab.stuff.gloss() }
}

/// A colour as the figure makes it lighter and darker.
pub(super) fn figured(colour: Rgb, stained: bool, light: f32, pore: f32) -> Rgb {
    // Stain sinks into what is open: the figure is stronger and the pores darker.
    let (by, open) = if stained { (1.7, 2.0) } else { (1.0, 1.0) };
    toned(colour, by * light - open * pore)
}

/// The slope of a mark's flank, from its coverage; none on the level.
pub(super) fn flank(mask: &Grid<u8>, (u, v): (f32, f32), pixel: f32) -> Option<(f32, f32)> {
    let step = FLANK.max(0.6 * pixel);
    let across = mask.at(u + step, v) - mask.at(u - step, v);
    let down = mask.at(u, v + step) - mask.at(u, v - step);
    let by = -BURNT / (2.0 * step) * 0.7;
    (across != 0.0 || down != 0.0).then_some((across * by, down * by))
}
