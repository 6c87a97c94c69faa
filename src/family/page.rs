//! `family.html`: every variant that was made as it looks, all at true size, with the figures that people compare by.

use maud::{DOCTYPE, Markup, html};

use super::Record;
use super::table::{Comparison, columns_for_people, why_not};
use crate::design::pose::Pose;
use crate::design::{Design, Face};
use crate::diagnostics::{counted, harmless};
use crate::output::OutputFile;
use crate::output::markup::{Pictures, head};
use crate::portrait::stills;
use crate::units::plain;

const STYLE: &str = include_str!("page.css");
/// The picture of a variant, in its folder.
const FRONT: &str = "front.svg";
/// Pixels along the longer side of it.
const PIXELS: u32 = 480;
/// What stands below a picture; the table tells everything.
const TOLD: [&str; 5] = ["size, mm", "read right, %", "least margin, mm", "lift-off, N", "one dial"];

/// The front of a dial in its material as a picture of true size.
///
/// # Errors
/// Why it cannot be drawn, in words.
pub(super) fn front(design: &Design) -> Result<OutputFile, String> {
    let pose = Pose::at(design, &[]);
    // Variants are worked on side by side already.
    let drawn = stills(design, Face::Front, &[&pose], PIXELS, std::num::NonZeroUsize::MIN);
    let drawn = drawn.first().ok_or("it has no front")?;
    #[allow(clippy::cast_precision_loss, reason = "some hundred pixels")]
    let [wide, high] = [drawn.wide, drawn.high].map(|pixels| plain(pixels as f64 * f64::from(drawn.pixel_mm), 3));
    let picture = crate::output::markup::data_address("image/jpeg", &drawn.on([0xff; 3]).jpeg()?);
    // SVG 1.1 knows references by `xlink:href` alone.
    let text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"{wide}mm\" height=\"{high}mm\" viewBox=\"0 0 {wide} {high}\">\
         <image width=\"{wide}\" height=\"{high}\" preserveAspectRatio=\"none\" xlink:href=\"{picture}\"/></svg>\n"
    );
    Ok(OutputFile { name: FRONT.to_owned(), bytes: text.into_bytes() })
}

/// The page of a family.
pub(super) fn page(comparison: &Comparison<'_>) -> String {
    let columns = columns_for_people(comparison.records);
    let seen = |record: &Record| record.files.iter().any(|made| made.name == FRONT);
    let shown = comparison.records.iter().enumerate().filter(|(_, record)| seen(record));
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&format!("{}: all variants", comparison.title), STYLE, Pictures::Beside))
            body {
                header {
                    h1 { (comparison.title) }
                    p { (counted(comparison.records.len(), "variant")) ", all at true size" }
                }
                main {
                    ul.sheet { @for (at, record) in shown { li { (variant(at, record, &columns)) } } }
                    h2 { "All figures" }
                    (table(&columns))
                    @if comparison.records.iter().any(|record| why_not(record).is_some()) {
                        h2 { "Not made" }
                        ul { @for record in comparison.records { @if let Some(why) = why_not(record) {
                            li { bdi { (record.variant) } ": " (why) }
                        } } }
                    }
                }
            }
        }
    };
    harmless(&format!("{}\n", page.into_string())).into_owned()
}

fn variant(at: usize, record: &Record, columns: &[(String, Vec<String>)]) -> Markup {
    let told = columns.iter().filter(|(heading, _)| TOLD.contains(&heading.as_str()));
    let told = told.filter_map(|(heading, cells)| Some((heading, cells.get(at).filter(|cell| !cell.is_empty())?)));
    html! {
        figure {
            div tabindex="0" role="region" aria-label={ "Picture of " (record.variant) } {
                img src={ (record.variant) "/" (FRONT) } alt={ "The front of " (record.variant) };
            }
            figcaption {
                strong { bdi { (record.variant) } }
                dl { @for (heading, cell) in told { dt { (heading) } dd { (cell) } } }
            }
        }
    }
}

fn table(columns: &[(String, Vec<String>)]) -> Markup {
    let rows = columns.first().map_or(0, |(_, cells)| cells.len());
    html! {
        div.wide tabindex="0" role="region" aria-label="All figures" {
            table {
                thead { tr { @for (heading, _) in columns { th scope="col" { (heading) } } } }
                tbody { @for at in 0..rows { tr { @for (place, (_, cells)) in columns.iter().enumerate() {
                    @let cell = cells.get(at).map_or("", String::as_str);
                    @if place == 0 { th scope="row" { bdi { (cell) } } } @else { td { (cell) } }
                } } } }
            }
        }
    }
}
