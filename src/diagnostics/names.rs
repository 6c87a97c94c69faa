//! The name of every finding, and the page that explains it.

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// What some findings have in common that others ask for; it stands with each in the catalogue below.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Category {
    /// Something is not there. Text that could not be read may hold it.
    Absence,
    /// The dial does not go into its slot, or does not turn in it.
    Unfit,
    /// A turn does not stay where it is put, or comes apart.
    Loose,
    /// It stands on many dials and is told at length elsewhere: one line of it is enough where findings are listed.
    Notice,
}

macro_rules! findings {
    ($($variant:ident = $name:literal $([$($category:ident),+])?,)+) => {
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

            /// What it has in common with others.
            const fn categories(self) -> &'static [Category] {
                match self { $(Finding::$variant => &[$($(Category::$category),+)?],)+ }
            }

            /// The finding of this name.
            pub fn named(name: &str) -> Option<Finding> {
                Finding::ALL.iter().copied().find(|finding| finding.name() == name)
            }
        }
    };
}

impl Finding {
    /// Whether it says that something is not there. Such a finding may only follow from text that could not be read.
    pub fn is_of_absence(self) -> bool {
        self.categories().contains(&Category::Absence)
    }

    /// Whether it says that the dial does not go into its slot, or does not turn in it.
    pub fn says_unfit(self) -> bool {
        self.categories().contains(&Category::Unfit)
    }

    /// Whether it says that a turn does not stay where it is put, or comes apart.
    pub fn says_loose(self) -> bool {
        self.categories().contains(&Category::Loose)
    }

    /// Whether one line of it is enough where findings are listed, since it is told at length on its page and on the run sheet.
    pub fn is_notice(self) -> bool {
        self.categories().contains(&Category::Notice)
    }
}

/// By its name.
impl Serialize for Finding {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        self.name().serialize(to)
    }
}

impl<'de> Deserialize<'de> for Finding {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let name = String::deserialize(from)?;
        Self::named(&name).ok_or_else(|| D::Error::custom(format!("there is no finding `{name}`")))
    }
}

