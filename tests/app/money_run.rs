//! What befalls an event's money on the way: pressed twice, called off, changed, credited whole, paid ahead.

use axum::http::StatusCode;

use crate::accounts::{accepted, invoiced, paid, post_parts, sql};
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
    let seen = studio.get("/events/1/invoices/new?part=1").await.hidden("once_key");
    call_off(&studio).await;
    let settle = studio.get("/events/1/cancellation").await.hidden("once_key");
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
    let one = studio.get("/clients/1/payments/new").await.hidden("once_key");
    let other = studio.get("/clients/1/payments/new").await.hidden("once_key");
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
    let key = studio.get("/invoices/1/credit").await.hidden("once_key");
    let fields = |amount: &'static str| {
        [("once_key", key.clone()), ("amount", amount.into()), ("reason", "Fewer".into())]
    };
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
    studio
        .get("/accounts/tax.csv")
        .await
        .says("Reduced,10,200.00,20.00,220.00")
        .says("Reduced,5,0.00,0.00,0.00");
}

#[tokio::test]
async fn a_part_whose_invoice_was_credited_whole_can_be_taken_out() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    let key = studio.get("/invoices/1/credit").await.hidden("once_key");
    studio
        .post("/invoices/1/credit", &[("once_key", &key), ("amount", "423"), ("reason", "Paid at the end")])
        .await
        .onward();
    let page = studio.get(ACCOUNT).await;
    let all = [
        ("version", page.hidden("version")),
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
    studio.get("/accounts/books.csv").await.says("Payment,,Ben South,,,,,,,,150.00");
}

/// A quote of two lines and a delivery in two rates: 10 × 100.00 and 3 × 33.33 (reduced), 5 % off, 49.99 for delivery.
async fn quoted() -> TestStudio {
    let studio = TestStudio::new().await;
    sql(
        &studio,
        "INSERT INTO tax_rate (name, rate, position) VALUES ('Standard', 200000, 0), ('Reduced', 55000, 1);
        INSERT INTO client (name, email) VALUES ('Ada North', 'ada@example.org');
        INSERT INTO event (client_id, name, day, enquired_on) VALUES (1, 'North supper', '2026-06-13', '2026-04-01');
        INSERT INTO quote (event_id, priced_on, prices_include_tax, discount_kind, discount)
            VALUES (1, '2026-05-04', 0, 'share', 50000);
        INSERT INTO quote_line (quote_id, position, words, count, typed_price, tax_rate_id)
            VALUES (1, 0, 'Low bowl', 10, 10000, 1), (1, 1, 'Wreath', 3, 3333, 2);
        INSERT INTO quote_charge (quote_id, kind, rule, value, tax_rate_id) VALUES (1, 'delivery', 'amount', 4999, 1);
        INSERT INTO quote_instalment (quote_id, position, label, share, due_on)
            VALUES (1, 0, 'On accepting', 333333, NULL), (1, 1, 'In May', 333333, '2026-05-20'),
                (1, 2, 'Rest', 333334, '2026-06-10');",
    )
    .await;
    studio
}

async fn sent_and_accepted(studio: &TestStudio, on: &str) {
    let key = studio.get("/events/1/quote/document").await.hidden("once_key");
    let version = studio.post("/events/1/quote/versions", &[("once_key", &key)]).await.onward().to_owned();
    let fields = [("accepted_on", on), ("accepted_by", "Ada North"), ("how", "By mail")];
    let version = version.trim_end_matches("/change-note");
    studio.post(&format!("{version}/acceptance"), &fields).await.onward();
}

/// From the first price to the last cent: quoted, a deposit, a change, the next part, lost loans, the final invoice, paid
/// in pieces, closed. Every sum is worked by hand.
#[tokio::test]
async fn an_event_is_paid_for_to_the_last_cent() {
    let mut studio = quoted().await;
    sent_and_accepted(&studio, "2026-05-04").await;
    // 1099.99 less 5 % (55.00: 50.00 and 5.00) and 49.99: 999.99 at 20 % is 200.00 (199.998), 94.99 at 5.5 % is 5.22.
    let page = studio.get(ACCOUNT).await;
    page.says("€1,300.20").says("€433.40");
    // 433.40 over 1199.99 : 100.21 is 400.00 and 33.40; the tax in them is 66.67 and 1.74.
    let deposit = invoiced(&studio, "0").await;
    studio
        .get(&deposit)
        .await
        .says("€433.40")
        .says("on €333.33")
        .says("€66.67")
        .says("on €31.66")
        .says("€1.74");
    paid(&studio, 1, &[("amount", "433.40"), ("invoice", "1")]).await.onward();

    // Twelve bowls instead of ten, one wreath fewer.
    sql(
        &studio,
        "UPDATE quote_line SET count = 12 WHERE id = 1;
        UPDATE quote_line SET count = 2 WHERE id = 2;
        UPDATE quote SET version = version + 1;",
    )
    .await;
    studio.wait_until("2026-05-11T09:00:00Z");
    sent_and_accepted(&studio, "2026-05-11").await;
    // 1266.66 less 63.33 (60.00 and 3.33): 1140.00 + 49.99 at 20 % is 238.00, 63.33 at 5.5 % is 3.48: 1494.80.
    // The deposit stays; the second part is as agreed, the last takes the difference.
    studio.get(ACCOUNT).await.says("€1,494.80").says("€433.40").says("€628.00");
    let second = invoiced(&studio, "1").await;
    studio.get(&second).await.says("€433.40").says("Invoice 2");
    studio.wait_until("2026-06-15T09:00:00Z");
    let last = invoiced(&studio, "2").await;
    studio
        .get(&last)
        .await
        .says("€628.00")
        .says("Invoiced before")
        .says("Invoice 1, Standard")
        .says("Invoice 2, Reduced");

    lost_urns(&studio).await;
    // Paid in two goes, a cent too much; the cent goes back.
    paid(&studio, 1, &[("amount", "1000"), ("paid_on", "2026-06-15")]).await.onward();
    studio.get(ACCOUNT).await.says("€104.60");
    paid(&studio, 1, &[("amount", "104.61"), ("paid_on", "2026-06-15")]).await.onward();
    studio.get("/clients/1/account").await.says("€0.01 to give back");
    paid(&studio, 1, &[("kind", "refund"), ("amount", "0.01"), ("paid_on", "2026-06-15")]).await.onward();
    studio.get("/clients/1/account").await.says("Nothing is owed");
    studio.post("/events/1/ending", &[("ending", "closed")]).await.onward();
    studio.get("/accounts").await.says_not("overdue by");

    // Tax of all: 238.00 and 7.20, 3.48; the books say the same, and the payments what was invoiced.
    let tax = studio.get("/accounts/tax.csv?from=2026-05-01&to=2026-06-30").await;
    tax.says("Standard,20,1225.99,245.20,1471.19").says("Reduced,5.5,63.33,3.48,66.81");
    assert_eq!(books(&studio).await, (153_800, 153_800), "invoiced and paid");
}

