//! How the shop wants its drawings, from its block.

use super::likely::Figure;
use super::reader::Reader;
use crate::check::evaluate::Evaluator;
use crate::check::findings::dial as say;
use crate::design::Palette;
use crate::syntax::tree::Thing;
use crate::units::Length;
use crate::vocabulary::blocks::fields;
use crate::vocabulary::choices::{FilesWord, HiddenWord};

/// Colours and lines of the shop's drawings.
pub(super) fn palette<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Palette> {
    use fields::Drawing as Of;
    let fields = &mut Reader::of(eval, thing);
    let usual = Palette::default();
    let cut = fields.own_colour(Of::Cut);
    let hidden = fields.fields.word(Of::Construction).and_then(HiddenWord::of_word).is_some();
    let line = fields.positive(Of::Line)?.and_then(Length::from_quantity);
    let palette = Palette {
        cut_outline: cut.unwrap_or(usual.cut_outline),
        cut_opening: fields.own_colour(Of::Openings).or(cut).unwrap_or(usual.cut_opening),
        score: fields.colour(Of::Score)?,
        engrave: fields.colour(Of::Engrave)?,
        pocket: fields.colour(Of::Pocket)?,
        construction: if hidden { None } else { Some(fields.colour(Of::Construction)?) },
        line: line.unwrap_or(usual.line),
        files: fields.fields.word(Of::Files).and_then(FilesWord::of_word).unwrap_or(usual.files),
    };
    fields.doubt_length(Figure::Line, &thing.name.text, Of::Line, line);
    // In a file of its own no work is taken for another.
    if palette.files == FilesWord::Setup {
        drawn_alike(fields, &palette);
    }
    Some(palette)
}

/// Tells of the first two works that a machine which goes by colour could not tell apart.
fn drawn_alike(fields: &mut Reader<'_, '_, fields::Drawing>, palette: &Palette) {
    use fields::Drawing as Of;
    let works = [
        (Of::Cut, Some(palette.cut_outline)),
        (Of::Openings, Some(palette.cut_opening)),
        (Of::Score, Some(palette.score)),
        (Of::Engrave, Some(palette.engrave)),
        (Of::Pocket, Some(palette.pocket)),
        (Of::Construction, palette.construction),
    ];
    let pairs = works.iter().enumerate().flat_map(|(at, one)| works.iter().skip(at + 1).map(move |other| (one, other)));
    // Openings and outlines are both cut.
    let alike = pairs.filter(|((one, _), (other, _))| (*one, *other) != (Of::Cut, Of::Openings));
    let mut alike = alike.filter_map(|(one, other)| Some((one.0, other.0, one.1.filter(|_| one.1 == other.1)?)));
    let Some((one, other, colour)) = alike.next() else { return };
    if let Some(place) = fields.place(other).or_else(|| fields.place(one)) {
        fields.eval.problems.push(say::drawn_alike(one.word(), other.word(), colour, place));
    }
}
