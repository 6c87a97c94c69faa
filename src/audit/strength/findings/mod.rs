//! What is said of the strength of parts.

mod depths;
mod marks;
mod raised;
mod seats;
mod webs;

pub(super) use depths::*;
pub(super) use marks::*;
pub(super) use raised::*;
pub(super) use seats::*;
pub(super) use webs::*;

use kurbo::Point;

use crate::units::plain;

fn point(at: Point) -> String {
    format!("({}mm, {}mm)", plain(at.x, 2), plain(at.y, 2))
}

/// Of several, the others than the one that is told.
fn like_it(count: usize) -> String {
    match count {
        1 => String::new(),
        2 => "; one more is like it".to_owned(),
        count => format!("; {} more are like it", count - 1),
    }
}
