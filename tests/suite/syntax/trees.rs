//! The trees of the important forms, written back with every bracket that the parser understood.

use super::parsed;
use dialwright::diagnostics::{Style, as_text};
use dialwright::source::Sources;
use dialwright::syntax::parse_expression;
use dialwright::syntax::tree::*;

/// An expression as a text that shows how it was understood.
fn shown(expr: &Expr) -> String {
    let list = |values: &[Expr]| values.iter().map(shown).collect::<Vec<_>>().join(", ");
    match &expr.kind {
        ExprKind::Number(Number { value, unit }) => format!("{value}{}", unit.map_or("", |unit| unit.name)),
        ExprKind::Text(text) => format!("{text:?}"),
        ExprKind::Filled(pieces) => {
            let piece = |piece: &TextPiece| match piece {
                TextPiece::Letters(letters) => format!("{letters:?}"),
                TextPiece::Value(value) => format!("{{{}}}", shown(value)),
            };
            format!("text({})", pieces.iter().map(piece).collect::<Vec<_>>().join(" "))
        }
        ExprKind::Colour([r, g, b]) => format!("#{r:02x}{g:02x}{b:02x}"),
        ExprKind::Truth(truth) => truth.to_string(),
        ExprKind::Name(name) => name.clone(),
        ExprKind::Call { function, arguments } => {
            let argument = |argument: &Argument| match &argument.name {
                Some(name) => format!("{}: {}", name.text, shown(&argument.value)),
                None => shown(&argument.value),
            };
            format!("{}({})", function.text, arguments.iter().map(argument).collect::<Vec<_>>().join(", "))
        }
        ExprKind::Group(inner) => format!("group {}", shown(inner)),
        ExprKind::Point(x, y) => format!("point({}, {})", shown(x), shown(y)),
        ExprKind::List(values) => format!("[{}]", list(values)),
        ExprKind::ForEach(walk) => {
            let condition = walk.condition.as_ref().map_or(String::new(), |value| format!(" where {}", shown(value)));
            format!("[for {} in {}{condition}: {}]", walk.variable.text, shown(&walk.list), shown(&walk.value))
        }
        ExprKind::Negate(inner) => format!("(-{})", shown(inner)),
        ExprKind::Arithmetic { operator, left, right, .. } => {
            format!("({} {operator:?} {})", shown(left), shown(right))
        }
        ExprKind::Placed { subject, placing, argument } => {
            format!("({} {placing:?} {})", shown(subject), shown(argument))
        }
        ExprKind::Combined { combining, left, right } => format!("({} {combining:?} {})", shown(left), shown(right)),
        ExprKind::Range { from, to, by } => {
            let by = by.as_ref().map_or(String::new(), |by| format!(" by {}", shown(by)));
            format!("({} to {}{by})", shown(from), shown(to))
        }
        ExprKind::Compare { first, rest } => {
            let rest: Vec<String> = rest.iter().map(|(sign, value)| format!(" {sign:?} {}", shown(value))).collect();
            format!("({}{})", shown(first), rest.concat())
        }
        ExprKind::Not(inner) => format!("(not {})", shown(inner)),
        ExprKind::Logic { operator, left, right } => format!("({} {operator:?} {})", shown(left), shown(right)),
        ExprKind::If { condition, then, otherwise } => {
            format!("(if {} then {} else {})", shown(condition), shown(then), shown(otherwise))
        }
        ExprKind::Broken => "broken".to_owned(),
    }
}

/// How an expression is understood; it must be faultless.
fn read(text: &str) -> String {
    let mut sources = Sources::default();
    let id = sources.add("expression", text);
    let (value, problems) = parse_expression(&sources, id);
    let problems = problems.into_sorted();
    assert!(problems.is_empty(), "{text}: {}", as_text(&problems, &sources, Style::Plain));
    shown(&value.unwrap())
}

