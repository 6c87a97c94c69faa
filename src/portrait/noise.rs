//! Noise from integer hashes: the same bits on every machine, since only + - * and an own floor are used.

/// A well mixed 32-bit hash of a cell: multiply and shift, in the manner of the finaliser of MurmurHash3 (public domain).
#[inline(always)]
fn hash(x: i32, y: i32, seed: u32) -> u32 {
    let mut mixed = seed ^ x.cast_unsigned().wrapping_mul(0x9E37_79B1) ^ y.cast_unsigned().wrapping_mul(0x85EB_CA77);
    mixed ^= mixed >> 15;
    mixed = mixed.wrapping_mul(0x2C1B_3C6D);
    mixed ^= mixed >> 12;
    mixed = mixed.wrapping_mul(0x297A_2D39);
    mixed ^ (mixed >> 15)
}

/// The next whole number below. `f32::floor` is a call on processors without SSE 4.1, this is three instructions.
#[inline(always)]
pub(super) fn floor(x: f32) -> i32 {
    let whole = x as i32;
    whole.saturating_sub(i32::from((whole as f32) > x))
}

/// A number from 0 to 1 for a cell.
#[inline(always)]
pub(super) fn cell(x: i32, y: i32, seed: u32) -> f32 {
    (hash(x, y, seed) >> 8) as f32 * (1.0 / 16_777_216.0)
}

/// Value noise on a lattice, from -1 to 1, smooth to the second derivative.
#[inline(always)]
pub(super) fn noise(x: f32, y: f32, seed: u32) -> f32 {
    let (ix, iy) = (floor(x), floor(y));
    let ease = |t: f32| t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
    let (across, down) = (ease(x - ix as f32), ease(y - iy as f32));
    let (right, below) = (ix.wrapping_add(1), iy.wrapping_add(1));
    let top = between(cell(ix, iy, seed), cell(right, iy, seed), across);
    let low = between(cell(ix, below, seed), cell(right, below, seed), across);
    between(top, low, down) * 2.0 - 1.0
}

/// From one value to another by a share.
#[inline(always)]
pub(super) fn between(from: f32, to: f32, share: f32) -> f32 {
    from + (to - from) * share
}

/// From 0 to 1 between two edges, eased; falling where the first edge is the larger.
#[inline(always)]
pub(super) fn smooth(from: f32, to: f32, x: f32) -> f32 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// exp(-x) for x from 0 on, near enough to look at (a tenth off at 1, less below) and the same everywhere: (1 + x/8)^-8.
#[inline(always)]
pub(super) fn fade(x: f32) -> f32 {
    let root = 1.0 + x * 0.125;
    let square = root * root;
    let fourth = square * square;
    1.0 / (fourth * fourth)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn floors_are_those_of_the_standard_library() {
        for x in [-2.5_f32, -2.0, -0.1, 0.0, 0.1, 1.0, 1.9, 1e6] {
            assert_eq!(floor(x), x.floor() as i32, "{x}");
        }
        assert_eq!(floor(f32::MIN), i32::MIN);
    }

    /// Means of many cells: 1/2 for even numbers, 0 for noise; each within five standard errors.
    #[test]
    fn noise_has_no_bias() {
        let side = 200;
        let cells: f32 = (0..side * side).map(|at| cell(at % side, at / side, 5)).sum();
        let mean = cells / (side * side) as f32;
        assert!((mean - 0.5).abs() < 5.0 * 0.289 / 200.0, "{mean}");
        let values: Vec<f32> =
            (0..side * side).map(|at| noise((at % side) as f32 * 0.37, (at / side) as f32 * 0.37, 9)).collect();
        let mean = values.iter().sum::<f32>() / values.len() as f32;
        assert!(mean.abs() < 0.02 && values.iter().all(|value| value.abs() <= 1.0), "{mean}");
    }

    #[test]
    fn noise_passes_through_its_lattice_without_a_step() {
        for at in -5..5 {
            let (before, after) = (noise(at as f32 - 1e-4, 0.3, 1), noise(at as f32 + 1e-4, 0.3, 1));
            assert!((before - after).abs() < 1e-3, "{at}: {before} {after}");
        }
    }

    #[test]
    fn what_fades_is_near_the_exponential() {
        for x in [0.0_f32, 0.2, 0.5, 1.0] {
            assert!((fade(x) / libm::expf(-x) - 1.0).abs() < 0.1, "{x}");
        }
    }
}
