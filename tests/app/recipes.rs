use axum::body::Body;
use axum::http::{Request, StatusCode, header};

use crate::support::{Page, TestStudio};

/// A recipe's form with these lines: material or part, how much, what may stand in.
fn form<'a>(name: &'a str, lines: &[(&'a str, &'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let mut fields = vec![
        ("name", name),
        ("category", "table"),
        ("minutes", "20"),
        ("holding_hours", "24"),
        ("batch", "10"),
    ];
    for (what, amount, instead) in lines {
        fields.extend([("what", *what), ("amount", *amount), ("stands_in", *instead), ("line_note", "")]);
    }
    fields
}

/// A rose at 0.95, ruscus of 66 usable cm at 0.90, a bowl 12.7 cm high at 2.00, ribbon, a loaned stand, lilies.
async fn stocked() -> TestStudio {
    let studio = TestStudio::new().await;
    let mut tx = studio.book.write().await.unwrap();
    for statement in [
        "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
            VALUES (1, 'Marsh Wholesale', 31, 1, '11:00', 0, 0)",
        "INSERT INTO material (id, name, kind, unit, usable_length, inner_height, loaned, loan_fee, cautions) VALUES
            (1, 'Rose, cream', 'flower', 'stem', NULL, NULL, 0, 0, 0),
            (2, 'Ruscus', 'foliage', 'stem', 660000, NULL, 0, 0, 0),
            (3, 'Bowl, low', 'vessel', 'each', NULL, 127000, 0, 0, 0),
            (4, 'Ribbon, linen', 'sundry', 'roll', 20000000, NULL, 0, 0, 0),
            (5, 'Stand, iron', 'stand', 'each', NULL, NULL, 1, 250, 0),
            (6, 'Lily', 'flower', 'stem', NULL, NULL, 0, 0, 64)",
        "INSERT INTO material (id, name, kind, unit, removed_at) VALUES (7, 'Tulip', 'flower', 'stem', '2026-01-01T00:00:00Z')",
        "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES
            (1, 1, 1, 'bunch', 20), (2, 1, 2, 'bunch', 10), (3, 1, 3, 'box', 12), (4, 1, 4, 'roll', 1)",
        "INSERT INTO offer_price (offer_id, from_day, price, recorded_at) VALUES (1, '2026-01-01', 1900, ''),
            (2, '2026-01-01', 900, ''), (3, '2026-01-01', 2400, ''), (4, '2026-01-01', 450, '')",
    ] {
        sqlx::query(statement).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    studio
}

async fn written(studio: &TestStudio, name: &str, lines: &[(&str, &str, &str)]) -> String {
    studio.post("/recipes", &form(name, lines)).await.onward().to_owned()
}

#[tokio::test]
async fn a_recipe_is_written_reckoned_and_found() {
    let studio = stocked().await;
    studio.get("/recipes").await.is(StatusCode::OK).says("No recipes yet");
    let lines = [
        ("rose, cream", "9.5", ""),
        ("Ruscus", "6 x 20", "rose, cream"),
        ("Bowl, low", "1", ""),
        ("Ribbon, linen", "2 turns round 12 cm + 30 cm ends", ""),
        ("Stand, iron", "1", ""),
    ];
    let path = written(&studio, "Low bowl", &lines).await;
    let page = studio.get(&path).await;
    // 9.5 × 0.95 ÷ 0.95 = 9.50; six pieces, three from a stem of 66 cm: 2 × 0.90 ÷ 0.95.
    page.is(StatusCode::OK)
        .says(
            "Rose, cream: 9.5 ÷ (1 − 5\u{a0}% loss) × €0.95 = €9.50 (Marsh Wholesale: bunch of 20 at €19.00",
        )
        .says("6 of 20\u{a0}cm at 3 from a stem (2)")
        .says("value=\"6 × 20 cm\"")
        .says("value=\"2 turns round 12 cm + 30 cm ends\"")
        .says("Stand, iron: 1 × €2.50 = €2.50 (loan fee)")
        .says("20 min, its parts&#39; too × €30.00 an hour ÷ 60 = €10.00")
        .says("brought up to steps of €0.50");
    studio.get("/recipes?q=LOW&category=table").await.says("Low bowl");
    studio.get("/recipes?q=low&category=personal").await.says_not("Low bowl").says("Show all");
}

#[tokio::test]
async fn a_refused_recipe_names_every_cell_and_keeps_what_was_typed() {
    let studio = stocked().await;
    let lines = [("Rose, creem", "6", ""), ("Ruscus", "a few", "Nobody"), ("Tulip", "3", ""), ("", "4", "")];
    let mut fields = form("<script>alert(1)</script>", &lines);
    fields.retain(|(name, _)| *name != "minutes");
    fields.push(("minutes", "-1"));
    let page = studio.post("/recipes", &fields).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("6 things to put right")
        .says("There is no material or recipe “Rose, creem”. Near to it: “Rose, cream”.")
        .says("“a few” is not understood; write it like 6.5, or 8 × 15 cm, or 1 per 20.")
        .says("“Tulip” was removed")
        .says("id=\"lines-1-stands_in-error\"")
        .says("Write which material or recipe.")
        .says("value=\"Rose, creem\"")
        .says_not("<script>alert");
    studio.post("/recipes", &form("Nothing", &[("", "", "")])).await.says("at least one line");
    let long = "x".repeat(10_000);
    studio
        .post("/recipes", &form(&long, &lines))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("120 is the most");
    studio.get("/recipes").await.says("No recipes yet");
    studio.get("/recipes/4711").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_recipe_cannot_be_a_part_of_itself() {
    let studio = stocked().await;
    let a = written(&studio, "A", &[("Rose, cream", "1", "")]).await;
    let b = written(&studio, "B", &[("A", "2", "")]).await;
    studio.get(&b).await.says("value=\"A\"").says("60 min");
    let mut fields = form("A", &[("Rose, cream", "1", ""), ("B", "1", "")]);
    fields.push(("version", "1"));
    studio
        .post(&a, &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("A recipe cannot be a part of itself: A → B → A.")
        .says("href=\"#lines-1-what\"");
    studio.post("/recipes", &form("C", &[("A", "2 × 3 cm", "")])).await.says("A recipe as a part is counted");
    studio.post("/recipes", &form("a", &[("B", "1", "")])).await.says("There is a recipe named “a” already.");
    studio
        .post(&format!("{a}/removal"), &[])
        .await
        .is(StatusCode::CONFLICT)
        .says("“A” is a part of “B”. Take it out there first");
}

#[tokio::test]
async fn the_preview_reckons_what_is_typed_and_keeps_nothing() {
    let studio = stocked().await;
    let lines = [("Rose, cream", "10", ""), ("Lily", "2", ""), ("Ruscus", "", ""), ("Rosa", "1", "")];
    let page = studio.post("/recipes/preview", &form("", &lines)).await;
    page.is(StatusCode::OK)
        .says("data-swap>€10.00</output>")
        .says("data-swap>no price today</output>")
        .says("data-swap>how much?</output>")
        .says("data-swap>no such name</output>")
        .says("id=\"figures\"")
        .says("Not in the price yet")
        .says("lilies from cats");
    studio.get("/recipes").await.says("No recipes yet");
    let empty = studio.post("/recipes/preview", &[]).await;
    empty.is(StatusCode::OK).says("as soon as a line is written");
}

#[tokio::test]
async fn giants_are_answered_in_words() {
    let studio = stocked().await;
    written(&studio, "Field", &[("Rose, cream", "100000", "")]).await;
    written(&studio, "Fields", &[("Field", "100000", "")]).await;
    let path = written(&studio, "World", &[("Fields", "100000", "")]).await;
    studio.get(&path).await.is(StatusCode::OK).says("So many of “Field” cannot be reckoned with");
    studio.get("/recipes").await.is(StatusCode::OK).says("cannot be reckoned with");
    let refused = studio.post("/recipes", &form("Universe", &[("World", "100000", "")])).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("So many of “Field” cannot be reckoned with");
}

#[tokio::test]
async fn what_was_removed_still_counts_until_it_is_replaced() {
    let studio = stocked().await;
    let path = written(&studio, "Bowl", &[("Rose, cream", "9.5", "")]).await;
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query("UPDATE material SET removed_at = '2026-05-01T00:00:00Z' WHERE id = 1")
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
    studio.get(&path).await.says("data-swap>removed</output>").says("= €9.50");
    let mut fields = form("Bowl", &[("Rose, cream", "9.5", "")]);
    fields.push(("version", "1"));
    studio.post(&path, &fields).await.is(StatusCode::UNPROCESSABLE_ENTITY).says("“Rose, cream” was removed");
}

#[tokio::test]
async fn a_hand_tied_bundle_is_held_against_its_vessel() {
    let studio = stocked().await;
    let tied = async |second: &str| {
        let mut fields = form("Tied", &[("Rose, cream", "7", ""), ("Bowl, low", "1", "")]);
        fields.push(("second_binding", second));
        studio.post("/recipes/preview", &fields).await
    };
    // 12.7 cm high less an inch leaves 10.16 cm of stem.
    tied("10 cm").await.says("it holds, with 0.16\u{a0}cm of stem below the second binding");
    tied("12").await.says("it falls open, by 1.84\u{a0}cm");
}

#[tokio::test]
async fn a_stale_save_shows_both() {
    let studio = stocked().await;
    let path = written(&studio, "Bowl", &[("Rose, cream", "5", "")]).await;
    let saved = |amount: &'static str, version: &'static str| {
        let mut fields = form("Bowl", &[("Rose, cream", amount, "")]);
        fields.push(("version", version));
        fields
    };
    studio.post(&path, &saved("6", "1")).await.onward();
    let page = studio.post(&path, &saved("7", "1")).await;
    page.is(StatusCode::CONFLICT)
        .says("6 Rose, cream")
        .says("7 Rose, cream")
        .says("name=\"version\" value=\"2\"");
    studio.post(&path, &saved("7", "2")).await.onward();
    studio.get(&path).await.says("value=\"7\"");
}

#[tokio::test]
async fn a_removed_recipe_can_be_brought_back_unless_its_name_is_taken() {
    let studio = stocked().await;
    let path = written(&studio, "Bowl", &[("Rose, cream", "5", "")]).await;
    let removed = studio.post(&format!("{path}/removal"), &[]).await;
    studio.get_with(removed.onward(), &removed.cookie).await.says("Bowl removed.");
    studio.get(&path).await.is(StatusCode::NOT_FOUND);
    studio.post(&format!("{path}/restoration"), &[]).await.onward();
    studio.get(&path).await.is(StatusCode::OK);
    studio.post(&format!("{path}/removal"), &[]).await.onward();
    written(&studio, "bowl", &[("Rose, cream", "5", "")]).await;
    studio
        .post(&format!("{path}/restoration"), &[])
        .await
        .is(StatusCode::CONFLICT)
        .says("another recipe named");
    studio.post("/recipes/99/restoration", &[]).await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_copy_begins_with_everything_under_a_name_of_its_own() {
    let studio = stocked().await;
    let path = written(&studio, "Bowl", &[("Ruscus", "6 × 20 cm", "Rose, cream")]).await;
    let copies = format!("{path}/copies");
    let copy = studio.post(&copies, &[("copy_name", "Bowl, light")]).await.onward().to_owned();
    studio.get(&copy).await.says("value=\"6 × 20 cm\"").says("value=\"Rose, cream\"");
    for wrong in ["bowl", " "] {
        let page = studio.post(&copies, &[("copy_name", wrong)]).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY).says("id=\"copy_name-error\"");
    }
}

#[tokio::test]
async fn names_are_offered_as_one_types() {
    let studio = stocked().await;
    written(&studio, "Rose ball", &[("Rose, cream", "5", "")]).await;
    let names = studio.get("/recipes/names?q=ROSE").await;
    assert_eq!(names.media_type, "application/json");
    assert_eq!(names.text(), r#"[{"name":"Rose ball","note":"Table"}]"#);
    let both = studio.get("/recipes/ingredients?q=rose").await.text();
    assert_eq!(both, r#"[{"name":"Rose ball","note":"Recipe"},{"name":"Rose, cream","note":"Flower"}]"#);
    let second = studio.get("/recipes/substitutes?q=Ruscus;%20ros").await.text();
    assert_eq!(second, r#"[{"name":"Ruscus; Rose, cream","note":"Flower"}]"#);
    studio.get("/recipes/ingredients?q=tulip").await.says("[]");
}

#[tokio::test]
async fn a_part_that_shares_a_materials_name_stays_a_part() {
    let studio = stocked().await;
    written(&studio, "Ruscus", &[("Rose, cream", "5", "")]).await;
    let path = written(&studio, "Arch", &[("Ruscus (recipe)", "2", ""), ("Ruscus", "3", "")]).await;
    studio.get(&path).await.says("value=\"Ruscus (recipe)\"").says("value=\"Ruscus\"");
}

#[tokio::test]
async fn the_card_has_stems_first_then_the_steps() {
    let studio = stocked().await;
    let mut fields =
        form("Bowl", &[("Bowl, low", "1", ""), ("Ruscus", "6 × 20 cm", "Lily"), ("Lily", "3", "")]);
    fields.push(("steps", "Fill the bowl to the half\r\n\r\nCut on the slant"));
    let path = studio.post("/recipes", &fields).await.onward().to_owned();
    let card = studio.get(&format!("{path}/card")).await;
    card.is(StatusCode::OK).says("or Lily").says("Cut on the slant").says("lilies from cats");
    let text = card.text();
    let at = |words: &str| text.find(words).unwrap();
    assert!(at("<strong>Lily") < at("<strong>Bowl, low") && at("<strong>Bowl, low") < at("Fill the bowl"));
    studio.get("/recipes/99/card").await.is(StatusCode::NOT_FOUND);
}

async fn upload(studio: &TestStudio, path: &str, file: &[u8]) -> Page {
    let head = "--edge\r\nContent-Disposition: form-data; name=\"picture\"; filename=\"a.png\"\r\n\r\n";
    let body = [head.as_bytes(), file, b"\r\n--edge--\r\n"].concat();
    let request = Request::post(format!("{path}/picture"))
        .header(header::CONTENT_TYPE, "multipart/form-data; boundary=edge")
        .header("sec-fetch-site", "same-origin");
    studio.send(request, Body::from(body)).await
}

fn png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::DynamicImage::new_rgb8(width, height).write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

#[tokio::test]
async fn a_picture_is_made_anew_kept_and_taken_away_with_undo() {
    let studio = stocked().await;
    let path = written(&studio, "Bowl", &[("Rose, cream", "5", "")]).await;
    upload(&studio, &path, &png(1_800, 900)).await.onward();
    studio.get(&path).await.says("/pictures/1/small");
    let small = studio.get("/pictures/1/small").await;
    assert_eq!(small.media_type, "image/jpeg");
    let size = |jpeg: &[u8]| {
        image::load_from_memory(jpeg).map(|picture| (picture.width(), picture.height())).unwrap()
    };
    assert_eq!(size(&small.body), (320, 160));
    assert_eq!(size(&studio.get("/pictures/1/full").await.body), (1_600, 800));
    let gone = studio.post(&format!("{path}/picture/removal"), &[]).await;
    studio.get_with(gone.onward(), &gone.cookie).await.says(&format!("{path}/picture/1\""));
    studio.get(&path).await.says_not("/pictures/1");
    studio.post(&format!("{path}/picture/1"), &[]).await.onward();
    studio.get(&path).await.says("/pictures/1/small");
    studio.post(&format!("{path}/picture/99"), &[]).await.is(StatusCode::NOT_FOUND);
    studio.get("/pictures/99/full").await.is(StatusCode::NOT_FOUND);
    studio.get("/pictures/1/original").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn files_that_are_no_pictures_are_refused_in_a_sentence() {
    let studio = stocked().await;
    let path = written(&studio, "Bowl", &[("Rose, cream", "5", "")]).await;
    let refused = async |file: &[u8], words: &str| {
        upload(&studio, &path, file).await.is(StatusCode::UNPROCESSABLE_ENTITY).says(words);
    };
    refused(b"", "Choose a picture first.").await;
    refused(b"<html>", "This is not a JPEG, PNG or WebP picture.").await;
    refused(&png(64, 64)[..60], "This picture is broken").await;
    refused(&vec![0xff; 16_000_000], "larger than 15 MB").await;
    studio.get(&path).await.says_not("/pictures/");
}
