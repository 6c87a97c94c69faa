//! The search by closed forms, over functions in place of designs.

use std::cell::Cell;
use std::sync::Arc;

use super::conflict::conflict;
use super::goal::Aim;
use super::prices::prices;
use super::rounding::rounded;
use super::solve::solve;
use super::*;
use crate::check::{Range, Ranged};
use crate::source::Sources;
use crate::units::{Dimension, UNITS};

/// A length from and to, in mm, with four decimals.
pub(super) fn length(name: &str, ends: (f64, f64), start: f64, step: Option<f64>) -> Free {
    let place = |value: f64| (value * 1e4).round() as i64;
    let of = |value: f64| Quantity { value, dimension: Dimension::LENGTH };
    Free {
        param: Ranged {
            name: name.into(),
            kind: "length".into(),
            note: None,
            value: Value::mm(start),
            range: Range::Between(of(ends.0), of(ends.1)),
            written: Span::new(Sources::default().add("a.dial", ""), 0..0),
        },
        kind: Kind::Measured { decimals: 4, unit: Some(UNITS[0]), dimension: Dimension::LENGTH },
        ends: (place(ends.0), place(ends.1)),
        start: place(start),
        step: step.map(place),
    }
}

fn count(name: &str, ends: (i64, i64), start: i64) -> Free {
    Free { kind: Kind::Counted, ends, start, ..length(name, (0.0, 1.0), 0.0, None) }
}

/// A look by an objective and the rooms of limits, in mm.
pub(super) fn look(objective: f64, rooms: &[(&str, f64)]) -> Look {
    let slack = |(name, value): &(&str, f64)| {
        (format!("slack {name}"), Slack { value: *value, dimension: Dimension::LENGTH, limit: Arc::from(*name) })
    };
    Look {
        made: true,
        measured: Some(Quantity { value: objective, dimension: Dimension::LENGTH }),
        traded: None,
        slacks: rooms.iter().map(slack).collect(),
        broken: rooms.iter().filter(|(_, room)| *room < 0.0).map(|(name, _)| Arc::from(*name)).collect(),
    }
}

fn least() -> Goal {
    Goal::of(Aim::Measured(1.0))
}

/// What `one` gives at the values of the params, in base units.
fn over(free: &[Free], one: impl Fn(&[f64]) -> Look) -> impl Fn(&[Place]) -> Vec<Look> {
    let values = |place: &Place| free.iter().zip(place).map(|(free, at)| free.base(*at)).collect::<Vec<f64>>();
    move |places: &[Place]| places.iter().map(|place| one(&values(place))).collect()
}

/// Ten spots of 5 mm about an axis, read through a hole: whole by `m`, 1 mm clear of the next spots, 2 mm of wood to the rim and
/// to a pocket of 4.05 mm.
fn spots(at: &[f64]) -> Look {
    let [across, hole, out] = at else { panic!("three params") };
    let next = 2.0 * out * 18.0_f64.to_radians().sin();
    look(
        *across,
        &[
            ("whole", (hole - 5.0) / 2.0 - 1.0),
            ("clear", next - hole / 2.0 - 2.5 - 1.0),
            ("rim", across / 2.0 - out - hole / 2.0 - 2.0),
            ("pocket", out - hole / 2.0 - 4.05 - 2.0),
        ],
    )
}

fn three(step: Option<f64>) -> [Free; 3] {
    [
        length("across", (30.0, 80.0), 60.0, step),
        length("hole", (5.0, 16.0), 10.0, step),
        length("out", (6.0, 30.0), 20.0, step),
    ]
}

/// out = (D/2 + d/2 + g) / (2 sin 18deg) and across = 2 (out + D/2 + r), D = d + 2m: 33.652 mm. A millimetre more of `whole`
/// costs 2 (1 + phi), of `clear` 2 phi, of `rim` 2; `pocket` holds nothing.
#[test]
fn spots_are_as_small_as_the_closed_form_and_cost_what_it_says() {
    let free = three(None);
    let evaluate = over(&free, spots);
    let mut looks = Looks::new(&free, &evaluate);
    let found = solve(&mut looks, &least()).0.unwrap();
    let measured = found.1.measured.unwrap().value;
    assert!((33.6518..33.66).contains(&measured), "{measured}");
    assert!(looks.count() <= 80, "{}", looks.count());
    let golden = (1.0 + 5.0_f64.sqrt()) / 2.0;
    let told = prices(&mut looks, &least(), &found);
    let told: Vec<(&str, f64)> = told.iter().map(|it| (&*it.limit, it.price.unwrap().0)).collect();
    for ((name, price), (limit, wanted)) in
        told.iter().zip([("whole", 2.0 + 2.0 * golden), ("clear", 2.0 * golden), ("rim", 2.0)])
    {
        assert!(*name == limit && (price - wanted).abs() < 0.01, "{name} {price}, not {limit} {wanted}");
    }
    assert_eq!(told.len(), 3);
}

