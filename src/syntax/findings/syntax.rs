//! What is wrong with the text of a file.

use crate::diagnostics::{Diagnostic, Finding};
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::Name;
use crate::units::plain;

/// How the end of an item is called.
pub const END_OF_LINE: &str = "the end of the line";

/// The user's text in backticks, cut where it is long and shown on one line.
pub(super) fn quoted(text: &str) -> String {
    const LONGEST: usize = 40;
    let line = text.split(['\n', '\r']).next().unwrap_or("").trim_end();
    let cut: String = line.chars().take(LONGEST).collect();
    let more = if cut.len() < text.trim_end().len() { " …" } else { "" };
    if cut.contains('`') { format!("'{cut}{more}'") } else { format!("`{cut}{more}`") }
}

/// A value without a word stands after one that has its word.
pub fn argument_order(value: Span, written: &str, word: &Name) -> Diagnostic {
    let message = format!("{} has no word before it, but stands after `{}:`", quoted(written), word.text);
    Diagnostic::error(Finding::ArgumentOrder, message)
        .label(value, "which value is this?")
        .label(word.span, "from here on, every value has its word")
        .help("put its word and a colon before it, as in `width: 15mm`, or move it in front of the values with words")
}

/// A colour that is not `#` and six hex digits.
pub fn bad_colour(span: Span, written: &str) -> Diagnostic {
    let found = Diagnostic::error(Finding::BadColour, format!("{} is no colour", quoted(written)))
        .label(span, "`#` and six digits from 0 to 9 and a to f");
    let digits: Vec<char> = written.chars().skip(1).collect();
    if digits.len() == 3 && digits.iter().all(char::is_ascii_hexdigit) {
        let long: String = digits.iter().flat_map(|digit| [*digit, *digit]).collect();
        return found.help(format!("write every digit twice: `#{long}`")).mend(span, format!("#{long}"));
    }
    found.help("a colour is two digits each for red, green and blue, such as `#c8a06e`")
}

/// A `{` in a text that begins no value; `rest` is what stands behind it on its line.
pub fn brace_in_text(span: Span, rest: &str) -> Diagnostic {
    let (label, sign) = match rest.find('}') {
        Some(0) => ("nothing stands between the braces", true),
        Some(_) if rest.starts_with('{') => ("one brace is enough", false),
        Some(_) => ("a quote, a brace or a remark stands before its `}`", false),
        None => ("no `}` closes it on this line", true),
    };
    let found = Diagnostic::error(Finding::BraceInText, "a `{` in a text begins a value, and none can be read here")
        .label(span, label)
        .help(
            "a value is written `{who}`, without quotes, braces and remarks: name it with `let` where it needs them; \
             write `\\{` for the sign itself",
        );
    // Where no `}` closes it, or closes it at once, nothing else can have been meant.
    if sign { found.mend(span, "\\{") } else { found }
}

/// A value in a text that is read before there are values.
pub fn value_too_soon(span: Span, written: &str) -> Diagnostic {
    let message = format!("{} stands in a text that is read before any value", quoted(written));
    Diagnostic::error(Finding::ValueTooSoon, message).label(span, "nothing is put in here").help(
        "names of files, shops and typefaces, and notes and reasons, hold no values; write `\\{` for the sign itself",
    )
}

/// A number in a text that is written with leading zeros.
pub fn zeros_in_text(span: Span, written: &str, shown: &str) -> Diagnostic {
    Diagnostic::warning(Finding::LeadingZero, format!("{} is a number and is shown as `{shown}`", quoted(written)))
        .label(span, "numbers keep no leading zeros")
        .help(format!("write `digits({shown}, {})`, or the number without braces", written.len()))
        .mend(span, format!("digits({shown}, {})", written.len()))
}

