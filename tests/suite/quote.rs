//! The quote against hand-worked sums.

use super::by_hand::*;
use dialwright::design::{Design, PassDepths, Speeds};
use dialwright::plan::plan;
use dialwright::quote::{Quote, quote};
use dialwright::units::{Length, Speed, Time};

fn quoted(design: &Design) -> Quote {
    let (plan, problems) = plan(design);
    quote(design, &plan.unwrap_or_else(|| panic!("{problems:?}")))
}

/// Two plain discs 40 mm across on a pair of magnets, everything stated.
fn dial() -> Design {
    let layers = vec![layer("base", circle(20.0)), layer("cover", circle(20.0))];
    let mut design = design(layers, vec![turns(0, &[0.0, 120.0, 240.0])], Vec::new());
    for layer in &mut design.layers {
        layer.stock.kerf = Length::ZERO;
        layer.stock.cost = Some(3.0);
        layer.stock.speeds = Speeds {
            cut: Some(Speed::mm_per_second(10.0)),
            score: Some(Speed::mm_per_second(50.0)),
            engrave: Some(Speed::mm_per_second(200.0)),
            line_spacing: Some(Length::mm(0.1)),
        };
    }
    let rates = &mut design.rates;
    (rates.machine_hour, rates.bench_hour) = (Some(36.0), Some(18.0));
    (rates.setup_time, rates.turn_time) = (Some(Time::seconds(100.0)), Some(Time::seconds(20.0)));
    rates.dial_time = Some(Time::seconds(400.0));
    design.run.dials = 2;
    design
}

/// Four circles of 40 mm at 10 mm/s: 4 * 40 pi / 10 = 50.27 s. Sums by hand.
#[test]
fn time_is_length_over_speed() {
    let quote = quoted(&dial());
    let cut = quote.work.iter().find(|work| work.kind == "cut").expect("discs are cut");
    let lengths = 4.0 * 40.0 * std::f64::consts::PI;
    assert!((cut.amount - lengths).abs() < 0.01, "{cut:?}");
    assert!((cut.time.unwrap().as_seconds() - lengths / 10.0).abs() < 1e-3);
}

/// One pass at 200 mm/s over lines 0.1 mm apart burns 20 mm² a second.
#[test]
fn a_pocket_takes_its_area_once_a_pass() {
    let mut design = dial();
    for layer in &mut design.layers {
        layer.stock.passes = PassDepths::new([0.5, 1.0, 9.0].map(|depth| vec![Length::mm(depth)]).to_vec());
    }
    let quote = quoted(&design);
    let (plan, _) = plan(&design);
    let area = plan.unwrap().pocket_area();
    let pocket = quote.work.iter().find(|work| work.kind == "pocket").map(|work| (work.amount, work.time.unwrap()));
    let Some((amount, time)) = pocket else { return assert_eq!(area, 0.0) };
    assert!((amount / area).round() >= 1.0 && ((amount / area) - (amount / area).round()).abs() < 1e-9);
    assert!((time.as_seconds() - amount / 20.0).abs() < 1e-9);
}

/// 2 dials of 2 magnets and one in ten beyond: 4.4, so 5 are bought.
#[test]
fn what_is_bought_is_rounded_up() {
    let mut design = dial();
    for joint in &mut design.joints {
        if let dialwright::design::Joint::Turn(turn) = joint
            && let dialwright::design::Pivot::Magnets { magnet, .. } = &mut turn.pivot
        {
            magnet.cost = Some(0.5);
        }
    }
    let quote = quoted(&design);
    assert_eq!(quote.missing, Vec::<String>::new());
    let magnets = quote.goods.iter().find(|goods| goods.kind == "magnet").expect("a pair a dial");
    assert_eq!((magnets.amount, magnets.price()), (5.0, Some(2.5)));
    // The price is its parts, each by hand: machine and bench hours, a board, five magnets.
    let machine = quote.machine.unwrap().as_seconds() / 3600.0 * 36.0;
    let bench = quote.bench.unwrap().as_seconds() / 3600.0 * 18.0;
    let boards: f64 = quote.goods.iter().filter(|goods| goods.kind == "board").map(|goods| goods.amount * 3.0).sum();
    assert!((quote.price.unwrap() - (machine + bench + boards + 2.5)).abs() < 1e-9);
    assert!((quote.per_dial().unwrap() - quote.price.unwrap() / 2.0).abs() < 1e-12);
}

#[test]
fn what_is_not_stated_is_never_guessed() {
    let mut design = dial();
    design.layers.iter_mut().for_each(|layer| layer.stock.speeds.cut = None);
    design.rates.bench_hour = None;
    let quote = quoted(&design);
    assert_eq!((quote.machine, quote.price), (None, None));
    assert!(quote.bench.is_some());
    assert!(quote.missing.iter().any(|missing| missing.contains("`cut_speed`")), "{:?}", quote.missing);
    assert!(quote.missing.iter().any(|missing| missing.contains("`bench_hour`")), "{:?}", quote.missing);
}