#[test]
fn operators_bind_in_the_order_of_the_language() {
    let cases = [
        ("-a * b", "((-a) Multiply b)"),
        ("a + b * c - d / e", "((a Add (b Multiply c)) Subtract (d Divide e))"),
        ("a - b - c", "((a Subtract b) Subtract c)"),
        ("s at p + q", "(s At (p Add q))"),
        ("s turned 90deg at p", "((s Turned 90deg) At p)"),
        ("s at p turned 90deg", "((s At p) Turned 90deg)"),
        ("s mirrored about 0deg repeated 6", "((s Mirrored 0deg) Repeated 6)"),
        ("s scaled 2 rounded 1mm inset 2mm outset 3mm", "((((s Scaled 2) Rounded 1mm) Inset 2mm) Outset 3mm)"),
        ("body less peep at p", "(body Less (peep At p))"),
        ("a plus b less c", "((a Plus b) Less c)"),
        ("(a plus b) within c", "(group (a Plus b) Within c)"),
        ("a within b within c", "((a Within b) Within c)"),
        ("0 to seats - 1", "(0 to (seats Subtract 1))"),
        ("0 to 90 by 10 + 5", "(0 to 90 by (10 Add 5))"),
        ("2N < x < 9N", "(2N Less x Less 9N)"),
        ("a >= b > c", "(a AtLeast b Greater c)"),
        ("a is not b", "(a IsNot b)"),
        ("a is 1 to 3", "(a Is (1 to 3))"),
        ("not a is b and c or d", "(((not (a Is b)) And c) Or d)"),
        ("a or b and c", "(a Or (b And c))"),
        ("if n > 6 then 3mm else 4mm", "(if (n Greater 6) then 3mm else 4mm)"),
        ("if a then 1 else if b then 2 else 3", "(if a then 1 else (if b then 2 else 3))"),
        ("[for r in a where r > 1: f(r, to: r)]", "[for r in a where (r Greater 1): f(r, to: r)]"),
        ("f((a, b), [c, d,], x: 1,)", "f(point(a, b), [c, d], x: 1)"),
        ("(3mm, -4mm)", "point(3mm, (-4mm))"),
    ];
    for (text, expected) in cases {
        assert_eq!(read(text), expected, "{text}");
    }
}

