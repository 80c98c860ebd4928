//! Who may come in: log-in, sessions, delays, names, headers. Numbers in the comments are those of OWASP ASVS 4.0.3.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use trug::web::door::{Door, Way};

use crate::people::{BENCH, DESK, OWNER, let_in, on_the_network};
use crate::support::TestStudio;

async fn network() -> TestStudio {
    on_the_network(TestStudio::new().await).await
}

/// 3.4.1 to 3.4.5, 3.2.1, 3.2.3.
#[tokio::test]
async fn whoever_logs_in_goes_on_with_a_cookie_for_the_server_alone() {
    let studio = network().await;
    assert_eq!(studio.get("/").await.onward(), "/log-in");
    let page = studio.get("/log-in?to=%2Fevents%3Fpage%3D2").await;
    page.is(StatusCode::OK).says("autocomplete=\"current-password\"").says("travels unencrypted");
    page.says("name=\"to\" value=\"/events?page=2\"").says_not("My studio");
    let fields = [("name", " mia  thorne"), ("passphrase", OWNER.1), ("to", "/events?page=2")];
    let answer = studio.post("/log-in", &fields).await;
    assert_eq!(answer.onward(), "/events?page=2");
    let cookies = answer.set_cookies();
    let set = cookies.iter().find(|cookie| cookie.starts_with("trug_session=")).unwrap();
    for word in ["Path=/", "HttpOnly", "SameSite=Strict", "Max-Age=2592000"] {
        assert!(set.contains(word), "{set}");
    }
    assert!(!set.contains("Secure"), "the line is not encrypted: the browser would drop it");
    assert!(cookies.iter().any(|cookie| cookie.starts_with("trug_hand=Mia+Thorne;")), "{cookies:?}");
    let session = answer.session().unwrap();
    assert!(session.len() > "trug_session=".len() + 60, "64 bits of chance at least");
    studio.get_with("/", &session).await.is(StatusCode::OK).says("Mia Thorne").says("Log out");
    assert_eq!(studio.get_with("/log-in", &session).await.onward(), "/");
}

