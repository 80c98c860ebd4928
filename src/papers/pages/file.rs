//! A paper as a file: PDF, or one HTML file with style, faces and pictures in it, without script and without an address
//! outside, so that it opens from a disk or a letter.

use askama::Template;
use axum::http::header;
use axum::response::IntoResponse;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::ground::choice::Choice;
use crate::papers::pdf::pdf;
use crate::papers::sheet::{Image, Sheet};
use crate::studio::Paper;
use crate::web::answer::{Answer, download, file_name};
use crate::web::static_files;

/// Nothing is loaded, sent or run: style, faces and pictures stand in the file.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; base-uri 'none'; form-action 'none'";

/// The faces by the letters they have, as in `style.css`.
const FACES: [(&str, &str); 2] = [
    (
        "fonts/literata-latin-wght-normal.woff2",
        "U+0000-00FF, U+0131, U+0152-0153, U+02BB-02BC, U+02C6, U+02DA, U+02DC, U+0304, U+0308, U+0329, U+2000-206F, U+20AC, U+2122, U+2191, U+2193, U+2212, U+2215, U+FEFF, U+FFFD",
    ),
    (
        "fonts/literata-latin-ext-wght-normal.woff2",
        "U+0100-02BA, U+02BD-02C5, U+02C7-02CC, U+02CE-02D7, U+02DD-02FF, U+1D00-1DBF, U+1E00-1E9F, U+1EF2-1EFF, U+20A0-20AB, U+20AD-20C0, U+2113, U+2C60-2C7F, U+A720-A7FF",
    ),
];

#[derive(Template)]
#[template(path = "papers/article.html")]
struct Article<'a> {
    sheet: &'a Sheet,
}

#[derive(Template)]
#[template(path = "papers/file.html")]
struct File<'a> {
    title: &'a str,
    author: &'a str,
    policy: &'static str,
    paper: &'static str,
    /// Each with the letters it has and its file.
    faces: Vec<(&'static str, String)>,
    article: String,
}

/// A paper as one HTML file.
///
/// # Errors
/// Where the template cannot be filled.
pub fn html(sheet: &Sheet, paper: Paper) -> Result<String, askama::Error> {
    let article = Article { sheet }.render()?;
    let wider = article.chars().any(|letter| ('\u{100}'..'\u{2000}').contains(&letter));
    let faces = FACES.iter().take(if wider { 2 } else { 1 });
    let faces = faces.filter_map(|(path, range)| Some((*range, STANDARD.encode(static_files::bytes(path)?))));
    let file = File {
        title: &sheet.title,
        author: &sheet.head.name,
        policy: POLICY,
        paper: paper.code(),
        faces: faces.collect(),
        article,
    };
    file.render()
}

/// A paper as one HTML file, to look at and to keep.
pub fn html_answer(sheet: &Sheet, paper: Paper) -> Answer {
    let disposition = format!("inline; {}", file_name(&format!("{}.html", sheet.title)));
    let headers = [
        (header::CONTENT_TYPE, "text/html; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CONTENT_SECURITY_POLICY, POLICY.to_owned()),
    ];
    Ok((headers, html(sheet, paper)?).into_response())
}

/// A paper as a PDF, to keep. Setting it is hard work, done beside the threads that answer pages.
pub async fn pdf_answer(sheet: Sheet, paper: Paper) -> Answer {
    let name = format!("{}.pdf", sheet.title);
    let bytes = tokio::task::spawn_blocking(move || pdf(&sheet, paper)).await??;
    download(&name, "application/pdf", bytes)
}

impl Image {
    /// Where it is found: its address, or, where it was loaded for a file, itself.
    pub(crate) fn source(&self) -> String {
        if self.bytes.is_empty() {
            return self.address.clone();
        }
        let kind = if self.is_png() { "png" } else { "jpeg" };
        format!("data:image/{kind};base64,{}", STANDARD.encode(&self.bytes))
    }
}
