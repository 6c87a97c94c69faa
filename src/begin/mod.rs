//! A first dial from five answers: what it shows, which readings, how large, from what stock, and what holds it. The text is
//! proven before anybody gets it, so that a first file never begins with findings.

mod answers;
mod layout;
mod text;

pub use answers::{Answers, Holder, Readings};

use crate::analysis::{Analysis, Request, analyse};
use crate::check::{LoadError, Shop};
use crate::diagnostics::Finding;
use crate::format::tidied;
use crate::plan::Effort;
use crate::project::{Overlaid, Project};
use crate::units::Length;

/// Sizes that are proposed are whole steps of so many mm.
const STEP: f64 = 5.0;

/// How many steps larger the sizes are that are looked at where one is too small.
const LARGER: [f64; 11] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0];

/// What share of the size those have that are looked at where one is too large.
const SHARES: [f64; 6] = [0.9, 0.75, 0.5, 0.25, 0.1, 0.03];

/// Shares of the height that labels come out with, that are tried: the play of a large dial moves them further.
const SMALLER: [f64; 4] = [1.0, 0.85, 0.7, 0.55];

/// A dial that checks.
#[derive(Clone, Debug)]
pub struct Begun {
    /// The file.
    pub text: String,
    /// All that is known of it.
    pub analysis: Analysis,
}

/// Why the answers make no dial.
#[derive(Clone, Debug)]
pub enum Refused {
    /// It would have a fault.
    Faulty {
        /// What is said of it first.
        why: String,
        /// One other answer, where one was found, with which nothing is wrong.
        instead: Option<Instead>,
    },
    /// The shop cannot be read.
    Unreadable(LoadError),
}

/// Another answer to one of the questions.
#[derive(Clone, Debug, PartialEq)]
pub enum Instead {
    /// This large, from edge to edge.
    Across(Length),
    /// Cut from this stock.
    Stock(String),
    /// Held by this.
    HeldBy(Holder),
}

impl Instead {
    /// The answers with this one in place of what was answered.
    fn of(&self, answers: &Answers) -> Answers {
        let mut answers = answers.clone();
        match self {
            Self::Across(across) => answers.across = *across,
            Self::Stock(stock) => answers.stock.clone_from(stock),
            Self::HeldBy(holder) => answers.holder = *holder,
        }
        answers
    }

    /// All that are looked at: sizes first, each a whole step.
    fn all(answers: &Answers, shop: &Shop) -> Vec<Self> {
        let across = answers.across.as_mm();
        let first = (across / STEP).floor();
        let larger = LARGER.iter().map(|steps| (first + steps) * STEP);
        let smaller = SHARES.iter().map(|share| (across * share / STEP).floor() * STEP).filter(|size| *size > 0.0);
        let sizes = larger.chain(smaller).map(|size| Self::Across(Length::mm(size)));
        let stocks = shop.stocks.keys().filter(|stock| **stock != answers.stock).cloned().map(Self::Stock);
        let holders = Holder::WORDS.iter().map(|(_, holder)| *holder);
        sizes.chain(stocks).chain(holders.filter(|holder| *holder != answers.holder).map(Self::HeldBy)).collect()
    }
}

/// The dial that the answers make, in the file `name` of a project that may hold the shop file `with`.
///
/// # Errors
/// Where something would be wrong with it; one other answer that would do is then looked for and told.
pub fn begin(
    answers: &Answers,
    (shop, with): (&Shop, Option<&str>),
    project: &dyn Project,
    name: &str,
) -> Result<Begun, Refused> {
    let why = match proven(answers, (shop, with), project, name)? {
        Ok(begun) => return Ok(begun),
        Err(why) => why,
    };
    for instead in Instead::all(answers, shop) {
        if proven(&instead.of(answers), (shop, with), project, name)?.is_ok() {
            return Err(Refused::Faulty { why, instead: Some(instead) });
        }
    }
    Err(Refused::Faulty { why, instead: None })
}

/// The dial at this very size: the first opening that is sound with something of the shop; else what is said of the first.
fn proven(
    answers: &Answers,
    (shop, with): (&Shop, Option<&str>),
    project: &dyn Project,
    name: &str,
) -> Result<Result<Begun, String>, Refused> {
    let ring = text::ring_name(&answers.shows, shop);
    let request = Request { effort: Effort(0), ..Request::default() };
    let mut why = None;
    for pivot in answers.holder.pivots(shop) {
        for opening in layout::openings(answers, pivot.across) {
            let mut largest: Option<Length> = None;
            for share in SMALLER {
                let height = largest.map(|largest| Length::mm((largest.as_mm() * share * 2.0).floor() / 2.0));
                let text = text::text(answers, opening, height, (&ring, &pivot.call), with, name);
                // A title may be of any width, and comments are aligned by it.
                let text = tidied(name, &text).unwrap_or(text);
                let overlaid = Overlaid::new(project, [(name.to_owned(), text.clone())]);
                let analysis = analyse(&overlaid, name, "", &request).map_err(Refused::Unreadable)?;
                let Some(found) = analysis.findings.iter().find(|found| found.stands()) else {
                    return Ok(Ok(Begun { text, analysis }));
                };
                why = why.or_else(|| Some(found.message.clone()));
                // Smaller labels have more room in their opening, and mend nothing else.
                let unsure = analysis
                    .findings
                    .iter()
                    .filter(|found| found.stands())
                    .all(|found| found.finding == Finding::ReadingUnsure);
                if !unsure {
                    break;
                }
                largest = largest.or_else(|| height_of(&analysis));
            }
        }
    }
    Ok(Err(why.unwrap_or_else(|| "there is no room for an opening beside what holds it".to_owned())))
}

/// How high the labels of the one ring came out.
fn height_of(analysis: &Analysis) -> Option<Length> {
    analysis.dials.first()?.design.layers.iter().flat_map(|layer| &layer.rings).next().map(|ring| ring.height)
}
