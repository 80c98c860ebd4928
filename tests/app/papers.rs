//! What goes to a client: the same on the page, in the PDF and in the HTML file.

use std::process::Command;

use axum::body::Body;
use axum::http::{Request, StatusCode};
use scraper::{Html, Selector};

use crate::support::{Page, TestStudio, own_folder};

/// A PDF's text as poppler reads it, in reading order; none where poppler is not installed.
fn text_of(pdf: &[u8], options: &[&str]) -> Option<String> {
    let folder = own_folder();
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("paper.pdf");
    std::fs::write(&file, pdf).unwrap();
    let read = Command::new("pdftotext").args(options).arg(&file).arg("-").output();
    std::fs::remove_dir_all(&folder).unwrap();
    let Ok(read) = read else {
        assert!(std::env::var_os("CI").is_none(), "poppler-utils are not installed");
        eprintln!("skipped: poppler-utils are not installed");
        return None;
    };
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
    Some(String::from_utf8(read.stdout).unwrap())
}

/// Every amount of money in a text, in order of size of its writing.
fn amounts(text: &str) -> Vec<String> {
    let mut amounts: Vec<String> = text
        .split(|c: char| c.is_whitespace() && c != '\u{a0}')
        .flat_map(|word| word.split(['(', ')', ';']))
        .filter(|word| word.contains(['€', '£', '$']) && word.contains(|c: char| c.is_ascii_digit()))
        .map(|word| word.trim_end_matches(['.', ',']).to_owned())
        .collect();
    amounts.sort();
    amounts
}

/// The text of a page's paper that is seen, its parts parted by spaces.
fn article(page: &Page) -> String {
    let html = Html::parse_document(&page.text());
    let article = html.select(&Selector::parse("article.document").unwrap()).next().expect("a paper");
    let unseen = Selector::parse(".unseen").unwrap();
    let unseen: Vec<&str> = article.select(&unseen).flat_map(|part| part.text()).collect();
    article.text().filter(|text| !unseen.contains(text)).collect::<Vec<_>>().join(" ")
}

pub(crate) async fn says_the_same_thrice(studio: &TestStudio, page: &str) -> String {
    let on_page = article(studio.get(page).await.is(StatusCode::OK));
    let file = studio.get(&format!("{page}/document.html")).await;
    assert_eq!(article(file.is(StatusCode::OK)), on_page, "{page}: page and file");
    let pdf = studio.get(&format!("{page}/document.pdf")).await;
    assert_eq!(pdf.is(StatusCode::OK).media_type, "application/pdf");
    if let Some(text) = text_of(&pdf.body, &["-raw"]) {
        assert!(!amounts(&on_page).is_empty());
        assert_eq!(amounts(&text), amounts(&on_page), "{page}: page and PDF: {text}");
        let written = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for word in on_page.split_whitespace() {
            assert!(written.contains(word), "{page}: {word} is not in {written}");
        }
    }
    on_page
}

#[tokio::test]
async fn page_file_and_pdf_say_the_same() {
    let studio = TestStudio::demo().await;
    for version in 1..=3 {
        let said = says_the_same_thrice(&studio, &format!("/quote-versions/{version}")).await;
        for secret in ["margin", "cost price", "mark-up"] {
            assert!(!said.to_lowercase().contains(secret), "{secret} in {said}");
        }
    }
    for invoice in 1..=4 {
        says_the_same_thrice(&studio, &format!("/invoices/{invoice}")).await;
    }
    for path in [
        "/quote-versions/999/document.pdf",
        "/quote-versions/999/document.html",
        "/invoices/999/document.pdf",
    ] {
        studio.get(path).await.is(StatusCode::NOT_FOUND);
    }
}

