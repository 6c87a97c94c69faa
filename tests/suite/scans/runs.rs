//! Several runs side by side.

use dialwright::scan::{EdgeBy, Measured, Spread, StockTold, diary, diary_sheet};

fn run_of(means: &[f64]) -> Vec<(String, Measured)> {
    let of = |(at, mean): (usize, &f64)| {
        let kerf = Spread {
            mean_mm: *mean,
            plus_minus_mm: Some(0.01),
            deviation_mm: Some(0.02),
            deviation_from_to_mm: None,
            count: 16,
        };
        let measured = Measured {
            format: dialwright::scan::FORMAT.to_owned(),
            version: dialwright::scan::VERSION,
            dial: "Tokens".to_owned(),
            edge: EdgeBy::Calliper,
            scans: vec![],
            parts: vec![],
            stocks: vec![StockTold { stock: "birch".to_owned(), used_mm: 0.16, kerf }],
            pockets: None,
            openings: None,
            marks: None,
            readings: vec![],
            remarks: vec![],
        };
        (format!("run {}", at + 1), measured)
    };
    means.iter().enumerate().map(of).collect()
}

/// Limits of individuals, NIST/SEMATECH e-Handbook 6.3.2.2: ten readings with a mean of 50.81 and a mean moving range of 1.8778 have
/// limits of 45.8159 and 55.8041 (from memory; they follow from mean ± 3 · range / 1.128).
#[test]
fn limits_of_runs_are_those_of_the_handbook() {
    let diary = diary(&run_of(&[49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]));
    let chart = &diary.charts[0];
    assert!((chart.middle_mm - 50.81).abs() < 1e-9);
    let [low, high] = chart.by_runs_mm.unwrap();
    assert!((low - 45.8159).abs() < 1e-3 && (high - 55.8041).abs() < 1e-3, "{low} {high}");
}

#[test]
fn a_drift_and_another_batch_are_told() {
    let sound = diary(&run_of(&[0.160, 0.163, 0.158, 0.161]));
    assert!(!sound.charts[0].burn_anew && sound.says.is_empty(), "{:?}", sound.says);
    // Three standard deviations of the mean of 16 parts that spread by 0.02 mm are 0.015 mm.
    let batch = diary(&run_of(&[0.160, 0.161, 0.159, 0.160, 0.210]));
    let differ: Vec<bool> = batch.lines.iter().map(|line| line.differs).collect();
    assert_eq!(differ, [false, false, false, false, true]);
    assert!(batch.charts[0].burn_anew);
    let drifts = diary(&run_of(&[0.150, 0.155, 0.160, 0.166, 0.170]));
    assert!(drifts.says.iter().any(|line| line.contains("drifts by 0.005")), "{:?}", drifts.says);
    assert!(diary_sheet(&drifts).contains("<svg"));
}
