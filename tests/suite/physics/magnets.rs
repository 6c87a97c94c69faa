//! One pair of magnets, and the field of one.

use dialwright::physics::spread::{Cause, from_half_width};
use dialwright::physics::{Disc, Facing, Spreads, Washer, hazard};
use dialwright::units::{FluxDensity, Length};
use ellip::{elliprd, elliprf, elliprg, elliprj};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use serde::Deserialize;
use std::f64::consts::PI;

/// CODATA 2022.
const MU_0: f64 = 1.256_637_061_27e-6;

pub fn disc([diameter, height, remanence]: [f64; 3]) -> Disc {
    Disc::new(Length::mm(diameter), Length::mm(height), FluxDensity::tesla(remanence)).unwrap()
}

pub fn facing(lower: [f64; 3], upper: [f64; 3], gap: f64) -> Facing {
    Facing::new(disc(lower), disc(upper), Length::mm(gap)).unwrap()
}

pub fn near(value: f64, expected: f64, relative: f64) {
    assert!((value - expected).abs() <= relative * expected.abs(), "{value} is not {expected} within {relative}");
}

/// Runs a property over a fixed sequence of random inputs.
fn for_all<S: Strategy>(cases: u32, inputs: &S, check: impl Fn(S::Value)) {
    let config = Config { cases, failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let result = runner.run(inputs, |input| {
        check(input);
        Ok(())
    });
    result.unwrap();
}

/// Robertson, Cazzolato and Zander, "A simplified force equation for coaxial cylindrical magnets and thin coils", IEEE
/// Trans. Magn. 2011, in newtons; sizes in mm. As printed it loses digits where radii are nearly equal (`1 - a2`) and at
/// large gaps (`K - E`), so the same bracket is written with Carlson's integrals (DLMF 19.25.1): `K - E = m/3 RD`,
/// `Pi(n) = K + n/3 RJ`, the complement `1 - m` and `n` formed from the differences themselves.
fn robertson(lower: [f64; 3], upper: [f64; 3], gap: f64) -> f64 {
    let (r1, r2) = (0.5e-3 * lower[0], 0.5e-3 * upper[0]);
    let (l1, l2, gap) = (1e-3 * lower[1], 1e-3 * upper[1], 1e-3 * gap);
    let term = |a: f64| {
        if a == 0.0 {
            return 0.0;
        }
        let (sum, difference) = ((r1 + r2).powi(2), (r1 - r2).powi(2));
        let a3 = sum + a * a;
        let (m, rest) = (4.0 * r1 * r2 / a3, (difference + a * a) / a3);
        let k = elliprf(0.0, rest, 1.0).unwrap();
        let e = 2.0 * elliprg(0.0, rest, 1.0).unwrap();
        let k_less_e = m / 3.0 * elliprd(0.0, rest, 1.0).unwrap();
        let delta = difference / (a * a);
        let pi = if difference == 0.0 {
            0.0
        } else {
            let n = -m / delta;
            k + n / 3.0 * elliprj(0.0, rest, 1.0, 1.0 - n).unwrap()
        };
        a * (1.0 + delta) * a3.sqrt() * (k_less_e + e * delta / (1.0 + delta) - sum / a3 * pi)
    };
    -lower[2] * upper[2] / (2.0 * MU_0) * (term(gap) - term(gap + l1) - term(gap + l2) + term(gap + l1 + l2))
}

fn magnet() -> impl Strategy<Value = [f64; 3]> {
    (1.0..20.0, 0.5..8.0, 0.9..1.5).prop_map(|(d, h, j)| [d, h, j])
}

/// A magnet and another: any, nearly as wide, or of the same width; and a gap of 1 µm to 20 mm.
fn pairs() -> impl Strategy<Value = ([f64; 3], [f64; 3], f64)> {
    let nearly =
        prop_oneof![Just(None), (-12.0..-2.0_f64).prop_map(|power| Some(1.0 + 10_f64.powf(power))), Just(Some(1.0))];
    (magnet(), magnet(), nearly, -3.0..1.3_f64).prop_map(|(one, mut other, nearly, power)| {
        if let Some(factor) = nearly {
            other[0] = one[0] * factor;
        }
        (one, other, 10_f64.powf(power))
    })
}

#[test]
fn the_pull_agrees_with_the_closed_form() {
    for_all(500, &pairs(), |(lower, upper, gap)| {
        let ours = facing(lower, upper, gap).pull().as_newtons();
        let theirs = robertson(lower, upper, gap);
        assert!((ours / theirs - 1.0).abs() < 1e-8, "{lower:?} {upper:?} {gap}: {ours} against {theirs}");
    });
}

#[test]
fn the_pull_agrees_at_a_gap_of_1_um() {
    for (lower, upper) in [
        ([6.0, 2.0, 1.32], [6.0, 2.0, 1.32]),
        ([6.0, 2.0, 1.32], [6.000_001, 2.0, 1.32]),
        ([10.0, 2.0, 1.17], [4.0, 1.0, 1.17]),
        ([8.0, 1.5, 1.32], [7.999, 3.0, 1.45]),
    ] {
        near(facing(lower, upper, 1e-3).pull().as_newtons(), robertson(lower, upper, 1e-3), 1e-8);
    }
}

/// Bessel integrals, summed by `tests/data/magnets-worked.py` (scipy 1.17.1); a method of its own beside the closed form above.
#[test]
fn the_pull_agrees_with_the_reference_table() {
    let twice = |d, h, j| ([d, h, j], [d, h, j]);
    for ((lower, upper), gap, newtons) in [
        (twice(4.0, 1.0, 1.17), 0.1, 2.053844),
        (twice(5.0, 1.5, 1.32), 0.3, 3.867416),
        (twice(6.0, 1.6, 1.32), 0.3, 5.273267),
        (twice(6.0, 2.0, 1.32), 0.0, 9.483467),
        (twice(6.0, 2.0, 1.32), 0.5, 5.436982),
        (twice(8.0, 1.5, 1.32), 0.1, 8.881884),
        (twice(8.0, 3.0, 1.45), 2.0, 6.584734),
        (twice(10.0, 2.0, 1.17), 0.5, 8.535090),
        (([6.0, 2.0, 1.32], [5.0, 1.5, 1.32]), 0.3, 4.167751),
        (([10.0, 2.0, 1.32], [4.0, 1.0, 1.32]), 0.0, 0.569511),
    ] {
        near(facing(lower, upper, gap).pull().as_newtons(), newtons, 5e-7 / newtons);
    }
}

#[derive(Deserialize)]
struct Stored<T> {
    library: String,
    cases: Vec<T>,
}

#[derive(Deserialize)]
struct Beside {
    lower: [f64; 3],
    upper: [f64; 3],
    gap_mm: f64,
    offset_mm: f64,
    sideways_n: f64,
    along_n: f64,
}

#[derive(Deserialize)]
struct Point {
    magnet: [f64; 3],
    above_mm: f64,
    off_axis_mm: f64,
    axial_t: f64,
    radial_t: f64,
}

pub fn stored<T: for<'a> Deserialize<'a>>(text: &'static str, at_least: usize) -> Vec<T> {
    let stored: Stored<T> = serde_json::from_str(text).unwrap();
    assert!(["magpylib 6.3.0", "scipy 1.17.1"].contains(&stored.library.as_str()));
    assert!(stored.cases.len() >= at_least);
    stored.cases
}

/// magpylib 6.3.0; its mesh is good for some 6e-4 here.
#[test]
fn the_pull_agrees_with_magpylib() {
    for case in stored::<Beside>(include_str!("../../data/magnets-coaxial.json"), 8) {
        near(facing(case.lower, case.upper, case.gap_mm).pull().as_newtons(), -case.along_n, 6e-4);
    }
}

/// magpylib 6.3.0: both parts of the force within 0.5 %, each of its own size.
#[test]
fn magnets_beside_each_other_agree_with_magpylib() {
    for case in stored::<Beside>(include_str!("../../data/magnets-beside.json"), 30) {
        let beside = facing(case.lower, case.upper, case.gap_mm).beside(Length::mm(case.offset_mm)).unwrap();
        near(beside.pull.as_newtons(), -case.along_n, 5e-3);
        near(beside.draw_back.as_newtons(), -case.sideways_n, 5e-3);
    }
}

#[derive(Deserialize)]
struct Depth {
    lower: [f64; 3],
    upper: [f64; 3],
    gap_mm: f64,
    offset_mm: f64,
    energy_mj: f64,
}

/// magpylib 6.3.0's flux density of one magnet, integrated over the other: the energy of the same 30 pairs within 0.5 %.
#[test]
fn the_energy_agrees_with_magpylib() {
    for case in stored::<Depth>(include_str!("../../data/magnets-energy.json"), 30) {
        let beside = facing(case.lower, case.upper, case.gap_mm).beside(Length::mm(case.offset_mm)).unwrap();
        near(beside.energy.as_millijoules(), case.energy_mj, 5e-3);
    }
}

#[derive(Deserialize)]
struct Close {
    #[serde(flatten)]
    force: Beside,
    energy_mj: f64,
}

/// Bessel integrals summed with scipy 1.17.1, for magnets in contact or nearly so whose rims may cross: the hardest case for
/// the inner integral.
#[test]
fn magnets_in_contact_agree_with_bessel_integrals() {
    for Close { force, energy_mj } in stored::<Close>(include_str!("../../data/magnets-contact.json"), 8) {
        let pair = facing(force.lower, force.upper, force.gap_mm);
        let beside = pair.beside(Length::mm(force.offset_mm)).unwrap();
        let size = force.along_n.hypot(force.sideways_n);
        near(beside.energy.as_millijoules(), energy_mj, 5e-4);
        assert!((beside.pull.as_newtons() + force.along_n).abs() < 5e-4 * size);
        assert!((beside.draw_back.as_newtons() + force.sideways_n).abs() < 5e-4 * size);
    }
}

/// magpylib 6.3.0, which has the field in closed form.
#[test]
fn the_field_agrees_with_magpylib() {
    for case in stored::<Point>(include_str!("../../data/magnets-field.json"), 30) {
        let field = disc(case.magnet).field(Length::mm(case.above_mm), Length::mm(case.off_axis_mm)).unwrap();
        let size = case.axial_t.hypot(case.radial_t);
        assert!((field.axial.as_tesla() - case.axial_t).abs() < 1e-8 * size);
        assert!((field.radial.as_tesla() - case.radial_t).abs() < 1e-8 * size);
    }
}

/// Infinitely long magnets in contact pull `J² A / (2 mu0)` (Maxwell stress; any textbook of electromagnetism).
#[test]
fn long_magnets_in_contact_reach_the_maxwell_stress() {
    let area = PI * 3e-3_f64.powi(2);
    let pull = facing([6.0, 900.0, 1.32], [6.0, 900.0, 1.32], 0.0).pull().as_newtons();
    near(pull, 1.32 * 1.32 * area / (2.0 * MU_0), 1e-4);
}

/// Far apart, `3 mu0 m1 m2 / (2 pi z^4)` on the axis and `mu0 m1 m2 / (4 pi d^3)` side by side (Jackson 5.6).
#[test]
fn far_apart_they_are_dipoles() {
    for_all(60, &(magnet(), magnet()), |(one, other)| {
        let pair = facing(one, other, 600.0);
        let moment = |[d, h, j]: [f64; 3]| j / MU_0 * PI * 0.25e-6 * d * d * h * 1e-3;
        let product = MU_0 * moment(one) * moment(other);
        let apart = 0.6 + 0.5e-3 * (one[1] + other[1]);
        near(pair.pull().as_newtons(), 3.0 * product / (2.0 * PI * apart.powi(4)), 3e-3);
        let level = pair.at_gap(Length::ZERO).unwrap();
        let beside = level.beside(Length::mm(600.0)).unwrap();
        let (d, z) = (0.6_f64, 0.5e-3 * (one[1] + other[1]));
        let r = d.hypot(z);
        near(beside.energy.as_joules(), product / (4.0 * PI) * (r.powi(-3) - 3.0 * z * z * r.powi(-5)), 3e-3);
    });
}

#[test]
fn forces_are_the_slopes_of_the_energy() {
    for_all(60, &(magnet(), magnet(), 0.2..5.0_f64, 0.05..2.0_f64), |(one, other, gap, share)| {
        let gap = gap.max(0.06 * one[0].max(other[0]));
        let pair = facing(one, other, gap);
        let offset = share * 0.5 * (one[0] + other[0]);
        let step = 1e-3 * one[0].min(other[0]).min(gap);
        let energy =
            |gap: f64, offset: f64| facing(one, other, gap).beside(Length::mm(offset)).unwrap().energy.as_millijoules();
        let beside = pair.beside(Length::mm(offset)).unwrap();
        let strongest = pair.pull().as_newtons();
        let along = (energy(gap + step, offset) - energy(gap - step, offset)) / (2.0 * step);
        let across = (energy(gap, offset + step) - energy(gap, offset - step)) / (2.0 * step);
        assert!((along - beside.pull.as_newtons()).abs() < 1e-4 * strongest, "{one:?} {other:?} {gap} {offset}");
        assert!((across - beside.draw_back.as_newtons()).abs() < 1e-4 * strongest, "{one:?} {other:?} {gap} {offset}");
    });
}

#[test]
fn both_ways_to_the_pull_agree_on_the_axis() {
    for_all(60, &(magnet(), magnet(), 0.2..5.0_f64), |(one, other, gap)| {
        let gap = gap.max(0.06 * one[0].max(other[0]));
        let pair = facing(one, other, gap);
        let beside = |offset: f64| pair.beside(Length::mm(offset)).unwrap();
        near(beside(0.0).pull.as_newtons(), pair.pull().as_newtons(), 1e-4);
        assert_eq!(beside(0.0).draw_back.as_newtons(), 0.0);
        let (small, stiff) = (1e-3 * one[0].min(other[0]), pair.centring().as_newtons_per_mm());
        let scale = stiff.abs().max(pair.pull().as_newtons() / one[0].max(other[0]));
        assert!((beside(small).draw_back.as_newtons() / small - stiff).abs() < 1e-3 * scale, "{one:?} {other:?} {gap}");
    });
}

#[test]
fn the_pull_changes_as_its_slope_says() {
    for_all(100, &pairs(), |(one, other, gap)| {
        let pair = facing(one, other, gap);
        let step = 1e-3 * gap;
        let pull = |gap: f64| facing(one, other, gap).pull().as_newtons();
        let slope = (pull(gap + step) - pull(gap - step)) / (2.0 * step);
        let scale = pull(gap) / gap.max(1e-2 * one[0].max(other[0]));
        assert!((pair.slope().as_newtons_per_mm() - slope).abs() < 1e-4 * scale, "{one:?} {other:?} {gap}");
        let (lower, upper) = (facing(other, one, gap).pull().as_newtons(), pair.pull().as_newtons());
        near(lower, upper, 1e-12);
    });
}

/// 6x2 at 0.5 mm, 1.32 T: slope, stiffness, force at 0.1 and 0.5 mm, by `tests/data/magnets-worked.py` (scipy 1.17.1).
#[test]
fn centring_agrees_with_the_reference() {
    let pair = facing([6.0, 2.0, 1.32], [6.0, 2.0, 1.32], 0.5);
    near(pair.slope().as_newtons_per_mm(), -4.49650, 2e-6);
    near(pair.centring().as_newtons_per_mm(), 2.24825, 2e-6);
    near(pair.beside(Length::mm(0.1)).unwrap().draw_back.as_newtons(), 0.22385, 3e-5);
    near(pair.beside(Length::mm(0.5)).unwrap().draw_back.as_newtons(), 1.02456, 1e-5);
}

/// The field on the axis of a flat disc falls fastest half its radius off (textbook), so a small magnet right on a wide one
/// is pulled less than a little further off, and is driven towards the rim.
#[test]
fn a_small_magnet_on_a_wide_flat_one_does_not_centre() {
    let pair = facing([1.0, 0.5, 1.2], [15.0, 0.5, 1.2], 0.5);
    assert!(pair.slope().as_newtons_per_mm() > 0.0 && pair.centring().as_newtons_per_mm() < 0.0);
    assert!(pair.beside(Length::mm(0.5)).unwrap().draw_back.as_newtons() < 0.0);
    assert!(facing([6.0, 2.0, 1.2], [6.0, 2.0, 1.2], 0.5).centring().as_newtons_per_mm() > 0.0);
}

/// The index at one and two deviations of the remanence either way: 1 % makes it 4 % (twice the deviation of the square).
#[test]
fn the_flux_index_is_off_by_twice_what_the_remanence_is() {
    let index = |remanence: f64| hazard::hazard(&disc([8.0, 1.5, remanence])).index;
    let found = hazard::hazard(&disc([8.0, 1.5, 1.32]));
    near(found.expanded(0.01), 0.5 * (index(1.32 * 1.02) - index(1.32 * 0.98)), 1e-3);
    // Just below the limit of 50 it may be above it.
    let limit = disc([8.0, 1.5, 1.32 * (49.0 / found.index).sqrt()]);
    assert!(hazard::hazard(&limit).is_hazardous(0.01) && !hazard::hazard(&limit).is_hazardous(0.0));
}

#[test]
fn the_curve_runs_from_end_to_end() {
    let pair = facing([6.0, 2.0, 1.32], [6.0, 2.0, 1.32], 0.5);
    let curve = pair.curve(Length::ZERO, Length::mm(2.0), 4).unwrap();
    let gaps: Vec<f64> = curve.iter().map(|(gap, _)| gap.as_mm()).collect();
    assert_eq!(gaps, [0.0, 0.5, 1.0, 1.5, 2.0]);
    near(curve[0].1.as_newtons(), 9.483467, 1e-6);
    near(curve[1].1.as_newtons(), 5.436982, 1e-6);
    assert!(curve.windows(2).all(|pair| pair[1].1 < pair[0].1));
    assert!(pair.curve(Length::ZERO, Length::mm(-1.0), 4).is_err());
}

/// GUM 5.1.2 and 5.2.2 by hand for 6x2 at 0.5 mm: F 5.436982 N, dF/dg -4.49650 N/mm.
#[test]
fn uncertainty_is_the_root_of_the_squares_of_its_causes() {
    let pair = facing([6.0, 2.0, 1.32], [6.0, 2.0, 1.32], 0.5);
    let spreads = Spreads { remanence: 0.01, pocket: Length::mm(0.03), film: Length::mm(0.01) };
    let result = pair.uncertainty(&spreads).unwrap();
    let (remanence, pocket, film) = (0.108_739_6_f64, 0.190_770_f64, 0.063_590_1_f64);
    let total = (remanence * remanence + pocket * pocket + film * film).sqrt();
    near(result.deviation.as_newtons(), total, 1e-5);
    near(result.expanded().as_newtons(), 2.0 * total, 1e-5);
    let by = |cause| result.parts.iter().find(|part| part.cause == cause).unwrap();
    near(by(Cause::Remanence).deviation.as_newtons(), remanence, 1e-5);
    near(by(Cause::Pocket).deviation.as_newtons(), pocket, 1e-5);
    near(by(Cause::Film).deviation.as_newtons(), film, 1e-5);
    near(by(Cause::Pocket).share, (pocket / total).powi(2), 1e-5);
    near(result.model.as_newtons(), 0.15 * 5.436982, 1e-6);
    near(result.range().1.as_newtons(), 5.436982 * 1.15 + 2.0 * total, 1e-5);
    // GUM 4.3.7: limits 20.0 +- 0.5 have a standard deviation of 0.5 / sqrt(3).
    near(from_half_width(0.5), 0.288_675, 1e-5);
    assert!(pair.uncertainty(&Spreads { remanence: -0.1, ..spreads }).is_err());
}

/// First-order propagation against 20,000 draws, as the GUM's Supplement 1 (JCGM 101:2008) does it.
#[test]
fn uncertainty_agrees_with_random_draws() {
    let spreads = Spreads { remanence: 0.012, pocket: Length::mm(0.02), film: Length::mm(0.01) };
    let stated = facing([6.0, 2.0, 1.32], [6.0, 2.0, 1.32], 0.5).uncertainty(&spreads).unwrap();
    let mut state = 7_u64;
    let mut uniform = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut normal = || (-2.0 * (1.0 - uniform()).ln()).sqrt() * (2.0 * PI * uniform()).cos();
    let draws: Vec<f64> = (0..20_000)
        .map(|_| {
            let remanence = 1.32 * (1.0 + 0.012 * normal());
            let gap = 0.5 + 0.02 * (normal() + normal()) + 0.01 * (normal() + normal());
            facing([6.0, 2.0, remanence], [6.0, 2.0, remanence], gap.max(0.0)).pull().as_newtons()
        })
        .collect();
    let mean = draws.iter().sum::<f64>() / 20_000.0;
    let variance = draws.iter().map(|draw| (draw - mean).powi(2)).sum::<f64>() / 19_999.0;
    near(variance.sqrt(), stated.deviation.as_newtons(), 0.02);
    near(mean, stated.pull.as_newtons(), 0.005);
}

/// Flux index on the axis and over the whole face at 0.38 mm, and the field at 0.05 mm: Bessel integrals and a search over the face,
/// by `tests/data/magnets-worked.py` (scipy 1.17.1), and the textbook formula for the field on a disc's axis.
#[test]
fn the_hazard_index_agrees_with_the_reference_table() {
    for (magnet, tesla, on_axis, whole_face) in [
        ([4.0, 1.0, 1.17], 0.2573, 62.5, 65.6),
        ([5.0, 1.5, 1.32], 0.3346, 173.8, 183.6),
        ([6.0, 1.6, 1.32], 0.3071, 222.7, 252.9),
        ([8.0, 2.0, 1.32], 0.2928, 380.3, 479.7),
        ([10.0, 2.0, 1.45], 0.2678, 517.4, 793.4),
    ] {
        let disc = disc(magnet);
        let axial = |above| disc.field(Length::mm(above), Length::ZERO).unwrap().axial.as_tesla();
        near(axial(0.05), tesla, 2e-4);
        near((10.0 * axial(0.38)).powi(2) * PI * magnet[0] * magnet[0] / 4.0, on_axis, 1e-3);
        let hazard = hazard::hazard(&disc);
        near(hazard.index, whole_face, 1e-3);
        assert!(hazard.is_hazardous(0.01) && hazard.small_part);
        assert!(hazard.peak_off_axis > Length::ZERO && hazard.peak_off_axis.as_mm() < magnet[0] / 2.0);
        let (length, radius) = (magnet[1], magnet[0] / 2.0);
        let formula = |z: f64| 0.5 * magnet[2] * ((length + z) / (length + z).hypot(radius) - z / z.hypot(radius));
        near(axial(0.38), formula(0.38), 1e-12);
    }
}

#[test]
fn weak_and_wide_magnets_are_no_hazard() {
    assert!(!hazard::hazard(&disc([3.0, 0.5, 0.4])).is_hazardous(0.01), "weak");
    let wide = hazard::hazard(&disc([32.0, 3.0, 1.3]));
    assert!(wide.index > hazard::LIMIT_KG2_MM2 && !wide.small_part && !wide.is_hazardous(0.01), "wide");
    // 16 CFR 1501.4: 1.25 inches are 31.75 mm, and 2.25 inches 57.15 mm; the longest line is 65.376 mm (Pythagoras).
    assert!(hazard::fits_small_parts_cylinder(&disc([31.749, 25.0, 1.3])));
    assert!(!hazard::fits_small_parts_cylinder(&disc([31.751, 25.0, 1.3])));
    let rod = |longest: f64| disc([5.0, (longest * longest - 25.0).sqrt(), 1.3]);
    assert!(hazard::fits_small_parts_cylinder(&rod(65.37)) && !hazard::fits_small_parts_cylinder(&rod(65.38)));
    assert!(hazard::fits_small_parts_cylinder(&disc([5.0, 60.0, 1.3])), "a long rod that may stand aslant");
    assert!(!hazard::fits_small_parts_cylinder(&disc([5.0, 66.0, 1.3])));
}

#[test]
fn figures_that_cannot_be_are_refused() {
    let make = |d, h, j| Disc::new(Length::mm(d), Length::mm(h), FluxDensity::tesla(j));
    for (d, h, j) in
        [(0.0, 1.0, 1.0), (1.0, -1.0, 1.0), (1.0, 1.0, f64::NAN), (f64::INFINITY, 1.0, 1.0), (1.0, 1.0, 20.0)]
    {
        assert!(make(d, h, j).is_err(), "{d} {h} {j}");
    }
    let one = make(6.0, 2.0, 1.32).unwrap();
    assert!(Facing::new(one, one, Length::mm(-0.1)).is_err());
    let refused = Facing::new(one, one, Length::mm(f64::NAN)).unwrap_err();
    assert_eq!(refused.what, "gap between the magnets");
}

/// Whatever is accepted gives finite figures.
#[test]
fn extremes_stay_finite() {
    for d in [1e-3, 6.0, 1e3] {
        for h in [1e-3, 1e3] {
            for gap in [0.0, 1e-9, 1e4] {
                let pair = facing([d, h, 10.0], [6.0, 1e-3, 1e-6], gap);
                let beside = pair.beside(Length::mm(d / 2.0)).unwrap();
                let figures = [
                    pair.pull().as_newtons(),
                    pair.slope().as_newtons_per_mm(),
                    beside.energy.as_joules(),
                    beside.draw_back.as_newtons(),
                    hazard::hazard(&disc([d, h, 10.0])).index,
                ];
                assert!(figures.iter().all(|figure| figure.is_finite()), "{d} {h} {gap}: {figures:?}");
            }
        }
    }
}

#[derive(Deserialize)]
struct OnSteel {
    magnet: [f64; 3],
    washer: [f64; 3],
    gap_mm: f64,
    pull_n: f64,
}

#[derive(Deserialize)]
struct AllOnSteel {
    cases: Vec<OnSteel>,
}

/// Fields by the public library magpylib and the method of moments, `tests/data/washers.py`: no washer is pulled with less than the
/// bound, none with more than the mirror image, and a washer half as wide again as its magnet hardly more than the bound.
#[test]
fn washers_are_pulled_between_the_bound_and_the_mirror_image() {
    let all: AllOnSteel = serde_json::from_str(include_str!("../../data/washers.json")).unwrap();
    assert_eq!(all.cases.len(), 54);
    let mut tight = 0;
    for case in &all.cases {
        let [across, hole, height] = case.washer.map(Length::mm);
        let washer = Washer::new(across, hole, height, FluxDensity::tesla(1.5)).unwrap();
        let pair = Facing::on_steel(disc(case.magnet), washer, Length::mm(case.gap_mm)).unwrap();
        let [least, most] = [pair.pull(), pair.most()].map(dialwright::units::Force::as_newtons);
        let shown = format!("{:?} {:?} {}mm: {least} {} {most}", case.magnet, case.washer, case.gap_mm, case.pull_n);
        assert!(least >= 0.0 && least <= case.pull_n && case.pull_n <= most, "{shown}");
        if case.washer[0] >= 1.5 * case.magnet[0] && case.washer[2] >= 1.0 {
            assert!(case.pull_n < 1.4 * least, "{shown}");
            tight += 1;
        }
    }
    assert!(tight > 10, "{tight}");
    // Farther off it is pulled less, and a mirror image is what two like magnets at twice the gap are.
    let washer = Washer::new(Length::mm(12.0), Length::mm(3.0), Length::mm(1.0), FluxDensity::tesla(1.5)).unwrap();
    let pair = Facing::on_steel(disc([8.0, 1.5, 1.32]), washer, Length::mm(0.5)).unwrap();
    assert!(pair.slope().as_newtons_per_mm() < 0.0);
    near(pair.most().as_newtons(), facing([8.0, 1.5, 1.32], [8.0, 1.5, 1.32], 1.0).pull().as_newtons(), 1e-12);
    assert!(Washer::new(Length::mm(9.0), Length::mm(9.0), Length::mm(1.0), FluxDensity::tesla(1.5)).is_err());
}
