//! Walls of cuts, and stock that one looks through.

use super::camera::{Ray, Vec3, dot, unit};
use super::colour::{Rgb, mixed, plus, scaled, times};
use super::face::{Spot, flank};
use super::light::{HIGH, Sight};
use super::noise::{fade, noise, smooth};
use super::slab::{Kind, Slab};
use super::stuff::Stuff;

/// How much slower light is in acrylic (Polymer Handbook: poly(methyl methacrylate), 1.49; from memory), and its square.
const INDEX: f32 = 1.49;
const INDEX_SQUARE: f32 = 2.22;
/// What a frosted engraving hides of what is behind it.
const FROST: f32 = 0.72;

impl Sight<'_> {
    /// The light that comes from the wall of a slab at a place of the world.
    pub(super) fn wall(&self, slab: &Slab, [x, y, z]: Vec3, along: Vec3) -> Rgb {
        let own = self.place(slab).own(x, y);
        let (in_x, in_y) = self.inwards(slab, own);
        let normal = [-in_x, -in_y, 0.0];
        let part = ((z - slab.low) / (slab.high - slab.low)).clamp(0.0, 1.0);
        let key = self.key_light([x, y, z]);
        let key = if slab.is_clear() { 0.6 + 0.4 * key } else { key };
        // The seam to the next slab, and the foot on the ground.
        let seam = smooth(0.0, 0.13, z - slab.low) * smooth(0.0, 0.10, slab.high - z);
        let low = (smooth(0.0, 3.0, z) * 0.40 + 0.60) * (0.35 + 0.65 * seam);
        let sky = low * self.sky([x, y, slab.high]) * 2.1;
        let lit = self.lit(wall_colour(slab, own, part), normal, (key * (0.35 + 0.65 * seam)).min(1.0), sky);
        let shine = match slab.stuff {
            Stuff::Clear | Stuff::Gloss => 0.10,
            Stuff::Metal => 0.30,
            Stuff::Wood { .. } | Stuff::Card => 0.01,
        };
        plus(lit, scaled([1.0; 3], self.gloss(normal, along, (shine, 12))))
    }

    /// Clear stock: what comes through it, what its own marks and its edge add, and what its face gives back. `below` is where
    /// the line of sight leaves its far face, `under` what is seen there.
    pub(super) fn clear(&self, slab: &Slab, spot: &Spot, edge: f32, below: (f32, f32), under: Rgb) -> Rgb {
        let key = self.key_light([spot.at.0, spot.at.1, slab.high]);
        let own_below = spot.place.own(below.0, below.1);
        let through = self.marked(slab, &slab.far, own_below, (times(under, slab.colour), 0.5 + 0.5 * key), spot.pixel);
        // Light runs in the sheet and leaves at its edge.
        let inner = slab.edge.at(own_below.0, own_below.1);
        let glow = 0.42 * fade(edge / 0.28) + 0.16 * fade(edge / 1.3) + 0.22 * (1.0 - smooth(0.0, 0.5, inner.max(0.0)));
        let glowing = scaled(mixed(slab.colour, [0.80, 0.93, 0.92], 0.6), 0.95);
        let colour = mixed(through, glowing, glow.min(0.75));
        let line = 1.0 - smooth(0.05, 0.16, (edge - 0.32).abs());
        let colour = self.marked(slab, &slab.near, spot.own, (scaled(colour, 1.0 - 0.16 * line), key), spot.pixel);
        let (fresnel, back) = self.given_back(slab, spot, edge);
        plus(scaled(colour, 1.0 - fresnel), scaled([0.97, 0.99, 1.0], back * key))
    }

    /// Marks of a face of clear stock over what is behind them, under so much key light.
    fn marked(
        &self,
        slab: &Slab,
        marks: &[super::slab::Layered],
        own: (f32, f32),
        (behind, key): (Rgb, f32),
        pixel: f32,
    ) -> Rgb {
        marks.iter().fold(behind, |behind, mark| {
            let there = mark.mask.at(own.0, own.1);
            if there <= 0.0 {
                return behind;
            }
            let normal = flank(&mark.mask, own, pixel).map_or([0.0, 0.0, 1.0], |(bend_u, bend_v)| {
                let (x, y) = self.place(slab).out_of(0.4 * bend_u, 0.4 * bend_v);
                unit([-x, -y, 1.0])
            });
            let share = match mark.kind {
                Kind::Burnt { deep, filled: false } => FROST * deep,
                Kind::Pocket(_) => 0.4,
                Kind::Paint | Kind::Metal | Kind::Burnt { filled: true, .. } => 1.0,
            };
            mixed(behind, self.lit(mark.colour, normal, key, 1.0), share * there)
        })
    }

    /// A window in the room, seen in the sheet as one soft band: how much the face keeps from going through, and gives back.
    fn given_back(&self, slab: &Slab, spot: &Spot, edge: f32) -> (f32, f32) {
        let along = spot.along;
        let turned = unit([along[0], along[1], -along[2]]);
        let slant = (spot.at.0 + 0.5 * spot.at.1) / (2.0 * self.reach) + 1.1 * turned[0] + 0.8 * turned[1] + 0.62;
        let pane = smooth(-0.55, -0.20, slant) * (1.0 - smooth(0.0, 0.45, slant));
        let facing = (1.0 + along[2]).clamp(0.0, 1.0);
        let square = facing * facing;
        // Schlick, "An Inexpensive BRDF Model for Physically-based Rendering", 1994.
        let fresnel = 0.04 + 0.96 * square * square * facing;
        let rim = slab.stuff.rim();
        let corner = if edge < rim {
            let near = 1.0 - edge / rim;
            let (x, y) = self.inwards(slab, spot.own);
            1.3 * (dot(unit([-x * near, -y * near, 1.0]), self.to_light()) - HIGH).max(0.0)
        } else {
            0.0
        };
        (fresnel, fresnel * (0.35 + 1.1 * pane) + corner)
    }
}

