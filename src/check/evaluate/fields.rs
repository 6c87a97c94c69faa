//! The fields of a block, read by their names.

use std::marker::PhantomData;

use crate::syntax::tree::{Expr, ExprKind, Field, FieldValue};
use crate::vocabulary::blocks::FieldName;

/// The fields of a block whose fields are named by `F`: no other can be read.
#[derive(Debug)]
pub struct Fields<'t, F> {
    all: &'t [Field],
    of: PhantomData<F>,
}

impl<F> Clone for Fields<'_, F> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<F> Copy for Fields<'_, F> {}

impl<'t, F: FieldName> Fields<'t, F> {
    /// All that are written in a block.
    pub fn of(all: &'t [Field]) -> Self {
        Self { all, of: PhantomData }
    }

    /// The field as written.
    pub fn get(self, name: F) -> Option<&'t Field> {
        self.all.iter().find(|field| field.name.text == name.row().word)
    }

    /// What the field holds, where that is an expression.
    pub fn expr(self, name: F) -> Option<&'t Expr> {
        match &self.get(name)?.value {
            FieldValue::Expr(expr) => Some(expr),
            _ => None,
        }
    }

    /// The word that the field holds.
    pub fn word(self, name: F) -> Option<&'t str> {
        match &self.expr(name)?.kind {
            ExprKind::Name(word) => Some(word),
            _ => None,
        }
    }

    /// The sides that the field holds.
    pub fn sides(self, name: F) -> Option<&'t [Expr]> {
        match &self.get(name)?.value {
            FieldValue::Size(size) => Some(&size.sides),
            _ => None,
        }
    }
}
