//! Small items laid in the holes of large ones, where they are cut before the hole is.
//!
//! A hole is a board of its own: all round it is kept out of, and what is laid in it keeps the gap to its edge. Items go
//! in the largest first, each at the first of a grid of places where it is clear; the second engine has the last word here
//! too.

use kurbo::{Affine, Point, Rect, Vec2};

use super::item_types::{ItemType, ItemTypes};
use super::model::{Item, Placement, Sheet, Turns};
use super::nofit::{Nofit, moved, swept};
use crate::geometry::Region;
use crate::plan::rings::{Ring, area, bounds, hull, lies_on_itself, turned_by};

/// Turns that are tried, in degrees.
const TURN: f64 = 15.0;
/// Places that are tried along each side.
const PLACES: u32 = 24;
/// How closely the edge of a hole is followed, in mm.
const FLAT_MM: f64 = 0.1;

/// An item in the hole of another one.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guest {
    host: usize,
    item: usize,
    /// From the item as given to its host as given.
    at: Affine,
}

/// What was found to go into a hole, by type.
struct Filled {
    hole: Region,
    /// How its host may be turned.
    turns: Turns,
    laid: Vec<(usize, Affine)>,
}

/// Which items can lie in holes of others, and where.
pub(super) fn guests(items: &[Item], fitting: &[usize], sheet: &Sheet) -> Vec<Guest> {
    let is_host = |at: &&usize| items.get(**at).is_some_and(|it| !it.holes.is_empty());
    let may_go = |at: &&usize| items.get(**at).is_some_and(|it| it.may_be_guest && it.holes.is_empty());
    let small: Vec<usize> = fitting.iter().filter(may_go).copied().collect();
    if small.is_empty() {
        return Vec::new();
    }
    let mut types = ItemTypes::of(items, &small, sheet).all;
    types.sort_by(|a, b| b.area.total_cmp(&a.area));
    let mut guests = Vec::new();
    // Parts of one layer have the same holes, so what was found for one does for the next.
    let mut known: Vec<Filled> = Vec::new();
    for at in fitting.iter().filter(is_host) {
        let Some(host) = items.get(*at) else { continue };
        for hole in host.holes.pieces() {
            let alike = |it: &&Filled| it.hole == hole && it.turns == host.turns && lasts(&it.laid, &types);
            let laid = match known.iter().find(alike) {
                Some(it) => it.laid.clone(),
                None => filled(&hole, host.turns, &types, sheet.gap),
            };
            for (item_type, place) in &laid {
                let item = types.get_mut(*item_type).and_then(|item_type| item_type.items.pop());
                guests.extend(item.map(|item| Guest { host: *at, item, at: *place }));
            }
            known.push(Filled { hole, turns: host.turns, laid });
        }
    }
    guests
}

/// Whether there are items enough left for the same again.
fn lasts(laid: &[(usize, Affine)], types: &[ItemType]) -> bool {
    let of = |item_type: usize| laid.iter().filter(|it| it.0 == item_type).count();
    types.iter().enumerate().all(|(at, item_type)| of(at) <= item_type.items.len())
}

/// What goes into one hole, by type.
fn filled(hole: &Region, turns: Turns, types: &[ItemType], gap: f64) -> Vec<(usize, Affine)> {
    let Some(box_) = hole.bounds() else { return Vec::new() };
    let mut kept = frame(hole, box_);
    let mut free = hole.area();
    let mut laid = Vec::new();
    for (at, item_type) in types.iter().enumerate() {
        // Grain has its way only where the host keeps to the board's as well.
        if item_type.turns == Turns::Half && turns == Turns::Free {
            continue;
        }
        for _ in &item_type.items {
            if item_type.area >= free {
                break;
            }
            let Some((spot, rings)) = place(item_type, &kept, box_, gap) else { break };
            laid.push((at, spot));
            kept.extend(rings);
            free -= item_type.area;
        }
    }
    laid
}

/// All round a hole, as a solid with the hole in it.
fn frame(hole: &Region, box_: Rect) -> Vec<Ring> {
    let wide = box_.inflate(box_.width() / 2.0, box_.height() / 2.0);
    let outer = [(wide.x0, wide.y0), (wide.x1, wide.y0), (wide.x1, wide.y1), (wide.x0, wide.y1)];
    let mut rings: Vec<Ring> = vec![outer.map(Point::from).to_vec()];
    rings.extend(hole.flattened(FLAT_MM).into_iter().map(|ring| {
        let mut ring: Ring = ring.into_iter().map(|[x, y]| Point::new(x, y)).collect();
        if area(&ring) > 0.0 {
            ring.reverse();
        }
        ring
    }));
    rings
}

