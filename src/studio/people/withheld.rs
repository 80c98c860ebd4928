//! A page for somebody who may not open everything: links and forms that lead to what they may not open are taken out, so that
//! nobody is sent to a closed door, and no template need think of it.
//!
//! Reads the HTML of our own templates: quoted attributes, no link within a link, no form within a form.

/// The page without what leads to closed doors. `reads` and `writes` say which addresses are open; `here` is the page's own
/// address, to which a form without one is sent.
///
/// A link in a text stays as its words; a button or an entry of a way between pages goes.
///
/// ```
/// use trug::studio::people::withheld::withheld;
/// let page = r#"<li><a href="/quote">Quote</a></li><td><a href="/quote">Arch</a> at <a href="/prep">prep</a></td>"#;
/// let shown = withheld(page, "/", |address| address == "/prep", |_| false);
/// assert_eq!(shown, r#"<td>Arch at <a href="/prep">prep</a></td>"#);
/// ```
#[must_use]
pub fn withheld(
    html: &str,
    here: &str,
    reads: impl Fn(&str) -> bool,
    writes: impl Fn(&str) -> bool,
) -> String {
    let mut shown = String::with_capacity(html.len());
    let mut rest = html;
    while let Some((before, element)) = next(rest) {
        shown.push_str(before);
        rest = match element {
            Element::Link(link) => after_link(&mut shown, link, &reads),
            Element::Form(form) => after_form(&mut shown, form, here, (&reads, &writes)),
            Element::Button(button) => after_button(&mut shown, button, &writes),
        };
    }
    shown.push_str(rest);
    shown
}

/// Each holds the page from the element's first character on.
enum Element<'a> {
    Link(&'a str),
    Form(&'a str),
    Button(&'a str),
}

fn next(rest: &str) -> Option<(&str, Element<'_>)> {
    let mut from = 0;
    while let Some(at) = rest.get(from..)?.find('<') {
        let start = from + at;
        let (before, element) = rest.split_at(start);
        let named = |name: &str| {
            element
                .strip_prefix('<')
                .and_then(|tag| tag.strip_prefix(name))
                .is_some_and(|after| after.starts_with([' ', '>', '\n']))
        };
        if named("a") {
            return Some((before, Element::Link(element)));
        }
        if named("form") {
            return Some((before, Element::Form(element)));
        }
        if named("button") {
            return Some((before, Element::Button(element)));
        }
        from = start + 1;
    }
    None
}

fn after_link<'a>(shown: &mut String, link: &'a str, reads: &impl Fn(&str) -> bool) -> &'a str {
    let (tag, inner, rest) = parts(link, "</a>");
    let closed = attribute(tag, "href").is_some_and(|address| is_ours(&address) && !reads(&address));
    if !closed {
        shown.push_str(tag);
        return &link[tag.len()..];
    }
    let is_button = attribute(tag, "class").is_some_and(|class| class.contains("button"));
    if is_button {
        return rest;
    }
    if let (Some(entry), Some(after)) = (entry_begun(shown), rest.strip_prefix("</li>")) {
        shown.truncate(entry);
        return after;
    }
    // A link behind the last sentence of a paragraph is no part of it.
    if shown.ends_with(". ") && rest.starts_with("</p>") {
        shown.truncate(shown.len() - 1);
        return rest;
    }
    shown.push_str(inner);
    rest
}

/// Where the list entry begins that holds nothing yet.
fn entry_begun(shown: &str) -> Option<usize> {
    let start = shown.rfind("<li")?;
    let tag = &shown[start..];
    (tag.find('>') == Some(tag.len() - 1)).then_some(start)
}

fn after_form<'a>(
    shown: &mut String,
    form: &'a str,
    here: &str,
    (reads, writes): (&impl Fn(&str) -> bool, &impl Fn(&str) -> bool),
) -> &'a str {
    let (tag, _, rest) = parts(form, "</form>");
    let to = attribute(tag, "action").unwrap_or_else(|| here.to_owned());
    let open = match attribute(tag, "method").as_deref() {
        Some("post") => writes(&to),
        Some("dialog") => true,
        _ => reads(&to),
    };
    if open {
        shown.push_str(tag);
        return &form[tag.len()..];
    }
    rest
}

