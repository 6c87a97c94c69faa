//! Which parts lie on the glass; what else lies there is told of.

use super::blobs::{self, Blob, Cells};
use super::identify::{Drawn, Likeness, looks_like};
use super::picture::Picture;
use super::survey::Lying;
use super::told::{Remark, RemarkKind};
use crate::diagnostics::counted;
use crate::rehearsal::MeantLayer;
use crate::units::plain;

/// Resolutions that scanners have, dots to the inch.
const USUAL: [f64; 10] = [75.0, 100.0, 150.0, 200.0, 240.0, 300.0, 400.0, 600.0, 1200.0, 2400.0];
/// What looks less like a face than this is taken for none; of 1 for what looks exactly like it.
const ALIKE: f64 = 0.6;
/// Of two faces one is told from the other where that lacks this much more of looking exactly like it.
const TOLD_APART: f64 = 1.35;
/// How much less of its convex hull something fills that is two parts which touch.
const HOLLOW: f64 = 0.04;
/// Areas that are all off by one factor in length, to within this, are of a resolution that is stated wrong.
const ONE_FACTOR: f64 = 0.02;

/// The parts on a scan.
pub(super) fn found(
    (cells, lid): (&Cells, f64),
    (picture, name): (&Picture, &str),
    layers: &[MeantLayer],
    faces: &[Drawn],
    remarks: &mut Vec<Remark>,
) -> Vec<Lying> {
    let least = faces.iter().map(|face| face.area).fold(f64::INFINITY, f64::min).min(1e6);
    // Far smaller than the smallest part: one that is scanned at half its resolution is told of, dust is not.
    let blobs = blobs::found(cells, lid, least * 0.05);
    let mut look =
        Look { name, layers, faces, remarks, lying: Vec::new(), strange: Vec::new(), mirrored: 0, either: 0 };
    for blob in &blobs {
        look.at(cells, lid, blob, least);
    }
    look.done(picture, blobs.is_empty())
}

struct Look<'a> {
    name: &'a str,
    layers: &'a [MeantLayer],
    faces: &'a [Drawn],
    remarks: &'a mut Vec<Remark>,
    lying: Vec<Lying>,
    /// What is no part, and by which factor it is larger than the face that it looks most like.
    strange: Vec<(Blob, Option<f64>)>,
    mirrored: usize,
    either: usize,
}

