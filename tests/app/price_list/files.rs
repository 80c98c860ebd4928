use std::fmt::Write as _;

use axum::body::Body;
use axum::http::{Request, StatusCode};

use crate::support::{Page, TestStudio};

/// Posts a file as a browser's form does.
async fn send(studio: &TestStudio, name: &str, bytes: &[u8], pasted: &str) -> Page {
    let mut body = format!(
        "--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\nContent-Type: text/csv\r\n\r\n"
    )
    .into_bytes();
    body.extend_from_slice(bytes);
    let rest = format!(
        "\r\n--cut\r\nContent-Disposition: form-data; name=\"pasted\"\r\n\r\n{pasted}\r\n--cut--\r\n"
    );
    body.extend_from_slice(rest.as_bytes());
    let request = Request::post("/price-list/import")
        .header("content-type", "multipart/form-data; boundary=cut")
        .header("sec-fetch-site", "same-origin");
    studio.send(request, Body::from(body)).await
}

fn fingerprint(preview: &Page) -> String {
    let text = preview.text();
    let from = text.split("name=\"fingerprint\" value=\"").nth(1).expect("a list that may be taken in");
    from.split('"').next().unwrap().to_owned()
}

/// Takes a file in through its preview.
async fn take_in(studio: &TestStudio, text: &str) -> Page {
    let path = send(studio, "list.csv", text.as_bytes(), "").await.onward().to_owned();
    let preview = studio.get(&path).await;
    let print = fingerprint(&preview);
    studio.post(&format!("{path}/acceptance"), &[("fingerprint", &print)]).await
}

const LIST: &str = "\u{feff}Material;Kind;Supplier;In a pack;Price;Delivers on\r\n\
    Rose, ivory;flower;Marsh Lane;25;31,00;Mon, Thu\r\n\
    \"Ribbon \"\"wide\"\"\";sundry;Marsh Lane;1;4,50;\r\n\
    Glass bowl;vessel;;;;\r\n";

#[tokio::test]
async fn a_list_is_taken_in_after_a_look() {
    let studio = TestStudio::new().await;
    studio.get("/price-list/import").await.is(StatusCode::OK).says("All headings").says("100,000 lines");
    let path = send(&studio, "marsh lane.csv", LIST.as_bytes(), "").await.onward().to_owned();
    let preview = studio.get(&path).await;
    preview
        .is(StatusCode::OK)
        .says("marsh lane.csv: 3 lines")
        .says("Take in 3 new materials, 1 new supplier, 2 new offers, 2 new prices")
        .says("New material, flower");
    studio.get("/materials").await.says("No materials yet");
    let taken = studio.post(&format!("{path}/acceptance"), &[("fingerprint", &fingerprint(&preview))]).await;
    let list = studio.get_with(taken.onward(), &taken.cookie).await;
    list.says("Taken in from marsh lane.csv: 3 new materials").says("Ribbon &#34;wide&#34;").says("€1.3053");
    studio.get("/suppliers/1").await.says("Mon, Thu");
    studio
        .post(&format!("{path}/acceptance"), &[("fingerprint", "x")])
        .await
        .is(StatusCode::CONFLICT)
        .says("no longer waiting");
    studio.get(&path).await.is(StatusCode::CONFLICT);
}

