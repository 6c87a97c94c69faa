//! Layers that lie in the stack several times: what each copy is called, and which of them a name means.
//!
//! What is on a layer with several copies is called `RING of COPY` in the design, as it is written in a reading: so whoever looks it
//! up by name finds the one that is meant.

use super::Assembler;
use super::stack::Order;
use crate::check::findings::dial as say;
use crate::design::Layer;
use crate::source::Span;
use crate::syntax::tree::{Name, Piece, ReadsHow, StackLayer};

/// A reading by the names that its ring and openings have in the design.
pub(super) struct Asked {
    pub(super) ring: String,
    pub(super) by: Vec<String>,
}

impl Order<'_> {
    /// What the copies of a layer are called, from the bottom up.
    fn copies_of(&self, layer: &str) -> Vec<&str> {
        let copies = self.layers.iter().filter(|copy| copy.layer.text == layer);
        copies.map(|copy| copy.name().text.as_str()).collect()
    }

    /// What something on a layer is called in the design, of this copy.
    pub(super) fn key(&self, copy: &StackLayer, name: &str) -> String {
        match self.copies_of(&copy.layer.text).as_slice() {
            [_, _, ..] => of_copy(name, &copy.name().text),
            _ => name.to_owned(),
        }
    }

    /// A layer as one of its copies.
    pub(super) fn made(&self, copy: &StackLayer, layer: &Layer) -> Layer {
        let mut made = Layer { name: copy.name().text.clone(), ..layer.clone() };
        for mark in &mut made.marks {
            mark.name = mark.name.as_ref().map(|name| self.key(copy, name));
        }
        for wait in &mut made.waits {
            wait.name = wait.name.as_ref().map(|name| self.key(copy, name));
            wait.after = self.key(copy, &wait.after);
        }
        made
    }
}

fn of_copy(name: &str, copy: &str) -> String {
    format!("{name} of {copy}")
}

impl Assembler<'_, '_> {
    /// Every reading by its names in the design; none for one of which a name means no copy, or any of several.
    pub(super) fn asked(&mut self, order: &Order<'_>) -> Vec<Option<Asked>> {
        let program = self.program;
        let each = program.reads.iter().map(|reads| {
            let ring = self.meant(&reads.ring, order, false);
            let through = reads.how == ReadsHow::Through;
            let by: Vec<Option<String>> = reads.by.iter().map(|piece| self.meant(piece, order, through)).collect();
            Some(Asked { ring: ring?, by: by.into_iter().collect::<Option<Vec<_>>>()? })
        });
        each.collect()
    }

    fn meant(&mut self, piece: &Piece, order: &Order<'_>, through: bool) -> Option<String> {
        let name = &piece.name;
        let Some(layer) = self.program.layer_of(&name.text) else { return Some(name.text.clone()) };
        let copies = order.copies_of(&layer.name.text);
        match (&piece.of, copies.as_slice()) {
            // A name that stands for nothing was reported.
            (Some(of), _) if self.eval.names().get(&of.text, None).is_none() => None,
            (Some(of), [_, ..]) if !copies.contains(&of.text.as_str()) => {
                self.eval.report(say::which_copy(name, &layer.name.text, Some(of), &copies, through))
            }
            (Some(of), [_, _, ..]) => Some(of_copy(&name.text, &of.text)),
            (None, [_, _, ..]) => self.eval.report(say::which_copy(name, &layer.name.text, None, &copies, through)),
            _ => Some(name.text.clone()),
        }
    }

    /// The place in the stack of the layer or copy that a field names.
    pub(super) fn place_named(&mut self, order: &Order<'_>, name: &str, span: Option<Span>) -> Option<usize> {
        if let Some(at) = order.layers.iter().position(|copy| copy.name().text == name) {
            return Some(at);
        }
        match (order.copies_of(name).as_slice(), span) {
            ([_], _) => order.layers.iter().position(|copy| copy.layer.text == name),
            (copies @ [_, _, ..], Some(span)) => {
                self.eval.report(say::which_copy(&Name { text: name.to_owned(), span }, name, None, copies, false))
            }
            _ => self.eval.report(say::not_in_stack(name, span)),
        }
    }
}
