//! Faults that are planted.

/// What may be wrong with a dial that would be sound otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// Labels too high for their opening.
    TallLabels,
    /// A ring that is turned a little.
    RingTurned,
    /// A ring that stands farther out or in.
    RingMoved,
    /// A ring that runs off its rim.
    RingOffRim,
    /// Labels the other way round.
    LabelsReversed,
    /// An opening that leaves too little.
    OpeningNarrow,
    /// An opening that is turned a little.
    OpeningTurned,
    /// An opening beside the one that is read through.
    SecondOpening,
    /// A hole in what is read.
    HoleInRing,
    /// A pocket over what is read.
    PocketInRing,
    /// A middle layer that covers the ring beneath it.
    MiddleTooWide,
    /// A hole that cuts into a magnet's pocket.
    HoleByMagnet,
    /// A pocket that goes nearly through, or right through.
    PocketDeep,
    /// A pocket from the other face.
    PocketFromBehind,
    /// A slot that is too narrow, or not deep enough.
    SlotNarrow,
    SlotShallow,
    /// More stops than labels.
    OneStopMore,
    /// A stop that no label stands at.
    StopMoved,
    /// A magnet wider than what it stands in.
    MagnetWide,
}

pub(super) const FAULTS: [&Fault; 19] = [
    &Fault::TallLabels,
    &Fault::RingTurned,
    &Fault::RingMoved,
    &Fault::RingOffRim,
    &Fault::LabelsReversed,
    &Fault::OpeningNarrow,
    &Fault::OpeningTurned,
    &Fault::SecondOpening,
    &Fault::HoleInRing,
    &Fault::PocketInRing,
    &Fault::MiddleTooWide,
    &Fault::HoleByMagnet,
    &Fault::PocketDeep,
    &Fault::PocketFromBehind,
    &Fault::SlotNarrow,
    &Fault::SlotShallow,
    &Fault::OneStopMore,
    &Fault::StopMoved,
    &Fault::MagnetWide,
];