fn after_button<'a>(shown: &mut String, button: &'a str, writes: &impl Fn(&str) -> bool) -> &'a str {
    let (tag, _, rest) = parts(button, "</button>");
    if attribute(tag, "formaction").is_some_and(|address| !writes(&address)) {
        return rest;
    }
    shown.push_str(tag);
    &button[tag.len()..]
}

/// The opening tag, what is inside, what follows the closing one.
fn parts<'a>(element: &'a str, closing: &str) -> (&'a str, &'a str, &'a str) {
    let tag = element.find('>').map_or(element.len(), |end| end + 1);
    let inside = &element[tag..];
    match inside.find(closing) {
        Some(end) => (&element[..tag], &inside[..end], &inside[end + closing.len()..]),
        None => (&element[..tag], inside, ""),
    }
}

fn attribute(tag: &str, name: &str) -> Option<String> {
    let marker = format!(" {name}=\"");
    let value = &tag[tag.find(&marker)? + marker.len()..];
    Some(value.split('"').next()?.replace("&#38;", "&").replace("&amp;", "&"))
}

fn is_ours(address: &str) -> bool {
    address.starts_with('/')
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::withheld;

    fn shown(html: &str) -> String {
        withheld(html, "/here", |address| address.starts_with("/open"), |address| address == "/open/do")
    }

    #[test]
    fn what_is_open_stays_as_it_is() {
        for html in [
            r##"<p><a href="#main">Skip</a> <a class="button" href="/open/1?a=1&#38;b=2">One</a></p>"##,
            r#"<form method="post" action="/open/do"><button type="submit">Do</button></form>"#,
            r#"<form method="dialog"><button type="submit">Close</button></form>"#,
            r#"<a href="https://example.org/">Elsewhere</a><article><abbr>a</abbr></article>"#,
            "<p>3 < 4</p>",
        ] {
            assert_eq!(shown(html), html);
        }
    }

    #[test]
    fn what_is_closed_goes_with_its_entry() {
        assert_eq!(
            shown(r#"<ul><li class="apart"><a href="/closed" aria-current="page">C</a></li></ul>"#),
            "<ul></ul>"
        );
        assert_eq!(shown(r#"<p><a class="button main" href="/closed">C</a> or</p>"#), "<p> or</p>");
        assert_eq!(shown(r#"<td><a href="/closed"><b>Arch</b></a></td>"#), "<td><b>Arch</b></td>");
        assert_eq!(shown(r#"<li><a href="/closed">Arch</a> at ten</li>"#), "<li>Arch at ten</li>");
        assert_eq!(shown(r#"<p>Off the shelf. <a href="/closed">Loans</a></p>"#), "<p>Off the shelf.</p>");
        assert_eq!(shown(r#"a<form method="post" action="/closed"><button>Do</button></form>b"#), "ab");
        assert_eq!(
            shown(r#"a<form method="post"><button>Do</button></form>b"#),
            "ab",
            "it posts to the page itself"
        );
        assert_eq!(shown(r#"<form class="find" action="/search"><input></form>"#), "");
        let two = r#"<form method="post" action="/open/do"><button formaction="/closed">C</button><button>D</button></form>"#;
        assert_eq!(shown(two), r#"<form method="post" action="/open/do"><button>D</button></form>"#);
    }

    proptest! {
        #[test]
        fn nothing_makes_it_fail(html in "(<a href=\"/[a-z]{0,4}\">|</a>|<form|<li>|</li>|>|<|é|\"| class=|<button formaction=\"|.){0,40}") {
            let once = shown(&html);
            prop_assert!(once.len() <= html.len());
        }
    }
}
