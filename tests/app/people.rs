//! The owner's page of people, and one's own account.

use axum::http::StatusCode;
use trug::web::door::Way;

use crate::support::{Page, TestStudio};

pub(crate) const OWNER: (&str, &str) = ("Mia Thorne", "wet moss and twine");
pub(crate) const DESK: (&str, &str) = ("Otto", "nine grey herons");
pub(crate) const BENCH: (&str, &str) = ("Bench tablet", "copper pail, cold room");

/// Lets in one of each role, while only this machine is listened to.
pub(crate) async fn let_in(studio: &TestStudio) {
    for ((name, passphrase), role) in [(OWNER, "owner"), (DESK, "desk"), (BENCH, "bench")] {
        add(studio, name, role, passphrase).await.onward();
    }
}

/// A studio on the network, with one of each role.
pub(crate) async fn on_the_network(mut studio: TestStudio) -> TestStudio {
    let_in(&studio).await;
    studio.reached_by(Way::Network);
    studio
}

async fn add(studio: &TestStudio, name: &str, role: &str, passphrase: &str) -> Page {
    let fields = [("name", name), ("role", role), ("passphrase", passphrase)];
    studio.post("/settings/people", &fields).await
}

#[tokio::test]
async fn the_first_one_is_asked_for_and_listed() {
    let studio = TestStudio::new().await;
    studio.get("/settings").await.says("/settings/people");
    studio.get("/settings/people").await.says("Nobody yet").says("nobody else can reach it");
    assert_eq!(add(&studio, OWNER.0, "owner", OWNER.1).await.onward(), "/settings/people");
    let list = studio.get("/settings/people").await;
    list.says("Mia Thorne").says("Owner").says_not("no passphrase yet").says_not("$argon2id");
    studio.get("/settings/people/new").await.says("type=\"password\"").says("autocomplete=\"new-password\"");
    studio.get("/settings/people/new?shown=1").await.says("type=\"text\" id=\"passphrase\"");
    studio.get("/settings/people/99").await.is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_is_wrong_is_said_at_its_field_and_a_passphrase_never_comes_back() {
    let studio = TestStudio::new().await;
    add(&studio, OWNER.0, "owner", OWNER.1).await.onward();
    for (name, role, passphrase, words) in [
        ("", "bench", BENCH.1, "Write the name they log in with."),
        ("Ada", "boss", BENCH.1, "is not one of the choices"),
        ("Ada", "bench", "short", "at least 12 characters"),
        ("Ada", "bench", "Password12345!", "tried first"),
        ("Ada Lovelace", "bench", "AdaLovelace1815", "little more than a name"),
        (" mia  THORNE ", "bench", BENCH.1, "is let in already"),
        (&"x".repeat(10_000), "bench", BENCH.1, "letters"),
    ] {
        let page = add(&studio, name, role, passphrase).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY).says(words).says_not(&format!("\"{passphrase}\""));
    }
    let page = add(&studio, "<script>alert(1)</script>", "bench", BENCH.1).await;
    page.onward();
    studio.get("/settings/people").await.says("&#60;script&#62;").says_not("<script>alert");
    let long: String = ('!'..='~').chain('À'..='ÿ').take(129).collect();
    add(&studio, "Ada", "bench", &long).await.says("at most 128 characters");
    add(&studio, "Ada", "bench", &long.chars().take(128).collect::<String>()).await.onward();
}

