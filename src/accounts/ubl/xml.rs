//! Writing XML: elements one inside another, text escaped. A plain writer of a page's length, since Trug writes one kind of
//! document and reads none; a crate would bring a reader and namespaces that nothing here needs.
//!
//! May import: nothing.

/// A document that is being written.
#[derive(Debug, Clone, Default)]
pub struct Writer {
    text: String,
    depth: usize,
}

impl Writer {
    /// Begins a document with its root, which carries attributes.
    #[must_use]
    pub fn new() -> Writer {
        Writer { text: "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_owned(), depth: 0 }
    }

    /// An element with elements in it.
    pub fn within(&mut self, name: &str, attributes: &[(&str, &str)], content: impl FnOnce(&mut Writer)) {
        self.open(name, attributes);
        self.text.push_str(">\n");
        self.depth += 1;
        content(self);
        self.depth -= 1;
        self.indent();
        self.close(name);
    }

    /// An element with text in it.
    pub fn text(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) {
        self.open(name, attributes);
        self.text.push('>');
        self.text.push_str(&escaped(text));
        self.close(name);
    }

    /// The same, unless the text is empty: the standard allows no empty elements.
    pub fn text_if(&mut self, name: &str, text: &str) {
        if !text.trim().is_empty() {
            self.text(name, &[], text.trim());
        }
    }

    /// The whole document.
    #[must_use]
    pub fn done(self) -> String {
        self.text
    }

    fn open(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.indent();
        self.text.push('<');
        self.text.push_str(name);
        for (name, value) in attributes {
            self.put(&[" ", name, "=\"", &escaped(value), "\""]);
        }
    }

    fn close(&mut self, name: &str) {
        self.put(&["</", name, ">\n"]);
    }

    fn put(&mut self, parts: &[&str]) {
        for part in parts {
            self.text.push_str(part);
        }
    }

    fn indent(&mut self) {
        self.text.push_str(&"  ".repeat(self.depth));
    }
}

/// Text as it may stand in an element or an attribute; characters that XML 1.0 knows no way of writing are left out.
///
/// ```
/// use trug::accounts::ubl::xml::escaped;
/// assert_eq!(escaped("Low & \"wide\" <bowl>\u{b}"), "Low &amp; &quot;wide&quot; &lt;bowl&gt;");
/// ```
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars().filter(|c| is_allowed(*c)) {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\r' => out.push_str("&#13;"),
            other => out.push(other),
        }
    }
    out
}

/// XML 1.0 (fifth edition), production 2.
fn is_allowed(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\r' | '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..)
}
