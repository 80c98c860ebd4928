//! An accepted quote is invoiced in parts, paid, credited; nothing is lost on the way.

use axum::http::StatusCode;

use crate::bench_supper::supper;
use crate::support::{Page, TestStudio};

const ACCOUNT: &str = "/events/1/account";

/// One supper for Ada North: lines of 1,000.00 at 20 % and 200.00 at 5 %, accepted on 1 May 2026: 1,410.00 in all. The
/// quote asks for 30 % on accepting and the rest on 30 May.
pub(crate) async fn accepted() -> TestStudio {
    let studio = TestStudio::new().await;
    let document = r#"{"document":{"studio":{"name":"Studio","address":"","email":"","phone":"","tax_number":""},
        "client":{"name":"Ada North","address":""},
        "event":{"name":"North supper","day":"2026-06-13","venue":"","venue_address":""},
        "priced_on":"2026-04-20","valid_until":null,"words":"","terms":"","currency":"EUR","inclusive":false,
        "places":[{"place":"Long room","lines":[
            {"piece":null,"name":"Low bowl","words":"","count":10,"price":10000,"discount":{"share":null,"amount":0},"amount":100000,"tax":1},
            {"piece":null,"name":"Wreath","words":"","count":2,"price":10000,"discount":{"share":null,"amount":0},"amount":20000,"tax":2}]}],
        "lines":120000,"discount":{"share":null,"amount":0},"charges":[],"before_tax":120000,
        "taxes":[{"id":1,"name":"Standard","rate":200000,"net":100000,"amount":20000},
            {"id":2,"name":"Reduced","rate":50000,"net":20000,"amount":1000}],"total":141000,
        "instalments":[{"label":"On accepting","share":300000,"due_on":null,"amount":42300},
            {"label":"Rest","share":700000,"due_on":"2026-05-30","amount":98700}]},"cost":50000,"asked":120000}"#;
    let mut tx = studio.book.write().await.unwrap();
    sqlx::raw_sql(
        "INSERT INTO tax_rate (name, rate, position) VALUES ('Standard', 200000, 0), ('Reduced', 50000, 1);
        INSERT INTO client (name, email) VALUES ('Ada North', 'ada@example.org'), ('Ben South', '');
        INSERT INTO event (client_id, name, day, enquired_on) VALUES (1, 'North supper', '2026-06-13', '2026-04-01'),
            (2, 'South lunch', '2026-07-01', '2026-04-01');
        INSERT INTO quote (event_id, priced_on, prices_include_tax) VALUES (1, '2026-04-20', 0);",
    )
    .execute(&mut *tx)
    .await
    .unwrap();
    sqlx::query("INSERT INTO quote_version (quote_id, number, once_key, sent_on, total, document) VALUES (1, 1, 'k', '2026-04-20', 141000, ?)")
        .bind(document)
        .execute(&mut *tx)
        .await
        .unwrap();
    sqlx::raw_sql(
        "INSERT INTO quote_acceptance (version_id, accepted_on, accepted_by, recorded_at)
            VALUES (1, '2026-05-01', 'Ada North', '2026-05-01T10:00:00Z');",
    )
    .execute(&mut *tx)
    .await
    .unwrap();
    tx.commit().await.unwrap();
    studio
}

/// Makes the invoice of a part; gives its page.
pub(crate) async fn invoiced(studio: &TestStudio, part: &str) -> String {
    let page = studio.get(&format!("/events/1/invoices/new?part={part}")).await;
    page.is(StatusCode::OK);
    let key = page.hidden("once_key");
    studio.post("/events/1/invoices", &[("part", part), ("once_key", &key)]).await.onward().to_owned()
}

