//! What health authorities' own forms for a written procedure ask, field by field, and where the document answers it.
//!
//! Of each form its title stands here, and how it is known: `read` in a copy (of all of it or of its beginning), the rest
//! from memory. The fields are named in this project's words.
//!
//! Guards against S-25 of SAFETY.md.

use crate::demo::written;
use counterclock::clock::{Instant, Zone};
use counterclock::demo;
use counterclock::ledger::{Id, State};
use counterclock::people::{Names, Role};
use counterclock::record::procedure::{Document, Person, Shop, Typed, compare, document, hinders, missing};

struct Form {
    title: &'static str,
    /// A field, how it is known, and the lines that answer it: a line's id, `*` for one a rule or a product.
    fields: &'static [(&'static str, Known, &'static [&'static str])],
}

/// How a field is known to be asked.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Known {
    Read,
    Memory,
}
use Known::{Memory, Read};

/// When food left control, and what the clock then does.
const STARTS: &[&str] = &["clock.total_out.", "clock.since_first_out.", "clock"];
const LIMIT: &[&str] = &["product.*.limit"];

const FORMS: &[Form] = &[
    Form {
        // Based on section 3-605 of the state's rules of the time.
        title: "Time as a Public Health Control (Colorado Retail Food Establishment Rules and Regulations)",
        fields: &[
            ("name of the facility", Read, &["name"]),
            ("its address", Read, &["address"]),
            ("which limit was chosen, and its conditions", Read, &["rule.*.words"]),
            ("the food", Read, &["product.*.rules"]),
            ("its ingredients, flavourings and colours too", Read, &["ingredients.*"]),
            ("how it is made, start to finish, with times", Read, &["making.*"]),
            ("when time control begins", Read, STARTS),
            ("where the food stands meanwhile", Read, &["held", "place.*"]),
            ("how it is labelled", Read, &["marking", "mark"]),
            ("how long it is under time control", Read, LIMIT),
            ("six hours: how its temperature is watched", Read, &["watching", "watch.*"]),
            ("how it is disposed of", Read, &["how-discards"]),
        ],
    },
    Form {
        title: "Time as a Public Health Control Application (Denver Retail Food Establishment Regulations)",
        fields: &[
            ("name of the facility", Read, &["name"]),
            ("its address", Read, &["address"]),
            ("the food", Read, &["product.*.rules"]),
            ("its ingredients, flavourings and colours too", Read, &["ingredients.*"]),
            ("how it is put together, beginning to end, with times", Read, &["making.*"]),
            ("when time control begins", Read, STARTS),
            ("where the food stands, and how customers are served", Read, &["held", "place.*"]),
            ("how it is labelled, and what stands on the label", Read, &["marking", "mark"]),
            ("when and how it is disposed of", Memory, &["product.*.limit", "how-discards"]),
            ("who is responsible", Memory, &["in-charge"]),
        ],
    },
    Form {
        title: "Time as a Public Health Control (Washoe County Health District, Nevada)",
        fields: &[
            ("name and address of the establishment", Memory, &["name", "address"]),
            ("its permit", Memory, &["licence"]),
            ("the foods", Memory, &["product.*.rules"]),
            ("when the clock starts", Memory, STARTS),
            ("where the food stands", Memory, &["held", "place.*"]),
            ("how it is marked", Memory, &["marking", "mark"]),
            ("the limit", Memory, LIMIT),
            ("who discards what is over, and where that is written", Memory, &["who-discards", "where-written"]),
            ("what is done when something goes wrong", Memory, &["over", "failure"]),
            ("how employees are trained", Memory, &["training"]),
            ("where the procedure is kept for the inspector", Memory, &["kept"]),
        ],
    },
    Form {
        // Its rule, 511-6-1-.04(6)(i), was read as inspectors of the state quote it: methods of compliance with the
        // temperature at the start, the marks, the limit and the discarding, and with cooling beforehand.
        title: "Time as a Public Health Control (Cobb & Douglas Public Health, Georgia)",
        fields: &[
            ("name of the establishment", Memory, &["name"]),
            ("the foods", Memory, &["product.*.rules"]),
            ("the temperature at the start", Read, &["watch.us-time-4h", "watching"]),
            ("how food is cooled before time control", Read, &["cooling", "watch.us-cooling"]),
            ("how it is marked: the time it left control and the time it goes", Read, &["marking", "mark"]),
            ("the limit", Read, LIMIT),
            ("how and by whom it is discarded", Read, &["how-discards", "who-discards"]),
            ("food that is unmarked or past its time", Read, &["over"]),
            ("who checks that it is done", Memory, &["checking"]),
            ("how employees are trained", Memory, &["training"]),
        ],
    },
    Form {
        title: "Time as a Public Health Control Written Procedures (Florida DBPR, Division of Hotels and Restaurants)",
        fields: &[
            ("name of the business", Read, &["name"]),
            ("licence number", Read, &["licence"]),
            ("owner", Read, &["owner"]),
            ("street address, town, postcode", Read, &["address"]),
            ("kind of establishment", Read, &["trade"]),
            ("four or six hours, and from which temperature", Read, &["rule.*.words", "watch.us-time-4h"]),
            ("not returned to temperature control", Read, &["rule.us-time-4h.words"]),
            ("the foods", Memory, &["product.*.rules"]),
            ("how each is made", Memory, &["making.*"]),
            ("how it is marked", Memory, &["marking", "mark"]),
            ("how it is discarded", Memory, &["how-discards"]),
        ],
    },
    Form {
        title: "Time as a Public Health Control (Minnesota Department of Health)",
        fields: &[
            ("the foods", Memory, &["product.*.rules"]),
            ("the rule, its edition and section", Memory, &["rule.*.source", "rule.*.edition", "rule.*.section"]),
            ("the temperature at the start, and who takes it", Memory, &["watch.us-time-4h", "watching"]),
            ("how thermometers are checked", Memory, &["thermometers"]),
            ("how it is marked", Memory, &["marking", "mark"]),
            ("the limit", Memory, LIMIT),
            (
                "who discards, how, and where that is written",
                Memory,
                &["who-discards", "how-discards", "where-written"],
            ),
            ("who works with it, and how they are trained", Memory, &["people", "training"]),
            ("who looks at the records", Memory, &["checking"]),
            ("when it is looked through again", Memory, &["review-on"]),
        ],
    },
];

