//! The API's description: whole, true of every answer, and with examples that work.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use counterclock::clock::{Clock, Instant};
use counterclock::ledger::{self, refusal};
use counterclock::people::Role;
use counterclock::rules;
use counterclock::store::Db;
use counterclock::web::api::openapi::document;
use counterclock::web::service::{FIRST_SITE, Service};
use counterclock::web::{error, router};
use jsonschema::{Draft, Validator};
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicI64;
use tower::ServiceExt;

/// A shop with nothing but its first entry, on the evening of the examples' day.
struct Shop {
    router: Router,
    token: String,
    folder: PathBuf,
}

impl Shop {
    async fn open() -> Shop {
        let mut random = [0_u8; 8];
        getrandom::fill(&mut random).expect("randomness");
        let folder = std::env::temp_dir().join(format!("cc_test_{:016x}", u64::from_be_bytes(random)));
        std::fs::create_dir_all(&folder).expect("a folder");
        let db = Db::open(&format!("sqlite://{}", folder.join("shop.db").display())).await.expect("a database");
        let Instant(now) = Instant::parse("2026-05-02T20:00:00+01:00").expect("an instant");
        let service = Service::open(db, Clock::Fixed(Arc::new(AtomicI64::new(now)))).await.expect("a service");
        let first = json!({"kind": "site", "name": "Shop", "zone": "Europe/London", "units": "C"});
        assert!(service.add_site(FIRST_SITE, &first.to_string()).await.expect("a site"));
        let token = service.add_token(FIRST_SITE, "manager", Role::Manager).await.expect("a token");
        Shop { router: router(service), token, folder }
    }

    async fn send(&self, method: &str, path: &str, body: Option<&Value>, token: bool) -> Answer {
        let mut request = Request::builder().method(method).uri(path);
        if token {
            request = request.header("authorization", format!("Bearer {}", self.token));
        }
        if body.is_some() {
            request = request.header("content-type", "application/json");
        }
        self.ask(request.body(body.map_or(Body::empty(), |b| Body::from(b.to_string()))).expect("a request")).await
    }

    async fn ask(&self, request: Request<Body>) -> Answer {
        let (parts, body) = self.router.clone().oneshot(request).await.expect("an answer").into_parts();
        let bytes = to_bytes(body, usize::MAX).await.expect("a whole body");
        let text = String::from_utf8(bytes.to_vec()).expect("UTF-8");
        Answer { status: parts.status, headers: parts.headers, text }
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        _ = std::fs::remove_dir_all(&self.folder);
    }
}

struct Answer {
    status: StatusCode,
    headers: HeaderMap,
    text: String,
}

impl Answer {
    fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|e| panic!("{e}: {}", self.text))
    }

    /// The media type alone.
    fn kind(&self) -> &str {
        let kind = self.headers.get("content-type").map_or("", |v| v.to_str().expect("plain text"));
        kind.split(';').next().unwrap_or("")
    }
}

/// The description, and what it says an answer looks like.
struct Described {
    doc: Value,
    /// The components, with every shape closed: what is sent and isn't described is found.
    closed: Value,
}

impl Described {
    fn new() -> Described {
        let doc = document();
        let mut closed = doc["components"].clone();
        for (name, schema) in closed["schemas"].as_object_mut().expect("schemas") {
            // Kinds of entries are closed by what names them.
            if schema.get("properties").is_some() && !name.ends_with("Entry") {
                schema["additionalProperties"] = json!(false);
            }
        }
        Described { doc, closed }
    }

    fn of(&self, schema: &Value) -> Validator {
        let mut whole = schema.clone();
        whole["components"] = self.closed.clone();
        let options = jsonschema::options().with_draft(Draft::Draft202012).should_validate_formats(true);
        options.build(&whole).unwrap_or_else(|e| panic!("{schema}: {e}"))
    }

    fn named(&self, name: &str) -> Validator {
        self.of(&json!({"$ref": format!("#/components/schemas/{name}")}))
    }

    /// Follows `$ref`, if there is one.
    fn at<'a>(&'a self, value: &'a Value) -> &'a Value {
        match value["$ref"].as_str() {
            Some(to) => self.at(self.doc.pointer(to.strip_prefix('#').expect("a local reference")).expect(to)),
            None => value,
        }
    }

