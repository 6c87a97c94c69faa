//! Which request is for what, and which are refused.

use axum::extract::Query;
use axum::http::header::{COOKIE, HOST, ORIGIN};
use axum::http::request::Parts;
use axum::http::uri::Scheme;
use axum::http::{HeaderMap, Method, StatusCode};

use super::{KEY, TOKEN};
use crate::limits::{REQUEST_ADDRESS_BYTES, REQUEST_HEADER_BYTES};

/// What a tab looks at: one variant, with some params set.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choice {
    /// The variant; the first one where none is named.
    pub variant: Option<String>,
    /// Names of params and their values, as texts of the language.
    pub settings: Vec<(String, String)>,
}

/// What a request asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Route {
    /// The page itself.
    Page,
    /// A style sheet.
    Style(&'static str),
    /// A script.
    Script(&'static str),
    /// The small picture of the tab.
    Icon,
    /// Word of every new state, as server-sent events.
    Events,
    /// Picture, findings and params.
    State(Choice),
    /// The boards of the run.
    Boards(Choice),
    /// The drawing of one setup of one board, both counted from 1.
    Drawing(Choice, usize, usize),
    /// A value to be written into the file.
    Write,
}

/// Why a request is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// Its `Host` is not this page's own.
    ForeignHost,
    /// It comes from a page of somebody else.
    ForeignOrigin,
    /// Its headers or its address are too long.
    TooLong,
    /// It wants to write without the token of this session.
    WrongToken,
    /// It knows neither the secret of the page's address nor the cookie that came with the page.
    Stranger,
    /// It neither reads nor writes what may be written.
    WrongMethod,
    /// There is no such page.
    NotThere,
}

impl Refusal {
    /// Its status (RFC 9110, RFC 6585).
    pub fn status(self) -> StatusCode {
        match self {
            Refusal::ForeignHost => StatusCode::MISDIRECTED_REQUEST,
            Refusal::ForeignOrigin | Refusal::WrongToken | Refusal::Stranger => StatusCode::FORBIDDEN,
            Refusal::TooLong => StatusCode::REQUEST_HEADER_FIELDS_TOO_LARGE,
            Refusal::WrongMethod => StatusCode::METHOD_NOT_ALLOWED,
            Refusal::NotThere => StatusCode::NOT_FOUND,
        }
    }

    /// Why, in a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Refusal::ForeignHost => "this page answers under its own name alone",
            Refusal::ForeignOrigin => "this page answers nobody else's pages",
            Refusal::TooLong => "the request is too long",
            Refusal::WrongToken => "this page was opened by an earlier run of the program: load it again",
            Refusal::Stranger => "open the page at the whole address that `dialwright view` printed",
            Refusal::WrongMethod => "this can only be read",
            Refusal::NotThere => "there is no such page",
        }
    }
}

