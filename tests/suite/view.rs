//! The live page's pure parts: whom it answers, what it shows, and what is written back.

use axum::http::Request as Http;
use axum::http::request::Parts;
use dialwright::analysis::{Request, analyse};
use dialwright::check::load;
use dialwright::output::viewer::Boards;
use dialwright::project::MemoryProject;
use dialwright::revision::Digest;
use dialwright::view::params::{Knob, Set, Unwritten, knobs, written};
use dialwright::view::{Choice, KEY, Refusal, Route, TOKEN, cookie, page, route};
use proptest::prelude::*;

const PORT: u16 = 8123;

/// As a tab asks that has the page's cookie.
fn asked(method: &str, address: &str, headers: &[(&str, &str)]) -> Parts {
    let kept = cookie(PORT, "secret");
    let kept = kept.split(';').next().unwrap();
    asked_by_stranger(method, address, &[headers, &[("cookie", kept)]].concat())
}

fn asked_by_stranger(method: &str, address: &str, headers: &[(&str, &str)]) -> Parts {
    let request = headers
        .iter()
        .fold(Http::builder().method(method).uri(address), |all, (name, value)| all.header(*name, *value));
    request.body(()).unwrap().into_parts().0
}

fn get(address: &str) -> Result<Route, Refusal> {
    route(&asked("GET", address, &[("host", "127.0.0.1:8123")]), PORT, "secret")
}

/// A page on another name that leads to this machine must not be answered (OWASP, "DNS rebinding").
#[test]
fn only_its_own_name_is_answered() {
    for host in ["127.0.0.1:8123", "localhost:8123"] {
        assert_eq!(route(&asked("GET", "/", &[("host", host)]), PORT, "secret"), Ok(Route::Page));
    }
    for host in ["127.0.0.1", "127.0.0.1:8124", "dial.example:8123", "localhost:8123.example", "", "LOCALHOST:8123@x"] {
        assert_eq!(route(&asked("GET", "/", &[("host", host)]), PORT, "secret"), Err(Refusal::ForeignHost), "{host}");
    }
    assert_eq!(route(&asked("GET", "/", &[]), PORT, "secret"), Err(Refusal::ForeignHost));
    let twice = [("host", "127.0.0.1:8123"), ("host", "dial.example")];
    assert_eq!(route(&asked("GET", "/", &twice), PORT, "secret"), Err(Refusal::ForeignHost));
    let foreign = [("host", "127.0.0.1:8123"), ("origin", "http://dial.example")];
    assert_eq!(route(&asked("GET", "/state", &foreign), PORT, "secret"), Err(Refusal::ForeignOrigin));
    let own = [("host", "127.0.0.1:8123"), ("origin", "http://127.0.0.1:8123")];
    assert!(route(&asked("GET", "/state", &own), PORT, "secret").is_ok());
}

/// An address may name a host itself, as to a proxy (RFC 9112, 3.2.2): then that one counts.
#[test]
fn no_other_name_is_answered_in_the_address() {
    let at = |address: &str| route(&asked("GET", address, &[("host", "127.0.0.1:8123")]), PORT, "secret");
    assert_eq!(at("http://127.0.0.1:8123/"), Ok(Route::Page));
    for foreign in ["http://dial.example/", "http://127.0.0.1/", "https://127.0.0.1:8123/", "http://a@127.0.0.1:8123/"]
    {
        assert_eq!(at(foreign), Err(Refusal::ForeignHost), "{foreign}");
    }
}

/// Every account of the machine reaches the port; the secret is told to the one that started the program.
#[test]
fn strangers_are_answered_nothing() {
    let host = ("host", "127.0.0.1:8123");
    let stranger = |address: &str, more: &[(&str, &str)]| {
        route(&asked_by_stranger("GET", address, &[&[host], more].concat()), PORT, "secret")
    };
    for address in
        ["/", "/?key=", "/?key=Secret", "/?key=secretx", "/?other=secret", "/state?key=secret", "/events", "/live.js"]
    {
        assert_eq!(stranger(address, &[]), Err(Refusal::Stranger), "{address}");
    }
    for wrong in ["dialwright-8123=", "dialwright-8123=x", "dialwright-8124=secret", "secret", "x; y=secret"] {
        assert_eq!(stranger("/state", &[("cookie", wrong)]), Err(Refusal::Stranger), "{wrong}");
    }
    assert_eq!(stranger(&format!("/?{KEY}=secret"), &[]), Ok(Route::Page));
    assert_eq!(stranger("/events", &[("cookie", "a=b; dialwright-8123=secret")]), Ok(Route::Events));
    let post = asked_by_stranger("POST", "/write", &[host, (TOKEN, "secret")]);
    assert_eq!(route(&post, PORT, "secret"), Err(Refusal::Stranger));
    let kept = cookie(PORT, "secret");
    assert!(["HttpOnly", "SameSite=Strict"].iter().all(|wanted| kept.contains(wanted)), "{kept}");
}

