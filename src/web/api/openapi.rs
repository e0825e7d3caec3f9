//! `openapi.json`: the API's description, from the routes, the types and the entries' own schemas.

use super::{json, schema};
use crate::lang::{self, Lang};
use crate::ledger::{self, refusal};
use crate::rules;
use crate::web::auth::{COOKIE, HOST_COOKIE};
use crate::web::error::PROBLEMS;
use crate::web::router::api;
use axum::response::Response;
use serde_json::{Map, Value, json};
use std::sync::LazyLock;
use utoipa::OpenApi;

/// What is said before the routes.
#[derive(OpenApi)]
#[openapi(
    info(
        title = "counterclock",
        description = "How long each perishable-dairy item of a bakery has been out of the cold, and until when it may \
            stand. Everything that happens is an entry; from the entries and the rules follows where each item stands. \
            Every verdict is guidance: the local health authority's code and its decisions come first.\n\n\
            Stretches of time are whole milliseconds in members ending in `_ms`. Instants are RFC 3339. Errors are \
            RFC 9457 problems with a stable `code`. Answers may gain members; what is sent may have none but those \
            described."
    ),
    servers((url = "..", description = "The service this description came from.")),
    security(("bearer" = []), ("cookie" = [])),
    tags(
        (name = "Ledger", description = "What happened."),
        (name = "Items", description = "Where items stand."),
        (name = "Set-up", description = "What the shop is set up with."),
        (name = "Record", description = "The record for an inspector."),
        (name = "Service", description = "About the service itself. No sign-in needed."),
    ),
    components(schemas(
        schema::Problem,
        ledger::Control,
        ledger::Exempt,
        ledger::MarkHow,
        ledger::CloseAs,
        ledger::Action,
        ledger::ByHow,
        ledger::Unit,
        rules::Use,
        rules::Returns,
        rules::ClauseText,
        rules::Source,
    ))
)]
pub struct Start;

/// What a reading request may be answered with.
const READING: &[&str] = &["bad-query", "not-signed-in", "not-allowed", "not-found", "not-recorded"];
/// What a writing request is never answered with.
const NOT_WRITING: &[&str] = &["bad-query", "wrong-method"];

static DOCUMENT: LazyLock<String> = LazyLock::new(|| lang::within(Lang::En, || document().to_string()));

/// This description
///
/// The API in OpenAPI 3.1.
#[utoipa::path(
    get,
    path = "/api/openapi.json",
    tag = "Service",
    security(()),
    responses((status = 200, description = "An OpenAPI 3.1 document.", body = Object))
)]
pub async fn openapi() -> Response {
    json(DOCUMENT.clone())
}

/// The whole description.
pub fn document() -> Value {
    let mut doc = serde_json::to_value(api().into_openapi()).unwrap_or_default();
    let entries: Map<String, Value> = serde_json::from_str(schema::ENTRIES).unwrap_or_default();
    post_examples(&mut doc, &entries);
    let Some(schemas) = doc["components"]["schemas"].as_object_mut() else { return doc };
    schemas.extend(entries);
    name_texts(schemas);
    for members in schemas.values_mut().filter_map(|s| s.get_mut("properties")?.as_object_mut()) {
        members.values_mut().for_each(lift_description);
    }
    doc["components"]["parameters"] = json!({"site": {"name": "site", "in": "path", "required": true,
        "description": "The shop's id; a first shop is called `shop`.", "schema": {"$ref": "#/components/schemas/Id"}}});
    doc["components"]["securitySchemes"] = json!({
        "bearer": {"type": "http", "scheme": "bearer",
            "description": "A token made with `counterclock token add`. Its role says what it may do: staff write what \
                happens, managers everything, inspectors read, probes write air readings, of the places their token is \
                limited to if it is."},
        "cookie": {"type": "apiKey", "in": "cookie", "name": HOST_COOKIE,
            "description": format!("The cookie of a sign-in; over plain http it is called `{COOKIE}`.")},
    });
    add_problems(&mut doc);
    doc
}

/// What every operation has beside its own words: the shop it is about, and the problems it may answer with.
fn add_problems(doc: &mut Value) {
    let (reading, writing) = (problems("read", reads), problems("write", writes));
    for (path, item) in doc["paths"].as_object_mut().into_iter().flatten() {
        let Some(item) = item.as_object_mut() else { continue };
        for operation in item.values_mut() {
            let opened = operation["security"].as_array().is_some_and(|s| s.iter().all(|s| *s == json!({})));
            let (rows, queried) = match operation.get("requestBody") {
                _ if opened => continue,
                Some(_) => (&writing, true),
                None => (&reading, operation.get("parameters").is_some()),
            };
            let parameters = operation.get_mut("parameters").and_then(Value::as_array_mut);
            for header in parameters.into_iter().flatten().filter(|p| p["in"] == "header") {
                // A header is there or not; it is never `null`.
                header["schema"]["type"] = json!("string");
            }
            for (status, name, _) in rows.iter().filter(|(status, _, _)| queried || *status != 400) {
                operation["responses"][status.to_string()] = json!({"$ref": format!("#/components/responses/{name}")});
            }
        }
        if path.contains("{site}") {
            item.insert(String::from("parameters"), json!([{"$ref": "#/components/parameters/site"}]));
        }
    }
    for (_, name, response) in reading.into_iter().chain(writing) {
        doc["components"]["responses"][name] = response;
    }
}