    /// Checks an answer against what the description says of that operation and status.
    fn check(&self, method: &str, path: &str, answer: &Answer) {
        let said = format!("{method} {path} {}", answer.status);
        let response = &self.doc["paths"][path][method]["responses"][answer.status.as_str()];
        assert!(!response.is_null(), "{said} is not described: {}", answer.text);
        let response = self.at(response);
        let Some(content) = response["content"].as_object() else {
            assert_eq!(answer.text, "", "{said}");
            return;
        };
        let schema = &content.get(answer.kind()).unwrap_or_else(|| panic!("{said}: {}", answer.kind()))["schema"];
        if answer.kind().ends_with("json") {
            valid(&self.of(schema), &answer.json(), &said);
        }
        if answer.status.is_client_error() {
            let code = answer.json()["code"].as_str().expect("a code").to_owned();
            let listed = response["description"].as_str().expect("a description");
            assert!(listed.contains(&format!("`{code}`")), "{said}: `{code}` is not listed");
        }
    }

    /// Every operation: path, method, itself.
    fn operations(&self) -> Vec<(&str, &str, &Value)> {
        let paths = self.doc["paths"].as_object().expect("paths");
        let methods = paths.iter().flat_map(|(path, item)| {
            item.as_object().expect("a path").iter().map(move |(method, operation)| (&**path, &**method, operation))
        });
        methods.filter(|(_, method, _)| *method != "parameters").collect()
    }

    /// The examples of entries, in the order of the kinds.
    fn examples(&self) -> Vec<Value> {
        let kinds = self.doc["components"]["schemas"]["Entry"]["oneOf"].as_array().expect("kinds");
        kinds.iter().flat_map(|k| self.at(k)["examples"].as_array().expect("examples").clone()).collect()
    }
}

#[track_caller]
fn valid(schema: &Validator, value: &Value, said: &str) {
    let errors: Vec<String> = schema.iter_errors(value).map(|e| format!("{}: {e}", e.instance_path())).collect();
    assert!(errors.is_empty(), "{said}: {errors:#?}\n{value:#}");
}

fn walk<'a>(value: &'a Value, path: &str, see: &mut dyn FnMut(&str, &'a Value)) {
    see(path, value);
    match value {
        Value::Object(o) => o.iter().for_each(|(k, v)| walk(v, &format!("{path}/{}", k.replace('/', "~1")), see)),
        Value::Array(a) => a.iter().enumerate().for_each(|(i, v)| walk(v, &format!("{path}/{i}"), see)),
        _ => {}
    }
}

#[test]
fn is_whole() {
    let d = Described::new();
    assert!(d.doc["openapi"].as_str().is_some_and(|v| v.starts_with("3.1.")), "{}", d.doc["openapi"]);
    let mut used = BTreeSet::new();
    walk(&d.doc, "", &mut |path, v| {
        assert!(!v.is_null(), "{path} is null");
        if let Some(to) = v.get("$ref").and_then(Value::as_str) {
            let target = to.strip_prefix('#').and_then(|to| d.doc.pointer(to));
            assert!(target.is_some_and(|t| !t.is_null()), "{path}: {to} names nothing");
            used.insert(to.to_owned());
        }
    });
    for (part, names) in d.doc["components"].as_object().expect("components") {
        for name in names.as_object().expect("named").keys().filter(|_| part != "securitySchemes") {
            assert!(used.contains(&format!("#/components/{part}/{name}")), "{part}/{name} is used nowhere");
        }
    }
    for (name, schema) in d.doc["components"]["schemas"].as_object().expect("schemas") {
        if let Err(e) = jsonschema::draft202012::meta::validate(schema) {
            panic!("{name} is no schema: {e}");
        }
    }
    let mut ids = BTreeSet::new();
    for (path, method, operation) in d.operations() {
        let id = operation["operationId"].as_str().expect("an operation's id");
        assert!(ids.insert(id), "{id} stands twice");
        assert!(operation["summary"].is_string() && operation["tags"].is_array(), "{method} {path}");
        let own = operation["parameters"].as_array().into_iter().flatten();
        let all: Vec<&Value> =
            own.chain(d.doc["paths"][path]["parameters"].as_array().into_iter().flatten()).map(|p| d.at(p)).collect();
        let named: BTreeSet<&str> =
            all.iter().filter(|p| p["in"] == "path").filter_map(|p| p["name"].as_str()).collect();
        let needed: BTreeSet<&str> =
            path.split('/').filter_map(|s| s.strip_prefix('{').and_then(|s| s.strip_suffix('}'))).collect();
        assert_eq!(named, needed, "{method} {path}");
        for p in all {
            assert!(p["description"].as_str().is_some_and(|t| t.len() > 10), "{method} {path}: {p}");
            assert_eq!(p["required"], p["in"] == "path", "{method} {path}: {p}");
        }
    }
}

