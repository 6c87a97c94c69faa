//! Completes what a page shows to a dial that can be compiled.
//!
//! The rule, for whoever writes a page:
//! - Items that belong to a layer stand in `cover`, rings in `base`; `turn on …` stands in the stack, `kerf` in a stock, `height` and
//!   `radius` in a ring; a shape alone is given a name. All else is an item of the file.
//! - What is lacking is added: a title, a round outline, the layers `base` and `cover`, a stack on magnets (on the rivet that is shown),
//!   a ring `crew`, an opening `peep`, and the line that reads one through the other. A single layer that is shown whole stays alone,
//!   unless it holds a ring that does not say its radius; a stock that is shown alone is that of a single layer.
//! - Goods and some shapes come from a shared shop, `frame.dial`, which lacks what the page defines itself.

const ON_LAYER: [&str; 12] =
    ["engrave", "score", "pocket", "paint", "print", "window", "hole", "bare", "front", "back", "flip", "grain"];

/// What the shop has; `faint` and `strong` are for what holds too little and too much.
const GOODS: [(&str, &str); 10] = [
    ("birch", "stock birch { thickness 2.95mm; board 305mm by 305mm; kerf 0.16mm; weighs 189g }"),
    ("card", "stock card { thickness 1.5mm; board 300mm by 200mm; kerf 0.1mm; weighs 59g }"),
    ("clear_acrylic", "stock clear_acrylic { thickness 2mm; board 300mm by 200mm; weighs 143g; clear true }"),
    ("epoxy", "adhesive epoxy { cure 24h; strength 5MPa }"),
    ("pva", "adhesive pva { cure 24h; strength 1MPa }"),
    ("disc", "magnet disc { diameter 8mm; height 1.5mm; remanence 1.32T; adhesive epoxy }"),
    ("tiny", "magnet tiny { diameter 4mm; height 1.5mm; remanence 1.2T; adhesive epoxy }"),
    ("faint", "magnet faint { diameter 2mm; height 0.5mm; remanence 0.3T; adhesive epoxy }"),
    ("strong", "magnet strong { diameter 15mm; height 2mm; remanence 1.4T; adhesive epoxy }"),
    ("eyelet", "rivet eyelet { shank 4mm; head 7mm; grips 2mm to 4mm }"),
];

/// Shapes that pages name and do not describe, by their diameters in mm.
const SHAPES: [(&str, u32); 5] = [("body", 50), ("tip", 60), ("tray", 40), ("a", 40), ("b", 20)];

/// The shop that a block is completed with.
pub fn shop(block: &str) -> String {
    let tokens = tokens(block);
    let named = |word: &str, name: &str| tokens.windows(2).any(|pair| pair == [word, name]);
    let goods =
        GOODS.iter().filter(|(name, _)| !["stock", "magnet", "rivet", "adhesive"].iter().any(|kind| named(kind, name)));
    let shapes = SHAPES.iter().filter(|(name, _)| !["let", "param", "layer"].iter().any(|kind| named(kind, name)));
    let shapes = shapes.map(|(name, across)| format!("let {name} = circle(diameter: {across}mm)"));
    let goods = goods.map(|(_, block)| (*block).to_owned());
    ["shop \"Shown\"".to_owned()].into_iter().chain(goods).chain(shapes).map(|line| line + "\n").collect()
}

/// A line without its texts and its remark.
fn bare(line: &str) -> String {
    let mut kept = String::new();
    let mut signs = line.chars().peekable();
    let mut in_text = false;
    while let Some(sign) = signs.next() {
        match sign {
            '\\' if in_text => drop(signs.next()),
            '"' => in_text = !in_text,
            '/' if !in_text && signs.peek() == Some(&'/') => break,
            _ if !in_text => kept.push(sign),
            _ => {}
        }
    }
    kept
}

/// Words, and signs one by one; the ends of lines as well.
fn tokens(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for line in text.lines() {
        let mut word = String::new();
        for sign in bare(line).chars().chain(['\n']) {
            if sign.is_alphanumeric() || sign == '_' {
                word.push(sign);
                continue;
            }
            if !word.is_empty() {
                found.push(std::mem::take(&mut word));
            }
            if sign == '\n' || !sign.is_whitespace() {
                found.push(sign.to_string());
            }
        }
    }
    found
}

/// The items of a block: a line, or several while brackets stay open.
pub fn items(block: &str) -> Vec<String> {
    let (mut found, mut item, mut depth) = (Vec::new(), Vec::new(), 0);
    for line in block.lines() {
        let bare = bare(line);
        if item.is_empty() && bare.trim().is_empty() {
            continue;
        }
        item.push(line);
        let count = |signs: &str| bare.chars().filter(|sign| signs.contains(*sign)).count();
        depth = (depth + count("{([")).saturating_sub(count("})]"));
        if depth == 0 {
            found.push(std::mem::take(&mut item).join("\n"));
        }
    }
    if !item.is_empty() {
        found.push(item.join("\n"));
    }
    found
}

