use axum::http::StatusCode;

use crate::support::TestStudio;

#[tokio::test]
async fn a_client_is_added_and_found() {
    let studio = TestStudio::new().await;
    studio.get("/clients").await.is(StatusCode::OK).says("No clients yet");
    let added = studio.post("/clients", &[("name", "Ada & Sons"), ("email", "ada@example.org")]).await;
    let path = added.onward().to_owned();
    studio
        .get_with(&path, &added.cookie)
        .await
        .says("Ada &#38; Sons is in the book.")
        .says("ada@example.org");
    let list = studio.get("/clients?q=ADA").await;
    assert_eq!(list.media_type, "text/html; charset=utf-8");
    list.says("Ada &#38; Sons");
    studio.get("/clients?q=ADA").await.says("Ada &#38; Sons");
    studio.get("/clients?q=nobody").await.says_not("Ada &#38; Sons");
}

#[tokio::test]
async fn a_refused_client_keeps_what_was_typed() {
    let studio = TestStudio::new().await;
    let page =
        studio.post("/clients", &[("name", " "), ("email", "nowhere"), ("note", "<script>x</script>")]).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Not saved: 2 things to put right")
        .says("Write the client&#39;s name.")
        .says("An email address has an @ in it.")
        .says("value=\"nowhere\"")
        .says_not("<script>x");
    studio.get("/clients").await.says("No clients yet");
}

#[tokio::test]
async fn a_stale_save_shows_both() {
    let studio = TestStudio::new().await;
    let path = studio.post("/clients", &[("name", "Ada")]).await.onward().to_owned();
    studio.post(&path, &[("version", "1"), ("name", "Ada North")]).await.onward();
    let page = studio.post(&path, &[("version", "1"), ("name", "Ada South")]).await;
    page.is(StatusCode::CONFLICT).says("Ada North").says("Ada South").says("name=\"version\" value=\"2\"");
    studio.post(&path, &[("version", "2"), ("name", "Ada South")]).await.onward();
    studio.get("/clients").await.says("Ada South");
}

#[tokio::test]
async fn a_removed_client_can_be_brought_back() {
    let studio = TestStudio::new().await;
    let path = studio.post("/clients", &[("name", "Ada")]).await.onward().to_owned();
    let removed = studio.post(&format!("{path}/removal"), &[]).await;
    let list = studio.get_with(removed.onward(), &removed.cookie).await;
    list.says("Ada removed.").says(&format!("{path}/restoration"));
    studio.get(&path).await.is(StatusCode::NOT_FOUND);
    studio.post(&format!("{path}/restoration"), &[]).await.onward();
    studio.get(&path).await.is(StatusCode::OK);
}
