//! Turns the messages of `src/lang/en.ftl` and `src/lang/es.ftl` into functions: one a message, which says it in the
//! language in force. A message that is missing in one of them, or has other variables there, doesn't build; a missing one
//! doesn't compile where it is used, and an unused one is dead code.
//!
//! Builds with debug assertions, as the tests are, have a third language made from English here: longer and accented, to
//! show that no layout breaks.

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement, VariantKey};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Each file, its arm, and what its plurals may be (CLDR: `many` is for millions, which nothing here counts).
const FILES: [(&str, &str); 2] = [("src/lang/en.ftl", "Lang::En"), ("src/lang/es.ftl", "Lang::Es")];

type Args = BTreeMap<String, &'static str>;

/// What a message says in one language: its arguments, whether it is a plain text, and the code that makes it.
struct Said {
    args: Args,
    plain: bool,
    code: String,
}

/// The version with the commit it is built from, where there is a repository. Only releases ask, so that a commit doesn't
/// have the tests built anew.
fn version() -> String {
    let version = std::env::var("CARGO_PKG_VERSION").unwrap_or_default();
    if std::env::var("PROFILE").as_deref() != Ok("release") {
        return format!("{version} (not a release)");
    }
    // One that isn't there would have everything built anew each time.
    for file in [".git/HEAD", ".git/refs/heads"].into_iter().filter(|f| std::path::Path::new(f).exists()) {
        println!("cargo:rerun-if-changed={file}");
    }
    let git = |args: &[&str]| {
        let out = std::process::Command::new("git").args(args).output().ok().filter(|out| out.status.success())?;
        Some(String::from_utf8_lossy(&out.stdout).trim().to_owned())
    };
    let changed = git(&["status", "--porcelain", "--untracked-files=no"]).is_some_and(|said| !said.is_empty());
    match git(&["rev-parse", "--short=12", "HEAD"]) {
        Some(commit) => format!("{version} ({commit}{})", if changed { ", changed" } else { "" }),
        None => version,
    }
}

fn main() {
    println!("cargo:rustc-env=COUNTERCLOCK_VERSION={}", version());
    println!("cargo:rerun-if-changed=build.rs");
    let texts = FILES.map(|(file, _)| {
        println!("cargo:rerun-if-changed={file}");
        std::fs::read_to_string(file).unwrap_or_else(|e| panic!("{file}: {e}"))
    });
    let [en, es] = [0, 1].map(|i| messages(FILES[i].0, &texts[i], |t| t.to_owned()));
    let long = messages(FILES[0].0, &texts[0], pseudo);
    let (have, want) = (es.iter().map(|m| &m.0), en.iter().map(|m| &m.0));
    if let Some((a, b)) = want.clone().zip(have.clone()).find(|(a, b)| a != b) {
        panic!(
            "{}: where `{a}` should stand, `{b}` does: both files have the same messages in the same order",
            FILES[1].0
        );
    }
    assert_eq!(have.len(), want.len(), "{} lacks messages at its end, or has more", FILES[1].0);
    let mut out = String::new();
    for ((id, en), ((_, es), (_, long))) in en.iter().zip(es.iter().zip(&long)) {
        assert_eq!(en.args, es.args, "`{id}` has other variables in {}", FILES[1].0);
        assert_eq!(en.plain, es.plain, "`{id}` is a plain text in one language and none in the other");
        out += &function(id, en, &[(FILES[0].1, en), (FILES[1].1, es)], long);
    }
    let dir = std::env::var("OUT_DIR").expect("cargo names it");
    std::fs::write(format!("{dir}/messages.rs"), out).expect("cargo's folder takes a file");
}

