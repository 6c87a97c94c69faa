//! Types in `seek`: what is free, what is wanted of it, and what is kept.

use super::TypeChecker;
use crate::check::findings::{names as say_name, seeks as say};
use crate::check::names::Meaning;
use crate::syntax::tree::{Expr, ExprKind, Field, Name};
use crate::vocabulary::blocks::{Holds, fields};
use crate::vocabulary::figures::FigureName;
use crate::vocabulary::types::Type;

impl<'t> TypeChecker<'t> {
    /// The value of a field that only `seek` has.
    pub(super) fn of_seek(&mut self, holds: &Holds, value: &'t Expr) {
        let values = value.items();
        match holds {
            Holds::Params => values.for_each(|name| self.free(name)),
            Holds::Steps => values.for_each(|step| self.expect_quantity(step)),
            // What is asked of a finished dial knows its measures and figures; names of the file go before those.
            _ => {
                let figures = FigureName::ROWS.iter().filter(|row| self.names.get(row.word, None).is_none());
                self.locals.extend(figures.map(|row| (row.word, row.holds.clone())));
                self.measures = true;
                match holds {
                    Holds::Kept => values.for_each(|kept| drop(self.expect(kept, &Type::Truth))),
                    _ => self.expect_quantity(value),
                }
                self.measures = false;
                self.locals.clear();
            }
        }
    }

    /// A param that has bounds to be sought within.
    fn free(&mut self, value: &'t Expr) {
        let ExprKind::Name(text) = &value.kind else {
            if !matches!(value.kind, ExprKind::Broken) {
                self.report(say::not_free(value.span));
            }
            return;
        };
        let name = Name { text: text.clone(), span: value.span };
        match self.names.get(text, None).map(|definition| definition.meaning) {
            Some(Meaning::Param(param)) if param.bounds.is_some() => {}
            Some(Meaning::Param(_)) => drop(self.report(say::without_bounds(&name))),
            found => {
                let nearest = self.names.nearest(text, |definition| matches!(definition.meaning, Meaning::Param(_)));
                self.report(say_name::not_a_param(&name, nearest, found.is_some()));
            }
        }
    }

    /// The least or the most of one thing is sought, not both.
    pub(super) fn one_end(&mut self, all: &'t [Field]) {
        let of = |word: &str| all.iter().find(|field| field.name.text == word);
        if let (Some(least), Some(most)) = (of(fields::Seek::Least.spec().word), of(fields::Seek::Most.spec().word)) {
            self.report(say::both_ends(least.span, most.span));
        }
    }
}
