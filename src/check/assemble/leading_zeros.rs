//! Labels that are written as numbers with leading zeros, which a number does not keep.

use super::Assembler;
use crate::check::evaluate::{label_text, with_zeros};
use crate::check::findings::rings as say;
use crate::check::value::Value;
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind, Name};
use crate::units::plain;

/// Most labels that are put in quotes one by one: more would bury what stands round them.
const MENDED: usize = 60;

/// The labels of a ring as they would be written to keep their zeros, with the edits that do it where they are certain.
struct Kept {
    labels: Vec<String>,
    /// Which of them lose zeros.
    lost: Vec<usize>,
    edits: Vec<(Span, String)>,
    /// What the help shows.
    instead: String,
}

impl<'t> Assembler<'_, 't> {
    /// Reports numbers among the labels of a ring that lose their leading zeros. `items` is what the labels came to.
    pub(super) fn leading_zeros(&mut self, ring: &Name, labels: &'t Expr, items: &[Value]) {
        let written = self.eval.as_written(labels);
        let kept = match &written.kind {
            ExprKind::Range { from, to, by } => self.kept_in_range((from, to, by.as_deref()), items, written.span),
            ExprKind::List(parts) => self.kept_in_list(parts),
            _ => None,
        };
        let Some(kept) = kept else { return };
        let Some((written_as, shown)) = kept
            .lost
            .first()
            .and_then(|at| Some((kept.labels.get(*at)?.trim_matches('"'), items.get(*at).and_then(label_text)?)))
        else {
            return;
        };
        let counts = (kept.lost.len(), items.len());
        let direct = std::ptr::eq(written, labels);
        let found = say::leading_zero(&ring.text, (written_as, &shown), counts, (&kept.instead, direct), written.span);
        // A list that stands elsewhere may serve others too, as numbers.
        let mends = direct && kept.edits.len() <= MENDED;
        let edits = kept.edits.into_iter().filter(|_| mends);
        self.eval.problems.push(edits.fold(found, |found, (span, text)| found.mend(span, text)));
    }

    fn kept_in_range(
        &self,
        (from, to, by): (&Expr, &Expr, Option<&Expr>),
        items: &[Value],
        span: Span,
    ) -> Option<Kept> {
        let width = [from, to].into_iter().filter_map(|end| self.zeros(end)).map(|written| whole_part(written).len());
        let width = width.max()?;
        let shown: Vec<String> = items.iter().map(|item| label_text(item).unwrap_or_default()).collect();
        let labels: Vec<String> = shown.iter().map(|shown| with_zeros(shown, width)).collect();
        let lost = shown.iter().zip(&labels).enumerate().filter(|(_, (shown, label))| shown != label);
        let lost = lost.map(|(at, _)| at).collect();
        let instead = if items.iter().all(|item| item.quantity().is_some_and(|number| number.whole().is_some())) {
            let end = |end: &Expr| match end.kind {
                ExprKind::Number(number) => plain(number.value, 6),
                _ => self.eval.text(end.span).to_owned(),
            };
            let steps = by.map_or_else(String::new, |by| format!(" by {}", end(by)));
            format!("digits({} to {}{steps}, {width})", end(from), end(to))
        } else {
            // `digits` takes whole numbers alone.
            format!("[{}]", labels.iter().map(|label| format!("\"{label}\"")).collect::<Vec<_>>().join(", "))
        };
        Some(Kept { labels, lost, edits: vec![(span, instead.clone())], instead })
    }

    fn kept_in_list(&self, parts: &[Expr]) -> Option<Kept> {
        let lost = parts.iter().enumerate().filter(|(_, part)| self.zeros(part).is_some()).map(|(at, _)| at);
        let mut kept = Kept { labels: Vec::new(), lost: lost.collect(), edits: Vec::new(), instead: String::new() };
        for part in parts {
            let written = self.eval.text(part.span);
            match &part.kind {
                ExprKind::Number(number) if number.unit.is_none() => {
                    kept.labels.push(format!("\"{written}\""));
                    kept.edits.push((part.span, format!("\"{written}\"")));
                }
                _ => kept.labels.push(written.to_owned()),
            }
        }
        let more = if kept.labels.len() > 3 { ", …" } else { "" };
        kept.instead = format!("[{}{more}]", kept.labels.iter().take(3).cloned().collect::<Vec<_>>().join(", "));
        Some(kept)
    }

    /// The text of a bare number that is written with a leading zero.
    fn zeros(&self, expr: &Expr) -> Option<&str> {
        let ExprKind::Number(number) = &expr.kind else { return None };
        let written = self.eval.text(expr.span);
        let leads = written.len() > 1 && whole_part(written).len() > 1 && written.starts_with('0');
        (number.unit.is_none() && leads).then_some(written)
    }
}

/// What stands before the decimal point.
fn whole_part(number: &str) -> &str {
    number.split('.').next().unwrap_or(number)
}