/// The request's examples are those of the kinds, in the order in which they can be posted.
fn post_examples(doc: &mut Value, entries: &Map<String, Value>) {
    let kinds = entries["Entry"]["oneOf"].as_array().into_iter().flatten();
    let named = kinds.filter_map(|k| entries.get(k["$ref"].as_str()?.rsplit('/').next()?));
    let mut examples = Map::new();
    for example in named.flat_map(|k| k["examples"].as_array().into_iter().flatten()) {
        let name = format!("{:02}-{}", examples.len() + 1, example["kind"].as_str().unwrap_or_default());
        examples.insert(name, json!({ "value": example }));
    }
    doc["paths"]["/s/{site}/api/entries"]["post"]["requestBody"]["content"]["application/json"]["examples"] =
        examples.into();
}

/// A member that may be `null` is described beside the choice, not inside it.
fn lift_description(member: &mut Value) {
    let Some(choices) = member.get_mut("oneOf").and_then(Value::as_array_mut) else { return };
    let described = choices.iter_mut().find_map(|c| c.as_object_mut()?.remove("description"));
    if let (Some(text), None) = (described, member.get("description")) {
        member["description"] = text;
    }
}

/// Members that are plain text to the program, and one of a few words to its callers.
fn name_texts(schemas: &mut Map<String, Value>) {
    let words = |what: &str, rows: &[(&str, &str)]| {
        let words: Vec<&str> = rows.iter().map(|r| r.0).collect();
        let lines: String = rows.iter().map(|(word, means)| format!("\n* `{word}`: {means}")).collect();
        json!({"type": "string", "enum": words, "description": format!("{what}\n{lines}")})
    };
    let mut codes: Vec<(&str, &str)> = PROBLEMS.iter().map(|p| (p.0, p.2())).collect();
    codes.extend(refusal::CODES.iter().map(|c| (c.code, (c.title)())));
    let named = [
        ("Measure", words("What a clause measures.", rules::MEASURES), &["Clause", "Decides", "Reason"][..], "measure"),
        ("DeviationCode", words("What was done.", rules::DEVIATIONS), &["Deviation"], "code"),
        ("ProblemCode", words("What went wrong. More may be added.", &codes), &["Problem"], "code"),
    ];
    for (name, schema, holders, member) in named {
        for holder in holders {
            let described = schemas[*holder]["properties"][member]["description"].take();
            schemas[*holder]["properties"][member] =
                json!({"$ref": format!("#/components/schemas/{name}"), "description": described});
        }
        schemas.insert(name.to_owned(), schema);
    }
    schemas["Reason"]["properties"]["used"]["type"] = json!(["integer", "string", "null"]);
}

fn reads(code: &str) -> bool {
    READING.contains(&code)
}

fn writes(code: &str) -> bool {
    !NOT_WRITING.contains(&code)
}

/// One response a status: its name and its text, listing its codes.
fn problems(prefix: &str, wanted: fn(&str) -> bool) -> Vec<(u16, String, Value)> {
    let mut rows: Vec<(u16, &str, &str, &str)> = PROBLEMS.iter().map(|p| (p.1, p.0, p.2(), p.3())).collect();
    rows.extend(refusal::CODES.iter().map(|c| (c.status, c.code, (c.title)(), (c.next)())));
    rows.retain(|r| wanted(r.1));
    rows.sort_by_key(|r| r.0);
    let mut found = Vec::new();
    for of in rows.chunk_by(|a, b| a.0 == b.0) {
        let lines: Vec<String> =
            of.iter().map(|(_, code, title, next)| format!("* `{code}`: {title} {next}")).collect();
        let content = json!({"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}});
        let mut response = json!({"description": lines.join("\n"), "content": content});
        let header = |text: &str| json!({"description": text, "schema": {"type": "string"}});
        match of[0].0 {
            401 => response["headers"] = json!({"WWW-Authenticate": header("`Bearer`.")}),
            503 => response["headers"] = json!({"Retry-After": header("Seconds after which to send it again.")}),
            _ => {}
        }
        found.push((of[0].0, format!("{prefix}-{}", of[0].0), response));
    }
    found
}
