//! The quote as JSON, and as the line of a summary.

use serde_json::{Value, json};

use crate::diagnostics::counted;
use crate::quote::{Goods, Hands, Quote, WorkTime};
use crate::units::{Time, fixed, plain, rounded};

/// Version of the form of `quote.json`. Raised when a reader of the former one could misread it.
pub const VERSION: u32 = 1;

/// Every figure with what it is computed from. Times in seconds, prices in the shop's currency; `null` where the shop
/// file does not state what is needed.
pub fn as_json(quote: &Quote) -> Value {
    let mut told = figures(quote);
    if let Value::Object(told) = &mut told {
        let named = [("maker", &quote.maker), ("client", &quote.client)];
        told.extend(named.into_iter().filter_map(|(who, name)| Some((who.to_owned(), name.clone()?.into()))));
    }
    told
}

fn figures(quote: &Quote) -> Value {
    json!({
        "format": "dialwright quote",
        "version": VERSION,
        "dials": quote.dials,
        "wanted": quote.wanted,
        "currency": quote.currency,
        "machine_s": quote.machine.map(seconds),
        "bench_s": quote.bench.map(seconds),
        "price": quote.price.map(|price| rounded(price, 2)),
        "price_of_one": quote.per_dial().map(|price| rounded(price, 2)),
        "work": quote.work.iter().map(work).collect::<Vec<_>>(),
        "hands": quote.hands.iter().map(hands).collect::<Vec<_>>(),
        "goods": quote.goods.iter().map(goods).collect::<Vec<_>>(),
        "missing": quote.missing,
        "nominal": quote.nominal,
    })
}

/// The machine and bench time and the price, and what of them rests on figures that nobody measured; what is missing first of all, where a price needs more.
pub fn line(quote: &Quote) -> String {
    let lacking = || match quote.missing.as_slice() {
        [] => String::new(),
        [one] => format!("not known: {one}"),
        [one, rest @ ..] => format!("not known: {one}, and {} more, see quote.json", rest.len()),
    };
    if quote.machine.is_none() && quote.bench.is_none() {
        return lacking();
    }
    let said = |time: Option<Time>| time.map_or_else(|| "not known".to_owned(), in_words);
    let price = price_line(quote).unwrap_or_else(|| format!("price {}", lacking()));
    let nominal = quote.nominal.as_ref().map_or_else(String::new, |what| format!("; nominal: {what}"));
    format!("machine {}, bench {}; {price}{nominal}", said(quote.machine), said(quote.bench))
}

/// "123.20 crowns, 15.40 for each of the 8 dials wanted"; none where the price is not known.
pub fn price_line(quote: &Quote) -> Option<String> {
    let (all, one) = quote.price.zip(quote.per_dial())?;
    let currency = if quote.currency.is_empty() { "" } else { " " };
    let wanted = counted(quote.wanted as usize, "dial");
    let each = if quote.wanted == 1 { "for the".to_owned() } else { format!("{} for each of the", fixed(one, 2)) };
    Some(format!("{}{currency}{}, {each} {wanted} wanted", fixed(all, 2), quote.currency))
}

/// "2 h 5 min", "24 h", "12 min", "40 s".
pub fn in_words(time: Time) -> String {
    let seconds = time.as_seconds();
    let minutes = (seconds / 60.0).round();
    if seconds < 60.0 {
        format!("{} s", plain(seconds, 0))
    } else if minutes < 60.0 {
        format!("{} min", plain(minutes, 0))
    } else if minutes % 60.0 == 0.0 {
        format!("{} h", plain(minutes / 60.0, 0))
    } else {
        format!("{} h {} min", plain((minutes / 60.0).floor(), 0), plain(minutes % 60.0, 0))
    }
}

fn work(work: &WorkTime) -> Value {
    json!({
        "stock": work.stock,
        "operation": work.kind,
        "amount": rounded(work.amount, 1),
        "time_s": work.time.map(seconds),
        "from": work.basis,
    })
}

fn hands(hands: &Hands) -> Value {
    json!({
        "work": hands.what,
        "times": hands.times,
        "each_s": hands.each.map(seconds),
        "time_s": hands.time().map(seconds),
    })
}

fn goods(goods: &Goods) -> Value {
    json!({
        "kind": goods.kind,
        "name": goods.name,
        "amount": rounded(goods.amount, 2),
        "each": goods.each,
        "price": goods.price().map(|price| rounded(price, 2)),
        "from": goods.basis,
    })
}

fn seconds(time: Time) -> f64 {
    rounded(time.as_seconds(), 1)
}