/// By 0.1 mm against every point of the lattice near it.
#[test]
fn no_rounded_design_is_better() {
    let free = three(Some(0.1));
    let evaluate = over(&free, spots);
    let mut looks = Looks::new(&free, &evaluate);
    let found = solve(&mut looks, &least()).0.unwrap();
    let (place, _) = rounded(&mut looks, &least(), &found).unwrap();
    assert!(place.iter().all(|at| at % 1000 == 0));
    let tenths = |from: i64, to: i64| (from..=to).map(|at| at as f64 / 10.0);
    let mut best = f64::INFINITY;
    for across in tenths(330, 345) {
        for hole in tenths(65, 80) {
            let all = tenths(100, 130).filter(|out| spots(&[across, hole, *out]).broken.is_empty());
            best = if all.count() > 0 { best.min(across) } else { best };
        }
    }
    assert!((free[0].base(place[0]) - best).abs() < 1e-9, "{} {best}", free[0].base(place[0]));
}

/// Two stretches with a hole and an island of 0.06 mm, as a rim, a board and a pocket make them: each is told, its edges to 0.001.
#[test]
fn every_stretch_is_told() {
    let free = [length("across", (44.0, 80.0), 60.0, None)];
    let one = |at: &[f64]| {
        let x = at[0];
        look(x, &[("from", x - 47.9), ("hole", (x - 51.5).abs() * 0.7 - 0.4), ("to", 62.0 - x)])
    };
    let evaluate = over(&free, one);
    let mut looks = Looks::new(&free, &evaluate);
    let (found, stretches) = solve(&mut looks, &least());
    assert!((found.unwrap().1.measured.unwrap().value - 47.9).abs() < 1e-3);
    let ends: Vec<(f64, f64)> =
        stretches.iter().map(|it| (free[0].base(it.ends.0[0]), free[0].base(it.ends.1[0]))).collect();
    let wanted = [(47.9, 51.5 - 0.4 / 0.7), (51.5 + 0.4 / 0.7, 62.0)];
    let near = ends.iter().zip(wanted).all(|(own, it)| (own.0 - it.0).abs() < 1e-3 && (own.1 - it.1).abs() < 1e-3);
    assert!(near && ends.len() == 2, "{ends:?}");
    assert_eq!(stretches[0].beyond, (vec![Arc::from("from")], vec![Arc::from("hole")]));
    let island = |at: &[f64]| look(at[0], &[("deep", at[0] - 1.56), ("floor", 1.62 - at[0])]);
    let free = [length("deep", (0.5, 3.0), 1.0, None)];
    let evaluate = over(&free, island);
    let mut looks = Looks::new(&free, &evaluate);
    let (_, stretches) = solve(&mut looks, &least());
    assert_eq!(stretches.len(), 1);
    assert!(looks.count() < 60, "{}", looks.count());
}

/// What has no measure is closed by halving, and named.
#[test]
fn an_edge_without_a_measure_is_closed_and_named() {
    let free = [length("across", (40.0, 80.0), 60.0, None)];
    let one = |at: &[f64]| {
        let mut look = look(at[0], &[]);
        look.broken.extend((at[0] < 51.234_5).then(|| Arc::from("no error")));
        look
    };
    let evaluate = over(&free, one);
    let mut looks = Looks::new(&free, &evaluate);
    let found = solve(&mut looks, &least()).0.unwrap();
    assert!((found.1.measured.unwrap().value - 51.2345).abs() < 1e-3);
    let told = prices(&mut looks, &least(), &found);
    assert_eq!(told, [Price { limit: "no error".into(), price: None }]);
}

