//! A small check of well-formedness (XML 1.0, W3C 2008, 2.1): tags match, attributes are quoted and not doubled, no bare `&` or `<`.

/// What is wrong first, with where; `None` for well-formed text of one element.
pub fn fault(text: &str) -> Option<String> {
    let mut open: Vec<String> = Vec::new();
    let mut rest = text;
    let mut roots = 0;
    while let Some(start) = rest.find('<') {
        if let Some(bad) = bare_ampersand(&rest[..start]) {
            return Some(bad);
        }
        let Some(end) = rest[start..].find('>') else { return Some("a tag does not end".into()) };
        let tag = &rest[start + 1..start + end];
        rest = &rest[start + end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            if open.pop().as_deref() != Some(name.trim()) {
                return Some(format!("</{name}> closes something else"));
            }
            continue;
        }
        let (body, closed) = tag.strip_suffix('/').map_or((tag, false), |b| (b, true));
        let (name, attributes) = body.split_once(char::is_whitespace).unwrap_or((body, ""));
        if let Some(bad) = attribute_fault(attributes) {
            return Some(format!("<{name}>: {bad}"));
        }
        if open.is_empty() {
            roots += 1;
        }
        if !closed {
            open.push(name.to_owned());
        }
    }
    match (open.last(), roots) {
        (Some(name), _) => Some(format!("<{name}> stays open")),
        (None, 1) => bare_ampersand(rest),
        (None, n) => Some(format!("{n} outermost elements")),
    }
}

fn attribute_fault(mut text: &str) -> Option<String> {
    let mut names: Vec<&str> = Vec::new();
    while !text.trim().is_empty() {
        let Some((name, after)) = text.split_once("=\"") else { return Some(format!("not an attribute: {text}")) };
        let name = name.trim();
        if names.contains(&name) {
            return Some(format!("{name} twice"));
        }
        names.push(name);
        let Some((value, after)) = after.split_once('"') else { return Some(format!("{name} does not end")) };
        if let Some(bad) = bare_ampersand(value) {
            return Some(bad);
        }
        text = after;
    }
    None
}

fn bare_ampersand(text: &str) -> Option<String> {
    let known = ["&amp;", "&lt;", "&gt;", "&quot;", "&#39;"];
    text.match_indices('&')
        .find(|(at, _)| !known.iter().any(|k| text[*at..].starts_with(k)))
        .map(|(at, _)| format!("bare & at {}", &text[at..]))
}

#[test]
fn the_check_itself_finds_faults() {
    assert_eq!(fault("<a b=\"c\"><d/>x &amp; y</a>\n"), None);
    for bad in ["<a><b></a></b>", "<a>", "<a b=c/>", "<a b=\"1\" b=\"2\"/>", "<a>&</a>", "<a/><b/>", "<a", "</a>"] {
        assert!(fault(bad).is_some(), "{bad}");
    }
}
