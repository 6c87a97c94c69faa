//! Who is named on what is printed, from the blocks `client` and `maker`, which have the same fields.

use super::reader::Reader;
use crate::check::evaluate::Evaluator;
use crate::design::Party;
use crate::syntax::tree::Thing;
use crate::vocabulary::blocks::{FieldName, fields};

pub(super) fn client<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Party> {
    party(eval, thing, fields::Client::Name, fields::Client::Logo)
}

pub(super) fn maker<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Party> {
    party(eval, thing, fields::Maker::Name, fields::Maker::Logo)
}

fn party<'t, F: FieldName>(eval: &mut Evaluator<'t>, thing: &'t Thing, name: F, logo: F) -> Option<Party> {
    let fields = &mut Reader::of(eval, thing);
    let said = fields.text(name);
    let drawn = match fields.fields.expr(logo) {
        None => None,
        Some(expr) => Some(fields.eval.region(expr)?),
    };
    // One line, whatever stands in it: it stands in lines of what is printed, and must not make others.
    let name = said?.replace(['\n', '\r', '\u{2028}', '\u{2029}'], " ");
    Some(Party { name, logo: drawn.filter(|region| !region.is_empty()) })
}
