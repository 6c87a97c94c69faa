//! Kinds of calls: which arguments a function takes, and what it gives.

use super::Infer;
use crate::check::findings::{names as say_name, types as say};
use crate::check::functions::{FUNCTIONS, Function, Gives, Parameter, function_named};
use crate::check::kind::Kind;
use crate::check::names::Meaning;
use crate::diagnostics::suggest;
use crate::source::Span;
use crate::syntax::tree::{Argument, Let, Name};

impl<'t> Infer<'t> {
    pub(super) fn call(&mut self, name: &'t Name, arguments: &'t [Argument], span: Span) -> Kind {
        if let Some(definition) = self.names.get(&name.text, self.layer)
            && let Meaning::Let(binding @ Let { formals: Some(_), .. }) = definition.meaning
        {
            return self.call_of_maker(binding, (&name.text, definition.within), arguments, span);
        }
        let Some(function) = function_named(&name.text) else {
            self.walk(arguments);
            let ours =
                FUNCTIONS.iter().filter(|function| self.measures || !function.measure).map(|function| function.name);
            let theirs = self
                .names
                .iter()
                .filter(|(_, definition)| matches!(definition.meaning, Meaning::Let(Let { formals: Some(_), .. })));
            let nearest = suggest::nearest(&name.text, ours.chain(theirs.map(|(name, _)| name)));
            let ours = suggest::our_function(&name.text).and_then(function_named);
            return self.report(say_name::unknown_function(name, nearest, ours));
        };
        if function.measure && !self.measures {
            self.walk(arguments);
            return self.report(say::measure_outside_expect(function.name, name.span));
        }
        self.call_of_ours(function, arguments, span)
    }

    /// Looks into arguments whose function is at fault, so that what is wrong inside them shows as well.
    fn walk(&mut self, arguments: &'t [Argument]) {
        for argument in arguments {
            self.kind(&argument.value);
        }
    }

    fn call_of_ours(&mut self, function: &'static Function, arguments: &'t [Argument], span: Span) -> Kind {
        let mut given: Vec<(&'static str, Span)> = Vec::new();
        let mut first: Option<Kind> = None;
        let mut flawed = false;
        let mut places = function.parameters.iter().filter(|parameter| parameter.positional);
        for argument in arguments {
            let parameter = match &argument.name {
                Some(name) => match function.parameters.iter().find(|parameter| parameter.name == name.text) {
                    Some(parameter) => Some(parameter),
                    None => {
                        let is_given = |word: &&str| {
                            arguments.iter().any(|one| one.name.as_ref().is_some_and(|name| name.text == **word))
                        };
                        let known = function.parameters.iter().map(|parameter| parameter.name);
                        let known: Vec<&str> = known.filter(|word| !is_given(word)).collect();
                        let nearest = suggest::nearest(&name.text, known.iter().copied())
                            .or_else(|| suggest::cut_short(&name.text, known.iter().copied()));
                        self.kind(&argument.value);
                        self.report(say_name::unknown_argument(function, name, nearest));
                        flawed = true;
                        continue;
                    }
                },
                None => places.next(),
            };
            let kind = match (parameter, &function.rest) {
                (Some(parameter), _) => {
                    if let Some((_, earlier)) = given.iter().find(|(name, _)| *name == parameter.name) {
                        self.report(say_name::argument_twice(parameter.name, argument.value.span, *earlier));
                        flawed = true;
                    }
                    given.push((parameter.name, argument.value.span));
                    self.argument(parameter, argument, first.as_ref())
                }
                (None, Some(rest)) => {
                    let wanted =
                        if *rest == Kind::Broken { first.clone().unwrap_or(Kind::Broken) } else { rest.clone() };
                    self.expect(&argument.value, &wanted)
                }
                (None, None) => {
                    self.kind(&argument.value);
                    flawed = true;
                    self.report(say_name::stray_argument(function, argument.value.span))
                }
            };
            first = first.or(Some(kind));
        }
        // What is missing beside a faulty argument is most likely what that argument was meant to be.
        let whole = !flawed && self.all_given(function, &given, span);
        match (&function.gives, first) {
            _ if !whole => match &function.gives {
                Gives::Kind(kind) => kind.clone(),
                _ => Kind::Broken,
            },
            (Gives::Kind(kind), _) => kind.clone(),
            (Gives::SameAsFirst, Some(kind)) => kind,
            (Gives::Root, Some(kind)) => match kind.dimension().map(crate::units::Dimension::root) {
                Some(Some(root)) => Kind::Quantity(root),
                Some(None) => self.report(say::no_root(&kind, span)),
                None => Kind::Broken,
            },
            (_, None) => Kind::Broken,
        }
    }

    fn argument(&mut self, parameter: &Parameter, argument: &'t Argument, first: Option<&Kind>) -> Kind {
        match (&parameter.kind, first) {
            (Some(kind), _) => self.expect(&argument.value, kind),
            (None, Some(first)) => self.expect(&argument.value, first),
            (None, None) => match self.kind(&argument.value) {
                kind @ (Kind::Quantity(_) | Kind::Zero | Kind::Broken) => kind,
                other => self.report(say::wrong_kind(&other, &Kind::NUMBER, argument.value.span)),
            },
        }
    }

    /// Whether everything that must be given is, and nothing that excludes itself is given twice.
    fn all_given(&mut self, function: &'static Function, given: &[(&'static str, Span)], span: Span) -> bool {
        let is_given = |name: &str| given.iter().any(|(known, _)| *known == name);
        let missing: Vec<&str> = function
            .parameters
            .iter()
            .filter(|parameter| parameter.required && !is_given(parameter.name))
            .map(|parameter| parameter.name)
            .collect();
        let mut whole = missing.is_empty();
        if !whole {
            self.report(say_name::missing_argument(function, &missing, span));
        }
        for group in &function.one_of {
            let chosen: Vec<(&str, Span)> = given.iter().filter(|(name, _)| group.contains(name)).copied().collect();
            if chosen.len() != 1 {
                whole = false;
                self.report(say_name::choose_one(function, group, &chosen, span));
            }
        }
        whole
    }

    fn call_of_maker(&mut self, binding: &'t Let, key: super::Key<'t>, arguments: &'t [Argument], span: Span) -> Kind {
        let formals = binding.formals.as_deref().unwrap_or_default();
        for (at, argument) in arguments.iter().enumerate() {
            let formal = match &argument.name {
                Some(name) => formals.iter().find(|formal| formal.name.text == name.text),
                None => formals.get(at),
            };
            match formal.and_then(|formal| Kind::of_word(&formal.kind.text)) {
                Some(kind) => self.expect(&argument.value, &kind),
                None => self.kind(&argument.value),
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
