//! Findings about what holds a dial together.

use crate::design::Magnet;
use crate::diagnostics::{Diagnostic, Finding};
use crate::physics::hazard::{Hazard, LIMIT_KG2_MM2};
use crate::source::Span;
use crate::units::plain;

/// A magnet that is dangerous when swallowed.
pub fn magnet_hazard(magnet: &Magnet, hazard: &Hazard, span: Span) -> Diagnostic {
    Diagnostic::advice(
        Finding::MagnetHazard,
        format!(
            "`{}` is a small strong magnet, dangerous when swallowed: its flux index is {} kG2 mm2, and {} and above is hazardous (16 CFR 1262)",
            magnet.name,
            plain(hazard.index, 0),
            plain(LIMIT_KG2_MM2, 0)
        ),
    )
    .label(span, "held by this magnet")
    .help("glue it in so that it cannot come loose, keep loose ones away from children, and ask whoever knows the local rules for toys before giving the dial away")
    .about(&magnet.name)
}