#[test]
fn describes_every_member() {
    let d = Described::new();
    walk(&d.doc["components"]["schemas"], "", &mut |path, v| {
        let Some(members) = v.get("properties").and_then(Value::as_object).filter(|_| !path.contains("/examples/"))
        else {
            return;
        };
        for (name, member) in members.iter().filter(|(_, m)| **m != json!(false)) {
            let said = member["description"].as_str().or_else(|| d.at(member)["description"].as_str());
            assert!(said.is_some_and(|t| t.len() > 3 && t.ends_with(['.', '…'])), "{path}: `{name}`: {said:?}");
            let null = |t: &Value| *t == json!("null") || t.as_array().is_some_and(|t| t.contains(&json!("null")));
            let nullable = null(&member["type"])
                || member["oneOf"].as_array().is_some_and(|choices| choices.iter().any(|c| null(&c["type"])));
            let required = v["required"].as_array().is_some_and(|r| r.contains(&json!(name)));
            // A temperature that nobody took is told from a measure that isn't a temperature.
            let both = path == "/Reason" && name == "used";
            assert!(!nullable || required || both, "{path}: `{name}` may be absent and may be `null`");
        }
    });
    for (name, schema) in d.doc["components"]["schemas"].as_object().expect("schemas") {
        assert!(schema["description"].is_string(), "{name} has no description");
    }
}

#[test]
fn lists_every_problem() {
    let d = Described::new();
    let codes = d.doc["components"]["schemas"]["ProblemCode"]["enum"].as_array().expect("codes");
    let listed: BTreeSet<&str> = codes.iter().filter_map(Value::as_str).collect();
    let all = error::PROBLEMS.iter().map(|p| (p.0, p.1)).chain(refusal::CODES.iter().map(|c| (c.code, c.status)));
    let all: BTreeMap<&str, u16> = all.collect();
    assert_eq!(listed, all.keys().copied().collect());
    let responses = d.doc["components"]["responses"].as_object().expect("responses");
    for (code, status) in all {
        let here = |(name, r): (&String, &Value)| {
            name.ends_with(&status.to_string())
                && r["description"].as_str().is_some_and(|t| t.contains(&format!("`{code}`")))
        };
        // A method that isn't described has no operation to list its problem at.
        assert!(code == "wrong-method" || responses.iter().any(here), "{code} stands in no {status}");
    }
    let measured = |text: &str| rules::MEASURES.iter().any(|(name, _)| *name == text);
    let book = rules::book::all().iter().flat_map(|r| &r.clauses).map(|c| c.measure.name());
    let own = d.examples().into_iter().flat_map(|e| e["clauses"].as_array().cloned().unwrap_or_default());
    let own: Vec<String> = own.map(|c| c["measure"].as_str().expect("a measure").to_owned()).collect();
    let known: BTreeSet<&str> = book.chain(own.iter().map(String::as_str)).collect();
    assert!(known.iter().all(|name| measured(name)), "{known:?}");
    assert_eq!(known.len(), rules::MEASURES.len(), "{known:?}");
}

#[tokio::test]
async fn names_the_routes_there_are() {
    let (d, shop) = (Described::new(), Shop::open().await);
    for (path, _, _) in d.operations() {
        let address = path.replace("{site}", "shop").replace("{item}", "nothing");
        for method in ["get", "post", "put", "patch", "delete"] {
            let answer = shop.send(&method.to_uppercase(), &address, None, false).await;
            let described = d.doc["paths"][path].get(method);
            match described {
                None => assert_eq!(answer.status, 405, "{method} {path}"),
                Some(o) if o["security"] == json!([{}]) => assert_eq!(answer.status, 200, "{method} {path}"),
                Some(_) => assert_eq!(answer.status, 401, "{method} {path}"),
            }
            if described.is_some() {
                d.check(method, path, &answer);
            }
        }
    }
}