/// A backslash that begins none of the escapes.
pub fn bad_escape(span: Span, written: &str) -> Diagnostic {
    let (message, label, help) = if written.starts_with("\\u") {
        (
            format!("{} names no letter", quoted(written)),
            "no letter has this number",
            "write the letter's number in one to six hex digits between braces, such as `\\u{2014}`",
        )
    } else {
        (
            format!("{} means nothing inside a text", quoted(written)),
            "not one of the five escapes",
            "write `\\\\` for a backslash, `\\\"` for a quote, `\\{` for a brace, `\\n` for a new line, `\\u{2014}` for a \
             letter by its number",
        )
    };
    Diagnostic::error(Finding::BadEscape, message).label(span, label).help(help)
}

/// A closing bracket without its opener, or with another one's.
pub fn bracket_mismatch(close: Span, sign: &str, open: Option<(Span, &str)>) -> Diagnostic {
    match open {
        Some((span, opener)) => {
            let wanted = closer(opener);
            Diagnostic::error(Finding::BracketMismatch, format!("`{opener}` is closed by `{sign}`"))
                .label(close, format!("`{wanted}` is expected here"))
                .label(span, "opened here")
                .help(format!("close `{opener}` with `{wanted}`"))
        }
        None => Diagnostic::error(Finding::BracketMismatch, format!("`{sign}` closes nothing"))
            .label(close, "no bracket is open here")
            .help(format!("take the `{sign}` away, or open its bracket before it")),
    }
}

/// A bracket that is never closed.
pub fn unclosed_bracket(open: Span, sign: &str, end: Span) -> Diagnostic {
    let wanted = closer(sign);
    Diagnostic::error(Finding::BracketMismatch, format!("`{sign}` is never closed"))
        .label(open, "opened here")
        .label(end, format!("the item ends here, without `{wanted}`"))
        .help(format!("close it with `{wanted}`; inside brackets, a line goes on after a comma"))
}

fn closer(opener: &str) -> &'static str {
    match opener {
        "(" => ")",
        "[" => "]",
        _ => "}",
    }
}

/// The opening brace of a block stands on a line of its own.
pub fn brace_apart(brace: Span, gap: Span) -> Diagnostic {
    Diagnostic::error(Finding::BraceApart, "the `{` of a block stands on the line after its item")
        .label(brace, "this brace")
        .help("an item ends with its line: put the `{` at the end of the line above")
        .mend(gap, " ")
}

/// A decimal comma.
pub fn decimal_comma(number: Span, written: &str, comma: Span) -> Diagnostic {
    let point = written.replacen(',', ".", 1);
    let found = Diagnostic::error(Finding::DecimalComma, format!("{} is written with a comma", quoted(written)))
        .label(number, "a comma parts two values");
    // Three digits behind it may be thousands: what was meant is not certain.
    let digits = written.split(',').nth(1).unwrap_or("").chars().take_while(char::is_ascii_digit).count();
    if digits == 3 {
        let thousands = written.replacen(',', "", 1);
        return found
            .help(format!("write `{thousands}` if it parts the thousands, `{point}` if it is a decimal comma"));
    }
    found.help(format!("write a point: `{point}`")).mend(comma, ".")
}

/// A file in which nothing stands.
pub fn empty_file(at: Span) -> Diagnostic {
    Diagnostic::error(Finding::EmptyFile, "there is nothing in this file yet")
        .label(at, "")
        .help("begin with the dial's name, such as `dial \"Points, 0 to 9\"`; a shop file begins with `shop \"Bench\"`")
}

/// A closing brace too many.
pub fn extra_brace(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ExtraBrace, "this `}` closes nothing")
        .label(span, "no block is open here")
        .help("take it away, or look above for a block that was closed too early")
}

/// `:` where a binding has `=`.
pub fn colon_for_equals(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EqualsSign, "a name takes its value after `=`, not after `:`")
        .label(span, "`=` is expected here")
        .help("write `across = 58mm`; the colon is for the words inside a call, as in `circle(diameter: 60mm)`")
        .mend(span, "=")
}

