//! What is answered, and how an answer is read.

use crate::check::Shop;
use crate::design::{Pin, Rivet};
use crate::diagnostics::listed;
use crate::units::Length;

/// The least and the most readings that a first dial has.
// Two, or nothing turns; beyond thirty the usual play of a turn is as wide as a label.
const READINGS: std::ops::RangeInclusive<usize> = 2..=30;

/// The largest number that a label shows, either side of zero: a longer one is no figure to read at a glance.
const LARGEST: i64 = 999_999_999;

/// The five answers.
#[derive(Clone, Debug, PartialEq)]
pub struct Answers {
    /// What the dial shows: its title.
    pub shows: String,
    /// Its readings, one for each stop.
    pub readings: Readings,
    /// Its diameter.
    pub across: Length,
    /// The stock that both layers are cut from.
    pub stock: String,
    /// What holds it together.
    pub holder: Holder,
}

/// What is read at the stops.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Readings {
    /// From one number to another.
    Numbers(i64, i64),
    /// Words, in order.
    Words(Vec<String>),
}

/// What holds the layers together and lets them turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holder {
    /// A pair of magnets in hidden pockets.
    Magnets,
    /// A rivet through the axis.
    Rivet,
    /// A screw with a nut through the axis.
    Screw,
}

/// Something of the shop that holds a turn.
pub(super) struct Pivot {
    /// As the stack takes it.
    pub(super) call: String,
    /// How wide it is where it lies on or in a layer.
    pub(super) across: Length,
}

impl Pivot {
    fn clamping(call: &str, it: &Rivet) -> Self {
        let widest = it.heads.iter().map(|head| head.diameter.as_mm()).fold(0.0, f64::max);
        Self { call: call.to_owned(), across: Length::mm(widest) }
    }
}

fn clamping(pin: &Pin) -> Option<&Rivet> {
    match pin {
        Pin::Clamps(it) => Some(it),
        Pin::Glued(_) => None,
    }
}

impl Readings {
    /// Reads `10` (as many numbers, from 0), `1 to 12`, or words with commas between them.
    ///
    /// # Errors
    /// What to write instead.
    pub fn read(text: &str) -> Result<Self, String> {
        let number = |text: &str| text.trim().parse::<i64>().ok().filter(|number| number.abs() <= LARGEST);
        let read = match text.split_once(" to ") {
            Some((first, last)) => number(first).zip(number(last)).map(|(first, last)| Self::Numbers(first, last)),
            None => number(text).map(|count| Self::Numbers(0, count.saturating_sub(1))),
        };
        let read = read.unwrap_or_else(|| {
            Self::Words(text.split(',').map(str::trim).filter(|word| !word.is_empty()).map(str::to_owned).collect())
        });
        if READINGS.contains(&read.count()) {
            return Ok(read);
        }
        let (least, most) = (READINGS.start(), READINGS.end());
        Err(format!(
            "a dial has {least} to {most} readings: write how many (`10`), a range (`1 to 12`), or words with commas between \
             them (`Fair, Rain, Snow`)"
        ))
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        match self {
            Self::Numbers(first, last) => {
                let count = last.saturating_sub(*first).saturating_add(1);
                usize::try_from(count).unwrap_or(0)
            }
            Self::Words(words) => words.len(),
        }
    }

    /// Whether a label is much wider than high.
    pub(super) fn is_long(&self) -> bool {
        matches!(self, Self::Words(words) if words.iter().any(|word| word.chars().count() > 3))
    }
}

impl Holder {
    /// All of them, with the word for each.
    pub const WORDS: [(&'static str, Self); 3] =
        [("magnets", Self::Magnets), ("rivet", Self::Rivet), ("screw", Self::Screw)];

    /// The one that a word stands for.
    ///
    /// # Errors
    /// The words there are.
    pub fn read(text: &str) -> Result<Self, String> {
        let known = Self::WORDS.iter().find(|(word, _)| word.eq_ignore_ascii_case(text.trim()));
        known
            .map(|(_, holder)| *holder)
            .ok_or_else(|| format!("write {}", listed(Self::WORDS.iter().map(|(word, _)| *word), "or")))
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, holder)| *holder == self).map_or("", |(word, _)| word)
    }

    /// Those of the kinds of which the shop has one.
    pub fn of(shop: &Shop) -> Vec<&'static str> {
        let has = |holder: &Self| !holder.pivots(shop).is_empty();
        Self::WORDS.iter().filter(|(_, holder)| has(holder)).map(|(word, _)| *word).collect()
    }

    /// The widest of its kind that the shop has, as the stack takes it.
    pub fn call(self, shop: &Shop) -> Option<String> {
        self.pivots(shop).into_iter().next().map(|pivot| pivot.call)
    }

    /// What the shop has of it, the widest first: it holds best.
    pub(super) fn pivots(self, shop: &Shop) -> Vec<Pivot> {
        let mut pivots: Vec<Pivot> = match self {
            Self::Magnets => {
                let magnets = shop.magnets.iter();
                magnets.map(|(name, it)| Pivot { call: format!("magnets({name})"), across: it.diameter }).collect()
            }
            Self::Rivet => {
                shop.rivets.iter().map(|(name, it)| Pivot::clamping(&format!("rivet({name})"), it)).collect()
            }
            Self::Screw => {
                let clamps = shop.pins.iter().filter_map(|(name, pin)| Some((name, clamping(pin)?)));
                clamps.map(|(name, it)| Pivot::clamping(&format!("pin({name})"), it)).collect()
            }
        };
        pivots.sort_by(|a, b| b.across.as_mm().total_cmp(&a.across.as_mm()));
        pivots
    }
}
