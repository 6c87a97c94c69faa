//! The name of every finding, and the page that explains it.

macro_rules! findings {
    ($($variant:ident = $name:literal,)+) => {
        /// Which finding a diagnostic is. The page of each lies in `explain/`; one that lacks a page does not compile.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs, reason = "the page under explain/ is the documentation")]
        pub enum Finding { $($variant,)+ }

        impl Finding {
            /// All of them, in order of name.
            pub const ALL: &'static [Finding] = &[$(Finding::$variant,)+];

            /// Its name in words.
            pub const fn name(self) -> &'static str {
                match self { $(Finding::$variant => $name,)+ }
            }

            /// The page that explains it, in Markdown.
            pub const fn page(self) -> &'static str {
                match self { $(Finding::$variant => include_str!(concat!("explain/", $name, ".md")),)+ }
            }

            /// The finding of this name.
            pub fn named(name: &str) -> Option<Finding> {
                Finding::ALL.iter().copied().find(|finding| finding.name() == name)
            }
        }
    };
}

findings! {
    FeatureTooSmall = "feature-too-small",
    FloorTooThin = "floor-too-thin",
    LabelsOverlap = "labels-overlap",
    LoosePiece = "loose-piece",
    MagnetProud = "magnet-proud",
    MagnetTooWide = "magnet-too-wide",
    MagnetWithoutPocket = "magnet-without-pocket",
    MarkCutAway = "mark-cut-away",
    MarkNearEdge = "mark-near-edge",
    MarkOutsideOutline = "mark-outside-outline",
    NotFlush = "not-flush",
    OffAxis = "off-axis",
    OpeningOutsideOutline = "opening-outside-outline",
    PocketOffCentre = "pocket-off-centre",
    PocketTooDeep = "pocket-too-deep",
    PocketsMeet = "pockets-meet",
    PocketsOverlap = "pockets-overlap",
    ReadingCovered = "reading-covered",
    ReadingHidden = "reading-hidden",
    ReadingShared = "reading-shared",
    ReadingUnsure = "reading-unsure",
    ReadingWrong = "reading-wrong",
    RivetDoesNotGrip = "rivet-does-not-grip",
    TooBigForSlot = "too-big-for-slot",
    TooManyStops = "too-many-stops",
    TooThickForSlot = "too-thick-for-slot",
    TurnsOutsideSlot = "turns-outside-slot",
    UnknownName = "unknown-name",
    WebTooThin = "web-too-thin",
}
