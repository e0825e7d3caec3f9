//! Turns the messages of `src/lang/en.ftl` into functions: one a message, so that a missing one doesn't compile and
//! an unused one is dead code.

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement, VariantKey};
use std::collections::BTreeMap;
use std::fmt::Write;

const MESSAGES: &str = "src/lang/en.ftl";

fn main() {
    println!("cargo:rerun-if-changed={MESSAGES}");
    println!("cargo:rerun-if-changed=build.rs");
    let text = std::fs::read_to_string(MESSAGES).expect("the messages are there");
    let resource = fluent_syntax::parser::parse(text.as_str()).unwrap_or_else(|(_, e)| panic!("{MESSAGES}: {e:?}"));
    let mut out = String::new();
    for entry in &resource.body {
        match entry {
            Entry::Message(m) => {
                let pattern = m.value.as_ref().expect("a message has a value");
                out += &function(m.id.name, pattern);
                for a in &m.attributes {
                    out += &function(&format!("{}-{}", m.id.name, a.id.name), &a.value);
                }
            }
            Entry::Comment(_) | Entry::GroupComment(_) | Entry::ResourceComment(_) => {}
            other => panic!("{MESSAGES}: only plain messages are read here, not {other:?}"),
        }
    }
    let dir = std::env::var("OUT_DIR").expect("cargo names it");
    std::fs::write(format!("{dir}/en.rs"), out).expect("cargo's folder takes a file");
}

/// A text argument is `&str`; one that a plural is chosen by is `i64`.
fn function(id: &str, pattern: &Pattern<&str>) -> String {
    let mut args = BTreeMap::new();
    // Once to learn what kind each argument is of, once to write it.
    push(id, pattern, &mut args);
    let body = push(id, pattern, &mut args);
    let name = id.replace('-', "_");
    if let ([PatternElement::TextElement { value }], true) = (&pattern.elements[..], args.is_empty()) {
        return format!("pub(crate) const fn {name}() -> &'static str {{ {value:?} }}\n");
    }
    let args: Vec<String> = args.iter().map(|(a, ty)| format!("{a}: {ty}")).collect();
    format!("pub(crate) fn {name}({}) -> String {{ let mut s = String::new(); {body} s }}\n", args.join(", "))
}

fn push<'a>(id: &str, pattern: &Pattern<&'a str>, args: &mut BTreeMap<&'a str, &'static str>) -> String {
    let mut code = String::new();
    for element in &pattern.elements {
        let expression = match element {
            PatternElement::TextElement { value } => {
                code += &text(value);
                continue;
            }
            PatternElement::Placeable { expression } => expression,
        };
        match expression {
            Expression::Inline(InlineExpression::VariableReference { id }) => {
                let number = *args.entry(id.name).or_insert("&str") == "i64";
                let text = if number { format!("&{}.to_string()", id.name) } else { id.name.to_owned() };
                write!(code, "s.push_str({text});").expect("a string takes it");
            }
            Expression::Inline(InlineExpression::StringLiteral { value }) => code += &text(value),
            Expression::Select { selector: InlineExpression::VariableReference { id: by }, variants } => {
                args.insert(by.name, "i64");
                write!(code, "match {} {{", by.name).expect("a string takes it");
                for v in variants {
                    let key = match (&v.key, v.default) {
                        (_, true) => "_",
                        (VariantKey::Identifier { name: "one" }, _) => "1",
                        (VariantKey::NumberLiteral { value }, _) => value,
                        (VariantKey::Identifier { name }, _) => panic!("{id}: English has no plural `{name}`"),
                    };
                    write!(code, "{key} => {{ {} }}", push(id, &v.value, args)).expect("a string takes it");
                }
                code.push('}');
            }
            other => panic!("{id}: not read here: {other:?}"),
        }
    }
    code
}

fn text(value: &str) -> String {
    let mut chars = value.chars();
    match (chars.next(), chars.next()) {
        (Some(c), None) => format!("s.push({c:?});"),
        _ => format!("s.push_str({value:?});"),
    }
}