/// No `=` after the name.
pub fn missing_equals(gap: Span, next: Span) -> Diagnostic {
    Diagnostic::error(Finding::EqualsSign, "`=` is missing between a name and its value")
        .label(next, "the value begins here")
        .help("write `=` between the two, as in `across = 58mm`")
        .mend(gap, " =")
}

/// `=` after one of our own words.
pub fn field_with_equals(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EqualsSign, "`=` stands after a word of the language")
        .label(span, "no `=` here")
        .help("only names of your own take `=`; a field is its word and its value, as in `height 8mm`")
        .mend(span, "")
}

/// `=` in a call.
pub fn argument_with_equals(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EqualsSign, "a word inside a call takes `:`, not `=`")
        .label(span, "`:` is expected here")
        .help("write `circle(diameter: 60mm)`")
        .mend(span, ":")
}

/// A layer that does not say what it is cut from.
pub fn layer_without_stock(name: &Name) -> Diagnostic {
    Diagnostic::error(
        Finding::LayerWithoutStock,
        format!("layer {} does not say what it is cut from", quoted(&name.text)),
    )
    .label(name.span, "of which stock?")
    .help(format!("name the stock after `of`, such as `layer {} of birch {{`", name.text))
}

/// A number that begins with its point.
pub fn leading_dot(span: Span, written: &str) -> Diagnostic {
    Diagnostic::error(Finding::LeadingDot, format!("{} begins with its point", quoted(written)))
        .label(span, "a number begins with a digit")
        .help(format!("write `0{written}`"))
        .mend(Span { end: span.start, ..span }, "0")
}

/// A block without its closing brace.
pub fn missing_brace(open: Span, end: Span) -> Diagnostic {
    Diagnostic::error(Finding::MissingBrace, "a block is not closed")
        .label(open, "opened here")
        .label(end, "`}` is missing before this place")
        .help("write `}` where the block should end")
}

/// One word or sign that is left out.
pub fn missing_piece(gap: Span, piece: &str, before: &str, inserted: &str) -> Diagnostic {
    Diagnostic::error(Finding::MissingPiece, format!("`{piece}` is missing after {}", quoted(before)))
        .label(gap, format!("`{piece}` is expected here"))
        .help(format!("write `{before}{inserted}`"))
        .mend(gap, inserted)
}

/// An item that ends before it is whole.
pub fn missing_value(last: Span, item: &str, expected: &str) -> Diagnostic {
    Diagnostic::error(Finding::MissingValue, format!("{} stops short", quoted(item)))
        .label(last, format!("after this, {expected} is expected"))
        .help(format!("add {expected}; a line goes on only inside brackets, and after a comma, `=` or an operator"))
}

/// A word that is nearly one of ours, which is certain enough to be mended, or someone else's for the same thing.
pub fn misspelt_word(span: Span, word: &str, ours: &str, certain: bool) -> Diagnostic {
    let found = Diagnostic::error(Finding::MisspeltWord, format!("{} is no word of the language here", quoted(word)))
        .label(span, format!("did you mean `{ours}`?"))
        .help(format!("write `{ours}`"));
    if certain { found.mend(span, ours) } else { found }
}

/// Text between the word of a block and its brace.
pub fn nameless_block(span: Span, text: &str, word: &str) -> Diagnostic {
    Diagnostic::error(Finding::UnexpectedText, format!("{} stands between `{word}` and its `{{`", quoted(text)))
        .label(span, "nothing stands here")
        .help(format!("write `{word} {{`: there is just one, and it has no name"))
}

