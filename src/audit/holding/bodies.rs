//! How heavy the halves of a turn are, and how far off the axis their mass stands.

use kurbo::Vec2;

use crate::design::axis::AxisMagnet;
use crate::design::{Design, Joint, Layer, Magnet};
use crate::geometry::{Region, polar};
use crate::units::{Density, Length, Mass};

/// Density of sintered rare-earth magnets (from memory: 7400 to 7600 kg/m3 in the sheets of their makers).
const MAGNET_DENSITY: Density = Density::kilograms_per_cubic_metre(7500.0);
/// Density of mild steel (from memory).
const STEEL_DENSITY: Density = Density::kilograms_per_cubic_metre(7850.0);

/// A mass and where its centre stands.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Body {
    /// How heavy it is.
    pub mass: Mass,
    /// Mass times the distance of its centre from the axis, kg mm, in the front frame. For a half that turns within
    /// itself only its length counts: the most that its stops can bring about.
    pub moment: Vec2,
}

impl Body {
    /// How far its centre of mass stands from the axis.
    ///
    /// Nothing where it is less than a micrometre: what a balanced body's sums leave is rounding, finer than anything is
    /// drawn or cut, and a shock reckoned from it would be a number without meaning.
    pub fn offset(&self) -> Length {
        let mass = self.mass.as_kilograms();
        let offset = if mass > 0.0 { self.moment.hypot() / mass } else { 0.0 };
        Length::mm(if offset < 1e-3 { 0.0 } else { offset })
    }

    fn add(&mut self, kilograms: f64, moment: Vec2) {
        self.mass = self.mass + Mass::kilograms(kilograms);
        self.moment += moment;
    }

    fn add_sheet(&mut self, region: &Region, depth: Length, density: Density, sign: f64) {
        let kilograms = sign * region.area() * depth.as_mm() * density.as_kilograms_per_cubic_metre() * 1e-9;
        self.add(kilograms, region.centroid().unwrap_or_default().to_vec2() * kilograms);
    }
}

/// The two halves of the turn above layer `below`: all that lies under it, and all that lies on it.
pub(super) fn halves(design: &Design, below: usize, magnets: &[AxisMagnet]) -> [Body; 2] {
    if design.is_wheel(below + 1) {
        // About its own axis, while all else stands still and so turns nothing.
        let mut rest = Body::default();
        design
            .layers
            .iter()
            .enumerate()
            .filter(|(at, _)| *at != below + 1)
            .for_each(|(_, layer)| add_layer(&mut rest, layer));
        return [Body { moment: Vec2::ZERO, ..rest }, glued(design, below + 1..below + 2, magnets)];
    }
    let (mut lower, mut upper) = (Vec::new(), Vec::new());
    let mut first = 0;
    for (joint, it) in design.joints.iter().enumerate() {
        if matches!(it, Joint::Turn(_)) {
            let half = if first > below { &mut upper } else { &mut lower };
            half.push(first..joint + 1);
            first = joint + 1;
        }
    }
    let half = if first > below { &mut upper } else { &mut lower };
    half.push(first..design.layers.len());
    [lower, upper].map(|groups| {
        let bodies: Vec<Body> = groups.into_iter().map(|layers| glued(design, layers, magnets)).collect();
        match bodies.as_slice() {
            [one] => *one,
            several => several.iter().fold(Body::default(), |mut all, one| {
                // Bodies that turn within a half may stand at any of their stops; all moments the same way is the
                // worst of them.
                all.add(one.mass.as_kilograms(), Vec2::new(one.moment.hypot(), 0.0));
                all
            }),
        }
    })
}

/// How heavy one layer is before it is glued to another, its magnets included.
pub fn layer_mass(design: &Design, layer: usize, magnets: &[AxisMagnet]) -> Mass {
    glued(design, layer..layer + 1, magnets).mass
}

/// What is glued together from these layers, its magnets included; glue and engraving weigh nothing here.
fn glued(design: &Design, layers: std::ops::Range<usize>, magnets: &[AxisMagnet]) -> Body {
    let mut body = Body::default();
    for layer in design.layers.get(layers.clone()).unwrap_or_default() {
        add_layer(&mut body, layer);
    }
    for magnet in magnets.iter().filter(|magnet| layers.contains(&magnet.layer)) {
        body.add(mass_of(magnet.magnet).as_kilograms(), Vec2::ZERO);
    }
    for (below, turn) in design.turns() {
        let Some(clicks) = &turn.clicks else { continue };
        let (lower, upper) = crate::design::stops::click_bearings(&turn.stops);
        let meet = design.across(below);
        for (layer, bearings) in [(meet.0, lower), (meet.1, upper)] {
            for bearing in bearings.iter().filter(|_| layers.contains(&layer)) {
                let kilograms = mass_of(&clicks.magnet).as_kilograms();
                body.add(kilograms, polar(clicks.radius.as_mm(), *bearing).to_vec2() * kilograms);
            }
        }
    }
    body
}

fn add_layer(body: &mut Body, layer: &Layer) {
    let density = layer.stock.density();
    body.add_sheet(layer.material(), layer.stock.thickness.mean, density, 1.0);
    for (_, region, depth) in layer.pockets() {
        body.add_sheet(region, depth.made(), density, -1.0);
    }
}

fn mass_of(magnet: &Magnet) -> Mass {
    let across = magnet.diameter.as_mm().powi(2) - magnet.hole().as_mm().powi(2);
    let volume = std::f64::consts::PI * 0.25 * across * magnet.height.as_mm();
    let density = if magnet.steel.is_some() { STEEL_DENSITY } else { MAGNET_DENSITY };
    Mass::kilograms(volume * density.as_kilograms_per_cubic_metre() * 1e-9)
}
