use axum::http::StatusCode;

use crate::support::TestStudio;

pub(crate) fn filled(changes: &[(&'static str, &'static str)]) -> Vec<(&'static str, &'static str)> {
    let standard = [
        ("version", "1"),
        ("name", "Studio Probe"),
        ("currency", "GBP"),
        ("length_unit", "in"),
        ("date_style", "iso"),
        ("paper", "letter"),
        ("time_zone", "Europe/London"),
        ("fresh_markup", "3.5"),
        ("hard_goods_markup", "2"),
        ("sundries_markup", "2"),
        ("labour_rule", "minutes"),
        ("labour_rate", "25"),
        ("labour_share", "25"),
        ("rounding_step", "0.50"),
        ("rounding_direction", "up"),
        ("allowance_rule", "assured"),
        ("loss", "5"),
        ("assurance", "95"),
        ("prices_include_tax", "no"),
        ("plan_seconds", "20"),
        ("tax_id", ""),
        ("tax_name", "Standard"),
        ("tax_rate", "20"),
    ];
    let typed = |name: &str| changes.iter().any(|(other, _)| *other == name);
    standard.into_iter().filter(|(name, _)| !typed(name)).chain(changes.iter().copied()).collect()
}

#[tokio::test]
async fn settings_are_kept() {
    let studio = TestStudio::new().await;
    studio.get("/settings").await.is(StatusCode::OK).says("My studio");
    studio.post("/settings", &filled(&[])).await.onward();
    let page = studio.get("/settings").await;
    page.says("Studio Probe")
        .says("value=\"GBP\" selected")
        .says("data-paper=\"letter\"")
        .says("value=\"Standard\"")
        .says("value=\"20\"");
}

#[tokio::test]
async fn the_time_limit_of_a_plan_is_whole_seconds_up_to_two_minutes() {
    let studio = TestStudio::new().await;
    for wrong in ["0", "-5", "121", "2.5", "", "1000000000"] {
        let page = studio.post("/settings", &filled(&[("plan_seconds", wrong)])).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY).says("Write a whole number from 1 to 120.");
    }
    studio.post("/settings", &filled(&[("plan_seconds", "120")])).await.onward();
    studio.get("/settings").await.says("value=\"120\"");
}

#[tokio::test]
async fn every_wrong_setting_is_named_at_once() {
    let studio = TestStudio::new().await;
    let wrong =
        [("name", ""), ("labour_rate", "1.234"), ("time_zone", "Mars"), ("loss", "95"), ("tax_rate", "x")];
    let page = studio.post("/settings", &filled(&wrong)).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("5 things to put right")
        .says("GBP has 2 decimals")
        .says("value=\"Mars\"");
    studio.get("/settings").await.says("My studio");
}

#[tokio::test]
async fn a_currency_without_decimals_takes_none() {
    let studio = TestStudio::new().await;
    let yen = [("currency", "JPY"), ("labour_rate", "2500"), ("rounding_step", "50")];
    studio.post("/settings", &filled(&yen)).await.onward();
    studio.get("/settings").await.says("value=\"2500\"");
    let broken = [("currency", "JPY"), ("version", "2"), ("labour_rate", "25.50"), ("rounding_step", "50")];
    studio
        .post("/settings", &filled(&broken))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("JPY has no decimals");
}