pub fn first_word(item: &str) -> &str {
    let item = item.trim_start();
    let end = item.find(|sign: char| !sign.is_alphanumeric() && sign != '_').unwrap_or(item.len());
    &item[..end]
}

/// A block sorted by where its items stand.
#[derive(Default)]
struct Sorted {
    top: Vec<String>,
    lower: Vec<String>,
    upper: Vec<String>,
    turn: Option<String>,
    stock: Vec<String>,
    ring: Vec<String>,
}

impl Sorted {
    fn of(block: &str) -> Self {
        let mut sorted = Self::default();
        for item in items(block) {
            let word = first_word(&item);
            let is_ring = tokens(&item).windows(2).any(|pair| pair == ["engrave", "ring"]);
            if ON_LAYER.contains(&word) || word == "finish" && !item.contains('{') {
                if is_ring { sorted.lower.push(item) } else { sorted.upper.push(item) }
            } else if word == "turn" {
                sorted.turn = Some(item);
            } else if word == "kerf" {
                sorted.stock.push(item);
            } else if ["height", "radius"].contains(&word) {
                sorted.ring.push(item);
            } else if item.trim_start()[word.len()..].starts_with('(') {
                sorted.top.push(format!("let shown_{} = {}", sorted.top.len(), item.trim_start()));
            } else {
                sorted.top.push(item);
            }
        }
        if !sorted.ring.is_empty() {
            let ring = format!("engrave ring crew {{\nlabels 0 to 5\n{}\n}}", sorted.ring.join("\n"));
            sorted.lower.push(ring);
        }
        sorted
    }

    fn has(&self, word: &str) -> bool {
        self.top.iter().any(|item| first_word(item) == word)
    }

    /// Whether anything is shown that only stands in a whole dial.
    fn is_of_a_whole(&self) -> bool {
        let loose = self.turn.is_some() || !self.lower.is_empty() || !self.upper.is_empty();
        loose || self.has("stack") || self.has("reads")
    }
}

/// The names that stand after a word.
fn named<'a>(tokens: &'a [String], word: &str) -> Vec<&'a str> {
    let mut found: Vec<&str> = Vec::new();
    for pair in tokens.windows(2).filter(|pair| pair[0] == word) {
        let is_name = pair[1].starts_with(|sign: char| sign.is_alphabetic());
        if is_name && !found.contains(&pair[1].as_str()) {
            found.push(&pair[1]);
        }
    }
    found
}

/// The lines of the stack, each by its words.
fn stack(top: &[String]) -> Option<Vec<Vec<String>>> {
    let stack = top.iter().find(|item| first_word(item) == "stack")?;
    let (mut depth, mut lines) = (0, vec![Vec::new()]);
    for token in tokens(stack).into_iter().skip(1) {
        match token.as_str() {
            "{" => depth += 1,
            "}" => depth -= 1,
            ";" | "\n" if depth == 1 => lines.push(Vec::new()),
            _ if depth == 1 => lines.last_mut().unwrap().push(token),
            _ => {}
        }
    }
    lines.retain(|line| !line.is_empty());
    Some(lines)
}

/// The layers of a dial: those that are shown, and those that the frame makes, with what is on them.
struct Layers {
    shown: Vec<String>,
    made: Vec<String>,
    lower: String,
    stock: String,
    alone: bool,
}

impl Layers {
    fn of(sorted: &Sorted, all: &[String], reads_itself: bool) -> Self {
        let shown: Vec<String> = named(all, "layer").into_iter().map(str::to_owned).collect();
        let own = named(all, "stock").into_iter().find(|name| !GOODS.iter().any(|(known, _)| known == name));
        let of_stock = own.is_some() && shown.is_empty() && !sorted.is_of_a_whole();
        let alone = of_stock || shown.len() == 1 && !sorted.is_of_a_whole() && !reads_itself;
        let stack = stack(&sorted.top);
        let lines = stack.iter().flatten();
        let layers = lines.filter(|line| line.len() == 1 && line[0] != "glue").map(|line| line[0].clone());
        let turns = |line: &Vec<String>| line[0] == "turn";
        let below =
            stack.as_ref().and_then(|lines| lines.iter().position(turns)?.checked_sub(1).map(|at| &lines[at][0]));
        let lower = below.cloned().unwrap_or_else(|| "base".to_owned());
        let mut made: Vec<String> = match (&stack, alone) {
            (_, true) if of_stock => vec!["base".to_owned()],
            (_, true) => Vec::new(),
            (Some(_), _) => layers.collect(),
            (None, _) => vec!["base".to_owned(), "cover".to_owned()],
        };
        made.retain(|name| !shown.contains(name));
        let mut seen = Vec::new();
        made.retain(|name| {
            !seen.contains(name) && {
                seen.push(name.clone());
                true
            }
        });
        let stock = own.filter(|_| of_stock).unwrap_or("birch").to_owned();
        Self { shown, made, lower, stock, alone }
    }