/// Two urns of 18.00 are lost and taken into an invoice.
async fn lost_urns(studio: &TestStudio) {
    sql(
        studio,
        "INSERT INTO material (name, kind, unit, loaned, owned) VALUES ('Urn', 'vessel', 'each', 1, 10);
        INSERT INTO loan_count (event_id, counted_on, charged) VALUES (1, '2026-06-15', 1);
        INSERT INTO loan_return (event_id, material_id, taken, back, broken, missing, charge_each)
            VALUES (1, 1, 10, 8, 1, 1, 1800);",
    )
    .await;
    let page = studio.get(ACCOUNT).await;
    page.says("€36.00 to charge").says("Urn: 2 × €18.00 = €36.00");
    let key = page.hidden("once_key");
    let press = async |tax: &str| {
        studio.post("/events/1/loan-charges", &[("once_key", key.as_str()), ("tax", tax)]).await
    };
    press("9").await.is(StatusCode::CONFLICT).says("Choose one of the studio’s tax rates");
    let extra = press("1").await.onward().to_owned();
    assert_eq!(press("1").await.onward(), extra, "pressed twice");
    studio.get(&extra).await.says("€43.20").says("Urn, not returned whole");
    studio.get(ACCOUNT).await.says_not("to charge");
}

/// What the books of May and June say was invoiced and paid, in minor units.
async fn books(studio: &TestStudio) -> (i64, i64) {
    let text = studio.get("/accounts/books.csv?from=2026-05-01&to=2026-06-30").await.text();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let (mut invoiced, mut paid) = (0, 0);
    for row in reader.records() {
        let row = row.unwrap();
        let amount: i64 = row[11].replace('.', "").parse().unwrap();
        if row[7].is_empty() { paid += amount } else { invoiced += amount }
    }
    (invoiced, paid)
}

/// A change that makes it less than what was invoiced: nothing more is invoiced, the rest is credited and given back.
#[tokio::test]
async fn what_was_invoiced_too_much_is_credited_and_given_back() {
    let mut studio = quoted().await;
    sent_and_accepted(&studio, "2026-05-04").await;
    invoiced(&studio, "rest").await;
    paid(&studio, 1, &[("amount", "1300.20")]).await.onward();
    sql(&studio, "UPDATE quote_line SET count = 8 WHERE id = 1; UPDATE quote SET version = version + 1;")
        .await;
    studio.wait_until("2026-05-11T09:00:00Z");
    sent_and_accepted(&studio, "2026-05-11").await;
    // 809.99 at 20 % is 162.00, 94.99 at 5.5 % is 5.22: 1072.20, 228.00 less.
    let page = studio.get(ACCOUNT).await;
    page.says("€228.00 more was invoiced").says("/invoices/1/credit?amount=228.00").says_not("Invoice it");
    studio
        .get("/events/1/invoices/new?part=rest")
        .await
        .is(StatusCode::CONFLICT)
        .says("€228.00 more than the accepted version");
    let page = studio.get("/invoices/1/credit?amount=228.00&reason=Two+bowls+fewer").await;
    page.says("value=\"228.00\"").says("Two bowls fewer");
    let key = page.hidden("once_key");
    studio
        .post("/invoices/1/credit", &[("once_key", &key), ("amount", "228"), ("reason", "Two bowls fewer")])
        .await
        .onward();
    studio.get(ACCOUNT).await.says("€228.00 on the account").says_not("more was invoiced");
    paid(&studio, 1, &[("kind", "refund"), ("amount", "228"), ("paid_on", "2026-05-11")]).await.onward();
    studio.get("/clients/1/account").await.says("Nothing is owed");
    assert_eq!(books(&studio).await, (107_220, 107_220));
}

/// A reminder that names one of two invoices does not stand for both.
#[tokio::test]
async fn what_is_still_to_be_paid_is_said_until_reminders_name_all_of_it() {
    let studio = accepted().await;
    sql(&studio, "INSERT INTO account_settings (id, payment_days) VALUES (1, 1)").await;
    invoiced(&studio, "0").await;
    sql(&studio, "UPDATE event SET day = '2026-05-03' WHERE id = 1").await;
    studio.get("/events/1").await.says("€423.00 of Ada North is due").says_not("Still to be paid");
    invoiced(&studio, "1").await;
    studio.get("/events/1").await.says("Still to be paid").says("€1,410.00");
}
