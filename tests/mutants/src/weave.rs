//! One file with its mutants woven in.
//!
//! Everything is done by inserting text, so that nested mutants compose: an operand is never written twice. Every mutated
//! alternative ends its line with `//~` and its number, by which a compiler's error is traced back to the mutant.

use std::collections::BTreeMap;
use std::ops::Range;

use proc_macro2::Span;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{BinOp, Block, Expr, Pat, ReturnType, Signature, Type, TypeParamBound};

/// One of cargo-mutants' mutants, with the place that it gives.
pub struct Mutant {
    pub id: u32,
    pub line: usize,
    /// From 0, in characters.
    pub column: usize,
    pub genre: String,
    pub replacement: String,
}

/// Why a mutant was not woven in.
type NotWoven = Vec<(u32, &'static str)>;

/// A file's text with its mutants woven in, and those that were not.
pub fn woven(text: &str, mutants: Vec<Mutant>) -> syn::Result<(String, NotWoven)> {
    let file = syn::parse_file(text)?;
    let mut weaver = Weaver { text, sites: BTreeMap::new(), edits: Vec::new(), constant: 0, not_woven: Vec::new() };
    for mutant in mutants {
        let key = (mutant.genre.clone(), mutant.line, mutant.column);
        weaver.sites.entry(key).or_default().push(mutant);
    }
    weaver.visit_file(&file);
    let lost = weaver.sites.into_values().flatten().map(|mutant| (mutant.id, "no such place was found"));
    weaver.not_woven.extend(lost);
    Ok((applied(text, 0..text.len(), weaver.edits), weaver.not_woven))
}

/// What goes where. At one place, what ends there comes before what begins there; the rest stays in the order of the walk.
struct Edit {
    range: Range<usize>,
    begins: bool,
    text: String,
}

/// A piece of the text with the edits made in it.
fn applied(text: &str, piece: Range<usize>, mut edits: Vec<Edit>) -> String {
    edits.sort_by_key(|edit| (edit.range.start, edit.begins));
    let mut done = String::new();
    let mut at = piece.start;
    for edit in edits {
        done += &text[at..edit.range.start];
        done += &edit.text;
        at = edit.range.end;
    }
    done + &text[at..piece.end]
}

struct Weaver<'a> {
    text: &'a str,
    sites: BTreeMap<(String, usize, usize), Vec<Mutant>>,
    edits: Vec<Edit>,
    /// How deep in what is evaluated by the compiler.
    constant: usize,
    not_woven: NotWoven,
}

impl Weaver<'_> {
    /// The mutants of a place. None where they cannot be chosen from when the program runs.
    fn take(&mut self, genre: &str, span: Span) -> Option<Vec<Mutant>> {
        let start = span.start();
        let mutants = self.sites.remove(&(genre.to_owned(), start.line, start.column))?;
        if self.constant > 0 {
            self.refuse(mutants, "evaluated by the compiler");
            return None;
        }
        Some(mutants)
    }

    fn refuse(&mut self, mutants: Vec<Mutant>, why: &'static str) {
        self.not_woven.extend(mutants.into_iter().map(|mutant| (mutant.id, why)));
    }

    fn begin(&mut self, at: usize, text: &str) {
        self.edits.push(Edit { range: at..at, begins: true, text: text.to_owned() });
    }

    fn end(&mut self, at: usize, text: &str) {
        self.edits.push(Edit { range: at..at, begins: false, text: text.to_owned() });
    }

    fn replace(&mut self, range: Range<usize>, text: &str) {
        self.edits.push(Edit { range, begins: true, text: text.to_owned() });
    }

    /// Visits an expression that is put between two texts.
    fn between(&mut self, before: &str, expr: &Expr, after: &str) {
        let range = expr.span().byte_range();
        self.begin(range.start, before);
        self.visit_expr(expr);
        self.end(range.end, after);
    }

    /// An expression's text with its own mutants woven in.
    fn rendered(&mut self, expr: &Expr) -> String {
        let before = self.edits.len();
        self.visit_expr(expr);
        let edits = self.edits.split_off(before);
        applied(self.text, expr.span().byte_range(), edits)
    }

    /// The boxed kind of what a function gives that names it by a trait alone, since its mutants are of other types.
    fn boxed(&self, output: &ReturnType) -> Option<String> {
        let ReturnType::Type(_, kind) = output else { return None };
        let Type::ImplTrait(kind) = kind.as_ref() else { return None };
        let bounds = kind.bounds.iter().filter(|bound| matches!(bound, TypeParamBound::Trait(_)));
        let bounds: Vec<&str> = bounds.map(|bound| &self.text[bound.span().byte_range()]).collect();
        Some(format!("Box<dyn {} + '_>", bounds.join(" + ")))
    }

    fn function(&mut self, signature: &Signature, block: &Block, visit: impl FnOnce(&mut Self)) {
        self.constant += usize::from(signature.constness.is_some());
        if let [first, ..] = block.stmts.as_slice()
            && let Some(mutants) = self.take("FnValue", first.span())
        {
            let (start, end) = (first.span().byte_range().start, block.span().byte_range().end - 1);
            let boxed = self.boxed(&signature.output);
            let (before, after) = if boxed.is_some() { ("Box::new(", ")") } else { ("return ", "") };
            let alternative = |mutant: &Mutant| (mutant.id, format!("{before}{}{after}", mutant.replacement));
            let alternatives = mutants.iter().map(alternative).collect();
            if let Some(boxed) = boxed {
                self.begin(start, &format!("let original = move || -> {boxed} {{ Box::new({{ "));
                let text = chosen("original()", alternatives);
                self.end(end, &format!("}}) }};\nlet woven: {boxed} = {text};\nwoven "));
            } else {
                let text = chosen("{}", alternatives);
                self.begin(start, &format!("{text};\n"));
            }
        }
        visit(self);
        self.constant -= usize::from(signature.constness.is_some());
    }

    fn constant(&mut self, visit: impl FnOnce(&mut Self)) {
        self.constant += 1;
        visit(self);
        self.constant -= 1;
    }
}

