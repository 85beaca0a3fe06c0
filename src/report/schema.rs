//! JSON schemas (draft 2020-12) of the findings and of the sheet, for programs that read the one or write the other.

use crate::measure::Findings;
use crate::sheet::KEYS;
use serde_json::{Value, json};

/// The schema of the findings, from their types.
pub fn findings() -> Value {
    let mut schema = schemars::schema_for!(Findings).to_value();
    if let Some(top) = schema.as_object_mut() {
        top.insert("title".into(), json!("findings of a jet measurement"));
    }
    schema
}

/// The schema of the sheet, its TOML read as JSON, from the list of keys.
///
/// It tells which keys there are, what they say and in what shape; whether a text is a quantity of the right kind, and
/// whether the sheet is whole, only the check of the sheet tells.
pub fn sheet() -> Value {
    let mut top = object("what one states about one photo of one run");
    // the deepest keys come last, so that a list of tables replaces the plain list that its own key stands for
    let mut keys: Vec<_> = KEYS.iter().collect();
    keys.sort_by_key(|k| k.path.matches('.').count());
    for key in keys {
        place(&mut top, &key.path.split('.').collect::<Vec<_>>(), leaf(key.path, key.says));
    }
    // there may be one scale, or a list of them
    if let Some(scale) = top.pointer_mut("/properties/scale") {
        *scale = json!({ "anyOf": [scale.take(), { "type": "array", "minItems": 1 }] });
        let one = scale["anyOf"][0].clone();
        scale["anyOf"][1]["items"] = one;
    }
    if let Some(top) = top.as_object_mut() {
        top.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
        top.insert("title".into(), json!("bench sheet"));
    }
    top
}

fn object(says: &str) -> Value {
    let mut object = json!({ "type": "object", "properties": {} });
    if let (false, Some(map)) = (says.is_empty(), object.as_object_mut()) {
        map.insert("description".into(), json!(says));
    }
    object
}

/// Puts a key's shape where its path leads, making what is missing on the way.
fn place(object_schema: &mut Value, path: &[&str], leaf: Value) {
    let (Some(properties), Some((first, rest))) =
        (object_schema.get_mut("properties").and_then(Value::as_object_mut), path.split_first())
    else {
        return;
    };
    if rest.is_empty() {
        properties.insert((*first).to_owned(), leaf);
        return;
    }
    let inner = properties.entry(*first).or_insert_with(|| object(""));
    // a list of tables keeps its tables as the second of what its items may be
    let table = inner.get("items").is_some();
    let inner = if table { inner.pointer_mut("/items/anyOf/1") } else { Some(inner) };
    if let Some(inner) = inner {
        place(inner, rest, leaf);
    }
}

fn leaf(path: &str, says: &str) -> Value {
    let point = json!({ "type": "array", "items": { "type": "number" }, "minItems": 2, "maxItems": 2 });
    let points = |least: u32| json!({ "type": "array", "items": point, "minItems": least });
    let quantity = json!({ "type": "string" });
    let table = json!({ "type": "array", "items": { "anyOf": [point, object("")] } });
    let mut shape = match path {
        "format" => json!({ "const": 1 }),
        "photo.files" => json!({ "type": "array", "items": { "type": "string" }, "minItems": 1 }),
        "scale.marks" | "plane.marks" | "card.marks" | "flow.timed" | "flow.running" => table,
        "scale.marks.px" | "plane.marks.px" | "card.marks.px" | "orifice.centre" | "head.surface" => point,
        "card.paper" => json!({ "enum": ["A4", "A3", "Letter"] }),
        "card.marks.number" => json!({ "type": "integer", "minimum": 1 }),
        "plane.marks.at" => json!({ "type": "array", "items": quantity, "minItems": 2, "maxItems": 2 }),
        "vertical.plumb" | "vertical.level" => points(2),
        "lens.straight" => json!({ "type": "array", "items": points(3) }),
        "lens.k1" => json!({ "type": ["number", "string"] }),
        "orifice.edge" => json!({ "enum": ["sharp", "rounded", "short-tube", "re-entrant", "nozzle"] }),
        "stream.tone" => json!({ "enum": ["bright", "dark", "either"] }),
        "stream.level" => json!({ "anyOf": [{ "const": "auto" }, { "type": "number", "minimum": 0, "maximum": 1 }] }),
        "stream.look_in" => points(3),
        "stream.leave_out" => json!({ "type": "array", "items": points(3) }),
        "stream.by_hand" => points(1),
        "trajectory.corrections" => {
            json!({ "type": "array", "items": { "enum": ["surface-tension", "air-drag", "air-buoyancy"] } })
        }
        "head.reading" => json!({ "anyOf": [quantity, { "type": "array", "items": quantity, "minItems": 1 }] }),
        _ => quantity,
    };
    if let Some(map) = shape.as_object_mut() {
        map.insert("description".into(), json!(says));
    }
    shape
}
