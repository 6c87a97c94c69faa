//! What a design comes to, in one line: what was proven of its dials, and what was found.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use super::{Dial, VariantResult};
use crate::audit::{Audit, Share};
use crate::design::{Design, Turn};
use crate::diagnostics::{Diagnostic, Finding, Problems, Severity, counted};
use crate::units::rounded;

/// What a design comes to. A part that the design does not ask for, or that is not looked at, is none: nothing is claimed of
/// it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// Dials wanted of all variants that could be worked out.
    pub dials: u64,
    /// Variants looked at; 1 without a family.
    pub variants: usize,
    /// Those of them that cannot be built, since they have errors.
    pub failed: usize,
    /// What is read.
    pub reading: Option<Reading>,
    /// What is held by magnets; whether a rivet holds is not looked at.
    pub holding: Option<Holding>,
    /// How they lie in their slots.
    pub slot: Option<InSlot>,
    /// What was found.
    pub counts: Counts,
}

/// What is read at the stops of the dials.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Stops that are read: combinations of them where a reading depends on several turns.
    pub stops: usize,
    /// Those where something else shows than what is due, or less, or more, with the dial made just as drawn.
    pub misread: usize,
    /// How many of the dials read right at every stop, where that is known; of several variants the least.
    pub share: Option<Share>,
}

/// What holds the turns of the dials.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Holding {
    /// Turns that magnets hold.
    pub turns: usize,
    /// Those of them that may turn, or come apart, by themselves, at a knock, or in store.
    pub loose: usize,
}

/// How dials lie in their slots.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct InSlot {
    /// Variants with a slot.
    pub asked: usize,
    /// Those that do not fit at some stop.
    pub unfit: usize,
    /// Those that fit at every stop but do not turn in the slot.
    pub stuck: usize,
}

/// How many findings of each weight there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counts {
    /// Errors.
    pub errors: usize,
    /// Warnings that stand.
    pub warnings: usize,
    /// Findings that the design accepts.
    pub accepted: usize,
    /// Pieces of advice that are not accepted.
    pub advice: usize,
}

impl Verdict {
    /// Of one variant, or of the plain file.
    pub fn of(result: &VariantResult) -> Self {
        let counts = Counts::of(result.problems.iter());
        let verdict = Self { variants: 1, failed: usize::from(counts.errors > 0), counts, ..Self::default() };
        let Some(Dial { design, audit, .. }) = &result.dial else { return verdict };
        Self {
            dials: u64::from(design.run.dials),
            reading: read(design, audit),
            holding: held(design, audit, &result.problems),
            slot: audit.fit.as_ref().map(|_| in_slot(&result.problems)),
            ..verdict
        }
    }

    /// Of several variants, whose findings are given as one list: what many of them have counts once.
    pub fn of_all(variants: &[Self], findings: &[Diagnostic]) -> Self {
        let sum = |one: fn(&Self) -> usize| variants.iter().map(one).sum();
        Self {
            dials: variants.iter().map(|it| it.dials).sum(),
            variants: variants.len(),
            failed: sum(|it| it.failed),
            reading: variants.iter().filter_map(|it| it.reading).reduce(Reading::and),
            holding: variants.iter().filter_map(|it| it.holding).reduce(Holding::and),
            slot: variants.iter().filter_map(|it| it.slot).reduce(InSlot::and),
            counts: Counts::of(findings.iter()),
        }
    }

    /// Whether there is something to build, and no finding asks for anything.
    pub fn is_ready(&self) -> bool {
        self.dials > 0 && self.failed == 0 && self.counts.errors == 0 && self.counts.warnings == 0
    }

    /// Whether every stop reads right, with the dial made just as drawn; none where nothing is read.
    pub fn reads(&self) -> Option<bool> {
        self.reading.map(|reading| reading.misread == 0)
    }

    /// Whether every turn that magnets hold stays and stays together; none where there is no such turn.
    pub fn holds(&self) -> Option<bool> {
        self.holding.map(|holding| holding.loose == 0)
    }