/// The choice between an original and its mutants.
fn chosen(original: &str, alternatives: Vec<(u32, String)>) -> String {
    let ids: Vec<String> = alternatives.iter().map(|(id, _)| id.to_string()).collect();
    let mut text = format!("match crate::mutant::of([{}]) {{ 0 => {original},\n", ids.join(", "));
    let last = alternatives.len().saturating_sub(1);
    for (index, (id, alternative)) in alternatives.into_iter().enumerate() {
        let pattern = if index == last { "_".to_owned() } else { id.to_string() };
        text += &format!("{pattern} => {}, //~{id}\n", alternative.replace('\n', " "));
    }
    text + "}"
}

/// What an operator and those put in its place give of `l` and `r`.
fn operated(op: &str, mutants: &[Mutant], left: &str, right: &str) -> String {
    let alternative = |mutant: &Mutant| (mutant.id, format!("{left} {} {right}", mutant.replacement));
    chosen(&format!("{left} {op} {right}"), mutants.iter().map(alternative).collect())
}

/// Whether an expression is a chain of conditions with a pattern in it, which stands only after `if` and `while`.
fn binds(expr: &Expr) -> bool {
    match expr {
        Expr::Let(_) => true,
        Expr::Binary(binary) if matches!(binary.op, BinOp::And(_)) => binds(&binary.left) || binds(&binary.right),
        _ => false,
    }
}

fn is_assignment(op: &BinOp) -> bool {
    use BinOp as B;
    matches!(op, B::AddAssign(_) | B::SubAssign(_) | B::MulAssign(_) | B::DivAssign(_) | B::RemAssign(_))
        || matches!(op, B::BitXorAssign(_) | B::BitAndAssign(_) | B::BitOrAssign(_) | B::ShlAssign(_) | B::ShrAssign(_))
}

