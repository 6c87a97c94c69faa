//! What a run takes: machine time, bench time, boards, magnets and glue, and what they cost. Pure.
//!
//! Nothing is guessed. A figure that the shop file does not state leaves what rests on it open, and
//! [`Quote::missing`] says which. Each line names the amounts and the rates it is computed from.
//!
//! Times (plain kinematics): a line takes its length over the speed; a filled area is burnt line by line, so it takes
//! area / (speed * line spacing), and a pocket that once for each pass. Moves between shapes, and the turns of the
//! head at the ends of lines, are not counted: measure speeds over whole jobs, and they are in the figure.

mod goods;
mod work;

pub use goods::Goods;
pub use work::WorkTime;

use crate::design::Design;
use crate::plan::{Plan, Turned};
use crate::units::Time;

/// A quote for the run of one design.
#[derive(Clone, Debug, PartialEq)]
pub struct Quote {
    /// Dials made, spares included.
    pub dials: u32,
    /// Dials that were asked for, without the spares.
    pub wanted: u32,
    /// What sums of money are called; may be empty.
    pub currency: String,
    /// Machine time, by stock and kind of operation.
    pub work: Vec<WorkTime>,
    /// What a person does, and for how long.
    pub hands: Vec<Hands>,
    /// What is bought.
    pub goods: Vec<Goods>,
    /// All machine time; none where a speed is missing.
    pub machine: Option<Time>,
    /// All bench time; none where a rate is missing.
    pub bench: Option<Time>,
    /// Price of the run; none where anything is missing.
    pub price: Option<f64>,
    /// What the shop file does not state, in words.
    pub missing: Vec<String>,
    /// The name of who makes them; none where that is not said.
    pub maker: Option<String>,
    /// The name of whom they are for; none where that is not said.
    pub client: Option<String>,
    /// What it rests on that nobody measured, in words; none where all was.
    pub nominal: Option<String>,
}

/// One kind of work by hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Hands {
    /// What is done.
    pub what: &'static str,
    /// How often.
    pub times: usize,
    /// How long each takes; none where not stated.
    pub each: Option<Time>,
}

impl Hands {
    /// How long it takes in all; none where not stated.
    pub fn time(&self) -> Option<Time> {
        self.each.map(|each| each * count(self.times))
    }
}

impl Quote {
    /// Price of one dial that was asked for, which bears its share of the spares; none where the run's is not known.
    pub fn per_dial(&self) -> Option<f64> {
        self.price.filter(|_| self.wanted > 0).map(|price| price / f64::from(self.wanted))
    }
}

/// Reckons the run.
pub fn quote(design: &Design, plan: &Plan) -> Quote {
    let rates = &design.rates;
    let mut missing = Vec::new();
    let work = work::work(design, plan, &mut missing);
    let hands = hands(design, plan);
    // What is never done needs no rate.
    let unstated = hands.iter().filter(|hands| hands.times > 0 && hands.each.is_none());
    missing.extend(unstated.map(|hands| format!("the rates do not state how long it takes to {}", hands.what)));
    let goods = goods::goods(design, plan, &mut missing);
    for (what, stated) in [("machine_hour", rates.machine_hour), ("bench_hour", rates.bench_hour)] {
        if stated.is_none() {
            missing.push(format!("the rates state no `{what}`"));
        }
    }
    let machine = sum(work.iter().map(|work| work.time));
    let bench = sum(hands.iter().filter(|hands| hands.times > 0).map(Hands::time));
    let bought = goods.iter().map(Goods::price).try_fold(0.0, |sum, price| Some(sum + price?));
    let hours = |time: Option<Time>, rate: Option<f64>| Some(time?.as_seconds() / 3600.0 * rate?);
    let price = || Some(hours(machine, rates.machine_hour)? + hours(bench, rates.bench_hour)? + bought?);
    Quote {
        dials: design.run.made(),
        wanted: design.run.dials,
        currency: rates.currency.clone(),
        price: price(),
        work,
        hands,
        goods,
        machine,
        bench,
        missing,
        maker: design.maker.as_ref().map(|maker| maker.name.clone()),
        client: design.client.as_ref().map(|client| client.name.clone()),
        nominal: design.nominal(),
    }
}

fn hands(design: &Design, plan: &Plan) -> Vec<Hands> {
    let setups = plan.boards.iter().flat_map(|board| &board.setups);
    let turned = |turned: &Turned| match turned {
        Turned::AsLaid => 0,
        Turned::PartsOver(parts) => parts.len(),
        Turned::BoardOver => 1,
    };
    let rates = &design.rates;
    vec![
        Hands { what: "lay a board and start a setup", times: setups.clone().count(), each: rates.setup_time },
        Hands {
            what: "turn a part or a board over",
            times: setups.map(|setup| turned(&setup.turned)).sum(),
            each: rates.turn_time,
        },
        Hands { what: "finish and assemble a dial", times: design.run.made() as usize, each: rates.dial_time },
    ]
}

/// The sum of all times; none where one is not known.
fn sum(times: impl Iterator<Item = Option<Time>>) -> Option<Time> {
    times.into_iter().try_fold(Time::ZERO, |sum, time| Some(sum + time?))
}

#[allow(clippy::cast_precision_loss, reason = "counts of parts and of goods")]
fn count(times: usize) -> f64 {
    times as f64
}