/// A fraction whose upper number is not the smaller one.
pub fn odd_fraction(span: Span, written: &str, (whole, over, under): (f64, f64, f64), unit: &str) -> Diagnostic {
    let found =
        Diagnostic::error(Finding::OddFraction, format!("the fraction in {} is not less than one", quoted(written)))
            .label(span, format!("{} is not less than {}", plain(over, 0), plain(under, 0)));
    if under <= 0.0 || whole + over > 1e9 {
        return found.help("the number under the slash must be the larger one, as in `1/8in`");
    }
    let (whole, rest) = (whole + (over / under).floor(), over % under);
    let mended = if rest > 0.0 {
        format!("{} {}/{}{unit}", plain(whole, 0), plain(rest, 0), plain(under, 0))
    } else {
        format!("{}{unit}", plain(whole, 0))
    };
    found.help(format!("write `{mended}`; for a division, put blanks round the slash")).mend(span, mended)
}

/// One of the language's words as a name.
pub fn reserved_word(span: Span, word: &str) -> Diagnostic {
    Diagnostic::error(Finding::ReservedWord, format!("`{word}` is a word of the language and cannot be a name"))
        .label(span, "a name is expected here")
        .help(format!("choose another name, such as `{word}_1` or `my_{word}`"))
}

/// A layer that is named like the joint.
pub fn layer_named_glue(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReservedWord, "a layer cannot be named `glue`")
        .label(span, "in the stack, `glue` joins two layers")
        .help("choose another name for the layer, such as `glue_1`")
}

/// Brackets within brackets within brackets.
pub fn too_deep(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::TooDeep, format!("brackets nest deeper than {}", limits::NESTING))
        .label(span, format!("this bracket lies {} deep", limits::NESTING + 1))
        .help("name the inner parts with `let` and use the names; look also for a bracket that is never closed")
}

/// An expression with too many operators.
pub fn too_long(span: Span) -> Diagnostic {
    let message = format!("more than {} values are joined in one expression", limits::EXPRESSION_DEPTH);
    Diagnostic::error(Finding::TooDeep, message)
        .label(Span { end: span.start + 1, ..span }, "the expression begins here")
        .help("name parts of it with `let` and join the names, or make a list of them")
}

/// Two items on one line.
pub fn two_items(gap: Span, second: Span) -> Diagnostic {
    Diagnostic::error(Finding::TwoItemsOnALine, "two items stand on one line with nothing between them")
        .label(second, "the second one begins here")
        .help("put `;` between them, or begin a new line")
        .mend(gap, ";")
}

/// Quotes that a word processor has curled.
pub fn typographic_quote(span: Span, open: char, value: &str, written: &str) -> Diagnostic {
    let straight = format!("\"{}\"", value.replace('\\', "\\\\"));
    Diagnostic::error(Finding::TypographicQuote, format!("{} stands in quotes of another kind", quoted(written)))
        .label(span, format!("`{open}` is no quote of the language"))
        .help(format!("write straight double quotes: {}", quoted(&straight)))
        .mend(span, straight)
}

/// Comparisons that point both ways.
pub fn unclear_comparison(span: Span, sign: &str, first: Span) -> Diagnostic {
    Diagnostic::error(Finding::UnclearComparison, "comparisons in a row do not point the same way")
        .label(span, format!("`{sign}` here"))
        .label(first, "and this one before it")
        .help("write them apart with `and` between, as in `a < b and c < b`; a row such as `2N < x < 9N` goes one way")
}

/// `within` beside `plus` or `less`.
pub fn unclear_order(within: Span, other: Span, word: &str) -> Diagnostic {
    Diagnostic::error(Finding::UnclearOrder, format!("`within` and `{word}` stand side by side without brackets"))
        .label(within, "does this come first …")
        .label(other, "… or this?")
        .help(format!("put brackets round what belongs together, as in `(a {word} b) within c`"))
}

/// A string that runs to the end of its line.
pub fn unclosed_text(span: Span, written: &str) -> Diagnostic {
    let curled = written.contains(['”', '“', '„', '’', '‘']);
    let help = if curled {
        "close it with a straight double quote `\"`; curled quotes are letters like any other"
    } else {
        "close it with `\"` on the same line; write `\\n` for a new line inside a text"
    };
    Diagnostic::error(Finding::UnclosedText, "a text is not closed before its line ends")
        .label(span, "the text begins here")
        .help(help)
}

