//! What is left of a part: its thinnest wall and floor by pixels, held against what is asked for and what the list tells of them.

use super::list::Layer;
use super::part::{Made, Meant, SAME_DEPTH_MM, Sunk, index};
use super::raster::{HALF, Patch, TWO_EDGES};
use super::remark::{Kind, Remarks, mm};
use super::webs::{Thin, thinnest};

/// Walls are looked for up to this much above what is asked for, in mm, so that one that just reaches it is seen.
const BEYOND_MM: f64 = 0.25;

/// The weakest places of a layer's parts, by their pixels.
#[derive(Clone, Debug, PartialEq)]
pub struct Left {
    /// The layer.
    pub layer: String,
    /// Its thinnest wall in mm; none where all are as thick as is asked for.
    pub web: Option<f64>,
    /// What that may be off, in mm.
    pub web_within: f64,
    /// What is asked of walls, in mm.
    pub least_web: f64,
    /// Its thinnest floor in mm, by the depths that the list tells; none without pockets.
    pub floor: Option<f64>,
    /// What is asked of floors, in mm.
    pub least_floor: f64,
}

impl Left {
    /// The weaker of two parts of a layer.
    pub(super) fn and(&mut self, other: &Self) {
        let least = |one: Option<f64>, other: Option<f64>| one.into_iter().chain(other).reduce(f64::min);
        self.web = least(self.web, other.web);
        self.floor = least(self.floor, other.floor);
    }
}

/// What is thin in what was meant.
pub(super) fn of_meant(layer: &Layer, material: &Patch, pockets: &[Sunk], scale: f64) -> Thin {
    thinnest(material, pockets.iter().map(|it| &it.patch), layer.least_web + BEYOND_MM, scale)
}

/// Looks at what is left of a part; `altered` where its edges or pockets are not where they were meant.
pub(super) fn look_at(made: &Made, meant: &Meant, layer: &Layer, altered: bool, remarks: &mut Remarks) -> Left {
    let as_made = altered.then(|| of_meant(layer, &made.material, &made.pockets, made.scale));
    let thin = as_made.as_ref().unwrap_or(&meant.thin);
    let within = TWO_EDGES / made.scale;
    walls(made, layer, thin, within, remarks);
    let floor = floors(made, layer, remarks);
    Left {
        layer: layer.layer.clone(),
        web: thin.wall.map(|it| it.width).filter(|width| *width < layer.least_web),
        web_within: within,
        least_web: layer.least_web,
        floor,
        least_floor: layer.least_floor,
    }
}

fn walls(made: &Made, layer: &Layer, thin: &Thin, within: f64, remarks: &mut Remarks) {
    let (wall, told) = (thin.wall, layer.web.unwrap_or(f64::INFINITY));
    let may_be = || thin.unsure.iter().any(|width| (width - told).abs() <= within);
    if let Some(wall) = wall.filter(|it| it.width < told.min(layer.least_web) - within) {
        let known = layer.web.filter(|web| *web < layer.least_web);
        let known = known.map_or_else(String::new, |web| format!(", and {} is told", mm(web)));
        let says = format!(
            "a wall near {}, {} is {} thick, where {} is asked for{known}",
            mm(wall.at.x),
            mm(wall.at.y),
            mm(wall.width),
            mm(layer.least_web)
        );
        remarks.push(Kind::Web, &made.name, says);
    } else if (within..layer.least_web - within).contains(&told)
        && wall.is_none_or(|it| it.width > told + within)
        && !may_be()
    {
        let is = wall.map_or_else(|| "none is that thin".to_owned(), |it| format!("the thinnest is {}", mm(it.width)));
        remarks.push(Kind::Web, &made.name, format!("a wall is told to be {} thick, and {is}", mm(told)));
    }
}

/// What pockets leave beneath them; the least of it.
fn floors(made: &Made, layer: &Layer, remarks: &mut Remarks) -> Option<f64> {
    let mut least: Option<f64> = None;
    let mut burnt = false;
    for (at, sunk) in made.pockets.iter().enumerate() {
        let others = || made.pockets.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, it)| it);
        let over = |x: i32, y: i32| others().filter(move |it| it.patch.get(x, y) >= HALF);
        let own = || sunk.patch.pixels().filter(|(_, _, value)| *value >= HALF);
        let deep = |x: i32, y: i32| over(x, y).map(|it| it.depth).sum::<f64>();
        let taken = if others().next().is_some() { own().map(|(x, y, _)| deep(x, y)).fold(0.0, f64::max) } else { 0.0 };
        let left = layer.thickness - sunk.depth - taken;
        let behind = made.ink.get(1 - index(sunk.face));
        // What comes as near as a pixel may touch it.
        let near = |ink: &Patch, x: i32, y: i32| (-1..=1).any(|dx| (-1..=1).any(|dy| ink.get(x + dx, y + dy) > 0));
        burnt |= behind.is_some_and(|ink| own().any(|(x, y, _)| near(ink, x, y)));
        least = Some(least.map_or(left, |least| least.min(left)));
        if sunk.depth >= layer.thickness {
            let says = format!("a pocket {} deep goes through {} of stock", mm(sunk.depth), mm(layer.thickness));
            remarks.push(Kind::Floor, &made.name, says);
        } else if left <= 0.0 {
            let says = format!(
                "pockets meet: one {} deep and {} beside or behind it, in {} of stock",
                mm(sunk.depth),
                mm(taken),
                mm(layer.thickness)
            );
            remarks.push(Kind::Floor, &made.name, says);
        }
    }
    let left = least?;
    // An engraving on the other face takes from a floor what no list tells of, so that less may be told than is seen here.
    let differs = layer.floor.is_none_or(|told| left < told - SAME_DEPTH_MM || left > told + SAME_DEPTH_MM && !burnt);
    if differs && left > 0.0 {
        let told = layer.floor.map_or_else(|| "no pocket".to_owned(), mm);
        let asked = mm(layer.least_floor);
        let says = format!("{} is left beneath a pocket, where {told} is told and {asked} asked for", mm(left));
        remarks.push(Kind::Floor, &made.name, says);
    }
    Some(left)
}