/// Browsers say from where a request comes (W3C Fetch Metadata); what other pages ask for is refused before anything is done.
#[test]
fn other_pages_make_it_do_nothing() {
    let from = |site: &str| {
        let headers = [("host", "127.0.0.1:8123"), ("sec-fetch-site", site)];
        route(&asked("GET", "/state", &headers), PORT, "secret").map(|_| ())
    };
    assert_eq!([from("same-origin"), from("none")], [Ok(()), Ok(())]);
    assert_eq!([from("cross-site"), from("same-site")], [Err(Refusal::ForeignOrigin); 2]);
}

#[test]
fn no_path_leads_out_of_the_page() {
    for path in ["/../a", "/a.dial", "/%2e%2e/a", "//etc/passwd", "/viewer.css/../a", "/viewer.css/", "/STATE"] {
        assert_eq!(get(path), Err(Refusal::NotThere), "{path}");
    }
    assert_eq!(get("/setup.svg?board=1&setup=2"), Ok(Route::Drawing(Choice::default(), 1, 2)));
    assert_eq!(get("/setup.svg?board=..&setup=2"), Err(Refusal::NotThere));
}

#[test]
fn what_is_too_long_is_refused() {
    let long = "x".repeat(20_000);
    let parts = asked("GET", "/", &[("host", "127.0.0.1:8123"), ("x-big", &long)]);
    assert_eq!(route(&parts, PORT, "secret"), Err(Refusal::TooLong));
    assert_eq!(get(&format!("/state?variant={long}")), Err(Refusal::TooLong));
}

#[test]
fn writing_needs_the_token_and_a_post() {
    let post = |token: &[(&str, &str)]| {
        let headers: Vec<(&str, &str)> =
            [("host", "127.0.0.1:8123")].into_iter().chain(token.iter().copied()).collect();
        route(&asked("POST", "/write", &headers), PORT, "secret")
    };
    assert_eq!(post(&[(TOKEN, "secret")]), Ok(Route::Write));
    assert_eq!(post(&[(TOKEN, "Secret")]), Err(Refusal::WrongToken));
    assert_eq!(post(&[]), Err(Refusal::WrongToken));
    assert_eq!(get("/write"), Err(Refusal::WrongMethod));
    assert_eq!(
        route(&asked("POST", "/state", &[("host", "127.0.0.1:8123")]), PORT, "secret"),
        Err(Refusal::WrongMethod)
    );
}

/// Names and values come percent-encoded (WHATWG URL, application/x-www-form-urlencoded).
#[test]
fn a_choice_is_read_from_the_address() {
    let choice = Choice {
        variant: Some("a & b".to_owned()),
        settings: vec![("across".to_owned(), "46mm".to_owned()), ("sign".to_owned(), "\"%\"".to_owned())],
    };
    assert_eq!(get("/state?variant=a+%26+b&set.across=46mm&set.sign=%22%25%22&other=1"), Ok(Route::State(choice)));
}

const DIAL: &str = "// first\r\ndial \"Points\"\r\nparam across: length = 60mm from 4cm to 80mm  \"how wide\"\r\n\
    param most: count = 9 from 3 to 11\r\nparam word: text = \"AB\" from [\"AB\", \"C D\"]\r\n\
    param free: length = 3mm\r\noutline circle(diameter: across)\r\n\
    layer base of birch { engrave ring points { labels 0 to most; radius 20mm; height 5mm } }\r\n\
    layer cover of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg)\r\n engrave text(word, height: free) }\r\n\
    stack { base; turn on magnets(disc); cover }\r\nreads points through peep\r\n";

fn project(text: &str) -> MemoryProject {
    MemoryProject::default().with("a.dial", text)
}

fn knobs_of(text: &str, settings: &[(String, String)]) -> Vec<Knob> {
    let project = project(text);
    knobs(&load(&project, "a.dial", "").unwrap(), &project, None, settings).1
}

fn write(text: &str, param: &str, value: &str) -> Result<String, Unwritten> {
    let project = project(text);
    let seen = Digest::of(text.as_bytes()).to_string();
    written(&load(&project, "a.dial", "").unwrap(), &project, (param, value, &seen)).map(|(_, text)| text)
}

