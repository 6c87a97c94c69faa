//! Several runs side by side: whether the kerf drifts, whether a batch differs, when to burn a coupon anew.

use serde::Serialize;

use super::told::{EdgeBy, Measured};
use crate::statistics::{FittedLine, Mean};
use crate::units::plain;

/// Limits of Shewhart's charts lie three standard deviations off (NIST/SEMATECH e-Handbook 6.3.1; Shewhart, Economic Control of
/// Quality of Manufactured Product, 1931).
const LIMITS: f64 = 3.0;
/// The mean range of two readings is 1.128 standard deviations (NIST/SEMATECH e-Handbook 6.3.2.2).
const RANGE: f64 = 1.128;
/// So many runs in a row on one side of the middle are no chance (the Western Electric rules, NIST/SEMATECH e-Handbook 6.3.2).
const ONE_SIDE: usize = 8;
/// A kerf that is this far off what tool paths allow for makes a rim 10 µm larger or smaller, mm (common practice, no source).
const WORTH: f64 = 0.02;

/// One run in one stock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// The run's name.
    pub run: String,
    /// The stock.
    pub stock: String,
    /// Parts that were measured.
    pub count: usize,
    /// Mean kerf, and half its 95 % interval, mm.
    pub mean_mm: f64,
    /// Half the interval; none of a single part.
    pub plus_minus_mm: Option<f64>,
    /// The spread within the run, mm.
    pub deviation_mm: Option<f64>,
    /// What tool paths allowed for, mm.
    pub used_mm: f64,
    /// Between these its mean lies where it differs from all runs by the chance of its parts alone (x-bar chart).
    pub by_parts_mm: Option<[f64; 2]>,
    /// Whether it lies beyond them.
    pub differs: bool,
    /// Whether a calliper proved it.
    pub proven: bool,
}

/// All runs in one stock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Chart {
    /// The stock.
    pub stock: String,
    /// The middle of all runs' means, mm.
    pub middle_mm: f64,
    /// Between these a run lies that differs from the others as they do among themselves (individuals chart); none of one run.
    pub by_runs_mm: Option<[f64; 2]>,
    /// How much the kerf grows from run to run, and half its 95 % interval, mm; none under four runs.
    pub drift_mm: Option<[f64; 2]>,
    /// Whether a coupon should be burnt anew.
    pub burn_anew: bool,
}

/// Runs side by side.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Diary {
    /// Every run in every stock, in the order given.
    pub lines: Vec<Line>,
    /// Of each stock.
    pub charts: Vec<Chart>,
    /// What that comes to, a sentence each.
    pub says: Vec<String>,
}

/// Lays runs side by side, in the order that they were made in.
pub fn diary(runs: &[(String, Measured)]) -> Diary {
    let mut lines: Vec<Line> = Vec::new();
    for (name, run) in runs {
        lines.extend(run.stocks.iter().map(|stock| Line {
            run: name.clone(),
            stock: stock.stock.clone(),
            count: stock.kerf.count,
            mean_mm: stock.kerf.mean_mm,
            plus_minus_mm: stock.kerf.plus_minus_mm,
            deviation_mm: stock.kerf.deviation_mm,
            used_mm: stock.used_mm,
            by_parts_mm: None,
            differs: false,
            proven: run.edge == EdgeBy::Calliper,
        }));
    }
    let mut stocks: Vec<String> = lines.iter().map(|line| line.stock.clone()).collect();
    stocks.sort();
    stocks.dedup();
    let mut says = Vec::new();
    let charts = stocks.iter().filter_map(|stock| chart(stock, &mut lines, &mut says)).collect();
    Diary { lines, charts, says }
}