/// What a request asks of the server at this port, whose session has this token.
///
/// # Errors
/// Whatever does not come from the page itself is refused.
pub fn route(request: &Parts, port: u16, token: &str) -> Result<Route, Refusal> {
    let size: usize = request.headers.iter().map(|(name, value)| name.as_str().len() + value.len()).sum();
    let address = request.uri.path_and_query().map_or(0, |address| address.as_str().len());
    if size > REQUEST_HEADER_BYTES || address > REQUEST_ADDRESS_BYTES {
        return Err(Refusal::TooLong);
    }
    // Any page in the browser can send requests here, under a name of its own that it lets point to this machine. The
    // `Host` gives that away.
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let is_own = |host: &str| hosts.iter().any(|own| own == host);
    // An address may name a host as well (RFC 9112, 3.2.2), which then goes before the header.
    if request.headers.get_all(HOST).iter().count() != 1
        || !header(&request.headers, HOST.as_str()).is_some_and(is_own)
        || !request.uri.authority().is_none_or(|named| is_own(named.as_str()))
        || !request.uri.scheme().is_none_or(|scheme| *scheme == Scheme::HTTP)
    {
        return Err(Refusal::ForeignHost);
    }
    let own = |origin: &str| hosts.iter().any(|host| origin.strip_prefix("http://") == Some(host));
    if request.headers.contains_key(ORIGIN) && !header(&request.headers, ORIGIN.as_str()).is_some_and(own) {
        return Err(Refusal::ForeignOrigin);
    }
    // What another page asks for is not worked out, though it could not read the answer (W3C Fetch Metadata).
    if header(&request.headers, "sec-fetch-site").is_some_and(|site| matches!(site, "cross-site" | "same-site")) {
        return Err(Refusal::ForeignOrigin);
    }
    // Every account of the machine can reach the port, but only one was told the address.
    if !knows(request, port, token) {
        return Err(Refusal::Stranger);
    }
    let writes = request.uri.path() == "/write";
    match request.method {
        // Only our own page knows the token, since no other may read our answers.
        Method::POST if writes && header(&request.headers, TOKEN) == Some(token) => Ok(Route::Write),
        Method::POST if writes => Err(Refusal::WrongToken),
        Method::GET if !writes => page(request),
        _ => Err(Refusal::WrongMethod),
    }
}

/// The cookie that keeps the secret once the page was opened, for its own tabs alone (RFC 6265). Ports share cookies, so that it
/// is named after its own.
pub fn cookie(port: u16, token: &str) -> String {
    format!("{}={token}; Path=/; HttpOnly; SameSite=Strict", cookie_name(port))
}

fn cookie_name(port: u16) -> String {
    format!("dialwright-{port}")
}

/// Whether it knows the secret: by the cookie, or, where the page itself is asked for, by the address.
fn knows(request: &Parts, port: u16, token: &str) -> bool {
    let cookies = request.headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut kept = cookies.flat_map(|value| value.split("; ")).filter_map(|pair| pair.split_once('='));
    let in_address = || {
        let query = request.uri.query().filter(|_| request.uri.path() == "/").unwrap_or_default();
        query.split('&').any(|pair| pair.split_once('=') == Some((KEY, token)))
    };
    let name = cookie_name(port);
    kept.any(|(kept, value)| kept == name && value == token) || in_address()
}

fn header<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}

/// The page of this path. Paths are compared as they come, so that none leads anywhere else.
fn page(request: &Parts) -> Result<Route, Refusal> {
    let pairs = Query::<Vec<(String, String)>>::try_from_uri(&request.uri).map_err(|_| Refusal::NotThere)?.0;
    let mut choice = Choice::default();
    let at = |wanted: &str| pairs.iter().find(|(name, _)| name == wanted).and_then(|(_, value)| value.parse().ok());
    let (board, setup) = (at("board"), at("setup"));
    for (name, value) in &pairs {
        match (name.as_str(), name.strip_prefix("set.")) {
            ("variant", _) => choice.variant = Some(value.clone()),
            (_, Some(param)) => choice.settings.push((param.to_owned(), value.clone())),
            _ => {}
        }
    }
    match request.uri.path() {
        "/" => Ok(Route::Page),
        "/viewer.css" => Ok(Route::Style(crate::output::viewer::STYLE)),
        "/live.css" => Ok(Route::Style(super::STYLE)),
        "/viewer.js" => Ok(Route::Script(crate::output::viewer::SCRIPT)),
        "/live.js" => Ok(Route::Script(super::SCRIPT)),
        "/icon.svg" => Ok(Route::Icon),
        "/events" => Ok(Route::Events),
        "/state" => Ok(Route::State(choice)),
        "/boards" => Ok(Route::Boards(choice)),
        "/setup.svg" => Ok(Route::Drawing(choice, board.ok_or(Refusal::NotThere)?, setup.ok_or(Refusal::NotThere)?)),
        _ => Err(Refusal::NotThere),
    }
}