/// The first place at which a type is clear of all that is kept out of, and its rings there.
fn place(item_type: &ItemType, kept: &[Ring], box_: Rect, gap: f64) -> Option<(Affine, Vec<Ring>)> {
    let turns: Vec<f64> = match item_type.turns {
        Turns::Half => vec![0.0, 180.0],
        Turns::Free => (0..24).map(|step| TURN * f64::from(step)).collect(),
    };
    let band = hull(&item_type.rings.iter().flatten().copied().collect::<Vec<Point>>());
    let near = 2.0 * item_type.slack + 1e-6;
    let is_round = lies_on_itself(&band, 1.0, near) && lies_on_itself(&band, 7.3, near);
    let turns = if is_round { vec![0.0] } else { turns };
    turns.into_iter().find_map(|turn| {
        let turned = moved(&item_type.rings, turned_by(turn));
        let own = bounds(&turned.iter().flatten().copied().collect::<Vec<Point>>());
        let (from, room) = (box_.origin() - own.origin().to_vec2(), box_.size() - own.size());
        if room.width < 0.0 || room.height < 0.0 {
            return None;
        }
        let away = Nofit::of(&swept(kept, &moved(&turned, Affine::scale(-1.0))));
        let clear = gap + item_type.slack + FLAT_MM;
        let steps = || (0..=PLACES).map(|step| f64::from(step) / f64::from(PLACES));
        let places = steps().flat_map(|y| steps().map(move |x| Vec2::new(x * room.width, y * room.height)));
        let found = places.map(|by| from + by).find(|at| away.short_of(*at, clear).is_none())?;
        let there = Affine::translate(found.to_vec2());
        Some((there * turned_by(turn), moved(&turned, there)))
    })
}

/// The boards of the hosts with their guests back on them.
pub(super) fn seated(boards: Vec<Vec<Placement>>, guests: &[Guest]) -> Vec<Vec<Placement>> {
    let with_guests = |board: Vec<Placement>| {
        let of = |host: &Placement| {
            let host = *host;
            let own = guests.iter().filter(move |guest| guest.host == host.item);
            own.map(move |guest| Placement { item: guest.item, at: host.at * guest.at })
        };
        let seated: Vec<Placement> = board.iter().flat_map(of).collect();
        board.into_iter().chain(seated).collect()
    };
    boards.into_iter().map(with_guests).collect()
}