#[test]
fn params_with_bounds_are_sliders_in_the_unit_of_the_file() {
    let set = [("most".to_owned(), "7".to_owned())];
    let found = knobs_of(DIAL, &set);
    let names: Vec<&str> = found.iter().map(|knob| knob.name.as_str()).collect();
    assert_eq!(names, ["across", "most", "word"]);
    let [across, most, word] = found.as_slice() else { panic!() };
    // By hand: 40 mm in a hundred steps or a few more, each one, two or five of a power of ten.
    assert_eq!(across.set, Set::Slide { ends: (40.0, 80.0), step: 0.2, at: 60.0, unit: "mm" });
    assert_eq!(most.set, Set::Slide { ends: (3.0, 11.0), step: 1.0, at: 7.0, unit: "" });
    assert_eq!(word.set, Set::Choose(vec!["\"AB\"".to_owned(), "\"C D\"".to_owned()]));
    assert_eq!((across.value.as_str(), across.note.as_deref()), ("60mm", Some("how wide")));
}

#[test]
fn a_value_written_back_changes_nothing_else() {
    assert_eq!(write(DIAL, "across", "46.4mm").unwrap(), DIAL.replace("= 60mm", "= 46.4mm"));
    assert_eq!(write(DIAL, "most", "11").unwrap(), DIAL.replace("= 9 from", "= 11 from"));
    assert_eq!(write(DIAL, "word", "\"C D\"").unwrap(), DIAL.replace("= \"AB\" from", "= \"C D\" from"));
}

#[test]
fn nothing_is_written_that_the_param_may_not_be() {
    let not = [
        ("across", "81mm"),
        ("across", "60"),
        ("across", "60deg"),
        ("across", "60mm } x"),
        ("across", "1e1mm"),
        ("across", ""),
        ("across", "mm"),
        ("most", "3.5"),
        ("most", "NaN"),
        ("word", "\"E\""),
        ("word", "word"),
    ];
    for (param, value) in not {
        assert_eq!(write(DIAL, param, value), Err(Unwritten::NotAllowed), "{param} = {value}");
    }
    assert_eq!(write(DIAL, "free", "4mm"), Err(Unwritten::Changed));
    let project = project(DIAL);
    let loaded = load(&project, "a.dial", "").unwrap();
    assert_eq!(written(&loaded, &project, ("across", "61mm", "0000")), Err(Unwritten::Changed));
}

proptest! {
    /// Whatever comes in, either nothing is written or a text that differs in the value alone and reads back as it.
    #[test]
    fn written_texts_hold_the_value(value in "-?[0-9]{0,4}\\.?[0-9]{0,3}(mm|cm|in|%|deg)?|\\PC{0,12}") {
        if let Ok(text) = write(DIAL, "across", &value) {
            prop_assert_eq!(&text, &DIAL.replace("= 60mm", &format!("= {value}")));
            let knob = &knobs_of(&text, &[])[0];
            prop_assert!(matches!(knob.set, Set::Slide { .. }), "{:?}", knob);
        }
    }
}

#[test]
fn the_state_is_the_picture_or_what_is_wrong() {
    let state = |text: &str| {
        let analysis = analyse(&project(text), "a.dial", "", &Request::default()).unwrap();
        serde_json::json!(page::state(&analysis, None, &[], &knobs_of(text, &[]), &mut Boards::default()))
    };
    let good = state(DIAL);
    assert!(good["errors"].is_null());
    assert!(good["picture"].as_str().unwrap().starts_with("<main data-viewer"));
    let bad = state(&DIAL.replace("of birch {", "of bierch {"));
    assert!(bad["picture"].is_null());
    assert!(bad["errors"]["list"].as_str().unwrap().contains("<mark>bierch</mark>"));
}

#[test]
fn hostile_names_are_text_on_the_live_page() {
    let shell = page::shell("<img src=x>\"'.dial", "secret");
    assert!(!shell.contains("<img"), "{shell}");
    let hostile = DIAL.replace("\"how wide\"", "\"</script><img src=x> שלום\"").replace("\"AB\"", "\"<b>\"");
    let analysis = analyse(&project(&hostile), "a.dial", "", &Request::default()).unwrap();
    let state = serde_json::json!(page::state(
        &analysis,
        None,
        &["<i>".to_owned()],
        &knobs_of(&hostile, &[]),
        &mut Boards::default()
    ));
    for key in ["picture", "params"] {
        let markup = state[key].as_str().unwrap();
        assert!(!markup.contains("<img") && !markup.contains("<b>"), "{key}");
    }
    assert!(page::unreadable("`<img src=x>`").errors.unwrap().list.contains("&lt;img"));
}