fn shop() -> State {
    let now = Instant::parse("2026-05-06T13:00:00Z").expect("a time");
    written(&demo::entries(now, Zone::UTC)).0
}

fn of(state: &State, typed: &Typed) -> Document {
    let person = |id, role| Person { person: Id::new(id).expect("an id"), role };
    let people = [person("p-1", Role::Manager), person("p-2", Role::Staff)];
    document(&Shop { state, people: &people, approved: &[] }, typed)
}

fn typed() -> Typed {
    demo::procedure::first(Zone::parse_date("2026-05-04").expect("a date"))
}

/// The fields of a form that the document leaves open.
fn open(form: &Form, document: &Document) -> Vec<&'static str> {
    let lines = || document.sections.iter().flat_map(|s| &s.lines);
    let answered = |id: &str| {
        let (front, back) = id.split_once('*').unwrap_or((id, ""));
        let is = |l: &&counterclock::record::procedure::Line| match id.contains('*') {
            true => l.id.starts_with(front) && l.id.ends_with(back),
            false => l.id == id,
        };
        lines().any(|l| is(&l)) && lines().filter(is).all(|l| l.is_answered())
    };
    form.fields.iter().filter(|(_, _, ids)| !ids.iter().all(|id| answered(id))).map(|(field, ..)| *field).collect()
}

#[test]
fn every_field_of_each_form_is_answered() {
    let state = shop();
    let document = of(&state, &typed());
    for form in FORMS {
        assert_eq!(open(form, &document), Vec::<&str>::new(), "{}", form.title);
        let read = form.fields.iter().filter(|(_, known, _)| *known == Read).count();
        println!("{}: {} fields, {read} of them read", form.title, form.fields.len());
    }
    assert_eq!(missing(&state, &typed()), []);
}

/// The other way round: what is left empty shows in the form that asks for it, and keeps the procedure from approval.
#[test]
fn a_field_left_empty_leaves_a_form_open() {
    let (state, full) = (shop(), typed());
    let today = Zone::parse_date("2026-05-06").expect("a date");
    assert_eq!(hinders(&state, &full, today), []);
    // What no form is known to ask, and what may stay empty.
    let extra = ["agreement", "review-when"];
    for key in full.0.keys().filter(|k| !extra.contains(&k.as_str())) {
        let mut less = full.clone();
        less.0.remove(key);
        let document = of(&state, &less);
        let left: Vec<_> = FORMS.iter().flat_map(|f| open(f, &document)).collect();
        assert!(!left.is_empty(), "no form asks for {key}");
        let optional = ["owner", "trade"].contains(&key.as_str());
        assert_eq!(hinders(&state, &less, today).len(), usize::from(!optional), "{key}");
    }
}

#[test]
fn the_same_set_up_and_words_are_the_same_text() {
    let (state, words) = (shop(), typed());
    let document = of(&state, &words);
    let (text, hash) = document.sealed();
    assert_eq!(of(&state, &words).sealed(), (text.clone(), hash));
    let read = Document::read(&text).expect("what was kept can be read");
    assert_eq!(read, document);
    assert_eq!(read.sealed().0, text, "and is kept as the same text again");
    assert_eq!(compare(&document, &read, &Names::default()), []);
    // A source's title may have "safety" in it; no verdict has the word.
    assert!(!text.to_lowercase().split(|c: char| !c.is_alphabetic()).any(|word| word == "safe"));
    // Each line has its own id, or what changed couldn't be told.
    let mut ids: Vec<&str> = document.sections.iter().flat_map(|s| &s.lines).map(|l| l.id.as_str()).collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all);
}