/// Something that does not belong there.
pub fn unexpected_text(span: Span, written: &str, expected: &str) -> Diagnostic {
    let found = if written.is_empty() { "the text".to_owned() } else { quoted(written) };
    let help = if expected == END_OF_LINE {
        "take it away, or begin a new item with `;` or a new line".to_owned()
    } else {
        format!("take it away, or write {expected} in its place")
    };
    Diagnostic::error(Finding::UnexpectedText, format!("{found} does not belong here"))
        .label(span, format!("expected {expected}"))
        .help(help)
}

/// A word that begins no item.
pub fn unknown_item(span: Span, word: &str, ours: Option<&str>, words: &[&str]) -> Diagnostic {
    let found = Diagnostic::error(Finding::UnknownItem, format!("{} begins no item here", quoted(word)));
    let flow = match word {
        "for" | "foreach" | "while" | "repeat" | "loop" | "do" => Some(
            "nothing is done again and again here: write `circle(diameter: 3mm) at polar(20mm, 0deg) repeated 6`, or a list, `[for n in 1 to 6: circle(radius: n * 1mm)]`",
        ),
        "if" | "else" | "elif" | "when" | "switch" | "case" => {
            Some("a choice is a value, as in `height if n > 6 then 3mm else 4mm`")
        }
        _ => None,
    };
    match (ours, flow) {
        (_, Some(flow)) => found.label(span, "not a word that begins an item").help(flow),
        (Some(ours), None) => found.label(span, format!("did you mean `{ours}`?")).help(match begun(ours) {
            Some(example) => format!("begin the item with `{ours}`, as in `{example}`"),
            None => format!("begin the item with `{ours}`"),
        }),
        (None, None) => {
            let words = words.iter().map(|word| if *word == "leave" { "leave out" } else { word });
            let words: Vec<&str> = words.collect();
            found
                .label(span, "not a word that begins an item")
                .help(format!("an item begins with one of {}", crate::diagnostics::listed(words.iter().copied(), "or")))
        }
    }
}

/// An item that begins with this word, as one might write it.
pub fn begun(word: &str) -> Option<&'static str> {
    Some(match word {
        "dial" => "dial \"Points, 0 to 9\"",
        "with" => "with \"shop.dial\"",
        "let" => "let grip = circle(diameter: 9mm)",
        "param" => "param across: length = 58mm",
        "outline" => "outline circle(diameter: 60mm)",
        "typeface" => "typeface \"DejaVu Serif\"",
        "layer" => "layer base of birch { … }",
        "stack" => "stack { base; turn on magnets(disc); cover }",
        "reads" => "reads points through peep",
        "slot" => "slot 62mm by 62mm by 8mm",
        "run" => "run 8",
        "expect" => "expect swept(cover) < 60mm",
        "turn" => "turn on magnets(disc)",
        "window" => "window peep = circle(diameter: 12mm)",
        "hole" => "hole circle(diameter: 4mm)",
        "pocket" => "pocket circle(diameter: 9mm) depth 1mm",
        "score" => "score circle(diameter: 50mm)",
        "engrave" => "engrave text(\"CREW\", height: 5mm)",
        "ring" => "engrave ring crew { labels 0 to 9 }",
        "each" => "each across in [46mm, 58mm]",
        "variant" => "variant small { across = 46mm }",
        "labels" => "labels 0 to 9",
        "flip" => "flip about 90deg",
        "back" => "back engrave text(\"CREW\", height: 5mm)",
        "paint" => "paint circle(diameter: 56mm) colour #1d3b5a",
        "print" => "print circle(diameter: 56mm) colour #1d3b5a",
        "glue" => "glue pva",
        "stock" => "stock birch { thickness 3mm; board 305mm by 305mm }",
        "magnet" => "magnet disc { diameter 8mm; height 1.5mm; remanence 1.32T }",
        _ => return None,
    })
}