impl Guest {
    /// Which item it is.
    pub(super) fn item(&self) -> usize {
        self.item
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    fn sheet() -> Sheet {
        Sheet { width: 300.0, height: 300.0, margin: 5.0, gap: 2.0, keep_out: Region::empty() }
    }

    fn guest(outline: Region, turns: Turns) -> Item {
        Item { may_be_guest: true, ..Item::whole(outline, turns) }
    }

    fn host(hole: &Region, turns: Turns) -> Item {
        Item { holes: hole.clone(), ..Item::whole(shapes::rectangle(80.0, 80.0, 0.0).unwrap(), turns) }
    }

    fn types(items: &[Item]) -> Vec<ItemType> {
        ItemTypes::of(items, &(0..items.len()).collect::<Vec<_>>(), &sheet()).all
    }

    /// A square hole of 30 mm: items lie in it clear by the gap of its edge and of one another, as many as go.
    #[test]
    fn a_hole_is_filled_as_a_board_is() {
        let hole = shapes::rectangle(30.0, 30.0, 0.0).unwrap().transformed(Affine::translate((7.0, -3.0)));
        let count = |side: f64, many: usize| {
            let square = shapes::rectangle(side, side, 0.0).unwrap();
            let laid = filled(&hole, Turns::Free, &types(&vec![guest(square.clone(), Turns::Free); many]), 2.0);
            let lying: Vec<Region> = laid.iter().map(|(_, at)| square.transformed(*at)).collect();
            for (at, one) in lying.iter().enumerate() {
                assert!(hole.clearance_inside(one).unwrap().distance >= 2.0 - 1e-6, "{side}");
                assert!(lying[at + 1..].iter().all(|other| one.distance(other).unwrap().distance >= 2.0 - 1e-6));
            }
            lying.len()
        };
        // A tenth more than the gap is kept, since the hole's edge is followed to within that.
        assert_eq!((count(25.7, 3), count(26.1, 3)), (1, 0));
        assert_eq!((count(11.0, 9), count(11.0, 3), count(11.0, 1)), (4, 3, 1));
        assert_eq!(count(31.0, 1), 0);
    }

    #[test]
    fn grain_keeps_its_way_in_holes() {
        let slot = shapes::rectangle(12.0, 40.0, 0.0).unwrap();
        let bar = shapes::rectangle(30.0, 7.0, 0.0).unwrap();
        let laid = |turns: Turns, host: Turns| filled(&slot, host, &types(&[guest(bar.clone(), turns)]), 2.0).len();
        assert_eq!((laid(Turns::Free, Turns::Free), laid(Turns::Free, Turns::Half)), (1, 1), "turned upright");
        assert_eq!((laid(Turns::Half, Turns::Free), laid(Turns::Half, Turns::Half)), (0, 0));
        let upright = shapes::rectangle(7.0, 30.0, 0.0).unwrap();
        let laid = |host: Turns| filled(&slot, host, &types(&[guest(upright.clone(), Turns::Half)]), 2.0).len();
        assert_eq!((laid(Turns::Half), laid(Turns::Free)), (1, 0), "the host itself may be turned");
    }

    /// All round a hole, with the hole in it clockwise: inside the frame is kept out of, inside the hole is not.
    #[test]
    fn the_frame_lies_round_the_hole() {
        let hole = shapes::circle(10.0).unwrap();
        let rings = frame(&hole, hole.bounds().unwrap());
        assert!(area(&rings[0]) > 1_599.0 && area(&rings[1]) < -310.0 && rings.len() == 2);
        let kept = Nofit::of(&rings);
        assert!(
            kept.short_of(Point::new(0.0, 0.0), 0.0).is_none() && kept.short_of(Point::new(0.0, 11.0), 0.0).is_some()
        );
        let outer = bounds(&rings[0]);
        assert!((outer.width() - 40.0).abs() < 1e-3 && (outer.height() - 40.0).abs() < 1e-3);
    }

    /// The largest first, each host's hole with what fits it; what is laid in one hole is not laid in the next.
    #[test]
    fn guests_are_shared_out_among_hosts() {
        let hole = shapes::rectangle(30.0, 30.0, 0.0).unwrap();
        let (large, small) = (shapes::rectangle(25.0, 25.0, 0.0).unwrap(), shapes::rectangle(11.0, 11.0, 0.0).unwrap());
        let mut items = vec![host(&hole, Turns::Free), host(&hole, Turns::Free), host(&hole, Turns::Free)];
        items.extend([guest(small.clone(), Turns::Free), guest(large, Turns::Free)]);
        items.extend(vec![guest(small.clone(), Turns::Free); 5]);
        items.push(Item::whole(small, Turns::Free));
        let all: Vec<usize> = (0..items.len()).collect();
        let guests = guests(&items, &all, &sheet());
        let of = |host: usize| guests.iter().filter(|it| it.host == host).map(|it| it.item).collect::<Vec<_>>();
        assert_eq!(of(0), [4], "the large one");
        let (mut second, mut third) = (of(1), of(2));
        assert_eq!((second.len(), third.len()), (4, 2), "four small ones, and what is left of them");
        second.append(&mut third);
        second.sort_unstable();
        assert_eq!(second, [3, 5, 6, 7, 8, 9], "but not the one that may not be a guest");
        // On a board each guest goes where its host goes.
        let board = vec![
            Placement { item: 0, at: Affine::translate((100.0, 50.0)) },
            Placement { item: 9, at: Affine::IDENTITY },
        ];
        let seated = seated(vec![board.clone(), Vec::new()], &guests);
        assert_eq!((seated[0].len(), seated[1].len()), (3, 0));
        assert_eq!(seated[0][..2], board);
        assert_eq!((seated[0][2].item, seated[0][2].at), (4, Affine::translate((100.0, 50.0)) * guests[0].at));
        assert_eq!(guests[0].item(), 4);
        let none: Vec<usize> = vec![0, 1, 2, 10];
        assert!(super::guests(&items, &none, &sheet()).is_empty());
    }
}
