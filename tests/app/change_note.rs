//! What changes after a version was accepted: change notes, their answers, the account and the stems that follow.

use axum::http::StatusCode;

use crate::papers::says_the_same_thrice;
use crate::quotes::{QUOTE, saved, sent, wedding, write};
use crate::support::TestStudio;

const PARTS: [(&str, &str); 6] = [
    ("part_label", "On accepting"),
    ("part_share", "30"),
    ("part_due", ""),
    ("part_label", "Rest"),
    ("part_share", "70"),
    ("part_due", "2026-06-01"),
];

const YES: [(&str, &str); 3] =
    [("accepted_by", "Ada North"), ("accepted_on", "2026-05-04"), ("how", "by email")];

/// Fourteen low bowls at 62.00 and 20 %: 1,041.60, accepted.
async fn booked() -> TestStudio {
    let studio = wedding().await;
    saved(&studio, &PARTS).await.onward();
    let version = sent(&studio).await;
    studio.post(&format!("{version}/acceptance"), &YES).await.onward();
    studio
}

/// The quote saved with a count, its payment as it was.
async fn counted(studio: &TestStudio, count: &'static str) {
    let changes: Vec<(&str, &str)> = PARTS.into_iter().chain([("count", count)]).collect();
    saved(studio, &changes).await.onward();
}

#[tokio::test]
async fn a_change_is_noted_sent_and_accepted_and_the_account_and_the_stems_follow() {
    let studio = booked().await;
    studio.get("/events/1").await.says_not("Changed since accepted");
    let unchanged = studio.get(&format!("{QUOTE}/document")).await;
    unchanged.says("there is nothing to agree").says_not("to be sent</button>");
    counted(&studio, "16").await;
    // 16 × 62.00 = 992.00 and 198.40 of tax: 1,190.40, 148.80 more. The deposit of 312.48 has fallen due.
    studio.get("/events/1").await.says("Changed since accepted").says("€148.80 more than agreed, with tax");
    studio.get(QUOTE).await.says("See change note 1 and send it").says("14 became 16");
    studio.get(&format!("{QUOTE}/document")).await.says("Keep this as change note 1 (version 2), to be sent");
    let note = sent(&studio).await;
    assert_eq!(note, "/quote-versions/2/change-note");
    studio
        .get(&note)
        .await
        .is(StatusCode::OK)
        .says("Change note 1, 4 May 2026")
        .says("version 1 of the quote<br>accepted on 4 May 2026 by Ada North")
        .says("€1,041.60 was agreed; it is €1,190.40 now: €148.80 more, tax included.")
        .says("14 × €62.00, now 16 × €62.00")
        .says("+€124.00")
        .says("+€24.80")
        .says("€877.92")
        .says("No answer yet");
    studio
        .get("/events/1")
        .await
        .says("Change note 1 waits for their answer")
        .says("/quote-versions/2/change-note")
        .says_not("Changed since accepted");
    // Until it is accepted the account goes by what was agreed.
    studio.get("/events/1/account").await.says("€1,041.60").says_not("€1,190.40");
    studio.post("/quote-versions/2/acceptance", &YES).await.onward();
    studio.get("/events/1/account").await.says("€1,190.40").says("€312.48").says("€877.92");
    studio.get("/events/1").await.says_not("waits for their answer").says_not("Changed since accepted");
    // Ten roses a bowl.
    studio.get("/stem-order?event=1").await.says("160");
    studio.get("/prep?event=1").await.says("16");
    studio.get(QUOTE).await.says("superseded by version 2");
}

