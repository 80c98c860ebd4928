//! What befalls an event's money on the way: pressed twice, called off, changed, credited whole, paid ahead.

use axum::http::StatusCode;

use crate::accounts::{accepted, hidden, invoiced, paid, post_parts, sql};
use crate::support::TestStudio;

const ACCOUNT: &str = "/events/1/account";

async fn count(studio: &TestStudio, table: &'static str) -> i64 {
    sqlx::query_scalar(sqlx::AssertSqlSafe(format!("SELECT count(*) FROM {table}")))
        .fetch_one(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap()
}

async fn call_off(studio: &TestStudio) {
    sql(
        studio,
        "INSERT INTO account_settings (id) VALUES (1);
        INSERT INTO cancellation_step (days_before, retained) VALUES (60, 500000);
        UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1;",
    )
    .await;
}

#[tokio::test]
async fn what_was_called_off_is_invoiced_no_further() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    let seen = hidden(&studio.get("/events/1/invoices/new?part=1").await, "once_key");
    call_off(&studio).await;
    let settle = hidden(&studio.get("/events/1/cancellation").await, "once_key");
    studio.post("/events/1/cancellation", &[("once_key", &settle)]).await.onward();
    // Half of 1410.00 is kept: 423.00 and 282.00 are invoiced; 705.00 are not, and never will be.
    let page = studio.get(ACCOUNT).await;
    page.is(StatusCode::OK).says("€705.00").says_not("/invoices/new").says_not("Change the parts");
    for part in ["1", "rest"] {
        studio
            .get(&format!("/events/1/invoices/new?part={part}"))
            .await
            .is(StatusCode::CONFLICT)
            .says("was called off");
    }
    studio
        .post("/events/1/invoices", &[("part", "1"), ("once_key", &seen)])
        .await
        .is(StatusCode::CONFLICT)
        .says("settled by the studio’s table");
    assert_eq!(count(&studio, "invoice").await, 2);
}

#[tokio::test]
async fn two_payments_of_one_amount_are_two_and_a_press_too_many_is_none() {
    let studio = accepted().await;
    let one = hidden(&studio.get("/clients/1/payments/new").await, "once_key");
    let other = hidden(&studio.get("/clients/1/payments/new").await, "once_key");
    assert_ne!(one, other, "two open forms");
    let fields = |key: &'static str, reference: &'static str| {
        vec![
            ("once_key", key),
            ("kind", "payment"),
            ("amount", "20"),
            ("paid_on", "2026-05-04"),
            ("reference", reference),
        ]
    };
    let (one, other): (&'static str, &'static str) = (one.leak(), other.leak());
    studio.post("/clients/1/payments", &fields(one, "")).await.onward();
    studio.post("/clients/1/payments", &fields(one, "")).await.onward();
    studio.post("/clients/1/payments", &fields(other, "")).await.onward();
    assert_eq!(count(&studio, "payment").await, 2);
    // Back, and another reference in the same form: the bank shows another one.
    studio.post("/clients/1/payments", &fields(one, "RF 2")).await.onward();
    assert_eq!(count(&studio, "payment").await, 3);
}

#[tokio::test]
async fn another_credit_from_a_form_that_was_used_is_not_taken_for_the_first() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    let key = hidden(&studio.get("/invoices/1/credit").await, "once_key");
    let fields = |amount: &'static str| [("once_key", key.clone()), ("amount", amount.into()), ("reason", "Fewer".into())];
    let post = async |amount: &'static str| {
        let fields: [(&str, String); 3] = fields(amount);
        let fields = fields.each_ref().map(|(name, value)| (*name, value.as_str()));
        studio.post("/invoices/1/credit", &fields).await
    };
    let first = post("100").await.onward().to_owned();
    assert_eq!(post("100").await.onward(), first, "pressed twice");
    post("23").await.is(StatusCode::CONFLICT).says("No credit note was made");
    assert_eq!(count(&studio, "invoice").await, 2);
}

#[tokio::test]
async fn a_deposit_is_deducted_at_the_per_cent_at_which_it_was_invoiced() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    // The reduced rate rises from 5 to 10 %; the next version is accepted with it.
    sql(
        &studio,
        "UPDATE tax_rate SET rate = 100000 WHERE id = 2;
        INSERT INTO quote_version (quote_id, number, once_key, sent_on, total, document)
            SELECT 1, 2, 'k2', '2026-05-02', 142000, replace(replace(replace(document, '\"rate\":50000,\"net\":20000,\"amount\":1000',
                '\"rate\":100000,\"net\":20000,\"amount\":2000'), '\"total\":141000', '\"total\":142000'), '\"amount\":98700', '\"amount\":99700')
            FROM quote_version WHERE id = 1;
        INSERT INTO quote_acceptance (version_id, accepted_on, accepted_by, recorded_at)
            VALUES (2, '2026-05-03', 'Ada North', '2026-05-03T10:00:00Z');",
    )
    .await;
    let last = invoiced(&studio, "1").await;
    // 60.00 of the deposit at 5 % (3.00) come off at 5 %; 200.00 are taxed at 10 %.
    studio
        .get(&last)
        .await
        .says("€997.00")
        .says("Reduced, 10\u{a0}% of €200.00")
        .says("Reduced, 5\u{a0}% of −€60.00")
        .says("−€3.00");
    studio.get("/accounts/tax.csv").await.says("Reduced,10,200.00,20.00,220.00").says("Reduced,5,0.00,0.00,0.00");
}

#[tokio::test]
async fn a_part_whose_invoice_was_credited_whole_can_be_taken_out() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    let key = hidden(&studio.get("/invoices/1/credit").await, "once_key");
    studio
        .post("/invoices/1/credit", &[("once_key", &key), ("amount", "423"), ("reason", "Paid at the end")])
        .await
        .onward();
    let page = studio.get(ACCOUNT).await;
    let all = [
        ("version", hidden(&page, "version")),
        ("part_id", String::new()),
        ("part_label", "All of it".into()),
        ("part_amount", "100 %".into()),
        ("part_due", "after".into()),
        ("part_days", "7".into()),
    ];
    let all = all.map(|(name, value)| (name.to_owned(), value));
    post_parts(&studio, &all).await.onward();
    studio.get(ACCOUNT).await.is(StatusCode::OK).says("All of it").says_not("On accepting</th>");
    let last = invoiced(&studio, "0").await;
    studio.get(&last).await.says("€1,410.00").says("all that is left of quote 1").says_not("Invoiced before");
}

#[tokio::test]
async fn who_paid_ahead_is_named_in_the_books() {
    let studio = accepted().await;
    paid(&studio, 2, &[("amount", "150")]).await.onward();
    studio.get("/accounts/books.csv").await.says("Payment,,Ben South").says("-150.00");
}