pub(crate) async fn paid(studio: &TestStudio, client: i64, fields: &[(&str, &str)]) -> Page {
    let kind = if fields.contains(&("kind", "refund")) { "?kind=refund" } else { "" };
    let page = studio.get(&format!("/clients/{client}/payments/new{kind}")).await;
    let key = page.hidden("once_key");
    let standard = [("once_key", key.as_str()), ("kind", "payment"), ("paid_on", "2026-05-04")];
    let typed = |name: &str| fields.iter().any(|(other, _)| *other == name);
    let all: Vec<(&str, &str)> =
        standard.into_iter().filter(|(name, _)| !typed(name)).chain(fields.iter().copied()).collect();
    studio.post(&format!("/clients/{client}/payments"), &all).await
}

#[tokio::test]
async fn an_empty_book_says_where_to_begin() {
    let studio = TestStudio::new().await;
    studio.get("/accounts").await.is(StatusCode::OK).says("No invoice yet").says("/accounts/terms");
    for path in ["/events/1/account", "/invoices/1", "/clients/1/account", "/invoices/x"] {
        studio.get(path).await.is(StatusCode::NOT_FOUND);
    }
}

#[tokio::test]
async fn nothing_is_invoiced_before_it_is_accepted() {
    let studio = accepted().await;
    studio.get("/events/2/account").await.is(StatusCode::OK).says("Nothing is accepted yet");
    studio
        .get("/events/2/invoices/new?part=0")
        .await
        .is(StatusCode::CONFLICT)
        .says("once a version of it is accepted");
}