/// The most of a curve inside a stretch, by its vertex.
#[test]
fn the_best_inside_a_stretch_is_found() {
    let free = [length("across", (40.0, 80.0), 60.0, None)];
    let evaluate = over(&free, |at| look(-(at[0] - 63.21).powi(2), &[("to", 75.0 - at[0])]));
    let mut looks = Looks::new(&free, &evaluate);
    let found = solve(&mut looks, &Goal::of(Aim::Measured(-1.0))).0.unwrap();
    assert!((free[0].base(found.0[0]) - 63.21).abs() < 0.05, "{}", free[0].base(found.0[0]));
}

/// Counts are gone through: n spots need 4 n mm, and more than 12 of them are wanted.
#[test]
fn counts_are_gone_through() {
    let free = [length("across", (20.0, 80.0), 60.0, None), count("spots", (3, 15), 5)];
    let evaluate = over(&free, |at| look(at[0], &[("room", at[0] - 4.0 * at[1]), ("enough", at[1] - 12.5)]));
    let mut looks = Looks::new(&free, &evaluate);
    let found = solve(&mut looks, &least()).0.unwrap();
    assert_eq!(found.0[1], 13);
    assert!((found.1.measured.unwrap().value - 52.0).abs() < 2e-3);
}

/// The conflict against all subsets of limits, by brute force over a grid.
#[test]
fn a_conflict_is_the_one_that_brute_force_finds() {
    let one = |at: &[f64]| {
        let mut own = spots(at);
        let more = [("swept", 33.0 - at[0]), ("wide", at[0] - 31.0), ("near", 25.0 - at[2])];
        for (name, room) in more {
            own.slacks.extend(look(0.0, &[(name, room)]).slacks);
            own.broken.extend((room < 0.0).then(|| Arc::from(name)));
        }
        own
    };
    let free = three(None);
    let evaluate = over(&free, one);
    let mut looks = Looks::new(&free, &evaluate);
    assert!(solve(&mut looks, &least()).0.is_none());
    let found = conflict(&mut looks);
    let together: Vec<&str> = found.together.iter().map(|it| &**it).collect();
    assert_eq!(together, ["clear", "rim", "swept", "whole"]);
    let swept = found.nearest.iter().find(|near| &*near.limit == "swept").unwrap();
    assert!((swept.by.unwrap().value - 0.652).abs() < 0.01, "{swept:?}");
    // Every subset that lacks one of them can be kept somewhere on the grid, and the four together nowhere.
    let mut grid = Vec::new();
    for across in 300..=345 {
        for hole in (50..=80).step_by(2) {
            grid.extend((60..=140).step_by(2).map(|out| [across, hole, out].map(|at| f64::from(at) / 10.0)));
        }
    }
    let kept = |limits: &[&str]| grid.iter().any(|at| !limits.iter().any(|limit| one(at).broken.contains(*limit)));
    for leave in 0..4 {
        let rest: Vec<&str> = together.iter().enumerate().filter(|(at, _)| *at != leave).map(|(_, it)| *it).collect();
        assert!(kept(&rest), "{rest:?}");
    }
    assert!(!kept(&together));
}

/// No design is looked at twice, and the order of the params changes nothing.
#[test]
fn nothing_is_looked_at_twice_whatever_the_order() {
    let free = three(None);
    let asked = Cell::new(0);
    let inner = over(&free, spots);
    let evaluate = |places: &[Place]| {
        asked.set(asked.get() + places.len());
        inner(places)
    };
    let mut looks = Looks::new(&free, &evaluate);
    let found = solve(&mut looks, &least()).0.unwrap();
    prices(&mut looks, &least(), &found);
    assert_eq!(asked.get(), looks.count());
}

/// No more designs than [`crate::limits::DESIGNS_SOUGHT`] are looked at, whatever is asked.
#[test]
fn every_search_comes_to_its_end() {
    let free = [count("n", (0, 1_000_000), 5)];
    let evaluate = over(&free, |at| look(at[0], &[]));
    let mut looks = Looks::new(&free, &evaluate);
    let all: Vec<Place> = (0..bounds::DESIGNS_SOUGHT as i64 + 10).map(|at| vec![at]).collect();
    assert_eq!(looks.at(&all).len(), all.len());
    assert!(looks.is_full() && looks.count() == bounds::DESIGNS_SOUGHT);
    assert!(!looks.one(&vec![999_999]).made);
}
