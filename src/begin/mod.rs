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

/// How much larger the next size is that is looked at where one is too small, in mm.
const STEP: f64 = 5.0;

/// How many larger sizes are looked at.
const STEPS: usize = 8;

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
    /// It would have this fault at this size, and the given larger size (if any was found) has none.
    Faulty {
        /// What is said of it first.
        why: String,
        /// The least size found at which nothing is wrong.
        larger: Option<Length>,
    },
    /// The shop cannot be read.
    Unreadable(LoadError),
}

/// The dial that the answers make, in the file `name` of a project that may hold the shop file `with`.
///
/// # Errors
/// Where something would be wrong with it; a size that would do is then looked for and told.
pub fn begin(
    answers: &Answers,
    (shop, with): (&Shop, Option<&str>),
    project: &dyn Project,
    name: &str,
) -> Result<Begun, Refused> {
    let at = |across: Length| {
        let answers = Answers { across, ..answers.clone() };
        proven(&answers, (shop, with), project, name)
    };
    let why = match at(answers.across)? {
        Ok(begun) => return Ok(begun),
        Err(why) => why,
    };
    // Sizes in whole steps, so that the one that is proposed is a plain figure.
    let first = (answers.across.as_mm() / STEP).floor();
    for across in (1..=STEPS).map(|step| Length::mm((first + step as f64) * STEP)) {
        if at(across)?.is_ok() {
            return Err(Refused::Faulty { why, larger: Some(across) });
        }
    }
    Err(Refused::Faulty { why, larger: None })
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
