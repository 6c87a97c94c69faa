//! What was measured, as fields of a shop file.

use super::told::{EdgeBy, Measured, StockTold};
use crate::coupon::{Workshop, written};
use crate::diagnostics::Edit;
use crate::format::tidied;
use crate::source::Span;
use crate::units::plain;

/// A field of a block: the block's kind and name, the field's word, its value, and what is said beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// `stock` or `spreads`.
    pub kind: &'static str,
    /// The block's name.
    pub name: String,
    /// The field.
    pub word: &'static str,
    /// Its value as the language takes it.
    pub value: String,
    /// How sure it is.
    pub note: String,
}

/// The fields that were measured. A kerf is among them only where a calliper has proven where edges are. `spreads` is what a shop's
/// block of spreads is called.
pub fn fields(measured: &Measured, spreads: &str) -> Vec<Field> {
    let mut fields = Vec::new();
    if measured.edge == EdgeBy::Calliper {
        fields.extend(measured.stocks.iter().map(|stock| kerf(measured, stock)));
    }
    let spread = |word, deviation: f64, [low, high]: [f64; 2], of: String| Field {
        kind: "spreads",
        name: spreads.to_owned(),
        word,
        value: format!("{}mm", plain(deviation, 3)),
        note: format!("{of}; 95 %: {}mm to {}mm", plain(low, 3), plain(high, 3)),
    };
    let most = measured.stocks.iter().max_by_key(|stock| stock.kerf.count);
    fields.extend(most.and_then(|stock| {
        let kerf = &stock.kerf;
        let of = format!("{} parts of {}", kerf.count, stock.stock);
        Some(spread("kerf", kerf.deviation_mm?, kerf.deviation_from_to_mm?, of))
    }));
    fields.extend(measured.pockets.as_ref().and_then(|it| {
        let of = format!("{} readings of pockets", it.count);
        Some(spread("concentricity", it.deviation_mm?, it.deviation_from_to_mm?, of))
    }));
    fields
}

fn kerf(measured: &Measured, stock: &StockTold) -> Field {
    let own = measured.parts.iter().filter(|part| part.stock == stock.stock);
    let readings: Vec<String> = own.map(|part| format!("{}mm", plain(part.kerf_mm, 3))).collect();
    let spread = stock.kerf.plus_minus_mm.unwrap_or(0.0);
    let note = format!(
        "{} parts scanned, one by calliper: {}mm ± {}mm",
        readings.len(),
        plain(stock.kerf.mean_mm, 3),
        plain(spread.hypot(super::EDGE_PROVEN), 3)
    );
    Field { kind: "stock", name: stock.stock.clone(), word: "kerf", value: format!("[{}]", readings.join(", ")), note }
}

/// The blocks of a shop file, ready to paste: what was measured, and of a shop that is given its other fields.
pub fn block(measured: &Measured, shop: Option<&Workshop>) -> String {
    let name = spreads_name(shop);
    let fields = fields(measured, &name);
    let mut text = String::from("// Measured on scans of finished parts by `dialwright measure`.\n");
    if measured.edge == EdgeBy::Scan {
        for stock in &measured.stocks {
            text.push_str(&format!(
                "// Kerf in {}: {}mm on the scale of this laser, its edge unproven: read one part by calliper, and give `--known`.\n",
                stock.stock,
                plain(stock.kerf.mean_mm, 3)
            ));
        }
    }
    let mut blocks: Vec<(&str, &str)> = fields.iter().map(|field| (field.kind, field.name.as_str())).collect();
    blocks.dedup();
    for (kind, name) in blocks {
        let own = fields.iter().filter(|field| field.kind == kind && field.name == name);
        let lines = own.map(|field| (field.word, field.value.clone(), field.note.clone())).collect();
        text.push_str(&written(kind, name, lines, shop));
    }
    tidied("measured.dial", &text).unwrap_or(text)
}

/// What the shop calls its block of spreads.
fn spreads_name(shop: Option<&Workshop>) -> String {
    let block = shop.and_then(|shop| shop.blocks.iter().find(|block| block.kind.text == "spreads"));
    block.map_or_else(|| "usual".to_owned(), |block| block.name.text.clone())
}

/// The edits that put what was measured into a shop's own files; all else in them stays as it is.
///
/// # Errors
/// A stock that the shop does not have, or that nothing was measured that could be written.
pub fn edits(measured: &Measured, shop: &Workshop) -> Result<Vec<Edit>, String> {
    let fields = fields(measured, &spreads_name(Some(shop)));
    let mut edits = Vec::new();
    let mut fresh: Vec<&Field> = Vec::new();
    for field in &fields {
        let block = shop.blocks.iter().find(|block| block.kind.text == field.kind && block.name.text == field.name);
        let line = format!("{} {}", field.word, field.value);
        match (block, block.and_then(|block| block.fields.iter().find(|it| it.name.text == field.word))) {
            (_, Some(former)) => edits.push(Edit { span: former.span, text: line }),
            (Some(block), None) => {
                let end = block.span.range().end.saturating_sub(1);
                edits.push(Edit {
                    span: Span::new(block.span.source, end..end),
                    text: format!("  {line}  // {}\n", field.note),
                });
            }
            (None, None) if field.kind == "spreads" => fresh.push(field),
            (None, None) => return Err(format!("the shop has no stock `{}`", field.name)),
        }
    }
    let last = shop.blocks.iter().max_by_key(|block| block.span);
    if let (Some(last), Some(first)) = (last, fresh.first()) {
        let lines: String = fresh.iter().map(|it| format!("  {} {}  // {}\n", it.word, it.value, it.note)).collect();
        let end = last.span.range().end;
        let text = format!("\n\nspreads {} {{\n{lines}}}", first.name);
        edits.push(Edit { span: Span::new(last.span.source, end..end), text });
    }
    if edits.is_empty() {
        return Err("nothing was measured that could be written: a kerf wants `--known`, a spread three parts or more"
            .to_owned());
    }
    Ok(edits)
}