#[tokio::test]
async fn a_change_note_says_the_same_on_its_page_in_its_file_and_its_pdf() {
    let studio = booked().await;
    counted(&studio, "16").await;
    let note = sent(&studio).await;
    let said = says_the_same_thrice(&studio, &note).await;
    for words in ["Low bowl", "+€148.80", "Sign below", "Part", "Difference"] {
        assert!(said.contains(words), "{words} is not in {said}");
    }
    let pdf = studio.get(&format!("{note}/document.pdf")).await;
    assert!(pdf.disposition.contains("Change-note-1--North-wedding.pdf"), "{}", pdf.disposition);
    for form in ["pdf", "html"] {
        studio.get(&format!("/quote-versions/1/change-note/document.{form}")).await.is(StatusCode::NOT_FOUND);
        studio.get(&format!("/quote-versions/9/change-note/document.{form}")).await.is(StatusCode::NOT_FOUND);
    }
}

#[tokio::test]
async fn a_declined_change_leaves_what_was_agreed() {
    let studio = booked().await;
    counted(&studio, "10").await;
    sent(&studio).await;
    let decline = "/quote-versions/2/decline";
    studio
        .get(decline)
        .await
        .is(StatusCode::OK)
        .says("Was change note 1 declined?")
        .says("stays what is agreed");
    let slips = [("declined_by", ""), ("declined_on", "2026-05-05")];
    studio
        .post(decline, &slips)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("still to come")
        .says("2 things to put right");
    let no = [("declined_by", "Ada North"), ("declined_on", "2026-05-04"), ("reason", "guests stay")];
    studio.post(decline, &no).await.onward();
    studio.post(decline, &no).await.is(StatusCode::CONFLICT).says("it is answered");
    studio
        .get(QUOTE)
        .await
        .says("Declined on 4 May 2026 by Ada North: guests stay")
        .says("Changed since accepted");
    studio
        .get("/events/1")
        .await
        .says("Changed since accepted")
        .says("less than agreed")
        .says_not("waits for");
    studio.get("/events/1/account").await.says("€1,041.60");
    // Set back, nothing is left to agree.
    counted(&studio, "14").await;
    studio.get("/events/1").await.says_not("Changed since accepted");
}

#[tokio::test]
async fn a_note_that_was_overtaken_is_not_accepted() {
    let studio = booked().await;
    counted(&studio, "16").await;
    sent(&studio).await;
    counted(&studio, "18").await;
    let second = sent(&studio).await;
    studio.get(&second).await.says("Change note 2").says("€1,041.60 was agreed; it is €1,339.20 now");
    studio.post("/quote-versions/3/acceptance", &YES).await.onward();
    studio
        .get("/quote-versions/2/acceptance")
        .await
        .is(StatusCode::CONFLICT)
        .says("version 3 is what is agreed now");
    studio.post("/quote-versions/2/acceptance", &YES).await.is(StatusCode::CONFLICT);
    studio.get("/quote-versions/2/change-note").await.says("Overtaken").says_not("Record acceptance");
    // The next note starts from the second.
    counted(&studio, "17").await;
    studio
        .get(&sent(&studio).await)
        .await
        .says("Change note 3")
        .says("€1,339.20 was agreed; it is €1,264.80 now");
}

#[tokio::test]
async fn what_is_no_change_note_is_not_found() {
    let studio = booked().await;
    studio.get("/quote-versions/1/change-note").await.is(StatusCode::NOT_FOUND);
    studio.get("/quote-versions/9/change-note").await.is(StatusCode::NOT_FOUND);
    studio.get("/quote-versions/9/decline").await.is(StatusCode::NOT_FOUND);
    studio.get("/quote-versions/1/decline").await.is(StatusCode::CONFLICT).says("accepted by Ada North");
}

#[tokio::test]
async fn a_declined_first_quote_asks_for_another() {
    let studio = wedding().await;
    saved(&studio, &[("price", "")]).await.onward();
    sent(&studio).await;
    let no = [("declined_by", "Ada North"), ("declined_on", "2026-05-04")];
    studio.post("/quote-versions/1/decline", &no).await.onward();
    studio.get("/events/1").await.says("Version 1 was declined").says("Quote declined 4 May 2026");
    write(&studio, "UPDATE quote_decline SET reason = 'too dear'").await;
    studio.get("/quote-versions/1").await.says("too dear");
}