#[tokio::test]
async fn is_true_of_the_answers() {
    let (d, shop) = (Described::new(), Shop::open().await);
    let entries = "/s/{site}/api/entries";
    let (posted, kept) = (d.named("Entry"), d.named("LedgerEntry"));
    let mut kinds = BTreeSet::new();
    for example in d.examples() {
        kinds.insert(example["kind"].as_str().expect("a kind").to_owned());
        valid(&posted, &example, "the example");
        let answer = shop.send("POST", "/s/shop/api/entries", Some(&example), true).await;
        assert_eq!(answer.status, 201, "{example:#} {}", answer.text);
        d.check("post", entries, &answer);
    }
    let named = d.doc["components"]["schemas"]["Entry"]["discriminator"]["mapping"].as_object().expect("a mapping");
    assert_eq!(kinds.iter().collect::<Vec<_>>(), named.keys().collect::<BTreeSet<_>>().into_iter().collect::<Vec<_>>());
    let requests = &d.doc["paths"][entries]["post"]["requestBody"]["content"]["application/json"]["examples"];
    let requests: Vec<Value> = requests.as_object().expect("examples").values().map(|e| e["value"].clone()).collect();
    assert_eq!(requests, d.examples());

    let get = async |path: &str, query: &str, status: u16| {
        let address = path.replace("{site}", "shop") + query;
        let answer = shop.send("GET", &address, None, true).await;
        assert_eq!(answer.status, status, "{address}: {}", answer.text);
        // `…/items/ID` is described with the id as a parameter.
        let described = match path.split_once("/items/") {
            Some((before, _)) => format!("{before}/items/{{item}}"),
            None => path.to_owned(),
        };
        d.check("get", &described, &answer);
        answer
    };
    let mut seen = BTreeSet::new();
    for state in ["open", "out", "cold", "frozen", "closed"] {
        let page = get("/s/{site}/api/items", &format!("?state={state}&limit=1"), 200).await.json();
        if let Some(cursor) = page["next_cursor"].as_str() {
            get("/s/{site}/api/items", &format!("?state={state}&cursor={cursor}"), 200).await;
        }
        let all = get("/s/{site}/api/items", &format!("?state={state}"), 200).await.json();
        for s in all["items"].as_array().expect("items") {
            seen.insert(s["item"].as_str().expect("an id").to_owned());
        }
    }
    assert_eq!(seen.len(), 3, "{seen:?}");
    let mut members: BTreeMap<String, BTreeSet<bool>> = BTreeMap::new();
    for item in &seen {
        for hour in 9..20 {
            for query in ["", "&known_at=2026-05-03T00:00:00Z"] {
                let query = format!("?as_of=2026-05-02T{hour:02}:35:00Z{query}");
                let whole = get(&format!("/s/{{site}}/api/items/{item}"), &query, 200).await.json();
                for (name, value) in whole["standing"].as_object().expect("a standing") {
                    let empty = value.is_null() || *value == json!([]);
                    members.entry(name.clone()).or_default().insert(empty);
                }
            }
        }
        get(&format!("/s/{{site}}/api/items/{item}"), "", 200).await;
    }
    // The examples show every member of a standing with something in it, or the check above would mean little.
    let always_empty: Vec<&String> = members.iter().filter(|(_, s)| !s.contains(&false)).map(|(n, _)| n).collect();
    assert!(always_empty.is_empty(), "{always_empty:?}");
    let tail = get(entries, "?limit=1000", 200).await.json();
    let tail = tail["entries"].as_array().expect("entries").clone();
    tail.iter().for_each(|e| valid(&kept, e, "the tail"));
    for path in ["rules", "places", "products"] {
        get(&format!("/s/{{site}}/api/{path}"), "", 200).await;
    }
    let record = get("/s/{site}/api/record.jsonl", "?from=2026-05-02&to=2026-05-02", 200).await;
    let lines: Vec<Value> = record.text.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    assert_eq!(lines, tail);
    get("/s/{site}/api/record.csv", "", 200).await;
    for path in ["/healthz", "/readyz"] {
        get(path, "", 200).await;
    }
    assert_eq!(get("/api/openapi.json", "", 200).await.json(), d.doc);

    get("/s/{site}/api/items/nothing", "", 404).await;
    get("/s/{site}/api/items", "?state=warm", 400).await;
    get(entries, "?after=x", 400).await;
    get("/s/{site}/api/record.csv", "?from=yesterday", 400).await;
    let refused = [
        (json!({"kind": "move", "item": "nothing", "place": "bench"}), 409),
        (json!({"kind": "fly"}), 400),
        (json!([{"kind": "site", "name": "", "zone": "UTC", "units": "C"}]), 400),
    ];
    for (entry, status) in refused {
        let answer = shop.send("POST", "/s/shop/api/entries", Some(&entry), true).await;
        assert_eq!(answer.status, status, "{}", answer.text);
        d.check("post", entries, &answer);
    }
    let asks = [
        (415, "text/plain", None, json!({})),
        (201, "application/json", Some("a"), d.examples()[0].clone()),
        (422, "application/json", Some("a"), d.examples()[1].clone()),
        (400, "application/json", Some(""), d.examples()[1].clone()),
    ];
    for (status, kind, key, body) in asks {
        let bearer = format!("Bearer {}", shop.token);
        let mut request = Request::post("/s/shop/api/entries").header("authorization", bearer);
        request = request.header("content-type", kind);
        if let Some(key) = key {
            request = request.header("idempotency-key", key);
        }
        let answer = shop.ask(request.body(Body::from(body.to_string())).expect("a request")).await;
        assert_eq!(answer.status, status, "{}", answer.text);
        d.check("post", entries, &answer);
    }
}