    /// Whether it fits its slot at every stop and turns in it; none where there is no slot.
    pub fn fits(&self) -> Option<bool> {
        self.slot.map(|slot| slot.unfit + slot.stuck == 0)
    }

    /// The same for programs.
    pub fn as_json(&self) -> Value {
        let hundredths =
            |share: fn(Share) -> f64| self.reading.and_then(|it| it.share).map(|it| rounded(100.0 * share(it), 4));
        json!({
            "says": self.to_string(),
            "ready": self.is_ready(),
            "variants": self.variants,
            "variants_not_to_be_built": self.failed,
            "dials": self.dials,
            "reads": self.reads(),
            "stops": self.reading.map(|it| it.stops),
            "stops_misread": self.reading.map(|it| it.misread),
            "yield_percent": hundredths(|it| it.share),
            "yield_plus_minus_percent": hundredths(|it| it.plus_minus),
            "holds": self.holds(),
            "turns": self.holding.map(|it| it.turns),
            "turns_loose": self.holding.map(|it| it.loose),
            "fits": self.fits(),
            "errors": self.counts.errors,
            "warnings": self.counts.warnings,
            "accepted": self.counts.accepted,
            "advice": self.counts.advice,
        })
    }

    /// "8 dials", and whether they cannot be built.
    fn subject(&self) -> String {
        let not = if self.counts.errors > 0 { " cannot be built" } else { "" };
        match (self.variants, self.dials, self.failed) {
            (0 | 1, 0, _) => if not.is_empty() { "no dial" } else { "cannot be built" }.to_owned(),
            (0 | 1, dials, _) => format!("{}{not}", counted(usize::try_from(dials).unwrap_or(usize::MAX), "dial")),
            (variants, _, 0) => counted(variants, "variant"),
            (variants, _, failed) => format!("{}, {failed} of which{not}", counted(variants, "variant")),
        }
    }
}

/// `8 dials: 99.2 % ± 0.2 read right at every stop; hold; fit; 1 warning`.
impl fmt::Display for Verdict {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        // The verb after one dial, and after several or none.
        let s = if self.variants < 2 && self.dials == 1 { "s" } else { "" };
        let parts = [
            self.reading.map(|it| it.in_words(self.variants, s)),
            self.holding.map(|it| it.in_words(s)),
            self.slot.map(|it| it.in_words(self.variants, s)),
            Some(self.counts.to_string()),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        write!(to, "{}: {}", self.subject(), parts.join("; "))
    }
}

impl Reading {
    fn and(self, other: Self) -> Self {
        let both = self.share.zip(other.share);
        let least = both.map(|(one, other)| if other.share < one.share { other } else { one });
        Self { stops: self.stops + other.stops, misread: self.misread + other.misread, share: least }
    }

    fn in_words(self, variants: usize, s: &str) -> String {
        match (self.misread, self.share) {
            (0, Some(share)) => {
                let least = if variants > 1 { " in the variant that is least sure" } else { "" };
                format!("{share} read right at every stop{least}")
            }
            (0, None) if self.stops == 1 => format!("read{s} right at the only stop, as drawn"),
            (0, None) => format!("read{s} right at all {} stops, as drawn", self.stops),
            (_, _) if self.stops == 1 => "the only stop misreads".to_owned(),
            (misread, _) => format!("{misread} of {} stops misread", self.stops),
        }
    }
}

impl Holding {
    fn and(self, other: Self) -> Self {
        Self { turns: self.turns + other.turns, loose: self.loose + other.loose }
    }

    fn in_words(self, s: &str) -> String {
        match (self.loose, self.turns) {
            (0, _) => format!("hold{s}"),
            (_, 1) => if s.is_empty() { "do not hold" } else { "does not hold" }.to_owned(),
            (loose, turns) => format!("{loose} of {turns} turns loose"),
        }
    }
}

impl InSlot {
    fn and(self, other: Self) -> Self {
        Self { asked: self.asked + other.asked, unfit: self.unfit + other.unfit, stuck: self.stuck + other.stuck }
    }