#[tokio::test]
async fn a_deposit_then_the_final_invoice_come_to_the_quote() {
    let studio = accepted().await;
    let page = studio.get(ACCOUNT).await;
    page.is(StatusCode::OK)
        .says("as the accepted quote has them")
        .says("€423.00")
        .says("€987.00")
        .says("€1,410.00");
    let deposit = invoiced(&studio, "0").await;
    // 423.00 over 1200.00 : 210.00 is 360.00 and 63.00; 60.00 and 3.00 of them are tax.
    studio
        .get(&deposit)
        .await
        .says("Invoice 1")
        .says("€423.00")
        .says("In it: Standard, 20\u{a0}% on €300.00")
        .says("18 May 2026");
    let last = invoiced(&studio, "1").await;
    studio
        .get(&last)
        .await
        .says("Invoice 2")
        .says("Invoiced before")
        .says("−€300.00")
        .says("€987.00")
        .says("Standard, 20\u{a0}% of €700.00")
        .says("€140.00")
        .says("30 May 2026");
    studio.get(ACCOUNT).await.says("Invoiced</span>").says_not("Invoice it");
    studio.get("/events/1/invoices/new?part=0").await.is(StatusCode::CONFLICT).says("invoiced already");
    studio.get("/events/1/invoices/new?part=rest").await.is(StatusCode::CONFLICT);
    studio.get("/events/1/invoices/new?part=x").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_invoice_is_made_once_and_only_as_it_was_looked_at() {
    let studio = accepted().await;
    let page = studio.get("/events/1/invoices/new?part=0").await;
    let key = page.hidden("once_key");
    let fields = [("part", "0"), ("once_key", key.as_str())];
    let first = studio.post("/events/1/invoices", &fields).await.onward().to_owned();
    assert_eq!(studio.post("/events/1/invoices", &fields).await.onward(), first, "pressed twice");
    // Two people looked at the last part; one credits the deposit meanwhile, so that it is another invoice now.
    let seen = studio.get("/events/1/invoices/new?part=1").await.hidden("once_key");
    let credit = studio.get("/invoices/1/credit").await.hidden("once_key");
    studio
        .post("/invoices/1/credit", &[("once_key", &credit), ("amount", "100"), ("reason", "Fewer bowls")])
        .await
        .onward();
    let late = studio.post("/events/1/invoices", &[("part", "1"), ("once_key", &seen)]).await;
    late.is(StatusCode::CONFLICT).says("No invoice was made");
    let numbers: Vec<i64> = sqlx::query_scalar("SELECT number FROM invoice ORDER BY number")
        .fetch_all(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap();
    assert_eq!(numbers, [1, 2], "without gaps");
}

#[tokio::test]
async fn no_invoice_is_changed_or_removed() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    paid(&studio, 1, &[("amount", "10")]).await.onward();
    for sql in [
        "UPDATE invoice SET total = 1",
        "DELETE FROM invoice",
        "UPDATE payment SET amount = 1",
        "DELETE FROM payment",
    ] {
        let mut tx = studio.book.write().await.unwrap();
        let error = sqlx::query(sql).execute(&mut *tx).await.unwrap_err().to_string();
        assert!(error.contains("is never"), "{error}");
    }
}

pub(crate) async fn post_parts(studio: &TestStudio, fields: &[(String, String)]) -> Page {
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    studio.post("/events/1/account/parts", &fields).await
}

#[tokio::test]
async fn what_is_left_changes_with_the_accepted_version_and_the_parts_can_be_changed() {
    let studio = accepted().await;
    let page = studio.get(ACCOUNT).await;
    let version = page.hidden("version");
    let parts = |version: &str, second: &str| {
        vec![
            ("version".to_owned(), version.to_owned()),
            ("part_id".into(), String::new()),
            ("part_label".into(), "Deposit".into()),
            ("part_amount".into(), "50 %".into()),
            ("part_due".into(), "acceptance".into()),
            ("part_days".into(), String::new()),
            ("part_id".into(), String::new()),
            ("part_label".into(), "Rest".into()),
            ("part_amount".into(), second.to_owned()),
            ("part_due".into(), "before".into()),
            ("part_days".into(), "10".into()),
        ]
    };
    let refused = post_parts(&studio, &parts(&version, "40 %")).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("The shares come to 90 %").says("value=\"40 %\"");
    post_parts(&studio, &parts(&version, "50 %")).await.onward();
    studio.get(ACCOUNT).await.says("event&#39;s own").says("€705.00").says("Wed 3 Jun 2026");
    // The same from a second window is no quarrel; another share is.
    post_parts(&studio, &parts(&version, "50 %")).await.onward();
    let mut other = parts(&version, "60 %");
    other[3].1 = "40 %".into();
    post_parts(&studio, &other).await.is(StatusCode::CONFLICT).says("Someone else saved this").says("60 %");
    invoiced(&studio, "0").await;
    // What was invoiced is no longer in the grid.
    studio.get(ACCOUNT).await.says_not("value=\"Deposit\"").says("value=\"Rest\"");
}

#[tokio::test]
async fn payments_pay_the_oldest_first_and_a_mistake_is_reversed() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    invoiced(&studio, "1").await;
    let refused = paid(&studio, 1, &[("amount", "0"), ("paid_on", "2026-05-05")]).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("above nothing").says("still to come");
    paid(&studio, 1, &[("amount", "500"), ("how", "Transfer"), ("reference", "AN 1")]).await.onward();
    let page = studio.get(ACCOUNT).await;
    page.says("€423.00 on invoice 1; €77.00 on invoice 2").says("€910.00 still due on");
    studio.get("/accounts").await.says("€910.00");
    studio.post("/payments/1/reversal", &[]).await.onward();
    studio.post("/payments/1/reversal", &[]).await.onward();
    studio.get("/clients/1/account").await.says("€1,410.00 to be paid").says("Reversal");
    studio.post("/payments/2/reversal", &[]).await.is(StatusCode::CONFLICT);
    studio.post("/payments/9/reversal", &[]).await.is(StatusCode::NOT_FOUND);
    let rows: i64 = sqlx::query_scalar("SELECT count(*) FROM payment")
        .fetch_one(&mut *studio.book.read().await.unwrap())
        .await
        .unwrap();
    assert_eq!(rows, 2);
}

