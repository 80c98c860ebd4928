//! What if: tried beside the quote, left or taken.

use axum::http::StatusCode;

use crate::quotes::{QUOTE, saved, wedding};

const WHAT_IF: &str = "/events/1/quote/what-if";

#[tokio::test]
async fn counts_and_stems_are_tried_beside_the_quote_and_taken() {
    let studio = wedding().await;
    saved(&studio, &[("price", "")]).await.onward();
    let page = studio.get(WHAT_IF).await;
    page.is(StatusCode::OK).says("nothing differs yet").says("Low bowl, 14 in all");
    let (version, seen) = (page.hidden("version"), page.hidden("seen"));
    let typed = |count: &'static str, what: &'static str| {
        vec![
            ("version", version.clone()),
            ("seen", seen.clone()),
            ("piece_id", "1".into()),
            ("recipe", "Low bowl".into()),
            ("count", count.into()),
            ("rule", "number".into()),
            ("stem_recipe", "Low bowl".into()),
            ("stem_what", what.into()),
            ("stem_count", "8".into()),
        ]
    };
    let post = async |path: &str, fields: Vec<(&'static str, String)>| {
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        studio.post(path, &fields).await
    };
    // Eight roses at 1.20 × 3.5, a bowl 10.00, labour 10.00: 53.60, up to 54.00; 16 of it 864.00, with tax 1,036.80.
    let part = post(&format!("{WHAT_IF}/preview"), typed("16", "Rose, white")).await;
    part.is(StatusCode::OK)
        .says("14 × Low bowl at €62.00")
        .says("16 × Low bowl at €54.00")
        .says("€1,041.60")
        .says("€1,036.80")
        .says("−€4.80");
    post(&format!("{WHAT_IF}/look"), typed("16", "Rose, white")).await.says("€1,036.80").says("value=\"16\"");
    let unread = post(&format!("{WHAT_IF}/preview"), typed("many", "Rose")).await;
    unread
        .is(StatusCode::OK)
        .says("Not reckoned with: ")
        .says("has no material of that name in it")
        .says("no count × Low bowl");
    part.says_not("Not reckoned with");
    studio.get(QUOTE).await.says("€1,041.60").says_not("€1,036.80");
    let refused = post(WHAT_IF, typed("16", "Rose")).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("has no material of that name in it")
        .says("value=\"16\"");
    assert_eq!(post(WHAT_IF, typed("16", "Rose, white")).await.onward(), QUOTE);
    studio.get(QUOTE).await.says("Low bowl, 8 Rose, white").says("€1,036.80");
    // The recipe it comes from is as it was.
    studio.get("/recipes/1").await.says("value=\"10\"");
    post(WHAT_IF, typed("18", "Rose, white")).await.is(StatusCode::CONFLICT).says("changed since");
    studio.get("/events/9/quote/what-if").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_piece_is_tried_left_out() {
    let studio = wedding().await;
    let fields = [("piece_id", "1"), ("recipe", ""), ("count", "14"), ("rule", "number")];
    studio
        .post(&format!("{WHAT_IF}/preview"), &fields)
        .await
        .says("left out")
        .says("−€868.00")
        .says("−€1,041.60");
}

#[tokio::test]
async fn what_cannot_be_read_is_refused_at_its_field_when_it_is_compared_as_when_it_is_taken() {
    let studio = wedding().await;
    saved(&studio, &[("price", "")]).await.onward();
    let page = studio.get(WHAT_IF).await;
    let (version, seen) = (page.hidden("version"), page.hidden("seen"));
    for (count, stems) in [("abc", ""), ("-3", ""), ("-3", "x")] {
        let fields = [
            ("version", version.as_str()),
            ("seen", &seen),
            ("piece_id", "1"),
            ("recipe", "Low bowl"),
            ("count", count),
            ("rule", "number"),
            ("stem_recipe", "Low bowl"),
            ("stem_what", if stems.is_empty() { "" } else { "Rose, white" }),
            ("stem_count", stems),
        ];
        let fields = if stems.is_empty() { &fields[..6] } else { &fields[..] };
        for path in [format!("{WHAT_IF}/look"), WHAT_IF.to_owned()] {
            studio
                .post(&path, fields)
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says("id=\"pieces-0-count-error\"")
                .says("href=\"#pieces-0-count\"")
                .says(&format!("value=\"{count}\""));
        }
    }
    studio.get(QUOTE).await.says("€1,041.60");
}

#[tokio::test]
async fn enter_compares_and_takes_nothing() {
    let studio = wedding().await;
    let page = studio.get(WHAT_IF).await.text();
    // Enter presses a form's first button that sends it.
    let form = page.split("<form").find(|form| form.contains("id=\"tries\"")).expect("a form");
    assert!(form.contains(&format!("action=\"{WHAT_IF}/look\"")));
    let first = form.find("type=\"submit\"").expect("a button");
    assert!(form[first..].starts_with("type=\"submit\">Compare<"));
}