    fn in_words(self, variants: usize, s: &str) -> String {
        let not = if s.is_empty() { "do not" } else { "does not" };
        match (self.unfit, self.stuck) {
            (0, 0) if self.asked < variants => format!("fit where a slot is stated ({} of {variants})", self.asked),
            (0, 0) => format!("fit{s}"),
            (0, _) if variants < 2 => format!("fit{s} at every stop but {not} turn in the slot"),
            (_, _) if variants < 2 => format!("{not} fit the slot"),
            (0, stuck) => format!("fit at every stop but {stuck} of {variants} do not turn in the slot"),
            (unfit, _) => format!("{unfit} of {variants} do not fit the slot"),
        }
    }
}

impl Counts {
    /// Of some findings.
    pub fn of<'a>(findings: impl IntoIterator<Item = &'a Diagnostic>) -> Self {
        let mut all = Self::default();
        for found in findings {
            *match (found.severity, &found.accepted) {
                (Severity::Error, _) => &mut all.errors,
                (_, Some(_)) => &mut all.accepted,
                (Severity::Warning, None) => &mut all.warnings,
                (Severity::Advice, None) => &mut all.advice,
            } += 1;
        }
        all
    }
}

/// `1 error, 2 warnings`, or `no findings`.
impl fmt::Display for Counts {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let advice = match self.advice {
            0 => None,
            1 => Some("1 piece of advice".to_owned()),
            more => Some(format!("{more} pieces of advice")),
        };
        let some = |count: usize, words: String| (count > 0).then_some(words);
        let parts = [
            some(self.errors, counted(self.errors, "error")),
            some(self.warnings, counted(self.warnings, "warning")),
            some(self.accepted, format!("{} accepted", self.accepted)),
            advice,
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        to.write_str(if parts.is_empty() { "no findings" } else { "" })?;
        to.write_str(&parts.join(", "))
    }
}

/// A stop counts once, however many rings are read there.
fn read(design: &Design, audit: &Audit) -> Option<Reading> {
    let mut stops: BTreeMap<(&[usize], &[usize]), bool> = BTreeMap::new();
    for reading in &audit.reading_check.readings {
        for stop in &reading.stops {
            *stops.entry((&reading.turns, &stop.stops)).or_insert(true) &= stop.reads;
        }
    }
    let misread = stops.values().filter(|reads| !**reads).count();
    let share = || audit.dial_yield(design).map(|found| found.share);
    (!stops.is_empty()).then(|| Reading { stops: stops.len(), misread, share: share() })
}

fn held(design: &Design, audit: &Audit, findings: &Problems) -> Option<Holding> {
    let held: Vec<_> = design.turns().zip(&audit.holding.turns).filter(|(_, it)| it.magnets.is_some()).collect();
    let loose: Vec<&Diagnostic> = findings.iter().filter(|found| found.finding.says_loose()).collect();
    let is_loose = |below: usize, turn: &Turn| {
        let upper = design.layers.get(below + 1).map(|layer| layer.name.as_str());
        loose.iter().any(|found| {
            found.subject.as_deref() == upper || found.labels.iter().any(|label| label.span == turn.origin)
        })
    };
    let count = held.iter().filter(|((below, turn), _)| is_loose(*below, turn)).count();
    let turns = held.len();
    (turns > 0).then(|| Holding { turns, loose: count.max(usize::from(!loose.is_empty())) })
}

