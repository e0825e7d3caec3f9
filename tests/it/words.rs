//! The built-in rules' names.

/// In English a built-in rule's name is the one it is taken into use with.
#[test]
fn rules_are_named_as_in_the_book() {
    for rule in counterclock::rules::book::all() {
        assert_eq!(counterclock::words::rule_name(rule), *rule.name);
    }
}