/// What a wall is made of at a place of its slab, `part` of its height up.
fn wall_colour(slab: &Slab, (u, v): (f32, f32), part: f32) -> Rgb {
    let seeded = |at: u32| slab.seed.wrapping_add(at);
    let stripe = noise(u * 5.0, v * 5.0, seeded(60)) + 0.8 * noise(u * 12.0, v * 12.0, seeded(61));
    match slab.stuff {
        Stuff::Wood { plies, .. } => {
            // Of three plies the middle one shows end grain; glue lines between them.
            let ply = part * 3.0;
            let nearest = if ply < 1.5 { 1.0 } else { 2.0 };
            let glue = if plies { 1.0 - smooth(0.02, 0.10, (ply - nearest).abs()) } else { 0.0 };
            let middle = if plies && ply > 1.0 && ply < 2.0 { 0.80 } else { 1.15 };
            let grain = 0.10 * noise(u * 0.9 + 40.0 * part, ply * 9.0, seeded(62));
            let char = scaled(mixed(slab.engraved, [0.02, 0.014, 0.01], 0.10), middle);
            let wood = mixed(char, slab.colour, if slab.stained { 0.0 } else { 0.06 + 0.06 * part });
            scaled(wood, (1.0 + 0.13 * stripe + grain) * (1.0 - 0.30 * glue))
        }
        Stuff::Card => scaled(mixed(slab.colour, slab.engraved, 0.62), 1.0 + 0.07 * stripe),
        Stuff::Gloss => scaled(slab.colour, 0.95),
        Stuff::Metal => scaled(slab.colour, 0.75),
        Stuff::Clear => {
            let band = 0.55 + 0.45 * smooth(0.0, 0.5, part) * (1.0 - 0.6 * smooth(0.55, 1.0, part));
            scaled(mixed(slab.colour, [1.0; 3], 0.2), band)
        }
    }
}

/// Where a line of sight leaves the far face of a slab of acrylic that it enters at `at`.
pub(super) fn bent(slab: &Slab, at: (f32, f32), ray: &Ray) -> (f32, f32) {
    let along = ray.along;
    let down = (1.0 - (1.0 - along[2] * along[2]) / INDEX_SQUARE).sqrt();
    let inside = unit([along[0] / INDEX, along[1] / INDEX, -down]);
    let way = (slab.low - slab.high) / inside[2];
    (at.0 + inside[0] * way, at.1 + inside[1] * way)
}
