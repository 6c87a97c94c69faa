//! What was measured, for people and for programs.

use serde_json::{Value, json};

use super::block::{between, depth_line, interval};
use super::measure::{Bracket, Figure, Measurement};
use crate::units;

/// A subject and what is said of it, one line each.
pub fn describe(measured: &Measurement) -> Vec<(String, String)> {
    let mut said = vec![("thickness".to_owned(), interval(&measured.thickness))];
    said.extend(measured.kerf.as_ref().map(|kerf| ("kerf".to_owned(), interval(kerf))));
    let depths = &measured.passes.0;
    if !depths.is_empty() {
        said.push(("depth".to_owned(), depth_line(measured)));
    }
    let by_pass = (1..=depths.readings().len()).filter_map(|count| depths.after(count));
    said.extend(by_pass.map(|passes| (String::new(), passes.to_string())));
    said.extend(measured.least_feature.as_ref().map(|fine| ("least feature".to_owned(), between(fine))));
    for (name, magnet) in &measured.magnets {
        let figures = [("diameter", &magnet.diameter), ("height", &magnet.height)];
        said.extend(
            figures
                .into_iter()
                .filter_map(|(word, figure)| Some((format!("{name} {word}"), interval(figure.as_ref()?)))),
        );
        said.extend(magnet.clearance.as_ref().map(|found| (format!("{name} clearance"), between(found))));
    }
    said
}

/// The same for programs: lengths in mm, each `within` half a 95 % interval.
pub fn as_json(measured: &Measurement) -> Value {
    let depths = &measured.passes.0;
    let line = depths.line().map(|line| {
        json!({
            "slope_mm": rounded(line.slope),
            "slope_within_mm": rounded(line.slope_half_width()),
            "intercept_mm": rounded(line.intercept),
            "intercept_within_mm": rounded(line.intercept_half_width()),
            "deviation_mm": rounded(line.deviation),
            "readings": line.count,
        })
    });
    let by_pass = (1..=depths.readings().len()).filter_map(|count| depths.after(count)).map(|passes| {
        json!({
            "passes": passes.count,
            "depth_mm": rounded(passes.reach.as_mm()),
            "within_mm": passes.within.map(|within| rounded(within.as_mm())),
        })
    });
    let magnets: serde_json::Map<String, Value> = measured
        .magnets
        .iter()
        .map(|(name, magnet)| {
            let figures = json!({
                "diameter": magnet.diameter.as_ref().map(figure),
                "height": magnet.height.as_ref().map(figure),
                "clearance": magnet.clearance.as_ref().map(bracket),
            });
            (name.clone(), figures)
        })
        .collect();
    json!({
        "stock": measured.stock,
        "readings": measured.readings,
        "thickness": figure(&measured.thickness),
        "kerf": measured.kerf.as_ref().map(figure),
        "depth": { "line": line, "after": by_pass.collect::<Vec<_>>() },
        "least_feature": measured.least_feature.as_ref().map(bracket),
        "magnets": magnets,
    })
}

fn figure(figure: &Figure) -> Value {
    json!({
        "mean_mm": rounded(figure.mean.mean),
        "within_mm": figure.mean.half_width().map(rounded),
        "deviation_mm": figure.mean.deviation.map(rounded),
        "readings": figure.mean.count,
    })
}

fn bracket(bracket: &Bracket) -> Value {
    json!({ "above_mm": rounded(bracket.above.as_mm()), "most_mm": rounded(bracket.most.as_mm()) })
}

/// To a millionth of a mm, so that programs see no noise.
fn rounded(value: f64) -> f64 {
    units::rounded(value, 6)
}
