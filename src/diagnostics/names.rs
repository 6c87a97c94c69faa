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
    AcceptsNothing = "accepts-nothing",
    ArgumentTwice = "argument-twice",
    ArtDropped = "art-dropped",
    BadArtwork = "bad-artwork",
    BadPathData = "bad-path-data",
    BadReading = "bad-reading",
    BadTone = "bad-tone",
    BadTypeface = "bad-typeface",
    BearingsAndLabels = "bearings-and-labels",
    BlankLabel = "blank-label",
    CannotMeasure = "cannot-measure",
    ChooseOne = "choose-one",
    CircularDefinition = "circular-definition",
    CircularWith = "circular-with",
    ClicksForm = "clicks-form",
    CornerTooLarge = "corner-too-large",
    CountOutOfBounds = "count-out-of-bounds",
    CrossesItself = "crosses-itself",
    DefinedTwice = "defined-twice",
    DivisionByZero = "division-by-zero",
    DivisionNotFraction = "division-not-fraction",
    EmptyFamily = "empty-family",
    EmptyRegion = "empty-region",
    EmptyStack = "empty-stack",
    FieldForm = "field-form",
    FieldTwice = "field-twice",
    FileTooLarge = "file-too-large",
    FunctionNotCalled = "function-not-called",
    ItemTwice = "item-twice",
    JointWithoutLayer = "joint-without-layer",
    LabelsAndStops = "labels-and-stops",
    LayerNotInStack = "layer-not-in-stack",
    LayerTwice = "layer-twice",
    LayerWithoutStock = "layer-without-stock",
    LayersNotJoined = "layers-not-joined",
    MagnetsOffAxis = "magnets-off-axis",
    MeasureOutsideExpect = "measure-outside-expect",
    MissingArgument = "missing-argument",
    MissingCharacter = "missing-character",
    MissingField = "missing-field",
    MissingFile = "missing-file",
    MissingUnit = "missing-unit",
    MixedKinds = "mixed-kinds",
    NoAdhesive = "no-adhesive",
    NoArithmetic = "no-arithmetic",
    NoLayers = "no-layers",
    NoOutline = "no-outline",
    NoRoomForLabels = "no-room-for-labels",
    NoRoot = "no-root",
    NoStack = "no-stack",
    NoStep = "no-step",
    NoTitle = "no-title",
    NominalFigures = "nominal-figures",
    NotANumber = "not-a-number",
    NotAsExpected = "not-as-expected",
    NotClosed = "not-closed",
    NotComparable = "not-comparable",
    NotInStack = "not-in-stack",
    NotPositive = "not-positive",
    NotReadSo = "not-read-so",
    NotText = "not-text",
    NotWhole = "not-whole",
    NothingToMark = "nothing-to-mark",
    NothingTurns = "nothing-turns",
    OpeningBelowRing = "opening-below-ring",
    OutOfBounds = "out-of-bounds",
    OutlineInPieces = "outline-in-pieces",
    OutsideFolder = "outside-folder",
    PaintWithoutColour = "paint-without-colour",
    ParamOutOfRange = "param-out-of-range",
    PocketWithoutDepth = "pocket-without-depth",
    RingNotEngraved = "ring-not-engraved",
    RingWithoutLabels = "ring-without-labels",
    RingWithoutRadius = "ring-without-radius",
    RivetDoesNotGrip = "rivet-does-not-grip",
    RowsWanted = "rows-wanted",
    SeatOnOtherHalf = "seat-on-other-half",
    StopsUnknown = "stops-unknown",
    StrayArgument = "stray-argument",
    TailOutOfPlace = "tail-out-of-place",
    TooFew = "too-few",
    TooLarge = "too-large",
    TooMany = "too-many",
    TwoJoints = "two-joints",
    TypefaceMissing = "typeface-missing",
    UnitMismatch = "unit-mismatch",
    UnknownArgument = "unknown-argument",
    UnknownBlock = "unknown-block",
    UnknownField = "unknown-field",
    UnknownFinding = "unknown-finding",
    UnknownFunction = "unknown-function",
    UnknownKind = "unknown-kind",
    UnknownName = "unknown-name",
    UnknownPart = "unknown-part",
    UnknownSetting = "unknown-setting",
    UnknownVariant = "unknown-variant",
    UnknownWord = "unknown-word",
    VariantTwice = "variant-twice",
    WithTooDeep = "with-too-deep",
    WrongArguments = "wrong-arguments",
    WrongKind = "wrong-kind",
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
    TooBigForSlot = "too-big-for-slot",
    TooManyStops = "too-many-stops",
    TooThickForSlot = "too-thick-for-slot",
    TurnsOutsideSlot = "turns-outside-slot",
    WebTooThin = "web-too-thin",
}