fn messages(file: &str, text: &str, change: fn(&str) -> String) -> Vec<(String, Said)> {
    let resource = fluent_syntax::parser::parse(text).unwrap_or_else(|(_, e)| panic!("{file}: {e:?}"));
    let mut found = Vec::new();
    for entry in &resource.body {
        match entry {
            Entry::Message(m) => {
                let pattern = m.value.as_ref().expect("a message has a value");
                found.push((m.id.name.to_owned(), said(file, m.id.name, pattern, change)));
                for a in &m.attributes {
                    let id = format!("{}-{}", m.id.name, a.id.name);
                    let said = said(file, &id, &a.value, change);
                    found.push((id, said));
                }
            }
            Entry::Comment(_) | Entry::GroupComment(_) | Entry::ResourceComment(_) => {}
            other => panic!("{file}: only plain messages are read here, not {other:?}"),
        }
    }
    found
}

/// Longer by about half, and accented.
fn pseudo(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        let with = match c {
            'a' => "áa",
            'e' => "ée",
            'i' => "íi",
            'o' => "öo",
            'u' => "üu",
            'A' => "Å",
            'E' => "É",
            'O' => "Ö",
            'n' => "ñ",
            _ => {
                out.push(c);
                continue;
            }
        };
        out.push_str(with);
    }
    out
}

/// A text argument is `&str`; one that a plural is chosen by is `i64`.
fn said(file: &str, id: &str, pattern: &Pattern<&str>, change: fn(&str) -> String) -> Said {
    let mut args = Args::new();
    let at = &format!("{file}: {id}");
    // Once to learn what kind each argument is of, once to write it.
    push(at, pattern, &mut args, change);
    let code = push(at, pattern, &mut args, change);
    match (&pattern.elements[..], args.is_empty()) {
        ([PatternElement::TextElement { value }], true) => {
            Said { args, plain: true, code: format!("{:?}", change(value)) }
        }
        _ => Said { args, plain: false, code },
    }
}

fn function(id: &str, like: &Said, arms: &[(&str, &Said)], long: &Said) -> String {
    let name = id.replace('-', "_");
    let args: Vec<String> = like.args.iter().map(|(a, ty)| format!("{a}: {ty}")).collect();
    let arm = |(lang, said): (&str, &Said)| format!("{lang} => {{ {} }} ", said.code);
    let arms: String = arms.iter().map(|(lang, said)| arm((lang, said))).collect();
    let long = arm(("#[cfg(debug_assertions)] Lang::Long | Lang::Leftwards", long));
    match like.plain {
        true => format!("pub(crate) fn {name}() -> &'static str {{ match spoken() {{ {arms}{long} }} }}\n"),
        false => format!(
            "pub(crate) fn {name}({}) -> String {{ let mut s = String::new(); match spoken() {{ {arms}{long} }} s }}\n",
            args.join(", ")
        ),
    }
}

fn push(at: &str, pattern: &Pattern<&str>, args: &mut Args, change: fn(&str) -> String) -> String {
    let mut code = String::new();
    for element in &pattern.elements {
        let expression = match element {
            PatternElement::TextElement { value } => {
                code += &text(&change(value));
                continue;
            }
            PatternElement::Placeable { expression } => expression,
        };
        match expression {
            Expression::Inline(InlineExpression::VariableReference { id }) => {
                let number = *args.entry(id.name.to_owned()).or_insert("&str") == "i64";
                let text = if number { format!("&{}.to_string()", id.name) } else { id.name.to_owned() };
                write!(code, "s.push_str({text});").expect("a string takes it");
            }
            Expression::Inline(InlineExpression::StringLiteral { value }) => code += &text(value),
            Expression::Select { selector: InlineExpression::VariableReference { id: by }, variants } => {
                args.insert(by.name.to_owned(), "i64");
                write!(code, "match {} {{", by.name).expect("a string takes it");
                for v in variants {
                    // Both languages have one form for 1 and another for the rest.
                    let key = match (&v.key, v.default) {
                        (_, true) => "_",
                        (VariantKey::Identifier { name: "one" }, _) => "1",
                        (VariantKey::NumberLiteral { value }, _) => value,
                        (VariantKey::Identifier { name }, _) => panic!("{at}: no plural `{name}` is known here"),
                    };
                    write!(code, "{key} => {{ {} }}", push(at, &v.value, args, change)).expect("a string takes it");
                }
                code.push('}');
            }
            other => panic!("{at}: not read here: {other:?}"),
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
