//! Types of calls: which arguments a function takes, and what it gives.

use std::sync::Arc;

use super::TypeChecker;
use crate::check::findings::{names as say_name, tables, types as say};
use crate::check::names::Meaning;
use crate::check::tables::Column;
use crate::diagnostics::{Diagnostic, suggest};
use crate::source::Span;
use crate::syntax::tree::{Argument, Expr, ExprKind, Let, Name};
use crate::vocabulary::foreign::our_function;
use crate::vocabulary::functions::{
    Callee, FUNCTIONS, Function, FunctionName, Gives, Parameter, Rest, Takes, function_named,
};
use crate::vocabulary::types::Type;

impl<'t> TypeChecker<'t> {
    pub(super) fn call(&mut self, name: &'t Name, arguments: &'t [Argument], span: Span) -> Type {
        if let Some(definition) = self.names.get(&name.text, self.layer)
            && let Meaning::Let(binding @ Let { formals: Some(_), .. }) = definition.meaning
        {
            return self.call_of_maker(binding, (&name.text, definition.within), arguments, span);
        }
        let Some(function) = function_named(&name.text) else {
            self.walk(arguments);
            let ours = FUNCTIONS
                .iter()
                .filter(|function| self.measures || !function.is_measure())
                .map(|function| function.word);
            let theirs = self
                .names
                .iter()
                .filter(|(_, definition)| matches!(definition.meaning, Meaning::Let(Let { formals: Some(_), .. })));
            let nearest = suggest::nearest(&name.text, ours.chain(theirs.map(|(name, _)| name)));
            let ours = our_function(&name.text).map(FunctionName::spec);
            return self.report(say_name::unknown_function(name, nearest, ours));
        };
        if function.is_measure() && !self.measures {
            self.walk(arguments);
            return self.report(say::measure_outside_expect(function.word, name.span));
        }
        self.call_of_ours(function, arguments, span)
    }

    /// Looks into arguments whose function is at fault, so that what is wrong inside them shows as well.
    fn walk(&mut self, arguments: &'t [Argument]) {
        for argument in arguments {
            self.type_of(&argument.value);
        }
    }