/// What the reader of entries takes is what the schema allows, member by member.
#[test]
fn entries_agree_with_their_reader() {
    let d = Described::new();
    let posted = d.named("Entry");
    let long = "x".repeat(501);
    let odd = [
        json!(true),
        json!({}),
        json!([]),
        json!(""),
        json!("a b"),
        json!(-1),
        json!(1.5),
        json!(7),
        json!(long),
        json!(["tub-3"]),
        json!("tub-3"),
        json!("2026-05-02T15:20:00Z"),
        json!("2026-13-02T15:20:00Z"),
        json!("C"),
    ];
    let known = |entry: &Map<String, Value>, member: &str| match (entry["kind"].as_str().unwrap_or(""), member) {
        // A zone's name is looked up, a clause's parts depend on its measure, the probed item is one of the rack:
        // what a schema can't say.
        ("site", "zone") | ("rule", "clauses") => true,
        ("reading", "items" | "probed") => entry.contains_key("items"),
        _ => false,
    };
    let mut tried = 0;
    let mut agree = |entry: &Map<String, Value>, said: String| {
        let entry = Value::Object(entry.clone());
        let read = ledger::parse(&entry.to_string(), ledger::From::Caller);
        let fits = posted.is_valid(&entry);
        tried += 1;
        assert_eq!(fits, read.is_ok(), "{said}: {:?}\n{entry:#}", read.err());
    };
    for example in d.examples() {
        let entry = example.as_object().expect("an object");
        let kind = entry["kind"].as_str().expect("a kind");
        let schema = json!({"$ref": d.doc["components"]["schemas"]["Entry"]["discriminator"]["mapping"][kind]});
        let members = &d.at(&schema)["properties"];
        for member in members.as_object().expect("members").keys() {
            let mut without = entry.clone();
            without.remove(member);
            agree(&without, format!("{kind} without `{member}`"));
            for value in odd.iter().filter(|_| !known(entry, member)) {
                let mut other = entry.clone();
                other.insert(member.clone(), value.clone());
                agree(&other, format!("{kind} with `{member}` {value}"));
            }
        }
        for stranger in ["colour", "seq", "by", "hash", "recorded_at"] {
            let mut other = entry.clone();
            other.insert(stranger.to_owned(), json!(1));
            agree(&other, format!("{kind} with `{stranger}`"));
        }
    }
    assert!(tried > 1_000, "{tried}");
}

#[test]
fn stays_as_it_is() {
    let text = serde_json::to_string_pretty(&document()).expect("JSON");
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("openapi", text);
    });
}

/// The table of codes in DEVELOPERS.md is the one the program has. `INSTA_UPDATE=always` writes it there.
#[test]
fn developers_table_of_codes() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md");
    let text = std::fs::read_to_string(path).expect("DEVELOPERS.md");
    let (before, rest) = text.split_once("<!-- codes -->\n").expect("the mark where the table begins");
    let (found, after) = rest.split_once("<!-- /codes -->").expect("the mark where the table ends");
    let table = format!("\n{}\n", error::table());
    if found != table && std::env::var("INSTA_UPDATE").as_deref() == Ok("always") {
        std::fs::write(path, format!("{before}<!-- codes -->\n{table}<!-- /codes -->{after}")).expect("written");
        return;
    }
    assert!(found == table, "between the marks in DEVELOPERS.md belongs:\n{table}");
}