/// A draft says on every page that it is one, has nothing to sign, and is not made while something has no price.
#[tokio::test]
async fn a_draft_is_marked_and_nobody_can_sign_it() {
    let studio = crate::quotes::wedding().await;
    let draft = studio.get("/events/1/quote/draft.html").await;
    draft.is(StatusCode::OK).says("Draft of a quote, 4 May 2026, not an offer yet").says("Low bowl");
    draft.says("It cannot be accepted").says_not("To accept").says_not("Sign below");
    let pdf = studio.get("/events/1/quote/draft.pdf").await;
    assert_eq!(pdf.is(StatusCode::OK).media_type, "application/pdf");
    if let Some(text) = text_of(&pdf.body, &[]) {
        // At its head and at its foot.
        assert_eq!(text.matches("not an offer yet").count(), 2, "{text}");
    }
    studio.get("/events/1/quote/document").await.says("/events/1/quote/draft.pdf").says("To accept");
    crate::quotes::write(&studio, "DELETE FROM offer_price; DELETE FROM quote_line").await;
    studio.get("/events/1/quote/document").await.says_not("/events/1/quote/draft.pdf");
    studio.get("/events/1/quote/draft.pdf").await.is(StatusCode::CONFLICT).says("There is no draft yet");
    studio.get("/events/9/quote/draft.html").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_pdf_is_tagged_titled_and_the_same_each_time() {
    let studio = TestStudio::demo().await;
    let pdf = studio.get("/quote-versions/1/document.pdf").await;
    assert_eq!(pdf.body, studio.get("/quote-versions/1/document.pdf").await.body);
    let folder = own_folder();
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("paper.pdf");
    std::fs::write(&file, &pdf.body).unwrap();
    if let Ok(read) = Command::new("pdfinfo").arg(&file).output() {
        let read = String::from_utf8_lossy(&read.stdout).into_owned();
        for line in
            ["Title:           Quote 1, ", "Author:          Hob & Teasel", "Tagged:          yes", "(A4)"]
        {
            assert!(read.contains(line), "{line} in {read}");
        }
    }
    std::fs::remove_dir_all(&folder).unwrap();
}

#[tokio::test]
async fn a_files_name_is_safe_and_whole() {
    let studio = TestStudio::demo().await;
    let mut tx = studio.book.write().await.unwrap();
    sqlx::raw_sql("UPDATE quote_version SET document = json_set(document, '$.document.event.name', 'Őrs/Łucja, \"so\"') WHERE id = 1")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    let pdf = studio.get("/quote-versions/1/document.pdf").await;
    assert_eq!(
        pdf.disposition,
        "attachment; filename=\"Quote-1---rs--ucja---so-.pdf\"; filename*=UTF-8''Quote%201%2C%20%C5%90rs-%C5%81ucja%2C%20-so-.pdf"
    );
    let file = studio.get("/quote-versions/1/document.html").await;
    assert!(file.disposition.starts_with("inline; filename="), "{}", file.disposition);
}

#[tokio::test]
async fn the_html_file_needs_nothing_from_outside() {
    let studio = signed().await;
    let path = sent(&studio, &[("pictures", "yes")]).await;
    let file = studio.get(&format!("{path}/document.html")).await;
    let html = Html::parse_document(&file.text());
    let all = |selector: &str| html.select(&Selector::parse(selector).unwrap()).collect::<Vec<_>>();
    assert!(all("script, link, iframe, form, object").is_empty());
    for with in all("[src], [href], [srcset], [style], [onclick]") {
        assert!(with.attr("src").is_some_and(|src| src.starts_with("data:image/")), "{}", with.html());
    }
    assert_eq!(all("img").len(), 2, "the sign and one picture");
    assert!(
        all("meta[http-equiv='Content-Security-Policy']")[0]
            .attr("content")
            .unwrap()
            .starts_with("default-src 'none'")
    );
    let style = all("style")[0].text().collect::<String>();
    assert!(!style.replace("url(\"data:", "").contains("url("), "no address in the style");
}

fn png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::RgbImage::from_pixel(width, height, image::Rgb([120, 30, 60]))
        .write_to(&mut bytes, image::ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}

async fn upload(studio: &TestStudio, path: &str, field: &str, file: &[u8]) -> Page {
    let head =
        format!("--edge\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"a.png\"\r\n\r\n");
    let body = [head.as_bytes(), file, b"\r\n--edge--\r\n"].concat();
    let request = Request::post(path)
        .header("content-type", "multipart/form-data; boundary=edge")
        .header("sec-fetch-site", "same-origin");
    studio.send(request, Body::from(body)).await
}

/// An event with two low bowls of one recipe, which has a picture, in a studio with a sign and words of its own.
async fn signed() -> TestStudio {
    let studio = TestStudio::new().await;
    let mut tx = studio.book.write().await.unwrap();
    sqlx::raw_sql(
        "INSERT INTO tax_rate (name, rate, position) VALUES ('Standard', 200000, 0);
        INSERT INTO recipe (name, category, minutes, holding_hours, client_words)
            VALUES ('Low bowl', 'table', 20000, 24, 'White roses in stone');
        INSERT INTO client (name, email) VALUES ('Ada North', 'ada@example.org');
        INSERT INTO event (client_id, name, day, enquired_on) VALUES (1, 'North wedding', '2026-06-13', '2026-05-01');
        INSERT INTO place (event_id, name, position) VALUES (1, 'Long room', 0);
        INSERT INTO piece (event_id, place_id, recipe_id, position, count_rule, count)
            VALUES (1, 1, 1, 0, 'number', 14000), (1, 1, 1, 1, 'number', 2000);",
    )
    .execute(&mut *tx)
    .await
    .unwrap();
    tx.commit().await.unwrap();
    upload(&studio, "/recipes/1/picture", "picture", &png(600, 400)).await.onward();
    upload(&studio, "/settings/logo", "logo", &png(900, 300)).await.onward();
    studio
}

async fn sent(studio: &TestStudio, fields: &[(&str, &str)]) -> String {
    let page = studio.get("/events/1/quote/document").await;
    let text = page.is(StatusCode::OK).text();
    let key =
        text.split("name=\"once_key\" value=\"").nth(1).expect("it can be sent").split('"').next().unwrap();
    let fields: Vec<_> = [("once_key", key)].into_iter().chain(fields.iter().copied()).collect();
    studio.post("/events/1/quote/versions", &fields).await.onward().to_owned()
}

#[tokio::test]
async fn pictures_stand_where_they_are_wished_for_each_once() {
    let studio = signed().await;
    studio.get("/events/1/quote/document").await.says("Pictures of the pieces");
    let with = sent(&studio, &[("pictures", "yes")]).await;
    let page = studio.get(&with).await.text();
    assert_eq!(page.matches("src=\"/pictures/1/small\"").count(), 1);
    // Frozen: what the recipe shows later changes nothing.
    studio.post("/recipes/1/picture/removal", &[]).await.onward();
    studio.get(&with).await.says("/pictures/1/small");
    studio.get(&format!("{with}/document.html")).await.says("data:image/jpeg;base64,");
    studio.get("/events/1/quote/document").await.says_not("Pictures of the pieces");
    let without = sent(&studio, &[]).await;
    studio.get(&without).await.says_not("/pictures/");
}

#[tokio::test]
async fn the_studios_sign_is_made_anew_and_stays_on_what_was_sent() {
    let studio = signed().await;
    studio.get("/settings/logo").await.says("/logos/1");
    let sign = studio.get("/logos/1").await;
    assert_eq!(sign.media_type, "image/png");
    assert_eq!(image::load_from_memory(&sign.body).unwrap().width(), 800);
    let version = sent(&studio, &[]).await;
    let other = upload(&studio, "/settings/logo", "logo", &png(90, 90)).await;
    studio.get_with(other.onward(), &other.cookie).await.says("/settings/logo/1\"");
    studio.get("/settings/logo").await.says("/logos/2");
    studio.get(&version).await.says("/logos/1").says_not("/logos/2");
    studio.post("/settings/logo/removal", &[]).await.onward();
    studio.get("/settings/logo").await.says("No sign yet");
    studio.post("/settings/logo/removal", &[]).await.is(StatusCode::NOT_FOUND);
    studio.post("/settings/logo/1", &[]).await.onward();
    studio.get("/settings/logo").await.says("/logos/1");
    studio.post("/settings/logo/9", &[]).await.is(StatusCode::NOT_FOUND);
    studio.get("/logos/9").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_sign_that_is_no_picture_is_refused_in_a_sentence() {
    let studio = TestStudio::new().await;
    let svg = b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>";
    let refused = upload(&studio, "/settings/logo", "logo", svg).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("This is not a JPEG, PNG or WebP picture.");
    upload(&studio, "/settings/logo", "logo", b"").await.says("Choose a picture first.");
    studio.get("/settings/logo").await.says("No sign yet");
    upload(&studio, "/settings/logo", "logo", &png(90, 90)).await.onward();
    studio.get("/settings").await.says("value=\"My studio\"");
}

#[tokio::test]
async fn the_studios_own_words_stand_on_a_quote() {
    let studio = signed().await;
    let mut tx = studio.book.write().await.unwrap();
    sqlx::raw_sql(
        "UPDATE studio SET greeting = 'Dear friends of flowers,', accept_words = 'Ring us <before> Friday.', closing = 'Warmly, Hob'",
    )
    .execute(&mut *tx)
    .await
    .unwrap();
    tx.commit().await.unwrap();
    studio.get("/events/1/quote").await.says("Dear friends of flowers,");
    let version = sent(&studio, &[]).await;
    let said = says_the_same_thrice(&studio, &version).await;
    for words in ["Dear friends of flowers,", "Ring us <before> Friday.", "Warmly, Hob"] {
        assert!(said.contains(words), "{words} in {said}");
    }
    assert!(!said.contains("Sign below"));
}
