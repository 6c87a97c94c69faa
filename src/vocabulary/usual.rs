//! Defaults of fields and arguments that other parts of the crate take as well. Common practice, no source.

use crate::units::{Angle, FluxDensity, Length};

/// Standard deviation of the width of a cut.
pub const KERF_SPREAD: Length = Length::mm(0.03);
/// Standard deviation of a pocket's middle off the axis.
pub const CENTRING_SPREAD: Length = Length::mm(0.1);
/// Standard deviation of a stop that is set by hand.
pub const PLACING_SPREAD: Angle = Angle::degrees(1.0);
/// Standard deviation of a stop that clicks hold.
pub const CLICKED_SPREAD: Angle = Angle::degrees(0.25);
/// Standard deviation of how far a glued layer lies off the one beneath it: a step of twice that is felt at the rim.
pub const GLUED_SPREAD: Length = Length::mm(0.1);
/// Standard deviation of how far a print lies off the cuts that are lined up with its crosses.
pub const PRINTING_SPREAD: Length = Length::mm(0.3);
/// How near to the edge of a sheet a printer prints.
pub const PRINTER_BORDER: Length = Length::mm(5.0);
/// Standard deviation of the magnets' remanence, as a share of it.
pub const REMANENCE_SPREAD: f64 = 0.01;
/// Polarisation at which mild steel is taken to saturate: below the 2T and more that tables state for fields that no small magnet
/// makes (from memory).
pub const SATURATION: FluxDensity = FluxDensity::tesla(1.5);
/// Standard deviation of a pocket's depth.
pub const DEPTH_SPREAD: Length = Length::mm(0.05);
/// Standard deviation of the glue film beneath a magnet.
pub const FILM_SPREAD: Length = Length::mm(0.02);
/// Colours of drawings, from the set published by Okabe and Ito ("Color universal design", 2008), which readers with
/// colour-vision deficiency can tell apart.
pub const CUT: [u8; 3] = [0xcc, 0x79, 0xa7];
/// See [`CUT`].
pub const OPENINGS: [u8; 3] = [0xe6, 0x9f, 0x00];
/// See [`CUT`].
pub const SCORE: [u8; 3] = [0x00, 0x9e, 0x73];
/// See [`CUT`].
pub const ENGRAVE: [u8; 3] = [0x56, 0xb4, 0xe9];
/// See [`CUT`].
pub const POCKET: [u8; 3] = [0x00, 0x72, 0xb2];
/// A grey beside them.
pub const CONSTRUCTION: [u8; 3] = [0x99, 0x99, 0x99];
/// Width of strokes in drawings: fine enough to be read as a line and not as an area.
pub const LINE: Length = Length::mm(0.1);
/// Magnets and rivets bought beyond what is needed: one in ten is lost or cracks.
pub const EXTRA: f64 = 0.1;
/// Height of labels that no opening limits.
pub const LABEL_HEIGHT: Length = Length::mm(5.0);
/// The knock that a turn must bear, in multiples of standard gravity: a fall of 50 mm onto a table that gives way by 2 mm
/// (50/2).
pub const KNOCK: f64 = 25.0;
/// From one line of a text to the next, in heights of its capitals: room for accents and tails.
pub const LINE_SPACING: f64 = 1.6;