#[tokio::test]
async fn the_saved_list_comes_back_as_no_change() {
    let studio = TestStudio::new().await;
    take_in(&studio, LIST).await.onward();
    let formula = [
        ("name", "=HYPERLINK(\"x\")"),
        ("kind", "sundry"),
        ("unit", "each"),
        ("care_source", "own"),
        ("note", "a\nb; \"c\""),
    ];
    studio.post("/materials", &formula).await.onward();
    let saved = studio.get("/price-list.csv").await;
    assert_eq!(saved.media_type, "text/csv; charset=utf-8");
    saved.says("\"'=HYPERLINK(\"\"x\"\")\",sundry").says_not(",=HYPER").says_not("\n=HYPER");
    let path = send(&studio, "list.csv", &saved.body, "").await.onward().to_owned();
    studio.get(&path).await.says("Nothing to take in").says("New 0").says("Changed 0").says("As it was 4");
    let given_up = studio.post(&format!("{path}/removal"), &[]).await;
    studio.get_with(given_up.onward(), &given_up.cookie).await.says("nothing was taken in");
    studio.get(&path).await.is(StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_saved_list_fills_an_empty_book() {
    let studio = TestStudio::new().await;
    take_in(&studio, LIST).await.onward();
    let saved = studio.get("/price-list.csv").await;
    let other = TestStudio::new().await;
    take_in(&other, &saved.text()).await.onward();
    assert_eq!(other.get("/price-list.csv").await.text(), saved.text());
}

#[tokio::test]
async fn one_refused_line_keeps_all_out() {
    let studio = TestStudio::new().await;
    let list = format!("{LIST}Fern;plant;;;;\r\nIvy;foliage;Marsh Lane;0;9;\r\n");
    let path = send(&studio, "list.csv", list.as_bytes(), "").await.onward().to_owned();
    let preview = studio.get(&path).await;
    preview
        .says("2 lines are refused, so nothing is taken in")
        .says("“plant” is not one of the choices")
        .says("A pack must hold at least one.")
        .says_not("name=\"fingerprint\"");
    studio.get(&format!("{path}?show=new")).await.says("Rose, ivory").says_not("Fern");
    let forced = studio.post(&format!("{path}/acceptance"), &[("fingerprint", "")]).await;
    forced.is(StatusCode::UNPROCESSABLE_ENTITY).says("2 lines are refused");
    studio.get("/materials").await.says("No materials yet");
}

#[tokio::test]
async fn what_was_previewed_is_what_is_taken_in() {
    let studio = TestStudio::new().await;
    take_in(&studio, LIST).await.onward();
    let list = "material,supplier,price\n\"Rose, ivory\",Marsh Lane,33\n";
    let path = send(&studio, "list.csv", list.as_bytes(), "").await.onward().to_owned();
    let preview = studio.get(&path).await;
    preview.says("<del>€31.00</del> <ins>€33.00</ins>");
    // Meanwhile someone writes the very price by hand.
    let offer = if studio.get("/offers/1").await.text().contains("Rose") { 1 } else { 2 };
    let price = [("price", "33"), ("from_day", "2026-05-04"), ("until_day", "")];
    studio.post(&format!("/offers/{offer}/prices"), &price).await.onward();
    let late = studio.post(&format!("{path}/acceptance"), &[("fingerprint", &fingerprint(&preview))]).await;
    late.is(StatusCode::CONFLICT).says("changed since you looked").says("Nothing to take in");
}

#[tokio::test]
async fn lines_may_be_pasted_from_a_spreadsheet() {
    let studio = TestStudio::new().await;
    let pasted = "Material\tKind\tShelf\nWire, 0.9 mm\tmechanics\t3\n";
    let path = send(&studio, "", b"", pasted).await.onward().to_owned();
    studio.get(&path).await.says("Wire, 0.9 mm").says("Left aside, since no heading of ours: “Shelf”");
    let page = send(&studio, "", b"", "no headings here\n").await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("must hold headings")
        .says("no headings here\n</textarea>");
    send(&studio, "", b"", " ").await.is(StatusCode::UNPROCESSABLE_ENTITY).says("Choose a file");
}

#[tokio::test]
async fn what_is_no_list_gets_a_clear_sentence() {
    let studio = TestStudio::new().await;
    for (bytes, sentence) in [
        (&b"PK\x03\x04\0\0\0"[..], "is broken or encrypted"),
        (b"\x89PNG\r\n\x1a\n\0\0", "not a text file"),
        (b"material,kind\nRos\xe9,flower\n", "line 2 holds bytes that are no letters"),
        (b"", "nothing in it"),
        (b"material,kind\n", "no line below"),
        (b"<html><script>alert(1)</script></html>", "must hold headings"),
    ] {
        let page = send(&studio, "list.csv", bytes, "").await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Not taken in")
            .says(sentence)
            .says_not("<script>alert");
    }
    let mut many = String::from("material,kind\n");
    for number in 0..=100_000 {
        writeln!(many, "Rose {number},flower").unwrap();
    }
    send(&studio, "list.csv", many.as_bytes(), "")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("100000 is the most");
    let huge = vec![b'x'; 64 * 1024 * 1024 + 1];
    send(&studio, "list.csv", &huge, "").await.is(StatusCode::UNPROCESSABLE_ENTITY).says("larger than 64 MB");
    let broken = Request::post("/price-list/import")
        .header("content-type", "multipart/form-data; boundary=cut")
        .header("sec-fetch-site", "same-origin");
    studio.send(broken, Body::from("--cut\r\n")).await.is(StatusCode::CONFLICT).says("did not arrive whole");
    studio.get("/price-list/import/77").await.is(StatusCode::CONFLICT).says("no longer waiting");
}

#[tokio::test]
async fn five_thousand_lines_are_taken_in() {
    let studio = TestStudio::new().await;
    let mut list = String::from("material,kind,supplier,pack,in a pack,price\n");
    for number in 0..5_000 {
        writeln!(list, "Rose {number},flower,Grower {},Bunch,25,{}.50", number % 20, number % 90 + 5)
            .unwrap();
    }
    let path = send(&studio, "list.csv", list.as_bytes(), "").await.onward().to_owned();
    let preview = studio.get(&format!("{path}?page=50")).await;
    preview.says("New 5000").says("rel=\"prev\"").says_not("rel=\"next\"");
    studio.post(&format!("{path}/acceptance"), &[("fingerprint", &fingerprint(&preview))]).await.onward();
    studio.get("/materials?q=rose+4999").await.says("1 material").says("Grower 19");
    let saved = studio.get("/price-list.csv").await;
    let path = send(&studio, "list.csv", &saved.body, "").await.onward().to_owned();
    studio.get(&path).await.says("As it was 5000");
}

/// A wholesaler's list as a spreadsheet: headings below a title, a day, a share, a price as the sheet reckoned it.
fn spreadsheet() -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    let (day, share) = (
        rust_xlsxwriter::Format::new().set_num_format("d.m.yyyy"),
        rust_xlsxwriter::Format::new().set_num_format("0%"),
    );
    for (column, heading) in
        (0..).zip(["Material", "Kind", "Supplier", "Pack", "In a pack", "Price", "From", "Usual loss"])
    {
        sheet.write(0, column, heading).unwrap();
    }
    for (column, cell) in (0..).zip(["Rose, ivory", "flower", "Marsh Lane", "Bunch"]) {
        sheet.write(2, column, cell).unwrap();
    }
    sheet.write(2, 4, 25).unwrap();
    let price = rust_xlsxwriter::Formula::new("=15.6*2").set_result("31.199999999999999");
    sheet.write_formula(2, 5, price).unwrap();
    let first = rust_xlsxwriter::ExcelDateTime::from_ymd(2026, 5, 1).unwrap();
    sheet.write_with_format(2, 6, first, &day).unwrap();
    sheet.write_with_format(2, 7, 0.05, &share).unwrap();
    book.save_to_buffer().unwrap()
}

#[tokio::test]
async fn a_spreadsheet_is_taken_in_as_a_list_is() {
    let studio = TestStudio::new().await;
    studio.get("/price-list/import").await.says("a spreadsheet (.xlsx)");
    let path = send(&studio, "marsh lane.xlsx", &spreadsheet(), "").await.onward().to_owned();
    let preview = studio.get(&path).await;
    preview
        .says("marsh lane.xlsx: 1 line")
        .says("Take in 1 new material, 1 new supplier, 1 new offer, 1 new price");
    // The row keeps the number that the sheet gives it.
    preview.says("line 3<");
    studio.post(&format!("{path}/acceptance"), &[("fingerprint", &fingerprint(&preview))]).await.onward();
    studio.get("/offers/1").await.says("€31.20").says("1 May 2026");
    studio.get("/materials/1").await.says("5\u{a0}%");
    let saved = studio.get("/price-list.csv").await;
    saved.says("31.20,2026-05-01");
}

#[tokio::test]
async fn a_spreadsheet_made_to_harm_is_refused() {
    let studio = TestStudio::new().await;
    let whole = spreadsheet();
    let far = {
        let mut book = rust_xlsxwriter::Workbook::new();
        book.add_worksheet().write(1_048_575, 16_383, "x").unwrap();
        book.save_to_buffer().unwrap()
    };
    let bomb = {
        use std::io::Write as _;
        let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        zip.start_file("_rels/.rels", zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(&vec![b' '; 30 * 1024 * 1024]).unwrap();
        zip.finish().unwrap().into_inner()
    };
    for (bytes, sentence) in [
        (&far[..], "Cell XFD1048576 is filled"),
        (&bomb, "unpacks to more than 1"),
        (&whole[..whole.len() / 2], "is broken or encrypted"),
        (&[b"PK\x03\x04".as_slice(), &[0x5a; 500]].concat(), "is broken or encrypted"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "older kind (.xls)"),
    ] {
        let page = send(&studio, "list.xlsx", bytes, "").await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY).says("Not taken in").says(sentence);
    }
    studio.get("/materials").await.says("No materials yet");
}