/// 2.2.1 and what a stranger learns: nothing.
#[tokio::test]
async fn an_unknown_name_and_a_wrong_passphrase_are_answered_alike() {
    let studio = network().await;
    let unknown = studio.post("/log-in", &[("name", "Nobody"), ("passphrase", OWNER.1)]).await;
    let wrong = studio.post("/log-in", &[("name", "Nobody"), ("passphrase", "wrong wrong wrong")]).await;
    unknown.is(StatusCode::UNPROCESSABLE_ENTITY).says("do not belong together").says("value=\"Nobody\"");
    assert_eq!(unknown.text(), wrong.text());
    let known = studio.post("/log-in", &[("name", OWNER.0), ("passphrase", "wrong wrong wrong")]).await;
    assert_eq!(known.text().replace(OWNER.0, "Nobody"), unknown.text());
    known.says_not("wrong wrong wrong");
    for odd in ["", "' OR 1=1 --", "\0", &"x".repeat(100_000)] {
        studio
            .post("/log-in", &[("name", OWNER.0), ("passphrase", odd)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY);
        studio
            .post("/log-in", &[("name", odd), ("passphrase", OWNER.1)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY);
    }
}

/// 3.2.1: a token that was there before is not the one after.
#[tokio::test]
async fn a_token_that_was_slipped_in_is_worth_nothing() {
    let studio = network().await;
    let slipped = format!("trug_session={}", "0".repeat(64));
    studio.get_with("/", &slipped).await.onward();
    let fields = [("name", OWNER.0), ("passphrase", OWNER.1)];
    let answer = studio.post_with("/log-in", &fields, &slipped).await;
    assert_ne!(answer.session().unwrap(), slipped);
    studio.get_with("/", &slipped).await.onward();
    // Logging in again ends what this browser had before.
    let first = answer.session().unwrap();
    let second = studio.post_with("/log-in", &fields, &first).await.session().unwrap();
    assert_ne!(first, second);
    studio.get_with("/", &first).await.onward();
    studio.get_with("/", &second).await.is(StatusCode::OK);
}

/// 3.3.1.
#[tokio::test]
async fn a_log_out_ends_the_session_in_the_book() {
    let studio = network().await;
    let session = studio.log_in(OWNER.0, OWNER.1).await;
    let out = studio.post_with("/log-out", &[], &session).await;
    assert_eq!(out.onward(), "/log-in");
    assert!(
        out.set_cookies()
            .iter()
            .any(|cookie| cookie.starts_with("trug_session=;") && cookie.contains("Max-Age=0"))
    );
    assert!(
        out.set_cookies().iter().any(|cookie| cookie.starts_with("trug_notice=;")),
        "no word for who comes next"
    );
    studio.get_with("/events", &session).await.onward();
    studio.post_with("/log-out", &[], &session).await.is(StatusCode::UNAUTHORIZED);
}

/// 3.3.2: logged in again after twelve hours unused, and after thirty days.
#[tokio::test]
async fn a_session_ends_over_night_and_after_a_month() {
    let mut studio = network().await;
    let door = Door { way: Way::Network, names: Vec::new() };
    let session = studio.log_in(OWNER.0, OWNER.1).await;
    studio.reached_through(door.clone(), "2026-05-04T20:55:00Z");
    studio.get_with("/", &session).await.is(StatusCode::OK);
    studio.reached_through(door.clone(), "2026-05-05T08:50:00Z");
    studio.get_with("/", &session).await.is(StatusCode::OK);
    // Asking for ticks is what a device does by itself: it keeps nobody logged in.
    studio.reached_through(door.clone(), "2026-05-05T20:45:00Z");
    studio.get_with("/ticks", &session).await.is(StatusCode::OK);
    studio.reached_through(door.clone(), "2026-05-05T20:50:00Z");
    studio.get_with("/", &session).await.onward();
    // Used every day, it ends all the same.
    let session = studio.log_in(OWNER.0, OWNER.1).await;
    for hour in (0..30 * 24).step_by(11) {
        let now = jiff::Timestamp::from_second(1_778_014_200 + hour * 3_600).unwrap();
        studio.reached_through(door.clone(), &now.to_string());
        studio.get_with("/", &session).await.is(StatusCode::OK);
    }
    studio.reached_through(door, "2026-06-04T20:51:00Z");
    studio.get_with("/", &session).await.onward();
}

/// 2.2.1: fewer than a hundred tries an hour; delays that grow; everything but the passphrase is kept.
#[tokio::test]
async fn who_guesses_waits_and_is_told_how_long() {
    let studio = TestStudio::new().await;
    let_in(&studio).await;
    let mut studio = studio;
    studio.reached_by(Way::Network);
    let guess = async |studio: &TestStudio| {
        studio
            .post_from("10.0.0.66", "/log-in", &[("name", OWNER.0), ("passphrase", "guess guess guess")])
            .await
    };
    for _ in 0..5 {
        guess(&studio).await.is(StatusCode::UNPROCESSABLE_ENTITY);
    }
    let slowed = guess(&studio).await;
    slowed
        .is(StatusCode::TOO_MANY_REQUESTS)
        .says("Wait 1 second")
        .says("value=\"Mia Thorne\"")
        .says_not("guess");
    assert_eq!(slowed.headers[header::RETRY_AFTER], "1");
    // Also with the right passphrase; but not for somebody else, and never at the studio's own machine.
    let right = [("name", OWNER.0), ("passphrase", OWNER.1)];
    studio.post_from("10.0.0.67", "/log-in", &right).await.is(StatusCode::TOO_MANY_REQUESTS);
    studio.post_from("10.0.0.67", "/log-in", &[("name", DESK.0), ("passphrase", DESK.1)]).await.onward();
    studio.post_from("127.0.0.1", "/log-in", &right).await.onward();
}

#[tokio::test]
async fn a_hundred_tries_at_once_are_a_hundred() {
    let studio = network().await;
    let tries = (0..40).map(|_| {
        studio.post_from("10.0.0.66", "/log-in", &[("name", "Nobody"), ("passphrase", "guess guess guess")])
    });
    let answers = futures_util::future::join_all(tries).await;
    let looked_at = answers.iter().filter(|answer| answer.status == StatusCode::UNPROCESSABLE_ENTITY).count();
    assert_eq!(looked_at, 5);
}

/// 2.1.4 and 2.1.3: any characters, nothing cut off, spaces in a row are one.
#[tokio::test]
async fn a_passphrase_may_hold_anything_and_is_not_cut() {
    let studio = TestStudio::new().await;
    let long: String = ('!'..='~').chain('À'..='ÿ').take(128).collect();
    let odd = "мох & шпагат 🌿 \"';--";
    for (name, passphrase) in [("One", long.as_str()), ("Two", odd), ("Three", "two  spaces  here, see")] {
        let fields = [("name", name), ("role", "owner"), ("passphrase", passphrase)];
        studio.post("/settings/people", &fields).await.onward();
    }
    let mut studio = studio;
    studio.reached_by(Way::Network);
    studio.log_in("One", &long).await;
    studio.log_in("Two", odd).await;
    studio.log_in("Three", "two spaces here, see").await;
    let shorter: String = long.chars().take(127).collect();
    let cut = [("name", "One"), ("passphrase", shorter.as_str())];
    studio.post("/log-in", &cut).await.is(StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn the_calendar_needs_its_address_alone() {
    let mut studio = TestStudio::demo().await;
    studio.post("/calendar/feed", &[]).await.onward();
    let text = studio.get("/calendar").await.text();
    let from = text.find("http://localhost/calendar/feed/").expect("the page shows the address");
    let feed = text[from + "http://localhost".len()..].split(['"', '<']).next().unwrap();
    let_in(&studio).await;
    studio.reached_by(Way::Network);
    let answer = studio.get(feed).await;
    answer.is(StatusCode::OK).says("BEGIN:VCALENDAR");
    studio.get(&format!("/calendar/feed/{}.ics", "0".repeat(32))).await.is(StatusCode::NOT_FOUND);
    assert_eq!(studio.get("/calendar.ics").await.onward(), "/log-in?to=%2Fcalendar.ics");
    studio.get("/static/style.css").await.is(StatusCode::OK);
}

/// 13.2.3, 4.2.2: a post from another site changes nothing, with a session or without.
#[tokio::test]
async fn a_post_from_another_site_is_refused_with_a_session_too() {
    let studio = network().await;
    let session = studio.log_in(OWNER.0, OWNER.1).await;
    for (name, value) in
        [("sec-fetch-site", "cross-site"), ("sec-fetch-site", "same-site"), ("origin", "http://example.org")]
    {
        for path in ["/clients", "/log-in", "/log-out"] {
            let foreign = Request::post(path)
                .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
                .header(header::COOKIE, &session)
                .header(name, value);
            studio.send(foreign, Body::from("name=Ada")).await.is(StatusCode::FORBIDDEN);
        }
    }
    studio.get_with("/clients", &session).await.is(StatusCode::OK).says("No clients yet");
}

#[tokio::test]
async fn a_foreign_name_is_refused_before_anything_else() {
    let mut studio = network().await;
    let session = studio.log_in(OWNER.0, OWNER.1).await;
    let ask = async |studio: &TestStudio, host: &str| {
        let request = Request::get("/clients").header(header::HOST, host).header(header::COOKIE, &session);
        studio.send(request, Body::empty()).await
    };
    for host in ["rebound.example.org", "localhost.example.org", "10.0.0.1", "studio.lan"] {
        ask(&studio, host).await.is(StatusCode::MISDIRECTED_REQUEST).says_not("client");
    }
    let door = Door { way: Way::Network, names: vec!["studio.lan".into()] };
    studio.reached_through(door, crate::support::NOW);
    ask(&studio, "Studio.lan:4310").await.is(StatusCode::OK);
    ask(&studio, "rebound.example.org").await.is(StatusCode::MISDIRECTED_REQUEST);
}

/// 14.4.1 to 14.4.7, 8.2.1.
#[tokio::test]
async fn every_answer_carries_the_safe_headers() {
    let mut studio = network().await;
    let session = studio.log_in(OWNER.0, OWNER.1).await;
    for path in ["/", "/log-in", "/nowhere", "/static/style.css", "/settings/people"] {
        for page in [studio.get(path).await, studio.get_with(path, &session).await] {
            let text = |name: &str| page.headers.get(name).map_or("", |value| value.to_str().unwrap());
            let policy = text("content-security-policy");
            for part in
                ["default-src 'self'", "base-uri 'none'", "form-action 'self'", "frame-ancestors 'none'"]
            {
                assert!(policy.contains(part) && !policy.contains("unsafe"), "{path}: {policy}");
            }
            assert_eq!(text("x-content-type-options"), "nosniff");
            assert_eq!(text("referrer-policy"), "same-origin");
            assert_eq!(text("x-frame-options"), "DENY");
            assert_eq!(text("cross-origin-opener-policy"), "same-origin");
            assert_eq!(text("cross-origin-resource-policy"), "same-origin");
            assert_eq!(text("strict-transport-security"), "", "the line is not encrypted");
            let kept = if path.starts_with("/static") { "no-cache" } else { "no-store" };
            assert_eq!(text("cache-control"), kept, "{path}");
            assert!(page.headers.get("access-control-allow-origin").is_none());
            assert!(page.headers.get("server").is_none() && page.headers.get("x-powered-by").is_none());
        }
    }
    studio.reached_by(Way::Encrypted);
    assert_eq!(studio.get("/log-in").await.headers["strict-transport-security"], "max-age=15768000");
}

#[tokio::test]
async fn behind_a_proxy_its_name_is_ours_and_cookies_keep_to_encrypted_lines() {
    let mut studio = TestStudio::new().await;
    let_in(&studio).await;
    studio.reached_by(Way::Proxied { origin: "https://trug.example".into() });
    let post = |origin: &'static str| {
        Request::post("/log-in")
            .header(header::HOST, "localhost:4310")
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
    };
    let body = || Body::from("name=Mia+Thorne&passphrase=wet+moss+and+twine");
    studio.send(post("https://other.example"), body()).await.is(StatusCode::FORBIDDEN);
    let answer = studio.send(post("https://trug.example"), body()).await;
    answer.onward();
    let cookies = answer.set_cookies();
    let set = cookies.iter().find(|cookie| cookie.starts_with("__Host-trug_session=")).expect("a session");
    assert!(set.contains("; Secure") && set.contains("Path=/;") && !set.contains("Domain"), "{set}");
    let session = answer.session().unwrap();
    let page = Request::get("/").header(header::HOST, "trug.example").header(header::COOKIE, &session);
    studio.send(page, Body::empty()).await.is(StatusCode::OK);
    // A cookie that came over a plain line is no session here.
    let plain = session.replace("__Host-", "");
    studio.get_with("/", &plain).await.onward();
    let saved = studio.post_with("/clients", &[("name", "Ada")], &session).await;
    assert!(
        saved
            .set_cookies()
            .iter()
            .any(|cookie| cookie.starts_with("trug_notice=") && cookie.contains("Secure"))
    );
    studio.get("/log-in").await.says_not("travels unencrypted");
}

/// Else whoever reaches the proxy would sit at the machine, and be the owner.
#[tokio::test]
async fn a_proxy_that_nobody_told_of_is_refused() {
    let mut studio = TestStudio::new().await;
    let_in(&studio).await;
    let ask = async |studio: &TestStudio, name: &str| {
        studio.send(Request::get("/clients").header(name, "198.51.100.4"), Body::empty()).await
    };
    for name in ["x-forwarded-for", "x-forwarded-host", "forwarded", "via", "x-real-ip"] {
        ask(&studio, name)
            .await
            .is(StatusCode::MISDIRECTED_REQUEST)
            .says("--behind-proxy")
            .says_not("client");
    }
    studio.get("/clients").await.is(StatusCode::OK);
    studio.reached_by(Way::Proxied { origin: "https://trug.example".into() });
    ask(&studio, "x-forwarded-for").await.onward();
}

/// Through the proxy everybody comes from this machine: who guesses is told apart by the last hop that the proxy saw.
#[tokio::test]
async fn behind_a_proxy_who_guesses_is_told_apart() {
    let mut studio = TestStudio::new().await;
    let_in(&studio).await;
    studio.reached_by(Way::Proxied { origin: "https://trug.example".into() });
    let guess = async |hops: &str, name: &str| {
        let request = Request::post("/log-in")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin")
            .header("x-forwarded-for", hops);
        studio.send(request, Body::from(format!("name={name}&passphrase=guess+guess+guess"))).await.status
    };
    for number in 0..20 {
        let forged = format!("192.0.2.{number}, 198.51.100.4");
        assert_eq!(guess(&forged, &format!("n{number}")).await, StatusCode::UNPROCESSABLE_ENTITY);
    }
    assert_eq!(guess("203.0.113.9, 198.51.100.4", "n21").await, StatusCode::TOO_MANY_REQUESTS);
    assert_eq!(guess("198.51.100.5", "n21").await, StatusCode::UNPROCESSABLE_ENTITY);
}

/// What lets somebody in leaves the book with no export.
#[tokio::test]
async fn an_export_holds_nothing_that_lets_somebody_in() {
    let studio = network().await;
    studio.log_in(BENCH.0, BENCH.1).await;
    let out = studio.book.path().with_file_name("out");
    trug::book_files::export::export(&studio.book, &out).await.unwrap();
    let names: Vec<String> = std::fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert!(names.contains(&"person.csv".to_owned()), "{names:?}");
    assert!(
        !names.iter().any(|name| name.starts_with("passphrase") || name.starts_with("session")),
        "{names:?}"
    );
    for name in names.iter().filter(|name| out.join(name).is_file()) {
        let text = String::from_utf8_lossy(&std::fs::read(out.join(name)).unwrap()).into_owned();
        assert!(!text.contains("$argon2id"), "{name}");
    }
}
