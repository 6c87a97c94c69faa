//! Answers the page's requests.

use std::convert::Infallible;
use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse as _, Response};
use serde_json::Value;
use tokio_stream::StreamExt as _;
use tokio_stream::wrappers::WatchStream;

use super::idle::Patient;
use super::live::{Live, STOPPED};
use crate::limits::REQUEST_BYTES;
use crate::view::{ICON, POLICY, Route, cookie, page, route};

/// How long a line is kept on which nothing moves: far longer than any state takes to be worked out, and than word of none is
/// waited for.
const IDLE: Duration = Duration::from_secs(120);
/// How long open lines are given to end.
const PATIENCE: Duration = Duration::from_secs(1);

/// Serves until the program is asked to stop.
pub(super) async fn serve(listener: TcpListener, live: Arc<Live>) -> std::io::Result<()> {
    let listener = Patient { listener: tokio::net::TcpListener::from_std(listener)?, patience: IDLE };
    let router = Router::new().fallback(answer).with_state(Arc::clone(&live));
    let mut states = live.states.subscribe();
    let stopped = async move {
        // Without a sender the program stops anyway.
        let _ = states.wait_for(|state| *state == STOPPED).await;
    };
    let serving = axum::serve(listener, router).with_graceful_shutdown(stopped);
    let asked = async {
        asked_to_stop().await;
        live.states.send_replace(STOPPED);
        tokio::time::sleep(PATIENCE).await;
    };
    tokio::select! {
        ended = serving => ended,
        () = asked => Ok(()),
    }
}

/// Waits for Ctrl-C, or for the system's own wish that the program ends.
async fn asked_to_stop() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut ends) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = ends.recv() => {}
            }
            return;
        }
    }
    // Where no signal can be waited for, the system ends the program by itself.
    let _ = tokio::signal::ctrl_c().await;
}

async fn answer(State(live): State<Arc<Live>>, request: Request) -> Response {
    let (parts, body) = request.into_parts();
    let response = match route(&parts, live.port, &live.token) {
        Err(refusal) => (refusal.status(), refusal.words()).into_response(),
        Ok(Route::Page) => ([(header::SET_COOKIE, cookie(live.port, &live.token))], page(&live)).into_response(),
        Ok(Route::Style(text)) => typed("text/css; charset=utf-8", text),
        Ok(Route::Script(text)) => typed("text/javascript; charset=utf-8", text),
        Ok(Route::Icon) => typed("image/svg+xml", ICON),
        Ok(Route::Events) => events(&live),
        Ok(Route::State(choice)) => {
            worked_out(move || typed("application/json", live.state(&choice).as_bytes().to_vec())).await
        }
        Ok(Route::Boards(choice)) => {
            let query = parts.uri.query().unwrap_or_default().to_owned();
            worked_out(move || typed("text/html; charset=utf-8", live.boards(&choice, &query))).await
        }
        Ok(Route::Drawing(choice, board, setup)) => {
            worked_out(move || match live.drawing(&choice, board, setup) {
                Some(drawing) => typed("image/svg+xml", drawing),
                None => (StatusCode::NOT_FOUND, "there is no such setup").into_response(),
            })
            .await
        }
        Ok(Route::Write) => write(live, body).await,
    };
    sealed(response)
}

fn page(live: &Live) -> Response {
    typed("text/html; charset=utf-8", page::shell(&live.shown, &live.token))
}

fn typed(kind: &'static str, body: impl Into<Body>) -> Response {
    ([(header::CONTENT_TYPE, kind)], body.into()).into_response()
}

/// Work that takes long enough to hold up others.
async fn worked_out(work: impl FnOnce() -> Response + Send + 'static) -> Response {
    let failed = |_| (StatusCode::INTERNAL_SERVER_ERROR, "this could not be worked out").into_response();
    tokio::task::spawn_blocking(work).await.unwrap_or_else(failed)
}

/// Word of every new state, the present one first.
fn events(live: &Live) -> Response {
    // No more than that there is a new state: each tab has a variant and params of its own, so it asks for its
    // picture.
    let states = WatchStream::new(live.states.subscribe()).take_while(|state| *state != STOPPED);
    let told = states.map(|state| Ok::<Event, Infallible>(Event::default().data(state.to_string())));
    Sse::new(told).keep_alive(KeepAlive::default()).into_response()
}

async fn write(live: Arc<Live>, body: Body) -> Response {
    let wish = to_bytes(body, REQUEST_BYTES).await.ok();
    let wish: Value = wish.and_then(|bytes| serde_json::from_slice(&bytes).ok()).unwrap_or_default();
    let text = |key: &str| wish.get(key).and_then(Value::as_str).map(str::to_owned);
    let (Some(param), Some(value), Some(seen)) = (text("param"), text("value"), text("seen")) else {
        return (StatusCode::BAD_REQUEST, "nothing was written: the wish cannot be read").into_response();
    };
    worked_out(move || match live.write(&param, &value, &seen) {
        Ok(told) => told.into_response(),
        Err(told) => (StatusCode::CONFLICT, told).into_response(),
    })
    .await
}

/// Every answer may only be used by the page itself, and is never kept.
fn sealed(mut response: Response) -> Response {
    let seals: [(HeaderName, &'static str); 5] = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in seals {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    response
}
