//! Labels that are written as numbers with leading zeros, which a number does not keep.

use super::Assembler;
use crate::check::evaluate::label_text;
use crate::check::findings::rings as say;
use crate::check::value::Value;
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind, Name};

/// Longest list that is written out in full: a longer one would bury what stands round it.
const MENDED: usize = 60;

/// The labels of a ring as they would be written to keep their zeros, with the edits that do it where they are certain.
struct Kept {
    labels: Vec<String>,
    /// Which of them lose zeros.
    lost: Vec<usize>,
    edits: Vec<(Span, String)>,
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
        let found = say::leading_zero(&ring.text, (written_as, &shown), counts, (&kept.labels, direct), written.span);
        // A list that stands elsewhere may serve others too, as numbers.
        let mends = direct && items.len() <= MENDED;
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
        let padded: Vec<String> = shown.iter().map(|shown| padded(shown, width)).collect();
        let lost = shown.iter().zip(&padded).enumerate().filter(|(_, (shown, padded))| shown != padded);
        let lost = lost.map(|(at, _)| at).collect();
        let labels: Vec<String> = padded.iter().map(|label| format!("\"{label}\"")).collect();
        // An end that is worked out may come out otherwise another time.
        let certain = [from, to].into_iter().chain(by).all(|part| matches!(part.kind, ExprKind::Number(_)));
        let edits = if certain { vec![(span, format!("[{}]", labels.join(", ")))] } else { Vec::new() };
        Some(Kept { labels, lost, edits })
    }

    fn kept_in_list(&self, parts: &[Expr]) -> Option<Kept> {
        let lost = parts.iter().enumerate().filter(|(_, part)| self.zeros(part).is_some()).map(|(at, _)| at);
        let mut kept = Kept { labels: Vec::new(), lost: lost.collect(), edits: Vec::new() };
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

/// A number with zeros before it, until its whole part has this many digits.
fn padded(number: &str, width: usize) -> String {
    let (sign, digits) = match number.strip_prefix('-') {
        Some(digits) => ("-", digits),
        None => ("", number),
    };
    let zeros = width.saturating_sub(whole_part(digits).len());
    format!("{sign}{}{digits}", "0".repeat(zeros))
}