#[test]
fn values_in_texts_are_read_as_expressions() {
    let cases = [
        (r#""No. {n}""#, r#"text("No. " {n})"#),
        (r#""{a + b * 2}{c} of""#, r#"text({(a Add (b Multiply 2))} {c} " of")"#),
        (r#""\{n} is } {n}\u{2014}""#, r#"text("{n} is } " {n} "—")"#),
        (r#""\{n}""#, r#""{n}""#),
        (r#"["{if a then b else c}"]"#, "[text({(if a then b else c)})]"),
    ];
    for (text, expected) in cases {
        assert_eq!(read(text), expected, "{text}");
    }
}

/// What stands within a text is hidden from the count of brackets in a file.
#[test]
fn values_in_texts_keep_the_bounds_on_nesting() {
    let deep = |depth: usize| format!("\"{{{}1{}}}\"", "(".repeat(depth), ")".repeat(depth));
    let problems = |text: &str| {
        let mut sources = Sources::default();
        let id = sources.add("expression", text);
        parse_expression(&sources, id).1.into_sorted()
    };
    assert!(problems(&deep(60)).is_empty());
    for depth in [70, 100_000] {
        let found: Vec<&str> = problems(&deep(depth)).iter().map(|found| found.finding.name()).collect();
        assert_eq!(found, ["too-deep"]);
    }
}

#[test]
fn numbers_are_read_as_written() {
    let cases = [
        ("1/8in", "0.125in"),
        ("1 1/8in", "1.125in"),
        ("4 1/2 in", "4.5in"),
        ("1/2turn / stops", "(0.5turn Divide stops)"),
        ("1 / 8in", "(1 Divide 8in)"),
        ("360deg/5", "(360deg Divide 5)"),
        ("1/8", "(1 Divide 8)"),
        ("across/7", "(across Divide 7)"),
        ("12mNm", "12mNm"),
        ("12 mm", "12mm"),
        ("3m", "3m"),
        ("60%", "60%"),
        ("13200G", "13200G"),
        ("20min", "20min"),
        ("2 * min", "(2 Multiply min)"),
        ("a - m", "(a Subtract m)"),
        ("3 inset 2mm", "(3 Inset 2mm)"),
        ("3 within a", "(3 Within a)"),
        ("0.5", "0.5"),
        ("#c8A06e", "#c8a06e"),
        ("true", "true"),
        ("truest", "truest"),
        (r#""a \u{2014} \"b\"\n\\ // c""#, r#""a — \"b\"\n\\ // c""#),
    ];
    for (text, expected) in cases {
        assert_eq!(read(text), expected, "{text}");
    }
}

#[test]
fn a_line_goes_on_where_the_language_says_so() {
    let cases = [
        ("circle(\n// a remark\ndiameter\n:\n3mm\n,\n)", "circle(diameter: 3mm)"),
        ("a less\n  b\n\n  less c", "((a Less b) Less c)"),
        ("a\n+ b -\nc", "((a Add b) Subtract c)"),
        ("a // why\n  at p", "(a At p)"),
        ("[\n1,\n2\n]", "[1, 2]"),
        ("[for\nr\nin\na\nwhere\nb\n:\nr\n]", "[for r in a where b: r]"),
    ];
    for (text, expected) in cases {
        assert_eq!(read(text), expected, "{text}");
    }
}

#[test]
fn names_are_in_normal_form_c() {
    assert_eq!(read("cafe\u{301} + caf\u{e9}"), "(caf\u{e9} Add caf\u{e9})");
}

/// The items of a faultless file.
fn items(text: &str) -> Vec<Item> {
    let (sources, _, parsed) = parsed(text);
    let problems = parsed.problems.into_sorted();
    assert!(problems.is_empty(), "{text}: {}", as_text(&problems, &sources, Style::Plain));
    parsed.file.items
}

#[test]
fn our_words_may_be_the_makers_names() {
    let text = "let ring = 3\nlet depth = ring\nlet m = 2\nlayer turn of stock { engrave ring less depth tone m; stops stops }\nstack { turn; glue; layer }";
    let items = items(text);
    let [.., Item::Layer(layer), Item::Stack(stack)] = items.as_slice() else { panic!("{items:#?}") };
    let [LayerItem::Mark(mark), LayerItem::Field(field)] = layer.items.as_slice() else { panic!("{layer:#?}") };
    let Marked::Shape { name: None, value } = &mark.what else { panic!("{mark:#?}") };
    assert_eq!((shown(value).as_str(), mark.tails.len()), ("(ring Less depth)", 1));
    assert_eq!(field.name.text, "stops");
    let [StackItem::Layer(first), StackItem::Glue { adhesive: None, .. }, StackItem::Layer(_)] = stack.items.as_slice()
    else {
        panic!("{stack:#?}")
    };
    assert_eq!((first.name().text.as_str(), &first.own), ("turn", &None));
}

#[test]
fn marks_keep_their_face_name_and_tails() {
    let text = "layer a of b {\nback pocket nest = circle(9mm) depth through colour #1d3b5a\nengrave ring crew\nflip board\nflip about 90deg }";
    let items = items(text);
    let [Item::Layer(layer)] = items.as_slice() else { panic!("{items:#?}") };
    let [LayerItem::Mark(pocket), LayerItem::Mark(ring), LayerItem::Flip(board), LayerItem::Flip(about)] =
        layer.items.as_slice()
    else {
        panic!("{layer:#?}")
    };
    assert_eq!((pocket.face.map(|face| face.0), pocket.work), (Some(Face::Back), Work::Pocket));
    assert!(matches!(&pocket.what, Marked::Shape { name: Some(name), .. } if name.text == "nest"));
    let tails: Vec<(TailKind, bool)> = pocket.tails.iter().map(|tail| (tail.kind, tail.value.is_some())).collect();
    assert_eq!(tails, [(TailKind::Depth, false), (TailKind::Colour, true)]);
    assert!(matches!(&ring.what, Marked::Ring { name, fields } if name.text == "crew" && fields.is_empty()));
    assert!(matches!(board.way, FlipWay::Board) && matches!(about.way, FlipWay::About(_)));
}

#[test]
fn params_slots_sizes_and_families_keep_their_parts() {
    let text = "param a: length = 3mm from 1mm to 5mm \"why\"\nparam w: labels = x from [x, y]\nslot 62mm by 60mm by 8mm\nslot circle(9mm) depth 14mm\nfamily { each a, b in [[1, 2]]; variant v { a = 1 }; leave out a is 1 and b is 2;; }";
    let items = items(text);
    let [Item::Param(a), Item::Param(w), Item::Slot(size), Item::Slot(region), Item::Family(family)] = items.as_slice()
    else {
        panic!("{items:#?}")
    };
    assert!(matches!(&a.bounds, Some(Bounds::Between(..))) && a.note.as_ref().is_some_and(|note| note.value == "why"));
    assert!(matches!(&w.bounds, Some(Bounds::OneOf(choices)) if choices.len() == 2));
    assert!(matches!(&size.shape, SlotShape::Box(size) if size.sides.len() == 3));
    assert!(matches!(&region.shape, SlotShape::Region { .. }));
    assert!(matches!(family.items.as_slice(), [
        FamilyItem::Each { names, .. }, FamilyItem::Variant { bindings, .. }, FamilyItem::LeaveOut { .. },
    ] if names.len() == 2 && bindings.len() == 1));
}

#[test]
fn what_is_whole_is_kept_beside_what_is_not() {
    let (_, _, parsed) =
        parsed("let a = (3\nlayer b {\n window w = 3 4\n grain 9deg }\nlet c = 1 let d = 2\nparam e = 3\n");
    let items = &parsed.file.items;
    let names: Vec<String> = items
        .iter()
        .map(|item| match item {
            Item::Let(item) => item.name.text.clone(),
            Item::Layer(layer) => format!("{} {:?} {}", layer.name.text, layer.stock.text, layer.items.len()),
            Item::Param(param) => format!("{} {:?}", param.name.text, param.kind.text),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(names, ["a", "b \"\" 2", "c", "d", "e \"\""]);
    assert_eq!(parsed.problems.iter().count(), 5);
}

#[test]
fn chains_and_brackets_stay_far_from_the_end_of_the_stack() {
    let nested = |open: &str, close: &str, n| format!("let a = {}1{}", open.repeat(n), close.repeat(n));
    for (open, close) in [("(", ")"), ("[", "]"), ("f(", ")"), ("f(x: -", ")"), ("(1 + 2 * 3 - ", ")"), ("(not ", ")")]
    {
        assert_eq!(parsed(&nested(open, close, 60)).2.problems.iter().count(), 0, "{open}");
        assert_eq!(parsed(&nested(open, close, 20_000)).2.problems.iter().count(), 1, "{open}");
    }
    for chain in [" + 1", " * 1", " plus a", " at a", " and a", " or a", " < 1", " to 1", " less (a"] {
        let (_, _, parsed) = parsed(&format!("let a = 1{}", chain.repeat(20_000)));
        assert!(parsed.problems.iter().count() <= 1 && (parsed.problems.has_errors() || chain == " < 1"), "{chain}");
    }
    for deep in ["\"{{{{", "“\"((((", "5\" \"[[[[", "“{{{{”{", "1/8\"((((", "'((((\n"] {
        parsed(&format!("let a = {}", deep.repeat(10_000)));
    }
    parsed(&"if a then 1 else ".repeat(5_000));
    parsed(&format!("let a = {}2", "if a then 1 else ".repeat(5_000)));
}

/// A copy of a layer has a name of its own, and a reading says of which copy its ring and openings are.
#[test]
fn copies_of_layers_are_named_and_meant() {
    let items =
        items("stack { low = plate; glue; high =\nplate }\nreads tide of low through eye, eye of high from 60cm");
    let [Item::Stack(stack), Item::Reads(reads)] = items.as_slice() else { panic!("{items:#?}") };
    let [StackItem::Layer(low), _, StackItem::Layer(high)] = stack.items.as_slice() else { panic!("{stack:#?}") };
    let names = |copy: &StackLayer| (copy.name().text.clone(), copy.layer.text.clone());
    assert_eq!([names(low), names(high)], [("low", "plate"), ("high", "plate")].map(|(a, b)| (a.into(), b.into())));
    let piece = |piece: &Piece| piece.names().map(|name| name.text.clone()).collect::<Vec<_>>();
    let pieces: Vec<Vec<String>> = std::iter::once(&reads.ring).chain(&reads.by).map(piece).collect();
    assert_eq!(pieces, [vec!["tide", "low"], vec!["eye"], vec!["eye", "high"]]);
    assert!(reads.distance.is_some());
}

/// A layer of the stack may have a block of what turns in its openings or about points on it.
#[test]
fn wheels_lie_in_openings() {
    let text = "stack { floor; glue; high = frame {\n  purse in bay\n  salt = wheel in salt_bay { stops 10 }\n}; glue; front }";
    let items = items(text);
    let [Item::Stack(stack)] = items.as_slice() else { panic!("{items:#?}") };
    let [_, _, StackItem::Layer(frame), _, StackItem::Layer(front)] = stack.items.as_slice() else {
        panic!("{stack:#?}")
    };
    assert_eq!((frame.name().text.as_str(), frame.layer.text.as_str(), front.wheels.len()), ("high", "frame", 0));
    let names = |wheel: &Wheel| {
        let WheelPlace::In(opening) = &wheel.place else { panic!("{wheel:#?}") };
        [wheel.name(), &wheel.layer, opening].map(|name| name.text.clone())
    };
    let [purse, salt] = frame.wheels.as_slice() else { panic!("{frame:#?}") };
    assert_eq!(names(purse), ["purse", "purse", "bay"]);
    assert_eq!((names(salt), salt.fields.len()), (["salt", "wheel", "salt_bay"].map(str::to_owned), 1));
}

#[test]
fn hands_lie_at_points_on_a_pivot() {
    let items = items(
        "stack { plate {\n  hp = hand at polar(26mm, 60deg) + (1mm, 0mm) on rivet(eyelet) { stops 10 }\n  hand at left\n} }",
    );
    let [Item::Stack(stack)] = items.as_slice() else { panic!("{items:#?}") };
    let [StackItem::Layer(plate)] = stack.items.as_slice() else { panic!("{stack:#?}") };
    let [first, second] = plate.wheels.as_slice() else { panic!("{plate:#?}") };
    let named =
        |wheel: &Wheel| (wheel.name().text.clone(), wheel.place.word(), wheel.pivot.is_some(), wheel.fields.len());
    assert_eq!([named(first), named(second)], [("hp".into(), "at", true, 1), ("hand".into(), "at", false, 0)]);
}
