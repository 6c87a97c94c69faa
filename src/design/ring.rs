//! Rings of labels.

use kurbo::Point;

use super::{Face, Ink};
use crate::geometry::{Region, Trace};
use crate::source::Span;
use crate::units::{Angle, Length};
use crate::vocabulary::works::Work;

/// A ring of labels round the turning axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Ring {
    /// Its name.
    pub name: String,
    /// The face it is on.
    pub face: Face,
    /// How its labels come about.
    pub work: RingWork,
    /// What its labels stand round, in the layer's front frame: the layer's own axis, unless stated.
    pub centre: Point,
    /// How far its labels' centres stand from there.
    pub radius: Length,
    /// Height of its tallest label.
    pub height: Length,
    /// The typeface of its lettering.
    pub typeface: String,
    /// How high the capitals of its typeface are, as a share of an em.
    pub capitals: f64,
    /// The labels, in order of the stops.
    pub labels: Vec<Label>,
    /// Who says how they follow each other.
    pub laid: Laid,
    /// How dark, 1 being as dark as the stock goes.
    pub tone: f64,
    /// What asked for it.
    pub origin: Span,
}

impl Ring {
    /// Whether its labels are printed.
    pub fn is_printed(&self) -> bool {
        self.work == RingWork::Printed
    }

    /// What its labels are filled or printed with, each ink once, with the labels that it is of; none of them where it is of all.
    pub fn inks(&self) -> Vec<(&Ink, Vec<&str>)> {
        let mut inks: Vec<(&Ink, Vec<&str>)> = Vec::new();
        for (ink, label) in self.labels.iter().filter_map(|label| Some((label.filled.as_ref()?, label))) {
            match inks.iter_mut().find(|(known, _)| *known == ink) {
                Some((_, labels)) => labels.push(&label.says),
                None => inks.push((ink, vec![&label.says])),
            }
        }
        if let [(_, labels)] = inks.as_mut_slice()
            && labels.len() == self.labels.len()
        {
            labels.clear();
        }
        inks
    }

    /// The one ink that fills all its labels.
    pub fn ink(&self) -> Option<&Ink> {
        self.inks().into_iter().find(|(_, labels)| labels.is_empty()).map(|(ink, _)| ink)
    }

    /// What one of its inks fills, in words.
    pub fn called(&self, labels: &[&str]) -> String {
        let ring = format!("`{}`", self.name);
        if labels.is_empty() {
            return ring;
        }
        let labels: Vec<String> = labels.iter().map(|label| format!("`{label}`")).collect();
        format!("{} of {ring}", labels.join(", "))
    }
}

/// How the labels of a ring come about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RingWork {
    /// They are burnt.
    Engraved,
    /// Their lines are traced.
    Scored,
    /// They are left standing where all around them is burnt.
    Raised,
    /// They are printed before anything is cut.
    Printed,
}

impl RingWork {
    /// Whether the machine burns the labels themselves.
    pub fn is_burnt(self) -> bool {
        matches!(self, Self::Engraved | Self::Scored)
    }

    /// That of rings which are worked so; none where no ring is.
    pub fn of(work: Work) -> Option<Self> {
        [Self::Engraved, Self::Scored, Self::Raised, Self::Printed].into_iter().find(|known| known.work() == work)
    }

    /// The word of the work.
    pub fn word(self) -> &'static str {
        self.work().word()
    }

    /// The work as it is written.
    pub fn work(self) -> Work {
        match self {
            Self::Engraved => Work::Engrave,
            Self::Scored => Work::Score,
            Self::Raised => Work::Bare,
            Self::Printed => Work::Print,
        }
    }
}

/// Who says how the labels of a ring follow each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Laid {
    /// Nobody: they stand where the stops carry them.
    ByStops,
    /// The maker says which way round they go, so that what is due is what stands there.
    Round,
    /// The maker says where each of them stands.
    AtBearings,
}

/// One label of a ring.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// What it says; for art, the part's or the file's name.
    pub says: String,
    /// Where its centre stands, seen from the ring's.
    pub bearing: Angle,
    /// Its height: of lettering, that of capitals.
    pub height: Length,
    /// How far it is turned about its own middle beside what its facing asks for.
    pub tilt: Angle,
    /// Where the tops of its letters point, as a bearing; none for what is no lettering.
    pub up: Option<Angle>,
    /// Whether a line stands under it, which tells which way up it is.
    pub underlined: bool,
    /// What it is filled with afterwards; of one that is printed, its colour.
    pub filled: Option<Ink>,
    /// Its outline, placed on the layer; of one that is scored, all that the beam burns.
    pub ink: Region,
    /// Where the beam runs of one that is scored.
    pub lines: Option<Trace>,
    /// What asked for it.
    pub origin: Span,
}
