//! From values of params to a look: the design is worked out as `check` does it, and held against every limit.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::Question;
use super::conditions::{Asks, Condition, conditions};
use super::free::{Free, Place};
use super::limits::{limits, parts_of};
use super::looks::{Look, Slack};
use crate::analysis::{CheckedSession, VariantResult};
use crate::check::{Value, Variant};
use crate::diagnostics::{Diagnostic, Finding, Problems};
use crate::family::figures_of;
use crate::family::question::answer_of_dial;
use crate::plan::Effort;
use crate::syntax::tree::Expr;
use crate::units::Quantity;

/// What looks at designs.
pub(super) struct Judge<'j, 's> {
    session: &'j CheckedSession<'s>,
    variant: Option<&'j Variant>,
    free: &'j [Free],
    measured: Option<&'j Expr>,
    traded: Option<&'j Expr>,
    conditions: Vec<Condition<'j>>,
    /// Whether no finding of the text is an error; then no place has a design.
    sound: bool,
}

impl<'j, 's> Judge<'j, 's> {
    pub(super) fn new(
        session: &'j CheckedSession<'s>,
        variant: Option<&'j Variant>,
        free: &'j [Free],
        question: &Question<'j>,
    ) -> Self {
        let of_file = session.expects().flat_map(|expect| conditions(expect, session.sources(), true));
        let asked = question.conditions.iter().flat_map(|asked| conditions(asked, session.sources(), false));
        Self {
            session,
            variant,
            free,
            measured: question.best.map(|(_, best)| best),
            traded: question.trade.as_ref().map(|trade| trade.measured),
            conditions: of_file.chain(asked).collect(),
            sound: !session.problems.has_errors(),
        }
    }

    /// The values of all params with the free ones at this place.
    pub(super) fn values(&self, place: &Place) -> BTreeMap<String, Value> {
        let mut values = self.session.values(self.variant);
        values.extend(self.free.iter().zip(place).map(|(free, at)| (free.param.name.clone(), free.value(*at))));
        values
    }

    pub(super) fn look(&self, place: &Place) -> Look {
        let values = self.values(place);
        let result = self.session.analyse_values(self.variant, &values, Effort(0));
        let figures = figures_of(&result);
        let ask = |asked: &Expr| answer_of_dial(self.session, asked, &values, (result.dial.as_ref(), &figures));
        let number = |asked: &Expr| ask(asked).and_then(|value| value.quantity()).filter(|it| it.value.is_finite());
        let mut look = Look {
            made: result.dial.is_some() && self.sound,
            measured: self.measured.and_then(number),
            traded: self.traded.and_then(number),
            ..Look::default()
        };
        self.hold_against_findings(&result, &mut look);
        let parts = |asked: &Expr| result.dial.as_ref().and_then(|dial| parts_of(dial, asked));
        let asks = Asks { value: &ask, parts: &parts };
        for (at, condition) in self.conditions.iter().enumerate() {
            let kept = condition.kept(&asks);
            // What cannot be told is not kept; of what cannot be made, that is all that is told.
            if kept.holds != Some(true) && look.made {
                look.broken.insert(Arc::clone(&condition.limit));
            }
            let named = |(side, slack): (usize, Slack)| (format!("condition {at:03} {side}"), slack);
            look.slacks
                .extend(kept.slacks.into_iter().enumerate().filter(|(_, slack)| slack.value.is_finite()).map(named));
        }
        if look.made && self.measured.is_some() && look.measured.is_none() {
            look.broken.insert("what is asked for can be told".into());
        }
        look
    }

    /// Every standing finding is a broken limit: that of a slack that tells of it, else one by its own name.
    fn hold_against_findings(&self, result: &VariantResult, look: &mut Look) {
        let measured = result.dial.as_ref().map(limits).unwrap_or_default();
        let of_file = self.session.problems.iter();
        // The file's expectations are held as conditions, one by one.
        let own = |found: &&Diagnostic| found.stands() && found.finding != Finding::NotAsExpected;
        for found in of_file.chain(result.problems.iter()).filter(own) {
            let telling = measured.iter().filter(|limit| limit.findings.contains(&found.finding));
            let worst = telling.min_by(|a, b| a.slack.value.total_cmp(&b.slack.value));
            look.broken.insert(worst.map_or_else(|| named(found), |limit| Arc::clone(&limit.slack.limit)));
        }
        // Below zero without a finding it is no limit of this dial.
        let counts = |slack: &Slack| slack.value >= 0.0 || look.broken.contains(&slack.limit);
        let counted = measured.into_iter().filter(|limit| counts(&limit.slack));
        let slacks: Vec<(String, Slack)> = counted.map(|limit| (limit.name, limit.slack)).collect();
        look.slacks.extend(slacks);
    }

    /// What was asked for at a place and what stands there, laid out with as much effort as `build` takes.
    pub(super) fn proof(&self, place: &Place) -> (Option<Quantity>, Vec<Diagnostic>) {
        let values = self.values(place);
        let result = self.session.analyse_values(self.variant, &values, Effort::default());
        let figures = figures_of(&result);
        let known = (result.dial.as_ref(), &figures);
        let measured = self.measured.and_then(|asked| answer_of_dial(self.session, asked, &values, known));
        let mut all: Problems = self.session.problems.clone();
        all.extend(result.problems);
        let standing = all.into_sorted().into_iter().filter(Diagnostic::stands).collect();
        (measured.and_then(|value| value.quantity()), standing)
    }
}

fn named(found: &Diagnostic) -> Arc<str> {
    match &found.subject {
        Some(subject) => format!("no {} on `{subject}`", found.finding.name()).into(),
        None => format!("no {}", found.finding.name()).into(),
    }
}