fn in_slot(findings: &Problems) -> InSlot {
    let says = |wanted: &dyn Fn(Finding) -> bool| findings.iter().any(|found| wanted(found.finding));
    let unfit = says(&|finding| finding.says_unfit() && finding != Finding::TurnsOutsideSlot);
    let stuck = !unfit && says(&Finding::says_unfit);
    InSlot { asked: 1, unfit: unfit.into(), stuck: stuck.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(dials: u64, variants: usize, failed: usize) -> Verdict {
        Verdict { dials, variants, failed, ..Verdict::default() }
    }

    #[test]
    fn each_part_has_its_words_for_one_dial_and_for_several() {
        let sure = Share { share: 0.992, plus_minus: 0.002 };
        let reading = |stops, misread, share| Some(Reading { stops, misread, share });
        let holding = |turns, loose| Some(Holding { turns, loose });
        let slot = |unfit, stuck| Some(InSlot { asked: 1, unfit, stuck });
        let warned = Counts { warnings: 1, ..Counts::default() };
        let cases = [
            (
                Verdict {
                    reading: reading(10, 0, Some(sure)),
                    holding: holding(1, 0),
                    slot: slot(0, 0),
                    counts: warned,
                    ..of(8, 1, 0)
                },
                "8 dials: 99.2 % ± 0.2 read right at every stop; hold; fit; 1 warning",
            ),
            (
                Verdict { reading: reading(10, 0, None), holding: holding(1, 1), slot: slot(1, 0), ..of(1, 1, 0) },
                "1 dial: reads right at all 10 stops, as drawn; does not hold; does not fit the slot; no findings",
            ),
            (
                Verdict { reading: reading(1, 0, None), holding: holding(2, 1), slot: slot(0, 1), ..of(2, 1, 0) },
                "2 dials: read right at the only stop, as drawn; 1 of 2 turns loose; fit at every stop but do not turn in the slot; no findings",
            ),
            // What misreads as drawn is no question of how sure it is.
            (
                Verdict { reading: reading(10, 3, Some(sure)), ..of(1, 1, 0) },
                "1 dial: 3 of 10 stops misread; no findings",
            ),
            (of(0, 1, 0), "no dial: no findings"),
            (of(0, 0, 0), "no dial: no findings"),
        ];
        for (verdict, said) in cases {
            assert_eq!(verdict.to_string(), said);
        }
    }

    #[test]
    fn what_cannot_be_built_says_so_first() {
        let counts = Counts { errors: 2, warnings: 0, accepted: 1, advice: 1 };
        let said = |verdict: Verdict| Verdict { counts, ..verdict }.to_string();
        assert_eq!(said(of(0, 1, 1)), "cannot be built: 2 errors, 1 accepted, 1 piece of advice");
        assert_eq!(said(of(0, 0, 0)), "cannot be built: 2 errors, 1 accepted, 1 piece of advice");
        assert_eq!(said(of(8, 1, 1)), "8 dials cannot be built: 2 errors, 1 accepted, 1 piece of advice");
        assert!(said(of(24, 4, 1)).starts_with("4 variants, 1 of which cannot be built: 2 errors"));
    }

    /// Of several variants the least share counts, and a part that only some of them ask for says of how many.
    #[test]
    fn variants_are_summed_up_by_the_worst_of_them() {
        let one = |share: f64, slot: Option<InSlot>| Verdict {
            reading: Some(Reading { stops: 10, misread: 0, share: Some(Share { share, plus_minus: 0.001 }) }),
            slot,
            ..of(8, 1, 0)
        };
        let fits = Some(InSlot { asked: 1, unfit: 0, stuck: 0 });
        let all = Verdict::of_all(&[one(0.999, fits), one(0.98, None)], &[]);
        let said = "2 variants: 98 % ± 0.1 read right at every stop in the variant that is least sure; fit where a slot is stated (1 of 2); no findings";
        assert_eq!((all.to_string().as_str(), all.dials, all.fits()), (said, 16, Some(true)));
        let unfit = Some(InSlot { asked: 1, unfit: 1, stuck: 0 });
        let all = Verdict::of_all(&[one(1.0, fits), one(1.0, unfit)], &[]);
        assert!(all.to_string().contains("1 of 2 do not fit the slot"), "{all}");
    }

    #[test]
    fn what_is_not_asked_is_null_for_programs() {
        let json = of(1, 1, 0).as_json();
        for part in ["reads", "stops", "yield_percent", "holds", "turns_loose", "fits"] {
            assert!(json[part].is_null(), "{part}");
        }
        assert_eq!((json["ready"].as_bool(), json["says"].as_str()), (Some(true), Some("1 dial: no findings")));
    }
}