impl<'ast> Visit<'ast> for Weaver<'_> {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.function(&item.sig, &item.block, |weaver| visit::visit_item_fn(weaver, item));
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.function(&item.sig, &item.block, |weaver| visit::visit_impl_item_fn(weaver, item));
    }

    fn visit_item_const(&mut self, item: &'ast syn::ItemConst) {
        self.constant(|weaver| visit::visit_item_const(weaver, item));
    }

    fn visit_item_static(&mut self, item: &'ast syn::ItemStatic) {
        self.constant(|weaver| visit::visit_item_static(weaver, item));
    }

    fn visit_impl_item_const(&mut self, item: &'ast syn::ImplItemConst) {
        self.constant(|weaver| visit::visit_impl_item_const(weaver, item));
    }

    fn visit_expr_const(&mut self, item: &'ast syn::ExprConst) {
        self.constant(|weaver| visit::visit_expr_const(weaver, item));
    }

    fn visit_type(&mut self, item: &'ast syn::Type) {
        self.constant(|weaver| visit::visit_type(weaver, item));
    }

    fn visit_pat(&mut self, item: &'ast syn::Pat) {
        self.constant(|weaver| visit::visit_pat(weaver, item));
    }

    fn visit_expr_repeat(&mut self, item: &'ast syn::ExprRepeat) {
        self.visit_expr(&item.expr);
        self.constant(|weaver| weaver.visit_expr(&item.len));
    }

    fn visit_expr_binary(&mut self, binary: &'ast syn::ExprBinary) {
        let Some(mutants) = self.take("BinaryOperator", binary.op.span()) else {
            return visit::visit_expr_binary(self, binary);
        };
        let op = self.text[binary.op.span().byte_range()].to_owned();
        let operator = binary.op.span().byte_range();
        match binary.op {
            BinOp::And(_) | BinOp::Or(_) if binds(&binary.left) || binds(&binary.right) => {
                self.refuse(mutants, "does not compile: a pattern among the conditions");
                visit::visit_expr_binary(self, binary);
            }
            // The right side is evaluated where the left one leaves the answer open, as in the original.
            BinOp::And(_) | BinOp::Or(_) => {
                let sign = if op == "&&" { "!=" } else { "==" };
                let id = mutants[0].id;
                let between = format!(") {{ l => if l {sign} crate::mutant::on({id}) {{ ");
                self.between("(match (", &binary.left, &between);
                self.replace(operator, "");
                self.between("", &binary.right, &format!(" }} else {{ l }}, //~{id}\n}})"));
            }
            BinOp::Eq(_) | BinOp::Ne(_) | BinOp::Lt(_) | BinOp::Le(_) | BinOp::Gt(_) | BinOp::Ge(_) => {
                self.between("(match (&(", &binary.left, ")");
                self.replace(operator, ",");
                let choice = operated(&op, &mutants, "*l", "*r");
                self.between("&(", &binary.right, &format!(")) {{ (l, r) => {choice} }})"));
            }
            _ if is_assignment(&binary.op) => {
                let left = self.rendered(&binary.left);
                let whole = binary.left.span().byte_range().start..binary.right.span().byte_range().start;
                self.replace(whole, "(match (");
                let choice = operated(&op, &mutants, &left, "r");
                self.between("", &binary.right, &format!(") {{ r => {choice} }})"));
            }
            _ => {
                self.between("(match (", &binary.left, "");
                self.replace(operator, ",");
                let choice = operated(&op, &mutants, "l", "r");
                self.between("", &binary.right, &format!(") {{ (l, r) => {choice} }})"));
            }
        }
    }

    fn visit_expr_unary(&mut self, unary: &'ast syn::ExprUnary) {
        let Some(mutants) = self.take("UnaryOperator", unary.op.span()) else {
            return visit::visit_expr_unary(self, unary);
        };
        let operator = unary.op.span().byte_range();
        let op = self.text[operator.clone()].to_owned();
        let choice = chosen(&format!("{op}v"), vec![(mutants[0].id, "v".to_owned())]);
        self.begin(operator.start, "(match (");
        self.replace(operator, "");
        self.between("", &unary.expr, &format!(") {{ v => {choice} }})"));
    }

    fn visit_expr_match(&mut self, item: &'ast syn::ExprMatch) {
        let catches = |arm: &syn::Arm| arm.guard.is_none() && matches!(arm.pat, Pat::Wild(_));
        if !item.arms.iter().any(catches) {
            for arm in &item.arms {
                let mutants = self.take("MatchArm", arm.span()).unwrap_or_default();
                self.refuse(mutants, "does not compile: nothing else matches what the arm does");
            }
        }
        visit::visit_expr_match(self, item);
    }

    fn visit_arm(&mut self, arm: &'ast syn::Arm) {
        let deleted = self.take("MatchArm", arm.span());
        if let Some(id) = deleted.and_then(|mutants| mutants.first().map(|mutant| mutant.id)) {
            self.end(arm.pat.span().byte_range().end, &format!(" if !crate::mutant::on({id}) //~{id}\n"));
        }
        let guard = arm.guard.as_ref().map(|(_, guard)| guard);
        if let Some(guard) = guard
            && let Some(mutants) = self.take("MatchArmGuard", guard.span())
        {
            if binds(guard) {
                self.refuse(mutants, "a pattern in the guard");
            } else {
                let alternatives = mutants.iter().map(|mutant| (mutant.id, mutant.replacement.clone()));
                let text = chosen("g", alternatives.collect());
                self.begin(guard.span().byte_range().start, "(match (");
                self.visit_expr(guard);
                self.end(guard.span().byte_range().end, &format!(") {{ g => {text} }})"));
                self.visit_pat(&arm.pat);
                return self.visit_expr(&arm.body);
            }
        }
        visit::visit_arm(self, arm);
    }

    fn visit_expr_struct(&mut self, item: &'ast syn::ExprStruct) {
        let Some(rest) = &item.rest else { return visit::visit_expr_struct(self, item) };
        let base = self.text[rest.span().byte_range()].to_owned();
        for field in &item.fields {
            let taken = self.take("StructField", field.span());
            let Some(id) = taken.and_then(|mutants| mutants.first().map(|mutant| mutant.id)) else {
                self.visit_field_value(field);
                continue;
            };
            let name = self.text[field.member.span().byte_range()].to_owned();
            let choice = format!("if crate::mutant::on({id}) {{ ({base}).{name} }} else {{ //~{id}\n");
            let colon = if field.colon_token.is_some() { String::new() } else { format!("{name}: ") };
            self.between(&format!("{colon}{choice}"), &field.expr, "}");
        }
        self.visit_expr(rest);
    }
}