impl Look<'_> {
    fn remark(&mut self, kind: RemarkKind, says: String, help: &str) {
        self.remarks.push(Remark { kind, place: self.name.to_owned(), says, help: help.to_owned() });
    }

    fn face(&self, it: &Likeness) -> String {
        let face = self.faces.get(it.drawn);
        let layer = face.and_then(|face| self.layers.get(face.layer)).map_or("", |layer| layer.name.as_str());
        format!("the {} of `{layer}`", if face.is_some_and(|face| face.back) { "back" } else { "front" })
    }

    fn at(&mut self, cells: &Cells, lid: f64, blob: &Blob, least: f64) {
        let place = place_of(blob);
        if blob.cut_off {
            let says = format!("what lies {place} runs off the scan");
            return self.remark(RemarkKind::CutOff, says, "lay it farther in, and scan it anew");
        }
        let likely = looks_like(cells, lid, blob, self.faces, false);
        let is_seen_right = |it: &&Likeness| self.faces.get(it.drawn).is_some_and(|face| face.back == it.pose.mirrored);
        let best = likely.iter().find(is_seen_right).filter(|it| it.score >= ALIKE).cloned();
        let in_mirror = likely.iter().find(|it| !is_seen_right(it)).cloned();
        let Some(best) = best else {
            if in_mirror.is_some_and(|it| it.score >= ALIKE) {
                self.mirrored += 1;
                return;
            }
            let solid = self.faces.iter().map(|face| face.area / face.hull).fold(1.0, f64::min);
            if blob.area / blob.hull < solid - HOLLOW && blob.area > least {
                let says = format!("what lies {place} is {} mm² and bends inwards: parts touch", plain(blob.area, 0));
                return self.remark(RemarkKind::Touching, says, "lay them 2 mm apart or more, and scan them anew");
            }
            let free = looks_like(cells, lid, blob, self.faces, true);
            let scaled = free.iter().find(|it| it.score >= ALIKE).and_then(|it| self.faces.get(it.drawn));
            let factor = scaled.map(|face| (blob.area / face.area).sqrt());
            self.strange.push((blob.clone(), factor));
            return;
        };
        let lacks = |it: &Likeness| 1.0 - it.score + 1e-3;
        match in_mirror {
            Some(other) if lacks(&best) > TOLD_APART * lacks(&other) => self.mirrored += 1,
            Some(other) if other.drawn == best.drawn && lacks(&other) < TOLD_APART * lacks(&best) => self.either += 1,
            _ => {}
        }
        let rival = likely
            .iter()
            .filter(is_seen_right)
            .find(|it| it.drawn != best.drawn && lacks(it) < TOLD_APART * lacks(&best));
        if let Some(rival) = rival {
            let says = format!(
                "what lies {place} looks like {} and like {} ({} % and {} %)",
                self.face(&best),
                self.face(rival),
                plain(100.0 * best.score, 0),
                plain(100.0 * rival.score, 0)
            );
            let help = "it is measured as the first; where lettering is missing, or both are alike, lay only one kind on the glass";
            self.remark(RemarkKind::Ambiguous, says, help);
        }
        if let Some(face) = self.faces.get(best.drawn) {
            self.lying.push(Lying { layer: face.layer, back: face.back, pose: best.pose });
        }
    }

    fn done(mut self, picture: &Picture, is_empty: bool) -> Vec<Lying> {
        if is_empty {
            let says = "nothing lies on the glass that is darker or lighter than its rim".to_owned();
            self.remark(RemarkKind::Unknown, says, "leave the lid in view all round, and its light as it is");
        }
        let (all, mirrored) = (self.lying.len(), self.mirrored);
        if mirrored > 0 && mirrored * 2 >= all.max(1) {
            let says = format!(
                "{} seen as in a mirror",
                if mirrored == 1 { "1 part is".to_owned() } else { format!("{mirrored} parts are") }
            );
            self.remark(
                RemarkKind::Mirrored,
                says,
                "switch mirroring off in the scanner's program; nothing of this scan was measured",
            );
            return Vec::new();
        }
        if all > 0 && self.either == all {
            let says =
                "every part here looks alike in a mirror, so whether the scan is mirrored cannot be told".to_owned();
            self.remark(RemarkKind::EitherWay, says, "lay a part with lettering beside them to prove it");
        }
        let strange = std::mem::take(&mut self.strange);
        let factors: Vec<f64> = strange.iter().filter_map(|it| it.1).collect();
        let (low, high) = factors.iter().fold((f64::MAX, 0.0_f64), |(low, high), it| (low.min(*it), high.max(*it)));
        if all == 0 && !factors.is_empty() && high / low < 1.0 + ONE_FACTOR {
            let (factor, stated) = ((low * high).sqrt(), 25.4 / picture.pixel.x);
            let near = |dots: &&f64| (*dots / (stated * factor) - 1.0).abs() < 0.04;
            let fits = USUAL.iter().find(near).copied().unwrap_or(stated * factor);
            let says = format!(
                "{} {} times as large as meant: the scan says {} dots to the inch, and {} would fit",
                if factors.len() == 1 {
                    "the part is".to_owned()
                } else {
                    format!("all {} are", counted(factors.len(), "part"))
                },
                plain(factor, 3),
                plain(stated, 0),
                plain(fits, 0)
            );
            self.remark(RemarkKind::Resolution, says, "save the scan with the resolution that it was made at");
            return Vec::new();
        }
        for (blob, _) in &strange {
            let says = format!("what lies {}, {} mm², is no part of this design", place_of(blob), plain(blob.area, 0));
            self.remark(RemarkKind::Unknown, says, "take it off the glass, or name the folder of its own build");
        }
        self.lying
    }
}

fn place_of(blob: &Blob) -> String {
    format!("{} mm from the left and {} mm from the top", plain(blob.middle.x, 0), plain(-blob.middle.y, 0))
}
