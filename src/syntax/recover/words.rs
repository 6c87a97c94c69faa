//! Words that begin an item.

use super::Place;

/// Functions that are written with a word and brackets, and that people write without.
pub(super) const CALLED: [&str; 19] = [
    "art",
    "circle",
    "ellipse",
    "line",
    "magnets",
    "obround",
    "path",
    "polar",
    "polygon",
    "rectangle",
    "rivet",
    "scallop",
    "sector",
    "single_stroke",
    "star",
    "stencil",
    "text",
    "trace",
    "wrapped",
];

/// Words that begin an item of a place.
pub(super) fn item_words(place: Place) -> &'static [&'static str] {
    match place {
        Place::Top => &[
            "dial", "shop", "with", "param", "let", "outline", "typeface", "layer", "stack", "reads", "slot", "run",
            "expect", "accept", "family", "stock", "magnet", "rivet", "adhesive", "finish", "spreads", "rates",
        ],
        Place::Layer => &[
            "let", "outline", "flip", "front", "back", "engrave", "score", "pocket", "hole", "window", "paint", "bare",
            "grain", "finish",
        ],
        Place::Stack => &["turn", "glue"],
        Place::Family => &["each", "variant", "leave"],
        #[rustfmt::skip]
        Place::Fields => &[
            "adhesive", "bearings", "bench_hour", "board", "clear", "clear_edge", "clear_opening", "clearance",
            "clicked", "clicks", "colour", "concentricity", "cost", "cure", "currency", "curved", "cut_speed", "depth", "dial_time",
            "diameter", "engrave_speed", "engraved", "extra", "face_veneer", "facing", "fill", "film", "finish",
            "first", "gap", "grain", "grips", "head", "height", "ink", "keep_out", "kerf", "knock", "labels",
            "least_feature", "least_floor", "line_spacing", "lower", "machine_hour", "margin", "material", "north",
            "passes", "placing", "plating", "pocket", "radius", "remanence", "score_speed", "setup_time", "shank",
            "sink", "spares", "stain", "stained", "stops", "strength", "stroke", "thickness", "tick", "ticks",
            "ticks_at", "tilt", "tilts", "tone", "turn_time", "turning", "typeface", "upper", "wanted", "weighs",
        ],
        Place::Bindings | Place::Expression => &[],
    }
}
