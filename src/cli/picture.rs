//! A picture that a verb writes beside what it prints.

use std::path::Path;

use super::disk::put;
use crate::output::stops;

/// A picture to be written, an SVG or a PNG by the ending of its name.
pub(super) struct Picture<'a> {
    path: &'a Path,
    png: bool,
}

impl<'a> Picture<'a> {
    /// The picture of this name.
    pub(super) fn named(path: &'a Path) -> Result<Self, String> {
        let ending = path.extension().map(|ending| ending.to_ascii_lowercase());
        match ending.as_ref().and_then(|ending| ending.to_str()) {
            Some("svg") => Ok(Self { path, png: false }),
            Some("png") => Ok(Self { path, png: true }),
            _ => Err(format!("`{}` is no picture that can be drawn: end its name in .svg or .png", path.display())),
        }
    }

    /// Writes a sheet that was drawn as SVG.
    pub(super) fn write(&self, sheet: String) -> Result<&'a Path, String> {
        let failed = |why: String| format!("`{}` cannot be written: {why}", self.path.display());
        let bytes = if self.png { stops::png(&sheet).map_err(failed)? } else { sheet.into_bytes() };
        put(self.path, &bytes).map_err(|error| failed(error.to_string()))?;
        Ok(self.path)
    }
}
