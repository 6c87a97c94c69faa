//! How far apart the poles of two seated magnets really are.

use crate::units::Length;

/// One magnet glued into its pocket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seating {
    /// Depth of the pocket below the face that meets the other layer.
    pub pocket: Length,
    /// Height of the magnet, plating included.
    pub height: Length,
    /// Thickness of the glue film beneath it.
    pub film: Length,
    /// Thickness of its plating, which carries no magnetism.
    pub plating: Length,
}

impl Seating {
    /// How far the magnet stands below the face; negative where it stands proud.
    pub fn sink(&self) -> Length {
        self.pocket - self.height - self.film
    }
}

/// Where two seated magnets end up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seated {
    /// From pole to pole.
    pub gap: Length,
    /// How far proud magnets hold the layers apart; zero where they are sunk.
    pub layers_apart: Length,
}

/// The gap between the poles of two seated magnets: both sinks, both platings, and whatever skin of board, paint or
/// paper stands `between` the two faces. Magnets that stand proud of that touch each other and hold the layers apart.
pub fn true_gap(lower: &Seating, upper: &Seating, between: Length) -> Seated {
    let free = lower.sink() + upper.sink() + between;
    let plating = lower.plating + upper.plating;
    let apart = if free < Length::ZERO { -free } else { Length::ZERO };
    Seated { gap: free + apart + plating, layers_apart: apart }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seating(pocket: f64) -> Seating {
        let (height, film, plating) = (Length::mm(1.5), Length::mm(0.05), Length::mm(0.015));
        Seating { pocket: Length::mm(pocket), height, film, plating }
    }

    #[test]
    fn the_gap_counts_sink_plating_film_and_skin() {
        let seated = true_gap(&seating(1.6), &seating(1.7), Length::mm(0.1));
        // (1.6 - 1.55) + (1.7 - 1.55) + 0.1 + 2 x 0.015, by hand
        assert!((seated.gap.as_mm() - 0.33).abs() < 1e-12);
        assert_eq!(seated.layers_apart, Length::ZERO);
    }

    #[test]
    fn proud_magnets_hold_the_layers_apart() {
        let seated = true_gap(&seating(1.5), &seating(1.5), Length::ZERO);
        assert!((seated.gap.as_mm() - 0.03).abs() < 1e-12);
        assert!((seated.layers_apart.as_mm() - 0.1).abs() < 1e-12);
    }
}