    fn makes(&self, name: &str) -> bool {
        self.made.iter().any(|made| made == name)
    }
}

/// Whether a ring does not say its radius.
fn has_bare_ring(all: &[String]) -> bool {
    let mut rings = all.windows(2).enumerate().filter(|(_, pair)| pair == &["engrave", "ring"]);
    rings.any(|(at, _)| {
        let mut block = all[at..].iter().take_while(|token| *token != "}");
        !block.any(|token| token == "radius")
    })
}

/// A whole file for what is shown; `leaves_out` names what the finding is about, which is not added.
pub fn completed(block: &str, leaves_out: &[&str]) -> String {
    let adds = |what: &str| !leaves_out.contains(&what);
    let mut sorted = Sorted::of(block);
    let all = tokens(&sorted.top.join("\n"));
    let layers = Layers::of(&sorted, &all, has_bare_ring(&all) && adds("reading"));
    let mut more = Vec::new();
    if !layers.alone && adds("layers") {
        more.extend(reading(block, &mut sorted, &layers));
    }
    let mut text = Vec::new();
    if adds("shop") && !sorted.has("with") && !sorted.has("shop") {
        text.push("with \"frame.dial\"".to_owned());
    }
    if adds("title") && !sorted.has("dial") {
        text.push("dial \"Shown\"".to_owned());
    }
    text.extend(sorted.top.iter().cloned());
    let own = all.iter().filter(|token| *token == "outline").count();
    let some_lack = own == 0 || own < layers.shown.len() || !layers.made.is_empty();
    if adds("outline") && !sorted.has("outline") && some_lack {
        text.push("outline circle(diameter: 60mm)".to_owned());
    }
    if adds("layers") {
        for name in &layers.made {
            let marks = if *name == layers.lower {
                &sorted.lower[..]
            } else if name == "cover" {
                &sorted.upper[..]
            } else {
                &[]
            };
            text.push(format!("layer {name} of {} {{\n{}\n}}", layers.stock, marks.join("\n")));
        }
    }
    if !layers.alone && adds("layers") && adds("stack") && !sorted.has("stack") {
        let reads = sorted.has("reads") || !more.is_empty();
        text.push(stack_of(&sorted, &layers, &all, reads));
    }
    text.extend(more);
    if !sorted.stock.is_empty() {
        let fields = sorted.stock.join("\n");
        text.push(format!("stock other {{ thickness 3mm; board 300mm by 300mm\n{fields}\n}}"));
    }
    text.join("\n") + "\n"
}

/// Adds a ring and an opening where there are none, and gives the line that reads them where it is lacking.
fn reading(block: &str, sorted: &mut Sorted, layers: &Layers) -> Option<String> {
    let words = tokens(block);
    let read =
        words.windows(4).find(|four| four[0] == "reads" && ["through", "beside", "of"].contains(&four[2].as_str()));
    let opening = |words: &[String]| {
        let opens = |three: &&[String]| ["window", "hole"].contains(&three[0].as_str()) && three[2] == "=";
        words.windows(3).find(opens).map(|three| three[1].clone())
    };
    let mut rings: Vec<String> = named(&words, "ring").into_iter().map(str::to_owned).collect();
    let mut peep = opening(&words);
    if !sorted.ring.is_empty() {
        rings.push("crew".to_owned());
    }
    let is_seen = layers.makes("cover") || peep.is_some();
    let has_stops = words.iter().any(|word| word == "stops");
    if rings.is_empty() && layers.makes(&layers.lower) && is_seen && (read.is_some() || !has_stops) {
        let name = read.map_or("crew", |four| four[1].as_str());
        sorted.lower.push(format!("engrave ring {name} {{ labels 0 to 5 }}"));
        rings.push(name.to_owned());
    }
    if !rings.is_empty() && peep.is_none() && layers.makes("cover") {
        let name = read.map_or("peep", |four| four[3].as_str());
        sorted.upper.push(format!("window {name} = circle(diameter: 12mm) at polar(20mm, 0deg)"));
        peep = Some(name.to_owned());
    }
    let [ring] = &rings[..] else { return None };
    peep.filter(|_| read.is_none()).map(|peep| format!("reads {ring} through {peep}"))
}

/// The stack of a dial that shows none: other layers are glued on top.
fn stack_of(sorted: &Sorted, layers: &Layers, all: &[String], reads: bool) -> String {
    let rivet = named(all, "rivet").first().map(|name| format!("rivet({name})"));
    let stops = if reads { "" } else { " { stops 6 }" };
    let on = rivet.unwrap_or_else(|| "magnets(disc)".to_owned());
    let turn = sorted.turn.clone().unwrap_or_else(|| format!("turn on {on}{stops}"));
    let others = layers.shown.iter().filter(|name| !["base", "cover"].contains(&name.as_str()));
    let glued: String = others.map(|name| format!("\nglue pva\n{name}")).collect();
    format!("stack {{\nbase\n{turn}\ncover{glued}\n}}")
}
