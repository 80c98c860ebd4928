//! Choices made by hand, why a line is so, one supplier fewer: on the worked example of the buying plan.

use axum::http::StatusCode;

use crate::bench_supper::write;
use crate::stem_order::{BOTH, EXAMPLE, filled};

#[tokio::test]
async fn a_choice_narrows_the_order_and_says_what_it_costs() {
    let studio = filled(&EXAMPLE).await;
    // Roses from Alder are 208.00 for 100 and 3 × 25; then everything from Alder is best: 208 + 100 + 54 + 25.
    let page = studio.get(&format!("{BOTH}&pin=not-supplier:1:2")).await;
    page.is(StatusCode::OK)
        .says("€387.00")
        .says("Proven cheapest")
        .says("Your choices cost €27.80 more than the cheapest, €359.20.")
        .says("Rose not from Brook Growers: letting it go saves €27.80.");
    // Every link and form keeps it; the one that lets it go does not.
    page.says("/stem-order.csv?event=1&#38;event=2&#38;day=2026-05-14&#38;pin=not-supplier%3A1%3A2")
        .says("/stem-order/suppliers/1?event=1&#38;event=2&#38;day=2026-05-14&#38;pin=not-supplier%3A1%3A2")
        .says("name=\"pin\" value=\"not-supplier:1:2\"")
        .says("href=\"/stem-order?event=1&#38;event=2&#38;day=2026-05-14\">Let it go");
    studio.get(BOTH).await.says_not("Chosen by hand").says_not("Let it go");
}

#[tokio::test]
async fn papers_and_files_hold_to_the_choices() {
    let studio = filled(&EXAMPLE).await;
    let query = "event=1&event=2&day=2026-05-14&pin=without:2";
    let whole = studio.get(&format!("/stem-order.csv?{query}")).await;
    whole.says("Alder Wholesale,").says_not("Brook Growers");
    studio.get(&format!("/stem-order/suppliers/1?{query}")).await.says("€387.00").says("pin=without%3A2");
    studio.get(&format!("/stem-order/suppliers/2?{query}")).await.says("Nothing of this order");
}

#[tokio::test]
async fn two_choices_are_costed_together_and_each_by_letting_it_go() {
    let studio = filled(&EXAMPLE).await;
    // Eucalyptus from Alder costs another fee, without its box of roses 290.20 + 15 + 54 + 25; with it 5.00 less.
    let page = studio.get(&format!("{BOTH}&pin=only-offer:6&pin=not-offer:2")).await;
    page.says("Your choices cost €25.00 more than the cheapest, €359.20.")
        .says("Eucalyptus only in Bunch of 10 from Alder Wholesale: letting it go saves €25.00.")
        .says("Rose not in Box of 100 from Alder Wholesale: letting it go saves €5.00.")
        .says("Let all of them go");
}

#[tokio::test]
async fn what_makes_no_sense_is_left_aside_with_a_note() {
    let studio = filled(&EXAMPLE).await;
    let page = studio.get(&format!("{BOTH}&pin=%3Cscript%3E&pin=only-offer:x&pin=not-offer:999")).await;
    page.is(StatusCode::OK)
        .says("€359.20")
        .says("2 choices in the address could not be read")
        .says("One choice is about something that cannot be bought for this order now")
        .says_not("<script>alert")
        .says_not("Chosen by hand");
}

#[tokio::test]
async fn what_only_the_choices_make_missing_is_said_to_be_so() {
    let studio = filled(&EXAMPLE).await;
    let page = studio.get(&format!("{BOTH}&pin=only-supplier:3:1&pin=not-offer:6")).await;
    page.is(StatusCode::OK)
        .says("Your choices leave too little of it: Eucalyptus only from Alder Wholesale; Eucalyptus not in Bunch of 10")
        .says("Let one of these choices go.")
        .says("With your choices 57 stems cannot be had")
        .says("without it 57 stems more can be had");
}

#[tokio::test]
async fn a_line_says_what_else_it_could_be_and_what_that_costs() {
    let studio = filled(&EXAMPLE).await;
    studio
        .get(BOTH)
        .await
        .says("/stem-order/why?event=1&#38;event=2&#38;day=2026-05-14&#38;offer=3&#38;on=2026-05-14");
    let page = studio.get("/stem-order/why?event=1&event=2&day=2026-05-14&offer=3&on=2026-05-14").await;
    page.is(StatusCode::OK).says("Why 13 × Bunch of 12, Rose").says("€1.25").says("Rose: 153 = need 153");
    // Alder's bunches: 7 × 31 + 100 + 54 + 25; its boxes: 2 × 115 + 100 + 54 + 25.
    page.says("Rose not in Bunch of 12 from Brook Growers").says("€27.80 more");
    page.says("Rose only in Bunch of 25 from Alder Wholesale").says("€396.00").says("€36.80 more");
    page.says("Rose only in Box of 100 from Alder Wholesale").says("€409.00").says("€49.80 more");
    page.says("3 × Bunch of 25 from Alder Wholesale, Thu 14 May 2026");
    page.says("pin=only-offer%3A2\">Choose this").says("Keep to this pack");
}

#[tokio::test]
async fn by_the_calendar_a_line_says_why_it_comes_on_its_day() {
    let studio = filled(&EXAMPLE).await;
    write(&studio, "UPDATE supplier SET delivery_weekdays = 9 WHERE id = 2").await;
    let page = studio.get("/stem-order/why?event=1&event=2&offer=3&on=2026-05-14").await;
    page.is(StatusCode::OK).says("this line&#39;s day").says("Brook Growers delivers Mon, Thu");
    page.says("Rose only on Wed 13 May 2026");
}

#[tokio::test]
async fn a_line_that_is_not_in_the_order_is_not_found() {
    let studio = filled(&EXAMPLE).await;
    let of = |line: &str| format!("/stem-order/why?event=1&event=2&day=2026-05-14&{line}");
    studio.get(&of("offer=1&on=2026-05-14")).await.is(StatusCode::NOT_FOUND);
    studio.get(&of("offer=3&on=2026-05-13")).await.is(StatusCode::NOT_FOUND);
    studio.get(&of("offer=three&on=soon")).await.is(StatusCode::NOT_FOUND);
    studio.get("/stem-order/why?event=99&offer=3&on=2026-05-14").await.is(StatusCode::NOT_FOUND);
    studio.get("/stem-order/one-fewer?event=99").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn one_supplier_fewer_is_told_and_can_be_chosen() {
    let studio = filled(&EXAMPLE).await;
    studio.get(BOTH).await.says_not("one supplier fewer");
    let page = studio.get("/stem-order/one-fewer?event=1&event=2&day=2026-05-14").await;
    page.is(StatusCode::OK).says("from one supplier already");
    // Eucalyptus from Alder makes it two suppliers, 379.20 with a box of roses and 5 bunches; all from Alder is 387.00.
    let two = format!("{BOTH}&pin=only-offer:6");
    studio.get(&two).await.says("Without Brook Growers, all from one supplier: €7.80 more.");
    let page = studio.get(&two.replace("/stem-order", "/stem-order/one-fewer")).await;
    page.says("€7.80 more").says("instead of 5 × Bunch of 12 from Brook Growers").says("pin=without%3A2");
}
