//! A scan as light on its glass: one plane of it, in millimetres by the resolution that the file states.

use kurbo::{Point, Vec2};

/// One plane of a scan, and what its codes mean.
#[derive(Clone, Debug)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// A pixel's size as the file states it, mm.
    pub pixel: Vec2,
    /// Codes of 8 bits, row by row from the top.
    pub plane: Vec<u8>,
    /// All three colours of each.
    pixels: Vec<[u8; 3]>,
    /// Light of each code, 0 to 1.
    light: Vec<f32>,
}

impl Picture {
    /// Of colours: the blue of each pixel, in which wood, char and lid stand farthest apart; of a lossy file luma, because its
    /// colours are kept at half the resolution.
    pub fn of(size: (usize, usize), pixels: Vec<[u8; 3]>, pixel: Vec2, lossy: bool) -> Self {
        let luma = |[r, g, b]: [u8; 3]| {
            // ITU-T T.871, clause 7, in thousandths.
            let sum = 299 * u32::from(r) + 587 * u32::from(g) + 114 * u32::from(b);
            u8::try_from((sum + 500) / 1000).unwrap_or(255)
        };
        let plane = pixels.iter().map(|it| if lossy { luma(*it) } else { it[2] }).collect();
        let light = (0..=255).map(|code| light_of(f64::from(code)) as f32).collect();
        Self { width: size.0, height: size.1, pixel, plane, pixels, light }
    }

    /// The glass in mm, across and down.
    pub fn extent(&self) -> Vec2 {
        Vec2::new(self.width as f64 * self.pixel.x, self.height as f64 * self.pixel.y)
    }

    fn light_of(&self, code: u8) -> f64 {
        f64::from(self.light.get(usize::from(code)).copied().unwrap_or(0.0))
    }

    /// The light at a place of the glass (mm, x right, y up, its upper left corner at the origin), between pixels by the four
    /// nearest; none beyond the middles of the outermost.
    pub fn at(&self, place: Point) -> Option<f64> {
        self.between(place, |at| self.light_of(self.plane.get(at).copied().unwrap_or(0)))
    }

    /// The same for the luminance of its colours (IEC 61966-2-1), by which contrast is told.
    pub fn luminance(&self, place: Point) -> Option<f64> {
        self.between(place, |at| {
            let [red, green, blue] = self.pixels.get(at).copied().unwrap_or_default().map(|code| self.light_of(code));
            0.2126 * red + 0.7152 * green + 0.0722 * blue
        })
    }

    fn between(&self, place: Point, light: impl Fn(usize) -> f64) -> Option<f64> {
        let (x, y) = (place.x / self.pixel.x - 0.5, -place.y / self.pixel.y - 0.5);
        if !(x >= 0.0 && y >= 0.0 && x < self.width as f64 - 1.0 && y < self.height as f64 - 1.0) {
            return None;
        }
        let (column, row) = (x as usize, y as usize);
        let (across, down) = (x - column as f64, y - row as f64);
        let of_row = |row: usize| {
            let first = row * self.width + column;
            light(first) * (1.0 - across) + light(first + 1) * across
        };
        Some(of_row(row) * (1.0 - down) + of_row(row + 1) * down)
    }
}

/// The light of a code of 8 bits (IEC 61966-2-1).
pub(super) fn light_of(code: f64) -> f64 {
    let c = code / 255.0;
    if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
}
