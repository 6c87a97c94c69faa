//! Items that could not be read, but whose name could: kept so that the uses of the name are not reported too.

use super::{Lower, Parts};
use crate::syntax::parse::Rule;
use crate::syntax::tree::{Expr, Let, Mark, Marked, Param, Work};
use pest::iterators::Pair;

impl Lower<'_> {
    /// `let NAME` and something unreadable.
    pub(in crate::syntax) fn broken_let(&mut self, pair: Pair<'_, Rule>, value: Expr) -> Option<Let> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::LET)?;
        let span = value.span;
        Some(Let { name: self.take_name(&mut parts)?, formals: None, value, span })
    }

    /// `param NAME` and something unreadable; its kind is left empty.
    pub(in crate::syntax) fn broken_param(&mut self, pair: Pair<'_, Rule>, value: Expr) -> Option<Param> {
        let mut parts = Parts::of(pair);
        parts.get(Rule::PARAM)?;
        let (name, span) = (self.take_name(&mut parts)?, value.span);
        Some(Param { kind: self.no_name(name.span), name, value, bounds: None, note: None, span })
    }

    /// `window NAME =` and something unreadable.
    pub(in crate::syntax) fn broken_mark(&mut self, pair: Pair<'_, Rule>, value: Expr) -> Option<Mark> {
        let mut parts = Parts::of(pair);
        let face = parts.get(Rule::face).and_then(|face| self.face(face));
        let work = parts.get(Rule::work)?;
        let work_span = self.span(&work);
        let work = Work::of_word(work.as_str())?;
        let (name, span) = (self.take_name(&mut parts), value.span);
        Some(Mark { face, work, work_span, what: Marked::Shape { name, value }, tails: Vec::new(), span })
    }
}