#[tokio::test]
async fn the_last_owner_stays_one() {
    let studio = TestStudio::new().await;
    let_in(&studio).await;
    let demoted = [("version", "1"), ("name", OWNER.0), ("role", "desk")];
    let page = studio.post("/settings/people/1", &demoted).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("is the last owner with a passphrase");
    studio.post("/settings/people/1/removal", &[]).await.is(StatusCode::CONFLICT).says("stays");
    studio
        .post("/settings/people/2", &[("version", "1"), ("name", "Otto"), ("role", "owner")])
        .await
        .onward();
    studio.post("/settings/people/1", &demoted).await.onward();
    studio.post("/settings/people/2/removal", &[]).await.is(StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_stale_save_shows_both_and_a_removal_is_undone() {
    let studio = TestStudio::new().await;
    let_in(&studio).await;
    studio
        .post("/settings/people/3", &[("version", "1"), ("name", "Bench 1"), ("role", "bench")])
        .await
        .onward();
    let page =
        studio.post("/settings/people/3", &[("version", "1"), ("name", "Bench 2"), ("role", "desk")]).await;
    page.is(StatusCode::CONFLICT).says("Bench 1").says("Bench 2");
    let gone = studio.post("/settings/people/3/removal", &[]).await;
    assert_eq!(gone.onward(), "/settings/people");
    let notice = gone.cookie.split(';').next().unwrap().to_owned();
    studio
        .get_with("/settings/people", &notice)
        .await
        .says("Bench 1 is shut out.")
        .says("/settings/people/3/restoration");
    studio.get("/settings/people").await.says_not("Bench 1");
    studio.get("/settings/people/3").await.is(StatusCode::NOT_FOUND);
    studio.post("/settings/people/3/restoration", &[]).await.onward();
    studio.get("/settings/people").await.says("Bench 1");
    studio.post("/settings/people/3/restoration", &[]).await.is(StatusCode::NOT_FOUND);
    // A name is free once its bearer is shut out; then that one cannot come back by it.
    studio.post("/settings/people/3/removal", &[]).await.onward();
    add(&studio, "Bench 1", "bench", BENCH.1).await.onward();
    studio
        .post("/settings/people/3/restoration", &[])
        .await
        .is(StatusCode::CONFLICT)
        .says("was let in since");
}

#[tokio::test]
async fn a_new_role_or_passphrase_or_a_removal_ends_what_was_begun() {
    let studio = on_the_network(TestStudio::new().await).await;
    let owner = studio.log_in(OWNER.0, OWNER.1).await;
    for (path, fields) in [
        ("/settings/people/3", vec![("version", "1"), ("name", BENCH.0), ("role", "desk")]),
        ("/settings/people/3/passphrase", vec![("passphrase", BENCH.1)]),
        ("/settings/people/3/sessions/removal", vec![]),
        ("/settings/people/3/removal", vec![]),
    ] {
        let bench = studio.log_in(BENCH.0, BENCH.1).await;
        studio.get_with("/my-account", &bench).await.is(StatusCode::OK).says(BENCH.0);
        studio.post_with(path, &fields, &owner).await.onward();
        assert_eq!(
            studio.get_with("/my-account", &bench).await.onward(),
            "/log-in?to=%2Fmy-account",
            "{path}"
        );
    }
    let shut_out = studio.post("/log-in", &[("name", BENCH.0), ("passphrase", BENCH.1)]).await;
    shut_out.is(StatusCode::UNPROCESSABLE_ENTITY);
    studio.get_with("/my-account", &owner).await.is(StatusCode::OK);
}

#[tokio::test]
async fn ones_own_passphrase_is_changed_by_who_knows_it_and_ends_the_other_sessions() {
    let studio = on_the_network(TestStudio::new().await).await;
    let (here, there) = (studio.log_in(BENCH.0, BENCH.1).await, studio.log_in(BENCH.0, BENCH.1).await);
    let change = async |present, new| {
        let fields = [("present", present), ("passphrase", new)];
        studio.post_with("/my-account/passphrase", &fields, &here).await
    };
    let page = change("wrong wrong wrong", "seven dry hydrangeas").await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("not your present passphrase").says_not("hydrangeas");
    change(BENCH.1, "short").await.is(StatusCode::UNPROCESSABLE_ENTITY).says("at least 12");
    studio.get_with("/my-account", &there).await.is(StatusCode::OK);
    assert_eq!(change(BENCH.1, "seven dry hydrangeas").await.onward(), "/my-account");
    studio.get_with("/my-account", &here).await.is(StatusCode::OK);
    studio.get_with("/my-account", &there).await.onward();
    studio.log_in(BENCH.0, "seven dry hydrangeas").await;
    let old = studio.post("/log-in", &[("name", BENCH.0), ("passphrase", BENCH.1)]).await;
    old.is(StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn one_sees_where_one_is_logged_in_and_ends_it() {
    let studio = on_the_network(TestStudio::new().await).await;
    let (here, there) = (studio.log_in(OWNER.0, OWNER.1).await, studio.log_in(OWNER.0, OWNER.1).await);
    let bench = studio.log_in(BENCH.0, BENCH.1).await;
    let account = studio.get_with("/my-account", &here).await;
    account.says("Where you are logged in").says("(here)").says("Log out everywhere else");
    let text = account.text();
    let marks: Vec<&str> = text
        .split("/my-account/sessions/")
        .skip(1)
        .map(|rest| rest.split('/').next().unwrap())
        .filter(|mark| mark.len() == 16)
        .collect();
    assert_eq!(marks.len(), 2, "only one's own: {text}");
    // Nobody ends somebody else's.
    let path = format!("/my-account/sessions/{}/removal", marks[0]);
    studio.post_with(&path, &[], &bench).await.is(StatusCode::NOT_FOUND);
    studio.post_with("/my-account/sessions/removal", &[], &here).await.onward();
    studio.get_with("/my-account", &here).await.is(StatusCode::OK);
    studio.get_with("/my-account", &there).await.onward();
    studio.get_with("/my-account", &bench).await.is(StatusCode::OK);
}

#[tokio::test]
async fn on_this_machine_alone_nobody_has_an_account() {
    let studio = TestStudio::new().await;
    let_in(&studio).await;
    studio.get("/my-account").await.is(StatusCode::OK).says("nobody logs in").says_not("Log out");
    let fields = [("present", OWNER.1), ("passphrase", "seven dry hydrangeas")];
    studio.post("/my-account/passphrase", &fields).await.is(StatusCode::CONFLICT);
    assert_eq!(studio.get("/log-in").await.onward(), "/");
}
