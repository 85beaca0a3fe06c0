//! The shipped schemas are those of the types, and what we write and ship obeys them.

use super::fixture;
use serde_json::{Value, json};
use trajet::report::schema;
use trajet::sheet::KEYS;

const FINDINGS: &str = include_str!("../../../assets/schema/findings.json");
const SHEET: &str = include_str!("../../../assets/schema/sheet.json");

fn text(schema: &Value) -> String {
    serde_json::to_string_pretty(schema).unwrap() + "\n"
}

/// `cargo test --test it write_the_schemas -- --ignored` writes them anew.
#[test]
#[ignore = "writes assets/schema"]
fn write_the_schemas() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/assets/schema");
    std::fs::write(format!("{folder}/findings.json"), text(&schema::findings())).unwrap();
    std::fs::write(format!("{folder}/sheet.json"), text(&schema::sheet())).unwrap();
}

#[test]
fn the_shipped_schemas_are_up_to_date() {
    let how = "write_the_schemas writes it anew";
    assert!(FINDINGS == text(&schema::findings()), "assets/schema/findings.json is old: {how}");
    assert!(SHEET == text(&schema::sheet()), "assets/schema/sheet.json is old: {how}");
}

#[test]
fn findings_obey_their_schema() {
    let schema = schema::findings();
    let good = serde_json::to_value(fixture::findings()).unwrap();
    assert_eq!(fault(&schema, &schema, &good), None);
    let spoilt = |pointer: &str, value: Value| {
        let mut bad = good.clone();
        *bad.pointer_mut(pointer).unwrap() = value;
        fault(&schema, &schema, &bad)
    };
    for (pointer, value) in [
        ("/velocity/value", json!("2.83 m/s")),
        ("/stations/3/used", json!("yes")),
        ("/notices/0", json!("a text")),
        ("/budget/cv/0/share", Value::Null),
    ] {
        assert!(spoilt(pointer, value).is_some(), "{pointer}");
    }
    // every key that is written is described
    for key in good.as_object().unwrap().keys() {
        assert!(
            schema["properties"].get(key).is_some_and(|p| p.get("description").is_some() || p.get("anyOf").is_some()),
            "{key}"
        );
    }
}

#[test]
fn the_shipped_samples_obey_the_sheets_schema() {
    let schema = schema::sheet();
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/samples");
    let mut count = 0;
    for file in std::fs::read_dir(folder).unwrap().map(|f| f.unwrap().path()) {
        if file.extension().is_some_and(|e| e == "toml") {
            let document: toml_edit::DocumentMut = std::fs::read_to_string(&file).unwrap().parse().unwrap();
            let value = from_item(document.as_item());
            if value.get("orifice").is_some() {
                assert_eq!(fault(&schema, &schema, &value), None, "{}", file.display());
                count += 1;
            }
        }
    }
    assert!(count >= 3, "{count} samples");
    let bad = |value: Value| fault(&schema, &schema, &value).is_some();
    assert!(bad(json!({ "orifice": { "centre": "here" } })));
    assert!(bad(json!({ "orifice": { "edge": "blunt" } })));
    assert!(bad(json!({ "scale": { "marks": [{ "px": [1.0], "at": "0 mm" }] } })));
    assert!(bad(json!({ "flow": { "timed": [{ "volume": 10 }] } })));
    assert!(bad(json!({ "format": 2 })));
}

/// Each key's own description is found where its path leads.
#[test]
fn every_key_of_a_sheet_is_described() {
    let schema = schema::sheet();
    for key in KEYS {
        let mut at = &schema;
        for part in key.path.split('.') {
            let table = at
                .pointer("/items/anyOf/1")
                .or_else(|| at.pointer("/anyOf/0"))
                .filter(|t| t.get("properties").is_some());
            at = &table.unwrap_or(at)["properties"][part];
        }
        assert_eq!(at["description"], key.says, "{}", key.path);
    }
}

fn from_item(item: &toml_edit::Item) -> Value {
    match item {
        toml_edit::Item::None => Value::Null,
        toml_edit::Item::Value(v) => from_value(v),
        toml_edit::Item::Table(t) => t.iter().map(|(k, v)| (k.to_owned(), from_item(v))).collect(),
        toml_edit::Item::ArrayOfTables(a) => {
            a.iter().map(|t| t.iter().map(|(k, v)| (k.to_owned(), from_item(v))).collect::<Value>()).collect()
        }
    }
}

fn from_value(value: &toml_edit::Value) -> Value {
    match value {
        toml_edit::Value::String(s) => json!(s.value()),
        toml_edit::Value::Integer(i) => json!(i.value()),
        toml_edit::Value::Float(f) => json!(f.value()),
        toml_edit::Value::Boolean(b) => json!(b.value()),
        toml_edit::Value::Datetime(d) => json!(d.value().to_string()),
        toml_edit::Value::Array(a) => a.iter().map(from_value).collect(),
        toml_edit::Value::InlineTable(t) => t.iter().map(|(k, v)| (k.to_owned(), from_value(v))).collect(),
    }
}

/// The first way in which `value` breaks `schema`, of the words of JSON Schema (draft 2020-12) that ours use.
fn fault(root: &Value, schema: &Value, value: &Value) -> Option<String> {
    let say = |what: String| Some(format!("{what}: {value}"));
    if let Some(reference) = schema["$ref"].as_str() {
        let target = root.pointer(reference.strip_prefix('#').unwrap()).expect("a reference leads somewhere");
        if let Some(bad) = fault(root, target, value) {
            return Some(bad);
        }
    }
    if let Some(any) = schema["anyOf"].as_array()
        && any.iter().all(|s| fault(root, s, value).is_some())
    {
        return say(format!("none of {} shapes", any.len()));
    }
    if let Some(wanted) = schema.get("const")
        && wanted != value
    {
        return say(format!("not {wanted}"));
    }
    if schema["enum"].as_array().is_some_and(|all| !all.contains(value)) {
        return say("not one of the words".into());
    }
    let is = |name: &str| match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        other => panic!("unknown type {other}"),
    };
    let fits = match &schema["type"] {
        Value::String(name) => is(name),
        Value::Array(names) => names.iter().any(|n| is(n.as_str().unwrap())),
        _ => true,
    };
    if !fits {
        return say(format!("not of type {}", schema["type"]));
    }
    if let Some(number) = value.as_f64()
        && (schema["minimum"].as_f64().is_some_and(|m| number < m)
            || schema["maximum"].as_f64().is_some_and(|m| number > m))
    {
        return say("out of range".into());
    }
    if let Some(items) = value.as_array() {
        let count = items.len() as u64;
        if schema["minItems"].as_u64().is_some_and(|m| count < m)
            || schema["maxItems"].as_u64().is_some_and(|m| count > m)
        {
            return say(format!("{count} items"));
        }
        let one = schema.get("items").filter(|s| s.is_object());
        return one.and_then(|s| items.iter().find_map(|i| fault(root, s, i)));
    }
    let map = value.as_object()?;
    let required = schema["required"].as_array().into_iter().flatten();
    if let Some(missing) = required.filter_map(Value::as_str).find(|k| !map.contains_key(*k)) {
        return say(format!("{missing} is missing"));
    }
    map.iter().find_map(|(key, inner)| match schema["properties"].get(key) {
        Some(s) => fault(root, s, inner).map(|bad| format!("{key}: {bad}")),
        None => schema.get("additionalProperties").filter(|s| s.is_object()).and_then(|s| fault(root, s, inner)),
    })
}
