//! How the shop wants its drawings: the colours by which its machine tells one work from another, and its lines.

use super::Tone;
use crate::units::Length;
use crate::vocabulary::choices::FilesWord;
use crate::vocabulary::usual;

/// The colour of each kind of operation, sRGB, and the strokes of all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Palette {
    /// Outlines, and holders for turned parts.
    pub cut_outline: Tone,
    /// Openings.
    pub cut_opening: Tone,
    /// Scored lines.
    pub score: Tone,
    /// Engraving as dark as the stock goes; lighter tones are mixed with white.
    pub engrave: Tone,
    /// Pockets.
    pub pocket: Tone,
    /// Nothing is done here: the board's edge. None where it is not drawn.
    pub construction: Option<Tone>,
    /// Width of every stroke.
    pub line: Length,
    /// Of what a file of its own is written.
    pub files: FilesWord,
}

impl Palette {
    /// For paper in black and white: what is cut is black, all else is told apart by its grey.
    pub fn print() -> Self {
        Self {
            cut_outline: [0x00; 3],
            cut_opening: [0x00; 3],
            score: [0x60; 3],
            engrave: [0xa0; 3],
            pocket: [0xd0; 3],
            construction: Some([0x80; 3]),
            line: usual::LINE,
            files: FilesWord::DEFAULT,
        }
    }
}

impl Default for Palette {
    fn default() -> Self {
        Self {
            cut_outline: usual::CUT,
            cut_opening: usual::OPENINGS,
            score: usual::SCORE,
            engrave: usual::ENGRAVE,
            pocket: usual::POCKET,
            construction: Some(usual::CONSTRUCTION),
            line: usual::LINE,
            files: FilesWord::DEFAULT,
        }
    }
}