#[tokio::test]
async fn the_same_payment_sent_twice_is_one() {
    let studio = accepted().await;
    let key = studio.get("/clients/1/payments/new").await.hidden("once_key");
    let fields =
        [("once_key", key.as_str()), ("kind", "payment"), ("amount", "20"), ("paid_on", "2026-05-04")];
    studio.post("/clients/1/payments", &fields).await.onward();
    studio.post("/clients/1/payments", &fields).await.onward();
    studio.get("/clients/1/account").await.says("€20.00 to give back or set against");
    paid(&studio, 1, &[("amount", "20")]).await.onward();
    studio.get("/clients/1/account").await.says("€40.00 to give back");
}

#[tokio::test]
async fn what_is_credited_can_be_given_back_and_no_more() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    paid(&studio, 1, &[("amount", "423")]).await.onward();
    paid(&studio, 1, &[("kind", "refund"), ("amount", "1")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("€0.00 lies on the account");
    let credit = studio.get("/invoices/1/credit").await.hidden("once_key");
    let fields = [("once_key", credit.as_str()), ("amount", "500"), ("reason", "")];
    studio
        .post("/invoices/1/credit", &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("€423.00 is left")
        .says("Write why");
    let fields = [("once_key", credit.as_str()), ("amount", "423"), ("reason", "The supper moved")];
    let note = studio.post("/invoices/1/credit", &fields).await.onward().to_owned();
    studio.get(&note).await.says("Credit note 2").says("Invoice 1 of 4 May 2026").says("The supper moved");
    studio.get("/invoices/1/credit").await.is(StatusCode::CONFLICT).says("credited whole already");
    studio.get(&format!("{note}/credit")).await.is(StatusCode::CONFLICT);
    paid(&studio, 1, &[("kind", "refund"), ("amount", "423")]).await.onward();
    studio.get("/clients/1/account").await.says("Nothing is owed").says("Refund");
    // The part is open again.
    studio.get(ACCOUNT).await.says("/events/1/invoices/new?part=0");
}

#[tokio::test]
async fn extras_stand_beside_the_quote() {
    let studio = accepted().await;
    let page = studio.get("/events/1/extras").await;
    let key = page.hidden("once_key");
    let refused = studio.post("/events/1/extras", &[("once_key", &key), ("about", "")]).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("at least one line")
        .says("Write what the invoice is for");
    let fields = [
        ("once_key", key.as_str()),
        ("about", "Broken at the strike"),
        ("extra_name", "Glass <b>cylinder</b>"),
        ("extra_count", "3"),
        ("extra_price", "12.50"),
        ("extra_tax", "1"),
    ];
    let made = studio.post("/events/1/extras", &fields).await.onward().to_owned();
    assert_eq!(studio.post("/events/1/extras", &fields).await.onward(), made);
    studio.get(&made).await.says("€45.00").says("Glass &#60;b&#62;cylinder").says_not("<b>cylinder");
    // The quote is still to be invoiced whole.
    studio.get(ACCOUNT).await.says("€423.00").says("€987.00");
}

#[tokio::test]
async fn terms_are_kept_and_used() {
    let studio = accepted().await;
    let page = studio.get("/accounts/terms").await;
    page.is(StatusCode::OK).says("value=\"Deposit\"").says("50 %");
    let fields = |iban: &'static str, step: &'static str| {
        vec![
            ("version", "0"),
            ("country", "gb"),
            ("iban", iban),
            ("number_prefix", "HT-"),
            ("first_number", "101"),
            ("payment_days", "7"),
            ("part_label", "All of it"),
            ("part_amount", "100 %"),
            ("part_due", "before"),
            ("part_days", "21"),
            ("step_days", "30"),
            ("step_share", step),
            ("step_days", "7"),
            ("step_share", "80"),
            ("rate_id", "1"),
            ("rate_category", "S"),
            ("rate_reason", ""),
            ("rate_id", "2"),
            ("rate_category", "S"),
            ("rate_reason", ""),
        ]
    };
    let refused = studio.post("/accounts/terms", &fields("GB82WEST12345698765423", "90")).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY).says("check digits").says("these shares fall");
    studio.post("/accounts/terms", &fields("GB82 WEST 1234 5698 7654 32", "50")).await.onward();
    studio
        .post("/accounts/terms", &fields("", "50"))
        .await
        .is(StatusCode::CONFLICT)
        .says("Someone else saved this");
    let deposit = invoiced(&studio, "0").await;
    studio.get(&deposit).await.says("Invoice HT-101").says("GB82 WEST 1234 5698 7654 32").says("11 May 2026");
}

#[tokio::test]
async fn what_an_invoice_says_of_a_client_is_kept() {
    let studio = accepted().await;
    let path = "/clients/1/account";
    studio
        .post(path, &[("version", "0"), ("country", "ZZ")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("two letters");
    studio.post(path, &[("version", "0"), ("country", "de"), ("reference", "PO 7")]).await.onward();
    studio
        .post(path, &[("version", "0"), ("country", "fr")])
        .await
        .is(StatusCode::CONFLICT)
        .says("Someone else");
    studio.get(path).await.says("value=\"DE\"");
    let deposit = invoiced(&studio, "0").await;
    studio.get(&deposit).await.says("PO 7");
}

pub(crate) async fn sql(studio: &TestStudio, statements: &'static str) {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::raw_sql(statements).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

#[tokio::test]
async fn an_e_invoice_says_what_it_lacks_and_is_made_once_that_is_entered() {
    let studio = accepted().await;
    let deposit = invoiced(&studio, "0").await;
    let page = studio.get(&format!("{deposit}/ubl")).await;
    page.is(StatusCode::OK)
        .says("The studio’s country is missing.")
        .says("The client’s country is missing.")
        .says("The studio’s tax number is missing")
        .says("href=\"/accounts/terms\"")
        .says("href=\"/clients/1/account\"")
        .says("href=\"/settings\"");
    sql(
        &studio,
        "INSERT INTO account_settings (id, country, legal_id) VALUES (1, 'IE', 'IE-77');
        INSERT INTO client_account (client_id, country) VALUES (1, 'DE');
        INSERT INTO studio (id, name, tax_number, currency, length_unit, date_style, paper, time_zone, fresh_markup,
            hard_goods_markup, sundries_markup, labour_rule, labour_rate, labour_share, rounding_step,
            rounding_direction, allowance_rule, loss, assurance, prices_include_tax)
        VALUES (1, 'Studio', 'IE1234567A', 'EUR', 'cm', 'dmy', 'a4', 'UTC', 3000, 2000, 2000, 'minutes', 3000, 250000, 1,
            'up', 'assured', 50000, 950000, 0);",
    )
    .await;
    let page = studio.get(&format!("{deposit}/ubl")).await;
    page.is(StatusCode::OK)
        .says("<cbc:InvoiceTypeCode>380</cbc:InvoiceTypeCode>")
        .says("<cbc:PayableAmount currencyID=\"EUR\">423.00</cbc:PayableAmount>")
        .says("<cbc:CompanyID>IE1234567A</cbc:CompanyID>")
        .says("<cbc:IdentificationCode>DE</cbc:IdentificationCode>");
    assert!(page.media_type.starts_with("application/xml"), "{}", page.media_type);
    studio.get("/invoices/9/ubl").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn tax_is_reported_by_rate_and_the_books_are_the_same_sums() {
    let studio = accepted().await;
    invoiced(&studio, "0").await;
    invoiced(&studio, "1").await;
    paid(&studio, 1, &[("amount", "423"), ("reference", "=1+2")]).await.onward();
    let key = studio.get("/invoices/2/credit").await.hidden("once_key");
    studio
        .post("/invoices/2/credit", &[("once_key", &key), ("amount", "987"), ("reason", "All of it")])
        .await
        .onward();
    // Only the deposit stands: 300.00 and 60.00 net, 60.00 and 3.00 tax.
    let page = studio.get("/accounts/tax").await;
    page.is(StatusCode::OK)
        .says("€300.00")
        .says("€60.00")
        .says("€3.00")
        .says("€423.00")
        .says("value=\"2026-05-31\"");
    studio
        .get("/accounts/tax?from=2026-06-01&to=2026-05-01")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("before the first");
    studio.get("/accounts/tax?from=x").await.is(StatusCode::UNPROCESSABLE_ENTITY);
    studio.get("/accounts/tax.csv?from=2026-06-01&to=2026-05-01").await.is(StatusCode::CONFLICT);
    let tax = studio.get("/accounts/tax.csv?from=2026-05-01&to=2026-05-31").await;
    tax.is(StatusCode::OK).says("2026-05-01,2026-05-31,Standard,20,300.00,60.00,360.00\r\n");
    let books = studio.get("/accounts/books.csv").await;
    books.says("Credit note,3,Ada North").says("-700.00").says("Payment").says("'=1+2");
    studio.get("/accounts/tax?from=2026-04-01&to=2026-04-30").await.says("No invoice in these days");
}

#[tokio::test]
async fn an_event_that_was_called_off_is_settled_by_the_table() {
    let studio = accepted().await;
    studio.get("/events/1/cancellation").await.is(StatusCode::CONFLICT).says("was not called off");
    invoiced(&studio, "0").await;
    paid(&studio, 1, &[("amount", "423")]).await.onward();
    // 40 days before: 10 % of 1410.00 is kept; 423.00 was invoiced.
    sql(
        &studio,
        "INSERT INTO account_settings (id) VALUES (1);
        INSERT INTO cancellation_step (days_before, retained) VALUES (60, 100000), (30, 500000);
        UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1;",
    )
    .await;
    let page = studio.get("/events/1/cancellation").await;
    page.is(StatusCode::OK)
        .says("Called off 40 days before: 10\u{a0}% of €1,410.00")
        .says("€282.00 of invoice 1")
        .says("To give back then");
    let key = page.hidden("once_key");
    studio
        .post("/events/1/cancellation", &[("once_key", "other")])
        .await
        .is(StatusCode::CONFLICT)
        .says("Nothing was made");
    studio.post("/events/1/cancellation", &[("once_key", &key)]).await.onward();
    studio.post("/events/1/cancellation", &[("once_key", &key)]).await.onward();
    studio.get("/events/1/cancellation").await.says("Settled").says("Record the refund");
    paid(&studio, 1, &[("kind", "refund"), ("amount", "282")]).await.onward();
    studio.get("/clients/1/account").await.says("Nothing is owed");
    studio.get("/events/1").await.says("Invoiced").says("€141.00");
}

#[tokio::test]
async fn what_is_kept_beyond_what_was_invoiced_is_invoiced() {
    let studio = accepted().await;
    sql(
        &studio,
        "INSERT INTO account_settings (id) VALUES (1);
        INSERT INTO cancellation_step (days_before, retained) VALUES (90, 500000);
        UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1;",
    )
    .await;
    let page = studio.get("/events/1/cancellation").await;
    page.says("An invoice over €705.00");
    let key = page.hidden("once_key");
    studio.post("/events/1/cancellation", &[("once_key", &key)]).await.onward();
    studio.get("/invoices/1").await.says("€705.00").says("The event was called off");
}

#[tokio::test]
async fn the_desk_is_reminded_of_what_is_to_be_invoiced_and_what_is_overdue() {
    let studio = accepted().await;
    studio
        .get("/")
        .await
        .is(StatusCode::OK)
        .says("Invoice North supper: On accepting, €423.00")
        .says("/events/1/invoices/new?part=0");
    invoiced(&studio, "0").await;
    studio.get("/").await.says_not("Reminders, the worst first");
    // In the demo two invoices are past their day and not paid in full.
    let demo = TestStudio::demo().await;
    demo.get("/reminders").await.is(StatusCode::OK).says("Overdue by");
    demo.get("/accounts?show=overdue").await.is(StatusCode::OK).says("overdue by");
}

#[tokio::test]
async fn the_demo_has_every_kind_of_paper_and_all_of_it_ties() {
    let studio = TestStudio::demo().await;
    let mut connection = studio.book.read().await.unwrap();
    let kinds: Vec<(String, i64)> =
        sqlx::query_as("SELECT kind, count(*) FROM invoice GROUP BY kind ORDER BY kind")
            .fetch_all(&mut *connection)
            .await
            .unwrap();
    assert_eq!(kinds, [("credit".into(), 1), ("deposit".into(), 5), ("final".into(), 3)]);
    let numbers: Vec<i64> = sqlx::query_scalar("SELECT number FROM invoice ORDER BY id")
        .fetch_all(&mut *connection)
        .await
        .unwrap();
    assert_eq!(
        numbers,
        (41..50).collect::<Vec<i64>>(),
        "from the first number on, without gaps, in order of time"
    );
    let ids: Vec<i64> =
        sqlx::query_scalar("SELECT id FROM invoice").fetch_all(&mut *connection).await.unwrap();
    for id in ids {
        studio.get(&format!("/invoices/{id}")).await.is(StatusCode::OK);
        let file = studio.get(&format!("/invoices/{id}/ubl")).await;
        file.is(StatusCode::OK).says("<cbc:CompanyID>GB000000000</cbc:CompanyID>");
        assert!(file.media_type.starts_with("application/xml"), "{}", file.media_type);
    }
    let clients: Vec<i64> =
        sqlx::query_scalar("SELECT id FROM client").fetch_all(&mut *connection).await.unwrap();
    for id in clients {
        studio.get(&format!("/clients/{id}/account")).await.is(StatusCode::OK);
    }
    for id in 1..9 {
        studio.get(&format!("/events/{id}/account")).await.is(StatusCode::OK);
        studio.get(&format!("/events/{id}")).await.is(StatusCode::OK);
    }
}

#[tokio::test]
async fn money_goes_back_after_it_came_in_and_a_year_ago_is_asked_about() {
    let studio = accepted().await;
    paid(&studio, 1, &[("amount", "100"), ("paid_on", "2026-05-02")]).await.onward();
    let early = paid(&studio, 1, &[("kind", "refund"), ("amount", "40"), ("paid_on", "2026-05-01")]).await;
    early
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("id=\"paid_on-error\"")
        .says("By 1 May 2026 only €0.00 of it had come in")
        .says("value=\"40\"");
    paid(&studio, 1, &[("kind", "refund"), ("amount", "40"), ("paid_on", "2026-05-02")]).await.onward();
    let old = [("amount", "10"), ("paid_on", "2016-05-02"), ("reference", "RF 9")];
    let asked = paid(&studio, 1, &old).await;
    asked
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 May 2016 is more than a year ago")
        .says("name=\"sure\"")
        .says("value=\"RF 9\"");
    paid(&studio, 1, &[("amount", "10"), ("paid_on", "2016-05-02"), ("sure", "yes")]).await.onward();
    studio.get("/clients/1/payments/new").await.says_not("name=\"sure\"");
}

#[tokio::test]
async fn a_payment_of_which_a_part_went_back_is_reversed_after_its_refund() {
    let studio = accepted().await;
    paid(&studio, 1, &[("amount", "100")]).await.onward();
    paid(&studio, 1, &[("kind", "refund"), ("amount", "50")]).await.onward();
    studio
        .post("/payments/1/reversal", &[])
        .await
        .is(StatusCode::CONFLICT)
        .says("€50.00 of it has gone back to the client. Reverse the refund first");
    studio
        .get("/clients/1/account")
        .await
        .says("€50.00 to give back")
        .says("Reverse<span class=\"unseen\"> what went back on");
    studio.post("/payments/2/reversal", &[]).await.onward();
    studio.post("/payments/1/reversal", &[]).await.onward();
    studio.post("/payments/1/reversal", &[]).await.onward();
    studio.get("/clients/1/account").await.says("Nothing is owed");
}

#[tokio::test]
async fn nothing_is_due_on_a_day_that_is_past() {
    let studio = accepted().await;
    let key = studio.get("/events/1/extras").await.hidden("once_key");
    let fields = |due: &'static str| {
        [
            ("once_key", key.as_str()),
            ("about", "Lanterns"),
            ("due_on", due),
            ("extra_name", "Lantern"),
            ("extra_count", "1"),
            ("extra_price", "10"),
            ("extra_tax", "1"),
        ]
    };
    studio
        .post("/events/1/extras", &fields("2020-01-01"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("id=\"due_on-error\"")
        .says("That day is past")
        .says("value=\"2020-01-01\"");
    let made = studio.post("/events/1/extras", &fields("2026-05-04")).await.onward().to_owned();
    studio.get(&made).await.says("4 May 2026");
    let version = studio.get(ACCOUNT).await.hidden("version");
    let parts = |day: &str| -> Vec<(String, String)> {
        [
            ("version", version.as_str()),
            ("part_id", ""),
            ("part_label", "All"),
            ("part_amount", "100 %"),
            ("part_due", "day"),
            ("part_days", day),
        ]
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .to_vec()
    };
    post_parts(&studio, &parts("2020-01-01"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("id=\"parts-0-days-error\"")
        .says("That day is past");
    post_parts(&studio, &parts("2026-06-01")).await.onward();
}

#[tokio::test]
async fn a_credit_note_asks_for_no_payment() {
    let studio = accepted().await;
    sql(&studio, "INSERT INTO account_settings (id, words) VALUES (1, 'Thank you. Please name the number when you pay.')").await;
    invoiced(&studio, "0").await;
    studio.get("/invoices/1").await.says("Please name the number when you pay");
    let key = studio.get("/invoices/1/credit").await.hidden("once_key");
    let fields = [("once_key", key.as_str()), ("amount", "100"), ("reason", "Fewer tables")];
    let note = studio.post("/invoices/1/credit", &fields).await.onward().to_owned();
    studio.get(&note).await.says("Credit note 2").says_not("when you pay");
}

#[tokio::test]
async fn what_was_called_off_is_not_ordered_or_made_and_leads_to_what_is_owed() {
    let studio = accepted().await;
    studio.get("/events/1").await.says_not("/cancellation");
    sql(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1").await;
    studio.get("/events/1").await.says("href=\"/events/1/cancellation\"").says_not("Order by");
    sql(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'lost' WHERE id = 1").await;
    studio.get("/events/1").await.says_not("/cancellation");
    // With pieces: until when to order, and hours of making, as long as it is to be.
    let studio = TestStudio::new().await;
    supper(&studio).await;
    studio.get("/events/1").await.says("Until when to order").says("Making pieces,");
    sql(&studio, "UPDATE event SET ended_on = '2026-05-04', ending = 'cancelled' WHERE id = 1").await;
    studio.get("/events/1").await.says_not("Until when to order").says_not("Making pieces,");
}

#[tokio::test]
async fn an_account_leads_to_what_can_be_done_next() {
    let studio = accepted().await;
    studio.get(ACCOUNT).await.says("as the accepted quote has them").says_not("kind=refund");
    studio.get("/accounts/tax").await.says("No invoice in these days");
    invoiced(&studio, "0").await;
    // Keeping the parts with the first invoice does not make them others.
    studio.get(ACCOUNT).await.says("as the accepted quote has them").says_not("this event&#39;s own");
    paid(&studio, 1, &[("amount", "500")]).await.onward();
    studio.get(ACCOUNT).await.says("/clients/1/payments/new?kind=refund&amp;event=1");
    studio.get("/accounts/tax").await.says("data-label=\"With tax\">€423.00");
    studio
        .get("/accounts/tax?from=2026-05-04&to=2026-05-01")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("These days cannot be shown")
        .says_not("Not saved");
    sql(&studio, "DELETE FROM tax_rate").await;
    studio.get("/events/1/extras").await.is(StatusCode::OK).says("No tax rate yet").says("/settings#taxes");
}