findings! {
    AcceptsNothing = "accepts-nothing",
    ArgumentOrder = "argument-order",
    ArgumentTwice = "argument-twice",
    ArtDropped = "art-dropped",
    ArtOffPage = "art-off-page",
    ArtSpecks = "art-specks",
    ArtStrays = "art-strays",
    ArtTones = "art-tones",
    BadArtwork = "bad-artwork",
    BadColour = "bad-colour",
    BadEscape = "bad-escape",
    BadMoment = "bad-moment",
    BadPathData = "bad-path-data",
    BadReading = "bad-reading",
    BadStep = "bad-step",
    BadTable = "bad-table",
    BadTone = "bad-tone",
    BadTrade = "bad-trade",
    BadTypeface = "bad-typeface",
    BayNotRound = "bay-not-round",
    BearingsAndLabels = "bearings-and-labels",
    BeneathHead = "beneath-head",
    BlankCell = "blank-cell",
    BlankLabel = "blank-label",
    BoardTurned = "board-turned",
    BraceApart = "brace-apart",
    BraceInText = "brace-in-text",
    BracketMismatch = "bracket-mismatch",
    CannotBeFree = "cannot-be-free",
    CannotMeasure = "cannot-measure",
    CellMisfit = "cell-misfit",
    ChlorineInStock = "chlorine-in-stock",
    ChooseOne = "choose-one",
    CircularDefinition = "circular-definition",
    CircularWith = "circular-with",
    ClicksForm = "clicks-form",
    ContrastTooLow = "contrast-too-low",
    CornerTooLarge = "corner-too-large",
    CountOutOfBounds = "count-out-of-bounds",
    CrossUnderClamp = "cross-under-clamp",
    CrossesItself = "crosses-itself",
    DecimalComma = "decimal-comma",
    DeeperThanAsked = "deeper-than-asked",
    DeeperThanMeasured = "deeper-than-measured",
    DefinedTwice = "defined-twice",
    DivisionByZero = "division-by-zero",
    DivisionNotFraction = "division-not-fraction",
    DrawnAlike = "drawn-alike",
    EmptyFamily = "empty-family" [Absence],
    EmptyFile = "empty-file",
    EmptyRegion = "empty-region",
    EmptyStack = "empty-stack",
    EndPinProud = "end-pin-proud",
    EndPinShort = "end-pin-short",
    EndSlotLong = "end-slot-long",
    EndSlotRound = "end-slot-round",
    EndSlotShort = "end-slot-short",
    EndsForm = "ends-form",
    EngravedThrough = "engraved-through",
    EngravingPastVeneer = "engraving-past-veneer",
    EqualsSign = "equals-sign",
    ExtraBrace = "extra-brace",
    FalseClick = "false-click",
    FeatureTooSmall = "feature-too-small",
    FieldForm = "field-form",
    FieldOutOfPlace = "field-out-of-place",
    FieldTwice = "field-twice",
    FileTooLarge = "file-too-large",
    FlipAxisNotSymmetric = "flip-axis-not-symmetric",
    FloorTooThin = "floor-too-thin",
    FunctionNotCalled = "function-not-called",
    GapCostsPull = "gap-costs-pull",
    GlueDoesNotTake = "glue-does-not-take",
    GlueTooWeak = "glue-too-weak" [Loose],
    GluedOnPaint = "glued-on-paint",
    HalvesPushedApart = "halves-pushed-apart" [Loose],
    HandForm = "hand-form",
    HandOverReading = "hand-over-reading",
    HeadBetween = "head-between",
    ItemTwice = "item-twice",
    JointWithoutLayer = "joint-without-layer" [Absence],
    KnockPartsIt = "knock-parts-it" [Loose],
    KnockTurnsIt = "knock-turns-it" [Loose],
    LabelNearOpening = "label-near-opening",
    LabelTooSmall = "label-too-small",
    LabelsAndStops = "labels-and-stops",
    LabelsOverlap = "labels-overlap",
    LadderBends = "ladder-bends",
    LayerNotInStack = "layer-not-in-stack" [Absence],
    LayerTwice = "layer-twice",
    LayerWithoutStock = "layer-without-stock",
    LayersNotJoined = "layers-not-joined" [Absence],
    LeadingDot = "leading-dot",
    LeadingZero = "leading-zero",
    LettersOverlap = "letters-overlap",
    LettersParted = "letters-parted",
    LoosePiece = "loose-piece",
    MagnetHazard = "magnet-hazard" [Notice],
    MagnetProud = "magnet-proud",
    MagnetTooLoose = "magnet-too-loose",
    MagnetTooWide = "magnet-too-wide",
    MagnetWithoutPocket = "magnet-without-pocket",
    MagnetsAtOdds = "magnets-at-odds" [Loose],
    MagnetsForm = "magnets-form",
    MagnetsOffAxis = "magnets-off-axis",
    MarkCutAway = "mark-cut-away",
    MarkNearEdge = "mark-near-edge",
    MarkOutsideOutline = "mark-outside-outline",
    MeasureOutsideExpect = "measure-outside-expect",
    MissingArgument = "missing-argument",
    MissingBrace = "missing-brace",
    MissingCharacter = "missing-character",
    MissingField = "missing-field" [Absence],
    MissingFile = "missing-file",
    MissingPiece = "missing-piece",
    MissingUnit = "missing-unit",
    MissingValue = "missing-value",
    MisspeltWord = "misspelt-word",
    MixedKinds = "mixed-kinds",
    NeverSeen = "never-seen",
    NoAdhesive = "no-adhesive",
    NoArithmetic = "no-arithmetic",
    NoClick = "no-click",
    NoFlipAxis = "no-flip-axis",
    NoLayers = "no-layers" [Absence],
    NoOutline = "no-outline" [Absence],
    NoRoomForLabels = "no-room-for-labels",
    NoRoomToTurn = "no-room-to-turn",
    NoRoot = "no-root",
    NoStack = "no-stack" [Absence],
    NoStep = "no-step",
    NoTitle = "no-title" [Absence],
    NominalFigures = "nominal-figures",
    NotANumber = "not-a-number",
    NotAsExpected = "not-as-expected",
    NotClosed = "not-closed",
    NotComparable = "not-comparable",
    NotFlush = "not-flush",
    NotInStack = "not-in-stack",
    NotKept = "not-kept",
    NotPositive = "not-positive",
    NotReadSo = "not-read-so",
    NotText = "not-text",
    NotTheBest = "not-the-best",
    NotUpright = "not-upright",
    NotWhole = "not-whole",
    NotWithWheels = "not-with-wheels",
    NothingLeft = "nothing-left",
    NothingToMark = "nothing-to-mark",
    NothingTurns = "nothing-turns",
    OddFraction = "odd-fraction",
    OffAxis = "off-axis",
    OpeningBelowRing = "opening-below-ring",
    OpeningNarrowerThanKerf = "opening-narrower-than-kerf",
    OpeningOutsideOutline = "opening-outside-outline",
    OutOfBounds = "out-of-bounds",
    OutlineInPieces = "outline-in-pieces",
    OutsideFolder = "outside-folder",
    PaintWithoutColour = "paint-without-colour",
    ParamOutOfRange = "param-out-of-range",
    PartLargerThanBoard = "part-larger-than-board",
    PartVerySmall = "part-very-small",
    PinClampsNothing = "pin-clamps-nothing",
    PinForm = "pin-form",
    PocketBroken = "pocket-broken",
    PocketOffCentre = "pocket-off-centre",
    PocketTooDeep = "pocket-too-deep",
    PocketWithoutDepth = "pocket-without-depth",
    PocketsMeet = "pockets-meet",
    PocketsOverlap = "pockets-overlap",
    PrintBurntAway = "print-burnt-away",
    PrintCovered = "print-covered",
    PrintNearEdge = "print-near-edge",
    PrintWithoutBleed = "print-without-bleed",
    RaisedBurntAway = "raised-burnt-away",
    RaisedNotFreed = "raised-not-freed",
    RaisedTooThin = "raised-too-thin",
    ReadingAslant = "reading-aslant",
    ReadingCovered = "reading-covered",
    ReadingHidden = "reading-hidden",
    ReadingShared = "reading-shared",
    ReadingStandsOut = "reading-stands-out",
    ReadingUnsure = "reading-unsure",
    ReadingWrong = "reading-wrong",
    ReadingsCell = "readings-cell",
    ReadingsRow = "readings-row",
    ReadingsTable = "readings-table",
    ReadsMirrored = "reads-mirrored",
    ReservedWord = "reserved-word",
    RestsOffAxis = "rests-off-axis",
    RestsOffStop = "rests-off-stop",
    RingNotEngraved = "ring-not-engraved",
    RingNotRead = "ring-not-read",
    RingOffAxis = "ring-off-axis",
    RingWithoutLabels = "ring-without-labels",
    RingWithoutRadius = "ring-without-radius" [Absence],
    RingsRunApart = "rings-run-apart",
    RivetBinds = "rivet-binds",
    RivetDoesNotGrip = "rivet-does-not-grip",
    RowsWanted = "rows-wanted",
    ScoredTwice = "scored-twice",
    SeatOnOtherHalf = "seat-on-other-half",
    SheetTooLarge = "sheet-too-large",
    ShowsElsewhere = "shows-elsewhere",
    SlipsByItself = "slips-by-itself" [Loose],
    SparesTooFew = "spares-too-few",
    StackPullsApart = "stack-pulls-apart" [Loose],
    StopTwice = "stop-twice",
    StopsAlike = "stops-alike",
    StopsUnknown = "stops-unknown" [Absence],
    StrayArgument = "stray-argument",
    SystemTypeface = "system-typeface",
    TailOutOfPlace = "tail-out-of-place",
    ThinTip = "thin-tip",
    ThumbDoesNotReach = "thumb-does-not-reach",
    TooBigForSlot = "too-big-for-slot" [Unfit],
    TooDeep = "too-deep",
    TooFew = "too-few",
    TooLarge = "too-large",
    TooMany = "too-many",
    TooManyStops = "too-many-stops",
    TooMuchFree = "too-much-free",
    TooMuchWork = "too-much-work",
    TooThickForSlot = "too-thick-for-slot" [Unfit],
    TurnsAtATouch = "turns-at-a-touch",
    TurnsHard = "turns-hard",
    TurnsOutsideSlot = "turns-outside-slot" [Unfit],
    TwoItemsOnALine = "two-items-on-a-line",
    TwoJoints = "two-joints" [Absence],
    TypefaceMissing = "typeface-missing",
    TypographicQuote = "typographic-quote",
    UnclearComparison = "unclear-comparison",
    UnclearOrder = "unclear-order",
    UnclosedText = "unclosed-text",
    UnderlineBent = "underline-bent",
    UnderlinesNothing = "underlines-nothing",
    UnexpectedText = "unexpected-text",
    UnitMismatch = "unit-mismatch",
    UnknownArgument = "unknown-argument",
    UnknownBlock = "unknown-block",
    UnknownCharacter = "unknown-character",
    UnknownColumn = "unknown-column",
    UnknownField = "unknown-field",
    UnknownFinding = "unknown-finding",
    UnknownFunction = "unknown-function",
    UnknownItem = "unknown-item",
    UnknownKind = "unknown-kind",
    UnknownMaterial = "unknown-material",
    UnknownName = "unknown-name",
    UnknownPart = "unknown-part",
    UnknownSetting = "unknown-setting",
    UnknownTone = "unknown-tone",
    UnknownUnit = "unknown-unit",
    UnknownVariant = "unknown-variant",
    UnknownWord = "unknown-word",
    UnlikelyFigure = "unlikely-figure",
    UpsideDownTwin = "upside-down-twin",
    ValueTooSoon = "value-too-soon",
    VariantTwice = "variant-twice",
    WasherForm = "washer-form",
    WebTooThin = "web-too-thin",
    WheelBinds = "wheel-binds",
    WheelFallsOut = "wheel-falls-out",
    WheelsMeet = "wheels-meet",
    WhichCopy = "which-copy",
    WithTooDeep = "with-too-deep",
    WitnessOfNoUse = "witness-of-no-use",
    WorkOutOfOrder = "work-out-of-order",
    WrongArguments = "wrong-arguments",
    WrongKind = "wrong-kind",
}
