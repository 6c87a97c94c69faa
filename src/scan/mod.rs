//! Finished parts measured on a flatbed scanner: what was made against what was meant. Pure.
//!
//! ```text
//! operations.json ──rehearsal::meant──▶ layers ──identify──▶ faces
//! scan ──picture──▶ light ──blobs──▶ things on the glass ──identify──▶ parts that lie there
//!                     └──────edge, stations──▶ edges ──survey──▶ offsets of all works and the scanner's strain ──told──▶ measured.json
//! ```
//!
//! It knows a design only by its list of operations. A light lid shows the larger of both faces, as a callipers' jaws do. Kerf
//! moves rims and openings to opposite sides, so that both together are free of it and tell the scanner's scale by the laser's own.
//!
//! The scans that its figures were proven on are drawn by a synthetic scanner of the same hand (`tests/suite/scans`), whose
//! models match better than those of real ones will.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "pixels and stations are counted in millions, and places are held within the picture before they are cut to whole ones"
)]

mod blobs;
mod block;
mod canvas;
mod damage;
mod diary;
mod edge;
mod identify;
mod parts;
mod picture;
mod readings;
mod remarks;
mod sheet;
mod solve;
mod stations;
mod sum;
mod survey;
mod told;

pub use block::{Field, block, edits, fields};
pub use diary::{Diary, Line, diary};
pub use sheet::{diary_sheet, sheet};
pub use sum::least_width;
pub use told::*;

use crate::artwork::{ArtError, scanned};
use crate::limits::SCAN_PIXELS;
use crate::rehearsal::{Meant, MeantLayer};
use picture::Picture;
use survey::Survey;

/// What one reading of a calliper leaves of a mean kerf, mm: its own ± 0.01 mm either side, and how evenly parts are cut round
/// (common practice, no source).
pub(crate) const EDGE_PROVEN: f64 = 0.03;

/// A scan's file.
#[derive(Clone, Debug)]
pub struct ScanFile {
    /// What it is called.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A calliper's reading of a part that was scanned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// The part, as the picture numbers it.
    pub part: usize,
    /// Its least width between two parallel jaws, mm.
    pub width: f64,
}

/// A stretch of an edge, for pictures: where it was meant in the front frame (mm), and how far beyond that it was cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeFound {
    /// Its place.
    pub at: kurbo::Point,
    /// The direction beyond it, of length 1.
    pub normal: kurbo::Vec2,
    /// How far, mm.
    pub beyond: f64,
    /// Whether it is cut, and not burnt.
    pub cut: bool,
}

/// A run that was measured, with all edges of each of its parts.
#[derive(Clone, Debug)]
pub struct Run {
    /// What is told.
    pub measured: Measured,
    /// Of each part its layer among those that were meant, and its edges.
    pub edges: Vec<(usize, Vec<EdgeFound>)>,
}

/// What became of one scan.
struct Looked {
    told: ScanTold,
    survey: Survey,
    /// Of each part.
    damage: Vec<Vec<Damage>>,
}

/// Measures the parts on these scans.
///
/// # Errors
/// Why a scan cannot be read at all, in words: it is no picture, or states no resolution.
pub fn measure(meant: &Meant, scans: &[ScanFile], known: Option<Known>) -> Result<Run, String> {
    let layers = &meant.layers;
    let faces = identify::drawn(layers);
    let mut remarks = Vec::new();
    let mut looked = Vec::new();
    for scan in scans {
        let (picture, lossy) = read(scan)?;
        looked.push(look(&picture, (scan, lossy), layers, &faces, &mut remarks));
    }
    Ok(sum::run(meant, looked, known, remarks))
}

fn read(scan: &ScanFile) -> Result<(Picture, Option<f64>), String> {
    let read = scanned(&scan.bytes).map_err(|error| format!("`{}` cannot be read: {}", scan.name, why(&error)))?;
    let Some(pixel) = read.pixel else {
        return Err(format!(
            "`{}` states no resolution, without which nothing on it has a size: scan it anew, and save it by the scanner's own program",
            scan.name
        ));
    };
    Ok((Picture::of(read.size, read.pixels, pixel, read.lossy_step.is_some()), read.lossy_step))
}

fn why(error: &ArtError) -> String {
    match error {
        ArtError::Unreadable { why } => why.clone(),
        ArtError::TooManyPixels { width, height } => format!(
            "it has {width} by {height} pixels, and {SCAN_PIXELS} in all are allowed, A3 at 600 dots to the inch: scan at 300 or 600"
        ),
        other => format!("{other:?}"),
    }
}

fn look(
    picture: &Picture,
    (scan, lossy): (&ScanFile, Option<f64>),
    layers: &[MeantLayer],
    faces: &[identify::Drawn],
    remarks: &mut Vec<Remark>,
) -> Looked {
    let cells = blobs::Cells::of(picture);
    let lid = cells.lid();
    let light = picture::light_of(lid);
    let lying = parts::found((&cells, lid), (picture, &scan.name), layers, faces, remarks);
    let survey = survey::survey(picture, layers, lying, light).unwrap_or_default();
    let dots = |size: f64| (25.4 / size * 100.0).round() / 100.0;
    let soft = sum::median(survey.parts.iter().map(|part| part.soft).collect());
    let sure = survey.parts.iter().map(|part| part.within).fold(f64::INFINITY, f64::min);
    let told = ScanTold {
        file: scan.name.clone(),
        dpi: [dots(picture.pixel.x), dots(picture.pixel.y)],
        light_lid: light > survey::DARK,
        lossy: lossy.is_some(),
        scale: (sure < sum::SCALE_TOLD).then(|| [sum::to(survey.scale.0, 6), sum::to(survey.scale.1, 6)]),
        shear_deg: sum::to(survey.shear.to_degrees(), 4),
        carriage_mm: sum::to(survey.carriage, 4),
        one_way_mm: sum::to(survey.one_way, 4),
        soft_mm: sum::to(soft.unwrap_or(0.0), 4),
    };
    remarks::of_scan(&told, lossy, &survey, layers, remarks);
    let mut bare: Vec<((usize, bool), damage::Bare)> = Vec::new();
    let damage = survey.parts.iter().filter_map(|part| {
        let (face, layer) = ((part.lying.layer, part.lying.back), layers.get(part.lying.layer)?);
        if bare.iter().all(|(known, _)| *known != face) {
            bare.push((face, damage::Bare::of(layer, face.1)));
        }
        let (_, bare) = bare.iter().find(|(known, _)| *known == face)?;
        Some(damage::of(picture, layer, bare, part, light))
    });
    let damage = damage.collect();
    Looked { told, survey, damage }
}