fn chart(stock: &str, lines: &mut [Line], says: &mut Vec<String>) -> Option<Chart> {
    let mut own: Vec<&mut Line> = lines.iter_mut().filter(|line| line.stock == stock).collect();
    let means: Vec<f64> = own.iter().map(|line| line.mean_mm).collect();
    let middle = Mean::of(&means)?.mean;
    let several = means.len() > 1;
    // The spread within runs, each by its degrees of freedom.
    let pooled = own.iter().filter_map(|line| Some(((line.count.max(1) - 1) as f64, line.deviation_mm?.powi(2))));
    let (free, sum) = pooled.fold((0.0, 0.0), |(free, sum), (n, square)| (free + n, sum + n * square));
    let within = (several && free > 0.0).then(|| (sum / free).sqrt()).filter(|within| *within > 0.0);
    for line in &mut own {
        line.by_parts_mm = within.map(|within| {
            let reach = LIMITS * within / (line.count as f64).sqrt();
            [middle - reach, middle + reach]
        });
        line.differs = line.by_parts_mm.is_some_and(|[low, high]| line.mean_mm < low || line.mean_mm > high);
    }
    let ranges: Vec<f64> = means
        .windows(2)
        .map(|pair| (pair.iter().sum::<f64>() - 2.0 * pair.iter().fold(f64::MAX, |a, b| a.min(*b))).abs())
        .collect();
    let by_runs = Mean::of(&ranges).map(|range| {
        let reach = LIMITS * range.mean / RANGE;
        [middle - reach, middle + reach]
    });
    let points: Vec<(f64, f64)> = means.iter().enumerate().map(|(at, mean)| (at as f64, *mean)).collect();
    let drift =
        FittedLine::through(&points).filter(|_| points.len() > 3).map(|line| [line.slope, line.slope_half_width()]);
    let burn_anew = judged(stock, (&own, middle), by_runs, drift, says);
    Some(Chart { stock: stock.to_owned(), middle_mm: middle, by_runs_mm: by_runs, drift_mm: drift, burn_anew })
}

/// What a chart says; whether a coupon should be burnt anew.
fn judged(
    stock: &str,
    (own, middle): (&[&mut Line], f64),
    by_runs: Option<[f64; 2]>,
    drift: Option<[f64; 2]>,
    says: &mut Vec<String>,
) -> bool {
    let before = says.len();
    for line in own.iter().filter(|line| line.differs) {
        says.push(format!(
            "`{}` cuts {} mm in {stock}, farther from the {} mm of all runs than its {} parts explain: another batch of board, or the laser changed",
            line.run,
            plain(line.mean_mm, 3),
            plain(middle, 3),
            line.count
        ));
    }
    if let Some([slope, half]) = drift.filter(|[slope, half]| slope.abs() > *half) {
        says.push(format!("the kerf in {stock} drifts by {} mm ± {} a run", plain(slope, 4), plain(half, 4)));
    }
    let above: Vec<bool> = own.iter().map(|line| line.mean_mm > middle).collect();
    if above.windows(ONE_SIDE).any(|run| run.iter().all(|it| run.first() == Some(it))) {
        says.push(format!("{ONE_SIDE} runs in {stock} in a row lie on one side of their middle"));
    }
    let mut anew = says.len() > before;
    if let Some(last) = own.last() {
        if let Some([low, high]) = by_runs.filter(|[low, high]| last.mean_mm < *low || last.mean_mm > *high) {
            says.push(format!(
                "the last run in {stock}, {} mm, lies beyond {} mm to {} mm, where runs lay among themselves",
                plain(last.mean_mm, 3),
                plain(low, 3),
                plain(high, 3)
            ));
            anew = true;
        }
        let off = last.mean_mm - last.used_mm;
        if last.proven && off.abs() > last.plus_minus_mm.unwrap_or(0.0).hypot(super::EDGE_PROVEN).max(WORTH) {
            says.push(format!(
                "the last run in {stock} was cut {} mm {} than its tool paths allowed for",
                plain(off.abs(), 3),
                if off > 0.0 { "wider" } else { "narrower" }
            ));
            anew = true;
        }
    }
    if anew {
        says.push(format!("burn a coupon of {stock} anew, or write what was measured into the shop"));
    }
    anew
}