    fn call_of_ours(&mut self, function: &'static Function, arguments: &'t [Argument], span: Span) -> Type {
        let mut given: Vec<(&'static str, Span)> = Vec::new();
        let mut first: Option<Type> = None;
        let mut flawed = false;
        let mut places = function.parameters.iter().copied().filter(|parameter| parameter.positional);
        for argument in arguments {
            let parameter = match &argument.name {
                Some(name) => match function.parameter(&name.text) {
                    Some(parameter) => Some(parameter),
                    None => {
                        let is_given = |word: &&str| {
                            arguments.iter().any(|one| one.name.as_ref().is_some_and(|name| name.text == **word))
                        };
                        let known = function.parameters.iter().map(|parameter| parameter.word);
                        let known: Vec<&str> = known.filter(|word| !is_given(word)).collect();
                        let nearest = suggest::nearest(&name.text, known.iter().copied())
                            .or_else(|| suggest::cut_short(&name.text, known.iter().copied()));
                        self.type_of(&argument.value);
                        self.report(say_name::unknown_argument(function, name, nearest));
                        flawed = true;
                        continue;
                    }
                },
                None => places.next(),
            };
            let kind = match (parameter, &function.rest) {
                (Some(parameter), _) => {
                    if let Some((_, earlier)) = given.iter().find(|(name, _)| *name == parameter.word) {
                        self.report(say_name::argument_twice(parameter.word, argument.value.span, *earlier));
                        flawed = true;
                    }
                    given.push((parameter.word, argument.value.span));
                    self.argument(parameter, argument, first.as_ref())
                }
                (None, Rest::Type(wanted)) => self.expect(&argument.value, wanted),
                (None, Rest::SameAsFirst) => self.expect(&argument.value, &first.clone().unwrap_or(Type::Any)),
                (None, Rest::None) => {
                    self.type_of(&argument.value);
                    flawed = true;
                    self.report(say_name::stray_argument(function, argument.value.span))
                }
            };
            first = first.or(Some(kind));
        }
        // What is missing beside a faulty argument is most likely what that argument was meant to be.
        let whole = !flawed && self.all_given(function, &given, span);
        match (&function.gives, first) {
            _ if !whole => function.gives.always().unwrap_or(Type::Error),
            (Gives::Type(kind), _) => kind.clone(),
            (Gives::Labels, _) => Type::list(Type::Label),
            (Gives::OfTable, _) => self.of_table(function, arguments),
            (Gives::SameAsFirst, Some(kind)) => kind,
            (Gives::EachOf(of), Some(Type::List(_))) => Type::list(of.clone()),
            (Gives::EachOf(of), Some(_)) => of.clone(),
            (Gives::Root, Some(kind)) => match kind.dimension().map(crate::units::Dimension::root) {
                Some(Some(root)) => Type::Quantity(root),
                Some(None) => self.report(say::no_root(&kind, span)),
                None => Type::Error,
            },
            (_, None) => Type::Error,
        }
    }

    /// The type of a column, or of rows, by what stands in the table; a list of anything where no file can be had.
    fn of_table(&mut self, function: &Function, arguments: &'t [Argument]) -> Type {
        let single = function.callee == Callee::Function(FunctionName::Column);
        if self.tables.is_none() {
            return Type::list(Type::Any);
        }
        let Some(columns) = self.columns(arguments) else { return Type::Error };
        let kinds = columns.iter().map(|column| column.of.clone());
        let kind = kinds.reduce(|one, other| if one == other { one } else { Type::Any }).unwrap_or(Type::Any);
        if single { Type::list(kind) } else { Type::list(Type::list(kind)) }
    }

    /// The columns that a call takes of a table; what is wrong with them is reported.
    pub(super) fn columns(&mut self, arguments: &'t [Argument]) -> Option<Vec<Arc<Column>>> {
        let (columns, problems) = self.tables.as_mut()?.columns(arguments);
        self.problems.extend(problems);
        columns
    }

    /// A cell of a column that is not what is wanted of it.
    pub(super) fn cell_at_fault(&mut self, expr: &'t Expr, wanted: &Type) -> Option<Diagnostic> {
        let (ExprKind::Call { function, arguments }, Type::List(wanted)) = (&expr.kind, wanted) else { return None };
        if function.text != FunctionName::Column.word() {
            return None;
        }
        let (columns, _) = self.tables.as_mut()?.columns(arguments);
        let columns = columns?;
        let [column] = columns.as_slice() else { return None };
        Some(tables::cell_misfit(&column.name, column.misfit(wanted)?, wanted, expr.span))
    }

    fn argument(&mut self, parameter: &Parameter, argument: &'t Argument, first: Option<&Type>) -> Type {
        if let Takes::OneOrList(of) = &parameter.takes {
            return self.one_or_list(&argument.value, of);
        }
        match (parameter.takes.wanted(), first) {
            (Some(kind), _) => self.expect(&argument.value, &kind),
            (None, Some(first)) => self.expect(&argument.value, first),
            (None, None) => match self.type_of(&argument.value) {
                kind @ (Type::Quantity(_) | Type::Zero | Type::Any | Type::Error) => kind,
                other => self.report(say::wrong_kind(&other, &Type::NUMBER, argument.value.span)),
            },
        }
    }

    /// Whether everything that must be given is, and nothing that excludes itself is given twice.
    fn all_given(&mut self, function: &'static Function, given: &[(&'static str, Span)], span: Span) -> bool {
        let is_given = |name: &str| given.iter().any(|(known, _)| *known == name);
        let missing: Vec<&str> = function
            .parameters
            .iter()
            .filter(|parameter| parameter.is_required() && !is_given(parameter.word))
            .map(|parameter| parameter.word)
            .collect();
        let mut whole = missing.is_empty();
        if !whole {
            self.report(say_name::missing_argument(function, &missing, span));
        }
        let group = function.one_of;
        let chosen: Vec<(&str, Span)> = given.iter().filter(|(name, _)| group.contains(name)).copied().collect();
        if !group.is_empty() && chosen.len() != 1 {
            whole = false;
            self.report(say_name::choose_one(function, group, &chosen, span));
        }
        whole
    }

    fn call_of_maker(&mut self, binding: &'t Let, key: super::Key<'t>, arguments: &'t [Argument], span: Span) -> Type {
        let formals = binding.formals.as_deref().unwrap_or_default();
        for (at, argument) in arguments.iter().enumerate() {
            let formal = match &argument.name {
                Some(name) => formals.iter().find(|formal| formal.name.text == name.text),
                None => formals.get(at),
            };
            match formal.and_then(|formal| Type::of_word(&formal.kind.text)) {
                Some(kind) => self.expect(&argument.value, &kind),
                None => self.type_of(&argument.value),
            };
        }
        let takes: Vec<&str> = formals.iter().map(|formal| formal.name.text.as_str()).collect();
        let words = || arguments.iter().filter_map(|argument| argument.name.as_ref());
        let stray = words().enumerate().find(|(at, word)| {
            !takes.contains(&word.text.as_str()) || words().take(*at).any(|earlier| earlier.text == word.text)
        });
        if let Some((_, word)) = stray {
            return self.report(say_name::word_of_maker(&binding.name.text, &takes, word, binding.name.span));
        }
        if arguments.len() != formals.len() {
            return self.report(say_name::arguments_of_maker(
                &binding.name.text,
                &takes,
                arguments.len(),
                span,
                binding.name.span,
            ));
        }
        self.binding(key, binding, span)
    }
}
